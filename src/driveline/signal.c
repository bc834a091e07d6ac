/*
 * Signals as they were before the logger held, stepped and delayed them.
 *
 * A held value is news only when it changes, so between two changes the signal is drawn straight from the earlier value, held until one usual interval
 * before the later, to the later one. A speed in whole steps that is read often is drawn through the moments at which it crosses from step to step. The lag is that
 * shift of road speed with which engine and road speed change alike in most of the run: differences of their logarithms agree in every gear.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "parts.h"

enum { LAG_ROWS_MAX = 8000 };

double signals_at(const double *time_s, const float *x, size_t n, double at_s, double reach_s, size_t *hint)
{
    size_t i = *hint;
    if (n == 0 || at_s < time_s[0] || at_s > time_s[n - 1])
        return NAN;
    while (i > 0 && time_s[i] > at_s)
        i--;
    while (i + 1 < n && time_s[i + 1] <= at_s)
        i++;
    *hint = i;
    if (i + 1 == n)
        return x[i];
    const double span_s = time_s[i + 1] - time_s[i];
    if (span_s > reach_s)
        return NAN;
    const double f = (at_s - time_s[i]) / span_s;
    return x[i] + f * (x[i + 1] - x[i]);
}

static double median_interval(const double *time_s, size_t n)
{
    unsigned places[FRESH_PLACES] = {0};
    for (size_t i = 1; i < n; i++)
        fresh_add(places, time_s[i] - time_s[i - 1]);
    const double median_s = fresh_share(places, 0.5);
    /* the places are coarse against a row's twentieth of a second: the mean of those near it */
    double sum_s = 0;
    size_t count = 0;
    for (size_t i = 1; i < n; i++)
        if (fabs(time_s[i] - time_s[i - 1] - median_s) <= FRESH_STEP_S) {
            sum_s += time_s[i] - time_s[i - 1];
            count++;
        }
    return count > 0 ? sum_s / (double)count : median_s;
}

/* Values that were held, drawn straight to each change over one usual interval ahead of it. */
static void draw_held(const double *time_s, const float *x, size_t n, double fresh_s, float *out)
{
    size_t last = 0;
    memcpy(out, x, n * sizeof *out);
    for (size_t k = 1; k < n; k++) {
        if (x[k] == x[k - 1])
            continue;
        if (!isnan(x[k]) && !isnan(x[k - 1])) {
            /* the news before this one, where it was a change too */
            const double since_s = time_s[k] - time_s[last];
            const double from_s = since_s < 1.5 * fresh_s ? time_s[last] : time_s[k] - fresh_s;
            for (size_t i = k - 1; time_s[i] > from_s; i--) /* no further back than to the row of that news */
                out[i] = (float)(x[k - 1] + (x[k] - x[k - 1]) * (time_s[i] - from_s) / (time_s[k] - from_s));
        }
        last = k;
    }
}

/*
 * A receiver that lost its satellites repeats the last speed until it has another: what lies between is unknown. Told from a steady speed by the leap at the end, longer than
 * `least_s` after the last news and by more than a few steps.
 */
static void forget_dropouts(const double *time_s, const float *x, size_t n, double fresh_s, double step, float *out)
{
    static const double least_s = 0.35, news = 3.5, leap_m_s = 0.25, steps = 3; /* judgment */
    static const double before_s = 0.6;                                         /* judgment */
    size_t last = 0, earlier = 0;
    for (size_t k = 1; k < n; k++) {
        if (x[k] == x[k - 1])
            continue;
        if (time_s[k] - time_s[last] > fmax(least_s, news * fresh_s) &&
            fabs(x[k] - x[last]) > fmax(leap_m_s, steps * step))
            for (size_t i = last + 1; i < k; i++)
                out[i] = NAN;
        last = k;
    }
    /* one that the log ends in has no leap; what the speed did before it, news by news, carried on, stands for that */
    const double trend_s = fmax(before_s, 3 * fresh_s);
    while (time_s[last] - time_s[earlier] > trend_s)
        earlier++;
    size_t changes = 0;
    for (size_t k = earlier + 1; k <= last; k++)
        changes += x[k] != x[k - 1];
    if (changes >= 2 && time_s[n - 1] - time_s[last] > fmax(least_s, news * fresh_s) &&
        fabs(x[last] - x[earlier]) / (time_s[last] - time_s[earlier]) * (time_s[n - 1] - time_s[last]) >
            fmax(leap_m_s, steps * step))
        for (size_t i = last + 1; i < n; i++)
            out[i] = NAN;
}

