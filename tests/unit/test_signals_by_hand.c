/*
 * Promises of driveline/signal.c and quantile.c on a few rows each, worked out by hand: what is drawn between news, what is forgotten, which rows tell of a lag, and each limit from
 * both sides.
 */
#include <stdlib.h>
#include <string.h>

#include "../../src/driveline/parts.h"
#include "expect.h"
#include "fail_alloc.h"

enum { ROOM = 8100 };

static double times[ROOM];
static float engine[ROOM], road[ROOM];
static signals s;

/* `n` rows a fixed time apart, all at rest with respect to each other: 200 rad/s and 20 m/s. */
static void rows_every(double every_s, size_t n)
{
    assert_true(n <= ROOM);
    for (size_t i = 0; i < n; i++) {
        times[i] = every_s * (double)i;
        engine[i] = 200;
        road[i] = 20;
    }
}

/* The signals of the first `n` rows. `news_s` between news of road speed. */
static void make(size_t n, double step_m_s, double road_fresh_s, double road_news_s)
{
    const trail t = {.n = n, .room = ROOM, .time_s = times, .channel = {[TRAIL_ENGINE] = engine, [TRAIL_ROAD] = road}};
    assert_int_equal(signals_make(&t, step_m_s, NAN, road_fresh_s, road_news_s, &s, NULL), CH_OK);
    signals_ratio(&s, 0);
}

static void the_usual_interval_is_the_mean_of_those_near_the_median(void **state)
{
    (void)state;
    /* of a row's twentieth of a second the counted place is 0.0625 s: 0.0375 to 0.0875 s are near it */
    static const double intervals_s[] = {0.052, 0.052, 0.039, 0.036, 0.052, 0.086, 0.089, 0.052, 0.052, 0.052, 3};
    const size_t n = sizeof intervals_s / sizeof intervals_s[0];
    rows_every(0, n + 1);
    for (size_t i = 0; i < n; i++)
        times[i + 1] = times[i] + intervals_s[i];
    make(n + 1, 0, NAN, NAN);
    expect_close(s.interval_s, (6 * 0.052 + 0.039 + 0.086) / 8, 1e-12);
    expect_close(s.engine_fresh_s, s.interval_s, 1e-12);
    expect_close(s.road_fresh_s, s.interval_s, 1e-12);
    expect_close(s.window_s, 0.25, 1e-12);
    signals_free(&s);
    assert_null(s.drawn);
    rows_every(20, 12); /* further apart than places are counted: the last of 400 of 0.025 s */
    make(12, 0, NAN, NAN);
    expect_close(s.interval_s, 399.5 * 0.025, 1e-9);
    signals_free(&s);
    make(1, 0, NAN, NAN); /* no interval at all */
    assert_true(isnan(s.interval_s));
    signals_free(&s);
    rows_every(0.05, 20);
    make(20, 0, 0.26, NAN);
    expect_close(s.window_s, 0.26, 1e-12);
    signals_free(&s);
}

static void a_held_value_is_drawn_from_its_last_news_or_one_interval_ahead(void **state)
{
    (void)state;
    rows_every(0.05, 60);
    /* news in rows 14, 25 (0.55 s: within one and a half intervals of 0.4 s) and 38 (0.65 s: beyond) */
    for (size_t i = 0; i < 60; i++)
        road[i] = i < 14 ? 20 : i < 25 ? 20.11F : i < 38 ? 20.22F : 20.3F;
    make(60, 0, 0.4, 0.4);
    for (size_t i = 0; i < 60; i++) {
        double want = road[i];
        if (i > 6 && i < 14)
            want = 20 + 0.11 * (double)(i - 6) / 8; /* one interval: eight rows */
        else if (i >= 14 && i < 25)
            want = 20.11 + 0.11 * (double)(i - 14) / 11;
        else if (i > 30 && i < 38)
            want = 20.22 + 0.08 * (double)(i - 30) / 8;
        expect_close(s.drawn[i], want, 2e-6);
    }
    signals_free(&s);
    /* hardly longer than a row: each has its own */
    make(60, 0, 0.0745, 0.0745);
    for (size_t i = 0; i < 60; i++)
        expect_close(s.drawn[i], road[i], 0);
    signals_free(&s);
    make(60, 0, 0.0755, 0.0755);
    expect_close(s.drawn[13], 20 + 0.11 * (0.0755 - 0.05) / 0.0755, 2e-6);
    signals_free(&s);
    /* nothing is drawn to what cannot be read, nor from it */
    road[19] = NAN;
    make(60, 0, 0.4, 0.4);
    for (size_t i = 14; i < 19; i++)
        expect_close(s.drawn[i], 20.11, 2e-6);
    assert_true(isnan(s.drawn[19]) != 0);
    for (size_t i = 20; i < 25; i++) /* since row 20, when it could be read again */
        expect_close(s.drawn[i], 20.11 + 0.11 * (double)(i - 20) / 5, 2e-6);
    signals_free(&s);
}

