/* One step of the explicit Runge-Kutta pair of Dormand and Prince, order 5(4), for a small system. Not installed. */
#ifndef CROSSHATCH_DOPRI_H
#define CROSSHATCH_DOPRI_H

#include <stdbool.h>

enum { DOPRI_N = 6 };

/* Right-hand side; false = impossible state. */
typedef bool dopri_rates(void *context, double x, const double y[], double rate[]);

/* Step from (x, y) over h. first[] is the right-hand side at (x, y), last[] (out) that at the end, which is the next step's first;
 * error[] (out) the embedded estimate. Six evaluations. false where a stage met an impossible state. */
bool dopri_step(dopri_rates *rates, void *context, double x, const double y[], const double first[], double h,
                double y_new[], double last[], double error[]);

#endif
