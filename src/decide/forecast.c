/* The forecast: checks, steps, sampling, and what the draws say. */
#include "crosshatch/forecast.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/summary.h"
#include "wear.h"

enum { BURN = 400, FOUND_MAX = 3 };
static const double ALARM_1 = 0.05; /* chance of a false alarm a history is allowed */
/* A slope is known where its interval is at most so much of the one before any test. Judgment. */
static const double NARROWED_1 = 0.8;

static ch_status check_sheet(const ch_wear_input *in, size_t i, size_t *figures, ch_err *err)
{
    const ch_wear_sheet *s = &in->sheet[i];
    if (!isfinite(s->running_s) || (i > 0 && s->running_s < in->sheet[i - 1].running_s))
        return ch_fail(err, CH_E_RANGE, "in order of running time", "sheet %zu of the history stands at %g s", i + 1,
                       s->running_s);
    if (s->gauge < 0 || s->gauge >= CH_FORECAST_GAUGES_MAX)
        return ch_fail(err, CH_E_RANGE, "0 to 7", "sheet %zu names gauge %d", i + 1, s->gauge);
    for (int c = 0; c < in->cylinders; c++) {
        if (isnan(s->log_area[c]))
            continue;
        if (!isfinite(s->log_area[c]) || !(s->u_1[c] > 0.0 && isfinite(s->u_1[c])))
            return ch_fail(err, CH_E_RANGE, "finite, with an uncertainty above 0",
                           "sheet %zu has a log area of %g with %g for cylinder %d", i + 1, s->log_area[c], s->u_1[c],
                           c + 1);
        (*figures)++;
    }
    return CH_OK;
}

static ch_status check(const ch_wear_input *in, ch_err *err)
{
    size_t figures = 0;
    if (in->cylinders < 1 || in->cylinders > CH_CYLINDERS_MAX)
        return ch_fail(err, CH_E_RANGE, "1 to 32", "%d cylinders", in->cylinders);
    if (in->sheets > CH_FORECAST_SHEETS_MAX || in->steps > CH_FORECAST_STEPS_MAX || in->events > CH_FORECAST_EVENTS_MAX)
        return ch_fail(err, CH_E_LIMIT, "up to 500 sheets, 8 steps and 100 events", "%zu sheets, %zu steps, %zu events",
                       in->sheets, in->steps, in->events);
    for (size_t i = 0; i < in->sheets; i++) {
        const ch_status rc = check_sheet(in, i, &figures, err);
        if (rc < 0)
            return rc;
    }
    if (figures == 0)
        return ch_fail(err, CH_E_RANGE, "one test or more",
                       "nothing was measured yet: there is nothing to forecast from");
    for (size_t k = 0; k < in->steps; k++)
        if (in->step[k].cylinder < 0 || in->step[k].cylinder > in->cylinders)
            return ch_fail(err, CH_E_RANGE, "a cylinder of the engine", "step %zu is of cylinder %d", k + 1,
                           in->step[k].cylinder);
    if (!isfinite(in->log_area_prior) || !(in->u_prior_1 > 0.0))
        return ch_fail(err, CH_E_RANGE, "finite, with an uncertainty above 0", "a prior log area of %g with %g",
                       in->log_area_prior, in->u_prior_1);
    if (!(in->now_s >= in->sheet[in->sheets - 1].running_s) || isinf(in->now_s))
        return ch_fail(err, CH_E_RANGE, "not before the last sheet", "now is %g s", in->now_s);
    for (size_t e = 0; e < in->events; e++)
        if (!(in->event_s[e] >= in->now_s) || isinf(in->event_s[e]))
            return ch_fail(err, CH_E_RANGE, "not before now", "event %zu ends at %g s", e + 1, in->event_s[e]);
    return CH_OK;
}

/* Where the draws go. */
typedef struct collector {
    const wear_model *model;
    ch_forecast *to;
    double *day2, *reading2;
} collector;

static void keep(void *to, size_t number, const wear_draw *draw)
{
    collector *k = to;
    const wear_model *m = k->model;
    const ch_wear_input *in = m->in;
    double *row = k->to->draw + number * 2 * (size_t)m->cylinders;
    for (int c = 0; c < m->cylinders; c++) {
        const double slope = exp(draw->log_slope[c]);
        double level = draw->b[c] + slope * (in->now_s / WEAR_UNIT_S - m->t_middle);
        for (size_t s = 0; s < m->steps; s++)
            if (m->step[s].cylinder == 0 || m->step[s].cylinder == c + 1)
                level += draw->b[m->at_step[s] + (m->step[s].cylinder == 0 ? c : 0)];
        row[c] = level;
        row[m->cylinders + c] = slope / WEAR_UNIT_S;
    }
    for (size_t i = 0; i < in->sheets; i++)
        k->to->odd_sheet_1[i] += draw->sheet_weight[i] < 1.0 ? 1.0 / CH_FORECAST_DRAWS : 0.0;
    k->day2[number] = draw->day2;
    k->reading2[number] = draw->reading2;
}

