/* Promises of the parts of the log reader: the scan, rows by RFC 4180, and single cells. */
#include <jansson.h>
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drivelog_parts.h"
#include "drivelog_read.h"
#include "drivelog_scan.h"
#include "expect.h"

/* A small generator, the same on every machine (xorshift64, G. Marsaglia, J. Stat. Soft. 8(14), 2003). */
static uint64_t next(uint64_t *seed)
{
    *seed ^= *seed << 13;
    *seed ^= *seed >> 7;
    *seed ^= *seed << 17;
    return *seed;
}

static void the_scan_gives_the_same_by_wide_and_by_plain_registers(void **state)
{
    (void)state;
    static const char letters[] = ",,\n\n\"\";1.5-\r\x2d\xac\x80\x7f\xff\x01";
    uint64_t seed = 88172645463325252u;
    for (int round = 0; round < 20000; round++) {
        char block[64];
        log_scan_mask wide, plain, slow = {0, 0, 0};
        for (size_t i = 0; i < sizeof block; i++)
            block[i] = round % 2 == 0 ? letters[next(&seed) % sizeof letters] : (char)next(&seed);
        for (unsigned i = 0; i < sizeof block; i++) {
            slow.separators |= (uint64_t)(block[i] == ',') << i;
            slow.ends |= (uint64_t)(block[i] == '\n') << i;
            slow.quotes |= (uint64_t)(block[i] == '"') << i;
        }
        log_scan_masks(block, ',', '\n', &wide);
        log_scan_masks_plain(block, ',', '\n', &plain);
        assert_memory_equal(&wide, &slow, sizeof slow);
        assert_memory_equal(&plain, &slow, sizeof slow);
    }
}

static void the_scan_names_every_separator_and_row_end(void **state)
{
    (void)state;
    log_index *const index = malloc(sizeof *index);
    assert_non_null(index);
    uint64_t seed = 7;
    for (size_t n = 0; n < 300; n++) {
        char text[300];
        size_t places = 0, ends = 0, quote = n;
        for (size_t i = 0; i < n; i++)
            text[i] = "a1,,\n\""[next(&seed) % (n % 2 == 0 ? 6 : 5)];
        log_scan(last_of_a_page(text, n), n, ',', '\n', index);
        for (size_t i = 0; i < n; i++) {
            if (text[i] == '"' && quote == n)
                quote = i;
            if (text[i] == '\n')
                assert_int_equal(index->row_end[ends++], places);
            if (text[i] == ',' || text[i] == '\n')
                assert_int_equal(index->place[places++], i);
        }
        assert_int_equal(index->ends, ends);
        assert_int_equal(index->quote, quote);
    }
    free(index);
}

static void numbers_are_rounded_correctly_in_any_locale(void **state)
{
    (void)state;
    uint64_t seed = 4242;
    /* strtod of the C library is the oracle, in the C locale; our side then runs under a decimal comma where there is one */
    for (int round = 0; round < 20000; round++) {
        char text[64];
        const int digits = (int)(next(&seed) % 19) + 1, decimals = (int)(next(&seed) % 12);
        const double random =
            ((double)(next(&seed) >> 11) / 9007199254740992.0 - 0.5) * pow(10, (double)(next(&seed) % 12));
        if (round % 3 == 0)
            snprintf(text, sizeof text, "%.*g", digits, random);
        else
            snprintf(text, sizeof text, "%.*f", decimals, random);
        const double wanted = strtod(text, NULL);
        double got = NAN;
        setlocale(LC_NUMERIC, "de_DE.UTF-8");
        assert_true(log_number(text, text + strlen(text), '.', &got));
        char *const point = strchr(text, '.');
        if (point != NULL)
            *point = ',';
        double again = NAN;
        assert_true(log_number(text, text + strlen(text), ',', &again));
        setlocale(LC_NUMERIC, "C");
        assert_memory_equal(&got, &wanted, sizeof wanted);
        assert_memory_equal(&again, &wanted, sizeof wanted);
    }
    static const char *const refused[] = {"",
                                          "-",
                                          ".",
                                          "1.2.3",
                                          "1,5",
                                          "1e",
                                          "1e+",
                                          "12a",
                                          "0x10",
                                          "1 2",
                                          "1e999",
                                          "--1",
                                          "nan",
                                          "inf",
                                          " ",
                                          "   ",
                                          "+",
                                          " -",
                                          "-e5",
                                          "e5",
                                          "5:",
                                          "5/",
                                          ":",
                                          "/",
                                          "1:5",
                                          "1/5",
                                          "1.5:",
                                          "1.5/",
                                          "1e5:",
                                          "1e5/",
                                          "123456789012345678901:",
                                          "5 "};
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        double value = 7;
        const char *const at = last_of_a_page(refused[i], strlen(refused[i]));
        assert_false(log_number(at, at + strlen(refused[i]), '.', &value));
        expect_close(value, 7, 0);
    }
}

