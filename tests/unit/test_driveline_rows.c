/*
 * Promises of driveline/driveline.c on rows written by hand: which rows there are at all, which channel is which, and what of the whole run limits the answer, from either side.
 */
#include "crosshatch/driveline.h"

#include <stdlib.h>
#include <string.h>

#include "drive_knowledge.h"
#include "drive_rounds.h"
#include "expect.h"

enum { CHANNELS = 10, ROWS = 3 * ROUND };
enum { TIME, ENGINE, ROAD, THROTTLE, ACCELERATION, COOLANT, OIL, CLUTCH, GPS, DRIVEN };

static double column[CHANNELS][ROWS];
static uint64_t line[ROWS];
static ch_driveline_run *run;
static ch_driveline d;
static const ch_drive_point *point;
static size_t points;

static int begin(void **state)
{
    (void)state;
    for (int c = 0; c < CHANNELS; c++)
        for (int i = 0; i < ROWS; i++)
            column[c][i] = NAN;
    for (int i = 0; i < ROWS; i++) {
        column[TIME][i] = EVERY_S * i;
        moment(EVERY_S * (i % ROUND), &column[ENGINE][i], &column[ROAD][i], &column[THROTTLE][i]);
        line[i] = (uint64_t)i + 2;
    }
    return 0;
}

static int end(void **state)
{
    (void)state;
    ch_driveline_close(run);
    run = NULL;
    ch_driveline_clear(&d);
    const ch_driveline none = {0};
    assert_int_equal(d.rows + d.slips + d.gears, 0);
    assert_true(d.slip == none.slip && d.cause_1[0] == 0.0);
    return 0;
}

static void take(size_t first, size_t n, uint32_t segment)
{
    const ch_drivelog_rows rows = {.n = n,
                                   .first = first,
                                   .segment = segment,
                                   .time_s = column[TIME] + first,
                                   .engine_speed_rad_s = column[ENGINE] + first,
                                   .road_speed_m_s = column[ROAD] + first,
                                   .throttle_1 = column[THROTTLE] + first,
                                   .acceleration_m_s2 = column[ACCELERATION] + first,
                                   .coolant_k = column[COOLANT] + first,
                                   .oil_k = column[OIL] + first,
                                   .clutch_1 = column[CLUTCH] + first,
                                   .gps_speed_m_s = column[GPS] + first,
                                   .driven_speed_m_s = column[DRIVEN] + first,
                                   .line = line + first};
    assert_int_equal(ch_driveline_take(&rows, run, NULL), CH_OK);
}

static void finish(void)
{
    assert_int_equal(ch_driveline_finish(run, &clutch, NULL, 0, &d, NULL), CH_OK);
    point = ch_driveline_picture(run, &points);
}

/* The first rows of what is written, in batches of this many. */
static void judge(const ch_car *car, size_t n, size_t batch)
{
    end(NULL);
    assert_int_equal(ch_driveline_open(car, &run, NULL), CH_OK);
    for (size_t first = 0; first < n; first += batch)
        take(first, first + batch < n ? batch : n - first, 0);
    finish();
    assert_int_equal(d.rows, n);
}

static void a_run_of_no_rows_knows_nothing(void **state)
{
    (void)state;
    judge(NULL, 0, 1);
    assert_int_equal(d.state, CH_DRIVELINE_TOO_LITTLE);
    assert_true(isnan(d.car_factor_1) && isnan(d.on_lines_1) && isnan(d.capacity_n_m[1]) && isnan(d.fade_1_k));
    assert_int_equal(d.limits, CH_LIMIT_NO_MASS);
    assert_int_equal(d.gears + d.slips + d.slips_found + points, 0);
    assert_int_equal(d.patterns_known, 0);
    expect_close(d.loaded_s + d.loaded_low_s + d.shortest_slip_s, 0.0, 0.0);
    ch_driveline_close(NULL);
}

