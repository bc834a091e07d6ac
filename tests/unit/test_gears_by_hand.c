/*
 * Promises of driveline/gears.c on signals made by hand, in which the seconds that lie on each ratio can be counted: what is a gear, what is none, how they are numbered, and what is
 * said of the whole, each limit from both sides.
 */
#include <stdlib.h>
#include <string.h>

#include "../../src/driveline/gears_parts.h"
#include "expect.h"
#include "fail_alloc.h"

enum { ROOM = 6000 };
static const double EVERY_S = 0.05;

static double times[ROOM];
static float drawn[ROOM], engine[ROOM], road[ROOM], climb[ROOM], ratio[ROOM], drift[ROOM], smooth[ROOM], pressed[ROOM];
static signals s;
static trail t;
static ch_driveline found;

/* Time on a ratio that counts as steady, at a speed from `from_m_s` to `to_m_s`. */
typedef struct piece {
    double steady_s, ratio, from_m_s, to_m_s, climb_m_s2;
    double scatter; /* of the ratio, up and down in turn */
} piece;

static void begin(void)
{
    s = (signals){.time_s = times,
                  .interval_s = EVERY_S,
                  .engine_fresh_s = EVERY_S,
                  .road_fresh_s = EVERY_S,
                  .window_s = 0.24, /* within five rows */
                  .drawn = drawn,
                  .engine = engine,
                  .road = road,
                  .climb = climb,
                  .ratio = ratio,
                  .drift = drift,
                  .smooth = smooth};
    t = (trail){.room = ROOM, .time_s = times};
    t.channel[TRAIL_CLUTCH] = pressed;
    found = (ch_driveline){.car_factor_1 = NAN};
}

/* As many rows as the window takes at either end come to the steady ones, and with the engine out of gear behind them, so that they know nothing of the next. */
static void add(const piece *p)
{
    const size_t reach = (size_t)ceil(s.window_s / EVERY_S), rows = (size_t)rint(p->steady_s / EVERY_S) + 2 * reach;
    assert_true(s.n + rows + reach <= ROOM);
    for (size_t i = 0; i < rows + reach; i++, s.n++) {
        const double v = p->from_m_s + (p->to_m_s - p->from_m_s) * fmin((double)i / (double)(rows - 1), 1);
        times[s.n] = EVERY_S * (double)s.n;
        drawn[s.n] = road[s.n] = (float)v;
        engine[s.n] = i >= rows ? 10 : (float)(v * exp(p->ratio + (i % 2 == 0 ? p->scatter : -p->scatter)));
        climb[s.n] = (float)(i >= rows ? 0 : p->climb_m_s2);
        pressed[s.n] = 0;
    }
    t.n = s.n;
}

static void find(const ch_car *car)
{
    assert_int_equal(gears_find(&s, &t, car, s.step_m_s, &found, NULL), CH_OK);
}

/* Three gears, 12 s each, all of it pulled. */
static const piece THREE[] = {{12, 3.5, 8, 16, 1.5, 0}, {12, 3.0, 12, 24, 1.5, 0}, {12, 2.55, 20, 36, 1.5, 0}};

static void begin_with_three(void)
{
    begin();
    for (int k = 0; k < 3; k++)
        add(&THREE[k]);
}

/* Whether a line is found beside the three. */
static bool is_found(const piece *more, size_t n, double at)
{
    begin_with_three();
    for (size_t k = 0; k < n; k++)
        add(&more[k]);
    find(NULL);
    assert_int_equal(found.state, CH_DRIVELINE_GEARS_FOUND);
    for (size_t g = 0; g < found.gears; g++)
        if (fabs(log(found.gear[g].line_rad_m) - at) < 0.004)
            return true;
    return false;
}

static bool is_found_alone(double seconds, double at)
{
    const double from_m_s = fmax(12, 70 / exp(at));
    const piece more = {seconds, at, from_m_s, 1.6 * from_m_s, 1.5, 0};
    return is_found(&more, 1, at);
}

static void a_gear_is_driven_for_a_second_the_lowest_for_less(void **state)
{
    (void)state;
    assert_true(is_found_alone(1.05, 2.1));
    assert_false(is_found_alone(0.95, 2.1));
    /* first is left soon: 0.8 s where it lies 0.22 above all others */
    assert_true(is_found_alone(0.85, 3.9));
    assert_false(is_found_alone(0.75, 3.9));
    assert_true(is_found_alone(0.9, 3.735));
    assert_false(is_found_alone(0.9, 3.705));
    /* between 8 and 345 rpm for each km/h, 3 and 130 rad/m */
    assert_true(is_found_alone(5, log(3.1)));
    assert_false(is_found_alone(5, log(2.9)));
    assert_true(is_found_alone(5, log(127)));
    assert_false(is_found_alone(5, log(133)));
    /* in the first and the last cell of 0.002 that is counted */
    assert_true(is_found_alone(5, log(3.003)));
    assert_true(is_found_alone(5, log(130.8)));
    /* 0.1 apart from the others */
    assert_true(is_found_alone(5, 2.55 - 0.105));
    assert_false(is_found_alone(5, 2.55 - 0.095));
    assert_false(is_found_alone(5, 2.55 - 0.085));
}

