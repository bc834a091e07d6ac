/*
 * A gear is the same whether the engine pulls or not; a clutch that slips at every pull in it is not. With the foot off it holds, and the car lies on the gear's own line; what
 * it lies on while pulled is none. So a line on which the car was only ever pulled is doubtful where it lay, foot off, on another a little below.
 */
#include <math.h>
#include <string.h>

#include "gears_parts.h"

enum { CELLS = 190 };
static const double CELL_1 = 0.002, LEAST_BELOW_1 = 0.035,
                    MOST_BELOW_1 = 0.30; /* what tyres creep by; what nobody goes on driving with: judgment */

/* Seconds of the steady rows by how far they lie below a line, pulled and not; the cells begin at the line. */
typedef struct load_spectrum {
    double pulled_s[CELLS], off_s[CELLS];
    double pulled_on_s, off_on_s; /* on the line itself */
} load_spectrum;

static void fill(load_spectrum *sp, const signals *s, const trail *t, double line)
{
    static const double pulls_m_s2 = 0.6, on_1 = 0.02; /* judgment */
    memset(sp, 0, sizeof *sp);
    for (size_t i = 0; i < s->n; i++) {
        const double below_1 = line - s->ratio[i];
        if (!gears_steady(s, t, i) || !(below_1 > -on_1) || !(below_1 < CELLS * CELL_1))
            continue;
        const bool pulled = signals_traction(s, i) > pulls_m_s2;
        const double seconds = gears_row_seconds(s, i);
        if (below_1 < on_1)
            *(pulled ? &sp->pulled_on_s : &sp->off_on_s) += seconds;
        if (below_1 >= 0)
            (pulled ? sp->pulled_s : sp->off_s)[(int)(below_1 / CELL_1)] += seconds;
    }
}

enum { HALF = 7, PEAK = 10 }; /* of a line's width, and of what it is to stand above, in cells */

/* Time within a line's width of so far below. */
static double around(const double seconds[CELLS], int cell)
{
    double sum = 0;
    for (int k = cell - HALF; k <= cell + HALF; k++)
        sum += seconds[k];
    return sum;
}

/* How far below the line is the first place that holds so much time with the foot off; NaN where none does. */
static double first_place(const load_spectrum *sp, double least_s, int *cell)
{
    for (int k = HALF; k * CELL_1 < MOST_BELOW_1; k++) {
        const double here_s = around(sp->off_s, k);
        bool highest = here_s > least_s;
        for (int j = k + 1; j <= k + PEAK && highest; j++)
            highest = here_s >= around(sp->off_s, j);
        if (!highest)
            continue;
        double sum = 0;
        for (int j = k - HALF; j <= k + HALF; j++)
            sum += (j + 0.5) * CELL_1 * sp->off_s[j];
        *cell = k;
        return sum / here_s;
    }
    return NAN;
}

double gears_foot_off(const signals *s, const trail *t, double line)
{
    /*
     * judgment: long enough pulled, hardly ever not; long enough on the other, and, where that may be a gear, seldom pulled there, and little of all that is pulled: a clutch that
     * holds at pulls in the other slips at none
     */
    static const double pulled_s = 8, never_1 = 0.03, off_s = 2, seldom_1 = 0.25, little_1 = 0.1;
    load_spectrum sp;
    int cell = 0;
    fill(&sp, s, t, line);
    if (!(sp.pulled_on_s > pulled_s) || !(sp.off_on_s < never_1 * sp.pulled_on_s))
        return NAN;
    const double below_1 = first_place(&sp, off_s, &cell);
    if (!(below_1 > LEAST_BELOW_1))
        return NAN;
    const double pulled_there_s = around(sp.pulled_s, cell);
    const bool a_gear =
        pulled_there_s >= seldom_1 * around(sp.off_s, cell) || pulled_there_s >= little_1 * sp.pulled_on_s;
    return below_1 >= GEARS_APART_1 && a_gear ? NAN : line - below_1;
}
