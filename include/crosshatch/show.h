/**
 * @file show.h
 * Results as text for a terminal and as JSON for programs. Nothing is computed here that the structs do not hold; only units and
 * layout change. Everything is appended to a ch_text, whose first failure sticks: ask ch_text_check() at the end.
 */
#ifndef CROSSHATCH_SHOW_H
#define CROSSHATCH_SHOW_H

#include <stdbool.h>

#include "crosshatch/beside.h"
#include "crosshatch/judge.h"
#include "crosshatch/predict.h"
#include "crosshatch/text.h"

/** How a text for people looks. */
typedef struct ch_show_style {
    int columns;             /**< width of the page, at least 60 */
    bool colour;             /**< ANSI escape sequences (ECMA-48); what they say is always said in words too */
    bool working;            /**< show where every number comes from */
    const ch_unit *pressure; /**< of all pressures; NULL = ch_show_pressure_unit() */
} ch_show_style;

/** The unit in which the sheet's owner thinks: that of most of its readings, else of its `units` block, else of its limits, else kPa. Never NULL. */
const ch_unit *ch_show_pressure_unit(const ch_sheet *sheet);

/** Append what the gauge should show: table, a line a cylinder as a picture, what was assumed. */
void ch_show_prediction_text(const ch_sheet *sheet, const ch_prediction *prediction, const ch_show_style *style,
                             ch_text *text);

/**
 * Append `{"cylinders": [{"cylinder": 1, "gauge_kPa": [...]}], "assumed": ["rod_length", ...]}` (RFC 8259), 10 significant digits. `assumed` names
 * the inputs that took part and that the sheet does not give, as the sheet's keys are named. `working` adds the inputs as used
 * ("working") and each cylinder's "leaks_mm2".
 *
 * @param prediction From ch_predict().
 * @param working    True = with the inputs and the leaks.
 * @param text       (out) Appended to; may hold a part of the answer on failure.
 * @retval CH_E_MEMORY
 * @retval CH_E_LIMIT
 */
ch_status ch_show_prediction_json(const ch_prediction *prediction, bool working, ch_text *text, ch_err *err);

/** A judgement and all that it came from. Borrowed. */
typedef struct ch_show_judged {
    const ch_sheet *sheet;
    const ch_knowledge *knowledge;
    const ch_judge_options *options;
    const ch_judgement *judgement;
    int why;                       /**< cylinder that was asked about; 0 = none */
    const ch_trace_reason *reason; /**< what its causes rest on, weightiest first */
    size_t reason_count;
    const char *car;         /**< what its owner calls the car, for the report; NULL = not known */
    const ch_beside *beside; /**< for the drawings that need it; NULL = they are left out */
} ch_show_judged;

/**
 * Append a judgement: verdict and how sure it is, pictures, tables, rules side by side, questions about the sheet, causes, and what to check
 * next, each step behind its cautions.
 */
void ch_show_judgement_text(const ch_show_judged *judged, const ch_show_style *style, ch_text *text);

/**
 * Append a judgement as JSON (RFC 8259), 10 significant digits; pressures kPa gauge, areas mm2, NaN as null, cylinder 0 (the engine as a
 * whole) as null. crosshatch-judge(1) lists the names. `working` adds the object "working".
 *
 * @param judged  All of it but `reason` and `beside` not NULL.
 * @param working True = with the inputs and what else the numbers came from.
 * @param text    (out) Appended to; may hold a part of the answer on failure.
 * @retval CH_E_MEMORY
 * @retval CH_E_LIMIT
 */
ch_status ch_show_judgement_json(const ch_show_judged *judged, bool working, ch_text *text, ch_err *err);

/** Name of a kind of question as JSON has it: "all_low". Static storage. */
const char *ch_show_question_name(ch_question_kind kind);

#endif
