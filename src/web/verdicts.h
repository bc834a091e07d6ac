/*
 * Judging takes a good part of a second: what was judged is kept in memory, by the content of the sheet, so that looking again, turning a
 * page or a second phone costs nothing. What is kept is what judging would say again, byte for byte; a changed sheet is another content.
 */
#ifndef CROSSHATCH_WEB_VERDICTS_H
#define CROSSHATCH_WEB_VERDICTS_H

#include <stddef.h>

#include "crosshatch/judge.h"

enum { VERDICTS_KEPT = 24 }; /* more than threads that answer; some 3 MB in all */

/* What was judged. Borrowed from the store of verdicts until verdicts_give_back(). */
typedef struct verdicts_one {
    ch_judge_options options;
    ch_judgement *judgement; /* where asked with `why` 0, else NULL */
    ch_trace_reason *reason; /* where asked with a cylinder: what its causes rest on */
    size_t reason_count;
} verdicts_one;

/*
 * Judge a sheet, or look up what was said of it. Several threads that ask for the same wait for the one that works on it.
 *
 * why: 0 for the judgement; a cylinder for what its causes rest on (a run of the tracing for each kind of evidence: some seconds).
 * retval as ch_judge and ch_trace_why; CH_E_MEMORY.
 */
ch_status verdicts_get(const ch_sheet *sheet, const ch_judge_options *options, const ch_knowledge *knowledge, int why,
                       const verdicts_one **one, ch_err *err);

/* NULL is fine. */
void verdicts_give_back(const verdicts_one *one);

#endif
