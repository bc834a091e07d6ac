/*
 * What is decided from the first bytes of a log, before a row comes out: line end, separator, header row, units row, decimal mark, columns,
 * how time is written, and whether the numbers look like what their columns say.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drivelog_parts.h"

enum { HEADER_ROWS = 200, SAMPLE_ROWS = 2000 };

/* A row that is a remark, empty, or nothing but separators. */
static bool is_remark(const log_record *record)
{
    const log_slice first = record->cells[0];
    const bool percent =
        first.length == 1 && first.at[0] == '%' && record->n > 1; /* a units row: throttle comes first */
    if (first.length > 0 && !percent && (first.at[0] == '#' || first.at[0] == '%' || first.at[0] == ';'))
        return true;
    if (first.length > 1 && first.at[0] == '/' && first.at[1] == '/')
        return true;
    for (size_t i = 0; i < record->n; i++)
        for (size_t k = 0; k < record->cells[i].length; k++)
            if (record->cells[i].at[k] != ' ')
                return false;
    return true;
}

static bool all_numbers(const log_record *record)
{
    size_t numbers = 0;
    for (size_t i = 0; i < record->n; i++) {
        double value;
        bool dated;
        log_slice unit;
        const bool stamp = log_stamp_read(record->cells[i], &value, &dated);
        const log_cell_kind kind = log_cell_read(record->cells[i], '.', &value, &unit);
        const bool comma =
            kind == LOG_CELL_TEXT && log_cell_read(record->cells[i], ',', &value, &unit) == LOG_CELL_NUMBER;
        if (!stamp && kind == LOG_CELL_TEXT && !comma)
            return false;
        numbers += stamp || comma || kind == LOG_CELL_NUMBER;
    }
    return numbers > 0;
}

/* A row of the probe and where it stands. */
typedef struct place {
    size_t offset;
    uint64_t line;
} place;

static bool next_row(ch_drivelog *r, char separator, place *at)
{
    if (at->offset >= r->probe_n)
        return false;
    return log_record_split(r->probe + at->offset, r->probe_n - at->offset, r->ending, separator, r->newline,
                            &r->record);
}

static void step(const ch_drivelog *r, place *at)
{
    at->offset += r->record.bytes;
    at->line += r->record.lines;
}

/* The comment marks ahead of a header ("# time,rpm,speed") are not part of its first name. */
static void strip_mark(log_record *record)
{
    log_slice *const first = &record->cells[0];
    while (first->length > 0 && (first->at[0] == '#' || first->at[0] == '%' || first->at[0] == ' ')) {
        first->at++;
        first->length--;
    }
}

/* The header row that names most, over all separators. */
static bool find_header(ch_drivelog *r, place *header)
{
    static const char separators[] = {',', ';', '\t', '|'};
    size_t best = 0;
    for (size_t s = 0; s < sizeof separators; s++) {
        place at = {0, 1};
        for (int row = 0; row < HEADER_ROWS && next_row(r, separators[s], &at); row++) {
            const place here = at;
            step(r, &at);
            if (r->record.n < 2 || all_numbers(&r->record))
                continue;
            strip_mark(&r->record);
            log_map map;
            log_map_make(r, &r->record, NULL, &map);
            /* a header named by hand may have no word that we know */
            const size_t score = map.needed_found * 100 + map.any_found * 10 + (map.any_found > 0 ? 1 : 0);
            if (score > best) {
                best = score;
                *header = here;
                r->report.separator = separators[s];
            }
            if (map.needed_found == 3)
                break; /* a later row may be the header of another log behind this one */
        }
    }
    return best > 0;
}

