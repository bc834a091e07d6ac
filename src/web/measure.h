/*
 * What the pages that enter and correct readings share: the kinds of tests, the sheet being measured, the form of a reading, and the table of
 * entries with their earlier values.
 */
#ifndef CROSSHATCH_WEB_MEASURE_H
#define CROSSHATCH_WEB_MEASURE_H

#include "piece.h"

enum { MEASURE_KINDS = 3, MEASURE_HEARD = 5 };

extern const struct measure_kind {
    const char *name, *title, *tab, *procedure, *step, *bleed;
    ch_store_kind kind;
} measure_kinds[MEASURE_KINDS];

extern const struct measure_heard {
    const char *name, *words;
    ch_heard bit;
} measure_heard[MEASURE_HEARD];

/* The place in measure_kinds; MEASURE_KINDS where there is none of that name. */
size_t measure_kind_named(const char *name);
const char *measure_kind_name(ch_store_kind kind);

typedef struct measuring {
    ch_store_sheet row; /* of the sheet */
    ch_sheet sheet;
    const ch_store_row *rows;
    size_t rows_count;
    const ch_unit *unit;
    size_t kind;
    int cylinder;
} measuring;

/* Readings of each cylinder that count, of this kind. */
void measure_count(const measuring *m, int count[CH_CYLINDERS_MAX]);

/*
 * Load sheet and rows of m->row into a zeroed rest; kind and cylinder come from the fields `asked`, else dry, and the cylinder from the order of work.
 * ch_sheet_clear(&m->sheet) it; after a failure there is nothing to clear.
 */
ch_status measure_load(web_request *request, const web_fields *asked, measuring *m, ch_err *err);

/* ---- the form ---- */

/* A row as the form gives it; its texts live in the form. CH_E_INPUT names the field. */
ch_status measure_read(const web_fields *form, const ch_sheet *sheet, ch_store_kind kind, const ch_unit *unit,
                       ch_store_row *row, ch_err *err);

/* What the fields show: what was sent and refused, else what a row holds, else nothing. */
typedef struct measure_shown {
    const web_fields *form;  /* NULL = not sent */
    const ch_store_row *row; /* NULL = none */
    const ch_sheet *sheet;
    const ch_unit *unit;
    const char *supply; /* supply and orifice as last entered; NULL = none */
    const char *orifice, *oil;
    bool
        to_read; /* what stands before the fields is to be read first: none of them takes the focus, which would leave it out of sight */
} measure_shown;

void measure_fields(html_writer *w, const measure_shown *s, ch_store_kind kind);
void measure_note(html_writer *w, const measure_shown *s, ch_store_kind kind);

/* ---- entries ---- */

int measure_cylinder(const ch_store_row *row);

/* All values of one chain, the newest plain, earlier ones struck through with their times. */
void measure_chain(html_writer *w, const web_request *request, const ch_store_row rows[], size_t count,
                   const ch_store_row *current, const ch_unit *unit);

/* What was entered of one kind, as a table. */
void measure_entries(html_writer *w, const web_request *request, const ch_store_sheet *sheet, size_t kind,
                     const ch_store_row rows[], size_t count, const ch_unit *unit);

#endif
