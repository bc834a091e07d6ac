/* Signals made by hand, piece by piece, in which the seconds that lie on each ratio can be counted: for the tests of the search for gears. Included once a program. */
#ifndef CROSSHATCH_TESTS_GEAR_PIECES_H
#define CROSSHATCH_TESTS_GEAR_PIECES_H

#include "../../src/driveline/gears_parts.h"
#include "expect.h"

enum { ROOM = 6000 };
static const double EVERY_S = 0.05;

static double times[ROOM];
static float drawn[ROOM], engine[ROOM], road[ROOM], climb[ROOM], ratio[ROOM], drift[ROOM], smooth[ROOM], pressed[ROOM];
static signals s;
static trail t;
static ch_driveline found;

/* Time on a ratio that counts as steady, at a speed from `from_m_s` to `to_m_s`. */
typedef struct piece {
    double steady_s, ratio, from_m_s, to_m_s, climb_m_s2;
    double scatter; /* of the ratio, up and down in turn */
} piece;

static inline void begin(void)
{
    s = (signals){.time_s = times,
                  .interval_s = EVERY_S,
                  .engine_fresh_s = EVERY_S,
                  .road_fresh_s = EVERY_S,
                  .window_s = 0.24, /* within five rows */
                  .drawn = drawn,
                  .engine = engine,
                  .road = road,
                  .climb = climb,
                  .ratio = ratio,
                  .drift = drift,
                  .smooth = smooth};
    t = (trail){.room = ROOM, .time_s = times};
    t.channel[TRAIL_CLUTCH] = pressed;
    found = (ch_driveline){.car_factor_1 = NAN};
}

/* As many rows as the window takes at either end come to the steady ones, and with the engine out of gear behind them, so that they know nothing of the next. */
static inline void add(const piece *p)
{
    const size_t reach = (size_t)ceil(s.window_s / EVERY_S), rows = (size_t)rint(p->steady_s / EVERY_S) + 2 * reach;
    assert_true(s.n + rows + reach <= ROOM);
    for (size_t i = 0; i < rows + reach; i++, s.n++) {
        const double v = p->from_m_s + (p->to_m_s - p->from_m_s) * fmin((double)i / (double)(rows - 1), 1);
        times[s.n] = EVERY_S * (double)s.n;
        drawn[s.n] = road[s.n] = (float)v;
        engine[s.n] = i >= rows ? 10 : (float)(v * exp(p->ratio + (i % 2 == 0 ? p->scatter : -p->scatter)));
        climb[s.n] = (float)(i >= rows ? 0 : p->climb_m_s2);
        pressed[s.n] = 0;
    }
    t.n = s.n;
}

static inline void find(const ch_car *car)
{
    assert_int_equal(gears_find(&s, &t, car, s.step_m_s, &found, NULL), CH_OK);
}

/* Three gears, 12 s each, all of it pulled. */
static const piece THREE[] = {{12, 3.5, 8, 16, 1.5, 0}, {12, 3.0, 12, 24, 1.5, 0}, {12, 2.55, 20, 36, 1.5, 0}};

static inline void begin_with_three(void)
{
    begin();
    for (int k = 0; k < 3; k++)
        add(&THREE[k]);
}

#endif
