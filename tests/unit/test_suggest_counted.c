/*
 * Promises of winter/suggest.c and draft.c for every job, cause and drive of the knowledge: what is suggested is worth what the stated figures add up to by
 * hand, and a drafted plan holds of each job exactly what the knowledge says.
 */
#include "crosshatch/suggest.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "builtin_jobs.h"
#include "crosshatch/sampling.h"
#include "expect.h"

static bool has(const ch_places *list, size_t place)
{
    for (size_t i = 0; i < list->count; i++)
        if (list->at[i] == place)
            return true;
    return false;
}

static bool named(const char *const *list, size_t n, const char *id)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(list[i], id) == 0)
            return true;
    return false;
}

/* ---- drafts ---- */

static void with_required(size_t job, bool in[])
{
    if (in[job])
        return;
    in[job] = true;
    for (size_t k = 0; k < jobs.jobs[job].requires.count; k++)
        with_required(jobs.jobs[job].requires.at[k], in);
}

static void with_access(size_t step, ch_drive drive, bool in[])
{
    if (in[step])
        return;
    in[step] = true;
    const ch_places *needs = &jobs.access[step].work.needs[drive];
    for (size_t k = 0; k < needs->count; k++)
        with_access(needs->at[k], drive, in);
}

static void expect_time(const ch_work_guess *got, const ch_work_time *time)
{
    /* To a microsecond. */
    assert_int_equal(got->least_us, (ch_work)(time->least_s * 1e6 + 0.5));
    assert_int_equal(got->likely_us, (ch_work)(time->likely_s * 1e6 + 0.5));
    assert_int_equal(got->most_us, (ch_work)(time->most_s * 1e6 + 0.5));
}

/* The links are those of the knowledge whose other end is in the plan, each to the item of that name. */
static void expect_links(const ch_draft *d, const ch_places *got, const ch_places *known, bool to_access,
                         const bool in[])
{
    size_t n = 0;
    for (size_t k = 0; k < known->count; k++) {
        if (!in[known->at[k]])
            continue;
        const char *id = to_access ? jobs.access[known->at[k]].work.id : jobs.jobs[known->at[k]].work.id;
        assert_true(n < got->count);
        assert_string_equal(d->items[got->at[n]].name, id);
        assert_int_equal(d->items[got->at[n]].kind, to_access ? CH_PLAN_ACCESS : CH_PLAN_JOB);
        n++;
    }
    assert_int_equal(got->count, n);
}

static void expect_work(const ch_draft *d, const ch_plan_item *item, const ch_jobs_work *work, ch_drive drive,
                        const bool access[])
{
    double parts = 0.0;
    for (size_t i = 0; i < work->goods_count; i++)
        parts += work->goods[i].maybe ? 0.0 : work->goods[i].count * jobs.goods[work->goods[i].goods].price.likely;
    assert_string_equal(item->name, work->id);
    assert_string_equal(item->title, work->title);
    expect_time(&item->hours, &work->time);
    expect_time(&item->guessed, &work->time);
    expect_close((double)item->parts / (double)CH_MONEY_ONE, parts, 0.51 / (double)CH_MONEY_ONE); /* a cent, rounded */
    expect_links(d, &item->needs, &work->needs[drive], true, access);
    assert_true(item->avoided == 0 && !item->must && !item->done);
}

static void expect_draft(const size_t picked[], size_t n, size_t own, ch_drive drive)
{
    bool in[CH_JOBS_MAX] = {false}, access[CH_ACCESS_MAX] = {false};
    size_t set = 0, steps = 0, at = 0;
    ch_draft d;
    ch_err err = {0};
    for (size_t i = 0; i < n; i++)
        with_required(picked[i], in);
    for (size_t i = 0; i < jobs.jobs_count; i++)
        for (size_t k = 0; in[i] && k < jobs.jobs[i].work.needs[drive].count; k++)
            with_access(jobs.jobs[i].work.needs[drive].at[k], drive, access);
    for (size_t i = 0; i < jobs.jobs_count; i++)
        set += in[i];
    for (size_t i = 0; i < jobs.access_count; i++)
        steps += access[i];
    if (ch_draft_plan(&jobs, drive, picked, n, own, &d, &err) != CH_OK)
        fail_msg("%s", err.what);
    assert_int_equal(d.plan.access_count, steps);
    assert_int_equal(d.plan.items_count, steps + set + own);
    assert_ptr_equal(d.plan.items, d.items);
    assert_true(d.plan.budget == CH_MONEY_NO_LIMIT && d.plan.no_budget && d.plan.no_hours_value && !d.plan.has_days);
    assert_string_equal(d.plan.currency, jobs.currency);
    for (; at < steps; at++) {
        const ch_access *step = ch_access_find(&jobs, d.items[at].name, strlen(d.items[at].name));
        assert_non_null(step);
        assert_true(access[step - jobs.access]);
        assert_int_equal(d.items[at].kind, CH_PLAN_ACCESS);
        expect_work(&d, &d.items[at], &step->work, drive, access);
        expect_time(&d.items[at].refit, &step->back);
        for (size_t k = 0; k < d.items[at].needs.count; k++) /* in the order of opening */
            assert_true(d.items[at].needs.at[k] < at);
    }
    for (size_t i = 0; i < jobs.jobs_count; i++) {
        if (!in[i])
            continue;
        const ch_job *job = &jobs.jobs[i];
        const ch_plan_item *item = &d.items[at++];
        assert_int_equal(item->kind, CH_PLAN_JOB);
        expect_work(&d, item, &job->work, drive, access);
        expect_links(&d, &item->requires_, &job->requires, false, in);
        expect_links(&d, &item->excludes, &job->excludes, false, in);
        expect_links(&d, &item->after, &job->after, false, in);
        assert_int_equal(item->lead_days, (int)ceil(job->lead_days + job->shop_days));
        assert_int_equal(item->refit.likely_us, 0);
    }
    for (; at < d.plan.items_count; at++)
        assert_true(d.items[at].name == NULL && d.items[at].kind == CH_PLAN_JOB && d.items[at].hours.likely_us == 0);
    ch_draft_clear(&d);
}

