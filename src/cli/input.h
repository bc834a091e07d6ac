/* What a person named on the command line, read and checked. */
#ifndef CROSSHATCH_CLI_INPUT_H
#define CROSSHATCH_CLI_INPUT_H

#include <stdint.h>

#include "crosshatch/assumptions.h"
#include "crosshatch/clutch_knowledge.h"
#include "crosshatch/inspection.h"
#include "crosshatch/jobs.h"
#include "crosshatch/knowledge.h"
#include "crosshatch/sheet.h"

/* Read and parse a sheet; "-" is the standard input. The caller clears it. Errors as file_read() and ch_sheet_parse_typed(). */
ch_status input_sheet(const char *name, ch_sheet *sheet, ch_err *err);

/* Read driveline.yaml of a folder of knowledge, or, with NULL, the one built in. The caller clears it; `knowledge` must live as long. */
ch_status input_clutch_knowledge(const char *folder, const ch_knowledge *knowledge, ch_clutch_knowledge *clutch,
                                 ch_err *err);

/* Read the four files of a folder of knowledge, or, with NULL, the ones built in. The caller clears it. */
ch_status input_knowledge(const char *folder, ch_knowledge *knowledge, ch_err *err);

/* Read parts, access steps and jobs of a folder of knowledge, or, with NULL, the ones built in. The caller clears them. */
ch_status input_jobs(const char *folder, const ch_knowledge *knowledge, ch_jobs *jobs, ch_err *err);

/* Read part_lives.yaml and inspection.yaml of a folder of knowledge, or, with NULL, those built in. The caller clears both. */
ch_status input_upkeep(const char *folder, const ch_knowledge *knowledge, const ch_jobs *jobs, ch_part_lives *lives,
                       ch_inspection *inspection, ch_err *err);

/* Read decision.yaml of a folder of knowledge, or, with NULL, the one built in. The caller clears it. */
ch_status input_assumptions(const char *folder, ch_assumptions *assumptions, ch_err *err);

/* A number that stands for the knowledge built in: another one for every other text. FNV-1a, 64 bits. */
uint64_t input_knowledge_mark(void);

/* The same as text, by which the store tells results of other knowledge. */
void input_made_by(char made_by[32]);

#endif
