/*
 * Promises of driveline/slip.c and slip_event.c on runs written row by row (drive_series.h): the figures of a slip worked out again from the rows, its ends where straight lines meet, and every rule of
 * docs/driveline.md, "Slip", from either side of its limit.
 */
#include "drive_series.h"

#include "../../src/driveline/slip_parts.h"
#include "crosshatch/sampling.h"

enum { FOURTH = 3, FIFTH = 4 };

/* Fourth gear for twenty seconds; from row 160 on ten rows up to 0.2 ahead, ten down. Ahead by more than the tolerance of 0.012 + 2.5*0.002: rows 161 to 179. */
enum { ROWS = 320, FROM = 160, FIRST = 161, PEAK = 170, LAST = 179, BACK = 180 };

static void begin(void)
{
    series_begin(ROWS, FOURTH);
    series_ahead(FROM, 10, 0, 10, 0.2);
}

static bool slipped(void)
{
    ch_driveline to = series_judged();
    const size_t n = to.slips;
    ch_driveline_clear(&to);
    assert_true(n <= 1);
    return n == 1;
}

static ch_slip only_slip(void)
{
    ch_driveline to = series_judged();
    assert_int_equal(to.slips, 1);
    assert_int_equal(to.slips_found, 1);
    for (int k = 0; k < CH_NOT_SLIP_KINDS; k++)
        assert_int_equal(to.not_slips[k], 0);
    const ch_slip slip = to.slip[0];
    ch_driveline_clear(&to);
    return slip;
}

/* The one thing beside slips that was noted, or CH_NOT_SLIP_KINDS. */
static ch_not_slip other(void)
{
    ch_driveline to = series_judged();
    ch_not_slip found = CH_NOT_SLIP_KINDS;
    assert_int_equal(to.slips, 0);
    assert_int_equal(to.slips_found, 0);
    for (int k = 0; k < CH_NOT_SLIP_KINDS; k++)
        if (to.not_slips[k] > 0) {
            assert_true(found == CH_NOT_SLIP_KINDS && to.not_slips[k] == 1);
            found = (ch_not_slip)k;
        }
    ch_driveline_clear(&to);
    return found;
}

/* A slip, or what it was told to be instead. */
static void expect_slip_or(bool slips, ch_not_slip instead)
{
    if (slips)
        assert_true(slipped());
    else
        assert_int_equal(other(), instead);
}

static void set_traction(size_t from, size_t to, double m_s2)
{
    for (size_t i = from; i <= to; i++)
        run.row[i].traction_m_s2 = m_s2;
}

static void set_throttle(size_t from, size_t to, double throttle)
{
    for (size_t i = from; i <= to; i++)
        run.row[i].throttle = throttle;
}

static void set_line(size_t from, size_t to, int gear, double ahead)
{
    for (size_t i = from; i <= to; i++) {
        run.row[i].gear = gear;
        run.row[i].ahead = ahead;
    }
}

static double seconds_in(int gear)
{
    ch_driveline to = series_judged();
    const double seconds = to.gear[gear].seconds;
    ch_driveline_clear(&to);
    return seconds;
}

/* Every row another value, so that a figure of the wrong row or of one row more is another figure. */
static void every_figure_is_that_of_its_rows(void **state)
{
    (void)state;
    begin();
    for (size_t i = 17; i < ROWS; i++) {
        run.row[i].traction_m_s2 = 1.3 + 0.3 * sin(1.7 * (double)i);
        run.row[i].throttle = 0.9 + 0.05 * sin(2.3 * (double)i);
        run.row[i].kelvin = 360.0 + 5.0 * sin(1.1 * (double)i);
        run.row[i].engine_1 = 1.0 + 0.002 * sin(0.9 * (double)i);
    }
    run.to.road_offset_m_s = 0.25;
    series_arrays a;
    series_lay_out(&a, 0, 0.0);
    double mean = 0.0, ahead_rad_s = 0.0, pull = 0.0, before_s = 0.0;
    /* from the line to the line in twenty steps, straight between the rows */
    for (size_t i = FROM; i < BACK; i++)
        for (size_t end = i; end <= i + 1; end++) {
            mean += 0.5 * expm1(run.row[end].ahead) / (BACK - FROM);
            ahead_rad_s += 0.5 * a.engine[end] * (1.0 - exp(-run.row[end].ahead)) / (BACK - FROM);
        }
    for (size_t i = FIRST - 7; i <= LAST; i++) /* 0.4 s before: seven rows */
        pull += (double)a.climb[i] / (LAST - FIRST + 8);
    for (size_t i = 0; i <= FROM; i++)
        before_s += i >= 16 && a.climb[i] > 0.0F ? SERIES_EVERY_S : 0.0;
    const ch_slip slip = only_slip();
    assert_int_equal(slip.gear, 4);
    expect_relative(slip.peak_1, expm1(0.2), 1e-6); /* floats */
    expect_relative(slip.mean_1, mean, 1e-5);
    expect_relative(slip.ahead_rad_s, ahead_rad_s, 1e-5);
    expect_relative(slip.road_speed_m_s, a.road[FIRST] + 0.25, 1e-12);
    expect_relative(slip.engine_speed_rad_s, a.engine[FIRST], 1e-12);
    expect_relative(slip.throttle_1, a.channel[TRAIL_THROTTLE][FIRST], 1e-12);
    expect_relative(slip.oil_or_coolant_k, a.channel[TRAIL_TEMPERATURE][FIRST], 1e-12);
    expect_relative(slip.acceleration_m_s2, pull, 1e-12);
    expect_relative(slip.driven_before_s, before_s, 1e-12);
    assert_true(isnan(slip.torque_n_m) && isnan(slip.u_torque_n_m) && isnan(slip.heat_j) && isnan(slip.plate_k) &&
                isnan(slip.peak_plate_k));
    series_free(&a);
}

/* A ramp meets its line where it was drawn from and to; road speed that comes first has the right time, the engine's otherwise. */
static void ends_are_where_the_ramps_meet_the_line(void **state)
{
    (void)state;
    static const struct {
        size_t up, hold, down;
        double most;
    } shape[] = {{10, 0, 10, 0.2}, {4, 12, 4, 0.1}, {16, 3, 5, 0.25}, {3, 30, 12, 0.06}};
    static const double lag_s[] = {0.0, 0.5, -0.5};
    for (size_t k = 0; k < sizeof shape / sizeof shape[0]; k++)
        for (size_t l = 0; l < sizeof lag_s / sizeof lag_s[0]; l++) {
            series_begin(ROWS, FOURTH);
            series_ahead(FROM, shape[k].up, shape[k].hold, shape[k].down, shape[k].most);
            run.lag_s = lag_s[l];
            const double early_s = lag_s[l] < 0.0 ? lag_s[l] : 0.0;
            const ch_slip slip = only_slip();
            expect_close(slip.start_s, 10.0 + early_s, 1e-5); /* floats, over the steepness of the ramp */
            expect_close(slip.end_s,
                         10.0 + early_s + SERIES_EVERY_S * (double)(shape[k].up + shape[k].hold + shape[k].down), 1e-5);
        }
}