static void a_gear_stands_out_from_what_is_around_it(void **state)
{
    (void)state;
    /* within 0.02 of it is most of what is within 0.1: 55 % */
    piece two[] = {{2, 2.1, 12, 20, 1.5, 0}, {1.55, 2.04, 12, 20, 1.5, 0}};
    assert_true(is_found(two, 2, 2.1)); /* 56.3 % */
    two[1].steady_s = 1.75;
    assert_false(is_found(two, 2, 2.1)); /* 53.3 % */
    two[1].ratio = 2.16;
    assert_false(is_found(two, 2, 2.1));
    two[1].ratio = 2.1 - 0.095;
    assert_false(is_found(two, 2, 2.1));
    two[1].ratio = 2.1 - 0.105;
    assert_true(is_found(two, 2, 2.1));
    two[1].ratio = 2.1 + 0.095;
    assert_false(is_found(two, 2, 2.1));
    two[1].ratio = 2.1 + 0.105;
    assert_true(is_found(two, 2, 2.1));
    two[1].ratio = 2.1 - 0.023; /* no part of it any more */
    assert_false(is_found(two, 2, 2.1));
    /* above all others half, and within 0.035 */
    piece top[] = {{2, 4.0, 12, 20, 1.5, 0}, {1.9, 3.94, 12, 20, 1.5, 0}};
    assert_true(is_found(top, 2, 4.0)); /* 51.3 % */
    top[1].steady_s = 2.1;
    assert_false(
        is_found(top, 2, 4.0)); /* 48.8 %; and the other is the denser of the two, with no more of what is around it */
    piece around[] = {{2, 4.0, 12, 20, 1.5, 0},
                      {1.1, 4.033, 12, 20, 1.5, 0},
                      {1.1, 3.967, 12, 20, 1.5, 0},
                      {1.1, 3.92, 12, 20, 1.5, 0}};
    assert_true(is_found(around, 4, 4.0)); /* 4.2 s of 5.3 */
    around[1].ratio = 4.038;
    around[2].ratio = 3.962;
    assert_false(is_found(around, 4, 4.0)); /* 2 s of 5.3 */
}

/* Where news comes seldom, or a log is long, it takes more: 8 s; two thousandths of it. */
static void a_long_or_slow_log_asks_for_more(void **state)
{
    (void)state;
    for (int seldom = 0; seldom < 4; seldom++) {
        const bool enough = seldom % 2 == 0;
        begin();
        s.window_s = seldom < 2 ? 0.62 : 0.58; /* slow, and not quite */
        for (int k = 0; k < 3; k++)
            add(&THREE[k]);
        const piece more = {enough ? 8.2 : 7.7, 2.1, 12, 20, 1.5, 0};
        add(&more);
        find(NULL);
        assert_int_equal(found.gears, enough || seldom >= 2 ? 4 : 3);
    }
    for (int enough = 0; enough < 2; enough++) {
        begin();
        s.window_s = 0.14; /* three rows */
        /* rows a quarter of a second apart: 810 s in all, 1.62 s of them two thousandths */
        for (int k = 0; k < 3; k++) {
            piece p = THREE[k];
            p.steady_s = 54;
            add(&p);
        }
        const piece more = {enough ? 0.35 : 0.3, 2.1, 12, 20, 1.5, 0};
        add(&more);
        for (size_t i = 0; i < s.n; i++)
            times[i] *= 5;
        s.interval_s = 0.25;
        s.window_s = 0.55; /* not slow; within three rows still */
        find(NULL);
        assert_int_equal(found.gears, 3 + enough);
    }
}

static void idling_at_one_speed_is_no_gear(void **state)
{
    (void)state;
    /* 1100 rpm are 115 rad/s; a twenty-fifth of scatter in road speed: evenly from 1 - x to 1 + x it is x/sqrt(3) */
    const double at = 2.1, slow_m_s = 114.996 / exp(2.1), fast_m_s = 115.004 / exp(2.1);
    const piece idle = {5, at, slow_m_s, slow_m_s, 0, 0}, drives = {5, at, fast_m_s, fast_m_s, 0, 0},
                wavers = {5, at, slow_m_s * (1 - 0.0675), slow_m_s * (1 + 0.0675), 0, 0},
                changes = {5, at, slow_m_s * (1 - 0.08), slow_m_s * (1 + 0.08), 0, 0};
    assert_false(is_found(&idle, 1, at));
    assert_true(is_found(&drives, 1, at));
    assert_false(is_found(&wavers, 1, at)); /* 0.039 */
    assert_true(is_found(&changes, 1, at)); /* 0.046 */
}

/* A line of little time, all of it pulled, in the middle of a step that is none too wide: a slip that held. */
static void a_light_line_in_a_step_is_a_slip(void **state)
{
    (void)state;
    const double at = 2.77; /* between 3.0 and 2.55 */
    piece slip = {1.08, at, 12, 20, 1.5, 0};
    assert_false(is_found(&slip, 1, at)); /* of 37.1 s: 2.9 % */
    slip.steady_s = 1.17;                 /* of 37.2 s: 3.1 % */
    assert_true(is_found(&slip, 1, at));
    /* slowed in it: a gear */
    const piece coasts = {1.08, at, 20, 12, -1.5, 0};
    assert_true(is_found(&coasts, 1, at));
    /* pulled in nine rows of ten and a little less: of two coasts the rows are those that fall */
    const piece mostly[] = {{1.0, at, 12, 20, 1.5, 0}, {0.1, at, 20, 19, -1.5, 0}},
                nearly[] = {{1.0, at, 12, 20, 1.5, 0}, {0.15, at, 20, 19, -1.5, 0}};
    assert_false(is_found(mostly, 2, at)); /* 20 of 22 */
    assert_true(is_found(nearly, 2, at));  /* 20 of 23: and 1.15 of 37.15 s are 3.1 % */
    /* in a wider step a gear may lie: 0.6 */
    for (int wide = 0; wide < 2; wide++) {
        begin();
        add(&THREE[0]);
        add(&THREE[1]);
        piece lowest = THREE[2];
        lowest.ratio = 3.0 - (wide ? 0.61 : 0.59);
        add(&lowest);
        slip.steady_s = 1.05;
        slip.ratio = 3.0 - 0.3;
        add(&slip);
        find(NULL);
        assert_int_equal(found.gears, wide ? 4 : 3);
    }
    /* below the lowest and above the highest there is no step to lie in */
    slip.ratio = 2.2;
    assert_true(is_found(&slip, 1, 2.2));
    slip.ratio = 3.8;
    assert_true(is_found(&slip, 1, 3.8));
}

