/* Promises of driveline/trail.c by hand: what becomes of rows close together, how often news come, in what steps a speed is written, and which clutch switch is believed. */
#include <stdlib.h>
#include <string.h>

#include "../../src/driveline/parts.h"
#include "expect.h"

static trail thinned;
static trail_bin bin;

static int begin(void **state)
{
    (void)state;
    thinned = (trail){0};
    bin = (trail_bin){0};
    return 0;
}

static int end(void **state)
{
    (void)state;
    trail_free(&thinned);
    assert_int_equal(thinned.n + thinned.room, 0);
    for (int c = 0; c < TRAIL_CHANNELS; c++)
        assert_null(thinned.channel[c]);
    assert_null(thinned.time_s);
    return 0;
}

/* A row in which a channel reads so and the others nothing. */
static void add(int channel, double value, double time_s)
{
    double all[TRAIL_CHANNELS];
    for (int c = 0; c < TRAIL_CHANNELS; c++)
        all[c] = c == channel ? value : NAN;
    trail_add(&bin, all, time_s);
}

/* What the bin gives of a channel. */
static double closed(int channel, double step_m_s)
{
    assert_int_equal(trail_close_bin(&thinned, &bin, step_m_s, NULL), CH_OK);
    for (int c = 0; c < TRAIL_CHANNELS; c++)
        if (c != channel)
            assert_true(isnan(thinned.channel[c][thinned.n - 1]));
    return (double)thinned.channel[channel][thinned.n - 1];
}

static void a_bin_is_full_after_35_milliseconds(void **state)
{
    (void)state;
    assert_false(trail_bin_full(&bin, 100.0)); /* nothing in it */
    assert_int_equal(trail_close_bin(&thinned, &bin, 0.0, NULL), CH_OK);
    assert_int_equal(thinned.n, 0);
    add(TRAIL_ENGINE, 1.0, 10.0);
    add(TRAIL_ENGINE, 1.0, 10.02); /* the first row is the one that counts */
    assert_false(trail_bin_full(&bin, 10.0));
    assert_false(trail_bin_full(&bin, 10.034));
    assert_true(trail_bin_full(&bin, 10.036));
    assert_true(trail_bin_full(&bin, NAN));
    expect_close(closed(TRAIL_ENGINE, 0.0), 1.0, 0.0);
    expect_close(thinned.time_s[0], 10.01, 1e-12);
    assert_false(trail_bin_full(&bin, 20.0)); /* closed, it is empty */
    add(TRAIL_ENGINE, 1.0, 20.0);
    assert_false(trail_bin_full(&bin, 20.034));
    assert_true(trail_bin_full(&bin, 20.036));
}

/* Rows of different values are averaged, unreadable ones left out; a value that stays is itself, whatever the bins before held. */
static void a_bin_holds_the_mean_of_what_changes(void **state)
{
    (void)state;
    for (int c = 0; c < TRAIL_CHANNELS; c++) {
        begin(NULL);
        add(c, 4.0, 1.0);
        add(c, 4.0, 1.01);
        expect_close(closed(c, 0.0), 4.0, 0.0);
        add(c, 5.0, 1.1); /* three pieces of news */
        add(c, NAN, 1.11);
        add(c, 6.0, 1.12);
        add(c, 10.0, 1.13);
        expect_close(closed(c, 0.0), 7.0, 1e-6);
        expect_close(thinned.time_s[1], 1.115, 1e-12);
        add(c, 12.0, 1.2); /* one row, one piece of news: as it is */
        expect_close(closed(c, 0.0), 12.0, 1e-6);
        add(c, 12.0, 1.3); /* and none */
        add(c, 12.0, 1.31);
        expect_close(closed(c, 0.0), 12.0, 1e-6);
        add(c, NAN, 1.4);
        assert_true(isnan(closed(c, 0.0)));
        assert_int_equal(thinned.n, 5);
        end(NULL);
    }
}

