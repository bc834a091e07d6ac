/*
 * Fields of a sheet's head as fields of a form: engine, gauge, day. Written from a sheet and read back into one; numbers keep the text as
 * typed. A bare number takes the unit that the field's hint names.
 */
#ifndef CROSSHATCH_WEB_SHEET_FORM_H
#define CROSSHATCH_WEB_SHEET_FORM_H

#include "crosshatch/sheet.h"
#include "html.h"
#include "route.h"

typedef enum sheet_form_part {
    SHEET_FORM_ENGINE, /* cylinders and layout: the few */
    SHEET_FORM_MORE,   /* the rest of the engine */
    SHEET_FORM_GAUGE,
    SHEET_FORM_DAY
} sheet_form_part;

void sheet_form_write(html_writer *w, web_request *request, const ch_sheet *sheet, sheet_form_part part);

/* Whether anything of the part is filled in that a fresh form leaves empty. */
bool sheet_form_typed(const web_fields *form, sheet_form_part part);

/* Into `sheet`, initialised; fields left blank become not given. CH_E_INPUT names the field. The store checks the ranges. */
ch_status sheet_form_read(web_request *request, sheet_form_part part, ch_sheet *sheet, ch_err *err);

#endif
