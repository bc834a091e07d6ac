/**
 * @file draft.h
 * A winter plan made from the jobs that a mechanic knows: the jobs picked, those that must be done along with them, and the access they share.
 */
#ifndef CROSSHATCH_DRAFT_H
#define CROSSHATCH_DRAFT_H

#include <stddef.h>

#include "crosshatch/jobs.h"
#include "crosshatch/plan.h"

/** A plan whose items can still be changed: plan.items is `items`. */
typedef struct ch_draft {
    ch_plan plan;
    ch_plan_item *items; /**< access in the order of opening, jobs in the order of knowledge, then the owner's own */
    size_t *places;      /**< what the items' links point into */
} ch_draft;

/**
 * Draft a plan. Hours are the three points of knowledge, parts the likely prices of what is bought in any case, days of the order and of the machine
 * shop those of knowledge, whole days up; `avoided` is 0. Currency as of jobs, everything else of the plan as left out. Names are the ids.
 *
 * @param jobs   From ch_jobs_parse().
 * @param drive  CH_DRIVE_REAR or CH_DRIVE_FRONT: which jobs and access hold for the car.
 * @param picked `n` places in jobs->jobs, in any order; those that one of them requires come along.
 * @param n      Of `picked`; 0 = none.
 * @param own    So many jobs of the owner's at the end, all zero, for the caller to fill in: each needs a name.
 * @param draft  (out) Overwritten; untouched on failure. The caller clears it; its texts live as long as `jobs`.
 * @retval CH_E_RANGE, CH_E_INPUT As ch_jobs_closure().
 * @retval CH_E_MEMORY
 */
ch_status ch_draft_plan(const ch_jobs *jobs, ch_drive drive, const size_t picked[], size_t n, size_t own,
                        ch_draft *draft, ch_err *err);

/** Fine on a zeroed draft. */
void ch_draft_clear(ch_draft *draft);

/** The jobs that must be done along with the flagged ones, flagged as well. `flags` has jobs->jobs_count. */
void ch_jobs_required(const ch_jobs *jobs, bool flags[]);

#endif
