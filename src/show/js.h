/*
 * JSON values for results: NaN becomes null, pressures kPa, areas mm2. Private to show.
 *
 * Values are built from the leaves up and handed over as soon as they are whole, so that running out of memory anywhere leaves one NULL at
 * the top, and nothing is freed twice: jansson's ..._new functions take their value even when they fail.
 */
#ifndef CROSSHATCH_SHOW_JS_H
#define CROSSHATCH_SHOW_JS_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/show.h"

/* Put `value` (taken over) under `key`. On failure, also of the value itself, *object is freed and NULL. Does nothing to a NULL object. */
void js_put(json_t **object, const char *key, json_t *value);

/* Append `value` (taken over) to *array, with the same rules. */
void js_add(json_t **array, json_t *value);

json_t *js_number(double value);
json_t *js_kilopascal(double pressure_pa);
json_t *js_square_millimetre(double area_m2);

/* An array of `count` numbers divided by `unit_si`. */
json_t *js_numbers(const double *values, size_t count, double unit_si);

/* Names of the assumed inputs that take part. */
json_t *js_assumed(const bool assumed[CH_INPUT_COUNT], bool (*takes_part)(ch_input input));

/* Append the document and a line feed, and free it. NULL = no memory. */
ch_status js_finish(json_t *root, ch_text *text, ch_err *err);

#endif
