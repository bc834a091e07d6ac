/*
 * From a plan to the program of selection.h and back. One item of the program is one item of the plan.
 *
 * What is done is in, takes no more time and asks for no access any more; its parts stay on the bill. Money that was paid is gone whatever is
 * chosen: it comes off what the parts still take and off the budget alike, and is added to the bill at the end. Access that is open is in, because it
 * has to be closed.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/selection.h"
#include "crosshatch/winter.h"
#include "parts.h"

ch_work winter_work(const ch_plan_item *item)
{
    return item->hours.likely_us + item->refit.likely_us;
}

/* In two steps, so that no product leaves the whole numbers that a double holds. */
ch_money winter_cost_of(const ch_plan *plan, ch_work work_us)
{
    const ch_work hours = work_us / CH_WORK_HOUR, rest_us = work_us % CH_WORK_HOUR;
    return plan->hours_value * hours +
           (ch_money)llround((double)plan->hours_value * ((double)rest_us / (double)CH_WORK_HOUR));
}

ch_money winter_gain(const ch_plan *plan, const ch_plan_item *item)
{
    return item->avoided - ch_plan_parts_left(item) - winter_cost_of(plan, winter_work(item));
}

typedef struct program {
    ch_selection task;
    int64_t *gain, *money, *work;
    ch_selection_pair *implies, *excludes;
    signed char *fixed;
} program;

static void program_clear(program *p)
{
    free(p->gain);
    free(p->money);
    free(p->work);
    free(p->implies);
    free(p->excludes);
    free(p->fixed);
}

static void add_pairs(ch_selection_pair pairs[], size_t *count, size_t item, const ch_places *places)
{
    for (size_t i = 0; i < places->count; i++)
        pairs[(*count)++] = (ch_selection_pair){item, places->at[i]};
}

static void fill(program *p, const ch_plan *plan, const signed char fixed[])
{
    size_t implies = 0, excludes = 0;
    for (size_t i = 0; i < plan->items_count; i++) {
        const ch_plan_item *item = &plan->items[i];
        p->gain[i] = winter_gain(plan, item);
        p->money[i] = ch_plan_parts_left(item);
        p->work[i] = winter_work(item);
        p->fixed[i] = item->must || item->done ? 1 : -1;
        if (fixed != NULL && fixed[i] >= 0)
            p->fixed[i] = fixed[i];
        if (item->kind == CH_PLAN_ACCESS || !item->done)
            add_pairs(p->implies, &implies, i, &item->needs);
        add_pairs(p->implies, &implies, i, &item->requires_);
        add_pairs(p->excludes, &excludes, i, &item->excludes);
    }
    p->task.count = plan->items_count;
    p->task.gain = p->gain;
    p->task.money = p->money;
    p->task.work = p->work;
    p->task.fixed = p->fixed;
    p->task.implies = p->implies;
    p->task.implies_count = implies;
    p->task.excludes = p->excludes;
    p->task.excludes_count = excludes;
}

static bool program_init(program *p, const ch_plan *plan, const signed char fixed[])
{
    const size_t n = plan->items_count + 1;
    size_t implies = 1, excludes = 1;
    for (size_t i = 0; i < plan->items_count; i++) {
        implies += plan->items[i].needs.count + plan->items[i].requires_.count;
        excludes += plan->items[i].excludes.count;
    }
    *p = (program){0};
    p->gain = calloc(n, sizeof *p->gain);
    p->money = calloc(n, sizeof *p->money);
    p->work = calloc(n, sizeof *p->work);
    p->fixed = calloc(n, 1);
    p->implies = calloc(implies, sizeof *p->implies);
    p->excludes = calloc(excludes, sizeof *p->excludes);
    if (p->gain == NULL || p->money == NULL || p->work == NULL || p->fixed == NULL || p->implies == NULL ||
        p->excludes == NULL) {
        program_clear(p);
        return false;
    }
    fill(p, plan, fixed);
    return true;
}

/* A limit and what is added to it; every item's amount may have been rounded by half a unit, so a limit met exactly has room for that. */
static int64_t widened(int64_t limit, int64_t more, const ch_plan *plan)
{
    return limit == INT64_MAX ? limit : limit + more + (int64_t)(plan->items_count + plan->days_count);
}

