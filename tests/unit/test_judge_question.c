/* Promises of judge/question.c, order.c, bounds.c and day.c: when the sheet itself is doubted, and in which words. */
#include "crosshatch/atmosphere.h"
#include "fail_alloc.h"
#include "judge_sheets.h"

static ch_judgement judgement;
static judge_bounds bounds;
static double misread_1;              /* chance that the tracing gives a wrong test of cylinder 2 */
static void (*bend)(ch_sheet *sheet); /* what a caller may have made of the sheet, and no file can; NULL = nothing */

/* Question a sheet; a sound cylinder shows 150 to 200 psi, 175 as a rule. */
static double apart_pa; /* what is expected of each cylinder is so much above what is of the one before it */

static void question(const char *text)
{
    ch_sheet sheet;
    ch_setup setup;
    judge_readings readings;
    judge_repeatability scatter;
    sheet_of(text, &sheet);
    setup_of(&sheet, &setup);
    if (bend != NULL)
        bend(&sheet);
    memset(&judgement, 0, sizeof judgement);
    judgement.question_count = 3; /* of another sheet: none of this one's */
    assert_int_equal(judge_readings_collect(&sheet, &readings, NULL), CH_OK);
    assert_int_equal(judge_repeats(&sheet, &setup, NULL, &readings, &judgement, &scatter, NULL), CH_OK);
    assert_int_equal(judge_bounds_compute(&setup, sheet.engine.cylinders, &bounds, NULL), CH_OK);
    for (int c = 0; c < judgement.cylinders; c++) {
        judgement.cylinder[c].expected_pa[0] = 150.0 * PSI + c * apart_pa;
        judgement.cylinder[c].expected_median_pa = 175.0 * PSI + c * apart_pa;
        judgement.cylinder[c].expected_pa[1] = 200.0 * PSI + c * apart_pa;
    }
    judgement.trace.cylinder[1].cause_1[CH_CAUSE_MEASUREMENT_ERROR] = misread_1;
    const judge_asked asked = {&sheet, &setup, &readings, &scatter, &bounds, ch_unit_find("psi", 3), NULL};
    assert_int_equal(judge_questions(&asked, &judgement, NULL), CH_OK);
    judge_readings_clear(&readings);
    ch_sheet_clear(&sheet);
    for (size_t i = 0; i < judgement.question_count; i++) { /* whom a question names, it is about */
        int named = 0;
        assert_true(judgement.question[i].weight_1 >= 0.0 && judgement.question[i].weight_1 <= 1.0);
        if (sscanf(judgement.question[i].text, "Cylinder %d:", &named) == 1)
            assert_int_equal(judgement.question[i].cylinder, named);
    }
}

/* The first question of a kind; NULL where there is none. */
static const ch_question *asked_for(ch_question_kind kind)
{
    for (size_t i = 0; i < judgement.question_count; i++)
        if (judgement.question[i].kind == kind)
            return &judgement.question[i];
    return NULL;
}

static void says(ch_question_kind kind, const char *words)
{
    const ch_question *q = asked_for(kind);
    const char *text = q != NULL ? q->text : "no such question";
    if (strstr(text, words) == NULL) {
        print_error("\"%s\" is not in \"%s\"\n", words, text);
        fail();
    }
}

#define FOUR(rows) "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4, compression_ratio: 9.5}, " rows "}"
#define ROWS(a, b, c, d)                                                                                               \
    "compression: [{cylinder: 1, reading: " #a "}, {cylinder: 2, reading: " #b "}, {cylinder: 3, reading: " #c         \
    "}, {cylinder: 4, reading: " #d "}]"

static void an_ordinary_sheet_raises_no_question(void **state)
{
    (void)state;
    question(FOUR(ROWS(170, 166, 171, 168)));
    assert_int_equal(judgement.question_count, 0);
}

static void all_low_together_names_what_to_look_at(void **state)
{
    (void)state;
    question(FOUR("conditions: {cranking_speed: 150 rpm, engine_temperature: 12 C}, " ROWS(120, 118, 121, 119)));
    says(CH_QUESTION_ALL_LOW, "the best shows 121 psi where a sound engine would show 150 psi to 200 psi");
    says(CH_QUESTION_ALL_LOW, "the throttle (not noted as held open), slow cranking, the cold engine, altitude");
    says(CH_QUESTION_ALL_LOW, "cam timing, the gauge");
    question(FOUR(ROWS(120, 118, 151, 119)));
    assert_null(asked_for(CH_QUESTION_ALL_LOW));
}

/* Where cylinders are expected to show different readings, the least and the most of all are said. */
static void what_is_expected_of_all_is_from_the_least_to_the_most(void **state)
{
    (void)state;
    for (int turn = -1; turn <= 1; turn += 2) {
        apart_pa = turn * 5.0 * PSI;
        question(FOUR(ROWS(120, 118, 121, 119)));
        says(CH_QUESTION_ALL_LOW, turn > 0 ? "would show 150 psi to 215 psi" : "would show 135 psi to 200 psi");
        question(FOUR(ROWS(220, 218, 221, 219)));
        says(CH_QUESTION_ALL_HIGH, turn > 0 ? "would show 150 psi to 215 psi" : "would show 135 psi to 200 psi");
    }
    apart_pa = 0.0;
}

static void what_was_noted_is_not_looked_at(void **state)
{
    (void)state;
    question("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 1}, compression: [{cylinder: 1, reading: 120}]}");
    says(CH_QUESTION_ALL_LOW, "The cylinder is low: it shows 120 psi");
    says(CH_QUESTION_ALL_LOW,
         "Look first at the throttle (not noted as held open), cranking speed (not noted), a cold engine (not noted), "
         "altitude (not noted), the compression ratio (not given), cam timing, the gauge.");
    question(FOUR(
        "conditions: {throttle: open, cranking_speed: 220 rpm, engine_temperature: 80 C, barometer: 1013 hPa}, " ROWS(
            120, 118, 121, 119)));
    says(CH_QUESTION_ALL_LOW, "Look first at cam timing, the gauge.");
    question(
        FOUR("conditions: {throttle: open, cranking_speed: 220 rpm, engine_temperature: 80 C, altitude: 300 m}, " ROWS(
            120, 118, 121, 119)));
    says(CH_QUESTION_ALL_LOW, "Look first at cam timing, the gauge.");
}

