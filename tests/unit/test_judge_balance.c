/* Promises of judge/balance.c: the ratio with its interval, every rule, and what a repeat is worth. */
#include <stdlib.h>

#include <gsl/gsl_cdf.h>

#include "crosshatch/sampling.h"
#include "fail_alloc.h"
#include "judge_sheets.h"

/* Means in psi; scatter of one reading 2.5 psi with 8 degrees of freedom, read to 1 psi. */
static judge_means means_of(const double reading_in[], int n, int repeats)
{
    judge_means means = {.n = n, .minimum_pa = NAN, .spread_pa = NAN};
    means.scatter = (judge_repeatability){
        .sd_pa = 2.5 * PSI, .df = 8.0, .step_pa = PSI, .zero_limit_pa = 0.5 * PSI, .gain_limit_1 = 0.03};
    for (int i = 0; i < n; i++) {
        means.cylinder[i] = i + 1;
        means.mean_pa[i] = reading_in[i] * PSI;
        means.repeats[i] = repeats;
    }
    return means;
}

static judge_balance balance_of(const judge_means *means, ch_balance_rule rule)
{
    judge_balance balance;
    assert_int_equal(judge_balance_compute(means, rule, 1, &balance, NULL), CH_OK);
    return balance;
}

/* Common practice: lowest at least 75 % of highest; 73 % fails, 90 % passes. */
static void seventy_three_percent_breaks_the_rule_and_ninety_keeps_it(void **state)
{
    (void)state;
    const double low[] = {170, 168, 124.1, 169}, even[] = {170, 168, 153, 169};
    judge_means means = means_of(low, 4, 3);
    judge_balance b = balance_of(&means, CH_RULE_75_PERCENT);
    assert_true(b.rule[CH_RULE_75_PERCENT].applies && !b.rule[CH_RULE_75_PERCENT].passes);
    expect_close(b.ratio_1, 0.73, 1e-9);
    assert_true(b.chance_below_75_1 > 0.9);
    assert_int_equal(b.lowest, 3);
    assert_int_equal(b.highest, 1);
    means = means_of(even, 4, 3);
    b = balance_of(&means, CH_RULE_75_PERCENT);
    assert_true(b.rule[CH_RULE_75_PERCENT].passes);
    assert_true(b.chance_below_75_1 < 1e-3);
}

/* Published rules side by side (common practice): 160/150/142/126 psi passes 75 % (0.79) and 70 % with 100 psi, fails 28, 22 and 14 psi (34),
 * 10, 15 and, just, 20 % (21 %). */
static void the_published_rules_disagree_on_the_same_readings(void **state)
{
    (void)state;
    const double reading[] = {160, 150, 142, 126};
    const judge_means means = means_of(reading, 4, 3);
    const judge_balance b = balance_of(&means, CH_RULE_75_PERCENT);
    assert_true(b.rule[CH_RULE_75_PERCENT].passes);
    assert_true(b.rule[CH_RULE_70_PERCENT_100_PSI].passes);
    static const ch_balance_rule broken[] = {CH_RULE_80_PERCENT, CH_RULE_98_KPA,     CH_RULE_152_KPA,   CH_RULE_196_KPA,
                                             CH_RULE_10_PERCENT, CH_RULE_15_PERCENT, CH_RULE_20_PERCENT};
    for (size_t i = 0; i < sizeof broken / sizeof broken[0]; i++)
        assert_true(b.rule[broken[i]].applies && !b.rule[broken[i]].passes);
    assert_false(b.rule[CH_RULE_MANUAL].applies);
    expect_close(b.ratio_1, 126.0 / 160.0, 1e-12);
    /* the narrower the miss, the less sure */
    assert_true(b.rule[CH_RULE_20_PERCENT].chance_broken_1 < b.rule[CH_RULE_15_PERCENT].chance_broken_1);
    assert_true(b.rule[CH_RULE_10_PERCENT].chance_broken_1 > 0.99);
    assert_true(b.rule[CH_RULE_20_PERCENT].chance_broken_1 > 0.5 && b.rule[CH_RULE_20_PERCENT].chance_broken_1 < 0.9);
}

static void a_reading_exactly_on_a_limit_keeps_it(void **state)
{
    (void)state;
    const double reading[] = {160, 120, 128};
    judge_means means = means_of(reading, 3, 2);
    means.minimum_pa = 120.0 * PSI;
    means.spread_pa = 40.0 * PSI;
    const judge_balance b = balance_of(&means, CH_RULE_MANUAL);
    assert_true(b.rule[CH_RULE_75_PERCENT].passes);
    assert_true(b.rule[CH_RULE_MANUAL].applies && b.rule[CH_RULE_MANUAL].passes);
}

