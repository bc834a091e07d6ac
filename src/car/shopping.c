/*
 * What a set of jobs takes to buy: the same things gathered into one line, with sums.
 */
#include <stdlib.h>

#include "crosshatch/jobs.h"

typedef struct basket {
    double *certain, *maybe; /* one for each of the goods */
} basket;

/* A shared thing serves all: the largest need counts. */
static void add(const ch_jobs *jobs, basket *b, const ch_jobs_work *work)
{
    for (size_t i = 0; i < work->goods_count; i++) {
        const ch_goods_need *need = &work->goods[i];
        double *to = need->maybe ? &b->maybe[need->goods] : &b->certain[need->goods];
        if (!jobs->goods[need->goods].shared)
            *to += need->count;
        else if (need->count > *to)
            *to = need->count;
    }
}

static void add_price(ch_price *to, const ch_price *more)
{
    to->least += more->least;
    to->likely += more->likely;
    to->most += more->most;
}

static void fill_lines(const ch_jobs *jobs, const basket *b, ch_shopping *to)
{
    for (int kind = 0; kind <= CH_GOODS_CONSUMABLE; kind++)
        for (size_t i = 0; i < jobs->goods_count; i++) {
            const ch_goods *goods = &jobs->goods[i];
            double more = b->maybe[i];
            if (goods->shared) /* what is bought anyway serves the perhaps too */
                more = more > b->certain[i] ? more - b->certain[i] : 0;
            if (goods->kind != (ch_goods_kind)kind || !(b->certain[i] + more > 0))
                continue;
            const ch_price *price = &goods->price;
            const ch_shopping_line line = {
                i,
                b->certain[i],
                more,
                {price->least * b->certain[i], price->likely * b->certain[i], price->most * (b->certain[i] + more)}};
            to->lines[to->count++] = line;
            add_price(&to->kinds[kind], &line.sum);
            add_price(&to->sum, &line.sum);
        }
}

ch_status ch_jobs_shopping(const ch_jobs *jobs, ch_drive drive, const size_t chosen[], size_t n, bool with_access,
                           ch_shopping *shopping, ch_err *err)
{
    size_t access[CH_ACCESS_MAX], access_count = 0;
    const ch_status rc = ch_jobs_closure(jobs, drive, chosen, n, access, &access_count, err);
    if (rc < 0)
        return rc;
    ch_shopping made = {.lines = calloc(jobs->goods_count + 1, sizeof *made.lines)};
    bool *seen = calloc(jobs->jobs_count + 1, sizeof *seen);
    double *counts = calloc(2 * jobs->goods_count + 1, sizeof *counts);
    const bool room = made.lines != NULL && seen != NULL && counts != NULL;
    if (room) {
        basket b = {counts, counts + jobs->goods_count};
        for (size_t i = 0; with_access && i < access_count; i++)
            add(jobs, &b, &jobs->access[access[i]].work);
        for (size_t i = 0; i < n; i++)
            if (!seen[chosen[i]]) {
                seen[chosen[i]] = true;
                add(jobs, &b, &jobs->jobs[chosen[i]].work);
            }
        fill_lines(jobs, &b, &made);
    }
    free(seen);
    free(counts);
    if (!room) {
        free(made.lines);
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the shopping list");
    }
    *shopping = made;
    return CH_OK;
}

void ch_shopping_clear(ch_shopping *shopping)
{
    free(shopping->lines);
    *shopping = (ch_shopping){0};
}
