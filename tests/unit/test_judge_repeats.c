/* Promises of judge/repeats.c: means, pooled spread, the step of the dial, uncertainty after the GUM. */
#include "fail_alloc.h"
#include "judge_sheets.h"

static ch_judgement judgement;

static void repeats_of(const char *text, judge_repeatability *scatter)
{
    ch_sheet sheet;
    ch_setup setup;
    judge_readings readings;
    sheet_of(text, &sheet);
    setup_of(&sheet, &setup);
    assert_int_equal(judge_readings_collect(&sheet, &readings, NULL), CH_OK);
    memset(&judgement, 0, sizeof judgement);
    assert_int_equal(judge_repeats(&sheet, &setup, &readings, &judgement, scatter, NULL), CH_OK);
    judge_readings_clear(&readings);
    ch_sheet_clear(&sheet);
}

/* JCGM 100:2008 (GUM), 4.4.3 and table 1: twenty readings, mean 100.14 (100.145), s = 1.49, u of the mean 0.33. Here in kPa. The dial's step is
 * small enough not to count. */
static void twenty_readings_give_the_gums_mean_and_uncertainty(void **state)
{
    (void)state;
    judge_repeatability scatter;
    repeats_of(
        "{sheet: 1, units: {pressure: kPa}, engine: {cylinders: 1}, gauge: {resolution: 0.001 kPa}, compression: ["
        "{cylinder: 1, reading: 96.90}, {cylinder: 1, reading: 98.18}, {cylinder: 1, reading: 98.25},"
        "{cylinder: 1, reading: 98.61}, {cylinder: 1, reading: 99.03}, {cylinder: 1, reading: 99.49},"
        "{cylinder: 1, reading: 99.56}, {cylinder: 1, reading: 99.74}, {cylinder: 1, reading: 99.89},"
        "{cylinder: 1, reading: 100.07}, {cylinder: 1, reading: 100.33}, {cylinder: 1, reading: 100.42},"
        "{cylinder: 1, reading: 100.68}, {cylinder: 1, reading: 100.95}, {cylinder: 1, reading: 101.11},"
        "{cylinder: 1, reading: 101.20}, {cylinder: 1, reading: 101.57}, {cylinder: 1, reading: 101.84},"
        "{cylinder: 1, reading: 102.36}, {cylinder: 1, reading: 102.72}]}",
        &scatter);
    /* half of the last digit printed there */
    expect_close(judgement.cylinder[0].mean_pa, 100.145e3, 5.0);
    expect_close(judgement.cylinder[0].sd_pa, 1.49e3, 5.0);
    expect_close(judgement.cylinder[0].u_pa, 0.333e3, 0.5);
    expect_close(judgement.cylinder[0].df, 19.0, 0.01);
    expect_close(judgement.cylinder[0].median_pa, 100.20e3, 1e-6);
    assert_int_equal(judgement.cylinder[0].n, 20);
}

/* By hand: variances 8 (1 degree of freedom) and 12 (2): (8 + 24)/3 = 10.667, root 3.26599. */
static void spread_is_pooled_over_cylinders(void **state)
{
    (void)state;
    judge_repeatability scatter;
    repeats_of("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 3}, gauge: {resolution: 1 psi}, compression: ["
               "{cylinder: 2, reading: 160}, {cylinder: 1, reading: 150}, {cylinder: 2, reading: 166},"
               "{cylinder: 1, reading: 154}, {cylinder: 2, reading: 160}, {cylinder: 3, reading: 158}]}",
               &scatter);
    expect_relative(judgement.pooled_sd_pa, 3.2659863237 * PSI, 1e-9);
    expect_close(judgement.pooled_df, 3.0, 0.0);
    assert_false(judgement.pooled_assumed);
    expect_relative(judgement.cylinder[1].mean_pa, 162.0 * PSI, 1e-12);
    expect_relative(judgement.cylinder[1].sd_pa, 3.4641016151 * PSI, 1e-9);
    assert_true(isnan(judgement.cylinder[2].sd_pa));
    /* u^2 = 10.6667/3 + 1/12 + (0.5^2)/3 = 3.7222; df = 3.7222^2/((10.6667/3)^2/3) = 3.2877 (JCGM 100:2008, G.4.1) */
    expect_relative(judgement.cylinder[1].u_pa, 1.9293 * PSI, 1e-4);
    expect_relative(judgement.cylinder[1].df, 3.2877, 1e-4);
}

