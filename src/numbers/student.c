/* Quantile of Student's t. Sources: student.h. */
#include "student.h"

#include <math.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_sf_gamma.h>

/* From here the second term about the normal's quantile is under 1e-16 of it. GSL's own quantile is lost from 1e16 on: 6e7 for 2. */
static const double MANY = 1e9;

/*
 * ln of x = df/(df + t^2) by the first term of the tail, x^(df/2) / (df B(df/2, 1/2)). The next is x times less.
 */
static double log_far_out(double tail_1, double df)
{
    const double a = 0.5 * df;
    const double log_beta_a = gsl_sf_lngamma(1.0 + a) + gsl_sf_lngamma(0.5) - gsl_sf_lngamma(a + 0.5); /* a B(a, 1/2) */
    return (log(2.0 * tail_1) + log_beta_a) / a;
}

/* Where GSL's own loses its way in places (df 0.77, tail 0.31: 1.5e4 for 0.75): halve the logarithm of t between the ends of a double. */
static double by_halves(double tail_1, double df)
{
    double low = log(5e-324), high = log(1.7e308);
    for (int half = 0; half < 60; half++) {
        const double middle = 0.5 * (low + high);
        *(gsl_cdf_tdist_Q(exp(middle), df) > tail_1 ? &low : &high) = middle;
    }
    return exp(low);
}

double student_upper(double tail_1, double df)
{
    if (!(tail_1 < 0.5))
        return 0.0;
    if (df >= MANY) {
        const double z = gsl_cdf_ugaussian_Qinv(tail_1);
        return z + 0.25 * z * (z * z + 1.0) / df;
    }
    const double log_x = log_far_out(tail_1, df), negligible = -37.0;
    if (log_x < negligible)
        return exp(0.5 * (log(df) - log_x));
    double t = df < 1.0 ? by_halves(tail_1, df) : gsl_cdf_tdist_Qinv(tail_1, df);
    for (int step = 0; step < 2; step++) { /* Newton: GSL's leaves 1e-9 */
        const double density = gsl_ran_tdist_pdf(t, df);
        if (density > 0.0)
            t += (gsl_cdf_tdist_Q(t, df) - tail_1) / density;
    }
    return t;
}
