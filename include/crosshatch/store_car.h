/**
 * @file store_car.h
 * Cars, the lives of their engines, gauges, events with their hours, and the parts that collect them.
 * What holds for every function here stands in store.h. Texts: NULL = not given. Ids: 0 = none.
 */
#ifndef CROSSHATCH_STORE_CAR_H
#define CROSSHATCH_STORE_CAR_H

#include "crosshatch/date.h"
#include "crosshatch/sheet.h"
#include "crosshatch/store.h"

/* ---- cars ---- */

typedef struct ch_store_car {
    int64_t id;
    const char *name; /* needed */
    const char *note;
    int64_t engine_id; /* the engine in it now; 0 = none. Not looked at when writing. */
} ch_store_car;

ch_status ch_store_car_add(ch_store *store, const ch_store_car *car, const char *client, int64_t now_s,
                           ch_stored *stored, ch_err *err);
ch_status ch_store_car_change(ch_store *store, const ch_store_car *car, int64_t now_s, ch_err *err);
ch_status ch_store_car_delete(ch_store *store, int64_t id, int64_t now_s, ch_err *err);
ch_status ch_store_cars(ch_store *store, ch_store_pool *pool, const ch_store_car **rows, size_t *count, ch_err *err);

/* ---- engines: a rebuild or a swap begins a new life ---- */

typedef enum ch_store_why {
    CH_STORE_FIRST,   /* as it was when the garage file began */
    CH_STORE_REBUILD, /* the same block, rebuilt */
    CH_STORE_SWAP     /* another engine, or one that was in before (continues_id) */
} ch_store_why;

typedef struct ch_store_engine {
    int64_t id;
    int64_t car_id;
    int64_t continues_id; /* the life that this one goes on from: its parts come along. 0 = none */
    const char *name;     /* needed */
    const char *note;
    ch_store_why why;
    ch_date begun;     /* needed */
    ch_date ended;     /* year 0 = still in the car; not looked at when writing */
    double running_s;  /* sum of its events; not looked at when writing */
    double distance_m; /* the same */
    int64_t starts;    /* the same */
} ch_store_engine;

/**
 * Begin an engine life. The one in the car until now, if any, ends on this day; its events of later days, planned or entered since, become those
 * of the new life.
 *
 * The parts of the continued life that are still fitted go on in the new one, as new rows that carry their hours and distance.
 *
 * @param renewed `count` ids of those that were replaced by new ones: the new row begins at 0.
 * @param described What is known of the engine, `described->engine` (bore, stroke ...); NULL = what is known of the continued life.
 */
ch_status ch_store_engine_begin(ch_store *store, const ch_store_engine *engine, const int64_t renewed[], size_t count,
                                const ch_sheet *described, const char *client, int64_t now_s, ch_stored *stored,
                                ch_err *err);

/**
 * Enter a car together with the engine in it: both, or, where either is refused, nothing.
 *
 * @param engine    Its car_id is not looked at.
 * @param described What is known of the engine; NULL = nothing.
 * @param stored    (out, may be NULL) The car.
 */
ch_status ch_store_car_enter(ch_store *store, const ch_store_car *car, const ch_store_engine *engine,
                             const ch_sheet *described, const char *client, int64_t now_s, ch_stored *stored,
                             ch_err *err);

/** Change name and note. */
ch_status ch_store_engine_change(ch_store *store, const ch_store_engine *engine, int64_t now_s, ch_err *err);

/** Replace what is known of it by `described->engine`. Old values are kept; sheets begun earlier do not change. */
ch_status ch_store_engine_describe(ch_store *store, int64_t id, const ch_sheet *described, int64_t now_s, ch_err *err);

/** What is known of it, into sheet->engine of an initialised sheet, whose other parts stay as they are. */
ch_status ch_store_engine_load(ch_store *store, int64_t id, ch_sheet *sheet, ch_err *err);

/** Oldest first. `car_id` 0 = of all cars. */
ch_status ch_store_engines(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_store_engine **rows,
                           size_t *count, ch_err *err);

/**
 * The life that was in the car on that day, the later one of two. The first life stands for how the engine was when the car was entered:
 * what is older is its own as well. Without a day the only life, where there is but one. *engine_id 0 = none.
 */
ch_status ch_store_engine_on(ch_store *store, int64_t car_id, ch_date day, int64_t *engine_id, ch_err *err);

