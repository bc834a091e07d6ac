/*
 * Promises of driveline/signal.c and quantile.c on a few rows each, worked out by hand: which rows tell of a lag, and what ratio, acceleration and drift are made of, each limit from
 * both sides.
 */
#include <stdlib.h>
#include <string.h>

#include "fail_alloc.h"
#include "signal_rows.h"

/*
 * Rows 0.07 s apart, so that 0.4 s to either side lie 5.71 rows off. A jump from one row to the next is seen of twelve: ten with all of it between early and late, and one at
 * either end with 71 % of it.
 */
static void jumps(const size_t *at, const double *to_log, size_t n_jumps, size_t n, double line)
{
    rows_every(0.07, n);
    for (size_t i = 0; i < n; i++) {
        double by = 0;
        for (size_t k = 0; k < n_jumps; k++)
            by += i > at[k] ? to_log[k] : 0;
        engine[i] = (float)(200 * exp(by));
        road[i] = (float)(200 * exp(by) / line * (1 + 1e-4 * (double)(i % 2))); /* else it would be one that stood */
    }
}

static bool knows_lag(const size_t *at, const double *to_log, size_t n_jumps, size_t n, double line)
{
    jumps(at, to_log, n_jumps, n, line);
    make(n, 0, NAN, NAN);
    const bool known = s.lag_known;
    if (!known) {
        expect_close(s.lag_s, 0, 0);
        expect_close(s.u_lag_s, 0.15, 1e-12);
    } else {
        expect_close(s.lag_s, 0, 0.011);
        expect_close(s.u_lag_s, 0.015, 1e-12);
    }
    signals_free(&s);
    return known;
}

static void a_lag_takes_twenty_five_rows_that_tell(void **state)
{
    (void)state;
    /* the third jump lies between the last two rows: one row still knows of 71 % of it */
    static const size_t at[] = {60, 120, 198};
    static const double up[] = {0.18, -0.18, 0.18}, little[] = {0.0301, 0.0301, 0.0301},
                        less[] = {0.0299, 0.0299, 0.0299}, much[] = {0.79, -0.79, 0.79}, more[] = {0.81, -0.81, 0.81};
    assert_true(knows_lag(at, up, 3, 200, 10));
    assert_false(knows_lag(at, up, 2, 200, 10));
    assert_false(knows_lag(at, up, 3, 199, 10)); /* the last row is gone, and with it the jump */
    /* rows with all of a change of a little more than 0.03, and of less than 0.8: ten a jump */
    static const size_t in_middle[] = {60, 120, 180};
    assert_true(knows_lag(in_middle, little, 3, 240, 10));
    assert_false(knows_lag(in_middle, less, 3, 240, 10));
    assert_true(knows_lag(in_middle, much, 3, 240, 10));
    assert_false(knows_lag(in_middle, more, 2, 240, 10)); /* the rows with 71 % of it are four */
    /* both the engine and the car move before and after: 60 rad/s and 3 m/s */
    static const double fast[] = {0.18, 0.18, 0.18};
    assert_true(knows_lag(in_middle, fast, 3, 240, 200 / 3.05));
    assert_false(knows_lag(in_middle, up, 3, 240, 200 / 2.9));
}

/* Twenty-four rows and more where the engine turns by a little more, or less, than 60 rad/s. */
static void a_lag_takes_an_engine_that_turns(void **state)
{
    (void)state;
    static const size_t at[] = {60, 120, 180};
    static const double down[] = {0.3, -0.3, 0.3};
    for (int slow = 0; slow < 2; slow++) {
        jumps(at, down, 3, 240, 10);
        for (size_t i = 0; i < 240; i++)
            engine[i] *= (float)((slow ? 59 : 61) / 200.0);
        make(240, 0, NAN, NAN);
        assert_true(s.lag_known == !slow);
        signals_free(&s);
    }
}

/* How far a lag is known: a tenth of the time between news at least, and where it is not known that time. */
static void a_lag_is_known_as_well_as_news_come(void **state)
{
    (void)state;
    static const size_t at[] = {60, 120, 180};
    static const double up[] = {0.18, -0.18, 0.18};
    static const double fresh_s[] = {0.14, 0.16, 0.5};
    for (int k = 0; k < 3; k++) {
        jumps(at, up, 3, 240, 10);
        make(240, 0, fresh_s[k], NAN);
        assert_true(s.lag_known);
        expect_close(s.u_lag_s, fmax(0.015, 0.1 * fresh_s[k]), 1e-12);
        signals_free(&s);
        jumps(at, up, 1, 240, 10);
        make(240, 0, fresh_s[k], NAN);
        assert_false(s.lag_known);
        expect_close(s.u_lag_s, fmax(0.15, fresh_s[k]), 1e-12);
        signals_free(&s);
    }
}

