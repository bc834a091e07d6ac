/**
 * @file drivelog.h
 * Logged runs of a car as loggers really write them, turned into SI channels row by row.
 *
 * A push parser: the caller opens, feeds bytes in pieces of any size (best: one piece, the mapped file), and gets rows back through a
 * callback in batches. How the bytes are cut into pieces changes nothing in what comes back. Memory is bounded whatever the length. No file,
 * clock or locale is touched. docs/driveline-log.md says what is read, what is repaired and what is refused.
 */
#ifndef CROSSHATCH_DRIVELOG_H
#define CROSSHATCH_DRIVELOG_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "crosshatch/status.h"
#include "crosshatch/text.h"

/** What a column may hold. The first three are needed. */
typedef enum ch_drivelog_channel {
    CH_DRIVELOG_TIME,     /**< s */
    CH_DRIVELOG_ENGINE,   /**< engine speed, rad/s */
    CH_DRIVELOG_ROAD,     /**< road speed, m/s; the GPS speed where there is no other (how = CH_DRIVELOG_STAND_IN) */
    CH_DRIVELOG_THROTTLE, /**< throttle or pedal, 0 to 1 as logged (an idling engine may well read 0.17) */
    CH_DRIVELOG_ACCELERATION, /**< longitudinal acceleration, m/s2 */
    CH_DRIVELOG_COOLANT,      /**< K */
    CH_DRIVELOG_OIL,          /**< engine oil, K */
    CH_DRIVELOG_CLUTCH,       /**< clutch pedal: 0 released to 1 pressed */
    CH_DRIVELOG_GPS,          /**< speed by satellite, m/s */
    CH_DRIVELOG_DRIVEN,       /**< speed of the driven wheels, m/s */
    CH_DRIVELOG_CHANNELS_
} ch_drivelog_channel;

/** The word for a channel on the command line and in JSON: "time", "rpm", "speed", "throttle", "acceleration", "coolant", "oil", "clutch", "gps", "driven". */
const char *ch_drivelog_channel_name(ch_drivelog_channel channel);

/** The channel of such a word, or CH_DRIVELOG_CHANNELS_ where there is none. */
ch_drivelog_channel ch_drivelog_channel_find(const char *name, size_t length);

enum {
    CH_DRIVELOG_BATCH = 1024,        /**< most rows a callback gets at once */
    CH_DRIVELOG_COLUMNS_MAX = 1024,  /**< columns of a log */
    CH_DRIVELOG_ROW_MAX = 64 * 1024, /**< bytes of one row */
    CH_DRIVELOG_PREVIEW_MAX = 8,     /**< rows of the preview */
    CH_DRIVELOG_SEGMENTS_MAX = 64    /**< segments kept in the report; further ones are only counted */
};

/** What the caller knows better than the header. All zero: find everything. */
typedef struct ch_drivelog_options {
    /** A column's name (spaces around it and letter case are free) or its number from 1; NULL: find it by words and unit. */
    const char *column[CH_DRIVELOG_CHANNELS_];
    /** The unit of a channel's column whatever the header says ("mph"); NULL: as the log says. */
    const char *unit[CH_DRIVELOG_CHANNELS_];
    /** The unit to assume where the log names none; NULL: seconds or what the stamps look like, rpm, km/h, %, g or m/s2 by size, C. */
    const char *assumed_unit[CH_DRIVELOG_CHANNELS_];
} ch_drivelog_options;

/**
 * Rows in SI, as arrays of `n`. NaN: the cell is empty, not a number, out of physical range, or the log has no such column. Only a column that has
 * a value every few rows from the start (a channel slower than the rows) is filled in between, over at most two seconds. All pointers are
 * set; they live until the callback returns. A batch never spans two segments.
 *
 * time_s begins at 0 with the first row of the log and strictly increases over the whole log: rows that go back are left out, rows that share a
 * stamp are spread evenly up to the next stamp. Rows without a readable stamp are left out.
 */
