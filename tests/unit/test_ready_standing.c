/* A fault stands until a later test of that cylinder that could have seen it shows none, or a repair. */
#include "crosshatch/ready_standing.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "expect.h"

enum { FOUR = 4 };

static const ch_date FIRST = {2027, 1, 10}, SECOND = {2027, 2, 20}, TODAY = {2027, 6, 1};

/* A sheet of four cylinders on which nothing was tested and nothing is wrong. */
static ch_history_sheet sheet_on(int64_t id, ch_date day)
{
    ch_history_sheet sheet = {.id = id, .day = day, .opened_s = id, .gauge_id = 1};
    sheet.result.cylinders = FOUR;
    sheet.result.verdict = CH_VERDICT_SOUND;
    sheet.result.reliable = true;
    for (int c = 0; c < FOUR; c++) {
        sheet.result.cylinder[c].mean_pa = NAN;
        sheet.result.cylinder[c].cause_1[CH_CAUSE_SOUND] = 1.0;
    }
    return sheet;
}

static void press(ch_history_sheet *sheet, int cylinder, double mean_pa)
{
    sheet->result.cylinder[cylinder - 1].n = 2;
    sheet->result.cylinder[cylinder - 1].mean_pa = mean_pa;
}

static void press_all(ch_history_sheet *sheet, double mean_pa)
{
    for (int c = 1; c <= FOUR; c++)
        press(sheet, c, mean_pa);
}

static void set_cause(ch_history_sheet *sheet, int cylinder, int cause, double chance_1)
{
    ch_history_cylinder *one = &sheet->result.cylinder[cylinder - 1];
    memset(one->cause_1, 0, sizeof one->cause_1);
    one->cause_1[cause] = chance_1;
    one->cause_1[CH_CAUSE_SOUND] += 1.0 - chance_1;
}

/* Compression of all four, cylinder 3 at a third of the others. */
static ch_history_sheet low_third(void)
{
    ch_history_sheet sheet = sheet_on(1, FIRST);
    press_all(&sheet, 1.2e6);
    press(&sheet, 3, 0.4e6);
    set_cause(&sheet, 3, CH_CAUSE_EXHAUST_VALVE, 0.97);
    sheet.result.verdict = CH_VERDICT_FAULT;
    return sheet;
}

static ch_ready_engine look(const ch_history_sheet *sheet, size_t sheets, const ch_history_repair *repair,
                            size_t repairs)
{
    ch_ready_engine engine = {.over_fault_1 = 0.3};
    ch_ready_standing(sheet, sheets, repair, repairs, TODAY, &engine);
    expect_close(engine.over_fault_1, 0.3, 0.0);
    return engine;
}

static bool stands_with(const ch_history_sheet *first, const ch_history_sheet *later)
{
    const ch_history_sheet both[] = {*later, *first}; /* in any order */
    return ch_date_given(look(both, 2, NULL, 0).fault.day);
}

static void without_a_sheet_or_a_fault_none_stands(void **state)
{
    (void)state;
    ch_ready_engine none = look(NULL, 0, NULL, 0);
    assert_false(ch_date_given(none.day) || ch_date_given(none.fault.day));
    const ch_history_sheet sound = sheet_on(1, FIRST);
    none = look(&sound, 1, NULL, 0);
    assert_true(ch_date_given(none.day) && !ch_date_given(none.fault.day));
}

static void a_fault_names_its_sheet_its_cylinder_and_what_sees_it(void **state)
{
    (void)state;
    ch_history_sheet sheet = low_third();
    ch_ready_engine engine = look(&sheet, 1, NULL, 0);
    assert_int_equal(ch_date_days(engine.fault.day), ch_date_days(FIRST));
    assert_int_equal(engine.fault.sheet_id, 1);
    assert_int_equal(engine.fault.cylinder, 3);
    assert_int_equal(engine.fault.more, 0);
    expect_close(engine.fault.wrong_1, 0.97, 1e-12);
    assert_int_equal(engine.fault.seen_by, CH_READY_BY_COMPRESSION | CH_READY_BY_LEAKDOWN);
    set_cause(&sheet, 2, CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS, 0.99);
    engine = look(&sheet, 1, NULL, 0);
    assert_int_equal(engine.fault.cylinder, 2);
    assert_int_equal(engine.fault.more, 1);
}

