/* Promises of numbers/summary.c and numbers/groups.c. Data: tests/data/nist-strd (NIST StRD, 1998 on). */
#include "crosshatch/summary.h"
#include "expect.h"
#include "fail_alloc.h"
#include "strd.h"

static void expect_univariate(const char *name, double mean_digits, double sd_digits, double r_digits)
{
    strd set = strd_open(name);
    size_t first = 1;
    while (first <= set.lines && strstr(set.line[first - 1], "-----") == NULL)
        first++;
    double *y = calloc(STRD_LINES_MAX, sizeof *y);
    assert_non_null(y);
    const size_t n = strd_rows(&set, first + 1, 1, y, STRD_LINES_MAX);
    ch_summary got;
    assert_int_equal(ch_summarize(y, n, &got, NULL), CH_OK);
    expect_digits(got.mean, strd_value(&set, "Sample Mean"), mean_digits);
    expect_digits(got.sd, strd_value(&set, "Sample Standard Deviation"), sd_digits);
    expect_digits(got.autocorrelation_1, strd_value(&set, "Sample Autocorrelation Coefficient"), r_digits);
    assert_true(got.mean == ch_mean(y, n) && got.sd == ch_sd(y, n));
    free(y);
    strd_close(&set);
}

/* All certified digits (15), one lost to rounding the print. */
static void univariate_sets_reach_their_certified_digits(void **state)
{
    (void)state;
    expect_univariate("univariate/PiDigits.dat", 14, 14, 14);
    expect_univariate("univariate/Lew.dat", 14, 14, 14);
    expect_univariate("univariate/NumAcc1.dat", 16, 16, 16);
}

/*
 * Here the data themselves are decimals that a double cannot hold: 1000000.1 is stored with an error of up to 6e-11, which
 * is 6e-10 of NumAcc3's sd of 0.1 (average difficulty); Mavro's 2.00140 with 2e-16, 5e-13 of its sd. No method working
 * from doubles can do better.
 */
static void univariate_sets_of_decimals_reach_what_a_double_holds(void **state)
{
    (void)state;
    expect_univariate("univariate/Mavro.dat", 14, 12, 12);
    expect_univariate("univariate/NumAcc3.dat", 14, 9, 9);
}

static void median_and_mad_match_hand_values(void **state)
{
    (void)state;
    /* Hand: sorted 2 4 4 7 9 21, median 5.5, |x - 5.5| = 3.5 1.5 1.5 1.5 3.5 15.5, median 2.5. */
    const double x[] = {9.0, 2.0, 21.0, 4.0, 7.0, 4.0};
    ch_summary got;
    assert_int_equal(ch_summarize(x, 6, &got, NULL), CH_OK);
    assert_true(got.median == 5.5 && got.mad == 2.5 && got.min == 2.0 && got.max == 21.0);
    assert_true(x[0] == 9.0 && x[5] == 4.0);
}

/* Hyndman and Fan 1996, definition 7: p(k) = (k - 1)/(n - 1); by hand for 1, 3, 4, 8, 9. */
static void quantile_interpolates_between_order_statistics(void **state)
{
    (void)state;
    const double x[] = {1.0, 3.0, 4.0, 8.0, 9.0};
    expect_close(ch_quantile_sorted(x, 5, 0.0), 1.0, 0.0);
    expect_close(ch_quantile_sorted(x, 5, 0.25), 3.0, 0.0);
    expect_close(ch_quantile_sorted(x, 5, 0.6), 5.6, 1e-14);
    expect_close(ch_quantile_sorted(x, 5, 1.0), 9.0, 0.0);
    expect_close(ch_quantile_sorted(x, 1, 0.3), 1.0, 0.0);
    assert_true(isnan(ch_quantile_sorted(x, 0, 0.5)) && isnan(ch_quantile_sorted(x, 5, -0.1)));
    assert_true(isnan(ch_quantile_sorted(x, 5, NAN)));
}

static void quantiles_among_infinite_and_very_large_values_are_such_or_finite(void **state)
{
    (void)state;
    const double never[] = {100.0, 200.0, INFINITY, INFINITY}, wide[] = {-1.5e308, 1.7e308};
    expect_close(ch_quantile_sorted(never, 4, 1.0 / 3.0), 200.0, 0.0); /* on a value: its neighbour does not matter */
    assert_true(ch_quantile_sorted(never, 4, 0.4) == INFINITY && ch_quantile_sorted(never, 4, 0.9) == INFINITY);
    expect_relative(ch_quantile_sorted(wide, 2, 0.5), 1e307, 1e-13);
}

