/* Work of this winter: what is in the garage file of each item of the plan. */
#include "winter_work.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/show_winter.h"

const ch_store_work *winter_work_of(const winter_kept *kept, ch_plan_kind kind, const char *name)
{
    for (size_t i = 0; i < kept->works_count; i++) {
        const ch_store_work *work = &kept->works[i];
        if (work->kind == kind && strcmp(work->name, name) == 0 &&
            (work->closed_s == 0 || work->closed_s > kept->begun_s))
            return work;
    }
    return NULL;
}

/* Place of an access step in the plan; SIZE_MAX where it has none of this name. */
static size_t access_place(const ch_plan *plan, const char *name)
{
    for (size_t i = 0; i < plan->access_count; i++)
        if (strcmp(plan->items[i].name, name) == 0)
            return i;
    return SIZE_MAX;
}

/* Those of the knowledge's access steps that are in the plan, put behind the `used` places that are taken. */
static ch_places places_as_known(winter_kept *kept, const ch_places *known, size_t *used)
{
    size_t *at = kept->places + *used, n = 0;
    for (size_t k = 0; k < known->count; k++) {
        const size_t place = access_place(&kept->plan, kept->know->jobs.access[known->at[k]].work.id);
        if (place != SIZE_MAX)
            at[n++] = place;
    }
    *used += n;
    return (ch_places){.at = at, .count = n};
}

static bool any_same(const ch_places *one, const ch_places *other)
{
    for (size_t i = 0; i < one->count; i++)
        for (size_t k = 0; k < other->count; k++)
            if (one->at[i] == other->at[k])
                return true;
    return false;
}

/*
 * What is opened first, what stands inside what, what has to be closed before a job, days of order and shop: as the knowledge has them now. The page's form has no fields
 * for them, and a plan that was kept before they were told apart has the shop's days among those of the order. A job that needed a step which it now waits to see closed,
 * as brake fluid once needed the circuit open, needs what is known of it now.
 */
static void order_as_known(winter_kept *kept, ch_plan_item *item, size_t *used)
{
    const ch_jobs *jobs = &kept->know->jobs;
    const size_t length = strlen(item->name);
    if (item->kind == CH_PLAN_ACCESS) {
        const ch_access *access = ch_access_find(jobs, item->name, length);
        if (access == NULL)
            return;
        item->first = access->first;
        item->within = places_as_known(kept, &access->work.within[kept->drive], used);
        return;
    }
    const ch_job *job = ch_job_find(jobs, item->name, length);
    if (job == NULL)
        return;
    item->lead_days = (int)ceil(job->lead_days);
    item->shop_days = (int)ceil(job->shop_days);
    item->within = places_as_known(kept, &job->work.within[kept->drive], used);
    item->once_closed = places_as_known(kept, &job->once_closed, used);
    if (any_same(&item->needs, &item->once_closed))
        item->needs = places_as_known(kept, &job->work.needs[kept->drive], used);
}

/* How many places the links of a plan's items can take. */
static size_t places_known(const ch_jobs *jobs, ch_drive drive)
{
    size_t most = 1;
    for (size_t i = 0; i < jobs->access_count; i++)
        most += jobs->access[i].work.within[drive].count;
    for (size_t i = 0; i < jobs->jobs_count; i++) {
        const ch_job *job = &jobs->jobs[i];
        most += job->once_closed.count + job->work.within[drive].count + job->work.needs[drive].count;
    }
    return most;
}