static void a_later_sheet_that_tested_another_cylinder_clears_nothing(void **state)
{
    (void)state;
    const ch_history_sheet fault = low_third();
    ch_history_sheet later = sheet_on(2, SECOND);
    press(&later, 1, 1.2e6);
    press(&later, 2, 1.2e6);
    assert_true(stands_with(&fault, &later));
    later.result.cylinder[3].leakdowns = 2;
    assert_true(stands_with(&fault, &later));
    press(&later, 3, 1.19e6); /* a row of the cylinder is enough */
    assert_false(stands_with(&fault, &later));
}

static void an_earlier_sheet_clears_nothing(void **state)
{
    (void)state;
    const ch_history_sheet fault = low_third();
    ch_history_sheet sound = sheet_on(2, (ch_date){2027, 1, 9});
    press_all(&sound, 1.2e6);
    assert_true(stands_with(&fault, &sound));
    sound.day = FIRST; /* opened later on the very day */
    assert_false(stands_with(&fault, &sound));
    sound.opened_s = 0;
    assert_true(stands_with(&fault, &sound));
}

static void what_compression_showed_a_leak_down_sees_too_but_for_the_timing(void **state)
{
    (void)state;
    ch_history_sheet fault = low_third(), later = sheet_on(2, SECOND);
    later.result.cylinder[2].leakdowns = 1;
    assert_false(stands_with(&fault, &later));
    set_cause(&fault, 3, CH_CAUSE_CAM_OR_TIMING, 0.97);
    assert_true(stands_with(&fault, &later));
    press(&later, 3, 1.19e6);
    assert_false(stands_with(&fault, &later));
}

static void what_only_the_leak_down_showed_compression_does_not_clear(void **state)
{
    (void)state;
    ch_history_sheet fault = low_third(), later = sheet_on(2, SECOND);
    press(&fault, 3, 1.1e6); /* above 85 % of the highest */
    fault.result.cylinder[2].leakdowns = 1;
    press_all(&later, 1.2e6);
    assert_true(stands_with(&fault, &later));
    assert_int_equal(look(&fault, 1, NULL, 0).fault.seen_by, CH_READY_BY_LEAKDOWN);
    later.result.cylinder[2].leakdowns = 1;
    assert_false(stands_with(&fault, &later));
    fault.result.cylinder[2].leakdowns = 0; /* of the manual's minimum: compression alone told it */
    later.result.cylinder[2].leakdowns = 0;
    assert_false(stands_with(&fault, &later));
    set_cause(&fault, 3, CH_CAUSE_HEAD_GASKET_TO_COOLANT, 0.97); /* which needs no pressure lost while cranking */
    assert_true(stands_with(&fault, &later));
}

static void what_says_nothing_of_the_cylinder_clears_nothing(void **state)
{
    (void)state;
    const ch_history_sheet fault = low_third();
    ch_history_sheet later = sheet_on(2, SECOND);
    press_all(&later, 1.2e6);
    assert_false(stands_with(&fault, &later));
    later.result.unreadable = true;
    assert_true(stands_with(&fault, &later));
    later.result.unreadable = false;
    later.result.reliable = false;
    assert_true(stands_with(&fault, &later));
    later.result.reliable = true;
    set_cause(&later, 3, CH_CAUSE_MEASUREMENT_ERROR, 0.5);
    assert_true(stands_with(&fault, &later));
    set_cause(&later, 3, CH_CAUSE_RINGS_OR_BORE, 0.5);
    assert_true(stands_with(&fault, &later));
    set_cause(&later, 3, CH_CAUSE_RINGS_OR_BORE, 0.49);
    assert_false(stands_with(&fault, &later));
    later.result.cylinders = 2; /* another engine's */
    assert_true(stands_with(&fault, &later));
}

