/*
 * Sheets on a line of running time. In their order:
 *  1. by day, then as opened;
 *  2. hours as noted, held to be rising; what is not is questioned, and a slip is told from another meter;
 *  3. sheets without hours between their neighbours by the events of the days between;
 *  4. what the fit can use, by running time; repairs between them.
 */
#include "crosshatch/history.h"

#include <limits.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/summary.h"

static const double SAME_S = 60.0; /* noted hours are rounded to minutes at best */
static const double DAY_S = 86400.0, YEAR_DAYS = 365.25;

typedef struct line {
    ch_history *h;
    const ch_history_event *event;
    size_t events;
    long today;
    bool by_distance;                       /* the odometer is the meter */
    double meter_s[CH_FORECAST_SHEETS_MAX]; /* as noted, or by distance; NaN = unknown or not believed */
} line;

const char *ch_history_question_name(ch_history_question_kind kind)
{
    static const char *const names[CH_HISTORY_QUESTION_KINDS] = {
        "hours_backward",    "meter_changed",       "hours_jump",   "odometer_backward",
        "hours_from_events", "hours_from_odometer", "no_hours",     "no_day",
        "other_engine",      "many_gauges",         "height_taken", "height_missing",
        "hours_by_distance", "event_long",          "day_to_come",  "untested"};
    return (unsigned)kind < CH_HISTORY_QUESTION_KINDS ? names[kind] : NULL;
}

__attribute__((format(printf, 4, 5))) static void ask(ch_history *h, ch_history_question_kind kind, int64_t sheet_id,
                                                      const char *format, ...)
{
    if (h->question_count >= CH_HISTORY_QUESTIONS_MAX)
        return;
    ch_history_question *q = &h->question[h->question_count++];
    q->kind = kind;
    q->sheet_id = sheet_id;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(q->text, sizeof q->text, format, arguments);
    va_end(arguments);
}

typedef struct day_text {
    char text[16];
} day_text;

static day_text say_day(ch_date day)
{
    day_text said;
    ch_date_format(day, said.text, sizeof said.text);
    return said;
}

typedef struct meter_text {
    char text[32];
} meter_text;

/* A figure of the meter as somebody wrote it down. */
static meter_text say_meter(const line *l, double meter_s)
{
    meter_text said;
    if (l->by_distance)
        snprintf(said.text, sizeof said.text, "%.0f km", meter_s * CH_HISTORY_SPEED_M_S / 1000.0);
    else
        snprintf(said.text, sizeof said.text, "%.1f h", meter_s / 3600.0);
    return said;
}

static int by_day(const void *a, const void *b)
{
    const ch_history_sheet *x = ((const ch_history_point *)a)->sheet, *y = ((const ch_history_point *)b)->sheet;
    const long dx = ch_date_days(x->day), dy = ch_date_days(y->day);
    if (dx != dy)
        return dx < dy ? -1 : 1;
    if (x->opened_s != y->opened_s)
        return x->opened_s < y->opened_s ? -1 : 1;
    return (x->id > y->id) - (x->id < y->id);
}

/* Running time of the events from behind one day up to another, that day included. */
static double ran_between(const line *l, long after, long until)
{
    double sum = 0.0;
    for (size_t i = 0; i < l->events; i++) {
        const long day = ch_date_days(l->event[i].day);
        if (day > after && day <= until && day <= l->today && l->event[i].running_s > 0.0)
            sum += l->event[i].running_s;
    }
    return sum;
}

static long day_of(const ch_history_point *p)
{
    return ch_date_days(p->sheet->day);
}

/* The next known figure of the meter behind sheet i; count where there is none. */
static size_t next_noted(const line *l, size_t i)
{
    size_t next = i + 1;
    while (next < l->h->count && isnan(l->meter_s[next]))
        next++;
    return next;
}

