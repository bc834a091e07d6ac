/* A dry friction clutch. Equations and sources: clutch.h, docs/driveline.md. */
#include "crosshatch/clutch.h"

#include <math.h>
#include <stddef.h>

static const double GRAVITY_M_S2 = 9.80665;
static const double AIR_KG_M3 = 1.20;           /* at 20 C and 101 kPa */
static const double WHEELS_AND_SHAFTS_1 = 0.04; /* of the car's mass */

ch_status ch_clutch_capacity(const ch_clutch_disc *disc, double *uniform_pressure_n_m, double *uniform_wear_n_m,
                             ch_err *err)
{
    const double outer = disc->outer_m, inner = disc->inner_m;
    if (!(inner >= 0) || !(outer > inner) || !isfinite(outer))
        return ch_fail(err, CH_E_RANGE, "an outer diameter above the inner one",
                       "a clutch facing of %.4g m outside, %.4g m inside", outer, inner);
    const double grip_n = disc->friction_1 * disc->clamp_force_n * disc->surfaces_1;
    if (!(disc->friction_1 > 0) || !(disc->clamp_force_n > 0) || !(disc->surfaces_1 > 0) || !isfinite(grip_n))
        return ch_fail(err, CH_E_RANGE, "friction, clamp force and number of surfaces above 0",
                       "a clutch of friction %.3g, clamp force %.4g N, %.3g surfaces", disc->friction_1,
                       disc->clamp_force_n, disc->surfaces_1);
    const double pressure_n_m = grip_n * (outer * outer + outer * inner + inner * inner) / (3 * (outer + inner));
    if (!isfinite(pressure_n_m))
        return ch_fail(err, CH_E_RANGE, "smaller numbers", "a clutch facing of %.4g m gripped by %.4g N", outer,
                       grip_n);
    *uniform_pressure_n_m = pressure_n_m;
    *uniform_wear_n_m = grip_n * (outer + inner) / 4;
    return CH_OK;
}

double ch_clutch_torque_passed(const ch_road_load *load, double acceleration_m_s2, double road_speed_m_s,
                               double line_rad_m, double efficiency_1)
{
    const double force_n = (1 + WHEELS_AND_SHAFTS_1) * load->mass_kg * acceleration_m_s2 +
                           0.5 * AIR_KG_M3 * load->drag_area_m2 * road_speed_m_s * road_speed_m_s +
                           load->rolling_1 * load->mass_kg * GRAVITY_M_S2;
    return force_n / (line_rad_m * efficiency_1);
}

ch_clutch_iron ch_clutch_iron_for(double outer_m)
{
    static const double iron_kg = 8, of_m = 0.215, iron_j_kg_k = 500, time_constant_s = 180;
    const double size = outer_m > 0 ? outer_m / of_m : 1;
    const double heat_capacity_j_k = iron_kg * size * size * size * iron_j_kg_k;
    return (ch_clutch_iron){.heat_capacity_j_k = heat_capacity_j_k, .cooling_w_k = heat_capacity_j_k / time_constant_s};
}

double ch_clutch_temperature_after(const ch_clutch_iron *iron, double temp_k, double air_k, double heat_w, double dt_s)
{
    if (!(dt_s >= 0))
        return NAN;
    const double settles_k = air_k + heat_w / iron->cooling_w_k;
    return settles_k + (temp_k - settles_k) * exp(-dt_s * iron->cooling_w_k / iron->heat_capacity_j_k);
}
