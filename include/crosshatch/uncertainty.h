/**
 * @file uncertainty.h
 * Uncertainty of a result by the GUM: from limits and steps to standard uncertainties, their sum, the coverage factor, and
 * the summary of a Monte Carlo run.
 *
 * GUM = JCGM 100:2008; its Supplement 1 = JCGM 101:2008. A standard uncertainty has the unit of its quantity. Inputs are
 * taken as independent. Functions that return a double return NaN outside their range.
 */
#ifndef CROSSHATCH_UNCERTAINTY_H
#define CROSSHATCH_UNCERTAINTY_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/status.h"

/** u = limit/sqrt(3): somewhere within +-limit (>= 0), no value likelier than another. Source: GUM 4.3.7, eq. 7. */
double ch_u_rectangular(double limit);

/** u = limit/sqrt(6): within +-limit (>= 0), the middle likeliest. Source: GUM 4.3.9, eq. 9b. */
double ch_u_triangular(double limit);

/** u = limit/sqrt(2): swinging as a sine between +-limit (>= 0). Source: GUM H.1.3.4; JCGM 101 6.4.6. */
double ch_u_arc_sine(double limit);

/** u = step/sqrt(12): read to the nearest step (> 0 or 0). Source: GUM F.2.2.1. */
double ch_u_resolution(double step);

/** u = sd/sqrt(n) of the mean of n >= 1 repeats (type A). Source: GUM 4.2.3, eq. 5. */
double ch_u_mean(double sd, size_t n);

/** One input of the law of propagation. */
typedef struct ch_component {
    double u;           /**< standard uncertainty of the input, >= 0 */
    double sensitivity; /**< d(result)/d(input), result's unit over the input's */
    double df;          /**< degrees of freedom of u, > 0; INFINITY where u is taken as exact */
} ch_component;

/**
 * Combined standard uncertainty and its effective degrees of freedom (Welch-Satterthwaite) of independent inputs, first order.
 *
 * @param component `n` inputs, independent of each other.
 * @param n         Of `component`; 0 gives u 0 with INFINITY degrees of freedom.
 * @param u_c       (out) Result's unit. @param df_eff (out) > 0; INFINITY where no finite one contributes. May each be NULL.
 *                  Untouched on failure.
 * @retval CH_E_RANGE A negative or unknown u, an unknown sensitivity, df not > 0, or a sum beyond a double.
 *
 * Source: GUM 5.1.2, eq. 10, and G.4.1, eq. G.2b.
 */
ch_status ch_u_combine(const ch_component component[], size_t n, double *u_c, double *df_eff, ch_err *err);

/**
 * Coverage factor k: the two-sided quantile of Student's t, so that result +- k u_c covers with `probability_1`.
 *
 * @param probability_1 (0, 1).
 * @param df            > 0, need not be whole; INFINITY gives the normal's.
 * @return k, relative error about 1e-11; INFINITY where it is beyond a double, or NaN. GUM G.4.1 lets a fractional df be cut to the next lower whole one, which the caller may do first.
 *
 * Source: GUM G.3.2, table G.2.
 */
double ch_coverage_factor(double probability_1, double df);

/** What a Monte Carlo run says of one output quantity, in that quantity's unit. */
typedef struct ch_monte_carlo {
    size_t n;
    double mean;                        /**< estimate y */
    double sd;                          /**< standard uncertainty u(y) */
    double coverage_1;                  /**< of both intervals */
    double low, high;                   /**< probabilistically symmetric coverage interval */
    double shortest_low, shortest_high; /**< shortest coverage interval */
} ch_monte_carlo;

/**
 * Summarise the outputs of a Monte Carlo run.
 *
 * @param y          Outputs; sorted upwards in place.
 * @param n          Enough that coverage_1 n and (1 - coverage_1) n are 1 or more; JCGM 101 7.2.1 advises 1e4 times 1/(1 - coverage).
 * @param coverage_1 (0, 1).
 * @param out        (out) Untouched on failure; y may be sorted all the same.
 * @retval CH_E_RANGE An output is not finite, or n is too small for the coverage.
 *
 * Source: JCGM 101:2008, 7.5 to 7.7 (7.7.2: [y_(r), y_(r+q)], q = coverage n rounded, r = (n - q)/2 rounded).
 */
ch_status ch_monte_carlo_summarize(double y[], size_t n, double coverage_1, ch_monte_carlo *out, ch_err *err);

/**
 * Chance that the output lies below a threshold, and the standard uncertainty of that chance from the finite run.
 *
 * @param y         Any order, n >= 1.
 * @param n         Of `y`.
 * @param threshold In the unit of `y`; may be infinite.
 * @param p_1       (out) Part of the outputs strictly below.
 * @param u_p_1     (out) sqrt(q (1 - q)/(n + 3)) with q = (k + 1)/(n + 2): the spread of the chance given k of n, which is not 0
 *                  even where none or all lie below; for many outputs it is sqrt(p (1 - p)/n). May be NULL.
 *                  Both untouched on failure.
 * @retval CH_E_RANGE n = 0, an output or the threshold is NaN.
 *
 * Source: posterior of a binomial chance under a uniform prior, Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, 2.1.
 */
ch_status ch_chance_below(const double y[], size_t n, double threshold, double *p_1, double *u_p_1, ch_err *err);

/**
 * Numerical tolerance: half a unit of the last of `digits` significant digits of u (u = c 10^l with c a whole number of that
 * many digits, tolerance = 10^l/2).
 *
 * @param u > 0. @param digits 1..9.
 * @return NaN outside these ranges.
 *
 * Source: JCGM 101:2008, 7.9.2.
 */
double ch_numerical_tolerance(double u, int digits);

/**
 * Stopping rule of an adaptive Monte Carlo run: true where the estimate, its standard uncertainty and both ends of the
 * symmetric interval have settled, that is twice the standard deviation of each one's average over the blocks is no larger
 * than the numerical tolerance of u(y).
 *
 * @param block   Summaries of blocks of equal n and coverage. @param blocks Fewer than two have never settled.
 * @param digits  Significant digits wanted of u(y), 1 or 2 as a rule.
 *
 * Source: JCGM 101:2008, 7.9.4 steps g to j (u(y) there is that of all outputs together: within and between blocks).
 */
bool ch_monte_carlo_settled(const ch_monte_carlo block[], size_t blocks, int digits);

#endif
