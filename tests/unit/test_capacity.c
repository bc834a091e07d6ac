/* Promises of driveline/capacity.c: the capacity that all slips together give, and how it goes with the plate's temperature, from slips made up so that the
 * answer is known. */
#include <stdlib.h>

#include "../../src/driveline/parts.h"
#include "expect.h"

enum { SLIPS = 10 };

static ch_driveline *made;
static ch_slip slips[SLIPS];
static ch_car car;

static int begin(void **state)
{
    (void)state;
    made = calloc(1, sizeof *made);
    car = ch_car_none();
    car.mass_kg = 1050.0;
    car.drag_area_m2 = 0.6;
    car.clutch = (ch_clutch_disc){0.215, 0.145, 2.0, 5e3, 0.35};
    return made != NULL ? 0 : -1;
}

static int end(void **state)
{
    (void)state;
    free(made);
    return 0;
}

/* Slips a minute apart in third gear, four seconds each. */
static void make_slips(size_t n)
{
    made->gears = 1;
    made->gear[0].number = 3;
    made->gear[0].line_rad_m = 18.0;
    made->slip = slips;
    made->slips = n;
    for (size_t i = 0; i < n; i++)
        made->slip[i] = (ch_slip){.start_s = 60.0 * (double)i,
                                  .end_s = 60.0 * (double)i + 4.0 + (double)i,
                                  .gear = 3,
                                  .ahead_rad_s = 60.0,
                                  .road_speed_m_s = 25.0,
                                  .acceleration_m_s2 = 2.0,
                                  .oil_or_coolant_k = 360.0};
}

/* Give slip i the acceleration at which it passes this torque: it is linear in it. */
static void set_torque(size_t i, double torque_n_m)
{
    double at[2];
    for (int k = 0; k < 2; k++) {
        made->slip[i].acceleration_m_s2 = 2.0 + k;
        capacity_judge(&car, made);
        at[k] = made->slip[i].torque_n_m;
    }
    made->slip[i].acceleration_m_s2 = 2.0 + (torque_n_m - at[0]) / (at[1] - at[0]);
}

static void capacity_that_fades_with_heat_gives_its_slope(void **state)
{
    (void)state;
    const double slope_1_k = -1.5e-3;
    make_slips(SLIPS);
    for (size_t i = 0; i < SLIPS; i++) {
        capacity_judge(&car, made); /* what is known of the plate before slip i hangs on the slips before it alone */
        set_torque(i, 200.0 * exp(slope_1_k * (made->slip[i].plate_k - 400.0)));
    }
    capacity_judge(&car, made);
    double least_k = INFINITY, most_k = -INFINITY;
    for (size_t i = 0; i < SLIPS; i++) {
        least_k = fmin(least_k, made->slip[i].plate_k);
        most_k = fmax(most_k, made->slip[i].plate_k);
    }
    assert_true(most_k - least_k > 50.0);             /* else there is nothing to see a slope by */
    expect_relative(made->fade_1_k, slope_1_k, 1e-9); /* the points lie on the line */
    /* its uncertainty has a floor: torques are not known to better than two in a hundred */
    assert_true(made->u_fade_1_k > 0.0 && made->u_fade_1_k < fabs(slope_1_k));
}

static void few_slips_or_one_temperature_tell_nothing_of_fading(void **state)
{
    (void)state;
    make_slips(3);
    capacity_judge(&car, made);
    assert_true(isnan(made->fade_1_k) && isnan(made->u_fade_1_k));
    make_slips(SLIPS);
    for (size_t i = 0; i < SLIPS; i++)
        made->slip[i].ahead_rad_s = 0.01; /* no heat */
    capacity_judge(&car, made);
    assert_true(isnan(made->fade_1_k) && isnan(made->u_fade_1_k));
}

static void the_middle_slip_is_the_capacity_and_the_band_lies_around_it(void **state)
{
    (void)state;
    static const double torque_n_m[] = {180.0, 240.0, 200.0, 220.0, 210.0};
    make_slips(5);
    for (size_t i = 0; i < 5; i++)
        set_torque(i, torque_n_m[i]);
    capacity_judge(&car, made);
    expect_relative(made->capacity_n_m[1], 210.0, 1e-9);
    expect_relative(made->capacity_n_m[0] * made->capacity_n_m[2], 210.0 * 210.0,
                    1e-9); /* alike on both sides of it, as factors */
    assert_true(made->capacity_n_m[0] > 170.0 && made->capacity_n_m[0] < 205.0);
    make_slips(4);
    for (size_t i = 0; i < 4; i++)
        set_torque(i, torque_n_m[i]);
    capacity_judge(&car, made);
    expect_relative(made->capacity_n_m[1], 210.0, 1e-9); /* between 200 and 220 */
    /* alike slips leave the doubt about the car itself, which does not average out */
    make_slips(5);
    for (size_t i = 0; i < 5; i++)
        set_torque(i, 210.0);
    capacity_judge(&car, made);
    const double alone = made->slip[0].u_torque_n_m / 210.0;
    expect_relative(log(made->capacity_n_m[2] / 210.0), 1.645 * alone, 1e-6); /* 90 % of a normal */
}

