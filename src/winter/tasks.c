/*
 * From chosen items to tasks. An item gives up to two: opening and closing of an access step, or the job. What is done gives none.
 *
 *  1. Opening comes after the opening of what it needs.
 *  2. A job comes after the opening of its access, after the jobs it needs and those named in `after`.
 *  3. Closing comes after all jobs that need the step, and after the closing of the steps that need it.
 */
#include "tasks.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

/* Tasks by what they do: SIZE_MAX = there is none. */
typedef struct by_item {
    size_t *start; /* opening, or the job */
    size_t *close;
} by_item;

/* Pairs (task, what comes before it) as they are found. */
typedef struct orders {
    size_t *task, *before;
    size_t count, room;
} orders;

static bool order(orders *o, size_t task, size_t before)
{
    if (task == SIZE_MAX || before == SIZE_MAX)
        return true;
    if (o->count == o->room) {
        const size_t room = o->room == 0 ? 64 : 2 * o->room;
        size_t *tasks_ = realloc(o->task, room * sizeof *tasks_);
        if (tasks_ != NULL)
            o->task = tasks_;
        size_t *befores = tasks_ != NULL ? realloc(o->before, room * sizeof *befores) : NULL;
        if (befores == NULL)
            return false;
        o->before = befores;
        o->room = room;
    }
    o->task[o->count] = task;
    o->before[o->count++] = before;
    return true;
}

static long ready_day(const ch_plan *plan, const ch_plan_item *item)
{
    const ch_date start = ch_plan_start(plan);
    return item->lead_days > 0 && ch_date_given(start) ? ch_date_days(start) + item->lead_days : LONG_MIN;
}

static void make_tasks(tasks *all, const ch_plan *plan, const bool chosen[], by_item *at)
{
    size_t n = 0;
    for (size_t i = 0; i < plan->items_count; i++) {
        const ch_plan_item *item = &plan->items[i];
        at->start[i] = at->close[i] = SIZE_MAX;
        if (!chosen[i])
            continue;
        const bool access = item->kind == CH_PLAN_ACCESS;
        if (!item->done) {
            /* What is bought for an access step is what closes it. */
            all->task[n] = (work_task){.item = i,
                                       .kind = access ? CH_ENTRY_OPEN : CH_ENTRY_JOB,
                                       .work_us = item->hours.likely_us,
                                       .ready_day = access ? LONG_MIN : ready_day(plan, item)};
            at->start[i] = n++;
        }
        if (access) {
            all->task[n] = (work_task){.item = i,
                                       .kind = CH_ENTRY_CLOSE,
                                       .work_us = item->refit.likely_us,
                                       .ready_day = ready_day(plan, item)};
            at->close[i] = n++;
        }
    }
    all->count = n;
}

static bool make_orders(const ch_plan *plan, const bool chosen[], const by_item *at, orders *o)
{
    bool good = true;
    for (size_t i = 0; good && i < plan->items_count; i++) {
        const ch_plan_item *item = &plan->items[i];
        if (!chosen[i])
            continue;
        good = order(o, at->close[i], at->start[i]);
        for (size_t k = 0; good && k < item->needs.count; k++) {
            const size_t need = item->needs.at[k];
            if (!chosen[need])
                continue;
            const size_t last = item->kind == CH_PLAN_ACCESS ? at->close[i] : at->start[i];
            good = order(o, at->start[i], at->start[need]) && order(o, at->close[need], last);
        }
        for (size_t k = 0; good && k < item->after.count; k++)
            if (chosen[item->after.at[k]])
                good = order(o, at->start[i], at->start[item->after.at[k]]);
    }
    return good;
}

static bool list_befores(tasks *all, const orders *o)
{
    all->before_first = calloc(all->count + 2, sizeof *all->before_first);
    all->before = calloc(o->count + 1, sizeof *all->before);
    if (all->before_first == NULL || all->before == NULL)
        return false;
    for (size_t i = 0; i < o->count; i++)
        all->before_first[o->task[i] + 1]++;
    for (size_t t = 0; t < all->count; t++)
        all->before_first[t + 1] += all->before_first[t];
    size_t *fill = calloc(all->count + 1, sizeof *fill);
    if (fill == NULL)
        return false;
    for (size_t i = 0; i < o->count; i++)
        all->before[all->before_first[o->task[i]] + fill[o->task[i]]++] = o->before[i];
    free(fill);
    return true;
}

static size_t root_of(size_t parent[], size_t i)
{
    while (parent[i] != i) {
        parent[i] = parent[parent[i]];
        i = parent[i];
    }
    return i;
}

