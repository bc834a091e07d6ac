/* Promises of judge/question.c, say.c, judge.c and day.c at their edges: what each wording depends on, and where nothing may be asked. */
#include "judge_sheets.h"

static ch_judgement judgement;
static ch_knowledge knowledge; /* none, but where a test reads it */
static judge_bounds bounds;
static double misread_1; /* chance of a wrong test that the tracing would give every cylinder */

/* Question a sheet; a sound cylinder shows 150 to 200 psi, 175 as a rule. Most that could be shown: as computed, unless `most_pa` > 0. */
static void question_with(const char *text, double most_pa)
{
    ch_sheet sheet;
    ch_setup setup;
    judge_readings readings;
    judge_repeatability scatter;
    sheet_of(text, &sheet);
    setup_of(&sheet, &setup);
    memset(&judgement, 0, sizeof judgement);
    assert_int_equal(judge_readings_collect(&sheet, &readings, NULL), CH_OK);
    assert_int_equal(judge_repeats(&sheet, &setup, NULL, &readings, &judgement, &scatter, NULL), CH_OK);
    assert_int_equal(judge_bounds_compute(&setup, sheet.engine.cylinders, &bounds, NULL), CH_OK);
    assert_int_equal(judge_bounds_wet(&sheet, &setup, &bounds, NULL), CH_OK);
    bounds.ideal_pa = most_pa > 0.0 ? most_pa : bounds.ideal_pa;
    for (int c = 0; c < judgement.cylinders; c++) {
        judgement.cylinder[c].expected_pa[0] = 150.0 * PSI;
        judgement.cylinder[c].expected_median_pa = 175.0 * PSI;
        judgement.cylinder[c].expected_pa[1] = 200.0 * PSI;
        judgement.trace.cylinder[c].cause_1[CH_CAUSE_MEASUREMENT_ERROR] = misread_1;
    }
    const judge_asked asked = {&sheet, &setup, &readings, &scatter, &bounds, ch_unit_find("psi", 3), &knowledge};
    assert_int_equal(judge_questions(&asked, &judgement, NULL), CH_OK);
    judge_readings_clear(&readings);
    ch_sheet_clear(&sheet);
}

static void question(const char *text)
{
    question_with(text, 0.0);
}

static size_t count_of(ch_question_kind kind)
{
    size_t n = 0;
    for (size_t i = 0; i < judgement.question_count; i++)
        n += judgement.question[i].kind == kind;
    return n;
}

static const char *first_of(ch_question_kind kind)
{
    for (size_t i = 0; i < judgement.question_count; i++)
        if (judgement.question[i].kind == kind)
            return judgement.question[i].text;
    return "no such question";
}

static void expect_words(const char *text, const char *words, bool there)
{
    if ((strstr(text, words) != NULL) != there) {
        print_error("\"%s\" is %s \"%s\"\n", words, there ? "not in" : "in", text);
        fail();
    }
}

static void says(ch_question_kind kind, const char *words)
{
    expect_words(first_of(kind), words, true);
}

#define FOUR(rows) "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4, compression_ratio: 9.5}, " rows "}"
#define UNKNOWN(rows) "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4}, " rows "}"
#define ROWS(a, b, c, d)                                                                                               \
    "compression: [{cylinder: 1, reading: " #a "}, {cylinder: 2, reading: " #b "}, {cylinder: 3, reading: " #c         \
    "}, {cylinder: 4, reading: " #d "}]"

static void what_was_noted_well_is_not_named_among_what_to_look_at(void **state)
{
    (void)state;
    question(FOUR(
        "conditions: {throttle: open, cranking_speed: 260 rpm, engine_temperature: 75 C, barometer: 1000 hPa}, " ROWS(
            120, 118, 121, 119)));
    says(CH_QUESTION_ALL_LOW, "Look first at cam timing, the gauge.");
    /* 191 rpm is 20.0 rad/s and 40 C is 313.15 K: from there on they are no longer slow or cold */
    question(FOUR(
        "conditions: {throttle: open, cranking_speed: 192 rpm, engine_temperature: 40 C, barometer: 1000 hPa}, " ROWS(
            120, 118, 121, 119)));
    says(CH_QUESTION_ALL_LOW, "Look first at cam timing, the gauge.");
    question(FOUR(
        "conditions: {throttle: open, cranking_speed: 190 rpm, engine_temperature: 39 C, barometer: 1000 hPa}, " ROWS(
            120, 118, 121, 119)));
    says(CH_QUESTION_ALL_LOW, "Look first at slow cranking, the cold engine, cam timing, the gauge.");
}

/*
 * Weather keeps the air at sea level within 948 and 1050 hPa (FAA AIM, 7-2-2: 28.00 and 31.00 inHg). By ISO 2533, worked out apart, that is 789.3 to 877.3 hPa at
 * 1500 m, and 442.9 at the least at 5900 m, above the highest road.
 */
