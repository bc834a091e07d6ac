/* What is due before an event: counts, days, thicknesses, and the traps of the calendar. */
#include "crosshatch/ready.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "expect.h"

#define HOUR 3600.0

static const ch_date TODAY = {2027, 3, 1}, RACE_DAY = {2027, 4, 3};

static ch_ready_event race(void)
{
    return (ch_ready_event){
        .day = RACE_DAY, .name = "first event", .running_s = 2.0 * HOUR, .distance_m = 120e3, .sessions_1 = 5.0};
}

/* A part of which nothing is known. */
static ch_ready_part part_of(const ch_part_life *life)
{
    return (ch_ready_part){.name = "part",
                           .life = life,
                           .running_s = NAN,
                           .distance_m = NAN,
                           .sessions_1 = NAN,
                           .part_left_1 = NAN,
                           .depth_m = NAN};
}

static ch_ready looked(const ch_ready_part *part, size_t parts)
{
    ch_ready ready;
    const ch_ready_event event = race();
    assert_int_equal(ch_ready_run(part, parts, 0, &event, TODAY, &CH_READY_NO_ENGINE, NAN, &ready, NULL), CH_OK);
    return ready;
}

/* When a part with one limit is due, or -1. */
static int when(ch_life_by by, double limit_si, double soon_si, ch_ready_part part)
{
    const ch_life_limit limit = {.by = by, .limit_si = limit_si, .soon_si = soon_si};
    const ch_part_life life = {.id = "x", .title = "X", .limits = &limit, .limits_count = 1};
    part.life = &life;
    const ch_ready ready = looked(&part, 1);
    return ready.due_count == 0 ? -1 : (int)ready.due[0].when;
}

static void hours_are_over_during_or_soon(void **state)
{
    (void)state;
    ch_ready_part oil = part_of(NULL);
    /* The event takes two hours. */
    static const struct {
        double used_h;
        int when;
    } CASES[] = {{7.0, CH_READY_OVER},
                 {6.9, CH_READY_DURING},
                 {5.1, CH_READY_DURING},
                 {5.0, CH_READY_SOON},
                 {3.1, CH_READY_SOON},
                 {3.0, -1},
                 {0.0, -1}};
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        oil.running_s = CASES[i].used_h * HOUR;
        assert_int_equal(when(CH_LIFE_HOURS, 7.0 * HOUR, 6.9 * HOUR, oil), CASES[i].when);
    }
}

static void a_warning_of_its_own_comes_before_twice_the_event(void **state)
{
    (void)state;
    ch_ready_part oil = part_of(NULL);
    oil.running_s = 1.5 * HOUR;
    assert_int_equal(when(CH_LIFE_HOURS, 7.0 * HOUR, 3.0 * HOUR, oil), CH_READY_SOON);
}

static void sessions_and_heat_cycles_are_counted_alike(void **state)
{
    (void)state;
    ch_ready_part studs = part_of(NULL);
    studs.sessions_1 = 37.0;
    assert_int_equal(when(CH_LIFE_SESSIONS, 40.0, 40.0, studs), CH_READY_DURING);
    assert_int_equal(when(CH_LIFE_HEAT_CYCLES, 40.0, 40.0, studs), CH_READY_DURING);
    assert_int_equal(when(CH_LIFE_DISTANCE, 1e6, 1e6, studs), CH_READY_UNKNOWN);
}

static void of_an_event_whose_distance_is_unknown_only_what_is_behind_counts(void **state)
{
    (void)state;
    static const struct {
        double used_m;
        ch_ready_when when;
    } cases[] = {{5e6, CH_READY_OVER}, {4.5e6, CH_READY_SOON}, {4.4e6, CH_READY_UNKNOWN}, {0.0, CH_READY_UNKNOWN}};
    const ch_life_limit limits[] = {{.by = CH_LIFE_DISTANCE, .limit_si = 5e6, .soon_si = 4.5e6},
                                    {.by = CH_LIFE_HOURS, .limit_si = 70.0 * HOUR, .soon_si = 60.0 * HOUR}};
    ch_ready_event event = race();
    event.distance_m = NAN;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        ch_part_life life = {.id = "oil", .title = "Oil", .limits = limits, .limits_count = 1};
        ch_ready_part oil = part_of(&life);
        ch_ready ready;
        oil.distance_m = cases[i].used_m;
        oil.running_s = 0.0;
        assert_int_equal(ch_ready_run(&oil, 1, 0, &event, TODAY, &CH_READY_NO_ENGINE, NAN, &ready, NULL), CH_OK);
        assert_int_equal(ready.due_count, 1);
        assert_int_equal(ready.due[0].when, cases[i].when);
        assert_true(ready.ready == (cases[i].when != CH_READY_OVER));
        life.limits_count = 2; /* hours that say something are enough */
        assert_int_equal(ch_ready_run(&oil, 1, 0, &event, TODAY, &CH_READY_NO_ENGINE, NAN, &ready, NULL), CH_OK);
        assert_int_equal(ready.due_count, cases[i].when != CH_READY_UNKNOWN);
    }
}

