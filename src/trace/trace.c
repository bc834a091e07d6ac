/* Tracing a sheet: shared states drawn in rounds, weighed, and summed up into causes and areas.
 *
 * Pilot rounds learn where the evidence puts the shared state, an answer round is drawn from what they learnt, and everything else is summed
 * exactly at each of its states, so that the only noise is in the shared state. */
#include "crosshatch/trace.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/expected.h"
#include "crosshatch/sampling.h"

#include "parts.h"

/* Fewer effective draws than this and no answer is given. */
static const double LEAST_EFFECTIVE = 40.0;

/* Areas without a leak lie anywhere between the grid's points, and a sound cylinder's interval is but a few steps of the grid wide: they are counted in
 * steps a quarter as long, so that the counting adds next to nothing to its width. */
enum { FINE = 4, FINE_STEPS = FINE * (CH_EMULATOR_GRID - 1) + 1 };

/* Posterior sums, kept relative to the largest log weight met so far. */
typedef struct sums {
    double log_reference; /* -infinity before the first */
    double weight, weight_squared;
    double cause[CH_CYLINDERS_MAX][CH_CAUSE_COUNT];
    double cause_once[CH_CYLINDERS_MAX][CH_CAUSE_COUNT],
        cause_twice[CH_CYLINDERS_MAX][CH_CAUSE_COUNT];  /* squared weights times the chance, and its square */
    double leaking[CH_CYLINDERS_MAX][CH_EMULATOR_GRID]; /* total areas with a leak, at the grid's points */
    double tight[CH_CYLINDERS_MAX][FINE_STEPS];         /* and without one */
    double path_m2[CH_CYLINDERS_MAX][CH_PATH_COUNT];
    trace_areas by_cause[CH_CYLINDERS_MAX];
    double score[CH_DOUBT_COUNT];
    double no_fault;                 /* in any cylinder */
    double together[CH_CAUSE_COUNT]; /* the cause has struck the engine as a whole */
} sums;

static void sums_scale(sums *s, double factor)
{
    s->weight *= factor;
    s->weight_squared *= factor * factor;
    s->no_fault *= factor;
    for (int i = 0; i < CH_CYLINDERS_MAX; i++) {
        for (int c = 0; c < CH_CAUSE_COUNT; c++) {
            s->cause[i][c] *= factor;
            s->cause_once[i][c] *= factor * factor;
            s->cause_twice[i][c] *= factor * factor;
        }
        for (int g = 0; g < CH_EMULATOR_GRID; g++)
            s->leaking[i][g] *= factor;
        for (int f = 0; f < FINE_STEPS; f++)
            s->tight[i][f] *= factor;
        for (int p = 0; p < CH_PATH_COUNT; p++)
            s->path_m2[i][p] *= factor;
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            for (int g = 0; g < CH_EMULATOR_GRID; g++)
                s->by_cause[i].extra[c][g] *= factor;
    }
    for (int d = 0; d < CH_DOUBT_COUNT; d++)
        s->score[d] *= factor;
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        s->together[c] *= factor;
}

static void sums_clear(sums *s)
{
    memset(s, 0, sizeof *s);
    s->log_reference = -INFINITY;
}

static void add_all(double to[], const double from[], size_t count, double factor)
{
    for (size_t i = 0; i < count; i++)
        to[i] += factor * from[i];
}

/* Take the larger reference, so that a weight of log_weight is not above 1 beside it. */
static void sums_refer(sums *s, double log_weight)
{
    if (!(log_weight > s->log_reference))
        return;
    sums_scale(s, isfinite(s->log_reference) ? exp(s->log_reference - log_weight) : 0.0);
    s->log_reference = log_weight;
}

/* Add sums of other draws. */
static void sums_join(sums *to, const sums *from)
{
    if (!isfinite(from->log_reference))
        return;
    sums_refer(to, from->log_reference);
    const double factor = exp(from->log_reference - to->log_reference), squared = factor * factor;
    to->weight += factor * from->weight;
    to->weight_squared += squared * from->weight_squared;
    to->no_fault += factor * from->no_fault;
    for (int i = 0; i < CH_CYLINDERS_MAX; i++) {
        add_all(to->cause[i], from->cause[i], CH_CAUSE_COUNT, factor);
        add_all(to->cause_once[i], from->cause_once[i], CH_CAUSE_COUNT, squared);
        add_all(to->cause_twice[i], from->cause_twice[i], CH_CAUSE_COUNT, squared);
        add_all(to->leaking[i], from->leaking[i], CH_EMULATOR_GRID, factor);
        add_all(to->tight[i], from->tight[i], FINE_STEPS, factor);
        add_all(to->path_m2[i], from->path_m2[i], CH_PATH_COUNT, factor);
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            add_all(to->by_cause[i].extra[c], from->by_cause[i].extra[c], CH_EMULATOR_GRID, factor);
    }
    add_all(to->score, from->score, CH_DOUBT_COUNT, factor);
    add_all(to->together, from->together, CH_CAUSE_COUNT, factor);
}