static void lines_are_medians_and_their_scatter(void **state)
{
    (void)state;
    begin();
    for (int k = 0; k < 3; k++) {
        piece p = THREE[k];
        p.scatter = 0.001 * (k + 1);
        add(&p);
    }
    find(NULL);
    assert_int_equal(found.gears, 3);
    for (int k = 0; k < 3; k++) {
        /* half the rows on either side: from the 16th to the 84th of a hundred is from one to the other; cells of 0.06/1024 */
        expect_close(found.gear[k].spread_1, 0.001 * (k + 1), 8e-5);
        expect_close(log(found.gear[k].line_rad_m), THREE[k].ratio,
                     0.0008); /* the median of as many above as below may be either */
        assert_true(isnan(found.gear[k].car_line_rad_m) != 0);
    }
    expect_close(found.on_lines_1, 1, 1e-9);
    assert_int_equal(found.limits, CH_LIMIT_NUMBERS);
}

/* Ordinary cars' lines, rad/m, by common practice: rpm for each km/h of 125, 70, 47, 35, 28, 23 and so on. */
static const double USUAL[] = {47.1, 26.4, 17.7, 13.2, 10.6, 8.7, 7.5, 6.5};

/* Minus twice the logarithm of a likelihood: each line's scatter 0.08 about what all have in common, that 0.22; a gear left out one in twenty; a step
 * to the next gear of more than e^0.75 one in four hundred. */
static double badness(const double line[], const int number[], int n)
{
    double common = 0, sum = 0;
    for (int g = 0; g < n; g++)
        common += log(line[g] / USUAL[number[g] - 1]);
    common /= n;
    for (int g = 0; g < n; g++)
        sum += pow((log(line[g] / USUAL[number[g] - 1]) - common) / 0.08, 2);
    for (int g = 1; g < n; g++)
        sum += number[g] == number[g - 1] + 1 && line[g - 1] / line[g] > exp(0.75) ? 12 : 0;
    return sum + pow(common / 0.22, 2) + 6 * (number[n - 1] - number[0] - (n - 1));
}

static void try_from(const double line[], int n, int placed, int number[], double *least, int best[])
{
    if (placed == n) {
        const double bad = badness(line, number, n);
        if (bad < *least) {
            *least = bad;
            memcpy(best, number, (size_t)n * sizeof *best);
        }
        return;
    }
    for (int k = placed > 0 ? number[placed - 1] + 1 : 1; k <= 8; k++) {
        number[placed] = k;
        try_from(line, n, placed + 1, number, least, best);
    }
}

static void numbers_are_the_likeliest_of_all_rising_ones(void **state)
{
    (void)state;
    unsigned random = 7;
    int skipped = 0;
    for (int k = 0; k < 300; k++) {
        const int n = 1 + k % 7;
        double line[8], at = log(60);
        ch_driveline d = {.gears = (size_t)n + 1, .limits = CH_LIMIT_NUMBERS};
        for (int g = 0; g < n; g++) {
            random = random * 1103515245U + 12345U;
            at -= 0.12 + 0.5 / (g + 1.5) * (double)(random >> 16 & 0xFFU) / 255 + (k % 3 == 0 && g == n / 2 ? 0.45 : 0);
            line[g] = exp(at);
            d.gear[g + 1] = (ch_driveline_gear){.number = 9, .line_rad_m = line[g], .seconds = 30};
        }
        d.gear[0] =
            (ch_driveline_gear){.number = 9, .line_rad_m = 90, .seconds = 0.1}; /* goes; the others are numbered anew */
        int number[8], best[8] = {0};
        double least = INFINITY;
        try_from(line, n, 0, number, &least, best);
        assert_true(gears_drop_unused(&d));
        assert_int_equal(d.gears, n);
        for (int g = 0; g < n; g++) {
            assert_int_equal(d.gear[g].number, best[g]);
            expect_relative(d.gear[g].line_rad_m, line[g], 1e-12);
        }
        skipped += best[n - 1] - best[0] > n - 1;
    }
    assert_true(skipped > 10); /* some of them leave one out */
}

/* A six-speed box whose second was driven for a moment only: 113.9, 49.8, 39.1 and 31.5 rpm for each km/h. No box steps from 113.9 to 49.8. */
static void a_step_that_no_box_has_is_two(void **state)
{
    (void)state;
    static const double RPM_PER_KMH[] = {113.93, 49.81, 39.06, 31.50};
    static const int NUMBERS[] = {1, 3, 4, 5};
    ch_driveline d = {.gears = 5, .limits = CH_LIMIT_NUMBERS};
    for (int g = 0; g < 4; g++)
        d.gear[g + 1] = (ch_driveline_gear){.line_rad_m = RPM_PER_KMH[g] * 3.14159265358979 / 30 * 3.6, .seconds = 30};
    d.gear[0] = (ch_driveline_gear){.line_rad_m = 90, .seconds = 0.1};
    assert_true(gears_drop_unused(&d));
    for (int g = 0; g < 4; g++)
        assert_int_equal(d.gear[g].number, NUMBERS[g]);
}

/* More lines than there are usual numbers: counted from the lowest. */
static void nine_lines_are_counted(void **state)
{
    (void)state;
    begin();
    for (int k = 0; k < 9; k++) {
        const piece p = {5, 4.2 - 0.25 * k, 12, 20, 1.5, 0};
        add(&p);
    }
    find(NULL);
    assert_int_equal(found.gears, 9);
    for (int k = 0; k < 9; k++)
        assert_int_equal(found.gear[k].number, k + 1);
    begin();
    for (int k = 0; k < 11; k++) {
        const piece p = {5, 4.4 - 0.25 * k, 12, 20, 1.5, 0};
        add(&p);
    }
    find(NULL);
    assert_int_equal(found.gears, CH_DRIVELINE_GEARS_MAX);
}

