/**
 * @file forecast.h
 * Will it last: leak area against engine hours, a step told from wear, and the hours that are left, each with its doubt.
 *
 * Plain numbers in, plain numbers out: history.h makes the input from dated sheets. docs/season.md gives the model, its sources, and how well
 * it was checked. Logarithms are natural, of areas in m2. Running time is the engine's, in seconds; slopes are per second of it.
 */
#ifndef CROSSHATCH_FORECAST_H
#define CROSSHATCH_FORECAST_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "crosshatch/sheet.h"
#include "crosshatch/status.h"

/**
 * Wear before anything was measured: how much the logarithm of a cylinder's leak area grows per second of running. Median 0.15 per 100 h (16 %),
 * nine in ten engines between 0.04 and 0.56.
 * Judgment: half a per cent to one per cent of compression lost per 30 to 50 hours on track, many engines none (common practice); at a sound
 * cylinder's leak area one per cent of the reading is some 12 % of the area. A slope is never below 0: wear does not heal.
 */
#define CH_WEAR_SLOPE_PER_S (0.15 / 360000.0)
#define CH_WEAR_SLOPE_SD_LOG 0.8
/** Spread of the logarithm of the slope among the cylinders of one engine: a factor of 1.5. Judgment. */
#define CH_WEAR_CYLINDER_SD_LOG 0.4
/** Spread of the logarithm of the area among the cylinders of one engine; one in ten is five times as far off (a fault). As prior.h's figures. */
#define CH_WEAR_LEVEL_SD_LOG 0.25
/** What a repair, or whatever happens between two sheets, changes the logarithm of an area by; standard deviation, judgment. */
#define CH_WEAR_STEP_SD_LOG 1.2
/**
 * Parts of a sheet's variance, u_1 squared. What is wrong with engine data and gauge is wrong in every sheet, so it moves the level, not the
 * slope: closing angle, walls, ratio, hose and adapter together against weather, speed and repeats (docs/prior.md, "What makes the band").
 * A part is each cylinder's own: its chamber, its plug hole, where its rings stand. The last two are centres only; the sheets' own scatter corrects them.
 */
#define CH_WEAR_PART_ENGINE 0.50
#define CH_WEAR_PART_CYLINDER 0.15
#define CH_WEAR_PART_GAUGE 0.20
#define CH_WEAR_PART_DAY 0.08
#define CH_WEAR_PART_READING 0.07
/** One sheet in twenty is off by eight times the usual day, one figure in fifty by four times the usual reading. Judgment. */
#define CH_WEAR_ODD_SHEET_1 0.05
#define CH_WEAR_ODD_SHEET_TIMES 8.0
#define CH_WEAR_ODD_READING_1 0.02
#define CH_WEAR_ODD_READING_TIMES 4.0

enum {
    CH_FORECAST_SHEETS_MAX = 500,
    CH_FORECAST_GAUGES_MAX = 8,
    CH_FORECAST_STEPS_MAX = 8, /* known and found together */
    CH_FORECAST_EVENTS_MAX = 100,
    CH_FORECAST_DRAWS = 2000
};

/** What one sheet says of each cylinder's leak area. */
typedef struct ch_wear_sheet {
    double running_s;                  /**< of the engine, at the test */
    int gauge;                         /**< sheets with the same number share a gauge; 0..CH_FORECAST_GAUGES_MAX - 1 */
    double log_area[CH_CYLINDERS_MAX]; /**< centre of what the sheet's own evidence says; NaN = not measured */
    double u_1[CH_CYLINDERS_MAX];      /**< standard uncertainty of it, everything counted, > 0 */
} ch_wear_sheet;

/** A change that is no wear: a repair that is known, or something that happened. */
typedef struct ch_wear_step {
    double running_s; /**< sheets at or after it are on its far side */
    size_t sheet; /**< the first of them; a step known between two sheets of the same running time names the later */
    int cylinder; /**< 1-based; 0 = every cylinder, each by its own amount */
} ch_wear_step;

/** A step that the readings show. */
typedef struct ch_wear_found {
    ch_wear_step step;
    double size_log; /**< change of the logarithm of the area, up > 0; for cylinder 0 the mean */
    double chance_1; /**< chance of as much out of wear and scatter alone, somewhere in this history */
    bool confirmed;  /**< two sheets or more lie behind it; else it may be a wrong reading: repeat the test */
} ch_wear_found;

