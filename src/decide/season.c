/* History, forecast and decision together. */
#include "crosshatch/season.h"

#include <math.h>
#include <stdlib.h>

static const double SUSPECT_1 = 0.25,
                    LIKELY_1 = 0.5;           /* the verdict's chance of a fault that asks for watching; even odds */
static const double LONG_SEASON_S = 108000.0; /* 30 h: then a test in its middle too */
enum { YEAR_DAYS = 365, A_YEAR_MAX = 40, HORIZON_YEARS = 3 };
/* Planned events and the usual ones of the years behind them have room in a course. */
_Static_assert(CH_FORECAST_EVENTS_MAX + (HORIZON_YEARS - 1) * A_YEAR_MAX <= CH_DECISION_EVENTS_MAX,
               "room for all events");

const char *ch_horizon_name(ch_horizon horizon)
{
    static const char *const names[CH_HORIZONS] = {"season", "year", "three_years"};
    return (unsigned)horizon < CH_HORIZONS ? names[horizon] : NULL;
}

const char *ch_upgrade_name(ch_upgrade upgrade)
{
    static const char *const names[CH_UPGRADES] = {"repair_first", "not_here", "test_first", "sound"};
    return (unsigned)upgrade < CH_UPGRADES ? names[upgrade] : NULL;
}

void ch_season_clear(ch_season *season)
{
    ch_forecast_clear(&season->forecast);
    *season = (ch_season){0};
}

static int by_day(const void *a, const void *b)
{
    const ch_history_event *x = ((const ch_season_event *)a)->event, *y = ((const ch_season_event *)b)->event;
    const long dx = ch_date_days(x->day), dy = ch_date_days(y->day);
    if (dx != dy)
        return dx < dy ? -1 : 1;
    return (x->id > y->id) - (x->id < y->id);
}

