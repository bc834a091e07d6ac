/*
 * Promises of driveline/slip_event.c on runs written row by row: what is a slip and what the foot, the wheels or a sensor, every rule of docs/driveline.md, "Slip", from either side of
 * its limit.
 */
#include "../../src/driveline/slip_parts.h"
#include "slip_series.h"

/* Three percent, or four standard deviations of the scatter; smaller ones are not worth a word below three. */
static void a_slip_is_as_high_as_it_must_be(void **state)
{
    (void)state;
    static const struct {
        double spread_1, peak_1;
        size_t rows;
        bool slips, told;
    } one[] = {{0.002, 0.0296, 19, false, false}, {0.002, 0.0304, 19, true, false}, {0.0095, 0.0372, 19, false, true},
               {0.0095, 0.0388, 19, true, false}, {0.002, 0.0298, 3, false, false}, {0.002, 0.0302, 3, false, true}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++) {
        series_begin(ROWS, FOURTH);
        run.to.gear[FOURTH].spread_1 = one[k].spread_1;
        series_ahead(FROM, 1, one[k].rows - 1, 1, log1p(one[k].peak_1));
        if (one[k].slips)
            expect_relative(only_slip().peak_1, one[k].peak_1, 1e-4);
        else
            assert_int_equal(other(), one[k].told ? CH_NOT_SLIP_BRIEF : CH_NOT_SLIP_KINDS);
    }
}

/* Eight rows are half a second. */
static void a_slip_is_as_long_as_the_log_can_tell(void **state)
{
    (void)state;
    for (size_t rows = 7; rows <= 8; rows++) {
        series_begin(ROWS, FOURTH);
        series_ahead(FROM, 1, rows - 1, 1, 0.1);
        run.to.shortest_slip_s = 0.5;
        expect_slip_or(rows == 8, CH_NOT_SLIP_BRIEF);
    }
}

/* While the switch says pressed for more than a fifth of it, the driver lets it slip: four rows of twenty do not, five of twenty-four do. */
static void a_fifth_of_it_with_the_pedal_down_is_the_foot(void **state)
{
    (void)state;
    for (size_t rows = 4; rows <= 5; rows++)
        for (int at_end = 0; at_end < 2; at_end++) {
            const size_t all = rows == 4 ? 20 : 24;
            series_begin(ROWS, FOURTH);
            series_ahead(FROM, 1, all - 1, 1, 0.1);
            for (size_t i = 0; i < rows; i++)
                run.row[at_end ? FROM + all - i : FROM + 1 + i].clutch = 0.31;
            run.row[FROM + 10].clutch = 0.3; /* which is not pressed yet */
            expect_slip_or(rows == 4, CH_NOT_SLIP_CLUTCH);
        }
}

/* Road speed that falls by half of what the engine is ahead, from a quarter of a second before it to its peak. */
static void road_speed_that_drops_by_itself_is_the_sensor(void **state)
{
    (void)state;
    static const double drop[] = {0.099, 0.101};
    for (size_t k = 0; k < 2; k++)
        for (int edge = 0; edge < 2; edge++) {
            begin();
            series_switch();
            for (size_t i = 0; i < ROWS; i++)
                run.row[i].road_m_s = i == PEAK ? 20.0 * exp(-drop[k]) : 20.0;
            run.row[edge == 0 ? FIRST - 5 : FIRST - 3].road_m_s = 30.0; /* four rows before it counts */
            expect_slip_or(k == 0, CH_NOT_SLIP_SENSOR);
        }
}

