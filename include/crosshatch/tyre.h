/**
 * @file tyre.h
 * A tyre from its size designation: overall diameter and rolling circumference.
 */
#ifndef CROSSHATCH_TYRE_H
#define CROSSHATCH_TYRE_H

#include <stddef.h>

#include "crosshatch/status.h"

/** A tyre's size. */
typedef struct ch_tyre {
    double section_m; /**< nominal section width */
    double aspect_1;  /**< section height over width */
    double rim_m;     /**< nominal rim diameter */
} ch_tyre;

/**
 * Read a size designation: "195/50R15", "195/50 ZR 15 82V", "P205/55R16", "175R14" (no aspect ratio: 0.82), "185/60 HR 14" (the speed symbol where it stood
 * until about 1990), "195/70R15C", small letters too. What follows the rim
 * diameter behind a space (load index, speed symbol) is free.
 *
 * @param text   `length` bytes, borrowed during the call.
 * @param length Bytes of `text`; need not end in NUL.
 * @param tyre   (out) Untouched on failure.
 * @retval CH_E_INPUT Not such a designation, or outside 105 to 455 mm, 20 to 100 %, rims of 8 to 28 in.
 * Source: ISO 4000-1 and UN Regulation 30, paragraphs 2 and 6.1 (designation, nominal rim diameters); from memory.
 */
ch_status ch_tyre_parse(const char *text, size_t length, ch_tyre *tyre, ch_err *err);

/**
 * Overall diameter of the new tyre, m: D = d + 2 H, the section height H = S Ra rounded to the millimetre, d the rim diameter rounded to the millimetre.
 * Source: UN Regulation 30, paragraph 6.1.2.1; from memory.
 */
double ch_tyre_diameter(const ch_tyre *tyre);

/**
 * Distance that the loaded, rolling tyre covers in one turn, m: 3.05 times the overall diameter (radial tyres, 60 km/h). A new tyre lies within
 * +1.5 % and -2.5 % of it, a worn one up to 2 % lower.
 * Source: ETRTO Standards Manual, passenger car tyres, rolling circumference; from memory.
 */
double ch_tyre_rolling_circumference(const ch_tyre *tyre);

#endif
