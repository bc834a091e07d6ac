/*
 * Slip or wheelspin, where a gear is low enough for both.
 *
 * A clutch knows torque and no gears: what slips in second at some torque slips at it in third, fourth and fifth as well, and holds no more anywhere. Tyres know thrust, torque
 * times gear, and spin in a low gear at what every higher one puts down with ease. So each event is weighed against the whole of the run:
 *
 *  1. What it passes is what the clutch held at slips that cannot be the wheels (Student's t about their median), or what tyres of an ordinary car put down when they spin
 *     (log-normal thrust).
 *  2. It lasts as long as those slips do, or for the moment that a driver lets wheels spin.
 *  3. First gear that puts down as much thrust without spinning, for seconds, speaks against the wheels.
 *  4. What part of such events the clutch's are is found with them, gear by gear: a mixture of two, by expectation and maximisation (Dempster, Laird and Rubin, J. R. Stat.
 *     Soc. B 39 (1977) 1).
 *
 * Without a slip in a higher gear the clutch is never blamed: where higher gears held as much torque it was the wheels, else nothing tells.
 */
#include <math.h>
#include <stdlib.h>

#include "slip_parts.h"

/* Torque at the clutch but for a common factor, with an ordinary car's mass and drag. */
static double torque_at(const slip_view *v, int gear, double acceleration_m_s2, double road_m_s)
{
    static const ch_road_load ordinary = {.mass_kg = 1100, .drag_area_m2 = 0.65, .rolling_1 = 0.013};
    return ch_clutch_torque_passed(&ordinary, acceleration_m_s2, road_m_s, v->to->gear[gear].line_rad_m, 1);
}

static double event_torque(const slip_view *v, const slip_event *e)
{
    return torque_at(v, e->gear, e->pull_m_s2, v->s->road[e->first]);
}

/* What drives the car, with its drag, m/s2. */
static double event_thrust(const slip_view *v, const slip_event *e)
{
    return signals_traction(v->s, e->first) - v->s->climb[e->first] + e->pull_m_s2;
}

static double event_seconds(const slip_event *e)
{
    return e->end_s - e->start_s;
}

void slip_note_high(slip_view *v, const slip_event *e)
{
    if (v->high_n < SLIP_HIGH_MAX)
        v->high[v->high_n++] =
            (slip_high){.torque = event_torque(v, e), .thrust_m_s2 = event_thrust(v, e), .seconds = event_seconds(e)};
}

/* Time in which gears from `least` to `most` were pulled on their lines with at least this torque, or, where `torque` is not a number, with this thrust. */
static double held_s(const slip_view *v, const slip_run *run, size_t n, int least, int most, double torque,
                     double thrust_m_s2)
{
    const signals *s = v->s;
    double seconds = 0;
    for (size_t k = 0; k < n; k++) {
        const int number = v->to->gear[run[k].gear].number;
        if (number < least || number > most)
            continue;
        for (size_t i = run[k].from; i < run[k].to; i++) {
            const bool held = isnan(torque) ? signals_traction(s, i) >= thrust_m_s2
                                            : torque_at(v, run[k].gear, s->climb[i], s->road[i]) >= torque;
            if (held && slip_follows(s, i + 1))
                seconds += s->time_s[i + 1] - s->time_s[i];
        }
    }
    return seconds;
}

enum { ANY_GEAR = 100 };

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* What the clutch held at slips that cannot be the wheels: logarithm, scatter, and how much longer than the shortest they last. */
typedef struct clutch_held {
    double torque_log, u_1, longer_s;
} clutch_held;

static clutch_held find_held(const slip_view *v)
{
    /* of speeds over a second or so; and as much again where a few slips must tell (judgment) */
    static const double least_u_1 = 0.05, few_u_1 = 0.1, normal_1 = 1.4826, least_longer_s = 0.5, shortest_s = 0.4;
    double torque[SLIP_HIGH_MAX], apart[SLIP_HIGH_MAX], sum_s = 0;
    size_t n = 0;
    for (size_t k = 0; k < v->high_n; k++)
        if (v->high[k].torque > 0) {
            torque[n++] = log(v->high[k].torque);
            sum_s += fmax(v->high[k].seconds - shortest_s, 0);
        }
    if (n == 0)
        return (clutch_held){.torque_log = NAN};
    qsort(torque, n, sizeof *torque, by_value);
    const double middle = torque[n / 2];
    for (size_t k = 0; k < n; k++)
        apart[k] = fabs(torque[k] - middle);
    qsort(apart, n, sizeof *apart, by_value);
    return (clutch_held){.torque_log = middle,
                         .u_1 = hypot(fmax(normal_1 * apart[n / 2], least_u_1), few_u_1 / sqrt((double)n)),
                         .longer_s = fmax(sum_s / (double)n, least_longer_s)};
}

/* Nearly all that third gear does it does straight out of corners; `others` it did elsewhere. */
static bool mostly_out_of_corners(const slip_view *v, size_t others)
{
    size_t corners = 0;
    for (size_t k = 0; k < v->low_n; k++)
        corners += v->to->gear[v->low[k].gear].number > SLIP_LOW_GEARS;
    return corners > 0 && corners >= 2 * others;
}

