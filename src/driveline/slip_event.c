/*
 * One event, the engine ahead of its gear: whether the clutch is to blame for it, when it begins and ends, and how far ahead the engine is.
 *
 *  1. The car must pull through it as it did before it: a pressed clutch passes no torque.
 *  2. Neither the wheels, where they tell, nor a road speed that drops by itself may account for it.
 *  3. It lasts from where the engine leaves the line of its own run to where it comes back to one, straight on from the rows that are clearly ahead.
 */
#include <math.h>
#include <stdlib.h>

#include "slip_parts.h"

/* Limits. Where nothing else stands beside one it is judgment, as in slip.c. */
static const double OPEN_1 = 0.4, PULLS_M_S2 = 0.5; /* throttle, of its range, and traction of an engine that pulls */
static const double HELD_BEFORE_S =
    0.3; /* ahead of a slip: the throttle that makes a clutch slip is open before it does; a blip's opens with it */
static const double FOOT_LIFTS_S = 0.25; /* the foot that lifts because of it ends the slip, at its peak */
static const double TOP_GRIP_M_S2 = 4.2; /* what third gear of few cars gives: wheels let go there */
static const double HALF_1 = 0.5; /* of what the engine runs ahead: more than that is the wheels', or the sensor's */

bool slip_pulls(const slip_view *v, size_t i)
{
    const float throttle = v->t->channel[TRAIL_THROTTLE][i];
    if (isfinite(v->throttle_low) && !isnan(throttle))
        return (throttle - v->throttle_low) / v->throttle_span > OPEN_1;
    return signals_traction(v->s, i) > PULLS_M_S2;
}

double slip_pulling_share(const slip_view *v, size_t from, size_t to)
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

