/* Hours and money spent on winter work, and torques from the car's own manual. */
#include <string.h>

#include "crosshatch/store_work.h"
#include "store_parts.h"

static ch_status check_spent(const ch_store_spent *spent, ch_err *err)
{
    ch_status rc = store_text_check("note", spent->note, false, err);
    if (rc >= 0 && !ch_date_given(spent->day))
        rc = ch_fail(err, CH_E_INPUT, "the day, as 2027-01-16", "day: nothing given");
    if (rc >= 0 && (spent->work_us < 0 || spent->work_us > CH_STORE_SPENT_HOURS_MAX * CH_WORK_HOUR))
        rc = ch_fail(err, CH_E_INPUT, "0 to 1000 hours", "hours that cannot be");
    if (rc >= 0 && (spent->money < 0 || spent->money > CH_STORE_SPENT_MONEY_MAX * CH_MONEY_ONE))
        rc = ch_fail(err, CH_E_INPUT, "0 to 10000000", "money that cannot be");
    if (rc >= 0 && spent->work_us == 0 && spent->money == 0)
        rc = ch_fail(err, CH_E_INPUT, "hours, or money, or both", "nothing was spent");
    return rc;
}

ch_status ch_store_spent_add(ch_store *store, const ch_store_spent *spent, const char *client, int64_t now_s,
                             ch_stored *stored, ch_err *err)
{
    ch_stored made = {0};
    bool again = false;
    ch_status rc = check_spent(spent, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_seen(store, "spent", client, &made, &again, err);
    if (rc >= 0 && !again) {
        rc = store_work_must_be(store, spent->work_id, false, err);
        if (rc >= 0)
            rc = store_run(store, err,
                           "INSERT INTO spent (work_id, day, work_us, money, note, client, changed_s)"
                           " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                           "idiitti", spent->work_id, spent->day, spent->work_us, spent->money, spent->note, client,
                           now_s);
        made.id = sqlite3_last_insert_rowid(store->db);
    }
    rc = store_end(store, rc, err);
    if (rc >= 0 && stored != NULL)
        *stored = made;
    return rc;
}

ch_status ch_store_spent_change(ch_store *store, const ch_store_spent *spent, int64_t now_s, ch_err *err)
{
    ch_status rc = check_spent(spent, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_run(store, err,
                   "UPDATE spent SET day = ?2, work_us = ?3, money = ?4, note = ?5, changed_s = ?6"
                   " WHERE id = ?1 AND deleted_s IS NULL",
                   "idiiti", spent->id, spent->day, spent->work_us, spent->money, spent->note, now_s);
    if (rc >= 0)
        rc = store_changed_one(store, "entry of what was spent", spent->id, err);
    return store_end(store, rc, err);
}

ch_status ch_store_spent_delete(ch_store *store, int64_t id, int64_t now_s, ch_err *err)
{
    ch_status rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_run(store, err, "UPDATE spent SET deleted_s = ?2, changed_s = ?2 WHERE id = ?1 AND deleted_s IS NULL",
                   "ii", id, now_s);
    if (rc >= 0)
        rc = store_changed_one(store, "entry of what was spent", id, err);
    return store_end(store, rc, err);
}

ch_status ch_store_spents(ch_store *store, ch_store_pool *pool, int64_t work_id, const ch_store_spent **rows,
                          size_t *count, ch_err *err)
{
    store_list list = {.pool = pool, .size = sizeof(ch_store_spent)};
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(store, &q, err,
                                 "SELECT id, day, work_us, money, note FROM spent"
                                 " WHERE work_id = ?1 AND deleted_s IS NULL ORDER BY day, id",
                                 "i", work_id);
    while (rc >= 0 && (rc = store_step(store, q, &more, err)) >= 0 && more) {
        ch_store_spent *row = store_list_more(&list, err);
        if (row == NULL) {
            rc = CH_E_MEMORY;
            break;
        }
        row->id = sqlite3_column_int64(q, 0);
        row->work_id = work_id;
        row->work_us = sqlite3_column_int64(q, 2);
        row->money = sqlite3_column_int64(q, 3);
        rc = store_date(q, 1, &row->day, err);
        if (rc >= 0)
            rc = store_text(pool, q, 4, &row->note, err);
    }
    store_release(store, q);
    if (rc >= 0) {
        *rows = (const ch_store_spent *)(const void *)list.rows;
        *count = list.count;
    }
    return rc;
}

/* ---- torques ---- */

static const char *const surface_names[CH_THREAD_SURFACES] = {"dry", "zinc", "oiled"};

static ch_status check_torque(const ch_owner_torque *torque, ch_err *err)
{
    ch_thread thread;
    ch_property_class property_class;
    ch_status rc = store_text_check("torque", torque->id, true, err);
    if (rc >= 0)
        rc = store_text_check("note", torque->note, false, err);
    if (rc >= 0 && torque->note != NULL && strlen(torque->note) > CH_TORQUE_NOTE_MAX)
        rc = ch_fail(err, CH_E_INPUT, "at most 160 bytes", "a note of %zu bytes", strlen(torque->note));
    if (rc >= 0 && ch_quantity_given(&torque->torque) &&
        (torque->torque.unit->dimension != CH_DIM_TORQUE || !(torque->torque.si > 0)))
        rc = ch_fail(err, CH_E_INPUT, "above 0, as in 60 Nm", "torque: %s", torque->torque.number);
    if (rc >= 0 && (torque->thread == NULL) != (torque->property_class == NULL))
        rc = ch_fail(err, CH_E_INPUT, "both, as in M10x1.5 and 10.9, or neither",
                     "thread or strength class without the other");
    if (rc >= 0 && torque->thread != NULL && (unsigned)torque->surface >= CH_THREAD_SURFACES)
        rc = ch_fail(err, CH_E_INPUT, "one of ch_thread_surface", "surface: unknown");
    if (rc >= 0 && torque->thread != NULL)
        rc = ch_thread_parse(torque->thread, strlen(torque->thread), &thread, err);
    if (rc >= 0 && torque->property_class != NULL)
        rc = ch_property_class_parse(torque->property_class, strlen(torque->property_class), &property_class, err);
    return rc;
}

ch_status ch_store_torque_set(ch_store *store, int64_t car_id, const ch_owner_torque *torque, int64_t now_s,
                              ch_err *err)
{
    ch_status rc = check_torque(torque, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    const ch_quantity *q = &torque->torque;
    const bool given = ch_quantity_given(q);
    rc = store_must_be(store, "SELECT 1 FROM car WHERE id = ?1 AND deleted_s IS NULL", "car", car_id, err);
    /* What says the same as before is no change. */
    if (rc >= 0)
        rc = store_run(
            store, err,
            "INSERT INTO torque (car_id, name, text, unit, value, note, thread, property_class, surface, changed_s)"
            " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10) ON CONFLICT (car_id, name) DO UPDATE SET"
            " text = excluded.text, unit = excluded.unit, value = excluded.value, note = excluded.note,"
            " thread = excluded.thread, property_class = excluded.property_class, surface = excluded.surface,"
            " changed_s = excluded.changed_s WHERE (text, unit, note, thread, property_class, surface)"
            " IS NOT (excluded.text, excluded.unit, excluded.note, excluded.thread, excluded.property_class,"
            " excluded.surface)",
            "itttrtttti", car_id, torque->id, given ? q->number : NULL, given ? q->unit->name : NULL, q->si,
            torque->note, torque->thread, torque->property_class,
            torque->thread != NULL ? surface_names[torque->surface] : NULL, now_s);
    return store_end(store, rc, err);
}

static ch_status read_torque(sqlite3_stmt *q, ch_store_pool *pool, ch_owner_torque *torque, ch_err *err)
{
    const char *text = NULL, *unit_name = NULL, *surface = NULL;
    const char **const texts[] = {
        &torque->id, &text, &unit_name, &torque->note, &torque->thread, &torque->property_class, &surface};
    ch_status rc = CH_OK;
    for (int i = 0; rc >= 0 && i < 7; i++)
        rc = store_text(pool, q, i, texts[i], err);
    for (int i = 0; rc >= 0 && surface != NULL && i < CH_THREAD_SURFACES; i++)
        if (strcmp(surface, surface_names[i]) == 0)
            torque->surface = (ch_thread_surface)i;
    torque->torque = ch_quantity_none();
    const ch_unit *unit = rc >= 0 && unit_name != NULL ? ch_unit_find(unit_name, strlen(unit_name)) : NULL;
    if (rc >= 0 && text != NULL)
        rc = ch_quantity_parse(text, strlen(text), CH_DIM_TORQUE, unit, &torque->torque, err);
    torque->torque.bare = false; /* a torque is never shown without its unit */
    return rc;
}

ch_status ch_store_torques(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_owner_torque **rows,
                           size_t *count, ch_err *err)
{
    store_list list = {.pool = pool, .size = sizeof(ch_owner_torque)};
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(store, &q, err,
                                 "SELECT name, text, unit, note, thread, property_class, surface FROM torque"
                                 " WHERE car_id = ?1 AND (text IS NOT NULL OR note IS NOT NULL) ORDER BY id",
                                 "i", car_id);
    while (rc >= 0 && (rc = store_step(store, q, &more, err)) >= 0 && more) {
        ch_owner_torque *row = store_list_more(&list, err);
        rc = row == NULL ? CH_E_MEMORY : read_torque(q, pool, row, err);
    }
    store_release(store, q);
    if (rc >= 0) {
        *rows = (const ch_owner_torque *)(const void *)list.rows;
        *count = list.count;
    }
    return rc;
}
