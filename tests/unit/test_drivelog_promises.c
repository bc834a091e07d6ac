/*
 * docs/driveline-log.md, sentence by sentence: what is read, repaired and refused, as far as the other tests of the log reader do not say it already
 * (test_drivelog.c: dialects, clocks, slower channels, segments; test_drivelog_broken.c: whole broken logs).
 */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drivelog_text.h"
#include "expect.h"

static const double RAD_S_PER_RPM = 0.10471975511965977; /* pi/30 */

/* The reading ends with this refusal, and says what would be right. */
static void refused(const char *words, const ch_drivelog_options *options)
{
    read_log log;
    read_log_text(&log, text, used, 0, options);
    if (log.status >= 0 || strstr(log.err.what, words) == NULL)
        fail_msg("\"%s\" wanted, status %d, \"%s\"\n%.200s", words, (int)log.status, log.err.what, text);
    assert_true(log.err.right[0] != '\0' || log.status == CH_E_LIMIT);
    read_log_clear(&log);
}

static double rpm_of(const read_log *log, size_t row)
{
    return log->value[CH_DRIVELOG_ENGINE][row] / RAD_S_PER_RPM;
}

static double kmh_of(const read_log *log, size_t row)
{
    return log->value[CH_DRIVELOG_ROAD][row] * 3.6;
}

/* `rows` rows of a plain log from a row number on, 20 a second, with more cells behind. */
static void rows_from(size_t first, size_t rows, const char *more)
{
    for (size_t i = first; i < first + rows; i++)
        put("%.2f,%zu,%.1f%s\n", (double)i * 0.05, 2000 + 5 * (i % 200), 60 + (double)(i % 200) * 0.15, more);
}

/* ---------------------------------------------------------------- what is read */

static void utf16_without_a_mark_is_known_by_its_zeros(void **state)
{
    (void)state;
    for (int big = 0; big <= 1; big++) {
        char wide[4000];
        read_log log;
        start("time (s),rpm,speed (km/h)\n");
        rows_from(0, 40, "");
        for (size_t i = 0; i < used; i++) {
            wide[2 * i + (size_t)big] = text[i];
            wide[2 * i + 1 - (size_t)big] = '\0';
        }
        read_log_text(&log, wide, 2 * used, 0, NULL);
        assert_int_equal(log.status, CH_OK);
        assert_int_equal(log.report.encoding, big ? CH_DRIVELOG_UTF16BE : CH_DRIVELOG_UTF16LE);
        assert_int_equal(log.n, 40);
        expect_close(rpm_of(&log, 39), 2195, 1e-9);
        assert_non_null(strstr(log.told, "UTF-16"));
        read_log_clear(&log);
    }
}

static void a_quote_in_the_middle_of_a_cell_means_itself(void **state)
{
    (void)state;
    read_log log;
    start("time (s),note,rpm,speed (km/h)\n0.1,a 15\" wheel,2000,50\n0.2,\"a \"\"quoted\"\" one,\nin two "
          "lines\",2100,51\n0.3,plain,2200,52\n");
    read_it(&log, NULL);
    assert_int_equal(log.n, 3);
    expect_close(rpm_of(&log, 0), 2000, 1e-9);
    expect_close(rpm_of(&log, 1), 2100, 1e-9);
    assert_int_equal(log.line[2], 5);
    read_log_clear(&log);
}

