/* What stands between the car and its next event, see ready.h. */
#include "crosshatch/ready.h"

#include <math.h>
#include <string.h>

const char *ch_ready_when_name(ch_ready_when when)
{
    static const char *const NAME[] = {[CH_READY_OVER] = "over",
                                       [CH_READY_DURING] = "during",
                                       [CH_READY_SOON] = "soon",
                                       [CH_READY_UNKNOWN] = "unknown"};
    return when >= CH_READY_OVER && when <= CH_READY_UNKNOWN ? NAME[when] : NULL;
}

static int days_of_month(int year, int month)
{
    const ch_date first = {.year = year, .month = month, .day = 1};
    const ch_date next = {.year = month == 12 ? year + 1 : year, .month = month == 12 ? 1 : month + 1, .day = 1};
    return (int)(ch_date_days(next) - ch_date_days(first));
}

ch_date ch_ready_months_later(ch_date date, int months)
{
    const int count = date.year * 12 + date.month - 1 + months;
    ch_date later = {.year = count / 12, .month = count % 12 + 1, .day = date.day};
    const int last = days_of_month(later.year, later.month);
    if (later.day > last)
        later.day = last;
    return later;
}

/* ---------------------------------------------------------------- one limit of one part */

/* What has been counted, and what the event will add. */
typedef struct count {
    double used, adds;
} count;

static count count_of(ch_life_by by, const ch_ready_part *part, const ch_ready_event *event)
{
    switch (by) {
    case CH_LIFE_HOURS: return (count){part->running_s, event->running_s};
    case CH_LIFE_SESSIONS:
    case CH_LIFE_HEAT_CYCLES: return (count){part->sessions_1, event->sessions_1};
    case CH_LIFE_DISTANCE: return (count){part->distance_m, event->distance_m};
    case CH_LIFE_PART_LEFT: return (count){part->part_left_1, 0.0};
    case CH_LIFE_DEPTH: return (count){part->depth_m, 0.0};
    default: return (count){NAN, NAN};
    }
}

static ch_ready_due unknown(const ch_ready_part *part, const ch_life_limit *limit)
{
    return (ch_ready_due){.part = part, .limit = limit, .when = CH_READY_UNKNOWN, .used_si = NAN, .left_si = NAN};
}

/* A limit that is a day. */
static bool by_date(const ch_ready_part *part, const ch_life_limit *limit, ch_date today, const ch_ready_event *event,
                    ch_ready_due *due)
{
    ch_date last = part->until, warn = {0};
    const ch_date from = limit->by == CH_LIFE_AGE_FITTED ? part->fitted : part->made;
    if (limit->by != CH_LIFE_PRINTED_DATE) {
        if (!ch_date_given(from)) {
            *due = unknown(part, limit);
            return true;
        }
        last = ch_ready_months_later(from, (int)lround(limit->limit_si));
        if (isfinite(limit->soon_si))
            warn = ch_ready_months_later(from, (int)lround(limit->soon_si));
    } else if (!ch_date_given(last)) {
        *due = unknown(part, limit);
        return true;
    }
    /* What expires on a day is not good on that day any more. */
    const long left = ch_date_days(last) - ch_date_days(today), ahead = ch_date_days(event->day) - ch_date_days(today);
    *due = (ch_ready_due){.part = part,
                          .limit = limit,
                          .used_si = ch_date_given(from) ? (double)(ch_date_days(today) - ch_date_days(from)) : NAN,
                          .left_si = (double)left,
                          .by = last};
    if (left <= 0)
        due->when = CH_READY_OVER;
    else if (left <= ahead)
        due->when = CH_READY_DURING;
    else if (ch_date_given(warn) && ch_date_days(warn) <= ch_date_days(event->day))
        due->when = CH_READY_SOON;
    else
        return false;
    return true;
}

/* A thickness, which falls. How much the event takes of it is not known, so that its warning is what counts. */
static bool by_thickness(const ch_ready_part *part, const ch_life_limit *limit, double left_si, ch_ready_due *due)
{
    if (isnan(left_si)) {
        *due = unknown(part, limit);
        return true;
    }
    *due = (ch_ready_due){.part = part, .limit = limit, .used_si = left_si, .left_si = left_si - limit->limit_si};
    due->when = left_si <= limit->limit_si ? CH_READY_OVER : CH_READY_SOON;
    return left_si <= limit->limit_si || left_si <= limit->soon_si;
}

