/*
 * Gears as lines of constant engine over road speed.
 *
 * Rows with a steady ratio are counted over its logarithm and smoothed (kernel density). The densest place is a gear, then the densest beyond a tenth of it, and so
 * on, as long as a place stands out from its surroundings. A line is then the weighted median of the rows near it. Where the car's ratios are known,
 * lines are looked for where they must be, with one common factor for the tyre.
 * Source of the density estimate: Silverman, Density Estimation for Statistics and Data Analysis, 1986, chapter 2.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "parts.h"

#define LOW_RAD_M 3.0    /* 8 rpm per km/h */
#define HIGH_RAD_M 130.0 /* 345 rpm per km/h */
#define CELL 0.002       /* of the logarithm */
#define CELLS 1888       /* ln(HIGH/LOW)/CELL, rounded up */

static const double NEAR_1 = 0.03;     /* rows that belong to a line */
static const double LEAST_U_1 = 0.001; /* what lag and steps leave, however long the log */
static const double LIGHT_1 = 0.03;    /* of the time: a line that may come from slips */

typedef struct spectrum {
    double seconds[CELLS]; /* steady rows, weighted by time */
    double density[CELLS];
    double total_s;
} spectrum;

static double row_seconds(const signals *s, size_t i)
{
    return i + 1 < s->n ? fmin(s->time_s[i + 1] - s->time_s[i], 3 * s->interval_s) : s->interval_s;
}

static bool clutch_pressed(const trail *t, size_t i)
{
    return t->channel[TRAIL_CLUTCH][i] > 0.3F;
}

static bool is_slow(const signals *s)
{
    return s->window_s > 0.6;
}

static double steady_limit(const signals *s)
{
    return is_slow(s) ? 0.03 : 0.02;
}

static bool is_steady(const signals *s, const trail *t, size_t i)
{
    return fabs(s->drift[i]) < steady_limit(s) && !clutch_pressed(t, i);
}

static void fill(spectrum *sp, const signals *s, const trail *t)
{
    memset(sp, 0, sizeof *sp);
    const double start = log(LOW_RAD_M);
    for (size_t i = 0; i < s->n; i++) {
        if (!is_steady(s, t, i))
            continue;
        const double place = (s->smooth[i] - start) / CELL;
        if (!(place >= 0) || !(place < CELLS))
            continue;
        const double seconds = row_seconds(s, i);
        sp->seconds[(int)place] += seconds;
        sp->total_s += seconds;
    }
}

static void smooth(spectrum *sp, double width)
{
    enum { REACH_MAX = 40 };
    double kernel[REACH_MAX + 1];
    const int reach = (int)fmin(REACH_MAX, ceil(3 * width / CELL));
    for (int k = 0; k <= reach; k++)
        kernel[k] = exp(-0.5 * (k * CELL / width) * (k * CELL / width));
    for (int i = 0; i < CELLS; i++) {
        sp->density[i] = 0;
        for (int k = -reach; k <= reach; k++)
            if (i + k >= 0 && i + k < CELLS)
                sp->density[i] += kernel[abs(k)] * sp->seconds[i + k];
    }
}

static double seconds_between(const spectrum *sp, double from, double to)
{
    const int a = (int)fmax(0, (from - log(LOW_RAD_M)) / CELL), b = (int)fmin(CELLS - 1, (to - log(LOW_RAD_M)) / CELL);
    double sum = 0;
    for (int i = a; i <= b; i++)
        sum += sp->seconds[i];
    return sum;
}

/*
 * A place stands out where most of the steady time around it is close to it. Lines are broader where news comes seldom, and above all others: first gear is
 * left after a second, at a speed of which the noise is a larger part.
 */
static bool stands_out(const spectrum *sp, double at, bool slow, bool above_all)
{
    const double close = slow || above_all ? 0.035 : 0.02, part_1 = slow || above_all ? 0.5 : 0.55;
    const double least_s = slow ? 8 : above_all ? 0.8 : 1;
    const double close_s = seconds_between(sp, at - close, at + close);
    const double around_s = seconds_between(sp, at - 0.1, at + 0.1);
    return close_s >= least_s && close_s >= part_1 * around_s && close_s >= 0.002 * sp->total_s;
}

