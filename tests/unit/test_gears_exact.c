/*
 * Promises of driveline/gears*.c and signal.c on runs that are known exactly: lines as many and where they are, whatever the unit of speed, the lag and the
 * constant error of road speed; a car's own ratios, its tyre's factor; and when there is too little of a run, or no line in it.
 */
#include <stdlib.h>
#include <string.h>

#include "../../src/driveline/parts.h"
#include "expect.h"

enum { ROOM = 12000 };
static const double EVERY_S = 0.05;

static double times[ROOM];
static float channel[TRAIL_CHANNELS][ROOM];
static trail t;
static ch_driveline found;

/* A run of `seconds`: pulls through all gears up and coasts down in the last, over and over. Road speed `lag_s` late, `low_m_s` too low, times `unit`. */
typedef struct known {
    size_t gears;
    double line[CH_DRIVELINE_GEARS_MAX], seconds, lag_s, low_m_s, unit, scatter_1;
} known;

typedef struct moment {
    double speed, line;
} moment;

static moment run_at(const known *k, double time_s)
{
    /* Each gear from 150 to 600 rad/s at an acceleration of its own, one after the other; then down again in the last. */
    double at = 4.0;
    for (;;) {
        for (size_t g = 0; g < k->gears; g++) {
            const double from = g == 0 ? 150.0 / k->line[0] : 590.0 / k->line[g - 1], to = 590.0 / k->line[g],
                         a = 4.0 / (double)(g + 1), length = (to - from) / a;
            if (time_s < at + length)
                return (moment){time_s < at ? from : from + a * (time_s - at), k->line[g]};
            at += length;
        }
        const double top = 590.0 / k->line[k->gears - 1], low = 150.0 / k->line[k->gears - 1];
        const double length = (top - low) / 2.0;
        if (time_s < at + length)
            return (moment){top - 2.0 * (time_s - at), k->line[k->gears - 1]};
        at += length + 3.0;
        if (time_s < at)
            return (moment){low, NAN}; /* standing about, the clutch pressed */
    }
}

static void make_run(const known *k, const ch_car *car, signals *s)
{
    t = (trail){.n = (size_t)(k->seconds / EVERY_S), .room = ROOM, .time_s = times};
    assert_true(t.n <= ROOM);
    unsigned noise = 1;
    for (int c = 0; c < TRAIL_CHANNELS; c++) {
        t.channel[c] = channel[c];
        for (size_t i = 0; i < t.n; i++)
            channel[c][i] = NAN;
    }
    for (size_t i = 0; i < t.n; i++) {
        times[i] = (double)i * EVERY_S;
        const moment now = run_at(k, times[i]), late = run_at(k, fmax(times[i] - k->lag_s, 0.0));
        noise = noise * 1103515245U + 12345U;
        const double off_1 = k->scatter_1 * ((double)(noise >> 8 & 0xFFFFU) / 32768.0 - 1.0);
        channel[TRAIL_ENGINE][i] = (float)(isnan(now.line) ? 90.0 : now.speed * now.line * (1.0 + off_1));
        channel[TRAIL_ROAD][i] = (float)(k->unit * (late.speed - k->low_m_s));
        channel[TRAIL_THROTTLE][i] = 0.8F;
        channel[TRAIL_CLUTCH][i] = isnan(now.line) ? 1.0F : 0.0F;
    }
    assert_int_equal(signals_make(&t, 0.0, EVERY_S, EVERY_S, EVERY_S, s, NULL), CH_OK);
    found = (ch_driveline){0};
    assert_int_equal(gears_find(s, &t, car, 0.0, &found, NULL), CH_OK);
}

static const known FIVE = {
    .gears = 5, .line = {40.0, 24.0, 16.5, 12.5, 10.0}, .seconds = 400.0, .unit = 1.0, .scatter_1 = 0.001};

