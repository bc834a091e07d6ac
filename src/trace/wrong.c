/* What may be wrong with an engine before any test: priors of causes, in each cylinder, in all of them, and between neighbours. */
#include <math.h>
#include <string.h>

#include "crosshatch/sampling.h"

#include "parts.h"

double mixture_quantile(const ch_mixture *mixture, double p_1)
{
    /* Bisection on ln x: the distribution function rises, the bounds hold every part's 1e-6 tails. */
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < mixture->count; i++) {
        low = fmin(low, log(mixture->part[i].median) - 6.0 * mixture->part[i].spread_1);
        high = fmax(high, log(mixture->part[i].median) + 6.0 * mixture->part[i].spread_1);
    }
    for (int turn = 0; turn < 50; turn++) {
        const double middle = 0.5 * (low + high);
        double below = 0.0;
        for (size_t i = 0; i < mixture->count; i++)
            below += mixture->part[i].weight_1 * 0.5 *
                     erfc(-(middle - log(mixture->part[i].median)) / (mixture->part[i].spread_1 * 1.4142135623730951));
        if (below < p_1)
            low = middle;
        else
            high = middle;
    }
    return exp(0.5 * (low + high));
}

static double with_odds(double chance_1, double odds_1)
{
    const double odds = chance_1 / (1.0 - chance_1) * odds_1;
    return odds / (1.0 + odds);
}

static bool has_banks(const ch_sheet_engine *engine)
{
    return (engine->layout == CH_LAYOUT_VEE || engine->layout == CH_LAYOUT_FLAT) && engine->cylinders >= 4 &&
           engine->cylinders % 2 == 0;
}

/* Pairs that share a gasket bridge, with the part of the pair's prior each is worth. In line: each with the next. In a vee or a flat engine
 * makers number either along each bank or across the banks; the sheet does not say, so both ways count half. */
static int pairs_of(const ch_sheet_engine *engine, int pair[][2], double worth_1[])
{
    const int n = engine->cylinders;
    int count = 0;
    if (engine->layout == CH_LAYOUT_VEE || engine->layout == CH_LAYOUT_FLAT) {
        for (int i = 0; i + 2 < n; i++, count++) {
            pair[count][0] = i;
            pair[count][1] = i + 2;
            worth_1[count] = 0.5;
        }
        for (int i = 0; i + 1 < n; i++) {
            if (2 * (i + 1) == n)
                continue;
            pair[count][0] = i;
            pair[count][1] = i + 1;
            worth_1[count++] = 0.5;
        }
        return count;
    }
    for (int i = 0; i + 1 < n; i++, count++) {
        pair[count][0] = i;
        pair[count][1] = i + 1;
        worth_1[count] = 1.0;
    }
    return count;
}

/* A tester that misleads on every cylinder shows anything on each (half of them), or much the same on all: a hose or regulator that leaks.
 * Density of the losses under that, over the uniform density. Spread between cylinders of such a tester: judgment. */
static double losses_alike(const ch_sheet *sheet)
{
    enum { LOSSES = 101 };
    const double spread_1 = 0.05;
    double sum = 0.0;
    for (int k = 0; k < LOSSES; k++) {
        const double common_1 = k / (LOSSES - 1.0);
        const double inside = 0.5 * (erfc((common_1 - 1.0) / (spread_1 * 1.4142135623730951)) -
                                     erfc(common_1 / (spread_1 * 1.4142135623730951)));
        double density = 1.0;
        for (size_t i = 0; i < sheet->leakdown_count; i++) {
            const double off = (sheet->leakdown[i].loss.si - common_1) / spread_1;
            if (ch_quantity_given(&sheet->leakdown[i].loss))
                density *= exp(-0.5 * off * off) / (spread_1 * 2.5066282746310002 * inside);
        }
        sum += density * (k == 0 || k == LOSSES - 1 ? 0.5 : 1.0) / (LOSSES - 1.0);
    }
    return 0.5 + 0.5 * sum;
}

/* A hole into the coolant below this hardly shows in a reading beside what misleads it. */
static const double HIDDEN_M2 = 0.3e-6;

static double chance_below(const ch_mixture *mixture, double x)
{
    double sum = 0.0;
    for (size_t i = 0; i < mixture->count; i++)
        sum += mixture->part[i].weight_1 * 0.5 *
               erfc(-log(x / mixture->part[i].median) / (mixture->part[i].spread_1 * 1.4142135623730951));
    return sum;
}

/* A worn engine may have a burnt valve or gasket as well: the larger fault shows, and is the one to name. And whatever misleads the readings, or
 * keeps the cylinders from filling, does not keep a gasket from leaking a little into the coolant, which bubbles and smoke tell of and no reading does. */
