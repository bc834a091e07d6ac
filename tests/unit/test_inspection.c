/*
 * Promises of car/inspection.c: what is read of inspection.yaml, every refusal with its place, and what the built-in list holds.
 * The small file of tests/data/upkeep-bad/ is right; each refusal comes from one change of its text.
 */
#include "crosshatch/inspection.h"

#include "fail_alloc.h"
#include "spoilt.h"

static ch_knowledge knowledge;
static ch_jobs jobs;
static ch_part_lives lives, builtin_lives;
static char small[SPOILT_BYTES_MAX], changed[SPOILT_BYTES_MAX];

static int load(void **state)
{
    (void)state;
    const size_t length = spoilt_read("tests/data/upkeep-bad/part_lives.yaml", changed);
    const ch_knowledge_text text = {"part_lives.yaml", changed, length};
    spoilt_read("tests/data/upkeep-bad/inspection.yaml", small);
    if (ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL) != CH_OK ||
        ch_jobs_parse(&jobs, &knowledge, ch_jobs_builtin(), NULL) != CH_OK ||
        ch_part_lives_parse(&lives, &jobs, &text, NULL) != CH_OK)
        return -1;
    return ch_part_lives_parse(&builtin_lives, &jobs, ch_part_lives_builtin(), NULL) == CH_OK ? 0 : -1;
}

static int unload(void **state)
{
    (void)state;
    ch_part_lives_clear(&builtin_lives);
    ch_part_lives_clear(&lives);
    ch_jobs_clear(&jobs);
    ch_knowledge_clear(&knowledge);
    return 0;
}

static void parse(ch_inspection *inspection, const ch_part_lives *with, const ch_knowledge_text *text)
{
    ch_err err = {0};
    if (ch_inspection_parse(inspection, &knowledge, with, text, &err) != CH_OK) {
        char line[800];
        ch_err_format(&err, line, sizeof line);
        fail_msg("%s", line);
    }
}

static void refuse(const char *from, const char *to, const char *line)
{
    spoilt_change(small, from, to, changed);
    const ch_knowledge_text text = {"inspection.yaml", changed, strlen(changed)};
    ch_inspection inspection;
    memset(&inspection, 0x5A, sizeof inspection);
    const ch_inspection before = inspection;
    ch_err err = {0};
    assert_int_equal(ch_inspection_parse(&inspection, &knowledge, &lives, &text, &err), CH_E_INPUT);
    char got[800];
    ch_err_format(&err, got, sizeof got);
    assert_string_equal(got, line);
    assert_memory_equal(&inspection, &before, sizeof inspection);
}

static void an_item_is_read_with_all_it_says(void **state)
{
    (void)state;
    const ch_knowledge_text text = {"inspection.yaml", small, strlen(small)};
    ch_inspection i;
    parse(&i, &lives, &text);
    assert_string_equal(i.source, "items invented for tests");
    assert_int_equal(i.areas_count, 2);
    assert_int_equal(i.count, 2);
    const ch_inspection_item *nuts = ch_inspection_find(&i, "nuts", 4), *pedal = ch_inspection_find(&i, "pedal", 5);
    assert_string_equal(i.areas[nuts->area].id, "wheels");
    assert_string_equal(i.areas[nuts->area].title, "Wheels");
    assert_string_equal(nuts->title, "Nuts");
    assert_string_equal(nuts->look, "Tight?");
    assert_string_equal(nuts->limit, "Tight.");
    assert_string_equal(nuts->limit_source, "a limit's own source");
    assert_string_equal(nuts->source, "items invented for tests");
    assert_int_equal(nuts->tools_count, 2);
    assert_string_equal(nuts->tools[1], "Torch");
    assert_int_equal(nuts->when, CH_INSPECT_HOME | CH_INSPECT_FIRST_SESSION);
    assert_true(nuts->stops);
    assert_int_equal(nuts->cautions.count, 2);
    assert_string_equal(knowledge.cautions[nuts->cautions.at[0]].id, "wheel_comes_off"); /* gravest first */
    assert_string_equal(nuts->part, "pads");
    assert_string_equal(i.areas[pedal->area].id, "brakes");
    assert_null(pedal->limit);
    assert_null(pedal->limit_source);
    assert_null(pedal->part);
    assert_false(pedal->stops);
    assert_int_equal(pedal->cautions.count, 0);
    assert_int_equal(pedal->when, CH_INSPECT_SESSION);
    assert_string_equal(pedal->source, "an item's own source");
    assert_null(ch_inspection_find(&i, "nut", 3));
    ch_inspection_clear(&i);
    assert_null(i.pieces);
    ch_inspection_clear(&i);
}

static void every_time_to_look_has_a_name(void **state)
{
    (void)state;
    assert_string_equal(ch_inspection_when_name(CH_INSPECT_HOME), "home");
    assert_string_equal(ch_inspection_when_name(CH_INSPECT_EVENT), "event");
    assert_string_equal(ch_inspection_when_name(CH_INSPECT_FIRST_SESSION), "first_session");
    assert_string_equal(ch_inspection_when_name(CH_INSPECT_SESSION), "session");
    assert_null(ch_inspection_when_name(0));
    assert_null(ch_inspection_when_name(CH_INSPECT_HOME | CH_INSPECT_EVENT));
}

