/* The equations of one cranking cylinder: volume, valves, leaks, heat, crevice, gauge. Knows no integrator.
 *
 * Source: Heywood, Internal Combustion Engine Fundamentals, 1988: first law for an open system (ch. 9), nozzle flow (App. C);
 * Annand, Proc. IMechE 177 (1963) 973. docs/method.md, "Cranking", gives every equation with its number. */
#include "cranking_model.h"

#include <math.h>

#include "crosshatch/air.h"
#include "crosshatch/flow.h"

#define PI 3.14159265358979323846

/* The nozzle law has an infinite slope at equal pressures. The flow is multiplied by (d^2/(d^2 + e^2))^(1/4), d the relative pressure
 * difference and e slope_1: linear within e, unchanged to e^2/(4 d^2) beyond. The pressure difference that drives a given flow is thereby
 * in error by less than a third of e. */
void cranking_constants_set(const ch_cranking *given, double slope_1, cranking_constants *constants)
{
    constants->given = given;
    constants->slope_1 = slope_1;
    constants->clearance_m3 = given->clearance_m3 + given->dead_m3;
    constants->piston_m2 = 0.25 * PI * given->bore.bore_m * given->bore.bore_m;
    constants->mean_piston_m_s = given->bore.stroke_m * given->speed_rad_s / PI;
    constants->crevice_kg_pa = given->crevice_m3 / (CH_AIR_R * given->wall_k);
    constants->annand_1_m = given->annand_1 / given->bore.bore_m;
    constants->wall_slope_m = PI * given->bore.bore_m;
    constants->wall_least_m2 =
        2.0 * constants->piston_m2 + constants->wall_slope_m * constants->clearance_m3 / constants->piston_m2;
    constants->warm_rings_m2 = given->leaks.rings_m2 * sqrt(given->air_k / given->wall_k);
    constants->gamma_air_1 = ch_air_gamma_1(given->air_k);
    constants->gamma_wall_1 = ch_air_gamma_1(given->wall_k);
    constants->enthalpy_air_j_kg = ch_air_enthalpy_j_kg(given->air_k);
    constants->enthalpy_wall_j_kg = ch_air_enthalpy_j_kg(given->wall_k);
    constants->gauge_pa_kg = CH_AIR_R * given->air_k / given->hose_m3;
}

/* Mass flux through an opening, kg/(s m2), from up to down, with the softened slope. down <= up. */
static double flux_kg_s_m2(const cranking_constants *constants, double up_pa, double up_k, double gamma_1,
                           double down_pa)
{
    const double ratio = down_pa / up_pa;
    const double d = 1.0 - ratio;
    const double flux = up_pa / sqrt(CH_AIR_R * up_k) * ch_flow_psi_1(ratio, gamma_1);
    if (d > 200.0 * constants->slope_1)
        return flux; /* the factor differs from 1 by less than 1e-5 */
    return flux * sqrt(d / sqrt(d * d + constants->slope_1 * constants->slope_1));
}

double cranking_pressure_pa(const cranking_constants *constants, double angle_rad, const double state[CRANKING_STATES])
{
    const double vol_m3 =
        constants->clearance_m3 + constants->piston_m2 * ch_piston_travel_m(&constants->given->bore, angle_rad);
    return state[CRANKING_MASS] / (vol_m3 / (CH_AIR_R * state[CRANKING_TEMP]) + constants->crevice_kg_pa);
}

double cranking_mass_kg(const cranking_constants *constants, double angle_rad, double pressure_pa, double temp_k)
{
    const double vol_m3 =
        constants->clearance_m3 + constants->piston_m2 * ch_piston_travel_m(&constants->given->bore, angle_rad);
    return pressure_pa * (vol_m3 / (CH_AIR_R * temp_k) + constants->crevice_kg_pa);
}

double cranking_energy_j(const cranking_constants *constants, double angle_rad, const double state[CRANKING_STATES])
{
    const double crevice_kg = cranking_pressure_pa(constants, angle_rad, state) * constants->crevice_kg_pa;
    const double temp_k = state[CRANKING_TEMP];
    const double wall_k = constants->given->wall_k;
    return (state[CRANKING_MASS] - crevice_kg) * (ch_air_enthalpy_j_kg(temp_k) - CH_AIR_R * temp_k) +
           crevice_kg * (constants->enthalpy_wall_j_kg - CH_AIR_R * wall_k);
}