/* Ten thinned rows are a chapter, nine are not; each is a point as it was logged. */
static void ten_rows_are_enough_to_be_shown(void **state)
{
    (void)state;
    for (size_t n = 9; n <= 11; n++) {
        judge(NULL, n, 4);
        assert_int_equal(points, n < 10 ? 0 : n);
        for (size_t i = 0; i < points; i++) {
            expect_close((double)point[i].time_s, column[TIME][i], 1e-6);
            expect_relative((double)point[i].engine_speed_rad_s, column[ENGINE][i], 1e-6);
        }
        assert_int_equal(d.state, CH_DRIVELINE_TOO_LITTLE);
        assert_false(d.limits & CH_LIMIT_NO_THROTTLE); /* of no gears nothing is said of load */
    }
}

/* Rows less than 35 ms apart are one, over the end of a batch as well; not over that of a segment. */
static void rows_close_together_are_one_within_a_segment(void **state)
{
    (void)state;
    for (int cut = 0; cut < 2; cut++) {
        end(NULL);
        for (size_t i = 0; i < 60; i++)
            column[TIME][i] = 0.01 * (double)i;
        assert_int_equal(ch_driveline_open(NULL, &run, NULL), CH_OK);
        /* bins of four rows: the thirtieth row is the second of the eighth bin */
        take(0, 30, 5);
        take(30, 30, 5 + (uint32_t)cut);
        finish();
        assert_int_equal(points, cut ? 16 : 15);
        for (size_t i = 0; i < 7; i++)
            expect_close((double)point[i].time_s, 0.04 * (double)i + 0.015, 1e-6);
        if (cut) {
            expect_close((double)point[7].time_s, 0.285, 1e-6);
            expect_close((double)point[8].time_s, 0.315, 1e-6);
            expect_close((double)point[15].time_s, 0.585, 1e-6); /* two rows are left */
        } else
            expect_close((double)point[14].time_s, 0.575, 1e-6);
    }
}

static size_t slips_of(size_t n)
{
    judge(NULL, n, 1000);
    return d.slips;
}

/* Three rounds have a slip each, in fourth gear; what else is logged says what it was, and how warm the oil, else the coolant, was. */
static void each_channel_is_what_it_is(void **state)
{
    (void)state;
    assert_int_equal(slips_of(ROWS), 3);
    for (size_t k = 0; k < 3; k++) {
        expect_close(d.slip[k].throttle_1, 0.9, 1e-6);
        assert_true(isnan(d.slip[k].oil_or_coolant_k));
    }
    for (int i = 0; i < ROWS; i++) {
        column[COOLANT][i] = 350.0 + i / ROUND;
        column[OIL][i] = i < 2 * ROUND ? 370.0 + i / ROUND : NAN;
        column[ACCELERATION][i] = 5.0;
    }
    assert_int_equal(slips_of(ROWS), 3);
    expect_close(d.slip[0].oil_or_coolant_k, 370.0, 1e-4);
    expect_close(d.slip[1].oil_or_coolant_k, 371.0, 1e-4);
    expect_close(d.slip[2].oil_or_coolant_k, 352.0, 1e-4);
    for (int i = 0; i < ROWS; i++) { /* driven wheels: the first slip is theirs */
        const double ahead_1 = column[ENGINE][i] / column[ROAD][i] / 10.0;
        const bool slipping = fabs(column[TIME][i] - 18.75) < 0.75;
        column[DRIVEN][i] = column[ROAD][i] * (slipping ? ahead_1 : 1.0);
    }
    assert_int_equal(slips_of(ROWS), 2);
    assert_int_equal(d.not_slips[CH_NOT_SLIP_WHEELSPIN], 1);
    for (int i = 0; i < ROWS; i++) { /* against the satellites they never ran ahead; elsewhere they did */
        const bool second = fabs(column[TIME][i] - 80.0 - 18.75) < 0.75;
        column[GPS][i] = second ? column[DRIVEN][i] / (column[ENGINE][i] / column[ROAD][i] / 10.0) : column[DRIVEN][i];
    }
    assert_int_equal(slips_of(ROWS), 2);
    assert_int_equal(d.not_slips[CH_NOT_SLIP_WHEELSPIN], 1);
    expect_close(d.slip[0].start_s, 18.0, 0.3); /* the second was the wheels', and the first the clutch's */
    for (int i = 0; i < ROWS; i++) {
        column[DRIVEN][i] = column[GPS][i] = NAN;
        column[CLUTCH][i] = fabs(column[TIME][i] - 160.0 - 18.75) < 0.75;
    }
    assert_int_equal(slips_of(ROWS), 2);
    assert_int_equal(d.not_slips[CH_NOT_SLIP_CLUTCH], 1);
    expect_close(d.slip[1].start_s, 80.0 + 18.0, 0.3);
    for (int i = 0; i < ROWS; i++) /* one that says pressed all the time is not looked at */
        column[CLUTCH][i] = 1.0;
    assert_int_equal(slips_of(ROWS), 3);
}

