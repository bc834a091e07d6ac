/* Parts, open things and the next event of a car, see store_ready.h. */
#include "crosshatch/store_ready.h"

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/ready_standing.h"
#include "store_parts.h"

static ch_status find_car(ch_store *store, ch_store_pool *pool, int64_t car_id, ch_store_car *found, ch_err *err)
{
    const ch_store_car *cars = NULL;
    size_t count = 0;
    ch_status rc = ch_store_cars(store, pool, &cars, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++)
        if (cars[i].id == car_id) {
            *found = cars[i];
            return CH_OK;
        }
    return rc < 0 ? rc : ch_fail(err, CH_E_INPUT, NULL, "there is no car with the id %lld", (long long)car_id);
}

/* ---------------------------------------------------------------- parts */

/* The day on which it was first fitted: through all stays that it carries on. */
static ch_date first_fitted(const ch_store_part rows[], size_t count, const ch_store_part *part)
{
    ch_date first = part->fitted;
    int64_t before = part->continues_id;
    /* An earlier stay has a smaller id, so that this ends. */
    for (size_t i = count; before != 0 && i-- > 0;)
        if (rows[i].id == before) {
            first = rows[i].fitted;
            before = rows[i].continues_id;
        }
    return first;
}

/* The store counts an event from the moment that something of it is known; what is planned has not worn anything yet. */
static void take_out_planned(const ch_store_part *part, const ch_store_event events[], size_t count, ch_date today,
                             ch_ready_part *to)
{
    for (size_t i = 0; i < count; i++) {
        const ch_store_event *e = &events[i];
        const bool known = isfinite(e->running_s) || isfinite(e->distance_m) || e->starts >= 0 || e->sessions > 0;
        if (e->engine_id != part->engine_id || ch_date_days(e->day) < ch_date_days(today) ||
            ch_date_days(e->day) < ch_date_days(part->fitted) || !known)
            continue;
        to->running_s -= isfinite(e->running_s) ? e->running_s : 0.0;
        to->distance_m -= isfinite(e->distance_m) ? e->distance_m : 0.0;
        to->sessions_1 -= e->sessions > 0 ? (double)e->sessions : (double)CH_STORE_USUAL_SESSIONS;
    }
}

static ch_ready_part ready_part(const ch_store_part rows[], size_t count, const ch_store_part *part,
                                const ch_part_lives *lives)
{
    return (ch_ready_part){.name = part->name,
                           .life = part->life != NULL ? ch_part_life_find(lives, part->life, strlen(part->life)) : NULL,
                           .fitted = first_fitted(rows, count, part),
                           .made = part->made,
                           .until = part->until,
                           .running_s = part->running_s,
                           .distance_m = part->distance_m,
                           .sessions_1 = (double)part->sessions,
                           .part_left_1 = part->part_left_1 > 0.0 ? part->part_left_1 : NAN,
                           .depth_m = part->depth_m > 0.0 ? part->depth_m : NAN,
                           .under_printed = part->under_printed,
                           .distance_alone = part->carried_distance_m > 0.0 && !(part->carried_running_s > 0.0) &&
                                             part->carried_sessions == 0};
}

static ch_status load_parts(ch_store *store, ch_store_pool *pool, int64_t engine_id, const ch_part_lives *lives,
                            ch_date today, ch_store_ready *ready, ch_err *err)
{
    const ch_store_part *rows = NULL;
    const ch_store_event *events = NULL;
    size_t count = 0, events_count = 0;
    store_list list = {.pool = pool, .size = sizeof(ch_ready_part)};
    ch_status rc = engine_id != 0 ? ch_store_parts(store, pool, 0, &rows, &count, err) : CH_OK;
    if (rc >= 0)
        rc = ch_store_events(store, pool, 0, &events, &events_count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++) {
        if (rows[i].engine_id != engine_id || ch_date_given(rows[i].removed))
            continue;
        ch_ready_part *part = store_list_more(&list, err);
        if (part == NULL) {
            rc = CH_E_MEMORY;
            break;
        }
        *part = ready_part(rows, count, &rows[i], lives);
        take_out_planned(&rows[i], events, events_count, today, part);
    }
    ready->part = (ch_ready_part *)(void *)list.rows;
    ready->parts = list.count;
    return rc;
}

/* ---------------------------------------------------------------- what is off, and what is coming */

