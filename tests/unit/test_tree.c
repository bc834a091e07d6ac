/* Promises of car/tree.c: what is read, what is refused, and where. */
#include <dirent.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/tree.h"
#include "expect.h"

static ch_tree *read_as(const char *name, const char *text)
{
    ch_tree *tree = NULL;
    ch_err err = {0};
    const ch_status rc = ch_tree_parse(name, text, strlen(text), &tree, &err);
    if (rc != CH_OK) {
        char line[700];
        ch_err_format(&err, line, sizeof line);
        fail_msg("%s", line);
    }
    return tree;
}

/* The text must be refused with this status and this line. */
static void expect_refused(const char *name, const char *text, size_t length, ch_status status, const char *line)
{
    ch_tree *tree = NULL;
    ch_err err = {0};
    assert_int_equal(ch_tree_parse(name, text, length, &tree, &err), status);
    assert_null(tree);
    char got[700];
    ch_err_format(&err, got, sizeof got);
    assert_string_equal(got, line);
}

static void refuse(const char *text, const char *line)
{
    expect_refused("t.yaml", text, strlen(text), CH_E_INPUT, line);
}

static void every_part_knows_its_place(void **state)
{
    (void)state;
    ch_tree *tree =
        read_as("t.yaml", "# first\nn\xC3\xA9: \xC3\xA9t\xC3\xA9 x\nlist: [\xC3\xA9, {b:  c}]\nlast:\n  - \"q\"\n");
    const ch_tree_node *root = ch_tree_root(tree);
    assert_int_equal(root->kind, CH_TREE_MAP);
    assert_int_equal(root->count, 3);
    assert_int_equal(root->line, 2);
    const ch_tree_node *first = root->first;
    assert_string_equal(first->key, "n\xC3\xA9");
    assert_string_equal(first->text, "\xC3\xA9t\xC3\xA9 x");
    assert_int_equal(first->column, 5); /* characters, not bytes */
    const ch_tree_node *list = ch_tree_get(root, "list");
    assert_int_equal(list->count, 2);
    const ch_tree_node *map = list->first->next;
    assert_int_equal(map->line, 3);
    assert_int_equal(map->column, 11);
    assert_int_equal(map->first->key_column, 12);
    assert_int_equal(map->first->column, 16);
    const ch_tree_node *last = ch_tree_get(root, "last");
    assert_int_equal(last->key_line, 4);
    assert_true(last->first->quoted);
    assert_int_equal(last->first->line, 5);
    assert_int_equal(last->first->column, 5);
    assert_null(ch_tree_get(root, "lost"));
    assert_null(ch_tree_get(first, "any"));
    ch_tree_free(tree);
}

static void line_ends_of_every_system_count_once(void **state)
{
    (void)state;
    static const char *const texts[] = {"a: 1\nb: 2\nc: 3\n", "a: 1\r\nb: 2\r\nc: 3\r\n", "a: 1\rb: 2\rc: 3\r",
                                        ("\xEF\xBB\xBF"
                                         "a: 1\nb: 2\nc: 3")};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        ch_tree *tree = read_as("t.yaml", texts[i]);
        const ch_tree_node *c = ch_tree_get(ch_tree_root(tree), "c");
        assert_non_null(c);
        assert_int_equal(c->line, 3);
        assert_int_equal(c->key_column, 1);
        assert_string_equal(c->text, "3");
        assert_int_equal(ch_tree_root(tree)->column, 1);
        ch_tree_free(tree);
    }
}

static void a_scalar_stays_text(void **state)
{
    (void)state;
    ch_tree *tree = read_as("t.yaml", "{a: 178 psi, b: \"178 psi\", c: 0x10, d: yes, e: , f: ~, g: 'null', h: null}");
    const ch_tree_node *root = ch_tree_root(tree);
    assert_string_equal(ch_tree_get(root, "a")->text, ch_tree_get(root, "b")->text);
    assert_string_equal(ch_tree_get(root, "c")->text, "0x10");
    assert_string_equal(ch_tree_get(root, "d")->text, "yes");
    assert_true(ch_tree_is_null(ch_tree_get(root, "e")));
    assert_true(ch_tree_is_null(ch_tree_get(root, "f")));
    assert_false(ch_tree_is_null(ch_tree_get(root, "g")));
    assert_true(ch_tree_is_null(ch_tree_get(root, "h")));
    assert_int_equal(ch_tree_get(root, "e")->column, 45); /* nothing there: the key's place */
    ch_tree_free(tree);
}

