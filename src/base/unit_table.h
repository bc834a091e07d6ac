/*
 * The table of units and the spellings that people use for them. Private to base.
 */
#ifndef CROSSHATCH_BASE_UNIT_TABLE_H
#define CROSSHATCH_BASE_UNIT_TABLE_H

#include "crosshatch/units.h"

enum { UNIT_SPELLING_MAXIMUM = 24 }; /* longest spelling of a unit, bytes after unit_spelling_normalise */

/* The whole table, `*n` entries. */
const ch_unit *unit_table(size_t *n);

/* The unit of `dimension` whose name is nearest to a mistyped one, or NULL where none is near. */
const ch_unit *unit_nearest(const char *name, size_t length, ch_dimension dimension);

/* The unit of pressure in "psia", "bar abs": spelt as absolute, which no unit here is; else NULL. */
const ch_unit *unit_absolute(const char *name, size_t length);

/* Length in bytes of the space at the start of `text` (space, tab, U+00A0, U+2007, U+2009, U+202F), or 0. */
size_t unit_space_length(const char *text, size_t length);

#endif