static void words_for_nothing_are_no_value_and_words_for_switches_are_numbers(void **state)
{
    (void)state;
    static const char *const nothing[] = {"nan", "NaN", "null", "n/a", "N/A", "inf", "-", ""};
    static const struct {
        const char *word;
        double value;
    } switches[] = {{"on", 1}, {"off", 0}, {"true", 1}, {"false", 0}, {"TRUE", 1}, {"Off", 0}, {"1", 1}, {"0", 0}};
    read_log log;
    start("time (s),rpm,speed (km/h),throttle (%),clutch switch\n");
    for (size_t i = 0; i < 8; i++)
        put("%.1f,2000,50,%s,%s\n", (double)i * 0.1, nothing[i], switches[i].word);
    put("0.9,2000,50,40,0\n");
    read_it(&log, NULL);
    for (size_t i = 0; i < 8; i++) {
        assert_true(isnan(log.value[CH_DRIVELOG_THROTTLE][i]));
        expect_close(log.value[CH_DRIVELOG_CLUTCH][i], switches[i].value, 0);
    }
    assert_int_equal(log.report.columns[CH_DRIVELOG_THROTTLE].missing.n, 8);
    assert_int_equal(log.report.columns[CH_DRIVELOG_THROTTLE].missing.line, 2);
    assert_non_null(strstr(log.told, "line 2: throttle: 8 cells without a value"));
    read_log_clear(&log);
}

static void the_header_may_stand_in_any_of_the_first_two_hundred_rows(void **state)
{
    (void)state;
    for (int titles = 0; titles <= 210; titles += titles == 0 ? 190 : 10) {
        read_log log;
        start("");
        for (int i = 0; i < titles; i++)
            put("title %d\n", i);
        put("time (s),rpm,speed (km/h)\n");
        rows_from(0, 60, "");
        if (titles < 200) {
            read_it(&log, NULL);
            assert_int_equal(log.report.header_line, titles + 1);
            assert_int_equal(log.n, 60);
            read_log_clear(&log);
        } else if (titles > 200) {
            refused("", NULL);
        }
    }
}

static void a_unit_behind_the_number_is_converted(void **state)
{
    (void)state;
    read_log log;
    start("time,rpm,speed\n0.0 s,2000 rpm,50 km/h\n100 ms,2100 rpm,50 mph\n0.2 s,2200 rpm,50 m/s\n");
    read_it(&log, NULL);
    assert_int_equal(log.n, 3);
    expect_close(kmh_of(&log, 0), 50, 1e-9);
    expect_close(kmh_of(&log, 1), 50 * 1.609344, 1e-9);
    expect_close(kmh_of(&log, 2), 180, 1e-9);
    expect_close(log.value[CH_DRIVELOG_TIME][1], 0.1, 1e-9);
    read_log_clear(&log);
}

static void units_that_nobody_names_are_taken_by_size_and_said(void **state)
{
    (void)state;
    static const struct {
        const char *header, *cell;
        ch_drivelog_channel channel;
        double si;
        const char *said;
    } columns[] = {
        {"coolant", "195", CH_DRIVELOG_COOLANT, 363.7056, "taken as F"}, /* 195 F are 90.56 C */
        {"coolant", "363", CH_DRIVELOG_COOLANT, 363, "taken as K"},
        {"coolant", "90", CH_DRIVELOG_COOLANT, 363.15, "taken as C"},
        {"throttle", "80", CH_DRIVELOG_THROTTLE, 0.8, "taken as %"},
        {"long accel", "0.5", CH_DRIVELOG_ACCELERATION, 4.903325, "taken as g"},
        {"long accel", "5.5", CH_DRIVELOG_ACCELERATION, 5.5, "taken as m/s2"},
    };
    for (size_t i = 0; i < sizeof columns / sizeof columns[0]; i++) {
        char more[64];
        read_log log;
        start("");
        put("time (s),rpm,speed (km/h),%s\n", columns[i].header);
        snprintf(more, sizeof more, ",%s", columns[i].cell);
        rows_from(0, 60, more);
        read_it(&log, NULL);
        expect_close(log.value[columns[i].channel][30], columns[i].si, 1e-3);
        if (strstr(log.told, columns[i].said) == NULL)
            fail_msg("%s %s: %s", columns[i].header, columns[i].cell, log.told);
        read_log_clear(&log);
    }
}

