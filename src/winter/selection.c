/* Choosing by branch and bound: setting up, the loop, and what came of it. See the header for the method. */
#include "crosshatch/selection.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "select_search.h"

#define SCALED_MAX 0x1p52 /* doubles hold whole numbers up to here */
#define SCALE_MAX 0x1p20

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
    double known = INFINITY; /* a bound on this node from before */
    for (bool more = true; more;) {
        double bound = known;
        const verdict found = search_bound(s, &bound);
        if (found == OPEN && s->nodes >= nodes_max)
            return open_bound(s, bound);
        if (found == OPEN && !search_gains_more(s, bound))
            s->ties++;
        s->nodes += found == OPEN;
        bool again = false;
        more = found == OPEN ? search_branch(s, bound, &again) : search_next_side(s);
        known = again ? bound : s->depth > 0 ? s->levels[s->depth - 1].entered : INFINITY;
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
    free(s->cost);
    free(s->candidates);
    free(s->loss);
    free(s->toll);
    free(s->quarrel);
    free(s->quarrelled);
    free(s->column_in[0]);
    free(s->column_bits[0]);
    free(s->known_bits);
    free(s->fixed_bits);
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
    s->quarrelled = calloc(s->task->excludes_count + 1, sizeof *s->quarrelled);
    if (s->quarrelled == NULL)
        return false;
    s->column_in[0] = calloc(n, MASTER_COLUMNS_MAX);
    s->words = s->count / 64 + 1;
    s->column_bits[0] = calloc(s->words, MASTER_COLUMNS_MAX * sizeof *s->column_bits[0]);
    s->known_bits = calloc(s->words, sizeof *s->known_bits);
    s->fixed_bits = calloc(s->words, sizeof *s->fixed_bits);
    if (s->column_bits[0] == NULL || s->known_bits == NULL || s->fixed_bits == NULL)
        return false;
    s->cost = calloc(n, sizeof *s->cost);
    s->candidates = calloc(n, sizeof *s->candidates);
    if (s->cost == NULL || s->candidates == NULL || s->loss == NULL || s->toll == NULL || s->quarrel == NULL ||
        s->score == NULL || s->weight == NULL || s->slack == NULL || s->fixed == NULL || s->in == NULL ||
        s->best == NULL || s->trial == NULL || s->trail == NULL || s->levels == NULL || s->share == NULL ||
        s->column_in[0] == NULL)
        return false;
    for (size_t i = 1; i < MASTER_COLUMNS_MAX; i++)
        s->column_in[i] = s->column_in[0] + i * n;
    for (size_t i = 1; i < MASTER_COLUMNS_MAX; i++)
        s->column_bits[i] = s->column_bits[0] + i * s->words;
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
        if (s->task->excludes[i].item == s->task->excludes[i].other && !search_fix(s, s->task->excludes[i].item, 0))
            return false;
    for (size_t i = 0; s->task->fixed != NULL && i < s->count; i++)
        if (s->task->fixed[i] >= 0 && !search_fix(s, i, s->task->fixed[i] != 0))
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
    if (fix_at_start(s) && search_within_limits(s)) {
        const double left = run(s, nodes_max);
        /* -inf: nothing was left to search */
        const double at_most = floor((left + (double)s->scale / 2.0) / (double)s->scale);
        made = (ch_selected){.possible = true,
                             .gain = s->best_sums.gain,
                             .gain_at_most = s->best_sums.gain,
                             .money = s->best_sums.money,
                             .work = s->best_sums.work,
                             .nodes = s->nodes};
        if (isfinite(at_most) && (int64_t)at_most > made.gain)
            made.gain_at_most = (int64_t)at_most;
        made.proven = made.gain_at_most == made.gain;
        for (size_t i = 0; i < s->count; i++)
            chosen[i] = s->best[i] == 1;
    }
    *selected = made;
    search_clear(s);
    return CH_OK;
}
