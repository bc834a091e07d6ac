/*
 * Promises of judge/balance.c, counted: every figure of the balance against the method of docs/method-judging.md, "Balance", worked out once more from the same
 * random numbers, draw by draw and rule by rule; and how far a rule is kept, by hand.
 */
#include <stdlib.h>

#include <gsl/gsl_cdf.h>

#include "crosshatch/sampling.h"
#include "judge_sheets.h"

enum { DRAWS = 8192, GAIN_DRAWS = 512, POINTS = 16 };

/* The rules as docs/method-judging.md and their own words give them: parts of the highest, a floor and a largest difference; 0 = none. */
typedef struct limits {
    double part, floor_pa, spread_pa;
} limits;

static limits limits_of(int rule, const judge_means *means)
{
    static const limits RULES[CH_RULE_COUNT] = {
        [CH_RULE_75_PERCENT] = {0.75, 0, 0}, [CH_RULE_70_PERCENT_100_PSI] = {0.70, 100.0 * PSI, 0},
        [CH_RULE_80_PERCENT] = {0.80, 0, 0}, [CH_RULE_98_KPA] = {0, 0, 98066.5},
        [CH_RULE_152_KPA] = {0, 0, 152e3},   [CH_RULE_196_KPA] = {0, 0, 2.0 * 98066.5},
        [CH_RULE_10_PERCENT] = {0.90, 0, 0}, [CH_RULE_15_PERCENT] = {0.85, 0, 0},
        [CH_RULE_20_PERCENT] = {0.80, 0, 0}};
    if (rule != CH_RULE_MANUAL)
        return RULES[rule];
    return (limits){0, isnan(means->minimum_pa) ? 0 : means->minimum_pa,
                    isnan(means->spread_pa) || means->n < 2 ? 0 : means->spread_pa};
}

/* How far true readings keep the limits, relative: the least of all that apply. False where none does. */
static bool margin_of(limits l, int n, bool manual, double lowest_pa, double highest_pa, double *margin)
{
    *margin = INFINITY;
    if (n < 2 && !manual)
        return false;
    if (l.part > 0 && highest_pa > 0)
        *margin = lowest_pa / highest_pa / l.part - 1.0;
    if (l.floor_pa > 0 && lowest_pa / l.floor_pa - 1.0 < *margin)
        *margin = lowest_pa / l.floor_pa - 1.0;
    if (l.spread_pa > 0 && 1.0 - (highest_pa - lowest_pa) / l.spread_pa < *margin)
        *margin = 1.0 - (highest_pa - lowest_pa) / l.spread_pa;
    return *margin < INFINITY;
}

/* Everything that is random: of each draw the error of every mean and the common gain. */
static double error_pa[DRAWS][CH_CYLINDERS_MAX], gain_1[DRAWS];

static void draw(const judge_means *means, uint64_t seed)
{
    const judge_repeatability *s = &means->scatter;
    for (int d = 0; d < DRAWS; d++) {
        ch_stream stream;
        ch_stream_init(&stream, seed, (uint64_t)d);
        double scale;
        if (s->df <= 30.0) {
            double sum = 0.0;
            for (int k = 1; k <= s->df; k++)
                sum += pow(ch_stream_normal(&stream), 2.0);
            scale = sum / s->df;
        } else { /* Wilson and Hilferty 1931 */
            scale = pow(1.0 - 2.0 / (9.0 * s->df) + sqrt(2.0 / (9.0 * s->df)) * ch_stream_normal(&stream), 3.0);
        }
        const double zero = ch_stream_uniform(&stream), gain = ch_stream_uniform(&stream);
        gain_1[d] = 1.0 - s->gain_limit_1 + 2.0 * s->gain_limit_1 * gain;
        for (int i = 0; i < means->n; i++) {
            const double repeat = ch_stream_normal(&stream), rounding = ch_stream_uniform(&stream);
            error_pa[d][i] = s->sd_pa * repeat / sqrt(scale * means->repeats[i]) + s->step_pa * rounding -
                             0.5 * s->step_pa - s->zero_limit_pa + 2.0 * s->zero_limit_pa * zero;
        }
    }
}

