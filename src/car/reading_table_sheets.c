/* Sheets out of a table of readings whose columns are known. Every cell is checked where it stands; each sheet must be one that a file could hold. */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "crosshatch/hash.h"
#include "crosshatch/reading_table.h"

/* Readings beyond these are asked about: cranking readings of piston engines lie between some 3 and 25 bar (common practice). */
#define USUAL_LEAST_PA 300e3
#define USUAL_MOST_PA 2.5e6

static const char DIGITS[] = "0123456789";

typedef struct maker {
    const ch_unit *own_unit[CH_TABLE_COLUMNS_MAX]; /* that cells of the column name, where all that name one agree */
    const char *name;
    const ch_table *t;
    const ch_table_plan *plan;
    ch_table_made *made;
    int column_of[CH_TABLE_CYLINDER_N]; /* by use; -1 = none */
    bool wide, decimal_commas;
    ch_table_days days;
    ch_date *date; /* of each row; year 0 where none is given or it cannot be read */
    int cylinders;
    size_t untold; /* doubts that found no room in the list */
    ch_err *err;
} maker;

static ch_status fail_cell(const maker *m, const ch_table_cell *cell, ch_status status, const char *right,
                           const char *label, const char *what)
{
    char shown[64];
    ch_text_excerpt(cell->text, strlen(cell->text), shown, sizeof shown);
    ch_fail(m->err, status, right, "%s: \"%s\" %s", label, shown, what);
    ch_err_locate(m->err, m->name, cell->line, cell->column);
    return status;
}

static ch_status no_memory(const maker *m)
{
    return ch_fail(m->err, CH_E_MEMORY, NULL, "no memory for the sheets");
}

static const ch_table_cell *cell_of(const maker *m, size_t row, ch_table_use use)
{
    static const ch_table_cell none = {.text = ""};
    return m->column_of[use] < 0 ? &none : ch_table_at(m->t, row, (size_t)m->column_of[use]);
}

/* ---- dates ---- */

/* The three numbers of "3.4.2019", "3/4/19", "2019-04-03 12:00"; *mark is what stands between the first two. */
static bool three_numbers(const char *text, long number[3], char *mark)
{
    char *end = NULL;
    for (int i = 0; i < 3; i++) {
        if (*text < '0' || *text > '9')
            return false;
        number[i] = strtol(text, &end, 10);
        if (number[i] > 9999 || (i < 2 && (*end == '\0' || strchr("./-", *end) == NULL)))
            return false;
        if (i == 0)
            *mark = *end;
        text = i < 2 ? end + 1 : end;
    }
    return *text == '\0' || *text == ' ' || *text == 'T';
}

/* Does the column show which of two numbers is the day? */
static void look_at_days(maker *m)
{
    m->days = m->plan->days;
    for (size_t row = 0; m->days == CH_TABLE_DAYS_SEEN && row < m->t->rows; row++) {
        long number[3];
        char mark = 0;
        if (!three_numbers(cell_of(m, row, CH_TABLE_DATE)->text, number, &mark) || number[0] > 31)
            continue;
        if (number[0] > 12)
            m->days = CH_TABLE_DAY_FIRST;
        else if (number[1] > 12)
            m->days = CH_TABLE_MONTH_FIRST;
    }
}

/* A day's cell, which may be empty; NULL, or what is wrong with it, and *right. */
static const char *date_of(const maker *m, const char *text, ch_date *date, const char **right)
{
    long n[3];
    char mark = 0, written[40];
    *right = "a date as in 2027-01-16, 16.1.2027 or 1/16/2027";
    if (text[0] == '\0')
        return NULL;
    if (!three_numbers(text, n, &mark))
        return "is no date";
    long year = n[2], month = n[1], day = n[0];
    if (n[0] > 31) {
        year = n[0];
        day = n[2];
    } else if (mark != '.' && m->days == CH_TABLE_DAYS_SEEN && n[0] != n[1]) {
        *right = "say whether the day or the month comes first (date=COLUMN:dmy or date=COLUMN:mdy)";
        return "may be two days, and no other row of the column tells the order";
    } else if (mark != '.' && m->days == CH_TABLE_MONTH_FIRST) {
        month = n[0];
        day = n[1];
    }
    if (year < 100)
        year += year < 70 ? 2000 : 1900;
    snprintf(written, sizeof written, "%04ld-%02ld-%02ld", year, month, day);
    return ch_date_parse(written, strlen(written), date, NULL) < 0 ? "is no date" : NULL;
}

