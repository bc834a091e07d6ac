/**
 * @file show_driveline.h
 * A judged run as text for a terminal and as JSON for programs. Nothing is computed here but units.
 */
#ifndef CROSSHATCH_SHOW_DRIVELINE_H
#define CROSSHATCH_SHOW_DRIVELINE_H

#include "crosshatch/driveline.h"
#include "crosshatch/show.h"

enum { CH_SHOW_RUN_SENTENCE = 256 };

/** A judged run and all that it came from. Borrowed. */
typedef struct ch_show_run {
    const ch_driveline *driveline;
    const ch_drivelog_report *report;
    const ch_car *car; /**< NULL: none */
    const ch_knowledge *knowledge;
    const ch_clutch_knowledge *clutch;
    const ch_driveline_seen *seen;
    size_t seen_n;
} ch_show_run;

/** Append the run: verdict, gears, slips, capacity, causes, what to check next behind its cautions, and what limits the answer. */
void ch_show_driveline_text(const ch_show_run *run, const ch_show_style *style, ch_text *text);

/**
 * Append the run as JSON (RFC 8259); crosshatch-driveline(1) lists the names.
 *
 * @retval CH_E_MEMORY, CH_E_LIMIT
 */
ch_status ch_show_driveline_json(const ch_show_run *run, ch_text *text, ch_err *err);

/** The run in one sentence: slips found, or none, or why neither can be said. */
void ch_show_driveline_verdict(const ch_driveline *driveline, char sentence[CH_SHOW_RUN_SENTENCE]);

/** What a limit means to the reader, NULL for no single bit of ch_driveline_limit. Static storage. */
const char *ch_show_driveline_limit(unsigned limit);

#endif