static void what_one_reading_cannot_tell_is_nan(void **state)
{
    (void)state;
    const double x = 178.0;
    ch_summary got;
    assert_int_equal(ch_summarize(&x, 1, &got, NULL), CH_OK);
    assert_true(got.mean == 178.0 && got.median == 178.0 && got.mad == 0.0);
    assert_true(isnan(got.sd) && isnan(got.autocorrelation_1));
    assert_true(isnan(ch_mean(&x, 0)) && isnan(ch_sd(&x, 1)));
}

static void readings_that_are_not_numbers_are_refused(void **state)
{
    (void)state;
    const double x[] = {1.0, NAN, 3.0, 1e200, -1e200};
    ch_summary got = {.n = 77};
    ch_err err = {0};
    assert_int_equal(ch_summarize(x, 3, &got, &err), CH_E_RANGE);
    assert_string_equal(err.what, "reading 2 is nan");
    assert_int_equal(ch_summarize(x, 0, &got, NULL), CH_E_RANGE);
    assert_int_equal(ch_summarize(x + 3, 2, &got, NULL), CH_E_RANGE);
    assert_int_equal(got.n, 77);
}

static void summary_without_memory_leaves_everything_as_it_was(void **state)
{
    (void)state;
    const double x[] = {1.0, 2.0, 3.0};
    ch_summary got = {.n = 77};
    fail_alloc_at(1);
    const ch_status status = ch_summarize(x, 3, &got, NULL);
    assert_true(fail_alloc_stop());
    assert_int_equal(status, CH_E_MEMORY);
    assert_int_equal(got.n, 77);
}

typedef struct anova_set {
    double y[400];
    size_t size[40], groups;
} anova_set;

static void anova_read(const strd *set, anova_set *out)
{
    double rows[2 * 400];
    const size_t n = strd_rows(set, 61, 2, rows, 400);
    memset(out, 0, sizeof *out);
    for (size_t i = 0; i < n; i++) {
        const size_t group = (size_t)rows[2 * i];
        out->y[i] = rows[2 * i + 1];
        out->size[group - 1]++;
        out->groups = group > out->groups ? group : out->groups;
    }
}

static void expect_anova(const char *name, double digits)
{
    strd set = strd_open(name);
    anova_set data;
    anova_read(&set, &data);
    ch_anova got;
    assert_int_equal(ch_anova_one_way(data.y, data.size, data.groups, &got, NULL), CH_OK);
    double between[4], within[3];
    const char *first = strstr(name, "SiRstv") != NULL ? "Between Instrument" : "Between Treatment";
    const char *second = strstr(name, "SiRstv") != NULL ? "Within Instrument" : "Within Treatment";
    assert_int_equal(strd_labelled(&set, first, between, 4), 4);
    assert_int_equal(strd_labelled(&set, second, within, 3), 3);
    assert_true(got.df_between == between[0] && got.df_within == within[0]);
    expect_digits(got.ss_between, between[1], digits);
    expect_digits(got.ms_between, between[2], digits);
    expect_digits(got.f, between[3], digits);
    expect_digits(got.ss_within, within[1], digits);
    expect_digits(got.ms_within, within[2], digits);
    expect_digits(got.r_squared, strd_value(&set, "Certified R-Squared"), digits);
    expect_digits(got.residual_sd, strd_value(&set, "Standard Deviation"), digits);
    double sd = NAN, df = NAN;
    assert_int_equal(ch_pooled_sd(data.y, data.size, data.groups, &sd, &df, NULL), CH_OK);
    expect_digits(sd, got.residual_sd, 15);
    assert_true(df == got.df_within);
    strd_close(&set);
}

static void anova_reaches_certified_digits(void **state)
{
    (void)state;
    /* SiRstv's resistances of 196 have a spacing of 3e-14 against a residual sd of 0.1: 12 digits is what is there. */
    expect_anova("anova/SiRstv.dat", 12);
    expect_anova("anova/SmLs01.dat", 14);
    expect_anova("anova/SmLs04.dat", 9);
}

/*
 * SmLs07 (higher difficulty) has 1e12 + 0.4: doubles there lie 1.2e-4 apart, 1e-3 of the residual sd, so after reading the
 * file into doubles two to three digits are all that is left of the certified answer.
 */
