/* Hours, distance and starts of an event out of a logged run. */
#ifndef CROSSHATCH_WEB_EVENT_LOG_H
#define CROSSHATCH_WEB_EVENT_LOG_H

#include "crosshatch/store_car.h"
#include "piece.h"

/* The form that sends a log. Fields: log (a file), log_count = running | above | logged, log_above (an engine speed), log_sessions. */
void event_log_form(html_writer *w, const web_request *request, const ch_store_event *event);

enum { EVENT_LOG_TOLD = 600, EVENT_LOG_NOTE = 4096 };

/* What a log adds, in words, and the note with the log's name in it. */
typedef struct event_log {
    char told[EVENT_LOG_TOLD], note[EVENT_LOG_NOTE];
    bool again; /* the note names such a log already */
} event_log;

/*
 * Read the log that was sent, and add what it holds to `event`, which is not stored: a person looks it over first. event->note then points into `log`.
 *
 * retval CH_E_INPUT: no log, or one that cannot be read; as ch_drivelog_feed.
 */
ch_status event_log_add(const web_request *request, ch_store_event *event, event_log *log, ch_err *err);

#endif
