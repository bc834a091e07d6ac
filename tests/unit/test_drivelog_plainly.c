/*
 * The log reader against another that is written down plainly here: the whole log in memory, one pass for each question, no windows, no histogram, no second way
 * for rows in order. Many small logs and some long ones are drawn with everything in them that docs/driveline-log.md says is repaired; stamps and values lie on
 * a grid that doubles hold exactly, and often on a limit itself. Every value, every count and every line must agree.
 */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/sampling.h"
#include "drivelog_text.h"
#include "expect.h"

enum { CHANNELS = CH_DRIVELOG_CHANNELS_, ROWS = 6600, SEGMENTS = 400 };

static const double DAY_S = 86400.0;

/* ---- the log as it is written ---- */

typedef struct row {
    uint64_t line;
    double stamp_s; /* NaN: none that can be read */
    double value[CHANNELS];
    int log; /* of logs joined end to end, from 0 */
} row;

typedef enum clock_form { SECONDS, MILLISECONDS, MICROSECONDS, CLOCK, DATES } clock_form;

typedef struct plain_log {
    clock_form form;
    bool exact;                             /* stamps are held exactly: a limit may be met */
    bool there[CHANNELS], slower[CHANNELS]; /* slower: more than one cell in five of its column is empty */
    size_t place[CHANNELS], numbers_at[CHANNELS], missing_at[CHANNELS]; /* by the column of the first log */
    bool stand_in;
    size_t n;
    row rows[ROWS];
    uint64_t header_line[4]; /* of each log joined */
    int logs;
    ch_drivelog_count missing[CHANNELS], words[CHANNELS], other_units[CHANNELS], comments, ragged;
} plain_log;

/* ---- what has to come of it ---- */

typedef struct outcome {
    size_t n;
    double value[CHANNELS][ROWS];
    uint64_t line[ROWS];
    unsigned segment[ROWS];
    bool filled[CHANNELS][ROWS];
    ch_drivelog_count glitches[CHANNELS], gaps, backward, strays, no_stamp, repeated, wraps;
    size_t segments_n;
    ch_drivelog_segment segments[SEGMENTS];
    double seconds, longest_gap_s, median_s;
    double moving_s, road_gps, gps_gps, rate_a, a_a;
    bool moving[ROWS];
    bool doubtful; /* something lay on a limit that the stamps do not hold exactly */
} outcome;

static void count(ch_drivelog_count *of, uint64_t n, uint64_t line)
{
    if (n > 0 && (of->n == 0 || line < of->line))
        of->line = line;
    of->n += n;
}

