/* Are the cylinders alike? Lowest over highest with its interval, every published rule side by side, and what one more repeat is worth.
 *
 * Method: propagation of distributions, JCGM 101:2008, clause 7. In each draw every cylinder gets its own repeat error (Student's t: one
 * scale from chi-squared for all, since the spread is pooled), its own rounding error, and with all others one zero and one gain; lowest
 * and highest are found inside the draw, so it need not be the same cylinder each time.
 *
 * The trap: errors push the lowest down and the highest up, in the readings themselves and once more in the draws about them, so both the
 * ratio of the means and, twice over, the draws lie low where cylinders are alike. ratio_1 is left as measured (a mechanic can check
 * it). Interval and chances are read from the draws with the bias-corrected percentile (Efron and Tibshirani, An Introduction to
 * the Bootstrap, 1993, 14.3): quantile a of the answer is quantile Phi(2 z0 + z_a) of the draws, z0 = Phi^-1(part of the draws below
 * the measured value), here kept within 0.5, which covered best in trials (docs/method-judging.md). And where readings as far apart as
 * these come from alike cylinders in more than 2.5 of 100 sheets, the interval reaches up to 1. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_cdf.h>

#include "crosshatch/sampling.h"
#include "crosshatch/summary.h"
#include "judge_parts.h"

#define PSI_PA 6894.757293168361
#define KGF_CM2_PA 98066.5

enum { DRAWS = 8192, GAIN_DRAWS = 512, GAIN_POINTS = 16 };

static const double BIAS_LIMIT = 0.5;
static const double TOUCHING_1 = 1e-9; /* a reading exactly on a limit keeps it, whatever the last bit says */

static const struct {
    const char *id, *says, *source;
    double ratio_1, floor_pa, spread_pa; /* NaN = no such limit */
} RULES[CH_RULE_COUNT] = {
    [CH_RULE_75_PERCENT] = {"75_percent", "lowest at least 75 % of highest",
                            "several makers' manuals (common practice)", 0.75, NAN, NAN},
    [CH_RULE_70_PERCENT_100_PSI] = {"70_percent_100_psi", "lowest at least 70 % of highest and none below 100 psi",
                                    "one maker's manuals (common practice)", 0.70, 100.0 * PSI_PA, NAN},
    [CH_RULE_80_PERCENT] = {"80_percent", "none below 80 % of highest", "an off-road handbook (common practice)", 0.80,
                            NAN, NAN},
    [CH_RULE_98_KPA] = {"98_kPa", "largest difference 98 kPa (1.0 kgf/cm2, 14 psi)",
                        "several makers' manuals (common practice)", NAN, NAN, KGF_CM2_PA},
    [CH_RULE_152_KPA] = {"152_kPa", "largest difference 152 kPa (22 psi)",
                         "a recent high-compression engine's manual (common practice)", NAN, NAN, 152e3},
    [CH_RULE_196_KPA] = {"196_kPa", "largest difference 196 kPa (2.0 kgf/cm2, 28 psi)",
                         "several makers' manuals (common practice)", NAN, NAN, 2.0 * KGF_CM2_PA},
    [CH_RULE_10_PERCENT] = {"10_percent", "all within 10 % of the highest", "trade courses (common practice)", 0.90,
                            NAN, NAN},
    [CH_RULE_15_PERCENT] = {"15_percent", "all within 15 % of the highest", "trade practice (common practice)", 0.85,
                            NAN, NAN},
    [CH_RULE_20_PERCENT] = {"20_percent", "all within 20 % of the highest",
                            "trade practice, turbocharged engines too (common practice)", 0.80, NAN, NAN},
    [CH_RULE_MANUAL] = {"manual", "the limits of the car's own manual", "the sheet's limits", NAN, NAN, NAN},
};

const char *ch_balance_rule_name(ch_balance_rule rule)
{
    return (unsigned)rule < CH_RULE_COUNT ? RULES[rule].id : NULL;
}

const char *ch_balance_rule_says(ch_balance_rule rule)
{
    return (unsigned)rule < CH_RULE_COUNT ? RULES[rule].says : NULL;
}