/* From 0.41 of the throttle's way on the engine pulls; in six tenths of 0.3 s before it, and at its beginning. */
static void the_throttle_is_open_before_it(void **state)
{
    (void)state;
    static const double throttle[] = {0.415, 0.425}; /* of 0.1 to 0.9 */
    for (size_t k = 0; k < 2; k++) {
        begin();
        set_throttle(FIRST - 8, LAST, throttle[k]);
        expect_slip_or(k == 1, CH_NOT_SLIP_CLUTCH);
    }
    for (size_t off = 2; off <= 3; off++) /* of the six rows of 0.3 s */
        for (int edge = 0; edge < 2; edge++) {
            begin();
            set_throttle(FIRST - 5, FIRST - 6 + off, 0.1);
            if (edge == 1) {
                set_throttle(FIRST - 5, FIRST - 4, 0.9);
                set_throttle(FIRST - off, FIRST - 1, 0.1);
            }
            expect_slip_or(off == 2, CH_NOT_SLIP_CLUTCH);
        }
    /* one row further back, or one within the slip, is another matter */
    begin();
    set_throttle(FIRST - 16, FIRST - 6, 0.1);
    set_throttle(FIRST - 5, FIRST - 4, 0.1);
    assert_true(slipped());
    /* rows 5/64 s apart: of five, three are enough */
    for (size_t off = 2; off <= 3; off++) {
        begin();
        for (size_t i = 0; i < ROWS; i++)
            run.row[i].time_s = 0.078125 * (double)i;
        run.interval_s = 0.078125;
        set_throttle(FIRST - 4, FIRST - 5 + off, 0.1);
        assert_int_equal(slipped(), off == 2);
    }
}

/* In 0.85 of the rows until a quarter of a second before the peak; in 0.4 of all. */
static void the_throttle_stays_open_through_it(void **state)
{
    (void)state;
    for (size_t off = 3; off <= 4; off++) { /* of twenty rows, the peak four later */
        series_begin(ROWS, FOURTH);
        series_ahead(FROM, 25, 0, 10, 0.24); /* ahead from the second row on */
        set_throttle(FROM + 8, FROM + 7 + off, 0.1);
        expect_slip_or(off == 3, CH_NOT_SLIP_CLUTCH);
    }
    for (size_t at = 5; at <= 6; at++) { /* five rows; the last of them, and the first behind it */
        series_begin(ROWS, FOURTH);
        series_ahead(FROM, 9, 0, 10, 0.2);
        set_throttle(FROM + at, FROM + at, 0.1);
        expect_slip_or(at == 6, CH_NOT_SLIP_CLUTCH);
    }
    for (size_t on = 7; on <= 8; on++) { /* of twenty; the peak is in the fifth */
        series_begin(ROWS, FOURTH);
        series_ahead(FROM, 5, 0, 16, 0.2);
        run.to.gear[FOURTH].spread_1 = 0.0;
        run.row[FROM + 20].ahead = 0.0125;
        set_throttle(FROM + 1 + on, FROM + 20, 0.1);
        expect_slip_or(on == 8, CH_NOT_SLIP_CLUTCH);
    }
}

/* What the wheels give: more than 0.3 m/s2 in the 0.7 s before, as much within, and 0.4 of what they gave. */
static void the_wheels_go_on_pulling(void **state)
{
    (void)state;
    static const double before[] = {0.293, 0.307};
    for (size_t k = 0; k < 2; k++) { /* twelve rows and the first */
        begin();
        set_traction(FIRST - 12, FIRST, before[k]);
        lean(FIRST - 12, FIRST - 11, 2.0);
        lean(FIRST, FIRST - 10, 2.0);
        expect_slip_or(k == 1, CH_NOT_SLIP_CLUTCH);
    }
    static const struct {
        double before, within;
        bool slips;
    } one[] = {{2.0, 0.755, false}, {2.0, 0.769, true}, {0.5, 0.295, false}, {0.5, 0.305, true}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++) {
        /* w > 0.4 (12*2.0 + w)/13: from 0.762 on */
        begin();
        set_traction(17, FIRST - 1, one[k].before);
        set_traction(FIRST, LAST, one[k].within);
        lean(LAST, LAST - 1, 3.0);
        expect_slip_or(one[k].slips, CH_NOT_SLIP_CLUTCH);
    }
}

