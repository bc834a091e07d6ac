/*
 * Promises of driveline/signal.c, trail.c and quantile.c: made from curves that are known exactly, held, stepped and shifted as loggers do it, the signals
 * come back.
 */
#include <stdlib.h>
#include <string.h>

#include "../../src/driveline/parts.h"
#include "expect.h"

enum { ROWS = 2400 };
static const double EVERY_S = 0.05, LINE_RAD_M = 9.0;

static double times[ROWS];
static float engine[ROWS], road[ROWS];

/* A car that gains and loses speed, m/s. */
static double speed_at(double time_s)
{
    return 20.0 + 8.0 * sin(0.35 * time_s) + 3.0 * sin(0.11 * time_s);
}

static double rate_at(double time_s)
{
    return 2.8 * cos(0.35 * time_s) + 0.33 * cos(0.11 * time_s);
}

/* Rows of a trail: engine speed on one line; road speed `lag_s` late, held for `hold` rows, in whole steps where step > 0. */
static trail trail_of(double lag_s, int hold, double step)
{
    for (int i = 0; i < ROWS; i++) {
        times[i] = 10.0 + i * EVERY_S;
        engine[i] = (float)(LINE_RAD_M * speed_at(times[i]));
        const double seen = speed_at(10.0 + (i - i % hold) * EVERY_S - lag_s);
        road[i] = (float)(step > 0 ? step * floor(seen / step) : seen);
    }
    trail t = {.n = ROWS, .room = ROWS, .time_s = times};
    t.channel[TRAIL_ENGINE] = engine;
    t.channel[TRAIL_ROAD] = road;
    return t;
}

static void values_between_rows_lie_on_straight_lines(void **state)
{
    (void)state;
    const double at[] = {1.0, 2.0, 4.0, 10.0};
    const float x[] = {10.0F, 20.0F, 0.0F, 6.0F};
    size_t hint = 0;
    expect_close(signals_at(at, x, 4, 1.0, 3.0, &hint), 10.0, 1e-6);
    expect_close(signals_at(at, x, 4, 1.25, 3.0, &hint), 12.5, 1e-6);
    expect_close(signals_at(at, x, 4, 3.5, 3.0, &hint), 5.0, 1e-6);
    expect_close(signals_at(at, x, 4, 2.0, 3.0, &hint), 20.0, 1e-6); /* back again */
    expect_close(signals_at(at, x, 4, 10.0, 3.0, &hint), 6.0, 1e-6);
    assert_true(isnan(signals_at(at, x, 4, 5.0, 3.0, &hint))); /* the rows about it are too far apart */
    expect_close(signals_at(at, x, 4, 7.0, 6.0, &hint), 3.0, 1e-6);
    assert_true(isnan(signals_at(at, x, 4, 0.9, 3.0, &hint)) && isnan(signals_at(at, x, 4, 10.1, 3.0, &hint)));
    assert_true(isnan(signals_at(at, x, 0, 1.0, 3.0, &hint)));
}

static void the_lag_of_road_speed_is_found_and_taken_out(void **state)
{
    (void)state;
    static const double lags_s[] = {0.0, 0.31, 0.84, 1.5, -0.42};
    for (size_t k = 0; k < sizeof lags_s / sizeof lags_s[0]; k++) {
        const trail t = trail_of(lags_s[k], 1, 0);
        signals s;
        assert_int_equal(signals_make(&t, 0, EVERY_S, EVERY_S, EVERY_S, &s, NULL), CH_OK);
        assert_true(s.lag_known);
        expect_close(s.lag_s, lags_s[k], 0.011); /* searched in steps of 0.01 */
        expect_close(s.u_lag_s, 0.015, 1e-12);
        expect_close(s.interval_s, EVERY_S, 1e-9);
        expect_close(s.window_s, 0.25, 1e-12);
        signals_ratio(&s, 0.0);
        for (size_t i = 60; i + 60 < ROWS; i++) {
            expect_close(s.road[i], speed_at(times[i]), 0.05); /* 0.01 s of at most 3 m/s2, twice in doubt */
            expect_close(s.climb[i], rate_at(times[i]), 0.05); /* over 0.6 s: the third derivative leaves 0.005 */
            expect_close(s.ratio[i], log(LINE_RAD_M), 0.005);
            expect_close(s.smooth[i], log(LINE_RAD_M), 0.005);
            expect_close(s.drift[i], 0.0, 0.005);
        }
        /* half a metre a second more on the road: the ratio is that much lower */
        signals_ratio(&s, 0.5);
        for (size_t i = 60; i + 60 < ROWS; i++)
            expect_close(s.ratio[i], log(LINE_RAD_M * speed_at(times[i]) / (speed_at(times[i]) + 0.5)), 0.005);
        signals_free(&s);
    }
}

