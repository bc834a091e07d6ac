/* One step of the Rosenbrock method RODAS, order 4(3), L-stable and stiffly accurate, for a small stiff system of which only the first
 * quantities act on the rates. Not installed. */
#ifndef CROSSHATCH_RODAS_H
#define CROSSHATCH_RODAS_H

#include "dopri.h"

/* Change of the rates with the state, each state counted in its own present size, and with x. */
typedef struct rodas_slopes {
    double state[DOPRI_N][DOPRI_STATES]; /* d rate_i / d ln y_j */
    double x[DOPRI_N];
    double norm; /* bound of the fastest rate, 1 over the unit of x */
} rodas_slopes;

/* Slopes at (x, y) by forward differences; first[] is the right-hand side there. frozen: the rates do not depend on the last state. Three
 * or four evaluations. false where a state beside y is impossible. */
bool rodas_slopes_set(dopri_rates *rates, void *context, double x, const double y[], const double first[], bool frozen,
                      rodas_slopes *slopes);

/* Step from (x, y) over h; error[] as in dopri.h. Five evaluations. false where a stage met an impossible state. */
bool rodas_step(dopri_rates *rates, void *context, double x, const double y[], const double first[],
                const rodas_slopes *slopes, double h, double y_new[], double error[]);

#endif