/* Road speed such that what the wheels give by the speeds at two rows is this: at 20 m/s but for a leap at the last. */
static void set_ends(size_t first, size_t last, double traction_m_s2)
{
    const double seconds = run.row[last].time_s - run.row[first].time_s;
    double leap = 0.0;
    for (int round = 0; round < 5; round++) {
        const double resists = 0.12 + 3.5e-4 * (400.0 * (double)(last - first) + (20.0 + leap) * (20.0 + leap)) /
                                          (double)(last - first + 1);
        leap = (traction_m_s2 - resists) * seconds;
    }
    for (size_t i = 0; i < run.n; i++)
        run.row[i].road_m_s = 20.0;
    run.row[last].road_m_s = 20.0 + leap;
}

/* Of a speed in steps 0.1 m/s at either end is unknown. */
static double u_ends(size_t first, size_t last)
{
    return 1.414 * 0.1 / (run.row[last].time_s - run.row[first].time_s);
}

/* Speeds at beginning and peak say that the car pulled on, though acceleration at the rows does not; at the ends where the peak comes within 0.15 s. */
static void the_speeds_at_its_ends_say_so_as_well(void **state)
{
    (void)state;
    static const struct {
        size_t up, end;
        double before, least;
    } one[] = {{10, PEAK, 1.2, 0.4 * (12.0 * 1.2 - 1.0) / 13.0},
               {10, PEAK, 0.5, 0.3},
               {4, FROM + 4, 0.5, 0.3}, /* three rows: 0.19 s */
               {3, FROM + 12, 0.5, 0.3}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++)
        for (int side = -1; side <= 1; side += 2) {
            series_begin(ROWS, FOURTH);
            series_ahead(FROM, one[k].up, 0, 10, 0.2);
            series_switch();
            set_traction(17, FROM, one[k].before);
            set_traction(FIRST, FROM + one[k].up + 10, -1.0);
            set_ends(FIRST, one[k].end, one[k].least + u_ends(FIRST, one[k].end) + 0.005 * side);
            expect_slip_or(side > 0, CH_NOT_SLIP_CLUTCH);
        }
}

/* Without a switch: what is back on its line gave 0.4 of what the wheels gave from 1 s to 0.35 s before it, by the speeds at its ends and their doubt. */
static void a_flare_does_not_pull_the_car(void **state)
{
    (void)state;
    for (int pedal = 0; pedal < 2; pedal++)
        for (int side = -1; side <= 1; side += 2) {
            begin();
            if (pedal)
                series_switch();
            set_ends(FIRST, PEAK, 0.4 * 1.2 - u_ends(FIRST, PEAK) + 0.005 * side);
            lean(FIRST - 16, FIRST - 15, 2.0);
            lean(FIRST - 6, FIRST - 7, 2.0);
            run.row[FIRST - 17].traction_m_s2 = 3.0;
            run.row[FIRST - 5].traction_m_s2 = 3.0;
            expect_slip_or(pedal || side > 0, CH_NOT_SLIP_CLUTCH);
        }
}

/* What is shorter than 0.8 s and ends in another gear has to show 0.55 of the pull, beyond its doubt. */
static void what_ends_in_another_gear_shows_that_the_car_was_pulled(void **state)
{
    (void)state;
    for (size_t rows = 12; rows <= 13; rows++) /* 0.75 s, 0.81 s */
        for (int side = -1; side <= 1; side += 2) {
            begin_change(FIRST + rows);
            set_ends(FIRST, PEAK, 0.55 * 1.2 + u_ends(FIRST, PEAK) + 0.005 * side);
            const bool shows = side > 0 || rows == 13;
            if (shows)
                expect_close(only_slip().end_s, run.row[FIRST + rows].time_s, 1e-12);
            else
                assert_int_equal(other(), CH_NOT_SLIP_CLUTCH);
        }
}

