/* What the search for gears is split into. Private to gears*.c. */
#ifndef CROSSHATCH_DRIVELINE_GEARS_PARTS_H
#define CROSSHATCH_DRIVELINE_GEARS_PARTS_H

#include <math.h>

#include "parts.h"

#define GEARS_NEAR_1 0.03  /* of the logarithm: rows that belong to a line */
#define GEARS_APART_1 0.10 /* of the logarithm: steps of gearboxes begin at about 1.12 */
#define GEARS_LIGHT_1 0.03 /* of the time: a line that may come from slips */

/* Median ratio of the steady rows near a line, its scatter, and whether the engine's speed follows the road's. */
typedef struct line_fit {
    double at, spread, u, seconds;
    double road_spread; /* of road speed, relative */
    double engine_mean_rad_s;
    double pulling_1; /* share of the rows in which the engine gains speed */
} line_fit;

static inline double gears_row_seconds(const signals *s, size_t i)
{
    return i + 1 < s->n ? fmin(s->time_s[i + 1] - s->time_s[i], 3 * s->interval_s) : s->interval_s;
}

static inline bool gears_clutch_pressed(const trail *t, size_t i)
{
    return t->channel[TRAIL_CLUTCH][i] > TRAIL_PRESSED_1;
}

/* News comes seldom. */
static inline bool gears_slow(const signals *s)
{
    return s->window_s > 0.6;
}

static inline double gears_steady_limit(const signals *s)
{
    return gears_slow(s) ? 0.03 : 0.02;
}

/* Where a clutch slips at every pull, only what does not pull tells of the gears. */
static inline bool gears_asked(const signals *s, size_t i)
{
    static const double pulls_m_s2 = 0.6; /* judgment: a cruise on a slope */
    return !s->slowing_only || !(signals_traction(s, i) > pulls_m_s2);
}

static inline bool gears_steady(const signals *s, const trail *t, size_t i)
{
    return fabs(s->drift[i]) < gears_steady_limit(s) && !gears_clutch_pressed(t, i) && gears_asked(s, i);
}

/* Between two steps a speed that hardly changes may be anywhere; one that runs through them is known at each. */
static inline bool gears_cross_steps(const signals *s, size_t i)
{
    return s->step_m_s == 0 || fabsf(s->climb[i]) > 0.6F;
}

/* A filter lags evenly only while the acceleration stays as it is. */
static inline bool gears_even_pull(const signals *s, size_t i)
{
    const size_t k = (size_t)(0.4 / fmax(s->interval_s, 0.01)) + 1;
    return i >= k && i + k < s->n && fabsf(s->climb[i + k] - s->climb[i - k]) < 1.0F;
}

/*
 * The logarithms of the lines as the car's ratios and tyre give them, with the standard uncertainty of each that comes of the digits they are stated in.
 */
typedef struct gears_stated {
    double at[CH_DRIVELINE_GEARS_MAX], u[CH_DRIVELINE_GEARS_MAX];
} gears_stated;

/*
 * The lines once more, each row weighed by how well it knows its ratio, and how far to trust them: `at` and `u` of each. `offset_m_s` is what road speed had added
 * for s->ratio; `stated` may be NULL. CH_E_MEMORY, CH_E_CONVERGE.
 */
ch_status gears_weigh(const signals *s, const trail *t, double offset_m_s, const gears_stated *stated, line_fit *found,
                      size_t n, ch_err *err);

/*
 * Road speed's own noise as a standard deviation, m/s: by second differences of the ratio over neighbouring news, of which whatever a filter or a lag does is no
 * part.
 */
double gears_road_noise(const signals *s, const trail *t, const line_fit *found, size_t n);

/* What road speed lacks at any speed, beyond `offset_m_s`, by the same least squares with the lines left where they are. Errors as gears_weigh(). */
ch_status gears_lack(const signals *s, const trail *t, double offset_m_s, const gears_stated *stated,
                     const line_fit *found, size_t n, double *lacks_m_s, double *u_m_s, ch_err *err);

/*
 * Where, below a line (logarithms) on which the car was only ever pulled, it lay with the foot off and hardly ever pulled; NaN where the line is no such one. A clutch that slips by
 * much the same share at every pull in one gear leaves two such lines.
 */
double gears_foot_off(const signals *s, const trail *t, double line);

#endif