/* What the meter says, made to rise: slips become unknown, another meter is carried on. */
static void settle_meter(line *l)
{
    ch_history *h = l->h;
    double offset_s = 0.0;
    size_t last = h->count;
    for (size_t i = 0; i < h->count; i++) {
        if (isnan(l->meter_s[i]))
            continue;
        const ch_history_sheet *s = h->point[i].sheet;
        const double noted_s = l->meter_s[i];
        const size_t next = next_noted(l, i);
        l->meter_s[i] += offset_s;
        if (last < h->count) {
            const double before_s = l->meter_s[last],
                         days = (double)(day_of(&h->point[i]) - day_of(&h->point[last]) + 1);
            const bool next_goes_on = next < h->count && l->meter_s[next] + offset_s >= before_s - SAME_S;
            if (l->meter_s[i] < before_s - SAME_S && next_goes_on) {
                ask(h, CH_HISTORY_HOURS_BACKWARD, s->id,
                    "%s: %s are fewer than the sheet before had, and the next goes on from there: a slip? Counted "
                    "from its neighbours instead.",
                    say_day(s->day).text, say_meter(l, noted_s).text);
                l->meter_s[i] = NAN;
                continue;
            }
            if (l->meter_s[i] < before_s - SAME_S) {
                ask(h, CH_HISTORY_METER_CHANGED, s->id,
                    "%s: %s are fewer than before, and stay so: another %s, or set back? Counted on from %s.",
                    say_day(s->day).text, say_meter(l, noted_s).text, l->by_distance ? "instrument" : "meter",
                    say_meter(l, before_s).text);
                offset_s = before_s + ran_between(l, day_of(&h->point[last]), day_of(&h->point[i])) - noted_s;
                l->meter_s[i] = noted_s + offset_s;
            } else if (l->meter_s[i] - before_s > days * DAY_S) {
                ask(h, CH_HISTORY_HOURS_JUMP, s->id,
                    "%s: %s are more than the days since the sheet before have%s: a slip?", say_day(s->day).text,
                    say_meter(l, noted_s).text, l->by_distance ? " at 50 km/h" : "");
                if (next < h->count && l->meter_s[next] + offset_s < l->meter_s[i] - SAME_S && next_goes_on) {
                    l->meter_s[i] = NAN;
                    continue;
                }
            }
        }
        last = i;
    }
}

/* Where it is the meter, it was settled already. */
static void question_odometer(const line *l)
{
    ch_history *h = l->h;
    double last_m = NAN;
    for (size_t i = 0; !l->by_distance && i < h->count; i++) {
        const ch_history_sheet *s = h->point[i].sheet;
        if (isnan(s->odometer_m))
            continue;
        if (s->odometer_m < last_m - 1000.0)
            ask(h, CH_HISTORY_ODOMETER_BACKWARD, s->id,
                "%s: the odometer shows %.0f km, less than the %.0f km before: another instrument? Kept as noted.",
                say_day(s->day).text, s->odometer_m / 1000.0, last_m / 1000.0);
        last_m = s->odometer_m;
    }
}

/* Which figure counts running time: hours where one sheet has them, else the events, else the distance. */
static void choose_meter(line *l)
{
    ch_history *h = l->h;
    size_t hours = 0, distances = 0;
    for (size_t i = 0; i < h->count; i++) {
        hours += isnan(h->point[i].sheet->hours_s) ? 0 : 1;
        distances += isnan(h->point[i].sheet->odometer_m) ? 0 : 1;
    }
    const bool events = ran_between(l, LONG_MIN, l->today) > 0.0;
    l->by_distance = hours == 0 && !events && distances > 1;
    for (size_t i = 0; i < h->count; i++)
        l->meter_s[i] =
            l->by_distance ? h->point[i].sheet->odometer_m / CH_HISTORY_SPEED_M_S : h->point[i].sheet->hours_s;
    if (l->by_distance)
        ask(h, CH_HISTORY_HOURS_FROM_ODOMETER, 0,
            "No engine hours and no events: running time is taken from the odometer at %.0f km/h.",
            CH_HISTORY_SPEED_M_S * 3.6);
    else if (hours == 0 && events)
        ask(h, CH_HISTORY_HOURS_FROM_EVENTS, 0, "No sheet notes engine hours: they are counted from the events.");
    else if (hours == 0)
        ask(h, CH_HISTORY_NO_HOURS, 0, "Neither engine hours nor events are noted: wear over time cannot be told.");
}

