/* Promises of car/sheet_write.c: a sheet comes back as it was entered. */
#include <stdlib.h>
#include <string.h>

#include "crosshatch/sheet.h"
#include "expect.h"
#include "fail_alloc.h"
#include "sheet_equal.h"

static char full[20000];
static size_t full_length;

static int load_full(void **state)
{
    (void)state;
    char path[4096];
    snprintf(path, sizeof path, "%s/tests/data/sheets/full.yaml", getenv("CROSSHATCH_SOURCE"));
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    full_length = fread(full, 1, sizeof full - 1, file);
    full[full_length] = '\0';
    fclose(file);
    return 0;
}

static void parse(const char *name, const char *text, ch_sheet *sheet)
{
    ch_err err = {0};
    if (ch_sheet_parse(name, text, strlen(text), sheet, &err) != CH_OK) {
        char line[700];
        ch_err_format(&err, line, sizeof line);
        fail_msg("%s in\n%s", line, text);
    }
}

static char *write_sheet(const ch_sheet *sheet, bool json)
{
    char *text = NULL;
    size_t length = 0;
    assert_int_equal(ch_sheet_write(sheet, json, &text, &length, NULL), CH_OK);
    assert_int_equal(strlen(text), length);
    return text;
}

/* parse(write(x)) equals x, and write(parse(write(x))) is the same bytes; in both forms. */
static void expect_round_trip(const char *text)
{
    ch_sheet first;
    parse("s.yaml", text, &first);
    for (int json = 0; json <= 1; json++) {
        char *written = write_sheet(&first, json != 0);
        ch_sheet again;
        parse(json ? "s.json" : "s.yaml", written, &again);
        assert_true(same_sheet(&first, &again));
        char *twice = write_sheet(&again, json != 0);
        assert_string_equal(twice, written);
        free(written);
        free(twice);
        ch_sheet_clear(&again);
    }
    ch_sheet_clear(&first);
}

static void every_field_comes_back(void **state)
{
    (void)state;
    expect_round_trip(full);
}

static void numbers_and_units_come_back_as_typed(void **state)
{
    (void)state;
    ch_sheet s;
    parse("s.yaml",
          "sheet: 1\nunits: {pressure: psi, ratio: '%'}\nengine: {cylinders: 2, bore: '84,0mm', compression_ratio: "
          "'9,60'}\n"
          "gauge: {accuracy: grade b}\n"
          "compression: [{cylinder: 1, reading: 176.50}, {cylinder: 2, reading: '12,3  Bar'}]\nleakdown: [{cylinder: "
          "2, loss: 018}]\n",
          &s);
    char *yaml = write_sheet(&s, false);
    assert_string_equal(yaml, "sheet: 1\n"
                              "units: {pressure: psi, ratio: \"%\"}\n"
                              "engine:\n"
                              "  cylinders: 2\n"
                              "  bore: \"84,0 mm\"\n"
                              "  compression_ratio: \"9,60\"\n"
                              "gauge:\n"
                              "  accuracy: grade B\n"
                              "compression:\n"
                              "  - {cylinder: 1, reading: 176.50}\n"
                              "  - {cylinder: 2, reading: \"12,3 bar\"}\n"
                              "leakdown:\n"
                              "  - {cylinder: 2, loss: \"018\"}\n");
    char *json = write_sheet(&s, true);
    assert_string_equal(json, "{\n"
                              "  \"sheet\": 1,\n"
                              "  \"units\": {\"pressure\": \"psi\", \"ratio\": \"%\"},\n"
                              "  \"engine\": {\n"
                              "    \"cylinders\": 2,\n"
                              "    \"bore\": \"84,0 mm\",\n"
                              "    \"compression_ratio\": \"9,60\"\n"
                              "  },\n"
                              "  \"gauge\": {\n"
                              "    \"accuracy\": \"grade B\"\n"
                              "  },\n"
                              "  \"compression\": [\n"
                              "    {\"cylinder\": 1, \"reading\": 176.50},\n"
                              "    {\"cylinder\": 2, \"reading\": \"12,3 bar\"}\n"
                              "  ],\n"
                              "  \"leakdown\": [\n"
                              "    {\"cylinder\": 2, \"loss\": \"018\"}\n"
                              "  ]\n"
                              "}\n");
    free(yaml);
    free(json);
    ch_sheet_clear(&s);
}

