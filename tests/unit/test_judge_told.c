/* Promises of judge/told.c, outside.c and of the question on a cold engine or slow cranking: what is asked of many cylinders is asked once, an engine of another
 * kind gets one line, and what an answer hangs on is asked. */
#include "judge_by_hand.h"

static ch_question told[CH_QUESTIONS_MAX];

static void ask(ch_question_kind kind, int cylinder, const char *text)
{
    ch_question *q = &judgement.question[judgement.question_count++];
    *q = (ch_question){.kind = kind, .cylinder = cylinder, .row = (size_t)cylinder, .weight_1 = 0.1 * cylinder};
    snprintf(q->text, sizeof q->text, "%s", text);
}

static void begin(int cylinders)
{
    memset(&judgement, 0, sizeof judgement);
    judgement.cylinders = cylinders;
}

static void expect_told(size_t n, const char *first)
{
    const ch_judgement before = judgement;
    assert_int_equal(ch_judge_questions_told(&judgement, told), n);
    assert_string_equal(told[0].text, first);
    assert_memory_equal(&before, &judgement, sizeof before);
}

static void what_is_asked_of_all_is_asked_once_with_the_range(void **state)
{
    (void)state;
    begin(8);
    ask(CH_QUESTION_MISSING, 0, "No reading of cylinder 7.");
    for (int c = 1; c <= 8; c++) {
        char text[200];
        snprintf(text, sizeof text, "Cylinder %d: %d psi is more than 300.5 psi, over %d %% of 14:1, the most.", c,
                 390 + (c * 3) % 8, c);
        ask(CH_QUESTION_IMPOSSIBLE, c, text);
    }
    expect_told(2, "No reading of cylinder 7.");
    assert_string_equal(
        told[1].text, "Cylinders 1 to 8, each: 390 to 397 psi is more than 300.5 psi, over 1 to over 8 % of 14:1, the "
                      "most.");
    assert_int_equal(told[1].cylinder, 0);
    assert_true(told[1].row == SIZE_MAX && told[1].kind == CH_QUESTION_IMPOSSIBLE);
    assert_true(told[1].weight_1 > 0.79 && told[1].weight_1 < 0.81);
}

/* Two are as soon read as one of two; and what differs in more than numbers, or in the cylinder that it speaks of, is another question. */
static void what_is_not_the_same_stays_apart(void **state)
{
    (void)state;
    begin(4);
    ask(CH_QUESTION_REPEAT, 1, "Cylinder 1: 150 psi and 170 psi.");
    ask(CH_QUESTION_REPEAT, 3, "Cylinder 3: 150 psi and 170 psi.");
    ask(CH_QUESTION_REPEAT, 3, "Cylinder 3: 151 psi and 171 psi."); /* of one cylinder twice: two cylinders still */
    expect_told(3, "Cylinder 1: 150 psi and 170 psi.");
    begin(4);
    ask(CH_QUESTION_UNIT, 1, "Cylinder 1: 12 may be bar.");
    ask(CH_QUESTION_UNIT, 2, "Cylinder 2: 12 may be kPa.");
    ask(CH_QUESTION_UNIT, 3, "Cylinder 3: 12 may be bar.");
    ask(CH_QUESTION_IMPOSSIBLE, 4, "Cylinder 4: 12 may be bar.");
    expect_told(4, "Cylinder 1: 12 may be bar.");
    begin(4);
    for (int c = 1; c <= 3; c++) {
        char text[200];
        snprintf(text, sizeof text, "Cylinder %d: 5 ml, where cylinder %d had 3 ml.", c, c + 1);
        ask(CH_QUESTION_CONTRADICTION, c, text);
    }
    expect_told(3, "Cylinder 1: 5 ml, where cylinder 2 had 3 ml.");
    begin(4);
    for (int c = 1; c <= 3; c++) /* of the sheet as a whole, and of a cylinder in other words */
        ask(CH_QUESTION_ONE_HIGH, c, "Cylinder 3 stands alone with 200 psi.");
    expect_told(3, "Cylinder 3 stands alone with 200 psi.");
    begin(4);
    ask(CH_QUESTION_REPEAT, 1, "Cylinder 1: m2 5");
    ask(CH_QUESTION_REPEAT, 2, "Cylinder 2: m3 5"); /* a unit's digit is no number */
    ask(CH_QUESTION_REPEAT, 3, "Cylinder 3: m2 5 and more");
    expect_told(3, "Cylinder 1: m2 5");
}