static double true_pa(double mean_pa, double error, double gain)
{
    return mean_pa + error > 0.0 ? (mean_pa + error) * gain : 0.0;
}

/* Part of `n` draws below the measured, equal ones half: as a place on the normal, within 0.5. */
static double correction(const double x[], int n, double measured)
{
    int below = 0, equal = 0;
    for (int i = 0; i < n; i++) {
        below += x[i] < measured;
        equal += x[i] == measured;
    }
    const double z = gsl_cdf_ugaussian_Pinv((2.0 * below + equal + 1.0) / (2.0 * n + 2.0));
    return z > 0.5 ? 0.5 : z < -0.5 ? -0.5 : z;
}

static double chance_of(const double margin[], int n, double measured)
{
    int broken = 0;
    for (int i = 0; i < n; i++)
        broken += margin[i] < -1e-9;
    if (broken == 0 || broken == n)
        return broken / n;
    return gsl_cdf_ugaussian_P(gsl_cdf_ugaussian_Pinv(1.0 * broken / n) - 2.0 * correction(margin, n, measured));
}

static int compare(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double quantile(const double sorted[], double p)
{
    const double place = p * (DRAWS - 1);
    const int below = (int)place < DRAWS - 1 ? (int)place : DRAWS - 2;
    return sorted[below] * (below + 1 - place) + sorted[below + 1] * (place - below);
}

/* Least and most of the cylinders but one (-1 = all) in draw d; as measured for d = -1. */
static void extremes(const judge_means *means, int d, int without, double *least, double *most)
{
    *least = INFINITY;
    *most = 0.0;
    for (int i = 0; i < means->n; i++) {
        if (i == without)
            continue;
        const double pa = d < 0 ? means->mean_pa[i] : true_pa(means->mean_pa[i], error_pa[d][i], gain_1[d]);
        *least = pa < *least ? pa : *least;
        *most = pa > *most ? pa : *most;
    }
}

/* The chance of a broken rule where cylinder i reads `pa` after `repeats` readings: 512 draws. */
static double chance_at(const judge_means *means, int rule, int i, double pa, int repeats)
{
    static double margin[GAIN_DRAWS];
    const limits l = limits_of(rule, means);
    const bool manual = rule == CH_RULE_MANUAL;
    double least, most, measured;
    for (int d = 0; d < GAIN_DRAWS; d++) {
        const double own = true_pa(pa, error_pa[d][i] * sqrt(1.0 * means->repeats[i] / repeats), gain_1[d]);
        extremes(means, d, i, &least, &most);
        (void)margin_of(l, means->n, manual, own < least ? own : least, own > most ? own : most, &margin[d]);
    }
    extremes(means, -1, i, &least, &most);
    (void)margin_of(l, means->n, manual, pa < least ? pa : least, pa > most ? pa : most, &measured);
    return chance_of(margin, GAIN_DRAWS, measured);
}

static double worth_of_a_repeat(const judge_means *means, int rule, int i)
{
    const int n = means->repeats[i];
    const double now = chance_at(means, rule, i, means->mean_pa[i], n);
    double sum = 0.0;
    for (int k = 0; k < POINTS; k++) {
        /* a further reading, which lies about the mean as the mean's own doubt and one more repeat let it, and is not below 0 */
        const double further =
                         means->mean_pa[i] + means->scatter.sd_pa * sqrt((n + 1.0) / n) *
                                                 gsl_cdf_tdist_Pinv((2 * k + 1) / (2.0 * POINTS), means->scatter.df),
                     taken = further > 0.0 ? further : 0.0;
        sum += fabs(chance_at(means, rule, i, (n * means->mean_pa[i] + taken) / (n + 1), n + 1) - now);
    }
    return sum / POINTS < 0.005 ? 0.0 : sum / POINTS;
}

static void expect_rule(const judge_means *means, const ch_rule_outcome *got, int rule)
{
    static double margin[DRAWS];
    const limits l = limits_of(rule, means);
    const bool manual = rule == CH_RULE_MANUAL;
    double least, most, measured;
    extremes(means, -1, -1, &least, &most);
    const bool applies = means->n > 0 && margin_of(l, means->n, manual, least, most, &measured);
    assert_int_equal(got->rule, rule);
    assert_int_equal(got->applies, applies);
    assert_string_equal(got->id, ch_balance_rule_name((ch_balance_rule)rule));
    assert_string_equal(got->says, ch_balance_rule_says((ch_balance_rule)rule));
    assert_true(got->source[0] != '\0');
    if (!applies) {
        assert_true(!got->passes && isnan(got->chance_broken_1));
        return;
    }
    for (int d = 0; d < DRAWS; d++) {
        extremes(means, d, -1, &least, &most);
        if (!margin_of(l, means->n, manual, least, most, &margin[d]))
            margin[d] = measured; /* all dead in that draw: what is measured stands */
    }
    assert_int_equal(got->passes, measured >= -1e-9);
    expect_close(got->chance_broken_1, chance_of(margin, DRAWS, measured), 1e-9);
}

static void expect_ratio(const judge_means *means, const judge_balance *b)
{
    static double ratio[DRAWS];
    double least, most, level = 0.0;
    extremes(means, -1, -1, &least, &most);
    if (means->n < 2 || most == 0.0) {
        assert_true(isnan(b->ratio_1) && isnan(b->ratio_interval_1[0]) && isnan(b->ratio_interval_1[1]));
        assert_true(isnan(b->chance_below_75_1));
        return;
    }
    const double measured = least / most;
    int as_far = 0;
    for (int i = 0; i < means->n; i++)
        level += means->mean_pa[i] / means->n;
    for (int d = 0; d < DRAWS; d++) {
        double low = INFINITY, high = 0.0; /* of cylinders alike, by the same errors */
        for (int i = 0; i < means->n; i++) {
            const double pa = true_pa(level, error_pa[d][i], 1.0);
            low = pa < low ? pa : low;
            high = pa > high ? pa : high;
        }
        as_far += (high > 0.0 ? low / high : 1.0) <= measured;
        extremes(means, d, -1, &least, &most);
        ratio[d] = most > 0.0 ? least / most : 1.0;
    }
    const double z0 = correction(ratio, DRAWS, measured), z = 1.959963984540054;
    qsort(ratio, DRAWS, sizeof *ratio, compare);
    const double low = quantile(ratio, gsl_cdf_ugaussian_P(2.0 * z0 - z)),
                 high = quantile(ratio, gsl_cdf_ugaussian_P(2.0 * z0 + z));
    expect_close(b->ratio_1, measured, 1e-12);
    expect_close(b->ratio_interval_1[0], low < measured ? low : measured, 1e-9);
    expect_close(b->ratio_interval_1[1], 40 * as_far > DRAWS ? 1.0 : high > measured ? high : measured, 1e-9);
    expect_close(b->chance_below_75_1, b->rule[CH_RULE_75_PERCENT].chance_broken_1, 0.0);
}

static void expect_extremes(const judge_means *means, const judge_balance *b)
{
    double least, most;
    int lowest = 0, highest = 0;
    extremes(means, -1, -1, &least, &most);
    for (int i = means->n - 1; i >= 0 && means->n > 1; i--)
        lowest = means->mean_pa[i] == least ? means->cylinder[i] : lowest;
    for (int i = means->n - 1; i >= 0 && means->n > 1; i--)
        highest = means->mean_pa[i] == most && means->cylinder[i] != lowest ? means->cylinder[i] : highest;
    assert_int_equal(b->lowest, lowest);
    assert_int_equal(b->highest, highest);
}

static void expect_gain(const judge_means *means, const judge_balance *b, int rule)
{
    int best = 0;
    double most = 0.02;
    for (int i = 0; i < CH_CYLINDERS_MAX; i++) {
        const double worth = i < means->n && b->rule[rule].applies ? worth_of_a_repeat(means, rule, i) : 0.0;
        expect_close(b->repeat_gain_1[i], worth, 1e-9);
        if (worth > most) {
            most = worth;
            best = means->cylinder[i];
        }
    }
    assert_int_equal(b->repeat_cylinder, best);
}

static judge_balance expect_balance(const judge_means *means, int rule, uint64_t seed)
{
    judge_balance b;
    memset(&b, 0x5a, sizeof b);
    assert_int_equal(judge_balance_compute(means, (ch_balance_rule)rule, seed, &b, NULL), CH_OK);
    draw(means, seed);
    expect_extremes(means, &b);
    for (int r = 0; r < CH_RULE_COUNT; r++)
        expect_rule(means, &b.rule[r], r);
    expect_ratio(means, &b);
    expect_gain(means, &b, rule);
    return b;
}

/* Sheets of few cylinders, each in another state: readings in psi, repeats of each, and what is in doubt. */
static const struct {
    int n, cylinder[4], repeats[4], rule;
    double reading[4], minimum, spread;
    judge_repeatability scatter; /* in psi */
} SHEETS[] = {
    /* an uneven one, read to 5 psi, the gauge in doubt by 4 % */
    {3,
     {1, 2, 3},
     {1, 2, 3},
     CH_RULE_75_PERCENT,
     {165, 126, 150},
     NAN,
     NAN,
     {.sd_pa = 2.5, .df = 3, .step_pa = 5, .zero_limit_pa = 2.5, .gain_limit_1 = 0.04}},
    /* missing numbers between, and limits of the manual that are nearly broken; 30 degrees of freedom are the last that are summed */
    {3,
     {2, 5, 7},
     {1, 1, 4},
     CH_RULE_MANUAL,
     {140, 133, 151},
     130,
     20,
     {.sd_pa = 3, .df = 30, .step_pa = 2, .zero_limit_pa = 1, .gain_limit_1 = 0.05}},
    {2,
     {1, 2},
     {2, 2},
     CH_RULE_70_PERCENT_100_PSI,
     {140, 102},
     NAN,
     35,
     {.sd_pa = 3, .df = 31, .step_pa = 1, .zero_limit_pa = 4, .gain_limit_1 = 0.03}},
    {4,
     {1, 2, 3, 4},
     {1, 1, 1, 2},
     CH_RULE_98_KPA,
     {150, 150, 137, 137},
     120,
     NAN,
     {.sd_pa = 2, .df = 36, .step_pa = 1, .zero_limit_pa = 0.5, .gain_limit_1 = 0.02}},
    /* alike, to the last digit */
    {3,
     {1, 2, 4},
     {1, 1, 1},
     CH_RULE_10_PERCENT,
     {150, 150, 150},
     NAN,
     NAN,
     {.sd_pa = 2.5, .df = 5, .step_pa = 5, .zero_limit_pa = 2.5, .gain_limit_1 = 0.06}},
    /* nearly dead: errors are as large as the readings, so that some draws have none left */
    {2,
     {1, 2},
     {1, 2},
     CH_RULE_MANUAL,
     {2, 1.5},
     1,
     2,
     {.sd_pa = 4, .df = 4, .step_pa = 2, .zero_limit_pa = 1, .gain_limit_1 = 0.5}},
    {2,
     {1, 2},
     {1, 1},
     CH_RULE_75_PERCENT,
     {0, 3},
     NAN,
     NAN,
     {.sd_pa = 2, .df = 3, .step_pa = 2, .zero_limit_pa = 1, .gain_limit_1 = 0.1}},
    {2,
     {1, 2},
     {1, 1},
     CH_RULE_70_PERCENT_100_PSI,
     {0, 0},
     1,
     1,
     {.sd_pa = 2, .df = 3, .step_pa = 2, .zero_limit_pa = 1, .gain_limit_1 = 0.1}},
    /* one alone, and none */
    {1,
     {3},
     {2},
     CH_RULE_MANUAL,
     {131},
     130,
     20,
     {.sd_pa = 3, .df = 3, .step_pa = 2, .zero_limit_pa = 1, .gain_limit_1 = 0.05}},
    {1,
     {3},
     {2},
     CH_RULE_75_PERCENT,
     {131},
     NAN,
     20,
     {.sd_pa = 3, .df = 3, .step_pa = 2, .zero_limit_pa = 1, .gain_limit_1 = 0.05}},
    {0, {0}, {0}, CH_RULE_MANUAL, {0}, 130, 20, {.sd_pa = 3, .df = 3, .step_pa = 2, .zero_limit_pa = 1}},
    /* nothing in doubt */
    {2, {1, 2}, {1, 1}, CH_RULE_20_PERCENT, {160, 128}, 128, 32, {.df = 3}},
};

static judge_means means_of_sheet(size_t k)
{
    judge_means means = {.n = SHEETS[k].n,
                         .minimum_pa = SHEETS[k].minimum * PSI,
                         .spread_pa = SHEETS[k].spread * PSI,
                         .scatter = SHEETS[k].scatter};
    means.scatter.sd_pa *= PSI;
    means.scatter.step_pa *= PSI;
    means.scatter.zero_limit_pa *= PSI;
    for (int i = 0; i < means.n; i++) {
        means.cylinder[i] = SHEETS[k].cylinder[i];
        means.repeats[i] = SHEETS[k].repeats[i];
        means.mean_pa[i] = SHEETS[k].reading[i] * PSI;
    }
    means.cylinder[means.n] = 77; /* which nobody may look at */
    means.repeats[means.n] = 1;
    means.mean_pa[means.n] = k % 2 == 0 ? 1.0 : 9e6;
    return means;
}

static void every_figure_is_what_the_draws_say(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof SHEETS / sizeof *SHEETS; k++) {
        const judge_means means = means_of_sheet(k);
        (void)expect_balance(&means, SHEETS[k].rule, 40 + k);
    }
}

