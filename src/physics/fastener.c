/*
 * Metric steel bolts: stress area and proof load of ISO 898-1, and the torque of the short form T = K D F.
 * Only ever a cross-check; no figure leaves this room without its caution.
 */
#include "crosshatch/fastener.h"

#include <math.h>
#include <stdbool.h>

#include "crosshatch/text.h"
#include "crosshatch/units.h"

#define PI 3.14159265358979323846
#define MM 1e-3
#define MPA 1e6
#define ROUNDING_M 0.5e-6 /* half a micrometre: no two threads are that near, and no rounding of metres that far */
#define PITCH_OF_DIAMETER_MOST 0.25 /* the coarsest of the series, M5 and smaller, have 0.16 to 0.2 */

static const char caution[] =
    "WARNING: the torque of this vehicle's own manual goes before. This is an estimate for a plain steel bolt in "
    "steel, "
    "from its thread and strength class; friction alone moves it by 30 %. It does not hold in aluminium, for bolts "
    "tightened by angle, for wheels or for plugs. A bolt tightened by it can break or come loose and people can be "
    "hurt: "
    "use it to doubt a figure, never to tighten.";

static bool is_space(char c)
{
    return c == ' ' || c == '\t';
}

static void trim(const char **text, size_t *length)
{
    while (*length > 0 && is_space(**text)) {
        ++*text;
        --*length;
    }
    while (*length > 0 && is_space((*text)[*length - 1]))
        --*length;
}

static ch_status not_a_thread(const char *text, size_t length, ch_err *err)
{
    char quoted[48];
    ch_text_excerpt(text, length, quoted, sizeof quoted);
    return ch_fail(err, CH_E_INPUT, "a metric thread such as M10x1.5", "\"%s\" is not a thread", quoted);
}

/* A bare number, millimetres to whoever writes a thread. */
static bool read_length(const char *text, size_t length, double *length_m)
{
    ch_quantity quantity = ch_quantity_none();
    if (ch_quantity_parse(text, length, CH_DIM_LENGTH, ch_unit_find("mm", 2), &quantity, NULL) < 0 || !quantity.bare)
        return false;
    *length_m = quantity.si;
    return true;
}

/* Place of the sign between diameter and pitch, and its length in bytes; `length` where there is none. */
static size_t find_times(const char *text, size_t length, size_t *bytes)
{
    for (size_t i = 0; i < length; i++) {
        *bytes = 1;
        if (text[i] == 'x' || text[i] == 'X' || text[i] == '*')
            return i;
        *bytes = 2;
        if (i + 1 < length && (unsigned char)text[i] == 0xC3 && (unsigned char)text[i + 1] == 0x97) /* U+00D7 */
            return i;
    }
    *bytes = 0;
    return length;
}

static double coarse_pitch_m(double diameter_m)
{
    static const struct {
        double diameter_m, pitch_m;
    } coarse[] = {
        {5 * MM, 0.8 * MM},   {6 * MM, 1 * MM},  {7 * MM, 1 * MM},  {8 * MM, 1.25 * MM}, {10 * MM, 1.5 * MM},
        {12 * MM, 1.75 * MM}, {14 * MM, 2 * MM}, {16 * MM, 2 * MM}, {20 * MM, 2.5 * MM}}; /* ISO 261, ISO 262 */
    for (size_t i = 0; i < sizeof coarse / sizeof coarse[0]; i++)
        if (fabs(coarse[i].diameter_m - diameter_m) < ROUNDING_M)
            return coarse[i].pitch_m;
    return NAN;
}

/* Between the two lengths, either of them included whatever it became on its way into metres. */
static bool is_within(double x_m, double low_m, double high_m)
{
    return x_m >= low_m - ROUNDING_M && x_m <= high_m + ROUNDING_M;
}

ch_status ch_thread_parse(const char *text, size_t length, ch_thread *thread, ch_err *err)
{
    const char *at = text;
    size_t left = length, sign = 0;
    trim(&at, &left);
    if (left < 2 || (at[0] != 'M' && at[0] != 'm'))
        return not_a_thread(text, length, err);
    at++;
    left--;
    const size_t times = find_times(at, left, &sign);
    double diameter_m = NAN;
    if (!read_length(at, times, &diameter_m))
        return not_a_thread(text, length, err);
    if (!is_within(diameter_m, 3 * MM, 39 * MM))
        return ch_fail(err, CH_E_INPUT, "M3 to M39", "thread M%g", diameter_m / MM);
    double pitch_m = coarse_pitch_m(diameter_m);
    if (times < left && !read_length(at + times + sign, left - times - sign, &pitch_m))
        return not_a_thread(text, length, err);
    if (isnan(pitch_m))
        return ch_fail(err, CH_E_INPUT, "the pitch with it, as in M10x1.25", "M%g without a pitch", diameter_m / MM);
    if (!is_within(pitch_m, 0.35 * MM, fmin(4 * MM, PITCH_OF_DIAMETER_MOST * diameter_m)))
        return ch_fail(err, CH_E_INPUT, "0.35 mm to 4 mm and at most a quarter of the diameter", "pitch %g mm on M%g",
                       pitch_m / MM, diameter_m / MM);
    *thread = (ch_thread){.diameter_m = diameter_m, .pitch_m = pitch_m};
    return CH_OK;
}