/* Whatever libfyaml makes of them inside: no line at all, and pieces beyond what it keeps at hand. */
static void odd_scalars_are_read_whole(void **state)
{
    (void)state;
    static const char *const empty[] = {"a: |\n  ", "a: |\n", "a: >\n\n", "a: ''", "a: \"\""};
    for (size_t i = 0; i < sizeof empty / sizeof *empty; i++) {
        ch_tree *tree = read_as("t.yaml", empty[i]);
        assert_string_equal(ch_tree_root(tree)->first->text, "");
        assert_true(ch_tree_root(tree)->first->quoted);
        ch_tree_free(tree);
    }
    char text[256] = "a: '", quotes[64] = "";
    for (int i = 0; i < 60; i++) {
        strcat(text, "''");
        strcat(quotes, "'");
    }
    strcat(text, "'");
    ch_tree *tree = read_as("t.yaml", text);
    assert_string_equal(ch_tree_root(tree)->first->text, quotes);
    ch_tree_free(tree);
    /* YAML 1.2.2, examples 7.7 and 7.9 (quotes, lines folded in single quotes). */
    tree = read_as("t.yaml", "a: 'x''''y'\nb: ' 1st non-empty\n\n 2nd non-empty \n  3rd non-empty '\n"
                             "c: 'here''s to \"quotes\"'\nd: 'p \r\n  q\r\n\r\n  '");
    assert_string_equal(ch_tree_get(ch_tree_root(tree), "a")->text, "x''y");
    assert_string_equal(ch_tree_get(ch_tree_root(tree), "b")->text, " 1st non-empty\n2nd non-empty 3rd non-empty ");
    assert_string_equal(ch_tree_get(ch_tree_root(tree), "c")->text, "here's to \"quotes\"");
    assert_string_equal(ch_tree_get(ch_tree_root(tree), "d")->text, "p q\n");
    ch_tree_free(tree);
    tree = read_as("t.yaml", "a: >-\n  one\n  two\n\n  three\nb: |\n  x\n   y\nc: \"p\n  q\\n\"");
    assert_string_equal(ch_tree_get(ch_tree_root(tree), "a")->text, "one two\nthree");
    assert_string_equal(ch_tree_get(ch_tree_root(tree), "b")->text, "x\n y\n");
    assert_string_equal(ch_tree_get(ch_tree_root(tree), "c")->text, "p q\n");
    ch_tree_free(tree);
}

/* What libfyaml 0.7.12 gets wrong is read by ourselves (quoted.c, folded.c). Source: YAML 1.2.2, 5.7, 6.5, 7.3 and 8.1.3. */
static void quotes_and_folds_follow_the_standard(void **state)
{
    (void)state;
    static const struct {
        const char *written, *meant;
    } scalars[] = {
        {"\"\\\" \\\\ \\/ \\x41 \\u00e9 \\U0001F527 \\ud83d\\udd27\"",
         "\" \\ / A \xC3\xA9 \xF0\x9F\x94\xA7 \xF0\x9F\x94\xA7"},
        {"\"\\a\\b\\t\\n\\v\\f\\r\\e\\ \\_\\N\\L\\P\"", "\a\b\t\n\v\f\r\x1B \xC2\xA0\xC2\x85\xE2\x80\xA8\xE2\x80\xA9"},
        {"\"one \\\\\\\n  two\"", "one \\two"},
        {"\"one  \\\n\n  \\ two \n  three\\t\n  four\"", "one  \n two three\t four"},
        {"\"one\n\n\n  two\"", "one\n\ntwo"},
        {">\n  one\n  two\n\n  three\n", "one two\nthree\n"},
        {">-\n  one\n\n   deeper\n  two\n\n", "one\n\n deeper\ntwo"},
        {">+ # remark with >\n\n  one\n \n\n", "\none\n\n\n"},
        {"# a > sign\n  >\r\n  one\r\n  two", "one two\n"},
        {">-\n", ""},
        {">+\n   one\n # remark", "one\n"},
    };
    for (size_t i = 0; i < sizeof scalars / sizeof *scalars; i++) {
        char text[200];
        snprintf(text, sizeof text, "key: %s", scalars[i].written);
        ch_tree *tree = read_as("t.yaml", text);
        assert_string_equal(ch_tree_root(tree)->first->text, scalars[i].meant);
        ch_tree_free(tree);
    }
    refuse("a: \"\\ud83d\"", "t.yaml:1:5: not valid YAML: double-quoted scalar has invalid UTF8 escape");
    refuse("a: \"\\udd27\"", "t.yaml:1:5: not valid YAML: double-quoted scalar has invalid UTF8 escape");
    refuse("a: \"\\U00110000\"", "t.yaml:1:5: not valid YAML: double-quoted scalar has invalid UTF8 escape");
    refuse("a: >2\n    x\n", "t.yaml:2:1: a folded text that states its indentation: the text in quotes, or > alone");
}