static void lines_are_found_where_they_are(void **state)
{
    (void)state;
    for (size_t gears = 3; gears <= 6; gears++) {
        known k = {.gears = gears,
                   .line = {44.0, 27.0, 18.4, 13.7, 10.9, 8.9},
                   .seconds = 400.0,
                   .unit = 1.0,
                   .scatter_1 = 0.001};
        signals s;
        make_run(&k, NULL, &s);
        assert_int_equal(found.state, CH_DRIVELINE_GEARS_FOUND);
        assert_int_equal(found.gears, gears);
        for (size_t g = 0; g < gears; g++) {
            expect_relative(found.gear[g].line_rad_m, k.line[g],
                            5e-4); /* scatter of 0.1 % over some hundred rows, and the lag's hundredth */
            assert_int_equal(found.gear[g].number, g + 1);
            assert_true(found.gear[g].u_line_rad_m > 0.0 && found.gear[g].u_line_rad_m < 2e-3 * k.line[g]);
            assert_true(found.gear[g].spread_1 > 0.0 && found.gear[g].spread_1 < 0.004);
            assert_true(isnan(found.gear[g].car_line_rad_m));
        }
        assert_true(isnan(found.car_factor_1));
        assert_true((found.limits & CH_LIMIT_NUMBERS) != 0);
        assert_true(found.on_lines_1 > 0.95 && found.on_lines_1 <= 1.0 + 1e-9);
        expect_close(s.lag_s, 0.0, 0.03);
        signals_free(&s);
    }
}

/* Road speed late, or low by as much at any speed, or in another unit: the lines come out the same but for the unit. */
static void what_road_speed_lacks_does_not_move_the_lines(void **state)
{
    (void)state;
    for (int kind = 0; kind < 4; kind++) {
        known k = FIVE;
        k.lag_s = kind == 1 ? 0.3 : kind == 3 ? 0.15 : 0.0;
        k.unit = kind == 2 ? 0.97 : kind == 3 ? 1.04 : 1.0;
        signals s;
        make_run(&k, NULL, &s);
        assert_int_equal(found.gears, 5);
        for (size_t g = 0; g < 5; g++)
            expect_relative(found.gear[g].line_rad_m * k.unit, k.line[g], 1e-3);
        expect_close(s.lag_s, k.lag_s, 0.03);
        signals_free(&s);
    }
}

/* The car's ratios and tyre: numbers are theirs though a gear was not used, and what the tyre is off is told. */
static void a_cars_own_ratios_number_the_lines(void **state)
{
    (void)state;
    ch_car car = ch_car_none();
    static const double ratios[] = {3.20, 1.92, 1.32, 1.00, 0.80};
    assert_int_equal(ch_tyre_parse("195/50R15", 9, &car.tyre, NULL), CH_OK);
    snprintf(car.tyre_text, sizeof car.tyre_text, "195/50R15");
    car.final_drive_1 = 4.1;
    car.gears = 5;
    memcpy(car.gear_1, ratios, sizeof ratios);
    for (int kind = 0; kind < 2; kind++) {
        known k = {.gears = kind == 0 ? 5 : 4, .seconds = 400.0, .unit = 1.0, .scatter_1 = 0.001};
        for (size_t g = 0; g < k.gears;
             g++) /* the car is driven without its first gear the second time; its tyre is 2 % smaller than it says */
            k.line[g] = 1.02 * ch_car_line_rad_m(&car, g + 1 + (size_t)kind);
        signals s;
        make_run(&k, &car, &s);
        assert_int_equal(found.gears, k.gears);
        for (size_t g = 0; g < k.gears; g++) {
            assert_int_equal(found.gear[g].number, (int)g + 1 + kind);
            expect_relative(found.gear[g].line_rad_m, k.line[g], 1e-3);
            expect_relative(found.gear[g].car_line_rad_m, ch_car_line_rad_m(&car, g + 1 + (size_t)kind), 1e-12);
        }
        expect_close(found.car_factor_1, 1.02, 0.0025); /* sought in steps of a thousandth */
        assert_int_equal(found.limits & (CH_LIMIT_NUMBERS | CH_LIMIT_CAR_DIFFERS), 0);
        signals_free(&s);
    }
    /* ratios of another car: no factor within 8 % brings the lines together */
    static const double other[] = {1.30, 1.26, 1.22, 1.18, 1.12};
    known k = FIVE;
    for (size_t g = 0; g < 5; g++)
        k.line[g] = ch_car_line_rad_m(&car, g + 1) * other[g];
    signals s;
    make_run(&k, &car, &s);
    assert_true((found.limits & CH_LIMIT_CAR_DIFFERS) != 0 && (found.limits & CH_LIMIT_NUMBERS) != 0);
    assert_true(isnan(found.car_factor_1));
    assert_int_equal(found.gears, 5);
    signals_free(&s);
}