/* Between two steps a speed that hardly changes may be anywhere; one that runs through them is known at each. */
static bool crosses_steps(const signals *s, size_t i)
{
    return s->step_m_s == 0 || fabsf(s->climb[i]) > 0.6F;
}

/* A filter lags evenly only while the acceleration stays as it is. */
static bool even_pull(const signals *s, size_t i)
{
    const size_t k = (size_t)(0.4 / fmax(s->interval_s, 0.01)) + 1;
    return i >= k && i + k < s->n && fabsf(s->climb[i + k] - s->climb[i - k]) < 1.0F;
}

/* The same where a filter has long forgotten how the pull began: one gear, one acceleration, for a second before. */
static bool settled_pull(const signals *s, size_t i, double at)
{
    static const double before_s = 1.0, behind_s = 0.3, range_m_s2 = 1.5;
    float least = s->climb[i], most = least;
    size_t from = i, to = i;
    while (from > 0 && s->time_s[i] - s->time_s[from] < before_s)
        from--;
    while (to + 1 < s->n && s->time_s[to] - s->time_s[i] < behind_s)
        to++;
    for (size_t k = from; k <= to; k++) {
        least = fminf(least, s->climb[k]);
        most = fmaxf(most, s->climb[k]);
        if (!(fabs(s->ratio[k] - at) < NEAR_1) || isnan(s->climb[k]))
            return false;
    }
    return most - least < range_m_s2;
}

/* Median ratio of the steady rows near a line, its scatter, and whether the engine's speed follows the road's. */
typedef struct line_fit {
    double at, spread, u, seconds;
    double road_spread; /* of road speed, relative */
    double engine_mean_rad_s;
    double pulling_1; /* share of the rows in which the engine gains speed */
} line_fit;

static bool fit_line(const signals *s, const trail *t, double at, line_fit *fit)
{
    quantile q;
    for (int pass = 0; pass < 2; pass++) {
        double seconds = 0, sum = 0, square = 0, engine = 0;
        size_t pulling = 0;
        quantile_start(&q, at - NEAR_1, at + NEAR_1);
        for (size_t i = 0; i < s->n; i++)
            if (fabs(s->ratio[i] - at) < NEAR_1 && is_steady(s, t, i)) {
                const double road = s->road[i];
                quantile_add(&q, s->ratio[i]);
                seconds += row_seconds(s, i);
                sum += road;
                square += road * road;
                engine += s->engine[i];
                pulling += i > 0 && s->engine[i] > s->engine[i - 1];
            }
        if (q.n < 3)
            return false;
        const double count = (double)q.n, mean = sum / count;
        at = quantile_at(&q, 0.5);
        fit->at = at;
        fit->spread = (quantile_at(&q, 0.84) - quantile_at(&q, 0.16)) / 2;
        fit->u = LEAST_U_1 + 1.2533 * fit->spread / sqrt(fmax(seconds / fmax(s->window_s, s->interval_s), 1));
        fit->seconds = seconds;
        fit->road_spread = sqrt(fmax(square / count - mean * mean, 0)) / mean;
        fit->engine_mean_rad_s = engine / count;
        fit->pulling_1 = (double)pulling / count;
    }
    return true;
}

/* Idling at one road speed looks like a gear; a gear holds over a range of speeds. */
static bool is_a_gear(const line_fit *fit)
{
    static const double idle_rad_s = 115; /* 1100 rpm */
    return fit->seconds >= 0.8 && !(fit->road_spread < 0.02 && fit->engine_mean_rad_s < idle_rad_s);
}

static int by_line_falling(const void *a, const void *b)
{
    const double x = ((const line_fit *)a)->at, y = ((const line_fit *)b)->at;
    return (x < y) - (x > y);
}

/*
 * A slip that holds for a while makes a line of its own above that of its gear: little time, all of it pulling, in the middle of a step
 * that is none too wide without it.
 */
static size_t drop_light_lines(const spectrum *sp, line_fit *found, size_t n)
{
    static const double pulling_1 = 0.9, widest = 0.60;
    size_t kept = 0;
    for (size_t g = 0; g < n; g++) {
        const bool between = kept > 0 && g + 1 < n && found[kept - 1].at - found[g + 1].at < widest;
        if (between && found[g].seconds < LIGHT_1 * sp->total_s && found[g].pulling_1 > pulling_1)
            continue;
        found[kept++] = found[g];
    }
    return kept;
}

