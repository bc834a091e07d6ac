/*
 * The put-back ledger, and photos: what was taken off, where it came from and lies, and whether it is back. Each belongs to a sheet or to a piece
 * of winter work.
 */
#include <stdio.h>
#include <string.h>

#include "store_parts.h"

static ch_status check_texts(const ch_store_ledger *l, ch_err *err)
{
    ch_status rc = store_text_check("what", l->what, true, err);
    if (rc >= 0)
        rc = store_text_check("where it came from", l->origin, false, err);
    if (rc >= 0)
        rc = store_text_check("where it lies", l->lies, false, err);
    if (rc >= 0)
        rc = store_text_check("torque", l->torque, false, err);
    if (rc >= 0)
        rc = store_text_check("note", l->note, false, err);
    return rc;
}

/* What it belongs to must be there and, where `open`, not closed. Counts the change of a sheet. */
static ch_status touch_owner(ch_store *st, int64_t sheet_id, int64_t work_id, bool open, ch_err *err)
{
    return sheet_id == 0 && work_id != 0 ? store_work_must_be(st, work_id, open, err)
                                         : store_sheet_touch(st, sheet_id, open, err);
}

ch_status ch_store_ledger_add(ch_store *store, int64_t sheet_id, const ch_store_ledger *entry, const char *client,
                              int64_t now_s, ch_stored *stored, ch_err *err)
{
    ch_stored made = {0};
    bool again = false;
    ch_status rc = check_texts(entry, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_seen(store, "ledger", client, &made, &again, err);
    if (rc >= 0 && !again) {
        const int64_t work_id = sheet_id == 0 ? entry->work_id : 0;
        rc = touch_owner(store, sheet_id, work_id, true, err);
        if (rc >= 0)
            rc = store_run(
                store, err,
                "INSERT INTO ledger (sheet_id, what, origin, lies, torque, note, taken_s, client, changed_s, work_id)"
                " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?7, ?9)",
                "ntttttitn", sheet_id, entry->what, entry->origin, entry->lies, entry->torque, entry->note, now_s,
                client, work_id);
        made.id = sqlite3_last_insert_rowid(store->db);
    }
    rc = store_end(store, rc, err);
    if (rc >= 0 && stored != NULL)
        *stored = made;
    return rc;
}

/* What an entry or a photo that is not deleted belongs to; the table is one of two. `open`: it must be. */
static ch_status touch(ch_store *st, const char *table, const char *what, int64_t id, bool open, ch_err *err)
{
    char sql[96];
    int64_t sheet_id = 0, work_id = 0;
    snprintf(sql, sizeof sql, "SELECT sheet_id FROM %s WHERE id = ?1 AND deleted_s IS NULL", table);
    ch_status rc = store_number(st, &sheet_id, 0, err, sql, "i", id);
    snprintf(sql, sizeof sql, "SELECT work_id FROM %s WHERE id = ?1 AND deleted_s IS NULL", table);
    if (rc >= 0)
        rc = store_number(st, &work_id, 0, err, sql, "i", id);
    if (rc >= 0 && sheet_id == 0 && work_id == 0)
        return ch_fail(err, CH_E_INPUT, NULL, "there is no %s with the id %lld", what, (long long)id);
    return rc < 0 ? rc : touch_owner(st, sheet_id, work_id, open, err);
}

ch_status ch_store_ledger_change(ch_store *store, int64_t id, const ch_store_ledger *entry, int64_t now_s, ch_err *err)
{
    ch_status rc = check_texts(entry, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = touch(store, "ledger", "ledger entry", id, false, err);
    if (rc >= 0)
        rc = store_run(
            store, err,
            "UPDATE ledger SET what = ?2, origin = ?3, lies = ?4, torque = ?5, note = ?6, changed_s = ?7 WHERE id = ?1",
            "ittttti", id, entry->what, entry->origin, entry->lies, entry->torque, entry->note, now_s);
    return store_end(store, rc, err);
}

ch_status ch_store_ledger_put_back(ch_store *store, int64_t id, bool back, int64_t now_s, ch_err *err)
{
    ch_status rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = touch(store, "ledger", "ledger entry", id, !back, err);
    if (rc >= 0)
        rc = store_run(store, err,
                       "UPDATE ledger SET put_back_s = CASE WHEN ?2 THEN max(?3, taken_s) END, changed_s = ?3"
                       " WHERE id = ?1 AND (put_back_s IS NOT NULL) <> ?2",
                       "iii", id, (int64_t)back, now_s);
    return store_end(store, rc, err);
}

ch_status ch_store_ledger_delete(ch_store *store, int64_t id, int64_t now_s, ch_err *err)
{
    ch_status rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = touch(store, "ledger", "ledger entry", id, false, err);
    if (rc >= 0)
        rc = store_run(store, err, "UPDATE ledger SET deleted_s = ?2, changed_s = ?2 WHERE id = ?1", "ii", id, now_s);
    return store_end(store, rc, err);
}

static ch_status read_entry(sqlite3_stmt *q, ch_store_pool *pool, ch_store_ledger *l, ch_err *err)
{
    l->id = sqlite3_column_int64(q, 0);
    l->sheet_id = sqlite3_column_int64(q, 1);
    l->taken_s = sqlite3_column_int64(q, 7);
    l->put_back_s = sqlite3_column_int64(q, 8);
    l->work_id = sqlite3_column_int64(q, 9);
    l->car_id = sqlite3_column_int64(q, 10);
    const char **const texts[] = {&l->what, &l->origin, &l->lies, &l->torque, &l->note};
    ch_status rc = CH_OK;
    for (int i = 0; rc >= 0 && i < 5; i++)
        rc = store_text(pool, q, 2 + i, texts[i], err);
    return rc;
}

ch_status ch_store_ledger_list(ch_store *store, ch_store_pool *pool, int64_t sheet_id, bool open_only,
                               const ch_store_ledger **rows, size_t *count, ch_err *err)
{
    store_list list = {.pool = pool, .size = sizeof(ch_store_ledger)};
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc =
        store_prepare(store, &q, err,
                      "SELECT l.id, l.sheet_id, l.what, l.origin, l.lies, l.torque, l.note, l.taken_s, l.put_back_s,"
                      " l.work_id, coalesce(w.car_id, e.car_id) FROM ledger l LEFT JOIN sheet s ON s.id = l.sheet_id"
                      " LEFT JOIN engine e ON e.id = s.engine_id LEFT JOIN work w ON w.id = l.work_id"
                      " WHERE (?1 = 0 OR l.sheet_id = ?1) AND l.deleted_s IS NULL AND s.deleted_s IS NULL"
                      " AND (l.put_back_s IS NULL OR NOT ?2) ORDER BY l.id",
                      "ii", sheet_id, (int64_t)open_only);
    while (rc >= 0 && (rc = store_step(store, q, &more, err)) >= 0 && more) {
        ch_store_ledger *row = store_list_more(&list, err);
        rc = row == NULL ? CH_E_MEMORY : read_entry(q, pool, row, err);
    }
    store_release(store, q);
    if (rc >= 0) {
        *rows = (const ch_store_ledger *)(const void *)list.rows;
        *count = list.count;
    }
    return rc;
}

/* ---- photos ---- */

static ch_status insert_photo(ch_store *st, const ch_store_photo *photo, const char *client, int64_t now_s, int64_t *id,
                              ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(st, &q, err,
                                 "INSERT INTO photo (sheet_id, work_id, ledger_id, mime, taken_s, client, changed_s,"
                                 " bytes) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?5, ?7)",
                                 "nnntit", photo->sheet_id, photo->sheet_id == 0 ? photo->work_id : 0, photo->ledger_id,
                                 photo->mime, now_s, client);
    if (rc >= 0) {
        const int code = sqlite3_bind_blob64(q, 7, photo->bytes, photo->length, SQLITE_STATIC);
        rc = code == SQLITE_OK ? store_step(st, q, &more, err) : store_fail(st, code, "writing", err);
    }
    store_release(st, q);
    *id = sqlite3_last_insert_rowid(st->db);
    return rc;
}

static ch_status check_photo(const ch_store_photo *photo, ch_err *err)
{
    static const char *const kinds[] = {"image/jpeg", "image/png", "image/webp"};
    bool known = false;
    for (int i = 0; photo->mime != NULL && i < 3; i++)
        known = known || strcmp(kinds[i], photo->mime) == 0;
    if (!known)
        return ch_fail(err, CH_E_INPUT, "image/jpeg, image/png or image/webp", "a photo of another kind");
    if (photo->length > CH_STORE_PHOTO_MAX)
        return ch_fail(err, CH_E_LIMIT, "at most 2 MiB", "a photo of %zu bytes", photo->length);
    if (photo->bytes == NULL || photo->length == 0)
        return ch_fail(err, CH_E_INPUT, "a picture", "a photo of no bytes");
    return CH_OK;
}

ch_status ch_store_photo_add(ch_store *store, const ch_store_photo *photo, const char *client, int64_t now_s,
                             ch_stored *stored, ch_err *err)
{
    ch_stored made = {0};
    bool again = false;
    ch_status rc = check_photo(photo, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_seen(store, "photo", client, &made, &again, err);
    if (rc >= 0 && !again) {
        rc = touch_owner(store, photo->sheet_id, photo->work_id, false, err);
        int64_t there = photo->ledger_id == 0;
        if (rc >= 0 && photo->ledger_id != 0)
            rc = store_number(store, &there, 0, err,
                              "SELECT 1 FROM ledger WHERE id = ?1 AND deleted_s IS NULL"
                              " AND CASE WHEN ?2 > 0 THEN sheet_id = ?2 ELSE work_id = ?3 END",
                              "iii", photo->ledger_id, photo->sheet_id, photo->work_id);
        if (rc >= 0 && there == 0)
            rc = ch_fail(err, CH_E_INPUT, NULL, "there is no ledger entry with the id %lld beside it",
                         (long long)photo->ledger_id);
        if (rc >= 0)
            rc = insert_photo(store, photo, client, now_s, &made.id, err);
    }
    rc = store_end(store, rc, err);
    if (rc >= 0 && stored != NULL)
        *stored = made;
    return rc;
}

static ch_status read_photo(sqlite3_stmt *q, ch_store_pool *pool, ch_store_photo *photo, ch_err *err)
{
    photo->id = sqlite3_column_int64(q, 0);
    photo->sheet_id = sqlite3_column_int64(q, 1);
    photo->ledger_id = sqlite3_column_int64(q, 2);
    photo->taken_s = sqlite3_column_int64(q, 4);
    photo->length = (size_t)sqlite3_column_int64(q, 5);
    photo->work_id = sqlite3_column_int64(q, 6);
    return store_text(pool, q, 3, &photo->mime, err);
}

ch_status ch_store_photo_get(ch_store *store, ch_store_pool *pool, int64_t id, ch_store_photo *photo, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_store_photo made = {0};
    ch_status rc =
        store_prepare(store, &q, err,
                      "SELECT id, sheet_id, ledger_id, mime, taken_s, length(bytes), work_id, bytes FROM photo"
                      " WHERE id = ?1 AND deleted_s IS NULL",
                      "i", id);
    if (rc >= 0)
        rc = store_step(store, q, &more, err);
    if (rc >= 0 && !more)
        rc = ch_fail(err, CH_E_INPUT, NULL, "there is no photo with the id %lld", (long long)id);
    if (rc >= 0)
        rc = read_photo(q, pool, &made, err);
    if (rc >= 0) {
        const void *bytes = sqlite3_column_blob(q, 7);
        unsigned char *copy = bytes == NULL ? NULL : store_take(pool, made.length);
        if (copy == NULL)
            rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory for a photo");
        else
            made.bytes = memcpy(copy, bytes, made.length);
    }
    store_release(store, q);
    if (rc >= 0)
        *photo = made;
    return rc;
}

static ch_status list_photos(ch_store *store, ch_store_pool *pool, int64_t sheet_id, int64_t work_id,
                             const ch_store_photo **rows, size_t *count, ch_err *err)
{
    store_list list = {.pool = pool, .size = sizeof(ch_store_photo)};
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(store, &q, err,
                                 "SELECT id, sheet_id, ledger_id, mime, taken_s, length(bytes), work_id FROM photo"
                                 " WHERE (sheet_id = ?1 OR work_id = ?2) AND deleted_s IS NULL ORDER BY id",
                                 "nn", sheet_id, work_id);
    while (rc >= 0 && (rc = store_step(store, q, &more, err)) >= 0 && more) {
        ch_store_photo *row = store_list_more(&list, err);
        rc = row == NULL ? CH_E_MEMORY : read_photo(q, pool, row, err);
    }
    store_release(store, q);
    if (rc >= 0) {
        *rows = (const ch_store_photo *)(const void *)list.rows;
        *count = list.count;
    }
    return rc;
}

ch_status ch_store_photos(ch_store *store, ch_store_pool *pool, int64_t sheet_id, const ch_store_photo **rows,
                          size_t *count, ch_err *err)
{
    return list_photos(store, pool, sheet_id, 0, rows, count, err);
}

ch_status ch_store_work_photos(ch_store *store, ch_store_pool *pool, int64_t work_id, const ch_store_photo **rows,
                               size_t *count, ch_err *err)
{
    return list_photos(store, pool, 0, work_id, rows, count, err);
}

ch_status ch_store_photo_delete(ch_store *store, int64_t id, int64_t now_s, ch_err *err)
{
    ch_status rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = touch(store, "photo", "photo", id, false, err);
    if (rc >= 0)
        rc = store_run(store, err, "UPDATE photo SET deleted_s = ?2, changed_s = ?2 WHERE id = ?1", "ii", id, now_s);
    return store_end(store, rc, err);
}
