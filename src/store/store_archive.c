/*
 * The whole garage as one archive, out and in.
 *
 *  1. Out: one read transaction, so that all files are of one moment.
 *  2. In: a garage in a temporary file takes everything first. The owner's file is opened only when that one was found whole, is filled in one
 *     transaction, and its tables' digests are compared with those of the temporary one before the transaction ends. A file that is not there yet is
 *     filled under another name (store_growing.c).
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "bag.h"

/* ---- out ---- */

static const char readme[] =
    "This is a whole garage, written by `crosshatch export`. `crosshatch import` reads it into an empty one.\n"
    "\n"
    "tables/     everything that was entered, as CSV (RFC 4180): names, units, rows. Values are SI, times are\n"
    "            seconds since 1970-01-01 UTC, days are 2027-01-16; an empty cell is unknown.\n"
    "photos/     the photos, named by their id in tables/photo.csv\n"
    "sheets/     each test sheet as YAML, as `crosshatch judge` reads it\n"
    "readings.csv, history.csv   for a spreadsheet: every reading, and what happened by day\n"
    "\n"
    "Import reads tables/ and photos/ (and files/, where there is one); the rest says the same again, for people and\n"
    "other programs. `sha256sum -c manifest-sha256.txt`, one folder up, checks every file. The folder is a bag (RFC "
    "8493).\n";

static ch_status put_csv(ch_store *st, bag *b, const char *path,
                         ch_status (*write)(ch_store *, ch_store_sink *, void *, ch_err *), ch_err *err)
{
    ch_status rc = bag_begin(b, path, -1, err);
    if (rc >= 0)
        rc = write(st, bag_put, b, err);
    return rc < 0 ? rc : bag_end(b, err);
}

static ch_status put_sheet(ch_store *st, bag *b, int64_t id, ch_err *err)
{
    ch_sheet sheet;
    char *bytes = NULL, path[CH_STORE_ARCHIVE_PATH_MAX + 1];
    size_t length = 0;
    ch_status rc = store_sheet_load(st, id, &sheet, err);
    if (rc < 0)
        return rc;
    /* A sheet that has no row yet is no sheet that a file could hold. */
    if (sheet.engine.cylinders > 0 &&
        sheet.compression_count + sheet.wet_count + sheet.leakdown_count + sheet.leaks_count > 0) {
        snprintf(path, sizeof path, BAG_DATA "sheets/sheet-%04lld.yaml", (long long)id);
        rc = ch_sheet_write(&sheet, false, &bytes, &length, err);
        if (rc >= 0)
            rc = bag_file(b, path, bytes, length, err);
        free(bytes);
    }
    ch_sheet_clear(&sheet);
    return rc;
}

static ch_status put_all(ch_store *st, bag *b, ch_err *err)
{
    int64_t version = 0, id = 0;
    ch_status rc = store_number(st, &version, 0, err, "PRAGMA user_version", "");
    if (rc >= 0)
        rc = bag_file(b, BAG_DATA "README.txt", readme, sizeof readme - 1, err);
    if (rc >= 0)
        rc = bag_put_tables(st, b, err);
    if (rc >= 0)
        rc = put_csv(st, b, BAG_DATA "readings.csv", store_readings_csv, err);
    if (rc >= 0)
        rc = put_csv(st, b, BAG_DATA "history.csv", store_history_csv, err);
    for (bool more = rc >= 0; rc >= 0 && more;) {
        rc = store_number(st, &id, 0, err,
                          "SELECT id FROM sheet WHERE id > ?1 AND deleted_s IS NULL ORDER BY id LIMIT 1", "i", id);
        more = rc >= 0 && id != 0;
        if (more)
            rc = put_sheet(st, b, id, err);
    }
    return rc < 0 ? rc : bag_finish(b, (int)version, err);
}

static ch_status tell(ch_store *st, ch_store_archive_told *told, ch_err *err)
{
    ch_status rc = store_number(st, &told->sheets, 0, err, "SELECT count(*) FROM sheet WHERE deleted_s IS NULL", "");
    if (rc >= 0)
        rc = store_number(st, &told->photos, 0, err, "SELECT count(*) FROM photo WHERE deleted_s IS NULL", "");
    return rc;
}

