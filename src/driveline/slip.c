/*
 * Where the engine runs ahead of its gear: the search through a chapter.
 *
 *  1. Rows near a line are runs in gear. Only what lies between two runs can be slip, and only if it begins on a line.
 *  2. It must come back to the same line, or end with the driver's lift or shift.
 *  3. Whether the clutch is to blame for it, when it begins and ends, and how far ahead the engine is: slip_event.c.
 *  4. Low gears have the torque to spin the wheels: there slip_low.c weighs the two.
 */
#include <math.h>
#include <stdlib.h>

#include "slip_parts.h"

/*
 * Limits. Where nothing else stands beside one it is judgment: from what engines, clutches, drivers and loggers do, and kept where the simulations of docs/driveline.md bear it out.
 */
static const double LONGEST_S = 20; /* longer than anybody goes on with it */
static const double NEAR_1 = 0.012, NEAR_SPREADS = 2.5, NEAR_MOST_1 = 0.045,
                    NEAR_LAG_MOST_1 = 0.03;  /* of a row on its line */
static const double STEADY_1 = 0.05;         /* drift over half a second of a ratio whose scatter is looked at */
static const double FALLS_1_S = -0.4;        /* an engine that falls faster does not pull */
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
        if (!signals_follow(s, i) || !(ahead_1 > -wide_1) || v->t->channel[TRAIL_CLUTCH][i] > TRAIL_PRESSED_1)
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
        while (gear >= 0 && to + 1 < s->n && signals_follow(s, to + 1) && line_of_row(v, to + 1) == gear)
            to++;
        if (gear >= 0 && (s->time_s[to] - s->time_s[i] + s->interval_s >= least_s ||
                          (n > 0 && run[n - 1].gear == gear && touches(v, &run[n - 1], i, to))))
            run[n++] = (slip_run){.gear = gear, .from = i, .to = to};
        i = to + 1;
    }
    return n;
}

static bool pedal_moves(const trail *t)
{
    for (size_t i = 0; i < t->n; i++)
        if (t->channel[TRAIL_CLUTCH][i] > TRAIL_PRESSED_1)
            return true;
    return false;
}

/* The foot stays on the throttle and the car pulls on from where the engine leaves its line; later it may lift. */
static bool rises_through(const slip_view *v, size_t from, size_t to)
{
    size_t until = from;
    while (until < to && v->s->time_s[until] - v->s->time_s[from] < 0.6)
        until++;
    for (size_t i = from + 1; i <= to; i++)
        if (!signals_follow(v->s, i) || isnan(v->s->smooth[i]) || v->t->channel[TRAIL_CLUTCH][i] > TRAIL_PRESSED_1)
            return false;
    return slip_pulling_share(v, from, until) > 0.9 && signals_mean_traction(v->s, from, until) > 0.4; /* judgment */
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
        if (!(slip_ahead(v, gear, i) > tolerance(v, (size_t)gear, i)))
            continue;
        if (!any)
            *first = i;
        *last = i;
        any = true;
    }
    return any;
}

/* Third gear straight out of a corner: hardly pulling until just now. */
static bool out_of_corner(const slip_view *v, const slip_event *e)
{
    static const double long_s = 3.5, just_s = 1.3, share_1 = 0.4, least_m_s2 = 0.6; /* judgment */
    const size_t from = signals_row_before(v->s, e->first, long_s), to = signals_row_before(v->s, e->first, just_s);
    if (v->to->gear[e->gear].number != v->middle)
        return false;
    if (v->s->time_s[e->first] - v->s->time_s[from] < just_s)
        return true; /* the log begins here: nobody knows */
    /* without a throttle the noise of single rows must not decide */
    return isfinite(v->throttle_low) ? slip_pulling_share(v, from, to) < share_1
                                     : signals_mean_traction(v->s, from, to) < least_m_s2;
}