static void a_draft_holds_what_the_knowledge_says(void **state)
{
    (void)state;
    ch_stream stream;
    ch_stream_init(&stream, 41, 0);
    for (int drive = 0; drive < CH_DRIVES; drive++) {
        size_t picked[CH_JOBS_MAX], n = 0;
        for (size_t i = 0; i < jobs.jobs_count; i++)
            if (jobs.jobs[i].work.drives[drive]) {
                const size_t one[] = {i, i};
                expect_draft(one, 2, i % 3, (ch_drive)drive);
            }
        for (int round = 0; round < 30; round++) {
            n = 0;
            for (size_t i = jobs.jobs_count; i > 0; i--)
                if (jobs.jobs[i - 1].work.drives[drive] && ch_stream_uniform(&stream) < 0.05 * (round + 1))
                    picked[n++] = i - 1;
            expect_draft(picked, n, (size_t)round % 4, (ch_drive)drive);
        }
    }
}

/* ---- suggestions ---- */

static double usual(ch_assumption_id id)
{
    return assumptions.of[id].usual;
}

/* docs/winter.md, "Suggestions": a breakdown with a cylinder over the limit. */
static double breakdown(void)
{
    return usual(CH_ASSUME_BREAK_OVER) *
           (usual(CH_ASSUME_TOW_HOME) + usual(CH_ASSUME_LOST_EVENTS) * usual(CH_ASSUME_EVENT_VALUE) +
            usual(CH_ASSUME_RUIN_SHARE) * usual(CH_ASSUME_RUIN_MONEY));
}

static double left_alone(const char *id, double alone, double hour)
{
    static const char *const head[] = {"intake_valve",           "exhaust_valve",
                                       "valve_lash_tight",       "head_gasket_between_cylinders",
                                       "head_gasket_to_coolant", "cracked_head"};
    static const char *const below[] = {"rings_or_bore", "piston_damage"};
    if (named(head, 6, id))
        return usual(CH_ASSUME_REPAIR_MONEY) + usual(CH_ASSUME_REPAIR_HOURS) * hour + breakdown();
    if (named(below, 2, id))
        return usual(CH_ASSUME_REBUILD_MONEY) + usual(CH_ASSUME_REBUILD_HOURS) * hour + breakdown();
    if (strcmp(id, "cam_or_timing") == 0)
        return alone + breakdown();
    if (strcmp(id, "sound") == 0 || strcmp(id, "measurement_error") == 0)
        return alone;
    return alone + usual(CH_ASSUME_EVENT_VALUE) + usual(CH_ASSUME_TOW_HOME); /* of the clutch */
}

