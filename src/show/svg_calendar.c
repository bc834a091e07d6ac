/*
 * The work laid on the days, as a calendar: a row a week, Monday first (ISO 8601-1:2019). Weeks without a day of the owner's are left out, and
 * those behind the last work, but for that of the day to be ready for.
 *  1. How full a day is stands beside its date as a column: its frame what there is, filled what is used. The longest day is as high as the cell.
 *  2. A thick line under a day: the night behind it finds something open or half done, and the car does not drive.
 */
#include <limits.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>

#include "crosshatch/show_winter.h"

enum { WEEK = 7, LEFT = 34, CELL = 43, HIGH = 46, GAP = 6, ABOVE = 24, COLUMN = 9, WEEKS_MAX = 53, WORDS = 6144 };

typedef struct drawing {
    ch_svg *svg;
    const ch_plan *plan;
    const ch_winter *winter;
    long start, until; /* days since 1970-01-01; LONG_MAX = no day to be ready for */
    ch_work most_us;   /* of a day */
} drawing;

static const char *const MONTHS[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                     "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};

/* Monday of the week of a day: 1970-01-01 was a Thursday. */
static long monday(long day)
{
    const long since = day + 3;
    return day - ((since % WEEK) + WEEK) % WEEK;
}

static long date_of(const drawing *d, size_t day)
{
    return ch_date_days(d->plan->days[day].date);
}

/* Its place among the plan's days, or SIZE_MAX. */
static size_t find_day(const drawing *d, long date)
{
    for (size_t i = 0; i < d->plan->days_until; i++)
        if (date_of(d, i) == date)
            return i;
    return SIZE_MAX;
}

static ch_work used_us(const drawing *d, size_t day)
{
    ch_work sum = 0;
    for (size_t i = 0; i < d->winter->calendar.count; i++)
        if (d->winter->calendar.entries[i].day == day)
            sum += d->winter->calendar.entries[i].work_us;
    return sum;
}

/* Open, or half done, in the night behind this day. What finds no day is never finished. */
static bool apart_at(const drawing *d, long date)
{
    const ch_calendar *calendar = &d->winter->calendar;
    for (size_t item = 0; item < d->plan->items_count; item++) {
        const bool begun = d->plan->items[item].done || d->plan->items[item].done_us > 0;
        long from = begun ? d->start : LONG_MAX, to = LONG_MIN;
        for (size_t i = 0; i < calendar->count; i++) {
            if (calendar->entries[i].item != item)
                continue;
            const size_t day = calendar->entries[i].day;
            const long at = day == SIZE_MAX ? LONG_MAX : date_of(d, day);
            from = at < from ? at : from;
            to = at > to ? at : to;
        }
        if (from <= date && date < to)
            return true;
    }
    return false;
}

static void describe(const drawing *d, char words[WORDS])
{
    size_t used = 0;
    words[0] = '\0';
    for (size_t i = 0; i < d->plan->days_until && used + 120 < WORDS; i++) {
        const ch_work on_us = used_us(d, i);
        char date[16], work[CH_SHOW_NUMBER], of[CH_SHOW_NUMBER];
        if (on_us == 0)
            continue;
        ch_date_format(d->plan->days[i].date, date, sizeof date);
        used +=
            (size_t)snprintf(words + used, WORDS - used, "%s %s: %s of %s h. ", ch_show_weekday(d->plan->days[i].date),
                             date, ch_show_work(on_us, work), ch_show_work(d->plan->days[i].work_us, of));
    }
    snprintf(words + used, WORDS - used, "The car stands apart for %ld nights.", d->winter->calendar.nights_apart);
}

static void work_day(const drawing *d, size_t day, double x, double y)
{
    const double all = (double)d->plan->days[day].work_us / (double)d->most_us * (HIGH - 8);
    const ch_work on_us = used_us(d, day);
    const double part = (double)on_us / (double)d->most_us * (HIGH - 8);
    const double base = y + HIGH - 4.0, left = x + CELL - COLUMN - 4.0;
    char hours[CH_SHOW_NUMBER];
    ch_svg_rect(d->svg, CH_SVG_READING, left, base - part, COLUMN, part);
    ch_svg_rect(d->svg, CH_SVG_FRAME, left, base - all, COLUMN, all);
    if (on_us > 0)
        ch_svg_words(d->svg, CH_SVG_SMALL, CH_SVG_START, x + 3.0, y + HIGH - 8.0,
                     ch_show_number((double)on_us / 3.6e9, 1, hours));
}

static void cell(const drawing *d, long date, double x, double y)
{
    const size_t day = find_day(d, date);
    const ch_date on = ch_date_from_days(date);
    char number[CH_SHOW_NUMBER];
    ch_svg_rect(d->svg, date == d->until ? CH_SVG_STANDARD : CH_SVG_AXIS, x + 1.0, y, CELL - 2.0, HIGH);
    snprintf(number, sizeof number, "%d", on.day);
    ch_svg_words(d->svg, day != SIZE_MAX ? CH_SVG_STRONG : CH_SVG_SMALL, CH_SVG_START, x + 3.0, y + 16.0, number);
    if (day != SIZE_MAX)
        work_day(d, day, x, y);
    if (apart_at(d, date))
        ch_svg_line(d->svg, CH_SVG_MARK, x + 1.0, y + HIGH + 2.0, x + CELL - 1.0, y + HIGH + 2.0);
}

/* Mondays of the weeks that are drawn, rising. Returns how many. */
static int weeks_of(const drawing *d, long week[WEEKS_MAX])
{
    const ch_date finish = d->winter->calendar.finish;
    const long last = ch_date_given(finish) ? ch_date_days(finish) : LONG_MAX;
    int count = 0;
    for (size_t i = 0; i < d->plan->days_until && count < WEEKS_MAX; i++) {
        const long at = monday(date_of(d, i));
        if (at > last)
            break;
        if (count == 0 || week[count - 1] != at)
            week[count++] = at;
    }
    if (d->until != LONG_MAX && count < WEEKS_MAX && (count == 0 || week[count - 1] < monday(d->until)))
        week[count++] = monday(d->until);
    return count;
}

ch_status ch_show_calendar_svg(const ch_plan *plan, const ch_winter *winter, ch_svg *svg, ch_err *err)
{
    static const char *const DAYS[WEEK] = {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
    const ch_date start = ch_plan_start(plan);
    drawing d = {.svg = svg,
                 .plan = plan,
                 .winter = winter,
                 .start = ch_date_given(start) ? ch_date_days(start) : LONG_MAX,
                 .until = ch_date_given(plan->until) ? ch_date_days(plan->until) : LONG_MAX,
                 .most_us = 1};
    for (size_t i = 0; i < plan->days_until; i++)
        d.most_us = plan->days[i].work_us > d.most_us ? plan->days[i].work_us : d.most_us;
    long week[WEEKS_MAX];
    const int weeks = weeks_of(&d, week);
    char words[WORDS];
    describe(&d, words);
    ch_svg_open(svg, "calendar", LEFT + WEEK * CELL + 4.0, ABOVE + weeks * (HIGH + GAP) + 2.0,
                "Calendar of the work, week by week", words);
    for (int i = 0; i < WEEK; i++)
        ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_MIDDLE, LEFT + (i + 0.5) * CELL, 15.0, DAYS[i]);
    for (int w = 0; w < weeks; w++) {
        const double y = ABOVE + (double)w * (HIGH + GAP);
        /* The month is that of the week's Thursday, as the week's year is (ISO 8601-1:2019, 3.1.1.23). */
        const ch_date middle = ch_date_from_days(week[w] + 3);
        ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_START, 2.0, y + 16.0, middle.month > 0 ? MONTHS[middle.month - 1] : "");
        for (int i = 0; i < WEEK; i++)
            cell(&d, week[w] + i, LEFT + (double)i * CELL, y);
    }
    return ch_svg_close(svg, err);
}
