/* Helpers that every unit test shares. */
#ifndef CROSSHATCH_TESTS_EXPECT_H
#define CROSSHATCH_TESTS_EXPECT_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

/* Absolute closeness; NaN is never close. */
#define expect_close(got, want, tolerance) expect_close_at((got), (want), (tolerance), #got, __FILE__, __LINE__)

/* Relative closeness; NaN is never close. */
#define expect_relative(got, want, tolerance)                                                                          \
    expect_close_at((got), (want), (tolerance)*fabs(want), #got, __FILE__, __LINE__)

static inline void expect_close_at(double got, double want, double tolerance, const char *what, const char *file,
                                   int line)
{
    if (!(fabs(got - want) <= tolerance)) {
        print_error("%s is %.17g, expected %.17g within %.3g\n", what, got, want, tolerance);
        _fail(file, line);
    }
}

#endif
