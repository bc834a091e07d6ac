/*
 * Bounds by pricing the limits (Geoffrion 1974): at any prices the best closed set less what it costs, plus the limits at their prices, is a bound.
 * The prices that give the lowest come from the mixture of the closures found so far (column generation); excluding pairs that were chosen
 * together are limits like budget and hours.
 */
#include <math.h>
#include <string.h>

#include "select_search.h"

enum {
    ROUNDS_ROOT = 80, /* pricings of the first node */
    ROUNDS_NODE = 16, /* of the others: the bound has mostly settled by then */
    TIES_MAX = 20000, /* nodes that can hold no better gain, only an equal one */
    FILL_EVERY = 16,  /* nodes */
    FILL_ROUNDS = 6   /* of the first node */
};

static void set_column(search *s, size_t place, const signed char in[], const select_sums *sums)
{
    s->column[place].score = (double)sums->score;
    s->column[place].takes[0] = (double)sums->money / s->limit[0];
    s->column[place].takes[1] = (double)sums->work / s->limit[1];
    if (s->column_in[place] != in)
        memcpy(s->column_in[place], in, s->count);
    memset(s->column_bits[place], 0, s->words * sizeof *s->column_bits[place]);
    for (size_t i = 0; i < s->count; i++)
        s->column_bits[place][i / 64] |= (uint64_t)(in[i] == 1) << i % 64;
}

/* Gather what is fixed, so that 64 items at a time can be compared. */
static void gather_fixed(search *s)
{
    memset(s->known_bits, 0, s->words * sizeof *s->known_bits);
    memset(s->fixed_bits, 0, s->words * sizeof *s->fixed_bits);
    for (size_t i = 0; i < s->count; i++) {
        s->known_bits[i / 64] |= (uint64_t)(s->fixed[i] >= 0) << i % 64;
        s->fixed_bits[i / 64] |= (uint64_t)(s->fixed[i] == 1) << i % 64;
    }
}

void search_tolls(search *s)
{
    memset(s->toll, 0, s->count * sizeof *s->toll);
    s->tolls = 0.0;
    for (size_t e = 0; e < s->task->excludes_count; e++) {
        const ch_selection_pair pair = s->task->excludes[e];
        if (s->fixed[pair.item] >= 0 || s->fixed[pair.other] >= 0)
            continue;
        s->toll[pair.item] += s->quarrel[e];
        s->toll[pair.other] += s->quarrel[e];
        s->tolls += s->quarrel[e];
    }
}

void search_remember(search *s, const signed char in[], const select_sums *sums)
{
    const size_t place = s->columns < MASTER_COLUMNS_MAX ? s->columns++ : s->column_next;
    s->column_next = place + 1 < MASTER_COLUMNS_MAX ? place + 1 : 1;
    set_column(s, place, in, sums);
    for (size_t e = 0; e < s->task->excludes_count; e++)
        if (in[s->task->excludes[e].item] == 1 && in[s->task->excludes[e].other] == 1)
            s->quarrelled[e] = true;
}

static bool agrees(const search *s, const uint64_t bits[])
{
    for (size_t k = 0; k < s->words; k++)
        if (((bits[k] ^ s->fixed_bits[k]) & s->known_bits[k]) != 0)
            return false;
    return true;
}

/* Excluding pairs that have been chosen together, both still free: they are limits too. Returns how many limits there are. */
static size_t list_limits(search *s)
{
    size_t limits = 2;
    for (size_t e = 0; e < s->task->excludes_count && limits < MASTER_LIMITS_MAX; e++)
        if (s->quarrelled[e] && s->fixed[s->task->excludes[e].item] < 0 && s->fixed[s->task->excludes[e].other] < 0)
            s->limit_pair[limits++] = e;
    return limits;
}

/* Prices and mixture from the columns that agree with what is fixed. The first column is just what is fixed, and keeps the limits. */
double search_mix(search *s)
{
    size_t place[MASTER_COLUMNS_MAX], n = 0;
    const size_t limits = list_limits(s);
    gather_fixed(s);
    for (size_t i = 0; i < s->columns; i++) {
        if (i > 0 && !agrees(s, s->column_bits[i]))
            continue;
        master_column *column = &s->mixed[n];
        column->score = s->column[i].score;
        column->takes[0] = s->column[i].takes[0];
        column->takes[1] = s->column[i].takes[1];
        for (size_t k = 2; k < limits; k++) {
            const ch_selection_pair pair = s->task->excludes[s->limit_pair[k]];
            column->takes[k] = (s->column_in[i][pair.item] == 1) + (s->column_in[i][pair.other] == 1);
        }
        place[n++] = i;
    }
    master_solve(s->mixed, n, limits, &s->result);
    s->price[0] = s->result.price[0];
    s->price[1] = s->result.price[1];
    memset(s->quarrel, 0, s->task->excludes_count * sizeof *s->quarrel);
    for (size_t k = 2; k < limits; k++)
        s->quarrel[s->limit_pair[k]] = s->result.price[k];
    memset(s->share, 0, s->count * sizeof *s->share);
    for (size_t k = 0; k < n; k++)
        for (size_t i = 0; s->result.share[k] > 0.0 && i < s->count; i++)
            if (s->column_in[place[k]][i] == 1)
                s->share[i] += s->result.share[k];
    return s->result.value;
}

