/*
 * Promises of driveline/slip.c on signals made by hand: a slip is found with its figures, and each thing that looks like one and is none is told, on either
 * side of the limits that docs/driveline.md states.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "../../src/driveline/parts.h"
#include "expect.h"

enum { ROWS = 800, GEARS = 5 };
static const double EVERY_S = 0.05, LINE_RAD_M[GEARS] = {30.0, 18.5, 13.0, 10.0, 8.2};

/* What happens in a drive of forty seconds: a foot off for the first five, then pulling in one gear, with something from `at_s` on. */
typedef struct drive {
    int gear; /* 1 to 5 */
    double at_s, length_s, peak_1;
    double traction_before, traction_within; /* m/s2: what the wheels give */
    double throttle_within;                  /* 0 = as before */
    double clutch_within;
    double below_s;        /* the engine is below its line for so long ahead of it */
    double driven_ahead_1; /* driven wheels against the road, at the peak; NaN = no such channel */
    double road_drop_1;    /* road speed that a sensor loses */
    bool no_throttle;
    double throttle_least; /* with the foot off; 0 = the usual 0.1 */
    double sharp_1;        /* by how much the row of the peak alone stands above the smoothed ratio */
    double power;          /* of the sine by which it comes and goes; 0 = 2, softly */
} drive;

static const drive ordinary = {.gear = 4,
                               .at_s = 20.0,
                               .length_s = 1.5,
                               .peak_1 = 0.2,
                               .traction_before = 1.2,
                               .traction_within = 1.0,
                               .driven_ahead_1 = NAN};

static double times[ROWS];
static float channel[TRAIL_CHANNELS][ROWS], smooth[ROWS], ratio[ROWS], road[ROWS], engine[ROWS], climb[ROWS],
    drift[ROWS];

static double bump(const drive *d, double time_s)
{
    const double part = (time_s - d->at_s) / d->length_s;
    return part > 0.0 && part < 1.0 ? pow(sin(3.14159265358979323846 * part), d->power > 0.0 ? d->power : 2.0) : 0.0;
}

/* Slips of a drive; 0 and up. The slips themselves in `to`, which the caller clears. */
static size_t slips_of(const drive *d, ch_driveline *to)
{
    double speed = 18.0;
    trail t = {.n = ROWS, .room = ROWS, .time_s = times};
    for (int c = 0; c < TRAIL_CHANNELS; c++) {
        t.channel[c] = channel[c];
        for (int i = 0; i < ROWS; i++)
            channel[c][i] = NAN;
    }
    for (int i = 0; i < ROWS; i++) {
        times[i] = i * EVERY_S;
        const bool pulling = times[i] > 5.0, within = times[i] >= d->at_s && times[i] <= d->at_s + d->length_s;
        const double traction = !pulling ? 0.2 : within ? d->traction_within : d->traction_before;
        climb[i] = (float)(traction - 3.5e-4 * speed * speed - 0.12);
        speed += climb[i] * EVERY_S;
        const double above = bump(d, times[i]);
        const bool below = times[i] < d->at_s && times[i] >= d->at_s - d->below_s;
        road[i] = (float)(speed * (1.0 - d->road_drop_1 * above));
        engine[i] = (float)(LINE_RAD_M[d->gear - 1] * speed *
                            (d->road_drop_1 > 0.0 ? 1.0
                             : below              ? 0.93
                                                  : 1.0 + d->peak_1 * above));
        ratio[i] = smooth[i] = logf(engine[i] / road[i]);
        if (fabs(times[i] - d->at_s - 0.5 * d->length_s) < 0.5 * EVERY_S)
            ratio[i] += (float)log1p(d->sharp_1);
        if (!d->no_throttle)
            channel[TRAIL_THROTTLE][i] = pulling ? within && d->throttle_within > 0.0 ? (float)d->throttle_within : 0.9F
                                         : d->throttle_least > 0.0 ? (float)d->throttle_least
                                                                   : 0.1F;
        channel[TRAIL_CLUTCH][i] = within ? (float)d->clutch_within : 0.0F;
        channel[TRAIL_ENGINE][i] = engine[i];
        channel[TRAIL_ROAD][i] = road[i];
        channel[TRAIL_TEMPERATURE][i] = 363.0F;
        if (!isnan(d->driven_ahead_1))
            channel[TRAIL_DRIVEN][i] = (float)(speed * (1.0 + d->driven_ahead_1 * above));
    }
    for (int i = 0; i < ROWS; i++)
        drift[i] = i >= 5 && i + 5 < ROWS ? smooth[i + 5] - smooth[i - 5] : NAN;
    const signals s = {.n = ROWS,
                       .time_s = times,
                       .interval_s = EVERY_S,
                       .engine_fresh_s = EVERY_S,
                       .road_fresh_s = EVERY_S,
                       .u_lag_s = 0.015,
                       .lag_known = true,
                       .window_s = 0.25,
                       .engine = engine,
                       .road = road,
                       .climb = climb,
                       .ratio = ratio,
                       .drift = drift,
                       .smooth = smooth};
    *to = (ch_driveline){.state = CH_DRIVELINE_GEARS_FOUND, .gears = GEARS, .shortest_slip_s = 0.3};
    for (int g = 0; g < GEARS; g++)
        to->gear[g] = (ch_driveline_gear){.number = g + 1, .line_rad_m = LINE_RAD_M[g], .spread_1 = 0.002};
    assert_int_equal(slips_find(&s, &t, to, NULL), CH_OK);
    return to->slips;
}

