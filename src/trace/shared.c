/* What all cylinders have in common: its dimensions, and draws of it from the prior and from a fitted proposal. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/prior.h"
#include "crosshatch/regression.h"
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
    extra[SHARED_LISTENER] = m->any_heard ? knowledge->hearing.listeners_spread_1 : 0.0;
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
    double *scores = NULL;
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

void shared_values(const shared_space *space, const double score[SHARED_DIMENSIONS], double value[SHARED_DIMENSIONS])
{
    for (int d = 0; d < SHARED_DIMENSIONS; d++)
        value[d] = score[d] * space->sd[d];
    value[CH_DOUBT_COUNT + SHARED_OIL_SEAL] = score[CH_DOUBT_COUNT + SHARED_OIL_SEAL];
}

void shared_centre(const shared_draws *draws, size_t from, size_t n, const double weight[],
                   double centre[SHARED_DIMENSIONS])
{
    memset(centre, 0, SHARED_DIMENSIONS * sizeof *centre);
    for (size_t i = 0; i < n; i++)
        for (int d = 0; d < SHARED_DIMENSIONS; d++)
            centre[d] += weight[i] * draws->score[(from + i) * SHARED_DIMENSIONS + (size_t)d];
}

/* Coordinates of a vector of scores along the directions. */
static void project(const shared_space *space, const double score[SHARED_DIMENSIONS], double along[DIRECTIONS_MAX])
{
    for (int k = 0; k < space->directions; k++) {
        along[k] = 0.0;
        for (int d = 0; d < SHARED_DIMENSIONS; d++)
            along[k] += space->direction[k][d] * score[d];
    }
}

bool shared_fit(const shared_space *space, const shared_draws *draws, size_t from, size_t n, const double weight[],
                fitted_normal *fit)
{
    const int d = space->directions;
    double second[DIRECTIONS_MAX][DIRECTIONS_MAX] = {{0}};
    *fit = (fitted_normal){.d = d};
    for (size_t i = 0; i < n; i++) {
        double along[DIRECTIONS_MAX];
        project(space, &draws->score[(from + i) * SHARED_DIMENSIONS], along);
        for (int a = 0; a < d; a++) {
            fit->mean[a] += weight[i] * along[a];
            for (int b = 0; b <= a; b++)
                second[a][b] += weight[i] * along[a] * along[b];
        }
    }
    double squares = 0.0;
    for (size_t i = 0; i < n; i++)
        squares += weight[i] * weight[i];
    /* Widened, the more the fewer draws tell of it, so that the proposal has the longer tails, and held away from a needle. */
    const double widened = 1.3 * (1.0 + (d + 1) * squares);
    for (int a = 0; a < d; a++)
        for (int b = 0; b <= a; b++) {
            const double covariance = widened * (second[a][b] - fit->mean[a] * fit->mean[b]) + (a == b ? 2e-4 : 0.0);
            fit->factor[a * d + b] = covariance;
            fit->factor[b * d + a] = covariance;
        }
    if (d == 0)
        return false;
    if (!ch_cholesky(fit->factor, (size_t)d))
        return false;
    for (int a = 0; a < d; a++)
        fit->log_determinant += log(fit->factor[a * d + a]);
    return true;
}

/* Log density of the fitted normal over that of the prior, at coordinates along the directions. */
static double log_fitted_over_prior(const fitted_normal *fit, const double along[])
{
    double solved[DIRECTIONS_MAX];
    double fitted_square = 0.0, prior_square = 0.0;
    for (int a = 0; a < fit->d; a++) {
        double left = along[a] - fit->mean[a];
        for (int b = 0; b < a; b++)
            left -= fit->factor[a * fit->d + b] * solved[b];
        solved[a] = left / fit->factor[a * fit->d + a];
        fitted_square += solved[a] * solved[a];
        prior_square += along[a] * along[a];
    }
    return 0.5 * (prior_square - fitted_square) - fit->log_determinant;
}

/* Density over that of the prior at coordinates along the directions. */
static double over_prior(const shared_proposal *p, const double along[])
{
    double over = p->kept_1;
    for (int k = 0; k < p->count; k++)
        over += (1.0 - p->kept_1) * p->share_1[k] * exp(fmin(log_fitted_over_prior(&p->fit[k], along), 700.0));
    return over;
}

double shared_over_prior(const shared_proposal *proposal, const double score[SHARED_DIMENSIONS])
{
    if (proposal->count == 0)
        return 1.0;
    double along[DIRECTIONS_MAX];
    project(&proposal->space, score, along);
    return over_prior(proposal, along);
}

ch_status shared_draw_mixture(const shared_space *space, const fitted_normal fit[], const double share_1[], int count,
                              uint64_t seed, size_t from, size_t n, shared_draws *draws, shared_proposal *proposal,
                              ch_err *err)
{
    /* One draw in six stays the prior's, so that no weight can exceed six times the mean. Each part is an even filling of its own: every sixth
     * point of one Sobol sequence has an even number, and all points of even number lie in the same half of every dimension. */
    const size_t kept = (n + 5) / 6, fitted = n - kept;
    const uint64_t other_seed = seed ^ UINT64_C(0x9e3779b97f4a7c15);
    ch_status rc = shared_draw_prior(space, other_seed, from + fitted, kept, draws, err);
    size_t start[FITS_MAX + 1] = {0};
    double upto_1 = 0.0;
    for (int k = 0; k < count && rc >= 0; k++) {
        upto_1 += share_1[k];
        start[k + 1] = k == count - 1 ? fitted : (size_t)fmin(upto_1 * (double)fitted, (double)fitted);
        if (start[k + 1] > start[k])
            rc = shared_draw_prior(space, seed + (uint64_t)k * UINT64_C(0x2545f4914f6cdd1d), from + start[k],
                                   start[k + 1] - start[k], draws, err);
    }
    *proposal = (shared_proposal){.space = *space, .kept_1 = (double)kept / (double)n, .count = count, .n = n};
    for (int k = 0; k < count; k++) {
        proposal->fit[k] = fit[k];
        /* as the counts have come out */
        proposal->share_1[k] = fitted > 0 ? (double)(start[k + 1] - start[k]) / (double)fitted : 0.0;
    }
    int at = 0;
    for (size_t i = 0; rc >= 0 && i < n; i++) {
        while (at < count && i >= start[at + 1])
            at++;
        double *score = &draws->score[(from + i) * SHARED_DIMENSIONS];
        double along[DIRECTIONS_MAX], moved[DIRECTIONS_MAX];
        project(space, score, along);
        for (int a = 0; a < space->directions; a++) {
            moved[a] = at < count ? fit[at].mean[a] : along[a];
            for (int b = 0; at < count && b <= a; b++)
                moved[a] += fit[at].factor[a * fit[at].d + b] * along[b];
        }
        for (int a = 0; a < space->directions; a++)
            for (int d = 0; d < SHARED_DIMENSIONS; d++)
                score[d] += (moved[a] - along[a]) * space->direction[a][d];
        draws->log_ratio[from + i] = -log(over_prior(proposal, moved));
    }
    return rc;
}
