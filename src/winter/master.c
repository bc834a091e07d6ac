/*
 * Simplex method on a few rows: row 0 says that the shares add up to 1, the others are the limits. The basis begins with the first column and
 * the slack of every limit, whose inverse can be written down; a few dozen exchanges later, too few for errors to build up, it is done.
 */
#include "master.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

enum { ROWS_MAX = MASTER_LIMITS_MAX + 1, STEPS_MAX = 400 };

/* What stands in a row of the basis: a column, or the slack of limit k as COLUMNS_MAX + k. */
typedef struct basis {
    size_t rows;
    size_t column[ROWS_MAX];
    double inverse[ROWS_MAX][ROWS_MAX];
    double score[ROWS_MAX], share[ROWS_MAX], dual[ROWS_MAX];
} basis;

static void begin(const master_column columns[], size_t limits, basis *b)
{
    b->rows = limits + 1;
    for (size_t i = 0; i < b->rows; i++) {
        memset(b->inverse[i], 0, b->rows * sizeof b->inverse[i][0]);
        b->inverse[i][i] = 1.0;
        b->score[i] = i == 0 ? columns[0].score : 0.0;
        b->column[i] = i == 0 ? 0 : MASTER_COLUMNS_MAX + i - 1;
        b->share[i] = 1.0;
        if (i > 0) {
            b->inverse[i][0] = -columns[0].takes[i - 1];
            b->share[i] = 1.0 - columns[0].takes[i - 1];
        }
    }
}

static void find_duals(basis *b)
{
    for (size_t row = 0; row < b->rows; row++) {
        b->dual[row] = 0.0;
        for (size_t i = 0; i < b->rows; i++)
            if (b->score[i] != 0.0)
                b->dual[row] += b->score[i] * b->inverse[i][row];
    }
}

/* The column or slack that gains most, or SIZE_MAX where none gains anything. */
static size_t entering(const master_column columns[], size_t count, const basis *b)
{
    size_t found = SIZE_MAX;
    double most = 1e-9 + 1e-11 * fabs(b->dual[0]);
    for (size_t i = 0; i < count; i++) {
        double gains = columns[i].score - b->dual[0];
        for (size_t k = 1; k < b->rows; k++)
            gains -= b->dual[k] * columns[i].takes[k - 1];
        if (gains > most) {
            most = gains;
            found = i;
        }
    }
    for (size_t k = 1; k < b->rows; k++)
        if (-b->dual[k] > most) {
            most = -b->dual[k];
            found = MASTER_COLUMNS_MAX + k - 1;
        }
    return found;
}

/* The inverse times what enters. */
static void find_rates(const master_column columns[], size_t enters, const basis *b, double rate[ROWS_MAX])
{
    for (size_t i = 0; i < b->rows; i++) {
        if (enters >= MASTER_COLUMNS_MAX) {
            rate[i] = b->inverse[i][enters - MASTER_COLUMNS_MAX + 1];
            continue;
        }
        rate[i] = b->inverse[i][0];
        for (size_t k = 1; k < b->rows; k++)
            rate[i] += b->inverse[i][k] * columns[enters].takes[k - 1];
    }
}

static size_t leaving(const basis *b, const double rate[ROWS_MAX])
{
    size_t found = SIZE_MAX;
    double least = INFINITY;
    for (size_t i = 0; i < b->rows; i++)
        if (rate[i] > 1e-11 && b->share[i] / rate[i] < least) {
            least = b->share[i] / rate[i];
            found = i;
        }
    return found;
}

static void exchange(const master_column columns[], size_t enters, size_t leaves, const double rate[ROWS_MAX], basis *b)
{
    const double step = b->share[leaves] / rate[leaves];
    for (size_t k = 0; k < b->rows; k++)
        b->inverse[leaves][k] /= rate[leaves];
    for (size_t i = 0; i < b->rows; i++) {
        if (i == leaves || rate[i] == 0.0)
            continue;
        b->share[i] = fmax(b->share[i] - step * rate[i], 0.0);
        for (size_t k = 0; k < b->rows; k++)
            b->inverse[i][k] -= rate[i] * b->inverse[leaves][k];
    }
    b->share[leaves] = step;
    b->column[leaves] = enters;
    b->score[leaves] = enters < MASTER_COLUMNS_MAX ? columns[enters].score : 0.0;
}

void master_solve(const master_column columns[], size_t count, size_t limits, master_result *result)
{
    basis b;
    begin(columns, limits, &b);
    find_duals(&b);
    for (int step = 0; step < STEPS_MAX; step++) {
        const size_t enters = entering(columns, count, &b);
        double rate[ROWS_MAX];
        if (enters == SIZE_MAX)
            break;
        find_rates(columns, enters, &b, rate);
        const size_t leaves = leaving(&b, rate);
        if (leaves == SIZE_MAX)
            break;
        exchange(columns, enters, leaves, rate, &b);
        find_duals(&b);
    }
    memset(result->share, 0, count * sizeof result->share[0]);
    result->value = 0.0;
    for (size_t i = 0; i < b.rows; i++) {
        result->value += b.score[i] * b.share[i];
        if (b.column[i] < count)
            result->share[b.column[i]] = b.share[i];
        if (i > 0)
            result->price[i - 1] = fmax(b.dual[i], 0.0);
    }
}
