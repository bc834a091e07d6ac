/**
 * @file sheet.h
 * The test sheet, version 1: what was measured on one engine on one day, and what is known of engine, gauge and day.
 *
 * Every field but the version, `engine.cylinders` and one reading is optional. What was not given is NaN / 0 / NULL /
 * CH_..._UNSTATED, never a default: defaults belong to the judging floor, which says that it assumed them.
 * Docs: docs/sheet.md; schema: data/schema/sheet-1.schema.json.
 */
#ifndef CROSSHATCH_SHEET_H
#define CROSSHATCH_SHEET_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/date.h"
#include "crosshatch/status.h"
#include "crosshatch/units.h"

enum { CH_CYLINDERS_MAX = 32 };

typedef enum ch_layout { CH_LAYOUT_UNSTATED, CH_LAYOUT_INLINE, CH_LAYOUT_VEE, CH_LAYOUT_FLAT } ch_layout;
typedef enum ch_throttle { CH_THROTTLE_UNSTATED, CH_THROTTLE_OPEN, CH_THROTTLE_SHUT } ch_throttle;

/** Published valve events; angles in rad of crank angle, NaN where not given. Negative = on the other side of the dead centre. */
typedef struct ch_valve_timing {
    ch_quantity intake_opens_btdc, intake_closes_abdc, exhaust_opens_bbdc,
        exhaust_closes_atdc; /* a bare number is degrees */
    ch_quantity at_lift;     /* the lift at which the angles hold, m */
} ch_valve_timing;

/** The valves of one kind in one cylinder. */
typedef struct ch_valve_set {
    int count;                  /* 0 = not given */
    ch_quantity diameter, lift; /* m */
} ch_valve_set;

/** The car's own manual on cranking compression, Pa gauge. */
typedef struct ch_limits {
    ch_quantity standard, minimum, spread;
} ch_limits;

typedef struct ch_sheet_engine {
    int cylinders; /* 1..32 */
    bool
        cylinders_at_least; /* no more is said than that there are so many: the highest that a table of readings names */
    ch_layout layout;
    int firing_order[CH_CYLINDERS_MAX];   /* [0] = 0 where not given; else a permutation of 1..cylinders */
    ch_quantity bore, stroke, rod_length; /* m */
    double compression_ratio;             /* 1, NaN = not given */
    ch_valve_timing timing;
    ch_valve_set intake_valves, exhaust_valves;
    ch_limits limits;
} ch_sheet_engine;

/**
 * A grade or class that a gauge's dial names: the largest error as a fraction of span, by where the reading lies on the scale.
 * Sources: ASME B40.100, table of accuracy grades; EN 837-1:1996, accuracy classes.
 */
typedef struct ch_gauge_grade {
    const char *name;                  /* as written: "grade B", "class 1.6" */
    double lower_1, middle_1, upper_1; /* lowest quarter of the scale, middle half, highest quarter */
} ch_gauge_grade;

typedef enum ch_accuracy_kind { CH_ACCURACY_UNSTATED, CH_ACCURACY_OF_SPAN, CH_ACCURACY_OF_READING } ch_accuracy_kind;

typedef struct ch_sheet_gauge {
    ch_quantity span; /* Pa */
    ch_accuracy_kind
        accuracy_kind;    /* "2 % of span", "1 % of reading"; "2 %" alone means of span (ASME B40.100, EN 837-1) */
    ch_quantity accuracy; /* 1; where a grade is named, its middle half */
    const ch_gauge_grade *grade;          /* "grade B", "class 1.6"; NULL = not named. Static storage. */
    ch_quantity resolution;               /* Pa: smallest step read */
    ch_quantity hose_volume, dead_volume; /* m3: behind and ahead of the check valve */
    ch_quantity valve_area;               /* m2, effective */
    ch_quantity opening_pressure;         /* Pa */
} ch_sheet_gauge;

typedef struct ch_sheet_conditions {
    ch_date date;
    ch_quantity altitude;                            /* m */
    ch_quantity barometer;                           /* Pa absolute at the place (station pressure) */
    ch_quantity sea_level_pressure;                  /* Pa absolute, reduced to sea level (QNH) */
    ch_quantity air_temperature, engine_temperature; /* K */
    ch_throttle throttle;
    ch_quantity cranking_speed; /* rad/s */
    int strokes;                /* compression strokes per reading; 0 = not given */
    ch_quantity odometer;       /* m */
    ch_quantity engine_hours;   /* s */
} ch_sheet_conditions;

