/* Promises of winter/suggest.c and winter/draft.c: what is probably wrong becomes jobs, with what each saves and why, and jobs become a plan. */
#include "crosshatch/suggest.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "builtin_jobs.h"
#include "crosshatch/winter.h"
#include "expect.h"
#include "fail_alloc.h"

static size_t place(const char *id)
{
    const ch_job *job = ch_job_find(&jobs, id, strlen(id));
    assert_non_null(job);
    return (size_t)(job - jobs.jobs);
}

static ch_suggestion made[CH_JOBS_MAX];
static size_t made_count;

static void suggest(const ch_suggest_cause cause[], size_t n)
{
    ch_err err = {0};
    if (ch_suggest(&jobs, &assumptions, CH_DRIVE_REAR, NAN, cause, n, made, &made_count, &err) != CH_OK)
        fail_msg("%s", err.what);
}

static const ch_suggestion *suggested(const char *id)
{
    for (size_t i = 0; i < made_count; i++)
        if (made[i].job == place(id))
            return &made[i];
    return NULL;
}

static double usual(ch_assumption_id id)
{
    return assumptions.of[id].usual;
}

/* The stated figures by hand: a repair of the head, and half a chance of being towed home, missing events and perhaps ruining the engine. */
static void a_burnt_valve_is_worth_its_chance_times_the_stated_figures(void **state)
{
    (void)state;
    const ch_suggest_cause cause[] = {{"exhaust_valve", "Exhaust valve leaks", 0.8}};
    const double leaving = usual(CH_ASSUME_REPAIR_MONEY) + usual(CH_ASSUME_REPAIR_HOURS) * usual(CH_ASSUME_HOUR_VALUE) +
                           usual(CH_ASSUME_BREAK_OVER) * (usual(CH_ASSUME_TOW_HOME) +
                                                          usual(CH_ASSUME_LOST_EVENTS) * usual(CH_ASSUME_EVENT_VALUE) +
                                                          usual(CH_ASSUME_RUIN_SHARE) * usual(CH_ASSUME_RUIN_MONEY));
    suggest(cause, 1);
    const ch_suggestion *head = suggested("head_rebuild"), *swap = suggested("engine_swap");
    assert_non_null(head);
    assert_non_null(swap);                                /* it excludes the rebuild: it may count the same cause */
    expect_relative(head->avoided, 0.8 * leaving, 1e-12); /* rounding of the same sum */
    expect_relative(swap->avoided, 0.8 * leaving, 1e-12);
    assert_non_null(strstr(head->reason, "Exhaust valve leaks (80 %)"));
    assert_null(suggested("clutch_kit"));
}

static void no_cause_is_paid_for_twice(void **state)
{
    (void)state;
    const ch_suggest_cause cause[] = {{"valve_lash_tight", "Valve lash too tight", 0.5}};
    suggest(cause, 1);
    const ch_suggestion *lash = suggested("valve_lash"), *head = suggested("head_rebuild");
    assert_non_null(lash);
    assert_non_null(head); /* it needs the lash set anyway */
    assert_true(lash->avoided > 0);
    expect_close(head->avoided, 0, 0);
    assert_non_null(strstr(head->reason, "counted for"));
}

static void a_slipping_clutch_brings_its_kit_and_what_keeps_the_oil_off(void **state)
{
    (void)state;
    const ch_suggest_cause cause[] = {{"oil_contaminated", "Oil on the plate", 0.7}, {"worn", "Worn", 0.2}};
    suggest(cause, 2);
    const ch_suggestion *kit = suggested("clutch_kit"), *seal = suggested("rear_crank_seal");
    assert_non_null(kit);
    assert_non_null(seal);
    assert_true(kit->avoided > 0.9 * (usual(CH_ASSUME_EVENT_VALUE) + usual(CH_ASSUME_TOW_HOME)));
    assert_true(seal->avoided > 0);
    assert_non_null(strstr(seal->reason, "comes back"));
    assert_true(made[0].avoided >= made[made_count - 1].avoided);
}

static void what_is_hardly_likely_suggests_nothing(void **state)
{
    (void)state;
    const ch_suggest_cause cause[] = {{"exhaust_valve", "Exhaust valve leaks", CH_SUGGEST_LEAST_1 / 2},
                                      {"sound", "Sound", 0.9},
                                      {"not_the_clutch", "Something else", 0.9}};
    suggest(cause, 3);
    assert_int_equal(made_count, 0);
}

static void of_an_id_that_stands_twice_the_greater_chance_counts(void **state)
{
    (void)state;
    const ch_suggest_cause twice[] = {{"exhaust_valve", "Cylinder 1", 0.3}, {"exhaust_valve", "Cylinder 3", 0.6}};
    suggest(twice, 2);
    const double both = suggested("head_rebuild")->avoided;
    assert_non_null(strstr(suggested("head_rebuild")->reason, "Cylinder 3"));
    suggest(twice + 1, 1);
    expect_relative(both, suggested("head_rebuild")->avoided, 1e-12); /* rounding of the same sum */
}