/*
 * Slips of third gear are none where nearly all of them come out of corners, or where higher gears hold as much for a while, and none of them slips: a clutch that lets go in
 * third does not hold as much for long in fourth. But wheels that spin on the straight find grip again soon, and two driven wheels hold so much on a wet road too.
 */
static bool third_gear_spins(const slip_view *v, const slip_run *run, size_t runs, size_t slips_before,
                             const clutch_held *held, const ch_driveline *to)
{
    /* judgment, all of them; torque is known to some percent */
    static const double a_while_s = 3, about_1 = 0.95, longer_s = 15, longest_spin_s = 1.6, wet_grip_m_s2 = 2.4;
    const size_t others = to->slips - slips_before;
    size_t high = 0, lasting = 0;
    for (size_t i = slips_before; i < to->slips; i++)
        if (to->slip[i].gear > v->middle)
            high++;
        else
            lasting += to->slip[i].end_s - to->slip[i].start_s > longest_spin_s &&
                       to->slip[i].acceleration_m_s2 < wet_grip_m_s2;
    if (high > 0 || mostly_out_of_corners(v, others))
        return high == 0;
    const double torque = exp(held->torque_log);
    return others > 0 && 3 * lasting < others &&
           (held_s(v, run, runs, v->middle + 1, ANY_GEAR, torque, NAN) > a_while_s ||
            held_s(v, run, runs, v->middle + 1, ANY_GEAR, about_1 * torque, NAN) > longer_s);
}

/*
 * Where higher gears hold as much and none of them slips, and yet the lower gears put more thrust down for long and seldom spin, neither the clutch nor the wheels explain what
 * third gear does: nothing tells.
 */
static bool lower_gears_grip(const slip_view *v, const slip_run *run, size_t runs)
{
    static const double more_1 = 1.1, long_s = 10; /* judgment */
    double most_m_s2 = 0, spinning_s = 0;
    for (size_t k = 0; k < v->high_n; k++)
        most_m_s2 = fmax(most_m_s2, v->high[k].thrust_m_s2);
    for (size_t k = 0; k < v->low_n; k++)
        if (v->to->gear[v->low[k].gear].number <= SLIP_LOW_GEARS)
            spinning_s += event_seconds(&v->low[k]);
    const double gripping_s = held_s(v, run, runs, 1, v->middle - 1, NAN, more_1 * most_m_s2);
    return gripping_s >= long_s && gripping_s >= spinning_s;
}

/* Student's t of four degrees of freedom: a clutch that is hot or oily holds less than it did, and nobody knows by how much. */
static double student(double x, double mean, double deviation)
{
    static const double factor = 0.375; /* 3/8: Gamma(5/2)/(sqrt(4 pi) Gamma(2)) */
    const double z = (x - mean) / deviation;
    return factor / deviation * pow(1 + z * z / 4, -2.5);
}

static double normal(double x, double mean, double deviation)
{
    static const double root_2_pi = 2.5066283;
    const double z = (x - mean) / deviation;
    return exp(-0.5 * z * z) / (deviation * root_2_pi);
}

/* The engine ran ahead in first gear as well. */
static bool ahead_in_first(const slip_view *v)
{
    for (size_t k = 0; k < v->low_n; k++)
        if (v->to->gear[v->low[k].gear].number == 1)
            return true;
    return false;
}

/* How well an event is a slip, and how well the wheels: densities over the logarithm of torque and the time it lasts. */
static void weigh_event(const slip_view *v, const slip_run *run, size_t runs, const clutch_held *held,
                        const slip_event *e, double *slip, double *spin)
{
    static const double shortest_s = 0.4, row_m_s2 = 0.15; /* what acceleration is off over an event: a slope, noise */
    /* where two driven wheels begin to spin, dry, wet, and bent into a corner; how long a driver lets them; first gear that holds (judgment) */
    static const double spins_m_s2 = 3.8, spins_u_1 = 0.4, spins_longer_s = 0.35, grips_s = 3, least_1 = 0.15;
    const double torque = event_torque(v, e), thrust_m_s2 = event_thrust(v, e),
                 longer_s = fmax(event_seconds(e) - shortest_s, 0);
    if (!(torque > 0) || !(thrust_m_s2 > 0)) {
        *slip = *spin = 0;
        return;
    }
    const double u_1 = hypot(held->u_1, row_m_s2 / thrust_m_s2);
    *slip = student(log(torque), held->torque_log, u_1) * exp(-longer_s / held->longer_s) / held->longer_s;
    *spin = normal(log(thrust_m_s2), log(spins_m_s2), spins_u_1) * exp(-longer_s / spins_longer_s) / spins_longer_s;
    if (!ahead_in_first(v))
        *spin *= fmax(exp(-held_s(v, run, runs, 1, 1, NAN, 1.1 * thrust_m_s2) / grips_s), least_1);
}

/*
 * How many slips of one gear are to be expected, by how often the clutch let go elsewhere for each second in which it was pulled about as hard: it knows no gears.
 */
