/* Sheets in the garage file: begun, listed, closed. Whole sheets in and out are in store_whole.c, their rows in store_row.c. */
#include "crosshatch/store_sheet.h"

#include <string.h>

#include "store_parts.h"

ch_status store_sheet_touch(ch_store *st, int64_t sheet_id, bool open, ch_err *err)
{
    int64_t closed = -1;
    ch_status rc =
        store_number(st, &closed, -1, err, "SELECT closed_s IS NOT NULL FROM sheet WHERE id = ?1 AND deleted_s IS NULL",
                     "i", sheet_id);
    if (rc >= 0 && closed < 0)
        return ch_fail(err, CH_E_INPUT, NULL, "there is no sheet with the id %lld", (long long)sheet_id);
    if (rc >= 0 && open && closed == 1)
        return ch_fail(err, CH_E_INPUT, "open the sheet again first", "the sheet is closed");
    if (rc >= 0)
        rc = store_run(st, err, "UPDATE sheet SET revision = revision + 1 WHERE id = ?1", "i", sheet_id);
    return rc;
}

/* ---- begin ---- */

static ch_status fill_head(ch_store *st, int64_t id, int64_t engine_id, int64_t gauge_id, ch_date day, int64_t now_s,
                           ch_err *err)
{
    ch_sheet head;
    ch_sheet_init(&head);
    ch_status rc = engine_id != 0 ? store_fields_get(st, STORE_OF_ENGINE, engine_id, &head, err) : CH_OK;
    if (rc >= 0 && gauge_id != 0)
        rc = store_fields_get(st, STORE_OF_GAUGE, gauge_id, &head, err);
    head.conditions.date = day;
    if (rc >= 0)
        rc = store_fields_put(st, STORE_OF_SHEET, id, &head, now_s, err);
    ch_sheet_clear(&head);
    return rc;
}

static ch_status begin(ch_store *st, int64_t engine_id, int64_t gauge_id, ch_date day, const char *client,
                       int64_t now_s, ch_stored *made, ch_err *err)
{
    bool again = false;
    ch_status rc = store_seen(st, "sheet", client, made, &again, err);
    if (rc < 0 || again)
        return rc;
    if (engine_id != 0)
        rc = store_must_be(st, "SELECT 1 FROM engine WHERE id = ?1", "engine", engine_id, err);
    if (rc >= 0 && gauge_id != 0)
        rc = store_must_be(st, "SELECT 1 FROM gauge WHERE id = ?1 AND deleted_s IS NULL", "gauge", gauge_id, err);
    if (rc >= 0)
        rc = store_run(
            st, err, "INSERT INTO sheet (engine_id, gauge_id, opened_s, client, changed_s) VALUES (?1, ?2, ?3, ?4, ?3)",
            "nnit", engine_id, gauge_id, now_s, client);
    made->id = sqlite3_last_insert_rowid(st->db);
    return rc < 0 ? rc : fill_head(st, made->id, engine_id, gauge_id, day, now_s, err);
}

ch_status ch_store_sheet_begin(ch_store *store, int64_t engine_id, int64_t gauge_id, ch_date day, const char *client,
                               int64_t now_s, ch_stored *stored, ch_err *err)
{
    ch_stored made = {0};
    ch_status rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = begin(store, engine_id, gauge_id, day, client, now_s, &made, err);
    rc = store_end(store, rc, err);
    if (rc >= 0 && stored != NULL)
        *stored = made;
    return rc;
}

/* ---- lists ---- */

/* Tested last first: old paper is brought in after this year's test. Of two of one day the one entered last; without a day comes last. */
#define SHEETS_SQL(where)                                                                                              \
    "SELECT s.id, s.engine_id, s.gauge_id, e.car_id, s.closed_s, s.opened_s, s.close_reason, s.revision,"              \
    " (SELECT text FROM field WHERE sheet_id = s.id AND name = 'title'),"                                              \
    " (SELECT text FROM field WHERE sheet_id = s.id AND name = 'conditions.date'),"                                    \
    " (SELECT CAST(text AS INTEGER) FROM field WHERE sheet_id = s.id AND name = 'engine.cylinders'),"                  \
    " (SELECT count(*) FROM entry r WHERE r.sheet_id = s.id AND r.deletion = 0"                                        \
    "   AND NOT EXISTS (SELECT 1 FROM entry n WHERE n.replaces_id = r.id)),"                                           \
    " (SELECT count(*) FROM ledger l WHERE l.sheet_id = s.id AND l.put_back_s IS NULL AND l.deleted_s IS NULL)"        \
    ", s.deleted_s, s.delete_reason FROM sheet s LEFT JOIN engine e ON e.id = s.engine_id WHERE " where                \
    " ORDER BY 10 DESC, s.id DESC"