/* By hand from the knowledge: a job without access and requirements is its own hours and certain parts. */
static void alone_a_job_costs_its_parts_and_hours_with_all_access(void **state)
{
    (void)state;
    double kit = 0, dear = 0;
    assert_int_equal(ch_job_alone(&jobs, CH_DRIVE_REAR, place("clutch_kit"), 0, &kit, NULL), CH_OK);
    assert_int_equal(ch_job_alone(&jobs, CH_DRIVE_REAR, place("clutch_kit"), 10, &dear, NULL), CH_OK);
    const size_t set[] = {place("clutch_kit")};
    size_t access[CH_ACCESS_MAX], n = 0;
    double time_s = jobs.jobs[set[0]].work.time.likely_s;
    ch_shopping shopping;
    assert_int_equal(ch_jobs_closure(&jobs, CH_DRIVE_REAR, set, 1, access, &n, NULL), CH_OK);
    assert_true(n > 3);
    for (size_t i = 0; i < n; i++)
        time_s += jobs.access[access[i]].work.time.likely_s + jobs.access[access[i]].back.likely_s;
    assert_int_equal(ch_jobs_shopping(&jobs, CH_DRIVE_REAR, set, 1, true, &shopping, NULL), CH_OK);
    expect_relative(kit, shopping.sum.likely, 1e-12); /* the same sum */
    expect_relative(dear - kit, time_s / 360, 1e-9);  /* rounding of a difference */
    ch_shopping_clear(&shopping);
}

static void what_is_no_chance_is_refused(void **state)
{
    (void)state;
    const double wrong[] = {NAN, -0.1, 1.1};
    for (size_t i = 0; i < 3; i++) {
        const ch_suggest_cause cause[] = {{"exhaust_valve", "Exhaust valve leaks", wrong[i]}};
        made_count = 77;
        assert_int_equal(ch_suggest(&jobs, &assumptions, CH_DRIVE_REAR, NAN, cause, 1, made, &made_count, NULL),
                         CH_E_RANGE);
        assert_int_equal(made_count, 77);
    }
}

static void suggestions_survive_the_loss_of_any_allocation(void **state)
{
    (void)state;
    const ch_suggest_cause cause[] = {{"exhaust_valve", "Exhaust valve leaks", 0.8}};
    for (long n = 1; n < 4; n++) {
        fail_alloc_at(n);
        const ch_status rc = ch_suggest(&jobs, &assumptions, CH_DRIVE_REAR, NAN, cause, 1, made, &made_count, NULL);
        assert_true(fail_alloc_stop());
        assert_int_equal(fail_alloc_left(), 0);
        assert_int_equal(rc, CH_E_MEMORY);
    }
}

/* ------------------------------------------------------------------ the plan */

static size_t item_at(const ch_plan *plan, const char *name, ch_plan_kind kind)
{
    for (size_t i = 0; i < plan->items_count; i++)
        if (plan->items[i].kind == kind && strcmp(plan->items[i].name, name) == 0)
            return i;
    fail_msg("no %s", name);
    return 0;
}

static void a_draft_holds_the_jobs_what_they_require_and_their_access(void **state)
{
    (void)state;
    const size_t picked[] = {place("head_rebuild")};
    ch_draft draft;
    assert_int_equal(ch_draft_plan(&jobs, CH_DRIVE_REAR, picked, 1, 0, &draft, NULL), CH_OK);
    const size_t head = item_at(&draft.plan, "head_rebuild", CH_PLAN_JOB),
                 lash = item_at(&draft.plan, "valve_lash", CH_PLAN_JOB);
    assert_int_equal(draft.items[head].requires_.count, 1);
    assert_int_equal(draft.items[head].requires_.at[0], lash);
    assert_true(draft.plan.access_count > 0);
    for (size_t i = 0; i < draft.plan.items_count; i++)
        for (size_t k = 0; k < draft.items[i].needs.count; k++)
            assert_true(draft.items[i].needs.at[k] < draft.plan.access_count);
    assert_int_equal(draft.items[head].lead_days, (int)jobs.jobs[picked[0]].lead_days);
    assert_int_equal(draft.items[head].shop_days, (int)jobs.jobs[picked[0]].shop_days);
    assert_int_equal(draft.items[head].once_closed.count, 0);
    assert_int_equal(draft.items[lash].once_closed.count, 2);
    assert_true(draft.items[item_at(&draft.plan, "engine_stopped", CH_PLAN_ACCESS)].first);
    assert_false(draft.items[item_at(&draft.plan, "head_off", CH_PLAN_ACCESS)].first);
    ch_draft_clear(&draft);
}

