/* Mann-Kendall test and Theil-Sen slope. Sources: include/crosshatch/regression.h. */
#include <math.h>
#include <stdlib.h>

#include "crosshatch/regression.h"
#include "crosshatch/sampling.h"
#include "crosshatch/summary.h"

static int sign(double a, double b)
{
    return (b > a) - (b < a);
}

/* What the groups of equal values in an ordered sample add to the formulas. */
typedef struct ties {
    double pairs, triples, weighted; /* sums of t(t-1), t(t-1)(t-2), t(t-1)(2t+5) */
} ties;

static ties ties_of(const double sorted[], size_t n)
{
    ties sum = {0.0, 0.0, 0.0};
    for (size_t i = 0, j; i < n; i = j) {
        for (j = i + 1; j < n && sorted[j] == sorted[i]; j++)
            ;
        const double t = (double)(j - i);
        sum.pairs += t * (t - 1.0);
        sum.triples += t * (t - 1.0) * (t - 2.0);
        sum.weighted += t * (t - 1.0) * (2.0 * t + 5.0);
    }
    return sum;
}

/* Kendall 1975, ch. 4: variance of S with ties in both rankings. */
static double variance_of_s(double n, ties t, ties y)
{
    double variance = (n * (n - 1.0) * (2.0 * n + 5.0) - t.weighted - y.weighted) / 18.0;
    variance += t.pairs * y.pairs / (2.0 * n * (n - 1.0));
    if (n > 2.0)
        variance += t.triples * y.triples / (9.0 * n * (n - 1.0) * (n - 2.0));
    return variance;
}

/*
 * Two-sided chance of |S| or more over all orders of n different values. The share of orders with a given number of
 * inversions grows by one reading at a time: the new one may stand before 0, 1, ... of the earlier ones (Kendall 1975, ch. 5).
 */
static double exact_p(size_t n, double s)
{
    enum { PAIRS_MAX = CH_TREND_EXACT_MAX * (CH_TREND_EXACT_MAX - 1) / 2 };
    double share[PAIRS_MAX + 1] = {1.0}, next[PAIRS_MAX + 1];
    size_t most = 0;
    for (size_t m = 2; m <= n; m++) {
        for (size_t inversions = 0; inversions <= most + m - 1; inversions++) {
            double sum = 0.0;
            for (size_t back = 0; back < m && back <= inversions; back++)
                sum += inversions - back <= most ? share[inversions - back] : 0.0;
            next[inversions] = sum / (double)m;
        }
        most += m - 1;
        for (size_t inversions = 0; inversions <= most; inversions++)
            share[inversions] = next[inversions];
    }
    double p = 0.0;
    for (size_t inversions = 0; inversions <= most; inversions++)
        if (fabs((double)most - 2.0 * (double)inversions) >= fabs(s))
            p += share[inversions];
    return fmin(p, 1.0);
}

/* Scratch of one call: known readings, ordered copies, slopes of the pairs. */
typedef struct scratch {
    double *t, *y, *sorted, *slope;
} scratch;

static ch_status take_known(const double t[], const double y[], size_t n, scratch *s, size_t *known, ch_err *err)
{
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        if (isinf(t[i]) || isinf(y[i]))
            return ch_fail(err, CH_E_RANGE, "finite readings", "reading %zu is (%g, %g)", i + 1, t[i], y[i]);
        if (isnan(t[i]) || isnan(y[i]))
            continue;
        s->t[kept] = t[i];
        s->y[kept++] = y[i];
    }
    if (kept < 2)
        return ch_fail(err, CH_E_RANGE, "two readings or more", "%zu readings for a trend", kept);
    *known = kept;
    return CH_OK;
}

static ties order(const double from[], size_t n, double sorted[])
{
    for (size_t i = 0; i < n; i++)
        sorted[i] = from[i];
    ch_sort(sorted, n);
    return ties_of(sorted, n);
}

static void fill_trend(const scratch *s, size_t n, double confidence_1, ch_trend *out)
{
    const double count = (double)n;
    ch_trend result = {.n = n, .slope = NAN, .slope_low = NAN, .slope_high = NAN, .intercept = NAN};
    size_t slopes = 0;
    for (size_t i = 0; i < n; i++)
        for (size_t j = i + 1; j < n; j++) {
            result.s += sign(s->t[i], s->t[j]) * sign(s->y[i], s->y[j]);
            if (s->t[i] != s->t[j])
                s->slope[slopes++] = (s->y[j] - s->y[i]) / (s->t[j] - s->t[i]);
        }
    const ties ties_t = order(s->t, n, s->sorted);
    const double median_t = ch_quantile_sorted(s->sorted, n, 0.5);
    const ties ties_y = order(s->y, n, s->sorted);
    const double median_y = ch_quantile_sorted(s->sorted, n, 0.5);
    result.tau = result.s / (0.5 * count * (count - 1.0));
    result.var_s = variance_of_s(count, ties_t, ties_y);
    if (result.s != 0.0 && result.var_s > 0.0)
        result.z = (result.s - copysign(1.0, result.s)) / sqrt(result.var_s);
    result.exact = n <= CH_TREND_EXACT_MAX && !(ties_t.pairs > 0.0) && !(ties_y.pairs > 0.0);
    result.p = result.exact ? exact_p(n, result.s) : erfc(fabs(result.z) / sqrt(2.0));

    if (slopes > 0) {
        ch_sort(s->slope, slopes);
        result.slope = ch_quantile_sorted(s->slope, slopes, 0.5);
        result.intercept = median_y - result.slope * median_t;
        /* Gilbert 1987, 16.5.2: ranks (N' - C)/2 and (N' + C)/2 + 1, rounded outwards. */
        const double half = -ch_normal_quantile(0.5 * (1.0 - confidence_1)) * sqrt(result.var_s);
        const double low = floor(0.5 * ((double)slopes - half)), high = ceil(0.5 * ((double)slopes + half)) + 1.0;
        if (low >= 1.0 && high <= (double)slopes) {
            result.slope_low = s->slope[(size_t)low - 1];
            result.slope_high = s->slope[(size_t)high - 1];
        }
    }
    *out = result;
}

ch_status ch_trend_rank(const double t[], const double y[], size_t n, double confidence_1, ch_trend *out, ch_err *err)
{
    if (!(confidence_1 > 0.0 && confidence_1 < 1.0))
        return ch_fail(err, CH_E_RANGE, "between 0 and 1", "confidence %g", confidence_1);
    if (n > CH_TREND_READINGS_MAX)
        return ch_fail(err, CH_E_LIMIT, "up to 5000", "%zu readings for a trend", n);
    double *block = malloc((3 * n + n * (n + 1) / 2 + 1) * sizeof *block);
    if (block == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the pairs of %zu readings", n);
    scratch s = {.t = block, .y = block + n, .sorted = block + 2 * n, .slope = block + 3 * n};
    size_t known = 0;
    const ch_status status = take_known(t, y, n, &s, &known, err);
    if (status >= 0)
        fill_trend(&s, known, confidence_1, out);
    free(block);
    return status;
}