ch_status ch_store_archive_write(ch_store *store, ch_store_sink *sink, void *context, ch_store_archive_told *told,
                                 ch_err *err)
{
    bag b;
    ch_store_archive_told made = {.version = CH_STORE_VERSION};
    ch_status rc = bag_open(&b, sink, context, err);
    if (rc >= 0)
        rc = store_begin_reading(store, err);
    if (rc >= 0) {
        rc = put_all(store, &b, err);
        if (rc >= 0)
            rc = tell(store, &made, err);
        rc = store_end(store, rc, err);
    }
    made.files = b.files;
    made.bytes = b.bytes;
    bag_clear(&b);
    if (rc >= 0 && told != NULL)
        *told = made;
    return rc;
}

/* ---- in ---- */

/* A garage of this version in a temporary file, which goes when it is closed. */
static ch_status open_trial(const char *name, int version, ch_store **trial, ch_err *err)
{
    ch_store *st = calloc(1, sizeof *st);
    char *path = strdup(name);
    if (st == NULL || path == NULL) {
        free(st);
        free(path);
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory to fill a garage");
    }
    st->path = path;
    int code = sqlite3_open_v2(
        "", &st->db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE, NULL);
    if (code == SQLITE_OK)
        code = sqlite3_exec(st->db, "PRAGMA foreign_keys = ON", NULL, NULL, NULL);
    for (int i = 0; code == SQLITE_OK && i < version; i++)
        code = sqlite3_exec(st->db, store_schema_now.steps[i], NULL, NULL, NULL);
    if (code != SQLITE_OK) {
        const ch_status rc = store_fail(st, code, "filling a garage for trial", err);
        ch_store_close(st);
        return rc;
    }
    *trial = st;
    return CH_OK;
}

typedef struct filling {
    const ch_store_source *source;
    ch_store *st;
    const table *tables;
    size_t count;
    bag_list *list;
    bag_rows *rows;      /* of the table being read */
    sqlite3_blob *blob;  /* being read */
    int at;              /* in it */
    const bag_entry *of; /* its file */
} filling;

static const table *table_of(const filling *f, const char *path)
{
    char wanted[CH_STORE_ARCHIVE_PATH_MAX + 1];
    for (size_t i = 0; i < f->count; i++) {
        bag_table_path(&f->tables[i], wanted);
        if (strcmp(path, wanted) == 0)
            return &f->tables[i];
    }
    return NULL;
}

static ch_status take_table(const char *path, const void *bytes, size_t length, void *context, ch_err *err)
{
    filling *f = context;
    ch_status rc = CH_OK;
    const table *t = table_of(f, path);
    if (t == NULL)
        return CH_OK;
    if (f->rows == NULL)
        rc = bag_rows_open(f->st, t, f->list, &f->rows, err);
    if (rc >= 0 && length > 0)
        rc = bag_rows_feed(f->rows, bytes, length, err);
    else if (rc >= 0)
        rc = bag_rows_end(f->rows, err);
    if (rc < 0 && f->rows != NULL) {
        long column = 0;
        const long line = bag_rows_line(f->rows, &column);
        bag_locate(err, f->source->name, path, line, column);
    }
    if (rc < 0 || length == 0) {
        bag_rows_free(f->rows);
        f->rows = NULL;
    }
    return rc;
}

static ch_status take_blob(const char *path, const void *bytes, size_t length, void *context, ch_err *err)
{
    filling *f = context;
    const bag_entry *file = bag_find(f->list, path);
    int code = SQLITE_OK;
    if (file == NULL || file->table == NULL)
        return CH_OK;
    if (f->blob == NULL) {
        f->at = 0;
        code = sqlite3_blob_open(f->st->db, "main", file->table->name, file->table->column[file->column].name,
                                 file->row_id, 1, &f->blob);
    }
    if (code == SQLITE_OK && length > 0)
        code = sqlite3_blob_write(f->blob, bytes, (int)length, f->at);
    f->at += (int)length;
    if (code == SQLITE_OK && length == 0) {
        code = sqlite3_blob_close(f->blob);
        f->blob = NULL;
    }
    return code == SQLITE_OK ? CH_OK : store_fail(f->st, code, "filling a photo", err);
}

