/* What the log reader refuses: each refusal with its place and words, and what is just good enough (drivelog_probe.c, drivelog_clean.c, drivelog.c). */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drivelog_text.h"
#include "expect.h"

typedef struct refusal {
    const char *text;
    ch_status status;
    long line, column;
    const char *what, *right;
} refusal;

static void assert_refused(const refusal *want, const ch_drivelog_options *options)
{
    static const size_t pieces[] = {0, 1, 7};
    for (size_t i = 0; i < 3; i++) {
        read_log log;
        read_log_text(&log, want->text, strlen(want->text), pieces[i], options);
        if (log.status != want->status || log.err.status != want->status || log.err.line != want->line ||
            log.err.column != want->column || strcmp(log.err.what, want->what) != 0 ||
            strcmp(log.err.right, want->right) != 0)
            fail_msg("\"%.60s\": %d, %ld:%ld: %s: %s", want->text, (int)log.status, log.err.line, log.err.column,
                     log.err.what, log.err.right);
        read_log_clear(&log);
    }
}

static void what_is_refused_is_told_with_its_place_and_what_would_be_right(void **state)
{
    (void)state;
#define EMPTY "the log is empty", "a header row such as time,rpm,speed and rows of numbers"
#define NO_TEXT "these bytes are no text", "text with a header row such as time,rpm,speed"
#define NO_TABLE                                                                                                       \
    "this is no table", "a header row such as time,rpm,speed and rows of numbers with , ; tab or | between them"
#define NO_HEADER                                                                                                      \
    "the log has no header that names its columns",                                                                    \
        "a first row such as time,rpm,speed, or columns by number: time=1 rpm=2 speed=3"
#define NO_ROW "no row of numbers follows the header", "rows of numbers below the header"
#define SPEEDS "numbers with one decimal mark and no thousands separators"
#define COLUMN_AND_UNIT "the right column and the right unit"
    static const refusal refusals[] = {
        {"", CH_E_INPUT, 1, 1, EMPTY},
        {"\n", CH_E_INPUT, 1, 1, EMPTY},
        {" \t\r\n \n", CH_E_INPUT, 1, 1, EMPTY},
        {"\xef\xbb\xbf", CH_E_INPUT, 1, 1, EMPTY},
        {"\x01\x02\x03 time,rpm,speed\n1,2,3\n", CH_E_INPUT, 1, 1, NO_TEXT},
        {"nothing\nat all\n", CH_E_INPUT, 1, 1, NO_TABLE},
        {"1,2\n2,3\n", CH_E_INPUT, 1, 1, NO_HEADER},
        {"a,b\n2,3\n3,4\n", CH_E_INPUT, 1, 1, "no column is known as time", "time=COLUMN, one of a, b"},
        {"rpm,speed\n2000,30\n", CH_E_INPUT, 1, 1, "no column is known as time", "time=COLUMN, one of rpm, speed"},
        {"x\ntime,speed\n1,30\n", CH_E_INPUT, 2, 1, "no column is known as engine speed",
         "rpm=COLUMN, one of time, speed"},
        {"time,rpm,\n1,3000,\n", CH_E_INPUT, 1, 1, "no column is known as road speed",
         "speed=COLUMN, one of time, rpm"},
        {"time (s),rpm,speed (km/h)\n\ns,rpm,mph\n1,3000,30\n", CH_E_INPUT, 3, 1,
         "the header \"speed (km/h)\" names another unit than the units row (mph)", "one unit in both"},
        {"time,rpm,speed\n", CH_E_INPUT, 1, 1, NO_ROW},
        {"time,rpm,speed\n# 1,2,3\n", CH_E_INPUT, 1, 1, NO_ROW},
        {"time,rpm,speed\ns,rpm,km/h\n", CH_E_INPUT, 1, 1, NO_ROW},
        {"time,rpm,speed\nx,3000,30\ny,3000,30\n", CH_E_INPUT, 2, 1, "no row has a time that can be read",
         "seconds, milliseconds, hh:mm:ss or date and time"},
        {"rpm,time,speed\n3000,,30\n3000,5,30\n3000,5,30\n3000,5,30\n", CH_E_INPUT, 1, 5,
         "the clock (\"time\") stands still throughout", "a time column that moves"},
        {"time,rpm,speed\n1,x,30\n2,y,30\n", CH_E_INPUT, 2, 1, "engine speed (\"rpm\") has no number", SPEEDS},
        {"time,rpm,speed\n1,,30\n2,,30\n", CH_E_INPUT, 1, 6, "engine speed (\"rpm\") has no number", SPEEDS},
        {"time,rpm,speed\n1,3000,\n2,3000,fast\n", CH_E_INPUT, 3, 1, "road speed (\"speed\") has no number", SPEEDS},
        {"time,rpm,speed\n1,-1,30\n2,-1,30\n3,3000,30\n", CH_E_INPUT, 2, 1,
         "most of engine speed (\"rpm\", taken as rpm) is more than any car does", COLUMN_AND_UNIT},
        {"time,rpm,speed (mph)\n1,3000,400\n2,3000,400\n3,3000,60\n", CH_E_INPUT, 2, 1,
         "most of road speed (\"speed (mph)\", taken as mph) is more than any car does", COLUMN_AND_UNIT},
        {"time,rpm,speed\n1,300,30\n2,381,30\n3,300,30\n", CH_E_INPUT, 1, 6,
         "engine speed (\"rpm\") peaks at 381 r/min, where no engine runs",
         "the right column and unit; perhaps rpm=COLUMN and speed=COLUMN the other way round"},
        {"time,rpm,speed\n1,0,30\n2,0,30\n", CH_E_INPUT, 1, 6,
         "engine speed (\"rpm\") peaks at 0 r/min, where no engine runs",
         "the right column and unit; perhaps rpm=COLUMN and speed=COLUMN the other way round"},
        {"time,rpm,speed\n1,3000,30\n2,\"3000,30\n3,3000,30\n", CH_E_INPUT, 3, 1, "a quote is opened and never closed",
         "a quote at both ends of the cell"},
        /* the last row may be cut, and does not count among the first; in the end it does */
        {"time,rpm,speed\n1,3000,30\n2,3000\n2,3000\n3,3000,30\n", CH_E_INPUT, 3, 1,
         "the row has 2 cells, the header 3 names", "as many cells as names"},
        {"time,rpm,speed\n1,3000,30,,5\n2,3000,30,5\n3,3000,30\n", CH_E_INPUT, 2, 1,
         "the row has 5 cells, the header 3 names",
         "as many cells as names; decimal commas need quotes or another separator"},
        {"time;rpm;speed\n1;3000;30;;5\n2;3000;30;5\n3;3000;30\n", CH_E_INPUT, 2, 1,
         "the row has 5 cells, the header 3 names", "as many cells as names"},
        {"time,rpm,speed\n1,3000,30\n2,3000\n3,3000\n", CH_E_INPUT, 3, 1,
         "2 rows have too few or too many cells, only 1 the right number", "as many cells as names"},
    };
    for (size_t i = 0; i < sizeof refusals / sizeof refusals[0]; i++)
        assert_refused(&refusals[i], NULL);
}