static void all_high_together_is_questioned(void **state)
{
    (void)state;
    question(FOUR(ROWS(215, 220, 211, 219)));
    says(CH_QUESTION_ALL_HIGH, "the lowest shows 211 psi where a sound engine would show 150 psi to 200 psi");
    assert_null(asked_for(CH_QUESTION_IMPOSSIBLE));
}

static void bar_typed_as_psi_is_recognised(void **state)
{
    (void)state;
    question(FOUR(ROWS(12.1, 11.8, 12.0, 12.2)));
    says(CH_QUESTION_UNIT, "look like bar typed as psi");
    const char *other = strstr(asked_for(CH_QUESTION_UNIT)->text, " of this kind shows about ");
    assert_non_null(other);
    assert_non_null(strstr(other, " psi (")); /* in the sheet's own unit, and in that which it looks like */
    assert_non_null(strstr(other, " bar). "));
    assert_int_equal(asked_for(CH_QUESTION_UNIT)->cylinder, 0);
    question("{sheet: 1, units: {pressure: kPa}, engine: {cylinders: 4, compression_ratio: 9.5}, " ROWS(170, 166, 171,
                                                                                                        168) "}");
    says(CH_QUESTION_UNIT, "look like psi typed as kPa");
    question("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4, compression_ratio: 9.5}, " ROWS(
        1210, 1180, 1195, 1200) "}");
    says(CH_QUESTION_UNIT, "look like kPa typed as psi");
    question(FOUR(ROWS(1210, 250, 1195, 1200))); /* one of them hardly seals */
    says(CH_QUESTION_UNIT, "look like kPa typed as psi");
}

static void a_row_in_another_unit_is_told_from_its_fellows(void **state)
{
    (void)state;
    question(FOUR(ROWS(170, 166, 12.0, 168)));
    says(CH_QUESTION_IMPOSSIBLE,
         "Cylinder 3: 12.0 psi may be bar typed as psi, since the others show about 168 psi (11.58 bar); it is typed "
         "unlike the others. If the dial did show it, read the cylinder again.");
    assert_int_equal(asked_for(CH_QUESTION_IMPOSSIBLE)->cylinder, 3);
    assert_int_equal(asked_for(CH_QUESTION_IMPOSSIBLE)->row, 2);
}

/* A sheet of one dead cylinder must not be taken for one in bar. */
static void dead_cylinders_are_not_another_unit(void **state)
{
    (void)state;
    question(FOUR("compression: [{cylinder: 2, reading: 12}]"));
    assert_null(asked_for(CH_QUESTION_UNIT));
    question(FOUR(ROWS(0, 0, 0, 0)));
    assert_null(asked_for(CH_QUESTION_UNIT));
    question(FOUR(ROWS(55, 58, 60, 57)));
    assert_null(asked_for(CH_QUESTION_UNIT));
}

/* Isentropic compression of the whole swept volume, ratio 9.5, gamma 1.4: 101.3 kPa (9.5^1.4 - 1) = 2267 kPa, 329 psi, is beyond what a late
 * closing valve leaves, so the bound must lie below it and above every sound reading; 14:1 raises it. */
static void no_reading_can_pass_compression_without_loss(void **state)
{
    (void)state;
    question(FOUR(ROWS(170, 166, 371, 168)));
    says(CH_QUESTION_IMPOSSIBLE, "Cylinder 3: 371 psi is more than");
    assert_true(bounds.ideal_pa > 200.0 * PSI && bounds.ideal_pa < 329.0 * 1.07 * PSI); /* 6 % more ratio, two sd */
    const double known_pa = bounds.ideal_pa;
    question("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: 371},"
             "{cylinder: 2, reading: 170}]}");
    assert_true(bounds.ideal_pa > 1.3 * known_pa);
    assert_null(asked_for(CH_QUESTION_IMPOSSIBLE));
}

/* What the gauge takes for itself is a loss, and the most that an engine could show is without any. */
static void the_most_does_not_depend_on_the_gauge(void **state)
{
    (void)state;
    question(FOUR(ROWS(170, 166, 171, 168)));
    const double most_pa = bounds.ideal_pa;
    question(FOUR("gauge: {dead_volume: 9 ml, opening_pressure: 30 kPa}, " ROWS(170, 166, 171, 168)));
    expect_relative(bounds.ideal_pa, most_pa, 1e-3); /* 9 ml of some 53 of clearance would take a tenth away */
}

static void first_stroke_over_the_final_reading_is_a_leaking_gauge(void **state)
{
    (void)state;
    question(FOUR(
        "compression: [{cylinder: 1, reading: 170, first_stroke: 90}, {cylinder: 2, reading: 168, first_stroke: 168},"
        "{cylinder: 3, reading: 165, first_stroke: 88}, {cylinder: 4, reading: 0, first_stroke: 0}]"));
    says(CH_QUESTION_FIRST_OVER_FINAL, "Cylinder 2: the first stroke (168 psi)");
    size_t count = 0;
    for (size_t i = 0; i < judgement.question_count; i++)
        count += judgement.question[i].kind == CH_QUESTION_FIRST_OVER_FINAL;
    assert_int_equal(count, 1);
}

