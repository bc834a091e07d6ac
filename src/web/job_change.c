/* What the forms of a job's page change. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "job_parts.h"
#include "piece.h"
#include "spent.h"
#include "winter_work.h"

/* ---------------------------------------------------------------- steps */

static bool is_off(const ch_store_ledger *all, size_t count, int64_t car, const char *what)
{
    for (size_t i = 0; i < count; i++)
        if (all[i].car_id == car && strcmp(all[i].what, what) == 0)
            return true;
    return false;
}

/* What the step takes off is entered first, so that nothing is ever marked as done whose entry was lost. What is off already is not entered twice. */
static ch_status take_off(web_request *request, const job_view *view, const ch_work_step *step, int64_t work_id,
                          ch_err *err)
{
    const ch_store_ledger *all = NULL;
    size_t count = 0;
    char client[CH_STORE_CLIENT_MAX + 1];
    const char *sent = piece_client(request, client);
    ch_status rc = ch_store_ledger_list(request->store, &request->pool, 0, true, &all, &count, err);
    for (size_t k = 0; rc >= 0 && k < step->takes_off_count; k++) {
        char field[32], own[CH_STORE_CLIENT_MAX + 1];
        ch_store_ledger entry = {.work_id = work_id, .what = step->takes_off[k].text};
        snprintf(field, sizeof field, "origin.%zu", k);
        entry.origin = piece_given(&request->form, field);
        snprintf(field, sizeof field, "lies.%zu", k);
        entry.lies = piece_given(&request->form, field);
        snprintf(own, sizeof own, "%.58s.%zu", sent != NULL ? sent : "", k);
        if (!is_off(all, count, view->kept.car->id, entry.what))
            rc = ch_store_ledger_add(request->store, 0, &entry, sent != NULL ? own : NULL, request->now_s, NULL, err);
    }
    return rc;
}

/* The work that a step belongs to, begun where it is not yet. */
static ch_status begin_for(web_request *request, const job_view *view, const job_place *place, int64_t *id, ch_err *err)
{
    if (place->work != NULL && place->work->closed_s == 0) {
        *id = place->work->id;
        return CH_OK;
    }
    return place->step->part == CH_JOB_SHEET_WORK
               ? winter_work_begin(request, &view->kept, CH_PLAN_JOB, view->name, view->title, id, err)
               : winter_work_begin(request, &view->kept, CH_PLAN_ACCESS, place->step->of->id, place->step->of->title,
                                   id, err);
}

/* All steps of the same part and work but this one are settled. */
static bool is_last(const job_view *view, const job_place *place)
{
    for (size_t i = 0; i < view->sheet.steps_count; i++)
        if (&view->places[i] != place && view->places[i].step->of == place->step->of &&
            view->places[i].step->part == place->step->part && view->places[i].mark == JOB_OPEN)
            return false;
    return true;
}

/* Access whose closing steps are settled closes when nothing of it is off any more. */
static ch_status close_access(web_request *request, int64_t work_id, ch_err *err)
{
    ch_store_work work;
    const ch_status rc = ch_store_work_get(request->store, &request->pool, work_id, &work, err);
    if (rc < 0 || work.ledger_open > 0 || work.closed_s != 0)
        return rc;
    return ch_store_work_close(request->store, work_id, 0, NULL, request->now_s, err);
}

static ch_status settle(web_request *request, const job_view *view, const job_place *place, job_mark mark, ch_err *err)
{
    int64_t id = 0;
    ch_status rc = begin_for(request, view, place, &id, err);
    if (rc >= 0 && mark == JOB_DONE)
        rc = take_off(request, view, place->step->step, id, err);
    if (rc >= 0)
        rc = job_mark_set(request, id, job_part(place->step), place->step->step->first_text, mark, err);
    if (rc < 0 || !is_last(view, place))
        return rc;
    return place->step->part == CH_JOB_SHEET_CLOSE ? close_access(request, id, err)
                                                   : ch_store_work_done(request->store, id, true, request->now_s, err);
}

