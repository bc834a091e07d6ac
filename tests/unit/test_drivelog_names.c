/*
 * Headers, units and which column becomes which channel: what each part of the log reader that reads names makes of them, case by case
 * (drivelog_words.c, drivelog_unit.c, drivelog_map.c).
 */
#include <stdlib.h>
#include <string.h>

#include "drivelog_parts.h"
#include "drivelog_read.h"
#include "expect.h"

static log_slice slice(const char *text)
{
    return (log_slice){last_of_a_page(text, strlen(text)), strlen(text)};
}

/* Words with a space between them. */
static void join(const log_header *header, size_t from, size_t to, char *text, size_t size)
{
    text[0] = '\0';
    for (size_t i = from; i < to; i++)
        snprintf(text + strlen(text), size - strlen(text), "%s%s", i > from ? " " : "", header->tokens[i]);
}

/* ---- a header into words and a unit ---- */

static void a_header_falls_into_words_and_a_unit(void **state)
{
    (void)state;
    static const struct {
        const char *header, *words, *unit, *unit_words;
    } cases[] = {
        {"speed", "speed", "", ""},
        {"Vehicle Speed", "vehicle speed", "", ""},
        {"engineSpeed_RPM", "engine speed", "RPM", "rpm"},
        {"VSSkmh", "vs skmh", "", ""}, /* big letters and small ones: the last big one begins the word... */
        {"GPSSpeed", "gps speed", "", ""},
        {"ABc", "a bc", "", ""},
        {"AB", "ab", "", ""},
        {"aB", "a b", "", ""},
        {"Ab", "ab", "", ""},
        {"aBC", "a bc", "", ""},
        {"A1B", "a1b", "", ""}, /* ... and a digit none */
        {"1B2c", "1b2c", "", ""},
        {"azAZ09", "az az09", "", ""}, /* the first and last letters and digits, and what stands beside them in ASCII */
        {"a@b[c", "a b", "c", "c"},
        {"a`b/c:d\x7f!", "a b c d", "", ""},
        {"R\xc3\xa9gime moteur (tr/min)", "regime moteur", "tr/min", "tr min"},
        {"\xc3\x80\xc3\x96\xc3\x9f\xc3\xbf", "aosy", "", ""}, /* the first and last of the letters with accents */
        {"\xc3\xa7\xc3\xb1\xc3\xbc\xc3\xa5", "cnua", "", ""},
        {"x\xc4\x80y", "x y", "", ""}, /* one of no table parts words */
        {"Velocit\xe0", "velocita", "", ""},
        {"Speed (km/h)", "speed", "km/h", "km h"},
        {"Speed [km/h]", "speed", "km/h", "km h"},
        {"Speed {km/h}", "speed", "km/h", "km h"},
        {"Speed( km/h )", "speed", "km/h", "km h"},
        {"(km/h) Speed", "speed", "km/h", "km h"},
        {"Spe(km/h)ed", "spe ed", "km/h", "km h"},
        {"Speed (OBD)", "speed", "OBD", "obd"}, /* no unit is known of it; there is no better */
        {"Speed (OBD)(km/h)", "speed", "km/h", "km h"},
        {"Speed (km/h) (OBD)", "speed", "km/h", "km h"},
        {"Speed (mph) (km/h)", "speed", "km/h", "km h"},
        {"Speed () (km/h)", "speed", "km/h", "km h"},
        {"Speed (km/h", "speed", "km/h", "km h"},
        /* units of one letter, and names that are units themselves */
        {"Oil temp (C)", "oil temp", "C", "c"},
        {"Accel [g]", "accel", "g", "g"},
        {"t (s)", "t", "s", "s"},
        {"rpm (x)", "rpm", "x", "x"},
        {"ms (g)", "ms", "g", "g"},
        {"rpm s", "rpm", "s", "s"},
        {"rpm 2", "rpm 2", "", ""},
        {"Throttle %", "throttle", "%", ""},
        {"Speed km/h ()", "speed", "km/h", "km h"},
        {"Speed ( ) mph [ ]", "speed", "mph", "mph"},
        {"rpm ()", "rpm", "rpm", "rpm"},
        {"Speed (x) (y)", "speed", "x", "x"},
        {"Temp (C) (x)", "temp", "C", "c"},
        {"Temp (x) (C)", "temp", "C", "c"},
        {"a abcdefghijklmnopqrstuvwxyz", "a abcdefghijklmnopqrstuvwxyz", "", ""},
        {"Speed (", "speed", "", ""},
        {"Speed km/h", "speed", "km/h", "km h"},
        {"speed_kmh", "speed", "kmh", "kmh"},
        {"Speed, mph", "speed", "mph", "mph"},
        {"Speed - mph", "speed", "mph", "mph"},
        {"Speed|mph", "speed", "mph", "mph"},
        {"Speed:mph", "speed", "mph", "mph"},
        {"Speed.mph", "speed", "mph", "mph"},
        {"Speed/mph", "speed", "mph", "mph"},
        {"Temp deg C", "temp", "deg C", "deg c"}, /* the longest tail that is a unit */
        {"v m/s", "v", "m/s", "m s"},
        {"xmph", "xmph", "", ""},
        {"speed_1", "speed 1", "", ""}, /* the first of two speeds, no ratio */
        {"speed 100", "speed 100", "", ""},
        {"speed_", "speed", "", ""},
        {"speed 1000 rpm", "speed", "1000 rpm", "1000 rpm"},
        {"rpm", "rpm", "rpm", "rpm"},
        {"ms", "ms", "ms", "ms"},
        {"t", "t", "", ""}, /* one letter is a name, though tonnes are known */
        {"[km/h]", "km h", "km/h", "km h"},
        {"_mph", "mph", "", ""}, /* a tail has a name ahead of it */
        {"", "", "", ""},
        {"   ", "", "", ""},
        {"%", "", "", ""},
        {" \"Speed (km/h)\" ", "speed", "km/h", "km h"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        log_header header;
        char words[600], unit_words[600];
        memset(&header, 0x55, sizeof header); /* nothing of before is left */
        log_header_read(slice(cases[i].header), &header);
        join(&header, 0, header.n, words, sizeof words);
        join(&header, header.n, header.with_unit, unit_words, sizeof unit_words);
        if (strcmp(words, cases[i].words) != 0 || strcmp(header.unit, cases[i].unit) != 0 ||
            strcmp(unit_words, cases[i].unit_words) != 0)
            fail_msg("\"%s\": \"%s\", unit \"%s\" (\"%s\")", cases[i].header, words, header.unit, unit_words);
    }
}

/* Sixteen words, and 31 letters of each; units of 23 bytes. */
static void long_headers_are_cut(void **state)
{
    (void)state;
    log_header header;
    char words[600];
    log_header_read(slice("a b c d e f g h i j k l mm n o p q r s u"), &header);
    join(&header, 0, header.n, words, sizeof words);
    assert_string_equal(words, "a b c d e f g h i j k l mm n o p");
    assert_int_equal(header.with_unit, 16);
    log_header_read(slice("abcdefghijklmnopqrstuvwxyz01234 abcdefghijklmnopqrstuvwxyz012345 x"), &header);
    join(&header, 0, header.n, words, sizeof words);
    assert_string_equal(words, "abcdefghijklmnopqrstuvwxyz01234 abcdefghijklmnopqrstuvwxyz01234 x");
    /* sixteen words leave no room for those of the unit, fifteen for one of two */
    log_header_read(slice("a b c d e f g h i j k l z n o p (km/h)"), &header);
    assert_int_equal(header.n, 16);
    assert_int_equal(header.with_unit, 16);
    log_header_read(slice("a b c d e f g h i j k l z n o (km/h)"), &header);
    assert_int_equal(header.n, 15);
    assert_int_equal(header.with_unit, 16);
    assert_string_equal(header.tokens[15], "km");
    log_header_read(slice("speed (abcdefghijklmnopqrstuvwxyz)"), &header);
    assert_string_equal(header.unit, "abcdefghijklmnopqrstuvw");
}

/* ---- how well a header fits ---- */

static int fit(const char *text, ch_drivelog_channel channel)
{
    log_header header;
    log_header_read(slice(text), &header);
    return log_header_fits(&header, channel);
}

/* A phrase is worth 100 and 4 for each of its words, the unit 20; up to two further words cost 15 each. What says it is something else is worth nothing. */
static void a_fit_is_weighed_by_words_and_unit(void **state)
{
    (void)state;
    static const struct {
        const char *header;
        ch_drivelog_channel channel;
        int fits;
    } cases[] = {
        {"speed", CH_DRIVELOG_ROAD, 104},
        {"vehicle speed", CH_DRIVELOG_ROAD, 108},
        {"speed vehicle", CH_DRIVELOG_ROAD, 108}, /* in any order */
        {"vehicle speed (km/h)", CH_DRIVELOG_ROAD, 128},
        {"speed km/h", CH_DRIVELOG_ROAD, 124},
        {"speed (foo)", CH_DRIVELOG_ROAD, 104}, /* a unit of nothing says nothing */
        {"speed (rpm)", CH_DRIVELOG_ROAD, 0},
        {"speed (bar)", CH_DRIVELOG_ROAD, 0}, /* one of something else */
        {"speed trap", CH_DRIVELOG_ROAD, 89},
        {"speed trap alpha", CH_DRIVELOG_ROAD, 74},
        {"speed trap alpha (km/h)", CH_DRIVELOG_ROAD, 94},
        {"speed trap alpha beta", CH_DRIVELOG_ROAD, 0},
        {"speed trap alpha beta (km/h)", CH_DRIVELOG_ROAD, 0},
        {"the speed of the car", CH_DRIVELOG_ROAD, 108}, /* fillers cost nothing */
        {"obd ecu speed", CH_DRIVELOG_ROAD, 104},
        {"vehicle", CH_DRIVELOG_ROAD, 0},
        {"car", CH_DRIVELOG_ROAD, 0},
        {"vehicle speed spee", CH_DRIVELOG_ROAD, 93}, /* a piece of a word is another word */
        {"vehicle speed peed", CH_DRIVELOG_ROAD, 93},
        {"vehicle speed ehicle", CH_DRIVELOG_ROAD, 93},
        {"vehicle speed vehicl", CH_DRIVELOG_ROAD, 93},
        {"speeds", CH_DRIVELOG_ROAD, 0},
        {"spee", CH_DRIVELOG_ROAD, 0},
        {"v", CH_DRIVELOG_ROAD, 0}, /* one letter counts with its unit alone */
        {"v (km/h)", CH_DRIVELOG_ROAD, 124},
        {"v (foo)", CH_DRIVELOG_ROAD, 0},
        {"n", CH_DRIVELOG_ENGINE, 0},
        {"n (1/min)", CH_DRIVELOG_ENGINE, 124},
        {"t", CH_DRIVELOG_TIME, 0},
        {"t [s]", CH_DRIVELOG_TIME, 124},
        {"t (foo)", CH_DRIVELOG_TIME, 0},
        {"speed fl", CH_DRIVELOG_ROAD, 0}, /* a wheel is not the car */
        {"speed front", CH_DRIVELOG_ROAD, 0},
        {"driven wheel rr speed", CH_DRIVELOG_DRIVEN, 0},
        {"driven wheel speed left", CH_DRIVELOG_DRIVEN, 0},
        {"driven wheel speed", CH_DRIVELOG_DRIVEN, 112},
        {"throttle left", CH_DRIVELOG_THROTTLE, 89}, /* of other channels there may be two */
        {"gps speed front", CH_DRIVELOG_GPS, 93},
        {"speed limit", CH_DRIVELOG_ROAD, 0},
        {"engine speed target", CH_DRIVELOG_ENGINE, 0},
        {"engine speed", CH_DRIVELOG_ENGINE, 108},
        {"engine speed", CH_DRIVELOG_ROAD, 0},
        {"gps speed", CH_DRIVELOG_ROAD, 0},
        {"gps speed", CH_DRIVELOG_GPS, 108},
        {"idle rpm", CH_DRIVELOG_ENGINE, 0},
        {"turbine speed (rpm)", CH_DRIVELOG_ENGINE, 0},
        {"engine [rpm]", CH_DRIVELOG_ENGINE, 128}, /* the unit is half of the name, for the engine alone */
        {"Motor [rpm]", CH_DRIVELOG_ENGINE, 128},
        {"rpm", CH_DRIVELOG_ENGINE, 124},
        {"crankshaft [rpm]", CH_DRIVELOG_ENGINE, 109}, /* "rpm", one word more, its unit */
        {"lap time", CH_DRIVELOG_TIME, 0},
        {"time", CH_DRIVELOG_TIME, 104},
        {"elapsed time (s)", CH_DRIVELOG_TIME, 128},
        {"oil pressure (bar)", CH_DRIVELOG_OIL, 0},
        {"oil temp (C)", CH_DRIVELOG_OIL, 128},
        {"engine oil temperature (F)", CH_DRIVELOG_OIL, 132},
        {"engine coolant temperature (C)", CH_DRIVELOG_COOLANT, 132},
        {"oil temp", CH_DRIVELOG_COOLANT, 0},
        {"clutch pedal (%)", CH_DRIVELOG_CLUTCH, 128},
        {"clutch pedal (%)", CH_DRIVELOG_THROTTLE, 0},
        {"accelerator pedal position (%)", CH_DRIVELOG_THROTTLE, 132},
        {"accel x (g)", CH_DRIVELOG_ACCELERATION, 128},
        {"accel y (g)", CH_DRIVELOG_ACCELERATION, 0},
        {"g x", CH_DRIVELOG_ACCELERATION, 108},
        {"Geschwindigkeit", CH_DRIVELOG_ROAD, 104},
        {"vitesse v\xc3\xa9hicule (km/h)", CH_DRIVELOG_ROAD, 128},
        {"temperature liquide refroidissement", CH_DRIVELOG_COOLANT, 112},
        {"anything", CH_DRIVELOG_THROTTLE, 0},
        {"", CH_DRIVELOG_THROTTLE, 0},
        {"1", CH_DRIVELOG_THROTTLE, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        if (fit(cases[i].header, cases[i].channel) != cases[i].fits)
            fail_msg("\"%s\" fits %s by %d, not %d", cases[i].header, ch_drivelog_channel_name(cases[i].channel),
                     fit(cases[i].header, cases[i].channel), cases[i].fits);
}

/* ---- units ---- */

typedef enum kind { TIME, SPIN, SPEED, RATIO, ACCELERATION, TEMPERATURE } kind;

static const kind kind_of[CH_DRIVELOG_CHANNELS_] = {TIME,        SPIN,        SPEED, RATIO, ACCELERATION,
                                                    TEMPERATURE, TEMPERATURE, RATIO, SPEED, SPEED};

/* Exact by definition, or pi/30 (NIST SP 811 (2008), Appendix B.8 and B.9). */
#define RPM 0.10471975511965977
static const struct {
    kind kind;
    const char *spelling, *name;
    double factor, offset;
} units[] = {
    {TIME, "s", "s", 1, 0},
    {TIME, "sec", "s", 1, 0},
    {TIME, "seconds", "s", 1, 0},
    {TIME, "sek", "s", 1, 0},
    {TIME, "seg", "s", 1, 0},
    {TIME, "ms", "ms", 1e-3, 0},
    {TIME, "msec", "ms", 1e-3, 0},
    {TIME, "millis", "ms", 1e-3, 0},
    {TIME, "milliseconds", "ms", 1e-3, 0},
    {TIME, "us", "us", 1e-6, 0},
    {TIME, "\xc2\xb5s", "us", 1e-6, 0},
    {TIME, "\xce\xbcs", "us", 1e-6, 0},
    {TIME, "usec", "us", 1e-6, 0},
    {TIME, "micros", "us", 1e-6, 0},
    {TIME, "ns", "ns", 1e-9, 0},
    {TIME, "min", "min", 60, 0},
    {TIME, "h", "h", 3600, 0},
    {TIME, "days", "days", 86400, 0},
    {SPIN, "rpm", "rpm", RPM, 0},
    {SPIN, "r/min", "r/min", RPM, 0},
    {SPIN, "1/min", "1/min", RPM, 0},
    {SPIN, "rev/min", "r/min", RPM, 0},
    {SPIN, "u/min", "rpm", RPM, 0},
    {SPIN, "tr/min", "rpm", RPM, 0},
    {SPIN, "giri/min", "rpm", RPM, 0},
    {SPIN, "g/min", "rpm", RPM, 0},
    {SPIN, "revs/min", "rpm", RPM, 0},
    {SPIN, "min\xe2\x81\xbb\xc2\xb9", "rpm", RPM, 0},
    {SPIN, "rev/s", "rev/s", 60 * RPM, 0},
    {SPIN, "rps", "rev/s", 60 * RPM, 0},
    {SPIN, "rad/s", "rad/s", 1, 0},
    {SPIN, "krpm", "1000 rpm", 1000 * RPM, 0},
    {SPIN, "rpm x1000", "1000 rpm", 1000 * RPM, 0},
    {SPIN, "x1000", "1000 rpm", 1000 * RPM, 0},
    {SPIN, "1000 rpm", "1000 rpm", 1000 * RPM, 0},
    {SPEED, "km/h", "km/h", 1 / 3.6, 0},
    {SPEED, "kmh", "km/h", 1 / 3.6, 0},
    {SPEED, "kph", "km/h", 1 / 3.6, 0},
    {SPEED, "km h", "km/h", 1 / 3.6, 0},
    {SPEED, "mph", "mph", 0.44704, 0},
    {SPEED, "miles/h", "mph", 0.44704, 0},
    {SPEED, "m/s", "m/s", 1, 0},
    {SPEED, "mps", "m/s", 1, 0},
    {SPEED, "ms", "m/s", 1, 0},
    {SPEED, "kn", "kn", 1852.0 / 3600, 0},
    {SPEED, "kt", "kn", 1852.0 / 3600, 0},
    {SPEED, "kts", "kn", 1852.0 / 3600, 0},
    {SPEED, "knots", "kn", 1852.0 / 3600, 0},
    {SPEED, "ft/s", "ft/s", 0.3048, 0},
    {RATIO, "%", "%", 0.01, 0},
    {RATIO, "percent", "%", 0.01, 0},
    {RATIO, "pct", "%", 0.01, 0},
    {RATIO, "1", "1", 1, 0},
    {RATIO, "0/1", "1", 1, 0},
    {RATIO, "on/off", "1", 1, 0},
    {RATIO, "bool", "1", 1, 0},
    {ACCELERATION, "g", "g", 9.80665, 0},
    {ACCELERATION, "gs", "g", 9.80665, 0},
    {ACCELERATION, "mg", "mg", 9.80665e-3, 0},
    {ACCELERATION, "m/s2", "m/s2", 1, 0},
    {ACCELERATION, "m/s^2", "m/s2", 1, 0},
    {ACCELERATION, "m/s\xc2\xb2", "m/s2", 1, 0},
    {ACCELERATION, "m/s/s", "m/s2", 1, 0},
    {ACCELERATION, "ms2", "m/s2", 1, 0},
    {TEMPERATURE, "C", "C", 1, 273.15},
    {TEMPERATURE,
     "\xc2\xb0"
     "C",
     "C", 1, 273.15},
    {TEMPERATURE, "deg C", "C", 1, 273.15},
    {TEMPERATURE, "F", "F", 5.0 / 9, 459.67 * 5 / 9},
    {TEMPERATURE, "K", "K", 1, 0},
};

/* Of its channel a unit has its factor, in either letter case and by its length alone; of another it is none. */
static void a_unit_belongs_to_the_channels_of_its_kind(void **state)
{
    (void)state;
    enum { UNITS = sizeof units / sizeof units[0] };
    for (size_t i = 0; i < UNITS; i++)
        for (int c = 0; c < CH_DRIVELOG_CHANNELS_; c++) {
            size_t same = UNITS;
            for (size_t k = 0; k < UNITS; k++)
                if (units[k].kind == kind_of[c] && strcmp(units[k].spelling, units[i].spelling) == 0)
                    same = k;
            char shouted[40];
            snprintf(shouted, sizeof shouted, "%s~", units[i].spelling);
            const size_t n = strlen(units[i].spelling);
            for (int big = 0; big <= 1; big++) {
                log_unit unit = {"untouched", 7, 8};
                for (size_t k = 0; k < n && big == 1; k++)
                    if (shouted[k] >= 'a' && shouted[k] <= 'z')
                        shouted[k] = (char)(shouted[k] - 'a' + 'A');
                const bool found = log_unit_find((ch_drivelog_channel)c, shouted, n, &unit);
                if (found != (same < UNITS))
                    fail_msg("\"%s\" for %s", shouted, ch_drivelog_channel_name((ch_drivelog_channel)c));
                assert_string_equal(unit.name, found ? units[same].name : "untouched");
                expect_relative(unit.factor, found ? units[same].factor : 7, 1e-15);
                expect_relative(unit.offset, found ? units[same].offset : 8, 1e-15);
            }
            assert_true(log_unit_known(last_of_a_page(units[i].spelling, n), n));
            assert_false(log_unit_find((ch_drivelog_channel)c, shouted, n + 1, &(log_unit){0}));
        }
    /* of something else */
    assert_true(log_unit_known("bar", 3));
    assert_true(log_unit_known("kPa", 3));
    assert_false(log_unit_known("obd", 3));
    assert_false(log_unit_known("", 0));
    for (int c = 0; c < CH_DRIVELOG_CHANNELS_; c++)
        assert_false(log_unit_find((ch_drivelog_channel)c, "bar", 3, &(log_unit){0}));
}

static void where_nobody_names_a_unit_there_is_a_usual_one(void **state)
{
    (void)state;
    static const char *const usual[] = {"s", "rpm", "km/h", "%", "g", "C"};
    for (int c = 0; c < CH_DRIVELOG_CHANNELS_; c++) {
        const log_unit unit = log_unit_default((ch_drivelog_channel)c);
        log_unit named;
        assert_string_equal(unit.name, usual[kind_of[c]]);
        assert_true(log_unit_find((ch_drivelog_channel)c, unit.name, strlen(unit.name), &named));
        assert_true(unit.factor == named.factor && unit.offset == named.offset);
    }
}

static void a_unit_that_is_none_is_refused_with_the_usual_one(void **state)
{
    (void)state;
    static const char *const usual[] = {"s", "rpm", "km/h", "%", "g", "C"};
    static const char *const names[] = {"time",    "rpm", "speed",  "throttle", "acceleration",
                                        "coolant", "oil", "clutch", "gps",      "driven"};
    for (int c = 0; c < CH_DRIVELOG_CHANNELS_; c++)
        for (int assumed = 0; assumed <= 1; assumed++) {
            ch_drivelog_options options = {0};
            ch_drivelog *log = NULL;
            ch_err err = {0};
            char wanted[80];
            *(assumed ? &options.assumed_unit[c] : &options.unit[c]) = "furlongs";
            assert_int_equal(ch_drivelog_open(&options, NULL, NULL, &log, &err), CH_E_INPUT);
            assert_null(log);
            snprintf(wanted, sizeof wanted, "\"furlongs\" is no unit for %s", names[c]);
            assert_string_equal(err.what, wanted);
            assert_string_equal(err.right, usual[kind_of[c]]);
        }
}

/* ---- columns to channels ---- */

static ch_drivelog *reader;
static log_record *header, *units_row;

static int make_reader(void **state)
{
    (void)state;
    reader = calloc(1, sizeof *reader);
    header = calloc(1, sizeof *header);
    units_row = calloc(1, sizeof *units_row);
    return reader == NULL || header == NULL || units_row == NULL;
}

static int free_reader(void **state)
{
    (void)state;
    for (int c = 0; c < CH_DRIVELOG_CHANNELS_; c++) { /* given by hand: texts of these tests */
        reader->hand[c] = NULL;
        reader->hand_unit[c] = reader->hand_assumed[c] = NULL;
    }
    free(reader);
    free(header);
    free(units_row);
    return 0;
}

static void split(const char *text, log_record *record)
{
    assert_true(log_record_split(text, strlen(text), true, ',', '\n', record));
}

/* The map of a header and a units row (NULL: none). */
static log_map mapped(const char *names, const char *units_text)
{
    log_map map;
    memset(&map, 0x55, sizeof map);
    split(names, header);
    if (units_text != NULL)
        split(units_text, units_row);
    log_map_make(reader, header, units_text != NULL ? units_row : NULL, &map);
    return map;
}

static void by_hand(ch_drivelog_channel channel, const char *column, const char *unit, const char *assumed)
{
    static char room[CH_DRIVELOG_CHANNELS_][3][300];
    const char *const given[] = {column, unit, assumed};
    char **const kept[] = {&reader->hand[channel], &reader->hand_unit[channel], &reader->hand_assumed[channel]};
    for (int i = 0; i < 3; i++) {
        *kept[i] = given[i] != NULL ? room[channel][i] : NULL;
        if (given[i] != NULL)
            snprintf(room[channel][i], sizeof room[channel][i], "%s", given[i]);
    }
}

static void columns_are_found_counted_and_ranked(void **state)
{
    (void)state;
    log_map map = mapped("note,time (s),rpm,speed (km/h),TPS", NULL);
    assert_int_equal(map.columns, 5);
    assert_int_equal(map.needed_found, 3);
    assert_int_equal(map.any_found, 4);
    for (int c = 0; c < CH_DRIVELOG_CHANNELS_; c++) {
        const bool there = c <= CH_DRIVELOG_THROTTLE;
        assert_int_equal(map.found[c], there);
        assert_int_equal(map.index[c], there ? c + 1 : 5);
        assert_int_equal(map.how[c], there ? CH_DRIVELOG_BY_WORDS : CH_DRIVELOG_NONE);
        assert_int_equal(map.rivals[c], 0);
        assert_false(map.contradicted[c]);
        assert_int_equal(map.declared[c], there && c != CH_DRIVELOG_THROTTLE);
    }
    assert_string_equal(map.unit[CH_DRIVELOG_THROTTLE].name, "%");
    assert_string_equal(map.unit[CH_DRIVELOG_ROAD].name, "km/h");
    /* two of the three, and others: the third of the needed is road speed, the fourth channel is not needed */
    map = mapped("time,rpm,throttle,coolant,oil", NULL);
    assert_int_equal(map.needed_found, 2);
    assert_int_equal(map.any_found, 5);
    map = mapped("alpha,beta", NULL);
    assert_int_equal(map.needed_found + map.any_found, 0);
    assert_int_equal(map.columns, 2);
}

static void separators_behind_the_last_name_make_no_columns(void **state)
{
    (void)state;
    assert_int_equal(mapped("time,rpm,speed", NULL).columns, 3);
    assert_int_equal(mapped("time,rpm,speed,", NULL).columns, 3);
    assert_int_equal(mapped("time,rpm,speed,,,", NULL).columns, 3);
    assert_int_equal(mapped(",rpm,,speed,", NULL).columns, 4);
    assert_int_equal(mapped(",,", NULL).columns, 1);
}

/* Of those that fit alike the first, and how many others there were; a better one leaves the rivals of a worse behind. */
static void rivals_are_those_that_fit_as_well_as_the_best(void **state)
{
    (void)state;
    static const struct {
        const char *names;
        size_t index, rivals;
    } cases[] = {{"speed,velocity,vss", 0, 2},
                 {"speed,velocity,vehicle speed", 2, 0},
                 {"vehicle speed,speed,velocity", 0, 0},
                 {"speed,vehicle speed,car speed,velocity", 1, 1},
                 {"speed,speed,vehicle speed,road speed,vehicle speed", 2, 2}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const log_map map = mapped(cases[i].names, NULL);
        assert_int_equal(map.index[CH_DRIVELOG_ROAD], cases[i].index);
        assert_int_equal(map.rivals[CH_DRIVELOG_ROAD], cases[i].rivals);
    }
}

/* A unit in the units row is worth what one in the header is, 20; one of another kind rules the column out. */
static void the_units_row_votes(void **state)
{
    (void)state;
    static const struct {
        const char *names, *units;
        size_t index; /* 3: none */
        size_t rivals;
    } cases[] = {
        {"speed (km/h),speed,x", ",km/h,", 0, 1},  /* as good as each other: the first */
        {"vehicle speed,speed,x", ",km/h,", 1, 0}, /* 108 against 104 and 20 */
        {"speed,speed,x", ",(mph),", 1, 0},        /* in brackets of any kind */
        {"speed,speed,x", ",[mph],", 1, 0},
        {"speed,speed,x", ",{mph},", 1, 0},
        {"speed,speed,x", ",foo,", 0, 1}, /* no unit of anything: no vote */
        {"speed,speed,x", ",,", 0, 1},
        {"speed,speed,x", "rpm,,", 1, 0}, /* not of speed */
        {"speed,speed,x", "rpm,bar,", 3, 0},
        {"speed,speed,x", "rpm", 1, 0}, /* a units row with fewer cells */
        {"speed trap alpha,x,y", "mph,,", 0, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const log_map map = mapped(cases[i].names, cases[i].units);
        if (map.index[CH_DRIVELOG_ROAD] != cases[i].index || map.rivals[CH_DRIVELOG_ROAD] != cases[i].rivals ||
            map.found[CH_DRIVELOG_ROAD] != (cases[i].index < 3))
            fail_msg("%s / %s: column %zu, %zu rivals", cases[i].names, cases[i].units, map.index[CH_DRIVELOG_ROAD],
                     map.rivals[CH_DRIVELOG_ROAD]);
    }
}

/* The caller's word, the units row's, the header's, the caller's assumption, the usual one: in this order. */
static void a_unit_is_chosen_by_who_knows_best(void **state)
{
    (void)state;
    static const struct {
        const char *name, *row, *hand, *assumed, *unit;
        bool declared, contradicted;
    } cases[] = {
        {"speed", NULL, NULL, NULL, "km/h", false, false},
        {"speed", NULL, NULL, "mph", "mph", false, false},
        {"speed (m/s)", NULL, NULL, "mph", "m/s", true, false},
        {"speed", "kn", NULL, "mph", "kn", true, false},
        {"speed", "(kn)", NULL, "mph", "kn", true, false},
        {"speed", "[kn]", NULL, NULL, "kn", true, false},
        {"speed", "{kn}", NULL, NULL, "kn", true, false},
        {"speed", "(", NULL, NULL, "km/h", false, false},
        {"speed", "()", NULL, NULL, "km/h", false, false},
        {"speed", "foo", NULL, NULL, "km/h", false, false},
        {"speed (m/s)", "foo", NULL, NULL, "m/s", true, false},
        {"speed (m/s)", "", NULL, NULL, "m/s", true, false},
        {"speed (m/s)", "kn", NULL, NULL, "kn", true, true},
        {"speed (m/s)", "mps", NULL, NULL, "m/s", true, false}, /* another spelling of the same */
        {"speed (foo)", "kn", NULL, NULL, "kn", true, false},
        {"speed (m/s)", "kn", "ft/s", "mph", "ft/s", true, false},
        {"speed", NULL, "ft/s", "mph", "ft/s", true, false},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char names[100], row[100];
        snprintf(names, sizeof names, "x,%s", cases[i].name);
        snprintf(row, sizeof row, "x,%s", cases[i].row != NULL ? cases[i].row : "");
        by_hand(CH_DRIVELOG_ROAD, NULL, cases[i].hand, cases[i].assumed);
        const log_map map = mapped(names, cases[i].row != NULL ? row : NULL);
        if (!map.found[CH_DRIVELOG_ROAD] || strcmp(map.unit[CH_DRIVELOG_ROAD].name, cases[i].unit) != 0 ||
            map.declared[CH_DRIVELOG_ROAD] != cases[i].declared ||
            map.contradicted[CH_DRIVELOG_ROAD] != cases[i].contradicted)
            fail_msg("case %zu (%s): %s, %d, %d", i, names, map.unit[CH_DRIVELOG_ROAD].name,
                     map.declared[CH_DRIVELOG_ROAD], map.contradicted[CH_DRIVELOG_ROAD]);
    }
    by_hand(CH_DRIVELOG_ROAD, NULL, NULL, NULL);
    /* degrees of a temperature differ by more than a factor */
    assert_true(mapped("coolant (C),x", "K,x").contradicted[CH_DRIVELOG_COOLANT]);
    assert_true(mapped("coolant (C),x", "F,x").contradicted[CH_DRIVELOG_COOLANT]);
    assert_false(mapped("coolant (C),x", "deg C,x").contradicted[CH_DRIVELOG_COOLANT]);
}

static void a_column_by_hand_is_a_name_or_a_number(void **state)
{
    (void)state;
    static const struct {
        const char *names, *hand;
        size_t index; /* as many as columns: none */
    } cases[] = {
        {"a,b,c", "b", 1},
        {"a,b,c", "B", 1},
        {"a,b,c", "  b ", 1},
        {"a,\"b\",c", "b", 1},
        {"a, b ,c", "b", 1},
        {"a,b,b", "b", 1},
        {"a,b,c", "1", 0},
        {"a,b,c", "3", 2},
        {"a,b,c", "4", 3},
        {"a,b,c", "0", 3},
        {"a,b,c", "002", 1},
        {"a,b,c", "-1", 3},
        {"a,b,c", "1x", 3},
        {"a,b,c", "x", 3},
        {"a,b,c", "", 3},
        {"a,3,c", "3", 1},                    /* a name goes before a number */
        {"a,b,c", "18446744073709551617", 3}, /* 2^64 + 1 */
        {"a,b,c", "1.0", 3},
        {"a,b,c", "ab", 3},
        {"ab,b,c", "a", 3},
        {"a,b,c", "/", 3},
        {"a,b,c", ":", 3},
        {"a,b,c", "1:", 3},
        {"a,b,c", "1/", 3},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        by_hand(CH_DRIVELOG_THROTTLE, cases[i].hand, NULL, NULL);
        const log_map map = mapped(cases[i].names, NULL);
        if (map.index[CH_DRIVELOG_THROTTLE] != cases[i].index ||
            map.found[CH_DRIVELOG_THROTTLE] != (cases[i].index < 3) ||
            map.how[CH_DRIVELOG_THROTTLE] != CH_DRIVELOG_BY_HAND)
            fail_msg("\"%s\" of %s is %zu", cases[i].hand, cases[i].names, map.index[CH_DRIVELOG_THROTTLE]);
        assert_int_equal(map.any_found, cases[i].index < 3);
    }
    /* the last of 1024 columns, and one beyond */
    static char many[CH_DRIVELOG_COLUMNS_MAX * 2 + 1];
    for (size_t i = 0; i < CH_DRIVELOG_COLUMNS_MAX; i++)
        memcpy(many + 2 * i, "x,", 3);
    many[2 * CH_DRIVELOG_COLUMNS_MAX - 1] = '\0';
    by_hand(CH_DRIVELOG_THROTTLE, "1024", NULL, NULL);
    assert_int_equal(mapped(many, NULL).index[CH_DRIVELOG_THROTTLE], 1023);
    by_hand(CH_DRIVELOG_THROTTLE, "1025", NULL, NULL);
    assert_false(mapped(many, NULL).found[CH_DRIVELOG_THROTTLE]);
    by_hand(CH_DRIVELOG_THROTTLE, NULL, NULL, NULL);
}

/* What is chosen by hand is nobody else's, and the channel looks no further, even where there is no such column. */
static void a_column_chosen_by_hand_is_taken(void **state)
{
    (void)state;
    by_hand(CH_DRIVELOG_THROTTLE, "rpm", NULL, NULL);
    log_map map = mapped("time,rpm,speed,tps", NULL);
    assert_int_equal(map.index[CH_DRIVELOG_THROTTLE], 1);
    assert_false(map.found[CH_DRIVELOG_ENGINE]);
    assert_int_equal(map.needed_found, 2);
    assert_int_equal(map.any_found, 3);
    by_hand(CH_DRIVELOG_THROTTLE, "boost", NULL, NULL);
    map = mapped("time,rpm,speed,tps", NULL);
    assert_false(map.found[CH_DRIVELOG_THROTTLE]);
    assert_int_equal(map.any_found, 3);
    by_hand(CH_DRIVELOG_THROTTLE, NULL, NULL, NULL);
}

static void the_satellite_stands_in_for_a_missing_road_speed(void **state)
{
    (void)state;
    log_map map = mapped("time,gps speed (mph),rpm", NULL);
    assert_int_equal(map.how[CH_DRIVELOG_ROAD], CH_DRIVELOG_STAND_IN);
    assert_int_equal(map.index[CH_DRIVELOG_ROAD], 1);
    assert_int_equal(map.index[CH_DRIVELOG_GPS], 1);
    assert_string_equal(map.unit[CH_DRIVELOG_ROAD].name, "mph");
    assert_int_equal(map.needed_found, 3);
    assert_int_equal(map.any_found, 4);
    map = mapped("time,gps speed (mph),rpm,speed", NULL);
    assert_int_equal(map.how[CH_DRIVELOG_ROAD], CH_DRIVELOG_BY_WORDS);
    assert_int_equal(map.index[CH_DRIVELOG_ROAD], 3);
    by_hand(CH_DRIVELOG_ROAD, "wheels", NULL, NULL); /* who names one wants that */
    map = mapped("time,gps speed (mph),rpm", NULL);
    assert_false(map.found[CH_DRIVELOG_ROAD]);
    by_hand(CH_DRIVELOG_ROAD, NULL, NULL, NULL);
}

static void a_units_row_names_a_unit_and_no_number(void **state)
{
    (void)state;
    static const struct {
        const char *row;
        char decimal;
        bool is;
    } rows[] = {
        {"s,rpm,km/h", '.', true}, {"s,,", '.', true},      {",,km/h", '.', true},    {"(s),[rpm],{km/h}", '.', true},
        {"foo,bar", '.', true},    {"foo,baz", '.', false}, {",,", '.', false},       {"", '.', false},
        {"s,3", '.', false},       {"3,s", '.', false},     {"s,1", '.', false},      {"1", '.', false},
        {"1000 rpm,s", '.', true}, {"0/1,s", '.', true},    {"s,3.5", '.', false},    {"s,12:03:04", '.', false},
        {"s,on", '.', false},      {"s,nan", '.', true},    {"s,5 km/h", '.', false}, {"s,x", '.', true},
        {"s,\"rpm\"", '.', true},  {"s,3;5", '.', false},   {"s , rpm ", '.', true},  {"foo,s,2", '.', false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        split(rows[i].row, units_row);
        if (log_map_units_row(units_row, rows[i].decimal) != rows[i].is)
            fail_msg("\"%s\"", rows[i].row);
    }
    assert_true(log_record_split("s;,5", 4, true, ';', '\n', units_row));
    assert_false(log_map_units_row(units_row, ','));
    assert_true(log_map_units_row(units_row, '.')); /* with a point for a mark it is no number */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_header_falls_into_words_and_a_unit),
        cmocka_unit_test(long_headers_are_cut),
        cmocka_unit_test(a_fit_is_weighed_by_words_and_unit),
        cmocka_unit_test(a_unit_belongs_to_the_channels_of_its_kind),
        cmocka_unit_test(where_nobody_names_a_unit_there_is_a_usual_one),
        cmocka_unit_test(a_unit_that_is_none_is_refused_with_the_usual_one),
        cmocka_unit_test(columns_are_found_counted_and_ranked),
        cmocka_unit_test(separators_behind_the_last_name_make_no_columns),
        cmocka_unit_test(rivals_are_those_that_fit_as_well_as_the_best),
        cmocka_unit_test(the_units_row_votes),
        cmocka_unit_test(a_unit_is_chosen_by_who_knows_best),
        cmocka_unit_test(a_column_by_hand_is_a_name_or_a_number),
        cmocka_unit_test(a_column_chosen_by_hand_is_taken),
        cmocka_unit_test(the_satellite_stands_in_for_a_missing_road_speed),
        cmocka_unit_test(a_units_row_names_a_unit_and_no_number),
    };
    return cmocka_run_group_tests(tests, make_reader, free_reader);
}
