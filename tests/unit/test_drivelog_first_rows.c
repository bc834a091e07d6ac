/* What the log reader concludes from the first rows, each limit on both sides (drivelog_probe.c, drivelog_clean.c, drivelog.c). */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drivelog_text.h"
#include "expect.h"

static const double RAD_S_PER_RPM = 0.10471975511965977; /* pi/30 */

/* ---- names, first rows, header ---- */

/* Of `rows` rows ahead of it, of which none is a header. */
static uint64_t header_line_behind(int rows)
{
    read_log log;
    start("");
    for (int i = 0; i < rows; i++)
        put("title\n");
    put("time,rpm,speed\n1,3000,30\n2,3100,31\n");
    read_log_text(&log, text, used, 0, NULL);
    const uint64_t line = log.report.header_line;
    read_log_clear(&log);
    return line;
}

static void the_header_is_the_row_that_names_most(void **state)
{
    (void)state;
    static const struct {
        const char *rows;
        uint64_t line;
        char separator;
    } cases[] = {
        {"time,rpm,speed\n1,2,3\n", 1, ','},
        {"time,rpm,throttle\ntime,rpm,speed\n1,2,3\n", 2, ','},         /* all that is needed */
        {"throttle,oil temp,coolant\ntime,x,y\n1,2,3\n", 2, ','},       /* one of the needed before three others */
        {"time,rpm\ntime,rpm,oil temp\n1,2,3\n", 2, ','},               /* of equals the fuller */
        {"time,rpm,a\ntime,rpm,b\n1,2,3\n", 1, ','},                    /* of equals the first */
        {"time,rpm,speed\ntime,rpm,speed,throttle\n1,2,3,4\n", 1, ','}, /* what follows is another log */
        {"time,rpm\ntime;rpm;speed\n1;2;3\n", 2, ';'},
        {"time;rpm;speed\n1;2;3\ntime,rpm,speed\n1,2,3\n", 3, ','}, /* a comma is tried first */
        {"time\trpm\tspeed\n1\t2\t3\n", 1, '\t'},
        {"time|rpm|speed\n1|2|3\n", 1, '|'},
        {"# time,rpm,speed\n1,2,3\n", 1, ','},
        {"% # time,rpm,speed\n1,2,3\n", 1, ','},
        {"oil temp,x\n1,2\n", 1, ','}, /* one known name is enough for a header */
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        read_log log;
        read_log_text(&log, cases[i].rows, strlen(cases[i].rows), 0, NULL);
        if (log.report.header_line != cases[i].line || log.report.separator != cases[i].separator)
            fail_msg("\"%s\": line %u, '%c'", cases[i].rows, (unsigned)log.report.header_line, log.report.separator);
        read_log_clear(&log);
    }
    assert_int_equal(header_line_behind(0), 1);
    assert_int_equal(header_line_behind(199), 200);
    assert_int_equal(header_line_behind(200), 0);
    /* the marks ahead of it are not of its first name */
    read_log log;
    start("# % time,rpm,speed\n1,2000,3\n2,2000,4\n");
    read_it(&log, NULL);
    assert_string_equal(log.names[0], "time");
    read_log_clear(&log);
}

/* Without a header: the separator of which most rows in succession agree, and the first of them. */
static void a_table_without_a_header_is_found_by_its_rows(void **state)
{
    (void)state;
    static const struct {
        const char *rows;
        char separator;
        size_t columns;
        uint64_t comments;
    } cases[] = {
        {"1,2000,30\n2,2000,30\n3,2000,30\n", ',', 3, 0},
        {"1;2000;30\n2;2000;30\n", ';', 3, 0},
        {"1\t2000\t30\n2\t2000\t30\n", '\t', 3, 0},
        {"1|2000|30\n2|2000|30\n", '|', 3, 0},
        {"1,5;2000;30\n2,5;2000;30\n3;2000;30\n", ';', 3, 0}, /* the comma is not in all of them */
        {"title\n1,2000,30\n2,2000,30\n", ',', 3, 1},
        {"title\nanother\n\n1,2000,30\n2,2000,30\n", ',', 3, 3},
        {"1,2\n1,2000,30\n2,2000,30\n3,2000,31\n", ',', 3, 1},
        {"1;2000;30\n2;2000;30\n2,1;2000;30\n", ';', 3, 0},
    };
    const ch_drivelog_options options = {.column = {"1", "2", "3"}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        read_log log;
        read_log_text(&log, cases[i].rows, strlen(cases[i].rows), 0, &options);
        if (log.status != CH_OK || log.report.separator != cases[i].separator ||
            log.report.columns_n != cases[i].columns || log.report.comments.n != cases[i].comments ||
            log.report.comments.line != (cases[i].comments > 0))
            fail_msg("\"%s\": %s, '%c', %zu columns, %u remarks", cases[i].rows, log.err.what, log.report.separator,
                     log.report.columns_n, (unsigned)log.report.comments.n);
        assert_int_equal(log.report.header_line, 0);
        assert_string_equal(log.names[0], "1");
        assert_string_equal(log.names[2], "3");
        read_log_clear(&log);
    }
}

