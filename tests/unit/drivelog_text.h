/* A log's text, put together piece by piece, for tests of its reader. Included once a program. */
#ifndef CROSSHATCH_TESTS_DRIVELOG_TEXT_H
#define CROSSHATCH_TESTS_DRIVELOG_TEXT_H

#include <stdarg.h>
#include <stdio.h>

#include "drivelog_read.h"
#include "expect.h"

enum { TEXT = 1400000 }; /* far more than the reader looks at before it decides */

static char text[TEXT];
static size_t used;

__attribute__((format(printf, 1, 2))) static inline void put(const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    used += (size_t)vsnprintf(text + used, TEXT - used, format, arguments);
    va_end(arguments);
    assert_true(used < TEXT);
}

static inline void start(const char *header)
{
    used = 0;
    put("%s", header);
}

static inline void read_it(read_log *log, const ch_drivelog_options *options)
{
    read_log_text(log, text, used, 0, options);
    if (log->status != CH_OK)
        fail_msg("%s: %s in\n%.300s", log->err.what, log->err.right, text);
}

#endif
