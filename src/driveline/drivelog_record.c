/*
 * One row, cell by cell: RFC 4180 (Y. Shafranovich, 2005), section 2, with what loggers make of it: any separator, spaces ahead of a
 * quote, a quote in the middle of a cell that means itself. Slow and careful; drivelog_rows.c comes here only where a row is not plain.
 */
#include <string.h>

#include "crosshatch/text.h"
#include "drivelog_parts.h"

/* Behind the closing quote of the cell whose opening quote is at `at`; `length` where it never closes. Counts the line ends inside. */
static size_t quoted_end(const char *text, size_t length, size_t at, char newline, size_t *lines, bool *open)
{
    for (at++; at < length; at++) {
        *lines += text[at] == newline;
        if (text[at] != '"')
            continue;
        if (at + 1 < length && text[at + 1] == '"')
            at++;
        else
            return at + 1;
    }
    *open = true;
    return length;
}

bool log_record_split(const char *text, size_t length, bool last, char separator, char newline, log_record *record)
{
    record->n = 0;
    record->lines = 0;
    record->quoted = record->too_many = record->open = false;
    size_t begin = 0, at = 0;
    for (;;) {
        size_t opening = at;
        while (opening < length && text[opening] == ' ')
            opening++;
        if (opening < length && text[opening] == '"') {
            record->quoted = true;
            at = quoted_end(text, length, opening, newline, &record->lines, &record->open);
            /* A quote as the last byte so far may be the first of two. */
            if (at == length && !last)
                return false;
        }
        while (at < length && text[at] != separator && text[at] != newline)
            at++;
        if (at == length && !last)
            return false;
        size_t end = at;
        if (end > begin && text[end - 1] == '\r' && (at == length || text[at] == newline))
            end--;
        if (record->n < CH_DRIVELOG_COLUMNS_MAX)
            record->cells[record->n++] = (log_slice){text + begin, end - begin};
        else
            record->too_many = true;
        if (at == length || text[at] == newline)
            break;
        begin = ++at;
    }
    record->lines += at < length;
    record->bytes = at + (at < length ? 1 : 0);
    return true;
}

void log_slice_text(log_slice cell, char *text, size_t size)
{
    const char *at = cell.at, *end = cell.at + cell.length;
    while (at < end && (*at == ' ' || *at == '\t'))
        at++;
    while (end > at && (end[-1] == ' ' || end[-1] == '\t'))
        end--;
    const bool quoted = end - at >= 2 && *at == '"' && end[-1] == '"';
    if (quoted) {
        at++;
        end--;
        while (at < end && *at == ' ')
            at++;
        while (end > at && end[-1] == ' ')
            end--;
    }
    size_t used = 0;
    while (at < end) {
        const size_t n = ch_utf8_length(at, (size_t)(end - at));
        const unsigned char byte = (unsigned char)*at;
        const size_t room = n > 0 ? n : 2;
        if (used + room >= size)
            break;
        if (n > 0 && byte >= ' ' && byte != 0x7f) {
            memcpy(text + used, at, n);
            used += n;
        } else if (n > 0 || byte < 0xa0) {
            text[used++] = ' '; /* a control character or a line end inside quotes */
        } else {
            text[used++] = (char)(0xc0 | byte >> 6);
            text[used++] = (char)(0x80 | (byte & 0x3f));
        }
        at += n > 0 ? n : 1;
        if (quoted && byte == '"' && at < end && *at == '"')
            at++;
    }
    text[used] = '\0';
}
