/* Rows thinned to at most 29 a second, each channel averaged over its readable values. */
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

void trail_add(trail_bin *bin, const double value[TRAIL_CHANNELS], double time_s)
{
    if (bin->n == 0)
        bin->first_s = time_s;
    for (int c = 0; c < TRAIL_CHANNELS; c++)
        if (!isnan(value[c])) {
            trail_news *news = &bin->news[c];
            if (!news->known || value[c] != news->value) {
                bin->changes[c] += news->known;
                *news = (trail_news){.known = true,
                                     .value = value[c],
                                     .at_s = news->known ? time_s : NAN,
                                     .before = news->value,
                                     .before_s = news->at_s,
                                     .shown = value[c]};
            }
            bin->sum[c] += value[c];
            bin->count[c]++;
        }
    bin->time_s += time_s;
    bin->n++;
}

bool trail_bin_full(const trail_bin *bin, double time_s)
{
    return bin->n > 0 && !(time_s - bin->first_s < TRAIL_STEP_S);
}

/*
 * One piece of news among several rows is that of a value that is held: a mean of the old and the new would be neither, and the new one is that of its own
 * moment, not of the bin's.
 */
static double bin_value(trail_bin *bin, int channel, double road_step_m_s)
{
    static const double longest_s = 0.6; /* longer waits are those of a steady value */
    const unsigned n = bin->count[channel];
    if (n == 0)
        return NAN;
    const double mean = bin->sum[channel] / n;
    trail_news *news = &bin->news[channel];
    const bool crossing = channel == TRAIL_ROAD && fabs(news->value - mean) < road_step_m_s;
    const double wait_s = news->at_s - news->before_s;
    if (bin->changes[channel] == 0)
        return news->shown;
    if (bin->changes[channel] != 1 || n < 2 || crossing || wait_s < 2 * TRAIL_STEP_S)
        return mean;
    if (wait_s < longest_s)
        news->shown += (news->value - news->before) * (bin->time_s / bin->n - news->at_s) / wait_s;
    return news->shown;
}

ch_status trail_close_bin(trail *t, trail_bin *bin, double road_step_m_s, ch_err *err)
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
        t->channel[c][t->n] = (float)bin_value(bin, c, road_step_m_s);
    t->n++;
    bin->n = 0;
    bin->time_s = 0;
    memset(bin->sum, 0, sizeof bin->sum);
    memset(bin->count, 0, sizeof bin->count);
    memset(bin->changes, 0, sizeof bin->changes);
    return CH_OK;
}

void trail_doubt_clutch(trail *t)
{
    static const double least_m_s = 5, most_1 = 0.6; /* nobody drives so long with the pedal down */
    size_t moving = 0, pressed = 0;
    for (size_t i = 0; i < t->n; i++) {
        const bool moves = t->channel[TRAIL_ROAD][i] > least_m_s && !isnan(t->channel[TRAIL_CLUTCH][i]);
        moving += moves;
        pressed += moves && t->channel[TRAIL_CLUTCH][i] > TRAIL_PRESSED_1;
    }
    if ((double)pressed > most_1 * (double)moving)
        for (size_t i = 0; i < t->n; i++)
            t->channel[TRAIL_CLUTCH][i] = NAN;
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

void fresh_add(unsigned places[FRESH_PLACES], double interval_s)
{
    const double place = interval_s / FRESH_STEP_S;
    places[place < FRESH_PLACES - 1 ? (int)fmax(place, 0) : FRESH_PLACES - 1]++;
}

double fresh_share(const unsigned places[FRESH_PLACES], double share_1)
{
    unsigned long long total = 0, sum = 0;
    for (int i = 0; i < FRESH_PLACES; i++)
        total += places[i];
    for (int i = 0; i < FRESH_PLACES && total > 0; i++) {
        sum += places[i];
        if ((double)sum >= share_1 * (double)total)
            return (i + 0.5) * FRESH_STEP_S;
    }
    return NAN;
}

void fresh_look(fresh_count *fresh, const double *time_s, const double *value, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (isnan(value[i]) || value[i] == fresh->value)
            continue;
        if (fresh->changed_s > 0)
            fresh_add(fresh->places, time_s[i] - fresh->changed_s);
        fresh->value = value[i];
        fresh->changed_s = time_s[i];
    }
}

/* Long waits are those of a steady signal, so a low share of the intervals tells. */
double fresh_interval(const fresh_count *fresh)
{
    static const double low_share_1 = 0.3;
    return fresh_share(fresh->places, low_share_1);
}

double fresh_news(const fresh_count *fresh)
{
    static const double least_1 = 0.03;
    return fresh_share(fresh->places, least_1);
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
