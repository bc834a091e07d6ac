/*
 * From chosen items to tasks. An item gives up to two: opening and closing of an access step, or the job. What is done gives none.
 *
 *  1. Opening comes after the opening of what it needs, and of what it lies `within`.
 *  2. A job comes after the opening of its access and of what it lies `within`, after the jobs it needs and those named in `after`.
 *  3. Closing comes after all jobs that need the step or lie within it, and after the closing of the steps that do.
 *  4. A job comes after the closing of the steps named in `once_closed`.
 *  5. A first step is opened before all others of its block, and closed after them. Of other blocks only those count that are open at the same time, which calendar.c
 *     sees to; where all is laid as one, all count.
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

/* All that a job needs is open or done at the start: what goes to the machine shop is off already. */
static bool all_done(const ch_plan *plan, const ch_plan_item *item)
{
    for (size_t k = 0; k < item->needs.count; k++)
        if (!plan->items[item->needs.at[k]].done)
            return false;
    return true;
}

/* Where nothing has to be opened first, the days at the machine shop count from the start. */
static long ready_day_of_job(const ch_plan *plan, const ch_plan_item *item)
{
    const long ready = ready_day(plan, item);
    const ch_date start = ch_plan_start(plan);
    if (item->shop_days == 0 || !all_done(plan, item) || !ch_date_given(start))
        return ready;
    return (ready != LONG_MIN ? ready : ch_date_days(start)) + item->shop_days;
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
                                       .ready_day = access ? LONG_MIN : ready_day_of_job(plan, item),
                                       .shop_days = access || all_done(plan, item) ? 0 : item->shop_days,
                                       .first = item->first};
            at->start[i] = n++;
        }
        if (access) {
            all->task[n] = (work_task){.item = i,
                                       .kind = CH_ENTRY_CLOSE,
                                       .work_us = item->refit.likely_us,
                                       .ready_day = ready_day(plan, item),
                                       .first = item->first};
            at->close[i] = n++;
        }
    }
    all->count = n;
}

/* After the opening of other items, and before their closing. */
static bool order_inside(const ch_plan *plan, const bool chosen[], const by_item *at, size_t i, const ch_places *outer,
                         orders *o)
{
    const size_t last = plan->items[i].kind == CH_PLAN_ACCESS ? at->close[i] : at->start[i];
    bool good = true;
    for (size_t k = 0; good && k < outer->count; k++)
        if (chosen[outer->at[k]])
            good = order(o, at->start[i], at->start[outer->at[k]]) && order(o, at->close[outer->at[k]], last);
    return good;
}

static bool make_orders(const ch_plan *plan, const bool chosen[], const by_item *at, orders *o)
{
    bool good = true;
    for (size_t i = 0; good && i < plan->items_count; i++) {
        const ch_plan_item *item = &plan->items[i];
        if (!chosen[i])
            continue;
        good = order(o, at->close[i], at->start[i]) && order_inside(plan, chosen, at, i, &item->needs, o) &&
               order_inside(plan, chosen, at, i, &item->within, o);
        for (size_t k = 0; good && k < item->after.count; k++)
            if (chosen[item->after.at[k]])
                good = order(o, at->start[i], at->start[item->after.at[k]]);
        for (size_t k = 0; good && k < item->once_closed.count; k++)
            if (chosen[item->once_closed.at[k]])
                good = order(o, at->start[i], at->close[item->once_closed.at[k]]);
    }
    return good;
}

/* Opening of first steps before that of others, closing behind: inside the blocks, or across them. */
static bool order_firsts(tasks *all, bool across, orders *o)
{
    bool good = true;
    for (size_t a = 0; good && a < all->count; a++)
        for (size_t b = 0; all->task[a].first && good && b < all->count; b++) {
            const work_task *first = &all->task[a], *other = &all->task[b];
            if (other->kind == CH_ENTRY_JOB || other->first || other->kind != first->kind)
                continue;
            all->firsts = true;
            if ((other->block != first->block) != across)
                continue;
            good = first->kind == CH_ENTRY_OPEN ? order(o, b, a) : order(o, a, b);
        }
    return good;
}

static bool list_befores(size_t count, const orders *o, size_t **before_first, size_t **before)
{
    size_t *starts = calloc(count + 2, sizeof *starts), *list = calloc(o->count + 1, sizeof *list);
    *before_first = starts;
    *before = list;
    size_t *fill = calloc(count + 1, sizeof *fill);
    const bool good = starts != NULL && list != NULL && fill != NULL;
    for (size_t i = 0; good && i < o->count; i++)
        starts[o->task[i] + 1]++;
    for (size_t t = 0; good && t < count; t++)
        starts[t + 1] += starts[t];
    for (size_t i = 0; good && i < o->count; i++)
        list[starts[o->task[i]] + fill[o->task[i]]++] = o->before[i];
    free(fill);
    return good;
}

static size_t root_of(size_t parent[], size_t i)
{
    while (parent[i] != i) {
        parent[i] = parent[parent[i]];
        i = parent[i];
    }
    return i;
}

static void join(size_t parent[], size_t i, const ch_places *others, const bool chosen[])
{
    for (size_t k = 0; k < others->count; k++)
        if (chosen[others->at[k]])
            parent[root_of(parent, others->at[k])] = root_of(parent, i);
}

