/**
 * @file show_beside.h
 * What was read, drawn beside what the model shows of a sound cylinder (beside.h). Nothing is computed but units and per cents.
 */
#ifndef CROSSHATCH_SHOW_BESIDE_H
#define CROSSHATCH_SHOW_BESIDE_H

#include <stdbool.h>

#include "crosshatch/beside.h"
#include "crosshatch/show_words.h"
#include "crosshatch/svg.h"

/** True where the drawing below has something to show: a cylinder with a final dry reading and the one thing more. */
bool ch_show_has_wet(const ch_beside *beside);
/** The same for the readings after the first stroke. */
bool ch_show_has_strokes(const ch_beside *beside);

/** By how much the wet reading of a cylinder stands over its dry one, "+12 %"; "-" where one is missing. Returns `buffer`. */
const char *ch_show_wet_rise(const ch_beside_cylinder *cylinder, char buffer[CH_SHOW_NUMBER]);

/**
 * Dry against wet: for each cylinder that was read both ways a filled bar for dry, a hatched one for wet, and a dotted mark as far as the
 * room that the oil takes lifts the reading by itself, where its dose is known.
 *
 * @param beside   From ch_beside_sheet().
 * @param pressure Unit of the scale and of the words; not NULL.
 * @param svg      (out) Open and closed by the call; ch_svg_clear() it, also on failure.
 * @retval CH_E_MEMORY, CH_E_LIMIT
 */
ch_status ch_show_wet_svg(const ch_beside *beside, const ch_unit *pressure, ch_svg *svg, ch_err *err);

/**
 * Pump-up by stroke: for each cylinder whose first stroke was noted, its first and its final reading with a line between, over the
 * dotted curve of a sound cylinder. All cylinders have the same scale.
 *
 * @param beside   From ch_beside_sheet().
 * @param pressure Unit of the scale and of the words; not NULL.
 * @param svg      (out) As above.
 * @retval CH_E_MEMORY, CH_E_LIMIT
 */
ch_status ch_show_strokes_svg(const ch_beside *beside, const ch_unit *pressure, ch_svg *svg, ch_err *err);

#endif
