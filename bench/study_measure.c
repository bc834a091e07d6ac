/* Measuring virtual engines: the whole cranking model for every compression reading, the flow equations for every leak-down. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "../src/trace/parts.h"
#include "crosshatch/leakdown.h"
#include "study_engine.h"

/* What sets readings apart from the model, as docs/method.md, "Tracing", has it. */
static const double FIRST_SCATTER_1 = 0.12, WET_SCATTER_1 = 0.05, LOSS_REPEAT_1 = 0.03, STANDING_SCATTER = 0.35,
                    LOSS_STRAY_1 = 0.0005, TESTER_SPREAD_1 = 0.05, OIL_KEPT_USUAL_1 = 0.65;

static ch_quantity given(double si)
{
    ch_quantity quantity = ch_quantity_none();
    quantity.si = si;
    quantity.unit = ch_unit_find("Pa", 2); /* any unit: a quantity without one was not given */
    return quantity;
}

static bool happens(ch_stream *stream, double chance_1)
{
    return ch_stream_uniform(stream) < chance_1;
}

static void *grown(void *rows, size_t count, size_t size, ch_err *err)
{
    void *more = realloc(rows, (count + 1) * size);
    if (more == NULL)
        ch_fail(err, CH_E_MEMORY, NULL, "no memory for a row");
    else
        memset((char *)more + count * size, 0, size);
    return more;
}

/* A misread dry or wet test; where the leak-down test of that cylinder is what is wrong, the others are right. */
static bool misreads(const virtual_cylinder *c, const ch_sheet *sheet, int cylinder)
{
    bool tested = false;
    for (size_t i = 0; i < sheet->leakdown_count; i++)
        tested = tested || sheet->leakdown[i].cylinder == cylinder + 1;
    return c->reading_1 != 1.0 && !(c->leakdown_wrong && tested);
}

/* What a perfect gauge would show, after the first stroke and after the last. */
static ch_status crank(const virtual_engine *engine, int cylinder, const ch_oil *oil, double *first_pa,
                       double *final_pa, ch_err *err)
{
    const virtual_cylinder *c = &engine->cylinder[cylinder];
    ch_cranking cranking;
    ch_status rc = ch_engine_instance(&engine->setup, engine->cylinders, engine->offset, oil, &cranking, err);
    if (rc < 0)
        return rc;
    const double oil_1 = oil != NULL ? engine->oil_factor_1 : 1.0;
    double path_m2[CH_PATH_COUNT];
    memcpy(path_m2, c->beside_m2, sizeof path_m2);
    path_m2[CH_PATH_RINGS] = oil_1 * c->ring_m2;
    if (c->path != NO_PATH)
        path_m2[c->path] += (c->path == CH_PATH_RINGS && c->oil_seals ? oil_1 : 1.0) * c->extra_m2;
    cranking.leaks = (ch_leak_areas){.rings_m2 = path_m2[CH_PATH_RINGS],
                                     .intake_valve_m2 = path_m2[CH_PATH_INTAKE_VALVE],
                                     .exhaust_valve_m2 = path_m2[CH_PATH_EXHAUST_VALVE],
                                     .neighbour_m2 = path_m2[CH_PATH_NEIGHBOUR],
                                     .coolant_m2 = path_m2[CH_PATH_COOLANT]};
    double gauge_pa[CH_STROKES_MAX];
    rc = ch_cranking_run(&cranking, CH_CRANKING_TOLERANCE, gauge_pa, NULL, NULL, NULL, err);
    if (rc < 0)
        return rc;
    const double ambient_pa = cranking.ambient_pa;
    *first_pa = fmax(c->filling_1 * (gauge_pa[0] + ambient_pa) - ambient_pa, 0.0);
    *final_pa = fmax(c->filling_1 * (gauge_pa[cranking.strokes - 1] + ambient_pa) - ambient_pa, 0.0);
    return CH_OK;
}