/* A run lies beside its line by what tyres grow; 0.008 at most, over three seconds, to 0.4 s before the slip. */
static void ends_are_those_of_the_runs_own_line(void **state)
{
    (void)state;
    static const double before[] = {0.006, -0.006, 0.011, -0.011}, after[] = {-0.004, 0.005, -0.011, 0.011};
    for (size_t k = 0; k < 4; k++) {
        begin();
        /* ramps from the one level to the other, in ten rows each */
        const double from = before[k], to = after[k];
        set_line(0, FROM, FOURTH, from);
        set_line(BACK, ROWS - 1, FOURTH, to);
        for (size_t i = 1; i < 10; i++) {
            run.row[FROM + i].ahead = from + 0.02 * (double)i;
            run.row[BACK - i].ahead = to + 0.02 * (double)i;
        }
        run.row[PEAK].ahead = 0.2;
        const ch_slip slip = only_slip();
        const double line_before = fmin(fmax(from, -0.008), 0.008), line_after = fmin(fmax(to, -0.008), 0.008);
        /* a row of the ramp below its line is not on it: straight between the last row and the next one */
        expect_close(slip.start_s, 10.0 + SERIES_EVERY_S * (line_before - from) / 0.02, 2e-3);
        expect_close(slip.end_s, 11.25 - SERIES_EVERY_S * (line_after - to) / 0.02, 2e-3);
    }
}

/* To the row 0.4 s ahead of the slip, from three seconds before it on; and so after it. */
static void the_own_line_is_that_of_three_seconds(void **state)
{
    (void)state;
    static const struct {
        size_t from, to;
        bool counts;
    } stretch[] = {{0, FIRST - 49, false},        /* 3 s: 48 rows before the first */
                   {FIRST - 48, FIRST - 7, true}, /* 0.4 s: seven */
                   {FIRST - 6, FROM - 1, false},  {BACK + 1, LAST + 6, false},
                   {LAST + 7, LAST + 48, true},   {LAST + 49, ROWS - 1, false}};
    for (size_t k = 0; k < sizeof stretch / sizeof stretch[0]; k++)
        for (int row = 0; row < 2; row++) { /* its first or its last row, by as much as moves the mean by 0.001 */
            begin();
            const size_t at = row == 0 ? stretch[k].from : stretch[k].to;
            run.row[at].ahead = -0.0168;
            const ch_slip slip = only_slip();
            const double line = stretch[k].counts ? -0.0168 / 42.0 : 0.0, moved_s = SERIES_EVERY_S * line / 0.02;
            expect_close(slip.start_s, 10.0 + (k < 3 ? moved_s : 0.0), 2e-4);
            expect_close(slip.end_s, 11.25 - (k < 3 ? 0.0 : moved_s), 2e-4);
        }
}

/* A peak counts by the smoothed rows, or by the highest single one less two standard deviations of the gear's scatter. */
static void the_peak_is_the_higher_of_two(void **state)
{
    (void)state;
    static const double sharp[] = {0.003, 0.005, 0.03};
    for (size_t k = 0; k < 3; k++) {
        begin();
        run.row[PEAK].sharp = sharp[k];
        expect_relative(only_slip().peak_1, expm1(0.2 + fmax(sharp[k] - 2.0 * 0.002, 0.0)), 1e-6);
    }
}

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

