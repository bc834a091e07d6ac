/* Promises of src/car at the edges of its texts: escapes and folded blocks by the letter of YAML and JSON, and fields of a sheet, a car, a plan and the
 * knowledge that are nearly right. What is read within has its own tests. */
#include <string.h>

#include "../../src/car/folded.h"
#include "../../src/car/quoted.h"
#include "crosshatch/assumptions.h"
#include "crosshatch/car.h"
#include "crosshatch/clutch_knowledge.h"
#include "crosshatch/plan.h"
#include "crosshatch/sheet.h"
#include "crosshatch/tree.h"
#include "spoilt.h"

/* ---- quoted and folded text ---- */

/* What `text`, between `quote`s, stands for; NULL where it is no text. */
static const char *unquoted(const char *text, char quote)
{
    static char out[256];
    size_t used = 0;
    const size_t length = strlen(text);
    assert_true(quoted_room(length) <= sizeof out);
    if (!quoted_read(text, length, quote, out, &used))
        return NULL;
    out[used] = '\0';
    return out;
}

static void escapes_stand_for_the_characters_of_the_standards(void **state)
{
    (void)state;
    /* YAML 1.2.2, 5.7; RFC 8259, 7 */
    static const char *const pairs[][2] = {{"\\u0041\\x41\\U00000041", "AAA"},
                                           {"\\u00e4\\u00E4", "\xC3\xA4\xC3\xA4"},
                                           {"\\u20AC", "\xE2\x82\xAC"},
                                           {"\\uFFFF", "\xEF\xBF\xBF"},
                                           {"\\uE000", "\xEE\x80\x80"},
                                           {"\\uD83D\\uDE00", "\xF0\x9F\x98\x80"},
                                           {"\\uD800\\uDC00\\uDBFF\\uDFFF", "\xF0\x90\x80\x80\xF4\x8F\xBF\xBF"},
                                           {"\\U0010FFFF", "\xF4\x8F\xBF\xBF"},
                                           {"\\a\\b\\t\\n\\v\\f\\r\\e", "\a\b\t\n\v\f\r\x1b"},
                                           {"\\ \\\"\\/\\\\", " \"/\\"},
                                           {"\\_\\N\\L\\P", "\xC2\xA0\xC2\x85\xE2\x80\xA8\xE2\x80\xA9"},
                                           {"\\\tx", "\tx"},
                                           {"a\\\n  b", "ab"},
                                           {"a \\\n\n  b", "a \nb"},
                                           {"a \n b", "a b"},
                                           {"a\r\n\r\n b", "a\nb"},
                                           {"a\rb", "a b"},
                                           {"a\t \nb", "a b"}};
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++)
        assert_string_equal(unquoted(pairs[i][0], '"'), pairs[i][1]);
    assert_string_equal(unquoted("it''s \\n", '\''), "it's \\n"); /* no escapes between single quotes */
}