static void a_slip_has_the_figures_of_what_happened(void **state)
{
    (void)state;
    const double lengths_s[] = {0.8, 1.5, 3.0};
    for (int k = 0; k < 3; k++) {
        drive d = ordinary;
        d.length_s = lengths_s[k];
        ch_driveline to;
        assert_int_equal(slips_of(&d, &to), 1);
        const ch_slip *one = &to.slip[0];
        assert_int_equal(one->gear, 4);
        assert_int_equal(to.slips_found, 1);
        expect_relative(one->peak_1, 0.2, 0.03); /* two spreads of 0.002 are taken off the highest row */
        /* Where the engine leaves its line so softly that nobody sees it: within a tenth of the length and a row. */
        expect_close(one->start_s, d.at_s, 0.1 * d.length_s + EVERY_S);
        expect_close(one->end_s, d.at_s + d.length_s, 0.1 * d.length_s + EVERY_S);
        expect_relative(one->ahead_rad_s, one->mean_1 * LINE_RAD_M[3] * one->road_speed_m_s,
                        0.1); /* the car gains speed meanwhile */
        const size_t first = (size_t)lround(d.at_s / EVERY_S);
        expect_relative(one->road_speed_m_s, (double)road[first], 0.02);
        expect_relative(one->engine_speed_rad_s, (double)engine[first], 0.06);
        expect_close(one->throttle_1, 0.9, 1e-6);
        expect_close(one->oil_or_coolant_k, 363.0, 1e-6);
        /* Pulled since the fifth second, the run up to the slip counted. */
        expect_close(one->driven_before_s, d.at_s - 5.0, 0.3);
        expect_close(to.loaded_s, 35.0 - d.length_s, 0.1 + 0.25 * d.length_s);
        expect_close(to.loaded_low_s, 0.0, 0.0);
        expect_close(to.gear[3].seconds, 40.0 - d.length_s, 0.1 + 0.25 * d.length_s); /* its ends lie near the line */
        ch_driveline_clear(&to);
    }
}

/*
 * What the engine is ahead by, over the time that the slip is said to last, is the area of what happened, and so is the heat: under a half sine 2/pi of its height, under a sine
 * squared a half. What the ends leave out and straight lines between rows cut off is some hundredths of it.
 */
static void mean_and_ends_together_are_the_area_of_what_happened(void **state)
{
    (void)state;
    static const struct {
        double power, mean_1;
    } shape[] = {{1.0, 0.63661977236758134}, {2.0, 0.5}};
    static const double peaks_1[] = {0.04, 0.12, 0.3}, lengths_s[] = {0.8, 1.6, 3.0};
    for (int p = 0; p < 2; p++)
        for (int k = 0; k < 3; k++)
            for (int l = 0; l < 3; l++) {
                drive d = ordinary;
                d.power = shape[p].power;
                d.peak_1 = peaks_1[k];
                d.length_s = lengths_s[l];
                ch_driveline to;
                assert_int_equal(slips_of(&d, &to), 1);
                const ch_slip *one = &to.slip[0];
                const double area_s = shape[p].mean_1 * d.peak_1 * d.length_s, lasts_s = one->end_s - one->start_s;
                expect_relative(one->mean_1 * lasts_s, area_s, 0.04);
                /* the road's speed in the middle of it, by which the gear's line turns */
                const double road_m_s = (double)road[lround((d.at_s + 0.5 * d.length_s) / EVERY_S)];
                expect_relative(one->ahead_rad_s * lasts_s, area_s * LINE_RAD_M[3] * road_m_s, 0.04);
                ch_driveline_clear(&to);
            }
}

