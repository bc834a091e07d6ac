/*
 * The wet test's two effects, kept apart: oil fills part of the clearance volume, which lifts the reading of any
 * cylinder, and it seals the rings for a while, which lifts that of a cylinder with leaking rings only. Judging the rise
 * is not done here.
 */
#include "crosshatch/wet.h"

#include <math.h>

ch_status ch_wet_apply(const ch_wet_dose *dose, const ch_wet_cylinder *dry, ch_wet_cylinder *wet, ch_err *err)
{
    if (!(dry->clearance_m3 > 0.0) || !isfinite(dry->clearance_m3))
        return ch_fail(err, CH_E_RANGE, "above 0", "clearance volume %g ml", dry->clearance_m3 * 1e6);
    if (!(dry->ring_area_m2 >= 0.0) || !isfinite(dry->ring_area_m2))
        return ch_fail(err, CH_E_RANGE, "0 or more", "ring leak area %g mm2", dry->ring_area_m2 * 1e6);
    if (!(dose->oil_m3 >= 0.0) || !isfinite(dose->oil_m3))
        return ch_fail(err, CH_E_RANGE, "0 or more", "dose of oil %g ml", dose->oil_m3 * 1e6);
    if (!(dose->retained_1 >= 0.0 && dose->retained_1 <= 1.0))
        return ch_fail(err, CH_E_RANGE, "from 0 to 1", "part of the oil retained %g", dose->retained_1);
    if (!(dose->ring_factor_1 >= 0.0 && dose->ring_factor_1 <= 1.0))
        return ch_fail(err, CH_E_RANGE, "from 0 to 1", "ring area with oil over without %g", dose->ring_factor_1);
    const double oil_m3 = dose->oil_m3 * dose->retained_1;
    if (oil_m3 > ch_wet_largest_dose_m3(dry->clearance_m3))
        return ch_fail(err, CH_E_RANGE, "far less oil: so much can lock the engine and bend a rod",
                       "%g ml of oil in a clearance volume of %g ml", oil_m3 * 1e6, dry->clearance_m3 * 1e6);
    *wet = (ch_wet_cylinder){.clearance_m3 = dry->clearance_m3 - oil_m3,
                             .ring_area_m2 = dry->ring_area_m2 * dose->ring_factor_1};
    return CH_OK;
}

double ch_wet_largest_dose_m3(double clearance_m3)
{
    return CH_WET_FILL_LIMIT_1 * clearance_m3;
}
