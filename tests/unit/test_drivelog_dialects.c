/*
 * Promises of the driveline log's reader, src/driveline/drivelog*.c: the same run gives the same rows however a logger writes it, and whatever is wrong
 * with a row is counted, with the line where first. Logs are written here in dialects drawn at random, with faults strewn in at random places.
 */
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/sampling.h"
#include "drivelog_parts.h"
#include "drivelog_text.h"
#include "expect.h"

enum { ROWS_MAX = 400, COLUMNS = 7, NOTES = 6 };

/* The channels of the log, in an order of its own; the last column is of no channel. */
static const ch_drivelog_channel channel[NOTES] = {CH_DRIVELOG_TIME,     CH_DRIVELOG_ENGINE,  CH_DRIVELOG_ROAD,
                                                   CH_DRIVELOG_THROTTLE, CH_DRIVELOG_COOLANT, CH_DRIVELOG_ACCELERATION};
static const char *const name[COLUMNS] = {"time",    "engine speed", "speed",  "throttle",
                                          "coolant", "long accel",   "remarks"};

/* Exact by definition: NIST SP 811 (2008), Appendix B.8; degrees, its B.9. */
typedef struct written {
    const char *unit;
    double factor, offset;
    int digits;
} written;

static const written units[NOTES][3] = {
    {{"s", 1.0, 0.0, 3}, {"ms", 1e-3, 0.0, 0}, {"min", 60.0, 0.0, 6}},
    {{"rpm", 0.10471975511965977, 0.0, 1}, {"rev/s", 6.283185307179586, 0.0, 3}, {"rad/s", 1.0, 0.0, 2}},
    {{"km/h", 1.0 / 3.6, 0.0, 2}, {"mph", 0.44704, 0.0, 2}, {"m/s", 1.0, 0.0, 3}},
    {{"%", 0.01, 0.0, 1}, {"pct", 0.01, 0.0, 0}, {"0/1", 1.0, 0.0, 3}},
    {{"C", 1.0, 273.15, 1}, {"F", 5.0 / 9.0, 459.67 * 5.0 / 9.0, 1}, {"K", 1.0, 0.0, 2}},
    {{"g", 9.80665, 0.0, 4}, {"m/s2", 1.0, 0.0, 3}, {"mg", 9.80665e-3, 0.0, 0}},
};

typedef enum line_end { LF, CRLF, CR } line_end;
typedef enum stamp_form { NUMBERS, CLOCK, DATES } stamp_form;

typedef struct dialect {
    char separator, decimal;
    line_end end;
    ch_drivelog_encoding encoding;
    bool mark, quoted, units_row, trailing; /* trailing: a separator behind the last cell of each row */
    stamp_form stamps;
    int date_form;
    const written *as[NOTES];
    size_t at[COLUMNS]; /* column of each */
} dialect;

/* What must come out. */
typedef struct wanted {
    size_t rows, line[ROWS_MAX];
    double value[NOTES][ROWS_MAX];
    uint64_t header_line, units_line;
    ch_drivelog_count comments, ragged, backward, strays, no_stamp, repeated, missing[NOTES], words[NOTES];
} wanted;

static unsigned char bytes[2 * TEXT];
static uint64_t line;
static dialect as;
static wanted want;

static bool chance(ch_stream *stream, double p)
{
    return ch_stream_uniform(stream) < p;
}

static size_t below(ch_stream *stream, size_t n)
{
    return (size_t)(ch_stream_uniform(stream) * (double)n);
}

static void end_line(void)
{
    put("%s", as.end == LF ? "\n" : as.end == CRLF ? "\r\n" : "\r");
    line++;
}

static void count(ch_drivelog_count *of)
{
    if (of->n++ == 0)
        of->line = line;
}

/* The cells of a row in the order of the columns. */
static void put_row(char cell[COLUMNS][64], size_t cells)
{
    for (size_t k = 0; k < cells; k++) {
        size_t c = 0;
        while (c < COLUMNS - 1 && as.at[c] != k)
            c++;
        if (k > 0)
            put("%c", as.separator);
        put("%s%s%s", as.quoted ? "\"" : "", k < COLUMNS ? cell[c] : "one too many", as.quoted ? "\"" : "");
    }
    if (as.trailing)
        put("%c", as.separator);
    end_line();
}