static void spreadsheet_days_zones_and_doubtful_dates_are_read(void **state)
{
    (void)state;
    read_log log;
    start("time,rpm,speed (km/h)\n");
    for (int i = 0; i < 60; i++) /* one second is 1/86400 of a day */
        put("%.9f,2000,50\n", 46403.5 + i / 86400.0);
    read_it(&log, NULL);
    expect_close(log.value[CH_DRIVELOG_TIME][59], 59, 1e-3); /* nine decimals of a day are a tenth of a millisecond */
    read_log_clear(&log);
    start("time,rpm,speed (km/h)\n2027-01-16T12:03:04+01:00,2000,50\n2027-01-16T12:03:05+01:00,2000,50\n");
    read_it(&log, NULL);
    expect_close(log.value[CH_DRIVELOG_TIME][1], 1, 1e-6);
    read_log_clear(&log);
    /* The third of April: one day before the fourth, and not a month. */
    start("time,rpm,speed (km/h)\n03/04/2027 23:59:59,2000,50\n04/04/2027 00:00:00,2000,50\n");
    read_it(&log, NULL);
    expect_close(log.value[CH_DRIVELOG_TIME][1], 1, 1e-6);
    read_log_clear(&log);
}

/* ---------------------------------------------------------------- what is repaired */

static void counters_of_16_and_32_bits_are_carried_on(void **state)
{
    (void)state;
    static const double ends[] = {65536, 4294967296.0};
    for (size_t e = 0; e < 2; e++) {
        read_log log;
        start("time (ms),rpm,speed (km/h)\n");
        for (int i = 0; i < 100; i++)
            put("%.0f,2000,50\n", fmod(ends[e] - 1000 + i * 20.0, ends[e]));
        read_it(&log, NULL);
        assert_int_equal(log.n, 100);
        assert_int_equal(log.report.wraps.n, 1);
        expect_close(log.value[CH_DRIVELOG_TIME][99], 99 * 0.02, 1e-6);
        read_log_clear(&log);
    }
}

static void values_that_no_car_shows_are_taken_out_and_counted(void **state)
{
    (void)state;
    static const struct {
        size_t column;
        ch_drivelog_channel channel;
        const char *cell;
    } wrong[] = {
        {1, CH_DRIVELOG_ENGINE, "25001"}, {1, CH_DRIVELOG_ENGINE, "16383.75"},  {1, CH_DRIVELOG_ENGINE, "-100"},
        {2, CH_DRIVELOG_ROAD, "541"},     {3, CH_DRIVELOG_ACCELERATION, "5.1"}, {4, CH_DRIVELOG_COOLANT, "-51"},
        {4, CH_DRIVELOG_COOLANT, "201"},  {1, CH_DRIVELOG_ENGINE, "9000"},      {2, CH_DRIVELOG_ROAD, "160"},
    };
    for (size_t k = 0; k < sizeof wrong / sizeof wrong[0]; k++) {
        read_log log;
        start("time (s),rpm,speed (km/h),long accel (g),coolant (C)\n");
        for (int i = 0; i < 100; i++) {
            const char *cell[5] = {"", "2000", "50", "0.1", "90"};
            char stamp[16];
            snprintf(stamp, sizeof stamp, "%.2f", i * 0.05);
            cell[0] = stamp;
            if (i == 50)
                cell[wrong[k].column] = wrong[k].cell;
            put("%s,%s,%s,%s,%s\n", cell[0], cell[1], cell[2], cell[3], cell[4]);
        }
        read_it(&log, NULL);
        assert_int_equal(log.n, 100);
        if (!isnan(log.value[wrong[k].channel][50]) || log.report.columns[wrong[k].channel].glitches.n != 1)
            fail_msg("%s stays", wrong[k].cell);
        assert_int_equal(log.report.columns[wrong[k].channel].glitches.line, 52);
        assert_non_null(strstr(log.told, "that cannot be"));
        read_log_clear(&log);
    }
}

static void more_rows_under_one_stamp_than_any_clock_explains_are_left_out(void **state)
{
    (void)state;
    read_log log;
    start("time (s),rpm,speed (km/h)\n");
    rows_from(0, 40, "");
    for (int i = 0; i < 2000; i++)
        put("2.00,2000,60\n");
    rows_from(60, 40, "");
    read_it(&log, NULL);
    assert_int_equal(log.n, 80 + 1 + 512); /* the row itself and 512 that repeat its stamp */
    assert_int_equal(log.report.no_stamp.n + log.n, 2080);
    read_log_clear(&log);
}