static void texts_that_could_be_misread_are_quoted(void **state)
{
    (void)state;
    static const char *const texts[] = {
        "yes",
        "no",
        "null",
        "~",
        "1e3",
        "0x10",
        "2027-01-16",
        "12:30",
        "- a",
        "a: b",
        "a #b",
        "#a",
        "'a'",
        "\"a\"",
        "a\\b",
        "",
        " a",
        "a ",
        "a\nb",
        "a\tb",
        "[a]",
        "{a: b}",
        "*a",
        "&a",
        "!a",
        "%a",
        "@a",
        "`a`",
        "? a",
        "| a",
        "\xC3\xA9t\xC3\xA9",
        "a, b",
        "<<",
        "=",
        "True",
        "OFF",
        "...",
        "---",
        "1 000",
        "\xE2\x80\xA8",
        "\xEF\xBF\xBF",
        "\xEF\xBB\xBF",
        "\xF0\x9F\x94\xA7",
        "a\r\nb",
        "3 mm",
        "-",
        "-5",
        "+5 C",
        ".5",
        "n",
        "NaN",
        ".inf",
    };
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        ch_sheet s, again;
        parse("s.yaml",
              "sheet: 1\ntitle: t\nengine: {cylinders: 1}\ncompression: [{cylinder: 1, reading: 1 bar, note: n}]\n",
              &s);
        char *title = s.title, *note = s.compression[0].note;
        char copy[32];
        snprintf(copy, sizeof copy, "%s", texts[i]);
        s.title = copy;
        s.compression[0].note = copy;
        for (int json = 0; json <= 1; json++) {
            char *written = write_sheet(&s, json != 0);
            parse(json ? "s.json" : "s.yaml", written, &again);
            assert_string_equal(again.title, texts[i]);
            assert_string_equal(again.compression[0].note, texts[i]);
            free(written);
            ch_sheet_clear(&again);
        }
        s.title = title;
        s.compression[0].note = note;
        ch_sheet_clear(&s);
    }
}

/* PyYAML and other YAML 1.1 readers end a line at U+2028 and refuse U+FFFF; their escapes mean the same to everyone. */
static void characters_that_readers_disagree_on_are_escaped(void **state)
{
    (void)state;
    ch_sheet s;
    parse("s.json",
          "{\"sheet\": 1, \"title\": \"a\xE2\x80\xA8\xE2\x80\xA9\xEF\xBB\xBF\xEF\xBF\xBE\xEF\xBF\xBF\xE2\x82\xAC\", "
          "\"engine\": {\"cylinders\": 1}, \"leaks\": [{\"cylinder\": \"all\"}]}",
          &s);
    for (int json = 0; json <= 1; json++) {
        char *written = write_sheet(&s, json != 0);
        assert_non_null(strstr(written, "\"a\\u2028\\u2029\\ufeff\\ufffe\\uffff\xE2\x82\xAC\""));
        free(written);
    }
    ch_sheet_clear(&s);
}

static void accuracies_and_pure_numbers_come_back(void **state)
{
    (void)state;
    static const char *const accuracies[] = {"2 %",       "1,5 % of reading", "2.5 % of full scale",
                                             "class 1.6", "Grade 2A",         "grade D"};
    for (size_t i = 0; i < sizeof accuracies / sizeof accuracies[0]; i++) {
        char text[400];
        snprintf(text, sizeof text,
                 "sheet: 1\nengine: {cylinders: 1, compression_ratio: 10.50:1}\ngauge: {accuracy: '%s'}\n"
                 "model: {annand: 8e-1}\nleaks: [{cylinder: all}]\n",
                 accuracies[i]);
        expect_round_trip(text);
    }
}

