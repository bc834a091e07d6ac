/* A plain table as spreadsheets write it: delimiter, quotes, header, units. What the columns mean is told in reading_table_plan.c. */
#include "crosshatch/reading_table.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

typedef struct reader {
    const char *name, *text;
    size_t length, at;
    long line;
    size_t line_start;
    char delimiter;
    char *next; /* in the table's memory */
    ch_table_cell *cell;
    size_t count, capacity;
} reader;

static ch_status fail_at(const char *name, long line, long column, ch_status status, const char *right,
                         const char *what, ch_err *err)
{
    ch_fail(err, status, right, "%s", what);
    ch_err_locate(err, name, line, column);
    return status;
}

static ch_status check_text(const char *name, const char *text, size_t length, ch_err *err)
{
    long line = 1;
    size_t start = 0;
    for (size_t i = 0; i < length;) {
        const unsigned char c = (unsigned char)text[i];
        const size_t n = ch_utf8_length(text + i, length - i);
        if (n == 0 || (c < ' ' && c != '\n' && c != '\r' && c != '\t') || c == 0x7f)
            return fail_at(name, line, (long)(i - start) + 1, CH_E_INPUT,
                           "a table as text in UTF-8: in a spreadsheet, save as \"CSV UTF-8\"",
                           "a byte that is no text", err);
        i += n;
        if (c == '\n') {
            line++;
            start = i;
        }
    }
    return CH_OK;
}

static ch_table_cell *more(reader *r, ch_err *err)
{
    if (r->count == r->capacity) {
        const size_t capacity = r->capacity == 0 ? 256 : 2 * r->capacity;
        ch_table_cell *grown = realloc(r->cell, capacity * sizeof *grown);
        if (grown == NULL) {
            ch_fail(err, CH_E_MEMORY, NULL, "no memory for the table");
            return NULL;
        }
        r->cell = grown;
        r->capacity = capacity;
    }
    r->cell[r->count] = (ch_table_cell){.text = "", .line = r->line, .column = (long)(r->at - r->line_start) + 1};
    return &r->cell[r->count++];
}

static bool line_ends(const reader *r)
{
    return r->at >= r->length || r->text[r->at] == '\n' || r->text[r->at] == '\r';
}

static void next_line(reader *r)
{
    if (r->at < r->length && r->text[r->at] == '\r')
        r->at++;
    if (r->at < r->length && r->text[r->at] == '\n')
        r->at++;
    r->line++;
    r->line_start = r->at;
}

static ch_status read_quoted(reader *r, ch_err *err)
{
    const long line = r->line, column = (long)(r->at - r->line_start) + 1;
    for (r->at++; r->at < r->length; r->at++) {
        if (r->text[r->at] == '"' && r->at + 1 < r->length && r->text[r->at + 1] == '"')
            r->at++;
        else if (r->text[r->at] == '"') {
            r->at++;
            return CH_OK;
        }
        if (r->text[r->at] == '\n') {
            r->line++;
            r->line_start = r->at + 1;
        }
        *r->next++ = r->text[r->at];
    }
    return fail_at(r->name, line, column, CH_E_INPUT, "a second quote behind it", "a quote that does not end", err);
}

static ch_status read_cell(reader *r, ch_err *err)
{
    ch_table_cell *cell = more(r, err);
    if (cell == NULL)
        return CH_E_MEMORY;
    while (!line_ends(r) && r->text[r->at] == ' ')
        r->at++;
    char *start = r->next;
    ch_status rc = CH_OK;
    if (!line_ends(r) && r->text[r->at] == '"')
        rc = read_quoted(r, err);
    while (rc >= 0 && !line_ends(r) && r->text[r->at] != r->delimiter)
        *r->next++ = r->text[r->at++];
    while (r->next > start && (r->next[-1] == ' ' || r->next[-1] == '\n' || r->next[-1] == '\r'))
        r->next--;
    *r->next++ = '\0';
    cell->text = start;
    return rc;
}

/* One row of the file: *cells of them, the last ones of the list. */
static ch_status read_row(reader *r, size_t *cells, ch_err *err)
{
    const size_t before = r->count;
    for (;;) {
        const ch_status rc = read_cell(r, err);
        if (rc < 0)
            return rc;
        if (line_ends(r))
            break;
        r->at++; /* the delimiter */
    }
    next_line(r);
    *cells = r->count - before;
    return CH_OK;
}

/* Pass over lines that say nothing; `remarks`: those that begin with # as well. */
static void skip(reader *r, bool remarks)
{
    while (r->at < r->length) {
        size_t i = r->at;
        while (i < r->length && (r->text[i] == ' ' || r->text[i] == '\t' || r->text[i] == ';' || r->text[i] == ','))
            i++;
        const bool empty = i >= r->length || r->text[i] == '\n' || r->text[i] == '\r';
        if (!empty && !(remarks && r->text[i] == '#'))
            return;
        while (!line_ends(r))
            r->at++;
        next_line(r);
    }
}

static char delimiter_of(const reader *r)
{
    bool quoted = false, semicolon = false;
    for (size_t i = r->at; i < r->length && (quoted || (r->text[i] != '\n' && r->text[i] != '\r')); i++) {
        if (r->text[i] == '"')
            quoted = !quoted;
        if (!quoted && r->text[i] == '\t')
            return '\t';
        semicolon = semicolon || (!quoted && r->text[i] == ';');
    }
    return semicolon ? ';' : ',';
}

