/*
 * The chosen items of a plan as tasks with an order: opening, jobs, closing; and which of them hang together. Private to winter.
 */
#ifndef CROSSHATCH_WINTER_TASKS_H
#define CROSSHATCH_WINTER_TASKS_H

#include "crosshatch/winter.h"

typedef struct work_task {
    size_t item;
    ch_entry_kind kind;
    ch_work work_us;
    long ready_day; /* days since 1970-01-01 from which its parts are there; LONG_MIN = at once */
    long shop_days; /* more, from when its parts are there and all that it needs is open or done; 0 = none */
    bool first;   /* of a step that is opened before all others that are open at the same time, and closed after them */
    size_t block; /* tasks of one block share access: once begun, the car stands apart until the last is finished */
    size_t rank;  /* of tasks that could be done next the one with the lowest rank comes first */
} work_task;

typedef struct tasks {
    work_task *task;
    size_t count;
    size_t blocks;
    size_t *before_first,
        *before; /* what must be finished before task t: from before_first[t] to before_first[t + 1] */
    size_t *across_first,
        *across; /* the same, of what lies in other blocks: holds where all is laid as one (docs/winter.md, first steps) */
    bool *apart; /* of each block: it is open from the start */
    bool firsts; /* there are first steps, and others */
} tasks;

/* False where there is no memory. Tasks stand in an order in which they could be done but for waiting. */
bool tasks_init(tasks *all, const ch_plan *plan, const bool chosen[]);

void tasks_clear(tasks *all);

#endif