ch_status virtual_lost_1(const virtual_engine *engine, int cylinder, double *lost_1, ch_err *err)
{
    virtual_engine without = *engine;
    virtual_cylinder *c = &without.cylinder[cylinder];
    c->path = NO_PATH;
    c->filling_1 = 1.0;
    double first_pa, there_pa, cured_pa;
    ch_status rc = crank(engine, cylinder, NULL, &first_pa, &there_pa, err);
    if (rc >= 0)
        rc = crank(&without, cylinder, NULL, &first_pa, &cured_pa, err);
    if (rc >= 0)
        *lost_1 = 1.0 - there_pa / cured_pa;
    return rc;
}

/* What the owner writes down. */
static double noted_pa(const virtual_engine *engine, double true_pa, double factor_1, double noise_pa,
                       ch_stream *stream)
{
    const double there_pa = factor_1 * (engine->gain_1 * true_pa + engine->zero_pa);
    const double low_pa =
        measured_low_scale_sd_pa(measured_low_end_pa(&engine->setup), there_pa) * ch_stream_normal(stream);
    const double step_pa = engine->setup.gauge_resolution_pa;
    return step_pa * floor(fmax(there_pa + noise_pa + low_pa, 0.0) / step_pa + 0.5);
}

ch_status virtual_dry(const virtual_engine *engine, int cylinder, bool first_stroke, ch_stream *stream, ch_sheet *sheet,
                      ch_err *err)
{
    const virtual_cylinder *c = &engine->cylinder[cylinder];
    double first_pa, final_pa;
    ch_status rc = crank(engine, cylinder, NULL, &first_pa, &final_pa, err);
    if (rc < 0)
        return rc;
    ch_reading *rows = grown(sheet->compression, sheet->compression_count, sizeof *rows, err);
    if (rows == NULL)
        return CH_E_MEMORY;
    sheet->compression = rows;
    const double factor_1 = (misreads(c, sheet, cylinder) ? c->reading_1 : 1.0) * c->chamber_1;
    ch_reading *row = &rows[sheet->compression_count++];
    *row = (ch_reading){.cylinder = cylinder + 1, .first_stroke = ch_quantity_none(), .oil = ch_quantity_none()};
    row->reading = given(noted_pa(engine, final_pa, factor_1, engine->repeat_pa * ch_stream_normal(stream), stream));
    const double start_1 = 1.0 + FIRST_SCATTER_1 * ch_stream_normal(stream);
    const double first_noise_pa = 2.0 * engine->repeat_pa * ch_stream_normal(stream);
    if (first_stroke)
        row->first_stroke = given(noted_pa(engine, first_pa, factor_1 * start_1, first_noise_pa, stream));
    return CH_OK;
}

ch_status virtual_wet(const virtual_engine *engine, int cylinder, bool dose_stated, ch_stream *stream, ch_sheet *sheet,
                      ch_err *err)
{
    const virtual_cylinder *c = &engine->cylinder[cylinder];
    const double dose_m3 = dose_stated ? 1e-6 * (5.0 + floor(6.0 * ch_stream_uniform(stream))) : 8e-6;
    const double kept_1 = OIL_KEPT_USUAL_1 * pow(engine->oil_kept_1, dose_stated ? 0.25 : 0.55);
    const ch_oil oil = {.retained_m3 = fmin(kept_1 * dose_m3, 0.5 * engine->setup.cranking.clearance_m3)};
    double first_pa, final_pa;
    ch_status rc = crank(engine, cylinder, &oil, &first_pa, &final_pa, err);
    if (rc < 0)
        return rc;
    ch_reading *rows = grown(sheet->wet, sheet->wet_count, sizeof *rows, err);
    if (rows == NULL)
        return CH_E_MEMORY;
    sheet->wet = rows;
    /* The same adapter may misread again, or have been seated better; washed or dry bores come back part of the way. */
    static const double AGAIN[] = {0.0, 0.5, 1.0};
    const double again = AGAIN[(size_t)(3.0 * ch_stream_uniform(stream))];
    double factor_1 = misreads(c, sheet, cylinder) ? pow(c->reading_1, again) : 1.0;
    factor_1 *= 1.0 + WET_SCATTER_1 * ch_stream_normal(stream);
    ch_reading *row = &rows[sheet->wet_count++];
    *row = (ch_reading){.cylinder = cylinder + 1, .first_stroke = ch_quantity_none()};
    row->oil = dose_stated ? given(dose_m3) : ch_quantity_none();
    row->reading = given(noted_pa(engine, final_pa, factor_1, engine->repeat_pa * ch_stream_normal(stream), stream));
    return CH_OK;
}