static ch_status read_date(const maker *m, const ch_table_cell *cell, ch_date *date)
{
    const char *right = NULL, *wrong = date_of(m, cell->text, date, &right);
    return wrong != NULL ? fail_cell(m, cell, CH_E_INPUT, right, "date", wrong) : CH_OK;
}

/* Each row's day once, so that rows are compared by it, however it is written: every row is compared with every test. */
static ch_status look_at_dates(maker *m)
{
    m->date = calloc(m->t->rows + 1, sizeof *m->date); /* one more: a table may have no rows */
    if (m->date == NULL)
        return no_memory(m);
    for (size_t row = 0; row < m->t->rows; row++) {
        const char *right = NULL;
        ch_date date = {0};
        if (date_of(m, cell_of(m, row, CH_TABLE_DATE)->text, &date, &right) == NULL)
            m->date[row] = date;
    }
    return CH_OK;
}

/* ---- cells ---- */

/* The length of a number of digits grouped in threes by points, "298.400", "1.298.400"; 0 where it is none. */
static size_t grouped(const char *text)
{
    size_t at = strspn(text, DIGITS);
    if (at < 1 || at > 3 || text[0] == '0' || text[at] != '.')
        return 0;
    while (text[at] == '.' && strspn(text + at + 1, DIGITS) == 3)
        at += 4;
    return text[at] == '.' || text[at] == ',' || strspn(text, DIGITS) == at ? 0 : at;
}

/* A cell with a comma that can only be a decimal one says how all numbers of the table are written. */
static void look_at_commas(maker *m)
{
    for (size_t row = 0; row < m->t->rows; row++)
        for (size_t column = 0; column < m->t->columns; column++) {
            const char *text = ch_table_at(m->t, row, column)->text;
            const int use = m->plan->use[column];
            const size_t whole = strspn(text, DIGITS);
            const size_t rest = text[whole] == ',' ? strspn(text + whole + 1, DIGITS) : 0;
            m->decimal_commas = m->decimal_commas || (ch_table_use_dimension(use) != CH_DIM_COUNT_ && whole > 0 &&
                                                      rest > 0 && rest != 3 && text[whole + 1 + rest] != ',');
        }
}

/* A distance or hours in groups of three digits: without the points in a table whose decimals have commas, else in doubt. */
static const char *without_groups(const maker *m, const ch_table_cell *cell, int use, char plain[64])
{
    const size_t length = grouped(cell->text);
    if (!m->decimal_commas || length == 0 || strlen(cell->text) >= 64 ||
        (use != CH_TABLE_ODOMETER && use != CH_TABLE_HOURS))
        return cell->text;
    size_t used = 0;
    for (size_t i = 0; cell->text[i] != '\0'; i++)
        if (i >= length || cell->text[i] != '.')
            plain[used++] = cell->text[i];
    plain[used] = '\0';
    return plain;
}

static ch_status read_quantity(const maker *m, size_t row, size_t column, ch_quantity *quantity)
{
    const ch_table_cell *cell = ch_table_at(m->t, row, column);
    const int use = m->plan->use[column];
    const ch_dimension dimension = ch_table_use_dimension(use);
    const ch_unit *unit = m->plan->unit[column] != NULL ? m->plan->unit[column] : m->own_unit[column];
    char label[32], plain[64];
    ch_err reason = {0};
    if (cell->text[0] == '\0')
        return CH_OK;
    const char *text = without_groups(m, cell, use, plain);
    ch_table_use_name(use, label, sizeof label);
    if (unit != NULL && unit->dimension != dimension)
        return fail_cell(m, cell, CH_E_INPUT, ch_dimension_units(dimension), label,
                         "stands in a column with a unit of something else");
    ch_status rc = ch_quantity_parse(text, strlen(text), dimension, unit, quantity, &reason);
    if (rc >= 0)
        rc = ch_quantity_check_thousands(quantity, &reason);
    if (rc < 0) {
        const char *units = ch_dimension_units(dimension);
        char right[sizeof reason.right];
        ch_quantity with_unit;
        const bool bare =
            unit == NULL && ch_quantity_parse(text, strlen(text), dimension, ch_unit_find(units, strcspn(units, ",")),
                                              &with_unit, NULL) >= 0;
        snprintf(right, sizeof right, "in brackets in the header, or in the cell, one of %s", units);
        ch_fail(m->err, CH_E_INPUT, bare ? right : reason.right, "%s: %s", label, reason.what);
        ch_err_locate(m->err, m->name, cell->line, cell->column);
        return CH_E_INPUT;
    }
    quantity->bare = false; /* the sheet names the unit beside the number */
    return CH_OK;
}

