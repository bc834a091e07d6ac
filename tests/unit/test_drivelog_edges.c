/* Promises of the log reader's parts at their edges: stamps, headers, lone halves of UTF-16 pairs, remarks between rows. */
#include <stdlib.h>
#include <string.h>

#include "drivelog_parts.h"
#include "drivelog_read.h"
#include "expect.h"

/* Seconds of a stamp; NaN where it is none. */
static double stamp_s(const char *text)
{
    double seconds = 77.0;
    bool dated = false;
    return log_stamp_read((log_slice){text, strlen(text)}, &seconds, &dated) ? seconds : NAN;
}

static void stamps_are_read_as_their_writers_meant_them(void **state)
{
    (void)state;
    /* minutes and seconds; hours; a fraction by point, comma or a fourth group */
    expect_close(stamp_s("1:02"), 62.0, 0.0);
    expect_close(stamp_s("01:02:03"), 3723.0, 0.0);
    expect_close(stamp_s("01:02:03.25"), 3723.25, 1e-9);
    expect_close(stamp_s("01:02:03,5"), 3723.5, 1e-9);
    expect_close(stamp_s("01:02:03:500"), 3723.5, 1e-9);
    expect_close(stamp_s(" \"01:02:03\" "), 3723.0, 0.0);
    /* half days, in either case; noon and midnight */
    expect_close(stamp_s("1:00:00 PM"), 46800.0, 0.0);
    expect_close(stamp_s("1:00:00 pm"), 46800.0, 0.0);
    expect_close(stamp_s("1:00:00 AM"), 3600.0, 0.0);
    expect_close(stamp_s("1:00:00 am"), 3600.0, 0.0);
    expect_close(stamp_s("12:00:00 PM"), 43200.0, 0.0);
    expect_close(stamp_s("12:00:00 AM"), 0.0, 0.0);
    expect_close(stamp_s("13:00:00 PM"), 46800.0, 0.0);
    /* zones are passed over */
    expect_close(stamp_s("01:02:03Z"), 3723.0, 0.0);
    expect_close(stamp_s("01:02:03z"), 3723.0, 0.0);
    expect_close(stamp_s("01:02:03+02:00"), 3723.0, 0.0);
    expect_close(stamp_s("01:02:03-05:00"), 3723.0, 0.0);
    /* dates: days since 1970 by the Gregorian calendar (ISO 8601); 2027-01-16 is day 20834 */
    expect_close(stamp_s("2027-01-16 00:00:01"), 20834.0 * 86400 + 1, 0.0);
    expect_close(stamp_s("2027-01-16T00:00:01"), 20834.0 * 86400 + 1, 0.0);
    expect_close(stamp_s("2027-01-16t00:00:01"), 20834.0 * 86400 + 1, 0.0);
    expect_close(stamp_s("2027-01-16, 00:00:01"), 20834.0 * 86400 + 1, 0.0);
    expect_close(stamp_s("16.01.2027 00:00:01"), 20834.0 * 86400 + 1, 0.0);
    expect_close(stamp_s("16/01/27 00:00:01"), 20834.0 * 86400 + 1, 0.0);
    expect_close(stamp_s("32-01-16 00:00:01"), 22660.0 * 86400 + 1, 0.0); /* no 32nd day: year first, of this century */
    expect_close(stamp_s("31-01-16 00:00:01"), 16831.0 * 86400 + 1, 0.0); /* 2016-01-31 */
    expect_close(stamp_s("01/16/2027 00:00:01"), 20834.0 * 86400 + 1, 0.0); /* no 16th month: month first */
}

static void what_is_no_stamp_is_not_taken_for_one(void **state)
{
    (void)state;
    static const char *const wrong[] = {"",
                                        "12",
                                        "a:b",
                                        "1:",
                                        ":1",
                                        "1:60:00",
                                        "1:02:61",
                                        "1:02 PX",
                                        "1:02 XM",
                                        "1:02 P",
                                        "1:02 A",
                                        "1:02 AX",
                                        "1:02x",
                                        "100001:00:00",
                                        "2027-13-01 1:00",
                                        "2027-01-32 1:00",
                                        "1969-01-01 1:00",
                                        "2200-01-01 1:00",
                                        "2027-00-10 1:00",
                                        "2027-01-00 1:00",
                                        "2027-01-16",
                                        "2027-01.16 1:00",
                                        "1-2 1:00"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
        if (!isnan(stamp_s(wrong[i])))
            fail_msg("\"%s\" was read as %g", wrong[i], stamp_s(wrong[i]));
}

static void read_text(read_log *log, const char *text, size_t piece)
{
    read_log_text(log, text, strlen(text), piece, NULL);
}

#define HEAD "Time (s),Engine speed (rpm),Vehicle speed (km/h)\n"
#define ROWS "0.0,3000,60\n0.1,3010,61\n0.2,3020,62\n"

static void remarks_and_blank_lines_between_rows_are_no_rows(void **state)
{
    (void)state;
    static const char *const between[] = {
        "# note\n",          "% note\n",          "// note\n",         "\n", " \t\n", "; note\n", "lap 2\n",
        "#0.25,3025,62.5\n", "%0.25,3025,62.5\n", "//0.25,3025,62.5\n"};
    for (size_t i = 0; i < sizeof between / sizeof between[0]; i++) {
        char text[512];
        read_log log;
        snprintf(text, sizeof text, HEAD ROWS "%s0.3,3030,63\n0.4,3040,64\n", between[i]);
        read_text(&log, text, 0);
        assert_int_equal(log.status, CH_OK);
        if (log.n != 5 || log.report.comments.n != 1)
            fail_msg("\"%s\": %zu rows, %llu remarks", between[i], log.n, (unsigned long long)log.report.comments.n);
        expect_relative(log.value[CH_DRIVELOG_ENGINE][4], 3040 * 3.14159265358979 / 30, 1e-12);
        read_log_clear(&log);
    }
}

static void a_unit_in_brackets_is_told_from_other_words_in_them(void **state)
{
    (void)state;
    static const char *const heads[] = {"Time (s),Engine speed (rpm),Vehicle speed (GPS) (mph)\n",
                                        "Time [s],Engine speed {rpm},Vehicle speed [mph] (GPS)\n",
                                        "Time (s),Engine speed (rpm),\"Vehicle speed (mph\"\n"};
    for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++) {
        char text[512];
        read_log log;
        snprintf(text, sizeof text, "%s" ROWS, heads[i]);
        read_text(&log, text, 0);
        assert_int_equal(log.status, CH_OK);
        assert_int_equal(log.n, 3);
        expect_relative(log.value[CH_DRIVELOG_ROAD][0], 60 * 0.44704, 1e-12); /* the mile of 1959 */
        read_log_clear(&log);
    }
}

