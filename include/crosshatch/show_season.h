/**
 * @file show_season.h
 * A season as text for a terminal and as JSON for programs, and its sentences for every face. Nothing is computed that the structs do not hold.
 */
#ifndef CROSSHATCH_SHOW_SEASON_H
#define CROSSHATCH_SHOW_SEASON_H

#include "crosshatch/ready.h"
#include "crosshatch/season.h"
#include "crosshatch/show.h"
#include "crosshatch/show_words.h"
#include "crosshatch/svg.h"

/** A season and what it is of. Borrowed. */
typedef struct ch_show_season {
    const ch_season *season;
    const ch_assumptions *assumptions;
    const char *car, *engine; /**< names; NULL = of none */
    ch_date today;
    size_t passed_over;             /**< sheets that could not be judged */
    const ch_history_sheet *newest; /**< what ch_history_newest() gives; NULL: nothing is said of it */
    const ch_ready_engine
        *standing; /**< from ch_ready_standing(): the fault that still stands; NULL: nothing is said of it */
} ch_show_season;

/** Append the page: advice and reasons, leak areas and what is left, sheets, events, costs, what the answer hangs on. */
void ch_show_season_text(const ch_show_season *shown, const ch_show_style *style, ch_text *text);

/**
 * Append it as JSON (RFC 8259), 10 significant digits; areas mm2, pressures kPa gauge, hours h, NaN and never as null. crosshatch-season(1)
 * lists the names.
 *
 * @param shown Borrowed during the call.
 * @param text  (out) Appended to; may hold a part of the answer on failure.
 * @retval CH_E_MEMORY
 * @retval CH_E_LIMIT
 */
ch_status ch_show_season_json(const ch_show_season *shown, ch_text *text, ch_err *err);

/** "Test each season, mend what shows"; static. */
const char *ch_show_course_title(ch_course choice);

/**
 * The same in a list of choices, where watching says so if no test falls due; static.
 *
 * @param decision Whose choices are listed; borrowed.
 * @param choice   One of them.
 */
const char *ch_show_course_row(const ch_decision *decision, ch_course choice);

/**
 * Money of a decision as its figures carry it: two digits, "1200", "57", "0.6" as "1". They rest on first guesses, which more digits would belie. JSON has the
 * number as it was computed.
 *
 * @param money  In the currency of the assumptions; NaN gives "-".
 * @param buffer (out) The words; returned.
 */
const char *ch_show_guessed(double money, char buffer[CH_SHOW_NUMBER]);

/**
 * What the newest sheet found, and the fault of an older one that still stands, since what is forecast are leak areas; "" where there is neither. What forbids to run the engine takes
 * the place of all else.
 */
void ch_show_season_newest(const ch_show_season *shown, char sentence[CH_SHOW_SENTENCE]);

/** True where a fault stands for which nobody cranks or runs the engine before it is put right: no choice that runs it counts till then. */
bool ch_show_season_forbids(const ch_show_season *shown);

/** The advice in one sentence or two: what has to be put right before the engine runs, the cheapest choice, and by how much. */
void ch_show_season_advice(const ch_show_season *shown, char sentence[CH_SHOW_SENTENCE]);

/** Why the leak areas of a season are less certain than those of one sheet's findings. */
const char *ch_show_season_wider(void);

/** Running time until the first cylinder is over the fault limit, with the interval that holds nine times in ten; that there is no limit where there is none. */
void ch_show_season_left(const ch_show_season *shown, char sentence[CH_SHOW_SENTENCE]);

/** What the chances of the events to come count and what they take for certain: hours, those that nobody entered, a slope that no sheets show. */
void ch_show_season_rests(const ch_show_season *shown, char sentence[CH_SHOW_SENTENCE]);

/** True where the hours at the end of this planned event rest on hours that nobody entered, its own or those of one before it. */
bool ch_show_season_hours_taken(const ch_show_season *shown, size_t event);

/** On which figures a chance of a breakdown rests, with their ranges: it has no interval of its own. */
void ch_show_season_breaks(const ch_show_season *shown, char sentence[CH_SHOW_SENTENCE]);

/** Why the growth of the leak areas is the usual one. Static. */
const char *ch_show_season_no_slope(void);

/** What the engine's state says about putting parts on it. */
void ch_show_season_upgrade(const ch_show_season *shown, char sentence[CH_SHOW_SENTENCE]);

/** A step that was found, as a sentence. */
void ch_show_season_step(const ch_show_season *shown, size_t step, char sentence[CH_SHOW_SENTENCE]);

/** What the answer hangs on, as a sentence: assumption number `swing` of the decision, widest first; "" where it does not change the best choice. */
void ch_show_season_swing(const ch_show_season *shown, size_t swing, char sentence[CH_SHOW_SENTENCE]);

/** Hours left as a person says them: what lies many seasons ahead is not told to the hour. Returns `buffer`. */
const char *ch_show_hours_left(double left_s, char buffer[CH_SHOW_NUMBER]);

/** A figure of an assumption with its unit: "150 EUR", "2.5 h", "30 %". Returns `buffer`. */
const char *ch_show_assumed(const ch_show_season *shown, const ch_assumption *assumption, double figure,
                            char buffer[CH_SHOW_NUMBER + 16]);

/**
 * Leak area of one cylinder over the engine's running time, on a logarithmic scale in mm2: each sheet's median with its interval from 5 % to
 * 95 %, the forecast's to the end of the horizon, the watch and the fault limit, and where the engine was open or a step was found.
 *
 * @param shown    Its season is looked at.
 * @param cylinder 1-based.
 * @param svg      (out) As ch_show_engine_svg().
 * @retval CH_E_MEMORY, CH_E_LIMIT
 */
ch_status ch_show_trend_svg(const ch_show_season *shown, int cylinder, ch_svg *svg, ch_err *err);

/** Assumptions shown there. */
enum { CH_SHOW_SWINGS = 8 };

/**
 * What the answer hangs on: for each of the CH_SHOW_SWINGS assumptions that move it most, the lead of the cheapest choice with the assumption at
 * its low end (hatched) and at its high end (filled); left of the dashed line another choice is cheaper.
 *
 * @param shown Its season and assumptions are looked at.
 * @param svg   (out) As ch_show_engine_svg().
 * @retval CH_E_MEMORY, CH_E_LIMIT
 */
ch_status ch_show_sensitivity_svg(const ch_show_season *shown, ch_svg *svg, ch_err *err);

#endif
