/* What is due and open, and the forecast. */
#include "ready_view.h"

#include <math.h>
#include <stdlib.h>

#include "seasons.h"

/* A car without an engine or sheets has no forecast, and that is no failure. */
static ch_status look_at_engine(web_request *request, const web_know *know, const ch_store_car *car, size_t at_most,
                                ready_view *view, ch_ready_engine *engine, ch_err *err)
{
    season_view season;
    /* The season page's own horizon, which says nothing here: so both pages ask for the same answer, and it is worked out once. */
    const ch_status rc = season_view_get(request, know, car, CH_HORIZON_YEAR, at_most, &season, err);
    *engine = CH_READY_NO_ENGINE;
    if (rc >= 0)
        ch_store_ready_engine(&season.loaded, piece_today(request->now_s), engine);
    if (rc >= 0 && season.one != NULL)
        engine->over_fault_1 = ch_season_over_fault(season.one->season, view->loaded.event.day);
    view->judged = season.loaded.sheets;
    view->waiting = season.loaded.waiting;
    seasons_give_back(season.one);
    return rc;
}

ch_status ready_view_get(web_request *request, const web_know *know, const ch_store_car *car, size_t at_most,
                         ready_view *view, ch_err *err)
{
    const ch_date today = piece_today(request->now_s);
    const ch_store_run *run = NULL;
    ch_date run_day = {0};
    bool renewed_that_day = false;
    ch_ready_engine engine = CH_READY_NO_ENGINE;
    *view = (ready_view){0};
    ch_status rc = ch_store_ready_load(request->store, &request->pool, car->id, &know->lives, today, CH_HISTORY_EVENT_S,
                                       &view->loaded, err);
    if (rc >= 0)
        rc = ch_store_put_back_order(&know->procedures, view->loaded.open, view->loaded.opens, err);
    if (rc >= 0)
        rc = look_at_engine(request, know, car, at_most, view, &engine, err);
    if (rc >= 0)
        rc = ch_store_clutch_run(request->store, &request->pool, car->id, &run, &run_day, &renewed_that_day, err);
    if (rc < 0)
        return rc;
    view->ready = malloc(sizeof *view->ready);
    view->open = malloc((view->loaded.opens + 1) * sizeof *view->open);
    view->titles = malloc((view->loaded.works + 1) * sizeof *view->titles);
    if (view->ready == NULL || view->open == NULL || view->titles == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for what is due");
    for (size_t i = 0; i < view->loaded.opens; i++)
        view->open[i] = (ch_show_open){.what = view->loaded.open[i]->what, .lies = view->loaded.open[i]->lies};
    for (size_t i = 0; i < view->loaded.works; i++)
        view->titles[i] = view->loaded.work[i]->title;
    view->shown = (ch_show_ready){.ready = view->ready,
                                  .event = &view->loaded.event,
                                  .open = view->open,
                                  .opens = view->loaded.opens,
                                  .work = view->titles,
                                  .works = view->loaded.works,
                                  .parts = view->loaded.parts,
                                  .car = car->name,
                                  .today = today,
                                  .run = run != NULL ? &run->driveline : NULL,
                                  .run_day = run_day,
                                  .renewed_that_day = renewed_that_day,
                                  .inspection = &know->inspection,
                                  .knowledge = &know->knowledge};
    return ch_ready_run(view->loaded.part, view->loaded.parts, view->loaded.opens + view->loaded.works,
                        &view->loaded.event, today, &engine, run != NULL ? ch_driveline_slips_1(&run->driveline) : NAN,
                        view->ready, err);
}

void ready_view_clear(ready_view *view)
{
    free(view->ready);
    free(view->open);
    free(view->titles);
    *view = (ready_view){0};
}