/*
 * Running time between two sheets of which one notes no hours: that of the events; where none is entered between them and both odometers are
 * noted, the distance at the assumed speed, for the engine has run. *by_distance where that was taken.
 */
static double ran_from_to(const line *l, const ch_history_point *from, const ch_history_point *to, bool *by_distance)
{
    const double events_s = ran_between(l, day_of(from), day_of(to)),
                 distance_m = to->sheet->odometer_m - from->sheet->odometer_m;
    if (events_s > 0.0 || !(distance_m > 0.0))
        return events_s;
    *by_distance = true;
    return distance_m / CH_HISTORY_SPEED_M_S;
}

/* Running time of every sheet: the settled meter, and between its figures what the events or the odometer say. */
static void place(line *l)
{
    ch_history *h = l->h;
    size_t first = 0;
    bool by_distance = false;
    while (first < h->count && isnan(l->meter_s[first]))
        first++;
    if (first < h->count) { /* backward from the first figure of the meter */
        h->point[first].running_s = l->meter_s[first];
        for (size_t i = first; i-- > 0;) {
            ch_history_point *p = &h->point[i], *next = &h->point[i + 1];
            p->running_s = fmax(next->running_s - ran_from_to(l, p, next, &by_distance), 0.0);
        }
    } else {
        h->point[0].running_s = ran_between(l, LONG_MIN, day_of(&h->point[0]));
    }
    for (size_t i = 0; i < h->count; i++) {
        ch_history_point *p = &h->point[i];
        p->noted = l->meter_s[i] == p->sheet->hours_s;
        if (!isnan(l->meter_s[i])) {
            p->running_s = l->meter_s[i];
        } else if (i > 0 && (i > first || first == h->count)) {
            const size_t next = next_noted(l, i);
            p->running_s = p[-1].running_s + ran_from_to(l, &p[-1], p, &by_distance);
            if (next < h->count)
                p->running_s = fmin(p->running_s, fmax(l->meter_s[next], p[-1].running_s));
        }
    }
    if (by_distance)
        ask(h, CH_HISTORY_HOURS_BY_DISTANCE, 0,
            "Between sheets without hours and without an event running time is taken from the odometer at %.0f km/h.",
            CH_HISTORY_SPEED_M_S * 3.6);
    const ch_history_point *end = &h->point[h->count - 1];
    h->now_s = end->running_s + ran_between(l, day_of(end), l->today);
}

/* An event is entered with its first day; the longest races last a day and a night, and three leave room for a weekend of practice. */
static void question_events(const line *l)
{
    for (size_t i = 0; i < l->events; i++)
        if (l->event[i].running_s > 3.0 * DAY_S && ch_date_days(l->event[i].day) <= l->today)
            ask(l->h, CH_HISTORY_EVENT_LONG, 0,
                "The event of %s has %.0f h, more than three days and nights: a slip? Counted as noted.",
                say_day(l->event[i].day).text, l->event[i].running_s / 3600.0);
}

