/*
 * The parts of the log reader. Private to driveline.
 *
 * bytes -> drivelog.c (encoding, whole rows) -> drivelog_rows.c (cells to numbers, by the map) -> drivelog_time.c (one clock)
 *       -> drivelog_clean.c (physical range, spikes, staleness) -> the caller's batch
 * drivelog_probe.c finds dialect and columns in the first bytes, with drivelog_words.c for headers; drivelog_scan.c finds separators fast;
 * drivelog_cell.c and drivelog_stamp.c read single cells.
 */
#ifndef CROSSHATCH_DRIVELINE_DRIVELOG_PARTS_H
#define CROSSHATCH_DRIVELINE_DRIVELOG_PARTS_H

#include "crosshatch/drivelog.h"

enum {
    LOG_CHANNELS = CH_DRIVELOG_CHANNELS_,
    LOG_PROBE = 256 * 1024,            /* bytes looked at before anything is decided */
    LOG_WORK = 2 * CH_DRIVELOG_BATCH,  /* rows at work: those of a batch and as many that wait for what comes next */
    LOG_SCAN = 32 * 1024,              /* bytes scanned for separators at once */
    LOG_STILL = CH_DRIVELOG_BATCH / 2, /* rows that may share a stamp */
    LOG_BINS = 2048                    /* of the histogram of intervals: 32 to an octave, 64 octaves */
};

/* A cell as it stands in the row: with its quotes, without the separators around it. */
typedef struct log_slice {
    const char *at;
    size_t length;
} log_slice;

/* Cells of one row. */
typedef struct log_record {
    log_slice cells[CH_DRIVELOG_COLUMNS_MAX];
    size_t n;
    size_t bytes;  /* of the row with its line end */
    size_t lines;  /* line ends in it, more than one where a quoted cell holds some */
    bool quoted;   /* some cell is in quotes */
    bool too_many; /* more cells than fit */
    bool open;     /* ends inside a quote */
} log_record;

/* si = number * factor + offset. `name` has static storage. */
typedef struct log_unit {
    const char *name;
    double factor, offset;
} log_unit;

typedef enum log_stamp_form {
    LOG_STAMP_NUMBER,
    LOG_STAMP_CLOCK, /* with colons, with or without a date */
} log_stamp_form;

/* The dates of a log so far. */
typedef struct log_dates {
    bool any;
    long part[3]; /* of the last one, as it stands there */
    long days;    /* what it was taken for */
    bool settled; /* the order of day and month is known */
    bool month_first;
    long shift; /* added to all that follow: the first was counted before the order was known */
} log_dates;

/* From columns to channels. */
typedef struct log_map {
    bool found[LOG_CHANNELS];
    size_t index[LOG_CHANNELS];
    ch_drivelog_how how[LOG_CHANNELS];
    log_unit unit[LOG_CHANNELS];
    bool declared[LOG_CHANNELS]; /* the log or the caller names the unit */
    size_t rivals[LOG_CHANNELS];
    bool contradicted[LOG_CHANNELS]; /* the header names one unit, the units row another */
    size_t columns;                  /* cells of a row */
    size_t needed_found;             /* of the three */
    size_t any_found;
} log_map;

/* What a header cell says. */
typedef struct log_header {
    char tokens[16][32]; /* words, folded to lower-case ASCII, without unit and brackets */
    size_t n;
    size_t with_unit; /* the words of the unit stand behind the n */
    char unit[24];    /* the text that may be a unit, or empty */
} log_header;

/* The rows at work. */
typedef struct log_work {
    size_t n;
    double value[LOG_CHANNELS][LOG_WORK];
    uint64_t line[LOG_WORK];
} log_work;

/* Intervals seen, for their median. */
typedef struct log_intervals {
    uint64_t n;
    uint32_t bin[LOG_BINS];
    double sum_s[LOG_BINS];
} log_intervals;

/* Separators and line ends of a piece of text. */
typedef struct log_index {
    size_t ends;                    /* whole rows in the piece */
    size_t quote;                   /* offset of the first quote, or the piece's length */
    uint32_t place[LOG_SCAN + 64];  /* offset of each separator and line end, ascending */
    uint32_t row_end[LOG_SCAN + 1]; /* which of `place` are line ends */
} log_index;

typedef struct log_clock {
    bool begun;
    size_t still;        /* rows in a row with the stamp of the row before */
    bool fresh;          /* no row of this segment has been handed out */
    double last_stamp_s; /* of the last row that was kept, unwrapped */
    double wrapped_s;    /* added to stamps for wraps so far */
    double origin_stamp_s, origin_time_s;
    double last_time_s;   /* handed out */
    log_intervals steps;  /* between rows */
    log_intervals stamps; /* between different stamps */
} log_clock;

struct ch_drivelog {
    ch_drivelog_take *take;
    void *context;
    char *hand[LOG_CHANNELS]; /* copies of the options */
    char *hand_unit[LOG_CHANNELS];
    char *hand_assumed[LOG_CHANNELS];

    ch_err failure; /* sticks */
    bool encoded;   /* the encoding is known */
    unsigned char head[64];
    size_t head_n;
    uint32_t half;             /* first unit of a UTF-16 pair, or 0 */
    int odd;                   /* first byte of a UTF-16 unit, or -1 */
    uint64_t wide_lf, wide_cr; /* line ends among the UTF-16 units */
    bool probed;
    char *probe; /* LOG_PROBE bytes until probed; then CH_DRIVELOG_ROW_MAX of a row that is not yet whole */
    size_t probe_n;
    char newline; /* LF, or CR where the log has no LF */
    bool ending;  /* no more bytes come */