/* One piece of news among several rows is where the line through the last two stands at the bin's time; longer than 0.6 s apart, or with nothing before, the news itself; nearer than two bins the mean. */
static void news_of_a_held_value_are_drawn_to_the_bin(void **state)
{
    (void)state;
    static const struct {
        double wait_s, wanted;
    } one[] = {{0.5, 16.0 + 6.0 * -0.005 / 0.5},
               {0.59, 16.0 + 6.0 * -0.005 / 0.59},
               {0.61, 16.0},
               {0.071, 16.0 + 6.0 * -0.005 / 0.071},
               {0.069, 13.0}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++) {
        begin(NULL);
        add(TRAIL_THROTTLE, 1.0, 0.0);
        closed(TRAIL_THROTTLE, 0.0);
        add(TRAIL_THROTTLE, 10.0, 5.01 - one[k].wait_s);
        closed(TRAIL_THROTTLE, 0.0);
        add(TRAIL_THROTTLE, 10.0, 5.0);
        add(TRAIL_THROTTLE, 16.0, 5.01);
        expect_close(closed(TRAIL_THROTTLE, 0.0), one[k].wanted, 1e-5);
        add(TRAIL_THROTTLE, 16.0, 5.04); /* shown until there are others */
        add(TRAIL_THROTTLE, 16.0, 5.05);
        expect_close(closed(TRAIL_THROTTLE, 0.0), one[k].wanted == 13.0 ? 16.0 : one[k].wanted, 1e-5);
        end(NULL);
    }
    begin(NULL); /* one that can be read in a bin of three rows is as it is */
    add(TRAIL_THROTTLE, 1.0, 0.0);
    closed(TRAIL_THROTTLE, 0.0);
    add(TRAIL_THROTTLE, 10.0, 5.0);
    closed(TRAIL_THROTTLE, 0.0);
    add(TRAIL_THROTTLE, NAN, 5.5);
    add(TRAIL_THROTTLE, NAN, 5.51);
    add(TRAIL_THROTTLE, 16.0, 5.52);
    expect_close(closed(TRAIL_THROTTLE, 0.0), 16.0, 0.0);
    end(NULL);
    begin(NULL); /* first there, then other: no one knows since when */
    add(TRAIL_THROTTLE, 10.0, 1.0);
    closed(TRAIL_THROTTLE, 0.0);
    add(TRAIL_THROTTLE, 10.0, 2.0);
    add(TRAIL_THROTTLE, 16.0, 2.02);
    expect_close(closed(TRAIL_THROTTLE, 0.0), 16.0, 1e-6);
    end(NULL);
    begin(NULL); /* all in its first bin */
    add(TRAIL_THROTTLE, 10.0, 1.0);
    add(TRAIL_THROTTLE, 10.0, 1.01);
    add(TRAIL_THROTTLE, 16.0, 1.02);
    expect_close(closed(TRAIL_THROTTLE, 0.0), 16.0, 1e-6);
    end(NULL);
    begin(NULL); /* news 0.3 s apart in the bin of both: two of them */
    add(TRAIL_THROTTLE, 10.0, 1.0);
    closed(TRAIL_THROTTLE, 0.0);
    add(TRAIL_THROTTLE, 12.0, 2.0);
    add(TRAIL_THROTTLE, 16.0, 2.3);
    expect_close(closed(TRAIL_THROTTLE, 0.0), 14.0, 1e-6);
    end(NULL);
}

/* A road speed in steps that crosses from one to the next is averaged: by a step the value is off the mean by less than a step; other channels, and leaps, are not. */
static void a_step_of_road_speed_is_averaged(void **state)
{
    (void)state;
    static const struct {
        int channel;
        double step_m_s, leap;
        bool averaged;
    } one[] = {{TRAIL_ROAD, 0.5, 0.5, true},    {TRAIL_ROAD, 0.5, 0.99, true},   {TRAIL_ROAD, 0.5, 1.0, false},
               {TRAIL_ROAD, 0.5, -0.5, true},   {TRAIL_ROAD, 0.5, -1.01, false}, {TRAIL_ROAD, 0.0, 0.5, false},
               {TRAIL_ENGINE, 0.5, 0.5, false}, {TRAIL_GPS, 0.5, 0.5, false}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++) {
        begin(NULL);
        add(one[k].channel, 9.0, 0.0);
        closed(one[k].channel, one[k].step_m_s);
        add(one[k].channel, 10.0, 4.0);
        closed(one[k].channel, one[k].step_m_s);
        add(one[k].channel, 10.0, 5.0);
        add(one[k].channel, 10.0 + one[k].leap, 5.01); /* a second after the news before */
        expect_close(closed(one[k].channel, one[k].step_m_s), 10.0 + one[k].leap * (one[k].averaged ? 0.5 : 1.0), 1e-5);
        end(NULL);
    }
}

/* Every row is kept, in blocks that grow. */
static void a_trail_grows_and_keeps_what_it_has(void **state)
{
    (void)state;
    enum { ROWS = 40000 };
    for (int i = 0; i < ROWS; i++) {
        double value[TRAIL_CHANNELS];
        for (int c = 0; c < TRAIL_CHANNELS; c++)
            value[c] = 100.0 * i + c;
        assert_int_equal(thinned.n, (size_t)i);
        assert_false(trail_full(&thinned));
        trail_add(&bin, value, 0.5 * i);
        assert_int_equal(trail_close_bin(&thinned, &bin, 0.0, NULL), CH_OK);
        assert_true(thinned.room >= thinned.n);
    }
    for (int i = 0; i < ROWS; i++) {
        expect_close(thinned.time_s[i], 0.5 * i, 0.0);
        for (int c = 0; c < TRAIL_CHANNELS; c++)
            expect_close((double)thinned.channel[c][i], 100.0 * i + c, 0.26); /* floats */
    }
    const size_t room = thinned.room;
    trail_empty(&thinned);
    assert_int_equal(thinned.n, 0);
    assert_int_equal(thinned.room, room);
    const trail full = {.n = CH_DRIVELINE_CHAPTER}, nearly = {.n = CH_DRIVELINE_CHAPTER - 1};
    assert_true(trail_full(&full));
    assert_false(trail_full(&nearly));
}

