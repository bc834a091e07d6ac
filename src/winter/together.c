/* What comes and goes together with an item. */
#include "together.h"

#include <string.h>

static bool asks_for_needs(const ch_plan_item *item)
{
    return item->kind == CH_PLAN_ACCESS || !item->done;
}

static bool mark_all(const ch_places *places, bool in[])
{
    bool more = false;
    for (size_t i = 0; i < places->count; i++) {
        more = more || !in[places->at[i]];
        in[places->at[i]] = true;
    }
    return more;
}

/* Mark what the marked items need and require until nothing is added. */
static void close_marks(const ch_plan *plan, bool in[])
{
    for (bool more = true; more;) {
        more = false;
        for (size_t i = 0; i < plan->items_count; i++) {
            const ch_plan_item *item = &plan->items[i];
            if (!in[i])
                continue;
            const bool needs = asks_for_needs(item) && mark_all(&item->needs, in);
            const bool requires_ = mark_all(&item->requires_, in);
            more = more || needs || requires_;
        }
    }
}

void together_mark(const ch_plan *plan, size_t item, bool in[])
{
    in[item] = true;
    close_marks(plan, in);
}

static bool any_marked(const ch_places *places, const bool in[])
{
    for (size_t i = 0; i < places->count; i++)
        if (in[places->at[i]])
            return true;
    return false;
}

bool together_without(const ch_plan *plan, const bool chosen[], size_t item, bool gone[], bool scratch[])
{
    memset(gone, 0, plan->items_count * sizeof *gone);
    gone[item] = true;
    for (bool more = true; more;) {
        more = false;
        for (size_t i = 0; i < plan->items_count; i++) {
            const ch_plan_item *other = &plan->items[i];
            if (!chosen[i] || gone[i])
                continue;
            if ((asks_for_needs(other) && any_marked(&other->needs, gone)) || any_marked(&other->requires_, gone))
                gone[i] = more = true;
        }
    }
    memset(scratch, 0, plan->items_count * sizeof *scratch); /* what the others need */
    for (size_t i = 0; i < plan->items_count; i++)
        scratch[i] = chosen[i] && !gone[i] && (plan->items[i].kind == CH_PLAN_JOB || plan->items[i].done);
    close_marks(plan, scratch);
    for (size_t i = 0; i < plan->access_count; i++)
        gone[i] = chosen[i] && !scratch[i];
    for (size_t i = 0; i < plan->items_count; i++)
        if (gone[i] && (plan->items[i].must || plan->items[i].done))
            return false;
    return true;
}