/* What comes of a drive, beside slips: the only other thing that was noted, or CH_NOT_SLIP_KINDS. */
static ch_not_slip other_of(const drive *d)
{
    ch_driveline to;
    ch_not_slip found = CH_NOT_SLIP_KINDS;
    if (slips_of(d, &to) != 0)
        fail_msg("a slip in gear %d: %g s, %g ahead, traction %g and %g", d->gear, d->length_s, d->peak_1,
                 d->traction_before, d->traction_within);
    for (int k = 0; k < CH_NOT_SLIP_KINDS; k++)
        if (to.not_slips[k] > 0) {
            assert_true(found == CH_NOT_SLIP_KINDS && to.not_slips[k] == 1);
            found = (ch_not_slip)k;
        }
    ch_driveline_clear(&to);
    return found;
}

static bool slips(const drive *d)
{
    ch_driveline to;
    const size_t n = slips_of(d, &to);
    ch_driveline_clear(&to);
    return n == 1;
}

/* A clutch that slips goes on passing torque: the car pulls with 0.4 of what it did, and with 0.3 m/s2. */
static void a_car_that_no_longer_pulls_is_the_drivers_foot(void **state)
{
    (void)state;
    drive d = ordinary;
    d.traction_before = 2.0;
    d.traction_within = 0.9;
    assert_true(slips(&d));
    d.traction_within = 0.55; /* the rows in which it sets in count as before, which so is less than 2 */
    assert_int_equal(other_of(&d), CH_NOT_SLIP_CLUTCH);
    d.traction_before = 0.6;
    d.traction_within = 0.345;
    assert_true(slips(&d));
    d.traction_within = 0.26;
    assert_int_equal(other_of(&d), CH_NOT_SLIP_CLUTCH);
    d.traction_before = 0.34;
    d.traction_within = 0.33;
    assert_true(slips(&d));
    d.traction_before = 0.2; /* it was hardly pulling before */
    d.traction_within = 0.33;
    assert_int_equal(other_of(&d), CH_NOT_SLIP_CLUTCH);
}

static void with_the_foot_off_or_the_pedal_down_nothing_slips(void **state)
{
    (void)state;
    drive d = ordinary;
    d.throttle_within = 0.2; /* of 0.1 to 0.9: below four tenths of the way */
    assert_int_equal(other_of(&d), CH_NOT_SLIP_CLUTCH);
    d.throttle_within = 0.5;
    assert_true(slips(&d));
    d = ordinary;
    d.clutch_within = 0.8;
    d.traction_within = 0.0; /* pressed, it passes no torque */
    assert_int_equal(other_of(&d), CH_NOT_SLIP_CLUTCH);
    d.traction_within = 1.0; /* or some: a driver who lets it slip */
    assert_int_equal(other_of(&d), CH_NOT_SLIP_CLUTCH);
    /* without a throttle the pull itself tells */
    d = ordinary;
    d.no_throttle = true;
    ch_driveline to;
    assert_int_equal(slips_of(&d, &to), 1);
    assert_true((to.limits & CH_LIMIT_NO_THROTTLE) != 0);
    ch_driveline_clear(&to);
}

/* A tenth of throttle between foot off and foot on is enough to tell the two by. */
static void a_throttle_that_hardly_moves_is_none(void **state)
{
    (void)state;
    const double least[] = {0.79, 0.82};
    for (int k = 0; k < 2; k++) {
        drive d = ordinary;
        d.throttle_least = least[k];
        ch_driveline to;
        assert_int_equal(slips_of(&d, &to), 1);
        assert_int_equal((to.limits & CH_LIMIT_NO_THROTTLE) != 0, k);
        ch_driveline_clear(&to);
    }
}

