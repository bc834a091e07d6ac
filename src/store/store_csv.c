/*
 * Tables for a spreadsheet, or for a program that knows nothing of this one (RFC 4180): every current reading, and what happened by day.
 * Written a sheet or a row at a time, so that memory does not grow with the garage.
 */
#include <math.h>
#include <string.h>

#include "store_parts.h"

enum { CSV_QUANTITIES = 6 };
/* Columns of quantities, by the keys of the sheet, with their SI units. */
static const char *const keys[CSV_QUANTITIES] = {"reading", "first_stroke", "oil", "supply", "loss", "orifice"};
static const char *const units[CSV_QUANTITIES] = {"Pa", "Pa", "m3", "Pa", "1", "m"};

/* Does the cell, which is not empty, look like a formula to a spreadsheet? Source: OWASP, CSV Injection. */
static bool looks_like_formula(const char *text)
{
    return strchr("=+-@\t\r", text[0]) != NULL;
}

/* `ahead` of the text, within its quotes: nothing that has to be quoted itself. */
static void put_cell(ch_text *csv, const char *ahead, const char *text)
{
    if (text[0] != '\0' && text[strcspn(text, ",\"\r\n")] == '\0') {
        ch_text_append_string(csv, ahead);
        ch_text_append_string(csv, text);
        return;
    }
    ch_text_append(csv, "\"", 1);
    ch_text_append_string(csv, ahead);
    for (const char *c = text; *c != '\0'; c++)
        ch_text_append(csv, *c == '"' ? "\"\"" : c, *c == '"' ? 2 : 1);
    ch_text_append(csv, "\"", 1);
}

void store_csv_cell(ch_text *csv, const char *text)
{
    put_cell(csv, "", text);
}

void store_csv_words(ch_text *csv, const char *text)
{
    if (text == NULL || text[0] == '\0')
        return;
    put_cell(csv, looks_like_formula(text) ? "'" : "", text);
}

static const ch_quantity *quantity_of(ch_store_row *row, const char *key)
{
    const section *s = store_kind_section(row->kind);
    for (size_t i = 0; i < s->count; i++)
        if (s->fields[i].kind == FIELD_QUANTITY && strcmp(s->fields[i].key, key) == 0)
            return (const ch_quantity *)(const void *)((char *)store_row_member(row) + s->fields[i].offset);
    return NULL;
}

static void put_row(ch_text *csv, const ch_store_sheet *sheet, const ch_store_row *from)
{
    ch_store_row row = *from;
    char text[96], typed[512] = "";
    size_t used = 0;
    const bool leakdown = row.kind == CH_STORE_LEAKDOWN;
    ch_date_format(sheet->day, text, sizeof text);
    ch_text_appendf(csv, "%lld,%s,%s,%d,", (long long)sheet->id, text, store_kind_names[row.kind],
                    leakdown ? row.leakdown.cylinder : row.reading.cylinder);
    for (int i = 0; i < CSV_QUANTITIES; i++) {
        const ch_quantity *q = quantity_of(&row, keys[i]);
        if (q != NULL && ch_quantity_given(q)) {
            sqlite3_snprintf((int)sizeof text, text, "%.12g", q->si); /* a point in every locale */
            store_csv_words(csv, text);
            ch_quantity whole = *q;
            whole.bare = false;
            ch_quantity_text(&whole, text, sizeof text);
            sqlite3_snprintf((int)(sizeof typed - used), typed + used, "%s%s %s", used > 0 ? "; " : "", keys[i], text);
            used = strlen(typed);
        }
        ch_text_append(csv, ",", 1);
    }
    store_csv_words(csv, leakdown ? row.leakdown.note : row.reading.note);
    ch_text_append(csv, ",", 1);
    store_csv_words(csv, typed);
    ch_text_append_string(csv, "\r\n");
}

/* The next sheet that is not deleted: its id, or 0. */
static ch_status next_sheet(ch_store *st, int64_t after, int64_t *id, ch_err *err)
{
    return store_number(st, id, 0, err, "SELECT id FROM sheet WHERE id > ?1 AND deleted_s IS NULL ORDER BY id LIMIT 1",
                        "i", after);
}

static ch_status put_sheet(ch_store *st, int64_t id, ch_text *csv, ch_err *err)
{
    ch_store_pool pool = {0};
    ch_store_sheet sheet = {0};
    const ch_store_row *rows = NULL;
    size_t count = 0;
    ch_status rc = ch_store_sheet_get(st, &pool, id, &sheet, err);
    if (rc >= 0)
        rc = ch_store_rows(st, &pool, id, false, &rows, &count, err);
    for (size_t k = 0; rc >= 0 && k < count; k++)
        if (rows[k].kind == CH_STORE_DRY || rows[k].kind == CH_STORE_WET || rows[k].kind == CH_STORE_LEAKDOWN)
            put_row(csv, &sheet, &rows[k]);
    ch_store_pool_clear(&pool);
    return rc;
}

/* Hand on what was gathered, and begin anew. */
static ch_status flush(ch_text *csv, ch_store_sink *sink, void *context, ch_err *err)
{
    ch_status rc = ch_text_check(csv, err);
    if (rc >= 0 && csv->length > 0)
        rc = sink(ch_text_string(csv), csv->length, context, err);
    ch_text_clear(csv);
    return rc;
}

enum { PIECE_MAX = 64 * 1024 * 1024 }; /* one sheet's rows with notes of the greatest length stay far below */

