/* Events: days on which the engine ran or will; and the parts that collect hours, distance and starts from them. */
#include <math.h>
#include <string.h>

#include "store_parts.h"

static ch_status check_event(const ch_store_event *event, ch_err *err)
{
    ch_status rc = store_text_check("name", event->name, true, err);
    if (rc >= 0)
        rc = store_text_check("note", event->note, false, err);
    if (rc >= 0 && !ch_date_given(event->day))
        rc = ch_fail(err, CH_E_INPUT, "the day, as 2027-01-16", "day: nothing given");
    if (rc >= 0 && (event->running_s < 0 || event->distance_m < 0 || event->starts < -1 || event->sessions < 0 ||
                    isinf(event->running_s) || isinf(event->distance_m)))
        rc = ch_fail(err, CH_E_INPUT, "0 or more, or left open", "hours, distance or starts that cannot be");
    return rc;
}

/* The life that ran on that day, of the car; 0 where the garage knows none. */
static ch_status engine_of_day(ch_store *st, const ch_store_event *event, int64_t *engine_id, ch_err *err)
{
    if (event->engine_id == 0)
        return ch_store_engine_on(st, event->car_id, event->day, engine_id, err);
    ch_status rc = store_number(st, engine_id, 0, err, "SELECT id FROM engine WHERE id = ?1 AND car_id = ?2", "ii",
                                event->engine_id, event->car_id);
    if (rc >= 0 && *engine_id == 0)
        rc = ch_fail(err, CH_E_INPUT, NULL, "the car has no engine with the id %lld", (long long)event->engine_id);
    return rc;
}

