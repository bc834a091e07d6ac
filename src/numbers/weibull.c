/*
 * Weibull life by maximum likelihood with censoring. Sources: include/crosshatch/weibull.h.
 *
 * With x = log(age/reference), k the shape and m = k log(scale/reference), one part's z = k x - m is the logarithm of its cumulative hazard.
 * The log-likelihood is concave in (k, m), so is every cut through it along a line: both profiles are one-dimensional concave problems.
 */
#include "crosshatch/weibull.h"

#include <math.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_sf_gamma.h>
#include <gsl/gsl_sf_zeta.h>

#include "crosshatch/sampling.h"

/* Newton decrement, in units of log-likelihood; its square root is the step in sigmas. From here one more step squares the error, while the
 * likelihood's rounding (1e-11 for thousands of parts) no longer tells whether it climbs. */
static const double CLOSE = 1e-9;
static const int STEPS_MAX = 200;

typedef struct rows {
    const ch_life *life;
    size_t n;
    double log_reference; /* about the middle of the ages, so that k and m keep their digits */
} rows;

/* Log-likelihood with gradient and (minus) curvature in (k, m). */
typedef struct likelihood {
    double value, g[2], h[3]; /* h: kk, km, mm of minus the second derivatives */
} likelihood;

static void add_survivor(likelihood *l, double x, double z, double count)
{
    const double hazard = count * exp(z);
    l->value -= hazard;
    l->g[0] -= hazard * x;
    l->g[1] += hazard;
    l->h[0] += hazard * x * x;
    l->h[1] -= hazard * x;
    l->h[2] += hazard;
}

/* An end between two ages: survival to the first, then failure within the cumulative hazard d that lies between. */
static void add_interval(likelihood *l, double x_low, double x_high, double k, double m, double count)
{
    const bool from_birth = x_low == -INFINITY;
    const double a = from_birth ? 0.0 : exp(k * x_low - m), b = exp(k * x_high - m), d = b - a;
    const double a_k = from_birth ? 0.0 : a * x_low, a_kk = from_birth ? 0.0 : a_k * x_low;
    const double d_k = b * x_high - a_k, d_kk = b * x_high * x_high - a_kk; /* derivatives by m: d_m = -d, a_m = -a */
    const double q = 1.0 / expm1(d), bend = q * (1.0 + q);
    l->value += count * (log(-expm1(-d)) - a);
    l->g[0] += count * (q * d_k - a_k);
    l->g[1] += count * (a - q * d);
    l->h[0] += count * (a_kk - q * d_kk + bend * d_k * d_k);
    l->h[1] += count * (q * d_k - a_k - bend * d_k * d);
    l->h[2] += count * (a - q * d + bend * d * d);
}

static likelihood likelihood_at(const rows *r, double k, double m)
{
    likelihood l = {0.0, {0.0, 0.0}, {0.0, 0.0, 0.0}};
    for (size_t i = 0; i < r->n; i++) {
        const ch_life *one = &r->life[i];
        const double count = (double)one->count, x_low = log(one->low) - r->log_reference;
        if (one->high == INFINITY) {
            if (one->low > 0.0)
                add_survivor(&l, x_low, k * x_low - m, count);
        } else if (one->low == one->high) {
            const double z = k * x_low - m;
            add_survivor(&l, x_low, z, count);
            l.value += count * (log(k) + z - x_low - r->log_reference);
            l.g[0] += count * (1.0 / k + x_low);
            l.g[1] -= count;
            l.h[0] += count / (k * k);
        } else {
            add_interval(&l, x_low, log(one->high) - r->log_reference, k, m, count);
        }
    }
    return l;
}

/*
 * Climb from (k, m) to the maximum: in both (line NULL), or along a line (k, m) + u line. False where there is none.
 */