static void cells_with_words_and_units_are_understood(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        log_cell_kind kind;
        double value;
        const char *unit;
    } cells[] = {
        {"\" 12.5 \"", LOG_CELL_NUMBER, 12.5, ""},
        {"88 km/h", LOG_CELL_NUMBER, 88, "km/h"},
        {"-3.5%", LOG_CELL_NUMBER, -3.5, "%"},
        {"\xe2\x88\x92"
         "4",
         LOG_CELL_NUMBER, -4, ""},
        {"ON", LOG_CELL_NUMBER, 1, ""},
        {"false", LOG_CELL_NUMBER, 0, ""},
        {"", LOG_CELL_MISSING, 0, ""},
        {"  ", LOG_CELL_MISSING, 0, ""},
        {"NaN", LOG_CELL_MISSING, 0, ""},
        {"-inf", LOG_CELL_MISSING, 0, ""},
        {"N/A", LOG_CELL_MISSING, 0, ""},
        {"--", LOG_CELL_MISSING, 0, ""},
        {"error", LOG_CELL_TEXT, 0, ""},
        {"+-", LOG_CELL_TEXT, 0, ""},
    };
    for (size_t i = 0; i < sizeof cells / sizeof cells[0]; i++) {
        double value = 0;
        log_slice unit;
        const log_slice cell = {cells[i].text, strlen(cells[i].text)};
        assert_int_equal(log_cell_read(cell, '.', &value, &unit), cells[i].kind);
        if (cells[i].kind != LOG_CELL_NUMBER)
            continue;
        expect_close(value, cells[i].value, 0);
        assert_int_equal(unit.length, strlen(cells[i].unit));
        assert_memory_equal(unit.at, cells[i].unit, unit.length);
    }
}

static void stamps_that_are_none_are_refused(void **state)
{
    (void)state;
    static const char *const refused[] = {
        "",           "12",  "12.5",     "12:", ":12", "12:61:00", "1:2:3:4:5", "2027-13-01 00:00:00",
        "2027-01-16", "a:b", "12:03:04x"};
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        double seconds;
        bool dated;
        assert_false(log_stamp_read((log_slice){refused[i], strlen(refused[i])}, &seconds, &dated));
    }
}

/* The unquoted text of a cell, byte for byte. */
static void unquote(log_slice cell, char *text)
{
    size_t used = 0;
    const bool quoted = cell.length >= 2 && cell.at[0] == '"';
    for (size_t i = quoted ? 1 : 0; i < cell.length - (quoted ? 1 : 0); i++) {
        text[used++] = cell.at[i];
        i += quoted && cell.at[i] == '"';
    }
    text[used] = '\0';
}

static void rows_are_split_as_the_csv_collection_says(void **state)
{
    (void)state;
    /* csv-spectrum, tests/data/csv/SOURCE.md: each CSV beside its meaning in JSON. location_coordinates is about another thing: its JSON does
       not hold what its CSV does. */
    static const char *const names[] = {"comma_in_quotes", "empty",  "empty_crlf", "json",
                                        "newlines",        "simple", "simple_crlf"};
    log_record *const rows = malloc(2 * sizeof *rows);
    assert_non_null(rows);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char path[256];
        size_t length, json_length, at = 0, row = 0;
        snprintf(path, sizeof path, "tests/data/csv/%s.csv", names[i]);
        char *const text = read_log_file(path, &length);
        snprintf(path, sizeof path, "tests/data/csv/%s.json", names[i]);
        char *const json = read_log_file(path, &json_length);
        json_t *const wanted = json_loadb(json, json_length, 0, NULL);
        assert_true(log_record_split(text, length, true, ',', '\n', &rows[0]));
        for (at = rows[0].bytes; at < length; at += rows[1].bytes, row++) {
            assert_true(log_record_split(text + at, length - at, true, ',', '\n', &rows[1]));
            assert_int_equal(rows[1].n, rows[0].n);
            for (size_t c = 0; c < rows[0].n; c++) {
                char key[256], value[256];
                unquote(rows[0].cells[c], key);
                unquote(rows[1].cells[c], value);
                assert_string_equal(value, json_string_value(json_object_get(json_array_get(wanted, row), key)));
            }
        }
        assert_int_equal(row, json_array_size(wanted));
        json_decref(wanted);
        free(json);
        free(text);
    }
    free(rows);
}