/* Common practice: five to six seconds at some 200 r/min (about ten strokes) fill the gauge; two strokes into a long hose do not. */
static void too_few_strokes_for_the_hose_are_named_with_how_many_it_takes(void **state)
{
    (void)state;
    question(FOUR("gauge: {hose_volume: 30 ml}, conditions: {strokes: 3}, " ROWS(120, 118, 121, 119)));
    says(CH_QUESTION_TOO_FEW_STROKES, "3 strokes fill this hose to about");
    assert_true(bounds.fill_1 < 0.9 && bounds.strokes_to_fill > 3 && bounds.strokes_to_fill < 40);
    question(FOUR(
        "gauge: {hose_volume: 12 ml}, conditions: {strokes: 10, cranking_speed: 200 rpm}, " ROWS(170, 166, 171, 168)));
    assert_null(asked_for(CH_QUESTION_TOO_FEW_STROKES));
    assert_true(bounds.fill_1 > 0.97);
}

static void missing_cylinders_are_listed(void **state)
{
    (void)state;
    question(FOUR("compression: [{cylinder: 1, reading: 170}, {cylinder: 3, reading: 168}]"));
    says(CH_QUESTION_MISSING, "No reading of cylinders 2, 4: measure them too");
    question(
        FOUR("compression: [{cylinder: 1, reading: 170}, {cylinder: 3, reading: 168}, {cylinder: 4, reading: 171}]"));
    says(CH_QUESTION_MISSING, "No reading of cylinder 2: measure it too");
    assert_int_equal(asked_for(CH_QUESTION_MISSING)->cylinder, 2);
}

static void one_repeat_out_of_line_is_flagged_and_kept(void **state)
{
    (void)state;
    question(FOUR("compression: [{cylinder: 1, reading: 170}, {cylinder: 2, reading: 168}, {cylinder: 2, reading: 131},"
                  "{cylinder: 2, reading: 169}, {cylinder: 3, reading: 165}, {cylinder: 4, reading: 171}]"));
    says(CH_QUESTION_REPEAT,
         "Cylinder 2: the reading of 131 psi is out of line with its other repeats (median 168 psi)");
    assert_int_equal(asked_for(CH_QUESTION_REPEAT)->row, 2);
    assert_int_equal(judgement.cylinder[1].n, 3);
    expect_relative(judgement.cylinder[1].mean_pa, 156.0 * PSI, 1e-12); /* (168 + 131 + 169)/3 */
    question(
        FOUR("compression: [{cylinder: 1, reading: 170}, {cylinder: 1, reading: 150}, {cylinder: 2, reading: 168}]"));
    says(CH_QUESTION_REPEAT, "its two readings, 150 psi and 170 psi, do not agree");
}

/* Trap of Grubbs's test with three readings (summary.h): rounding alone can make the third look odd. */
static void rounding_is_not_a_repeat_out_of_line(void **state)
{
    (void)state;
    question(FOUR("compression: [{cylinder: 1, reading: 170}, {cylinder: 1, reading: 170}, {cylinder: 1, reading: 175},"
                  "{cylinder: 2, reading: 165}, {cylinder: 2, reading: 165}, {cylinder: 2, reading: 165}]"));
    assert_null(asked_for(CH_QUESTION_REPEAT));
}

static void readings_that_fall_with_the_order_point_to_the_battery(void **state)
{
    (void)state;
    question("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 6}, compression: [{cylinder: 1, reading: 180},"
             "{cylinder: 2, reading: 176}, {cylinder: 3, reading: 173}, {cylinder: 4, reading: 169}, {cylinder: 5, "
             "reading: 164},"
             "{cylinder: 6, reading: 158}]}");
    says(CH_QUESTION_FALLING, "Readings fall in the order taken, by some 20 psi");
    says(CH_QUESTION_FALLING, "Measure the first cylinder once more, last");
    /* S = -15 of six readings: one-sided p = 1/720 (Kendall 1975, exact) */
    expect_close(asked_for(CH_QUESTION_FALLING)->weight_1, 1.0 - 1.0 / 720.0, 1e-9);
}

/* The first cylinder measured again last has dropped by 15 psi: the others' fall is the battery's. Taken the other way round it is not. */
static void a_first_cylinder_measured_again_last_tells_battery_from_cylinders(void **state)
{
    (void)state;
    question(FOUR("compression: [{cylinder: 1, reading: 180}, {cylinder: 2, reading: 176}, {cylinder: 3, reading: 172},"
                  "{cylinder: 4, reading: 168}, {cylinder: 1, reading: 165}]"));
    says(CH_QUESTION_FALLING, "in the same cylinder: the battery may have sagged");
    question(FOUR("compression: [{cylinder: 1, reading: 180}, {cylinder: 2, reading: 176}, {cylinder: 3, reading: 172},"
                  "{cylinder: 4, reading: 168}, {cylinder: 1, reading: 180}]"));
    assert_null(asked_for(CH_QUESTION_FALLING));
}

/* Twelve readings on one straight line in the order taken, without any scatter. */
static void readings_on_a_straight_line_fall_or_do_not(void **state)
{
    (void)state;
    for (int falls = 0; falls < 2; falls++) {
        char text[1500];
        int at = snprintf(
            text, sizeof text,
            "{sheet: 1, units: {pressure: kPa}, engine: {cylinders: 4, compression_ratio: 9.5}, compression: [");
        for (int i = 0; i < 12; i++)
            at += snprintf(text + at, sizeof text - (size_t)at, "%s{cylinder: %d, reading: %d}", i > 0 ? ", " : "",
                           1 + i % 4, falls ? 1200 - 8 * i : 1112 + 8 * i);
        snprintf(text + at, sizeof text - (size_t)at, "]}");
        question(text);
        assert_true((asked_for(CH_QUESTION_FALLING) != NULL) == falls);
        if (falls) {
            says(CH_QUESTION_FALLING, "by some 13 psi");
            expect_close(asked_for(CH_QUESTION_FALLING)->weight_1, 1.0, 1e-9);
        }
    }
}