static void draw_dialect(ch_stream *stream)
{
    static const char separators[] = {',', ';', '\t', '|'};
    as.separator = separators[below(stream, 4)];
    as.decimal = chance(stream, 0.4) ? ',' : '.';
    as.quoted = (as.separator == ',' && as.decimal == ',') || chance(stream, 0.3);
    as.end = (line_end)below(stream, 3);
    as.encoding = chance(stream, 0.6)   ? CH_DRIVELOG_UTF8
                  : chance(stream, 0.5) ? CH_DRIVELOG_UTF16LE
                                        : CH_DRIVELOG_UTF16BE;
    as.mark = as.encoding != CH_DRIVELOG_UTF8 || chance(stream, 0.3);
    as.units_row = chance(stream, 0.4);
    as.trailing = chance(stream, 0.25);
    as.stamps = (stamp_form)below(stream, 3);
    as.date_form = (int)below(stream, 4);
    for (int c = 0; c < NOTES; c++)
        as.as[c] = &units[c][below(stream, 3)];
    for (size_t c = 0; c < COLUMNS; c++)
        as.at[c] = c;
    for (size_t c = COLUMNS; c > 1; c--) {
        const size_t other = below(stream, c), kept = as.at[c - 1];
        as.at[c - 1] = as.at[other];
        as.at[other] = kept;
    }
    if (as.at[3] == 0 && as.as[3] == &units[3][0])
        as.units_row = false; /* a row that begins with % is a remark */
}

static void put_remark(ch_stream *stream)
{
    static const char *const remarks[] = {"# a remark", "% another", "// a third", "", "   "};
    count(&want.comments);
    put("%s", remarks[below(stream, 5)]);
    end_line();
}

static void put_header(ch_stream *stream)
{
    char cell[COLUMNS][64], unit[COLUMNS][64];
    for (size_t k = below(stream, 5); k > 0; k--)
        put_remark(stream);
    for (int c = 0; c < COLUMNS; c++) {
        const bool known = c < NOTES && !(c == 0 && as.stamps != NUMBERS), round_ = chance(stream, 0.5);
        const char *const said = known ? as.as[c]->unit : "";
        snprintf(unit[c], sizeof unit[c], "%s", said);
        if (known && !as.units_row)
            snprintf(cell[c], sizeof cell[c], "%s %c%s%c", name[c], round_ ? '(' : '[', said, round_ ? ')' : ']');
        else
            snprintf(cell[c], sizeof cell[c], "%s", name[c]);
    }
    want.header_line = line;
    put_row(cell, COLUMNS);
    if (!as.units_row)
        return;
    for (size_t k = below(stream, 3); k > 0; k--)
        put_remark(stream);
    want.units_line = line;
    put_row(unit, COLUMNS);
}

/* A number by the dialect; the value that it has as written, in SI. */
static double say_number(int c, double si, char cell[64])
{
    const written *w = as.as[c];
    snprintf(cell, 64, "%.*f", w->digits, (si - w->offset) / w->factor);
    const double said = strtod(cell, NULL) * w->factor + w->offset;
    char *point = strchr(cell, '.');
    if (point != NULL)
        *point = as.decimal;
    return said;
}

/* Some time from 12:03:04 of 16 January 2027 on, or a count from 31 s. */
static double say_stamp(double time_s, char cell[64])
{
    if (as.stamps == NUMBERS)
        return say_number(0, 31.0 + time_s, cell);
    const long ms = lround(1000.0 * time_s) + 4000;
    char clock[32], mark = as.decimal == ',' && (as.quoted || as.separator != ',') ? ',' : '.';
    snprintf(clock, sizeof clock, "12:%02ld:%02ld%c%03ld", 3 + ms / 60000, ms / 1000 % 60, mark, ms % 1000);
    static const char *const dates[] = {"2027-01-16T", "16.01.2027 ", "01/16/2027 ", "2027/1/16 "};
    snprintf(cell, 64, "%s%s", as.stamps == DATES ? dates[as.date_form] : "", clock);
    return (double)ms / 1000.0;
}

static double run_of(int c, double t)
{
    switch (c) {
    case 1: return 200.0 + 60.0 * sin(0.7 * t); /* rad/s */
    case 2: return 20.0 + 5.0 * sin(0.7 * t);   /* m/s */
    case 3: return 0.5 + 0.3 * cos(0.7 * t);    /* 1 */
    case 4: return 350.0 + 0.2 * t;             /* K */
    default: return 3.5 * cos(0.7 * t);         /* m/s2 */
    }
}

static void put_fault_row(ch_stream *stream, double time_s)
{
    char cell[COLUMNS][64] = {{0}};
    const size_t kind = below(stream, 4);
    for (int c = 1; c < NOTES; c++)
        say_number(c, run_of(c, time_s), cell[c]);
    snprintf(cell[NOTES], sizeof cell[NOTES], "dry");
    say_stamp(kind == 0 ? time_s - 0.25 : kind == 1 ? time_s + 500.0 : time_s, cell[0]);
    size_t cells = COLUMNS;
    if (kind == 0) {
        count(&want.backward);
    } else if (kind == 1) {
        count(&want.strays);
    } else if (kind == 2) {
        count(&want.ragged);
        cells = chance(stream, 0.5) ? COLUMNS + 1 : COLUMNS - 2;
    } else {
        static const char *const none[] = {"", "nan", "n/a"};
        count(&want.no_stamp);
        const size_t i = below(stream, 4);
        snprintf(cell[0], sizeof cell[0], "%s", i < 3 ? none[i] : "late");
        count(i < 3 ? &want.missing[0] : &want.words[0]);
    }
    put_row(cell, cells);
}

