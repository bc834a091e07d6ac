/*
 * Where the engine runs ahead of its gear, and whether the clutch is to blame.
 *
 *  1. Rows near a line are runs in gear. Only what lies between two runs can be slip, and only if it begins on a line.
 *  2. It must come back to the same line, or end with the driver's lift or shift.
 *  3. The car must pull through it as it did before it: a pressed clutch passes no torque.
 *  4. Low gears have the torque to spin the wheels: there slip_low.c weighs the two.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "parts.h"
#include "slip_parts.h"

/*
 * Limits. Where nothing else stands beside one it is judgment: from what engines, clutches, drivers and loggers do, and kept where the simulations of docs/driveline.md bear it out.
 */
static const double LEAST_PEAK = 0.03;              /* half of what an owner asks for, so that noise hides none */
static const double LONGEST_S = 20;                 /* longer than anybody goes on with it */
static const double OPEN_1 = 0.4, PULLS_M_S2 = 0.5; /* throttle, of its range, and traction of an engine that pulls */
static const double NEAR_1 = 0.012, NEAR_SPREADS = 2.5, NEAR_MOST_1 = 0.045,
                    NEAR_LAG_MOST_1 = 0.03; /* of a row on its line */
static const double STEADY_1 = 0.05;        /* drift over half a second of a ratio whose scatter is looked at */
static const double HELD_BEFORE_S =
    0.3; /* ahead of a slip: the throttle that makes a clutch slip is open before it does; a blip's opens with it */
static const double FOOT_LIFTS_S = 0.25; /* the foot that lifts because of it ends the slip, at its peak */
static const double FALLS_1_S = -0.4;    /* an engine that falls faster does not pull */
static const double TOP_GRIP_M_S2 = 4.2; /* what third gear of few cars gives: wheels let go there */
static const double HALF_1 = 0.5; /* of what the engine runs ahead: more than that is the wheels', or the sensor's */
static const double SHORT_FLARE_S = 0.8;     /* longer than an engine flares with the clutch pressed for a change */
static const double SHORTEST_CHANGE_S = 0.4; /* what ends in a change of gear is as long as one else */

/* Between quantiles of throttle: an idling engine may read 0.17. */
static void throttle_range(const trail *t, double *low, double *span)
{
    quantile q;
    quantile_start(&q, -0.01, 1.01);
    for (size_t i = 0; i < t->n; i++)
        quantile_add(&q, t->channel[TRAIL_THROTTLE][i]);
    const double least = quantile_at(&q, 0.02), most = quantile_at(&q, 0.98);
    const bool useful =
        q.n >= 20 && most - least >= 0.1; /* judgment: a tenth of throttle tells foot on from foot off */
    *low = useful ? least : NAN;
    *span = useful ? most - least : NAN;
}

/* 1 pulling, 0 not, by throttle where there is one, else by acceleration. */
bool slip_pulls(const slip_view *v, size_t i)
{
    const float throttle = v->t->channel[TRAIL_THROTTLE][i];
    if (isfinite(v->throttle_low) && !isnan(throttle))
        return (throttle - v->throttle_low) / v->throttle_span > OPEN_1;
    return signals_traction(v->s, i) > PULLS_M_S2;
}

static double rate(const signals *s, size_t i)
{
    if (i == 0 || i + 1 >= s->n)
        return 0;
    const double r = log(s->engine[i + 1] / s->engine[i - 1]) / (s->time_s[i + 1] - s->time_s[i - 1]);
    return isfinite(r) ? fabs(r) : 0;
}

/* How far a row may lie from its line and still be on it. */
static double tolerance(const slip_view *v, size_t gear, size_t i)
{
    return fmin(NEAR_1 + NEAR_SPREADS * v->spread[gear], NEAR_MOST_1) +
           fmin(v->s->u_lag_s * rate(v->s, i), NEAR_LAG_MOST_1);
}

static int line_of_row(const slip_view *v, size_t i)
{
    const float ratio = v->s->smooth[i];
    if (isnan(ratio) || v->t->channel[TRAIL_CLUTCH][i] > TRAIL_PRESSED_1)
        return -1;
    const int gear = gears_nearest(v->to, ratio, 0.08);
    if (gear < 0 || !(fabs(ratio - v->line[gear]) < tolerance(v, (size_t)gear, i)))
        return -1;
    return gear;
}

bool slip_follows(const signals *s, size_t i)
{
    return s->time_s[i] - s->time_s[i - 1] <= fmax(1.0, 3 * s->interval_s);
}

/* The lowest gear above the low ones: third, or the next where the log or the box has no third. */
static int middle_gear(const ch_driveline *to)
{
    for (size_t g = 0; g < to->gears; g++)
        if (to->gear[g].number > SLIP_LOW_GEARS)
            return to->gear[g].number;
    return SLIP_LOW_GEARS + 1;
}

