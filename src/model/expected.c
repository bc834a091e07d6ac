/* The reading of a sound cylinder as a distribution: many sound engines that fit the sheet, each read once. */
#include "crosshatch/expected.h"

#include <math.h>
#include <stdlib.h>

#include "crosshatch/prior.h"
#include "crosshatch/sampling.h"
#include "crosshatch/summary.h"

/* Columns of a draw: the doubts, the ring area, the gauge's gain. */
enum { RING = CH_DOUBT_COUNT, GAIN, DIMENSIONS };

static ch_status check(const ch_doubts *doubts, double gauge_u_relative_1, size_t draws, ch_err *err)
{
    if (!(gauge_u_relative_1 >= 0.0 && gauge_u_relative_1 <= 0.5))
        return ch_fail(err, CH_E_RANGE, "0 to 0.5", "standard uncertainty of the gauge's gain %g", gauge_u_relative_1);
    for (int doubt = 0; doubt < CH_DOUBT_COUNT; doubt++)
        if (!(doubts->sd[doubt] >= 0.0 && isfinite(doubts->sd[doubt])))
            return ch_fail(err, CH_E_RANGE, "0 or more", "standard uncertainty of %s %g",
                           ch_doubt_name((ch_doubt)doubt), doubts->sd[doubt]);
    if (draws < 1 || draws > CH_EXPECTED_DRAWS_MAX)
        return ch_fail(err, CH_E_LIMIT, "1 to 1048576", "%zu draws", draws);
    return CH_OK;
}

ch_status ch_expected_sound(const ch_emulator *emulator, const ch_doubts *doubts, const ch_setup *setup,
                            double gauge_u_relative_1, uint64_t seed, size_t draws, double quantile_pa[3], ch_err *err)
{
    ch_status rc = check(doubts, gauge_u_relative_1, draws, err);
    if (rc < 0)
        return rc;
    double *points = malloc(draws * (DIMENSIONS + 1) * sizeof *points);
    if (points == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for %zu draws of a sound cylinder", draws);
    double *readings_pa = points + draws * DIMENSIONS;
    rc = ch_sobol_points(seed, DIMENSIONS, draws, points, err);
    if (rc >= 0) {
        /* One cylinder is asked for, so that what sets its engine apart and what sets it apart from its neighbours add up. */
        const double ring_sd_1 = hypot(CH_PRIOR_RING_SD_ENGINE, CH_PRIOR_RING_SD_CYLINDER);
        const double ring_m2 = CH_PRIOR_RING_M2_PER_M * setup->cranking.bore.bore_m;
        for (size_t i = 0; i < draws; i++) {
            const double *point = points + i * DIMENSIONS;
            double offset[CH_DOUBT_COUNT];
            for (int doubt = 0; doubt < CH_DOUBT_COUNT; doubt++)
                offset[doubt] = doubts->sd[doubt] > 0.0 ? doubts->sd[doubt] * ch_normal_quantile(point[doubt]) : 0.0;
            const double area_m2 = ring_m2 * exp(ring_sd_1 * ch_normal_quantile(point[RING]));
            const double gain_1 = 1.0 + gauge_u_relative_1 * ch_normal_quantile(point[GAIN]);
            readings_pa[i] = fmax(gain_1, 0.0) * ch_emulator_reading_pa(emulator, offset, area_m2);
        }
        ch_sort(readings_pa, draws);
        quantile_pa[0] = ch_quantile_sorted(readings_pa, draws, 0.05);
        quantile_pa[1] = ch_quantile_sorted(readings_pa, draws, 0.50);
        quantile_pa[2] = ch_quantile_sorted(readings_pa, draws, 0.95);
    }
    free(points);
    return rc;
}