/* A step that is to be done after all: its part is not finished either. The other steps keep what they were by marks of their own. */
static ch_status undo(web_request *request, const job_view *view, const job_place *place, ch_err *err)
{
    ch_status rc = CH_OK;
    if (place->work == NULL)
        return CH_OK;
    if (place->work->closed_s != 0)
        rc = ch_store_work_reopen(request->store, place->work->id, request->now_s, err);
    for (size_t i = 0; rc >= 0 && i < view->sheet.steps_count; i++) {
        const job_place *other = &view->places[i];
        if (other != place && other->work == place->work && other->mark != JOB_OPEN)
            rc = job_mark_set(request, place->work->id, job_part(other->step), other->step->step->first_text,
                              other->mark, err);
    }
    if (rc >= 0)
        rc =
            job_mark_set(request, place->work->id, job_part(place->step), place->step->step->first_text, JOB_OPEN, err);
    if (rc >= 0 && place->step->part != CH_JOB_SHEET_CLOSE)
        rc = ch_store_work_done(request->store, place->work->id, false, request->now_s, err);
    return rc;
}

static ch_status change_step(web_request *request, const job_view *view, const char *what, ch_err *err)
{
    const char *key = piece_given(&request->form, "step");
    for (size_t i = 0; key != NULL && i < view->sheet.steps_count; i++) {
        const job_place *place = &view->places[i];
        if (strcmp(place->key, key) != 0)
            continue;
        if (strcmp(what, "undo") == 0)
            return undo(request, view, place, err);
        if (place->mark != JOB_OPEN)
            return CH_OK; /* another phone was first */
        return settle(request, view, place, strcmp(what, "pass") == 0 ? JOB_PASSED : JOB_DONE, err);
    }
    return ch_fail(err, CH_E_INPUT, NULL, "there is no such step any more");
}

static ch_status put_back(web_request *request, const job_view *view, ch_err *err)
{
    const int64_t id = piece_id(&request->form, "ledger");
    const ch_store_ledger *entry = NULL;
    for (size_t i = 0; i < view->off_count; i++)
        if (view->off[i]->id == id)
            entry = view->off[i];
    if (entry == NULL)
        return CH_OK; /* it is back already */
    const ch_status rc = ch_store_ledger_put_back(request->store, id, true, request->now_s, err);
    if (rc < 0)
        return rc;
    for (size_t i = 0; i < view->sheet.steps_count; i++) { /* was closing waiting for it alone? */
        const job_place *place = &view->places[i];
        if (place->step->part == CH_JOB_SHEET_CLOSE && place->work != NULL && place->work->id == entry->work_id)
            return place->mark != JOB_OPEN && is_last(view, place) ? close_access(request, entry->work_id, err) : rc;
    }
    return rc;
}

/* ---------------------------------------------------------------- torques */

static ch_status set_torque(web_request *request, const job_view *view, ch_err *err)
{
    static const char *const surfaces[CH_THREAD_SURFACES] = {"dry", "zinc", "oiled"};
    const web_fields *form = &request->form;
    const char *figure = piece_given(form, "figure"), *surface = piece_given(form, "surface");
    ch_owner_torque torque = {.torque = ch_quantity_none(),
                              .note = piece_given(form, "note"),
                              .thread = piece_given(form, "thread"),
                              .property_class = piece_given(form, "class")};
    const char *id = piece_given(form, "torque");
    for (size_t i = 0; id != NULL && i < view->sheet.torques_count; i++)
        if (strcmp(view->sheet.torques[i].what->id, id) == 0)
            torque.id = view->sheet.torques[i].what->id;
    if (torque.id == NULL)
        return ch_fail(err, CH_E_INPUT, NULL, "this job has no such torque");
    for (int i = 0; surface != NULL && i < CH_THREAD_SURFACES; i++)
        if (strcmp(surface, surfaces[i]) == 0)
            torque.surface = (ch_thread_surface)i;
    /* A manual may give N m or lbf ft: a bare number is a third too much or too little in one of them. */
    const ch_status rc =
        figure != NULL ? ch_quantity_parse(figure, strlen(figure), CH_DIM_TORQUE, NULL, &torque.torque, err) : CH_OK;
    return rc < 0 ? rc : ch_store_torque_set(request->store, view->kept.car->id, &torque, request->now_s, err);
}

/* ---------------------------------------------------------------- done, proven, closed */

static bool ticked(const web_request *request, size_t i)
{
    char value[24];
    snprintf(value, sizeof value, "%zu", i);
    for (size_t k = 0; k < request->form.count; k++)
        if (strcmp(request->form.list[k].name, "seen") == 0 && strcmp(request->form.list[k].value, value) == 0)
            return true;
    return false;
}

