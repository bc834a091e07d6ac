/*
 * Promises of winter/choose.c for plans drawn at random, however early the search is cut short: what is chosen holds together, keeps the limits, and its value,
 * money and hours are the sums of its items; no choice is worth more than is said, and none of the access chosen is for nothing.
 */
#include "../../src/winter/parts.h"

#include <string.h>

#include "crosshatch/sampling.h"
#include "crosshatch/text.h"
#include "crosshatch/winter.h"
#include "expect.h"

enum { ACCESS = 6, JOBS = 14, CROWDED_ACCESS = 14, CROWDED_JOBS = 24, FIRST = 1064 };

static size_t below(ch_stream *stream, size_t n)
{
    return (size_t)((double)n * ch_stream_uniform(stream));
}

static void draw_plan(ch_stream *stream, ch_plan *plan)
{
    ch_text text;
    ch_err err = {0};
    ch_text_init(&text, 20000);
    ch_text_appendf(&text, "plan: 1\nhours_value: %zu\nbudget: %zu\ndays: [{date: 2027-01-09, hours: %zu}]\naccess:\n",
                    below(stream, 20), 200 + below(stream, 900), 8 + below(stream, 17));
    for (int a = 0; a < ACCESS; a++)
        ch_text_appendf(&text, "  a%d: {hours: %zu, refit_hours: %zu, parts: %zu%s}\n", a, below(stream, 3),
                        below(stream, 3), below(stream, 40), a > 0 && below(stream, 2) == 0 ? ", needs: [a0]" : "");
    ch_text_appendf(&text, "jobs:\n");
    for (int j = 0; j < JOBS; j++) {
        ch_text_appendf(&text, "  j%d: {hours: %zu.%zu, parts: %zu, avoided: %zu, needs: [a%zu]", j, below(stream, 5),
                        below(stream, 10), below(stream, 250), below(stream, 500), below(stream, ACCESS));
        if (j > 0 && below(stream, 4) == 0)
            ch_text_appendf(&text, ", requires: [j%zu]", below(stream, (size_t)j));
        else if (j > 0 && below(stream, 4) == 0)
            ch_text_appendf(&text, ", excludes: [j%zu]", below(stream, (size_t)j));
        ch_text_appendf(&text, "}\n");
    }
    if (ch_plan_parse("plan", ch_text_string(&text), text.length, (ch_date){0}, plan, &err) != CH_OK)
        fail_msg("%s: %s", err.what, ch_text_string(&text));
    ch_text_clear(&text);
}

static bool all_in(const ch_places *places, const bool in[])
{
    for (size_t k = 0; k < places->count; k++)
        if (!in[places->at[k]])
            return false;
    return true;
}

static void expect_sums(const ch_plan *plan, const bool in[], const ch_choice *choice)
{
    double value = 0.0;
    ch_money parts = 0;
    ch_work work_us = 0;
    for (size_t i = 0; i < plan->items_count; i++) {
        const ch_plan_item *item = &plan->items[i];
        if (!in[i])
            continue;
        const ch_work own_us = item->hours.likely_us + item->refit.likely_us;
        assert_true(all_in(&item->needs, in) && all_in(&item->requires_, in));
        for (size_t k = 0; k < item->excludes.count; k++)
            assert_false(in[item->excludes.at[k]]);
        parts += item->parts;
        work_us += own_us;
        value +=
            (double)(item->avoided - item->parts) - (double)plan->hours_value * (double)own_us / (double)CH_WORK_HOUR;
        bool used = item->kind == CH_PLAN_JOB;
        for (size_t o = 0; o < plan->items_count && !used; o++)
            for (size_t k = 0; k < plan->items[o].needs.count; k++)
                used = used || (in[o] && plan->items[o].needs.at[k] == i);
        assert_true(used);
    }
    assert_int_equal(choice->parts, parts);
    assert_int_equal(choice->work_us, work_us);
    expect_close((double)choice->value, value,
                 0.5 * (double)plan->items_count + 0.5); /* each item's hours rounded to a cent */
    assert_true(parts <= plan->budget && work_us <= plan->days[0].work_us);
}