/** One reading of a compression test, dry or wet. Pressures in Pa gauge. */
typedef struct ch_reading {
    int cylinder; /* 1-based */
    ch_quantity reading, first_stroke;
    ch_quantity oil;   /* m3; wet only */
    char *note;        /* owned; NULL = not given */
    long line, column; /* where it stands in the file */
} ch_reading;

/** Where escaping air was heard or felt. A set. `cylinder_N` goes to heard_cylinders. */
typedef enum ch_heard {
    CH_HEARD_INTAKE = 1,
    CH_HEARD_EXHAUST = 2,
    CH_HEARD_OIL_FILLER = 4,
    CH_HEARD_COOLANT = 8,
    CH_HEARD_NOTHING = 16
} ch_heard;

typedef struct ch_leakdown_row {
    int cylinder;
    ch_quantity supply;       /* Pa gauge */
    ch_quantity loss;         /* 1: (supply - cylinder)/supply in gauge pressures */
    ch_quantity orifice;      /* m, diameter */
    unsigned heard;           /* ch_heard bits; 0 = not stated */
    unsigned heard_cylinders; /* bit N-1 set = air heard at the plug hole of cylinder N */
    char *note;               /* owned; NULL = not given */
    long line, column;
} ch_leakdown_row;

/** A thing seen, heard, smelt, or found by a further check; the list lives in knowledge/observations.yaml. */
typedef struct ch_observation {
    char *what;   /* owned by the sheet */
    int cylinder; /* 0 = the engine as a whole */
    bool absent;  /* `found: no`: looked for and not there */
    char *note;   /* owned; NULL = not given */
    long line, column;
} ch_observation;

/** Constants of the model fixed by the sheet; NaN = the default with its doubt. */
typedef struct ch_sheet_model {
    double annand;           /* Annand's a, 1 */
    double crevice_fraction; /* crevice volume over clearance volume, 1 */
    double valve_discharge;  /* discharge coefficient of the valves, 1 */
} ch_sheet_model;

/** Assumed effective leak areas of one cylinder or all, m2; for `predict` only. NaN = 0. */
typedef struct ch_leaks_row {
    int cylinder; /* 0 = all */
    ch_quantity rings, intake_valve, exhaust_valve, neighbour, coolant;
    char *note; /* owned; NULL = not given */
    long line, column;
} ch_leaks_row;

/** How the pure numbers were typed, so that they are written back alike; empty = the shortest digits that give the number. */
typedef struct ch_sheet_typed {
    char compression_ratio[32], annand[32], crevice_fraction[32], valve_discharge[32];
} ch_sheet_typed;

typedef struct ch_sheet {
    const ch_unit *bare_unit[CH_DIM_COUNT_]; /* the `units` block; NULL = bare numbers of that dimension are errors */
    const ch_unit *bare_distance; /* `units: {distance: km}`: of altitude and odometer, which `length` does not name */
    ch_sheet_typed typed;
    char *title, *note; /* owned; NULL = not given */
    ch_sheet_engine engine;
    ch_sheet_gauge gauge;
    ch_sheet_conditions conditions;
    ch_reading *compression;
    size_t compression_count;
    ch_reading *wet;
    size_t wet_count;
    ch_leakdown_row *leakdown;
    size_t leakdown_count;
    ch_observation *observed;
    size_t observed_count;
    ch_sheet_model model;
    ch_leaks_row *leaks;
    size_t leaks_count;
} ch_sheet;

/** The unit that most of the compression readings stand in, dry ones where there are any, else wet ones; of equals the first. NULL without a reading. */
const ch_unit *ch_sheet_reading_unit(const ch_sheet *sheet);

/** A sheet with nothing given. */
void ch_sheet_init(ch_sheet *sheet);

/** Free what the sheet owns; fine on an initialised or cleared sheet. */
void ch_sheet_clear(ch_sheet *sheet);

/**
 * Give a sheet that says little of its engine what is known of that engine: each value that the sheet itself does not say, as if it had been
 * typed with its unit. Valve events go together, because the angles hold at one lift; a firing order is taken by a sheet with as many cylinders.
 *
 * @param sheet     What it says stays. One that has cylinders_at_least has the known number of cylinders afterwards.
 * @param described Its engine is what is known; nothing else of it is looked at.
 * @param err       (out, may be NULL)
 * @retval CH_E_INPUT The sheet has another number of cylinders than the known engine, or (cylinders_at_least) more than it has: another engine. The
 *                    sheet is as it was.
 */