/* What is heard, given the areas at rest. */
static void listen(const ch_knowledge_hearing *hearing, double listener_score, const double path_m2[CH_PATH_COUNT],
                   int neighbour, ch_stream *stream, ch_leakdown_row *row)
{
    double total_m2 = 0.0;
    for (int p = 0; p < CH_PATH_COUNT; p++)
        total_m2 += path_m2[p];
    const struct {
        int path;
        unsigned bit;
        double false_1;
    } ears[] = {
        {CH_PATH_INTAKE_VALVE, CH_HEARD_INTAKE, hearing->false_intake_1},
        {CH_PATH_EXHAUST_VALVE, CH_HEARD_EXHAUST, hearing->false_exhaust_1},
        {CH_PATH_RINGS, CH_HEARD_OIL_FILLER, hearing->false_oil_filler_1},
        {CH_PATH_COOLANT, CH_HEARD_COOLANT, hearing->false_coolant_1},
        {CH_PATH_NEIGHBOUR, 0, hearing->false_cylinder_1},
    };
    for (size_t e = 0; e < sizeof ears / sizeof ears[0]; e++) {
        const double area_m2 = path_m2[ears[e].path];
        const double least_m2 =
            ears[e].path != CH_PATH_RINGS
                ? hearing->least_m2
                : hearing->least_oil_filler_m2 * exp(hearing->listeners_spread_1 * listener_score +
                                                     hearing->oil_filler_blur_1 * ch_stream_normal(stream));
        const bool there = area_m2 >= least_m2 && area_m2 >= hearing->share_1 * total_m2;
        if (!happens(stream, there ? hearing->noted_1 : ears[e].false_1))
            continue;
        row->heard |= ears[e].bit;
        if (ears[e].path == CH_PATH_NEIGHBOUR)
            row->heard_cylinders |= 1u << neighbour;
    }
    if (row->heard == 0 && row->heard_cylinders == 0)
        row->heard = CH_HEARD_NOTHING;
}

/* What is heard where the test itself is wrong, as docs/method.md, "Tracing", has it. */
static void hear_astray(ch_stream *stream, int neighbour, ch_leakdown_row *row)
{
    row->heard = (happens(stream, 0.3) ? CH_HEARD_INTAKE : 0u) | (happens(stream, 0.3) ? CH_HEARD_EXHAUST : 0u) |
                 (happens(stream, 0.4) ? CH_HEARD_OIL_FILLER : 0u) | (happens(stream, 0.03) ? CH_HEARD_COOLANT : 0u);
    row->heard_cylinders = happens(stream, 0.03) ? 1u << neighbour : 0u;
    if (row->heard == 0 && row->heard_cylinders == 0)
        row->heard = CH_HEARD_NOTHING;
}