/* A signal being drawn straight from point to point. */
typedef struct drawing {
    const double *time_s;
    const float *x;
    float *out;
    double step;
    size_t from; /* first row not yet drawn */
    double last_s, last;
} drawing;

/* To a point that row k brought; never further from what was logged before and then than one step. */
static void draw_to(drawing *d, size_t k, double at_s, double value)
{
    if (!isnan(d->last_s) && !(at_s > d->last_s))
        return;
    for (; d->from < k && d->time_s[d->from] <= at_s; d->from++) {
        const size_t i = d->from;
        const double f = (d->time_s[i] - d->last_s) / (at_s - d->last_s);
        const double low = fminf(d->x[i], d->x[k]) - d->step, high = fmaxf(d->x[i], d->x[k]) + d->step;
        if (!isnan(d->last_s))
            d->out[i] = (float)fmin(fmax(d->last + fmax(f, 0) * (value - d->last), low), high);
    }
    d->last_s = at_s;
    d->last = value;
}

/*
 * Values in whole steps, `news_s` between news; 0: each row has its own. A change was crossed half of that before the row that has it; one by more than
 * `several` steps goes from the news before to this.
 */
static void draw_stepped(const double *time_s, const float *x, size_t n, double step, double news_s, double several,
                         double reach_s, float *out)
{
    drawing d = {.time_s = time_s, .x = x, .out = out, .step = step, .last_s = NAN};
    memcpy(out, x, n * sizeof *out);
    for (size_t k = 1; k < n; k++) {
        if (isnan(x[k]) || isnan(x[k - 1]) || time_s[k] - time_s[k - 1] > reach_s) {
            d.last_s = NAN;
            d.from = k;
            continue;
        }
        if (x[k] == x[k - 1])
            continue;
        const double since_s = fmax(news_s, time_s[k] - time_s[k - 1]);
        if (news_s > 0 && fabs(x[k] - x[k - 1]) > several * step) {
            draw_to(&d, k, time_s[k] - since_s, x[k - 1]);
            draw_to(&d, k, time_s[k], x[k]);
        } else
            draw_to(&d, k, time_s[k] - 0.5 * since_s, 0.5 * (x[k] + x[k - 1]));
    }
}

/* True where nearly all changes are by one step: the speed is read often enough to see each crossing. */
static bool sees_each_step(const float *x, size_t n, double step)
{
    size_t single = 0, changes = 0;
    for (size_t i = 1; i < n; i++)
        if (x[i] != x[i - 1] && !isnan(x[i]) && !isnan(x[i - 1])) {
            changes++;
            single += fabs(x[i] - x[i - 1]) < 1.2 * step;
        }
    return changes > 0 && (double)single >= 0.8 * (double)changes;
}

/* Where engine speed changes, and by how much: what road speed is held against. */
typedef struct lag_rows {
    size_t n;
    double at_s[LAG_ROWS_MAX], change[LAG_ROWS_MAX]; /* of the logarithm */
} lag_rows;

typedef struct lag_search {
    const signals *s;
    const float *road; /* logarithms; NaN at rest */
    const lag_rows *rows;
    double half_s, reach_s;
} lag_search;

static void find_changes(const signals *s, double half_s, double reach_s, lag_rows *rows)
{
    size_t before = 0, after = 0;
    const size_t stride = s->n / LAG_ROWS_MAX + 1; /* so that there is room for all */
    rows->n = 0;
    for (size_t i = 0; i < s->n; i += stride) {
        const double at_s = s->time_s[i];
        const double early = signals_at(s->time_s, s->engine, s->n, at_s - half_s, reach_s, &before);
        const double late = signals_at(s->time_s, s->engine, s->n, at_s + half_s, reach_s, &after);
        const double change = log(late / early);
        if (!(early > 60) || !(late > 60) || !(fabs(change) > 0.03) || !(fabs(change) < 0.8))
            continue;
        rows->at_s[rows->n] = at_s;
        rows->change[rows->n++] = change;
    }
}

/* How badly changes of engine and road speed agree with this lag: 0 to 1; NaN where there is nothing to compare. */
static double disagreement(const lag_search *search, double lag_s, size_t *compared)
{
    static const double scale_1 = 0.02; /* a shift differs by a tenth and more, noise by less */
    const signals *s = search->s;
    size_t before = 0, after = 0, count = 0;
    double sum = 0;
    for (size_t i = 0; i < search->rows->n; i++) {
        const double at_s = search->rows->at_s[i] + lag_s;
        const double early = signals_at(s->time_s, search->road, s->n, at_s - search->half_s, search->reach_s, &before);
        const double late = signals_at(s->time_s, search->road, s->n, at_s + search->half_s, search->reach_s, &after);
        const double d = search->rows->change[i] - (late - early);
        if (isnan(d))
            continue;
        sum += d * d / (d * d + scale_1 * scale_1);
        count++;
    }
    *compared = count;
    return count > 0 ? sum / (double)count : NAN;
}