/* Lines from the density alone. */
static size_t lines_of_spectrum(spectrum *sp, const signals *s, const trail *t, line_fit found[CH_DRIVELINE_GEARS_MAX])
{
    static const double apart = 0.10; /* steps of gearboxes begin at about 1.12 */
    bool taken[CELLS] = {false};
    size_t n = 0;
    for (int tries = 0; tries < 40 && n < CH_DRIVELINE_GEARS_MAX; tries++) {
        int best = -1;
        for (int i = 0; i < CELLS; i++)
            if (!taken[i] && (best < 0 || sp->density[i] > sp->density[best]))
                best = i;
        if (best < 0 || !(sp->density[best] > 0))
            break;
        const double at = log(LOW_RAD_M) + (best + 0.5) * CELL;
        line_fit fit;
        bool above_all = n > 0;
        for (size_t g = 0; g < n; g++)
            above_all = above_all && at > found[g].at + 0.22;
        const bool good = stands_out(sp, at, is_slow(s), above_all) && fit_line(s, t, at, &fit) && is_a_gear(&fit);
        if (good)
            found[n++] = fit;
        const double reach = good ? apart : 0.02;
        for (int i = 0; i < CELLS; i++)
            if (fabs(log(LOW_RAD_M) + (i + 0.5) * CELL - at) < reach)
                taken[i] = true;
    }
    qsort(found, n, sizeof *found, by_line_falling);
    return drop_light_lines(sp, found, n);
}

/* The common factor between the car's lines and the log's: that with most steady time on the lines. */
static double car_factor(const spectrum *sp, const ch_car *car, double *share_1)
{
    double best = NAN, most = 0;
    for (int k = -80; k <= 80; k++) {
        const double shift = k * 0.001;
        double sum = 0;
        for (size_t g = 1; g <= car->gears; g++) {
            const double at = log(ch_car_line_rad_m(car, g)) + shift;
            const double place = (at - log(LOW_RAD_M)) / CELL;
            if (place >= 0 && place < CELLS)
                sum += sp->density[(int)place];
        }
        if (sum > most) {
            most = sum;
            best = shift;
        }
    }
    double on_s = 0;
    for (size_t g = 1; g <= car->gears && isfinite(best); g++) {
        const double at = log(ch_car_line_rad_m(car, g)) + best;
        on_s += seconds_between(sp, at - 0.02, at + 0.02);
    }
    *share_1 = sp->total_s > 0 ? on_s / sp->total_s : 0;
    return best;
}

/* Lines where the car's ratios say. */
static size_t lines_of_car(const spectrum *sp, const signals *s, const trail *t, const ch_car *car,
                           line_fit found[CH_DRIVELINE_GEARS_MAX], int number[CH_DRIVELINE_GEARS_MAX], double *factor)
{
    double share_1 = 0;
    const double shift = car_factor(sp, car, &share_1);
    size_t n = 0;
    if (!(share_1 > 0.5))
        return 0;
    for (size_t g = 1; g <= car->gears; g++) {
        line_fit fit;
        const double at = log(ch_car_line_rad_m(car, g)) + shift;
        if (seconds_between(sp, at - 0.02, at + 0.02) < 0.4 || !fit_line(s, t, at, &fit) || fit.seconds < 0.4)
            continue;
        number[n] = (int)g;
        found[n++] = fit;
    }
    *factor = exp(shift);
    return n;
}

/*
 * Without the car's ratios a gear's number is a guess: the lines are laid beside the usual ones (rpm for each km/h of ordinary
 * cars: 125, 70, 47, 35, 28, 23), as a whole.
 */
static int usual_first(const line_fit *found, size_t n)
{
    static const double usual_rad_m[] = {47.1, 26.4, 17.7, 13.2, 10.6, 8.7, 7.5, 6.5};
    enum { USUAL = sizeof usual_rad_m / sizeof usual_rad_m[0] };
    int best = 0;
    double least = INFINITY;
    for (int first = 0; first < 4 && first + (int)n <= USUAL; first++) {
        double mean = 0, sum = 0;
        for (size_t g = 0; g < n; g++)
            mean += (found[g].at - log(usual_rad_m[first + (int)g])) / (double)n;
        for (size_t g = 0; g < n; g++) {
            const double apart = found[g].at - log(usual_rad_m[first + (int)g]) - mean;
            sum += apart * apart / (0.08 * 0.08);
        }
        sum += mean * mean / (0.22 * 0.22);
        if (sum < least) {
            least = sum;
            best = first;
        }
    }
    return best + 1;
}

