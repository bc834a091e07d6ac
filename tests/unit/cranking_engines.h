/* Engines for the checks of the cranking cylinder: one ordinary, and odd ones that sit at the corners of what a garage can hold.
 * All are invented; the ordinary one is what the program assumes of an engine it knows nothing about. */
#ifndef CROSSHATCH_TESTS_CRANKING_ENGINES_H
#define CROSSHATCH_TESTS_CRANKING_ENGINES_H

#include "crosshatch/cranking.h"

/* An engine in people's units. Events in degrees: intake opens before and closes after its dead centre, exhaust likewise,
 * at 0.1 mm of lift. */
typedef struct cranking_engine {
    const char *name;
    struct {
        double bore_mm, stroke_mm, ratio_1;
    } size;
    struct {
        double intake_opens, intake_closes, exhaust_opens, exhaust_closes;
    } events_deg;
    struct {
        double rings_mm2, intake_mm2, exhaust_mm2, neighbour_mm2, coolant_mm2;
    } leaks;
    struct {
        double ambient_kpa, intake_kpa, air_c, wall_c, rpm;
    } day;
    struct {
        double hose_ml, dead_ml, area_mm2, opening_kpa;
        int strokes;
    } gauge;
    double annand_1;
} cranking_engine;

/* Cranking run of an engine: rod 1.65 strokes, two valves of 0.37 and 0.32 of the bore, 9 mm lift, crevice 1.5 % of the clearance. */
ch_cranking cranking_engine_set(const cranking_engine *engine);

/* The first is the ordinary one. */
extern const cranking_engine CRANKING_ENGINES[];
extern const int CRANKING_ENGINES_N;

#endif