double slip_ahead(const slip_view *v, int gear, size_t i)
{
    return v->s->smooth[i] - v->line[gear];
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

static bool is_wheelspin(const slip_view *v, slip_event *e)
{
    const size_t before = signals_row_before(v->s, e->first, HELD_BEFORE_S);
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
    const size_t before = signals_row_before(v->s, e->first, FOOT_LIFTS_S);
    const double road = log(v->s->road[e->peak_at] / v->s->road[before]);
    return road < -HALF_1 * log1p(e->peak_1);
}

/* Traction by the speeds at the beginning of an event and at another of its rows, and its standard uncertainty. */
static double traction_until(const slip_view *v, const slip_event *e, size_t end, double *u_m_s2)
{
    static const double both_ends = 1.414;
    const signals *s = v->s;
    const double seconds = s->time_s[end] - s->time_s[e->first];
    const double resistance = signals_mean_traction(s, e->first, end) - signals_mean_climb(v->s, e->first, end);
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
        signals_mean_traction(v->s, signals_row_before(v->s, e->first, 1.0), signals_row_before(v->s, e->first, 0.35));
    /* what is so short and ends in another gear looks like that; it has to show that the car was pulled */
    if (e->into_change && v->s->time_s[e->last] - v->s->time_s[e->first] < SLIP_SHORT_FLARE_S)
        return between_ends - u_m_s2 < clear_share_1 * before || torque_left_over(v, e, before) > left_over_1;
    return between_ends + u_m_s2 < share_1 * before;
}

ch_not_slip slip_judge(const slip_view *v, slip_event *e)
{
    /* judgment: throttle open in so much of the rows ahead of it, up to its peak, and over all; wheels that go on giving so much of what they gave; a clutch switch that says pressed */
    static const double held_1 = 0.6, open_1 = 0.85, open_after_1 = 0.4, kept_1 = 0.4, least_m_s2 = 0.3,
                        pressed_1 = 0.2, before_s = 0.7, spreads = 4;
    const signals *s = v->s;
    const double seconds = s->time_s[e->last] - s->time_s[e->first] + s->interval_s;
    double highest = -INFINITY;
    e->peak_1 = 0;
    for (size_t i = e->first; i <= e->last; i++) {
        const double a = expm1(slip_ahead(v, e->gear, i));
        highest = fmax(highest, s->ratio[i]);
        if (a > e->peak_1) {
            e->peak_1 = a;
            e->peak_at = i;
        }
    }
    /* smoothing cuts a sharp peak, noise lifts the highest row: two standard deviations of it are taken off */
    e->peak_1 = fmax(e->peak_1, expm1(highest - v->line[e->gear] - 2 * v->to->gear[e->gear].spread_1));
    e->pull_m_s2 = signals_mean_climb(v->s, e->first, e->last);
    const size_t before = signals_row_before(s, e->first, before_s);
    double u_ends = INFINITY;
    const double ends = traction_between_ends(v, e, &u_ends),
                 traction_before = signals_mean_traction(s, before, e->first),
                 traction_within = fmax(signals_mean_traction(s, e->first, e->last), ends - u_ends);
    if (!(e->peak_1 > fmax(SLIP_LEAST_PEAK_1, spreads * v->spread[e->gear])) || seconds < v->to->shortest_slip_s)
        return CH_NOT_SLIP_BRIEF;
    if (pressed_share(v, e->first, e->last) > pressed_1)
        return CH_NOT_SLIP_CLUTCH;
    if (is_sensor(v, e))
        return CH_NOT_SLIP_SENSOR;
    /* the throttle that makes a clutch slip is open before it does; a blip's opens with it */
    if (slip_pulling_share(v, signals_row_before(s, e->first, HELD_BEFORE_S), e->first) < held_1)
        return CH_NOT_SLIP_CLUTCH;
    /* the foot that lifts because of it ends the slip, at its peak */
    const size_t lifts = later(e->first, signals_row_before(s, e->peak_at, FOOT_LIFTS_S));
    if (slip_pulling_share(v, e->first, lifts) < open_1 || slip_pulling_share(v, e->first, e->last) < open_after_1)
        return CH_NOT_SLIP_CLUTCH;
    if (!(traction_before > least_m_s2) || !(traction_within > kept_1 * traction_before) ||
        !(traction_within > least_m_s2))
        return CH_NOT_SLIP_CLUTCH;
    if (!v->pedal_known && is_flare(v, e, ends, u_ends))
        return CH_NOT_SLIP_CLUTCH;
    return is_wheelspin(v, e) ? CH_NOT_SLIP_WHEELSPIN : CH_NOT_SLIP_KINDS;
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
            sum += slip_ahead(v, gear, i);
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
    const double first = slip_ahead(v, e->gear, inner) - base, rise = slip_ahead(v, e->gear, second) - base - first;
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
    while (i != limit && slip_ahead(v, e->gear, i) > base + low)
        i += back ? (size_t)-1 : 1;
    if (i == from)
        return s->time_s[from];
    const size_t inner = back ? i + 1 : i - 1;
    const double here = slip_ahead(v, e->gear, i) - base, next = slip_ahead(v, e->gear, inner) - base;
    double at_s = s->time_s[i];
    if (!(here <= low))
        return at_s;
    if (fabs(s->time_s[inner] - at_s) > 0.08)
        return find_coarse_edge(v, e, i, inner, base);
    at_s += (s->time_s[inner] - at_s) * (low - here) / (next - here);
    const double rise = slip_ahead(v, e->gear, from) - base - low, within_s = fabs(s->time_s[from] - at_s);
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
        const double x = slip_ahead(v, e->gear, i) - base, t = s->time_s[i] - s->time_s[edge];
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
        own_line(v, e->gear, later(from, signals_row_before(s, e->first, 3)), signals_row_before(s, e->first, 0.4));
    const double after =
        back ? own_line(v, e->gear, signals_row_after(s, e->last, 0.4), earlier(to, signals_row_after(s, e->last, 3)))
             : 0;
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
    e->mean_1 = expm1(slip_ahead(v, e->gear, e->peak_at)); /* where it begins and ends on one row */
    e->ahead_rad_s = s->engine[e->peak_at] * -expm1(-slip_ahead(v, e->gear, e->peak_at));
    for (size_t i = signals_row_before(s, e->first, s->time_s[e->first] - e->start_s);
         i + 1 < s->n && s->time_s[i] < e->end_s; i++) {
        const double from_s = fmax(s->time_s[i], e->start_s), to_s = fmin(s->time_s[i + 1], e->end_s);
        const double here = slip_ahead(v, e->gear, i), next = slip_ahead(v, e->gear, i + 1);
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
    to->slip[to->slips++] =
        (ch_slip){.start_s = e->start_s + early_s,
                  .end_s = e->end_s + early_s,
                  .gear = to->gear[e->gear].number,
                  .peak_1 = e->peak_1,
                  .mean_1 = e->mean_1,
                  .ahead_rad_s = e->ahead_rad_s,
                  .road_speed_m_s = s->road[e->first] + to->road_offset_m_s,
                  .engine_speed_rad_s = s->engine[e->first],
                  .throttle_1 = v->t->channel[TRAIL_THROTTLE][e->first],
                  .acceleration_m_s2 = signals_mean_climb(v->s, signals_row_before(s, e->first, 0.4), e->last),
                  .oil_or_coolant_k = v->t->channel[TRAIL_TEMPERATURE][e->first],
                  .torque_n_m = NAN,
                  .u_torque_n_m = NAN,
                  .heat_j = NAN,
                  .plate_k = NAN,
                  .peak_plate_k = NAN,
                  .driven_before_s = e->driven_before_s};
    return CH_OK;
}

void slip_measure(const slip_view *v, slip_event *e, size_t from, size_t to, bool back)
{
    find_edges(v, e, from, to, back);
    find_means(v, e);
}