/* Scatter of the smoothed ratio about each line, where it is steady. */
static void fill_spread(slip_view *v)
{
    quantile q;
    for (size_t g = 0; g < v->to->gears; g++) {
        quantile_start(&q, -0.04, 0.04);
        for (size_t i = 0; i < v->s->n; i++)
            if (fabsf(v->s->drift[i]) < (float)STEADY_1)
                quantile_add(&q, v->s->smooth[i] - v->line[g]);
        v->spread[g] = q.n < 20 ? v->to->gear[g].spread_1 : (quantile_at(&q, 0.84) - quantile_at(&q, 0.16)) / 2;
    }
}

/*
 * A clutch that lets go several times in one pull comes home for a moment only. Such a touch of the line is a run as well: the engine was ahead of it before and is again
 * after it, and never below it.
 */
static bool touches(const slip_view *v, const slip_run *last, size_t from, size_t to)
{
    static const double longest_s = 6, pulling_1 = 0.6; /* judgment: who lifts for it is soon back */
    const signals *s = v->s;
    size_t pulling = 0;
    if (to + 2 >= s->n || s->time_s[from] - s->time_s[last->to] > longest_s)
        return false;
    for (size_t i = last->to + 1; i <= to + 2; i++) {
        const double ahead_1 = s->smooth[i] - v->line[last->gear], wide_1 = tolerance(v, (size_t)last->gear, i);
        if (!slip_follows(s, i) || !(ahead_1 > -wide_1) || v->t->channel[TRAIL_CLUTCH][i] > TRAIL_PRESSED_1)
            return false;
        if (i > to && !(ahead_1 > wide_1))
            return false;
        pulling += slip_pulls(v, i);
    }
    return (double)pulling > pulling_1 * (double)(to + 2 - last->to);
}

/* Road speed's own noise as a standard deviation, m/s, by second differences of the ratio; where it comes in steps, what drawing it through them leaves. */
static double road_noise(const signals *s)
{
    static const double least_m_s = 0.02, most_m_s = 0.6, normal_median = 0.6745, difference = 2.449,
                        stepped_m_s = 0.1; /* sqrt(1 + 4 + 1); the others judgment */
    const size_t k = (size_t)fmax(rint(s->road_fresh_s / fmax(s->interval_s, 0.01)), 1);
    quantile q;
    quantile_start(&q, 0, most_m_s);
    for (size_t i = k; i + k < s->n && s->step_m_s == 0; i++)
        if (fabsf(s->drift[i]) < (float)STEADY_1 && s->road[i] > 8)
            quantile_add(&q, fabs(s->ratio[i - k] - 2 * s->ratio[i] + s->ratio[i + k]) * s->road[i] / difference);
    if (q.n == 0)
        return stepped_m_s;
    return fmax(quantile_at(&q, 0.5) / normal_median, least_m_s);
}

/* Stretches on one line of a quarter of a second and more, and touches of it. */
static size_t find_runs(const slip_view *v, slip_run *run, size_t room)
{
    const signals *s = v->s;
    /* judgment: a quarter of a second, and more than one piece of news */
    const double least_s = fmax(0.24, 1.2 * fmax(s->engine_fresh_s, s->road_fresh_s));
    size_t n = 0;
    for (size_t i = 0; i < s->n && n < room;) {
        const int gear = line_of_row(v, i);
        size_t to = i;
        while (gear >= 0 && to + 1 < s->n && slip_follows(s, to + 1) && line_of_row(v, to + 1) == gear)
            to++;
        if (gear >= 0 && (s->time_s[to] - s->time_s[i] + s->interval_s >= least_s ||
                          (n > 0 && run[n - 1].gear == gear && touches(v, &run[n - 1], i, to))))
            run[n++] = (slip_run){.gear = gear, .from = i, .to = to};
        i = to + 1;
    }
    return n;
}

static double pulling_share(const slip_view *v, size_t from, size_t to)
{
    size_t pulling = 0;
    for (size_t i = from; i <= to; i++)
        pulling += slip_pulls(v, i);
    return (double)pulling / (double)(to - from + 1);
}

/* Part of the rows in which the clutch's switch says that it is pressed: what slips then the driver lets slip. */
static double pressed_share(const slip_view *v, size_t from, size_t to)
{
    size_t pressed = 0;
    for (size_t i = from; i <= to; i++)
        pressed += v->t->channel[TRAIL_CLUTCH][i] > TRAIL_PRESSED_1;
    return (double)pressed / (double)(to - from + 1);
}

static bool pedal_moves(const trail *t)
{
    for (size_t i = 0; i < t->n; i++)
        if (t->channel[TRAIL_CLUTCH][i] > TRAIL_PRESSED_1)
            return true;
    return false;
}

/* Of the rows of which acceleration is known; NaN where there are none. */
static double mean_pull(const slip_view *v, size_t from, size_t to)
{
    double sum = 0;
    size_t n = 0;
    for (size_t i = from; i <= to; i++)
        if (!isnan(v->s->climb[i])) {
            sum += v->s->climb[i];
            n++;
        }
    return sum / (double)n;
}

static double mean_traction(const signals *s, size_t from, size_t to)
{
    double sum = 0;
    size_t n = 0;
    for (size_t i = from; i <= to; i++)
        if (!isnan(s->climb[i])) {
            sum += signals_traction(s, i);
            n++;
        }
    return sum / (double)n;
}