static void an_air_pressure_that_no_weather_brings_is_asked_about(void **state)
{
    (void)state;
    static const struct {
        const char *air;
        bool asked;
    } cases[] = {{"altitude: 1500 m, barometer: 789 hPa", true},
                 {"altitude: 1500 m, barometer: 790 hPa", false},
                 {"altitude: 1500 m, barometer: 877 hPa", false},
                 {"altitude: 1500 m, barometer: 878 hPa", true},
                 {"altitude: 1500 m, barometer: 1013 hPa", true},
                 {"altitude: 0 m, barometer: 947 hPa", true},
                 {"altitude: 0 m, barometer: 949 hPa", false},
                 {"altitude: 0 m, barometer: 1051 hPa", true},
                 {"barometer: 442 hPa", true},
                 {"barometer: 443 hPa", false},
                 {"barometer: 1099 hPa", false},
                 {"altitude: 1500 m", false},
                 {"sea_level_pressure: 947 hPa", true},
                 {"sea_level_pressure: 949 hPa", false},
                 {"sea_level_pressure: 1051 hPa", true},
                 {"altitude: 1500 m, sea_level_pressure: 1049 hPa", false},
                 {"altitude: 0 m, barometer: 1013 hPa, sea_level_pressure: 900 hPa", false}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        char text[400];
        snprintf(text, sizeof text, FOUR("conditions: {%s}, " ROWS(170, 168, 171, 169)), cases[k].air);
        question(text);
        if (count_of(CH_QUESTION_BAROMETER) != cases[k].asked)
            fail_msg("%s", cases[k].air);
    }
    question(FOUR("conditions: {altitude: 1500 m, barometer: 1013 hPa}, " ROWS(130, 128, 131, 129)));
    says(CH_QUESTION_BAROMETER,
         "Barometer: 1013 hPa is more than weather brings at 1500 m (846 hPa on a standard day). "
         "It looks like a pressure reduced to sea level");
    says(CH_QUESTION_ALL_LOW, "Look first at the air pressure noted, ");
    question(FOUR("conditions: {altitude: 0 m, barometer: 500 hPa}, " ROWS(170, 168, 171, 169)));
    says(CH_QUESTION_BAROMETER, "Barometer: 500 hPa is less than weather brings at 0 m (1013 hPa on a standard day). "
                                "Look at number, unit and altitude.");
    question(FOUR("conditions: {barometer: 400 hPa}, " ROWS(170, 168, 171, 169)));
    says(CH_QUESTION_BAROMETER, "any place with a road (at sea level 1013 hPa on a standard day)");
}

/* Another unit's numbers, or all above one and a half times the most that is possible; with one among them that is not, the others still say something. */
static void readings_that_are_no_pressures_of_the_engine_are_unreadable(void **state)
{
    (void)state;
    question_with(FOUR(ROWS(301, 302, 303, 304)), 200.0 * PSI);
    assert_true(judgement.unreadable);
    question_with(FOUR(ROWS(299, 302, 303, 304)), 200.0 * PSI);
    assert_false(judgement.unreadable);
    question(FOUR(ROWS(12.1, 11.8, 12.0, 12.2))); /* bar */
    assert_true(judgement.unreadable);
    question(FOUR(ROWS(170, 168, 12, 169)));
    assert_false(judgement.unreadable);
    question(FOUR(ROWS(0, 0, 0, 0)));
    assert_false(judgement.unreadable);
}

static void what_was_not_noted_is_named_as_such(void **state)
{
    (void)state;
    question(UNKNOWN(ROWS(100, 98, 101, 99)));
    says(CH_QUESTION_ALL_LOW, "the throttle (not noted as held open), cranking speed (not noted), a cold engine (not "
                              "noted), altitude (not noted), "
                              "the compression ratio (not given), cam timing, the gauge");
    /* an altitude that was noted is not asked for, barometer or none */
    question(
        FOUR("conditions: {throttle: open, cranking_speed: 192 rpm, engine_temperature: 70 C, altitude: 450 m}, " ROWS(
            120, 118, 121, 119)));
    says(CH_QUESTION_ALL_LOW, "Look first at cam timing, the gauge.");
    question(FOUR("conditions: {throttle: shut}, " ROWS(100, 98, 101, 99)));
    says(CH_QUESTION_ALL_LOW, "Look first at the shut throttle, ");
    assert_int_equal(count_of(CH_QUESTION_THROTTLE_SHUT), 1);
}

static void all_high_names_the_ratio_only_where_it_was_assumed(void **state)
{
    (void)state;
    question(FOUR(ROWS(215, 220, 211, 219)));
    says(CH_QUESTION_ALL_HIGH, "a gauge that reads high, or fast cranking");
    question(UNKNOWN(ROWS(215, 220, 211, 219)));
    says(CH_QUESTION_ALL_HIGH, "a gauge that reads high, or a ratio above the one assumed");
}

static void one_cylinder_of_many_tells_nothing_of_the_level(void **state)
{
    (void)state;
    question(FOUR("compression: [{cylinder: 1, reading: 120}]"));
    assert_int_equal(count_of(CH_QUESTION_ALL_LOW), 0);
    says(CH_QUESTION_MISSING, "No reading of cylinders 2, 3, 4: measure them too");
    question(
        FOUR("compression: [{cylinder: 1, reading: 170}, {cylinder: 2, reading: 170}, {cylinder: 4, reading: 170}]"));
    says(CH_QUESTION_MISSING, "No reading of cylinder 3: measure it too");
}

