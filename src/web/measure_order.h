/* The order in which the cylinders are measured, chosen for each sheet. */
#ifndef CROSSHATCH_WEB_MEASURE_ORDER_H
#define CROSSHATCH_WEB_MEASURE_ORDER_H

#include "piece.h"

/* The next cylinder, where `count` readings of each were taken. */
ch_status measure_order_next(web_request *request, int64_t sheet_id, const ch_sheet *sheet,
                             const int count[CH_CYLINDERS_MAX], int *cylinder, ch_err *err);

/* A form to choose it. */
ch_status measure_order_form(html_writer *w, web_request *request, int64_t sheet_id, const ch_sheet *sheet,
                             ch_err *err);

/* Keep the choice; CH_E_INPUT where there is no such order. */
ch_status measure_order_set(web_request *request, int64_t sheet_id, const char *order, ch_err *err);

#endif