/* Nor does one that rises as fast as a free engine: 0.6 of the torque turns it up itself. Where it rises within a row nobody knows. */
static void an_engine_that_turns_itself_up_has_no_clutch(void **state)
{
    (void)state;
    for (int side = -1; side <= 1; side += 2) {
        begin_change(FIRST + 12);
        set_ends(FIRST, PEAK, 1.2);
        const double seconds = (PEAK - FIRST) * SERIES_EVERY_S, beginning = 20.0 * 10.0 * exp(0.02),
                     rises = (0.6 + 0.005 * side) * 1.2 * seconds / (2e-4 * 10.0);
        for (size_t i = PEAK; i < ROWS; i++)
            run.row[i].engine_1 = (beginning + rises) / (run.row[PEAK].road_m_s * 10.0 * exp(0.2));
        for (size_t i = PEAK + 1; i < ROWS; i++) /* no leap back, which would be an engine that falls */
            run.row[i].road_m_s = run.row[PEAK].road_m_s;
        expect_slip_or(side < 0, CH_NOT_SLIP_CLUTCH);
    }
}

/* Where all of them end in another gear within 0.8 s they are changes without lifting. */
static void one_longer_than_a_flare_is_wanted(void **state)
{
    (void)state;
    for (size_t rows = 11; rows <= 12; rows++) { /* 0.75 s, 0.81 s from its line on */
        begin_change(FIRST + rows);
        series_switch();
        expect_slip_or(rows == 12, CH_NOT_SLIP_CLUTCH);
    }
}

/* At least 0.4 s, a row of 0.05 s at most included, or as long as the log can tell. */
static void what_ends_in_another_gear_is_no_moment(void **state)
{
    (void)state;
    static const double shortest_s[] = {0.2, 0.5};
    for (int k = 0; k < 2; k++)
        for (int side = -1; side <= 1; side += 2) {
            const double least_s = k == 0 ? 0.4 : 0.5;
            series_begin(ROWS, FOURTH);
            series_ahead(FROM, 2, 14, 1, 0.2);
            series_switch();
            run.to.shortest_slip_s = shortest_s[k];
            set_throttle(FROM + 8, ROWS - 1, 0.1);
            set_line(FROM + 9, ROWS - 1, FIFTH, 0.0);
            for (size_t i = FROM + 8; i < ROWS; i++)
                run.row[i].time_s += run.row[FIRST].time_s + least_s - 0.05 + 0.003 * side - run.row[FROM + 8].time_s;
            ch_driveline to = series_judged();
            assert_int_equal(to.slips, 0);
            assert_int_equal(to.not_slips[CH_NOT_SLIP_CLUTCH], side > 0); /* alone, it is no more than a change */
            ch_driveline_clear(&to);
        }
}

/* Where driven wheels are logged, they ran ahead by half of what the engine did, beyond what they did 0.3 s before it; against the satellites where those are known. */
static void driven_wheels_tell(void **state)
{
    (void)state;
    for (int satellites = 0; satellites < 2; satellites++)
        for (int gear = 1; gear < SERIES_GEARS; gear++)
            for (int side = -1; side <= 1; side += 2) {
                series_begin(ROWS, gear);
                series_ahead(FROM, 10, 0, 10, 0.2);
                series_switch();
                for (size_t i = 0; i < ROWS; i++) {
                    run.row[i].road_m_s = 20.0;
                    run.row[i].gps_m_s = satellites ? 25.0 : NAN;
                    run.row[i].driven_m_s = satellites ? 25.0 : 20.0;
                }
                run.row[FIRST - 5].driven_m_s *= exp(0.04);
                run.row[PEAK].driven_m_s *= exp(0.04 + 0.1 + 0.001 * side);
                if (side < 0)
                    assert_int_equal(only_slip().gear, gear + 1);
                else
                    assert_int_equal(other(), CH_NOT_SLIP_WHEELSPIN);
            }
}

