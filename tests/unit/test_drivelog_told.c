/*
 * What the log reader says, word by word: the sentences of ch_drivelog_tell() on reports made by hand, the place of a failure, and the words for channels
 * (drivelog_tell.c, drivelog.c, drivelog_channels.c).
 */
#include <stdlib.h>
#include <string.h>

#include "drivelog_parts.h"
#include "expect.h"

enum { ROOM = 16000 };

/* A report of nothing: as after opening. */
static ch_drivelog_report nothing(void)
{
    ch_drivelog_report report;
    memset(&report, 0, sizeof report);
    report.decimal = '.';
    report.road_over_gps = report.rate_over_acceleration = NAN;
    return report;
}

/* All that is told of it. */
static void assert_told(const ch_drivelog_report *report, const char *wanted)
{
    ch_text told;
    ch_text_init(&told, ROOM);
    ch_text_append_string(&told, "before\n"); /* what is there stays */
    ch_drivelog_tell(report, &told);
    assert_string_equal(ch_text_string(&told), wanted[0] == '\0' ? "before\n" : wanted);
    ch_text_clear(&told);
}

static void of_nothing_nothing_is_told(void **state)
{
    (void)state;
    ch_drivelog_report report = nothing();
    assert_told(&report, "");
    /* a whole log of the usual kind, too: columns chosen by words or by hand, one segment */
    report.segments_n = 1;
    report.rows = 1000;
    report.header_line = 1;
    report.separator = ';';
    report.road_over_gps = report.rate_over_acceleration = 1.0;
    report.headers_again = (ch_drivelog_count){1, 9};
    report.encoding = CH_DRIVELOG_LATIN1;
    for (int c = 0; c < CH_DRIVELOG_CHANNELS_; c++) {
        report.columns[c].how = c % 2 == 0 ? CH_DRIVELOG_BY_WORDS : CH_DRIVELOG_BY_HAND;
        report.columns[c].values = 1000;
        snprintf(report.columns[c].name, sizeof report.columns[c].name, "column %d", c);
    }
    assert_told(&report, "");
}

typedef struct counted {
    size_t offset; /* of the count in the report */
    const char *one, *many;
} counted;

/* One is told by itself, two and more by their number; with the line of the first. */
static void each_count_has_a_sentence_for_one_and_for_many(void **state)
{
    (void)state;
#define OF(member) offsetof(ch_drivelog_report, member)
    static const counted counts[] = {
        {OF(gaps), "a gap of more than three intervals", "gaps of more than three intervals"},
        {OF(backward), "the clock goes back: the row is left out", "rows whose clock goes back: left out"},
        {OF(strays), "a stamp that fits neither neighbour: the row is left out",
         "rows with a stamp that fits neither neighbour: left out"},
        {OF(no_stamp), "a row without a time that can be read: left out",
         "rows without a time that can be read, or under a clock that stands still: left out"},
        {OF(repeated), "a row has the stamp of the row before: moved towards the next stamp",
         "rows with the stamp of the row before: spread up to the next stamp"},
        {OF(wraps), "the clock passes midnight or its counter's end: carried on",
         "times the clock passes midnight or its counter's end: carried on"},
        {OF(ragged), "a row with too few or too many cells: left out", "rows with too few or too many cells: left out"},
        {OF(comments), "a comment or empty line: passed over", "comment or empty lines: passed over"},
        {OF(truncated), "the last row ends in the middle: its end is left out",
         "pieces of a last row that ends in the middle: left out"},
        {OF(bad_characters), "a broken or NUL character", "broken or NUL characters"},
    };
#undef OF
    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++)
        for (unsigned n = 0; n <= 3; n++) {
            ch_drivelog_report report = nothing();
            const ch_drivelog_count count = {n, n > 0 ? 40 + i : 0};
            char wanted[300] = "";
            memcpy((char *)&report + counts[i].offset, &count, sizeof count);
            if (n == 1)
                snprintf(wanted, sizeof wanted, "before\nline %zu: %s\n", 40 + i, counts[i].one);
            else if (n > 1)
                snprintf(wanted, sizeof wanted, "before\nline %zu: the first of %u %s\n", 40 + i, n, counts[i].many);
            assert_told(&report, wanted);
        }
}