static void add_at(double histogram[], int below, double part, double weight)
{
    histogram[below] += (1.0 - part) * weight;
    histogram[below + 1] += part * weight;
}

/* What a cause's share of one place is worth before the area: 0 where it does not open that place. */
static double place_chance(const ch_knowledge_cause *known, int place)
{
    if (place == PLACE_RINGS_DRY)
        return known->path_chance_1[CH_PATH_RINGS] * (1.0 - known->oil_seals_1);
    return known->path_chance_1[place] * (place == CH_PATH_RINGS ? known->oil_seals_1 : 1.0);
}

/* Spread a cause's share over the areas that make it up. */
static void add_cause_areas(const weigh_frame *frame, const weigh_state *state, const weigh_cylinder *c, int cause,
                            const double partner[CH_EMULATOR_GRID], double share, double histogram[CH_EMULATOR_GRID],
                            double path_m2[CH_PATH_COUNT], double extra[CH_EMULATOR_GRID])
{
    const ch_knowledge_cause *known = &frame->knowledge->causes[cause];
    const double *weight = frame->area_weight[cause];
    double total = 0.0;
    for (int place = 0; place < PLACES; place++) {
        const double chance = place_chance(known, place);
        for (int g = 0; chance > 0.0 && g < CH_EMULATOR_GRID; g++)
            total += chance * weight[g] * (partner != NULL ? partner[g] : 1.0) * c->likely_mean[place][g];
    }
    if (!(total > 0.0))
        return;
    for (int place = 0; place < PLACES; place++) {
        const double chance = place_chance(known, place);
        const int path = place == PLACE_RINGS_DRY ? CH_PATH_RINGS : place;
        for (int g = 0; chance > 0.0 && g < CH_EMULATOR_GRID; g++) {
            const double here = share / total * chance * weight[g] * (partner != NULL ? partner[g] : 1.0);
            if (!(here * c->likely_mean[place][g] > 1e-5 * share))
                continue;
            for (int k = 0; k < RING_NODES; k++) {
                const double w = here * RING_NODE_WEIGHT[k] * c->likely[place][k][g];
                add_at(histogram, state->dry.below[k][g], state->dry.part[k][g], w);
                if (extra != NULL)
                    extra[g] += w;
                path_m2[path] += w * frame->dry->area_m2[g];
                path_m2[CH_PATH_RINGS] += w * state->ring_m2[k];
            }
        }
    }
}

static void add_sound_areas(const weigh_state *state, const weigh_cylinder *c, bool by_readings, double share,
                            double tight[FINE_STEPS], double path_m2[CH_PATH_COUNT])
{
    double total = 0.0;
    for (int k = 0; k < RING_NODES; k++)
        total += RING_NODE_WEIGHT[k] * (by_readings ? c->alone[k] : 1.0);
    if (!(total > 0.0)) {
        by_readings = false;
        total = 1.0;
    }
    for (int k = 0; k < RING_NODES; k++) {
        const double w = share * RING_NODE_WEIGHT[k] * (by_readings ? c->alone[k] : 1.0) / total;
        const double place =
            FINE * ((double)state->dry.below[k][0] + state->dry.part[k][0]); /* grid point 0: no extra area */
        const int below = (int)fmin(place, FINE_STEPS - 2);
        add_at(tight, below, place - below, w);
        path_m2[CH_PATH_RINGS] += w * state->ring_m2[k];
    }
}

