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
        log_scan(text, n, ',', '\n', index);
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
    static const char *const refused[] = {"",    "-",    ".",   "1.2.3", "1,5", "1e",  "1e+",
                                          "12a", "0x10", "1 2", "1e999", "--1", "nan", "inf"};
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        double value = 7;
        assert_false(log_number(refused[i], refused[i] + strlen(refused[i]), '.', &value));
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
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
