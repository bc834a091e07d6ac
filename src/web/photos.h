/* Photos as parts of a sheet's pages; the page itself is page_photo.c. */
#ifndef CROSSHATCH_WEB_PHOTOS_H
#define CROSSHATCH_WEB_PHOTOS_H

#include "piece.h"

/* The photos of one sheet or piece of winter work, in the order taken; they live in the request's pool. */
typedef struct photos {
    const ch_store_photo *list;
    size_t count;
} photos;

/* Of the sheet, or, where that is 0, of the work. */
ch_status photos_load(web_request *request, int64_t sheet_id, int64_t work_id, photos *all, ch_err *err);

/* What the parts below need in a page, once, before them. */
void photos_look(html_writer *w);

/* Those of this ledger entry (0: of the sheet or work as a whole), shown when scrolled to, and each with a form to take it away. `of` is what they show. */
void photos_show(html_writer *w, const web_request *request, const photos *all, int64_t ledger_id, const char *of);

/* The form that takes one more. */
ch_status photos_form(html_writer *w, const web_request *request, int64_t sheet_id, int64_t work_id, int64_t ledger_id,
                      ch_err *err);

/* All three for a sheet or work as a whole, under a heading; `of` is what they show. */
ch_status photos_of_work(html_writer *w, web_request *request, int64_t work_id, const char *of, ch_err *err);
ch_status photos_of_sheet(html_writer *w, web_request *request, int64_t sheet_id, ch_err *err);

#endif
