/**
 * @file store_season.h
 * The history of a car's engine out of the garage file: its sheets, judged, with their hours; its events; what was done between.
 * What holds for every function here stands in store.h.
 */
#ifndef CROSSHATCH_STORE_SEASON_H
#define CROSSHATCH_STORE_SEASON_H

#include "crosshatch/season.h"
#include "crosshatch/store.h"

/** How the sheets are judged, where that is still to be done. */
typedef struct ch_store_judging {
    const ch_knowledge *knowledge;
    const char
        *made_by; /**< names knowledge and program, 1 to 200 characters; NULL = neither use nor keep earlier results */
    ch_judge_options options;
    size_t at_most; /**< sheets that are judged now at most; the others wait. 0 = all */
} ch_store_judging;

/** All from the pool. */
typedef struct ch_store_season {
    int64_t car_id;          /**< 0 = of no car */
    const char *car;         /**< its name; NULL = of no car */
    int64_t engine_id;       /**< the life in it now; 0 = of no engine */
    const char *engine;      /**< its name; NULL = none */
    ch_history_sheet *sheet; /**< judged */
    size_t sheets;
    ch_history_event *event;
    size_t events;
    ch_history_repair *repair;
    size_t repairs;
    size_t judged;      /**< how many were judged now, the others having been kept */
    size_t waiting;     /**< sheets that are still to be judged and are not among `sheet`: ask again */
    bool unkept;        /**< what was judged now could not be kept (a full disk): asking again begins anew */
    size_t passed_over; /**< sheets that cannot be judged: without a reading, or contradicting themselves */
} ch_store_season;

/**
 * Gather what ch_season_run() needs.
 *
 * Sheets and events are those of the engine in the car now, with its earlier stays (lives that a swap continues); a rebuild begins anew.
 * Repairs are parts fitted to it, and jobs done on the car while it was in it, of kinds that open an engine (assumptions.h). Judged sheets are kept in the file by the
 * sheet's revision, the version of the calculation and `made_by`; that they cannot be kept is no failure.
 *
 * @param car_id      0 = the sheets of no engine.
 * @param season      (out) From the pool.
 * @retval CH_E_INPUT Also: no such car; the car has no engine.
 * Cost: 0.2 to 0.4 s for each sheet that is judged now; else some 0.1 ms a sheet.
 */
ch_status ch_store_season_load(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_store_judging *judging,
                               const ch_assumptions *assumptions, ch_store_season *season, ch_err *err);

/**
 * Put the owner's own figures in the place of the file's: settings named `decision.` and the figure's name ("decision.tow_home"), one number
 * or three (low, usual, high) with spaces between; of one number the range is from two thirds of it to one and a half times it, chances at most 1. `hour_value` and
 * `currency` count as in store.h.
 *
 * @param assumptions (in, out) Texts put in live as long as the pool.
 * @retval CH_E_INPUT Also: a setting that is no such figure, named in the message.
 */
ch_status ch_store_assumptions(ch_store *store, ch_store_pool *pool, ch_assumptions *assumptions, ch_err *err);

#endif
