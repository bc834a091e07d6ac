/* Promises of the driveline log's report (drivelog_clean.c, drivelog_probe.c): every figure of it, counted another way on logs that are known exactly. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "drivelog_parts.h"
#include "drivelog_read.h"
#include "expect.h"

enum { ROOM = 400000, ROWS = 3000 };
static char text[ROOM];
static const double RAD_S_PER_RPM = 0.10471975511965977; /* pi/30 */

/* 20 Hz: engine speed new in each row, road speed in each fourth, the satellite 4 % slow, the acceleration exact; a gap of 2 s before row 2000. */
static double second_of(int i)
{
    return i * 0.05 + (i < 2000 ? 0.0 : 2.0);
}

static double road_of(int i)
{
    return 20.0 + 8.0 * sin(0.4 * second_of(i - i % 4)); /* m/s */
}

static size_t write_log(void)
{
    size_t used = (size_t)sprintf(text, "time (s),rpm,speed (m/s),GPS speed (m/s),long accel (m/s2),coolant (C)\n");
    for (int i = 0; i < ROWS; i++) {
        used += (size_t)sprintf(text + used, "%.2f,%d,%.4f,%.4f,%.4f,", second_of(i), 2000 + (i * 7) % 3000, road_of(i),
                                0.96 * road_of(i), 3.2 * cos(0.4 * second_of(i)));
        used += (size_t)sprintf(text + used, i % 10 == 0 ? "%d\n" : i == 77 ? "high\n" : "\n", 80 + i / 500);
    }
    return used;
}

static void every_figure_of_the_report_is_that_of_the_rows(void **state)
{
    (void)state;
    static const size_t pieces[] = {0, 777};
    const size_t used = write_log();
    for (size_t p = 0; p < 2; p++) {
        read_log log;
        read_log_text(&log, text, used, pieces[p], NULL);
        assert_int_equal(log.status, CH_OK);
        const ch_drivelog_report *r = &log.report;
        assert_int_equal(r->rows, ROWS);
        assert_int_equal(r->columns_n, 6);
        assert_int_equal(r->separator, ',');
        assert_int_equal(r->decimal, '.');
        assert_true(!r->quoted && !r->mark && r->header_line == 1 && r->units_line == 0);
        expect_close(r->median_interval_s, 0.05, 1e-9);
        expect_close(r->seconds, (ROWS - 2) * 0.05, 1e-6); /* all steps but the gap */
        expect_close(r->longest_gap_s, 2.05, 1e-9);
        assert_int_equal(r->gaps.n, 1);
        assert_int_equal(r->gaps.line, 2002); /* a header and two thousand rows stand ahead of it */
        double least = INFINITY, most = 0.0, product = 0.0, square = 0.0;
        size_t changes = 0;
        for (int i = 0; i < ROWS; i++) {
            least = fmin(least, road_of(i));
            most = fmax(most, road_of(i));
            changes += i == 0 || road_of(i) != road_of(i - 1);
            if (i > 0 && i != 2000) {
                const double a = 3.2 * cos(0.4 * second_of(i));
                product += (road_of(i) - road_of(i - 1)) * a;
                square += a * a * 0.05;
            }
        }
        const ch_drivelog_column *road = &r->columns[CH_DRIVELOG_ROAD], *engine = &r->columns[CH_DRIVELOG_ENGINE];
        expect_close(road->least_si, least, 1e-4);
        expect_close(road->most_si, most, 1e-4);
        assert_int_equal(road->values, ROWS);
        assert_int_equal(road->changes, changes);
        assert_int_equal(road->stale, ROWS - changes);
        assert_int_equal(road->missing.n + road->not_numbers.n + road->glitches.n + road->filled, 0);
        expect_relative(road->fresh_interval_s, (ROWS - 2) * 0.05 / (double)changes, 1e-3);
        expect_close(engine->least_si / RAD_S_PER_RPM, 2000.0, 1e-6);
        expect_close(engine->most_si / RAD_S_PER_RPM, 4999.0, 1e-6);
        expect_relative(engine->fresh_interval_s, 0.05, 1e-3);
        expect_relative(r->columns[CH_DRIVELOG_GPS].fresh_interval_s, road->fresh_interval_s, 1e-9);
        expect_relative(r->road_over_gps, 1.0 / 0.96, 1e-5); /* four decimals */
        /* Least squares of the change of speed on the acceleration, in one row of four each. Pieces end between rows, whose step counts for neither. */
        expect_relative(r->rate_over_acceleration, product / square, 0.02);
        const ch_drivelog_column *coolant = &r->columns[CH_DRIVELOG_COOLANT];
        assert_int_equal(coolant->not_numbers.n, 1);
        assert_int_equal(coolant->not_numbers.line, 79);
        assert_int_equal(coolant->values - coolant->filled, ROWS / 10);
        expect_close(coolant->least_si, 353.15, 1e-9);
        expect_close(coolant->most_si, 358.15, 1e-9);
        read_log_clear(&log);
    }
}