static void what_expires_on_the_day_of_the_event_is_not_good_for_it(void **state)
{
    (void)state;
    ch_ready_part belt = part_of(NULL);
    belt.until = RACE_DAY;
    assert_int_equal(when(CH_LIFE_PRINTED_DATE, NAN, NAN, belt), CH_READY_DURING);
    belt.until = (ch_date){2027, 4, 4};
    assert_int_equal(when(CH_LIFE_PRINTED_DATE, NAN, NAN, belt), -1);
    belt.until = TODAY;
    assert_int_equal(when(CH_LIFE_PRINTED_DATE, NAN, NAN, belt), CH_READY_OVER);
    belt.until = (ch_date){0};
    assert_int_equal(when(CH_LIFE_PRINTED_DATE, NAN, NAN, belt), CH_READY_UNKNOWN);
}

static void months_end_on_the_last_day_that_there_is(void **state)
{
    (void)state;
    static const struct {
        ch_date from;
        int months;
        ch_date to;
    } CASES[] = {{{2027, 1, 31}, 1, {2027, 2, 28}},  {{2028, 1, 31}, 1, {2028, 2, 29}},
                 {{2024, 2, 29}, 12, {2025, 2, 28}}, {{2024, 2, 29}, 48, {2028, 2, 29}},
                 {{2026, 12, 15}, 1, {2027, 1, 15}}, {{2026, 3, 1}, 24, {2028, 3, 1}}};
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++)
        assert_int_equal(ch_date_days(ch_ready_months_later(CASES[i].from, CASES[i].months)),
                         ch_date_days(CASES[i].to));
}

static void age_counts_from_the_day_fitted_or_made(void **state)
{
    (void)state;
    ch_ready_part tyres = part_of(NULL);
    tyres.fitted = (ch_date){2026, 6, 1};
    tyres.made = (ch_date){2021, 3, 20};
    assert_int_equal(when(CH_LIFE_AGE_MADE, 72.0, 60.0, tyres), CH_READY_DURING);
    assert_int_equal(when(CH_LIFE_AGE_MADE, 84.0, 72.0, tyres), CH_READY_SOON);
    assert_int_equal(when(CH_LIFE_AGE_FITTED, 12.0, 11.0, tyres), -1);
    assert_int_equal(when(CH_LIFE_AGE_FITTED, 9.0, 8.0, tyres), CH_READY_OVER);
}

static void thickness_is_due_at_its_limit_and_below(void **state)
{
    (void)state;
    ch_ready_part pads = part_of(NULL);
    static const struct {
        double left_1;
        int when;
    } CASES[] = {{0.5, CH_READY_OVER}, {0.4, CH_READY_OVER}, {0.55, CH_READY_SOON}, {0.6, CH_READY_SOON}, {0.61, -1}};
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        pads.part_left_1 = CASES[i].left_1;
        assert_int_equal(when(CH_LIFE_PART_LEFT, 0.5, 0.6, pads), CASES[i].when);
    }
    pads.under_printed = true;
    assert_int_equal(when(CH_LIFE_PRINTED_MINIMUM, NAN, NAN, pads), CH_READY_OVER);
    pads.under_printed = false;
    assert_int_equal(when(CH_LIFE_PRINTED_MINIMUM, NAN, NAN, pads), -1);
}

