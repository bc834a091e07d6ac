/*
 * Poppet valve lift and effective area over crank angle.
 *
 * Angles are taken modulo 4 pi, the four-stroke cycle. A valve is open while the angle since its true opening, brought
 * into [0, 4 pi), is below its duration; because a duration is always below 4 pi, one cycle holds one opening. Where a
 * sheet's events are given (say intake opens 5 degrees before top dead centre), which turn of the two is meant is the
 * caller's business: 0 is the firing top dead centre.
 */
#include "crosshatch/valve.h"

#include <math.h>

#define PI 3.14159265358979323846
#define CYCLE_RAD (4.0 * PI)

ch_status ch_valve_set_events(ch_valve *valve, double published_opens_rad, double published_closes_rad,
                              double checking_lift_m, ch_err *err)
{
    const double published_rad = published_closes_rad - published_opens_rad;
    if (!(published_rad > 0.0 && published_rad < CYCLE_RAD))
        return ch_fail(err, CH_E_RANGE, "above 0 and below 720 degrees of crank", "valve duration %g degrees of crank",
                       published_rad * 180.0 / PI);
    if (!(checking_lift_m >= 0.0 && checking_lift_m < valve->lift_m))
        return ch_fail(err, CH_E_RANGE, "from 0 to below the largest lift", "checking lift %g mm, largest lift %g mm",
                       checking_lift_m * 1e3, valve->lift_m * 1e3);
    const double true_rad = published_rad / (1.0 - 2.0 / PI * asin(sqrt(checking_lift_m / valve->lift_m)));
    if (!(true_rad < CYCLE_RAD))
        return ch_fail(err, CH_E_RANGE, "a smaller checking lift or a shorter duration",
                       "valve open for %g degrees of crank, longer than a cycle", true_rad * 180.0 / PI);
    valve->opens_rad = 0.5 * (published_opens_rad + published_closes_rad - true_rad);
    valve->duration_rad = true_rad;
    return CH_OK;
}

/* Angle since the true opening, in [0, 4 pi). */
static double since_opening_rad(const ch_valve *valve, double angle_rad)
{
    const double turns = (angle_rad - valve->opens_rad) * (1.0 / CYCLE_RAD);
    return (turns - floor(turns)) * CYCLE_RAD;
}

double ch_valve_lift_m(const ch_valve *valve, double angle_rad)
{
    const double since_rad = since_opening_rad(valve, angle_rad);
    if (since_rad >= valve->duration_rad)
        return 0.0;
    const double rise = sin(PI * since_rad / valve->duration_rad);
    return valve->lift_m * rise * rise;
}

ch_valve_opening ch_valve_at(const ch_valve *valve, double angle_rad)
{
    ch_valve_opening opening = {0.0, 0.0};
    const double since_rad = since_opening_rad(valve, angle_rad);
    if (since_rad >= valve->duration_rad)
        return opening;
    const double per_rad = PI / valve->duration_rad;
    const double rise = sin(per_rad * since_rad);
    const double all = valve->count * valve->discharge_1 * PI * valve->diameter_m;
    const double lift_m = valve->lift_m * rise * rise;
    if (lift_m < 0.25 * valve->diameter_m) {
        opening.area_m2 = all * lift_m;
        opening.rate_m2_rad = all * valve->lift_m * 2.0 * rise * cos(per_rad * since_rad) * per_rad;
    } else {
        opening.area_m2 = all * 0.25 * valve->diameter_m;
    }
    return opening;
}

double ch_valve_area_m2(const ch_valve *valve, double angle_rad)
{
    return ch_valve_at(valve, angle_rad).area_m2;
}
