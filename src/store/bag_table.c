/*
 * Tables of the garage file as CSV, whatever their columns: header, units, rows in the order of their keys. Nothing is left out that could
 * not be made again, and nothing that can.
 *
 * NULL is an empty cell, an empty text two quotes; numbers are the shortest that read back the same. Bytes (photos) are files of their own,
 * named by the cell.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "../base/decimal.h"
#include "bag.h"

static ch_status columns_of(ch_store *st, ch_store_pool *pool, table *t, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    store_list list = {.pool = pool, .size = sizeof(table_column)};
    ch_status rc =
        store_prepare(st, &q, err, "SELECT name, type, pk FROM pragma_table_info(?1) ORDER BY cid", "t", t->name);
    while (rc >= 0 && (rc = store_step(st, q, &more, err)) >= 0 && more) {
        const char *name = (const char *)sqlite3_column_text(q, 0), *type = (const char *)sqlite3_column_text(q, 1);
        if (list.count == BAG_COLUMNS_MAX) {
            rc = ch_fail(err, CH_E_INPUT, "crosshatch verify", "the table %s has more than %d columns", t->name,
                         BAG_COLUMNS_MAX);
            break;
        }
        table_column *c = store_list_more(&list, err);
        if (c == NULL || name == NULL || type == NULL) {
            rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory for the table's columns");
            break;
        }
        snprintf(c->name, sizeof c->name, "%s", name);
        c->type = type[0] == 'I' ? 'i' : type[0] == 'R' ? 'r' : type[0] == 'B' ? 'b' : 't';
        c->key = sqlite3_column_int(q, 2);
    }
    sqlite3_finalize(q);
    t->column = (table_column *)(void *)list.rows;
    t->columns = (int)list.count;
    return rc;
}

ch_status bag_tables(ch_store *st, ch_store_pool *pool, const table **tables, size_t *count, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    store_list list = {.pool = pool, .size = sizeof(table)};
    ch_status rc =
        store_prepare(st, &q, err,
                      "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite~_%' ESCAPE '~'"
                      " AND name <> 'derived' ORDER BY name",
                      "");
    while (rc >= 0 && (rc = store_step(st, q, &more, err)) >= 0 && more) {
        const char *name = (const char *)sqlite3_column_text(q, 0);
        if (list.count == BAG_TABLES_MAX) {
            rc = ch_fail(err, CH_E_INPUT, "crosshatch verify", "there are more than %d tables", BAG_TABLES_MAX);
            break;
        }
        table *t = store_list_more(&list, err);
        if (t == NULL || name == NULL) {
            rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory for the tables");
            break;
        }
        snprintf(t->name, sizeof t->name, "%s", name);
    }
    sqlite3_finalize(q);
    table *made = (table *)(void *)list.rows;
    for (size_t i = 0; rc >= 0 && i < list.count; i++)
        rc = columns_of(st, pool, &made[i], err);
    if (rc >= 0) {
        *tables = made;
        *count = list.count;
    }
    return rc;
}

void bag_table_path(const table *t, char path[static CH_STORE_ARCHIVE_PATH_MAX + 1])
{
    snprintf(path, CH_STORE_ARCHIVE_PATH_MAX + 1, BAG_TABLES "%s.csv", t->name);
}

void bag_blob_name(const char *table_name, const char *column, int64_t id, const char *mime,
                   char name[static CH_STORE_ARCHIVE_PATH_MAX + 1])
{
    const char *ending = mime == NULL                      ? "bin"
                         : strcmp(mime, "image/jpeg") == 0 ? "jpg"
                         : strcmp(mime, "image/png") == 0  ? "png"
                         : strcmp(mime, "image/webp") == 0 ? "webp"
                                                           : "bin";
    if (strcmp(table_name, "photo") == 0)
        snprintf(name, CH_STORE_ARCHIVE_PATH_MAX + 1, "photos/photo-%04lld.%s", (long long)id, ending);
    else
        snprintf(name, CH_STORE_ARCHIVE_PATH_MAX + 1, "files/%s-%04lld-%s.%s", table_name, (long long)id, column,
                 ending);
}

/* The unit that a column's name ends in. */
static const char *unit_of(const char *name)
{
    static const char *const units[] = {"s", "m", "m2", "m3", "pa", "k", "kg", "n", "1"};
    static const char *const shown[] = {"s", "m", "m2", "m3", "Pa", "K", "kg", "N", "1"};
    const char *tail = strrchr(name, '_');
    for (size_t i = 0; tail != NULL && i < sizeof units / sizeof units[0]; i++)
        if (strcmp(tail + 1, units[i]) == 0)
            return shown[i];
    return "";
}

