/*
 * A second simulation of logged runs, by other assumptions than drive_run.c, so that what is judged is not fitted to one generator's habits: everything follows from
 * torques (engine's inertia and drag, a clutch that sticks and slides, tyres that creep with the force they pass and spin beyond it, slopes, brakes), the driver works pedals, and
 * loggers have other faults. It fills the same drive_run. All cars are invented.
 */
#ifndef CROSSHATCH_TESTS_SECOND_RUN_H
#define CROSSHATCH_TESTS_SECOND_RUN_H

#include "drive_run.h"

/* Where road speed comes from. */
typedef enum second_source {
    SECOND_BY_SEED,
    SECOND_FREE_WHEEL,
    SECOND_DRIVEN_WHEEL, /* or the gearbox: neither creep nor spin shows */
    SECOND_SATELLITE     /* late, and now and then without satellites */
} second_source;

/* What is asked of it. */
typedef struct second_wish {
    uint64_t seed;
    double seconds;
    bool slipping, wheelspin;
    int slips_from; /* the lowest gear in which the clutch lets go by events; 0: third */
    int without;    /* a gear the driver never uses; 0 = none */
    bool creep;     /* tyres creep by 1.5 to 4 % at the limit of grip, else by 0.15 % */
    bool flat;      /* changes up with the foot on the throttle; else one driver in ten does */
    double rate_hz; /* 0 = by the seed */
    second_source source;
} second_wish;

/* What it chose beyond what drive_options have words for. */
typedef struct second_told {
    second_source source;
    bool polled, wet;
    double creep_1, growth_1, engine_step_rpm;
} second_told;

/* Drive and log; `options` and `told` say what was chosen by the seed. False without memory. To be freed with drive_run_free(). */
bool second_drive(const second_wish *wish, drive_options *options, second_told *told, drive_run *run);

#endif
