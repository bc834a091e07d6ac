/* Promises of decide/decision.c and car/assumptions.c. */
#include "crosshatch/decision.h"
#include "crosshatch/jobs.h"
#include "crosshatch/part_lives.h"
#include "expect.h"
#include "fail_alloc.h"

#include <stdlib.h>
#include <string.h>

#define HOUR_S 3600.0

static ch_assumptions assumptions;

static int read_builtin(void **state)
{
    (void)state;
    return ch_assumptions_parse(&assumptions, ch_assumptions_builtin(), NULL) < 0 ? -1 : 0;
}

static int clear(void **state)
{
    (void)state;
    ch_assumptions_clear(&assumptions);
    return 0;
}

/* A forecast of one cylinder whose every draw passes the limit (log area 0) after `over_s` of running. */
static ch_forecast forecast_of(double over_s)
{
    ch_forecast f = {
        .cylinders = 1, .draws = CH_FORECAST_DRAWS, .draw = malloc(2 * CH_FORECAST_DRAWS * sizeof *f.draw)};
    assert_non_null(f.draw);
    for (size_t d = 0; d < f.draws; d++) {
        f.draw[2 * d] = -1e-6 * over_s;
        f.draw[2 * d + 1] = 1e-6;
    }
    return f;
}

static ch_decision decide(const ch_assumptions *a, double over_s, double head_share_1, const ch_decision_event *event,
                          size_t n)
{
    ch_forecast f = forecast_of(over_s);
    const ch_decision_input in = {.forecast = &f,
                                  .log_fault = 0.0,
                                  .head_share_1 = head_share_1,
                                  .assumptions = a,
                                  .event = event,
                                  .events = n,
                                  .seed = 3};
    ch_decision d;
    assert_int_equal(ch_decision_run(&in, &d, NULL), CH_OK);
    ch_forecast_clear(&f);
    return d;
}

/* Every figure fixed at a value. */
static ch_assumptions fixed(void)
{
    ch_assumptions a = assumptions;
    for (int i = 0; i < CH_ASSUME_COUNT; i++)
        a.of[i].low = a.of[i].high = a.of[i].usual;
    return a;
}

static void set(ch_assumptions *a, ch_assumption_id id, double value)
{
    a->of[id].low = a->of[id].usual = a->of[id].high = value;
}

static void one_event_costs_what_a_hand_counts(void **state)
{
    (void)state;
    ch_assumptions a = fixed();
    set(&a, CH_ASSUME_EVENT_VALUE, 400.0);
    set(&a, CH_ASSUME_TOW_HOME, 100.0);
    set(&a, CH_ASSUME_HOUR_VALUE, 10.0);
    set(&a, CH_ASSUME_TEST_HOURS, 3.0);
    set(&a, CH_ASSUME_REPAIR_MONEY, 500.0);
    set(&a, CH_ASSUME_REPAIR_HOURS, 20.0); /* a repair is 700 */
    set(&a, CH_ASSUME_REPLACE_MONEY, 1000.0);
    set(&a, CH_ASSUME_REPLACE_HOURS, 30.0);
    set(&a, CH_ASSUME_DONOR_BAD, 0.0); /* another engine is 1300 */
    set(&a, CH_ASSUME_RUIN_MONEY, 200.0);
    set(&a, CH_ASSUME_LOST_EVENTS, 1.0); /* a ruined one is 1300 + 200 + 400 = 1900 */
    set(&a, CH_ASSUME_RUIN_SHARE, 0.25);
    set(&a, CH_ASSUME_BREAK_OVER, 0.5);
    set(&a, CH_ASSUME_BREAK_SOUND, 0.0);
    set(&a, CH_ASSUME_NEW_FAULT, 0.0);
    set(&a, CH_ASSUME_PACE_LOST, 0.1);
    set(&a, CH_ASSUME_TEST_FINDS, 0.8);
    set(&a, CH_ASSUME_REPAIR_CURES, 0.5);
    const ch_decision_event event = {.running_s = 100.0 * HOUR_S, .test_before = true};
    const ch_decision d = decide(&a, -1.0, 1.0, &event, 1); /* over the limit already, by a leak in the head */
    /* broken: 200 + 100 + 0.25 x 1900 + 0.75 x (700 + 400) = 1600; half of them break, the others lose 40 */
    const double broken = 1600.0, over = 0.5 * broken + 0.5 * 40.0 + 0.5 * 700.0; /* and have it put right at last */
    expect_relative(d.cost[CH_COURSE_RUN].expected, over, 1e-9);
    /* test 30; 0.8 found at 700, half of these cured: 0.6 stay over */
    expect_relative(d.cost[CH_COURSE_WATCH].expected, 30.0 + 0.8 * 700.0 + 0.6 * over, 1e-9);
    /* 700; half are cured, of the others the test finds 0.8 and cures half of those */
    expect_relative(d.cost[CH_COURSE_REPAIR].expected, 700.0 + 30.0 + 0.5 * (0.8 * 700.0 + 0.6 * over), 1e-9);
    expect_relative(d.cost[CH_COURSE_REPLACE].expected, 1300.0 + 30.0, 1e-9);
    expect_relative(d.cost[CH_COURSE_RUN].breaks_1, 0.5, 1e-9);
    expect_relative(d.cost[CH_COURSE_WATCH].breaks_1, 0.3, 1e-9);
    assert_int_equal(d.best, CH_COURSE_RUN);
    expect_relative(d.lead, d.cost[CH_COURSE_WATCH].expected - d.cost[CH_COURSE_RUN].expected, 1e-9);
}