/* Readings brought to the standard day from different heights compare; where some sheets say nothing of the air, they are not brought from it. */
static void question_height(ch_history *h)
{
    size_t taken = 0, without = 0, noted = 0, last = 0;
    for (size_t i = 0; i < h->count; i++) {
        const ch_history_sheet *s = h->point[i].sheet;
        noted += s->air_noted;
        taken += s->height_taken;
        without += !s->air_noted && !s->height_taken;
        last = s->height_taken ? i : last;
    }
    if (taken > 0)
        ask(h, CH_HISTORY_HEIGHT_TAKEN, h->point[last].sheet->id,
            "%zu sheet%s neither height nor barometer: taken at the height of the nearest sheet that notes it, the "
            "last at "
            "%.0f m. Note it there if it was another place.",
            taken, taken == 1 ? " notes" : "s note", h->point[last].sheet->height_m);
    if (noted > 0 && without > 0)
        ask(h, CH_HISTORY_HEIGHT_MISSING, 0,
            "%zu sheet%s neither height nor barometer, and others do: taken at sea level, %s not comparable with them. "
            "Note the height.",
            without, without == 1 ? " notes" : "s note", without == 1 ? "it is" : "they are");
}

/* ---- what the fit can use ---- */

static int gauge_number(int64_t known[], int *count, int64_t id)
{
    for (int g = 0; g < *count; g++)
        if (known[g] == id)
            return g;
    if (*count == CH_FORECAST_GAUGES_MAX)
        return CH_FORECAST_GAUGES_MAX - 1;
    known[*count] = id;
    return (*count)++;
}

static bool fill_wear(const ch_history_sheet *s, ch_wear_sheet *wear)
{
    const ch_history_result *r = &s->result;
    bool any = false;
    for (int c = 0; c < r->cylinders; c++) {
        const ch_history_cylinder *one = &r->cylinder[c];
        const double fault_1 = 1.0 - one->cause_1[CH_CAUSE_SOUND] - one->cause_1[CH_CAUSE_MEASUREMENT_ERROR];
        wear->log_area[c] = wear->u_1[c] = NAN;
        if (!ch_history_tested(one)) /* what was taken for granted of it is no figure */
            continue;
        ch_history_evidence(one->ladder_m2, fmin(fmax(fault_1, 0.0), 1.0), log(r->sound_m2), r->u_sound_1,
                            &wear->log_area[c], &wear->u_1[c]);
        if (!r->reliable)
            wear->u_1[c] *= 2.0; /* evidence that the tracing could not weigh properly counts a quarter */
        any = any || !isnan(wear->log_area[c]);
    }
    return any;
}

static int by_running(const void *a, const void *b)
{
    const ch_history_point *x = *(ch_history_point *const *)a, *y = *(ch_history_point *const *)b;
    if (x->running_s < y->running_s || x->running_s > y->running_s)
        return x->running_s < y->running_s ? -1 : 1;
    return (x > y) - (x < y);
}

static double log_or_none(double limit_m2)
{
    return isfinite(limit_m2) ? log(limit_m2) : NAN;
}

static ch_status fit(ch_history *h, ch_err *err)
{
    ch_history_point *order[CH_FORECAST_SHEETS_MAX];
    int64_t gauge[CH_FORECAST_GAUGES_MAX];
    int gauges = 0;
    bool many = false;
    for (size_t i = 0; i < h->count; i++)
        order[i] = &h->point[i];
    qsort(order, h->count, sizeof order[0], by_running);
    for (size_t i = h->count; i > 0; i--) { /* the latest gauges get numbers of their own */
        const ch_history_sheet *s = order[i - 1]->sheet;
        const int g = gauge_number(gauge, &gauges, s->gauge_id);
        many = many || gauge[g] != s->gauge_id;
    }
    if (many)
        ask(h, CH_HISTORY_MANY_GAUGES, 0, "More than %d gauges: the oldest count as one.", CH_FORECAST_GAUGES_MAX);
    for (size_t i = 0; i < h->count; i++) {
        const ch_history_sheet *s = order[i]->sheet;
        if (s->result.cylinders != h->cylinders) {
            ask(h, CH_HISTORY_OTHER_ENGINE, s->id,
                "%s: the sheet is of %d cylinders, the engine has %d: left out of the fit.", say_day(s->day).text,
                s->result.cylinders, h->cylinders);
            continue;
        }
        ch_wear_sheet *wear = &h->wear[h->wear_count];
        *wear = (ch_wear_sheet){.running_s = order[i]->running_s, .gauge = gauge_number(gauge, &gauges, s->gauge_id)};
        if (!fill_wear(s, wear))
            continue;
        order[i]->fitted = true;
        order[i]->at = h->wear_count++;
        h->last_s = wear->running_s;
        h->log_prior = log(s->result.sound_m2);
        h->u_prior_1 = s->result.u_sound_1;
        h->log_watch = log_or_none(s->result.watch_m2);
        h->log_fault = log_or_none(s->result.fault_m2);
    }
    if (h->wear_count == 0)
        return ch_fail(err, CH_E_RANGE, "a sheet with a reading",
                       "no sheet of this engine says anything of a leak area");
    h->now_s = fmax(h->now_s, h->last_s);
    return CH_OK;
}