/* Of eight thousand rows and more every other is looked at: six of a jump. */
static void a_long_log_is_looked_at_in_fewer_rows(void **state)
{
    (void)state;
    static const size_t at[] = {1000, 3000, 5000};
    static const double up[] = {0.18, -0.18, 0.18};
    assert_true(knows_lag(at, up, 3, 7999, 10));
    assert_false(knows_lag(at, up, 3, 8000, 10));
}

/* Jumps of engine speed up and down 3.5 s apart, of which road speed shows the first `shown`: in the others nothing is in gear. */
static void jumps_shown(size_t n_jumps, size_t shown)
{
    const size_t n = 50 * (n_jumps + 1);
    rows_every(0.07, n);
    for (size_t i = 0; i < n; i++) {
        const size_t jump = i / 50;
        engine[i] = (float)(300 * exp(jump % 2 == 1 ? 0.18 : 0));
        road[i] = (float)(30 * exp((jump < shown ? jump : shown) % 2 == 1 ? 0.18 : 0) * (1 + 1e-4 * (double)(i % 2)));
    }
    make(n, 0, NAN, NAN);
}

/*
 * Rows that road speed does not go along with disagree by 0.18^2/(0.18^2 + 0.02^2) = 0.988, at any lag. Those that it does agree at the right one, and at others up to 0.8 s off in part of
 * the jump's rows: on average over all that are tried in 10/41 of them. So of q shown 0.988 (1 - q) is left at the best, 0.988 (1 - 0.244 q) on average: more than a
 * quarter is plain, a fiftieth stands out.
 */
static void a_lag_is_plain_or_stands_out_or_is_not_known(void **state)
{
    (void)state;
    static const struct {
        size_t jumps, shown;
        bool known, plain;
    } cases[] = {{50, 13, true, true}, {50, 11, true, false}, {50, 4, true, false}, {40, 2, true, false},
                 {40, 1, true, false}, {60, 1, false, false}, {60, 0, false, false}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        jumps_shown(cases[k].jumps, cases[k].shown);
        assert_true(s.lag_known == cases[k].known);
        expect_close(s.u_lag_s, cases[k].plain ? 0.015 : cases[k].known ? 0.03 : 0.15, 1e-12);
        expect_close(s.lag_s, 0, cases[k].known ? 0.011 : 0);
        signals_free(&s);
    }
}

/* Lags are sought up to 1.6 s either way. */
static void lags_are_found_up_to_a_second_and_a_half(void **state)
{
    (void)state;
    static const int rows_late[] = {-22, -10, -3, 0, 2, 7, 14, 22};
    static const size_t at[] = {100, 160, 200, 290, 400};
    static const double up[] = {0.18, -0.12, 0.21, -0.1, 0.09};
    for (size_t k = 0; k < sizeof rows_late / sizeof rows_late[0]; k++) {
        jumps(at, up, 5, 500, 10);
        for (size_t i = 0; i < 500; i++) {
            const long from = (long)i - rows_late[k];
            road[i] = engine[from < 0 ? 0 : from > 499 ? 499 : from] / 10 * (1 + 1e-4F * (float)(i % 2));
        }
        make(500, 0, NAN, NAN);
        expect_close(s.lag_s, 0.07 * rows_late[k], 0.011);
        /* moved to engine time: beyond the log's end there is none */
        for (size_t i = 0; i < 500; i++)
            if (isnan(s.road[i]))
                assert_true(times[i] + s.lag_s < 0 || times[i] + s.lag_s > times[499]);
        for (size_t i = 60; i < 90; i++)
            expect_close(s.road[i], 20, 0.0021);
        signals_free(&s);
    }
}