/* SELECT of all columns (of bytes their length), in the order of the key. */
static ch_status select_all(const table *t, ch_text *sql, ch_err *err)
{
    ch_text_append_string(sql, "SELECT ");
    for (int i = 0; i < t->columns; i++)
        ch_text_appendf(sql, t->column[i].type == 'b' ? "%slength(%s)" : "%s%s", i > 0 ? ", " : "", t->column[i].name);
    ch_text_appendf(sql, " FROM %s ORDER BY ", t->name);
    bool keyed = false;
    for (int place = 1; place <= t->columns; place++)
        for (int i = 0; i < t->columns; i++)
            if (t->column[i].key == place) {
                ch_text_appendf(sql, "%s%s", keyed ? ", " : "", t->column[i].name);
                keyed = true;
            }
    if (!keyed)
        ch_text_append_string(sql, "rowid");
    return ch_text_check(sql, err);
}

/* The shortest text that reads back as the same number, with a point in every locale. */
static void put_real(ch_text *csv, double value)
{
    enum { DIGITS_MAX = 17, FIXED_LEAST = -5, FIXED_MOST = 16 };
    char text[48] = "0";
    if (value != 0) {
        double back = 0;
        size_t used = 0;
        int digits = 1;
        for (; digits <= DIGITS_MAX; digits++) {
            decimal_write_exponent(value, digits, text, sizeof text);
            if (decimal_read(text, strlen(text), &back, &used) == DECIMAL_PLAIN && back == value)
                break;
        }
        digits = digits > DIGITS_MAX ? DIGITS_MAX : digits;
        const int exponent = decimal_exponent(value, digits);
        if (exponent >= FIXED_LEAST && exponent < FIXED_MOST)
            decimal_write_fixed(value, digits - 1 - exponent > 0 ? digits - 1 - exponent : 0, text, sizeof text);
        if (decimal_read(text, strlen(text), &back, &used) != DECIMAL_PLAIN || back != value)
            decimal_write_exponent(value, digits, text, sizeof text);
    }
    ch_text_append_string(csv, text);
}

/* The MIME type that a row tells in this column (none: below 0), or NULL. */
static ch_status take_mime(sqlite3_stmt *q, int column, const char **mime, ch_err *err)
{
    *mime = NULL;
    return column < 0 ? CH_OK : store_text_there(q, column, mime, err);
}

static int mime_column(const table *t)
{
    for (int i = 0; i < t->columns; i++)
        if (strcmp(t->column[i].name, "mime") == 0)
            return i;
    return -1;
}

/* The row's number by which others name it, or 0 where it has none. */
static int64_t id_of(const table *t, sqlite3_stmt *q)
{
    return t->columns > 0 && strcmp(t->column[0].name, "id") == 0 ? sqlite3_column_int64(q, 0) : 0;
}

static ch_status put_row(const table *t, sqlite3_stmt *q, ch_text *csv, ch_err *err)
{
    char name[CH_STORE_ARCHIVE_PATH_MAX + 1];
    for (int i = 0; i < t->columns; i++) {
        if (i > 0)
            ch_text_append(csv, ",", 1);
        if (sqlite3_column_type(q, i) == SQLITE_NULL)
            continue;
        const char *text = NULL;
        ch_status rc = CH_OK;
        switch (t->column[i].type) {
        case 'i': ch_text_appendf(csv, "%lld", (long long)sqlite3_column_int64(q, i)); break;
        case 'r':
            if (!isfinite(sqlite3_column_double(q, i)))
                return ch_fail(err, CH_E_INPUT, "crosshatch verify", "a number in the table %s is not finite", t->name);
            put_real(csv, sqlite3_column_double(q, i));
            break;
        case 'b':
            rc = take_mime(q, mime_column(t), &text, err);
            if (rc < 0)
                return rc;
            bag_blob_name(t->name, t->column[i].name, id_of(t, q), text, name);
            store_csv_cell(csv, name);
            break;
        default:
            rc = store_text_there(q, i, &text, err);
            if (rc < 0)
                return rc;
            if (strlen(text) != (size_t)sqlite3_column_bytes(q, i))
                return ch_fail(err, CH_E_INPUT, "crosshatch verify", "a text in the table %s holds a NUL", t->name);
            store_csv_cell(csv, text);
            break;
        }
    }
    ch_text_append_string(csv, "\r\n");
    return ch_text_check(csv, err);
}

