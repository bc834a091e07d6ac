/*
 * Parts of a sheet's pages that change what the sheet is of: its engine's and its gauge's data, its car, whether it counts.
 */
#ifndef CROSSHATCH_WEB_SHEET_PARTS_H
#define CROSSHATCH_WEB_SHEET_PARTS_H

#include "piece.h"

/* ---- page_sheet_data.c ---- */

/* Where more is known by now of engine or gauge than the sheet says: a line, and the button that takes it in. Nothing else. */
ch_status sheet_data_offer(html_writer *w, web_request *request, const ch_store_sheet *sheet, ch_err *err);

/* The gauge that the sheet is measured with, and another to choose. */
ch_status sheet_data_gauge(html_writer *w, web_request *request, const ch_store_sheet *sheet, const char *alert,
                           ch_err *err);

/* ---- page_sheet_withdraw.c ---- */

/* The sheet was begun by mistake, or on the wrong car. Stands open where `alert` says what was refused. */
ch_status sheet_withdraw_forms(html_writer *w, web_request *request, const ch_store_sheet *sheet, const char *alert,
                               ch_err *err);

/* The page of a withdrawn sheet. *found is false where the path names none. */
ch_status sheet_withdrawn_page(web_request *request, web_response *response, bool *found, ch_err *err);

/* ---- page_sheet.c: the page again with what was refused ---- */

typedef enum sheet_form { FORM_NONE, FORM_DAY, FORM_OBSERVED, FORM_GAUGE, FORM_CLOSE, FORM_WITHDRAW } sheet_form;

ch_status sheet_page(web_request *request, web_response *response, const ch_store_sheet *sheet, sheet_form refused,
                     const char *alert, ch_err *err);

#endif
