/* Cars, the lives of their engines, and gauges. */
#include "crosshatch/store_car.h"

#include <string.h>

#include "store_parts.h"

static ch_status check_named(const char *name, const char *note, ch_err *err)
{
    const ch_status rc = store_text_check("name", name, true, err);
    return rc < 0 ? rc : store_text_check("note", note, false, err);
}

/* ---- cars ---- */

/* The caller has begun. */
static ch_status add_car(ch_store *st, const ch_store_car *car, const char *client, int64_t now_s, ch_stored *made,
                         ch_err *err)
{
    bool again = false;
    ch_status rc = store_seen(st, "car", client, made, &again, err);
    if (rc < 0 || again)
        return rc;
    rc = store_run(st, err, "INSERT INTO car (name, note, client, changed_s) VALUES (?1, ?2, ?3, ?4)", "ttti",
                   car->name, car->note, client, now_s);
    made->id = sqlite3_last_insert_rowid(st->db);
    return rc;
}

ch_status ch_store_car_add(ch_store *store, const ch_store_car *car, const char *client, int64_t now_s,
                           ch_stored *stored, ch_err *err)
{
    ch_stored made = {0};
    ch_status rc = check_named(car->name, car->note, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_end(store, add_car(store, car, client, now_s, &made, err), err);
    if (rc >= 0 && stored != NULL)
        *stored = made;
    return rc;
}

/* One UPDATE that must meet one row. */
static ch_status finish_change(ch_store *st, ch_status rc, const char *what, int64_t id, ch_err *err)
{
    if (rc >= 0)
        rc = store_changed_one(st, what, id, err);
    return store_end(st, rc, err);
}

ch_status ch_store_car_change(ch_store *store, const ch_store_car *car, int64_t now_s, ch_err *err)
{
    ch_status rc = check_named(car->name, car->note, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc =
        store_run(store, err, "UPDATE car SET name = ?2, note = ?3, changed_s = ?4 WHERE id = ?1 AND deleted_s IS NULL",
                  "itti", car->id, car->name, car->note, now_s);
    return finish_change(store, rc, "car", car->id, err);
}

ch_status ch_store_car_delete(ch_store *store, int64_t id, int64_t now_s, ch_err *err)
{
    ch_status rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_run(store, err, "UPDATE car SET deleted_s = ?2, changed_s = ?2 WHERE id = ?1 AND deleted_s IS NULL",
                   "ii", id, now_s);
    return finish_change(store, rc, "car", id, err);
}

ch_status ch_store_cars(ch_store *store, ch_store_pool *pool, const ch_store_car **rows, size_t *count, ch_err *err)
{
    store_list list = {.pool = pool, .size = sizeof(ch_store_car)};
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(store, &q, err,
                                 "SELECT c.id, c.name, c.note, e.id FROM car c"
                                 " LEFT JOIN engine e ON e.car_id = c.id AND e.ended_day IS NULL"
                                 " WHERE c.deleted_s IS NULL ORDER BY c.id",
                                 "");
    while (rc >= 0 && (rc = store_step(store, q, &more, err)) >= 0 && more) {
        ch_store_car *car = store_list_more(&list, err);
        rc = car == NULL ? CH_E_MEMORY : store_text(pool, q, 1, &car->name, err);
        if (rc >= 0)
            rc = store_text(pool, q, 2, &car->note, err);
        if (car != NULL) {
            car->id = sqlite3_column_int64(q, 0);
            car->engine_id = sqlite3_column_int64(q, 3);
        }
    }
    store_release(store, q);
    if (rc >= 0) {
        *rows = (const ch_store_car *)(const void *)list.rows;
        *count = list.count;
    }
    return rc;
}

/* ---- engines ---- */

static const char *const why_names[] = {"first", "rebuild", "swap"};

/* Parts still fitted to the continued life go on in the new one, with what they have run so far. */
static ch_status carry_part(ch_store *st, const ch_store_part *part, int64_t engine_id, bool renewed, ch_date day,
                            int64_t now_s, ch_err *err)
{
    const bool on = !renewed;
    ch_status rc = store_run(
        st, err,
        "INSERT INTO part (engine_id, continues_id, name, note, fitted_day, carried_running_s,"
        " carried_distance_m, carried_starts, carried_sessions, life, made_day, until_day, part_left_1, depth_m,"
        " under_printed, changed_s) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12,"
        " nullif(?13, 0.0), nullif(?14, 0.0), ?15, ?16)",
        "inttdrriitddrrii", engine_id, on ? part->id : (int64_t)0, part->name, on ? part->note : NULL, day,
        on ? part->running_s : 0.0, on ? part->distance_m : 0.0, on ? part->starts : (int64_t)0,
        on ? part->sessions : (int64_t)0, part->life, on ? part->made : (ch_date){0}, on ? part->until : (ch_date){0},
        on ? part->part_left_1 : 0.0, on ? part->depth_m : 0.0, (int64_t)(on && part->under_printed), now_s);
    if (rc >= 0)
        rc = store_run(st, err, "UPDATE part SET removed_day = max(?2, fitted_day), changed_s = ?3 WHERE id = ?1",
                       "idi", part->id, day, now_s);
    return rc;
}

static ch_status carry_parts(ch_store *st, int64_t from_id, int64_t engine_id, const int64_t renewed[], size_t count,
                             ch_date day, int64_t now_s, ch_err *err)
{
    ch_store_pool pool = {0};
    const ch_store_part *parts = NULL;
    size_t parts_count = 0, met = 0;
    ch_status rc = ch_store_parts(st, &pool, from_id, &parts, &parts_count, err);
    for (size_t i = 0; rc >= 0 && i < parts_count; i++) {
        bool is_renewed = false;
        if (ch_date_given(parts[i].removed))
            continue;
        for (size_t k = 0; k < count; k++)
            is_renewed = is_renewed || renewed[k] == parts[i].id;
        met += is_renewed;
        rc = carry_part(st, &parts[i], engine_id, is_renewed, day, now_s, err);
    }
    if (rc >= 0 && met != count)
        rc = ch_fail(err, CH_E_INPUT, "ids of parts fitted to the life that this one continues, each once",
                     "%zu renewed parts named, %zu are fitted", count, met);
    ch_store_pool_clear(&pool);
    return rc;
}

/* *present: the life that was ended; 0 where the car had no engine. */
static ch_status end_present_life(ch_store *st, const ch_store_engine *e, int64_t now_s, int64_t *present, ch_err *err)
{
    int64_t later = 0;
    ch_status rc = store_must_be(st, "SELECT 1 FROM car WHERE id = ?1 AND deleted_s IS NULL", "car", e->car_id, err);
    if (rc >= 0)
        rc = store_number(st, present, 0, err, "SELECT id FROM engine WHERE car_id = ?1 AND ended_day IS NULL", "i",
                          e->car_id);
    if (rc >= 0)
        rc = store_number(st, &later, 0, err,
                          "SELECT count(*) FROM engine WHERE car_id = ?1 AND begun_day > ?2 AND why <> 'first'", "id",
                          e->car_id, e->begun);
    if (rc >= 0 && later > 0)
        return ch_fail(err, CH_E_INPUT, "a day that is not before that",
                       "an engine's life of this car has begun later");
    if (rc >= 0 && *present != 0)
        /* The day on which a first life began is the day on which the car was entered: it may have ended before that. */
        rc = store_run(st, err,
                       "UPDATE engine SET ended_day = ?2, begun_day = min(begun_day, ?2), changed_s = ?3 WHERE id = ?1",
                       "idi", *present, e->begun, now_s);
    return rc;
}

/*
 * What was entered ahead for the life that has ended is run by the one that follows it, and a test since then, entered before the new life was, is the
 * new one's. The last day stays the old life's own, as do parts' last days.
 */
static ch_status hand_on(ch_store *st, int64_t ended_id, int64_t engine_id, ch_date day, int64_t now_s, ch_err *err)
{
    ch_status rc = store_run(st, err,
                             "UPDATE event SET engine_id = ?2, changed_s = ?4"
                             " WHERE engine_id = ?1 AND day > ?3 AND deleted_s IS NULL",
                             "iidi", ended_id, engine_id, day, now_s);
    if (rc >= 0)
        rc = store_run(st, err,
                       "UPDATE sheet SET engine_id = ?2, changed_s = ?4 WHERE engine_id = ?1 AND deleted_s IS NULL"
                       " AND (SELECT text FROM field WHERE sheet_id = sheet.id AND name = 'conditions.date') > ?3",
                       "iidi", ended_id, engine_id, day, now_s);
    return rc;
}

static ch_status describe(ch_store *st, const ch_store_engine *e, int64_t id, const ch_sheet *described, int64_t now_s,
                          ch_err *err)
{
    if (described != NULL)
        return store_fields_put(st, STORE_OF_ENGINE, id, described, now_s, err);
    if (e->continues_id == 0)
        return CH_OK;
    return store_run(st, err,
                     "INSERT INTO field (engine_id, name, text, unit, bare, value, changed_s)"
                     " SELECT ?1, name, text, unit, bare, value, ?3 FROM field WHERE engine_id = ?2 AND text IS NOT "
                     "NULL ORDER BY id",
                     "iii", id, e->continues_id, now_s);
}

static ch_status begin_life(ch_store *st, const ch_store_engine *e, const int64_t renewed[], size_t count,
                            const ch_sheet *described, const char *client, int64_t now_s, ch_stored *made, ch_err *err)
{
    bool again = false;
    int64_t ended_id = 0;
    ch_status rc = store_seen(st, "engine", client, made, &again, err);
    if (rc < 0 || again)
        return rc;
    rc = end_present_life(st, e, now_s, &ended_id, err);
    if (rc >= 0 && e->continues_id != 0)
        rc = store_must_be(st, "SELECT 1 FROM engine WHERE id = ?1 AND ended_day IS NOT NULL", "ended engine life",
                           e->continues_id, err);
    if (rc >= 0)
        rc = store_run(st, err,
                       "INSERT INTO engine (car_id, continues_id, name, note, why, begun_day, client, changed_s)"
                       " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
                       "intttdti", e->car_id, e->continues_id, e->name, e->note, why_names[e->why], e->begun, client,
                       now_s);
    made->id = sqlite3_last_insert_rowid(st->db);
    if (rc >= 0)
        rc = describe(st, e, made->id, described, now_s, err);
    if (rc >= 0 && ended_id != 0)
        rc = hand_on(st, ended_id, made->id, e->begun, now_s, err);
    if (rc >= 0 && (e->continues_id != 0 || count > 0))
        rc = carry_parts(st, e->continues_id != 0 ? e->continues_id : -1, made->id, renewed, count, e->begun, now_s,
                         err);
    return rc;
}

static ch_status check_life(const ch_store_engine *engine, const ch_sheet *described, ch_err *err)
{
    ch_status rc = check_named(engine->name, engine->note, err);
    if (rc >= 0 && !ch_date_given(engine->begun))
        rc = ch_fail(err, CH_E_INPUT, "the day, as 2027-01-16", "begun: nothing given");
    if (rc >= 0 && (unsigned)engine->why > CH_STORE_SWAP)
        rc = ch_fail(err, CH_E_INPUT, "one of ch_store_why", "why: unknown");
    return rc < 0 || described == NULL ? rc : store_fields_check(STORE_OF_ENGINE, described, err);
}

ch_status ch_store_engine_begin(ch_store *store, const ch_store_engine *engine, const int64_t renewed[], size_t count,
                                const ch_sheet *described, const char *client, int64_t now_s, ch_stored *stored,
                                ch_err *err)
{
    ch_stored made = {0};
    ch_status rc = check_life(engine, described, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = begin_life(store, engine, renewed, count, described, client, now_s, &made, err);
    rc = store_end(store, rc, err);
    if (rc >= 0 && stored != NULL)
        *stored = made;
    return rc;
}

ch_status ch_store_car_enter(ch_store *store, const ch_store_car *car, const ch_store_engine *engine,
                             const ch_sheet *described, const char *client, int64_t now_s, ch_stored *stored,
                             ch_err *err)
{
    ch_stored made = {0}, made_engine = {0};
    ch_store_engine first = *engine;
    ch_status rc = check_named(car->name, car->note, err);
    if (rc >= 0)
        rc = check_life(engine, described, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = add_car(store, car, client, now_s, &made, err);
    first.car_id = made.id;
    if (rc >= 0)
        rc = begin_life(store, &first, NULL, 0, described, client, now_s, &made_engine, err);
    rc = store_end(store, rc, err);
    if (rc >= 0 && stored != NULL)
        *stored = made;
    return rc;
}

ch_status ch_store_engine_change(ch_store *store, const ch_store_engine *engine, int64_t now_s, ch_err *err)
{
    ch_status rc = check_named(engine->name, engine->note, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_run(store, err, "UPDATE engine SET name = ?2, note = ?3, changed_s = ?4 WHERE id = ?1", "itti",
                   engine->id, engine->name, engine->note, now_s);
    return finish_change(store, rc, "engine", engine->id, err);
}

ch_status ch_store_engine_describe(ch_store *store, int64_t id, const ch_sheet *described, int64_t now_s, ch_err *err)
{
    ch_status rc = store_fields_check(STORE_OF_ENGINE, described, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_must_be(store, "SELECT 1 FROM engine WHERE id = ?1", "engine", id, err);
    if (rc >= 0)
        rc = store_fields_put(store, STORE_OF_ENGINE, id, described, now_s, err);
    return store_end(store, rc, err);
}

ch_status ch_store_engine_load(ch_store *store, int64_t id, ch_sheet *sheet, ch_err *err)
{
    ch_sheet made;
    ch_sheet_init(&made);
    ch_status rc = store_must_be(store, "SELECT 1 FROM engine WHERE id = ?1", "engine", id, err);
    if (rc >= 0)
        rc = store_fields_get(store, STORE_OF_ENGINE, id, &made, err);
    if (rc >= 0) {
        sheet->engine = made.engine; /* owns no memory */
        memcpy(sheet->typed.compression_ratio, made.typed.compression_ratio, sizeof sheet->typed.compression_ratio);
    }
    ch_sheet_clear(&made);
    return rc;
}

static ch_status read_engine(sqlite3_stmt *q, ch_store_pool *pool, ch_store_engine *e, ch_err *err)
{
    const char *why = NULL;
    ch_status rc = store_said(q, 5, &why, err);
    for (int i = 0; rc >= 0 && i <= CH_STORE_SWAP; i++)
        if (strcmp(why, why_names[i]) == 0)
            e->why = (ch_store_why)i;
    e->id = sqlite3_column_int64(q, 0);
    e->car_id = sqlite3_column_int64(q, 1);
    e->continues_id = sqlite3_column_int64(q, 2);
    e->running_s = sqlite3_column_double(q, 8);
    e->distance_m = sqlite3_column_double(q, 9);
    e->starts = sqlite3_column_int64(q, 10);
    if (rc >= 0)
        rc = store_date(q, 6, &e->begun, err);
    if (rc >= 0)
        rc = store_date(q, 7, &e->ended, err);
    if (rc >= 0)
        rc = store_text(pool, q, 3, &e->name, err);
    return rc < 0 ? rc : store_text(pool, q, 4, &e->note, err);
}

ch_status ch_store_engines(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_store_engine **rows,
                           size_t *count, ch_err *err)
{
    store_list list = {.pool = pool, .size = sizeof(ch_store_engine)};
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc =
        store_prepare(store, &q, err,
                      "SELECT e.id, e.car_id, e.continues_id, e.name, e.note, e.why, e.begun_day, e.ended_day,"
                      " total(v.running_s), total(v.distance_m), sum(v.starts)"
                      " FROM engine e LEFT JOIN event v ON v.engine_id = e.id AND v.deleted_s IS NULL"
                      " WHERE (?1 = 0 OR e.car_id = ?1) GROUP BY e.id ORDER BY e.begun_day, e.id",
                      "i", car_id);
    while (rc >= 0 && (rc = store_step(store, q, &more, err)) >= 0 && more) {
        ch_store_engine *engine = store_list_more(&list, err);
        rc = engine == NULL ? CH_E_MEMORY : read_engine(q, pool, engine, err);
    }
    store_release(store, q);
    if (rc >= 0) {
        *rows = (const ch_store_engine *)(const void *)list.rows;
        *count = list.count;
    }
    return rc;
}

/* ---- gauges ---- */

ch_status ch_store_gauge_add(ch_store *store, const ch_store_gauge *gauge, const ch_sheet *described,
                             const char *client, int64_t now_s, ch_stored *stored, ch_err *err)
{
    ch_stored made = {0};
    bool again = false;
    ch_status rc = check_named(gauge->name, gauge->note, err);
    if (rc >= 0 && described != NULL)
        rc = store_fields_check(STORE_OF_GAUGE, described, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_seen(store, "gauge", client, &made, &again, err);
    if (rc >= 0 && !again) {
        rc = store_run(store, err, "INSERT INTO gauge (name, note, client, changed_s) VALUES (?1, ?2, ?3, ?4)", "ttti",
                       gauge->name, gauge->note, client, now_s);
        made.id = sqlite3_last_insert_rowid(store->db);
        if (rc >= 0 && described != NULL)
            rc = store_fields_put(store, STORE_OF_GAUGE, made.id, described, now_s, err);
    }
    rc = store_end(store, rc, err);
    if (rc >= 0 && stored != NULL)
        *stored = made;
    return rc;
}

ch_status ch_store_gauge_change(ch_store *store, const ch_store_gauge *gauge, const ch_sheet *described, int64_t now_s,
                                ch_err *err)
{
    ch_status rc = check_named(gauge->name, gauge->note, err);
    if (rc >= 0 && described != NULL)
        rc = store_fields_check(STORE_OF_GAUGE, described, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_run(store, err,
                   "UPDATE gauge SET name = ?2, note = ?3, changed_s = ?4 WHERE id = ?1 AND deleted_s IS NULL", "itti",
                   gauge->id, gauge->name, gauge->note, now_s);
    if (rc >= 0)
        rc = store_changed_one(store, "gauge", gauge->id, err);
    if (rc >= 0 && described != NULL)
        rc = store_fields_put(store, STORE_OF_GAUGE, gauge->id, described, now_s, err);
    return store_end(store, rc, err);
}

ch_status ch_store_gauge_delete(ch_store *store, int64_t id, int64_t now_s, ch_err *err)
{
    ch_status rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_run(store, err, "UPDATE gauge SET deleted_s = ?2, changed_s = ?2 WHERE id = ?1 AND deleted_s IS NULL",
                   "ii", id, now_s);
    return finish_change(store, rc, "gauge", id, err);
}

ch_status ch_store_gauge_load(ch_store *store, int64_t id, ch_sheet *sheet, ch_err *err)
{
    ch_sheet made;
    ch_sheet_init(&made);
    ch_status rc = store_must_be(store, "SELECT 1 FROM gauge WHERE id = ?1", "gauge", id, err);
    if (rc >= 0)
        rc = store_fields_get(store, STORE_OF_GAUGE, id, &made, err);
    if (rc >= 0)
        sheet->gauge = made.gauge; /* owns no memory */
    ch_sheet_clear(&made);
    return rc;
}

ch_status ch_store_gauges(ch_store *store, ch_store_pool *pool, const ch_store_gauge **rows, size_t *count, ch_err *err)
{
    store_list list = {.pool = pool, .size = sizeof(ch_store_gauge)};
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc =
        store_prepare(store, &q, err, "SELECT id, name, note FROM gauge WHERE deleted_s IS NULL ORDER BY id", "");
    while (rc >= 0 && (rc = store_step(store, q, &more, err)) >= 0 && more) {
        ch_store_gauge *gauge = store_list_more(&list, err);
        rc = gauge == NULL ? CH_E_MEMORY : store_text(pool, q, 1, &gauge->name, err);
        if (rc >= 0)
            rc = store_text(pool, q, 2, &gauge->note, err);
        if (gauge != NULL)
            gauge->id = sqlite3_column_int64(q, 0);
    }
    store_release(store, q);
    if (rc >= 0) {
        *rows = (const ch_store_gauge *)(const void *)list.rows;
        *count = list.count;
    }
    return rc;
}

ch_status ch_store_engine_on(ch_store *store, int64_t car_id, ch_date day, int64_t *engine_id, ch_err *err)
{
    return store_number(
        store, engine_id, 0, err,
        "SELECT id FROM engine WHERE car_id = ?1 AND CASE WHEN ?2 IS NULL"
        " THEN (SELECT count(*) FROM engine WHERE car_id = ?1) = 1"
        " ELSE " STORE_LIVED_ON("engine", "?2") " END ORDER BY begun_day <= ?2 DESC, begun_day DESC, id DESC LIMIT 1",
        "id", car_id, day);
}
