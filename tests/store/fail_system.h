/*
 * Makes the nth call fail that the store makes itself: to the system (beside SQLite, for a copy and for a new garage file), to SQLite for whole pieces of work, to the
 * libraries of archives and digests. In meson.build, add `fail_system` to a test's dependencies: the linker then sends these calls of the statically linked code through
 * here; those that the libraries make among themselves go past it (for the disk: fail_disk.h).
 */
#ifndef CROSSHATCH_TESTS_STORE_FAIL_SYSTEM_H
#define CROSSHATCH_TESTS_STORE_FAIL_SYSTEM_H

#include <stdbool.h>

typedef enum fail_system_kind {
    FAIL_SYSTEM_OPEN,
    FAIL_SYSTEM_MKSTEMP,
    FAIL_SYSTEM_FCHMOD,
    FAIL_SYSTEM_FSYNC,
    FAIL_SYSTEM_CLOSE, /* the file is closed all the same, as Linux does */
    FAIL_SYSTEM_LINK,
    FAIL_SYSTEM_RENAME,
    FAIL_SYSTEM_CALLS,                       /* up to here with an errno; from here on with a code of the library's */
    FAIL_SYSTEM_CONNECT = FAIL_SYSTEM_CALLS, /* SQLite's: opening, */
    FAIL_SYSTEM_EXEC,                        /* SQL as text, */
    FAIL_SYSTEM_BLOB,                        /* bytes, piece by piece */
    FAIL_SYSTEM_DIGEST,                      /* GnuTLS's */
    FAIL_SYSTEM_NEW,                         /* libarchive's: making something, which gives NULL, */
    FAIL_SYSTEM_ARCHIVE,                     /* and all else: the code is the errno that it leaves behind, or, */
    FAIL_SYSTEM_ARCHIVE_SAYS,                /* the same calls, the number that it tells, with words of its own */
    FAIL_SYSTEM_KINDS
} fail_system_kind;
extern const char *const fail_system_names[FAIL_SYSTEM_KINDS];

/* From now on the nth call of this kind fails with this errno or code; with `on`, so do all that follow. Kinds are armed one beside the other. */
void fail_system_at(fail_system_kind kind, long n, int error, bool on);

/* Let every call through again. True where one has failed since fail_system_at(). */
bool fail_system_stop(void);

/* What the store does while it waits for another program, instead of sleeping; NULL = sleep. */
void fail_system_when_waiting(void (*instead)(void));

/* The clock on the wall is so much ahead from now on, as when somebody sets it; below 0 = behind. */
void fail_system_clock_ahead(long s);

#endif