/* Mark an item and all that it implies. */
static void mark(const program *p, size_t item, bool in[])
{
    in[item] = true;
    for (bool more = true; more;) {
        more = false;
        for (size_t a = 0; a < p->task.implies_count; a++) {
            const ch_selection_pair pair = p->implies[a];
            if (in[pair.item] && !in[pair.other])
                in[pair.other] = more = true;
        }
    }
}

/* Money that may still be spent: none, where more was paid than there was. */
static ch_money budget_left(const ch_plan *plan)
{
    const ch_money paid = ch_plan_paid(plan);
    return plan->budget == CH_MONEY_NO_LIMIT ? CH_MONEY_NO_LIMIT : plan->budget > paid ? plan->budget - paid : 0;
}

/* What must be done is too much, or at odds with itself: say how. */
static void measure_shortfall(const program *p, const ch_plan *plan, ch_work hours, bool in[], ch_choice *choice)
{
    const ch_money paid = ch_plan_paid(plan), left = budget_left(plan);
    ch_money parts = 0;
    ch_work work_us = 0;
    for (size_t i = 0; i < plan->items_count; i++)
        if (p->fixed[i] == 1 && !in[i])
            mark(p, i, in);
    for (size_t i = 0; i < plan->items_count; i++) {
        parts += in[i] ? p->money[i] : 0;
        work_us += in[i] ? p->work[i] : 0;
    }
    choice->must_parts = paid + parts;
    choice->must_us = work_us;
    choice->short_parts = parts > widened(left, 0, plan) ? paid + parts - plan->budget : 0;
    choice->short_us = work_us > widened(hours, 0, plan) ? work_us - hours : 0;
    for (size_t i = 0; i < p->task.excludes_count && choice->quarrel[0] == SIZE_MAX; i++)
        if (in[p->excludes[i].item] && in[p->excludes[i].other]) {
            choice->quarrel[0] = p->excludes[i].item;
            choice->quarrel[1] = p->excludes[i].other;
        }
    memset(in, 0, plan->items_count * sizeof *in);
}

/* Access that no chosen item needs goes: it can only be there where the search ended early. */
static void drop_unused_access(const ch_plan *plan, const program *p, bool in[], ch_choice *choice)
{
    for (bool more = true; more;) {
        more = false;
        for (size_t a = 0; a < plan->access_count; a++) {
            bool used = p->fixed[a] == 1 || !in[a];
            for (size_t k = 0; !used && k < p->task.implies_count; k++)
                used = p->implies[k].other == a && in[p->implies[k].item];
            if (used)
                continue;
            in[a] = false;
            more = true;
            choice->value -= p->gain[a];
            choice->parts -= p->money[a];
            choice->work_us -= p->work[a];
        }
    }
}

ch_status ch_winter_choose(const ch_plan *plan, const signed char fixed[], ch_money more, ch_work more_us,
                           int64_t nodes_max, bool chosen[], ch_choice *choice, ch_err *err)
{
    program p;
    bool *in = calloc(plan->items_count + 1, sizeof *in);
    if (in == NULL || !program_init(&p, plan, fixed)) {
        free(in);
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the choice");
    }
    const ch_work hours_us = ch_plan_work_limit(plan);
    p.task.nodes_max = nodes_max;
    p.task.money_limit = widened(budget_left(plan), more, plan);
    p.task.work_limit = widened(hours_us, more_us, plan);
    ch_selected selected;
    ch_err reason = {0};
    ch_status rc = ch_select(&p.task, in, &selected, &reason);
    if (rc == CH_E_RANGE)
        rc = ch_fail(err, CH_E_LIMIT, "smaller amounts, or fewer jobs", "the plan's amounts add up to too much");
    else if (rc < 0)
        rc = ch_fail(err, rc, reason.right, "%s", reason.what);
    if (rc >= 0) {
        *choice = (ch_choice){.feasible = selected.possible, .quarrel = {SIZE_MAX, SIZE_MAX}};
        if (selected.possible) {
            choice->proven = selected.proven;
            choice->value = selected.gain;
            choice->value_at_most = selected.gain_at_most;
            choice->parts = ch_plan_paid(plan) + selected.money;
            choice->work_us = selected.work;
            choice->nodes = selected.nodes;
            drop_unused_access(plan, &p, in, choice);
        } else {
            measure_shortfall(&p, plan, hours_us, in, choice);
        }
        memcpy(chosen, in, plan->items_count * sizeof *in);
    }
    free(in);
    program_clear(&p);
    return rc;
}