/* Engine speed and road speed held for so many rows. */
static void hold(int channel, int rows)
{
    for (int i = 0; i < ROWS; i++)
        column[channel][i] = column[channel][i - i % rows];
}

/* News of the slower signal bounds what can be told: 1.8 of it, and 2.5 where it is above 0.3 s, which is said; 0.2 s at least. */
static void slow_signals_are_told(void **state)
{
    (void)state;
    static const struct {
        int engine, road;
        bool stale;
    } one[] = {{1, 1, false}, {3, 1, false}, {1, 4, false}, {5, 1, false},
               {1, 7, true},  {7, 1, true},  {8, 3, true},  {3, 8, true}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++) {
        begin(NULL);
        hold(ENGINE, one[k].engine);
        hold(ROAD, one[k].road);
        judge(NULL, ROWS, 512);
        expect_close(d.engine_fresh_s, EVERY_S * one[k].engine, 0.03); /* places of 25 ms */
        expect_close(d.road_fresh_s, EVERY_S * one[k].road, 0.03);
        const double slow_s = fmax(d.engine_fresh_s, d.road_fresh_s);
        assert_true(one[k].stale ? slow_s > 0.3 && slow_s < 0.45 : slow_s < 0.3);
        assert_int_equal((d.limits & CH_LIMIT_STALE) != 0, one[k].stale);
        expect_close(d.shortest_slip_s, fmax(0.2, slow_s * (one[k].stale ? 2.5 : 1.8)), 1e-12);
        assert_false(d.limits & CH_LIMIT_STEPS);
        expect_close(d.road_step_m_s, 0.0, 0.0);
        assert_true(d.u_lag_s > 0.0 && d.u_lag_s < 0.1);
        assert_false(d.limits & CH_LIMIT_LAG);
    }
}

/* Speed in whole km/h is told, with its step; without an engine's speed no lag is known. */
static void steps_and_an_unknown_lag_are_told(void **state)
{
    (void)state;
    for (int i = 0; i < ROWS; i++)
        column[ROAD][i] = rint(column[ROAD][i] * 3.6) / 3.6;
    judge(NULL, ROWS, 512);
    assert_true(d.limits & CH_LIMIT_STEPS);
    assert_false(d.limits & CH_LIMIT_LAG);
    expect_close(d.road_step_m_s, 1 / 3.6, 1e-12);
    for (int i = 0; i < ROWS; i++)
        column[ENGINE][i] = NAN;
    judge(NULL, ROWS, 512);
    assert_true(d.limits & CH_LIMIT_LAG);
    expect_close(d.lag_s, 0.0, 0.0);
    begin(NULL);
    judge(NULL, ROWS - 10, 512);
    const double lag_s = d.lag_s;
    memmove(column[ENGINE], column[ENGINE] + 10, (ROWS - 10) * sizeof column[ENGINE][0]); /* half a second */
    judge(NULL, ROWS - 10, 512);
    expect_close(d.lag_s, lag_s + 0.5, 0.03);
}

