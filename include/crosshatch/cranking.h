/**
 * @file cranking.h
 * The cranking compression test of one cylinder, crank angle by crank angle, with a gauge in the plug hole.
 *
 * An open system of dry air: slider-crank volume, poppet valves, leak paths as isentropic nozzles, heat after Annand, a crevice at wall
 * temperature, and a gauge that fills through a check valve and never empties. docs/method.md, "Cranking".
 */
#ifndef CROSSHATCH_CRANKING_H
#define CROSSHATCH_CRANKING_H

#include <stdbool.h>

#include "crosshatch/piston.h"
#include "crosshatch/status.h"
#include "crosshatch/valve.h"

enum { CH_STROKES_MAX = 100 };

/** Effective leak areas of one cylinder, m2 (discharge coefficient included), each >= 0. */
typedef struct ch_leak_areas {
    double rings_m2;         /* to the crankcase */
    double intake_valve_m2;  /* to the intake, at all angles */
    double exhaust_valve_m2; /* to the exhaust, at all angles */
    double neighbour_m2; /* through the head gasket to a neighbour, whose plug is out: it stands at ambient pressure */
    double coolant_m2;   /* through gasket or crack to the coolant */
} ch_leak_areas;

/** One cylinder, one gauge, one day. Pressures absolute. */
typedef struct ch_cranking {
    ch_bore bore;
    double clearance_m3; /* chamber at top dead centre without the adapter, m3 */
    double dead_m3;      /* adapter and hose ahead of the check valve, m3 */
    double crevice_m3;   /* ring lands and gasket crevice at wall temperature, m3 */
    ch_valve intake, exhaust;
    double annand_1; /* Annand's a */
    ch_leak_areas leaks;
    double ambient_pa, air_k, wall_k;
    double intake_pa;        /* pressure in the intake; ambient_pa with the throttle open */
    double speed_rad_s;      /* crank speed */
    double hose_m3;          /* hose and gauge behind the check valve, m3 */
    double check_area_m2;    /* effective area of the check valve, m2 */
    double check_opening_pa; /* its opening pressure, Pa */
    int strokes;             /* compression strokes, 1..CH_STROKES_MAX */
    bool reuse_charge; /* where a cycle ends like the one before (within 0.2 %), take that one's fresh charge instead of
                                 * computing the gas exchange again: half the work, readings within 0.05 % */
} ch_cranking;

/** What the run did, for engineers and tests. */
typedef struct ch_cranking_account {
    long evaluations;    /* of the right-hand side */
    long steps;          /* accepted steps */
    double mass_error_1; /* |mass in - mass out - change| over the mass trapped at the start */
    double
        energy_error_1; /* the same for the first law, over the internal energy at the start (zero at 0 K scale: cv T) */
    double intake_kg;   /* net mass drawn through the intake valve in the last whole cycle; 0 with one stroke */
    double peak_pa;     /* largest cylinder pressure seen at a step's end, absolute */
} ch_cranking_account;

/** Called after every accepted step: crank angle from the first top dead centre, state. For charts. */
typedef void ch_cranking_watch(void *context, double angle_rad, double pressure_pa, double temp_k, double gauge_pa);

/**
 * Run the test from bottom dead centre, cylinder and gauge at ambient pressure.
 *
 * @param cranking    Engine, gauge and day; ranges as the message of CH_E_RANGE names them.
 * @param tolerance_1 Relative tolerance of one step, 1e-12..1e-2; CH_CRANKING_TOLERANCE keeps the final reading within 0.05 %.
 * @param gauge_pa    (out) strokes values: gauge reading (over ambient) after each compression stroke, Pa.
 * @param account     (out) may be NULL.
 * @param watch       may be NULL.
 * @param context     Handed to `watch` as it is; may be NULL.
 *
 * @retval CH_E_RANGE    A quantity is outside what the model holds for, or not finite.
 * @retval CH_E_CONVERGE The integrator could not go on (step below the smallest angle).
 *
 * Source: Heywood 1988, chapters 2, 9, 12 and App. C; Annand, Proc. IMechE 177 (1963) 973; Dormand and Prince, J. Comp. Appl.
 * Math. 6 (1980) 19; Hairer and Wanner, Solving Ordinary Differential Equations II, 1996. No allocation; safe from any thread.
 */
ch_status ch_cranking_run(const ch_cranking *cranking, double tolerance_1, double *gauge_pa,
                          ch_cranking_account *account, ch_cranking_watch *watch, void *context, ch_err *err);

/** Tolerance of a step that keeps the final reading within 0.05 % of a run at 1e-10 and of SUNDIALS' CVODE
 * (tests/unit/test_cranking_reference.c). */
#define CH_CRANKING_TOLERANCE 4e-6

/**
 * Pressure in the intake with the throttle shut: where the flow through the throttle equals what all cylinders draw.
 *
 * @param cranking         As for ch_cranking_run(); its intake_pa is not read.
 * @param cylinders        sharing that intake, 1..32.
 * @param throttle_area_m2 effective area left open, > 0.
 * @param intake_pa        (out) absolute, at most ambient.
 */
ch_status ch_cranking_intake_pa(const ch_cranking *cranking, int cylinders, double throttle_area_m2, double *intake_pa,
                                ch_err *err);

#endif