static void expect_suggestions(const ch_suggest_cause cause[], size_t n, ch_drive drive, double hour)
{
    static ch_suggestion made[CH_JOBS_MAX];
    double alone[CH_JOBS_MAX], avoided[CH_JOBS_MAX] = {0.0};
    bool told[CH_JOBS_MAX] = {false};
    size_t count = 0, wanted = 0;
    for (size_t i = 0; i < jobs.jobs_count; i++)
        assert_int_equal(ch_job_alone(&jobs, drive, i, hour, &alone[i], NULL), CH_OK);
    for (size_t k = 0; k < n; k++) {
        size_t cheapest = SIZE_MAX;
        if (cause[k].chance_1 < CH_SUGGEST_LEAST_1)
            continue;
        for (size_t i = 0; i < jobs.jobs_count; i++)
            if (isfinite(alone[i]) && named(jobs.jobs[i].cures, jobs.jobs[i].cures_count, cause[k].id) &&
                (cheapest == SIZE_MAX || alone[i] < alone[cheapest]))
                cheapest = i;
        for (size_t i = 0; i < jobs.jobs_count; i++) {
            const ch_job *job = &jobs.jobs[i];
            if (!isfinite(alone[i]) || cheapest == SIZE_MAX)
                continue;
            if (named(job->cures, job->cures_count, cause[k].id)) {
                told[i] = true;
                /* counted once: with the cheapest, or with what cannot be done beside it */
                if (i == cheapest || has(&job->excludes, cheapest) || has(&jobs.jobs[cheapest].excludes, i))
                    avoided[i] += cause[k].chance_1 * left_alone(cause[k].id, alone[i], hour);
            } else if (named(job->prevents, job->prevents_count, cause[k].id)) {
                told[i] = true;
                avoided[i] += cause[k].chance_1 * alone[cheapest];
            }
        }
    }
    assert_int_equal(ch_suggest(&jobs, &assumptions, drive, hour, cause, n, made, &count, NULL), CH_OK);
    for (size_t i = 0; i < jobs.jobs_count; i++)
        wanted += told[i];
    assert_int_equal(count, wanted);
    for (size_t s = 0; s < count; s++) {
        assert_true(told[made[s].job]);
        expect_close(made[s].avoided, avoided[made[s].job], 1e-9 * (1.0 + avoided[made[s].job]));
        assert_true(made[s].reason[0] != '\0');
        if (s > 0) /* the most saved first, then as they stand in the knowledge */
            assert_true(made[s - 1].avoided > made[s].avoided ||
                        (made[s - 1].avoided == made[s].avoided && made[s - 1].job < made[s].job));
    }
}

static void every_cause_suggests_its_jobs_for_what_they_save(void **state)
{
    (void)state;
    ch_stream stream;
    ch_stream_init(&stream, 42, 0);
    ch_suggest_cause all[CH_CAUSE_COUNT + 16];
    size_t n = 0;
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        all[n++] = (ch_suggest_cause){ch_cause_name((ch_cause)c), "An engine's cause", 0.0};
    for (size_t c = 0; ch_clutch_cause_name(c) != NULL; c++)
        all[n++] = (ch_suggest_cause){ch_clutch_cause_name(c), "A clutch's cause", 0.0};
    for (int drive = 0; drive < CH_DRIVES; drive++)
        for (size_t k = 0; k < n; k++) {
            static const double chances[] = {CH_SUGGEST_LEAST_1, 0.9 * CH_SUGGEST_LEAST_1, 0.6, 1.0};
            for (int i = 0; i < 4; i++) {
                ch_suggest_cause one = all[k];
                one.chance_1 = chances[i];
                expect_suggestions(&one, 1, (ch_drive)drive, 12.5);
            }
        }
    for (int round = 0; round < 20; round++) {
        for (size_t k = 0; k < n; k++)
            all[k].chance_1 = ch_stream_uniform(&stream) * ch_stream_uniform(&stream);
        expect_suggestions(all, n, (ch_drive)(round % CH_DRIVES), 40.0 * ch_stream_uniform(&stream));
    }
}

static void limits_of_what_is_asked_are_held(void **state)
{
    (void)state;
    static ch_suggestion made[CH_JOBS_MAX];
    static ch_suggest_cause many[CH_SUGGEST_CAUSES_MAX + 1];
    size_t count = 0;
    for (size_t i = 0; i <= CH_SUGGEST_CAUSES_MAX; i++)
        many[i] = (ch_suggest_cause){"exhaust_valve", "Exhaust valve leaks", 1.0};
    assert_int_equal(
        ch_suggest(&jobs, &assumptions, CH_DRIVE_REAR, NAN, many, CH_SUGGEST_CAUSES_MAX, made, &count, NULL), CH_OK);
    assert_int_equal(
        ch_suggest(&jobs, &assumptions, CH_DRIVE_REAR, NAN, many, CH_SUGGEST_CAUSES_MAX + 1, made, &count, NULL),
        CH_E_RANGE);
    assert_int_equal(ch_suggest(&jobs, &assumptions, CH_DRIVES, NAN, many, 1, made, &count, NULL), CH_E_RANGE);
    assert_int_equal(ch_suggest(&jobs, &assumptions, (ch_drive)-1, NAN, many, 1, made, &count, NULL), CH_E_RANGE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_draft_holds_what_the_knowledge_says),
        cmocka_unit_test(every_cause_suggests_its_jobs_for_what_they_save),
        cmocka_unit_test(limits_of_what_is_asked_are_held),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
