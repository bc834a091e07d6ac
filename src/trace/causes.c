/* From the chance of every cylinder's readings under every cause to the chance of the causes, neighbours and common signs counted in.
 *
 * A sign that may come from any cylinder is seen with chance 1 - base * product(clear). The sum over all combinations of causes then falls
 * apart into sums over subsets of such signs of products over cylinders, exactly. Source: the "quickscore" expansion of noisy-or networks,
 * Heckerman, Proc. Uncertainty in AI 5 (1989). */
#include <math.h>
#include <string.h>

#include "parts.h"

/* A subset of the common signs: its sign and factor, and what it multiplies each cylinder's causes by. */
typedef struct subset {
    double factor;
    double clear_1
        [CH_CAUSE_COUNT]; /* the same in every cylinder; counted once where the cause strikes the engine as a whole */
} subset;

static void subset_set(const seen *s, unsigned chosen, subset *out)
{
    out->factor = 1.0;
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        out->clear_1[c] = 1.0;
    for (int m = 0; m < s->shared_count; m++) {
        if ((chosen >> m & 1u) == 0)
            continue;
        const seen_shared *sign = &s->shared[m];
        out->factor *= -sign->base_1;
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            out->clear_1[c] *= sign->clear_1[c];
    }
}

/* Chance of both cylinders' readings with one hole of the same size in each. */
static double joint_evidence(const weigh_frame *frame, const weigh_cylinder *a, const weigh_cylinder *b)
{
    const double *weight = frame->area_weight[CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS];
    double sum = 0.0;
    for (int g = 0; g < CH_EMULATOR_GRID; g++)
        sum += weight[g] * a->likely_mean[CH_PATH_NEIGHBOUR][g] * b->likely_mean[CH_PATH_NEIGHBOUR][g];
    return sum;
}

/* Two neighbours that may share a burnt gasket: chance in an engine that nothing strikes as a whole, and that of their readings and signs with it. */
typedef struct gasket_pair {
    int a, b;
    double chance_1, value;
} gasket_pair;

typedef struct gasket_pairs {
    int count;
    double any_1;
    gasket_pair pair[HYPOTHESES_MAX];
} gasket_pairs;

static void gasket_pairs_set(const weigh_frame *frame, const weigh_cylinder cylinder[], gasket_pairs *pairs)
{
    const wrong *w = frame->wrong;
    const seen *s = frame->seen;
    const int gasket = CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS;
    double pair_1[HYPOTHESES_MAX];
    pairs->any_1 = wrong_pairs_1(w, pair_1);
    pairs->count = 0;
    for (int h = 0; h < w->hypotheses; h++) {
        const int a = w->hypothesis[h].pair[0], b = w->hypothesis[h].pair[1];
        if (a < 0)
            continue;
        /* One hole: what speaks of the engine counts once for the two. */
        pairs->pair[pairs->count++] =
            (gasket_pair){.a = a,
                          .b = b,
                          .chance_1 = pair_1[h],
                          .value = joint_evidence(frame, &cylinder[a], &cylinder[b]) *
                                   exp(s->log_1[a][gasket] + s->log_1[b][gasket] - s->log_together[gasket])};
    }
}

/* What is no fault of a cylinder. */
static bool is_no_fault(int cause)
{
    return cause == CH_CAUSE_SOUND || cause == CH_CAUSE_MEASUREMENT_ERROR;
}

/* Add one term (a hypothesis under a subset) to the sums: its value, each cylinder's share of it by cause, and that of no cylinder having a fault. */
static void add_term(int cylinders, double factor, double part[][CH_CAUSE_COUNT], const double total[],
                     const int pair[2], double pair_value, double *sum, causes_result *result)
{
    double value = factor, no_fault = pair[0] >= 0 ? 0.0 : factor;
    for (int i = 0; i < cylinders; i++) {
        value *= i == pair[0] || i == pair[1] ? 1.0 : total[i];
        no_fault *= part[i][CH_CAUSE_SOUND] + part[i][CH_CAUSE_MEASUREMENT_ERROR];
    }
    if (pair[0] >= 0)
        value *= pair_value;
    *sum += value;
    result->no_fault_1 += no_fault;
    if (value == 0.0)
        return;
    for (int i = 0; i < cylinders; i++) {
        if (i == pair[0] || i == pair[1]) {
            result->cause_1[i][CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS] += value;
            continue;
        }
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            result->cause_1[i][c] += value * part[i][c] / total[i];
    }
}

enum { KEPT_MAX = MISLED_LEVELS > AREA_LEVELS ? MISLED_LEVELS : AREA_LEVELS };

/* Levels that are worth summing over, by cause and of the cam drives of single banks: the others' terms are lost in the rounding. */
enum { KEPT_SETS = CH_CAUSE_COUNT + BANKS };
typedef struct kept_levels {
    int count[KEPT_SETS], level[KEPT_SETS][KEPT_MAX];
} kept_levels;

