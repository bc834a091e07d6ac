/**
 * @file atmosphere.h
 * The air of the day: standard atmosphere, station pressure from what a person knows.
 */
#ifndef CROSSHATCH_ATMOSPHERE_H
#define CROSSHATCH_ATMOSPHERE_H

#include "crosshatch/status.h"

/**
 * Standard temperature, K, at geopotential altitude `altitude_m` (-1000..11000). CH_E_RANGE outside. Source: ISO 2533:1975.
 *
 * @param altitude_m Geopotential altitude, m, -1000..11000.
 * @param temp_k     (out) K. Untouched on failure.
 */
ch_status ch_atmosphere_temperature(double altitude_m, double *temp_k, ch_err *err);

/**
 * Standard pressure, Pa, at geopotential altitude `altitude_m` (-1000..11000). CH_E_RANGE outside. Source: ISO 2533:1975.
 *
 * @param altitude_m  Geopotential altitude, m, -1000..11000.
 * @param pressure_pa (out) Pa, absolute. Untouched on failure.
 */
ch_status ch_atmosphere_pressure(double altitude_m, double *pressure_pa, ch_err *err);

/** Geopotential altitude, m, of a geometric altitude, m. Source: ISO 2533:1975, r = 6 356 766 m. */
double ch_atmosphere_geopotential_m(double geometric_m);

/**
 * Station pressure, Pa, from a pressure reduced to sea level (QNH) and the altitude of the place.
 * Source: ICAO Doc 7488 / Annex 3 altimeter setting: QNH is the sea-level pressure whose standard atmosphere shows the field's altitude.
 * CH_E_RANGE outside 850..1100 hPa and -1000..11000 m (geopotential; below 3 km a map's altitude is within 1.5 m of it).
 *
 * @param sea_level_pressure_pa Pressure reduced to sea level (QNH), Pa, absolute.
 * @param altitude_m            Of the place, m.
 * @param pressure_pa           (out) Pa, absolute, as a barometer at that place shows it. Untouched on failure.
 */
ch_status ch_atmosphere_station_pressure(double sea_level_pressure_pa, double altitude_m, double *pressure_pa,
                                         ch_err *err);

/**
 * Pressure reduced to sea level (QNH), Pa, from a station pressure and the altitude of the place: the inverse of ch_atmosphere_station_pressure().
 * CH_E_RANGE outside -1000..11000 m, or where the pressure is not above 0, or none that the air has there.
 *
 * @param station_pressure_pa   As a barometer at the place shows it, Pa, absolute.
 * @param altitude_m            Of the place, m.
 * @param sea_level_pressure_pa (out) Pa, absolute. Untouched on failure.
 */
ch_status ch_atmosphere_sea_level_pressure(double station_pressure_pa, double altitude_m, double *sea_level_pressure_pa,
                                           ch_err *err);

/** Density of dry air as an ideal gas, kg/m3. R = 287.05287 J/(kg K). */
double ch_atmosphere_density_kg_m3(double pressure_pa, double temp_k);

#endif
