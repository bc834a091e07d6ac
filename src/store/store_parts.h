/*
 * What the files of the store share: the connection, SQL with bound parameters, memory, and the walk over the fields of a sheet.
 */
#ifndef CROSSHATCH_STORE_PARTS_H
#define CROSSHATCH_STORE_PARTS_H

#include <sqlite3.h>

#include "../car/sheet_fields.h"
#include "crosshatch/store.h"
#include "crosshatch/store_archive.h"
#include "crosshatch/store_car.h"
#include "crosshatch/store_sheet.h"
#include "turn.h"

enum {
    STORE_APPLICATION_ID = 0x43684761, /* "ChGa", in the file's header */
    STORE_BUSY_MS = 10000,
    STORE_KEPT_MAX = 64
};

/* Prepared statements that nobody uses at the moment, the one used last at the end (store_kept.c). */
typedef struct store_kept {
    sqlite3_stmt *idle[STORE_KEPT_MAX];
    size_t count;
} store_kept;

struct ch_store {
    sqlite3 *db;
    store_kept kept;
    char *path;
    bool damaged; /* found so: nothing more is written */
    bool read_only;
    store_turn *turns;
    bool has_turn; /* to write: from store_begin() to store_end() */
};

/* The steps from an empty file: step i leads from version i to version i + 1. */
typedef struct store_schema {
    const char *const *steps;
    int version;
} store_schema;
extern const store_schema store_schema_now;

/* ch_store_open() with a schema of the caller's, for the tests of bringing files up to date. */
ch_status store_open_with(const char *path, ch_store_mode mode, const store_schema *schema, ch_store **store,
                          ch_err *err);

/*
 * For reading, as it is: a garage file of any version that this program knows, which is not brought up to date; or one of which nothing was written yet. *cut_short:
 * it failed because a change was cut short, which can be undone only by opening it for writing.
 */
ch_status store_open_as_it_is(const char *path, ch_store **store, bool *cut_short, ch_err *err);

/* ---- store_leave.c: what may be done with a garage file ---- */

typedef struct store_leave {
    bool writes; /* it and its folder may be written, or it is still to be made */
    bool log;    /* a log or a journal lies beside it, and is not empty */
    bool
        as_it_lies; /* nothing can be made beside it, and there is no log: it is read as it lies, without locks ("immutable") */
} store_leave;

/* CH_E_MEMORY. What is no file is for others to say. */
ch_status store_leave_find(const char *path, store_leave *leave, ch_err *err);

/* The name for SQLite that has it read the file as it lies; NULL = no memory. free() it. */
char *store_leave_uri(const char *path);

/* ---- store_backup.c ---- */

/* The folder of this file, whose name is shortened to it. Not every file system can flush a folder; its failure is none of ours. */
void store_flush_folder(char *path);

/* Whether a log or a journal lies beside a file, which SQLite would play into whatever has the name. Room for nine bytes more behind the name. */
bool store_has_beside(char *name);

/* Remove what SQLite may have left beside a file because the disk did not even let it tidy up. Room for nine bytes more behind the name. */
void store_unlink_beside(char *name);

/* ---- store_growing.c: a new garage file, filled under another name beside its own ---- */

typedef struct store_growing {
    char *name; /* under which it is filled */
    const char *path;
    bool over; /* an empty file has the name, and is replaced */
} store_growing;

/*
 * Whether `path` is to be made (*make): there is nothing of that name, or a file without bytes. Then g->name is a new empty file beside it; one of store_growing_keep() and
 * store_growing_drop() ends it.
 */
ch_status store_growing_begin(store_growing *g, const char *path, bool *make, ch_err *err);

/* Give the whole and closed file its name, which no other program may have taken meanwhile. On failure nothing is left. */
ch_status store_growing_keep(store_growing *g, ch_err *err);
void store_growing_drop(store_growing *g);

/* ---- store_kept.c ---- */

/* One with this text, which then is the caller's, or NULL. */
sqlite3_stmt *store_kept_take(store_kept *kept, const char *sql);