ch_status store_readings_csv(ch_store *st, ch_store_sink *sink, void *context, ch_err *err)
{
    ch_text csv;
    int64_t id = 0;
    ch_text_init(&csv, PIECE_MAX);
    ch_text_append_string(&csv, "sheet,date,list,cylinder");
    for (int i = 0; i < CSV_QUANTITIES; i++)
        ch_text_appendf(&csv, ",%s", keys[i]);
    ch_text_append_string(&csv, ",note,as_typed\r\n,,,");
    for (int i = 0; i < CSV_QUANTITIES; i++)
        ch_text_appendf(&csv, ",%s", units[i]);
    ch_text_append_string(&csv, ",,\r\n");
    ch_status rc = next_sheet(st, 0, &id, err);
    while (rc >= 0 && id != 0) {
        rc = put_sheet(st, id, &csv, err);
        if (rc >= 0)
            rc = flush(&csv, sink, context, err);
        if (rc >= 0)
            rc = next_sheet(st, id, &id, err);
    }
    if (rc >= 0)
        rc = flush(&csv, sink, context, err);
    ch_text_clear(&csv);
    return rc;
}

/*
 * ---- history: what happened, by day ----
 *
 * Nothing of cars that are deleted, but for tests, which stay in the list of sheets too.
 */

static const char history_sql[] =
    "SELECT v.day, 'event', c.name, e.name, v.name, v.running_s / 3600.0, v.distance_m / 1000.0, v.starts, v.sessions, "
    "NULL, v.note, 3 AS rank"
    " FROM event v JOIN car c ON c.id = v.car_id LEFT JOIN engine e ON e.id = v.engine_id WHERE v.deleted_s IS NULL"
    " AND c.deleted_s IS NULL"
    " UNION ALL SELECT e.begun_day, 'engine in: ' || e.why, c.name, e.name, e.name, NULL, NULL, NULL, NULL, NULL, "
    "e.note, 1"
    " FROM engine e JOIN car c ON c.id = e.car_id AND c.deleted_s IS NULL"
    " UNION ALL SELECT e.ended_day, 'engine out', c.name, e.name, e.name, NULL, NULL, NULL, NULL, NULL, NULL, 0"
    " FROM engine e JOIN car c ON c.id = e.car_id AND c.deleted_s IS NULL WHERE e.ended_day IS NOT NULL"
    " UNION ALL SELECT p.fitted_day, 'part fitted', c.name, e.name, p.name, p.carried_running_s / 3600.0, "
    "p.carried_distance_m / 1000.0,"
    " p.carried_starts, p.carried_sessions, NULL, p.note, 2"
    " FROM part p JOIN engine e ON e.id = p.engine_id JOIN car c ON c.id = e.car_id AND c.deleted_s IS NULL"
    " WHERE p.deleted_s IS NULL"
    " UNION ALL SELECT p.removed_day, 'part removed', c.name, e.name, p.name, NULL, NULL, NULL, NULL, NULL, NULL, 4"
    " FROM part p JOIN engine e ON e.id = p.engine_id JOIN car c ON c.id = e.car_id AND c.deleted_s IS NULL"
    " WHERE p.deleted_s IS NULL AND p.removed_day IS NOT NULL"
    " UNION ALL SELECT (SELECT text FROM field WHERE sheet_id = s.id AND name = 'conditions.date'), 'test', c.name, "
    "e.name,"
    " (SELECT text FROM field WHERE sheet_id = s.id AND name = 'title'), NULL, NULL, NULL, NULL, s.id,"
    " (SELECT text FROM field WHERE sheet_id = s.id AND name = 'note'), 5"
    " FROM sheet s LEFT JOIN engine e ON e.id = s.engine_id LEFT JOIN car c ON c.id = e.car_id WHERE s.deleted_s IS "
    "NULL"
    " ORDER BY 1, 3, 12, 10, 5, 2";

ch_status store_history_csv(ch_store *st, ch_store_sink *sink, void *context, ch_err *err)
{
    enum { TEXTS = 5, NOTE = 10 }; /* and numbers between */
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_text csv;
    char number[40];
    ch_text_init(&csv, PIECE_MAX);
    ch_text_append_string(&csv, "date,what,car,engine,name,running,distance,starts,sessions,sheet,note\r\n"
                                ",,,,,h,km,1,1,,\r\n");
    ch_status rc = store_prepare(st, &q, err, history_sql, "");
    while (rc >= 0 && (rc = store_step(st, q, &more, err)) >= 0 && more) {
        for (int i = 0; rc >= 0 && i <= NOTE; i++) {
            const char *text = NULL;
            if (i > 0)
                ch_text_append(&csv, ",", 1);
            if (i < TEXTS || i == NOTE) {
                rc = store_text_there(q, i, &text, err);
                store_csv_words(&csv, text);
            } else if (sqlite3_column_type(q, i) != SQLITE_NULL) {
                sqlite3_snprintf((int)sizeof number, number, "%.12g", sqlite3_column_double(q, i));
                ch_text_append_string(&csv, number);
            }
        }
        ch_text_append_string(&csv, "\r\n");
        if (rc >= 0)
            rc = flush(&csv, sink, context, err);
    }
    sqlite3_finalize(q);
    if (rc >= 0)
        rc = flush(&csv, sink, context, err);
    ch_text_clear(&csv);
    return rc;
}

/* ---- the two as one text ---- */

static ch_status gather(const void *bytes, size_t length, void *context, ch_err *err)
{
    ch_text *const text = context;
    ch_text_append(text, bytes, length);
    return ch_text_check(text, err);
}

ch_status ch_store_readings_csv(ch_store *store, ch_text *csv, ch_err *err)
{
    ch_status rc = store_begin_reading(store, err);
    return rc < 0 ? rc : store_end(store, store_readings_csv(store, gather, csv, err), err);
}

ch_status ch_store_history_csv(ch_store *store, ch_text *csv, ch_err *err)
{
    ch_status rc = store_begin_reading(store, err);
    return rc < 0 ? rc : store_end(store, store_history_csv(store, gather, csv, err), err);
}
