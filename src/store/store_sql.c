/*
 * SQL with bound parameters, transactions, and SQLite's codes as ours.
 *
 *  1. SQL is fixed text; what a person typed is only ever bound.
 *  2. A change begins with BEGIN IMMEDIATE, so that two writers wait for each other at the door and never in the middle.
 *  3. Writers of one program take turns before that door (turn.h).
 */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "store_parts.h"

#define RECOVER                                                                                                        \
    "nothing more is written to it: keep it, and go on with the latest backup; docs/garage-file.md says how to save "  \
    "what can be read"

/* The log's index is made as large as it may become at once; what keeps it from that is the room on the disk. */
bool store_is_full(int code)
{
    return code == SQLITE_FULL || code == SQLITE_IOERR_SHMSIZE;
}

ch_status store_fail(ch_store *st, int code, const char *doing, ch_err *err)
{
    ch_status rc = CH_E_IO;
    if (code == SQLITE_IOERR_NOMEM)
        code = SQLITE_NOMEM;
    if (store_is_full(code))
        code = SQLITE_FULL;
    switch (code & 0xff) {
    case SQLITE_NOTADB:
        st->damaged = true;
        rc = ch_fail(err, CH_E_INPUT, RECOVER, "is no garage file, or its beginning is destroyed");
        break;
    case SQLITE_CORRUPT:
        st->damaged = true;
        rc = ch_fail(err, CH_E_INPUT, RECOVER, "the garage file is damaged (%s)", doing);
        break;
    case SQLITE_NOMEM: rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory (%s)", doing); break;
    case SQLITE_TOOBIG: rc = ch_fail(err, CH_E_LIMIT, NULL, "too large (%s)", doing); break;
    case SQLITE_CONSTRAINT: rc = ch_fail(err, CH_E_INPUT, NULL, "%s: %s", doing, sqlite3_errmsg(st->db)); break;
    case SQLITE_FULL: rc = ch_fail(err, CH_E_IO, "room on the disk", "the disk is full (%s)", doing); break;
    case SQLITE_READONLY:
        if (code == SQLITE_READONLY_ROLLBACK) {
            rc = ch_fail(err, CH_E_IO, "open it for writing once", "a change of it was cut short (%s)", doing);
            break;
        }
        /* Reading needs a place for the index of the log beside the file. */
        rc = ch_fail(err, CH_E_IO,
                     st->read_only ? "copy it into a folder that may be written, and name the copy with --garage"
                                   : "a file and a folder that may be written",
                     "the garage file may not be written (%s)", doing);
        break;
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        rc = ch_fail(err, CH_E_IO, "close that program, or try again", "another program holds the garage file (%s)",
                     doing);
        break;
    case SQLITE_CANTOPEN:
        rc = ch_fail(err, CH_E_IO, "a file and a folder that may be read and written",
                     "the garage file cannot be opened (%s)", doing);
        break;
    case SQLITE_ERROR: rc = ch_fail(err, CH_E_IO, NULL, "%s: %s", doing, sqlite3_errmsg(st->db)); break;
    default: rc = ch_fail(err, CH_E_IO, NULL, "%s: %s", doing, sqlite3_errstr(code)); break;
    }
    ch_err_locate(err, st->path, 0, 0);
    return rc;
}

ch_status store_text_there(sqlite3_stmt *q, int column, const char **text, ch_err *err)
{
    *text = NULL;
    if (sqlite3_column_type(q, column) == SQLITE_NULL)
        return CH_OK;
    *text = (const char *)sqlite3_column_text(q, column);
    return *text != NULL ? CH_OK : ch_fail(err, CH_E_MEMORY, NULL, "no memory for what the garage file holds");
}

ch_status store_said(sqlite3_stmt *q, int column, const char **text, ch_err *err)
{
    const ch_status rc = store_text_there(q, column, text, err);
    if (*text == NULL)
        *text = "?";
    return rc;
}

int store_kept_from_reading(const char *said)
{
    static const char words[] = "error code=";
    const char *code = strstr(said, words);
    long number = code != NULL ? strtol(code + sizeof words - 1, NULL, 10) : SQLITE_OK;
    /* of a chain of pages that hold one long value the code is not told; a page that cannot be is said to be an invalid one */
    if (number == SQLITE_OK && strstr(said, "failed to get page") != NULL)
        number = SQLITE_IOERR_READ;
    return (number & 0xff) == SQLITE_CORRUPT ? SQLITE_OK : (int)number;
}

static int bind_day(sqlite3_stmt *q, int index, ch_date day)
{
    char text[16];
    ch_date_format(day, text, sizeof text);
    return text[0] == '\0' ? sqlite3_bind_null(q, index) : sqlite3_bind_text(q, index, text, -1, SQLITE_TRANSIENT);
}

static int bind_id(sqlite3_stmt *q, int index, int64_t id)
{
    return id == 0 ? sqlite3_bind_null(q, index) : sqlite3_bind_int64(q, index, id);
}

static ch_status prepare(ch_store *st, sqlite3_stmt **q, ch_err *err, const char *sql, const char *letters,
                         va_list arguments)
{
    sqlite3_stmt *made = store_kept_take(&st->kept, sql);
    int code = made != NULL ? SQLITE_OK : sqlite3_prepare_v3(st->db, sql, -1, SQLITE_PREPARE_PERSISTENT, &made, NULL);
    for (int i = 1; code == SQLITE_OK && letters[i - 1] != '\0'; i++) {
        switch (letters[i - 1]) {
        case 'i': code = sqlite3_bind_int64(made, i, va_arg(arguments, int64_t)); break;
        case 'n': code = bind_id(made, i, va_arg(arguments, int64_t)); break;
        case 't': code = sqlite3_bind_text(made, i, va_arg(arguments, const char *), -1, SQLITE_STATIC); break;
        case 'r': code = sqlite3_bind_double(made, i, va_arg(arguments, double)); break; /* NaN becomes NULL */
        case 'd': code = bind_day(made, i, va_arg(arguments, ch_date)); break;
        default: code = SQLITE_MISUSE; break;
        }
    }
    if (code != SQLITE_OK) {
        const ch_status rc = store_fail(st, code, "reading", err);
        sqlite3_finalize(made);
        return rc;
    }
    *q = made;
    return CH_OK;
}