/* Many rows in one whole second: spread over it, whatever the pieces that the log comes in. */
static void rows_of_one_second_are_spread_alike_in_any_pieces(void **state)
{
    (void)state;
    enum { EACH = 25, SECONDS = 300 };
    size_t used = (size_t)sprintf(text, "time (s),rpm,speed (km/h)\n");
    for (int i = 0; i < EACH * SECONDS; i++)
        used += (size_t)sprintf(text + used, "%d,%d,%d\n", i / EACH, 2000 + i % 300, 60 + (i / 9) % 30);
    static const size_t pieces[] = {0, 1000, 40000};
    for (size_t p = 0; p < 3; p++) {
        read_log log;
        read_log_text(&log, text, used, pieces[p], NULL);
        assert_int_equal(log.status, CH_OK);
        assert_int_equal(log.n, EACH * SECONDS);
        for (size_t i = 0; i < log.n; i++)
            expect_close(log.value[CH_DRIVELOG_TIME][i] - log.value[CH_DRIVELOG_TIME][0], (double)i / EACH, 1.0 / EACH);
        for (size_t i = 1; i < log.n; i++)
            expect_close(log.value[CH_DRIVELOG_TIME][i] - log.value[CH_DRIVELOG_TIME][i - 1], 1.0 / EACH, 0.002);
        assert_int_equal(log.report.repeated.n, (EACH - 1) * SECONDS);
        assert_int_equal(log.report.gaps.n, 0);
        read_log_clear(&log);
    }
}

static void whole_numbers_have_a_point_for_a_mark(void **state)
{
    (void)state;
    size_t used = (size_t)sprintf(text, "time (ms);rpm;speed (km/h)\n");
    for (int i = 0; i < 60; i++)
        used += (size_t)sprintf(text + used, "%d;%d;%d\n", 50 * i, 2000 + i, 60 + i / 4);
    read_log log;
    read_log_text(&log, text, used, 0, NULL);
    assert_int_equal(log.status, CH_OK);
    assert_int_equal(log.report.decimal, '.');
    assert_int_equal(log.report.separator, ';');
    read_log_clear(&log);
}

/* One letter in the first bytes that is not of Latin-1 has no zero: still UTF-16. */
static void utf16_with_a_letter_of_another_alphabet_is_known(void **state)
{
    (void)state;
    static char wide[8000];
    size_t used = (size_t)sprintf(text, "#@\ntime (s),rpm,speed (km/h)\n");
    for (int i = 0; i < 40; i++)
        used += (size_t)sprintf(text + used, "%.2f,%d,%d\n", i * 0.05, 2000 + i, 60 + i / 4);
    for (int big = 0; big <= 1; big++) {
        for (size_t i = 0; i < used; i++) {
            wide[2 * i + (size_t)big] = text[i];
            wide[2 * i + 1 - (size_t)big] = '\0';
        }
        wide[2 + big] = 0x16; /* U+0416 */
        wide[3 - big] = 0x04;
        read_log log;
        read_log_text(&log, wide, 2 * used, 0, NULL);
        assert_int_equal(log.status, CH_OK);
        assert_int_equal(log.report.encoding, big ? CH_DRIVELOG_UTF16BE : CH_DRIVELOG_UTF16LE);
        assert_int_equal(log.n, 40);
        read_log_clear(&log);
    }
}