/* Common practice: one gauge and a good battery repeat within 2 to 4 psi; 1.5 % of 170 psi is 2.55 psi. */
static void without_a_repeat_the_stated_default_stands_in_and_says_so(void **state)
{
    (void)state;
    judge_repeatability scatter;
    repeats_of("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: 170},"
               "{cylinder: 2, reading: 161}]}",
               &scatter);
    assert_true(judgement.pooled_assumed);
    expect_relative(judgement.pooled_sd_pa, 2.55 * PSI, 1e-9);
    expect_close(judgement.pooled_df, 3.0, 0.0);
}

/* By hand: variance 8 with one degree of freedom, two from 1.5 % of 162 = 2.43: (8 + 2 * 5.9049)/3 = 6.60327, root 2.56968. */
static void a_single_repeat_is_filled_up_with_the_default(void **state)
{
    (void)state;
    judge_repeatability scatter;
    repeats_of("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: 160},"
               "{cylinder: 1, reading: 164}, {cylinder: 2, reading: 161}]}",
               &scatter);
    assert_false(judgement.pooled_assumed);
    expect_relative(judgement.pooled_sd_pa, 2.56968 * PSI, 1e-5);
    expect_close(judgement.pooled_df, 3.0, 0.0);
}

static double step_of(const char *readings)
{
    char text[400];
    ch_sheet sheet;
    snprintf(text, sizeof text, "{sheet: 1, engine: {cylinders: 4}, compression: [%s]}", readings);
    sheet_of(text, &sheet);
    const double step_pa = judge_step_pa(sheet.compression, sheet.compression_count);
    ch_sheet_clear(&sheet);
    return step_pa;
}

static void step_of_the_dial_is_seen_in_the_readings(void **state)
{
    (void)state;
    expect_relative(step_of("{cylinder: 1, reading: 150 psi}, {cylinder: 2, reading: 155 psi}"), 5.0 * PSI, 1e-9);
    expect_relative(step_of("{cylinder: 1, reading: 150 psi}, {cylinder: 2, reading: 152.5 psi}"), 2.5 * PSI, 1e-9);
    expect_relative(step_of("{cylinder: 1, reading: 150 psi}, {cylinder: 2, reading: 153 psi}"), PSI, 1e-9);
    expect_relative(step_of("{cylinder: 1, reading: 152 psi}, {cylinder: 2, reading: 154 psi}"), 2.0 * PSI, 1e-9);
    expect_relative(step_of("{cylinder: 1, reading: 150 psi}, {cylinder: 2, reading: 170 psi}"), 10.0 * PSI, 1e-9);
    expect_relative(step_of("{cylinder: 1, reading: 12.1 bar}, {cylinder: 2, reading: 12.4 bar}"), 0.1e5, 1e-9);
    expect_relative(step_of("{cylinder: 1, reading: 1200 kPa}, {cylinder: 2, reading: 1250 kPa}"), 50e3, 1e-9);
    expect_relative(step_of("{cylinder: 1, reading: 1.213 MPa}, {cylinder: 2, reading: 1.25 MPa}"), 1e3, 1e-9);
    /* one row in another unit: the coarser of both counts */
    expect_relative(step_of("{cylinder: 1, reading: 150 psi}, {cylinder: 2, reading: 10.5 bar}"), 10.0 * PSI, 1e-9);
    assert_true(isnan(step_of("{cylinder: 1, reading: 0 psi}, {cylinder: 2, reading: 0 psi}")));
}

/* Source: ASME B40.100 grade B (from memory): 2 % of span in the middle half. 300 psi at 150: +-6 psi, u = 6/sqrt(3) (JCGM 100:2008, 4.3.7). */
static void the_gauges_accuracy_counts_only_where_the_gain_does(void **state)
{
    (void)state;
    judge_repeatability scatter;
    repeats_of("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 1, limits: {minimum: 150}}, gauge: {span: 300, "
               "accuracy: "
               "grade B, resolution: 1}, compression: [{cylinder: 1, reading: 150}, {cylinder: 1, reading: 150},"
               "{cylinder: 1, reading: 150}, {cylinder: 1, reading: 150}]}",
               &scatter);
    const ch_judged_cylinder *one = &judgement.cylinder[0];
    expect_relative(one->u_pa, sqrt(1.0 / 12.0 + 0.25 / 3.0) * PSI, 1e-9);
    expect_relative(one->u_with_gauge_pa, sqrt(1.0 / 12.0 + 0.25 / 3.0 + 12.0) * PSI, 1e-9);
    expect_relative(scatter.gain_limit_1, 0.04, 1e-9);
    /* exactly on the limit: kept, and a coin's chance */
    assert_false(one->below_minimum);
    expect_close(one->chance_below_minimum_1, 0.5, 1e-9);
}

