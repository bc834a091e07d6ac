/* Promises of winter/choose.c, reasons.c and winter.c: the plan's program is the one that docs/winter.md states, and the answer explains itself. */
#include "crosshatch/winter.h"

#include <stdlib.h>
#include <string.h>

#include "expect.h"
#include "fail_alloc.h"

/* The plan of the manual's example, with a day's hours to be filled in. */
static const char example[] = "plan: 1\n"
                              "until: 2027-04-03\n"
                              "hours_value: 15\n"
                              "budget: 1500\n"
                              "days: [{date: 2027-01-09, hours: %s}, {date: 2027-01-10, hours: 5}]\n"
                              "access:\n"
                              "  propshaft_off: {hours: 1.0, refit_hours: 1.0, parts: 12}\n"
                              "  gearbox_out: {hours: 3.0, refit_hours: 3.5, needs: [propshaft_off]}\n"
                              "jobs:\n"
                              "  clutch_kit: {hours: 1.5, parts: 390, needs: [gearbox_out], avoided: 900}\n"
                              "  rear_crank_seal: {hours: 0.8, parts: 25, needs: [gearbox_out], avoided: 240}\n"
                              "  brake_hoses: {hours: 2.0, parts: 110, avoided: 150, must: true}\n";

static void read_example(const char *hours, ch_plan *plan)
{
    char text[1024];
    snprintf(text, sizeof text, example, hours);
    assert_int_equal(ch_plan_parse("plan.yaml", text, strlen(text), (ch_date){0}, plan, NULL), CH_OK);
}

static void read_plan(const char *text, ch_plan *plan)
{
    ch_err err = {0};
    if (ch_plan_parse("plan.yaml", text, strlen(text), (ch_date){0}, plan, &err) < 0)
        fail_msg("%s", err.what);
}

/*
 * By hand. 100 are there, 70 are paid: 30 for a's parts of 60, 40 for b's of 40. What is left is 30: it buys either the rest of a (70 saved less
 * 30) or c (50 less 20), not both; b takes no more money, so that its 5 are worth it, though its parts cost 40. The bill is 70 + 30.
 */
static void money_that_is_paid_is_gone_whatever_is_chosen(void **state)
{
    (void)state;
    ch_plan plan;
    ch_choice choice;
    bool chosen[3];
    read_plan(
        "plan: 1\nbudget: 100\njobs: {a: {parts: 60, avoided: 70, paid: 30}, b: {parts: 40, avoided: 5, paid: 40}, "
        "c: {parts: 20, avoided: 50}}\n",
        &plan);
    assert_int_equal(ch_winter_choose(&plan, NULL, 0, 0, 0, chosen, &choice, NULL), CH_OK);
    assert_true(choice.feasible && chosen[0] && chosen[1] && !chosen[2]);
    assert_int_equal(choice.parts, 100 * CH_MONEY_ONE);
    assert_int_equal(choice.value, 45 * CH_MONEY_ONE);
    ch_plan_clear(&plan);

    /* A done job cost what was paid and nothing more; one that is left out after all has cost what was paid for it. */
    read_plan(
        "plan: 1\nbudget: 100\njobs: {a: {parts: 60, avoided: 70, paid: 75, done: true}, b: {parts: 40, avoided: 5, "
        "paid: 20}, c: {parts: 5, avoided: 50}}\n",
        &plan);
    assert_int_equal(ch_winter_choose(&plan, NULL, 0, 0, 0, chosen, &choice, NULL), CH_OK);
    assert_true(choice.feasible && chosen[0] && !chosen[1] && chosen[2]);
    assert_int_equal(choice.parts, 100 * CH_MONEY_ONE);
    ch_plan_clear(&plan);

    /* More than there was: what takes no more money can still be done; a must that takes some is short by the whole of it. */
    read_plan("plan: 1\nbudget: 100\njobs: {a: {parts: 60, avoided: 70, paid: 120}, b: {parts: 1, avoided: 99}}\n",
              &plan);
    assert_int_equal(ch_winter_choose(&plan, NULL, 0, 0, 0, chosen, &choice, NULL), CH_OK);
    assert_true(choice.feasible && chosen[0] && !chosen[1]);
    ch_plan_clear(&plan);
    read_plan("plan: 1\nbudget: 100\njobs: {a: {parts: 60, paid: 120}, b: {parts: 1, must: true}}\n", &plan);
    assert_int_equal(ch_winter_choose(&plan, NULL, 0, 0, 0, chosen, &choice, NULL), CH_OK);
    assert_false(choice.feasible);
    assert_int_equal(choice.short_parts, 21 * CH_MONEY_ONE);
    ch_plan_clear(&plan);
}

