/*
 * Whole rows to numbers, by the map.
 *
 * A row without quotes and with as many cells as the header goes the fast way: the scan has already said where its separators are, so
 * the wanted cells are read where they stand and no other is looked at. Every other row is split with care. Both ways give the same numbers.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "drivelog_parts.h"

/* A cell that is no plain number of the column's unit. */
static double careful_cell(ch_drivelog *r, unsigned channel, log_slice cell)
{
    double value;
    log_slice unit;
    ch_drivelog_column *const column = &r->report.columns[channel];
    if (channel == CH_DRIVELOG_TIME && r->stamp_form == LOG_STAMP_CLOCK) {
        if (log_stamp_follow(&r->dates, cell, &value))
            return value;
    }
    switch (log_cell_read(cell, r->report.decimal, &value, &unit)) {
    case LOG_CELL_MISSING: log_count(&column->missing, 1, r->line); return NAN;
    case LOG_CELL_TEXT: log_count(&column->not_numbers, 1, r->line); return NAN;
    case LOG_CELL_NUMBER: break;
    }
    if (channel == CH_DRIVELOG_TIME && r->stamp_form == LOG_STAMP_CLOCK) {
        log_count(&column->not_numbers, 1, r->line);
        return NAN;
    }
    const log_unit *own = &r->map.unit[channel];
    log_unit carried;
    if (unit.length > 0) {
        if (!log_unit_find((ch_drivelog_channel)channel, unit.at, unit.length, &carried)) {
            log_count(&column->not_numbers, 1, r->line);
            return NAN;
        }
        if (carried.factor != own->factor || carried.offset != own->offset)
            log_count(&column->other_units, 1, r->line);
        own = &carried;
    }
    return value * own->factor + own->offset;
}

static double plain_cell(ch_drivelog *r, unsigned channel, const char *at, const char *end)
{
    double value;
    if (r->stamp_form == LOG_STAMP_CLOCK && channel == CH_DRIVELOG_TIME)
        return careful_cell(r, channel, (log_slice){at, (size_t)(end - at)});
    if (log_number(at, end, r->report.decimal, &value))
        return value * r->map.unit[channel].factor + r->map.unit[channel].offset;
    return careful_cell(r, channel, (log_slice){at, (size_t)(end - at)});
}

static ch_status row_done(ch_drivelog *r, ch_err *err)
{
    log_work *const work = &r->work;
    work->line[work->n++] = r->line;
    return work->n == LOG_WORK ? log_time_settle(r, false, err) : CH_OK;
}

