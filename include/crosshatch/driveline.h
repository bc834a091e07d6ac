/**
 * @file driveline.h
 * From a logged run to gears, slip, the torque that the clutch holds, and what may be wrong with it.
 *
 * The caller opens, hands over the batches of the log (drivelog.h), and finishes. Memory is bounded whatever the length of the log: rows are thinned to at
 * most 29 a second, and after CH_DRIVELINE_CHAPTER of those the run so far is judged and let go. No file, clock or locale is touched.
 * docs/driveline.md has the method, its sources, how it was checked and where it fails.
 */
#ifndef CROSSHATCH_DRIVELINE_H
#define CROSSHATCH_DRIVELINE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "crosshatch/car.h"
#include "crosshatch/clutch_knowledge.h"
#include "crosshatch/drivelog.h"
#include "crosshatch/status.h"

enum {
    CH_DRIVELINE_CHAPTER = 300000, /**< thinned rows kept at once: three hours and more: at most 29 a second */
    CH_DRIVELINE_GEARS_MAX = 10,
    CH_DRIVELINE_SLIPS_MAX = 2000, /**< slips kept; further ones are only counted */
    CH_DRIVELINE_CHECKS_MAX = 12,
    CH_DRIVELINE_POINTS_MAX = 7500 /**< of the picture */
};

/** What became of the search for gears. */
typedef enum ch_driveline_state {
    CH_DRIVELINE_GEARS_FOUND,
    CH_DRIVELINE_TOO_LITTLE,    /**< hardly any driving in gear in it */
    CH_DRIVELINE_NO_FIXED_GEARS /**< engine over road speed keeps to no lines: automatic, CVT, or wrong columns */
} ch_driveline_state;

/** One gear. */
typedef struct ch_driveline_gear {
    int number;
    double line_rad_m;     /**< radians that the engine turns for each metre of road */
    double u_line_rad_m;   /**< standard uncertainty of it */
    double spread_1;       /**< scatter about the line, one standard deviation, relative */
    double seconds;        /**< in gear, clutch home */
    double car_line_rad_m; /**< what the car's ratios and tyre give; NaN where not stated */
} ch_driveline_gear;

/** One slip of the clutch. */
typedef struct ch_slip {
    double start_s, end_s;
    int gear;
    double peak_1, mean_1; /**< engine speed over what gear and road give, less 1 */
    double ahead_rad_s;    /**< mean difference of the two; both means are over the time from start to end */
    double road_speed_m_s, engine_speed_rad_s, throttle_1, acceleration_m_s2; /**< at its beginning; NaN unknown */
    double oil_or_coolant_k;                                                  /**< at its beginning; NaN unknown */
    double torque_n_m, u_torque_n_m; /**< passed at the beginning; NaN where the car's mass is not known */
    double heat_j;                   /**< NaN where the car's mass is not known */
    double plate_k, peak_plate_k;    /**< estimated, before and after; NaN where the mass is not known */
    double driven_before_s;          /**< of pulling in gear, since the log began: 0 = the first pull */
} ch_slip;

/** What looked like slip and was found to be something else. */
typedef enum ch_not_slip {
    CH_NOT_SLIP_WHEELSPIN, /**< driven wheels */
    CH_NOT_SLIP_CLUTCH,    /**< the driver's foot, or a blip of the throttle */
    CH_NOT_SLIP_SENSOR,    /**< road speed that drops by itself */
    CH_NOT_SLIP_BRIEF,     /**< shorter than the log can tell */
    CH_NOT_SLIP_KINDS
} ch_not_slip;

/** What limits the answer; bits. */
typedef enum ch_driveline_limit {
    CH_LIMIT_STALE = 1 << 0,       /**< fresh values come too seldom for short slips */
    CH_LIMIT_STEPS = 1 << 1,       /**< road speed in coarse steps */
    CH_LIMIT_NO_THROTTLE = 1 << 2, /**< load is known from acceleration alone */
    CH_LIMIT_NO_MASS = 1 << 3,     /**< no torque, heat, or capacity */
    CH_LIMIT_LITTLE_LOAD = 1 << 4, /**< hardly a pull in the higher gears: a weak clutch would not show */
    CH_LIMIT_NUMBERS = 1 << 5,     /**< gears are numbered by their usual size: first gear may be another */
    CH_LIMIT_LAG = 1 << 6,         /**< the two signals' lag could not be found */
    CH_LIMIT_MANY_SLIPS = 1 << 7,  /**< more than are kept */
    CH_LIMIT_CAR_DIFFERS = 1 << 8, /**< the car's ratios do not fit the log */
    /** whether road speed was cut or rounded to whole steps is not told; the lines' intervals carry both */
    CH_LIMIT_CUT_OR_ROUNDED = 1 << 9,
    CH_LIMIT_WIDE_GEARS = 1 << 10,       /**< a gear of this log is known worse than to 0.5 % (90 %) */
    CH_LIMIT_PERHAPS_STEPLESS = 1 << 11, /**< much of the pulling lies on no line: perhaps no fixed gears */
    /** in a low gear the engine ran ahead, and the log does not tell wheels that spin from a clutch that slips */
    CH_LIMIT_LOW_GEARS = 1 << 12,
    /** lines found in the log alone lie closer together than gears mostly do: one may be the other, slipping by a steady share */
    CH_LIMIT_NEAR_GEARS = 1 << 13,
    /** on a line found in the log alone the car was only ever pulled, and on one below it hardly ever: one gear that slips at every pull leaves the same two */
    CH_LIMIT_PULLED_ALONE = 1 << 14
} ch_driveline_limit;

/** A further check. */
typedef struct ch_driveline_check {
    size_t check;  /**< place in ch_clutch_knowledge.checks */
    double bits_1; /**< expected reduction of the doubt about the cause */
    double seconds;
} ch_driveline_check;

