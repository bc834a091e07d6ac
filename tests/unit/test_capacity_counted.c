/*
 * Promises of driveline/capacity.c and heat.c, held against the same worked out by hand from slips drawn at random: torque and its uncertainty, the
 * middle and the band, the plate's temperature from slip to slip, and how capacity goes with it.
 */
#include <stdlib.h>

#include "../../src/driveline/parts.h"
#include "crosshatch/sampling.h"
#include "expect.h"

enum { SLIPS_MAX = 60, GEARS = 3 };
static const double LINE_RAD_M[GEARS] = {18.0, 13.5, 10.0};

static ch_driveline *made;
static ch_slip slips[SLIPS_MAX];
static ch_car car;

static int begin(void **state)
{
    (void)state;
    made = calloc(1, sizeof *made);
    return made != NULL ? 0 : -1;
}

static int end(void **state)
{
    (void)state;
    free(made);
    return 0;
}

static void draw_slips(ch_stream *stream, size_t n)
{
    double at_s = 20.0;
    made->gears = GEARS;
    for (int g = 0; g < GEARS; g++) {
        made->gear[g].number = g + 3;
        made->gear[g].line_rad_m = LINE_RAD_M[g];
    }
    made->slip = slips;
    made->slips = n;
    for (size_t i = 0; i < n; i++) {
        at_s += 2.0 + 300.0 * ch_stream_uniform(stream);
        const double seconds = 0.3 + 8.0 * ch_stream_uniform(stream);
        slips[i] = (ch_slip){.start_s = at_s,
                             .end_s = at_s + seconds,
                             .gear = 3 + (int)(GEARS * ch_stream_uniform(stream)),
                             .ahead_rad_s = 20.0 + 120.0 * ch_stream_uniform(stream),
                             .road_speed_m_s = 15.0 + 30.0 * ch_stream_uniform(stream),
                             .acceleration_m_s2 = 0.5 + 2.5 * ch_stream_uniform(stream),
                             .oil_or_coolant_k =
                                 ch_stream_uniform(stream) < 0.3 ? NAN : 340.0 + 30.0 * ch_stream_uniform(stream)};
        at_s += seconds;
    }
}

static double square(double x)
{
    return x * x;
}

/* Torque of a slip: docs/driveline.md; air of 1.20 kg/m3, rolling 0.013, efficiency 0.94, 0.65 m2 where not stated. Its variance: by the partial
 * derivatives and the uncertainties that stand there. */
static double torque_by_hand(const ch_slip *s, double *u)
{
    const bool stated = isfinite(car.drag_area_m2);
    const double area = stated ? car.drag_area_m2 : 0.65, m = car.mass_kg, g = 9.80665;
    const double over = LINE_RAD_M[s->gear - 3] * 0.94;
    const double inertia = 1.04 * m * s->acceleration_m_s2, drag = 0.6 * area * square(s->road_speed_m_s),
                 rolling = 0.013 * m * g, torque = (inertia + drag + rolling) / over;
    *u = sqrt(square((inertia + rolling) / over * 0.05) + square(drag / over * (stated ? 0.07 : 0.20)) +
              square(0.003 * m * g / over) + square(1.04 * m * 0.12 / over) + square(torque * 0.02 / 0.94));
    return torque;
}

/* The lump by steps of a thousandth of a second or of its cooling, whichever is longer: an explicit solution, good to a part in some thousand. */
static double lump_after(double temp_k, double air_k, double heat_w, double seconds)
{
    const double outer = car.clutch.outer_m > 0.0 ? car.clutch.outer_m : 0.215, size = outer / 0.215,
                 heat_capacity = 8.0 * size * size * size * 500.0;
    const int steps = 400;
    for (int k = 0; k < steps; k++) {
        const double middle = temp_k + 0.5 * seconds / steps * (heat_w / heat_capacity - (temp_k - air_k) / 180.0);
        temp_k += seconds / steps * (heat_w / heat_capacity - (middle - air_k) / 180.0);
    }
    return temp_k;
}

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void expect_band(size_t n)
{
    double torque[SLIPS_MAX], u = 0.0;
    for (size_t i = 0; i < n; i++) {
        double one = 0.0;
        torque[i] = torque_by_hand(&slips[i], &one);
        u += one / torque[i] / (double)n;
    }
    qsort(torque, n, sizeof *torque, rising);
    const double middle = 0.5 * (torque[(n - 1) / 2] + torque[n / 2]);
    /* half of what lies between 16 % and 84 % of them, from three on */
    const double scatter = n < 3 ? 0.0 : 0.5 * (torque[n * 84 / 100] - torque[n * 16 / 100]) / middle;
    /* a median of a normal distribution varies by pi/2 more than a mean */
    const double band = 1.645 * sqrt(u * u + acos(0.0) * scatter * scatter / (double)n);
    expect_relative(made->capacity_n_m[1], middle, 1e-12);
    expect_relative(log(made->capacity_n_m[2] / middle), band, 1e-9);
    expect_relative(log(made->capacity_n_m[0] / middle), -band, 1e-9);
}