static void numbers(const line_fit *found, size_t n, int number[CH_DRIVELINE_GEARS_MAX])
{
    const int first = usual_first(found, n);
    for (size_t g = 0; g < n; g++)
        number[g] = first + (int)g;
}

/*
 * What is left of the lag: the least squares of v + a lag = w/line over all lines, the lag common to them. A late speed falls short in proportion to
 * acceleration.
 */
static double lag_left(const signals *s, const trail *t, const line_fit *found, size_t n)
{
    double aa = 0, av = 0, total_s = 0;
    for (size_t g = 0; g < n; g++)
        total_s += found[g].seconds;
    for (size_t g = 0; g < n; g++) {
        double count = 0, saa = 0, sav = 0, sww = 0, swv = 0, swa = 0;
        for (size_t i = 0; i < s->n; i++) {
            if (!(fabs(s->ratio[i] - found[g].at) < 0.03) || !is_steady(s, t, i) || !crosses_steps(s, i) ||
                !even_pull(s, i))
                continue;
            const double v = exp(-s->ratio[i]) * s->engine[i], w = s->engine[i], a = s->climb[i];
            if (!(fabs(a) < 12))
                continue;
            count++;
            saa += a * a;
            sav += a * v;
            sww += w * w;
            swv += w * v;
            swa += w * a;
        }
        if (count < 20 || found[g].seconds < LIGHT_1 * total_s)
            continue;
        aa += saa - swa * swa / sww;
        av -= sav - swa * swv / sww;
    }
    return aa > 0 ? fmin(fmax(av / aa, -0.1), 0.1) : 0;
}

/* Sums of v + d + a lag = w/line over rows whose w, engine speed, has one factor in common; then what is left of them without that factor. */
typedef struct offset_sums {
    double count, sa, saa, sv, sav, sw, sww, swv, swa; /* rows */
    double dd, da, aa, dv, av;                         /* left */
} offset_sums;

static void take_factor_out(offset_sums *o)
{
    if (o->sww > 0) {
        o->dd += o->count - o->sw * o->sw / o->sww;
        o->da += o->sa - o->sw * o->swa / o->sww;
        o->aa += o->saa - o->swa * o->swa / o->sww;
        o->dv -= o->sv - o->sw * o->swv / o->sww;
        o->av -= o->sav - o->swa * o->swv / o->sww;
    }
    o->count = o->sa = o->saa = o->sv = o->sav = o->sw = o->sww = o->swv = o->swa = 0;
}

/*
 * What road speed still lacks at any time against engine speed over the line, in every gear alike: least squares of v + d + a lag = w/line over the lines, d and
 * the lag together, since pulling alone cannot tell a late speed from one that was cut. Rows weigh the less the further they are from their line
 * (Tukey's biweight), so that what is left of slips and shifts has no say. Each line has a factor of its own, but where `stated_rad_m` tells them up to one.
 */
static double offset_left(const signals *s, const trail *t, const line_fit *found, size_t n, const double *stated_rad_m,
                          bool settled)
{
    static const double reach = 0.02;
    offset_sums o = {0};
    for (size_t g = 0; g < n; g++) {
        const double line_rad_m = stated_rad_m != NULL ? stated_rad_m[g] : 1;
        for (size_t i = 0; i < s->n; i++) {
            const double y = (s->ratio[i] - found[g].at) / reach, a = s->climb[i];
            if (!(fabs(y) < 1) || !is_steady(s, t, i) || !crosses_steps(s, i) ||
                !(settled ? settled_pull(s, i, found[g].at) : even_pull(s, i)))
                continue;
            const double w = s->engine[i] / line_rad_m, v = exp(-s->ratio[i]) * s->engine[i];
            const double weight = (1 - y * y) * (1 - y * y) / (v * v); /* errors in proportion to speed */
            o.count += weight;
            o.sa += weight * a;
            o.saa += weight * a * a;
            o.sv += weight * v;
            o.sav += weight * a * v;
            o.sw += weight * w;
            o.sww += weight * w * w;
            o.swv += weight * w * v;
            o.swa += weight * w * a;
        }
        if (stated_rad_m == NULL)
            take_factor_out(&o);
    }
    take_factor_out(&o);
    const double det = o.dd * o.aa - o.da * o.da;
    return det > 1e-9 * o.dd * o.aa ? (o.dv * o.aa - o.av * o.da) / det : 0;
}