/* Engine speed that is held is drawn as well. */
static void a_held_engine_speed_is_drawn_too(void **state)
{
    (void)state;
    rows_every(0.05, 40);
    for (size_t i = 0; i < 40; i++)
        engine[i] = i < 20 ? 200 : 240;
    const trail t = {.n = 40, .room = ROOM, .time_s = times, .channel = {[TRAIL_ENGINE] = engine, [TRAIL_ROAD] = road}};
    static const double fresh_s[] = {0.2, 0.0755, 0.0745};
    static const double before[] = {230, 200 + 40 * 0.0255 / 0.0755, 200};
    for (int k = 0; k < 3; k++) {
        assert_int_equal(signals_make(&t, 0, fresh_s[k], NAN, NAN, &s, NULL), CH_OK);
        expect_close(s.engine_fresh_s, fresh_s[k], 1e-12);
        expect_close(s.engine[19], before[k], 1e-4);
        expect_close(s.engine[20], 240, 1e-4);
        signals_free(&s);
    }
}

/* Speeds that jitter, then stand for `rows` rows until a leap. */
static bool forgets(size_t rows, double leap_m_s, double step_m_s, double fresh_s)
{
    rows_every(0.05, 120);
    for (size_t i = 0; i < 120; i++) {
        const double jitter = (i < 41 ? i : i - rows) % 2 == (i < 41 ? 0 : 1) ? 0.02 : 0; /* none on the leap itself */
        road[i] = (float)(i <= 40 ? 20 + jitter : i < 40 + rows ? 20.02 : 20.02 + leap_m_s + jitter);
    }
    make(120, step_m_s, fresh_s, 0);
    const bool forgotten = isnan(s.drawn[41]);
    assert_true(!isnan(s.drawn[40]) && !isnan(s.drawn[40 + rows]));
    for (size_t i = 41; i < 40 + rows; i++)
        assert_true((isnan(s.drawn[i]) != 0) == forgotten);
    signals_free(&s);
    return forgotten;
}

static void a_speed_that_stood_before_it_leapt_is_forgotten(void **state)
{
    (void)state;
    assert_false(forgets(6, 2, 0, NAN)); /* 0.3 s, and more than 0.35 */
    assert_true(forgets(8, 2, 0, NAN));
    assert_true(forgets(8, -2, 0, NAN));
    assert_false(forgets(8, 0.24, 0, NAN));
    assert_true(forgets(8, 0.26, 0, NAN));
    assert_false(forgets(8, 0.29, 0.1, NAN)); /* three steps */
    assert_true(forgets(8, 0.31, 0.1, NAN));
    assert_true(forgets(8, 0.26, 0.08, NAN));
    assert_false(forgets(13, 2, 0, 0.2)); /* three and a half pieces of news of 0.2 s */
    assert_true(forgets(15, 2, 0, 0.2));
}

/* What equals a limit is not beyond it: the first row's speed until a row of a third of a second or so, then another. */
static bool forgets_from_the_start(double until_s, double leap_m_s)
{
    rows_every(0.05, 40);
    for (size_t i = 0; i < 40; i++) {
        times[i] = i < 6 ? 0.05 * (double)i : until_s + 0.05 * (double)(i - 6);
        road[i] = (float)(i < 6 ? 20 : 20 + leap_m_s + (i % 2 == 1 ? 0.01 : 0));
    }
    make(40, 0, NAN, NAN);
    const bool forgotten = isnan(s.drawn[3]) != 0;
    signals_free(&s);
    return forgotten;
}

