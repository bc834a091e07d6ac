/**
 * @file car.h
 * A car as the driveline needs it, out of a YAML or JSON text. Every key is optional; without any, the log has to speak for itself.
 *
 *     title: "track car"
 *     tyre: 195/50R15
 *     final_drive: 4.1
 *     gears: [3.54, 1.91, 1.31, 0.97, 0.80]
 *     mass: 1050 kg                # as driven: car, driver, fuel
 *     drag_area: 0.65 m2           # drag coefficient times frontal area
 *     clutch: {outer: 215 mm, inner: 145 mm, surfaces: 2, clamp_force: 5 kN, friction: 0.35}
 *     observed: [no_free_play, clutch_smell]
 *
 * A bare number stands for kg, m2, mm (diameters of the facing) and N.
 */
#ifndef CROSSHATCH_CAR_H
#define CROSSHATCH_CAR_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/clutch.h"
#include "crosshatch/status.h"
#include "crosshatch/tyre.h"

enum { CH_CAR_GEARS_MAX = 10, CH_CAR_OBSERVED_MAX = 32 };

/** Something observed: a sign's id, and where it stands. */
typedef struct ch_car_observed {
    char id[48];
    long line, column;
} ch_car_observed;

/** A car. NaN or a count of 0: not stated. */
typedef struct ch_car {
    char title[96];
    char tyre_text[32]; /**< as written; empty where not stated */
    ch_tyre tyre;
    double final_drive_1;
    double gear_1[CH_CAR_GEARS_MAX];
    size_t gears;
    double mass_kg;
    double drag_area_m2;
    ch_clutch_disc clutch;
    ch_car_observed observed[CH_CAR_OBSERVED_MAX];
    size_t observed_n;
} ch_car;

/** The car of which nothing is stated. */
ch_car ch_car_none(void);

/**
 * Read a car.
 *
 * @param name   Shown in messages.
 * @param text   YAML or JSON, borrowed during the call.
 * @param length Bytes of `text`; need not end in NUL.
 * @param car    (out) Untouched on failure. Holds no memory of its own.
 * @retval CH_E_INPUT  With line and column: not a document, an unknown key (the nearest is named), not a number or quantity, out of range, ratios that do not
 *                     fall, an inner diameter not below the outer.
 * @retval CH_E_LIMIT, CH_E_MEMORY
 */
ch_status ch_car_parse(const char *name, const char *text, size_t length, ch_car *car, ch_err *err);

/**
 * Radians that the engine turns for each metre of road in a gear (from 1): 2 pi gear final/rolling circumference. NaN where the car does not state what it takes.
 */
double ch_car_line_rad_m(const ch_car *car, size_t gear);

#endif
