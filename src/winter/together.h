/* What comes and goes together with an item. Private to winter. */
#ifndef CROSSHATCH_WINTER_TOGETHER_H
#define CROSSHATCH_WINTER_TOGETHER_H

#include "crosshatch/plan.h"

/* Mark an item and all that it needs or requires, all the way down. What is marked already is passed over, with what lies behind it. */
void together_mark(const ch_plan *plan, size_t item, bool in[]);

/*
 * What goes if an item goes out of the chosen: it, the chosen that cannot be without it, and access that none of the others needs.
 * gone (out): a flag for each item. scratch: as many flags.
 * False where something would go that must be done or is done.
 */
bool together_without(const ch_plan *plan, const bool chosen[], size_t item, bool gone[], bool scratch[]);

#endif
