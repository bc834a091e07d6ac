/**
 * @file piston.h
 * Slider-crank: where the piston is and what volume it leaves. Angles in rad, 0 at top dead centre.
 * Source: Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.2.
 */
#ifndef CROSSHATCH_PISTON_H
#define CROSSHATCH_PISTON_H

/** Dimensions of one cylinder. */
typedef struct ch_bore {
    double bore_m, stroke_m, rod_m;
} ch_bore;

/** Distance of the piston from its top dead centre, m. */
double ch_piston_travel_m(const ch_bore *bore, double angle_rad);

/** d(travel)/d(angle), m/rad. */
double ch_piston_travel_rate_m_rad(const ch_bore *bore, double angle_rad);

/** Where the piston is and how it moves, from one sine and cosine. */
typedef struct ch_piston_place {
    double travel_m;      /* from top dead centre */
    double rate_m_rad;    /* first derivative over the crank angle */
    double second_m_rad2; /* second derivative */
} ch_piston_place;

/** Travel and its derivatives at once, for callers in a hurry. */
ch_piston_place ch_piston_at(const ch_bore *bore, double angle_rad);

/** Swept volume of one cylinder, m3. */
double ch_piston_swept_m3(const ch_bore *bore);

/** Clearance volume of one cylinder, m3: swept/(ratio - 1). */
double ch_piston_clearance_m3(const ch_bore *bore, double compression_ratio);

#endif
