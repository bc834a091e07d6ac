/* A plain table of old readings as sheets: the columns as guessed or as --column says, a preview, and only then the garage. */
#include "import_table.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "crosshatch/history.h"
#include "crosshatch/reading_table.h"
#include "crosshatch/store_sheet.h"
#include "file.h"
#include "garage.h"

enum { SHEETS_SHOWN = 8 };

bool import_names_table(const char *name)
{
    const char *ending = strrchr(name, '.');
    return ending != NULL &&
           (strcasecmp(ending, ".csv") == 0 || strcasecmp(ending, ".tsv") == 0 || strcasecmp(ending, ".txt") == 0);
}

/* The column of this header, or of this number counted from 1. */
static int find_column(const ch_table *table, const char *named, size_t length)
{
    char *end = NULL;
    for (size_t i = 0; i < table->columns; i++)
        if (strlen(table->cell[i].text) == length && strncmp(table->cell[i].text, named, length) == 0)
            return (int)i;
    const long number = strtol(named, &end, 10);
    return end == named + length && number >= 1 && (size_t)number <= table->columns ? (int)number - 1 : -1;
}

static ch_status usage(const char *given, const char *right, const char *what, ch_err *err)
{
    char shown[80];
    ch_text_excerpt(given, strlen(given), shown, sizeof shown);
    return ch_fail(err, CH_E_USAGE, right, "import: --column %s: %s", shown, what);
}

/* What stands behind the colon: a unit, or for dates the order of day and month. */
static ch_status take_tail(const char *given, const char *tail, int use, int column, ch_table_plan *plan, ch_err *err)
{
    if (use == CH_TABLE_DATE) {
        if (strcmp(tail, "dmy") != 0 && strcmp(tail, "mdy") != 0)
            return usage(given, "dmy or mdy", "no order of day and month", err);
        plan->days = tail[0] == 'd' ? CH_TABLE_DAY_FIRST : CH_TABLE_MONTH_FIRST;
        return CH_OK;
    }
    const ch_unit *unit = ch_unit_find(tail, strlen(tail));
    const ch_dimension dimension = ch_table_use_dimension(use);
    if (dimension == CH_DIM_COUNT_ || unit == NULL || unit->dimension != dimension)
        return usage(given, dimension == CH_DIM_COUNT_ ? "no unit" : ch_dimension_units(dimension),
                     "no unit of such a thing", err);
    plan->unit[column] = unit;
    return CH_OK;
}

/* One --column NAME=COLUMN or NAME=COLUMN:UNIT. A header may hold a colon itself. */
static ch_status take_column(const char *given, const ch_table *table, ch_table_plan *plan, ch_err *err)
{
    char name[32];
    const char *equals = strchr(given, '=');
    const size_t length = equals != NULL ? (size_t)(equals - given) : 0;
    if (length == 0 || length >= sizeof name)
        return usage(given, "NAME=COLUMN or NAME=COLUMN:UNIT", "no name of a use", err);
    memcpy(name, given, length);
    name[length] = '\0';
    const int use = ch_table_use_find(name);
    if (use < 0)
        return usage(given,
                     "date, sheet, title, list, cylinder, reading, first_stroke, oil, supply, loss, orifice, odometer, "
                     "engine_hours, "
                     "note, or cylinder_1 to cylinder_32",
                     "no such use", err);
    const char *tail = strrchr(equals + 1, ':');
    int column = find_column(table, equals + 1, strlen(equals + 1));
    if (column >= 0)
        tail = NULL;
    else if (tail != NULL)
        column = find_column(table, equals + 1, (size_t)(tail - equals - 1));
    if (column < 0)
        return usage(given, "a name of the header line, or a number from 1", "the table has no such column", err);
    for (size_t i = 0; i < table->columns; i++)
        if (plan->use[i] == use)
            plan->use[i] = CH_TABLE_UNUSED;
    plan->use[column] = use;
    if (plan->unit[column] != NULL && plan->unit[column]->dimension != ch_table_use_dimension(use))
        plan->unit[column] = NULL;
    return tail != NULL ? take_tail(given, tail + 1, use, column, plan, err) : CH_OK;
}

/* Pressures whose unit nothing names are in that of --units, where it is given. */
static void usual_unit(const cli_options *options, const ch_table *table, ch_table_plan *plan)
{
    for (size_t i = 0; (options->given & CLI_UNITS) && i < table->columns; i++)
        if (plan->unit[i] == NULL && ch_table_use_dimension(plan->use[i]) == CH_DIM_PRESSURE)
            plan->unit[i] = options->pressure;
}

static void show_columns(const ch_table *table, const ch_table_plan *plan, ch_text *answer)
{
    char use[32], header[48];
    for (size_t i = 0; i < table->columns; i++) {
        ch_table_use_name(plan->use[i], use, sizeof use);
        ch_text_excerpt(table->cell[i].text, strlen(table->cell[i].text), header, sizeof header);
        ch_text_appendf(answer, "  column %-2zu %-24s %s%s%s\n", i + 1, header, use[0] != '\0' ? use : "- not taken",
                        plan->unit[i] != NULL ? ", " : "", plan->unit[i] != NULL ? plan->unit[i]->name : "");
    }
}

