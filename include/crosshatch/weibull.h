/**
 * @file weibull.h
 * How long a kind of part lasts, from those that failed and those that have not: the Weibull distribution, and the age at which
 * replacing before the failure costs least.
 *
 * Ages and the scale share one unit of the caller's choice (seconds of running, metres, heat cycles); costs likewise.
 */
#ifndef CROSSHATCH_WEIBULL_H
#define CROSSHATCH_WEIBULL_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/status.h"

/**
 * What is known of the life of `count` parts: it ended between `low` and `high`. A failure seen: both alike. Still alive, or taken out
 * in good order: high = INFINITY. Found broken at the first look: low = 0.
 */
typedef struct ch_life {
    double low, high;
    size_t count; /**< parts of this row, >= 1 */
} ch_life;

/** A fitted life: R(t) = exp(-(t/scale)^shape). */
typedef struct ch_weibull {
    size_t failures, survivors; /**< parts; an end within an interval counts as a failure */
    double shape, scale;        /**< maximum likelihood; shape without unit, scale in the unit of the ages */
    double log_likelihood;      /**< of the ages as given: densities for failures seen, chances for the rest */
    double shape_interval[2];   /**< by profile likelihood; an end that the data do not bound is 0 or INFINITY */
    double scale_interval[2];
    double u_log_shape, u_log_scale; /**< standard uncertainties of the logarithms by the observed Fisher information */
    double correlation;              /**< of those two */
} ch_weibull;

enum { CH_WEIBULL_ROWS_MAX = 100000 };

/**
 * Fit by maximum likelihood.
 *
 * @param life         n rows, n >= 1.
 * @param n            Of `life`, 1 to CH_WEIBULL_ROWS_MAX.
 * @param confidence_1 Of the intervals, (0, 1).
 * @param out          (out) Untouched on failure.
 * @retval CH_E_RANGE    An age below 0 or not finite (high may be infinite), low > high, a failure at age 0, a count of 0, confidence outside
 *                       (0, 1); or data that fit no Weibull distribution best: no failure at all, or nothing outlived an earlier failure.
 * @retval CH_E_LIMIT    More than CH_WEIBULL_ROWS_MAX rows.
 * @retval CH_E_CONVERGE
 *
 * Method: log-likelihood as a function of shape and shape * log(scale), in which it is concave (the logarithm of a Weibull life has a
 * log-concave density: Prekopa, Acta Sci. Math. 34 (1973) 335), so that Newton steps with halving find its only maximum.
 * Source: NIST/SEMATECH e-Handbook 8.4.1.2 and 8.4.1.3; profile intervals and Fisher information: Meeker and Escobar, Statistical Methods
 * for Reliability Data, 1998, ch. 8.
 */
ch_status ch_weibull_fit(const ch_life life[], size_t n, double confidence_1, ch_weibull *out, ch_err *err);

/** Part that outlives `age`, 0..1; NaN where shape or scale is not > 0 or age < 0. */
double ch_weibull_survival(double shape, double scale, double age);

/** Age that the part `p_1` in (0, 1) of all does not reach: scale (-ln(1 - p))^(1/shape). NaN outside. B10 is p = 0.1. */
double ch_weibull_quantile(double shape, double scale, double p_1);

/** Mean life, scale Gamma(1 + 1/shape), and its standard deviation; INFINITY where beyond a double, NaN as above. */
double ch_weibull_mean(double shape, double scale);
/** Standard deviation of the lives; NaN as above. */
double ch_weibull_sd(double shape, double scale);

/**
 * Mean of min(life, age): the integral of the survival from 0 to `age`, scale/shape Gamma(1/shape) P(1/shape, (age/scale)^shape), P the
 * regularised incomplete gamma function. NaN as above.
 */
double ch_weibull_mean_to(double shape, double scale, double age);

/** Replacing at an age, or at failure, whichever comes first. */
typedef struct ch_replacement {
    bool worth;            /**< false: no age costs less than running to failure */
    double age;            /**< of least cost; INFINITY where not worth */
    double cost_rate;      /**< cost per unit of age at that age */
    double cost_rate_fail; /**< the same when always run to failure: cost_failure / mean life */
} ch_replacement;

/**
 * The age of replacement that costs least per unit of time in the long run: cost rate (Cp R(t) + Cf (1 - R(t))) / integral of R to t.
 *
 * It pays only where wear makes failure likelier with age (shape > 1) and a failure costs more than a planned replacement.
 *
 * @param shape,scale  > 0.
 * @param cost_planned,cost_failure > 0, each with everything that comes with it.
 * @param out          (out) Untouched on failure.
 * @retval CH_E_RANGE
 *
 * Source: renewal reward; Barlow and Hunter, Operations Research 8 (1960) 90: h(t) integral of R - F(t) = Cp/(Cf - Cp).
 */
ch_status ch_age_replacement(double shape, double scale, double cost_planned, double cost_failure, ch_replacement *out,
                             ch_err *err);

#endif