/* Of two columns that fit, the one whose name says no more than that is taken. */
static void the_plainer_of_two_names_wins(void **state)
{
    (void)state;
    static const char *const headers[] = {"time (s),rpm,vehicle speed trap (km/h),vehicle speed (km/h)\n",
                                          "time (s),rpm,vehicle speed (km/h),vehicle speed trap (km/h)\n"};
    for (size_t h = 0; h < 2; h++) {
        size_t used = (size_t)sprintf(text, "%s", headers[h]);
        for (int i = 0; i < 60; i++)
            used += (size_t)sprintf(text + used, "%.2f,%d,%d,%d\n", i * 0.05, 2000 + i, 60 + i, 61 + i);
        read_log log;
        read_log_text(&log, text, used, 0, NULL);
        assert_int_equal(log.status, CH_OK);
        assert_string_equal(log.report.columns[CH_DRIVELOG_ROAD].name, "vehicle speed (km/h)");
        assert_int_equal(log.report.columns[CH_DRIVELOG_ROAD].rivals, 0);
        read_log_clear(&log);
    }
}

/* A name may say up to two words more than the channel's own, and each costs it something; fillers cost nothing. */
static void a_name_fits_the_better_the_less_else_it_says(void **state)
{
    (void)state;
    static const char *const names[] = {"vehicle speed (km/h)", "vehicle speed trap (km/h)",
                                        "vehicle speed trap alpha (km/h)", "vehicle speed trap alpha beta (km/h)"};
    int last = 1000;
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        log_header header;
        log_header_read((log_slice){names[i], strlen(names[i])}, &header);
        const int fits = log_header_fits(&header, CH_DRIVELOG_ROAD);
        assert_true(i < 3 ? fits > 0 && fits < last : fits == 0);
        last = fits;
    }
    log_header plain, unit;
    log_header_read((log_slice){"vehicle speed", 13}, &plain);
    log_header_read((log_slice){names[0], strlen(names[0])}, &unit);
    assert_true(log_header_fits(&unit, CH_DRIVELOG_ROAD) > log_header_fits(&plain, CH_DRIVELOG_ROAD));
    assert_int_equal(log_header_fits(&unit, CH_DRIVELOG_ENGINE), 0);
}

static void remarks_ahead_of_the_header_are_counted(void **state)
{
    (void)state;
    for (int n = 0; n < 5; n++) {
        size_t used = 0;
        for (int i = 0; i < n; i++)
            used += (size_t)sprintf(text + used, "# written by hand\n");
        used += (size_t)sprintf(text + used, "time (s),rpm,speed (km/h)\n");
        for (int i = 0; i < 40; i++)
            used += (size_t)sprintf(text + used, "%.2f,%d,%d\n", i * 0.05, 2000 + i, 60 + i);
        read_log log;
        read_log_text(&log, text, used, 0, NULL);
        assert_int_equal(log.status, CH_OK);
        assert_int_equal(log.report.comments.n, n);
        assert_int_equal(log.report.header_line, n + 1);
        assert_int_equal(log.n, 40);
        read_log_clear(&log);
    }
}

static void remarks_ahead_of_a_log_without_a_header_are_counted(void **state)
{
    (void)state;
    const ch_drivelog_options options = {
        .column = {[CH_DRIVELOG_TIME] = "1", [CH_DRIVELOG_ENGINE] = "2", [CH_DRIVELOG_ROAD] = "3"},
        .unit = {[CH_DRIVELOG_ROAD] = "km/h"}};
    for (int n = 0; n < 4; n++) {
        size_t used = 0;
        for (int i = 0; i < n; i++)
            used += (size_t)sprintf(text + used, "# written by hand\n");
        for (int i = 0; i < 40; i++)
            used += (size_t)sprintf(text + used, "%.2f,%d,%d\n", i * 0.05, 2000 + i, 60 + i);
        read_log log;
        read_log_text(&log, text, used, 0, &options);
        assert_int_equal(log.status, CH_OK);
        assert_int_equal(log.report.header_line, 0);
        assert_int_equal(log.report.comments.n, n);
        assert_int_equal(log.n, 40);
        read_log_clear(&log);
    }
}