static void what_is_not_text_is_refused_where_it_begins(void **state)
{
    (void)state;
    refuse("", "t.yaml:1:1: the file is empty");
    refuse("\xEF\xBB\xBF", "t.yaml:1:1: the file is empty");
    refuse("# only a remark\n", "t.yaml:1:1: the file holds no value");
    refuse("a: 1\nb: \xC3\xA9\xFF", "t.yaml:2:5: byte 0xFF is not UTF-8: a text file, saved as UTF-8");
    refuse("a: \xED\xA0\x80", "t.yaml:1:4: byte 0xED is not UTF-8: a text file, saved as UTF-8"); /* a surrogate */
    refuse("a: \xC0\x80", "t.yaml:1:4: byte 0xC0 is not UTF-8: a text file, saved as UTF-8");     /* overlong */
    refuse("a: \xF4\x90\x80\x80", "t.yaml:1:4: byte 0xF4 is not UTF-8: a text file, saved as UTF-8");
    refuse("a: \xE2\x82", "t.yaml:1:4: byte 0xE2 is not UTF-8: a text file, saved as UTF-8"); /* cut off */
    refuse("\xFF\xFEs\0", "t.yaml:1:1: byte 0xFF is not UTF-8: a text file, saved as UTF-8"); /* UTF-16 */
    expect_refused("t.yaml", "a: 1\n\0b", 7, CH_E_INPUT,
                   "t.yaml:2:1: control character 0x00: a text file, saved as UTF-8");
    refuse("\x7F"
           "ELF\x02\x01",
           "t.yaml:1:5: control character 0x02: a text file, saved as UTF-8");
}

/* libfyaml 0.7.12 reads through a wild pointer there; found by the fuzzer. */
static void a_question_key_with_a_tab_behind_a_colon_is_refused_before_the_library_sees_it(void **state)
{
    (void)state;
    static const char *const texts[] = {"? x:\t>",   "a: 1\n? b:  \t|\n  c", "- ? x\ny:\t?",
                                        "{? x:\t1}", "?\n  x:\t>",           "x: y:\t1\n?"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        ch_tree *tree = NULL;
        ch_err err = {0};
        assert_int_equal(ch_tree_parse("t.yaml", texts[i], strlen(texts[i]), &tree, &err), CH_E_INPUT);
        assert_string_equal(err.what, "a tab behind a colon");
    }
    refuse("a: 1\n? b:  \t|\n", "t.yaml:2:7: a tab behind a colon: a blank");
    /* a question alone, or a tab alone, harms nothing */
    ch_tree *tree = read_as("t.yaml", "a: why? it leaks\nb:\t2\n");
    assert_int_equal(ch_tree_root(tree)->count, 2);
    ch_tree_free(tree);
}

static void what_a_data_file_never_needs_is_refused(void **state)
{
    (void)state;
    refuse("a: &x 1\n", "t.yaml:1:4: an anchor (&name) has no place in this file: the value itself, or quotes around a "
                        "text that begins with &");
    refuse("a: 1\nb: *x\n", "t.yaml:2:4: an alias (*name) has no place in this file: the value itself, or quotes "
                            "around a text that begins with *");
    refuse("a: !!str 2\n", "t.yaml:1:4: a tag (!name) has no place in this file: the value itself, or quotes around a "
                           "text that begins with !");
    refuse("a: &l [lol]\nb: [*l, *l]\n", "t.yaml:1:4: an anchor (&name) has no place in this file: the value itself, "
                                         "or quotes around a text that begins with &");
    refuse("a: 1\n---\nb: 2\n", "t.yaml:2:1: a second document begins here: one document in a file");
    refuse("? [a]\n: b\n", "t.yaml:1:3: a key that is a list or a map: a word and a colon");
    refuse("a: 1\nb: {c: 1, d: 2, c: 3}\n", "t.yaml:2:17: key \"c\" stands here again; first on line 2: each key once");
    refuse("a: 1\nb: 2\nb: 3\na: 4\n", "t.yaml:3:1: key \"b\" stands here again; first on line 2: each key once");
    /* A comma of a decimal or of thousands inside braces; a set of bare keys is none. */
    refuse("a: 1\nb: {c: 1, reading: 128,5 psi}\n",
           "t.yaml:2:20: 128,5 psi: in braces the comma ends the value: quotes around it: \"128,5 psi\"");
    refuse("{odometer: 210,000 mi, b: 2}",
           "t.yaml:1:12: 210,000 mi: in braces the comma ends the value: quotes around it: \"210,000 mi\"");
    refuse("[{a: -1,5}]", "t.yaml:1:6: -1,5: in braces the comma ends the value: quotes around it: \"-1,5\"");
    refuse("a: 1\n\"a\": 4\n", "t.yaml:2:1: key \"a\" stands here again; first on line 1: each key once");
}