static void trailing_empty_cells_are_fine_and_other_ragged_rows_left_out(void **state)
{
    (void)state;
    read_log log;
    start("time (s),rpm,speed (km/h)\n");
    rows_from(0, 30, ",");
    rows_from(30, 30, "");
    put("1.5,2000\n3.05,2000,60,7,8\n");
    rows_from(62, 30, "");
    read_it(&log, NULL);
    assert_int_equal(log.n, 90);
    assert_int_equal(log.report.ragged.n, 2);
    assert_int_equal(log.report.ragged.line, 62);
    read_log_clear(&log);
}

static void a_speed_that_disagrees_with_the_satellite_or_the_acceleration_is_doubted(void **state)
{
    (void)state;
    read_log log;
    start("time (s),rpm,speed (km/h),GPS speed (km/h)\n");
    for (int i = 0; i < 200; i++)
        put("%.2f,2000,%d,%d\n", i * 0.05, 62 + i, 100 + (16 * i) / 10);
    read_it(&log, NULL);
    assert_non_null(strstr(log.told, "of the GPS speed"));
    read_log_clear(&log);
    start("time (s),rpm,speed (km/h),long accel (m/s2)\n");
    for (int i = 0; i < 400; i++) { /* a speed that changes a tenth as fast as the acceleration says */
        const double s = i * 0.05;
        put("%.2f,2000,%.3f,%.3f\n", s, 60 + 3 * sin(s), 30 * cos(s) / 3.6);
    }
    read_it(&log, NULL);
    assert_non_null(strstr(log.told, "as the acceleration says"));
    read_log_clear(&log);
}

static void a_last_row_without_its_end_loses_no_more_than_may_be_cut(void **state)
{
    (void)state;
    read_log log;
    start("time (s),rpm,speed (km/h),throttle (%)\n");
    rows_from(0, 40, ",50");
    put("2.00,2000"); /* cut in the middle of a row */
    read_it(&log, NULL);
    assert_int_equal(log.n, 40);
    assert_int_equal(log.report.truncated.n, 1);
    read_log_clear(&log);
    start("time (s),rpm,speed (km/h),throttle (%)\n");
    rows_from(0, 40, ",50");
    put("2.00,2000,60,5"); /* perhaps 5, perhaps the beginning of 50 */
    read_it(&log, NULL);
    assert_int_equal(log.n, 41);
    expect_close(rpm_of(&log, 40), 2000, 1e-9);
    assert_true(isnan(log.value[CH_DRIVELOG_THROTTLE][40]));
    read_log_clear(&log);
}

/* ---------------------------------------------------------------- what is refused */

static void what_is_missing_is_named_with_the_names_that_are_there(void **state)
{
    (void)state;
    static const struct {
        const char *header, *says;
    } logs[] = {{"alpha,rpm,speed (km/h)\n", "time"},
                {"time (s),alpha,speed (km/h)\n", "engine"},
                {"time (s),rpm,alpha\n", "speed"}};
    for (size_t i = 0; i < 3; i++) {
        read_log log;
        start(logs[i].header);
        rows_from(0, 60, "");
        read_log_text(&log, text, used, 0, NULL);
        assert_int_equal(log.status, CH_E_INPUT);
        if (strstr(log.err.what, logs[i].says) == NULL || strstr(log.err.right, "alpha") == NULL)
            fail_msg("%s; %s", log.err.what, log.err.right);
        read_log_clear(&log);
    }
}