/*
 * No choice that agrees with what is fixed scores more than this, whatever the prices. Leaves the best closed set at these prices in `in` and
 * what each free item would cost the other way round in `slack`.
 */
double search_priced_bound(search *s)
{
    double fixed_score = s->price[0] + s->price[1] + s->tolls, size = fixed_score;
    for (size_t i = 0; i < s->count; i++) {
        if (s->fixed[i] == 0)
            continue;
        const double money = s->price[0] * ((double)s->task->money[i] / s->limit[0]),
                     work = s->price[1] * ((double)s->task->work[i] / s->limit[1]),
                     priced = (double)s->score[i] - money - work - s->toll[i];
        size += fabs((double)s->score[i]) + money + work + s->toll[i];
        if (s->fixed[i] == 1)
            fixed_score += priced;
        else
            s->weight[i] = (int64_t)ceil(priced);
    }
    memcpy(s->in, s->fixed, s->count);
    const int64_t free_score = closure_solve(&s->graph, s->weight, s->fixed, s->in, s->slack);
    return fixed_score + (double)free_score + 4e-16 * size * (double)(s->count + 4);
}

/* True where a node with this bound may hold a better gain. A better gain is a whole scale more, of which work takes at most a quarter. */
bool search_gains_more(const search *s, double bound)
{
    return !s->has_best || bound >= (double)s->best_sums.score + fmax((double)s->scale / 2.0, 1.0);
}

/* The same, or an equal gain: there two scores may be out of order by what they were rounded, less than 1 an item. */
bool search_worth_more(const search *s, double bound)
{
    return search_gains_more(s, bound) ||
           (s->ties < TIES_MAX && bound >= (double)s->best_sums.score - (double)s->count);
}

/* What is lost, at least, by having a free item the other way round: what itself and all that goes with it lose. */
static double loss_of(const search *s, size_t item)
{
    const relation_lists *with = s->in[item] == 1 ? &s->links.users : &s->links.needs;
    double loss = (double)s->slack[item];
    for (size_t a = with->first[item]; a < with->first[item + 1]; a++)
        if (s->fixed[with->item[a]] < 0 && s->in[with->item[a]] == s->in[item])
            loss += (double)s->slack[with->item[a]];
    return loss;
}

/* Fix what cannot be the other way round; false where nothing is left. */
static bool fix_by_bound(search *s, double bound)
{
    for (size_t i = 0; i < s->count; i++)
        s->loss[i] = s->fixed[i] < 0 ? loss_of(s, i) : 0.0;
    for (size_t i = 0; i < s->count; i++)
        if (s->fixed[i] < 0 && !search_worth_more(s, bound - s->loss[i]) && !search_fix(s, i, s->in[i]))
            return false;
    return true;
}

bool search_within_limits(search *s)
{
    for (size_t i = 0; i < s->count; i++)
        s->trial[i] = s->fixed[i] == 1;
    const select_sums sums = search_sums(s, s->trial);
    if (sums.money > s->task->money_limit || sums.work > s->task->work_limit)
        return false;
    set_column(s, 0, s->trial, &sums);
    search_offer(s, s->trial);
    return true;
}

static void fill(search *s, const signed char from[])
{
    const select_task task = {.task = s->task, .links = &s->links, .score = s->score, .fixed = s->fixed};
    memcpy(s->trial, from, s->count);
    select_fill(&task, s->trial);
    search_offer(s, s->trial);
}

/* Bound a node; OPEN where it has to be branched, with the mixture in `share`. */
verdict search_bound(search *s, double *bound)
{
    size_t shutting = 0;
    const int rounds = s->depth == 0 ? ROUNDS_ROOT : ROUNDS_NODE;
    for (int round = 0; round < rounds; round++) {
        if (!search_within_limits(s))
            return DONE;
        const double mixed = round > 0 || s->depth == 0 ? search_mix(s) : -INFINITY;
        search_tolls(s);
        const double at_these_prices = search_priced_bound(s);
        *bound = fmin(*bound, at_these_prices);
        if (!search_worth_more(s, *bound))
            return DONE;
        const select_sums sums = search_sums(s, s->in);
        search_remember(s, s->in, &sums);
        search_offer(s, s->in);
        if (s->depth == 0 ? round % FILL_ROUNDS == 0 : round == 0 && s->nodes % FILL_EVERY == 0)
            fill(s, s->in);
        if (!fix_by_bound(s, at_these_prices))
            return DONE;
        if (at_these_prices - mixed <= fmax(0.5, 1e-9 * fabs(mixed)) && !search_quarrel(s, s->in, &shutting))
            break;
    }
    if (!search_within_limits(s))
        return DONE;
    search_mix(s);
    return OPEN;
}
