/* Groups of repeats: analysis of variance, pooled sd, the reading that does not fit. Sources: summary.h. */
#include <math.h>

#include <gsl/gsl_cdf.h>

#include "crosshatch/summary.h"
#include "student.h"
#include "twofold.h"

static ch_status check_finite(const double y[], size_t n, ch_err *err)
{
    for (size_t i = 0; i < n; i++)
        if (!isfinite(y[i]))
            return ch_fail(err, CH_E_RANGE, "finite readings", "reading %zu is %g", i + 1, y[i]);
    return CH_OK;
}

static twofold group_mean(const double y[], size_t n)
{
    return twofold_divide(twofold_total(y, n), twofold_of((double)n));
}

/* Sum of squares about each group's own mean; empty groups add nothing. */
static twofold squares_within(const double y[], const size_t group_size[], size_t groups)
{
    twofold within = {0.0, 0.0};
    for (size_t g = 0; g < groups; y += group_size[g], g++) {
        if (group_size[g] == 0)
            continue;
        const twofold mean = group_mean(y, group_size[g]);
        for (size_t i = 0; i < group_size[g]; i++)
            within = twofold_add(within, twofold_square(twofold_subtract(twofold_of(y[i]), mean)));
    }
    return within;
}

ch_status ch_anova_one_way(const double y[], const size_t group_size[], size_t groups, ch_anova *out, ch_err *err)
{
    if (groups < 2)
        return ch_fail(err, CH_E_RANGE, "two groups or more", "%zu groups", groups);
    size_t n = 0;
    for (size_t g = 0; g < groups; g++) {
        if (group_size[g] == 0)
            return ch_fail(err, CH_E_RANGE, "one reading or more in each group", "group %zu is empty", g + 1);
        n += group_size[g];
    }
    if (n == groups)
        return ch_fail(err, CH_E_RANGE, "a group with two readings or more", "no group has a repeat");
    const ch_status status = check_finite(y, n, err);
    if (status < 0)
        return status;

    const twofold grand = group_mean(y, n);
    twofold between = {0.0, 0.0};
    const double *group = y;
    for (size_t g = 0; g < groups; group += group_size[g], g++) {
        const twofold offset = twofold_subtract(group_mean(group, group_size[g]), grand);
        const twofold part = twofold_multiply(twofold_square(offset), twofold_of((double)group_size[g]));
        between = twofold_add(between, part);
    }
    const twofold within = squares_within(y, group_size, groups);

    const twofold df_between = twofold_of((double)(groups - 1)), df_within = twofold_of((double)(n - groups));
    const twofold ms_between = twofold_divide(between, df_between);
    const twofold ms_within = twofold_divide(within, df_within);
    ch_anova result = {.groups = groups,
                       .n = n,
                       .df_between = df_between.hi,
                       .df_within = df_within.hi,
                       .ss_between = twofold_round(between),
                       .ss_within = twofold_round(within),
                       .ms_between = twofold_round(ms_between),
                       .ms_within = twofold_round(ms_within),
                       .f = NAN,
                       .p = NAN,
                       .r_squared = NAN,
                       .residual_sd = twofold_round(twofold_root(ms_within))};
    if (within.hi > 0.0)
        result.f = twofold_round(twofold_divide(ms_between, ms_within));
    else if (between.hi > 0.0)
        result.f = INFINITY;
    if (isfinite(result.f))
        result.p = gsl_cdf_fdist_Q(result.f, result.df_between, result.df_within);
    else if (isinf(result.f))
        result.p = 0.0;
    if (between.hi > 0.0 || within.hi > 0.0)
        result.r_squared = twofold_round(twofold_divide(between, twofold_add(between, within)));
    *out = result;
    return CH_OK;
}

ch_status ch_pooled_sd(const double y[], const size_t group_size[], size_t groups, double *sd, double *df, ch_err *err)
{
    size_t n = 0, free_readings = 0;
    for (size_t g = 0; g < groups; g++) {
        n += group_size[g];
        free_readings += group_size[g] > 1 ? group_size[g] - 1 : 0;
    }
    const ch_status status = check_finite(y, n, err);
    if (status < 0)
        return status;
    *df = (double)free_readings;
    *sd = NAN;
    if (free_readings > 0) {
        const twofold variance = twofold_divide(squares_within(y, group_size, groups), twofold_of(*df));
        *sd = twofold_round(twofold_root(variance));
    }
    return CH_OK;
}

double ch_grubbs_critical(size_t n, double alpha_1)
{
    if (n < 3 || !(alpha_1 > 0.0 && alpha_1 < 1.0))
        return NAN;
    const double count = (double)n;
    const double t = student_upper(alpha_1 / (2.0 * count), count - 2.0);
    return (count - 1.0) / sqrt(count) * sqrt(t * t / (count - 2.0 + t * t));
}

static ch_outlier judge_many(const double x[], size_t n, double alpha_1)
{
    const double mean = ch_mean(x, n), sd = ch_sd(x, n);
    ch_outlier result = {.suspect = 0, .statistic = 0.0, .critical = ch_grubbs_critical(n, alpha_1)};
    double farthest = -1.0;
    for (size_t i = 0; i < n; i++)
        if (fabs(x[i] - mean) > farthest) {
            farthest = fabs(x[i] - mean);
            result.suspect = i;
        }
    if (sd > 0.0)
        result.statistic = farthest / sd;
    result.flagged = result.statistic > result.critical;
    return result;
}

static ch_outlier judge_two(const double x[], double pooled_sd, double pooled_df, double alpha_1)
{
    ch_outlier result = {.suspect = 2, .statistic = NAN, .critical = NAN};
    if (pooled_sd > 0.0 && pooled_df > 0.0) {
        result.statistic = fabs(x[0] - x[1]) / (sqrt(2.0) * pooled_sd);
        result.critical = student_upper(alpha_1 / 2.0, pooled_df);
    }
    result.flagged = result.statistic > result.critical;
    return result;
}

ch_status ch_outlier_find(const double x[], size_t n, double pooled_sd, double pooled_df, double alpha_1,
                          ch_outlier *out, ch_err *err)
{
    if (!(alpha_1 > 0.0 && alpha_1 < 1.0))
        return ch_fail(err, CH_E_RANGE, "between 0 and 1", "chance of a false alarm %g", alpha_1);
    const ch_status status = check_finite(x, n, err);
    if (status < 0)
        return status;
    if (n >= 3)
        *out = judge_many(x, n, alpha_1);
    else if (n == 2)
        *out = judge_two(x, pooled_sd, pooled_df, alpha_1);
    else
        *out = (ch_outlier){.suspect = n, .statistic = NAN, .critical = NAN, .flagged = false};
    return CH_OK;
}
