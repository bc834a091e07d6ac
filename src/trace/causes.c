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

/* Add one term (a hypothesis under a subset) to the sums: its value; with `shares` each cylinder's share of it by cause, and that of no cylinder having
 * a fault. */
static void add_term(int cylinders, double factor, double part[][CH_CAUSE_COUNT], const double total[],
                     const int pair[2], double pair_value, bool shares, double *sum, causes_result *result)
{
    double value = factor, no_fault = pair[0] >= 0 ? 0.0 : factor;
    for (int i = 0; i < cylinders; i++)
        value *= i == pair[0] || i == pair[1] ? 1.0 : total[i];
    if (pair[0] >= 0)
        value *= pair_value;
    *sum += value;
    if (!shares || value == 0.0)
        return;
    for (int i = 0; i < cylinders; i++) {
        no_fault *= part[i][CH_CAUSE_SOUND] + part[i][CH_CAUSE_MEASUREMENT_ERROR];
        if (i == pair[0] || i == pair[1]) {
            result->cause_1[i][CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS] += value;
            continue;
        }
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            result->cause_1[i][c] += value * part[i][c] / total[i];
    }
    result->no_fault_1 += no_fault;
}

enum { KEPT_MAX = MISLED_LEVELS > AREA_LEVELS ? MISLED_LEVELS : AREA_LEVELS };

/* Levels that are worth summing over, by cause and of the cam drives of single banks: the others' terms are lost in the rounding. With them, side by
 * side, their weights and what each cylinder's tests are worth there. */
enum { KEPT_SETS = CH_CAUSE_COUNT + BANKS };
typedef struct kept_levels {
    int count, level[KEPT_MAX];
    double weight[KEPT_MAX], chance[CH_CYLINDERS_MAX][KEPT_MAX];
} kept_levels;

/* What is the same in every subset of the common signs: of each cylinder's causes the prior with what was seen in it (seen_1), and with its readings as
 * well (own_1); of each way to strike the engine as a whole the share of a cylinder that is struck, and the chance of the common cause there, as
 * far as it is not counted for the engine; what a struck cylinder keeps of its own causes, and those that stay beneath. */
typedef struct same_always {
    double seen_1[CH_CYLINDERS_MAX][CH_CAUSE_COUNT], own_1[CH_CYLINDERS_MAX][CH_CAUSE_COUNT];
    double together_1[CH_CAUSE_COUNT];
    double share_1[HYPOTHESES_MAX][CH_CYLINDERS_MAX], common_1[HYPOTHESES_MAX][CH_CYLINDERS_MAX];
    double keeps_1[HYPOTHESES_MAX][CH_CAUSE_COUNT];
    int beneath_count[HYPOTHESES_MAX], beneath[HYPOTHESES_MAX][CH_CAUSE_COUNT];
} same_always;

static void same_always_set(const weigh_frame *frame, const weigh_cylinder cylinder[], same_always *same)
{
    const wrong *w = frame->wrong;
    const seen *s = frame->seen;
    const int n = frame->measured->cylinders;
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        same->together_1[c] = exp(s->log_together[c]);
    for (int i = 0; i < n; i++)
        for (int c = 0; c < CH_CAUSE_COUNT; c++) {
            same->seen_1[i][c] = w->prior_1[i][c] * exp(s->log_1[i][c]);
            same->own_1[i][c] = same->seen_1[i][c] * cylinder[i].evidence[c];
        }
    for (int h = 0; h < w->hypotheses; h++) {
        const hypothesis *one = &w->hypothesis[h];
        if (one->together == CH_CAUSE_SOUND)
            continue;
        same->beneath_count[h] = 0;
        for (int c = 0; c < CH_CAUSE_COUNT; c++) {
            same->keeps_1[h][c] = 1.0 - one->share_1 + one->share_1 * one->stays_1[c];
            if (one->beneath_1[c] > 0.0)
                same->beneath[h][same->beneath_count[h]++] = c;
        }
        for (int i = 0; i < n; i++) {
            double covered_1 = 0.0;
            for (int c = 0; c < CH_CAUSE_COUNT; c++)
                covered_1 += w->prior_1[i][c] * (1.0 - one->stays_1[c] - one->beneath_1[c]);
            same->share_1[h][i] = wrong_strikes(w, one, i, n) ? one->share_1 : 0.0;
            same->common_1[h][i] =
                same->share_1[h][i] * covered_1 * exp(s->log_1[i][one->together] - s->log_together[one->together]);
        }
    }
}