static void a_choice_adds_up_however_early_the_search_ends(void **state)
{
    (void)state;
    size_t cut = 0;
    for (uint64_t number = 0; number < 60; number++) {
        ch_stream stream;
        ch_plan plan;
        bool in[ACCESS + JOBS];
        ch_choice best, choice;
        ch_stream_init(&stream, 57, number);
        draw_plan(&stream, &plan);
        assert_int_equal(ch_winter_choose(&plan, NULL, 0, 0, 0, in, &best, NULL), CH_OK);
        assert_true(best.feasible && best.proven);
        expect_sums(&plan, in, &best);
        for (int64_t nodes = 1; nodes <= 3; nodes++) {
            assert_int_equal(ch_winter_choose(&plan, NULL, 0, 0, nodes, in, &choice, NULL), CH_OK);
            assert_true(choice.feasible);
            expect_sums(&plan, in, &choice);
            assert_true(choice.value <= best.value && choice.value_at_most >= best.value);
            assert_true(choice.nodes <= nodes);
            cut += !choice.proven;
            if (choice.proven)
                assert_true(choice.value == best.value);
        }
        ch_plan_clear(&plan);
    }
    assert_true(cut > 0);
}

/* Many jobs about as dear as they are worth, on much access: cut short, the search may hold access that nothing needs. */
static void draw_crowded_plan(ch_stream *stream, ch_plan *plan)
{
    ch_text text;
    ch_err err = {0};
    ch_text_init(&text, 20000);
    ch_text_appendf(&text, "plan: 1\nhours_value: %zu\nbudget: %zu\ndays: [{date: 2027-01-09, hours: %zu}]\naccess:\n",
                    below(stream, 6), 360 + below(stream, 720), 6 + below(stream, 18));
    for (int a = 0; a < CROWDED_ACCESS; a++)
        ch_text_appendf(&text, "  a%d: {hours: 0.%zu, refit_hours: 0.%zu, parts: %zu}\n", a, below(stream, 10),
                        below(stream, 10), below(stream, 3) == 0 ? below(stream, 20) : 0);
    ch_text_appendf(&text, "jobs:\n");
    for (int j = 0; j < CROWDED_JOBS; j++) {
        const size_t tenths = 1 + below(stream, 40), parts = 10 * below(stream, 20);
        ch_text_appendf(&text, "  j%d: {hours: %zu.%zu, parts: %zu, avoided: %zu, needs: [a%zu, a%zu]", j, tenths / 10,
                        tenths % 10, parts, parts + tenths + 20 + below(stream, 60), below(stream, CROWDED_ACCESS),
                        below(stream, CROWDED_ACCESS));
        if (j > 0 && below(stream, 5) == 0)
            ch_text_appendf(&text, ", excludes: j%zu", below(stream, (size_t)j));
        ch_text_appendf(&text, "}\n");
    }
    if (ch_plan_parse("plan", ch_text_string(&text), text.length, (ch_date){0}, plan, &err) != CH_OK)
        fail_msg("%s: %s", err.what, ch_text_string(&text));
    ch_text_clear(&text);
}

static void access_for_nothing_goes_with_what_it_takes(void **state)
{
    (void)state;
    for (uint64_t number = FIRST; number < FIRST + 5; number++)
        for (int64_t nodes = 1; nodes <= 2; nodes++) {
            ch_stream stream;
            ch_plan plan;
            bool in[CROWDED_ACCESS + CROWDED_JOBS];
            ch_choice choice;
            ch_stream_init(&stream, 58, number);
            draw_crowded_plan(&stream, &plan);
            assert_int_equal(ch_winter_choose(&plan, NULL, 0, 0, nodes, in, &choice, NULL), CH_OK);
            expect_sums(&plan, in, &choice);
            ch_plan_clear(&plan);
        }
}

