/**
 * @file leakdown.h
 * The leak-down (differential) test: loss from leak area and leak area from loss.
 */
#ifndef CROSSHATCH_LEAKDOWN_H
#define CROSSHATCH_LEAKDOWN_H

#include "crosshatch/status.h"

/** What feeds the cylinder and what surrounds it. */
typedef struct ch_leakdown_tester {
    double supply_gauge_pa; /* regulated pressure ahead of the orifice, Pa gauge, > 0 */
    double orifice_area_m2; /* effective: discharge coefficient times throat area, > 0 */
    double ambient_pa;      /* Pa absolute */
    double air_k;           /* supply air, K */
    double cylinder_k;      /* gas in the cylinder, K (the engine's temperature once settled) */
} ch_leakdown_tester;

/** Throat diameter, m, of the standard orifice for a bore. Source: FAA AC 43.13-1B Change 1, 8-14: 0.040 in below 5.00 in bore, else 0.060 in. */
double ch_leakdown_orifice_m(double bore_m);

/** Effective area, m2, of a round orifice: discharge * pi/4 d^2. */
double ch_leakdown_orifice_area_m2(double diameter_m, double discharge_1);

/**
 * Loss (supply - cylinder)/supply in gauge pressures, 0..1, for an effective leak area, m2, >= 0. Steady state; unique.
 *
 * @param tester       All of it above 0 and finite.
 * @param leak_area_m2 Effective, m2, >= 0, finite.
 * @param loss_1       (out) Part of the supply's gauge pressure that is lost, 0..1. Untouched on failure.
 */
ch_status ch_leakdown_loss_1(const ch_leakdown_tester *tester, double leak_area_m2, double *loss_1, ch_err *err);

/**
 * Effective leak area, m2, for a loss in [0, 1); inverse of ch_leakdown_loss_1. Loss 0 gives 0.
 *
 * @param tester       All of it above 0 and finite.
 * @param loss_1       Part of the supply's gauge pressure that is lost, 0 to below 1.
 * @param leak_area_m2 (out) Effective, m2. Untouched on failure.
 */
ch_status ch_leakdown_area_m2(const ch_leakdown_tester *tester, double loss_1, double *leak_area_m2, ch_err *err);

/**
 * Effective area of the tester's own orifice from a calibration: a known hole (a master orifice) that gave a known loss.
 * @param tester          its orifice_area_m2 is not read.
 * @param master_area_m2  effective area of the master orifice, > 0. @param loss_1 in (0, 1).
 * @param orifice_area_m2 (out) Effective, m2. Untouched on failure.
 */
ch_status ch_leakdown_calibrate_m2(const ch_leakdown_tester *tester, double master_area_m2, double loss_1,
                                   double *orifice_area_m2, ch_err *err);

#endif
