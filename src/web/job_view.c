/* One job at one car, see job_view.h. */
#include "job_view.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/show_winter.h"
#include "crosshatch/store_driveline.h"
#include "piece.h"
#include "winter_work.h"

/* FNV-1a; settings name steps by it. */
static uint32_t hash(const char *words)
{
    uint32_t h = UINT32_C(2166136261);
    for (; *words != '\0'; words++)
        h = (h ^ (unsigned char)*words) * UINT32_C(16777619);
    return h;
}

static void mark_name(int64_t work_id, char part, const char *words, char name[64])
{
    snprintf(name, 64, "work.%lld.%c.%08lx", (long long)work_id, part, (unsigned long)hash(words));
}

static ch_status read_mark(web_request *request, const ch_store_work *work, char part, const char *words,
                           job_mark *mark, ch_err *err)
{
    char name[64];
    const char *text = NULL;
    *mark = JOB_OPEN;
    if (work == NULL)
        return CH_OK;
    mark_name(work->id, part, words, name);
    const ch_status rc = ch_store_setting_get(request->store, &request->pool, name, &text, err);
    if (rc >= 0 && text != NULL)
        *mark = strcmp(text, "passed") == 0 ? JOB_PASSED : JOB_DONE;
    return rc;
}

ch_status job_mark_set(web_request *request, int64_t work_id, char part, const char *words, job_mark mark, ch_err *err)
{
    char name[64];
    mark_name(work_id, part, words, name);
    return ch_store_setting_set(request->store, name,
                                mark == JOB_OPEN     ? NULL
                                : mark == JOB_PASSED ? "passed"
                                                     : "done",
                                request->now_s, err);
}

char job_part(const ch_job_sheet_step *step)
{
    return step->part == CH_JOB_SHEET_OPEN ? 'o' : step->part == CH_JOB_SHEET_CLOSE ? 'c' : 'w';
}

bool job_measured(ch_retest_by by)
{
    return by == CH_RETEST_COMPRESSION || by == CH_RETEST_LEAK_DOWN || by == CH_RETEST_SLIP_LOG;
}

unsigned job_prove(const ch_job *job)
{
    unsigned prove = 0;
    for (size_t i = 0; job != NULL && i < job->retests_count; i++)
        switch (job->retests[i].by) {
        case CH_RETEST_COMPRESSION: prove |= CH_STORE_PROVE_COMPRESSION; break;
        case CH_RETEST_LEAK_DOWN: prove |= CH_STORE_PROVE_LEAK_DOWN; break;
        case CH_RETEST_SLIP_LOG: prove |= CH_STORE_PROVE_SLIP_LOG; break;
        case CH_RETEST_LEAK_CHECK:
        case CH_RETEST_PRESSURE:
        case CH_RETEST_PEDAL:
        case CH_RETEST_ROAD:
        case CH_RETEST_LOOK:
        case CH_RETEST_TORQUE: break;
        }
    return prove;
}

const ch_store_work *job_access_work(const job_view *view, const char *name)
{
    const ch_store_work *work = winter_work_of(&view->kept, CH_PLAN_ACCESS, name);
    const bool done = view->work != NULL && view->work->done_s != 0;
    return work == NULL || work->closed_s == 0 || done ? work : NULL;
}

/* ---------------------------------------------------------------- who else needs the access */

/*
 * A job that is chosen, or in hand, and not done, and that needs this access: closing it would open it twice. NULL = none.
 */
static ch_status needed_by(const job_view *view, const bool chosen[], size_t access, const char **title, ch_err *err)
{
    const winter_kept *kept = &view->kept;
    const ch_jobs *jobs = &kept->know->jobs;
    *title = NULL;
    for (size_t i = kept->plan.access_count; i < kept->plan.items_count; i++) {
        const ch_plan_item *item = &kept->plan.items[i];
        const ch_job *other = ch_job_find(jobs, item->name, strlen(item->name));
        const ch_store_work *work = winter_work_of(kept, CH_PLAN_JOB, item->name);
        size_t opened[CH_ACCESS_MAX], count = 0;
        if (other == NULL || other == view->job || item->done || !other->work.drives[kept->drive] ||
            !(chosen[i] || (work != NULL && work->closed_s == 0)))
            continue;
        const size_t place = (size_t)(other - jobs->jobs);
        const ch_status rc = ch_jobs_closure(jobs, kept->drive, &place, 1, opened, &count, err);
        if (rc < 0)
            return rc;
        for (size_t k = 0; k < count; k++)
            if (opened[k] == access) {
                *title = ch_show_plan_item(item);
                return CH_OK;
            }
    }
    return CH_OK;
}