/* Readings' chance at the neighbour for each size of the hole they share, over the pairs that this cylinder is part of. */
static const double *partner_likely(const weigh_frame *frame, const weigh_cylinder cylinder[], const causes_result *at,
                                    int i, double partner[CH_EMULATOR_GRID])
{
    memset(partner, 0, CH_EMULATOR_GRID * sizeof *partner);
    for (int h = 0; h < frame->wrong->hypotheses; h++) {
        const int *pair = frame->wrong->hypothesis[h].pair;
        if (pair[0] < 0 || (pair[0] != i && pair[1] != i))
            continue;
        const weigh_cylinder *other = &cylinder[pair[0] == i ? pair[1] : pair[0]];
        double most = 0.0;
        for (int g = 0; g < CH_EMULATOR_GRID; g++)
            most = fmax(most, other->likely_mean[CH_PATH_NEIGHBOUR][g]);
        for (int g = 0; g < CH_EMULATOR_GRID && most > 0.0; g++)
            partner[g] += at->hypothesis_1[h] * other->likely_mean[CH_PATH_NEIGHBOUR][g] / most;
    }
    return partner;
}

/* Part of a cylinder's chance of the cam drive or valve gear that comes with a valve that leaks. */
static double gear_leaking_1(const weigh_frame *frame, const weigh_state *state, const weigh_cylinder cylinder[], int i,
                             const causes_result *at, double cause_1)
{
    const weigh_cylinder *c = &cylinder[i];
    const int gear = CH_CAUSE_CAM_OR_TIMING;
    const level_range drive = frame->levels[gear];
    double struck_1 = 0.0, leaking_1 = 0.0;
    for (int h = 0; h < frame->wrong->hypotheses; h++) {
        const hypothesis *one = &frame->wrong->hypothesis[h];
        const bool struck =
            one->together == CH_CAUSE_CAM_OR_TIMING && wrong_strikes(frame->wrong, one, i, frame->measured->cylinders);
        struck_1 += struck ? at->hypothesis_1[h] : 0.0;
    }
    if (c->evidence[gear] > 0.0)
        leaking_1 = fmax(cause_1 - struck_1, 0.0) * c->leaking[gear] / c->evidence[gear];
    if (drive.count == DRIVE_LEVELS) {
        double bent = 0.0, all = 0.0;
        for (int j = 0; j < BENT_LEVELS; j++) {
            const int level = drive.from + FACTOR_LEVELS + j;
            bent += state->level_weight[level] * c->bent[j];
            all += state->level_weight[level] * c->level[level];
        }
        leaking_1 += all > 0.0 ? at->bent_1[i] * bent / all : 0.0;
    }
    return cause_1 > 0.0 ? fmin(leaking_1 / cause_1, 1.0) : 0.0;
}

static void sums_add(sums *s, const weigh_frame *frame, const weigh_state *state, const weigh_cylinder cylinder[],
                     const causes_result *at, const double score[], double log_weight)
{
    if (!isfinite(log_weight))
        return;
    sums_refer(s, log_weight);
    const double weight = exp(log_weight - s->log_reference);
    s->weight += weight;
    s->weight_squared += weight * weight;
    s->no_fault += weight * at->no_fault_1;
    for (int d = 0; d < CH_DOUBT_COUNT; d++)
        s->score[d] += weight * score[d];
    for (int h = 0; h < frame->wrong->hypotheses; h++)
        if (frame->wrong->hypothesis[h].together != CH_CAUSE_SOUND)
            s->together[frame->wrong->hypothesis[h].together] += weight * at->hypothesis_1[h];
    const bool counts = weight > 1e-4; /* not too light to shape a histogram */
    for (int i = 0; i < frame->measured->cylinders; i++)
        for (int c = 0; c < CH_CAUSE_COUNT; c++) {
            const double share = weight * at->cause_1[i][c];
            s->cause[i][c] += share;
            s->cause_once[i][c] += weight * share;
            s->cause_twice[i][c] += share * share;
            if (!counts || share < 1e-6)
                continue;
            const bool leaks =
                frame->knowledge->causes[c].areas_m2.count > 0 && frame->knowledge->causes[c].no_path_chance_1 < 0.5;
            if (leaks) {
                double partner[CH_EMULATOR_GRID];
                const double *with = c == CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS
                                         ? partner_likely(frame, cylinder, at, i, partner)
                                         : NULL;
                add_cause_areas(frame, state, &cylinder[i], c, with, share, s->leaking[i], s->path_m2[i],
                                s->by_cause[i].extra[c]);
            } else {
                const double part_1 = c == CH_CAUSE_CAM_OR_TIMING
                                          ? gear_leaking_1(frame, state, cylinder, i, at, at->cause_1[i][c])
                                          : 0.0;
                /* Checks expect this cause to leak nothing. */
                if (part_1 > 0.0)
                    add_cause_areas(frame, state, &cylinder[i], c, NULL, share * part_1, s->leaking[i], s->path_m2[i],
                                    NULL);
                add_sound_areas(state, &cylinder[i], c == CH_CAUSE_SOUND, share * (1.0 - part_1), s->tight[i],
                                s->path_m2[i]);
            }
        }
}