ch_balance_rule ch_balance_rule_find(const char *name, size_t length)
{
    for (int rule = 0; rule < CH_RULE_COUNT; rule++)
        if (strlen(RULES[rule].id) == length && memcmp(RULES[rule].id, name, length) == 0)
            return (ch_balance_rule)rule;
    return CH_RULE_COUNT;
}

double judge_rule_margin(ch_balance_rule rule, const judge_means *means, double lowest_pa, double highest_pa)
{
    const bool manual = rule == CH_RULE_MANUAL;
    const double floor_pa = manual ? means->minimum_pa : judge_day_limit(means->day, RULES[rule].floor_pa);
    const double spread_pa = manual ? means->spread_pa : RULES[rule].spread_pa;
    const double ratio_1 = RULES[rule].ratio_1;
    double margin = NAN;
    if (means->n < 2 && !manual)
        return NAN;
    if (isfinite(ratio_1) && highest_pa > 0.0)
        margin = fmin(margin, lowest_pa / highest_pa / ratio_1 - 1.0);
    if (floor_pa > 0.0)
        margin = fmin(margin, lowest_pa / floor_pa - 1.0);
    if (spread_pa > 0.0 && means->n >= 2)
        margin = fmin(margin, 1.0 - (highest_pa - lowest_pa) / spread_pa);
    return margin;
}

/* Chi-squared with df degrees of freedom over df: a sum of squares of df normals where they are few, else Wilson and Hilferty's cube
 * (Proc. Nat. Acad. Sci. 17 (1931) 684), good to a part in a thousand from there on. */
static double chi_squared_over_df(ch_stream *stream, double df)
{
    if (df <= 30.0) {
        double sum = 0.0;
        for (int i = 0; i < (int)df; i++) {
            const double z = ch_stream_normal(stream);
            sum += z * z;
        }
        return sum / df;
    }
    const double part = 2.0 / (9.0 * df);
    const double root = 1.0 - part + sqrt(part) * ch_stream_normal(stream);
    return root * root * root;
}

/* Error of every mean in one draw, and the gain that all share. */
static double draw_errors(const judge_means *means, ch_stream *stream, double error_pa[])
{
    const judge_repeatability *scatter = &means->scatter;
    const double sd_pa = scatter->sd_pa / sqrt(chi_squared_over_df(stream, scatter->df));
    const double zero_pa = scatter->zero_limit_pa * (2.0 * ch_stream_uniform(stream) - 1.0);
    const double gain_1 = 1.0 + scatter->gain_limit_1 * (2.0 * ch_stream_uniform(stream) - 1.0);
    for (int i = 0; i < means->n; i++) {
        const double repeat_1 = ch_stream_normal(stream); /* drawn in this order, whatever the compiler */
        const double rounding_1 = ch_stream_uniform(stream) - 0.5;
        error_pa[i] = sd_pa / sqrt(means->repeats[i]) * repeat_1 + scatter->step_pa * rounding_1 + zero_pa;
    }
    return gain_1;
}

typedef struct extremes {
    double lowest_pa, highest_pa;
} extremes;

static extremes extremes_of(const double pa[], const double error_pa[], int n, double gain_1)
{
    extremes e = {INFINITY, 0.0};
    for (int i = 0; i < n; i++) {
        const double true_pa = fmax(pa[i] + error_pa[i], 0.0) * gain_1;
        e.lowest_pa = fmin(e.lowest_pa, true_pa);
        e.highest_pa = fmax(e.highest_pa, true_pa);
    }
    return e;
}

static double ratio_of(extremes e)
{
    return e.highest_pa > 0.0 ? e.lowest_pa / e.highest_pa : 1.0;
}

/* z0 of the bias correction, kept within its limit; equal draws count half. */
static double bias(const double draw[], size_t n, double measured)
{
    double below = 0.0;
    for (size_t i = 0; i < n; i++)
        below += draw[i] < measured ? 1.0 : draw[i] == measured ? 0.5 : 0.0;
    const double z0 = gsl_cdf_ugaussian_Pinv((below + 0.5) / ((double)n + 1.0));
    return fmin(fmax(z0, -BIAS_LIMIT), BIAS_LIMIT);
}

