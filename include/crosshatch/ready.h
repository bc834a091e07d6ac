/**
 * @file ready.h
 * What stands between the car and its next event: what is due before or during it, what is still off the car, what the forecast says of the engine and the
 * last logged run of the clutch.
 *
 * It tells what the garage file knows of, and no more: a list that is empty does not say that a car is safe. docs/ready.md.
 */
#ifndef CROSSHATCH_READY_H
#define CROSSHATCH_READY_H

#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "crosshatch/date.h"
#include "crosshatch/judge.h"
#include "crosshatch/part_lives.h"
#include "crosshatch/status.h"

/** A part as it stands on the car, with what it has run. Unknown numbers are NaN, unknown days have year 0. Texts borrowed. */
typedef struct ch_ready_part {
    const char *name;
    const ch_part_life *life; /**< what it lasts; NULL = nothing is known of its life, so it is never due */
    ch_date fitted;           /**< to this car, or filled in */
    ch_date made;             /**< date of manufacture */
    ch_date until;            /**< date printed on it */
    double running_s, distance_m;
    double sessions_1;   /**< also counted as heat cycles: between two sessions a part cools (common practice) */
    double part_left_1;  /**< of the thickness when new, as measured last */
    double depth_m;      /**< of the tread, as measured last */
    bool under_printed;  /**< measured below the least thickness printed on it */
    bool distance_alone; /**< had run when fitted, of which the distance is known and neither hours nor sessions */
} ch_ready_part;

/** What the coming event will take out of a part. */
typedef struct ch_ready_event {
    ch_date day;
    const char *name;                         /**< borrowed; NULL = none planned: what is due today */
    double running_s, distance_m, sessions_1; /**< NaN = not known */
} ch_ready_event;

typedef enum ch_ready_when {
    CH_READY_OVER,   /**< over its limit already */
    CH_READY_DURING, /**< reaches it before the event ends */
    CH_READY_SOON,   /**< within its warning, or by twice the event's use */
    CH_READY_UNKNOWN /**< its limit counts something that nobody has entered */
} ch_ready_when;

/** "over", "during", "soon", "unknown"; NULL outside the enum. Static. */
const char *ch_ready_when_name(ch_ready_when when);

/** One way in which a part is due. Amounts in the unit of its ch_life_by (part_lives.h). */
typedef struct ch_ready_due {
    const ch_ready_part *part;
    const ch_life_limit *limit; /**< the one that comes first */
    ch_ready_when when;
    double used_si, left_si; /**< left before the event; below 0 = over. NaN where unknown */
    ch_date by;              /**< the day for limits by date; year 0 otherwise */
} ch_ready_due;

/** The tests that can see a fault; bits. */
enum { CH_READY_BY_COMPRESSION = 1, CH_READY_BY_LEAKDOWN = 2 };

/** A fault of the engine that still stands: no repair has followed it, and no later test that could have seen it shows none (ready_standing.h). */
typedef struct ch_ready_fault {
    ch_date day;      /**< of the sheet that it rests on; year 0 = none stands */
    bool day_assumed; /**< that sheet has no day: this is the one of its entry */
    bool day_to_come; /**< that sheet's day lies after today: a slip, which hides no fault */
    int64_t sheet_id; /**< that sheet's */
    int cylinder;     /**< the one with which something is wrong with the greatest chance; 0 = not told */
    int more;         /**< how many other cylinders of that sheet it stands for */
    double wrong_1;   /**< that chance; NaN = not told */
    bool
        do_not_run; /**< something was seen that has to be put right before the engine is cranked or run (do_not_run.h) */
    unsigned
        seen_by; /**< CH_READY_BY_ bits: the tests of that cylinder, any of which clears it where it shows no fault */
} ch_ready_fault;

/** What is on record of the engine. */
typedef struct ch_ready_engine {
    double over_fault_1; /**< chance that a cylinder is over the fault limit at the event's end; NaN = no forecast */
    ch_ready_fault fault;
    ch_date day;        /**< of its newest sheet that no repair has followed; year 0 = there is none */
    bool day_assumed;   /**< that sheet has no day: this is the one of its entry */
    ch_verdict verdict; /**< of that sheet */
    int cylinder;       /**< the one with which something is wrong with the greatest chance; 0 = not told */
    double wrong_1;     /**< that chance; NaN = not told */
} ch_ready_engine;

/** Nothing is on record of it. */
#define CH_READY_NO_ENGINE ((ch_ready_engine){.over_fault_1 = NAN, .fault = {.wrong_1 = NAN}, .wrong_1 = NAN})

enum { CH_READY_DUE_MAX = 512 };

typedef struct ch_ready {
    bool
        ready; /**< nothing open, nothing over or during, no fault that still stands, no forecast over the bound, no clutch that slips */
    size_t due_count;
    ch_ready_due due[CH_READY_DUE_MAX]; /**< most pressing first; one a part */
    ch_ready_engine engine;
    bool engine_faulty; /**< a fault of it still stands */
    bool
        engine_doubtful; /**< it is over the fault limit at the event's end with a chance of at least CH_READY_FAULT_1 */
    double clutch_slips_1; /**< chance that the clutch slips; NaN = no run tells */
    bool clutch_doubtful;  /**< that chance is at least CH_READY_FAULT_1 */
} ch_ready;

/** From this chance on the engine, or the clutch, itself stands between the car and the event: more likely than not. Judgment. */
#define CH_READY_FAULT_1 0.5

/**
 * Look at everything.
 *
 * @param today        Counts against dates; the event's day where one is planned and is later.
 * @param part         `parts` of them, borrowed; `ready` refers to them. May be NULL where none.
 * @param parts        Of `part`; 0 = none.
 * @param opens        Things taken off and not put back, and pieces of work in hand.
 * @param event        Not NULL; day of year 0 = none is planned.
 * @param engine        What its sheets say; CH_READY_NO_ENGINE where there are none.
 * @param clutch_slips_1 Of the newest run of the clutch in the car that tells it (ch_driveline_slips_1()); NaN = there is none.
 * @param ready        (out) plain data; untouched on failure.
 * @retval CH_E_LIMIT More than CH_READY_DUE_MAX parts.
 * @retval CH_E_RANGE No day today.
 */
ch_status ch_ready_run(const ch_ready_part part[], size_t parts, size_t opens, const ch_ready_event *event,
                       ch_date today, const ch_ready_engine *engine, double clutch_slips_1, ch_ready *ready,
                       ch_err *err);

/** The date `months` whole months later; the last day of the month where it has no such day (31 January and one month: 28 or 29 February). */
ch_date ch_ready_months_later(ch_date date, int months);

#endif
