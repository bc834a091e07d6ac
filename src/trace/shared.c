/* What all cylinders have in common: its dimensions, and draws of it from the prior and from a fitted proposal. */
#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_linalg.h>

#include "crosshatch/prior.h"
#include "crosshatch/sampling.h"

#include "parts.h"

void shared_space_set(const ch_doubts *doubts, const ch_knowledge *knowledge, const measured *m, shared_space *space)
{
    *space = (shared_space){.active_count = 0};
    for (int d = 0; d < CH_DOUBT_COUNT; d++)
        space->sd[d] = doubts->sd[d];
    bool orifice_assumed = false, oil_unknown = false;
    for (int c = 0; c < m->cylinders; c++) {
        for (size_t i = 0; i < m->cylinder[c].leakdown_count; i++)
            orifice_assumed = orifice_assumed || m->cylinder[c].leakdown[i].orifice_assumed;
        oil_unknown = oil_unknown || (m->cylinder[c].wet.n > 0 && isnan(m->cylinder[c].oil_m3));
    }
    double *extra = &space->sd[CH_DOUBT_COUNT];
    const double spread = knowledge->background_m2[CH_PATH_RINGS].spread_1;
    extra[SHARED_RINGS] = sqrt(fmax(spread * spread - CH_PRIOR_RING_SD_CYLINDER * CH_PRIOR_RING_SD_CYLINDER, 0.01));
    extra[SHARED_GAIN] = m->u_gain_1;
    extra[SHARED_ZERO] = m->u_zero_pa;
    /* The dose that stays above the piston: half to four fifths of what was poured in (common practice: some is blown out at once). */
    extra[SHARED_OIL_KEPT] = m->any_wet ? (oil_unknown ? 0.55 : 0.25) : 0.0;
    extra[SHARED_OIL_SEAL] = m->any_wet ? 1.0 : 0.0;
    extra[SHARED_STATIC] = m->any_leakdown ? 0.5 : 0.0;
    extra[SHARED_ORIFICE] = m->any_leakdown ? (orifice_assumed ? 0.35 : 0.08) : 0.0;
    extra[SHARED_WEAR] = extra[SHARED_FILLING] = extra[SHARED_READING] = m->cylinders > 1 ? 1.0 : 0.0;
    for (int d = 0; d < SHARED_DIMENSIONS; d++)
        if (space->sd[d] > 0.0)
            space->active[space->active_count++] = d;
}

ch_status shared_draws_new(size_t n, shared_draws *draws, ch_err *err)
{
    draws->n = n;
    draws->score = calloc(n * SHARED_DIMENSIONS, sizeof *draws->score);
    draws->log_ratio = calloc(n, sizeof *draws->log_ratio);
    if (draws->score == NULL || draws->log_ratio == NULL) {
        shared_draws_free(draws);
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for %zu draws", n);
    }
    return CH_OK;
}

void shared_draws_free(shared_draws *draws)
{
    free(draws->score);
    free(draws->log_ratio);
    draws->score = NULL;
    draws->log_ratio = NULL;
    draws->n = 0;
}

