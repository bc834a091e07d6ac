/*
 * The findings of one sheet as parts of a page, in the order in which they stand on it. The same content as the terminal's text; every number
 * has its working behind a "Working" that opens: what went in, the method by name, the published source.
 */
#ifndef CROSSHATCH_WEB_FINDINGS_H
#define CROSSHATCH_WEB_FINDINGS_H

#include "crosshatch/show_words.h"
#include "crosshatch/svg.h"
#include "html.h"
#include "route.h"

typedef struct findings {
    html_writer *w;
    const ch_show_judged *judged;
    const ch_unit *pressure; /* of all pressures */
    const char *path;        /* of the page */
    size_t off;              /* things off the car: while there are some, the engine cannot run */
    int64_t sheet;           /* whose put-back list leads to them */
    bool closed;             /* the sheet takes no entries until it is opened again */
} findings;

/* How a sheet is judged on every page: by the rule and in the unit of the settings, from the seed that the terminal has too. */
ch_status findings_options(web_request *request, const ch_sheet *sheet, ch_judge_options *options, ch_err *err);

/* What was tested, the verdict with how sure it is, and its reasons. */
void findings_verdict(const findings *f);

/* The engine drawn, and the readings as a table. */
void findings_readings(const findings *f);

/* Pump-up by stroke and dry against wet, beside the model's. Nothing where the sheet has neither. */
void findings_beside(const findings *f);

/* Doubts about the numbers themselves. Nothing where there are none. */
void findings_questions(const findings *f);

/* Leak areas with their intervals. */
void findings_leaks(const findings *f);

/* Wet and leak-down rows as entered. Nothing where there are none. */
void findings_other_tests(const findings *f);

/* Causes of each suspicious cylinder; a sentence where there is none. */
void findings_causes(const findings *f);

/* What to check next, each step behind its cautions. */
void findings_checks(const findings *f);

/* The rules of the trade side by side. */
void findings_rules(const findings *f);

/* What stands in for what the sheet does not say. */
void findings_assumed(const findings *f);

/* <details> with this summary, and its end. */
void findings_open(const findings *f, const char *summary);
void findings_close(const findings *f);

/* <p> with text. */
void findings_p(const findings *f, const char *words);

/* A drawing; CH_E_MEMORY and CH_E_LIMIT of it stick in the page. */
void findings_drawing(const findings *f, ch_svg *svg, ch_status rc);

#endif