static size_t find_lines(spectrum *sp, const signals *s, const trail *t, const ch_car *car,
                         line_fit found[CH_DRIVELINE_GEARS_MAX], int number[CH_DRIVELINE_GEARS_MAX], ch_driveline *to)
{
    size_t n = 0;
    const bool stated = car != NULL && isfinite(ch_car_line_rad_m(car, 1));
    fill(sp, s, t);
    smooth(sp, 0.006);
    to->car_factor_1 = NAN;
    to->limits &= ~(unsigned)(CH_LIMIT_NUMBERS | CH_LIMIT_CAR_DIFFERS);
    if (stated)
        n = lines_of_car(sp, s, t, car, found, number, &to->car_factor_1);
    if (n > 0)
        return n;
    if (stated)
        to->limits |= CH_LIMIT_CAR_DIFFERS;
    n = lines_of_spectrum(sp, s, t, found);
    numbers(found, n, number);
    to->limits |= CH_LIMIT_NUMBERS;
    return n;
}

/* Part of the time in which the car gains speed that lies on a line: nearly all with a gearbox of fixed gears. */
static double pulling_on_lines(const signals *s, const line_fit *found, size_t n)
{
    double on_s = 0, all_s = 0;
    for (size_t i = 0; i < s->n; i++) {
        if (!(s->climb[i] > 0.4F) || !(s->road[i] > 4) || isnan(s->ratio[i]))
            continue;
        const double seconds = row_seconds(s, i);
        all_s += seconds;
        for (size_t g = 0; g < n; g++)
            if (fabs(s->ratio[i] - found[g].at) < 0.04) {
                on_s += seconds;
                break;
            }
    }
    return all_s > 3 ? on_s / all_s : NAN;
}

static void judge_lines(const spectrum *sp, const signals *s, const line_fit *found, size_t n, ch_driveline *to)
{
    double on_s = 0;
    for (size_t g = 0; g < n; g++)
        on_s += seconds_between(sp, found[g].at - 0.03, found[g].at + 0.03);
    to->on_lines_1 = sp->total_s > 0 ? on_s / sp->total_s : NAN;
    /* where news comes seldom, a pull is over before its ratio is known */
    const bool slow = is_slow(s);
    const double pulling_1 = slow ? NAN : pulling_on_lines(s, found, n);
    if (sp->total_s < 5 || n == 0)
        to->state = sp->total_s < 20 ? CH_DRIVELINE_TOO_LITTLE : CH_DRIVELINE_NO_FIXED_GEARS;
    else if (to->on_lines_1 < (slow ? 0.45 : 0.55) || pulling_1 < 0.4)
        to->state = CH_DRIVELINE_NO_FIXED_GEARS;
    else
        to->state = CH_DRIVELINE_GEARS_FOUND;
}

typedef struct line_search {
    spectrum *sp;
    signals *s;
    const trail *t;
    const ch_car *car;
} line_search;

/*
 * Road speed's own noise as a standard deviation, m/s: by second differences of the ratio over neighbouring news, of which whatever a filter or a lag does is no
 * part.
 */
static double road_noise(const signals *s, const trail *t, const line_fit *found, size_t n)
{
    static const double least_m_s = 0.05, most_m_s = 0.6, normal_median = 0.6745,
                        difference = 2.449; /* sqrt(1 + 4 + 1) */
    const size_t k = (size_t)fmax(rint(s->road_fresh_s / fmax(s->interval_s, 0.01)), 1);
    quantile q;
    quantile_start(&q, 0, most_m_s);
    for (size_t g = 0; g < n; g++)
        for (size_t i = k; i + k < s->n; i++)
            if (fabs(s->ratio[i] - found[g].at) < NEAR_1 && !clutch_pressed(t, i) && s->road[i] > 8)
                quantile_add(&q, fabs(s->ratio[i - k] - 2 * s->ratio[i] + s->ratio[i + k]) * s->road[i] / difference);
    return q.n > 0 ? fmax(quantile_at(&q, 0.5) / normal_median, least_m_s) : least_m_s;
}