static void rows_are_split_as_rfc_4180_shows(void **state)
{
    (void)state;
    /* RFC 4180 (Y. Shafranovich, 2005), section 2; what is expected stands in tests/data/csv/SOURCE.md */
    size_t length, rows = 0;
    char *const text = read_log_file("tests/data/csv/rfc4180_examples.csv", &length);
    log_record *const record = malloc(sizeof *record);
    assert_non_null(record);
    for (size_t at = 0; at < length; at += record->bytes, rows++) {
        assert_true(log_record_split(text + at, length - at, true, ',', '\n', record));
        assert_int_equal(record->n, 3);
        char cell[64];
        unquote(record->cells[1], cell);
        if (rows == 3)
            assert_string_equal(cell, "b\"bb");
        if (rows == 4)
            assert_string_equal(cell, "b\r\nbb");
    }
    assert_int_equal(rows, 5);
    /* no row is given out before its end is there */
    for (size_t n = 0; n < length; n++) {
        size_t at = 0;
        while (log_record_split(text + at, n - at, false, ',', '\n', record))
            at += record->bytes;
        assert_true(at == 0 || text[at - 1] == '\n');
    }
    free(record);
    free(text);
}

/* ---- numbers of any length, and what stands behind the end of a cell ---- */

/* strtod of the C library is the oracle; what stands behind the number counts for nothing. */
static void expect_number(const char *number, char decimal)
{
    static const char *const behind[] = {"", "7", ".5", ",5", "e3", "e", "x", "\""};
    char plain[600];
    snprintf(plain, sizeof plain, "%s", number);
    for (char *c = plain; *c != '\0'; c++)
        *c = *c == decimal ? '.' : *c;
    const double wanted = strtod(plain, NULL);
    for (size_t i = 0; i < sizeof behind / sizeof behind[0]; i++) {
        char text[600];
        double got = 7;
        snprintf(text, sizeof text, "%s%s", number, behind[i]);
        const char *const at = i == 0 ? last_of_a_page(text, strlen(number)) : text;
        const bool is = log_number(at, at + strlen(number), decimal, &got);
        const double expected = is ? wanted : 7;
        if (is != (bool)isfinite(wanted) || got != expected || signbit(got) != signbit(expected))
            fail_msg("%s before %s: %.17g, not %.17g", number, behind[i], got, wanted);
    }
}

