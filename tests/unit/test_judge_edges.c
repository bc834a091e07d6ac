/* Promises of judge/verdict.c, bounds.c, day.c and repeats.c at their edges: the words of each reason, and what becomes of an engine that cannot be computed. */
#include <stdlib.h>

#include "fail_alloc.h"
#include "judge_by_hand.h"

/* ---- reasons, on judgements made by hand ---- */

/* Three cylinders inside the band, even, all causes sound. */
static void all_well(void)
{
    all_well_of(3, 5.0);
}

static void add_question(ch_question_kind kind, int cylinder, const char *text)
{
    ch_question *q = &judgement.question[judgement.question_count++];
    *q = (ch_question){.kind = kind, .cylinder = cylinder, .row = SIZE_MAX, .weight_1 = 0.9};
    snprintf(q->text, sizeof q->text, "%s", text);
}

#define ROWS(rows) "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 3}, " rows "}"
#define TESTED                                                                                                         \
    ROWS("compression: [{cylinder: 1, reading: 170}, {cylinder: 2, reading: 165}, {cylinder: 3, reading: 160}]")

static void expect_says(const char *words, bool wanted)
{
    if (reasons_say(words) == wanted)
        return;
    for (size_t i = 0; i < judgement.because_count; i++)
        print_error("%s\n", judgement.because[i]);
    fail_msg("\"%s\" is %s these", words, wanted ? "not in" : "in");
}

static void a_question_to_one_row_is_no_reason_to_judge_nothing(void **state)
{
    (void)state;
    all_well();
    add_question(CH_QUESTION_UNIT, 2, "Cylinder 2: is it another unit?");
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_SOUND);
    expect_says("Cylinder 2: is it another unit?", true);
    all_well();
    add_question(CH_QUESTION_UNIT, 0, "All in another unit?");
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_UNCLEAR);
    assert_string_equal(judgement.because[0], "All in another unit?");
    all_well();
    add_question(CH_QUESTION_IMPOSSIBLE, 2, "More than it could show.");
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_UNCLEAR);
    assert_string_equal(judgement.because[0], "More than it could show.");
    all_well();
    add_question(CH_QUESTION_BEYOND_SCALE, 2, "Beyond the dial."); /* no needle stands there */
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_UNCLEAR);
    assert_string_equal(judgement.because[0], "Beyond the dial.");
    all_well();
    add_question(CH_QUESTION_OIL_DOSE, 2,
                 "NOTICE: so much oil."); /* tells nothing of the dry readings, and comes first */
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_SOUND);
    assert_string_equal(judgement.because[0], "NOTICE: so much oil.");
}

static void a_wet_row_that_does_not_count_is_counted_apart(void **state)
{
    (void)state;
    static ch_trace traced;
    ch_sheet sheet;
    all_well();
    traced = judgement.trace;
    traced.cylinders = 3;
    sheet_of(
        ROWS("compression: [{cylinder: 1, reading: 170}, {cylinder: 2, reading: 165}, {cylinder: 3, reading: 160}], "
             "wet: [{cylinder: 1, reading: 170, oil: 150 ml}, {cylinder: 1, reading: 175, oil: 5 ml}, {cylinder: "
             "2, reading: 170, oil: 150 ml}]"),
        &sheet);
    const ch_judge_options options = {.seed = 1, .rule = CH_RULE_75_PERCENT, .traced = &traced};
    assert_int_equal(ch_judge(&sheet, &knowledge, &options, &judgement, NULL), CH_OK);
    ch_sheet_clear(&sheet);
    assert_int_equal(judgement.wet_left_out, 2);
    expect_says("1 wet (2 more do not count), 0 leak-down", true);
    expect_says("Cylinder 2: 150 ml of oil fill over 80 %", true);
    expect_says(" NOTICE: Liquid above a piston does not give way.", true);
}

static void each_kind_of_question_has_its_weight(void **state)
{
    (void)state;
    all_well();
    add_question(CH_QUESTION_ALL_HIGH, 0, "All high."); /* told where questions stand, not among the reasons */
    add_question(CH_QUESTION_MISSING, 0, "Missing.");
    add_question(CH_QUESTION_CONTRADICTION, 1, "Contradiction.");
    add_question(CH_QUESTION_THROTTLE_SHUT, 0, "Shut.");
    add_question(CH_QUESTION_ALL_LOW, 0, "All low.");
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_UNCLEAR);
    assert_string_equal(judgement.because[0], "Shut.");
    assert_string_equal(judgement.because[1], "All low.");
    assert_string_equal(judgement.because[2], "Contradiction.");
    expect_says("All high.", false);
    expect_says("Missing.", true);
}