static void half_a_surrogate_pair_and_what_lies_beyond_unicode_are_no_text(void **state)
{
    (void)state;
    static const char *const wrong[] = {"\\uD83D",        "\\uD83Dx",       "\\uD83D\\", "\\uD83D\\n", "\\uD83D\\u0041",
                                        "\\uD83D\\uD83D", "\\uD83D\\uE000", "\\uDE00",   "\\uDFFF",    "\\U00110000",
                                        "\\U0000D800",    "\\UFFFFFFFF",    "\\q",       "\\\x7f",     "\\"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
        if (unquoted(wrong[i], '"') != NULL)
            fail_msg("%s was read", wrong[i]);
}

static void the_closing_quote_is_found_behind_escaped_ones(void **state)
{
    (void)state;
    assert_int_equal(quoted_length("a\" b", 4, '"'), 1);
    assert_int_equal(quoted_length("a\\\"b\"", 5, '"'), 4);
    assert_int_equal(quoted_length("a''b'", 5, '\''), 4);
    assert_int_equal(quoted_length("a\\'b", 4, '\''), 2); /* a backslash is only a backslash there */
    assert_int_equal(quoted_length("open", 4, '"'), 4);
    assert_int_equal(quoted_length("''", 2, '\''), 2);
}

static void expect_folded(const char *text, size_t offset, const char *wanted)
{
    char out[256];
    size_t used = 77;
    assert_true(folded_read(text, strlen(text), offset, out, &used));
    assert_string_equal(out, wanted);
    assert_int_equal(used, strlen(wanted));
}

static void a_folded_block_is_read_by_its_header(void **state)
{
    (void)state;
    /* YAML 1.2.2, 8.1.1.2 and 8.1.3 */
    expect_folded("a: >\n  one\n  two\n\n", 3, "one two\n");
    expect_folded("a: >-\n  one\n  two\n\n", 3, "one two");
    expect_folded("a: >+\n  one\n  two\n\n\n", 3, "one two\n\n\n");
    expect_folded("a: >\r\n  one\r\n\r\n  two\r\nb: 1\r\n", 3, "one\ntwo\n");
    expect_folded("a: >\r  one\r  two\r", 3, "one two\n");
    expect_folded("a: >\n  one\n   deep\n  two\n", 3, "one\n deep\ntwo\n");
    expect_folded("a: >\n  one\n  \tdeep\n", 3, "one\n\tdeep\n");
    expect_folded("a: # > no header\n  >\n  one\n", 3, "one\n");
    expect_folded("a: # > no header\r  >\r  one\r", 3, "one\n");
    expect_folded("a:\t# >\n  >\n  one\n", 3, "one\n");
    expect_folded("a:\n# >\n  >\n  one\n", 3, "one\n");
    expect_folded("a:\r# >\r  >\r  one\r", 3, "one\n");
    expect_folded("a: b#c >\n  one\n", 3, "one\n"); /* a # inside a word begins no remark */
    expect_folded("a: >\n", 3, "");
    expect_folded("a: >+\n\n\n", 3, "\n\n");
    expect_folded("a: >\n  one\nb: 1\n", 3, "one\n");
    char out[64];
    size_t used = 77;
    assert_false(folded_read("a: >2\n  one\n", 12, 3, out, &used)); /* says itself how far it is indented */
    assert_false(folded_read("a: >-1\n  one\n", 13, 3, out, &used));
    assert_false(folded_read("a: one\n", 7, 3, out, &used));
    assert_false(folded_read("> one\n", 6, 0, out, &used));
    assert_int_equal(used, 77);
}

static void bytes_that_are_no_utf8_are_refused_in_every_form(void **state)
{
    (void)state;
    /* RFC 3629, section 4: the first and last of each row of its table, and what lies just beside them */
    static const char *const right[] = {"\xC2\xA0",     "\xDF\xBF",         "\xE0\xA0\x80",    "\xED\x9F\xBF",
                                        "\xEE\x80\x80", "\xF0\x90\x80\x80", "\xF4\x8F\xBF\xBF"};
    static const char *const wrong[] = {"\xC1\xBF",         "\xE0\x9F\xBF",     "\xED\xA0\x80", "\xF0\x8F\xBF\xBF",
                                        "\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\x80",         "\xC3",
                                        "\xE2\x82",         "\xE2\x82("};
    char text[32];
    for (size_t i = 0; i < sizeof right / sizeof right[0]; i++) {
        ch_tree *tree = NULL;
        snprintf(text, sizeof text, "a: %s\n", right[i]);
        assert_int_equal(ch_tree_parse("t.yaml", text, strlen(text), &tree, NULL), CH_OK);
        ch_tree_free(tree);
    }
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        ch_tree *tree = NULL;
        ch_err err = {0};
        snprintf(text, sizeof text, "a: %s", wrong[i]);
        assert_int_equal(ch_tree_parse("t.yaml", text, strlen(text), &tree, &err), CH_E_INPUT);
        assert_int_equal(err.line, 1);
        assert_null(tree);
    }
}

/* ---- sheets ---- */