static ch_status read_sheet(sqlite3_stmt *q, ch_store_pool *pool, ch_store_sheet *s, ch_err *err)
{
    s->id = sqlite3_column_int64(q, 0);
    s->engine_id = sqlite3_column_int64(q, 1);
    s->gauge_id = sqlite3_column_int64(q, 2);
    s->car_id = sqlite3_column_int64(q, 3);
    s->closed = sqlite3_column_type(q, 4) != SQLITE_NULL;
    s->closed_s = sqlite3_column_int64(q, 4);
    s->opened_s = sqlite3_column_int64(q, 5);
    s->revision = sqlite3_column_int64(q, 7);
    s->cylinders = sqlite3_column_int(q, 10);
    s->entries = sqlite3_column_int(q, 11);
    s->ledger_open = sqlite3_column_int(q, 12);
    s->withdrawn_s = sqlite3_column_int64(q, 13);
    ch_status rc = store_date(q, 9, &s->day, err);
    if (rc >= 0)
        rc = store_text(pool, q, 6, &s->close_reason, err);
    if (rc >= 0)
        rc = store_text(pool, q, 14, &s->withdrawn_why, err);
    return rc < 0 ? rc : store_text(pool, q, 8, &s->title, err);
}

/* `q` is released. */
static ch_status read_list(ch_store *st, ch_store_pool *pool, sqlite3_stmt *q, const ch_store_sheet **rows,
                           size_t *count, ch_err *err)
{
    store_list list = {.pool = pool, .size = sizeof(ch_store_sheet)};
    bool more = false;
    ch_status rc = CH_OK;
    while (rc >= 0 && (rc = store_step(st, q, &more, err)) >= 0 && more) {
        ch_store_sheet *row = store_list_more(&list, err);
        rc = row == NULL ? CH_E_MEMORY : read_sheet(q, pool, row, err);
    }
    store_release(st, q);
    if (rc >= 0) {
        *rows = (const ch_store_sheet *)(const void *)list.rows;
        *count = list.count;
    }
    return rc;
}

static ch_status read_sheets(ch_store *st, ch_store_pool *pool, const char *sql, int64_t id,
                             const ch_store_sheet **rows, size_t *count, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    const ch_status rc = store_prepare(st, &q, err, sql, "i", id);
    return rc < 0 ? rc : read_list(st, pool, q, rows, count, err);
}

ch_status ch_store_sheets(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_store_sheet **rows,
                          size_t *count, ch_err *err)
{
    return read_sheets(store, pool, SHEETS_SQL("s.deleted_s IS NULL AND (?1 = 0 OR e.car_id = ?1)"), car_id, rows,
                       count, err);
}

ch_status ch_store_sheets_withdrawn(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_store_sheet **rows,
                                    size_t *count, ch_err *err)
{
    return read_sheets(store, pool, SHEETS_SQL("s.deleted_s IS NOT NULL AND (?1 = 0 OR e.car_id = ?1)"), car_id, rows,
                       count, err);
}

#define SHEET_DAY "(SELECT text FROM field WHERE sheet_id = c.id AND name = 'conditions.date')"

ch_status ch_store_sheets_recent(ch_store *store, ch_store_pool *pool, int open_most, int closed_most,
                                 const ch_store_sheet **rows, size_t *count, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    const ch_status rc = store_prepare(
        store, &q, err,
        SHEETS_SQL(
            "s.id IN (SELECT * FROM (SELECT id FROM sheet c WHERE deleted_s IS NULL AND closed_s IS NULL"
            "                        ORDER BY " SHEET_DAY " DESC, id DESC LIMIT ?1)"
            "         UNION ALL SELECT * FROM (SELECT id FROM sheet c WHERE deleted_s IS NULL AND closed_s IS NOT NULL"
            "                                  ORDER BY " SHEET_DAY " DESC, id DESC LIMIT ?2))"),
        "ii", (int64_t)open_most, (int64_t)closed_most);
    return rc < 0 ? rc : read_list(store, pool, q, rows, count, err);
}