/* The foot stays on the throttle and the car pulls on from where the engine leaves its line; later it may lift. */
static bool rises_through(const slip_view *v, size_t from, size_t to)
{
    size_t until = from;
    while (until < to && v->s->time_s[until] - v->s->time_s[from] < 0.6)
        until++;
    for (size_t i = from + 1; i <= to; i++)
        if (!slip_follows(v->s, i) || isnan(v->s->smooth[i]) || v->t->channel[TRAIL_CLUTCH][i] > TRAIL_PRESSED_1)
            return false;
    return pulling_share(v, from, until) > 0.9 && mean_traction(v->s, from, until) > 0.4; /* judgment */
}

/*
 * A slip may cross the line of a lower gear, up and again down. Nobody changes down with the foot on the throttle and the car pulling on: such a
 * stretch on a lower gear's line is none, nor is the next on it.
 */
static size_t drop_crossed_lines(const slip_view *v, slip_run *run, size_t n)
{
    static const double longest_s = 3, apart_s = 6; /* judgment */
    const signals *s = v->s;
    size_t kept = 0;
    for (size_t k = 0; k < n; k++) {
        const slip_run *last = kept > 0 ? &run[kept - 1] : NULL;
        const bool lower = last != NULL && run[k].gear < last->gear;
        if (lower && s->time_s[run[k].to] - s->time_s[run[k].from] < longest_s &&
            s->time_s[run[k].from] - s->time_s[last->to] < apart_s && rises_through(v, last->to, run[k].from))
            continue;
        run[kept++] = run[k];
    }
    return kept;
}

static double ahead(const slip_view *v, int gear, size_t i)
{
    return v->s->smooth[i] - v->line[gear];
}

size_t slip_row_before(const signals *s, size_t i, double seconds)
{
    size_t k = i;
    while (k > 0 && s->time_s[i] - s->time_s[k] < seconds)
        k--;
    return k;
}

static size_t later(size_t a, size_t b)
{
    return a > b ? a : b;
}

/* Driven wheels against the road by another channel: how far they run ahead, at the peak, beyond what they did before. */
static double wheels_ahead(const slip_view *v, size_t before, size_t peak)
{
    const float *driven = v->t->channel[TRAIL_DRIVEN], *gps = v->t->channel[TRAIL_GPS],
                *road = v->t->channel[TRAIL_ROAD];
    const float *free_m_s = isnan(gps[peak]) ? road : gps;
    return log(driven[peak] / free_m_s[peak]) - log(driven[before] / free_m_s[before]);
}

/* Where the foot lifts, the clutch is pressed, or the engine falls: the end of what can be slip ahead of a shift. */
static size_t release(const slip_view *v, size_t from, size_t to)
{
    for (size_t i = from; i <= to; i++) {
        if (!slip_pulls(v, i) || v->t->channel[TRAIL_CLUTCH][i] > TRAIL_PRESSED_1)
            return i;
        if (i > from &&
            log(v->s->engine[i] / v->s->engine[i - 1]) / (v->s->time_s[i] - v->s->time_s[i - 1]) < FALLS_1_S)
            return i;
    }
    return to;
}

/* Rows between two runs in which the engine is ahead of the line of `gear`; false where there are none. */
static bool widest_ahead(const slip_view *v, int gear, size_t from, size_t to, size_t *first, size_t *last)
{
    bool any = false;
    for (size_t i = from; i <= to; i++) {
        if (!(ahead(v, gear, i) > tolerance(v, (size_t)gear, i)))
            continue;
        if (!any)
            *first = i;
        *last = i;
        any = true;
    }
    return any;
}

static bool is_wheelspin(const slip_view *v, slip_event *e)
{
    const size_t before = slip_row_before(v->s, e->first, HELD_BEFORE_S);
    const double wheels = wheels_ahead(v, before, e->peak_at);
    e->wheels_known = isfinite(wheels);
    if (e->wheels_known)
        return wheels > HALF_1 * log1p(e->peak_1);
    /* only third gear of a strong car may also have the torque, and then the car pulls as hard as tyres let it */
    return v->to->gear[e->gear].number == v->middle && e->pull_m_s2 > TOP_GRIP_M_S2;
}

/* Road speed that drops while the engine carries on is a sensor's doing: a slipping clutch goes on pulling. */
static bool is_sensor(const slip_view *v, const slip_event *e)
{
    const size_t before = slip_row_before(v->s, e->first, FOOT_LIFTS_S);
    const double road = log(v->s->road[e->peak_at] / v->s->road[before]);
    return road < -HALF_1 * log1p(e->peak_1);
}

/* Traction by the speeds at the beginning of an event and at another of its rows, and its standard uncertainty. */
static double traction_until(const slip_view *v, const slip_event *e, size_t end, double *u_m_s2)
{
    static const double both_ends = 1.414;
    const signals *s = v->s;
    const double seconds = s->time_s[end] - s->time_s[e->first];
    const double resistance = mean_traction(s, e->first, end) - mean_pull(v, e->first, end);
    *u_m_s2 = both_ends * v->noise_m_s / seconds;
    return (s->road[end] - s->road[e->first]) / seconds + resistance;
}