/* Scrambled Sobol points turned to normal scores, active_count a draw, into a new array. */
static ch_status scores_new(const shared_space *space, uint64_t seed, size_t n, double **scores, ch_err *err)
{
    const size_t d = (size_t)space->active_count;
    double *made = malloc(n * d * sizeof *made);
    if (made == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for %zu points", n);
    ch_status rc = ch_sobol_points(seed, d, n, made, err);
    if (rc < 0) {
        free(made);
        return rc;
    }
    for (size_t i = 0; i < n * d; i++)
        made[i] = ch_normal_quantile(fmin(fmax(made[i], 1e-12), 1.0 - 1e-12));
    *scores = made;
    return CH_OK;
}

ch_status shared_draw_prior(const shared_space *space, uint64_t seed, size_t from, size_t n, shared_draws *draws,
                            ch_err *err)
{
    double *scores;
    ch_status rc = scores_new(space, seed, n, &scores, err);
    if (rc < 0)
        return rc;
    for (size_t i = 0; i < n; i++) {
        for (int a = 0; a < space->active_count; a++)
            draws->score[(from + i) * SHARED_DIMENSIONS + (size_t)space->active[a]] =
                scores[i * (size_t)space->active_count + (size_t)a];
        draws->log_ratio[from + i] = 0.0;
    }
    free(scores);
    return CH_OK;
}

/* A normal over the active dimensions. */
typedef struct fitted_normal {
    int d;
    double mean[SHARED_DIMENSIONS];
    double factor[SHARED_DIMENSIONS * SHARED_DIMENSIONS]; /* lower Cholesky factor, row by row, d by d */
    double log_determinant;                               /* of the factor */
} fitted_normal;

/* Weighted mean and covariance of draws, widened, and held away from a needle. */
static bool fit_normal(const shared_space *space, const shared_draws *draws, size_t n, const double weight[],
                       fitted_normal *fit)
{
    const int d = space->active_count;
    fit->d = d;
    for (int a = 0; a < d; a++) {
        fit->mean[a] = 0.0;
        for (size_t i = 0; i < n; i++)
            fit->mean[a] += weight[i] * draws->score[i * SHARED_DIMENSIONS + (size_t)space->active[a]];
    }
    const double effective = ch_effective_sample_size(weight, n);
    const double trust = effective / (effective + 2.0 * d); /* few effective draws: lean on the prior's shape */
    for (int a = 0; a < d; a++)
        for (int b = 0; b <= a; b++) {
            double sum = 0.0;
            for (size_t i = 0; i < n; i++)
                sum += weight[i] * (draws->score[i * SHARED_DIMENSIONS + (size_t)space->active[a]] - fit->mean[a]) *
                       (draws->score[i * SHARED_DIMENSIONS + (size_t)space->active[b]] - fit->mean[b]);
            sum = trust * 1.2 * sum + (a == b ? (1.0 - trust) + 0.01 : 0.0);
            fit->factor[a * d + b] = sum;
            fit->factor[b * d + a] = sum;
        }
    gsl_matrix_view view = gsl_matrix_view_array(fit->factor, (size_t)d, (size_t)d);
    if (gsl_linalg_cholesky_decomp1(&view.matrix) != 0)
        return false;
    fit->log_determinant = 0.0;
    for (int a = 0; a < d; a++)
        fit->log_determinant += log(fit->factor[a * d + a]);
    return true;
}

/* Log density of the fitted normal over that of the prior, at a vector of scores. */
static double log_fitted_over_prior(const fitted_normal *fit, const double at[])
{
    double solved[SHARED_DIMENSIONS];
    double fitted_square = 0.0, prior_square = 0.0;
    for (int a = 0; a < fit->d; a++) {
        double left = at[a] - fit->mean[a];
        for (int b = 0; b < a; b++)
            left -= fit->factor[a * fit->d + b] * solved[b];
        solved[a] = left / fit->factor[a * fit->d + a];
        fitted_square += solved[a] * solved[a];
        prior_square += at[a] * at[a];
    }
    return 0.5 * (prior_square - fitted_square) - fit->log_determinant;
}

ch_status shared_draw_fitted(const shared_space *space, uint64_t seed, size_t fitted, const double weight[],
                             size_t from, size_t n, shared_draws *draws, ch_err *err)
{
    fitted_normal fit;
    if (!fit_normal(space, draws, fitted, weight, &fit))
        return shared_draw_prior(space, seed, from, n, draws, err);
    double *scores;
    ch_status rc = scores_new(space, seed, n, &scores, err);
    if (rc < 0)
        return rc;
    const size_t one_in = 6; /* of the draws from the prior, so that no weight can exceed six times the mean */
    for (size_t i = 0; i < n; i++) {
        double at[SHARED_DIMENSIONS];
        const double *z = &scores[i * (size_t)space->active_count];
        for (int a = 0; a < fit.d; a++) {
            at[a] = i % one_in == 0 ? z[a] : fit.mean[a];
            for (int b = 0; i % one_in != 0 && b <= a; b++)
                at[a] += fit.factor[a * fit.d + b] * z[b];
        }
        for (int a = 0; a < fit.d; a++)
            draws->score[(from + i) * SHARED_DIMENSIONS + (size_t)space->active[a]] = at[a];
        const double part = 1.0 / (double)one_in;
        draws->log_ratio[from + i] = -log(part + (1.0 - part) * exp(fmin(log_fitted_over_prior(&fit, at), 700.0)));
    }
    free(scores);
    return CH_OK;
}