ch_status virtual_leakdown(const virtual_engine *engine, const ch_knowledge *knowledge, int cylinder,
                           bool orifice_stated, ch_stream *stream, ch_sheet *sheet, ch_err *err)
{
    const virtual_cylinder *c = &engine->cylinder[cylinder];
    double path_m2[CH_PATH_COUNT], total_m2 = 0.0;
    memcpy(path_m2, c->beside_m2, sizeof path_m2);
    path_m2[CH_PATH_RINGS] = c->ring_m2;
    if (c->path != NO_PATH)
        path_m2[c->path] += c->extra_m2;
    path_m2[CH_PATH_RINGS] *= engine->standing_1;
    for (int p = 0; p < CH_PATH_COUNT; p++)
        total_m2 += path_m2[p];
    const ch_setup *setup = &engine->setup;
    const double orifice_m = ch_leakdown_orifice_m(setup->cranking.bore.bore_m);
    const ch_leakdown_tester tester = {.supply_gauge_pa = 690e3,
                                       .orifice_area_m2 = ch_leakdown_orifice_area_m2(orifice_m, 0.8) *
                                                          pow(engine->orifice_1, orifice_stated ? 0.08 : 0.35),
                                       .ambient_pa = setup->cranking.ambient_pa,
                                       .air_k = setup->cranking.air_k,
                                       .cylinder_k = setup->cranking.wall_k};
    double loss_1 = 1.0;
    ch_status rc =
        ch_leakdown_loss_1(&tester, total_m2 * exp(STANDING_SCATTER * ch_stream_normal(stream)), &loss_1, err);
    if (rc < 0)
        return rc;
    loss_1 += LOSS_REPEAT_1 * (2.0 * ch_stream_uniform(stream) - 1.0);
    ch_leakdown_row *rows = grown(sheet->leakdown, sheet->leakdown_count, sizeof *rows, err);
    if (rows == NULL)
        return CH_E_MEMORY;
    sheet->leakdown = rows;
    ch_leakdown_row *row = &rows[sheet->leakdown_count++];
    *row = (ch_leakdown_row){.cylinder = cylinder + 1, .supply = given(tester.supply_gauge_pa)};
    row->orifice = orifice_stated ? given(orifice_m) : ch_quantity_none();
    const int neighbour = c->partner != NO_PARTNER ? c->partner : cylinder > 0 ? cylinder - 1 : 1 % engine->cylinders;
    listen(&knowledge->hearing, engine->listener_score, path_m2, neighbour, stream, row);
    if (c->leakdown_wrong && happens(stream, 0.5))
        hear_astray(stream, neighbour, row);
    const double anything_1 = ch_stream_uniform(stream);
    if (c->leakdown_wrong || happens(stream, LOSS_STRAY_1))
        loss_1 = anything_1;
    if (c->leakdown_wrong && c->with_others && !isnan(engine->tester_loss_1))
        do
            loss_1 = engine->tester_loss_1 + TESTER_SPREAD_1 * ch_stream_normal(stream);
        while (!(loss_1 >= 0.0 && loss_1 <= 1.0));
    row->loss = given(0.01 * floor(100.0 * fmin(fmax(loss_1, 0.0), 1.0) + 0.5));
    return CH_OK;
}

static double sign_chance(const virtual_engine *engine, const ch_knowledge_observation *sign, int cylinder)
{
    const double p0 = sign->positive_1[CH_CAUSE_SOUND];
    if (sign->scope == CH_SCOPE_CYLINDER) {
        if (cylinder >= 0)
            return sign->positive_1[engine->cylinder[cylinder].cause];
        double none = 1.0;
        bool counted = false; /* what strikes several cylinders at once counts once */
        for (int i = 0; i < engine->cylinders; i++) {
            const bool again = engine->cylinder[i].with_others && counted;
            none *= again ? 1.0 : 1.0 - sign->positive_1[engine->cylinder[i].cause];
            counted = counted || engine->cylinder[i].with_others;
        }
        return 1.0 - none;
    }
    bool falls = false;
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        falls = falls || sign->positive_1[c] < p0;
    double clear = 1.0, fall = 1.0;
    bool counted = false; /* what strikes several cylinders at once counts once */
    for (int i = 0; i < engine->cylinders; i++) {
        const double p = sign->positive_1[engine->cylinder[i].cause];
        const bool again = engine->cylinder[i].with_others && counted;
        clear *= again ? 1.0 : (1.0 - p) / (1.0 - p0);
        fall *= again ? 1.0 : p / p0;
        counted = counted || engine->cylinder[i].with_others;
    }
    return falls ? fmin(p0 * fall, 1.0) : 1.0 - (1.0 - p0) * clear;
}

