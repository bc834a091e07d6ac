/* Promises of car/gauge.c. */
#include <stdlib.h>
#include <string.h>

#include "crosshatch/sheet.h"
#include "expect.h"

static ch_sheet_gauge gauge_of(const char *accuracy, double span_pa)
{
    ch_sheet sheet;
    ch_sheet_init(&sheet);
    sheet.gauge.span.si = span_pa;
    assert_int_equal(ch_gauge_accuracy_parse(accuracy, strlen(accuracy), &sheet.gauge, NULL), CH_OK);
    return sheet.gauge;
}

/* Every grade and class against the recorded tables (tests/data/gauge-accuracy; the standards' tables from memory), at 10, 50 and 90 % of
 * the scale. */
static void grades_and_classes_match_the_recorded_tables(void **state)
{
    (void)state;
    static const struct {
        const char *file, *word;
    } table[] = {{"asme_b40_100_grades.csv", "grade"}, {"en837-1_classes.csv", "class"}};
    size_t rows = 0;
    for (size_t i = 0; i < 2; i++) {
        char path[1024], line[200];
        snprintf(path, sizeof path, "%s/tests/data/gauge-accuracy/%s", getenv("CROSSHATCH_SOURCE"), table[i].file);
        FILE *file = fopen(path, "r");
        assert_non_null(file);
        assert_non_null(fgets(line, sizeof line, file));
        while (fgets(line, sizeof line, file) != NULL) {
            char name[16], words[32];
            double lower = NAN, middle = NAN, upper = NAN;
            const int got = sscanf(line, "%15[^,],%lf,%lf,%lf", name, &lower, &middle, &upper);
            assert_true(got == 4 || got == 2);
            snprintf(words, sizeof words, "%s %s", table[i].word, name);
            const ch_sheet_gauge gauge = gauge_of(words, 20e5);
            expect_relative(ch_gauge_limit_pa(&gauge, 2e5), lower / 100.0 * 20e5, 1e-12);
            expect_relative(ch_gauge_limit_pa(&gauge, 10e5), (got == 4 ? middle : lower) / 100.0 * 20e5, 1e-12);
            expect_relative(ch_gauge_limit_pa(&gauge, 18e5), (got == 4 ? upper : lower) / 100.0 * 20e5, 1e-12);
            rows++;
        }
        fclose(file);
    }
    assert_int_equal(rows, 15);
}

/* Source: ASME B40.100, table of accuracy grades (from memory): grade B is 3-2-3 % of span; 300 psi, 150 psi: +-6 psi. */
static void a_grade_allows_less_in_the_middle_of_the_scale(void **state)
{
    (void)state;
    const double psi = 6894.757293168361;
    const ch_sheet_gauge b = gauge_of("grade B", 300 * psi);
    expect_relative(ch_gauge_limit_pa(&b, 150 * psi), 6 * psi, 1e-12);
    expect_relative(ch_gauge_limit_pa(&b, 74 * psi), 9 * psi, 1e-12);
    expect_relative(ch_gauge_limit_pa(&b, 226 * psi), 9 * psi, 1e-12);
    expect_relative(ch_gauge_limit_pa(&b, -5 * psi), 9 * psi, 1e-12);
    const ch_sheet_gauge a = gauge_of("Grade a", 300 * psi);
    expect_relative(ch_gauge_limit_pa(&a, 150 * psi), 3 * psi, 1e-12);
    expect_relative(ch_gauge_limit_pa(&a, 290 * psi), 6 * psi, 1e-12);
}

/* Source: EN 837-1:1996, accuracy classes (from memory): class 1.6 is 1.6 % of span, all over the scale. */
static void a_class_allows_the_same_everywhere(void **state)
{
    (void)state;
    const ch_sheet_gauge g = gauge_of(" class 1.6 ", 16e5);
    expect_relative(ch_gauge_limit_pa(&g, 1e5), 0.256e5, 1e-12);
    expect_relative(ch_gauge_limit_pa(&g, 15e5), 0.256e5, 1e-12);
    expect_relative(g.accuracy.si, 0.016, 1e-12);
    expect_relative(gauge_of("Class 1,6", 16e5).accuracy.si, 0.016,
                    1e-12); /* as dials print it where decimals have commas */
}