static void quantiles(double x[], double out[3])
{
    static const double p_1[3] = {0.05, 0.5, 0.95};
    ch_sort(x, CH_FORECAST_DRAWS);
    for (int i = 0; i < 3; i++)
        out[i] = ch_quantile_sorted(x, CH_FORECAST_DRAWS, p_1[i]);
}

static double left_s(const double *row, int cylinders, int c, double limit)
{
    return fmax((limit - row[c]) / row[cylinders + c], 0.0);
}

/* Quantiles of the time left to a limit; `c` < 0: until the first cylinder is over it. */
static void fill_left(const ch_forecast *f, int c, double limit, double scratch[], double out[3])
{
    if (isnan(limit)) {
        out[0] = out[1] = out[2] = NAN;
        return;
    }
    for (size_t d = 0; d < f->draws; d++) {
        const double *row = f->draw + d * 2 * (size_t)f->cylinders;
        double least = c < 0 ? INFINITY : left_s(row, f->cylinders, c, limit);
        for (int o = 0; c < 0 && o < f->cylinders; o++)
            least = fmin(least, left_s(row, f->cylinders, o, limit));
        scratch[d] = least;
    }
    quantiles(scratch, out);
}

/* Chance that cylinder `c`, or any of them (`c` < 0), is over the limit after `ahead_s` of running. */
static double over(const ch_forecast *f, int c, double limit, double ahead_s)
{
    if (isnan(limit))
        return NAN;
    size_t count = 0;
    for (size_t d = 0; d < f->draws; d++) {
        const double *row = f->draw + d * 2 * (size_t)f->cylinders;
        bool is_over = false;
        for (int o = c < 0 ? 0 : c; o < (c < 0 ? f->cylinders : c + 1); o++)
            is_over = is_over || row[o] + ahead_s * row[f->cylinders + o] >= limit;
        count += is_over;
    }
    return (double)count / (double)f->draws;
}

static void summarize(const ch_wear_input *in, ch_forecast *f, double scratch[])
{
    for (int c = 0; c < f->cylinders; c++) {
        ch_forecast_cylinder *one = &f->cylinder[c];
        for (int what = 0; what < 3; what++) {
            for (size_t d = 0; d < f->draws; d++) {
                const double *row = f->draw + d * 2 * (size_t)f->cylinders;
                const double slope = row[f->cylinders + c];
                scratch[d] = what == 0 ? slope : what == 1 ? row[c] : exp(row[c]) * slope;
            }
            quantiles(scratch, what == 0 ? one->slope_per_s : what == 1 ? one->log_area_now : one->growth_m2_per_s);
        }
        fill_left(f, c, in->log_watch, scratch, one->watch_s);
        fill_left(f, c, in->log_fault, scratch, one->fault_s);
        one->over_watch_1 = over(f, c, in->log_watch, 0.0);
        one->over_fault_1 = over(f, c, in->log_fault, 0.0);
    }
    fill_left(f, -1, in->log_watch, scratch, f->watch_s);
    fill_left(f, -1, in->log_fault, scratch, f->fault_s);
    for (size_t e = 0; e < in->events; e++) {
        f->event[e].over_watch_1 = over(f, -1, in->log_watch, in->event_s[e] - in->now_s);
        f->event[e].over_fault_1 = over(f, -1, in->log_fault, in->event_s[e] - in->now_s);
    }
}

/*
 * Whether the tests narrowed the slopes of the cylinders that they tested: the width of each one's interval over that of the prior, of the slope or of
 * its logarithm, whichever is less (a small slope is known by its upper end, a large one by its factor), in the mean.
 */