/* A repeat is worth nothing below 0.005 and is asked for from 0.02 on: two cylinders, of which one comes nearer to the limit from sheet to sheet. */
static void small_worths_are_none(void **state)
{
    (void)state;
    judge_means means = means_of_sheet(0);
    means.n = 2;
    means.repeats[1] = 1;
    size_t none = 0, little = 0, asked = 0;
    for (int k = 0; k < 14; k++) {
        judge_balance b;
        means.mean_pa[1] = (126.5 + 1.25 * k) * PSI;
        assert_int_equal(judge_balance_compute(&means, CH_RULE_75_PERCENT, 1, &b, NULL), CH_OK);
        draw(&means, 1);
        expect_gain(&means, &b, CH_RULE_75_PERCENT);
        const double worth = b.repeat_gain_1[1];
        none += worth == 0.0;
        little += worth > 0.005 && worth < 0.02 && b.repeat_cylinder == 0;
        asked += b.repeat_cylinder == 2;
    }
    assert_true(none > 1 && little > 1 && asked > 1);
}

/* How far a rule is kept, by hand: 160 and 120 psi. */
static void a_margin_is_the_least_of_what_the_limits_leave(void **state)
{
    (void)state;
    judge_means means = {.n = 2, .minimum_pa = NAN, .spread_pa = NAN};
    const double low = 120.0 * PSI, high = 160.0 * PSI, kpa = 40.0 * PSI;
    static const double PARTS[][2] = {{CH_RULE_75_PERCENT, 0.75},
                                      {CH_RULE_80_PERCENT, 0.8},
                                      {CH_RULE_10_PERCENT, 0.9},
                                      {CH_RULE_15_PERCENT, 0.85},
                                      {CH_RULE_20_PERCENT, 0.8}};
    for (size_t i = 0; i < 5; i++)
        expect_close(judge_rule_margin((ch_balance_rule)PARTS[i][0], &means, low, high), 0.75 / PARTS[i][1] - 1.0,
                     1e-12);
    expect_close(judge_rule_margin(CH_RULE_98_KPA, &means, low, high), 1.0 - kpa / 98066.5, 1e-12);
    expect_close(judge_rule_margin(CH_RULE_152_KPA, &means, low, high), 1.0 - kpa / 152e3, 1e-12);
    expect_close(judge_rule_margin(CH_RULE_196_KPA, &means, low, high), 1.0 - kpa / 196133.0, 1e-12);
    /* 70 % leaves 0.75/0.7 - 1 = 0.0714, 100 psi leave 0.2: the part decides; with 72 and 98 psi the floor does */
    expect_close(judge_rule_margin(CH_RULE_70_PERCENT_100_PSI, &means, low, high), 0.75 / 0.7 - 1.0, 1e-12);
    expect_close(judge_rule_margin(CH_RULE_70_PERCENT_100_PSI, &means, 72.0 * PSI, 98.0 * PSI), -0.28, 1e-12);
    assert_true(isnan(judge_rule_margin(CH_RULE_MANUAL, &means, low, high)));
    means.minimum_pa = 100.0 * PSI;
    expect_close(judge_rule_margin(CH_RULE_MANUAL, &means, low, high), 0.2, 1e-12);
    means.spread_pa = 32.0 * PSI;
    expect_close(judge_rule_margin(CH_RULE_MANUAL, &means, low, high), -0.25, 1e-12);
    means.minimum_pa = 480.0 * PSI;
    expect_close(judge_rule_margin(CH_RULE_MANUAL, &means, low, high), -0.75, 1e-12);
    means.n = 1; /* a difference takes two, a floor one */
    means.minimum_pa = 100.0 * PSI;
    expect_close(judge_rule_margin(CH_RULE_MANUAL, &means, low, low), 0.2, 1e-12);
    means.minimum_pa = NAN;
    assert_true(isnan(judge_rule_margin(CH_RULE_MANUAL, &means, low, low)));
    assert_true(isnan(judge_rule_margin(CH_RULE_75_PERCENT, &means, low, low)));
    assert_true(isnan(judge_rule_margin(CH_RULE_98_KPA, &means, low, low)));
    /* limits of nought limit nothing; of dead cylinders there is no part */
    means = (judge_means){.n = 2, .minimum_pa = 0.0, .spread_pa = 0.0};
    assert_true(isnan(judge_rule_margin(CH_RULE_MANUAL, &means, low, high)));
    assert_true(isnan(judge_rule_margin(CH_RULE_75_PERCENT, &means, 0.0, 0.0)));
    expect_close(judge_rule_margin(CH_RULE_70_PERCENT_100_PSI, &means, 0.0, 0.0), -1.0, 1e-12);
}