/* Elsewhere only third gear, or the next above second where there is none, has the torque: above 4.2 m/s2, at the rows of the event. */
static void the_lowest_gear_above_second_may_spin_them(void **state)
{
    (void)state;
    for (int third = 0; third < 2; third++)
        for (int gear = 2; gear < SERIES_GEARS; gear++)
            for (int side = -1; side <= 1; side += 2) {
                if (!third && gear == 2)
                    continue;
                series_begin(ROWS, gear);
                series_ahead(FROM, 10, 0, 10, 0.2);
                series_switch();
                if (!third)
                    run.to.gear[2] = (ch_driveline_gear){.number = 2, .line_rad_m = 14.0, .spread_1 = 0.002};
                for (size_t i = 0; i < ROWS; i++)
                    run.row[i].road_m_s = 20.0;
                set_traction(FIRST, LAST, 4.2 + 0.26 + 0.02 * side); /* 0.12 and 3.5e-4*400 are drag */
                lean(FIRST, FIRST + 1, 2.0);
                lean(LAST, LAST - 1, 2.0);
                if (side > 0 && gear == (third ? 2 : 3))
                    assert_int_equal(other(), CH_NOT_SLIP_WHEELSPIN);
                else
                    assert_true(slipped());
            }
}

/* Third gear out of a corner: pulled in less than 0.4 of the rows from 3.5 s to 1.3 s before it, or with less than 0.6 m/s2 where no throttle tells. */
static void third_gear_out_of_a_corner_may_be_the_wheels(void **state)
{
    (void)state;
    static const double level[] = {0.59, 0.61};
    for (size_t on = 14; on <= 15; on++) /* of the 36 rows, one of which is at either end for fourteen off */
        for (int gear = 2; gear <= FOURTH; gear++) {
            series_begin(ROWS, gear);
            series_ahead(FROM, 10, 0, 10, 0.2);
            set_throttle(FIRST - 56, FIRST - 21, 0.1);
            set_throttle(FIRST - 40, FIRST - 41 + on, 0.9);
            expect_slip_or(gear == FOURTH || on == 15, CH_NOT_SLIP_WHEELSPIN);
        }
    for (int edge = 0; edge < 2; edge++) {
        series_begin(ROWS, 2);
        series_ahead(FROM, 10, 0, 10, 0.2);
        for (size_t i = 0; i < ROWS; i++)
            run.row[i].throttle = NAN;
        set_traction(FIRST - 56, FIRST - 21, level[edge]);
        lean(FIRST - 56, FIRST - 55, 1.0);
        lean(FIRST - 21, FIRST - 22, 1.0);
        run.row[FIRST - 57].traction_m_s2 = run.row[FIRST - 20].traction_m_s2 = edge == 0 ? 4.0 : -4.0;
        expect_slip_or(edge == 1, CH_NOT_SLIP_WHEELSPIN);
    }
    for (size_t first = 20; first <= 21; first++) { /* 1.25 s and 1.31 s after the log begins */
        series_begin(ROWS, 2);
        set_throttle(0, 15, 0.9);
        set_traction(0, 15, 1.2);
        set_throttle(200, ROWS - 1, 0.1);
        series_ahead(first - 1, 10, 0, 10, 0.2);
        expect_slip_or(first == 21, CH_NOT_SLIP_WHEELSPIN);
    }
}

/* The range of the throttle lies between its 2 % and its 98 % point, a tenth apart, of twenty rows at least. */
static void the_throttles_range_is_told_by_enough_of_it(void **state)
{
    (void)state;
    static const struct {
        size_t low, high; /* rows of two hundred at either end, the others unknown or as the one that has more */
        double least, most;
        bool known;
    } one[] = {{4, 196, 0.1, 0.9, true},     {3, 197, 0.1, 0.9, false},     {195, 5, 0.1, 0.9, true},
               {196, 4, 0.1, 0.9, false},    {10, 10, 0.1, 0.9, true},      {10, 9, 0.1, 0.9, false},
               {100, 100, 0.3, 0.405, true}, {100, 100, 0.3, 0.395, false}, {100, 100, 0.0, 1.0, true},
               {100, 100, 0.9, 1.02, false}, {100, 100, -0.011, 0.1, false}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++) {
        series_begin(200, FOURTH);
        for (size_t i = 0; i < 200; i++)
            run.row[i].throttle = i < one[k].low ? one[k].least : i < one[k].low + one[k].high ? one[k].most : NAN;
        ch_driveline to = series_judged();
        assert_int_equal((to.limits & CH_LIMIT_NO_THROTTLE) == 0, one[k].known);
        ch_driveline_clear(&to);
    }
}

