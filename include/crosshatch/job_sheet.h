/**
 * @file job_sheet.h
 * The sheet for one job at the car: its steps in the order of work with the access opened before and closed behind it, torques as the owner's manual
 * has them, everything that has to go back, and what proves the job. A plain struct that every face lays out in its own way.
 */
#ifndef CROSSHATCH_JOB_SHEET_H
#define CROSSHATCH_JOB_SHEET_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/fastener.h"
#include "crosshatch/jobs.h"
#include "crosshatch/units.h"

enum { CH_TORQUE_NOTE_MAX = 160 /**< bytes of the owner's note beside a torque */ };

/** A torque as the owner found it in the car's own manual. */
typedef struct ch_owner_torque {
    const char *id;     /* of the torque that was to be looked up: "flywheel_torque" */
    ch_quantity torque; /* as typed; not given = only a note */
    const char *
        note; /* order, angle, oil: "in three rounds, then 90 degrees"; at most CH_TORQUE_NOTE_MAX bytes; NULL = none */
    /* what the bolt is, for the cross-check; thread NULL = not known */
    const char *thread;         /* "M10x1.5" */
    const char *property_class; /* "10.9" */
    ch_thread_surface surface;
} ch_owner_torque;

typedef enum ch_job_sheet_part { CH_JOB_SHEET_OPEN, CH_JOB_SHEET_WORK, CH_JOB_SHEET_CLOSE } ch_job_sheet_part;

/** A step, with the access step or job that it belongs to. Its cautions stand before it, gravest first. */
typedef struct ch_job_sheet_step {
    ch_job_sheet_part part;
    const ch_jobs_work *of;
    const ch_work_step *step;
} ch_job_sheet_step;

/** A torque of some step; in the order of the steps. */
typedef struct ch_job_sheet_torque {
    size_t step;                   /* place in ch_job_sheet.steps */
    const ch_work_named *what;     /* what to look up */
    const ch_owner_torque *owner;  /* NULL = not looked up yet */
    bool estimated;                /* the two below are given */
    ch_fastener_estimate estimate; /* a cross-check only; show its caution with it */
    ch_torque_check check;
} ch_job_sheet_torque;

/** A thing that is off and has to go back. */
typedef struct ch_job_sheet_thing {
    const ch_jobs_work *of;
    const ch_work_named *what;
} ch_job_sheet_thing;

/** All pointers into ch_jobs and into the owner's torques live as long as those. */
typedef struct ch_job_sheet {
    const ch_job *job;
    bool with_access;
    size_t *access; /* places in ch_jobs.access, in the order of opening */
    size_t access_count;
    ch_job_sheet_step *steps; /* opening, the job, closing */
    size_t steps_count;
    ch_job_sheet_torque *torques;
    size_t torques_count;
    ch_job_sheet_thing *put_back; /* what came off last goes back first */
    size_t put_back_count;
    ch_work_time open, work, close; /* hands-on; open and close are 0 without access */
    ch_shopping shopping;           /* of the job and its access; of the job alone without access */
} ch_job_sheet;

/**
 * Gather the sheet of a job.
 *
 * @param jobs        From ch_jobs_parse(); the sheet refers to it, so it must live as long.
 * @param drive       CH_DRIVE_REAR or CH_DRIVE_FRONT: which jobs and access hold for the car.
 * @param place       Of the job in ch_jobs.jobs.
 * @param with_access False where the access is open already, for another job.
 * @param torques     `n` figures of the owner, of this job or of others, in any order; the last of two with the same id counts.
 * @param n           Of `torques`; 0 = none.
 * @param sheet       (out) Overwritten; untouched on failure. The caller clears it with ch_job_sheet_clear().
 *
 * @retval CH_E_RANGE The place or the drive is outside.
 * @retval CH_E_INPUT The job does not hold for this drive; a thread or strength class of a torque used here cannot be read, a note is too long, or a torque is not
 *                    above 0; the message names the torque.
 * @retval CH_E_MEMORY
 */
ch_status ch_job_sheet_make(const ch_jobs *jobs, ch_drive drive, size_t place, bool with_access,
                            const ch_owner_torque torques[], size_t n, ch_job_sheet *sheet, ch_err *err);

/** Give the memory back and leave all zero. Fine on a struct of zeros. */
void ch_job_sheet_clear(ch_job_sheet *sheet);

#endif
