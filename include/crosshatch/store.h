/**
 * @file store.h
 * The garage file: everything the owner ever measured, in one SQLite file. This header: opening, safe copies, checking, settings.
 * store_sheet.h: sheets, their rows, the put-back ledger, photos. store_car.h: cars, engines, gauges, events, parts. store_driveline.h: logged runs.
 * store_work.h: winter work.
 *
 * What holds for every function of these headers:
 *  1. A change is one transaction: after a failure, a full disk, a killed program or a power cut, the file is as before the call or as
 *     after it. CH_OK means that it is on the disk (WAL, synchronous=FULL).
 *  2. What was entered stays: a correction is a new row that names the old one, a deletion is a mark, and records (a car's name) keep
 *     their earlier values with their times. The file itself refuses anything else, by triggers.
 *  3. The clock is the caller's: `now_s` is seconds since 1970-01-01 UTC.
 *  4. `client` (may be NULL) is an id that the sender made up for one entry, 1 to 64 characters of A-Z a-z 0-9 . _ : -. The same id sent
 *     again stores nothing and gives the first one's row, so that a doubtful sending can be repeated.
 *  5. Texts in are borrowed, UTF-8 without control characters (line breaks in notes are fine), at most CH_STORE_TEXT_MAX bytes. Lists
 *     and texts out belong to the caller's pool and live until ch_store_pool_clear().
 *  6. A ch_store serves one thread at a time. Open one a thread; any number of threads and processes may have the same file open.
 *  7. Outputs are untouched on failure.
 *
 * Statuses of every function, beside those that it names:
 *  CH_E_INPUT  a text, id, number or state that cannot be; a file that is damaged, newer than this program, or no garage file
 *  CH_E_IO     the disk is full, broken, or may not be written; another program has held the file for more than ten seconds
 *  CH_E_LIMIT  larger than a limit named here
 *  CH_E_MEMORY
 * Once the file was found damaged, nothing more is written to it; the message says what to do.
 *
 * Docs: docs/garage-file.md.
 */
#ifndef CROSSHATCH_STORE_H
#define CROSSHATCH_STORE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "crosshatch/status.h"
#include "crosshatch/text.h"

enum {
    CH_STORE_VERSION = 6,                /* of the schema */
    CH_STORE_TEXT_MAX = 8000,            /* bytes of one text */
    CH_STORE_SETTING_MAX = 256 * 1024,   /* bytes of a setting's text: a winter plan is one */
    CH_STORE_CLIENT_MAX = 64,            /* bytes of a sender's id */
    CH_STORE_PHOTO_MAX = 2 * 1024 * 1024 /* bytes of one photo */
};

typedef struct ch_store ch_store;

/** Memory for what a call gives back; start with `{0}`. One for each request or command. */
typedef struct ch_store_pool {
    struct ch_store_block *blocks;
} ch_store_pool;

/** Free all that was taken from the pool; it may then be used again. Fine on an empty one. */
void ch_store_pool_clear(ch_store_pool *pool);

/** Where an entry went. */
typedef struct ch_stored {
    int64_t id;
    bool again; /* the sender's id was here already, nothing was stored */
} ch_stored;

typedef enum ch_store_mode {
    CH_STORE_OPEN = 0,      /* there must be a file; an older one is brought up to date */
    CH_STORE_CREATE = 1,    /* the same, or a new one (its folder must be there) */
    CH_STORE_READ_ONLY = 2, /* an older one is refused rather than brought up to date */
    CH_STORE_ANOTHER =
        3 /* a further connection of a program that has the file open: without the check of the whole file */
} ch_store_mode;

