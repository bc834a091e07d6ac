/*
 * Promises of car/part_lives.c: what is read of part_lives.yaml, every refusal with its place, and what the built-in file holds.
 * The small file of tests/data/upkeep-bad/ is right; each refusal comes from one change of its text.
 */
#include "crosshatch/part_lives.h"

#include "fail_alloc.h"
#include "spoilt.h"

static ch_knowledge knowledge;
static ch_jobs jobs;
static char small[SPOILT_BYTES_MAX], changed[SPOILT_BYTES_MAX];

static int load(void **state)
{
    (void)state;
    spoilt_read("tests/data/upkeep-bad/part_lives.yaml", small);
    if (ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL) != CH_OK)
        return -1;
    return ch_jobs_parse(&jobs, &knowledge, ch_jobs_builtin(), NULL) == CH_OK ? 0 : -1;
}

static int unload(void **state)
{
    (void)state;
    ch_jobs_clear(&jobs);
    ch_knowledge_clear(&knowledge);
    return 0;
}

static void parse(ch_part_lives *lives, const ch_knowledge_text *text)
{
    ch_err err = {0};
    if (ch_part_lives_parse(lives, &jobs, text, &err) != CH_OK) {
        char line[800];
        ch_err_format(&err, line, sizeof line);
        fail_msg("%s", line);
    }
}

static void parse_small(ch_part_lives *lives)
{
    const ch_knowledge_text text = {"part_lives.yaml", small, strlen(small)};
    parse(lives, &text);
}

static void refuse(const char *from, const char *to, const char *line)
{
    spoilt_change(small, from, to, changed);
    const ch_knowledge_text text = {"part_lives.yaml", changed, strlen(changed)};
    ch_part_lives lives;
    memset(&lives, 0x5A, sizeof lives);
    const ch_part_lives before = lives;
    ch_err err = {0};
    assert_int_equal(ch_part_lives_parse(&lives, &jobs, &text, &err), CH_E_INPUT);
    char got[800];
    ch_err_format(&err, got, sizeof got);
    assert_string_equal(got, line);
    assert_memory_equal(&lives, &before, sizeof lives);
}

static void expect_limit(const ch_life_limit *limit, ch_life_by by, double limit_si, double soon_si)
{
    assert_int_equal(limit->by, by);
    expect_relative(limit->limit_si, limit_si, 1e-12); /* one multiplication */
    expect_relative(limit->soon_si, soon_si, 1e-12);
}

static void lives_are_read_in_si(void **state)
{
    (void)state;
    ch_part_lives l;
    parse_small(&l);
    assert_string_equal(l.source, "lives invented for tests");
    assert_int_equal(l.count, 2);
    const ch_part_life *oil = ch_part_life_find(&l, "oil", 3), *pads = ch_part_life_find(&l, "pads", 4);
    assert_string_equal(oil->title, "Oil");
    assert_string_equal(oil->why, "It ages.");
    assert_string_equal(oil->source, "lives invented for tests");
    assert_true(oil->drives[CH_DRIVE_REAR] && oil->drives[CH_DRIVE_FRONT]);
    assert_int_equal(oil->limits_count, 3);
    expect_limit(&oil->limits[0], CH_LIFE_HOURS, 25200, 20160); /* soon from four fifths on */
    expect_limit(&oil->limits[1], CH_LIFE_AGE_FITTED, 24, 18);
    expect_limit(&oil->limits[2], CH_LIFE_DISTANCE, 5e6, 4e6);
    assert_string_equal(oil->limits[1].source, "a source of its own");
    assert_string_equal(oil->limits[0].source, "lives invented for tests");
    assert_int_equal(oil->jobs.count, 2);
    assert_string_equal(jobs.jobs[oil->jobs.at[0]].work.id, "oil_change");
    assert_false(pads->drives[CH_DRIVE_FRONT]);
    expect_limit(&pads->limits[0], CH_LIFE_PART_LEFT, 0.5, 0.6);
    expect_limit(&pads->limits[1], CH_LIFE_DEPTH, 1.6e-3, 2e-3);
    assert_int_equal(pads->limits[2].by, CH_LIFE_PRINTED_MINIMUM);
    assert_true(isnan(pads->limits[2].limit_si) && isnan(pads->limits[2].soon_si));
    assert_string_equal(pads->limits[2].source, "a part's own source");
    assert_int_equal(pads->jobs.count, 0);
    assert_null(ch_part_life_find(&l, "oi", 2));
    ch_part_lives_clear(&l);
    assert_null(l.pieces);
    ch_part_lives_clear(&l);
}

static void what_falls_is_due_from_above(void **state)
{
    (void)state;
    assert_true(ch_life_falls(CH_LIFE_PART_LEFT) && ch_life_falls(CH_LIFE_DEPTH) &&
                ch_life_falls(CH_LIFE_PRINTED_MINIMUM));
    assert_false(ch_life_falls(CH_LIFE_HOURS) || ch_life_falls(CH_LIFE_PRINTED_DATE) ||
                 ch_life_falls(CH_LIFE_BY_COUNT));
    assert_string_equal(ch_life_by_name(CH_LIFE_HEAT_CYCLES), "heat_cycles");
    assert_null(ch_life_by_name(CH_LIFE_BY_COUNT));
}