static void a_slip_of_grammar_is_shown_where_it_is(void **state)
{
    (void)state;
    refuse("a: [1\n", "t.yaml:2:1: not valid YAML: flow sequence without a closing bracket");
    refuse("a:\n\tb: 1\n", "t.yaml:2:1: not valid YAML: tab character may not be used as indentation");
    refuse("a: b: c\n", "t.yaml:1:5: not valid YAML: invalid nested block mapping on the same line");
    refuse("%YAML 2.2\n---\na: 1\n", "t.yaml:1:1: not valid YAML"); /* libfyaml stops here without a word */
    refuse("a: \"x\n", "t.yaml:1:5: not valid YAML: double-quoted scalar without closing quote");
}

static void sixteen_levels_are_enough(void **state)
{
    (void)state;
    char text[64] = "";
    memset(text, '[', 16);
    memset(text + 16, ']', 16);
    ch_tree_free(read_as("t.yaml", text));
    memset(text, '[', 17);
    memset(text + 17, ']', 17);
    expect_refused("t.yaml", text, 34, CH_E_LIMIT, "t.yaml:1:17: lists and maps nested too deep: at most 16 levels");
    const size_t many = 100000;
    char *deep = malloc(many);
    assert_non_null(deep);
    memset(deep, '[', many);
    ch_tree *tree = NULL;
    assert_true(ch_tree_parse("t.yaml", deep, many, &tree, NULL) < 0);
    assert_true(ch_tree_parse("t.json", deep, many, &tree, NULL) < 0);
    for (size_t i = 0; i + 1 < many; i += 2)
        memcpy(deep + i, "[\n", 2);
    ch_err err = {0};
    assert_int_equal(ch_tree_parse("t.yaml", deep, many, &tree, &err), CH_E_LIMIT);
    assert_int_equal(err.line, 17);
    assert_null(tree);
    free(deep);
}

static void size_is_limited(void **state)
{
    (void)state;
    const size_t huge = (size_t)100 * 1000 * 1000; /* one line of 100 MB */
    char *line = malloc(huge);
    assert_non_null(line);
    memset(line, 'a', huge);
    expect_refused("t.yaml", line, huge, CH_E_LIMIT, "t.yaml: the file has 100000000 bytes: at most 4 MiB");
    ch_tree *tree = NULL;
    assert_int_equal(ch_tree_parse("t.yaml", line, CH_TREE_BYTES_MAX, &tree, NULL), CH_OK);
    assert_int_equal(ch_tree_root(tree)->length, CH_TREE_BYTES_MAX);
    ch_tree_free(tree);
    tree = NULL;
    line[0] = '[';
    for (size_t i = 1; i + 1 < CH_TREE_BYTES_MAX; i += 2)
        memcpy(line + i, "a,", 2);
    ch_err err = {0};
    assert_int_equal(ch_tree_parse("t.yaml", line, CH_TREE_BYTES_MAX, &tree, &err), CH_E_LIMIT);
    assert_string_equal(err.what, "the document has too many parts");
    free(line);
}

