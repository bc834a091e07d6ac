/* Promises of car/plan_read.c and car/plan_links.c: a plan is read as it is meant, and what is wrong is refused with its place. */
#include "crosshatch/plan.h"

#include <stdlib.h>
#include <string.h>

#include "expect.h"
#include "fail_alloc.h"

static const ch_date no_day = {0};

static ch_status parse(const char *text, ch_date today, ch_plan *plan, ch_err *err)
{
    return ch_plan_parse("plan.yaml", text, strlen(text), today, plan, err);
}

static const char whole[] =
    "plan: 1\n"
    "title: Winter\n"
    "currency: EUR\n"
    "today: 2027-01-02\n"
    "until: 2027-02-01\n"
    "hours_value: 12.5\n"
    "budget: 1500\n"
    "days: [{date: 2027-01-09, hours: 6}, {date: 2027-02-01, hours: 4.5}, {date: 2027-02-02, "
    "hours: 8}]\n"
    "access:\n"
    "  propshaft_off: {hours: 1, refit_hours: [0.5, 1, 2], parts: 12}\n"
    "  gearbox_out: {hours: 3, within: [propshaft_off], done_hours: 1, lead_days: 3}\n"
    "jobs:\n"
    "  clutch: {title: Clutch kit, hours: [1, 1.5, 3], parts: 390.25, needs: gearbox_out, avoided: 900, "
    "lead_days: 7, done_hours: 1.25, paid: 90.5}\n"
    "  seal: {hours: 0.8, parts: 25, needs: [gearbox_out], avoided: 240, after: [clutch], requires: "
    "[clutch], excludes: [hoses]}\n"
    "  hoses: {hours: 2, must: true, done: yes, shop_days: 13.5, within: propshaft_off, once_closed: [gearbox_out]}\n";

static void a_plan_is_read_as_written(void **state)
{
    (void)state;
    ch_plan plan;
    assert_int_equal(parse(whole, no_day, &plan, NULL), CH_OK);
    assert_string_equal(plan.title, "Winter");
    assert_string_equal(plan.currency, "EUR");
    assert_int_equal(plan.hours_value, CH_MONEY_ONE * 25 / 2);
    assert_int_equal(plan.budget, 1500 * CH_MONEY_ONE);
    assert_int_equal(plan.days_count, 3);
    assert_int_equal(plan.days_until, 2); /* the day of the event counts, the day behind it does not */
    assert_int_equal(ch_plan_work_limit(&plan), CH_WORK_HOUR * 21 / 2);
    assert_int_equal(ch_plan_start(&plan).day, 2);
    assert_int_equal(plan.items_count, 5);
    assert_int_equal(plan.access_count, 2);
    const ch_plan_item *shaft = &plan.items[0], *box = &plan.items[1], *clutch = &plan.items[2], *seal = &plan.items[3],
                       *hoses = &plan.items[4];
    assert_string_equal(shaft->name, "propshaft_off");
    assert_int_equal(shaft->kind, CH_PLAN_ACCESS);
    assert_int_equal(shaft->hours.least_us, CH_WORK_HOUR);
    assert_int_equal(shaft->refit.least_us, CH_WORK_HOUR / 2);
    assert_int_equal(shaft->refit.most_us, CH_WORK_HOUR * 2);
    assert_int_equal(box->needs.count, 0);
    assert_int_equal(box->within.count, 1);
    assert_int_equal(box->within.at[0], 0);
    assert_int_equal(box->hours.likely_us, 2 * CH_WORK_HOUR); /* one of three is done */
    assert_int_equal(box->lead_days, 3);
    assert_string_equal(clutch->title, "Clutch kit");
    assert_int_equal(clutch->parts, CH_MONEY_ONE * 1561 / 4);
    assert_int_equal(clutch->paid, CH_MONEY_ONE * 181 / 2);
    assert_int_equal(ch_plan_parts_left(clutch), CH_MONEY_ONE * 1199 / 4);
    assert_int_equal(ch_plan_bill(clutch), clutch->parts);
    assert_int_equal(ch_plan_paid(&plan), clutch->paid);
    assert_int_equal(clutch->hours.least_us, 0); /* more is done than the least guess */
    assert_int_equal(clutch->hours.likely_us, CH_WORK_HOUR / 4);
    assert_int_equal(clutch->hours.most_us, CH_WORK_HOUR * 7 / 4);
    assert_int_equal(clutch->needs.at[0], 1);
    assert_int_equal(seal->after.at[0], 2);
    assert_int_equal(hoses->shop_days, 14); /* whole days */
    assert_int_equal(seal->shop_days, 0);
    assert_int_equal(hoses->once_closed.count, 1);
    assert_int_equal(hoses->once_closed.at[0], 1);
    assert_int_equal(hoses->within.at[0], 0);
    assert_false(box->first);
    assert_int_equal(seal->requires_.at[0], 2);
    assert_int_equal(seal->excludes.at[0], 4);
    assert_true(hoses->must && hoses->done);
    assert_int_equal(hoses->hours.most_us, 0);
    ch_plan_clear(&plan);
    assert_null(plan.items);
}

