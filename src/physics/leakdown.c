/*
 * The leak-down test: two openings in a row, the tester's orifice and the cylinder's leaks, with the cylinder between
 * them at the pressure where as much leaves as arrives.
 *
 * Written in the loss L = (supply - cylinder)/supply, gauge pressures: the flow in rises with L and the flow out falls,
 * so there is exactly one balance. From loss to area it is a quotient. From area to loss it is a root; where both
 * openings are choked the flows are linear in the pressures ahead of them and the root is a quotient as well.
 *
 * Source of the method and of the orifices: FAA AC 43.13-1B, Change 1, paragraph 8-14.
 */
#include "crosshatch/leakdown.h"

#include <math.h>
#include <stddef.h>

#include "crosshatch/air.h"
#include "crosshatch/flow.h"

#define PI 3.14159265358979323846
#define INCH_M 0.0254

/* Two neighbouring doubles, relative. Ridders' method halves its bracket at least, so 64 rounds exhaust the digits of a
   root near 1; the rest are for roots near 0, leaks far smaller than the orifice. */
#define CLOSE_1 4e-16
#define ROUNDS 200

/* What one square metre of orifice lets in and one of leak lets out, as far as these do not depend on the loss. */
typedef struct balance {
    double supply_pa, ambient_pa, supply_gauge_pa;
    double in_gamma_1, out_gamma_1;
    double in_s_m, out_s_m; /* 1/sqrt(R T) */
} balance;

static ch_status balance_init(balance *b, const ch_leakdown_tester *tester, ch_err *err)
{
    if (!(tester->supply_gauge_pa > 0.0) || !isfinite(tester->supply_gauge_pa))
        return ch_fail(err, CH_E_RANGE, "above 0", "supply pressure %g kPa gauge", tester->supply_gauge_pa * 1e-3);
    if (!(tester->ambient_pa > 0.0) || !isfinite(tester->ambient_pa))
        return ch_fail(err, CH_E_RANGE, "above 0", "ambient pressure %g kPa", tester->ambient_pa * 1e-3);
    if (!(tester->air_k > 0.0) || !isfinite(tester->air_k))
        return ch_fail(err, CH_E_RANGE, "above 0 K", "temperature of the supply air %g K", tester->air_k);
    if (!(tester->cylinder_k > 0.0) || !isfinite(tester->cylinder_k))
        return ch_fail(err, CH_E_RANGE, "above 0 K", "temperature in the cylinder %g K", tester->cylinder_k);
    b->ambient_pa = tester->ambient_pa;
    b->supply_gauge_pa = tester->supply_gauge_pa;
    b->supply_pa = tester->supply_gauge_pa + tester->ambient_pa;
    b->in_gamma_1 = ch_air_gamma_1(tester->air_k);
    b->out_gamma_1 = ch_air_gamma_1(tester->cylinder_k);
    b->in_s_m = 1.0 / sqrt(CH_AIR_R * tester->air_k);
    b->out_s_m = 1.0 / sqrt(CH_AIR_R * tester->cylinder_k);
    if (!isfinite(b->supply_pa))
        return ch_fail(err, CH_E_RANGE, "smaller numbers", "supply pressure %g kPa gauge over %g kPa",
                       tester->supply_gauge_pa * 1e-3, tester->ambient_pa * 1e-3);
    if (!(b->in_gamma_1 > 1.0 &&
          b->out_gamma_1 > 1.0)) /* the polynomials of air.h, far outside of what they were fitted to */
        return ch_fail(err, CH_E_RANGE, "about 200 K to 1000 K", "air of %g K and %g K", tester->air_k,
                       tester->cylinder_k);
    return CH_OK;
}

/* Both fluxes take the part of the gauge pressure lost, L, and the part held, 1 - L, so that each keeps its digits where
   the other is nearly 1. */

/* Flow into the cylinder for each square metre of orifice, kg/(s m2). */
static double flux_in(const balance *b, double loss_1)
{
    return b->supply_pa * b->in_s_m * ch_flow_psi_drop_1(loss_1 * b->supply_gauge_pa / b->supply_pa, b->in_gamma_1);
}

/* Flow out of the cylinder for each square metre of leak, kg/(s m2). */
static double flux_out(const balance *b, double held_1)
{
    const double gauge_pa = held_1 * b->supply_gauge_pa;
    const double pressure_pa = b->ambient_pa + gauge_pa;
    return pressure_pa * b->out_s_m * ch_flow_psi_drop_1(gauge_pa / pressure_pa, b->out_gamma_1);
}

/* Flow in less flow out, for `area_1` square metres of leak to one of orifice. The nozzle law has an infinite slope
   where pressures are equal, at both ends of the loss: flow in goes with sqrt(L), flow out with sqrt(1 - L). In the angle
   of L = sin^2 both are smooth. */
static double excess(const balance *b, double area_1, double angle_rad)
{
    const double s = sin(angle_rad), c = cos(angle_rad);
    return flux_in(b, s * s) - area_1 * flux_out(b, c * c);
}

static double loss_of_angle(double angle_rad)
{
    const double s = sin(angle_rad);
    return s * s;
}