/* All areas of a cylinder in fine steps. Those with a leak stand at the grid's points for the stretch half way to its neighbours. */
static void areas_together(const double leaking[CH_EMULATOR_GRID], const double tight[FINE_STEPS],
                           double all[FINE_STEPS])
{
    memcpy(all, tight, FINE_STEPS * sizeof *all);
    for (int g = 0; g < CH_EMULATOR_GRID; g++) {
        double spread = 0.0;
        for (int f = -FINE / 2; f <= FINE / 2; f++) {
            const int at = FINE * g + f;
            const double part =
                abs(f) == FINE / 2 ? 0.5 / FINE : 1.0 / FINE; /* the ends are shared with the next points */
            if (at >= 0 && at < FINE_STEPS) {
                all[at] += part * leaking[g];
                spread += part;
            }
        }
        all[FINE * g] += (1.0 - spread) * leaking[g]; /* the first and the last point have but one side */
    }
}

/* Area below which a part p of a cylinder's areas lies. */
static double area_quantile(const ch_emulator *grid, const double all[FINE_STEPS], double p_1)
{
    double total = 0.0;
    for (int f = 0; f < FINE_STEPS; f++)
        total += all[f];
    double below = 0.0;
    for (int f = 0; f < FINE_STEPS; f++) {
        const double upto = below + all[f] / total;
        if (upto >= p_1) {
            /* A fine step stands for the stretch half way to its neighbours. */
            const double part = all[f] > 0.0 ? (p_1 - below) * total / all[f] : 0.5;
            const double u = fmax((f - 0.5 + part) * grid->u_step / FINE, 0.0);
            return grid->area_scale_m2 * expm1(u);
        }
        below = upto;
    }
    return grid->area_m2[CH_EMULATOR_GRID - 1];
}

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

/* Draws are weighed in so many pieces, whoever does them, so that sums add up in the same order. Each takes every PIECES-th draw: a round's parts, drawn for
 * different ways, take their turns in all of them. */
enum { PIECES = 16 };

/* A round to be weighed. */
typedef struct round_weighed {
    const weigh_frame *frame;
    const shared_space *space;
    const shared_draws *draws;
    size_t from, n;                               /* draws [from, from + n) */
    weigh_cylinder (*cylinder)[CH_CYLINDERS_MAX]; /* room of each worker */
    double *log_weight, (*way_1)[WAYS];           /* (out) of each draw: log weight, chances of the ways */
    sums *piece;                                  /* (out) PIECES of them; NULL: not wanted */
} round_weighed;

static void weigh_piece(void *context, int piece, int worker)
{
    const round_weighed *r = context;
    weigh_cylinder *cylinder = r->cylinder[worker];
    sums *s = r->piece != NULL ? &r->piece[piece] : NULL;
    for (size_t i = r->from + (size_t)piece; i < r->from + r->n; i += PIECES) {
        const double *score = &r->draws->score[i * SHARED_DIMENSIONS];
        double value[SHARED_DIMENSIONS];
        shared_values(r->space, score, value);
        weigh_state state;
        weigh_cylinders(r->frame, value, &state, cylinder);
        causes_result at;
        causes_at(r->frame, state.level_weight, cylinder, s != NULL, &at);
        r->log_weight[i] = at.log_evidence + r->draws->log_ratio[i];
        memset(r->way_1[i], 0, sizeof r->way_1[i]);
        for (int h = 0; h < r->frame->wrong->hypotheses; h++)
            r->way_1[i][way_of(&r->frame->wrong->hypothesis[h])] += at.hypothesis_1[h];
        if (s != NULL)
            sums_add(s, r->frame, &state, cylinder, &at, score, r->log_weight[i]);
    }
}

/* What the draws of a round came to, and room to work it out. */
typedef struct weighed {
    double *log_weight, *weight, *flat, *way_log;
    double (*way_1)[WAYS];
} weighed;

