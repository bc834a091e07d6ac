/* Forms of the driveline's pages: a log to send, its columns to choose, and what is known of the car. */
#ifndef CROSSHATCH_WEB_DRIVE_FORM_H
#define CROSSHATCH_WEB_DRIVE_FORM_H

#include "crosshatch/store_car.h"
#include "drive_log.h"
#include "html.h"

/* A file and a day. */
void drive_form_upload(html_writer *w, const web_request *request, const ch_store_car *car);

/* What is known of the car; `text` as stored (may be NULL). */
void drive_form_car(html_writer *w, const web_request *request, const ch_store_car *car, const char *text);

/* The form's fields, as the text to store, into an empty `text`, which stays empty where nothing is given. CH_E_INPUT where it cannot be. */
ch_status drive_form_car_read(const web_request *request, ch_text *text, ch_err *err);

/* First rows of the log, and a choice of columns for each channel. */
void drive_form_columns(html_writer *w, const web_request *request, const ch_store_car *car, const drive_log *d);

/* Say a refusal of a log as a page does: with the choice of columns on it, or without. */
void drive_form_say(ch_err *err, bool columns);

/* The choice made there into d->options; texts are the request's. */
void drive_form_columns_read(const web_request *request, drive_log *d);

#endif
