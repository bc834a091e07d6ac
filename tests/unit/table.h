/*
 * Reader of the small published tables under tests/data: comma-separated, a header row, cells that hold a comma in
 * double quotes. A missing file, column or row fails the test, so that no check can pass by not running.
 */
#ifndef CROSSHATCH_TESTS_TABLE_H
#define CROSSHATCH_TESTS_TABLE_H

#include <stdlib.h>
#include <string.h>

#include "expect.h"

enum { TABLE_ROWS = 64, TABLE_COLUMNS = 16, TABLE_TEXT = 160 };

/* Row 0 is the header. */
typedef struct table {
    int rows;
    char cell[TABLE_ROWS][TABLE_COLUMNS][TABLE_TEXT];
} table;

static inline void table_split(table *t, const char *line)
{
    int column = 0;
    size_t length = 0;
    int quoted = 0;
    for (const char *c = line; *c != '\0' && *c != '\n' && *c != '\r'; c++) {
        if (*c == '"') {
            quoted = !quoted;
        } else if (*c == ',' && !quoted) {
            column++;
            length = 0;
            assert_true(column < TABLE_COLUMNS);
        } else {
            assert_true(length + 1 < TABLE_TEXT);
            t->cell[t->rows][column][length++] = *c;
        }
    }
    t->rows++;
}

/* Reads tests/data/NAME; the caller frees the table. */
static inline table *table_read(const char *name)
{
    const char *root = getenv("CROSSHATCH_SOURCE");
    assert_non_null(root);
    char path[1024];
    snprintf(path, sizeof path, "%s/tests/data/%s", root, name);
    FILE *file = fopen(path, "r");
    if (file == NULL)
        print_error("cannot open %s\n", path);
    assert_non_null(file);
    table *t = calloc(1, sizeof *t);
    assert_non_null(t);
    char line[2048];
    while (fgets(line, sizeof line, file) != NULL) {
        assert_true(t->rows < TABLE_ROWS);
        table_split(t, line);
    }
    fclose(file);
    assert_true(t->rows > 1);
    return t;
}

static inline const char *table_text(const table *t, int row, const char *column)
{
    for (int i = 0; i < TABLE_COLUMNS; i++)
        if (strcmp(t->cell[0][i], column) == 0)
            return t->cell[row][i];
    print_error("no column %s\n", column);
    _fail(__FILE__, __LINE__);
    return "";
}

static inline double table_number(const table *t, int row, const char *column)
{
    const char *text = table_text(t, row, column);
    char *end = NULL;
    const double number = strtod(text, &end);
    assert_true(end != text && *end == '\0');
    return number;
}

/* Row whose first cell is KEY. */
static inline int table_row(const table *t, const char *key)
{
    for (int row = 1; row < t->rows; row++)
        if (strcmp(t->cell[row][0], key) == 0)
            return row;
    print_error("no row %s\n", key);
    _fail(__FILE__, __LINE__);
    return 0;
}

/* Half a unit of the last digit that a cell prints: the largest error that its rounding explains. */
static inline double table_half_unit(const table *t, int row, const char *column)
{
    const char *text = table_text(t, row, column);
    const char *point = strchr(text, '.');
    int exponent = 0;
    const char *e = strpbrk(text, "eE");
    if (e != NULL)
        exponent = (int)strtol(e + 1, NULL, 10);
    if (point != NULL)
        for (const char *c = point + 1; *c >= '0' && *c <= '9'; c++)
            exponent--;
    return 0.5 * pow(10.0, exponent);
}

#endif