/* Everything on the heap of one run. */
typedef struct workspace {
    measured measured;
    seen seen;
    wrong wrong;
    weigh_frame frame;
    sums sums, piece[PIECES];
    order_room room;
    const ch_crew *crew;
    weigh_cylinder cylinder[][CH_CYLINDERS_MAX]; /* for each worker */
} workspace;

static workspace *workspace_new(const ch_crew *crew)
{
    workspace *ws = calloc(1, sizeof *ws + (size_t)ch_crew_workers(crew) * sizeof ws->cylinder[0]);
    if (ws != NULL)
        ws->crew = crew;
    return ws;
}

/* Weigh draws [from, from + n): log weights and each draw's chances of the ways out; with `summed` the workspace's sums. */
static void weigh_draws(workspace *ws, const shared_space *space, const shared_draws *draws, size_t from, size_t n,
                        const weighed *w, bool summed)
{
    round_weighed r = {.frame = &ws->frame,
                       .space = space,
                       .draws = draws,
                       .from = from,
                       .n = n,
                       .cylinder = ws->cylinder,
                       .log_weight = w->log_weight,
                       .way_1 = w->way_1,
                       .piece = summed ? ws->piece : NULL};
    for (int p = 0; summed && p < PIECES; p++)
        sums_clear(&ws->piece[p]);
    ch_crew_run(ws->crew, PIECES, weigh_piece, &r);
    if (!summed)
        return;
    sums_clear(&ws->sums);
    for (int p = 0; p < PIECES; p++)
        sums_join(&ws->sums, &ws->piece[p]);
}

/* The stand-in for dry cranking, or for cranking with some oil above the piston, where it does not stand yet. */
static ch_status stand_in(const ch_setup *setup, int cylinders, const ch_doubts *doubts, const ch_oil *oil,
                          const ch_crew *crew, trace_stand_in *kept, ch_err *err)
{
    const double oil_m3 = oil != NULL ? oil->retained_m3 : 0.0;
    if (kept->built && kept->oil_m3 == oil_m3)
        return CH_OK;
    kept->built = false;
    const ch_status rc = ch_emulator_build(setup, cylinders, doubts, oil, crew, &kept->emulator, err);
    kept->built = rc >= 0;
    kept->oil_m3 = oil_m3;
    return rc;
}

static ch_status build_frame(const ch_sheet *sheet, const ch_setup *setup, const ch_knowledge *knowledge,
                             const ch_doubts *doubts, trace_stand_ins *kept, workspace *ws, ch_err *err)
{
    measured_from_sheet(sheet, setup, &ws->measured);
    ch_status rc = seen_from_sheet(sheet, knowledge, &ws->seen, err);
    if (rc < 0)
        return rc;
    wrong_from_knowledge(sheet, knowledge, &ws->seen, &ws->wrong);
    rc = stand_in(setup, sheet->engine.cylinders, doubts, NULL, ws->crew, &kept->dry, err);
    if (rc < 0)
        return rc;
    ws->frame = (weigh_frame){.setup = setup,
                              .knowledge = knowledge,
                              .measured = &ws->measured,
                              .seen = &ws->seen,
                              .wrong = &ws->wrong,
                              .dry = &kept->dry.emulator};
    if (ws->measured.any_wet) {
        double dose_m3 = 0.0;
        int doses = 0;
        for (int c = 0; c < ws->measured.cylinders; c++)
            if (ws->measured.cylinder[c].wet.n > 0 && !isnan(ws->measured.cylinder[c].oil_m3)) {
                dose_m3 += ws->measured.cylinder[c].oil_m3;
                doses++;
            }
        dose_m3 = doses > 0 ? dose_m3 / doses : 8e-6; /* a good squirt: between the makers' teaspoon and tablespoon */
        const ch_oil oil = {.retained_m3 = fmin(0.65 * dose_m3, 0.5 * setup->cranking.clearance_m3)};
        ch_doubts wet_doubts = *doubts;
        wet_doubts.sd[CH_DOUBT_RATIO] = fmax(wet_doubts.sd[CH_DOUBT_RATIO], 0.08);
        rc = stand_in(setup, sheet->engine.cylinders, &wet_doubts, &oil, ws->crew, &kept->wet, err);
        if (rc < 0)
            return rc;
        ws->frame.wet = &kept->wet.emulator;
        ws->frame.wet_base_m3 = oil.retained_m3;
    }
    weigh_frame_set(&ws->frame);
    return CH_OK;
}

