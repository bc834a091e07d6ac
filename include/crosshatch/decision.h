/**
 * @file decision.h
 * Run, watch, repair, rebuild or replace: what each is expected to cost up to the owner's horizon, and which assumption the answer hangs on.
 *
 * The program advises and shows its reasons, the owner decides. docs/season.md, "Decision", gives the model and its limits.
 */
#ifndef CROSSHATCH_DECISION_H
#define CROSSHATCH_DECISION_H

#include "crosshatch/assumptions.h"
#include "crosshatch/forecast.h"

typedef enum ch_course {
    CH_COURSE_RUN,   /**< never open it, never test it: run to the horizon or until it breaks */
    CH_COURSE_WATCH, /**< run, test before each season (and in the middle of a long one), put right in time what a test finds over the limit */
    CH_COURSE_REPAIR,  /**< the head now, then as WATCH */
    CH_COURSE_REBUILD, /**< the engine now, then as WATCH */
    CH_COURSE_REPLACE, /**< by a used one now, then as WATCH */
    CH_COURSES
} ch_course;

/** "run", "watch", ...; static, NULL outside the enum. */
const char *ch_course_name(ch_course choice);

enum { CH_DECISION_EVENTS_MAX = 200 };

/** One event to come. */
typedef struct ch_decision_event {
    double running_s; /**< of it, > 0 */
    bool test_before; /**< WATCH tests before it */
} ch_decision_event;

typedef struct ch_decision_input {
    const ch_forecast *forecast;
    double log_fault; /**< limit of the log area; NaN = no reading falls so far: nothing is ever over it */
    /** chance that something is wrong now that counts as over the limit, whatever its area: causes of the last sheet */
    double over_now_1;
    double
        head_share_1; /**< chance that the leak is in the head (valves, gasket), where a repair of the head cures it */
    const ch_assumptions *assumptions;
    const ch_decision_event *event; /**< up to the horizon, in order */
    size_t events;
    uint64_t seed;
} ch_decision_input;

typedef struct ch_course_cost {
    double expected;    /**< money, the owner's hours at their worth counted in */
    double interval[2]; /**< 5 % and 95 % of what it may come to, with the assumptions drawn from their ranges */
    double breaks_1;    /**< chance that the car breaks down at least once */
} ch_course_cost;

/** What the answer would be with one assumption at an end of its range. */
typedef struct ch_swing {
    ch_assumption_id assumption;
    ch_course best[2]; /**< at its low and high end */
    double best_cost[2];
    double lead
        [2]; /**< by how much today's best choice would be cheaper than the best other; below 0 it no longer is the best */
} ch_swing;

typedef struct ch_decision {
    ch_course_cost cost[CH_COURSES];
    size_t
        tests; /**< that WATCH makes up to the horizon; 0: it is then nothing but RUN, and neither the best nor the second best */
    ch_course best;
    double lead;                     /**< expected cost of the second best less that of the best */
    ch_swing swing[CH_ASSUME_COUNT]; /**< widest change of the lead first */
    size_t hangs_on;                 /**< how many of them change the best choice; they need not come first */
} ch_decision;

/**
 * Compare the choices.
 *
 * What is over the limit at the horizon still costs being put right. Expected costs follow the chances event by event over the forecast's draws; intervals come from one imagined course a draw.
 *
 * @param input    Borrowed during the call, with all it points to.
 * @param decision (out) Untouched on failure.
 * @retval CH_E_RANGE An event that does not run, over_now_1 or head_share_1 outside 0..1.
 * @retval CH_E_LIMIT More than CH_DECISION_EVENTS_MAX events.
 * @retval CH_E_MEMORY
 */
ch_status ch_decision_run(const ch_decision_input *input, ch_decision *decision, ch_err *err);

#endif