ch_status winter_work_load(web_request *request, winter_kept *kept, ch_err *err)
{
    const char *begun = NULL;
    ch_plan *plan = &kept->plan;
    ch_status rc = winter_setting(request, kept->car->id, ".begun", &begun, err);
    if (rc >= 0)
        rc = ch_store_works(request->store, &request->pool, kept->car->id, &kept->works, &kept->works_count, err);
    if (rc < 0)
        return rc;
    kept->begun_s = begun != NULL ? strtoll(begun, NULL, 10) : 0;
    size_t used = 0;
    kept->items = calloc(plan->items_count + 1, sizeof *kept->items);
    kept->places = calloc(places_known(&kept->know->jobs, kept->drive), sizeof *kept->places);
    if (kept->items == NULL || kept->places == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the plan");
    for (size_t i = 0; i < plan->items_count; i++) {
        ch_plan_item *item = &kept->items[i];
        *item = plan->items[i];
        order_as_known(kept, item, &used);
        const ch_store_work *work = winter_work_of(kept, item->kind, item->name);
        if (work == NULL)
            continue;
        /* Access that is closed again is to be opened anew where it is still needed; what it cost is gone all the same. */
        const bool over = item->kind == CH_PLAN_ACCESS && work->closed_s != 0;
        ch_plan_item_so_far(item, work->done_s != 0 && !over, over ? 0 : work->work_us, work->money);
    }
    plan->items = kept->items;
    return CH_OK;
}

ch_status winter_work_begin(web_request *request, const winter_kept *kept, ch_plan_kind kind, const char *name,
                            const char *title, int64_t *id, ch_err *err)
{
    ch_stored stored = {0};
    const ch_store_work work = {.car_id = kept->car->id, .kind = kind, .name = name, .title = title};
    const ch_status rc = ch_store_work_begin(request->store, &work, request->now_s, &stored, err);
    if (rc >= 0)
        *id = stored.id;
    return rc;
}

const char *winter_work_state(const ch_store_work *work)
{
    if (work == NULL)
        return "not begun";
    if (work->closed_s != 0)
        return work->kind == CH_PLAN_JOB ? "closed" : "closed again";
    if (work->done_s != 0)
        return work->kind == CH_PLAN_JOB ? "done, to be proven" : "open";
    return "in hand";
}

/* ---------------------------------------------------------------- spent against planned */

typedef struct sums {
    ch_work work_us, planned_us;
    ch_money money, planned;
} sums;

static void two(html_writer *w, const char *spent, const char *planned)
{
    html_lit(w, "<td class=\"number\">");
    html_text(w, spent);
    html_lit(w, " of ");
    html_text(w, planned);
    html_lit(w, "</td>");
}

static void row_end(html_writer *w, const sums *sum)
{
    char a[CH_SHOW_NUMBER], b[CH_SHOW_NUMBER];
    two(w, ch_show_work(sum->work_us, a), ch_show_work(sum->planned_us, b));
    two(w, ch_show_money(sum->money, a), ch_show_money(sum->planned, b));
    html_lit(w, "</tr>\n");
}

static void row(html_writer *w, const winter_kept *kept, const ch_plan_item *item, const ch_store_work *work, sums *all)
{
    /* Of access the hours to open and to close: both are entered with it. */
    const sums one = {.work_us = work != NULL ? work->work_us : 0,
                      .planned_us = item->guessed.likely_us + item->refit.likely_us,
                      .money = item->paid,
                      .planned = item->parts};
    html_lit(w, "<tr><th scope=\"row\">");
    if (item->kind == CH_PLAN_JOB || work != NULL) {
        html_lit(w, "<a class=\"press\"");
        if (item->kind == CH_PLAN_JOB)
            html_attrf(w, "href", "/car/%lld/winter/job/%s", (long long)kept->car->id, item->name);
        else
            html_attrf(w, "href", "/task/%lld", (long long)work->id);
        html_lit(w, ">");
        html_text(w, ch_show_plan_item(item));
        html_lit(w, "</a>");
    } else {
        html_text(w, ch_show_plan_item(item));
    }
    html_lit(w, "<span class=\"hint\">");
    html_text(w, winter_work_state(work));
    if (work != NULL && work->done_s == 0 && item->guessed.likely_us > 0 && work->work_us >= item->guessed.likely_us)
        html_lit(w, "; its hours are used up: say under Change the plan how many it takes");
    html_lit(w, "</span></th>");
    row_end(w, &one);
    all->work_us += one.work_us;
    all->planned_us += one.planned_us;
    all->money += one.money;
    all->planned += one.planned;
}

void winter_spent_write(html_writer *w, const winter_kept *kept, const bool chosen[])
{
    sums all = {0};
    html_lit(w,
             "<h2>Do it: spent against planned</h2><p class=\"hint\">Each job has its page: steps, cautions, torques, "
             "what came off, what proves it.</p><div class=\"scroll\"><table><caption class=\"visually-hidden\">"
             "Spent against planned</caption><thead><tr><th scope=\"col\">What</th>"
             "<th scope=\"col\" class=\"number\">Hours</th><th scope=\"col\" class=\"number\">");
    html_text(w, kept->plan.currency);
    html_lit(w, "</th></tr></thead><tbody>\n");
    for (int kind = CH_PLAN_JOB; kind >= CH_PLAN_ACCESS; kind--)
        for (size_t i = 0; i < kept->plan.items_count; i++) {
            const ch_plan_item *item = &kept->plan.items[i];
            const ch_store_work *work = winter_work_of(kept, item->kind, item->name);
            if ((int)item->kind == kind && (chosen[i] || work != NULL))
                row(w, kept, item, work, &all);
        }
    html_lit(w, "<tr><th scope=\"row\">In all</th>");
    row_end(w, &all);
    html_lit(w, "</tbody></table></div>\n");
}
