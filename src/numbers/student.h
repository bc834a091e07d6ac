/* Quantile of Student's t at any degrees of freedom. */
#ifndef CROSSHATCH_NUMBERS_STUDENT_H
#define CROSSHATCH_NUMBERS_STUDENT_H

/*
 * t with the chance `tail_1` in (0, 0.5] above it, `df` > 0 degrees of freedom, INFINITY for the normal. Relative error about 1e-11; INFINITY where t is beyond a double.
 *
 * Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 1964, 26.7.1 (as an incomplete beta function, whose first term is all
 * that is left far out) and 26.7.5 (about the normal's quantile, for many degrees of freedom).
 */
double student_upper(double tail_1, double df);

#endif
