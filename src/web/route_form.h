/*
 * Fields out of a query or a form body. Every text must be UTF-8 without control characters (but tab and line breaks): what is not is
 * refused as a whole, never repaired, so that what is stored is what was typed.
 */
#ifndef CROSSHATCH_WEB_ROUTE_FORM_H
#define CROSSHATCH_WEB_ROUTE_FORM_H

#include "route.h"

/* Whether `length` bytes are text as above. */
bool web_is_text(const char *bytes, size_t length);

/*
 * Read application/x-www-form-urlencoded: a query (without its question mark) or a body.
 * Source: WHATWG, URL Standard, section 5.1; stricter in that a % without two digits, a NUL or a field without name is refused.
 *
 * fields (out): web_fields_clear() them.
 * retval CH_E_INPUT, CH_E_LIMIT (more than WEB_FIELDS_MAXIMUM fields), CH_E_MEMORY.
 */
ch_status web_urlencoded_parse(const char *bytes, size_t length, web_fields *fields, ch_err *err);

/* Free; fine on {0}. */
void web_fields_clear(web_fields *fields);

/* Add one; *capacity starts at 0. CH_E_LIMIT, CH_E_MEMORY. */
ch_status web_fields_add(web_fields *fields, size_t *capacity, web_field field, ch_err *err);

#endif
