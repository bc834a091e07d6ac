/* A whole log read into memory, for tests: in pieces of a given size. */
#ifndef CROSSHATCH_TESTS_DRIVELOG_READ_H
#define CROSSHATCH_TESTS_DRIVELOG_READ_H

#include "crosshatch/drivelog.h"

typedef struct read_log {
    ch_status status;
    ch_err err;
    size_t n, capacity;
    double *value[CH_DRIVELOG_CHANNELS_]; /* SI, row by row */
    uint64_t *line;
    uint32_t *segment;
    ch_drivelog_report report; /* its texts are gone */
    char names[4][64];         /* the first headers */
    char preview[64];          /* the first cell of the first row */
    char told[8192];
    size_t batches, longest;
} read_log;

/* `piece` 0: all at once. To be cleared. */
void read_log_text(read_log *log, const void *text, size_t length, size_t piece, const ch_drivelog_options *options);
void read_log_clear(read_log *log);

/* `n` bytes (at most 4096) whose last is the last of a page: to read on is a fault. Until the next call. */
const char *last_of_a_page(const char *bytes, size_t n);

/* A file of the source tree; NUL behind it. To be freed. */
char *read_log_file(const char *path, size_t *length);

#endif