typedef struct ch_drivelog_rows {
    size_t n;       /**< 1 to CH_DRIVELOG_BATCH */
    uint64_t first; /**< number of the first of these rows, from 0, of those handed out */
    uint32_t
        segment; /**< from 0; a new one begins where the clock restarts, jumps by more than a day, or a new header stands */
    const double *time_s;
    const double *engine_speed_rad_s;
    const double *road_speed_m_s;
    const double *throttle_1;
    const double *acceleration_m_s2;
    const double *coolant_k;
    const double *oil_k;
    const double *clutch_1;
    const double *gps_speed_m_s;
    const double *driven_speed_m_s;
    const uint64_t *line; /**< line of the log on which each row begins, from 1 */
} ch_drivelog_rows;

/**
 * Takes a batch. A negative status stops the reading; ch_drivelog_feed or ch_drivelog_finish then returns it.
 *
 * @param rows    Live until it returns.
 * @param context As given to ch_drivelog_open().
 */
typedef ch_status ch_drivelog_take(const ch_drivelog_rows *rows, void *context, ch_err *err);

/** How often something was met, and the line where first; line 0 where never. */
typedef struct ch_drivelog_count {
    uint64_t n;
    uint64_t line;
} ch_drivelog_count;

/** How a column was chosen. */
typedef enum ch_drivelog_how {
    CH_DRIVELOG_NONE,     /**< the log has no such column */
    CH_DRIVELOG_BY_WORDS, /**< by the words and the unit of its header */
    CH_DRIVELOG_BY_HAND,  /**< options.column */
    CH_DRIVELOG_SWAPPED,  /**< engine and road speed had each other's numbers: repaired, to be said */
    CH_DRIVELOG_STAND_IN  /**< the GPS speed for a missing road speed */
} ch_drivelog_how;

/** One channel of the log. */
typedef struct ch_drivelog_column {
    ch_drivelog_how how;
    size_t index;      /**< of the column, from 0 */
    char name[96];     /**< its header as written, UTF-8, cut */
    char unit[24];     /**< what the numbers were taken to be in: "km/h", "rpm", "ms", "hh:mm:ss", "date and time" */
    bool unit_assumed; /**< the log did not name the unit */
    size_t rivals;     /**< other columns that would have done as well by their words */
    uint64_t values;   /**< rows with a value */
    ch_drivelog_count missing;     /**< empty cells and words for nothing: nan, null, n/a, inf, - */
    ch_drivelog_count not_numbers; /**< cells with other text */
    ch_drivelog_count glitches;    /**< out of physical range, or a spike of one row; taken out (NaN) */
    ch_drivelog_count other_units; /**< cells that carry a unit of their own, converted */
    uint64_t filled;               /**< empty cells of a column slower than the rows, on the line between its values */
    uint64_t changes;              /**< rows whose value differs from the last one, while engine and car turn */
    uint64_t stale;                /**< rows that repeat the last value, while engine and car turn */
    double
        fresh_interval_s; /**< moving seconds by changes: how often the channel brings news; NaN where it never moved */
    double least_si, most_si; /**< NaN where there is no value */
} ch_drivelog_column;

/** How the bytes are written. */
typedef enum ch_drivelog_encoding {
    CH_DRIVELOG_UTF8, /**< also plain ASCII */
    CH_DRIVELOG_LATIN1,
    CH_DRIVELOG_UTF16LE,
    CH_DRIVELOG_UTF16BE
} ch_drivelog_encoding;

/** Why a segment began. */
typedef enum ch_drivelog_break {
    CH_DRIVELOG_START,   /**< of the log */
    CH_DRIVELOG_RESTART, /**< the clock went back and stayed there */
    CH_DRIVELOG_JUMP,    /**< the clock jumped ahead by more than a day */
    CH_DRIVELOG_HEADER   /**< a second header: logs joined end to end */
} ch_drivelog_break;

/** A stretch of rows under one clock. */
typedef struct ch_drivelog_segment {
    ch_drivelog_break why;
    uint64_t line;  /**< of its first row */
    uint64_t row;   /**< its first row, from 0 */
    double time_s;  /**< of its first row, in the log's time as handed out */
    double stamp_s; /**< of its first row, as the log writes it, in seconds */
} ch_drivelog_segment;

