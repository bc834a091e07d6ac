/* Promises of judge/verdict.c and judge/judge.c: the rule of the verdict, line by line, and whole sheets from text to reasons. */
#include <stdlib.h>

#include "judge_by_hand.h"

/* ---- the rule, on judgements made by hand ---- */

#define TESTED                                                                                                         \
    "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: 170}, "           \
    "{cylinder: 2, "                                                                                                   \
    "reading: 160}]}"

static void all_well(void)
{
    all_well_of(2, 10.0);
}

static void even_readings_with_nothing_against_them_are_sound(void **state)
{
    (void)state;
    all_well();
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_SOUND);
    assert_true(reasons_say("cylinder 2 shows 160 psi, 94 % of cylinder 1 with 170 psi"));
    assert_true(reasons_say("between 91 % and 99 % (95 in 100)"));
    assert_true(reasons_say("This rests on 2 dry readings of 2 cylinders"));
    assert_true(reasons_say("What would change this"));
}

/* The judging never says that an engine is safe; it says what it does not speak of. */
static void no_reason_ever_calls_an_engine_safe(void **state)
{
    (void)state;
    all_well();
    (void)verdict_of(TESTED);
    assert_false(reasons_say("safe"));
    assert_true(reasons_say("not of bearings, oil supply, belts or anything else"));
    assert_true(reasons_say("manual has the last word"));
}

static void a_cylinder_likely_at_fault_is_a_fault_from_eighty_percent_on(void **state)
{
    (void)state;
    all_well();
    blame(2, CH_CAUSE_EXHAUST_VALVE, 0.6);
    blame(2, CH_CAUSE_RINGS_OR_BORE, 0.21);
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_FAULT);
    assert_non_null(strstr(judgement.because[0],
                           "Cylinder 2: the chance that something is wrong with it is about 81 %; "
                           "likeliest is \"exhaust valve leaks\" (60 %), then \"worn, stuck"));
    all_well();
    blame(2, CH_CAUSE_EXHAUST_VALVE, 0.79);
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_WATCH);
    all_well();
    blame(2, CH_CAUSE_EXHAUST_VALVE, 0.26);
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_WATCH);
    all_well();
    blame(2, CH_CAUSE_EXHAUST_VALVE, 0.24);
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_SOUND);
    assert_true(reasons_say(
        "How sure: the chance that something is wrong with cylinder 2 is about 24 %, and no more with any other"));
}

/* Bubbles in the tank tell of the engine, not of a cylinder: each has its part of that chance. */
static void a_leak_into_the_coolant_is_watched_though_no_cylinder_stands_out(void **state)
{
    (void)state;
    all_well();
    blame(1, CH_CAUSE_HEAD_GASKET_TO_COOLANT, 0.12);
    blame(2, CH_CAUSE_HEAD_GASKET_TO_COOLANT, 0.12);
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_SOUND);
    blame(2, CH_CAUSE_CRACKED_HEAD, 0.03);
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_WATCH);
    assert_true(reasons_say("leaks into the coolant somewhere is about 27 %"));
    blame(1, CH_CAUSE_CRACKED_HEAD, 0.35);
    blame(2, CH_CAUSE_CRACKED_HEAD, 0.35);
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_FAULT);
}

/* Signs that tell of the engine alone leave each cylinder its part of the chance. */
static void a_fault_that_no_cylinder_has_most_of_is_watched(void **state)
{
    (void)state;
    all_well();
    blame(1, CH_CAUSE_RINGS_OR_BORE, 0.24);
    blame(2, CH_CAUSE_EXHAUST_VALVE, 0.24);
    judgement.trace.any_fault_1 = 0.49;
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_SOUND);
    assert_false(reasons_say("one cylinder or another"));
    judgement.trace.any_fault_1 = 0.5;
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_WATCH);
    assert_true(reasons_say("something is wrong with one cylinder or another is about 50 %"));
    blame(2, CH_CAUSE_RINGS_OR_BORE, 0.02);
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_WATCH);
    assert_false(reasons_say("one cylinder or another"));
}

