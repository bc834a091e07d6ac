/*
 * The keys of a test sheet, version 1: where each value goes, what it measures, and the range that any engine can have.
 *
 * The ranges are wide on purpose (common practice, no published source): they catch a slip of unit or decimal mark, and leave the judging of
 * a likely value to the judging floor. The order of the keys is the order in which a sheet is written.
 */
#include "sheet_fields.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define COUNT_OF(array) (sizeof(array) / sizeof((array)[0]))
#define PI 3.14159265358979323846
#define RPM (PI / 30.0)
#define DEGREE (PI / 180.0)

/* clang-format off */
#define QUANTITY(type, member, dim, lowest, highest, text, one) \
    {.key = #member, .kind = FIELD_QUANTITY, .offset = offsetof(type, member), .dimension = CH_DIM_##dim, \
     .low = (lowest), .high = (highest), .range = (text), .example = (one)}
#define POSITIVE(type, member, dim, highest, text, one) \
    {.key = #member, .kind = FIELD_QUANTITY, .offset = offsetof(type, member), .dimension = CH_DIM_##dim, \
     .low = 0, .above_low = true, .high = (highest), .range = (text), .example = (one)}
#define DISTANCE(type, member, lowest, highest, text, one) \
    {.key = #member, .kind = FIELD_QUANTITY, .offset = offsetof(type, member), .dimension = CH_DIM_LENGTH, .distance = true, \
     .low = (lowest), .high = (highest), .range = (text), .example = (one)}
#define NUMBER(type, member, lowest, above, highest, text, one) \
    {.key = #member, .kind = FIELD_NUMBER, .offset = offsetof(type, member), .second = offsetof(ch_sheet, typed.member), \
     .low = (lowest), .above_low = (above), .high = (highest), .range = (text), .example = (one)}
