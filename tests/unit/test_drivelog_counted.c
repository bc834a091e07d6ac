/*
 * What the log reader hands out and counts, against the same worked out here from the whole log at once: values of slower channels, how often each column
 * brings news, gaps, means of one speed against another; and the limits of the clock on either side.
 */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/sampling.h"
#include "drivelog_text.h"
#include "expect.h"

enum { ROWS = 9000, CHANNELS = 5 };
enum { ENGINE, ROAD, THROTTLE, GPS, ACCELERATION };
static const ch_drivelog_channel channel_of[CHANNELS] = {CH_DRIVELOG_ENGINE, CH_DRIVELOG_ROAD, CH_DRIVELOG_THROTTLE,
                                                         CH_DRIVELOG_GPS, CH_DRIVELOG_ACCELERATION};
static const double si_of[CHANNELS] = {0.10471975511965977, 1.0 / 3.6, 0.01, 1.0 / 3.6, 9.80665};

static const double EVERY_S =
    0.097; /* no whole number of them is the two seconds that a slower channel may be without a value */

/* ---- one drive, and what has to come of it ---- */

/* Values in SI as the log states them, NaN where its cell is empty; segments begin where the clock starts again. */
typedef struct stated {
    double time_s[ROWS], value[CHANNELS][ROWS];
    unsigned segment[ROWS];
} stated;

/* A number with so many digits behind the point, as the reader will find it. */
static double typed(double value, int digits, double si)
{
    char cell[32];
    snprintf(cell, sizeof cell, "%.*f", digits, value);
    put(",%s", cell);
    return strtod(cell, NULL) * si;
}

/*
 * Some ten rows a second with gaps of half a second to five. Road speed in one row of three, at random; throttle now and then without a value; engine speed that often
 * repeats itself; the clock starts again twice. Road speed is `over_gps` times that of the satellite.
 */
static void drive(uint64_t number, double over_gps, double over_acceleration, stated *log)
{
    ch_stream s;
    ch_stream_init(&s, 311, number);
    used = 0;
    put("time (s),rpm,speed (km/h),throttle (%%),GPS speed (km/h),acceleration (g)\n");
    double clock_s = 500.0, true_s = 0.0, rpm = 2000.0;
    unsigned segment = 0;
    for (int i = 0; i < ROWS; i++) {
        const double gap = ch_stream_uniform(&s) < 0.01 ? 0.5 + 4.5 * ch_stream_uniform(&s) : EVERY_S;
        clock_s = rint(clock_s * 1000.0 + gap * 1000.0) / 1000.0;
        true_s += rint(gap * 1000.0) / 1000.0;
        if (i == 1000 || i == 1700) { /* the clock starts again; time goes on by the usual interval */
            clock_s = 20.0;
            true_s = log->time_s[i - 1] + EVERY_S;
            segment++;
        }
        true_s = i == 0 ? 0.0 : true_s;
        log->time_s[i] = true_s;
        log->segment[i] = segment;
        const double kmh = fmax(60.0 + 70.0 * sin(true_s / 9.0), 0.0);
        if (ch_stream_uniform(&s) > 0.4)
            rpm = 3000.0 + 1000.0 * sin(true_s / 7.0);
        put("%.3f", clock_s);
        log->value[ENGINE][i] = typed(rpm, 1, si_of[ENGINE]);
        if (ch_stream_uniform(&s) < 0.33 || i == 0)
            log->value[ROAD][i] = typed(kmh * over_gps, 2, si_of[ROAD]);
        else {
            log->value[ROAD][i] = NAN;
            put(",");
        }
        if (ch_stream_uniform(&s) < 0.05) {
            log->value[THROTTLE][i] = NAN;
            put(",");
        } else
            log->value[THROTTLE][i] = typed(50.0 + 40.0 * sin(true_s), 0, si_of[THROTTLE]);
        log->value[GPS][i] = typed(kmh, 2, si_of[GPS]);
        log->value[ACCELERATION][i] =
            typed(kmh > 0.0 ? over_gps * over_acceleration * 70.0 / 9.0 / 3.6 * cos(true_s / 9.0) / 9.80665 : 0.0, 5,
                  si_of[ACCELERATION]);
        put("\n");
    }
}

