/*
 * Branch and bound over priced closures: see the header for the method.
 *
 *  1. Every bound is one of whole numbers or rounded upwards, so that no better choice is ever cut off by a rounding.
 *  2. Gains are scaled up and a little is taken off for work, less than one unit of gain in all: so the search sees early which of two
 *     choices of equal gain is the better. The last word has is_better(), which compares exactly.
 *  3. `fixed` is always closed: what a fixed item implies or excludes is fixed too.
 */
#include "crosshatch/selection.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "closure.h"
#include "master.h"
#include "relations.h"
#include "select_fill.h"

enum {
    COLUMNS_MAX = 64, /* closures remembered; the first is what is fixed */
    ROUNDS_ROOT = 80, /* pricings of the first node */
    ROUNDS_NODE = 16, /* of the others: the bound has mostly settled by then */
    TIES_MAX = 20000, /* nodes that can hold no better gain, only an equal one */
    FILL_EVERY = 16   /* nodes */
};
#define SCALED_MAX 0x1p52 /* doubles hold whole numbers up to here */
#define SCALE_MAX 0x1p20

/* A branching with a side that is still open. */
typedef struct level {
    size_t trail; /* items fixed before it */
    size_t item;
    signed char other; /* the value still to be tried; -1 = none */
    double bound;      /* of the node that branched */
    double price[2];
} level;

typedef struct search {
    const ch_selection *task;
    size_t count;
    double limit[2]; /* money, work */
    relations links;
    closure graph;
    int64_t scale; /* of a unit of gain, in scores */
    int64_t *score, *weight, *slack;
    signed char *fixed, *in, *best, *trial;
    size_t *trail, trail_length;
    signed char *column_in[COLUMNS_MAX];
    master_column column[COLUMNS_MAX];
    size_t columns, column_next;
    level *levels;
    size_t depth;
    double price[2]; /* of a whole limit, in scores */
    double *quarrel; /* price of having both of an excluding pair, in scores; each pair of the task */
    double *toll;    /* of an item: those of its pairs of which both are free */
    double tolls;    /* of all such pairs, once each */
    double *loss;    /* of a free item: what is lost at least by having it the other way round */
    double *share;   /* of an item in the mixture */
    bool has_best;
    select_sums best_sums;
    int64_t nodes, ties;
} search;

typedef enum verdict { OPEN, DONE } verdict;

static select_sums sums_of(const search *s, const signed char in[])
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

static bool shuts_something(const search *s, const signed char in[], size_t *item)
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
static void offer(search *s, const signed char in[])
{
    size_t unused = 0;
    const select_sums sums = sums_of(s, in);
    if (sums.money > s->task->money_limit || sums.work > s->task->work_limit || shuts_something(s, in, &unused) ||
        !is_better(s, &sums, in))
        return;
    memcpy(s->best, in, s->count);
    s->best_sums = sums;
    s->has_best = true;
}

/* ------------------------------------------------------------------ fixing */

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
static bool fix(search *s, size_t item, signed char value)
{
    if (value == 0)
        return fix_out(s, item);
    const relation_lists *needs = &s->links.needs;
    bool good = fix_one(s, item, 1) && shut_out(s, item);
    for (size_t a = needs->first[item]; good && a < needs->first[item + 1]; a++)
        good = fix_one(s, needs->item[a], 1) && shut_out(s, needs->item[a]);
    return good;
}

static void unfix_to(search *s, size_t length)
{
    while (s->trail_length > length)
        s->fixed[s->trail[--s->trail_length]] = -1;
}

/* ------------------------------------------------------------------ bounds */

static master_column column_of(const search *s, const select_sums *sums)
{
    return (master_column){.score = (double)sums->score,
                           .takes = {(double)sums->money / s->limit[0], (double)sums->work / s->limit[1]}};
}

static void gather_tolls(search *s)
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