static void a_number_that_was_changed_is_written_anew(void **state)
{
    (void)state;
    ch_sheet s, again;
    parse(
        "s.yaml",
        "sheet: 1\nengine: {cylinders: 1, compression_ratio: 9.60}\nmodel: {annand: 0.80}\nleaks: [{cylinder: all}]\n",
        &s);
    s.engine.compression_ratio = 10.1;
    s.model.crevice_fraction = 1.0 / 3;
    char *yaml = write_sheet(&s, false);
    assert_non_null(strstr(yaml, "compression_ratio: 10.1\n"));
    assert_non_null(strstr(yaml, "annand: 0.80\n"));
    parse("s.yaml", yaml, &again);
    assert_true(again.model.crevice_fraction == 1.0 / 3);
    free(yaml);
    ch_sheet_clear(&s);
    ch_sheet_clear(&again);
}

static void a_bare_number_keeps_its_unit_when_units_change(void **state)
{
    (void)state;
    ch_sheet s;
    parse("s.yaml",
          "sheet: 1\nunits: {pressure: psi}\nengine: {cylinders: 1}\ncompression: [{cylinder: 1, reading: 176}]\n", &s);
    s.bare_unit[CH_DIM_PRESSURE] = ch_unit_find("kPa", 3);
    char *yaml = write_sheet(&s, false);
    assert_non_null(strstr(yaml, "reading: 176 psi}"));
    free(yaml);
    ch_sheet_clear(&s);
}

static void a_quantity_without_text_is_refused(void **state)
{
    (void)state;
    ch_sheet s;
    parse("s.yaml", "sheet: 1\nengine: {cylinders: 1}\ncompression: [{cylinder: 1, reading: 176 psi}]\n", &s);
    s.engine.bore = (ch_quantity){.si = 0.084, .unit = ch_unit_find("mm", 2)};
    char *text = NULL;
    size_t length = 0;
    ch_err err = {0};
    assert_int_equal(ch_sheet_write(&s, false, &text, &length, &err), CH_E_RANGE);
    assert_string_equal(err.what, "bore has a value but no text");
    assert_null(text);
    ch_sheet_clear(&s);
}

static void a_sheet_too_long_to_be_read_back_is_not_written(void **state)
{
    (void)state;
    static ch_reading rows[2500];
    char note[2001] = "";
    memset(note, 'x', sizeof note - 1);
    ch_sheet s;
    parse("s.yaml", "sheet: 1\nengine: {cylinders: 1}\ncompression: [{cylinder: 1, reading: 1 bar}]\n", &s);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        rows[i] = s.compression[0];
        rows[i].note = note;
    }
    ch_sheet longer = s;
    longer.compression = rows;
    longer.compression_count = sizeof rows / sizeof rows[0];
    for (int json = 0; json <= 1; json++) {
        char *written = NULL;
        size_t length = 0;
        assert_int_equal(ch_sheet_write(&longer, json != 0, &written, &length, NULL), CH_E_LIMIT);
        assert_null(written);
    }
    ch_sheet_clear(&s);
}

static void without_memory_nothing_is_written(void **state)
{
    (void)state;
    ch_sheet s;
    parse("s.yaml", full, &s);
    for (long n = 1;; n++) {
        char *text = NULL;
        size_t length = 0;
        ch_err err = {0};
        fail_alloc_at(n);
        const ch_status rc = ch_sheet_write(&s, n % 2 == 0, &text, &length, &err);
        if (!fail_alloc_stop()) {
            assert_int_equal(rc, CH_OK);
            assert_true(n > 3);
            free(text);
            break;
        }
        assert_int_equal(rc, CH_E_MEMORY);
        assert_int_equal(err.status, CH_E_MEMORY);
        assert_null(text);
    }
    ch_sheet_clear(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_field_comes_back),
        cmocka_unit_test(numbers_and_units_come_back_as_typed),
        cmocka_unit_test(texts_that_could_be_misread_are_quoted),
        cmocka_unit_test(characters_that_readers_disagree_on_are_escaped),
        cmocka_unit_test(accuracies_and_pure_numbers_come_back),
        cmocka_unit_test(a_number_that_was_changed_is_written_anew),
        cmocka_unit_test(a_bare_number_keeps_its_unit_when_units_change),
        cmocka_unit_test(a_quantity_without_text_is_refused),
        cmocka_unit_test(a_sheet_too_long_to_be_read_back_is_not_written),
        cmocka_unit_test(without_memory_nothing_is_written),
    };
    return cmocka_run_group_tests(tests, load_full, NULL);
}
