/*
 * Makes the nth write, flush, read or other call to the disk fail, for every connection once fail_disk_begin() has run.
 *
 *     for (long n = 1;; n++) {
 *         fail_disk_at(FAIL_WRITE, n, false);
 *         status = the_call_under_test();
 *         if (!fail_disk_stop())
 *             break;                        the run met no fault
 *     }
 */
#ifndef CROSSHATCH_TESTS_STORE_FAIL_DISK_H
#define CROSSHATCH_TESTS_STORE_FAIL_DISK_H

#include <stdbool.h>

typedef enum fail_kind {
    FAIL_WRITE, /* an error of the disk, also while a file is cut or deleted; half of a write arrives */
    FAIL_FULL,  /* no room */
    FAIL_FLUSH,
    FAIL_READ,
    FAIL_OPEN,
    FAIL_SHARED, /* memory that the log's index needs */
    FAIL_KINDS
} fail_kind;

/* Put the layer in place; once a program. */
void fail_disk_begin(void);

/* The nth call of this kind fails; with `on`, so do all that follow. */
void fail_disk_at(fail_kind kind, long n, bool on);

/* Let every call through again. True where one has failed since fail_disk_at(). */
bool fail_disk_stop(void);

/* Calls of this kind since fail_disk_at(), whichever it is to make fail. To count those of an operation: fail_disk_at(kind, LONG_MAX, false). */
long fail_disk_seen(fail_kind kind);

#endif