/* Of y on x by the textbook's centred sums. */
static void expect_fade(size_t n)
{
    double x_mean = 0.0, y_mean = 0.0, sxx = 0.0, sxy = 0.0, left = 0.0;
    for (size_t i = 0; i < n; i++) {
        x_mean += slips[i].plate_k / (double)n;
        y_mean += log(slips[i].torque_n_m) / (double)n;
    }
    for (size_t i = 0; i < n; i++) {
        sxx += square(slips[i].plate_k - x_mean);
        sxy += (slips[i].plate_k - x_mean) * (log(slips[i].torque_n_m) - y_mean);
    }
    if (n < 4 || sxx <= 25.0 * (double)n) {
        assert_true(isnan(made->fade_1_k) && isnan(made->u_fade_1_k));
        return;
    }
    for (size_t i = 0; i < n; i++)
        left += square(log(slips[i].torque_n_m) - y_mean - sxy / sxx * (slips[i].plate_k - x_mean));
    expect_close(made->fade_1_k, sxy / sxx, 1e-9);
    expect_relative(made->u_fade_1_k, sqrt(fmax(left / (double)(n - 2), 4e-4) / sxx), 1e-6);
}

static void all_of_it_is_as_by_hand(void **state)
{
    (void)state;
    ch_stream stream;
    ch_stream_init(&stream, 61, 0);
    for (int round = 0; round < 60; round++) {
        const size_t n = round < 8 ? (size_t)round + 1 : 3 + (size_t)((SLIPS_MAX - 2) * ch_stream_uniform(&stream));
        car = ch_car_none();
        car.mass_kg = 700.0 + 900.0 * ch_stream_uniform(&stream);
        car.drag_area_m2 = round % 2 == 0 ? 0.4 + 0.4 * ch_stream_uniform(&stream) : NAN;
        car.clutch.outer_m = round % 3 == 0 ? NAN : 0.18 + 0.06 * ch_stream_uniform(&stream);
        draw_slips(&stream, n);
        capacity_judge(&car, made);
        double temp_k = NAN, at_s = 0.0;
        for (size_t i = 0; i < n; i++) {
            const ch_slip *s = &slips[i];
            double u = 0.0;
            const double torque = torque_by_hand(s, &u), seconds = s->end_s - s->start_s,
                         air_k = isfinite(s->oil_or_coolant_k) ? s->oil_or_coolant_k : 350.0;
            expect_relative(s->torque_n_m, torque, 1e-12);
            expect_relative(s->u_torque_n_m, u, 1e-9);
            expect_relative(s->heat_j, torque * s->ahead_rad_s * seconds, 1e-12);
            temp_k = i == 0 ? air_k : lump_after(temp_k, air_k, 0.0, s->start_s - at_s);
            expect_close(s->plate_k, temp_k, 0.05);
            temp_k = lump_after(temp_k, air_k, torque * s->ahead_rad_s, seconds);
            expect_close(s->peak_plate_k, temp_k, 0.05);
            at_s = s->end_s;
        }
        expect_band(n);
        expect_fade(n);
        assert_true(isnan(made->design_n_m[0]) && isnan(made->design_n_m[1])); /* the clutch is not stated in full */
    }
}

