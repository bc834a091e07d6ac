/*
 * Promises of judge/order.c, on readings drawn at random: whether readings fall in the order taken, how far and how surely, against a least-squares line with a
 * level for each cylinder, solved as it stands in textbooks, and against all orders in which the same readings could have been taken.
 */
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_linalg.h>
#include <stdlib.h>

#include "crosshatch/sampling.h"
#include "judge_sheets.h"

enum { ROWS_MAX = 14, CYLINDERS = 4 }; /* one more cylinder is of the engine, and only some cases use it */

static ch_judgement judgement;
static int cylinder_of[ROWS_MAX];
static double psi[ROWS_MAX];
static size_t rows;
static const char *typed = "psi"; /* the unit of `psi` */

static const ch_question *falling(void)
{
    for (size_t i = 0; i < judgement.question_count; i++)
        if (judgement.question[i].kind == CH_QUESTION_FALLING)
            return &judgement.question[i];
    return NULL;
}

static void question(void)
{
    char text[2000];
    size_t used = (size_t)sprintf(text, "{sheet: 1, units: {pressure: %s}, engine: {cylinders: %d}, compression: [",
                                  typed, CYLINDERS + 1);
    for (size_t i = 0; i < rows; i++)
        used += (size_t)sprintf(text + used, "%s{cylinder: %d, reading: %.2f}", i > 0 ? ", " : "", cylinder_of[i] + 1,
                                psi[i]);
    sprintf(text + used, "]}");
    ch_sheet sheet;
    ch_setup setup;
    judge_readings readings;
    judge_repeatability scatter;
    judge_bounds bounds = {.ideal_pa = INFINITY};
    sheet_of(text, &sheet);
    setup_of(&sheet, &setup);
    memset(&judgement, 0, sizeof judgement);
    assert_int_equal(judge_readings_collect(&sheet, &readings, NULL), CH_OK);
    assert_int_equal(judge_repeats(&sheet, &setup, NULL, &readings, &judgement, &scatter, NULL), CH_OK);
    readings.size[readings.cylinders] = readings.n; /* a cylinder beyond, which nobody may look at */
    const judge_asked asked = {&sheet, &setup, &readings, &scatter, &bounds, ch_unit_find("psi", 3), NULL};
    assert_int_equal(judge_questions_of_rows(&asked, &judgement, NULL), CH_OK);
    judge_readings_clear(&readings);
    ch_sheet_clear(&sheet);
}

/* The slope beside a level for each cylinder: value, its part of the inverse normal matrix, what is left, degrees of freedom. */
static void line_with_levels(double *slope, double *inverse, double *left, double *df)
{
    int column[CYLINDERS], columns = 1;
    for (int c = 0; c < CYLINDERS; c++) {
        column[c] = -1;
        for (size_t i = 0; i < rows && column[c] < 0; i++)
            if (cylinder_of[i] == c)
                column[c] = columns++;
    }
    const size_t n = (size_t)columns;
    gsl_matrix *a = gsl_matrix_calloc(n, n);
    gsl_vector *b = gsl_vector_calloc(n), *first = gsl_vector_calloc(n);
    for (size_t i = 0; i < rows; i++) {
        double x[CYLINDERS + 1] = {(double)i};
        x[column[cylinder_of[i]]] = 1.0;
        for (size_t p = 0; p < n; p++) {
            gsl_vector_set(b, p, gsl_vector_get(b, p) + x[p] * psi[i]);
            for (size_t q = 0; q < n; q++)
                gsl_matrix_set(a, p, q, gsl_matrix_get(a, p, q) + x[p] * x[q]);
        }
    }
    gsl_vector_set(first, 0, 1.0);
    assert_int_equal(gsl_linalg_cholesky_decomp1(a), 0);
    gsl_linalg_cholesky_svx(a, b);
    gsl_linalg_cholesky_svx(a, first);
    *slope = gsl_vector_get(b, 0);
    *inverse = gsl_vector_get(first, 0);
    *left = 0.0;
    for (size_t i = 0; i < rows; i++) {
        const double off = psi[i] - *slope * (double)i - gsl_vector_get(b, (size_t)column[cylinder_of[i]]);
        *left += off * off;
    }
    *df = (double)rows - (double)n;
    gsl_vector_free(first);
    gsl_vector_free(b);
    gsl_matrix_free(a);
}

