/*
 * A run written row by row, for tests of the search for slips: each row says how far the engine is ahead of which line, what the wheels give, where throttle and pedal are, so that what
 * must come of it can be worked out by hand. Rows are a sixteenth of a second apart, which sums and differences leave exact. Included once a program.
 */
#ifndef CROSSHATCH_TESTS_DRIVE_SERIES_H
#define CROSSHATCH_TESTS_DRIVE_SERIES_H

#include <stdlib.h>
#include <string.h>

#include "../../src/driveline/parts.h"
#include "expect.h"

enum { SERIES_MAX = 3000, SERIES_GEARS = 5 };
static const double SERIES_EVERY_S = 0.0625;
static const double SERIES_LINE_RAD_M[SERIES_GEARS] = {30.0, 18.5, 13.0, 10.0, 8.2};

typedef struct series_row {
    double time_s;
    int gear;                        /* index of the line that `ahead` is told from */
    double ahead, sharp;             /* logarithms: smoothed, and what the row itself is above that; NaN: unknown */
    double traction_m_s2;            /* what the wheels give */
    double road_m_s;                 /* NaN: as traction makes of it */
    double engine_1;                 /* by which the engine's speed is off what `ahead` says, as a factor */
    double drift;                    /* NaN: unknown */
    double throttle, clutch, kelvin; /* NaN: not logged */
    double gps_m_s, driven_m_s;      /* NaN: not logged */
} series_row;

typedef struct series {
    size_t n;
    series_row row[SERIES_MAX];
    double interval_s, engine_fresh_s, road_fresh_s, u_lag_s, lag_s, step_m_s, window_s;
    ch_driveline to; /* as gears_find() and an earlier chapter leave it */
} series;

static series run;

/* All of it on one line, foot off for the first second, then pulling evenly. No drift is known, so that scatter is what the gear says and the noise of road speed that of steps. */
static inline void series_begin(size_t n, int gear)
{
    run = (series){.n = n,
                   .interval_s = SERIES_EVERY_S,
                   .engine_fresh_s = SERIES_EVERY_S,
                   .road_fresh_s = SERIES_EVERY_S,
                   .window_s = 0.25,
                   .to = {.state = CH_DRIVELINE_GEARS_FOUND, .gears = SERIES_GEARS, .shortest_slip_s = 0.3}};
    for (int g = 0; g < SERIES_GEARS; g++)
        run.to.gear[g] = (ch_driveline_gear){.number = g + 1, .line_rad_m = SERIES_LINE_RAD_M[g], .spread_1 = 0.002};
    for (size_t i = 0; i < n; i++)
        run.row[i] = (series_row){.time_s = (double)i * SERIES_EVERY_S,
                                  .gear = gear,
                                  .traction_m_s2 = i < 16 ? 0.2 : 1.2,
                                  .road_m_s = NAN,
                                  .engine_1 = 1.0,
                                  .drift = NAN,
                                  .throttle = i < 16 ? 0.1 : 0.9,
                                  .clutch = 0.0,
                                  .kelvin = 363.0,
                                  .gps_m_s = NAN,
                                  .driven_m_s = NAN};
}

/* The engine runs ahead: straight up from a row on the line in `up` rows, so for `hold` rows, straight down in `down`, the last of which is on the line again. */
static inline void series_ahead(size_t from, size_t up, size_t hold, size_t down, double most)
{
    for (size_t k = 1; k < up; k++)
        run.row[from + k].ahead = most * (double)k / (double)up;
    for (size_t k = 0; k <= hold; k++)
        run.row[from + up + k].ahead = most;
    for (size_t k = 1; k < down; k++)
        run.row[from + up + hold + k].ahead = most * (1.0 - (double)k / (double)down);
}

/* The first row, in which the pedal was down: its switch moves, so that it decides what is a change of gear. */
static inline void series_switch(void)
{
    run.row[0].clutch = 1.0;
}

typedef struct series_arrays {
    double *time_s;
    float *channel[TRAIL_CHANNELS];
    float *engine, *road, *climb, *ratio, *drift, *smooth;
} series_arrays;