/*
 * By hand: both gearbox jobs 2.3 h and 415, their access 8.5 h and 12, the hoses 2 h and 110. Value 900 + 240 + 150 - 415 - 12 - 110 - 15 x
 * 12.8 = 561. The hours are 12.8, so that a first day of 7.8 h is filled to the last minute, one of 7.79 h is too short for the seal.
 */
static void the_example_is_chosen_as_by_hand(void **state)
{
    (void)state;
    ch_plan plan;
    ch_choice choice;
    bool chosen[5];
    read_example("7.8", &plan);
    assert_int_equal(ch_winter_choose(&plan, NULL, 0, 0, 0, chosen, &choice, NULL), CH_OK);
    assert_true(choice.feasible && choice.proven);
    assert_int_equal(choice.value, 561 * CH_MONEY_ONE);
    assert_int_equal(choice.parts, 537 * CH_MONEY_ONE);
    assert_int_equal(choice.work_us, CH_WORK_HOUR * 128 / 10);
    for (int i = 0; i < 5; i++)
        assert_true(chosen[i]);
    ch_plan_clear(&plan);

    read_example("7.79", &plan);
    assert_int_equal(ch_winter_choose(&plan, NULL, 0, 0, 0, chosen, &choice, NULL), CH_OK);
    assert_true(chosen[0] && chosen[1] && chosen[2] && !chosen[3] && chosen[4]);
    assert_int_equal(choice.value, (561 - 240 + 25 + 12) * CH_MONEY_ONE); /* without the seal's 240 - 25 - 0.8 x 15 */
    ch_plan_clear(&plan);

    read_example("1", &plan); /* no time for the gearbox: its access goes too */
    assert_int_equal(ch_winter_choose(&plan, NULL, 0, 0, 0, chosen, &choice, NULL), CH_OK);
    assert_true(!chosen[0] && !chosen[1] && !chosen[2] && !chosen[3] && chosen[4]);
    assert_int_equal(choice.value, 10 * CH_MONEY_ONE);
    ch_plan_clear(&plan);
}

static void hours_that_add_up_only_in_decimals_fill_a_day(void **state)
{
    (void)state;
    /* 0.1 + 0.2 is more than 0.3 in doubles; three thirds, written with twelve digits, are a whole */
    static const char *const plans[] = {
        "plan: 1\ndays: [{date: 2027-01-09, hours: 0.3}]\njobs: {a: {hours: 0.1, avoided: 1}, b: {hours: 0.2, avoided: "
        "1}}\n",
        "plan: 1\ndays: [{date: 2027-01-09, hours: 1}]\njobs: {a: {hours: 0.333333333333, avoided: 1}, b: {hours: "
        "0.333333333333, avoided: 1}, c: {hours: 0.333333333334, avoided: 1}}\n",
        "plan: 1\nbudget: 0.3\njobs: {a: {parts: 0.1, avoided: 1}, b: {parts: 0.2, avoided: 1}}\n"};
    for (size_t i = 0; i < sizeof plans / sizeof plans[0]; i++) {
        ch_plan plan;
        ch_winter winter;
        read_plan(plans[i], &plan);
        assert_int_equal(ch_winter_answer(&plan, 1, &winter, NULL), CH_OK);
        for (size_t k = 0; k < plan.items_count; k++)
            assert_true(winter.chosen[k]);
        if (plan.has_days) {
            ch_work sum_us = 0;
            for (size_t k = 0; k < winter.calendar.count; k++)
                sum_us += winter.calendar.entries[k].work_us;
            assert_true(winter.calendar.fits);
            assert_true(sum_us <= plan.days[0].work_us);
        }
        ch_winter_clear(&winter);
        ch_plan_clear(&plan);
    }
}