/* Less than ten seconds of pulling in third gear and up would not show a weak clutch; of no gears nothing is said. */
static void little_pulling_is_told(void **state)
{
    (void)state;
    size_t little = 0, enough = 0;
    for (int rows = 188; rows < 218; rows += 5) {
        begin(NULL);
        for (int i = 0; i < ROWS; i++)
            column[THROTTLE][i] = i >= 20 && i < 20 + rows ? 0.9 : 0.1; /* in third, before the first change */
        judge(NULL, ROWS, 512);
        assert_int_equal(d.state, CH_DRIVELINE_GEARS_FOUND);
        expect_close(d.loaded_s + d.loaded_low_s, EVERY_S * rows, 0.3);
        assert_int_equal((d.limits & CH_LIMIT_LITTLE_LOAD) != 0, d.loaded_s < 10.0);
        little += d.loaded_s < 10.0 && d.loaded_s > 9.0;
        enough += d.loaded_s >= 10.0 && d.loaded_s < 11.0;
    }
    assert_true(little > 1 && enough > 1);
    begin(NULL);
    for (int i = 0; i < ROWS; i++)
        column[ENGINE][i] = NAN;
    judge(NULL, ROWS, 512);
    assert_int_equal(d.state, CH_DRIVELINE_TOO_LITTLE);
    assert_false(d.limits & CH_LIMIT_LITTLE_LOAD);
}

/* Torque, heat and capacity want the car's mass. */
static void without_a_mass_there_is_no_torque(void **state)
{
    (void)state;
    ch_car car = ch_car_none();
    judge(&car, ROWS, 512);
    assert_true((d.limits & CH_LIMIT_NO_MASS) && isnan(d.slip[0].torque_n_m) && isnan(d.capacity_n_m[1]));
    car.mass_kg = 1000.0;
    judge(&car, ROWS, 512);
    assert_false(d.limits & CH_LIMIT_NO_MASS);
    assert_true(d.slip[0].torque_n_m > 50.0 && d.capacity_n_m[1] > 50.0);
    judge(NULL, ROWS, 512);
    assert_true(d.limits & CH_LIMIT_NO_MASS);
}

/* Half the width of an interval of 90 %, over the line: 1.645 standard uncertainties; where a gear's is more than 0.5 % it is said. */
static void a_gear_known_badly_is_told(void **state)
{
    (void)state;
    const ch_driveline_gear gear = {.line_rad_m = 12.5, .u_line_rad_m = 0.05};
    expect_relative(ch_driveline_gear_known_1(&gear), 1.645 * 0.05 / 12.5, 1e-12);
    size_t well = 0, badly = 0;
    for (int k = 0; k < 12; k++) {
        begin(NULL);
        for (int i = 0; i < ROWS; i++) /* a speed that wanders, and half a minute of it */
            column[ROAD][i] *= 1.0 + 0.006 * sin(0.7 * EVERY_S * i);
        judge(NULL, 400 + 25 * (size_t)k, 512);
        double worst = 0.0;
        for (size_t g = 0; g < d.gears; g++)
            worst = fmax(worst, ch_driveline_gear_known_1(&d.gear[g]));
        assert_int_equal((d.limits & CH_LIMIT_WIDE_GEARS) != 0, worst > 0.005);
        well += worst > 0.004 && worst <= 0.005;
        badly += worst > 0.005 && worst < 0.00625;
    }
    assert_true(well > 0 && badly > 0);
}

/* A slip that holds for two seconds looks like the line of another gear; it is none, and what was found with it is not counted twice. */
static void a_slip_that_holds_is_no_gear(void **state)
{
    (void)state;
    for (int i = 0; i < ROWS; i++) {
        const double in_round_s = EVERY_S * (i % ROUND), part = fmin(in_round_s - 5.0, 7.0 - in_round_s) / 0.3;
        if (part > 0.0)
            column[ENGINE][i] = 13.0 * column[ROAD][i] * (1.0 + 0.18 * fmin(part, 1.0));
    }
    judge(NULL, ROWS, 512);
    assert_int_equal(d.gears, 3);
    assert_int_equal(d.slips, 6);
    assert_int_equal(d.slips_found, 6);
    for (size_t k = 0; k < 6; k++) {
        expect_close(d.slip[k].start_s, 80.0 * (double)(k / 2) + (k % 2 == 0 ? 5.0 : 18.0), 0.3);
        expect_close(d.slip[k].peak_1, k % 2 == 0 ? 0.18 : 0.15, 0.01);
        assert_int_equal(d.slip[k].gear, d.gear[k % 2].number);
    }
    expect_close(d.gear[0].seconds, 3 * 10.0, 3.0);
    expect_close(d.gear[1].seconds, 3 * 14.5, 3.0);
    expect_close(d.gear[2].seconds, 3 * 51.5, 6.0);
    expect_close(d.loaded_s + d.loaded_low_s, 3 * 34.0, 5.0);
    for (int k = 0; k < CH_NOT_SLIP_KINDS; k++)
        assert_int_equal(d.not_slips[k], 0);
}