static void the_most_that_can_be_shown_is_named_with_what_it_rests_on(void **state)
{
    (void)state;
    question_with(FOUR(ROWS(170, 166, 300, 168)), 250 * PSI);
    says(CH_QUESTION_IMPOSSIBLE,
         "Cylinder 3: 300 psi is more than 250 psi, the most that this compression ratio could show without any loss.");
    says(CH_QUESTION_IMPOSSIBLE, "oil or carbon in the chamber, or a higher ratio than given.");
    question_with(UNKNOWN(ROWS(170, 166, 300, 168)), 250 * PSI);
    says(CH_QUESTION_IMPOSSIBLE, "the most that a compression ratio of 14:1 could show without any loss.");
    says(CH_QUESTION_IMPOSSIBLE, "oil or carbon in the chamber.");
    /* the same number twice is asked after once, another one again */
    question_with(
        FOUR("compression: [{cylinder: 1, reading: 170}, {cylinder: 3, reading: 300}, {cylinder: 3, reading: 300}, "
             "{cylinder: 3, reading: 310}, {cylinder: 4, reading: 300}]"),
        250 * PSI);
    assert_int_equal(count_of(CH_QUESTION_IMPOSSIBLE), 3);
    question_with(FOUR(ROWS(170, 166, 250, 168)), 250 * PSI * (1 + 1e-12)); /* exactly at the most: possible */
    assert_int_equal(count_of(CH_QUESTION_IMPOSSIBLE), 0);
}

static void readings_in_mixed_units_are_questioned_one_by_one(void **state)
{
    (void)state;
    /* 12 and 11 typed as psi among others in kPa: not all of one unit, so each row by itself */
    question(FOUR("compression: [{cylinder: 1, reading: 12 psi}, {cylinder: 2, reading: 1170 kPa}, {cylinder: 3, "
                  "reading: 1180 kPa}, {cylinder: 4, "
                  "reading: 1160 kPa}]"));
    says(CH_QUESTION_UNIT, "Cylinder 1: 12 psi may be bar typed as psi, since the others show about ");
    assert_int_equal(count_of(CH_QUESTION_UNIT), 1);
    /* a row in another unit that reads like its fellows is nothing to ask about */
    question(FOUR("compression: [{cylinder: 1, reading: 11.6 bar}, {cylinder: 2, reading: 170}, {cylinder: 3, reading: "
                  "168}, {cylinder: 4, reading: 171}]"));
    assert_int_equal(count_of(CH_QUESTION_UNIT), 0);
}

static void a_unit_that_makes_the_reading_no_likelier_is_not_named(void **state)
{
    (void)state;
    /* 40 psi is low for 175, but 40 of no other unit is usual */
    question(FOUR(ROWS(40, 41, 39, 40)));
    assert_int_equal(count_of(CH_QUESTION_UNIT), 0);
    const ch_unit *psi = ch_unit_find("psi", 3);
    assert_null(judge_likely_unit(40 * PSI, psi, 150 * PSI, 175 * PSI, 200 * PSI));
    assert_string_equal(judge_likely_unit(12 * PSI, psi, 150 * PSI, 175 * PSI, 200 * PSI)->name, "bar");
}

static void two_readings_that_do_not_agree_ask_for_a_third(void **state)
{
    (void)state;
    question(FOUR("compression: [{cylinder: 1, reading: 170}, {cylinder: 1, reading: 140}, {cylinder: 2, reading: "
                  "170}, {cylinder: 3, reading: 170}, "
                  "{cylinder: 4, reading: 170}]"));
    says(CH_QUESTION_REPEAT,
         "Cylinder 1: its two readings, 140 psi and 170 psi, do not agree. Re-seat the adapter and take a third.");
    assert_int_equal(count_of(CH_QUESTION_REPEAT), 1);
    /* five in a hundred apart is the limit, and two steps of the dial are rounding */
    question(FOUR("compression: [{cylinder: 1, reading: 170}, {cylinder: 1, reading: 163}, {cylinder: 2, reading: "
                  "170}, {cylinder: 3, reading: 170}, "
                  "{cylinder: 4, reading: 170}]"));
    assert_int_equal(count_of(CH_QUESTION_REPEAT), 0);
}

static void three_readings_name_the_one_that_is_off(void **state)
{
    (void)state;
    question(FOUR("compression: [{cylinder: 1, reading: 170}, {cylinder: 1, reading: 171}, {cylinder: 1, reading: "
                  "140}, {cylinder: 2, reading: 170}, "
                  "{cylinder: 3, reading: 170}, {cylinder: 4, reading: 170}]"));
    says(CH_QUESTION_REPEAT,
         "Cylinder 1: the reading of 140 psi is out of line with its other repeats (median 170 psi).");
    for (size_t i = 0; i < judgement.question_count; i++)
        assert_true(judgement.question[i].kind != CH_QUESTION_REPEAT || judgement.question[i].row == 2);
    question(FOUR("compression: [{cylinder: 1, reading: 200}, {cylinder: 1, reading: 171}, {cylinder: 1, reading: "
                  "170}, {cylinder: 2, reading: 170}, "
                  "{cylinder: 3, reading: 170}, {cylinder: 4, reading: 170}]"));
    says(CH_QUESTION_REPEAT, "the reading of 200 psi is out of line");
}