static void set_what_stays(const ch_knowledge *knowledge, hypothesis *one)
{
    if (one->leakdown_wrong)
        return;
    one->pair_too = one->together == CH_CAUSE_RINGS_OR_BORE;
    for (int c = 1; c < CH_CAUSE_COUNT; c++) {
        if (knowledge->causes[c].scope == CH_SCOPE_PAIR)
            continue;
        if (one->together == CH_CAUSE_RINGS_OR_BORE)
            one->stays_1[c] = 1.0;
        else if (one->together == CH_CAUSE_MEASUREMENT_ERROR || one->together == CH_CAUSE_CAM_OR_TIMING)
            one->beneath_1[c] = knowledge->causes[c].path_chance_1[CH_PATH_COOLANT] *
                                chance_below(&knowledge->causes[c].areas_m2, HIDDEN_M2);
    }
}

static void set_tested(const ch_sheet *sheet, wrong *w)
{
    for (size_t i = 0; i < sheet->compression_count; i++)
        w->gauged[sheet->compression[i].cylinder - 1] = true;
    for (size_t i = 0; i < sheet->wet_count; i++)
        w->gauged[sheet->wet[i].cylinder - 1] = true;
    for (size_t i = 0; i < sheet->leakdown_count; i++)
        w->leakdown_tested[sheet->leakdown[i].cylinder - 1] = true;
}

/* No gauge misleads on a cylinder that it was not on: there the leak-down test alone can be what is wrong, or nothing. */
static void set_what_can_mislead(const ch_knowledge *knowledge, wrong *w, int cylinder)
{
    if (w->gauged[cylinder])
        return;
    const double leakdown_1 =
        w->leakdown_tested[cylinder] ? knowledge->causes[CH_CAUSE_MEASUREMENT_ERROR].leakdown_wrong_1 : 0.0;
    double *prior_1 = w->prior_1[cylinder];
    const double none_1 = prior_1[CH_CAUSE_MEASUREMENT_ERROR] * (1.0 - leakdown_1);
    prior_1[CH_CAUSE_MEASUREMENT_ERROR] -= none_1;
    prior_1[CH_CAUSE_SOUND] += none_1;
}

bool wrong_in_bank(int bank, int cylinder, int n)
{
    return bank == 1 ? 2 * cylinder < n : bank == 2 ? 2 * cylinder >= n : cylinder % 2 == bank - 3;
}

bool wrong_strikes(const wrong *w, const hypothesis *one, int cylinder, int n)
{
    if (one->together == CH_CAUSE_SOUND || (one->bank > 0 && !wrong_in_bank(one->bank, cylinder, n)))
        return false;
    if (one->together != CH_CAUSE_MEASUREMENT_ERROR)
        return true;
    return one->leakdown_wrong ? w->leakdown_tested[cylinder] : w->gauged[cylinder];
}

double wrong_pairs_1(const wrong *w, double pair_1[HYPOTHESES_MAX])
{
    double odds = 0.0, none = w->hypothesis[0].prior_1;
    for (int h = 0; h < w->hypotheses; h++) {
        pair_1[h] = w->hypothesis[h].pair[0] >= 0 ? w->hypothesis[h].prior_1 : 0.0;
        odds += pair_1[h];
    }
    for (int h = 0; h < w->hypotheses; h++)
        pair_1[h] /= none + odds;
    return odds / (none + odds);
}