/* Items that share access, directly or through others, are one block; so is what lies within a step, as two blocks could not wait for each other. */
static bool make_blocks(tasks *all, const ch_plan *plan, const bool chosen[])
{
    size_t *parent = calloc(plan->items_count + 1, sizeof *parent);
    size_t *number = calloc(plan->items_count + 1, sizeof *number);
    all->apart = calloc(plan->items_count + 1, sizeof *all->apart);
    const bool good = parent != NULL && number != NULL && all->apart != NULL;
    for (size_t i = 0; good && i < plan->items_count; i++)
        parent[i] = i;
    for (size_t i = 0; good && i < plan->items_count; i++) {
        if (!chosen[i] || (plan->items[i].done && plan->items[i].kind == CH_PLAN_JOB))
            continue;
        join(parent, i, &plan->items[i].needs, chosen);
        join(parent, i, &plan->items[i].within, chosen);
    }
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

/* What is being listed, in the order of doing it. */
typedef struct listing {
    bool *listed, *wanted;
    size_t *stack, *openings;
    size_t next;
} listing;

/* What comes before a task and is not listed: a job or a closing, else SIZE_MAX. */
static size_t missing_before(const tasks *all, const listing *l, size_t t)
{
    for (size_t a = all->before_first[t]; a < all->before_first[t + 1]; a++)
        if (!l->listed[all->before[a]] && all->task[all->before[a]].kind != CH_ENTRY_OPEN)
            return all->before[a];
    return SIZE_MAX;
}

/* Mark the openings that come before a task, and what those need. */
static void mark_openings(const tasks *all, listing *l, size_t t)
{
    size_t depth = 0;
    memset(l->wanted, 0, all->count * sizeof *l->wanted);
    for (l->openings[depth++] = t; depth > 0;) {
        const size_t of = l->openings[--depth];
        for (size_t a = all->before_first[of]; a < all->before_first[of + 1]; a++) {
            const size_t before = all->before[a];
            if (l->listed[before] || l->wanted[before])
                continue;
            l->wanted[before] = true;
            l->openings[depth++] = before;
        }
    }
}

/*
 * List the openings before a task in the order of the plan, each behind those that it needs: what a plan names first for being safe (the battery
 * before hands are at belts) is first though another step needs it less.
 */
static void list_openings(tasks *all, listing *l, size_t t)
{
    mark_openings(all, l, t);
    for (size_t o = 0; o < all->count; o++) {
        bool ready = l->wanted[o] && !l->listed[o];
        for (size_t a = all->before_first[o]; ready && a < all->before_first[o + 1]; a++)
            ready = l->listed[all->before[a]];
        if (!ready)
            continue;
        l->listed[o] = true;
        all->task[o].rank = l->next++;
        o = SIZE_MAX; /* and look again from the first */
    }
}

/* List a task behind all that comes before it; `itself` false: only that. */
static void list_task(tasks *all, listing *l, size_t task, bool itself)
{
    size_t depth = 0;
    l->stack[depth++] = task;
    while (depth > 0) {
        const size_t t = l->stack[depth - 1], missing = missing_before(all, l, t);
        if (missing != SIZE_MAX) {
            l->stack[depth++] = missing;
            continue;
        }
        depth--;
        list_openings(all, l, t);
        if (!l->listed[t] && (itself || t != task)) {
            l->listed[t] = true;
            all->task[t].rank = l->next++;
        }
    }
}

/* Of the jobs whose part goes to the machine shop the one that is away longest. */
static size_t next_for_the_shop(const tasks *all, const bool sent[])
{
    size_t found = SIZE_MAX;
    for (size_t t = 0; t < all->count; t++)
        if (!sent[t] && all->task[t].shop_days > 0 &&
            (found == SIZE_MAX || all->task[t].shop_days > all->task[found].shop_days))
            found = t;
    return found;
}

/* The job with the earliest parts that is not listed yet. */
static size_t next_job(const tasks *all, const bool listed[])
{
    size_t found = SIZE_MAX;
    for (size_t t = 0; t < all->count; t++)
        if (!listed[t] && all->task[t].kind == CH_ENTRY_JOB &&
            (found == SIZE_MAX || all->task[t].ready_day < all->task[found].ready_day))
            found = t;
    return found;
}

/*
 * Ranks: what goes to the machine shop comes off first; then jobs whose parts come first, first; the openings that a job wants just before it, in the plan's
 * order; closing last, the last opened first.
 */
static bool make_ranks(tasks *all)
{
    const size_t n = all->count;
    bool *sent = calloc(n + 1, sizeof *sent);
    size_t *stack = calloc(n + 1, sizeof *stack);
    size_t *openings = calloc(n + 1, sizeof *openings);
    bool *listed = calloc(n + 1, sizeof *listed);
    bool *wanted = calloc(n + 1, sizeof *wanted);
    const bool good = sent != NULL && stack != NULL && openings != NULL && listed != NULL && wanted != NULL;
    listing l = {.listed = listed, .wanted = wanted, .stack = stack, .openings = openings};
    for (size_t t = good ? next_for_the_shop(all, sent) : SIZE_MAX; t != SIZE_MAX; t = next_for_the_shop(all, sent)) {
        sent[t] = true;
        list_task(all, &l, t, false);
    }
    for (size_t t = good ? next_job(all, listed) : SIZE_MAX; t != SIZE_MAX; t = next_job(all, listed))
        list_task(all, &l, t, true);
    for (size_t t = 0; good && t < n; t++) /* opening that no job wants, in the plan's order */
        if (!listed[t] && all->task[t].kind == CH_ENTRY_OPEN)
            all->task[t].rank = l.next++;
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
    free(sent);
    free(stack);
    free(openings);
    free(listed);
    free(wanted);
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
        orders across = {0};
        good = make_blocks(all, plan, chosen) && make_orders(plan, chosen, &at, &o) && order_firsts(all, false, &o) &&
               order_firsts(all, true, &across) && list_befores(all->count, &o, &all->before_first, &all->before) &&
               list_befores(all->count, &across, &all->across_first, &all->across) && make_ranks(all);
        free(across.task);
        free(across.before);
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
    free(all->across_first);
    free(all->across);
    free(all->apart);
    *all = (tasks){0};
}
