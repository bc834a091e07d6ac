/* What the outputs of a Monte Carlo run say. Sources: include/crosshatch/uncertainty.h. */
#include <math.h>

#include "crosshatch/summary.h"
#include "crosshatch/uncertainty.h"

ch_status ch_monte_carlo_summarize(double y[], size_t n, double coverage_1, ch_monte_carlo *out, ch_err *err)
{
    if (!(coverage_1 > 0.0 && coverage_1 < 1.0))
        return ch_fail(err, CH_E_RANGE, "between 0 and 1", "coverage %g", coverage_1);
    for (size_t i = 0; i < n; i++)
        if (!isfinite(y[i]))
            return ch_fail(err, CH_E_RANGE, "finite outputs", "output %zu is %g", i + 1, y[i]);
    const size_t q = (size_t)(coverage_1 * (double)n + 0.5);
    if (q < 1 || q + 1 > n)
        return ch_fail(err, CH_E_RANGE, "more outputs", "%zu outputs cannot show a coverage of %g", n, coverage_1);

    ch_sort(y, n);
    /* Step c of 7.7.2: r = (n - q)/2, or the next whole number where that is none; ranks count from 1. */
    const size_t r = (n - q + 1) / 2;
    size_t shortest = 1;
    for (size_t i = 2; i + q <= n; i++)
        if (y[i - 1 + q] - y[i - 1] < y[shortest - 1 + q] - y[shortest - 1])
            shortest = i;
    *out = (ch_monte_carlo){.n = n,
                            .mean = ch_mean(y, n),
                            .sd = ch_sd(y, n),
                            .coverage_1 = coverage_1,
                            .low = y[r - 1],
                            .high = y[r - 1 + q],
                            .shortest_low = y[shortest - 1],
                            .shortest_high = y[shortest - 1 + q]};
    return CH_OK;
}

ch_status ch_chance_below(const double y[], size_t n, double threshold, double *p_1, double *u_p_1, ch_err *err)
{
    if (n == 0)
        return ch_fail(err, CH_E_RANGE, "one output or more", "no outputs");
    if (isnan(threshold))
        return ch_fail(err, CH_E_RANGE, "a number", "the threshold is unknown");
    size_t below = 0;
    for (size_t i = 0; i < n; i++) {
        if (isnan(y[i]))
            return ch_fail(err, CH_E_RANGE, "numbers", "output %zu is unknown", i + 1);
        below += y[i] < threshold;
    }
    const double count = (double)n;
    const double q = ((double)below + 1.0) / (count + 2.0);
    *p_1 = (double)below / count;
    if (u_p_1 != NULL)
        *u_p_1 = sqrt(q * (1.0 - q) / (count + 3.0));
    return CH_OK;
}

double ch_numerical_tolerance(double u, int digits)
{
    if (!(u > 0.0 && isfinite(u)) || digits < 1 || digits > 9)
        return NAN;
    int place = (int)floor(log10(u)) - (digits - 1);
    /* Rounding may carry: 0.0996 to two digits is 10 hundredths, not 100 thousandths. A log10 that is a hair off does the rest. */
    const double most = pow(10.0, digits);
    if (round(u / pow(10.0, place)) >= most)
        place++;
    return 0.5 * pow(10.0, place);
}

enum { FIGURES = 4 };

/* The four figures of a block whose averages must settle (7.9.4 step g). */
static double figure(const ch_monte_carlo *block, int which)
{
    const double figures[FIGURES] = {block->mean, block->sd, block->low, block->high};
    return figures[which];
}

static double average_of(const ch_monte_carlo block[], size_t blocks, int which)
{
    double sum = 0.0;
    for (size_t b = 0; b < blocks; b++)
        sum += figure(&block[b], which);
    return sum / (double)blocks;
}

/* Sum over blocks of the squared distance of a figure from its average. */
static double squares_of(const ch_monte_carlo block[], size_t blocks, int which)
{
    const double average = average_of(block, blocks, which);
    double squares = 0.0;
    for (size_t b = 0; b < blocks; b++) {
        const double distance = figure(&block[b], which) - average;
        squares += distance * distance;
    }
    return squares;
}

bool ch_monte_carlo_settled(const ch_monte_carlo block[], size_t blocks, int digits)
{
    if (blocks < 2)
        return false;
    const double count = (double)blocks, each = (double)block[0].n;
    double within = 0.0;
    for (size_t b = 0; b < blocks; b++)
        within += (each - 1.0) * block[b].sd * block[b].sd;
    const double u = sqrt((within + each * squares_of(block, blocks, 0)) / (count * each - 1.0));
    const double tolerance = ch_numerical_tolerance(u, digits);
    for (int which = 0; which < FIGURES; which++)
        if (!(2.0 * sqrt(squares_of(block, blocks, which) / (count * (count - 1.0))) <= tolerance))
            return false;
    return true;
}