/* How fast the acceleration changes, m/s3. */
static double jerk_at(const signals *s, size_t i)
{
    const size_t k = (size_t)fmax(rint(0.2 / fmax(s->interval_s, 0.01)), 1);
    if (i < k || i + k >= s->n)
        return NAN;
    return (s->climb[i + k] - s->climb[i - k]) / (s->time_s[i + k] - s->time_s[i - k]);
}

/* ln(engine over road speed) with road speed as it was before a filter of this time constant: v + T dv/dt, of the moment T earlier. */
static void undo_filter(const signals *s, double offset_m_s, double filter_s, float *ratio)
{
    const double half_s = fmax(0.1, s->interval_s), reach_s = fmax(1.0, 3 * s->interval_s);
    size_t before = 0, now = 0, after = 0;
    for (size_t i = 0; i < s->n; i++) {
        const double at_s = s->time_s[i] + s->lag_s - filter_s;
        const double early = signals_at(s->time_s, s->drawn, s->n, at_s - half_s, reach_s, &before);
        const double here = signals_at(s->time_s, s->drawn, s->n, at_s, reach_s, &now);
        const double late = signals_at(s->time_s, s->drawn, s->n, at_s + half_s, reach_s, &after);
        const double road_m_s = here + filter_s * (late - early) / (2 * half_s) + offset_m_s;
        ratio[i] = road_m_s > 1.5 && s->engine[i] > 60 ? logf(s->engine[i] / (float)road_m_s) : NAN;
    }
}

/*
 * The lines once more, each row weighed by how well it knows its ratio: an error of road speed is the less the faster the car, and what is left of the lag the
 * less the evener it goes. In first gear, left after seconds, this matters; rows far from the line have no say (Tukey's biweight).
 * A speed that went through a filter of time constant T is not just T late: it is too high by T^2/2 times the change of the acceleration, the next term of
 * the filter's series. `filter_s2`, NULL where it is not sought, becomes that T^2/2: common to all lines and found with them.
 */
static void refine_lines(const signals *s, const trail *t, const float *ratio, double offset_m_s, double noise_m_s,
                         double *filter_s2, line_fit *found, size_t n)
{
    enum { PASSES = 3 };
    static const double lag_s = 0.02, reach_1 = 0.025, widest_1 = 0.05, least_1 = 0.002, reaches = 4, drifts = 3;
    static const double steepest_m_s3 = 20, most_s2 = 0.06;
    const bool fine = s->step_m_s == 0; /* what a speed in steps is off is no noise */
    double half_s2 = 0;
    for (int pass = 0; pass < PASSES; pass++) {
        double xx = 0, xr = 0;
        for (size_t g = 0; g < n; g++) {
            double weights = 0, sr = 0, sx = 0, sxx = 0, sxr = 0;
            const float at = (float)found[g].at, far = 2 * (float)widest_1;
            for (size_t i = 0; i < s->n; i++) {
                if (!(fabsf(ratio[i] - at) < far)) /* most rows: those of the other lines */
                    continue;
                const double v = s->road[i] + offset_m_s, noise_1 = noise_m_s / v, late = lag_s * s->climb[i] / v;
                const double reach = fine ? fmin(fmax(reach_1, reaches * noise_1), widest_1) : reach_1;
                if (!(fabs(ratio[i] - found[g].at) < 2 * reach))
                    continue;
                const double jerk = filter_s2 != NULL ? jerk_at(s, i) : 0, x = jerk / v;
                const double off = ratio[i] + half_s2 * x - found[g].at, y = off / reach;
                const double drift = fine ? fmax(steady_limit(s), drifts * noise_1) : steady_limit(s);
                if (!(fabs(y) < 1) || clutch_pressed(t, i) || !(fabs(s->drift[i]) < drift) ||
                    !(fabs(jerk) < steepest_m_s3))
                    continue;
                const double doubt = noise_1 * noise_1 + late * late + least_1 * least_1;
                const double weight = (1 - y * y) * (1 - y * y) / doubt;
                if (!isfinite(weight))
                    continue;
                weights += weight;
                sr += weight * off;
                sx += weight * x;
                sxx += weight * x * x;
                sxr += weight * x * off;
            }
            if (!(weights > 0))
                continue;
            found[g].at += sr / weights;
            xx += sxx - sx * sx / weights;
            xr += sxr - sx * sr / weights;
        }
        if (xx > 0)
            half_s2 = fmin(fmax(half_s2 - xr / xx, 0), most_s2);
    }
    if (filter_s2 != NULL)
        *filter_s2 = half_s2;
}

