/*
 * Promises of winter/choose.c for plans drawn at random, however early the search is cut short: what is chosen holds together, keeps the limits, and its value,
 * money and hours are the sums of its items; no choice is worth more than is said, and none of the access chosen is for nothing.
 */
#include <string.h>

#include "crosshatch/sampling.h"
#include "crosshatch/text.h"
#include "crosshatch/winter.h"
#include "expect.h"

enum { ACCESS = 6, JOBS = 14 };

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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_choice_adds_up_however_early_the_search_ends),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