static ch_status missing(const filling *f, const char *path, const char *what, ch_err *err)
{
    ch_fail(err, CH_E_INPUT, "an archive as `crosshatch export` wrote it: nothing was taken from this one", "%s", what);
    bag_locate(err, f->source->name, path, 0, 0);
    return CH_E_INPUT;
}

/* Every table is there, and none that is not of this version. */
static ch_status check_tables(const filling *f, ch_err *err)
{
    char path[CH_STORE_ARCHIVE_PATH_MAX + 1];
    for (size_t i = 0; i < f->count; i++) {
        bag_table_path(&f->tables[i], path);
        if (bag_find(f->list, path) == NULL)
            return missing(f, path, "is missing", err);
    }
    for (size_t i = 0; i < f->list->count; i++)
        if (strncmp(f->list->file[i].path, BAG_TABLES, strlen(BAG_TABLES)) == 0 &&
            table_of(f, f->list->file[i].path) == NULL)
            return missing(f, f->list->file[i].path, "is no table of this version", err);
    return CH_OK;
}

/* All rows, then the bytes that they name, in one transaction. */
static ch_status fill(filling *f, ch_err *err)
{
    ch_store_pool pool = {0};
    ch_status rc = bag_tables(f->st, &pool, &f->tables, &f->count, err);
    if (rc >= 0)
        rc = check_tables(f, err);
    if (rc >= 0)
        rc = store_run(f->st, err, "BEGIN IMMEDIATE", "");
    if (rc >= 0)
        rc = store_run(f->st, err, "PRAGMA defer_foreign_keys = ON", "");
    if (rc >= 0)
        rc = bag_walk(f->source, take_table, f, err);
    if (rc >= 0)
        rc = bag_walk(f->source, take_blob, f, err);
    bag_rows_free(f->rows);
    sqlite3_blob_close(f->blob);
    if (!sqlite3_get_autocommit(f->st->db)) {
        const int code = rc >= 0 ? sqlite3_exec(f->st->db, "COMMIT", NULL, NULL, NULL) : SQLITE_OK;
        if ((code & 0xff) == SQLITE_CONSTRAINT)
            rc = missing(f, NULL, "a row refers to one that is missing", err);
        else if (code != SQLITE_OK)
            rc = store_fail(f->st, code, "filling a garage for trial", err);
        if (rc < 0)
            sqlite3_exec(f->st->db, "ROLLBACK", NULL, NULL, NULL);
    }
    for (size_t i = 0; i < f->list->count; i++)
        f->list->file[i].table = NULL; /* of the pool */
    ch_store_pool_clear(&pool);
    return rc;
}

/* What is in the tables came out as it went in: the digests of tables and photos are those of the list. */
static ch_status compare(ch_store *st, const bag_list *list, const char *name, ch_err *err)
{
    bag b;
    ch_status rc = bag_open(&b, NULL, NULL, err);
    if (rc >= 0)
        rc = bag_put_tables(st, &b, err);
    const char *line = ch_text_string(&b.manifest);
    while (rc >= 0 && *line != '\0') {
        const char *end = strchr(line, '\n');
        char path[CH_STORE_ARCHIVE_PATH_MAX + 1], digest[2 * BAG_DIGEST + 1] = "";
        snprintf(path, sizeof path, "%.*s", (int)(end - line) - 2 * BAG_DIGEST - 2, line + 2 * BAG_DIGEST + 2);
        const bag_entry *file = bag_find(list, path);
        if (file != NULL)
            bag_digest_text(file->digest, digest);
        if (strncmp(digest, line, (size_t)2 * BAG_DIGEST) != 0) {
            rc = ch_fail(err, CH_E_INPUT, "an archive as `crosshatch export` wrote it: nothing was taken from this one",
                         "does not come out of a garage as it went in");
            bag_locate(err, name, path, 0, 0);
        }
        line = end + 1;
    }
    bag_clear(&b);
    return rc;
}