/* What geometry and temperature alone decide. */
typedef struct cylinder {
    ch_piston_place piston;
    double vol_m3, volume_rate_m3_s, wall_m2;
    double temp_k, cp, cv, gamma_1, enthalpy_j_kg, energy_j_kg;
} cylinder;

static void cylinder_set(const cranking_constants *constants, double angle_rad, double temp_k, cylinder *c)
{
    const ch_cranking *given = constants->given;
    c->piston = ch_piston_at(&given->bore, angle_rad);
    c->vol_m3 = constants->clearance_m3 + constants->piston_m2 * c->piston.travel_m;
    c->volume_rate_m3_s = constants->piston_m2 * c->piston.rate_m_rad * given->speed_rad_s;
    c->wall_m2 = constants->wall_least_m2 + constants->wall_slope_m * c->piston.travel_m;
    c->temp_k = temp_k;
    c->cp = ch_air_cp_j_kg_k(temp_k);
    c->cv = c->cp - CH_AIR_R;
    c->gamma_1 = c->cp / c->cv;
    c->enthalpy_j_kg = ch_air_enthalpy_j_kg(temp_k);
    c->energy_j_kg = c->enthalpy_j_kg - CH_AIR_R * temp_k;
}

/* Heat into the gas, W. Annand: Nu = a Re^0.7 on the bore, mean piston speed. */
static double heat_w(const cranking_constants *constants, const cylinder *c, double main_kg)
{
    const ch_cranking *given = constants->given;
    const ch_air_transport air = ch_air_transport_at(c->temp_k);
    const double reynolds =
        main_kg * constants->mean_piston_m_s * given->bore.bore_m / (c->vol_m3 * air.viscosity_pa_s);
    return constants->annand_1_m * air.conductivity_w_m_k * exp(0.7 * log(reynolds)) * c->wall_m2 *
           (given->wall_k - c->temp_k);
}

static double beside_rings_m2(const ch_leak_areas *leaks)
{
    return leaks->exhaust_valve_m2 + leaks->neighbour_m2 + leaks->coolant_m2;
}

