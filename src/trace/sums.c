/* What the draws of a tracing add up to: chances of causes, areas, and how many draws they rest on. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "parts.h"

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

void sums_clear(sums *s)
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

void sums_join(sums *to, const sums *from)
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

void sums_add(sums *s, const weigh_frame *frame, const weigh_state *state, const weigh_cylinder cylinder[],
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

/* Those with a leak stand at the grid's points for the stretch half way to its neighbours. */
void sums_areas_together(const double leaking[CH_EMULATOR_GRID], const double tight[FINE_STEPS], double all[FINE_STEPS])
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

double sums_area_quantile(const ch_emulator *grid, const double all[FINE_STEPS], double p_1)
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