static void the_limit_that_comes_first_counts_and_an_unknown_one_only_alone(void **state)
{
    (void)state;
    const ch_life_limit limits[] = {{.by = CH_LIFE_HOURS, .limit_si = 7.0 * HOUR, .soon_si = 6.0 * HOUR},
                                    {.by = CH_LIFE_AGE_FITTED, .limit_si = 12.0, .soon_si = 11.0},
                                    {.by = CH_LIFE_DISTANCE, .limit_si = 5e6, .soon_si = 4e6}};
    const ch_part_life life = {.id = "oil", .title = "Oil", .limits = limits, .limits_count = 3};
    ch_ready_part oil = part_of(&life);
    oil.running_s = 0.0;
    oil.fitted = (ch_date){2026, 2, 1};
    ch_ready ready = looked(&oil, 1);
    assert_int_equal(ready.due_count, 1);
    assert_int_equal(ready.due[0].when, CH_READY_OVER);
    assert_int_equal(ready.due[0].limit->by, CH_LIFE_AGE_FITTED);
    assert_int_equal(ch_date_days(ready.due[0].by), ch_date_days((ch_date){2027, 2, 1}));
    oil.fitted = (ch_date){2027, 2, 1};
    assert_int_equal(looked(&oil, 1).due_count, 0);
    ready = looked(&(ch_ready_part){.name = "part", .life = &life, .running_s = NAN, .distance_m = NAN}, 1);
    assert_int_equal(ready.due[0].when, CH_READY_UNKNOWN);
    assert_true(ready.ready); /* it is said, but it does not stand in the way */
}

static void the_most_pressing_stands_first(void **state)
{
    (void)state;
    const ch_life_limit hours = {.by = CH_LIFE_HOURS, .limit_si = 10.0 * HOUR, .soon_si = 9.0 * HOUR};
    const ch_part_life life = {.id = "x", .title = "X", .limits = &hours, .limits_count = 1};
    ch_ready_part parts[4];
    static const double USED_H[] = {7.0, 12.0, 9.0, 11.0};
    for (size_t i = 0; i < 4; i++) {
        parts[i] = part_of(&life);
        parts[i].running_s = USED_H[i] * HOUR;
    }
    const ch_ready ready = looked(parts, 4);
    assert_int_equal(ready.due_count, 4);
    static const size_t ORDER[] = {1, 3, 2, 0};
    for (size_t i = 0; i < 4; i++)
        assert_ptr_equal(ready.due[i].part, &parts[ORDER[i]]);
    assert_false(ready.ready);
}

static void open_things_and_a_doubtful_engine_stand_in_the_way(void **state)
{
    (void)state;
    ch_ready ready;
    const ch_ready_event event = race();
    assert_int_equal(
        ch_ready_run(NULL, 0, 0, &event, TODAY, &(ch_ready_engine){.over_fault_1 = 0.49}, NAN, &ready, NULL), CH_OK);
    assert_true(ready.ready);
    assert_int_equal(
        ch_ready_run(NULL, 0, 1, &event, TODAY, &(ch_ready_engine){.over_fault_1 = 0.0}, NAN, &ready, NULL), CH_OK);
    assert_false(ready.ready);
    assert_int_equal(ch_ready_run(NULL, 0, 0, &event, TODAY, &(ch_ready_engine){.over_fault_1 = CH_READY_FAULT_1}, NAN,
                                  &ready, NULL),
                     CH_OK);
    assert_false(ready.ready);
    assert_true(ready.engine_doubtful);
    assert_int_equal(ch_ready_run(NULL, 0, 0, &event, TODAY, &CH_READY_NO_ENGINE, NAN, &ready, NULL), CH_OK);
    assert_true(ready.ready);
}

/* By the meaning of the verdicts: a fault is to be mended first, what is to be watched is driven and watched. */
static void a_fault_that_still_stands_is_in_the_way_whatever_the_newest_sheet_says(void **state)
{
    (void)state;
    ch_ready ready;
    const ch_ready_event event = race();
    for (ch_verdict verdict = CH_VERDICT_SOUND; verdict <= CH_VERDICT_UNCLEAR; verdict++) {
        ch_ready_engine engine = {
            .over_fault_1 = 0.0, .day = TODAY, .verdict = verdict, .cylinder = 3, .wrong_1 = 0.96};
        engine.fault = (ch_ready_fault){.day = TODAY, .cylinder = 3, .wrong_1 = 0.96};
        assert_int_equal(ch_ready_run(NULL, 0, 0, &event, TODAY, &engine, NAN, &ready, NULL), CH_OK);
        assert_true(!ready.ready && ready.engine_faulty);
        assert_false(ready.engine_doubtful);
        assert_int_equal(ready.engine.cylinder, 3);
        engine.fault.day = (ch_date){0}; /* none, or one that was cleared */
        assert_int_equal(ch_ready_run(NULL, 0, 0, &event, TODAY, &engine, NAN, &ready, NULL), CH_OK);
        assert_true(ready.ready && !ready.engine_faulty);
    }
}