static void what_a_verdict_rests_on_says_where_its_scatter_is_from(void **state)
{
    (void)state;
    all_well();
    judgement.pooled_sd_pa = 3.0 * 6894.757293168361;
    judgement.pooled_assumed = true;
    (void)verdict_of(TESTED);
    expect_says("; nothing was repeated, so a scatter of 3", true);
    judgement.pooled_assumed = false;
    judgement.because_count = 0;
    (void)verdict_of(TESTED);
    expect_says("nothing was repeated", false);
    expect_says("; readings repeat within 3", true);
}

/* What is missing though every cylinder was tested is told after what would change the verdict, and before what all rests on. */
static void what_is_missing_comes_after_what_would_change_the_verdict(void **state)
{
    (void)state;
    all_well();
    add_question(CH_QUESTION_MISSING, 0, "Missing.");
    judgement.repeat_cylinder = 3;
    judgement.cylinder[2].repeat_gain_1 = 0.07;
    (void)verdict_of(TESTED);
    size_t missing = SIZE_MAX, change = SIZE_MAX, rests = SIZE_MAX;
    for (size_t i = 0; i < judgement.because_count; i++) {
        missing = strcmp(judgement.because[i], "Missing.") == 0 ? i : missing;
        change = strstr(judgement.because[i], "What would change this") != NULL ? i : change;
        rests = strstr(judgement.because[i], "This rests on") != NULL ? i : rests;
    }
    assert_true(change < missing && missing < rests && rests != SIZE_MAX);
}

static void a_cylinder_without_any_test_is_neither_blamed_nor_passed(void **state)
{
    (void)state;
    all_well();
    judgement.cylinder[1].n = 0;
    judgement.cylinder[1].expected_pa[0] = NAN;
    blame(2, CH_CAUSE_RINGS_OR_BORE, 0.3);
    add_question(CH_QUESTION_MISSING, 2, "No reading of cylinder 2.");
    assert_int_equal(verdict_of(ROWS("compression: [{cylinder: 1, reading: 170}, {cylinder: 3, reading: 160}], "
                                     "leakdown: [{cylinder: 2, heard: exhaust}]")),
                     CH_VERDICT_WATCH);
    expect_says("Cylinder 2: the chance", false); /* it was not tested: what was heard is no loss */
    expect_says("No reading of cylinder 2.", true);
    /* with a loss it is */
    all_well();
    judgement.cylinder[1].n = 0;
    blame(2, CH_CAUSE_RINGS_OR_BORE, 0.3);
    (void)verdict_of(ROWS("compression: [{cylinder: 1, reading: 170}, {cylinder: 3, reading: 160}], leakdown: "
                          "[{cylinder: 2, loss: 20 %}]"));
    expect_says("Cylinder 2: the chance that something is wrong with it is about 30 %", true);
}

static void nothing_tested_at_all_says_what_to_test(void **state)
{
    (void)state;
    all_well();
    for (int c = 0; c < 3; c++)
        judgement.cylinder[c].n = 0;
    judgement.lowest = judgement.highest = 0;
    judgement.ratio_1 = NAN;
    blame(2, CH_CAUSE_RINGS_OR_BORE, 0.1);
    assert_int_equal(verdict_of(ROWS("wet: [{cylinder: 1, reading: 170}]")), CH_VERDICT_UNCLEAR);
    expect_says("What would change this: a dry compression test of cylinder 2.", true);
    expect_says("This rests on 0 dry readings of 0 cylinders, 1 wet, 0 leak-down and 0 things seen.", true);
    expect_says("Lowest against highest", false);
}

static void three_at_fault_are_told_the_worst_first(void **state)
{
    (void)state;
    all_well();
    blame(1, CH_CAUSE_RINGS_OR_BORE, 0.85);
    blame(2, CH_CAUSE_EXHAUST_VALVE, 0.95);
    blame(3, CH_CAUSE_INTAKE_VALVE, 0.90);
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_FAULT);
    assert_non_null(strstr(judgement.because[0], "Cylinder 2:"));
    assert_non_null(strstr(judgement.because[1], "Cylinder 3:"));
    assert_non_null(strstr(judgement.because[2], "Cylinder 1:"));
}