/* The line between the values to either side, of the same segment and no more than two seconds apart. */
static double between(const stated *log, int channel, int row)
{
    const double *const v = log->value[channel];
    int before = row, behind = row;
    while (before >= 0 && isnan(v[before]) && log->segment[before] == log->segment[row])
        before--;
    while (behind < ROWS && isnan(v[behind]) && log->segment[behind] == log->segment[row])
        behind++;
    if (before == row)
        return v[row];
    if (before < 0 || behind == ROWS || log->segment[before] != log->segment[row] ||
        log->segment[behind] != log->segment[row] || log->time_s[behind] - log->time_s[before] > 2.0)
        return NAN;
    return v[before] + (v[behind] - v[before]) * (log->time_s[row] - log->time_s[before]) /
                           (log->time_s[behind] - log->time_s[before]);
}

static void slower_channels_are_on_the_line_between_their_values(void **state)
{
    (void)state;
    static const size_t pieces[] = {0, 777, 40000};
    for (uint64_t number = 0; number < 6; number++) {
        static stated log;
        drive(number, 1.0, 1.0, &log);
        read_log read;
        read_log_text(&read, text, used, pieces[number % 3], NULL);
        assert_int_equal(read.status, CH_OK);
        assert_int_equal(read.n, ROWS);
        int filled = 0, left = 0;
        for (int i = 0; i < ROWS; i++) {
            expect_close(read.value[CH_DRIVELOG_TIME][i], log.time_s[i], 1e-6);
            assert_int_equal(read.segment[i], log.segment[i]);
            assert_int_equal(read.line[i], i + 2);
            for (int c = 0; c < CHANNELS; c++) {
                const double want = c == ROAD ? between(&log, c, i) : log.value[c][i];
                const double got = read.value[channel_of[c]][i];
                assert_int_equal(isnan(got), isnan(want));
                if (!isnan(want))
                    expect_close(got, want, 1e-6); /* times that differ in the last bits, slopes below 10 m/s2 */
                filled += c == ROAD && isnan(log.value[c][i]) && !isnan(want);
                left += c == ROAD && isnan(want);
            }
        }
        assert_int_equal(read.report.columns[CH_DRIVELOG_ROAD].filled, filled);
        assert_true(filled > 3000 && left > 15);
        read_log_clear(&read);
    }
}

static void what_is_counted_of_a_log_is_what_is_in_it(void **state)
{
    (void)state;
    for (uint64_t number = 0; number < 4; number++) {
        static stated log;
        drive(number, 1.0, 1.0, &log);
        read_log read;
        read_log_text(&read, text, used, 0, NULL);
        assert_int_equal(read.status, CH_OK);
        const ch_drivelog_report *const report = &read.report;
        bool moving[ROWS];
        double moving_s = 0.0, seconds = 0.0, longest_s = 0.0;
        uint64_t gaps = 0, first_gap = 0;
        for (int i = 0; i < ROWS; i++) {
            const double road = between(&log, ROAD, i), step_s = i > 0 ? log.time_s[i] - log.time_s[i - 1] : 0.0;
            moving[i] = log.value[ENGINE][i] > 10.0 && road > 0.5;
            moving_s += moving[i] && step_s < 0.35 ? step_s : 0.0;
            if (i == 0 || log.segment[i] != log.segment[i - 1])
                continue;
            if (step_s > 0.35) { /* more than three intervals; one a little longer is never made */
                gaps++;
                first_gap = first_gap == 0 ? (uint64_t)i + 2 : first_gap;
                longest_s = fmax(longest_s, step_s);
            } else
                seconds += step_s;
        }
        assert_int_equal(report->gaps.n, gaps);
        assert_int_equal(report->gaps.line, first_gap);
        expect_close(report->longest_gap_s, longest_s, 1e-6);
        expect_close(report->seconds, seconds, 1e-6);
        expect_close(report->median_interval_s, EVERY_S, 1e-6);
        assert_int_equal(report->segments_n, 3);
        assert_int_equal(report->segments[1].line, 1002);
        assert_int_equal(report->segments[1].row, 1000);
        expect_close(report->segments[2].time_s, log.time_s[1700], 1e-6);
        expect_close(report->segments[2].stamp_s, 20.0, 1e-9);
        const ch_drivelog_count never[] = {
            report->backward, report->strays,   report->no_stamp,      report->repeated,  report->wraps,
            report->ragged,   report->comments, report->headers_again, report->truncated, report->bad_characters};
        for (size_t k = 0; k < sizeof never / sizeof never[0]; k++)
            assert_true(never[k].n == 0 && never[k].line == 0);
        for (int c = 0; c < CHANNELS; c++) {
            const ch_drivelog_column *const column = &report->columns[channel_of[c]];
            assert_int_equal(column->glitches.line + column->not_numbers.line + column->other_units.line, 0);
            uint64_t values = 0, missing = 0, first = 0, changes = 0, stale = 0;
            double last = NAN, least = INFINITY, most = -INFINITY;
            for (int i = 0; i < ROWS; i++) {
                const double v = log.value[c][i];
                if (i > 0 && log.segment[i] != log.segment[i - 1])
                    last = NAN; /* the first of a segment is news */
                if (isnan(v)) {
                    missing++;
                    first = first == 0 ? (uint64_t)i + 2 : first;
                    values += c == ROAD && !isnan(between(&log, c, i));
                    continue;
                }
                values++;
                changes += moving[i] && v != last;
                stale += moving[i] && v == last;
                last = v;
                least = fmin(least, v);
                most = fmax(most, v);
            }
            assert_int_equal(column->values, values);
            assert_int_equal(column->missing.n, missing);
            assert_int_equal(column->missing.line, first);
            assert_int_equal(column->changes, changes);
            assert_int_equal(column->stale, stale);
            assert_int_equal(column->glitches.n + column->not_numbers.n + column->other_units.n + column->rivals, 0);
            expect_relative(column->fresh_interval_s, moving_s / (double)changes, 1e-9);
            expect_close(column->least_si, least, 1e-9);
            expect_close(column->most_si, most, 1e-9);
        }
        read_log_clear(&read);
    }
}