static bool climb(const rows *r, const double line[2], double *k, double *m, likelihood *top)
{
    likelihood here = likelihood_at(r, *k, *m);
    for (int step = 0; step < STEPS_MAX; step++) {
        double by_k, by_m, gain; /* the Newton step, and what the parabola promises of it, twice */
        if (line != NULL) {
            const double g = here.g[0] * line[0] + here.g[1] * line[1];
            const double h =
                here.h[0] * line[0] * line[0] + 2.0 * here.h[1] * line[0] * line[1] + here.h[2] * line[1] * line[1];
            by_k = g / h * line[0];
            by_m = g / h * line[1];
            gain = g * g / h;
        } else {
            const double determinant = here.h[0] * here.h[2] - here.h[1] * here.h[1];
            by_k = (here.h[2] * here.g[0] - here.h[1] * here.g[1]) / determinant;
            by_m = (here.h[0] * here.g[1] - here.h[1] * here.g[0]) / determinant;
            gain = here.g[0] * by_k + here.g[1] * by_m;
        }
        if (!isfinite(gain) || !isfinite(here.value))
            return false;
        if (gain <= CLOSE) {
            *k += by_k;
            *m += by_m;
            *top = likelihood_at(r, *k, *m);
            return true;
        }
        double part = 1.0;
        likelihood next = here;
        for (; part > 1e-12; part *= 0.5) {
            if (!(*k + part * by_k > 0.0))
                continue;
            next = likelihood_at(r, *k + part * by_k, *m + part * by_m);
            if (next.value >= here.value + 1e-4 * part * gain)
                break;
        }
        if (part <= 1e-12)
            return false;
        *k += part * by_k;
        *m += part * by_m;
        here = next;
    }
    return false;
}

/* Best log-likelihood with the shape, or the logarithm of the scale over the reference, held at a value. */
static double profile(const rows *r, bool of_shape, double at, double k, double m)
{
    likelihood top;
    if (of_shape) {
        const double line[2] = {0.0, 1.0};
        double held = at;
        m *= at / k; /* the scale of the start */
        return climb(r, line, &held, &m, &top) ? top.value : -INFINITY;
    }
    const double line[2] = {1.0, at};
    m = k * at;
    return climb(r, line, &k, &m, &top) ? top.value : -INFINITY;
}

/* Where the profile has fallen to `level`, from the top outwards in steps of `sigma` of the parameter's logarithm. */
static double profile_end(const rows *r, bool of_shape, double k, double m, double level, double sigma, double way)
{
    const double top = of_shape ? log(k) : m / k, furthest = 40.0;
    double inside = 0.0, outside = NAN;
    for (double reach = sigma; reach <= furthest; reach *= 1.5) {
        const double at = top + way * reach;
        if (profile(r, of_shape, of_shape ? exp(at) : at, k, m) < level) {
            outside = reach;
            break;
        }
        inside = reach;
    }
    if (isnan(outside))
        return way > 0.0 ? INFINITY : 0.0;
    while (outside - inside > 1e-10 * outside) {
        const double middle = 0.5 * (inside + outside), at = top + way * middle;
        if (profile(r, of_shape, of_shape ? exp(at) : at, k, m) < level)
            outside = middle;
        else
            inside = middle;
    }
    const double at = top + way * inside;
    return exp(of_shape ? at : at + r->log_reference);
}

