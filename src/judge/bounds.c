/* What the model says of a sheet's engine and gauge before any reading counts: the most that a gauge could show, and how full the hose is. */
#include <math.h>
#include <string.h>

#include "crosshatch/emulator.h"
#include "crosshatch/prior.h"
#include "judge_parts.h"

/* Strokes run at least, so that the way in which the gauge fills can be carried on. */
enum { LEAST_STROKES = 6 };

static const double TOLERANCE = 1e-4; /* readings within 0.2 %, far below what is asked of them here */
static const double HIGHEST_RATIO = 14.0;

/* Reading of a full hose from the last three strokes (n >= 3): each closes the gap by about the same proportion (Aitken 1926). */
static double full_hose_pa(const double gauge_pa[], int n)
{
    const double last_pa = gauge_pa[n - 1] - gauge_pa[n - 2], before_pa = gauge_pa[n - 2] - gauge_pa[n - 3];
    if (!(last_pa < before_pa))
        return gauge_pa[n - 1];
    return gauge_pa[n - 1] + last_pa * last_pa / (before_pa - last_pa);
}

/* The highest reading that could be true: no heat, no leak, no adapter, a check valve that opens at nothing, and compression ratio, intake
 * closing and air pressure two standard uncertainties on the high side. */
static ch_status ideal(const ch_setup *setup, int cylinders, judge_bounds *bounds, ch_err *err)
{
    ch_doubts doubts;
    ch_doubts_from_setup(setup, &doubts);
    double offset[CH_DOUBT_COUNT] = {0};
    bounds->ratio_assumed = setup->assumed[CH_INPUT_COMPRESSION_RATIO];
    offset[CH_DOUBT_RATIO] = bounds->ratio_assumed ? log((HIGHEST_RATIO - 1.0) / (setup->compression_ratio - 1.0))
                                                   : 2.0 * doubts.sd[CH_DOUBT_RATIO];
    offset[CH_DOUBT_CLOSES] = -2.0 * doubts.sd[CH_DOUBT_CLOSES];
    offset[CH_DOUBT_AMBIENT] = 2.0 * doubts.sd[CH_DOUBT_AMBIENT];
    ch_setup open = *setup;
    open.throttle_shut = false;
    ch_cranking engine;
    double gauge_pa[CH_STROKES_MAX];
    ch_status rc = ch_engine_instance(&open, cylinders, offset, NULL, &engine, err);
    if (rc < 0)
        return rc;
    engine.annand_1 = 0.0;
    engine.crevice_m3 = 0.0;
    engine.dead_m3 = 0.0;
    engine.check_opening_pa = 0.0;
    engine.strokes = LEAST_STROKES;
    rc = ch_cranking_run(&engine, TOLERANCE, gauge_pa, NULL, NULL, NULL, err);
    if (rc >= 0)
        bounds->ideal_pa = full_hose_pa(gauge_pa, LEAST_STROKES);
    return rc;
}

/* First stroke at JUDGE_FULL_1 of full: counted where the run got there, else carried on in the proportion by which the gap last closed. */
static int strokes_to_fill(const double gauge_pa[], int run, double full_pa)
{
    for (int i = 0; i < run; i++)
        if (gauge_pa[i] >= JUDGE_FULL_1 * full_pa)
            return i + 1;
    const double gap_pa = full_pa - gauge_pa[run - 1], kept_1 = gap_pa / (full_pa - gauge_pa[run - 2]);
    const double more = log((1.0 - JUDGE_FULL_1) * full_pa / gap_pa) / log(kept_1);
    return more < 1000.0 ? run + (int)ceil(more) : 0;
}

static ch_status filling(const ch_setup *setup, int cylinders, judge_bounds *bounds, ch_err *err)
{
    const double none[CH_DOUBT_COUNT] = {0};
    ch_cranking engine;
    double gauge_pa[CH_STROKES_MAX];
    ch_status rc = ch_engine_instance(setup, cylinders, none, NULL, &engine, err);
    if (rc < 0)
        return rc;
    bounds->strokes = engine.strokes;
    const int run = engine.strokes < LEAST_STROKES ? LEAST_STROKES : engine.strokes;
    engine.strokes = run;
    engine.leaks.rings_m2 = CH_PRIOR_RING_M2_PER_M * engine.bore.bore_m;
    rc = ch_cranking_run(&engine, TOLERANCE, gauge_pa, NULL, NULL, NULL, err);
    if (rc < 0)
        return rc;
    const double full_pa = full_hose_pa(gauge_pa, run);
    bounds->sound_pa = gauge_pa[bounds->strokes - 1];
    bounds->fill_1 = full_pa > 0.0 ? gauge_pa[bounds->strokes - 1] / full_pa : 1.0;
    bounds->strokes_to_fill = full_pa > 0.0 ? strokes_to_fill(gauge_pa, run, full_pa) : 1;
    return CH_OK;
}

