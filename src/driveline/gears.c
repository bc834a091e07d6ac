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

#include "gears_parts.h"

#define LOW_RAD_M 3.0       /* 8 rpm per km/h */
#define HIGH_RAD_M 130.0    /* 345 rpm per km/h */
#define CELL 0.002          /* of the logarithm */
#define ROAD_NOISE_M_S 0.1  /* judgment */
#define DENSITY_WIDTH 0.006 /* of lines of a fine speed: judgment */
#define CELLS 1888          /* ln(HIGH/LOW)/CELL, rounded up */

typedef struct spectrum {
    double seconds[CELLS]; /* steady rows, weighted by time */
    double density[CELLS];
    double total_s;
} spectrum;

/* Rows with a steady ratio; as steady as road speed's own noise lets them be. */
static void fill(spectrum *sp, const signals *s, const trail *t, double noise_m_s)
{
    static const double drifts = 3; /* judgment: noise drifts by less, nearly always */
    memset(sp, 0, sizeof *sp);
    const double start = log(LOW_RAD_M);
    for (size_t i = 0; i < s->n; i++) {
        const double drift = fmax(gears_steady_limit(s), drifts * noise_m_s / s->road[i]);
        if (!(fabs(s->drift[i]) < drift) || gears_clutch_pressed(t, i) || !gears_asked(s, i))
            continue;
        const double place = (s->smooth[i] - start) / CELL;
        if (!(place >= 0) || !(place < CELLS))
            continue;
        const double seconds = gears_row_seconds(s, i);
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
    memset(sp->density, 0, sizeof sp->density);
    for (int i = 0; i < CELLS; i++)
        for (int k = -reach; k <= reach && sp->seconds[i] > 0; k++)
            if (i + k >= 0 && i + k < CELLS)
                sp->density[i + k] += kernel[abs(k)] * sp->seconds[i];
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

/* Median ratio of the steady rows near a line, and what goes with it. */
static bool fit_line(const signals *s, const trail *t, double at, line_fit *fit)
{
    quantile q;
    for (int pass = 0; pass < 2; pass++) {
        double seconds = 0, sum = 0, square = 0, engine = 0;
        size_t pulling = 0;
        quantile_start(&q, at - GEARS_NEAR_1, at + GEARS_NEAR_1);
        for (size_t i = 0; i < s->n; i++)
            if (fabs(s->ratio[i] - at) < GEARS_NEAR_1 && gears_steady(s, t, i)) {
                const double road = s->road[i];
                quantile_add(&q, s->ratio[i]);
                seconds += gears_row_seconds(s, i);
                sum += road;
                square += road * road;
                engine += s->engine[i];
                pulling += i > 0 && s->engine[i] > s->engine[i - 1];
            }
        if (q.n < 3)
            return false;
        const double count = (double)q.n, mean = sum / count;
        at = quantile_at(&q, 0.5);
        *fit = (line_fit){.at = at,
                          .spread = (quantile_at(&q, 0.84) - quantile_at(&q, 0.16)) / 2,
                          .seconds = seconds,
                          .road_spread = sqrt(fmax(square / count - mean * mean, 0)) / mean,
                          .engine_mean_rad_s = engine / count,
                          .pulling_1 = (double)pulling / count};
    }
    return true;
}

/* Idling at one road speed looks like a gear; a gear holds over a range of speeds. */
static bool is_a_gear(const line_fit *fit)
{
    static const double idle_rad_s = 115; /* 1100 rpm: judgment */
    return fit->seconds >= 0.8 && !(fit->road_spread < 0.04 && fit->engine_mean_rad_s < idle_rad_s);
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
    static const double pulling_1 = 0.9, widest = 0.60; /* judgment; few boxes have a wider step */
    size_t kept = 0;
    for (size_t g = 0; g < n; g++) {
        const bool between = kept > 0 && g + 1 < n && found[kept - 1].at - found[g + 1].at < widest;
        if (between && found[g].seconds < GEARS_LIGHT_1 * sp->total_s && found[g].pulling_1 > pulling_1)
            continue;
        found[kept++] = found[g];
    }
    return kept;
}

/* Lines from the density alone. */
static size_t lines_of_spectrum(spectrum *sp, const signals *s, const trail *t, line_fit found[CH_DRIVELINE_GEARS_MAX])
{
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
        bool good = stands_out(sp, at, gears_slow(s), above_all) && fit_line(s, t, at, &fit) && is_a_gear(&fit);
        for (size_t g = 0; g < n && good; g++) /* the place may be a line's shoulder */
            good = fabs(fit.at - found[g].at) >= GEARS_APART_1;
        if (good)
            found[n++] = fit;
        const double reach = good ? GEARS_APART_1 : 0.02;
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
    *share_1 = on_s / sp->total_s; /* NaN where there is none */
    return best;
}

/* Lines where the car's ratios say. */
static size_t lines_of_car(const spectrum *sp, const signals *s, const trail *t, const ch_car *car,
                           line_fit found[CH_DRIVELINE_GEARS_MAX], int number[CH_DRIVELINE_GEARS_MAX], double *factor)
{
    double share_1;
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
 * Without the car's ratios a gear's number is a guess: the lines are laid beside the usual ones (rpm for each km/h of ordinary cars: 125, 70, 47, 35, 28, 23), as a
 * whole. A log may lack a gear in their middle, which its wide step betrays. How badly the lines fit these numbers, as minus twice the logarithm of a likelihood.
 */
static double misfit(const line_fit *found, size_t n, const int number[])
{
    /* ordinary cars' by common practice; scatters by judgment */
    static const double usual_rad_m[] = {47.1, 26.4, 17.7, 13.2, 10.6, 8.7, 7.5, 6.5};
    static const double box_1 = 0.08, car_1 = 0.22,
                        skipped = 6; /* scatter of ratios and of all together; one gear in twenty is left out */
    static const double widest = 0.75, too_wide = 12; /* no ordinary box steps by more than 2.1 from gear to gear */
    double mean = 0, sum = 0;
    for (size_t g = 0; g < n; g++)
        mean += (found[g].at - log(usual_rad_m[number[g] - 1])) / (double)n;
    for (size_t g = 0; g < n; g++) {
        const double apart = found[g].at - log(usual_rad_m[number[g] - 1]) - mean;
        sum += apart * apart / (box_1 * box_1);
        if (g > 0) {
            const int between = number[g] - number[g - 1] - 1;
            sum += skipped * between + (between == 0 && found[g - 1].at - found[g].at > widest ? too_wide : 0);
        }
    }
    return sum + mean * mean / (car_1 * car_1);
}

/* Every rising choice of n of the eight usual numbers is tried. */
static void numbers(const line_fit *found, size_t n, int number[CH_DRIVELINE_GEARS_MAX])
{
    enum { USUAL = 8 };
    double least = INFINITY;
    for (size_t g = 0; g < n; g++)
        number[g] = (int)g + 1;
    for (unsigned chosen = 0; chosen < 1U << USUAL && n <= USUAL; chosen++) {
        int tried[USUAL];
        size_t count = 0;
        for (int k = 0; k < USUAL; k++)
            if (chosen >> k & 1U)
                tried[count++] = k + 1;
        const double fits = count == n ? misfit(found, n, tried) : INFINITY;
        if (fits < least) {
            least = fits;
            memcpy(number, tried, n * sizeof *tried);
        }
    }
}

/* Sums over the rows of one line for the least squares of lag and creep, its own scale taken out. */
typedef struct drive_sums {
    double aa, ac, cc, av, cv;
} drive_sums;

static void add_sums(drive_sums *to, const drive_sums *more, double sign)
{
    to->aa += sign * more->aa;
    to->ac += sign * more->ac;
    to->cc += sign * more->cc;
    to->av += sign * more->av;
    to->cv += sign * more->cv;
}

/* False where there are too few rows. */
static bool sums_of_line(const signals *s, const trail *t, double at, drive_sums *sums)
{
    double count = 0, saa = 0, sac = 0, scc = 0, sav = 0, scv = 0, sww = 0, swv = 0, swa = 0, swc = 0;
    for (size_t i = 0; i < s->n; i++) {
        if (!(fabs(s->ratio[i] - at) < 0.03) || !gears_steady(s, t, i) || !gears_cross_steps(s, i) ||
            !gears_even_pull(s, i))
            continue;
        const double v = exp(-s->ratio[i]) * s->engine[i], w = s->engine[i], a = s->climb[i];
        const double c = v * signals_drive_force(s, i);
        if (!(fabs(a) < 12))
            continue;
        count++;
        saa += a * a;
        sac += a * c;
        scc += c * c;
        sav += a * v;
        scv += c * v;
        sww += w * w;
        swv += w * v;
        swa += w * a;
        swc += w * c;
    }
    *sums = (drive_sums){.aa = saa - swa * swa / sww,
                         .ac = sac - swa * swc / sww,
                         .cc = scc - swc * swc / sww,
                         .av = swa * swv / sww - sav,
                         .cv = swc * swv / sww - scv};
    return count >= 20;
}

/* By how much creep is more than before, and lag: the sums' least squares, creep with what is known of it beforehand. */
static void lag_and_creep(const drive_sums *sums, double known, double before_1, double *more_1, double *lag_s)
{
    const double cc = sums->cc + known, cv = sums->cv - known * before_1;
    const double determinant = sums->aa * cc - sums->ac * sums->ac;
    *more_1 = determinant > 1e-9 * sums->aa * cc ? (sums->aa * cv - sums->ac * sums->av) / determinant : -before_1;
    *lag_s = (sums->av - sums->ac * *more_1) / sums->aa;
}

/*
 * The line that shows more creep than another allows: tyres creep in every gear, and what one shows far beyond the least is a clutch that slips there. `lines` where none does.
 */
static size_t line_that_slips(const drive_sums line[], size_t lines, double before_1, double lag_s)
{
    /* judgment: the noise of road speed; the drive force is a guess, in which gears differ */
    static const double differ_1 = 0.005, surely = 3;
    size_t most = lines;
    double allowed_1 = INFINITY, least_1 = -INFINITY;
    for (size_t g = 0; g < lines; g++) {
        const double creep_1 = fmax(before_1 + (line[g].cv - line[g].ac * lag_s) / line[g].cc, 0),
                     doubt_1 = surely * hypot(ROAD_NOISE_M_S / sqrt(line[g].cc), differ_1);
        allowed_1 = fmin(allowed_1, creep_1 + doubt_1);
        if (creep_1 - doubt_1 > least_1) {
            least_1 = creep_1 - doubt_1;
            most = g;
        }
    }
    return least_1 > allowed_1 ? most : lines;
}

/*
 * What is left of the lag, and of the tyres' creep: the least squares of v + a lag + v f creep = w/line over all lines, the two common to them. A late speed falls
 * short in proportion to acceleration, a tyre that creeps in proportion to speed and drive force f.
 */
static double lag_left(signals *s, const trail *t, const line_fit *found, size_t n)
{
    /* judgment: tyres of road cars creep by some percent at the limit of grip; in whole steps less of it is told from a lag */
    static const double usual_creep_1 = 0.03, least_creep_1 = 0.01, stepped_least_1 = 0.03, most_creep_1 = 0.12;
    const double known = ROAD_NOISE_M_S * ROAD_NOISE_M_S / (usual_creep_1 * usual_creep_1), before_1 = s->creep_1;
    drive_sums line[CH_DRIVELINE_GEARS_MAX], all = {0};
    size_t lines = 0;
    double total_s = 0, more_1, lag_s;
    for (size_t g = 0; g < n; g++)
        total_s += found[g].seconds;
    for (size_t g = 0; g < n; g++)
        if (sums_of_line(s, t, found[g].at, &line[lines]) && !(found[g].seconds < GEARS_LIGHT_1 * total_s))
            add_sums(&all, &line[lines++], 1);
    if (!(all.aa > 0))
        return 0;
    for (;;) {
        lag_and_creep(&all, known, before_1, &more_1, &lag_s);
        const size_t slips = line_that_slips(line, lines, before_1, lag_s);
        if (slips == lines)
            break;
        add_sums(&all, &line[slips], -1);
        line[slips] = line[--lines];
    }
    const double creep_1 = before_1 + more_1, least_1 = s->step_m_s > 0 ? stepped_least_1 : least_creep_1;
    s->creep_1 = creep_1 > least_1 ? fmin(creep_1, most_creep_1) : 0;
    return fmin(fmax((all.av - all.ac * (s->creep_1 - before_1)) / all.aa, -0.1), 0.1);
}

static size_t find_lines(spectrum *sp, const signals *s, const trail *t, const ch_car *car,
                         line_fit found[CH_DRIVELINE_GEARS_MAX], int number[CH_DRIVELINE_GEARS_MAX], ch_driveline *to)
{
    size_t n = 0;
    const bool stated = car != NULL && isfinite(ch_car_line_rad_m(car, 1));
    fill(sp, s, t, 0);
    smooth(sp, DENSITY_WIDTH);
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

/* Part of the time in which the car gains speed (`sign` 1), or loses it (-1), that lies on a line; NaN where there is hardly any. */
static double changing_on_lines(const signals *s, const line_fit *found, size_t n, double sign)
{
    double on_s = 0, all_s = 0;
    for (size_t i = 0; i < s->n; i++) {
        if (!(sign * s->climb[i] > 0.4) || !(s->road[i] > 4) || isnan(s->ratio[i]) ||
            (sign < 0 && !(fabsf(s->drift[i]) < 0.03F)))
            continue;
        const double seconds = gears_row_seconds(s, i);
        all_s += seconds;
        for (size_t g = 0; g < n; g++)
            if (fabs(s->ratio[i] - found[g].at) < 0.04) {
                on_s += seconds;
                break;
            }
    }
    return all_s > 3 ? on_s / all_s : NAN;
}

/* Lines that hold so large a part of the time on lines in which the car is slowed. */
static size_t lines_slowed_on(const signals *s, const line_fit *found, size_t n)
{
    static const double least_1 = 0.05; /* judgment */
    double on_s[CH_DRIVELINE_GEARS_MAX] = {0}, all_s = 0;
    size_t count = 0;
    for (size_t i = 0; i < s->n; i++) {
        if (!(s->climb[i] < -0.4) || !(s->road[i] > 4) || !(fabsf(s->drift[i]) < 0.03F))
            continue;
        for (size_t g = 0; g < n; g++)
            if (fabs(s->ratio[i] - found[g].at) < 0.04) {
                on_s[g] += gears_row_seconds(s, i);
                all_s += gears_row_seconds(s, i);
                break;
            }
    }
    for (size_t g = 0; g < n; g++)
        count += on_s[g] > least_1 * all_s;
    return count;
}

/*
 * A clutch that slips at every pull leaves lines only where the car is slowed by its engine: there, on several gears. A stepless gearbox is slowed at one ratio, its tallest: up to 0.99 of
 * the time in 220 simulated runs, but then on one line; where on two and more, up to 0.92. Judgment, all of them.
 */
static bool slips_at_every_pull(const signals *s, const line_fit *found, size_t n, double pulling_1)
{
    static const double least_1 = 0.35, least_on_three_1 = 0.15, slowing_1 = 0.96;
    const size_t lines = lines_slowed_on(s, found, n);
    return n >= 3 && lines >= 2 && pulling_1 > (lines >= 3 ? least_on_three_1 : least_1) &&
           changing_on_lines(s, found, n, -1) > slowing_1;
}

static void judge_lines(const spectrum *sp, const signals *s, const line_fit *found, size_t n, ch_driveline *to)
{
    /* stepless gearboxes cruise at a few ratios, and pull at all: 0.08 to 0.44 of it on lines in 60 simulated runs; fixed gears 0.73 and more in 1440 */
    static const double stepless_1 = 0.5, unsure_1 = 0.65;
    double on_s = 0;
    for (size_t g = 0; g < n; g++)
        on_s += seconds_between(sp, found[g].at - 0.03, found[g].at + 0.03);
    to->on_lines_1 = on_s / sp->total_s; /* NaN where there is none */
    /* where news comes seldom, a pull is over before its ratio is known */
    const bool slow = gears_slow(s);
    const double pulling_1 = slow ? NAN : changing_on_lines(s, found, n, 1);
    if (sp->total_s < 5 || n == 0)
        to->state = sp->total_s < 20 ? CH_DRIVELINE_TOO_LITTLE : CH_DRIVELINE_NO_FIXED_GEARS;
    else if (to->on_lines_1 < (slow ? 0.45 : 0.55) ||
             ((s->slowing_only || pulling_1 < stepless_1) && !slips_at_every_pull(s, found, n, pulling_1)))
        to->state = CH_DRIVELINE_NO_FIXED_GEARS;
    else
        to->state = CH_DRIVELINE_GEARS_FOUND;
    if (to->state == CH_DRIVELINE_GEARS_FOUND && pulling_1 < unsure_1)
        to->limits |= CH_LIMIT_PERHAPS_STEPLESS;
}

typedef struct line_search {
    spectrum *sp;
    signals *s;
    const trail *t;
    const ch_car *car;
} line_search;

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
 * Lines as the car's ratios and tyre say, and how far: a ratio is stated in hundredths or thousandths, so that a last gear of 0.81 may be 0.8125. What the tyre
 * is off all lines have in common.
 */
static void stated_lines(const ch_car *car, const int number[], size_t n, gears_stated *stated)
{
    static const double uniform =
        0.2887; /* standard deviation of what is cut off by rounding: 1/sqrt(12) of the step */
    double step_1 = 0.01;
    for (size_t g = 0; g < car->gears; g++)
        if (fabs(car->gear_1[g] * 100 - rint(car->gear_1[g] * 100)) > 1e-6)
            step_1 = 0.001;
    for (size_t g = 0; g < n; g++) {
        stated->at[g] = log(ch_car_line_rad_m(car, (size_t)number[g]));
        stated->u[g] = uniform * step_1 / car->gear_1[number[g] - 1];
    }
}

/*
 * First gear is left after seconds, at speeds of which the noise is so large a part that its ratio hardly ever looks steady. Where noise is that large, rows as
 * steady as it lets them be are looked through above the other lines.
 */
static size_t add_first(const line_search *search, line_fit found[CH_DRIVELINE_GEARS_MAX], size_t n)
{
    /* judgment: first gear is so much above second, by boxes that are made */
    static const double loud_m_s = 0.05, from = 0.3, to = 0.85, width = 0.02, close = 0.04, around = 0.15, least_s = 1;
    const double noise_m_s = gears_road_noise(search->s, search->t, found, n);
    spectrum *sp = search->sp;
    if (n < 2 || n == CH_DRIVELINE_GEARS_MAX || gears_slow(search->s) || noise_m_s < loud_m_s)
        return n;
    fill(sp, search->s, search->t, noise_m_s);
    smooth(sp, width);
    int best = 0;
    for (int i = 0; i < CELLS; i++) {
        const double at = log(LOW_RAD_M) + (i + 0.5) * CELL;
        if (at > found[0].at + from && at < found[0].at + to && sp->density[i] > sp->density[best])
            best = i;
    }
    const double at = log(LOW_RAD_M) + (best + 0.5) * CELL, close_s = seconds_between(sp, at - close, at + close);
    if (at > found[0].at + from && close_s > least_s && close_s > 0.5 * seconds_between(sp, at - around, at + around)) {
        memmove(found + 1, found, n * sizeof *found);
        found[0] = (line_fit){.at = at, .spread = close / 2, .seconds = close_s};
        n++;
    }
    fill(sp, search->s, search->t, 0); /* as judge_lines() wants it */
    return n;
}

/* Lines by every row's weight, tied to the car's ratios where these are known. */
static ch_status weigh(const line_search *search, const ch_driveline *to, const int number[], line_fit *found, size_t n,
                       ch_err *err)
{
    gears_stated stated;
    const bool known = !(to->limits & CH_LIMIT_NUMBERS);
    if (known)
        stated_lines(search->car, number, n, &stated);
    return gears_weigh(search->s, search->t, to->road_offset_m_s, known ? &stated : NULL, found, n, err);
}

/*
 * The chance that a speed in whole steps was cut, not rounded, to them: a cut one is half a step too low on average. What it lacks is sought until nothing is
 * left, from the middle of the two readings on.
 */
static ch_status chance_of_cut(const line_search *search, double step_m_s, ch_driveline *to, double *cut_1, ch_err *err)
{
    enum { TRIES = 3 };
    static const double wider = 1.6,
                        least_m_s = 0.01; /* what the scatter within a run does not show: docs/driveline.md */
    line_fit found[CH_DRIVELINE_GEARS_MAX];
    int number[CH_DRIVELINE_GEARS_MAX];
    const double half_m_s = step_m_s / 2, lag_s = search->s->lag_s, creep_1 = search->s->creep_1;
    double offset_m_s = half_m_s / 2, u_m_s = half_m_s;
    for (int k = 0; k < TRIES; k++) {
        const size_t n = with_offset(search, offset_m_s, found, number, to);
        double more_m_s = 0;
        gears_stated stated;
        const bool known = !(to->limits & CH_LIMIT_NUMBERS);
        if (known)
            stated_lines(search->car, number, n, &stated);
        const ch_status rc =
            gears_lack(search->s, search->t, offset_m_s, known ? &stated : NULL, found, n, &more_m_s, &u_m_s, err);
        if (rc < 0)
            return rc;
        offset_m_s = fmin(fmax(offset_m_s + more_m_s, -half_m_s), 2 * half_m_s);
        if (fabs(more_m_s) < step_m_s / 50)
            break;
    }
    search->s->creep_1 = creep_1;
    signals_move(search->s, lag_s);
    const double rounded = offset_m_s / hypot(wider * u_m_s, least_m_s),
                 cut = (offset_m_s - half_m_s) / hypot(wider * u_m_s, least_m_s);
    *cut_1 = 1 / (1 + exp(0.5 * (cut * cut - rounded * rounded)));
    return CH_OK;
}

static const line_fit *nearest_line(const line_fit *line, size_t n, double at)
{
    const line_fit *best = NULL;
    double apart = 0.05;
    for (size_t g = 0; g < n; g++)
        if (fabs(line[g].at - at) < apart) {
            apart = fabs(line[g].at - at);
            best = &line[g];
        }
    return best;
}

typedef struct reading {
    line_fit line[CH_DRIVELINE_GEARS_MAX];
    size_t n;
} reading;

/* The lines as they are with this added to road speed. The lag is then what it was before. */
static ch_status read_with(const line_search *search, double offset_m_s, reading *as, ch_driveline *to, ch_err *err)
{
    int number[CH_DRIVELINE_GEARS_MAX];
    const double lag_s = search->s->lag_s, creep_1 = search->s->creep_1;
    as->n = with_offset(search, offset_m_s, as->line, number, to);
    const ch_status rc = weigh(search, to, number, as->line, as->n, err);
    search->s->creep_1 = creep_1;
    signals_move(search->s, lag_s);
    return rc;
}

/*
 * Lines that carry two readings of the log, the second with this chance: they stand so much of the way from the first to the second, and are as wide as the two and
 * what lies between each and where they stand.
 */
static void mix(const reading *one, const reading *other, double other_1, double way_1, line_fit *found, size_t n)
{
    for (size_t g = 0; g < n; g++) {
        const line_fit *a = nearest_line(one->line, one->n, found[g].at),
                       *b = nearest_line(other->line, other->n, found[g].at);
        a = a != NULL ? a : &found[g];
        b = b != NULL ? b : &found[g];
        const double apart = b->at - a->at, at = a->at + way_1 * apart;
        found[g].u = sqrt((1 - other_1) * (a->u * a->u + way_1 * way_1 * apart * apart) +
                          other_1 * (b->u * b->u + (1 - way_1) * (1 - way_1) * apart * apart));
        found[g].at = at;
    }
}

/* The lines of a speed in steps: as it was cut or rounded, or as both where the log does not tell. */
static ch_status find_stepped(const line_search *search, double step_m_s, line_fit found[], int number[], size_t *n,
                              ch_driveline *to, ch_err *err)
{
    static const double sure_1 = 0.98; /* judgment: 49 to 1 */
    reading cut, rounded;
    double cut_1 = 0.5; /* where news comes seldom nothing tells the two apart, and speed is left as logged */
    const bool slow = gears_slow(search->s);
    ch_status rc = slow ? CH_OK : chance_of_cut(search, step_m_s, to, &cut_1, err);
    const bool open = cut_1 <= sure_1 && cut_1 >= 1 - sure_1;
    if (rc >= 0 && open) {
        to->limits |= CH_LIMIT_CUT_OR_ROUNDED;
        rc = read_with(search, step_m_s / 2, &cut, to, err);
        if (rc >= 0)
            rc = read_with(search, 0, &rounded, to, err);
    }
    if (rc < 0)
        return rc;
    const double way_1 = slow ? 0 : open ? cut_1 : cut_1 > sure_1 ? 1 : 0;
    *n = with_offset(search, way_1 * step_m_s / 2, found, number, to);
    rc = weigh(search, to, number, found, *n, err);
    if (rc >= 0 && open)
        mix(&rounded, &cut, cut_1, way_1, found, *n);
    return rc;
}

/* Lines, how far they are known, and whether they are gears. */
static ch_status search_once(const line_search *search, double step_m_s, line_fit found[], int number[], size_t *n,
                             ch_driveline *to, ch_err *err)
{
    *n = with_offset(search, 0, found, number, to);
    if (step_m_s == 0 && (to->limits & CH_LIMIT_NUMBERS)) {
        *n = add_first(search, found, *n);
        numbers(found, *n, number);
    }
    const ch_status rc = step_m_s > 0 && *n > 0 ? find_stepped(search, step_m_s, found, number, n, to, err)
                                                : weigh(search, to, number, found, *n, err);
    if (rc >= 0)
        judge_lines(search->sp, search->s, found, *n, to);
    return rc;
}

static bool near_another(const line_fit *found, size_t n, size_t g, double at)
{
    for (size_t other = 0; other < n; other++)
        if (other != g && fabs(found[other].at - at) < GEARS_NEAR_1)
            return true;
    return false;
}

/*
 * Lines on which the car was only ever pulled, with one below them on which it never was. Nearer than two gears ever are, the lower one is the gear, and what is pulled runs ahead of it;
 * further apart it may be the next gear. Either way the log alone leaves some of it open.
 */
static ch_status settle_pulled(const line_search *search, line_fit found[], int number[], size_t n, ch_driveline *to,
                               ch_err *err)
{
    line_fit held[CH_DRIVELINE_GEARS_MAX];
    size_t of[CH_DRIVELINE_GEARS_MAX] = {0}, moved = 0;
    double at[CH_DRIVELINE_GEARS_MAX];
    ch_status rc = CH_OK;
    for (size_t g = 0; g < n; g++)
        at[g] = gears_foot_off(search->s, search->t, found[g].at);
    search->s->slowing_only = true; /* what is pulled would draw them up again */
    for (size_t g = 0; g < n; g++) {
        if (isnan(at[g]))
            continue;
        to->limits |= CH_LIMIT_PULLED_ALONE;
        if (found[g].at - at[g] < GEARS_APART_1 && !near_another(found, n, g, at[g]) &&
            fit_line(search->s, search->t, at[g], &held[moved]))
            of[moved++] = g;
    }
    if (moved > 0)
        rc = weigh(search, to, number, held, moved, err);
    search->s->slowing_only = false;
    for (size_t k = 0; k < moved && rc >= 0; k++) {
        held[k].u = hypot(held[k].u, found[of[k]].u); /* a speed that may be cut or rounded is so here too */
        found[of[k]] = held[k];
    }
    if (moved > 0 && rc >= 0)
        numbers(found, n, number);
    return rc;
}

ch_status gears_find(signals *s, const trail *t, const ch_car *car, double step_m_s, ch_driveline *to, ch_err *err)
{
    spectrum *sp = malloc(sizeof *sp);
    if (sp == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the gears");
    line_fit found[CH_DRIVELINE_GEARS_MAX];
    int number[CH_DRIVELINE_GEARS_MAX] = {0};
    const line_search search = {.sp = sp, .s = s, .t = t, .car = car};
    const double lag_s = s->lag_s;
    size_t n = 0;
    ch_status rc = search_once(&search, step_m_s, found, number, &n, to, err);
    if (rc >= 0 && to->state == CH_DRIVELINE_NO_FIXED_GEARS && n >= 2 && !gears_slow(s)) {
        s->slowing_only = true;
        s->creep_1 = 0;
        signals_move(s, lag_s);
        rc = search_once(&search, step_m_s, found, number, &n, to, err);
    }
    if (rc >= 0 && to->state == CH_DRIVELINE_GEARS_FOUND && (to->limits & CH_LIMIT_NUMBERS) && !s->slowing_only &&
        !gears_slow(s))
        rc = settle_pulled(&search, found, number, n, to, err);
    free(sp);
    if (rc < 0)
        return rc;
    to->gears = to->state == CH_DRIVELINE_GEARS_FOUND ? n : 0;
    for (size_t g = 0; g < to->gears; g++)
        to->gear[g] =
            (ch_driveline_gear){.number = number[g],
                                .line_rad_m = exp(found[g].at),
                                .u_line_rad_m = exp(found[g].at) * found[g].u,
                                .spread_1 = found[g].spread,
                                .car_line_rad_m = car != NULL ? ch_car_line_rad_m(car, (size_t)number[g]) : NAN};
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
    static const double hardly_s = 0.6, little_s = 2, far_more = 10, above = 0.45; /* judgment */
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