/* The mirror of a car: no mass, no torque; no car, nothing; an engine that holds back passes none, and takes no part in the middle. */
static void what_is_not_known_is_not_told(void **state)
{
    (void)state;
    ch_stream stream;
    ch_stream_init(&stream, 62, 0);
    car = ch_car_none();
    car.clutch = (ch_clutch_disc){0.24, 0.16, 2.0, 6e3, 0.3};
    draw_slips(&stream, 6);
    capacity_judge(&car, made);
    for (int i = 0; i < 3; i++)
        assert_true(isnan(made->capacity_n_m[i]));
    expect_relative(made->design_n_m[0], 0.3 * 6e3 * 2.0 * 0.40 / 4.0, 1e-12); /* uniform wear */
    expect_relative(made->design_n_m[1],
                    0.3 * 6e3 * 2.0 * (pow(0.24, 3.0) - pow(0.16, 3.0)) / (3.0 * (0.24 * 0.24 - 0.16 * 0.16)), 1e-12);
    capacity_judge(NULL, made);
    assert_true(isnan(made->design_n_m[0]) && isnan(made->design_n_m[1]) && isnan(made->fade_1_k));
    car.mass_kg = 1000.0;
    slips[5].acceleration_m_s2 = -9.0;
    slips[4].gear = 1; /* of which no line is known */
    capacity_judge(&car, made);
    assert_true(slips[5].torque_n_m < 0.0 && slips[5].heat_j == 0.0);
    expect_close(slips[5].peak_plate_k, slips[5].plate_k, 5.0); /* nothing but cooling */
    assert_true(isnan(slips[4].torque_n_m));
    made->slips = 4;
    expect_band(4);
}

/* One lump: exponentially towards where heat and cooling balance, by the closed form; also from slips that overlap, or that take no time. */
static void the_plate_warms_and_cools_as_one_lump(void **state)
{
    (void)state;
    ch_stream stream;
    ch_stream_init(&stream, 63, 0);
    for (int round = 0; round < 20; round++) {
        car = ch_car_none();
        car.mass_kg = 1100.0;
        car.clutch.outer_m = round % 2 == 0 ? NAN : 0.24;
        draw_slips(&stream, 8);
        slips[2].start_s = slips[1].end_s - 0.25; /* begins before the last has ended: no time to cool */
        slips[5].end_s = slips[5].start_s;        /* no time, no heat */
        slips[6].start_s = slips[5].end_s;
        capacity_judge(&car, made);
        const double size = round % 2 == 0 ? 1.0 : 0.24 / 0.215, heat_capacity = 8.0 * pow(size, 3.0) * 500.0;
        double temp_k = NAN;
        for (size_t i = 0; i < 8; i++) {
            const ch_slip *s = &slips[i];
            const double air_k = isnan(s->oil_or_coolant_k) ? 350.0 : s->oil_or_coolant_k,
                         seconds = s->end_s - s->start_s,
                         rest_s = i == 0 ? 0.0 : fmax(s->start_s - slips[i - 1].end_s, 0.0);
            temp_k = i == 0 ? air_k : air_k + (temp_k - air_k) * exp(-rest_s / 180.0);
            expect_relative(s->plate_k, temp_k, 1e-9);
            const double power_w = s->torque_n_m * s->ahead_rad_s, settles_k = air_k + power_w * 180.0 / heat_capacity;
            temp_k = settles_k + (temp_k - settles_k) * exp(-seconds / 180.0);
            expect_relative(s->peak_plate_k, temp_k, 1e-9);
            expect_close(s->heat_j, power_w * seconds, 1e-9 * power_w);
        }
        assert_true(slips[5].heat_j == 0.0 && slips[5].plate_k == slips[5].peak_plate_k);
    }
}

/* Hours apart and without heat, each slip is as warm as the oil. */
static void slips_at(const double oil_k[], const double torque_n_m[], size_t n)
{
    car = ch_car_none();
    car.mass_kg = 1000.0;
    made->gears = 1;
    made->gear[0] = (ch_driveline_gear){.number = 4, .line_rad_m = 10.0};
    made->slip = slips;
    made->slips = n;
    for (size_t i = 0; i < n; i++) /* 1.04 m a + 0.6 CdA v2 + 0.013 m g over the line and 0.94 */
        slips[i] = (ch_slip){.start_s = 1e5 * (double)i,
                             .end_s = 1e5 * (double)i + 1.0,
                             .gear = 4,
                             .road_speed_m_s = 0.0,
                             .acceleration_m_s2 = (torque_n_m[i] * 9.4 - 0.013 * 1000.0 * 9.80665) / 1040.0,
                             .oil_or_coolant_k = oil_k[i]};
    capacity_judge(&car, made);
}