/* docs/method-judging.md: what the repeats lack of three degrees of freedom is filled up with the default scatter, 1.5 % of the mean, of no less than 700 kPa. */
static void repeats_fall_as_a_line_with_a_level_for_each_cylinder_says(void **state)
{
    (void)state;
    size_t met = 0, not_met = 0;
    for (uint64_t round = 0; round < 150; round++) {
        ch_stream stream;
        ch_stream_init(&stream, 11, round);
        const double fall = 30.0 * ch_stream_uniform(&stream) - 5.0, level = round % 5 == 0 ? 60.0 : 165.0;
        double mean = 0.0;
        rows = 3 + (size_t)((ROWS_MAX - 2) * ch_stream_uniform(&stream));
        for (size_t i = 0; i < rows; i++) {
            cylinder_of[i] = i == rows - 1 ? cylinder_of[0] : (int)(CYLINDERS * ch_stream_uniform(&stream));
            psi[i] = rint(100.0 * (level + 3.0 * cylinder_of[i] - fall * (double)i / (double)rows +
                                   1.5 * ch_stream_normal(&stream))) /
                     100.0;
            mean += psi[i] / (double)rows;
        }
        double sum = 0.0;
        for (size_t i = 0; i < rows; i++)
            sum += psi[i];
        mean = sum / (double)rows;
        double slope, inverse, left, df;
        line_with_levels(&slope, &inverse, &left, &df);
        const double filled = fmax(3.0 - df, 0.0), usual = 0.015 * fmax(mean, 700e3 / PSI),
                     sd = sqrt((left + filled * usual * usual) / (df + filled)),
                     p = gsl_cdf_tdist_P(slope / (sd * sqrt(inverse)), df + filled),
                     falls = -slope * ((double)rows - 1.0);
        question();
        const ch_question *asked = falling();
        const bool wanted = p < 0.05 && falls > 0.03 * mean && falls < 0.35 * mean;
        assert_int_equal(asked != NULL, wanted);
        met += wanted;
        not_met += !wanted;
        if (asked == NULL)
            continue;
        expect_close(asked->weight_1, 1.0 - p, 1e-6);
        assert_true(asked->cylinder == 0 && asked->row == SIZE_MAX);
        assert_non_null(strstr(asked->text, "in the same cylinder"));
        char some[32];
        snprintf(some, sizeof some, "by some %.0f psi", falls);
        if (fabs(falls - rint(falls)) < 0.4) /* rounded the same way */
            assert_non_null(strstr(asked->text, some));
    }
    assert_true(met > 30 && not_met > 30);
}

static double falls_of_ranks(const double x[], size_t n)
{
    double s = 0.0;
    for (size_t i = 0; i < n; i++)
        for (size_t k = i + 1; k < n; k++)
            s += x[i] < x[k] ? 1.0 : x[i] > x[k] ? -1.0 : 0.0;
    return s;
}

/* The chance, among all orders of the same readings, of a sum of falls as large: both tails, halved. */
static void among_all_orders(double x[], size_t at, size_t n, double s, size_t *as_large, size_t *all)
{
    if (at == n) {
        (*all)++;
        *as_large += fabs(falls_of_ranks(x, n)) >= fabs(s) - 0.5;
        return;
    }
    for (size_t i = at; i < n; i++) {
        const double kept = x[at];
        x[at] = x[i];
        x[i] = kept;
        among_all_orders(x, at + 1, n, s, as_large, all);
        x[i] = x[at];
        x[at] = kept;
    }
}

/* Without repeats: four cylinders, all orders of them. A fall of 4 to 35 % of the mean, less likely than 5 %. */
static void ranks_fall_as_all_orders_of_the_readings_say(void **state)
{
    (void)state;
    static const double ends[] = {0.030, 0.039, 0.041, 0.2, 0.34, 0.36};
    rows = CYLINDERS;
    for (size_t k = 0; k < sizeof ends / sizeof ends[0]; k++)
        for (int kind = 0; kind < 4; kind++) {
            static const int turn[4][CYLINDERS] = {{0, 1, 2, 3}, {3, 2, 1, 0}, {0, 2, 1, 3}, {1, 0, 3, 2}};
            double copy[CYLINDERS];
            for (int i = 0; i < CYLINDERS; i++) { /* of mean 160, evenly apart: the slope is the step */
                cylinder_of[i] = i;
                psi[i] = copy[i] = 160.0 - 160.0 * ends[k] / 3.0 * (turn[kind][i] - 1.5);
            }
            const double s = falls_of_ranks(psi, CYLINDERS);
            size_t as_large = 0, all = 0;
            among_all_orders(copy, 0, CYLINDERS, s, &as_large, &all);
            const double p = 0.5 * (double)as_large / (double)all;
            question();
            const bool wanted = s < 0.0 && p < 0.05 && ends[k] > 0.04 && ends[k] < 0.35;
            assert_int_equal(falling() != NULL, wanted);
            if (wanted) {
                expect_close(falling()->weight_1, 1.0 - p, 1e-9);
                assert_non_null(strstr(falling()->text, "Measure the first cylinder once more"));
            }
        }
}

