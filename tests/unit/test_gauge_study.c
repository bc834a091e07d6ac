/* Promises of numbers/gauge_study.c. Data: tests/data/gauge-rr (AIAG MSA, 4th ed. 2010, ch. III, sec. B). */
#include "crosshatch/gauge_study.h"
#include "crosshatch/sampling.h"
#include "expect.h"

#include <stdlib.h>
#include <string.h>

enum { PERSONS = 3, PARTS = 10, TRIALS = 3, READINGS = PERSONS * PARTS * TRIALS };

static void read_study(double y[READINGS])
{
    char path[1024], line[100];
    snprintf(path, sizeof path, "%s/tests/data/gauge-rr/aiag_msa4_study.csv", getenv("CROSSHATCH_SOURCE"));
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    assert_non_null(fgets(line, sizeof line, file));
    size_t rows = 0;
    while (fgets(line, sizeof line, file) != NULL) {
        char person = '?';
        unsigned trial = 0, part = 0;
        double value = NAN;
        assert_int_equal(sscanf(line, "%c,%u,%u,%lf", &person, &trial, &part, &value), 4);
        y[((size_t)(person - 'A') * PARTS + (part - 1)) * TRIALS + (trial - 1)] = value;
        rows++;
    }
    fclose(file);
    assert_int_equal(rows, READINGS);
}

static double published(const char *quantity)
{
    char path[1024], line[200];
    snprintf(path, sizeof path, "%s/tests/data/gauge-rr/aiag_msa4_results_range_method.csv",
             getenv("CROSSHATCH_SOURCE"));
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    double value = NAN;
    while (isnan(value) && fgets(line, sizeof line, file) != NULL)
        if (strncmp(line, quantity, strlen(quantity)) == 0 && line[strlen(quantity)] == ',')
            value = strtod(line + strlen(quantity) + 1, NULL);
    fclose(file);
    return value;
}

/* MSA-4, figure III-B 15. The print works from means rounded to three or four decimals: up to 6e-5 in AV, 4e-5 elsewhere. */
static void range_method_matches_the_manual(void **state)
{
    (void)state;
    double y[READINGS];
    read_study(y);
    ch_gauge_study got;
    assert_int_equal(ch_gauge_study_evaluate(y, PERSONS, PARTS, TRIALS, 0.05, &got, NULL), CH_OK);
    expect_close(got.range.repeatability, published("EV"), 5e-5);
    expect_close(got.range.reproducibility, published("AV"), 6e-5);
    expect_close(got.range.gauge, published("GRR"), 5e-5);
    expect_close(got.range.part, published("PV"), 5e-5);
    expect_close(got.range.total, published("TV"), 5e-5);
    expect_close(100.0 * got.range.gauge / got.range.total, published("pct_GRR"), 0.01);
    assert_true(got.range.categories == published("ndc"));
}

/* MSA-4, tables III-B 7 and III-B 8 (values as quoted in the tests of independent open-source statistics packages). */
static void anova_method_matches_the_manual(void **state)
{
    (void)state;
    double y[READINGS];
    read_study(y);
    ch_gauge_study got;
    assert_int_equal(ch_gauge_study_evaluate(y, PERSONS, PARTS, TRIALS, 0.05, &got, NULL), CH_OK);
    expect_close(got.person.ss, 3.1673, 5e-5);
    expect_close(got.part.ss, 88.3619, 5e-5);
    expect_close(got.interaction.ss, 0.3590, 5e-5);
    expect_close(got.repeat.ss, 2.7589, 5e-5);
    assert_true(got.person.df == 2.0 && got.part.df == 9.0 && got.interaction.df == 18.0 && got.repeat.df == 60.0);
    expect_close(got.interaction_f, 0.434, 5e-4);
    expect_close(got.interaction_p, 0.974, 5e-4);
    assert_true(got.pooled);
    expect_close(got.anova.repeatability, 0.199933, 5e-7);
    expect_close(got.anova.reproducibility, 0.226838, 5e-7);
    assert_true(got.anova.interaction == 0.0);
    expect_close(got.anova.gauge, 0.302373, 2e-6); /* unrounded it is 0.3023715; the print carries rounded parts */
    expect_close(got.anova.part, 1.042327, 5e-7);
    expect_close(got.anova.total, 1.085, 5e-4);
    assert_true(got.anova.categories == 4.0);
}

