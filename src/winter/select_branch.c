/*
 * Which item to decide next: the one whose two sides lower the bound most, tried out until enough is known of an item to expect the same again
 * (Achterberg, Koch and Martin, Branching Rules Revisited, Operations Research Letters 33 (2005) 42: reliability branching).
 */
#include <math.h>
#include <stdlib.h>

#include "select_search.h"

enum {
    ROUNDS_TRY = 3,       /* pricings of a side that is tried out */
    TRIED_MAX = 16,       /* items */
    TRIED_SINCE_BEST = 5, /* items that were no better than the best before no more are tried */
    RELIABLE = 4          /* trials after which an item is not tried again */
};

/* An item to decide where the mixture decides all: one of an excluding pair, else any. SIZE_MAX where all are fixed. */
static size_t undecided(const search *s)
{
    size_t shutting = 0;
    if (search_quarrel(s, s->in, &shutting) && s->fixed[shutting] < 0)
        return shutting;
    for (size_t i = 0; i < s->count; i++)
        if (s->fixed[i] < 0)
            return i;
    return SIZE_MAX;
}

static double expected_fall(const search *s, const candidate *c, int side)
{
    const double part = side == 0 ? c->share : 1.0 - c->share;
    const pseudocost *cost = &s->cost[c->item];
    return cost->tries[side] > 0 ? cost->fall[side] / cost->tries[side] * part : -1.0;
}

static double score_of(double out, double in)
{
    return fmax(out, 1e-6) * fmax(in, 1e-6);
}

static int compare_candidates(const void *left, const void *right)
{
    const candidate *a = left, *b = right;
    if (a->score != b->score)
        return a->score > b->score ? -1 : 1;
    if (a->size != b->size)
        return a->size > b->size ? -1 : 1;
    return a->item < b->item ? -1 : 1;
}

/* What the mixture leaves open, the most promising first. */
static size_t list_candidates(search *s, double bound)
{
    size_t n = 0;
    for (size_t i = 0; i < s->count; i++) {
        const double open = fmin(s->share[i], 1.0 - s->share[i]);
        if (s->fixed[i] >= 0 || !(open > 1e-7))
            continue;
        candidate *c = &s->candidates[n++];
        *c = (candidate){.item = i, .share = s->share[i], .bound = {bound, bound}};
        c->size = open * (double)(1 + s->links.users.first[i + 1] - s->links.users.first[i] +
                                  s->links.needs.first[i + 1] - s->links.needs.first[i]);
        const double out = expected_fall(s, c, 0), in = expected_fall(s, c, 1);
        c->score = out >= 0.0 && in >= 0.0 ? score_of(out, in) : INFINITY;
    }
    qsort(s->candidates, n, sizeof *s->candidates, compare_candidates);
    return n;
}

/* A bound on one side of a candidate, by a few pricings. */
static double try_side(search *s, const candidate *c, int side, double bound, const double price[2])
{
    const size_t mark = s->trail_length;
    s->price[0] = price[0];
    s->price[1] = price[1];
    if (!search_fix(s, c->item, (signed char)side))
        bound = -INFINITY;
    for (int round = 0; round < ROUNDS_TRY && search_worth_more(s, bound); round++) {
        if (!search_within_limits(s)) {
            bound = -INFINITY;
            break;
        }
        if (round > 0)
            search_mix(s);
        search_tolls(s);
        bound = fmin(bound, search_priced_bound(s));
        const select_sums sums = search_sums(s, s->in);
        search_remember(s, s->in, &sums);
        search_offer(s, s->in);
    }
    search_unfix(s, mark);
    return bound;
}

/* Try both sides of the first candidates. Fixes what has only one side left; false where a candidate has none. */
static bool try_candidates(search *s, size_t n, double bound, bool *fixed_some)
{
    const double price[2] = {s->price[0], s->price[1]};
    int since_best = 0;
    double best = -1.0;
    *fixed_some = false;
    for (size_t k = 0; k < n && k < TRIED_MAX && since_best < TRIED_SINCE_BEST; k++) {
        candidate *c = &s->candidates[k];
        pseudocost *cost = &s->cost[c->item];
        if (s->fixed[c->item] >= 0)
            continue;
        if (cost->tries[0] >= RELIABLE && cost->tries[1] >= RELIABLE) {
            since_best = c->score > best ? 0 : since_best + 1;
            best = fmax(best, c->score);
            continue;
        }
        for (int side = 0; side < 2; side++) {
            c->bound[side] = try_side(s, c, side, bound, price);
            const double part = side == 0 ? c->share : 1.0 - c->share;
            if (isfinite(c->bound[side])) {
                cost->fall[side] += (bound - c->bound[side]) / part;
                cost->tries[side]++;
            }
        }
        s->price[0] = price[0];
        s->price[1] = price[1];
        const bool out = search_worth_more(s, c->bound[0]), in = search_worth_more(s, c->bound[1]);
        if (!out && !in)
            return false;
        if (!out || !in) {
            *fixed_some = true;
            if (!search_fix(s, c->item, in))
                return false;
            continue;
        }
        c->score = score_of(bound - c->bound[0], bound - c->bound[1]);
        since_best = c->score > best ? 0 : since_best + 1;
        best = fmax(best, c->score);
    }
    return true;
}

/* Back to the last branching with an open side, and into it; false where none is left. */
bool search_next_side(search *s)
{
    while (s->depth > 0) {
        level *at = &s->levels[s->depth - 1];
        const signed char value = at->other;
        search_unfix(s, at->trail);
        at->other = -1;
        if (value < 0 || !search_worth_more(s, at->bound)) {
            s->depth--;
            continue;
        }
        s->price[0] = at->price[0];
        s->price[1] = at->price[1];
        at->entered = at->bound;
        if (search_fix(s, at->item, value))
            return true;
    }
    return false;
}

static bool descend(search *s, size_t item, signed char first, double this_bound, double other_bound)
{
    s->levels[s->depth++] = (level){.trail = s->trail_length,
                                    .item = item,
                                    .other = first == 1 ? 0 : 1,
                                    .bound = other_bound,
                                    .entered = this_bound,
                                    .price = {s->price[0], s->price[1]}};
    return search_fix(s, item, first) || search_next_side(s);
}

/* Branch a node; `again` where something could be fixed and the same node has to be bounded once more. */
bool search_branch(search *s, double bound, bool *again)
{
    size_t n = list_candidates(s, bound);
    *again = false;
    if (n == 0) {
        const size_t item = undecided(s);
        return item == SIZE_MAX ? search_next_side(s) : descend(s, item, s->in[item] == 1, bound, bound);
    }
    if (!try_candidates(s, n, bound, again)) {
        *again = false; /* what comes next is another node */
        return search_next_side(s);
    }
    if (*again)
        return true;
    const candidate *best = NULL;
    for (size_t k = 0; k < n; k++)
        if (isfinite(s->candidates[k].score) && (best == NULL || s->candidates[k].score > best->score))
            best = &s->candidates[k];
    if (best == NULL)
        best = &s->candidates[0];
    const signed char first = best->bound[1] != best->bound[0] ? best->bound[1] > best->bound[0] : best->share >= 0.5;
    return descend(s, best->item, first, best->bound[(int)first], best->bound[1 - first]);
}