/** What was found. Filled as far as the reading has come, also when it failed. Texts live until ch_drivelog_close. */
typedef struct ch_drivelog_report {
    char separator; /**< ',' ';' TAB '|'; 0 as long as it is not known */
    char decimal;   /**< '.' or ',' */
    bool quoted;    /**< some cell is in quotes */
    bool mark;      /**< begins with a byte order mark */
    ch_drivelog_encoding encoding;
    uint64_t header_line; /**< 0: none, columns by number */
    uint64_t units_line;  /**< 0: no units row */
    size_t columns_n;
    const char *const *names; /**< columns_n headers, UTF-8 */
    size_t preview_n;
    const char *const *preview; /**< preview_n rows of columns_n cells, as written, UTF-8, cut to 40 bytes */
    ch_drivelog_column columns[CH_DRIVELOG_CHANNELS_];

    uint64_t rows;                    /**< handed out */
    double seconds;                   /**< logged time without the gaps, s */
    double median_interval_s;         /**< between rows; NaN below two rows */
    double longest_gap_s;             /**< 0 where there is none */
    ch_drivelog_count gaps;           /**< steps of more than three median intervals */
    ch_drivelog_count backward;       /**< rows whose stamp goes back a little: left out */
    ch_drivelog_count strays;         /**< single rows whose stamp fits neither neighbour: left out */
    ch_drivelog_count no_stamp;       /**< rows without a readable stamp: left out */
    ch_drivelog_count repeated;       /**< rows with the stamp of the row before: spread */
    ch_drivelog_count wraps;          /**< midnights and counter overflows: unwrapped */
    ch_drivelog_count ragged;         /**< rows with too few or too many cells: left out */
    ch_drivelog_count comments;       /**< comment, free text and empty lines between rows */
    ch_drivelog_count headers_again;  /**< further headers */
    ch_drivelog_count truncated;      /**< the last row ends in the middle: left out, or its last cell */
    ch_drivelog_count bad_characters; /**< broken UTF-16 pairs and NUL bytes */
    double road_over_gps;             /**< least-squares ratio where both are there and the car moves; NaN otherwise */
    double
        rate_over_acceleration; /**< least-squares ratio of the change of road speed to the acceleration; NaN where there is none */
    uint64_t segments_n;
    ch_drivelog_segment segments[CH_DRIVELOG_SEGMENTS_MAX];
} ch_drivelog_report;

typedef struct ch_drivelog ch_drivelog;

/**
 * Begin a log.
 *
 * @param options May be NULL; copied.
 * @param take    Called from feed and finish with each batch. NULL: only the report is wanted.
 * @param context Handed to `take` as it is; may be NULL.
 * @param log     (out) To be closed by the caller. Untouched on failure.
 *
 * @retval CH_E_INPUT An option names no unit of the channel.
 * @retval CH_E_MEMORY
 */
ch_status ch_drivelog_open(const ch_drivelog_options *options, ch_drivelog_take *take, void *context, ch_drivelog **log,
                           ch_err *err);

/**
 * Read on. The first 256 KiB are kept to find the dialect and the columns before the first batch comes out.
 *
 * @param log   From ch_drivelog_open().
 * @param bytes `n` bytes, borrowed for the call. Pieces of any size; large ones (1 MiB and more) are fastest.
 * @param n     Bytes; 0 is fine and does nothing.
 *
 * @retval CH_E_INPUT  No such columns, not a log, swapped columns that were chosen by hand, ... with line and column.
 * @retval CH_E_LIMIT  More than CH_DRIVELOG_COLUMNS_MAX columns or CH_DRIVELOG_ROW_MAX bytes in a row.
 * @retval CH_E_MEMORY
 * A failure sticks: further calls return it again.
 */
ch_status ch_drivelog_feed(ch_drivelog *log, const void *bytes, size_t n, ch_err *err);

/**
 * The log is complete: hand out what is left and judge the whole. Otherwise as ch_drivelog_feed.
 *
 * @param log From ch_drivelog_open(); still to be closed.
 */
ch_status ch_drivelog_finish(ch_drivelog *log, ch_err *err);

/** What was found so far; also after a failure, so that a person can choose columns from names and preview. Lives until ch_drivelog_close. */
const ch_drivelog_report *ch_drivelog_report_of(const ch_drivelog *log);

/** Give everything back. NULL is fine. */
void ch_drivelog_close(ch_drivelog *log);

/** What was assumed, repaired or left out, one sentence a line, with the first line of each; nothing where nothing was. Appends to `text`. */
void ch_drivelog_tell(const ch_drivelog_report *report, ch_text *text);

#endif
