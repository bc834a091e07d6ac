/*
 * The lines of a shopping list, for the list itself and for a job's sheet. Private to show.
 */
#ifndef CROSSHATCH_SHOW_SHOPPING_H
#define CROSSHATCH_SHOW_SHOPPING_H

#include "crosshatch/jobs.h"
#include "page.h"

/* Lines by kind, the sum of each kind, the sum of all, and where the prices come from. */
void shopping_lines(page *p, const ch_jobs *jobs, const ch_shopping *shopping);

#endif
