/* Weighted draws: logarithms, effective number, resampling. Sources: include/crosshatch/sampling.h. */
#include <math.h>

#include "crosshatch/sampling.h"
#include "twofold.h"

double ch_log_sum_exp(const double x[], size_t n)
{
    double most = -INFINITY;
    for (size_t i = 0; i < n; i++) {
        if (isnan(x[i]))
            return NAN;
        most = fmax(most, x[i]);
    }
    if (isinf(most))
        return most;
    double sum = 0.0;
    for (size_t i = 0; i < n; i++)
        sum += exp(x[i] - most);
    return most + log(sum);
}

ch_status ch_weights_from_logs(const double log_weight[], size_t n, double weight[], ch_err *err)
{
    const double total = ch_log_sum_exp(log_weight, n);
    if (!isfinite(total))
        return ch_fail(err, CH_E_RANGE, "one finite logarithm or more, and no infinite weight",
                       "%zu weights have the logarithm %g together", n, total);
    for (size_t i = 0; i < n; i++)
        weight[i] = exp(log_weight[i] - total);
    return CH_OK;
}

double ch_effective_sample_size(const double weight[], size_t n)
{
    double sum = 0.0, squares = 0.0, most = 0.0;
    for (size_t i = 0; i < n; i++) {
        if (!(weight[i] >= 0.0))
            return NAN;
        most = fmax(most, weight[i]);
    }
    if (!(most > 0.0 && isfinite(most)))
        return NAN;
    for (size_t i = 0; i < n; i++) {
        const double part = weight[i] / most; /* so that squares of small weights do not vanish */
        sum += part;
        squares += part * part;
    }
    return sum * sum / squares;
}

ch_status ch_resample_systematic(const double weight[], size_t n, double start_1, size_t m, size_t index[], ch_err *err)
{
    if (!(start_1 > 0.0 && start_1 < 1.0))
        return ch_fail(err, CH_E_RANGE, "between 0 and 1", "start %g", start_1);
    for (size_t i = 0; i < n; i++)
        if (!(weight[i] >= 0.0 && isfinite(weight[i])))
            return ch_fail(err, CH_E_RANGE, "0 or more, finite", "weight %zu is %g", i + 1, weight[i]);
    const double total = twofold_round(twofold_total(weight, n));
    if (!(total > 0.0 && isfinite(total)))
        return ch_fail(err, CH_E_RANGE, "a weight above 0", "%zu weights with sum %g", n, total);
    size_t last =
        n - 1; /* the last that has weight: where rounding leaves the running sum a hair short, it takes the rest */
    while (!(weight[last] > 0.0))
        last--;
    size_t i = 0;
    twofold below = twofold_of(weight[0]);
    for (size_t k = 0; k < m; k++) {
        const double place = ((double)k + start_1) / (double)m * total;
        while (i < last && !(place < twofold_round(below)))
            below = twofold_add(below, twofold_of(weight[++i]));
        index[k] = i;
    }
    return CH_OK;
}
