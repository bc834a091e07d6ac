/* What of a car's winter plan is really begun, done and spent. */
#ifndef CROSSHATCH_WEB_WINTER_WORK_H
#define CROSSHATCH_WEB_WINTER_WORK_H

#include "html.h"
#include "winter_kept.h"

/* The newest work of this winter on the job or access step of this name, or NULL. What is still in hand from an earlier winter counts. */
const ch_store_work *winter_work_of(const winter_kept *kept, ch_plan_kind kind, const char *name);

/* Read the work, and say of each item of the plan how far it is. Called by winter_load. */
ch_status winter_work_load(web_request *request, winter_kept *kept, ch_err *err);

/* Begin what is not in hand yet; the id of the work. */
ch_status winter_work_begin(web_request *request, const winter_kept *kept, ch_plan_kind kind, const char *name,
                            const char *title, int64_t *id, ch_err *err);

/* "not begun", "in hand", "open", "done, to be proven", "closed". Static storage. `work` may be NULL. */
const char *winter_work_state(const ch_store_work *work);

/* What was spent against what was planned, of what is chosen or begun, each with a link to its page. */
void winter_spent_write(html_writer *w, const winter_kept *kept, const bool chosen[]);

#endif
