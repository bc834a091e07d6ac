/* The least-squares line. Sources: include/crosshatch/regression.h. */
#include <math.h>

#include "crosshatch/regression.h"
#include "twofold.h"

static ch_status check_points(const double x[], const double y[], const double u_y[], size_t n, ch_err *err)
{
    if (n < 2)
        return ch_fail(err, CH_E_RANGE, "two points or more", "%zu points for a line", n);
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(x[i]) || !isfinite(y[i]))
            return ch_fail(err, CH_E_RANGE, "finite points", "point %zu is (%g, %g)", i + 1, x[i], y[i]);
        if (u_y != NULL && !(u_y[i] > 0.0 && isfinite(u_y[i])))
            return ch_fail(err, CH_E_RANGE, "more than 0", "point %zu has the uncertainty %g", i + 1, u_y[i]);
    }
    return CH_OK;
}

static twofold weight_of(const double u_y[], size_t i)
{
    return u_y == NULL ? twofold_of(1.0) : twofold_divide(twofold_of(1.0), twofold_product(u_y[i], u_y[i]));
}

ch_status ch_line_fit(const double x[], const double y[], const double u_y[], size_t n, ch_line *out, ch_err *err)
{
    const ch_status status = check_points(x, y, u_y, n, err);
    if (status < 0)
        return status;

    twofold sum = {0.0, 0.0}, sum_x = {0.0, 0.0}, sum_y = {0.0, 0.0};
    for (size_t i = 0; i < n; i++) {
        const twofold w = weight_of(u_y, i);
        sum = twofold_add(sum, w);
        sum_x = twofold_add(sum_x, twofold_multiply(w, twofold_of(x[i])));
        sum_y = twofold_add(sum_y, twofold_multiply(w, twofold_of(y[i])));
    }
    const twofold x_mean = twofold_divide(sum_x, sum), y_mean = twofold_divide(sum_y, sum);

    twofold xx = {0.0, 0.0}, xy = {0.0, 0.0}, yy = {0.0, 0.0};
    bool apart = false;
    for (size_t i = 0; i < n; i++) {
        const twofold w = weight_of(u_y, i);
        const twofold dx = twofold_subtract(twofold_of(x[i]), x_mean), dy = twofold_subtract(twofold_of(y[i]), y_mean);
        xx = twofold_add(xx, twofold_multiply(w, twofold_square(dx)));
        xy = twofold_add(xy, twofold_multiply(w, twofold_multiply(dx, dy)));
        yy = twofold_add(yy, twofold_multiply(w, twofold_square(dy)));
        apart = apart || x[i] != x[0];
    }
    if (!apart || !(xx.hi > 0.0))
        return ch_fail(err, CH_E_RANGE, "two different places or more", "all %zu points lie at %g", n, x[0]);
    const twofold slope = twofold_divide(xy, xx);
    const twofold intercept = twofold_subtract(y_mean, twofold_multiply(slope, x_mean));

    twofold chi2 = {0.0, 0.0};
    for (size_t i = 0; i < n; i++) {
        const twofold line = twofold_add(intercept, twofold_multiply(slope, twofold_of(x[i])));
        const twofold residual = twofold_subtract(twofold_of(y[i]), line);
        chi2 = twofold_add(chi2, twofold_multiply(weight_of(u_y, i), twofold_square(residual)));
    }

    ch_line result = {.n = n,
                      .df = (double)(n - 2),
                      .intercept = twofold_round(intercept),
                      .slope = twofold_round(slope),
                      .x_mean = twofold_round(x_mean),
                      .y_mean = twofold_round(y_mean),
                      .chi2 = twofold_round(chi2),
                      .residual_sd = NAN,
                      .r_squared = NAN};
    if (!isfinite(result.slope) || !isfinite(result.intercept) || !isfinite(result.chi2))
        return ch_fail(err, CH_E_RANGE, "smaller numbers, or another unit",
                       "the squares of %zu points are beyond any number", n);
    if (n > 2)
        result.residual_sd = twofold_round(twofold_root(twofold_divide(chi2, twofold_of(result.df))));
    if (yy.hi > 0.0)
        result.r_squared = twofold_round(twofold_subtract(twofold_of(1.0), twofold_divide(chi2, yy)));
    const double scale = u_y == NULL ? result.residual_sd : 1.0;
    result.u_slope = scale / sqrt(twofold_round(xx));
    result.u_y_mean = scale / sqrt(twofold_round(sum));
    result.covariance = -result.x_mean * result.u_slope * result.u_slope;
    result.u_intercept = hypot(result.u_y_mean, result.x_mean * result.u_slope);
    *out = result;
    return CH_OK;
}

double ch_line_at(const ch_line *line, double x)
{
    return line->y_mean + line->slope * (x - line->x_mean);
}

double ch_line_u_at(const ch_line *line, double x)
{
    return hypot(line->u_y_mean, (x - line->x_mean) * line->u_slope);
}