static void what_is_not_said_is_not_a_limit(void **state)
{
    (void)state;
    ch_plan plan;
    assert_int_equal(parse("plan: 1\njobs: {a: {parts: 3}}\n", no_day, &plan, NULL), CH_OK);
    assert_true(plan.budget == CH_MONEY_NO_LIMIT && plan.no_budget && plan.no_hours_value && !plan.has_days);
    assert_true(ch_plan_work_limit(&plan) == CH_WORK_NO_LIMIT);
    assert_false(ch_date_given(ch_plan_start(&plan)));
    ch_plan_clear(&plan);
    assert_int_equal(parse("plan: 1\ndays: []\njobs: {}\n", no_day, &plan, NULL), CH_OK);
    assert_int_equal(ch_plan_work_limit(&plan), 0);
    ch_plan_clear(&plan);
    const char *json = "{\"plan\": 1, \"jobs\": {\"a\": {\"hours\": 1}}}";
    assert_int_equal(ch_plan_parse("p.json", json, strlen(json), no_day, &plan, NULL), CH_OK);
    ch_plan_clear(&plan);
}

static void the_same_name_may_be_a_step_and_a_job(void **state)
{
    (void)state;
    ch_plan plan;
    assert_int_equal(parse("plan: 1\naccess: {coolant: {hours: 1}}\njobs: {coolant: {needs: coolant}, pump: {needs: "
                           "[coolant], after: [coolant]}}\n",
                           no_day, &plan, NULL),
                     CH_OK);
    assert_int_equal(plan.items[1].needs.at[0], 0);
    assert_int_equal(plan.items[2].needs.at[0], 0);
    assert_int_equal(plan.items[2].after.at[0], 1);
    ch_plan_clear(&plan);
}

