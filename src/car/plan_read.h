/* What the readers of a plan share. Private to car. */
#ifndef CROSSHATCH_CAR_PLAN_READ_H
#define CROSSHATCH_CAR_PLAN_READ_H

#include "crosshatch/plan.h"
#include "knowledge_read.h"

/* What every item needs, requires, excludes and comes after, by place; circles in their order are refused. */
void plan_read_links(knowledge_reader *r, const ch_tree_node *access, const ch_tree_node *jobs, ch_plan_item items[],
                     const ch_plan *plan);

#endif