bool cranking_free(const cranking_constants *constants, cranking_open open, double angle_rad,
                   const double state[CRANKING_STATES], cranking_rates *rates)
{
    const ch_cranking *given = constants->given;
    const double gauge_pa = state[CRANKING_GAUGE];
    if (!(state[CRANKING_MASS] > 0.0 && state[CRANKING_TEMP] > 50.0 && state[CRANKING_TEMP] < 3000.0 && gauge_pa > 0.0))
        return false;
    cylinder c;
    cylinder_set(constants, angle_rad, state[CRANKING_TEMP], &c);
    const double pressure_pa = state[CRANKING_MASS] / (c.vol_m3 / (CH_AIR_R * c.temp_k) + constants->crevice_kg_pa);
    const double main_kg = state[CRANKING_MASS] - pressure_pa * constants->crevice_kg_pa;

    /* Flows in, and the enthalpy they bring: gas that comes in through a valve is at the air's temperature, from the crankcase at the
     * wall's; gas that leaves has the cylinder's. */
    const double to_intake_m2 =
        given->leaks.intake_valve_m2 + (open.intake ? ch_valve_area_m2(&given->intake, angle_rad) : 0.0);
    const double to_air_m2 =
        beside_rings_m2(&given->leaks) + (open.exhaust ? ch_valve_area_m2(&given->exhaust, angle_rad) : 0.0);
    const double to_crankcase_m2 = given->leaks.rings_m2;
    double intake = 0.0, other = 0.0, rings = 0.0, carried_w = 0.0;
    const double ambient_pa = given->ambient_pa;
    const bool one_pressure = given->intake_pa == ambient_pa;
    if (pressure_pa > ambient_pa) {
        if (to_air_m2 + to_crankcase_m2 > 0.0 || (one_pressure && to_intake_m2 > 0.0)) {
            const double flux = flux_kg_s_m2(constants, pressure_pa, c.temp_k, c.gamma_1, ambient_pa);
            other = -to_air_m2 * flux;
            rings = -to_crankcase_m2 * flux;
            intake = one_pressure ? -to_intake_m2 * flux : 0.0;
            carried_w = (other + rings + intake) * c.enthalpy_j_kg;
        }
    } else {
        if (to_air_m2 > 0.0 || (one_pressure && to_intake_m2 > 0.0)) {
            const double flux = flux_kg_s_m2(constants, ambient_pa, given->air_k, constants->gamma_air_1, pressure_pa);
            other = to_air_m2 * flux;
            intake = one_pressure ? to_intake_m2 * flux : 0.0;
            carried_w = (other + intake) * constants->enthalpy_air_j_kg;
        }
        if (to_crankcase_m2 > 0.0) {
            rings = to_crankcase_m2 *
                    flux_kg_s_m2(constants, ambient_pa, given->wall_k, constants->gamma_wall_1, pressure_pa);
            carried_w += rings * constants->enthalpy_wall_j_kg;
        }
    }
    if (!one_pressure && to_intake_m2 > 0.0) {
        if (pressure_pa > given->intake_pa) {
            intake = -to_intake_m2 * flux_kg_s_m2(constants, pressure_pa, c.temp_k, c.gamma_1, given->intake_pa);
            carried_w += intake * c.enthalpy_j_kg;
        } else {
            intake = to_intake_m2 *
                     flux_kg_s_m2(constants, given->intake_pa, given->air_k, constants->gamma_air_1, pressure_pa);
            carried_w += intake * constants->enthalpy_air_j_kg;
        }
    }
    double to_gauge = 0.0;
    const double ahead_pa = pressure_pa - given->check_opening_pa;
    if (!open.gauge_shut && ahead_pa > gauge_pa) {
        to_gauge = given->check_area_m2 * flux_kg_s_m2(constants, ahead_pa, c.temp_k, c.gamma_1, gauge_pa);
        carried_w -= to_gauge * c.enthalpy_j_kg;
    }

    /* First law of the main volume, with the crevice's share of the pressure change solved for: gas enters the crevice with the
     * cylinder's enthalpy and returns with the wall's, and the direction of the pressure decides which. */
    const double warming_w = heat_w(constants, &c, main_kg) - pressure_pa * c.volume_rate_m3_s + carried_w;
    const double net_kg_s = intake + other + rings - to_gauge;
    const double free_w = warming_w - c.energy_j_kg * net_kg_s;
    const double thermal_j = main_kg * c.cv * c.temp_k;
    const double drive = pressure_pa * (net_kg_s / main_kg + free_w / thermal_j - c.volume_rate_m3_s / c.vol_m3);
    const double into_crevice_j_kg = drive > 0.0 ? c.enthalpy_j_kg : constants->enthalpy_wall_j_kg;
    const double crevice_j_kg = into_crevice_j_kg - c.energy_j_kg;
    const double pressure_rate_pa_s =
        drive / (1.0 + pressure_pa * constants->crevice_kg_pa * (1.0 / main_kg + crevice_j_kg / thermal_j));
    const double crevice_kg_s = constants->crevice_kg_pa * pressure_rate_pa_s;

    rates->pressure_pa = pressure_pa;
    rates->intake_kg_s = intake;
    rates->other_kg_s = other;
    rates->rings_kg_s = rings;
    rates->gauge_kg_s = to_gauge;
    /* What the crevice holds has the wall's internal energy: the wall takes or gives the rest as heat. */
    rates->energy_w =
        warming_w + crevice_kg_s * (constants->enthalpy_wall_j_kg - CH_AIR_R * given->wall_k - into_crevice_j_kg);
    rates->state[CRANKING_MASS] = net_kg_s;
    rates->state[CRANKING_TEMP] = (free_w - crevice_j_kg * crevice_kg_s) / (main_kg * c.cv);
    rates->state[CRANKING_GAUGE] = to_gauge * constants->gauge_pa_kg;
    rates->float_1 = 0.0;
    return true;
}

bool cranking_can_float(const cranking_constants *constants, cranking_open open)
{
    const ch_cranking *given = constants->given;
    const bool one_pressure = given->intake_pa == given->ambient_pa;
    if (open.intake || open.exhaust)
        return open.intake != open.exhaust || one_pressure;
    /* Through a leak large enough a shut cylinder floats too; whether it is, float_1 says. */
    return one_pressure && given->leaks.rings_m2 + given->leaks.intake_valve_m2 + beside_rings_m2(&given->leaks) > 0.0;
}