static void what_breaks_a_rule_is_refused(void **state)
{
    (void)state;
    refuse("version: 1", "version: 3", "inspection.yaml:3:10: version is \"3\": 1");
    refuse("area: wheels", "area: wheel", "inspection.yaml:10:11: there is no area \"wheel\": wheels");
    refuse("    area: brakes\n", "", "inspection.yaml:20:5: \"area\" is missing here");
    refuse("    limit_source: \"a limit's own source\"\n", "",
           "inspection.yaml:9:5: limit without limit_source: both or neither");
    refuse("    limit: \"Tight.\"\n", "", "inspection.yaml:9:5: limit_source without limit: both or neither");
    refuse("[home, first_session]", "[]",
           "inspection.yaml:16:11: an item that is never looked at: home, event, first_session or session");
    refuse("[home, first_session]", "[home, sessions]",
           "inspection.yaml:16:18: there is no time to look \"sessions\": session");
    refuse("[home, first_session]", "[home, home]",
           "inspection.yaml:16:18: time to look \"home\" stands here again: each once");
    refuse("stops: true", "stops: yes", "inspection.yaml:17:12: stops is \"yes\": one of false, true");
    refuse("[hot_parts, wheel_comes_off]", "[hot_part]",
           "inspection.yaml:18:16: there is no caution \"hot_part\": hot_parts");
    refuse("part: pads", "part: pad", "inspection.yaml:19:11: there is no part \"pad\": pads");
    refuse("id: pedal", "id: nuts",
           "inspection.yaml:20:9: \"nuts\" stands here again; first on line 9: each name once");
    refuse("    tools: []\n", "", "inspection.yaml:20:5: \"tools\" is missing here");
    refuse("brakes: \"Brakes\"", "Brakes: \"Brakes\"",
           "inspection.yaml:6:3: \"Brakes\" is not an id: small letters, digits and _, a letter first");
    refuse("look: \"Firm?\"", "looks: \"Firm?\"", "inspection.yaml:23:5: unknown key \"looks\": look");
}

static void no_memory_is_reported_and_touches_nothing(void **state)
{
    (void)state;
    const ch_knowledge_text text = {"inspection.yaml", small, strlen(small)};
    long n = 1;
    for (;; n++) {
        ch_inspection inspection;
        memset(&inspection, 0x5A, sizeof inspection);
        const ch_inspection before = inspection;
        fail_alloc_at(n);
        const ch_status rc = ch_inspection_parse(&inspection, &knowledge, &lives, &text, NULL);
        if (!fail_alloc_stop()) {
            assert_int_equal(rc, CH_OK);
            ch_inspection_clear(&inspection);
            break;
        }
        assert_int_equal(rc, CH_E_MEMORY);
        assert_memory_equal(&inspection, &before, sizeof inspection);
    }
    assert_true(n > 8); /* tree, areas, items, tools, times, cautions, names */
}

/* ---- the built-in list ---- */

static void the_built_in_list_is_that_of_the_source(void **state)
{
    (void)state;
    spoilt_expect_builtin(ch_inspection_builtin(), "inspection.yaml", changed);
}

/* What the sheets of inspectors have, and when: common practice. */
static void the_built_in_list_has_all_that_is_forgotten(void **state)
{
    (void)state;
    static const struct {
        const char *item;
        unsigned when;
        bool stops;
    } expected[] = {
        {"wheel_nuts", CH_INSPECT_HOME | CH_INSPECT_SESSION, true},
        {"wheel_nuts_again", CH_INSPECT_FIRST_SESSION, true},
        {"brake_pads", CH_INSPECT_HOME | CH_INSPECT_SESSION, true},
        {"brake_pedal", CH_INSPECT_SESSION, true},
        {"brake_fluid", CH_INSPECT_HOME, true},
        {"throttle_returns", CH_INSPECT_HOME, true},
        {"battery_fixed", CH_INSPECT_HOME, true},
        {"loose_objects", CH_INSPECT_SESSION, true},
        {"harness", CH_INSPECT_HOME | CH_INSPECT_EVENT, true},
        {"helmet", CH_INSPECT_HOME, true},
        {"oil_level", CH_INSPECT_SESSION, true},
        {"leaks", CH_INSPECT_SESSION, true},
        {"work_closed", CH_INSPECT_HOME, true},
        {"papers", CH_INSPECT_HOME, false},
    };
    ch_inspection i;
    parse(&i, &builtin_lives, ch_inspection_builtin());
    for (size_t k = 0; k < sizeof expected / sizeof expected[0]; k++) {
        const ch_inspection_item *item = ch_inspection_find(&i, expected[k].item, strlen(expected[k].item));
        if (item == NULL || (item->when & expected[k].when) != expected[k].when || item->stops != expected[k].stops)
            fail_msg("%s", expected[k].item);
    }
    ch_inspection_clear(&i);
}

static void every_built_in_area_has_items(void **state)
{
    (void)state;
    ch_inspection i;
    parse(&i, &builtin_lives, ch_inspection_builtin());
    assert_true(i.areas_count >= 9);
    for (size_t area = 0; area < i.areas_count; area++) {
        size_t items = 0;
        for (size_t k = 0; k < i.count; k++)
            items += i.items[k].area == area;
        assert_true(items > 0);
    }
    ch_inspection_clear(&i);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_item_is_read_with_all_it_says),
        cmocka_unit_test(every_time_to_look_has_a_name),
        cmocka_unit_test(what_breaks_a_rule_is_refused),
        cmocka_unit_test(no_memory_is_reported_and_touches_nothing),
        cmocka_unit_test(the_built_in_list_is_that_of_the_source),
        cmocka_unit_test(the_built_in_list_has_all_that_is_forgotten),
        cmocka_unit_test(every_built_in_area_has_items),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
