/* Greedy repair of a closed set: drop by least loss a unit, add by most gain a unit, where a unit is a share of what the limits leave. */
#include "select_fill.h"

#include <math.h>

/* What changes when an item goes out with all that imply it, or comes in with all that it implies. */
static select_sums change(const select_task *t, const signed char in[], size_t item)
{
    const relation_lists *with = in[item] == 1 ? &t->links->users : &t->links->needs;
    select_sums sums = {t->score[item], t->task->gain[item], t->task->money[item], t->task->work[item], 1};
    for (size_t a = with->first[item]; a < with->first[item + 1]; a++) {
        const size_t other = with->item[a];
        if (in[other] != in[item])
            continue;
        sums.score += t->score[other];
        sums.money += t->task->money[other];
        sums.work += t->task->work[other];
        sums.items++;
    }
    return sums;
}

static void turn(const select_task *t, signed char in[], size_t item)
{
    const relation_lists *with = in[item] == 1 ? &t->links->users : &t->links->needs;
    const signed char value = in[item] == 1 ? 0 : 1;
    in[item] = value;
    for (size_t a = with->first[item]; a < with->first[item + 1]; a++)
        in[with->item[a]] = value;
}

static double part(int64_t amount, int64_t limit)
{
    return limit == INT64_MAX ? 0.0 : (double)amount / fmax((double)limit, 1.0);
}

static bool shut(const select_task *t, const signed char in[], size_t item)
{
    for (size_t a = t->links->shuts.first[item]; a < t->links->shuts.first[item + 1]; a++)
        if (in[t->links->shuts.item[a]] == 1)
            return true;
    return false;
}

static void drop_useless(const select_task *t, signed char in[])
{
    for (size_t i = 0; i < t->task->count; i++)
        if (in[i] == 1 && t->fixed[i] < 0 && change(t, in, i).score < 0)
            turn(t, in, i);
}

static void drop_too_much(const select_task *t, signed char in[])
{
    int64_t money = 0, work = 0;
    for (size_t i = 0; i < t->task->count; i++) {
        money += in[i] == 1 ? t->task->money[i] : 0;
        work += in[i] == 1 ? t->task->work[i] : 0;
    }
    while (money > t->task->money_limit || work > t->task->work_limit) {
        size_t found = SIZE_MAX;
        double least = INFINITY;
        for (size_t i = 0; i < t->task->count; i++) {
            if (in[i] != 1 || t->fixed[i] >= 0)
                continue;
            const select_sums off = change(t, in, i);
            const double frees = (money > t->task->money_limit ? part(off.money, t->task->money_limit) : 0.0) +
                                 (work > t->task->work_limit ? part(off.work, t->task->work_limit) : 0.0);
            const double loss = (double)off.score / fmax(frees, 1e-12);
            if (loss < least) {
                least = loss;
                found = i;
            }
        }
        if (found == SIZE_MAX)
            return;
        const select_sums off = change(t, in, found);
        money -= off.money;
        work -= off.work;
        turn(t, in, found);
    }
}

static void add_what_fits(const select_task *t, signed char in[])
{
    int64_t money = 0, work = 0;
    for (size_t i = 0; i < t->task->count; i++) {
        money += in[i] == 1 ? t->task->money[i] : 0;
        work += in[i] == 1 ? t->task->work[i] : 0;
    }
    for (;;) {
        size_t found = SIZE_MAX;
        double most = 0.0;
        for (size_t i = 0; i < t->task->count; i++) {
            if (in[i] == 1 || t->fixed[i] >= 0)
                continue;
            const select_sums on = change(t, in, i);
            if (on.score <= 0 || on.money > t->task->money_limit - money || on.work > t->task->work_limit - work)
                continue;
            const double gain =
                (double)on.score / (part(on.money, t->task->money_limit) + part(on.work, t->task->work_limit) + 1e-6);
            if (gain > most && !shut(t, in, i)) {
                most = gain;
                found = i;
            }
        }
        if (found == SIZE_MAX)
            return;
        const select_sums on = change(t, in, found);
        money += on.money;
        work += on.work;
        turn(t, in, found);
    }
}

void select_fill(const select_task *task, signed char in[])
{
    drop_too_much(task, in);
    drop_useless(task, in);
    add_what_fits(task, in);
}