/* Where no header names anything: the separator whose rows agree best, and the first of those rows. */
static bool find_table(ch_drivelog *r, place *first)
{
    static const char separators[] = {'\t', ';', ',', '|'};
    size_t best = 0;
    for (size_t s = 0; s < sizeof separators; s++) {
        size_t same = 0, cells = 0;
        place at = {0, 1}, begin = {0, 1};
        for (int row = 0; row < HEADER_ROWS && next_row(r, separators[s], &at); row++) {
            if (r->record.n != cells) {
                same = 0;
                cells = r->record.n;
                begin = at;
            }
            same++;
            if (cells >= 2 && same > best) {
                best = same;
                *first = begin;
                r->report.separator = separators[s];
            }
            step(r, &at);
        }
    }
    return best > 0;
}

/* "1" to "n" as names where the log has none. */
static ch_status number_names(ch_drivelog *r, log_record *record, ch_err *err)
{
    enum { DIGITS = 5 };
    r->header = malloc(record->n * DIGITS);
    if (r->header == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the log's columns");
    for (size_t i = 0; i < record->n; i++) {
        char *const name = r->header + i * DIGITS;
        record->cells[i] = (log_slice){name, (size_t)snprintf(name, DIGITS, "%u", (unsigned)(i + 1) % 10000)};
    }
    return CH_OK;
}

static char *copy_text(const char *text)
{
    const size_t size = strlen(text) + 1;
    char *const copy = malloc(size);
    if (copy != NULL)
        memcpy(copy, text, size);
    return copy;
}

static ch_status keep_names(ch_drivelog *r, ch_err *err)
{
    const log_record *const header = &r->record;
    size_t n = header->n;
    while (r->report.header_line > 0 && n > 1 && header->cells[n - 1].length == 0)
        n--;
    r->names = calloc(n, sizeof *r->names);
    r->preview = calloc(n * CH_DRIVELOG_PREVIEW_MAX, sizeof *r->preview);
    if (r->names == NULL || r->preview == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the log's columns");
    r->names_capacity = n;
    for (size_t i = 0; i < n; i++) {
        char text[256];
        log_slice_text(header->cells[i], text, sizeof text);
        r->names[i] = copy_text(text);
        if (r->names[i] == NULL)
            return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the log's columns");
    }
    r->report.columns_n = n;
    r->report.names = (const char *const *)r->names;
    return CH_OK;
}

static ch_status keep_preview(ch_drivelog *r, place at, ch_err *err)
{
    size_t rows = 0;
    for (int row = 0; row < HEADER_ROWS && rows < CH_DRIVELOG_PREVIEW_MAX && next_row(r, r->report.separator, &at);
         row++) {
        step(r, &at);
        if (is_remark(&r->record))
            continue;
        for (size_t i = 0; i < r->names_capacity; i++) {
            char text[41] = "";
            if (i < r->record.n)
                log_slice_text(r->record.cells[i], text, sizeof text);
            char **const cell = &r->preview[rows * r->names_capacity + i];
            *cell = copy_text(text);
            if (*cell == NULL)
                return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the log's first rows");
        }
        rows++;
        r->report.preview_n = rows;
        r->report.preview = (const char *const *)r->preview;
    }
    return CH_OK;
}

/* What the first rows say about one column. */
typedef struct sample {
    size_t numbers, clocks, dated, missing, steps;
    double least, most, last, step_sum;
    double stepped[SAMPLE_ROWS];
} sample;

static void look(sample *s, log_slice cell, char decimal)
{
    double value;
    bool dated;
    log_slice unit;
    if (log_stamp_read(cell, &value, &dated)) {
        s->clocks++;
        s->dated += dated;
        return;
    }
    const log_cell_kind kind = log_cell_read(cell, decimal, &value, &unit);
    s->missing += kind == LOG_CELL_MISSING;
    if (kind != LOG_CELL_NUMBER)
        return;
    if (s->numbers++ > 0 && value > s->last)
        s->stepped[s->steps++] = value - s->last;
    s->last = value;
    s->least = fmin(s->least, value);
    s->most = fmax(s->most, value);
}

static void count_decimals(const ch_drivelog *r, const log_record *record, size_t *points, size_t *commas)
{
    for (int c = 0; c < LOG_CHANNELS; c++) {
        if (!r->map.found[c] || r->map.index[c] >= record->n)
            continue;
        const log_slice cell = record->cells[r->map.index[c]];
        double value, ignored;
        bool dated;
        log_slice unit;
        if (log_stamp_read(cell, &ignored, &dated))
            continue;
        if (memchr(cell.at, '.', cell.length) != NULL && log_cell_read(cell, '.', &value, &unit) == LOG_CELL_NUMBER)
            (*points)++;
        if (memchr(cell.at, ',', cell.length) != NULL && log_cell_read(cell, ',', &value, &unit) == LOG_CELL_NUMBER)
            (*commas)++;
    }
}

static int compare(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The unit of undeclared numeric stamps, by their size and step. */
static void guess_time_unit(ch_drivelog *r, sample *s)
{
    log_unit *const unit = &r->map.unit[CH_DRIVELOG_TIME];
    const char *guess = "s";
    if (s->steps > 0)
        qsort(s->stepped, s->steps, sizeof s->stepped[0], compare);
    const double typical = s->steps > 0 ? s->stepped[s->steps / 2] : NAN;
    /* Seconds since 1970 are some 2e9; counted from the start, rows five seconds apart would be no log of a drive. */
    const bool epoch = s->least >= 1e9;
    if (s->most >= 1e17)
        guess = "ns";
    else if (s->most >= 1e14 || (!epoch && typical >= 5000))
        guess = "us";
    else if (s->most >= 1e11 || (!epoch && typical >= 5))
        guess = "ms";
    else if (s->least >= 20000 && s->most <= 80000 && typical < 1e-4)
        guess = "days"; /* the day count of spreadsheets */
    log_unit_find(CH_DRIVELOG_TIME, guess, strlen(guess), unit);
}

static void guess_units(ch_drivelog *r, sample *samples)
{
    /* A throttle that never passes 1 while the car drives is no percentage; standing, it may be one. */
    const bool driven = samples[CH_DRIVELOG_ROAD].numbers > 0 && samples[CH_DRIVELOG_ROAD].most > 20;
    for (int c = 0; c < LOG_CHANNELS; c++) {
        sample *const s = &samples[c];
        if (!r->map.found[c] || r->map.declared[c] || r->hand_assumed[c] != NULL || s->numbers == 0)
            continue;
        const char *guess = NULL;
        const bool share = (c == CH_DRIVELOG_THROTTLE && driven && s->most > 0.05 && s->most <= 1) ||
                           (c == CH_DRIVELOG_CLUTCH && s->most <= 1);
        if (c == CH_DRIVELOG_TIME)
            guess_time_unit(r, s);
        else if (c == CH_DRIVELOG_ENGINE && s->most > 0 && s->most < 20)
            guess = "krpm";
        else if (share)
            guess = "1";
        else if (c == CH_DRIVELOG_ACCELERATION && fmax(s->most, -s->least) > 2.5)
            guess = "m/s2";
        else if ((c == CH_DRIVELOG_COOLANT || c == CH_DRIVELOG_OIL) && s->least > 250)
            guess = "K";
        else if ((c == CH_DRIVELOG_COOLANT || c == CH_DRIVELOG_OIL) && s->most > 165)
            guess = "F";
        if (guess != NULL)
            log_unit_find((ch_drivelog_channel)c, guess, strlen(guess), &r->map.unit[c]);
    }
}

/* Engine speed that reads like road speed, and the other way round. */
static ch_status check_swapped(ch_drivelog *r, const sample *samples, ch_err *err)
{
    log_map *const map = &r->map;
    const double engine = samples[CH_DRIVELOG_ENGINE].most, road = samples[CH_DRIVELOG_ROAD].most;
    if (samples[CH_DRIVELOG_ENGINE].numbers == 0 || samples[CH_DRIVELOG_ROAD].numbers == 0)
        return CH_OK;
    const double rad_s = engine * map->unit[CH_DRIVELOG_ENGINE].factor, m_s = road * map->unit[CH_DRIVELOG_ROAD].factor;
    if (!(rad_s < 40 && m_s > 120)) /* below 380 rpm no engine runs, and above 430 km/h no car */
        return CH_OK;
    if (map->how[CH_DRIVELOG_ENGINE] == CH_DRIVELOG_BY_HAND || map->how[CH_DRIVELOG_ROAD] == CH_DRIVELOG_BY_HAND)
        return log_fail_at(r, err, CH_E_INPUT, r->report.header_line, map->index[CH_DRIVELOG_ENGINE],
                           "rpm=COLUMN and speed=COLUMN the other way round",
                           "the column chosen for engine speed peaks at %.0f and that for road speed at %.0f", engine,
                           road);
    const size_t index = map->index[CH_DRIVELOG_ENGINE];
    map->index[CH_DRIVELOG_ENGINE] = map->index[CH_DRIVELOG_ROAD];
    map->index[CH_DRIVELOG_ROAD] = index;
    map->how[CH_DRIVELOG_ENGINE] = map->how[CH_DRIVELOG_ROAD] = CH_DRIVELOG_SWAPPED;
    return CH_OK;
}

/* The row in r->record begins another log, whose columns may be others. */
static bool begins_another(const ch_drivelog *r)
{
    log_map map;
    return log_map_text_row(&r->record, r->report.decimal) && log_map_names_all(r, &r->record, &map);
}

/* The first rows behind `at`, up to a further header, column by column. Rows whose cells are too many or too few are counted. */
static ch_status look_at_rows(ch_drivelog *r, place at, ch_err *err)
{
    sample *const samples = calloc(LOG_CHANNELS, sizeof *samples);
    if (samples == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the log's first rows");
    size_t points = 0, commas = 0, right = 0, wrong = 0, cells = 0;
    uint64_t wrong_line = 0;
    place again = at;
    for (int row = 0; row < SAMPLE_ROWS && next_row(r, r->report.separator, &again) && !begins_another(r); row++) {
        r->report.quoted = r->report.quoted || r->record.quoted;
        count_decimals(r, &r->record, &points, &commas);
        const uint64_t line = again.line;
        step(r, &again);
        if (is_remark(&r->record) || (again.offset >= r->probe_n && r->ending))
            continue;
        size_t n = r->record.n;
        while (n > r->map.columns && r->record.cells[n - 1].length == 0)
            n--;
        right += n == r->map.columns;
        wrong += n != r->map.columns;
        if (wrong == 1 && n != r->map.columns) {
            wrong_line = line;
            cells = n;
        }
    }
    r->report.decimal = commas > points ? ',' : '.';
    ch_status rc = CH_OK;
    if (wrong > right && wrong > 1)
        rc = log_fail_at(r, err, CH_E_INPUT, wrong_line, CH_DRIVELOG_COLUMNS_MAX,
                         r->report.separator == ',' && cells > r->map.columns
                             ? "as many cells as names; decimal commas need quotes or another separator"
                             : "as many cells as names",
                         "the row has %zu cells, the header %zu names", cells, r->map.columns);
    for (int row = 0; row < SAMPLE_ROWS && rc >= 0 && next_row(r, r->report.separator, &at) && !begins_another(r);
         row++) {
        step(r, &at);
        for (int c = 0; c < LOG_CHANNELS && !is_remark(&r->record); c++) {
            if (r->map.found[c] && r->map.index[c] < r->record.n) {
                if (samples[c].numbers == 0)
                    samples[c].least = INFINITY, samples[c].most = -INFINITY;
                look(&samples[c], r->record.cells[r->map.index[c]], r->report.decimal);
            }
        }
    }
    if (rc >= 0) {
        const sample *const time = &samples[CH_DRIVELOG_TIME];
        r->stamp_form = time->clocks > time->numbers ? LOG_STAMP_CLOCK : LOG_STAMP_NUMBER;
        r->stamp_dated = time->dated > 0;
        if (r->stamp_form == LOG_STAMP_CLOCK) {
            r->map.unit[CH_DRIVELOG_TIME] = (log_unit){r->stamp_dated ? "date and time" : "hh:mm:ss", 1, 0};
            r->map.declared[CH_DRIVELOG_TIME] = true;
        }
        guess_units(r, samples);
        for (int c = CH_DRIVELOG_TIME + 1; c < LOG_CHANNELS; c++) /* more than one cell in five */
            r->sparse[c] = samples[c].numbers >= 2 && samples[c].missing * 4 > samples[c].numbers;
        rc = check_swapped(r, samples, err);
    }
    free(samples);
    return rc;
}

static ch_status check_found(ch_drivelog *r, ch_err *err)
{
    static const char *const plain[] = {"time", "engine speed", "road speed"};
    char names[160];
    size_t used = 0;
    names[0] = '\0';
    for (size_t i = 0; i < r->report.columns_n && used + 40 < sizeof names; i++) {
        char name[32];
        log_slice_text((log_slice){r->names[i], strlen(r->names[i])}, name, sizeof name);
        const size_t n = strlen(name);
        memcpy(names + used, i > 0 ? ", " : "", i > 0 ? 2 : 0);
        used += i > 0 ? 2 : 0;
        memcpy(names + used, name, n + 1);
        used += n;
    }
    for (int c = 0; c < LOG_CHANNELS; c++) {
        const char *const channel = ch_drivelog_channel_name((ch_drivelog_channel)c);
        char right[200];
        if (r->map.found[c] && r->map.contradicted[c])
            return log_fail_at(r, err, CH_E_INPUT, r->report.units_line, CH_DRIVELOG_COLUMNS_MAX, "one unit in both",
                               "the header \"%.60s\" names another unit than the units row (%s)",
                               r->names[r->map.index[c]], r->map.unit[c].name);
        if (r->map.found[c] || (r->hand[c] == NULL && c > CH_DRIVELOG_ROAD))
            continue;
        if (r->hand[c] != NULL)
            snprintf(right, sizeof right, "one of %s", names);
        else
            snprintf(right, sizeof right, "%s=COLUMN, one of %s", channel, names);
        if (r->hand[c] != NULL)
            return log_fail_at(r, err, CH_E_INPUT, r->report.header_line, CH_DRIVELOG_COLUMNS_MAX, right,
                               "no column \"%.60s\" for %s", r->hand[c], channel);
        if (r->report.header_line == 0)
            return log_fail_at(r, err, CH_E_INPUT, 1, CH_DRIVELOG_COLUMNS_MAX,
                               "a first row such as time,rpm,speed, or columns by number: time=1 rpm=2 speed=3",
                               "the log has no header that names its columns");
        return log_fail_at(r, err, CH_E_INPUT, r->report.header_line, CH_DRIVELOG_COLUMNS_MAX, right,
                           "no column is known as %s", plain[c]);
    }
    return CH_OK;
}

void log_probe_report(ch_drivelog *r)
{
    r->active_n = 0;
    for (int c = 0; c < LOG_CHANNELS; c++) {
        ch_drivelog_column *const column = &r->report.columns[c];
        column->how = r->map.found[c] ? r->map.how[c] : CH_DRIVELOG_NONE;
        if (!r->map.found[c])
            continue;
        r->active[r->active_n++] = (uint32_t)c;
        column->index = r->map.index[c];
        column->unit_assumed = !r->map.declared[c];
        column->rivals = r->map.rivals[c];
        if (column->index < r->report.columns_n)
            log_slice_text((log_slice){r->names[column->index], strlen(r->names[column->index])}, column->name,
                           sizeof column->name);
        log_slice_text((log_slice){r->map.unit[c].name, strlen(r->map.unit[c].name)}, column->unit,
                       sizeof column->unit);
    }
}

/* Control characters that no text has; NUL bytes stand in logs whose disk lost power. */
static bool is_binary(const ch_drivelog *r)
{
    size_t odd = 0;
    for (size_t i = 0; i < r->probe_n; i++) {
        const unsigned char c = (unsigned char)r->probe[i];
        odd += c < ' ' && c != 0 && c != '\t' && c != '\n' && c != '\r';
    }
    return odd * 50 > r->probe_n || (r->probe_n > 0 && r->probe[0] == '\0');
}

/* Bytes that are no UTF-8 make the whole Latin-1; a character cut by the end of the probe does not count. */
static void note_encoding(ch_drivelog *r)
{
    for (size_t i = 0; i < r->probe_n;) {
        const size_t n = (unsigned char)r->probe[i] < 0x80 ? 1 : ch_utf8_length(r->probe + i, r->probe_n - i);
        if (n == 0 && r->probe_n - i >= 4 && r->report.encoding == CH_DRIVELOG_UTF8)
            r->report.encoding = CH_DRIVELOG_LATIN1;
        i += n > 0 ? n : 1;
    }
}

ch_status log_probe(ch_drivelog *r, size_t *from, ch_err *err)
{
    r->newline = memchr(r->probe, '\n', r->probe_n) == NULL && memchr(r->probe, '\r', r->probe_n) != NULL ? '\r' : '\n';
    place at = {0, 1};
    size_t blank = 0;
    while (blank < r->probe_n && strchr(" \t\r\n", r->probe[blank]) != NULL && r->probe[blank] != '\0')
        blank++;
    if (blank == r->probe_n)
        return log_fail_at(r, err, CH_E_INPUT, 1, CH_DRIVELOG_COLUMNS_MAX,
                           "a header row such as time,rpm,speed and rows of numbers", "the log is empty");
    if (is_binary(r))
        return log_fail_at(r, err, CH_E_INPUT, 1, CH_DRIVELOG_COLUMNS_MAX,
                           "text with a header row such as time,rpm,speed", "these bytes are no text");
    note_encoding(r);
    bool headed = find_header(r, &at);
    if (!headed && !find_table(r, &at))
        return log_fail_at(r, err, CH_E_INPUT, 1, CH_DRIVELOG_COLUMNS_MAX,
                           "a header row such as time,rpm,speed and rows of numbers with , ; tab or | between them",
                           "this is no table");
    next_row(r, r->report.separator, &at);
    if (r->record.too_many)
        return log_fail_at(r, err, CH_E_LIMIT, at.line, CH_DRIVELOG_COLUMNS_MAX, "at most 1024", "too many columns");
    log_record header = r->record;
    ch_status rc = CH_OK;
    headed = headed || !all_numbers(&header);
    if (headed) {
        r->report.header_line = at.line;
        if (at.line > 1)
            log_count(&r->report.comments, at.line - 1, 1);
        strip_mark(&header);
        step(r, &at);
    } else {
        if (at.line > 1)
            log_count(&r->report.comments, at.line - 1, 1);
        rc = number_names(r, &header, err);
    }
    r->record = header;
    if (rc >= 0)
        rc = keep_names(r, err);
    if (rc < 0)
        return rc;
    bool units = false;
    place behind = at;
    while (headed && next_row(r, r->report.separator, &behind)) {
        const uint64_t line = behind.line;
        step(r, &behind);
        if (is_remark(&r->record))
            continue;
        units = log_map_units_row(&r->record, '.') && log_map_units_row(&r->record, ',');
        if (units) {
            log_count(&r->report.comments, line - at.line, at.line);
            r->report.units_line = line;
        }
        break;
    }
    log_map_make(r, &header, units ? &r->record : NULL, &r->map);
    if (units)
        at = behind;
    r->line = at.line;
    *from = at.offset;
    log_probe_report(r);
    rc = keep_preview(r, at, err);
    if (rc >= 0)
        rc = check_found(r, err);
    if (rc >= 0)
        rc = look_at_rows(r, at, err);
    if (rc >= 0)
        log_probe_report(r);
    return rc;
}