static bool is_bank_drive(const hypothesis *one)
{
    return one->together == CH_CAUSE_CAM_OR_TIMING && one->bank > 0;
}

static level_range levels_of(const weigh_frame *frame, const hypothesis *one)
{
    return is_bank_drive(one) ? frame->bank_drive[one->bank - 1] : frame->levels[one->together];
}

static void kept_set(const weigh_frame *frame, const double level_weight[LEVELS_MAX], const weigh_cylinder cylinder[],
                     kept_levels kept[KEPT_SETS])
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
        for (int j = 0; j < range.count; j++) {
            value[j] = level_weight[range.from + j];
            for (int i = 0; i < n; i++)
                if (bank < 1 || wrong_in_bank(bank, i, n))
                    value[j] *= own[i] + cylinder[i].level[range.from + j];
            most = value[j] > most ? value[j] : most;
        }
        kept_levels *to = &kept[c];
        to->count = 0;
        for (int j = 0; j < range.count; j++) {
            if (!(value[j] > LOST_1 * most))
                continue;
            to->level[to->count] = range.from + j;
            to->weight[to->count] = level_weight[range.from + j];
            for (int i = 0; i < n; i++)
                to->chance[i][to->count] = cylinder[i].level[range.from + j];
            to->count++;
        }
    }
}

/* A leak-down tester that misleads on every cylinder has no levels: one that stands for all of it. */
static void misled_tester_set(const weigh_cylinder cylinder[], int n, kept_levels *misled)
{
    misled->count = 1;
    misled->level[0] = 0;
    misled->weight[0] = 1.0;
    for (int i = 0; i < n; i++)
        misled->chance[i][0] = cylinder[i].evidence_leakdown_wrong;
}

/* A hypothesis that something strikes the engine as a whole. What a cylinder's tests are worth is linear in their chance at a level, so that the
 * levels need but two sums a cylinder: of the terms over its total, with and without that chance. Where two neighbours may share a gasket as
 * well, these two drop out of the product. */
