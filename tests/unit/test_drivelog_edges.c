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
    return log_stamp_read((log_slice){last_of_a_page(text, strlen(text)), strlen(text)}, &seconds, &dated) ? seconds
                                                                                                           : NAN;
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
                                        "31.02.2027 1:00",
                                        "29.02.2027 1:00",
                                        "2027-04-31 1:00",
                                        "02/30/2028 1:00",
                                        "2027-01-00 1:00",
                                        "2027-01-16",
                                        "2027-01.16 1:00",
                                        "1-2 1:00"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
        if (!isnan(stamp_s(wrong[i])))
            fail_msg("\"%s\" was read as %g", wrong[i], stamp_s(wrong[i]));
}

/* ---- stamps put together at random, and what stands behind the end of a cell ---- */

/* Days from 1970-01-01 to a date, counted day by day and not by the calendar's formula. */
static long days_to(int year, int month, int day)
{
    static const int lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    long days = 0;
    for (int y = 1970; y < year; y++)
        days += y % 4 == 0 && (y % 100 != 0 || y % 400 == 0) ? 366 : 365;
    for (int m = 1; m < month; m++)
        days += lengths[m - 1] + (m == 2 && year % 4 == 0 && (year % 100 != 0 || year % 400 == 0));
    return days + day - 1;
}

/* No byte behind the cell changes what it says. */
static double stamp_among_others(const char *text, bool *dated)
{
    static const char *const behind[] = {"",   "5", ":5", ":59", ".5", ",25", " PM",      "M",
                                         "PM", "Z", "x",  "\"",  " ",  "/1",  "-1-1 1:00"};
    double first = NAN;
    for (size_t i = 0; i < sizeof behind / sizeof behind[0]; i++) {
        char row[200];
        double seconds = 77.0;
        bool with_date = false;
        snprintf(row, sizeof row, "%s%s", text, behind[i]);
        const char *const at = i == 0 ? last_of_a_page(text, strlen(text)) : row;
        const bool is = log_stamp_read((log_slice){at, strlen(text)}, &seconds, &with_date);
        if (!is)
            assert_true(seconds == 77.0); /* untouched */
        const double got = is ? seconds : NAN;
        if (i == 0) {
            first = got;
            *dated = with_date;
        } else if (!(got == first || (isnan(got) && isnan(first))) || (is && with_date != *dated)) {
            fail_msg("\"%s\" before \"%s\": %.9g, alone %.9g", text, behind[i], got, first);
        }
    }
    return first;
}

static uint64_t seed = 88172645463325252u;

/* 0 to n - 1 (xorshift64, G. Marsaglia, J. Stat. Soft. 8(14), 2003). */
static int below(int n)
{
    seed ^= seed << 13;
    seed ^= seed >> 7;
    seed ^= seed << 17;
    return (int)(seed % (uint64_t)n);
}