/* What hours are worth, to the ten-millionth, halves away from nought; and what a job adds, with what was paid off its parts. */
static void hours_are_worth_what_they_are_to_the_last_digit(void **state)
{
    (void)state;
    static const struct {
        ch_money an_hour;
        ch_work work_us;
        ch_money worth;
    } cases[] = {{15 * CH_MONEY_ONE, CH_WORK_HOUR * 3 / 2, 225 * CH_MONEY_ONE / 10},
                 {7, CH_WORK_HOUR / 2, 4},
                 {7, CH_WORK_HOUR / 2 - 1, 3},
                 {3, CH_WORK_HOUR / 3, 1},
                 {3, 2 * CH_WORK_HOUR + CH_WORK_HOUR / 2 - 1, 7},
                 {3, 2 * CH_WORK_HOUR + CH_WORK_HOUR / 2, 8},
                 {0, 9 * CH_WORK_HOUR, 0},
                 /* a product beyond 2^53, which a double does not hold */
                 {CH_MONEY_ONE * 100 + 1, 1000000 * CH_WORK_HOUR, CH_MONEY_ONE * 100000000 + 1000000}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const ch_plan plan = {.hours_value = cases[k].an_hour};
        assert_int_equal(winter_cost_of(&plan, cases[k].work_us), cases[k].worth);
        const ch_plan_item item = {.kind = CH_PLAN_JOB,
                                   .hours = {0, cases[k].work_us - 5, 2 * cases[k].work_us},
                                   .refit = {0, 5, 9},
                                   .parts = 100,
                                   .paid = 30,
                                   .avoided = 1000};
        assert_int_equal(winter_work(&item), cases[k].work_us);
        assert_int_equal(winter_gain(&plan, &item), 1000 - 70 - cases[k].worth);
    }
}

/* A limit has room for the rounding of the numbers typed: a unit for each item and day. One more is short by all that is too much. */
static void a_limit_has_room_for_the_rounding_of_each_item_and_day(void **state)
{
    (void)state;
    static const ch_plan_day days[] = {{{2027, 1, 9}, 100}, {{2027, 1, 10}, 200}};
    for (int64_t over = 4; over <= 6; over++) /* three items, two days: five units */
        for (int of = 0; of < 2; of++)
            for (int more = 0; more < 2; more++) {
                ch_plan_item items[3] = {
                    {.kind = CH_PLAN_JOB, .must = true}, {.kind = CH_PLAN_JOB, .must = true}, {.kind = CH_PLAN_JOB}};
                for (size_t i = 0; i < 2; i++) {
                    const int64_t us = 150 + (of == 0 && i == 1 ? over + 7 * more : 0);
                    items[i].hours = (ch_work_guess){us, us, us};
                    items[i].parts = 500 + (of == 1 && i == 0 ? over + 7 * more : 0);
                }
                items[2].paid = 40; /* gone, whatever is chosen */
                const ch_plan plan = {.has_days = true,
                                      .budget = 1040,
                                      .days = days,
                                      .days_count = 2,
                                      .days_until = 2,
                                      .items = items,
                                      .items_count = 3};
                bool in[3] = {true, true, true};
                ch_choice choice;
                assert_int_equal(ch_winter_choose(&plan, NULL, of == 1 && more ? 7 : 0, of == 0 && more ? 7 : 0, 0, in,
                                                  &choice, NULL),
                                 CH_OK);
                assert_int_equal(choice.feasible, over <= 5);
                assert_true(in[0] == choice.feasible && in[1] == choice.feasible);
                if (choice.feasible) {
                    assert_int_equal(choice.parts, 1040 + (of == 1 ? over + 7 * more : 0));
                    assert_int_equal(choice.work_us, 300 + (of == 0 ? over + 7 * more : 0));
                    assert_true(choice.short_parts == 0 && choice.short_us == 0);
                } else {
                    assert_int_equal(choice.short_us, of == 0 ? over + 7 * more : 0);
                    assert_int_equal(choice.short_parts, of == 1 ? over + 7 * more : 0);
                    assert_int_equal(choice.must_us, 300 + (of == 0 ? over + 7 * more : 0));
                    assert_int_equal(choice.must_parts, 1040 + (of == 1 ? over + 7 * more : 0));
                }
                assert_true(choice.quarrel[0] == SIZE_MAX && choice.quarrel[1] == SIZE_MAX);
            }
}