static void a_rule_is_found_by_its_whole_name_alone(void **state)
{
    (void)state;
    static const char *const NAMES[CH_RULE_COUNT] = {
        "75_percent", "70_percent_100_psi", "80_percent", "98_kPa",     "152_kPa",
        "196_kPa",    "10_percent",         "15_percent", "20_percent", "manual"};
    for (int r = 0; r < CH_RULE_COUNT; r++) {
        char longer[40];
        const size_t length = strlen(NAMES[r]);
        snprintf(longer, sizeof longer, "%s_", NAMES[r]);
        assert_string_equal(ch_balance_rule_name((ch_balance_rule)r), NAMES[r]);
        assert_int_equal(ch_balance_rule_find(NAMES[r], length), r);
        assert_int_equal(ch_balance_rule_find(longer, length), r);
        assert_int_equal(ch_balance_rule_find(longer, length + 1), CH_RULE_COUNT);
        assert_int_equal(ch_balance_rule_find(NAMES[r], length - 1), CH_RULE_COUNT);
    }
    assert_int_equal(ch_balance_rule_find("76_percent", 10), CH_RULE_COUNT);
    assert_null(ch_balance_rule_name((ch_balance_rule)-1));
    assert_null(ch_balance_rule_says((ch_balance_rule)-1));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_figure_is_what_the_draws_say),
        cmocka_unit_test(small_worths_are_none),
        cmocka_unit_test(a_margin_is_the_least_of_what_the_limits_leave),
        cmocka_unit_test(a_rule_is_found_by_its_whole_name_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
