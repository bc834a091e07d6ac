/**
 * @file suggest.h
 * From what is probably wrong with a car to the winter jobs that would cure it, each with what having it done saves and the reason in words.
 *
 * The figures are a first guess for the owner to change: a job saves the chance of each cause that it cures times what leaving that cause costs.
 * docs/winter.md, "What a job saves", says what that is made of.
 */
#ifndef CROSSHATCH_SUGGEST_H
#define CROSSHATCH_SUGGEST_H

#include <stddef.h>

#include "crosshatch/assumptions.h"
#include "crosshatch/jobs.h"

/** Causes with less than this chance suggest nothing. */
#define CH_SUGGEST_LEAST_1 0.05

enum { CH_SUGGEST_REASON = 512, CH_SUGGEST_CAUSES_MAX = 64 };

/** Something that may be wrong. Borrowed. */
typedef struct ch_suggest_cause {
    const char *
        id; /**< "exhaust_valve" of the engine, "worn" of the clutch; names that no job cures or prevents suggest nothing */
    const char *title; /**< for people */
    double chance_1;   /**< 0..1, that it is so */
} ch_suggest_cause;

/** A job worth thinking of. */
typedef struct ch_suggestion {
    size_t job; /**< place in ch_jobs.jobs */
    double
        avoided; /**< what having it done saves, in the currency of jobs and assumptions; 0 where another suggested job already counts it */
    char reason[CH_SUGGEST_REASON]; /**< which causes, their chances, what leaving them costs */
} ch_suggestion;

/**
 * Suggest jobs.
 *
 * A cause that several jobs cure counts in full for the cheapest of them and for those that exclude it; for a job that could be done beside the
 * cheapest it counts nothing, so that no cause is paid for twice.
 *
 * @param jobs        From ch_jobs_parse().
 * @param assumptions As the owner has them; the usual figure of each is taken.
 * @param drive       CH_DRIVE_REAR or CH_DRIVE_FRONT: which jobs and access hold for the car.
 * @param hour_value  What an hour of the owner's is worth, money; NaN = the usual figure of the assumptions.
 * @param cause       `n` causes, at most CH_SUGGEST_CAUSES_MAX; where an id stands twice the greater chance counts.
 * @param n           Of `cause`, at most CH_SUGGEST_CAUSES_MAX.
 * @param suggestion  (out) Room for jobs->jobs_count; the one that saves most first, then the earlier in jobs. Untouched on failure.
 * @param count       (out) How many. Untouched on failure.
 * @retval CH_E_RANGE  A chance outside 0..1, more causes than the limit, a drive outside the enum.
 * @retval CH_E_MEMORY
 */
ch_status ch_suggest(const ch_jobs *jobs, const ch_assumptions *assumptions, ch_drive drive, double hour_value,
                     const ch_suggest_cause cause[], size_t n, ch_suggestion suggestion[], size_t *count, ch_err *err);

/**
 * What a job costs by itself: its parts and hours, those of what it requires, and all access.
 *
 * @param jobs       From ch_jobs_parse().
 * @param drive      CH_DRIVE_REAR or CH_DRIVE_FRONT: which jobs and access hold for the car.
 * @param job        Place in jobs->jobs.
 * @param hour_value What an hour is worth, money.
 * @param alone      (out) Money; NaN where the job, or one that it requires, does not hold for the drive. Untouched on failure.
 * @retval CH_E_MEMORY
 */
ch_status ch_job_alone(const ch_jobs *jobs, ch_drive drive, size_t job, double hour_value, double *alone, ch_err *err);

#endif
