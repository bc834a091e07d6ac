/**
 * @file store_work.h
 * Winter work as it is really done: jobs and access steps begun on a car, hours and money spent on them, torques from the car's own manual.
 * What they took off stands in the put-back ledger (store_sheet.h), with what came off for measuring. What holds for every function here stands in
 * store.h.
 */
#ifndef CROSSHATCH_STORE_WORK_H
#define CROSSHATCH_STORE_WORK_H

#include "crosshatch/job_sheet.h"
#include "crosshatch/plan.h"
#include "crosshatch/store.h"

/* ---- work ---- */

/** What was measured since a job was done; each is the newest, 0 = none. */
typedef struct ch_store_proof {
    int64_t
        compression_sheet_id; /* a sheet of the car with such a reading, entered (not only corrected) since, and not dated before */
    int64_t leak_down_sheet_id;
    int64_t
        run_id; /* a logged run of the car in which gears were found, of a log first judged since, and not driven before */
} ch_store_proof;

/** What must have been measured before a job can be closed without a reason: a sum. */
enum { CH_STORE_PROVE_COMPRESSION = 1, CH_STORE_PROVE_LEAK_DOWN = 2, CH_STORE_PROVE_SLIP_LOG = 4 };

/** A job, or a step of access work, begun on a car. The first five are needed to begin; the others are not looked at then. */
typedef struct ch_store_work {
    int64_t id;
    int64_t car_id;
    ch_plan_kind kind;
    const char *name;  /* as the plan names it */
    const char *title; /* for people */
    int64_t begun_s;
    int64_t done_s;           /* job: the work is done, its proof is still to come; access: it is open; 0 = not */
    int64_t closed_s;         /* job: proven; access: closed again; 0 = not */
    const char *close_reason; /* why it was closed with something missing; NULL = it was not */
    int64_t proof_sheet_id;   /* the test sheet that proved it; 0 = none */
    int64_t proof_run_id;     /* the logged run that did; 0 = none */
    ch_work work_us;          /* worked on it */
    ch_money money;           /* paid for it */
    int ledger_open;          /* taken off for it and not put back */
} ch_store_work;

/** Begin. A piece of work of this kind and name that is in hand on the car already is given back instead: `stored->again`. */
ch_status ch_store_work_begin(ch_store *store, const ch_store_work *work, int64_t now_s, ch_stored *stored,
                              ch_err *err);

/**
 * A job's work is done, or access is open; or not (`done` false). CH_E_INPUT for what is closed. Saying the same twice keeps the first time. By a clock that was
 * set back since it was begun, it was done when it was begun.
 */
ch_status ch_store_work_done(ch_store *store, int64_t id, bool done, int64_t now_s, ch_err *err);

/** What was measured since a job was done; zeros where it is not. */
ch_status ch_store_work_proof(ch_store *store, int64_t id, ch_store_proof *proof, ch_err *err);

/**
 * Close: a job that is done and proven, or access that is closed again.
 *
 * @param prove  Sum of CH_STORE_PROVE_...; what of it was not measured since the job was done needs a reason.
 * @param reason NULL or blank = none.
 * @retval CH_E_INPUT The job is not done; or something is not put back or not measured and no reason is given: the message names the first.
 */
ch_status ch_store_work_close(ch_store *store, int64_t id, unsigned prove, const char *reason, int64_t now_s,
                              ch_err *err);

/** Take it in hand again. CH_E_INPUT where another of its kind and name is in hand by now. */
ch_status ch_store_work_reopen(ch_store *store, int64_t id, int64_t now_s, ch_err *err);

/** CH_E_INPUT where there is none. */
ch_status ch_store_work_get(ch_store *store, ch_store_pool *pool, int64_t id, ch_store_work *work, ch_err *err);

/** Newest first. `car_id` 0 = of all cars. */
ch_status ch_store_works(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_store_work **rows,
                         size_t *count, ch_err *err);

/* ---- hours and money ---- */

typedef struct ch_store_spent {
    int64_t id, work_id;
    ch_date day; /* needed */
    ch_work work_us;
    ch_money money;
    const char *note; /* what it was for */
} ch_store_spent;

/** @retval CH_E_INPUT Neither hours nor money, or less than none of one, or more than CH_STORE_SPENT_HOURS_MAX or CH_STORE_SPENT_MONEY_MAX. */
ch_status ch_store_spent_add(ch_store *store, const ch_store_spent *spent, const char *client, int64_t now_s,
                             ch_stored *stored, ch_err *err);
/** Change all but the work that it is of. What it was is kept. */
ch_status ch_store_spent_change(ch_store *store, const ch_store_spent *spent, int64_t now_s, ch_err *err);
ch_status ch_store_spent_delete(ch_store *store, int64_t id, int64_t now_s, ch_err *err);

enum { CH_STORE_SPENT_HOURS_MAX = 1000, CH_STORE_SPENT_MONEY_MAX = 10000000 }; /* of one entry; hours, whole money */

/** By day. */
ch_status ch_store_spents(ch_store *store, ch_store_pool *pool, int64_t work_id, const ch_store_spent **rows,
                          size_t *count, ch_err *err);

/* ---- torques ---- */

/**
 * Keep what the car's own manual says of a torque, in place of what was kept of it; the old figure stays in the history.
 *
 * @param torque Its id is needed. Nothing else given: as if it had not been looked up.
 * @retval CH_E_INPUT Also: not a torque above 0, a note too long, a thread or strength class that cannot be read, one of these two without the other.
 */
ch_status ch_store_torque_set(ch_store *store, int64_t car_id, const ch_owner_torque *torque, int64_t now_s,
                              ch_err *err);

/** Those of a car, in the order first entered, as ch_job_sheet_make() wants them. */
ch_status ch_store_torques(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_owner_torque **rows,
                           size_t *count, ch_err *err);

#endif
