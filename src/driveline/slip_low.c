/*
 * Slip or wheelspin, where a gear is low enough for both.
 *
 * A clutch knows torque and no gears: what slips in second at some torque slips at it in third, fourth and fifth as well, and holds no more anywhere. Tyres know thrust, torque
 * times gear, and spin in a low gear at what every higher one puts down with ease. So each event is weighed against the whole of the run:
 *
 *  1. What it passes is what the clutch held at slips that cannot be the wheels (Student's t about their median), or what tyres of an ordinary car put down when they spin
 *     (log-normal thrust).
 *  2. It lasts as long as those slips do, or for the moment that a driver lets wheels spin.
 *  3. Wheels mostly begin to spin as the torque comes on, out of a corner and after a change; where they gripped in the same pull under as much thrust, only the road can have
 *     changed. A clutch lets go at any time of the pull.
 *  4. First gear that puts down as much thrust without spinning, for seconds, speaks against the wheels.
 *  5. What part of such events the clutch's are is found with them, gear by gear: a mixture of two, by expectation and maximisation (Dempster, Laird and Rubin, J. R. Stat.
 *     Soc. B 39 (1977) 1).
 *
 * Without a slip in a higher gear the clutch is never blamed: where higher gears held as much torque it was the wheels, else nothing tells. (Third gear alone: clutch_explains_third().)
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

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

double slip_gripped_before(const slip_view *v, const slip_event *e)
{
    static const double about_1 = 0.8, pulls_1 = 0.25, off_1 = 0.06, furthest_1 = 0.35, longest_s = 12; /* judgment */
    const signals *s = v->s;
    const double thrust_m_s2 = event_thrust(v, e);
    double seconds = 0, most_1 = furthest_1;
    for (size_t g = 0; g < v->to->gears; g++)
        if (v->line[g] > v->line[e->gear] + off_1)
            most_1 = fmin(most_1, v->line[g] - v->line[e->gear] - off_1);
    for (size_t i = signals_row_before(s, e->first, fmax(0.3, s->road_fresh_s)); i > 0; i--) {
        const double traction_m_s2 = signals_traction(s, i), ahead_1 = s->smooth[i] - v->line[e->gear];
        if (!signals_follow(s, i + 1) || s->time_s[e->first] - s->time_s[i] > longest_s ||
            !(traction_m_s2 > pulls_1 * thrust_m_s2) || !(ahead_1 > -off_1) || !(ahead_1 < most_1))
            break;
        if (traction_m_s2 >= about_1 * thrust_m_s2)
            seconds += s->time_s[i + 1] - s->time_s[i];
    }
    return seconds;
}