static void order_of_rows_changes_no_bit(void **state)
{
    (void)state;
    judge_repeatability one, other;
    static ch_judgement first;
    repeats_of("{sheet: 1, units: {pressure: bar}, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: 11.1},"
               "{cylinder: 1, reading: 11.3}, {cylinder: 1, reading: 11.7}, {cylinder: 2, reading: 10.9}]}",
               &one);
    first = judgement;
    repeats_of("{sheet: 1, units: {pressure: bar}, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: 11.7},"
               "{cylinder: 2, reading: 10.9}, {cylinder: 1, reading: 11.1}, {cylinder: 1, reading: 11.3}]}",
               &other);
    assert_memory_equal(&first.cylinder[0].mean_pa, &judgement.cylinder[0].mean_pa, sizeof(double));
    assert_memory_equal(&first.cylinder[0].u_pa, &judgement.cylinder[0].u_pa, sizeof(double));
    assert_memory_equal(&first.pooled_sd_pa, &judgement.pooled_sd_pa, sizeof(double));
}

static void a_needle_that_does_not_move_is_a_reading(void **state)
{
    (void)state;
    judge_repeatability scatter;
    repeats_of("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: 0, "
               "first_stroke: 0}]}",
               &scatter);
    expect_close(judgement.cylinder[0].mean_pa, 0.0, 0.0);
    assert_true(judgement.cylinder[0].u_pa > 0.0);
    assert_true(isnan(judgement.cylinder[0].first_over_final_1));
    assert_int_equal(judgement.cylinder[1].n, 0);
    assert_true(isnan(judgement.cylinder[1].mean_pa));
}

static void first_stroke_is_set_against_its_own_final_reading(void **state)
{
    (void)state;
    judge_repeatability scatter;
    repeats_of("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 1}, compression: [{cylinder: 1, reading: 160, "
               "first_stroke: "
               "80}, {cylinder: 1, reading: 170}, {cylinder: 1, reading: 164, first_stroke: 90}]}",
               &scatter);
    expect_relative(judgement.cylinder[0].first_over_final_1, 170.0 / 324.0, 1e-12);
}

static void sorting_survives_every_failed_allocation(void **state)
{
    (void)state;
    ch_sheet sheet;
    sheet_of("{sheet: 1, engine: {cylinders: 1}, compression: [{cylinder: 1, reading: 12 bar}]}", &sheet);
    long faults = 0;
    for (long n = 1;; n++) {
        judge_readings readings;
        fail_alloc_at(n);
        const ch_status rc = judge_readings_collect(&sheet, &readings, NULL);
        const bool failed = fail_alloc_stop();
        if (!failed) {
            assert_int_equal(rc, CH_OK);
            judge_readings_clear(&readings);
            assert_int_equal(fail_alloc_left(), 0);
            break;
        }
        faults++;
        assert_int_equal(fail_alloc_left(), 0);
        assert_int_equal(rc, CH_E_MEMORY);
    }
    assert_int_equal(faults, 3);
    ch_sheet_clear(&sheet);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(twenty_readings_give_the_gums_mean_and_uncertainty),
        cmocka_unit_test(spread_is_pooled_over_cylinders),
        cmocka_unit_test(without_a_repeat_the_stated_default_stands_in_and_says_so),
        cmocka_unit_test(a_single_repeat_is_filled_up_with_the_default),
        cmocka_unit_test(step_of_the_dial_is_seen_in_the_readings),
        cmocka_unit_test(the_gauges_accuracy_counts_only_where_the_gain_does),
        cmocka_unit_test(order_of_rows_changes_no_bit),
        cmocka_unit_test(a_needle_that_does_not_move_is_a_reading),
        cmocka_unit_test(first_stroke_is_set_against_its_own_final_reading),
        cmocka_unit_test(sorting_survives_every_failed_allocation),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