static void courses_imagined_agree_with_what_is_expected(void **state)
{
    (void)state;
    /* With all figures fixed and nothing but one kind of breakdown, an interval of 5 % to 95 % holds 0 and the breakdown's cost. */
    ch_assumptions a = fixed();
    set(&a, CH_ASSUME_BREAK_SOUND, 0.5);
    set(&a, CH_ASSUME_RUIN_SHARE, 0.0);
    set(&a, CH_ASSUME_NEW_FAULT, 0.0);
    const ch_decision_event event = {.running_s = 100.0 * HOUR_S};
    const ch_decision d = decide(&a, INFINITY, 0.5, &event, 1);
    const double repair = a.of[CH_ASSUME_REPAIR_MONEY].usual +
                          a.of[CH_ASSUME_REPAIR_HOURS].usual * a.of[CH_ASSUME_HOUR_VALUE].usual,
                 least = a.of[CH_ASSUME_TOW_HOME].usual + repair + a.of[CH_ASSUME_EVENT_VALUE].usual;
    assert_true(d.cost[CH_COURSE_RUN].interval[0] == 0.0);
    assert_true(d.cost[CH_COURSE_RUN].interval[1] > least &&
                d.cost[CH_COURSE_RUN].interval[1] < least + a.of[CH_ASSUME_EVENT_VALUE].usual);
    expect_relative(d.cost[CH_COURSE_RUN].breaks_1, 0.5, 1e-9);
}

/* Over the limit, and one that is surely breaks down: every imagined course costs what is expected, but for the moment; and none of a sound one costs anything. */
static void what_is_certain_is_imagined_as_expected(void **state)
{
    (void)state;
    ch_assumptions a = fixed();
    set(&a, CH_ASSUME_BREAK_SOUND, 0.0);
    set(&a, CH_ASSUME_BREAK_OVER, 1.0);
    set(&a, CH_ASSUME_RUIN_SHARE, 0.0);
    set(&a, CH_ASSUME_NEW_FAULT, 0.0);
    const ch_decision_event event = {.running_s = 100.0 * HOUR_S};
    const ch_decision over = decide(&a, -1.0, 1.0, &event, 1);
    assert_true(over.cost[CH_COURSE_RUN].expected > 0.0);
    expect_relative(over.cost[CH_COURSE_RUN].breaks_1, 1.0, 2e-6); /* chances end a millionth short */
    const ch_decision sound = decide(&a, INFINITY, 1.0, &event, 1);
    expect_close(sound.cost[CH_COURSE_RUN].expected, 0.0, 1e-9);
    for (int end = 0; end < 2; end++)
        expect_close(sound.cost[CH_COURSE_RUN].interval[end], 0.0, 1e-9);
    /* When in the event it breaks down is drawn, evenly: 5 % and 95 % of what the event is worth, to four standard errors of 2000 draws. */
    const double worth = a.of[CH_ASSUME_EVENT_VALUE].usual;
    expect_close(over.cost[CH_COURSE_RUN].interval[0], over.cost[CH_COURSE_RUN].expected - 0.45 * worth, 0.02 * worth);
    expect_close(over.cost[CH_COURSE_RUN].interval[1], over.cost[CH_COURSE_RUN].expected + 0.45 * worth, 0.02 * worth);
}