/* A fifth off the satellite's speed, and a factor of four off the acceleration, are said; a little less is not. */
static void speeds_that_disagree_are_told_from_a_fifth_and_a_factor_of_four_on(void **state)
{
    (void)state;
    static const struct {
        double over_gps, over_acceleration;
        bool gps, acceleration;
    } cases[] = {{1.0, 1.0, false, false},   {0.815, 1.0, false, false}, {0.785, 1.0, true, false},
                 {1.185, 1.0, false, false}, {1.215, 1.0, true, false},  {1.0, 3.7, false, false},
                 {1.0, 4.4, false, true},    {1.0, 0.27, false, false},  {1.0, 0.23, false, true}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        static stated log;
        drive(k, cases[k].over_gps, cases[k].over_acceleration, &log);
        read_log read;
        read_log_text(&read, text, used, 0, NULL);
        assert_int_equal(read.status, CH_OK);
        double both = 0.0, gps = 0.0;
        for (int i = 0; i < ROWS; i++) {
            const double road = between(&log, ROAD, i);
            if (log.value[GPS][i] > 5.0 && road > 0.0) {
                both += road * log.value[GPS][i];
                gps += log.value[GPS][i] * log.value[GPS][i];
            }
        }
        expect_relative(read.report.road_over_gps, both / gps, 1e-6);
        /* by a line of half a second through a speed that bends, and breaks where the car sets off: within 5 % */
        expect_relative(read.report.rate_over_acceleration, 1.0 / cases[k].over_acceleration, 0.05);
        assert_int_equal(strstr(read.told, "of the GPS speed") != NULL, cases[k].gps);
        assert_int_equal(strstr(read.told, "as fast as the acceleration says") != NULL, cases[k].acceleration);
        read_log_clear(&read);
    }
}

/* ---- the clock ---- */

enum { BEFORE = 60, BEHIND = 60 };

