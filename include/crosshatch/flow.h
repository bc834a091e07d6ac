/**
 * @file flow.h
 * Mass flow of air through any opening: one-dimensional, isentropic to the throat, choked or not.
 */
#ifndef CROSSHATCH_FLOW_H
#define CROSSHATCH_FLOW_H

#include "crosshatch/status.h"

/** Critical pressure ratio (2/(g+1))^(g/(g-1)), 1. Source: NACA Report 1135, eq. 45; Heywood 1988, App. C. */
double ch_flow_critical_ratio_1(double gamma_1);

/**
 * Flow function psi(r) = sqrt(2g/(g-1) (r^(2/g) - r^((g+1)/g))) with r raised to the critical ratio where it lies below it.
 * Mass flow = area * p_up / sqrt(R T_up) * psi. Source: Heywood 1988, App. C, eqs. C.8, C.9.
 *
 * @param ratio_1 Pressure behind over stagnation pressure ahead, 0..1.
 * @param gamma_1 Ratio of specific heats of the gas ahead, > 1.
 */
double ch_flow_psi_1(double ratio_1, double gamma_1);

/**
 * The same from the drop (p_up - p_down)/p_up, 0..1: keeps all digits where the pressures are nearly equal and the
 * drop is known better than their ratio.
 */
double ch_flow_psi_drop_1(double drop_1, double gamma_1);

/**
 * Mass flow of an ideal gas through an opening.
 *
 * @param up_pa     Stagnation pressure ahead, Pa, > 0.
 * @param up_k      Stagnation temperature ahead, K, > 0.
 * @param gamma_1   > 1.
 * @param r_j_kg_k  Gas constant, > 0.
 * @param down_pa   Pressure behind, Pa, in [0, up_pa].
 * @param area_m2   Effective area (discharge coefficient times throat area), m2, >= 0.
 * @param flow_kg_s (out) >= 0; untouched on failure.
 * @retval CH_OK, CH_CHOKED (success; sonic throat), CH_E_RANGE.
 */
ch_status ch_flow_kg_s(double up_pa, double up_k, double gamma_1, double r_j_kg_k, double down_pa, double area_m2,
                       double *flow_kg_s, ch_err *err);

#endif
