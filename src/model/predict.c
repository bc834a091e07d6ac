/* Runs the cranking model for each cylinder of a sheet; equal cylinders share one run. */
#include "crosshatch/predict.h"

#include <stdbool.h>
#include <string.h>

static bool same_leaks(const ch_leak_areas *a, const ch_leak_areas *b)
{
    /* Not memcmp: 0 and -0 are the same area. */
    return a->rings_m2 == b->rings_m2 && a->intake_valve_m2 == b->intake_valve_m2 &&
           a->exhaust_valve_m2 == b->exhaust_valve_m2 && a->neighbour_m2 == b->neighbour_m2 &&
           a->coolant_m2 == b->coolant_m2;
}

static ch_leak_areas mean_leaks(const ch_leak_areas *leaks, int cylinders)
{
    ch_leak_areas mean = {0};
    for (int c = 0; c < cylinders; c++) {
        mean.rings_m2 += leaks[c].rings_m2 / cylinders;
        mean.intake_valve_m2 += leaks[c].intake_valve_m2 / cylinders;
        mean.exhaust_valve_m2 += leaks[c].exhaust_valve_m2 / cylinders;
        mean.neighbour_m2 += leaks[c].neighbour_m2 / cylinders;
        mean.coolant_m2 += leaks[c].coolant_m2 / cylinders;
    }
    return mean;
}

/* Pressure in the intake, which all cylinders share. */
static ch_status intake_pressure(const ch_prediction *prediction, double *intake_pa, ch_err *err)
{
    const ch_setup *setup = &prediction->setup;
    if (!setup->throttle_shut) {
        *intake_pa = setup->cranking.ambient_pa;
        return CH_OK;
    }
    ch_cranking cranking = setup->cranking;
    cranking.leaks = mean_leaks(prediction->leaks, prediction->cylinders);
    const double displacement_m3 = prediction->cylinders * ch_piston_swept_m3(&cranking.bore);
    return ch_cranking_intake_pa(&cranking, prediction->cylinders, ch_shut_throttle_area_m2(displacement_m3), intake_pa,
                                 err);
}

ch_status ch_predict(const ch_sheet *sheet, ch_prediction *prediction, ch_err *err)
{
    ch_prediction made = {.cylinders = sheet->engine.cylinders};
    ch_status rc = ch_setup_from_sheet(sheet, CH_SEAT_LIFT_M, &made.setup, err);
    if (rc < 0)
        return rc;
    made.strokes = made.setup.cranking.strokes;
    for (int c = 0; c < made.cylinders; c++)
        made.leaks[c] = ch_setup_leaks(sheet, &made.setup, c + 1);
    rc = intake_pressure(&made, &made.intake_pa, err);
    for (int c = 0; rc >= 0 && c < made.cylinders; c++) {
        int like = 0;
        while (!same_leaks(&made.leaks[like], &made.leaks[c]))
            like++;
        made.like[c] = like + 1;
        if (like < c) {
            memcpy(made.gauge_pa[c], made.gauge_pa[like], sizeof made.gauge_pa[c]);
            continue;
        }
        ch_cranking cranking = made.setup.cranking;
        cranking.leaks = made.leaks[c];
        cranking.intake_pa = made.intake_pa;
        rc = ch_cranking_run(&cranking, CH_CRANKING_TOLERANCE, made.gauge_pa[c], NULL, NULL, NULL, err);
    }
    if (rc < 0)
        return rc;
    *prediction = made;
    return CH_OK;
}