/* A log whose rows are `step_s` apart; after the sixtieth come these stamps, as seconds from it, and then more rows on from `on_s`. */
static void clock_of(read_log *read, double step_s, const double stamps[], size_t n, double on_s)
{
    const double last_s = 10000.0 + step_s * (BEFORE - 1);
    used = 0;
    put("time (s),rpm,speed (km/h)\n");
    for (int i = 0; i < BEFORE; i++)
        put("%.3f,%d,%.1f\n", 10000.0 + step_s * i, 2000 + i, 60.0 + 0.1 * i);
    for (size_t i = 0; i < n; i++)
        put("%.3f,%d,%.1f\n", last_s + stamps[i], 2060 + (int)i, 66.0);
    for (int i = 1; i <= BEHIND; i++)
        put("%.3f,%d,%.1f\n", last_s + on_s + step_s * i, 2060 + i, 66.0 + 0.1 * i);
    read_log_text(read, text, used, 0, NULL);
    assert_int_equal(read->status, CH_OK);
}

/* What became of one stamp `off_s` from the last, with the next one step after the last. */
typedef struct fate {
    uint64_t back, strays, segments, rows;
} fate;

static fate fate_of(double step_s, double off_s, double next_s)
{
    read_log read;
    clock_of(&read, step_s, &off_s, 1, next_s - step_s);
    const fate one = {read.report.backward.n, read.report.strays.n, read.report.segments_n, read.n};
    for (size_t i = 1; i < read.n; i++)
        assert_true(read.value[CH_DRIVELOG_TIME][i] > read.value[CH_DRIVELOG_TIME][i - 1]);
    read_log_clear(&read);
    return one;
}

static void assert_fate(fate got, uint64_t back, uint64_t strays, uint64_t segments, uint64_t rows)
{
    assert_int_equal(got.back, back);
    assert_int_equal(got.strays, strays);
    assert_int_equal(got.segments, segments);
    assert_int_equal(got.rows, rows);
}

/* "A little" back is below a second and ten intervals: the row is left out as such. Beyond that it is a stray where the next goes on from the last, as is what lies
 * more than ten seconds and twenty intervals ahead. Next is next within three seconds and ten intervals. */
static void one_odd_stamp_is_told_by_how_far_it_is_off(void **state)
{
    (void)state;
    static const double steps_s[] = {0.05, 0.5, 1.0};
    for (int k = 0; k < 3; k++) {
        const double step_s = steps_s[k], little_s = fmax(1.0, 10.0 * step_s), far_s = fmax(10.0, 20.0 * step_s),
                     near_s = fmax(3.0, 10.0 * step_s);
        const uint64_t all = BEFORE + BEHIND;
        assert_fate(fate_of(step_s, -0.97 * little_s, step_s), 1, 0, 1, all);
        assert_fate(fate_of(step_s, -1.03 * little_s, step_s), 0, 1, 1, all);
        assert_fate(fate_of(step_s, -1.03 * little_s, 0.97 * near_s), 0, 1, 1, all);
        assert_fate(fate_of(step_s, -3.0 * little_s, 0.0), 0, 1, 1, all + 1 - 1);
        assert_fate(fate_of(step_s, 1.03 * far_s, step_s), 0, 1, 1, all);
        assert_fate(fate_of(step_s, 1.03 * far_s, 0.97 * near_s), 0, 1, 1, all);
        /* the next is too far from the last to go on from it, and behind the odd one: a gap, then a clock that starts again */
        assert_fate(fate_of(step_s, 3.0 * far_s, 1.03 * near_s), 0, 0, 2, all + 1);
        /* nearer than far: the row stands, and those that come are behind it until they have caught up, or start again */
        const fate near = fate_of(step_s, 0.97 * far_s, step_s);
        assert_true(near.strays == 0 && near.rows + near.back >= all - 1);
    }
}

/* A clock that goes back and stays there has started again, from a second and ten intervals on: a new segment, one usual interval later. */
static void a_clock_that_starts_again_begins_a_segment(void **state)
{
    (void)state;
    static const double steps_s[] = {0.05, 0.5};
    for (int k = 0; k < 2; k++) {
        const double step_s = steps_s[k], back_s = -200.0 * step_s;
        read_log read;
        clock_of(&read, step_s, NULL, 0, back_s);
        assert_int_equal(read.report.segments_n, 2);
        assert_int_equal(read.n, BEFORE + BEHIND);
        assert_int_equal(read.report.segments[1].why, CH_DRIVELOG_RESTART);
        assert_int_equal(read.report.segments[1].line, BEFORE + 2);
        assert_int_equal(read.report.segments[1].row, BEFORE);
        for (size_t i = 0; i < read.n; i++) {
            expect_close(read.value[CH_DRIVELOG_TIME][i], step_s * (double)i, 1e-6);
            assert_int_equal(read.segment[i], i >= BEFORE);
        }
        assert_int_equal(read.report.gaps.n, 0);
        read_log_clear(&read);
    }
}