    log_map map;
    log_stamp_form stamp_form;
    bool stamp_dated;
    log_dates dates;
    double wrap_unit_s; /* of a counter that may overflow, or 0 */
    uint64_t line;      /* of the row that comes next */
    bool after_header;  /* the next row may hold units */
    char *header;       /* copy of the last header row, for the units row behind it */
    size_t header_n;
    size_t last_cell; /* length of the last cell of the last row */

    uint32_t active[LOG_CHANNELS];     /* channels with a column */
    bool sparse[LOG_CHANNELS];         /* a value every few rows: filled in between */
    double last_value_s[LOG_CHANNELS]; /* time of `last` */
    size_t active_n;
    log_record record;
    log_record above; /* the header, while its units row is read */
    log_index index;
    log_work work;
    size_t decided; /* rows at the front of `work` that have their final time */
    log_clock clock;
    double last[LOG_CHANNELS]; /* values handed out last, NaN where none */
    double moving_s;
    double road_gps, gps_gps;
    double rate_acceleration, acceleration_acceleration;
    size_t names_capacity;
    char **names, **preview;
    ch_drivelog_report report;
};

/* drivelog.c */
void log_count(ch_drivelog_count *count, uint64_t n, uint64_t line);
ch_status log_fail_at(const ch_drivelog *r, ch_err *err, ch_status status, uint64_t line, size_t column,
                      const char *right, const char *what, ...) __attribute__((format(printf, 7, 8)));

/* drivelog_scan.c: fills `index` from `n` (at most LOG_SCAN) bytes. */
void log_scan(const char *text, size_t n, char separator, char newline, log_index *index);

/* drivelog_record.c: splits the row at the start of `text`. False where it is not whole and more may come (`last` false). */
bool log_record_split(const char *text, size_t length, bool last, char separator, char newline, log_record *record);
/* The cell's text without quotes and spaces around, as UTF-8 (bytes that are not are taken as Latin-1), cut to `size`. */
void log_slice_text(log_slice cell, char *text, size_t size);

/* drivelog_cell.c */
typedef enum log_cell_kind { LOG_CELL_NUMBER, LOG_CELL_MISSING, LOG_CELL_TEXT } log_cell_kind;
/* True where all of [at, end) is a plain number. */
bool log_number(const char *at, const char *end, char decimal, double *value);
/* Any cell. `unit` is what stands behind the number, or empty. */
log_cell_kind log_cell_read(log_slice cell, char decimal, double *value, log_slice *unit);

/* drivelog_stamp.c: "12:03:04.5", "2027-01-16T12:03:04", ... in seconds; false where it is none. */
bool log_stamp_read(log_slice cell, double *seconds, bool *dated);
/* The same for the next row of a log, whose dates have one order of day and month. */
bool log_stamp_follow(log_dates *dates, log_slice cell, double *seconds);

/* drivelog_words.c */
void log_header_read(log_slice cell, log_header *header);
/* How well the header fits the channel: 0 not at all. */
int log_header_fits(const log_header *header, ch_drivelog_channel channel);
/* drivelog_unit.c: false where it is no unit of the channel. */
bool log_unit_find(ch_drivelog_channel channel, const char *name, size_t length, log_unit *unit);
log_unit log_unit_default(ch_drivelog_channel channel);
/* True where it is a unit of anything. */
bool log_unit_known(const char *name, size_t length);

/* drivelog_map.c: the map of a header row, with its units row or NULL. */
void log_map_make(const ch_drivelog *r, const log_record *header, const log_record *units, log_map *map);
/* True where every cell is empty or text, and some cell is a unit. */
bool log_map_units_row(const log_record *record, char decimal);
/* True where no cell is a number or a stamp: another header, a units row behind it, or free text. */
bool log_map_text_row(const log_record *record, char decimal);
/* True where the row names all that is needed, as a header does; then with its map. */
bool log_map_names_all(const ch_drivelog *r, const log_record *record, log_map *map);

/* drivelog_probe.c: decides from r->probe; sets `from` to the offset of the first row of numbers. */
ch_status log_probe(ch_drivelog *r, size_t *from, ch_err *err);
/* Writes the map into the report. */
void log_probe_report(ch_drivelog *r);

/* drivelog_rows.c: takes whole rows from `text`; `used` bytes were taken. */
ch_status log_rows_take(ch_drivelog *r, const char *text, size_t n, size_t *used, ch_err *err);

/* drivelog_time.c: gives rows at work their time and hands on those that are decided. `final`: nothing follows in this segment. */
ch_status log_time_settle(ch_drivelog *r, bool final, ch_err *err);
void log_time_break(ch_drivelog *r, ch_drivelog_break why, uint64_t line, double stamp_s);
void log_intervals_add(log_intervals *intervals, double interval_s);
double log_intervals_median(const log_intervals *intervals);

/* drivelog_fill.c: fills sparse columns of the rows [0, n); the `kept` rows belong to the segment, those behind n with their stamp. Bit c of
 * `filled[i]`: channel c of row i was filled. */
void log_fill(ch_drivelog *r, size_t n, size_t kept, uint16_t filled[static LOG_WORK]);
/* How many of the first `ready` rows can be filled now: the others wait for the next value. */
size_t log_fill_ready(const ch_drivelog *r, size_t ready, size_t kept);

/* drivelog_clean.c: rows [0, n) of the work have their time; cleans, counts and hands them out. `more`: row n follows in this segment;
 * `kept` rows of the work are of this segment. */
ch_status log_clean_emit(ch_drivelog *r, size_t n, size_t kept, bool more, ch_err *err);
ch_status log_clean_judge(ch_drivelog *r, ch_err *err);

#endif