static ch_status sheet_status(const char *rest, ch_err *err)
{
    char text[4096];
    ch_sheet sheet;
    snprintf(text, sizeof text,
             "{sheet: 1, engine: {cylinders: 4}, compression: [{cylinder: 1, reading: 170 psi}], %s}", rest);
    *err = (ch_err){0};
    const ch_status rc = ch_sheet_parse("s.yaml", text, strlen(text), &sheet, err);
    if (rc >= 0)
        ch_sheet_clear(&sheet);
    return rc;
}

static void nearly_right_fields_of_a_sheet_are_refused_with_what_is_wrong(void **state)
{
    (void)state;
    static const char *const wrong[][2] = {
        {"units: [psi]", "units is not a map"},
        {"units: {pressure: [psi]}", "pressure: a list where one value is wanted"},
        {"units: {pressure: mm}", "\"mm\" is not a unit of"},
        {"units: {\"pressure\\0x\": psi}", "unknown key"},
        {"conditions: {strokes: 2.5}", "is not a whole number"},
        {"conditions: {strokes: 5 psi}", "is not a plain number"},
        {"conditions: {strokes: 8:1}", "is not a plain number"},
        {"wet: [{cylinder: 0, reading: 1 bar}]", "the engine has no cylinder 0"},
        {"wet: [{cylinder: 5, reading: 1 bar}]", "the engine has no cylinder 5"},
        {"wet: [{cylinder: 1.5, reading: 1 bar}]", "the engine has no cylinder 1.5"},
        {"wet: [{cylinder: all, reading: 1 bar}]", "is not a plain number"},
        {"wet: {cylinder: 1}", "is not a list"},
        {"wet: [1]", ""},
        {"leaks: [{cylinder: [1]}]", ""},
        {"leakdown: [{cylinder: 1}]", "neither loss nor heard"},
        {"leakdown: [{cylinder: 1, heard: [nothing, exhaust]}]", "\"nothing\" beside a place"},
        {"leakdown: [{cylinder: 1, heard: [nothing, cylinder_2]}]", "\"nothing\" beside a place"},
        {"leakdown: [{cylinder: 1, heard: cylinder_1}]", "is the cylinder under test"},
        {"leakdown: [{cylinder: 1, heard: cylinder_5}]", "the engine has no cylinder 5"},
        {"leakdown: [{cylinder: 1, heard: cylinder_}]", ""},
        {"leakdown: [{cylinder: 1, heard: cylinder_2x}]", ""},
        {"leakdown: [{cylinder: 1, heard: [[exhaust]]}]", ""},
        {"observed: [{what: \"\"}]", ""},
        {"observed: [{what: Oily_plug}]", ""},
        {"observed: [{what: oily-plug}]", ""},
        {"observed: [{what: 2oily}]", ""},
        {"observed: [{what: coolant_loss, found: maybe}]", "neither yes nor no"},
        {"observed: [{what: coolant_loss, found: [no]}]", ""},
        {"gauge: {accuracy: [2 %]}", ""},
        {"gauge: {accuracy: very good}", "accuracy"},
        {"title: \"a\\u0085b\"", ""},
        {"title: \"a\\u0007b\"", ""},
        {"title: \"a\\u007Fb\"", ""},
        {"engine2: {}", "unknown key"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        ch_err err;
        const ch_status rc = sheet_status(wrong[i][0], &err);
        if (rc != CH_E_INPUT || err.line != 1 || err.column < 50 || strstr(err.what, wrong[i][1]) == NULL)
            fail_msg("%s: %d, %ld:%ld %s", wrong[i][0], (int)rc, err.line, err.column, err.what);
    }
    static const char *const right[] = {"observed: [{what: coolant_loss, found: true}]",
                                        "observed: [{what: coolant_loss, found: false}]",
                                        "leaks: [{cylinder: all, rings: 0.5 mm2}]",
                                        "leaks: [{cylinder: 4, rings: 0.5 mm2}]",
                                        "leakdown: [{cylinder: 1, heard: [cylinder_2, exhaust]}]",
                                        "title: \"a\\u00A0b\"",
                                        "note: \"a\\nb\\tc\"",
                                        "units: {distance: km}",
                                        "wet: []"};
    for (size_t i = 0; i < sizeof right / sizeof right[0]; i++) {
        ch_err err;
        if (sheet_status(right[i], &err) < 0)
            fail_msg("%s: %s", right[i], err.what);
    }
}

static void a_ratio_may_be_written_as_one_and_nothing_else_may(void **state)
{
    (void)state;
    static const char *const texts[] = {"9.6", "9.6:1"};
    for (size_t i = 0; i < 2; i++) {
        char text[256];
        ch_sheet sheet;
        snprintf(text, sizeof text,
                 "{sheet: 1, engine: {cylinders: 1, compression_ratio: \"%s\"}, compression: [{cylinder: 1, reading: "
                 "170 psi}]}",
                 texts[i]);
        assert_int_equal(ch_sheet_parse("s.yaml", text, strlen(text), &sheet, NULL), CH_OK);
        expect_close(sheet.engine.compression_ratio, 9.6, 1e-12);
        ch_sheet_clear(&sheet);
    }
}

static void numbers_of_every_form_are_written_back_as_they_were_typed(void **state)
{
    (void)state;
    static const char *const numbers[] = {"170", "1.7e2", "1.7E2", "1.7e+2", "1700e-1", "0170", "170.0", "17E+1"};
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
        for (int json = 0; json < 2; json++) {
            char sheet_text[256], *written = NULL;
            size_t length = 0;
            ch_sheet sheet, again;
            ch_err err = {0};
            snprintf(
                sheet_text, sizeof sheet_text,
                "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 1}, compression: [{cylinder: 1, reading: %s}]}",
                numbers[i]);
            if (ch_sheet_parse("s.yaml", sheet_text, strlen(sheet_text), &sheet, &err) < 0)
                fail_msg("%s: %s", numbers[i], err.what);
            assert_int_equal(ch_sheet_write(&sheet, json == 1, &written, &length, NULL), CH_OK);
            assert_int_equal(ch_sheet_parse(json == 1 ? "s.json" : "s.yaml", written, length, &again, NULL), CH_OK);
            assert_string_equal(again.compression[0].reading.number, numbers[i]);
            expect_relative(again.compression[0].reading.si, sheet.compression[0].reading.si, 1e-15);
            free(written);
            ch_sheet_clear(&again);
            ch_sheet_clear(&sheet);
        }
}

static void names_and_texts_have_a_longest_length(void **state)
{
    (void)state;
    static char long_text[20000], part[21000];
    ch_err err;
    memset(long_text, 'a', sizeof long_text - 1);
    snprintf(part, sizeof part,
             "{sheet: 1, engine: {cylinders: 1}, compression: [{cylinder: 1, reading: 170 psi}], note: %s}", long_text);
    ch_sheet sheet;
    err = (ch_err){0};
    assert_true(ch_sheet_parse("s.yaml", part, strlen(part), &sheet, &err) < 0);
    assert_true(err.what[0] != '\0');
    long_text[200] = '\0';
    snprintf(part, sizeof part, "observed: [{what: %s}]", long_text);
    assert_int_equal(sheet_status(part, &err), CH_E_INPUT);
    assert_int_equal(sheet_status("leakdown: [{cylinder: 1, heard: cylindrical_2}]", &err), CH_E_INPUT);
    assert_int_equal(sheet_status("observed: [{what: coolant_loss, found: yes}]", &err), CH_OK);
}

static void a_gauges_accuracy_is_read_with_blanks_around_it(void **state)
{
    (void)state;
    static const char *const texts[] = {"2 % of span", "  2 % of span", "\t2 % of span\t", "2 % of span  \t "};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        ch_sheet_gauge gauge = {0};
        ch_err err = {0};
        if (ch_gauge_accuracy_parse(texts[i], strlen(texts[i]), &gauge, &err) < 0)
            fail_msg("\"%s\": %s", texts[i], err.what);
        assert_int_equal(gauge.accuracy_kind, CH_ACCURACY_OF_SPAN);
    }
    ch_sheet_gauge gauge = {0};
    assert_int_equal(ch_gauge_accuracy_parse(" \t ", 3, &gauge, NULL), CH_E_INPUT);
}