/* The same logs with a little more in them are taken. */
static void what_is_just_good_enough_is_taken(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        size_t rows;
    } logs[] = {
        {"time,rpm,speed\n1,3000,30\n2,3000\n", 1}, /* as many ragged rows as others */
        {"time,rpm,speed\n1,3000,30\n2,3000\n3,3000\n4,3000,30\n5,3000,30\n", 3},
        {"time,rpm,speed\n1,3000,30\n", 1},
        {"time,rpm,speed\n1,3000,30\n1,3000,30\n2,3000,30\n", 3},
        {"time,rpm,speed\n1,-1,30\n2,3000,30\n", 2}, /* as many glitches as values */
        {"time,rpm,speed\n1,3000,30\n2,x,30\n", 2},
        {"time,rpm,speed\n1,382,30\n2,382,30\n", 2}, /* 40 rad/s are 381.97 r/min */
        {"time,rpm,speed\n1,0,10\n2,0,10\n", 2},     /* below 3 m/s it may be pushed */
        {"time,rpm,speed\n1,3000,0\n2,3000,0\n", 2},
    };
    for (size_t i = 0; i < sizeof logs / sizeof logs[0]; i++) {
        read_log log;
        read_log_text(&log, logs[i].text, strlen(logs[i].text), 0, NULL);
        if (log.status != CH_OK || log.n != logs[i].rows)
            fail_msg("\"%s\": %s, %zu rows", logs[i].text, log.err.what, log.n);
        read_log_clear(&log);
    }
    /* on the limit itself: 40 rad/s, and 3 m/s under an engine that does not turn */
    static const struct {
        const char *engine, *road;
        bool taken;
    } limits[] = {{"39.5", "0", false}, {"40", "0", true}, {"0", "3", true}, {"0", "3.5", false}, {"0", "0", true}};
    for (size_t i = 0; i < sizeof limits / sizeof limits[0]; i++) {
        read_log log;
        start("time (s),rpm (rad/s),speed (m/s)\n");
        put("1,%s,%s\n2,%s,%s\n", limits[i].engine, limits[i].road, limits[i].engine, limits[i].road);
        read_log_text(&log, text, used, 0, NULL);
        assert_int_equal(log.status, limits[i].taken ? CH_OK : CH_E_INPUT);
        read_log_clear(&log);
    }
}