static void percent_of_reading_follows_the_reading(void **state)
{
    (void)state;
    const ch_sheet_gauge g = gauge_of("1,5 % of reading", NAN);
    expect_relative(ch_gauge_limit_pa(&g, 12e5), 0.18e5, 1e-12);
    expect_close(ch_gauge_limit_pa(&g, 0), 0, 0);
    const ch_sheet_gauge spanned = gauge_of("1 % OF READING", 20e5);
    expect_relative(ch_gauge_limit_pa(&spanned, 30e5), 0.2e5, 1e-12);
}

static void percent_alone_is_of_span(void **state)
{
    (void)state;
    static const char *const same[] = {"2%", "2 % of span", "2.0 percent of full scale"};
    for (size_t i = 0; i < 3; i++) {
        const ch_sheet_gauge g = gauge_of(same[i], 20e5);
        assert_int_equal(g.accuracy_kind, CH_ACCURACY_OF_SPAN);
        expect_relative(ch_gauge_limit_pa(&g, 1e5), 0.4e5, 1e-12);
    }
}

static void what_is_not_known_gives_no_limit(void **state)
{
    (void)state;
    const ch_sheet_gauge spanless = gauge_of("2 %", NAN), graded = gauge_of("grade B", NAN);
    assert_true(isnan(ch_gauge_limit_pa(&spanless, 1e5)));
    assert_true(isnan(ch_gauge_limit_pa(&graded, 1e5)));
    ch_sheet sheet;
    ch_sheet_init(&sheet);
    assert_true(isnan(ch_gauge_limit_pa(&sheet.gauge, 1e5)));
    const ch_sheet_gauge g = gauge_of("2 %", 20e5), reading = gauge_of("2 % of reading", 20e5);
    assert_true(isnan(ch_gauge_limit_pa(&g, NAN)) && isnan(ch_gauge_limit_pa(&reading, NAN)));
}

static void what_is_no_accuracy_is_refused(void **state)
{
    (void)state;
    static const char *const wrong[] = {"",    "2",    "grade E", "class 3",   "of span", "2 psi",
                                        "0 %", "-1 %", "26 %",    "2 % of it", "nan %"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        ch_sheet sheet;
        ch_sheet_init(&sheet);
        ch_err err = {0};
        assert_int_equal(ch_gauge_accuracy_parse(wrong[i], strlen(wrong[i]), &sheet.gauge, &err), CH_E_INPUT);
        assert_true(err.what[0] != '\0' && err.right[0] != '\0');
        assert_int_equal(sheet.gauge.accuracy_kind, CH_ACCURACY_UNSTATED);
    }
}

/* Gauges are sold with their accuracy as a pressure: the refusal says how to write it. */
static void a_pressure_as_accuracy_is_told_as_a_share(void **state)
{
    (void)state;
    static const char *const wrong[] = {"2 psi", "0.1 bar of span", "14 kPa of reading"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        ch_sheet sheet = {0};
        ch_err err = {0};
        assert_int_equal(ch_gauge_accuracy_parse(wrong[i], strlen(wrong[i]), &sheet.gauge, &err), CH_E_INPUT);
        assert_non_null(strstr(err.what, "is a pressure"));
        assert_non_null(strstr(err.right, "0.67 % of span"));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(grades_and_classes_match_the_recorded_tables),
        cmocka_unit_test(a_grade_allows_less_in_the_middle_of_the_scale),
        cmocka_unit_test(a_class_allows_the_same_everywhere),
        cmocka_unit_test(percent_of_reading_follows_the_reading),
        cmocka_unit_test(percent_alone_is_of_span),
        cmocka_unit_test(what_is_not_known_gives_no_limit),
        cmocka_unit_test(what_is_no_accuracy_is_refused),
        cmocka_unit_test(a_pressure_as_accuracy_is_told_as_a_share),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