static void sum_up(workspace *ws, const ch_sheet *sheet, const ch_trace_options *options, bool seek_checks,
                   const double expected_pa[3], double effective, ch_trace *trace)
{
    sums *s = &ws->sums;
    *trace = (ch_trace){
        .cylinders = ws->measured.cylinders, .effective_samples = effective, .reliable = effective >= LEAST_EFFECTIVE};
    trace->any_fault_1 = 1.0 - s->no_fault / s->weight;
    for (int i = 0; i < trace->cylinders; i++) {
        ch_trace_cylinder *c = &trace->cylinder[i];
        c->cylinder = i + 1;
        for (int cause = 0; cause < CH_CAUSE_COUNT; cause++) {
            c->cause_1[cause] = s->cause[i][cause] / s->weight;
            c->drawing_u_1[cause] =
                sqrt(fmax(s->cause_twice[i][cause] - 2.0 * c->cause_1[cause] * s->cause_once[i][cause] +
                              c->cause_1[cause] * c->cause_1[cause] * s->weight_squared,
                          0.0)) /
                s->weight;
            c->prior_1[cause] = ws->wrong.marginal_1[i][cause];
        }
        double all[FINE_STEPS], share = 0.0;
        areas_together(s->leaking[i], s->tight[i], all);
        c->area_m2[0] = area_quantile(ws->frame.dry, all, 0.05);
        c->area_m2[1] = area_quantile(ws->frame.dry, all, 0.50);
        c->area_m2[2] = area_quantile(ws->frame.dry, all, 0.95);
        for (int q = 0; q < CH_TRACE_LADDER; q++)
            c->ladder_m2[q] = area_quantile(ws->frame.dry, all, (q + 1.0) / (CH_TRACE_LADDER + 1.0));
        for (int f = 0; f < FINE_STEPS; f++)
            share += all[f];
        for (int p = 0; p < CH_PATH_COUNT; p++)
            c->path_m2[p] = s->path_m2[i][p] / share;
        memcpy(c->expected_pa, expected_pa, sizeof c->expected_pa);
    }
    for (int d = 0; d < CH_DOUBT_COUNT; d++)
        trace->shared_shift[d] = s->score[d] / s->weight;
    if (!seek_checks)
        return;
    for (int i = 0; i < trace->cylinders; i++)
        s->by_cause[i].ring_m2 = ws->frame.ring_median_m2;
    double together_1[CH_CAUSE_COUNT];
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        together_1[c] = s->together[c] / s->weight;
    const checks_known known = {.frame = &ws->frame,
                                .sheet = sheet,
                                .areas = s->by_cause,
                                .together_1 = together_1,
                                .standing = options->standing};
    checks_find(&known, &ws->room, trace);
}

/* Weights from logs, flattened by a power below 1 where few draws would carry all: then they show the way without pretending to be there. */
static ch_status flattened_weights(const double log_weight[], size_t n, double least_1, double flat[], double weight[],
                                   double *power, ch_err *err)
{
    *power = 1.0;
    for (int turn = 0; turn < 40; turn++) {
        for (size_t i = 0; i < n; i++)
            flat[i] = *power * log_weight[i];
        ch_status rc = ch_weights_from_logs(flat, n, weight, err);
        if (rc < 0 || ch_effective_sample_size(weight, n) >= least_1 * (double)n)
            return rc;
        *power *= 0.8;
    }
    return CH_OK;
}

enum {
    FIRST_DRAWS = 384,
    PILOT_DRAWS = 192,
    PILOT_ROUNDS_MAX = 6,
    ANSWER_ROUNDS = 3,
    ANSWER_ROUNDS_MAX = 6,
    HARD_TIMES = 4 /* as many draws as an answer round */
};
/* A pilot of which this part is effective has learnt enough; from less, an answer round often has to be drawn twice. */
static const double LEARNT_1 = 0.25;
/* Weights are flattened until this part of the draws counts; of those for one way less, as most draws are for the others. */
static const double LEAST_EFFECTIVE_1 = 0.15, LEAST_OF_WAY_1 = 0.05;
/* An answer round with fewer effective draws than this is drawn once more, from what it has learnt itself, up to twice; larger ones follow only
 * where it would come close to no answer: a sheet at odds with what is usual is no reason to say nothing. */