/* A switch that says pressed for more than six tenths of the driving above 5 m/s is not believed. */
static void a_switch_that_is_pressed_while_driving_is_doubted(void **state)
{
    (void)state;
    static const struct {
        size_t pressed, up, slow, unknown; /* rows */
        float at;                          /* what pressed reads */
        bool doubted;
    } one[] = {{6, 4, 0, 0, 1.0F, false}, {7, 4, 0, 0, 1.0F, true},  {7, 4, 0, 0, 0.31F, true},
               {7, 4, 0, 0, 0.3F, false}, {6, 4, 9, 0, 1.0F, false}, {6, 4, 0, 9, 1.0F, false},
               {0, 0, 9, 0, 1.0F, false}, {0, 9, 0, 0, 1.0F, false}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++) {
        const size_t n = one[k].pressed + one[k].up + one[k].slow + one[k].unknown;
        float *road = malloc((n + 1) * sizeof *road), *clutch = malloc((n + 1) * sizeof *clutch);
        assert_true(road != NULL && clutch != NULL);
        for (size_t i = 0; i < n; i++) {
            const bool slow = i >= one[k].pressed + one[k].up && i < n - one[k].unknown,
                       unknown = i >= n - one[k].unknown;
            road[i] = slow ? 5.0F : 5.1F;
            clutch[i] = unknown ? NAN : slow || i < one[k].pressed ? one[k].at : 0.0F;
        }
        road[n] = 9.0F; /* behind the last: pressed while driving */
        clutch[n] = 1.0F;
        trail t = {.n = n};
        t.channel[TRAIL_ROAD] = road;
        t.channel[TRAIL_CLUTCH] = clutch;
        trail_doubt_clutch(&t);
        size_t left = 0;
        for (size_t i = 0; i < n; i++)
            left += isnan(clutch[i]) ? 0 : 1;
        assert_int_equal(left, one[k].doubted ? 0 : n - one[k].unknown);
        assert_true(clutch[n] == 1.0F);
        free(road);
        free(clutch);
    }
}

/* Intervals are counted in places of 25 ms; what is longer than ten seconds in the last. */
static void intervals_are_counted_by_their_length(void **state)
{
    (void)state;
    static const struct {
        double interval_s;
        int place;
    } one[] = {{0.0, 0},     {-3.0, 0},    {0.0249, 0}, {0.0251, 1}, {1.01, 40}, {9.96, 398},
               {9.974, 398}, {9.976, 399}, {9.99, 399}, {11.0, 399}, {1e9, 399}, {INFINITY, 399}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++) {
        unsigned places[FRESH_PLACES] = {0};
        fresh_add(places, one[k].interval_s);
        for (int i = 0; i < FRESH_PLACES; i++)
            assert_int_equal(places[i], i == one[k].place);
    }
    unsigned more_places[FRESH_PLACES + 1] = {[0] = 1, [1] = 1, [FRESH_PLACES] = 1000}; /* the last is none */
    expect_close(fresh_share(more_places, 0.5), 0.5 * 0.025, 1e-12);
    more_places[1] = 9; /* ten in all, one of them in the first place */
    expect_close(fresh_share(more_places, 0.1), 0.5 * 0.025, 1e-12);
    expect_close(fresh_share(more_places, 0.105), 1.5 * 0.025, 1e-12);
    more_places[0] = more_places[1] = 0;
    assert_true(isnan(fresh_share(more_places, 0.5)));
    /* the middle of the place below which the share lies; ten of 0.1 s, ninety of 1 s */
    fresh_count fresh = {0};
    assert_true(isnan(fresh_share(fresh.places, 0.0)) && isnan(fresh_interval(&fresh)) && isnan(fresh_news(&fresh)));
    fresh.places[4] = 10;
    fresh.places[40] = 89;
    fresh.places[399] = 1;
    expect_close(fresh_share(fresh.places, 0.1), 4.5 * 0.025, 1e-12);
    expect_close(fresh_share(fresh.places, 0.11), 40.5 * 0.025, 1e-12);
    expect_close(fresh_share(fresh.places, 0.99), 40.5 * 0.025, 1e-12);
    expect_close(fresh_share(fresh.places, 1.0), 399.5 * 0.025, 1e-12);
    /* the usual interval is that at 30 %, the shortest that at 3 % */
    for (unsigned more = 0; more < 2; more++) {
        fresh = (fresh_count){0};
        fresh.places[0] = 3 - more;
        fresh.places[7] = 27;
        fresh.places[9] = 70 + more;
        expect_close(fresh_news(&fresh), (more ? 7.5 : 0.5) * 0.025, 1e-12);
        expect_close(fresh_interval(&fresh), (more ? 9.5 : 7.5) * 0.025, 1e-12);
    }
}