static void repeats_elsewhere_tell_what_is_out_of_line(void **state)
{
    (void)state;
    /* cylinders 2 and 3 repeat within a psi, so that fifteen are more than chance for cylinder 1 */
#define WELL                                                                                                           \
    "{cylinder: 2, reading: 170}, {cylinder: 2, reading: 171}, {cylinder: 2, reading: 170}, {cylinder: 3, reading: "   \
    "168}, {cylinder: 3, reading: 169}, "                                                                              \
    "{cylinder: 3, reading: 168}, {cylinder: 4, reading: 170}"
    question(FOUR("compression: [{cylinder: 1, reading: 170}, {cylinder: 1, reading: 155}, " WELL "]"));
    assert_int_equal(count_of(CH_QUESTION_REPEAT), 1);
    says(CH_QUESTION_REPEAT, "Cylinder 1: its two readings, 155 psi and 170 psi, do not agree.");
    question(FOUR(
        "compression: [{cylinder: 1, reading: 170}, {cylinder: 1, reading: 171}, {cylinder: 1, reading: 155}, " WELL
        "]"));
    assert_int_equal(count_of(CH_QUESTION_REPEAT), 1);
    says(CH_QUESTION_REPEAT, "Cylinder 1: the reading of 155 psi is out of line");
    /* three psi are not, whatever the test of outliers says of so few */
    question(FOUR(
        "compression: [{cylinder: 1, reading: 170}, {cylinder: 1, reading: 171}, {cylinder: 1, reading: 167}, " WELL
        "]"));
    assert_int_equal(count_of(CH_QUESTION_REPEAT), 0);
}

static void a_hose_of_hardly_any_volume_is_full_at_once(void **state)
{
    (void)state;
    question("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 1, compression_ratio: 9.5}, gauge: {hose_volume: "
             "0.1 ml, dead_volume: 0.1 ml}, "
             "conditions: {strokes: 2}, compression: [{cylinder: 1, reading: 170}]}");
    assert_int_equal(count_of(CH_QUESTION_TOO_FEW_STROKES), 0);
    assert_int_equal(bounds.strokes_to_fill, 1);
    expect_close(bounds.fill_1, 1.0, 0.03); /* full to JUDGE_FULL_1 */
}

static void a_shut_throttle_matters_only_where_the_engine_was_cranked(void **state)
{
    (void)state;
    question(FOUR("conditions: {throttle: shut}, leakdown: [{cylinder: 1, loss: 8 %}, {cylinder: 1, heard: exhaust}]"));
    assert_int_equal(count_of(CH_QUESTION_THROTTLE_SHUT), 0);
    assert_int_equal(count_of(CH_QUESTION_MISSING), 0);
    assert_int_equal(count_of(CH_QUESTION_CONTRADICTION), 0);
}

static void a_hose_far_too_large_needs_far_more_strokes(void **state)
{
    (void)state;
    question("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 1, bore: 40 mm, stroke: 40 mm, compression_ratio: "
             "8}, gauge: {hose_volume: 400 ml}, "
             "conditions: {strokes: 3}, compression: [{cylinder: 1, reading: 60}]}");
    says(CH_QUESTION_TOO_FEW_STROKES, "3 strokes fill this hose to about ");
    expect_words(first_of(CH_QUESTION_TOO_FEW_STROKES), "(assumed)", false);
    /* the same hose, but nobody counted: the default is named as assumed */
    question("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 1, bore: 40 mm, stroke: 40 mm, compression_ratio: "
             "8}, gauge: {hose_volume: 400 ml}, "
             "compression: [{cylinder: 1, reading: 60}]}");
    says(CH_QUESTION_TOO_FEW_STROKES, "strokes (assumed) fill this hose to about ");
}

static void a_wrong_test_is_named_only_where_there_are_two_to_compare(void **state)
{
    (void)state;
    misread_1 = 0.8;
    question(FOUR("compression: [{cylinder: 1, reading: 170}, {cylinder: 2, reading: 168}, {cylinder: 3, reading: "
                  "168}, {cylinder: 4, reading: 170}], wet: "
                  "[{cylinder: 2, reading: 171}], leakdown: [{cylinder: 3, loss: 20 %}]"));
    assert_int_equal(count_of(CH_QUESTION_CONTRADICTION), 2);
    says(CH_QUESTION_CONTRADICTION, "Cylinder 2: its tests do not fit together; with about 80 % one of them is wrong "
                                    "rather than the engine. Repeat them.");
    misread_1 = 0.49;
    question(FOUR("wet: [{cylinder: 2, reading: 171}], leakdown: [{cylinder: 2, loss: 20 %}]"));
    assert_int_equal(count_of(CH_QUESTION_CONTRADICTION), 0);
    misread_1 = 0.5;
    question(
        FOUR("wet: [{cylinder: 2, reading: 171}], leakdown: [{cylinder: 2, loss: 20 %}, {cylinder: 3, loss: 20 %}]"));
    assert_int_equal(count_of(CH_QUESTION_CONTRADICTION), 1);
    misread_1 = 0.0;
}

