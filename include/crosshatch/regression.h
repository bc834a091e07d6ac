/**
 * @file regression.h
 * Lines, linear and nonlinear least squares, and the rank test of a trend, each with its uncertainty.
 *
 * Linear fits run with about 32 digits (checked on the NIST Statistical Reference Datasets). Uncertainties are one sigma.
 * `u_y` is NULL where the readings' uncertainty is unknown and alike (it is then taken from the scatter), or holds the
 * standard uncertainty of each reading (weights are 1/u^2, and the scatter does not enter the result's uncertainty).
 */
#ifndef CROSSHATCH_REGRESSION_H
#define CROSSHATCH_REGRESSION_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/status.h"

/** A fitted line y = intercept + slope x. Units follow x and y. */
typedef struct ch_line {
    size_t n;
    double df; /**< n - 2 */
    double intercept, slope;
    double u_intercept, u_slope, covariance; /**< covariance of intercept and slope; NaN where df = 0 and u_y unknown */
    double x_mean, y_mean;                   /**< weighted centre, which the line passes */
    double u_y_mean;                         /**< of the line's height there; uncorrelated with the slope */
    double chi2;                             /**< weighted sum of squared residuals; y^2 where u_y is unknown, else 1 */
    double residual_sd; /**< sqrt(chi2/df); where u_y is given, about 1 if they are right; NaN for df = 0 */
    double r_squared;   /**< 1 - chi2/(weighted sum of squares about y_mean); NaN where that is 0 */
} ch_line;

/**
 * Least-squares line.
 *
 * @param x,y n points, n >= 2, with at least two different x.
 * @param u_y NULL, or n standard uncertainties > 0.
 * @param n   Of each of the arrays.
 * @param out (out) Untouched on failure.
 * @retval CH_E_RANGE Too few points, all x alike, a value not finite, a u_y not > 0, or squares that overflow.
 *
 * Source: GUM (JCGM 100:2008) H.3.2, eqs. H.13; with weights NIST/SEMATECH e-Handbook 4.1.4.3 and 4.4.3.3.
 */
ch_status ch_line_fit(const double x[], const double y[], const double u_y[], size_t n, ch_line *out, ch_err *err);

/** Height of the line at x. */
double ch_line_at(const ch_line *line, double x);

/**
 * Standard uncertainty of the line's height at x: u^2 = u_y_mean^2 + (x - x_mean)^2 u_slope^2. A single new reading there also
 * scatters by its own standard deviation. Source: GUM H.3.5, eq. H.15, written about the centre, where nothing cancels.
 */
double ch_line_u_at(const ch_line *line, double x);

/** How a linear or nonlinear least-squares fit went. */
typedef struct ch_fit {
    size_t n, parameters;
    double df;          /**< n - parameters */
    double chi2;        /**< (weighted) sum of squared residuals */
    double residual_sd; /**< sqrt(chi2/df); NaN for df = 0 */
    size_t iterations;  /**< 1 for linear fits */
} ch_fit;

/**
 * General linear least squares: y = A b + error.
 *
 * @param a          n rows of p numbers, row after row; a constant term is a column of ones.
 * @param y          n readings. @param u_y NULL, or n standard uncertainties > 0.
 * @param n,p        n >= p >= 1.
 * @param b          (out) p coefficients.
 * @param covariance (out) p x p, row after row; may be NULL. NaN where n = p and u_y is NULL.
 * @param fit        (out) May be NULL. All outputs untouched on failure.
 * @retval CH_E_RANGE  n < p, a value not finite, or columns that depend on each other to within a double's digits.
 * @retval CH_E_MEMORY
 *
 * Source: Householder QR, Golub and Van Loan, Matrix Computations, 4th ed. 2013, 5.2 and 5.3.
 * Cost:   O(n p^2), a scratch array of n (p + 1) numbers of 16 bytes.
 */
ch_status ch_least_squares(const double a[], const double y[], const double u_y[], size_t n, size_t p, double b[],
                           double covariance[], ch_fit *fit, ch_err *err);

/**
 * Residuals of a model at given parameters, measured minus model or the other way round, each divided by its standard
 * uncertainty where that is known.
 *
 * @param parameter p values. @param residual (out) n values.
 * @param n         Of `residual`.
 * @param p         Of `parameter`.
 * @param context   As given to ch_curve_fit().
 * @return false where the model does not exist there; the fit then steps back.
 */