/* More than a day ahead, and staying there, is another run; a day less is a gap. */
static void a_day_ahead_is_another_run(void **state)
{
    (void)state;
    for (int k = 0; k < 2; k++) {
        read_log read;
        clock_of(&read, 0.1, NULL, 0, k == 0 ? 86390.0 : 86410.0);
        assert_int_equal(read.report.segments_n, 1 + k);
        assert_int_equal(read.report.gaps.n, 1 - k);
        assert_int_equal(read.n, BEFORE + BEHIND);
        expect_close(read.value[CH_DRIVELOG_TIME][BEFORE], k == 0 ? 5.9 + 86390.1 : 6.0, 1e-6);
        if (k == 1)
            assert_int_equal(read.report.segments[1].why, CH_DRIVELOG_JUMP);
        read_log_clear(&read);
    }
}

/* Rows that share a stamp are spread evenly up to the next one; where that is more than three intervals off, over one interval. */
static void shared_stamps_are_spread_up_to_the_next(void **state)
{
    (void)state;
    for (int shared = 2; shared <= 5; shared++)
        for (int wide = 0; wide <= 1; wide++) {
            const double step_s = 1.0, ahead_s = wide == 1 ? 3.5 : 1.0;
            double stamps[5] = {0};
            read_log read;
            clock_of(&read, step_s, stamps, (size_t)shared - 1, ahead_s - step_s);
            assert_int_equal(read.n, BEFORE + BEHIND + shared - 1);
            assert_int_equal(read.report.repeated.n, shared - 1);
            assert_int_equal(read.report.repeated.line, BEFORE + 2);
            for (int k = 0; k < shared; k++)
                expect_close(read.value[CH_DRIVELOG_TIME][BEFORE - 1 + k], BEFORE - 1 + (double)k / shared, 1e-6);
            expect_close(read.value[CH_DRIVELOG_TIME][BEFORE - 1 + shared], BEFORE - 1 + ahead_s, 1e-6);
            read_log_clear(&read);
        }
}

/* The usual interval is known from the first two rows on. */
static void the_last_two_of_three_rows_may_share_a_stamp(void **state)
{
    (void)state;
    read_log read;
    used = 0;
    put("t s,n rpm,v km/h\n7,2000,60\n8,2010,61\n8,2020,62\n"); /* one letter is enough where its unit says the rest */
    read_log_text(&read, text, used, 0, NULL);
    assert_int_equal(read.status, CH_OK);
    assert_int_equal(read.n, 3);
    expect_close(read.value[CH_DRIVELOG_TIME][1], 1.0, 1e-9);
    expect_close(read.value[CH_DRIVELOG_TIME][2], 1.5, 1e-9);
    expect_close(read.value[CH_DRIVELOG_ENGINE][2], 2020 * si_of[ENGINE], 1e-9);
    expect_close(read.value[CH_DRIVELOG_ROAD][2], 62 / 3.6, 1e-9);
    assert_false(read.report.columns[CH_DRIVELOG_TIME].unit_assumed ||
                 read.report.columns[CH_DRIVELOG_ENGINE].unit_assumed ||
                 read.report.columns[CH_DRIVELOG_ROAD].unit_assumed);
    read_log_clear(&read);
}

static void a_text_that_begins_with_nothing_is_none(void **state)
{
    (void)state;
    read_log read;
    used = 0;
    put("xtime (s),rpm,speed (km/h)\n");
    for (int i = 0; i < 40; i++)
        put("%d,2000,60\n", i);
    text[0] = '\0';
    read_log_text(&read, text, used, 0, NULL);
    assert_int_equal(read.status, CH_E_INPUT);
    read_log_clear(&read);
}