/* Planned: after today, or today and not known to have run. */
static ch_status plan(const ch_season_input *in, ch_season *s, ch_err *err)
{
    ch_season_event *all = malloc((in->events + 1) * sizeof *all);
    size_t n = 0;
    if (all == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the events");
    const long today = ch_date_days(in->today);
    for (size_t i = 0; i < in->events; i++) {
        const ch_history_event *e = &in->event[i];
        const long day = ch_date_days(e->day);
        if (day > today || (day == today && isnan(e->running_s)))
            all[n++] = (ch_season_event){.event = e,
                                         .running_s = e->running_s > 0.0 ? e->running_s : s->history.usual_event_s};
    }
    qsort(all, n, sizeof *all, by_day);
    s->planned = n < CH_FORECAST_EVENTS_MAX ? n : CH_FORECAST_EVENTS_MAX;
    double end_s = s->history.now_s;
    for (size_t i = 0; i < s->planned; i++) {
        s->event[i] = all[i];
        s->event[i].end_s = end_s += all[i].running_s;
    }
    free(all);
    return CH_OK;
}

static ch_status forecast(const ch_season_input *in, ch_season *s, ch_err *err)
{
    double end_s[CH_FORECAST_EVENTS_MAX];
    for (size_t i = 0; i < s->planned; i++)
        end_s[i] = s->event[i].end_s;
    const ch_wear_input wear = {.cylinders = s->history.cylinders,
                                .sheet = s->history.wear,
                                .sheets = s->history.wear_count,
                                .step = s->history.step,
                                .steps = s->history.steps,
                                .log_area_prior = s->history.log_prior,
                                .u_prior_1 = s->history.u_prior_1,
                                .now_s = s->history.now_s,
                                .log_watch = s->history.log_watch,
                                .log_fault = s->history.log_fault,
                                .event_s = end_s,
                                .events = s->planned,
                                .seed = in->seed};
    return ch_forecast_run(&wear, &s->forecast, err);
}

/* The sheet that the fit took in last. */
static const ch_history_sheet *last_fitted(const ch_history *h)
{
    const ch_history_sheet *last = NULL;
    for (size_t i = 0; i < h->count; i++)
        if (h->point[i].fitted && h->point[i].at + 1 == h->wear_count)
            last = h->point[i].sheet;
    return last;
}

static void find_last_test(ch_season *s)
{
    const ch_history *h = &s->history;
    for (size_t i = 0; i < h->count; i++) /* by day */
        if (h->point[i].fitted)
            s->last_test = h->point[i].sheet->day;
}

static double fault_chance(const double cause_1[CH_CAUSE_COUNT])
{
    return fmin(fmax(1.0 - cause_1[CH_CAUSE_SOUND] - cause_1[CH_CAUSE_MEASUREMENT_ERROR], 0.0), 1.0);
}

/* The sheet that tested this cylinder last, of those that the fit took in; NULL where none did. */
static const ch_history_sheet *last_test_of(const ch_history *h, int c)
{
    const ch_history_sheet *last = NULL;
    for (size_t i = 0; i < h->count; i++) /* by day */
        if (h->point[i].fitted && ch_history_tested(&h->point[i].sheet->result.cylinder[c]))
            last = h->point[i].sheet;
    return last;
}

/*
 * Chance that something is wrong with a cylinder: by the last sheet that tested it and can be trusted, and by what was noted at it since. What a
 * repair has followed is a matter of the past.
 */
static double wrong_with(const ch_season_input *in, const ch_history *h, int c)
{
    double most_1 = 0.0;
    for (size_t i = h->count; i-- > 0;) {
        const ch_history_sheet *sheet = h->point[i].sheet;
        const ch_history_cylinder *one = &sheet->result.cylinder[c];
        const bool tested = ch_history_tested(one);
        if (sheet->result.cylinders != h->cylinders || !sheet->result.reliable || (!tested && one->signs == 0) ||
            ch_history_repaired(in->repair, in->repairs, sheet->day, c + 1, in->today))
            continue;
        most_1 = fmax(most_1, fault_chance(one->cause_1));
        if (tested && one->cause_1[CH_CAUSE_MEASUREMENT_ERROR] < LIKELY_1)
            break;
    }
    return most_1;
}

/* The worst of the cylinders that were tested, and of what can leak in it the share that sits in the head. */
static void find_worst(ch_season *s)
{
    int worst = 0;
    for (int c = 1; c < s->forecast.cylinders; c++)
        if (last_test_of(&s->history, c) != NULL &&
            (last_test_of(&s->history, worst) == NULL ||
             s->forecast.cylinder[c].log_area_now[1] > s->forecast.cylinder[worst].log_area_now[1]))
            worst = c;
    const double *cause_1 = last_test_of(&s->history, worst)->result.cylinder[worst].cause_1; /* a history has a test */
    const double below = cause_1[CH_CAUSE_RINGS_OR_BORE] + cause_1[CH_CAUSE_PISTON_DAMAGE];
    double head = 0.0;
    for (int k = CH_CAUSE_INTAKE_VALVE; k < CH_CAUSE_MEASUREMENT_ERROR; k++)
        head += cause_1[k];
    s->worst = worst + 1;
    s->head_share_1 = head + below > 0.0 ? head / (head + below) : 0.5;
}

/* Events to a horizon: the planned ones, then usual ones up to as many as a year has. */
static size_t course_to(const ch_season *s, ch_date today, ch_horizon horizon, ch_decision_event event[])
{
    const double each_s = s->history.usual_event_s;
    const double ratio = s->history.year_s / each_s;
    const size_t a_year = ratio < 1.0 ? 1 : ratio > A_YEAR_MAX ? A_YEAR_MAX : (size_t)lround(ratio);
    size_t n = 0;
    for (size_t i = 0; i < s->planned; i++)
        if (ch_date_days(s->event[i].event->day) <= ch_date_days(today) + YEAR_DAYS)
            event[n++] = (ch_decision_event){.running_s = s->event[i].running_s};
    const size_t planned = n;
    const size_t wanted = horizon == CH_HORIZON_SEASON ? (planned > 0 ? planned : (a_year + 1) / 2) : a_year;
    while (n < wanted)
        event[n++] = (ch_decision_event){.running_s = each_s};
    const bool middle = (double)a_year * each_s > LONG_SEASON_S;
    event[n / 2].test_before = middle && n > 1;
    /* no need for a test before the first where nothing has run since one of this season's */
    event[0].test_before =
        s->history.now_s > s->history.last_s || ch_date_days(today) - ch_date_days(s->last_test) > YEAR_DAYS;
    for (int year = 1; horizon == CH_HORIZON_THREE_YEARS && year < HORIZON_YEARS; year++)
        for (size_t i = 0; i < a_year; i++)
            event[n++] = (ch_decision_event){.running_s = each_s, .test_before = i == 0 || (middle && i == a_year / 2)};
    return n;
}

static double over_at(const ch_forecast *f, double log_fault, double ahead_s)
{
    if (isnan(log_fault))
        return NAN;
    size_t count = 0;
    for (size_t d = 0; d < f->draws; d++) {
        const double *row = f->draw + d * 2 * (size_t)f->cylinders;
        bool over = false;
        for (int c = 0; c < f->cylinders; c++)
            over = over || row[c] + ahead_s * row[f->cylinders + c] >= log_fault;
        count += over;
    }
    return (double)count / (double)f->draws;
}

/*
 * Chance that something is wrong now, whatever its leak: a burnt valve is one before its hole is large. The largest of any cylinder, where it is
 * large enough for the verdict to ask for watching; smaller ones are every engine's.
 */
static double wrong_now(const ch_season_input *in, const ch_season *s)
{
    double most = 0.0;
    for (int c = 0; c < s->history.cylinders; c++)
        most = fmax(most, wrong_with(in, &s->history, c));
    return most >= SUSPECT_1 ? most : 0.0;
}

static ch_status decide(const ch_season_input *in, ch_season *s, ch_err *err)
{
    ch_decision_event event[CH_DECISION_EVENTS_MAX];
    ch_status rc = CH_OK;
    for (int h = 0; rc >= 0 && h < CH_HORIZONS; h++) {
        const ch_decision_input input = {.forecast = &s->forecast,
                                         .log_fault = s->history.log_fault,
                                         .over_now_1 = wrong_now(in, s),
                                         .head_share_1 = s->head_share_1,
                                         .assumptions = in->assumptions,
                                         .event = event,
                                         .events = course_to(s, in->today, (ch_horizon)h, event),
                                         .seed = in->seed};
        for (size_t e = 0; e < input.events; e++)
            s->horizon_s[h] += event[e].running_s;
        s->over_fault_1[h] = over_at(&s->forecast, s->history.log_fault, s->horizon_s[h]);
        rc = ch_decision_run(&input, &s->decision[h], err);
    }
    return rc;
}

static ch_status find_fan(ch_season *s, ch_err *err)
{
    ch_status rc = CH_OK;
    for (int c = 0; rc >= 0 && c < s->forecast.cylinders; c++)
        for (int k = 0; rc >= 0 && k <= CH_SEASON_FAN; k++)
            rc = ch_forecast_ahead(&s->forecast, c + 1, s->horizon_s[s->horizon] * k / CH_SEASON_FAN, s->fan_log[c][k],
                                   err);
    return rc;
}

static ch_upgrade upgrade_of(const ch_season_input *in, const ch_season *s)
{
    const ch_history_sheet *last = last_fitted(&s->history);
    const ch_forecast_cylinder *worst = &s->forecast.cylinder[s->worst - 1];
    /* of the worst one also what its last test says that was not weighed properly */
    const double fault_1 =
        fmax(wrong_with(in, &s->history, s->worst - 1),
             fault_chance(last_test_of(&s->history, s->worst - 1)->result.cylinder[s->worst - 1].cause_1));
    if (worst->over_watch_1 >= LIKELY_1 || fmax(fault_1, wrong_now(in, s)) >= LIKELY_1 ||
        last->result.verdict == CH_VERDICT_FAULT)
        return CH_UPGRADE_REPAIR_FIRST;
    if (s->over_fault_1[s->horizon] >= SUSPECT_1)
        return CH_UPGRADE_NOT_HERE;
    if (!s->forecast.slope_known || !last->result.reliable || worst->over_watch_1 >= SUSPECT_1 || fault_1 >= SUSPECT_1)
        return CH_UPGRADE_TEST_FIRST;
    return CH_UPGRADE_SOUND;
}

double ch_season_over_fault(const ch_season *season, ch_date day)
{
    double chance_1 = NAN;
    for (int c = 0; c < season->forecast.cylinders; c++)
        chance_1 = fmax(chance_1, season->forecast.cylinder[c].over_fault_1);
    for (size_t i = 0; i < season->planned; i++)
        if (ch_date_days(season->event[i].event->day) == ch_date_days(day))
            chance_1 = season->forecast.event[i].over_fault_1;
    return chance_1;
}

ch_status ch_season_run(const ch_season_input *in, ch_season *season, ch_err *err)
{
    if ((unsigned)in->horizon >= CH_HORIZONS)
        return ch_fail(err, CH_E_RANGE, "season, year or three_years", "horizon number %d", (int)in->horizon);
    ch_season *s = calloc(1, sizeof *s);
    if (s == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the season");
    s->horizon = in->horizon;
    ch_status rc = ch_history_build(in->sheet, in->sheets, in->event, in->events, in->repair, in->repairs, in->today,
                                    &s->history, err);
    if (rc >= 0)
        rc = plan(in, s, err);
    if (rc >= 0)
        rc = forecast(in, s, err);
    if (rc >= 0) {
        find_last_test(s);
        find_worst(s);
        rc = decide(in, s, err);
    }
    if (rc >= 0)
        rc = find_fan(s, err);
    if (rc >= 0) {
        s->upgrade = upgrade_of(in, s);
        *season = *s;
    } else {
        ch_forecast_clear(&s->forecast);
    }
    free(s);
    return rc;
}
