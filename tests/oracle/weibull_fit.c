/*
 * Fits read from the input for check_weibull.py. A set is a line "rows confidence", then rows of "low high count" (high inf: survivor).
 * Prints one line a set: shape scale log-likelihood shape-low shape-high scale-low scale-high.
 */
#include <math.h>
#include <stdio.h>

#include "crosshatch/weibull.h"

int main(void)
{
    enum { ROWS = 1000 };
    static ch_life life[ROWS];
    size_t rows = 0;
    double confidence_1 = NAN;
    while (scanf("%zu %lf", &rows, &confidence_1) == 2) {
        if (rows > ROWS)
            return 1;
        for (size_t i = 0; i < rows; i++)
            if (scanf("%lf %lf %zu", &life[i].low, &life[i].high, &life[i].count) != 3)
                return 1;
        ch_weibull fit;
        if (ch_weibull_fit(life, rows, confidence_1, &fit, NULL) < 0)
            return 1;
        printf("%.17g %.17g %.17g %.17g %.17g %.17g %.17g\n", fit.shape, fit.scale, fit.log_likelihood,
               fit.shape_interval[0], fit.shape_interval[1], fit.scale_interval[0], fit.scale_interval[1]);
    }
    return 0;
}