static void put_rows(ch_stream *stream)
{
    const size_t rows = 60 + below(stream, chance(stream, 0.3) ? ROWS_MAX - 60 : 60);
    double first_s = NAN;
    bool last_repeats = true;
    for (size_t i = 0; i < rows; i++) {
        char cell[COLUMNS][64];
        const bool inside = i > 5 && i + 5 < rows;
        if (inside && chance(stream, 0.05))
            put_remark(stream);
        if (inside && !last_repeats && chance(stream, 0.05))
            put_fault_row(stream, (double)i * 0.05);
        const bool repeats = inside && !last_repeats && chance(stream, 0.05);
        const double stamp_s = say_stamp((double)(repeats ? i - 1 : i) * 0.05, cell[0]);
        last_repeats = repeats;
        first_s = i == 0 ? stamp_s : first_s;
        want.value[0][i] = (double)i * 0.05;
        if (repeats)
            count(&want.repeated);
        want.line[i] = line;
        for (int c = 1; c < NOTES; c++) {
            want.value[c][i] = say_number(c, run_of(c, (double)i * 0.05), cell[c]);
            if (inside && chance(stream, 0.02)) {
                static const char *const none[] = {"", "nan", "-", "NULL"};
                snprintf(cell[c], sizeof cell[c], "%s", none[below(stream, 4)]);
                want.value[c][i] = NAN;
                count(&want.missing[c]);
            } else if (inside && chance(stream, 0.01)) {
                snprintf(cell[c], sizeof cell[c], "broken");
                want.value[c][i] = NAN;
                count(&want.words[c]);
            }
        }
        snprintf(cell[NOTES], sizeof cell[NOTES], "%s", chance(stream, 0.5) ? "dry" : "wet");
        put_row(cell, COLUMNS);
    }
    want.rows = rows;
}

/* The text in the dialect's encoding. */
static size_t encode(void)
{
    size_t n = 0;
    if (as.encoding == CH_DRIVELOG_UTF8) {
        if (as.mark)
            n = (size_t)sprintf((char *)bytes, "\xef\xbb\xbf");
        memcpy(bytes + n, text, used);
        return n + used;
    }
    const size_t low = as.encoding == CH_DRIVELOG_UTF16BE;
    bytes[low] = 0xff;
    bytes[!low] = 0xfe;
    for (size_t i = 0; i < used; i++) {
        bytes[2 + 2 * i + low] = (unsigned char)text[i];
        bytes[2 + 2 * i + !low] = 0;
    }
    return 2 + 2 * used;
}

static void expect_count(const char *what, ch_drivelog_count got, ch_drivelog_count wanted_)
{
    if (got.n != wanted_.n || got.line != wanted_.line)
        fail_msg("%s: %u from line %u on, not %u from line %u on, in\n%.3000s", what, (unsigned)got.n,
                 (unsigned)got.line, (unsigned)wanted_.n, (unsigned)wanted_.line, text);
}

static void expect_as_written(const read_log *log)
{
    const ch_drivelog_report *r = &log->report;
    if (log->status != CH_OK)
        fail_msg("%ld: %s in\n%.3000s", log->err.line, log->err.what, text);
    assert_int_equal(r->separator, as.separator);
    assert_int_equal(r->encoding, as.encoding);
    assert_int_equal(r->mark, as.mark);
    assert_int_equal(r->quoted, as.quoted);
    assert_int_equal(r->header_line, want.header_line);
    assert_int_equal(r->units_line, want.units_line);
    assert_int_equal(r->columns_n, COLUMNS);
    assert_int_equal(r->segments_n, 1);
    expect_count("comments", r->comments, want.comments);
    expect_count("ragged", r->ragged, want.ragged);
    expect_count("backward", r->backward, want.backward);
    expect_count("strays", r->strays, want.strays);
    expect_count("no stamp", r->no_stamp, want.no_stamp);
    expect_count("repeated", r->repeated, want.repeated);
    assert_int_equal(r->gaps.n + r->wraps.n + r->headers_again.n + r->truncated.n + r->bad_characters.n, 0);
    assert_int_equal(log->n, want.rows);
    assert_int_equal(r->rows, want.rows);
    for (int c = 0; c < NOTES; c++) {
        const ch_drivelog_column *column = &r->columns[channel[c]];
        assert_int_equal(column->how, CH_DRIVELOG_BY_WORDS);
        assert_int_equal(column->index, as.at[c]);
        assert_false(column->unit_assumed);
        expect_count(name[c], column->missing, want.missing[c]);
        expect_count(name[c], column->not_numbers, want.words[c]);
        assert_int_equal(column->glitches.n + column->other_units.n + column->filled, 0);
        double least = NAN, most = NAN;
        size_t values = 0;
        for (size_t i = 0; i < log->n; i++) {
            const double got = log->value[channel[c]][i], wanted_ = want.value[c][i];
            if (isnan(wanted_))
                assert_true(isnan(got));
            else
                expect_close(got, wanted_,
                             c == 0 ? 1e-3 : 1e-9 * fabs(wanted_)); /* stamps are written to a millisecond */
            values += isnan(wanted_) ? 0 : 1;
            least = fmin(least, wanted_);
            most = fmax(most, wanted_);
            assert_int_equal(log->line[i], want.line[i]);
        }
        assert_int_equal(column->values, values);
        if (c > 0) {
            expect_close(column->least_si, least, 1e-9 * fabs(least));
            expect_close(column->most_si, most, 1e-9 * fabs(most));
        }
    }
    expect_close(r->median_interval_s, 0.05, 1e-3);
    expect_close(r->seconds, 0.05 * (double)(want.rows - 1), 2e-3);
}