/*
 * Traction over an event by the speeds at its beginning and its peak: acceleration at a row knows of the third of a second to either side, within which the driver may have
 * braked or pressed the clutch. Where the peak comes soon it is by the speeds at its ends, or, of what comes back to its line, by those until the peak if these say more: the
 * foot that lifts there ends it. Its standard uncertainty as well.
 */
static double traction_between_ends(const slip_view *v, const slip_event *e, double *u_m_s2)
{
    static const double soon_s = 0.3, least_s = 0.15; /* judgment */
    const double until_peak_s = v->s->time_s[e->peak_at] - v->s->time_s[e->first];
    double u_peak_m_s2 = INFINITY, u_last_m_s2 = INFINITY;
    const double peak_m_s2 = traction_until(v, e, e->peak_at, &u_peak_m_s2),
                 last_m_s2 = traction_until(v, e, e->last, &u_last_m_s2);
    const bool by_peak = until_peak_s >= soon_s || (!e->into_change && until_peak_s >= least_s &&
                                                    peak_m_s2 - u_peak_m_s2 > last_m_s2 - u_last_m_s2);
    *u_m_s2 = by_peak ? u_peak_m_s2 : u_last_m_s2;
    return by_peak ? peak_m_s2 : last_m_s2;
}

/*
 * What part of the engine's torque turns the engine itself up, with an ordinary car's inertia of engine over mass: nearly all of it with the clutch pressed, what the clutch
 * lacks where it slips. NaN where the event rises within a row.
 */
static double torque_left_over(const slip_view *v, const slip_event *e, double traction_m_s2)
{
    static const double inertia_over_mass_m2 = 2e-4; /* an ordinary car's: judgment */
    const signals *s = v->s;
    const double seconds = s->time_s[e->peak_at] - s->time_s[e->first];
    const double rise_rad_s = (double)s->engine[e->peak_at] - (double)s->engine[e->first];
    return rise_rad_s / seconds * inertia_over_mass_m2 * exp(v->line[e->gear]) / traction_m_s2;
}

/* A clutch that is pressed with the throttle open, for a change of gear without lifting, lets the engine flare while the car rolls. */
static bool is_flare(const slip_view *v, const slip_event *e, double between_ends, double u_m_s2)
{
    static const double share_1 = 0.4, clear_share_1 = 0.55, left_over_1 = 0.6; /* judgment */
    /* before acceleration knows of the event */
    const double before =
        mean_traction(v->s, slip_row_before(v->s, e->first, 1.0), slip_row_before(v->s, e->first, 0.35));
    /* what is so short and ends in another gear looks like that; it has to show that the car was pulled */
    if (e->into_change && v->s->time_s[e->last] - v->s->time_s[e->first] < SHORT_FLARE_S)
        return between_ends - u_m_s2 < clear_share_1 * before || torque_left_over(v, e, before) > left_over_1;
    return between_ends + u_m_s2 < share_1 * before;
}

/* Judge rows [first, last]: the verdict, or CH_NOT_SLIP_KINDS for a slip. */
static ch_not_slip judge(const slip_view *v, slip_event *e)
{
    /* judgment: throttle open in so much of the rows ahead of it, up to its peak, and over all; wheels that go on giving so much of what they gave; a clutch switch that says pressed */
    static const double held_1 = 0.6, open_1 = 0.85, open_after_1 = 0.4, kept_1 = 0.4, least_m_s2 = 0.3,
                        pressed_1 = 0.2, before_s = 0.7, spreads = 4;
    const signals *s = v->s;
    const double seconds = s->time_s[e->last] - s->time_s[e->first] + s->interval_s;
    double highest = -INFINITY;
    e->peak_1 = 0;
    for (size_t i = e->first; i <= e->last; i++) {
        const double a = expm1(ahead(v, e->gear, i));
        highest = fmax(highest, s->ratio[i]);
        if (a > e->peak_1) {
            e->peak_1 = a;
            e->peak_at = i;
        }
    }
    /* smoothing cuts a sharp peak, noise lifts the highest row: two standard deviations of it are taken off */
    e->peak_1 = fmax(e->peak_1, expm1(highest - v->line[e->gear] - 2 * v->to->gear[e->gear].spread_1));
    e->pull_m_s2 = mean_pull(v, e->first, e->last);
    const size_t before = slip_row_before(s, e->first, before_s);
    double u_ends = INFINITY;
    const double ends = traction_between_ends(v, e, &u_ends), traction_before = mean_traction(s, before, e->first),
                 traction_within = fmax(mean_traction(s, e->first, e->last), ends - u_ends);
    if (!(e->peak_1 > fmax(LEAST_PEAK, spreads * v->spread[e->gear])) || seconds < v->to->shortest_slip_s)
        return CH_NOT_SLIP_BRIEF;
    if (pressed_share(v, e->first, e->last) > pressed_1)
        return CH_NOT_SLIP_CLUTCH;
    if (is_sensor(v, e))
        return CH_NOT_SLIP_SENSOR;
    /* the throttle that makes a clutch slip is open before it does; a blip's opens with it */
    if (pulling_share(v, slip_row_before(s, e->first, HELD_BEFORE_S), e->first) < held_1)
        return CH_NOT_SLIP_CLUTCH;
    /* the foot that lifts because of it ends the slip, at its peak */
    const size_t lifts = later(e->first, slip_row_before(s, e->peak_at, FOOT_LIFTS_S));
    if (pulling_share(v, e->first, lifts) < open_1 || pulling_share(v, e->first, e->last) < open_after_1)
        return CH_NOT_SLIP_CLUTCH;
    if (!(traction_before > least_m_s2) || !(traction_within > kept_1 * traction_before) ||
        !(traction_within > least_m_s2))
        return CH_NOT_SLIP_CLUTCH;
    if (!v->pedal_known && is_flare(v, e, ends, u_ends))
        return CH_NOT_SLIP_CLUTCH;
    return is_wheelspin(v, e) ? CH_NOT_SLIP_WHEELSPIN : CH_NOT_SLIP_KINDS;
}