static const double WANTED_EFFECTIVE = 100.0, CLOSE_EFFECTIVE = 60.0, CLOSE_PART_1 = 0.1;

/* A way with less of the weight than this gets no proposal of its own; each that does gets at least LEAST_SHARE_1 of the draws. */
static const double LEAST_WAY_1 = 1e-3, LEAST_SHARE_1 = 0.1;

/* Weights of draws [from, from + n) by the way they speak for, over the largest: their sums, and those of their squares. Returns the sum of all. */
static double way_masses(const weighed *w, size_t from, size_t n, double mass[WAYS], double square[WAYS])
{
    double total = 0.0, most = -INFINITY;
    memset(mass, 0, WAYS * sizeof *mass);
    memset(square, 0, WAYS * sizeof *square);
    for (size_t i = from; i < from + n; i++)
        most = fmax(most, w->log_weight[i]);
    for (size_t i = from; i < from + n; i++)
        for (int k = 0; k < WAYS; k++) {
            const double part = exp(w->log_weight[i] - most) * w->way_1[i][k];
            mass[k] += part;
            square[k] += part * part;
            total += part;
        }
    return total;
}

/* Whether every way that counts has been found by draws enough: a way that many draws serve hides one that no draw has reached yet. */
static bool ways_found(const weighed *w, size_t from, size_t n)
{
    double mass[WAYS], square[WAYS];
    const double total = way_masses(w, from, n, mass, square);
    for (int k = 0; k < WAYS; k++)
        if (mass[k] >= LEAST_WAY_1 * total && mass[k] * mass[k] < LEAST_OF_WAY_1 * (double)n * square[k])
            return false;
    return true;
}

/* Fit a normal to each way's share of the weight of draws [from, from + n). Returns how many. */
static int fit_ways(const shared_space *space, const shared_draws *draws, size_t from, size_t n, const weighed *w,
                    fitted_normal fit[WAYS], double share_1[WAYS])
{
    double mass[WAYS], square[WAYS];
    const double total = way_masses(w, from, n, mass, square);
    int count = 0;
    double sum = 0.0;
    for (int k = 0; k < WAYS && total > 0.0; k++) {
        if (!(mass[k] >= LEAST_WAY_1 * total))
            continue;
        for (size_t i = 0; i < n; i++)
            w->way_log[i] = w->log_weight[from + i] + log(w->way_1[from + i][k]);
        double power;
        if (flattened_weights(w->way_log, n, LEAST_OF_WAY_1, w->flat, w->weight, &power, NULL) < 0 ||
            !shared_fit(space, draws, from, n, w->weight, &fit[count]))
            continue;
        share_1[count] = fmax(mass[k] / total, LEAST_SHARE_1);
        sum += share_1[count++];
    }
    for (int k = 0; k < count; k++)
        share_1[k] /= sum;
    return count;
}

/* Fit the proposal to the weighted draws [from, from + n) and draw the next round behind them, at `to`. */
static ch_status next_round(workspace *ws, shared_space *space, uint64_t seed, const weighed *w, size_t from, size_t n,
                            size_t to, size_t next, shared_draws *draws, ch_err *err)
{
    double centre[SHARED_DIMENSIONS], share_1[WAYS];
    fitted_normal fit[WAYS];
    shared_centre(draws, from, n, w->weight, centre);
    directions_set(&ws->frame, centre, space);
    const int count = fit_ways(space, draws, from, n, w, fit, share_1);
    if (count == 0)
        return shared_draw_prior(space, seed, to, next, draws, err);
    return shared_draw_mixture(space, fit, share_1, count, seed, to, next, draws, err);
}

/* The draws in rounds: from the prior; then pilots, each from what the one before learnt, until enough of them count; then one
 * that answers. Two halves of `draws` take turns. */