/* Where as many rows agree: tab before semicolon before comma before bar; and of two tables the first. */
static void of_tables_without_a_header_that_are_as_long_one_goes_first(void **state)
{
    (void)state;
    static const struct {
        const char *rows;
        char separator;
        size_t columns;
    } cases[] = {{"1;2000;30,5|6\n2;2000;31,5|6\n", ';', 3},
                 {"1\t2000\t30;5,6\n2\t2000\t31;5,6\n", '\t', 3},
                 {"1,2000,30|5\n2,2000,31|5\n", ',', 3},
                 {"1,2000,30\n2,2000,31\n\n3,2000,32,4\n4,2000,33,4\n", ',', 3},
                 {"1,2000,30\n2,2000,31\n\n3,2000,32,4\n4,2000,33,4\n5,2000,33,4\n", ',', 4}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        read_log log;
        read_log_text(&log, cases[i].rows, strlen(cases[i].rows), 0, NULL);
        assert_int_equal(log.report.separator, cases[i].separator);
        assert_int_equal(log.report.columns_n, cases[i].columns);
        read_log_clear(&log);
    }
}

static const char *const *names_of(const char *log_text, size_t length, const ch_drivelog_options *options,
                                   ch_drivelog **log)
{
    ch_err err = {0};
    assert_int_equal(ch_drivelog_open(options, NULL, NULL, log, &err), CH_OK);
    if (ch_drivelog_feed(*log, log_text, length, &err) >= 0)
        ch_drivelog_finish(*log, &err);
    return ch_drivelog_report_of(*log)->names;
}

static void columns_without_names_are_numbered(void **state)
{
    (void)state;
    ch_drivelog *log = NULL;
    const ch_drivelog_options options = {.column = {"1", "2", "1024"}};
    start("");
    for (int row = 0; row < 3; row++)
        for (int c = 0; c < CH_DRIVELOG_COLUMNS_MAX; c++)
            put("%d%c", c == 1 ? 2000 : row + 1, c + 1 < CH_DRIVELOG_COLUMNS_MAX ? ',' : '\n');
    const char *const *const names = names_of(text, used, &options, &log);
    const ch_drivelog_report *const report = ch_drivelog_report_of(log);
    assert_int_equal(report->columns_n, CH_DRIVELOG_COLUMNS_MAX);
    assert_int_equal(report->rows, 3);
    for (int c = 0; c < CH_DRIVELOG_COLUMNS_MAX; c++)
        assert_int_equal(atoi(names[c]), c + 1);
    assert_string_equal(names[1023], "1024");
    assert_string_equal(report->columns[CH_DRIVELOG_ROAD].name, "1024");
    ch_drivelog_close(log);
}

/* Names of 255 bytes, those of the channels' columns of 95; also where a character of two bytes would be cut. */
static void long_names_are_cut(void **state)
{
    (void)state;
    for (size_t length = 90; length <= 260; length += length == 100 ? 150 : 1) {
        for (int wide = 0; wide <= 1; wide++) {
            char name[300], cut[300];
            ch_drivelog *log = NULL;
            memset(name, 'x', sizeof name);
            for (size_t i = 0; wide == 1 && i + 1 < length; i += 2)
                memcpy(name + i, "\xc3\xa9", 2);
            name[length] = '\0';
            const ch_drivelog_options options = {.column = {[CH_DRIVELOG_OIL] = name}};
            start("");
            put("time,rpm,speed,%s\n1,2000,30,80\n2,2000,31,80\n", name);
            const char *const *const names = names_of(text, used, &options, &log);
            const ch_drivelog_report *const report = ch_drivelog_report_of(log);
            assert_int_equal(report->rows, 2);
            snprintf(cut, sizeof cut, "%.*s", (int)(length < 256 ? length : wide ? 254 : 255), name);
            assert_string_equal(names[3], cut);
            snprintf(cut, sizeof cut, "%.*s", (int)(length < 96 ? length : wide ? 94 : 95), name);
            assert_string_equal(report->columns[CH_DRIVELOG_OIL].name, cut);
            ch_drivelog_close(log);
        }
    }
}

