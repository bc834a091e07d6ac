/**
 * @file valve.h
 * Lift and effective area of a poppet valve over crank angle, from published events.
 */
#ifndef CROSSHATCH_VALVE_H
#define CROSSHATCH_VALVE_H

#include "crosshatch/status.h"

/** One kind of valve of one cylinder. Angles rad of crank, 0 at firing top dead centre, 4 pi a cycle. */
typedef struct ch_valve {
    int count;
    double diameter_m;   /* head */
    double lift_m;       /* largest lift */
    double discharge_1;  /* discharge coefficient */
    double opens_rad;    /* true opening (zero lift), from ch_valve_set_events */
    double duration_rad; /* true duration, zero lift to zero lift */
} ch_valve;

/**
 * Place the true events from published ones that hold at a checking lift:
 * D_total = D_chk / (1 - (2/pi) asin(sqrt(L_chk/L_max))), around the same middle. Follows from L = L_max sin^2.
 *
 * @param valve                                     (in, out) lift_m is read, opening and duration are set. Untouched on failure.
 * @param published_opens_rad, published_closes_rad Events at the checking lift, closes > opens, less than 4 pi apart.
 * @param checking_lift_m                           Lift at which the published events hold, m, 0 to below the largest; 0 = they are the
 *                                                  true ones.
 * @retval CH_E_RANGE checking lift not in [0, lift), duration not in (0, 4 pi), or true duration not below 4 pi.
 */
ch_status ch_valve_set_events(ch_valve *valve, double published_opens_rad, double published_closes_rad,
                              double checking_lift_m, ch_err *err);

/** Lift at a crank angle (any, taken modulo 4 pi), m. */
double ch_valve_lift_m(const ch_valve *valve, double angle_rad);

/** Effective area at a crank angle, m2: count * discharge * min(pi D L, pi/4 D^2). */
double ch_valve_area_m2(const ch_valve *valve, double angle_rad);

/** Effective area, m2, and its derivative over the crank angle, m2/rad. */
typedef struct ch_valve_opening {
    double area_m2, rate_m2_rad;
} ch_valve_opening;

/** Area and its derivative at once, for callers in a hurry. */
ch_valve_opening ch_valve_at(const ch_valve *valve, double angle_rad);

#endif