/* Two cylinders, normal errors of 2 psi on 150 and 118 psi, nothing else: P(118 + e1 < 0.75 (150 + e2)) = Phi(-5.5/2.5) = 0.01390 (tables of
 * the normal distribution). Ratio 0.78667 with sd sqrt((2/150)^2 + (118 * 2/150^2)^2) = 0.016965, so 95 % within +-0.03325. Tolerances: four
 * standard errors of 8192 draws. */
static void two_cylinders_agree_with_the_normal_distribution(void **state)
{
    (void)state;
    const double reading[] = {150, 118};
    judge_means means = means_of(reading, 2, 1);
    means.scatter = (judge_repeatability){.sd_pa = 2.0 * PSI, .df = 1e9};
    const judge_balance b = balance_of(&means, CH_RULE_75_PERCENT);
    expect_close(b.chance_below_75_1, 0.01390, 0.0055);
    expect_close(b.ratio_interval_1[0], 0.78667 - 0.03325, 0.002);
    expect_close(b.ratio_interval_1[1], 0.78667 + 0.03325, 0.002);
}

static void a_factor_on_all_readings_leaves_ratio_and_interval_alone(void **state)
{
    (void)state;
    const double reading[] = {160, 150, 142, 126};
    judge_means means = means_of(reading, 4, 2);
    const judge_balance b = balance_of(&means, CH_RULE_75_PERCENT);
    for (int i = 0; i < 4; i++)
        means.mean_pa[i] *= 1.07;
    means.scatter.sd_pa *= 1.07;
    means.scatter.step_pa *= 1.07;
    means.scatter.zero_limit_pa *= 1.07;
    means.scatter.gain_limit_1 = 0.4; /* the gain's doubt must not count either */
    const judge_balance scaled = balance_of(&means, CH_RULE_75_PERCENT);
    expect_close(scaled.ratio_1, b.ratio_1, 1e-12); /* rounding */
    expect_close(scaled.ratio_interval_1[0], b.ratio_interval_1[0], 1e-12);
    expect_close(scaled.ratio_interval_1[1], b.ratio_interval_1[1], 1e-12);
    expect_close(scaled.chance_below_75_1, b.chance_below_75_1, 1e-12);
}

/* The doubt about the gain does count where a limit is a pressure. */
static void the_gauges_gain_counts_against_an_absolute_limit(void **state)
{
    (void)state;
    const double reading[] = {170, 160};
    judge_means means = means_of(reading, 2, 3);
    means.minimum_pa = 155.0 * PSI;
    means.scatter.gain_limit_1 = 0.0;
    const double sure_1 = balance_of(&means, CH_RULE_MANUAL).rule[CH_RULE_MANUAL].chance_broken_1;
    means.scatter.gain_limit_1 = 0.06;
    const double unsure_1 = balance_of(&means, CH_RULE_MANUAL).rule[CH_RULE_MANUAL].chance_broken_1;
    assert_true(sure_1 < 0.03 && unsure_1 > 0.10);
}

/* The interval must cover what is true in most sheets, also where four cylinders are nearly alike and lowest and highest are chosen by
 * chance: drawn about the means without a correction, the true ratio would often lie above it. 100 sheets of 95 % intervals: fewer than 88
 * happens by chance in 3 of 1000 (binomial distribution). */
static void the_interval_covers_the_true_ratio(void **state)
{
    (void)state;
    static const double truth[2][6] = {{170, 171, 166, 172, 168, 169}, {170, 168, 140, 171, 169, 170}};
    for (int kind = 0; kind < 2; kind++) {
        int covered = 0;
        for (uint64_t sheet = 0; sheet < 100; sheet++) {
            ch_stream stream;
            ch_stream_init(&stream, 20270116, sheet);
            double reading[6];
            for (int i = 0; i < 6; i++)
                reading[i] = floor(truth[kind][i] + 2.5 * ch_stream_normal(&stream) + 0.5);
            const judge_means means = means_of(reading, 6, 1);
            const judge_balance b = balance_of(&means, CH_RULE_75_PERCENT);
            const double true_1 = kind == 0 ? 166.0 / 172.0 : 140.0 / 171.0;
            covered += b.ratio_interval_1[0] <= true_1 && true_1 <= b.ratio_interval_1[1];
        }
        assert_in_range(covered, 88, 100);
    }
}

static void alike_cylinders_may_be_alike(void **state)
{
    (void)state;
    const double reading[] = {170, 167, 168, 169};
    const judge_means means = means_of(reading, 4, 1);
    const judge_balance b = balance_of(&means, CH_RULE_75_PERCENT);
    expect_close(b.ratio_interval_1[1], 1.0, 0.0);
    assert_true(b.ratio_interval_1[0] > 0.90 && b.ratio_interval_1[0] < b.ratio_1);
}