static void what_equals_a_limit_of_a_leap_is_not_beyond_it(void **state)
{
    (void)state;
    assert_false(forgets_from_the_start(0.35, 2));
    assert_true(forgets_from_the_start(0.3501, 2));
    assert_false(forgets_from_the_start(0.4, 0.25));
    assert_true(forgets_from_the_start(0.4, 0.2501));
}

/* Speed that stands `still`, gains `gain` evenly over `rising` rows, then stands for `rows` rows until the log ends. */
static bool forgets_end(size_t rising, double gain_m_s, size_t rows, double step_m_s, double fresh_s)
{
    const size_t n = 60 + rising + rows;
    rows_every(0.05, n);
    for (size_t i = 0; i < n; i++)
        road[i] = (float)(20 + gain_m_s * fmin(fmax((double)i - 59, 0) / (double)rising, 1));
    make(n, step_m_s, fresh_s, 0);
    const bool forgotten = isnan(s.drawn[n - 1]);
    for (size_t i = 60 + rising; i < n; i++)
        assert_true((isnan(s.drawn[i]) != 0) == forgotten);
    assert_true(isfinite(s.drawn[59 + rising]) != 0);
    signals_free(&s);
    return forgotten;
}

static void a_speed_that_stands_until_the_end_is_forgotten_where_it_rose(void **state)
{
    (void)state;
    assert_false(forgets_end(20, 2, 6, 0, NAN)); /* 0.3 s */
    assert_true(forgets_end(20, 2, 8, 0, NAN));
    assert_true(forgets_end(20, -2, 8, 0, NAN));
    assert_false(forgets_end(20, 0.6, 8, 0, NAN)); /* 0.6 m/s2 for 0.4 s: less than 0.25 m/s */
    assert_true(forgets_end(20, 0.65, 8, 0, NAN));
    assert_false(forgets_end(20, 0.72, 8, 0.1, NAN)); /* three steps: 0.3 m/s */
    assert_true(forgets_end(20, 0.78, 8, 0.1, NAN));
    assert_false(forgets_end(6, 0.36, 8, 0, NAN)); /* in the last 0.6 s: 0.36/0.6*0.4 is 0.24, and 0.4 m/s give 0.27 */
    assert_true(forgets_end(6, 0.40, 8, 0, NAN));
    assert_false(forgets_end(20, 2, 13, 0, 0.2)); /* three and a half pieces of news of 0.2 s */
    assert_true(forgets_end(20, 2, 15, 0, 0.2));
    assert_false(forgets_end(6, 0.19, 22, 0, 0.3)); /* in the last three: 0.19/0.9*1.1 is 0.23, and 0.22 give 0.27 */
    assert_true(forgets_end(6, 0.22, 22, 0, 0.3));
    assert_false(forgets_end(1, 2, 8, 0, NAN)); /* one change is no way of changing, two are */
    assert_true(forgets_end(2, 2, 8, 0, NAN));
}

/* Values in whole steps of 1 m/s, changing at the given rows. */
static void stepped(const size_t *at, const float *to, size_t changes, size_t n)
{
    rows_every(0.1, n);
    for (size_t i = 0; i < n; i++) {
        road[i] = 10;
        for (size_t k = 0; k < changes; k++)
            if (i >= at[k])
                road[i] = to[k];
    }
}