/* Fade is told from four slips on, of temperatures that scatter by more than 5 K; its uncertainty is that of the scatter about the line, 2 % of torque at least. */
static void fade_is_told_where_temperature_differs_enough(void **state)
{
    (void)state;
    for (int side = -1; side <= 1; side += 2) {
        const double by_k = 5.0 + 0.05 * side, oil_k[] = {360.0 - by_k, 360.0 + by_k, 360.0 - by_k, 360.0 + by_k};
        const double torque_n_m[] = {204.0, 196.0, 204.0, 196.0};
        slips_at(oil_k, torque_n_m, 4);
        if (side < 0) {
            assert_true(isnan(made->fade_1_k) && isnan(made->u_fade_1_k));
            continue;
        }
        expect_relative(made->fade_1_k, log(196.0 / 204.0) / (2.0 * by_k), 1e-6);
        expect_relative(made->u_fade_1_k, 0.02 / (2.0 * by_k), 1e-6); /* on the line: the least */
        slips_at(oil_k, torque_n_m, 3);
        assert_true(isnan(made->fade_1_k) && isnan(made->u_fade_1_k));
    }
    static const double off_1[] = {0.013, 0.0145,
                                   0.04}; /* about the line, as factors; sqrt(4/2) of it is its deviation */
    for (size_t k = 0; k < 3; k++) {
        const double oil_k[] = {350.0, 370.0, 350.0, 370.0};
        const double torque_n_m[] = {200.0 * exp(off_1[k]), 200.0 * exp(off_1[k]), 200.0 * exp(-off_1[k]),
                                     200.0 * exp(-off_1[k])};
        slips_at(oil_k, torque_n_m, 4);
        expect_close(made->fade_1_k, 0.0, 1e-9);
        expect_relative(made->u_fade_1_k, fmax(off_1[k] * sqrt(2.0), 0.02) / 20.0, 1e-6);
    }
    /* a slip that passes nothing is none of the four */
    const double oil_k[] = {340.0, 380.0, 340.0, 380.0, 360.0}, torque_n_m[] = {200.0, 190.0, 200.0, -10.0, 190.0};
    slips_at(oil_k, torque_n_m, 4);
    assert_true(isnan(made->fade_1_k));
    slips_at(oil_k, torque_n_m, 5);
    assert_true(isfinite(made->fade_1_k));
}

/* Of very many slips the first 512 are asked. */
static void the_middle_of_very_many_slips_is_that_of_the_first(void **state)
{
    (void)state;
    enum { MANY = 1100, ASKED = 512 };
    static ch_slip many[MANY];
    static const double oil_k[1] = {360.0}, torque_n_m[1] = {100.0};
    for (int with_none = 0; with_none < 2; with_none++) {
        slips_at(oil_k, torque_n_m, 1);
        for (size_t i = 0; i < MANY; i++) {
            many[i] = slips[0];
            many[i].acceleration_m_s2 +=
                0.01 * (double)((i * 7) % ASKED) + (i >= ASKED + (size_t)with_none ? 90.0 : 0.0);
        }
        if (with_none)
            many[0].acceleration_m_s2 = -9.0; /* passes nothing, and does not count */
        made->slip = many;
        made->slips = MANY;
        capacity_judge(&car, made);
        const double each = 1040.0 * 0.01 / 9.4; /* torque of one step of acceleration */
        expect_relative(made->capacity_n_m[1], 100.0 + each * 255.5, 1e-9);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_of_it_is_as_by_hand),
        cmocka_unit_test(what_is_not_known_is_not_told),
        cmocka_unit_test(the_plate_warms_and_cools_as_one_lump),
        cmocka_unit_test(fade_is_told_where_temperature_differs_enough),
        cmocka_unit_test(the_middle_of_very_many_slips_is_that_of_the_first),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