/* Below five seconds of steady ratio, and below twenty where nothing was found, there is too little to say. */
static void a_short_run_is_too_little(void **state)
{
    (void)state;
    static const double lengths_s[] = {4.0, 6.0, 8.0, 400.0};
    for (int i = 0; i < 4; i++) {
        known k = FIVE;
        k.seconds = lengths_s[i];
        signals s;
        make_run(&k, NULL, &s);
        if (i == 0)
            assert_int_equal(found.state, CH_DRIVELINE_TOO_LITTLE);
        if (i == 3)
            assert_int_equal(found.state, CH_DRIVELINE_GEARS_FOUND);
        assert_true(found.state == CH_DRIVELINE_GEARS_FOUND || found.gears == 0);
        signals_free(&s);
    }
}

/* Ratios that change all the while: no fixed gears. */
static void a_ratio_that_never_stands_has_no_gears(void **state)
{
    (void)state;
    t = (trail){.n = 8000, .room = ROOM, .time_s = times};
    for (int c = 0; c < TRAIL_CHANNELS; c++)
        t.channel[c] = channel[c];
    for (size_t i = 0; i < t.n; i++) {
        times[i] = (double)i * EVERY_S;
        const double speed = 22.0 + 12.0 * sin(0.21 * times[i]), line = 18.0 * exp(0.5 * sin(0.05 * times[i]));
        channel[TRAIL_ENGINE][i] = (float)(speed * line);
        channel[TRAIL_ROAD][i] = (float)speed;
        channel[TRAIL_CLUTCH][i] = 0.0F;
    }
    signals s;
    assert_int_equal(signals_make(&t, 0.0, EVERY_S, EVERY_S, EVERY_S, &s, NULL), CH_OK);
    found = (ch_driveline){0};
    assert_int_equal(gears_find(&s, &t, NULL, 0.0, &found, NULL), CH_OK);
    assert_int_equal(found.state, CH_DRIVELINE_NO_FIXED_GEARS);
    assert_int_equal(found.gears, 0);
    signals_free(&s);
}

/* The nearest within reach, none beyond. */
static void the_nearest_line_within_reach_is_that_of_a_ratio(void **state)
{
    (void)state;
    ch_driveline d = {.gears = 3};
    for (int g = 0; g < 3; g++)
        d.gear[g].line_rad_m = exp(3.0 - 0.4 * g);
    for (int k = -10; k <= 110; k++) {
        const double ratio = 3.05 - 0.01 * k;
        int best = -1;
        for (int g = 0; g < 3; g++)
            if (fabs(ratio - (3.0 - 0.4 * g)) < 0.1005 &&
                (best < 0 || fabs(ratio - (3.0 - 0.4 * g)) < fabs(ratio - (3.0 - 0.4 * best))))
                best = g;
        assert_int_equal(gears_nearest(&d, ratio, 0.1005), best);
    }
}

/* Where numbers were guessed: a gear of no run goes, one of hardly any just above one used far more too, and the others are numbered anew. */
static void gears_that_no_run_knows_are_dropped(void **state)
{
    (void)state;
    static const struct {
        double first_s, second_s, third_s, apart;
        size_t left;
    } cases[] = {{30.0, 30.0, 30.0, 0.4, 3},  {0.59, 30.0, 30.0, 0.4, 2},  {0.61, 5.0, 30.0, 0.4, 3},
                 {1.99, 20.0, 30.0, 0.44, 2}, {1.99, 19.8, 30.0, 0.44, 3}, {1.99, 20.0, 30.0, 0.46, 3},
                 {2.01, 30.0, 30.0, 0.4, 3},  {30.0, 30.0, 0.5, 0.4, 2},   {30.0, 30.0, 1.0, 0.4, 3}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++)
        for (int guessed = 0; guessed < 2; guessed++) {
            ch_driveline d = {.gears = 3, .limits = guessed ? CH_LIMIT_NUMBERS : 0};
            const double seconds[] = {cases[k].first_s, cases[k].second_s, cases[k].third_s};
            for (int g = 0; g < 3; g++)
                d.gear[g] = (ch_driveline_gear){
                    .number = g + 1, .line_rad_m = 44.0 * exp(-cases[k].apart * g), .seconds = seconds[g]};
            assert_int_equal(gears_drop_unused(&d), guessed && cases[k].left < 3);
            assert_int_equal(d.gears, guessed ? cases[k].left : 3);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lines_are_found_where_they_are),
        cmocka_unit_test(what_road_speed_lacks_does_not_move_the_lines),
        cmocka_unit_test(a_cars_own_ratios_number_the_lines),
        cmocka_unit_test(a_short_run_is_too_little),
        cmocka_unit_test(a_ratio_that_never_stands_has_no_gears),
        cmocka_unit_test(the_nearest_line_within_reach_is_that_of_a_ratio),
        cmocka_unit_test(gears_that_no_run_knows_are_dropped),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
