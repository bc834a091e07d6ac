/**
 * @file wet.h
 * The wet test: what a dose of oil does to a cylinder, by its volume and by sealing its rings.
 */
#ifndef CROSSHATCH_WET_H
#define CROSSHATCH_WET_H

#include "crosshatch/status.h"

/** Largest part of the clearance volume that oil may fill, 1: beyond it the cylinder nears hydraulic lock. */
#define CH_WET_FILL_LIMIT_1 0.8

/** One dose, as given and as it acts. */
typedef struct ch_wet_dose {
    double oil_m3;        /* poured in, m3, >= 0; the usual dose is 3..15 ml (common practice) */
    double retained_1;    /* part of it still above the piston while cranking, 0..1; the rest drains or is blown out */
    double ring_factor_1; /* ring area with oil over without, 0..1; typically 0.2..0.6 (common practice) */
} ch_wet_dose;

/** What the oil changes of a cylinder. */
typedef struct ch_wet_cylinder {
    double clearance_m3; /* clearance volume, m3, > 0 */
    double ring_area_m2; /* effective leak area past the rings, m2, >= 0 */
} ch_wet_cylinder;

/**
 * The cylinder with the dose in it: the oil retained takes its volume from the clearance volume (oil does not compress), and the ring
 * area shrinks by the factor. Valve and gasket areas stay as they are, which is what makes the test tell rings from valves.
 *
 * @param dose oil_m3 >= 0, retained_1 and ring_factor_1 in 0..1.
 * @param dry  Before the dose.
 * @param wet  (out) With it; may be `dry` itself. Untouched on failure.
 * @retval CH_E_RANGE An argument outside the ranges above, or oil retained above CH_WET_FILL_LIMIT_1 of the clearance volume.
 */
ch_status ch_wet_apply(const ch_wet_dose *dose, const ch_wet_cylinder *dry, ch_wet_cylinder *wet, ch_err *err);

/**
 * Largest dose, m3, that can be poured without nearing hydraulic lock if none of it drains: CH_WET_FILL_LIMIT_1 of the clearance volume.
 */
double ch_wet_largest_dose_m3(double clearance_m3);

#endif
