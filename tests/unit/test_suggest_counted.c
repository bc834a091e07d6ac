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
#include "crosshatch/winter.h"
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
    expect_links(d, &item->within, &work->within[drive], true, access);
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
        assert_int_equal(d.items[at].first, step->first);
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
        expect_links(&d, &item->once_closed, &job->once_closed, true, access);
        assert_int_equal(item->lead_days, (int)ceil(job->lead_days));
        assert_int_equal(item->shop_days, (int)ceil(job->shop_days));
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

/* ---- the order of the known jobs ---- */

/* What comes before what on any car, where both are done. Common practice, by hand: what can be reached, and what would run out or draw air. */
typedef struct precedence {
    const char *first;
    ch_entry_kind first_kind;
    const char *then;
    ch_entry_kind then_kind;
} precedence;

static const precedence workable[] = {
    /* A brake circuit is bled when everything that holds its fluid is on; new fluid goes into a closed one. */
    {"brake_pads", CH_ENTRY_JOB, "brake_circuit_open", CH_ENTRY_CLOSE},
    {"brake_hoses", CH_ENTRY_JOB, "brake_circuit_open", CH_ENTRY_CLOSE},
    {"brakes_stripped", CH_ENTRY_CLOSE, "brake_circuit_open", CH_ENTRY_CLOSE},
    {"hubs_off", CH_ENTRY_CLOSE, "brake_circuit_open", CH_ENTRY_CLOSE},
    {"brake_circuit_open", CH_ENTRY_CLOSE, "brake_fluid", CH_ENTRY_JOB},
    {"brakes_stripped", CH_ENTRY_CLOSE, "brake_fluid", CH_ENTRY_JOB},
    {"hubs_off", CH_ENTRY_CLOSE, "brake_fluid", CH_ENTRY_JOB},
    {"brake_pads", CH_ENTRY_JOB, "brake_fluid", CH_ENTRY_JOB},
    {"brake_fluid", CH_ENTRY_JOB, "wheels_off", CH_ENTRY_CLOSE},
    {"brakes_stripped", CH_ENTRY_CLOSE, "parking_brake", CH_ENTRY_JOB},
    /* The release cylinder hangs on the gearbox: bled off it, its piston comes out. */
    {"gearbox_out", CH_ENTRY_CLOSE, "clutch_hydraulics", CH_ENTRY_JOB},
    {"transaxle_out", CH_ENTRY_CLOSE, "clutch_hydraulics", CH_ENTRY_JOB},
    {"gearbox_out", CH_ENTRY_CLOSE, "clutch_cable", CH_ENTRY_JOB},
    {"clutch_hydraulics", CH_ENTRY_JOB, "car_on_stands", CH_ENTRY_CLOSE},
    /* Oil goes in when nothing below its level is open. */
    {"gearbox_oil_drained", CH_ENTRY_OPEN, "propshaft_off", CH_ENTRY_OPEN},
    {"propshaft_off", CH_ENTRY_CLOSE, "gearbox_oil_drained", CH_ENTRY_CLOSE},
    {"gearbox_out", CH_ENTRY_CLOSE, "gearbox_oil_drained", CH_ENTRY_CLOSE},
    {"transaxle_out", CH_ENTRY_CLOSE, "gearbox_oil_drained", CH_ENTRY_CLOSE},
    {"axle_oil_drained", CH_ENTRY_OPEN, "half_shafts_out", CH_ENTRY_OPEN},
    {"half_shafts_out", CH_ENTRY_CLOSE, "axle_oil_drained", CH_ENTRY_CLOSE},
    {"sump_off", CH_ENTRY_CLOSE, "oil_drained", CH_ENTRY_CLOSE},
    {"timing_open", CH_ENTRY_CLOSE, "oil_drained", CH_ENTRY_CLOSE},
    {"head_off", CH_ENTRY_CLOSE, "oil_drained", CH_ENTRY_CLOSE},
    {"engine_out", CH_ENTRY_CLOSE, "oil_drained", CH_ENTRY_CLOSE},
    /* Water likewise, and a flush until it runs clear wants every hose on. */
    {"timing_open", CH_ENTRY_CLOSE, "coolant_drained", CH_ENTRY_CLOSE},
    {"radiator_out", CH_ENTRY_CLOSE, "coolant_drained", CH_ENTRY_CLOSE},
    {"head_off", CH_ENTRY_CLOSE, "coolant_drained", CH_ENTRY_CLOSE},
    {"coolant_hoses", CH_ENTRY_JOB, "coolant_change", CH_ENTRY_JOB},
    {"thermostat", CH_ENTRY_JOB, "coolant_change", CH_ENTRY_JOB},
    {"water_pump", CH_ENTRY_JOB, "coolant_change", CH_ENTRY_JOB},
    {"radiator_out", CH_ENTRY_CLOSE, "coolant_change", CH_ENTRY_JOB},
    {"intake_off", CH_ENTRY_CLOSE, "coolant_change", CH_ENTRY_JOB},
    {"head_off", CH_ENTRY_CLOSE, "coolant_change", CH_ENTRY_JOB},
    {"coolant_change", CH_ENTRY_JOB, "coolant_drained", CH_ENTRY_CLOSE},
    /* Coils sit on the cover, the air box above both, the tray below whatever is reached from there. */
    {"airbox_off", CH_ENTRY_OPEN, "plugs_out", CH_ENTRY_OPEN},
    {"plugs_out", CH_ENTRY_OPEN, "valve_cover_off", CH_ENTRY_OPEN},
    {"valve_cover_off", CH_ENTRY_CLOSE, "plugs_out", CH_ENTRY_CLOSE},
    {"plugs_out", CH_ENTRY_CLOSE, "airbox_off", CH_ENTRY_CLOSE},
    {"valve_cover_off", CH_ENTRY_CLOSE, "coils_and_leads", CH_ENTRY_JOB},
    {"undertray_off", CH_ENTRY_OPEN, "exhaust_off", CH_ENTRY_OPEN},
    {"undertray_off", CH_ENTRY_OPEN, "gearbox_oil_drained", CH_ENTRY_OPEN},
    {"undertray_off", CH_ENTRY_OPEN, "oil_drained", CH_ENTRY_OPEN},
    {"undertray_off", CH_ENTRY_OPEN, "aux_belt_off", CH_ENTRY_OPEN},
    {"exhaust_off", CH_ENTRY_CLOSE, "undertray_off", CH_ENTRY_CLOSE},
    {"gearbox_oil_drained", CH_ENTRY_CLOSE, "undertray_off", CH_ENTRY_CLOSE},
    {"oil_drained", CH_ENTRY_CLOSE, "undertray_off", CH_ENTRY_CLOSE},
    {"propshaft_off", CH_ENTRY_OPEN, "fuel_tank_down", CH_ENTRY_OPEN},
    {"exhaust_off", CH_ENTRY_OPEN, "subframe_down", CH_ENTRY_OPEN},
};