/** What the run says. To be cleared with ch_driveline_clear(). */
typedef struct ch_driveline {
    uint64_t rows;
    ch_driveline_state state;
    unsigned limits; /**< ch_driveline_limit bits */

    ch_driveline_gear gear[CH_DRIVELINE_GEARS_MAX]; /**< lowest gear first */
    size_t gears;
    double on_lines_1;   /**< part of the moving time with steady ratio that lies on a gear's line */
    double car_factor_1; /**< lines found over those of the car's ratios and tyre; NaN where not stated */

    double lag_s, u_lag_s;               /**< road speed behind engine speed */
    double engine_fresh_s, road_fresh_s; /**< between fresh values */
    double road_step_m_s;                /**< step in which road speed is written; 0 where fine */
    double road_offset_m_s;              /**< added to it: half a step where it is cut, not rounded */
    double shortest_slip_s;              /**< that this log can show */
    double loaded_s;                     /**< pulling, clutch home, third gear and up */
    double loaded_low_s;                 /**< pulling, clutch home, below third gear */
    size_t not_slips[CH_NOT_SLIP_KINDS];

    ch_slip *slip; /**< in order of time */
    size_t slips;  /**< kept */
    size_t slips_found;

    double capacity_n_m[3]; /**< 5 %, 50 %, 95 %; NaN where unknown */
    double fade_1_k;        /**< relative change of capacity with the plate's temperature, 1/K; NaN where unknown */
    double u_fade_1_k;
    double design_n_m[2]; /**< uniform wear, uniform pressure; NaN where the clutch is not stated */

    unsigned patterns;       /**< what the slips look like: bits 1 << place in ch_clutch_knowledge.patterns seen */
    unsigned patterns_known; /**< which of them could be seen at all */
    double cause_1[CH_CLUTCH_CAUSES];                       /**< adds up to 1 */
    ch_driveline_check next_check[CH_DRIVELINE_CHECKS_MAX]; /**< most told for each minute first */
    size_t next_checks;
} ch_driveline;

typedef struct ch_driveline_run ch_driveline_run;

/** One point of the picture of a run. */
typedef struct ch_drive_point {
    float time_s;
    float engine_speed_rad_s;
    float road_speed_m_s; /**< with lag and cut steps taken out */
    float gear;           /**< number of the gear whose line it lies on; 0 = none */
} ch_drive_point;

/** What a look, a hand or the history showed. */
typedef struct ch_driveline_seen {
    size_t sign;  /**< place in ch_clutch_knowledge.signs */
    bool present; /**< false: looked for, and not there */
} ch_driveline_seen;

/**
 * Begin a run.
 *
 * @param car May be NULL; borrowed until the end.
 * @param run (out) To be closed by the caller. Untouched on failure.
 * @retval CH_E_MEMORY
 */
ch_status ch_driveline_open(const ch_car *car, ch_driveline_run **run, ch_err *err);

/**
 * Take a batch: a ch_drivelog_take whose context is the run.
 *
 * @param rows    Borrowed during the call.
 * @param context The ch_driveline_run.
 * @retval CH_E_MEMORY
 */
ch_status ch_driveline_take(const ch_drivelog_rows *rows, void *context, ch_err *err);

/**
 * Judge the whole.
 *
 * @param run       Gives what it found to `result` and has none of it afterwards; ch_driveline_picture() may still be asked.
 * @param knowledge Causes, hand checks and what they tell.
 * @param seen      `seen_n` results of hand checks; each sign at most once. May be NULL where none.
 * @param seen_n    Of `seen`.
 * @param result    (out) Overwritten, not cleared first; untouched on failure. To be cleared by the caller.
 * @retval CH_E_MEMORY
 * @retval CH_E_CONVERGE The rows of a log contradict each other so much that its lines cannot be weighed.
 */
ch_status ch_driveline_finish(ch_driveline_run *run, const ch_clutch_knowledge *knowledge,
                              const ch_driveline_seen *seen, size_t seen_n, ch_driveline *result, ch_err *err);

/**
 * Points for charts, after ch_driveline_finish(): at most CH_DRIVELINE_POINTS_MAX in order of time, half of them about the slips.
 * They live until ch_driveline_close(). NULL where `*count` is 0.
 */
const ch_drive_point *ch_driveline_picture(const ch_driveline_run *run, size_t *count);

/**
 * Weigh the causes, and what to check next, of a run that was judged before, with what has been seen by hand since. Arguments as ch_driveline_finish();
 * its `patterns`, `cause_1` and `next_check` are written anew.
 */
void ch_driveline_weigh(const ch_clutch_knowledge *knowledge, const ch_driveline_seen *seen, size_t seen_n,
                        ch_driveline *driveline);

/**
 * Chance that the clutch slips, by what a judged run shows and by what else was weighed with it: where slips were found, that they are the clutch's; where none
 * was, though it was pulled enough to show them, that some cause in the clutch is there all the same. NaN where the run does not tell: no gears, hardly a pull
 * in the higher gears, an engine that ran ahead in a low gear alone, lines that may be none, or two gears that may be one.
 *
 * @param driveline Its slips themselves may be left out: `slips_found` is what counts.
 */
double ch_driveline_slips_1(const ch_driveline *driveline);

/**
 * How far a gear's line is known: half the width of its interval of 90 %, relative.
 *
 * @param gear Of a judged run.
 */
double ch_driveline_gear_known_1(const ch_driveline_gear *gear);

/** Give everything back. NULL is fine. */
void ch_driveline_close(ch_driveline_run *run);

/** Give the slips back and leave all zero. */
void ch_driveline_clear(ch_driveline *result);

#endif