/* Up to eight rows of numbers behind the header and its units, each cell as written but for its quotes, cut to 40 bytes. */
static void the_preview_is_the_first_rows(void **state)
{
    (void)state;
    for (int rows = 1; rows <= 10; rows++) {
        ch_drivelog *log = NULL;
        start("# ahead\ntime,rpm,speed,note\n# between\ns,rpm,km/h,\n");
        for (int i = 0; i < rows; i++)
            put("# remark\n%d, 200%d,\"3%d\"%s\n", i, i, i,
                i == 1   ? ""
                : i == 2 ? ",1234567890123456789012345678901234567890123"
                         : ",wet,more");
        names_of(text, used, NULL, &log);
        const ch_drivelog_report *const report = ch_drivelog_report_of(log);
        assert_int_equal(report->columns_n, 4);
        assert_int_equal(report->preview_n, rows < 8 ? rows : 8);
        for (int i = 0; i < rows && i < 8; i++) {
            char want[64];
            const char *const *const row = report->preview + 4 * i;
            snprintf(want, sizeof want, "%d", i);
            assert_string_equal(row[0], want);
            snprintf(want, sizeof want, "200%d", i);
            assert_string_equal(row[1], want);
            snprintf(want, sizeof want, "3%d", i);
            assert_string_equal(row[2], want);
            assert_string_equal(row[3], i == 1 ? "" : i == 2 ? "1234567890123456789012345678901234567890" : "wet");
        }
        ch_drivelog_close(log);
    }
    /* it is looked for in the first two hundred rows */
    for (int remarks = 198; remarks <= 201; remarks++) {
        ch_drivelog *log = NULL;
        start("time,rpm,speed\n");
        for (int i = 0; i < remarks; i++)
            put("# remark\n");
        put("1,2000,30\n2,2000,30\n");
        names_of(text, used, NULL, &log);
        assert_int_equal(ch_drivelog_report_of(log)->preview_n, remarks == 198 ? 2 : remarks == 199 ? 1 : 0);
        ch_drivelog_close(log);
    }
}

/* Rows between the header and its units that say nothing are passed over; a row that says something else ends the search. */
static void a_units_row_follows_the_header_but_for_remarks(void **state)
{
    (void)state;
    static const struct {
        const char *between;
        uint64_t lines; /* 0: then it is no units row */
    } cases[] = {{"", 1},       {"\n", 2},     {"# note\n", 2}, {"% note\n", 2}, {"; note\n", 2},    {"// note\n", 2},
                 {",,\n", 2},   {" , ,\n", 2}, {"\n\n#\n", 4},  {"%\n", 2},      {"1,2000,30\n", 0}, {"/,rpm,x\n", 1},
                 {"note\n", 0}, {";\n", 2},    {"//\n", 2}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        read_log log;
        start("time,rpm,speed\n");
        put("%ss,rpm,mph\n1,2000,30\n2,2100,31\n3,2000,30\n4,2000,30\n", cases[i].between);
        const bool taken = strcmp(cases[i].between, "/,rpm,x\n") == 0; /* one slash is no remark: it is the units row */
        read_log_text(&log, text, used, 0, NULL);
        if (log.status != CH_OK || log.report.units_line != (cases[i].lines > 0 ? 1 + cases[i].lines : 0))
            fail_msg("\"%s\": %s, line %u", cases[i].between, log.err.what, (unsigned)log.report.units_line);
        if (!taken) {
            expect_relative(log.report.columns[CH_DRIVELOG_ROAD].most_si, cases[i].lines > 0 ? 31 * 0.44704 : 31 / 3.6,
                            1e-12);
            if (cases[i].lines > 0)
                assert_int_equal(log.report.comments.n, cases[i].lines - 1);
            if (cases[i].lines > 1)
                assert_int_equal(log.report.comments.line, 2);
        }
        read_log_clear(&log);
    }
}

/* ---- decimal marks, letters ---- */

