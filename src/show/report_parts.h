/* What the chapters of the engine report share. Private to show. */
#ifndef CROSSHATCH_SHOW_REPORT_PARTS_H
#define CROSSHATCH_SHOW_REPORT_PARTS_H

#include "crosshatch/report.h"
#include "crosshatch/show_words.h"

typedef struct report {
    const ch_show_judged *judged;
    const ch_unit *pressure;
    ch_document *document;
    ch_status status; /* of words that no document has seen yet; the first failure sticks */
} report;

/* As it was entered, with the unit that the sheet's `units` block names where it was bare. "" where not given. */
enum { REPORT_QUANTITY = 96 };
const char *report_quantity(const ch_quantity *quantity, char words[REPORT_QUANTITY]);

/* Append to a list: "bore 80.5 mm, stroke 88 mm". Nothing where `value` is "". */
void report_list(ch_text *words, const char *label, const char *value);

/* An item "label words."; nothing where there are no words. Clears them. */
void report_item(report *r, const char *label, ch_text *words);

/* "4 cylinders, tested 2027-01-16, at 187200 km", for the line under the title; `car` may be NULL. */
void report_under_title(const ch_sheet *sheet, const char *car, ch_text *words);

/* True where leak-downs of the sheet went through different orifices, or some of them do not say through which: their percents are then not alike. */
bool report_orifices_differ(const ch_sheet *sheet);

/* The chapter on engine, day, gauge, doses and supplies, and what else was seen. */
void report_measured(report *r);

#endif