/* Where neither the range nor the row's throttle is known, 0.5 m/s2 at the wheels are pulling. */
static void an_engine_pulls_by_its_throttle_or_by_the_wheels(void **state)
{
    (void)state;
    static slip_view view;
    series_begin(4, FOURTH);
    run.row[0].traction_m_s2 = run.row[2].traction_m_s2 = 0.51;
    run.row[1].traction_m_s2 = run.row[3].traction_m_s2 = 0.49;
    run.row[0].throttle = 0.51;
    run.row[1].throttle = 0.53;
    run.row[2].throttle = run.row[3].throttle = NAN;
    series_arrays a;
    series_lay_out(&a, 0, 0.0);
    const signals s = series_signals(&a);
    const trail t = series_trail(&a);
    view = (slip_view){.s = &s, .t = &t, .throttle_low = 0.2, .throttle_span = 0.8};
    assert_false(slip_pulls(&view, 0)); /* 0.39 of its way */
    assert_true(slip_pulls(&view, 1));
    assert_true(slip_pulls(&view, 2));
    assert_false(slip_pulls(&view, 3));
    view.throttle_low = view.throttle_span = NAN;
    assert_true(slip_pulls(&view, 0));
    assert_false(slip_pulls(&view, 1));
    view = (slip_view){.s = &s, .t = &t, .throttle_low = 0.3, .throttle_span = 0.5};
    a.channel[TRAIL_THROTTLE][0] = 0.5F; /* 0.4 of it, exactly */
    assert_false(slip_pulls(&view, 0));
    series_free(&a);
}

/* Road speed's own noise: the median of second differences over the interval between news, times road speed, over sqrt(6) and 0.6745 (normal); seen by how much the ends must show. */
static void the_doubt_of_the_ends_is_road_speeds_noise(void **state)
{
    (void)state;
    static const struct {
        double apart, drift, road_m_s, road_fresh_s, step_m_s, noise_m_s;
    } one[] = {{0.002, 0.0, 20.0, 0.0625, 0.0, 0.0},    {0.002, 0.049, 20.0, 0.0625, 0.0, 0.0},
               {0.002, -0.051, 20.0, 0.0625, 0.0, 0.1}, {0.004, 0.0, 20.0, 0.0625, 0.0, 0.0},
               {0.0002, 0.0, 20.0, 0.0625, 0.0, 0.02},  {0.004, 0.0, 20.0, 0.125, 0.0, 0.02},
               {0.004, 0.0, 20.0, 0.0625, 0.28, 0.1},   {0.008, 0.0, 9.0, 0.0625, 0.0, 0.0},
               {0.008, 0.0, 7.9, 0.0625, 0.0, 0.1},     {0.004, 0.0, 20.0, 0.0, 0.0, 0.0},
               {0.002, 0.05, 20.0, 0.0625, 0.0, 0.1},   {0.008, 0.0, 8.0, 0.0625, 0.0, 0.1}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++)
        for (int side = -1; side <= 1; side += 2) {
            begin();
            const double noise =
                one[k].noise_m_s > 0.0 ? one[k].noise_m_s : 4.0 * one[k].apart * one[k].road_m_s / 2.449 / 0.6745;
            const double from = one[k].road_m_s, seconds = (PEAK - FIRST) * SERIES_EVERY_S,
                         wanted = 0.4 * 1.2 - 1.414 * noise / seconds + 0.01 * side;
            run.road_fresh_s = one[k].road_fresh_s;
            run.step_m_s = one[k].step_m_s;
            set_ends(FIRST, PEAK, wanted);
            const double resists = 0.12 + 3.5e-4 * from * from; /* but for the last of ten rows */
            for (size_t i = 0; i < ROWS; i++) {
                run.row[i].road_m_s = from;
                run.row[i].sharp = i % 2 == 0 ? one[k].apart : -one[k].apart;
                run.row[i].drift = i < FROM - 20 || i > BACK + 20 ? one[k].drift : NAN;
            }
            run.row[PEAK].road_m_s = from + (wanted - resists) * seconds;
            run.to.gear[FOURTH].spread_1 = 0.0;
            expect_slip_or(side > 0, CH_NOT_SLIP_CLUTCH);
        }
}

