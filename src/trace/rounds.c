/* The draws of a tracing: shared states drawn in rounds, weighed, and learnt from.
 *
 * Pilot rounds learn where the evidence puts the shared state, an answer round is drawn from what they learnt. A round is fitted to all draws before it, which
 * are weighed as one sample from all their proposals. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/sampling.h"

#include "parts.h"

/* Ways an engine may be wrong as a whole that pin different parts of the shared state down: each gets a proposal of its own. */
enum { WAYS = FITS_MAX };

static int way_of(const hypothesis *one)
{
    if (one->leakdown_wrong || one->together == CH_CAUSE_SOUND)
        return 0; /* low readings of sound cylinders come from what they share alone, far out */
    return one->together == CH_CAUSE_RINGS_OR_BORE       ? 1
           : one->together == CH_CAUSE_CAM_OR_TIMING     ? 2
           : one->together == CH_CAUSE_MEASUREMENT_ERROR ? 3
                                                         : 4;
}

enum {
    FIRST_DRAWS = 320,
    PILOT_DRAWS = 160,
    PILOT_ROUNDS_MAX = 8,
    ANSWER_ROUNDS = 3,
    ANSWER_ROUNDS_MAX = 6,
    HARD_TIMES = 4, /* as many draws as an answer round */
    ROUNDS_MAX = PILOT_ROUNDS_MAX + ANSWER_ROUNDS_MAX
};
/* Pilots of which so many draws are effective have learnt enough; from fewer, an answer round often has to be drawn twice. */
static const double LEARNT = 80.0;
/* Weights are flattened until so many draws count; of those for one way fewer, as most draws are for the others. */
static const double LEAST_FLATTENED = 60.0, LEAST_OF_WAY = 20.0;
/* A way is found once so many effective draws speak for it. */
static const double FOUND = 12.0;
/* An answer round with fewer effective draws than this is drawn once more, from what it has learnt itself, up to twice; larger ones follow only
 * where it would come close to no answer: a sheet at odds with what is usual is no reason to say nothing. */
static const double WANTED_EFFECTIVE = 100.0, CLOSE_EFFECTIVE = 60.0, CLOSE_PART_1 = 0.1;

/* A way with less of the weight than this gets no proposal of its own; each that does gets at least LEAST_SHARE_1 of the draws. */
static const double LEAST_WAY_1 = 1e-3, LEAST_SHARE_1 = 0.1;

/* Draws are weighed in so many pieces, whoever does them, so that sums add up in the same order. Each takes every PIECES-th draw: a round's parts, drawn for
 * different ways, take their turns in all of them. */
enum { PIECES = 16 };

/* All rounds so far. */
typedef struct rounds {
    const weigh_frame *frame;
    const ch_crew *crew;
    shared_space space;
    shared_proposal proposal[ROUNDS_MAX]; /* what each round was drawn from */
    int count;
    shared_draws draws;
    size_t n; /* of them drawn so far */
    /* Of each draw: log evidence; log weight; weight, flattened; chances of the ways; and the sum over rounds of their draws times their density over the
     * prior's there. */
    double *log_evidence, *log_weight, *weight, (*way_1)[WAYS], *over;
    double *flat, *way_log;                       /* room to work in */
    weigh_cylinder (*cylinder)[CH_CYLINDERS_MAX]; /* of each worker */
    sums piece[PIECES];
    bool summed; /* sums are wanted of the round that is weighed */
} rounds;

/* As many draws as all rounds together may take. */
static size_t draws_most(size_t samples)
{
    return FIRST_DRAWS + (PILOT_ROUNDS_MAX - 1) * (size_t)PILOT_DRAWS + ANSWER_ROUNDS * samples +
           (ANSWER_ROUNDS_MAX - ANSWER_ROUNDS) * HARD_TIMES * samples;
}

static void rounds_free(rounds *r)
{
    if (r == NULL)
        return;
    shared_draws_free(&r->draws);
    free(r->log_evidence);
    free(r->way_1);
    free(r->cylinder);
    free(r);
}