static void what_ran_a_distance_before_is_not_counted_from_nought_in_hours(void **state)
{
    (void)state;
    ch_ready_part plate = part_of(NULL);
    plate.running_s = 0.0;
    plate.sessions_1 = 0.0;
    plate.distance_m = 145e6;
    assert_int_equal(when(CH_LIFE_HOURS, 80.0 * HOUR, NAN, plate), -1);
    plate.distance_alone = true;
    assert_int_equal(when(CH_LIFE_HOURS, 80.0 * HOUR, NAN, plate), CH_READY_UNKNOWN);
    assert_int_equal(when(CH_LIFE_HEAT_CYCLES, 120.0, NAN, plate), CH_READY_UNKNOWN);
    assert_int_equal(when(CH_LIFE_DISTANCE, 200e6, NAN, plate), -1); /* which its distance is for */
    plate.running_s = 80.0 * HOUR;                                   /* since it was fitted alone */
    assert_int_equal(when(CH_LIFE_HOURS, 80.0 * HOUR, NAN, plate), CH_READY_OVER);
}

static void a_clutch_that_rather_slips_than_not_stands_in_the_way(void **state)
{
    (void)state;
    ch_ready ready;
    const ch_ready_event event = race();
    assert_int_equal(
        ch_ready_run(NULL, 0, 0, &event, TODAY, &(ch_ready_engine){.over_fault_1 = 0.0}, 0.49, &ready, NULL), CH_OK);
    assert_true(ready.ready);
    assert_false(ready.clutch_doubtful);
    expect_close(ready.clutch_slips_1, 0.49, 0);
    assert_int_equal(ch_ready_run(NULL, 0, 0, &event, TODAY, &(ch_ready_engine){.over_fault_1 = 0.0}, CH_READY_FAULT_1,
                                  &ready, NULL),
                     CH_OK);
    assert_false(ready.ready);
    assert_true(ready.clutch_doubtful);
    assert_false(ready.engine_doubtful);
}

static void a_day_is_needed_and_too_many_parts_are_refused(void **state)
{
    (void)state;
    static ch_ready_part parts[CH_READY_DUE_MAX + 1];
    ch_ready ready = {.due_count = 77};
    const ch_ready_event event = race();
    assert_int_equal(ch_ready_run(NULL, 0, 0, &event, (ch_date){0}, &CH_READY_NO_ENGINE, NAN, &ready, NULL),
                     CH_E_RANGE);
    assert_int_equal(
        ch_ready_run(parts, CH_READY_DUE_MAX + 1, 0, &event, TODAY, &CH_READY_NO_ENGINE, NAN, &ready, NULL),
        CH_E_LIMIT);
    assert_int_equal(ready.due_count, 77);
    assert_int_equal(ch_ready_run(parts, CH_READY_DUE_MAX, 0, &event, TODAY, &CH_READY_NO_ENGINE, NAN, &ready, NULL),
                     CH_OK);
    assert_int_equal(ready.due_count, 0); /* parts of which nothing is known are never due */
    assert_string_equal(ch_ready_when_name(CH_READY_DURING), "during");
    assert_null(ch_ready_when_name((ch_ready_when)99));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hours_are_over_during_or_soon),
        cmocka_unit_test(a_warning_of_its_own_comes_before_twice_the_event),
        cmocka_unit_test(sessions_and_heat_cycles_are_counted_alike),
        cmocka_unit_test(of_an_event_whose_distance_is_unknown_only_what_is_behind_counts),
        cmocka_unit_test(what_expires_on_the_day_of_the_event_is_not_good_for_it),
        cmocka_unit_test(months_end_on_the_last_day_that_there_is),
        cmocka_unit_test(age_counts_from_the_day_fitted_or_made),
        cmocka_unit_test(thickness_is_due_at_its_limit_and_below),
        cmocka_unit_test(the_limit_that_comes_first_counts_and_an_unknown_one_only_alone),
        cmocka_unit_test(the_most_pressing_stands_first),
        cmocka_unit_test(open_things_and_a_doubtful_engine_stand_in_the_way),
        cmocka_unit_test(a_fault_that_still_stands_is_in_the_way_whatever_the_newest_sheet_says),
        cmocka_unit_test(what_ran_a_distance_before_is_not_counted_from_nought_in_hours),
        cmocka_unit_test(a_clutch_that_rather_slips_than_not_stands_in_the_way),
        cmocka_unit_test(a_day_is_needed_and_too_many_parts_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