enum { WORKABLE = sizeof workable / sizeof workable[0] };

/* The first or the last piece of a task in a calendar; SIZE_MAX = it is not there. */
static size_t piece_of(const ch_plan *plan, const ch_calendar *calendar, const char *name, ch_entry_kind kind,
                       bool last)
{
    size_t found = SIZE_MAX;
    for (size_t i = 0; i < calendar->count && (last || found == SIZE_MAX); i++)
        if (calendar->entries[i].kind == kind && strcmp(plan->items[calendar->entries[i].item].name, name) == 0)
            found = i;
    return found;
}

static void expect_workable(const size_t picked[], size_t n, ch_drive drive, size_t seen[WORKABLE])
{
    enum { DAYS = 80 };
    bool chosen[CH_JOBS_MAX + CH_ACCESS_MAX];
    ch_plan_day day[DAYS];
    ch_calendar calendar;
    ch_draft d;
    assert_int_equal(ch_draft_plan(&jobs, drive, picked, n, 0, &d, NULL), CH_OK);
    for (size_t i = 0; i < DAYS; i++)
        day[i] = (ch_plan_day){.date = ch_date_from_days(ch_date_days((ch_date){2027, 1, 1}) + (long)i),
                               .work_us = 8 * CH_WORK_HOUR};
    d.plan.days = day;
    d.plan.days_count = d.plan.days_until = DAYS;
    d.plan.has_days = true;
    memset(chosen, true, sizeof chosen);
    assert_int_equal(ch_winter_calendar(&d.plan, chosen, &calendar, NULL), CH_OK);
    for (size_t i = 0; i < WORKABLE; i++) {
        const precedence *p = &workable[i];
        const size_t first = piece_of(&d.plan, &calendar, p->first, p->first_kind, true),
                     then = piece_of(&d.plan, &calendar, p->then, p->then_kind, false);
        if (first == SIZE_MAX || then == SIZE_MAX)
            continue;
        seen[i]++;
        if (first > then)
            fail_msg("%s-wheel drive: %s (%d) comes before %s (%d)", ch_drive_name(drive), p->then, (int)p->then_kind,
                     p->first, (int)p->first_kind);
    }
    ch_calendar_clear(&calendar);
    ch_draft_clear(&d);
}