static ch_car car_with_lines(const double at[], size_t n)
{
    ch_car car = ch_car_none();
    assert_int_equal(ch_tyre_parse("195/50R15", 9, &car.tyre, NULL), CH_OK);
    car.final_drive_1 = 4.1;
    car.gears = n;
    car.gear_1[0] = 1;
    const double one = ch_car_line_rad_m(&car, 1);
    for (size_t g = 0; g < n; g++)
        car.gear_1[g] = exp(at[g]) / one;
    return car;
}

static void a_cars_lines_are_looked_for_with_one_factor(void **state)
{
    (void)state;
    static const double off[] = {0, 0.0403, -0.0598, 0.0783, -0.0783, 0.11, -0.11};
    for (int k = 0; k < 7; k++) {
        const double at[] = {4.05 - off[k], 3.5 - off[k], 3.0 - off[k], 2.55 - off[k], 2.2 - off[k]};
        const ch_car car = car_with_lines(at, 5);
        begin_with_three();
        /* its fourth of two fifths of a second, its first of a little less */
        const piece short_of[] = {{0.42, 2.2, 20, 22, 1.5, 0}, {0.38, 4.05, 4, 5, 1.5, 0}};
        add(&short_of[0]);
        add(&short_of[1]);
        find(&car);
        if (k < 5) {
            assert_int_equal(found.limits & (CH_LIMIT_NUMBERS | CH_LIMIT_CAR_DIFFERS), 0);
            assert_int_equal(found.gears, 4);
            for (int g = 0; g < 4; g++) {
                assert_int_equal(found.gear[g].number, g + 2);
                expect_relative(found.gear[g].car_line_rad_m, exp(at[g + 1]), 1e-12);
            }
            /* in steps of a thousandth, over cells of two: of those that do alike the first */
            expect_close(log(found.car_factor_1), off[k], 0.0021);
        } else {
            assert_int_equal(found.limits & (CH_LIMIT_NUMBERS | CH_LIMIT_CAR_DIFFERS),
                             CH_LIMIT_NUMBERS | CH_LIMIT_CAR_DIFFERS);
            assert_true(isnan(found.car_factor_1) != 0);
            assert_int_equal(found.gears, 3);
        }
    }
}

/* One of its lines is 0.02 off what the others say at most. */
static void a_line_lies_where_the_cars_others_put_it(void **state)
{
    (void)state;
    static const double off[] = {0.0175, -0.0175, 0.0235, -0.0235};
    for (int k = 0; k < 4; k++) {
        const double at[] = {3.5, 3.0, 2.55 + off[k]};
        const ch_car car = car_with_lines(at, 3);
        begin();
        add(&THREE[0]);
        add(&THREE[1]);
        const piece third = {6, 2.55, 20, 36, 1.5, 0};
        add(&third);
        find(&car);
        assert_int_equal(found.gears, k < 2 ? 3 : 2);
        assert_int_equal(found.limits & (CH_LIMIT_NUMBERS | CH_LIMIT_CAR_DIFFERS), 0);
    }
}

/* Three rows make a gear that the car's ratios expect, two do not. */
static void a_cars_gear_is_seen_in_three_rows(void **state)
{
    (void)state;
    const double at[] = {3.5, 3.0, 2.55, 2.2};
    const ch_car car = car_with_lines(at, 4);
    for (int rows = 2; rows <= 3; rows++) {
        begin();
        s.window_s = 0.14; /* three rows, which will lie 0.21 s apart */
        for (int k = 0; k < 3; k++)
            add(&THREE[k]);
        const piece few = {EVERY_S * rows, 2.2, 24, 26, 1.5, 0};
        add(&few);
        for (size_t i = 0; i < s.n; i++)
            times[i] *= 4.2;
        s.interval_s = 0.21;
        s.window_s = 0.5;
        find(&car);
        assert_int_equal(found.gears, rows == 3 ? 4 : 3);
    }
}

/* Gears whose lines are beyond what is counted have no time on them. */
static void a_cars_lines_out_of_range_are_not_driven(void **state)
{
    (void)state;
    const double at[] = {log(150), log(135), 3.5, 3.0, 2.55, log(2.9), log(2.2)};
    const ch_car car = car_with_lines(at, 7);
    begin_with_three();
    find(&car);
    assert_int_equal(found.gears, 3);
    for (int g = 0; g < 3; g++)
        assert_int_equal(found.gear[g].number, g + 3);
    assert_int_equal(found.limits, 0);
}

/* More than half of the steady time has to lie within 0.02 of the car's lines. */
static void a_cars_lines_hold_most_of_the_time_or_are_anothers(void **state)
{
    (void)state;
    const double at[] = {3.5, 3.0, 2.0};
    const ch_car car = car_with_lines(at, 3);
    for (int most = 0; most < 2; most++) {
        const piece cruised[] = {
            {12, 3.5, 20, 21, 0, 0}, {12, 3.0, 20, 21, 0, 0}, {most ? 23 : 25, 2.55, 20, 21, 0, 0}};
        begin();
        for (int k = 0; k < 3; k++)
            add(&cruised[k]);
        find(&car);
        assert_int_equal((found.limits & CH_LIMIT_CAR_DIFFERS) == 0, most);
        /* half of it on lines is none too much, and no gears then */
        assert_int_equal(found.gears, most ? 0 : 3);
        assert_int_equal(isnan(found.car_factor_1) == 0, most);
    }
    /* a car of which no ratio is stated says nothing */
    const ch_car none = ch_car_none();
    begin_with_three();
    find(&none);
    assert_int_equal(found.limits, CH_LIMIT_NUMBERS);
    assert_true(isnan(found.gear[0].car_line_rad_m) != 0);
}

