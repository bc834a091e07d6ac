/* Forms with files: multipart/form-data. */
#ifndef CROSSHATCH_WEB_MULTIPART_H
#define CROSSHATCH_WEB_MULTIPART_H

#include "route_form.h"

/*
 * Read a body of type multipart/form-data. Files are taken as they are; every other value, name and file name must be text (route_form.h).
 * Source: RFC 7578, with the delimiters of RFC 2046, section 5.1.1. Stricter: each part has a name, the closing delimiter must be there,
 * nothing stands before the first delimiter, a part's headers are at most 1 kB, nested parts and transfer encodings are refused.
 *
 * type: the Content-Type header with its boundary.
 * bytes: `length` bytes that the fields will point into and that are changed; the caller keeps them until web_fields_clear().
 * retval CH_E_INPUT, CH_E_LIMIT (too many fields), CH_E_MEMORY.
 */
ch_status web_multipart_parse(const char *type, char *bytes, size_t length, web_fields *fields, ch_err *err);

#endif