static void a_leak_below_the_head_is_not_cured_by_a_repair_of_it(void **state)
{
    (void)state;
    const ch_assumptions a = fixed();
    const ch_decision_event event[] = {{10.0 * HOUR_S, false}, {10.0 * HOUR_S, true}, {10.0 * HOUR_S, false}};
    const ch_decision head = decide(&a, -1.0, 1.0, event, 3), below = decide(&a, -1.0, 0.0, event, 3);
    assert_true(below.cost[CH_COURSE_REPAIR].expected > head.cost[CH_COURSE_REPAIR].expected + 100.0);
}

static void a_sound_engine_is_left_alone_and_a_leaking_one_is_not_over_a_long_horizon(void **state)
{
    (void)state;
    ch_decision_event event[60];
    for (int i = 0; i < 60; i++)
        event[i] = (ch_decision_event){.running_s = 4.0 * HOUR_S, .test_before = i % 10 == 0};
    const ch_decision sound = decide(&assumptions, INFINITY, 0.8, event, 60),
                      leaking = decide(&assumptions, -1.0, 0.9, event, 60);
    assert_true(sound.best == CH_COURSE_RUN || sound.best == CH_COURSE_WATCH);
    assert_true(leaking.best == CH_COURSE_REPAIR || leaking.best == CH_COURSE_WATCH);
    assert_true(leaking.cost[CH_COURSE_RUN].expected > leaking.cost[leaking.best].expected + 300.0);
    for (int k = 0; k < CH_COURSES; k++)
        assert_true(leaking.cost[k].interval[0] <= leaking.cost[k].expected &&
                    leaking.cost[k].expected <= leaking.cost[k].interval[1]);
    /* sooner over the limit is never cheaper to run */
    const ch_decision later = decide(&assumptions, 100.0 * HOUR_S, 0.9, event, 60);
    assert_true(sound.cost[CH_COURSE_RUN].expected < later.cost[CH_COURSE_RUN].expected &&
                later.cost[CH_COURSE_RUN].expected < leaking.cost[CH_COURSE_RUN].expected);
}

static void swings_come_widest_first_and_name_what_the_answer_hangs_on(void **state)
{
    (void)state;
    ch_decision_event event[20];
    for (int i = 0; i < 20; i++)
        event[i] = (ch_decision_event){.running_s = 4.0 * HOUR_S, .test_before = i % 10 == 0};
    const ch_decision d = decide(&assumptions, 10.0 * HOUR_S, 0.7, event, 20);
    size_t changes = 0;
    bool seen[CH_ASSUME_COUNT] = {false};
    for (int i = 0; i < CH_ASSUME_COUNT; i++) {
        assert_false(seen[d.swing[i].assumption]);
        seen[d.swing[i].assumption] = true;
        changes += d.swing[i].best[0] != d.best || d.swing[i].best[1] != d.best;
        if (i > 0)
            assert_true(fabs(d.swing[i].lead[1] - d.swing[i].lead[0]) <=
                        fabs(d.swing[i - 1].lead[1] - d.swing[i - 1].lead[0]));
        for (int end = 0; end < 2; end++)
            assert_int_equal(d.swing[i].lead[end] < 0.0, d.swing[i].best[end] != d.best);
    }
    assert_int_equal(changes, d.hangs_on);
    /* fixed figures swing nothing */
    const ch_assumptions a = fixed();
    const ch_decision still = decide(&a, 10.0 * HOUR_S, 0.7, event, 20);
    assert_int_equal(still.hangs_on, 0);
    expect_close(still.swing[0].lead[1] - still.swing[0].lead[0], 0.0, 1e-9);
}