static ch_status read_use(const maker *m, size_t row, ch_table_use use, ch_quantity *quantity)
{
    return m->column_of[use] < 0 ? CH_OK : read_quantity(m, row, (size_t)m->column_of[use], quantity);
}

static ch_status read_cylinder(const maker *m, size_t row, int *cylinder)
{
    const ch_table_cell *cell = cell_of(m, row, CH_TABLE_CYLINDER);
    char *end = NULL;
    const long number = strtol(cell->text, &end, 10);
    if (*end != '\0' || end == cell->text || number < 1 || number > CH_CYLINDERS_MAX)
        return fail_cell(m, cell, CH_E_INPUT, "1 to 32; leave rows of sums and means out", "cylinder",
                         "is no cylinder");
    *cylinder = (int)number;
    return CH_OK;
}

static void doubt(maker *m, long line, const char *what)
{
    if (m->made->doubts.length + strlen(what) + 80 < CH_TABLE_DOUBTS_MAX)
        ch_text_appendf(&m->made->doubts, "line %ld: %s\n", line, what);
    else
        m->untold++;
}

/* A filled cell that goes into no sheet is never passed over in silence. */
static void doubt_cell(maker *m, const ch_table_cell *cell, ch_table_use use, const char *why)
{
    char name[32], shown[48], what[160];
    ch_table_use_name((int)use, name, sizeof name);
    ch_text_excerpt(cell->text, strlen(cell->text), shown, sizeof shown);
    snprintf(what, sizeof what, "%s \"%s\" is not taken: %s", name, shown, why);
    doubt(m, cell->line, what);
}

static ch_status keep_text(const maker *m, const char *text, char **kept)
{
    if (text[0] == '\0' || *kept != NULL)
        return CH_OK;
    *kept = strdup(text);
    if (*kept == NULL)
        return no_memory(m);
    for (char *c = *kept; *c != '\0'; c++)
        if (*c == '\r' || *c == '\n' || *c == '\t')
            *c = ' ';
    return CH_OK;
}

/* ---- sheets ---- */

/* What a row holds: a dry or a wet reading, a leak-down loss, or a reading and a loss. */
typedef struct row_kind {
    bool reading, wet, leakdown;
    ch_quantity oil;
} row_kind;

static ch_status new_sheet(maker *m, size_t row, ch_sheet **sheet)
{
    ch_table_made *made = m->made;
    const ch_table_cell *first = ch_table_at(m->t, row, 0);
    if (made->count == CH_TABLE_SHEETS_MAX)
        return fail_cell(m, first, CH_E_LIMIT, "at most 2000 tests in one table", "tests", "begins one too many");
    ch_sheet *sheets = realloc(made->sheet, (made->count + 1) * sizeof *sheets);
    if (sheets != NULL)
        made->sheet = sheets;
    long *lines = sheets == NULL ? NULL : realloc(made->line, (made->count + 1) * sizeof *lines);
    if (lines == NULL)
        return no_memory(m);
    made->line = lines;
    made->line[made->count] = first->line;
    ch_sheet_init(&made->sheet[made->count]);
    *sheet = &made->sheet[made->count++];
    return CH_OK;
}

static bool same_day(const maker *m, size_t a, size_t b)
{
    if (strcmp(cell_of(m, a, CH_TABLE_DATE)->text, cell_of(m, b, CH_TABLE_DATE)->text) == 0)
        return true;
    return ch_date_given(m->date[a]) && ch_date_given(m->date[b]) &&
           ch_date_days(m->date[a]) == ch_date_days(m->date[b]);
}

