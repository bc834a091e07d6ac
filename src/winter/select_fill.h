/*
 * A good choice out of any closed set, quickly. Private to winter.
 */
#ifndef CROSSHATCH_WINTER_SELECT_FILL_H
#define CROSSHATCH_WINTER_SELECT_FILL_H

#include "relations.h"

/* What a set comes to. */
typedef struct select_sums {
    int64_t score, gain, money, work, items;
} select_sums;

typedef struct select_task {
    const ch_selection *task;
    const relations *links;
    const int64_t *score;
    /* closed: what a fixed item implies or excludes is fixed, so that a free one turns with free ones alone */
    const signed char *fixed;
} select_task;

/*
 * Drop from a closed set what is too much for the limits, cheapest loss first, then add what still fits, best gain first. `in` holds 0 and 1, all
 * fixed items as they are fixed; what comes out is closed, within the limits if the fixed items are, and excludes nothing of itself.
 */
void select_fill(const select_task *task, signed char in[]);

#endif