static void anova_of_smls07_reaches_what_a_double_holds(void **state)
{
    (void)state;
    expect_anova("anova/SmLs07.dat", 2);
}

/* Taking 1e12 off is exact in doubles, so the two analyses are of the same numbers: the method itself must lose nothing. */
static void anova_does_not_care_for_a_constant_of_1e12(void **state)
{
    (void)state;
    strd set = strd_open("anova/SmLs07.dat");
    anova_set data;
    anova_read(&set, &data);
    ch_anova high, low;
    assert_int_equal(ch_anova_one_way(data.y, data.size, data.groups, &high, NULL), CH_OK);
    for (size_t i = 0; i < high.n; i++)
        data.y[i] -= 1e12;
    assert_int_equal(ch_anova_one_way(data.y, data.size, data.groups, &low, NULL), CH_OK);
    expect_relative(high.f, low.f, 1e-14);
    expect_relative(high.ss_within, low.ss_within, 1e-14);
    strd_close(&set);
}

/* F table: 5 % point of F(2, 10) is 4.10 (NIST/SEMATECH e-Handbook 1.3.6.7.3, 4.103). */
static void anova_p_is_the_upper_tail_of_f(void **state)
{
    (void)state;
    /* Three groups, 13 readings; the third group is shifted until F meets the table, by bisection on the shift. */
    double y[13] = {1, 2, 3, 4, 1, 2, 3, 4, 1, 2, 3, 4, 5};
    const size_t size[3] = {4, 4, 5};
    ch_anova got = {0};
    double low = 0.0, high = 10.0;
    for (int step = 0; step < 60; step++) {
        const double shift = 0.5 * (low + high);
        for (size_t i = 0; i < 5; i++)
            y[8 + i] = (double)(i + 1) + shift;
        assert_int_equal(ch_anova_one_way(y, size, 3, &got, NULL), CH_OK);
        *(got.f < 4.103 ? &low : &high) = shift;
    }
    expect_close(got.p, 0.05, 5e-6); /* the table's three decimals: dp/dF = -0.008 */
}

static void anova_needs_groups_and_repeats(void **state)
{
    (void)state;
    const double y[] = {1.0, 2.0, 3.0};
    const size_t single[] = {1, 1, 1}, empty[] = {3, 0}, equal[] = {2, 1};
    ch_anova got = {.n = 77};
    assert_int_equal(ch_anova_one_way(y, single, 3, &got, NULL), CH_E_RANGE);
    assert_int_equal(ch_anova_one_way(y, empty, 2, &got, NULL), CH_E_RANGE);
    assert_int_equal(ch_anova_one_way(y, single, 1, &got, NULL), CH_E_RANGE);
    const double unknown[] = {1.0, NAN, 3.0};
    assert_int_equal(ch_anova_one_way(unknown, equal, 2, &got, NULL), CH_E_RANGE);
    assert_int_equal(got.n, 77);
    const double twins[] = {5.0, 5.0, 7.0};
    assert_int_equal(ch_anova_one_way(twins, equal, 2, &got, NULL), CH_OK);
    assert_true(isinf(got.f) && got.p == 0.0 && got.r_squared == 1.0);
}

/* Hand: groups 1 3 (ss 2, df 1), 10, 4 4 7 (ss 6, df 2): sqrt(8/3). */
static void pooled_sd_weighs_groups_by_their_freedom(void **state)
{
    (void)state;
    const double y[] = {1.0, 3.0, 10.0, 4.0, 4.0, 7.0};
    const size_t size[] = {2, 1, 0, 3};
    double sd = NAN, df = NAN;
    assert_int_equal(ch_pooled_sd(y, size, 4, &sd, &df, NULL), CH_OK);
    expect_relative(sd, sqrt(8.0 / 3.0), 1e-15);
    assert_true(df == 3.0);
    const size_t alone[] = {1, 1};
    assert_int_equal(ch_pooled_sd(y, alone, 2, &sd, &df, NULL), CH_OK);
    assert_true(isnan(sd) && df == 0.0);
}

/*
 * Grubbs, Technometrics 11 (1969), Table I, 2.5 % column (5 % two-sided): n = 3 to 10 (values from memory, printed to
 * three decimals).
 */
