/* Of the engine report: how it was measured, in the words and units of the sheet, and what else was seen. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "report_parts.h"

void report_list(ch_text *words, const char *label, const char *value)
{
    if (value[0] != '\0')
        ch_text_appendf(words, "%s%s%s%s", words->length > 0 ? ", " : "", label, label[0] != '\0' ? " " : "", value);
}

const char *report_quantity(const ch_quantity *quantity, char words[REPORT_QUANTITY])
{
    ch_quantity_text(quantity, words, REPORT_QUANTITY);
    /* On the sheet its `units` block names the unit of a bare number; the report has no such block. */
    if (quantity->bare && quantity->unit != NULL) {
        const size_t used = strlen(words);
        snprintf(words + used, REPORT_QUANTITY - used, " %s", quantity->unit->name);
    }
    return words;
}

void report_item(report *r, const char *label, ch_text *words)
{
    if (words->length > 0) {
        ch_text line;
        ch_text_init(&line, CH_DOCUMENT_BYTES_MAX);
        ch_text_appendf(&line, "%s %s.", label, ch_text_string(words));
        ch_document_item(r->document, ch_text_string(&line));
        if (r->status == CH_OK)
            r->status = line.status;
        ch_text_clear(&line);
    }
    if (r->status == CH_OK)
        r->status = words->status;
    ch_text_clear(words);
}

static void list_quantity(ch_text *words, const char *label, const ch_quantity *quantity)
{
    char value[REPORT_QUANTITY];
    report_list(words, label, report_quantity(quantity, value));
}

void report_under_title(const ch_sheet *sheet, const char *car, ch_text *words)
{
    char date[16];
    ch_text_appendf(words, "%s%s%d %s", car != NULL ? car : "", car != NULL ? ", " : "", sheet->engine.cylinders,
                    sheet->engine.cylinders == 1 ? "cylinder" : "cylinders");
    ch_date_format(sheet->conditions.date, date, sizeof date);
    report_list(words, date[0] != '\0' ? "tested" : "", date[0] != '\0' ? date : "day of the test not stated");
    list_quantity(words, "at", &sheet->conditions.odometer);
    list_quantity(words, "engine hours", &sheet->conditions.engine_hours);
}

static void engine_words(const ch_sheet_engine *engine, ch_text *words)
{
    char number[CH_SHOW_NUMBER];
    list_quantity(words, "bore", &engine->bore);
    list_quantity(words, "stroke", &engine->stroke);
    if (isfinite(engine->compression_ratio))
        report_list(words, "compression ratio", ch_show_number(engine->compression_ratio, 1, number));
    list_quantity(words, "the manual's standard", &engine->limits.standard);
    list_quantity(words, "minimum", &engine->limits.minimum);
    list_quantity(words, "largest difference", &engine->limits.spread);
}

static void conditions_words(const ch_sheet_conditions *conditions, ch_text *words)
{
    static const char *const THROTTLE[] = {
        [CH_THROTTLE_UNSTATED] = "", [CH_THROTTLE_OPEN] = "open", [CH_THROTTLE_SHUT] = "shut"};
    char strokes[32] = "";
    report_list(words, "throttle", THROTTLE[conditions->throttle]);
    list_quantity(words, "cranking at", &conditions->cranking_speed);
    if (conditions->strokes > 0)
        snprintf(strokes, sizeof strokes, "%d", conditions->strokes);
    report_list(words, "compression strokes", strokes);
    list_quantity(words, "engine at", &conditions->engine_temperature);
    list_quantity(words, "air at", &conditions->air_temperature);
    list_quantity(words, "barometer", &conditions->barometer);
    list_quantity(words, "altitude", &conditions->altitude);
}

static void gauge_words(const ch_sheet_gauge *gauge, ch_text *words)
{
    list_quantity(words, "span", &gauge->span);
    if (gauge->grade != NULL)
        report_list(words, "accuracy", gauge->grade->name);
    else if (gauge->accuracy_kind == CH_ACCURACY_OF_SPAN)
        list_quantity(words, "accuracy of span", &gauge->accuracy);
    else if (gauge->accuracy_kind == CH_ACCURACY_OF_READING)
        list_quantity(words, "accuracy of reading", &gauge->accuracy);
    list_quantity(words, "read to", &gauge->resolution);
    list_quantity(words, "hose", &gauge->hose_volume);
}

static void observed_words(const report *r, ch_text *words)
{
    const ch_sheet *sheet = r->judged->sheet;
    for (size_t i = 0; i < sheet->observed_count; i++) {
        const ch_observation *row = &sheet->observed[i];
        const ch_knowledge_observation *known =
            ch_knowledge_observation_find(r->judged->knowledge, row->what, strlen(row->what));
        char where[32] = "";
        if (row->cylinder > 0)
            snprintf(where, sizeof where, " (cylinder %d)", row->cylinder);
        ch_text_appendf(words, "%s%s%s%s", words->length > 0 ? "; " : "", known != NULL ? known->title : row->what,
                        where, row->absent ? ": looked for, not there" : "");
    }
}

