/* Centre, spread and order of one sample. Sources: include/crosshatch/summary.h. */
#include "crosshatch/summary.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "twofold.h"

static twofold mean_of(const double x[], size_t n)
{
    return twofold_divide(twofold_total(x, n), twofold_of((double)n));
}

/* sum (x_i - mean)^2; the mean carries 32 digits, so no second-order correction is left to make. */
static twofold squares_about(const double x[], size_t n, twofold mean)
{
    twofold squares = {0.0, 0.0};
    for (size_t i = 0; i < n; i++)
        squares = twofold_add(squares, twofold_square(twofold_subtract(twofold_of(x[i]), mean)));
    return squares;
}

double ch_mean(const double x[], size_t n)
{
    return n == 0 ? NAN : twofold_round(mean_of(x, n));
}

double ch_sd(const double x[], size_t n)
{
    if (n < 2)
        return NAN;
    const twofold variance = twofold_divide(squares_about(x, n, mean_of(x, n)), twofold_of((double)(n - 1)));
    return twofold_round(twofold_root(variance));
}

static int compare_doubles(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

void ch_sort(double x[], size_t n)
{
    if (n > 1)
        qsort(x, n, sizeof x[0], compare_doubles);
}

double ch_quantile_sorted(const double sorted[], size_t n, double p_1)
{
    if (n == 0 || !(p_1 >= 0.0 && p_1 <= 1.0))
        return NAN;
    const double place = (double)(n - 1) * p_1;
    const size_t below = (size_t)place;
    if (below >= n - 1)
        return sorted[n - 1];
    const double part = place - (double)below;
    const double low = sorted[below], high = sorted[below + 1];
    if (!(part > 0.0) || low == high) /* also where one or both are infinite */
        return low;
    return isinf(high - low) ? (1.0 - part) * low + part * high : low + part * (high - low);
}

ch_status ch_summarize(const double x[], size_t n, ch_summary *out, ch_err *err)
{
    if (n == 0)
        return ch_fail(err, CH_E_RANGE, "one reading or more", "no readings to summarise");
    for (size_t i = 0; i < n; i++)
        if (!isfinite(x[i]))
            return ch_fail(err, CH_E_RANGE, "finite readings", "reading %zu is %g", i + 1, x[i]);
    double *sorted = n <= SIZE_MAX / sizeof *sorted ? malloc(n * sizeof *sorted) : NULL;
    if (sorted == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for %zu readings", n);

    const twofold mean = mean_of(x, n);
    const twofold squares = squares_about(x, n, mean);
    twofold lagged = {0.0, 0.0};
    for (size_t i = 0; i + 1 < n; i++)
        lagged = twofold_add(lagged, twofold_multiply(twofold_subtract(twofold_of(x[i]), mean),
                                                      twofold_subtract(twofold_of(x[i + 1]), mean)));

    ch_summary result = {.n = n, .mean = twofold_round(mean), .sd = NAN, .autocorrelation_1 = NAN};
    if (n >= 2)
        result.sd = twofold_round(twofold_root(twofold_divide(squares, twofold_of((double)(n - 1)))));
    if (squares.hi > 0.0)
        result.autocorrelation_1 = twofold_round(twofold_divide(lagged, squares));

    memcpy(sorted, x, n * sizeof *sorted);
    ch_sort(sorted, n);
    result.min = sorted[0];
    result.max = sorted[n - 1];
    result.median = ch_quantile_sorted(sorted, n, 0.5);
    for (size_t i = 0; i < n; i++)
        sorted[i] = fabs(sorted[i] - result.median);
    ch_sort(sorted, n);
    result.mad = ch_quantile_sorted(sorted, n, 0.5);
    free(sorted);

    if (!isfinite(result.mean) || !isfinite(squares.hi))
        return ch_fail(err, CH_E_RANGE, "readings whose squares can be represented", "readings from %g to %g overflow",
                       result.min, result.max);
    *out = result;
    return CH_OK;
}
