/*
 * The published engines of tests/data/engines as test sheets: geometry, valve timing and cranking speed, and no more. Shared by the tests
 * and by bench/study_prior.c. A missing file or column ends in `false`, so that no check can pass by not running.
 */
#ifndef CROSSHATCH_TESTS_ENGINES_H
#define CROSSHATCH_TESTS_ENGINES_H

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/prior.h"
#include "crosshatch/setup.h"

enum { ENGINES_MAX = 64, ENGINES_CELL = 512, ENGINES_COLUMNS = 48 };

/* One row. Pressures Pa gauge. */
typedef struct engine_row {
    char id[32];
    int cylinders;
    bool low_confidence; /* mostly recalled from memory */
    bool at_least;       /* the book prints a lower bound only: standard_pa is that bound */
    double standard_pa;  /* the published figure, or the middle of the published range */
    double range_pa[2];  /* the published range; both ends equal where one figure is printed */
    ch_sheet sheet;      /* owned */
} engine_row;

typedef struct engines {
    int count;
    engine_row row[ENGINES_MAX];
} engines;

typedef struct engines_line {
    int cells;
    char cell[ENGINES_COLUMNS][ENGINES_CELL];
} engines_line;

/* RFC 4180 without line breaks inside cells; long remarks are cut. */
static inline bool engines_split(FILE *file, engines_line *line)
{
    memset(line, 0, sizeof *line);
    size_t length = 0;
    bool quoted = false, any = false;
    for (int c = fgetc(file); c != EOF; c = fgetc(file)) {
        if (c == '\r')
            continue;
        if (c == '\n' && !quoted)
            break;
        any = true;
        if (c == '"') {
            quoted = !quoted;
        } else if (c == ',' && !quoted) {
            if (++line->cells >= ENGINES_COLUMNS)
                return false;
            length = 0;
        } else if (length + 1 < ENGINES_CELL) {
            line->cell[line->cells][length++] = (char)c;
        }
    }
    line->cells++;
    return any;
}

static inline const char *engines_cell(const engines_line *head, const engines_line *line, const char *column)
{
    for (int i = 0; i < head->cells; i++)
        if (strcmp(head->cell[i], column) == 0)
            return line->cell[i];
    return NULL;
}

/* NaN where the cell is empty or there is no such column. */
static inline double engines_number(const engines_line *head, const engines_line *line, const char *column)
{
    const char *text = engines_cell(head, line, column);
    char *end = NULL;
    const double number = text == NULL ? NAN : strtod(text, &end);
    return text == NULL || end == text || *end != '\0' ? NAN : number;
}

/* One more line of a sheet, unless the number is not known. */
static inline void engines_add(char *text, size_t size, const char *key, double number, const char *unit)
{
    const size_t used = strlen(text);
    if (!isnan(number))
        snprintf(text + used, size - used, "%s: %.9g%s\n", key, number, unit);
}

static inline bool engines_row_make(const engines_line *head, const engines_line *line, engine_row *row)
{
    const char *id = engines_cell(head, line, "id"), *kind = engines_cell(head, line, "pressure_kind");
    if (id == NULL || kind == NULL)
        return false;
    snprintf(row->id, sizeof row->id, "%.31s", id);
    row->cylinders = (int)engines_number(head, line, "cylinders");
    const char *confidence = engines_cell(head, line, "confidence");
    row->low_confidence = confidence != NULL && strcmp(confidence, "low") == 0;
    row->at_least = strcmp(kind, "at_least") == 0;
    const double low_kpa = engines_number(head, line, "pressure_std_low_kpa");
    const double high_kpa = engines_number(head, line, "pressure_std_high_kpa");
    row->range_pa[0] = low_kpa * 1e3;
    row->range_pa[1] = row->at_least ? INFINITY : high_kpa * 1e3;
    row->standard_pa = (row->at_least ? low_kpa : engines_number(head, line, "pressure_std_mid_kpa")) * 1e3;
    if (!(row->standard_pa > 0.0) || row->cylinders < 1)
        return false;

    const struct {
        const char *column, *key, *unit;
    } given[] = {
        {"cylinders", "engine:\n  cylinders", ""},
        {"bore_mm", "  bore", " mm"},
        {"stroke_mm", "  stroke", " mm"},
        {"rod_length_mm", "  rod_length", " mm"},
        {"compression_ratio", "  compression_ratio", ""},
        {"intake_closes_abdc_deg", "  valve_timing:\n    intake_closes_abdc", ""},
        {"intake_opens_btdc_deg", "    intake_opens_btdc", ""},
        {"exhaust_opens_bbdc_deg", "    exhaust_opens_bbdc", ""},
        {"exhaust_closes_atdc_deg", "    exhaust_closes_atdc", ""},
    };
    char text[2048] = "sheet: 1\n";
    for (size_t i = 0; i < sizeof given / sizeof given[0]; i++)
        engines_add(text, sizeof text, given[i].key, engines_number(head, line, given[i].column), given[i].unit);
    const double low_rpm = engines_number(head, line, "cranking_rpm_low");
    const double high_rpm = engines_number(head, line, "cranking_rpm_high");
    engines_add(text, sizeof text, "conditions:\n  cranking_speed", 0.5 * (low_rpm + high_rpm), " rpm");
    /* A sheet needs a reading; the published figure stands in for one. */
    engines_add(text, sizeof text, "compression:\n  - cylinder: 1\n    reading", row->standard_pa / 1e3, " kPa");
    ch_err err = {0};
    if (ch_sheet_parse(row->id, text, strlen(text), &row->sheet, &err) < 0) {
        char message[600];
        ch_err_format(&err, message, sizeof message);
        fprintf(stderr, "%s\n", message);
        return false;
    }
    return true;
}

/* Standard uncertainty of the gain of a gauge of which nothing is known, at a reading: the default's limit, rectangular. */
static inline double engines_gauge_u_1(const ch_setup *setup, double reading_pa)
{
    return CH_PRIOR_GAUGE_LIMIT_OF_SPAN * setup->gauge_span_pa / sqrt(3.0) / reading_pa;
}

static inline void engines_free(engines *all)
{
    if (all == NULL)
        return;
    for (int i = 0; i < all->count; i++)
        ch_sheet_clear(&all->row[i].sheet);
    free(all);
}

/* Reads a table of engines; NULL with a message on stderr where it cannot. Free with engines_free. */
static inline engines *engines_read(const char *path)
{
    FILE *file = fopen(path, "r");
    engines *all = calloc(1, sizeof *all);
    engines_line *head = calloc(1, sizeof *head), *line = calloc(1, sizeof *line);
    bool good = file != NULL && all != NULL && head != NULL && line != NULL && engines_split(file, head);
    while (good && engines_split(file, line)) {
        good = all->count < ENGINES_MAX && engines_row_make(head, line, &all->row[all->count]);
        if (good)
            all->count++;
    }
    if (file != NULL)
        fclose(file);
    free(head);
    free(line);
    if (good && all->count > 0)
        return all;
    fprintf(stderr, "%s: not a table of engines\n", path);
    engines_free(all);
    return NULL;
}

#endif