static bool is_bank_drive(const hypothesis *one)
{
    return one->together == CH_CAUSE_CAM_OR_TIMING && one->bank > 0;
}

static level_range levels_of(const weigh_frame *frame, const hypothesis *one)
{
    return is_bank_drive(one) ? frame->bank_drive[one->bank - 1] : frame->levels[one->together];
}

static void kept_set(const weigh_frame *frame, const double level_weight[LEVELS_MAX], const weigh_cylinder cylinder[],
                     kept_levels *kept)
{
    static const double LOST_1 = 1e-12;
    const int n = frame->measured->cylinders;
    double own[CH_CYLINDERS_MAX];
    for (int i = 0; i < n; i++) {
        own[i] = 0.0;
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            own[i] += frame->wrong->prior_1[i][c] * cylinder[i].evidence[c];
    }
    for (int c = 0; c < KEPT_SETS; c++) {
        const int bank = c - CH_CAUSE_COUNT + 1; /* below 1: none */
        const level_range range = bank < 1 ? frame->levels[c] : frame->bank_drive[bank - 1];
        double value[KEPT_MAX], most = 0.0;
        kept->count[c] = 0;
        for (int j = 0; j < range.count; j++) {
            value[j] = level_weight[range.from + j];
            for (int i = 0; i < n; i++)
                if (bank < 1 || wrong_in_bank(bank, i, n))
                    value[j] *= own[i] + cylinder[i].level[range.from + j];
            most = value[j] > most ? value[j] : most;
        }
        for (int j = 0; j < range.count; j++)
            if (value[j] > LOST_1 * most)
                kept->level[c][kept->count[c]++] = range.from + j;
    }
}

/* A hypothesis that something strikes the engine as a whole. What a cylinder's tests are worth is linear in their chance at a level, so that the
 * levels need but two sums a cylinder: of the terms over its total, with and without that chance. Where two neighbours may share a gasket as
 * well, these two drop out of the product. */
static void add_together(const weigh_frame *frame, const double level_weight[LEVELS_MAX], const kept_levels *kept,
                         const weigh_cylinder cylinder[], const hypothesis *one, const gasket_pairs *pairs,
                         const subset *sub, double own[][CH_CAUSE_COUNT], const double own_total[], double *sum,
                         causes_result *result)
{
    const int n = frame->measured->cylinders, t = (int)one->together;
    const seen *s = frame->seen;
    const double factor = one->prior_1 * one->losses_alike_1 * sub->factor * exp(s->log_together[t]) * sub->clear_1[t];
    double fixed[CH_CYLINDERS_MAX], at_level[CH_CYLINDERS_MAX], share_1[CH_CYLINDERS_MAX];
    double struck[CH_CYLINDERS_MAX][CH_CAUSE_COUNT]; /* by cause, what the chance at a level is multiplied by */
    double clean_fixed[CH_CYLINDERS_MAX], clean_at_level[CH_CYLINDERS_MAX]; /* of both, what is no fault */
    for (int i = 0; i < n; i++) {
        share_1[i] = wrong_strikes(frame->wrong, one, i, n) ? one->share_1 : 0.0;
        double covered_1 = 0.0;
        fixed[i] = (1.0 - share_1[i]) * own_total[i];
        at_level[i] = 0.0;
        for (int c = 0; c < CH_CAUSE_COUNT; c++) {
            const double prior_1 = frame->wrong->prior_1[i][c];
            fixed[i] += share_1[i] * one->stays_1[c] * own[i][c];
            struck[i][c] = share_1[i] * one->beneath_1[c] * prior_1 * exp(s->log_1[i][c]) * sub->clear_1[c];
            at_level[i] += struck[i][c];
            covered_1 += prior_1 * (1.0 - one->stays_1[c] - one->beneath_1[c]);
        }
        const double own_way = share_1[i] * covered_1 * exp(s->log_1[i][t] - s->log_together[t]);
        struck[i][t] += own_way;
        at_level[i] += own_way;
        clean_fixed[i] = clean_at_level[i] = 0.0;
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            if (is_no_fault(c)) {
                clean_fixed[i] += (1.0 - share_1[i] + share_1[i] * one->stays_1[c]) * own[i][c];
                clean_at_level[i] += struck[i][c];
            }
    }
    double without[CH_CYLINDERS_MAX] = {0.0}, with[CH_CYLINDERS_MAX] = {0.0};
    const int gasket = CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS, pairs_too = one->pair_too ? pairs->count : 0;
    const double unpaired_1 = one->pair_too ? 1.0 - pairs->any_1 : 1.0;
    const int set = is_bank_drive(one) ? CH_CAUSE_COUNT + one->bank - 1 : t;
    const int levels = one->leakdown_wrong ? 1 : kept->count[set];
    for (int k = 0; k < levels; k++) {
        const int j = one->leakdown_wrong ? 0 : kept->level[set][k];
        double total[CH_CYLINDERS_MAX], value = factor * (one->leakdown_wrong ? 1.0 : level_weight[j]);
        double no_fault = value;
        for (int i = 0; i < n; i++) {
            const double chance = one->leakdown_wrong ? cylinder[i].evidence_leakdown_wrong : cylinder[i].level[j];
            total[i] = fmax(fixed[i] + at_level[i] * chance, 1e-290);
            value *= total[i];
            no_fault *= clean_fixed[i] + clean_at_level[i] * chance;
        }
        if (value == 0.0)
            continue;
        double all = unpaired_1 * value, paired[CH_CYLINDERS_MAX] = {0.0};
        for (int p = 0; p < pairs_too; p++) {
            const gasket_pair *pair = &pairs->pair[p];
            const double term =
                value / (total[pair->a] * total[pair->b]) * pair->chance_1 * pair->value * sub->clear_1[gasket];
            all += term;
            paired[pair->a] += term;
            paired[pair->b] += term;
        }
        *sum += all;
        result->no_fault_1 += unpaired_1 * no_fault;
        const bool bent = t == CH_CAUSE_CAM_OR_TIMING && j >= levels_of(frame, one).from + FACTOR_LEVELS;
        for (int i = 0; i < n; i++) {
            const double chance = one->leakdown_wrong ? cylinder[i].evidence_leakdown_wrong : cylinder[i].level[j];
            const double part = (all - paired[i]) / total[i];
            result->cause_1[i][gasket] += paired[i];
            result->bent_1[i] += bent && share_1[i] > 0.0 ? all : 0.0;
            without[i] += part;
            with[i] += part * chance;
        }
    }
    for (int i = 0; i < n; i++)
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            result->cause_1[i][c] +=
                without[i] * (1.0 - share_1[i] + share_1[i] * one->stays_1[c]) * own[i][c] + with[i] * struck[i][c];
}