static void a_stamp_is_the_sum_of_its_parts(void **state)
{
    (void)state;
    for (int round = 0; round < 4000; round++) {
        char text[120];
        size_t used = 0;
        double want = 0.0, fraction = 0.0;
        bool dated = false;
        const bool with_date = below(2) == 1;
        for (int spaces = below(3); spaces > 0; spaces--)
            text[used++] = " \""[below(2)];
        if (with_date) {
            const int year = 1970 + below(230), month = 1 + below(12), day = 1 + below(28), form = below(4);
            const char mark = "-./"[below(3)];
            want += 86400.0 * (double)days_to(year, month, day);
            if (form == 0)
                used += (size_t)sprintf(text + used, "%d%c%02d%c%d", year, mark, month, mark, day);
            else if (form == 1 || day <= 12) /* what may be either is the day */
                used += (size_t)sprintf(text + used, "%d%c%d%c%d", day, mark, month, mark, year);
            else if (form == 2)
                used += (size_t)sprintf(text + used, "%02d%c%02d%c%d", month, mark, day, mark, year);
            else { /* two digits of a year are of this century; above 31 it stands ahead */
                want += 86400.0 * (double)(days_to(2000 + year % 100, month, day) - days_to(year, month, day));
                if (year % 100 > 31)
                    used += (size_t)sprintf(text + used, "%02d%c%d%c%02d", year % 100, mark, month, mark, day);
                else
                    used += (size_t)sprintf(text + used, "%02d%c%d%c%02d", day, mark, month, mark, year % 100);
            }
            static const char *const joints[] = {"T", "t", ",", " ", "  ", ", ", "T "};
            used += (size_t)sprintf(text + used, "%s", joints[below(7)]);
        }
        const int groups = 2 + below(3), minute = below(60), second = below(61);
        int hour = groups > 2 ? below(24) : 0;
        if (groups > 2 && below(20) == 0)
            hour = 100000 - below(2);
        used += groups > 2 ? (size_t)sprintf(text + used, below(2) == 1 ? "%02d:" : "%d:", hour) : 0;
        const int minutes = groups > 2 ? minute : below(200); /* without hours they may be many */
        used += (size_t)sprintf(text + used, "%02d:%02d", minutes, second);
        want += 3600.0 * hour + 60.0 * minutes + second;
        const int digits = groups == 4 ? 1 + below(9) : below(10);
        if (groups == 4 || digits > 0 || below(10) == 0) {
            double place = 0.1;
            text[used++] = groups == 4 ? ':' : ".,"[below(2)];
            for (int k = 0; k < digits; k++, place /= 10) {
                const int digit = below(10);
                text[used++] = (char)('0' + digit);
                fraction += digit * place;
            }
        }
        text[used] = '\0';
        if (groups > 2 && hour < 24 && below(3) == 0) {
            static const char *const halves[] = {"AM", " am", "PM", " pm", "  Pm", "aM", " Am", " pM"};
            const int half = below(8);
            used += (size_t)sprintf(text + used, "%s", halves[half]);
            const bool afternoon = strpbrk(halves[half], "Pp") != NULL;
            want += afternoon && hour < 12 ? 43200.0 : !afternoon && hour == 12 ? -43200.0 : 0.0;
        } else if (below(3) == 0) {
            static const char *const zones[] = {"Z", "z", "+01:00", "-0500", " Z", " +1"};
            used += (size_t)sprintf(text + used, "%s", zones[below(6)]);
        }
        for (int spaces = below(3); spaces > 0; spaces--)
            text[used++] = " \""[below(2)];
        text[used] = '\0';
        want += fraction;
        const double got = stamp_among_others(text, &dated);
        if (!(fabs(got - want) <= 1e-12 + 3e-16 * want) || dated != with_date)
            fail_msg("\"%s\" is %.9f, dated %d, not %.9f", text, got, dated, want);
    }
}