static void a_log_of_one_row_is_a_log(void **state)
{
    (void)state;
    const size_t used = (size_t)sprintf(text, "time (s),rpm,speed (km/h)\n0.5,2500,60\n");
    read_log log;
    read_log_text(&log, text, used, 0, NULL);
    assert_int_equal(log.status, CH_OK);
    assert_int_equal(log.n, 1);
    expect_close(log.report.seconds, 0.0, 0.0);
    read_log_clear(&log);
}

/* A row with a quote in it is whole where its line end is there, however short its last cell. */
static void quoted_rows_lose_nothing(void **state)
{
    (void)state;
    size_t used = (size_t)sprintf(text, "time (s),rpm,note,speed (km/h)\n");
    for (int i = 0; i < 80; i++)
        used += (size_t)sprintf(text + used, "%.2f,%d,\"a, b\",%d\n", i * 0.05, 2000 + i, i % 2 == 0 ? 101 : 99);
    read_log log;
    read_log_text(&log, text, used, 0, NULL);
    assert_int_equal(log.status, CH_OK);
    assert_int_equal(log.n, 80);
    assert_int_equal(log.report.truncated.n, 0);
    assert_true(log.report.quoted);
    for (size_t i = 0; i < 80; i++)
        expect_close(log.value[CH_DRIVELOG_ROAD][i] * 3.6, i % 2 == 0 ? 101.0 : 99.0, 1e-9);
    read_log_clear(&log);
}

/* However many there are: no row of the table, none that is ragged. */
static void remarks_do_not_outvote_the_rows(void **state)
{
    (void)state;
    static const char *const remarks[] = {"//", "#", "%", "// note", "# a, b", ""};
    for (size_t k = 0; k < sizeof remarks / sizeof remarks[0]; k++) {
        size_t used = (size_t)sprintf(text, "time (s),rpm,speed (km/h)\n");
        for (int i = 0; i < 60; i++)
            used += (size_t)sprintf(text + used, "%.2f,%d,%d\n%s\n%s\n", i * 0.05, 2000 + i, 60 + i, remarks[k],
                                    remarks[k]);
        read_log log;
        read_log_text(&log, text, used, 0, NULL);
        assert_int_equal(log.status, CH_OK);
        assert_int_equal(log.n, 60);
        assert_int_equal(log.report.comments.n, 120);
        assert_int_equal(log.report.ragged.n, 0);
        read_log_clear(&log);
    }
}

/* Two columns are a table, though not one of a drive: what is missing is named. */
static void a_log_of_two_columns_is_told_what_it_lacks(void **state)
{
    (void)state;
    size_t used = 0;
    for (int i = 0; i < 60; i++)
        used += (size_t)sprintf(text + used, "%.2f;%d\n", i * 0.05, 2000 + i);
    const ch_drivelog_options options = {0};
    read_log log;
    read_log_text(&log, text, used, 0, &options);
    assert_int_equal(log.status, CH_E_INPUT);
    assert_int_equal(log.report.separator, ';');
    assert_int_equal(log.report.columns_n, 2);
    read_log_clear(&log);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_figure_of_the_report_is_that_of_the_rows),
        cmocka_unit_test(rows_of_one_second_are_spread_alike_in_any_pieces),
        cmocka_unit_test(whole_numbers_have_a_point_for_a_mark),
        cmocka_unit_test(the_plainer_of_two_names_wins),
        cmocka_unit_test(a_name_fits_the_better_the_less_else_it_says),
        cmocka_unit_test(quoted_rows_lose_nothing),
        cmocka_unit_test(remarks_ahead_of_the_header_are_counted),
        cmocka_unit_test(a_log_of_one_row_is_a_log),
        cmocka_unit_test(remarks_ahead_of_a_log_without_a_header_are_counted),
        cmocka_unit_test(remarks_do_not_outvote_the_rows),
        cmocka_unit_test(a_log_of_two_columns_is_told_what_it_lacks),
        cmocka_unit_test(utf16_with_a_letter_of_another_alphabet_is_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
