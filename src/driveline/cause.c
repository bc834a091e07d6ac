/*
 * From what the run shows and what was seen to causes, and to the check that tells most for each minute.
 *
 * Chances multiply (Bayes with signs independent given the cause). The run's verdict on slip is weighed by how much it was pulled in higher gears: with little
 * of that, no slip says little. The worth of a check is the mutual information of its outcome and the cause, in bits: Shannon 1948; Lindley, Ann. Math.
 * Stat. 27 (1956) 986.
 */
#include <math.h>
#include <string.h>

#include "parts.h"

/* Judgment, all of them: of the chances in knowledge/driveline.yaml no statistics were found either. */
static const double TELLING_S = 15;     /* of pulling in third gear and up, for a weak clutch to show */
static const double FIRST_PULLS_S = 20; /* of pulling, before the first slip */
static const double REST_S = 120;
static const double FAR_BELOW_1 = 0.6;
static const double LEAST_BITS = 0.02;

static void note(ch_driveline *to, ch_clutch_pattern pattern, bool known, bool present)
{
    if (known)
        to->patterns_known |= 1U << pattern;
    if (known && present)
        to->patterns |= 1U << pattern;
}

/* The pulling before the first slip that cannot be the wheels; before the first at all where all of them could. */
static double driven_before_first_s(const ch_driveline *to)
{
    static const int low_gears = 2;
    for (size_t i = 0; i < to->slips; i++)
        if (to->slip[i].gear > low_gears)
            return to->slip[i].driven_before_s;
    return to->slip[0].driven_before_s;
}

/* Mean of the peaks, or of the torque held, in the first and the second half of the slips. */
static bool grows(const ch_driveline *to)
{
    if (isfinite(to->fade_1_k) && to->fade_1_k < -2 * to->u_fade_1_k)
        return true;
    double first = 0, second = 0;
    const size_t half = to->slips / 2;
    for (size_t i = 0; i < half; i++) {
        first += to->slip[i].peak_1 * (to->slip[i].end_s - to->slip[i].start_s);
        second += to->slip[to->slips - 1 - i].peak_1 *
                  (to->slip[to->slips - 1 - i].end_s - to->slip[to->slips - 1 - i].start_s);
    }
    return driven_before_first_s(to) > FIRST_PULLS_S || second > 1.5 * first;
}

/* After a rest the first slip is smaller than the last before it. */
static bool recovers(const ch_driveline *to, bool *known)
{
    size_t rests = 0, smaller = 0;
    for (size_t i = 1; i < to->slips; i++)
        if (to->slip[i].start_s - to->slip[i - 1].end_s > REST_S) {
            rests++;
            smaller += to->slip[i].peak_1 < 0.7 * to->slip[i - 1].peak_1;
        }
    *known = rests > 0;
    return 2 * smaller > rests;
}

static bool high_gears_only(const ch_driveline *to, bool *known)
{
    int highest = 0, least_slipping = 100;
    for (size_t g = 0; g < to->gears; g++)
        if (to->gear[g].seconds > 5 && to->gear[g].number > highest)
            highest = to->gear[g].number;
    for (size_t i = 0; i < to->slips; i++)
        if (to->slip[i].gear < least_slipping)
            least_slipping = to->slip[i].gear;
    *known = to->gears >= 3 && highest >= 4;
    return least_slipping >= highest - 1;
}

static void find_patterns(ch_driveline *to)
{
    const bool slips = to->slips > 0;
    const size_t other = to->not_slips[CH_NOT_SLIP_WHEELSPIN] + to->not_slips[CH_NOT_SLIP_SENSOR];
    to->patterns = to->patterns_known = 0;
    if (to->state != CH_DRIVELINE_GEARS_FOUND)
        return;
    /* what may be either says nothing of both, and where the lines may be none no slip was looked for */
    const bool told =
        !(to->limits & (CH_LIMIT_LOW_GEARS | CH_LIMIT_NEAR_GEARS | CH_LIMIT_PULLED_ALONE | CH_LIMIT_PERHAPS_STEPLESS));
    note(to, CH_PATTERN_SLIPS, slips || told, slips);
    note(to, CH_PATTERN_SOMETHING_ELSE,
         (other > 0 || told) && to->loaded_s + to->loaded_low_s > 5 && !(to->limits & CH_LIMIT_STALE), other > 0);
    if (!slips)
        return;
    bool known = false;
    const bool again = recovers(to, &known);
    note(to, CH_PATTERN_RECOVERS, known, again);
    note(to, CH_PATTERN_FIRST_PULL, true, driven_before_first_s(to) < FIRST_PULLS_S);
    note(to, CH_PATTERN_GROWS_WITH_HEAT, to->slips >= 4, to->slips >= 4 && grows(to));
    const bool high = high_gears_only(to, &known);
    note(to, CH_PATTERN_HIGH_GEARS, known, high);
    note(to, CH_PATTERN_FAR_BELOW_DESIGN, isfinite(to->capacity_n_m[1]) && isfinite(to->design_n_m[0]),
         to->capacity_n_m[1] < FAR_BELOW_1 * to->design_n_m[0]);
}