static void numbers_of_any_length_are_rounded_correctly(void **state)
{
    (void)state;
    uint64_t seed = 99;
    for (int round = 0; round < 2500; round++) {
        char text[600];
        size_t used = 0;
        const int kind = (int)(next(&seed) % 4);
        const size_t digits = kind == 0 ? 15 + next(&seed) % 6 : 1 + next(&seed) % 140;
        const size_t zeros = kind == 1 ? next(&seed) % 130 : kind == 2 ? next(&seed) % 3 : 0;
        size_t point = next(&seed) % (digits + zeros + 2);
        const char decimal = next(&seed) % 2 == 0 ? '.' : ',';
        if (next(&seed) % 3 == 0)
            text[used++] = "-+"[next(&seed) % 2];
        for (size_t i = 0; i < zeros + digits; i++) {
            if (i == point)
                text[used++] = decimal;
            text[used++] = i < zeros ? '0' : (char)('0' + next(&seed) % 10);
        }
        if (point == zeros + digits)
            text[used++] = decimal;
        text[used] = '\0';
        if (next(&seed) % 3 == 0)
            sprintf(
                text + used, "%c%s%d", "eE" [next(&seed) % 2], (const char *[]) { "", "+", "-" }[next(&seed) % 3],
                (int)(next(&seed) % (kind == 3 ? 20 : 420)));
        expect_number(text, decimal);
    }
    /* between two doubles: 2^53 + 1 is exactly in the middle, and a hundredth digit decides (IEEE 754, round half to even) */
    static const char *const middles[] = {"9007199254740991",
                                          "9007199254740992",
                                          "9007199254740993",
                                          "9007199254740994",
                                          "900719925474099.3",
                                          "0.9007199254740993",
                                          "18014398509481982",
                                          "18014398509481.983",
                                          "1.7976931348623157e308",
                                          "1e-400",
                                          "1e-99999999999999999999",
                                          "0e99999999999999999999",
                                          "1e00000000000000000000000000000000000000003",
                                          "4.9e-324",
                                          "123456789012345678",
                                          "1234567890123456789",
                                          "99999999999999999999",
                                          "18446744073709551617",
                                          ".5",
                                          "5.",
                                          "-0",
                                          "-.5"};
    for (size_t i = 0; i < sizeof middles / sizeof middles[0]; i++)
        expect_number(middles[i], '.');
    /* 17 and 18 digits divided by a power of ten would be rounded twice */
    for (int round = 0; round < 4000; round++) {
        char text[64];
        const uint64_t many = (UINT64_C(1) << 53) + next(&seed) % (UINT64_C(1) << 55);
        const int behind = 1 + (int)(next(&seed) % 16);
        const uint64_t tens[] = {1, 10, 100, 1000, 10000, 100000, 1000000, 10000000, 100000000, 1000000000};
        const uint64_t by = behind < 10 ? tens[behind] : tens[9] * tens[behind - 9];
        sprintf(text, "%llu.%0*llu", (unsigned long long)(many / by), behind, (unsigned long long)(many % by));
        expect_number(text, '.');
    }
}

/* ---- cells put together from their parts ---- */

/* A cell before any byte that is not its own; the value stays where there is none. */
static log_cell_kind read_cell(const char *text, char decimal, double *value, char unit_text[static 64])
{
    static const char *const behind[] = {"", "7", "\"", " ", ".5", "km/h", "-", "\xe2\x88\x92"};
    log_cell_kind kind = LOG_CELL_TEXT;
    for (size_t i = 0; i < sizeof behind / sizeof behind[0]; i++) {
        char row[300], found[64];
        double got = 7;
        log_slice unit;
        snprintf(row, sizeof row, "%s%s", text, behind[i]);
        const char *const at = i == 0 ? last_of_a_page(text, strlen(text)) : row;
        const log_cell_kind one = log_cell_read((log_slice){at, strlen(text)}, decimal, &got, &unit);
        assert_true(unit.at >= at && unit.at + unit.length <= at + strlen(text));
        snprintf(found, sizeof found, "%.*s", (int)unit.length, unit.at);
        if (i == 0) {
            kind = one;
            *value = got;
            strcpy(unit_text, found);
        } else if (one != kind || (one == LOG_CELL_NUMBER && (got != *value || strcmp(found, unit_text) != 0))) {
            fail_msg("\"%s\" before \"%s\": kind %d, %.9g", text, behind[i], (int)one, got);
        }
    }
    return kind;
}

static void expect_cell(const char *text, log_cell_kind kind, double value, const char *unit)
{
    double got = 7;
    char got_unit[64];
    const log_cell_kind got_kind = read_cell(text, '.', &got, got_unit);
    if (got_kind != kind || (kind == LOG_CELL_NUMBER && (got != value || strcmp(got_unit, unit) != 0)))
        fail_msg("\"%s\" is of kind %d, %.17g, unit \"%s\"", text, (int)got_kind, got, got_unit);
}

