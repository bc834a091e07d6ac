/* The equations of the cranking cylinder, for its integrator (cranking.c) and for the outside integrator that checks it. Not installed. */
#ifndef CROSSHATCH_CRANKING_MODEL_H
#define CROSSHATCH_CRANKING_MODEL_H

#include <stdbool.h>

#include "crosshatch/cranking.h"

/* States: mass in cylinder and crevice, kg; temperature of the main volume, K; pressure in the gauge, Pa absolute. */
enum { CRANKING_MASS, CRANKING_TEMP, CRANKING_GAUGE, CRANKING_STATES };

/* What does not change during a run. */
typedef struct cranking_constants {
    const ch_cranking *given;
    double slope_1; /* relative pressure difference within which the nozzle law is made linear; see cranking_model.c */
    double clearance_m3; /* with the adapter */
    double piston_m2;
    double mean_piston_m_s;
    double crevice_kg_pa;               /* mass in the crevice over pressure */
    double annand_1_m;                  /* Annand's a over the bore */
    double wall_least_m2, wall_slope_m; /* wall area at top dead centre, and its growth with travel */
    double warm_rings_m2;               /* ring leak area for gas at the wall's temperature, as one for the air's */
    double gamma_air_1, gamma_wall_1;
    double enthalpy_air_j_kg, enthalpy_wall_j_kg;
    double gauge_pa_kg; /* R T / V of the hose */
} cranking_constants;

/* Which of the valves can be open in a stretch between two kinks; saves looking. gauge_shut holds the check valve shut whatever the pressure
 * ahead of it, so that an integrator that looks for its opening sees smooth equations up to there. */
typedef struct cranking_open {
    bool intake, exhaust, gauge_shut;
} cranking_open;

/* Flows and powers at one instant; positive into the cylinder. */
typedef struct cranking_rates {
    double pressure_pa;
    double intake_kg_s, other_kg_s, rings_kg_s, gauge_kg_s; /* other: exhaust side, neighbour, coolant */
    double energy_w; /* all that changes the energy of cylinder and crevice: heat, work, enthalpy carried */
    double state[CRANKING_STATES]; /* change of the states, per s */
    double
        float_1; /* floating only: the larger of what drives the flow and how far the pressure is from there, relative */
} cranking_rates;

void cranking_constants_set(const ch_cranking *given, double slope_1, cranking_constants *constants);

/* The whole equations. angle 0 = the first top dead centre of compression. false where the state is impossible. */
bool cranking_free(const cranking_constants *constants, cranking_open open, double angle_rad,
                   const double state[CRANKING_STATES], cranking_rates *rates);

/* The same cylinder while it floats at the manifold's pressure: the flow is what piston and heat ask for instead of what the nozzle law
 * gives, and the pressure is led to the manifold's changed by the little that drives that flow. Mass and energy are booked all the same.
 * cranking_can_float says whether the open valves have one and the same pressure behind them; float_1 how small that little is. */
bool cranking_can_float(const cranking_constants *constants, cranking_open open);
bool cranking_float(const cranking_constants *constants, cranking_open open, double angle_rad,
                    const double state[CRANKING_STATES], cranking_rates *rates);

double cranking_pressure_pa(const cranking_constants *constants, double angle_rad, const double state[CRANKING_STATES]);

/* Mass, kg, of cylinder and crevice at a pressure and temperature. */
double cranking_mass_kg(const cranking_constants *constants, double angle_rad, double pressure_pa, double temp_k);

/* Internal energy in cylinder and crevice, J, on the scale where enthalpy is zero at 298.15 K. */
double cranking_energy_j(const cranking_constants *constants, double angle_rad, const double state[CRANKING_STATES]);

/* Angles within one cycle [0, 4 pi) where the equations have a kink: dead centres, valve events. Sorted; returns their number. */
enum { CRANKING_BREAKS_MAX = 16 };
int cranking_breaks(const ch_cranking *given, double breaks_rad[CRANKING_BREAKS_MAX]);

#endif
