/**
 * @file winter.h
 * A winter plan answered: which jobs within the hours and the money, why, on which days, and how likely it all is to be ready in time.
 */
#ifndef CROSSHATCH_WINTER_H
#define CROSSHATCH_WINTER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "crosshatch/plan.h"
#include "crosshatch/status.h"

/** What the choice of jobs comes to. */
typedef struct ch_choice {
    bool feasible;          /**< all that must be done can be; else only the shortfalls below are set */
    bool proven;            /**< no other choice is worth more */
    ch_money value;         /**< sum of avoided less parts less the hours' value */
    ch_money value_at_most; /**< no choice is worth more than this */
    ch_money parts;         /**< of jobs and access */
    ch_work work_us;        /**< still to be done, as likely as guessed */
    int64_t nodes;          /**< branchings that the proof took */
    ch_money short_parts;   /**< what all that must be done takes beyond the budget */
    ch_work short_us;       /**< and beyond the hours */
    ch_money must_parts;    /**< what all that must be done takes */
    ch_work must_us;
    size_t quarrel[2]; /**< two jobs that must be done and exclude each other; SIZE_MAX = none */
} ch_choice;

/**
 * Choose the jobs of a plan: most value within budget and hours, exactly.
 *
 * Three-point hours count with their likely value. Ties: fewer hours, then less money, then fewer items, then the earlier item of the plan.
 *
 * @param plan      From ch_plan_parse() or ch_draft_plan().
 * @param fixed     For each item 1 = in, 0 = out, -1 = as the plan says; NULL = all as the plan says.
 * @param more      Added to the budget. @param more_us Added to the hours.
 * @param nodes_max Branchings at most; 0 = CH_SELECTION_NODES.
 * @param chosen    (out) A flag for each item of the plan; all false where it is not feasible. Untouched on failure.
 * @param choice    (out) Plain data. Untouched on failure.
 * @retval CH_E_LIMIT  The plan's amounts add up to more than can be computed exactly.
 * @retval CH_E_MEMORY
 */
ch_status ch_winter_choose(const ch_plan *plan, const signed char fixed[], ch_money more, ch_work more_us,
                           int64_t nodes_max, bool chosen[], ch_choice *choice, ch_err *err);

typedef enum ch_entry_kind { CH_ENTRY_OPEN, CH_ENTRY_JOB, CH_ENTRY_CLOSE } ch_entry_kind;

/** A piece of work on a day. */
typedef struct ch_calendar_entry {
    size_t day;  /**< of the plan; SIZE_MAX = found no day in time */
    size_t item; /**< of the plan */
    ch_entry_kind kind;
    ch_work work_us;
} ch_calendar_entry;

/** The work laid on the days. */
typedef struct ch_calendar {
    ch_calendar_entry *entries; /**< in the order of the work; those without a day last */
    size_t count;
    bool fits;         /**< everything found a day up to `until` */
    ch_work late_us;   /**< what did not */
    ch_date finish;    /**< last day used; not given where there is no work or it does not fit */
    long nights_apart; /**< nights on which the car cannot be driven: something is open, or a job is half done */
} ch_calendar;

/**
 * Lay the chosen work on the days: access is opened before what needs it and closed, the last opened first, when no job needs it any more; first steps are opened
 * before all others that are open at the same time, and closed after them; jobs wait for their parts, for the machine shop, for what they come after and for the
 * closing of what they come once_closed of; work may be split over days. First all is to be ready in time, then the car is to stand apart
 * for as few nights, then the last day is to be early.
 *
 * Whether it fits is exact for a plan without first steps and machine shop, and as good as a fixed search finds it otherwise; the nights
 * are as few as that search finds.
 *
 * @param plan     Borrowed during the call; the calendar counts in its items.
 * @param chosen   A flag for each item of the plan, as ch_winter_choose() gives them.
 * @param calendar (out) The caller clears it. Untouched on failure.
 * @retval CH_E_MEMORY
 */
ch_status ch_winter_calendar(const ch_plan *plan, const bool chosen[], ch_calendar *calendar, ch_err *err);

/** Free what a calendar holds; fine on one of zeros. */
void ch_calendar_clear(ch_calendar *calendar);

enum { CH_WINTER_DRAWS = 10000 };

