/**
 * @file season.h
 * History, forecast and decision of one engine together: will it last the season, what is it worth doing, and is it worth putting parts on.
 */
#ifndef CROSSHATCH_SEASON_H
#define CROSSHATCH_SEASON_H

#include "crosshatch/decision.h"
#include "crosshatch/history.h"

typedef enum ch_horizon {
    CH_HORIZON_SEASON, /**< to the last planned event within a year; without one, half a year of usual events */
    CH_HORIZON_YEAR,
    CH_HORIZON_THREE_YEARS,
    CH_HORIZONS
} ch_horizon;

/** "season", "year", "three_years"; static, NULL outside the enum. */
const char *ch_horizon_name(ch_horizon horizon);

/** What the engine's state says about putting parts on it. */
typedef enum ch_upgrade {
    CH_UPGRADE_REPAIR_FIRST, /**< something is over a limit, or probably wrong */
    CH_UPGRADE_NOT_HERE, /**< it will probably be over the fault limit within the horizon: only what moves on to the next engine */
    CH_UPGRADE_TEST_FIRST, /**< too little is known */
    CH_UPGRADE_SOUND,      /**< nothing in its sealing speaks against it */
    CH_UPGRADES
} ch_upgrade;

/** "repair_first", ...; static, NULL outside the enum. */
const char *ch_upgrade_name(ch_upgrade upgrade);

typedef struct ch_season_input {
    const ch_history_sheet *sheet; /**< of the engine */
    size_t sheets;
    const ch_history_event *event; /**< of the engine, past and planned */
    size_t events;
    const ch_history_repair *repair;
    size_t repairs;
    ch_date today;
    const ch_assumptions *assumptions;
    ch_horizon horizon; /**< for which the answer is worked out in full */
    uint64_t seed;
} ch_season_input;

/** A planned event, in order of day. */
typedef struct ch_season_event {
    const ch_history_event *event;
    double running_s; /**< expected */
    double end_s;     /**< engine's running time at its end */
} ch_season_event;

enum { CH_SEASON_FAN = 8 }; /**< parts that the forecast's curves are told in */

typedef struct ch_season {
    ch_history history;
    ch_forecast forecast;
    size_t planned;
    ch_season_event event[CH_FORECAST_EVENTS_MAX];
    ch_date last_test; /**< day of the latest sheet that the fit took in */
    ch_horizon horizon;
    ch_decision decision[CH_HORIZONS];
    double horizon_s[CH_HORIZONS];    /**< running time within each */
    double over_fault_1[CH_HORIZONS]; /**< chance that a cylinder is over the fault limit at its end; NaN = no limit */
    /**
     * Logarithm of each cylinder's leak area in m2 from now to the end of the horizon, CH_SEASON_FAN equal parts of it: 5 %, median, 95 %. Kept here because
     * sorting the draws for it is most of what showing a season would cost.
     */
    double fan_log[CH_CYLINDERS_MAX][CH_SEASON_FAN + 1][3];
    int worst;           /**< cylinder with the largest area now */
    double head_share_1; /**< chance that what leaks there is in the head */
    ch_upgrade upgrade;
} ch_season;

/**
 * Work everything out.
 *
 * @param input  Borrowed during the call; its sheets and events as long as the season.
 * @param season (out) some 500 kB, best on the heap; ch_season_clear() it. Untouched on failure. Borrows the input's sheets and events.
 * @retval as ch_history_build, ch_forecast_run, ch_decision_run.
 */
ch_status ch_season_run(const ch_season_input *input, ch_season *season, ch_err *err);

/**
 * The chance that a cylinder is over the fault limit by the end of the events planned for a day; where none is planned for it, now. NaN = there is no limit.
 */
double ch_season_over_fault(const ch_season *season, ch_date day);

/** Fine on zeros. */
void ch_season_clear(ch_season *season);

#endif