/* A plan, and the line that is said of it. */
static const struct {
    const char *text, *line;
} bad[] = {
    {"", "plan.yaml:1:1: the file is empty"},
    {"[1, 2]\n", "plan.yaml:1:1: not a plan: keys and values, with plan: 1 and jobs"},
    {"plan: 2\njobs: {}\n", "plan.yaml:1:7: plan is \"2\": 1"},
    {"jobs: {}\n", "plan.yaml:1:1: \"plan\" is missing here"},
    {"plan: 1\n", "plan.yaml:1:1: \"jobs\" is missing here"},
    {"plan: 1\nbudgett: 5\njobs: {}\n", "plan.yaml:2:1: unknown key \"budgett\": budget"},
    {"plan: 1\nbudget: -5\njobs: {}\n", "plan.yaml:2:9: budget is -5: 0 to 100000000"},
    {"plan: 1\nbudget: lots\njobs: {}\n", "plan.yaml:2:9: budget is \"lots\", not a plain number: 0 to 100000000"},
    {"plan: 1\njobs: {a: {hors: 1}}\n", "plan.yaml:2:12: unknown key \"hors\": hours"},
    {"plan: 1\njobs: {a: {hours: -1}}\n", "plan.yaml:2:19: hours is -1: 0 to 10000 hours"},
    {"plan: 1\njobs: {a: {hours: NaN}}\n", "plan.yaml:2:19: hours is \"NaN\", not a plain number: 0 to 10000 hours"},
    {"plan: 1\njobs: {a: {hours: 1e9}}\n", "plan.yaml:2:19: hours is 1e9: 0 to 10000 hours"},
    {"plan: 1\njobs: {a: {hours: [1, 2]}}\n",
     "plan.yaml:2:19: hours is a list of 2: one number, or [least, likely, most]"},
    {"plan: 1\njobs: {a: {hours: [1, 3, 2]}}\n",
     "plan.yaml:2:19: the three hours are not in order: [least, likely, most], each no less than the one before"},
    {"plan: 1\njobs: {a: {hours: [-1, 3, 2]}}\n", "plan.yaml:2:20: this is -1: 0 to 10000 hours"},
    {"plan: 1\njobs: {a: {parts: -3}}\n", "plan.yaml:2:19: parts is -3: 0 to 100000000"},
    {"plan: 1\njobs: {a: {refit_hours: 1}}\n", "plan.yaml:2:12: unknown key \"refit_hours\""},
    {"plan: 1\naccess: {a: {must: true}}\njobs: {}\n", "plan.yaml:2:14: unknown key \"must\""},
    {"plan: 1\njobs: {a: {must: maybe}}\n", "plan.yaml:2:18: must is \"maybe\": one of false, true, no, yes"},
    {"plan: 1\njobs: [a, b]\n", "plan.yaml:2:7: jobs is a list: a map of keys and values"},
    {"plan: 1\njobs: {a: 5}\n", "plan.yaml:2:11: a is a text: a map of keys and values"},
    {"plan: 1\naccess: {gearbox_out: {hours: 1}}\njobs: {a: {needs: [gearbox_uot]}}\n",
     "plan.yaml:3:20: needs: there is no \"gearbox_uot\" in this plan: did you mean gearbox_out?"},
    {"plan: 1\njobs: {clutch: {}, a: {requires: [cluthc]}}\n",
     "plan.yaml:2:35: requires: there is no \"cluthc\" in this plan: did you mean clutch?"},
    {"plan: 1\njobs: {clutch: {}, a: {excludes: [zzz]}}\n",
     "plan.yaml:2:35: excludes: there is no \"zzz\" in this plan: a name of this plan"},
    {"plan: 1\naccess: {x: {}}\njobs: {a: {excludes: [x]}}\n",
     "plan.yaml:3:23: excludes: there is no \"x\" in this plan: a name of this plan"},
    {"plan: 1\njobs: {a: {after: [a]}}\n", "plan.yaml:2:20: after names the item itself: another one"},
    {"plan: 1\naccess: {a: {needs: [b]}, b: {needs: [c]}, c: {needs: [a]}}\njobs: {}\n",
     "plan.yaml:2:10: needs and after go round in a circle: a -> b -> c -> a: an order of work that has a beginning"},
    {"plan: 1\njobs: {a: {after: [b]}, b: {needs: [a]}}\n",
     "plan.yaml:2:8: needs and after go round in a circle: a -> b -> a: an order of work that has a beginning"},
    {"plan: 1\naccess: {s: {}}\njobs: {a: {once_closed: [s]}, b: {needs: [s], after: [a]}}\n",
     "plan.yaml:3:8: needs, after and once_closed go round in a circle: a -> b -> a: an order of work that has a "
     "beginning"},
    {"plan: 1\naccess: {s: {}, t: {needs: [s]}}\njobs: {a: {once_closed: [s], needs: [t]}}\n",
     "plan.yaml:3:8: needs, after and once_closed go round in a circle: a -> a: an order of work that has a "
     "beginning"},
    {"plan: 1\naccess: {s: {within: t}, t: {needs: [s]}}\njobs: {}\n",
     "plan.yaml:2:10: needs, within and after go round in a circle: s -> t -> s: an order of work that has a "
     "beginning"},
    {"plan: 1\naccess: {s: {}, t: {within: s}}\njobs: {a: {once_closed: [s], within: [t]}}\n",
     "plan.yaml:3:8: needs, within, after and once_closed go round in a circle: a -> a: an order of work that has a "
     "beginning"},
    {"plan: 1\naccess: {s: {}, t: {first: true, within: [s]}}\njobs: {}\n",
     "plan.yaml:2:17: t is first and lies within s: a step that is first too"},
    {"plan: 1\naccess: {s: {}, t: {first: true, needs: [s]}}\njobs: {}\n",
     "plan.yaml:2:17: t is first and needs s: needs that are first too"},
    {"plan: 1\naccess: {s: {first: true}}\njobs: {a: {once_closed: [s]}}\n",
     "plan.yaml:3:8: a comes once_closed of s: a step that is not first: those are closed last"},
    {"plan: 1\njobs: {a: {first: true}}\n", "plan.yaml:2:12: unknown key \"first\""},
    {"plan: 1\ntoday: 2027-01-10\ndays: [{date: 2027-01-09, hours: 6}]\njobs: {}\n",
     "plan.yaml:3:15: 2027-01-09 is in the past: today is 2027-01-10: days from today on: take out those that are "
     "over"},
    {"plan: 1\ntoday: 2027-01-10\nuntil: 2027-01-09\njobs: {}\n",
     "plan.yaml:3:8: until is in the past: the date of the event to be ready for"},
    {"plan: 1\ndays: [{date: 2027-01-10, hours: 6}, {date: 2027-01-09, hours: 6}]\njobs: {}\n",
     "plan.yaml:2:45: 2027-01-09 stands behind 2027-01-10: days in their order, each once"},
    {"plan: 1\ndays: [{date: 2027-01-10, hours: 6}, {date: 2027-01-10, hours: 6}]\njobs: {}\n",
     "plan.yaml:2:45: 2027-01-10 stands behind 2027-01-10: days in their order, each once"},
    {"plan: 1\ndays: [{date: 2027-02-29, hours: 6}]\njobs: {}\n",
     "plan.yaml:2:15: \"2027-02-29\" does not exist: February 2027 has the days 01 to 28"},
    {"plan: 1\ndays: [{date: 2027-01-10, hours: 25}]\njobs: {}\n", "plan.yaml:2:34: hours is 25: 0 to 24 hours"},
    {"plan: 1\ndays: [{date: 2027-01-10}]\njobs: {}\n", "plan.yaml:2:8: \"hours\" is missing here"},
    {"plan: 1\njobs: {\"a\\u001bb\": {}}\n",
     "plan.yaml:2:8: this holds a line end or a control character: one line, or "
     "several folded with >-"},
    {"plan: 1\njobs: {a: {}, a: {}}\n", "plan.yaml:2:15: key \"a\" stands here again; first on line 2: each key once"},
};

