/* The answer of a winter plan as parts of a page. */
#ifndef CROSSHATCH_WEB_WINTER_ANSWER_H
#define CROSSHATCH_WEB_WINTER_ANSWER_H

#include "crosshatch/winter.h"
#include "html.h"
#include "winter_kept.h"

/* What it comes to, the jobs with their reasons, the calendar, what more would buy, what to give up. */
void winter_answer_write(html_writer *w, const winter_kept *kept, const ch_winter *winter);

#endif