/* Where the others repeat closely, two readings that differ are surely one too many; where nothing else was repeated, perhaps. */
static void two_readings_that_disagree_are_asked_about_the_surer_the_closer_the_others_repeat(void **state)
{
    (void)state;
    question(
        "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4, compression_ratio: 9.5}, compression: [{cylinder: "
        "1, reading: 170}, {cylinder: 1, reading: 170.5}, "
        "{cylinder: 1, reading: 170}, {cylinder: 2, reading: 168}, {cylinder: 2, reading: 168}, {cylinder: 2, reading: "
        "168.5}, {cylinder: 3, reading: 171}, {cylinder: 3, "
        "reading: 171.5}, {cylinder: 3, reading: 171}, {cylinder: 4, reading: 172}, {cylinder: 4, reading: 150}]}");
    says(CH_QUESTION_REPEAT, "Cylinder 4: its two readings");
    const double sure_1 = asked_for(CH_QUESTION_REPEAT)->weight_1;
    question("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 2, compression_ratio: 9.5}, compression: "
             "[{cylinder: 1, reading: 170}, {cylinder: 2, reading: 172}, "
             "{cylinder: 2, reading: 160}]}");
    says(CH_QUESTION_REPEAT, "Cylinder 2: its two readings");
    assert_true(asked_for(CH_QUESTION_REPEAT)->weight_1 < sure_1 && sure_1 <= 1.0);
}

static void tests_that_do_not_fit_together_are_asked_for_again(void **state)
{
    (void)state;
#define TWO_TESTS ROWS(170, 166, 171, 168) ", leakdown: [{cylinder: 2, loss: 20 %}]"
    misread_1 = 0.7;
    question(FOUR(TWO_TESTS));
    says(CH_QUESTION_CONTRADICTION, "Cylinder 2: its tests do not fit together");
    assert_int_equal(asked_for(CH_QUESTION_CONTRADICTION)->cylinder, 2);
    expect_close(asked_for(CH_QUESTION_CONTRADICTION)->weight_1, 0.7, 1e-12);
    question(FOUR(ROWS(170, 166, 171, 168))); /* one test cannot disagree with itself */
    assert_null(asked_for(CH_QUESTION_CONTRADICTION));
    misread_1 = 0.45;
    question(FOUR(TWO_TESTS));
    assert_null(asked_for(CH_QUESTION_CONTRADICTION));
    misread_1 = 0.0;
}

static void a_fall_that_nobody_need_care_about_is_not_asked_about(void **state)
{
    (void)state;
    /* sure in their order, and 5 psi in 180 */
    question("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 6}, compression: [{cylinder: 1, reading: 180},"
             "{cylinder: 2, reading: 179}, {cylinder: 3, reading: 178}, {cylinder: 4, reading: 177}, {cylinder: 5, "
             "reading: 176}, {cylinder: 6, reading: 175}]}");
    assert_null(asked_for(CH_QUESTION_FALLING));
    char text[1500];
    int at =
        snprintf(text, sizeof text,
                 "{sheet: 1, units: {pressure: kPa}, engine: {cylinders: 4, compression_ratio: 9.5}, compression: [");
    for (int i = 0; i < 20; i++)
        at += snprintf(text + at, sizeof text - (size_t)at, "%s{cylinder: %d, reading: %d}", i > 0 ? ", " : "",
                       1 + i % 4, 1200 - i);
    snprintf(text + at, sizeof text - (size_t)at, "]}");
    question(text);
    assert_null(asked_for(CH_QUESTION_FALLING));
}

static void repeats_within_a_coarse_dial_agree_and_one_beside_close_fellows_does_not(void **state)
{
    (void)state;
    /* 6 % apart, which one mark of this dial is */
    question(FOUR("gauge: {resolution: 10 psi}, compression: [{cylinder: 1, reading: 160}, {cylinder: 1, reading: "
                  "150}, {cylinder: 2, reading: 160}]"));
    assert_null(asked_for(CH_QUESTION_REPEAT));
    /* 4 % apart, where the others repeat to the pound (Grubbs, five readings: 1.789 is above 1.715, 5 %, two-sided) */
    question(FOUR("gauge: {resolution: 1 psi}, compression: [{cylinder: 1, reading: 170}, {cylinder: 1, reading: 170}, "
                  "{cylinder: 1, reading: 170},"
                  "{cylinder: 1, reading: 170}, {cylinder: 1, reading: 163}, {cylinder: 2, reading: 168}]"));
    says(CH_QUESTION_REPEAT,
         "Cylinder 1: the reading of 163 psi is out of line with its other repeats (median 170 psi)");
    expect_close(asked_for(CH_QUESTION_REPEAT)->weight_1, 0.95, 1e-12);
}

static void a_row_far_from_its_fellows_is_told_by_what_it_may_be(void **state)
{
    (void)state;
    question(FOUR(ROWS(170, 166, 1150, 168))); /* above four times the others: kPa */
    says(CH_QUESTION_IMPOSSIBLE,
         "Cylinder 3: 1150 psi may be kPa typed as psi, since the others show about 168 psi (1158 kPa); "
         "it is more than this engine could show.");
    assert_int_equal(asked_for(CH_QUESTION_IMPOSSIBLE)->row, 2);
    assert_null(asked_for(CH_QUESTION_UNIT)); /* of the others nothing is said */
    question(FOUR(ROWS(170, 166, 900, 168))); /* no unit makes that of it */
    assert_null(asked_for(CH_QUESTION_UNIT));
    says(CH_QUESTION_IMPOSSIBLE, "Cylinder 3: 900 psi is more than");
    question(FOUR(ROWS(170, 166, 20, 168)));
    assert_null(asked_for(CH_QUESTION_UNIT));
}