static ch_driveline_state state_of(const piece *pieces, size_t n)
{
    begin();
    for (size_t k = 0; k < n; k++)
        add(&pieces[k]);
    find(NULL);
    assert_true(found.state == CH_DRIVELINE_GEARS_FOUND || found.gears == 0);
    return found.state;
}

static void a_run_needs_five_steady_seconds_or_twenty_to_say_that_it_has_no_gears(void **state)
{
    (void)state;
    piece gear = {5.1, 3.0, 12, 24, 1.5, 0};
    assert_int_equal(state_of(&gear, 1), CH_DRIVELINE_GEARS_FOUND);
    expect_close(found.on_lines_1, 1, 1e-12);
    gear.steady_s = 4.9;
    assert_int_equal(state_of(&gear, 1), CH_DRIVELINE_TOO_LITTLE);
    /* idling alone is no gear */
    piece idle = {19.8, 2.1, 12, 12, 0, 0};
    assert_int_equal(state_of(&idle, 1), CH_DRIVELINE_TOO_LITTLE);
    expect_close(found.on_lines_1, 0, 1e-12);
    idle.steady_s = 20.2;
    assert_int_equal(state_of(&idle, 1), CH_DRIVELINE_NO_FIXED_GEARS);
    /* nothing steady at all */
    begin();
    s.n = t.n = 100;
    for (size_t i = 0; i < 100; i++) {
        times[i] = EVERY_S * (double)i;
        drawn[i] = road[i] = 0;
        engine[i] = 90;
        climb[i] = 0;
    }
    find(NULL);
    assert_int_equal(found.state, CH_DRIVELINE_TOO_LITTLE);
    assert_true(isnan(found.on_lines_1) != 0);
}

/* Of the steady time more than 55 % lies on lines; where news comes seldom 45 %. What lies on none: short stays at many ratios. */
static void most_of_the_time_lies_on_lines(void **state)
{
    (void)state;
    for (int k = 0; k < 4; k++) {
        const bool slow = k >= 2, enough = k % 2 == 0;
        begin();
        s.window_s = slow ? 0.62 : 0.24;
        const piece gear = {20, 3.0, 12, 24, 0, 0};
        add(&gear);
        /* of 36 s, or of 43.9 */
        const double other_s = slow ? (enough ? 23.5 : 25.5) : enough ? 15.5 : 17.5;
        for (int j = 0; j < 25; j++) {
            const piece stray = {other_s / 25, 1.3 + 0.05 * j + (j > 20 ? 1.5 : 0), 30, 40, 0, 0};
            add(&stray);
        }
        find(NULL);
        expect_close(found.on_lines_1, 20 / (20 + rint(other_s / 25 / EVERY_S) * EVERY_S * 25), 1e-6);
        assert_int_equal(found.state, enough ? CH_DRIVELINE_GEARS_FOUND : CH_DRIVELINE_NO_FIXED_GEARS);
    }
}

/* Gaining speed on no line: a ratio that falls steadily, too fast to be steady. */
static void add_wandering(double seconds, double climb_m_s2, double road_m_s)
{
    const size_t rows = (size_t)rint(seconds / EVERY_S);
    for (size_t i = 0; i <= rows; i++, s.n++) {
        times[s.n] = EVERY_S * (double)s.n;
        drawn[s.n] = road[s.n] = (float)road_m_s;
        engine[s.n] = i == rows ? 10 : (float)(180 * exp(-0.006 * (double)i));
        climb[s.n] = (float)(i == rows ? 0 : climb_m_s2);
        pressed[s.n] = 0;
    }
    t.n = s.n;
}

static void pulls_on_no_line_betray_a_stepless_gearbox(void **state)
{
    (void)state;
    /* on the line: 4 s of rows that count as gaining speed, and ten rows of the ends */
    static const struct {
        double off_s, climb_m_s2, road_m_s;
        ch_driveline_state state;
        bool unsure;
    } cases[] = {
        {2.2, 1.5, 20, CH_DRIVELINE_GEARS_FOUND, false},     {2.6, 1.5, 20, CH_DRIVELINE_GEARS_FOUND, true},
        {4.3, 1.5, 20, CH_DRIVELINE_GEARS_FOUND, true},      {4.8, 1.5, 20, CH_DRIVELINE_NO_FIXED_GEARS, false},
        {4.8, 0.42, 20, CH_DRIVELINE_NO_FIXED_GEARS, false}, {4.8, 0.38, 20, CH_DRIVELINE_GEARS_FOUND, false},
        {4.8, 1.5, 4.1, CH_DRIVELINE_NO_FIXED_GEARS, false}, {4.8, 1.5, 3.9, CH_DRIVELINE_GEARS_FOUND, false}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const piece pulled = {4, 3.0, 12, 24, 1.5, 0}, cruised = {20, 3.0, 20, 21, 0, 0};
        begin();
        add(&pulled);
        add(&cruised);
        add_wandering(cases[k].off_s, cases[k].climb_m_s2, cases[k].road_m_s);
        find(NULL);
        assert_int_equal(found.state, cases[k].state);
        assert_true(((found.limits & CH_LIMIT_PERHAPS_STEPLESS) != 0) == cases[k].unsure);
    }
    /* three seconds of it are needed to say so */
    for (int enough = 0; enough < 2; enough++) {
        const piece cruised = {20, 3.0, 20, 21, 0, 0};
        begin();
        add(&cruised);
        add_wandering(enough ? 3.1 : 2.9, 1.5, 20);
        find(NULL);
        assert_int_equal(found.state, enough ? CH_DRIVELINE_NO_FIXED_GEARS : CH_DRIVELINE_GEARS_FOUND);
    }
    /* and where news comes seldom it says nothing */
    const piece cruised = {20, 3.0, 20, 21, 0, 0};
    begin();
    s.window_s = 0.62;
    add(&cruised);
    add_wandering(10, 1.5, 20);
    find(NULL);
    assert_int_equal(found.state, CH_DRIVELINE_GEARS_FOUND);
    assert_int_equal(found.limits, CH_LIMIT_NUMBERS);
    /* 0.04 about a line are on it */
    for (int on = 0; on < 2; on++) {
        const piece close[] = {{20, 3.0, 20, 21, 0, 0},
                               {2, 3.0 + (on ? 0.038 : 0.042), 12, 24, 1.5, 0},
                               {2, 3.0 - (on ? 0.038 : 0.042), 12, 24, 1.5, 0}};
        assert_int_equal(state_of(close, 3), on ? CH_DRIVELINE_GEARS_FOUND : CH_DRIVELINE_NO_FIXED_GEARS);
    }
}

