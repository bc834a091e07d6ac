/**
 * @file summary.h
 * What a handful of readings says: centre, spread, order, groups, and the reading that does not fit.
 *
 * Readings are never dropped here; a suspect is only named. Sums run with about 32 digits and two passes, so a small
 * scatter on a large value does not drown (checked on the NIST Statistical Reference Datasets).
 * Functions that return a double return NaN where the answer is unknown (too few readings, a NaN among them).
 */
#ifndef CROSSHATCH_SUMMARY_H
#define CROSSHATCH_SUMMARY_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/status.h"

/** Univariate summary; every double has the unit of the readings unless it says otherwise. */
typedef struct ch_summary {
    size_t n;
    double mean;
    double sd;                /**< sample standard deviation, divisor n - 1; NaN for n < 2 */
    double autocorrelation_1; /**< 1; lag-1, sum (x_i - m)(x_(i+1) - m) / sum (x_i - m)^2; NaN where all are equal */
    double median;
    double mad; /**< median of |x - median|, unscaled; times 1.4826 it estimates a normal's sd */
    double min, max;
} ch_summary;

/** One-way analysis of variance. Sums of squares and mean squares in the square of the readings' unit. */
typedef struct ch_anova {
    size_t groups, n;
    double df_between, df_within; /**< degrees of freedom: groups - 1, n - groups */
    double ss_between, ss_within; /**< sums of squares */
    double ms_between, ms_within; /**< mean squares */
    double f;                     /**< F = ms_between / ms_within; infinite where the groups do not scatter */
    double p;                     /**< chance of such an F or a larger one where all groups share one mean */
    double r_squared;             /**< ss_between / (ss_between + ss_within); NaN where all readings are equal */
    double residual_sd;           /**< sqrt(ms_within): the pooled repeatability */
} ch_anova;

/** The reading of a group that fits least, and whether that is more than chance. */
typedef struct ch_outlier {
    size_t suspect;   /**< index of the reading; equal to n where neither of two can be named */
    double statistic; /**< 1; NaN where there is nothing to judge it against */
    double critical;  /**< 1; the statistic's critical value; NaN as above */
    bool flagged;     /**< statistic > critical */
} ch_outlier;

/** Arithmetic mean of x[0..n-1]; NaN for n = 0. Never allocates. */
double ch_mean(const double x[], size_t n);

/** Sample standard deviation (divisor n - 1) of x[0..n-1]; NaN for n < 2. Two passes; never allocates. */
double ch_sd(const double x[], size_t n);

/** Sort x[0..n-1] upwards in place. NaN must not occur. Never allocates for the sizes of a sheet; may for large n. */
void ch_sort(double x[], size_t n);

/**
 * Quantile of an ordered sample by linear interpolation between order statistics at (n - 1) p ("type 7").
 *
 * @param sorted Upwards, n values; those at the ends may be infinite.
 * @param n      Of `sorted`.
 * @param p_1    0..1.
 * @return NaN for n = 0 or p outside 0..1.
 *
 * Source: Hyndman and Fan, Sample Quantiles in Statistical Packages, The American Statistician 50 (1996) 361, definition 7.
 */
double ch_quantile_sorted(const double sorted[], size_t n, double p_1);

/**
 * Summarise x[0..n-1], in the order taken.
 *
 * @param x   `n` values, finite.
 * @param n   Of `x`, >= 1.
 * @param out (out) Untouched on failure.
 * @retval CH_E_RANGE  n = 0, a value not finite, or squares that overflow.
 * @retval CH_E_MEMORY
 *
 * Source: NIST StRD, univariate summary statistics (definitions of s and r1); MAD: Hampel, JASA 69 (1974) 383.
 * Cost:   O(n log n), one scratch array of n doubles.
 */
ch_status ch_summarize(const double x[], size_t n, ch_summary *out, ch_err *err);

