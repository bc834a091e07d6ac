/**
 * @file do_not_run.h
 * What a person has seen on an engine that forbids to crank or run it before it is put right: a broken part, liquid above a piston.
 *
 * Which observations do is a mark of the knowledge (observations.yaml, `do_not_run`), and it holds whatever the engine reads.
 */
#ifndef CROSSHATCH_DO_NOT_RUN_H
#define CROSSHATCH_DO_NOT_RUN_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/knowledge.h"
#include "crosshatch/sheet.h"

/**
 * The observation of one row of a sheet, where it forbids to crank or run the engine; else NULL: looked for and not there, of no such
 * mark, or of a name that the knowledge does not have.
 *
 * @param sheet     The one it was seen on.
 * @param knowledge Says which observations forbid it.
 * @param row       Index into sheet->observed, below sheet->observed_count.
 */
const ch_knowledge_observation *ch_do_not_run_row(const ch_sheet *sheet, const ch_knowledge *knowledge, size_t row);

/** Does any row of the sheet forbid it? */
bool ch_do_not_run(const ch_sheet *sheet, const ch_knowledge *knowledge);

#endif
