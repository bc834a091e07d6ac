/*
 * The log reader's face: bytes in, whole rows to drivelog_rows.c, and the life of the reader.
 *
 * UTF-16 becomes UTF-8 on the way in. The first LOG_PROBE bytes are kept until drivelog_probe.c has decided; after that the caller's bytes are read
 * where they lie, and only a row that is cut by the end of a piece is copied.
 */
#include "crosshatch/drivelog.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drivelog_parts.h"

void log_count(ch_drivelog_count *count, uint64_t n, uint64_t line)
{
    if (n > 0 && (count->n == 0 || line < count->line))
        count->line = line;
    count->n += n;
}

/* Where the cell `column` of the header begins, from 1; 1 where that cannot be said or the whole row is meant. */
static long column_place(const ch_drivelog *r, uint64_t line, size_t column)
{
    long place = 1;
    if (line != r->report.header_line || line == 0 || r->report.quoted || column >= r->report.columns_n)
        return 1;
    for (size_t i = 0; i < column; i++)
        place += (long)strlen(r->report.names[i]) + 1;
    return place;
}

ch_status log_fail_at(const ch_drivelog *r, ch_err *err, ch_status status, uint64_t line, size_t column,
                      const char *right, const char *what, ...)
{
    char said[256];
    va_list arguments;
    va_start(arguments, what);
    vsnprintf(said, sizeof said, what, arguments);
    va_end(arguments);
    ch_fail(err, status, right, "%s", said);
    ch_err_locate(err, NULL, (long)line, column_place(r, line, column));
    return status;
}

static char *copied(const char *text, bool *failed)
{
    if (text == NULL)
        return NULL;
    const size_t size = strlen(text) + 1;
    char *const copy = malloc(size);
    if (copy != NULL)
        memcpy(copy, text, size);
    else
        *failed = true;
    return copy;
}

static ch_status copy_options(ch_drivelog *r, const ch_drivelog_options *options, ch_err *err)
{
    bool failed = false;
    for (int c = 0; c < LOG_CHANNELS && options != NULL; c++) {
        const char *const units[] = {options->unit[c], options->assumed_unit[c]};
        log_unit unit;
        for (size_t i = 0; i < 2; i++)
            if (units[i] != NULL && !log_unit_find((ch_drivelog_channel)c, units[i], strlen(units[i]), &unit)) {
                char shown[32];
                ch_text_excerpt(units[i], strlen(units[i]), shown, sizeof shown);
                return ch_fail(err, CH_E_INPUT, log_unit_default((ch_drivelog_channel)c).name,
                               "\"%s\" is no unit for %s", shown, ch_drivelog_channel_name((ch_drivelog_channel)c));
            }
        r->hand[c] = copied(options->column[c], &failed);
        r->hand_unit[c] = copied(options->unit[c], &failed);
        r->hand_assumed[c] = copied(options->assumed_unit[c], &failed);
    }
    return failed ? ch_fail(err, CH_E_MEMORY, NULL, "no memory for a log") : CH_OK;
}