/* At a standstill, and with the engine hardly turning, engine over road says nothing: below 1.5 m/s and 60 rad/s. */
static void a_ratio_needs_an_engine_and_a_car_that_move(void **state)
{
    (void)state;
    static const struct {
        float engine, road;
        bool known;
    } cases[] = {{100.0F, 1.7F, true}, {100.0F, 1.4F, false}, {100.0F, 0.0F, false}, {70.0F, 5.0F, true},
                 {55.0F, 5.0F, false}, {NAN, 5.0F, false},    {100.0F, NAN, false}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const trail t = trail_of(0.0, 1, 0);
        for (int i = 0; i < ROWS; i++) {
            engine[i] = cases[k].engine;
            road[i] = cases[k].road;
        }
        signals s;
        assert_int_equal(signals_make(&t, 0, EVERY_S, EVERY_S, EVERY_S, &s, NULL), CH_OK);
        signals_ratio(&s, 0.0);
        for (size_t i = 60; i + 60 < ROWS; i++) {
            assert_true(isnan(s.ratio[i]) != cases[k].known);
            if (cases[k].known)
                expect_close(s.ratio[i], log((double)cases[k].engine / (double)cases[k].road), 1e-5);
        }
        signals_free(&s);
    }
}

static void where_nothing_changes_no_lag_is_known(void **state)
{
    (void)state;
    trail t = trail_of(0.3, 1, 0);
    for (int i = 0; i < ROWS; i++)
        engine[i] = 180.0F, road[i] = 20.0F;
    signals s;
    assert_int_equal(signals_make(&t, 0, 0.5, EVERY_S, EVERY_S, &s, NULL), CH_OK);
    assert_false(s.lag_known);
    expect_close(s.lag_s, 0.0, 0.0);
    expect_close(s.u_lag_s, 0.5, 1e-12); /* as slow as the slower of the two */
    expect_close(s.engine_fresh_s, 0.5, 1e-12);
    signals_free(&s);
}

static void a_speed_that_was_held_is_drawn_through_its_news(void **state)
{
    (void)state;
    enum { HOLD = 8 };
    trail t = trail_of(0.0, HOLD, 0);
    signals s;
    assert_int_equal(signals_make(&t, 0, EVERY_S, HOLD * EVERY_S, HOLD * EVERY_S, &s, NULL), CH_OK);
    expect_close(s.road_fresh_s, HOLD * EVERY_S, 1e-12);
    for (size_t i = 0; i + HOLD < ROWS; i++) {
        /* on the line between the news before and the news behind */
        const size_t from = i - i % HOLD;
        const double part = (double)(i - from) / HOLD;
        expect_close(s.drawn[i], (1.0 - part) * speed_at(times[from]) + part * speed_at(times[from + HOLD]), 1e-4);
    }
    expect_close(s.lag_s, 0.0, 0.011);
    signals_free(&s);

    /* long steady, then news: drawn over the usual interval ahead of it, steady before */
    for (int i = 0; i < ROWS; i++)
        road[i] = i < 100 ? 15.0F : i < 200 ? 15.2F : 15.0F;
    assert_int_equal(signals_make(&t, 0, EVERY_S, HOLD * EVERY_S, HOLD * EVERY_S, &s, NULL), CH_OK);
    for (size_t i = 0; i < 300; i++) {
        const double up = fmin(fmax((double)i - 92.0, 0.0), 8.0) / 8.0,
                     down = fmin(fmax((double)i - 192.0, 0.0), 8.0) / 8.0;
        expect_close(s.drawn[i], 15.0 + 0.2 * (up - down), 1e-4);
    }
    signals_free(&s);
}

