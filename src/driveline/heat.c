/* Heat of each slip, and the temperature of what it goes into: one lump of iron that cools between slips (clutch.h). */
#include <math.h>

#include "parts.h"

static const double HOUSING_ASSUMED_K = 350; /* the bell housing's air is about as warm as the engine in front of it */

void heat_judge(const ch_car *car, ch_driveline *to)
{
    const ch_clutch_iron iron = ch_clutch_iron_for(car->clutch.outer_m);
    double temp_k = NAN, at_s = 0;
    for (size_t i = 0; i < to->slips; i++) {
        ch_slip *slip = &to->slip[i];
        const double air_k = isfinite(slip->oil_or_coolant_k) ? slip->oil_or_coolant_k : HOUSING_ASSUMED_K;
        const double seconds = slip->end_s - slip->start_s;
        slip->heat_j = fmax(slip->torque_n_m, 0) * slip->ahead_rad_s * seconds;
        temp_k = isfinite(temp_k) ? ch_clutch_temperature_after(&iron, temp_k, air_k, 0, fmax(slip->start_s - at_s, 0))
                                  : air_k;
        slip->plate_k = temp_k;
        temp_k = ch_clutch_temperature_after(&iron, temp_k, air_k, seconds > 0 ? slip->heat_j / seconds : 0, seconds);
        slip->peak_plate_k = temp_k;
        at_s = slip->end_s;
    }
}