static void one_cylinder_has_no_balance_but_has_a_minimum(void **state)
{
    (void)state;
    const double reading[] = {150};
    judge_means means = means_of(reading, 1, 2);
    judge_balance b = balance_of(&means, CH_RULE_75_PERCENT);
    assert_true(isnan(b.ratio_1) && isnan(b.ratio_interval_1[0]) && isnan(b.chance_below_75_1));
    assert_int_equal(b.lowest, 0);
    for (int r = 0; r < CH_RULE_COUNT; r++)
        assert_false(b.rule[r].applies);
    assert_int_equal(b.repeat_cylinder, 0);
    means.minimum_pa = 180.0 * PSI;
    b = balance_of(&means, CH_RULE_MANUAL);
    assert_true(b.rule[CH_RULE_MANUAL].applies && !b.rule[CH_RULE_MANUAL].passes);
    assert_true(b.rule[CH_RULE_MANUAL].chance_broken_1 > 0.99);
}

static void thirty_two_cylinders_and_none_are_both_judged(void **state)
{
    (void)state;
    double reading[CH_CYLINDERS_MAX];
    for (int i = 0; i < CH_CYLINDERS_MAX; i++)
        reading[i] = 160.0 + i % 5;
    reading[31] = 90.0;
    judge_means means = means_of(reading, CH_CYLINDERS_MAX, 2);
    judge_balance b = balance_of(&means, CH_RULE_70_PERCENT_100_PSI);
    assert_int_equal(b.lowest, 32);
    assert_int_equal(b.highest, 5);
    assert_true(b.rule[CH_RULE_70_PERCENT_100_PSI].chance_broken_1 > 0.99);
    means.n = 0;
    b = balance_of(&means, CH_RULE_MANUAL);
    assert_true(isnan(b.ratio_1) && !b.rule[CH_RULE_MANUAL].applies);
}

static void dead_cylinders_are_broken_rules_not_failures(void **state)
{
    (void)state;
    const double one_dead[] = {0, 150}, all_dead[] = {0, 0};
    judge_means means = means_of(one_dead, 2, 1);
    judge_balance b = balance_of(&means, CH_RULE_75_PERCENT);
    expect_close(b.ratio_1, 0.0, 0.0);
    expect_close(b.chance_below_75_1, 1.0, 0.0);
    means = means_of(all_dead, 2, 1);
    b = balance_of(&means, CH_RULE_75_PERCENT);
    assert_true(isnan(b.ratio_1));
    assert_false(b.rule[CH_RULE_75_PERCENT].applies);
    assert_true(b.rule[CH_RULE_70_PERCENT_100_PSI].chance_broken_1 > 0.999);
}

static void a_repeat_is_worth_most_at_the_doubtful_cylinder_and_nothing_where_all_is_clear(void **state)
{
    (void)state;
    const double doubtful[] = {170, 168, 128, 160}, clear[] = {170, 168, 165, 160};
    judge_means means = means_of(doubtful, 4, 1);
    judge_balance b = balance_of(&means, CH_RULE_75_PERCENT);
    assert_int_equal(b.repeat_cylinder, 3);
    assert_true(b.repeat_gain_1[2] > 0.1 && b.repeat_gain_1[2] < 0.5);
    assert_true(b.repeat_gain_1[3] == 0.0);
    means = means_of(clear, 4, 1);
    b = balance_of(&means, CH_RULE_75_PERCENT);
    assert_int_equal(b.repeat_cylinder, 0);
    for (int i = 0; i < 4; i++)
        expect_close(b.repeat_gain_1[i], 0.0, 0.0);
}

static void the_same_seed_gives_the_same_bytes(void **state)
{
    (void)state;
    const double reading[] = {160, 150, 142, 126};
    const judge_means means = means_of(reading, 4, 1);
    const judge_balance a = balance_of(&means, CH_RULE_75_PERCENT), b = balance_of(&means, CH_RULE_75_PERCENT);
    assert_memory_equal(a.ratio_interval_1, b.ratio_interval_1, sizeof a.ratio_interval_1);
    assert_memory_equal(a.repeat_gain_1, b.repeat_gain_1, 4 * sizeof a.repeat_gain_1[0]);
}

static void rules_are_found_by_their_names(void **state)
{
    (void)state;
    for (int r = 0; r < CH_RULE_COUNT; r++) {
        const char *name = ch_balance_rule_name((ch_balance_rule)r);
        assert_int_equal(ch_balance_rule_find(name, strlen(name)), r);
    }
    assert_int_equal(ch_balance_rule_find("75", 2), CH_RULE_COUNT);
    assert_null(ch_balance_rule_name(CH_RULE_COUNT));
}