/* Keep what was ticked, whether the job closes by it or not. `*missing` is the first that was not. */
static ch_status keep_seen(web_request *request, job_view *view, const char **missing, ch_err *err)
{
    ch_status rc = CH_OK;
    *missing = NULL;
    for (size_t i = 0; rc >= 0 && view->job != NULL && i < view->job->retests_count && i < CH_JOBS_MAX; i++) {
        const ch_retest *retest = &view->job->retests[i];
        if (job_measured(retest->by))
            continue;
        const bool seen = ticked(request, i);
        if (seen != view->seen[i])
            rc = job_mark_set(request, view->work->id, 't', retest->first_text, seen ? JOB_DONE : JOB_OPEN, err);
        view->seen[i] = seen;
        if (!seen && *missing == NULL)
            *missing = retest->text;
    }
    return rc;
}

static ch_status close_job(web_request *request, job_view *view, ch_err *err)
{
    const char *missing = NULL, *reason = piece_given(&request->form, "reason");
    if (view->work == NULL)
        return ch_fail(err, CH_E_INPUT, NULL, "the job is not begun");
    const ch_status rc = keep_seen(request, view, &missing, err);
    if (rc < 0)
        return rc;
    if (missing != NULL && reason == NULL) {
        size_t length = strlen(missing);
        length -= length > 0 && missing[length - 1] == '.'; /* the sentence goes on */
        return ch_fail(err, CH_E_INPUT, "tick it when it is so; the job can be closed without it for a written reason",
                       "not seen yet: %.*s", length < 120 ? (int)length : 120, missing);
    }
    return ch_store_work_close(request->store, view->work->id, job_prove(view->job), reason, request->now_s, err);
}

static ch_status finish(web_request *request, const job_view *view, ch_err *err)
{
    int64_t id = 0;
    const ch_status rc = winter_work_begin(request, &view->kept, CH_PLAN_JOB, view->name, view->title, &id, err);
    return rc < 0 ? rc : ch_store_work_done(request->store, id, true, request->now_s, err);
}

static ch_status note_spent(web_request *request, const job_view *view, ch_err *err)
{
    char client[CH_STORE_CLIENT_MAX + 1];
    ch_store_spent spent = {.work_id = 0};
    ch_status rc = spent_typed(request, &spent, err);
    if (rc >= 0 && spent.work_us == 0 && spent.money == 0)
        rc = ch_fail(err, CH_E_INPUT, "hours, or money, or both", "nothing was spent");
    if (rc >= 0 && view->work != NULL)
        spent.work_id = view->work->id;
    else if (rc >= 0)
        rc = winter_work_begin(request, &view->kept, CH_PLAN_JOB, view->name, view->title, &spent.work_id, err);
    return rc < 0
               ? rc
               : ch_store_spent_add(request->store, &spent, piece_client(request, client), request->now_s, NULL, err);
}

ch_status job_change(web_request *request, job_view *view, ch_err *err)
{
    const char *what = piece_typed(request, "do", "");
    int64_t id = 0;
    if (strcmp(what, "done") == 0 || strcmp(what, "pass") == 0 || strcmp(what, "undo") == 0)
        return change_step(request, view, what, err);
    if (strcmp(what, "back") == 0)
        return put_back(request, view, err);
    if (strcmp(what, "torque") == 0)
        return set_torque(request, view, err);
    if (strcmp(what, "spent") == 0)
        return note_spent(request, view, err);
    if (strcmp(what, "finish") == 0)
        return finish(request, view, err);
    if (strcmp(what, "close") == 0)
        return close_job(request, view, err);
    if (strcmp(what, "anew") == 0)
        return winter_work_begin(request, &view->kept, CH_PLAN_JOB, view->name, view->title, &id, err);
    if (view->work != NULL && strcmp(what, "undone") == 0)
        return ch_store_work_done(request->store, view->work->id, false, request->now_s, err);
    if (view->work != NULL && strcmp(what, "reopen") == 0)
        return ch_store_work_reopen(request->store, view->work->id, request->now_s, err);
    return ch_fail(err, CH_E_INPUT, NULL, "nothing of this kind can be done here");
}
