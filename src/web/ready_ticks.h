/*
 * Ticks on the inspection list: what was looked at for one event, and when. Kept in the garage file as the setting `ready.CAR`, one text: a line with the event's
 * day, then a line a tick, "home.wheel_nuts 1800000000". For an event of another day, or when it moves, all boxes are empty again: the looking would be too old.
 */
#ifndef CROSSHATCH_WEB_READY_TICKS_H
#define CROSSHATCH_WEB_READY_TICKS_H

#include "crosshatch/inspection.h"
#include "crosshatch/ready.h"
#include "route.h"

/* Times of looking that have a box each: at home, on arrival, after the first session. What is looked at before and after every session has none. */
enum { READY_TIMES = 3 };
extern const ch_inspection_when ready_times[READY_TIMES];

/* When each item was ticked, seconds since 1970-01-01 UTC; 0 = not. [place in the inspection list * READY_TIMES + time] */
typedef struct ready_ticks {
    const ch_inspection *list;
    int64_t *at_s;
} ready_ticks;

/* What is kept for this event. ready_ticks_clear(), also after a failure. CH_E_MEMORY; as ch_store_setting_get. */
ch_status ready_ticks_load(web_request *request, int64_t car_id, const ch_inspection *list, const ch_ready_event *event,
                           ready_ticks *ticks, ch_err *err);

void ready_ticks_clear(ready_ticks *ticks);

/* Whether an item has a box for this time. */
bool ready_ticks_has(const ch_inspection_item *item, int time);

int64_t ready_ticks_at(const ready_ticks *ticks, size_t item, int time);

/*
 * Keep what a form changed: every `tick` that is not among its `had` is ticked, every `had` that is not among its `tick` is not any more; what others ticked
 * meanwhile stays. Names that the list does not have are passed over.
 */
ch_status ready_ticks_keep(web_request *request, int64_t car_id, const ch_inspection *list, const ch_ready_event *event,
                           ch_err *err);

#endif