static void cells_of_a_column_are_told_with_its_channel(void **state)
{
    (void)state;
    static const char *const said[] = {
        "with text instead of a number: left empty", "with a unit of their own: converted",
        "that cannot be (out of range, or a leap of one row): left empty", "without a value"};
    for (int c = 0; c < CH_DRIVELOG_CHANNELS_; c++)
        for (int kind = 0; kind < 4; kind++)
            for (unsigned n = 0; n <= 3; n++) {
                ch_drivelog_report report = nothing();
                ch_drivelog_column *const column = &report.columns[c];
                ch_drivelog_count *const counts[] = {&column->not_numbers, &column->other_units, &column->glitches,
                                                     &column->missing};
                char wanted[300] = "";
                column->how = CH_DRIVELOG_BY_WORDS;
                *counts[kind] = (ch_drivelog_count){n, n > 0 ? 7 : 0};
                if (n > 0)
                    snprintf(wanted, sizeof wanted, "before\nline 7: %s: %u %s %s\n",
                             ch_drivelog_channel_name((ch_drivelog_channel)c), n, n == 1 ? "cell" : "cells",
                             said[kind]);
                assert_told(&report, wanted);
                column->how = CH_DRIVELOG_NONE; /* of a column that is not there nothing is told */
                assert_told(&report, "");
            }
}

static void how_a_column_came_about_is_told(void **state)
{
    (void)state;
    ch_drivelog_report report = nothing();
    for (int c = 0; c < CH_DRIVELOG_CHANNELS_; c++) {
        report.columns[c].how = CH_DRIVELOG_BY_WORDS;
        snprintf(report.columns[c].name, sizeof report.columns[c].name, "N%d", c);
        snprintf(report.columns[c].unit, sizeof report.columns[c].unit, "U%d", c);
    }
    report.columns[CH_DRIVELOG_ENGINE].how = report.columns[CH_DRIVELOG_ROAD].how = CH_DRIVELOG_SWAPPED;
    assert_told(&report, "before\nrpm and speed hold each other's numbers: \"N1\" is taken as rpm\n"
                         "speed and rpm hold each other's numbers: \"N2\" is taken as speed\n");
    report.columns[CH_DRIVELOG_ENGINE].how = CH_DRIVELOG_BY_WORDS;
    report.columns[CH_DRIVELOG_ROAD].how = CH_DRIVELOG_STAND_IN;
    assert_told(&report, "before\nno road speed of the car itself: \"N2\" stands in for it\n");
    report.columns[CH_DRIVELOG_ROAD].how = CH_DRIVELOG_BY_WORDS;
    report.columns[CH_DRIVELOG_THROTTLE].unit_assumed = true;
    assert_told(&report, "before\nthrottle (\"N3\"): the log names no unit; taken as U3\n");
    report.columns[CH_DRIVELOG_THROTTLE].unit_assumed = false;
    for (size_t rivals = 1; rivals <= 3; rivals++) {
        char wanted[200];
        report.columns[CH_DRIVELOG_OIL].rivals = rivals;
        snprintf(wanted, sizeof wanted, "before\noil: \"N6\" is taken, the first of %zu columns that fit alike\n",
                 rivals + 1);
        assert_told(&report, wanted);
    }
    report.columns[CH_DRIVELOG_OIL].rivals = 0;
    for (unsigned filled = 1; filled <= 2; filled++) {
        char wanted[200];
        report.columns[CH_DRIVELOG_DRIVEN].filled = filled;
        snprintf(wanted, sizeof wanted, "before\ndriven: a value every few rows; %u cells between them filled in\n",
                 filled);
        assert_told(&report, wanted);
    }
    report.columns[CH_DRIVELOG_DRIVEN].filled = 0;
    report.encoding = CH_DRIVELOG_UTF16LE;
    assert_told(&report, "before\nthe log is in UTF-16\n");
    report.encoding = CH_DRIVELOG_UTF16BE;
    report.decimal = ',';
    assert_told(&report, "before\nthe log is in UTF-16\nnumbers have a decimal comma\n");
    report.encoding = CH_DRIVELOG_UTF8;
    report.decimal = '.';
    report.units_line = 1;
    assert_told(&report, "before\nline 1: units row\n");
}

