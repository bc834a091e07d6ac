/**
 * @file reading_table.h
 * A plain table of old readings, as people keep them in a spreadsheet (CSV with commas or semicolons, or tabs), as test sheets. Two shapes: a
 * row a reading (date, cylinder, reading ...), or a row a test with a column for each cylinder.
 *
 * First the table is read, then each column is given a use and a unit (guessed, then corrected by a person), then sheets are made, and with
 * them a list of what is doubtful. Nothing here stores anything. Docs: docs/reading-table.md.
 */
#ifndef CROSSHATCH_READING_TABLE_H
#define CROSSHATCH_READING_TABLE_H

#include "crosshatch/sheet.h"
#include "crosshatch/text.h"

/** Limits of a table. */
enum {
    CH_TABLE_BYTES_MAX = 4 * 1024 * 1024, /**< bytes of the file */
    CH_TABLE_ROWS_MAX = 20000,            /**< rows, without header and units */
    CH_TABLE_COLUMNS_MAX = 64,            /**< columns */
    CH_TABLE_SHEETS_MAX = 2000,           /**< sheets made of it */
    CH_TABLE_DOUBTS_MAX = 16 * 1024       /**< bytes of the list of doubts */
};

/** A cell; its text lives as long as the table. */
typedef struct ch_table_cell {
    const char *text; /**< without blanks around it; "" where empty */
    long line;        /**< where it stands in the file, from 1 */
    long column;      /**< byte in that line, from 1 */
} ch_table_cell;

/** A table as read: a header, perhaps a row of units, rows of as many cells as the header has. */
typedef struct ch_table {
    ch_table_cell
        *cell; /**< `columns` cells of the header, as many units (empty where there is no such row), then the rows */
    size_t columns; /**< cells in a row */
    size_t rows;    /**< without header and units */
    char *memory;   /**< the texts */
} ch_table;

/** What a column holds. From CH_TABLE_CYLINDER_N on: the reading of cylinder 1, 2, ... of a test. */
typedef enum ch_table_use {
    CH_TABLE_UNUSED,       /**< nothing that is taken */
    CH_TABLE_DATE,         /**< day of the test */
    CH_TABLE_SHEET,        /**< number or name that tells tests apart */
    CH_TABLE_TITLE,        /**< title of the test */
    CH_TABLE_LIST,         /**< compression (dry), wet or leakdown */
    CH_TABLE_CYLINDER,     /**< number of the cylinder */
    CH_TABLE_READING,      /**< pressure read */
    CH_TABLE_FIRST_STROKE, /**< pressure after the first stroke */
    CH_TABLE_OIL,          /**< oil put in before a wet reading */
    CH_TABLE_SUPPLY,       /**< leak-down: pressure supplied */
    CH_TABLE_LOSS,         /**< leak-down: share lost */
    CH_TABLE_ORIFICE,      /**< leak-down: diameter of the orifice */
    CH_TABLE_ODOMETER,     /**< distance driven */
    CH_TABLE_HOURS,        /**< engine hours */
    CH_TABLE_NOTE,         /**< remark */
    CH_TABLE_CYLINDER_N    /**< and the 31 behind it */
} ch_table_use;

/** How a date such as 3/4/2019 is meant. */
typedef enum ch_table_days {
    CH_TABLE_DAYS_SEEN,  /**< as the column shows it; a doubt where it does not */
    CH_TABLE_DAY_FIRST,  /**< 3 April */
    CH_TABLE_MONTH_FIRST /**< 4 March */
} ch_table_days;

/** What a person chose for each column. */
typedef struct ch_table_plan {
    int use[CH_TABLE_COLUMNS_MAX];             /**< ch_table_use */
    const ch_unit *unit[CH_TABLE_COLUMNS_MAX]; /**< of bare numbers; NULL = none named */
    ch_table_days days;                        /**< order of day and month */
    int cylinders;                             /**< of the engine; 0 = the highest number in the table */
} ch_table_plan;

