/* What stands between a car and its next event, gathered for its pages. */
#ifndef CROSSHATCH_WEB_READY_VIEW_H
#define CROSSHATCH_WEB_READY_VIEW_H

#include "crosshatch/show_ready.h"
#include "crosshatch/store_ready.h"
#include "know.h"
#include "piece_car.h"

typedef struct ready_view {
    ch_store_ready loaded;
    ch_ready *ready;
    ch_show_open *open;
    ch_show_ready shown;
} ready_view;

/*
 * Gather and work out, with the forecast that the season's page has. ready_view_clear(), also after a failure; texts live in the request's pool and the
 * program's knowledge.
 *
 * retval as ch_store_ready_load, season_view_get, ch_ready_run.
 */
ch_status ready_view_get(web_request *request, const web_know *know, const ch_store_car *car, ready_view *view,
                         ch_err *err);

void ready_view_clear(ready_view *view);

#endif