/* By more commas than points in the columns that are wanted; a tie is a point. Of the first 2000 rows. */
static void the_decimal_mark_is_that_of_more_cells(void **state)
{
    (void)state;
    static const struct {
        const char *rows;
        char decimal;
    } cases[] = {{"1;2000;30;1,5\n2;2000;31;1,5\n", '.'}, /* in a column that nobody wants */
                 {"1,5;2000;30;\n2;2000;31;\n", ','},
                 {"1,5;2000;30.5;\n2;2000;31;\n", '.'},
                 {"1,5;2000;30.5;\n2;2000;31,5;\n", ','},
                 {"1.5;2000;30.5;\n2;2000;31,5;\n", '.'},
                 {"00:01,5;2000;30.5;\n00:02,5;2000;31;\n", '.'}, /* a stamp says nothing */
                 {"00:01,5;2000;30;\n00:02,5;2000;31;\n", '.'},
                 {"1;a,b;30;\n2;2000;31;\n", '.'}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        read_log log;
        start("time;rpm;speed;note\n");
        put("%s", cases[i].rows);
        read_it(&log, NULL);
        if (log.report.decimal != cases[i].decimal)
            fail_msg("\"%s\": '%c'", cases[i].rows, log.report.decimal);
        read_log_clear(&log);
    }
    for (int rows = 1999; rows <= 2001; rows++) {
        read_log log;
        start("time;rpm;speed\n");
        for (int i = 1; i < rows; i++)
            put("%d;2000;60\n", i);
        put("%d;2000;60,5\n%d;2000;60\n", rows, rows + 1);
        read_it(&log, NULL);
        assert_int_equal(log.report.decimal, rows <= 2000 ? ',' : '.');
        read_log_clear(&log);
    }
}

/* One byte that is no UTF-8 makes a log Latin-1, but for the last three, which may be the beginning of a character. */
static void the_letters_of_a_log_are_told_from_its_first_bytes(void **state)
{
    (void)state;
    for (size_t behind = 0; behind <= 6; behind++) {
        read_log log;
        start("time,rpm,speed,note\n1,2000,30,a\n2,2000,31,");
        put("\xe9%.*s", (int)behind, "abcdef");
        read_it(&log, NULL);
        assert_int_equal(log.report.encoding, behind < 3 ? CH_DRIVELOG_UTF8 : CH_DRIVELOG_LATIN1);
        read_log_clear(&log);
    }
    static const struct {
        const char *note;
        ch_drivelog_encoding encoding;
    } notes[] = {{"\xc3\xa9", CH_DRIVELOG_UTF8},         {"\xe2\x82\xac", CH_DRIVELOG_UTF8},
                 {"\xf0\x9f\x98\x80", CH_DRIVELOG_UTF8}, {"\xc3\xa9\xe9", CH_DRIVELOG_LATIN1},
                 {"\xe2\x82", CH_DRIVELOG_LATIN1},       {"\xff", CH_DRIVELOG_LATIN1}};
    for (size_t i = 0; i < sizeof notes / sizeof notes[0]; i++) {
        read_log log;
        start("time,rpm,speed,note\n");
        put("1,2000,30,%s\n2,2000,31,b\n", notes[i].note);
        read_it(&log, NULL);
        assert_int_equal(log.report.encoding, notes[i].encoding);
        read_log_clear(&log);
    }
}

/* More than one control character in fifty bytes is no text. */
static void control_characters_make_it_no_text(void **state)
{
    (void)state;
    static const char controls[] = "\x01\x08\x0b\x0c\x0e\x1f\x7f\t";
    for (size_t i = 0; i < sizeof controls - 1; i++)
        for (int n = 1; n <= 5; n++) {
            read_log log;
            start("# ");
            for (int k = 0; k < n; k++)
                put("%c", controls[i]);
            while (used < 200 - 46)
                put("x");
            put("\ntime,rpm,speed\n1,2000,30\n2,2000,31\n3,2100,31\n");
            assert_int_equal(used, 200);
            read_log_text(&log, text, used, 0, NULL);
            assert_int_equal(log.status, n > 4 && controls[i] < ' ' && controls[i] != '\t' ? CH_E_INPUT : CH_OK);
            read_log_clear(&log);
        }
}

/* ---- units by size ---- */

static void expect_unit(const char *header, const char *const cells[], size_t n, ch_drivelog_channel c,
                        const char *unit)
{
    read_log log;
    start(header);
    for (size_t i = 0; i < n; i++)
        put("%s\n", cells[i]);
    read_it(&log, NULL);
    if (strcmp(log.report.columns[c].unit, unit) != 0)
        fail_msg("\"%s%s\": %s, not %s", header, cells[0], log.report.columns[c].unit, unit);
    assert_true(log.report.columns[c].unit_assumed);
    read_log_clear(&log);
}