static void what_breaks_a_rule_is_refused(void **state)
{
    (void)state;
    refuse("knowledge: part_lives", "knowledge: parts", "part_lives.yaml:2:12: knowledge is \"parts\": part_lives");
    refuse("by: hours", "by: hour", "part_lives.yaml:10:14: by is \"hour\": hours");
    refuse("limit: 7}", "limit: 0}", "part_lives.yaml:10:28: limit is 0: a number above 0");
    refuse("limit: 7}", "limit: 7 h}", "part_lives.yaml:10:28: limit is \"7 h\", not a plain number: a number above 0");
    refuse(", limit: 7}", "}", "part_lives.yaml:10:9: \"limit\" is missing here");
    refuse("soon: 1.5", "soon: 2.5", "part_lives.yaml:11:42: soon is after the limit: before the limit is reached");
    refuse("soon: 0.6", "soon: 0.4", "part_lives.yaml:19:43: soon is after the limit: before the limit is reached");
    refuse("limit: 0.5", "limit: 1.5", "part_lives.yaml:19:32: limit is 1.5: more than 0, up to 1");
    refuse("{by: printed_minimum}", "{by: printed_minimum, limit: 22}",
           "part_lives.yaml:21:38: a limit of printed_minimum: no limit: the part carries it");
    refuse("{by: printed_minimum}", "{by: printed_minimum, soon: 22}",
           "part_lives.yaml:21:37: a limit of printed_minimum: no limit: the part carries it");
    refuse("by: distance", "by: hours", "part_lives.yaml:12:9: hours stands here again: each way of counting once");
    refuse("[oil_change, battery]", "[oil_chance, battery]",
           "part_lives.yaml:13:12: there is no job \"oil_chance\": oil_change");
    refuse("    jobs: []\n", "", "part_lives.yaml:14:5: \"jobs\" is missing here");
    refuse("id: pads", "id: oil", "part_lives.yaml:14:9: \"oil\" stands here again; first on line 6: each name once");
    refuse("drive: rear", "drives: rear", "part_lives.yaml:17:5: unknown key \"drives\": drive");
    refuse(small, "[]", "part_lives.yaml:1:1: not a knowledge file: keys and values, as docs/knowledge.md has them");
}

static void no_memory_is_reported_and_touches_nothing(void **state)
{
    (void)state;
    const ch_knowledge_text text = {"part_lives.yaml", small, strlen(small)};
    long n = 1;
    for (;; n++) {
        ch_part_lives lives;
        memset(&lives, 0x5A, sizeof lives);
        const ch_part_lives before = lives;
        fail_alloc_at(n);
        const ch_status rc = ch_part_lives_parse(&lives, &jobs, &text, NULL);
        if (!fail_alloc_stop()) {
            assert_int_equal(rc, CH_OK);
            ch_part_lives_clear(&lives);
            break;
        }
        assert_int_equal(rc, CH_E_MEMORY);
        assert_memory_equal(&lives, &before, sizeof lives);
    }
    assert_true(n > 8); /* tree, parts, limits, jobs, names */
}

/* ---- the built-in file ---- */

static void the_built_in_file_is_that_of_the_source(void **state)
{
    (void)state;
    spoilt_expect_builtin(ch_part_lives_builtin(), "part_lives.yaml", changed);
}

/* What wears out on track and hurts when forgotten has a life, counted so: common practice. */
static void what_wears_out_has_a_life(void **state)
{
    (void)state;
    static const struct {
        const char *part;
        ch_life_by by;
    } expected[] = {
        {"engine_oil", CH_LIFE_HOURS},
        {"brake_fluid", CH_LIFE_AGE_FITTED},
        {"brake_pads_front", CH_LIFE_PART_LEFT},
        {"brake_discs", CH_LIFE_PRINTED_MINIMUM},
        {"hubs", CH_LIFE_SESSIONS},
        {"wheel_studs", CH_LIFE_SESSIONS},
        {"timing_belt", CH_LIFE_AGE_FITTED},
        {"clutch_plate", CH_LIFE_HEAT_CYCLES},
        {"tyres", CH_LIFE_AGE_MADE},
        {"tyres", CH_LIFE_DEPTH},
        {"harness", CH_LIFE_PRINTED_DATE},
        {"helmet", CH_LIFE_AGE_FITTED},
        {"engine_oil", CH_LIFE_DISTANCE},
    };
    ch_part_lives l;
    parse(&l, ch_part_lives_builtin());
    for (size_t i = 0; i < sizeof expected / sizeof expected[0]; i++) {
        const ch_part_life *part = ch_part_life_find(&l, expected[i].part, strlen(expected[i].part));
        assert_non_null(part);
        size_t k = 0;
        while (k < part->limits_count && part->limits[k].by != expected[i].by)
            k++;
        if (k == part->limits_count)
            fail_msg("%s is not counted in %s", expected[i].part, ch_life_by_name(expected[i].by));
    }
    ch_part_lives_clear(&l);
}

/* A part for one drive is renewed by jobs for that drive. */
static void what_renews_a_part_holds_for_its_drive(void **state)
{
    (void)state;
    ch_part_lives l;
    parse(&l, ch_part_lives_builtin());
    for (size_t i = 0; i < l.count; i++)
        for (size_t k = 0; k < l.parts[i].jobs.count; k++)
            for (int drive = 0; drive < CH_DRIVES; drive++)
                assert_true(!l.parts[i].drives[drive] || jobs.jobs[l.parts[i].jobs.at[k]].work.drives[drive]);
    ch_part_lives_clear(&l);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lives_are_read_in_si),
        cmocka_unit_test(what_falls_is_due_from_above),
        cmocka_unit_test(what_breaks_a_rule_is_refused),
        cmocka_unit_test(no_memory_is_reported_and_touches_nothing),
        cmocka_unit_test(the_built_in_file_is_that_of_the_source),
        cmocka_unit_test(what_wears_out_has_a_life),
        cmocka_unit_test(what_renews_a_part_holds_for_its_drive),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
