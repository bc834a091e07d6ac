/*
 * The torque that a slipping clutch passes is all that it holds: capacity from the car's acceleration at each slip, and against temperature.
 * Uncertainties are added as JCGM 100:2008 (GUM), 5.1.2, for independent inputs.
 */
#include <math.h>
#include <stdlib.h>

#include "parts.h"

/* Standard uncertainties where the car's own are not known, and what is assumed of it: judgment, of ordinary road cars (docs/driveline.md). */
static const double U_MASS_1 = 0.05; /* fuel, passenger, what was weighed when */
static const double U_DRAG_STATED_1 = 0.07, U_DRAG_ASSUMED_1 = 0.20;
static const double DRAG_AREA_ASSUMED_M2 = 0.65;
static const double ROLLING_1 = 0.013, U_ROLLING_1 = 0.003;
static const double EFFICIENCY_1 = 0.94, U_EFFICIENCY_1 = 0.02;
static const double U_ACCELERATION_M_S2 = 0.12; /* a slope of 1 % and the noise of a speed taken over half a second */

static double squared(double x)
{
    return x * x;
}

static double line_of(const ch_driveline *to, int number)
{
    for (size_t g = 0; g < to->gears; g++)
        if (to->gear[g].number == number)
            return to->gear[g].line_rad_m;
    return NAN;
}

static void judge_slip(const ch_car *car, ch_slip *slip, double line_rad_m)
{
    const bool drag_stated = isfinite(car->drag_area_m2);
    const ch_road_load load = {.mass_kg = car->mass_kg,
                               .drag_area_m2 = drag_stated ? car->drag_area_m2 : DRAG_AREA_ASSUMED_M2,
                               .rolling_1 = ROLLING_1};
    const double a = slip->acceleration_m_s2, v = slip->road_speed_m_s;
    const double torque = ch_clutch_torque_passed(&load, a, v, line_rad_m, EFFICIENCY_1);
    ch_road_load more = load;
    more.mass_kg *= 1 + U_MASS_1;
    double variance = squared(ch_clutch_torque_passed(&more, a, v, line_rad_m, EFFICIENCY_1) - torque);
    more = load;
    more.drag_area_m2 *= 1 + (drag_stated ? U_DRAG_STATED_1 : U_DRAG_ASSUMED_1);
    variance += squared(ch_clutch_torque_passed(&more, a, v, line_rad_m, EFFICIENCY_1) - torque);
    more = load;
    more.rolling_1 += U_ROLLING_1;
    variance += squared(ch_clutch_torque_passed(&more, a, v, line_rad_m, EFFICIENCY_1) - torque);
    variance += squared(ch_clutch_torque_passed(&load, a + U_ACCELERATION_M_S2, v, line_rad_m, EFFICIENCY_1) - torque);
    variance += squared(torque * U_EFFICIENCY_1 / EFFICIENCY_1);
    slip->torque_n_m = torque;
    slip->u_torque_n_m = sqrt(variance);
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/*
 * The median slip's torque; what is common to all (mass, drag, efficiency) does not average out, so its uncertainty is that of one slip. What scatters does: a median of n draws of a normal distribution has
 * pi/2 times the variance of their mean (Kendall and Stuart, The Advanced Theory of Statistics, volume 1, chapter 10; from memory; for large n, and a little less for few).
 */
static void judge_all(ch_driveline *to)
{
    enum { MOST = 512 };
    static const double k_90 = 1.645, of_median_1 = 1.570796326794897; /* of a normal distribution; pi/2 */
    double torque[MOST], u = 0;
    size_t n = 0;
    for (size_t i = 0; i < to->slips && n < MOST; i++)
        if (isfinite(to->slip[i].torque_n_m) && to->slip[i].torque_n_m > 0) {
            torque[n++] = to->slip[i].torque_n_m;
            u += to->slip[i].u_torque_n_m / to->slip[i].torque_n_m;
        }
    if (n == 0)
        return;
    qsort(torque, n, sizeof *torque, by_value);
    const double middle = n % 2 == 1 ? torque[n / 2] : 0.5 * (torque[n / 2 - 1] + torque[n / 2]);
    const double scatter = n > 2 ? (torque[(n * 84) / 100] - torque[(n * 16) / 100]) / 2 / middle : 0;
    const double relative = sqrt(squared(u / (double)n) + of_median_1 * squared(scatter) / (double)n);
    to->capacity_n_m[0] = middle * exp(-k_90 * relative);
    to->capacity_n_m[1] = middle;
    to->capacity_n_m[2] = middle * exp(k_90 * relative);
}

/* Slope of the logarithm of capacity with the plate's temperature, by least squares. */
static void judge_fade(ch_driveline *to)
{
    double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0, syy = 0;
    for (size_t i = 0; i < to->slips; i++) {
        const ch_slip *slip = &to->slip[i];
        if (!(slip->torque_n_m > 0) || !isfinite(slip->plate_k))
            continue;
        const double x = slip->plate_k, y = log(slip->torque_n_m);
        n++;
        sx += x;
        sy += y;
        sxx += x * x;
        sxy += x * y;
        syy += y * y;
    }
    const double vx = sxx - sx * sx / n, cov = sxy - sx * sy / n, vy = syy - sy * sy / n;
    if (!(n >= 4) || !(vx > n * squared(5)))
        return;
    to->fade_1_k = cov / vx;
    to->u_fade_1_k = sqrt(fmax((vy - cov * cov / vx) / (n - 2), squared(0.02)) / vx);
}

void capacity_judge(const ch_car *car, ch_driveline *to)
{
    to->capacity_n_m[0] = to->capacity_n_m[1] = to->capacity_n_m[2] = NAN;
    to->fade_1_k = to->u_fade_1_k = NAN;
    to->design_n_m[0] = to->design_n_m[1] = NAN;
    if (car == NULL)
        return;
    double pressure = NAN, wear = NAN;
    if (ch_clutch_capacity(&car->clutch, &pressure, &wear, NULL) >= 0) {
        to->design_n_m[0] = wear;
        to->design_n_m[1] = pressure;
    }
    if (!isfinite(car->mass_kg))
        return;
    for (size_t i = 0; i < to->slips; i++)
        judge_slip(car, &to->slip[i], line_of(to, to->slip[i].gear));
    heat_judge(car, to);
    judge_all(to);
    judge_fade(to);
}
