/**
 * @file clutch.h
 * A dry friction clutch: the torque it holds, the torque that a car in motion passes through it, and the heat of slipping.
 */
#ifndef CROSSHATCH_CLUTCH_H
#define CROSSHATCH_CLUTCH_H

#include "crosshatch/status.h"

/** Facing of one clutch plate. Diameters, as facings are sold. */
typedef struct ch_clutch_disc {
    double outer_m;       /**< outer diameter */
    double inner_m;       /**< inner diameter */
    double surfaces_1;    /**< rubbing faces; 2 for one plate */
    double clamp_force_n; /**< of the cover */
    double friction_1;    /**< coefficient of friction */
} ch_clutch_disc;

/**
 * Torque at which the clutch begins to slip, by both theories of the textbooks.
 *
 * Uniform pressure (new facings): T = mu F N (Do^3 - Di^3)/(3 (Do^2 - Di^2)). Uniform wear (run in): T = mu F N (Do + Di)/4.
 *
 * @param disc                                   All of it given; NaN anywhere is CH_E_RANGE.
 * @param uniform_pressure_n_m, uniform_wear_n_m (out) N m. Untouched on failure. The second is never the larger.
 * @retval CH_E_RANGE Not 0 <= inner < outer, or surfaces, force or friction not above 0.
 * Source: V. B. Bhandari, Design of Machine Elements, 2nd ed., 2007, chapter 11.
 */
ch_status ch_clutch_capacity(const ch_clutch_disc *disc, double *uniform_pressure_n_m, double *uniform_wear_n_m,
                             ch_err *err);

/** What resists a car. */
typedef struct ch_road_load {
    double mass_kg;
    double drag_area_m2; /**< drag coefficient times frontal area */
    double rolling_1;    /**< rolling resistance over weight */
} ch_road_load;

/**
 * Torque that the clutch passes.
 *
 * F = (1 + 0.04) m a + rho/2 CdA v^2 + f m g, T = F/(line efficiency): the clutch turns `line_rad_m` radians for each metre of road, so that neither
 * tyre nor ratio need be known. What turns between clutch and road is 4 % of the car's mass; the engine's own inertia is ahead of the clutch.
 *
 * @param load              Mass, kg; drag area, m2; rolling resistance over weight.
 * @param acceleration_m_s2 Of the car, on the level; an accelerometer's reading holds the slope too.
 * @param road_speed_m_s    Of the car, m/s; its square counts, so that no wind is taken to blow.
 * @param line_rad_m        Radians of clutch a metre of road, > 0: the engine's speed over the road's in that gear without slip.
 * @param efficiency_1      Of gearbox and final drive.
 * @return N m; NaN where an argument is NaN.
 * Source: T. D. Gillespie, Fundamentals of Vehicle Dynamics, 1992, chapter 2 (mass factor 1 + 0.04 + 0.0025 N^2, of which the last part is the
 * engine's) and chapter 4 (road loads); from memory.
 */
double ch_clutch_torque_passed(const ch_road_load *load, double acceleration_m_s2, double road_speed_m_s,
                               double line_rad_m, double efficiency_1);

/** Heat capacity and cooling of what a slipping clutch heats: pressure plate and flywheel face as one lump. */
typedef struct ch_clutch_iron {
    double heat_capacity_j_k;
    double cooling_w_k; /**< to the bell housing's air */
} ch_clutch_iron;

/** Iron of a clutch of this facing: 8 kg for a plate of 215 mm, in proportion to the cube of its diameter; 500 J/(kg K), a time constant of three minutes. NaN diameter: of 215 mm. */
ch_clutch_iron ch_clutch_iron_for(double outer_m);

/**
 * Temperature of the lump after `dt_s` with a steady heat flow into it: the exact solution of C dT/dt = P - h (T - T_air).
 *
 * @retval NaN where an argument is NaN or dt_s < 0.
 */
double ch_clutch_temperature_after(const ch_clutch_iron *iron, double temp_k, double air_k, double heat_w, double dt_s);

#endif