ch_status ch_store_sheet_get(ch_store *store, ch_store_pool *pool, int64_t sheet_id, ch_store_sheet *sheet, ch_err *err)
{
    const ch_store_sheet *rows = NULL;
    size_t count = 0;
    const ch_status rc =
        read_sheets(store, pool, SHEETS_SQL("s.deleted_s IS NULL AND s.id = ?1"), sheet_id, &rows, &count, err);
    if (rc >= 0 && count == 0)
        return ch_fail(err, CH_E_INPUT, NULL, "there is no sheet with the id %lld", (long long)sheet_id);
    if (rc >= 0)
        *sheet = rows[0];
    return rc;
}

ch_status ch_store_sheet_revision(ch_store *store, int64_t sheet_id, int64_t *revision, ch_err *err)
{
    int64_t number = 0;
    const ch_status rc = store_number(store, &number, 0, err,
                                      "SELECT revision FROM sheet WHERE id = ?1 AND deleted_s IS NULL", "i", sheet_id);
    if (rc >= 0 && number == 0)
        return ch_fail(err, CH_E_INPUT, NULL, "there is no sheet with the id %lld", (long long)sheet_id);
    if (rc >= 0)
        *revision = number;
    return rc;
}

/* ---- the head, closing ---- */

/* A test is of the life that was in its car on its day: one that cannot have been hands the sheet over to the one that was. */
static ch_status follow_day(ch_store *st, int64_t sheet_id, ch_date day, int64_t now_s, ch_err *err)
{
    int64_t car_id = 0, engine_id = 0;
    if (!ch_date_given(day))
        return CH_OK;
    ch_status rc = store_number(st, &car_id, 0, err,
                                "SELECT e.car_id FROM sheet s JOIN engine e ON e.id = s.engine_id"
                                " WHERE s.id = ?1 AND NOT " STORE_LIVED_ON("e", "?2"),
                                "id", sheet_id, day);
    if (rc >= 0 && car_id != 0)
        rc = ch_store_engine_on(st, car_id, day, &engine_id, err);
    if (rc >= 0 && engine_id != 0)
        rc = store_run(st, err, "UPDATE sheet SET engine_id = ?2, changed_s = ?3 WHERE id = ?1", "iii", sheet_id,
                       engine_id, now_s);
    return rc;
}

static ch_status put_head(ch_store *st, int64_t sheet_id, const ch_sheet *head, bool open, int64_t now_s, ch_err *err)
{
    int64_t highest = 0;
    ch_status rc = store_fields_check(STORE_OF_SHEET, head, err);
    if (rc >= 0)
        rc = store_sheet_touch(st, sheet_id, open, err);
    if (rc >= 0)
        rc = store_number(st, &highest, 0, err,
                          "SELECT max(cylinder) FROM entry e WHERE sheet_id = ?1 AND deletion = 0"
                          " AND NOT EXISTS (SELECT 1 FROM entry n WHERE n.replaces_id = e.id)",
                          "i", sheet_id);
    if (rc >= 0 && head->engine.cylinders > 0 && highest > head->engine.cylinders)
        rc = ch_fail(err, CH_E_INPUT, "correct or delete that row first",
                     "cylinders: %d, but a row is of cylinder %lld", head->engine.cylinders, (long long)highest);
    if (rc >= 0)
        rc = store_fields_put(st, STORE_OF_SHEET, sheet_id, head, now_s, err);
    return rc < 0 ? rc : follow_day(st, sheet_id, head->conditions.date, now_s, err);
}

ch_status ch_store_sheet_head(ch_store *store, int64_t sheet_id, const ch_sheet *head, int64_t now_s, ch_err *err)
{
    const ch_status rc = store_begin(store, err);
    return rc < 0 ? rc : store_end(store, put_head(store, sheet_id, head, true, now_s, err), err);
}

/* `right`: what can be done about it. */
static ch_status check_ledger(ch_store *st, int64_t sheet_id, const char *right, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc =
        store_prepare(st, &q, err,
                      "SELECT what, coalesce(origin, ''), count(*) OVER () FROM ledger"
                      " WHERE sheet_id = ?1 AND put_back_s IS NULL AND deleted_s IS NULL ORDER BY id LIMIT 1",
                      "i", sheet_id);
    if (rc >= 0)
        rc = store_step(st, q, &more, err);
    if (rc >= 0 && more) {
        const char *what = NULL, *origin = NULL;
        char shown[64], where[64];
        rc = store_said(q, 0, &what, err);
        if (rc >= 0)
            rc = store_said(q, 1, &origin, err);
        if (rc >= 0) {
            ch_text_excerpt(what, strlen(what), shown, sizeof shown);
            ch_text_excerpt(origin, strlen(origin), where, sizeof where);
            rc = ch_fail(err, CH_E_INPUT, right, "%lld not put back, first: %s%s%s",
                         (long long)sqlite3_column_int64(q, 2), shown, where[0] != '\0' ? ", " : "", where);
        }
    }
    store_release(st, q);
    return rc;
}