static void the_limits_of_a_stamp_are_where_they_are_said_to_be(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double seconds; /* NaN: none */
    } stamps[] = {
        {"0:00", 0},
        {"0:59", 59},
        {"0:60", 60}, /* a leap second */
        {"0:61", NAN},
        {"59:00", 3540},
        {"60:00", 3600}, /* without hours */
        {"75:10", 4510},
        {"999999999:59", 59999999999.0},
        {"1000000000:59", NAN}, /* ten digits */
        {"0:59:00", 3540},
        {"0:60:00", NAN},
        {"100000:00:00", 360000000},
        {"100001:00:00", NAN},
        {"1:02:03:5", 3723.5},
        {"1:02:03:05", 3723.05},
        {"1:02:03:123456789", 3723.123456789},
        {"1:02:03:5.5", NAN},
        {"1:02:03:5:5", NAN},
        {"1:02:03:", NAN},
        {"1:02:", NAN},
        {"1:02.", 62},
        {"1:02:03.", 3723},
        {"1:02:03.x", NAN},
        {"11:59:59 PM", 86399},
        {"12:59:59 PM", 46799},
        {"13:00:00 AM", 46800},
        {"11:00:00 AM", 39600},
        {"12:00:01 AM", 1},
        {"0:00:00 PM", 43200},
        {"1:02:03 P", NAN},
        {"1:02:03 A", NAN},
        {"1:02:03 M", NAN},
        {"1:02:03 QM", NAN},
        {"1:02:03 PN", NAN},
        {"1:02:03 AN", NAN},
        {"1:02:03 PMs", 46923}, /* what stands behind is passed over, as a zone is */
        {"2027-01", NAN},
        {"-1:00", NAN},
        {"1:-2", NAN},
        {" ", NAN},
        {"\"\"", NAN},
        {"\"", NAN},
        {"2027:01", 2027 * 60 + 1},
    };
    static const struct {
        const char *text;
        int year, month, day; /* 0: none */
        int second;
    } dates[] = {
        {"1970-01-01 0:00:00", 1970, 1, 1, 0},
        {"1970-01-01 0:00:01", 1970, 1, 1, 1},
        {"1969-12-31 0:00:00", 0, 0, 0, 0},
        {"2199-12-31 0:00:00", 2199, 12, 31, 0},
        {"2200-01-01 0:00:00", 0, 0, 0, 0},
        {"2027-12-01 0:00:00", 2027, 12, 1, 0},
        {"2027-13-01 0:00:00", 0, 0, 0, 0},
        {"2027-0-01 0:00:00", 0, 0, 0, 0},
        {"29.02.2028 0:00:00", 2028, 2, 29, 0},
        {"29.02.2100 0:00:00", 0, 0, 0, 0},
        {"2027-01-31 0:00:00", 2027, 1, 31, 0},
        {"2027-01-32 0:00:00", 0, 0, 0, 0},
        {"2027-01-0 0:00:00", 0, 0, 0, 0},
        {"31.12.2027 0:00:00", 2027, 12, 31, 0},
        {"12.12.2027 0:00:00", 2027, 12, 12, 0},
        {"12.31.2027 0:00:00", 2027, 12, 31, 0},
        {"13.13.2027 0:00:00", 0, 0, 0, 0},
        {"12.13.2027 0:00:00", 2027, 12, 13, 0},
        {"12.12.99 0:00:00", 2099, 12, 12, 0},
        {"12.12.100 0:00:00", 0, 0, 0, 0},
        {"1.1.0 0:00:00", 2000, 1, 1, 0},
        {"2027-01-16 12:0", 2027, 1, 16, 720},
        {"2027-01-16", 0, 0, 0, 0},
        {"2027-01-16 12", 0, 0, 0, 0},
        {"2027-01-16X1:00", 0, 0, 0, 0},
        {"2027-01-16TT1:00", 0, 0, 0, 0},
        {"2027-01", 0, 0, 0, 0},
    };
    bool dated = false;
    for (size_t i = 0; i < sizeof stamps / sizeof stamps[0]; i++) {
        const double want = stamps[i].seconds, got = stamp_among_others(stamps[i].text, &dated);
        if (isnan(want) ? !isnan(got) : !(fabs(got - want) <= 1e-9) || dated)
            fail_msg("\"%s\" is %.9g, dated %d, not %.9g", stamps[i].text, got, dated, want);
    }
    for (size_t i = 0; i < sizeof dates / sizeof dates[0]; i++) {
        const double got = stamp_among_others(dates[i].text, &dated);
        const double want = 86400.0 * (double)days_to(dates[i].year, dates[i].month, dates[i].day) + dates[i].second;
        if (dates[i].year == 0 ? !isnan(got) : got != want || !dated)
            fail_msg("\"%s\" is %.9g, dated %d, not %.9g", dates[i].text, got, dated, want);
    }
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

