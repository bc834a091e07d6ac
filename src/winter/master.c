/*
 * Simplex method on three rows: the shares add up to 1, and each limit is kept. A basis is three columns, which are solved by Cramer's
 * rule: nothing is carried from one step to the next, so no error builds up.
 */
#include "master.h"

#include <math.h>
#include <stdint.h>

enum { ROWS = 3, STEPS_MAX = 200 };
#define LIMIT_UNUSED(row) (SIZE_MAX - (row)) /* the slack of limit 0 or 1 as a column */

/* What a column holds in each row: 1 and what it takes; a slack holds 1 in its own. */
static void entries(const master_column columns[], size_t column, double entry[ROWS], double *score)
{
    entry[0] = entry[1] = entry[2] = 0.0;
    *score = 0.0;
    if (column >= LIMIT_UNUSED(1)) {
        entry[1 + (SIZE_MAX - column)] = 1.0;
        return;
    }
    entry[0] = 1.0;
    entry[1] = columns[column].takes[0];
    entry[2] = columns[column].takes[1];
    *score = columns[column].score;
}

/* Inverse of a 3 x 3 matrix; false where it has none. */
static bool invert(const double m[ROWS][ROWS], double inverse[ROWS][ROWS])
{
    double cofactor[ROWS][ROWS];
    for (int i = 0; i < ROWS; i++)
        for (int j = 0; j < ROWS; j++) {
            const int a = (i + 1) % ROWS, b = (i + 2) % ROWS, c = (j + 1) % ROWS, d = (j + 2) % ROWS;
            cofactor[i][j] = m[a][c] * m[b][d] - m[a][d] * m[b][c];
        }
    const double determinant = m[0][0] * cofactor[0][0] + m[0][1] * cofactor[0][1] + m[0][2] * cofactor[0][2];
    if (!(fabs(determinant) > 1e-13))
        return false;
    for (int i = 0; i < ROWS; i++)
        for (int j = 0; j < ROWS; j++)
            inverse[i][j] = cofactor[j][i] / determinant;
    return true;
}

typedef struct basis {
    size_t column[ROWS];
    double inverse[ROWS][ROWS];
    double score[ROWS];
    double share[ROWS];
    double dual[ROWS];
} basis;

static bool basis_solve(const master_column columns[], basis *b)
{
    double m[ROWS][ROWS]; /* columns of the basis as columns */
    for (int k = 0; k < ROWS; k++) {
        double entry[ROWS];
        entries(columns, b->column[k], entry, &b->score[k]);
        for (int row = 0; row < ROWS; row++)
            m[row][k] = entry[row];
    }
    if (!invert((const double(*)[ROWS])m, b->inverse))
        return false;
    for (int k = 0; k < ROWS; k++)
        b->share[k] =
            fmax(b->inverse[k][0] + b->inverse[k][1] + b->inverse[k][2], 0.0); /* right-hand sides are all 1 */
    for (int row = 0; row < ROWS; row++)
        b->dual[row] =
            b->score[0] * b->inverse[0][row] + b->score[1] * b->inverse[1][row] + b->score[2] * b->inverse[2][row];
    return true;
}

/* The column that would gain most, or SIZE_MAX - 2 where none gains anything. */
static size_t entering(const master_column columns[], size_t count, const basis *b)
{
    const size_t none = SIZE_MAX - 2;
    size_t found = none;
    const double size = fabs(b->dual[0]) + fabs(b->dual[1]) + fabs(b->dual[2]);
    double most = 1e-11 * size + 1e-9;
    for (size_t i = 0; i < count + 2; i++) {
        const size_t column = i < count ? i : LIMIT_UNUSED(i - count);
        double entry[ROWS], score = 0.0;
        entries(columns, column, entry, &score);
        const double gains = score - b->dual[0] * entry[0] - b->dual[1] * entry[1] - b->dual[2] * entry[2];
        if (gains > most) {
            most = gains;
            found = column;
        }
    }
    return found;
}

/* The row that leaves for a column, or -1. */
static int leaving(const master_column columns[], const basis *b, size_t column)
{
    double entry[ROWS], score = 0.0, least = INFINITY;
    int row = -1;
    entries(columns, column, entry, &score);
    for (int k = 0; k < ROWS; k++) {
        const double rate = b->inverse[k][0] * entry[0] + b->inverse[k][1] * entry[1] + b->inverse[k][2] * entry[2];
        if (rate > 1e-12 && b->share[k] / rate < least) {
            least = b->share[k] / rate;
            row = k;
        }
    }
    return row;
}

void master_solve(const master_column columns[], size_t count, master_result *result)
{
    basis now = {.column = {0, LIMIT_UNUSED(0), LIMIT_UNUSED(1)}};
    (void)basis_solve(columns, &now);
    for (int step = 0; step < STEPS_MAX; step++) {
        const size_t column = entering(columns, count, &now);
        const int row = column == SIZE_MAX - 2 ? -1 : leaving(columns, &now, column);
        if (row < 0)
            break;
        basis next = now;
        next.column[row] = column;
        if (!basis_solve(columns, &next))
            break;
        now = next;
    }
    *result = (master_result){.price = {fmax(now.dual[1], 0.0), fmax(now.dual[2], 0.0)},
                              .level = now.dual[0],
                              .value = now.dual[0] + now.dual[1] + now.dual[2]};
    for (int k = 0; k < ROWS; k++) {
        result->column[k] = now.column[k] < count ? now.column[k] : SIZE_MAX;
        result->share[k] = now.share[k];
    }
}