static void a_hose_that_hardly_fills_needs_far_more_strokes(void **state)
{
    (void)state;
    question(FOUR("gauge: {hose_volume: 900 ml, valve_area: 0.01 mm2}, conditions: {strokes: 5}, " ROWS(2, 2, 2, 2)));
    says(CH_QUESTION_TOO_FEW_STROKES, "a sound cylinder needs far more");
    assert_int_equal(bounds.strokes_to_fill, 0);
}

static void two_wet_readings_are_one_kind_of_test(void **state)
{
    (void)state;
    misread_1 = 0.7;
    question(FOUR("wet: [{cylinder: 2, reading: 170}, {cylinder: 2, reading: 171}, {cylinder: 1, reading: 170}]"));
    assert_null(asked_for(CH_QUESTION_CONTRADICTION));
    question(FOUR(
        "compression: [{cylinder: 2, reading: 170}], wet: [{cylinder: 1, reading: 170}, {cylinder: 2, reading: 171}], "
        "leakdown: [{cylinder: 2, loss: 20 %}, {cylinder: 1, loss: 20 %}]"));
    says(CH_QUESTION_CONTRADICTION, "Cylinder 2: its tests do not fit together");
    misread_1 = 0.0;
}

static void a_reading_that_no_ratio_explains_says_which_ratio_was_taken(void **state)
{
    (void)state;
    question("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: 900}, "
             "{cylinder: 2, reading: 170}]}");
    says(CH_QUESTION_IMPOSSIBLE, "the most that a compression ratio of 14:1 could show without any loss. Wrong unit or "
                                 "gauge, oil or carbon in the chamber.");
    question(FOUR(ROWS(170, 166, 900, 168)));
    says(CH_QUESTION_IMPOSSIBLE, "the most that this compression ratio could show without any loss. Wrong unit or "
                                 "gauge, oil or carbon in the chamber, or a higher "
                                 "ratio than given.");
}

static void strokes_that_were_not_counted_are_called_assumed(void **state)
{
    (void)state;
    question(FOUR("gauge: {hose_volume: 60 ml}, " ROWS(120, 118, 121, 119)));
    says(CH_QUESTION_TOO_FEW_STROKES, "8 strokes (assumed) fill this hose to about");
    expect_close(asked_for(CH_QUESTION_TOO_FEW_STROKES)->weight_1, 0.6, 1e-12);
}

static void without_a_dry_reading_nothing_is_asked_of_them(void **state)
{
    (void)state;
    question(FOUR("conditions: {throttle: shut}, wet: [{cylinder: 1, reading: 100}, {cylinder: 2, reading: 101}], "
                  "leakdown: [{cylinder: 1, loss: 80 %}]"));
    assert_int_equal(judgement.question_count, 0);
}

static void forget_units(ch_sheet *sheet)
{
    for (size_t i = 0; i < sheet->compression_count; i++)
        sheet->compression[i].reading.unit = NULL;
}

static void lose_cylinders(ch_sheet *sheet)
{
    sheet->leakdown[0].cylinder = 0;
    sheet->leakdown[1].cylinder = 5;
}

static void rows_of_two_units_or_none_are_no_slip_of_the_unit(void **state)
{
    (void)state;
    question(FOUR("compression: [{cylinder: 1, reading: 170}, {cylinder: 2, reading: 11.7 bar}, {cylinder: 3, reading: "
                  "168}, {cylinder: 4, reading: 1170 kPa}]"));
    assert_int_equal(judgement.question_count, 0);
    question(FOUR("compression: [{cylinder: 1, reading: 12}, {cylinder: 2, reading: 1.17 bar}, {cylinder: 3, reading: "
                  "12}, {cylinder: 4, reading: 12}]"));
    assert_null(asked_for(CH_QUESTION_UNIT));
    bend = forget_units;
    question(FOUR(ROWS(170, 166, 12, 168)));
    assert_null(asked_for(CH_QUESTION_UNIT));
    bend = lose_cylinders;
    question(FOUR(ROWS(170, 60, 171, 168) ", leakdown: [{cylinder: 2, loss: 5 %}, {cylinder: 2, loss: 5 %}]"));
    assert_null(asked_for(CH_QUESTION_CONTRADICTION));
    bend = NULL;
}

static void a_leak_down_that_was_only_heard_contradicts_nothing(void **state)
{
    (void)state;
    question(FOUR(ROWS(170, 60, 171, 168) ", leakdown: [{cylinder: 2, heard: exhaust}]"));
    assert_null(asked_for(CH_QUESTION_CONTRADICTION));
    question(FOUR(ROWS(170, 60, 171, 168) ", leakdown: [{cylinder: 2, loss: 30 %}]")); /* and one that says the same */
    assert_null(asked_for(CH_QUESTION_CONTRADICTION));
}