/* What a choice scores with the tolls: no less than without them where it holds no excluding pair. */
static double tolled_score(const search *s, size_t column)
{
    double score = s->column[column].score + s->tolls;
    for (size_t i = 0; s->tolls > 0.0 && i < s->count; i++)
        if (s->column_in[column][i] == 1)
            score -= s->toll[i];
    return score;
}

static void remember(search *s, const signed char in[], const select_sums *sums)
{
    const size_t place = s->columns < COLUMNS_MAX ? s->columns++ : s->column_next;
    s->column_next = place + 1 < COLUMNS_MAX ? place + 1 : 1;
    s->column[place] = column_of(s, sums);
    memcpy(s->column_in[place], in, s->count);
}

static bool agrees(const search *s, const signed char in[])
{
    for (size_t i = 0; i < s->count; i++)
        if (s->fixed[i] >= 0 && s->fixed[i] != in[i])
            return false;
    return true;
}

/* Prices and mixture from the columns that agree with what is fixed. The first column is just what is fixed, and keeps the limits. */
static double mix(search *s)
{
    master_column columns[COLUMNS_MAX];
    size_t place[COLUMNS_MAX], n = 0;
    for (size_t i = 0; i < s->columns; i++)
        if (i == 0 || agrees(s, s->column_in[i])) {
            columns[n] = s->column[i];
            columns[n].score = tolled_score(s, i);
            place[n++] = i;
        }
    master_result result;
    master_solve(columns, n, &result);
    s->price[0] = result.price[0];
    s->price[1] = result.price[1];
    memset(s->share, 0, s->count * sizeof *s->share);
    for (int k = 0; k < 3; k++)
        for (size_t i = 0; result.column[k] != SIZE_MAX && i < s->count; i++)
            if (s->column_in[place[result.column[k]]][i] == 1)
                s->share[i] += result.share[k];
    return result.value;
}

/*
 * No choice that agrees with what is fixed scores more than this, whatever the prices. Leaves the best closed set at these prices in `in` and
 * what each free item would cost the other way round in `slack`.
 */
static double priced_bound(search *s)
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
static bool gains_more(const search *s, double bound)
{
    return !s->has_best || bound >= (double)s->best_sums.score + fmax((double)s->scale / 2.0, 1.0);
}