/* Of two gears that are both low the first has the torque to spin its wheels at any rate: nothing tells, however hard it pulls. */
static void a_box_of_two_gears_has_no_middle_one(void **state)
{
    (void)state;
    series_begin(ROWS, 0);
    series_ahead(FROM, 10, 0, 10, 0.2);
    set_traction(FIRST - 10, LAST + 1, 6.0);
    run.to.gears = 2;
    ch_driveline to = series_judged();
    assert_int_equal(to.slips, 0);
    assert_int_equal(to.not_slips[CH_NOT_SLIP_WHEELSPIN], 0);
    assert_int_equal(to.limits, CH_LIMIT_LOW_GEARS);
    ch_driveline_clear(&to);
}

/* Third gear out of a corner where the log begins less than 3.5 s before: fourteen rows of thirty-five are 0.4 of them, which is enough. */
static void four_tenths_of_pulling_are_no_corner(void **state)
{
    (void)state;
    for (size_t on = 13; on <= 14; on++) {
        series_begin(ROWS, 2);
        series_ahead(54, 10, 0, 10, 0.2); /* ahead from row 55 on: 1.3 s before it is row 34 */
        set_throttle(0, 34, 0.1);
        set_throttle(10, 9 + on, 0.9);
        expect_slip_or(on == 14, CH_NOT_SLIP_WHEELSPIN);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_slip_is_as_high_as_it_must_be),
        cmocka_unit_test(a_slip_is_as_long_as_the_log_can_tell),
        cmocka_unit_test(a_fifth_of_it_with_the_pedal_down_is_the_foot),
        cmocka_unit_test(road_speed_that_drops_by_itself_is_the_sensor),
        cmocka_unit_test(the_throttle_is_open_before_it),
        cmocka_unit_test(the_throttle_stays_open_through_it),
        cmocka_unit_test(the_wheels_go_on_pulling),
        cmocka_unit_test(the_speeds_at_its_ends_say_so_as_well),
        cmocka_unit_test(a_flare_does_not_pull_the_car),
        cmocka_unit_test(what_ends_in_another_gear_shows_that_the_car_was_pulled),
        cmocka_unit_test(an_engine_that_turns_itself_up_has_no_clutch),
        cmocka_unit_test(one_longer_than_a_flare_is_wanted),
        cmocka_unit_test(what_ends_in_another_gear_is_no_moment),
        cmocka_unit_test(driven_wheels_tell),
        cmocka_unit_test(the_lowest_gear_above_second_may_spin_them),
        cmocka_unit_test(third_gear_out_of_a_corner_may_be_the_wheels),
        cmocka_unit_test(the_throttles_range_is_told_by_enough_of_it),
        cmocka_unit_test(an_engine_pulls_by_its_throttle_or_by_the_wheels),
        cmocka_unit_test(the_doubt_of_the_ends_is_road_speeds_noise),
        cmocka_unit_test(a_box_of_two_gears_has_no_middle_one),
        cmocka_unit_test(four_tenths_of_pulling_are_no_corner),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