static bool slope_narrowed(const ch_wear_input *in, const ch_forecast *f)
{
    const double p95 = 1.6448536269514722, half = p95 * hypot(CH_WEAR_SLOPE_SD_LOG, CH_WEAR_CYLINDER_SD_LOG),
                 width_per_s = 2.0 * CH_WEAR_SLOPE_PER_S * sinh(half);
    double sum = 0.0;
    int n = 0;
    for (int c = 0; c < f->cylinders; c++) {
        const double *slope = f->cylinder[c].slope_per_s;
        bool tested = false;
        for (size_t i = 0; i < in->sheets && !tested; i++)
            tested = !isnan(in->sheet[i].log_area[c]);
        if (!tested)
            continue;
        sum += fmin(log(slope[2] / slope[0]) / (2.0 * half), (slope[2] - slope[0]) / width_per_s);
        n++;
    }

    return sum <= NARROWED_1 * n;
}

/* Take in one clear step after the other; the model is that with all of them. */
static ch_status find_steps(const ch_wear_input *in, wear_model *model, ch_forecast *f, ch_err *err)
{
    ch_status rc = CH_OK;
    while (f->found < FOUND_MAX && model->steps < CH_FORECAST_STEPS_MAX) {
        ch_wear_found found = {.chance_1 = NAN};
        rc = wear_step_find(model, in->seed + 1 + f->found, &found, err);
        if (rc < 0 || !(found.chance_1 <= ALARM_1))
            return rc;
        ch_wear_step step[CH_FORECAST_STEPS_MAX];
        memcpy(step, model->step, model->steps * sizeof *step);
        step[model->steps] = found.step;
        const size_t steps = model->steps + 1;
        wear_model_clear(model);
        rc = wear_model_build(in, step, steps, model, err);
        if (rc < 0)
            return rc;
        f->step[f->found++] = found;
    }
    return rc;
}

static ch_status run(const ch_wear_input *in, wear_model *model, ch_forecast *f, double scratch[], ch_err *err)
{
    ch_status rc = find_steps(in, model, f, err);
    collector to = {model, f, scratch, scratch + CH_FORECAST_DRAWS};
    if (rc >= 0)
        rc = wear_sample(model, in->seed, BURN, CH_FORECAST_DRAWS, keep, &to, err);
    if (rc < 0)
        return rc;
    double three[3];
    quantiles(to.day2, three);
    f->day_1 = sqrt(three[1]);
    quantiles(to.reading2, three);
    f->reading_1 = sqrt(three[1]);
    summarize(in, f, scratch);
    f->slope_known = in->sheet[in->sheets - 1].running_s > in->sheet[0].running_s && slope_narrowed(in, f);
    return CH_OK;
}

ch_status ch_forecast_run(const ch_wear_input *in, ch_forecast *forecast, ch_err *err)
{
    ch_status rc = check(in, err);
    if (rc < 0)
        return rc;
    double *scratch = malloc(2 * CH_FORECAST_DRAWS * sizeof *scratch);
    ch_forecast *f = calloc(1, sizeof *f);
    wear_model model = {0};
    if (f != NULL)
        f->draw = malloc((size_t)CH_FORECAST_DRAWS * 2 * (size_t)in->cylinders * sizeof *f->draw);
    if (scratch == NULL || f == NULL || f->draw == NULL) {
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory for the forecast");
    } else {
        f->cylinders = in->cylinders;
        f->events = in->events;
        f->draws = CH_FORECAST_DRAWS;
        rc = wear_model_build(in, in->step, in->steps, &model, err);
        if (rc >= 0)
            rc = run(in, &model, f, scratch, err);
    }
    if (rc >= 0)
        *forecast = *f;
    else if (f != NULL)
        free(f->draw);
    wear_model_clear(&model);
    free(f);
    free(scratch);
    return rc;
}

ch_status ch_forecast_ahead(const ch_forecast *forecast, int cylinder, double ahead_s, double log_area[3], ch_err *err)
{
    if (forecast->draw == NULL || cylinder < 1 || cylinder > forecast->cylinders || !(ahead_s >= 0.0) || isinf(ahead_s))
        return ch_fail(err, CH_E_RANGE, "a cylinder of the engine, 0 hours or more", "no forecast for that");
    double *scratch = malloc(CH_FORECAST_DRAWS * sizeof *scratch);
    if (scratch == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the forecast");
    for (size_t d = 0; d < forecast->draws; d++) {
        const double *row = forecast->draw + d * 2 * (size_t)forecast->cylinders;
        scratch[d] = row[cylinder - 1] + ahead_s * row[forecast->cylinders + cylinder - 1];
    }
    quantiles(scratch, log_area);
    free(scratch);
    return CH_OK;
}

void ch_forecast_clear(ch_forecast *forecast)
{
    free(forecast->draw);
    *forecast = (ch_forecast){0};
}