static void a_broken_rule_blames_the_lowest_and_the_coolant_all(void **state)
{
    (void)state;
    ch_history_sheet fault = low_third();
    set_cause(&fault, 3, CH_CAUSE_RINGS_OR_BORE, 0.2);
    ch_ready_fault found = look(&fault, 1, NULL, 0).fault;
    assert_int_equal(found.cylinder, 3);
    assert_true(isnan(found.wrong_1));
    fault.result.reliable = false; /* its causes are not to be trusted */
    set_cause(&fault, 1, CH_CAUSE_RINGS_OR_BORE, 0.9);
    found = look(&fault, 1, NULL, 0).fault;
    assert_int_equal(found.cylinder, 3);

    fault = sheet_on(1, FIRST);
    fault.result.verdict = CH_VERDICT_FAULT;
    press_all(&fault, 1.2e6);
    for (int c = 1; c <= FOUR; c++)
        set_cause(&fault, c, CH_CAUSE_HEAD_GASKET_TO_COOLANT, 0.24);
    found = look(&fault, 1, NULL, 0).fault;
    assert_int_equal(found.cylinder, 0);
    assert_true(isnan(found.wrong_1) && found.more == 0);
    assert_int_equal(found.seen_by, CH_READY_BY_LEAKDOWN);
    ch_history_sheet later = sheet_on(2, SECOND);
    for (int c = 0; c < FOUR - 1; c++)
        later.result.cylinder[c].leakdowns = 1;
    assert_true(stands_with(&fault, &later));
    later.result.cylinder[FOUR - 1].leakdowns = 1;
    assert_false(stands_with(&fault, &later));

    fault = sheet_on(1, FIRST); /* by what was seen alone */
    fault.result.verdict = CH_VERDICT_FAULT;
    found = look(&fault, 1, NULL, 0).fault;
    assert_int_equal(found.cylinder, 0);
    assert_int_equal(found.seen_by, CH_READY_BY_COMPRESSION | CH_READY_BY_LEAKDOWN);
}

/* What an eye has seen broken is at the cylinder where it was seen, whatever reads lowest; at the engine as a whole, at none alone. */
static void what_was_seen_broken_is_blamed_where_it_was_seen(void **state)
{
    (void)state;
    ch_history_sheet fault = sheet_on(1, FIRST);
    fault.result.verdict = CH_VERDICT_FAULT;
    press_all(&fault, 1.2e6);
    press(&fault, 4, 1.15e6);
    fault.result.cylinder[1].broken = fault.result.cylinder[2].broken = true;
    ch_ready_fault found = look(&fault, 1, NULL, 0).fault;
    assert_int_equal(found.cylinder, 2);
    assert_int_equal(found.more, 1);
    assert_true(isnan(found.wrong_1) && found.do_not_run);
    ch_history_sheet low = low_third();
    assert_false(look(&low, 1, NULL, 0).fault.do_not_run);
    ch_history_sheet later = sheet_on(2, SECOND);
    press(&later, 4, 1.2e6);
    press(&later, 2, 1.2e6);
    assert_true(stands_with(&fault, &later));
    press(&later, 3, 1.2e6);
    assert_false(stands_with(&fault, &later));
    later.result.verdict = CH_VERDICT_FAULT; /* seen again */
    later.result.cylinder[2].broken = true;
    assert_true(stands_with(&fault, &later));

    for (int c = 0; c < FOUR; c++)
        fault.result.cylinder[c].broken = true;
    found = look(&fault, 1, NULL, 0).fault;
    assert_int_equal(found.cylinder, 0);
    assert_int_equal(found.more, 0);
}

