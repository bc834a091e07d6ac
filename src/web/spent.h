/* Hours and money spent on winter work, as parts of pages. */
#ifndef CROSSHATCH_WEB_SPENT_H
#define CROSSHATCH_WEB_SPENT_H

#include "crosshatch/store_work.h"
#include "piece.h"

/*
 * The form that enters more; it posts to `action` with do = spent. Its fields: day, hours, money, note, entry. `alert`: why it was refused, with what was
 * typed; NULL where it was not.
 */
ch_status spent_form(html_writer *w, web_request *request, const char *action, const char *currency, const char *alert,
                     ch_err *err);

/* What that form, or the one that corrects an entry, says. CH_E_INPUT names what cannot be read. */
ch_status spent_typed(web_request *request, ch_store_spent *spent, ch_err *err);

/* All entries, each with the form that corrects it or takes it away; that of the entry `refused` (0: none) open, with what was typed and why not. */
ch_status spent_list(html_writer *w, web_request *request, int64_t work_id, const char *currency, int64_t refused,
                     const char *alert, ch_err *err);

#endif
