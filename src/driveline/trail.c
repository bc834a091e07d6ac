/* Rows thinned to at most 20 a second, each channel averaged over its readable values. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "parts.h"

enum { ROOM_AT_FIRST = 16384 };

static ch_status grow(trail *t, ch_err *err)
{
    const size_t room = t->room == 0 ? ROOM_AT_FIRST : t->room * 2;
    double *time_s = realloc(t->time_s, room * sizeof *time_s);
    if (time_s == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the run");
    t->time_s = time_s;
    for (int c = 0; c < TRAIL_CHANNELS; c++) {
        float *channel = realloc(t->channel[c], room * sizeof *channel);
        if (channel == NULL)
            return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the run");
        t->channel[c] = channel;
    }
    t->room = room;
    return CH_OK;
}

ch_status trail_close_bin(trail *t, trail_bin *bin, ch_err *err)
{
    if (bin->n == 0)
        return CH_OK;
    if (t->n == t->room) {
        const ch_status rc = grow(t, err);
        if (rc < 0)
            return rc;
    }
    t->time_s[t->n] = bin->time_s / bin->n;
    for (int c = 0; c < TRAIL_CHANNELS; c++)
        t->channel[c][t->n] = bin->count[c] > 0 ? (float)(bin->sum[c] / bin->count[c]) : NAN;
    t->n++;
    *bin = (trail_bin){0};
    return CH_OK;
}

bool trail_full(const trail *t)
{
    return t->n >= CH_DRIVELINE_CHAPTER;
}

void trail_empty(trail *t)
{
    t->n = 0;
}

void trail_free(trail *t)
{
    free(t->time_s);
    for (int c = 0; c < TRAIL_CHANNELS; c++)
        free(t->channel[c]);
    *t = (trail){0};
}

/* Steps in which speeds are written, coarsest first: 1 mph, 1 km/h, half of each. */
static const double STEPS_M_S[] = {0.44704, 1 / 3.6, 0.22352, 0.5 / 3.6};
enum { STEP_KINDS = sizeof STEPS_M_S / sizeof STEPS_M_S[0], STEP_VALUES = 4000 };

void step_look(step_count *steps, const double *road_speed_m_s, size_t n)
{
    static const double off_step_1 = 0.03; /* a converted speed is written with few decimals */
    for (size_t i = 0; i < n && steps->seen < STEP_VALUES; i++) {
        const double v = road_speed_m_s[i];
        if (!(v > 1) || v == steps->last_m_s)
            continue;
        steps->last_m_s = v;
        steps->seen++;
        for (int k = 0; k < STEP_KINDS; k++)
            steps->on_step[k] += fabs(v / STEPS_M_S[k] - rint(v / STEPS_M_S[k])) < off_step_1;
    }
}

double step_found(const step_count *steps)
{
    static const double share_1 = 0.97;
    for (int k = 0; k < STEP_KINDS && steps->seen >= 10; k++)
        if (steps->on_step[k] >= share_1 * steps->seen)
            return STEPS_M_S[k];
    return 0;
}