static void leak_down_and_cranking_contradict_each_other_only_beyond_their_limits(void **state)
{
    (void)state;
    /* 93 % of 175 psi and half the air lost; half of 175 psi and a tenth lost */
    question(FOUR("compression: [{cylinder: 1, reading: 163}, {cylinder: 2, reading: 162}], leakdown: [{cylinder: 1, "
                  "loss: 50 %}, {cylinder: 2, loss: 50 %}]"));
    assert_int_equal(count_of(CH_QUESTION_CONTRADICTION), 1);
    says(CH_QUESTION_CONTRADICTION, "Cylinder 1: a loss of 50 % does not go with 163 psi while cranking.");
    question(FOUR("compression: [{cylinder: 1, reading: 87}, {cylinder: 2, reading: 88}], leakdown: [{cylinder: 1, "
                  "loss: 9 %}, {cylinder: 2, loss: 9 %}]"));
    assert_int_equal(count_of(CH_QUESTION_CONTRADICTION), 1);
    says(CH_QUESTION_CONTRADICTION, "Cylinder 1: it holds air (loss 9 %) yet pumps only 87 psi.");
    question(FOUR("compression: [{cylinder: 1, reading: 87}], leakdown: [{cylinder: 1, loss: 10 %}, {cylinder: 2, "
                  "loss: 5 %}, {cylinder: 1, heard: exhaust}]"));
    assert_int_equal(count_of(CH_QUESTION_CONTRADICTION), 0);
}

/* A hole of 0.32 mm2: 60 % through 0.5 mm and 6.4 % through the usual 1.016 mm. One of 3.1 mm2: 8 % through 3 mm and 92 %. By the orifice equation,
 * worked out apart for air of 1.4 at 80 psi. */
static void holes_are_compared_not_percents(void **state)
{
    (void)state;
    question(FOUR("compression: [{cylinder: 1, reading: 170}, {cylinder: 2, reading: 171}], leakdown: [{cylinder: 1, "
                  "loss: 60 %, supply: 80 psi, orifice: 0.5 mm}, {cylinder: 2, loss: 6.4 %, supply: 80 psi}]"));
    assert_int_equal(count_of(CH_QUESTION_CONTRADICTION), 0);
    question(FOUR("compression: [{cylinder: 1, reading: 170}], leakdown: [{cylinder: 1, loss: 8 %, supply: 80 psi, "
                  "orifice: 3 mm}]"));
    says(CH_QUESTION_CONTRADICTION,
         "Cylinder 1: a loss of 8 % (92 % on the usual orifice) does not go with 170 psi while cranking.");
    question(FOUR("compression: [{cylinder: 1, reading: 60}], leakdown: [{cylinder: 1, loss: 8 %, supply: 80 psi, "
                  "orifice: 3 mm}]"));
    assert_int_equal(count_of(CH_QUESTION_CONTRADICTION), 0);
    question(FOUR("compression: [{cylinder: 1, reading: 60}], leakdown: [{cylinder: 1, loss: 60 %, supply: 80 psi, "
                  "orifice: 0.5 mm}]"));
    says(CH_QUESTION_CONTRADICTION, "it holds air (loss 60 % (6 % on the usual orifice)) yet pumps only 60 psi");
}

/* 1 % of the usual orifice is a hole of 0.12 mm2 (the orifice equation, worked out apart), which nobody hears beside an engine's rings. */
static void a_loss_next_to_nothing_is_asked_about_where_anything_else_tells_of_a_leak(void **state)
{
    (void)state;
    question(FOUR(ROWS(170, 171, 172, 170) ", leakdown: [{cylinder: 4, loss: 0.62 %, heard: [exhaust]}]"));
    says(CH_QUESTION_CONTRADICTION, "Cylinder 4: a loss of 0.62 % is less than any ear hears, yet air was heard. Is it "
                                    "62 %? Read it again while you listen.");
    assert_int_equal(count_of(CH_QUESTION_CONTRADICTION), 1);
    question(FOUR(ROWS(170, 171, 172, 170) ", leakdown: [{cylinder: 4, loss: '0.0012:1', heard: [cylinder_3]}]"));
    says(CH_QUESTION_CONTRADICTION, "a loss of 0.12 % is less than any ear hears, yet air was heard. Is it 12 %? ");
    /* at the filler every engine hisses; nowhere is nowhere; from 1 % on there is something to hear */
    question(FOUR(ROWS(170, 171, 172, 170) ", leakdown: [{cylinder: 1, loss: 0.62 %, heard: [oil_filler]}, {cylinder: "
                                           "2, loss: 0.62 %, heard: [nothing]}, {cylinder: 3, loss: 1 %, heard: "
                                           "[intake]}, {cylinder: 4, loss: 0.62 %}]"));
    assert_int_equal(count_of(CH_QUESTION_CONTRADICTION), 0);
    /* a cylinder that reads less than any sound one does */
    question(FOUR(ROWS(170, 171, 149, 170) ", leakdown: [{cylinder: 3, loss: 0.3 %}]"));
    says(CH_QUESTION_CONTRADICTION, "Cylinder 3: a loss of 0.3 % is next to nothing, yet it pumps only 149 psi where a "
                                    "sound one shows 150 psi or more. Is it 30 %? If it does hold so well, look at ");
    question(FOUR(ROWS(170, 171, 150, 170) ", leakdown: [{cylinder: 3, loss: 0.3 %}]"));
    assert_int_equal(count_of(CH_QUESTION_CONTRADICTION), 0);
}

#define WET(rows)                                                                                                      \
    "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4, bore: 84 mm, stroke: 90 mm, compression_ratio: 10}, "   \
    "conditions: {throttle: open, altitude: 0 m}, compression: [{cylinder: 1, reading: 190}, {cylinder: 2, reading: "  \
    "188}, {cylinder: 3, reading: 140}, {cylinder: 4, reading: 189}], wet: [" rows "]}"

