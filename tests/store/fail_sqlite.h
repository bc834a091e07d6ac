/*
 * Makes the nth allocation of SQLite itself fail. fail_sqlite_begin() comes before the first use of SQLite in the program.
 */
#ifndef CROSSHATCH_TESTS_STORE_FAIL_SQLITE_H
#define CROSSHATCH_TESTS_STORE_FAIL_SQLITE_H

#include <stdbool.h>

void fail_sqlite_begin(void);

/* As those of fail_alloc.h. */
void fail_sqlite_at(long n);
bool fail_sqlite_stop(void);
long fail_sqlite_seen(void);

#endif