static size_t row_after(const signals *s, size_t i, double seconds)
{
    size_t k = i;
    while (k + 1 < s->n && s->time_s[k] - s->time_s[i] < seconds)
        k++;
    return k;
}

static size_t earlier(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* How far a run lies from its line on average: tyres grow with speed, and a line is a mean. A speed that hardly crosses its steps is anywhere between two of them. */
static double own_line(const slip_view *v, int gear, size_t from, size_t to)
{
    static const double crosses_m_s2 = 0.6, most_1 = 0.008; /* judgment */
    double sum = 0;
    size_t n = 0;
    for (size_t i = from; i <= to; i++)
        if (v->s->step_m_s == 0 || fabsf(v->s->climb[i]) > crosses_m_s2) {
            sum += ahead(v, gear, i);
            n++;
        }
    return n > 3 ? fmin(fmax(sum / (double)n, -most_1), most_1) : 0;
}

/*
 * Rows far apart: the edge lies between the last row on the line and the first ahead of it, where the next two rows point to; in the middle
 * where they point beyond.
 */
static double find_coarse_edge(const slip_view *v, const slip_event *e, size_t outer, size_t inner, double base)
{
    const signals *s = v->s;
    const size_t second = inner > outer ? inner + 1 : inner - 1;
    const double middle_s = 0.5 * (s->time_s[outer] + s->time_s[inner]);
    const double first = ahead(v, e->gear, inner) - base, rise = ahead(v, e->gear, second) - base - first;
    const double points_s = s->time_s[inner] - first / rise * (s->time_s[second] - s->time_s[inner]);
    const bool between = rise > 0 && (points_s - s->time_s[outer]) * (points_s - s->time_s[inner]) <= 0;
    return between ? points_s : middle_s;
}

/*
 * Where the engine leaves its line, or comes back to it: from a row well ahead, towards the run, to where it is `low` ahead, and from there on as steeply as it
 * fell, down to the line itself.
 */
static double find_edge(const slip_view *v, const slip_event *e, size_t from, size_t limit, double base, double low)
{
    const signals *s = v->s;
    const bool back = limit < from;
    size_t i = from;
    while (i != limit && ahead(v, e->gear, i) > base + low)
        i += back ? (size_t)-1 : 1;
    if (i == from)
        return s->time_s[from];
    const size_t inner = back ? i + 1 : i - 1;
    const double here = ahead(v, e->gear, i) - base, next = ahead(v, e->gear, inner) - base;
    double at_s = s->time_s[i];
    if (!(here <= low))
        return at_s;
    if (fabs(s->time_s[inner] - at_s) > 0.08)
        return find_coarse_edge(v, e, i, inner, base);
    at_s += (s->time_s[inner] - at_s) * (low - here) / (next - here);
    const double rise = ahead(v, e->gear, from) - base - low, within_s = fabs(s->time_s[from] - at_s);
    const double further_s = rise > 0.25 * low ? fmin(low / rise * within_s, 0.35) : 0;
    return back ? at_s - further_s : at_s + further_s;
}

/*
 * Where the engine's rise points back to, or its fall on to: the straight line through the rows between the edge and the peak that are ahead by a tenth to a half of it, at the run's
 * own line. NaN where there are too few rows, or hardly a slope.
 */
static double slope_points_to(const slip_view *v, const slip_event *e, size_t edge, double base)
{
    static const double from_1 = 0.1, to_1 = 0.5; /* judgment: above the noise, below where it bends over */
    const signals *s = v->s;
    const double peak = log1p(e->peak_1);
    const bool falls = edge > e->peak_at;
    double n = 0, st = 0, sx = 0, stt = 0, stx = 0;
    for (size_t i = edge; i != e->peak_at; i += falls ? (size_t)-1 : 1) {
        const double x = ahead(v, e->gear, i) - base, t = s->time_s[i] - s->time_s[edge];
        if (x > to_1 * peak)
            break;
        if (!(x > from_1 * peak))
            continue;
        n++;
        st += t;
        sx += x;
        stt += t * t;
        stx += t * x;
    }
    const double slope = (n * stx - st * sx) / (n * stt - st * st);
    return n >= 3 && (falls ? slope < 0 : slope > 0) ? s->time_s[edge] + (st - sx / slope) / n : NAN;
}

/* Carry the edges down to the lines of the runs before and after. */
static void find_edges(const slip_view *v, slip_event *e, size_t from, size_t to, bool back)
{
    static const double further_s = 0.12; /* judgment: a slip that begins or ends softly may be so much longer */
    const signals *s = v->s;
    /* judgment: 0.4 %, four fifths of the scatter, a third of a step */
    const double steps = 0.35 * s->step_m_s / fmax(s->road[e->first], 1);
    const double low = fmax(fmax(0.004, 0.8 * v->spread[e->gear]), steps);
    const double before =
        own_line(v, e->gear, later(from, slip_row_before(s, e->first, 3)), slip_row_before(s, e->first, 0.4));
    const double after =
        back ? own_line(v, e->gear, row_after(s, e->last, 0.4), earlier(to, row_after(s, e->last, 3))) : 0;
    e->start_s = find_edge(v, e, e->first, from, before, low);
    e->end_s = find_edge(v, e, e->last, earlier(to, s->n - 1), after, low);
    /* soft noise carries an edge further than the slope points to */
    if (slope_points_to(v, e, e->first, before) > e->start_s + further_s)
        e->start_s = slope_points_to(v, e, e->first, before);
    if (back && slope_points_to(v, e, e->last, after) < e->end_s - further_s)
        e->end_s = slope_points_to(v, e, e->last, after);
}

/*
 * How far the engine is ahead from end to end, on average over the time: between rows both speeds are taken to change evenly. Of the rows that are clearly ahead alone it would be
 * more than what lies between the ends, and so would the heat.
 */
static void find_means(const slip_view *v, slip_event *e)
{
    const signals *s = v->s;
    double known_s = 0, sum_1_s = 0, sum_rad = 0;
    e->mean_1 = expm1(ahead(v, e->gear, e->peak_at)); /* where it begins and ends on one row */
    e->ahead_rad_s = s->engine[e->peak_at] * -expm1(-ahead(v, e->gear, e->peak_at));
    for (size_t i = slip_row_before(s, e->first, s->time_s[e->first] - e->start_s);
         i + 1 < s->n && s->time_s[i] < e->end_s; i++) {
        const double from_s = fmax(s->time_s[i], e->start_s), to_s = fmin(s->time_s[i + 1], e->end_s);
        const double here = ahead(v, e->gear, i), next = ahead(v, e->gear, i + 1);
        if (!(to_s > from_s) || isnan(here) || isnan(next))
            continue;
        /* the mean of what changes evenly is that in the middle */
        const double part_1 = (0.5 * (from_s + to_s) - s->time_s[i]) / (s->time_s[i + 1] - s->time_s[i]);
        known_s += to_s - from_s;
        sum_1_s += (to_s - from_s) * ((1 - part_1) * expm1(here) + part_1 * expm1(next));
        sum_rad +=
            (to_s - from_s) * ((1 - part_1) * s->engine[i] * -expm1(-here) + part_1 * s->engine[i + 1] * -expm1(-next));
    }
    if (known_s > 0) {
        e->mean_1 = sum_1_s / known_s;
        e->ahead_rad_s = sum_rad / known_s;
    }
}

ch_status slip_append(const slip_view *v, const slip_event *e, ch_driveline *to, ch_err *err)
{
    to->slips_found++;
    if (to->slips == CH_DRIVELINE_SLIPS_MAX) {
        to->limits |= CH_LIMIT_MANY_SLIPS;
        return CH_OK;
    }
    if (to->slips % 64 == 0) {
        ch_slip *more = realloc(to->slip, (to->slips + 64) * sizeof *more);
        if (more == NULL)
            return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the slips");
        to->slip = more;
    }
    const signals *s = v->s;
    const double early_s = fmin(s->lag_s, 0); /* whichever signal comes first has the right time */
    to->slip[to->slips++] = (ch_slip){.start_s = e->start_s + early_s,
                                      .end_s = e->end_s + early_s,
                                      .gear = to->gear[e->gear].number,
                                      .peak_1 = e->peak_1,
                                      .mean_1 = e->mean_1,
                                      .ahead_rad_s = e->ahead_rad_s,
                                      .road_speed_m_s = s->road[e->first] + to->road_offset_m_s,
                                      .engine_speed_rad_s = s->engine[e->first],
                                      .throttle_1 = v->t->channel[TRAIL_THROTTLE][e->first],
                                      .acceleration_m_s2 = mean_pull(v, slip_row_before(s, e->first, 0.4), e->last),
                                      .oil_or_coolant_k = v->t->channel[TRAIL_TEMPERATURE][e->first],
                                      .torque_n_m = NAN,
                                      .u_torque_n_m = NAN,
                                      .heat_j = NAN,
                                      .plate_k = NAN,
                                      .peak_plate_k = NAN,
                                      .driven_before_s = e->driven_before_s};
    return CH_OK;
}

/* Third gear straight out of a corner: hardly pulling until just now. */
static bool out_of_corner(const slip_view *v, const slip_event *e)
{
    static const double long_s = 3.5, just_s = 1.3, share_1 = 0.4, least_m_s2 = 0.6; /* judgment */
    const size_t from = slip_row_before(v->s, e->first, long_s), to = slip_row_before(v->s, e->first, just_s);
    if (v->to->gear[e->gear].number != v->middle)
        return false;
    if (v->s->time_s[e->first] - v->s->time_s[from] < just_s)
        return true; /* the log begins here: nobody knows */
    /* without a throttle the noise of single rows must not decide */
    return isfinite(v->throttle_low) ? pulling_share(v, from, to) < share_1
                                     : mean_traction(v->s, from, to) < least_m_s2;
}

/* Keep an event as what it was judged to be; those of low gears are judged when the others are known. */
static ch_status settle(slip_view *v, slip_event *e, ch_not_slip verdict, size_t from, size_t to_row, bool back,
                        ch_driveline *to, ch_err *err)
{
    if (verdict != CH_NOT_SLIP_KINDS) {
        to->not_slips[verdict] += !(verdict == CH_NOT_SLIP_BRIEF && e->peak_1 < LEAST_PEAK);
        return CH_OK;
    }
    find_edges(v, e, from, to_row, back);
    find_means(v, e);
    e->driven_before_s = to->loaded_s + to->loaded_low_s;
    e->gripped_s = slip_gripped_before(v, e);
    if (!e->wheels_known && (to->gear[e->gear].number <= SLIP_LOW_GEARS || out_of_corner(v, e))) {
        if (v->low_n < SLIP_LOW_MAX)
            v->low[v->low_n++] = *e;
        return CH_OK;
    }
    slip_note_high(v, e);
    v->plain_n += !e->into_change || e->end_s - e->start_s > SHORT_FLARE_S;
    return slip_append(v, e, to, err);
}

/*
 * A slip straight after a change up, before a run on the new line could begin: the engine has come down to the new line, and with the throttle open
 * runs ahead of it again. While a clutch only comes home after a change, the engine does nothing but fall.
 */
static ch_status examine_after_shift(slip_view *v, const slip_run *run, size_t k, ch_driveline *to, ch_err *err)
{
    static const double least_s = 0.45, least_peak = 0.05,
                        least_traction = 0.5; /* judgment: more than of what begins on its line */
    const signals *s = v->s;
    const slip_run *next = &run[k + 1];
    slip_event e = {.gear = next->gear, .last = next->from - 1};
    size_t touch = next->from;
    for (size_t i = next->from; i > run[k].to; i--) {
        if (!slip_follows(s, i) || isnan(s->smooth[i]) || s->time_s[next->from] - s->time_s[i] > LONGEST_S)
            return CH_OK;
        if (i < next->from && ahead(v, e.gear, i) <= tolerance(v, (size_t)e.gear, i)) {
            touch = i;
            break;
        }
    }
    if (touch == next->from || touch + 2 > e.last)
        return CH_OK;
    e.first = touch + 1;
    const ch_not_slip before =
        judge(v, &e); /* for its figures; what it says of the time before the event is that of the change */
    const bool is_slip =
        s->time_s[e.last] - s->time_s[e.first] + s->interval_s >= fmax(least_s, v->to->shortest_slip_s) &&
        e.peak_1 > fmax(least_peak, 5 * v->spread[e.gear]) && before != CH_NOT_SLIP_SENSOR &&
        before != CH_NOT_SLIP_WHEELSPIN && pulling_share(v, e.first, e.last) > 0.9 &&
        mean_traction(s, e.first, e.last) > least_traction;
    return is_slip ? settle(v, &e, CH_NOT_SLIP_KINDS, touch, next->to, true, to, err) : CH_OK;
}

/*
 * After a change up the engine never comes down to the new line: with the throttle open and the car gaining speed it stays between the two, as far ahead or
 * further, for longer than a clutch takes to come home; only when the throttle closes does it fall onto the line. A clutch that holds less than the engine
 * gives does so from the moment it is let up. The next gear up alone: what lies on the way to a higher one may be the gear between.
 */
static bool stays_ahead_after_shift(const slip_view *v, const slip_run *run, size_t k, slip_event *e)
{
    static const double comes_home_s = 0.8, least_s = 1.5, least_peak = 0.05, kept_1 = 0.8, falls_s = 0.4,
                        gear_step = 0.13, rises_1 = 1.1, least_traction = 0.5; /* judgment */
    const signals *s = v->s;
    const slip_run *next = &run[k + 1];
    const size_t from = row_after(s, run[k].to, comes_home_s);
    if (next->gear != run[k].gear + 1 || from >= next->from || s->time_s[next->from] - s->time_s[run[k].to] > LONGEST_S)
        return false;
    for (size_t i = run[k].to + 1; i <= next->from; i++)
        if (!slip_follows(s, i) || isnan(s->smooth[i]))
            return false;
    const size_t end = release(v, from, next->from - 1);
    *e = (slip_event){.gear = next->gear, .first = from, .last = from};
    for (size_t i = from; i <= end; i++) {
        if (!(ahead(v, e->gear, i) > fmax(tolerance(v, (size_t)e->gear, i), least_peak)) ||
            !(ahead(v, run[k].gear, i) < -tolerance(v, (size_t)run[k].gear, i)))
            break;
        e->last = i;
    }
    if (s->time_s[e->last] - s->time_s[e->first] < fmax(least_s, v->to->shortest_slip_s) ||
        s->time_s[end] - s->time_s[e->last] > falls_s)
        return false;
    const size_t middle = e->first + (e->last - e->first) / 2;
    double early = 0, late = 0;
    for (size_t i = e->first; i <= e->last; i++)
        *(i <= middle ? &early : &late) += ahead(v, e->gear, i);
    early /= (double)(middle - e->first + 1);
    late /= (double)(e->last - middle);
    /* so steady and so far ahead may be a gear that nobody knows of; a gear's line does not rise */
    if (early > gear_step && late < rises_1 * early)
        return false;
    return late > kept_1 * early && pulling_share(v, e->first, e->last) > 0.9 &&
           mean_traction(s, e->first, e->last) > least_traction;
}

/* An event between run k and the next; slips of low gears are only noted. */
static ch_status examine(slip_view *v, const slip_run *run, size_t k, size_t n, ch_driveline *to, ch_err *err)
{
    const signals *s = v->s;
    size_t from = run[k].to, end = k + 1 < n ? run[k + 1].from : s->n - 1;
    for (size_t i = from + 1; i <= end; i++)
        if (!slip_follows(s, i) || isnan(s->smooth[i]) || s->time_s[i] - s->time_s[from] > LONGEST_S) {
            end = i - 1;
            break;
        }
    const bool back = k + 1 < n && run[k + 1].from == end && run[k + 1].gear == run[k].gear;
    slip_event e = {.gear = run[k].gear, .into_change = !back};
    if (k + 1 < n && run[k + 1].gear > run[k].gear) {
        slip_event held;
        const bool stays = stays_ahead_after_shift(v, run, k, &held);
        if (stays)
            judge(v, &held); /* for its figures */
        const ch_status rc = stays ? settle(v, &held, CH_NOT_SLIP_KINDS, held.first, run[k + 1].to, true, to, err)
                                   : examine_after_shift(v, run, k, to, err);
        if (rc < 0)
            return rc;
    }
    if (!back)
        end = release(v, from, end);
    if (!widest_ahead(v, e.gear, from, end, &e.first, &e.last))
        return CH_OK;
    /* what begins long after the run in gear ended did not begin on its line */
    if (s->time_s[e.first] - s->time_s[from] > fmax(0.3, 1.5 * s->window_s)) /* judgment */
        return CH_OK;
    if (!back && s->time_s[e.last] - s->time_s[e.first] + fmin(s->interval_s, 0.05) <
                     fmax(SHORTEST_CHANGE_S, v->to->shortest_slip_s))
        return CH_OK;
    return settle(v, &e, judge(v, &e), run[k].from, back ? run[k + 1].to : end, back, to, err);
}

static void count_run(const slip_view *v, const slip_run *run, ch_driveline *to)
{
    const signals *s = v->s;
    for (size_t i = run->from; i <= run->to; i++) {
        const double seconds = i + 1 < s->n ? fmin(s->time_s[i + 1] - s->time_s[i], 3 * s->interval_s) : s->interval_s;
        to->gear[run->gear].seconds += seconds;
        if (slip_pulls(v, i) && v->s->climb[i] > 0)
            *(to->gear[run->gear].number > SLIP_LOW_GEARS ? &to->loaded_s : &to->loaded_low_s) += seconds;
    }
}

static int by_start(const void *a, const void *b)
{
    const double x = ((const ch_slip *)a)->start_s, y = ((const ch_slip *)b)->start_s;
    return (x > y) - (x < y);
}

ch_status slips_find(const signals *s, const trail *t, ch_driveline *to, ch_err *err)
{
    slip_view *v = calloc(1, sizeof *v);
    const size_t runs_room = s->n / 3 + 2;
    slip_run *run = malloc(runs_room * sizeof *run);
    const size_t slips_before = to->slips;
    ch_status rc = CH_OK;
    if (v == NULL || run == NULL)
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory for the slips");
    if (rc >= 0) {
        v->s = s;
        v->t = t;
        v->to = to;
        for (size_t g = 0; g < to->gears; g++)
            v->line[g] = log(to->gear[g].line_rad_m);
        v->middle = middle_gear(to);
        v->noise_m_s = road_noise(s);
        throttle_range(t, &v->throttle_low, &v->throttle_span);
        v->pedal_known = pedal_moves(t);
        fill_spread(v);
        size_t n = find_runs(v, run, runs_room);
        n = drop_crossed_lines(v, run, n);
        for (size_t k = 0; k < n && rc >= 0; k++) {
            count_run(v, &run[k], to);
            rc = examine(v, run, k, n, to, err);
        }
        if (rc >= 0)
            rc = slip_judge_low(v, run, n, slips_before, to, err);
        if (!isfinite(v->throttle_low))
            to->limits |= CH_LIMIT_NO_THROTTLE;
        if (to->slips > 1)
            qsort(to->slip, to->slips, sizeof *to->slip, by_start);
    }
    free(v);
    free(run);
    return rc;
}