static void some_are_named_and_numbers_are_compared_as_numbers(void **state)
{
    (void)state;
    begin(8);
    ask(CH_QUESTION_BEYOND_SCALE, 8, "Cylinder 8, with oil: 9.5 bar lies beyond.");
    ask(CH_QUESTION_BEYOND_SCALE, 2, "Cylinder 2, with oil: 10,25 bar lies beyond.");
    ask(CH_QUESTION_BEYOND_SCALE, 1, "Cylinder 1, with oil: 10.5 bar lies beyond.");
    ask(CH_QUESTION_BEYOND_SCALE, 5, "Cylinder 5, with oil: 9.75 bar lies beyond.");
    expect_told(1, "Cylinders 1, 2, 5 and 8, with oil: 9.5 to 10.5 bar lies beyond.");
    begin(8);
    ask(CH_QUESTION_CONTRADICTION, 1, "Cylinder 1: with about 60 % one of them is wrong.");
    ask(CH_QUESTION_CONTRADICTION, 2, "Cylinder 2: with over 99 % one of them is wrong.");
    ask(CH_QUESTION_CONTRADICTION, 3, "Cylinder 3: with about 55 % one of them is wrong.");
    ask(CH_QUESTION_CONTRADICTION, 7, "Cylinder 7: with about 99 % one of them is wrong.");
    expect_told(1, "Cylinders 1 to 3 and 7, each: with about 55 to over 99 % one of them is wrong.");
}

/* What does not fit into a sentence is told one by one, and all of it. */
static void what_is_too_long_together_stays_apart(void **state)
{
    (void)state;
    for (int more = -20; more <= 20; more++) {
        begin(3);
        for (int c = 1; c <= 3; c++) {
            char text[CH_QUESTION_SIZE];
            snprintf(text, sizeof text, "Cylinder %d: %d %0*d.", c, c, CH_QUESTION_SIZE - 45 + more, 0);
            ask(CH_QUESTION_OIL_DOSE, c, text);
        }
        const size_t n = ch_judge_questions_told(&judgement, told);
        assert_true(n == 1 || n == 3);
        assert_true(more > -20 || n == 1);
        assert_true(more < 20 || n == 3);
        assert_int_equal(told[0].text[strlen(told[0].text) - 1], '.');
    }
}

static void all_cylinders_have_room_in_a_list(void **state)
{
    (void)state;
    char list[CH_JUDGE_LIST];
    assert_string_equal(ch_judge_cylinders(0, list), "");
    assert_string_equal(ch_judge_cylinders(1U << 31, list), "32");
    assert_string_equal(ch_judge_cylinders(UINT32_MAX, list), "1 to 32");
    assert_string_equal(ch_judge_cylinders(0xB, list), "1, 2 and 4");
    assert_string_equal(ch_judge_cylinders(0x55555555, list),
                        "1, 3, 5, 7, 9, 11, 13, 15, 17, 19, 21, 23, 25, 27, 29 and 31");
    assert_string_equal(ch_judge_cylinders(0xDB6DB6DB, list),
                        "1, 2, 4, 5, 7, 8, 10, 11, 13, 14, 16, 17, 19, 20, 22, 23, 25, 26, 28, 29, 31 and 32");
}

/* ---- through the whole of judging ---- */

static ch_judgement made;

static void judge_text(const char *text)
{
    ch_sheet sheet;
    const ch_judge_options options = {.seed = 1};
    sheet_of(text, &sheet);
    assert_int_equal(ch_judge(&sheet, &knowledge, &options, &made, NULL), CH_OK);
    ch_sheet_clear(&sheet);
}