/* The rows of one test have this in common. */
static bool same_test(const maker *m, size_t a, size_t b)
{
    if (m->column_of[CH_TABLE_SHEET] >= 0)
        return strcmp(cell_of(m, a, CH_TABLE_SHEET)->text, cell_of(m, b, CH_TABLE_SHEET)->text) == 0;
    return same_day(m, a, b) && strcmp(cell_of(m, a, CH_TABLE_TITLE)->text, cell_of(m, b, CH_TABLE_TITLE)->text) == 0;
}

/* Do both rows say something here, and not the same? */
static bool says_otherwise(const maker *m, size_t a, size_t b, ch_table_use use)
{
    const char *one = cell_of(m, a, use)->text, *other = cell_of(m, b, use)->text;
    return one[0] != '\0' && other[0] != '\0' && strcmp(one, other) != 0;
}

/*
 * With a column for each cylinder a row is a round of a test. A dry round joins that of a row above only where the day, the title or the sheet
 * is named and nothing is said otherwise; a wet one wherever a dry one is without it.
 */
static bool joins(const maker *m, size_t row, row_kind kind, const ch_sheet *sheet, size_t first)
{
    const bool in_sheets = m->column_of[CH_TABLE_SHEET] >= 0;
    if (!same_test(m, row, first) || !m->wide)
        return same_test(m, row, first);
    if (kind.wet)
        return sheet->wet_count < sheet->compression_count;
    const bool named =
        in_sheets ? cell_of(m, row, CH_TABLE_SHEET)->text[0] != '\0'
                  : cell_of(m, row, CH_TABLE_DATE)->text[0] != '\0' || cell_of(m, row, CH_TABLE_TITLE)->text[0] != '\0';
    return named && sheet->wet_count == 0 && !says_otherwise(m, row, first, CH_TABLE_ODOMETER) &&
           !says_otherwise(m, row, first, CH_TABLE_HOURS) && !says_otherwise(m, row, first, CH_TABLE_NOTE);
}

/* The sheet that the row belongs to; `rows_of[i]` is the first row of sheet i. */
static ch_status sheet_for(maker *m, size_t row, row_kind kind, size_t *rows_of, ch_sheet **sheet)
{
    char what[160];
    for (size_t i = m->made->count; i-- > 0;)
        if (joins(m, row, kind, &m->made->sheet[i], rows_of[i])) {
            *sheet = &m->made->sheet[i];
            snprintf(
                what, sizeof what,
                "taken as another round of the test of line %ld; a column `sheet` tells two tests of one day apart",
                m->made->line[i]);
            if (m->wide && !kind.wet && m->column_of[CH_TABLE_SHEET] < 0)
                doubt(m, ch_table_at(m->t, row, 0)->line, what);
            return CH_OK;
        }
    if (m->made->count < CH_TABLE_SHEETS_MAX)
        rows_of[m->made->count] = row;
    return new_sheet(m, row, sheet);
}

/* The first row that has it says it for the test; every other is read as well, and must not say something else of the day. */
static ch_status fill_date(const maker *m, size_t row, ch_date *date)
{
    const ch_table_cell *cell = cell_of(m, row, CH_TABLE_DATE);
    ch_date day = {0};
    const ch_status rc = read_date(m, cell, &day);
    if (rc < 0 || !ch_date_given(day))
        return rc;
    if (ch_date_given(*date) && ch_date_days(*date) != ch_date_days(day))
        return fail_cell(m, cell, CH_E_INPUT, "one day for each test, or another sheet for the other day", "date",
                         "is another day than that of the rows above of the same test");
    *date = day;
    return CH_OK;
}

static ch_status fill_quantity(maker *m, size_t row, ch_table_use use, ch_quantity *quantity)
{
    ch_quantity here = ch_quantity_none();
    const ch_status rc = read_use(m, row, use, &here);
    if (rc < 0 || !ch_quantity_given(&here))
        return rc;
    if (!ch_quantity_given(quantity))
        *quantity = here;
    else if (here.si != quantity->si)
        doubt_cell(m, cell_of(m, row, use), use, "a row above of the same test says something else");
    return CH_OK;
}