/* Hold the rows to their ranges and to having a maximum. */
static ch_status check(const ch_life life[], size_t n, ch_weibull *counts, double *log_reference, ch_err *err)
{
    if (n == 0)
        return ch_fail(err, CH_E_RANGE, "failures and survivors", "no lives to fit");
    if (n > CH_WEIBULL_ROWS_MAX)
        return ch_fail(err, CH_E_LIMIT, "up to 100000", "%zu rows of lives", n);
    double sum_log = 0.0, first_end = INFINITY, last_alive = 0.0, parts = 0.0;
    for (size_t i = 0; i < n; i++) {
        const ch_life *one = &life[i];
        const bool survivor = one->high == INFINITY;
        if (!(one->low >= 0.0 && isfinite(one->low) && one->high >= one->low) || one->count == 0 ||
            (!survivor && !(one->high > 0.0)))
            return ch_fail(err, CH_E_RANGE, "0 <= low <= high, a failure later than 0, a count of 1 or more",
                           "row %zu of the lives is %g to %g, %zu times", i + 1, one->low, one->high, one->count);
        (survivor ? &counts->survivors : &counts->failures)[0] += one->count;
        if (!survivor)
            first_end = fmin(first_end, one->high);
        last_alive = fmax(last_alive, one->low);
        const double age = survivor ? one->low : one->high;
        if (age > 0.0) {
            sum_log += (double)one->count * log(age);
            parts += (double)one->count;
        }
    }
    if (counts->failures == 0)
        return ch_fail(err, CH_E_RANGE, "one failure or more", "nothing has failed yet: no life can be fitted");
    if (!(last_alive > first_end))
        return ch_fail(err, CH_E_RANGE, "failures at different ages, or a survivor older than a failure",
                       "no part outlived an earlier failure: no life fits best");
    *log_reference = sum_log / parts;
    return CH_OK;
}

ch_status ch_weibull_fit(const ch_life life[], size_t n, double confidence_1, ch_weibull *out, ch_err *err)
{
    ch_weibull fit = {0};
    rows r = {.life = life, .n = n};
    if (!(confidence_1 > 0.0 && confidence_1 < 1.0))
        return ch_fail(err, CH_E_RANGE, "between 0 and 1", "confidence %g", confidence_1);
    const ch_status rc = check(life, n, &fit, &r.log_reference, err);
    if (rc < 0)
        return rc;
    double k = 1.0, m = 0.0;
    likelihood top;
    if (!climb(&r, NULL, &k, &m, &top))
        return ch_fail(err, CH_E_CONVERGE, NULL, "no best Weibull life for %zu rows", n);
    fit.shape = k;
    fit.scale = exp(m / k + r.log_reference);
    fit.log_likelihood = top.value;
    /* Covariance of (k, m), then of the logarithms: log(scale/reference) = m/k. */
    const double determinant = top.h[0] * top.h[2] - top.h[1] * top.h[1];
    const double v_k = top.h[2] / determinant, v_both = -top.h[1] / determinant, v_m = top.h[0] / determinant;
    const double by_k = -m / (k * k), by_m = 1.0 / k;
    fit.u_log_shape = sqrt(v_k) / k;
    fit.u_log_scale = sqrt(by_k * by_k * v_k + 2.0 * by_k * by_m * v_both + by_m * by_m * v_m);
    fit.correlation = (by_k * v_k + by_m * v_both) / (sqrt(v_k) * fit.u_log_scale);
    const double z = ch_normal_quantile(0.5 + 0.5 * confidence_1), level = top.value - 0.5 * z * z;
    for (int end = 0; end < 2; end++) {
        const double way = end == 0 ? -1.0 : 1.0;
        fit.shape_interval[end] = profile_end(&r, true, k, m, level, fit.u_log_shape, way);
        fit.scale_interval[end] = profile_end(&r, false, k, m, level, fit.u_log_scale, way);
    }
    *out = fit;
    return CH_OK;
}

static bool is_life(double shape, double scale)
{
    return shape > 0.0 && scale > 0.0 && isfinite(shape) && isfinite(scale);
}

double ch_weibull_survival(double shape, double scale, double age)
{
    return is_life(shape, scale) && age >= 0.0 ? exp(-pow(age / scale, shape)) : NAN;
}

double ch_weibull_quantile(double shape, double scale, double p_1)
{
    return is_life(shape, scale) && p_1 > 0.0 && p_1 < 1.0 ? scale * pow(-log1p(-p_1), 1.0 / shape) : NAN;
}

double ch_weibull_mean(double shape, double scale)
{
    return is_life(shape, scale) ? scale * tgamma(1.0 + 1.0 / shape) : NAN;
}

/*
 * ln(Gamma(1 + 2x)/Gamma(1 + x)^2), x > 0. For small x the logarithms of both are nearly alike; their series (Abramowitz and Stegun,
 * Handbook of Mathematical Functions, 1964, 6.1.33) leaves sum of (-1)^n zeta(n) (2^n - 2) x^n/n from n = 2.
 */