/* pi/4 8.4^2 9.0/(10 - 1) = 55.4 ml, four fifths of it 44.3. */
static void more_oil_than_the_chamber_holds_is_asked_about_in_the_words_of_the_caution(void **state)
{
    (void)state;
    question(WET("{cylinder: 3, reading: 200, oil: 44 ml}"));
    assert_int_equal(count_of(CH_QUESTION_OIL_DOSE), 0);
    question(WET("{cylinder: 3, reading: 20, oil: 45 ml}"));
    assert_string_equal(first_of(CH_QUESTION_OIL_DOSE),
                        "Cylinder 3: 45 ml of oil fill over 80 % of the chamber (55 ml), which would lock the engine, "
                        "so this wet reading does not count. Is the dose right?");
    assert_int_equal(count_of(CH_QUESTION_CONTRADICTION), 0); /* and nothing else is asked of it */
    assert_int_equal(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL), CH_OK);
    question(WET("{cylinder: 3, reading: 200, oil: 120 ml}, {cylinder: 1, reading: 200, oil: 5 ml}"));
    says(CH_QUESTION_OIL_DOSE, "Is the dose right? NOTICE: Liquid above a piston does not give way. A bent connecting "
                               "rod. Measure the oil dose, turn the engine two turns by hand with the plugs out before "
                               "you use the starter.");
    assert_int_equal(count_of(CH_QUESTION_OIL_DOSE), 1);
    ch_knowledge_clear(&knowledge);
    question(FOUR(ROWS(170, 171, 172, 170) ", wet: [{cylinder: 1, reading: 180, oil: 150 ml}]"));
    says(CH_QUESTION_OIL_DOSE, "of the chamber (59 ml as assumed)");
}

/* Oil adds volume and seals, nothing else. Highest: a sound cylinder shows 200 psi at most here, and 5 ml of 55 make 10:1 into 1 + 498.8/50.4 = 10.9:1, by
 * which a reading rises less than (10.9/10)^1.4 = 1.13; a sealed ring pack adds some hundredths. So 200 becomes 220 to 245 psi at most. */
static void a_wet_reading_that_oil_does_not_explain_is_asked_about(void **state)
{
    (void)state;
    question(WET("{cylinder: 1, reading: 60, oil: 5 ml}"));
    says(CH_QUESTION_CONTRADICTION, "Cylinder 1: 60 psi with oil is less than 190 psi without. Oil takes up room");
    question(WET("{cylinder: 1, reading: 150, oil: 5 ml}"));
    assert_int_equal(count_of(CH_QUESTION_CONTRADICTION), 1);
    question(WET("{cylinder: 1, reading: 400, oil: 5 ml}"));
    says(CH_QUESTION_CONTRADICTION, "Cylinder 1: 400 psi with oil is more than ");
    says(CH_QUESTION_CONTRADICTION, "the most that 5 ml can lift a sound cylinder of this engine to. ");
    assert_true(bounds.wet_lift_1[0] > 1.08 && bounds.wet_lift_1[0] < 1.22 && bounds.wet_lift_1[1] == 0.0);
    question(WET("{cylinder: 1, reading: 400}"));
    says(CH_QUESTION_CONTRADICTION, "the most that a usual dose of oil can lift");
    /* what a cylinder that was sound shows, and one whose rings leaked */
    question(WET("{cylinder: 1, reading: 186, oil: 5 ml}, {cylinder: 2, reading: 220, oil: 5 ml}, {cylinder: 3, "
                 "reading: 139, oil: 5 ml}, {cylinder: 3, reading: 205, oil: 12 ml}, {cylinder: 4, reading: 240}"));
    assert_int_equal(count_of(CH_QUESTION_CONTRADICTION), 0);
    /* of dry readings in another unit nothing follows for a wet one */
    question(FOUR(ROWS(12.1, 12.2, 11.9, 12) ", wet: [{cylinder: 1, reading: 200}]"));
    assert_int_equal(count_of(CH_QUESTION_CONTRADICTION), 0);
}

static void a_reading_beyond_the_dial_is_asked_about(void **state)
{
    (void)state;
    question(FOUR("gauge: {span: 150 psi}, " ROWS(149, 150, 151, 148) ", wet: [{cylinder: 1, reading: 160}]"));
    assert_int_equal(count_of(CH_QUESTION_BEYOND_SCALE), 2);
    assert_string_equal(first_of(CH_QUESTION_BEYOND_SCALE),
                        "Cylinder 3: 151 psi lies beyond the gauge's scale, which ends at 150 psi. Look at the number, "
                        "its unit and the span noted.");
    question(FOUR("gauge: {span: 10 bar}, " ROWS(149, 150, 151, 148)));
    assert_int_equal(count_of(CH_QUESTION_BEYOND_SCALE), 4); /* 10 bar are 145 psi */
    question(FOUR(ROWS(349, 350, 351, 348)));
    assert_int_equal(count_of(CH_QUESTION_BEYOND_SCALE), 0); /* the span was not noted */
}