/* The line "sep=;" ahead of the header, with which spreadsheets tell each other the delimiter; '\0' where there is none. */
static char delimiter_told(reader *r)
{
    static const char tells[] = "sep=";
    const size_t n = sizeof tells - 1;
    if (r->length - r->at < n + 2 || strncasecmp(r->text + r->at, tells, n) != 0)
        return '\0';
    const char delimiter = r->text[r->at + n], end = r->text[r->at + n + 1];
    if ((delimiter != ',' && delimiter != ';' && delimiter != '\t') || (end != '\n' && end != '\r'))
        return '\0';
    r->at += n + 1;
    next_line(r);
    return delimiter;
}

static bool all_units(const ch_table_cell *cell, size_t count)
{
    size_t units = 0;
    for (size_t i = 0; i < count; i++) {
        if (cell[i].text[0] == '\0' || strcmp(cell[i].text, "1") == 0)
            continue;
        if (ch_unit_find(cell[i].text, strlen(cell[i].text)) == NULL)
            return false;
        units++;
    }
    return units > 0;
}

/* Bring the last row to `columns` cells. */
static ch_status fit(reader *r, size_t cells, size_t columns, ch_err *err)
{
    while (cells > columns && r->cell[r->count - 1].text[0] == '\0') {
        r->count--;
        cells--;
    }
    if (cells > columns) {
        const ch_table_cell *extra = &r->cell[r->count - cells + columns];
        return fail_at(r->name, extra->line, extra->column, CH_E_INPUT,
                       "as many cells as the header, or quotes around a cell", "the row has more cells than the header",
                       err);
    }
    for (; cells < columns; cells++)
        if (more(r, err) == NULL)
            return CH_E_MEMORY;
    return CH_OK;
}

static ch_status read_header(reader *r, size_t *columns, ch_err *err)
{
    skip(r, true);
    r->delimiter = delimiter_told(r);
    if (r->delimiter == '\0')
        r->delimiter = delimiter_of(r);
    else
        skip(r, true);
    ch_status rc = read_row(r, columns, err);
    if (rc >= 0 && *columns > CH_TABLE_COLUMNS_MAX)
        rc = fail_at(r->name, r->cell[0].line, 1, CH_E_LIMIT, "at most 64 columns", "the table has too many columns",
                     err);
    if (rc >= 0 && *columns < 2)
        rc =
            fail_at(r->name, r->cell[0].line, 1, CH_E_INPUT, "names of columns with commas, semicolons or tabs between",
                    "the first line is no header of a table", err);
    return rc;
}

static ch_status read_rows(reader *r, size_t columns, size_t *rows, ch_err *err)
{
    ch_status rc = CH_OK;
    bool units_done = false;
    for (*rows = 0; rc >= 0;) {
        skip(r, false);
        if (r->at >= r->length)
            break;
        size_t cells = 0;
        rc = read_row(r, &cells, err);
        if (rc >= 0)
            rc = fit(r, cells, columns, err);
        if (rc < 0)
            break;
        if (!units_done) {
            units_done = true;
            if (all_units(r->cell + columns, columns))
                continue;
            /* No units: the row moves up behind an empty one. */
            for (size_t i = 0; rc >= 0 && i < columns; i++)
                rc = more(r, err) == NULL ? CH_E_MEMORY : CH_OK;
            for (size_t i = 0; rc >= 0 && i < columns; i++) {
                r->cell[2 * columns + i] = r->cell[columns + i];
                r->cell[columns + i].text = "";
            }
        }
        if (++*rows > CH_TABLE_ROWS_MAX)
            rc = fail_at(r->name, r->line, 1, CH_E_LIMIT, "at most 20000 rows", "the table has too many rows", err);
    }
    if (rc >= 0 && *rows == 0)
        rc = fail_at(r->name, r->line, 1, CH_E_INPUT, "a row below the header", "the table has no rows", err);
    return rc;
}

ch_status ch_table_read(const char *name, const char *text, size_t length, ch_table *table, ch_err *err)
{
    if (length > CH_TABLE_BYTES_MAX)
        return fail_at(name, 0, 0, CH_E_LIMIT, "at most 4 MiB", "the table is too large", err);
    ch_status rc = check_text(name, text, length, err);
    if (rc < 0)
        return rc;
    reader r = {.name = name, .text = text, .length = length, .line = 1};
    if (length >= 3 && memcmp(text, "\xef\xbb\xbf", 3) == 0)
        r.at = r.line_start = 3;           /* byte order mark */
    char *memory = malloc(2 * length + 2); /* each cell needs its bytes and a NUL */
    size_t columns = 0, rows = 0;
    r.next = memory;
    rc = memory == NULL ? ch_fail(err, CH_E_MEMORY, NULL, "no memory for the table") : read_header(&r, &columns, err);
    if (rc >= 0)
        rc = read_rows(&r, columns, &rows, err);
    if (rc < 0) {
        free(memory);
        free(r.cell);
        return rc;
    }
    *table = (ch_table){.cell = r.cell, .columns = columns, .rows = rows, .memory = memory};
    return CH_OK;
}

void ch_table_clear(ch_table *table)
{
    free(table->cell);
    free(table->memory);
    *table = (ch_table){0};
}

const ch_table_cell *ch_table_at(const ch_table *table, size_t row, size_t column)
{
    return &table->cell[(row + 2) * table->columns + column];
}