static void columns_named_by_hand_that_are_not_there_are_refused(void **state)
{
    (void)state;
    static const char log_text[] = "time,rpm,speed\n1,3000,30\n2,3000,30\n";
    static const char *const words[] = {"time",    "rpm", "speed",  "throttle", "acceleration",
                                        "coolant", "oil", "clutch", "gps",      "driven"};
    for (int c = 0; c < CH_DRIVELOG_CHANNELS_; c++) {
        ch_drivelog_options options = {0};
        char what[100];
        options.column[c] = "boost";
        snprintf(what, sizeof what, "no column \"boost\" for %s", words[c]);
        assert_refused(&(refusal){log_text, CH_E_INPUT, 1, 1, what, "one of time, rpm, speed"}, &options);
    }
    const ch_drivelog_options swapped = {.column = {[CH_DRIVELOG_ENGINE] = "speed", [CH_DRIVELOG_ROAD] = "rpm"}};
    assert_refused(&(refusal){"time,rpm,speed\n1,3000,30\n2,3100,40\n", CH_E_INPUT, 1, 10,
                              "the column chosen for engine speed peaks at 40 and that for road speed at 3100",
                              "rpm=COLUMN and speed=COLUMN the other way round"},
                   &swapped);
}

/* The names that there are, as many as fit: each cut to 31 bytes, and none begun behind the 120th byte. */
static void a_refusal_lists_as_many_names_as_it_has_room_for(void **state)
{
    (void)state;
    static const struct {
        size_t first, others; /* lengths */
        size_t listed;
    } cases[] = {{10, 10, 11}, {11, 10, 11}, {12, 10, 10}, {31, 31, 4}, {40, 40, 4}, {1, 1, 30}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char want[300] = "one of ";
        const ch_drivelog_options options = {.column = {[CH_DRIVELOG_OIL] = "boost"}};
        start("");
        for (size_t k = 0; k < 30; k++) {
            const size_t length = k == 0 ? cases[i].first : cases[i].others, shown = length < 31 ? length : 31;
            char name[64];
            memset(name, (int)('a' + k % 26), sizeof name);
            put("%s%.*s", k > 0 ? "," : "", (int)length, name);
            if (k < cases[i].listed)
                snprintf(want + strlen(want), sizeof want - strlen(want), "%s%.*s", k > 0 ? ", " : "", (int)shown,
                         name);
        }
        put("\n");
        put("time,rpm,speed\n1,3000,30\n");
        /* the header is the row that names most; here the first, by hand */
        ch_drivelog_options by_hand = options;
        by_hand.column[CH_DRIVELOG_TIME] = "1";
        by_hand.column[CH_DRIVELOG_ENGINE] = "2";
        by_hand.column[CH_DRIVELOG_ROAD] = "3";
        read_log log;
        read_log_text(&log, text, used, 0, &by_hand);
        assert_int_equal(log.status, CH_E_INPUT);
        assert_string_equal(log.err.what, "no column \"boost\" for oil");
        assert_string_equal(log.err.right, want);
        read_log_clear(&log);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_refused_is_told_with_its_place_and_what_would_be_right),
        cmocka_unit_test(what_is_just_good_enough_is_taken),
        cmocka_unit_test(columns_named_by_hand_that_are_not_there_are_refused),
        cmocka_unit_test(a_refusal_lists_as_many_names_as_it_has_room_for),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