/* The trial brought up to date, and looked at as `verify` looks at a garage file. */
static ch_status check_trial(ch_store *st, int version, const char *name, ch_err *err)
{
    ch_store_pool pool = {0};
    const ch_store_finding *findings = NULL;
    size_t count = 0;
    int code = SQLITE_OK;
    for (int i = version; code == SQLITE_OK && i < store_schema_now.version; i++)
        code = sqlite3_exec(st->db, store_schema_now.steps[i], NULL, NULL, NULL);
    ch_status rc = code == SQLITE_OK ? CH_OK : store_fail(st, code, "bringing it up to date", err);
    if (rc >= 0)
        rc = ch_store_verify(st, &pool, &findings, &count, err);
    if (rc >= 0 && count > 0) {
        rc = ch_fail(err, CH_E_INPUT, "an archive of a sound garage: nothing was taken from this one", "%s",
                     findings[0].what);
        bag_locate(err, name, NULL, 0, 0);
    }
    ch_store_pool_clear(&pool);
    return rc;
}

static ch_status copy_rows(ch_store *from, ch_store *to, const table *t, ch_err *err)
{
    sqlite3_stmt *q = NULL, *insert = NULL;
    bool more = false, done = false;
    ch_text sql;
    ch_text_init(&sql, BAG_PIECE);
    ch_text_appendf(&sql, "SELECT * FROM %s", t->name);
    ch_status rc = ch_text_check(&sql, err);
    if (rc >= 0)
        rc = store_prepare(from, &q, err, ch_text_string(&sql), "");
    ch_text_clear(&sql);
    ch_text_appendf(&sql, "INSERT INTO %s VALUES (?", t->name);
    for (int i = 1; i < t->columns; i++)
        ch_text_append_string(&sql, ", ?");
    ch_text_append_string(&sql, ")");
    if (rc >= 0)
        rc = ch_text_check(&sql, err);
    if (rc >= 0)
        rc = store_prepare(to, &insert, err, ch_text_string(&sql), "");
    while (rc >= 0 && (rc = store_step(from, q, &more, err)) >= 0 && more) {
        int code = SQLITE_OK;
        for (int i = 0; code == SQLITE_OK && i < t->columns; i++)
            code = sqlite3_bind_value(insert, i + 1, sqlite3_column_value(q, i));
        rc = code == SQLITE_OK ? store_step(to, insert, &done, err) : store_fail(to, code, "filling the garage", err);
        sqlite3_reset(insert);
    }
    sqlite3_finalize(q);
    sqlite3_finalize(insert);
    ch_text_clear(&sql);
    return rc;
}

static ch_status must_be_empty(ch_store *to, const table *t, ch_err *err)
{
    char sql[96];
    int64_t rows = 0;
    snprintf(sql, sizeof sql, "SELECT count(*) FROM %s", t->name);
    const ch_status rc = store_number(to, &rows, 0, err, sql, "");
    if (rc < 0 || rows == 0)
        return rc;
    ch_fail(err, CH_E_INPUT, "an empty garage: --garage and the name of a new file",
            "the garage is not empty (%s: %lld rows)", t->name, (long long)rows);
    ch_err_locate(err, to->path, 0, 0);
    return CH_E_INPUT;
}

static ch_status all_empty(ch_store *to, ch_store_pool *pool, const table **tables, size_t *count, ch_err *err)
{
    ch_status rc = bag_tables(to, pool, tables, count, err);
    for (size_t i = 0; rc >= 0 && i < *count; i++)
        rc = must_be_empty(to, &(*tables)[i], err);
    return rc;
}

/* All rows of the trial into the garage, which is empty; the caller has begun. */
static ch_status copy_all(ch_store *trial, ch_store *to, const bag_list *wanted, ch_err *err)
{
    ch_store_pool pool = {0};
    const table *tables = NULL;
    size_t count = 0;
    ch_status rc = all_empty(to, &pool, &tables, &count, err);
    if (rc >= 0)
        rc = store_run(to, err, "PRAGMA defer_foreign_keys = ON", "");
    for (size_t i = 0; rc >= 0 && i < count; i++)
        rc = copy_rows(trial, to, &tables[i], err);
    if (rc >= 0 && wanted != NULL)
        rc = compare(to, wanted, to->path, err);
    ch_store_pool_clear(&pool);
    return rc;
}

