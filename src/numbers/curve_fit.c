/* Nonlinear least squares through GSL's trust regions. Sources: include/crosshatch/regression.h. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_multifit_nlinear.h>

#include "crosshatch/regression.h"

enum { ITERATIONS_MAX = 2000 };

typedef struct problem {
    ch_residuals residuals;
    void *context;
    size_t n, p;
    double *place;    /* p: a parameter vector as a plain array */
    double *value[4]; /* n each: residuals around it */
} problem;

/* True where the model exists and every residual is a finite number. */
static bool evaluate(const problem *m, const double place[], double residual[])
{
    if (!m->residuals(place, m->p, m->context, residual, m->n))
        return false;
    for (size_t i = 0; i < m->n; i++)
        if (!isfinite(residual[i]))
            return false;
    return true;
}

static void copy_place(const problem *m, const gsl_vector *x)
{
    for (size_t k = 0; k < m->p; k++)
        m->place[k] = gsl_vector_get(x, k);
}

/* Where the model does not exist the residuals are huge but finite, so that the trust region rejects the step and shrinks. */
static int residuals_for_gsl(const gsl_vector *x, void *data, gsl_vector *f)
{
    const problem *m = data;
    copy_place(m, x);
    const bool exists = evaluate(m, m->place, m->value[0]);
    for (size_t i = 0; i < m->n; i++)
        gsl_vector_set(f, i, exists ? m->value[0][i] : 1e100);
    return GSL_SUCCESS;
}

/* Residuals at -2h, -h, h, 2h from the place along one parameter. False where the model ends within. */
static bool values_around(const problem *m, size_t k, double h)
{
    const double centre = m->place[k], place[4] = {centre - 2.0 * h, centre - h, centre + h, centre + 2.0 * h};
    bool exists = true;
    for (int i = 0; i < 4 && exists; i++) {
        m->place[k] = place[i];
        exists = evaluate(m, m->place, m->value[i]);
    }
    m->place[k] = centre;
    return exists;
}

/* How far the difference of order two is from that of order four, over the latter: (h/scale)^2 of the curve, or rounding. */
static double bend_1(const problem *m, double h)
{
    double off2 = 0.0, length2 = 0.0;
    for (size_t i = 0; i < m->n; i++) {
        const double wide = (m->value[3][i] - m->value[0][i]) / (4.0 * h);
        const double narrow = (m->value[2][i] - m->value[1][i]) / (2.0 * h);
        const double off = (wide - narrow) / 3.0, slope = narrow - off;
        off2 += off * off;
        length2 += slope * slope;
    }
    return off2 > 0.0 ? sqrt(off2 / length2) : 0.0;
}

/*
 * Differences over -2h, -h, h, 2h: error of order h^4, rounding of order eps/h, balanced at h = eps^(1/5) of the parameter. Where
 * the model ends within 2h the step is halved until it does not; where the curve bends within it (a peak narrow against its
 * place), halved as long as that straightens it.
 */
static bool column(const problem *m, size_t k, double jacobian[])
{
    enum { HALVINGS = 20 };
    const double straight_1 = 1e-4; /* leaves 1e-8 of the derivative */
    double h = 7.4e-4 * fmax(fabs(m->place[k]), 1e-3);
    int halvings = 0;
    while (!values_around(m, k, h)) {
        if (++halvings == HALVINGS)
            return false;
        h *= 0.5;
    }
    for (double bend = bend_1(m, h); bend > straight_1 && halvings < HALVINGS; halvings++) {
        const double half = values_around(m, k, 0.5 * h) ? bend_1(m, 0.5 * h) : INFINITY;
        if (!(half < 0.5 * bend)) { /* a quarter of it, were it not rounding */
            if (!values_around(m, k, h))
                return false;
            break;
        }
        h *= 0.5;
        bend = half;
    }
    for (size_t i = 0; i < m->n; i++)
        jacobian[i * m->p + k] =
            (m->value[0][i] - m->value[3][i] + 8.0 * (m->value[2][i] - m->value[1][i])) / (12.0 * h);
    return true;
}