ch_status store_prepare(ch_store *st, sqlite3_stmt **q, ch_err *err, const char *sql, const char *letters, ...)
{
    va_list arguments;
    va_start(arguments, letters);
    const ch_status rc = prepare(st, q, err, sql, letters, arguments);
    va_end(arguments);
    return rc;
}

void store_release(ch_store *st, sqlite3_stmt *q)
{
    if (q != NULL)
        store_kept_give(&st->kept, q);
}

ch_status store_step(ch_store *st, sqlite3_stmt *q, bool *more, ch_err *err)
{
    const int code = sqlite3_step(q);
    if (code != SQLITE_ROW && code != SQLITE_DONE)
        return store_fail(st, code, sqlite3_stmt_readonly(q) ? "reading" : "writing", err);
    *more = code == SQLITE_ROW;
    return CH_OK;
}

ch_status store_run(ch_store *st, ch_err *err, const char *sql, const char *letters, ...)
{
    sqlite3_stmt *q = NULL;
    va_list arguments;
    va_start(arguments, letters);
    ch_status rc = prepare(st, &q, err, sql, letters, arguments);
    va_end(arguments);
    bool more = true;
    while (rc >= 0 && more)
        rc = store_step(st, q, &more, err);
    store_release(st, q);
    return rc;
}

ch_status store_number(ch_store *st, int64_t *number, int64_t none, ch_err *err, const char *sql, const char *letters,
                       ...)
{
    sqlite3_stmt *q = NULL;
    va_list arguments;
    va_start(arguments, letters);
    ch_status rc = prepare(st, &q, err, sql, letters, arguments);
    va_end(arguments);
    bool more = false;
    if (rc >= 0)
        rc = store_step(st, q, &more, err);
    if (rc >= 0)
        *number = more && sqlite3_column_type(q, 0) != SQLITE_NULL ? sqlite3_column_int64(q, 0) : none;
    store_release(st, q);
    return rc;
}

/* As long as another program may hold the file, another writer of this one may hold the turn. */
static ch_status take_turn(ch_store *st, ch_err *err)
{
    if (!store_turn_take(st->turns, STORE_BUSY_MS / 1000))
        return store_fail(st, SQLITE_BUSY, "waiting for a turn", err);
    st->has_turn = true;
    return CH_OK;
}

static void give_turn(ch_store *st)
{
    if (st->has_turn)
        store_turn_give(st->turns);
    st->has_turn = false;
}

ch_status store_begin(ch_store *st, ch_err *err)
{
    if (st->damaged)
        return store_fail(st, SQLITE_CORRUPT, "found earlier", err);
    if (st->read_only)
        return store_fail(st, SQLITE_READONLY, "opened for reading", err);
    ch_status rc = take_turn(st, err);
    if (rc < 0)
        return rc;
    rc = store_run(st, err, "BEGIN IMMEDIATE", "");
    if (rc < 0)
        give_turn(st);
    return rc;
}

ch_status store_begin_reading(ch_store *st, ch_err *err)
{
    return store_run(st, err, "BEGIN", "");
}

ch_status store_end(ch_store *st, ch_status rc, ch_err *err)
{
    if (rc >= 0)
        rc = store_run(st, err, "COMMIT", "");
    if (rc < 0 && !sqlite3_get_autocommit(st->db))
        sqlite3_exec(st->db, "ROLLBACK", NULL, NULL, NULL); /* what it could not undo now, the next opening undoes */
    give_turn(st);
    return rc;
}

ch_status store_seen(ch_store *st, const char *table, const char *client, ch_stored *stored, bool *again, ch_err *err)
{
    *again = false;
    if (client == NULL)
        return CH_OK;
    const size_t length = strlen(client);
    if (length == 0 || length > CH_STORE_CLIENT_MAX ||
        strspn(client, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789._:-") != length)
        return ch_fail(err, CH_E_INPUT, "1 to 64 characters of A-Z a-z 0-9 . _ : -",
                       "the sender's id of the entry has another form");
    char sql[96];
    snprintf(sql, sizeof sql, "SELECT id FROM %s WHERE client = ?1", table);
    int64_t id = 0;
    const ch_status rc = store_number(st, &id, 0, err, sql, "t", client);
    if (rc >= 0 && id != 0) {
        *again = true;
        *stored = (ch_stored){.id = id, .again = true};
    }
    return rc;
}

ch_status store_changed_one(ch_store *st, const char *what, int64_t id, ch_err *err)
{
    if (sqlite3_changes(st->db) == 1)
        return CH_OK;
    return ch_fail(err, CH_E_INPUT, NULL, "there is no %s with the id %lld", what, (long long)id);
}

ch_status store_must_be(ch_store *st, const char *sql, const char *what, int64_t id, ch_err *err)
{
    int64_t there = 0;
    const ch_status rc = store_number(st, &there, 0, err, sql, "i", id);
    if (rc >= 0 && there == 0)
        return ch_fail(err, CH_E_INPUT, NULL, "there is no %s with the id %lld", what, (long long)id);
    return rc;
}