static void the_chosen_rule_alone_can_make_a_fault_or_a_watch(void **state)
{
    (void)state;
    all_well();
    judgement.rule[CH_RULE_75_PERCENT].chance_broken_1 = 0.91;
    judgement.rule[CH_RULE_75_PERCENT].passes = false;
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_FAULT);
    assert_true(reasons_say("is broken by the readings; the chance that the true figures break it is about 91 %"));
    judgement.rule[CH_RULE_75_PERCENT].chance_broken_1 = 0.11;
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_WATCH);
    all_well();
    judgement.ratio_1 = 0.84;
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_WATCH);
}

static void the_test_as_the_better_explanation_makes_it_unclear(void **state)
{
    (void)state;
    all_well();
    judgement.rule[CH_RULE_75_PERCENT].chance_broken_1 = 0.99;
    blame(2, CH_CAUSE_MEASUREMENT_ERROR, 0.7);
    blame(2, CH_CAUSE_EXHAUST_VALVE, 0.25);
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_UNCLEAR);
    assert_true(
        reasons_say("Cylinder 2: the test is a likelier explanation (about 70 %) than the engine (about 25 %)"));
}

/* A gauge that misleads on all cylinders alike does not tell why one of them is lower, and a worn engine looks much the same. */
static void what_misleads_all_alike_does_not_hide_a_fault(void **state)
{
    (void)state;
    all_well();
    blame(1, CH_CAUSE_MEASUREMENT_ERROR, 0.7);
    blame(2, CH_CAUSE_MEASUREMENT_ERROR, 0.7);
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_UNCLEAR);
    judgement.rule[CH_RULE_75_PERCENT].chance_broken_1 = 0.95;
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_WATCH);
    judgement.rule[CH_RULE_75_PERCENT].chance_broken_1 = 0.0;
    blame(2, CH_CAUSE_RINGS_OR_BORE, 0.09);
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_UNCLEAR);
    blame(2, CH_CAUSE_RINGS_OR_BORE, 0.02);
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_WATCH);
}

static void tests_that_contradict_each_other_are_never_sound(void **state)
{
    (void)state;
    all_well();
    judge_ask(&judgement, CH_QUESTION_CONTRADICTION, 1, SIZE_MAX, 0.9, "A loss of 100 %% does not go with 170 psi.");
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_UNCLEAR);
    assert_true(reasons_say("A loss of 100 % does not go with 170 psi."));
}

static void the_manuals_minimum_counts_with_the_gauges_error(void **state)
{
    (void)state;
    static const char sheet[] =
        "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 2, limits: {minimum: 165}}, compression: "
        "[{cylinder: 1, reading: 170}, {cylinder: 2, reading: 160}]}";
    all_well();
    judgement.cylinder[0].chance_below_minimum_1 = 0.05;
    judgement.cylinder[1].chance_below_minimum_1 = 0.88;
    judgement.cylinder[1].below_minimum = true;
    assert_int_equal(verdict_of(sheet), CH_VERDICT_WATCH);
    assert_true(reasons_say("Cylinder 2 shows 160 psi, the manual's minimum is 165 psi"));
    judgement.cylinder[1].chance_below_minimum_1 = 0.95;
    assert_int_equal(verdict_of(sheet), CH_VERDICT_FAULT);
}

static void a_low_level_is_watched_even_where_it_is_even(void **state)
{
    (void)state;
    all_well();
    judgement.cylinder[0].mean_pa = 148.0 * PSI;
    judgement.cylinder[1].mean_pa = 146.0 * PSI;
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_WATCH);
    assert_true(reasons_say(
        "Cylinders 1 and 2 read below what a sound engine of this kind would show here (150 psi to 200 psi"));
}

