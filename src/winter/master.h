/*
 * The best mixture of choices within limits, and the prices at which it is the best. Private to winter.
 */
#ifndef CROSSHATCH_WINTER_MASTER_H
#define CROSSHATCH_WINTER_MASTER_H

#include <stdbool.h>
#include <stddef.h>

enum { MASTER_COLUMNS_MAX = 128, MASTER_LIMITS_MAX = 40 };

/* A choice: what it scores, and how much of each limit it takes, the limit being 1. */
typedef struct master_column {
    double score;
    double takes[MASTER_LIMITS_MAX];
} master_column;

typedef struct master_result {
    double value;                     /* of the mixture */
    double price[MASTER_LIMITS_MAX];  /* of each limit, >= 0 */
    double share[MASTER_COLUMNS_MAX]; /* of each column; they add up to 1 */
} master_result;

/*
 * Maximise sum share * score, with shares that add up to 1 and take no more than 1 of each limit. The first column must keep the limits.
 * Simplex method (Dantzig, Linear Programming and Extensions, 1963) with the inverse of the basis in full.
 */
void master_solve(const master_column columns[], size_t count, size_t limits, master_result *result);

#endif