/* Fourth gear at this line, and no slip in it. */
static void write_fourth(double line_rad_m)
{
    begin(NULL);
    for (int i = 0; i < ROWS; i++) {
        const double in_round_s = EVERY_S * (i % ROUND);
        if (in_round_s > 12.3 && in_round_s < 28.0)
            column[ENGINE][i] = line_rad_m * column[ROAD][i];
    }
}

/* One of two lines that lie close together may be the other gear, slipping by a steady share: the log alone cannot tell, and says so. */
static void gears_that_lie_too_close_may_be_slip(void **state)
{
    (void)state;
    for (int near = 0; near < 2; near++) {
        write_fourth(8.2 * (near ? 1.13 : 1.15));
        judge(NULL, ROWS, 512);
        assert_int_equal(d.state, CH_DRIVELINE_GEARS_FOUND);
        assert_int_equal(d.gears, 3);
        assert_int_equal(d.slips, 0);
        assert_int_equal((d.limits & CH_LIMIT_NEAR_GEARS) != 0, near);
        assert_int_equal((d.patterns_known & 1U << CH_PATTERN_SLIPS) != 0, !near);
    }
    /* Stated ratios tell: 205/50R16 rolls so that fourth is near fifth, and both are gears. */
    ch_car car = ch_car_none();
    assert_int_equal(ch_tyre_parse("205/50R16", 9, &car.tyre, NULL), CH_OK);
    car.final_drive_1 = 4.0;
    car.gears = 3;
    const double line_at_1 =
        ch_car_line_rad_m(&(ch_car){.tyre = car.tyre, .final_drive_1 = 4.0, .gears = 1, .gear_1 = {1.0}}, 1);
    const double lines[] = {13.0, 8.2 * 1.13, 8.2};
    for (size_t g = 0; g < 3; g++)
        car.gear_1[g] = lines[g] / line_at_1;
    judge(&car, ROWS, 512);
    assert_int_equal(d.gears, 3);
    assert_int_equal(d.limits & (CH_LIMIT_NEAR_GEARS | CH_LIMIT_NUMBERS), 0);
    assert_true(d.patterns_known & 1U << CH_PATTERN_SLIPS);
}

/* After the change up into fifth the engine stays ahead of the gear until the throttle closes: by a steady share, by more and more, or, clutch coming home, by less. */
static void a_clutch_that_never_comes_home_after_a_change_slips(void **state)
{
    (void)state;
    static const struct {
        double from_1, to_1;
        size_t slips; /* a round */
    } stays[] = {{0.12, 0.12, 1}, {0.08, 0.18, 1}, {0.13, 0.17, 1}, {0.16, 0.16, 0}, {0.17, 0.06, 0}};
    for (size_t k = 0; k < sizeof stays / sizeof stays[0]; k++) {
        write_fourth(10.0);
        for (int i = 0; i < ROWS; i++) {
            const double in_round_s = EVERY_S * (i % ROUND), part_1 = (in_round_s - 28.3) / 9.7;
            if (part_1 > 0.0 && part_1 < 1.0)
                column[ENGINE][i] *= 1.0 + stays[k].from_1 + (stays[k].to_1 - stays[k].from_1) * part_1;
        }
        judge(NULL, ROWS, 512);
        if (d.slips != 3 * stays[k].slips)
            fail_msg("%g to %g ahead: %zu slips", stays[k].from_1, stays[k].to_1, d.slips);
        for (size_t j = 0; j < d.slips; j++) {
            assert_int_equal(d.slip[j].gear, d.gear[2].number);
            expect_close(d.slip[j].start_s, 80.0 * (double)j + 28.3, 0.8);
            expect_close(d.slip[j].end_s, 80.0 * (double)j + 38.0, 0.2);
            expect_close(d.slip[j].peak_1, stays[k].to_1, 0.01);
        }
    }
}

