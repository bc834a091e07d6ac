/* Law of propagation, coverage, gauge grades. Sources: include/crosshatch/uncertainty.h. */
#include "crosshatch/uncertainty.h"

#include <math.h>

#include <gsl/gsl_cdf.h>

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
    double variance = 0.0;
    for (size_t i = 0; i < n; i++) {
        const ch_component *c = &component[i];
        if (!(c->u >= 0.0 && isfinite(c->u)) || !isfinite(c->sensitivity))
            return ch_fail(err, CH_E_RANGE, "finite, uncertainty 0 or more",
                           "input %zu has uncertainty %g and sensitivity %g", i + 1, c->u, c->sensitivity);
        if (!(c->df > 0.0))
            return ch_fail(err, CH_E_RANGE, "more than 0", "input %zu has %g degrees of freedom", i + 1, c->df);
        const double part = c->sensitivity * c->u;
        variance += part * part;
    }
    /* Shares of the variance keep the fourth powers clear of overflow. */
    double spread = 0.0;
    for (size_t i = 0; i < n && variance > 0.0; i++) {
        const double part = component[i].sensitivity * component[i].u;
        const double share = part * part / variance;
        spread += share * share / component[i].df;
    }
    if (u_c != NULL)
        *u_c = sqrt(variance);
    if (df_eff != NULL)
        *df_eff = spread > 0.0 ? 1.0 / spread : INFINITY;
    return CH_OK;
}

double ch_coverage_factor(double probability_1, double df)
{
    if (!(probability_1 > 0.0 && probability_1 < 1.0) || !(df > 0.0))
        return NAN;
    const double tail = 0.5 * (1.0 - probability_1);
    return isinf(df) ? gsl_cdf_ugaussian_Qinv(tail) : gsl_cdf_tdist_Qinv(tail, df);
}

#define ASME "ASME B40.100-2013, accuracy grades"
#define EN "EN 837-1:1996, accuracy classes"

static const ch_gauge_grade grades[] = {
    {"4A", 0.001, 0.001, 0.001, ASME},    {"3A", 0.0025, 0.0025, 0.0025, ASME}, {"2A", 0.005, 0.005, 0.005, ASME},
    {"1A", 0.01, 0.01, 0.01, ASME},       {"A", 0.02, 0.01, 0.02, ASME},        {"B", 0.03, 0.02, 0.03, ASME},
    {"C", 0.04, 0.03, 0.04, ASME},        {"D", 0.05, 0.05, 0.05, ASME},        {"0.1", 0.001, 0.001, 0.001, EN},
    {"0.25", 0.0025, 0.0025, 0.0025, EN}, {"0.6", 0.006, 0.006, 0.006, EN},     {"1", 0.01, 0.01, 0.01, EN},
    {"1.6", 0.016, 0.016, 0.016, EN},     {"2.5", 0.025, 0.025, 0.025, EN},     {"4", 0.04, 0.04, 0.04, EN},
};

#undef ASME
#undef EN

/* ASCII only: the names are, and a locale must not change what a grade is called. */
static char upper_case(char c)
{
    return c >= 'a' && c <= 'z' ? (char)(c - 'a' + 'A') : c;
}

static bool same_name(const char *a, const char *b)
{
    for (; *a != '\0' && upper_case(*a) == upper_case(*b); a++, b++)
        ;
    return upper_case(*a) == upper_case(*b);
}

const ch_gauge_grade *ch_gauge_grade_find(const char *name)
{
    for (size_t i = 0; i < sizeof grades / sizeof grades[0]; i++)
        if (same_name(grades[i].name, name))
            return &grades[i];
    return NULL;
}

double ch_gauge_limit_pa(const ch_gauge_grade *grade, double reading_pa, double span_pa)
{
    if (!(span_pa > 0.0) || !(reading_pa >= 0.0 && reading_pa <= span_pa))
        return NAN;
    const double place = reading_pa / span_pa;
    double limit_1 = 0.0;
    if (place <= 0.25)
        limit_1 = fmax(limit_1, grade->lower_1);
    if (place >= 0.25 && place <= 0.75)
        limit_1 = fmax(limit_1, grade->middle_1);
    if (place >= 0.75)
        limit_1 = fmax(limit_1, grade->upper_1);
    return limit_1 * span_pa;
}