/* A receiver without satellites repeats its last speed; no car leaps like that at the end of a steady stretch. */
static void a_speed_repeated_until_it_leaps_is_unknown(void **state)
{
    (void)state;
    enum { HOLD = 8 };
    trail t = trail_of(0.0, HOLD, 0);
    for (int i = 0; i < ROWS; i++)
        road[i] = i < 100 ? 15.0F : i < 200 ? 19.0F : 15.0F;
    signals s;
    assert_int_equal(signals_make(&t, 0, EVERY_S, HOLD * EVERY_S, HOLD * EVERY_S, &s, NULL), CH_OK);
    expect_close(s.drawn[0], 15.0, 1e-6);
    for (size_t i = 1; i < 100; i++)
        assert_true(isnan(s.drawn[i]));
    expect_close(s.drawn[100], 19.0, 1e-6);
    for (size_t i = 101; i < 200; i++)
        assert_true(isnan(s.drawn[i]));
    expect_close(s.drawn[200], 15.0, 1e-6);
    signals_free(&s);
}

/* A step crossed lies within half a row of where it is drawn: 0.025 s of at most 3.2 m/s2, and curvature between two crossings. */
/* The same where the log ends in it: the speed changed until then, and would not have stopped at once. A car that keeps its speed does. */
static void a_speed_repeated_until_the_log_ends_is_unknown(void **state)
{
    (void)state;
    for (int steady = 0; steady <= 1; steady++) {
        const size_t rows = ROWS, from = rows - 24, before = from - 20; /* the last 1.2 s */
        trail t = trail_of(0.0, 1, 0);
        for (size_t i = before; i < rows; i++)
            road[i] = steady ? road[before] + 1e-4F * (float)(i % 2) : road[before] + 0.1F * (float)(i - before);
        for (size_t i = from; i < rows; i++)
            road[i] = road[from - 1];
        signals s;
        assert_int_equal(signals_make(&t, 0, EVERY_S, EVERY_S, EVERY_S, &s, NULL), CH_OK);
        assert_true((isnan(s.drawn[rows - 1]) != 0) == (steady == 0));
        assert_true((isnan(s.drawn[from + 2]) != 0) == (steady == 0));
        assert_true(isfinite(s.drawn[from - 2]) != 0);
        signals_free(&s);
    }
}

static void a_speed_in_whole_steps_is_drawn_through_the_crossings(void **state)
{
    (void)state;
    const double step = 1.0 / 3.6;
    const trail t = trail_of(0.0, 1, step);
    signals s;
    assert_int_equal(signals_make(&t, step, EVERY_S, 0.15, EVERY_S, &s, NULL), CH_OK);
    expect_close(s.road_fresh_s, 0.1, 1e-12);
    double square = 0.0, most = 0.0;
    size_t n = 0;
    for (size_t i = 60; i + 60 < ROWS; i++, n++) {
        /* A logger that cuts off shows half a step less than the mean of the two steps at a crossing; drawn through it. */
        const double off = s.drawn[i] - (speed_at(times[i]) - 0.5 * step);
        square += off * off;
        most = fmax(most, fabs(off));
    }
    assert_true(most <= 1.01 * step); /* never further than a step from what was logged */
    assert_true(sqrt(square / (double)n) < 0.25 * step);
    signals_free(&s);
}