/**
 * One-way analysis of variance over groups of any sizes.
 *
 * @param y          Readings, group after group; the sum of group_size of them.
 * @param group_size Readings of each group, each >= 1.
 * @param groups     >= 2.
 * @param out        (out) Untouched on failure.
 * @retval CH_E_RANGE Fewer than two groups, an empty group, no group with a repeat, or a value not finite.
 *
 * Source: NIST StRD, analysis of variance; NIST/SEMATECH e-Handbook of Statistical Methods, 7.4.3.
 */
ch_status ch_anova_one_way(const double y[], const size_t group_size[], size_t groups, ch_anova *out, ch_err *err);

/**
 * Pooled standard deviation of groups of unequal sizes: sqrt(sum (n_i - 1) s_i^2 / sum (n_i - 1)).
 * Groups of none or one add nothing. Without any repeat the sd is unknown: NaN, with 0 degrees of freedom, and success.
 *
 * @param y          As for ch_anova_one_way; groups may be 0.
 * @param group_size `groups` sizes, 0 allowed.
 * @param groups     Of `group_size`.
 * @param sd         (out) Same unit as y. @param df (out) Degrees of freedom. Both untouched on failure.
 * @retval CH_E_RANGE A value is not finite.
 *
 * Source: NIST/SEMATECH e-Handbook 7.4.3; ISO 5725-2:2019 (repeatability variance).
 */
ch_status ch_pooled_sd(const double y[], const size_t group_size[], size_t groups, double *sd, double *df, ch_err *err);

/**
 * Critical value of the two-sided Grubbs statistic max |x - mean| / s:
 * (n - 1)/sqrt(n) sqrt(t^2/(n - 2 + t^2)), t the upper alpha/(2n) quantile of Student's t with n - 2 degrees of freedom.
 *
 * @param n       Readings, 3 or more.
 * @param alpha_1 Chance of a false alarm, (0, 1); 0.05 is usual, 0.01 for the stronger mark of ISO 5725-2.
 * @return NaN for n < 3 or alpha outside (0, 1).
 *
 * Source: Grubbs, Procedures for Detecting Outlying Observations in Samples, Technometrics 11 (1969) 1;
 * NIST/SEMATECH e-Handbook 1.3.5.17.1; ISO 5725-2:2019 (Grubbs's test).
 * Trap: for n = 3 the statistic cannot pass 2/sqrt(3) = 1.1547 and the critical value at 0.05 is 1.1543, so only a reading
 * whose fellows agree almost exactly is flagged; rounding to a gauge's step can bring that about by itself.
 */
double ch_grubbs_critical(size_t n, double alpha_1);

/**
 * Name the reading of a small repeat group that fits least. It marks; it never drops.
 *
 * n >= 3: Grubbs's statistic. A group without scatter is never flagged.
 * n = 2:  |x_0 - x_1| / (sqrt(2) sd) of the pooled sd of other groups against the two-sided Student quantile with the
 *         pooled degrees of freedom (the critical difference of two repeats: 2.8 sd at 95 % for many degrees of freedom).
 *         Neither reading is named, since two cannot tell which is wrong.
 * n < 2:  nothing to judge: success, statistic NaN, not flagged.
 *
 * @param x                   `n` readings of one group, finite.
 * @param n                   Of `x`.
 * @param pooled_sd,pooled_df Repeatability from elsewhere, same unit as x; NaN and 0 where unknown. Used for n = 2 only.
 * @param alpha_1             Chance of a false alarm, (0, 1).
 * @param out                 (out) Untouched on failure.
 * @retval CH_E_RANGE A value is not finite or alpha is outside (0, 1).
 *
 * Source: as ch_grubbs_critical; for two repeats ISO 5725-6:1994, clause 4 (repeatability limit and critical difference).
 */
ch_status ch_outlier_find(const double x[], size_t n, double pooled_sd, double pooled_df, double alpha_1,
                          ch_outlier *out, ch_err *err);

#endif