/* Of a cylinder that no sheet tested the forecast knows what is usual, and the answer has to say so. */
static void question_untested(ch_history *h)
{
    char which[160] = "";
    size_t used = 0;
    int count = 0;
    for (int c = 0; c < h->cylinders; c++) {
        bool tested = false;
        for (size_t i = 0; i < h->wear_count && !tested; i++)
            tested = !isnan(h->wear[i].log_area[c]);
        if (tested)
            continue;
        used += (size_t)snprintf(which + used, sizeof which - used, "%s%d", count > 0 ? ", " : "", c + 1);
        count++;
    }
    if (count > 0)
        ask(h, CH_HISTORY_UNTESTED, 0,
            "Cylinder%s %s: no sheet has a test of %s. What is said of %s is what is usual, not measured.",
            count == 1 ? "" : "s", which, count == 1 ? "it" : "them", count == 1 ? "it" : "them");
}

static int by_repair_day(const void *a, const void *b)
{
    const long x = ch_date_days(((const ch_history_repair *)a)->day),
               y = ch_date_days(((const ch_history_repair *)b)->day);
    return (x > y) - (x < y);
}

/*
 * A repair changes the first fitted sheet tested after it: on its day or later (whoever repairs tests afterwards). Before the first or behind
 * the last sheet it has nothing to change; several between the same sheets are one.
 */
