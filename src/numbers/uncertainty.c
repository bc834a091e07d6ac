/* Law of propagation, coverage. Sources: include/crosshatch/uncertainty.h. */
#include "crosshatch/uncertainty.h"

#include <math.h>

#include "student.h"

static double over_root(double limit, double divisor)
{
    return limit >= 0.0 ? limit / sqrt(divisor) : NAN;
}

double ch_u_rectangular(double limit)
{
    return over_root(limit, 3.0);
}

double ch_u_triangular(double limit)
{
    return over_root(limit, 6.0);
}

double ch_u_arc_sine(double limit)
{
    return over_root(limit, 2.0);
}

double ch_u_resolution(double step)
{
    return over_root(step, 12.0);
}

double ch_u_mean(double sd, size_t n)
{
    return n > 0 ? over_root(sd, (double)n) : NAN;
}

ch_status ch_u_combine(const ch_component component[], size_t n, double *u_c, double *df_eff, ch_err *err)
{
    double largest = 0.0;
    for (size_t i = 0; i < n; i++) {
        const ch_component *c = &component[i];
        if (!(c->u >= 0.0 && isfinite(c->u)) || !isfinite(c->sensitivity))
            return ch_fail(err, CH_E_RANGE, "finite, uncertainty 0 or more",
                           "input %zu has uncertainty %g and sensitivity %g", i + 1, c->u, c->sensitivity);
        if (!(c->df > 0.0))
            return ch_fail(err, CH_E_RANGE, "more than 0", "input %zu has %g degrees of freedom", i + 1, c->df);
        largest = fmax(largest, fabs(c->sensitivity * c->u));
    }
    /* In parts of the largest, squares and fourth powers stay numbers whatever the unit. */
    double variance = 0.0;
    for (size_t i = 0; i < n && largest > 0.0; i++) {
        const double part = component[i].sensitivity * component[i].u / largest;
        variance += part * part;
    }
    const double total = largest * sqrt(variance);
    if (!isfinite(total))
        return ch_fail(err, CH_E_RANGE, "smaller numbers, or another unit",
                       "the uncertainties together are beyond any number");
    double spread = 0.0;
    for (size_t i = 0; i < n && largest > 0.0; i++) {
        const double part = component[i].sensitivity * component[i].u / largest;
        const double share = part * part / variance;
        spread += share * share / component[i].df;
    }
    if (u_c != NULL)
        *u_c = total;
    if (df_eff != NULL)
        *df_eff = spread > 0.0 ? 1.0 / spread : INFINITY;
    return CH_OK;
}

double ch_coverage_factor(double probability_1, double df)
{
    if (!(probability_1 > 0.0 && probability_1 < 1.0) || !(df > 0.0))
        return NAN;
    return student_upper(0.5 * (1.0 - probability_1), df);
}