ch_status ch_sheet_engine_fill(ch_sheet *sheet, const ch_sheet *described, ch_err *err);

/** The same of its gauge: each value that the sheet itself does not say. */
void ch_sheet_gauge_fill(ch_sheet *sheet, const ch_sheet *described);

/**
 * Read a sheet from text, YAML 1.2 or JSON (RFC 8259, a subset of it).
 *
 * @param name   Shown in messages; usually the file's name.
 * @param text   `length` bytes, at most CH_SHEET_BYTES_MAX.
 * @param length Bytes of `text`; need not end in NUL.
 * @param sheet  (out) Initialised by the call; holds nothing to clear on failure.
 *
 * @retval CH_E_INPUT  With file, line and column of the offending key or value: not UTF-8, not YAML, unknown key (the nearest right one
 *                     is named), duplicate key, missing unit, wrong dimension, not finite, out of the range that any engine can have.
 * @retval CH_E_LIMIT  Too large or nested too deep.
 * @retval CH_E_MEMORY
 */
ch_status ch_sheet_parse(const char *name, const char *text, size_t length, ch_sheet *sheet, ch_err *err);

/**
 * ch_sheet_parse() of what a person typed: a height, a distance driven or hours that may be a thousand times as much ("298.400 km") are refused as
 * ch_quantity_check_thousands() does, with their place. Not so a bare number of a file named `.json`, where the point is one of decimals (RFC 8259, 6).
 * What was kept earlier is read with ch_sheet_parse(): it stays as it was understood.
 *
 * @param name   Shown in messages; usually the file's name.
 * @param text   `length` bytes, at most CH_SHEET_BYTES_MAX.
 * @param length Bytes of `text`; need not end in NUL.
 * @param sheet  (out) Initialised by the call; holds nothing to clear on failure.
 *
 * @retval CH_E_INPUT  Also: such a quantity is ambiguous.
 */
ch_status ch_sheet_parse_typed(const char *name, const char *text, size_t length, ch_sheet *sheet, ch_err *err);

enum { CH_SHEET_BYTES_MAX = 4 * 1024 * 1024 };

/**
 * Write a sheet as YAML (`json` false) or JSON. What was entered comes back as entered: numbers and units as typed (a unit in its usual
 * spelling), order of rows, bare numbers under the same `units` block; reading the text again gives an equal sheet, and writing
 * that one the same bytes.
 *
 * @param sheet  Left as it is.
 * @param json   True = JSON, false = YAML.
 * @param text   (out) Newly allocated, the caller frees it with free(); NUL behind its `length` bytes. Untouched on failure.
 * @param length (out) Bytes of `text` without its NUL. Untouched on failure.
 *
 * @retval CH_E_LIMIT  Longer than CH_SHEET_BYTES_MAX, so that it could not be read back.
 * @retval CH_E_RANGE  A quantity that no text gave (its `number` is empty): make quantities with ch_quantity_parse().
 * @retval CH_E_MEMORY
 */
ch_status ch_sheet_write(const ch_sheet *sheet, bool json, char **text, size_t *length, ch_err *err);

/**
 * The largest error that the gauge's stated accuracy allows at a reading, Pa (the half width of a rectangular distribution: its
 * standard uncertainty is this over sqrt(3), JCGM 100:2008, 4.3.7). NaN where no accuracy is stated, or where it is one of span and the
 * span is not given. Negative readings count as 0, readings beyond the span as the span.
 */
double ch_gauge_limit_pa(const ch_sheet_gauge *gauge, double reading_gauge_pa);

/**
 * Read an accuracy: "2 % of span" (also "of full scale"), "2 %" (of span), "1 % of reading", "grade B" (ASME B40.100: 4A, 3A, 2A, 1A, A,
 * B, C, D), "class 1.6" (EN 837-1: 0.1, 0.25, 0.6, 1, 1.6, 2.5, 4). Above 0 and at most 25 %.
 *
 * @param text   `length` bytes, borrowed during the call; spaces around are free.
 * @param length Bytes of `text`; need not end in NUL.
 * @param gauge  (in, out) accuracy_kind, accuracy and grade are set; untouched on failure.
 * @retval CH_E_INPUT
 */
ch_status ch_gauge_accuracy_parse(const char *text, size_t length, ch_sheet_gauge *gauge, ch_err *err);

#endif
