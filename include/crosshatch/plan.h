/**
 * @file plan.h
 * The winter plan, version 1: the jobs that could be done, the access work that they share, the days, the money.
 *
 * Amounts are whole numbers, so that a plan that fills its hours or its budget to the last minute or cent is neither refused nor let over.
 */
#ifndef CROSSHATCH_PLAN_H
#define CROSSHATCH_PLAN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "crosshatch/date.h"
#include "crosshatch/knowledge.h"
#include "crosshatch/status.h"
#include "crosshatch/text.h"

/** Money in ten-millionths of the plan's currency. */
typedef int64_t ch_money;
#define CH_MONEY_ONE INT64_C(10000000)
#define CH_MONEY_NO_LIMIT INT64_MAX

/** Working time in microseconds: a ten-thousandth of an hour is a whole number of them. */
typedef int64_t ch_work;
#define CH_WORK_HOUR INT64_C(3600000000)
#define CH_WORK_NO_LIMIT INT64_MAX

enum {
    CH_PLAN_BYTES_MAX = 4 * 1024 * 1024,
    CH_PLAN_ITEMS_MAX = 1000, /**< jobs and access steps together */
    CH_PLAN_DAYS_MAX = 1000,
    CH_PLAN_NAME_MAX = 64 /**< bytes of a name */
};

/** Working time as guessed. All three are equal where one number was given. */
typedef struct ch_work_guess {
    ch_work least_us, likely_us, most_us;
} ch_work_guess;

typedef enum ch_plan_kind { CH_PLAN_ACCESS, CH_PLAN_JOB } ch_plan_kind;

/** A job, or a step of access work. Places are those of ch_plan.items. */
typedef struct ch_plan_item {
    const char *name;
    const char *title; /**< for people; NULL = the name */
    ch_plan_kind kind;
    ch_work_guess hours;   /**< still to be done of the job, or of opening */
    ch_work_guess guessed; /**< the same as the plan states it, before what is done came off */
    ch_work_guess refit;   /**< of closing; access only */
    ch_money parts;        /**< parts and consumables, as the plan states them */
    ch_money paid;         /**< really paid for them so far */
    ch_money avoided;      /**< what having it done saves; jobs only */
    bool must;             /**< jobs only */
    bool done;             /**< job: done; access: open, and still to be closed */
    ch_work done_us;       /**< already worked on it (on its opening) */
    int lead_days;         /**< from ordering until its parts are there */
    int shop_days; /**< at the machine shop, from when its parts are there and all that it needs is open; jobs only */
    bool first; /**< opened before all other steps that are open at the same time, and closed after them; access only */
    ch_places needs;       /**< access steps, and for a job also jobs: chosen with it, and before it */
    ch_places within;      /**< access steps that are opened before it and closed after it, if both are chosen */
    ch_places requires_;   /**< jobs that are chosen with it, in any order; jobs only */
    ch_places excludes;    /**< jobs that are not; jobs only */
    ch_places after;       /**< what comes before it if both are chosen; jobs only */
    ch_places once_closed; /**< access steps that are closed again before it, if both are chosen; jobs only */
    long line, column;
} ch_plan_item;

/** A day on which the owner works. */
typedef struct ch_plan_day {
    ch_date date;
    ch_work work_us;
} ch_plan_day;

/** A plan. All pointers live until ch_plan_clear(). */
typedef struct ch_plan {
    const char *title;       /**< NULL = none */
    const char *id;          /**< its own among all plans, the same however it is edited; NULL = none */
    const char *currency;    /**< "" = not given */
    ch_date today;           /**< not given = unknown */
    bool own_today;          /**< the plan itself says `today` */
    ch_date until;           /**< the event to be ready for; not given = all days count */
    ch_money hours_value;    /**< of an hour of the owner's */
    ch_money budget;         /**< CH_MONEY_NO_LIMIT = none */
    bool has_days;           /**< without, hours are not limited and nothing is laid on days */
    const ch_plan_day *days; /**< ascending */
    size_t days_count;
    size_t days_until;         /**< of these, as many as are dated up to and including `until` */
    const ch_plan_item *items; /**< access steps first, then jobs, each in the order of the text */
    size_t items_count, access_count;
    bool no_hours_value, no_budget;    /**< the plan does not say */
    struct ch_knowledge_piece *pieces; /**< what is to be freed */
} ch_plan;

/**
 * Read a plan, YAML or JSON, every key checked (docs/winter.md lists them).
 *
 * @param name   Shown in messages. `.json` at its end: strict JSON.
 * @param text   Borrowed during the call.
 * @param length Bytes of `text`; need not end in NUL.
 * @param today  Days before this one are refused, unless the plan has a `today` of its own, which then counts. Not given: not checked.
 * @param plan   (out) The caller clears it. Untouched on failure.
 * @retval CH_E_INPUT  With line and column: not a plan; an unknown key or name, the nearest right one named; a negative amount; needs that go
 *                     round in a circle; days in the past, twice or not in order.
 * @retval CH_E_LIMIT  More than the limits above.
 * @retval CH_E_MEMORY
 */
ch_status ch_plan_parse(const char *name, const char *text, size_t length, ch_date today, ch_plan *plan, ch_err *err);

/**
 * Append a plan as YAML of version 1, such that ch_plan_parse() reads an equal one: item by item, links and amounts included. A plan need not
 * come from there: the caller may fill in the struct, with `guessed` for the hours of each item (`hours` is not looked at).
 *
 * @param plan As ch_plan_parse() gives it, or as filled in by the caller.
 * @param text Holds a part of the plan on failure.
 * @retval CH_E_INPUT A link to a step or job whose name another item takes away (steps go first in `needs`, jobs in `after`).
 * @retval as ch_text_check().
 */
ch_status ch_plan_write(const ch_plan *plan, ch_text *text, ch_err *err);

/** Fine on a zeroed plan. */
void ch_plan_clear(ch_plan *plan);

/** Say how far an item is: `hours` become what is left of the guess. */
void ch_plan_item_so_far(ch_plan_item *item, bool done, ch_work done_us, ch_money paid);

/**
 * Money that its parts will still take: what was paid comes off. Of a job that is done nothing, where something was paid; else its parts stay on the
 * bill.
 */
ch_money ch_plan_parts_left(const ch_plan_item *item);

/** What its parts will have cost: paid and left. */
ch_money ch_plan_bill(const ch_plan_item *item);

/** Paid so far, for all jobs and steps: those that are not chosen too. */
ch_money ch_plan_paid(const ch_plan *plan);

/** Hours of the days that count. CH_WORK_NO_LIMIT for a plan without days. */
ch_work ch_plan_work_limit(const ch_plan *plan);

/** The date from which lead times count: `today` of the plan, else its first day; not given where it has neither. */
ch_date ch_plan_start(const ch_plan *plan);

#endif
