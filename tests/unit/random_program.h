/* Invented programs in the shape of a winter plan, for the tests and the bench of the selection. */
#ifndef CROSSHATCH_TESTS_RANDOM_PROGRAM_H
#define CROSSHATCH_TESTS_RANDOM_PROGRAM_H

#include <string.h>

#include "crosshatch/sampling.h"
#include "crosshatch/selection.h"

enum { ITEMS_MAX = 300, PAIRS_MAX = 1200 };

typedef struct program {
    int64_t gain[ITEMS_MAX], money[ITEMS_MAX], work[ITEMS_MAX];
    ch_selection_pair implies[PAIRS_MAX], excludes[PAIRS_MAX];
    signed char fixed[ITEMS_MAX];
    ch_selection task;
} program;

static inline int64_t between(ch_stream *stream, int64_t low, int64_t high)
{
    return low + (int64_t)(ch_stream_uniform(stream) * (double)(high - low + 1));
}

static inline bool happens(ch_stream *stream, double chance_1)
{
    return ch_stream_uniform(stream) < chance_1;
}

typedef enum program_kind {
    PROGRAM_MIXED, /* jobs worth much and little */
    PROGRAM_ROUND, /* the same with few different amounts: many ties */
    PROGRAM_ALIKE, /* every job is worth it in itself, and about as much as any other: which ones share access decides */
    PROGRAM_TIGHT  /* the same, cheap access that every job needs, both limits biting, finer amounts: the hardest */
} program_kind;

/* The shape of a winter plan: jobs, and steps of access that need each other and are shared by the jobs. */
static inline void make_program(program *p, ch_stream *stream, size_t jobs, size_t steps, program_kind kind, bool musts)
{
    size_t implies = 0, excludes = 0;
    int64_t money = 0, work = 0;
    memset(p, 0, sizeof *p);
    memset(p->fixed, -1, sizeof p->fixed);
    const bool round = kind == PROGRAM_ROUND, tight = kind == PROGRAM_TIGHT, alike = kind == PROGRAM_ALIKE || tight;
    const int64_t grain = round ? 50 : 1, fine = tight ? 100 : 1;
    for (size_t i = 0; i < jobs + steps; i++) {
        const bool job = i < jobs;
        p->money[i] = between(stream, 0, (job ? 400 : 60) * fine / grain) * grain;
        p->work[i] = between(stream, 0, (tight ? (job ? 90 : 120) : (job ? 250 : 400)) * fine / grain) * grain;
        const int64_t saves = alike ? p->money[i] + p->work[i] + between(stream, 200 * fine, 400 * fine)
                                    : between(stream, 0, 900 / grain) * grain;
        p->gain[i] = (job ? saves : 0) - p->money[i] - p->work[i];
        money += p->money[i];
        work += p->work[i];
        for (int64_t k = between(stream, job && tight ? 1 : 0, job ? 3 : 1); k > 0 && steps > 0; k--) {
            const size_t step = jobs + (size_t)between(stream, 0, (int64_t)steps - 1);
            if (job || step < i)
                p->implies[implies++] = (ch_selection_pair){i, step};
        }
        if (job && i > 0 && happens(stream, 0.1))
            p->implies[implies++] = (ch_selection_pair){i, (size_t)between(stream, 0, (int64_t)jobs - 1)};
        if (job && i > 0 && happens(stream, 0.1))
            p->excludes[excludes++] = (ch_selection_pair){i, (size_t)between(stream, 0, (int64_t)i - 1)};
        if (musts && job && happens(stream, 0.1))
            p->fixed[i] = happens(stream, 0.8);
    }
    p->task = (ch_selection){.count = jobs + steps,
                             .gain = p->gain,
                             .money = p->money,
                             .work = p->work,
                             .money_limit = (int64_t)((double)money * (0.05 + 0.8 * ch_stream_uniform(stream))),
                             .work_limit = (int64_t)((double)work * (0.05 + 0.8 * ch_stream_uniform(stream))),
                             .implies = p->implies,
                             .implies_count = implies,
                             .excludes = p->excludes,
                             .excludes_count = excludes,
                             .fixed = p->fixed};
    if (tight) {
        const double share = 0.2 + 0.3 * ch_stream_uniform(stream);
        p->task.money_limit = (int64_t)((double)money * share);
        p->task.work_limit = (int64_t)((double)work * share);
        return;
    }
    if (happens(stream, 0.1))
        p->task.money_limit = INT64_MAX;
    if (happens(stream, 0.1))
        p->task.work_limit = INT64_MAX;
}

#endif