/* Before a garage file is opened for writing, by which an older one would be brought up to date. */
static ch_status look_whether_empty(const char *path, ch_err *err)
{
    struct stat there;
    if (stat(path, &there) != 0 || !S_ISREG(there.st_mode))
        return CH_OK; /* what is wrong is told where it is opened */
    ch_store *to = NULL;
    ch_store_pool pool = {0};
    const table *tables = NULL;
    size_t count = 0;
    bool cut_short = false;
    ch_err reason = {0};
    ch_status rc = store_open_as_it_is(path, &to, &cut_short, &reason);
    if (rc >= 0)
        rc = all_empty(to, &pool, &tables, &count, &reason);
    ch_store_pool_clear(&pool);
    ch_store_close(to);
    if (rc < 0 && !cut_short && err != NULL && err->status == CH_OK)
        *err = reason;
    return cut_short ? CH_OK : rc;
}

/* Into the log by one transaction; `settle`: from there into the file, which then is whole without it. */
static ch_status fill_file(ch_store *trial, const bag_list *wanted, const char *path, bool settle, ch_err *err)
{
    ch_store *to = NULL;
    ch_status rc = ch_store_open(path, CH_STORE_CREATE, &to, err);
    if (rc < 0)
        return rc;
    rc = store_begin(to, err);
    if (rc >= 0)
        rc = store_end(to, copy_all(trial, to, wanted, err), err);
    if (rc >= 0 && settle) {
        const int code = sqlite3_wal_checkpoint_v2(to->db, "main", SQLITE_CHECKPOINT_TRUNCATE, NULL, NULL);
        rc = code == SQLITE_OK ? CH_OK : store_fail(to, code, "filling the garage", err);
    }
    ch_store_close(to);
    return rc;
}

static ch_status take_over(ch_store *trial, const bag_list *wanted, const char *path, ch_err *err)
{
    store_growing g = {0};
    bool make = false;
    ch_err reason = {0};
    ch_status rc = store_growing_begin(&g, path, &make, err);
    if (rc >= 0 && !make) {
        rc = look_whether_empty(path, err);
        return rc < 0 ? rc : fill_file(trial, wanted, path, false, err);
    }
    if (rc < 0)
        return rc;
    rc = fill_file(trial, wanted, g.name, true, &reason);
    if (rc >= 0)
        return store_growing_keep(&g, err);
    store_growing_drop(&g);
    if (err != NULL && err->status == CH_OK) {
        *err = reason;
        err->file[0] = '\0'; /* the name that it no longer has */
        ch_err_locate(err, path, 0, 0);
    }
    return rc;
}

ch_status ch_store_archive_read(const ch_store_source *source, const char *path, ch_store_archive_told *told,
                                ch_err *err)
{
    bag_list list = {0};
    ch_store *trial = NULL;
    ch_store_archive_told made = {0};
    ch_status rc = bag_check(source, &list, err);
    if (rc < 0)
        return rc;
    rc = open_trial(source->name, list.version, &trial, err);
    if (rc >= 0)
        rc = fill(&(filling){.source = source, .st = trial, .list = &list}, err);
    if (rc >= 0)
        rc = compare(trial, &list, source->name, err);
    if (rc >= 0)
        rc = check_trial(trial, list.version, source->name, err);
    if (rc >= 0)
        rc = tell(trial, &made, err);
    if (rc >= 0 && path != NULL)
        rc = take_over(trial, list.version == CH_STORE_VERSION ? &list : NULL, path, err);
    ch_store_close(trial);
    made.files = (int64_t)list.count;
    made.bytes = list.bytes;
    made.version = list.version;
    free(list.file);
    if (rc >= 0 && told != NULL)
        *told = made;
    return rc;
}