const char *ch_property_class_name(ch_property_class property_class)
{
    static const char *const names[CH_CLASS_COUNT] = {"8.8", "10.9", "12.9"};
    return (unsigned)property_class < CH_CLASS_COUNT ? names[property_class] : NULL;
}

ch_status ch_property_class_parse(const char *text, size_t length, ch_property_class *to, ch_err *err)
{
    const char *at = text;
    size_t left = length;
    trim(&at, &left);
    for (int i = 0; i < CH_CLASS_COUNT; i++) {
        const char *name = ch_property_class_name((ch_property_class)i);
        size_t k = 0;
        while (k < left && name[k] != '\0' && at[k] == name[k])
            k++;
        if (k == left && name[k] == '\0') {
            *to = (ch_property_class)i;
            return CH_OK;
        }
    }
    char quoted[48];
    ch_text_excerpt(text, length, quoted, sizeof quoted);
    return ch_fail(err, CH_E_INPUT, "8.8, 10.9 or 12.9", "strength class \"%s\"", quoted);
}

double ch_thread_stress_area_m2(const ch_thread *thread)
{
    const double d = thread->diameter_m - 0.938194 * thread->pitch_m;
    return 0.25 * PI * d * d;
}

double ch_proof_stress_pa(ch_property_class property_class, double diameter_m)
{
    switch (property_class) {
    case CH_CLASS_8_8: return diameter_m <= 16 * MM + ROUNDING_M ? 580 * MPA : 600 * MPA;
    case CH_CLASS_10_9: return 830 * MPA;
    case CH_CLASS_12_9: return 970 * MPA;
    default: return NAN;
    }
}

double ch_nut_factor_1(ch_thread_surface surface)
{
    static const double factor_1[CH_THREAD_SURFACES] = {0.20, 0.17, 0.15};
    return (unsigned)surface < CH_THREAD_SURFACES ? factor_1[surface] : NAN;
}

ch_status ch_fastener_estimate_torque(const ch_thread *thread, ch_property_class property_class,
                                      ch_thread_surface surface, double proof_part_1, ch_fastener_estimate *estimate,
                                      ch_err *err)
{
    const double d = thread->diameter_m, pitch = thread->pitch_m;
    if (!(d > 0) || !isfinite(d))
        return ch_fail(err, CH_E_RANGE, "above 0", "thread diameter %g mm", d / MM);
    if (!(pitch > 0) || !(pitch <= PITCH_OF_DIAMETER_MOST * d + ROUNDING_M))
        return ch_fail(err, CH_E_RANGE, "above 0, at most a quarter of the diameter", "pitch %g mm", pitch / MM);
    if (!(proof_part_1 > 0) || !(proof_part_1 <= 1))
        return ch_fail(err, CH_E_RANGE, "above 0, at most 1", "part of the proof load %g", proof_part_1);
    const double proof_stress_pa = ch_proof_stress_pa(property_class, d), factor_1 = ch_nut_factor_1(surface);
    if (isnan(proof_stress_pa) || isnan(factor_1))
        return ch_fail(err, CH_E_RANGE, NULL, "strength class %d, surface %d", (int)property_class, (int)surface);
    const double area_m2 = ch_thread_stress_area_m2(thread);
    const double preload_n = proof_part_1 * area_m2 * proof_stress_pa, torque_n_m = factor_1 * d * preload_n;
    *estimate = (ch_fastener_estimate){
        .stress_area_m2 = area_m2,
        .proof_stress_pa = proof_stress_pa,
        .proof_load_n = area_m2 * proof_stress_pa,
        .preload_n = preload_n,
        .torque_n_m = torque_n_m,
        .torque_low_n_m = torque_n_m * (1 - CH_FASTENER_SCATTER),
        .torque_high_n_m = torque_n_m * (1 + CH_FASTENER_SCATTER),
        .caution = caution,
    };
    return CH_OK;
}

ch_torque_check ch_fastener_check(const ch_fastener_estimate *estimate, double torque_n_m)
{
    if (!(torque_n_m <= estimate->torque_high_n_m))
        return CH_TORQUE_HIGH;
    return torque_n_m < estimate->torque_low_n_m ? CH_TORQUE_LOW : CH_TORQUE_USUAL;
}
