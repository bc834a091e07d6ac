/*
 * The nozzle law, the one law that every opening of the model obeys: valves, leaks, check valve, tester orifice.
 *
 * The textbook form subtracts two powers of the pressure ratio that become equal as the pressures do. With
 * q = r^((g-1)/g), the temperature ratio of the expansion, the same function is
 *
 *     psi^2 = 2g/(g-1) (r/q)^2 (1 - q),
 *
 * and 1 - q comes from expm1 without cancellation. The throat is sonic where q falls to 2/(g+1), so that no power is
 * needed to know whether the flow is choked.
 *
 * Source: Heywood, Internal Combustion Engine Fundamentals, 1988, Appendix C; NACA Report 1135, eqs. 43..45.
 */
#include "crosshatch/flow.h"

#include <math.h>
#include <stdbool.h>

static double psi_choked_1(double gamma_1)
{
    return sqrt(gamma_1) * pow(2.0 / (gamma_1 + 1.0), 0.5 * (gamma_1 + 1.0) / (gamma_1 - 1.0));
}

/* `log_ratio_1` is the logarithm of `ratio_1`, taken by the caller in the way that keeps its digits; -inf for 0. */
static double psi_1(double ratio_1, double log_ratio_1, double gamma_1, bool *choked)
{
    *choked = false;
    if (log_ratio_1 >= 0.0)
        return 0.0;
    const double drop_k_1 = -expm1((gamma_1 - 1.0) / gamma_1 * log_ratio_1);
    if (drop_k_1 >= (gamma_1 - 1.0) / (gamma_1 + 1.0)) {
        *choked = true;
        return psi_choked_1(gamma_1);
    }
    const double density_ratio_1 = ratio_1 / (1.0 - drop_k_1);
    return density_ratio_1 * sqrt(2.0 * gamma_1 / (gamma_1 - 1.0) * drop_k_1);
}

double ch_flow_critical_ratio_1(double gamma_1)
{
    return pow(2.0 / (gamma_1 + 1.0), gamma_1 / (gamma_1 - 1.0));
}

double ch_flow_psi_1(double ratio_1, double gamma_1)
{
    bool choked;
    return psi_1(ratio_1, ratio_1 < 0.0 ? -HUGE_VAL : log(ratio_1), gamma_1, &choked);
}

double ch_flow_psi_drop_1(double drop_1, double gamma_1)
{
    bool choked;
    return psi_1(1.0 - drop_1, drop_1 > 1.0 ? -HUGE_VAL : log1p(-drop_1), gamma_1, &choked);
}

ch_status ch_flow_kg_s(double up_pa, double up_k, double gamma_1, double r_j_kg_k, double down_pa, double area_m2,
                       double *flow_kg_s, ch_err *err)
{
    if (!(up_pa > 0.0) || !isfinite(up_pa))
        return ch_fail(err, CH_E_RANGE, "finite and above 0", "pressure ahead of the opening %g Pa", up_pa);
    if (!(up_k > 0.0) || !isfinite(up_k))
        return ch_fail(err, CH_E_RANGE, "finite and above 0", "temperature ahead of the opening %g K", up_k);
    if (!(gamma_1 > 1.0) || !isfinite(gamma_1))
        return ch_fail(err, CH_E_RANGE, "finite and above 1", "ratio of specific heats %g", gamma_1);
    if (!(r_j_kg_k > 0.0) || !isfinite(r_j_kg_k))
        return ch_fail(err, CH_E_RANGE, "finite and above 0", "gas constant %g J/(kg K)", r_j_kg_k);
    if (!(down_pa >= 0.0 && down_pa <= up_pa))
        return ch_fail(err, CH_E_RANGE, "from 0 to the pressure ahead", "pressure behind the opening %g Pa", down_pa);
    if (!(area_m2 >= 0.0) || !isfinite(area_m2))
        return ch_fail(err, CH_E_RANGE, "finite and not negative", "effective area %g m2", area_m2);
    bool choked;
    const double ratio_1 = down_pa / up_pa;
    const double psi = psi_1(ratio_1, log(ratio_1), gamma_1, &choked);
    const double flow = area_m2 * up_pa / sqrt(r_j_kg_k * up_k) * psi;
    if (!isfinite(flow))
        return ch_fail(err, CH_E_RANGE, "smaller numbers", "a flow through %g m2 from %g Pa is beyond any number",
                       area_m2, up_pa);
    *flow_kg_s = flow;
    return choked ? CH_CHOKED : CH_OK;
}