static void what_cannot_be_sure_is_refused(void **state)
{
    (void)state;
    /* A header and a units row that name different units. */
    start("time (s),rpm,speed (km/h)\ns,rpm,mph\n");
    rows_from(0, 60, "");
    refused("mph", NULL);
    /* More rows with the wrong number of cells than with the right one. */
    start("time (s),rpm,speed (km/h),throttle (%)\n");
    rows_from(0, 300, "");
    refused("cells", NULL);
    /* A quote that is never closed. */
    start("time (s),rpm,speed (km/h),note\n");
    rows_from(0, 30, ",\"a");
    put("\"b\n");
    refused("", NULL);
    /* A clock that never moves. */
    start("time (s),rpm,speed (km/h)\n");
    for (int i = 0; i < 3000; i++)
        put("5,2000,50\n");
    refused("", NULL);
    /* No number in the engine's column; none above 380; mostly beyond what an engine does. */
    static const char *const engines[] = {"abc", "379", "26000"};
    for (size_t e = 0; e < 3; e++) {
        start("time (s),rpm,speed (km/h)\n");
        for (int i = 0; i < 300; i++)
            put("%.2f,%s,%d\n", i * 0.05, engines[e], 50 + i % 10);
        refused("", NULL);
    }
    /* Columns chosen by hand that hold each other's numbers. */
    start("a,b,c\n");
    rows_from(0, 300, "");
    const ch_drivelog_options swapped = {
        .column = {[CH_DRIVELOG_TIME] = "a", [CH_DRIVELOG_ENGINE] = "c", [CH_DRIVELOG_ROAD] = "b"}};
    refused("", &swapped);
    /* A row of more than 64 KiB; more than 1024 columns. */
    start("time (s),rpm,speed (km/h),note\n");
    rows_from(0, 30, ",x");
    put("1.5,2000,50,");
    for (int i = 0; i < 70000; i++)
        text[used++] = 'x';
    put("\n");
    refused("", NULL);
    start("time (s),rpm,speed (km/h)");
    for (int i = 3; i < 1025; i++)
        put(",c%d", i);
    put("\n");
    refused("", NULL);
}

static void the_driven_wheels_can_be_named_by_hand(void **state)
{
    (void)state;
    read_log log;
    start("time (s),rpm,speed (km/h),wheel RL (km/h)\n");
    rows_from(0, 60, ",72");
    const ch_drivelog_options driven = {.column = {[CH_DRIVELOG_DRIVEN] = "wheel RL (km/h)"}};
    read_it(&log, NULL);
    assert_true(isnan(log.value[CH_DRIVELOG_DRIVEN][10]));
    read_log_clear(&log);
    read_it(&log, &driven);
    expect_close(log.value[CH_DRIVELOG_DRIVEN][10], 20, 1e-9); /* 72 km/h */
    read_log_clear(&log);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(utf16_without_a_mark_is_known_by_its_zeros),
        cmocka_unit_test(a_quote_in_the_middle_of_a_cell_means_itself),
        cmocka_unit_test(words_for_nothing_are_no_value_and_words_for_switches_are_numbers),
        cmocka_unit_test(the_header_may_stand_in_any_of_the_first_two_hundred_rows),
        cmocka_unit_test(a_unit_behind_the_number_is_converted),
        cmocka_unit_test(units_that_nobody_names_are_taken_by_size_and_said),
        cmocka_unit_test(spreadsheet_days_zones_and_doubtful_dates_are_read),
        cmocka_unit_test(counters_of_16_and_32_bits_are_carried_on),
        cmocka_unit_test(values_that_no_car_shows_are_taken_out_and_counted),
        cmocka_unit_test(more_rows_under_one_stamp_than_any_clock_explains_are_left_out),
        cmocka_unit_test(trailing_empty_cells_are_fine_and_other_ragged_rows_left_out),
        cmocka_unit_test(a_speed_that_disagrees_with_the_satellite_or_the_acceleration_is_doubted),
        cmocka_unit_test(a_last_row_without_its_end_loses_no_more_than_may_be_cut),
        cmocka_unit_test(what_is_missing_is_named_with_the_names_that_are_there),
        cmocka_unit_test(what_cannot_be_sure_is_refused),
        cmocka_unit_test(the_driven_wheels_can_be_named_by_hand),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