/* A last row without its end: its last cell stands where it is at least as long as the one above it, else it may be cut. */
static void the_last_cell_of_a_log_may_be_cut(void **state)
{
    (void)state;
    static const struct {
        const char *above, *tail;
        size_t rows, truncated, comments;
        double kmh; /* of the last row; NaN: left out */
    } cases[] = {
        {"1,2000,30\n2,2000,31\n", "3,2000,32", 3, 0, 0, 32},
        {"1,2000,30\n2,2000,31\n", "3,2000,3", 3, 1, 0, NAN},
        {"1,2000,30\n2,2000,31\n", "3,2000,132", 3, 0, 0, 132},
        {"1,2000,30\n2,2000,31\n", "3,2000,", 3, 1, 0, NAN},
        {"1,2000,30\n2,2000,31\n", "3,200,32", 3, 0, 0, 32},
        {"1,2000,30\n2,2000,31\n", "3,2000", 2, 1, 0, 31},
        {"1,2000,30\n2,2000,31\n", "3", 2, 1, 0, 31},
        {"1,2000,30\n2,2000,31\n", "x", 2, 0, 1, 31},
        {"1,2000,30\n2,2000,31\n", "#", 2, 0, 1, 31},
        {"1,2000,30\n2,2000,31\n", " ", 2, 0, 1, 31},
        {"1,2000,30\n2,2000,31\n", "3,2000,32\r", 3, 0, 0, 32},
        {"1,2000,30\n2,2000,31\n", "3,2000,32\n", 3, 0, 0, 32},
        {"1,2000,30\n2,2000,31\n", "3,2000,3\n", 3, 0, 0, 3},
        {"1,2000,130\n2,2000,31\n", "3,2000,32", 3, 0, 0, 32},
        {"1,2000,130\n2,2000,131\n# note\n", "3,2000,32", 3, 1, 1, NAN},
        {"1,2000,130\n2,2000,131\n\n", "3,2000,132", 3, 0, 1, 132},
        {"1,2000,30\r\n2,2000,31\r\n", "3,2000,32", 3, 0, 0, 32},
        {"1,2000,30\r\n2,2000,31\r\n", "3,2000,3", 3, 1, 0, NAN},
        {"1,2000,30\n2,2000,\"31\"\n", "3,2000,32", 3, 1, 0, NAN},
        {"1,2000,30\n2,2000,\"31\"\n", "3,2000,\"32\"", 3, 0, 0, 32},
        {"1,2000,30\n2,\"2000\",31\n", "3,2000,32", 3, 0, 0, 32},
        {"1,2000,30\n2,\"2000\",31\n", "3,2000,3", 3, 1, 0, NAN},
        {"1,2000,130\n\"2\",2000,31\r\n", "3,2000,32", 3, 0, 0, 32},
        {"1,2000,30\n2,2000,\n", "3,2000,3", 3, 0, 0, 3},
        {"", "1,2000,30", 1, 0, 0, 30},
    };
    static const size_t pieces[] = {0, 1, 11};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        for (size_t p = 0; p < 3; p++) {
            char text[200];
            read_log log;
            snprintf(text, sizeof text, "time,rpm,speed\n%s%s", cases[i].above, cases[i].tail);
            read_text(&log, text, pieces[p]);
            const double kmh = log.n > 0 ? log.value[CH_DRIVELOG_ROAD][log.n - 1] * 3.6 : NAN;
            if (log.status != CH_OK || log.n != cases[i].rows || log.report.truncated.n != cases[i].truncated ||
                log.report.comments.n != cases[i].comments || isnan(kmh) != isnan(cases[i].kmh) ||
                fabs(kmh - cases[i].kmh) > 1e-9)
                fail_msg("\"%s\": %s, %zu rows, %u truncated, %u comments, %g", text, log.err.what, log.n,
                         (unsigned)log.report.truncated.n, (unsigned)log.report.comments.n, kmh);
            assert_int_equal(log.report.ragged.n, 0);
            if (cases[i].truncated > 0) {
                uint64_t line = 1;
                for (const char *c = text; *c != '\0'; c++)
                    line += *c == '\n';
                assert_int_equal(log.report.truncated.line, line);
            }
            read_log_clear(&log);
        }
}

/* What becomes of an odd row among three columns: a remark, one of too few or too many cells, or a row whose cells say nothing. */
static void an_odd_row_is_a_remark_ragged_or_empty(void **state)
{
    (void)state;
    static const struct {
        const char *row;
        unsigned comments, ragged, no_stamp, words, missing; /* the last two: in each of the three columns */
    } cases[] = {
        {"a", 1, 0, 0, 0, 0},
        {"a,b", 1, 0, 0, 0, 0},
        {"a,b,c,d", 1, 0, 0, 0, 0},
        {",b,c", 1, 0, 0, 0, 0},
        {",,c", 1, 0, 0, 0, 0},
        {"a,b,c", 0, 0, 1, 1, 0},
        {",,", 0, 0, 1, 0, 1},
        {",,,,", 0, 0, 1, 0, 1},
        {",", 0, 1, 0, 0, 0},
        {"5", 0, 1, 0, 0, 0},
        {"5,2000", 0, 1, 0, 0, 0},
        {"5,2000,30,4", 0, 1, 0, 0, 0},
        {"5,2000,30,,4", 0, 1, 0, 0, 0},
        {"nan,-,n/a", 0, 0, 1, 0, 1},
        {"\"a\",\"b\",\"c\"", 0, 0, 1, 1, 0},
        {"\"\",\"\",\"\"", 0, 0, 1, 0, 1},
        {"//", 1, 0, 0, 0, 0},
        {"/", 1, 0, 0, 0, 0},
        {"#", 1, 0, 0, 0, 0},
        {"%", 1, 0, 0, 0, 0},
        {"; a", 1, 0, 0, 0, 0},
        {"; 5", 1, 0, 0, 0, 0},
        {"#5,2000,30", 1, 0, 0, 0, 0},
        {" \t ", 1, 0, 0, 0, 0},
        {"\r", 1, 0, 0, 0, 0},
        {"time,rpm", 1, 0, 0, 0, 0},
        {"s,rpm,km/h", 0, 0, 1, 1, 0}, /* units belong behind a header */
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[200];
        read_log log;
        snprintf(text, sizeof text, "time,rpm,speed\n1,2000,30\n2,2010,31\n%s\n3,2020,32\n4,2030,33\n", cases[i].row);
        read_text(&log, text, 0);
        const ch_drivelog_report *const r = &log.report;
        if (log.status != CH_OK || log.n != 4 || r->comments.n != cases[i].comments || r->ragged.n != cases[i].ragged ||
            r->no_stamp.n != cases[i].no_stamp)
            fail_msg("\"%s\": %s, %zu rows, %u comments, %u ragged, %u without a stamp", cases[i].row, log.err.what,
                     log.n, (unsigned)r->comments.n, (unsigned)r->ragged.n, (unsigned)r->no_stamp.n);
        assert_int_equal(r->comments.line + r->ragged.line + r->no_stamp.line, 4);
        for (int c = 0; c <= CH_DRIVELOG_ROAD; c++) {
            assert_int_equal(r->columns[c].not_numbers.n, cases[i].words);
            assert_int_equal(r->columns[c].missing.n, cases[i].missing);
            assert_int_equal(r->columns[c].not_numbers.line + r->columns[c].missing.line,
                             cases[i].words + cases[i].missing > 0 ? 4 : 0);
        }
        assert_int_equal(log.line[2], 5);
        read_log_clear(&log);
    }
}