/* The rows as the search has them, in blocks of exactly their size; or with `behind` rows more, of a foot that is down in a car that flies, so far ahead of the line. */
static inline void series_lay_out(series_arrays *a, size_t behind, double ahead)
{
    const size_t n = run.n + behind;
    float **const all[] = {&a->engine, &a->road, &a->climb, &a->ratio, &a->drift, &a->smooth};
    a->time_s = malloc(n * sizeof *a->time_s);
    assert_non_null(a->time_s);
    for (size_t k = 0; k < sizeof all / sizeof all[0]; k++) {
        *all[k] = malloc(n * sizeof **all[k]);
        assert_non_null(*all[k]);
    }
    for (int c = 0; c < TRAIL_CHANNELS; c++) {
        a->channel[c] = malloc(n * sizeof *a->channel[c]);
        assert_non_null(a->channel[c]);
    }
    double road = 20.0;
    for (size_t i = 0; i < n; i++) {
        series_row row = run.row[i < run.n ? i : run.n - 1];
        if (i >= run.n)
            row = (series_row){.time_s = row.time_s + SERIES_EVERY_S * (double)(i + 1 - run.n),
                               .gear = row.gear,
                               .ahead = ahead,
                               .traction_m_s2 = 9.0,
                               .road_m_s = 60.0,
                               .engine_1 = 3.0,
                               .throttle = 1.0,
                               .clutch = 0.0,
                               .kelvin = 500.0,
                               .gps_m_s = 1.0,
                               .driven_m_s = 90.0};
        const double here = isnan(row.road_m_s) ? road : row.road_m_s, drag = 3.5e-4 * here * here + 0.12;
        a->time_s[i] = row.time_s;
        a->road[i] = (float)here;
        a->climb[i] = (float)(row.traction_m_s2 - drag);
        a->smooth[i] = (float)(log(SERIES_LINE_RAD_M[row.gear]) + row.ahead);
        a->ratio[i] = (float)(log(SERIES_LINE_RAD_M[row.gear]) + row.ahead + row.sharp);
        a->drift[i] = (float)row.drift;
        a->engine[i] =
            (float)(here * SERIES_LINE_RAD_M[row.gear] * exp(isnan(row.ahead) ? 0.0 : row.ahead) * row.engine_1);
        for (int c = 0; c < TRAIL_CHANNELS; c++)
            a->channel[c][i] = NAN;
        a->channel[TRAIL_ENGINE][i] = a->engine[i];
        a->channel[TRAIL_ROAD][i] = a->road[i];
        a->channel[TRAIL_THROTTLE][i] = (float)row.throttle;
        a->channel[TRAIL_CLUTCH][i] = (float)row.clutch;
        a->channel[TRAIL_TEMPERATURE][i] = (float)row.kelvin;
        a->channel[TRAIL_GPS][i] = (float)row.gps_m_s;
        a->channel[TRAIL_DRIVEN][i] = (float)row.driven_m_s;
        const double until = i + 1 < run.n ? run.row[i + 1].time_s - row.time_s : 0.0;
        road = here + (row.traction_m_s2 - drag) * until;
    }
}

static inline void series_free(series_arrays *a)
{
    float *const all[] = {a->engine, a->road, a->climb, a->ratio, a->drift, a->smooth};
    for (size_t k = 0; k < sizeof all / sizeof all[0]; k++)
        free(all[k]);
    for (int c = 0; c < TRAIL_CHANNELS; c++)
        free(a->channel[c]);
    free(a->time_s);
}

static inline signals series_signals(const series_arrays *a)
{
    return (signals){.n = run.n,
                     .time_s = a->time_s,
                     .interval_s = run.interval_s,
                     .engine_fresh_s = run.engine_fresh_s,
                     .road_fresh_s = run.road_fresh_s,
                     .u_lag_s = run.u_lag_s,
                     .lag_s = run.lag_s,
                     .lag_known = true,
                     .step_m_s = run.step_m_s,
                     .window_s = run.window_s,
                     .engine = a->engine,
                     .road = a->road,
                     .climb = a->climb,
                     .ratio = a->ratio,
                     .drift = a->drift,
                     .smooth = a->smooth};
}

static inline trail series_trail(const series_arrays *a)
{
    trail t = {.n = run.n, .room = run.n, .time_s = a->time_s};
    memcpy(t.channel, a->channel, sizeof t.channel);
    return t;
}

static inline ch_driveline series_judged_with(size_t behind, double ahead)
{
    series_arrays a;
    series_lay_out(&a, behind, ahead);
    const signals s = series_signals(&a);
    const trail t = series_trail(&a);
    ch_driveline to = run.to;
    if (run.to.slips > 0) { /* those of a chapter before */
        to.slip = calloc((run.to.slips / 64 + 1) * 64, sizeof *to.slip);
        assert_non_null(to.slip);
        memcpy(to.slip, run.to.slip, run.to.slips * sizeof *to.slip);
    }
    assert_int_equal(slips_find(&s, &t, &to, NULL), CH_OK);
    series_free(&a);
    return to;
}

/* What the search makes of the run, whatever lies behind its last row; the slips are the caller's to clear. */
static inline ch_driveline series_judged(void)
{
    static const double behind[] = {0.03, 0.0};
    const ch_driveline to = series_judged_with(0, 0.0);
    for (size_t k = 0; k < 2; k++) {
        ch_driveline followed = series_judged_with(3, behind[k]);
        assert_int_equal(to.slips, followed.slips);
        for (size_t i = 0; i < to.slips; i++) {
            expect_close(to.slip[i].start_s, followed.slip[i].start_s, 0.0);
            expect_close(to.slip[i].end_s, followed.slip[i].end_s, 0.0);
            expect_close(to.slip[i].peak_1, followed.slip[i].peak_1, 0.0);
            expect_close(to.slip[i].mean_1, followed.slip[i].mean_1, 0.0);
            expect_close(to.slip[i].ahead_rad_s, followed.slip[i].ahead_rad_s, 0.0);
            expect_close(to.slip[i].acceleration_m_s2, followed.slip[i].acceleration_m_s2, 0.0);
        }
        assert_memory_equal(to.not_slips, followed.not_slips, sizeof to.not_slips);
        for (int g = 0; g < CH_DRIVELINE_GEARS_MAX; g++)
            expect_close(to.gear[g].seconds, followed.gear[g].seconds, 0.0);
        assert_int_equal(to.limits, followed.limits);
        expect_close(to.loaded_s, followed.loaded_s, 0.0);
        expect_close(to.loaded_low_s, followed.loaded_low_s, 0.0);
        ch_driveline_clear(&followed);
    }
    return to;
}

#endif