static double chance_negative(const double margin[], size_t n, double measured)
{
    size_t broken = 0;
    for (size_t i = 0; i < n; i++)
        broken += margin[i] < -TOUCHING_1;
    if (broken == 0 || broken == n)
        return broken == 0 ? 0.0 : 1.0;
    return gsl_cdf_ugaussian_P(gsl_cdf_ugaussian_Pinv((double)broken / (double)n) - 2.0 * bias(margin, n, measured));
}

static void judge_rules(const judge_means *means, const extremes measured, const extremes draw[], double margin[],
                        judge_balance *b)
{
    for (int r = 0; r < CH_RULE_COUNT; r++) {
        const ch_balance_rule rule = (ch_balance_rule)r;
        ch_rule_outcome *outcome = &b->rule[r];
        const double by_means = judge_rule_margin(rule, means, measured.lowest_pa, measured.highest_pa);
        *outcome = (ch_rule_outcome){.rule = rule,
                                     .applies = !isnan(by_means),
                                     .passes = by_means >= -TOUCHING_1,
                                     .chance_broken_1 = NAN,
                                     .id = RULES[r].id,
                                     .says = RULES[r].says,
                                     .source = RULES[r].source};
        if (!outcome->applies)
            continue;
        for (size_t d = 0; d < DRAWS; d++) {
            margin[d] = judge_rule_margin(rule, means, draw[d].lowest_pa, draw[d].highest_pa);
            if (isnan(margin[d]))
                margin[d] = by_means;
        }
        outcome->chance_broken_1 = chance_negative(margin, DRAWS, by_means);
    }
}

static void judge_ratio(const judge_means *means, const extremes measured, const extremes draw[],
                        const double alike_1[], double ratio_1[], judge_balance *b)
{
    if (means->n < 2 || !(measured.highest_pa > 0.0))
        return;
    size_t as_far = 0;
    b->ratio_1 = ratio_of(measured);
    for (size_t d = 0; d < DRAWS; d++) {
        ratio_1[d] = ratio_of(draw[d]);
        as_far += alike_1[d] <= b->ratio_1;
    }
    const double z0 = bias(ratio_1, DRAWS, b->ratio_1), z = gsl_cdf_ugaussian_Pinv(0.975);
    ch_sort(ratio_1, DRAWS);
    b->ratio_interval_1[0] = fmin(ch_quantile_sorted(ratio_1, DRAWS, gsl_cdf_ugaussian_P(2.0 * z0 - z)), b->ratio_1);
    b->ratio_interval_1[1] = fmax(ch_quantile_sorted(ratio_1, DRAWS, gsl_cdf_ugaussian_P(2.0 * z0 + z)), b->ratio_1);
    if ((double)as_far > 0.025 * DRAWS)
        b->ratio_interval_1[1] = 1.0;
    b->chance_below_75_1 = b->rule[CH_RULE_75_PERCENT].chance_broken_1;
}

/* Kept draws: error of every mean, and the gain. */
typedef struct kept {
    double error_pa[CH_CYLINDERS_MAX], gain_1;
} kept;

/* One cylinder against all others, draw by draw: chance that the rule is broken with that cylinder's mean at `pa` from `repeats` readings. */
static double chance_with(const judge_means *means, ch_balance_rule rule, int i, double pa, int repeats,
                          const kept draw[], const extremes others[], extremes others_measured)
{
    double margin[GAIN_DRAWS];
    const double shrink = sqrt((double)means->repeats[i] / repeats);
    for (int d = 0; d < GAIN_DRAWS; d++) {
        const double true_pa = fmax(pa + shrink * draw[d].error_pa[i], 0.0) * draw[d].gain_1;
        margin[d] =
            judge_rule_margin(rule, means, fmin(true_pa, others[d].lowest_pa), fmax(true_pa, others[d].highest_pa));
    }
    const double measured =
        judge_rule_margin(rule, means, fmin(pa, others_measured.lowest_pa), fmax(pa, others_measured.highest_pa));
    return chance_negative(margin, GAIN_DRAWS, measured);
}

static extremes extremes_without(const judge_means *means, int i, const double error_pa[], double gain_1)
{
    const extremes before = extremes_of(means->mean_pa, error_pa, i, gain_1);
    const extremes after = extremes_of(means->mean_pa + i + 1, error_pa + i + 1, means->n - i - 1, gain_1);
    return (extremes){fmin(before.lowest_pa, after.lowest_pa), fmax(before.highest_pa, after.highest_pa)};
}

