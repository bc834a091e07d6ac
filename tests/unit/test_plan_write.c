/* Promises of car/plan_write.c: what is written is read back equal. */
#include "crosshatch/plan.h"

#include <stdlib.h>
#include <string.h>

#include "expect.h"
#include "fail_alloc.h"

static const ch_date no_day = {0};

static ch_status parse(const char *text, ch_plan *plan, ch_err *err)
{
    return ch_plan_parse("plan.yaml", text, strlen(text), no_day, plan, err);
}

static void same_text(const char *a, const char *b)
{
    assert_int_equal(a == NULL, b == NULL);
    if (a != NULL)
        assert_string_equal(a, b);
}

static void same_places(const ch_places *a, const ch_places *b)
{
    assert_int_equal(a->count, b->count);
    for (size_t i = 0; i < a->count; i++)
        assert_int_equal(a->at[i], b->at[i]);
}

static void same_guess(const ch_work_guess *a, const ch_work_guess *b)
{
    assert_int_equal(a->least_us, b->least_us);
    assert_int_equal(a->likely_us, b->likely_us);
    assert_int_equal(a->most_us, b->most_us);
}

static void same_item(const ch_plan_item *a, const ch_plan_item *b)
{
    assert_string_equal(a->name, b->name);
    same_text(a->title, b->title);
    assert_int_equal(a->kind, b->kind);
    same_guess(&a->hours, &b->hours);
    same_guess(&a->guessed, &b->guessed);
    same_guess(&a->refit, &b->refit);
    assert_int_equal(a->parts, b->parts);
    assert_int_equal(a->paid, b->paid);
    assert_int_equal(a->avoided, b->avoided);
    assert_int_equal(a->must, b->must);
    assert_int_equal(a->done, b->done);
    assert_int_equal(a->done_us, b->done_us);
    assert_int_equal(a->lead_days, b->lead_days);
    assert_int_equal(a->shop_days, b->shop_days);
    assert_int_equal(a->first, b->first);
    same_places(&a->once_closed, &b->once_closed);
    same_places(&a->within, &b->within);
    same_places(&a->needs, &b->needs);
    same_places(&a->requires_, &b->requires_);
    same_places(&a->excludes, &b->excludes);
    same_places(&a->after, &b->after);
}

static void same_plan(const ch_plan *a, const ch_plan *b)
{
    same_text(a->title, b->title);
    same_text(a->id, b->id);
    assert_string_equal(a->currency, b->currency);
    assert_memory_equal(&a->today, &b->today, sizeof a->today);
    assert_memory_equal(&a->until, &b->until, sizeof a->until);
    assert_int_equal(a->own_today, b->own_today);
    assert_int_equal(a->hours_value, b->hours_value);
    assert_int_equal(a->budget, b->budget);
    assert_int_equal(a->no_hours_value, b->no_hours_value);
    assert_int_equal(a->no_budget, b->no_budget);
    assert_int_equal(a->has_days, b->has_days);
    assert_int_equal(a->days_count, b->days_count);
    assert_int_equal(a->days_until, b->days_until);
    for (size_t i = 0; i < a->days_count; i++) {
        assert_memory_equal(&a->days[i].date, &b->days[i].date, sizeof a->days[i].date);
        assert_int_equal(a->days[i].work_us, b->days[i].work_us);
    }
    assert_int_equal(a->items_count, b->items_count);
    assert_int_equal(a->access_count, b->access_count);
    for (size_t i = 0; i < a->items_count; i++)
        same_item(&a->items[i], &b->items[i]);
}

static void write(const ch_plan *plan, ch_text *text)
{
    ch_err err = {0};
    ch_text_init(text, CH_PLAN_BYTES_MAX);
    if (ch_plan_write(plan, text, &err) != CH_OK)
        fail_msg("%s", err.what);
}

static void there_and_back(const char *yaml)
{
    ch_plan plan, again;
    ch_err err = {0};
    ch_text text, twice;
    assert_int_equal(parse(yaml, &plan, NULL), CH_OK);
    write(&plan, &text);
    if (parse(ch_text_string(&text), &again, &err) != CH_OK)
        fail_msg("%ld:%ld %s in\n%s", err.line, err.column, err.what, ch_text_string(&text));
    same_plan(&plan, &again);
    write(&again, &twice);
    assert_string_equal(ch_text_string(&text), ch_text_string(&twice));
    ch_text_clear(&text);
    ch_text_clear(&twice);
    ch_plan_clear(&plan);
    ch_plan_clear(&again);
}