/* Ridders, IEEE Trans. Circuits and Systems 26, 979 (1979). */
static ch_status balance_solve(const balance *b, double area_1, double *loss_1, ch_err *err)
{
    double low = 0.0, high = 0.5 * PI;
    double f_low = excess(b, area_1, low), f_high = excess(b, area_1, high);
    double last = -1.0;
    for (int i = 0; i < ROUNDS; i++) {
        const double middle = 0.5 * (low + high);
        const double f_middle = excess(b, area_1, middle);
        const double root = sqrt(f_middle * f_middle - f_low * f_high);
        if (!(root > 0.0)) {
            *loss_1 = loss_of_angle(middle);
            return CH_OK;
        }
        const double next = middle + (middle - low) * (f_low > f_high ? 1.0 : -1.0) * f_middle / root;
        const double f_next = excess(b, area_1, next);
        if (f_next == 0.0 || fabs(next - last) <= CLOSE_1 * next || high - low <= CLOSE_1 * high) {
            *loss_1 = loss_of_angle(next);
            return CH_OK;
        }
        last = next;
        /* Keep the narrowest of the three parts that holds the change of sign. */
        if ((f_middle < 0.0) != (f_next < 0.0)) {
            low = fmin(middle, next);
            high = fmax(middle, next);
            f_low = middle < next ? f_middle : f_next;
            f_high = middle < next ? f_next : f_middle;
        } else if ((f_low < 0.0) != (f_next < 0.0)) {
            high = next;
            f_high = f_next;
        } else {
            low = next;
            f_low = f_next;
        }
    }
    return ch_fail(err, CH_E_CONVERGE, NULL, "no balance of the leak-down flows within %d rounds", ROUNDS);
}

double ch_leakdown_orifice_m(double bore_m)
{
    return bore_m < 5.00 * INCH_M ? 0.040 * INCH_M : 0.060 * INCH_M;
}

double ch_leakdown_orifice_area_m2(double diameter_m, double discharge_1)
{
    return discharge_1 * 0.25 * PI * diameter_m * diameter_m;
}

ch_status ch_leakdown_loss_1(const ch_leakdown_tester *tester, double leak_area_m2, double *loss_1, ch_err *err)
{
    balance b = {0};
    const ch_status status = balance_init(&b, tester, err);
    if (status < 0)
        return status;
    if (!(tester->orifice_area_m2 > 0.0) || !isfinite(tester->orifice_area_m2))
        return ch_fail(err, CH_E_RANGE, "above 0", "orifice area %g mm2", tester->orifice_area_m2 * 1e6);
    if (!(leak_area_m2 >= 0.0) || !isfinite(leak_area_m2))
        return ch_fail(err, CH_E_RANGE, "0 or more", "leak area %g mm2", leak_area_m2 * 1e6);
    if (leak_area_m2 == 0.0) {
        *loss_1 = 0.0;
        return CH_OK;
    }
    const double area_1 = leak_area_m2 / tester->orifice_area_m2;
    const double in_choked_1 = b.in_s_m * ch_flow_psi_1(0.0, b.in_gamma_1);
    const double out_choked_1 = b.out_s_m * ch_flow_psi_1(0.0, b.out_gamma_1);
    const double choked_pa = b.supply_pa * in_choked_1 / (area_1 * out_choked_1);
    if (choked_pa <= b.supply_pa * ch_flow_critical_ratio_1(b.in_gamma_1) &&
        b.ambient_pa <= choked_pa * ch_flow_critical_ratio_1(b.out_gamma_1)) {
        *loss_1 = (b.supply_pa - choked_pa) / b.supply_gauge_pa;
        return CH_OK;
    }
    if (!isfinite(area_1)) { /* beyond any number of orifices */
        *loss_1 = 1.0;
        return CH_OK;
    }
    return balance_solve(&b, area_1, loss_1, err);
}

/* An area from a loss, or the reason why it is none: a flow that underflows leaves 0/0. */
static ch_status area_answer(double area_m2, double loss_1, double *to_m2, ch_err *err)
{
    if (!isfinite(area_m2))
        return ch_fail(err, CH_E_RANGE, "a loss that can be read", "a loss of %g %% says nothing of the area",
                       loss_1 * 100.0);
    *to_m2 = area_m2;
    return CH_OK;
}

ch_status ch_leakdown_area_m2(const ch_leakdown_tester *tester, double loss_1, double *leak_area_m2, ch_err *err)
{
    balance b = {0};
    const ch_status status = balance_init(&b, tester, err);
    if (status < 0)
        return status;
    if (!(tester->orifice_area_m2 > 0.0) || !isfinite(tester->orifice_area_m2))
        return ch_fail(err, CH_E_RANGE, "above 0", "orifice area %g mm2", tester->orifice_area_m2 * 1e6);
    if (!(loss_1 >= 0.0 && loss_1 < 1.0))
        return ch_fail(err, CH_E_RANGE, "from 0 to below 100 %", "loss %g %%", loss_1 * 100.0);
    return area_answer(tester->orifice_area_m2 * flux_in(&b, loss_1) / flux_out(&b, 1.0 - loss_1), loss_1, leak_area_m2,
                       err);
}

ch_status ch_leakdown_calibrate_m2(const ch_leakdown_tester *tester, double master_area_m2, double loss_1,
                                   double *orifice_area_m2, ch_err *err)
{
    balance b = {0};
    const ch_status status = balance_init(&b, tester, err);
    if (status < 0)
        return status;
    if (!(master_area_m2 > 0.0) || !isfinite(master_area_m2))
        return ch_fail(err, CH_E_RANGE, "above 0", "area of the master orifice %g mm2", master_area_m2 * 1e6);
    if (!(loss_1 > 0.0 && loss_1 < 1.0))
        return ch_fail(err, CH_E_RANGE, "above 0 and below 100 %", "loss %g %%", loss_1 * 100.0);
    return area_answer(master_area_m2 * flux_out(&b, 1.0 - loss_1) / flux_in(&b, loss_1), loss_1, orifice_area_m2, err);
}
