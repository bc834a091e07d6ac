/*
 * The standard atmosphere's lowest layer, and station pressure from a pressure reduced to sea level.
 *
 * Temperature falls linearly with geopotential altitude, so that pressure is a power of the temperature ratio. The
 * altimeter setting (QNH) works on the same curve: an altimeter shows the difference between the pressure altitudes of
 * the air outside and of the setting, and QNH is the setting with which it shows the altitude of the place. In powers
 * 1/n of the pressures that difference is linear, and needs no iteration.
 *
 * Sources: ISO 2533:1975, Standard Atmosphere; ICAO Doc 7488, 3rd ed. 1993 (the same model in this layer).
 */
#include "crosshatch/atmosphere.h"

#include <math.h>

#define SEA_LEVEL_K 288.15
#define SEA_LEVEL_PA 101325.0
#define LAPSE_K_M 0.0065
#define AIR_R_J_KG_K 287.05287
#define GRAVITY_M_S2 9.80665
#define EXPONENT (GRAVITY_M_S2 / (AIR_R_J_KG_K * LAPSE_K_M))
#define EARTH_M 6356766.0

#define LOWEST_M (-1000.0)
#define HIGHEST_M 11000.0

/* The lowest and highest sea-level pressures ever measured are near 870 and 1085 hPa (from memory); outside this range
   it is a station pressure or another unit. */
#define LOWEST_SEA_LEVEL_PA 85000.0
#define HIGHEST_SEA_LEVEL_PA 110000.0

static ch_status altitude_check(double altitude_m, ch_err *err)
{
    if (!(altitude_m >= LOWEST_M && altitude_m <= HIGHEST_M))
        return ch_fail(err, CH_E_RANGE, "-1000 m to 11000 m", "altitude %g m", altitude_m);
    return CH_OK;
}

ch_status ch_atmosphere_temperature(double altitude_m, double *temp_k, ch_err *err)
{
    const ch_status status = altitude_check(altitude_m, err);
    if (status < 0)
        return status;
    *temp_k = SEA_LEVEL_K - LAPSE_K_M * altitude_m;
    return CH_OK;
}

ch_status ch_atmosphere_pressure(double altitude_m, double *pressure_pa, ch_err *err)
{
    const ch_status status = altitude_check(altitude_m, err);
    if (status < 0)
        return status;
    *pressure_pa = SEA_LEVEL_PA * pow(1.0 - LAPSE_K_M * altitude_m / SEA_LEVEL_K, EXPONENT);
    return CH_OK;
}

double ch_atmosphere_geopotential_m(double geometric_m)
{
    return EARTH_M * geometric_m / (EARTH_M + geometric_m);
}

ch_status ch_atmosphere_station_pressure(double sea_level_pressure_pa, double altitude_m, double *pressure_pa,
                                         ch_err *err)
{
    if (!(sea_level_pressure_pa >= LOWEST_SEA_LEVEL_PA && sea_level_pressure_pa <= HIGHEST_SEA_LEVEL_PA))
        return ch_fail(err, CH_E_RANGE, "850 hPa to 1100 hPa", "sea-level pressure %g hPa",
                       sea_level_pressure_pa / 100.0);
    const ch_status status = altitude_check(altitude_m, err);
    if (status < 0)
        return status;
    const double base_1 = pow(sea_level_pressure_pa / SEA_LEVEL_PA, 1.0 / EXPONENT);
    *pressure_pa = SEA_LEVEL_PA * pow(base_1 - LAPSE_K_M * altitude_m / SEA_LEVEL_K, EXPONENT);
    return CH_OK;
}

ch_status ch_atmosphere_sea_level_pressure(double station_pressure_pa, double altitude_m, double *sea_level_pressure_pa,
                                           ch_err *err)
{
    if (!(station_pressure_pa > 0.0))
        return ch_fail(err, CH_E_RANGE, "more than 0", "station pressure %g hPa", station_pressure_pa / 100.0);
    const ch_status status = altitude_check(altitude_m, err);
    if (status < 0)
        return status;
    const double base_1 = pow(station_pressure_pa / SEA_LEVEL_PA, 1.0 / EXPONENT);
    const double reduced_pa = SEA_LEVEL_PA * pow(base_1 + LAPSE_K_M * altitude_m / SEA_LEVEL_K, EXPONENT);
    if (!(reduced_pa > 0.0) || !isfinite(reduced_pa)) /* below sea level, less than the air in between weighs */
        return ch_fail(err, CH_E_RANGE, "a pressure of the air", "station pressure %g hPa at %g m",
                       station_pressure_pa / 100.0, altitude_m);
    *sea_level_pressure_pa = reduced_pa;
    return CH_OK;
}

double ch_atmosphere_density_kg_m3(double pressure_pa, double temp_k)
{
    return pressure_pa / (AIR_R_J_KG_K * temp_k);
}