/*
 * By the balance of energy, in which slip speed does not occur: of what the engine gives, its own inertia keeps some and the gearbox takes the clutch's torque at its own speed; the rest is heat. Torques
 * are steady, so both speeds rise evenly, from one and the same.
 */
static void heat_is_what_neither_engine_nor_gearbox_has(void **state)
{
    (void)state;
    const double holds_n_m = 170.0, engine_n_m = 182.0, inertia_kg_m2 = 0.2, begin_rad_s = 320.0, line_rad_m = 18.0;
    make_slips(1);
    set_torque(0, holds_n_m);
    ch_slip *slip = &made->slip[0];
    const double seconds = slip->end_s - slip->start_s;
    const double engine_rad_s2 = (engine_n_m - holds_n_m) / inertia_kg_m2,
                 gearbox_rad_s2 = line_rad_m * slip->acceleration_m_s2;
    const double engine_rad = begin_rad_s * seconds + 0.5 * engine_rad_s2 * seconds * seconds,
                 gearbox_rad = begin_rad_s * seconds + 0.5 * gearbox_rad_s2 * seconds * seconds;
    const double end_rad_s = begin_rad_s + engine_rad_s2 * seconds;
    const double kept_j = 0.5 * inertia_kg_m2 * (end_rad_s * end_rad_s - begin_rad_s * begin_rad_s);
    slip->ahead_rad_s = 0.5 * (engine_rad_s2 - gearbox_rad_s2) * seconds;
    capacity_judge(&car, made);
    assert_true(slip->heat_j > 10e3);
    expect_relative(slip->heat_j, engine_n_m * engine_rad - kept_j - holds_n_m * gearbox_rad, 1e-9);
}

static void a_stated_drag_area_leaves_less_doubt_than_an_assumed_one(void **state)
{
    (void)state;
    make_slips(1);
    made->slip[0].road_speed_m_s = 45.0;
    capacity_judge(&car, made);
    const double stated = made->slip[0].u_torque_n_m, torque_n_m = made->slip[0].torque_n_m;
    car.drag_area_m2 = NAN;
    capacity_judge(&car, made);
    assert_true(made->slip[0].u_torque_n_m > stated);
    assert_true(made->slip[0].torque_n_m > torque_n_m); /* 0.65 m2 is taken for the 0.6 stated */
}

static void what_the_car_states_of_its_clutch_is_the_design(void **state)
{
    (void)state;
    make_slips(2);
    capacity_judge(&car, made);
    /* uniform wear: N F (ro + ri)/2 mu (Shigley, Mechanical Engineering Design, 8th ed., 16-5); the other is larger */
    expect_relative(made->design_n_m[0], 0.35 * 5e3 * 2.0 * (0.215 + 0.145) / 4.0, 1e-12);
    assert_true(made->design_n_m[1] > made->design_n_m[0]);
    car.clutch.friction_1 = NAN;
    capacity_judge(&car, made);
    assert_true(isnan(made->design_n_m[0]) && isnan(made->design_n_m[1]));
    car.mass_kg = NAN;
    capacity_judge(&car, made);
    assert_true(isnan(made->capacity_n_m[0]) && isnan(made->capacity_n_m[1]) && isnan(made->capacity_n_m[2]));
    capacity_judge(NULL, made);
    assert_true(isnan(made->capacity_n_m[1]) && isnan(made->design_n_m[1]));
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROMISE(capacity_that_fades_with_heat_gives_its_slope),
        PROMISE(few_slips_or_one_temperature_tell_nothing_of_fading),
        PROMISE(the_middle_slip_is_the_capacity_and_the_band_lies_around_it),
        PROMISE(heat_is_what_neither_engine_nor_gearbox_has),
        PROMISE(a_stated_drag_area_leaves_less_doubt_than_an_assumed_one),
        PROMISE(what_the_car_states_of_its_clutch_is_the_design),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
