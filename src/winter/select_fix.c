/* The best choice so far, and what is fixed. */
#include <string.h>

#include "select_search.h"

select_sums search_sums(const search *s, const signed char in[])
{
    select_sums sums = {0};
    for (size_t i = 0; i < s->count; i++)
        if (in[i] == 1) {
            sums.score += s->score[i];
            sums.gain += s->task->gain[i];
            sums.money += s->task->money[i];
            sums.work += s->task->work[i];
            sums.items++;
        }
    return sums;
}

/* The order of the header: gain, work, money, fewer items, the earlier item. */
static bool is_better(const search *s, const select_sums *sums, const signed char in[])
{
    const select_sums *best = &s->best_sums;
    if (!s->has_best || sums->gain != best->gain)
        return !s->has_best || sums->gain > best->gain;
    if (sums->work != best->work)
        return sums->work < best->work;
    if (sums->money != best->money)
        return sums->money < best->money;
    if (sums->items != best->items)
        return sums->items < best->items;
    for (size_t i = 0; i < s->count; i++)
        if (in[i] != s->best[i])
            return in[i] == 1;
    return false;
}

bool search_quarrel(const search *s, const signed char in[], size_t *item)
{
    for (size_t i = 0; i < s->count; i++)
        for (size_t a = s->links.shuts.first[i]; in[i] == 1 && a < s->links.shuts.first[i + 1]; a++)
            if (in[s->links.shuts.item[a]] == 1) {
                *item = i;
                return true;
            }
    return false;
}

/* Take a closed set as the best so far, if it is one. */
void search_offer(search *s, const signed char in[])
{
    size_t unused = 0;
    const select_sums sums = search_sums(s, in);
    if (sums.money > s->task->money_limit || sums.work > s->task->work_limit || !is_better(s, &sums, in) ||
        search_quarrel(s, in, &unused))
        return;
    memcpy(s->best, in, s->count);
    s->best_sums = sums;
    s->has_best = true;
}

static bool fix_one(search *s, size_t item, signed char value)
{
    if (s->fixed[item] >= 0)
        return s->fixed[item] == value;
    s->fixed[item] = value;
    s->trail[s->trail_length++] = item;
    return true;
}

static bool fix_out(search *s, size_t item)
{
    const relation_lists *users = &s->links.users;
    bool good = fix_one(s, item, 0);
    for (size_t a = users->first[item]; good && a < users->first[item + 1]; a++)
        good = fix_one(s, users->item[a], 0);
    return good;
}

static bool shut_out(search *s, size_t item)
{
    const relation_lists *shuts = &s->links.shuts;
    bool good = true;
    for (size_t a = shuts->first[item]; good && a < shuts->first[item + 1]; a++)
        good = fix_out(s, shuts->item[a]);
    return good;
}

/* Fix an item and all that follows; false where that cannot be. */
bool search_fix(search *s, size_t item, signed char value)
{
    if (value == 0)
        return fix_out(s, item);
    const relation_lists *needs = &s->links.needs;
    bool good = fix_one(s, item, 1) && shut_out(s, item);
    for (size_t a = needs->first[item]; good && a < needs->first[item + 1]; a++)
        good = fix_one(s, needs->item[a], 1) && shut_out(s, needs->item[a]);
    return good;
}

void search_unfix(search *s, size_t length)
{
    while (s->trail_length > length)
        s->fixed[s->trail[--s->trail_length]] = -1;
}
