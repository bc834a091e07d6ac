/**
 * @file store_driveline.h
 * Logged runs of a car's driveline: what they said, what was seen by hand since, and what is known of the car. The logs themselves are not kept.
 * What holds for every function here stands in store.h.
 */
#ifndef CROSSHATCH_STORE_DRIVELINE_H
#define CROSSHATCH_STORE_DRIVELINE_H

#include "crosshatch/date.h"
#include "crosshatch/driveline.h"
#include "crosshatch/store.h"

enum {
    CH_STORE_DIGEST = 64,            /**< characters of a digest: SHA-256 in lower-case hexadecimal */
    CH_STORE_TOLD_MAX = 64 * 1024,   /**< bytes of what the reader of logs said */
    CH_STORE_DRIVETRAIN_MAX = 65536, /**< bytes of what is known of a car's driveline */
    CH_STORE_POINTS_MAX = 32768      /**< points of a picture */
};

/** Something seen by hand, by its id in knowledge/driveline.yaml. */
typedef struct ch_store_run_sign {
    const char *sign;
    int present; /**< 1 seen, 0 looked for and not there; when writing, -1 = no longer given */
} ch_store_run_sign;

/** One judged run. */
typedef struct ch_store_run {
    int64_t id;           /**< not looked at when writing */
    int64_t car_id;       /**< needed */
    int64_t replaces_id;  /**< the run of the same log that this one replaces; 0 = none. Not looked at when writing. */
    ch_date day;          /**< of driving; year 0 = not given */
    const char *note;     /**< may be NULL */
    const char *log_name; /**< needed */
    const char *log_sha256; /**< needed, CH_STORE_DIGEST characters */
    int64_t log_bytes;
    const char *drivetrain; /**< what was known of the car, YAML; may be NULL */
    const char *told;       /**< what the reader of logs assumed and repaired, a line each; needed, may be "" */
    const char *made_by;    /**< version of the calculation; needed */
    int64_t judged_s;       /**< not looked at when writing */
    double seconds;         /**< logged */
    /** All that the run says. Its slips are in the pool: not to be cleared. `next_check` is not stored; ch_driveline_weigh() finds it again. */
    ch_driveline driveline;
    const ch_drive_point *point; /**< for the charts, in order of time; may be NULL */
    size_t points;
    const ch_store_run_sign *sign; /**< not looked at when writing */
    size_t signs;
} ch_store_run;

/**
 * Store a run. One of the same log (by its digest) of this car is replaced by it; what was seen by hand then goes along.
 *
 * @retval CH_E_INPUT Also: no such car; a slip that ends before it begins, chances that do not add up to 1.
 * @retval CH_E_LIMIT More points than CH_STORE_POINTS_MAX.
 */
ch_status ch_store_run_add(ch_store *store, const ch_store_run *run, const char *client, int64_t now_s,
                           ch_stored *stored, ch_err *err);

/** Set the day and the note. */
ch_status ch_store_run_change(ch_store *store, int64_t id, ch_date day, const char *note, int64_t now_s, ch_err *err);

/**
 * Set what was seen by hand, and the chances that follow from it.
 *
 * @param sign    `signs` of them; others stay as they are.
 * @param cause_1 Chance of each cause with all that was seen, by ch_clutch_cause; adds up to 1.
 */
ch_status ch_store_run_see(ch_store *store, int64_t id, const ch_store_run_sign sign[], size_t signs,
                           const double cause_1[CH_CLUTCH_CAUSES], int64_t now_s, ch_err *err);

ch_status ch_store_run_delete(ch_store *store, int64_t id, int64_t now_s, ch_err *err);

/** One run with all that hangs on it. @retval CH_E_INPUT Also: no such run, or it was deleted. */
ch_status ch_store_run_load(ch_store *store, ch_store_pool *pool, int64_t id, ch_store_run *run, ch_err *err);

/** Runs of a car that are neither deleted nor replaced, the newest first, with gears and causes but without slips, points and signs. */
ch_status ch_store_runs(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_store_run **rows, size_t *count,
                        ch_err *err);

/** What is known of the car's driveline, as typed (car.h has its keys); NULL where nothing is. */
ch_status ch_store_drivetrain_get(ch_store *store, ch_store_pool *pool, int64_t car_id, const char **text, ch_err *err);
ch_status ch_store_drivetrain_set(ch_store *store, int64_t car_id, const char *text, int64_t now_s, ch_err *err);

/**
 * Every slip of every current run of all cars as CSV (RFC 4180), a header line, a units line, then a line for each slip, SI values; a run
 * without slips has one line, with the slip's cells empty. The run's chances stand in each of its lines. Nothing is appended where no run is stored.
 */
ch_status ch_store_runs_csv(ch_store *store, ch_text *csv, ch_err *err);

#endif