/* Every job of the knowledge, both drives: the plan can be written, read and answered. */
static void a_draft_of_all_jobs_is_a_plan(void **state)
{
    (void)state;
    for (int drive = 0; drive < CH_DRIVES; drive++) {
        size_t picked[CH_JOBS_MAX], n = 0;
        ch_draft draft;
        ch_plan plan;
        ch_choice choice;
        ch_text text;
        ch_err err = {0};
        bool chosen[CH_PLAN_ITEMS_MAX];
        for (size_t i = 0; i < jobs.jobs_count; i++)
            if (jobs.jobs[i].work.drives[drive])
                picked[n++] = i;
        assert_int_equal(ch_draft_plan(&jobs, (ch_drive)drive, picked, n, 0, &draft, NULL), CH_OK);
        ch_text_init(&text, CH_PLAN_BYTES_MAX);
        assert_int_equal(ch_plan_write(&draft.plan, &text, &err), CH_OK);
        if (ch_plan_parse("draft", ch_text_string(&text), text.length, (ch_date){0}, &plan, &err) != CH_OK)
            fail_msg("%ld: %s", err.line, err.what);
        assert_int_equal(plan.items_count, draft.plan.items_count);
        assert_int_equal(ch_winter_choose(&plan, NULL, 0, 0, 0, chosen, &choice, NULL), CH_OK);
        assert_true(choice.feasible);
        ch_plan_clear(&plan);
        ch_text_clear(&text);
        ch_draft_clear(&draft);
    }
}

/* Where an entry of a kind stands first in the calendar; SIZE_MAX = nowhere. */
static size_t entry_of(const ch_plan *plan, const ch_calendar *calendar, const char *name, ch_entry_kind kind)
{
    for (size_t i = 0; i < calendar->count; i++)
        if (calendar->entries[i].kind == kind && strcmp(plan->items[calendar->entries[i].item].name, name) == 0)
            return i;
    return SIZE_MAX;
}

/*
 * Clutch and head, as the knowledge has them: what wants the running engine is opened before anything comes off and closed when all is back, as on the job's own sheet;
 * lash is set when the head is on again and the timing drive closed.
 */
static void a_draft_is_laid_in_an_order_that_a_mechanic_can_work_in(void **state)
{
    (void)state;
    static const char *const running[] = {"engine_stopped", "fuel_pressure_off"};
    for (int drive = 0; drive < CH_DRIVES; drive++) {
        const size_t picked[] = {place("clutch_kit"), place("head_rebuild"), place("rear_crank_seal")};
        ch_plan_day days[60];
        ch_draft draft;
        ch_calendar calendar;
        bool chosen[CH_PLAN_ITEMS_MAX];
        assert_int_equal(ch_draft_plan(&jobs, (ch_drive)drive, picked, 3, 0, &draft, NULL), CH_OK);
        ch_plan plan = draft.plan;
        for (int d = 0; d < 60; d++)
            days[d] = (ch_plan_day){ch_date_from_days(ch_date_days((ch_date){2026, 11, 28}) + d), 2 * CH_WORK_HOUR};
        plan.has_days = true;
        plan.days = days;
        plan.days_count = plan.days_until = 60;
        memset(chosen, true, sizeof chosen);
        assert_int_equal(ch_winter_calendar(&plan, chosen, &calendar, NULL), CH_OK);
        assert_true(calendar.fits);
        for (size_t r = 0; r < sizeof running / sizeof running[0]; r++) {
            const size_t opened = entry_of(&plan, &calendar, running[r], CH_ENTRY_OPEN),
                         closed = entry_of(&plan, &calendar, running[r], CH_ENTRY_CLOSE);
            for (size_t i = 0; i < plan.access_count; i++)
                if (!plan.items[i].first) {
                    assert_true(opened < entry_of(&plan, &calendar, plan.items[i].name, CH_ENTRY_OPEN));
                    assert_true(closed > entry_of(&plan, &calendar, plan.items[i].name, CH_ENTRY_CLOSE));
                }
        }
        const size_t lash = entry_of(&plan, &calendar, "valve_lash", CH_ENTRY_JOB),
                     rebuilt = entry_of(&plan, &calendar, "head_rebuild", CH_ENTRY_JOB);
        assert_true(entry_of(&plan, &calendar, "head_off", CH_ENTRY_CLOSE) < lash);
        assert_true(entry_of(&plan, &calendar, "timing_open", CH_ENTRY_CLOSE) < lash);
        assert_true(entry_of(&plan, &calendar, "valve_cover_off", CH_ENTRY_CLOSE) > lash && rebuilt < lash);
        const size_t off = entry_of(&plan, &calendar, "head_off", CH_ENTRY_OPEN);
        assert_true(calendar.entries[rebuilt].day >=
                    calendar.entries[off].day + 14); /* a day of the plan is one of the calendar */
        ch_calendar_clear(&calendar);
        ch_draft_clear(&draft);
    }
}