static void one_tested_cylinder_at_fault_is_told_and_no_other(void **state)
{
    (void)state;
    all_well();
    judgement.cylinder[0].n = judgement.cylinder[1].n = 0;
    judgement.lowest = judgement.highest = 0;
    judgement.ratio_1 = NAN;
    blame(3, CH_CAUSE_RINGS_OR_BORE, 0.4);
    (void)verdict_of(ROWS("compression: [{cylinder: 3, reading: 160}]"));
    expect_says("Cylinder 3: the chance that something is wrong with it is about 40 %", true);
    expect_says("The reading lies within", true);
    all_well();
    judgement.cylinder[0].n = judgement.cylinder[1].n = 0;
    judgement.ratio_1 = NAN;
    blame(3, CH_CAUSE_RINGS_OR_BORE, 0.1);
    (void)verdict_of(ROWS("compression: [{cylinder: 3, reading: 160}]"));
    expect_says("How sure: the chance that something is wrong with cylinder 3 is about 10 %.", true);
}

static void readings_all_alike_are_called_alike(void **state)
{
    (void)state;
    all_well();
    judgement.ratio_1 = 1.0;
    (void)verdict_of(TESTED);
    expect_says("All cylinders show 170 psi alike", true);
    expect_says("Lowest against highest", false);
}

static void a_rule_that_does_not_apply_says_nothing_of_the_engine_or_of_a_repeat(void **state)
{
    (void)state;
    all_well();
    judgement.chosen_rule = CH_RULE_MANUAL;
    judgement.rule[CH_RULE_MANUAL] = (ch_rule_outcome){.applies = false, .chance_broken_1 = 1.0, .says = "the manual"};
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_SOUND);
    expect_says("Your rule, \"the manual\", says nothing here: the sheet has no limits of the manual.", true);
    expect_says("hardly move", false);
    judgement.trace.next_check_count = 1;
    judgement.trace.next_check[0] = (ch_trace_check){.check = &knowledge.checks[0], .minutes = 20.0};
    judgement.because_count = 0;
    (void)verdict_of(TESTED);
    expect_says("is the check to do next", true);
    expect_says("hardly move", false);
}

static void the_cylinder_whose_test_is_wrongest_is_named(void **state)
{
    (void)state;
    all_well();
    blame(1, CH_CAUSE_MEASUREMENT_ERROR, 0.6);
    blame(2, CH_CAUSE_MEASUREMENT_ERROR, 0.7);
    blame(3, CH_CAUSE_MEASUREMENT_ERROR, 0.55);
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_UNCLEAR);
    expect_says("For 3 cylinders the test is a likelier explanation (up to about 70 %) than the engine.", true);
    all_well();
    blame(2, CH_CAUSE_MEASUREMENT_ERROR, 0.7);
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_UNCLEAR);
    expect_says("Cylinder 2: the test is a likelier explanation (about 70 %) than the engine (under 1 %).", true);
}

static void a_minimum_missed_by_a_wrong_test_is_no_fault(void **state)
{
    (void)state;
    all_well();
    judgement.cylinder[1].chance_below_minimum_1 = 0.95;
    blame(2, CH_CAUSE_MEASUREMENT_ERROR, 0.7);
    assert_int_equal(
        verdict_of(ROWS(
            "compression: [{cylinder: 1, reading: 170}, {cylinder: 2, reading: 165}, {cylinder: 3, reading: 160}]")),
        CH_VERDICT_UNCLEAR);
    all_well();
    judgement.cylinder[1].chance_below_minimum_1 = 0.95;
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_FAULT);
    all_well();
    judgement.rule[CH_RULE_75_PERCENT].chance_broken_1 = 0.95; /* and no cylinder that is the lowest */
    judgement.lowest = 0;
    judgement.ratio_1 = NAN;
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_WATCH);
}

