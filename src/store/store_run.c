/* Columns of logged runs, see store_run.h. */
#include "store_run.h"

#include <math.h>
#include <string.h>

const char *const run_states[RUN_STATES] = {[CH_DRIVELINE_GEARS_FOUND] = "gears_found",
                                            [CH_DRIVELINE_TOO_LITTLE] = "too_little_driving",
                                            [CH_DRIVELINE_NO_FIXED_GEARS] = "no_fixed_gears"};

#define AT(member) offsetof(ch_driveline, member)
const size_t run_reals[RUN_REALS] = {
    AT(on_lines_1),
    AT(car_factor_1),
    AT(lag_s),
    AT(u_lag_s),
    AT(engine_fresh_s),
    AT(road_fresh_s),
    AT(road_step_m_s),
    AT(road_offset_m_s),
    AT(shortest_slip_s),
    AT(loaded_s),
    AT(loaded_low_s),
    AT(capacity_n_m),
    AT(capacity_n_m) + sizeof(double),
    AT(capacity_n_m) + 2 * sizeof(double),
    AT(fade_1_k),
    AT(u_fade_1_k),
    AT(design_n_m),
    AT(design_n_m) + sizeof(double),
};
#undef AT

#define AT(member) offsetof(ch_driveline_gear, member)
const size_t gear_reals[GEAR_REALS] = {AT(line_rad_m), AT(u_line_rad_m), AT(spread_1), AT(seconds), AT(car_line_rad_m)};
#undef AT

#define AT(member) offsetof(ch_slip, member)
const size_t slip_reals[SLIP_REALS] = {
    AT(start_s),
    AT(end_s),
    AT(peak_1),
    AT(mean_1),
    AT(ahead_rad_s),
    AT(road_speed_m_s),
    AT(engine_speed_rad_s),
    AT(throttle_1),
    AT(acceleration_m_s2),
    AT(oil_or_coolant_k),
    AT(torque_n_m),
    AT(u_torque_n_m),
    AT(heat_j),
    AT(plate_k),
    AT(peak_plate_k),
    AT(driven_before_s),
};
#undef AT

static double real_of(const void *from, size_t offset)
{
    double value = 0;
    memcpy(&value, (const char *)from + offset, sizeof value);
    return value;
}

int run_bind_reals(sqlite3_stmt *q, int first, const void *from, const size_t offsets[], size_t count)
{
    int code = SQLITE_OK;
    for (size_t i = 0; code == SQLITE_OK && i < count; i++)
        code = sqlite3_bind_double(q, first + (int)i, real_of(from, offsets[i]));
    return code;
}

void run_read_reals(sqlite3_stmt *q, int first, void *to, const size_t offsets[], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const double value = store_real(q, first + (int)i);
        memcpy((char *)to + offsets[i], &value, sizeof value);
    }
}

bool run_same_reals(const void *a, const void *b, const size_t offsets[], size_t count)
{
    bool same = true;
    for (size_t i = 0; i < count; i++) {
        const double x = real_of(a, offsets[i]), y = real_of(b, offsets[i]);
        same = same && (x == y || (isnan(x) && isnan(y)));
    }
    return same;
}

/* To the little end, whatever the machine's. */
void run_put_points(const ch_drive_point point[], size_t points, unsigned char *bytes)
{
    for (size_t i = 0; i < points; i++) {
        const float value[RUN_POINT_FLOATS] = {point[i].time_s, point[i].engine_speed_rad_s, point[i].road_speed_m_s,
                                               point[i].gear};
        for (int k = 0; k < RUN_POINT_FLOATS; k++) {
            uint32_t bits = 0;
            memcpy(&bits, &value[k], sizeof bits);
            for (int b = 0; b < 4; b++)
                *bytes++ = (unsigned char)(bits >> (8 * b));
        }
    }
}

void run_get_points(const unsigned char *bytes, size_t points, ch_drive_point *point)
{
    for (size_t i = 0; i < points; i++) {
        float value[RUN_POINT_FLOATS];
        for (int k = 0; k < RUN_POINT_FLOATS; k++, bytes += 4) {
            const uint32_t bits =
                (uint32_t)bytes[0] | (uint32_t)bytes[1] << 8 | (uint32_t)bytes[2] << 16 | (uint32_t)bytes[3] << 24;
            memcpy(&value[k], &bits, sizeof bits);
        }
        point[i] = (ch_drive_point){value[0], value[1], value[2], value[3]};
    }
}
