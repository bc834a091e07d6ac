/*
 * Signs noticed (rows of kind CH_STORE_OBSERVED): the list on a sheet's page with what they were before, the fields of the form that enters and corrects one.
 * Fields: what, cylinder (0 = engine), found ("no" = looked for, not there), note.
 */
#ifndef CROSSHATCH_WEB_SIGNS_H
#define CROSSHATCH_WEB_SIGNS_H

#include "piece.h"

/* A row as the form gives it; its texts live in the form. CH_E_INPUT where no sign is chosen. */
ch_status signs_read(const web_fields *form, const ch_knowledge *knowledge, ch_store_row *row, ch_err *err);

/* `form`: what was sent and refused; NULL = show what `row` holds, or, where that is NULL too, nothing. `check`: what it may find stands on top; NULL = none. */
void signs_fields(html_writer *w, const web_fields *form, const ch_store_row *row, const ch_knowledge_check *check,
                  const ch_knowledge *knowledge, int cylinders);

/* One sign as it stands, and, struck through, what it was before. */
void signs_chain(html_writer *w, const web_request *request, const ch_knowledge *knowledge, const ch_store_row rows[],
                 size_t count, const ch_store_row *current);

/* All of a sheet, out of its rows with their history; what contradicts itself is asked about. */
void signs_list(html_writer *w, const web_request *request, const ch_knowledge *knowledge, const ch_store_sheet *sheet,
                const ch_store_row rows[], size_t count);

#endif
