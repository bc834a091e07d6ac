/* See drivelog_read.h. */
#include "drivelog_read.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

#include "expect.h"

static ch_status take(const ch_drivelog_rows *rows, void *context, ch_err *err)
{
    read_log *const log = context;
    const double *const values[CH_DRIVELOG_CHANNELS_] = {
        rows->time_s,          rows->engine_speed_rad_s, rows->road_speed_m_s,
        rows->throttle_1,      rows->acceleration_m_s2,  rows->coolant_k,
        rows->oil_k,           rows->clutch_1,           rows->gps_speed_m_s,
        rows->driven_speed_m_s};
    (void)err;
    assert_in_range(rows->n, 1, CH_DRIVELOG_BATCH);
    assert_int_equal(rows->first, log->n);
    if (log->n + rows->n > log->capacity) {
        log->capacity = 2 * (log->n + rows->n);
        for (int c = 0; c < CH_DRIVELOG_CHANNELS_; c++)
            log->value[c] = realloc(log->value[c], log->capacity * sizeof(double));
        log->line = realloc(log->line, log->capacity * sizeof(uint64_t));
        log->segment = realloc(log->segment, log->capacity * sizeof(uint32_t));
        assert_non_null(log->line);
    }
    for (size_t i = 0; i < rows->n; i++, log->n++) {
        for (int c = 0; c < CH_DRIVELOG_CHANNELS_; c++)
            log->value[c][log->n] = values[c][i];
        log->line[log->n] = rows->line[i];
        log->segment[log->n] = rows->segment;
    }
    log->batches++;
    log->longest = rows->n > log->longest ? rows->n : log->longest;
    return CH_OK;
}

/* Room for pieces whose last byte is the last of a page, with a page behind it that nobody may read. */
typedef struct guarded {
    char *pages;
    size_t room, page;
} guarded;

static guarded guard(size_t most)
{
    const size_t page = (size_t)sysconf(_SC_PAGESIZE), room = (most + page - 1) / page * page;
    const int zero = open("/dev/zero", O_RDWR);
    assert_true(zero >= 0);
    char *const pages = mmap(NULL, room + page, PROT_READ | PROT_WRITE, MAP_PRIVATE, zero, 0);
    assert_true(pages != MAP_FAILED);
    close(zero);
    assert_int_equal(mprotect(pages + room, page, PROT_NONE), 0);
    return (guarded){pages, room, page};
}

const char *last_of_a_page(const char *bytes, size_t n)
{
    static guarded room;
    if (room.pages == NULL)
        room = guard(4096);
    assert_true(n <= 4096);
    return memcpy(room.pages + room.room - n, bytes, n);
}

/*
 * A piece is lent for the call alone. Every other one is a block of exactly its size, on both sides of which the sanitizers look; the rest end where reading on
 * is a fault in any build, and are overwritten afterwards.
 */
static ch_status feed(ch_drivelog *reader, const char *bytes, size_t n, bool block, const guarded *room, ch_err *err)
{
    char *const copy = block ? malloc(n) : room->pages + room->room - n;
    assert_non_null(copy);
    memcpy(copy, bytes, n);
    const ch_status status = ch_drivelog_feed(reader, copy, n, err);
    if (block)
        free(copy);
    else
        memset(copy, 0xa5, n);
    return status;
}

void read_log_text(read_log *log, const void *text, size_t length, size_t piece, const ch_drivelog_options *options)
{
    ch_drivelog *reader = NULL;
    *log = (read_log){0};
    log->status = ch_drivelog_open(options, take, log, &reader, &log->err);
    if (log->status < 0)
        return;
    const guarded room = guard(piece == 0 || length < piece ? length : piece);
    for (size_t at = 0, k = 0; at < length && log->status >= 0; k++) {
        const size_t n = piece == 0 || length - at < piece ? length - at : piece;
        log->status =
            feed(reader, (const char *)text + at, n, k % 2 == 1 || (piece > 0 && n == length), &room, &log->err);
        at += n;
    }
    munmap(room.pages, room.room + room.page);
    if (log->status >= 0)
        log->status = ch_drivelog_finish(reader, &log->err);
    log->report = *ch_drivelog_report_of(reader);
    for (size_t i = 0; i < 4 && i < log->report.columns_n; i++)
        snprintf(log->names[i], sizeof log->names[i], "%s", log->report.names[i]);
    if (log->report.preview_n > 0)
        snprintf(log->preview, sizeof log->preview, "%s", log->report.preview[0]);
    ch_text told;
    ch_text_init(&told, sizeof log->told - 1);
    ch_drivelog_tell(&log->report, &told);
    snprintf(log->told, sizeof log->told, "%s", ch_text_string(&told));
    ch_text_clear(&told);
    ch_drivelog_close(reader);
}

void read_log_clear(read_log *log)
{
    for (int c = 0; c < CH_DRIVELOG_CHANNELS_; c++)
        free(log->value[c]);
    free(log->line);
    free(log->segment);
    *log = (read_log){0};
}

char *read_log_file(const char *path, size_t *length)
{
    char full[1024];
    snprintf(full, sizeof full, "%s/%s", getenv("CROSSHATCH_SOURCE"), path);
    FILE *const file = fopen(full, "rb");
    if (file == NULL) {
        print_error("%s cannot be opened\n", full);
        fail();
        return NULL;
    }
    assert_int_equal(fseek(file, 0, SEEK_END), 0);
    *length = (size_t)ftell(file);
    rewind(file);
    char *const bytes = malloc(*length + 1);
    assert_non_null(bytes);
    assert_int_equal(fread(bytes, 1, *length, file), *length);
    bytes[*length] = '\0';
    fclose(file);
    return bytes;
}