static void a_draft_leaves_room_for_the_owners_own_jobs(void **state)
{
    (void)state;
    const size_t picked[] = {place("clutch_kit")};
    ch_draft draft;
    assert_int_equal(ch_draft_plan(&jobs, CH_DRIVE_FRONT, picked, 1, 2, &draft, NULL), CH_OK);
    assert_int_equal(draft.plan.items_count, draft.plan.access_count + 3);
    assert_null(draft.items[draft.plan.items_count - 1].name);
    assert_int_equal(draft.items[draft.plan.items_count - 1].kind, CH_PLAN_JOB);
    ch_draft_clear(&draft);
    const size_t none[] = {jobs.jobs_count};
    assert_int_equal(ch_draft_plan(&jobs, CH_DRIVE_FRONT, none, 1, 0, &draft, NULL), CH_E_RANGE);
}

static void expect_links(const ch_draft *draft, const ch_places *got, const char *const wanted[], size_t n)
{
    size_t found = 0;
    for (size_t i = 0; i < got->count; i++)
        for (size_t k = 0; k < n; k++)
            found += strcmp(draft->items[got->at[i]].name, wanted[k]) == 0;
    assert_int_equal(got->count, n);
    assert_int_equal(found, n);
}

/* Each job by itself: what it needs and requires is in the draft under the names that the knowledge has for it, and so is what its access needs. */
static void a_draft_links_what_the_knowledge_links(void **state)
{
    (void)state;
    for (size_t i = 0; i < jobs.jobs_count; i++) {
        ch_draft draft;
        if (!jobs.jobs[i].work.drives[CH_DRIVE_REAR])
            continue;
        assert_int_equal(ch_draft_plan(&jobs, CH_DRIVE_REAR, &i, 1, 0, &draft, NULL), CH_OK);
        for (size_t k = 0; k < draft.plan.items_count; k++) {
            const ch_plan_item *item = &draft.items[k];
            const ch_jobs_work *work = NULL;
            const char *wanted[CH_ACCESS_MAX];
            for (size_t a = 0; a < jobs.access_count && k < draft.plan.access_count; a++)
                work = strcmp(jobs.access[a].work.id, item->name) == 0 ? &jobs.access[a].work : work;
            for (size_t a = 0; a < jobs.jobs_count && k >= draft.plan.access_count; a++)
                work = strcmp(jobs.jobs[a].work.id, item->name) == 0 ? &jobs.jobs[a].work : work;
            assert_non_null(work);
            const ch_places *needs = &work->needs[CH_DRIVE_REAR];
            for (size_t a = 0; a < needs->count; a++)
                wanted[a] = jobs.access[needs->at[a]].work.id;
            expect_links(&draft, &item->needs, wanted, needs->count);
        }
        ch_draft_clear(&draft);
    }
}

static void a_draft_survives_the_loss_of_any_allocation(void **state)
{
    (void)state;
    const size_t picked[] = {place("clutch_kit")};
    for (long n = 1; n <= 4; n++) {
        ch_draft draft = {0};
        fail_alloc_at(n);
        const ch_status rc = ch_draft_plan(&jobs, CH_DRIVE_REAR, picked, 1, 0, &draft, NULL);
        assert_true(fail_alloc_stop());
        assert_int_equal(rc, CH_E_MEMORY);
        assert_null(draft.items);
        assert_int_equal(fail_alloc_left(), 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_burnt_valve_is_worth_its_chance_times_the_stated_figures),
        cmocka_unit_test(no_cause_is_paid_for_twice),
        cmocka_unit_test(a_slipping_clutch_brings_its_kit_and_what_keeps_the_oil_off),
        cmocka_unit_test(what_is_hardly_likely_suggests_nothing),
        cmocka_unit_test(of_an_id_that_stands_twice_the_greater_chance_counts),
        cmocka_unit_test(alone_a_job_costs_its_parts_and_hours_with_all_access),
        cmocka_unit_test(what_is_no_chance_is_refused),
        cmocka_unit_test(suggestions_survive_the_loss_of_any_allocation),
        cmocka_unit_test(a_draft_holds_the_jobs_what_they_require_and_their_access),
        cmocka_unit_test(a_draft_of_all_jobs_is_a_plan),
        cmocka_unit_test(a_draft_is_laid_in_an_order_that_a_mechanic_can_work_in),
        cmocka_unit_test(a_draft_leaves_room_for_the_owners_own_jobs),
        cmocka_unit_test(a_draft_links_what_the_knowledge_links),
        cmocka_unit_test(a_draft_survives_the_loss_of_any_allocation),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
