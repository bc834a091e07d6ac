/*
 * Any bytes as a driveline log: the first byte chooses the size of the pieces, the rest is the log. In pieces and as a whole it must come to the same: the same
 * refusal, or the same rows; and rows must be as promised: time finite and rising, values in physical range or unknown, as many as reported.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/drivelog.h"
#include "fuzz.h"

typedef struct seen {
    uint64_t rows, digest;
    uint32_t segment;
    double last_s;
} seen;

static void must(bool held)
{
    if (!held)
        abort();
}

/* FNV-1a. */
static void digest(seen *s, const void *bytes, size_t n)
{
    for (size_t i = 0; i < n; i++)
        s->digest = (s->digest ^ ((const unsigned char *)bytes)[i]) * 1099511628211u;
}

static void must_be_in(const double *value, size_t n, double least, double most)
{
    for (size_t i = 0; i < n; i++)
        must(isnan(value[i]) || (value[i] >= least && value[i] <= most));
}

static ch_status take(const ch_drivelog_rows *rows, void *context, ch_err *err)
{
    seen *const s = context;
    (void)err;
    must(rows->n >= 1 && rows->n <= CH_DRIVELOG_BATCH && rows->first == s->rows && rows->segment >= s->segment);
    for (size_t i = 0; i < rows->n; i++) {
        must(isfinite(rows->time_s[i]) && rows->time_s[i] > s->last_s);
        s->last_s = rows->time_s[i];
    }
    must_be_in(rows->engine_speed_rad_s, rows->n, 0, 2618);
    must_be_in(rows->road_speed_m_s, rows->n, 0, 150);
    must_be_in(rows->coolant_k, rows->n, 200, 500);
    digest(s, rows->time_s, rows->n * sizeof(double));
    digest(s, rows->line, rows->n * sizeof(uint64_t));
    for (size_t i = 0; i < rows->n; i++)
        if (!isnan(rows->engine_speed_rad_s[i] + rows->road_speed_m_s[i])) {
            digest(s, &rows->engine_speed_rad_s[i], sizeof(double));
            digest(s, &rows->road_speed_m_s[i], sizeof(double));
        }
    s->rows += rows->n;
    s->segment = rows->segment;
    return CH_OK;
}

static ch_status read_all(const uint8_t *data, size_t size, size_t piece, seen *s, ch_err *err)
{
    ch_drivelog *log = NULL;
    *s = (seen){.last_s = -INFINITY};
    ch_status rc = ch_drivelog_open(NULL, take, s, &log, err);
    if (rc < 0)
        return rc;
    for (size_t at = 0; at < size && rc >= 0; at += piece) {
        const size_t n = size - at < piece ? size - at : piece;
        /* A copy of exactly this size lets the address sanitizer see a read beyond the piece. */
        char *const copy = malloc(n);
        if (copy == NULL)
            abort();
        memcpy(copy, data + at, n);
        rc = ch_drivelog_feed(log, copy, n, err);
        free(copy);
    }
    if (rc >= 0)
        rc = ch_drivelog_finish(log, err);
    const ch_drivelog_report *const report = ch_drivelog_report_of(log);
    must(report->rows == s->rows);
    must(rc < 0 || report->rows > 0);
    ch_text told;
    ch_text_init(&told, 1 << 20);
    ch_drivelog_tell(report, &told);
    must(ch_text_check(&told, NULL) == CH_OK);
    digest(s, ch_text_string(&told), told.length);
    ch_text_clear(&told);
    ch_drivelog_close(log);
    return rc;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const size_t pieces[] = {1, 2, 3, 7, 16, 61, 64, 100, 1000, 4096};
    if (size == 0)
        return 0;
    const size_t piece = pieces[data[0] % (sizeof pieces / sizeof pieces[0])];
    seen whole, cut;
    ch_err whole_err = {0}, cut_err = {0};
    const ch_status rc = read_all(data + 1, size - 1, size, &whole, &whole_err);
    must(read_all(data + 1, size - 1, piece, &cut, &cut_err) == rc);
    must(rc == whole_err.status && (rc >= 0 || whole_err.what[0] != '\0'));
    must(strcmp(whole_err.what, cut_err.what) == 0 && whole_err.line == cut_err.line);
    must(whole.rows == cut.rows && whole.digest == cut.digest);
    return 0;
}
