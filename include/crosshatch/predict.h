/**
 * @file predict.h
 * What the gauge should show: the cranking test of every cylinder of a sheet, with the leaks that the sheet assumes.
 */
#ifndef CROSSHATCH_PREDICT_H
#define CROSSHATCH_PREDICT_H

#include "crosshatch/setup.h"

/** The answer for one sheet. Pressures of the gauge are over ambient; SI. Plain data, some 30 kB. */
typedef struct ch_prediction {
    int cylinders;                                     /**< 1..CH_CYLINDERS_MAX */
    int strokes;                                       /**< 1..CH_STROKES_MAX */
    double gauge_pa[CH_CYLINDERS_MAX][CH_STROKES_MAX]; /**< cylinder - 1, stroke - 1 */
    ch_leak_areas leaks[CH_CYLINDERS_MAX];             /**< as used */
    int like[CH_CYLINDERS_MAX]; /**< number of the first cylinder with the same leaks; its own where it is the first */
    double intake_pa;           /**< absolute; ambient pressure with the throttle open */
    ch_setup setup;             /**< the engine, gauge and day as used, and what of it was assumed */
} ch_prediction;

/**
 * Predict the readings of a sheet's engine on a sheet's day, stroke by stroke.
 *
 * Gaps are filled by ch_setup_from_sheet() with CH_SEAT_LIFT_M; leaks come from ch_setup_leaks(); each different cylinder is run once by
 * ch_cranking_run() at CH_CRANKING_TOLERANCE. With the throttle shut the intake's pressure is that of an engine whose cylinders all have the mean
 * leak areas. Readings on the sheet are not looked at.
 *
 * @param sheet      Borrowed during the call.
 * @param prediction (out) Untouched on failure.
 * @retval CH_E_RANGE, CH_E_CONVERGE as the functions named above.
 * Cost: no allocation; about a millisecond for each cylinder that differs.
 */
ch_status ch_predict(const ch_sheet *sheet, ch_prediction *prediction, ch_err *err);

#endif