static void a_later_sheet_with_the_same_fault_is_what_it_rests_on(void **state)
{
    (void)state;
    ch_history_sheet sheets[] = {low_third(), low_third(), sheet_on(3, (ch_date){2027, 3, 1})};
    sheets[1].id = 2;
    sheets[1].day = SECOND;
    press(&sheets[2], 1, 1.2e6);
    ch_ready_engine engine = look(sheets, 3, NULL, 0);
    assert_int_equal(engine.fault.sheet_id, 2);
    assert_int_equal(engine.verdict, CH_VERDICT_SOUND); /* what the newest says */
    /* found with a broken rule alone, by a tracing that blames nobody, it does not clear the one before */
    set_cause(&sheets[1], 3, CH_CAUSE_RINGS_OR_BORE, 0.2);
    engine = look(sheets, 3, NULL, 0);
    assert_int_equal(engine.fault.sheet_id, 2);
    press(&sheets[2], 3, 1.2e6);
    assert_false(ch_date_given(look(sheets, 3, NULL, 0).fault.day));
}

static void what_has_no_day_that_can_be_clears_nothing(void **state)
{
    (void)state;
    ch_history_sheet fault = low_third(), later = sheet_on(2, (ch_date){2062, 2, 20});
    press_all(&later, 1.2e6);
    assert_true(stands_with(&fault, &later)); /* a year mistyped */
    later.day = SECOND;
    later.day_assumed = true; /* brought in then, tested on a day that nobody noted */
    assert_true(stands_with(&fault, &later));
    later.day_assumed = false;
    assert_false(stands_with(&fault, &later));
    /* but a fault of such a sheet stands, and says why no later test clears it */
    fault.day = (ch_date){2062, 2, 20};
    ch_ready_engine engine = look(&fault, 1, NULL, 0);
    assert_true(engine.fault.day_to_come && !engine.fault.day_assumed && !ch_date_given(engine.day));
    fault.day = FIRST;
    fault.day_assumed = true;
    engine = look(&fault, 1, NULL, 0);
    assert_true(!engine.fault.day_to_come && engine.fault.day_assumed && engine.day_assumed);
}

static void a_repair_of_a_later_day_clears_it(void **state)
{
    (void)state;
    const ch_history_sheet fault = low_third();
    static const struct {
        ch_date day;
        int cylinder;
        bool clears;
    } repairs[] = {
        {{2027, 1, 10}, 0, false}, /* of the day of the test: it may have come before it */
        {{2027, 1, 11}, 0, true},  {{2027, 1, 11}, 3, true}, {{2027, 1, 11}, 2, false}, /* another cylinder's */
        {{2027, 6, 2}, 0, false},                                                       /* still to come */
    };
    for (size_t i = 0; i < sizeof repairs / sizeof repairs[0]; i++) {
        const ch_history_repair repair = {.day = repairs[i].day, .cylinder = repairs[i].cylinder, .what = "Head"};
        assert_int_equal(ch_date_given(look(&fault, 1, &repair, 1).fault.day), !repairs[i].clears);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(without_a_sheet_or_a_fault_none_stands),
        cmocka_unit_test(a_fault_names_its_sheet_its_cylinder_and_what_sees_it),
        cmocka_unit_test(a_later_sheet_that_tested_another_cylinder_clears_nothing),
        cmocka_unit_test(an_earlier_sheet_clears_nothing),
        cmocka_unit_test(what_compression_showed_a_leak_down_sees_too_but_for_the_timing),
        cmocka_unit_test(what_only_the_leak_down_showed_compression_does_not_clear),
        cmocka_unit_test(what_says_nothing_of_the_cylinder_clears_nothing),
        cmocka_unit_test(a_broken_rule_blames_the_lowest_and_the_coolant_all),
        cmocka_unit_test(what_was_seen_broken_is_blamed_where_it_was_seen),
        cmocka_unit_test(a_later_sheet_with_the_same_fault_is_what_it_rests_on),
        cmocka_unit_test(what_has_no_day_that_can_be_clears_nothing),
        cmocka_unit_test(a_repair_of_a_later_day_clears_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