static double expected_slips(const slip_view *v, const slip_run *run, size_t runs, const clutch_held *held, int number)
{
    static const double about_1 = 0.9; /* judgment */
    const double torque = about_1 * exp(held->torque_log);
    double slipping_s = 0, ahead_s = 0;
    for (size_t k = 0; k < v->high_n; k++)
        slipping_s += v->high[k].seconds;
    for (size_t k = 0; k < v->low_n; k++)
        if (v->to->gear[v->low[k].gear].number == number)
            ahead_s += event_seconds(&v->low[k]);
    const double elsewhere_s = slipping_s + held_s(v, run, runs, SLIP_LOW_GEARS + 1, ANY_GEAR, torque, NAN);
    return (double)v->high_n / elsewhere_s * (ahead_s + held_s(v, run, runs, number, number, torque, NAN));
}

/* The chance of each event of one gear that it is a slip. */
static void weigh_gear(const double slip[], const double spin[], const int gear[], size_t n, int number,
                       double expected, double chance_1[])
{
    enum { ROUNDS = 30 };
    /* what is expected counts as much as this part of the events, and two; and is never quite sure (judgment) */
    static const double weight_1 = 0.5, weight = 2, least_1 = 0.1, most_1 = 0.8;
    size_t count = 0;
    for (size_t k = 0; k < n; k++)
        count += gear[k] == number;
    const double before_1 = fmin(fmax(expected / (double)count, least_1), most_1);
    const double before = weight + weight_1 * (double)count;
    double part_1 = before_1;
    for (int round = 0; round < ROUNDS; round++) {
        double sum = 0;
        for (size_t k = 0; k < n; k++) {
            if (gear[k] != number)
                continue;
            const double a = part_1 * slip[k], b = (1 - part_1) * spin[k];
            chance_1[k] = a + b > 0 ? a / (a + b) : 0;
            sum += chance_1[k];
        }
        part_1 = (sum + before * before_1) / ((double)count + before);
    }
}

/* No higher gear slips: where they held as much it was the wheels, else nobody knows. */
static void judge_alone(const slip_view *v, const slip_run *run, size_t runs, ch_driveline *to)
{
    static const double a_while_s = 3, as_much_1 = 0.95; /* judgment */
    for (size_t k = 0; k < v->low_n; k++) {
        const slip_event *e = &v->low[k];
        const int number = to->gear[e->gear].number;
        if (held_s(v, run, runs, number + 1, ANY_GEAR, as_much_1 * event_torque(v, e), NAN) >= a_while_s)
            to->not_slips[CH_NOT_SLIP_WHEELSPIN]++;
        else
            to->limits |= CH_LIMIT_LOW_GEARS;
    }
}

ch_status slip_judge_low(slip_view *v, const slip_run *run, size_t runs, size_t slips_before, ch_driveline *to,
                         ch_err *err)
{
    /* a wrong slip is worse than one not counted, of a car that slips anyway; in between nobody knows (judgment) */
    static const double likely_1 = 0.6, unlikely_1 = 0.3;
    double slip[SLIP_LOW_MAX], spin[SLIP_LOW_MAX], chance_1[SLIP_LOW_MAX];
    int gear[SLIP_LOW_MAX];
    ch_status rc = CH_OK;
    /* none that came home to its line, or lasted: a driver who changes up without lifting */
    if (v->high_n > 0 && v->plain_n == 0) {
        to->not_slips[CH_NOT_SLIP_CLUTCH] += to->slips - slips_before;
        to->slips_found -= to->slips - slips_before;
        to->slips = slips_before;
        v->high_n = 0;
    }
    const clutch_held held = find_held(v);
    if (third_gear_spins(v, run, runs, slips_before, &held, to)) {
        const size_t others = to->slips - slips_before;
        if (!mostly_out_of_corners(v, others) && lower_gears_grip(v, run, runs)) {
            to->limits |= CH_LIMIT_LOW_GEARS;
            to->not_slips[CH_NOT_SLIP_WHEELSPIN] += v->low_n;
        } else {
            to->not_slips[CH_NOT_SLIP_WHEELSPIN] += others + v->low_n;
        }
        to->slips_found -= others;
        to->slips = slips_before;
        return CH_OK;
    }
    if (isnan(held.torque_log)) {
        judge_alone(v, run, runs, to);
        return CH_OK;
    }
    for (size_t k = 0; k < v->low_n; k++) {
        gear[k] = to->gear[v->low[k].gear].number;
        weigh_event(v, run, runs, &held, &v->low[k], &slip[k], &spin[k]);
    }
    for (size_t k = 0; k < v->low_n; k++)
        weigh_gear(slip, spin, gear, v->low_n, gear[k], expected_slips(v, run, runs, &held, gear[k]), chance_1);
    for (size_t k = 0; k < v->low_n && rc >= 0; k++)
        if (chance_1[k] > likely_1)
            rc = slip_append(v, &v->low[k], to, err);
        else if (chance_1[k] > unlikely_1)
            to->limits |= CH_LIMIT_LOW_GEARS;
        else
            to->not_slips[CH_NOT_SLIP_WHEELSPIN]++;
    return rc;
}
