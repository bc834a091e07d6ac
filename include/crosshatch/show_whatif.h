/**
 * @file show_whatif.h
 * The cranking test before and now (whatif.h) in words and as drawings. Nothing is computed but units, differences and per cents.
 */
#ifndef CROSSHATCH_SHOW_WHATIF_H
#define CROSSHATCH_SHOW_WHATIF_H

#include "crosshatch/show_words.h"
#include "crosshatch/svg.h"
#include "crosshatch/whatif.h"

/** The units in which its reader thinks. */
typedef struct ch_show_whatif_units {
    const ch_unit *pressure, *temperature;
} ch_show_whatif_units;

/** What an input is called on a page: "Cranking speed". Static storage. */
const char *ch_show_whatif_label(ch_whatif_input input);

/** The unit in which its number is shown; NULL for pure numbers and the throttle. */
const ch_unit *ch_show_whatif_unit(ch_whatif_input input, const ch_show_whatif_units *units);

/** An input's number as a person writes it, "0.26", "open"; with its unit, "0.26 mm2". Returns `buffer`. */
const char *ch_show_whatif_number(ch_whatif_input input, double si, const ch_show_whatif_units *units,
                                  char buffer[CH_SHOW_NUMBER]);
/** The same with its unit. Returns `buffer`. */
const char *ch_show_whatif_value(ch_whatif_input input, double si, const ch_show_whatif_units *units,
                                 char buffer[CH_SHOW_NUMBER]);

/** A change of a reading as a person says it: "-22.7 %", "+1.8 %", "no change". Returns `buffer`. */
const char *ch_show_whatif_change(double before_pa, double now_pa, char buffer[CH_SHOW_NUMBER]);

/** Append why this changed input moves the reading, by the model's own numbers, and by how much alone. */
void ch_show_whatif_why(const ch_whatif *whatif, ch_whatif_input input, const ch_show_whatif_units *units,
                        ch_text *text);

/**
 * The gauge's reading after each compression stroke: before dotted, now solid. Where nothing is changed, one line.
 *
 * @param whatif   From ch_whatif_compute().
 * @param pressure Unit of the scale and of the words; not NULL.
 * @param svg      (out) Open and closed by the call; ch_svg_clear() it, also on failure.
 * @retval CH_E_MEMORY, CH_E_LIMIT
 */
ch_status ch_show_pumpup_svg(const ch_whatif *whatif, const ch_unit *pressure, ch_svg *svg, ch_err *err);

/**
 * Pressure in the cylinder over the crank angle of the last stroke, likewise; a dot where the intake valve is on its seat.
 *
 * @param whatif   From ch_whatif_compute().
 * @param pressure Unit of the scale and of the words; not NULL.
 * @param svg      (out) Opened and closed by the call; ch_svg_clear() it, also on failure.
 */
ch_status ch_show_cycle_svg(const ch_whatif *whatif, const ch_unit *pressure, ch_svg *svg, ch_err *err);

#endif
