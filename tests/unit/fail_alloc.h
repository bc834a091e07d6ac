/*
 * Makes the nth allocation fail. In meson.build add `fail_alloc` to a test's dependencies: the linker then sends malloc,
 * calloc, realloc, strdup, strndup and free of the statically linked code through here. Shared libraries keep theirs.
 *
 *     for (long n = 1; ; n++) {
 *         fail_alloc_at(n);
 *         status = the_call_under_test();
 *         if (!fail_alloc_stop())
 *             break;                        the run met no fault: it must have succeeded
 *         assert_int_equal(status, CH_E_MEMORY);
 *     }
 */
#ifndef CROSSHATCH_TESTS_FAIL_ALLOC_H
#define CROSSHATCH_TESTS_FAIL_ALLOC_H

#include <stdbool.h>
#include <stddef.h>

/* From now on, the `n`th allocation (1 is the next one) fails, and no other. */
void fail_alloc_at(long n);

/* Let every allocation through again. True where one has failed since fail_alloc_at. */
bool fail_alloc_stop(void);

/* Allocations since fail_alloc_at. To count those of a call: fail_alloc_at(LONG_MAX). */
long fail_alloc_seen(void);

/* The most bytes that one malloc, calloc or realloc has asked for since fail_alloc_at. */
size_t fail_alloc_largest(void);

/* Of what was given since fail_alloc_at, before or after fail_alloc_stop, how much was not given back yet. Of a call that failed: nothing. */
size_t fail_alloc_left(void);

/*
 * How many faults a test spreads over an operation of which it tries but some: `usual`, unless CROSSHATCH_FAULTS names more. `./run coverage` does so: there, what is reached
 * only behind one certain call that fails is counted.
 */
long fail_alloc_most(long usual);

#endif