/* A leak-down that was not read as it is meant: half a cycle off, with another unit's supply, at a hole that is no neighbour's. */
static void a_leak_down_that_cannot_be_is_asked_about(void **state)
{
    (void)state;
    question(FOUR(ROWS(170, 168, 171, 169) ", leakdown: [{cylinder: 2, loss: 95 %, heard: [intake, exhaust]}]"));
    says(CH_QUESTION_CONTRADICTION,
         "Cylinder 2: 95 % lost, with air at intake and exhaust, is what the dead centre of overlap gives");
    question(FOUR(ROWS(170, 168, 171, 169) ", leakdown: [{cylinder: 2, loss: 49 %, heard: [intake, exhaust]}]"));
    assert_null(asked_for(CH_QUESTION_CONTRADICTION));
    question(FOUR(ROWS(170, 168, 171, 169) ", leakdown: [{cylinder: 2, loss: 41 %}, {cylinder: 2, loss: 4.1 %}]"));
    says(CH_QUESTION_CONTRADICTION, "Cylinder 2: its leak-down tests do not agree: 4.1 % and 41 %.");
    question(FOUR(ROWS(170, 168, 171, 169) ", leakdown: [{cylinder: 2, loss: 13 %}, {cylinder: 2, loss: 4.1 %}]"));
    assert_null(asked_for(CH_QUESTION_CONTRADICTION));
    question(
        FOUR(ROWS(170, 168, 171, 169) ", leakdown: [{cylinder: 1, loss: 7 %, supply: 6 psi}, {cylinder: 2, loss: 8 %, "
                                      "supply: 90 psi}]"));
    says(CH_QUESTION_UNIT,
         "Cylinder 1: was the leak-down tester supplied with 6 psi, where another cylinder had 90 psi?");
    assert_int_equal(asked_for(CH_QUESTION_UNIT)->cylinder, 1);
    question(FOUR(ROWS(170, 168, 171, 169) ", leakdown: [{cylinder: 1, loss: 7 %, supply: 15 bar}]"));
    says(CH_QUESTION_UNIT, "Cylinder 1: was the leak-down tester supplied with 15 bar? Look");
    question(
        FOUR(ROWS(170, 168, 171, 169) ", leakdown: [{cylinder: 1, loss: 7 %, supply: 50 psi}, {cylinder: 2, loss: 8 %, "
                                      "supply: 100 psi}]"));
    assert_null(asked_for(CH_QUESTION_UNIT));
}

/* In line 1 and 2 are neighbours, 1 and 3 are not. A V6 is numbered 1 to 3 and 4 to 6, or across, 1 3 5 and 2 4 6: 1 and 3 may be neighbours, 3 and 4 and 1 and 5 never. */
static void air_at_a_hole_that_lies_elsewhere_is_asked_about(void **state)
{
    (void)state;
    static const struct {
        const char *layout;
        int at, heard;
        bool asked;
    } cases[] = {{"layout: inline", 1, 2, false}, {"layout: inline", 1, 5, true}, {"layout: inline", 3, 1, true},
                 {"layout: vee", 1, 2, false},    {"layout: vee", 1, 3, false},   {"layout: vee", 3, 4, true},
                 {"layout: flat", 4, 3, true},    {"layout: flat", 1, 5, true},   {"bore: 80 mm", 1, 5, false}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[400], words[80];
        snprintf(
            text, sizeof text,
            "{sheet: 1, engine: {cylinders: 6, %s}, leakdown: [{cylinder: %d, loss: 30 %%, heard: [cylinder_%d]}]}",
            cases[i].layout, cases[i].at, cases[i].heard);
        question(text);
        assert_true((asked_for(CH_QUESTION_CONTRADICTION) != NULL) == cases[i].asked);
        snprintf(words, sizeof words, "Cylinder %d: air was heard at the plug hole of cylinder %d,", cases[i].at,
                 cases[i].heard);
        if (cases[i].asked)
            says(CH_QUESTION_CONTRADICTION, words);
    }
}

/* 150 Pa among psi are quoted as they stand, and no dead cylinder; the same in psi may be one. */
static void a_number_alone_in_its_unit_is_no_dead_cylinder(void **state)
{
    (void)state;
    question(
        FOUR("compression: [{cylinder: 1, reading: 150 Pa}, {cylinder: 2, reading: 150}, {cylinder: 3, reading: 152}, "
             "{cylinder: 4, reading: 149}]"));
    says(CH_QUESTION_IMPOSSIBLE,
         "Cylinder 1: 150 Pa may be psi typed as Pa, since the others show about 150 psi; it is "
         "the only one in that unit");
    question(FOUR("compression: [{cylinder: 1, reading: 11}, {cylinder: 2, reading: 150}, {cylinder: 3, reading: 152}, "
                  "{cylinder: 4, reading: 149}]"));
    assert_null(asked_for(CH_QUESTION_IMPOSSIBLE));
    says(CH_QUESTION_UNIT, "or the cylinder does not seal at all");
}

static void a_dead_cylinder_at_the_end_is_not_a_tired_battery(void **state)
{
    (void)state;
    question(FOUR(ROWS(172, 171, 168, 60)));
    assert_null(asked_for(CH_QUESTION_FALLING));
    question(FOUR(ROWS(160, 171, 166, 169)));
    assert_null(asked_for(CH_QUESTION_FALLING));
}

static void leak_down_and_cranking_must_agree(void **state)
{
    (void)state;
    question(FOUR(ROWS(170, 166, 171, 168) ", leakdown: [{cylinder: 2, loss: 80 %}, {cylinder: 1, loss: 9 %}]"));
    says(CH_QUESTION_CONTRADICTION, "Cylinder 2: a loss of 80 % does not go with 166 psi while cranking");
    question(FOUR(ROWS(170, 60, 171, 168) ", leakdown: [{cylinder: 2, loss: 5 %}]"));
    says(CH_QUESTION_CONTRADICTION, "Cylinder 2: it holds air (loss 5 %) yet pumps only 60 psi");
    question(FOUR(ROWS(170, 100, 171, 168) ", leakdown: [{cylinder: 2, loss: 60 %}]"));
    assert_null(asked_for(CH_QUESTION_CONTRADICTION));
}

static void a_shut_throttle_is_said(void **state)
{
    (void)state;
    question(FOUR("conditions: {throttle: shut}, " ROWS(120, 118, 121, 119)));
    says(CH_QUESTION_THROTTLE_SHUT, "throttle shut");
    says(CH_QUESTION_ALL_LOW, "the shut throttle");
}

static void more_questions_than_fit_are_left_out(void **state)
{
    (void)state;
    static char text[8000];
    size_t used = (size_t)snprintf(text, sizeof text,
                                   "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4}, compression: [");
    for (int i = 0; i < 70; i++)
        used += (size_t)snprintf(text + used, sizeof text - used, "%s{cylinder: %d, reading: 150, first_stroke: %d}",
                                 i > 0 ? ", " : "", i % 4 + 1, 160 + i);
    snprintf(text + used, sizeof text - used, "]}");
    question(text);
    assert_int_equal(judgement.question_count, CH_QUESTIONS_MAX);
}