/* Smoothing cuts a sharp peak off: the highest row counts, less two standard deviations of its noise. */
static void a_sharp_peak_counts_as_high_as_it_was(void **state)
{
    (void)state;
    drive d = ordinary;
    d.sharp_1 = 0.1;
    ch_driveline to;
    assert_int_equal(slips_of(&d, &to), 1);
    expect_relative(1.0 + to.slip[0].peak_1, 1.2 * 1.1 * exp(-2.0 * 0.002), 1e-3);
    ch_driveline_clear(&to);
}

static void what_is_too_short_or_too_small_is_told_as_brief(void **state)
{
    (void)state;
    drive d = ordinary;
    d.length_s = 0.3; /* ahead for less than that */
    assert_int_equal(other_of(&d), CH_NOT_SLIP_BRIEF);
    d.length_s = 0.8;
    assert_true(slips(&d));
    d = ordinary;
    d.peak_1 = 0.045;
    assert_true(slips(&d));
    d.peak_1 = 0.027; /* below the least peak: not worth a word either */
    assert_int_equal(other_of(&d), CH_NOT_SLIP_KINDS);
}

static void a_sensor_that_loses_road_speed_is_told(void **state)
{
    (void)state;
    drive d = ordinary;
    d.road_drop_1 = 0.2;
    assert_int_equal(other_of(&d), CH_NOT_SLIP_SENSOR);
}

static void wheels_that_spin_are_told_from_a_clutch(void **state)
{
    (void)state;
    drive d = ordinary;
    d.driven_ahead_1 = 0.15; /* most of the engine's 0.2 */
    assert_int_equal(other_of(&d), CH_NOT_SLIP_WHEELSPIN);
    d.driven_ahead_1 = 0.05;
    assert_true(slips(&d));
    d.driven_ahead_1 = 0.0;
    assert_true(slips(&d));
    d.gear = 2; /* whatever the gear, where the wheels are logged */
    assert_true(slips(&d));
    d.driven_ahead_1 = 0.15;
    assert_int_equal(other_of(&d), CH_NOT_SLIP_WHEELSPIN);
    d = ordinary;
    d.gear = 5;
    assert_true(slips(&d));
}

/* A low gear has the torque to spin the wheels; where no higher one was pulled, nothing tells the two apart, and that is said. */
static void what_may_be_the_wheels_or_the_clutch_is_left_open(void **state)
{
    (void)state;
    for (int gear = 1; gear <= 3; gear++) {
        drive d = ordinary;
        ch_driveline to;
        d.gear = gear;
        assert_int_equal(slips_of(&d, &to), gear < 3 ? 0 : 1);
        assert_int_equal((to.limits & CH_LIMIT_LOW_GEARS) != 0, gear < 3);
        assert_int_equal(to.not_slips[CH_NOT_SLIP_WHEELSPIN], 0);
        ch_driveline_clear(&to);
    }
}

/* What begins more than a window and a half after the engine left its line did not begin on it. */
static void a_slip_begins_on_a_line(void **state)
{
    (void)state;
    drive d = ordinary;
    d.below_s = 0.15; /* and some 0.15 s until it is ahead */
    assert_true(slips(&d));
    d.below_s = 0.2; /* 0.40 s: more than 0.375 */
    assert_int_equal(other_of(&d), CH_NOT_SLIP_KINDS);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_slip_has_the_figures_of_what_happened),
        cmocka_unit_test(mean_and_ends_together_are_the_area_of_what_happened),
        cmocka_unit_test(a_car_that_no_longer_pulls_is_the_drivers_foot),
        cmocka_unit_test(with_the_foot_off_or_the_pedal_down_nothing_slips),
        cmocka_unit_test(a_throttle_that_hardly_moves_is_none),
        cmocka_unit_test(a_sharp_peak_counts_as_high_as_it_was),
        cmocka_unit_test(what_is_too_short_or_too_small_is_told_as_brief),
        cmocka_unit_test(a_sensor_that_loses_road_speed_is_told),
        cmocka_unit_test(wheels_that_spin_are_told_from_a_clutch),
        cmocka_unit_test(what_may_be_the_wheels_or_the_clutch_is_left_open),
        cmocka_unit_test(a_slip_begins_on_a_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