/* Logs joined end to end: the new header's columns count from here on. */
static ch_status new_header(ch_drivelog *r, const char *text, const log_map *map, ch_err *err)
{
    ch_status rc = log_time_settle(r, true, err);
    if (rc < 0)
        return rc;
    char *const copy = malloc(r->record.bytes + 1);
    if (copy == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a further header");
    memcpy(copy, text, r->record.bytes);
    free(r->header);
    r->header = copy;
    r->header_n = r->record.bytes;
    log_map next = *map;
    for (int c = 0; c < LOG_CHANNELS; c++) {
        if (r->map.how[c] != CH_DRIVELOG_SWAPPED || !next.found[c])
            continue;
        next.index[c] = map->index[c == CH_DRIVELOG_ENGINE ? CH_DRIVELOG_ROAD : CH_DRIVELOG_ENGINE];
        next.how[c] = CH_DRIVELOG_SWAPPED;
    }
    for (int c = 0; c < LOG_CHANNELS; c++)
        if (next.found[c] && !next.declared[c] && r->map.found[c])
            next.unit[c] = r->map.unit[c]; /* what was concluded for the first log holds for its continuation */
    r->map = next;
    r->active_n = 0;
    for (int c = 0; c < LOG_CHANNELS; c++) {
        if (r->map.found[c])
            r->active[r->active_n++] = (uint32_t)c;
        for (size_t i = 0; i < LOG_WORK; i++)
            r->work.value[c][i] = NAN;
    }
    r->after_header = true;
    r->clock.begun = false;
    r->clock.wrapped_s = 0;
    r->dates = (log_dates){0};
    log_count(&r->report.headers_again, 1, r->line);
    return CH_OK;
}

/* The units row behind a further header: the header is read again with it. */
static bool units_again(ch_drivelog *r)
{
    if (!r->after_header || r->header == NULL || !log_map_units_row(&r->record, r->report.decimal))
        return false;
    log_map map;
    log_record_split(r->header, r->header_n, true, r->report.separator, r->newline, &r->above);
    log_map_make(r, &r->above, &r->record, &map);
    for (int c = 0; c < LOG_CHANNELS; c++)
        if (r->map.found[c] && map.found[c] && map.declared[c]) {
            r->map.unit[c] = map.unit[c];
            r->map.declared[c] = true;
        }
    return true;
}

/* The row in r->record, which stands at `text`. `whole`: its line end is there. */
static ch_status careful_row(ch_drivelog *r, const char *text, bool whole, ch_err *err)
{
    log_record *const record = &r->record;
    log_work *const work = &r->work;
    size_t n = record->n;
    const size_t columns = r->map.columns;
    r->report.quoted = r->report.quoted || record->quoted;
    bool blank = true, nul = true;
    for (size_t i = 0; i + 1 < record->bytes + !whole; i++) {
        blank = blank && strchr(" \t\r", text[i]) != NULL && text[i] != '\0';
        nul = nul && text[i] == '\0';
    }
    nul = nul && record->bytes > whole;
    if (nul)
        log_count(&r->report.bad_characters, record->bytes - whole, r->line);
    if (blank || nul || text[0] == '#' || text[0] == '%' || (text[0] == '/' && record->bytes > 1 && text[1] == '/') ||
        (n == 1 && columns > 1 && text[0] == ';')) {
        log_count(&r->report.comments, 1, r->line);
        return CH_OK;
    }
    if (log_map_text_row(record, r->report.decimal)) {
        if (units_again(r)) {
            r->after_header = false;
            return CH_OK;
        }
        log_map map;
        if (log_map_names_all(r, record, &map))
            return new_header(r, text, &map, err);
        size_t said = 0;
        for (size_t i = 0; i < n; i++)
            said += record->cells[i].length > 0;
        if (said > 0 && (n != columns || said < 3)) {
            log_count(&r->report.comments, 1, r->line);
            return CH_OK;
        }
    }
    r->after_header = false;
    while (n > columns && record->cells[n - 1].length == 0)
        n--;
    if (n != columns) {
        log_count(whole ? &r->report.ragged : &r->report.truncated, 1, r->line);
        return CH_OK;
    }
    for (int c = 0; c < LOG_CHANNELS; c++) {
        if (!r->map.found[c]) {
            work->value[c][work->n] = NAN;
            continue;
        }
        const log_slice cell = record->cells[r->map.index[c]];
        if (!whole && r->map.index[c] + 1 == columns && cell.length < r->last_cell) {
            work->value[c][work->n] = NAN; /* perhaps cut in the middle of its digits */
            log_count(&r->report.truncated, 1, r->line);
            continue;
        }
        work->value[c][work->n] = plain_cell(r, (unsigned)c, cell.at, cell.at + cell.length);
    }
    r->last_cell = record->cells[columns - 1].length;
    return row_done(r, err);
}

/* Rows of r->index up to the first quote. `used` bytes were taken. */
static ch_status plain_rows(ch_drivelog *r, const char *text, size_t *used, ch_err *err)
{
    const log_index *const index = &r->index;
    log_work *const work = &r->work;
    size_t begin = 0, first = 0; /* of the row; the index of its first separator */
    const bool clock = r->stamp_form == LOG_STAMP_CLOCK;
    for (size_t row = 0; row < index->ends; row++) {
        const size_t behind = index->row_end[row];
        const size_t end = index->place[behind];
        if (end >= index->quote)
            break;
        const char head = text[begin];
        if (behind - first + 1 != r->map.columns || head == '#' || head == '%' || head == '/' || r->after_header) {
            log_record_split(text + begin, end - begin + 1, false, r->report.separator, r->newline, &r->record);
            const ch_status rc = careful_row(r, text + begin, true, err);
            if (rc < 0)
                return rc;
        } else {
            const size_t n = work->n;
            unsigned empty = 0;
            bool plain = true;
            for (size_t k = 0; k < r->active_n; k++) {
                const unsigned c = r->active[k];
                const size_t column = r->map.index[c];
                const size_t place = first + column;
                const char *const at = column == 0 ? text + begin : text + index->place[place - 1] + 1;
                const char *stop = text + index->place[place];
                stop -= place == behind && stop > at && stop[-1] == '\r';
                double value = NAN;
                if (at == stop) {
                    empty |= 1u << c;
                } else if (clock && c == CH_DRIVELOG_TIME) {
                    plain = log_stamp_follow(&r->dates, (log_slice){at, (size_t)(stop - at)}, &value);
                } else {
                    plain = log_number(at, stop, r->report.decimal, &value);
                }
                if (!plain)
                    break;
                work->value[c][n] = value * r->map.unit[c].factor + r->map.unit[c].offset;
            }
            ch_status rc;
            if (!plain) {
                log_record_split(text + begin, end - begin + 1, false, r->report.separator, r->newline, &r->record);
                rc = careful_row(r, text + begin, true, err);
            } else {
                for (unsigned c = 0; empty != 0; c++, empty >>= 1)
                    if (empty & 1)
                        log_count(&r->report.columns[c].missing, 1, r->line);
                r->last_cell = end - (behind > first ? index->place[behind - 1] + 1 : begin) -
                               (end > begin && text[end - 1] == '\r');
                rc = row_done(r, err);
            }
            if (rc < 0)
                return rc;
        }
        r->line++;
        begin = end + 1;
        first = behind + 1;
    }
    *used = begin;
    return CH_OK;
}

static ch_status too_long(const ch_drivelog *r, ch_err *err)
{
    return log_fail_at(r, err, CH_E_LIMIT, r->line, CH_DRIVELOG_COLUMNS_MAX,
                       "each quote closed, and rows of at most 65536 bytes", "a row of more than 65536 bytes");
}

ch_status log_rows_take(ch_drivelog *r, const char *text, size_t n, size_t *used, ch_err *err)
{
    size_t at = 0, window = LOG_SCAN;
    while (at < n) {
        const size_t piece = n - at < window ? n - at : window;
        log_scan(text + at, piece, r->report.separator, r->newline, &r->index);
        size_t taken = 0;
        ch_status rc = plain_rows(r, text + at, &taken, err);
        if (rc < 0)
            return rc;
        at += taken;
        if (r->index.quote < piece)
            window = window > 512 ? 512 : window; /* a quote: short scans, as each quoted row ends one */
        else
            window = window * 4 < LOG_SCAN ? window * 4 : LOG_SCAN;
        if (taken > 0 && !(r->index.quote < piece))
            continue;
        /* The row at `at` holds a quote, or is longer than the scan, or is not whole. */
        if (at == n)
            break;
        if (!log_record_split(text + at, n - at, r->ending, r->report.separator, r->newline, &r->record)) {
            if (n - at >= CH_DRIVELOG_ROW_MAX)
                return too_long(r, err);
            break;
        }
        if (r->record.bytes > CH_DRIVELOG_ROW_MAX)
            return too_long(r, err);
        if (r->record.open && r->record.lines > 0)
            return log_fail_at(r, err, CH_E_INPUT, r->line, CH_DRIVELOG_COLUMNS_MAX, "a quote at both ends of the cell",
                               "a quote is opened and never closed");
        const bool whole = r->record.bytes > 0 && text[at + r->record.bytes - 1] == r->newline;
        rc = careful_row(r, text + at, whole, err);
        if (rc < 0)
            return rc;
        r->line += r->record.lines;
        at += r->record.bytes;
    }
    *used = at;
    return CH_OK;
}