static void grubbs_critical_values_match_the_table(void **state)
{
    (void)state;
    const double table[] = {1.155, 1.481, 1.715, 1.887, 2.020, 2.126, 2.215, 2.290};
    for (size_t n = 3; n <= 10; n++)
        expect_close(ch_grubbs_critical(n, 0.05), table[n - 3], 0.0011); /* the print, one unit in its last place */
    assert_true(isnan(ch_grubbs_critical(2, 0.05)) && isnan(ch_grubbs_critical(5, 0.0)));
}

/* NIST/SEMATECH e-Handbook 1.3.5.17.1, mass spectrometer data: G = 2.4687, one-sided critical value 2.032 at 5 %, which is
 * the two-sided one at 10 % (numbers from memory). */
static void grubbs_flags_the_handbook_outlier(void **state)
{
    (void)state;
    const double x[] = {199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57};
    ch_outlier got;
    assert_int_equal(ch_outlier_find(x, 8, NAN, 0.0, 0.10, &got, NULL), CH_OK);
    expect_close(got.statistic, 2.4687, 1e-4); /* printed cut, not rounded: 2.46876 */
    expect_close(got.critical, 2.032, 5e-4);
    assert_true(got.flagged);
    assert_int_equal(got.suspect, 7);
    assert_int_equal(ch_outlier_find(x, 7, NAN, 0.0, 0.10, &got, NULL), CH_OK);
    assert_false(got.flagged);
}

/* 97.5 % points: normal 1.960, t with 5 degrees of freedom 2.571 (e-Handbook 1.3.6.7.2). */
static void two_repeats_are_judged_by_the_repeatability_of_others(void **state)
{
    (void)state;
    const double x[] = {170.0, 176.0};
    ch_outlier got;
    assert_int_equal(ch_outlier_find(x, 2, 2.0, 5.0, 0.05, &got, NULL), CH_OK);
    expect_relative(got.statistic, 6.0 / (2.0 * sqrt(2.0)), 1e-15);
    expect_close(got.critical, 2.571, 5e-4);
    assert_false(got.flagged);
    assert_int_equal(got.suspect, 2);
    assert_int_equal(ch_outlier_find(x, 2, 2.0, INFINITY, 0.05, &got, NULL), CH_OK);
    expect_close(got.critical, 1.960, 5e-4);
    assert_true(got.flagged);
    assert_int_equal(ch_outlier_find(x, 2, NAN, 0.0, 0.05, &got, NULL), CH_OK);
    assert_true(isnan(got.statistic) && !got.flagged);
}

static void readings_without_scatter_are_never_flagged(void **state)
{
    (void)state;
    const double x[] = {170.0, 170.0, 170.0};
    ch_outlier got;
    assert_int_equal(ch_outlier_find(x, 3, NAN, 0.0, 0.05, &got, NULL), CH_OK);
    assert_true(!got.flagged && got.statistic == 0.0);
    assert_int_equal(ch_outlier_find(x, 1, NAN, 0.0, 0.05, &got, NULL), CH_OK);
    assert_true(!got.flagged && isnan(got.statistic));
    assert_int_equal(ch_outlier_find(x, 3, NAN, 0.0, 1.5, &got, NULL), CH_E_RANGE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(univariate_sets_reach_their_certified_digits),
        cmocka_unit_test(univariate_sets_of_decimals_reach_what_a_double_holds),
        cmocka_unit_test(median_and_mad_match_hand_values),
        cmocka_unit_test(quantile_interpolates_between_order_statistics),
        cmocka_unit_test(quantiles_among_infinite_and_very_large_values_are_such_or_finite),
        cmocka_unit_test(what_one_reading_cannot_tell_is_nan),
        cmocka_unit_test(readings_that_are_not_numbers_are_refused),
        cmocka_unit_test(summary_without_memory_leaves_everything_as_it_was),
        cmocka_unit_test(anova_reaches_certified_digits),
        cmocka_unit_test(anova_of_smls07_reaches_what_a_double_holds),
        cmocka_unit_test(anova_does_not_care_for_a_constant_of_1e12),
        cmocka_unit_test(anova_p_is_the_upper_tail_of_f),
        cmocka_unit_test(anova_needs_groups_and_repeats),
        cmocka_unit_test(pooled_sd_weighs_groups_by_their_freedom),
        cmocka_unit_test(grubbs_critical_values_match_the_table),
        cmocka_unit_test(grubbs_flags_the_handbook_outlier),
        cmocka_unit_test(two_repeats_are_judged_by_the_repeatability_of_others),
        cmocka_unit_test(readings_without_scatter_are_never_flagged),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
