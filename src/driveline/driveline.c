/*
 * A run from its first row to its causes. Rows are thinned as they come; a full chapter is judged and let go. The gears of the first that has any hold for
 * the rest, and so do the signals' lag and the tyres' creep, which were found with them.
 */
#include "crosshatch/driveline.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "parts.h"

struct ch_driveline_run {
    const ch_car *car; /* NULL: none */
    trail trail;
    trail_bin bin;
    step_count steps;
    fresh_count engine, road;
    uint32_t segment;
    uint64_t rows;
    double creep_1; /* of the tyres, as found with the gears */
    picture picture;
    ch_driveline made;
};

ch_status ch_driveline_open(const ch_car *car, ch_driveline_run **run, ch_err *err)
{
    ch_driveline_run *made = calloc(1, sizeof *made);
    if (made == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the run");
    made->car = car;
    made->made.state = CH_DRIVELINE_TOO_LITTLE;
    made->made.car_factor_1 = NAN;
    made->made.on_lines_1 = NAN;
    *run = made;
    return CH_OK;
}

static void add_row(trail_bin *bin, const ch_drivelog_rows *rows, size_t i)
{
    const double oil_k = rows->oil_k[i];
    const double value[TRAIL_CHANNELS] = {
        [TRAIL_ENGINE] = rows->engine_speed_rad_s[i], [TRAIL_ROAD] = rows->road_speed_m_s[i],
        [TRAIL_THROTTLE] = rows->throttle_1[i],       [TRAIL_TEMPERATURE] = isnan(oil_k) ? rows->coolant_k[i] : oil_k,
        [TRAIL_CLUTCH] = rows->clutch_1[i],           [TRAIL_GPS] = rows->gps_speed_m_s[i],
        [TRAIL_DRIVEN] = rows->driven_speed_m_s[i],
    };
    trail_add(bin, value, rows->time_s[i]);
}

/* In the chapter that has the gears those that turn out to be none are dropped, and the search done again without them. */
static ch_status find_slips(ch_driveline_run *run, const signals *s, bool first, ch_err *err)
{
    ch_driveline *to = &run->made;
    ch_status rc = slips_find(s, &run->trail, to, err);
    if (rc < 0 || !first || !gears_drop_unused(to))
        return rc;
    to->slips = to->slips_found = 0;
    to->loaded_s = to->loaded_low_s = 0;
    memset(to->not_slips, 0, sizeof to->not_slips);
    for (size_t g = 0; g < to->gears; g++)
        to->gear[g].seconds = 0;
    return slips_find(s, &run->trail, to, err);
}

/* Judge what the trail holds, and let it go. */
static ch_status close_chapter(ch_driveline_run *run, ch_err *err)
{
    ch_driveline *to = &run->made;
    signals s = {0};
    const size_t slips_before = to->slips;
    if (run->trail.n < 10)
        return CH_OK;
    const double step_m_s = step_found(&run->steps);
    trail_doubt_clutch(&run->trail);
    ch_status rc = signals_make(&run->trail, step_m_s, fresh_interval(&run->engine), fresh_interval(&run->road),
                                fresh_news(&run->road), &s, err);
    if (rc < 0)
        return rc;
    const bool first = to->gears == 0;
    if (first)
        rc = gears_find(&s, &run->trail, run->car, step_m_s, to, err);
    else { /* lag is the logger's: what is left of a long run may be minutes, which would tell it badly */
        s.creep_1 = run->creep_1;
        s.u_lag_s = to->u_lag_s;
        signals_move(&s, to->lag_s);
        signals_ratio(&s, to->road_offset_m_s);
    }
    run->creep_1 = s.creep_1;
    if (rc >= 0 && first) {
        const double slow_s = fmax(s.engine_fresh_s, s.road_fresh_s);
        to->lag_s = s.lag_s;
        to->u_lag_s = s.u_lag_s;
        to->engine_fresh_s = s.engine_fresh_s;
        to->road_fresh_s = s.road_fresh_s;
        to->road_step_m_s = step_m_s;
        to->shortest_slip_s = fmax(0.2, (slow_s > 0.3 ? 2.5 : 1.8) * slow_s);
        to->limits &= ~((unsigned)CH_LIMIT_LAG | (unsigned)CH_LIMIT_STALE | (unsigned)CH_LIMIT_STEPS);
        to->limits |= (s.lag_known ? 0U : (unsigned)CH_LIMIT_LAG) | (slow_s > 0.3 ? (unsigned)CH_LIMIT_STALE : 0U) |
                      (step_m_s > 0 ? (unsigned)CH_LIMIT_STEPS : 0U);
    }
    if (rc >= 0 && to->gears > 0)
        rc = find_slips(run, &s, first, err);
    if (rc >= 0)
        rc = picture_add(&run->picture, &s, to, slips_before, err);
    signals_free(&s);
    if (rc >= 0)
        trail_empty(&run->trail);
    return rc;
}

ch_status ch_driveline_take(const ch_drivelog_rows *rows, void *context, ch_err *err)
{
    ch_driveline_run *run = context;
    const double step_m_s = step_found(&run->steps);
    ch_status rc = CH_OK;
    if (rows->segment != run->segment)
        rc = trail_close_bin(&run->trail, &run->bin, step_m_s, err);
    run->segment = rows->segment;
    step_look(&run->steps, rows->road_speed_m_s, rows->n);
    fresh_look(&run->engine, rows->time_s, rows->engine_speed_rad_s, rows->n);
    fresh_look(&run->road, rows->time_s, rows->road_speed_m_s, rows->n);
    for (size_t i = 0; i < rows->n && rc >= 0; i++) {
        if (trail_bin_full(&run->bin, rows->time_s[i]))
            rc = trail_close_bin(&run->trail, &run->bin, step_m_s, err);
        if (rc >= 0 && trail_full(&run->trail))
            rc = close_chapter(run, err);
        add_row(&run->bin, rows, i);
    }
    run->rows += rows->n;
    return rc;
}

/* What the whole run, not a chapter of it, leaves open. */
static void find_limits(ch_driveline_run *run)
{
    ch_driveline *to = &run->made;
    /* Gearboxes for the road step by 1.15 and more (common practice); what is nearer, only the stated ratios tell from slip. */
    static const double little_s = 10, well_known_1 = 0.005, near_1 = 1.14;
    if (run->car == NULL || !isfinite(run->car->mass_kg))
        to->limits |= CH_LIMIT_NO_MASS;
    if (to->state == CH_DRIVELINE_GEARS_FOUND && to->loaded_s < little_s)
        to->limits |= CH_LIMIT_LITTLE_LOAD;
    for (size_t g = 0; g < to->gears; g++)
        if (!(ch_driveline_gear_known_1(&to->gear[g]) <= well_known_1))
            to->limits |= CH_LIMIT_WIDE_GEARS;
    for (size_t g = 1; g < to->gears && (to->limits & CH_LIMIT_NUMBERS); g++)
        if (to->gear[g - 1].line_rad_m < near_1 * to->gear[g].line_rad_m)
            to->limits |= CH_LIMIT_NEAR_GEARS;
}

ch_status ch_driveline_finish(ch_driveline_run *run, const ch_clutch_knowledge *knowledge,
                              const ch_driveline_seen *seen, size_t seen_n, ch_driveline *result, ch_err *err)
{
    ch_status rc = trail_close_bin(&run->trail, &run->bin, step_found(&run->steps), err);
    if (rc >= 0)
        rc = close_chapter(run, err);
    if (rc < 0)
        return rc;
    run->made.rows = run->rows;
    find_limits(run);
    capacity_judge(run->car, &run->made);
    cause_judge(knowledge, seen, seen_n, &run->made);
    *result = run->made;
    run->made = (ch_driveline){0};
    return CH_OK;
}

double ch_driveline_gear_known_1(const ch_driveline_gear *gear)
{
    static const double normal_90 = 1.645; /* standard uncertainties to either side: an interval of 90 % */
    return normal_90 * gear->u_line_rad_m / gear->line_rad_m;
}

const ch_drive_point *ch_driveline_picture(const ch_driveline_run *run, size_t *count)
{
    *count = run->picture.n;
    return run->picture.point;
}

void ch_driveline_weigh(const ch_clutch_knowledge *knowledge, const ch_driveline_seen *seen, size_t seen_n,
                        ch_driveline *driveline)
{
    cause_judge(knowledge, seen, seen_n, driveline);
}

void ch_driveline_close(ch_driveline_run *run)
{
    if (run == NULL)
        return;
    trail_free(&run->trail);
    picture_free(&run->picture);
    ch_driveline_clear(&run->made);
    free(run);
}

void ch_driveline_clear(ch_driveline *result)
{
    free(result->slip);
    *result = (ch_driveline){0};
}
