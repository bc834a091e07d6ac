/*
 * The fields of a test sheet as one table, which the reader, the writer, and init and clear walk: a key stands in one place only.
 */
#ifndef CROSSHATCH_SHEET_FIELDS_H
#define CROSSHATCH_SHEET_FIELDS_H

#include "crosshatch/sheet.h"

typedef enum field_kind {
    FIELD_VERSION,      /* `sheet: 1` */
    FIELD_UNITS,        /* the `units` block */
    FIELD_MAP,          /* a map of further fields, stored inside */
    FIELD_ROWS,         /* a list of maps; pointer and count */
    FIELD_QUANTITY,     /* ch_quantity */
    FIELD_NUMBER,       /* double without unit, and how it was typed */
    FIELD_COUNT,        /* int, 0 = not given */
    FIELD_CYLINDER,     /* int, a cylinder that the engine has */
    FIELD_CYLINDER_ALL, /* the same, or `all` = 0 */
    FIELD_ORDER,        /* int[CH_CYLINDERS_MAX], a permutation */
    FIELD_WORD,         /* an enum: 0 = not given, else 1 + index into `words` */
    FIELD_TEXT,         /* char *, owned */
    FIELD_NAME,         /* char *, owned, a word of knowledge/ */
    FIELD_DATE,         /* ch_date */
    FIELD_ACCURACY,     /* three members of ch_sheet_gauge */
    FIELD_HEARD,        /* two members of ch_leakdown_row */
    FIELD_FOUND         /* bool, true where `found: no` */
} field_kind;

typedef struct section section;

typedef struct field {
    const char *key;
    field_kind kind;
    size_t offset;       /* of the member in the section's struct */
    size_t second;       /* ROWS: offset of the count; NUMBER: offset in ch_sheet of the text as typed */
    const char *range;   /* what is right, for people */
    const char *example; /* one right value */
    double low, high;    /* inclusive; QUANTITY in SI */
    bool above_low;      /* `low` itself is refused */
    ch_dimension dimension;
    bool distance; /* a bare number takes the unit of `units: distance` */
    bool required;
    bool early;            /* read ahead of the others, which depend on it */
    const section *inside; /* MAP, ROWS */
    const char *const
        *words;    /* WORD; NULL-terminated. A word after the last value of the enum is another name of that value. */
    size_t values; /* WORD: how many values the enum has */
} field;

struct section {
    const char *name; /* for messages */
    const field *fields;
    size_t count;
    size_t size;         /* of the struct */
    size_t line, column; /* ROWS: offsets of the place; 0 elsewhere */
    const section
        *whole; /* ROWS: the section that has every field of the struct, where this one lacks some; else NULL */
};

/* The outermost section: ch_sheet. */
extern const section sheet_root;

/* A key of the `units` block; DIM_DISTANCE stands beside the dimensions. */
enum { DIM_DISTANCE = CH_DIM_COUNT_ };
typedef struct units_key {
    const char *key;
    int dimension;       /* ch_dimension or DIM_DISTANCE */
    const char *example; /* a unit */
} units_key;
extern const units_key sheet_units_keys[];
enum { SHEET_UNITS_KEYS = 10 };

/* The key of `units` that names the unit of a field's bare numbers. */
const units_key *sheet_units_key(const field *f);

/* The unit of a field's bare numbers, or NULL where they are errors. Valve timing is in degrees unless `units: angle` says otherwise. */
const ch_unit *sheet_bare_unit(const ch_sheet *sheet, const field *f);

/* Set every member of a section's struct to "not given"; the struct is zeroed. */
void section_init(const section *s, void *at);

/* Free what a section's struct owns. */
void section_clear(const section *s, void *at);

/* Rows: the pointer and count that a ROWS field points at. */
void *rows_get(const void *at, const field *f, size_t *count);
void rows_set(void *at, const field *f, void *rows, size_t count);

/* A text of the sheet: the pointer that a TEXT or NAME field points at. */
char *text_get(const void *at, const field *f);
void text_set(void *at, const field *f, char *text);

/* Words of `heard` in the order of the bits of ch_heard. */
extern const char *const sheet_heard_words[];
enum { SHEET_HEARD_WORDS = 5 };

#endif