/* Keep an event as what it was judged to be; those of low gears are judged when the others are known. */
static ch_status settle(slip_view *v, slip_event *e, ch_not_slip verdict, size_t from, size_t to_row, bool back,
                        ch_driveline *to, ch_err *err)
{
    if (verdict != CH_NOT_SLIP_KINDS) {
        to->not_slips[verdict] += !(verdict == CH_NOT_SLIP_BRIEF && e->peak_1 < SLIP_LEAST_PEAK_1);
        return CH_OK;
    }
    slip_measure(v, e, from, to_row, back);
    e->driven_before_s = to->loaded_s + to->loaded_low_s;
    e->gripped_s = slip_gripped_before(v, e);
    if (!e->wheels_known && (to->gear[e->gear].number <= SLIP_LOW_GEARS || out_of_corner(v, e))) {
        if (v->low_n < SLIP_LOW_MAX)
            v->low[v->low_n++] = *e;
        return CH_OK;
    }
    slip_note_high(v, e);
    v->plain_n += !e->into_change || e->end_s - e->start_s > SLIP_SHORT_FLARE_S;
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
        if (!signals_follow(s, i) || isnan(s->smooth[i]) || s->time_s[next->from] - s->time_s[i] > LONGEST_S)
            return CH_OK;
        if (i < next->from && slip_ahead(v, e.gear, i) <= tolerance(v, (size_t)e.gear, i)) {
            touch = i;
            break;
        }
    }
    if (touch == next->from || touch + 2 > e.last)
        return CH_OK;
    e.first = touch + 1;
    const ch_not_slip before =
        slip_judge(v, &e); /* for its figures; what it says of the time before the event is that of the change */
    const bool is_slip =
        s->time_s[e.last] - s->time_s[e.first] + s->interval_s >= fmax(least_s, v->to->shortest_slip_s) &&
        e.peak_1 > fmax(least_peak, 5 * v->spread[e.gear]) && before != CH_NOT_SLIP_SENSOR &&
        before != CH_NOT_SLIP_WHEELSPIN && slip_pulling_share(v, e.first, e.last) > 0.9 &&
        signals_mean_traction(s, e.first, e.last) > least_traction;
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
    const size_t from = signals_row_after(s, run[k].to, comes_home_s);
    if (next->gear != run[k].gear + 1 || from >= next->from || s->time_s[next->from] - s->time_s[run[k].to] > LONGEST_S)
        return false;
    for (size_t i = run[k].to + 1; i <= next->from; i++)
        if (!signals_follow(s, i) || isnan(s->smooth[i]))
            return false;
    const size_t end = release(v, from, next->from - 1);
    *e = (slip_event){.gear = next->gear, .first = from, .last = from};
    for (size_t i = from; i <= end; i++) {
        if (!(slip_ahead(v, e->gear, i) > fmax(tolerance(v, (size_t)e->gear, i), least_peak)) ||
            !(slip_ahead(v, run[k].gear, i) < -tolerance(v, (size_t)run[k].gear, i)))
            break;
        e->last = i;
    }
    if (s->time_s[e->last] - s->time_s[e->first] < fmax(least_s, v->to->shortest_slip_s) ||
        s->time_s[end] - s->time_s[e->last] > falls_s)
        return false;
    const size_t middle = e->first + (e->last - e->first) / 2;
    double early = 0, late = 0;
    for (size_t i = e->first; i <= e->last; i++)
        *(i <= middle ? &early : &late) += slip_ahead(v, e->gear, i);
    early /= (double)(middle - e->first + 1);
    late /= (double)(e->last - middle);
    /* so steady and so far ahead may be a gear that nobody knows of; a gear's line does not rise */
    if (early > gear_step && late < rises_1 * early)
        return false;
    return late > kept_1 * early && slip_pulling_share(v, e->first, e->last) > 0.9 &&
           signals_mean_traction(s, e->first, e->last) > least_traction;
}

/* An event between run k and the next; slips of low gears are only noted. */
static ch_status examine(slip_view *v, const slip_run *run, size_t k, size_t n, ch_driveline *to, ch_err *err)
{
    const signals *s = v->s;
    size_t from = run[k].to, end = k + 1 < n ? run[k + 1].from : s->n - 1;
    for (size_t i = from + 1; i <= end; i++)
        if (!signals_follow(s, i) || isnan(s->smooth[i]) || s->time_s[i] - s->time_s[from] > LONGEST_S) {
            end = i - 1;
            break;
        }
    const bool back = k + 1 < n && run[k + 1].from == end && run[k + 1].gear == run[k].gear;
    slip_event e = {.gear = run[k].gear, .into_change = !back};
    if (k + 1 < n && run[k + 1].gear > run[k].gear) {
        slip_event held;
        const bool stays = stays_ahead_after_shift(v, run, k, &held);
        if (stays)
            slip_judge(v, &held); /* for its figures */
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
    return settle(v, &e, slip_judge(v, &e), run[k].from, back ? run[k + 1].to : end, back, to, err);
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