bool cranking_float(const cranking_constants *constants, cranking_open open, double angle_rad,
                    const double state[CRANKING_STATES], cranking_rates *rates)
{
    const ch_cranking *given = constants->given;
    const double temp_k = state[CRANKING_TEMP];
    if (!(state[CRANKING_MASS] > 0.0 && temp_k > 50.0 && temp_k < 3000.0))
        return false;
    cylinder c;
    cylinder_set(constants, angle_rad, temp_k, &c);
    const double pressure_pa = state[CRANKING_MASS] / (c.vol_m3 / (CH_AIR_R * temp_k) + constants->crevice_kg_pa);
    const double main_kg = state[CRANKING_MASS] - pressure_pa * constants->crevice_kg_pa;
    const double manifold_pa = open.intake ? given->intake_pa : given->ambient_pa;
    const double heating_w = heat_w(constants, &c, main_kg);

    /* Leaks that share the open valves' other side count with the valves; where the throttle is shut, the rest is a given flow. */
    double leaks_m2;
    double side_in = 0.0, side_rings = 0.0, side_w = 0.0, side_out = 0.0;
    if (given->intake_pa == given->ambient_pa) {
        leaks_m2 = given->leaks.intake_valve_m2 + given->leaks.rings_m2 + beside_rings_m2(&given->leaks);
    } else if (open.intake) {
        leaks_m2 = given->leaks.intake_valve_m2;
        side_in = beside_rings_m2(&given->leaks) *
                  flux_kg_s_m2(constants, given->ambient_pa, given->air_k, constants->gamma_air_1, manifold_pa);
        side_rings = given->leaks.rings_m2 *
                     flux_kg_s_m2(constants, given->ambient_pa, given->wall_k, constants->gamma_wall_1, manifold_pa);
        side_w = side_in * constants->enthalpy_air_j_kg + side_rings * constants->enthalpy_wall_j_kg;
    } else {
        leaks_m2 = given->leaks.rings_m2 + beside_rings_m2(&given->leaks);
        side_out =
            given->leaks.intake_valve_m2 * flux_kg_s_m2(constants, manifold_pa, temp_k, c.gamma_1, given->intake_pa);
        side_w = -side_out * c.enthalpy_j_kg;
    }
    ch_valve_opening intake = {0.0, 0.0}, exhaust = {0.0, 0.0};
    if (open.intake)
        intake = ch_valve_at(&given->intake, angle_rad);
    if (open.exhaust)
        exhaust = ch_valve_at(&given->exhaust, angle_rad);
    /* What comes in past the rings is as warm as the wall: less of it, and with more enthalpy. */
    const bool with_rings = given->intake_pa == given->ambient_pa || !open.intake;
    const double rings_m2 = with_rings ? given->leaks.rings_m2 : 0.0;
    const double warm_m2 = with_rings ? constants->warm_rings_m2 : 0.0;
    const double beside_m2 = intake.area_m2 + exhaust.area_m2 + leaks_m2 - rings_m2;
    const double side_kg_s = side_in + side_rings - side_out;

    /* First law with the pressure at rest: the flow that the piston and the heat ask for. Its direction decides what it carries. */
    const double cv_t = c.cv * temp_k;
    const double at_rest_w = main_kg * c.cp * temp_k * c.volume_rate_m3_s / c.vol_m3 - heating_w -
                             (side_w - c.energy_j_kg * side_kg_s) - cv_t * side_kg_s;
    const bool inward = at_rest_w > 0.0;
    const double valves_m2 = beside_m2 + (inward ? warm_m2 : rings_m2);
    const double rings_share = valves_m2 > 0.0 ? (inward ? warm_m2 : rings_m2) / valves_m2 : 0.0;
    const double carried_j_kg =
        inward ? (1.0 - rings_share) * constants->enthalpy_air_j_kg + rings_share * constants->enthalpy_wall_j_kg
               : c.enthalpy_j_kg;
    const double per_kg_j = carried_j_kg - c.energy_j_kg + cv_t;

    /* The pressure difference that drives it (psi^2 = 2 d for small d, series of the nozzle law), and how that drifts as piston speed and
     * valve area change. */
    const double psi_w = sqrt(CH_AIR_R * (inward ? given->air_k : temp_k)) / (manifold_pa * valves_m2 * per_kg_j);
    const double psi_rest = at_rest_w * psi_w;
    const double psi_rate_s = psi_w * main_kg * c.cp * temp_k / c.vol_m3 * constants->piston_m2 *
                                  c.piston.second_m_rad2 * given->speed_rad_s * given->speed_rad_s -
                              psi_rest * (intake.rate_m2_rad + exhaust.rate_m2_rad) * given->speed_rad_s / valves_m2;
    const double d_rate_s = psi_rest * psi_rate_s;
    const double drift_s = inward ? -d_rate_s : d_rate_s; /* relative change of the pressure, 1/s */

    const double crevice_j_kg = (drift_s > 0.0 ? c.enthalpy_j_kg : constants->enthalpy_wall_j_kg) - c.energy_j_kg;
    const double store_w = main_kg * cv_t + (cv_t + crevice_j_kg) * constants->crevice_kg_pa *
                                                pressure_pa; /* to move the pressure, per relative rate */
    const double psi = (at_rest_w + store_w * drift_s) * psi_w;
    const double d = 0.5 * psi * psi;
    const double target_pa = manifold_pa * (psi > 0.0 ? 1.0 - d : 1.0 + d);

    /* The pressure is led back to that target within a few degrees, by flow that is booked like any other. */
    const double per_rad = 4.0;
    const double move_s = drift_s + per_rad * given->speed_rad_s * (target_pa / pressure_pa - 1.0);
    const double through_kg_s = (at_rest_w + store_w * move_s) / per_kg_j;
    const double crevice_kg_s = constants->crevice_kg_pa * pressure_pa * move_s;
    const double net_kg_s = through_kg_s + side_kg_s;

    /* The drift may correct the flow, not make it: where it does, the cylinder no longer follows the manifold. */
    const double d_rest = 0.5 * psi_rest * psi_rest;
    const bool follows = fabs(store_w * drift_s) < 0.2 * fabs(at_rest_w) || d_rest < 2e-5;
    rates->float_1 = valves_m2 > 0.0 && follows ? fmax(fmax(d, d_rest), fabs(pressure_pa / target_pa - 1.0)) : INFINITY;
    rates->pressure_pa = pressure_pa;
    rates->gauge_kg_s = 0.0;
    const double intake_share = open.intake ? (intake.area_m2 + given->leaks.intake_valve_m2) / valves_m2 : 0.0;
    rates->intake_kg_s = intake_share * through_kg_s - side_out;
    rates->other_kg_s = (1.0 - intake_share - rings_share) * through_kg_s + side_in;
    rates->rings_kg_s = rings_share * through_kg_s + side_rings;
    rates->energy_w =
        heating_w - pressure_pa * c.volume_rate_m3_s + through_kg_s * carried_j_kg + side_w +
        crevice_kg_s * (constants->enthalpy_wall_j_kg - CH_AIR_R * given->wall_k - crevice_j_kg - c.energy_j_kg);
    rates->state[CRANKING_MASS] = net_kg_s;
    rates->state[CRANKING_TEMP] =
        temp_k * (c.volume_rate_m3_s / c.vol_m3 + move_s - (net_kg_s - crevice_kg_s) / main_kg);
    rates->state[CRANKING_GAUGE] = 0.0;
    return pressure_pa - given->check_opening_pa <= state[CRANKING_GAUGE];
}

