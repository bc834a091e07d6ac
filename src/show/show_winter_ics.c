/*
 * The calendar as iCalendar, written by libical: an all-day event for each day, because the plan knows days and hours but no time of day.
 * The time stamp that RFC 5545 asks for is the first day of the plan, not the clock's: same plan, same bytes.
 */
#include <libical/ical.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/hash.h"
#include "crosshatch/show_winter.h"

enum { DESCRIPTION_MAXIMUM = 64 * 1024, UID_SIZE = 64 };

static uint64_t mix(uint64_t hash, const char *text)
{
    return ch_hash(hash, text, strlen(text));
}

/*
 * What tells one plan's events from another's: RFC 5545, 3.8.4.7, wants it to be the plan's alone, and the same for as long as the plan lives, so that nothing of
 * it that is edited goes in: not the day to be ready for, and the title only where a plan has no id.
 */
static uint64_t plan_hash(const ch_plan *plan)
{
    const uint64_t begun = mix(CH_HASH_BEGIN, plan->id != NULL ? "id" : "title");
    return mix(begun, plan->id != NULL ? plan->id : plan->title != NULL ? plan->title : "");
}

static struct icaltimetype ical_date(ch_date date)
{
    struct icaltimetype t = icaltime_null_date();
    t.year = date.year;
    t.month = date.month;
    t.day = date.day;
    return t;
}

static struct icaltimetype stamp_of(const ch_plan *plan)
{
    struct icaltimetype t = ical_date(ch_plan_start(plan));
    t.hour = t.minute = t.second = 0;
    t.is_date = 0;
    t.zone = icaltimezone_get_utc_timezone();
    return t;
}

/* Entries from `from` to before `to` are those of one day. */
static icalcomponent *event_of(const ch_plan *plan, const ch_winter *winter, size_t from, size_t to, ch_text *lines)
{
    const ch_date date = plan->days[winter->calendar.entries[from].day].date;
    char uid[UID_SIZE], day[16], hours[CH_SHOW_NUMBER], first[128], summary[CH_SHOW_SENTENCE];
    const char *name = ch_show_plan_item(&plan->items[winter->calendar.entries[from].item]);
    ch_work sum_us = 0;
    for (size_t i = from; i < to; i++) {
        const ch_calendar_entry *entry = &winter->calendar.entries[i];
        sum_us += entry->work_us;
        ch_text_appendf(lines, "%s%s: %s, %s h", i > from ? "\n" : "", ch_show_entry_kind(entry->kind),
                        ch_show_plan_item(&plan->items[entry->item]), ch_show_work(entry->work_us, hours));
    }
    if (ch_text_check(lines, NULL) < 0)
        return NULL;
    ch_date_format(date, day, sizeof day);
    snprintf(uid, sizeof uid, "%s-%016llx@crosshatch.invalid", day, (unsigned long long)plan_hash(plan));
    ch_text_excerpt(name, strlen(name), first, sizeof first);
    snprintf(summary, sizeof summary, "Garage, %s h: %s%s", ch_show_work(sum_us, hours), first,
             to > from + 1 ? " and more" : "");
    return icalcomponent_vanew(ICAL_VEVENT_COMPONENT, icalproperty_new_uid(uid),
                               icalproperty_new_dtstamp(stamp_of(plan)), icalproperty_new_dtstart(ical_date(date)),
                               icalproperty_new_dtend(ical_date(ch_date_from_days(ch_date_days(date) + 1))),
                               icalproperty_new_summary(summary), icalproperty_new_description(ch_text_string(lines)),
                               icalproperty_new_transp(ICAL_TRANSP_TRANSPARENT), NULL);
}

static bool add_events(const ch_plan *plan, const ch_winter *winter, icalcomponent *calendar)
{
    const ch_calendar *days = &winter->calendar;
    for (size_t from = 0, to = 0; from < days->count && days->entries[from].day != SIZE_MAX; from = to) {
        for (to = from; to < days->count && days->entries[to].day == days->entries[from].day;)
            to++;
        ch_text lines;
        ch_text_init(&lines, DESCRIPTION_MAXIMUM);
        icalcomponent *event = event_of(plan, winter, from, to, &lines);
        ch_text_clear(&lines);
        if (event == NULL)
            return false;
        icalcomponent_add_component(calendar, event);
    }
    return true;
}

ch_status ch_show_winter_ics(const ch_plan *plan, const ch_winter *winter, ch_text *text, ch_err *err)
{
    icalcomponent *calendar =
        icalcomponent_vanew(ICAL_VCALENDAR_COMPONENT, icalproperty_new_prodid("-//crosshatch//winter plan//EN"),
                            icalproperty_new_version("2.0"), icalproperty_new_method(ICAL_METHOD_PUBLISH), NULL);
    char *written = NULL;
    if (calendar != NULL && add_events(plan, winter, calendar))
        written = icalcomponent_as_ical_string_r(calendar);
    if (calendar != NULL)
        icalcomponent_free(calendar);
    if (written == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the calendar");
    ch_text_append_string(text, written);
    icalmemory_free_buffer(written);
    return ch_text_check(text, err);
}