void slip_note_high(slip_view *v, const slip_event *e)
{
    if (v->high_n < SLIP_HIGH_MAX)
        v->high[v->high_n++] = (slip_high){.torque = event_torque(v, e),
                                           .thrust_m_s2 = event_thrust(v, e),
                                           .seconds = event_seconds(e),
                                           .gripped_s = e->gripped_s};
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
            if (held && signals_follow(s, i + 1))
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

/*
 * What the clutch held at slips that cannot be the wheels: logarithm, scatter, how much longer than the shortest they last, what part of them came with the torque, and
 * how far into a pull the others came.
 */
typedef struct clutch_held {
    double torque_log, u_1, longer_s, at_once_1, late_s;
} clutch_held;

static double exponential(double x, double mean)
{
    return exp(-x / mean) / mean;
}

static const double SHORTEST_SLIP_S = 0.4, AT_ONCE_S = 0.15; /* judgment: acceleration over 0.6 s tells no better */

static clutch_held find_held(const slip_view *v)
{
    /* of speeds over a second or so, and of a clutch from one slip to the next; and as much again where a few slips must tell (judgment) */
    static const double least_u_1 = 0.1, few_u_1 = 0.1, normal_1 = 1.4826, least_longer_s = 0.5;
    /* as much as so many slips says that a part of all comes at once, and how late the others come (judgment) */
    static const double before_n = 5, before_at_once = 1, before_late_s = 1;
    double torque[SLIP_HIGH_MAX], apart[SLIP_HIGH_MAX], sum_s = 0, late_s = before_n * before_late_s, late_n = before_n;
    size_t n = 0, at_once = 0;
    for (size_t k = 0; k < v->high_n; k++)
        if (v->high[k].torque > 0) {
            torque[n++] = log(v->high[k].torque);
            sum_s += fmax(v->high[k].seconds - SHORTEST_SLIP_S, 0);
            if (v->high[k].gripped_s < AT_ONCE_S)
                at_once++;
            else {
                late_s += v->high[k].gripped_s;
                late_n++;
            }
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
                         .longer_s = fmax(sum_s / (double)n, least_longer_s),
                         .at_once_1 = (before_at_once + (double)at_once) / (before_n + (double)n),
                         .late_s = late_s / late_n};
}

/* Densities of how long the tyres gripped in the same pull before, and how long it lasts: of a slip, and of wheels that spin. */
static double slip_comes(const clutch_held *held, double gripped_s, double seconds)
{
    return (held->at_once_1 * exponential(gripped_s, AT_ONCE_S) +
            (1 - held->at_once_1) * exponential(gripped_s, held->late_s)) *
           exponential(fmax(seconds - SHORTEST_SLIP_S, 0), held->longer_s);
}

/* How wheels spin under this driver, on these roads: what part as the torque comes on, how far into a pull the others, and how much longer than the shortest slip. */
typedef struct spin_habit {
    double at_once_1, late_s, longer_s;
} spin_habit;

/* judgment: most spin as the torque comes on, the others where the road has a bump or a wet patch; and a driver lets them for a moment */
static const spin_habit USUAL_SPIN = {.at_once_1 = 0.6, .late_s = 1, .longer_s = 0.35};

static double spin_comes(const spin_habit *habit, double gripped_s, double seconds)
{
    return (habit->at_once_1 * exponential(gripped_s, AT_ONCE_S) +
            (1 - habit->at_once_1) * exponential(gripped_s, habit->late_s)) *
           exponential(fmax(seconds - SHORTEST_SLIP_S, 0), habit->longer_s);
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

/*
 * The odds of a clutch that lets go in third gear to wheels that spin in it, by how long the tyres had gripped in the same pull, and how long it lasts; what part of the
 * events is the clutch's is unknown, any as good as the other.
 */
static double odds_of_clutch(const slip_view *v, const clutch_held *held)
{
    enum { PARTS = 10 };
    double sum = 0;
    for (int part = 0; part < PARTS; part++) {
        const double part_1 = (part + 0.5) / PARTS;
        double odds = 1;
        for (size_t k = 0; k < v->high_n; k++)
            odds *= 1 - part_1 +
                    part_1 * slip_comes(held, v->high[k].gripped_s, v->high[k].seconds) /
                        spin_comes(&USUAL_SPIN, v->high[k].gripped_s, v->high[k].seconds);
        for (size_t k = 0; k < v->low_n; k++)
            if (v->to->gear[v->low[k].gear].number == v->middle)
                odds *= 1 - part_1 +
                        part_1 * slip_comes(held, v->low[k].gripped_s, event_seconds(&v->low[k])) /
                            spin_comes(&USUAL_SPIN, v->low[k].gripped_s, event_seconds(&v->low[k]));
        sum += odds;
    }
    return sum / PARTS;
}

/*
 * Third gear alone lets go, where higher gears hold as much: a clutch that does not always let go at the same torque, rather than the wheels, where these put more thrust down in
 * lower gears, and gripped in the same pulls until long after the torque came on.
 */
static bool clutch_explains_third(const slip_view *v, const slip_run *run, size_t runs, const clutch_held *held)
{
    static const double far_likelier = 30; /* judgment: a false slip of a sound car is worse than a slip left open */
    return v->high_n > 0 && lower_gears_grip(v, run, runs) && odds_of_clutch(v, held) > far_likelier;
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

/* An event of a low gear on the scales: densities as a slip, and as wheels that spin but for when and how long they do; and the chance that it is a slip. */
typedef struct low_event {
    int number; /* of its gear */
    double gripped_s, seconds;
    double slip, spin;
    double chance_1;
} low_event;

/* How well an event is a slip, and how well the wheels. */
static low_event weigh_event(const slip_view *v, const slip_run *run, size_t runs, const clutch_held *held,
                             const slip_event *e)
{
    static const double row_m_s2 = 0.15; /* what acceleration is off over an event: a slope, noise */
    /* where two driven wheels begin to spin, dry, wet, and bent into a corner; first gear that holds (judgment) */
    static const double spins_m_s2 = 3.8, spins_u_1 = 0.4, grips_s = 3, least_1 = 0.15;
    const double torque = event_torque(v, e), thrust_m_s2 = event_thrust(v, e);
    low_event event = {.number = v->to->gear[e->gear].number, .gripped_s = e->gripped_s, .seconds = event_seconds(e)};
    if (!(torque > 0) || !(thrust_m_s2 > 0))
        return event;
    event.slip = student(log(torque), held->torque_log, hypot(held->u_1, row_m_s2 / thrust_m_s2)) *
                 slip_comes(held, event.gripped_s, event.seconds);
    event.spin = normal(log(thrust_m_s2), log(spins_m_s2), spins_u_1);
    if (!ahead_in_first(v))
        event.spin *= fmax(exp(-held_s(v, run, runs, 1, 1, NAN, 1.1 * thrust_m_s2) / grips_s), least_1);
    return event;
}

/*
 * What part of one gear's events are expected to be slips, by how often the clutch let go elsewhere for each second in which it was pulled about as hard: it knows no gears.
 */
static double expected_part(const slip_view *v, const slip_run *run, size_t runs, const clutch_held *held, int number)
{
    static const double about_1 = 0.9, least_1 = 0.1, most_1 = 0.8; /* judgment; never quite sure */
    const double torque = about_1 * exp(held->torque_log);
    double slipping_s = 0, ahead_s = 0;
    size_t count = 0;
    for (size_t k = 0; k < v->high_n; k++)
        slipping_s += v->high[k].seconds;
    for (size_t k = 0; k < v->low_n; k++)
        if (v->to->gear[v->low[k].gear].number == number) {
            ahead_s += event_seconds(&v->low[k]);
            count++;
        }
    if (count == 0)
        return least_1;
    const double elsewhere_s = slipping_s + held_s(v, run, runs, SLIP_LOW_GEARS + 1, ANY_GEAR, torque, NAN);
    const double expected =
        (double)v->high_n / elsewhere_s * (ahead_s + held_s(v, run, runs, number, number, torque, NAN));
    return fmin(fmax(expected / (double)count, least_1), most_1);
}

/* The wheels' habit by the events as far as they are theirs, and by what is usual, which counts as much as a few. */
static spin_habit find_habit(const low_event event[], size_t n)
{
    static const double few = 5; /* judgment */
    double all = few, at_once = few * USUAL_SPIN.at_once_1, late = few * (1 - USUAL_SPIN.at_once_1),
           late_s = late * USUAL_SPIN.late_s;
    for (size_t k = 0; k < n; k++) {
        const double wheels_1 = 1 - event[k].chance_1;
        all += wheels_1;
        if (event[k].gripped_s < AT_ONCE_S)
            at_once += wheels_1;
        else {
            late += wheels_1;
            late_s += wheels_1 * event[k].gripped_s;
        }
    }
    return (spin_habit){.at_once_1 = at_once / all, .late_s = late_s / late, .longer_s = USUAL_SPIN.longer_s};
}

/*
 * The chance of each event that it is a slip. What part of a gear's events are slips, and how wheels spin under this driver, are found with it: by expectation and
 * maximisation. `expected_1` of a gear is what part is expected beforehand.
 */
static void weigh_gears(low_event event[], size_t n, const double expected_1[])
{
    enum { ROUNDS = 30 };
    /* what is expected counts as much as this part of the events, and two (judgment) */
    static const double weight_1 = 0.5, weight = 2;
    double part_1[CH_DRIVELINE_GEARS_MAX + 1];
    spin_habit habit = USUAL_SPIN;
    memcpy(part_1, expected_1, sizeof part_1);
    for (int round = 0; round < ROUNDS; round++) {
        double sum[CH_DRIVELINE_GEARS_MAX + 1] = {0}, count[CH_DRIVELINE_GEARS_MAX + 1] = {0};
        for (size_t k = 0; k < n; k++) {
            low_event *e = &event[k];
            const double a = part_1[e->number] * e->slip,
                         b = (1 - part_1[e->number]) * e->spin * spin_comes(&habit, e->gripped_s, e->seconds);
            e->chance_1 = a + b > 0 ? a / (a + b) : 0;
            sum[e->number] += e->chance_1;
            count[e->number]++;
        }
        for (int g = 0; g <= CH_DRIVELINE_GEARS_MAX; g++) {
            const double before = weight + weight_1 * count[g];
            part_1[g] = (sum[g] + before * expected_1[g]) / (count[g] + before);
        }
        habit = find_habit(event, n);
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
    static const double likely_1 = 0.55, unlikely_1 = 0.3;
    low_event event[SLIP_LOW_MAX];
    double expected_1[CH_DRIVELINE_GEARS_MAX + 1];
    ch_status rc = CH_OK;
    /* none that came home to its line, or lasted: a driver who changes up without lifting */
    if (v->high_n > 0 && v->plain_n == 0) {
        to->not_slips[CH_NOT_SLIP_CLUTCH] += to->slips - slips_before;
        to->slips_found -= to->slips - slips_before;
        to->slips = slips_before;
        v->high_n = 0;
    }
    const clutch_held held = find_held(v);
    if (third_gear_spins(v, run, runs, slips_before, &held, to) && !clutch_explains_third(v, run, runs, &held)) {
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
    for (size_t k = 0; k < v->low_n; k++)
        event[k] = weigh_event(v, run, runs, &held, &v->low[k]);
    for (int g = 0; g <= CH_DRIVELINE_GEARS_MAX; g++)
        expected_1[g] = expected_part(v, run, runs, &held, g);
    weigh_gears(event, v->low_n, expected_1);
    for (size_t k = 0; k < v->low_n && rc >= 0; k++)
        if (event[k].chance_1 > likely_1)
            rc = slip_append(v, &v->low[k], to, err);
        else if (event[k].chance_1 > unlikely_1)
            to->limits |= CH_LIMIT_LOW_GEARS;
        else
            to->not_slips[CH_NOT_SLIP_WHEELSPIN]++;
    return rc;
}
