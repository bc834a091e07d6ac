/*
 * Slider-crank geometry, written without the cancellations of the textbook form: near top dead centre, where a
 * leak-down test stands, the travel is a difference of nearly equal lengths.
 *
 * Source: Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.2, eqs. 2.4..2.11.
 */
#include "crosshatch/piston.h"

#include <math.h>

#define PI 3.14159265358979323846

double ch_piston_travel_m(const ch_bore *bore, double angle_rad)
{
    const double crank_m = 0.5 * bore->stroke_m;
    const double half = sin(0.5 * angle_rad);
    const double offset_m = crank_m * 2.0 * half * cos(0.5 * angle_rad);
    const double upright_m = sqrt(bore->rod_m * bore->rod_m - offset_m * offset_m);
    return 2.0 * crank_m * half * half + offset_m * offset_m / (bore->rod_m + upright_m);
}

double ch_piston_travel_rate_m_rad(const ch_bore *bore, double angle_rad)
{
    const double crank_m = 0.5 * bore->stroke_m;
    const double offset_m = crank_m * sin(angle_rad);
    const double upright_m = sqrt(bore->rod_m * bore->rod_m - offset_m * offset_m);
    return offset_m * (1.0 + crank_m * cos(angle_rad) / upright_m);
}

ch_piston_place ch_piston_at(const ch_bore *bore, double angle_rad)
{
    const double crank_m = 0.5 * bore->stroke_m;
    const double half_sin = sin(0.5 * angle_rad);
    const double half_cos = cos(0.5 * angle_rad);
    const double offset_m = crank_m * 2.0 * half_sin * half_cos;
    const double beside_m = crank_m * (1.0 - 2.0 * half_sin * half_sin);
    const double upright_m = sqrt(bore->rod_m * bore->rod_m - offset_m * offset_m);
    const double lean = offset_m / upright_m;
    return (ch_piston_place){
        .travel_m = 2.0 * crank_m * half_sin * half_sin + offset_m * offset_m / (bore->rod_m + upright_m),
        .rate_m_rad = offset_m + lean * beside_m,
        .second_m_rad2 = beside_m + (beside_m * beside_m * (1.0 + lean * lean)) / upright_m - lean * offset_m,
    };
}

double ch_piston_swept_m3(const ch_bore *bore)
{
    return 0.25 * PI * bore->bore_m * bore->bore_m * bore->stroke_m;
}

double ch_piston_clearance_m3(const ch_bore *bore, double compression_ratio)
{
    return ch_piston_swept_m3(bore) / (compression_ratio - 1.0);
}