static void known_jobs_are_laid_in_an_order_that_can_be_worked_in(void **state)
{
    (void)state;
    size_t seen[WORKABLE] = {0};
    ch_stream stream;
    ch_stream_init(&stream, 43, 0);
    for (int drive = 0; drive < CH_DRIVES; drive++)
        for (int round = 0; round < 20; round++) {
            size_t picked[CH_JOBS_MAX], n = 0;
            for (size_t i = 0; i < jobs.jobs_count; i++)
                if (jobs.jobs[i].work.drives[drive] && ch_stream_uniform(&stream) < 0.06 + 0.03 * round)
                    picked[n++] = i;
            expect_workable(picked, n, (ch_drive)drive, seen);
        }
    for (size_t i = 0; i < WORKABLE; i++) /* each has been tried, by its names */
        if (seen[i] == 0)
            fail_msg("%s and %s are never both done", workable[i].first, workable[i].then);
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

static const char *in_words(const char *id)
{
    static const char *const below[] = {"rings_or_bore", "piston_damage"};
    static const char *const clutch[] = {
        "worn", "glazed", "oil_contaminated", "pressure_plate", "hydraulic_or_cable", "flywheel"};
    if (named(below, 2, id))
        return "a rebuild later and the risk of a breakdown";
    if (named(clutch, 6, id))
        return "the same work later, a lost day and the way home";
    if (strcmp(id, "cam_or_timing") == 0)
        return "the same work later and the risk of a breakdown";
    if (strcmp(id, "sound") == 0 || strcmp(id, "measurement_error") == 0)
        return "the same work later";
    return "a repair of the head later and the risk of a breakdown";
}

/* One more sentence behind a space, where there is room for all of it in 511 bytes. (The first goes without the space and leaves its place.) */
static void add_sentence(char reason[CH_SUGGEST_REASON], const char *sentence)
{
    if (strlen(reason) + 1 + strlen(sentence) > CH_SUGGEST_REASON - 1)
        return;
    if (reason[0] != '\0')
        strcat(reason, " ");
    strcat(reason, sentence);
}

static long whole(double x)
{
    return (long)floor(x + 0.5);
}

static void expect_suggestions(const ch_suggest_cause cause[], size_t n, ch_drive drive, double hour)
{
    static ch_suggestion made[CH_JOBS_MAX];
    static char reason[CH_JOBS_MAX][CH_SUGGEST_REASON];
    double alone[CH_JOBS_MAX], avoided[CH_JOBS_MAX] = {0.0};
    bool told[CH_JOBS_MAX] = {false};
    size_t count = 0, wanted = 0;
    for (size_t i = 0; i < jobs.jobs_count; i++)
        assert_int_equal(ch_job_alone(&jobs, drive, i, hour, &alone[i], NULL), CH_OK);
    memset(reason, 0, sizeof reason);
    for (size_t k = 0; k < n; k++) {
        size_t cheapest = SIZE_MAX;
        char sentence[600], begin[200];
        /* titles up to 120 bytes */
        snprintf(begin, sizeof begin, "%.120s (%ld %%)", cause[k].title, whole(100.0 * cause[k].chance_1));
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
                if (i == cheapest || has(&job->excludes, cheapest) || has(&jobs.jobs[cheapest].excludes, i)) {
                    const double cost = left_alone(cause[k].id, alone[i], hour);
                    avoided[i] += cause[k].chance_1 * cost;
                    snprintf(sentence, sizeof sentence, "%s: left alone it costs about %ld %s: %s.", begin, whole(cost),
                             jobs.currency, in_words(cause[k].id));
                } else {
                    snprintf(sentence, sizeof sentence, "%s: also cured by, and counted for, \"%s\".", begin,
                             jobs.jobs[cheapest].work.title);
                }
                add_sentence(reason[i], sentence);
            } else if (named(job->prevents, job->prevents_count, cause[k].id)) {
                told[i] = true;
                avoided[i] += cause[k].chance_1 * alone[cheapest];
                snprintf(sentence, sizeof sentence,
                         "%s: without this it comes back, and the cure costs about %ld %s again.", begin,
                         whole(alone[cheapest]), jobs.currency);
                add_sentence(reason[i], sentence);
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
        assert_string_equal(made[s].reason, reason[made[s].job]);
        if (s > 0) /* the most saved first, then as they stand in the knowledge */
            assert_true(made[s - 1].avoided > made[s].avoided ||
                        (made[s - 1].avoided == made[s].avoided && made[s - 1].job < made[s].job));
    }
}

/* Parts and hours of the job and of all that it requires, with all access, opened and closed; nothing where one of them does not hold for the drive. */
static void alone_a_job_costs_all_that_comes_with_it(void **state)
{
    (void)state;
    int required = 0, none = 0;
    for (int drive = 0; drive < CH_DRIVES; drive++)
        for (size_t j = 0; j < jobs.jobs_count; j++) {
            bool in[CH_JOBS_MAX] = {false}, access[CH_ACCESS_MAX] = {false}, holds = true;
            size_t set[CH_JOBS_MAX], n = 0;
            double time_s = 0.0, alone = 77.0;
            with_required(j, in);
            for (size_t i = 0; i < jobs.jobs_count; i++) {
                if (!in[i])
                    continue;
                set[n++] = i;
                holds = holds && jobs.jobs[i].work.drives[drive];
                time_s += jobs.jobs[i].work.time.likely_s;
                for (size_t k = 0; k < jobs.jobs[i].work.needs[drive].count; k++)
                    with_access(jobs.jobs[i].work.needs[drive].at[k], (ch_drive)drive, access);
            }
            for (size_t i = 0; i < jobs.access_count; i++)
                time_s += access[i] ? jobs.access[i].work.time.likely_s + jobs.access[i].back.likely_s : 0.0;
            assert_int_equal(ch_job_alone(&jobs, (ch_drive)drive, j, 30.0, &alone, NULL), CH_OK);
            assert_int_equal(isnan(alone), !holds);
            none += !holds;
            required += n > 1;
            if (!holds)
                continue;
            ch_shopping shopping = {0};
            assert_int_equal(ch_jobs_shopping(&jobs, (ch_drive)drive, set, n, true, &shopping, NULL), CH_OK);
            expect_close(alone, shopping.sum.likely + 30.0 * time_s / 3600.0, 1e-9 * alone);
            ch_shopping_clear(&shopping);
        }
    assert_true(required > 2 && none > 2);
}

/* Titles of any length, cut at 120 bytes; sentences as long as all of one fits. */
static void reasons_hold_as_many_sentences_as_fit(void **state)
{
    (void)state;
    static char title[3][151];
    static const char *const id[] = {"exhaust_valve", "intake_valve", "cracked_head"};
    ch_suggest_cause cause[3];
    for (int length = 1; length <= 150; length++) {
        for (int k = 0; k < 3; k++) {
            memset(title[k], 'a' + k, 150);
            title[k][k < 2 ? 100 : length] = '\0';
            cause[k] = (ch_suggest_cause){id[k], title[k], 0.125};
        }
        expect_suggestions(cause, 3, CH_DRIVE_REAR, 20.0);
        cause[0].title = title[2];
        expect_suggestions(cause, 1, CH_DRIVE_REAR, 20.0);
    }
}

/* Of an id that stands several times the greatest chance counts, wherever it stands, with its title, once. */
static void an_id_counts_once_with_its_greatest_chance(void **state)
{
    (void)state;
    static ch_suggestion got[CH_JOBS_MAX], want[CH_JOBS_MAX];
    static const ch_suggest_cause one[] = {{"exhaust_valve", "Cylinder 2", 0.6}};
    size_t got_count = 0, want_count = 0;
    assert_int_equal(ch_suggest(&jobs, &assumptions, CH_DRIVE_REAR, NAN, one, 1, want, &want_count, NULL), CH_OK);
    assert_true(want_count > 1);
    for (int at = 0; at < 3; at++) {
        ch_suggest_cause all[3];
        for (int k = 0; k < 3; k++)
            all[k] = k == at ? one[0] : (ch_suggest_cause){"exhaust_valve", "Another", 0.1 * (k + 1)};
        assert_int_equal(ch_suggest(&jobs, &assumptions, CH_DRIVE_REAR, NAN, all, 3, got, &got_count, NULL), CH_OK);
        assert_int_equal(got_count, want_count);
        for (size_t s = 0; s < want_count; s++) {
            assert_int_equal(got[s].job, want[s].job);
            expect_close(got[s].avoided, want[s].avoided, 0.0);
            assert_string_equal(got[s].reason, want[s].reason);
        }
    }
    /* an hour's worth that is not given is the usual one */
    assert_int_equal(
        ch_suggest(&jobs, &assumptions, CH_DRIVE_REAR, usual(CH_ASSUME_HOUR_VALUE), one, 1, got, &got_count, NULL),
        CH_OK);
    for (size_t s = 0; s < want_count; s++)
        expect_close(got[s].avoided, want[s].avoided, 0.0);
}

static void refuse(ch_drive drive, const ch_suggest_cause cause[], size_t n, const char *what, const char *right)
{
    static ch_suggestion made[CH_JOBS_MAX];
    size_t count = 77;
    ch_err err = {0};
    assert_int_equal(ch_suggest(&jobs, &assumptions, drive, NAN, cause, n, made, &count, &err), CH_E_RANGE);
    assert_string_equal(err.what, what);
    assert_string_equal(err.right, right);
    assert_int_equal(count, 77);
}

static void refusals_say_what_is_wrong(void **state)
{
    (void)state;
    static ch_suggest_cause many[CH_SUGGEST_CAUSES_MAX + 1];
    static ch_suggestion made[CH_JOBS_MAX];
    size_t count = 0;
    for (size_t i = 0; i <= CH_SUGGEST_CAUSES_MAX; i++)
        many[i] = (ch_suggest_cause){"glazed", "Glazed", 0.0};
    refuse(CH_DRIVE_REAR, many, CH_SUGGEST_CAUSES_MAX + 1, "65 causes", "at most 64");
    refuse((ch_drive)-1, many, 1, "a drive of another kind", "rear or front");
    refuse(CH_DRIVES, many, 1, "a drive of another kind", "rear or front");
    static const double wrong[] = {-1e-9, 1.0 + 1e-8, NAN, INFINITY};
    for (int k = 0; k < 4; k++) {
        many[63] = (ch_suggest_cause){"worn", "Worn", wrong[k]};
        refuse(CH_DRIVE_FRONT, many, 64, "worn: a chance that is none", "0 to 1");
    }
    many[63].chance_1 = 1.0 + 0.9e-9; /* rounding of a sum */
    assert_int_equal(ch_suggest(&jobs, &assumptions, CH_DRIVE_REAR, NAN, many, 64, made, &count, NULL), CH_OK);
}

/* ---- a draft of all that there is: as many links as room is made for, on cars of either drive ---- */

static void a_draft_has_room_for_all_links(void **state)
{
    (void)state;
    static const size_t first[] = {0, 1}, jobs_of[] = {0, 1, 2, 3};
    for (int drive = 0; drive < CH_DRIVES; drive++) {
        ch_access access[2] = {{.work = {.id = "a0", .title = "A0"}}, {.work = {.id = "a1", .title = "A1"}}};
        ch_job job[4] = {{.work = {.id = "j0", .title = "J0"}},
                         {.work = {.id = "j1", .title = "J1"}},
                         {.work = {.id = "j2", .title = "J2"}},
                         {.work = {.id = "j3", .title = "J3"}}};
        for (int i = 0; i < 2; i++)
            access[i].work.drives[drive] = true;
        access[1].work.needs[drive] = (ch_places){.at = first, .count = 1};
        for (size_t i = 0; i < 4; i++) {
            job[i].work.drives[drive] = true;
            job[i].work.needs[drive] = (ch_places){.at = first, .count = 2};
            job[i].requires = (ch_places){.at = jobs_of, .count = 4};
            job[i].excludes = (ch_places){.at = jobs_of, .count = 4};
            job[i].after = (ch_places){.at = jobs_of, .count = 4};
            job[i].once_closed = (ch_places){.at = first, .count = 2};
            job[i].lead_days = 0.5 * (double)i;
            job[i].shop_days = 2.25 * (double)i;
        }
        const ch_jobs all = {.currency = "EUR", .access = access, .access_count = 2, .jobs = job, .jobs_count = 4};
        for (size_t own = 0; own < 3; own++) {
            ch_draft d;
            ch_err err = {0};
            static const size_t one[] = {2};
            if (ch_draft_plan(&all, (ch_drive)drive, one, 1, own, &d, &err) != CH_OK) /* the others are required */
                fail_msg("%s", err.what);
            assert_int_equal(d.plan.items_count, 6 + own);
            assert_int_equal(d.items[0].needs.count + d.items[1].needs.count, 1);
            static const int lead[] = {0, 1, 1, 2}; /* of 0, 0.5, 1 and 1.5 days */
            static const int shop[] = {0, 3, 5, 7}; /* of 0, 2.25, 4.5 and 6.75 days */
            for (size_t i = 0; i < 4; i++) {
                const ch_plan_item *item = &d.items[2 + i];
                assert_int_equal(item->lead_days, lead[i]);
                assert_int_equal(item->shop_days, shop[i]);
                assert_int_equal(item->once_closed.count, 2);
                assert_int_equal(item->once_closed.at[1], 1);
                for (size_t k = 0; k < 4; k++) {
                    assert_true(item->requires_.at[k] == 2 + k && item->excludes.at[k] == 2 + k &&
                                item->after.at[k] == 2 + k);
                    assert_true(k > 1 || item->needs.at[k] == k);
                }
            }
            for (size_t i = 0; i < own; i++)
                assert_true(d.items[6 + i].kind == CH_PLAN_JOB && d.items[6 + i].name == NULL);
            ch_draft_clear(&d);
            assert_null(d.items);
        }
        static const size_t beyond[] = {0, 4};
        ch_draft none = {.places = NULL};
        ch_err err = {0};
        assert_int_equal(ch_draft_plan(&all, (ch_drive)drive, beyond, 2, 0, &none, &err), CH_E_RANGE);
        assert_string_equal(err.what, "there is no job 4");
        assert_int_equal(ch_draft_plan(&all, (ch_drive)drive, beyond, 0, 2, &none, &err),
                         CH_OK); /* none but own ones */
        assert_int_equal(none.plan.items_count, 2);
        ch_draft_clear(&none);
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
        cmocka_unit_test(known_jobs_are_laid_in_an_order_that_can_be_worked_in),
        cmocka_unit_test(every_cause_suggests_its_jobs_for_what_they_save),
        cmocka_unit_test(limits_of_what_is_asked_are_held),
        cmocka_unit_test(alone_a_job_costs_all_that_comes_with_it),
        cmocka_unit_test(reasons_hold_as_many_sentences_as_fit),
        cmocka_unit_test(an_id_counts_once_with_its_greatest_chance),
        cmocka_unit_test(refusals_say_what_is_wrong),
        cmocka_unit_test(a_draft_has_room_for_all_links),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