static void a_run_is_the_same_in_any_dialect_and_its_faults_are_counted(void **state)
{
    (void)state;
    enum { LOGS = 50 };
    for (uint64_t number = 0; number < LOGS; number++) {
        ch_stream stream;
        ch_stream_init(&stream, 81, number);
        memset(&want, 0, sizeof want);
        used = 0;
        line = 1;
        draw_dialect(&stream);
        put_header(&stream);
        put_rows(&stream);
        const size_t n = encode();
        static const size_t pieces[] = {0, 1, 61, 1000};
        read_log log;
        read_log_text(&log, bytes, n, pieces[number % 4], NULL);
        expect_as_written(&log);
        read_log_clear(&log);
    }
}

/* A channel without a number is told with the place of its name in the header, whichever column it is. */
static void a_column_that_is_no_good_is_named_with_its_place(void **state)
{
    (void)state;
    static const char *const names[] = {"time (s)", "speed (km/h)", "rpm", "coolant (C)"};
    static const int order[][4] = {{0, 1, 2, 3}, {2, 0, 1, 3}, {3, 1, 2, 0}, {1, 3, 0, 2}};
    for (size_t k = 0; k < sizeof order / sizeof order[0]; k++)
        for (int bad = 1; bad <= 2; bad++) {
            long place = 1;
            used = 0;
            for (int c = 0; c < 4; c++) {
                if (order[k][c] == bad)
                    place = (long)used + 1;
                put("%s%s", names[order[k][c]], c < 3 ? "," : "\n");
            }
            for (int i = 0; i < 30; i++)
                for (int c = 0; c < 4; c++) {
                    const double value[] = {0.1 * i, 60.0 + i, 3000.0 + 20.0 * i, 80.0};
                    if (order[k][c] == bad)
                        put("none%s", c < 3 ? "," : "\n");
                    else
                        put("%.1f%s", value[order[k][c]], c < 3 ? "," : "\n");
                }
            read_log log;
            read_log_text(&log, text, used, 0, NULL);
            assert_int_equal(log.status, CH_E_INPUT);
            assert_int_equal(log.err.line, 1);
            assert_int_equal(log.err.column, place);
            assert_non_null(strstr(log.err.what, "has no number"));
            read_log_clear(&log);
        }
}

/* Before a row is read nothing is known of any column. */
static void a_report_begins_with_nothing_known(void **state)
{
    (void)state;
    ch_drivelog *log = NULL;
    assert_int_equal(ch_drivelog_open(NULL, NULL, NULL, &log, NULL), CH_OK);
    const ch_drivelog_report *r = ch_drivelog_report_of(log);
    for (int c = 0; c < CH_DRIVELOG_CHANNELS_; c++)
        assert_true(isnan(r->columns[c].least_si) && isnan(r->columns[c].most_si) &&
                    isnan(r->columns[c].fresh_interval_s) && r->columns[c].how == CH_DRIVELOG_NONE &&
                    r->columns[c].values == 0);
    assert_true(isnan(r->median_interval_s) && isnan(r->road_over_gps) && isnan(r->rate_over_acceleration));
    assert_true(r->rows == 0 && r->separator == '\0' && r->header_line == 0 && r->segments_n == 0);
    ch_drivelog_close(log);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_run_is_the_same_in_any_dialect_and_its_faults_are_counted),
        cmocka_unit_test(a_column_that_is_no_good_is_named_with_its_place),
        cmocka_unit_test(a_report_begins_with_nothing_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
