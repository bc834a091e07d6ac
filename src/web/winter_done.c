/* Noting what is done so far, all at once; and the end of a winter. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/show_winter.h"
#include "piece.h"
#include "winter_form.h"
#include "winter_work.h"

/* What the form says of one item. */
typedef struct noted {
    bool asked; /* the form had fields for it */
    bool done;
    ch_work work_us;
    ch_money money;
} noted;

/* True where the form has a field of this name for the item: `done`, its ticked box, or `had`, that it was ticked when the page was made. */
static bool named(const web_request *request, const char *name, const ch_plan_item *item)
{
    char key[WINTER_KEY];
    winter_key(item, "", key);
    for (size_t i = 0; i < request->form.count; i++)
        if (strcmp(request->form.list[i].name, name) == 0 && strcmp(request->form.list[i].value, key) == 0)
            return true;
    return false;
}

static ch_status read(web_request *request, const ch_plan_item *item, noted *note, ch_err *err)
{
    char key[WINTER_KEY];
    note->asked = web_value(&request->form, winter_key(item, ".spent", key)) != NULL;
    if (!note->asked)
        return CH_OK;
    note->done = named(request, "done", item);
    if (note->done == named(request, "had", item))
        note->done = item->done; /* not touched: what another noted meanwhile stays */
    ch_status rc = winter_amount(request, key, ch_show_plan_item(item), CH_WORK_HOUR, &note->work_us, err);
    if (rc >= 0)
        rc = winter_amount(request, winter_key(item, ".paid", key), ch_show_plan_item(item), CH_MONEY_ONE, &note->money,
                           err);
    return rc;
}

static ch_status spend(web_request *request, int64_t work_id, const noted *note, size_t place, ch_err *err)
{
    char client[CH_STORE_CLIENT_MAX + 1], own[CH_STORE_CLIENT_MAX + 1];
    const char *sent = piece_client(request, client);
    const ch_store_spent spent = {
        .work_id = work_id, .day = piece_today(request->now_s), .work_us = note->work_us, .money = note->money};
    snprintf(own, sizeof own, "%.57s.%u", sent != NULL ? sent : "", (unsigned)(place % 1000U));
    return ch_store_spent_add(request->store, &spent, sent != NULL ? own : NULL, request->now_s, NULL, err);
}

static ch_status keep(web_request *request, const winter_kept *kept, size_t place, const noted *note, ch_err *err)
{
    const ch_plan_item *item = &kept->plan.items[place];
    const ch_store_work *work = winter_work_of(kept, item->kind, item->name);
    const bool spent = note->work_us > 0 || note->money > 0, change = note->done != item->done;
    int64_t id = work != NULL ? work->id : 0;
    ch_status rc = CH_OK;
    if (!note->asked || (!spent && !change))
        return CH_OK;
    if (change && work != NULL && work->closed_s != 0 &&
        item->kind == CH_PLAN_JOB) /* no longer done: it is in hand again */
        rc = ch_store_work_reopen(request->store, id, request->now_s, err);
    else if (work == NULL || (work->closed_s != 0 && note->done && change))
        rc = winter_work_begin(request, kept, item->kind, item->name, ch_show_plan_item(item), &id, err);
    if (rc >= 0 && change)
        rc = item->kind == CH_PLAN_ACCESS && !note->done && work != NULL
                 ? ch_store_work_close(request->store, id, 0, NULL, request->now_s, err)
                 : ch_store_work_done(request->store, id, note->done, request->now_s, err);
    return rc >= 0 && spent ? spend(request, id, note, place, err) : rc;
}

ch_status winter_done_keep(web_request *request, const winter_kept *kept, ch_err *err)
{
    const size_t count = kept->plan.items_count;
    noted *notes = calloc(count + 1, sizeof *notes);
    ch_status rc = notes == NULL ? ch_fail(err, CH_E_MEMORY, NULL, "no memory for what is done") : CH_OK;
    for (size_t i = 0; rc >= 0 && i < count; i++)
        rc = read(request, &kept->plan.items[i], &notes[i], err);
    for (size_t i = 0; rc >= 0 && i < count; i++)
        rc = keep(request, kept, i, &notes[i], err);
    free(notes);
    return rc;
}

ch_status winter_over_keep(web_request *request, const winter_kept *kept, ch_err *err)
{
    char now[24];
    if (kept->any && winter_overtaken(request, kept))
        return ch_fail(err, CH_E_INPUT, "look at it as it is now, below, then put it away",
                       "The plan was saved after you opened it, on another device or in another tab");
    snprintf(now, sizeof now, "%lld", (long long)request->now_s);
    ch_status rc = winter_set(request, kept->car->id, ".begun", now, err);
    if (rc >= 0)
        rc = winter_set(request, kept->car->id, ".sheet", NULL, err);
    return rc < 0 ? rc : winter_set(request, kept->car->id, "", NULL, err);
}
