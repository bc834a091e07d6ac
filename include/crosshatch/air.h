/**
 * @file air.h
 * Dry air as an ideal mixture of N2 0.78084, O2 0.20946, Ar 0.0097 (mole fractions), 200..1000 K.
 *
 * Source: NASA 7-coefficient polynomials, McBride, Gordon and Reno, NASA TM-4513, 1993; viscosity and conductivity after US Standard
 * Atmosphere 1976, eqs. 51 and 53. Valid 200..1000 K; outside, the polynomials are extended as they stand.
 */
#ifndef CROSSHATCH_AIR_H
#define CROSSHATCH_AIR_H

/** Specific gas constant of dry air, J/(kg K). Source: ISO 2533:1975. */
#define CH_AIR_R 287.05287

/** Specific heat at constant pressure, J/(kg K), at `temp_k`. */
double ch_air_cp_j_kg_k(double temp_k);

/** Specific enthalpy, J/kg, zero at 298.15 K. */
double ch_air_enthalpy_j_kg(double temp_k);

/** Ratio of specific heats cp/(cp - R), 1. */
double ch_air_gamma_1(double temp_k);

/** Entropy function s0(T) = integral of cp/T from 298.15 K, J/(kg K). */
double ch_air_entropy_j_kg_k(double temp_k);

/** Dynamic viscosity, Pa s. US Standard Atmosphere 1976, eq. 51. */
double ch_air_viscosity_pa_s(double temp_k);

/** Thermal conductivity, W/(m K). US Standard Atmosphere 1976, eq. 53. */
double ch_air_conductivity_w_m_k(double temp_k);

/** Both at once, for callers in a hurry. */
typedef struct ch_air_transport {
    double viscosity_pa_s, conductivity_w_m_k;
} ch_air_transport;

/** Both at once, as the two functions above give them one by one. */
ch_air_transport ch_air_transport_at(double temp_k);

#endif
