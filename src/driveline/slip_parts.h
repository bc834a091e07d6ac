/* What the search for slips keeps of a chapter. Private to slip.c and those it is split into. */
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
    size_t first, last, peak_at, onset;
    double start_s, end_s;
    double peak_1, mean_1, ahead_rad_s;
    double pull_m_s2; /* mean acceleration */
    bool into_change; /* ends with the foot lifting or another gear, not back on its line */
} slip_event;

enum { SLIP_LOW_MAX = 256 };

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
    double torque_least, torque_most; /* of the slips in higher gears, relative */
    slip_event low[SLIP_LOW_MAX];     /* in low gears, to be judged when the others are known */
    size_t low_n;
} slip_view;

#endif