static void numbers_of_another_unit_are_not_judged(void **state)
{
    (void)state;
    all_well();
    blame(2, CH_CAUSE_EXHAUST_VALVE, 0.95);
    judge_ask(&judgement, CH_QUESTION_UNIT, 0, SIZE_MAX, 0.99, "The readings look like bar typed as psi.");
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_UNCLEAR);
    assert_string_equal(judgement.because[0], "The readings look like bar typed as psi.");
}

static void an_unreliable_tracing_names_no_cause(void **state)
{
    (void)state;
    all_well();
    judgement.trace.reliable = false;
    blame(2, CH_CAUSE_EXHAUST_VALVE, 0.95);
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_UNCLEAR);
    assert_false(reasons_say("exhaust valve"));
    judgement.rule[CH_RULE_75_PERCENT].chance_broken_1 = 1.0;
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_FAULT);
}

static void a_cylinder_that_was_not_tested_keeps_the_verdict_open(void **state)
{
    (void)state;
    all_well();
    judgement.cylinder[1].n = 0;
    judgement.cylinder[1].mean_pa = NAN;
    judgement.ratio_1 = NAN;
    judgement.lowest = 0;
    judgement.highest = 0;
    judgement.rule[CH_RULE_75_PERCENT].applies = false;
    static const char dry[] =
        "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: 170}]";
    char text[300];
    snprintf(text, sizeof text, "%s}", dry);
    assert_int_equal(verdict_of(text), CH_VERDICT_UNCLEAR);
    /* a leak-down of the other one will do */
    snprintf(text, sizeof text, "%s, leakdown: [{cylinder: 2, loss: 8 %%}]}", dry);
    assert_int_equal(verdict_of(text), CH_VERDICT_SOUND);
    /* suspected by signs alone, it is told of with the engine: only what was tested is spoken of by its number */
    blame(2, CH_CAUSE_RINGS_OR_BORE, 0.3);
    judgement.trace.any_fault_1 = 0.3;
    snprintf(text, sizeof text, "%s}", dry);
    assert_int_equal(verdict_of(text), CH_VERDICT_WATCH);
    assert_true(reasons_say("something is wrong with one cylinder or another is about 30 %"));
}

static void reasons_come_weightiest_first_and_never_overflow(void **state)
{
    (void)state;
    all_well();
    judgement.cylinders = CH_CYLINDERS_MAX;
    for (int c = 0; c < CH_CYLINDERS_MAX; c++) {
        judgement.cylinder[c] = judgement.cylinder[0];
        judgement.cylinder[c].cylinder = c + 1;
        judgement.cylinder[c].chance_below_minimum_1 = 0.2 + 0.02 * c;
        judgement.trace.cylinder[c].cause_1[CH_CAUSE_SOUND] = 1.0;
        ch_question *q = &judgement.question[judgement.question_count++];
        *q = (ch_question){.kind = CH_QUESTION_CONTRADICTION, .cylinder = c + 1};
        snprintf(q->text, sizeof q->text, "Contradiction number %d.", c + 1);
    }
    ch_question *heaviest = &judgement.question[judgement.question_count++];
    *heaviest = (ch_question){.kind = CH_QUESTION_BAROMETER, .text = "Barometer."};
    assert_int_equal(verdict_of(TESTED), CH_VERDICT_WATCH);
    assert_int_equal(judgement.because_count, CH_REASONS_MAX);
    assert_string_equal(judgement.because[0], "Barometer.");
    assert_non_null(strstr(judgement.because[1], "Cylinders 1 to 32 show"));
    assert_non_null(strstr(judgement.because[1],
                           "the chance that each is below, gauge error counted in, is about 20 % to about 82 %."));
}

static void verdicts_have_their_names(void **state)
{
    (void)state;
    assert_string_equal(ch_verdict_name(CH_VERDICT_SOUND), "sound");
    assert_string_equal(ch_verdict_name(CH_VERDICT_WATCH), "watch");
    assert_string_equal(ch_verdict_name(CH_VERDICT_FAULT), "fault");
    assert_string_equal(ch_verdict_name(CH_VERDICT_UNCLEAR), "unclear");
}