static void the_next_check_is_named_with_its_cylinder_where_it_has_one(void **state)
{
    (void)state;
    const ch_knowledge_check *repeat = ch_knowledge_check_find(&knowledge, "repeat_reading", 14);
    assert_non_null(repeat);
    all_well();
    judgement.trace.next_check_count = 1;
    judgement.trace.next_check[0] = (ch_trace_check){.check = repeat, .cylinder = 2, .minutes = 9.6};
    (void)verdict_of(TESTED);
    expect_says("(cylinder 2) is the check to do next, some 10 minutes.", true);
    expect_says("One more repeat of any reading would hardly move it.", false);
    const ch_knowledge_check *other = &knowledge.checks[0] == repeat ? &knowledge.checks[1] : &knowledge.checks[0];
    all_well();
    judgement.trace.next_check_count = 1;
    judgement.trace.next_check[0] = (ch_trace_check){.check = other, .cylinder = 0, .minutes = 20.0};
    (void)verdict_of(TESTED);
    expect_says("is the check to do next, some 20 minutes. One more repeat of any reading would hardly move it.", true);
    expect_says("(cylinder", false);
    /* without one: what has not been tested yet */
    all_well();
    blame(2, CH_CAUSE_RINGS_OR_BORE, 0.1);
    (void)verdict_of(ROWS("compression: [{cylinder: 1, reading: 170}, {cylinder: 2, reading: 165}, {cylinder: 3, "
                          "reading: 160}], leakdown: [{cylinder: 1, loss: 8 "
                          "%}, {cylinder: 2, loss: 9 %}]"));
    expect_says("a look through the plug hole (borescope) or a repeated leak-down of cylinder 2.", true);
    judgement.because_count = 0;
    (void)verdict_of(ROWS(
        "compression: [{cylinder: 1, reading: 170}], leakdown: [{cylinder: 2, loss: 9 %}, {cylinder: 1, loss: 8 %}]"));
    expect_says("a look through the plug hole (borescope) or a repeated leak-down of cylinder 2.", true);
    judgement.because_count = 0;
    (void)verdict_of(TESTED);
    expect_says("a leak-down test of cylinder 2.", true);
    judgement.repeat_cylinder = 3;
    judgement.cylinder[2].repeat_gain_1 = 0.07;
    (void)verdict_of(TESTED);
    expect_says("one more reading of cylinder 3 would be expected to move the chance of a broken rule by 7 %.", true);
}

static void names_of_verdicts_and_rules_end_where_their_lists_do(void **state)
{
    (void)state;
    assert_null(ch_verdict_name((ch_verdict)4));
    assert_null(ch_verdict_name((ch_verdict)-1));
    assert_string_equal(ch_verdict_name(CH_VERDICT_UNCLEAR), "unclear");
    for (int rule = 0; rule < CH_RULE_COUNT; rule++)
        assert_true(ch_balance_rule_says((ch_balance_rule)rule)[0] != '\0');
    assert_null(ch_balance_rule_says(CH_RULE_COUNT));
}

/* ---- an engine that cannot be computed ---- */

static void an_engine_of_no_size_is_refused_by_every_part(void **state)
{
    (void)state;
    ch_sheet sheet;
    ch_setup setup;
    sheet_of(TESTED, &sheet);
    setup_of(&sheet, &setup);
    ch_setup broken[5] = {setup, setup, setup, setup, setup};
    broken[0].compression_ratio = 1.0; /* no clearance to fill: of the day nothing hangs on it */
    broken[1].cranking.bore.bore_m = 0.0;
    broken[2].cranking.ambient_pa = NAN;
    broken[3].cranking.wall_k = 600.0;         /* of the standard day it is another */
    broken[4].cranking.check_opening_pa = 5e6; /* of what could be reached at most there is none */
    for (size_t i = 0; i < 5; i++) {
        judge_bounds bounds = {.ideal_pa = 7};
        judge_day day = {.u_factor_1 = 7};
        ch_err err = {0};
        assert_true(judge_bounds_compute(&broken[i], 3, &bounds, &err) < 0);
        assert_true(err.what[0] != '\0' && bounds.ideal_pa == 7.0);
        err = (ch_err){0};
        if (i == 0)
            continue;
        assert_true(judge_day_build(&broken[i], 3, &day, &err) < 0);
        assert_true(err.what[0] != '\0' && day.u_factor_1 == 7.0);
    }
    ch_sheet_clear(&sheet);
}