static ch_status fill_text(maker *m, size_t row, ch_table_use use, char **text)
{
    const ch_table_cell *cell = cell_of(m, row, use);
    char *here = NULL;
    const ch_status rc = keep_text(m, cell->text, &here);
    if (rc < 0)
        return rc;
    if (*text == NULL) {
        *text = here;
        return CH_OK;
    }
    if (here != NULL && strcmp(here, *text) != 0)
        doubt_cell(m, cell, use, "a row above of the same test says something else");
    free(here);
    return CH_OK;
}

static ch_status fill_head(maker *m, size_t row, ch_sheet *sheet)
{
    ch_status rc = fill_date(m, row, &sheet->conditions.date);
    if (rc >= 0)
        rc = fill_text(m, row, CH_TABLE_TITLE, &sheet->title);
    if (rc >= 0)
        rc = fill_quantity(m, row, CH_TABLE_ODOMETER, &sheet->conditions.odometer);
    if (rc >= 0)
        rc = fill_quantity(m, row, CH_TABLE_HOURS, &sheet->conditions.engine_hours);
    return rc;
}

static ch_status add_reading(maker *m, ch_sheet *sheet, bool wet, const ch_reading *reading, const ch_table_cell *cell)
{
    ch_reading **list = wet ? &sheet->wet : &sheet->compression;
    size_t *count = wet ? &sheet->wet_count : &sheet->compression_count;
    ch_reading *grown = realloc(*list, (*count + 1) * sizeof *grown);
    if (grown == NULL)
        return no_memory(m);
    *list = grown;
    grown[(*count)++] = *reading;
    m->made->readings++;
    m->cylinders = reading->cylinder > m->cylinders ? reading->cylinder : m->cylinders;
    if (!(reading->reading.si >= USUAL_LEAST_PA && reading->reading.si <= USUAL_MOST_PA))
        doubt(m, cell->line, "a reading that is unusual for a cranking test (3 to 25 bar): is the unit right?");
    return CH_OK;
}

static ch_reading empty_reading(int cylinder)
{
    return (ch_reading){.cylinder = cylinder,
                        .reading = ch_quantity_none(),
                        .first_stroke = ch_quantity_none(),
                        .oil = ch_quantity_none()};
}

static ch_status add_wide(maker *m, size_t row, row_kind kind, ch_sheet *sheet)
{
    ch_status rc = fill_text(m, row, CH_TABLE_NOTE, &sheet->note);
    for (size_t i = 0; rc >= 0 && i < m->t->columns; i++) {
        if (m->plan->use[i] < CH_TABLE_CYLINDER_N)
            continue;
        ch_reading reading = empty_reading(m->plan->use[i] - CH_TABLE_CYLINDER_N + 1);
        reading.oil = kind.wet ? kind.oil : reading.oil;
        rc = read_quantity(m, row, i, &reading.reading);
        if (rc >= 0 && ch_quantity_given(&reading.reading))
            rc = add_reading(m, sheet, kind.wet, &reading, ch_table_at(m->t, row, i));
    }
    return rc;
}

/* `with_note`: the row's note is of this test; where there is a reading in the row as well, it stays with that. */
static ch_status add_leakdown(maker *m, size_t row, int cylinder, bool with_note, ch_sheet *sheet)
{
    ch_leakdown_row made = {
        .cylinder = cylinder, .supply = ch_quantity_none(), .loss = ch_quantity_none(), .orifice = ch_quantity_none()};
    ch_status rc = read_use(m, row, CH_TABLE_SUPPLY, &made.supply);
    if (rc >= 0)
        rc = read_use(m, row, CH_TABLE_LOSS, &made.loss);
    if (rc >= 0)
        rc = read_use(m, row, CH_TABLE_ORIFICE, &made.orifice);
    ch_leakdown_row *grown = rc < 0 ? NULL : realloc(sheet->leakdown, (sheet->leakdown_count + 1) * sizeof *grown);
    if (rc >= 0 && grown == NULL)
        return no_memory(m);
    if (rc < 0)
        return rc;
    sheet->leakdown = grown;
    rc = with_note ? keep_text(m, cell_of(m, row, CH_TABLE_NOTE)->text, &made.note) : CH_OK;
    if (rc < 0)
        return rc;
    grown[sheet->leakdown_count++] = made;
    m->made->readings++;
    m->cylinders = cylinder > m->cylinders ? cylinder : m->cylinders;
    return CH_OK;
}

