/* A plan out of known jobs. Links keep only what is in the plan itself. */
#include "crosshatch/draft.h"

#include <math.h>
#include <stdlib.h>

typedef struct drafting {
    const ch_jobs *jobs;
    ch_drive drive;
    size_t *access_item, *job_item; /* place in the plan of each access step and job, or SIZE_MAX */
    ch_draft made;
    size_t places_used;
} drafting;

void ch_jobs_required(const ch_jobs *jobs, bool flags[])
{
    for (bool more = true; more;) {
        more = false;
        for (size_t i = 0; i < jobs->jobs_count; i++)
            for (size_t k = 0; flags[i] && k < jobs->jobs[i].requires.count; k++) {
                bool *other = &flags[jobs->jobs[i].requires.at[k]];
                more = more || !*other;
                *other = true;
            }
    }
}

static ch_work work_of(double time_s)
{
    return (ch_work)llround(time_s * 1e6);
}

static ch_work_guess guess_of(const ch_work_time *time)
{
    return (ch_work_guess){work_of(time->least_s), work_of(time->likely_s), work_of(time->most_s)};
}

static ch_money parts_of(const ch_jobs *jobs, const ch_jobs_work *work)
{
    double sum = 0;
    for (size_t i = 0; i < work->goods_count; i++)
        if (!work->goods[i].maybe)
            sum += work->goods[i].count * jobs->goods[work->goods[i].goods].price.likely;
    return (ch_money)llround(sum * (double)CH_MONEY_ONE);
}

static ch_places linked(drafting *d, const ch_places *from, const size_t *item_of)
{
    size_t *at = d->made.places + d->places_used, n = 0;
    for (size_t i = 0; i < from->count; i++)
        if (item_of[from->at[i]] != SIZE_MAX)
            at[n++] = item_of[from->at[i]];
    d->places_used += n;
    return (ch_places){.at = at, .count = n};
}

static ch_plan_item item_of(drafting *d, const ch_jobs_work *work, ch_plan_kind kind)
{
    ch_plan_item item = {.name = work->id, .title = work->title, .kind = kind};
    item.guessed = item.hours = guess_of(&work->time);
    item.parts = parts_of(d->jobs, work);
    /* What it points into is the draft's, which frees it. NOLINTNEXTLINE(clang-analyzer-unix.Malloc) */
    item.needs = linked(d, &work->needs[d->drive], d->access_item);
    item.within = linked(d, &work->within[d->drive], d->access_item);
    return item;
}

static void fill_in(drafting *d, const size_t access[], size_t access_count, const size_t set[], size_t n, size_t own)
{
    ch_plan_item *items = d->made.items;
    for (size_t i = 0; i < access_count; i++)
        d->access_item[access[i]] = i;
    for (size_t i = 0; i < n; i++)
        d->job_item[set[i]] = access_count + i;
    for (size_t i = 0; i < access_count; i++) {
        const ch_access *step = &d->jobs->access[access[i]];
        items[i] = item_of(d, &step->work, CH_PLAN_ACCESS);
        items[i].refit = guess_of(&step->back);
        items[i].first = step->first;
    }
    for (size_t i = 0; i < n; i++) {
        const ch_job *job = &d->jobs->jobs[set[i]];
        ch_plan_item *item = &items[access_count + i];
        *item = item_of(d, &job->work, CH_PLAN_JOB);
        item->lead_days = (int)ceil(job->lead_days);
        item->shop_days = (int)ceil(job->shop_days);
        item->requires_ = linked(d, &job->requires, d->job_item);
        item->excludes = linked(d, &job->excludes, d->job_item);
        item->after = linked(d, &job->after, d->job_item);
        item->once_closed = linked(d, &job->once_closed, d->access_item);
    }
    for (size_t i = 0; i < own; i++)
        items[access_count + n + i].kind = CH_PLAN_JOB;
    d->made.plan = (ch_plan){.currency = d->jobs->currency,
                             .budget = CH_MONEY_NO_LIMIT,
                             .no_budget = true,
                             .no_hours_value = true,
                             .items = items,
                             .items_count = access_count + n + own,
                             .access_count = access_count};
}

/* Room for all links that there could be. */
static size_t links_of(const ch_jobs *jobs, ch_drive drive)
{
    size_t links = 1;
    for (size_t i = 0; i < jobs->access_count; i++)
        links += jobs->access[i].work.needs[drive].count + jobs->access[i].work.within[drive].count;
    for (size_t i = 0; i < jobs->jobs_count; i++) {
        const ch_job *job = &jobs->jobs[i];
        links += job->work.needs[drive].count + job->work.within[drive].count + job->requires.count +
                 job->excludes.count + job->after.count + job->once_closed.count;
    }
    return links;
}

static ch_status make_room(drafting *d, size_t items, ch_err *err)
{
    const size_t access = d->jobs->access_count, jobs = d->jobs->jobs_count;
    d->access_item = malloc((access + 1) * sizeof *d->access_item);
    d->job_item = malloc((jobs + 1) * sizeof *d->job_item);
    d->made.items = calloc(items + 1, sizeof *d->made.items);
    d->made.places = calloc(links_of(d->jobs, d->drive), sizeof *d->made.places);
    if (d->access_item == NULL || d->job_item == NULL || d->made.items == NULL || d->made.places == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the plan");
    for (size_t i = 0; i < access; i++)
        d->access_item[i] = SIZE_MAX;
    for (size_t i = 0; i < jobs; i++)
        d->job_item[i] = SIZE_MAX;
    return CH_OK;
}

ch_status ch_draft_plan(const ch_jobs *jobs, ch_drive drive, const size_t picked[], size_t n, size_t own,
                        ch_draft *draft, ch_err *err)
{
    bool flags[CH_JOBS_MAX] = {false};
    size_t set[CH_JOBS_MAX], set_count = 0, access[CH_ACCESS_MAX], access_count = 0;
    for (size_t i = 0; i < n; i++) {
        if (picked[i] >= jobs->jobs_count)
            return ch_fail(err, CH_E_RANGE, "a job of the knowledge", "there is no job %zu", picked[i]);
        flags[picked[i]] = true;
    }
    ch_jobs_required(jobs, flags);
    for (size_t i = 0; i < jobs->jobs_count; i++)
        if (flags[i])
            set[set_count++] = i;
    ch_status rc = ch_jobs_closure(jobs, drive, set, set_count, access, &access_count, err);
    if (rc < 0)
        return rc;
    drafting d = {.jobs = jobs, .drive = drive};
    rc = make_room(&d, access_count + set_count + own, err);
    if (rc >= 0) {
        fill_in(&d, access, access_count, set, set_count, own);
        *draft = d.made;
    } else {
        ch_draft_clear(&d.made);
    }
    free(d.access_item);
    free(d.job_item);
    return rc;
}

void ch_draft_clear(ch_draft *draft)
{
    free(draft->items);
    free(draft->places);
    *draft = (ch_draft){0};
}