static void rows_without_a_reading_or_of_no_cylinder_are_passed_over(void **state)
{
    (void)state;
    ch_sheet sheet;
    judge_readings readings;
    sheet_of(TESTED, &sheet);
    /* the rows are the sheet's own: a caller may have left a reading out */
    ch_reading *rows = malloc(4 * sizeof *rows);
    assert_non_null(rows);
    memcpy(rows, sheet.compression, 3 * sizeof *rows);
    rows[3] = rows[0];
    rows[1].reading = ch_quantity_none();
    rows[2].cylinder = 4;
    rows[3].cylinder = 0;
    ch_sheet with = sheet;
    with.compression = rows;
    with.compression_count = 4;
    assert_int_equal(judge_readings_collect(&with, &readings, NULL), CH_OK);
    assert_int_equal(readings.n, 1);
    assert_int_equal(readings.row[0], 0);
    judge_readings_clear(&readings);
    with.compression_count = 1; /* a first stroke whose end nobody read says nothing of the valves */
    rows[0].first_stroke = rows[0].reading;
    rows[0].reading.si = NAN;
    ch_setup setup;
    judge_repeatability scatter;
    setup_of(&sheet, &setup);
    assert_int_equal(judge_readings_collect(&with, &readings, NULL), CH_OK);
    assert_int_equal(judge_repeats(&with, &setup, NULL, &readings, &judgement, &scatter, NULL), CH_OK);
    assert_true(isnan(judgement.cylinder[0].first_over_final_1));
    judge_readings_clear(&readings);
    rows[0].reading = rows[0].first_stroke;
    /* the step of the dial, where one row has no reading and none is above 0 */
    assert_true(judge_step_pa(rows, 4) > 0.0);
    rows[0].reading.si = rows[2].reading.si = rows[3].reading.si = 0.0;
    assert_true(isnan(judge_step_pa(rows, 4)));
    free(rows);
    ch_sheet_clear(&sheet);
}

static void leaks_of_an_unreliable_trace_are_not_given(void **state)
{
    (void)state;
    static ch_trace traced;
    static ch_judgement made;
    ch_sheet sheet;
    all_well();
    traced = judgement.trace;
    traced.cylinders = 3;
    for (int c = 0; c < 3; c++)
        traced.cylinder[c].area_m2[1] = 1e-6;
    sheet_of(TESTED, &sheet);
    const ch_judge_options options = {.seed = 1, .rule = CH_RULE_75_PERCENT, .traced = &traced};
    for (int reliable = 0; reliable < 2; reliable++) {
        traced.reliable = reliable == 1;
        assert_int_equal(ch_judge(&sheet, &knowledge, &options, &made, NULL), CH_OK);
        assert_true(reliable == 1 ? made.cylinder[1].leak_area_m2[1] == 1e-6 : isnan(made.cylinder[1].leak_area_m2[1]));
    }
    ch_sheet_clear(&sheet);
}

static void a_coolant_leak_that_no_cylinder_has_most_of_is_told(void **state)
{
    (void)state;
#define NOWHERE                                                                                                        \
    "The chance that a gasket or a crack leaks into the coolant somewhere is about 60 %; nothing here tells which "    \
    "cylinder."
    all_well();
    for (int c = 1; c <= 3; c++)
        blame(c, CH_CAUSE_HEAD_GASKET_TO_COOLANT, 0.2);
    (void)verdict_of(TESTED);
    expect_says(NOWHERE, true);
    all_well();
    blame(1, CH_CAUSE_HEAD_GASKET_TO_COOLANT, 0.5);
    blame(2, CH_CAUSE_CRACKED_HEAD, 0.1);
    (void)verdict_of(TESTED);
    expect_says("leaks into the coolant somewhere", false); /* it is told of cylinder 1 */
}

static void without_a_band_no_reading_lies_within_it(void **state)
{
    (void)state;
    all_well();
    for (int c = 0; c < 3; c++)
        judgement.cylinder[c].expected_pa[0] = judgement.cylinder[c].expected_pa[1] = NAN;
    (void)verdict_of(TESTED);
    expect_says("All readings lie within", false);
}

static void what_was_seen_is_counted(void **state)
{
    (void)state;
    all_well();
    (void)verdict_of(ROWS("compression: [{cylinder: 1, reading: 170}], observed: [{what: oily_plug, cylinder: 1}]"));
    expect_says("0 leak-down and 1 thing seen; ", true);
}