/* Spaces, tabs and carriage returns around a cell, inside its quotes too, are none of it. */
static void spaces_and_quotes_around_a_cell_are_none_of_it(void **state)
{
    (void)state;
    static const struct {
        const char *core;
        log_cell_kind kind;
        double value;
        const char *unit;
    } cores[] = {
        {"12.5", LOG_CELL_NUMBER, 12.5, ""}, {"-3 km/h", LOG_CELL_NUMBER, -3, "km/h"},
        {"7%", LOG_CELL_NUMBER, 7, "%"},     {"on", LOG_CELL_NUMBER, 1, ""},
        {"No", LOG_CELL_NUMBER, 0, ""},      {"nan", LOG_CELL_MISSING, 0, ""},
        {"", LOG_CELL_MISSING, 0, ""},       {"high", LOG_CELL_TEXT, 0, ""},
        {"+4.5", LOG_CELL_NUMBER, 4.5, ""},  {"1e3", LOG_CELL_NUMBER, 1000, ""},
        {"5\t V", LOG_CELL_NUMBER, 5, "V"},  {"5 rpm x1000", LOG_CELL_NUMBER, 5, "rpm x1000"},
    };
    static const char *const spaces[] = {"", " ", "\t", "\r", " \t", "   "};
    for (size_t i = 0; i < sizeof cores / sizeof cores[0]; i++)
        for (int form = 0; form < 6 * 6 * 2; form++) {
            char text[200];
            const char *const outer = spaces[form % 6], *const inner = spaces[form / 6 % 6];
            if (form < 36)
                snprintf(text, sizeof text, "%s%s%s", outer, cores[i].core, inner);
            else
                snprintf(text, sizeof text, "%s\"%s%s%s\"%s", inner, outer, cores[i].core, inner, outer);
            expect_cell(text, cores[i].kind, cores[i].value, cores[i].unit);
        }
    expect_cell("\"", LOG_CELL_TEXT, 0, ""); /* one quote is no pair */
    expect_cell("\"5", LOG_CELL_TEXT, 0, "");
    expect_cell("5\"", LOG_CELL_NUMBER, 5, "\""); /* inches */
    expect_cell("\"\"\"\"", LOG_CELL_TEXT, 0, "");
}

static void words_in_cells_are_nothing_yes_or_no(void **state)
{
    (void)state;
    static const char *const nothing[] = {"nan",  "null", "none",     "na",   "n/a",     "#n/a",  "inf",
                                          "+inf", "-inf", "infinity", "-",    "--",      "---",   "?",
                                          "nil",  ".",    "*",        "-nan", "1.#qnan", "1.#inf"};
    static const char *const yes[] = {"on", "true", "yes", "ja", "oui", "si", "pressed", "closed"};
    static const char *const no[] = {"off", "false", "no", "nein", "non", "released", "open"};
    const struct {
        const char *const *words;
        size_t n;
        log_cell_kind kind;
        double value;
    } lists[] = {{nothing, sizeof nothing / sizeof nothing[0], LOG_CELL_MISSING, 0},
                 {yes, sizeof yes / sizeof yes[0], LOG_CELL_NUMBER, 1},
                 {no, sizeof no / sizeof no[0], LOG_CELL_NUMBER, 0}};
    for (size_t l = 0; l < 3; l++)
        for (size_t i = 0; i < lists[l].n; i++) {
            char text[40];
            expect_cell(lists[l].words[i], lists[l].kind, lists[l].value, "");
            snprintf(text, sizeof text, "%s", lists[l].words[i]);
            for (char *c = text; *c != '\0'; c++)
                *c = *c >= 'a' && *c <= 'z' ? (char)(*c - 'a' + 'A') : *c;
            expect_cell(text, lists[l].kind, lists[l].value, "");
            /* with a letter more it is another word, and text */
            snprintf(text, sizeof text, "q%s", lists[l].words[i]);
            expect_cell(text, LOG_CELL_TEXT, 0, "");
        }
    expect_cell("onx", LOG_CELL_TEXT, 0, "");
    expect_cell("o", LOG_CELL_TEXT, 0, "");
    expect_cell("nul", LOG_CELL_TEXT, 0, "");
    expect_cell("----", LOG_CELL_TEXT, 0, "");
}

static void a_number_before_a_unit_has_at_most_47_characters(void **state)
{
    (void)state;
    for (size_t n = 44; n <= 52; n++) {
        char text[100];
        memset(text, '0', n);
        text[n - 1] = '5';
        snprintf(text + n, sizeof text - n, " km/h");
        expect_cell(text, n <= 47 ? LOG_CELL_NUMBER : LOG_CELL_TEXT, 5, "km/h");
        text[n] = '\0'; /* without one it may be longer */
        expect_cell(text, LOG_CELL_NUMBER, 5, "");
    }
    /* U+2212 for a minus */
    expect_cell("\xe2\x88\x92", LOG_CELL_TEXT, 0, "");
    expect_cell("\xe2\x88\x92"
                "2",
                LOG_CELL_NUMBER, -2, "");
    expect_cell("\xe2\x88\x92"
                "2.5 g",
                LOG_CELL_NUMBER, -2.5, "g");
    expect_cell("\xe2\x88\x91"
                "2",
                LOG_CELL_TEXT, 0, "");
    expect_cell("\xe2\x88", LOG_CELL_TEXT, 0, "");
    expect_cell("1-2", LOG_CELL_TEXT, 0, "");
    expect_cell("1.2.3", LOG_CELL_TEXT, 0, "");
    expect_cell("km/h 5", LOG_CELL_TEXT, 0, "");
    expect_cell("+", LOG_CELL_TEXT, 0, "");
}