static void quantiles_are_those_of_the_values(void **state)
{
    (void)state;
    static quantile q;
    quantile_start(&q, -1.0, 3.0);
    assert_true(isnan(quantile_at(&q, 0.5)));
    for (int i = 0; i < 4000; i++)
        quantile_add(&q, (i + 0.5) / 4000.0 * 2.0); /* evenly from 0 to 2 */
    quantile_add(&q, -1.5);
    quantile_add(&q, 3.0);
    quantile_add(&q, NAN);
    assert_int_equal(q.n, 4000);
    const double share[] = {0.1, 0.25, 0.5, 0.9};
    for (int i = 0; i < 4; i++)
        expect_close(quantile_at(&q, share[i]), 2.0 * share[i], 1e-3); /* a quarter of a cell */
    quantile_start(&q, 0.0, 1.0);
    quantile_add(&q, 0.0);
    assert_true(quantile_at(&q, 1.0) >= 0.0 && quantile_at(&q, 1.0) <= 1.0 / QUANTILE_CELLS);
}

static void news_come_as_often_as_the_values_change(void **state)
{
    (void)state;
    static double at_s[ROWS], value[ROWS];
    for (int hold = 2; hold <= 20; hold += 6) {
        static fresh_count fresh;
        memset(&fresh, 0, sizeof fresh);
        for (int i = 0; i < ROWS; i++) {
            at_s[i] = 5.0 + i * EVERY_S;
            value[i] = i % 7 == 3 ? NAN : (double)(i / hold);
        }
        fresh_look(&fresh, at_s, value, ROWS / 2);
        fresh_look(&fresh, at_s + ROWS / 2, value + ROWS / 2, ROWS / 2);
        unsigned counted = 0;
        for (int i = 0; i < FRESH_PLACES; i++)
            counted += fresh.places[i];
        expect_close((double)counted, (double)(ROWS - 1) / hold - 1.0, 1.0);
        /* cells of FRESH_STEP_S; a missing value makes a change one row late now and then */
        expect_close(fresh_interval(&fresh), hold * EVERY_S, 0.05 + FRESH_STEP_S);
    }
    static const fresh_count none;
    assert_true(isnan(fresh_interval(&none)));
    unsigned places[FRESH_PLACES] = {0};
    fresh_add(places, 1e6);
    assert_int_equal(places[FRESH_PLACES - 1], 1);
}

static void steps_of_a_speed_are_recognised(void **state)
{
    (void)state;
    static const double steps_m_s[] = {0.44704, 1 / 3.6, 0.22352,
                                       0.5 / 3.6}; /* 1 mph and 1 km/h (NIST SP 811, B.8), halves of them */
    static double v[400];
    for (int k = 0; k < 4; k++) {
        step_count steps = {0};
        for (int i = 0; i < 400; i++)
            v[i] = steps_m_s[k] * (5 + (i * 7) % 97);
        step_look(&steps, v, 400);
        expect_close(step_found(&steps), steps_m_s[k], 1e-12);
    }
    step_count fine = {0}, few = {0};
    for (int i = 0; i < 400; i++)
        v[i] = 2.0 + 0.0731 * i;
    step_look(&fine, v, 400);
    expect_close(step_found(&fine), 0.0, 0.0);
    for (int i = 0; i < 9; i++)
        v[i] = (5 + i) / 3.6;
    step_look(&few, v, 9); /* nine values are too few to tell */
    expect_close(step_found(&few), 0.0, 0.0);
}