static const ch_question *asked_for(ch_question_kind kind)
{
    for (size_t i = 0; i < made.question_count; i++)
        if (made.question[i].kind == kind)
            return &made.question[i];
    return NULL;
}

#define PSI_SHEET(more, a, b, c, d)                                                                                    \
    "{sheet: 1, " more "units: {pressure: psi}, compression: [{cylinder: 1, reading: " a                               \
    "}, {cylinder: 2, reading: " b "}, "                                                                               \
    "{cylinder: 3, reading: " c "}, {cylinder: 4, reading: " d "}]}"
#define ENGINE "engine: {cylinders: 4}, "

static void expect_outside(const char *text, const char *says)
{
    judge_text(text);
    const ch_question *q = asked_for(CH_QUESTION_OUTSIDE);
    assert_non_null(q);
    if (strstr(q->text, says) == NULL)
        fail_msg("%s", q->text);
    assert_true(made.outside && made.unreadable && !made.trace.reliable);
    assert_int_equal(made.verdict, CH_VERDICT_UNCLEAR);
    assert_int_equal(made.trace.next_check_count, 0);
    assert_int_equal(made.because_count, 1); /* one line instead of an answer */
    assert_string_equal(made.because[0], q->text);
}

static void an_engine_of_another_kind_gets_one_line_instead_of_an_answer(void **state)
{
    (void)state;
    expect_outside(PSI_SHEET(ENGINE, "400", "405", "395", "400"), "Every reading is 395 psi or more");
    expect_outside(PSI_SHEET("title: Van (Diesel), " ENGINE, "170", "172", "168", "171"), "tell of a diesel,");
    expect_outside(PSI_SHEET("note: \"2.0 l diesel.\", " ENGINE, "170", "172", "168", "171"), "tell of a diesel,");
    expect_outside("{sheet: 1, engine: {cylinders: 1}, compression: [{cylinder: 1, reading: 60 psi, note: the "
                   "decompressor was in}]}",
                   "an engine with a decompressor");
    expect_outside(PSI_SHEET("engine: {cylinders: 4, compression_ratio: 18.5}, ", "170", "172", "168", "171"),
                   "A compression ratio of 18.5:1 is a diesel's");
}

static void a_petrol_engine_is_judged_whatever_the_words_remind_of(void **state)
{
    (void)state;
    static const char *const TEXTS[] = {
        PSI_SHEET("title: \"diesel-like mileage\", " ENGINE, "170", "172", "168", "171"),
        PSI_SHEET("note: dieseling when switched off, " ENGINE, "170", "172", "168", "171"),
        PSI_SHEET("note: \"petrol, not a diesel; no decompressor\", " ENGINE, "170", "172", "168", "171"),
        PSI_SHEET("engine: {cylinders: 4, compression_ratio: 14}, ", "290", "292", "288", "291"),
        PSI_SHEET(ENGINE, "310", "305", "290", "308"), /* one of them is a petrol engine's */
    };
    for (size_t i = 0; i < sizeof TEXTS / sizeof TEXTS[0]; i++) {
        judge_text(TEXTS[i]);
        assert_null(asked_for(CH_QUESTION_OUTSIDE));
        assert_false(made.outside);
        assert_true(made.because_count > 1);
    }
    judge_text(PSI_SHEET(ENGINE, "1750", "1720", "1680", "1710")); /* a digit too many is no diesel */
    assert_null(asked_for(CH_QUESTION_OUTSIDE));
    assert_true(made.unreadable);
}

#define DAY(speed, warm)                                                                                               \
    "engine: {cylinders: 4, compression_ratio: 9.6}, conditions: {throttle: open, cranking_speed: " speed              \
    ", engine_temperature: " warm "}, "

