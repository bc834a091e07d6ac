/*
 * The best mixture of choices within two limits, and the prices at which it is the best. Private to winter.
 */
#ifndef CROSSHATCH_WINTER_MASTER_H
#define CROSSHATCH_WINTER_MASTER_H

#include <stdbool.h>
#include <stddef.h>

/* A choice: what it scores, and how much of each limit it takes, the limit being 1. */
typedef struct master_column {
    double score;
    double takes[2];
} master_column;

typedef struct master_result {
    double value;     /* of the mixture */
    double price[2];  /* of each limit, >= 0 */
    double level;     /* what every column is worth at these prices, at most */
    size_t column[3]; /* of the mixture; SIZE_MAX = unused limit */
    double share[3];  /* 0 to 1, adding up to 1 over the real columns */
} master_result;

/*
 * Maximise sum share * score, with shares that add up to 1 and take no more than 1 of each limit. The first column must keep the limits.
 * Simplex method with three rows (Dantzig, Linear Programming and Extensions, 1963).
 */
void master_solve(const master_column columns[], size_t count, master_result *result);

#endif