/* What was seen since is weighed with what the run showed; all else stays as it was. */
static void weighing_anew_changes_the_causes_alone(void **state)
{
    (void)state;
    judge(NULL, ROWS, 512);
    const ch_driveline_seen seen = {.sign = 0, .present = true};
    ch_driveline again = d, both = {0};
    ch_driveline_weigh(&clutch, &seen, 1, &again);
    assert_memory_not_equal(again.cause_1, d.cause_1, sizeof d.cause_1);
    ch_driveline_close(run);
    assert_int_equal(ch_driveline_open(NULL, &run, NULL), CH_OK);
    take(0, ROWS, 0);
    assert_int_equal(ch_driveline_finish(run, &clutch, &seen, 1, &both, NULL), CH_OK);
    assert_memory_equal(again.cause_1, both.cause_1, sizeof both.cause_1);
    assert_int_equal(again.next_checks, both.next_checks);
    for (size_t k = 0; k < both.next_checks; k++)
        expect_close(again.next_check[k].bits_1, both.next_check[k].bits_1, 0.0);
    ch_driveline_clear(&both);
}

/* By hand, in sixteenths: 12 of worn, 1 of not the clutch, 3 of sound. */
static void a_run_gives_the_chance_that_the_clutch_slips_or_none(void **state)
{
    (void)state;
    ch_driveline told = {.state = CH_DRIVELINE_GEARS_FOUND, .slips_found = 3, .limits = CH_LIMIT_LITTLE_LOAD};
    told.cause_1[CH_CLUTCH_WORN] = 0.75;
    told.cause_1[CH_CLUTCH_NOT_THE_CLUTCH] = 0.0625;
    told.cause_1[CH_CLUTCH_SOUND] = 0.1875;
    expect_close(ch_driveline_slips_1(&told), 0.9375, 0);
    told.slips_found = 0; /* none found, and hardly pulled: nothing is told */
    assert_true(isnan(ch_driveline_slips_1(&told)));
    static const unsigned untold[] = {CH_LIMIT_LOW_GEARS, CH_LIMIT_NEAR_GEARS, CH_LIMIT_PULLED_ALONE,
                                      CH_LIMIT_PERHAPS_STEPLESS};
    for (size_t i = 0; i < sizeof untold / sizeof untold[0]; i++) {
        told.limits = untold[i];
        assert_true(isnan(ch_driveline_slips_1(&told)));
    }
    told.limits = CH_LIMIT_NO_MASS;
    expect_close(ch_driveline_slips_1(&told), 0.75, 0);
    told.state = CH_DRIVELINE_NO_FIXED_GEARS;
    assert_true(isnan(ch_driveline_slips_1(&told)));
    told = (ch_driveline){.state = CH_DRIVELINE_GEARS_FOUND, .slips_found = 3}; /* no causes weighed */
    assert_true(isnan(ch_driveline_slips_1(&told)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_run_of_no_rows_knows_nothing, begin, end),
        cmocka_unit_test_setup_teardown(ten_rows_are_enough_to_be_shown, begin, end),
        cmocka_unit_test_setup_teardown(rows_close_together_are_one_within_a_segment, begin, end),
        cmocka_unit_test_setup_teardown(each_channel_is_what_it_is, begin, end),
        cmocka_unit_test_setup_teardown(slow_signals_are_told, begin, end),
        cmocka_unit_test_setup_teardown(steps_and_an_unknown_lag_are_told, begin, end),
        cmocka_unit_test_setup_teardown(little_pulling_is_told, begin, end),
        cmocka_unit_test_setup_teardown(without_a_mass_there_is_no_torque, begin, end),
        cmocka_unit_test_setup_teardown(a_gear_known_badly_is_told, begin, end),
        cmocka_unit_test_setup_teardown(a_slip_that_holds_is_no_gear, begin, end),
        cmocka_unit_test_setup_teardown(gears_that_lie_too_close_may_be_slip, begin, end),
        cmocka_unit_test_setup_teardown(a_clutch_that_never_comes_home_after_a_change_slips, begin, end),
        cmocka_unit_test_setup_teardown(weighing_anew_changes_the_causes_alone, begin, end),
        cmocka_unit_test(a_run_gives_the_chance_that_the_clutch_slips_or_none),
    };
    return cmocka_run_group_tests(tests, open_knowledge, close_knowledge);
}