/* Within what a file may hold, and beyond what can be computed; the last by a caller alone. */
static void what_cannot_be_computed_is_not_judged(void **state)
{
    (void)state;
#define ONE "compression: [{cylinder: 1, reading: 12 bar}]}"
    static const char *const wrong[][2] = {
        {"{sheet: 1, engine: {cylinders: 1, stroke: 200 mm, rod_length: 101 mm}, " ONE, "rod length 101.0 mm"},
        {"{sheet: 1, engine: {cylinders: 1, compression_ratio: 1.0000000001}, " ONE, "clearance volume"},
        {"{sheet: 1, engine: {cylinders: 1}, " ONE, "uncertainty nan"}};
    static ch_judgement made, untouched;
    memset(&untouched, 0x5a, sizeof untouched);
    const ch_judge_options options = {.seed = 1, .rule = CH_RULE_75_PERCENT};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        ch_sheet sheet;
        ch_err err = {0};
        memcpy(&made, &untouched, sizeof made);
        sheet_of(wrong[i][0], &sheet);
        if (i == 2) {
            sheet.gauge.resolution = sheet.compression[0].reading;
            sheet.gauge.resolution.si = -1e4; /* a dial that is marked backwards */
        }
        assert_int_equal(ch_judge(&sheet, &knowledge, &options, &made, &err), CH_E_RANGE);
        if (strstr(err.what, wrong[i][1]) == NULL)
            fail_msg("\"%s\" lacks \"%s\"", err.what, wrong[i][1]);
        assert_memory_equal(&made, &untouched, sizeof made);
        ch_sheet_clear(&sheet);
    }
}

/* By what was traced before, so that only the judging itself is tried. */
static void without_memory_nothing_is_judged(void **state)
{
    (void)state;
    static ch_trace traced;
    static ch_judgement made, untouched;
    ch_sheet sheet;
    ch_err err = {0};
    long refused = 0;
    all_well();
    traced = judgement.trace;
    traced.cylinders = 3;
    sheet_of(
        ROWS("compression: [{cylinder: 1, reading: 170, first_stroke: 90}, {cylinder: 2, reading: 165}, {cylinder: 3, "
             "reading: 160}, {cylinder: 1, reading: 168}], wet: [{cylinder: 3, reading: 165}]"),
        &sheet);
    const ch_judge_options options = {.seed = 1, .rule = CH_RULE_75_PERCENT, .traced = &traced};
    memset(&untouched, 0x5a, sizeof untouched);
    for (long n = 1;; n++) {
        memcpy(&made, &untouched, sizeof made);
        err = (ch_err){0};
        fail_alloc_at(n);
        const ch_status rc = ch_judge(&sheet, &knowledge, &options, &made, &err);
        if (!fail_alloc_stop()) {
            assert_int_equal(rc, CH_OK);
            break;
        }
        assert_int_equal(fail_alloc_left(), 0);
        refused++;
        assert_int_equal(rc, CH_E_MEMORY);
        assert_true(err.what[0] != '\0');
        assert_memory_equal(&made, &untouched, sizeof made);
    }
    assert_int_equal(fail_alloc_left(), 0);
    assert_true(refused > 5);
    assert_int_equal(made.cylinder[0].n, 2);
    ch_sheet_clear(&sheet);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_question_to_one_row_is_no_reason_to_judge_nothing),
        cmocka_unit_test(a_wet_row_that_does_not_count_is_counted_apart),
        cmocka_unit_test(each_kind_of_question_has_its_weight),
        cmocka_unit_test(what_a_verdict_rests_on_says_where_its_scatter_is_from),
        cmocka_unit_test(what_is_missing_comes_after_what_would_change_the_verdict),
        cmocka_unit_test(a_cylinder_without_any_test_is_neither_blamed_nor_passed),
        cmocka_unit_test(nothing_tested_at_all_says_what_to_test),
        cmocka_unit_test(three_at_fault_are_told_the_worst_first),
        cmocka_unit_test(one_tested_cylinder_at_fault_is_told_and_no_other),
        cmocka_unit_test(readings_all_alike_are_called_alike),
        cmocka_unit_test(a_rule_that_does_not_apply_says_nothing_of_the_engine_or_of_a_repeat),
        cmocka_unit_test(the_cylinder_whose_test_is_wrongest_is_named),
        cmocka_unit_test(a_minimum_missed_by_a_wrong_test_is_no_fault),
        cmocka_unit_test(the_next_check_is_named_with_its_cylinder_where_it_has_one),
        cmocka_unit_test(names_of_verdicts_and_rules_end_where_their_lists_do),
        cmocka_unit_test(an_engine_of_no_size_is_refused_by_every_part),
        cmocka_unit_test(leaks_of_an_unreliable_trace_are_not_given),
        cmocka_unit_test(a_coolant_leak_that_no_cylinder_has_most_of_is_told),
        cmocka_unit_test(without_a_band_no_reading_lies_within_it),
        cmocka_unit_test(what_was_seen_is_counted),
        cmocka_unit_test(what_cannot_be_computed_is_not_judged),
        cmocka_unit_test(rows_without_a_reading_or_of_no_cylinder_are_passed_over),
        cmocka_unit_test(without_memory_nothing_is_judged),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