/* Asked where it would change the answer, and nowhere else. */
static void what_hangs_on_a_cold_engine_or_slow_cranking_is_asked(void **state)
{
    (void)state;
    judge_text(PSI_SHEET(DAY("90 rpm", "70 C"), "140", "141", "138", "140"));
    const ch_question *q = asked_for(CH_QUESTION_COLD_OR_SLOW);
    assert_non_null(q);
    assert_non_null(strstr(q->text, "The answer hangs on cranking at 90 rpm as noted, which lowers every reading"));
    assert_non_null(strstr(q->text, "Cylinder 3 shows 138 psi."));
    assert_non_null(strstr(q->text, "at the usual speed "));
    assert_non_null(strstr(q->text, "Charge the battery, and read again before you trust this."));
    bool told_why = false;
    for (size_t i = 0; i < made.because_count; i++)
        told_why = told_why || strcmp(made.because[i], q->text) == 0;
    assert_true(told_why);
    judge_text(PSI_SHEET(DAY("90 rpm", "5 C"), "140", "141", "100", "140"));
    q = asked_for(CH_QUESTION_COLD_OR_SLOW);
    assert_non_null(q);
    assert_non_null(strstr(q->text, "an engine of 5 C and cranking at 90 rpm as noted, which lower every reading"));
    assert_non_null(strstr(q->text, "Warm it up, charge the battery, and read again"));
    judge_text(PSI_SHEET(DAY("220 rpm", "5 C"), "180", "181", "120", "180"));
    q = asked_for(CH_QUESTION_COLD_OR_SLOW);
    assert_non_null(q);
    assert_non_null(strstr(q->text, "an engine of 5 C as noted, which lowers"));
    assert_non_null(strstr(q->text, "Warm it up, and read again"));
    /* good even so; neither cold nor slow; not noted; all low, where they are named anyway */
    judge_text(PSI_SHEET(DAY("90 rpm", "5 C"), "185", "186", "184", "185"));
    assert_null(asked_for(CH_QUESTION_COLD_OR_SLOW));
    judge_text(PSI_SHEET(DAY("200 rpm", "60 C"), "180", "181", "120", "180"));
    assert_null(asked_for(CH_QUESTION_COLD_OR_SLOW));
    judge_text(PSI_SHEET("engine: {cylinders: 4, compression_ratio: 9.6}, ", "180", "181", "120", "180"));
    assert_null(asked_for(CH_QUESTION_COLD_OR_SLOW));
    judge_text(PSI_SHEET(DAY("90 rpm", "5 C"), "80", "81", "79", "80"));
    assert_null(asked_for(CH_QUESTION_COLD_OR_SLOW));
    assert_non_null(asked_for(CH_QUESTION_ALL_LOW));
}

/* One voice: a broken rule makes no fault where the test is likelier to mislead than any one trouble is to be there, and its repeat stands first. */
static void a_test_that_may_mislead_comes_before_a_fault(void **state)
{
    (void)state;
    judge_text("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4}, compression: [{cylinder: 1, reading: 175}, "
               "{cylinder: 2, "
               "reading: 172}, {cylinder: 3, reading: 105}, {cylinder: 4, reading: 174}], leakdown: [{cylinder: 3, "
               "loss: 15 %}]}");
    const double *cause_1 = made.trace.cylinder[2].cause_1;
    assert_true(ch_judge_repeat_first(&made.trace.cylinder[2]));
    assert_true(cause_1[CH_CAUSE_MEASUREMENT_ERROR] < 0.5 && made.chance_below_75_1 > 0.9);
    assert_int_equal(made.verdict, CH_VERDICT_WATCH);
    assert_non_null(strstr(made.because[0], "Cylinder 3: measure again before taking anything apart"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_asked_of_all_is_asked_once_with_the_range),
        cmocka_unit_test(what_is_not_the_same_stays_apart),
        cmocka_unit_test(some_are_named_and_numbers_are_compared_as_numbers),
        cmocka_unit_test(what_is_too_long_together_stays_apart),
        cmocka_unit_test(all_cylinders_have_room_in_a_list),
        cmocka_unit_test(an_engine_of_another_kind_gets_one_line_instead_of_an_answer),
        cmocka_unit_test(a_petrol_engine_is_judged_whatever_the_words_remind_of),
        cmocka_unit_test(what_hangs_on_a_cold_engine_or_slow_cranking_is_asked),
        cmocka_unit_test(a_test_that_may_mislead_comes_before_a_fault),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