static void what_is_too_much_is_named_with_its_amount(void **state)
{
    (void)state;
    ch_plan plan;
    ch_winter winter;
    read_plan("plan: 1\nbudget: 100\ndays: [{date: 2027-01-09, hours: 6}]\n"
              "access: {x: {hours: 3, refit_hours: 2, parts: 30}}\n"
              "jobs: {a: {hours: 2.5, parts: 60, must: true, needs: x, requires: [b]}, b: {hours: 0.25, parts: 40.5}, "
              "c: {hours: 9, parts: 900, avoided: 99}}\n",
              &plan);
    assert_int_equal(ch_winter_answer(&plan, 1, &winter, NULL), CH_OK);
    assert_false(winter.choice.feasible);
    assert_int_equal(winter.choice.short_us, CH_WORK_HOUR * 7 / 4);       /* 7.75 of 6 */
    assert_int_equal(winter.choice.short_parts, CH_MONEY_ONE * 305 / 10); /* 130.5 of 100 */
    assert_true(winter.choice.quarrel[0] == SIZE_MAX);
    assert_int_equal(winter.jobs_count, 0);
    ch_winter_clear(&winter);
    ch_plan_clear(&plan);

    read_plan("plan: 1\njobs: {a: {must: true, requires: [b]}, b: {}, c: {must: true, excludes: [b]}}\n", &plan);
    assert_int_equal(ch_winter_answer(&plan, 1, &winter, NULL), CH_OK);
    assert_false(winter.choice.feasible);
    assert_int_equal(winter.choice.short_us, 0);
    assert_int_equal(winter.choice.short_parts, 0);
    assert_int_equal(winter.choice.quarrel[0], 2);
    assert_int_equal(winter.choice.quarrel[1], 1);
    ch_winter_clear(&winter);
    ch_plan_clear(&plan);
}

static const ch_job_view *view_of(const ch_plan *plan, const ch_winter *winter, const char *name)
{
    for (size_t i = 0; i < winter->jobs_count; i++)
        if (strcmp(plan->items[winter->jobs[i].item].name, name) == 0)
            return &winter->jobs[i];
    fail_msg("no job %s", name);
    return NULL;
}