/* The closing steps of an access step wait. True where that is news. */
static bool hold(job_view *view, size_t access)
{
    bool news = false;
    for (size_t k = 0; k < view->sheet.steps_count; k++) {
        job_place *place = &view->places[k];
        if (place->step->part != CH_JOB_SHEET_CLOSE || place->step->of != &view->kept.know->jobs.access[access].work)
            continue;
        news = news || !place->held;
        place->held = true;
    }
    return news;
}

static bool is_held(const job_view *view, size_t access)
{
    for (size_t k = 0; k < view->sheet.steps_count; k++)
        if (view->places[k].held && view->places[k].step->of == &view->kept.know->jobs.access[access].work)
            return true;
    return false;
}

static bool of_sheet(const job_view *view, size_t access)
{
    for (size_t i = 0; i < view->sheet.access_count; i++)
        if (view->sheet.access[i] == access)
            return true;
    return false;
}

static bool holds_place(const ch_places *places, size_t at)
{
    for (size_t i = 0; i < places->count; i++)
        if (places->at[i] == at)
            return true;
    return false;
}

/* `inner` is closed before `outer`: it needs it, lies within it, or the outer one is first (docs/winter.md, First steps). */
static bool encloses(const job_view *view, size_t outer, size_t inner)
{
    const ch_jobs *jobs = &view->kept.know->jobs;
    const ch_jobs_work *work = &jobs->access[inner].work;
    return (jobs->access[outer].first && !jobs->access[inner].first) ||
           holds_place(&work->needs[view->kept.drive], outer) || holds_place(&work->within[view->kept.drive], outer);
}

/*
 * Access that is open and is not closed on this page, because another job needs it or only another has it, keeps open what it stands inside: fuel is not tried while the
 * battery is off, the engine not started while its timing drive is open.
 */
static void hold_enclosing(job_view *view)
{
    const ch_jobs *jobs = &view->kept.know->jobs;
    for (bool more = true; more;) {
        more = false;
        for (size_t b = 0; b < jobs->access_count; b++) {
            const ch_store_work *work = winter_work_of(&view->kept, CH_PLAN_ACCESS, jobs->access[b].work.id);
            const bool ours = of_sheet(view, b);
            if (work == NULL || work->closed_s != 0 || (ours && !is_held(view, b)))
                continue;
            for (size_t i = 0; i < view->sheet.access_count; i++) {
                const size_t access = view->sheet.access[i];
                if (access == b || !encloses(view, access, b) || !hold(view, access))
                    continue;
                more = true;
                if (!ours)
                    view->open_too = jobs->access[b].work.title;
            }
        }
    }
}

static ch_status hold_back(job_view *view, ch_err *err)
{
    const ch_plan *plan = &view->kept.plan;
    ch_choice choice;
    bool *chosen = calloc(plan->items_count + 1, sizeof *chosen);
    ch_status rc = chosen == NULL ? ch_fail(err, CH_E_MEMORY, NULL, "no memory for the choice") : CH_OK;
    if (rc >= 0 && view->kept.any)
        rc = ch_winter_choose(plan, NULL, 0, 0, 0, chosen, &choice, err);
    for (size_t i = 0; rc >= 0 && i < view->sheet.access_count; i++) {
        const size_t access = view->sheet.access[i];
        const char *title = NULL;
        rc = needed_by(view, chosen, access, &title, err);
        if (title == NULL)
            continue;
        view->waits_for = title;
        hold(view, access);
    }
    if (rc >= 0)
        hold_enclosing(view);
    free(chosen);
    return rc;
}

/* ---------------------------------------------------------------- loading */

