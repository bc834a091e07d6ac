/* Linear least squares by Householder QR in two-double arithmetic. Sources: include/crosshatch/regression.h. */
#include <float.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "crosshatch/regression.h"
#include "twofold.h"

/* The matrix [A y], column after column, so that reflections run along memory. */
typedef struct tableau {
    size_t n, p;
    twofold *column;  /* p + 1 columns of n */
    twofold *inverse; /* p x p, upper triangle of R^-1, row after row */
} tableau;

static twofold *at(const tableau *s, size_t row, size_t column)
{
    return &s->column[column * s->n + row];
}

static twofold dot_below(const tableau *s, size_t a, size_t b, size_t from)
{
    twofold sum = {0.0, 0.0};
    for (size_t i = from; i < s->n; i++)
        sum = twofold_add(sum, twofold_multiply(*at(s, i, a), *at(s, i, b)));
    return sum;
}

/*
 * Reflect column j onto its diagonal and carry the others along. The reflector stays below the diagonal while it is used;
 * R's diagonal is returned and put in its place at the end.
 */
static twofold reflect(tableau *s, size_t j)
{
    const twofold norm = twofold_root(dot_below(s, j, j, j));
    twofold *head = at(s, j, j);
    const twofold diagonal = head->hi > 0.0 ? twofold_negate(norm) : norm; /* the sign that does not cancel */
    *head = twofold_subtract(*head, diagonal);
    const twofold length2 = dot_below(s, j, j, j);
    for (size_t k = j + 1; k <= s->p && length2.hi > 0.0; k++) {
        const twofold dot = dot_below(s, j, k, j);
        const twofold factor = twofold_divide(twofold_add(dot, dot), length2);
        for (size_t i = j; i < s->n; i++) {
            twofold *value = at(s, i, k);
            *value = twofold_subtract(*value, twofold_multiply(factor, *at(s, i, j)));
        }
    }
    return diagonal;
}

/* Factor in place; false where a column is no more than rounding away from those before it. */
static bool factor(tableau *s)
{
    for (size_t j = 0; j < s->p; j++) {
        const double whole = sqrt(twofold_round(dot_below(s, j, j, 0)));
        const twofold diagonal = reflect(s, j);
        if (!(fabs(diagonal.hi) > 8.0 * DBL_EPSILON * whole))
            return false;
        *at(s, j, j) = diagonal;
    }
    return true;
}

static void invert_triangle(tableau *s)
{
    const size_t p = s->p;
    for (size_t c = 0; c < p; c++)
        for (size_t r = c + 1; r-- > 0;) {
            twofold sum = twofold_of(r == c ? 1.0 : 0.0);
            for (size_t k = r + 1; k <= c; k++)
                sum = twofold_subtract(sum, twofold_multiply(*at(s, r, k), s->inverse[k * p + c]));
            s->inverse[r * p + c] = twofold_divide(sum, *at(s, r, r));
        }
}

static ch_status fill(tableau *s, const double a[], const double y[], const double u_y[], ch_err *err)
{
    for (size_t i = 0; i < s->n; i++) {
        if (u_y != NULL && !(u_y[i] > 0.0 && isfinite(u_y[i])))
            return ch_fail(err, CH_E_RANGE, "more than 0", "reading %zu has the uncertainty %g", i + 1, u_y[i]);
        for (size_t k = 0; k <= s->p; k++) {
            const double value = k < s->p ? a[i * s->p + k] : y[i];
            if (!isfinite(value))
                return ch_fail(err, CH_E_RANGE, "finite values", "row %zu holds %g", i + 1, value);
            *at(s, i, k) = u_y == NULL ? twofold_of(value) : twofold_divide(twofold_of(value), twofold_of(u_y[i]));
        }
    }
    return CH_OK;
}

static void write_answer(const tableau *s, bool known_u, double b[], double covariance[], ch_fit *fit)
{
    const size_t n = s->n, p = s->p;
    const twofold chi2 = dot_below(s, p, p, p);
    const twofold variance = n > p ? twofold_divide(chi2, twofold_of((double)(n - p))) : twofold_of(NAN);
    for (size_t r = 0; r < p; r++) {
        twofold sum = {0.0, 0.0};
        for (size_t c = r; c < p; c++)
            sum = twofold_add(sum, twofold_multiply(s->inverse[r * p + c], *at(s, c, p)));
        b[r] = twofold_round(sum);
    }
    for (size_t r = 0; r < p && covariance != NULL; r++)
        for (size_t c = r; c < p; c++) {
            twofold sum = {0.0, 0.0};
            for (size_t k = c; k < p; k++)
                sum = twofold_add(sum, twofold_multiply(s->inverse[r * p + k], s->inverse[c * p + k]));
            const double value = twofold_round(known_u ? sum : twofold_multiply(sum, variance));
            covariance[r * p + c] = covariance[c * p + r] = value;
        }
    if (fit != NULL)
        *fit = (ch_fit){.n = n,
                        .parameters = p,
                        .df = (double)(n - p),
                        .chi2 = twofold_round(chi2),
                        .residual_sd = n > p ? twofold_round(twofold_root(variance)) : NAN,
                        .iterations = 1};
}

ch_status ch_least_squares(const double a[], const double y[], const double u_y[], size_t n, size_t p, double b[],
                           double covariance[], ch_fit *fit, ch_err *err)
{
    if (p < 1 || n < p)
        return ch_fail(err, CH_E_RANGE, "as many readings as coefficients or more, and one or more of each",
                       "%zu readings for %zu coefficients", n, p);
    tableau s = {.n = n, .p = p};
    if (p < SIZE_MAX / sizeof(twofold) / n - 1) {
        s.column = malloc(n * (p + 1) * sizeof *s.column);
        s.inverse = malloc(p * p * sizeof *s.inverse);
    }
    ch_status status = CH_OK;
    if (s.column == NULL || s.inverse == NULL)
        status = ch_fail(err, CH_E_MEMORY, NULL, "no memory for %zu readings and %zu coefficients", n, p);
    if (status >= 0)
        status = fill(&s, a, y, u_y, err);
    if (status >= 0 && !factor(&s))
        status = ch_fail(err, CH_E_RANGE, "coefficients that the readings can tell apart",
                         "a column of the fit depends on the others");
    if (status >= 0) {
        invert_triangle(&s);
        write_answer(&s, u_y != NULL, b, covariance, fit);
    }
    free(s.column);
    free(s.inverse);
    return status;
}