ch_status ch_store_event_add(ch_store *store, const ch_store_event *event, const char *client, int64_t now_s,
                             ch_stored *stored, ch_err *err)
{
    ch_stored made = {0};
    bool again = false;
    int64_t engine_id = 0;
    ch_status rc = check_event(event, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_seen(store, "event", client, &made, &again, err);
    if (rc >= 0 && !again) {
        rc = store_must_be(store, "SELECT 1 FROM car WHERE id = ?1 AND deleted_s IS NULL", "car", event->car_id, err);
        if (rc >= 0)
            rc = engine_of_day(store, event, &engine_id, err);
        if (rc >= 0)
            rc = store_run(store, err,
                           "INSERT INTO event (car_id, engine_id, day, name, note, running_s, distance_m, starts, "
                           "sessions, client, changed_s) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7,"
                           " CASE WHEN ?8 >= 0 THEN ?8 END, CASE WHEN ?9 > 0 THEN ?9 END, ?10, ?11)",
                           "indttrriiti", event->car_id, engine_id, event->day, event->name, event->note,
                           event->running_s, event->distance_m, event->starts, event->sessions, client, now_s);
        made.id = sqlite3_last_insert_rowid(store->db);
    }
    rc = store_end(store, rc, err);
    if (rc >= 0 && stored != NULL)
        *stored = made;
    return rc;
}

ch_status ch_store_event_change(ch_store *store, const ch_store_event *event, int64_t now_s, ch_err *err)
{
    int64_t engine_id = 0;
    ch_store_event changed = *event;
    ch_status rc = check_event(event, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_number(store, &changed.car_id, 0, err, "SELECT car_id FROM event WHERE id = ?1 AND deleted_s IS NULL",
                      "i", event->id);
    if (rc >= 0 && changed.car_id == 0)
        rc = ch_fail(err, CH_E_INPUT, NULL, "there is no event with the id %lld", (long long)event->id);
    if (rc >= 0)
        rc = engine_of_day(store, &changed, &engine_id, err);
    if (rc >= 0)
        rc = store_run(
            store, err,
            "UPDATE event SET engine_id = ?2, day = ?3, name = ?4, note = ?5, running_s = ?6, distance_m = ?7,"
            " starts = CASE WHEN ?8 >= 0 THEN ?8 END, sessions = CASE WHEN ?9 > 0 THEN ?9 END, changed_s = ?10 WHERE "
            "id = ?1",
            "indttrriii", event->id, engine_id, event->day, event->name, event->note, event->running_s,
            event->distance_m, event->starts, event->sessions, now_s);
    return store_end(store, rc, err);
}

ch_status ch_store_event_delete(ch_store *store, int64_t id, int64_t now_s, ch_err *err)
{
    ch_status rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_run(store, err, "UPDATE event SET deleted_s = ?2, changed_s = ?2 WHERE id = ?1 AND deleted_s IS NULL",
                   "ii", id, now_s);
    if (rc >= 0)
        rc = store_changed_one(store, "event", id, err);
    return store_end(store, rc, err);
}

/* Earlier versions left what was planned with a life that ended before it: the one that follows runs it. */
#define FOLLOWING                                                                                                      \
    "(SELECT n.id FROM engine n WHERE n.car_id = v.car_id AND " STORE_LIVED_ON(                                        \
        "n", "v.day") " ORDER BY n.begun_day DESC, n.id DESC LIMIT 1)"
#define RUN_BY "CASE WHEN e.ended_day < v.day THEN coalesce(" FOLLOWING ", v.engine_id) ELSE v.engine_id END"

ch_status ch_store_events(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_store_event **rows,
                          size_t *count, ch_err *err)
{
    store_list list = {.pool = pool, .size = sizeof(ch_store_event)};
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(store, &q, err,
                                 "SELECT v.id, v.car_id, " RUN_BY ", v.day, v.name, v.note, v.running_s, v.distance_m,"
                                 " coalesce(v.starts, -1), coalesce(v.sessions, 0)"
                                 " FROM event v LEFT JOIN engine e ON e.id = v.engine_id"
                                 " WHERE v.deleted_s IS NULL AND (?1 = 0 OR v.car_id = ?1) ORDER BY v.day, v.id",
                                 "i", car_id);
    while (rc >= 0 && (rc = store_step(store, q, &more, err)) >= 0 && more) {
        ch_store_event *e = store_list_more(&list, err);
        if (e == NULL) {
            rc = CH_E_MEMORY;
            break;
        }
        e->id = sqlite3_column_int64(q, 0);
        e->car_id = sqlite3_column_int64(q, 1);
        e->engine_id = sqlite3_column_int64(q, 2);
        e->running_s = store_real(q, 6);
        e->distance_m = store_real(q, 7);
        e->starts = sqlite3_column_int64(q, 8);
        e->sessions = sqlite3_column_int64(q, 9);
        rc = store_date(q, 3, &e->day, err);
        if (rc >= 0)
            rc = store_text(pool, q, 4, &e->name, err);
        if (rc >= 0)
            rc = store_text(pool, q, 5, &e->note, err);
    }
    store_release(store, q);
    if (rc >= 0) {
        *rows = (const ch_store_event *)(const void *)list.rows;
        *count = list.count;
    }
    return rc;
}

/* ---- parts ---- */

static ch_status check_part(const ch_store_part *part, ch_err *err)
{
    ch_status rc = store_text_check("name", part->name, true, err);
    if (rc >= 0)
        rc = store_text_check("note", part->note, false, err);
    if (rc >= 0 && !ch_date_given(part->fitted))
        rc = ch_fail(err, CH_E_INPUT, "the day, as 2027-01-16", "fitted: nothing given");
    if (rc >= 0 && ch_date_given(part->removed) && ch_date_days(part->removed) < ch_date_days(part->fitted))
        rc = ch_fail(err, CH_E_INPUT, "a day not before that", "removed: before it was fitted");
    if (rc >= 0 && (!(part->carried_running_s >= 0) || !(part->carried_distance_m >= 0) || part->carried_starts < 0 ||
                    part->carried_sessions < 0 || isinf(part->carried_running_s) || isinf(part->carried_distance_m)))
        rc = ch_fail(err, CH_E_INPUT, "0 or more", "hours, distance or starts that cannot be");
    if (rc >= 0 &&
        (!(part->part_left_1 >= 0 && part->part_left_1 <= 1.5) || !(part->depth_m >= 0 && part->depth_m <= 0.1)))
        rc = ch_fail(err, CH_E_INPUT, "what is left of the thickness, up to 150 %, or a depth up to 100 mm",
                     "a thickness that cannot be");
    return rc < 0 ? rc : store_text_check("life", part->life, false, err);
}

ch_status ch_store_part_add(ch_store *store, const ch_store_part *part, const char *client, int64_t now_s,
                            ch_stored *stored, ch_err *err)
{
    ch_stored made = {0};
    bool again = false;
    ch_status rc = check_part(part, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_seen(store, "part", client, &made, &again, err);
    if (rc >= 0 && !again) {
        rc = store_must_be(store, "SELECT 1 FROM engine WHERE id = ?1", "engine", part->engine_id, err);
        if (rc >= 0)
            rc = store_run(store, err,
                           "INSERT INTO part (engine_id, name, note, fitted_day, removed_day, carried_running_s, "
                           "carried_distance_m, carried_starts, carried_sessions, life, made_day, until_day, "
                           "part_left_1, depth_m, under_printed, client, changed_s) VALUES (?1, ?2, ?3, ?4, ?5, ?6, "
                           "?7, ?8, ?9, ?10, ?11, ?12, nullif(?13, 0.0), nullif(?14, 0.0), ?15, ?16, ?17)",
                           "ittddrriitddrriti", part->engine_id, part->name, part->note, part->fitted, part->removed,
                           part->carried_running_s, part->carried_distance_m, part->carried_starts,
                           part->carried_sessions, part->life, part->made, part->until, part->part_left_1,
                           part->depth_m, (int64_t)part->under_printed, client, now_s);
        made.id = sqlite3_last_insert_rowid(store->db);
    }
    rc = store_end(store, rc, err);
    if (rc >= 0 && stored != NULL)
        *stored = made;
    return rc;
}

ch_status ch_store_part_change(ch_store *store, const ch_store_part *part, int64_t now_s, ch_err *err)
{
    ch_status rc = check_part(part, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_run(store, err,
                   "UPDATE part SET name = ?2, note = ?3, fitted_day = ?4, removed_day = ?5, carried_running_s = ?6,"
                   " carried_distance_m = ?7, carried_starts = ?8, carried_sessions = ?9, life = ?10, made_day = ?11,"
                   " until_day = ?12, part_left_1 = nullif(?13, 0.0), depth_m = nullif(?14, 0.0), under_printed = ?15,"
                   " changed_s = ?16 WHERE id = ?1 AND deleted_s IS NULL",
                   "ittddrriitddrrii", part->id, part->name, part->note, part->fitted, part->removed,
                   part->carried_running_s, part->carried_distance_m, part->carried_starts, part->carried_sessions,
                   part->life, part->made, part->until, part->part_left_1, part->depth_m, (int64_t)part->under_printed,
                   now_s);
    if (rc >= 0)
        rc = store_changed_one(store, "part", part->id, err);
    return store_end(store, rc, err);
}

ch_status ch_store_part_delete(ch_store *store, int64_t id, int64_t now_s, ch_err *err)
{
    ch_status rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_run(store, err, "UPDATE part SET deleted_s = ?2, changed_s = ?2 WHERE id = ?1 AND deleted_s IS NULL",
                   "ii", id, now_s);
    if (rc >= 0)
        rc = store_changed_one(store, "part", id, err);
    return store_end(store, rc, err);
}

static ch_status read_part(sqlite3_stmt *q, ch_store_pool *pool, ch_store_part *p, ch_err *err)
{
    p->id = sqlite3_column_int64(q, 0);
    p->engine_id = sqlite3_column_int64(q, 1);
    p->continues_id = sqlite3_column_int64(q, 2);
    p->carried_running_s = sqlite3_column_double(q, 7);
    p->carried_distance_m = sqlite3_column_double(q, 8);
    p->carried_starts = sqlite3_column_int64(q, 9);
    p->running_s = p->carried_running_s + sqlite3_column_double(q, 10);
    p->distance_m = p->carried_distance_m + sqlite3_column_double(q, 11);
    p->starts = p->carried_starts + sqlite3_column_int64(q, 12);
    p->carried_sessions = sqlite3_column_int64(q, 13);
    p->sessions = p->carried_sessions + sqlite3_column_int64(q, 14);
    p->part_left_1 = sqlite3_column_double(q, 18);
    p->depth_m = sqlite3_column_double(q, 19);
    p->under_printed = sqlite3_column_int64(q, 20) != 0;
    static const int columns[] = {5, 6, 16, 17};
    ch_date *const days[] = {&p->fitted, &p->removed, &p->made, &p->until};
    ch_status rc = CH_OK;
    for (int i = 0; rc >= 0 && i < 4; i++)
        rc = store_date(q, columns[i], days[i], err);
    if (rc >= 0)
        rc = store_text(pool, q, 3, &p->name, err);
    if (rc >= 0)
        rc = store_text(pool, q, 4, &p->note, err);
    return rc < 0 ? rc : store_text(pool, q, 15, &p->life, err);
}

ch_status ch_store_parts(ch_store *store, ch_store_pool *pool, int64_t engine_id, const ch_store_part **rows,
                         size_t *count, ch_err *err)
{
    store_list list = {.pool = pool, .size = sizeof(ch_store_part)};
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(
        store, &q, err,
        "SELECT p.id, p.engine_id, p.continues_id, p.name, p.note, p.fitted_day, p.removed_day,"
        " p.carried_running_s, p.carried_distance_m, p.carried_starts,"
        " total(v.running_s), total(v.distance_m), sum(v.starts), coalesce(p.carried_sessions, 0),"
        /* A planned event has not run yet: it is known by having neither hours nor starts nor sessions. */
        " sum(CASE WHEN coalesce(v.running_s, v.distance_m, v.starts, v.sessions) IS NOT NULL"
        "  THEN coalesce(v.sessions, ?2) END), p.life, p.made_day, p.until_day, p.part_left_1, p.depth_m, "
        "p.under_printed"
        " FROM part p JOIN engine e ON e.id = p.engine_id"
        " LEFT JOIN event v ON v.engine_id = p.engine_id AND v.deleted_s IS NULL AND v.day >= p.fitted_day"
        "  AND (p.removed_day IS NULL OR v.day < p.removed_day"
        "   OR v.day = p.removed_day AND e.ended_day = p.removed_day)"
        " WHERE p.deleted_s IS NULL AND (?1 = 0 OR p.engine_id = ?1) GROUP BY p.id ORDER BY p.id",
        "ii", engine_id, (int64_t)CH_STORE_USUAL_SESSIONS);
    while (rc >= 0 && (rc = store_step(store, q, &more, err)) >= 0 && more) {
        ch_store_part *part = store_list_more(&list, err);
        rc = part == NULL ? CH_E_MEMORY : read_part(q, pool, part, err);
    }
    store_release(store, q);
    if (rc >= 0) {
        *rows = (const ch_store_part *)(const void *)list.rows;
        *count = list.count;
    }
    return rc;
}