static void questioning_the_order_survives_every_failed_allocation(void **state)
{
    (void)state;
    ch_sheet sheet;
    judge_readings readings;
    sheet_of(FOUR(ROWS(180, 176, 172, 168)), &sheet);
    assert_int_equal(judge_readings_collect(&sheet, &readings, NULL), CH_OK);
    const judge_asked asked = {&sheet, NULL, &readings, NULL, NULL, ch_unit_find("psi", 3), NULL};
    long faults = 0;
    for (long n = 1;; n++) {
        judgement.question_count = 0;
        fail_alloc_at(n);
        const ch_status rc = judge_question_order(&asked, &judgement, NULL);
        if (!fail_alloc_stop()) {
            assert_int_equal(rc, CH_OK);
            break;
        }
        faults++;
        assert_int_equal(fail_alloc_left(), 0);
        assert_int_equal(rc, CH_E_MEMORY);
        assert_int_equal(judgement.question_count, 0);
    }
    assert_int_equal(fail_alloc_left(), 0);
    assert_true(faults >= 2);
    assert_int_equal(judgement.question_count, 1);
    judge_readings_clear(&readings);
    ch_sheet_clear(&sheet);
}

/* No sheet holds an endless reading; a caller's may. */
static void an_endless_reading_is_refused_by_what_looks_at_rows(void **state)
{
    (void)state;
    static const char *const rows[] = {
        ROWS(180, 176, 172, 168), /* ranks */
        "compression: [{cylinder: 1, reading: 170}, {cylinder: 2, reading: 170}, {cylinder: 2, reading: 172}]"};
    for (size_t k = 0; k < 2; k++) {
        char text[600];
        ch_sheet sheet;
        judge_readings readings;
        ch_err err = {0};
        snprintf(text, sizeof text, FOUR("%s"), rows[k]);
        sheet_of(text, &sheet);
        assert_int_equal(judge_readings_collect(&sheet, &readings, NULL), CH_OK);
        readings.reading_pa[2] = INFINITY;
        const judge_repeatability scatter = {.sd_pa = 1e4, .df = 3};
        const judge_asked asked = {&sheet, NULL, &readings, &scatter, NULL, ch_unit_find("psi", 3), NULL};
        memset(&judgement, 0, sizeof judgement);
        assert_int_equal(judge_questions_of_rows(&asked, &judgement, &err), CH_E_RANGE);
        assert_true(err.what[0] != '\0');
        assert_int_equal(judge_question_order(&asked, &judgement, NULL), k == 0 ? CH_E_RANGE : CH_OK);
        judge_readings_clear(&readings);
        ch_sheet_clear(&sheet);
    }
}

/* In kPa, where all is exact, on a dial of 20: one and a half steps are 30, and 5 % of 1000 are 50. What is on a limit agrees. */
static void repeats_on_a_limit_agree(void **state)
{
    (void)state;
    static const struct {
        const char *kpa[6];
        double weight_1; /* 0 = not asked about */
    } cases[] = {{{"500", "530"}, 0.0},
                 {{"500", "531"}, 0.8},
                 {{"975", "1025"}, 0.0},
                 {{"975", "1026"}, 0.8},
                 {{"900", "900", "900", "900", "900", "930"}, 0.0},
                 {{"900", "900", "900", "900", "900", "931"}, 0.95}};
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++) {
        char text[800];
        int at = snprintf(text, sizeof text,
                          "{sheet: 1, engine: {cylinders: 1}, gauge: {resolution: 20 kPa}, compression: [");
        for (int i = 0; i < 6 && cases[k].kpa[i] != NULL; i++)
            at += snprintf(text + at, sizeof text - (size_t)at, "%s{cylinder: 1, reading: %s kPa}", i > 0 ? ", " : "",
                           cases[k].kpa[i]);
        snprintf(text + at, sizeof text - (size_t)at, "]}");
        question(text);
        const ch_question *q = asked_for(CH_QUESTION_REPEAT);
        assert_int_equal(q != NULL, cases[k].weight_1 > 0.0);
        if (q != NULL)
            expect_close(q->weight_1, cases[k].weight_1, 1e-12);
    }
}

static double day_factor(const char *conditions, judge_day *day)
{
    char text[600];
    ch_sheet sheet;
    ch_setup setup;
    snprintf(text, sizeof text,
             "{sheet: 1, engine: {cylinders: 4, compression_ratio: 9.5}, conditions: {%s},"
             "compression: [{cylinder: 1, reading: 12 bar}]}",
             conditions);
    sheet_of(text, &sheet);
    setup_of(&sheet, &setup);
    assert_int_equal(judge_day_build(&setup, 4, day, NULL), CH_OK);
    ch_sheet_clear(&sheet);
    return judge_day_factor(day, 12e5);
}

#define STANDARD "engine_temperature: 70 C, cranking_speed: 220 rpm, strokes: 8, throttle: open"

static void the_standard_day_needs_no_correction(void **state)
{
    (void)state;
    judge_day day;
    expect_close(day_factor("barometer: 101.325 kPa, air_temperature: 15 C, " STANDARD, &day), 1.0, 1e-12);
    expect_close(judge_day_factor(&day, 1e5), 1.0, 1e-12);
    /* barometer 0.3 %, speed 5 %, walls 6 K are all that is in doubt */
    assert_true(day.u_factor_1 > 0.003 && day.u_factor_1 < 0.02);
}