static void add_together(const weigh_frame *frame, const kept_levels *kept, const same_always *same, int h,
                         const gasket_pairs *pairs, const subset *sub, double own[][CH_CAUSE_COUNT], bool shares,
                         double *sum, causes_result *result)
{
    const hypothesis *one = &frame->wrong->hypothesis[h];
    const int n = frame->measured->cylinders, t = (int)one->together, levels = kept->count;
    const double factor = one->prior_1 * one->losses_alike_1 * sub->factor * same->together_1[t] * sub->clear_1[t];
    _Static_assert(CH_CAUSE_COUNT == 11, "as many as ALL has");
    static const double ALL[CH_CAUSE_COUNT] = {1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0};
    const int buried = same->beneath_count[h];
    /* Of each cause that stays beneath, what the chance at a level is multiplied by. */
    double beneath[CH_CYLINDERS_MAX][CH_CAUSE_COUNT];
    double total[CH_CYLINDERS_MAX][KEPT_MAX], value[KEPT_MAX], no_fault[KEPT_MAX];
    for (int k = 0; k < levels; k++)
        value[k] = no_fault[k] = factor * kept->weight[k];
    for (int i = 0; i < n; i++) {
        const double share_1 = same->share_1[h][i], *keeps_1 = share_1 > 0.0 ? same->keeps_1[h] : ALL;
        double fixed = 0.0, at_level = same->common_1[h][i];
        double clean_fixed = 0.0, clean_at_level = is_no_fault(t) ? at_level : 0.0; /* of both, what is no fault */
        for (int c = 0; c < CH_CAUSE_COUNT; c++) {
            const double kept_1 = keeps_1[c] * own[i][c];
            fixed += kept_1;
            clean_fixed += is_no_fault(c) ? kept_1 : 0.0;
        }
        for (int b = 0; b < buried; b++) {
            const int c = same->beneath[h][b];
            beneath[i][b] = share_1 * one->beneath_1[c] * same->seen_1[i][c] * sub->clear_1[c];
            at_level += beneath[i][b];
            clean_at_level += is_no_fault(c) ? beneath[i][b] : 0.0;
        }
        const double *chance = kept->chance[i];
        for (int k = 0; k < levels; k++) {
            const double here = fixed + at_level * chance[k];
            total[i][k] = here > 1e-290 ? here : 1e-290;
            value[k] *= total[i][k];
            no_fault[k] *= clean_fixed + clean_at_level * chance[k];
        }
    }

    const int gasket = CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS, pairs_too = one->pair_too ? pairs->count : 0;
    const double unpaired_1 = one->pair_too ? 1.0 - pairs->any_1 : 1.0;
    double all[KEPT_MAX], paired[CH_CYLINDERS_MAX][KEPT_MAX];
    for (int k = 0; k < levels; k++)
        all[k] = unpaired_1 * value[k];
    for (int i = 0; i < n && pairs_too > 0; i++)
        memset(paired[i], 0, (size_t)levels * sizeof paired[i][0]);
    for (int p = 0; p < pairs_too; p++) {
        const gasket_pair *pair = &pairs->pair[p];
        const double with_pair = pair->chance_1 * pair->value * sub->clear_1[gasket];
        for (int k = 0; k < levels; k++) {
            const double term = value[k] / (total[pair->a][k] * total[pair->b][k]) * with_pair;
            all[k] += term;
            paired[pair->a][k] += term;
            paired[pair->b][k] += term;
        }
    }

    for (int k = 0; k < levels; k++)
        *sum += all[k];
    if (!shares)
        return;
    const level_range range = levels_of(frame, one);
    double bent = 0.0; /* levels of the cam drive at which valves are bent */
    for (int k = 0; k < levels; k++) {
        result->no_fault_1 += unpaired_1 * no_fault[k];
        bent += t == CH_CAUSE_CAM_OR_TIMING && kept->level[k] >= range.from + FACTOR_LEVELS ? all[k] : 0.0;
    }
    for (int i = 0; i < n; i++) {
        const double share_1 = same->share_1[h][i], *keeps_1 = share_1 > 0.0 ? same->keeps_1[h] : ALL;
        const double *chance = kept->chance[i];
        double without = 0.0, with = 0.0;
        for (int k = 0; k < levels; k++) {
            const double here = pairs_too > 0 ? paired[i][k] : 0.0, part = (all[k] - here) / total[i][k];
            result->cause_1[i][gasket] += here;
            without += part;
            with += part * chance[k];
        }
        result->bent_1[i] += share_1 > 0.0 ? bent : 0.0;
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            result->cause_1[i][c] += without * keeps_1[c] * own[i][c];
        for (int b = 0; b < buried; b++)
            result->cause_1[i][same->beneath[h][b]] += with * beneath[i][b];
        result->cause_1[i][t] += with * same->common_1[h][i];
    }
}

void causes_at(const weigh_frame *frame, const double level_weight[LEVELS_MAX], const weigh_cylinder cylinder[],
               bool shares, causes_result *result)
{
    const int n = frame->measured->cylinders;
    const seen *s = frame->seen;
    const wrong *w = frame->wrong;
    memset(result, 0, sizeof *result);

    kept_levels kept[KEPT_SETS], misled_tester;
    kept_set(frame, level_weight, cylinder, kept);
    misled_tester_set(cylinder, n, &misled_tester);
    same_always same;
    same_always_set(frame, cylinder, &same);
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
                own[i][c] = same.own_1[i][c] * sub.clear_1[c];
                own_total[i] += own[i][c];
            }
            own_total[i] = fmax(own_total[i], 1e-290);
        }
        for (int h = 0, p = 0; h < w->hypotheses; h++) {
            const hypothesis *one = &w->hypothesis[h];
            double sum = 0.0;
            if (one->pair[0] >= 0) {
                const double value = pairs.pair[p++].value * sub.clear_1[CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS];
                add_term(n, one->prior_1 * sub.factor, own, own_total, one->pair, value, shares, &sum, result);
            } else if (one->together == CH_CAUSE_SOUND) {
                add_term(n, one->prior_1 * sub.factor, own, own_total, one->pair, 1.0, shares, &sum, result);
            } else {
                const int set = is_bank_drive(one) ? CH_CAUSE_COUNT + one->bank - 1 : (int)one->together;
                add_together(frame, one->leakdown_wrong ? &misled_tester : &kept[set], &same, h, &pairs, &sub, own,
                             shares, &sum, result);
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
    if (!shares)
        return;
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