ch_status virtual_look(const virtual_engine *engine, const ch_knowledge_observation *sign, int cylinder,
                       ch_stream *stream, ch_sheet *sheet, ch_err *err)
{
    ch_observation *rows = grown(sheet->observed, sheet->observed_count, sizeof *rows, err);
    if (rows == NULL)
        return CH_E_MEMORY;
    sheet->observed = rows;
    char *what = malloc(strlen(sign->id) + 1);
    if (what == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for an observation");
    const bool named = sign->scope == CH_SCOPE_CYLINDER && cylinder >= 0;
    rows[sheet->observed_count++] = (ch_observation){.what = strcpy(what, sign->id),
                                                     .cylinder = named ? cylinder + 1 : 0,
                                                     .absent = !happens(stream, sign_chance(engine, sign, cylinder))};
    return CH_OK;
}

int virtual_lowest(const ch_sheet *sheet)
{
    size_t lowest = 0;
    for (size_t i = 1; i < sheet->compression_count; i++)
        if (sheet->compression[i].reading.si < sheet->compression[lowest].reading.si)
            lowest = i;
    return sheet->compression[lowest].cylinder - 1;
}

/* A few signs looked for, no two of one group. */
static ch_status look_around(const virtual_engine *engine, const ch_knowledge *knowledge, ch_stream *stream,
                             ch_sheet *sheet, ch_err *err)
{
    enum { SIGNS_MAX = 8 };
    long group[SIGNS_MAX];
    const int wanted = 1 + (int)(ch_stream_uniform(stream) * SIGNS_MAX);
    int found = 0;
    ch_status rc = CH_OK;
    while (found < wanted && rc >= 0) {
        const size_t at = (size_t)(ch_stream_uniform(stream) * (double)knowledge->observations_count);
        const ch_knowledge_observation *sign = &knowledge->observations[at];
        bool used = sign->kind == CH_OBSERVATION_HISTORY;
        for (int k = 0; k < found; k++)
            used = used || (sign->group != CH_NO_GROUP && sign->group == group[k]);
        for (size_t k = 0; k < sheet->observed_count && !used; k++)
            used = strcmp(sheet->observed[k].what, sign->id) == 0;
        if (used)
            continue;
        const double where = ch_stream_uniform(stream);
        const int cylinder = where < 0.5   ? virtual_lowest(sheet)
                             : where < 0.8 ? (int)(ch_stream_uniform(stream) * engine->cylinders)
                                           : -1;
        rc = virtual_look(engine, sign, cylinder, stream, sheet, err);
        group[found++] = sign->group;
    }
    return rc;
}

ch_status virtual_measure(const virtual_engine *engine, const ch_knowledge *knowledge, bool more, ch_stream *stream,
                          ch_sheet *sheet, ch_err *err)
{
    const bool wet = more && happens(stream, 0.35), look = more && happens(stream, 0.7);
    const bool first = happens(stream, 0.3);
    const bool wet_all = happens(stream, 0.4), orifice = happens(stream, 0.5), dose = happens(stream, 0.6);
    const int repeats = happens(stream, 0.3) ? 2 : 1;
    ch_status rc = CH_OK;
    /* Leak-down first, as a test that is wrong there is right here. */
    for (int i = 0; i < engine->cylinders && rc >= 0; i++)
        if ((engine->leakdown_plan >> i & 1u) != 0)
            rc = virtual_leakdown(engine, knowledge, i, orifice, stream, sheet, err);
    for (int i = 0; i < engine->cylinders && rc >= 0; i++)
        for (int k = 0; k < repeats && rc >= 0; k++)
            rc = virtual_dry(engine, i, first, stream, sheet, err);
    const int lowest = rc >= 0 ? virtual_lowest(sheet) : 0;
    for (int i = 0; i < engine->cylinders && wet && rc >= 0; i++)
        if (wet_all || i == lowest)
            rc = virtual_wet(engine, i, dose, stream, sheet, err);
    if (look && rc >= 0)
        rc = look_around(engine, knowledge, stream, sheet, err);
    return rc;
}
