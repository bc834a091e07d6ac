/**
 * @file drivelog_use.h
 * How long a logged run used the engine and the car: for the hours that engine and parts are counted by.
 */
#ifndef CROSSHATCH_DRIVELOG_USE_H
#define CROSSHATCH_DRIVELOG_USE_H

#include "crosshatch/drivelog.h"

/** 400 r/min in rad/s: above what a starter turns (some 200 to 300), below what an engine idles at (600 and more). Common practice. */
#define CH_DRIVELOG_RUNS_RAD_S 41.8879020478639

/** s; what lies between rows further apart than this is not known, and counts as nothing. */
#define CH_DRIVELOG_GAP_S 2.0

/** What has been counted, and what the counting needs. Begin with ch_drivelog_use_init(). */
typedef struct ch_drivelog_use {
    double logged_s;   /**< between rows, gaps left out */
    double running_s;  /**< of it with the engine turning at CH_DRIVELOG_RUNS_RAD_S or more */
    double above_s;    /**< of it with the engine turning at `above_rad_s` or more */
    double unknown_s;  /**< of it without an engine speed: counted as standing */
    double distance_m; /**< by the road speed; 0 where it has none */
    uint64_t starts;   /**< times that it began to run within the log: one that runs already at its beginning is none */

    double above_rad_s; /**< as asked for */
    double last_time_s, last_engine_rad_s, last_road_m_s;
    uint32_t segment;
    bool any, stood; /**< a row came; the engine was seen standing since it last ran */
} ch_drivelog_use;

/** Begin. `above_rad_s`: the chosen engine speed; NaN = none, above_s stays 0. */
void ch_drivelog_use_init(ch_drivelog_use *use, double above_rad_s);

/**
 * Count rows: a ch_drivelog_take whose context is the ch_drivelog_use. Between two rows both speeds are taken to change evenly.
 *
 * @param rows    Borrowed during the call.
 * @param context The ch_drivelog_use, changed.
 * @retval CH_OK always.
 */
ch_status ch_drivelog_use_take(const ch_drivelog_rows *rows, void *context, ch_err *err);

#endif