/**
 * Chance that the work is ready in time: the calendar's order worked through without a pause, every three-point guess drawn by itself from the
 * beta distribution of PERT; jobs wait for their parts. Exactly 0 or 1 where nothing is uncertain.
 *
 * @param plan     The one that the calendar is of.
 * @param calendar From ch_winter_calendar().
 * @param skip     Flags of items that are left out after all; NULL = none.
 * @param seed     Same seed, same chance.
 * @param chance_1 (out) 0..1, to about 0.005 (one sigma of CH_WINTER_DRAWS draws); NaN for a plan without days. Untouched on failure.
 * @retval CH_E_MEMORY
 *
 * Source: Malcolm, Roseboom, Clark and Fazar, Application of a Technique for Research and Development Program Evaluation, Operations Research 7
 * (1959) 646; gamma variates after Marsaglia and Tsang, ACM Trans. Math. Softw. 26 (2000) 363.
 */
ch_status ch_winter_chance(const ch_plan *plan, const ch_calendar *calendar, const bool skip[], uint64_t seed,
                           double *chance_1, ch_err *err);

/** Why a job is in or out. */
typedef enum ch_job_reason {
    CH_JOB_DONE,       /**< in: it is done */
    CH_JOB_MUST,       /**< in: it must be */
    CH_JOB_NEEDED,     /**< in: another one that must be done cannot be without it */
    CH_JOB_PAYS,       /**< in: without it the plan would be worth `difference` less */
    CH_JOB_RIVAL,      /**< out: it excludes a chosen one that brings more */
    CH_JOB_SHUT_OUT,   /**< out: it excludes, or needs what excludes, something that must be done */
    CH_JOB_TOO_LARGE,  /**< out: with it, all that must be done does not fit the limits */
    CH_JOB_NO_GAIN,    /**< out: it costs more than it saves, even were hours and money without limit */
    CH_JOB_CROWDED_OUT /**< out: worth it in itself, but the hours or money bring more elsewhere */
} ch_job_reason;

/** One job of the plan, looked at by itself. */
typedef struct ch_job_view {
    size_t item;
    bool chosen;
    ch_job_reason reason;
    ch_money
        difference; /**< >= 0: what the plan's value falls by if the job is put out, or in; at least that where not exact */
    bool exact;
    ch_work alone_us; /**< it and all that it needs, were it the only job */
    ch_money alone_parts;
    ch_work
        here_us; /**< out: it and what it needs that is not chosen; in: it, what is only there for it, and jobs that need it */
    ch_money here_parts;
    ch_money here_value; /**< of these, 0 where it is done */
} ch_job_view;

/** What more would buy. */
typedef struct ch_winter_more {
    ch_money money;  /**< so much more money */
    ch_work work_us; /**< and time */
    ch_money gains;  /**< how much more the plan is worth; at least that where not exact */
    bool exact;
    bool *chosen; /**< a flag for each item */
} ch_winter_more;

/** A job to give up when time runs out, with those that cannot be without it. */
typedef struct ch_winter_drop {
    size_t item;
    ch_work frees_us; /**< hours that it and access that nobody needs then leave */
    ch_money loses;   /**< value */
    double chance_1;  /**< of being ready in time once this and all before it are given up */
} ch_winter_drop;

enum { CH_WINTER_MORE = 2, CH_WINTER_DROPS_MAX = 8 };

/** The whole answer. */
typedef struct ch_winter {
    ch_choice choice;
    bool *chosen; /**< a flag for each item of the plan */
    ch_calendar calendar;
    double chance_1;
    ch_job_view *jobs; /**< of every job, in the plan's order */
    size_t jobs_count;
    ch_work shared_us;                   /**< what the chosen jobs save by sharing access, against each by itself */
    ch_winter_more more[CH_WINTER_MORE]; /**< 100 of money more; five hours more */
    ch_winter_drop drops[CH_WINTER_DROPS_MAX]; /**< in the order in which to give them up */
    size_t drops_count;
} ch_winter;

/**
 * Answer a plan.
 *
 * @param plan   Borrowed during the call; `winter` counts in its items.
 * @param seed   Of the chance.
 * @param winter (out) The caller clears it. For a plan that is not feasible only `choice`, and `chosen` with nothing in it. Untouched on failure.
 * @retval As ch_winter_choose() and ch_winter_calendar().
 */
ch_status ch_winter_answer(const ch_plan *plan, uint64_t seed, ch_winter *winter, ch_err *err);

/** Fine on a zeroed answer. */
void ch_winter_clear(ch_winter *winter);

#endif