/* Of three repeats: one that its two fellows leave standing alone is odd, and surely so; a spread without an odd one is only wide. docs/method-judging.md. */
static void three_repeats_of_which_one_is_odd_are_told_from_three_that_spread(void **state)
{
    (void)state;
    static const struct {
        double psi[3], weight_1;
        size_t row;
    } cases[] = {{{170.0, 178.0, 170.0}, 0.95, 1},
                 {{172.0, 160.0, 170.0}, 0.8, 1},
                 {{170.0, 172.0, 184.0}, 0.8, 2},
                 {{178.0, 178.0, 170.0}, 0.95, 2},
                 {{170.0, 174.0, 170.0}, 0.0, 0}};
    rows = 3;
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const ch_question *asked = NULL;
        for (int i = 0; i < 3; i++) {
            cylinder_of[i] = 2;
            psi[i] = cases[k].psi[i];
        }
        question();
        for (size_t i = 0; i < judgement.question_count; i++)
            if (judgement.question[i].kind == CH_QUESTION_REPEAT)
                asked = &judgement.question[i];
        assert_int_equal(asked != NULL, cases[k].weight_1 > 0.0);
        if (asked == NULL)
            continue;
        assert_int_equal(asked->cylinder, 3);
        assert_int_equal(asked->row, cases[k].row);
        expect_close(asked->weight_1, cases[k].weight_1, 1e-12);
    }
}

/* What is asked from where on, in kPa about 1000, where all is exact: a fall of just 3 or 35 % in repeats, of 4 and of 35 % in ranks is not asked about; two readings can tell of repeats, and
 * of ranks it takes four. A fall within one cylinder is not drawn out over the readings of others: 60 kPa in three readings of it are 60 kPa. */
static void a_fall_on_a_limit_is_not_asked_about(void **state)
{
    (void)state;
    static const struct {
        size_t rows;
        int cylinder[6];
        double kpa[6];
        const char *asked; /* NULL = nothing */
        double weight_1;
    } cases[] = {
        {5, {1, 1, 1, 1, 1}, {1015, 1007.5, 1000, 992.5, 985}, NULL, 0},
        {5, {1, 1, 1, 1, 1}, {1016, 1008, 1000, 992, 984}, "by some 5 psi", 1.0}, /* 32 kPa are 4.64 psi */
        {5, {1, 1, 1, 1, 1}, {1000, 1000, 1000, 1000, 1000}, NULL, 0},
        {5, {1, 1, 1, 1, 1}, {984, 992, 1000, 1008, 1016}, NULL, 0},
        {2, {2, 2}, {1200, 900}, "in the same cylinder:", -1},
        {4, {2, 2, 1, 1}, {1020, 980, 1030, 990}, "in the same cylinders:", -1},
        {5, {1, 1, 1, 1, 1}, {1175, 1087.5, 1000, 912.5, 825}, NULL, 0},
        {5, {1, 1, 1, 1, 1}, {1174, 1087, 1000, 913, 826}, "by some 50 psi", 1.0},
        /* 60 kPa are 8.7 psi; over five places they would be 21.8 */
        {6, {0, 0, 0, 1, 2, 3}, {1030, 1000, 970, 1000, 1000, 1000}, "by some 9 psi", -1},
        /* one of three stands apart by a number nobody would read; over all readings it would be more than any of them */
        {3, {0, 0, 0}, {1000, 1000, 70}, NULL, 0},
        {6, {0, 0, 0, 1, 2, 3}, {1000, 1000, 70, 1010, 1020, 1030}, NULL, 0},
        {2, {2, 3}, {1200, 900}, NULL, 0},
        {3, {1, 2, 3}, {1040, 1000, 960}, NULL, 0},
        {4, {1, 2, 3, 0}, {1030, 1010, 990, 970}, "by some 9 psi", 1.0 - 1.0 / 24.0}, /* 60 kPa are 8.7 psi */
        {5, {0, 1, 2, 3, -1}, {1020, 1010, 1000, 990, 980}, NULL, 0},
        {5, {0, 1, 2, 3, -1}, {1021, 1010.5, 1000, 989.5, 979}, "by some 6 psi", 1.0 - 1.0 / 120.0},
        {5, {0, 1, 2, 3, -1}, {1175, 1087.5, 1000, 912.5, 825}, NULL, 0},
        {5, {0, 1, 2, 3, -1}, {1174, 1087, 1000, 913, 826}, "by some 50 psi", 1.0 - 1.0 / 120.0}};
    typed = "kPa";
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++) {
        rows = cases[k].rows;
        for (size_t i = 0; i < rows; i++) {
            cylinder_of[i] = cases[k].cylinder[i] < 0 ? CYLINDERS : cases[k].cylinder[i];
            psi[i] = cases[k].kpa[i];
        }
        question();
        const ch_question *asked = falling();
        assert_int_equal(asked != NULL, cases[k].asked != NULL);
        if (asked == NULL)
            continue;
        assert_non_null(strstr(asked->text, cases[k].asked));
        if (cases[k].weight_1 > 0.0)
            expect_close(asked->weight_1, cases[k].weight_1, 1e-9);
    }
    typed = "psi";
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(repeats_fall_as_a_line_with_a_level_for_each_cylinder_says),
        cmocka_unit_test(ranks_fall_as_all_orders_of_the_readings_say),
        cmocka_unit_test(a_fall_on_a_limit_is_not_asked_about),
        cmocka_unit_test(three_repeats_of_which_one_is_odd_are_told_from_three_that_spread),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