static void add_break(double breaks_rad[CRANKING_BREAKS_MAX], int *count, double angle_rad)
{
    double place = fmod(angle_rad, 4.0 * PI);
    if (place < 0.0)
        place += 4.0 * PI;
    int at = *count;
    while (at > 0 && breaks_rad[at - 1] > place) {
        breaks_rad[at] = breaks_rad[at - 1];
        at--;
    }
    breaks_rad[at] = place;
    ++*count;
}

/* Opening, closing, and the two angles where the seat area passes the port area. */
static void add_valve(double breaks_rad[CRANKING_BREAKS_MAX], int *count, const ch_valve *valve)
{
    add_break(breaks_rad, count, valve->opens_rad);
    add_break(breaks_rad, count, valve->opens_rad + valve->duration_rad);
    const double full_at_m = 0.25 * valve->diameter_m;
    if (valve->lift_m > full_at_m) {
        const double part_rad = asin(sqrt(full_at_m / valve->lift_m)) / PI * valve->duration_rad;
        add_break(breaks_rad, count, valve->opens_rad + part_rad);
        add_break(breaks_rad, count, valve->opens_rad + valve->duration_rad - part_rad);
    }
}

int cranking_breaks(const ch_cranking *given, double breaks_rad[CRANKING_BREAKS_MAX])
{
    int count = 0;
    for (int dead_centre = 0; dead_centre < 4; dead_centre++)
        add_break(breaks_rad, &count, dead_centre * PI);
    add_valve(breaks_rad, &count, &given->intake);
    add_valve(breaks_rad, &count, &given->exhaust);
    return count;
}