static bool derivatives(const problem *m, double jacobian[])
{
    for (size_t k = 0; k < m->p; k++)
        if (!column(m, k, jacobian))
            return false;
    return true;
}

static int derivatives_for_gsl(const gsl_vector *x, void *data, gsl_matrix *j)
{
    const problem *m = data;
    copy_place(m, x);
    /* GSL's matrix is as wide as it is allocated: rows follow each other without gaps. */
    return derivatives(m, j->data) ? GSL_SUCCESS : GSL_EBADFUNC;
}

/* One kind of step, from the start; the end stands in m->place. */
static ch_status descend(problem *m, const gsl_multifit_nlinear_trs *step, const double start[], size_t *iterations)
{
    gsl_multifit_nlinear_parameters options = gsl_multifit_nlinear_default_parameters();
    options.trs = step;
    gsl_set_error_handler_off(); /* GSL's own ends the program */
    gsl_multifit_nlinear_workspace *work = gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &options, m->n, m->p);
    if (work == NULL)
        return CH_E_MEMORY;
    gsl_multifit_nlinear_fdf functions = {
        .f = residuals_for_gsl, .df = derivatives_for_gsl, .n = m->n, .p = m->p, .params = m};
    const gsl_vector_const_view from = gsl_vector_const_view_array(start, m->p);
    int info = 0;
    int code = gsl_multifit_nlinear_init(&from.vector, &functions, work);
    if (code == GSL_SUCCESS) /* its verdict is not needed: the end is judged by the relative offset */
        gsl_multifit_nlinear_driver(ITERATIONS_MAX, 1e-12, 1e-15, 0.0, NULL, NULL, &info, work);
    *iterations = gsl_multifit_nlinear_niter(work);
    copy_place(m, gsl_multifit_nlinear_position(work));
    gsl_multifit_nlinear_free(work);
    return CH_OK;
}

/* What the linear model at the end says: the step still to go, the covariance of unit residuals, what would be left. */
typedef struct verdict {
    double *residual, *ones;              /* n */
    double *jacobian, *step, *covariance; /* n x p, p, p x p */
    double chi2, offset_1;
} verdict;

static double squares(const double residual[], size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++)
        sum += residual[i] * residual[i];
    return sum;
}

/*
 * True where a parameter's column is so nearly made up of the others that no more than the rounding of the differences keeps
 * it apart: variance inflation, its sum of squares times its unit variance, of 1e18 is a share of 1e-9 of its length.
 */
static bool entangled(const problem *m, const verdict *v)
{
    for (size_t k = 0; k < m->p; k++) {
        double length2 = 0.0;
        for (size_t i = 0; i < m->n; i++)
            length2 += v->jacobian[i * m->p + k] * v->jacobian[i * m->p + k];
        if (!(length2 * v->covariance[k * m->p + k] < 1e18))
            return true;
    }
    return false;
}

/* CH_E_CONVERGE where the parameters cannot be told apart at m->place. */
static ch_status judge_end(problem *m, verdict *v)
{
    ch_fit linear;
    if (!derivatives(m, v->jacobian) || !evaluate(m, m->place, v->residual))
        return CH_E_CONVERGE;
    const ch_status status =
        ch_least_squares(v->jacobian, v->residual, v->ones, m->n, m->p, v->step, v->covariance, &linear, NULL);
    if (status == CH_E_MEMORY)
        return status;
    if (status < 0 || entangled(m, v))
        return CH_E_CONVERGE;
    v->chi2 = squares(v->residual, m->n);
    const double in_plane = fmax(v->chi2 - linear.chi2, 0.0) / (double)m->p;
    v->offset_1 = m->n > m->p ? sqrt(in_plane / (linear.chi2 / linear.df)) : INFINITY;
    return CH_OK;
}

/*
 * Gauss-Newton steps while they help; near a minimum they add the digits that a trust region's tolerance leaves. `kept` holds
 * the last good place.
 */