/* Keep it for the next time, or finalize it. */
void store_kept_give(store_kept *kept, sqlite3_stmt *q);

/* Finalize all. */
void store_kept_clear(store_kept *kept);

/* ---- store_sql.c ---- */

/* In SQL: the life `e` of a car's engine may have been in the car on `day`. The first stands for all that was before the car was entered. */
#define STORE_LIVED_ON(e, day)                                                                                         \
    "((" e ".begun_day <= " day " OR " e ".why = 'first') AND (" e ".ended_day IS NULL OR " e ".ended_day >= " day ")" \
    ")"

/* The one place where SQLite's codes become ours. `doing`: "reading the sheets". */
ch_status store_fail(ch_store *st, int code, const char *doing, ch_err *err);

/* Whether it says that the disk has no room. */
bool store_is_full(int code);

/*
 * Bind parameters ?1, ?2 ... by letters: i int64_t; n int64_t, 0 = NULL; t text, NULL = NULL; r double, NaN = NULL; d ch_date, not given = NULL.
 * Texts must outlive the statement. It ends with store_release(), or with sqlite3_finalize() where the same will hardly be asked again soon.
 */
ch_status store_prepare(ch_store *st, sqlite3_stmt **q, ch_err *err, const char *sql, const char *letters, ...);

/* The statement, which may be NULL, is done with: it is kept for the next time that its SQL is asked for. */
void store_release(ch_store *st, sqlite3_stmt *q);

/* Prepare, run to the end, release. */
ch_status store_run(ch_store *st, ch_err *err, const char *sql, const char *letters, ...);

/* The first column of the first row as a number; `none` where there is no row or it is NULL. */
ch_status store_number(ch_store *st, int64_t *number, int64_t none, ch_err *err, const char *sql, const char *letters,
                       ...);

/* A column's text, NULL where it is NULL; CH_E_MEMORY where it cannot be had. Lives until the next step. */
ch_status store_text_there(sqlite3_stmt *q, int column, const char **text, ch_err *err);

/* The same, "?" where it is NULL or cannot be had. */
ch_status store_said(sqlite3_stmt *q, int column, const char **text, ch_err *err);

/*
 * What SQLite's checks of structure say of a page: SQLITE_OK where that is about the page, else the code of what kept them from reading it (a failing
 * disk, no memory), which says nothing of the file.
 */
int store_kept_from_reading(const char *said);

/* One row further. CH_OK and *more; the caller ends the statement. */
ch_status store_step(ch_store *st, sqlite3_stmt *q, bool *more, ch_err *err);

/* Begin to write, or to read several things that belong together. */
ch_status store_begin(ch_store *st, ch_err *err);
ch_status store_begin_reading(ch_store *st, ch_err *err);

/* Commit where `rc` is no failure, else roll back; the first failure is returned. */
ch_status store_end(ch_store *st, ch_status rc, ch_err *err);

/*
 * Where this sender's id was stored before. *stored is set only then, and *again is true. The table is one of a fixed few.
 * CH_E_INPUT where the id has a form that it cannot have.
 */
ch_status store_seen(ch_store *st, const char *table, const char *client, ch_stored *stored, bool *again, ch_err *err);

/* After store_run of an UPDATE: one row must have been changed, else CH_E_INPUT "there is no WHAT with the id N". */
ch_status store_changed_one(ch_store *st, const char *what, int64_t id, ch_err *err);

/* CH_E_INPUT where `count` is 0: "there is no WHAT with the id N". */
ch_status store_must_be(ch_store *st, const char *sql, const char *what, int64_t id, ch_err *err);

/* ---- store_memory.c ---- */

void *store_take(ch_store_pool *pool, size_t size); /* zeroed, or NULL */
ch_status store_text(ch_store_pool *pool, sqlite3_stmt *q, int column, const char **text,
                     ch_err *err);                                            /* NULL stays NULL */
