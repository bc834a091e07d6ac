/* Promises of physics/valve.c. */
#include "crosshatch/valve.h"

#include "expect.h"

#define PI 3.14159265358979323846
#define DEGREE (PI / 180.0)

/* An intake valve pair whose published events are 5 before top and 48 after bottom dead centre. */
static ch_valve intake(void)
{
    return (ch_valve){.count = 2, .diameter_m = 0.031, .lift_m = 0.0085, .discharge_1 = 0.6};
}

static void the_published_events_stand_at_the_checking_lift(void **state)
{
    (void)state;
    for (double checking_m = 0.05e-3; checking_m < 1.4e-3; checking_m *= 1.7) {
        ch_valve valve = intake();
        const double opens = 355.0 * DEGREE, closes = 588.0 * DEGREE;
        assert_int_equal(ch_valve_set_events(&valve, opens, closes, checking_m, NULL), CH_OK);
        /* asin, sqrt and sin^2 there and back. */
        expect_relative(ch_valve_lift_m(&valve, opens), checking_m, 1e-11);
        expect_relative(ch_valve_lift_m(&valve, closes), checking_m, 1e-11);
        expect_relative(ch_valve_lift_m(&valve, 0.5 * (opens + closes)), 0.0085, 1e-15);
        assert_true(valve.opens_rad < opens && valve.opens_rad + valve.duration_rad > closes);
    }
}

static void without_checking_lift_the_events_are_the_true_ones(void **state)
{
    (void)state;
    ch_valve valve = intake();
    assert_int_equal(ch_valve_set_events(&valve, 355.0 * DEGREE, 588.0 * DEGREE, 0.0, NULL), CH_OK);
    expect_close(valve.opens_rad, 355.0 * DEGREE, 1e-14);
    expect_close(valve.duration_rad, 233.0 * DEGREE, 1e-14);
    /* sin^2 law at a quarter of the duration: half the lift. */
    expect_relative(ch_valve_lift_m(&valve, (355.0 + 58.25) * DEGREE), 0.00425, 1e-13);
    assert_true(ch_valve_lift_m(&valve, 354.0 * DEGREE) == 0.0);
    assert_true(ch_valve_lift_m(&valve, 589.0 * DEGREE) == 0.0);
}

static void the_true_duration_is_the_published_formula(void **state)
{
    (void)state;
    /* By hand: lift 10 mm, checking lift 2.5 mm: asin(1/2) = pi/6, so the true duration is 3/2 of the published one. */
    ch_valve valve = {.count = 1, .diameter_m = 0.035, .lift_m = 0.010, .discharge_1 = 0.6};
    assert_int_equal(ch_valve_set_events(&valve, 1.0, 5.0, 0.0025, NULL), CH_OK);
    expect_close(valve.duration_rad, 6.0, 1e-14);
    expect_close(valve.opens_rad, 0.0, 1e-14);
}

static void lift_repeats_every_cycle(void **state)
{
    (void)state;
    ch_valve valve = intake();
    assert_int_equal(ch_valve_set_events(&valve, 355.0 * DEGREE, 588.0 * DEGREE, 0.1e-3, NULL), CH_OK);
    for (double angle = 0.1; angle < 12.5; angle += 0.31)
        for (int cycle = -3; cycle <= 3; cycle++)
            /* 1 ulp of 40 rad times the steepest lift, 10 mm a rad. */
            expect_close(ch_valve_lift_m(&valve, angle + 4.0 * PI * cycle), ch_valve_lift_m(&valve, angle), 1e-15);
    assert_true(isnan(ch_valve_lift_m(&valve, NAN)));
}

static void the_area_is_the_curtain_until_the_head_limits_it(void **state)
{
    (void)state;
    ch_valve valve = intake();
    assert_int_equal(ch_valve_set_events(&valve, 0.0, 4.0, 0.0, NULL), CH_OK);
    expect_relative(ch_valve_area_m2(&valve, 2.0), 2 * 0.6 * PI * 0.25 * 0.031 * 0.031, 1e-14); /* 8.5 mm > D/4 */
    expect_relative(ch_valve_area_m2(&valve, 1.0), 2 * 0.6 * PI * 0.031 * 0.00425, 1e-13);
    assert_true(ch_valve_area_m2(&valve, 4.5) == 0.0);
}

static void events_that_cannot_be_are_refused(void **state)
{
    (void)state;
    static const double bad[][3] = {
        {1.0, 1.0, 1e-4},   {2.0, 1.0, 1e-4},  {0.0, 4.0 * PI, 0.0}, {0.0, NAN, 0.0},
        {0.0, 4.0, 0.0085}, {0.0, 4.0, -1e-4}, {0.0, 4.0, NAN},      {0.0, 10.0, 4.25e-3}, /* true 20 rad */
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        ch_valve valve = intake();
        valve.opens_rad = 7.5;
        valve.duration_rad = 8.5;
        ch_err err = {0};
        assert_int_equal(ch_valve_set_events(&valve, bad[i][0], bad[i][1], bad[i][2], &err), CH_E_RANGE);
        assert_true(valve.opens_rad == 7.5 && valve.duration_rad == 8.5);
        assert_int_equal(err.status, CH_E_RANGE);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_published_events_stand_at_the_checking_lift),
        cmocka_unit_test(without_checking_lift_the_events_are_the_true_ones),
        cmocka_unit_test(the_true_duration_is_the_published_formula),
        cmocka_unit_test(lift_repeats_every_cycle),
        cmocka_unit_test(the_area_is_the_curtain_until_the_head_limits_it),
        cmocka_unit_test(events_that_cannot_be_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