static void steps_are_drawn_through_where_they_were_crossed(void **state)
{
    (void)state;
    static const size_t at[] = {5, 10, 15, 22};
    static const float to[] = {11, 12, 13, 12};
    stepped(at, to, 4, 30);
    make(30, 1, NAN, 0); /* each row has its own */
    for (size_t i = 0; i < 30; i++) {
        /* crossed half a row ahead: 10.5 at row 4.5, 11.5 at 9.5, 12.5 at 14.5 and at 21.5 again */
        const double x = (double)i;
        const double want = x < 4.5    ? 10
                            : x < 9.5  ? 10.5 + (x - 4.5) / 5
                            : x < 14.5 ? 11.5 + (x - 9.5) / 5
                            : x < 21.5 ? 12.5
                                       : 12;
        expect_close(s.drawn[i], want, 2e-6);
    }
    expect_close(s.road_fresh_s, 0.1, 1e-9);
    signals_free(&s);
    /* news every 0.24 s: half of that ahead */
    make(30, 1, 0.5, 0.24);
    for (size_t i = 0; i < 30; i++) {
        const double x = (double)i;
        const double want = x < 3.8    ? 10
                            : x < 8.8  ? 10.5 + (x - 3.8) / 5
                            : x < 13.8 ? 11.5 + (x - 8.8) / 5
                            : x < 20.8 ? 12.5
                                       : road[i]; /* behind the last crossing as logged */
        expect_close(s.drawn[i], want, 2e-6);
    }
    expect_close(s.road_fresh_s, 0.2, 1e-9); /* who sees each step has fresh values every other row */
    signals_free(&s);
    /* what cannot be read, or a second without rows, begins anew */
    for (int kind = 0; kind < 2; kind++) {
        stepped(at, to, 4, 30);
        for (size_t i = 7; i < 30; i++)
            times[i] += kind == 0 ? 0 : 0.95;
        if (kind == 0)
            road[7] = NAN;
        make(30, 1, NAN, 0);
        for (size_t i = 0; i < 15; i++) {
            const double x = (double)i;
            if (kind == 0 && i == 7)
                continue;
            const double want = x < 9.5 ? road[i] : x < 14.5 ? 11.5 + (x - 9.5) / 5 : 12.5;
            expect_close(s.drawn[i], want, 2e-6);
        }
        signals_free(&s);
        if (kind == 1) /* hardly a second: on through it, 10.5 at 0.45 s to 11.5 at 1.8 s */
            for (size_t i = 7; i < 30; i++)
                times[i] -= 0.1;
        make(30, 1, NAN, 0);
        expect_close(s.drawn[6], kind == 0 ? 11 : 10.5 + 0.15 / 1.35, 2e-6);
        signals_free(&s);
    }
}

static void a_jump_over_steps_goes_from_news_to_news(void **state)
{
    (void)state;
    static const size_t at[] = {5, 10, 15, 20, 25};
    static const float to[] = {11, 12, 13, 14, 16};
    stepped(at, to, 5, 32);
    make(32, 1, 0.5,
         0.2); /* four changes in five by one step: each is seen, and one by more than one and a half is a jump */
    for (size_t i = 19; i < 32; i++) {
        const double x = (double)i; /* 13.5 at row 19, straight to 14 at row 23, 16 at row 25 */
        const double want = x < 23 ? 13.5 + 0.5 * (x - 19) / 4 : x < 25 ? 14 + (x - 23) : 16;
        expect_close(s.drawn[i], want, 2e-6);
    }
    signals_free(&s);
    make(32, 1, 0.5, 0); /* read in each row: a crossing like the others */
    expect_close(s.drawn[22], 13.5 + 1.5 * 2.5 / 5, 2e-6);
    signals_free(&s);
    /* three in five: any change goes from news to news */
    static const float further[] = {11, 12, 13, 15, 17};
    stepped(at, further, 5, 32);
    make(32, 1, 0.5, 0.2);
    for (size_t i = 0; i < 18; i++) {
        const double x = (double)i;
        const double rises = fmod(x, 5) >= 3 ? (fmod(x, 5) - 3) / 2 : 0;
        expect_close(s.drawn[i], road[i] + rises, 2e-6);
    }
    expect_close(s.road_fresh_s, 0.5, 1e-9);
    signals_free(&s);
    /* never further than a step from what was logged: from the middle of 5 and 11 it would be 8 */
    static const size_t often[] = {5, 10, 15, 20, 25, 30, 35, 40, 45, 50};
    static const float high[] = {5, 11, 12, 13, 14, 15, 16, 17, 18, 19}, low[] = {17, 11, 10, 9, 8, 7, 6, 5, 4, 3};
    stepped(often, high, 10, 60);
    make(60, 1, NAN, 0);
    for (size_t i = 10; i < 15; i++)
        expect_close(s.drawn[i], fmax(8 + 3.5 * ((double)i - 9.5) / 5, 10), 2e-6);
    signals_free(&s);
    stepped(often, low, 10, 60);
    make(60, 1, NAN, 0);
    for (size_t i = 10; i < 15; i++)
        expect_close(s.drawn[i], fmin(14 - 3.5 * ((double)i - 9.5) / 5, 12), 2e-6);
    signals_free(&s);
}