/* The same, or an equal gain: there two scores may be out of order by what they were rounded, less than 1 an item. */
static bool worth_more(const search *s, double bound)
{
    return gains_more(s, bound) || (s->ties < TIES_MAX && bound >= (double)s->best_sums.score - (double)s->count);
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

/*
 * Change the prices of excluding pairs so that the bound falls: of a pair that is chosen up by what having either costs, of one that is not down by
 * the same. Returns how far the bound falls at least.
 */
static double raise_tolls(search *s)
{
    double falls = 0.0;
    for (size_t e = 0; e < s->task->excludes_count; e++) {
        const size_t a = s->task->excludes[e].item, b = s->task->excludes[e].other;
        if (s->fixed[a] >= 0 || s->fixed[b] >= 0 || s->in[a] != s->in[b] || (s->in[a] == 0 && !(s->quarrel[e] > 0.0)))
            continue;
        double *loss_a = &s->loss[a], *loss_b = &s->loss[b];
        double step = fmin(*loss_a, *loss_b);
        if (s->in[a] == 0)
            step = fmin(step, s->quarrel[e]);
        s->quarrel[e] += s->in[a] == 1 ? step : -step;
        *loss_a -= step;
        *loss_b -= step;
        falls += step;
    }
    return falls;
}

/* Fix what cannot be the other way round; false where nothing is left. */
static bool fix_by_bound(search *s, double bound)
{
    for (size_t i = 0; i < s->count; i++)
        s->loss[i] = s->fixed[i] < 0 ? loss_of(s, i) : 0.0;
    for (size_t i = 0; i < s->count; i++)
        if (s->fixed[i] < 0 && !worth_more(s, bound - s->loss[i]) && !fix(s, i, s->in[i]))
            return false;
    return true;
}

static bool fixed_within_limits(search *s)
{
    for (size_t i = 0; i < s->count; i++)
        s->trial[i] = s->fixed[i] == 1;
    const select_sums sums = sums_of(s, s->trial);
    if (sums.money > s->task->money_limit || sums.work > s->task->work_limit)
        return false;
    s->column[0] = column_of(s, &sums);
    memcpy(s->column_in[0], s->trial, s->count);
    offer(s, s->trial);
    return true;
}

static void fill(search *s, const signed char from[])
{
    const select_task task = {.task = s->task, .links = &s->links, .score = s->score, .fixed = s->fixed};
    memcpy(s->trial, from, s->count);
    select_fill(&task, s->trial);
    offer(s, s->trial);
}

/* Bound a node; OPEN where it has to be branched, with the mixture in `share`. */
static verdict bound_node(search *s, double *bound)
{
    const int rounds = s->depth == 0 ? ROUNDS_ROOT : ROUNDS_NODE;
    *bound = INFINITY;
    for (int round = 0; round < rounds; round++) {
        if (!fixed_within_limits(s))
            return DONE;
        gather_tolls(s);
        const double mixed = round > 0 || s->depth == 0 ? mix(s) : -INFINITY;
        const double at_these_prices = priced_bound(s);
        *bound = fmin(*bound, at_these_prices);
        if (!worth_more(s, *bound))
            return DONE;
        const select_sums sums = sums_of(s, s->in);
        remember(s, s->in, &sums);
        offer(s, s->in);
        if (s->depth == 0 || (round == 0 && s->nodes % FILL_EVERY == 0))
            fill(s, s->in);
        if (!fix_by_bound(s, at_these_prices))
            return DONE;
        const double enough = fmax(0.5, 1e-9 * fabs(mixed));
        if (raise_tolls(s) <= enough && at_these_prices - mixed <= enough)
            break;
    }
    if (!fixed_within_limits(s))
        return DONE;
    gather_tolls(s);
    mix(s);
    return OPEN;
}

/* ------------------------------------------------------------------ branching */

/* The item to decide next, or SIZE_MAX where all are decided: the one that the mixture leaves most open. */
static size_t undecided(const search *s)
{
    size_t found = SIZE_MAX, shutting = 0;
    double most = 1e-7;
    for (size_t i = 0; i < s->count; i++) {
        if (s->fixed[i] >= 0)
            continue;
        const double open = fmin(s->share[i], 1.0 - s->share[i]);
        const double size = open * (double)(1 + (s->links.users.first[i + 1] - s->links.users.first[i]));
        if (open > 1e-7 && size > most) {
            most = size;
            found = i;
        }
    }
    if (found != SIZE_MAX)
        return found;
    if (shuts_something(s, s->in, &shutting) && s->fixed[shutting] < 0)
        return shutting;
    for (size_t i = 0; i < s->count; i++)
        if (s->fixed[i] < 0)
            return i;
    return SIZE_MAX;
}

/* Back to the last branching with an open side, and into it; false where none is left. */
static bool next_side(search *s)
{
    while (s->depth > 0) {
        level *at = &s->levels[s->depth - 1];
        const signed char value = at->other;
        unfix_to(s, at->trail);
        at->other = -1;
        if (value < 0 || !worth_more(s, at->bound)) {
            s->depth--;
            continue;
        }
        s->price[0] = at->price[0];
        s->price[1] = at->price[1];
        if (fix(s, at->item, value))
            return true;
    }
    return false;
}

static bool branch(search *s, double bound)
{
    const size_t item = undecided(s);
    if (item == SIZE_MAX)
        return next_side(s);
    const signed char first = s->share[item] >= 0.5;
    s->levels[s->depth++] = (level){.trail = s->trail_length,
                                    .item = item,
                                    .other = first == 1 ? 0 : 1,
                                    .bound = bound,
                                    .price = {s->price[0], s->price[1]}};
    return fix(s, item, first) || next_side(s);
}

/* The highest bound of what has not been looked at. */
static double open_bound(const search *s, double here)
{
    double most = here;
    for (size_t i = 0; i < s->depth; i++)
        if (s->levels[i].other >= 0)
            most = fmax(most, s->levels[i].bound);
    return most;
}

/* Returns a bound on all that was not looked at; -INFINITY where everything was. */
static double run(search *s, int64_t nodes_max)
{
    for (bool more = true; more;) {
        double bound = INFINITY;
        const verdict found = bound_node(s, &bound);
        if (found == OPEN && s->nodes >= nodes_max)
            return open_bound(s, bound);
        if (found == OPEN && !gains_more(s, bound))
            s->ties++;
        s->nodes += found == OPEN;
        more = found == OPEN ? branch(s, bound) : next_side(s);
    }
    return -INFINITY;
}

/* ------------------------------------------------------------------ setting up */

static ch_status check(const ch_selection *task, ch_err *err)
{
    double gain = 0.0, money = 0.0, work = 0.0;
    if (task->count > CH_SELECTION_ITEMS_MAX)
        return ch_fail(err, CH_E_LIMIT, "at most 2000", "%zu items to choose from", task->count);
    for (size_t i = 0; i < task->count; i++) {
        if (task->money[i] < 0 || task->work[i] < 0)
            return ch_fail(err, CH_E_RANGE, "0 or more", "item %zu takes less than nothing", i);
        gain += fabs((double)task->gain[i]);
        money += (double)task->money[i];
        work += (double)task->work[i];
    }
    if (!(gain < SCALED_MAX) || !(money < 0x1p62) || !(work < 0x1p62) || task->money_limit < 0 || task->work_limit < 0)
        return ch_fail(err, CH_E_RANGE, NULL, "the amounts are too large, or a limit is less than nothing");
    for (size_t i = 0; i < task->implies_count; i++)
        if (task->implies[i].item >= task->count || task->implies[i].other >= task->count)
            return ch_fail(err, CH_E_RANGE, NULL, "implication %zu is between items that there are not", i);
    for (size_t i = 0; i < task->excludes_count; i++)
        if (task->excludes[i].item >= task->count || task->excludes[i].other >= task->count)
            return ch_fail(err, CH_E_RANGE, NULL, "exclusion %zu is between items that there are not", i);
    return CH_OK;
}

/* Gains become scores: a little is taken off for work, a quarter of a unit of gain for all work there is. */
static void make_scores(search *s)
{
    double gain = 1.0, money = 1.0, work = 1.0;
    for (size_t i = 0; i < s->count; i++) {
        gain += fabs((double)s->task->gain[i]);
        money += (double)s->task->money[i];
        work += (double)s->task->work[i];
    }
    double scale = 1.0;
    while (scale < SCALE_MAX && 2.0 * scale * gain < SCALED_MAX)
        scale *= 2.0;
    s->scale = (int64_t)scale;
    for (size_t i = 0; i < s->count; i++)
        s->score[i] = s->task->gain[i] * s->scale - (int64_t)floor((double)s->task->work[i] / work * scale / 4.0);
    s->limit[0] = s->task->money_limit < INT64_MAX ? fmax((double)s->task->money_limit, 1.0) : 4.0 * money;
    s->limit[1] = s->task->work_limit < INT64_MAX ? fmax((double)s->task->work_limit, 1.0) : 4.0 * work;
}

static void search_clear(search *s)
{
    relations_clear(&s->links);
    closure_clear(&s->graph);
    free(s->score);
    free(s->weight);
    free(s->slack);
    free(s->fixed);
    free(s->in);
    free(s->best);
    free(s->trial);
    free(s->trail);
    free(s->levels);
    free(s->share);
    free(s->loss);
    free(s->toll);
    free(s->quarrel);
    free(s->column_in[0]);
    free(s);
}

static bool search_alloc(search *s)
{
    const size_t n = s->count + 1;
    s->score = calloc(n, sizeof *s->score);
    s->weight = calloc(n, sizeof *s->weight);
    s->slack = calloc(n, sizeof *s->slack);
    s->fixed = calloc(n, 1);
    s->in = calloc(n, 1);
    s->best = calloc(n, 1);
    s->trial = calloc(n, 1);
    s->trail = calloc(n, sizeof *s->trail);
    s->levels = calloc(n, sizeof *s->levels);
    s->share = calloc(n, sizeof *s->share);
    s->loss = calloc(n, sizeof *s->loss);
    s->toll = calloc(n, sizeof *s->toll);
    s->quarrel = calloc(s->task->excludes_count + 1, sizeof *s->quarrel);
    s->column_in[0] = calloc(n, COLUMNS_MAX);
    if (s->loss == NULL || s->toll == NULL || s->quarrel == NULL || s->score == NULL || s->weight == NULL ||
        s->slack == NULL || s->fixed == NULL || s->in == NULL || s->best == NULL || s->trial == NULL ||
        s->trail == NULL || s->levels == NULL || s->share == NULL || s->column_in[0] == NULL)
        return false;
    for (size_t i = 1; i < COLUMNS_MAX; i++)
        s->column_in[i] = s->column_in[0] + i * n;
    s->columns = s->column_next = 1;
    return true;
}

static ch_status search_new(const ch_selection *task, search **out, ch_err *err)
{
    search *s = calloc(1, sizeof *s);
    if (s == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the choice");
    s->task = task;
    s->count = task->count;
    bool good = search_alloc(s);
    if (good && task->fixed != NULL)
        memcpy(s->fixed, task->fixed, s->count);
    else if (good)
        memset(s->fixed, -1, s->count);
    good = good && relations_init(&s->links, task, s->fixed) &&
           closure_init(&s->graph, s->count, s->links.from, s->links.to, s->links.arcs);
    if (!good) {
        search_clear(s);
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the choice");
    }
    make_scores(s);
    *out = s;
    return CH_OK;
}

/* What is fixed from the start, and all that follows from it; false where it contradicts itself. */
static bool fix_at_start(search *s)
{
    memset(s->fixed, -1, s->count);
    for (size_t i = 0; i < s->task->excludes_count; i++)
        if (s->task->excludes[i].item == s->task->excludes[i].other && !fix(s, s->task->excludes[i].item, 0))
            return false;
    for (size_t i = 0; s->task->fixed != NULL && i < s->count; i++)
        if (s->task->fixed[i] >= 0 && !fix(s, i, s->task->fixed[i] != 0))
            return false;
    return true;
}

ch_status ch_select(const ch_selection *selection, bool chosen[], ch_selected *selected, ch_err *err)
{
    search *s = NULL;
    ch_status rc = check(selection, err);
    if (rc >= 0)
        rc = search_new(selection, &s, err);
    if (rc < 0)
        return rc;
    ch_selected made = {0};
    const int64_t nodes_max = selection->nodes_max > 0 ? selection->nodes_max : CH_SELECTION_NODES;
    if (fix_at_start(s) && fixed_within_limits(s)) {
        const double left = run(s, nodes_max);
        const int64_t at_most = (int64_t)floor((left + (double)s->scale / 2.0) / (double)s->scale);
        made = (ch_selected){.possible = true,
                             .gain = s->best_sums.gain,
                             .gain_at_most = s->best_sums.gain,
                             .money = s->best_sums.money,
                             .work = s->best_sums.work,
                             .nodes = s->nodes};
        if (isfinite(left) && at_most > made.gain)
            made.gain_at_most = at_most;
        made.proven = made.gain_at_most == made.gain;
        for (size_t i = 0; i < s->count; i++)
            chosen[i] = s->best[i] == 1;
    }
    *selected = made;
    search_clear(s);
    return CH_OK;
}