static void weigh(double cause_1[CH_CLUTCH_CAUSES], const double positive_1[CH_CLUTCH_CAUSES], bool present,
                  double telling_1)
{
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
        cause_1[c] *= present ? positive_1[c] : 1 - telling_1 * positive_1[c];
}

static void normalise(double cause_1[CH_CLUTCH_CAUSES])
{
    double sum = 0;
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
        sum += cause_1[c];
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
        cause_1[c] /= sum;
}

/* Bits that the outcome of one sign tells of the cause. */
static double sign_bits(const double cause_1[CH_CLUTCH_CAUSES], const double positive_1[CH_CLUTCH_CAUSES])
{
    double yes = 0, bits = 0;
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
        yes += cause_1[c] * positive_1[c];
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++) {
        const double p = positive_1[c];
        bits += cause_1[c] * (p * log2(p / yes) + (1 - p) * log2((1 - p) / (1 - yes)));
    }
    return fmax(bits, 0);
}

static bool was_seen(const ch_driveline_seen *seen, size_t seen_n, size_t sign)
{
    for (size_t i = 0; i < seen_n; i++)
        if (seen[i].sign == sign)
            return true;
    return false;
}

/* A check with several outcomes tells at least as much as its best, and at most their sum: the best and half of the others. */
static double check_bits(const ch_clutch_knowledge *knowledge, const ch_clutch_check *check,
                         const ch_driveline_seen *seen, size_t seen_n, const double cause_1[CH_CLUTCH_CAUSES])
{
    double best = 0, sum = 0;
    for (size_t i = 0; i < check->yields.count; i++) {
        const size_t sign = check->yields.at[i];
        if (was_seen(seen, seen_n, sign))
            continue;
        const double bits = sign_bits(cause_1, knowledge->signs[sign].positive_1);
        best = fmax(best, bits);
        sum += bits;
    }
    return best + 0.5 * (sum - best);
}

static void rank_checks(const ch_clutch_knowledge *knowledge, const ch_driveline_seen *seen, size_t seen_n,
                        ch_driveline *to)
{
    to->next_checks = 0;
    for (size_t k = 0; k < knowledge->checks_n; k++) {
        const ch_clutch_check *check = &knowledge->checks[k];
        const ch_driveline_check row = {
            .check = k, .bits_1 = check_bits(knowledge, check, seen, seen_n, to->cause_1), .seconds = check->seconds};
        if (row.bits_1 < LEAST_BITS)
            continue;
        size_t at = to->next_checks;
        while (at > 0 && to->next_check[at - 1].bits_1 * row.seconds < row.bits_1 * to->next_check[at - 1].seconds)
            at--;
        if (at >= CH_DRIVELINE_CHECKS_MAX)
            continue;
        if (to->next_checks < CH_DRIVELINE_CHECKS_MAX)
            to->next_checks++;
        memmove(&to->next_check[at + 1], &to->next_check[at], (to->next_checks - 1 - at) * sizeof row);
        to->next_check[at] = row;
    }
}

void cause_judge(const ch_clutch_knowledge *knowledge, const ch_driveline_seen *seen, size_t seen_n, ch_driveline *to)
{
    const double telling_1 = 1 - exp(-to->loaded_s / TELLING_S);
    find_patterns(to);
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
        to->cause_1[c] = knowledge->cause[c].prior_1;
    for (int p = 0; p < CH_CLUTCH_PATTERNS; p++)
        if (to->patterns_known & (1U << p))
            weigh(to->cause_1, knowledge->pattern[p].positive_1, (to->patterns & (1U << p)) != 0,
                  p == CH_PATTERN_SLIPS ? telling_1 : 1);
    for (size_t i = 0; i < seen_n; i++)
        weigh(to->cause_1, knowledge->signs[seen[i].sign].positive_1, seen[i].present, 1);
    normalise(to->cause_1);
    rank_checks(knowledge, seen, seen_n, to);
}

double ch_driveline_slips_1(const ch_driveline *driveline)
{
    const unsigned untold = CH_LIMIT_LITTLE_LOAD | CH_LIMIT_LOW_GEARS | CH_LIMIT_NEAR_GEARS | CH_LIMIT_PULLED_ALONE |
                            CH_LIMIT_PERHAPS_STEPLESS;
    double all_1 = 0;
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
        all_1 += driveline->cause_1[c];
    if (driveline->state != CH_DRIVELINE_GEARS_FOUND || !(all_1 > 0))
        return NAN;
    const double elsewhere_1 = driveline->cause_1[CH_CLUTCH_NOT_THE_CLUTCH] / all_1;
    if (driveline->slips_found > 0)
        return 1 - elsewhere_1;
    return driveline->limits & untold ? NAN : 1 - elsewhere_1 - driveline->cause_1[CH_CLUTCH_SOUND] / all_1;
}
