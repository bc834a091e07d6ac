/**
 * @file store_ready.h
 * What ch_ready_run() needs of a car, out of the garage file. What holds for every function here stands in store.h.
 */
#ifndef CROSSHATCH_STORE_READY_H
#define CROSSHATCH_STORE_READY_H

#include "crosshatch/ready.h"
#include "crosshatch/store_car.h"
#include "crosshatch/store_driveline.h"
#include "crosshatch/store_season.h"
#include "crosshatch/store_sheet.h"
#include "crosshatch/store_work.h"

/** All from the pool. */
typedef struct ch_store_ready {
    const char *car; /**< its name; NULL = of no car */
    ch_ready_part
        *part; /**< fitted to the engine life in the car now; those without a life that `lives` knows are among them */
    size_t parts;
    const ch_store_ledger **open; /**< taken off and not put back, on sheets and for work of this car */
    size_t opens;
    const ch_store_work **
        work; /**< begun on this car and in hand: access that is not closed again, jobs that are not done; what was begun first, as the stands, first. A job that is done and still to be proven is none: its proof may need a drive */
    size_t works;
    ch_ready_event
        event; /**< the next one planned, today or later, with the usual use where its own is not known (for the distance at the speed of events behind it, NaN where none knows hours and distance); all those of one day together, their names with ", " between; day of year 0 = none */
} ch_store_ready;

/**
 * Gather it. A part that was carried through a rebuild or a swap is as old as its first stay.
 *
 * @param car_id 0 = of no car: open things of sheets of no car, no parts, no event.
 * @param lives  Needed as long as the result lives.
 * @param usual_event_s Running time of an event where it is not known.
 * @retval CH_E_INPUT Also: no such car.
 */
ch_status ch_store_ready_load(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_part_lives *lives,
                              ch_date today, double usual_event_s, ch_store_ready *ready, ch_err *err);

/**
 * What the judged sheets say: the newest, unless a repair has followed it, and the fault that still stands (ch_ready_standing()).
 *
 * @param season From ch_store_season_load().
 * @param today  What lies after it has not happened.
 * @param engine (in, out) Its forecast is left as it is.
 */
void ch_store_ready_engine(const ch_store_season *season, ch_date today, ch_ready_engine *engine);

/** What makes the clutch in a car a new one: a part of this life (knowledge/part_lives.yaml), or this job (knowledge/jobs.yaml). */
#define CH_STORE_CLUTCH_LIFE "clutch_plate"
#define CH_STORE_CLUTCH_JOB "clutch_kit"

/**
 * The newest run of the clutch that is in the car now, of those that tell whether it slips (ch_driveline_slips_1()). A run is of this clutch unless a part of
 * CH_STORE_CLUTCH_LIFE was fitted after its day to the engine life in the car now, or a closed job CH_STORE_CLUTCH_JOB was done after it. One of the very day may be of the clutch
 * before: a day has no order.
 *
 * @param car_id 0 = of no car: there is none.
 * @param run    (out) Whole, from the pool; NULL where there is none. Untouched on failure.
 * @param day    (out) Driven on, else judged on. Untouched on failure, and where there is none.
 * @param renewed_that_day (out) Whether the clutch was renewed on that day. Untouched as `day` is.
 * @retval CH_E_INPUT Also: no such car.
 */
ch_status ch_store_clutch_run(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_store_run **run,
                              ch_date *day, bool *renewed_that_day, ch_err *err);

#endif