/* ---- gauges ---- */

typedef struct ch_store_gauge {
    int64_t id;
    const char *name; /* needed */
    const char *note;
} ch_store_gauge;

/** `described->gauge` is what is known of it; NULL = nothing yet. */
ch_status ch_store_gauge_add(ch_store *store, const ch_store_gauge *gauge, const ch_sheet *described,
                             const char *client, int64_t now_s, ch_stored *stored, ch_err *err);
ch_status ch_store_gauge_change(ch_store *store, const ch_store_gauge *gauge, const ch_sheet *described, int64_t now_s,
                                ch_err *err);
ch_status ch_store_gauge_delete(ch_store *store, int64_t id, int64_t now_s, ch_err *err);

/** What is known of it, into sheet->gauge of an initialised sheet. */
ch_status ch_store_gauge_load(ch_store *store, int64_t id, ch_sheet *sheet, ch_err *err);
ch_status ch_store_gauges(ch_store *store, ch_store_pool *pool, const ch_store_gauge **rows, size_t *count,
                          ch_err *err);

/* ---- events: days on which the engine ran, past ones and planned ones ---- */

typedef struct ch_store_event {
    int64_t id;
    int64_t car_id;
    int64_t engine_id; /* the life that ran; 0 when adding = the one in the car on that day */
    ch_date day;       /* needed */
    const char *name;  /* needed */
    const char *note;
    double running_s;  /* NaN = not known, or still to come */
    double distance_m; /* NaN = the same */
    int64_t starts;    /* -1 = the same */
    int64_t sessions;  /* times that the car went out; 0 = the same */
} ch_store_event;

ch_status ch_store_event_add(ch_store *store, const ch_store_event *event, const char *client, int64_t now_s,
                             ch_stored *stored, ch_err *err);
ch_status ch_store_event_change(ch_store *store, const ch_store_event *event, int64_t now_s, ch_err *err);
ch_status ch_store_event_delete(ch_store *store, int64_t id, int64_t now_s, ch_err *err);

/** By day. `car_id` 0 = of all cars. */
ch_status ch_store_events(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_store_event **rows,
                          size_t *count, ch_err *err);

/* ---- parts ---- */

typedef struct ch_store_part {
    int64_t id;
    int64_t engine_id; /* the life that it is fitted to */
    int64_t
        continues_id; /* its stay in an earlier life, whose counters it carries on; 0 = none. Not looked at when writing. */
    const char *name; /* needed: "clutch", "timing belt" */
    const char *note;
    ch_date fitted;           /* needed; to this life */
    ch_date removed;          /* year 0 = still fitted */
    double carried_running_s; /* hours, distance and starts that it had when fitted; 0 for a new part */
    double carried_distance_m;
    int64_t carried_starts;
    double running_s; /* those and what it ran since; not looked at when writing */
    double distance_m;
    int64_t starts;
    int64_t carried_sessions;
    int64_t
        sessions; /* those and what it ran since, an event whose sessions are not known counted as CH_STORE_USUAL_SESSIONS; not looked at when writing */
    const char *life;   /* id in knowledge/part_lives.yaml; NULL = none */
    ch_date made;       /* of manufacture; year 0 = not known, as the next */
    ch_date until;      /* date printed on it */
    double part_left_1; /* of the thickness when new, measured last; 0 = not measured, as the next */
    double depth_m;     /* of the tread */
    bool under_printed; /* measured below the least thickness printed on it */
} ch_store_part;

/* Sessions of a day on track where nobody counted them: common practice of track days and time trials. */
enum { CH_STORE_USUAL_SESSIONS = 5 };

ch_status ch_store_part_add(ch_store *store, const ch_store_part *part, const char *client, int64_t now_s,
                            ch_stored *stored, ch_err *err);
/** Change all that can be written but the engine. */
ch_status ch_store_part_change(ch_store *store, const ch_store_part *part, int64_t now_s, ch_err *err);
ch_status ch_store_part_delete(ch_store *store, int64_t id, int64_t now_s, ch_err *err);

/**
 * In the order entered. `engine_id` 0 = of all engines. A part counts the events of its engine life from the day fitted to the day before
 * the one removed; those of the day removed too where the engine's life ended on it.
 */
ch_status ch_store_parts(ch_store *store, ch_store_pool *pool, int64_t engine_id, const ch_store_part **rows,
                         size_t *count, ch_err *err);

#endif
