/**
 * @file beside.h
 * What was read of each cylinder, and beside it what the model shows of a sound one: stroke by stroke, and with oil poured in. For drawings
 * that hold the two against each other; the judgement itself weighs them with every doubt (judge.h).
 */
#ifndef CROSSHATCH_BESIDE_H
#define CROSSHATCH_BESIDE_H

#include "crosshatch/cranking.h"
#include "crosshatch/sheet.h"

/** One cylinder as read. Pressures Pa gauge, means of all rows; NaN = never read. */
typedef struct ch_beside_cylinder {
    double first_pa; /**< after the first compression stroke, dry */
    double dry_pa;   /**< final, dry */
    double wet_pa;   /**< final, with oil */
    double oil_m3;   /**< mean of the doses that were noted; NaN = none was */
    double
        volume_rise_1; /**< by how much of itself a sound cylinder's reading rises by the room that all of this oil takes; NaN where the dose is not known, or
                               so large that the cylinder nears hydraulic lock */
} ch_beside_cylinder;

/** Plain data. */
typedef struct ch_beside {
    int cylinders; /**< 1..CH_CYLINDERS_MAX */
    int strokes;   /**< 1..CH_STROKES_MAX: compression strokes of a reading, stated or assumed */
    double sound_pa
        [CH_STROKES_MAX]; /**< what the gauge shows of a sound cylinder after each of them, every doubt at its centre */
    ch_beside_cylinder cylinder[CH_CYLINDERS_MAX];
} ch_beside;

/**
 * Hold a sheet's readings against the model. Gaps of the sheet are filled as the judgement fills them (ch_setup_from_sheet() with
 * CH_PRIOR_UNSTATED_LIFT_M), leaks are those of a sound cylinder: the sheet's `leaks` are not looked at.
 *
 * @param sheet  Borrowed during the call.
 * @param beside (out) Untouched on failure.
 * @retval CH_E_RANGE, CH_E_CONVERGE as ch_setup_from_sheet() and ch_cranking_run().
 * Cost: no allocation; a millisecond, and one more for each dose that differs; several where the throttle is shut.
 */
ch_status ch_beside_sheet(const ch_sheet *sheet, ch_beside *beside, ch_err *err);

#endif
