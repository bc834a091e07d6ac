/* What the files that write and read logged runs share: which columns hold which numbers. */
#ifndef CROSSHATCH_STORE_RUN_H
#define CROSSHATCH_STORE_RUN_H

#include "crosshatch/store_driveline.h"
#include "store_parts.h"

enum {
    RUN_STATES = CH_DRIVELINE_NO_FIXED_GEARS + 1,
    RUN_POINT_BYTES = 16, /* of the table's picture */
    RUN_POINT_FLOATS = 4,
    RUN_REALS = 18,
    SLIP_REALS = 16,
    GEAR_REALS = 5
};

/* By ch_driveline_state. */
extern const char *const run_states[RUN_STATES];

/* Columns of doubles in their order, and where each lies in ch_driveline, ch_driveline_gear and ch_slip. */
#define RUN_REAL_COLUMNS                                                                                               \
    "on_lines_1, car_factor_1, lag_s, u_lag_s, engine_fresh_s, road_fresh_s, road_step_m_s, road_offset_m_s,"          \
    " shortest_slip_s, loaded_s, loaded_low_s, capacity_low_n_m, capacity_n_m, capacity_high_n_m, fade_1_k,"           \
    " u_fade_1_k, design_wear_n_m, design_pressure_n_m"

#define GEAR_REAL_COLUMNS "line_rad_m, u_line_rad_m, spread_1, seconds, car_line_rad_m"

#define SLIP_REAL_COLUMNS                                                                                              \
    "start_s, end_s, peak_1, mean_1, ahead_rad_s, road_speed_m_s, engine_speed_rad_s, throttle_1, acceleration_m_s2,"  \
    " oil_or_coolant_k, torque_n_m, u_torque_n_m, heat_j, plate_k, peak_plate_k, driven_before_s"

extern const size_t run_reals[RUN_REALS], gear_reals[GEAR_REALS], slip_reals[SLIP_REALS];

/* Bind them from parameter `first` on, NaN = NULL; SQLite's code. */
int run_bind_reals(sqlite3_stmt *q, int first, const void *from, const size_t offsets[], size_t count);
void run_read_reals(sqlite3_stmt *q, int first, void *to, const size_t offsets[], size_t count);

/* Equal, or unknown in both. */
bool run_same_reals(const void *a, const void *b, const size_t offsets[], size_t count);

/* Points to and from RUN_POINT_BYTES each. */
void run_put_points(const ch_drive_point point[], size_t points, unsigned char *bytes);
void run_get_points(const unsigned char *bytes, size_t points, ch_drive_point *point);

/* One run that is not deleted, with all that hangs on it, into a zeroed struct. Inside a transaction. */
ch_status run_load(ch_store *st, ch_store_pool *pool, int64_t id, ch_store_run *run, ch_err *err);

/* Of the table `run r`: neither deleted nor replaced. */
#define RUN_CURRENT "r.deleted_s IS NULL AND NOT EXISTS (SELECT 1 FROM run n WHERE n.replaces_id = r.id)"

#endif
