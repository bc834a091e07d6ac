/* The form of a winter plan: what it is made from, every number the owner's, and what has been done so far. */
#ifndef CROSSHATCH_WEB_WINTER_FORM_H
#define CROSSHATCH_WEB_WINTER_FORM_H

#include "crosshatch/draft.h"
#include "crosshatch/winter.h"
#include "html.h"
#include "winter_kept.h"

enum { WINTER_NUMBER = 32, WINTER_KEY = 96, WINTER_HOURS = 100 };

/* Write the form of the plan; refused, for the reason `alert`, it stands with what was typed. */
void winter_form_write(html_writer *w, web_request *request, const winter_kept *kept, const char *alert);

/* Write the form for what is done, of what was chosen: hours and money since it was noted last. `alert`: why it was refused; NULL = it was not. */
ch_status winter_done_write(html_writer *w, web_request *request, const winter_kept *kept, const bool chosen[],
                            const char *alert, ch_err *err);

/* Write the form that ends this winter. */
void winter_over_write(html_writer *w, web_request *request, const winter_kept *kept);

/* Make a plan of what the form says, and keep it. CH_E_INPUT names what cannot be read. */
ch_status winter_form_keep(web_request *request, winter_kept *kept, ch_err *err);

/* Note what is done and spent, as work in the garage file. Nothing is noted where one of it cannot be read. */
ch_status winter_done_keep(web_request *request, const winter_kept *kept, ch_err *err);

/* Put the plan away: what is closed so far belongs to this winter, and the next begins. */
ch_status winter_over_keep(web_request *request, const winter_kept *kept, ch_err *err);

/* A field's number where it is given, as a whole count of `one`. `what` stands in the refusal. */
ch_status winter_amount(const web_request *request, const char *field, const char *what, int64_t one, int64_t *value,
                        ch_err *err);

/* The title of a job of one's own that the form names and another took out of the plan meanwhile; NULL where it is none. */
const char *winter_taken_out(const web_request *request, const winter_kept *kept, const char *name);

/* A number as a field shows it: whole ones and fractions as short as they are. `count` of what `one` makes a whole one. */
void winter_number(int64_t count, int64_t one, char text[WINTER_NUMBER]);

/* Three points, "0.5 1 1.5", or one where they are the same. */
void winter_hours(const ch_work_guess *guess, char text[WINTER_HOURS]);

/* "j.clutch_kit.parts": the name of a field of an item. */
const char *winter_key(const ch_plan_item *item, const char *what, char key[WINTER_KEY]);

#endif
