/*
 * Why each job is in or out, what more would buy, what to give up first. All by asking the same exact choice again with one thing changed; the
 * questions share a budget of branchings, so that a large plan is not asked for minutes: an answer that was cut short says "at least".
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "parts.h"
#include "together.h"

enum { NODES_SHARED = 20000, NODES_LEAST = 50, NODES_MOST = 5000 };
#define MORE_MONEY (100 * CH_MONEY_ONE)
#define MORE_WORK (5 * CH_WORK_HOUR)

typedef struct asking {
    const ch_plan *plan;
    ch_winter *winter;
    signed char *fixed;
    bool *chosen;    /* of the answer to a question */
    bool *unlimited; /* chosen were there no limit */
    bool *a, *b;
    int64_t nodes;
    ch_err *err;
} asking;

static ch_status ask(asking *q, size_t item, signed char value, ch_choice *choice)
{
    q->fixed[item] = value;
    const ch_status rc = ch_winter_choose(q->plan, q->fixed, 0, 0, q->nodes, q->chosen, choice, q->err);
    q->fixed[item] = -1;
    return rc;
}

static void add_up(const ch_plan *plan, const bool in[], const bool but[], ch_work *work_us, ch_money *parts,
                   ch_money *value)
{
    *work_us = 0;
    *parts = *value = 0;
    for (size_t i = 0; i < plan->items_count; i++)
        if (in[i] && !(but != NULL && but[i])) {
            *work_us += winter_work(&plan->items[i]);
            *parts += ch_plan_parts_left(&plan->items[i]);
            *value += winter_gain(plan, &plan->items[i]);
        }
}

static bool excludes_a_chosen_one(const asking *q, size_t job)
{
    const ch_plan *plan = q->plan;
    memset(q->a, 0, plan->items_count * sizeof *q->a);
    together_mark(plan, job, q->a);
    for (size_t i = 0; i < plan->items_count; i++)
        for (size_t k = 0; k < plan->items[i].excludes.count; k++) {
            const size_t other = plan->items[i].excludes.at[k];
            if ((q->a[i] && q->winter->chosen[other]) || (q->a[other] && q->winter->chosen[i]))
                return true;
        }
    return false;
}

/* What the job takes by itself, and what it takes beside the chosen others. */
static void measure(const asking *q, ch_job_view *view)
{
    const ch_plan *plan = q->plan;
    ch_money unused = 0;
    memset(q->a, 0, plan->items_count * sizeof *q->a);
    together_mark(plan, view->item, q->a);
    add_up(plan, q->a, NULL, &view->alone_us, &view->alone_parts, &unused);
    if (plan->items[view->item].done)
        return;
    if (!view->chosen) {
        add_up(plan, q->a, q->winter->chosen, &view->here_us, &view->here_parts, &view->here_value);
        return;
    }
    (void)together_without(plan, q->winter->chosen, view->item, q->a, q->b);
    add_up(plan, q->a, NULL, &view->here_us, &view->here_parts, &view->here_value);
}

static ch_status view_job(asking *q, size_t job, ch_job_view *view)
{
    const ch_plan_item *item = &q->plan->items[job];
    *view = (ch_job_view){.item = job, .chosen = q->winter->chosen[job], .exact = true};
    measure(q, view);
    if (item->done || item->must) {
        view->reason = item->done ? CH_JOB_DONE : CH_JOB_MUST;
        return CH_OK;
    }
    ch_choice other;
    const ch_status rc = ask(q, job, view->chosen ? 0 : 1, &other);
    if (rc < 0)
        return rc;
    if (!other.feasible) {
        view->reason = view->chosen ? CH_JOB_NEEDED : other.quarrel[0] != SIZE_MAX ? CH_JOB_SHUT_OUT : CH_JOB_TOO_LARGE;
        return CH_OK;
    }
    const ch_money difference = q->winter->choice.value - other.value_at_most;
    view->difference = difference > 0 ? difference : 0;
    view->exact = other.proven;
    if (view->chosen)
        view->reason = CH_JOB_PAYS;
    else if (excludes_a_chosen_one(q, job))
        view->reason = CH_JOB_RIVAL;
    else
        view->reason = q->unlimited[job] ? CH_JOB_CROWDED_OUT : CH_JOB_NO_GAIN;
    return CH_OK;
}

/* The choice were there neither budget nor hours. */
static ch_status choose_unlimited(asking *q)
{
    ch_plan free_plan = *q->plan;
    ch_choice choice;
    free_plan.budget = CH_MONEY_NO_LIMIT;
    free_plan.has_days = false;
    return ch_winter_choose(&free_plan, NULL, 0, 0, q->nodes, q->unlimited, &choice, q->err);
}

static ch_status ask_for_more(asking *q, ch_money money, ch_work work_us, ch_winter_more *more)
{
    ch_choice choice;
    const ch_status rc = ch_winter_choose(q->plan, NULL, money, work_us, 4 * q->nodes, q->chosen, &choice, q->err);
    if (rc < 0)
        return rc;
    more->money = money;
    more->work_us = work_us;
    more->gains = choice.value - q->winter->choice.value;
    more->exact = choice.proven;
    const bool better = more->gains > 0;
    if (!better) /* more is never worse */
        more->gains = 0;
    memcpy(more->chosen, better ? q->chosen : q->winter->chosen, q->plan->items_count * sizeof *more->chosen);
    return CH_OK;
}