/* The throttle may be the first column: its unit alone is no mark of a remark. */
static void a_row_of_units_that_begins_with_percent_is_one(void **state)
{
    (void)state;
    read_log log;
    read_text(
        &log,
        "Throttle,Time,Engine speed,Vehicle speed\n%,s,rpm,mph\n100,0.0,3000,60\n100,0.1,3010,61\n100,0.2,3020,62\n",
        0);
    assert_int_equal(log.status, CH_OK);
    assert_int_equal(log.n, 3);
    assert_int_equal(log.report.comments.n, 0);
    expect_relative(log.value[CH_DRIVELOG_ROAD][0], 60 * 0.44704, 1e-12);
    read_log_clear(&log);
    read_text(&log, "% a remark, of two cells\nTime,Engine speed,Vehicle speed\ns,rpm,mph\n0.0,3000,60\n0.1,3010,61\n",
              0);
    assert_int_equal(log.status, CH_OK);
    assert_int_equal(log.n, 2);
    read_log_clear(&log);
}

/* UTF-16 little endian with a mark, ASCII but for the units given behind the header's first word. */
static size_t utf16(const char *text, const uint16_t units[], size_t n, unsigned char *out)
{
    size_t used = 0;
    out[used++] = 0xff;
    out[used++] = 0xfe;
    for (const char *c = text; *c != '\0'; c++) {
        out[used++] = (unsigned char)*c;
        out[used++] = 0;
        for (size_t i = 0; *c == 'T' && i < n; i++) {
            out[used++] = (unsigned char)(units[i] & 0xff);
            out[used++] = (unsigned char)(units[i] >> 8);
        }
    }
    return used;
}

static void lone_halves_of_a_pair_are_shown_as_question_marks_and_counted(void **state)
{
    (void)state;
    /* The Unicode Standard, 3.9, D91: a high surrogate is followed by a low one */
    static const struct {
        uint16_t units[3];
        size_t n;
        const char *name;
        unsigned bad;
    } cases[] = {
        {{0xd83d, 0xde00}, 2, "T\xF0\x9F\x98\x80ime (s)", 0},
        {{0xd83d}, 1, "T?ime (s)", 1},
        {{0xde00}, 1, "T?ime (s)", 1},
        {{0xd83d, 0xd83d, 0xde00}, 3, "T?\xF0\x9F\x98\x80ime (s)", 1},
        {{0xe4, 0x20ac}, 2, "T\xC3\xA4\xE2\x82\xACime (s)", 0},
        {{0xd7ff, 0xe000}, 2, "T\xED\x9F\xBF\xEE\x80\x80ime (s)", 0}, /* the last before, the first behind the halves */
        {{0xdfff}, 1, "T?ime (s)", 1}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        unsigned char bytes[1024];
        const char *text = "Time (s),Engine speed (rpm),Vehicle speed (km/h)\n0.0,3000,60\n0.1,3010,61\n0.2,3020,62\n";
        const size_t length = utf16(text, cases[i].units, cases[i].n, bytes);
        for (size_t piece = 0; piece < 4; piece++) {
            read_log log;
            const ch_drivelog_options options = {.column = {[CH_DRIVELOG_TIME] = cases[i].name}};
            read_log_text(&log, bytes, length, piece, &options);
            if (log.status != CH_OK || strcmp(log.names[0], cases[i].name) != 0 ||
                log.report.bad_characters.n != cases[i].bad)
                fail_msg("case %zu, pieces of %zu: %d, \"%s\" (%s), %llu bad", i, piece, (int)log.status, log.names[0],
                         log.err.what, (unsigned long long)log.report.bad_characters.n);
            assert_int_equal(log.n, 3);
            read_log_clear(&log);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(stamps_are_read_as_their_writers_meant_them),
        cmocka_unit_test(what_is_no_stamp_is_not_taken_for_one),
        cmocka_unit_test(remarks_and_blank_lines_between_rows_are_no_rows),
        cmocka_unit_test(a_unit_in_brackets_is_told_from_other_words_in_them),
        cmocka_unit_test(a_row_of_units_that_begins_with_percent_is_one),
        cmocka_unit_test(lone_halves_of_a_pair_are_shown_as_question_marks_and_counted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