/* ---- whole sheets ---- */

static ch_status judge_text(const char *text, const ch_judge_options *options, ch_judgement *out, ch_err *err)
{
    ch_sheet sheet;
    sheet_of(text, &sheet);
    const ch_status rc = ch_judge(&sheet, &knowledge, options, out, err);
    ch_sheet_clear(&sheet);
    return rc;
}

static const ch_judge_options USUAL = {.seed = 1, .rule = CH_RULE_75_PERCENT};

#define SPORTS_CAR                                                                                                     \
    "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4, bore: 80.5 mm, stroke: 88 mm, compression_ratio: 9.6}," \
    "conditions: {throttle: open, engine_temperature: 75 C, cranking_speed: 220 rpm, altitude: 450 m, strokes: 8}, "

/* Even readings of a sound engine: 154, 151, 145, 151 psi (tests/data/field-cases, FC-067). */
static void an_even_engine_is_not_called_a_fault(void **state)
{
    (void)state;
    assert_int_equal(
        judge_text("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4, compression_ratio: 8.8}, compression: "
                   "[{cylinder: 1, reading: 154}, {cylinder: 2, reading: 151}, {cylinder: 3, reading: 145},"
                   "{cylinder: 4, reading: 151}]}",
                   &USUAL, &judgement, NULL),
        CH_OK);
    assert_int_equal(judgement.verdict, CH_VERDICT_SOUND);
    expect_relative(judgement.ratio_1, 145.0 / 154.0, 1e-12);
    assert_int_equal(judgement.lowest, 3);
    assert_int_equal(judgement.highest, 1);
    assert_true(judgement.assumed[CH_INPUT_BORE] && !judgement.assumed[CH_INPUT_COMPRESSION_RATIO]);
    const ch_judged_cylinder *one = &judgement.cylinder[0];
    assert_true(one->expected_pa[0] < one->expected_median_pa && one->expected_median_pa < one->expected_pa[1]);
    assert_true(one->leak_area_m2[0] < one->leak_area_m2[1] && one->leak_area_m2[1] < one->leak_area_m2[2]);
    assert_true(one->u_standard_day_pa > one->u_pa);
}

/* psi typed as bar: no engine shows 2500 psi, whatever is wrong with it, so that no cause of the engine's is named and no leak area told. */
static void readings_that_no_engine_gives_are_no_fault_of_the_engine(void **state)
{
    (void)state;
    assert_int_equal(judge_text("{sheet: 1, units: {pressure: bar}, engine: {cylinders: 4}, compression: [{cylinder: "
                                "1, reading: 170}, {cylinder: 2, reading: 171}, {cylinder: 3, reading: 172}, "
                                "{cylinder: 4, reading: 169}]}",
                                &USUAL, &judgement, NULL),
                     CH_OK);
    assert_int_equal(judgement.verdict, CH_VERDICT_UNCLEAR);
    assert_true(judgement.unreadable);
    assert_false(judgement.trace.reliable);
    assert_non_null(strstr(judgement.because[0], "look like psi typed as bar"));
    assert_true(isnan(judgement.cylinder[0].leak_area_m2[1]));
    assert_false(reasons_say("likeliest is"));
    assert_true(reasons_say("What would change this: the readings as the dial shows them"));
    /* one digit too many in one of them: what is traced of the others holds, and of that one it is the test */
    assert_int_equal(judge_text("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4, compression_ratio: 10}, "
                                "compression: [{cylinder: 1, reading: 170}, {cylinder: 2, reading: 1700}, {cylinder: "
                                "3, reading: 172}, {cylinder: 4, reading: 169}]}",
                                &USUAL, &judgement, NULL),
                     CH_OK);
    assert_false(judgement.unreadable);
    assert_true(judgement.trace.cylinder[1].cause_1[CH_CAUSE_CAM_OR_TIMING] < 0.001);
    assert_true(judgement.trace.cylinder[1].cause_1[CH_CAUSE_MEASUREMENT_ERROR] > 0.9);
}

