/* Promises of driveline/signal.c on a few rows each, worked out by hand: what is drawn between news and through steps, and what is forgotten, each limit from both sides. */
#include "signal_rows.h"

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
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