/* As much more on one row as less on the next: the mean stays, and a window without the one of them has another. */
static void lean(size_t more, size_t less, double by)
{
    run.row[more].traction_m_s2 += by;
    run.row[less].traction_m_s2 -= by;
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

/* A slip that ends with the foot lifting at a row, and then another gear. */
static void begin_change(size_t lifts)
{
    series_begin(ROWS, FOURTH);
    series_ahead(FROM, 10, lifts - FROM - 10, 1, 0.2);
    set_throttle(lifts, ROWS - 1, 0.1);
    set_line(lifts + 1, ROWS - 1, FIFTH, 0.0);
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

static void rows_follow_each_other_within_a_second_or_three_rows(void **state)
{
    (void)state;
    const double at[] = {0.0, 1.0, 2.0625, 3.5625, 5.125, 5.125};
    signals s = {.n = 6, .time_s = at, .interval_s = 0.0625};
    assert_true(signals_follow(&s, 1));
    assert_false(signals_follow(&s, 2));
    assert_false(signals_follow(&s, 3));
    assert_true(signals_follow(&s, 5));
    s.interval_s = 0.5;
    assert_true(signals_follow(&s, 3));
    assert_false(signals_follow(&s, 4));
    assert_int_equal(signals_row_before(&s, 3, 1.5), 2);
    assert_int_equal(signals_row_before(&s, 3, 1.51), 1);
    assert_int_equal(signals_row_before(&s, 3, 0.0), 3);
    assert_int_equal(signals_row_before(&s, 3, 3.5625), 0);
    assert_int_equal(signals_row_before(&s, 3, 9.0), 0);
    assert_int_equal(signals_row_before(&s, 0, 9.0), 0);
    assert_int_equal(signals_row_before(&s, 5, 0.5), 3);
}

/* A row is on its line within 1.2 % and 2.5 standard deviations, 4.5 % at most, and what the lag's doubt makes of the engine's rate, 3 % at most. */
static void a_row_lies_on_its_line_within_the_tolerance(void **state)
{
    (void)state;
    static const struct {
        double spread_1, u_lag_s, rate_1_s, within_1;
    } one[] = {{0.0, 0.0, 0.5, 0.012},   {0.01, 0.0, 0.5, 0.037},  {0.014, 0.0, 0.5, 0.045}, {0.0, 0.02, 0.5, 0.022},
               {0.0, 0.02, -0.5, 0.022}, {0.0, 0.04, 0.25, 0.022}, {0.01, 0.1, 1.0, 0.067},  {0.0, 0.1, 0.5, 0.042}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++)
        for (int side = -1; side <= 1; side += 2)
            for (int below = 0; below < 2; below++) {
                const double ahead = one[k].within_1 + 0.0004 * side;
                series_begin(40, FOURTH);
                set_line(0, 39, FOURTH, below ? -ahead : ahead);
                run.to.gear[FOURTH].spread_1 = one[k].spread_1;
                run.u_lag_s = one[k].u_lag_s;
                for (size_t i = 0; i < 40; i++) {
                    run.row[i].road_m_s = 20.0;
                    run.row[i].engine_1 = exp(one[k].rate_1_s * run.row[i].time_s);
                    run.row[i].clutch = 0.3; /* not pressed yet */
                }
                /* of the first and the last row no rate is known; nor of any where the engine's speed is not */
                const double all = 0.0625 * (one[k].u_lag_s > 0.0 ? 38.0 : 40.0);
                expect_close(seconds_in(FOURTH), side < 0 ? all : 0.0, 1e-12);
                for (size_t i = 0; i < 40; i++) {
                    run.row[i].engine_1 = i % 3 == 0 ? 0.0 : NAN;
                    run.row[i].ahead = below ? -0.012 - 0.0004 * side : 0.012 + 0.0004 * side;
                }
                run.to.gear[FOURTH].spread_1 = 0.0;
                expect_close(seconds_in(FOURTH), side < 0 ? 2.5 : 0.0, 1e-12);
            }
}

/* The scatter is half of what lies between 16 % and 84 % of the rows, where the ratio is steady; of the gear where fewer than twenty are. */
static void scatter_is_that_of_the_steady_rows(void **state)
{
    (void)state;
    static const struct {
        size_t out;   /* of a hundred, as many to either side */
        double drift; /* of those rows */
        double within_1;
    } one[] = {{18, 0.049, 0.037},  {18, -0.049, 0.037}, {18, 0.051, 0.012},
               {18, -0.051, 0.012}, {18, 0.05, 0.012},   {15, 0.0, 0.012}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++)
        for (int side = -1; side <= 1; side += 2) {
            series_begin(260, FOURTH);
            run.to.gear[FOURTH].spread_1 = 0.02;
            for (size_t i = 0; i < 200; i++) {
                const size_t part = i % 100;
                run.row[i].ahead = part < one[k].out ? -0.01 : part >= 100 - one[k].out ? 0.01 : 0.0;
                run.row[i].drift = run.row[i].ahead != 0.0 ? one[k].drift : 0.0;
            }
            for (size_t i = 200; i < 240; i++) { /* beyond what counts */
                run.row[i].ahead = i % 2 == 0 ? -0.047 : 0.047;
                run.row[i].drift = 0.0;
            }
            set_line(240, 259, FOURTH, one[k].within_1 + 0.0008 * side);
            expect_close(seconds_in(FOURTH), 0.0625 * (side < 0 ? 220.0 : 200.0), 1e-12);
        }
    for (size_t steady = 19; steady <= 20; steady++) {
        series_begin(60, FOURTH);
        run.to.gear[FOURTH].spread_1 = 0.002;
        for (size_t i = 0; i < steady; i++)
            run.row[i].drift = 0.0;
        set_line(30, 59, FOURTH, 0.015); /* within 0.012 + 2.5*0.002, not within 0.012 */
        expect_close(seconds_in(FOURTH), 0.0625 * (steady < 20 ? 60.0 : 30.0), 1e-12);
    }
}

/* A quarter of a second on one line is a run, and more than one piece of news of either signal; a pressed clutch and unknown rows interrupt it, as does a gap. */
static void a_run_is_long_enough(void **state)
{
    (void)state;
    static const struct {
        double engine_fresh_s, road_fresh_s;
        size_t rows; /* the shortest */
    } one[] = {{0.0625, 0.0625, 4}, {0.5, 0.0625, 10}, {0.0625, 0.5, 10}, {0.625 / 1.2, 0.0625, 10}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++)
        for (size_t less = 0; less < 2; less++)
            for (int why = 0; why < 3; why++) {
                series_begin(80, FOURTH);
                run.engine_fresh_s = one[k].engine_fresh_s;
                run.road_fresh_s = one[k].road_fresh_s;
                for (size_t i = 0; i < 80; i++)
                    if (i < 30 || i >= 30 + one[k].rows - less) {
                        run.row[i].ahead = why == 0 ? NAN : why == 1 ? -0.06 : 0.0;
                        run.row[i].clutch = why == 2 ? 0.31 : 0.3;
                    }
                expect_close(seconds_in(FOURTH), less ? 0.0 : 0.0625 * (double)one[k].rows, 1e-12);
            }
    series_begin(43, FOURTH);
    for (size_t i = 40; i < 43; i++) /* three rows behind a gap are none, with the gap's time or without */
        run.row[i].time_s += 1.0;
    expect_close(seconds_in(FOURTH), 0.0625 * 39.0 + 0.1875, 1e-12); /* a gap counts as three rows at most */
    run.row[20].gear = FIFTH;                                        /* another line for a row: two runs */
    expect_close(seconds_in(FOURTH), 0.0625 * 38.0 + 0.1875, 1e-12);
}

/* The time in gear is that to the next row, three usual rows at most; of pulling that in which the car gains speed. */
static void time_in_gear_and_under_load_is_added_up(void **state)
{
    (void)state;
    for (int gear = 0; gear < SERIES_GEARS; gear++) {
        series_begin(80, gear);
        run.interval_s = 0.125;
        run.row[79].time_s += 0.5; /* 0.375 of that count */
        set_traction(20, 29, 0.2); /* foot down, and the car slows: drag alone is 0.26 */
        set_traction(40, 79, 1.2);
        set_throttle(40, 49, 0.1);
        run.row[30].road_m_s = 20.0;
        run.row[30].traction_m_s2 = 3.5e-4 * 20.0 * 20.0 + 0.12; /* nor here: it does not gain any */
        ch_driveline to = series_judged();
        expect_close(to.gear[gear].seconds, 0.0625 * 78.0 + 0.375 + 0.125, 1e-12);
        const double loaded = 0.0625 * (double)(4 + 9 + 28) + 0.375 + 0.125;
        expect_close(to.loaded_s, gear >= 2 ? loaded : 0.0, 1e-12);
        expect_close(to.loaded_low_s, gear < 2 ? loaded : 0.0, 1e-12);
        for (int other_gear = 0; other_gear < SERIES_GEARS; other_gear++)
            if (other_gear != gear)
                expect_close(to.gear[other_gear].seconds, 0.0, 0.0);
        assert_int_equal(to.limits, 0);
        ch_driveline_clear(&to);
    }
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

/* A slip is sought in the run of a line for no longer than 20 s; one that takes longer is cut there. */
static void longer_than_twenty_seconds_nobody_goes_on(void **state)
{
    (void)state;
    for (size_t rows = 319; rows <= 321; rows++) { /* from the last on the line to the next on it: 20 s are 320 */
        series_begin(600, FOURTH);
        series_ahead(FROM, 2, rows - 4, 2, 0.1);
        series_switch();
        const ch_slip slip = only_slip();
        const double end_s = rows <= 320 ? 10.0 + SERIES_EVERY_S * (double)rows : 10.0 + 20.0;
        expect_close(slip.end_s, end_s, 1e-5);
    }
}

/* Nor over a gap, or a row without a ratio: what was until then must do. */
static void a_slip_ends_where_the_log_does_not_go_on(void **state)
{
    (void)state;
    for (int how = 0; how < 3; how++) {
        series_begin(ROWS, FOURTH);
        series_ahead(FROM, 5, 30, 5, 0.1);
        series_switch();
        if (how == 0)
            run.row[FROM + 21].ahead = NAN;
        for (size_t i = FROM + 21; i < ROWS; i++)
            run.row[i].time_s += how == 1 ? 1.0 : how == 2 ? 0.9375 : 0.0;
        const ch_slip slip = only_slip();
        expect_close(slip.end_s, how == 2 ? 12.5 + 0.9375 : 11.25, 1e-5);
    }
    series_begin(FROM + 21, FOURTH); /* the log itself ends */
    series_ahead(FROM, 5, 30, 5, 0.1);
    series_switch();
    expect_close(only_slip().end_s, 11.25, 1e-5);
}

/* What begins 0.3 s, or one window and a half, after the run did not begin on its line. */
static void a_slip_begins_at_its_run(void **state)
{
    (void)state;
    static const struct {
        double window_s;
        size_t rows; /* from the last on the line to the first ahead: the most */
    } one[] = {{0.25, 6}, {0.1, 4}, {0.5, 12}};
    for (size_t k = 0; k < 3; k++)
        for (size_t more = 0; more < 2; more++) {
            series_begin(ROWS, FOURTH);
            series_ahead(FROM, 1, 18, 1, 0.1);
            set_line(FROM + 1 - (one[k].rows + more - 1), FROM, FOURTH, -0.02);
            run.window_s = one[k].window_s;
            assert_int_equal(slipped(), more == 0);
        }
}

/* A foot that lifts, a pedal that goes down, an engine that falls by more than 0.4 of itself in a second: there what ends in another gear ends. */
static void what_ends_in_another_gear_ends_where_the_engine_is_let_go(void **state)
{
    (void)state;
    static const struct {
        double throttle, clutch, falls_1_s;
        bool ends;
    } one[] = {{0.415, 0.0, 0.0, true}, {0.425, 0.0, 0.0, false}, {0.9, 0.31, 0.0, true},
               {0.9, 0.3, 0.0, false},  {0.9, 0.0, 0.41, true},   {0.9, 0.0, 0.39, false}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++) {
        const size_t at = FROM + 20;
        series_begin(ROWS, FOURTH);
        series_ahead(FROM, 10, 20, 1, 0.2);
        series_switch();
        set_line(FROM + 31, ROWS - 1, FIFTH, 0.0);
        for (size_t i = 0; i < ROWS; i++)
            run.row[i].road_m_s = 20.0;
        run.row[at].throttle = one[k].throttle;
        run.row[at].clutch = one[k].clutch;
        for (size_t i = at; i < ROWS; i++)
            run.row[i].engine_1 = exp(-one[k].falls_1_s * SERIES_EVERY_S);
        /* the row of the lift belongs to it; without one it goes on to the row in which the engine falls to the next line, or is on it */
        const ch_slip slip = only_slip();
        if (one[k].ends)
            expect_close(slip.end_s, run.row[at].time_s, 1e-12);
        else
            expect_close(slip.end_s, 10.0 + SERIES_EVERY_S * (30.0 + 0.2 / (0.2 + log(10.0 / 8.2))), 1e-5);
    }
}

/* Third gear's line is log 1.3 above fourth's: a slip that stays on it for half a second is one slip. */
static void a_slip_may_cross_the_line_of_a_lower_gear(void **state)
{
    (void)state;
    const double third = log(1.3);
    static const struct {
        size_t up, on; /* rows until the lower line, and on it after the first */
        double throttle_1, traction_m_s2;
        size_t since, until; /* rows of the slip that have these */
        double clutch_1;
        bool crosses;
    } one[] = {
        {10, 8, 0.9, 1.2, 0, 40, 0.0, true},   {10, 47, 0.9, 1.2, 0, 70, 0.0, true},
        {10, 48, 0.9, 1.2, 0, 70, 0.0, false},                                       /* three seconds */
        {95, 8, 0.9, 1.2, 0, 40, 0.0, true},   {96, 8, 0.9, 1.2, 0, 40, 0.0, false}, /* six */
        {10, 8, 0.9, 0.41, 0, 10, 0.0, true},  {10, 8, 0.9, 0.39, 0, 10, 0.0, false},
        {10, 8, 0.9, 1.2, 0, 5, 0.31, false},  {10, 8, 0.9, 1.2, 0, 5, 0.3, true},
        {10, 8, 0.1, 1.2, 0, 1, 0.0, true},    {10, 8, 0.1, 1.2, 0, 2, 0.0, false},  /* one row of eleven */
        {20, 8, 0.1, 1.2, 11, 13, 0.0, true},  {20, 8, 0.1, 1.2, 9, 11, 0.0, false}, /* of the first 0.6 s */
        {9, 8, 0.1, 1.2, 0, 1, 0.0, false},                                          /* one of ten */
    };
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++) {
        series_begin(500, FOURTH);
        series_ahead(FROM, one[k].up, one[k].on, 10, third);
        /* the last but one row on the way up is below third's line, so that the run on it begins where it should */
        set_traction(FROM + one[k].since, FROM + one[k].until, one[k].traction_m_s2);
        set_throttle(FROM + one[k].since, FROM + one[k].until - 1, one[k].throttle_1);
        for (size_t i = FROM + 2; i < FROM + one[k].until; i++)
            run.row[i].clutch = one[k].clutch_1;
        if (one[k].up > 90) /* slowly first: the row before third's line is still off it */
            for (size_t i = 1; i < one[k].up; i++)
                run.row[FROM + i].ahead = 0.2;
        ch_driveline to = series_judged();
        assert_int_equal(to.gear[2].seconds == 0.0, one[k].crosses);
        if (one[k].crosses) {
            assert_int_equal(to.slips, 1);
            expect_relative(to.slip[0].peak_1, 0.3, 1e-5);
            expect_close(to.slip[0].end_s, 10.0 + SERIES_EVERY_S * (double)(one[k].up + one[k].on + 10), 1e-5);
        }
        ch_driveline_clear(&to);
    }
}

/* One end of the slip in `run`, from the rows alone: `sign` -1 is its beginning. Rows of the slip's own line are told from `base`. */
typedef struct end_by_hand {
    int sign;
    size_t row; /* the outermost that is ahead */
    double base, low, peak;
} end_by_hand;

static double over(const end_by_hand *e, size_t row)
{
    return (double)(float)(log(SERIES_LINE_RAD_M[FOURTH]) + run.row[row].ahead) - log(SERIES_LINE_RAD_M[FOURTH]) -
           e->base;
}

static size_t outward(const end_by_hand *e, size_t row, size_t rows)
{
    return e->sign < 0 ? row - rows : row + rows;
}

/* The straight line through the rows between a tenth and a half of the peak meets the run's; NaN where there are fewer than three. */
static double slope_meets_s(const end_by_hand *e)
{
    double n = 0.0, t_mean = 0.0, x_mean = 0.0, stt = 0.0, stx = 0.0;
    for (int pass = 0; pass < 2; pass++)
        for (size_t row = e->row; row != PEAK && over(e, row) <= 0.5 * e->peak; row = e->sign < 0 ? row + 1 : row - 1) {
            const double x = over(e, row), t = run.row[row].time_s;
            if (!(x > 0.1 * e->peak))
                continue;
            if (pass == 0) {
                t_mean = (t_mean * n + t) / (n + 1.0);
                x_mean = (x_mean * n + x) / (n + 1.0);
                n++;
            } else {
                stt += (t - t_mean) * (t - t_mean);
                stx += (t - t_mean) * (x - x_mean);
            }
        }
    return n >= 3.0 && -e->sign * stx > 0.0 ? t_mean - x_mean * stt / stx : NAN;
}

static double end_s(const end_by_hand *e)
{
    const double steep_at = over(e, e->row) - e->low, from_s = run.row[e->row].time_s;
    if (steep_at <= 0.0)
        return from_s;
    size_t row = e->row;
    while (over(e, row) > e->low)
        row = outward(e, row, 1);
    const size_t inner = outward(e, row, (size_t)-1);
    const double here = over(e, row), next = over(e, inner), apart_s = run.row[inner].time_s - run.row[row].time_s;
    if (fabs(apart_s) > 0.08) {
        const double second = over(e, outward(e, row, (size_t)-2)), rows = next / (second - next);
        return second > next && rows >= 0.0 && rows <= 1.0 ? run.row[inner].time_s - rows * apart_s
                                                           : run.row[row].time_s + 0.5 * apart_s;
    }
    double at_s = run.row[row].time_s + apart_s * (e->low - here) / (next - here);
    if (steep_at > 0.25 * e->low)
        at_s += e->sign * fmin(e->low / steep_at * fabs(from_s - at_s), 0.35);
    return at_s;
}

static double by_hand_s(const end_by_hand *e)
{
    const double edge_s = end_s(e), slope_s = slope_meets_s(e);
    return e->sign * (edge_s - slope_s) > 0.12 ? slope_s : edge_s;
}

/* Runs beside their lines, soft beginnings, noise, rows close and far, speeds in steps and fine: where the ends are is worked out again from the rows. */
static void ends_of_ragged_slips_are_as_by_hand(void **state)
{
    (void)state;
    static const double every_s[] = {0.0625, 0.09375, 0.078125, 0.125};
    size_t soft = 0, coarse = 0;
    ch_stream stream;
    ch_stream_init(&stream, 71, 0);
    for (int round = 0; round < 300; round++) {
        const double between = every_s[round % 4], spread = round % 3 == 0 ? 0.0 : 0.012 * ch_stream_uniform(&stream),
                     noise = 0.003 * ch_stream_uniform(&stream), peak = 0.1 + 0.14 * ch_stream_uniform(&stream);
        const bool steps = round % 5 == 0;
        series_begin(ROWS, FOURTH);
        run.interval_s = between;
        run.window_s = 0.75;
        run.to.shortest_slip_s = 0.1;
        run.step_m_s = steps ? 1.0 / 3.6 : 0.0;
        run.to.gear[FOURTH].spread_1 = spread;
        series_switch();
        const double tolerance = 0.012 + 2.5 * spread;
        double level[2], bend[2];
        size_t ramp[2], soft_rows[2];
        for (int side = 0; side < 2; side++) {
            level[side] = 0.008 * (2.0 * ch_stream_uniform(&stream) - 1.0);
            bend[side] = 0.5 + 1.5 * ch_stream_uniform(&stream);
            ramp[side] = 2 + (size_t)(9.0 * ch_stream_uniform(&stream));
            soft_rows[side] = (size_t)(9.0 * ch_stream_uniform(&stream));
        }
        for (size_t i = 0; i < ROWS; i++) {
            const int side = i > PEAK;
            const size_t from_peak = side ? i - PEAK : PEAK - i;
            const double share = from_peak < ramp[side] ? 1.0 - (double)from_peak / (double)ramp[side] : 0.0;
            run.row[i].time_s = between * (double)i;
            run.row[i].road_m_s = 20.0 - (round % 10 == 0 ? 17.0 : 0.0) + 0.002 * (double)i;
            run.row[i].ahead = level[side] + (peak - level[side]) * pow(share, bend[side]);
            if (from_peak >= ramp[side] && from_peak < ramp[side] + soft_rows[side])
                run.row[i].ahead = fmin(level[side] + 0.007, tolerance - 0.0035);
            run.row[i].ahead += noise * (2.0 * ch_stream_uniform(&stream) - 1.0);
            if (i != PEAK)
                run.row[i].ahead = fmin(run.row[i].ahead, peak - 0.003);
            else
                run.row[i].ahead = peak;
            if (from_peak >= ramp[side]) /* on its line all the same */
                run.row[i].ahead = fmin(fmax(run.row[i].ahead, -tolerance + 1e-4), tolerance - 1e-4);
            run.row[i].traction_m_s2 = steps && i % 2 == 0 ? 0.5 : 1.2; /* which does not cross steps, and does */
        }
        end_by_hand end[2] = {{.sign = -1, .row = PEAK}, {.sign = 1, .row = PEAK}};
        for (int side = 0; side < 2; side++) {
            for (size_t i = PEAK - 20; i <= PEAK + 20; i++)
                if (run.row[i].ahead > tolerance && (side == 0 ? i < end[0].row : i > end[1].row))
                    end[side].row = i;
            /* three seconds to 0.4 s from it */
            double sum = 0.0, n = 0.0;
            for (size_t i = 0; i < ROWS; i++) {
                const double apart_s = end[side].sign * (run.row[i].time_s - run.row[end[side].row].time_s);
                const double climb =
                    run.row[i].traction_m_s2 - 0.12 - 3.5e-4 * run.row[i].road_m_s * run.row[i].road_m_s;
                if (apart_s >= 0.4 && apart_s - between < 3.0 && (!steps || fabs(climb) > 0.6)) {
                    sum += over(&end[side], i);
                    n++;
                }
            }
            end[side].base = fmin(fmax(sum / n, -0.008), 0.008);
            end[side].low =
                fmax(fmax(0.004, 0.8 * spread), steps ? 0.35 / 3.6 / (double)(float)run.row[end[0].row].road_m_s : 0.0);
            end[side].peak = peak;
        }
        const ch_slip slip = only_slip();
        expect_close(slip.start_s, by_hand_s(&end[0]), 1e-6); /* lines as floats, over their steepness */
        expect_close(slip.end_s, by_hand_s(&end[1]), 1e-6);
        soft += fabs(by_hand_s(&end[0]) - end_s(&end[0])) > 0.0;
        coarse += between > 0.08;
    }
    assert_true(soft > 10 && coarse == 150); /* that all of it is met */
}

enum { TOUCH = 180 };

/* Two slips in one pull, between which the engine is on its line for two rows, TOUCH and the next: too few for a run. */
static void begin_touch(size_t n)
{
    series_begin(n, FOURTH);
    series_ahead(FROM, 10, 0, 10, 0.2);
    series_ahead(TOUCH + 1, 10, 0, 10, 0.3);
}

static void expect_touch(bool touches)
{
    ch_driveline to = series_judged();
    assert_int_equal(to.slips, touches ? 2 : 1);
    if (touches) {
        expect_relative(to.slip[0].peak_1, expm1(0.2), 1e-6);
        expect_close(to.slip[0].end_s, run.row[TOUCH].time_s, 1e-5);
        expect_close(to.slip[1].start_s, run.row[TOUCH + 1].time_s, 1e-5);
    }
    expect_relative(to.slip[to.slips - 1].peak_1, expm1(0.3), 1e-6);
    ch_driveline_clear(&to);
}

/* A touch of the line is a run where the engine was ahead of it before and is again in two rows after it, the foot down in six tenths of the rows since the run before, 6 s ago at most. */
static void a_clutch_that_comes_home_for_a_moment_slips_twice(void **state)
{
    (void)state;
    begin_touch(ROWS);
    expect_touch(true);
    begin_touch(ROWS); /* in the second row after it no longer ahead, or below */
    run.row[TOUCH + 3].ahead = 0.0169;
    run.row[TOUCH + 4].ahead = -0.05;
    expect_touch(false);
    run.row[TOUCH + 3].ahead = 0.0171;
    expect_touch(true);
    for (int more = 0; more < 2; more++) { /* a gap in between */
        begin_touch(ROWS);
        for (size_t i = TOUCH + 3; i < ROWS; i++)
            run.row[i].time_s += 0.9375 + 0.0625 * more;
        ch_driveline to = series_judged();
        expect_close(to.gear[FOURTH].seconds, 0.0625 * (double)(ROWS - 38) + (more ? -0.125 : 0.0), 1e-12);
        ch_driveline_clear(&to);
    }
    begin_touch(ROWS); /* below its line in between: a change of gear */
    run.row[FROM + 5].ahead = -0.0169;
    expect_touch(true);
    begin_touch(ROWS);
    run.row[FROM + 5].ahead = -0.0171;
    expect_touch(false);
    begin_touch(ROWS);
    series_switch();
    run.row[FROM + 5].clutch = 0.3;
    expect_touch(true);
    run.row[FROM + 5].clutch = 0.31;
    expect_touch(false);
    /* rows FROM + 1 to TOUCH + 3: 23, of which fourteen are six tenths and thirteen are not */
    for (size_t off = 9; off <= 10; off++) {
        begin_touch(ROWS);
        set_throttle(TOUCH + 4 - off, TOUCH + 3, 0.1);
        ch_driveline to = series_judged();
        assert_int_equal(to.slips + to.not_slips[CH_NOT_SLIP_CLUTCH], off == 9 ? 2 : 1);
        ch_driveline_clear(&to);
    }
    for (size_t off = 7; off <= 8; off++) { /* of twenty: six tenths are too few */
        begin_touch(ROWS);
        set_line(FROM, FROM + 3, FOURTH, 0.0);
        set_throttle(TOUCH + 4 - off, TOUCH + 3, 0.1);
        ch_driveline to = series_judged();
        assert_int_equal(to.slips + to.not_slips[CH_NOT_SLIP_CLUTCH], off == 7 ? 2 : 1);
        ch_driveline_clear(&to);
    }
    /* six seconds from the run to the touch */
    for (int more = 0; more < 2; more++) {
        begin_touch(ROWS);
        const double wanted_s = 6.0 + 0.0625 * more, /* 0.59 s from row to row about the peak */
            apart_s = (wanted_s - 20.0 * SERIES_EVERY_S) / 8.0;
        for (size_t i = FROM + 5; i < ROWS; i++)
            run.row[i].time_s += apart_s * (double)(i < FROM + 13 ? i - FROM - 4 : 8);
        ch_driveline to = series_judged();
        assert_int_equal(to.slips, more ? 1 : 2);
        ch_driveline_clear(&to);
    }
    /* a touch of another line than that of the last run, or before any run, is none */
    begin_touch(ROWS);
    set_line(0, FROM, FIFTH, 0.0);
    expect_close(seconds_in(FOURTH), 0.0625 * (double)(ROWS - TOUCH - 21), 1e-12);
    begin_touch(ROWS);
    set_line(0, FROM, FOURTH, NAN);
    expect_close(seconds_in(FOURTH), 0.0625 * (double)(ROWS - TOUCH - 21), 1e-12);
    /* two rows behind it have to be there */
    for (size_t n = TOUCH + 3; n <= TOUCH + 4; n++) {
        begin_touch(n);
        expect_close(seconds_in(FOURTH), 0.0625 * (double)(FROM + 1 + (n == TOUCH + 4 ? 2 : 0)), 1e-12);
    }
}

/*
 * A change up from fourth to fifth with the foot down: five rows down to fifth's line, a touch of it, and from there on ahead of it again for so many rows; then the run in fifth. FIRST
 * is the first of them.
 */
static void begin_after_shift(size_t rows, double ahead)
{
    series_begin(400, FOURTH);
    series_switch();
    for (size_t i = FROM - 5; i < FROM; i++) {
        run.row[i].gear = FIFTH;
        run.row[i].ahead = log(10.0 / 8.2) * (double)(FROM - i) / 6.0;
    }
    set_line(FROM, 399, FIFTH, 0.0);
    set_line(FIRST, FROM + rows, FIFTH, ahead);
}

static void expect_after_shift(bool slips)
{
    ch_driveline to = series_judged();
    assert_int_equal(to.slips, slips);
    if (slips)
        assert_int_equal(to.slip[0].gear, 5);
    for (int k = 0; k < CH_NOT_SLIP_KINDS; k++)
        assert_int_equal(to.not_slips[k], 0);
    ch_driveline_clear(&to);
}

/* 0.45 s at least, or what the log can tell; 5 % or five standard deviations; the foot down in nine tenths of the rows; 0.5 m/s2 at the wheels; neither sensor nor wheels. */
static void after_a_change_up_the_engine_may_run_ahead_again(void **state)
{
    (void)state;
    begin_after_shift(16, 0.1);
    const ch_slip slip = only_slip();
    assert_int_equal(slip.gear, 5);
    expect_relative(slip.peak_1, expm1(0.1), 1e-6);
    expect_relative(slip.mean_1, expm1(0.1) * 16.0 / 17.0, 1e-6); /* up and down in a step each, half as high */
    expect_close(slip.start_s, 10.0,
                 1e-5); /* straight down from its first row, which is where the one before it lies */
    expect_close(slip.end_s, 10.0 + 17 * SERIES_EVERY_S, 1e-5);
    static const double shortest_s[] = {0.2, 0.75};
    static const size_t least_rows[] = {8, 12}; /* 0.5 s, 0.75 s */
    for (int k = 0; k < 2; k++)
        for (size_t less = 0; less < 2; less++) {
            begin_after_shift(least_rows[k] - less, 0.1);
            run.to.shortest_slip_s = shortest_s[k];
            expect_after_shift(less == 0);
        }
    static const double spread[] = {0.002, 0.012}, least_peak[] = {0.05, 0.06};
    for (int k = 0; k < 2; k++)
        for (int side = -1; side <= 1; side += 2) {
            begin_after_shift(16, log1p(least_peak[k] + 0.0005 * side));
            run.to.gear[FIFTH].spread_1 = spread[k];
            expect_after_shift(side > 0);
        }
    for (size_t off = 1; off <= 2; off++) /* of twenty rows */
        for (int edge = 0; edge < 2; edge++) {
            begin_after_shift(20, 0.1);
            set_throttle(edge ? FROM + 21 - off : FIRST, edge ? FROM + 20 : FROM + off, 0.1);
            expect_after_shift(off == 1);
        }
    for (int side = -1; side <= 1; side += 2)
        for (int edge = 0; edge < 2; edge++) {
            begin_after_shift(16, 0.1);
            set_traction(FIRST, FROM + 16, 0.5 + 0.005 * side);
            lean(edge ? FROM + 16 : FIRST, FROM + 8, 1.0);
            run.row[edge ? FROM + 17 : FROM].traction_m_s2 = 0.5 - 2.0 * side;
            expect_after_shift(side > 0);
        }
    for (int wheels = 0; wheels < 2; wheels++)
        for (int side = -1; side <= 1; side += 2) {
            begin_after_shift(16, 0.1);
            run.row[FROM + 6].ahead = 0.12; /* the peak: half of it is 0.06 */
            for (size_t i = 0; i < 400; i++) {
                run.row[i].road_m_s = 20.0;
                run.row[i].driven_m_s = wheels ? 20.0 : NAN;
            }
            if (wheels)
                run.row[FROM + 6].driven_m_s *= exp(0.06 + 0.001 * side);
            else
                run.row[FROM + 6].road_m_s *= exp(-0.06 - 0.001 * side);
            expect_after_shift(side < 0);
        }
    /* it has to touch the line, and the touch to be followed by two rows and more */
    for (int side = -1; side <= 1; side += 2) {
        begin_after_shift(16, 0.1);
        run.row[FROM].ahead = 0.017 + 0.0001 * side;
        expect_after_shift(side < 0);
    }
    for (size_t rows = 1; rows <= 2; rows++) {
        begin_after_shift(rows, 0.1);
        for (size_t i = 0; i < 400; i++)
            run.row[i].time_s = 0.5 * (double)i;
        run.interval_s = run.engine_fresh_s = run.road_fresh_s = 0.5;
        expect_after_shift(rows == 2);
    }
    /* unknown rows and gaps end the search, and so do 20 s */
    begin_after_shift(16, 0.1);
    run.row[FROM + 3].ahead = NAN;
    expect_after_shift(false);
    for (int more = 0; more < 2; more++) {
        begin_after_shift(16, 0.1);
        for (size_t i = FROM + 3; i < 400; i++)
            run.row[i].time_s += 0.9375 + 0.0625 * more;
        expect_after_shift(more == 0);
    }
    for (size_t rows = 159; rows <= 160; rows++) { /* an eighth of a second apart, one more from the touch to the run */
        begin_after_shift(rows, 0.1);
        for (size_t i = 0; i < 400; i++)
            run.row[i].time_s = 0.125 * (double)i;
        run.interval_s = run.engine_fresh_s = run.road_fresh_s = 0.125;
        expect_after_shift(rows == 159);
    }
    /* into the same gear it is none */
    begin_after_shift(16, 0.1);
    for (size_t i = 0; i < 400; i++)
        run.row[i].gear = FOURTH;
    for (size_t i = FROM - 8; i < FROM; i++)
        run.row[i].ahead = -0.1;
    expect_after_shift(false);
}

/* Whatever lies behind the last row of a chapter, what is made of the rows is the same. */
static void nothing_behind_the_last_row_is_looked_at(void **state)
{
    (void)state;
    for (size_t n = 150; n < 260; n += 5)
        for (int how = 0; how < 4; how++) {
            if (how < 2)
                begin_touch(ROWS);
            else
                begin_after_shift(16 + (size_t)how, 0.1);
            run.n = n;
            for (size_t i = 0; i < n; i++) {
                run.row[i].drift = how == 1 ? 0.0 : NAN;
                run.row[i].sharp = how == 1 && i % 2 == 0 ? 0.002 : 0.0;
                if (how == 3 && i > FROM + 10)
                    run.row[i].throttle = 0.1;
            }
            run.u_lag_s = 0.004;
            run.row[n / 2].clutch = how == 0 ? 0.0 : 1.0;
            ch_driveline to = series_judged(); /* with and without rows behind */
            ch_driveline_clear(&to);
        }
}

/* So many slips are kept and the others counted; those of an earlier chapter stay, all in order of time. */
static void slips_are_kept_in_order_up_to_so_many(void **state)
{
    (void)state;
    static slip_view view;
    begin();
    series_arrays a;
    series_lay_out(&a, 0, 0.0);
    const signals s = series_signals(&a);
    const trail t = series_trail(&a);
    view = (slip_view){.s = &s, .t = &t};
    ch_driveline to = {.gears = 1, .gear = {{.number = 6}}};
    for (size_t i = 0; i < CH_DRIVELINE_SLIPS_MAX + 2; i++) {
        const slip_event event = {.first = FIRST, .last = LAST, .start_s = (double)i};
        assert_int_equal(to.limits, i > CH_DRIVELINE_SLIPS_MAX ? CH_LIMIT_MANY_SLIPS : 0);
        assert_int_equal(slip_append(&view, &event, &to, NULL), CH_OK);
        assert_int_equal(to.slips_found, i + 1);
        assert_int_equal(to.slips, i < CH_DRIVELINE_SLIPS_MAX ? i + 1 : CH_DRIVELINE_SLIPS_MAX);
    }
    for (size_t i = 0; i < CH_DRIVELINE_SLIPS_MAX; i++) {
        expect_close(to.slip[i].start_s, (double)i, 0.0);
        assert_int_equal(to.slip[i].gear, 6);
    }
    ch_driveline_clear(&to);
    series_free(&a);
    begin();
    static ch_slip before[] = {{.start_s = 100.0}, {.start_s = 5.0}};
    run.to.slip = before;
    run.to.slips = run.to.slips_found = 1;
    to = series_judged();
    assert_int_equal(to.slips, 2);
    expect_close(to.slip[0].start_s, 10.0, 1e-5);
    expect_close(to.slip[1].start_s, 100.0, 0.0);
    ch_driveline_clear(&to);
    run.to.slips = run.to.slips_found = 2;
    to = series_judged();
    assert_int_equal(to.slips, 3);
    assert_int_equal(to.slips_found, 3);
    expect_close(to.slip[0].start_s, 5.0, 0.0);
    expect_close(to.slip[1].start_s, 10.0, 1e-5);
    expect_close(to.slip[2].start_s, 100.0, 0.0);
    ch_driveline_clear(&to);
}

/* Rows of which acceleration is not known take no part in means of it; where none is known the car is not said to pull. */
static void unknown_acceleration_takes_no_part(void **state)
{
    (void)state;
    begin();
    for (size_t i = 0; i < ROWS; i++)
        run.row[i].road_m_s = 20.0 + 0.06 * (double)i;
    series_arrays a;
    series_lay_out(&a, 0, 0.0);
    double pull = 0.0;
    for (size_t i = FIRST - 7; i <= LAST; i++)
        pull += i % 2 == 0 ? a.climb[i] : 0.0F;
    series_free(&a);
    for (size_t i = FIRST - 8; i <= LAST; i++)
        run.row[i].traction_m_s2 = i % 2 == 0 ? run.row[i].traction_m_s2 : NAN;
    expect_relative(only_slip().acceleration_m_s2, pull / 13.0, 1e-6); /* rows 154 to 178 */
    for (size_t i = FIRST - 12; i <= FIRST; i++)
        run.row[i].traction_m_s2 = NAN;
    assert_int_equal(other(), CH_NOT_SLIP_CLUTCH);
}

/* On the way up to third gear's line the log has to go on, and the pedal to stay up: else the stretch on that line is one in gear. */
static void a_line_is_crossed_without_a_break(void **state)
{
    (void)state;
    for (int how = 0; how < 5; how++) {
        series_begin(ROWS, FOURTH);
        series_ahead(FROM, 10, 8, 10, log(1.3));
        if (how == 1)
            run.row[FROM + 1].ahead = NAN;
        if (how == 2)
            run.row[FROM + 1].clutch = 0.31;
        for (size_t i = FROM + 1; i < ROWS && how > 2; i++)
            run.row[i].time_s += how == 3 ? 0.9375 : 1.0;
        assert_int_equal(seconds_in(2) == 0.0, how == 0 || how == 3);
    }
}

/* Rows between a tenth and a half of the peak that fall towards it point to no beginning: the edge stands. */
static void what_falls_towards_its_peak_points_nowhere(void **state)
{
    (void)state;
    begin();
    for (size_t i = 0; i < 5; i++)
        run.row[FROM + 1 + i].ahead = run.row[BACK - 1 - i].ahead = 0.09 - 0.012 * (double)i;
    for (size_t i = 6; i <= 14; i++)
        run.row[FROM + i].ahead = i == 10 ? 0.2 : 0.15;
    const ch_slip slip = only_slip();
    expect_close(slip.start_s, 10.0, 1e-5);
    expect_close(slip.end_s, 11.25, 1e-5);
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

static void a_chapter_of_no_rows_has_nothing_in_it(void **state)
{
    (void)state;
    const signals s = {0};
    const trail t = {0};
    ch_driveline to = {.gears = 1, .gear = {{.number = 3, .line_rad_m = 13.0}}};
    assert_int_equal(slips_find(&s, &t, &to, NULL), CH_OK);
    assert_int_equal(to.slips + to.slips_found, 0);
    assert_int_equal(to.limits, CH_LIMIT_NO_THROTTLE);
}

/* So many events of low gears are kept to be judged: 256. */
static void events_of_low_gears_are_bounded(void **state)
{
    (void)state;
    enum { EVENTS = 258, EACH = 11 };
    series_begin(EVENTS * EACH + 100, 1);
    for (size_t k = 0; k < EVENTS; k++)
        series_ahead(18 + k * EACH, 1, 4, 1, 0.1);
    for (size_t i = EVENTS * EACH + 20; i < run.n; i++)
        run.row[i] = (series_row){.time_s = run.row[i].time_s,
                                  .gear = FOURTH,
                                  .traction_m_s2 = 9.0,
                                  .road_m_s = NAN,
                                  .engine_1 = 1.0,
                                  .drift = NAN,
                                  .throttle = 0.9,
                                  .gps_m_s = NAN,
                                  .driven_m_s = NAN};
    ch_driveline to = series_judged(); /* fourth holds as much for five seconds: it was the wheels */
    assert_int_equal(to.slips, 0);
    assert_int_equal(to.not_slips[CH_NOT_SLIP_WHEELSPIN], 256);
    ch_driveline_clear(&to);
}

/* Of several rows alike the first is the peak: behind it the foot may lift. */
static void the_first_of_equal_rows_is_the_peak(void **state)
{
    (void)state;
    series_begin(ROWS, FOURTH);
    series_ahead(FROM, 1, 19, 1, 0.1);
    set_throttle(FROM + 11, FROM + 20, 0.1);
    assert_true(slipped());
}

/* An engine that falls on its line, before anything, is none that falls at the end of a slip. */
static void an_engine_that_fell_before_is_no_end(void **state)
{
    (void)state;
    begin_change(FIRST + 20);
    for (size_t i = 0; i < FROM; i++)
        run.row[i].engine_1 = 1.04;
    expect_close(only_slip().end_s, run.row[FIRST + 20].time_s, 1e-12);
}

/* More than three rows tell how far a run lies from its line. */
static void a_run_of_few_rows_has_no_line_of_its_own(void **state)
{
    (void)state;
    for (size_t rows = 3; rows <= 4; rows++) { /* of those 0.4 s before the slip */
        begin();
        set_line(0, FROM, FOURTH, -0.006);
        set_line(17, FIRST - 7 - rows, FOURTH, NAN);
        expect_close(only_slip().start_s, 10.0 + SERIES_EVERY_S * (rows == 3 ? 0.006 / 0.026 : 0.0), 1e-5);
    }
}

/* Soft rows carry the edge outwards, and the slope tells where it began: by three rows between a tenth and a half of the peak, not by two. */
static void three_rows_make_a_slope(void **state)
{
    (void)state;
    for (size_t rows = 2; rows <= 3; rows++) {
        series_begin(ROWS, FOURTH);
        set_line(FROM - 6, FROM, FOURTH, 0.0155);
        for (size_t i = 1; i <= rows; i++)
            run.row[FROM + i].ahead = 0.02 + 0.02 * (double)i; /* from row FROM - 1 on */
        set_line(FROM + rows + 1, FROM + 12, FOURTH, 0.2);
        const double start_s = only_slip().start_s;
        if (rows == 3)
            expect_close(start_s, 10.0 - SERIES_EVERY_S, 0.01); /* the soft rows bend the run's own line a little */
        else
            assert_true(start_s < 10.0 - 4.0 * SERIES_EVERY_S);
    }
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

/* Lines that follow each other row by row: no more runs than there is room for are kept, a third of the rows and two. */
static void runs_are_bounded(void **state)
{
    (void)state;
    series_begin(60, FOURTH);
    run.interval_s = 0.5;
    for (size_t i = 0; i < 60; i++) {
        run.row[i].time_s = 0.5 * (double)i;
        run.row[i].gear = i % 2 == 0 ? FOURTH : 1;
    }
    set_traction(0, 59, 0.0); /* else it were a slip that crosses a line */
    set_throttle(0, 59, NAN);
    expect_close(seconds_in(FOURTH) + seconds_in(1), 0.5 * 22.0, 1e-12);
}

/* As many gears as there is room for. */
static void ten_gears_are_ten(void **state)
{
    (void)state;
    begin();
    for (int g = SERIES_GEARS; g < CH_DRIVELINE_GEARS_MAX; g++)
        run.to.gear[g] =
            (ch_driveline_gear){.number = g + 1, .line_rad_m = 7.0 - 0.6 * (g - SERIES_GEARS), .spread_1 = 0.002};
    run.to.gears = CH_DRIVELINE_GEARS_MAX;
    assert_int_equal(only_slip().gear, 4);
}

/* Straight on from a soft beginning, but no further than 0.35 s. */
static void an_edge_is_carried_so_far_and_no_further(void **state)
{
    (void)state;
    series_begin(ROWS, FOURTH);
    run.to.gear[FOURTH].spread_1 = 0.02;         /* on its line within 0.045; 0.016 are ahead */
    set_line(FROM - 15, FROM, FOURTH, 0.03);     /* ten of these are of the run's own line: a mean of 42 */
    set_line(FROM + 1, FROM + 1, FOURTH, 0.046); /* hardly more */
    set_line(FROM + 2, FROM + 19, FOURTH, 0.2);
    const double base = 10.0 * 0.03 / 42.0, crossing = FROM - 16.0 + (base + 0.016) / 0.03;
    expect_close(only_slip().start_s, SERIES_EVERY_S * crossing - 0.35, 1e-5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_figure_is_that_of_its_rows),
        cmocka_unit_test(ends_are_where_the_ramps_meet_the_line),
        cmocka_unit_test(ends_are_those_of_the_runs_own_line),
        cmocka_unit_test(the_own_line_is_that_of_three_seconds),
        cmocka_unit_test(the_peak_is_the_higher_of_two),
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
        cmocka_unit_test(rows_follow_each_other_within_a_second_or_three_rows),
        cmocka_unit_test(a_row_lies_on_its_line_within_the_tolerance),
        cmocka_unit_test(scatter_is_that_of_the_steady_rows),
        cmocka_unit_test(a_run_is_long_enough),
        cmocka_unit_test(time_in_gear_and_under_load_is_added_up),
        cmocka_unit_test(the_doubt_of_the_ends_is_road_speeds_noise),
        cmocka_unit_test(longer_than_twenty_seconds_nobody_goes_on),
        cmocka_unit_test(a_slip_ends_where_the_log_does_not_go_on),
        cmocka_unit_test(a_slip_begins_at_its_run),
        cmocka_unit_test(what_ends_in_another_gear_ends_where_the_engine_is_let_go),
        cmocka_unit_test(a_slip_may_cross_the_line_of_a_lower_gear),
        cmocka_unit_test(ends_of_ragged_slips_are_as_by_hand),
        cmocka_unit_test(a_clutch_that_comes_home_for_a_moment_slips_twice),
        cmocka_unit_test(after_a_change_up_the_engine_may_run_ahead_again),
        cmocka_unit_test(nothing_behind_the_last_row_is_looked_at),
        cmocka_unit_test(slips_are_kept_in_order_up_to_so_many),
        cmocka_unit_test(unknown_acceleration_takes_no_part),
        cmocka_unit_test(a_line_is_crossed_without_a_break),
        cmocka_unit_test(what_falls_towards_its_peak_points_nowhere),
        cmocka_unit_test(a_box_of_two_gears_has_no_middle_one),
        cmocka_unit_test(a_chapter_of_no_rows_has_nothing_in_it),
        cmocka_unit_test(events_of_low_gears_are_bounded),
        cmocka_unit_test(the_first_of_equal_rows_is_the_peak),
        cmocka_unit_test(an_engine_that_fell_before_is_no_end),
        cmocka_unit_test(a_run_of_few_rows_has_no_line_of_its_own),
        cmocka_unit_test(three_rows_make_a_slope),
        cmocka_unit_test(four_tenths_of_pulling_are_no_corner),
        cmocka_unit_test(runs_are_bounded),
        cmocka_unit_test(ten_gears_are_ten),
        cmocka_unit_test(an_edge_is_carried_so_far_and_no_further),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
