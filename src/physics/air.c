/*
 * Dry air as a working gas: heat, enthalpy and entropy of an ideal mixture, and its transport properties.
 *
 * These functions are called several times in each evaluation of the cranking equations, so the three species are
 * mixed by the compiler: everything in capitals below is a constant expression, and a call costs one Horner chain.
 *
 * Sources:
 *   Heat capacities: B. J. McBride, S. Gordon, M. A. Reno, NASA TM-4513, 1993, branch 200..1000 K:
 *   cp/R = a1 + a2 T + a3 T^2 + a4 T^3 + a5 T^4.
 *   Viscosity and conductivity: U.S. Standard Atmosphere 1976, eqs. 51 and 53.
 */
#include "crosshatch/air.h"

#include <math.h>

/* Mole fractions; what is left beside nitrogen and oxygen (argon 0.00934, the rest traces) counts as argon. */
#define X_N2 0.78084
#define X_O2 0.20946
#define X_AR (1.0 - X_N2 - X_O2)

#define MIX(n2, o2, ar) (X_N2 * (n2) + X_O2 * (o2) + X_AR * (ar))
#define A1 MIX(3.53100528, 3.78245636, 2.5)
#define A2 MIX(-1.23660987e-04, -2.99673415e-03, 0.0)
#define A3 MIX(-5.02999437e-07, 9.847302e-06, 0.0)
#define A4 MIX(2.43530612e-09, -9.68129508e-09, 0.0)
#define A5 MIX(-1.40881235e-12, 3.24372836e-12, 0.0)

/* Integral of cp/R over T, K, and of cp/(R T) without its logarithm, 1. */
#define H_OVER_R(t) ((t) * (A1 + (t) * (A2 / 2.0 + (t) * (A3 / 3.0 + (t) * (A4 / 4.0 + (t) * (A5 / 5.0))))))
#define S_OVER_R(t) ((t) * (A2 + (t) * (A3 / 2.0 + (t) * (A4 / 3.0 + (t) * (A5 / 4.0)))))

#define REFERENCE_K 298.15
#define LN_10 2.302585092994045684

double ch_air_cp_j_kg_k(double temp_k)
{
    return CH_AIR_R * (A1 + temp_k * (A2 + temp_k * (A3 + temp_k * (A4 + temp_k * A5))));
}

double ch_air_enthalpy_j_kg(double temp_k)
{
    return CH_AIR_R * (H_OVER_R(temp_k) - H_OVER_R(REFERENCE_K));
}

double ch_air_gamma_1(double temp_k)
{
    const double cp_j_kg_k = ch_air_cp_j_kg_k(temp_k);
    return cp_j_kg_k / (cp_j_kg_k - CH_AIR_R);
}

double ch_air_entropy_j_kg_k(double temp_k)
{
    return CH_AIR_R * (A1 * log(temp_k / REFERENCE_K) + S_OVER_R(temp_k) - S_OVER_R(REFERENCE_K));
}

/* exp(-u) for u in 0..0.6, that is down to 46 K in the conductivity's law; relative error below 1e-13 to 0.14 (200 K), 2e-12 to 0.2 and 5e-8 at 0.6: a series costs a
 * third of the library's function, and this is called at each evaluation of the cranking equations. */
static double exp_of_minus(double u)
{
    static const double C[] = {1.0,          -1.0,        1.0 / 2.0,     -1.0 / 6.0,   1.0 / 24.0,
                               -1.0 / 120.0, 1.0 / 720.0, -1.0 / 5040.0, 1.0 / 40320.0};
    const double u2 = u * u, u4 = u2 * u2;
    return (C[0] + C[1] * u) + u2 * (C[2] + C[3] * u) + u4 * ((C[4] + C[5] * u) + u2 * (C[6] + C[7] * u) + u4 * C[8]);
}

ch_air_transport ch_air_transport_at(double temp_k)
{
    const double power = temp_k * sqrt(temp_k);
    return (ch_air_transport){
        .viscosity_pa_s = 1.458e-6 * power / (temp_k + 110.4),
        .conductivity_w_m_k = 2.64638e-3 * power / (temp_k + 245.4 * exp_of_minus(12.0 * LN_10 / temp_k)),
    };
}

double ch_air_viscosity_pa_s(double temp_k)
{
    return ch_air_transport_at(temp_k).viscosity_pa_s;
}

double ch_air_conductivity_w_m_k(double temp_k)
{
    return ch_air_transport_at(temp_k).conductivity_w_m_k;
}