static void no_memory_leaves_the_answer_alone(void **state)
{
    (void)state;
    const double reading[] = {160, 150};
    const judge_means means = means_of(reading, 2, 1);
    judge_balance b = {.lowest = 77};
    fail_alloc_at(1);
    assert_int_equal(judge_balance_compute(&means, CH_RULE_75_PERCENT, 1, &b, NULL), CH_E_MEMORY);
    assert_true(fail_alloc_stop());
    assert_int_equal(fail_alloc_left(), 0);
    assert_int_equal(b.lowest, 77);
}

/*
 * One cylinder against the manual's minimum, normal errors of 4 psi of a reading, nothing else in doubt: with its mean m standard deviations above it, the chance to be
 * below is Phi(-m sqrt(n)). A further reading moves the mean by sqrt(1 + 1/n) z/(n + 1), z at the middles of sixteen equal parts of the normal, and leaves n + 1. Mean of
 * eight seeds, each of 512 draws: 0.012 is some three of its errors.
 */
static void a_further_reading_is_worth_what_it_is_expected_to_move(void **state)
{
    (void)state;
    const double above[] = {0.3, 1.0};
    for (int k = 0; k < 2; k++)
        for (int n = 1; n <= 2; n++) {
            const double reading[] = {120.0 + 4.0 * above[k], 200.0}, now = gsl_cdf_ugaussian_P(-above[k] * sqrt(n));
            double want = 0.0, found = 0.0;
            for (int i = 0; i < 16; i++) {
                const double moved =
                    above[k] + sqrt(1.0 + 1.0 / n) * gsl_cdf_ugaussian_Pinv((i + 0.5) / 16.0) / (n + 1.0);
                want += fabs(gsl_cdf_ugaussian_P(-moved * sqrt(n + 1.0)) - now) / 16.0;
            }
            judge_means means = means_of(reading, 2, n);
            means.scatter = (judge_repeatability){.sd_pa = 4.0 * PSI, .df = 1e9};
            means.minimum_pa = 120.0 * PSI;
            for (uint64_t seed = 1; seed <= 8; seed++) {
                judge_balance b;
                assert_int_equal(judge_balance_compute(&means, CH_RULE_MANUAL, seed, &b, NULL), CH_OK);
                found += b.repeat_gain_1[0] / 8.0;
                expect_close(b.repeat_gain_1[1], 0.0, 0.0);
                assert_int_equal(b.repeat_cylinder, 1);
            }
            expect_close(found, want, 0.012);
        }
}

/* Gain alone in doubt, and a reading on the limit: as likely below it as above. 0.022: four standard errors of 8192 draws. */
static void a_gauge_errs_as_likely_up_as_down(void **state)
{
    (void)state;
    const double reading[] = {120.0, 200.0};
    judge_means means = means_of(reading, 2, 3);
    means.scatter = (judge_repeatability){.sd_pa = 1e-6, .df = 1e9, .gain_limit_1 = 0.05};
    means.minimum_pa = 120.0 * PSI;
    expect_close(balance_of(&means, CH_RULE_MANUAL).rule[CH_RULE_MANUAL].chance_broken_1, 0.5, 0.022);
    means.minimum_pa =
        120.0 * PSI *
        1.025; /* half way up the gain's limit: three quarters of the draws lie below; the measured one in the middle */
    expect_close(balance_of(&means, CH_RULE_MANUAL).rule[CH_RULE_MANUAL].chance_broken_1, 0.75, 0.03);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_gauge_errs_as_likely_up_as_down),
        cmocka_unit_test(a_further_reading_is_worth_what_it_is_expected_to_move),
        cmocka_unit_test(seventy_three_percent_breaks_the_rule_and_ninety_keeps_it),
        cmocka_unit_test(the_published_rules_disagree_on_the_same_readings),
        cmocka_unit_test(a_reading_exactly_on_a_limit_keeps_it),
        cmocka_unit_test(two_cylinders_agree_with_the_normal_distribution),
        cmocka_unit_test(a_factor_on_all_readings_leaves_ratio_and_interval_alone),
        cmocka_unit_test(the_gauges_gain_counts_against_an_absolute_limit),
        cmocka_unit_test(the_interval_covers_the_true_ratio),
        cmocka_unit_test(alike_cylinders_may_be_alike),
        cmocka_unit_test(one_cylinder_has_no_balance_but_has_a_minimum),
        cmocka_unit_test(thirty_two_cylinders_and_none_are_both_judged),
        cmocka_unit_test(dead_cylinders_are_broken_rules_not_failures),
        cmocka_unit_test(a_repeat_is_worth_most_at_the_doubtful_cylinder_and_nothing_where_all_is_clear),
        cmocka_unit_test(the_same_seed_gives_the_same_bytes),
        cmocka_unit_test(rules_are_found_by_their_names),
        cmocka_unit_test(no_memory_leaves_the_answer_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
