/*
 * Promises of driveline/gears.c on signals made by hand, in which the seconds that lie on each ratio can be counted: how gears are numbered, by a car's ratios too, and when there are
 * none that are fixed, each limit from both sides.
 */
#include <stdlib.h>
#include <string.h>

#include "gear_pieces.h"

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

int main(void)
{
    const struct CMUnitTest tests[] = {
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
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