static void a_cylinder_at_two_thirds_is_a_fault_with_its_number_in_the_first_reasons(void **state)
{
    (void)state;
    assert_int_equal(
        judge_text(SPORTS_CAR "compression: [{cylinder: 1, reading: 176}, {cylinder: 2, reading: 117},"
                              "{cylinder: 3, reading: 174}, {cylinder: 4, reading: 173}, {cylinder: 2, reading: 118}]}",
                   &USUAL, &judgement, NULL),
        CH_OK);
    assert_int_equal(judgement.verdict, CH_VERDICT_FAULT);
    assert_true(judgement.chance_below_75_1 > 0.9);
    assert_non_null(strstr(judgement.because[0], "ylinder 2"));
    assert_true(reasons_say("cylinder 2 shows 118 psi, 67 % of cylinder 1 with 176 psi"));
    assert_true(judgement.trace.cylinder[1].cause_1[CH_CAUSE_SOUND] < 0.1);
}

static void rows_in_another_order_give_the_same_judgement_but_for_order(void **state)
{
    (void)state;
    static ch_judgement other;
    assert_int_equal(
        judge_text(SPORTS_CAR "compression: [{cylinder: 1, reading: 176}, {cylinder: 2, reading: 150},"
                              "{cylinder: 3, reading: 174}, {cylinder: 4, reading: 173}, {cylinder: 2, reading: 153}]}",
                   &USUAL, &judgement, NULL),
        CH_OK);
    assert_int_equal(
        judge_text(SPORTS_CAR "compression: [{cylinder: 4, reading: 173}, {cylinder: 2, reading: 153},"
                              "{cylinder: 2, reading: 150}, {cylinder: 1, reading: 176}, {cylinder: 3, reading: 174}]}",
                   &USUAL, &other, NULL),
        CH_OK);
    assert_int_equal(other.verdict, judgement.verdict);
    assert_memory_equal(other.ratio_interval_1, judgement.ratio_interval_1, sizeof other.ratio_interval_1);
    assert_memory_equal(&other.chance_below_75_1, &judgement.chance_below_75_1, sizeof(double));
    for (int c = 0; c < 4; c++) {
        assert_memory_equal(&other.cylinder[c].u_pa, &judgement.cylinder[c].u_pa, sizeof(double));
        assert_memory_equal(&other.cylinder[c].standard_day_pa, &judgement.cylinder[c].standard_day_pa, sizeof(double));
        /* The tracing allows for a battery that runs down from row to row, which hardly counts here. */
        expect_close(other.trace.cylinder[c].cause_1[CH_CAUSE_SOUND],
                     judgement.trace.cylinder[c].cause_1[CH_CAUSE_SOUND], 0.02);
    }
}

static void the_same_sheet_and_seed_give_the_same_bytes(void **state)
{
    (void)state;
    static ch_judgement other;
    static const char text[] =
        "{sheet: 1, engine: {cylinders: 1, compression_ratio: 11}, compression: [{cylinder: 1, reading: 13.1 bar}]}";
    assert_int_equal(judge_text(text, &USUAL, &judgement, NULL), CH_OK);
    assert_int_equal(judge_text(text, &USUAL, &other, NULL), CH_OK);
    assert_int_equal(other.because_count, judgement.because_count);
    assert_memory_equal(other.because, judgement.because, sizeof other.because);
    assert_memory_equal(&other.trace, &judgement.trace, sizeof other.trace);
    assert_memory_equal(&other.cylinder[0], &judgement.cylinder[0], sizeof other.cylinder[0]);
}