/* The lines by every row's weight; where the road speed is found to have gone through a filter, by the speed that went into it. */
static ch_status weigh_lines(const signals *s, const trail *t, double offset_m_s, line_fit *found, size_t n,
                             ch_err *err)
{
    static const double stepped_m_s = 0.1, least_s2 = 0.005; /* 0.1 s of time constant */
    if (s->step_m_s > 0) {
        refine_lines(s, t, s->ratio, offset_m_s, stepped_m_s, NULL, found, n);
        return CH_OK;
    }
    float *ratio = malloc((s->n + 1) * sizeof *ratio);
    if (ratio == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the gears");
    const double noise_m_s = road_noise(s, t, found, n);
    double filter_s2 = 0;
    refine_lines(s, t, s->ratio, offset_m_s, noise_m_s, &filter_s2, found, n);
    const bool filtered = filter_s2 > least_s2;
    if (filtered)
        undo_filter(s, offset_m_s, sqrt(2 * filter_s2), ratio);
    refine_lines(s, t, filtered ? ratio : s->ratio, offset_m_s, noise_m_s, NULL, found, n);
    free(ratio);
    return CH_OK;
}

/* Lines with this added to road speed, and the lag brought to what they say. */
static size_t with_offset(const line_search *search, double offset_m_s, line_fit found[CH_DRIVELINE_GEARS_MAX],
                          int number[CH_DRIVELINE_GEARS_MAX], ch_driveline *to)
{
    signals *s = search->s;
    to->road_offset_m_s = offset_m_s;
    signals_ratio(s, offset_m_s);
    size_t n = find_lines(search->sp, s, search->t, search->car, found, number, to);
    for (int pass = 0; pass < 2 && n > 0 && s->lag_known; pass++) {
        signals_move(s, s->lag_s + lag_left(s, search->t, found, n));
        signals_ratio(s, offset_m_s);
        n = find_lines(search->sp, s, search->t, search->car, found, number, to);
    }
    return n;
}

/*
 * Whether a speed in whole steps was cut, not rounded, to them. What it lacks is sought until nothing is left: rows far from the lines have no say in
 * offset_left(), and the lines of a speed that is half a step off are far from its slow rows.
 */
static bool is_cut(const line_search *search, line_fit found[CH_DRIVELINE_GEARS_MAX],
                   int number[CH_DRIVELINE_GEARS_MAX], size_t n, double step_m_s, ch_driveline *to)
{
    enum { TRIES = 5 };
    const double lag_s = search->s->lag_s;
    double offset_m_s = 0;
    for (int k = 0; k < TRIES && n > 0; k++) {
        double stated_rad_m[CH_DRIVELINE_GEARS_MAX];
        const bool known = !(to->limits & CH_LIMIT_NUMBERS);
        for (size_t g = 0; known && g < n; g++)
            stated_rad_m[g] = ch_car_line_rad_m(search->car, (size_t)number[g]);
        const double *stated = known ? stated_rad_m : NULL;
        /* settled rows are free of what a filter remembers, but few */
        const double more_m_s = (offset_left(search->s, search->t, found, n, stated, false) +
                                 offset_left(search->s, search->t, found, n, stated, true)) /
                                2;
        offset_m_s = fmin(fmax(offset_m_s + more_m_s, -step_m_s / 4), step_m_s * 3 / 4);
        if (fabs(more_m_s) < step_m_s / 50)
            break;
        n = with_offset(search, offset_m_s, found, number, to);
    }
    signals_move(search->s, lag_s);
    return offset_m_s > step_m_s / 4;
}

/*
 * Lines of a car whose ratios are known have one unknown in common, the tyre: the mean of what each says, weighed by its doubt. A gear used for seconds is then
 * as well known as the others. One that is further from its place than its doubt allows stays where it is: the ratios stated are not its.
 */
static void tie_to_car(const ch_car *car, const int number[], size_t n, line_fit found[])
{
    static const double doubts = 3, least_1 = 0.005;
    double sum = 0, weights = 0;
    for (size_t g = 0; g < n; g++) {
        const double weight = 1 / (found[g].u * found[g].u);
        sum += weight * (found[g].at - log(ch_car_line_rad_m(car, (size_t)number[g])));
        weights += weight;
    }
    for (size_t g = 0; g < n; g++) {
        const double at = log(ch_car_line_rad_m(car, (size_t)number[g])) + sum / weights;
        if (!(fabs(at - found[g].at) < fmax(doubts * found[g].u, least_1)))
            continue;
        found[g].at = at;
        found[g].u = fmax(LEAST_U_1, 1 / sqrt(weights));
    }
}

ch_status gears_find(signals *s, const trail *t, const ch_car *car, double step_m_s, ch_driveline *to, ch_err *err)
{
    spectrum *sp = malloc(sizeof *sp);
    if (sp == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the gears");
    line_fit found[CH_DRIVELINE_GEARS_MAX];
    int number[CH_DRIVELINE_GEARS_MAX] = {0};
    const line_search search = {.sp = sp, .s = s, .t = t, .car = car};
    size_t n = with_offset(&search, 0, found, number, to);
    if (step_m_s > 0 && n > 0 && !is_slow(s)) {
        /* a speed that was cut to whole steps is half a step too low on average, one that was rounded is not; where news comes
         * seldom the two cannot be told apart */
        n = with_offset(&search, is_cut(&search, found, number, n, step_m_s, to) ? step_m_s / 2 : 0, found, number, to);
    }
    judge_lines(sp, s, found, n, to);
    const ch_status rc = weigh_lines(s, t, to->road_offset_m_s, found, n, err);
    if (rc < 0) {
        free(sp);
        return rc;
    }
    if (!(to->limits & CH_LIMIT_NUMBERS))
        tie_to_car(car, number, n, found);
    to->gears = to->state == CH_DRIVELINE_GEARS_FOUND ? n : 0;
    for (size_t g = 0; g < to->gears; g++)
        to->gear[g] =
            (ch_driveline_gear){.number = number[g],
                                .line_rad_m = exp(found[g].at),
                                .u_line_rad_m = exp(found[g].at) * found[g].u,
                                .spread_1 = found[g].spread,
                                .car_line_rad_m = car != NULL ? ch_car_line_rad_m(car, (size_t)number[g]) : NAN};
    free(sp);
    return CH_OK;
}

int gears_nearest(const ch_driveline *to, double ratio, double tolerance_1)
{
    int best = -1;
    for (size_t g = 0; g < to->gears; g++) {
        const double apart = fabs(ratio - log(to->gear[g].line_rad_m));
        if (apart < tolerance_1) {
            tolerance_1 = apart;
            best = (int)g;
        }
    }
    return best;
}

/* Hardly a run on it, just above the line of a gear that is used far more: a slip that held for a while. */
static bool is_held_slip(const ch_driveline *to, size_t g)
{
    static const double hardly_s = 0.6, little_s = 2, far_more = 10, above = 0.45;
    const double seconds = to->gear[g].seconds;
    if (seconds < hardly_s)
        return true;
    return seconds < little_s && g + 1 < to->gears && to->gear[g + 1].seconds > far_more * seconds &&
           log(to->gear[g].line_rad_m / to->gear[g + 1].line_rad_m) < above;
}

bool gears_drop_unused(ch_driveline *to)
{
    size_t kept = 0;
    ch_driveline_gear gear[CH_DRIVELINE_GEARS_MAX];
    line_fit found[CH_DRIVELINE_GEARS_MAX];
    int number[CH_DRIVELINE_GEARS_MAX];
    if (!(to->limits & CH_LIMIT_NUMBERS))
        return false;
    for (size_t g = 0; g < to->gears; g++)
        if (!is_held_slip(to, g))
            gear[kept++] = to->gear[g];
    if (kept == to->gears || kept == 0)
        return false;
    memcpy(to->gear, gear, kept * sizeof gear[0]);
    to->gears = kept;
    for (size_t g = 0; g < kept; g++)
        found[g] = (line_fit){.at = log(to->gear[g].line_rad_m)};
    numbers(found, kept, number);
    for (size_t g = 0; g < kept; g++)
        to->gear[g].number = number[g];
    return true;
}