static void acceleration_is_the_slope_over_six_tenths_of_a_second(void **state)
{
    (void)state;
    /* of a cube the slope between two points h to either side is h^2 more than its own */
    static const double fresh_s[] = {NAN, 0.29, 0.31, 0.5};
    static const double half_s[] = {0.3, 0.3, 0.31, 0.5};
    for (int k = 0; k < 4; k++) {
        rows_every(0.05, 100);
        for (size_t i = 0; i < 100; i++) {
            const double t = times[i] - 2.5;
            road[i] = (float)(20 + 0.2 * t * t * t + 0.01 * (double)(i % 2)); /* news with each row */
        }
        make(100, 0, fresh_s[k], NAN);
        for (size_t i = 0; i < 100; i++)
            s.drawn[i] = (float)(20 + 0.2 * pow(times[i] - 2.5, 3));
        signals_move(&s, 0);
        for (size_t i = 15; i < 85; i++) {
            const double t = times[i] - 2.5;
            expect_close(s.climb[i], 0.2 * (3 * t * t + half_s[k] * half_s[k]),
                         k == 2 ? 0.004 : 2e-4); /* 0.31 s lie between rows */
        }
        assert_true(isnan(s.climb[2]) && isnan(s.climb[97]));
        /* by another lag */
        signals_move(&s, 0.5);
        expect_close(s.lag_s, 0.5, 0);
        for (size_t i = 0; i < 89; i++)
            expect_close(s.road[i], 20 + 0.2 * pow(times[i] - 2, 3), 2e-5);
        for (size_t i = 91; i < 100; i++)
            assert_true(isnan(s.road[i]));
        signals_free(&s);
    }
}

static void a_ratio_is_that_of_a_car_and_an_engine_that_move(void **state)
{
    (void)state;
    rows_every(0.05, 40);
    make(40, 0, NAN, NAN);
    for (size_t i = 0; i < 40; i++)
        s.climb[i] = 1;
    static const struct {
        float engine, road;
        double offset;
        bool known;
    } cases[] = {{60.5F, 5, 0, true},   {59.5F, 5, 0, false},   {60, 5, 0, false},      {200, 1.5F, 0, false},
                 {200, 1.51F, 0, true}, {200, 1.49F, 0, false}, {200, 1.4F, 0.2, true}, {200, 1.6F, -0.2, false}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        s.engine[20] = cases[k].engine;
        s.road[20] = cases[k].road;
        signals_ratio(&s, cases[k].offset);
        assert_true((isnan(s.ratio[20]) == 0) == cases[k].known);
        expect_close(s.ratio[10], log(200 / (20 + cases[k].offset)), 1e-6);
        if (cases[k].known)
            expect_close(s.ratio[20], log(cases[k].engine / (cases[k].road + cases[k].offset)), 1e-6);
    }
    signals_free(&s);
}

/* The tyres' creep goes with the drive force over the car's weight; braked harder than an engine brakes it counts as none. */
static void creep_is_taken_off_by_the_drive_force(void **state)
{
    (void)state;
    static const double climb[] = {3, 0, -0.2, -0.84, -0.88, -5};
    rows_every(0.05, 40);
    make(40, 0, NAN, NAN);
    for (int k = 0; k < 6; k++) {
        for (size_t i = 0; i < 40; i++)
            s.climb[i] = (float)climb[k];
        s.creep_1 = 0.05;
        signals_ratio(&s, 0);
        const double traction = climb[k] + 0.00035 * 400 + 0.12, force = traction > -0.6 ? traction / 9.80665 : 0;
        expect_close(s.ratio[20], log(10) - 0.05 * force, 1e-6);
        expect_close(signals_traction(&s, 20), traction, 1e-6);
        expect_close(signals_drive_force(&s, 20), force, 1e-7);
        s.creep_1 = 0;
        signals_ratio(&s, 0);
        expect_close(s.ratio[20], log(10), 1e-6);
    }
    signals_free(&s);
}

/* Over three rows where the outer two lie less than 0.13 s apart. */
static void rows_close_together_share_their_ratio(void **state)
{
    (void)state;
    static const double every_s[] = {0.064, 0.066};
    for (int k = 0; k < 2; k++) {
        rows_every(every_s[k], 40);
        make(40, 0, NAN, NAN);
        for (size_t i = 0; i < 40; i++)
            s.engine[i] = (float)(200 * exp(0.01 * (double)(i * i % 7)));
        s.engine[30] = 10;
        signals_ratio(&s, 0);
        for (size_t i = 0; i < 40; i++) {
            const double own = s.ratio[i];
            const bool alone = k == 1 || i == 0 || i == 39 || (i >= 29 && i <= 31);
            if (i == 30)
                assert_true(isnan(s.smooth[i]));
            else
                expect_close(s.smooth[i], alone ? own : (s.ratio[i - 1] + own + s.ratio[i + 1]) / 3, 1e-6);
        }
        signals_free(&s);
    }
}

