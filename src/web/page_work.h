/* The page of a piece of winter work, where others lead back to it. */
#ifndef CROSSHATCH_WEB_PAGE_WORK_H
#define CROSSHATCH_WEB_PAGE_WORK_H

#include "crosshatch/store_work.h"
#include "route.h"

/* The work named by the first part of the path. False where there is none: the answer is then written, and the page returns *rc. */
bool page_work_find(web_request *request, web_response *response, ch_store_work *work, ch_status *rc, ch_err *err);

/* Its page again, with why a form was refused: that of the ledger entry `ledger_id`, or another (0). */
ch_status page_work_again(web_request *request, web_response *response, int64_t work_id, int64_t ledger_id,
                          const char *alert, ch_err *err);

#endif
