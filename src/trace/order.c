/* In which order checks get soonest to being sure of a cylinder's cause.
 *
 * What each check would find is drawn for some hundred cylinders that may be this one, and that order is sought which leaves least doubt over
 * the minutes until the true cause has nine chances in ten. One check alone often settles nothing, so what it tells a minute says little of where
 * it belongs; the order is weighed as a whole. It is sought anew after every result, which takes the place of planning for each outcome:
 * open-loop feedback control, Dreyfus, Dynamic Programming and the Calculus of Variations, 1965, ch. 7 (from memory). The least of such sums over
 * all orders is hard to find; moving one check, or swapping two, until nothing betters it comes near. */
#include <math.h>
#include <string.h>

#include "crosshatch/sampling.h"

#include "parts.h"

static const double SURE_1 = 0.9;
/* A cause less likely than this does not shape the order. */
static const double LEAST_CAUSE_1 = 0.005;
/* Running the engine until the oil of a wet test is burnt off, before a reading counts again; judgment. */
static const double OIL_MINUTES = 20.0;

/* Sweeps of moves, and how many first places are worth filling with care: later ones are filled anew before their turn comes. */
enum { SWEEPS_MAX = 3, FIRST_PLACES = 6 };

int order_finding_add(order_room *room, const double chance[], int stride, int outcomes, double further_1)
{
    const bool grouped = further_1 < 1.0;
    const int rows = grouped ? 2 * outcomes : outcomes;
    if (room->findings == ORDER_FINDINGS_MAX || room->rows + rows > ORDER_ROWS_MAX)
        return -1;
    order_finding *f = &room->finding[room->findings];
    *f = (order_finding){.outcomes = outcomes,
                         .full = room->rows,
                         .further = grouped ? room->rows + outcomes : room->rows,
                         .group = CH_NO_GROUP};
    for (int o = 0; o < outcomes; o++) {
        float *full = room->row[f->full + o], *further = room->row[f->further + o];
        for (int c = 0; c < CH_CAUSE_COUNT; c++) {
            full[c] = (float)chance[c * stride + o];
            if (grouped)
                further[c] = (float)pow(chance[c * stride + o], further_1);
        }
        for (int c = CH_CAUSE_COUNT; c < ORDER_CAUSES; c++)
            full[c] = further[c] = 0.0F;
    }
    room->rows += rows;
    return room->findings++;
}

/* Outcomes of one finding for all cylinders of one cause: one from each of as many equal parts of its chances, in a random order. */
static void draw_finding(const order_room *room, int f, ch_stream *stream, order_particle particle[])
{
    int part[ORDER_PARTICLES_EACH] = {0};
    for (int s = 0; s < ORDER_PARTICLES_EACH; s++) {
        const int at = (int)(ch_stream_uniform(stream) * (s + 1));
        part[s] = part[at];
        part[at] = s;
    }
    const order_finding *finding = &room->finding[f];
    for (int s = 0; s < ORDER_PARTICLES_EACH; s++) {
        double left = (part[s] + ch_stream_uniform(stream)) / ORDER_PARTICLES_EACH;
        int o = 0;
        while (o + 1 < finding->outcomes && left >= (double)room->row[finding->full + o][particle[s].cause])
            left -= (double)room->row[finding->full + o++][particle[s].cause];
        particle[s].outcome[f] = (unsigned char)o;
    }
}

static void draw(order_room *room, const double cause_1[CH_CAUSE_COUNT])
{
    ch_stream stream;
    ch_stream_init(&stream, 1, 0); /* the same for every sheet: what differs between two orders is not luck */
    room->particles = 0;
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        if (!(cause_1[c] >= LEAST_CAUSE_1))
            continue;
        order_particle *first = &room->particle[room->particles];
        for (int s = 0; s < ORDER_PARTICLES_EACH; s++)
            first[s] = (order_particle){.cause = c, .weight_1 = cause_1[c] / ORDER_PARTICLES_EACH};
        for (int f = 0; f < room->findings; f++)
            draw_finding(room, f, &stream, first);
        room->particles += ORDER_PARTICLES_EACH;
    }
}

/* What a check adds at its place in an order: findings that are new there, each with its first row, and its minutes. */
typedef struct order_step {
    double minutes;
    int finding[ORDER_FINDINGS_EACH], row[ORDER_FINDINGS_EACH], count;
} order_step;

static bool group_found(const order_room *room, const bool found[], int f)
{
    if (room->finding[f].group == CH_NO_GROUP)
        return false;
    for (int other = 0; other < room->findings; other++)
        if (found[other] && room->finding[other].group == room->finding[f].group)
            return true;
    return room->finding[f].group_seen;
}