/* Hours saved because access is opened once for all, not once for each. */
static ch_work hours_shared(const asking *q)
{
    const ch_plan *plan = q->plan;
    ch_work apart_us = 0, together_us = 0;
    for (size_t i = 0; i < plan->items_count; i++) {
        const ch_plan_item *item = &plan->items[i];
        if (!q->winter->chosen[i])
            continue;
        together_us += winter_work(item);
        if (item->kind == CH_PLAN_ACCESS || item->done)
            continue;
        memset(q->a, 0, plan->items_count * sizeof *q->a);
        together_mark(plan, i, q->a);
        for (size_t k = 0; k < plan->access_count; k++)
            apart_us += q->a[k] ? winter_work(&plan->items[k]) : 0;
        apart_us += winter_work(item);
    }
    return apart_us > together_us ? apart_us - together_us : 0;
}

/* The job that loses least for each hour that it frees, among those left; what goes with it in `gone`. SIZE_MAX = none. */
static size_t cheapest_drop(asking *q, const bool left[], bool gone[], ch_winter_drop *drop)
{
    const ch_plan *plan = q->plan;
    size_t found = SIZE_MAX;
    double least = INFINITY;
    for (size_t i = plan->access_count; i < plan->items_count; i++) {
        if (!left[i] || plan->items[i].must || plan->items[i].done || !together_without(plan, left, i, q->a, q->b))
            continue;
        ch_work frees_us = 0;
        ch_money parts = 0, loses = 0;
        add_up(plan, q->a, NULL, &frees_us, &parts, &loses);
        const double rate = frees_us > 0 ? (double)loses / (double)frees_us : INFINITY;
        if (rate >= least)
            continue;
        least = rate;
        found = i;
        *drop = (ch_winter_drop){.item = i, .frees_us = frees_us, .loses = loses};
        memcpy(gone, q->a, plan->items_count * sizeof *gone);
    }
    return found;
}

static ch_status list_drops(asking *q, uint64_t seed)
{
    const size_t n = q->plan->items_count;
    bool *left = calloc(n + 1, sizeof *left), *gone = calloc(n + 1, sizeof *gone), *skip = calloc(n + 1, sizeof *skip);
    ch_status rc = left != NULL && gone != NULL && skip != NULL
                       ? CH_OK
                       : ch_fail(q->err, CH_E_MEMORY, NULL, "no memory for the answer");
    if (rc >= 0)
        memcpy(left, q->winter->chosen, n * sizeof *left);
    while (rc >= 0 && q->winter->drops_count < CH_WINTER_DROPS_MAX) {
        ch_winter_drop drop = {0};
        if (cheapest_drop(q, left, gone, &drop) == SIZE_MAX)
            break;
        for (size_t i = 0; i < n; i++) {
            left[i] = left[i] && !gone[i];
            skip[i] = skip[i] || gone[i];
        }
        rc = ch_winter_chance(q->plan, &q->winter->calendar, skip, seed, &drop.chance_1, q->err);
        if (rc >= 0)
            q->winter->drops[q->winter->drops_count++] = drop;
    }
    free(left);
    free(gone);
    free(skip);
    return rc;
}

static ch_status answer(asking *q, uint64_t seed)
{
    ch_winter *winter = q->winter;
    ch_status rc = choose_unlimited(q);
    for (size_t i = 0; rc >= 0 && i < winter->jobs_count; i++)
        rc = view_job(q, q->plan->access_count + i, &winter->jobs[i]);
    if (rc >= 0)
        rc = ask_for_more(q, MORE_MONEY, 0, &winter->more[0]);
    if (rc >= 0)
        rc = ask_for_more(q, 0, MORE_WORK, &winter->more[1]);
    if (rc >= 0)
        rc = list_drops(q, seed);
    winter->shared_us = hours_shared(q);
    return rc;
}

ch_status winter_explain(const ch_plan *plan, uint64_t seed, ch_winter *winter, ch_err *err)
{
    const size_t n = plan->items_count + 1;
    asking q = {.plan = plan, .winter = winter, .err = err};
    winter->jobs_count = plan->items_count - plan->access_count;
    winter->jobs = calloc(winter->jobs_count + 1, sizeof *winter->jobs);
    bool good = winter->jobs != NULL;
    for (int i = 0; i < CH_WINTER_MORE; i++) {
        winter->more[i].chosen = calloc(n, sizeof *winter->more[i].chosen);
        good = good && winter->more[i].chosen != NULL;
    }
    q.fixed = malloc(n);
    q.chosen = calloc(n, sizeof *q.chosen);
    q.unlimited = calloc(n, sizeof *q.unlimited);
    q.a = calloc(n, sizeof *q.a);
    q.b = calloc(n, sizeof *q.b);
    ch_status rc = CH_OK;
    if (!good || q.fixed == NULL || q.chosen == NULL || q.unlimited == NULL || q.a == NULL || q.b == NULL)
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory for the answer");
    if (rc >= 0) {
        memset(q.fixed, -1, n);
        const int64_t each = NODES_SHARED / (int64_t)(winter->jobs_count + 1);
        q.nodes = each < NODES_LEAST ? NODES_LEAST : each > NODES_MOST ? NODES_MOST : each;
        rc = answer(&q, seed);
    }
    free(q.fixed);
    free(q.chosen);
    free(q.unlimited);
    free(q.a);
    free(q.b);
    return rc;
}