static ch_status put_table(ch_store *st, const table *t, bag *b, ch_err *err)
{
    char path[CH_STORE_ARCHIVE_PATH_MAX + 1];
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_text sql, csv;
    ch_text_init(&sql, BAG_PIECE);
    ch_text_init(&csv, (size_t)64 * 1024 * 1024);
    for (int i = 0; i < t->columns; i++)
        ch_text_appendf(&csv, "%s%s", i > 0 ? "," : "", t->column[i].name);
    ch_text_append_string(&csv, "\r\n");
    for (int i = 0; i < t->columns; i++)
        ch_text_appendf(&csv, "%s%s", i > 0 ? "," : "", unit_of(t->column[i].name));
    ch_text_append_string(&csv, "\r\n");
    bag_table_path(t, path);
    ch_status rc = bag_begin(b, path, -1, err);
    if (rc >= 0)
        rc = select_all(t, &sql, err);
    if (rc >= 0)
        rc = store_prepare(st, &q, err, ch_text_string(&sql), "");
    while (rc >= 0 && (rc = store_step(st, q, &more, err)) >= 0 && more) {
        rc = put_row(t, q, &csv, err);
        if (rc >= 0 && csv.length >= BAG_PIECE) {
            rc = bag_put(ch_text_string(&csv), csv.length, b, err);
            ch_text_clear(&csv);
        }
    }
    sqlite3_finalize(q);
    if (rc >= 0)
        rc = ch_text_check(&csv, err); /* of a table without rows nobody has */
    if (rc >= 0)
        rc = bag_put(ch_text_string(&csv), csv.length, b, err);
    ch_text_clear(&csv);
    ch_text_clear(&sql);
    return rc < 0 ? rc : bag_end(b, err);
}

/* The bytes of one row, a piece at a time. */
static ch_status put_blob(ch_store *st, const table *t, const char *column, int64_t id, const char *mime, bag *b,
                          ch_err *err)
{
    char name[CH_STORE_ARCHIVE_PATH_MAX + 1], path[CH_STORE_ARCHIVE_PATH_MAX + sizeof BAG_DATA];
    unsigned char piece[BAG_PIECE / 4];
    sqlite3_blob *blob = NULL;
    bag_blob_name(t->name, column, id, mime, name);
    snprintf(path, sizeof path, BAG_DATA "%s", name);
    int code = sqlite3_blob_open(st->db, "main", t->name, column, id, 0, &blob);
    ch_status rc = code == SQLITE_OK ? CH_OK : store_fail(st, code, "reading a photo", err);
    const int size = rc >= 0 ? sqlite3_blob_bytes(blob) : 0;
    if (rc >= 0)
        rc = bag_begin(b, path, size, err);
    for (int at = 0; rc >= 0 && at < size;) {
        const int length = size - at < (int)sizeof piece ? size - at : (int)sizeof piece;
        code = sqlite3_blob_read(blob, piece, length, at);
        rc = code == SQLITE_OK ? bag_put(piece, (size_t)length, b, err) : store_fail(st, code, "reading a photo", err);
        at += length;
    }
    sqlite3_blob_close(blob);
    return rc < 0 ? rc : bag_end(b, err);
}

static ch_status put_blobs(ch_store *st, const table *t, int column, bag *b, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    const bool tells = mime_column(t) >= 0;
    ch_text sql;
    ch_text_init(&sql, BAG_PIECE);
    ch_text_appendf(&sql, "SELECT id, %s FROM %s WHERE %s IS NOT NULL ORDER BY id", tells ? "mime" : "NULL", t->name,
                    t->column[column].name);
    ch_status rc = ch_text_check(&sql, err);
    if (rc >= 0)
        rc = store_prepare(st, &q, err, ch_text_string(&sql), "");
    while (rc >= 0 && (rc = store_step(st, q, &more, err)) >= 0 && more) {
        const char *mime = NULL;
        rc = store_text_there(q, 1, &mime, err);
        if (rc >= 0)
            rc = put_blob(st, t, t->column[column].name, sqlite3_column_int64(q, 0), mime, b, err);
    }
    sqlite3_finalize(q);
    ch_text_clear(&sql);
    return rc;
}

ch_status bag_put_tables(ch_store *st, bag *b, ch_err *err)
{
    ch_store_pool pool = {0};
    const table *tables = NULL;
    size_t count = 0;
    ch_status rc = bag_tables(st, &pool, &tables, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++)
        rc = put_table(st, &tables[i], b, err);
    for (size_t i = 0; rc >= 0 && i < count; i++)
        for (int k = 0; rc >= 0 && k < tables[i].columns; k++)
            if (tables[i].column[k].type == 'b')
                rc = put_blobs(st, &tables[i], k, b, err);
    ch_store_pool_clear(&pool);
    return rc;
}