/* What must be done and excludes each other is named, the first pair of the plan; what is asked for beside the plan counts as the plan's own. */
static void the_first_quarrel_is_named(void **state)
{
    (void)state;
    static const size_t second[] = {1}, third[] = {2}, fourth[] = {3};
    ch_plan_item items[4] = {
        {.kind = CH_PLAN_JOB, .requires_ = {.at = second, .count = 1}},
        {.kind = CH_PLAN_JOB, .excludes = {.at = third, .count = 1}, .needs = {.at = fourth, .count = 1}},
        {.kind = CH_PLAN_JOB, .excludes = {.at = fourth, .count = 1}},
        {.kind = CH_PLAN_JOB, .avoided = 5}};
    const ch_plan plan = {.budget = CH_MONEY_NO_LIMIT, .items = items, .items_count = 4};
    ch_choice choice;
    bool in[4];
    const signed char none[] = {-1, -1, -1, -1}, first_and_third[] = {1, -1, 1, -1}, third_alone[] = {-1, -1, 1, -1},
                      last_two[] = {-1, -1, 1, 1}, first_without[] = {1, 0, -1, -1}, out[] = {-1, -1, -1, 0};
    assert_int_equal(ch_winter_choose(&plan, none, 0, 0, 0, in, &choice, NULL), CH_OK);
    assert_true(choice.feasible && !in[0] && !in[1] && !in[2] && in[3]);
    assert_int_equal(choice.value, 5);
    assert_int_equal(ch_winter_choose(&plan, third_alone, 0, 0, 0, in, &choice, NULL), CH_OK);
    assert_true(choice.feasible && !in[0] && !in[1] && in[2] && !in[3]);
    assert_int_equal(ch_winter_choose(&plan, out, 0, 0, 0, in, &choice, NULL), CH_OK);
    assert_true(choice.feasible && choice.value == 0 && !in[3]);
    assert_int_equal(ch_winter_choose(&plan, first_and_third, 0, 0, 0, in, &choice, NULL), CH_OK);
    assert_false(choice.feasible);
    assert_true(choice.quarrel[0] == 1 && choice.quarrel[1] == 2);
    assert_true(!in[0] && !in[1] && !in[2] && !in[3]);
    assert_int_equal(ch_winter_choose(&plan, last_two, 0, 0, 0, in, &choice, NULL), CH_OK);
    assert_true(!choice.feasible && choice.quarrel[0] == 2 && choice.quarrel[1] == 3);
    assert_int_equal(ch_winter_choose(&plan, first_without, 0, 0, 0, in, &choice, NULL), CH_OK);
    assert_true(!choice.feasible && choice.quarrel[0] == SIZE_MAX); /* asked for without what it requires */
    items[0].must = true;                                           /* what the caller says goes before the plan */
    assert_int_equal(ch_winter_choose(&plan, (const signed char[]){0, -1, -1, -1}, 0, 0, 0, in, &choice, NULL), CH_OK);
    assert_true(choice.feasible && !in[0] && in[3]);
    items[1].done = true; /* and what is done asks for nothing that it needs, but for what it requires */
    assert_int_equal(ch_winter_choose(&plan, out, 0, 0, 0, in, &choice, NULL), CH_OK);
    assert_true(choice.feasible && in[0] && in[1] && !in[3]);
}

static void amounts_that_cannot_be_added_up_are_refused(void **state)
{
    (void)state;
    const ch_plan_item dear = {.kind = CH_PLAN_JOB, .avoided = INT64_C(1) << 52};
    ch_plan plan = {.budget = CH_MONEY_NO_LIMIT, .items = &dear, .items_count = 1};
    ch_choice choice = {.nodes = 77};
    bool in[1] = {true};
    ch_err err = {0};
    assert_int_equal(ch_winter_choose(&plan, NULL, 0, 0, 0, in, &choice, &err), CH_E_LIMIT);
    assert_string_equal(err.what, "the plan's amounts add up to too much");
    assert_string_equal(err.right, "smaller amounts, or fewer jobs");
    err = (ch_err){0};
    static ch_plan_item many[2001];
    static bool chosen[2001];
    plan.items = many;
    plan.items_count = 2001;
    assert_int_equal(ch_winter_choose(&plan, NULL, 0, 0, 0, chosen, &choice, &err), CH_E_LIMIT);
    assert_string_equal(err.what, "2001 items to choose from");
    assert_string_equal(err.right, "at most 2000");
    assert_true(choice.nodes == 77 && in[0]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_choice_adds_up_however_early_the_search_ends),
        cmocka_unit_test(access_for_nothing_goes_with_what_it_takes),
        cmocka_unit_test(hours_are_worth_what_they_are_to_the_last_digit),
        cmocka_unit_test(a_limit_has_room_for_the_rounding_of_each_item_and_day),
        cmocka_unit_test(the_first_quarrel_is_named),
        cmocka_unit_test(amounts_that_cannot_be_added_up_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