/* Below, an engine is cold and the starter slow (common practice). */
static const double COLD_K = 313.15, SLOW_RAD_S = 20.0;

bool judge_is_cold(const ch_setup *setup)
{
    return !setup->assumed[CH_INPUT_ENGINE_TEMPERATURE] && setup->cranking.wall_k < COLD_K;
}

bool judge_is_slow(const ch_setup *setup)
{
    return !setup->assumed[CH_INPUT_CRANKING_SPEED] && setup->cranking.speed_rad_s < SLOW_RAD_S;
}

/* A sound cylinder's reading were the cold engine warm, and the slow starter as fast as usual, all else as it was. */
static ch_status usual(const ch_setup *setup, int cylinders, judge_bounds *bounds, ch_err *err)
{
    const double none[CH_DOUBT_COUNT] = {0};
    ch_setup said, warm = *setup;
    ch_cranking engine;
    double gauge_pa[CH_STROKES_MAX];
    bounds->usual_pa = bounds->sound_pa;
    if (!judge_is_cold(setup) && !judge_is_slow(setup))
        return CH_OK;
    ch_status rc = judge_usual_setup(&said, err);
    if (judge_is_cold(setup))
        warm.cranking.wall_k = said.cranking.wall_k;
    if (judge_is_slow(setup))
        warm.cranking.speed_rad_s = said.cranking.speed_rad_s;
    if (rc >= 0)
        rc = ch_engine_instance(&warm, cylinders, none, NULL, &engine, err);
    if (rc < 0)
        return rc;
    engine.leaks.rings_m2 = CH_PRIOR_RING_M2_PER_M * engine.bore.bore_m;
    rc = ch_cranking_run(&engine, TOLERANCE, gauge_pa, NULL, NULL, NULL, err);
    if (rc >= 0)
        bounds->usual_pa = gauge_pa[engine.strokes - 1];
    return rc;
}

ch_status judge_bounds_compute(const ch_setup *setup, int cylinders, judge_bounds *bounds, ch_err *err)
{
    judge_bounds made = {0};
    ch_status rc = ideal(setup, cylinders, &made, err);
    if (rc >= 0)
        rc = filling(setup, cylinders, &made, err);
    if (rc >= 0)
        rc = usual(setup, cylinders, &made, err);
    if (rc >= 0)
        *bounds = made;
    return rc;
}

/* A dose that was not noted is taken to be a large one, 15 ml (common practice: 3 to 15), where the chamber is not too small for it. */
static const double LARGE_DOSE_M3 = 15e-6, LARGE_DOSE_OF_CLEARANCE_1 = 0.5;

/* Reading of a cylinder with no leak at all and all of the oil above the piston, over that of a sound one without. */
static ch_status wet_lift(const ch_setup *setup, int cylinders, double oil_m3, const judge_bounds *bounds,
                          double *lift_1, ch_err *err)
{
    const double none[CH_DOUBT_COUNT] = {0};
    const ch_oil oil = {.retained_m3 = oil_m3};
    ch_cranking engine;
    double gauge_pa[CH_STROKES_MAX];
    ch_status rc = ch_engine_instance(setup, cylinders, none, &oil, &engine, err);
    if (rc >= 0)
        rc = ch_cranking_run(&engine, TOLERANCE, gauge_pa, NULL, NULL, NULL, err);
    if (rc >= 0)
        *lift_1 = bounds->sound_pa > 0.0 ? gauge_pa[engine.strokes - 1] / bounds->sound_pa : 0.0;
    return rc;
}

ch_status judge_bounds_wet(const ch_sheet *sheet, const ch_setup *setup, judge_bounds *bounds, ch_err *err)
{
    const double usual_m3 = fmin(LARGE_DOSE_M3, LARGE_DOSE_OF_CLEARANCE_1 * setup->cranking.clearance_m3);
    double oil_m3[CH_CYLINDERS_MAX] = {0}, lift_1[CH_CYLINDERS_MAX] = {0};
    for (size_t i = 0; i < sheet->wet_count; i++) {
        const ch_reading *row = &sheet->wet[i];
        if (ch_setup_holds_dose(setup, row))
            oil_m3[row->cylinder - 1] =
                fmax(oil_m3[row->cylinder - 1], ch_quantity_given(&row->oil) ? row->oil.si : usual_m3);
    }
    for (int c = 0; c < sheet->engine.cylinders; c++) {
        int same = 0; /* the same dose goes into every cylinder, as a rule */
        while (same < c && oil_m3[same] != oil_m3[c])
            same++;
        lift_1[c] = same < c ? lift_1[same] : 0.0;
        if (same < c || !(oil_m3[c] > 0.0))
            continue;
        const ch_status rc = wet_lift(setup, sheet->engine.cylinders, oil_m3[c], bounds, &lift_1[c], err);
        if (rc < 0)
            return rc;
    }
    memcpy(bounds->wet_lift_1, lift_1, sizeof bounds->wet_lift_1);
    return CH_OK;
}