/* A row of words that name nothing is no header; who names the columns by number needs none. */
static void a_row_of_words_that_name_nothing_is_no_header(void **state)
{
    (void)state;
    for (int words = 0; words <= 1; words++)
        for (int by_number = 0; by_number <= 1 - words; by_number++) {
            const ch_drivelog_options options = {.column = {[CH_DRIVELOG_TIME] = by_number ? "1" : NULL,
                                                            [CH_DRIVELOG_ENGINE] = by_number ? "2" : NULL,
                                                            [CH_DRIVELOG_ROAD] = by_number ? "3" : NULL}};
            read_log read;
            used = 0;
            put("%s", words ? "some words,of a title\n" : "");
            for (int i = 0; i < 40; i++)
                put("%d,2000,60\n", i);
            read_log_text(&read, text, used, 0, &options);
            assert_int_equal(read.status, by_number ? CH_OK : CH_E_INPUT);
            if (by_number)
                assert_int_equal(read.n, 40);
            else
                assert_string_equal(read.err.what, "the log has no header that names its columns");
            read_log_clear(&read);
        }
}

/* A log of `n` stamps as they are written, under this header of the time. */
static void stamps_of(read_log *read, const char *header, const char *const stamps[], size_t n)
{
    used = 0;
    put("%s,rpm,speed (km/h)\n", header);
    for (size_t i = 0; i < n; i++)
        put("%s,%d,60\n", stamps[i], 2000 + (int)i);
    read_log_text(read, text, used, 0, NULL);
    if (read->status != CH_OK)
        fail_msg("%s: %s", stamps[n - 1], read->err.what);
}

/*
 * Midnight is passed by a clock without a date where the next stamp is within an hour of the last; a counter of 16 or 32 bits, in milliseconds or microseconds,
 * ends where the next is within ten intervals and three seconds. Else the clock starts again. Where the row behind goes on from the last, one was odd.
 */
static void clocks_pass_midnight_and_counters_their_end(void **state)
{
    (void)state;
    static const struct {
        const char *header, *stamps[8];
        unsigned wraps, segments, strays;
        double last_s;
    } cases[] = {
        {"time", {"23:29:58", "23:29:59", "23:30:00", "00:30:00", "00:30:01"}, 1, 1, 0, 3603},
        {"time", {"23:29:58", "23:29:59", "23:30:00", "00:30:01", "00:30:02"}, 0, 2, 0, 4},
        {"time", {"23:29:58", "23:29:59", "23:30:00", "00:29:59", "00:30:00"}, 1, 1, 0, 3602},
        {"time", {"23:59:57", "23:59:58", "23:59:59", "00:00:00"}, 1, 1, 0, 3}, /* the last row may pass it too */
        {"time", {"23:59:57", "23:59:58", "00:00:20", "23:59:59", "00:00:00"}, 1, 1, 1, 3},
        {"time", {"23:59:57", "23:59:58", "00:00:20", "23:59:58", "23:59:59"}, 0, 1, 1, 2},
        {"time", {"23:59:57", "23:59:58", "00:00:20", "00:00:21", "00:00:22"}, 1, 1, 0, 25},
        {"time",
         {"23:59:58", "00:00:01", "00:00:04", "23:59:58", "00:00:01"},
         2,
         1,
         0,
         86403}, /* nearly a day without a row */
        {"time",
         {"2027-01-16 23:59:58", "2027-01-16 23:59:59", "2027-01-16 00:00:00", "2027-01-16 00:00:01"},
         0,
         2,
         0,
         3},
        {"time (ms)", {"63000", "64000", "65000", "464", "1464"}, 1, 1, 0, 4},
        {"time (ms)", {"63000", "64000", "65000", "9000", "10000"}, 1, 1, 0, 12.536}, /* 9.536 s on */
        {"time (ms)", {"63000", "64000", "65000", "9600", "10600"}, 0, 2, 0, 4},      /* 10.136 s on */
        {"time (ms)", {"63000", "64000", "65000", "464", "65500", "964"}, 1, 1, 1, 3.5},
        {"time (ms)", {"65100", "65200", "65300", "2700", "2800"}, 1, 1, 0, 3.236}, /* 2.936 s on */
        {"time (ms)", {"65100", "65200", "65300", "2900", "3000"}, 0, 2, 0, 0.4},   /* 3.136 s on */
        {"time (us)", {"65300", "65400", "65500", "64", "164"}, 1, 1, 0, 0.0004},
        {"time (us)", {"4294967000", "4294967100", "4294967200", "4", "104"}, 1, 1, 0, 0.0004},
        {"time (ms)", {"4294967000", "4294967100", "4294967200", "4", "104"}, 1, 1, 0, 0.4},
        {"time (us)", {"4294900000", "4294910000", "4294920000", "2900000", "2910000"}, 1, 1, 0, 2.977296},
        {"time (us)", {"4294900000", "4294910000", "4294920000", "3000000", "3010000"}, 0, 2, 0, 0.04},
        {"time (s)", {"65533", "65534", "65535", "0", "1"}, 0, 2, 0, 4},
        {"time (min)", {"65533", "65534", "65535", "0", "1"}, 0, 2, 0, 240},
        {"time (ms)", {"65300", "65400", "65500", "64", "164", "65400", "65500"}, 1, 1, 0, 65.5 - 65.3 + 65.536},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        read_log read;
        size_t n = 0;
        while (n < 8 && cases[i].stamps[n] != NULL)
            n++;
        stamps_of(&read, cases[i].header, cases[i].stamps, n);
        const ch_drivelog_report *const r = &read.report;
        const double last_s = read.value[CH_DRIVELOG_TIME][read.n - 1];
        if (r->wraps.n != cases[i].wraps || r->segments_n != cases[i].segments || r->strays.n != cases[i].strays ||
            !(fabs(last_s - cases[i].last_s) < 1e-6) || read.n != n - cases[i].strays)
            fail_msg("case %zu (%s): %u wraps, %u segments, %u strays, %zu rows to %.9g", i, cases[i].stamps[2],
                     (unsigned)r->wraps.n, (unsigned)r->segments_n, (unsigned)r->strays.n, read.n, last_s);
        read_log_clear(&read);
    }
}

