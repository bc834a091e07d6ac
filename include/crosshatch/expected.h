/**
 * @file expected.h
 * What the gauge should show of a sound cylinder of this specification on this day, as an interval that carries every doubt.
 *
 * docs/prior.md gives the constants behind it and how well it holds the figures that makers print.
 */
#ifndef CROSSHATCH_EXPECTED_H
#define CROSSHATCH_EXPECTED_H

#include <stddef.h>
#include <stdint.h>

#include "crosshatch/emulator.h"

/** Draws that place the median within 1 % and the 5 % and 95 % quantiles within 2 % of the reading, where nothing at all is stated. */
#define CH_EXPECTED_DRAWS 1024

enum { CH_EXPECTED_DRAWS_MAX = 1 << 20 };

/**
 * Predictive distribution of one reading of one sound cylinder: the doubts of engine, gauge and day, the ring area of sound engines and
 * of cylinders within one (prior.h), and the gauge's gain, all drawn together.
 *
 * @param emulator           From ch_emulator_build with the same setup, without oil, for a reading of a dry test.
 * @param doubts             Standard uncertainties, normal each in its own measure; 0 holds a doubt at its centre.
 * @param setup              Its bore sets the ring area; the rest is in `emulator`.
 * @param gauge_u_relative_1 Standard uncertainty of the gauge's gain, 0 .. 0.5; 0 = what a perfect gauge would show.
 * @param seed               Same seed, same answer to the last bit.
 * @param draws              1..CH_EXPECTED_DRAWS_MAX; a power of two is best. CH_EXPECTED_DRAWS is enough.
 * @param quantile_pa        (out) 5 %, 50 %, 95 % quantiles, Pa gauge. Untouched on failure.
 *
 * @retval CH_E_RANGE  The gain's uncertainty is outside its range or a doubt is negative or not finite.
 * @retval CH_E_LIMIT  Draws outside their range.
 * @retval CH_E_MEMORY
 *
 * Method: propagation of distributions, JCGM 101:2008, clause 7, over a scrambled Sobol sequence instead of random numbers.
 * Cost: under a millisecond with 1024 draws; one allocation of 16 doubles a draw.
 */
ch_status ch_expected_sound(const ch_emulator *emulator, const ch_doubts *doubts, const ch_setup *setup,
                            double gauge_u_relative_1, uint64_t seed, size_t draws, double quantile_pa[3], ch_err *err);

#endif