static void what_needs_the_engine_open_is_known_by_its_id_alone(void **state)
{
    (void)state;
    static char figures[SPOILT_BYTES_MAX];
    const size_t length = spoilt_read("knowledge/decision.yaml", figures);
    const ch_knowledge_text file = {"decision.yaml", figures, length};
    ch_assumptions made = {0};
    assert_int_equal(ch_assumptions_parse(&made, &file, NULL), CH_OK);
    assert_true(ch_assumptions_opens_engine(&made, "head_gasket"));
    assert_true(ch_assumptions_opens_engine(&made, "engine_swap"));
    assert_false(ch_assumptions_opens_engine(&made, "head gasket"));
    assert_false(ch_assumptions_opens_engine(&made, "new head_gasket"));
    assert_false(ch_assumptions_opens_engine(&made, "head_gaske"));
    assert_false(ch_assumptions_opens_engine(&made, "brake_hose"));
    assert_false(ch_assumptions_opens_engine(&made, ""));
    assert_false(ch_assumptions_opens_engine(&made, NULL));
    assert_null(ch_assumption_name(CH_ASSUME_COUNT));
    for (int id = 0; id < CH_ASSUME_COUNT; id++)
        assert_true(ch_assumption_name((ch_assumption_id)id)[0] != '\0');
    ch_assumptions_clear(&made);
}

