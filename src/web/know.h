/* What the pages know of the trade: the texts built into the program, read once on first use and shared by all threads, never changed. */
#ifndef CROSSHATCH_WEB_KNOW_H
#define CROSSHATCH_WEB_KNOW_H

#include "crosshatch/assumptions.h"
#include "crosshatch/clutch_knowledge.h"
#include "crosshatch/inspection.h"
#include "crosshatch/jobs.h"
#include "crosshatch/knowledge.h"
#include "crosshatch/part_lives.h"
#include "crosshatch/procedure.h"

typedef struct web_know {
    ch_knowledge knowledge;
    ch_procedures procedures;
    ch_jobs jobs;
    ch_clutch_knowledge clutch;
    ch_part_lives lives;
    ch_inspection inspection;
    ch_assumptions assumptions;
    char made_by[24]; /* names this knowledge, for what is kept of judged sheets: the same as the terminal's */
} web_know;

/* The knowledge; lives as long as the program. NULL and the reason in `err` where it could not be read. Cost of the first call: 40 ms. */
const web_know *know_get(ch_err *err);

#endif