/** Sheets made of a table. */
typedef struct ch_table_made {
    ch_sheet *sheet; /**< `count` */
    long *line;      /**< where each begins in the file */
    size_t count;    /**< sheets */
    size_t readings; /**< in all of them */
    size_t passed;   /**< rows without a reading, passed over */
    ch_text doubts;  /**< what is doubtful, a line each */
} ch_table_made;

/**
 * Read a table: the delimiter is what the header line has (tab, else semicolon, else comma), cells may be quoted (RFC 4180), lines before the
 * header that begin with # and empty lines are passed over. A second line of nothing but units is the row of units.
 *
 * @param name   For messages.
 * @param text   The file.
 * @param length Bytes of it.
 * @param table  (out) ch_table_clear() it. Untouched on failure.
 * @param err    (out, may be NULL) With file, line and column.
 * @retval CH_E_INPUT Not UTF-8, no header with two columns, a row with more cells than the header, a quote that does not end.
 * @retval CH_E_LIMIT Larger than a limit of a table.
 * @retval CH_E_MEMORY
 */
ch_status ch_table_read(const char *name, const char *text, size_t length, ch_table *table, ch_err *err);

/** Free a table; fine on one of zeros. @param table The table. */
void ch_table_clear(ch_table *table);

/** A cell of row `row`. @param table The table. @param row From 0. @param column From 0. @return The cell, as long as the table lives. */
const ch_table_cell *ch_table_at(const ch_table *table, size_t row, size_t column);

/** Guess uses and units by the header's words (English and German), the units in its brackets and the row of units.
 * @param table The table. @param plan (out) The guess. */
void ch_table_guess(const ch_table *table, ch_table_plan *plan);

/** The use of this name ("reading", "cylinder_3"). @param name The name. @return The use, or -1 where there is none. */
int ch_table_use_find(const char *name);

/** The name of a use, "" for an unused column. @param use The use. @param name (out) Its name. @param size Bytes there. */
void ch_table_use_name(int use, char *name, size_t size);

/** What a use measures. @param use The use. @return A ch_dimension, or CH_DIM_COUNT_ where it is no quantity. */
ch_dimension ch_table_use_dimension(int use);

/**
 * Make sheets: one for each value of the `sheet` column, or of date and title where there is none. In the wide shape a row is a round of a test:
 * those of one test that say nothing different of odometer, hours and note are its repeats, and wet ones join the dry. A filled cell that a sheet has no place for is told among the doubts. Each is a
 * sheet that ch_sheet_parse() takes.
 *
 * @param name  For messages.
 * @param table The table.
 * @param plan  What each column holds.
 * @param made  (out) ch_table_made_clear() it. Untouched on failure.
 * @param err   (out, may be NULL) With line and column of the cell.
 * @retval CH_E_INPUT No column of readings, or none of cylinders for it; a use given twice; a cell that is not what its column holds; a unit missing.
 * @retval CH_E_LIMIT More sheets than a limit of a table.
 * @retval CH_E_MEMORY
 */
ch_status ch_table_sheets(const char *name, const ch_table *table, const ch_table_plan *plan, ch_table_made *made,
                          ch_err *err);

/** Bytes of an id with its NUL. */
enum { CH_TABLE_ID_SIZE = 48 };

/**
 * An id made of a sheet's content, so that the same sheet is stored once, from wherever it comes.
 *
 * @param sheet The sheet.
 * @param id    (out) "file-" and 32 hexadecimal digits: FNV-1a, 64 bits, from two starting values (hash.h).
 * @param err   (out, may be NULL) As ch_sheet_write().
 */
ch_status ch_table_sheet_id(const ch_sheet *sheet, char id[CH_TABLE_ID_SIZE], ch_err *err);

/** Free what was made; fine on one of zeros. @param made The sheets. */
void ch_table_made_clear(ch_table_made *made);

#endif
