/* The parts of a judgement's page, in the order in which they stand on it. Private to show. */
#ifndef CROSSHATCH_SHOW_JUDGEMENT_PARTS_H
#define CROSSHATCH_SHOW_JUDGEMENT_PARTS_H

#include "page.h"

/* Causes of each suspicious cylinder that was tested. */
void judgement_causes(page *p, const ch_show_judged *judged);

/* All that is known of the cylinder that was asked about: every cause before and after the tests, what they rest on, where its air goes. */
void judgement_why(page *p, const ch_show_judged *judged);

/* What to check next, cautions before each step. */
void judgement_checks(page *p, const ch_show_judged *judged);

/* Inputs, method and source of every number. */
void judgement_working(page *p, const ch_show_judged *judged);

/* Every default of a setup takes part, but the leaks of `predict`. */
bool judgement_takes_part(ch_input input);

/* The tone that goes with a verdict. */
page_tone judgement_tone(ch_verdict verdict);

#endif
