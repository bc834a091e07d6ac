/*
 * Simulated runs with known truth, for the driveline. Apart from the detector: it shares no code with src/driveline, and the clutch lets go by a torque balance of
 * its own or by a prescribed course. All cars are invented.
 */
#ifndef CROSSHATCH_TESTS_DRIVE_RUN_H
#define CROSSHATCH_TESTS_DRIVE_RUN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { DRIVE_CARS = 4, DRIVE_GEARS_MAX = 6, DRIVE_SLIPS_MAX = 256 };

typedef struct drive_car {
    const char *name, *tyre;
    double circumference_m; /* as rolling in truth: not quite what the tyre's size says */
    double final_drive;
    int gears;
    double gear[DRIVE_GEARS_MAX];
    double mass_kg, drag_area_m2;
    double torque_n_m; /* peak */
    double limit_rad_s;
    double inertia_kg_m2;
} drive_car;

extern const drive_car drive_cars[DRIVE_CARS];

/* How the logger spoils what it writes. */
typedef struct drive_logger {
    double rate_hz;
    double road_fresh_hz, engine_fresh_hz; /* 0 = every row */
    double road_lag_s, engine_lag_s;
    double road_step_m_s; /* 0 = fine */
    bool road_cut;        /* cut to steps, not rounded */
    double engine_step_rad_s;
    double road_filter_s; /* time constant of what smooths road speed: it lags by as much */
    double road_noise_m_s, engine_noise_rad_s;
    double road_gain; /* a speedometer that reads high is none of our business: truth is in logged km/h */
    bool throttle, acceleration, temperature, clutch, driven;
} drive_logger;

typedef struct drive_options {
    uint64_t seed;
    const drive_car *car;
    drive_logger logger;
    double seconds;
    bool slipping; /* the clutch lets go in high gears at full load */
    double
        capacity_1;   /* of the engine's peak torque, where it lets go by torque balance; 0 = prescribed courses only */
    int slips_from;   /* the lowest gear in which it does; 0: third */
    bool wheelspin;   /* in first and second gear */
    bool corner_spin; /* in third, out of corners */
    bool automatic;   /* no fixed gears */
    int steady_gear;  /* in which the clutch slips by `steady_1` whenever it is pulled hard; 0: none */
    double steady_1;
    bool low_gear; /* begins in first from rest; otherwise rolling in a higher gear, and never uses first */
} drive_options;

typedef struct drive_slip {
    double start_s, end_s, peak_1;
    int gear; /* from 1 */
    double torque_n_m, heat_j;
    bool
        began_off; /* the pedal came up before the engine was down on its line: where the change ends and slip begins is nobody's to say */
} drive_slip;

typedef struct drive_run {
    size_t n; /* rows of the log */
    double *time_s, *engine_rad_s, *road_m_s, *throttle_1, *acceleration_m_s2, *coolant_k, *clutch_1, *driven_m_s;
    drive_slip slip[DRIVE_SLIPS_MAX];
    size_t slips;
    size_t wheelspins, blips, shifts, launches;
    double gear_s[DRIVE_GEARS_MAX + 1];     /* locked, by gear from 1 */
    double line_rad_m[DRIVE_GEARS_MAX + 1]; /* truth, from 1 */
} drive_run;

/* Drive and log. False without memory. To be freed with drive_run_free(). */
bool drive(const drive_options *options, drive_run *run);
void drive_run_free(drive_run *run);

/* Uniform in [0, 1) and standard normal, from a state that starts as the seed. */
double drive_uniform(uint64_t *state);
double drive_normal(uint64_t *state);

#endif