/**
 * Open a garage file: looks at it through a read-only connection first (is it one, of which version, are its pages sound), then opens it for
 * writing, and brings an older version up to date: a copy `FILE.before-vN` first, then one transaction a version. A file that may not be written, or whose folder may not, is opened
 * for reading in every mode (ch_store_read_only()); where its folder may not be written, it must not be changed by another program meanwhile.
 *
 * @param path   Name of the file.
 * @param store  (out) ch_store_close() it.
 *
 * @retval CH_E_INPUT No such file, no garage file, damaged (never written to then), of a newer version, or of an older one and may not be written.
 * Cost: reads the whole file once, except with CH_STORE_ANOTHER; some 3 ms for 120 sheets without photos (1.2 MB).
 */
ch_status ch_store_open(const char *path, ch_store_mode mode, ch_store **store, ch_err *err);

/**
 * Whether the file was opened for reading alone: with CH_STORE_READ_ONLY, or because it, or its folder, may not be written, whatever was asked. Every change is refused then, with CH_E_IO.
 *
 * @param store Open.
 */
bool ch_store_read_only(const ch_store *store);

/** Close; NULL is fine. */
void ch_store_close(ch_store *store);

/**
 * Copy the whole file, while others may be writing to it, into a file of its own: into a new file beside `target`, checked by opening it
 * and reading all of it, flushed, then given the name. An older file of this name is replaced only then.
 *
 * @retval CH_E_INPUT `target` is the garage file itself or a folder, or a log or journal (`-wal`, `-journal`) lies beside it: a garage in use, or one
 *                    whose last change was cut short.
 */
ch_status ch_store_backup(ch_store *store, const char *target, ch_err *err);

/** One thing that ch_store_verify() found wrong. */
typedef struct ch_store_finding {
    const char *what; /* one line */
} ch_store_finding;

/**
 * Check everything: SQLite's own structure, every reference, and what this program promises of the content (each chain of corrections is
 * whole and ends, cylinders that the engine has, values that agree with what was typed, every sheet reads as a sheet). Writes nothing.
 *
 * @param findings (out) `count` of them, at most 100, from the pool; 0 where all is well.
 * @retval CH_OK   Checked; look at `count`.
 */
ch_status ch_store_verify(ch_store *store, ch_store_pool *pool, const ch_store_finding **findings, size_t *count,
                          ch_err *err);

/**
 * Settings, by a name of 1 to 64 characters a-z 0-9 . _ - . The names that the program's faces use: `units.pressure`, `units.length`,
 * `units.distance`, `units.temperature`, `currency`, `hour_value` (what an hour of the owner's evening is worth, in that currency), `rule`
 * (the rule of balance, by its id), `car` (id of the one in hand).
 *
 * @param text (get, out) From the pool; NULL where never set or set to NULL.
 */
ch_status ch_store_setting_get(ch_store *store, ch_store_pool *pool, const char *name, const char **text, ch_err *err);
ch_status ch_store_setting_set(ch_store *store, const char *name, const char *text, int64_t now_s, ch_err *err);

/**
 * Set a setting where it still is what the caller has read, so that what another thread or program has written meanwhile is not lost: where
 * *done is false afterwards, nothing was changed, and the caller reads and changes it anew.
 *
 * @param was  What ch_store_setting_get() gave; NULL = it was not set.
 * @param done (out) Whether it was, and `text` is kept. Untouched on failure.
 */
ch_status ch_store_setting_swap(ch_store *store, const char *name, const char *was, const char *text, int64_t now_s,
                                bool *done, ch_err *err);

/**
 * Every current reading of every sheet as CSV (RFC 4180), a header line, a units line, then one line a row in the order of sheets and rows;
 * SI values and the texts as typed. Deleted and replaced rows are left out. A person's text that a spreadsheet would take for a formula gets
 * an apostrophe ahead.
 */
ch_status ch_store_readings_csv(ch_store *store, ch_text *csv, ch_err *err);

/**
 * What happened, by day, as CSV in the same manner: events, engines in and out, parts fitted and removed, tests. Times in h, ways in km; at
 * `part fitted` what the part had run before.
 */
ch_status ch_store_history_csv(ch_store *store, ch_text *csv, ch_err *err);

#endif
