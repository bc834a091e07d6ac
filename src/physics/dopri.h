/* One step of the explicit Runge-Kutta pair of Dormand and Prince, order 5(4), for a small system. Not installed. */
#ifndef CROSSHATCH_DOPRI_H
#define CROSSHATCH_DOPRI_H

#include <stdbool.h>

/* DOPRI_N quantities, of which the first DOPRI_STATES act on the rates; the rest are books. */
enum { DOPRI_N = 6, DOPRI_STATES = 3 };

/* Right-hand side; false = impossible state. */
typedef bool dopri_rates(void *context, double x, const double y[], double rate[]);

/* Step from (x, y) over h. first[] is the right-hand side at (x, y), last[] (out) that at the end, which is the next step's first;
 * error[] (out) the embedded estimate. Six evaluations. stiff (out): how much the rates of the states change between the last two stages,
 * both at x + h, over how much the states do themselves, times h: above about 3.3 the step is held down by stability, not by accuracy (Hairer and
 * Wanner, Solving Ordinary Differential Equations II, 2nd ed., 1996, section IV.2). false where a stage met an impossible state. */
bool dopri_step(dopri_rates *rates, void *context, double x, const double y[], const double first[], double h,
                double y_new[], double last[], double error[], double *stiff);

#endif