static void a_motorcycle_with_one_cylinder_is_judged_in_its_owners_unit(void **state)
{
    (void)state;
    assert_int_equal(
        judge_text("{sheet: 1, engine: {cylinders: 1, bore: 95 mm, stroke: 75 mm, compression_ratio: 11}, compression: "
                   "[{cylinder: 1, reading: 13.1 bar}]}",
                   &USUAL, &judgement, NULL),
        CH_OK);
    assert_true(isnan(judgement.ratio_1) && judgement.lowest == 0);
    assert_int_not_equal(judgement.verdict, CH_VERDICT_FAULT);
    assert_true(reasons_say(" bar to "));
    const ch_judge_options in_psi = {.seed = 1, .rule = CH_RULE_75_PERCENT, .pressure_unit = ch_unit_find("psi", 3)};
    assert_int_equal(
        judge_text("{sheet: 1, engine: {cylinders: 1, bore: 95 mm, stroke: 75 mm, compression_ratio: 11}, compression: "
                   "[{cylinder: 1, reading: 13.1 bar}]}",
                   &in_psi, &judgement, NULL),
        CH_OK);
    assert_true(reasons_say(" psi to "));
    assert_false(reasons_say(" bar to "));
}

/* What was traced before is taken as it is, and the seed goes into the tracing and into the balance. */
static void every_option_is_heeded(void **state)
{
    (void)state;
    static const char *const text =
        "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4}, compression: [{cylinder: 1, reading: 160},"
        "{cylinder: 2, reading: 124}, {cylinder: 3, reading: 158}, {cylinder: 4, reading: 161}]}";
    static ch_judgement first, other;
    assert_int_equal(judge_text(text, &USUAL, &first, NULL), CH_OK);
    const ch_judge_options seeded = {.seed = 2, .rule = CH_RULE_20_PERCENT};
    assert_int_equal(judge_text(text, &seeded, &other, NULL), CH_OK);
    assert_true(first.trace.effective_samples != other.trace.effective_samples);
    assert_true(first.ratio_interval_1[0] != other.ratio_interval_1[0]);
    assert_int_equal(first.chosen_rule, CH_RULE_75_PERCENT);
    assert_int_equal(other.chosen_rule, CH_RULE_20_PERCENT);
    static ch_trace traced;
    traced = first.trace;
    traced.cylinder[2].cause_1[CH_CAUSE_CRACKED_HEAD] = 0.123456;
    const ch_judge_options before = {.seed = 1, .rule = CH_RULE_75_PERCENT, .traced = &traced};
    assert_int_equal(judge_text(text, &before, &other, NULL), CH_OK);
    expect_close(other.trace.cylinder[2].cause_1[CH_CAUSE_CRACKED_HEAD], 0.123456, 0.0);
}

static void a_leak_down_alone_can_be_judged(void **state)
{
    (void)state;
    assert_int_equal(
        judge_text(
            "{sheet: 1, engine: {cylinders: 2}, leakdown: [{cylinder: 1, loss: 8 %}, {cylinder: 2, loss: 70 %, heard: "
            "exhaust}]}",
            &USUAL, &judgement, NULL),
        CH_OK);
    assert_true(judgement.verdict == CH_VERDICT_FAULT || judgement.verdict == CH_VERDICT_WATCH);
    assert_true(reasons_say("Cylinder 2: the chance that something is wrong with it"));
    assert_int_equal(judgement.cylinder[1].n, 0);
    assert_true(isnan(judgement.cylinder[1].standard_day_pa));
    const double *cause_1 = judgement.trace.cylinder[1].cause_1;
    assert_true(cause_1[CH_CAUSE_EXHAUST_VALVE] > 2.0 * cause_1[CH_CAUSE_INTAKE_VALVE]);
    assert_true(cause_1[CH_CAUSE_EXHAUST_VALVE] > 2.0 * cause_1[CH_CAUSE_RINGS_OR_BORE]);
}

