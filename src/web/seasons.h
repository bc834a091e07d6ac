/*
 * A forecast takes some tenths of a second: what was worked out is kept in memory, by what went into it, as verdicts.h keeps judgements.
 */
#ifndef CROSSHATCH_WEB_SEASONS_H
#define CROSSHATCH_WEB_SEASONS_H

#include "crosshatch/show_season.h"
#include "crosshatch/store_season.h"
#include "know.h"
#include "piece_car.h"

enum { SEASONS_KEPT = 16 }; /* more than threads that answer; one of 80 sheets is some 2 MB */

/* What was worked out. Borrowed until seasons_give_back(). */
typedef struct seasons_one {
    ch_season *season;
} seasons_one;

/*
 * Work a season out, or look up what came of the same input.
 *
 * retval as ch_season_run; CH_E_MEMORY.
 */
ch_status seasons_get(const ch_season_input *input, const seasons_one **one, ch_err *err);

/* NULL is fine. */
void seasons_give_back(const seasons_one *one);

/* A car's season as pages show it. */
typedef struct season_view {
    ch_store_season loaded;
    ch_assumptions assumptions; /* with the owner's own figures */
    const seasons_one *one;     /* NULL: nothing can be said, `why` tells the reason */
    ch_show_season shown;
    char why[PIECE_LINE];
    bool settings; /* and it is a figure in the settings that cannot be read */
} season_view;

/* Sheets that a page judges while somebody waits for it, some two seconds of work. A garage brought in from elsewhere may hold hundreds. */
enum { SEASON_SHEETS_AT_ONCE = 8 };

/*
 * Gather and work out. seasons_give_back(view->one), also after a failure; texts live in the request's pool and the program's knowledge.
 *
 * at_most: sheets that are judged now, 0 = all. Where others wait, view->loaded.waiting tells how many, and nothing is worked out from part of them.
 * retval CH_OK also where nothing can be said: no engine, no sheet that says anything, sheets that wait.
 */
ch_status season_view_get(web_request *request, const web_know *know, const ch_store_car *car, ch_horizon horizon,
                          size_t at_most, season_view *view, ch_err *err);

/* Say in the page how many of so many sheets are judged, and have the browser ask again, which goes on with them. */
void season_write_waiting(web_response *response, size_t judged, size_t waiting);

#endif
