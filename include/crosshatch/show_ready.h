/**
 * @file show_ready.h
 * What stands between the car and its next event, as text, as JSON, and as a check sheet to print and tick.
 */
#ifndef CROSSHATCH_SHOW_READY_H
#define CROSSHATCH_SHOW_READY_H

#include "crosshatch/document.h"
#include "crosshatch/driveline.h"
#include "crosshatch/inspection.h"
#include "crosshatch/ready.h"
#include "crosshatch/show.h"
#include "crosshatch/show_words.h"

enum { CH_SHOW_READY_CLUTCH = 512, CH_SHOW_READY_ENGINE = 1024 };

/** Something taken off and not put back. Borrowed. */
typedef struct ch_show_open {
    const char *what, *lies; /**< `lies` NULL = not said where */
} ch_show_open;

/** An answer and what it is of. Borrowed. */
typedef struct ch_show_ready {
    const ch_ready *ready;
    const ch_ready_event *event; /**< day of year 0 = none is planned */
    const ch_show_open *open;
    size_t opens;
    const char *const *work; /**< titles of the work that is in hand */
    size_t works;
    size_t parts;    /**< how many are kept at all */
    const char *car; /**< NULL = none */
    ch_date today;
    const ch_driveline *run; /**< the one that tells whether the clutch slips; NULL = none */
    ch_date run_day;         /**< driven, else judged */
    bool renewed_that_day;   /**< the clutch: that the run was of the new one is not known */
    const ch_inspection *inspection;
    const ch_knowledge *knowledge;
} ch_show_ready;

/** Append the page: ready or not and why, what is off, what is due, what the forecast says, how much there is to look at. */
void ch_show_ready_text(const ch_show_ready *shown, const ch_show_style *style, ch_text *text);

/**
 * Append `{"ready": true, "open": ["coil 3"], "due": [{"what": "", "by": "", "left": 0, "unit": ""}], ...}` (RFC 8259). `by` is the day for limits by
 * date, else what is counted; crosshatch-ready(1) lists the names.
 *
 * @param shown Borrowed during the call.
 * @param text  (out) Appended to; may hold a part of the answer on failure.
 * @retval CH_E_MEMORY
 * @retval CH_E_LIMIT
 */
ch_status ch_show_ready_json(const ch_show_ready *shown, ch_text *text, ch_err *err);

/** What a thing that stands in the way is of, and so where it was entered. */
typedef enum ch_show_reason_kind {
    CH_SHOW_REASON_OPEN,     /**< what is off: the ledger */
    CH_SHOW_REASON_WORK,     /**< what was begun and is not closed: the winter's work */
    CH_SHOW_REASON_PART,     /**< the parts */
    CH_SHOW_REASON_ENGINE,   /**< the sheet with the fault that still stands */
    CH_SHOW_REASON_CLUTCH,   /**< the logged run */
    CH_SHOW_REASON_FORECAST, /**< the season */
    CH_SHOW_REASON_KINDS
} ch_show_reason_kind;

/** "open", "work", "part", "engine", "clutch", "forecast"; NULL outside the enum. Static. */
const char *ch_show_reason_name(ch_show_reason_kind kind);

/** One thing that stands in the way. */
typedef struct ch_show_reason {
    ch_show_reason_kind kind;
    char says
        [CH_SHOW_SENTENCE]; /**< without a full stop; what is off is one thing, however much it is, and so is work in hand */
    char to_do[CH_SHOW_SENTENCE]; /**< what to do about it, one or several sentences */
} ch_show_reason;

/** How many things stand in the way; 0 = it is ready. */
size_t ch_show_ready_reasons(const ch_show_ready *shown);

/**
 * One of them, most dangerous first: what is off, work in hand, parts over their limit, a fault of the engine, parts that reach theirs, the clutch, the forecast. The order is judgment: what may come
 * loose or fail to hold hurts people first.
 *
 * @param shown  Borrowed during the call.
 * @param at     Below ch_show_ready_reasons().
 * @param reason (out)
 */
void ch_show_ready_reason(const ch_show_ready *shown, size_t at, ch_show_reason *reason);

/**
 * "Nothing that is on record stands between ..."; the one thing that does, in one sentence; or how many do: "Not ready: 5 things stand in the way." Where neither a part is kept nor
 * a forecast or a run there, it says that hardly anything is on record.
 */
void ch_show_ready_outcome(const ch_show_ready *shown, char sentence[CH_SHOW_SENTENCE]);

/**
 * What the newest sheet says: "By the newest sheet, of 2026-11-27: fault. ...", and which fault still stands by which; empty where there is neither.
 *
 * @param shown    Borrowed during the call.
 * @param sentence (out) One or several sentences.
 */
void ch_show_ready_engine(const ch_show_ready *shown, char sentence[CH_SHOW_READY_ENGINE]);

/** The fault that still stands, as one sentence without a full stop. `engine->fault.day` must be given. */
void ch_show_ready_fault(const ch_ready_engine *engine, char sentence[CH_SHOW_SENTENCE]);

/** What the run of the clutch says, behind its day: "By the run of 2026-11-27: The clutch slips: ..."; or that there is none. */
void ch_show_ready_clutch(const ch_show_ready *shown, char sentence[CH_SHOW_READY_CLUTCH]);

/** True where nothing that could stand in the way is on record at all: no part, no forecast, no run, nothing off, no work in hand. */
bool ch_show_ready_knows_nothing(const ch_show_ready *shown);

/** "Engine oil: over its 7 h by 1.5 h". */
void ch_show_ready_due(const ch_ready_due *due, char sentence[CH_SHOW_SENTENCE]);

/** One way in which a part's life is counted, used and limit: "3.5 of 7.0 h", "made 2026-05-01, good to 2031-05-01". */
void ch_show_part_limit(const ch_ready_part *part, const ch_life_limit *limit, char sentence[CH_SHOW_SENTENCE]);

/**
 * Build the check sheet: what is open and due, then the inspection list by area, each item behind its cautions, with a box for each time it is
 * looked at; the wheels' torque after the first session among them.
 *
 * @param shown    `car` may be NULL, and `open` where `opens` is 0; nothing else.
 * @param document (out) ch_document_free() it. Untouched on failure.
 * @retval CH_E_MEMORY, CH_E_LIMIT
 */
ch_status ch_report_check_sheet(const ch_show_ready *shown, ch_document **document, ch_err *err);

#endif