static ch_status rounds_new(size_t samples, const ch_crew *crew, rounds **made, ch_err *err)
{
    const size_t most = draws_most(samples);
    rounds *r = calloc(1, sizeof *r);
    if (r == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory to draw");
    ch_status rc = shared_draws_new(most, &r->draws, err);
    r->log_evidence = calloc(6 * most, sizeof *r->log_evidence);
    r->way_1 = calloc(most, sizeof *r->way_1);
    r->cylinder = calloc((size_t)ch_crew_workers(crew), sizeof *r->cylinder);
    if (rc >= 0 && (r->log_evidence == NULL || r->way_1 == NULL || r->cylinder == NULL))
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory for %zu weights", most);
    if (rc < 0) {
        rounds_free(r);
        return rc;
    }
    r->log_weight = r->log_evidence + most;
    r->weight = r->log_weight + most;
    r->flat = r->weight + most;
    r->way_log = r->flat + most;
    r->over = r->way_log + most;
    r->crew = crew;
    *made = r;
    return CH_OK;
}

/* Weigh a piece of the last round: log evidence, log weight by what the round itself was drawn from, ways, and the piece's sums. */
static void weigh_piece(void *context, int piece, int worker)
{
    rounds *r = context;
    weigh_cylinder *cylinder = r->cylinder[worker];
    for (size_t i = r->n - r->proposal[r->count - 1].n + (size_t)piece; i < r->n; i += PIECES) {
        const double *score = &r->draws.score[i * SHARED_DIMENSIONS];
        double value[SHARED_DIMENSIONS];
        shared_values(&r->space, score, value);
        weigh_state state;
        weigh_cylinders(r->frame, value, &state, cylinder);
        causes_result at;
        causes_at(r->frame, state.level_weight, cylinder, r->summed, &at);
        r->log_evidence[i] = at.log_evidence;
        r->log_weight[i] = at.log_evidence + r->draws.log_ratio[i];
        memset(r->way_1[i], 0, sizeof r->way_1[i]);
        for (int h = 0; h < r->frame->wrong->hypotheses; h++)
            r->way_1[i][way_of(&r->frame->wrong->hypothesis[h])] += at.hypothesis_1[h];
        if (r->summed)
            sums_add(&r->piece[piece], r->frame, &state, cylinder, &at, score, r->log_weight[i]);
    }
}

/* Weigh the last round; summed (out): its sums, NULL where they are not wanted. */
static void weigh_round(rounds *r, sums *summed)
{
    r->summed = summed != NULL;
    for (int p = 0; r->summed && p < PIECES; p++)
        sums_clear(&r->piece[p]);
    ch_crew_run(r->crew, PIECES, weigh_piece, r);
    if (summed == NULL)
        return;
    sums_clear(summed);
    for (int p = 0; p < PIECES; p++)
        sums_join(summed, &r->piece[p]);
}

/* Weights from logs, flattened by a power below 1 where few draws would carry all: then they show the way without pretending to be there. */
static ch_status flattened_weights(const double log_weight[], size_t n, double least, double flat[], double weight[],
                                   ch_err *err)
{
    double power = 1.0;
    for (int turn = 0; turn < 40; turn++) {
        for (size_t i = 0; i < n; i++)
            flat[i] = power * log_weight[i];
        ch_status rc = ch_weights_from_logs(flat, n, weight, err);
        if (rc < 0 || ch_effective_sample_size(weight, n) >= least)
            return rc;
        power *= 0.8;
    }
    return CH_OK;
}

/* Weights of all draws by the way they speak for, over the largest: their sums, and those of their squares. Returns the sum of all. */
static double way_masses(const rounds *r, double mass[WAYS], double square[WAYS])
{
    double total = 0.0, most = -INFINITY;
    memset(mass, 0, WAYS * sizeof *mass);
    memset(square, 0, WAYS * sizeof *square);
    for (size_t i = 0; i < r->n; i++)
        most = fmax(most, r->log_weight[i]);
    for (size_t i = 0; i < r->n; i++)
        for (int k = 0; k < WAYS; k++) {
            const double part = exp(r->log_weight[i] - most) * r->way_1[i][k];
            mass[k] += part;
            square[k] += part * part;
            total += part;
        }
    return total;
}

/* Whether every way that counts has been found by draws enough: a way that many draws serve hides one that no draw has reached yet. */
static bool ways_found(const rounds *r)
{
    double mass[WAYS], square[WAYS];
    const double total = way_masses(r, mass, square);
    for (int k = 0; k < WAYS; k++)
        if (mass[k] >= LEAST_WAY_1 * total && mass[k] * mass[k] < FOUND * square[k])
            return false;
    return true;
}

/* Fit a normal to each way's share of the weight of all draws. Returns how many. The flattened weights are gone then. */
static int fit_ways(rounds *r, fitted_normal fit[WAYS], double share_1[WAYS])
{
    double mass[WAYS], square[WAYS];
    const double total = way_masses(r, mass, square);
    int count = 0;
    double sum = 0.0;
    for (int k = 0; k < WAYS && total > 0.0; k++) {
        if (!(mass[k] >= LEAST_WAY_1 * total))
            continue;
        for (size_t i = 0; i < r->n; i++)
            r->way_log[i] = r->log_weight[i] + log(r->way_1[i][k]);
        if (flattened_weights(r->way_log, r->n, LEAST_OF_WAY, r->flat, r->weight, NULL) < 0 ||
            !shared_fit(&r->space, &r->draws, 0, r->n, r->weight, &fit[count]))
            continue;
        share_1[count] = fmax(mass[k] / total, LEAST_SHARE_1);
        sum += share_1[count++];
    }
    for (int k = 0; k < count; k++)
        share_1[k] /= sum;
    return count;
}

/* Draw the next round: from the prior where there is none to learn from, else from normals fitted to all draws so far. */
static ch_status next_round(rounds *r, uint64_t seed, size_t n, ch_err *err)
{
    shared_proposal *proposal = &r->proposal[r->count];
    double share_1[WAYS];
    fitted_normal fit[WAYS];
    int ways = 0;
    if (r->count > 0) {
        double centre[SHARED_DIMENSIONS];
        shared_centre(&r->draws, 0, r->n, r->weight, centre);
        directions_set(r->frame, centre, &r->space);
        ways = fit_ways(r, fit, share_1);
    }
    ch_status rc;
    if (ways == 0) {
        *proposal = (shared_proposal){.kept_1 = 1.0, .n = n};
        rc = shared_draw_prior(&r->space, seed, r->n, n, &r->draws, err);
    } else {
        rc = shared_draw_mixture(&r->space, fit, share_1, ways, seed, r->n, n, &r->draws, proposal, err);
    }
    if (rc < 0)
        return rc;
    for (size_t i = 0; i < r->n; i++)
        r->over[i] += (double)n * shared_over_prior(proposal, &r->draws.score[i * SHARED_DIMENSIONS]);
    r->count++;
    for (size_t i = r->n; i < r->n + n; i++)
        for (int k = 0; k < r->count; k++)
            r->over[i] +=
                (double)r->proposal[k].n * shared_over_prior(&r->proposal[k], &r->draws.score[i * SHARED_DIMENSIONS]);
    r->n += n;
    return CH_OK;
}

/* Weigh all draws so far as one sample from all rounds' proposals together: none counts for much because a poor proposal hardly ever reaches it.
 * Source: Cornuet, Marin, Mira and Robert, "Adaptive multiple importance sampling", Scandinavian Journal of Statistics 39 (2012) 798 (volume and page from
 * memory). effective (out): how many of them count. */
static ch_status weigh_together(rounds *r, double *effective, ch_err *err)
{
    for (size_t i = 0; i < r->n; i++)
        r->log_weight[i] = r->log_evidence[i] + log((double)r->n / r->over[i]);
    ch_status rc = ch_weights_from_logs(r->log_weight, r->n, r->weight, err);
    if (rc < 0)
        return rc;
    *effective = ch_effective_sample_size(r->weight, r->n);
    return flattened_weights(r->log_weight, r->n, LEAST_FLATTENED, r->flat, r->weight, err);
}

/* From the prior; then pilots, each from what those before learnt, until enough draws count; then what shall answer is drawn, and not yet weighed. */
static ch_status pilots(rounds *r, uint64_t seed, size_t samples, ch_err *err)
{
    ch_status rc = next_round(r, seed, FIRST_DRAWS, err);
    bool last = false;
    for (uint64_t round = 1; rc >= 0 && !last; round++) {
        double learnt = 0.0;
        weigh_round(r, NULL);
        rc = weigh_together(r, &learnt, err);
        last = round == PILOT_ROUNDS_MAX || (round > 1 && learnt >= LEARNT && ways_found(r));
        if (rc >= 0)
            rc = next_round(r, seed + round, last ? samples : PILOT_DRAWS, err);
    }
    return rc;
}

static ch_status answers(rounds *r, uint64_t seed, size_t samples, sums *summed, double *effective, ch_err *err)
{
    for (uint64_t round = 0; round < ANSWER_ROUNDS_MAX; round++) {
        const size_t n = r->proposal[r->count - 1].n, from = r->n - n;
        weigh_round(r, summed);
        ch_status rc = ch_weights_from_logs(&r->log_weight[from], n, r->weight, err);
        if (rc < 0)
            return rc;
        *effective = ch_effective_sample_size(r->weight, n);
        const double enough =
            round + 1 < ANSWER_ROUNDS ? WANTED_EFFECTIVE : fmin(CLOSE_EFFECTIVE, CLOSE_PART_1 * (double)n);
        if (*effective >= enough || round + 1 == ANSWER_ROUNDS_MAX)
            break;
        double of_all;
        rc = weigh_together(r, &of_all, err);
        if (rc >= 0)
            rc = next_round(r, seed + 100 + round, round + 1 < ANSWER_ROUNDS ? samples : HARD_TIMES * samples, err);
        if (rc < 0)
            return rc;
    }
    return CH_OK;
}

ch_status rounds_run(const weigh_frame *frame, const shared_space *space, uint64_t seed, size_t samples,
                     const ch_crew *crew, sums *summed, double *effective, ch_err *err)
{
    rounds *r = NULL;
    ch_status rc = rounds_new(samples, crew, &r, err);
    if (rc >= 0) {
        r->frame = frame;
        r->space = *space;
        rc = pilots(r, seed, samples, err);
    }
    if (rc >= 0)
        rc = answers(r, seed, samples, summed, effective, err);
    rounds_free(r);
    return rc;
}