/* Change over the window to either side. */
static void drift_is_the_change_over_two_windows(void **state)
{
    (void)state;
    static const double fresh_s[] = {NAN, 0.4};
    for (int k = 0; k < 2; k++) {
        const double window_s = k == 0 ? 0.25 : 0.4;
        rows_every(0.05, 60);
        make(60, 0, fresh_s[k], NAN);
        expect_close(s.window_s, window_s, 1e-12);
        for (size_t i = 0; i < 60; i++)
            s.engine[i] = (float)(200 * exp(0.1 * times[i]));
        signals_ratio(&s, 0);
        for (size_t i = 10; i < 50; i++)
            expect_close(s.drift[i], 0.1 * 2 * window_s, 2e-6);
        assert_true(isnan(s.drift[3]) && isnan(s.drift[56]));
        signals_free(&s);
    }
}

/* Rows a second apart, or three of their usual intervals, are no neighbours: between them, and at the first of them, nothing is known. */
static void nothing_is_known_within_a_gap(void **state)
{
    (void)state;
    static const struct {
        double every_s, gap_s;
        bool known;
    } cases[] = {{0.05, 0.98, true}, {0.05, 1.02, false}, {0.4, 1.18, true}, {0.4, 1.22, false}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        rows_every(cases[k].every_s, 80);
        for (size_t i = 0; i < 80; i++) {
            times[i] += i > 40 ? cases[k].gap_s - cases[k].every_s : 0;
            road[i] += (float)(i % 2) * 0.01F;
        }
        make(80, 0, NAN, NAN);
        assert_true((isnan(s.road[40]) == 0) == cases[k].known);
        assert_true((isnan(s.climb[40]) == 0) == cases[k].known);
        assert_true((isnan(s.ratio[40]) == 0) == cases[k].known);
        assert_true((isnan(s.drift[40]) == 0) == cases[k].known);
        assert_true(isnan(s.road[39]) == 0 && isnan(s.road[41]) == 0);
        /* moved by more than the gap road speed is known on both sides of it, and what is asked for within it is not */
        signals_move(&s, cases[k].gap_s + 1.5 * cases[k].every_s);
        signals_ratio(&s, 0);
        assert_true(isnan(s.road[40]) == 0 && isnan(s.road[41]) == 0);
        assert_true((isnan(s.climb[41]) == 0) == cases[k].known);
        assert_true((isnan(s.drift[41]) == 0) == cases[k].known);
        signals_free(&s);
    }
}

/* Whichever allocation fails nothing is left behind, and of those that do not all is given back. */
static void signals_give_back_what_they_took(void **state)
{
    (void)state;
    const trail t = {.n = 40, .room = ROOM, .time_s = times, .channel = {[TRAIL_ENGINE] = engine, [TRAIL_ROAD] = road}};
    rows_every(0.05, 40);
    for (long nth = 1;; nth++) {
        ch_err err = {0};
        fail_alloc_at(nth);
        s = (signals){.n = 7};
        const ch_status rc = signals_make(&t, 0, NAN, NAN, NAN, &s, &err);
        const bool failed = fail_alloc_stop();
        if (!failed) {
            assert_int_equal(rc, CH_OK);
            assert_int_equal(nth, 9); /* seven arrays, and the rows that tell of a lag */
            signals_free(&s);
            assert_int_equal(fail_alloc_left(), 0);
            break;
        }
        assert_int_equal(rc, CH_E_MEMORY);
        assert_string_equal(err.what, "no memory for the run");
        assert_int_equal(fail_alloc_left(), 0);
        assert_int_equal(s.n, 7); /* untouched */
    }
}

