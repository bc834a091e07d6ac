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
    const char **titles; /* of the work in hand */
    ch_show_ready shown;
    size_t judged, waiting; /* sheets; while some wait there is no forecast, and nothing is said of ready or not */
} ready_view;

/*
 * Gather and work out, with the forecast that the season's page has. ready_view_clear(), also after a failure; texts live in the request's pool and the
 * program's knowledge. at_most: as of season_view_get().
 *
 * retval as ch_store_ready_load, season_view_get, ch_ready_run.
 */
ch_status ready_view_get(web_request *request, const web_know *know, const ch_store_car *car, size_t at_most,
                         ready_view *view, ch_err *err);

void ready_view_clear(ready_view *view);

#endif