static bool is_to_come(const ch_sheet *sheet)
{
    return ch_history_to_come(sheet->conditions.date, garage_today());
}

/* They are kept all the same: it may be the clock that is wrong. */
static void say_to_come(const ch_table_made *made, ch_text *answer)
{
    size_t count = 0;
    for (size_t i = 0; i < made->count; i++)
        count += is_to_come(&made->sheet[i]);
    if (count > 0)
        ch_text_appendf(answer, "%zu of a day still to come: put it right, %s for nothing until then\n", count,
                        count == 1 ? "it counts" : "they count");
}

static void show_sheets(const ch_table_made *made, ch_text *answer)
{
    for (size_t i = 0; i < made->count && i < SHEETS_SHOWN; i++) {
        const ch_sheet *s = &made->sheet[i];
        char day[16], first[64] = "";
        ch_date_format(s->conditions.date, day, sizeof day);
        if (s->compression_count > 0)
            ch_quantity_text(&s->compression[0].reading, first, sizeof first);
        ch_text_appendf(answer, "  line %ld: %s%s%s%d %s, %zu dry, %zu wet, %zu leak-down%s%s\n", made->line[i], day,
                        is_to_come(s) ? " (still to come)" : "", day[0] != '\0' ? ": " : "", s->engine.cylinders,
                        s->engine.cylinders == 1 ? "cylinder" : "cylinders", s->compression_count, s->wet_count,
                        s->leakdown_count, first[0] != '\0' ? ", first reading " : "", first);
    }
    if (made->count > SHEETS_SHOWN)
        ch_text_appendf(answer, "  and %zu more\n", made->count - SHEETS_SHOWN);
    say_to_come(made, answer);
}

static void show(const char *name, const ch_table *table, const ch_table_plan *plan, const ch_table_made *made,
                 ch_text *answer)
{
    ch_text_appendf(answer, "%s: %zu %s\n", name, table->rows, table->rows == 1 ? "row" : "rows");
    show_columns(table, plan, answer);
    ch_text_appendf(answer, "gives %zu %s with %zu %s:\n", made->count, made->count == 1 ? "sheet" : "sheets",
                    made->readings, made->readings == 1 ? "reading" : "readings");
    show_sheets(made, answer);
    if (made->doubts.length > 0)
        ch_text_appendf(answer, "to be looked at:\n%s", ch_text_string(&made->doubts));
}

static ch_status store_all(const cli_options *options, const ch_table_made *made, ch_text *answer, ch_err *err)
{
    ch_store *store = NULL;
    ch_store_pool pool = {0};
    ch_store_brought told = {0};
    int64_t car_id = 0;
    ch_status rc = garage_open(options, CH_STORE_CREATE, &store, err);
    if (rc >= 0 && options->car != NULL)
        rc = garage_car(options, store, &pool, "import", &car_id, err);
    if (rc >= 0)
        rc = ch_store_sheets_bring(store, car_id, made->sheet, made->count, garage_now_s(), &told, err);
    if (rc >= 0)
        ch_text_appendf(answer, "stored %zu; %zu were here already\n", made->count - told.again, told.again);
    if (rc >= 0 && told.without_engine > 0)
        ch_text_appendf(answer, "%zu with no day belong to none of the car's engines: it had more than one\n",
                        told.without_engine);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
    return rc;
}

ch_status import_table(const cli_options *options, ch_text *answer, ch_err *err)
{
    char *bytes = NULL;
    size_t length = 0;
    ch_table table = {0};
    ch_table_plan plan;
    ch_table_made made = {0};
    ch_status rc = file_read(options->file, CH_TABLE_BYTES_MAX, &bytes, &length, err);
    if (rc >= 0)
        rc = ch_table_read(options->file, bytes, length, &table, err);
    free(bytes);
    if (rc >= 0)
        ch_table_guess(&table, &plan);
    for (size_t i = 0; rc >= 0 && i < options->columns; i++)
        rc = take_column(options->column[i], &table, &plan, err);
    if (rc >= 0) {
        usual_unit(options, &table, &plan);
        rc = ch_table_sheets(options->file, &table, &plan, &made, err);
    }
    if (rc >= 0)
        show(options->file, &table, &plan, &made, answer);
    if (rc >= 0 && (options->given & CLI_DRY_RUN))
        ch_text_append_string(answer, "nothing was stored: --dry-run\n");
    else if (rc >= 0)
        rc = store_all(options, &made, answer, err);
    ch_table_made_clear(&made);
    ch_table_clear(&table);
    return rc < 0 ? rc : ch_text_check(answer, err);
}