/* Whether a speed of so many changes by one step and by two is drawn through its crossings. */
static bool sees_each(size_t singles, size_t doubles, double single, double every_s, double news_s)
{
    rows_every(every_s, 4 * (singles + doubles) + 4);
    float v = 10;
    for (size_t i = 0; i < 4 * (singles + doubles) + 4; i++) {
        if (i > 0 && i % 4 == 0)
            v += i / 4 <= singles ? (float)single : 2;
        road[i] = v;
    }
    make(4 * (singles + doubles) + 4, 1, 5, news_s);
    const bool seen = s.road_fresh_s < 1;
    signals_free(&s);
    return seen;
}

static void who_sees_four_changes_in_five_by_one_step_sees_each(void **state)
{
    (void)state;
    assert_true(sees_each(8, 2, 1, 0.1, 0));
    assert_false(sees_each(7, 2, 1, 0.1, 0));
    assert_true(sees_each(8, 2, 1.19, 0.1, 0)); /* written with few decimals */
    assert_false(sees_each(8, 2, 1.21, 0.1, 0));
    assert_true(sees_each(8, 2, 1, 0.29, 0)); /* rows seldom as that see none */
    assert_false(sees_each(8, 2, 1, 0.31, 0));
    assert_false(sees_each(0, 0, 1, 0.1, 0));
}

/* Where not each step is seen, news that comes less than 0.3 s apart but not with each row is drawn from one to the next; else a speed that is held. */
static void speeds_in_steps_are_drawn_by_how_often_they_come(void **state)
{
    (void)state;
    static const struct {
        double news_s;
        bool stepped;
    } cases[] = {{0.16, true}, {0.14, false}, {0.29, true}, {0.31, false}};
    for (int k = 0; k < 4; k++) {
        static const size_t at[] = {10, 20};
        static const float to[] = {12, 14};
        stepped(at, to, 2, 32);
        make(32, 1, 0.5, cases[k].news_s);
        /* by news: up within `news_s` of the change; held: within 0.5 s of it */
        expect_close(s.drawn[9],
                     cases[k].stepped ? 10 + 2 * (cases[k].news_s - 0.1) / cases[k].news_s : 10 + 2 * 0.4 / 0.5, 2e-6);
        expect_close(s.drawn[6], cases[k].stepped ? 10 : 10.4, 2e-6);
        signals_free(&s);
    }
}

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
        cmocka_unit_test(the_usual_interval_is_the_mean_of_those_near_the_median),
        cmocka_unit_test(a_held_value_is_drawn_from_its_last_news_or_one_interval_ahead),
        cmocka_unit_test(a_held_engine_speed_is_drawn_too),
        cmocka_unit_test(a_speed_that_stood_before_it_leapt_is_forgotten),
        cmocka_unit_test(what_equals_a_limit_of_a_leap_is_not_beyond_it),
        cmocka_unit_test(a_speed_that_stands_until_the_end_is_forgotten_where_it_rose),
        cmocka_unit_test(steps_are_drawn_through_where_they_were_crossed),
        cmocka_unit_test(a_jump_over_steps_goes_from_news_to_news),
        cmocka_unit_test(who_sees_four_changes_in_five_by_one_step_sees_each),
        cmocka_unit_test(speeds_in_steps_are_drawn_by_how_often_they_come),
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
        cmocka_unit_test(quantiles_of_few_values_lie_within_their_cells),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