static void a_needle_that_did_not_move_is_a_fault(void **state)
{
    (void)state;
    assert_int_equal(
        judge_text(
            "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4}, compression: [{cylinder: 1, reading: 165},"
            "{cylinder: 2, reading: 0}, {cylinder: 3, reading: 160}, {cylinder: 4, reading: 168}]}",
            &USUAL, &judgement, NULL),
        CH_OK);
    assert_int_equal(judgement.verdict, CH_VERDICT_FAULT);
    expect_close(judgement.ratio_1, 0.0, 0.0);
    expect_close(judgement.cylinder[1].standard_day_pa, 0.0, 0.0);
}

static void nothing_to_judge_is_said_and_changes_nothing(void **state)
{
    (void)state;
    ch_sheet sheet;
    ch_err err = {0};
    ch_sheet_init(&sheet);
    sheet.engine.cylinders = 4;
    memset(&judgement, 7, sizeof judgement);
    const ch_judgement *before = &judgement;
    assert_int_equal(ch_judge(&sheet, &knowledge, &USUAL, &judgement, &err), CH_E_INPUT);
    assert_string_equal(err.what, "no reading to judge");
    assert_int_equal(before->cylinders, 0x07070707);
    ch_sheet_clear(&sheet);
    const ch_judge_options wrong = {.seed = 1, .rule = CH_RULE_COUNT};
    assert_int_equal(judge_text(TESTED, &wrong, &judgement, NULL), CH_E_RANGE);
    err = (ch_err){0};
    assert_int_equal(
        judge_text(
            "{sheet: 1, engine: {cylinders: 1}, compression: [{cylinder: 1, reading: 12 bar}], observed: [{what: "
            "a_purple_cow}]}",
            &USUAL, &judgement, &err),
        CH_E_INPUT);
    assert_int_equal(before->cylinders, 0x07070707);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(even_readings_with_nothing_against_them_are_sound),
        cmocka_unit_test(no_reason_ever_calls_an_engine_safe),
        cmocka_unit_test(a_cylinder_likely_at_fault_is_a_fault_from_eighty_percent_on),
        cmocka_unit_test(a_leak_into_the_coolant_is_watched_though_no_cylinder_stands_out),
        cmocka_unit_test(a_fault_that_no_cylinder_has_most_of_is_watched),
        cmocka_unit_test(the_chosen_rule_alone_can_make_a_fault_or_a_watch),
        cmocka_unit_test(the_test_as_the_better_explanation_makes_it_unclear),
        cmocka_unit_test(what_misleads_all_alike_does_not_hide_a_fault),
        cmocka_unit_test(tests_that_contradict_each_other_are_never_sound),
        cmocka_unit_test(the_manuals_minimum_counts_with_the_gauges_error),
        cmocka_unit_test(a_low_level_is_watched_even_where_it_is_even),
        cmocka_unit_test(numbers_of_another_unit_are_not_judged),
        cmocka_unit_test(an_unreliable_tracing_names_no_cause),
        cmocka_unit_test(a_cylinder_that_was_not_tested_keeps_the_verdict_open),
        cmocka_unit_test(reasons_come_weightiest_first_and_never_overflow),
        cmocka_unit_test(verdicts_have_their_names),
        cmocka_unit_test(an_even_engine_is_not_called_a_fault),
        cmocka_unit_test(readings_that_no_engine_gives_are_no_fault_of_the_engine),
        cmocka_unit_test(a_cylinder_at_two_thirds_is_a_fault_with_its_number_in_the_first_reasons),
        cmocka_unit_test(rows_in_another_order_give_the_same_judgement_but_for_order),
        cmocka_unit_test(the_same_sheet_and_seed_give_the_same_bytes),
        cmocka_unit_test(a_motorcycle_with_one_cylinder_is_judged_in_its_owners_unit),
        cmocka_unit_test(a_leak_down_alone_can_be_judged),
        cmocka_unit_test(every_option_is_heeded),
        cmocka_unit_test(a_needle_that_did_not_move_is_a_fault),
        cmocka_unit_test(nothing_to_judge_is_said_and_changes_nothing),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