/* A count, which grows. */
static bool by_count(const ch_ready_part *part, const ch_life_limit *limit, count counted, ch_ready_due *due)
{
    if (isnan(counted.used)) {
        *due = unknown(part, limit);
        return true;
    }
    const double adds = counted.adds, left = limit->limit_si - counted.used;
    *due = (ch_ready_due){.part = part, .limit = limit, .used_si = counted.used, .left_si = left};
    if (left <= 0.0)
        due->when = CH_READY_OVER;
    else if (left < adds)
        due->when = CH_READY_DURING;
    else if (left < 2.0 * adds || counted.used + (isnan(adds) ? 0.0 : adds) >= limit->soon_si)
        due->when = CH_READY_SOON;
    else if (isnan(adds)) /* what the event takes is not known: nobody can say that it lasts */
        *due = unknown(part, limit);
    else
        return false;
    return true;
}

static bool due_by(const ch_ready_part *part, const ch_life_limit *limit, ch_date today, const ch_ready_event *event,
                   ch_ready_due *due)
{
    switch (limit->by) {
    case CH_LIFE_AGE_FITTED:
    case CH_LIFE_AGE_MADE:
    case CH_LIFE_PRINTED_DATE: return by_date(part, limit, today, event, due);
    case CH_LIFE_PART_LEFT:
    case CH_LIFE_DEPTH: return by_thickness(part, limit, count_of(limit->by, part, event).used, due);
    case CH_LIFE_PRINTED_MINIMUM:
        *due = (ch_ready_due){.part = part, .limit = limit, .when = CH_READY_OVER, .used_si = NAN, .left_si = NAN};
        return part->under_printed;
    case CH_LIFE_DISTANCE: return by_count(part, limit, count_of(limit->by, part, event), due);
    default: break;
    }
    const bool found = by_count(part, limit, count_of(limit->by, part, event), due);
    /* What it ran before is known as a distance alone: the count is no more than what it ran since. */
    if (!part->distance_alone || (found && due->when <= CH_READY_DURING))
        return found;
    *due = unknown(part, limit);
    return true;
}

/* ---------------------------------------------------------------- all of them */

/* How much of the limit is left, 0 at it; for the order alone. */
static double share_left(const ch_ready_due *due)
{
    const double whole = ch_date_given(due->by) ? 365.0 : due->limit->limit_si;
    return isnan(due->left_si) ? 0.0 : due->left_si / whole;
}

static bool presses_more(const ch_ready_due *a, const ch_ready_due *b)
{
    return a->when != b->when ? a->when < b->when : share_left(a) < share_left(b);
}

/*
 * The limit of a part that comes first. That a count is not known matters only where no other limit says anything: a person who enters when the
 * oil was changed need not count its sessions too.
 */
static bool first_due(const ch_ready_part *part, ch_date today, const ch_ready_event *event, ch_ready_due *first)
{
    bool any = false, judged = false;
    for (size_t i = 0; part->life != NULL && i < part->life->limits_count; i++) {
        ch_ready_due due;
        const bool found = due_by(part, &part->life->limits[i], today, event, &due);
        judged = judged || !found || due.when != CH_READY_UNKNOWN;
        if (found && (!any || presses_more(&due, first))) {
            *first = due;
            any = true;
        }
    }
    return any && !(first->when == CH_READY_UNKNOWN && judged);
}

static void insert(ch_ready *ready, const ch_ready_due *due)
{
    size_t at = ready->due_count++;
    while (at > 0 && presses_more(due, &ready->due[at - 1])) {
        ready->due[at] = ready->due[at - 1];
        at--;
    }
    ready->due[at] = *due;
}

ch_status ch_ready_run(const ch_ready_part part[], size_t parts, size_t opens, const ch_ready_event *event,
                       ch_date today, const ch_ready_engine *engine, double clutch_slips_1, ch_ready *ready,
                       ch_err *err)
{
    if (!ch_date_given(today))
        return ch_fail(err, CH_E_RANGE, "the day", "no day to count from");
    if (parts > CH_READY_DUE_MAX)
        return ch_fail(err, CH_E_LIMIT, "at most 512", "%zu parts on one car", parts);
    ch_ready_event coming = *event;
    if (!ch_date_given(coming.day) || ch_date_days(coming.day) < ch_date_days(today))
        coming.day = today;
    ready->due_count = 0;
    ready->engine = *engine;
    ready->engine_faulty = ch_date_given(engine->fault.day);
    ready->engine_doubtful = engine->over_fault_1 >= CH_READY_FAULT_1;
    ready->clutch_slips_1 = clutch_slips_1;
    ready->clutch_doubtful = clutch_slips_1 >= CH_READY_FAULT_1;
    ready->ready = opens == 0 && !ready->engine_faulty && !ready->engine_doubtful && !ready->clutch_doubtful;
    for (size_t i = 0; i < parts; i++) {
        ch_ready_due due;
        if (!first_due(&part[i], today, &coming, &due))
            continue;
        insert(ready, &due);
        ready->ready = ready->ready && due.when != CH_READY_OVER && due.when != CH_READY_DURING;
    }
    return CH_OK;
}
