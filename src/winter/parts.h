/* What the parts of a plan's answer share. Private to winter. */
#ifndef CROSSHATCH_WINTER_PARTS_H
#define CROSSHATCH_WINTER_PARTS_H

#include "crosshatch/winter.h"

/* Likely time of an item, opening and closing together. */
ch_work winter_work(const ch_plan_item *item);

/* What that time is worth to the owner. */
ch_money winter_cost_of(const ch_plan *plan, ch_work work_us);

/* What an item adds to the value. */
ch_money winter_gain(const ch_plan *plan, const ch_plan_item *item);

/* Why each job is in or out, what more would buy, and what to give up first. Fills the parts of `winter` behind the calendar. */
ch_status winter_explain(const ch_plan *plan, uint64_t seed, ch_winter *winter, ch_err *err);

#endif