/* What a further reading would be expected to change: it is drawn at GAIN_POINTS equally likely places of its predictive distribution
 * (Student's t about the mean), and the chance of breaking the rule is computed anew with it. What the repeat would tell of the
 * spread itself is left out. */
static void judge_gain(const judge_means *means, ch_balance_rule rule, const kept draw[], judge_balance *b)
{
    const double none[CH_CYLINDERS_MAX] = {0};
    extremes others[GAIN_DRAWS];
    double best = JUDGE_GAIN_WORTH_1;
    for (int i = 0; i < means->n; i++) {
        for (int d = 0; d < GAIN_DRAWS; d++)
            others[d] = extremes_without(means, i, draw[d].error_pa, draw[d].gain_1);
        const extremes measured = extremes_without(means, i, none, 1.0);
        const double mean_pa = means->mean_pa[i], sd_pa = means->scatter.sd_pa * sqrt(1.0 + 1.0 / means->repeats[i]);
        const double now = chance_with(means, rule, i, mean_pa, means->repeats[i], draw, others, measured);
        double change = 0.0;
        for (int k = 0; k < GAIN_POINTS; k++) {
            const double t = gsl_cdf_tdist_Pinv((k + 0.5) / GAIN_POINTS, means->scatter.df);
            const double moved_pa = mean_pa + fmax(sd_pa * t, -mean_pa) / (means->repeats[i] + 1.0);
            change += fabs(chance_with(means, rule, i, moved_pa, means->repeats[i] + 1, draw, others, measured) - now);
        }
        change /= GAIN_POINTS;
        b->repeat_gain_1[i] = change < 0.005 ? 0.0 : change;
        if (b->repeat_gain_1[i] > best) {
            best = b->repeat_gain_1[i];
            b->repeat_cylinder = means->cylinder[i];
        }
    }
}

ch_status judge_balance_compute(const judge_means *means, ch_balance_rule chosen, uint64_t seed, judge_balance *balance,
                                ch_err *err)
{
    judge_balance b = {.ratio_1 = NAN, .ratio_interval_1 = {NAN, NAN}, .chance_below_75_1 = NAN};
    const int n = means->n;
    struct scratch {
        extremes draw[DRAWS];
        double alike_1[DRAWS], margin[DRAWS];
        kept keep[GAIN_DRAWS];
    } *s = malloc(sizeof *s);
    if (s == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for %d draws", (int)DRAWS);
    const double none[CH_CYLINDERS_MAX] = {0};
    extremes measured = extremes_of(means->mean_pa, none, n, 1.0);
    double alike_pa[CH_CYLINDERS_MAX], error_pa[CH_CYLINDERS_MAX];
    const double level_pa = ch_mean(means->mean_pa, (size_t)n);
    for (int i = 0; i < n; i++) {
        alike_pa[i] = level_pa;
        if (n >= 2 && means->mean_pa[i] == measured.lowest_pa && b.lowest == 0)
            b.lowest = means->cylinder[i];
        if (n >= 2 && means->mean_pa[i] == measured.highest_pa && means->cylinder[i] != b.lowest && b.highest == 0)
            b.highest = means->cylinder[i];
    }
    for (size_t d = 0; n > 0 && d < DRAWS; d++) {
        ch_stream stream;
        ch_stream_init(&stream, seed, d);
        const double gain_1 = draw_errors(means, &stream, error_pa);
        s->draw[d] = extremes_of(means->mean_pa, error_pa, n, gain_1);
        s->alike_1[d] = ratio_of(extremes_of(alike_pa, error_pa, n, 1.0));
        if (d < GAIN_DRAWS) {
            s->keep[d].gain_1 = gain_1;
            memcpy(s->keep[d].error_pa, error_pa, (size_t)n * sizeof *error_pa);
        }
    }
    if (n == 0)
        measured = (extremes){NAN, NAN};
    judge_rules(means, measured, s->draw, s->margin, &b);
    judge_ratio(means, measured, s->draw, s->alike_1, s->margin, &b);
    if (b.rule[chosen].applies)
        judge_gain(means, chosen, s->keep, &b);
    free(s);
    *balance = b;
    return CH_OK;
}