static void decision_refuses_what_cannot_be(void **state)
{
    (void)state;
    ch_forecast f = forecast_of(1.0);
    ch_decision_event event = {.running_s = 0.0};
    ch_decision_input in = {.forecast = &f,
                            .log_fault = 0.0,
                            .head_share_1 = 0.5,
                            .assumptions = &assumptions,
                            .event = &event,
                            .events = 1};
    ch_decision d = {.lead = 7.0};
    assert_int_equal(ch_decision_run(&in, &d, NULL), CH_E_RANGE);
    event.running_s = 1.0;
    in.head_share_1 = NAN;
    assert_int_equal(ch_decision_run(&in, &d, NULL), CH_E_RANGE);
    in.head_share_1 = 0.5;
    in.events = CH_DECISION_EVENTS_MAX + 1;
    assert_int_equal(ch_decision_run(&in, &d, NULL), CH_E_LIMIT);
    in.events = 1;
    fail_alloc_at(1);
    const ch_status status = ch_decision_run(&in, &d, NULL);
    fail_alloc_stop();
    assert_int_equal(fail_alloc_left(), 0);
    assert_int_equal(status, CH_E_MEMORY);
    assert_true(d.lead == 7.0);
    in.log_fault = NAN; /* no limit: never over it */
    assert_int_equal(ch_decision_run(&in, &d, NULL), CH_OK);
    ch_forecast_clear(&f);
    assert_null(ch_course_name(CH_COURSES));
    assert_string_equal(ch_course_name(CH_COURSE_REBUILD), "rebuild");
}

/* ---- the figures ---- */

/* The text built in with one piece replaced. */
static ch_status parse_with(const char *piece, const char *by, ch_err *err)
{
    const ch_knowledge_text *builtin = ch_assumptions_builtin();
    char *text = malloc(builtin->length + strlen(by) + 1);
    assert_non_null(text);
    memcpy(text, builtin->text, builtin->length);
    text[builtin->length] = '\0';
    char *at = strstr(text, piece);
    assert_non_null(at);
    memmove(at + strlen(by), at + strlen(piece), strlen(at + strlen(piece)) + 1);
    memcpy(at, by, strlen(by));
    const ch_knowledge_text spoilt = {"decision.yaml", text, strlen(text)};
    ch_assumptions a = {.opens_engine_count = 77};
    const ch_status rc = ch_assumptions_parse(&a, &spoilt, err);
    if (rc < 0)
        assert_int_equal(a.opens_engine_count, 77);
    else
        ch_assumptions_clear(&a);
    free(text);
    return rc;
}