void wrong_from_knowledge(const ch_sheet *sheet, const ch_knowledge *knowledge, const seen *s, wrong *w)
{
    memset(w, 0, sizeof *w);
    const int n = sheet->engine.cylinders;
    double odds_1[CH_CAUSE_COUNT], odds_together_1[CH_CAUSE_COUNT];
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        odds_1[c] = s->odds_1[c];
        odds_together_1[c] = s->odds_together_1[c];
        const double exponent = knowledge->causes[c].mileage_exponent_1;
        if (ch_quantity_given(&sheet->conditions.odometer) && exponent != 0.0) {
            const double factor = pow(sheet->conditions.odometer.si / knowledge->mileage.reference_m, exponent);
            const double kept = fmin(fmax(factor, knowledge->mileage.least_1), knowledge->mileage.most_1);
            odds_1[c] *= kept;
            odds_together_1[c] *= kept;
        }
    }

    set_tested(sheet, w);
    int leakdown_tested = 0, gauged = 0;
    for (int i = 0; i < n; i++) {
        leakdown_tested += w->leakdown_tested[i] ? 1 : 0;
        gauged += w->gauged[i] ? 1 : 0;
    }

    double alone_1[CH_CAUSE_COUNT] = {0}, faulty = 0.0;
    for (int c = 1; c < CH_CAUSE_COUNT; c++) {
        if (knowledge->causes[c].scope == CH_SCOPE_PAIR)
            continue;
        alone_1[c] = with_odds(knowledge->causes[c].prior_1, odds_1[c]);
        if (n == 1) /* what strikes an engine as a whole strikes its only cylinder */
            alone_1[c] += (1.0 - alone_1[c]) * knowledge->causes[c].together_share_1 *
                          with_odds(fmin(knowledge->causes[c].together_chance_1, 0.999), odds_together_1[c]);
        faulty += alone_1[c];
    }
    const double shrink = faulty > 0.9 ? 0.9 / faulty : 1.0; /* however grim the history, a cylinder may be sound */
    for (int c = 1; c < CH_CAUSE_COUNT; c++)
        alone_1[c] *= shrink;
    alone_1[CH_CAUSE_SOUND] = 1.0 - faulty * shrink;
    for (int i = 0; i < n; i++) {
        memcpy(w->prior_1[i], alone_1, sizeof alone_1);
        set_what_can_mislead(knowledge, w, i);
    }

    w->hypotheses = 1; /* [0]: every cylinder for itself; its prior is what is left */
    w->hypothesis[0] = (hypothesis){.together = CH_CAUSE_SOUND, .losses_alike_1 = 1.0, .pair = {-1, -1}};
    for (int c = 1; c < CH_CAUSE_COUNT; c++) {
        if (!(knowledge->causes[c].together_chance_1 > 0.0) || n < 2)
            continue;
        double chance = with_odds(fmin(knowledge->causes[c].together_chance_1, 0.999), odds_together_1[c]);
        if (c == CH_CAUSE_MEASUREMENT_ERROR && leakdown_tested > 1) {
            /* Either the leak-down tester misleads on all of them, or the gauge does. */
            const double tester = chance * knowledge->causes[c].leakdown_wrong_1;
            w->hypothesis[w->hypotheses++] = (hypothesis){.prior_1 = tester,
                                                          .together = (ch_cause)c,
                                                          .share_1 = 1.0,
                                                          .pair = {-1, -1},
                                                          .losses_alike_1 = losses_alike(sheet),
                                                          .leakdown_wrong = true};
            chance -= tester;
        }
        if (c == CH_CAUSE_MEASUREMENT_ERROR && gauged == 0)
            continue;
        const double bank_1 = has_banks(&sheet->engine) ? knowledge->causes[c].together_bank_1 : 0.0;
        for (int bank = 0; bank <= (bank_1 > 0.0 ? BANKS : 0); bank++) {
            hypothesis *one = &w->hypothesis[w->hypotheses++];
            *one = (hypothesis){.prior_1 = chance * (bank == 0 ? 1.0 - bank_1 : bank_1 / BANKS),
                                .together = (ch_cause)c,
                                .share_1 = knowledge->causes[c].together_share_1,
                                .losses_alike_1 = 1.0,
                                .bank = bank,
                                .pair = {-1, -1}};
            set_what_stays(knowledge, one);
        }
    }
    int pair[2 * CH_CYLINDERS_MAX][2];
    double worth_1[2 * CH_CYLINDERS_MAX];
    const int pairs = pairs_of(&sheet->engine, pair, worth_1);
    const ch_cause between = CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS;
    for (int p = 0; p < pairs; p++) {
        const double chance = with_odds(knowledge->causes[between].prior_1 * worth_1[p], odds_1[between]);
        w->hypothesis[w->hypotheses++] = (hypothesis){
            .prior_1 = chance, .together = CH_CAUSE_SOUND, .losses_alike_1 = 1.0, .pair = {pair[p][0], pair[p][1]}};
    }
    /* The ways exclude each other: odds against "none of them", then all brought to 1. */
    double sum = 1.0;
    w->hypothesis[0].prior_1 = 1.0;
    for (int h = 1; h < w->hypotheses; h++) {
        w->hypothesis[h].prior_1 /= 1.0 - w->hypothesis[h].prior_1;
        sum += w->hypothesis[h].prior_1;
    }
    for (int h = 0; h < w->hypotheses; h++)
        w->hypothesis[h].prior_1 /= sum;
    double pair_1[HYPOTHESES_MAX], paired_1[CH_CYLINDERS_MAX] = {0.0};
    wrong_pairs_1(w, pair_1);
    for (int h = 0; h < w->hypotheses; h++)
        for (int k = 0; k < 2 && w->hypothesis[h].pair[k] >= 0; k++)
            paired_1[w->hypothesis[h].pair[k]] += pair_1[h];
    for (int h = 0; h < w->hypotheses; h++) {
        const hypothesis *one = &w->hypothesis[h];
        for (int i = 0; i < n; i++) {
            const double too_1 = one->pair_too ? paired_1[i] : 0.0;
            double covered_1 = 0.0; /* a struck cylinder's own cause does not stay */
            for (int c = 0; c < CH_CAUSE_COUNT; c++)
                covered_1 += w->prior_1[i][c] * (1.0 - one->stays_1[c] - one->beneath_1[c]);
            for (int c = 0; c < CH_CAUSE_COUNT; c++) {
                double chance = w->prior_1[i][c];
                if (wrong_strikes(w, one, i, n))
                    chance = (1.0 - one->share_1 * (1.0 - one->stays_1[c] - one->beneath_1[c])) * chance +
                             (c == (int)one->together ? one->share_1 * covered_1 : 0.0);
                else if (i == one->pair[0] || i == one->pair[1])
                    chance = c == (int)between ? 1.0 : 0.0;
                chance = (1.0 - too_1) * chance + (c == (int)between ? too_1 : 0.0);
                w->marginal_1[i][c] += one->prior_1 * chance;
            }
        }
    }
}
