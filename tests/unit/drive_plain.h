/* Simulated runs with known truth (drive_run.c) as the tests of the driveline have them judged. Included once a program. */
#ifndef CROSSHATCH_TESTS_DRIVE_PLAIN_H
#define CROSSHATCH_TESTS_DRIVE_PLAIN_H

#include "crosshatch/driveline.h"

#include "drive_judge.h"
#include "drive_knowledge.h"
#include "expect.h"

/* A good logger: 25 Hz, satellite speed 0.2 s late. */
static inline drive_options plain(uint64_t seed)
{
    return (drive_options){.seed = seed,
                           .car = &drive_cars[seed % DRIVE_CARS],
                           .logger = {.rate_hz = 25,
                                      .road_lag_s = 0.2,
                                      .road_noise_m_s = 0.05,
                                      .engine_noise_rad_s = 0.5,
                                      .road_gain = 1,
                                      .throttle = true,
                                      .temperature = true},
                           .seconds = 240,
                           .low_gear = true,
                           .wheelspin = true};
}

static inline ch_driveline judged(const drive_options *options, const ch_car *car, drive_run *run)
{
    ch_driveline d = {0};
    ch_err err = {0};
    assert_true(drive(options, run));
    if (drive_judge(run, car, &clutch, NULL, 0, &d, &err) < 0)
        fail_msg("%s", err.what);
    return d;
}

#endif