static void many_keys_are_compared_in_good_time(void **state)
{
    (void)state;
    const size_t keys = 200000;
    char *text = malloc(keys * 12 + 16);
    assert_non_null(text);
    size_t used = 0;
    for (size_t i = 0; i < keys; i++)
        used += (size_t)sprintf(text + used, "k%zu: 1\n", i);
    ch_tree *tree = NULL;
    assert_int_equal(ch_tree_parse("t.yaml", text, used, &tree, NULL), CH_OK);
    assert_int_equal(ch_tree_root(tree)->count, keys);
    ch_tree_free(tree);
    tree = NULL;
    used += (size_t)sprintf(text + used, "k7: 1\n");
    ch_err err = {0};
    assert_int_equal(ch_tree_parse("t.yaml", text, used, &tree, &err), CH_E_INPUT);
    assert_string_equal(err.what, "key \"k7\" stands here again; first on line 8");
    assert_int_equal(err.line, 200001);
    free(text);
}

static void a_json_name_asks_for_json(void **state)
{
    (void)state;
    ch_tree_free(read_as("t.json", "{\"a\":\t[1, \"\\u00e9\\ud834\\udd1e\"]}"));
    ch_tree *tree = NULL;
    assert_int_equal(ch_tree_parse("T.JSON", "a: 1", 4, &tree, NULL), CH_E_INPUT);
    assert_int_equal(ch_tree_parse("t.json", "{'a': 1}", 8, &tree, NULL), CH_E_INPUT);
    assert_int_equal(ch_tree_parse("t.json", "{\"a\": 1,}", 9, &tree, NULL), CH_E_INPUT);
    assert_null(tree);
    ch_err err = {0};
    assert_int_equal(ch_tree_parse("t.json", "{\"a\": 1,\n \"b\" 2}", 16, &tree, &err), CH_E_INPUT);
    assert_int_equal(err.line, 2);
    assert_non_null(strstr(err.what, "not valid JSON: "));
}

/* Source: N. Seriot, JSONTestSuite, folder test_parsing (tests/data/json-conformance/SOURCE.md). */
static void json_is_read_as_rfc_8259_has_it(void **state)
{
    (void)state;
    char folder[4096], path[8192];
    snprintf(folder, sizeof folder, "%s/tests/data/json-conformance/test_parsing", getenv("CROSSHATCH_SOURCE"));
    DIR *dir = opendir(folder);
    assert_non_null(dir);
    static char text[300000];
    int accepted = 0, refused = 0, either = 0;
    for (struct dirent *entry; (entry = readdir(dir)) != NULL;) {
        if (strstr(entry->d_name, ".json") == NULL)
            continue;
        snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        FILE *file = fopen(path, "rb");
        assert_non_null(file);
        const size_t length = fread(text, 1, sizeof text, file);
        fclose(file);
        assert_true(length < sizeof text);
        ch_tree *tree = NULL;
        ch_err err = {0};
        const ch_status rc = ch_tree_parse(entry->d_name, text, length, &tree, &err);
        ch_tree_free(tree);
        if (entry->d_name[0] == 'i') {
            either++;
        } else if (strcmp(entry->d_name, "y_object_duplicated_key.json") == 0) {
            /* Valid by the letter (RFC 8259, section 4: "SHOULD be unique"), refused by us: one of two readings would be lost in silence. */
            assert_int_equal(rc, CH_E_INPUT);
            assert_non_null(strstr(err.what, "stands here again"));
        } else if (entry->d_name[0] == 'y') {
            if (rc != CH_OK)
                fail_msg("%s is refused: %s", entry->d_name, err.what);
            accepted++;
        } else {
            if (rc >= 0)
                fail_msg("%s is accepted", entry->d_name);
            refused++;
        }
    }
    closedir(dir);
    assert_true(accepted >= 60 && refused >= 120 && either >= 20); /* the files are there */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_part_knows_its_place),
        cmocka_unit_test(line_ends_of_every_system_count_once),
        cmocka_unit_test(a_scalar_stays_text),
        cmocka_unit_test(odd_scalars_are_read_whole),
        cmocka_unit_test(quotes_and_folds_follow_the_standard),
        cmocka_unit_test(what_is_not_text_is_refused_where_it_begins),
        cmocka_unit_test(what_a_data_file_never_needs_is_refused),
        cmocka_unit_test(a_slip_of_grammar_is_shown_where_it_is),
        cmocka_unit_test(sixteen_levels_are_enough),
        cmocka_unit_test(size_is_limited),
        cmocka_unit_test(a_question_key_with_a_tab_behind_a_colon_is_refused_before_the_library_sees_it),
        cmocka_unit_test(many_keys_are_compared_in_good_time),
        cmocka_unit_test(a_json_name_asks_for_json),
        cmocka_unit_test(json_is_read_as_rfc_8259_has_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