typedef bool (*ch_residuals)(const double parameter[], size_t p, void *context, double residual[], size_t n);

/**
 * Nonlinear least squares from a start, by a trust region; derivatives by differences of order four. It finds the
 * minimum whose valley the start lies in. Parameters are best scaled to be neither 0 nor apart by many orders.
 *
 * @param residuals,context The model.
 * @param n,p        n >= p >= 1.
 * @param known_u    True where the residuals are divided by known uncertainties: then the scatter does not enter covariance.
 * @param parameter  (in, out) p values: start, then answer. Untouched on failure, as are all outputs.
 * @param covariance (out) p x p, row after row; may be NULL; NaN where n = p and not known_u.
 * @param fit        (out) May be NULL.
 * @retval CH_E_RANGE    n < p, or the model does not exist at the start.
 * @retval CH_E_CONVERGE No minimum within the step limit, or one where the parameters cannot be told apart.
 * @retval CH_E_MEMORY
 *
 * Source: Levenberg-Marquardt, dogleg and two-dimensional subspace steps of GSL (More, Numerical Analysis, 1978, 105; Nocedal
 * and Wright, Numerical Optimization, 2006, ch. 4), tried in turn; accepted where the relative offset is below 0.001: Bates
 * and Watts, Technometrics 23 (1981) 179.
 */
ch_status ch_curve_fit(ch_residuals residuals, void *context, size_t n, size_t p, bool known_u, double parameter[],
                       double covariance[], ch_fit *fit, ch_err *err);

/**
 * Factor a symmetric matrix, A = L L^T, in place: L takes the diagonal and what is below it, row after row; what is above stays as it is. As
 * gsl_linalg_cholesky_decomp1(), whose solvers take the answer.
 *
 * @param a Only its lower triangle is looked at. Spoilt on failure.
 * @param n Rows and columns, 1 or more.
 * @return false where it is not positive definite.
 */
bool ch_cholesky(double a[], size_t n);

/** Rank test of a trend and the slope that goes with it. */
typedef struct ch_trend {
    size_t n;     /**< readings used: those whose time and value are both known */
    double s;     /**< Mann-Kendall S: pairs that rise minus pairs that fall */
    double var_s; /**< its variance without a trend, ties in value and in time taken into account */
    double z;     /**< normal score with continuity correction; 0 for S = 0 */
    double p;     /**< two-sided chance of such an S without a trend */
    bool exact;   /**< p from the exact distribution (no ties, n <= CH_TREND_EXACT_MAX), else normal */
    double tau;   /**< Kendall's tau-a: S over the number of pairs */
    double slope; /**< Theil-Sen: median slope of all pairs that differ in time; value per time; NaN where none does */
    double slope_low, slope_high; /**< its confidence interval; NaN where there are too few readings to bound it */
    double intercept;             /**< median value - slope * median time */
} ch_trend;

enum { CH_TREND_EXACT_MAX = 40, CH_TREND_READINGS_MAX = 5000 };

/**
 * Is there a trend, and how steep is it? Ranks only, so one wild reading does little.
 *
 * @param t,y          n readings in any order; those with NaN in either are left out.
 * @param n            Of each of `t` and `y`, at most CH_TREND_READINGS_MAX.
 * @param confidence_1 Of the slope's interval, (0, 1).
 * @param out          (out) Untouched on failure.
 * @retval CH_E_RANGE  Fewer than two known readings, an infinite value, confidence outside (0, 1).
 * @retval CH_E_LIMIT  n above CH_TREND_READINGS_MAX (all pairs are held).
 * @retval CH_E_MEMORY
 *
 * Source: Mann, Econometrica 13 (1945) 245; Kendall, Rank Correlation Methods, 4th ed. 1975, ch. 4 (ties) and 5 (exact
 * counts); Theil 1950; Sen, JASA 63 (1968) 1379; Gilbert, Statistical Methods for Environmental Pollution Monitoring, 1987,
 * ch. 16 (interval); intercept: Conover, Practical Nonparametric Statistics, 2nd ed. 1980, 5.5.
 */
ch_status ch_trend_rank(const double t[], const double y[], size_t n, double confidence_1, ch_trend *out, ch_err *err);

#endif