ch_status ch_drivelog_open(const ch_drivelog_options *options, ch_drivelog_take *take, void *context, ch_drivelog **log,
                           ch_err *err)
{
    ch_drivelog *const r = calloc(1, sizeof *r);
    if (r == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a log");
    r->take = take;
    r->context = context;
    r->odd = -1;
    r->newline = '\n';
    r->line = 1;
    r->report.decimal = '.';
    r->report.median_interval_s = NAN;
    r->report.road_over_gps = r->report.rate_over_acceleration = NAN;
    for (int c = 0; c < LOG_CHANNELS; c++) {
        ch_drivelog_column *const column = &r->report.columns[c];
        column->fresh_interval_s = column->least_si = column->most_si = r->last[c] = NAN;
        for (size_t i = 0; i < LOG_WORK; i++)
            r->work.value[c][i] = NAN;
    }
    ch_status rc = copy_options(r, options, err);
    r->probe = rc >= 0 ? malloc(LOG_PROBE) : NULL;
    if (rc >= 0 && r->probe == NULL)
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory for a log");
    if (rc < 0) {
        ch_drivelog_close(r);
        return rc;
    }
    *log = r;
    return CH_OK;
}

void ch_drivelog_close(ch_drivelog *log)
{
    if (log == NULL)
        return;
    for (int c = 0; c < LOG_CHANNELS; c++) {
        free(log->hand[c]);
        free(log->hand_unit[c]);
        free(log->hand_assumed[c]);
    }
    for (size_t i = 0; i < log->names_capacity && log->names != NULL; i++)
        free(log->names[i]);
    for (size_t i = 0; i < log->names_capacity * CH_DRIVELOG_PREVIEW_MAX && log->preview != NULL; i++)
        free(log->preview[i]);
    free(log->names);
    free(log->preview);
    free(log->header);
    free(log->probe);
    free(log);
}

const ch_drivelog_report *ch_drivelog_report_of(const ch_drivelog *log)
{
    return &log->report;
}

/* Decides from the kept bytes, then reads the rows among them; what is left of them stays kept. */
static ch_status decide(ch_drivelog *r, ch_err *err)
{
    size_t from = 0, used = 0;
    ch_status rc = log_probe(r, &from, err);
    if (rc < 0)
        return rc;
    const char *const unit = r->map.unit[CH_DRIVELOG_TIME].name;
    r->wrap_unit_s = strcmp(unit, "ms") == 0 || strcmp(unit, "us") == 0 ? r->map.unit[CH_DRIVELOG_TIME].factor : 0;
    r->probed = true;
    rc = log_rows_take(r, r->probe + from, r->probe_n - from, &used, err);
    if (rc < 0)
        return rc;
    r->probe_n -= from + used;
    memmove(r->probe, r->probe + from + used, r->probe_n);
    return CH_OK;
}

/* Text in UTF-8 or Latin-1. */
static ch_status take_text(ch_drivelog *r, const char *text, size_t n, ch_err *err)
{
    while (!r->probed && n > 0) {
        const size_t room = LOG_PROBE - r->probe_n, more = n < room ? n : room;
        memcpy(r->probe + r->probe_n, text, more);
        r->probe_n += more;
        text += more;
        n -= more;
        if (r->probe_n == LOG_PROBE) {
            const ch_status rc = decide(r, err);
            if (rc < 0)
                return rc;
        }
    }
    /* The row that the last piece cut is completed up to a line end; a quote in it may ask for more than one. */
    while (n > 0 && r->probe_n > 0) {
        const char *const end = memchr(text, r->newline, n);
        size_t more = end != NULL ? (size_t)(end - text) + 1 : n, used = 0;
        if (more > LOG_PROBE - r->probe_n)
            more = LOG_PROBE - r->probe_n;
        memcpy(r->probe + r->probe_n, text, more);
        r->probe_n += more;
        text += more;
        n -= more;
        if (end == NULL && r->probe_n < CH_DRIVELOG_ROW_MAX)
            return CH_OK;
        const ch_status rc = log_rows_take(r, r->probe, r->probe_n, &used, err);
        if (rc < 0)
            return rc;
        r->probe_n -= used;
        memmove(r->probe, r->probe + used, r->probe_n);
    }
    if (n == 0)
        return CH_OK;
    size_t used = 0;
    const ch_status rc = log_rows_take(r, text, n, &used, err);
    if (rc < 0)
        return rc;
    memcpy(r->probe, text + used, n - used); /* less than CH_DRIVELOG_ROW_MAX, or it had failed */
    r->probe_n = n - used;
    return CH_OK;
}

static size_t utf8_put(uint32_t c, char *text)
{
    if (c < 0x80) {
        text[0] = (char)c;
        return 1;
    }
    if (c < 0x800) {
        text[0] = (char)(0xc0 | c >> 6);
        text[1] = (char)(0x80 | (c & 0x3f));
        return 2;
    }
    if (c < 0x10000) {
        text[0] = (char)(0xe0 | c >> 12);
        text[1] = (char)(0x80 | (c >> 6 & 0x3f));
        text[2] = (char)(0x80 | (c & 0x3f));
        return 3;
    }
    text[0] = (char)(0xf0 | c >> 18);
    text[1] = (char)(0x80 | (c >> 12 & 0x3f));
    text[2] = (char)(0x80 | (c >> 6 & 0x3f));
    text[3] = (char)(0x80 | (c & 0x3f));
    return 4;
}

/* The line of the log at which the UTF-16 stands that was taken; rows come later. */
static uint64_t wide_line(const ch_drivelog *r)
{
    return 1 + (r->wide_lf > 0 ? r->wide_lf : r->wide_cr);
}

/* One unit of UTF-16 into `text` (room for 8 bytes); broken pairs become "?". */
static size_t utf16_unit(ch_drivelog *r, uint32_t unit, char *text)
{
    size_t used = 0;
    r->wide_lf += unit == '\n';
    r->wide_cr += unit == '\r';
    if (r->half != 0) {
        if (unit >= 0xdc00 && unit < 0xe000) {
            used = utf8_put(0x10000 + ((r->half - 0xd800) << 10) + (unit - 0xdc00), text);
            r->half = 0;
            return used;
        }
        r->half = 0;
        text[used++] = '?';
        log_count(&r->report.bad_characters, 1, wide_line(r));
    }
    if (unit >= 0xd800 && unit < 0xdc00) {
        r->half = unit;
    } else if (unit >= 0xdc00 && unit < 0xe000) {
        text[used++] = '?';
        log_count(&r->report.bad_characters, 1, wide_line(r));
    } else {
        used += utf8_put(unit, text + used);
    }
    return used;
}

static ch_status take_utf16(ch_drivelog *r, const unsigned char *bytes, size_t n, ch_err *err)
{
    char text[8192];
    size_t used = 0;
    const bool big = r->report.encoding == CH_DRIVELOG_UTF16BE;
    for (size_t i = 0; i < n; i++) {
        if (r->odd < 0) {
            r->odd = bytes[i];
            continue;
        }
        const uint32_t first = (uint32_t)r->odd, second = bytes[i];
        r->odd = -1;
        used += utf16_unit(r, big ? first << 8 | second : second << 8 | first, text + used);
        if (used + 8 > sizeof text) {
            const ch_status rc = take_text(r, text, used, err);
            if (rc < 0)
                return rc;
            used = 0;
        }
    }
    return take_text(r, text, used, err);
}

static ch_status take_encoded(ch_drivelog *r, const unsigned char *bytes, size_t n, ch_err *err)
{
    const bool wide = r->report.encoding == CH_DRIVELOG_UTF16LE || r->report.encoding == CH_DRIVELOG_UTF16BE;
    return wide ? take_utf16(r, bytes, n, err) : take_text(r, (const char *)bytes, n, err);
}

/* From the first bytes: a byte order mark, or the zeros that plain letters have in UTF-16. */
static ch_status begin(ch_drivelog *r, ch_err *err)
{
    const unsigned char *const b = r->head;
    const size_t n = r->head_n;
    size_t mark = 0, zeros[2] = {0, 0};
    for (size_t i = 0; i < n; i++)
        zeros[i % 2] += b[i] == 0;
    if (n >= 3 && b[0] == 0xef && b[1] == 0xbb && b[2] == 0xbf) {
        mark = 3;
    } else if (n >= 2 && b[0] == 0xff && b[1] == 0xfe) {
        mark = 2;
        r->report.encoding = CH_DRIVELOG_UTF16LE;
    } else if (n >= 2 && b[0] == 0xfe && b[1] == 0xff) {
        mark = 2;
        r->report.encoding = CH_DRIVELOG_UTF16BE;
    } else if (n >= 8 && zeros[0] == 0 && zeros[1] >= n / 2 - 1) {
        r->report.encoding = CH_DRIVELOG_UTF16LE;
    } else if (n >= 8 && zeros[1] == 0 && zeros[0] >= n / 2 - 1) {
        r->report.encoding = CH_DRIVELOG_UTF16BE;
    }
    r->report.mark = mark > 0;
    r->encoded = true;
    return take_encoded(r, b + mark, n - mark, err);
}

static ch_status keep_failure(ch_drivelog *r, ch_status rc, const ch_err *failure, ch_err *err)
{
    if (rc >= 0)
        return rc;
    r->failure = *failure;
    r->failure.status = rc;
    if (err != NULL && err->status == 0)
        *err = *failure;
    return rc;
}

static ch_status failed_before(const ch_drivelog *r, ch_err *err)
{
    if (err != NULL && err->status == 0)
        *err = r->failure;
    return r->failure.status;
}

ch_status ch_drivelog_feed(ch_drivelog *log, const void *bytes, size_t n, ch_err *err)
{
    const unsigned char *at = bytes;
    ch_err failure = {0};
    ch_status rc = CH_OK;
    if (log->failure.status < 0)
        return failed_before(log, err);
    if (!log->encoded) {
        const size_t room = sizeof log->head - log->head_n, more = n < room ? n : room;
        if (more > 0)
            memcpy(log->head + log->head_n, at, more);
        log->head_n += more;
        if (log->head_n < sizeof log->head)
            return CH_OK;
        rc = begin(log, &failure);
        at += more;
        n -= more;
    }
    if (rc >= 0 && n > 0)
        rc = take_encoded(log, at, n, &failure);
    return keep_failure(log, rc, &failure, err);
}

static ch_status finish(ch_drivelog *r, ch_err *err)
{
    ch_status rc = CH_OK;
    if (!r->encoded)
        rc = begin(r, err);
    if (rc >= 0 && (r->odd >= 0 || r->half != 0))
        log_count(&r->report.bad_characters, 1, wide_line(r));
    r->ending = true;
    if (rc >= 0 && !r->probed)
        rc = decide(r, err);
    size_t used = 0;
    if (rc >= 0 && r->probe_n > 0)
        rc = log_rows_take(r, r->probe, r->probe_n, &used, err);
    if (rc >= 0)
        rc = log_time_settle(r, true, err);
    return rc >= 0 ? log_clean_judge(r, err) : rc;
}

ch_status ch_drivelog_finish(ch_drivelog *log, ch_err *err)
{
    ch_err failure = {0};
    if (log->failure.status < 0)
        return failed_before(log, err);
    return keep_failure(log, finish(log, &failure), &failure, err);
}
