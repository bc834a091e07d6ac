/*
 * Reading the NIST Statistical Reference Datasets in tests/data/nist-strd, and the measure used on them.
 *
 * Log relative error (LRE): -log10(|got - certified| / |certified|), or -log10 |got| where the certified value is 0; about
 * the number of correct digits. Source: McCullough, Assessing the Reliability of Statistical Software: Part I,
 * The American Statistician 52 (1998) 358.
 */
#ifndef CROSSHATCH_TESTS_STRD_H
#define CROSSHATCH_TESTS_STRD_H

#include <stdlib.h>
#include <string.h>

#include "expect.h"

enum { STRD_LINES_MAX = 6000, STRD_TEXT_MAX = 120 };

typedef struct strd {
    size_t lines;
    char (*line)[STRD_TEXT_MAX];
} strd;

static inline strd strd_open(const char *name)
{
    const char *root = getenv("CROSSHATCH_SOURCE");
    assert_non_null(root);
    char path[1024];
    snprintf(path, sizeof path, "%s/tests/data/nist-strd/%s", root, name);
    FILE *file = fopen(path, "r");
    if (file == NULL)
        fail_msg("cannot open %s", path);
    strd set = {.line = calloc(STRD_LINES_MAX, STRD_TEXT_MAX)};
    assert_non_null(set.line);
    while (set.lines < STRD_LINES_MAX && fgets(set.line[set.lines], STRD_TEXT_MAX, file) != NULL)
        set.lines++;
    fclose(file);
    return set;
}

static inline void strd_close(strd *set)
{
    free(set->line);
    set->line = NULL;
}

/* Numbers that follow `label` on the first line that starts (after spaces) with it; the count of them. */
static inline size_t strd_labelled(const strd *set, const char *label, double value[], size_t most)
{
    for (size_t k = 0; k < most; k++)
        value[k] = NAN;
    for (size_t i = 0; i < set->lines && i < 60; i++) {
        const char *text = set->line[i] + strspn(set->line[i], " ");
        if (strncmp(text, label, strlen(label)) != 0)
            continue;
        const char *at = strchr(text + strlen(label), ':');
        at = at != NULL ? at + 1 : text + strlen(label);
        at += strspn(at, " =");
        size_t count = 0;
        for (char *end = NULL; count < most; at = end) {
            const double number = strtod(at, &end);
            if (end == at)
                break;
            value[count++] = number;
        }
        if (count > 0)
            return count;
    }
    return 0;
}

static inline double strd_value(const strd *set, const char *label)
{
    double value = NAN;
    if (strd_labelled(set, label, &value, 1) != 1)
        fail_msg("no certified value \"%s\"", label);
    return value;
}

/* Rows of `columns` numbers from line `first` (1-based) to the end, row-major; the count of rows. */
static inline size_t strd_rows(const strd *set, size_t first, size_t columns, double value[], size_t most_rows)
{
    size_t rows = 0;
    for (size_t i = first - 1; i < set->lines && rows < most_rows; i++) {
        const char *at = set->line[i];
        size_t got = 0;
        for (char *end = NULL; got < columns; at = end, got++) {
            value[rows * columns + got] = strtod(at, &end);
            if (end == at)
                break;
        }
        if (got == 0)
            continue;
        if (got != columns)
            fail_msg("line %zu has %zu numbers, not %zu", i + 1, got, columns);
        rows++;
    }
    return rows;
}

static inline double log_relative_error(double got, double certified)
{
    if (got == certified)
        return 17.0;
    const double error = fabs(got - certified) / (certified == 0.0 ? 1.0 : fabs(certified));
    return -log10(error);
}

#define expect_digits(got, certified, digits) expect_digits_at((got), (certified), (digits), #got, __FILE__, __LINE__)

static inline void expect_digits_at(double got, double certified, double digits, const char *what, const char *file,
                                    int line)
{
    if (!(log_relative_error(got, certified) >= digits)) {
        print_error("%s is %.17g, certified %.17g: LRE %.2f, wanted %.2f\n", what, got, certified,
                    log_relative_error(got, certified), digits);
        _fail(file, line);
    }
}

#endif