static void every_job_has_its_reason(void **state)
{
    (void)state;
    ch_plan plan;
    ch_winter winter;
    read_plan("plan: 1\nhours_value: 10\nbudget: 200\ndays: [{date: 2027-01-09, hours: 10}]\n"
              "access: {x: {hours: 1, refit_hours: 1}}\n"
              "jobs:\n"
              "  finished: {hours: 5, parts: 20, done: true, needs: x, avoided: 30}\n"
              "  must: {hours: 1, must: true, requires: [needed]}\n"
              "  needed: {hours: 1}\n"
              "  pays: {hours: 1, needs: x, avoided: 150}\n"
              "  rival: {hours: 1, avoided: 60, excludes: [pays]}\n"
              "  shut: {hours: 1, avoided: 90, excludes: [needed]}\n"
              "  large: {hours: 9, avoided: 9000}\n"
              "  loss: {hours: 1, avoided: 9}\n"
              "  crowded: {hours: 6, avoided: 100}\n",
              &plan);
    assert_int_equal(ch_winter_answer(&plan, 1, &winter, NULL), CH_OK);
    assert_true(winter.choice.feasible);
    static const struct {
        const char *name;
        ch_job_reason reason;
    } want[] = {{"finished", CH_JOB_DONE},   {"must", CH_JOB_MUST},    {"needed", CH_JOB_NEEDED},
                {"pays", CH_JOB_PAYS},       {"rival", CH_JOB_RIVAL},  {"shut", CH_JOB_SHUT_OUT},
                {"large", CH_JOB_TOO_LARGE}, {"loss", CH_JOB_NO_GAIN}, {"crowded", CH_JOB_CROWDED_OUT}};
    for (size_t i = 0; i < sizeof want / sizeof want[0]; i++)
        assert_int_equal(view_of(&plan, &winter, want[i].name)->reason, want[i].reason);
    /* finished 30 - 20, must and needed -20, pays with its access 150 - 30: 110. With crowded there is no time for pays, only for rival: 10 - 20 + 40
     * + 50 = 80 */
    assert_int_equal(winter.choice.value, 110 * CH_MONEY_ONE);
    assert_int_equal(view_of(&plan, &winter, "crowded")->difference, 30 * CH_MONEY_ONE);
    assert_int_equal(view_of(&plan, &winter, "pays")->difference, 30 * CH_MONEY_ONE);
    ch_winter_clear(&winter);
    ch_plan_clear(&plan);
}

static void an_answer_survives_the_loss_of_any_allocation(void **state)
{
    (void)state;
    ch_plan plan;
    read_plan("plan: 1\nbudget: 90\ndays: [{date: 2027-01-09, hours: 3}, {date: 2027-01-12, hours: 4}]\n"
              "access: {x: {hours: 1, refit_hours: 1}}\n"
              "jobs: {a: {hours: [1, 2, 3], avoided: 90, needs: x, excludes: [b]}, b: {hours: 1, avoided: 20}, c: "
              "{hours: 1, avoided: 50, "
              "needs: x, after: a}}\n",
              &plan);
    ch_winter whole = {0};
    assert_int_equal(ch_winter_answer(&plan, 1, &whole, NULL), CH_OK);
    assert_true(whole.drops_count > 0);
    for (long n = 1;; n++) {
        ch_winter winter = {0};
        fail_alloc_at(n);
        const ch_status rc = ch_winter_answer(&plan, 1, &winter, NULL);
        if (!fail_alloc_stop()) {
            assert_int_equal(rc, CH_OK);
            ch_winter_clear(&winter);
            assert_int_equal(fail_alloc_left(), 0);
            break;
        }
        if (rc >= 0) { /* what only saves time may be missing, and changes nothing */
            assert_int_equal(winter.choice.value, whole.choice.value);
            expect_close(winter.chance_1, whole.chance_1, 0.0);
            assert_int_equal(winter.drops_count, whole.drops_count);
            for (size_t d = 0; d < whole.drops_count; d++) {
                assert_int_equal(winter.drops[d].item, whole.drops[d].item);
                expect_close(winter.drops[d].chance_1, whole.drops[d].chance_1, 0.0);
            }
            ch_winter_clear(&winter);
            assert_int_equal(fail_alloc_left(), 0);
            continue;
        }
        assert_int_equal(rc, CH_E_MEMORY);
        assert_null(winter.chosen);
        assert_int_equal(fail_alloc_left(), 0);
    }
    ch_winter_clear(&whole);
    ch_plan_clear(&plan);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_example_is_chosen_as_by_hand),
        cmocka_unit_test(money_that_is_paid_is_gone_whatever_is_chosen),
        cmocka_unit_test(hours_that_add_up_only_in_decimals_fill_a_day),
        cmocka_unit_test(what_is_too_much_is_named_with_its_amount),
        cmocka_unit_test(every_job_has_its_reason),
        cmocka_unit_test(an_answer_survives_the_loss_of_any_allocation),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