/* The first segment is the log itself; the others are told, as many as are kept, and how many there are where that is not all. */
static void segments_behind_the_first_are_told(void **state)
{
    (void)state;
    static const struct {
        ch_drivelog_break why;
        const char *said;
    } breaks[] = {{CH_DRIVELOG_RESTART, "the clock starts again"},
                  {CH_DRIVELOG_JUMP, "the clock jumps ahead by more than a day"},
                  {CH_DRIVELOG_HEADER, "another log follows, with its own header"}};
    static const uint64_t numbers[] = {0, 1, 2, 3, 63, 64, 65, 66};
    for (size_t k = 0; k < sizeof numbers / sizeof numbers[0]; k++) {
        static char wanted[ROOM];
        ch_drivelog_report report = nothing();
        size_t used = (size_t)sprintf(wanted, "before\n");
        report.segments_n = numbers[k];
        for (uint64_t i = 0; i < CH_DRIVELOG_SEGMENTS_MAX && i < numbers[k]; i++) {
            report.segments[i] = (ch_drivelog_segment){i == 0 ? CH_DRIVELOG_START : breaks[i % 3].why, 100 + i, 90 + i,
                                                       10.6 + (double)i, 3.0};
            if (i > 0)
                used += (size_t)sprintf(wanted + used, "line %u: %s; a new segment, at %u s\n", (unsigned)(100 + i),
                                        breaks[i % 3].said, (unsigned)(11 + i)); /* in whole seconds */
        }
        if (numbers[k] > 64)
            sprintf(wanted + used, "%u segments in all\n", (unsigned)numbers[k]);
        assert_told(&report, wanted);
    }
}

/* docs/driveline-log.md: a factor of four off the acceleration (less than a fiftieth is noise about a car that does not change its speed), a fifth off the
 * satellite's speed. Ratios that doubles hold exactly lie on the limit itself. */
static void doubts_about_units_begin_at_a_factor_of_four_and_at_a_fifth(void **state)
{
    (void)state;
    static const struct {
        double ratio;
        int percent; /* 0: not told */
    } rates[] = {{NAN, 0},         {-5.0, 0},          {0.0, 0},          {0.019, 0},  {0.02, 0},  {0.021, 2},
                 {0.024, 2},       {0.1, 10},          {0.249, 25},       {0.25, 0},   {0.26, 0},  {0.3, 0},
                 {1.0, 0},         {3.9, 0},           {4.0, 0},          {4.01, 401}, {4.9, 490}, {36.0, 3600},
                 {1e6, 100000000}, {1.2e6, 100000000}, {1e300, 100000000}},
      speeds[] = {{NAN, 0},         {-3.0, 0},         {0.0, 0},     {0.001, 0 /* told as 0 % below */},
                  {0.5, 50},        {0.62, 62},        {0.751, 75},  {0.79, 79},
                  {0.81, 0},        {0.99, 0},         {1.0, 0},     {1.19, 0},
                  {1.21, 121},      {1.24, 124},       {1.609, 161}, {2.0, 200},
                  {1e6, 100000000}, {1.2e6, 100000000}};
    for (size_t i = 0; i < sizeof rates / sizeof rates[0]; i++) {
        ch_drivelog_report report = nothing();
        char wanted[200] = "";
        report.rate_over_acceleration = rates[i].ratio;
        if (rates[i].percent > 0)
            snprintf(wanted, sizeof wanted,
                     "before\nroad speed changes %d %% as fast as the acceleration says: perhaps its unit is wrong\n",
                     rates[i].percent);
        assert_told(&report, wanted);
    }
    for (size_t i = 0; i < sizeof speeds / sizeof speeds[0]; i++) {
        ch_drivelog_report report = nothing();
        char wanted[200] = "";
        report.road_over_gps = speeds[i].ratio;
        if (speeds[i].percent > 0 || speeds[i].ratio == 0.001)
            snprintf(wanted, sizeof wanted,
                     "before\nroad speed is %d %% of the GPS speed: perhaps one of their units is wrong\n",
                     speeds[i].percent);
        assert_told(&report, wanted);
    }
}

/* ---- counts and the place of a failure ---- */

