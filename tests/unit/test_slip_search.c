/*
 * Promises of driveline/slip.c on runs written row by row: what is a run in gear, what lies between two of them, before a change and after it, each limit from either side.
 */
#include "../../src/driveline/slip_parts.h"
#include "slip_series.h"

static double seconds_in(int gear)
{
    ch_driveline to = series_judged();
    const double seconds = to.gear[gear].seconds;
    ch_driveline_clear(&to);
    return seconds;
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

/* An engine that falls on its line, before anything, is none that falls at the end of a slip. */
static void an_engine_that_fell_before_is_no_end(void **state)
{
    (void)state;
    begin_change(FIRST + 20);
    for (size_t i = 0; i < FROM; i++)
        run.row[i].engine_1 = 1.04;
    expect_close(only_slip().end_s, run.row[FIRST + 20].time_s, 1e-12);
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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_row_lies_on_its_line_within_the_tolerance),
        cmocka_unit_test(scatter_is_that_of_the_steady_rows),
        cmocka_unit_test(a_run_is_long_enough),
        cmocka_unit_test(time_in_gear_and_under_load_is_added_up),
        cmocka_unit_test(longer_than_twenty_seconds_nobody_goes_on),
        cmocka_unit_test(a_slip_ends_where_the_log_does_not_go_on),
        cmocka_unit_test(a_slip_begins_at_its_run),
        cmocka_unit_test(what_ends_in_another_gear_ends_where_the_engine_is_let_go),
        cmocka_unit_test(a_slip_may_cross_the_line_of_a_lower_gear),
        cmocka_unit_test(a_clutch_that_comes_home_for_a_moment_slips_twice),
        cmocka_unit_test(after_a_change_up_the_engine_may_run_ahead_again),
        cmocka_unit_test(nothing_behind_the_last_row_is_looked_at),
        cmocka_unit_test(slips_are_kept_in_order_up_to_so_many),
        cmocka_unit_test(a_line_is_crossed_without_a_break),
        cmocka_unit_test(a_chapter_of_no_rows_has_nothing_in_it),
        cmocka_unit_test(events_of_low_gears_are_bounded),
        cmocka_unit_test(an_engine_that_fell_before_is_no_end),
        cmocka_unit_test(runs_are_bounded),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