/* Stamps without a unit: by how large they are, and how far apart the middle one of the steps forward is. */
static void the_unit_of_stamps_is_told_by_their_size_and_steps(void **state)
{
    (void)state;
    static const struct {
        const char *stamps[8];
        const char *unit;
    } cases[] = {
        {{"0", "1", "2"}, "s"},
        {{"0", "4.9", "9.8"}, "s"},
        {{"0", "5", "10"}, "ms"},
        {{"0", "4999", "9998"}, "ms"},
        {{"0", "5000", "10000"}, "us"},
        {{"0", "4", "8", "12", "18", "24", "30", "36"}, "ms"}, /* three of 4 and four of 6 */
        {{"0", "4", "8", "12", "16", "22", "28"}, "s"},        /* two of 6 and four of 4 */
        {{"0", "4", "8", "14", "20"}, "ms"},                   /* of an even number the upper */
        {{"0", "1", "1", "1", "2", "0.5", "1.5"}, "s"},
        {{"0", "6", "6", "6", "6", "12", "18"}, "ms"}, /* a stamp again is no step */
        {{"7"}, "s"},
        {{"1000000000", "1000000006"}, "s"}, /* since 1970 */
        {{"999999990", "999999996"}, "ms"},
        {{"99999999990", "99999999996"}, "s"},
        {{"99999999999", "100000000000"}, "ms"},
        {{"1700000000000", "1700000000100"}, "ms"},
        {{"99999999999990", "99999999999996"}, "ms"},
        {{"99999999999999", "100000000000000"}, "us"},
        {{"99999999999999000", "99999999999999900"}, "us"},
        {{"99999999999999000", "100000000000000000"}, "ns"},
        {{"1700000000000000000", "1700000000100000000"}, "ns"},
        {{"20000", "20000.00009", "20000.00018"}, "days"},
        {{"19999.9", "19999.90009", "19999.90018"}, "s"},
        {{"79999.9998", "79999.9999", "80000"}, "s"}, /* a ten-thousandth of a day and more apart: seconds */
        {{"79999.99982", "79999.99991", "80000"}, "days"},
        {{"79999.99992", "80000.00001", "80000.0001"}, "s"},
        {{"46403.5", "46403.50012", "46403.50024"}, "s"},
        {{"46403.5", "46403.500012", "46403.500024"}, "days"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char rows[8][64];
        const char *lines[8];
        size_t n = 0;
        for (; n < 8 && cases[i].stamps[n] != NULL; n++) {
            snprintf(rows[n], sizeof rows[n], "%s,2000,30", cases[i].stamps[n]);
            lines[n] = rows[n];
        }
        expect_unit("time,rpm,speed\n", lines, n, CH_DRIVELOG_TIME, cases[i].unit);
    }
}

static void units_of_other_channels_are_told_by_their_size(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        ch_drivelog_channel channel;
        const char *road, *cells[2], *unit;
    } cases[] = {
        {"throttle", CH_DRIVELOG_THROTTLE, "21", {"0", "1"}, "1"},
        {"throttle", CH_DRIVELOG_THROTTLE, "21", {"0", "1.1"}, "%"},
        {"throttle", CH_DRIVELOG_THROTTLE, "21", {"0", "0.06"}, "1"},
        {"throttle", CH_DRIVELOG_THROTTLE, "21", {"0", "0.05"}, "%"}, /* closed throughout */
        {"throttle", CH_DRIVELOG_THROTTLE, "20", {"0", "1"}, "%"},    /* standing, it may be a percentage */
        {"throttle", CH_DRIVELOG_THROTTLE, "24", {"0", "0.9"}, "1"},
        {"clutch", CH_DRIVELOG_CLUTCH, "20", {"0", "1"}, "1"},
        {"clutch", CH_DRIVELOG_CLUTCH, "20", {"0", "0"}, "1"},
        {"clutch", CH_DRIVELOG_CLUTCH, "20", {"0", "1.1"}, "%"},
        {"clutch", CH_DRIVELOG_CLUTCH, "20", {"0", "100"}, "%"},
        {"accel", CH_DRIVELOG_ACCELERATION, "20", {"0", "2.5"}, "g"},
        {"accel", CH_DRIVELOG_ACCELERATION, "20", {"0", "2.6"}, "m/s2"},
        {"accel", CH_DRIVELOG_ACCELERATION, "20", {"0", "-2.5"}, "g"},
        {"accel", CH_DRIVELOG_ACCELERATION, "20", {"-2.6", "1"}, "m/s2"},
        {"coolant", CH_DRIVELOG_COOLANT, "20", {"90", "165"}, "C"},
        {"coolant", CH_DRIVELOG_COOLANT, "20", {"90", "166"}, "F"},
        {"coolant", CH_DRIVELOG_COOLANT, "20", {"190", "200"}, "F"},
        {"coolant", CH_DRIVELOG_COOLANT, "20", {"250", "260"}, "F"},
        {"coolant", CH_DRIVELOG_COOLANT, "20", {"251", "260"}, "K"},
        {"oil temp", CH_DRIVELOG_OIL, "20", {"90", "165"}, "C"},
        {"oil temp", CH_DRIVELOG_OIL, "20", {"90", "166"}, "F"},
        {"oil temp", CH_DRIVELOG_OIL, "20", {"250", "300"}, "F"},
        {"oil temp", CH_DRIVELOG_OIL, "20", {"251", "300"}, "K"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char header[64], rows[2][64];
        snprintf(header, sizeof header, "time (s),rpm,speed,%s\n", cases[i].name);
        for (int k = 0; k < 2; k++)
            snprintf(rows[k], sizeof rows[k], "%d,2000,%s,%s", k, cases[i].road, cases[i].cells[k]);
        expect_unit(header, (const char *[]){rows[0], rows[1]}, 2, cases[i].channel, cases[i].unit);
    }
    static const struct {
        const char *most, *unit;
    } engines[] = {{"19.9", "1000 rpm"}, {"7", "1000 rpm"}, {"20", "rpm"}, {"2000", "rpm"}};
    for (size_t i = 0; i < sizeof engines / sizeof engines[0]; i++) {
        char row[64];
        read_log log;
        snprintf(row, sizeof row, "2,%s,2", engines[i].most);
        start("time (s),engine speed,speed\n1,1,2\n");
        put("%s\n", row);
        read_log_text(&log, text, used, 0, NULL);
        assert_string_equal(log.report.columns[CH_DRIVELOG_ENGINE].unit, engines[i].unit);
        read_log_clear(&log);
    }
    /* an engine that stands throughout says nothing */
    expect_unit("time (s),engine speed,speed\n", (const char *[]){"1,0,2", "2,0,2"}, 2, CH_DRIVELOG_ENGINE, "rpm");
    /* what the caller assumes goes before what the size says */
    const ch_drivelog_options options = {.assumed_unit = {[CH_DRIVELOG_ENGINE] = "rev/s", [CH_DRIVELOG_TIME] = "s"}};
    read_log log;
    start("time,engine speed,speed\n0,15,30\n50,16,31\n");
    read_it(&log, &options);
    assert_string_equal(log.report.columns[CH_DRIVELOG_ENGINE].unit, "rev/s");
    expect_close(log.value[CH_DRIVELOG_TIME][1], 50, 0);
    read_log_clear(&log);
    /* the largest of the first 2000 rows counts */
    for (int rows = 1999; rows <= 2001; rows++) {
        start("time (s),engine speed,speed\n");
        for (int i = 1; i < rows; i++)
            put("%d,7,60\n", i);
        put("%d,1500,60\n%d,7,60\n", rows, rows + 1);
        read_log_text(&log, text, used, 0, NULL);
        assert_string_equal(log.report.columns[CH_DRIVELOG_ENGINE].unit, rows <= 2000 ? "rpm" : "1000 rpm");
        read_log_clear(&log);
    }
}

/* Below 40 rad/s no engine runs, and above 120 m/s no car drives: then the two are each other's. */
static void engine_and_road_speed_are_swapped_where_neither_can_be(void **state)
{
    (void)state;
    static const struct {
        const char *engine, *road;
        bool swapped;
    } cases[] = {{"39", "121", true},  {"40", "121", false}, {"39", "120", false},   {"39", "125", true},
                 {"45", "300", false}, {"20", "140", true},  {"39.9", "120.1", true}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        read_log log;
        start("time (s),engine speed (rad/s),speed (m/s)\n");
        put("1,20,100\n2,%s,%s\n3,20,100\n", cases[i].engine, cases[i].road);
        read_log_text(&log, text, used, 0, NULL);
        const ch_drivelog_report *const r = &log.report;
        assert_int_equal(r->columns[CH_DRIVELOG_ENGINE].how,
                         cases[i].swapped ? CH_DRIVELOG_SWAPPED : CH_DRIVELOG_BY_WORDS);
        assert_int_equal(r->columns[CH_DRIVELOG_ROAD].how,
                         cases[i].swapped ? CH_DRIVELOG_SWAPPED : CH_DRIVELOG_BY_WORDS);
        assert_int_equal(r->columns[CH_DRIVELOG_ENGINE].index, cases[i].swapped ? 2 : 1);
        assert_int_equal(r->columns[CH_DRIVELOG_ROAD].index, cases[i].swapped ? 1 : 2);
        if (cases[i].swapped) { /* the numbers of one column in the unit of the other */
            assert_int_equal(log.status, CH_OK);
            expect_close(r->columns[CH_DRIVELOG_ENGINE].most_si, atof(cases[i].road), 1e-9);
            expect_close(r->columns[CH_DRIVELOG_ROAD].most_si, atof(cases[i].engine), 1e-9);
            assert_string_equal(r->columns[CH_DRIVELOG_ENGINE].name, "speed (m/s)");
            assert_string_equal(r->columns[CH_DRIVELOG_ENGINE].unit, "rad/s");
        }
        read_log_clear(&log);
    }
    /* a log joined to it has its columns swapped too */
    read_log log;
    start("time (s),rpm,speed (km/h)\n1,60,3000\n2,62,3100\n3,62,3200\nspeed (km/h),time "
          "(s),rpm\n3000,1,60\n3300,2,70\n3300,3,70\n");
    read_it(&log, NULL);
    assert_int_equal(log.n, 6);
    expect_close(log.value[CH_DRIVELOG_ENGINE][4], 3300 * RAD_S_PER_RPM, 1e-9);
    expect_close(log.value[CH_DRIVELOG_ROAD][4], 70 / 3.6, 1e-9);
    read_log_clear(&log);
}

/* ---- logs joined end to end ---- */

static void a_log_behind_another_is_read_by_its_own_header(void **state)
{
    (void)state;
    read_log log;
    /* few rows of a clock, then many under a header in another order: what is concluded is concluded from the first */
    start("time,rpm,speed\n12:00:01,3000,30\n12:00:02,3000,30\n12:00:03,3000,30\nspeed,rpm,time\n");
    for (int i = 0; i < 40; i++)
        put("%d,3%03d,12:00:%02d\n", 40 + i % 7, i, 10 + i);
    read_it(&log, NULL);
    assert_int_equal(log.n, 43);
    assert_string_equal(log.report.columns[CH_DRIVELOG_TIME].unit, "hh:mm:ss");
    for (size_t i = 0; i < 43; i++)
        expect_close(log.value[CH_DRIVELOG_TIME][i], (double)i, 1e-9);
    expect_close(log.value[CH_DRIVELOG_ENGINE][42], 3039 * RAD_S_PER_RPM, 1e-9);
    read_log_clear(&log);
    /* a midnight of the first is none of the second */
    start("time,rpm,speed\n23:59:58,3000,30\n23:59:59,3000,30\n00:00:00,3000,30\n00:00:01,3000,30\n"
          "time,rpm,speed\n00:00:07,3000,30\n00:00:08,3000,30\n00:00:09,3000,30\n");
    read_it(&log, NULL);
    assert_int_equal(log.report.wraps.n, 1);
    assert_int_equal(log.report.wraps.line, 4);
    assert_int_equal(log.report.segments_n, 2);
    expect_close(log.report.segments[1].stamp_s, 7, 0);
    expect_close(log.value[CH_DRIVELOG_TIME][6], 6, 1e-9);
    read_log_clear(&log);
    /* units without a name are those of the first, those with one its own; a units row behind it counts */
    start("time,revs,speed\n0,3.0,30\n1,3.1,30\n2,3.2,30\ntime,revs,speed\n0,3.0,30\n1,3.1,30\n"
          "time,revs (1/min),speed\n0,3000,30\n1,3100,30\ntime,revs,speed\n# note\ns,krpm,mph\n0,3.0,10\n1,3.1,10\n");
    read_it(&log, NULL);
    assert_int_equal(log.n, 9);
    for (size_t i = 0; i < 9; i++) {
        const size_t in_log = i < 3 ? i : (i - 3) % 2;
        expect_relative(log.value[CH_DRIVELOG_ENGINE][i], (3000 + 100 * (double)in_log) * RAD_S_PER_RPM, 1e-12);
        expect_relative(log.value[CH_DRIVELOG_ROAD][i], i < 7 ? 30 / 3.6 : 10 * 0.44704, 1e-12);
    }
    assert_int_equal(log.report.headers_again.n, 3);
    assert_int_equal(log.report.comments.n, 1);
    read_log_clear(&log);
}

/* Columns come and go with a further header: what it does not name has no value, what it alone names has. */
static void a_further_header_brings_its_own_columns(void **state)
{
    (void)state;
    read_log log;
    start("time,rpm,speed,coolant\n0,2000,30,80\n1,2010,31,81\n2,2020,32,82\n"
          "oil temp,speed,time,note,rpm\n90,33,7,x,2030\n91,34,8,x,2040\n"
          "rpm,speed,time\n2050,35,3\n2060,36,4\n");
    read_it(&log, NULL);
    assert_int_equal(log.n, 7);
    for (size_t i = 0; i < 7; i++) {
        expect_close(log.value[CH_DRIVELOG_TIME][i], (double)i, 1e-9);
        expect_close(log.value[CH_DRIVELOG_ENGINE][i], (2000 + 10 * (double)i) * RAD_S_PER_RPM, 1e-9);
        expect_close(log.value[CH_DRIVELOG_ROAD][i], (30 + (double)i) / 3.6, 1e-9);
        assert_int_equal(isnan(log.value[CH_DRIVELOG_COOLANT][i]), i > 2);
        assert_int_equal(isnan(log.value[CH_DRIVELOG_OIL][i]), i < 3 || i > 4);
        assert_int_equal(log.segment[i], i < 3 ? 0 : i < 5 ? 1 : 2);
    }
    expect_close(log.value[CH_DRIVELOG_COOLANT][2], 82 + 273.15, 1e-9);
    expect_close(log.value[CH_DRIVELOG_OIL][3], 90 + 273.15, 1e-9);
    assert_int_equal(log.report.headers_again.n, 2);
    assert_int_equal(log.report.headers_again.line, 5);
    assert_int_equal(log.report.ragged.n, 0);
    assert_int_equal(log.report.columns[CH_DRIVELOG_COOLANT].values, 3);
    assert_int_equal(log.report.columns[CH_DRIVELOG_COOLANT].missing.n, 0);
    read_log_clear(&log);
    /* a units row behind it, a remark between them; one behind a row of numbers is none */
    start("time,rpm,speed\n0,2000,30\n1,2010,31\ntime,rpm,speed\n# note\n\ns,rpm,m/s\n0,2000,20\n1,2010,21\n");
    read_it(&log, NULL);
    assert_int_equal(log.n, 4);
    expect_close(log.value[CH_DRIVELOG_ROAD][2], 20, 1e-9);
    assert_int_equal(log.report.no_stamp.n, 0);
    read_log_clear(&log);
    start("time,rpm,speed\n0,2000,30\n1,2010,31\ntime,rpm,speed\n0,2000,20\ns,rpm,m/s\n1,2010,21\n2,2010,22\n");
    read_it(&log, NULL);
    assert_int_equal(log.n, 5);
    expect_close(log.value[CH_DRIVELOG_ROAD][3], 21 / 3.6, 1e-9);
    assert_int_equal(log.report.no_stamp.n, 1);
    read_log_clear(&log);
    /* only the units that it names are changed; a channel that both name keeps its own unit beside */
    start("time (ms),rpm,speed\n0,2000,30\n1000,2010,31\ntime (s),rpm,speed (m/s)\n,,mph\n0,2000,20\n1,2010,21\n");
    read_it(&log, NULL);
    assert_int_equal(log.n, 4);
    expect_close(log.value[CH_DRIVELOG_TIME][3] - log.value[CH_DRIVELOG_TIME][2], 1, 1e-9);
    expect_close(log.value[CH_DRIVELOG_ROAD][3], 21 * 0.44704, 1e-9);
    read_log_clear(&log);
    /* words alone are a remark; all three that are needed make a header */
    start("time,rpm,speed,note\n0,2000,30,\n1,2010,31,\nrpm,speed,x,\n2,2020,32,\n");
    read_it(&log, NULL);
    assert_int_equal(log.report.headers_again.n, 0);
    assert_int_equal(log.n, 3);
    read_log_clear(&log);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_header_is_the_row_that_names_most),
        cmocka_unit_test(a_table_without_a_header_is_found_by_its_rows),
        cmocka_unit_test(of_tables_without_a_header_that_are_as_long_one_goes_first),
        cmocka_unit_test(columns_without_names_are_numbered),
        cmocka_unit_test(long_names_are_cut),
        cmocka_unit_test(the_preview_is_the_first_rows),
        cmocka_unit_test(a_units_row_follows_the_header_but_for_remarks),
        cmocka_unit_test(the_decimal_mark_is_that_of_more_cells),
        cmocka_unit_test(the_letters_of_a_log_are_told_from_its_first_bytes),
        cmocka_unit_test(control_characters_make_it_no_text),
        cmocka_unit_test(the_unit_of_stamps_is_told_by_their_size_and_steps),
        cmocka_unit_test(units_of_other_channels_are_told_by_their_size),
        cmocka_unit_test(engine_and_road_speed_are_swapped_where_neither_can_be),
        cmocka_unit_test(a_log_behind_another_is_read_by_its_own_header),
        cmocka_unit_test(a_further_header_brings_its_own_columns),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