static bool filled(const maker *m, size_t row, ch_table_use use)
{
    return cell_of(m, row, use)->text[0] != '\0';
}

static bool is_among(const char *text, const char *const words[], size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (strcasecmp(text, words[i]) == 0)
            return true;
    return false;
}

/* Without a word of the list the filled cells tell: oil makes a wet reading, a loss a leak-down test. */
static ch_status read_kind(const maker *m, size_t row, row_kind *kind)
{
    const ch_table_cell *cell = cell_of(m, row, CH_TABLE_LIST);
    const char *text = cell->text;
    static const char *const dry[] = {"compression", "dry", "kompression", "trocken"},
                             *const wet[] = {"wet", "nass", "na\xc3\x9f"},
                             *const leakdown[] = {"leakdown", "leak-down", "leak down", "leak_down", "druckverlust"};
    const bool reading = m->wide || filled(m, row, CH_TABLE_READING);
    row_kind found = {.oil = ch_quantity_none()};
    const ch_status rc = read_use(m, row, CH_TABLE_OIL, &found.oil);
    if (rc < 0)
        return rc;
    if (text[0] == '\0') {
        found.reading = reading;
        found.wet = reading && found.oil.si > 0;
        found.leakdown = filled(m, row, CH_TABLE_LOSS);
    } else if (is_among(text, dry, sizeof dry / sizeof dry[0])) {
        found.reading = true;
    } else if (is_among(text, wet, sizeof wet / sizeof wet[0])) {
        found.reading = found.wet = true;
    } else if (!is_among(text, leakdown, sizeof leakdown / sizeof leakdown[0])) {
        return fail_cell(m, cell, CH_E_INPUT, "compression, dry, wet or leakdown", "list", "is no kind of test");
    } else if (m->wide) {
        return fail_cell(m, cell, CH_E_INPUT, "a row for each cylinder, with its loss", "list",
                         "has no place in columns of pressures");
    } else {
        found.leakdown = true;
    }
    *kind = found;
    return CH_OK;
}

/* Tell of filled cells that the kind of the row has no place for. */
static void doubt_unused(maker *m, size_t row, row_kind kind)
{
    const struct {
        ch_table_use use;
        bool taken;
        const char *why;
    } cells[] = {{CH_TABLE_READING, kind.reading, "the row is a leak-down test"},
                 {CH_TABLE_FIRST_STROKE, kind.reading && !m->wide, "the row is no reading of one cylinder"},
                 {CH_TABLE_OIL, kind.wet || kind.oil.si == 0, "the row is no wet reading"},
                 {CH_TABLE_SUPPLY, kind.leakdown, "the row is no leak-down test"},
                 {CH_TABLE_LOSS, kind.leakdown, "the row is no leak-down test"},
                 {CH_TABLE_ORIFICE, kind.leakdown, "the row is no leak-down test"},
                 {CH_TABLE_CYLINDER, !m->wide, "the row has a column for each cylinder"}};
    for (size_t i = 0; i < sizeof cells / sizeof cells[0]; i++)
        if (!cells[i].taken && filled(m, row, cells[i].use))
            doubt_cell(m, cell_of(m, row, cells[i].use), cells[i].use, cells[i].why);
}

static ch_status add_long(maker *m, size_t row, row_kind kind, ch_sheet *sheet)
{
    int cylinder = 0;
    ch_status rc = read_cylinder(m, row, &cylinder);
    if (rc >= 0 && kind.leakdown)
        rc = add_leakdown(m, row, cylinder, !kind.reading, sheet);
    if (rc < 0 || !kind.reading)
        return rc;
    ch_reading reading = empty_reading(cylinder);
    reading.oil = kind.wet ? kind.oil : reading.oil;
    rc = read_use(m, row, CH_TABLE_READING, &reading.reading);
    if (rc >= 0)
        rc = read_use(m, row, CH_TABLE_FIRST_STROKE, &reading.first_stroke);
    if (rc >= 0)
        rc = keep_text(m, cell_of(m, row, CH_TABLE_NOTE)->text, &reading.note);
    if (rc >= 0)
        rc = add_reading(m, sheet, kind.wet, &reading, cell_of(m, row, CH_TABLE_READING));
    if (rc < 0)
        free(reading.note);
    return rc;
}