static double log_gamma_ratio(double x)
{
    enum { TERMS = 18 }; /* 0.1^18 */
    if (x > 0.05)
        return gsl_sf_lngamma(1.0 + 2.0 * x) - 2.0 * gsl_sf_lngamma(1.0 + x);
    double sum = 0.0;
    for (int n = TERMS; n >= 2; n--)
        sum = -sum * x + gsl_sf_zeta_int(n) * (ldexp(1.0, n) - 2.0) / n;
    return sum * x * x;
}

double ch_weibull_sd(double shape, double scale)
{
    if (!is_life(shape, scale))
        return NAN;
    const double mean = ch_weibull_mean(shape, scale);
    if (isinf(mean))
        return mean;
    const double part = 0.5 * log_gamma_ratio(1.0 / shape);
    return mean *
           (part > 300.0 ? exp(part) : sqrt(expm1(2.0 * part))); /* the root overflows later than what is under it */
}

double ch_weibull_mean_to(double shape, double scale, double age)
{
    if (!is_life(shape, scale) || !(age >= 0.0))
        return NAN;
    if (age == INFINITY)
        return ch_weibull_mean(shape, scale);
    const double z = pow(age / scale, shape);
    if (z <
        1e-9) /* nearly all alive: int of 1 - (t/scale)^shape; z itself may be too small for a number while the age is not */
        return age * (1.0 - z / (shape + 1.0));
    return ch_weibull_mean(shape, scale) * gsl_cdf_gamma_P(z, 1.0 / shape, 1.0);
}

/* h(t) times the mean of min(life, t) less F(t): rises from 0 where the shape is above 1. */
static double gain_of_waiting(double shape, double scale, double age)
{
    const double hazard = shape / scale * pow(age / scale, shape - 1.0);
    return hazard * ch_weibull_mean_to(shape, scale, age) + expm1(-pow(age / scale, shape));
}

ch_status ch_age_replacement(double shape, double scale, double cost_planned, double cost_failure, ch_replacement *out,
                             ch_err *err)
{
    if (!is_life(shape, scale))
        return ch_fail(err, CH_E_RANGE, "both more than 0", "a Weibull life of shape %g and scale %g", shape, scale);
    if (!(cost_planned > 0.0 && cost_failure > 0.0 && isfinite(cost_planned) && isfinite(cost_failure)))
        return ch_fail(err, CH_E_RANGE, "both more than 0", "costs %g planned and %g at failure", cost_planned,
                       cost_failure);
    const double fail_rate = cost_failure / ch_weibull_mean(shape, scale);
    ch_replacement answer = {.worth = false, .age = INFINITY, .cost_rate = fail_rate, .cost_rate_fail = fail_rate};
    if (shape > 1.0 && cost_failure > cost_planned) {
        const double wanted = cost_planned / (cost_failure - cost_planned);
        double low = 0.0, high = scale;
        /* Beyond 10^4 scales nothing is alive any more for any shape that a part has, so the age has no meaning there. */
        while (gain_of_waiting(shape, scale, high) < wanted && high < 1e4 * scale) {
            low = high;
            high *= 2.0;
        }
        if (gain_of_waiting(shape, scale, high) >= wanted) {
            while (high - low > 1e-12 * high) {
                const double middle = 0.5 * (low + high);
                *(gain_of_waiting(shape, scale, middle) < wanted ? &low : &high) = middle;
            }
            const double alive = ch_weibull_survival(shape, scale, high);
            answer.age = high;
            answer.cost_rate =
                (cost_planned * alive + cost_failure * (1.0 - alive)) / ch_weibull_mean_to(shape, scale, high);
            answer.worth = answer.cost_rate < fail_rate;
        }
    }
    if (!answer.worth) {
        answer.age = INFINITY;
        answer.cost_rate = fail_rate;
    }
    *out = answer;
    return CH_OK;
}
