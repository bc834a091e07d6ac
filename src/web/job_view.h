/*
 * One job of the winter at one car: its sheet, how far each step is, what is off for it, what proves it.
 *
 * Steps of a job and of the access that it needs are marked by settings: work.ID.PART.HASH = done | passed, where ID is the work in the garage file that the
 * step belongs to, PART is o (opening), w (the job), c (closing), and HASH is that of the step's first words: a step whose words are corrected
 * stays the one that it was, another step asks anew. work.ID.t.HASH is a
 * proof seen by eye. Access is shared: opened for one job, it is open for the others, and its closing waits for the last of them.
 */
#ifndef CROSSHATCH_WEB_JOB_VIEW_H
#define CROSSHATCH_WEB_JOB_VIEW_H

#include "crosshatch/job_sheet.h"
#include "crosshatch/store_sheet.h"
#include "winter_kept.h"

enum { JOB_KEY = 32 };

typedef enum job_mark { JOB_OPEN, JOB_DONE, JOB_PASSED } job_mark;

typedef struct job_place {
    const ch_job_sheet_step *step;
    const ch_store_work *work; /* that it belongs to; NULL = not begun */
    bool held;                 /* a closing step that waits for another job, or until other access is closed */
    job_mark mark;
    char key[JOB_KEY]; /* names the step in a form: "12-5f3a90c1" */
} job_place;

typedef struct job_view {
    winter_kept kept;
    const char *name, *title;
    const ch_job *job;         /* NULL = one of the owner's own, without steps */
    const ch_plan_item *item;  /* in the plan; NULL = it is not */
    const ch_store_work *work; /* of this winter; NULL = not begun */
    ch_job_sheet sheet;        /* zero without `job` */
    job_place *places;         /* one a step of the sheet */
    size_t settled, open;      /* steps that are done or left out, and those that are not; held ones are neither */
    const char *waits_for;     /* title of a job that still needs the access of this one; NULL = none */
    const char
        *open_too; /* title of access of other jobs that is open, and closed before what closes last; NULL = none */
    const ch_store_ledger **off;
    size_t off_count;       /* taken off for this job and its access, and not back */
    ch_store_proof proof;   /* zeros where the job is not done */
    size_t slips;           /* that the logged run among it shows */
    bool seen[CH_JOBS_MAX]; /* of each re-test: ticked by the owner */
} job_view;

/* Load the job named by the second part of the path, of the car in the first. `view->name` is NULL where there is none. */
ch_status job_view_load(web_request *request, job_view *view, ch_err *err);
void job_view_clear(job_view *view);

/* The work of an access step that counts for this job: in hand, or, where the job is done, the one it was done with. */
const ch_store_work *job_access_work(const job_view *view, const char *name);

/* Mark a step or a proof of some work. `part`: o w c t. */
ch_status job_mark_set(web_request *request, int64_t work_id, char part, const char *words, job_mark mark, ch_err *err);

/* 'o', 'w' or 'c'. */
char job_part(const ch_job_sheet_step *step);

/* The step shown: the one asked for by step=KEY, or the first that is open. NULL = none. */
const job_place *job_view_choose(const web_request *request, const job_view *view);

/* Whether this re-test is told by a sheet or a log, and not by the owner's eye. */
bool job_measured(ch_retest_by by);

/* The sum of CH_STORE_PROVE_... that the job's re-tests ask for. */
unsigned job_prove(const ch_job *job);

#endif
