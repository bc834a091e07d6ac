/* Readings reduced to the standard day, so that sheets of different days compare: 101325 Pa, 15 C air (ISO 2533), and the usual engine
 * temperature, cranking speed and strokes of setup's defaults, throttle open, same engine and gauge.
 *
 * reading * model(standard day)/model(this day), both at the leak area that shows such a reading. The gauge itself is not corrected: its
 * gain is the same on both days. */
#include <math.h>

#include "crosshatch/emulator.h"
#include "crosshatch/prior.h"
#include "judge_parts.h"

static const double TOLERANCE = 1e-4; /* errors of both days are alike and drop out of the factor */
/* Ring areas of the nodes, in those of a sound cylinder: sound, and leaking badly. The factor hardly moves between them. */
static const double NODE_AREA_1[JUDGE_DAY_NODES] = {1.0, 15.0};
/* Part of the correction itself that the model may have wrong (judgment; speed and temperature effects are known no better). */
static const double MODEL_DOUBT_1 = 0.15;

static ch_status run(const ch_cranking *engine, double area_m2, double gauge_pa[CH_STROKES_MAX], double *reading_pa,
                     ch_err *err)
{
    ch_cranking trial = *engine;
    trial.leaks.rings_m2 = area_m2;
    ch_status rc = ch_cranking_run(&trial, TOLERANCE, gauge_pa, NULL, NULL, NULL, err);
    if (rc >= 0)
        *reading_pa = gauge_pa[trial.strokes - 1];
    return rc;
}

ch_status judge_usual_setup(ch_setup *usual, ch_err *err)
{
    ch_sheet blank;
    ch_sheet_init(&blank);
    const ch_status rc = ch_setup_from_sheet(&blank, CH_PRIOR_UNSTATED_LIFT_M, usual, err);
    ch_sheet_clear(&blank);
    return rc;
}

/* This day's setup on the standard day: what a sheet that says nothing of its conditions is taken for, at sea level in standard air. */
static ch_status standard_setup(const ch_setup *setup, ch_setup *standard, ch_err *err)
{
    ch_setup usual;
    const ch_status rc = judge_usual_setup(&usual, err);
    if (rc < 0)
        return rc;
    *standard = *setup;
    standard->throttle_shut = false;
    standard->cranking.ambient_pa = 101325.0;
    standard->cranking.air_k = 288.15;
    standard->cranking.wall_k = usual.cranking.wall_k;
    standard->cranking.speed_rad_s = usual.cranking.speed_rad_s;
    standard->cranking.strokes = usual.cranking.strokes;
    return CH_OK;
}

/* Relative uncertainty of this day's model reading from what the sheet leaves in doubt of the day. Speed, walls and a shut throttle take a
 * run each; a reading goes with the air pressure; strokes are read off the way in which the gauge filled. */
static ch_status doubt(const ch_setup *setup, int cylinders, double area_m2, const double gauge_pa[], double *u_1,
                       ch_err *err)
{
    static const ch_doubt by_run[] = {CH_DOUBT_SPEED, CH_DOUBT_WALL, CH_DOUBT_THROTTLE};
    const int strokes = setup->cranking.strokes;
    const double reading_pa = gauge_pa[strokes - 1];
    ch_doubts doubts;
    ch_doubts_from_setup(setup, &doubts);
    if (!(reading_pa > 0.0)) {
        *u_1 = 0.0;
        return CH_OK;
    }
    const double fewer_pa = strokes > 1 ? gauge_pa[strokes - 2] : 0.0;
    double u = hypot(doubts.sd[CH_DOUBT_AMBIENT], doubts.sd[CH_DOUBT_STROKES] * (1.0 - fewer_pa / reading_pa));
    for (size_t i = 0; i < sizeof by_run / sizeof by_run[0]; i++) {
        double offset[CH_DOUBT_COUNT] = {0}, moved[CH_STROKES_MAX], moved_pa = NAN;
        offset[by_run[i]] = doubts.sd[by_run[i]];
        if (!(doubts.sd[by_run[i]] > 0.0))
            continue;
        ch_cranking engine;
        ch_status rc = ch_engine_instance(setup, cylinders, offset, NULL, &engine, err);
        if (rc >= 0)
            rc = run(&engine, area_m2, moved, &moved_pa, err);
        if (rc < 0)
            return rc;
        u = hypot(u, moved_pa / reading_pa - 1.0);
    }
    *u_1 = u;
    return CH_OK;
}

ch_status judge_day_build(const ch_setup *setup, int cylinders, judge_day *day, ch_err *err)
{
    const double none[CH_DOUBT_COUNT] = {0};
    ch_setup standard;
    ch_cranking here, there;
    judge_day made;
    ch_status rc = standard_setup(setup, &standard, err);
    if (rc >= 0)
        rc = ch_engine_instance(setup, cylinders, none, NULL, &here, err);
    if (rc >= 0)
        rc = ch_engine_instance(&standard, cylinders, none, NULL, &there, err);
    const double sound_m2 = CH_PRIOR_RING_M2_PER_M * setup->cranking.bore.bore_m;
    double u_1 = NAN, gauge_pa[CH_STROKES_MAX];
    for (int i = 0; rc >= 0 && i < JUDGE_DAY_NODES; i++) {
        double standard_pa = NAN;
        rc = run(&there, NODE_AREA_1[i] * sound_m2, gauge_pa, &standard_pa, err);
        if (rc >= 0)
            rc = run(&here, NODE_AREA_1[i] * sound_m2, gauge_pa, &made.reading_pa[i], err);
        if (rc >= 0 && i == 0)
            rc = doubt(setup, cylinders, sound_m2, gauge_pa, &u_1, err);
        if (rc >= 0)
            made.factor_1[i] = made.reading_pa[i] > 0.0 ? standard_pa / made.reading_pa[i] : 1.0;
    }
    if (rc < 0)
        return rc;
    made.u_factor_1 = hypot(u_1, MODEL_DOUBT_1 * fabs(made.factor_1[0] - 1.0) / made.factor_1[0]);
    *day = made;
    return CH_OK;
}

double judge_day_factor(const judge_day *day, double reading_pa)
{
    if (!(reading_pa < day->reading_pa[0]))
        return day->factor_1[0];
    for (int i = 1; i < JUDGE_DAY_NODES; i++) {
        const double high_pa = day->reading_pa[i - 1], low_pa = day->reading_pa[i];
        if (reading_pa >= low_pa)
            return day->factor_1[i] +
                   (day->factor_1[i - 1] - day->factor_1[i]) * (reading_pa - low_pa) / (high_pa - low_pa);
    }
    return day->factor_1[JUDGE_DAY_NODES - 1];
}

double judge_day_limit(const judge_day *day, double limit_pa)
{
    if (day == NULL || isnan(limit_pa))
        return limit_pa;
    const double high_pa = day->reading_pa[0], low_pa = day->reading_pa[1];
    const double high_1 = day->factor_1[0], low_1 = day->factor_1[1];
    double here_pa = limit_pa / low_1;
    if (limit_pa >= high_pa * high_1) {
        here_pa = limit_pa / high_1;
    } else if (limit_pa > low_pa * low_1) {
        /* reading * (start + rise * reading) = limit, the line of judge_day_factor() */
        const double rise = (high_1 - low_1) / (high_pa - low_pa), start = low_1 - rise * low_pa;
        here_pa = 2.0 * limit_pa / (start + sqrt(start * start + 4.0 * rise * limit_pa));
    }
    return fmin(here_pa, limit_pa);
}