#define COUNT(type, member, lowest, highest, text, one) \
    {.key = #member, .kind = FIELD_COUNT, .offset = offsetof(type, member), .low = (lowest), .high = (highest), .range = (text), .example = (one)}
#define WORD(type, member, list, n) \
    {.key = #member, .kind = FIELD_WORD, .offset = offsetof(type, member), .words = (list), .values = (n)}
#define MAP(type, name, member, sub) \
    {.key = (name), .kind = FIELD_MAP, .offset = offsetof(type, member), .inside = &(sub)}
#define ROWS(member, sub) \
    {.key = #member, .kind = FIELD_ROWS, .offset = offsetof(ch_sheet, member), .second = offsetof(ch_sheet, member##_count), .inside = &(sub)}
#define CYLINDER(type) \
    {.key = "cylinder", .kind = FIELD_CYLINDER, .offset = offsetof(type, cylinder), .required = true, .example = "1"}
#define NOTE(type) \
    {.key = "note", .kind = FIELD_TEXT, .offset = offsetof(type, note), .example = "a text"}
#define SECTION(label, type, list) {.name = (label), .fields = (list), .count = COUNT_OF(list), .size = sizeof(type)}
#define ROW(label, type, list) {.name = (label), .fields = (list), .count = COUNT_OF(list), .size = sizeof(type), \
    .line = offsetof(type, line), .column = offsetof(type, column)}

static const char *const layout_words[] = {"inline", "vee", "flat", NULL};
static const char *const throttle_words[] = {"open", "shut", "closed", NULL};

const char *const sheet_heard_words[] = {"intake", "exhaust", "oil_filler", "coolant", "nothing"};
_Static_assert(COUNT_OF(sheet_heard_words) == SHEET_HEARD_WORDS && CH_HEARD_NOTHING == 1 << (SHEET_HEARD_WORDS - 1), "a word a bit");

static const field timing_fields[] = {
    QUANTITY(ch_valve_timing, intake_opens_btdc, ANGLE, -180 * DEGREE, 180 * DEGREE, "-180 to 180 deg", "5"),
    QUANTITY(ch_valve_timing, intake_closes_abdc, ANGLE, -180 * DEGREE, 180 * DEGREE, "-180 to 180 deg", "48"),
    QUANTITY(ch_valve_timing, exhaust_opens_bbdc, ANGLE, -180 * DEGREE, 180 * DEGREE, "-180 to 180 deg", "53"),
    QUANTITY(ch_valve_timing, exhaust_closes_atdc, ANGLE, -180 * DEGREE, 180 * DEGREE, "-180 to 180 deg", "3"),
    QUANTITY(ch_valve_timing, at_lift, LENGTH, 0, 0.010, "0 to 10 mm", "0.1 mm"),
};
static const section timing = SECTION("valve_timing", ch_valve_timing, timing_fields);

static const field valve_fields[] = {
    COUNT(ch_valve_set, count, 1, 8, "1 to 8", "2"),
    QUANTITY(ch_valve_set, diameter, LENGTH, 0.005, 0.150, "5 to 150 mm", "31 mm"),
    QUANTITY(ch_valve_set, lift, LENGTH, 0.0005, 0.050, "0.5 to 50 mm", "8.5 mm"),
};
static const section intake_valves = SECTION("intake_valves", ch_valve_set, valve_fields);
static const section exhaust_valves = SECTION("exhaust_valves", ch_valve_set, valve_fields);

static const field limit_fields[] = {
    POSITIVE(ch_limits, standard, PRESSURE, 10e6, "above 0, at most 10 MPa", "185 psi"),
    POSITIVE(ch_limits, minimum, PRESSURE, 10e6, "above 0, at most 10 MPa", "140 psi"),
    POSITIVE(ch_limits, spread, PRESSURE, 10e6, "above 0, at most 10 MPa", "25 psi"),
};
static const section limits = SECTION("limits", ch_limits, limit_fields);

static const field engine_fields[] = {
    {.key = "cylinders", .kind = FIELD_COUNT, .offset = offsetof(ch_sheet_engine, cylinders), .low = 1, .high = CH_CYLINDERS_MAX,
     .range = "1 to 32", .example = "4", .required = true, .early = true},
    WORD(ch_sheet_engine, layout, layout_words, 3),
    {.key = "firing_order", .kind = FIELD_ORDER, .offset = offsetof(ch_sheet_engine, firing_order), .example = "[1, 3, 4, 2]"},
    QUANTITY(ch_sheet_engine, bore, LENGTH, 0.010, 0.300, "10 to 300 mm", "84 mm"),
    QUANTITY(ch_sheet_engine, stroke, LENGTH, 0.010, 0.300, "10 to 300 mm", "88 mm"),
    QUANTITY(ch_sheet_engine, rod_length, LENGTH, 0.010, 0.800, "10 to 800 mm", "140 mm"),
    NUMBER(ch_sheet_engine, compression_ratio, 1, true, 30, "above 1, at most 30", "9.6"),
    MAP(ch_sheet_engine, "valve_timing", timing, timing),
    MAP(ch_sheet_engine, "intake_valves", intake_valves, intake_valves),
    MAP(ch_sheet_engine, "exhaust_valves", exhaust_valves, exhaust_valves),
    MAP(ch_sheet_engine, "limits", limits, limits),
};
static const section engine = SECTION("engine", ch_sheet_engine, engine_fields);

static const field gauge_fields[] = {
    POSITIVE(ch_sheet_gauge, span, PRESSURE, 10e6, "above 0, at most 10 MPa", "300 psi"),
    {.key = "accuracy", .kind = FIELD_ACCURACY, .offset = offsetof(ch_sheet_gauge, accuracy), .dimension = CH_DIM_RATIO, .example = "2 % of span"},
    POSITIVE(ch_sheet_gauge, resolution, PRESSURE, 1e6, "above 0, at most 1 MPa", "2 psi"),
    QUANTITY(ch_sheet_gauge, hose_volume, VOLUME, 0, 1e-3, "0 to 1 l", "12 ml"),
    QUANTITY(ch_sheet_gauge, dead_volume, VOLUME, 0, 1e-3, "0 to 1 l", "2 ml"),
    POSITIVE(ch_sheet_gauge, valve_area, AREA, 1e-3, "above 0, at most 1000 mm2", "1 mm2"),
    QUANTITY(ch_sheet_gauge, opening_pressure, PRESSURE, 0, 1e6, "0 to 1 MPa", "7 kPa"),
};
static const section gauge = SECTION("gauge", ch_sheet_gauge, gauge_fields);

static const field condition_fields[] = {
    {.key = "date", .kind = FIELD_DATE, .offset = offsetof(ch_sheet_conditions, date), .example = "2027-01-16"},
    DISTANCE(ch_sheet_conditions, altitude, -500, 6000, "-500 to 6000 m", "450 m"),
    QUANTITY(ch_sheet_conditions, barometer, PRESSURE, 30e3, 110e3, "300 to 1100 hPa, as it stands at the place", "962 hPa"),
    QUANTITY(ch_sheet_conditions, sea_level_pressure, PRESSURE, 85e3, 110e3, "850 to 1100 hPa", "1016 hPa"),
    QUANTITY(ch_sheet_conditions, air_temperature, TEMPERATURE, 213.15, 343.15, "-60 to 70 C", "9 C"),
    QUANTITY(ch_sheet_conditions, engine_temperature, TEMPERATURE, 213.15, 423.15, "-60 to 150 C", "70 C"),
    WORD(ch_sheet_conditions, throttle, throttle_words, 2),
    QUANTITY(ch_sheet_conditions, cranking_speed, SPIN, 10 * RPM, 2000 * RPM, "10 to 2000 rpm", "220 rpm"),
    COUNT(ch_sheet_conditions, strokes, 1, 100, "1 to 100", "8"),
    DISTANCE(ch_sheet_conditions, odometer, 0, 1e10, "0 to 10000000 km", "187200 km"),
    QUANTITY(ch_sheet_conditions, engine_hours, TIME, 0, 3.6e9, "0 to 1000000 h", "412 h"),
};
static const section conditions = SECTION("conditions", ch_sheet_conditions, condition_fields);

/* A dead cylinder reads 0, so 0 is a reading. */
/* Wide enough for a reading of any engine with one digit too many: that is asked about, not refused. */
#define READING(member, one) QUANTITY(ch_reading, member, PRESSURE, 0, 100e6, "0 to 100 MPa above the air's pressure", one)
#define REQUIRED_READING \
    {.key = "reading", .kind = FIELD_QUANTITY, .offset = offsetof(ch_reading, reading), .dimension = CH_DIM_PRESSURE, .low = 0, .high = 100e6, \
     .range = "0 to 100 MPa above the air's pressure", .example = "176 psi", .required = true}

static const field wet_fields[] = {
    CYLINDER(ch_reading),
    REQUIRED_READING,
    READING(first_stroke, "82 psi"),
    QUANTITY(ch_reading, oil, VOLUME, 0, 0.2e-3, "0 to 200 ml", "10 ml"),
    NOTE(ch_reading),
};
static const section wet = ROW("a wet row", ch_reading, wet_fields);

static const field compression_fields[] = {
    CYLINDER(ch_reading),
    REQUIRED_READING,
    READING(first_stroke, "82 psi"),
    NOTE(ch_reading),
};
static const section compression = {.name = "a compression row", .fields = compression_fields, .count = COUNT_OF(compression_fields),
    .size = sizeof(ch_reading), .line = offsetof(ch_reading, line), .column = offsetof(ch_reading, column), .whole = &wet};

static const field leakdown_fields[] = {
    CYLINDER(ch_leakdown_row),
    POSITIVE(ch_leakdown_row, supply, PRESSURE, 10e6, "above 0, at most 10 MPa", "100 psi"),
    QUANTITY(ch_leakdown_row, loss, RATIO, 0, 1, "0 to 100 %", "18 %"),
    QUANTITY(ch_leakdown_row, orifice, LENGTH, 0.0001, 0.010, "0.1 to 10 mm", "1.016 mm"),
    {.key = "heard", .kind = FIELD_HEARD, .offset = offsetof(ch_leakdown_row, heard), .example = "[exhaust]"},
    NOTE(ch_leakdown_row),
};
static const section leakdown = ROW("a leakdown row", ch_leakdown_row, leakdown_fields);

static const field observed_fields[] = {
    {.key = "what", .kind = FIELD_NAME, .offset = offsetof(ch_observation, what), .required = true, .example = "coolant_loss"},
    {.key = "cylinder", .kind = FIELD_CYLINDER, .offset = offsetof(ch_observation, cylinder), .example = "1"},
    {.key = "found", .kind = FIELD_FOUND, .offset = offsetof(ch_observation, absent), .example = "no"},
    NOTE(ch_observation),
};
static const section observed = ROW("an observed row", ch_observation, observed_fields);

static const field model_fields[] = {
    NUMBER(ch_sheet_model, annand, 0, false, 10, "0 to 10", "0.8"),
    NUMBER(ch_sheet_model, crevice_fraction, 0, false, 1, "0 to 1", "0.015"),
    NUMBER(ch_sheet_model, valve_discharge, 0, true, 1, "above 0, at most 1", "0.6"),
};
static const section model = SECTION("model", ch_sheet_model, model_fields);

#define LEAK(member) QUANTITY(ch_leaks_row, member, AREA, 0, 1e-2, "0 to 10000 mm2", "0.6 mm2")
static const field leaks_fields[] = {
    {.key = "cylinder", .kind = FIELD_CYLINDER_ALL, .offset = offsetof(ch_leaks_row, cylinder), .required = true, .example = "all"},
    LEAK(rings),
    LEAK(intake_valve),
    LEAK(exhaust_valve),
    LEAK(neighbour),
    LEAK(coolant),
    NOTE(ch_leaks_row),
};
static const section leaks = ROW("a leaks row", ch_leaks_row, leaks_fields);

static const field root_fields[] = {
    {.key = "sheet", .kind = FIELD_VERSION, .low = 0, .high = 1e6, .range = "sheet: 1", .example = "1", .required = true, .early = true},
    {.key = "title", .kind = FIELD_TEXT, .offset = offsetof(ch_sheet, title), .example = "a text"},
    NOTE(ch_sheet),
    {.key = "units", .kind = FIELD_UNITS, .offset = offsetof(ch_sheet, bare_unit), .early = true, .example = "{pressure: psi, length: mm}"},
    {.key = "engine", .kind = FIELD_MAP, .offset = offsetof(ch_sheet, engine), .inside = &engine, .required = true, .early = true},
    MAP(ch_sheet, "gauge", gauge, gauge),
    MAP(ch_sheet, "conditions", conditions, conditions),
    ROWS(compression, compression),
    ROWS(wet, wet),
    ROWS(leakdown, leakdown),
    ROWS(observed, observed),
    MAP(ch_sheet, "model", model, model),
    ROWS(leaks, leaks),
};
const section sheet_root = SECTION("the sheet", ch_sheet, root_fields);

const units_key sheet_units_keys[] = {
    {"pressure", CH_DIM_PRESSURE, "psi"}, {"length", CH_DIM_LENGTH, "mm"},       {"distance", DIM_DISTANCE, "km"},
    {"volume", CH_DIM_VOLUME, "ml"},      {"area", CH_DIM_AREA, "mm2"},          {"temperature", CH_DIM_TEMPERATURE, "C"},
    {"speed", CH_DIM_SPIN, "rpm"},        {"time", CH_DIM_TIME, "h"},            {"angle", CH_DIM_ANGLE, "deg"},
    {"ratio", CH_DIM_RATIO, "%"},
};
_Static_assert(COUNT_OF(sheet_units_keys) == SHEET_UNITS_KEYS, "the header says how many");
/* clang-format on */

const units_key *sheet_units_key(const field *f)
{
    const int dimension = f->distance ? DIM_DISTANCE : (int)f->dimension;
    for (size_t i = 0; i < SHEET_UNITS_KEYS; i++)
        if (sheet_units_keys[i].dimension == dimension)
            return &sheet_units_keys[i];
    return NULL;
}

const ch_unit *sheet_bare_unit(const ch_sheet *sheet, const field *f)
{
    const ch_unit *unit = f->distance ? sheet->bare_distance : sheet->bare_unit[f->dimension];
    return unit == NULL && f->dimension == CH_DIM_ANGLE ? ch_unit_find("deg", 3) : unit;
}

/* Pointers are copied as bytes, because each has its own type in the structs. */
void *rows_get(const void *at, const field *f, size_t *count)
{
    void *rows = NULL;
    memcpy(&rows, (const char *)at + f->offset, sizeof rows);
    memcpy(count, (const char *)at + f->second, sizeof *count);
    return rows;
}

void rows_set(void *at, const field *f, void *rows, size_t count)
{
    memcpy((char *)at + f->offset, &rows, sizeof rows);
    memcpy((char *)at + f->second, &count, sizeof count);
}

char *text_get(const void *at, const field *f)
{
    char *text = NULL;
    memcpy(&text, (const char *)at + f->offset, sizeof text);
    return text;
}

void text_set(void *at, const field *f, char *text)
{
    memcpy((char *)at + f->offset, &text, sizeof text);
}

void section_init(const section *s, void *at)
{
    if (s->whole != NULL)
        s = s->whole;
    for (size_t i = 0; i < s->count; i++) {
        const field *f = &s->fields[i];
        char *member = (char *)at + f->offset;
        const ch_quantity none = ch_quantity_none();
        const double unknown = NAN;
        if (f->kind == FIELD_QUANTITY || f->kind == FIELD_ACCURACY)
            memcpy(member, &none, sizeof none);
        else if (f->kind == FIELD_NUMBER)
            memcpy(member, &unknown, sizeof unknown);
        else if (f->kind == FIELD_MAP)
            section_init(f->inside, member);
    }
}

void section_clear(const section *s, void *at)
{
    for (size_t i = 0; i < s->count; i++) {
        const field *f = &s->fields[i];
        if (f->kind == FIELD_TEXT || f->kind == FIELD_NAME) {
            free(text_get(at, f));
        } else if (f->kind == FIELD_MAP) {
            section_clear(f->inside, (char *)at + f->offset);
        } else if (f->kind == FIELD_ROWS) {
            size_t count = 0;
            char *rows = rows_get(at, f, &count);
            for (size_t row = 0; row < count; row++)
                section_clear(f->inside, rows + row * f->inside->size);
            free(rows);
        }
    }
}
