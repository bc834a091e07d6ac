/* Rounds of eighty seconds, each the same, for runs whose answer is known: twenty rows a second of a driver who pulls through three gears and coasts. Included once a program. */
#ifndef CROSSHATCH_TESTS_DRIVE_ROUNDS_H
#define CROSSHATCH_TESTS_DRIVE_ROUNDS_H

#include <math.h>

enum { ROUND = 1600 }; /* rows of one round */
static const double EVERY_S = 0.05;

/* One moment of the round: third, fourth and fifth gear pulled up, then coasting down in fifth; the clutch lets go once, in fourth. */
static inline void moment(double time_s, double *engine_rad_s, double *road_m_s, double *throttle_1)
{
    static const double from_s[] = {0.0, 12.0, 28.0, 38.0}, from_m_s[] = {14.0, 26.0, 38.0, 43.0},
                        rise_m_s2[] = {1.0, 0.75, 0.5, -29.0 / 42.0}, line_rad_m[] = {13.0, 10.0, 8.2, 8.2};
    int part = 3;
    while (time_s < from_s[part])
        part--;
    const double since_s = time_s - from_s[part], slip = (time_s - 18.0) / 1.5;
    const bool changing = (part == 1 || part == 2) && since_s < 0.3;
    *road_m_s = from_m_s[part] + rise_m_s2[part] * since_s;
    double line = line_rad_m[part];
    if (changing)
        line += (line_rad_m[part - 1] - line) * (1.0 - since_s / 0.3);
    if (part == 3 && since_s > 41.5) /* down into third again */
        line += (line_rad_m[0] - line) * (since_s - 41.5) / 0.5;
    *engine_rad_s =
        line * *road_m_s * (slip > 0.0 && slip < 1.0 ? 1.0 + 0.15 * pow(sin(3.14159265358979323846 * slip), 2.0) : 1.0);
    *throttle_1 = changing || part == 3 ? 0.1 : 0.9;
}

#endif