/* Has the row anything to take? */
static bool has_reading(const maker *m, size_t row)
{
    for (size_t i = 0; i < m->t->columns; i++) {
        const int use = m->plan->use[i];
        if ((use >= CH_TABLE_CYLINDER_N || use == CH_TABLE_READING || use == CH_TABLE_LOSS) &&
            ch_table_at(m->t, row, i)->text[0] != '\0')
            return true;
    }
    return false;
}

static ch_status add_row(maker *m, size_t row, size_t *rows_of)
{
    ch_sheet *sheet = NULL;
    row_kind kind = {0};
    if (!has_reading(m, row)) {
        m->made->passed++;
        doubt(m, ch_table_at(m->t, row, 0)->line, "no reading in this row: it is passed over");
        return CH_OK;
    }
    ch_status rc = read_kind(m, row, &kind);
    if (rc >= 0)
        rc = sheet_for(m, row, kind, rows_of, &sheet);
    if (rc >= 0)
        rc = fill_head(m, row, sheet);
    if (rc >= 0)
        rc = m->wide ? add_wide(m, row, kind, sheet) : add_long(m, row, kind, sheet);
    if (rc >= 0)
        doubt_unused(m, row, kind);
    return rc;
}

/* A column of which no header names the unit, but its cells do, mostly the first: the bare ones are in the same, which is told. */
static void look_at_units(maker *m)
{
    char what[160], label[32];
    for (size_t column = 0; column < m->t->columns; column++) {
        const int use = m->plan->use[column];
        const ch_dimension dimension = ch_table_use_dimension(use);
        const ch_table_cell *bare = NULL;
        const ch_unit *own = NULL;
        bool agree = true;
        for (size_t row = 0; dimension != CH_DIM_COUNT_ && m->plan->unit[column] == NULL && row < m->t->rows; row++) {
            const ch_table_cell *cell = ch_table_at(m->t, row, column);
            ch_quantity q = ch_quantity_none();
            if (cell->text[0] == '\0')
                continue;
            if (ch_quantity_parse(cell->text, strlen(cell->text), dimension, NULL, &q, NULL) < 0) {
                bare = bare == NULL ? cell : bare;
                continue;
            }
            agree = agree && (own == NULL || own == q.unit);
            own = q.unit;
        }
        if (own == NULL || bare == NULL || !agree)
            continue;
        m->own_unit[column] = own;
        ch_table_use_name(use, label, sizeof label);
        snprintf(what, sizeof what, "%s without a unit is taken in %s, as other cells of the column are", label,
                 own->name);
        doubt(m, bare->line, what);
    }
}

/* ---- the whole ---- */

static ch_status check_plan(maker *m)
{
    char name[32];
    bool cylinders = false;
    for (int use = 0; use < CH_TABLE_CYLINDER_N; use++)
        m->column_of[use] = -1;
    for (size_t i = 0; i < m->t->columns; i++) {
        const int use = m->plan->use[i];
        for (size_t k = 0; k < i; k++)
            if (use != CH_TABLE_UNUSED && m->plan->use[k] == use) {
                ch_table_use_name(use, name, sizeof name);
                return fail_cell(m, &m->t->cell[i], CH_E_INPUT, "one column for each", name,
                                 "is a second column for it");
            }
        if (use >= CH_TABLE_CYLINDER_N)
            cylinders = true;
        else
            m->column_of[use] = (int)i;
    }
    m->wide = cylinders;
    const bool readings = m->column_of[CH_TABLE_READING] >= 0 || m->column_of[CH_TABLE_LOSS] >= 0;
    if (!cylinders && (!readings || m->column_of[CH_TABLE_CYLINDER] < 0))
        return fail_cell(
            m, &m->t->cell[0], CH_E_INPUT,
            "columns for cylinder and reading (or loss), or one for each cylinder: cylinder_1, cylinder_2 ...",
            "columns", "begins a header in which no readings were found");
    if (cylinders && readings)
        return fail_cell(m, &m->t->cell[0], CH_E_INPUT,
                         "either a column reading, or columns cylinder_1, cylinder_2 ...", "columns",
                         "begins a header with both");
    return CH_OK;
}