/* ---- rows, against a machine that takes one character at a time ---- */

typedef struct split_row {
    bool whole, quoted, open, too_many;
    size_t n, bytes, lines, begin[16], length[16];
} split_row;

static split_row split_plainly(const char *text, size_t length, bool last, char newline)
{
    enum { AHEAD, PLAIN, INSIDE, AFTER_QUOTE } at = AHEAD;
    split_row row = {0};
    size_t begin = 0, i = 0;
    for (; i <= length; i++) {
        const bool end = i == length;
        const char c = end ? newline : text[i];
        if (at == AFTER_QUOTE)
            at = !end && c == '"' ? INSIDE : PLAIN;
        else if (at == INSIDE && !end) {
            row.lines += c == newline;
            at = c == '"' ? AFTER_QUOTE : INSIDE;
            continue;
        } else if (at == INSIDE) {
            row.open = true;
        } else if (at == AHEAD && c == '"' && !end) {
            row.quoted = true;
            at = INSIDE;
            continue;
        } else if (at == AHEAD && c != ' ') {
            at = PLAIN;
        }
        if (at == INSIDE && !end)
            continue;
        if (end || c == ',' || c == newline) {
            const bool row_end = end || c == newline;
            row.begin[row.n] = begin;
            row.length[row.n] = i - begin - (row_end && i > begin && text[i - 1] == '\r');
            row.n++;
            begin = i + 1;
            at = AHEAD;
            if (row_end) {
                row.whole = !end || last;
                row.lines += !end;
                row.bytes = i + !end;
                return row;
            }
        }
    }
    return row;
}

static void rows_are_split_as_a_machine_of_four_states_splits_them(void **state)
{
    (void)state;
    static const char letters[] = "a \",\n\r";
    enum { LENGTH = 5, LETTERS = sizeof letters - 1 };
    log_record *const record = malloc(sizeof *record);
    assert_non_null(record);
    size_t texts = 1, wholes = 0;
    for (size_t n = 0; n <= LENGTH; n++, texts *= LETTERS)
        for (size_t number = 0; number < texts; number++)
            for (int form = 0; form < 4; form++) {
                char text[LENGTH + 2];
                const bool last = form % 2 == 0;
                const char newline = form < 2 ? '\n' : '\r';
                size_t rest = number;
                for (size_t i = 0; i < n; i++, rest /= LETTERS)
                    text[i] = letters[rest % LETTERS];
                text[n] = "\"\n, "[number % 4]; /* what is not of the text says nothing */
                text[n + 1] = '"';
                const char *const at = number % 2 == 0 ? last_of_a_page(text, n) : text;
                const split_row want = split_plainly(at, n, last, newline);
                const bool whole = log_record_split(at, n, last, ',', newline, record);
                if (whole != want.whole)
                    fail_msg("\"%.*s\", last %d, is whole: %d", (int)n, text, last, whole);
                if (!whole)
                    continue;
                bool same = record->n == want.n && record->bytes == want.bytes && record->lines == want.lines &&
                            record->quoted == want.quoted && record->open == want.open && !record->too_many;
                for (size_t i = 0; i < want.n && same; i++)
                    same = record->cells[i].at == at + want.begin[i] && record->cells[i].length == want.length[i];
                if (!same)
                    fail_msg("\"%.*s\": %zu cells, %zu bytes, %zu lines, quoted %d, open %d", (int)n, text, record->n,
                             record->bytes, record->lines, record->quoted, record->open);
                wholes++;
            }
    assert_true(wholes > 20000);
    free(record);
}