ch_status store_date(sqlite3_stmt *q, int column, ch_date *day, ch_err *err); /* year 0 where it is NULL or no day */
double store_real(sqlite3_stmt *q, int column);                               /* NULL = NaN */

/* An array that grows in the pool. */
typedef struct store_list {
    ch_store_pool *pool;
    char *rows;
    size_t size, count, capacity;
} store_list;
void *store_list_more(store_list *list, ch_err *err); /* a zeroed row at the end, or NULL */

/* Check a text that comes in: UTF-8, no control characters but line breaks and tabs, not too long; `needed`: not blank. */
ch_status store_text_check(const char *label, const char *text, bool needed, ch_err *err);
/* The same with another limit than CH_STORE_TEXT_MAX, in bytes. */
ch_status store_text_check_to(const char *label, const char *text, bool needed, size_t most, ch_err *err);

/* ---- store_fields.c ---- */

typedef enum store_owner { STORE_OF_SHEET, STORE_OF_ENGINE, STORE_OF_GAUGE } store_owner;

/* What the sheet says of its engine, gauge and day, or of the engine or the gauge alone, must be what ch_sheet_parse() takes. */
ch_status store_fields_check(store_owner owner, const ch_sheet *sheet, ch_err *err);

/* Write what differs. The caller has begun. */
ch_status store_fields_put(ch_store *st, store_owner owner, int64_t id, const ch_sheet *sheet, int64_t now_s,
                           ch_err *err);

/* Read into an initialised sheet, whose texts are then its own. */
ch_status store_fields_get(ch_store *st, store_owner owner, int64_t id, ch_sheet *sheet, ch_err *err);

/* The same of a sheet, without what it says in the very words in which this engine and this gauge are, or ever were, described: it took that over from them. */
ch_status store_fields_get_own(ch_store *st, int64_t sheet_id, int64_t engine_id, int64_t gauge_id, ch_sheet *sheet,
                               ch_err *err);

/* Whether two sheets say the same of engine and gauge. */
bool store_fields_same(const ch_sheet *a, const ch_sheet *b);

/* ---- store_whole.c ---- */

/* ch_store_sheet_load() inside a transaction, so that head and rows are of one moment. */
ch_status store_sheet_load(ch_store *st, int64_t sheet_id, ch_sheet *sheet, ch_err *err);

/* ---- store_csv.c ---- */

/* One cell, quoted where it has to be; an empty text is two quotes. */
void store_csv_cell(ch_text *csv, const char *text);
/* A person's text in a table for people: what a spreadsheet would take for a formula gets an apostrophe ahead. NULL and "" write nothing. */
void store_csv_words(ch_text *csv, const char *text);

/* The tables for people, a piece at a time; the caller has begun. */
ch_status store_readings_csv(ch_store *st, ch_store_sink *sink, void *context, ch_err *err);
ch_status store_history_csv(ch_store *st, ch_store_sink *sink, void *context, ch_err *err);

/* ---- store_sheet.c ---- */

/* Count a change of the sheet. CH_E_INPUT where there is none, or where `open` and it is closed. */
ch_status store_sheet_touch(ch_store *st, int64_t sheet_id, bool open, ch_err *err);

/* ---- store_work.c ---- */

/* CH_E_INPUT where there is no such work, or where `open` and it is closed. */
ch_status store_work_must_be(ch_store *st, int64_t id, bool open, ch_err *err);

/* ---- store_row.c ---- */

extern const char *const store_kind_names[CH_STORE_KINDS];
const section *store_kind_section(ch_store_kind kind);
void *store_row_member(ch_store_row *row); /* the struct that `kind` names */

/* Equal, or both NULL. */
bool store_same_text(const char *a, const char *b);

/* Insert one row, checked already; `replaces_id` 0 = new. The caller has begun. */
ch_status store_row_insert(ch_store *st, int64_t sheet_id, const ch_store_row *row, int64_t replaces_id,
                           int64_t first_id, bool deletion, const char *client, int64_t now_s, int64_t *id,
                           ch_err *err);

#endif