/* What a file could not hold is no sheet; and what a person may want to look at. */
static ch_status finish(maker *m, size_t i)
{
    ch_sheet *sheet = &m->made->sheet[i], again;
    char *text = NULL;
    size_t length = 0;
    ch_err reason = {0};
    sheet->engine.cylinders = m->plan->cylinders > m->cylinders ? m->plan->cylinders : m->cylinders;
    sheet->engine.cylinders_at_least = m->plan->cylinders == 0;
    ch_status rc = ch_sheet_write(sheet, false, &text, &length, &reason);
    if (rc >= 0)
        rc = ch_sheet_parse("sheet", text, length, &again, &reason);
    free(text);
    if (rc < 0) {
        ch_fail(m->err, rc, reason.right, "%s", reason.what);
        ch_err_locate(m->err, m->name, m->made->line[i], 1);
        return rc;
    }
    ch_sheet_clear(&again);
    if (!ch_date_given(sheet->conditions.date))
        doubt(m, m->made->line[i], "this test has no date");
    bool seen[CH_CYLINDERS_MAX + 1] = {false};
    for (size_t k = 0; k < sheet->compression_count; k++)
        seen[sheet->compression[k].cylinder] = true;
    for (int c = 1; sheet->compression_count > 0 && c <= sheet->engine.cylinders; c++)
        if (!seen[c]) {
            doubt(m, m->made->line[i], "this test has no reading of some cylinder");
            break;
        }
    return CH_OK;
}

ch_status ch_table_sheets(const char *name, const ch_table *table, const ch_table_plan *plan, ch_table_made *made,
                          ch_err *err)
{
    ch_table_made now = {0};
    maker m = {.name = name, .t = table, .plan = plan, .made = &now, .err = err};
    size_t *rows_of = calloc(CH_TABLE_SHEETS_MAX, sizeof *rows_of);
    ch_text_init(&now.doubts, CH_TABLE_DOUBTS_MAX);
    ch_status rc = rows_of == NULL ? no_memory(&m) : check_plan(&m);
    if (rc >= 0) {
        look_at_days(&m);
        look_at_commas(&m);
        look_at_units(&m);
        rc = look_at_dates(&m);
    }
    for (size_t row = 0; rc >= 0 && row < table->rows; row++)
        rc = add_row(&m, row, rows_of);
    for (size_t i = 0; rc >= 0 && i < now.count; i++)
        rc = finish(&m, i);
    if (rc >= 0 && now.count == 0)
        rc = fail_cell(&m, &table->cell[0], CH_E_INPUT, "a row with a reading", "rows",
                       "begins a table without any reading");
    if (rc >= 0 && m.untold > 0)
        ch_text_appendf(&now.doubts, "and %zu more\n", m.untold);
    if (rc >= 0)
        rc = ch_text_check(&now.doubts, err);
    free(rows_of);
    free(m.date);
    if (rc < 0)
        ch_table_made_clear(&now);
    else
        *made = now;
    return rc;
}

ch_status ch_table_sheet_id(const ch_sheet *sheet, char id[CH_TABLE_ID_SIZE], ch_err *err)
{
    char *bytes = NULL;
    size_t length = 0;
    const ch_status rc = ch_sheet_write(sheet, false, &bytes, &length, err);
    if (rc < 0)
        return rc;
    const uint64_t a = ch_hash(CH_HASH_BEGIN, bytes, length), b = ch_hash(CH_HASH_BEGIN_OTHER, bytes, length);
    free(bytes);
    snprintf(id, CH_TABLE_ID_SIZE, "file-%016llx%016llx", (unsigned long long)a, (unsigned long long)b);
    return CH_OK;
}

void ch_table_made_clear(ch_table_made *made)
{
    for (size_t i = 0; i < made->count; i++)
        ch_sheet_clear(&made->sheet[i]);
    free(made->sheet);
    free(made->line);
    ch_text_clear(&made->doubts);
    *made = (ch_table_made){0};
}
