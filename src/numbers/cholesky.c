/* Cholesky's factor through GSL. */
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>

#include "crosshatch/regression.h"

bool ch_cholesky(double a[], size_t n)
{
    gsl_matrix_view view = gsl_matrix_view_array(a, n, n);
    gsl_set_error_handler_off(); /* GSL's own ends the program */
    return gsl_linalg_cholesky_decomp1(&view.matrix) == GSL_SUCCESS;
}