static void a_row_has_room_for_1024_cells(void **state)
{
    (void)state;
    static char text[2 * CH_DRIVELOG_COLUMNS_MAX + 8];
    log_record *const record = malloc(sizeof *record);
    assert_non_null(record);
    for (size_t cells = CH_DRIVELOG_COLUMNS_MAX - 1; cells <= CH_DRIVELOG_COLUMNS_MAX + 2; cells++) {
        for (size_t i = 0; i < cells; i++) {
            text[2 * i] = 'x';
            text[2 * i + 1] = i + 1 < cells ? ',' : '\n';
        }
        assert_true(log_record_split(text, 2 * cells, false, ',', '\n', record));
        assert_int_equal(record->n, cells < CH_DRIVELOG_COLUMNS_MAX ? cells : CH_DRIVELOG_COLUMNS_MAX);
        assert_int_equal(record->too_many, cells > CH_DRIVELOG_COLUMNS_MAX);
        assert_int_equal(record->bytes, 2 * cells);
        assert_ptr_equal(record->cells[record->n - 1].at, text + 2 * (record->n - 1));
    }
    free(record);
}

/* ---- the text of a cell ---- */

/* Trimmed, unquoted, Latin-1 made UTF-8, controls made spaces, cut before the character that no longer fits. */
static void text_plainly(const char *cell, size_t n, char *out, size_t size)
{
    size_t from = 0, used = 0;
    while (from < n && (cell[from] == ' ' || cell[from] == '\t'))
        from++;
    while (n > from && (cell[n - 1] == ' ' || cell[n - 1] == '\t'))
        n--;
    const bool quoted = n - from >= 2 && cell[from] == '"' && cell[n - 1] == '"';
    if (quoted) {
        from++;
        n--;
        while (from < n && cell[from] == ' ')
            from++;
        while (n > from && cell[n - 1] == ' ')
            n--;
    }
    while (from < n) {
        const unsigned char c = (unsigned char)cell[from];
        const unsigned char d = from + 1 < n ? (unsigned char)cell[from + 1] : 0;
        char shown[4] = {(char)c, '\0', '\0', '\0'};
        size_t bytes = 1, room = 1; /* of the alphabet of the test those behind C3 make a character of two bytes */
        if (c == 0xc3 && d >= 0x80 && d < 0xc0) {
            shown[1] = (char)d;
            bytes = room = 2;
        } else if (c >= 0xa0) {
            shown[0] = (char)(0xc0 | c >> 6);
            shown[1] = (char)(0x80 | (c & 0x3f));
            room = 2;
        } else if (c >= 0x80) {
            shown[0] = ' ';
            room = 2; /* as any byte that is not UTF-8 */
        } else if (c < ' ' || c == 0x7f) {
            shown[0] = ' ';
        }
        if (used + room + 1 > size)
            break;
        used += (size_t)sprintf(out + used, "%s", shown);
        from += bytes;
        if (quoted && c == '"' && from < n && cell[from] == '"')
            from++;
    }
    out[used] = '\0';
}

static void the_text_of_a_cell_is_trimmed_unquoted_and_cut(void **state)
{
    (void)state;
    static const char letters[] = "a \t\"\x1f\x7f\x9f\xa0\xc3\xa4";
    enum { LENGTH = 4, LETTERS = sizeof letters - 1, SIZE = 9 };
    size_t texts = 1;
    for (size_t n = 0; n <= LENGTH; n++, texts *= LETTERS)
        for (size_t number = 0; number < texts; number++) {
            char text[LENGTH + 3];
            size_t rest = number;
            for (size_t i = 0; i < n; i++, rest /= LETTERS)
                text[i] = letters[rest % LETTERS];
            text[n] = "\xa4\"b "[number % 4];
            text[n + 1] = '"';
            for (size_t size = 1; size <= SIZE; size += size < 4 ? 1 : 5) {
                char want[3 * LENGTH + 4], got[SIZE + 1];
                memset(got, 0x55, sizeof got);
                text_plainly(text, n, want, size);
                log_slice_text((log_slice){size == 1 ? last_of_a_page(text, n) : text, n}, got, size);
                if (strcmp(got, want) != 0 || got[size] != 0x55)
                    fail_msg("%zu bytes, number %zu, in %zu: \"%s\", not \"%s\"", n, number, size, got, want);
            }
        }
    /* quotes doubled inside quotes are one; characters of three and four bytes */
    char got[64];
    log_slice_text((log_slice){"\"a \"\"b\"\" c\"", 11}, got, sizeof got);
    assert_string_equal(got, "a \"b\" c");
    log_slice_text((log_slice){"\xe2\x82\xac\xf0\x9f\x98\x80", 7}, got, sizeof got);
    assert_string_equal(got, "\xe2\x82\xac\xf0\x9f\x98\x80");
    for (size_t size = 1; size <= 8; size++) {
        log_slice_text((log_slice){"\xe2\x82\xac\xf0\x9f\x98\x80", 7}, got, size);
        assert_int_equal(strlen(got), size < 4 ? 0 : size < 8 ? 3 : 7);
    }
}