static void a_value_is_read_up_to_the_reach_and_from_end_to_end(void **state)
{
    (void)state;
    const double at[] = {1, 2, 4, 4.5, 9};
    const float x[] = {10, 20, 0, 5, 14};
    static const struct {
        double at_s, reach_s, want;
    } cases[] = {{1, 5, 10},
                 {0.999, 5, NAN},
                 {9, 5, 14},
                 {9.001, 5, NAN},
                 {4, 1, 0},
                 {2, 2, 20},
                 {3, 2, 10},
                 {3, 1.99, NAN},
                 {4.25, 2, 2.5},
                 {6.75, 4.5, 9.5},
                 {6.75, 4.4, NAN},
                 {1.5, 1, 15},
                 {8.999, 4.6, 14 - 0.001 * 2}};
    for (size_t from = 0; from < 5; from++) /* wherever the last look ended */
        for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
            size_t hint = from;
            const double got = signals_at(at, x, 5, cases[k].at_s, cases[k].reach_s, &hint);
            if (isnan(cases[k].want))
                assert_true(isnan(got));
            else
                expect_close(got, cases[k].want, 1e-9);
            if (cases[k].at_s >= 1 && cases[k].at_s <= 9)
                assert_true(at[hint] <= cases[k].at_s && (hint == 4 || at[hint + 1] > cases[k].at_s));
        }
}

static void rows_follow_each_other_within_a_second_or_three_rows(void **state)
{
    (void)state;
    const double at[] = {0.0, 1.0, 2.0625, 3.5625, 5.125, 5.125};
    signals apart = {.n = 6, .time_s = at, .interval_s = 0.0625};
    assert_true(signals_follow(&apart, 1));
    assert_false(signals_follow(&apart, 2));
    assert_false(signals_follow(&apart, 3));
    assert_true(signals_follow(&apart, 5));
    apart.interval_s = 0.5;
    assert_true(signals_follow(&apart, 3));
    assert_false(signals_follow(&apart, 4));
    assert_int_equal(signals_row_before(&apart, 3, 1.5), 2);
    assert_int_equal(signals_row_before(&apart, 3, 1.51), 1);
    assert_int_equal(signals_row_before(&apart, 3, 0.0), 3);
    assert_int_equal(signals_row_before(&apart, 3, 3.5625), 0);
    assert_int_equal(signals_row_before(&apart, 3, 9.0), 0);
    assert_int_equal(signals_row_before(&apart, 0, 9.0), 0);
    assert_int_equal(signals_row_before(&apart, 5, 0.5), 3);
}

static void quantiles_of_few_values_lie_within_their_cells(void **state)
{
    (void)state;
    static quantile q;
    quantile_start(&q, -512, 512); /* cells one wide */
    static const double values[] = {-512, -512.001, -511.5, 0, 100.25, 511.999, 512, NAN};
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++)
        quantile_add(&q, values[i]);
    assert_int_equal(q.n, 5);
    /* two in the first cell, one each in those from 0, 100 and 511: shares of five, straight through each cell */
    static const struct {
        double share, want;
    } cases[] = {{0, -512}, {0.1, -511.75}, {0.2, -511.5}, {0.4, -511},  {0.5, 0.5},
                 {0.6, 1},  {0.7, 100.5},   {0.8, 101},    {0.9, 511.5}, {1, 512}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++)
        expect_close(quantile_at(&q, cases[k].share), cases[k].want, 1e-9);
    quantile_start(&q, 0, 1); /* begun anew: empty */
    assert_int_equal(q.n, 0);
    assert_true(isnan(quantile_at(&q, 0.5)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_lag_takes_twenty_five_rows_that_tell),
        cmocka_unit_test(a_lag_takes_an_engine_that_turns),
        cmocka_unit_test(a_lag_is_known_as_well_as_news_come),
        cmocka_unit_test(a_long_log_is_looked_at_in_fewer_rows),
        cmocka_unit_test(a_lag_is_plain_or_stands_out_or_is_not_known),
        cmocka_unit_test(lags_are_found_up_to_a_second_and_a_half),
        cmocka_unit_test(acceleration_is_the_slope_over_six_tenths_of_a_second),
        cmocka_unit_test(a_ratio_is_that_of_a_car_and_an_engine_that_move),
        cmocka_unit_test(creep_is_taken_off_by_the_drive_force),
        cmocka_unit_test(rows_close_together_share_their_ratio),
        cmocka_unit_test(drift_is_the_change_over_two_windows),
        cmocka_unit_test(nothing_is_known_within_a_gap),
        cmocka_unit_test(signals_give_back_what_they_took),
        cmocka_unit_test(a_value_is_read_up_to_the_reach_and_from_end_to_end),
        cmocka_unit_test(rows_follow_each_other_within_a_second_or_three_rows),
        cmocka_unit_test(quantiles_of_few_values_lie_within_their_cells),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