/* On from the speed of before, gaining or losing so much each second; on a ratio, which may rise, or, where it is NaN, on none: it falls too fast to be steady. */
static void drive_on_rising(double seconds, double at, double climb_m_s2, double slope_1_s)
{
    const size_t rows = (size_t)rint(seconds / EVERY_S), apart = 5;
    double v = s.n > 0 ? road[s.n - 1] : 30;
    for (size_t i = 0; i < rows + apart; i++, s.n++) {
        v += i < rows ? climb_m_s2 * EVERY_S : 0;
        const double here = at + slope_1_s * EVERY_S * (double)i;
        times[s.n] = EVERY_S * (double)s.n;
        drawn[s.n] = road[s.n] = (float)v;
        engine[s.n] = i >= rows ? 10 : (float)(isnan(at) ? 150 * exp(-0.006 * (double)(i % 100)) : v * exp(here));
        climb[s.n] = (float)(i >= rows ? 0 : climb_m_s2);
        pressed[s.n] = 0;
    }
    t.n = s.n;
}

static void drive_on(double seconds, double at, double climb_m_s2)
{
    drive_on_rising(seconds, at, climb_m_s2, 0);
}

/*
 * A clutch that slips at every pull: slowed on three lines, pulled on none but for some seconds. `third_s` of the slowing is on the third line, 1.3 s each on `strays` ratios that are
 * none.
 */
typedef struct lost {
    double pulled_s, third_s;
    int strays;
    bool third_cruised, found;
    double third_m_s2,
        stray_drift; /* by how much it is slowed on the third, -1 where 0; by how much the others' ratios change in half a second */
} lost;

static void gears_that_only_slowing_shows_are_found(void **state)
{
    (void)state;
    static const lost cases[] = {
        /* on three lines 0.15 of the pulling has to lie on lines: of 42 s; 6.3 */
        {7, 15, 0, false, true, 0, 0},
        {5.7, 15, 0, false, false, 0, 0},
        /* the third holds a twentieth of the slowing, of which a quarter of a second at either end is not steady: 1.53 of 30.5 s. On two 0.35 of the pulling: of 42; 14.7 */
        {7, 2.05, 0, true, true, 0, 0},
        {7, 1.9, 0, true, false, 0, 0},
        {13.8, 1.9, 0, true, false, 0, 0},
        {15.6, 1.9, 0, true, true, 0, 0},
        /* and 0.96 of the slowing on lines: of 45 s and what is on none */
        {7, 15, 2, false, true, 0, 0},
        {7, 15, 3, false, false, 0, 0},
        /* a ratio that changes by 0.03 in half a second is none that it is slowed on */
        {7, 15, 3, false, false, 0, 0.0285},
        {7, 15, 3, false, true, 0, 0.0315},
        /* slowed by 0.4 m/s2 */
        {7, 6, 0, true, true, -0.43, 0},
        {7, 6, 0, true, false, -0.37, 0},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const lost *c = &cases[k];
        begin();
        drive_on(15, 3.5, -1);
        drive_on(10, NAN, 1.5);
        drive_on(15, 3.0, -1);
        drive_on(10, NAN, 1.5);
        drive_on(c->third_s, 2.55, c->third_m_s2 < 0 ? c->third_m_s2 : -1);
        if (c->third_cruised)
            drive_on(6, 2.55, 0);
        for (int j = 0; j < c->strays; j++)
            drive_on_rising(1.3, 2.35 - 0.15 * j, -1, c->stray_drift / (2 * s.window_s));
        drive_on(c->pulled_s, 3.0, 0.8);
        drive_on(42 - 20 - c->pulled_s, NAN, 0.5);
        find(NULL);
        if ((found.state == CH_DRIVELINE_GEARS_FOUND) != c->found)
            fail_msg("case %zu: state %d, on lines %g", k, (int)found.state, found.on_lines_1);
        assert_true(s.slowing_only || c->found);
        assert_int_equal(found.gears, c->found ? 3 : 0);
        assert_int_equal((found.limits & CH_LIMIT_PERHAPS_STEPLESS) != 0, c->found);
    }
}

/* A ratio that rises evenly, by more than what is steady for it. */
typedef struct ramp {
    double seconds, middle, slope_1_s, road_m_s;
} ramp;

static void add_ramp(const ramp *r)
{
    const size_t reach = 5, rows = (size_t)rint(r->seconds / EVERY_S) + 2 * reach;
    for (size_t i = 0; i < rows + reach; i++, s.n++) {
        const double at = r->middle + r->slope_1_s * EVERY_S * ((double)i - 0.5 * (double)(rows - 1));
        times[s.n] = EVERY_S * (double)s.n;
        drawn[s.n] = road[s.n] = (float)r->road_m_s;
        engine[s.n] = i >= rows ? 10 : (float)(r->road_m_s * exp(at));
        climb[s.n] = 0;
        pressed[s.n] = 0;
    }
    t.n = s.n;
}