/* ---- the median of intervals ---- */

static double median_of(const double *intervals_s, size_t n)
{
    log_intervals *const intervals = calloc(1, sizeof *intervals);
    assert_non_null(intervals);
    for (size_t i = 0; i < n; i++)
        log_intervals_add(intervals, intervals_s[i]);
    const double median_s = log_intervals_median(intervals);
    assert_int_equal(intervals->n, n);
    free(intervals);
    return median_s;
}

/* To a 32nd of an octave, of which the mean is taken; from 2^-40 s to 2^24 s. */
static void the_median_of_intervals_is_that_of_their_bins(void **state)
{
    (void)state;
    assert_true(isnan(median_of(NULL, 0)));
    static const double one[] = {0.1, 1e-20, 1e30, 1.0, 86400.0};
    for (size_t i = 0; i < 5; i++)
        expect_close(median_of(&one[i], 1), one[i], 0);
    expect_close(median_of((double[]){3, 1, 2}, 3), 2, 0);
    expect_close(median_of((double[]){5, 1, 1}, 3), 1, 0);
    expect_close(median_of((double[]){5, 5, 1}, 3), 5, 0);
    expect_close(median_of((double[]){1, 2, 3, 4, 5, 6, 7}, 7), 4, 0);
    /* 1 + 1/32 begins the next bin */
    expect_close(median_of((double[]){1, 1.03124}, 2), 1.01562, 1e-15);
    expect_close(median_of((double[]){1, 1.03125, 1.03125}, 3), 1.03125, 0);
    expect_close(median_of((double[]){1.96875, 1.9999}, 2), (1.96875 + 1.9999) / 2, 1e-15);
    expect_close(median_of((double[]){1.9687, 1.9999, 2}, 3), 1.9999, 0);
    /* the lowest bin takes all below, the highest all above */
    const double low = ldexp(1, -40), high = ldexp(1, 24);
    expect_relative(median_of((double[]){low, low / 2, low / 8}, 3), low * 1.625 / 3, 1e-15);
    expect_relative(median_of((double[]){low, low / 2, low * 1.04}, 3), low * 0.75, 1e-15);
    expect_relative(median_of((double[]){low, low * 1.04, low * 1.04}, 3), low * 1.04, 0);
    expect_relative(median_of((double[]){high, high * 4, high * 2}, 3), high * 7 / 3, 1e-15);
    expect_relative(median_of((double[]){high * 0.99, high, high}, 3), high * 2.99 / 3, 1e-15);
    expect_relative(median_of((double[]){high * 0.98, high * 0.98, high}, 3), high * 0.98, 1e-15);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_scan_gives_the_same_by_wide_and_by_plain_registers),
        cmocka_unit_test(the_scan_names_every_separator_and_row_end),
        cmocka_unit_test(numbers_are_rounded_correctly_in_any_locale),
        cmocka_unit_test(cells_with_words_and_units_are_understood),
        cmocka_unit_test(stamps_that_are_none_are_refused),
        cmocka_unit_test(rows_are_split_as_the_csv_collection_says),
        cmocka_unit_test(rows_are_split_as_rfc_4180_shows),
        cmocka_unit_test(numbers_of_any_length_are_rounded_correctly),
        cmocka_unit_test(spaces_and_quotes_around_a_cell_are_none_of_it),
        cmocka_unit_test(words_in_cells_are_nothing_yes_or_no),
        cmocka_unit_test(a_number_before_a_unit_has_at_most_47_characters),
        cmocka_unit_test(rows_are_split_as_a_machine_of_four_states_splits_them),
        cmocka_unit_test(a_row_has_room_for_1024_cells),
        cmocka_unit_test(the_text_of_a_cell_is_trimmed_unquoted_and_cut),
        cmocka_unit_test(the_median_of_intervals_is_that_of_their_bins),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