static void bad_plans_are_refused_with_their_place(void **state)
{
    (void)state;
    int wrong = 0;
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        ch_plan plan = {.days_until = 77};
        ch_err err = {0};
        char line[1024];
        assert_int_equal(parse(bad[i].text, no_day, &plan, &err), CH_E_INPUT);
        ch_err_format(&err, line, sizeof line);
        if (strncmp(line, bad[i].line, strlen(bad[i].line)) != 0) {
            print_error("%s\n  said:   %s\n  wanted: %s\n", bad[i].text, line, bad[i].line);
            wrong++;
        }
        assert_int_equal(plan.days_until, 77);
        assert_int_equal(parse(bad[i].text, no_day, &plan, NULL), CH_E_INPUT);
    }
    assert_int_equal(wrong, 0);
}

static void days_before_the_callers_today_are_refused_too(void **state)
{
    (void)state;
    const char *text = "plan: 1\ndays: [{date: 2027-01-09, hours: 6}]\njobs: {}\n";
    ch_plan plan;
    ch_err err = {0};
    assert_int_equal(parse(text, (ch_date){2027, 1, 10}, &plan, &err), CH_E_INPUT);
    assert_int_equal(err.line, 2);
    assert_int_equal(parse(text, (ch_date){2027, 1, 9}, &plan, NULL), CH_OK);
    assert_int_equal(ch_plan_start(&plan).day, 9); /* the plan's first day: an answer must not change with the clock */
    ch_plan_clear(&plan);
    /* the plan's own day counts more */
    const char *own = "plan: 1\ntoday: 2027-01-08\ndays: [{date: 2027-01-09, hours: 6}]\njobs: {}\n";
    assert_int_equal(parse(own, (ch_date){2028, 1, 1}, &plan, NULL), CH_OK);
    assert_int_equal(ch_plan_start(&plan).day, 8);
    ch_plan_clear(&plan);
}

static void more_items_than_the_limit_are_refused(void **state)
{
    (void)state;
    char *text = malloc(64 * 1024);
    assert_non_null(text);
    size_t used = (size_t)sprintf(text, "plan: 1\njobs:\n");
    for (int i = 0; i <= CH_PLAN_ITEMS_MAX; i++)
        used += (size_t)sprintf(text + used, "  j%d: {}\n", i);
    ch_plan plan;
    ch_err err = {0};
    assert_int_equal(parse(text, no_day, &plan, &err), CH_E_LIMIT);
    free(text);
}

static void a_chain_of_a_thousand_steps_is_walked(void **state)
{
    (void)state;
    char *text = malloc(64 * 1024);
    assert_non_null(text);
    size_t used = (size_t)sprintf(text, "plan: 1\njobs: {}\naccess:\n  s0: {}\n");
    for (int i = 1; i < CH_PLAN_ITEMS_MAX; i++)
        used += (size_t)sprintf(text + used, "  s%d: {needs: s%d}\n", i, i - 1);
    ch_plan plan;
    assert_int_equal(parse(text, no_day, &plan, NULL), CH_OK);
    assert_int_equal(plan.items_count, CH_PLAN_ITEMS_MAX);
    ch_plan_clear(&plan);
    free(text);
}

static void a_plan_survives_the_loss_of_any_allocation(void **state)
{
    (void)state;
    for (long n = 1;; n++) {
        ch_plan plan = {0};
        fail_alloc_at(n);
        const ch_status rc = parse(whole, no_day, &plan, NULL);
        if (!fail_alloc_stop()) {
            assert_int_equal(rc, CH_OK);
            ch_plan_clear(&plan);
            break;
        }
        assert_int_equal(rc, CH_E_MEMORY);
        assert_null(plan.pieces);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_plan_is_read_as_written),
        cmocka_unit_test(what_is_not_said_is_not_a_limit),
        cmocka_unit_test(the_same_name_may_be_a_step_and_a_job),
        cmocka_unit_test(bad_plans_are_refused_with_their_place),
        cmocka_unit_test(days_before_the_callers_today_are_refused_too),
        cmocka_unit_test(more_items_than_the_limit_are_refused),
        cmocka_unit_test(a_chain_of_a_thousand_steps_is_walked),
        cmocka_unit_test(a_plan_survives_the_loss_of_any_allocation),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