static bool blank(const char *text)
{
    return text == NULL || text[strspn(text, " \t\n")] == '\0';
}

ch_status ch_store_sheet_close(ch_store *store, int64_t sheet_id, const char *reason, int64_t now_s, ch_err *err)
{
    ch_status rc = store_text_check("reason", reason, false, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_sheet_touch(store, sheet_id, true, err);
    if (rc >= 0 && blank(reason))
        rc = check_ledger(store, sheet_id, "put it back first; a sheet can be closed without it for a written reason",
                          err);
    if (rc >= 0)
        rc = store_run(store, err, "UPDATE sheet SET closed_s = ?2, close_reason = ?3, changed_s = ?2 WHERE id = ?1",
                       "iit", sheet_id, now_s, blank(reason) ? NULL : reason);
    return store_end(store, rc, err);
}

ch_status ch_store_sheet_reopen(ch_store *store, int64_t sheet_id, int64_t now_s, ch_err *err)
{
    ch_status rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_sheet_touch(store, sheet_id, false, err);
    if (rc >= 0)
        rc = store_run(store, err,
                       "UPDATE sheet SET closed_s = NULL, close_reason = NULL, changed_s = ?2 WHERE id = ?1 AND "
                       "closed_s IS NOT NULL",
                       "ii", sheet_id, now_s);
    return store_end(store, rc, err);
}

/* ---- withdrawn, taken back ---- */

ch_status ch_store_sheet_withdraw(ch_store *store, int64_t sheet_id, const char *reason, int64_t now_s, ch_err *err)
{
    ch_status rc = store_text_check("reason", reason, false, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_sheet_touch(store, sheet_id, false, err);
    if (rc >= 0)
        rc = check_ledger(store, sheet_id, "put it back first; or, where it was never off, say so on the page Put back",
                          err);
    if (rc >= 0)
        rc = store_run(store, err, "UPDATE sheet SET deleted_s = ?2, delete_reason = ?3, changed_s = ?2 WHERE id = ?1",
                       "iit", sheet_id, now_s, blank(reason) ? NULL : reason);
    return store_end(store, rc, err);
}

ch_status ch_store_sheet_restore(ch_store *store, int64_t sheet_id, int64_t now_s, ch_err *err)
{
    ch_status rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_run(store, err,
                   "UPDATE sheet SET deleted_s = NULL, delete_reason = NULL, changed_s = ?2, revision = revision + 1"
                   " WHERE id = ?1 AND deleted_s IS NOT NULL",
                   "ii", sheet_id, now_s);
    if (rc >= 0)
        rc = store_changed_one(store, "withdrawn sheet", sheet_id, err);
    return store_end(store, rc, err);
}

/* ---- what is known of engine and gauge now ---- */

/* The head as it would be, had what is known now of `engine_id` and `gauge_id` been known when the sheet was begun. `head` is initialised. */
static ch_status head_by_now(ch_store *st, const ch_store_sheet *sheet, int64_t engine_id, int64_t gauge_id,
                             ch_sheet *head, ch_err *err)
{
    ch_sheet described;
    ch_sheet_init(&described);
    ch_status rc = store_fields_get_own(st, sheet->id, sheet->engine_id, sheet->gauge_id, head, err);
    if (rc >= 0)
        rc = store_fields_get(st, STORE_OF_ENGINE, engine_id, &described, err);
    if (rc >= 0)
        rc = store_fields_get(st, STORE_OF_GAUGE, gauge_id, &described, err);
    if (rc >= 0)
        rc = ch_sheet_engine_fill(head, &described, err);
    if (rc >= 0)
        ch_sheet_gauge_fill(head, &described);
    ch_sheet_clear(&described);
    return rc;
}

static ch_status hand_over(ch_store *st, const ch_store_sheet *sheet, int64_t engine_id, int64_t gauge_id, bool open,
                           int64_t now_s, ch_err *err)
{
    ch_sheet head;
    ch_sheet_init(&head);
    ch_status rc = head_by_now(st, sheet, engine_id, gauge_id, &head, err);
    if (rc >= 0)
        rc = store_run(st, err, "UPDATE sheet SET engine_id = ?2, gauge_id = ?3, changed_s = ?4 WHERE id = ?1", "inni",
                       sheet->id, engine_id, gauge_id, now_s);
    if (rc >= 0)
        rc = put_head(st, sheet->id, &head, open, now_s, err);
    ch_sheet_clear(&head);
    return rc;
}

static ch_status grown(ch_store *st, int64_t sheet_id, bool *is_grown, ch_err *err)
{
    ch_store_pool pool = {0};
    ch_store_sheet sheet = {0};
    ch_sheet head, now;
    ch_err other_engine = {0};
    ch_sheet_init(&head);
    ch_sheet_init(&now);
    ch_status rc = ch_store_sheet_get(st, &pool, sheet_id, &sheet, err);
    if (rc >= 0)
        rc = store_fields_get(st, STORE_OF_SHEET, sheet_id, &head, err);
    if (rc >= 0) {
        rc = head_by_now(st, &sheet, sheet.engine_id, sheet.gauge_id, &now, &other_engine);
        if (rc == CH_E_INPUT) /* of another engine than its car's by now: there is nothing to take over */
            rc = CH_OK;
        else if (rc >= 0)
            *is_grown = !store_fields_same(&head, &now);
        else if (err != NULL)
            *err = other_engine;
    }
    ch_sheet_clear(&now);
    ch_sheet_clear(&head);
    ch_store_pool_clear(&pool);
    return rc;
}

ch_status ch_store_sheet_grown(ch_store *store, int64_t sheet_id, bool *is_grown, ch_err *err)
{
    bool found = false;
    ch_status rc = store_begin_reading(store, err);
    if (rc < 0)
        return rc;
    rc = store_end(store, grown(store, sheet_id, &found, err), err);
    if (rc >= 0)
        *is_grown = found;
    return rc;
}

static ch_status take(ch_store *st, int64_t sheet_id, int64_t gauge_id, int64_t now_s, ch_err *err)
{
    ch_store_pool pool = {0};
    ch_store_sheet sheet = {0};
    ch_status rc = ch_store_sheet_get(st, &pool, sheet_id, &sheet, err);
    if (rc >= 0 && gauge_id != 0 && gauge_id != sheet.gauge_id)
        rc = store_must_be(st, "SELECT 1 FROM gauge WHERE id = ?1 AND deleted_s IS NULL", "gauge", gauge_id, err);
    if (rc >= 0)
        rc = hand_over(st, &sheet, sheet.engine_id, gauge_id, true, now_s, err);
    ch_store_pool_clear(&pool);
    return rc;
}

ch_status ch_store_sheet_take(ch_store *store, int64_t sheet_id, int64_t gauge_id, int64_t now_s, ch_err *err)
{
    const ch_status rc = store_begin(store, err);
    return rc < 0 ? rc : store_end(store, take(store, sheet_id, gauge_id, now_s, err), err);
}

static ch_status move(ch_store *st, int64_t sheet_id, int64_t car_id, int64_t now_s, ch_err *err)
{
    ch_store_pool pool = {0};
    ch_store_sheet sheet = {0};
    int64_t engine_id = 0, proves = 0;
    ch_status rc = ch_store_sheet_get(st, &pool, sheet_id, &sheet, err);
    if (rc >= 0)
        rc = store_number(st, &proves, 0, err, "SELECT count(*) FROM work WHERE proof_sheet_id = ?1", "i", sheet_id);
    if (rc >= 0 && proves > 0)
        rc = ch_fail(err, CH_E_INPUT, "leave it where it is, or withdraw it",
                     "a job of its car was closed by this sheet");
    if (rc >= 0)
        rc = ch_store_engine_on(st, car_id, sheet.day, &engine_id, err);
    if (rc >= 0 && engine_id == 0)
        rc = ch_fail(err, CH_E_INPUT, "the day of the test on the sheet, and a car with an engine",
                     "no engine of that car is known for the day of this sheet");
    if (rc >= 0)
        rc = hand_over(st, &sheet, engine_id, sheet.gauge_id, false, now_s, err);
    ch_store_pool_clear(&pool);
    return rc;
}

ch_status ch_store_sheet_move(ch_store *store, int64_t sheet_id, int64_t car_id, int64_t now_s, ch_err *err)
{
    const ch_status rc = store_begin(store, err);
    return rc < 0 ? rc : store_end(store, move(store, sheet_id, car_id, now_s, err), err);
}
