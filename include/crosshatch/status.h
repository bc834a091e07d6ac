/**
 * @file status.h
 * What a call came to, and, if it failed, one line a person can act on.
 *
 * Every function of the library that can fail returns a ch_status. A caller who wants the reason passes a ch_err;
 * the first failure seen fills it, callers further up may add where it happened but never overwrite what.
 * Nothing here allocates.
 *
 * GSL, on which the library computes, ends the program where it refuses something, unless its error handler is off. The functions that it may refuse
 * turn it off for the whole process (gsl_set_error_handler_off()), and leave it so.
 */
#ifndef CROSSHATCH_STATUS_H
#define CROSSHATCH_STATUS_H

/** Result of a call: 0 success, positive a noteworthy success, negative a failure, so `status < 0` catches all. */
typedef enum ch_status {
    CH_OK = 0,          /**< done */
    CH_CHOKED = 1,      /**< done; the flow is sonic, so the pressure behind the opening no longer matters */
    CH_E_RANGE = -1,    /**< an argument or a quantity is outside what the model holds for */
    CH_E_INPUT = -2,    /**< a person's text or file is not what it should be */
    CH_E_MEMORY = -3,   /**< no memory */
    CH_E_IO = -4,       /**< a file or stream could not be read or written */
    CH_E_CONVERGE = -5, /**< a numerical method did not reach its tolerance */
    CH_E_LIMIT = -6,    /**< larger than a documented limit */
    CH_E_USAGE = -7     /**< wrong command-line usage */
} ch_status;

/** The reason of a failure. Initialise with `{0}`; a zero status means that nothing has been reported. */
typedef struct ch_err {
    ch_status status;
    char file[256];  /**< name of the file, as the person gave it, or empty */
    long line;       /**< 1-based line, or 0 where none applies */
    long column;     /**< 1-based column, or 0 where none applies */
    char what[256];  /**< what is wrong */
    char right[256]; /**< what would be right; may be empty */
} ch_err;

/**
 * Short text of a status, for logs and the manual. Static storage, never NULL.
 */
const char *ch_status_text(ch_status status);

/**
 * Report a failure: fills `err` unless it already holds one, and returns `status`, so that a caller can write
 * `return ch_fail(err, CH_E_RANGE, "1 to 32", "%d cylinders", n);`.
 *
 * @param err    May be NULL.
 * @param status Negative.
 * @param right  What would be right, plain text; may be NULL.
 * @param what   printf format of what is wrong. Text beyond the buffers is cut.
 */
ch_status ch_fail(ch_err *err, ch_status status, const char *right, const char *what, ...)
    __attribute__((format(printf, 4, 5)));

#ifdef __clang_analyzer__
/* The analyzer sees one file at a time; this tells it that a failure has the status that it was given. */
#define ch_fail(err, status, ...) ((void)(ch_fail)(err, status, __VA_ARGS__), (status))
#endif

/**
 * Add where a reported failure happened. Parts that are already set stay as they are.
 *
 * @param file   May be NULL.
 * @param line   From 1; 0 or less = unknown, and the column does not count.
 * @param column From 1.
 */
void ch_err_locate(ch_err *err, const char *file, long line, long column);

/**
 * Write `file:line:column: what is wrong: what would be right` (without the parts that are unknown), one line, no newline at its
 * end, cut to `size`. Control characters inside the parts are shown as `?`, so that a hostile file cannot drive the
 * terminal.
 *
 * @param text (out) `size` bytes, of which the last is NUL.
 * @param size Of `text`; 0 = nothing is written.
 */
void ch_err_format(const ch_err *err, char *text, unsigned long size);

#endif