static int compare(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Which 32nd of which octave. */
static int bin_of(double x)
{
    int exponent;
    const double fraction = frexp(x, &exponent);
    return 32 * exponent + (int)floor((2 * fraction - 1) * 32);
}

/* Of those in the same 32nd of an octave as the lower of the two in the middle the mean; NaN of none. */
static double median(const double *of, size_t n)
{
    static double sorted[ROWS];
    double sum = 0;
    size_t alike = 0;
    if (n == 0)
        return NAN;
    memcpy(sorted, of, n * sizeof *sorted);
    qsort(sorted, n, sizeof *sorted, compare);
    for (size_t i = 0; i < n; i++)
        if (bin_of(sorted[i]) == bin_of(sorted[(n - 1) / 2])) {
            sum += sorted[i];
            alike++;
        }
    return sum / (double)alike;
}

/* a > b, and whether that is sure. */
static bool beyond(outcome *out, bool exact, double a, double b)
{
    out->doubtful = out->doubtful || (!exact && fabs(a - b) < 1e-6);
    return a > b;
}

static const struct {
    double least, most, leap, leap_per_s;
} limits[CHANNELS] = {
    {-INFINITY, INFINITY, 0, 0},
    {0, 2618, 60, 2000},
    {0, 150, 3, 50},
    {-0.2, 1.5, 0, 0},
    {-50, 50, 0, 0},
    {223, 473, 0, 0},
    {223, 500, 0, 0},
    {-0.2, 1.5, 0, 0},
    {0, 150, 3, 50},
    {0, 150, 3, 50},
};

/* A segment's rows [from, to) of `out` have their time: values that cannot be go, slower channels are filled in, all is counted. */
static void finish_segment(const plain_log *log, outcome *out, size_t from, size_t to, double steps[], size_t *steps_n)
{
    const double *const t = out->value[CH_DRIVELOG_TIME];
    for (int c = 1; c < CHANNELS; c++) {
        double *const v = out->value[c];
        for (size_t i = from; i < to && log->there[c]; i++) {
            const bool no_value = c == CH_DRIVELOG_ENGINE && fabs(v[i] - 16383.75 * 0.10471975511965977) < 1e-6;
            if (v[i] < limits[c].least || v[i] > limits[c].most || no_value) {
                v[i] = NAN;
                count(&out->glitches[c], 1, out->line[i]);
            }
        }
        for (size_t i = from; i < to && log->there[c] && limits[c].leap > 0; i++) {
            size_t before = i, behind = i + 1;
            while (before > from && isnan(v[before - 1]))
                before--;
            while (behind < to && isnan(v[behind]))
                behind++;
            if (isnan(v[i]) || before == from || behind == to)
                continue;
            before--;
            const double up = v[i] - v[before], down = v[i] - v[behind], smaller = fmin(fabs(up), fabs(down));
            const double wide_s = fmax(t[i] - t[before], t[behind] - t[i]);
            out->doubtful = out->doubtful || (!log->exact && fabs(wide_s - 0.25) < 1e-6);
            if ((up > 0) == (down > 0) && wide_s <= 0.25 &&
                beyond(out, log->exact, smaller, limits[c].leap + limits[c].leap_per_s * wide_s) &&
                fabs(v[before] - v[behind]) < smaller / 3) {
                v[i] = NAN;
                count(&out->glitches[c], 1, out->line[i]);
            }
        }
        for (size_t i = from; i < to && log->slower[c]; i++) {
            size_t before = i, behind = i;
            if (!isnan(v[i]))
                continue;
            while (before > from && (isnan(v[before]) || out->filled[c][before]))
                before--;
            while (behind < to && isnan(v[behind]))
                behind++;
            if (isnan(v[before]) || out->filled[c][before] || behind == to)
                continue;
            out->doubtful = out->doubtful || (!log->exact && fabs(t[behind] - t[before] - 2) < 1e-6);
            if (t[behind] - t[before] > 2)
                continue;
            v[i] = v[before] + (v[behind] - v[before]) * (t[i] - t[before]) / (t[behind] - t[before]);
            out->filled[c][i] = true;
        }
    }
    for (size_t i = from + 1; i < to; i++)
        steps[(*steps_n)++] = t[i] - t[i - 1];
    const double usual_s = median(steps, *steps_n);
    out->median_s = usual_s;
    for (size_t i = from; i < to; i++) {
        const double step_s = t[i] - (i > 0 ? t[i - 1] : 0);
        const double *const engine = out->value[CH_DRIVELOG_ENGINE], *const road = out->value[CH_DRIVELOG_ROAD];
        const double *const gps = out->value[CH_DRIVELOG_GPS], *const a = out->value[CH_DRIVELOG_ACCELERATION];
        const bool on_grid =
            log->exact && step_s == rint(step_s * 1024) / 1024 && usual_s == rint(usual_s * 1024) / 1024;
        const bool gap = beyond(out, on_grid, step_s, 3 * usual_s);
        if (i > from && gap) {
            count(&out->gaps, 1, out->line[i]);
            out->longest_gap_s = fmax(out->longest_gap_s, step_s);
        } else if (i > from) {
            out->seconds += step_s;
        }
        out->moving[i] = engine[i] > 10 && road[i] > 0.5;
        if (out->moving[i] && !gap && !isnan(usual_s))
            out->moving_s += step_s;
        if (!log->stand_in && log->there[CH_DRIVELOG_GPS] && gps[i] > 5 && road[i] > 0) {
            out->road_gps += road[i] * gps[i];
            out->gps_gps += gps[i] * gps[i];
        }
        if (i > from && !beyond(out, on_grid, step_s, 0.5) && !isnan(road[i] + road[i - 1] + a[i])) {
            out->rate_a += (road[i] - road[i - 1]) * a[i];
            out->a_a += a[i] * a[i] * step_s;
        }
    }
}

/* The stamps of the segment's rows become times from `time_s` on; rows that share one are spread. */
static void give_times(outcome *out, size_t from, size_t to, double time_s, double step_s, double intervals[],
                       size_t *intervals_n)
{
    double *const t = out->value[CH_DRIVELOG_TIME];
    const double first_s = from < to ? t[from] : 0;
    for (size_t i = from, behind; i < to; i = behind) {
        behind = i + 1;
        while (behind < to && t[behind] == t[i])
            behind++;
        const double ahead_s = behind < to ? t[behind] - t[i] : step_s;
        if (behind < to)
            intervals[(*intervals_n)++] = ahead_s;
        count(&out->repeated, behind - i - 1, behind - i > 1 ? out->line[i + 1] : 0);
        for (size_t k = behind; k-- > i + 1;)
            t[k] =
                t[i] + (step_s > 0 && ahead_s > 3 * step_s ? step_s : ahead_s) * (double)(k - i) / (double)(behind - i);
    }
    for (size_t i = from; i < to; i++) {
        t[i] = time_s + (t[i] - first_s);
        if (i > 0 && !(t[i] > t[i - 1]))
            t[i] = nextafter(t[i - 1], INFINITY);
    }
}

static void begin_segment(outcome *out, ch_drivelog_break why, uint64_t line, double time_s, double stamp_s)
{
    assert_true(out->segments_n < SEGMENTS);
    out->segments[out->segments_n++] = (ch_drivelog_segment){why, line, out->n, time_s, stamp_s};
}

/* The log by its sentences. */
static void read_plainly(const plain_log *log, outcome *out)
{
    static double intervals[ROWS], steps[ROWS];
    static row rows[ROWS];
    size_t intervals_n = 0, steps_n = 0;
    memset(out, 0, sizeof *out);
    out->median_s = NAN;
    for (int part = 0; part < log->logs; part++) {
        /* the rows of this log with a stamp, and their usual step: of the logs before where there are any */
        size_t n = 0, first = out->n;
        double raw[ROWS];
        size_t raw_n = 0;
        for (size_t i = 0; i < log->n; i++) {
            if (log->rows[i].log != part)
                continue;
            if (isnan(log->rows[i].stamp_s))
                count(&out->no_stamp, 1, log->rows[i].line);
            else
                rows[n++] = log->rows[i];
        }
        for (size_t i = 1; i < n; i++)
            if (rows[i].stamp_s > rows[i - 1].stamp_s)
                raw[raw_n++] = rows[i].stamp_s - rows[i - 1].stamp_s;
        double step_s = intervals_n > 0 ? median(intervals, intervals_n) : median(raw, raw_n);
        step_s = isnan(step_s) ? 0 : step_s;
        const double little_s = fmax(1, 10 * step_s), near_s = fmax(3, 10 * step_s), far_s = fmax(10, 20 * step_s);
        double wrapped_s = 0, last_s = NAN;
        size_t still = 0;
        for (size_t i = 0; i <= n; i++) {
            const ch_drivelog_segment *const segment = &out->segments[out->segments_n - (out->segments_n > 0)];
            ch_drivelog_break again = CH_DRIVELOG_START;
            double stamp_s = i < n ? rows[i].stamp_s + wrapped_s : NAN;
            if (i < n && i > 0) {
                const double next_s = i + 1 < n ? rows[i + 1].stamp_s + wrapped_s : NAN, ahead_s = stamp_s - last_s;
                const bool next_fits = !isnan(next_s) && !beyond(out, log->exact, last_s, next_s) &&
                                       !beyond(out, log->exact, next_s, last_s + near_s);
                still = ahead_s == 0 ? still + 1 : 0;
                if (still > 512) {
                    count(&out->no_stamp, 1, rows[i].line);
                    continue;
                }
                if (ahead_s >= 0) {
                    const bool far = beyond(out, log->exact, ahead_s, far_s),
                               day = beyond(out, log->exact, ahead_s, DAY_S);
                    if ((far && next_fits) || (isnan(next_s) && day)) {
                        count(&out->strays, 1, rows[i].line);
                        continue;
                    }
                    again = day ? CH_DRIVELOG_JUMP : CH_DRIVELOG_START;
                } else {
                    const double unit_s = log->form == MILLISECONDS ? 1e-3 : log->form == MICROSECONDS ? 1e-6 : 0;
                    const double overflows[] = {log->form == CLOCK ? DAY_S : 0, unit_s * 65536, unit_s * 4294967296.0};
                    bool wraps = false;
                    for (int k = 0; k < 3 && !wraps; k++) {
                        const double past_s = ahead_s + overflows[k];
                        if (overflows[k] > 0 && past_s >= 0 &&
                            !beyond(out, log->exact, past_s, k == 0 ? 3600 : near_s) && !next_fits) {
                            wraps = true;
                            wrapped_s += overflows[k];
                            stamp_s += overflows[k];
                            count(&out->wraps, 1, rows[i].line);
                        }
                    }
                    if (!wraps && beyond(out, log->exact, little_s, -ahead_s)) {
                        count(&out->backward, 1, rows[i].line);
                        continue;
                    }
                    if (!wraps && (next_fits || isnan(next_s))) {
                        count(&out->strays, 1, rows[i].line);
                        continue;
                    }
                    again = wraps ? CH_DRIVELOG_START : CH_DRIVELOG_RESTART;
                }
            }
            if ((i == n || again != CH_DRIVELOG_START) && out->n > first) {
                give_times(out, first, out->n, segment->time_s, step_s, intervals, &intervals_n);
                finish_segment(log, out, first, out->n, steps, &steps_n);
                first = out->n;
            }
            if (i == n)
                break;
            if (i == 0 || again != CH_DRIVELOG_START) {
                const double usual_s = out->median_s; /* as it was at the end of the last */
                const double time_s = out->segments_n == 0
                                          ? 0
                                          : out->value[CH_DRIVELOG_TIME][out->n - 1] + (isnan(usual_s) ? 1 : usual_s);
                begin_segment(out,
                              i > 0       ? again
                              : part == 0 ? CH_DRIVELOG_START
                                          : CH_DRIVELOG_HEADER,
                              rows[i].line, time_s, rows[i].stamp_s);
                wrapped_s = 0;
                still = 0;
                stamp_s = rows[i].stamp_s;
            }
            last_s = stamp_s;
            for (int c = 0; c < CHANNELS; c++)
                out->value[c][out->n] = rows[i].value[c];
            out->value[CH_DRIVELOG_TIME][out->n] = stamp_s;
            out->line[out->n] = rows[i].line;
            out->segment[out->n++] = (unsigned)out->segments_n - 1;
        }
    }
}

/* ---- logs are drawn ---- */

static ch_stream stream;
static uint64_t line;
static bool quoting; /* cells are put into quotes now and then */

static bool chance(double p)
{
    return ch_stream_uniform(&stream) < p;
}

static size_t below(size_t n)
{
    return (size_t)(ch_stream_uniform(&stream) * (double)n);
}

static const char *const names[CHANNELS] = {"time",    "engine speed", "speed",  "throttle",  "long accel",
                                            "coolant", "oil temp",     "clutch", "gps speed", "driven speed"};
static const char *const units[CHANNELS] = {"", "rad/s", "m/s", "0/1", "m/s2", "K", "K", "0/1", "m/s", "m/s"};

/* A stamp in its form; what it says in seconds. */
static double say_stamp(const plain_log *log, double stamp_s, char cell[64])
{
    const long long ms = llround(stamp_s * 1000), seconds = ms / 1000;
    switch (log->form) {
    case SECONDS: snprintf(cell, 64, "%.3f", stamp_s); return strtod(cell, NULL);
    case MILLISECONDS: snprintf(cell, 64, "%lld", ms); return (double)ms * 1e-3;
    case MICROSECONDS: snprintf(cell, 64, "%lld", ms * 1000); return (double)(ms * 1000) * 1e-6;
    case CLOCK: /* whole seconds */
        snprintf(cell, 64, "%02lld:%02lld:%02lld", seconds / 3600, seconds / 60 % 60, seconds % 60);
        return (double)seconds;
    case DATES:
    default: /* from 16 January 2027 on, day 20834 */
        snprintf(cell, 64, "2027-01-%02lld %02lld:%02lld:%02lld.%03lld", 16 + seconds / 86400, seconds / 3600 % 24,
                 seconds / 60 % 60, seconds % 60, ms % 1000);
        return 20834.0 * DAY_S + (double)ms * 1e-3;
    }
}

/* Some value of the channel on a grid, now and then on a limit or beyond; `before` is the last. */
static double draw_value(int c, double before, double step_s)
{
    static const double odd[CHANNELS][8] = {
        {0},
        {0, -0.125, 2618, 2618.125, 10, 10.125, 16383.75 * 0.10471975511965977,
         16383.75 * 0.10471975511965977 + 1.1e-6},
        {0, -0.125, 150, 150.125, 0.5, 0.625, 5, 4},
        {-0.2, -0.21, 1.5, 1.51, 0, 1, 0.5, 0.25},
        {-50, -50.125, 50, 50.125, 0, 1, 2, 3},
        {223, 222.875, 473, 473.125, 300, 301, 302, 303},
        {223, 222.875, 500, 500.125, 300, 301, 302, 303},
        {-0.2, -0.21, 1.5, 1.51, 0, 1, 0.5, 0.25},
        {0, -0.125, 150, 150.125, 5, 5.125, 4.875, 40},
        {0, -0.125, 150, 150.125, 5, 6, 7, 8},
    };
    static const double usual[CHANNELS] = {0, 300, 20, 0.5, 1, 350, 360, 0, 19, 21};
    if (chance(0.04))
        return odd[c][below(8)];
    if (limits[c].leap > 0 && chance(0.08)) { /* a leap of about as much as a car can make in a row */
        const double leap = limits[c].leap + limits[c].leap_per_s * step_s * (chance(0.3) ? 2 : 1);
        return before + (chance(0.5) ? 1 : -1) * (leap + ((double)below(5) - 2) * leap / 32);
    }
    if (chance(0.3))
        return before;
    const double by = (double)below(17) - 8;
    return usual[c] + (c == CH_DRIVELOG_THROTTLE || c == CH_DRIVELOG_CLUTCH ? by / 32
                       : c == CH_DRIVELOG_ENGINE                            ? by * 4
                                                                            : by / 8);
}

static void put_header(plain_log *log, const size_t order[CHANNELS], size_t columns, bool other_units)
{
    log->header_line[log->logs++] = line;
    for (size_t k = 0; k < columns; k++) {
        const size_t c = order[k];
        const char *const unit = c > 0                       ? units[c]
                                 : log->form == SECONDS      ? "s"
                                 : log->form == MILLISECONDS ? "ms"
                                 : log->form == MICROSECONDS ? "us"
                                                             : "";
        put("%s%s%s%s%s", k > 0 ? "," : "", names[c], unit[0] != '\0' ? " (" : "",
            other_units && c == CH_DRIVELOG_ROAD ? "ft/s" : unit, unit[0] != '\0' ? ")" : "");
    }
    put("\n");
    line++;
}

static void put_cell(const char *cell)
{
    put(quoting && chance(0.3) ? "\"%s\"" : "%s", cell);
}

/* A comment, or a row of too few or too many cells. */
static void put_other(plain_log *log, size_t columns)
{
    static const char *const remarks[] = {"# note", "% 1,2,3", "//", "", "  ", "pit stop"};
    if (chance(0.6)) {
        const size_t i = below(6);
        put("%s\n", remarks[i]);
        count(&log->comments, 1, line);
    } else {
        const size_t cells = columns > 3 ? 2 : 5;
        put("1,2%s\n", cells == 2 ? "" : ",3,4,5");
        for (size_t k = 0; k < cells; k++)
            log->numbers_at[k] += log->logs == 1;
        count(&log->ragged, 1, line);
    }
    line++;
}

/* A log of about `rows` rows. Long ones have no cell missing from engine speed, and no other log behind them. */
static void draw_log(plain_log *log, size_t rows, bool is_long)
{
    static const double exact_s[] = {0.125, 0.25, 0.5, 1, 2}, other_s[] = {0.13, 0.24, 0.53, 1.03, 2.03};
    size_t order[CHANNELS], columns = 0;
    double left_out[CHANNELS];
    memset(log, 0, sizeof *log);
    used = 0;
    line = 1;
    log->form = is_long ? (chance(0.5) ? SECONDS : CLOCK) : (clock_form)below(5);
    log->exact = log->form == SECONDS || log->form == CLOCK;
    const double step_s =
        log->form == CLOCK ? 1 + (double)below(2) : (log->exact ? exact_s : other_s)[below(is_long ? 2 : 5)];
    log->stand_in = chance(0.15);
    for (int c = 0; c < CHANNELS; c++) {
        log->there[c] = c < 3 || chance(0.6) || (c == CH_DRIVELOG_GPS && log->stand_in);
        left_out[c] = is_long && c == CH_DRIVELOG_ENGINE ? 0
                      : chance(0.25)                     ? 0.6
                      : chance(0.25) && !is_long         ? 0.2
                                                         : 0.02;
        if (log->there[c] && !(c == CH_DRIVELOG_ROAD && log->stand_in))
            order[columns++] = (size_t)c;
    }
    for (size_t k = columns; k > 1; k--) {
        const size_t other = below(k), kept = order[k - 1];
        order[k - 1] = order[other];
        order[other] = kept;
    }
    for (size_t k = below(3); k > 0; k--) {
        put("# ahead\n");
        count(&log->comments, 1, line++);
    }
    put_header(log, order, columns, false);
    for (size_t k = 0; k < columns; k++)
        log->place[order[k]] = k;
    log->place[CH_DRIVELOG_ROAD] = log->place[log->stand_in ? CH_DRIVELOG_GPS : CH_DRIVELOG_ROAD];
    const double little_s = fmax(1, 10 * step_s), near_s = fmax(3, 10 * step_s), far_s = fmax(10, 20 * step_s);
    double stamp_s = log->form == CLOCK && chance(0.5) ? DAY_S - step_s * (double)below(rows)
                     : log->form == MILLISECONDS       ? (double)below(70)
                                                       : 1000;
    double value[CHANNELS] = {0, 300, 20, 0.5, 1, 350, 360, 0, 19, 21};
    bool odd_last = true, feet = false;
    for (size_t i = 0; log->n < rows; i++) {
        const bool inside = log->n > 4 && log->n + 4 < rows;
        double say_s = stamp_s;
        bool stamped = true;
        if (inside && !is_long && log->logs < 3 &&
            chance(0.01)) { /* another log joined to it, with its columns in another order */
            const size_t kept = order[0];
            order[0] = order[columns - 1];
            order[columns - 1] = kept;
            feet = !log->stand_in && chance(0.5);
            put_header(log, order, columns, feet);
            stamp_s = chance(0.5) ? 500 : stamp_s + 7;
            say_s = stamp_s;
            odd_last = true;
        } else if (inside && chance(0.04)) {
            put_other(log, columns);
        }
        const double odd = odd_last || !inside ? 1 : ch_stream_uniform(&stream),
                     eighth = log->form == CLOCK ? 1 : 0.125;
        const double around = eighth * ((double)below(3) - 1) + (log->exact ? 0 : 0.019);
        odd_last = odd < 0.12;
        if (odd < 0.03) { /* one odd stamp; the next goes on soon or late */
            const double off_s[] = {little_s, far_s, DAY_S, 700, 5000};
            say_s += (chance(0.5) ? -1 : 1) * (off_s[below(5)] + around);
            if (chance(0.5))
                stamp_s += near_s + around - 2 * step_s;
        } else if (odd < 0.05) { /* the row before again, some times */
            say_s = stamp_s -= step_s;
            odd_last = chance(0.5);
        } else if (odd < 0.07) { /* a gap */
            const double off_s[] = {2 * step_s, 3 * step_s, far_s - step_s, far_s};
            say_s = stamp_s += off_s[below(4)] + (chance(0.5) ? around : 0);
        } else if (odd < 0.08) { /* the clock starts again, or goes back a little for good, or jumps ahead */
            const double off_s[] = {-little_s - step_s, -little_s, -200, -3000, DAY_S, DAY_S - step_s};
            const size_t k = below(log->form == CLOCK || log->form == DATES ? 4 : 6);
            if (stamp_s + off_s[k] > 10)
                say_s = stamp_s += off_s[k] + around;
        } else if (odd < 0.09) {
            stamped = false;
        }
        if (say_s < 0 || (log->form == DATES && say_s > 10 * DAY_S))
            say_s = stamp_s;
        row *const r = &log->rows[log->n];
        *r = (row){.line = line, .stamp_s = NAN, .log = log->logs - 1};
        for (int c = 0; c < CHANNELS; c++)
            r->value[c] = NAN;
        char stamp[64];
        const double said_s = log->form == CLOCK          ? fmod(say_s, DAY_S)
                              : log->form == MILLISECONDS ? fmod(say_s, 65.536)
                                                          : say_s;
        r->stamp_s = say_stamp(log, said_s, stamp);
        if (!stamped) {
            const bool empty = chance(0.5);
            r->stamp_s = NAN;
            snprintf(stamp, sizeof stamp, "%s", empty ? "" : "late");
            count(empty ? &log->missing[0] : &log->words[0], 1, line);
        }
        for (size_t k = 0; k < columns; k++) {
            const int c = (int)order[k];
            put("%s", k > 0 ? "," : "");
            if (c == 0) {
                put_cell(stamp);
                continue;
            }
            const bool twice = log->stand_in && c == CH_DRIVELOG_GPS; /* the same cell for both channels */
            char cell[64] = "";
            if (log->n > 2 && chance(left_out[c])) {
                static const char *const none[] = {"", "", "nan", "-"};
                snprintf(cell, sizeof cell, "%s", none[below(4)]);
                count(&log->missing[c], 1, line);
                log->missing_at[k] += log->logs == 1;
                if (twice)
                    count(&log->missing[CH_DRIVELOG_ROAD], 1, line);
            } else if (log->n > 2 && !is_long && chance(0.01)) {
                snprintf(cell, sizeof cell, "bad");
                count(&log->words[c], 1, line);
                if (twice)
                    count(&log->words[CH_DRIVELOG_ROAD], 1, line);
            } else {
                log->numbers_at[k] += log->logs == 1;
                value[c] = draw_value(c, value[c], step_s);
                const bool metres = feet && c == CH_DRIVELOG_ROAD && chance(0.3);
                snprintf(cell, sizeof cell, c == CH_DRIVELOG_ENGINE ? "%.13g%s" : "%.6g%s", value[c],
                         metres ? " m/s" : "");
                r->value[c] = strtod(cell, NULL) * (feet && c == CH_DRIVELOG_ROAD && !metres ? 0.3048 : 1);
                if (metres)
                    count(&log->other_units[c], 1, line);
                if (twice)
                    r->value[CH_DRIVELOG_ROAD] = r->value[c];
            }
            put_cell(cell);
        }
        put("\n");
        line++;
        log->n++;
        stamp_s += step_s;
    }
    for (int c = 1; c < CHANNELS; c++) {
        const size_t k = log->place[c];
        log->slower[c] = log->there[c] && log->numbers_at[k] >= 2 && log->missing_at[k] * 4 > log->numbers_at[k];
    }
}

/* ---- and compared ---- */

static const char *doing;

/* The whole log on stderr: a message has no room for it. */
static void show_log(void)
{
    fputs(text, stderr);
}

static void same(const char *what, size_t place, double got, double want, double tolerance)
{
    if (isnan(want) != isnan(got) || (!isnan(want) && !(fabs(got - want) <= tolerance))) {
        show_log();
        fail_msg("%s: %s %zu is %.12g, not %.12g, in the log above", doing, what, place, got, want);
    }
}

static void same_count(const char *what, ch_drivelog_count got, ch_drivelog_count want)
{
    if (got.n != want.n || got.line != want.line) {
        show_log();
        fail_msg("%s: %s: %u from line %u on, not %u from line %u on, in the log above", doing, what, (unsigned)got.n,
                 (unsigned)got.line, (unsigned)want.n, (unsigned)want.line);
    }
}

static void compare_column(const plain_log *log, const outcome *want, const read_log *got, int c)
{
    const ch_drivelog_column *const column = &got->report.columns[c];
    const double *const v = want->value[c];
    uint64_t values = 0, changes = 0, stale = 0, filled = 0;
    double last = NAN, least = INFINITY, most = -INFINITY;
    for (size_t i = 0; i < want->n; i++) {
        /* dates leave a quarter of a microsecond, and slopes are up to 1000 a second */
        const double near = log->exact ? 1e-9 : c == 0 ? 1e-6 : want->filled[c][i] ? 1e-3 : 1e-9;
        same(names[c], i, got->value[c][i], v[i], near * (1 + fabs(v[i])));
        if (i > 0 && want->segment[i] != want->segment[i - 1])
            last = NAN;
        values += isnan(v[i]) ? 0 : 1;
        filled += want->filled[c][i];
        if (isnan(v[i]) || want->filled[c][i])
            continue;
        changes += want->moving[i] && v[i] != last;
        stale += want->moving[i] && v[i] == last;
        last = v[i];
        least = fmin(least, v[i]);
        most = fmax(most, v[i]);
    }
    same_count(names[c], column->missing, log->missing[c]);
    same_count(names[c], column->not_numbers, log->words[c]);
    same_count(names[c], column->other_units, log->other_units[c]);
    same_count(names[c], column->glitches, want->glitches[c]);
    same("values", (size_t)c, (double)column->values, (double)values, 0);
    same("changes", (size_t)c, (double)column->changes, (double)changes, 0);
    same("stale", (size_t)c, (double)column->stale, (double)stale, 0);
    same("filled", (size_t)c, (double)column->filled, (double)filled, 0);
    same("fresh", (size_t)c, column->fresh_interval_s, changes > 0 ? want->moving_s / (double)changes : NAN, 1e-6);
    same("least", (size_t)c, column->least_si, isfinite(least) ? least : NAN,
         (c == 0 ? 1e-6 : 1e-9) * (1 + fabs(least)));
    same("most", (size_t)c, column->most_si, isfinite(most) ? most : NAN, (c == 0 ? 1e-6 : 1e-9) * (1 + fabs(most)));
    assert_int_equal(column->rivals, 0);
}

/* Why the whole is refused at its end, or NULL. */
static const char *refusal(const outcome *want)
{
    double most[2] = {-INFINITY, -INFINITY};
    for (int c = CH_DRIVELOG_ENGINE; c <= CH_DRIVELOG_ROAD; c++) {
        uint64_t values = 0;
        for (size_t i = 0; i < want->n; i++) {
            values += isnan(want->value[c][i]) ? 0 : 1;
            most[c - 1] = fmax(most[c - 1], want->filled[c][i] ? -INFINITY : want->value[c][i]);
        }
        if (want->glitches[c].n > values)
            return "is more than any car does";
        if (values == 0)
            return "has no number";
    }
    return most[0] < 40 && (most[0] > 0 || most[1] > 3) ? "where no engine runs" : NULL;
}

static void compare_logs(const plain_log *log, const outcome *want, const read_log *got, bool is_long)
{
    const ch_drivelog_report *const r = &got->report;
    const char *const refused = refusal(want);
    if ((got->status != CH_OK) != (refused != NULL) || (refused != NULL && strstr(got->err.what, refused) == NULL)) {
        show_log();
        fail_msg("%s: %s, not %s", doing, got->err.what, refused != NULL ? refused : "taken");
    }
    same("rows", 0, (double)got->n, (double)want->n, 0);
    same("report's rows", 0, (double)r->rows, (double)want->n, 0);
    for (size_t i = 0; i < want->n; i++) {
        same("line", i, (double)got->line[i], (double)want->line[i], 0);
        same("segment", i, got->segment[i], want->segment[i], 0);
    }
    same_count("backward", r->backward, want->backward);
    same_count("strays", r->strays, want->strays);
    same_count("no stamp", r->no_stamp, want->no_stamp);
    same_count("repeated", r->repeated, want->repeated);
    same_count("wraps", r->wraps, want->wraps);
    same_count("gaps", r->gaps, want->gaps);
    same_count("comments", r->comments, log->comments);
    same_count("ragged", r->ragged, log->ragged);
    same_count("headers", r->headers_again,
               (ch_drivelog_count){(uint64_t)log->logs - 1, log->logs > 1 ? log->header_line[1] : 0});
    same_count("truncated", r->truncated, (ch_drivelog_count){0, 0});
    same_count("characters", r->bad_characters, (ch_drivelog_count){0, 0});
    same("segments", 0, (double)r->segments_n, (double)want->segments_n, 0);
    for (size_t i = 0; i < want->segments_n && i < CH_DRIVELOG_SEGMENTS_MAX; i++) {
        same("segment's reason", i, r->segments[i].why, want->segments[i].why, 0);
        same("segment's line", i, (double)r->segments[i].line, (double)want->segments[i].line, 0);
        same("segment's row", i, (double)r->segments[i].row, (double)want->segments[i].row, 0);
        same("segment's time", i, r->segments[i].time_s, want->segments[i].time_s, 1e-6);
        same("segment's stamp", i, r->segments[i].stamp_s, want->segments[i].stamp_s, 1e-6);
    }
    same("seconds", 0, r->seconds, want->seconds, 1e-6);
    same("longest gap", 0, r->longest_gap_s, want->longest_gap_s, 1e-6);
    same("median", 0, r->median_interval_s, want->median_s, 1e-6);
    same("over satellite", 0, r->road_over_gps, want->gps_gps > 0 ? want->road_gps / want->gps_gps : NAN, 1e-9);
    if (!is_long) /* no step is weighed from one window of rows to the next */
        same("over acceleration", 0, r->rate_over_acceleration, want->a_a > 0 ? want->rate_a / want->a_a : NAN,
             log->exact ? 1e-9 : 1e-5 * fabs(want->rate_a / want->a_a));
    for (int c = 0; c < CHANNELS; c++) {
        const bool hand_in = c == CH_DRIVELOG_ROAD && log->stand_in;
        same("how", (size_t)c, r->columns[c].how,
             !log->there[c] ? CH_DRIVELOG_NONE
             : hand_in      ? CH_DRIVELOG_STAND_IN
                            : CH_DRIVELOG_BY_WORDS,
             0);
        if (log->there[c])
            compare_column(log, want, got, c);
        else
            for (size_t i = 0; i < want->n; i++)
                assert_true(isnan(got->value[c][i]));
    }
}

static plain_log drawn;
static outcome wanted;

static void small_logs_come_out_as_their_sentences_say(void **state)
{
    (void)state;
    enum { LOGS = 150 };
    int doubtful = 0;
    uint64_t met[8] = {0};
    for (uint64_t number = 0; number < LOGS; number++) {
        char which[64];
        ch_stream_init(&stream, 501, number);
        quoting = number % 3 == 1;
        draw_log(&drawn, 3 + below(90), false);
        read_plainly(&drawn, &wanted);
        if (wanted.doubtful) {
            doubtful++;
            continue;
        }
        snprintf(which, sizeof which, "log %u", (unsigned)number);
        doing = which;
        static const size_t pieces[] = {0, 1, 100};
        read_log got;
        read_log_text(&got, text, used, pieces[number % 3], NULL);
        compare_logs(&drawn, &wanted, &got, false);
        read_log_clear(&got);
        const uint64_t happened[8] = {wanted.backward.n,    wanted.strays.n,         wanted.wraps.n,
                                      wanted.repeated.n,    wanted.gaps.n,           wanted.segments_n - 1,
                                      wanted.glitches[1].n, (uint64_t)drawn.logs - 1};
        for (int k = 0; k < 8; k++)
            met[k] += happened[k];
    }
    assert_true(doubtful < LOGS / 4);
    for (int k = 0; k < 8; k++)
        assert_true(met[k] > 10); /* of everything enough was there */
}

static void long_logs_come_out_as_their_sentences_say(void **state)
{
    (void)state;
    int compared = 0;
    for (uint64_t number = 0; number < 2; number++) {
        char which[64];
        ch_stream_init(&stream, 502, number);
        quoting = number % 3 == 1;
        draw_log(&drawn, 1500 + below(3000), true);
        read_plainly(&drawn, &wanted);
        if (wanted.doubtful || wanted.segments_n >= SEGMENTS)
            continue;
        snprintf(which, sizeof which, "long log %u", (unsigned)number);
        doing = which;
        read_log got;
        read_log_text(&got, text, used, number % 2 == 0 ? 0 : 4096, NULL);
        compare_logs(&drawn, &wanted, &got, true);
        read_log_clear(&got);
        compared++;
    }
    assert_true(compared > 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(small_logs_come_out_as_their_sentences_say),
        cmocka_unit_test(long_logs_come_out_as_their_sentences_say),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
