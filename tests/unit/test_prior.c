/* The sound engine against what makers print (tests/data/engines/SOURCE.md: each row names its manual and page), so that nobody moves a constant
 * of prior.h, a default of setup.c or the model itself away from the trade's figures without noticing. The fit: bench/study_prior.c. */
#include "crosshatch/prior.h"

#include <stdlib.h>

#include "crosshatch/expected.h"
#include "crosshatch/summary.h"
#include "engines.h"
#include "expect.h"

typedef struct outcome {
    int count;
    double log_1[ENGINES_MAX][3]; /* of the 5 %, 50 % and 95 % quantile over the published figure */
    double nominal_log_1[ENGINES_MAX];
} outcome;

static engines *all;
static outcome found;

static int predict_all(void **state)
{
    (void)state;
    const char *root = getenv("CROSSHATCH_SOURCE");
    char path[1024];
    snprintf(path, sizeof path, "%s/tests/data/engines/engines.csv", root == NULL ? "." : root);
    all = engines_read(path);
    ch_emulator *emulator = malloc(sizeof *emulator);
    bool good = all != NULL && emulator != NULL;
    for (int i = 0; good && i < all->count; i++) {
        const engine_row *row = &all->row[i];
        ch_setup setup;
        ch_doubts doubts;
        double quantile_pa[3];
        ch_err err = {0};
        const double none[CH_DOUBT_COUNT] = {0};
        good = ch_setup_from_sheet(&row->sheet, CH_PRIOR_UNSTATED_LIFT_M, &setup, &err) >= 0;
        if (!good)
            break;
        ch_doubts_from_setup(&setup, &doubts);
        good = ch_emulator_build(&setup, row->cylinders, &doubts, NULL, NULL, emulator, &err) >= 0 &&
               ch_expected_sound(emulator, &doubts, &setup, engines_gauge_u_1(&setup, row->standard_pa), 1,
                                 CH_EXPECTED_DRAWS, quantile_pa, &err) >= 0;
        for (int q = 0; good && q < 3; q++)
            found.log_1[i][q] = log(quantile_pa[q] / row->standard_pa);
        const double area_m2 = CH_PRIOR_RING_M2_PER_M * setup.cranking.bore.bore_m;
        found.nominal_log_1[i] = log(ch_emulator_reading_pa(emulator, none, area_m2) / row->standard_pa);
        found.count = i + 1;
    }
    free(emulator);
    return good ? 0 : -1;
}

static int drop_all(void **state)
{
    (void)state;
    engines_free(all);
    return 0;
}

/* ln(predicted/published) of the rows that print a standard; the median of the band, or the setup without any offset. */
static size_t errors(bool nominal, bool with_low_confidence, double error[ENGINES_MAX])
{
    size_t n = 0;
    for (int i = 0; i < found.count; i++)
        if (!all->row[i].at_least && (with_low_confidence || !all->row[i].low_confidence))
            error[n++] = nominal ? found.nominal_log_1[i] : found.log_1[i][1];
    return n;
}

static void every_published_engine_is_computed(void **state)
{
    (void)state;
    double error[ENGINES_MAX];
    assert_int_equal(found.count, 22);
    assert_int_equal(errors(false, true, error), 19); /* the other three print "or more" */
}

static void published_standards_are_met_on_average(void **state)
{
    (void)state;
    double error[ENGINES_MAX];
    const size_t n = errors(false, true, error);
    /* What is wanted on engines not fitted is 4 %; these were fitted, and stand at 0.1 %. 2 % is under one standard error of the mean. */
    expect_close(ch_mean(error, n), 0.0, 0.02);
    /* Without any offset the model reads higher than the middle of its band: most doubts cost more on one side than they give on the other. */
    const size_t m = errors(true, true, error);
    expect_close(ch_mean(error, m), 0.02, 0.03);
}

static void published_standards_scatter_no_more_than_books_do(void **state)
{
    (void)state;
    double error[ENGINES_MAX];
    const size_t sourced = errors(false, false, error);
    assert_true(ch_sd(error, sourced) < 0.11); /* stands at 10.8 % */
    const size_t n = errors(false, true, error);
    assert_true(ch_sd(error, n) < 0.125); /* stands at 11.7 % with the row that is recalled from memory */
}

static void published_standards_lie_in_the_sound_band(void **state)
{
    (void)state;
    int inside = 0, n = 0;
    double width[ENGINES_MAX];
    for (int i = 0; i < found.count; i++) {
        if (all->row[i].at_least)
            continue;
        inside += found.log_1[i][0] <= 0.0 && found.log_1[i][2] >= 0.0;
        width[n++] = exp(found.log_1[i][2] - found.log_1[i][1]) - exp(found.log_1[i][0] - found.log_1[i][1]);
    }
    /* 80 to 97 % are wanted: 16 to 18 of 19. More would be a band too wide to say anything. */
    assert_in_range(inside, 16, 18);
    ch_sort(width, (size_t)n);
    assert_true(ch_quantile_sorted(width, (size_t)n, 0.5) < 0.40);
    assert_true(ch_quantile_sorted(width, (size_t)n, 0.5) > 0.25);
}

static void printed_ranges_and_lower_bounds_agree_with_the_band(void **state)
{
    (void)state;
    for (int i = 0; i < found.count; i++) {
        const engine_row *row = &all->row[i];
        const double high_pa = row->standard_pa * exp(found.log_1[i][2]);
        const double low_pa = row->standard_pa * exp(found.log_1[i][0]);
        /* A sound engine can read as the book's lower bound asks, and a printed range meets the band. */
        if (row->at_least)
            assert_true(high_pa > row->standard_pa);
        else if (row->range_pa[1] > row->range_pa[0])
            assert_true(high_pa > row->range_pa[0] && low_pa < row->range_pa[1]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_published_engine_is_computed),
        cmocka_unit_test(published_standards_are_met_on_average),
        cmocka_unit_test(published_standards_scatter_no_more_than_books_do),
        cmocka_unit_test(published_standards_lie_in_the_sound_band),
        cmocka_unit_test(printed_ranges_and_lower_bounds_agree_with_the_band),
    };
    return cmocka_run_group_tests(tests, predict_all, drop_all);
}