static void a_count_keeps_the_first_line(void **state)
{
    (void)state;
    ch_drivelog_count count = {0, 0};
    log_count(&count, 0, 5);
    assert_true(count.n == 0 && count.line == 0);
    log_count(&count, 1, 5);
    assert_true(count.n == 1 && count.line == 5);
    log_count(&count, 3, 7);
    assert_true(count.n == 4 && count.line == 5);
    log_count(&count, 0, 2);
    assert_true(count.n == 4 && count.line == 5);
    log_count(&count, 2, 3); /* told later, stood earlier */
    assert_true(count.n == 6 && count.line == 3);
}

/* The column is where the cell's name begins, counted over the names and the separators ahead of it; the row's beginning where that cannot be said. */
static void a_failure_in_the_header_has_the_place_of_its_name(void **state)
{
    (void)state;
    static const char *const names[] = {"time", "", "speed (km/h)"};
    static const struct {
        uint64_t line;
        size_t column;
        bool quoted;
        long place;
    } cases[] = {{4, 0, false, 1}, {4, 1, false, 6}, {4, 2, false, 7}, {4, 3, false, 1}, {4, 1024, false, 1},
                 {5, 2, false, 1}, {3, 2, false, 1}, {4, 2, true, 1},  {0, 2, false, 1}};
    ch_drivelog *const r = calloc(1, sizeof *r);
    assert_non_null(r);
    r->report.names = names;
    r->report.columns_n = 3;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        ch_err err = {0};
        r->report.header_line = cases[i].line == 0 ? 0 : 4; /* line 0: a log without a header */
        r->report.quoted = cases[i].quoted;
        assert_int_equal(log_fail_at(r, &err, CH_E_LIMIT, cases[i].line, cases[i].column, "so", "%d %s", 17, "cells"),
                         CH_E_LIMIT);
        assert_int_equal(err.status, CH_E_LIMIT);
        assert_string_equal(err.what, "17 cells");
        assert_string_equal(err.right, "so");
        assert_string_equal(err.file, "");
        assert_int_equal(err.line, cases[i].line);
        assert_int_equal(err.column, cases[i].line == 0 ? 0 : cases[i].place);
    }
    free(r);
}

static void every_channel_has_its_word_and_no_other_word_has_one(void **state)
{
    (void)state;
    static const char *const words[] = {"time",    "rpm", "speed",  "throttle", "acceleration",
                                        "coolant", "oil", "clutch", "gps",      "driven"};
    assert_int_equal(sizeof words / sizeof words[0], CH_DRIVELOG_CHANNELS_);
    for (int c = 0; c < CH_DRIVELOG_CHANNELS_; c++) {
        const size_t n = strlen(words[c]);
        char longer[32];
        snprintf(longer, sizeof longer, "%ss", words[c]);
        assert_string_equal(ch_drivelog_channel_name((ch_drivelog_channel)c), words[c]);
        assert_int_equal(ch_drivelog_channel_find(longer, n), c); /* by its length, whatever stands behind */
        assert_int_equal(ch_drivelog_channel_find(longer, n + 1), CH_DRIVELOG_CHANNELS_);
        assert_int_equal(ch_drivelog_channel_find(longer, n - 1), CH_DRIVELOG_CHANNELS_);
    }
    assert_int_equal(ch_drivelog_channel_find("", 0), CH_DRIVELOG_CHANNELS_);
    assert_int_equal(ch_drivelog_channel_find("RPM", 3), CH_DRIVELOG_CHANNELS_);
    assert_string_equal(ch_drivelog_channel_name(CH_DRIVELOG_CHANNELS_), "unknown channel");
    assert_string_equal(ch_drivelog_channel_name((ch_drivelog_channel)-1), "unknown channel");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(of_nothing_nothing_is_told),
        cmocka_unit_test(each_count_has_a_sentence_for_one_and_for_many),
        cmocka_unit_test(cells_of_a_column_are_told_with_its_channel),
        cmocka_unit_test(how_a_column_came_about_is_told),
        cmocka_unit_test(segments_behind_the_first_are_told),
        cmocka_unit_test(doubts_about_units_begin_at_a_factor_of_four_and_at_a_fifth),
        cmocka_unit_test(a_count_keeps_the_first_line),
        cmocka_unit_test(a_failure_in_the_header_has_the_place_of_its_name),
        cmocka_unit_test(every_channel_has_its_word_and_no_other_word_has_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