/* In a log whose time is a clock a mere number is no time, and is told as a word in its place would be; so is a stamp among numbers. */
static void a_stamp_of_another_form_is_none(void **state)
{
    (void)state;
    static const struct {
        const char *rows;
        size_t rows_n;
        unsigned words, missing;
    } cases[] = {
        {"12:00:01,2000,30\n12:00:02,2000,30\n7,2000,30\n12:00:03,2000,30\n", 3, 1, 0},
        {"12:00:01,2000,30\n12:00:02,2000,30\n\"7\",2000,30\n12:00:03,2000,30\n", 3, 1, 0},
        {"12:00:01,2000,30\n12:00:02,2000,30\n7 s,2000,30\n12:00:03,2000,30\n", 3, 1, 0},
        {"12:00:01,2000,30\n12:00:02,2000,30\nlate,2000,30\n12:00:03,2000,30\n", 3, 1, 0},
        {"12:00:01,2000,30\n12:00:02,2000,30\n,2000,30\n12:00:03,2000,30\n", 3, 0, 1},
        {"1,2000,30\n2,2000,30\n12:00:03,2000,30\n3,2000,30\n", 3, 1, 0},
        {"1,2000,30\n2,2000,30\n3 km/h,2000,30\n3,2000,30\n", 3, 1, 0},
        {"1,2000,30\n12:00:03,2000,30\n", 1, 1, 0}, /* as many of either: numbers */
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[200];
        read_log log;
        snprintf(text, sizeof text, "time,rpm,speed\n%s", cases[i].rows);
        read_text(&log, text, 0);
        const ch_drivelog_column *const time = &log.report.columns[CH_DRIVELOG_TIME];
        if (log.status != CH_OK || log.n != cases[i].rows_n || time->not_numbers.n != cases[i].words ||
            time->missing.n != cases[i].missing || log.report.no_stamp.n != 1)
            fail_msg("\"%s\": %s, %zu rows, %u words, %u missing, %u without a stamp", text, log.err.what, log.n,
                     (unsigned)time->not_numbers.n, (unsigned)time->missing.n, (unsigned)log.report.no_stamp.n);
        assert_int_equal(time->not_numbers.line + time->missing.line, i == 7 ? 3 : 4);
        read_log_clear(&log);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(stamps_are_read_as_their_writers_meant_them),
        cmocka_unit_test(what_is_no_stamp_is_not_taken_for_one),
        cmocka_unit_test(a_stamp_is_the_sum_of_its_parts),
        cmocka_unit_test(the_limits_of_a_stamp_are_where_they_are_said_to_be),
        cmocka_unit_test(remarks_and_blank_lines_between_rows_are_no_rows),
        cmocka_unit_test(a_unit_in_brackets_is_told_from_other_words_in_them),
        cmocka_unit_test(a_row_of_units_that_begins_with_percent_is_one),
        cmocka_unit_test(the_last_cell_of_a_log_may_be_cut),
        cmocka_unit_test(an_odd_row_is_a_remark_ragged_or_empty),
        cmocka_unit_test(a_stamp_of_another_form_is_none),
        cmocka_unit_test(lone_halves_of_a_pair_are_shown_as_question_marks_and_counted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