/* A gauge zeroed to local air reads in proportion to station pressure: at 5000 ft 843.1 hPa (ISO 2533), that is 1.202 back to sea level; not
 * the density ratio 0.862 (1.160) of the published altitude tables. Thinner air also loses more of its heat to the walls (Annand: loss over
 * heat content goes with Re^-0.3, here 5 % of a loss of some 20 %) and the check valve's spring stays, so up to 2 % more is due. */
static void altitude_is_corrected_by_pressure_not_by_density(void **state)
{
    (void)state;
    judge_day day;
    double pressure_pa = NAN;
    assert_int_equal(ch_atmosphere_pressure(1524.0, &pressure_pa, NULL), CH_OK);
    const double factor = day_factor("altitude: 5000 ft, air_temperature: 15 C, " STANDARD, &day);
    assert_true(factor > 101325.0 / pressure_pa && factor < 1.02 * 101325.0 / pressure_pa);
}

static void doubt_about_the_day_widens_the_reduced_reading(void **state)
{
    (void)state;
    judge_day known, unknown;
    (void)day_factor("barometer: 990 hPa, air_temperature: 15 C, " STANDARD, &known);
    (void)day_factor("air_temperature: 15 C", &unknown);
    assert_true(unknown.u_factor_1 > 1.5 * known.u_factor_1);
    assert_true(unknown.u_factor_1 < 0.15);
}

/* Slow cranking costs pressure, more in a leaking cylinder (trade practice), so both are lifted, the leaking one more. */
static void slow_cranking_is_lifted_and_more_so_where_it_leaks(void **state)
{
    (void)state;
    judge_day day;
    (void)day_factor(
        "barometer: 101.325 kPa, air_temperature: 15 C, engine_temperature: 70 C, cranking_speed: 140 rpm, strokes: 8",
        &day);
    assert_true(day.factor_1[0] > 1.0);
    assert_true(day.factor_1[1] > day.factor_1[0]);
    const double between_pa = 0.5 * (day.reading_pa[0] + day.reading_pa[1]);
    expect_close(judge_day_factor(&day, between_pa), 0.5 * (day.factor_1[0] + day.factor_1[1]), 1e-12);
    expect_close(judge_day_factor(&day, 0.0), day.factor_1[1], 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(readings_on_a_straight_line_fall_or_do_not),
        cmocka_unit_test(a_leak_down_that_cannot_be_is_asked_about),
        cmocka_unit_test(air_at_a_hole_that_lies_elsewhere_is_asked_about),
        cmocka_unit_test(a_number_alone_in_its_unit_is_no_dead_cylinder),
        cmocka_unit_test(two_readings_that_disagree_are_asked_about_the_surer_the_closer_the_others_repeat),
        cmocka_unit_test(tests_that_do_not_fit_together_are_asked_for_again),
        cmocka_unit_test(an_ordinary_sheet_raises_no_question),
        cmocka_unit_test(all_low_together_names_what_to_look_at),
        cmocka_unit_test(all_high_together_is_questioned),
        cmocka_unit_test(bar_typed_as_psi_is_recognised),
        cmocka_unit_test(a_row_in_another_unit_is_told_from_its_fellows),
        cmocka_unit_test(dead_cylinders_are_not_another_unit),
        cmocka_unit_test(no_reading_can_pass_compression_without_loss),
        cmocka_unit_test(the_most_does_not_depend_on_the_gauge),
        cmocka_unit_test(first_stroke_over_the_final_reading_is_a_leaking_gauge),
        cmocka_unit_test(too_few_strokes_for_the_hose_are_named_with_how_many_it_takes),
        cmocka_unit_test(missing_cylinders_are_listed),
        cmocka_unit_test(one_repeat_out_of_line_is_flagged_and_kept),
        cmocka_unit_test(rounding_is_not_a_repeat_out_of_line),
        cmocka_unit_test(readings_that_fall_with_the_order_point_to_the_battery),
        cmocka_unit_test(a_first_cylinder_measured_again_last_tells_battery_from_cylinders),
        cmocka_unit_test(a_fall_that_nobody_need_care_about_is_not_asked_about),
        cmocka_unit_test(repeats_within_a_coarse_dial_agree_and_one_beside_close_fellows_does_not),
        cmocka_unit_test(a_row_far_from_its_fellows_is_told_by_what_it_may_be),
        cmocka_unit_test(a_hose_that_hardly_fills_needs_far_more_strokes),
        cmocka_unit_test(two_wet_readings_are_one_kind_of_test),
        cmocka_unit_test(a_leak_down_that_was_only_heard_contradicts_nothing),
        cmocka_unit_test(what_is_expected_of_all_is_from_the_least_to_the_most),
        cmocka_unit_test(what_was_noted_is_not_looked_at),
        cmocka_unit_test(a_reading_that_no_ratio_explains_says_which_ratio_was_taken),
        cmocka_unit_test(strokes_that_were_not_counted_are_called_assumed),
        cmocka_unit_test(without_a_dry_reading_nothing_is_asked_of_them),
        cmocka_unit_test(rows_of_two_units_or_none_are_no_slip_of_the_unit),
        cmocka_unit_test(a_dead_cylinder_at_the_end_is_not_a_tired_battery),
        cmocka_unit_test(leak_down_and_cranking_must_agree),
        cmocka_unit_test(a_shut_throttle_is_said),
        cmocka_unit_test(more_questions_than_fit_are_left_out),
        cmocka_unit_test(questioning_the_order_survives_every_failed_allocation),
        cmocka_unit_test(an_endless_reading_is_refused_by_what_looks_at_rows),
        cmocka_unit_test(repeats_on_a_limit_agree),
        cmocka_unit_test(the_standard_day_needs_no_correction),
        cmocka_unit_test(altitude_is_corrected_by_pressure_not_by_density),
        cmocka_unit_test(doubt_about_the_day_widens_the_reduced_reading),
        cmocka_unit_test(slow_cranking_is_lifted_and_more_so_where_it_leaks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
