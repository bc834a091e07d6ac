/* What the search for slips keeps of a chapter. Private to slip.c and to those it calls, slip_low.c and, below both, slip_event.c. */
#ifndef CROSSHATCH_DRIVELINE_SLIP_PARTS_H
#define CROSSHATCH_DRIVELINE_SLIP_PARTS_H

#include "parts.h"

/* Rows on one line, both ends included. */
typedef struct slip_run {
    int gear; /* index */
    size_t from, to;
} slip_run;

/* Rows in which the engine is ahead, both ends included. */
typedef struct slip_event {
    int gear; /* index */
    size_t first, last, peak_at;
    double start_s, end_s;
    double peak_1, mean_1, ahead_rad_s;
    double pull_m_s2;       /* mean acceleration */
    double driven_before_s; /* of pulling, until then */
    double gripped_s;       /* of the same pull before it, in which the tyres put down about as much */
    bool into_change;       /* ends with the foot lifting or another gear, not back on its line */
    bool wheels_known;      /* the driven wheels are logged, and do not spin */
} slip_event;

enum { SLIP_LOW_GEARS = 2, SLIP_LOW_MAX = 256, SLIP_HIGH_MAX = 512 };

/* A slip that cannot be the wheels: what the clutch held at it, relative, how long it lasted, and how long the pull had been as hard before it. */
typedef struct slip_high {
    double torque, thrust_m_s2, seconds, gripped_s;
} slip_high;

typedef struct slip_view {
    const signals *s;
    const trail *t;
    const ch_driveline *to;
    double throttle_low, throttle_span;
    double noise_m_s; /* of road speed */
    int middle;       /* number of the lowest gear that has the torque to spin the wheels only out of a corner */
    bool pedal_known; /* a clutch switch that moves */
    double line[CH_DRIVELINE_GEARS_MAX]; /* logarithms */
    double spread[CH_DRIVELINE_GEARS_MAX];
    slip_high high[SLIP_HIGH_MAX];
    size_t high_n, plain_n;       /* and how many look like no change of gear without lifting */
    slip_event low[SLIP_LOW_MAX]; /* in low gears, to be judged when the others are known */
    size_t low_n;
} slip_view;

/* Half of what an owner asks for, so that noise hides none (judgment). */
#define SLIP_LEAST_PEAK_1 0.03

/* Longer than an engine flares with the clutch pressed for a change (judgment). */
#define SLIP_SHORT_FLARE_S 0.8

/* slip_event.c */

/* Whether the engine pulls, by throttle where there is one, else by acceleration. */
bool slip_pulls(const slip_view *v, size_t i);

/* Part of rows, both ends included, in which it does. */
double slip_pulling_share(const slip_view *v, size_t from, size_t to);

/* By how much the ratio at a row is above a gear's line, as logarithms. */
double slip_ahead(const slip_view *v, int gear, size_t i);

/* Judge rows `first` to `last`: the verdict, or CH_NOT_SLIP_KINDS for a slip. Fills peak, pull and whether the wheels are known. */
ch_not_slip slip_judge(const slip_view *v, slip_event *e);

/*
 * When a judged event begins and ends, and the means from end to end. `from` and `to`: the rows its edges are sought up to, of the run it begins on and, where it comes `back`, the
 * run it ends on.
 */
void slip_measure(const slip_view *v, slip_event *e, size_t from, size_t to, bool back);

/* Keep a slip. CH_E_MEMORY. */
ch_status slip_append(const slip_view *v, const slip_event *e, ch_driveline *to, ch_err *err);

/* slip_low.c */

/*
 * Time of the same pull, before the engine ran ahead, in which the tyres put down about as much as they do during the event: on its gear's line, or ahead of it as far as no
 * lower gear's is. Acceleration at a row knows of some tenths of a second to either side, so that much before the event is left out.
 */
double slip_gripped_before(const slip_view *v, const slip_event *e);

/* Remember what the clutch held at a slip that cannot be the wheels. */
void slip_note_high(slip_view *v, const slip_event *e);

/* Judge what was noted of low gears, by all of the chapter; `slips_before` were there before it. CH_E_MEMORY. */
ch_status slip_judge_low(slip_view *v, const slip_run *run, size_t runs, size_t slips_before, ch_driveline *to,
                         ch_err *err);

#endif
