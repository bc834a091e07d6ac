/*
 * Makes the nth call of the store to SQLite fail, as where there is no memory: each statement, each value that goes in or comes out, once. In meson.build `fail_call`
 * sends the calls of the statically linked code through here; those within SQLite stay as they are.
 */
#ifndef CROSSHATCH_TESTS_STORE_FAIL_CALL_H
#define CROSSHATCH_TESTS_STORE_FAIL_CALL_H

#include <stdbool.h>

typedef enum fail_call_kind {
    FAIL_PREPARE,
    FAIL_STEP, /* the first of each time that a statement runs */
    FAIL_BIND,
    FAIL_COLUMN, /* a text or bytes that are there */
    FAIL_CALL_KINDS
} fail_call_kind;

/* As those of fail_alloc.h. */
void fail_call_at(fail_call_kind kind, long n);
bool fail_call_stop(void);
long fail_call_seen(fail_call_kind kind); /* of any kind, whichever was to fail */

#endif
