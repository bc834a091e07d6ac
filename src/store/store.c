/*
 * Opening and closing the garage file, and bringing an older one up to date.
 *
 *  1. A file is looked at through a read-only connection first. One that is damaged, newer, or somebody else's is never opened for
 *     writing, not even to recover its log. Where the power went while a file was made, what is half there has to be undone before anything can be
 *     seen: that alone is done first.
 *  2. Steps of the schema run one transaction each, behind a copy of the file as it was.
 *  3. A file that may not be written, or lies in a folder that may not, is opened for reading; where there can be no index of the log beside it and there is no log, as it lies.
 *  4. Two programs may open or create the same file at the same moment: whoever comes second finds the work done.
 */
#include "crosshatch/store.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "store_parts.h"

static ch_status fail_at(const char *path, ch_status status, const char *right, const char *what, ch_err *err)
{
    ch_fail(err, status, right, "%s", what);
    ch_err_locate(err, path, 0, 0);
    return status;
}

/* *code is SQLite's of what failed last. */
static ch_status connect(const char *path, int flags, ch_store **store, int *code, ch_err *err)
{
    ch_store *st = calloc(1, sizeof *st);
    char *name = strdup(path), *uri = (flags & SQLITE_OPEN_URI) != 0 ? store_leave_uri(path) : NULL;
    store_turn *turns = store_turn_join(path);
    if (st == NULL || name == NULL || turns == NULL || (uri == NULL && (flags & SQLITE_OPEN_URI) != 0)) {
        free(st);
        free(name);
        free(uri);
        store_turn_leave(turns);
        return fail_at(path, CH_E_MEMORY, NULL, "no memory to open it", err);
    }
    st->path = name;
    st->turns = turns;
    st->read_only = (flags & SQLITE_OPEN_READONLY) != 0;
    *code =
        sqlite3_open_v2(uri != NULL ? uri : path, &st->db, flags | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE, NULL);
    free(uri);
    ch_status rc = *code == SQLITE_OK ? CH_OK : store_fail(st, *code, "opening", err);
    if (rc >= 0) {
        /* A file may come from anyone: nothing in it changes its own schema by the back door, and odd pages are looked at before they are
         * used. Source: SQLite, Defense Against The Dark Arts, section 1.2; its distrust of a schema's functions would shut out our triggers' JSON. */
        sqlite3_db_config(st->db, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
        sqlite3_busy_timeout(st->db, STORE_BUSY_MS);
        rc = store_run(st, err, "PRAGMA cell_size_check = ON", "");
    }
    if (rc >= 0)
        rc = store_run(st, err, "PRAGMA foreign_keys = ON", "");
    if (rc >= 0)
        rc = store_run(st, err, "PRAGMA synchronous = FULL", "");
    if (rc < 0) {
        *code = sqlite3_extended_errcode(st->db);
        ch_store_close(st);
        return rc;
    }
    *store = st;
    return CH_OK;
}

void ch_store_close(ch_store *store)
{
    if (store == NULL)
        return;
    store_kept_clear(&store->kept);
    sqlite3_close_v2(store->db);
    store_turn_leave(store->turns);
    free(store->path);
    free(store);
}

static ch_status check_pages(ch_store *st, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(st, &q, err, "PRAGMA quick_check(1)", "");
    if (rc >= 0)
        rc = store_step(st, q, &more, err);
    const char *said = "";
    if (rc >= 0 && more)
        rc = store_said(q, 0, &said, err);
    const int kept = store_kept_from_reading(said);
    if (rc >= 0 && kept != SQLITE_OK)
        rc = store_fail(st, kept, "checking its pages", err);
    else if (rc >= 0 && strcmp(said, "ok") != 0)
        rc = store_fail(st, SQLITE_CORRUPT, "its pages were checked", err);
    sqlite3_finalize(q);
    return rc;
}

/* What the file is: *version, or 0 for one that is still to be filled. */
static ch_status look_inside(ch_store *st, ch_store_mode mode, const store_schema *schema, int64_t *version,
                             ch_err *err)
{
    int64_t application = 0, made = 0, tables = 0;
    ch_status rc = store_number(st, &application, 0, err, "PRAGMA application_id", "");
    if (rc >= 0)
        rc = store_number(st, &made, 0, err, "PRAGMA user_version", "");
    if (rc >= 0)
        rc = store_number(st, &tables, 0, err, "SELECT count(*) FROM sqlite_schema", "");
    if (rc < 0)
        return rc;
    const bool empty = application == 0 && made == 0 && tables == 0;
    if (empty && mode != CH_STORE_CREATE)
        return fail_at(st->path, CH_E_INPUT, "a garage file", "is an empty file", err);
    if (!empty && application != STORE_APPLICATION_ID)
        return fail_at(st->path, CH_E_INPUT, "a garage file", "is a file of another program", err);
    if (made > schema->version) {
        ch_fail(err, CH_E_INPUT, "the program that wrote it, or a newer one; the file was not touched",
                "is of version %lld, and this program knows versions up to %d", (long long)made, schema->version);
        ch_err_locate(err, st->path, 0, 0);
        return CH_E_INPUT;
    }
    if (!empty && made < 1) {
        ch_fail(err, CH_E_INPUT, "a copy of it from before; the file was not touched",
                "is of version %lld, which there never was", (long long)made);
        ch_err_locate(err, st->path, 0, 0);
        return CH_E_INPUT;
    }
    if (mode == CH_STORE_READ_ONLY && made < schema->version)
        return fail_at(st->path, CH_E_INPUT, "open it for writing once", "is of an older version, and may only be read",
                       err);
    if (mode != CH_STORE_ANOTHER)
        rc = check_pages(st, err);
    if (rc >= 0)
        *version = empty ? 0 : made;
    return rc;
}

/* Connect and look inside; the connection stays open only where `store` is wanted. */
static ch_status look_through(const char *path, int flags, ch_store_mode mode, const store_schema *schema,
                              int64_t *version, bool *cut_short, ch_store **store, ch_err *err)
{
    ch_store *st = NULL;
    int code = SQLITE_OK;
    ch_status rc = connect(path, flags, &st, &code, err);
    if (rc >= 0) {
        rc = look_inside(st, mode, schema, version, err);
        code = sqlite3_extended_errcode(st->db);
    }
    *cut_short = rc < 0 && code == SQLITE_READONLY_ROLLBACK;
    if (rc >= 0 && store != NULL)
        *store = st;
    else
        ch_store_close(st);
    return rc;
}

static int flags_to_read(const store_leave *leave)
{
    return SQLITE_OPEN_READONLY | (leave->as_it_lies ? SQLITE_OPEN_URI : 0);
}

static ch_status look(const char *path, const store_leave *leave, ch_store_mode mode, const store_schema *schema,
                      int64_t *version, ch_err *err)
{
    struct stat there;
    if (stat(path, &there) != 0) {
        if (errno == ENOENT && mode == CH_STORE_CREATE) {
            *version = 0;
            return CH_OK;
        }
        return fail_at(path, CH_E_INPUT, "the name of a garage file",
                       errno == ENOENT ? "there is no such file" : strerror(errno), err);
    }
    if (!S_ISREG(there.st_mode))
        return fail_at(path, CH_E_INPUT, "the name of a garage file", "is no file", err);
    ch_err reason = {0};
    bool cut_short = false;
    ch_status rc = look_through(path, flags_to_read(leave), mode, schema, version, &cut_short, NULL, &reason);
    if (rc == CH_E_IO && !leave->writes && leave->log && !cut_short) {
        reason = (ch_err){0};
        rc = fail_at(path, CH_E_IO,
                     "copy it and what lies beside it (-wal, -journal) into a folder that may be written, and name the "
                     "copy with --garage",
                     "may only be read, and its last changes lie in a log beside it, which takes writing to read",
                     &reason);
    }
    if (cut_short && mode != CH_STORE_READ_ONLY) {
        reason = (ch_err){0};
        rc = look_through(path, SQLITE_OPEN_READWRITE, mode, schema, version, &cut_short, NULL, &reason);
    }
    if (rc < 0 && err != NULL && err->status == CH_OK)
        *err = reason;
    return rc;
}

ch_status store_open_as_it_is(const char *path, ch_store **store, bool *cut_short, ch_err *err)
{
    int64_t version = 0;
    return look_through(path, SQLITE_OPEN_READONLY, CH_STORE_CREATE, &store_schema_now, &version, cut_short, store,
                        err);
}

/* The log stays with the file, so this is done once; another program may be doing it at this moment. */
static ch_status use_log(ch_store *st, ch_err *err)
{
    enum { WAIT_MS = 20 };
    for (int waited_ms = 0;; waited_ms += WAIT_MS) {
        ch_err reason = {0};
        const ch_status rc = store_run(st, &reason, "PRAGMA journal_mode = WAL", "");
        if (rc >= 0)
            return CH_OK;
        if ((sqlite3_errcode(st->db) & 0xff) != SQLITE_BUSY || waited_ms >= STORE_BUSY_MS) {
            if (err != NULL && err->status == CH_OK)
                *err = reason;
            return rc;
        }
        sqlite3_sleep(WAIT_MS);
    }
}

/* One step, unless another program has done it meanwhile. *version is what the file then is. */
static ch_status step_up(ch_store *st, const store_schema *schema, int64_t *version, ch_err *err)
{
    char sql[80];
    int64_t now = 0, breaches = 0;
    ch_status rc = store_begin(st, err);
    if (rc < 0)
        return rc;
    rc = store_number(st, &now, 0, err, "PRAGMA user_version", "");
    if (rc >= 0 && now == *version) {
        const int code = sqlite3_exec(st->db, schema->steps[now], NULL, NULL, NULL);
        if (code != SQLITE_OK)
            rc = store_fail(st, code, "bringing it up to date", err);
        if (rc >= 0)
            rc = store_number(st, &breaches, 0, err, "SELECT count(*) FROM pragma_foreign_key_check", "");
        if (rc >= 0 && breaches > 0)
            rc = store_fail(st, SQLITE_CORRUPT, "references lead nowhere", err);
        snprintf(sql, sizeof sql, "PRAGMA user_version = %lld", (long long)++now);
        if (rc >= 0)
            rc = store_run(st, err, sql, "");
        snprintf(sql, sizeof sql, "PRAGMA application_id = %d", STORE_APPLICATION_ID);
        if (rc >= 0)
            rc = store_run(st, err, sql, "");
    }
    rc = store_end(st, rc, err);
    if (rc >= 0)
        *version = now;
    return rc;
}

static ch_status bring_up_to_date(ch_store *st, const store_schema *schema, int64_t version, ch_err *err)
{
    ch_status rc = CH_OK;
    if (version > 0 && version < schema->version) {
        const size_t size = strlen(st->path) + 32;
        char *copy = malloc(size);
        if (copy == NULL)
            return ch_fail(err, CH_E_MEMORY, NULL, "no memory to copy the garage file");
        snprintf(copy, size, "%s.before-v%d", st->path, schema->version);
        rc = ch_store_backup(st, copy, err);
        free(copy);
    }
    while (rc >= 0 && version < schema->version)
        rc = step_up(st, schema, &version, err);
    return rc;
}

ch_status store_open_with(const char *path, ch_store_mode mode, const store_schema *schema, ch_store **store,
                          ch_err *err)
{
    int64_t version = 0;
    store_leave leave;
    ch_status rc = store_leave_find(path, &leave, err);
    if (rc >= 0 && !leave.writes)
        mode = CH_STORE_READ_ONLY;
    if (rc >= 0)
        rc = look(path, &leave, mode, schema, &version, err);
    if (rc < 0)
        return rc;
    const int flags = mode == CH_STORE_READ_ONLY ? flags_to_read(&leave)
                      : mode == CH_STORE_CREATE  ? SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE
                                                 : SQLITE_OPEN_READWRITE;
    ch_store *st = NULL;
    int code = SQLITE_OK;
    rc = connect(path, flags, &st, &code, err);
    if (rc >= 0 && !st->read_only) {
        if (sqlite3_db_readonly(st->db, "main") == 1)
            rc = store_fail(st, SQLITE_READONLY, "opening", err);
        if (rc >= 0)
            rc = use_log(st, err);
        if (rc >= 0)
            rc = bring_up_to_date(st, schema, version, err);
    }
    if (rc < 0) {
        ch_store_close(st);
        return rc;
    }
    *store = st;
    return CH_OK;
}

bool ch_store_read_only(const ch_store *store)
{
    return store->read_only;
}

ch_status ch_store_open(const char *path, ch_store_mode mode, ch_store **store, ch_err *err)
{
    return store_open_with(path, mode, &store_schema_now, store, err);
}