/* Intervals lie between changes; the first value and unknown ones are none. */
static void intervals_lie_between_changes(void **state)
{
    (void)state;
    static const double at_s[] = {0.0, 1.0, 2.0, 3.0, 4.5, 5.0, 6.0, 8.0},
                        value[] = {0.0, 7.0, 7.0, NAN, 8.0, 8.0, 7.0, 9.0};
    static const int split[] = {0, 1, 4, 7};
    for (size_t k = 0; k < sizeof split / sizeof split[0]; k++) {
        const size_t first = (size_t)split[k];
        fresh_count fresh = {0};
        fresh_look(&fresh, at_s, value, first);
        fresh_look(&fresh, at_s + first, value + first, 7 - first);
        for (int i = 0; i < FRESH_PLACES; i++) /* 3.5 s from 7 to 8, 1.5 s back to 7; a value of nought is none yet */
            assert_int_equal(fresh.places[i], i == 140 || i == 60);
        expect_close(fresh.value, 7.0, 0.0);
        expect_close(fresh.changed_s, 6.0, 0.0);
    }
}

/* 97 % of at least ten different values above 1 m/s lie within three hundredths of a whole step; the coarsest that fits. */
static void steps_are_told_by_nearly_all_values(void **state)
{
    (void)state;
    static const struct {
        int n, off;      /* values; of them between two steps */
        double by, step; /* by so much of a step */
        bool found;
    } one[] = {{10, 0, 0.0, 1 / 3.6, true},       {9, 0, 0.0, 1 / 3.6, false},        {100, 3, 0.4, 1 / 3.6, true},
               {100, 4, 0.4, 1 / 3.6, false},     {100, 100, 0.029, 1 / 3.6, true},   {100, 100, -0.029, 1 / 3.6, true},
               {100, 100, 0.031, 1 / 3.6, false}, {100, 100, -0.031, 1 / 3.6, false}, {100, 0, 0.0, 0.44704, true},
               {100, 0, 0.0, 0.22352, true},      {100, 0, 0.0, 0.5 / 3.6, true}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++) {
        step_count steps = {0};
        for (int i = 0; i < one[k].n; i++) {
            /* odd numbers of steps, which halves of a coarser one are not */
            const double v[] = {one[k].step * (21 + 2 * i + (i < one[k].off ? one[k].by : 0.0)), 0.3, NAN,
                                777.7}; /* the last is none */
            step_look(&steps, v, 3);
            step_look(&steps, v, 1); /* the same again is not counted */
        }
        assert_int_equal(steps.seen, one[k].n);
        /* a value off by three hundredths of a step is off by more of half a step */
        expect_close(step_found(&steps), one[k].found ? one[k].step : 0.0, 1e-12);
    }
    step_count steps = {0};
    const double slow[] = {1.0, 0.9, -5.0, 1.01};
    step_look(&steps, slow, 4);
    assert_int_equal(steps.seen, 1);
    step_count many = {0};
    static double v[4100];
    for (int i = 0; i < 4100; i++)
        v[i] = i < 4000 ? (10 + i) / 3.6 : 2000.0 + 0.0391 * i;
    step_look(&many, v, 2000);
    step_look(&many, v + 2000, 2100);
    assert_int_equal(many.seen, 4000); /* enough to tell by */
    expect_close(step_found(&many), 1 / 3.6, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_bin_is_full_after_35_milliseconds, begin, end),
        cmocka_unit_test_setup_teardown(a_bin_holds_the_mean_of_what_changes, begin, end),
        cmocka_unit_test_setup_teardown(news_of_a_held_value_are_drawn_to_the_bin, begin, end),
        cmocka_unit_test_setup_teardown(a_step_of_road_speed_is_averaged, begin, end),
        cmocka_unit_test_setup_teardown(a_trail_grows_and_keeps_what_it_has, begin, end),
        cmocka_unit_test_setup_teardown(a_switch_that_is_pressed_while_driving_is_doubted, begin, end),
        cmocka_unit_test_setup_teardown(intervals_are_counted_by_their_length, begin, end),
        cmocka_unit_test_setup_teardown(intervals_lie_between_changes, begin, end),
        cmocka_unit_test_setup_teardown(steps_are_told_by_nearly_all_values, begin, end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