/* Lines under noise, m/s, and ramps above them. */
static size_t lines_under_noise(size_t lines, double noise_m_s, const ramp *ramps, size_t n)
{
    begin();
    for (size_t k = 0; k < lines; k++) {
        /* as a ratio it changes sign with each row at 20 m/s: its second difference is four times itself */
        const piece p = {12, 3.4 - (lines > 3 ? 0.2 : 0.28) * (double)k, 20, 20.5,
                         0,  noise_m_s / 20.25 * 2.449 * 0.6745 / 4};
        add(&p);
    }
    for (size_t k = 0; k < n; k++)
        add_ramp(&ramps[k]);
    find(NULL);
    assert_int_equal(found.state, CH_DRIVELINE_GEARS_FOUND);
    return found.gears;
}

/*
 * First gear at 4 m/s, where noise of 0.06 m/s lets a ratio drift by 3*0.06/4 = 0.045 in half a second: one that drifts by 0.058 a second, 0.028 in 0.48 s, is not steady, but
 * as steady as can be.
 */
static void first_gear_under_noise_lies_above_the_others(void **state)
{
    (void)state;
    const ramp first = {1.1, 3.4 + 0.5, 0.058, 4};
    assert_int_equal(lines_under_noise(3, 0.06, &first, 1), 4);
    expect_close(log(found.gear[0].line_rad_m), 3.9, 0.02);
    expect_close(found.gear[0].spread_1, 0.02, 1e-12);
    expect_close(found.on_lines_1, 1, 1e-12); /* of what is steady */
    assert_int_equal(found.gear[0].number, 1);
    /* a second of it */
    ramp r = first;
    r.seconds = 0.9;
    assert_int_equal(lines_under_noise(3, 0.06, &r, 1), 3);
    /* in noise of 0.05 m/s and more */
    r = first;
    assert_int_equal(lines_under_noise(3, 0.052, &r, 1), 4);
    assert_int_equal(lines_under_noise(3, 0.048, &r, 1), 3);
    /* three times of which it may drift */
    r.slope_1_s = 0.091; /* 0.0437 */
    r.seconds = 1.05;
    assert_int_equal(lines_under_noise(3, 0.06, &r, 1), 3); /* in 0.08 of it there is less than a second */
    r.road_m_s = 7;                                         /* 0.0257 */
    r.slope_1_s = 0.052;                                    /* 0.025 */
    assert_int_equal(lines_under_noise(3, 0.06, &r, 1), 4);
    r.slope_1_s = 0.055; /* 0.0264 */
    assert_int_equal(lines_under_noise(3, 0.06, &r, 1), 3);
    /* from 0.3 to 0.85 above them */
    r = first;
    r.middle = 3.4 + 0.33;
    assert_int_equal(lines_under_noise(3, 0.06, &r, 1), 4);
    r.middle = 3.4 + 0.25;
    assert_int_equal(lines_under_noise(3, 0.06, &r, 1), 3);
    r.middle = 3.4 + 0.83;
    assert_int_equal(lines_under_noise(3, 0.06, &r, 1), 4);
    r.middle = 3.4 + 0.93;
    assert_int_equal(lines_under_noise(3, 0.06, &r, 1), 3);
    /* half and more of what is within 0.15 of it */
    ramp two[] = {first, first};
    two[1].middle += 0.11;
    two[1].seconds = 0.9;
    assert_int_equal(lines_under_noise(3, 0.06, two, 2), 4);
    two[1].seconds = 0.75;
    ramp three[] = {first, two[1], two[1]};
    three[2].middle = first.middle - 0.11;
    assert_int_equal(lines_under_noise(3, 0.06, three, 3), 3);
    three[1].middle = first.middle + 0.19;
    three[2].middle = first.middle - 0.19;
    assert_int_equal(lines_under_noise(3, 0.06, three, 3), 4);
    /* above one line alone there is nothing to compare it with, above ten no room, and where news comes seldom noise is unknown */
    assert_int_equal(lines_under_noise(2, 0.06, &first, 1), 3);
    assert_int_equal(lines_under_noise(1, 0.06, &first, 1), 1);
    assert_int_equal(lines_under_noise(10, 0.06, &first, 1), 10);
    /* nor is the lowest line that is counted a first gear */
    begin();
    for (int k = 0; k < 2; k++) {
        const piece p = {12, k == 0 ? 1.38 : 1.103, 40, 41, 0, 0.06 / 40.5 * 2.449 * 0.6745 / 4};
        add(&p);
    }
    find(NULL);
    assert_int_equal(found.gears, 2);
    assert_int_equal(lines_under_noise(9, 0.06, &first, 1), 10);
}

/*
 * Pulls and coasts in three gears, 32 s each, road speed late, the driven tyres ahead of the road by their creep. `light_s` more are steady in a fourth, as with a lag of 0.4 s.
 */
static void find_with_lag(double late_s, double creep_1, double step_m_s, double light_s)
{
    static const double lines[] = {3.2, 2.8, 2.5};
    begin();
    s.lag_known = true;
    s.step_m_s = step_m_s;
    double v = 14;
    double at_engine_time[ROOM];
    for (int lap = 0; lap < 3; lap++)
        for (int part = 0; part < 4; part++) {
            const double a = part == 0 ? 2.5 - 0.5 * lap : part == 2 ? -1 - 0.4 * lap : 0;
            for (int i = 0; i < 160; i++, s.n++) {
                const double ease = fmin(fmin(i, 159 - i) / 20.0, 1); /* acceleration comes and goes */
                v += a * ease * EVERY_S;
                at_engine_time[s.n] = v;
                times[s.n] = EVERY_S * (double)s.n;
                climb[s.n] = (float)(a * ease);
                pressed[s.n] = 0;
                const double traction = a * ease + 0.00035 * v * v + 0.12,
                             force = traction > -0.6 ? traction / 9.80665 : 0;
                engine[s.n] = (float)(v * exp(lines[lap] + creep_1 * force));
            }
        }
    const size_t light = light_s > 0 ? (size_t)rint(light_s / EVERY_S) + 10 : 0;
    for (size_t i = 0; i < 10 + light; i++, s.n++) {
        const double a = i >= 10 ? 0.3 + 2.2 * (double)(i - 10) / (double)light : 0;
        v += a * EVERY_S;
        at_engine_time[s.n] = v;
        times[s.n] = EVERY_S * (double)s.n;
        climb[s.n] = (float)a;
        pressed[s.n] = 0;
        engine[s.n] = i < 10 ? 10 : (float)(v * exp(2.1 + 0.4 * a / v));
    }
    t.n = s.n;
    for (size_t i = 0; i < s.n; i++) {
        const double at = fmax((double)i - late_s / EVERY_S, 0);
        const size_t k = (size_t)at < s.n - 1 ? (size_t)at : s.n - 2;
        drawn[i] = (float)(at_engine_time[k] + (at - (double)k) * (at_engine_time[k + 1] - at_engine_time[k]));
        road[i] = drawn[i];
    }
    find(NULL);
}