/* ---- cars ---- */

static void nearly_right_fields_of_a_car_are_refused_with_what_is_wrong(void **state)
{
    (void)state;
    static const char *const wrong[][2] = {
        {"title: [a]", "title"},
        {"tyre: [195]", "tyre"},
        {"clutch: 215 mm", "clutch"},
        {"gears: [1, 1]", "do not fall"},
        {"gears: [11, 10, 9, 8, 7, 6, 5, 4, 3, 2, 1]", "11 ratios"},
        {"gears: [[3.5]]", ""},
        {"observed: [[a]]", ""},
        {"observed: [\"\"]", ""},
        {"observed: [\"a\\0b\"]", ""},
        {"observed: [aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa]", ""},
        {"observed: [a,a,a,a,a,a,a,a,a,a,a,a,a,a,a,a,a,a,a,a,a,a,a,a,a,a,a,a,a,a,a,a,a]", ""},
        {"mass: [1]", ""},
        {"clutch: {surfaces: 2.5 mm}", ""},
        {"final_drive: 4.1 mm", "final_drive"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        ch_car car = ch_car_none();
        ch_err err = {0};
        const ch_status rc = ch_car_parse("c.yaml", wrong[i][0], strlen(wrong[i][0]), &car, &err);
        if ((rc != CH_E_INPUT && rc != CH_E_LIMIT) || err.line != 1 || err.what[0] == '\0' ||
            strstr(err.what, wrong[i][1]) == NULL)
            fail_msg("%s: %d, %s", wrong[i][0], (int)rc, err.what);
        assert_int_equal(car.gears, 0);
        assert_int_equal(car.observed_n, 0);
    }
}

/* ---- plans ---- */

static void nearly_right_fields_of_a_plan_are_refused_with_what_is_wrong(void **state)
{
    (void)state;
    static const char *const wrong[][2] = {
        {"plan: 1\nuntil: 2027-13-03\njobs: {a: {hours: 1}}\n", ""},
        {"plan: 1\nuntil: [2027-01-03]\njobs: {a: {hours: 1}}\n", ""},
        {"plan: 1\njobs: {a: {hours: [2, 1, 3]}}\n", ""},
        {"plan: 1\njobs: {a: {hours: [1, 3, 2]}}\n", ""},
        {"plan: 1\njobs: {a: {hours: [1, 2]}}\n", ""},
        {"plan: 1\njobs: {aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa: {hours: 1}}\n",
         "a name of 65 bytes"},
        {"plan: 1\njobs: {\"a\\0b\": {hours: 1}}\n", "a name of 3 bytes"},
        {"plan: 1\njobs: {\"a\\nb\": {hours: 1}}\n", ""},
        {"plan: 1\njobs: {a: {hours: 1, needs: b}}\n", ""},
        {"plan: 1\njobs: {a: {hours: 1, after: [b]}, b: {hours: 1, after: [a]}}\n", ""},
        {"plan: 1\njobs: {a: {hours: 1, after: a}}\n", ""},
        {"plan: 1\ndays: [{hours: 3}]\njobs: {a: {hours: 1}}\n", ""},
        {"plan: 1\ndays: [3]\njobs: {a: {hours: 1}}\n", ""},
        {"plan: 1\njobs: {a: {hours: 1, after: null}}\n", "after is empty"},
        {"plan: 1\njobs: [a]\n", ""},
        {"plan: 1\njobs: {a: {hours: -1}}\n", ""},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        ch_plan plan = {0};
        ch_err err = {0};
        const ch_status rc =
            ch_plan_parse("p.yaml", wrong[i][0], strlen(wrong[i][0]), (ch_date){2027, 1, 1}, &plan, &err);
        if ((rc != CH_E_INPUT && rc != CH_E_LIMIT) || err.line < 1 || err.what[0] == '\0' ||
            strstr(err.what, wrong[i][1]) == NULL)
            fail_msg("%s: %d, %s", wrong[i][0], (int)rc, err.what);
        assert_null(plan.pieces);
    }
    static const char *const right[] = {"plan: 1\njobs: {a: {hours: 1, after: b}, b: {hours: [1, 1, 1]}}\n",
                                        "plan: 1\njobs: {a: {hours: 1, after: []}}\n"};
    for (size_t i = 0; i < sizeof right / sizeof right[0]; i++) {
        ch_plan plan = {0};
        ch_err err = {0};
        if (ch_plan_parse("p.yaml", right[i], strlen(right[i]), (ch_date){2027, 1, 1}, &plan, &err) < 0)
            fail_msg("%s: %s", right[i], err.what);
        ch_plan_clear(&plan);
    }
}

/* ---- knowledge: each small file of tests/data/knowledge-bad is right, and spoilt by one change ---- */

static char text[CH_KNOWLEDGE_FILES][SPOILT_BYTES_MAX], changed[SPOILT_BYTES_MAX];

static void expect_spoilt(ch_knowledge_file file, const char *from, const char *to)
{
    ch_knowledge_text texts[CH_KNOWLEDGE_FILES];
    ch_knowledge knowledge = {0};
    ch_err err = {0};
    for (int i = 0; i < CH_KNOWLEDGE_FILES; i++)
        texts[i] = (ch_knowledge_text){ch_knowledge_file_name((ch_knowledge_file)i), text[i], strlen(text[i])};
    spoilt_change(text[file], from, to, changed);
    texts[file] = (ch_knowledge_text){ch_knowledge_file_name(file), changed, strlen(changed)};
    const ch_status rc = ch_knowledge_parse(&knowledge, texts, &err);
    if (rc != CH_E_INPUT || err.line < 1 || err.what[0] == '\0' || strcmp(err.file, texts[file].name) != 0 ||
        knowledge.pieces != NULL)
        fail_msg("\"%s\" for \"%s\": %d %s:%ld %s", to, from, (int)rc, err.file, err.line, err.what);
}

static void ids_and_lines_of_the_knowledge_are_held_to_their_form(void **state)
{
    (void)state;
    for (int i = 0; i < CH_KNOWLEDGE_FILES; i++) {
        char path[128];
        snprintf(path, sizeof path, "tests/data/knowledge-bad/%s", ch_knowledge_file_name((ch_knowledge_file)i));
        spoilt_read(path, text[i]);
    }
    static const char *const no_ids[] = {"\"\"",       "Tool",   "2tool",      "a-tool",    "a{tool",
                                         "\"a`tool\"", "[tool]", "\"a:tool\"", "\"a/tool\""};
    const char *id = strstr(text[CH_KNOWLEDGE_CAUTIONS], "id: ");
    assert_non_null(id);
    char from[96], to[96];
    const size_t length = strcspn(id, "\n,}");
    assert_true(length < 64);
    snprintf(from, sizeof from, "%.*s", (int)length, id);
    for (size_t i = 0; i < sizeof no_ids / sizeof no_ids[0]; i++) {
        snprintf(to, sizeof to, "id: %s", no_ids[i]);
        expect_spoilt(CH_KNOWLEDGE_CAUTIONS, from, to);
    }
    static const char *const no_lines[] = {"\"\"",      "\"   \"",       "null",        "[a]",
                                           "\"a\\nb\"", "\"a\\u0085b\"", "\"a\\x7Fb\"", "{a: b}"};
    const char *hazard = strstr(text[CH_KNOWLEDGE_CAUTIONS], "hazard: ");
    assert_non_null(hazard);
    snprintf(from, sizeof from, "%.*s", (int)(strcspn(hazard, "\n") < 90 ? strcspn(hazard, "\n") : 90), hazard);
    for (size_t i = 0; i < sizeof no_lines / sizeof no_lines[0]; i++) {
        snprintf(to, sizeof to, "hazard: %s", no_lines[i]);
        expect_spoilt(CH_KNOWLEDGE_CAUTIONS, from, to);
    }
    for (int i = 0; i < CH_KNOWLEDGE_FILES; i++) {
        expect_spoilt((ch_knowledge_file)i, "version: 1", "version: 2");
        expect_spoilt((ch_knowledge_file)i, "knowledge: ", "knowledge: no_");
    }
}

static void names_outside_the_lists_are_none(void **state)
{
    (void)state;
    assert_null(ch_cause_name(CH_CAUSE_COUNT));
    assert_null(ch_path_name(CH_PATH_COUNT));
    assert_null(ch_signal_word_name((ch_signal_word)9));
    assert_null(ch_clutch_cause_id(CH_CLUTCH_CAUSES));
    assert_int_equal(ch_cause_find("soun", 4), CH_CAUSE_COUNT);
    assert_int_equal(ch_cause_find("sound", 5), CH_CAUSE_SOUND);
    assert_int_equal(ch_cause_find("sounds", 6), CH_CAUSE_COUNT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(escapes_stand_for_the_characters_of_the_standards),
        cmocka_unit_test(half_a_surrogate_pair_and_what_lies_beyond_unicode_are_no_text),
        cmocka_unit_test(the_closing_quote_is_found_behind_escaped_ones),
        cmocka_unit_test(a_folded_block_is_read_by_its_header),
        cmocka_unit_test(bytes_that_are_no_utf8_are_refused_in_every_form),
        cmocka_unit_test(nearly_right_fields_of_a_sheet_are_refused_with_what_is_wrong),
        cmocka_unit_test(a_ratio_may_be_written_as_one_and_nothing_else_may),
        cmocka_unit_test(numbers_of_every_form_are_written_back_as_they_were_typed),
        cmocka_unit_test(names_and_texts_have_a_longest_length),
        cmocka_unit_test(a_gauges_accuracy_is_read_with_blanks_around_it),
        cmocka_unit_test(what_needs_the_engine_open_is_known_by_its_id_alone),
        cmocka_unit_test(nearly_right_fields_of_a_car_are_refused_with_what_is_wrong),
        cmocka_unit_test(nearly_right_fields_of_a_plan_are_refused_with_what_is_wrong),
        cmocka_unit_test(ids_and_lines_of_the_knowledge_are_held_to_their_form),
        cmocka_unit_test(names_outside_the_lists_are_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
