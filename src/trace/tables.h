/* What one shared state makes of the readings, and the chances that are worked out from it. Between weigh.c, factors.c and together.c. */
#ifndef CROSSHATCH_TRACE_TABLES_H
#define CROSSHATCH_TRACE_TABLES_H

#include "parts.h"

/* Sound cylinders of one engine differ by what no leak explains. Standard deviation, relative. */
extern const double CYLINDER_SCATTER_1;

/* Readings over the total leak area at one shared state. */
typedef struct state_tables {
    double final_pa[CH_EMULATOR_GRID], first_pa[CH_EMULATOR_GRID], wet_pa[CH_EMULATOR_GRID];
    double wet_chance[CH_EMULATOR_GRID]; /* of the cylinder in hand */
    double wet_dose_m3;                  /* oil kept that wet_pa holds for; NaN = none made */
    double oil_factor_1, standing_1, orifice_factor_1;
    double filler_ln; /* of the ring area from which on this listener notes air at the oil filler */
    double gain_1, zero_pa;
    double orifice_ln[LEAKDOWN_ROWS_MAX]; /* of the cylinder in hand: ln of the orifice's effective area */
    const weigh_state *state;
} state_tables;

/* ---- weigh.c ---- */

double standard_normal(double score);

/* Chance of a cylinder's dry readings where they should show this much. */
double dry_chance(const measured_cylinder *c, double final_pa, double first_pa);

bool has_wet(const weigh_frame *frame, const measured_cylinder *c);

/* Chance of the wet reading, relative to a fixed measure, where it should show this much. */
double wet_reading_chance(const measured_cylinder *c, double expected_pa);

/* Readings with the ring area of node k and no extra area; the chance of the wet reading there. */
double dry_alone_pa(const state_tables *t, const double table[CH_EMULATOR_GRID], int k);
double wet_alone_pa(const state_tables *t, int k);
double wet_alone(const weigh_frame *frame, const state_tables *t, const measured_cylinder *c, int k);

/* Set the wet table to the oil that stays in a cylinder. */
void wet_table(const weigh_frame *frame, const double value[SHARED_DIMENSIONS], const measured_cylinder *c,
               state_tables *t);

/* ---- factors.c: factors on a cylinder's charge or on its reading ---- */

void factors_set(weigh_frame *frame);

/* Chance of a cylinder's tests where it alone is misread, or does not fill. */
double factors_misread(const weigh_frame *frame, const state_tables *t, const measured_cylinder *c,
                       const weigh_cylinder *out);
double factors_underfilled(const weigh_frame *frame, const state_tables *t, const measured_cylinder *c,
                           const weigh_cylinder *out);

/* Levels of what misleads all readings, or keeps all cylinders from filling. */
void factors_together(const weigh_frame *frame, const double value[SHARED_DIMENSIONS], state_tables *t,
                      weigh_state *state, weigh_cylinder cylinder[]);

/* ---- together.c: leaks that strike the engine as a whole ---- */

void together_set(weigh_frame *frame);

/* Chance of a cylinder's tests at each level of each such leak. underfilled: their chance where it only does not fill. */
void together_areas(const weigh_frame *frame, double underfilled, weigh_cylinder *out);

/* Part of what a cause that opens a leak strikes and that seals as before: worn oil rings under gas rings that hold. */
double together_seals_1(const ch_knowledge_cause *cause);

/* Part of the engines with the cam drive off whose valves are as they were. */
double together_unbent_1(const weigh_frame *frame);

#endif