static void rows_close_together_become_one_with_their_means(void **state)
{
    (void)state;
    trail t = {0};
    static trail_bin bin;
    memset(&bin, 0, sizeof bin);
    double value[TRAIL_CHANNELS];
    /* 100 Hz, every value new: bins of four rows, 0.04 s apart */
    for (int i = 0; i < 400; i++) {
        const double at_s = 1.0 + 0.01 * i;
        for (int c = 0; c < TRAIL_CHANNELS; c++)
            value[c] = c == TRAIL_TEMPERATURE ? NAN : (c + 1) * 10.0 + at_s;
        if (i % 2 == 1)
            value[TRAIL_THROTTLE] = NAN; /* what cannot be read does not count */
        if (trail_bin_full(&bin, at_s))
            assert_int_equal(trail_close_bin(&t, &bin, 0.0, NULL), CH_OK);
        trail_add(&bin, value, at_s);
    }
    assert_int_equal(trail_close_bin(&t, &bin, 0.0, NULL), CH_OK);
    assert_int_equal(t.n, 100);
    for (size_t i = 0; i < t.n; i++) {
        const double middle_s = 1.0 + 0.04 * (double)i + 0.015;
        expect_close(t.time_s[i], middle_s, 1e-9);
        expect_close(t.channel[TRAIL_ENGINE][i], 10.0 + middle_s, 1e-4);
        expect_close(t.channel[TRAIL_ROAD][i], 20.0 + middle_s, 1e-4);
        if (i > 0) /* the first value ever is no news yet */
            expect_close(t.channel[TRAIL_THROTTLE][i], 30.0 + middle_s - 0.005, 1e-4);
        assert_true(isnan(t.channel[TRAIL_TEMPERATURE][i]));
    }
    assert_int_equal(trail_close_bin(&t, &bin, 0.0, NULL), CH_OK); /* empty: nothing is added */
    assert_int_equal(t.n, 100);
    trail_empty(&t);
    assert_int_equal(t.n, 0);
    trail_free(&t);
    assert_null(t.time_s);
}

/* A speed of 10 Hz in a log of 100 Hz, rising evenly: each bin shows what the straight line through the last two news has at its time. */
static void a_held_value_is_taken_where_its_line_stands(void **state)
{
    (void)state;
    trail t = {0};
    static trail_bin bin;
    memset(&bin, 0, sizeof bin);
    double value[TRAIL_CHANNELS] = {0};
    for (int i = 0; i < 600; i++) {
        const double at_s = 1.0 + 0.01 * i;
        value[TRAIL_ROAD] = 10.0 + 2.0 * 0.01 * (i - i % 10);
        if (trail_bin_full(&bin, at_s))
            assert_int_equal(trail_close_bin(&t, &bin, 0.0, NULL), CH_OK);
        trail_add(&bin, value, at_s);
    }
    size_t news = 0;
    for (size_t i = 20; i < t.n; i++)
        if (t.channel[TRAIL_ROAD][i] != t.channel[TRAIL_ROAD][i - 1]) {
            news++;
            expect_close(t.channel[TRAIL_ROAD][i], 10.0 + 2.0 * (t.time_s[i] - 1.0),
                         0.011); /* news of the bin's first or last row */
        }
    expect_close((double)news, 52.0, 2.0);
    trail_free(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(values_between_rows_lie_on_straight_lines),
        cmocka_unit_test(the_lag_of_road_speed_is_found_and_taken_out),
        cmocka_unit_test(a_ratio_needs_an_engine_and_a_car_that_move),
        cmocka_unit_test(where_nothing_changes_no_lag_is_known),
        cmocka_unit_test(a_speed_that_was_held_is_drawn_through_its_news),
        cmocka_unit_test(a_speed_repeated_until_it_leaps_is_unknown),
        cmocka_unit_test(a_speed_repeated_until_the_log_ends_is_unknown),
        cmocka_unit_test(a_speed_in_whole_steps_is_drawn_through_the_crossings),
        cmocka_unit_test(quantiles_are_those_of_the_values),
        cmocka_unit_test(news_come_as_often_as_the_values_change),
        cmocka_unit_test(steps_of_a_speed_are_recognised),
        cmocka_unit_test(rows_close_together_become_one_with_their_means),
        cmocka_unit_test(a_held_value_is_taken_where_its_line_stands),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
