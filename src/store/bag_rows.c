/*
 * A table's CSV (RFC 4180), piece by piece, as rows of a garage that is being filled. As strict as bag_table.c is regular: every cell is of its
 * column's type, or the row is refused with its line and column.
 */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../base/decimal.h"
#include "bag.h"

typedef enum state { CELL_START, PLAIN, QUOTED, QUOTE_IN_QUOTED, AFTER_CR } state;

typedef struct cell {
    size_t at; /* in `row` */
    bool quoted;
    long line, column;
} cell;

struct bag_rows {
    ch_store *st;
    const table *t;
    bag_list *list;
    sqlite3_stmt *insert;
    state state;
    long line, column;       /* of the next byte, from 1 */
    long at_line, at_column; /* of what is being looked at */
    long row_number;         /* 0 the header, 1 the units */
    ch_text row;             /* its cells, each with a NUL behind it */
    cell cells[BAG_COLUMNS_MAX];
    int count;
};

long bag_rows_line(const bag_rows *rows, long *column)
{
    *column = rows->at_column;
    return rows->at_line;
}

ch_status bag_rows_open(ch_store *st, const table *t, bag_list *list, bag_rows **rows, ch_err *err)
{
    bag_rows *made = calloc(1, sizeof *made);
    if (made == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the table's rows");
    *made = (bag_rows){.st = st, .t = t, .list = list, .line = 1, .column = 1, .at_line = 1, .at_column = 1};
    ch_text_init(&made->row, (size_t)2 * BAG_CELL_MAX);
    ch_text sql;
    ch_text_init(&sql, BAG_PIECE);
    ch_text_appendf(&sql, "INSERT INTO %s (", t->name);
    for (int i = 0; i < t->columns; i++)
        ch_text_appendf(&sql, "%s%s", i > 0 ? ", " : "", t->column[i].name);
    ch_text_append_string(&sql, ") VALUES (");
    for (int i = 0; i < t->columns; i++)
        ch_text_appendf(&sql, "%s?%d", i > 0 ? ", " : "", i + 1);
    ch_text_append_string(&sql, ")");
    ch_status rc = ch_text_check(&sql, err);
    if (rc >= 0)
        rc = store_prepare(st, &made->insert, err, ch_text_string(&sql), "");
    ch_text_clear(&sql);
    if (rc < 0)
        bag_rows_free(made);
    else
        *rows = made;
    return rc;
}

void bag_rows_free(bag_rows *rows)
{
    if (rows == NULL)
        return;
    sqlite3_finalize(rows->insert);
    ch_text_clear(&rows->row);
    free(rows);
}

static const char *cell_text(const bag_rows *r, int i)
{
    return ch_text_string(&r->row) + r->cells[i].at;
}

static void look_at(bag_rows *r, int i)
{
    r->at_line = r->cells[i].line;
    r->at_column = r->cells[i].column;
}

static ch_status bind_integer(bag_rows *r, int i, int *code, ch_err *err)
{
    const char *text = cell_text(r, i);
    char *end = NULL;
    errno = 0;
    const long long value = strtoll(text, &end, 10);
    if (errno != 0 || *end != '\0' || strspn(text, "-0123456789") != strlen(text))
        return ch_fail(err, CH_E_INPUT, "a whole number", "%s: no whole number", r->t->column[i].name);
    *code = sqlite3_bind_int64(r->insert, i + 1, value);
    return CH_OK;
}

static ch_status bind_real(bag_rows *r, int i, int *code, ch_err *err)
{
    const char *text = cell_text(r, i);
    double value = 0;
    size_t used = 0;
    if (decimal_read(text, strlen(text), &value, &used) != DECIMAL_PLAIN || used != strlen(text))
        return ch_fail(err, CH_E_INPUT, "a number as in 12.5", "%s: no number", r->t->column[i].name);
    *code = sqlite3_bind_double(r->insert, i + 1, value);
    return CH_OK;
}

static int find_column(const table *t, const char *name)
{
    for (int i = 0; i < t->columns; i++)
        if (strcmp(t->column[i].name, name) == 0)
            return i;
    return -1;
}

/* The bytes come later, from their own file; until then there is room of their size. */
static ch_status bind_blob(bag_rows *r, int i, int *code, ch_err *err)
{
    char wanted[CH_STORE_ARCHIVE_PATH_MAX + 1], path[CH_STORE_ARCHIVE_PATH_MAX + sizeof BAG_DATA];
    const int id_column = find_column(r->t, "id"), mime_column = find_column(r->t, "mime");
    const int64_t id = id_column >= 0 ? strtoll(cell_text(r, id_column), NULL, 10) : 0;
    bag_blob_name(r->t->name, r->t->column[i].name, id, mime_column >= 0 ? cell_text(r, mime_column) : NULL, wanted);
    if (strcmp(wanted, cell_text(r, i)) != 0)
        return ch_fail(err, CH_E_INPUT, wanted, "%s: another file than that of this row", r->t->column[i].name);
    snprintf(path, sizeof path, BAG_DATA "%s", wanted);
    bag_entry *file = bag_find(r->list, path);
    if (file == NULL || file->used)
        return ch_fail(err, CH_E_INPUT, "a file that is in the archive", "%s: there is no such file",
                       r->t->column[i].name);
    if (file->size > BAG_BLOB_MAX)
        return ch_fail(err, CH_E_LIMIT, "at most 64 MiB", "%s: the file is too large", r->t->column[i].name);
    file->used = true;
    file->table = r->t;
    file->column = i;
    file->row_id = id;
    *code = sqlite3_bind_zeroblob(r->insert, i + 1, (int)file->size);
    return CH_OK;
}

static ch_status bind_cell(bag_rows *r, int i, ch_err *err)
{
    const table_column *c = &r->t->column[i];
    const char *text = cell_text(r, i);
    int code = SQLITE_OK;
    ch_status rc = CH_OK;
    look_at(r, i);
    if (text[0] == '\0' && !r->cells[i].quoted) {
        code = sqlite3_bind_null(r->insert, i + 1);
    } else if (c->type == 'i') {
        rc = bind_integer(r, i, &code, err);
    } else if (c->type == 'r') {
        rc = bind_real(r, i, &code, err);
    } else if (c->type == 'b') {
        rc = bind_blob(r, i, &code, err);
    } else {
        rc = store_text_check_to(c->name, text, false, BAG_CELL_MAX, err);
        if (rc >= 0)
            code = sqlite3_bind_text(r->insert, i + 1, text, -1, SQLITE_TRANSIENT);
    }
    return rc >= 0 && code != SQLITE_OK ? store_fail(r->st, code, "filling a garage for trial", err) : rc;
}

static ch_status insert_row(bag_rows *r, ch_err *err)
{
    ch_status rc = CH_OK;
    for (int i = 0; rc >= 0 && i < r->count; i++)
        rc = bind_cell(r, i, err);
    if (rc < 0)
        return rc;
    look_at(r, 0);
    const int code = sqlite3_step(r->insert);
    if ((code & 0xff) == SQLITE_CONSTRAINT)
        rc = ch_fail(err, CH_E_INPUT, "a row that a garage may hold", "%s", sqlite3_errmsg(r->st->db));
    else if (code != SQLITE_DONE)
        rc = store_fail(r->st, code, "filling a garage for trial", err);
    sqlite3_reset(r->insert);
    return rc;
}

static ch_status end_row(bag_rows *r, ch_err *err)
{
    ch_status rc = ch_text_check(&r->row, err);
    if (rc < 0)
        return rc;
    look_at(r, 0);
    if (r->count != r->t->columns)
        return ch_fail(err, CH_E_INPUT, "as many cells as columns", "a row of %d cells, and the table has %d columns",
                       r->count, r->t->columns);
    if (r->row_number == 0)
        for (int i = 0; i < r->count; i++)
            if (strcmp(cell_text(r, i), r->t->column[i].name) != 0) {
                look_at(r, i);
                return ch_fail(err, CH_E_INPUT, r->t->column[i].name, "another column than this table has");
            }
    if (r->row_number >= 2)
        rc = insert_row(r, err);
    r->row_number++;
    r->count = 0;
    ch_text_clear(&r->row);
    return rc;
}

static void end_cell(bag_rows *r)
{
    ch_text_append(&r->row, "", 1);
    r->count++;
}

static ch_status begin_cell(bag_rows *r, bool quoted, ch_err *err)
{
    r->at_line = r->line;
    r->at_column = r->column;
    if (r->count >= BAG_COLUMNS_MAX)
        return ch_fail(err, CH_E_INPUT, "as many cells as columns", "a row of more than %d cells", BAG_COLUMNS_MAX);
    r->cells[r->count] = (cell){.at = r->row.length, .quoted = quoted, .line = r->line, .column = r->column};
    return CH_OK;
}

static ch_status odd(bag_rows *r, const char *what, ch_err *err)
{
    r->at_line = r->line;
    r->at_column = r->column;
    return ch_fail(err, CH_E_INPUT, "a table as in RFC 4180, with lines that end in CR LF", "%s", what);
}

/* A cell's end, or a row's, behind what is no part of the cell. */
static ch_status separator(bag_rows *r, char c)
{
    end_cell(r);
    r->state = c == ',' ? CELL_START : AFTER_CR;
    return CH_OK;
}

static ch_status take(bag_rows *r, char c, ch_err *err)
{
    ch_status rc = CH_OK;
    switch (r->state) {
    case CELL_START:
        rc = begin_cell(r, c == '"', err);
        if (rc < 0)
            return rc;
        if (c == '"') {
            r->state = QUOTED;
            return CH_OK;
        }
        r->state = PLAIN;
        /* fall through */
    case PLAIN:
        if (c == ',' || c == '\r')
            return separator(r, c);
        if (c == '"' || c == '\n' || c == '\0')
            return odd(r, "a quote, line end or NUL in the middle of a cell", err);
        ch_text_append(&r->row, &c, 1);
        return CH_OK;
    case QUOTED:
        if (c == '"')
            r->state = QUOTE_IN_QUOTED;
        else if (c == '\0')
            return odd(r, "a NUL in a cell", err);
        else
            ch_text_append(&r->row, &c, 1);
        return ch_text_check(&r->row, err);
    case QUOTE_IN_QUOTED:
        if (c == ',' || c == '\r')
            return separator(r, c);
        if (c != '"')
            return odd(r, "something between a quote and the next cell", err);
        r->state = QUOTED;
        ch_text_append(&r->row, &c, 1);
        return CH_OK;
    case AFTER_CR:
        if (c != '\n')
            return odd(r, "a line end that is not CR LF", err);
        r->state = CELL_START;
        return end_row(r, err);
    }
    return rc;
}

ch_status bag_rows_feed(bag_rows *rows, const char *bytes, size_t length, ch_err *err)
{
    ch_status rc = CH_OK;
    for (size_t i = 0; rc >= 0 && i < length; i++) {
        rc = take(rows, bytes[i], err);
        rows->column++;
        if (bytes[i] == '\n') {
            rows->line++;
            rows->column = 1;
        }
    }
    return rc;
}

ch_status bag_rows_end(bag_rows *rows, ch_err *err)
{
    if (rows->state != CELL_START || rows->count > 0 || rows->row_number < 2)
        return odd(rows, "the table ends in the middle", err);
    return CH_OK;
}