/* Items that share access, directly or through others, are one block. */
static bool make_blocks(tasks *all, const ch_plan *plan, const bool chosen[])
{
    size_t *parent = calloc(plan->items_count + 1, sizeof *parent);
    size_t *number = calloc(plan->items_count + 1, sizeof *number);
    all->apart = calloc(plan->items_count + 1, sizeof *all->apart);
    const bool good = parent != NULL && number != NULL && all->apart != NULL;
    for (size_t i = 0; good && i < plan->items_count; i++)
        parent[i] = i;
    for (size_t i = 0; good && i < plan->items_count; i++)
        for (size_t k = 0; chosen[i] && !(plan->items[i].done && plan->items[i].kind == CH_PLAN_JOB) &&
                           k < plan->items[i].needs.count;
             k++)
            if (chosen[plan->items[i].needs.at[k]])
                parent[root_of(parent, plan->items[i].needs.at[k])] = root_of(parent, i);
    for (size_t t = 0; good && t < all->count; t++) {
        const size_t root = root_of(parent, all->task[t].item);
        if (number[root] == 0)
            number[root] = ++all->blocks;
        all->task[t].block = number[root] - 1;
        const ch_plan_item *item = &plan->items[all->task[t].item];
        if (item->kind == CH_PLAN_ACCESS && (item->done || item->done_us > 0))
            all->apart[all->task[t].block] = true;
    }
    free(parent);
    free(number);
    return good;
}

/*
 * Ranks: jobs whose parts come first, first; the opening of a step just before the first job that wants it; closing last, the last opened
 * first.
 */
static bool make_ranks(tasks *all)
{
    const size_t n = all->count;
    size_t *done = calloc(n + 1, sizeof *done), next = 0;
    size_t *stack = calloc(n + 1, sizeof *stack);
    bool *listed = calloc(n + 1, sizeof *listed);
    const bool good = done != NULL && stack != NULL && listed != NULL;
    for (size_t round = 0; good && round < n; round++) {
        /* the job with the earliest parts that is not listed yet */
        size_t found = SIZE_MAX;
        for (size_t t = 0; t < n; t++)
            if (!listed[t] && all->task[t].kind == CH_ENTRY_JOB &&
                (found == SIZE_MAX || all->task[t].ready_day < all->task[found].ready_day))
                found = t;
        if (found == SIZE_MAX)
            break;
        size_t depth = 0;
        stack[depth++] = found;
        while (depth > 0) { /* first all that it needs */
            const size_t t = stack[depth - 1];
            size_t missing = SIZE_MAX;
            for (size_t a = all->before_first[t]; missing == SIZE_MAX && a < all->before_first[t + 1]; a++)
                if (!listed[all->before[a]])
                    missing = all->before[a];
            if (missing != SIZE_MAX) {
                stack[depth++] = missing;
                continue;
            }
            depth--;
            if (!listed[t]) {
                listed[t] = true;
                all->task[t].rank = next++;
            }
        }
    }
    for (size_t t = 0; good && t < n; t++) /* opening that no job wants, in the plan's order */
        if (!listed[t] && all->task[t].kind == CH_ENTRY_OPEN)
            all->task[t].rank = next++;
    size_t *start = stack; /* rank of the opening of a closing's step */
    for (size_t t = 0; good && t < n; t++) {
        start[t] = 0;
        for (size_t s = 0; s < n; s++)
            if (all->task[t].kind == CH_ENTRY_CLOSE && all->task[s].kind == CH_ENTRY_OPEN &&
                all->task[s].item == all->task[t].item)
                start[t] = all->task[s].rank + 1;
    }
    for (size_t t = 0; good && t < n; t++)
        if (all->task[t].kind == CH_ENTRY_CLOSE)
            all->task[t].rank = 2 * n + (n - start[t]);
    free(done);
    free(stack);
    free(listed);
    return good;
}

bool tasks_init(tasks *all, const ch_plan *plan, const bool chosen[])
{
    *all = (tasks){0};
    const size_t n = plan->items_count;
    by_item at = {.start = calloc(n + 1, sizeof *at.start), .close = calloc(n + 1, sizeof *at.close)};
    orders o = {0};
    all->task = calloc(2 * n + 1, sizeof *all->task);
    bool good = at.start != NULL && at.close != NULL && all->task != NULL;
    if (good) {
        make_tasks(all, plan, chosen, &at);
        good = make_orders(plan, chosen, &at, &o) && list_befores(all, &o) && make_blocks(all, plan, chosen) &&
               make_ranks(all);
    }
    free(at.start);
    free(at.close);
    free(o.task);
    free(o.before);
    if (!good)
        tasks_clear(all);
    return good;
}

void tasks_clear(tasks *all)
{
    free(all->task);
    free(all->before_first);
    free(all->before);
    free(all->apart);
    *all = (tasks){0};
}