/* `scratch` has room for s->n values. */
static ch_status find_lag(signals *s, const float *road, float *scratch, ch_err *err)
{
    static const double widest_s = 1.6, coarse_s = 0.08, fine_s = 0.01;
    const double slow_s = fmax(s->engine_fresh_s, s->road_fresh_s);
    static const double least_road_m_s = 3;
    lag_rows *rows = malloc(sizeof *rows);
    if (rows == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the run");
    for (size_t i = 0; i < s->n; i++)
        scratch[i] = road[i] > least_road_m_s ? logf(road[i]) : NAN;
    const lag_search search = {
        .s = s, .road = scratch, .rows = rows, .half_s = fmax(0.4, slow_s), .reach_s = fmax(1.0, 3 * s->interval_s)};
    find_changes(s, search.half_s, search.reach_s, rows);
    double best_s = 0, least = INFINITY, sum = 0;
    size_t compared = 0, most = 0, tried = 0;
    for (int k = (int)(-widest_s / coarse_s); k <= (int)(widest_s / coarse_s); k++) {
        const double d = disagreement(&search, k * coarse_s, &compared);
        most = compared > most ? compared : most;
        if (isnan(d))
            continue;
        sum += d;
        tried++;
        if (d < least) {
            least = d;
            best_s = k * coarse_s;
        }
    }
    /* where much of the run is none in gear, as with a clutch that slips at every pull, they agree in little of it, but there more than at other lags */
    const bool plain = least < 0.75;
    const bool stands_out = least < 0.985 * sum / (double)tried;
    s->lag_known = most >= 25 && (plain || stands_out);
    if (!s->lag_known) {
        s->u_lag_s = fmax(0.15, slow_s);
        free(rows);
        return CH_OK;
    }
    const double around_s = best_s;
    for (int k = -8; k <= 8; k++) {
        const double d = disagreement(&search, around_s + k * fine_s, &compared);
        if (d < least) {
            least = d;
            best_s = around_s + k * fine_s;
        }
    }
    s->lag_s = best_s;
    s->u_lag_s = fmax(plain ? 0.015 : 0.03, 0.1 * slow_s);
    free(rows);
    return CH_OK;
}

ch_status signals_make(const trail *t, double step_m_s, double engine_fresh_s, double road_fresh_s, double road_news_s,
                       signals *s, ch_err *err)
{
    signals made = {.n = t->n, .time_s = t->time_s, .step_m_s = step_m_s};
    float **const arrays[] = {&made.drawn, &made.engine, &made.road,  &made.climb,
                              &made.ratio, &made.drift,  &made.smooth};
    bool memory = true;
    for (size_t i = 0; i < sizeof arrays / sizeof arrays[0]; i++) {
        *arrays[i] = malloc(t->n * sizeof **arrays[i]);
        memory = memory && *arrays[i] != NULL;
    }
    if (!memory) {
        signals_free(&made);
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the run");
    }
    const float *engine = t->channel[TRAIL_ENGINE], *road = t->channel[TRAIL_ROAD];
    made.interval_s = median_interval(t->time_s, t->n);
    made.engine_fresh_s = fmax(engine_fresh_s, made.interval_s);
    made.road_fresh_s = fmax(road_fresh_s, made.interval_s);
    const double held = 1.5;
    if (made.engine_fresh_s > held * made.interval_s)
        draw_held(t->time_s, engine, t->n, made.engine_fresh_s, made.engine);
    else
        memcpy(made.engine, engine, t->n * sizeof *engine);
    const double reach_s = fmax(1.0, 3 * made.interval_s);
    const bool each = step_m_s > 0 && sees_each_step(road, t->n, step_m_s),
               held_road = road_news_s > held * made.interval_s;
    if (step_m_s > 0 && made.interval_s < 0.3 && (each || (held_road && road_news_s < 0.3))) {
        draw_stepped(t->time_s, road, t->n, step_m_s, held_road ? road_news_s : 0, each ? 1.5 : 0.5, reach_s,
                     made.drawn);
        if (each)
            made.road_fresh_s = fmin(made.road_fresh_s, 2 * made.interval_s);
    } else if (made.road_fresh_s > held * made.interval_s)
        draw_held(t->time_s, road, t->n, made.road_fresh_s, made.drawn);
    else
        memcpy(made.drawn, road, t->n * sizeof *road);
    forget_dropouts(t->time_s, road, t->n, made.road_fresh_s, step_m_s, made.drawn);
    const ch_status rc = find_lag(&made, made.drawn, made.climb, err);
    if (rc < 0) {
        signals_free(&made);
        return rc;
    }
    made.window_s = fmax(0.25, fmax(made.engine_fresh_s, made.road_fresh_s));
    signals_move(&made, made.lag_s);
    *s = made;
    return CH_OK;
}

void signals_move(signals *s, double lag_s)
{
    const double reach_s = fmax(1.0, 3 * s->interval_s);
    size_t hint = 0;
    s->lag_s = lag_s;
    for (size_t i = 0; i < s->n; i++)
        s->road[i] = (float)signals_at(s->time_s, s->drawn, s->n, s->time_s[i] + lag_s, reach_s, &hint);
    const double half_s = fmax(0.3, s->road_fresh_s);
    size_t before = 0, after = 0;
    for (size_t i = 0; i < s->n; i++) {
        const double late = signals_at(s->time_s, s->road, s->n, s->time_s[i] + half_s, reach_s, &after);
        const double early = signals_at(s->time_s, s->road, s->n, s->time_s[i] - half_s, reach_s, &before);
        s->climb[i] = (float)((late - early) / (2 * half_s));
    }
}

void signals_ratio(signals *s, double offset_m_s)
{
    static const double least_engine_rad_s = 60, least_road_m_s = 1.5;
    for (size_t i = 0; i < s->n; i++) {
        const double road_m_s = s->road[i] + offset_m_s;
        const bool moves = s->engine[i] > least_engine_rad_s && road_m_s > least_road_m_s;
        s->ratio[i] = moves ? logf(s->engine[i] / (float)road_m_s) : NAN;
        if (s->creep_1 > 0)
            s->ratio[i] -= (float)(s->creep_1 * signals_drive_force(s, i));
    }
    for (size_t i = 0; i < s->n; i++) {
        const bool close = i > 0 && i + 1 < s->n && s->time_s[i + 1] - s->time_s[i - 1] < 0.13;
        const float mean = close ? (s->ratio[i - 1] + s->ratio[i] + s->ratio[i + 1]) / 3 : NAN;
        s->smooth[i] = isnan(mean) ? s->ratio[i] : mean;
    }
    const double reach_s = fmax(1.0, 3 * s->interval_s);
    size_t before = 0, after = 0;
    for (size_t i = 0; i < s->n; i++) {
        const double late = signals_at(s->time_s, s->smooth, s->n, s->time_s[i] + s->window_s, reach_s, &after);
        const double early = signals_at(s->time_s, s->smooth, s->n, s->time_s[i] - s->window_s, reach_s, &before);
        s->drift[i] = (float)(late - early);
    }
}

bool signals_follow(const signals *s, size_t i)
{
    return s->time_s[i] - s->time_s[i - 1] <= fmax(1.0, 3 * s->interval_s);
}

size_t signals_row_before(const signals *s, size_t i, double seconds)
{
    size_t k = i;
    while (k > 0 && s->time_s[i] - s->time_s[k] < seconds)
        k--;
    return k;
}

size_t signals_row_after(const signals *s, size_t i, double seconds)
{
    size_t k = i;
    while (k + 1 < s->n && s->time_s[k] - s->time_s[i] < seconds)
        k++;
    return k;
}

double signals_mean_climb(const signals *s, size_t from, size_t to)
{
    double sum = 0;
    size_t n = 0;
    for (size_t i = from; i <= to; i++)
        if (!isnan(s->climb[i])) {
            sum += s->climb[i];
            n++;
        }
    return sum / (double)n;
}

double signals_mean_traction(const signals *s, size_t from, size_t to)
{
    double sum = 0;
    size_t n = 0;
    for (size_t i = from; i <= to; i++)
        if (!isnan(s->climb[i])) {
            sum += signals_traction(s, i);
            n++;
        }
    return sum / (double)n;
}

void signals_free(signals *s)
{
    free(s->drawn);
    free(s->engine);
    free(s->road);
    free(s->climb);
    free(s->ratio);
    free(s->drift);
    free(s->smooth);
    *s = (signals){0};
}