typedef struct ch_wear_input {
    int cylinders;
    const ch_wear_sheet *sheet; /**< in order of running time */
    size_t sheets;
    const ch_wear_step *step; /**< known ones (repairs); may be NULL where `steps` is 0 */
    size_t steps;
    double log_area_prior, u_prior_1; /**< a sound engine's level before any test */
    double now_s;                     /**< running time now, not before the last sheet */
    double log_watch, log_fault;      /**< limits of the area; NaN = none */
    const double *event_s;            /**< running time at the end of each coming event, >= now_s */
    size_t events;
    uint64_t seed;
} ch_wear_input;

typedef struct ch_forecast_cylinder {
    double slope_per_s[3];     /**< 5 %, 50 %, 95 % of the growth of the logarithm of the area */
    double log_area_now[3];    /**< the same of its level now */
    double growth_m2_per_s[3]; /**< of the growth of the area itself, now */
    double watch_s[3];         /**< running time left to the limit, 0 where it is passed; NaN = no limit */
    double fault_s[3];
    double over_watch_1, over_fault_1; /**< chance that it is over the limit now */
} ch_forecast_cylinder;

typedef struct ch_forecast_event {
    double over_watch_1, over_fault_1; /**< chance that a cylinder is over the limit at its end; NaN = no limit */
} ch_forecast_event;

typedef struct ch_forecast {
    int cylinders;
    bool
        slope_known; /**< the tests narrowed the slopes to 0.8 of their width before any test, or less; else they are how engines usually wear */
    ch_forecast_cylinder cylinder[CH_CYLINDERS_MAX];
    double watch_s[3], fault_s[3]; /**< running time until the first cylinder is over the limit */
    size_t events;
    ch_forecast_event event[CH_FORECAST_EVENTS_MAX];
    double odd_sheet_1[CH_FORECAST_SHEETS_MAX]; /**< chance that the sheet as a whole is off */
    double day_1, reading_1; /**< scatter found, as parts of u_1: between days, between readings (medians) */
    size_t found;            /**< steps found */
    ch_wear_found step[CH_FORECAST_STEPS_MAX];
    size_t draws; /**< CH_FORECAST_DRAWS */
    double *draw; /**< draws rows of 2 * cylinders: levels now, then slopes; the decision needs them together */
} ch_forecast;

/**
 * Look for steps, take the known and the found ones into the model, and forecast.
 *
 * Model: log area of a cylinder = its level + its slope times running time + steps; a sheet's figure is off by one error of the engine's
 * data, one of the cylinder, one of its gauge, one of its day and one of the reading, each a part of its u_1. Slopes are log-normal about a common one.
 * Sampled by Gibbs steps (linear parts exactly, by Cholesky; slopes by slice sampling: Neal, Annals of Statistics 31 (2003) 705).
 *
 * @param input    Borrowed during the call, with all it points to.
 * @param forecast (out) ch_forecast_clear() it. Untouched on failure.
 * @retval CH_E_RANGE  No sheet, sheets out of order, no figure at all, a number outside its range.
 * @retval CH_E_LIMIT  More sheets, steps or events than the limits above.
 * @retval CH_E_MEMORY, CH_E_CONVERGE
 * Cost: some 0.1 s for 80 sheets of six cylinders.
 */
ch_status ch_forecast_run(const ch_wear_input *input, ch_forecast *forecast, ch_err *err);

/**
 * The logarithm of a cylinder's area after `ahead_s` more seconds of running: 5 %, 50 %, 95 % of the draws.
 *
 * @param forecast From ch_forecast_run().
 * @param cylinder 1-based.
 * @param ahead_s  Seconds of running from now, >= 0, finite.
 * @param log_area (out) Natural logarithm of m2. Untouched on failure.
 * @retval CH_E_RANGE No such cylinder, `ahead_s` below 0, or no draws.
 * @retval CH_E_MEMORY
 */
ch_status ch_forecast_ahead(const ch_forecast *forecast, int cylinder, double ahead_s, double log_area[3], ch_err *err);

/** Free; fine on zeros and twice. */
void ch_forecast_clear(ch_forecast *forecast);

#endif
