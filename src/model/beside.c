/* A sheet's means, and the cranking model of a sound cylinder beside them. */
#include "crosshatch/beside.h"

#include <math.h>

#include "crosshatch/emulator.h"
#include "crosshatch/prior.h"
#include "crosshatch/setup.h"

/* Mean of what is known. */
typedef struct mean {
    double sum;
    int n;
} mean;

static void count_in(mean *of, double value)
{
    if (!isfinite(value))
        return;
    of->sum += value;
    of->n++;
}

static double value_of(const mean *of)
{
    return of->n > 0 ? of->sum / of->n : NAN;
}

static void read_rows(const ch_sheet *sheet, int cylinder, ch_beside_cylinder *read)
{
    mean first = {0}, dry = {0}, wet = {0}, oil = {0};
    for (size_t i = 0; i < sheet->compression_count; i++)
        if (sheet->compression[i].cylinder == cylinder) {
            count_in(&dry, sheet->compression[i].reading.si);
            count_in(&first, sheet->compression[i].first_stroke.si);
        }
    for (size_t i = 0; i < sheet->wet_count; i++)
        if (sheet->wet[i].cylinder == cylinder) {
            count_in(&wet, sheet->wet[i].reading.si);
            count_in(&oil, sheet->wet[i].oil.si);
        }
    *read = (ch_beside_cylinder){.first_pa = value_of(&first),
                                 .dry_pa = value_of(&dry),
                                 .wet_pa = value_of(&wet),
                                 .oil_m3 = value_of(&oil),
                                 .volume_rise_1 = NAN};
}

/* A sound cylinder, with oil or without. */
static ch_status run(const ch_sheet *sheet, const ch_setup *setup, const ch_oil *oil, double gauge_pa[CH_STROKES_MAX],
                     ch_err *err)
{
    static const double CENTRE[CH_DOUBT_COUNT] = {0};
    ch_sheet sound = *sheet;
    sound.leaks_count = 0;
    ch_cranking cranking;
    ch_status rc = ch_engine_instance(setup, sheet->engine.cylinders, CENTRE, oil, &cranking, err);
    if (rc < 0)
        return rc;
    cranking.leaks = ch_setup_leaks(&sound, setup, 1);
    return ch_cranking_run(&cranking, CH_CRANKING_TOLERANCE, gauge_pa, NULL, NULL, NULL, err);
}

static ch_status volume_rise(const ch_sheet *sheet, const ch_setup *setup, ch_beside *beside, int c, ch_err *err)
{
    ch_beside_cylinder *cylinder = &beside->cylinder[c];
    double gauge_pa[CH_STROKES_MAX];
    if (!(cylinder->oil_m3 > 0.0))
        return CH_OK;
    for (int before = 0; before < c; before++)
        if (beside->cylinder[before].oil_m3 == cylinder->oil_m3) {
            cylinder->volume_rise_1 = beside->cylinder[before].volume_rise_1;
            return CH_OK;
        }
    /* A dose beyond what the model holds for has no number; the drawing then does without one. */
    const ch_oil oil = {.retained_m3 = cylinder->oil_m3};
    const ch_status rc = run(sheet, setup, &oil, gauge_pa, err);
    if (rc == CH_E_RANGE)
        return CH_OK;
    if (rc >= 0)
        cylinder->volume_rise_1 = gauge_pa[beside->strokes - 1] / beside->sound_pa[beside->strokes - 1] - 1.0;
    return rc;
}

ch_status ch_beside_sheet(const ch_sheet *sheet, ch_beside *beside, ch_err *err)
{
    ch_setup setup;
    ch_beside made = {.cylinders = sheet->engine.cylinders};
    ch_status rc = ch_setup_from_sheet(sheet, CH_PRIOR_UNSTATED_LIFT_M, &setup, err);
    if (rc < 0)
        return rc;
    made.strokes = setup.cranking.strokes;
    rc = run(sheet, &setup, NULL, made.sound_pa, err);
    for (int c = 0; rc >= 0 && c < made.cylinders; c++) {
        read_rows(sheet, c + 1, &made.cylinder[c]);
        rc = volume_rise(sheet, &setup, &made, c, err);
    }
    if (rc < 0)
        return rc;
    *beside = made;
    return CH_OK;
}