static void figures_that_cannot_be_are_refused_with_their_place(void **state)
{
    (void)state;
    static const struct {
        const char *piece, *by, *says;
    } bad[] = {
        {"{id: tow_home, unit: money", "{id: tow_hom, unit: money", "tow_hom"},
        {"{id: tow_home, unit: money", "{id: event_value, unit: money", "stands here twice"},
        {"{id: tow_home, unit: money", "{id: tow_home, unit: hours", "is given in hours"},
        {"low: 50, usual: 200", "low: 250, usual: 200", "is 250, 200, 600"},
        {"low: 50, usual: 200", "low: -5, usual: 200", "-5"},
        {"low: 0.1, usual: 0.2, high: 0.4", "low: 0.1, usual: 0.2, high: 1.4", "1.4"},
        {"knowledge: decision", "knowledge: causes", "causes"},
        {"version: 1", "version: 2", "2"},
        {"currency: EUR\n", "", "currency"},
        {"opens_engine: [head_gasket", "opens_engine: [Head", "Head"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        ch_err err = {0};
        if (parse_with(bad[i].piece, bad[i].by, &err) != CH_E_INPUT)
            fail_msg("\"%s\" is let through", bad[i].by);
        if (strstr(err.what, bad[i].says) == NULL)
            fail_msg("\"%s\" lacks \"%s\"", err.what, bad[i].says);
        assert_string_equal(err.file, "decision.yaml");
    }
    ch_err err = {0};
    assert_int_equal(parse_with("  - {id: tow_home", "  # - {id: tow_home", &err), CH_E_INPUT);
}

static void what_opens_an_engine_is_known_by_its_kind(void **state)
{
    (void)state;
    assert_true(ch_assumptions_opens_engine(&assumptions, "head_rebuild"));     /* a job */
    assert_true(ch_assumptions_opens_engine(&assumptions, "valves_and_seats")); /* a kind of part */
    assert_false(ch_assumptions_opens_engine(&assumptions, "clutch_kit"));
    assert_false(ch_assumptions_opens_engine(&assumptions, "valve_cover_seal"));
    assert_false(ch_assumptions_opens_engine(&assumptions, "Tyre valves")); /* a name is no kind */
    assert_false(ch_assumptions_opens_engine(&assumptions, ""));
    assert_false(ch_assumptions_opens_engine(&assumptions, NULL));
}

/* A name that no job and no kind of part has would clear nothing, and nobody would know. */
static void each_of_them_is_a_job_or_a_kind_of_part(void **state)
{
    (void)state;
    ch_knowledge knowledge = {0};
    ch_jobs jobs = {0};
    ch_part_lives lives = {0};
    assert_int_equal(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL), CH_OK);
    assert_int_equal(ch_jobs_parse(&jobs, &knowledge, ch_jobs_builtin(), NULL), CH_OK);
    assert_int_equal(ch_part_lives_parse(&lives, &jobs, ch_part_lives_builtin(), NULL), CH_OK);
    for (size_t i = 0; i < assumptions.opens_engine_count; i++) {
        const char *id = assumptions.opens_engine[i];
        if (ch_job_find(&jobs, id, strlen(id)) == NULL && ch_part_life_find(&lives, id, strlen(id)) == NULL)
            fail_msg("%s is neither", id);
    }
    ch_part_lives_clear(&lives);
    ch_jobs_clear(&jobs);
    ch_knowledge_clear(&knowledge);
}

static void reading_without_memory_leaves_nothing_behind(void **state)
{
    (void)state;
    for (long n = 1;; n++) {
        ch_assumptions a = {0};
        fail_alloc_at(n);
        const ch_status status = ch_assumptions_parse(&a, ch_assumptions_builtin(), NULL);
        if (!fail_alloc_stop()) {
            assert_int_equal(status, CH_OK);
            ch_assumptions_clear(&a);
            assert_int_equal(fail_alloc_left(), 0);
            break;
        }
        assert_int_equal(status, CH_E_MEMORY);
        assert_null(a.pieces);
        assert_int_equal(fail_alloc_left(), 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_event_costs_what_a_hand_counts),
        cmocka_unit_test(what_is_certain_is_imagined_as_expected),
        cmocka_unit_test(courses_imagined_agree_with_what_is_expected),
        cmocka_unit_test(a_leak_below_the_head_is_not_cured_by_a_repair_of_it),
        cmocka_unit_test(a_sound_engine_is_left_alone_and_a_leaking_one_is_not_over_a_long_horizon),
        cmocka_unit_test(swings_come_widest_first_and_name_what_the_answer_hangs_on),
        cmocka_unit_test(decision_refuses_what_cannot_be),
        cmocka_unit_test(figures_that_cannot_be_are_refused_with_their_place),
        cmocka_unit_test(what_opens_an_engine_is_known_by_its_kind),
        cmocka_unit_test(each_of_them_is_a_job_or_a_kind_of_part),
        cmocka_unit_test(reading_without_memory_leaves_nothing_behind),
    };
    return cmocka_run_group_tests(tests, read_builtin, clear);
}