void causes_at(const weigh_frame *frame, const double level_weight[LEVELS_MAX], const weigh_cylinder cylinder[],
               causes_result *result)
{
    const int n = frame->measured->cylinders;
    const seen *s = frame->seen;
    const wrong *w = frame->wrong;
    memset(result, 0, sizeof *result);

    kept_levels kept;
    kept_set(frame, level_weight, cylinder, &kept);
    gasket_pairs pairs;
    gasket_pairs_set(frame, cylinder, &pairs);
    double sum_all = 0.0;
    for (unsigned chosen = 0; chosen < 1u << s->shared_count; chosen++) {
        subset sub;
        subset_set(s, chosen, &sub);
        double own[CH_CYLINDERS_MAX][CH_CAUSE_COUNT], own_total[CH_CYLINDERS_MAX]; /* every cylinder for itself */
        for (int i = 0; i < n; i++) {
            own_total[i] = 0.0;
            for (int c = 0; c < CH_CAUSE_COUNT; c++) {
                own[i][c] = w->prior_1[i][c] * exp(s->log_1[i][c]) * cylinder[i].evidence[c] * sub.clear_1[c];
                own_total[i] += own[i][c];
            }
            own_total[i] = fmax(own_total[i], 1e-290);
        }
        for (int h = 0, p = 0; h < w->hypotheses; h++) {
            const hypothesis *one = &w->hypothesis[h];
            double sum = 0.0;
            if (one->pair[0] >= 0) {
                const double value = pairs.pair[p++].value * sub.clear_1[CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS];
                add_term(n, one->prior_1 * sub.factor, own, own_total, one->pair, value, &sum, result);
            } else if (one->together == CH_CAUSE_SOUND) {
                add_term(n, one->prior_1 * sub.factor, own, own_total, one->pair, 1.0, &sum, result);
            } else {
                add_together(frame, level_weight, &kept, cylinder, one, &pairs, &sub, own, own_total, &sum, result);
            }
            result->hypothesis_1[h] += sum;
            sum_all += sum;
        }
    }
    double log_scale = 0.0;
    for (int i = 0; i < n; i++)
        log_scale += cylinder[i].log_scale;
    if (!(sum_all > 0.0)) {
        result->log_evidence = -INFINITY;
        return;
    }
    result->log_evidence = log(sum_all) + log_scale;
    for (int h = 0; h < w->hypotheses; h++)
        result->hypothesis_1[h] /= sum_all;
    result->no_fault_1 = fmin(fmax(result->no_fault_1 / sum_all, 0.0), 1.0);
    for (int i = 0; i < n; i++) {
        double total = 0.0;
        result->bent_1[i] /= sum_all;
        for (int c = 0; c < CH_CAUSE_COUNT; c++) {
            result->cause_1[i][c] = fmax(result->cause_1[i][c] / sum_all, 0.0);
            total += result->cause_1[i][c];
        }
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            result->cause_1[i][c] /= total;
    }
}