static void one_cylinder_alone_above_others_that_agree_is_asked_about(void **state)
{
    (void)state;
    question(FOUR(ROWS(160, 162, 161, 182)));
    assert_string_equal(
        first_of(CH_QUESTION_ONE_HIGH),
        "Cylinder 4 stands alone with 182 psi above the others, which agree (160 psi to 162 psi) and read "
        "as sound ones may. Oil or carbon in its chamber makes one high as easily as wear makes the "
        "others low: look in through its plug hole, and measure it again.");
    static const char *const NONE[] = {
        FOUR(ROWS(160, 162, 161, 181)),                                                  /* 181.4 were 12 % */
        FOUR(ROWS(153, 162, 161, 190)),                                                  /* the others differ */
        FOUR(ROWS(149, 150, 151, 190)),                                                  /* one of them is low */
        FOUR("compression: [{cylinder: 1, reading: 160}, {cylinder: 4, reading: 190}]"), /* two tell nothing */
        FOUR(ROWS(160, 190, 161, 190)),
    };
    for (size_t i = 0; i < sizeof NONE / sizeof *NONE; i++) {
        question(NONE[i]);
        assert_int_equal(count_of(CH_QUESTION_ONE_HIGH), 0);
    }
}

static void numbers_are_said_as_people_say_them(void **state)
{
    (void)state;
    const ch_unit *psi = ch_unit_find("psi", 3), *bar = ch_unit_find("bar", 3);
    assert_string_equal(judge_say_pressure(175.4 * PSI, psi).text, "175 psi");
    assert_string_equal(judge_say_pressure(12.34e5, bar).text, "12.34 bar");
    assert_string_equal(judge_say_part(0.874).text, "87 %");
    assert_string_equal(judge_say_part(-0.02).text, "-2 %");
    assert_string_equal(judge_say_part(1e9).text, "1000000 %");
    assert_string_equal(judge_say_part(-1e9).text, "-1000000 %");
    assert_string_equal(judge_say_part(NAN).text, "-");
    assert_string_equal(judge_say_part(INFINITY).text, "-");
    assert_string_equal(judge_say_chance(NAN).text, "unknown");
    assert_string_equal(judge_say_chance(0.0099).text, "under 1 %");
    assert_string_equal(judge_say_chance(0.01).text, "about 1 %");
    assert_string_equal(judge_say_chance(0.99).text, "about 99 %");
    assert_string_equal(judge_say_chance(0.991).text, "over 99 %");
}

static void what_cannot_be_judged_is_refused_and_changes_nothing(void **state)
{
    (void)state;
    const ch_judge_options usual = {.seed = 1, .rule = CH_RULE_75_PERCENT}, none = {.seed = 1, .rule = CH_RULE_COUNT};
    ch_sheet sheet;
    ch_err err = {0};
    sheet_of(FOUR(ROWS(170, 166, 171, 168)), &sheet);
    assert_int_equal(judge_check(&sheet, &usual, &err), CH_OK);
    assert_int_equal(judge_check(&sheet, &none, &err), CH_E_RANGE);
    sheet.engine.cylinders = 0;
    err = (ch_err){0};
    assert_int_equal(judge_check(&sheet, &usual, &err), CH_E_RANGE);
    assert_string_equal(err.what, "0 cylinders");
    sheet.engine.cylinders = CH_CYLINDERS_MAX;
    assert_int_equal(judge_check(&sheet, &usual, &err), CH_OK);
    sheet.engine.cylinders = CH_CYLINDERS_MAX + 1;
    assert_int_equal(judge_check(&sheet, &usual, &err), CH_E_RANGE);
    ch_sheet_clear(&sheet);
}

static void sentences_speak_in_the_unit_of_the_first_reading(void **state)
{
    (void)state;
    const ch_judge_options open = {.seed = 1}, bar = {.seed = 1, .pressure_unit = ch_unit_find("bar", 3)};
    ch_sheet sheet;
    sheet_of("{sheet: 1, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: 170 psi}]}", &sheet);
    assert_string_equal(judge_unit_of_sentences(&sheet, &open)->name, "psi");
    assert_string_equal(judge_unit_of_sentences(&sheet, &bar)->name, "bar");
    ch_sheet_clear(&sheet);
    sheet_of("{sheet: 1, engine: {cylinders: 2}, wet: [{cylinder: 1, reading: 11 bar}]}", &sheet);
    assert_string_equal(judge_unit_of_sentences(&sheet, &open)->name, "bar");
    ch_sheet_clear(&sheet);
    sheet_of("{sheet: 1, engine: {cylinders: 2}, leakdown: [{cylinder: 1, loss: 11 %}]}", &sheet);
    assert_string_equal(judge_unit_of_sentences(&sheet, &open)->name, "kPa");
    ch_sheet_clear(&sheet);
}

static void the_standard_day_of_a_single_stroke_is_level_beyond_its_nodes(void **state)
{
    (void)state;
    ch_sheet sheet;
    ch_setup setup;
    sheet_of(FOUR("conditions: {strokes: 1}, " ROWS(170, 166, 171, 168)), &sheet);
    setup_of(&sheet, &setup);
    judge_day day = {.u_factor_1 = 7};
    assert_int_equal(judge_day_build(&setup, 4, &day, NULL), CH_OK);
    /* one stroke: nothing to tell one stroke fewer by, and still a factor above 0 */
    assert_true(day.factor_1[0] > 0.0 && day.factor_1[1] > 0.0 && day.u_factor_1 >= 0.0);
    assert_true(day.reading_pa[0] > day.reading_pa[1]);
    expect_relative(judge_day_factor(&day, 2 * day.reading_pa[0]), day.factor_1[0], 1e-12);
    expect_relative(judge_day_factor(&day, 0.0), day.factor_1[1], 1e-12);
    ch_sheet_clear(&sheet);
}

