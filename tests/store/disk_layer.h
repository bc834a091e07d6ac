/*
 * A layer between SQLite and the system's files (an SQLite VFS), used by every connection once disk_layer_begin() has run. Calls go through to the
 * system's files; the hooks of a test see each one, may refuse it, and may keep a record of it.
 */
#ifndef CROSSHATCH_TESTS_STORE_DISK_LAYER_H
#define CROSSHATCH_TESTS_STORE_DISK_LAYER_H

#include <sqlite3.h>
#include <stdbool.h>

typedef enum disk_call_kind {
    DISK_OPEN,
    DISK_READ,
    DISK_WRITE,
    DISK_TRUNCATE,
    DISK_FLUSH,
    DISK_SIZE,
    DISK_SHARED, /* memory that the log's index needs */
    DISK_DELETE
} disk_call_kind;

typedef struct disk_call {
    disk_call_kind kind;
    const char *name;  /* whole path; NULL for a file without a name */
    const void *bytes; /* of a write */
    int amount;        /* its bytes */
    sqlite3_int64 at;  /* where; of a truncation: the size */
    int flags;         /* with which the file was opened: SQLite's SQLITE_OPEN_... */
    bool fresh;        /* the file was made by this opening of it, and not flushed since */
    bool folder;       /* of a deletion: the folder is flushed too */
    int arrives;       /* (out, before) of a write that is refused: bytes that reach the file all the same */
} disk_call;

typedef struct disk_hooks {
    int (*before)(disk_call *call); /* SQLITE_OK = let it through; anything else is what SQLite gets. May be NULL */
    void (*after)(const disk_call *call); /* of a call that succeeded. May be NULL */
} disk_hooks;

/* Put the layer in place with these hooks, or change them. */
void disk_layer_begin(disk_hooks hooks);

#endif