/* What is left of the lag is found to a millisecond or so, by a tenth of a second at a time, twice. */
static void a_lag_that_is_left_is_found_with_the_lines(void **state)
{
    (void)state;
    static const double late_s[] = {0, 0.02, 0.06, -0.06, 0.095, 0.15, 0.3, -0.3};
    for (size_t k = 0; k < sizeof late_s / sizeof late_s[0]; k++) {
        find_with_lag(late_s[k], 0, 0, 0);
        assert_int_equal(found.gears, 3);
        expect_close(s.lag_s, fmin(fmax(late_s[k], -0.2), 0.2), fabs(late_s[k]) > 0.2 ? 1e-9 : 0.004);
        if (fabs(late_s[k]) < 0.2)
            expect_close(log(found.gear[0].line_rad_m), 3.2, 0.0005);
    }
}

/* A line that holds less than three hundredths of the time may come from slips: it has no say in the lag. */
static void a_light_line_has_no_say_in_the_lag(void **state)
{
    (void)state;
    find_with_lag(0, 0, 0, 0);
    const double without_s = s.lag_s;
    for (int heavy = 0; heavy < 2; heavy++) {
        find_with_lag(0, 0, 0, heavy ? 3.3 : 2.6);
        assert_int_equal(found.gears, 4);
        assert_true((fabs(s.lag_s - without_s) > 0.001) == heavy);
    }
}

static void creep_is_found_with_the_lines(void **state)
{
    (void)state;
    static const struct {
        double creep_1, step_m_s, wanted_1, within_1;
    } cases[] = {{0, 0, 0, 0},           {0.009, 0, 0, 0},           {0.0112, 0, 0.0112, 0.001},
                 {0.05, 0, 0.05, 0.002}, {0.11, 0, 0.11, 0.004},     {0.14, 0, 0.12, 1e-12},
                 {0.028, 0.05, 0, 0},    {0.034, 0.05, 0.034, 0.003}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        find_with_lag(0, cases[k].creep_1, cases[k].step_m_s, 0);
        expect_close(s.creep_1, cases[k].wanted_1, cases[k].within_1);
        assert_int_equal(found.gears, 3);
    }
}

/* Whichever allocation fails: of a fine speed and of one in steps, which is looked at cut and rounded. */
static void memory_that_runs_out_is_said(void **state)
{
    (void)state;
    for (int steps = 0; steps < 2; steps++) {
        long nth = 1;
        for (;; nth++) {
            ch_err err = {0};
            begin_with_three();
            s.step_m_s = steps ? 1 / 3.6 : 0;
            fail_alloc_at(nth);
            const ch_status rc = gears_find(&s, &t, NULL, s.step_m_s, &found, &err);
            const bool failed = fail_alloc_stop();
            assert_int_equal(fail_alloc_left(), 0);
            if (!failed) {
                assert_int_equal(rc, CH_OK);
                break;
            }
            assert_int_equal(rc, CH_E_MEMORY);
            assert_string_equal(err.what, "no memory for the gears");
        }
        assert_int_equal(found.gears, 3);
        assert_true(nth > (steps ? 5 : 3)); /* the spectrum, and two arrays for each weighing */
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_gear_is_driven_for_a_second_the_lowest_for_less),
        cmocka_unit_test(a_gear_stands_out_from_what_is_around_it),
        cmocka_unit_test(a_long_or_slow_log_asks_for_more),
        cmocka_unit_test(idling_at_one_speed_is_no_gear),
        cmocka_unit_test(a_light_line_in_a_step_is_a_slip),
        cmocka_unit_test(lines_are_medians_and_their_scatter),
        cmocka_unit_test(numbers_are_the_likeliest_of_all_rising_ones),
        cmocka_unit_test(a_step_that_no_box_has_is_two),
        cmocka_unit_test(nine_lines_are_counted),
        cmocka_unit_test(a_cars_lines_are_looked_for_with_one_factor),
        cmocka_unit_test(a_line_lies_where_the_cars_others_put_it),
        cmocka_unit_test(a_cars_gear_is_seen_in_three_rows),
        cmocka_unit_test(a_cars_lines_out_of_range_are_not_driven),
        cmocka_unit_test(a_cars_lines_hold_most_of_the_time_or_are_anothers),
        cmocka_unit_test(a_run_needs_five_steady_seconds_or_twenty_to_say_that_it_has_no_gears),
        cmocka_unit_test(most_of_the_time_lies_on_lines),
        cmocka_unit_test(pulls_on_no_line_betray_a_stepless_gearbox),
        cmocka_unit_test(gears_that_only_slowing_shows_are_found),
        cmocka_unit_test(first_gear_under_noise_lies_above_the_others),
        cmocka_unit_test(a_lag_that_is_left_is_found_with_the_lines),
        cmocka_unit_test(a_light_line_has_no_say_in_the_lag),
        cmocka_unit_test(creep_is_found_with_the_lines),
        cmocka_unit_test(memory_that_runs_out_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