/* A question is kept as it was asked; one in the same words of the same kind is asked once; what does not fit is left out, and a sentence too long is cut. */
static void a_question_is_kept_as_it_was_asked(void **state)
{
    (void)state;
    memset(&judgement, 0, sizeof judgement);
    judge_ask(&judgement, CH_QUESTION_REPEAT, 3, 7, 0.25, "Is it %d %s?", 5, "psi");
    judge_ask(&judgement, CH_QUESTION_REPEAT, 4, 8, 0.75, "Is it %d psi?", 5); /* in the same words */
    judge_ask(&judgement, CH_QUESTION_UNIT, 4, 8, 0.75, "Is it 5 psi?");
    judge_ask(&judgement, CH_QUESTION_UNIT, 0, SIZE_MAX, 1.0, "Is it 6 psi?");
    judge_ask(&judgement, CH_QUESTION_UNIT, 0, SIZE_MAX, 1.0, "Is it 6 psi?");
    assert_int_equal(judgement.question_count, 3);
    const ch_question *q = judgement.question;
    assert_true(q[0].kind == CH_QUESTION_REPEAT && q[0].cylinder == 3 && q[0].row == 7 && q[0].weight_1 == 0.25);
    assert_string_equal(q[0].text, "Is it 5 psi?");
    assert_true(q[1].kind == CH_QUESTION_UNIT && q[1].cylinder == 4 && q[1].row == 8 && q[1].weight_1 == 0.75);
    assert_true(q[2].kind == CH_QUESTION_UNIT && q[2].cylinder == 0 && q[2].row == SIZE_MAX && q[2].weight_1 == 1.0);
    judge_ask(&judgement, CH_QUESTION_UNIT, 3, 0, 1.0, "Is it %500d?", 3);
    assert_int_equal(strlen(q[3].text), sizeof q[3].text - 1);
    for (int i = 4; i < CH_QUESTIONS_MAX + 2; i++) {
        assert_int_equal(judgement.question_count, i < CH_QUESTIONS_MAX ? i : CH_QUESTIONS_MAX);
        judge_ask(&judgement, CH_QUESTION_UNIT, i, 0, 1.0, "Is it %d bar?", i);
    }
    assert_int_equal(judgement.question_count, CH_QUESTIONS_MAX);
    assert_int_equal(q[CH_QUESTIONS_MAX - 1].cylinder, CH_QUESTIONS_MAX - 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_was_noted_well_is_not_named_among_what_to_look_at),
        cmocka_unit_test(what_was_not_noted_is_named_as_such),
        cmocka_unit_test(an_air_pressure_that_no_weather_brings_is_asked_about),
        cmocka_unit_test(readings_that_are_no_pressures_of_the_engine_are_unreadable),
        cmocka_unit_test(all_high_names_the_ratio_only_where_it_was_assumed),
        cmocka_unit_test(one_cylinder_of_many_tells_nothing_of_the_level),
        cmocka_unit_test(the_most_that_can_be_shown_is_named_with_what_it_rests_on),
        cmocka_unit_test(readings_in_mixed_units_are_questioned_one_by_one),
        cmocka_unit_test(a_unit_that_makes_the_reading_no_likelier_is_not_named),
        cmocka_unit_test(two_readings_that_do_not_agree_ask_for_a_third),
        cmocka_unit_test(three_readings_name_the_one_that_is_off),
        cmocka_unit_test(repeats_elsewhere_tell_what_is_out_of_line),
        cmocka_unit_test(a_hose_of_hardly_any_volume_is_full_at_once),
        cmocka_unit_test(a_shut_throttle_matters_only_where_the_engine_was_cranked),
        cmocka_unit_test(a_hose_far_too_large_needs_far_more_strokes),
        cmocka_unit_test(a_wrong_test_is_named_only_where_there_are_two_to_compare),
        cmocka_unit_test(leak_down_and_cranking_contradict_each_other_only_beyond_their_limits),
        cmocka_unit_test(holes_are_compared_not_percents),
        cmocka_unit_test(a_loss_next_to_nothing_is_asked_about_where_anything_else_tells_of_a_leak),
        cmocka_unit_test(more_oil_than_the_chamber_holds_is_asked_about_in_the_words_of_the_caution),
        cmocka_unit_test(a_wet_reading_that_oil_does_not_explain_is_asked_about),
        cmocka_unit_test(a_reading_beyond_the_dial_is_asked_about),
        cmocka_unit_test(one_cylinder_alone_above_others_that_agree_is_asked_about),
        cmocka_unit_test(numbers_are_said_as_people_say_them),
        cmocka_unit_test(a_question_is_kept_as_it_was_asked),
        cmocka_unit_test(what_cannot_be_judged_is_refused_and_changes_nothing),
        cmocka_unit_test(sentences_speak_in_the_unit_of_the_first_reading),
        cmocka_unit_test(the_standard_day_of_a_single_stroke_is_level_beyond_its_nodes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
