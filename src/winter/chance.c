/*
 * Will it be ready in time? The calendar's order is worked through with every time drawn anew.
 *
 * The guesses are drawn independently. In a winter in which everything goes slowly they are not: the true chance then lies nearer to one half
 * (docs/winter.md).
 */
#include <limits.h>
#include <math.h>
#include <stdlib.h>

#include "crosshatch/sampling.h"
#include "parts.h"

#define PERT_WEIGHT 4.0 /* of the likely value against each end */

static ch_work draw(ch_stream *stream, const ch_work_guess *guess)
{
    const double span = (double)(guess->most_us - guess->least_us);
    if (!(span > 0.0))
        return guess->likely_us;
    const double up = (double)(guess->likely_us - guess->least_us) / span;
    const double a = ch_stream_gamma(stream, 1.0 + PERT_WEIGHT * up),
                 b = ch_stream_gamma(stream, 1.0 + PERT_WEIGHT * (1.0 - up));
    return guess->least_us + (ch_work)llround(span * (a / (a + b)));
}

/* A task in the order of the calendar. */
typedef struct step {
    const ch_work_guess *guess;
    const ch_plan_item *item;
    size_t place; /* of the item */
    bool closes;
    long ready_day;
} step;

/* The tasks of the calendar, each where its first piece stands. Returns how many. */
static size_t list_steps(const ch_plan *plan, const ch_calendar *calendar, const bool skip[], bool seen[], step steps[])
{
    const ch_date start = ch_plan_start(plan);
    size_t n = 0;
    for (size_t i = 0; i < calendar->count; i++) {
        const ch_calendar_entry *entry = &calendar->entries[i];
        const ch_plan_item *item = &plan->items[entry->item];
        const bool closes = entry->kind == CH_ENTRY_CLOSE;
        if ((skip != NULL && skip[entry->item]) || seen[2 * entry->item + closes])
            continue;
        seen[2 * entry->item + closes] = true;
        const bool waits = entry->kind != CH_ENTRY_OPEN && item->lead_days > 0 && ch_date_given(start);
        steps[n++] = (step){.guess = closes ? &item->refit : &item->hours,
                            .item = item,
                            .place = entry->item,
                            .closes = closes,
                            .ready_day = waits ? ch_date_days(start) + item->lead_days : LONG_MIN};
    }
    return n;
}

/* Where the work stands: the day, and what of it is used. */
typedef struct hand {
    size_t day;
    ch_work used_us;
} hand;

/* Work on from where the hand is, not before a date; false where the days run out. What is no work needs no hours, but still a day to be there on. */
static bool work_on(const ch_plan *plan, const long dates[], long ready_day, ch_work work_us, hand *at)
{
    if (ready_day != LONG_MIN && (plan->days_until == 0 || dates[plan->days_until - 1] < ready_day))
        return false;
    while (at->day < plan->days_until && dates[at->day] < ready_day)
        *at = (hand){.day = at->day + 1};
    while (at->day < plan->days_until) {
        const ch_work free_us = plan->days[at->day].work_us - at->used_us;
        if (work_us <= free_us) {
            at->used_us += work_us;
            return true;
        }
        work_us -= free_us;
        *at = (hand){.day = at->day + 1};
    }
    return work_us <= 0;
}

/* From when a job's part is back from the machine shop: it is sent when its parts are there and all that it needs is open or done. */
static long back_from_shop(const ch_plan *plan, const step *one, const long ended[])
{
    if (one->closes || one->item->shop_days == 0)
        return one->ready_day;
    const ch_date start = ch_plan_start(plan);
    long sent = one->ready_day;
    if (sent == LONG_MIN && ch_date_given(start))
        sent = ch_date_days(start);
    for (size_t k = 0; k < one->item->needs.count; k++)
        sent = ended[one->item->needs.at[k]] > sent ? ended[one->item->needs.at[k]] : sent;
    return sent == LONG_MIN ? sent : sent + one->item->shop_days;
}

/* `ended`: room for the date on which each item was opened or done. */
static bool in_time(const ch_plan *plan, const long dates[], const step steps[], size_t count, ch_stream *stream,
                    long ended[])
{
    hand at = {0};
    for (size_t i = 0; i < plan->items_count; i++)
        ended[i] = LONG_MIN;
    for (size_t i = 0; i < count; i++) {
        if (!work_on(plan, dates, back_from_shop(plan, &steps[i], ended), draw(stream, steps[i].guess), &at))
            return false;
        if (!steps[i].closes && at.day < plan->days_until)
            ended[steps[i].place] = dates[at.day];
    }
    return true;
}

static double chance_of(const ch_plan *plan, const ch_calendar *calendar, const bool skip[], uint64_t seed,
                        const long dates[], const step steps[], size_t count, long ended[])
{
    bool certain = true;
    for (size_t i = 0; i < count; i++)
        certain = certain && steps[i].guess->least_us == steps[i].guess->most_us;
    if (certain && (skip == NULL || calendar->fits)) /* the calendar knows, to the last microsecond */
        return calendar->fits ? 1.0 : 0.0;
    const int draws = certain ? 1 : CH_WINTER_DRAWS;
    int good = 0;
    for (int n = 0; n < draws; n++) {
        ch_stream stream;
        ch_stream_init(&stream, seed, (uint64_t)n);
        good += in_time(plan, dates, steps, count, &stream, ended);
    }
    return (double)good / draws;
}

ch_status ch_winter_chance(const ch_plan *plan, const ch_calendar *calendar, const bool skip[], uint64_t seed,
                           double *chance_1, ch_err *err)
{
    if (!plan->has_days) {
        *chance_1 = NAN;
        return CH_OK;
    }
    bool *seen = calloc(2 * plan->items_count + 1, sizeof *seen);
    step *steps = calloc(calendar->count + 1, sizeof *steps);
    long *dates = calloc(plan->days_count + 1, sizeof *dates);
    long *ended = calloc(plan->items_count + 1, sizeof *ended);
    const bool good = seen != NULL && steps != NULL && dates != NULL && ended != NULL;
    if (good) {
        for (size_t d = 0; d < plan->days_count; d++)
            dates[d] = ch_date_days(plan->days[d].date);
        const size_t count = list_steps(plan, calendar, skip, seen, steps);
        *chance_1 = chance_of(plan, calendar, skip, seed, dates, steps, count, ended);
    }
    free(seen);
    free(steps);
    free(dates);
    free(ended);
    return good ? CH_OK : ch_fail(err, CH_E_MEMORY, NULL, "no memory for the chance");
}
