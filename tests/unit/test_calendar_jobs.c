/* Promises of winter/calendar.c and tasks.c for the jobs that are built in: the order of the calendar is the safe one of the job's page. */
#include <string.h>

#include "builtin_jobs.h"
#include "crosshatch/winter.h"
#include "expect.h"

/* Where the calendar has the opening or the closing of an item: its first piece, or its last one. */
static size_t place(const ch_calendar *calendar, size_t item, ch_entry_kind kind, bool last)
{
    size_t found = SIZE_MAX;
    for (size_t k = 0; k < calendar->count; k++)
        if (calendar->entries[k].item == item && calendar->entries[k].kind == kind && (last || found == SIZE_MAX))
            found = k;
    assert_true(found != SIZE_MAX);
    return found;
}

/* A winter of the known jobs `ids`, on so many Saturdays; shims for the valves come `late` days after the start. */
static void draft(const char *const ids[], size_t n, ch_drive drive, size_t saturdays, int late, ch_draft *drafted,
                  ch_calendar *calendar)
{
    static ch_plan_day days[60];
    static bool chosen[CH_ACCESS_MAX + CH_JOBS_MAX];
    size_t picked[8];
    for (size_t i = 0; i < n; i++) {
        const ch_job *job = ch_job_find(&jobs, ids[i], strlen(ids[i]));
        assert_non_null(job);
        picked[i] = (size_t)(job - jobs.jobs);
    }
    assert_int_equal(ch_draft_plan(&jobs, drive, picked, n, 0, drafted, NULL), CH_OK);
    for (size_t d = 0; d < saturdays; d++)
        days[d] = (ch_plan_day){.date = ch_date_from_days(20000 + 7 * (long)d), .work_us = (ch_work)6 * 3600 * 1000000};
    drafted->plan.days = days;
    drafted->plan.days_count = drafted->plan.days_until = saturdays;
    drafted->plan.has_days = true;
    for (size_t i = 0; i < drafted->plan.items_count; i++) {
        chosen[i] = true;
        if (strcmp(drafted->items[i].name, "valve_lash") == 0)
            drafted->items[i].lead_days = late;
    }
    assert_int_equal(ch_winter_calendar(&drafted->plan, chosen, calendar, NULL), CH_OK);
    assert_true(calendar->fits);
}

/* The job's page opens in the order of the drafted plan's access, and closes in the reverse. */
static void a_job_is_opened_and_closed_in_the_calendar_as_on_its_page(void **state)
{
    (void)state;
    size_t held = 0;
    for (int drive = 0; drive < CH_DRIVES; drive++)
        for (size_t i = 0; i < jobs.jobs_count; i++) {
            ch_draft drafted;
            ch_calendar calendar;
            if (!jobs.jobs[i].work.drives[drive] || jobs.jobs[i].requires.count > 0)
                continue;
            draft(&jobs.jobs[i].work.id, 1, (ch_drive)drive, 60, 0, &drafted, &calendar);
            size_t opened = 0, closed = drafted.plan.access_count;
            for (size_t k = 0; k < calendar.count; k++) {
                const ch_calendar_entry *entry = &calendar.entries[k];
                const bool again = k > 0 && entry[-1].item == entry->item && entry[-1].kind == entry->kind;
                if (entry->kind == CH_ENTRY_OPEN && !again)
                    assert_int_equal(entry->item, opened++);
                if (entry->kind == CH_ENTRY_CLOSE && !again)
                    assert_int_equal(entry->item, --closed);
            }
            assert_int_equal(opened, drafted.plan.access_count);
            assert_int_equal(closed, 0);
            held += opened > 3;
            ch_calendar_clear(&calendar);
            ch_draft_clear(&drafted);
        }
    assert_true(held > 40);
}

/* Fans start with the key off: the battery is off before hands are at belts, coils and covers, and on when they are back. Common practice. */
static void the_battery_is_off_while_hands_are_in_the_engine_bay(void **state)
{
    (void)state;
    static const char *const many[] = {"head_rebuild", "clutch_kit", "timing_drive", "oil_change", "valve_lash"};
    static const char *const bay[] = {"aux_belt_off",         "airbox_off",   "plugs_out",
                                      "valve_cover_off",      "radiator_out", "timing_open",
                                      "exhaust_manifold_off", "intake_off"};
    for (int drive = 0; drive < CH_DRIVES; drive++)
        for (size_t n = 1; n <= 5; n++) {
            ch_draft drafted;
            ch_calendar calendar;
            const bool waits = n == 5; /* for shims, with the head on again and the rest to be closed meanwhile */
            draft(many, n, (ch_drive)drive, waits ? 16 : 60, waits ? 100 : 0, &drafted, &calendar);
            size_t battery = SIZE_MAX, held = 0;
            for (size_t i = 0; i < drafted.plan.access_count; i++)
                battery = strcmp(drafted.plan.items[i].name, "battery_off") == 0 ? i : battery;
            assert_true(battery != SIZE_MAX);
            for (size_t i = 0; i < drafted.plan.access_count; i++)
                for (size_t b = 0; b < sizeof bay / sizeof bay[0]; b++)
                    if (strcmp(drafted.plan.items[i].name, bay[b]) == 0) {
                        assert_true(place(&calendar, battery, CH_ENTRY_OPEN, true) <
                                    place(&calendar, i, CH_ENTRY_OPEN, false));
                        assert_true(place(&calendar, i, CH_ENTRY_CLOSE, true) <
                                    place(&calendar, battery, CH_ENTRY_CLOSE, false));
                        held++;
                    }
            assert_true(held >= 7);
            ch_calendar_clear(&calendar);
            ch_draft_clear(&drafted);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_job_is_opened_and_closed_in_the_calendar_as_on_its_page),
        cmocka_unit_test(the_battery_is_off_while_hands_are_in_the_engine_bay),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