static ch_status take_repairs(ch_history *h, const ch_history_repair repair[], size_t repairs, ch_err *err)
{
    ch_history_repair *sorted = malloc((repairs + 1) * sizeof *sorted);
    if (sorted == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the repairs");
    if (repairs > 0)
        memcpy(sorted, repair, repairs * sizeof *sorted);
    qsort(sorted, repairs, sizeof *sorted, by_repair_day);
    for (size_t k = repairs; k > 0 && h->steps < CH_FORECAST_STEPS_MAX; k--) {
        size_t at = h->wear_count;
        for (size_t i = 0; i < h->count; i++)
            if (h->point[i].fitted && day_of(&h->point[i]) >= ch_date_days(sorted[k - 1].day) && h->point[i].at < at)
                at = h->point[i].at;
        bool known = at == 0 || at == h->wear_count || sorted[k - 1].cylinder > h->cylinders;
        for (size_t s = 0; s < h->steps && !known; s++)
            known =
                h->step[s].sheet == at && (h->step[s].cylinder == 0 || h->step[s].cylinder == sorted[k - 1].cylinder);
        if (!known)
            h->step[h->steps++] =
                (ch_wear_step){.running_s = h->wear[at].running_s, .sheet = at, .cylinder = sorted[k - 1].cylinder};
    }
    free(sorted);
    return CH_OK;
}

/* ---- what is usual ---- */

static ch_status usual(line *l, ch_err *err)
{
    double *known_s = malloc((l->events + 1) * sizeof *known_s), two_years_s = 0.0;
    size_t n = 0;
    if (known_s == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the events");
    for (size_t i = 0; i < l->events; i++) {
        const ch_history_event *e = &l->event[i];
        const long day = ch_date_days(e->day);
        if (!(e->running_s > 0.0) || day > l->today)
            continue;
        known_s[n++] = e->running_s;
        if ((double)(l->today - day) < 2.0 * YEAR_DAYS)
            two_years_s += e->running_s;
    }
    ch_sort(known_s, n);
    l->h->usual_event_s = n > 0 ? ch_quantile_sorted(known_s, n, 0.5) : CH_HISTORY_EVENT_S;
    const ch_history_point *first = &l->h->point[0], *last = &l->h->point[l->h->count - 1];
    const double years = (double)(day_of(last) - day_of(first)) / YEAR_DAYS, ran_s = last->running_s - first->running_s;
    const double by_sheets_s = years > 0.5 ? ran_s / years : 0.0, most_s = fmax(0.5 * two_years_s, by_sheets_s);
    l->h->year_s = most_s > 0.0 ? most_s : 10.0 * l->h->usual_event_s; /* not every event is entered */
    free(known_s);
    return CH_OK;
}

static ch_status build(line *l, const ch_history_repair repair[], size_t repairs, ch_err *err)
{
    ch_history *h = l->h;
    qsort(h->point, h->count, sizeof h->point[0], by_day);
    h->cylinders = h->point[h->count - 1].sheet->result.cylinders;
    for (size_t i = 0; i < h->count; i++)
        if (h->point[i].sheet->day_assumed)
            ask(h, CH_HISTORY_NO_DAY, h->point[i].sheet->id, "A sheet has no date: that of its entry, %s, stands in.",
                say_day(h->point[i].sheet->day).text);
    question_height(h);
    question_events(l);
    choose_meter(l);
    question_odometer(l);
    settle_meter(l);
    place(l);
    ch_status rc = fit(h, err);
    if (rc >= 0)
        question_untested(h);
    if (rc >= 0)
        rc = take_repairs(h, repair, repairs, err);
    return rc < 0 ? rc : usual(l, err);
}

/* All but those of a day that is still to come: none of them was tested then. */
static ch_status take_sheets(line *l, const ch_history_sheet sheet[], size_t sheets, ch_date today, ch_err *err)
{
    ch_history *h = l->h;
    for (size_t i = 0; i < sheets; i++)
        if (ch_history_to_come(sheet[i].day, today))
            ask(h, CH_HISTORY_DAY_TO_COME, sheet[i].id,
                "The sheet of %s: this day is still to come. It is left out until its day, or the clock, is right.",
                say_day(sheet[i].day).text);
        else
            h->point[h->count++].sheet = &sheet[i];
    return h->count > 0 ? CH_OK
                        : ch_fail(err, CH_E_RANGE, "a sheet of today, or of a day before",
                                  "today is %s, and every sheet is of a day still to come", say_day(today).text);
}

ch_status ch_history_build(const ch_history_sheet sheet[], size_t sheets, const ch_history_event event[], size_t events,
                           const ch_history_repair repair[], size_t repairs, ch_date today, ch_history *history,
                           ch_err *err)
{
    if (sheets == 0)
        return ch_fail(err, CH_E_RANGE, "one sheet or more", "there is no sheet of this engine yet");
    if (sheets > CH_FORECAST_SHEETS_MAX)
        return ch_fail(err, CH_E_LIMIT, "up to 500", "%zu sheets of one engine", sheets);
    ch_history *h = calloc(1, sizeof *h);
    line *l = malloc(sizeof *l);
    ch_status rc = CH_OK;
    if (h == NULL || l == NULL) {
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory for the history");
    } else {
        *l = (line){.h = h, .event = event, .events = events, .today = ch_date_days(today)};
        rc = take_sheets(l, sheet, sheets, today, err);
        if (rc >= 0)
            rc = build(l, repair, repairs, err);
    }
    if (rc >= 0)
        *history = *h;
    free(h);
    free(l);
    return rc;
}