static void a_plan_is_read_back_equal(void **state)
{
    (void)state;
    there_and_back(
        "plan: 1\n"
        "title: \"Winter: \\\"the\\\" \\\\ one # not a comment\"\n"
        "id: \"4f: {1}\"\n"
        "currency: EUR\n"
        "today: 2027-01-02\n"
        "until: 2027-02-01\n"
        "hours_value: 12.5\n"
        "budget: 1500.0000001\n"
        "days: [{date: 2027-01-09, hours: 6}, {date: 2027-02-01, hours: 4.3333333333}, {date: 2027-02-02, hours: "
        "8}]\n"
        "access:\n"
        "  propshaft_off: {hours: 1, refit_hours: [0.5, 1, 2], parts: 12}\n"
        "  \"true\": {hours: [2, 3, 9999.9999999999], needs: [propshaft_off], done_hours: 2.5, lead_days: 3}\n"
        "  ready: {hours: 3, first: true, done: true, done_hours: 4, paid: 3}\n"
        "jobs:\n"
        "  \"a: [b\": {title: \"Caf\xc3\xa9\", hours: [0.1, 0.7, 3], parts: 390.25, needs: \"true\", avoided: 900, "
        "lead_days: 7, done_hours: 1.25, paid: 12.75}\n"
        "  seal: {hours: 0.8, parts: 25, needs: [\"true\", \"a: [b\"], avoided: 240, after: [\"a: [b\"], requires: "
        "[\"a: [b\"], excludes: [hoses]}\n"
        "  hoses: {hours: 2, must: true, done: yes, lead_days: 1, shop_days: 13.5, within: [propshaft_off], "
        "once_closed: [\"true\"]}\n");
}

static void what_a_plan_does_not_say_stays_unsaid(void **state)
{
    (void)state;
    there_and_back("plan: 1\njobs: {}\n");
    there_and_back("plan: 1\ndays: []\njobs: {a: {}}\n");
    there_and_back("plan: 1\nhours_value: 0\nbudget: 0\naccess: {a: {}}\njobs: {}\n");
}

static void a_step_and_a_job_may_share_a_name(void **state)
{
    (void)state;
    there_and_back(
        "plan: 1\naccess: {coolant: {hours: 1}}\njobs: {coolant: {needs: [coolant]}, pump: {after: [coolant]}}\n");
}

/* A link that the reader would take for another is not written. */
static void a_link_that_another_name_takes_away_is_refused(void **state)
{
    (void)state;
    ch_plan plan;
    ch_text text;
    ch_err err = {0};
    const size_t job = 1;
    assert_int_equal(parse("plan: 1\naccess: {coolant: {}}\njobs: {coolant: {}, pump: {}}\n", &plan, NULL), CH_OK);
    ch_plan_item items[3];
    memcpy(items, plan.items, sizeof items);
    items[2].needs = (ch_places){.at = &job, .count = 1};
    ch_plan other = plan;
    other.items = items;
    ch_text_init(&text, CH_PLAN_BYTES_MAX);
    assert_int_equal(ch_plan_write(&other, &text, &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "coolant"));
    ch_text_clear(&text);
    ch_plan_clear(&plan);
}

static void a_text_that_is_full_is_told(void **state)
{
    (void)state;
    ch_plan plan;
    ch_text text;
    assert_int_equal(parse("plan: 1\njobs: {coolant: {}, pump: {}}\n", &plan, NULL), CH_OK);
    ch_text_init(&text, 20);
    assert_int_equal(ch_plan_write(&plan, &text, NULL), CH_E_LIMIT);
    ch_text_clear(&text);
    ch_plan_clear(&plan);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_plan_is_read_back_equal),
        cmocka_unit_test(what_a_plan_does_not_say_stays_unsaid),
        cmocka_unit_test(a_step_and_a_job_may_share_a_name),
        cmocka_unit_test(a_link_that_another_name_takes_away_is_refused),
        cmocka_unit_test(a_text_that_is_full_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