static void lay_out(const order_room *room, const int order[], order_step step[])
{
    bool found[ORDER_FINDINGS_MAX] = {false}, oil = false;
    unsigned standing = room->standing;
    for (int k = 0; k < room->candidates; k++) {
        const order_candidate *one = &room->candidate[order[k]];
        standing = one->runs ? 0U : standing;
        step[k].minutes = one->minutes + (oil && one->reads ? OIL_MINUTES : 0.0);
        for (int p = 0; p < CH_PREPARATIONS_MAX; p++)
            if ((standing & one->prepares) >> p & 1U)
                step[k].minutes -= room->preparation_minutes[p];
        standing |= one->prepares;
        oil = one->oils || (oil && !one->reads);
        step[k].count = 0;
        for (int n = 0; n < one->count; n++) {
            const int f = one->finding[n];
            if (found[f])
                continue;
            step[k].finding[step[k].count] = f;
            step[k].row[step[k].count++] =
                group_found(room, found, f) ? room->finding[f].further : room->finding[f].full;
            found[f] = true;
        }
    }
}

/* Minutes times the doubt that is left in them, until sure; on average. doubt_1: what is left after so many checks, where wanted. */
static double doubt_minutes(const order_room *room, const double cause_1[CH_CAUSE_COUNT], const order_step step[],
                            double doubt_1[])
{
    float begin[ORDER_CAUSES] = {0.0F};
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        begin[c] = (float)cause_1[c];
    double sum = 0.0;
    for (int s = 0; s < room->particles; s++) {
        const order_particle *one = &room->particle[s];
        float chance[ORDER_CAUSES];
        double spent = 0.0;
        memcpy(chance, begin, sizeof chance);
        for (int k = 0;; k++) {
            float total = 0.0F;
            for (int c = 0; c < ORDER_CAUSES; c++)
                total += chance[c];
            const double true_1 = (double)(chance[one->cause] / total);
            if (true_1 >= SURE_1)
                break;
            if (doubt_1 != NULL)
                doubt_1[k] += one->weight_1 * (1.0 - true_1);
            if (k == room->candidates)
                break;
            spent += step[k].minutes * (1.0 - true_1);
            for (int n = 0; n < step[k].count; n++) {
                const float *row = room->row[step[k].row[n] + one->outcome[step[k].finding[n]]];
                for (int c = 0; c < ORDER_CAUSES; c++)
                    chance[c] *= row[c];
            }
        }
        sum += one->weight_1 * spent;
    }
    return sum;
}

typedef void change(int order[], int from, int to);

static void move(int order[], int from, int to)
{
    const int moved = order[from];
    for (; from > to; from--)
        order[from] = order[from - 1];
    for (; from < to; from++)
        order[from] = order[from + 1];
    order[to] = moved;
}

static void swap(int order[], int from, int to)
{
    const int moved = order[from];
    order[from] = order[to];
    order[to] = moved;
}

/* Doubt taken away a minute: the steepest line down from each place to any behind it; all checks under one line share it. */
static void rate(order_room *room, const int order[], const order_step step[], const double doubt_1[])
{
    int from = 0;
    while (from < room->candidates) {
        double steepest = -INFINITY, minutes = 0.0;
        int end = from;
        for (int to = from; to < room->candidates; to++) {
            minutes += step[to].minutes;
            const double slope = (doubt_1[from] - doubt_1[to + 1]) / minutes;
            if (slope > steepest) {
                steepest = slope;
                end = to;
            }
        }
        for (; from <= end; from++)
            room->candidate[order[from]].doubt_per_minute = steepest;
    }
}

void order_find(order_room *room, const double cause_1[CH_CAUSE_COUNT], int order[ORDER_CANDIDATES_MAX])
{
    draw(room, cause_1);
    for (int k = 0; k < room->candidates; k++) { /* to begin with, most told a minute first */
        const order_candidate *one = &room->candidate[k];
        int at = k;
        for (; at > 0; at--) {
            const order_candidate *before = &room->candidate[order[at - 1]];
            if (one->bits_1 * before->minutes <= before->bits_1 * one->minutes)
                break;
            order[at] = order[at - 1];
        }
        order[at] = k;
    }
    order_step step[ORDER_CANDIDATES_MAX];
    lay_out(room, order, step);
    double least = doubt_minutes(room, cause_1, step, NULL);
    bool better = true;
    for (int sweep = 0; sweep < SWEEPS_MAX && better; sweep++) {
        better = false;
        for (int from = 0; from < room->candidates; from++)
            for (int to = 0; to < room->candidates && to < FIRST_PLACES; to++)
                for (int way = 0; way < 2 && from != to; way++) {
                    change *const by = way == 0 ? move : swap;
                    by(order, from, to);
                    lay_out(room, order, step);
                    const double now = doubt_minutes(room, cause_1, step, NULL);
                    if (now < least) {
                        least = now;
                        better = true;
                    } else {
                        by(order, to, from);
                    }
                }
    }
    double doubt_1[ORDER_CANDIDATES_MAX + 1] = {0.0};
    lay_out(room, order, step);
    doubt_minutes(room, cause_1, step, doubt_1);
    rate(room, order, step, doubt_1);
}
