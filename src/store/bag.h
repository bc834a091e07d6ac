/*
 * What the rooms of the archive share: a bag being written, the tables that it holds, and the list of its files.
 * Private to store. The archive's public face: crosshatch/store_archive.h.
 */
#ifndef CROSSHATCH_STORE_BAG_H
#define CROSSHATCH_STORE_BAG_H

#include <archive.h>
#include <archive_entry.h>
#include <gnutls/crypto.h>

#include "crosshatch/store_archive.h"
#include "store_parts.h"

#define BAG_TOP "crosshatch-garage/"
#define BAG_DATA "data/"
#define BAG_TABLES "data/tables/"

enum {
    BAG_PIECE = 64 * 1024,
    BAG_DIGEST = 32,                 /* bytes of a SHA-256 */
    BAG_LIST_MAX = 48 * 1024 * 1024, /* bytes of the list of digests */
    BAG_TABLES_MAX = 64,
    BAG_COLUMNS_MAX = 64,
    BAG_CELL_MAX = 2 * 1024 * 1024, /* bytes of one text in a table */
    BAG_BLOB_MAX = 64 * 1024 * 1024 /* bytes of one file that a row names */
};

/* ---- bag.c: writing ---- */

typedef struct bag {
    struct archive *zip; /* NULL: only digests are wanted */
    struct archive_entry *entry;
    ch_store_sink *sink;
    void *context;
    ch_err *sink_err; /* where the sink reports; valid during a call */
    bool sink_failed;
    ch_status sink_status;
    gnutls_hash_hd_t hash; /* of the file being written; NULL between files */
    char path[CH_STORE_ARCHIVE_PATH_MAX + 1];
    ch_text manifest, tags; /* lines "digest  path" of the payload, and of the rest */
    int64_t files, bytes;   /* of the payload */
} bag;

ch_status bag_open(bag *b, ch_store_sink *sink, void *context, ch_err *err);
/* Begin a file. `size` bytes, kept as they are; -1 = not known, deflated. */
ch_status bag_begin(bag *b, const char *path, int64_t size, ch_err *err);
/* A ch_store_sink whose context is the bag. */
ch_status bag_put(const void *bytes, size_t length, void *context, ch_err *err);
ch_status bag_end(bag *b, ch_err *err);
ch_status bag_file(bag *b, const char *path, const char *text, size_t length, ch_err *err); /* the three in one */
ch_status bag_finish(bag *b, int version, ch_err *err); /* the lists, and the archive's end: of a bag with a sink */
void bag_clear(bag *b);

/* Whether the call of libarchive that failed, before which errno was 0, failed for want of memory. */
bool bag_lacks_memory(struct archive *zip);

/* 64 hexadecimal digits. */
void bag_digest_text(const unsigned char digest[BAG_DIGEST], char text[2 * BAG_DIGEST + 1]);

/* ---- bag_table.c: tables as they are, whatever the version ---- */

typedef struct table_column {
    char name[48];
    char type; /* i integer, r real, t text, b bytes (a file of its own) */
    int key;   /* its place in the primary key, from 1; 0 = not in it */
} table_column;

typedef struct table {
    char name[48];
    table_column *column; /* `columns`, from the pool */
    int columns;
} table;

/* All tables that hold what people entered, by name. */
ch_status bag_tables(ch_store *st, ch_store_pool *pool, const table **tables, size_t *count, ch_err *err);

/* "data/tables/car.csv" */
void bag_table_path(const table *t, char path[static CH_STORE_ARCHIVE_PATH_MAX + 1]);

/* "photos/photo-0001.jpg", below data/: where the bytes of a row's column lie. `mime` NULL = not told. */
void bag_blob_name(const char *table_name, const char *column, int64_t id, const char *mime,
                   char name[static CH_STORE_ARCHIVE_PATH_MAX + 1]);

/* The tables, and then the bytes of their rows, into the bag. The caller has begun. */
ch_status bag_put_tables(ch_store *st, bag *b, ch_err *err);

/* ---- bag_check.c: reading ---- */

/* A file that the archive holds, as its list has it. */
typedef struct bag_entry {
    char path[CH_STORE_ARCHIVE_PATH_MAX + 1];
    unsigned char digest[BAG_DIGEST];
    int64_t size; /* -1 = listed, but not seen */
    bool used;    /* a row of a table names it */
    /* for the bytes of a row */
    const table *table;
    int column;
    int64_t row_id;
} bag_entry;

typedef struct bag_list {
    bag_entry *file; /* `count`, by path */
    size_t count;
    int64_t bytes;
    int version;
} bag_list;

/* A piece of the file `path` (without the top folder); `length` 0 = its end. */
typedef ch_status bag_take(const char *path, const void *bytes, size_t length, void *context, ch_err *err);

/* Go through all files of the archive in their order. */
ch_status bag_walk(const ch_store_source *source, bag_take *take, void *context, ch_err *err);

/* Read all, and compare with the lists inside. The caller frees list->file. */
ch_status bag_check(const ch_store_source *source, bag_list *list, ch_err *err);

/* The file of this path, or NULL. */
bag_entry *bag_find(const bag_list *list, const char *path);

/* "name: data/tables/car.csv" as the place of a failure. */
void bag_locate(ch_err *err, const char *name, const char *path, long line, long column);

/* ---- bag_rows.c: a table's CSV, piece by piece, as rows of the store ---- */

typedef struct bag_rows bag_rows;
ch_status bag_rows_open(ch_store *st, const table *t, bag_list *list, bag_rows **rows, ch_err *err);
ch_status bag_rows_feed(bag_rows *rows, const char *bytes, size_t length, ch_err *err);
ch_status bag_rows_end(bag_rows *rows, ch_err *err);
long bag_rows_line(const bag_rows *rows, long *column); /* where it stands */
void bag_rows_free(bag_rows *rows);

#endif