static ch_status polish(problem *m, verdict *v, double kept[])
{
    enum { STEPS = 8 };
    ch_status status = judge_end(m, v);
    for (int i = 0; i < STEPS && status >= 0; i++) {
        const double chi2 = v->chi2, offset_1 = v->offset_1;
        for (size_t k = 0; k < m->p; k++) {
            kept[k] = m->place[k];
            m->place[k] -= v->step[k];
        }
        status = judge_end(m, v);
        if (status >= 0 && v->chi2 <= chi2 && v->offset_1 < offset_1)
            continue;
        if (status == CH_E_MEMORY)
            return status;
        for (size_t k = 0; k < m->p; k++)
            m->place[k] = kept[k];
        return judge_end(m, v);
    }
    return status;
}

/* Steps to try, the plainest first; each takes some starts that the others do not. */
static const gsl_multifit_nlinear_trs *step_kind(int attempt)
{
    switch (attempt) {
    case 0: return gsl_multifit_nlinear_trs_lm;
    case 1: return gsl_multifit_nlinear_trs_dogleg;
    case 2: return gsl_multifit_nlinear_trs_subspace2D;
    default: return NULL;
    }
}

static ch_status fit_from(problem *m, verdict *v, double kept[], const double start[], size_t *iterations, ch_err *err)
{
    for (size_t k = 0; k < m->p; k++)
        m->place[k] = start[k];
    if (!evaluate(m, m->place, v->residual))
        return ch_fail(err, CH_E_RANGE, "a start where the model exists", "the model cannot be computed at the start");
    const double enough =
        1e-20 * squares(v->residual, m->n); /* the curve meets every reading: no scatter to measure by */
    ch_status end = CH_OK;
    for (int attempt = 0; step_kind(attempt) != NULL; attempt++) {
        end = descend(m, step_kind(attempt), start, iterations);
        if (end >= 0)
            end = polish(m, v, kept);
        if (end == CH_E_MEMORY)
            return ch_fail(err, CH_E_MEMORY, NULL, "no memory to fit %zu parameters to %zu readings", m->p, m->n);
        if (end >= 0 && (v->offset_1 <= 1e-3 || v->chi2 <= enough))
            return CH_OK;
    }
    return end < 0 ? ch_fail(err, CH_E_CONVERGE, "fewer parameters or other readings",
                             "the readings cannot tell the parameters apart")
                   : ch_fail(err, CH_E_CONVERGE, "a start nearer to the answer", "no minimum found from this start");
}

ch_status ch_curve_fit(ch_residuals residuals, void *context, size_t n, size_t p, bool known_u, double parameter[],
                       double covariance[], ch_fit *fit, ch_err *err)
{
    if (p < 1 || n < p)
        return ch_fail(err, CH_E_RANGE, "as many readings as parameters or more, and one or more of each",
                       "%zu readings for %zu parameters", n, p);
    double *block = NULL;
    if (p < SIZE_MAX / sizeof *block / n - 10)
        block = malloc((n * (p + 6) + p * (p + 3)) * sizeof *block);
    if (block == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory to fit %zu parameters to %zu readings", p, n);
    problem m = {.residuals = residuals, .context = context, .n = n, .p = p, .place = block};
    double *next = block + p;
    for (int i = 0; i < 4; i++, next += n)
        m.value[i] = next;
    verdict v = {.residual = next, .ones = next + n, .jacobian = next + 2 * n};
    v.step = v.jacobian + n * p;
    v.covariance = v.step + p;
    double *kept = v.covariance + p * p;
    for (size_t i = 0; i < n; i++)
        v.ones[i] = 1.0;

    size_t iterations = 0;
    const ch_status status = fit_from(&m, &v, kept, parameter, &iterations, err);
    if (status >= 0) {
        const double variance = n > p ? v.chi2 / (double)(n - p) : NAN;
        for (size_t k = 0; k < p; k++)
            parameter[k] = m.place[k];
        for (size_t k = 0; k < p * p && covariance != NULL; k++)
            covariance[k] = v.covariance[k] * (known_u ? 1.0 : variance);
        if (fit != NULL)
            *fit = (ch_fit){.n = n,
                            .parameters = p,
                            .df = (double)(n - p),
                            .chi2 = v.chi2,
                            .residual_sd = sqrt(variance),
                            .iterations = iterations};
    }
    free(block);
    return status;
}
