/**
 * @file date.h
 * Calendar dates as ISO 8601 writes them (2027-01-16), proleptic Gregorian, without time zones.
 */
#ifndef CROSSHATCH_DATE_H
#define CROSSHATCH_DATE_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/status.h"

/** A day. Year 0 means "not given". */
typedef struct ch_date {
    int year, month, day;
} ch_date;

/** True where the date was given. */
bool ch_date_given(ch_date date);

/**
 * Read "YYYY-MM-DD" (1900..2199), spaces around it are free; refuses days that do not exist. CH_E_INPUT on failure, `out` untouched.
 *
 * @param text   `length` bytes, borrowed during the call.
 * @param length Bytes of `text`; need not end in NUL.
 * @param out    (out) Untouched on failure.
 */
ch_status ch_date_parse(const char *text, size_t length, ch_date *out, ch_err *err);

/** Write "YYYY-MM-DD"; empty text where not given. `size` at least 11. */
void ch_date_format(ch_date date, char *text, size_t size);

/** Days since 1970-01-01 (may be negative) of a date that was given and exists, from year 1 on. Proleptic Gregorian calendar, ISO 8601-1:2019. */
long ch_date_days(ch_date date);

/** The date `days` after 1970-01-01; "not given" outside the years 1 to 9999. */
ch_date ch_date_from_days(long days);

#endif