/* ---------------------------------------------------------------- what was the same for all rows of a test, or was not */

typedef struct given {
    const ch_quantity *quantity;
    int cylinder;
} given;

typedef given given_of(const ch_sheet *sheet, size_t row);

static given oil_of(const ch_sheet *sheet, size_t row)
{
    return (given){&sheet->wet[row].oil, sheet->wet[row].cylinder};
}

static given supply_of(const ch_sheet *sheet, size_t row)
{
    return (given){&sheet->leakdown[row].supply, sheet->leakdown[row].cylinder};
}

static given orifice_of(const ch_sheet *sheet, size_t row)
{
    return (given){&sheet->leakdown[row].orifice, sheet->leakdown[row].cylinder};
}

/* The first of `rows` in which `of` is what it is in `row`. */
static size_t first_alike(const ch_sheet *sheet, given_of *of, size_t row)
{
    char words[REPORT_QUANTITY], other[REPORT_QUANTITY];
    report_quantity(of(sheet, row).quantity, words);
    size_t first = 0;
    while (strcmp(report_quantity(of(sheet, first).quantity, other), words) != 0)
        first++;
    return first;
}

/* "cylinders 2, 4": of the rows that are like this one. */
static void append_cylinders(const ch_sheet *sheet, size_t rows, given_of *of, size_t row, ch_text *words)
{
    unsigned in = 0;
    for (size_t i = row; i < rows; i++)
        if (first_alike(sheet, of, i) == row)
            in |= 1U << (of(sheet, i).cylinder - 1);
    ch_text_append_string(words, (in & (in - 1)) != 0 ? "cylinders" : "cylinder");
    const char *between = " ";
    for (int c = 1; c <= CH_CYLINDERS_MAX; c++)
        if (in >> (c - 1) & 1U) {
            ch_text_appendf(words, "%s%d", between, c);
            between = ", ";
        }
}

/* "8 ml" where it was so in all rows, else "2 tsp (cylinders 1, 3), 8 ml (cylinder 2)". Nothing where no row says. */
static void given_words(const ch_sheet *sheet, size_t rows, given_of *of, ch_text *words)
{
    bool alike = true, said = false;
    for (size_t i = 0; i < rows; i++) {
        alike = alike && first_alike(sheet, of, i) == 0;
        said = said || ch_quantity_given(of(sheet, i).quantity);
    }
    for (size_t i = 0; said && i < rows; i++) {
        char value[REPORT_QUANTITY];
        if (first_alike(sheet, of, i) != i)
            continue;
        report_quantity(of(sheet, i).quantity, value);
        report_list(words, "", value[0] != '\0' ? value : "not stated");
        if (alike)
            return;
        ch_text_append_string(words, " (");
        append_cylinders(sheet, rows, of, i, words);
        ch_text_append_string(words, ")");
    }
}

bool report_orifices_differ(const ch_sheet *sheet)
{
    for (size_t i = 0; i < sheet->leakdown_count; i++)
        if (first_alike(sheet, orifice_of, i) != 0)
            return true;
    return false;
}

/* ---------------------------------------------------------------- the chapter */

void report_measured(report *r)
{
    enum { LISTS = 7 };
    static const char *const LABEL[LISTS] = {"Engine:",
                                             "Day and test:",
                                             "Gauge:",
                                             "Oil for the wet test:",
                                             "Supply of the leak-down test:",
                                             "Orifice of the leak-down tester:",
                                             "Seen, heard, or known of before:"};
    const ch_sheet *sheet = r->judged->sheet;
    ch_text words[LISTS];
    for (int i = 0; i < LISTS; i++)
        ch_text_init(&words[i], CH_DOCUMENT_BYTES_MAX);
    engine_words(&sheet->engine, &words[0]);
    conditions_words(&sheet->conditions, &words[1]);
    gauge_words(&sheet->gauge, &words[2]);
    given_words(sheet, sheet->wet_count, oil_of, &words[3]);
    given_words(sheet, sheet->leakdown_count, supply_of, &words[4]);
    given_words(sheet, sheet->leakdown_count, orifice_of, &words[5]);
    observed_words(r, &words[6]);
    bool any = false;
    for (int i = 0; i < LISTS; i++)
        any = any || words[i].length > 0;
    if (any)
        ch_document_heading(r->document, "How it was measured, and what else was seen");
    for (int i = 0; i < LISTS; i++)
        report_item(r, LABEL[i], &words[i]);
}
