/*
 * Invented engines that wear as the forecast's model says (docs/season.md), with what nobody sees of them. For tests of the forecast and for
 * the study; sheets come as what their evidence says of each log area.
 */
#ifndef CROSSHATCH_TESTS_WEAR_WORLD_H
#define CROSSHATCH_TESTS_WEAR_WORLD_H

#include <math.h>

#include "crosshatch/forecast.h"
#include "crosshatch/sampling.h"

enum { WORLD_SHEETS_MAX = 100 };

/* Typical u of a history, in which its standing errors are counted: the middle of world_history()'s. */
#define WORLD_U 0.55

typedef struct wear_world {
    int cylinders;
    double level[CH_CYLINDERS_MAX], slope_per_s[CH_CYLINDERS_MAX]; /* level at running time 0 */
    double cylinder_error[CH_CYLINDERS_MAX];
    double engine_error, gauge_error[CH_FORECAST_GAUGES_MAX]; /* standard normal */
    int step_cylinder;                                        /* 0-based; -1 = none */
    size_t step_sheet;
    double step_log;
} wear_world;

static inline double world_odd(ch_stream *stream, double odd_1, double times)
{
    const bool odd = ch_stream_uniform(stream) < odd_1;
    return ch_stream_normal(stream) * (odd ? times : 1.0);
}

static inline void world_draw(ch_stream *stream, int cylinders, double log_area_prior, double u_prior_1,
                              wear_world *world)
{
    const double common = log(CH_WEAR_SLOPE_PER_S) + CH_WEAR_SLOPE_SD_LOG * ch_stream_normal(stream),
                 level = log_area_prior + u_prior_1 * ch_stream_normal(stream);
    *world = (wear_world){.cylinders = cylinders, .step_cylinder = -1};
    for (int c = 0; c < cylinders; c++) {
        world->level[c] = level + CH_WEAR_LEVEL_SD_LOG * world_odd(stream, 0.1, 5.0);
        world->cylinder_error[c] = ch_stream_normal(stream);
        world->slope_per_s[c] = exp(common + CH_WEAR_CYLINDER_SD_LOG * ch_stream_normal(stream));
    }
    world->engine_error = ch_stream_normal(stream);
    for (int g = 0; g < CH_FORECAST_GAUGES_MAX; g++)
        world->gauge_error[g] = ch_stream_normal(stream);
}

static inline double world_log_area(const wear_world *world, int c, double running_s, size_t sheet)
{
    const bool behind = c == world->step_cylinder && sheet >= world->step_sheet;
    return world->level[c] + world->slope_per_s[c] * running_s + (behind ? world->step_log : 0.0);
}

/* What sheet number `number` would say; u_1 is given, running_s and gauge are set. */
static inline void world_measure(const wear_world *world, ch_stream *stream, size_t number, ch_wear_sheet *sheet)
{
    const double day = sqrt(CH_WEAR_PART_DAY) * world_odd(stream, CH_WEAR_ODD_SHEET_1, CH_WEAR_ODD_SHEET_TIMES),
                 standing = sqrt(CH_WEAR_PART_ENGINE) * world->engine_error +
                            sqrt(CH_WEAR_PART_GAUGE) * world->gauge_error[sheet->gauge];
    double u = 0.0; /* the sheet's typical one */
    for (int c = 0; c < world->cylinders; c++)
        u += sheet->u_1[c] / world->cylinders;
    for (int c = 0; c < world->cylinders; c++) {
        const double reading =
            sqrt(CH_WEAR_PART_READING) * world_odd(stream, CH_WEAR_ODD_READING_1, CH_WEAR_ODD_READING_TIMES);
        sheet->log_area[c] = world_log_area(world, c, sheet->running_s, number) +
                             WORLD_U * (standing + sqrt(CH_WEAR_PART_CYLINDER) * world->cylinder_error[c]) + u * day +
                             sheet->u_1[c] * reading;
    }
}

/* `n` sheets 5 to 25 h apart, the gauge changed half-way where there are two. */
static inline void world_history(const wear_world *world, ch_stream *stream, size_t n, int gauges,
                                 ch_wear_sheet sheet[])
{
    double running_s = 0.0;
    for (size_t i = 0; i < n; i++) {
        running_s += (5.0 + 20.0 * ch_stream_uniform(stream)) * 3600.0;
        sheet[i] = (ch_wear_sheet){.running_s = running_s, .gauge = gauges > 1 && 2 * i >= n ? 1 : 0};
        for (int c = 0; c < world->cylinders; c++)
            sheet[i].u_1[c] = 0.3 + 0.5 * ch_stream_uniform(stream);
        world_measure(world, stream, i, &sheet[i]);
    }
}

#endif