static ch_status load_places(web_request *request, job_view *view, ch_err *err)
{
    view->places = calloc(view->sheet.steps_count + 1, sizeof *view->places);
    if (view->places == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the steps of a job");
    ch_status rc = CH_OK;
    for (size_t i = 0; rc >= 0 && i < view->sheet.steps_count; i++) {
        job_place *place = &view->places[i];
        place->step = &view->sheet.steps[i];
        place->work = place->step->part == CH_JOB_SHEET_WORK ? view->work : job_access_work(view, place->step->of->id);
        snprintf(place->key, sizeof place->key, "%zu-%08lx", i, (unsigned long)hash(place->step->step->first_text));
        rc = read_mark(request, place->work, job_part(place->step), place->step->step->first_text, &place->mark, err);
        /* Said to be open, or to be done, as a whole. */
        if (place->work != NULL && place->step->part != CH_JOB_SHEET_CLOSE && place->work->done_s != 0 &&
            place->mark == JOB_OPEN)
            place->mark = JOB_DONE;
        if (place->work != NULL && place->work->closed_s != 0 && place->mark == JOB_OPEN)
            place->mark = JOB_DONE;
        if (place->work == NULL && view->work != NULL && view->work->done_s != 0)
            place->mark = JOB_PASSED; /* the job was done without it */
    }
    if (rc >= 0)
        rc = hold_back(view, err);
    for (size_t i = 0; rc >= 0 && i < view->sheet.steps_count; i++) {
        view->settled += view->places[i].mark != JOB_OPEN;
        view->open += view->places[i].mark == JOB_OPEN && !view->places[i].held;
    }
    return rc;
}

static bool is_mine(const job_view *view, const ch_store_ledger *entry)
{
    bool mine = view->work != NULL && entry->work_id == view->work->id;
    for (size_t i = 0; i < view->sheet.access_count && !mine; i++) {
        const ch_store_work *work = job_access_work(view, view->kept.know->jobs.access[view->sheet.access[i]].work.id);
        mine = work != NULL && entry->work_id == work->id;
    }
    return mine;
}

static ch_status load_off(web_request *request, job_view *view, ch_err *err)
{
    const ch_store_ledger *all = NULL;
    size_t count = 0;
    const ch_status rc = ch_store_ledger_list(request->store, &request->pool, 0, true, &all, &count, err);
    if (rc < 0)
        return rc;
    view->off = calloc(count + 1, sizeof *view->off);
    if (view->off == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for what is off");
    for (size_t i = count; i-- > 0;) /* what came off last goes back first */
        if (is_mine(view, &all[i]))
            view->off[view->off_count++] = &all[i];
    return CH_OK;
}

static ch_status load_proof(web_request *request, job_view *view, ch_err *err)
{
    ch_status rc = CH_OK;
    const ch_store_run *runs = NULL;
    size_t count = 0;
    if (view->work != NULL && view->work->done_s != 0)
        rc = ch_store_work_proof(request->store, view->work->id, &view->proof, err);
    if (rc >= 0 && view->proof.run_id != 0)
        rc = ch_store_runs(request->store, &request->pool, view->kept.car->id, &runs, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++)
        if (runs[i].id == view->proof.run_id)
            view->slips = runs[i].driveline.slips_found;
    for (size_t i = 0; rc >= 0 && view->job != NULL && i < view->job->retests_count && i < CH_JOBS_MAX; i++) {
        job_mark mark;
        rc = read_mark(request, view->work, 't', view->job->retests[i].first_text, &mark, err);
        view->seen[i] = rc >= 0 && mark == JOB_DONE;
    }
    return rc;
}

static ch_status load_job(web_request *request, job_view *view, ch_err *err)
{
    const ch_jobs *jobs = &view->kept.know->jobs;
    const ch_owner_torque *torques = NULL;
    size_t count = 0;
    ch_status rc = ch_store_torques(request->store, &request->pool, view->kept.car->id, &torques, &count, err);
    if (rc >= 0 && view->job != NULL)
        rc = ch_job_sheet_make(jobs, view->kept.drive, (size_t)(view->job - jobs->jobs), true, torques, count,
                               &view->sheet, err);
    if (rc >= 0)
        rc = load_places(request, view, err);
    if (rc >= 0)
        rc = load_off(request, view, err);
    return rc < 0 ? rc : load_proof(request, view, err);
}

ch_status job_view_load(web_request *request, job_view *view, ch_err *err)
{
    const char *name = request->part[1];
    *view = (job_view){0};
    ch_status rc = winter_load(request, &view->kept, err);
    if (rc < 0 || view->kept.car == NULL)
        return rc;
    view->job = ch_job_find(&view->kept.know->jobs, name, strlen(name));
    if (view->job != NULL && !view->job->work.drives[view->kept.drive])
        view->job = NULL;
    view->item = winter_item(&view->kept, name, CH_PLAN_JOB);
    view->work = winter_work_of(&view->kept, CH_PLAN_JOB, name);
    if (view->job == NULL && view->item == NULL && view->work == NULL)
        return CH_OK;
    view->name = name;
    view->title = view->job != NULL    ? view->job->work.title
                  : view->item != NULL ? ch_show_plan_item(view->item)
                                       : view->work->title;
    rc = load_job(request, view, err);
    if (rc < 0)
        job_view_clear(view);
    return rc;
}

void job_view_clear(job_view *view)
{
    winter_clear(&view->kept);
    ch_job_sheet_clear(&view->sheet);
    free(view->places);
    free(view->off);
    *view = (job_view){0};
}

const job_place *job_view_choose(const web_request *request, const job_view *view)
{
    const char *key = piece_given(&request->query, "step");
    for (size_t i = 0; key != NULL && i < view->sheet.steps_count; i++)
        if (strcmp(view->places[i].key, key) == 0)
            return &view->places[i];
    for (size_t i = 0; i < view->sheet.steps_count; i++)
        if (view->places[i].mark == JOB_OPEN && !view->places[i].held)
            return &view->places[i];
    return NULL;
}