/* Rows wait for the next value of a slower channel, but never more of them than a batch holds: of the 2048 at work the last is not yet judged, 1024 may wait. */
static void rows_wait_for_a_slower_channel_as_long_as_there_is_room(void **state)
{
    (void)state;
    for (int last = 1020; last <= 1024; last++) {
        read_log read;
        used = 0;
        put("time (s),rpm,speed (km/h),coolant (C)\n");
        for (int i = 0; i < 3200; i++) { /* 2000 a second; a value in every second row, then one a second later */
            const bool there = (i <= last && (last - i) % 2 == 0) || i == 3000;
            put("%.4f,2000,60,%s\n", i * 0.0005, !there ? "" : i == 3000 ? "90" : "80");
        }
        read_log_text(&read, text, used, 0, NULL);
        assert_int_equal(read.status, CH_OK);
        assert_int_equal(read.n, 3200);
        const double *const coolant_k = read.value[CH_DRIVELOG_COOLANT];
        expect_close(coolant_k[last], 353.15, 1e-9);
        expect_close(coolant_k[3000], 363.15, 1e-9);
        const int between = 2000;
        if (last >= 1022)
            expect_close(coolant_k[between], 353.15 + 10.0 * (between - last) / (3000 - last), 1e-6);
        else
            assert_true(isnan(coolant_k[between]));
        assert_int_equal(isnan(coolant_k[last + 1]), last < 1022);
        read_log_clear(&read);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(slower_channels_are_on_the_line_between_their_values),
        cmocka_unit_test(what_is_counted_of_a_log_is_what_is_in_it),
        cmocka_unit_test(speeds_that_disagree_are_told_from_a_fifth_and_a_factor_of_four_on),
        cmocka_unit_test(one_odd_stamp_is_told_by_how_far_it_is_off),
        cmocka_unit_test(a_clock_that_starts_again_begins_a_segment),
        cmocka_unit_test(a_day_ahead_is_another_run),
        cmocka_unit_test(shared_stamps_are_spread_up_to_the_next),
        cmocka_unit_test(rows_wait_for_a_slower_channel_as_long_as_there_is_room),
        cmocka_unit_test(clocks_pass_midnight_and_counters_their_end),
        cmocka_unit_test(the_last_two_of_three_rows_may_share_a_stamp),
        cmocka_unit_test(a_text_that_begins_with_nothing_is_none),
        cmocka_unit_test(a_row_of_words_that_name_nothing_is_no_header),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