/* The four sums of squares share out the whole; without pooling the repeatability is the interaction-free one. */
static void sums_of_squares_share_out_the_whole(void **state)
{
    (void)state;
    double y[READINGS], mean = 0.0, whole = 0.0;
    read_study(y);
    for (size_t i = 0; i < READINGS; i++)
        mean += y[i] / READINGS;
    for (size_t i = 0; i < READINGS; i++)
        whole += (y[i] - mean) * (y[i] - mean);
    ch_gauge_study got;
    assert_int_equal(ch_gauge_study_evaluate(y, PERSONS, PARTS, TRIALS, 1.0, &got, NULL), CH_OK);
    expect_relative(got.person.ss + got.part.ss + got.interaction.ss + got.repeat.ss, whole, 1e-13);
    expect_close(whole, 94.6471, 5e-5); /* MSA-4, table III-B 7, total */
    assert_false(got.pooled);
    expect_relative(got.anova.repeatability, sqrt(got.repeat.ms), 1e-15);
}

/*
 * Known components in, the same out: 30 people, 30 parts, 4 trials of N(0, 3^2) + N(0, 5^2) + N(0, 2^2) + N(0, 1). Relative sd of an estimate
 * from k degrees of freedom is 1/sqrt(2 k): 13 % for 29 people, so 4 of them is half; the others have more freedom.
 */
static void invented_components_come_back(void **state)
{
    (void)state;
    enum { A = 30, B = 30, R = 4 };
    static double y[A * B * R];
    double person[A], part[B];
    ch_stream stream;
    ch_stream_init(&stream, 2010, 0);
    for (size_t i = 0; i < A; i++)
        person[i] = 3.0 * ch_stream_normal(&stream);
    for (size_t j = 0; j < B; j++)
        part[j] = 5.0 * ch_stream_normal(&stream);
    for (size_t i = 0; i < A; i++)
        for (size_t j = 0; j < B; j++) {
            const double both = 2.0 * ch_stream_normal(&stream);
            for (size_t t = 0; t < R; t++)
                y[(i * B + j) * R + t] = 1000.0 + person[i] + part[j] + both + ch_stream_normal(&stream);
        }
    ch_gauge_study got;
    assert_int_equal(ch_gauge_study_evaluate(y, A, B, R, 0.05, &got, NULL), CH_OK);
    assert_false(got.pooled);
    expect_relative(got.anova.repeatability, 1.0, 4.0 / sqrt(2.0 * 2700.0));
    expect_relative(got.anova.interaction, 2.0, 4.5 / sqrt(2.0 * 841.0));
    expect_relative(got.anova.reproducibility, 3.0, 0.53);
    expect_relative(got.anova.part, 5.0, 0.53);
    assert_true(isnan(got.range.repeatability) && isnan(got.range.total)); /* no constants for 30 people */
}

static void perfect_repeats_leave_no_gauge_scatter(void **state)
{
    (void)state;
    const double y[] = {1.0, 1.0, 2.0, 2.0, 1.0, 1.0, 2.0, 2.0};
    ch_gauge_study got;
    assert_int_equal(ch_gauge_study_evaluate(y, 2, 2, 2, 0.05, &got, NULL), CH_OK);
    assert_true(got.anova.gauge == 0.0 && isnan(got.anova.categories) && isnan(got.interaction_p) && !got.pooled);
    expect_relative(got.anova.part, sqrt(0.5), 1e-15);
}

static void study_refuses_what_it_cannot_judge(void **state)
{
    (void)state;
    double y[] = {1.0, 1.1, 2.0, 2.2, 1.0, 1.3, 2.0, 2.1};
    ch_gauge_study got = {.interaction_f = 77.0};
    ch_err err = {0};
    assert_int_equal(ch_gauge_study_evaluate(y, 2, 2, 1, 0.05, &got, &err), CH_E_RANGE);
    assert_string_equal(err.what, "2 people, 2 parts, 1 trials");
    assert_int_equal(ch_gauge_study_evaluate(y, 2, 2, 2, NAN, &got, NULL), CH_E_RANGE);
    y[3] = NAN;
    assert_int_equal(ch_gauge_study_evaluate(y, 2, 2, 2, 0.05, &got, NULL), CH_E_RANGE);
    assert_true(got.interaction_f == 77.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(range_method_matches_the_manual),        cmocka_unit_test(anova_method_matches_the_manual),
        cmocka_unit_test(sums_of_squares_share_out_the_whole),    cmocka_unit_test(invented_components_come_back),
        cmocka_unit_test(perfect_repeats_leave_no_gauge_scatter), cmocka_unit_test(study_refuses_what_it_cannot_judge),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