static ch_status draw_and_weigh(workspace *ws, shared_space *space, uint64_t seed, size_t samples, shared_draws *draws,
                                double *effective, ch_err *err)
{
    const size_t half = draws->n / 2;
    weighed w = {.log_weight = calloc(2 * draws->n + 2 * half, sizeof *w.log_weight),
                 .way_1 = calloc(draws->n, sizeof *w.way_1)};
    ch_status rc = CH_OK;
    if (w.log_weight == NULL || w.way_1 == NULL)
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory for %zu weights", draws->n);
    else {
        w.weight = w.log_weight + draws->n;
        w.flat = w.weight + half;
        w.way_log = w.flat + half;
    }
    size_t at = 0, n = FIRST_DRAWS;
    double power = 0.0;
    if (rc >= 0)
        rc = shared_draw_prior(space, seed, at, n, draws, err);
    for (uint64_t round = 1; rc >= 0; round++) {
        weigh_draws(ws, space, draws, at, n, &w, false);
        rc = flattened_weights(&w.log_weight[at], n, LEAST_EFFECTIVE_1, w.flat, w.weight, &power, err);
        const bool learnt = round > 2 && power == 1.0 &&
                            ch_effective_sample_size(w.weight, n) >= LEARNT_1 * (double)n && ways_found(&w, at, n);
        const bool last = round == PILOT_ROUNDS_MAX || learnt;
        const size_t to = half - at, next = last ? samples : PILOT_DRAWS;
        if (rc >= 0)
            rc = next_round(ws, space, seed + round, &w, at, n, to, next, draws, err);
        at = to;
        n = next;
        if (last)
            break;
    }
    for (uint64_t round = 0; rc >= 0 && round < ANSWER_ROUNDS_MAX; round++) {
        weigh_draws(ws, space, draws, at, n, &w, true);
        rc = ch_weights_from_logs(&w.log_weight[at], n, w.weight, err);
        if (rc < 0)
            break;
        *effective = ch_effective_sample_size(w.weight, n);
        const double enough =
            round + 1 < ANSWER_ROUNDS ? WANTED_EFFECTIVE : fmin(CLOSE_EFFECTIVE, CLOSE_PART_1 * (double)n);
        if (*effective >= enough || round + 1 == ANSWER_ROUNDS_MAX)
            break;
        const size_t next = round + 1 < ANSWER_ROUNDS ? n : HARD_TIMES * samples;
        rc = next_round(ws, space, seed + 100 + round, &w, at, n, half - at, next, draws, err);
        at = half - at;
        n = next;
    }
    free(w.way_1);
    free(w.log_weight);
    return rc;
}

ch_status trace_run(const ch_sheet *sheet, const ch_setup *setup, const ch_knowledge *knowledge,
                    const ch_trace_options *options, bool seek_checks, trace_stand_ins *kept, ch_trace *trace,
                    ch_err *err)
{
    const size_t samples = options->samples > 0 ? options->samples : CH_TRACE_SAMPLES;
    ch_doubts doubts;
    ch_doubts_from_setup(setup, &doubts);
    workspace *ws = workspace_new(options->crew);
    if (ws == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory to trace");
    shared_draws draws = {0};
    double expected_pa[3], effective = 0.0;
    ch_status rc = build_frame(sheet, setup, knowledge, &doubts, kept, ws, err);
    if (rc >= 0)
        rc = ch_expected_sound(ws->frame.dry, &doubts, setup, ws->measured.u_gain_1, options->seed, 1000, expected_pa,
                               err);
    if (rc >= 0)
        rc = shared_draws_new(2 * (HARD_TIMES * samples > FIRST_DRAWS ? HARD_TIMES * samples : FIRST_DRAWS), &draws,
                              err);
    if (rc >= 0) {
        shared_space space;
        shared_space_set(&doubts, knowledge, &ws->measured, &space);
        rc = draw_and_weigh(ws, &space, options->seed, samples, &draws, &effective, err);
    }
    if (rc >= 0)
        sum_up(ws, sheet, options, seek_checks, expected_pa, effective, trace);
    shared_draws_free(&draws);
    free(ws);
    return rc;
}

ch_status ch_trace_run(const ch_sheet *sheet, const ch_setup *setup, const ch_knowledge *knowledge,
                       const ch_trace_options *options, ch_trace *trace, ch_err *err)
{
    trace_stand_ins *stand_ins = calloc(1, sizeof *stand_ins);
    if (stand_ins == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory to trace");
    const ch_status rc = trace_run(sheet, setup, knowledge, options, true, stand_ins, trace, err);
    free(stand_ins);
    return rc;
}

double ch_trace_drawing_error_1(const ch_trace *trace)
{
    double most = 0.0;
    for (int i = 0; i < trace->cylinders; i++)
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            most = fmax(most, trace->cylinder[i].drawing_u_1[c]);
    return most;
}