static ch_status load_open(ch_store *store, ch_store_pool *pool, int64_t car_id, ch_store_ready *ready, ch_err *err)
{
    const ch_store_ledger *rows = NULL;
    size_t count = 0;
    store_list list = {.pool = pool, .size = sizeof(const ch_store_ledger *)};
    ch_status rc = ch_store_ledger_list(store, pool, 0, true, &rows, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++) {
        const bool of_car = rows[i].car_id == car_id;
        const ch_store_ledger **open = of_car ? store_list_more(&list, err) : NULL;
        if (open != NULL)
            *open = &rows[i];
        else if (of_car)
            rc = CH_E_MEMORY;
    }
    ready->open = (const ch_store_ledger **)(void *)list.rows;
    ready->opens = list.count;
    return rc;
}

static ch_status load_work(ch_store *store, ch_store_pool *pool, int64_t car_id, ch_store_ready *ready, ch_err *err)
{
    const ch_store_work *rows = NULL;
    size_t count = 0;
    ch_status rc = ch_store_works(store, pool, car_id, &rows, &count, err);
    if (rc < 0)
        return rc;
    ready->work = store_take(pool, (count + 1) * sizeof *ready->work);
    if (ready->work == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for %zu pieces of work", count);
    for (size_t i = count; i-- > 0;)
        if (rows[i].closed_s == 0 && (rows[i].kind == CH_PLAN_ACCESS || rows[i].done_s == 0))
            ready->work[ready->works++] = &rows[i];
    return CH_OK;
}

/* "One, Another": the names of events on one day, in the pool. */
static ch_status join_names(ch_store_pool *pool, const char *before, const char **name, ch_err *err)
{
    static const char between[] = ", ";
    const size_t size = strlen(before) + sizeof between + strlen(*name);
    char *joined = store_take(pool, size);
    if (joined == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the events of a day");
    snprintf(joined, size, "%s%s%s", before, between, *name);
    *name = joined;
    return CH_OK;
}

/* How fast the car has run over the hours of its events that are behind it, of those that know both; NaN where none does. */
static double usual_speed_m_s(const ch_store_event events[], size_t count, ch_date today)
{
    double running_s = 0.0, distance_m = 0.0;
    for (size_t i = 0; i < count; i++)
        if (ch_date_days(events[i].day) < ch_date_days(today) && events[i].running_s > 0.0 &&
            events[i].distance_m > 0.0) {
            running_s += events[i].running_s;
            distance_m += events[i].distance_m;
        }
    return running_s > 0.0 ? distance_m / running_s : NAN;
}

/* All events of the next day on which there is one: the trailer is loaded once for them, and parts have to last through all. */
static ch_status load_event(ch_store *store, ch_store_pool *pool, int64_t car_id, ch_date today, double usual_event_s,
                            ch_store_ready *ready, ch_err *err)
{
    const ch_store_event *rows = NULL;
    size_t count = 0;
    ch_status rc = ch_store_events(store, pool, car_id, &rows, &count, err);
    ready->event = (ch_ready_event){.running_s = 0.0, .distance_m = 0.0, .sessions_1 = 0.0};
    const double speed_m_s = rc >= 0 ? usual_speed_m_s(rows, count, today) : NAN;
    for (size_t i = 0; rc >= 0 && i < count; i++) {
        const long day = ch_date_days(rows[i].day);
        const bool first = ready->event.name == NULL;
        if (day < ch_date_days(today))
            continue;
        if (!first && day != ch_date_days(ready->event.day))
            break;
        const char *name = rows[i].name;
        if (!first)
            rc = join_names(pool, ready->event.name, &name, err);
        ready->event.day = rows[i].day;
        ready->event.name = name;
        const double running_s = isfinite(rows[i].running_s) ? rows[i].running_s : usual_event_s;
        const double distance_m = isfinite(rows[i].distance_m) ? rows[i].distance_m : running_s * speed_m_s;
        ready->event.running_s += running_s;
        if (first || !isfinite(ready->event.distance_m))
            ready->event.distance_m = distance_m;
        else if (isfinite(distance_m))
            ready->event.distance_m += distance_m;
        ready->event.sessions_1 += rows[i].sessions > 0 ? (double)rows[i].sessions : (double)CH_STORE_USUAL_SESSIONS;
    }
    return rc;
}

ch_status ch_store_ready_load(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_part_lives *lives,
                              ch_date today, double usual_event_s, ch_store_ready *ready, ch_err *err)
{
    ch_store_car car = {0};
    ch_store_ready made = {0};
    ch_status rc = car_id != 0 ? find_car(store, pool, car_id, &car, err) : CH_OK;
    made.car = car.name;
    if (rc >= 0)
        rc = load_parts(store, pool, car.engine_id, lives, today, &made, err);
    if (rc >= 0)
        rc = load_open(store, pool, car_id, &made, err);
    if (rc >= 0 && car_id != 0)
        rc = load_work(store, pool, car_id, &made, err);
    if (rc >= 0 && car_id != 0)
        rc = load_event(store, pool, car_id, today, usual_event_s, &made, err);
    if (rc >= 0)
        *ready = made;
    return rc < 0 ? rc : CH_OK;
}

/* ---------------------------------------------------------------- the engine */

void ch_store_ready_engine(const ch_store_season *season, ch_date today, ch_ready_engine *engine)
{
    ch_ready_standing(season->sheet, season->sheets, season->repair, season->repairs, today, engine);
}

/* ---------------------------------------------------------------- the clutch */

enum { DAY_S = 86400 };

static long day_of_time(int64_t time_s)
{
    return (long)(time_s / DAY_S);
}

static long later_of(long a, long b)
{
    return a > b ? a : b;
}

/* The day from which on a run is of the clutch that is in the car now; LONG_MIN where nothing says that it was renewed. */
static ch_status clutch_since(ch_store *store, ch_store_pool *pool, const ch_store_car *car, long *since, ch_err *err)
{
    const ch_store_part *part = NULL;
    const ch_store_work *work = NULL;
    size_t parts = 0, works = 0;
    *since = LONG_MIN;
    ch_status rc = ch_store_parts(store, pool, 0, &part, &parts, err);
    if (rc >= 0)
        rc = ch_store_works(store, pool, car->id, &work, &works, err);
    if (rc < 0)
        return rc;
    for (size_t i = 0; i < parts; i++)
        if (part[i].engine_id == car->engine_id && part[i].life != NULL &&
            strcmp(part[i].life, CH_STORE_CLUTCH_LIFE) == 0)
            *since = later_of(*since, ch_date_days(first_fitted(part, parts, &part[i])));
    for (size_t i = 0; i < works; i++)
        if (work[i].kind == CH_PLAN_JOB && work[i].closed_s != 0 && strcmp(work[i].name, CH_STORE_CLUTCH_JOB) == 0)
            *since = later_of(*since, day_of_time(work[i].done_s));
    return CH_OK;
}

ch_status ch_store_clutch_run(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_store_run **run,
                              ch_date *day, bool *renewed_that_day, ch_err *err)
{
    const ch_store_run *rows = NULL;
    size_t count = 0;
    ch_store_car car = {0};
    long since = LONG_MIN;
    ch_status rc = car_id != 0 ? find_car(store, pool, car_id, &car, err) : CH_OK;
    if (rc >= 0 && car_id != 0)
        rc = ch_store_runs(store, pool, car_id, &rows, &count, err);
    if (rc >= 0 && count > 0)
        rc = clutch_since(store, pool, &car, &since, err);
    const ch_store_run *newest = NULL;
    ch_date driven = {0};
    for (size_t i = 0; rc >= 0 && newest == NULL && i < count; i++) { /* the newest first */
        driven = ch_date_given(rows[i].day) ? rows[i].day : ch_date_from_days(day_of_time(rows[i].judged_s));
        if (ch_date_days(driven) >= since && !isnan(ch_driveline_slips_1(&rows[i].driveline)))
            newest = &rows[i];
    }
    ch_store_run *whole = rc >= 0 && newest != NULL ? store_take(pool, sizeof *whole) : NULL;
    if (rc >= 0 && newest != NULL)
        rc = whole == NULL ? ch_fail(err, CH_E_MEMORY, NULL, "no memory for the run")
                           : ch_store_run_load(store, pool, newest->id, whole, err);
    if (rc < 0)
        return rc;
    *run = whole;
    if (whole != NULL) {
        *day = driven;
        *renewed_that_day = ch_date_days(driven) == since;
    }
    return CH_OK;
}
