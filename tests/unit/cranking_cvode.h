/* The cranking cylinder run by an outside integrator: SUNDIALS CVODE (BDF, dense, Newton) on the whole equations, restarted at every known
 * kink and at every opening and closing of the check valve. Knows nothing of floating or of our step. */
#ifndef CROSSHATCH_TESTS_CRANKING_CVODE_H
#define CROSSHATCH_TESTS_CRANKING_CVODE_H

#include "crosshatch/cranking.h"

/**
 * @param tolerance_1 relative tolerance.
 * @param slope_1     see cranking_model.h; the smaller, the nearer to the nozzle law as written.
 * @param gauge_pa    (out) strokes values, as ch_cranking_run.
 * @param evaluations (out) of the right-hand side, those for the Jacobian included.
 * @return 0, or CVODE's own code.
 */
int cranking_cvode_run(const ch_cranking *cranking, double tolerance_1, double slope_1, double *gauge_pa,
                       long *evaluations);

#endif
