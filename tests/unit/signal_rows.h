/* A few rows and the signals made of them: for the tests of driveline/signal.c. Included once a program. */
#ifndef CROSSHATCH_TESTS_SIGNAL_ROWS_H
#define CROSSHATCH_TESTS_SIGNAL_ROWS_H

#include "../../src/driveline/parts.h"
#include "expect.h"

enum { ROOM = 8100 };

static double times[ROOM];
static float engine[ROOM], road[ROOM];
static signals s;

/* `n` rows a fixed time apart, all at rest with respect to each other: 200 rad/s and 20 m/s. */
static inline void rows_every(double every_s, size_t n)
{
    assert_true(n <= ROOM);
    for (size_t i = 0; i < n; i++) {
        times[i] = every_s * (double)i;
        engine[i] = 200;
        road[i] = 20;
    }
}

/* The signals of the first `n` rows. `news_s` between news of road speed. */
static inline void make(size_t n, double step_m_s, double road_fresh_s, double road_news_s)
{
    const trail t = {.n = n, .room = ROOM, .time_s = times, .channel = {[TRAIL_ENGINE] = engine, [TRAIL_ROAD] = road}};
    assert_int_equal(signals_make(&t, step_m_s, NAN, road_fresh_s, road_news_s, &s, NULL), CH_OK);
    signals_ratio(&s, 0);
}

#endif
