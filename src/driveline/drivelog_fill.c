/*
 * Columns that are slower than the rows.
 *
 * Loggers that gather channels at several rates write a row whenever one of them brings news and leave the others empty. Such a column is put
 * on the straight line between its values, so that engine and road speed stand in the same rows. A row waits until the next value of each such
 * column is there, but never for more than half of the rows at work.
 */
#include <math.h>

#include "drivelog_parts.h"

static const double widest_s = 2; /* two values further apart are left apart */

size_t log_fill_ready(const ch_drivelog *r, size_t ready, size_t kept)
{
    size_t least = ready;
    for (size_t k = 0; k < r->active_n; k++) {
        const unsigned c = r->active[k];
        if (!r->sparse[c])
            continue;
        size_t behind = kept; /* the last value */
        while (behind > 0 && isnan(r->work.value[c][behind - 1]))
            behind--;
        least = behind < least ? behind : least;
    }
    return kept - least > CH_DRIVELOG_BATCH ? ready : least;
}

/* The first n rows, and the one behind them, have their time; those behind it still have their stamps. */
static double time_of(const ch_drivelog *r, size_t n, size_t row)
{
    const double at = r->work.value[CH_DRIVELOG_TIME][row];
    return row <= n ? at : r->clock.origin_time_s + (at - r->clock.origin_stamp_s);
}

static void fill_channel(ch_drivelog *r, unsigned c, size_t n, size_t kept, uint16_t filled[static LOG_WORK])
{
    double *const v = r->work.value[c];
    double before = r->last[c], before_s = r->last_value_s[c];
    for (size_t i = 0; i < n;) {
        if (!isnan(v[i])) {
            before = v[i];
            before_s = time_of(r, n, i++);
            continue;
        }
        size_t behind = i;
        while (behind < kept && isnan(v[behind]))
            behind++;
        const size_t end = behind < n ? behind : n;
        const double after_s = behind < kept ? time_of(r, n, behind) : NAN;
        const bool near = after_s - before_s <= widest_s && after_s > before_s;
        for (; i < end; i++)
            if (near && !isnan(before)) {
                v[i] = before + (v[behind] - before) * (time_of(r, n, i) - before_s) / (after_s - before_s);
                filled[i] |= (uint16_t)(1u << c);
            }
    }
}

void log_fill(ch_drivelog *r, size_t n, size_t kept, uint16_t filled[static LOG_WORK])
{
    for (size_t i = 0; i < n; i++)
        filled[i] = 0;
    for (size_t k = 0; k < r->active_n; k++)
        if (r->sparse[r->active[k]])
            fill_channel(r, r->active[k], n, kept, filled);
}
