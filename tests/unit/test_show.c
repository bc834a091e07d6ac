/* Promises of show.h: what is shown of a result, in which unit, and what comes of it when there is no room or no memory. */
#include <math.h>
#include <string.h>

#include "../../src/show/page.h"
#include "crosshatch/show.h"
#include "expect.h"
#include "fail_alloc.h"

enum { ROOM = 1 << 20 };

static const ch_show_style PLAIN = {.columns = 80};

static ch_sheet sheet_of(const char *text)
{
    ch_sheet sheet;
    ch_err err = {0};
    if (ch_sheet_parse("sheet.yaml", text, strlen(text), &sheet, &err) < 0)
        fail_msg("%s", err.what);
    return sheet;
}

static void the_owners_unit_is_that_of_the_first_reading(void **state)
{
    (void)state;
    static const struct {
        const char *text, *unit;
    } CASES[] = {
        {"sheet: 1\nengine: {cylinders: 2}\ncompression: [{cylinder: 1, reading: 12 bar}, {cylinder: 2, reading: 170 "
         "psi}]\n",
         "bar"},
        {"sheet: 1\nunits: {pressure: psi}\nengine: {cylinders: 2}\ncompression: [{cylinder: 1, reading: 1.2 MPa}]\n",
         "MPa"},
        {"sheet: 1\nengine: {cylinders: 2}\nwet: [{cylinder: 1, reading: 12 kgf/cm2}]\n", "kgf/cm2"},
        {"sheet: 1\nunits: {pressure: psi}\nengine: {cylinders: 2}\nleakdown: [{cylinder: 1, loss: 9 %}]\n", "psi"},
        {"sheet: 1\nengine: {cylinders: 2}\nleakdown: [{cylinder: 1, loss: 9 %}]\n", "kPa"},
    };
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        ch_sheet sheet = sheet_of(CASES[i].text);
        assert_string_equal(ch_show_pressure_unit(&sheet)->name, CASES[i].unit);
        ch_sheet_clear(&sheet);
    }
}

static void numbers_are_rounded_and_unknown_is_a_dash(void **state)
{
    (void)state;
    char number[CH_SHOW_NUMBER];
    assert_string_equal(ch_show_number(12.345, 2, number), "12.35"); /* 12.345 as a double lies above the tie */
    assert_string_equal(ch_show_number(-0.004, 2, number), "0.00");
    assert_string_equal(ch_show_number(-7.06, 1, number), "-7.1");
    assert_string_equal(ch_show_number(0.5, 0, number), "1");
    assert_string_equal(ch_show_number(NAN, 1, number), "-");
    assert_string_equal(ch_show_number(INFINITY, 0, number), "-");
    assert_string_equal(ch_show_number(1e300, 0, number), "-");
}

static void freedom_without_end_is_said_in_words(void **state)
{
    (void)state;
    char number[CH_SHOW_NUMBER];
    assert_string_equal(ch_show_freedom(INFINITY, number), "infinitely many");
    assert_string_equal(ch_show_freedom(3.46, number), "3.5");
    assert_string_equal(ch_show_freedom(NAN, number), "-");
}

static void a_chance_is_never_said_to_be_none_or_certain(void **state)
{
    (void)state;
    char text[CH_SHOW_NUMBER];
    assert_string_equal(ch_show_chance(0.0, text), "under 1 %");
    assert_string_equal(ch_show_chance(0.0099, text), "under 1 %");
    assert_string_equal(ch_show_chance(0.874, text), "87 %");
    assert_string_equal(ch_show_chance(1.0, text), "over 99 %");
    assert_string_equal(ch_show_chance(NAN, text), "-");
}

static void a_paragraph_keeps_to_the_page_and_loses_no_word(void **state)
{
    (void)state;
    const char *words = "Reads 131 psi, which is 72 % of \xc3\xa9 t\xc3\xa9 and\nso on and on";
    ch_sheet sheet = sheet_of("sheet: 1\nengine: {cylinders: 1}\ncompression: [{cylinder: 1, reading: 9 bar}]\n");
    for (int columns = 12; columns < 60; columns++) {
        ch_text text;
        ch_text_init(&text, ROOM);
        page p;
        const ch_show_style style = {.columns = columns};
        page_open(&p, &sheet, &style, &text);
        page_paragraph(&p, 4, "  - ", words);
        char copy[256];
        snprintf(copy, sizeof copy, "%s", ch_text_string(&text));
        assert_memory_equal(copy, "  - Reads", 9);
        char joined[256] = "";
        for (char *line = strtok(copy, "\n"); line != NULL; line = strtok(NULL, "\n")) {
            assert_true(page_width(line) <= columns);
            assert_memory_equal(line, joined[0] == '\0' ? "  - " : "    ", 4);
            snprintf(joined + strlen(joined), sizeof joined - strlen(joined), "%s%s", joined[0] != '\0' ? " " : "",
                     line + 4);
        }
        assert_string_equal(joined, "Reads 131 psi, which is 72 % of \xc3\xa9 t\xc3\xa9 and so on and on");
        assert_null(strstr(ch_text_string(&text), "72\n")); /* a number keeps its % */
        ch_text_clear(&text);
    }
    ch_sheet_clear(&sheet);
}

static void a_scale_holds_its_largest_pressure_and_ends_on_a_round_number(void **state)
{
    (void)state;
    ch_sheet sheet = sheet_of("sheet: 1\nengine: {cylinders: 1}\ncompression: [{cylinder: 1, reading: 9 bar}]\n");
    ch_text text;
    ch_text_init(&text, ROOM);
    page p;
    page_open(&p, &sheet, &PLAIN, &text);
    for (double most_pa = 1e4; most_pa < 1e7; most_pa *= 1.07) {
        const page_scale scale = page_scale_for(&p, most_pa, 50);
        assert_true(scale.top_pa >= most_pa * (1.0 - 1e-9) && scale.top_pa < 1.5 * most_pa);
        assert_int_equal(page_cell(&scale, 0.0), 0);
        assert_int_equal(page_cell(&scale, NAN), 0);
        assert_int_equal(page_cell(&scale, scale.top_pa), 49);
        assert_int_equal(page_cell(&scale, 0.51 * scale.top_pa), 25);
    }
    const page_scale scale = page_scale_for(&p, 12.1e5, 50);
    page_scale_line(&p, &scale, 3);
    assert_string_equal(ch_text_string(&text), "   0.0      2.5       5.0       7.5      10.0      12.5 bar\n");
    ch_text_clear(&text);
    ch_sheet_clear(&sheet);
}

static const char ENGINE[] = "sheet: 1\nengine: {cylinders: 3, bore: 80 mm, stroke: 80 mm, compression_ratio: 9}\n"
                             "compression: [{cylinder: 1, reading: 170 psi}]\nleaks: [{cylinder: 2, rings: 3 mm2}]\n";

static void a_prediction_shows_equal_cylinders_once(void **state)
{
    (void)state;
    ch_sheet sheet = sheet_of(ENGINE);
    ch_prediction prediction;
    ch_text text;
    ch_text_init(&text, ROOM);
    assert_int_equal(ch_predict(&sheet, &prediction, NULL), CH_OK);
    ch_show_prediction_text(&sheet, &prediction, &PLAIN, &text);
    const char *shown = ch_text_string(&text);
    assert_non_null(strstr(shown, "cyl 1, 3 "));
    assert_non_null(strstr(shown, "cyl 2 "));
    assert_null(strstr(shown, "cyl 3"));
    assert_non_null(strstr(shown, "rod_length"));    /* assumed */
    assert_null(strstr(shown, "compression_ratio")); /* given */
    assert_null(strstr(shown, "\033"));
    ch_text_clear(&text);
    ch_sheet_clear(&sheet);
}

static void json_without_room_or_memory_fails_as_a_whole(void **state)
{
    (void)state;
    ch_sheet sheet = sheet_of(ENGINE);
    ch_prediction prediction;
    assert_int_equal(ch_predict(&sheet, &prediction, NULL), CH_OK);
    ch_text text;
    ch_text_init(&text, 100);
    ch_err err = {0};
    assert_int_equal(ch_show_prediction_json(&prediction, true, &text, &err), CH_E_LIMIT);
    assert_int_equal(err.status, CH_E_LIMIT);
    ch_text_clear(&text);
    for (long n = 1;; n++) {
        ch_text_init(&text, ROOM);
        fail_alloc_at(n);
        const ch_status rc = ch_show_prediction_json(&prediction, false, &text, NULL);
        const bool failed = fail_alloc_stop();
        ch_text_clear(&text);
        assert_int_equal(rc, failed ? CH_E_MEMORY : CH_OK);
        if (!failed)
            break;
    }
    ch_sheet_clear(&sheet);
}

static void every_kind_of_question_has_a_name_of_its_own(void **state)
{
    (void)state;
    for (int a = 0; a < CH_QUESTION_KIND_COUNT; a++) {
        assert_non_null(ch_show_question_name((ch_question_kind)a));
        for (int b = 0; b < a; b++)
            assert_string_not_equal(ch_show_question_name((ch_question_kind)a),
                                    ch_show_question_name((ch_question_kind)b));
    }
}

/* Chances that stand beside each other are of things that exclude each other: a sound cylinder, a fault, a test that misleads. */
static void how_sure_keeps_a_test_that_misleads_apart_from_a_sound_cylinder(void **state)
{
    (void)state;
    ch_knowledge knowledge;
    static ch_judgement judgement;
    char sentence[CH_SHOW_SENTENCE];
    assert_true(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL) >= 0);
    ch_sheet sheet = sheet_of("sheet: 1\nengine: {cylinders: 1}\ncompression: [{cylinder: 1, reading: 90 psi}]\n");
    judgement.trace.cylinders = 1;
    judgement.trace.reliable = true;
    judgement.trace.cylinder[0].cylinder = 1;
    const ch_show_judged judged = {.sheet = &sheet, .knowledge = &knowledge, .judgement = &judgement};
    double *cause_1 = judgement.trace.cylinder[0].cause_1;
    cause_1[CH_CAUSE_EXHAUST_VALVE] = 0.74;
    cause_1[CH_CAUSE_MEASUREMENT_ERROR] = 0.26;
    ch_show_how_sure(&judged, sentence);
    assert_string_equal(sentence, "How sure: cylinder 1 is sound, and was read right, with a chance of under 1 %; its "
                                  "test misleads with 26 %. Likeliest trouble (74 %): Exhaust valve leaks: burnt, seat "
                                  "sunk or loose, held open.");
    cause_1[CH_CAUSE_EXHAUST_VALVE] = 0.30;
    cause_1[CH_CAUSE_MEASUREMENT_ERROR] = 0.70; /* it is the likeliest itself */
    ch_show_how_sure(&judged, sentence);
    assert_string_equal(sentence, "How sure: cylinder 1 is sound, and was read right, with a chance of under 1 %. "
                                  "Repeat its test first, before anything is taken apart: that it misleads (70 %) is "
                                  "likelier than that something is wrong with the cylinder (30 %).");
    cause_1[CH_CAUSE_MEASUREMENT_ERROR] = 0.42; /* likelier than any one trouble */
    cause_1[CH_CAUSE_RINGS_OR_BORE] = 0.28;
    ch_show_how_sure(&judged, sentence);
    assert_non_null(strstr(sentence,
                           "Repeat its test first, before anything is taken apart: that it misleads (42 %) is "
                           "likelier than any one trouble of the engine, though not than all of them together "
                           "(58 %)."));
    judgement.question_count = 1;
    judgement.question[0] = (ch_question){.kind = CH_QUESTION_CONTRADICTION, .cylinder = 1};
    ch_show_how_sure(&judged, sentence);
    assert_non_null(
        strstr(sentence, "Its tests contradict each other, so repeat them first: that one of them misleads"));
    judgement.question_count = 0;
    cause_1[CH_CAUSE_MEASUREMENT_ERROR] = 0.22; /* likeliest by a hair, and rather the engine than the test */
    for (int k = CH_CAUSE_RINGS_OR_BORE; k < CH_CAUSE_RINGS_OR_BORE + 4; k++)
        cause_1[k] = 0.195;
    ch_show_how_sure(&judged, sentence);
    assert_non_null(strstr(sentence, "its test misleads with 22 %. Likeliest trouble (20 %): Worn"));
    for (int k = CH_CAUSE_RINGS_OR_BORE; k < CH_CAUSE_RINGS_OR_BORE + 4; k++)
        cause_1[k] = 0.0;
    cause_1[CH_CAUSE_EXHAUST_VALVE] = 0.74;
    cause_1[CH_CAUSE_MEASUREMENT_ERROR] = 0.009;
    cause_1[CH_CAUSE_SOUND] = 0.251;
    ch_show_how_sure(&judged, sentence);
    assert_non_null(strstr(sentence, "cylinder 1 is sound with a chance of 25 %. Likeliest trouble (74 %): "));
    judgement.question_count = 2; /* of another cylinder, and of another kind */
    judgement.question[0] = (ch_question){.kind = CH_QUESTION_CONTRADICTION, .cylinder = 2};
    judgement.question[1] = (ch_question){.kind = CH_QUESTION_REPEAT, .cylinder = 1};
    ch_show_how_sure(&judged, sentence);
    assert_non_null(strstr(sentence, "with a chance of 25 %. Likeliest trouble (74 %): "));
    judgement.question[0].cylinder = 1;
    ch_show_how_sure(&judged, sentence);
    assert_non_null(strstr(sentence, "with a chance of 25 %. Its tests contradict each other: settle that first. Until "
                                     "then, likeliest trouble (74 %): Exhaust valve leaks"));
    ch_sheet_clear(&sheet);
    ch_knowledge_clear(&knowledge);
}

static void what_a_cause_means_is_flat_only_where_it_is_next_to_sure(void **state)
{
    (void)state;
    char sentence[CH_SHOW_SENTENCE];
    const ch_knowledge_cause cause = {.says = "The valve leaks; you hear it."};
    ch_show_cause_says(&cause, 0.90, sentence);
    assert_string_equal(sentence, "The valve leaks; you hear it.");
    ch_show_cause_says(&cause, 0.89, sentence);
    assert_string_equal(sentence, "If it is the first of these: the valve leaks; you hear it.");
}

/* A judgement that recommends every check that the program knows, and of which nothing else is known. */
static void recommend(const ch_knowledge *knowledge, size_t from, ch_judgement *judgement)
{
    memset(judgement, 0, sizeof *judgement);
    judgement->cylinders = 3;
    judgement->trace.cylinders = 3;
    judgement->trace.reliable = true;
    for (int c = 0; c < 3; c++) {
        judgement->cylinder[c] = (ch_judged_cylinder){.cylinder = c + 1,
                                                      .mean_pa = NAN,
                                                      .median_pa = NAN,
                                                      .sd_pa = NAN,
                                                      .u_pa = NAN,
                                                      .u_with_gauge_pa = NAN,
                                                      .df = NAN,
                                                      .first_over_final_1 = NAN,
                                                      .expected_pa = {NAN, NAN},
                                                      .expected_median_pa = NAN,
                                                      .standard_day_pa = NAN,
                                                      .u_standard_day_pa = NAN,
                                                      .leak_area_m2 = {NAN, NAN, NAN},
                                                      .chance_below_minimum_1 = NAN,
                                                      .repeat_gain_1 = NAN};
        judgement->trace.cylinder[c].cylinder = c + 1;
        judgement->trace.cylinder[c].cause_1[CH_CAUSE_SOUND] = 0.25;
        judgement->trace.cylinder[c].cause_1[CH_CAUSE_HEAD_GASKET_TO_COOLANT] = 0.75;
    }
    judgement->ratio_1 = NAN;
    for (size_t i = from; i < knowledge->checks_count && judgement->trace.next_check_count < 6; i++)
        judgement->trace.next_check[judgement->trace.next_check_count++] =
            (ch_trace_check){.check = &knowledge->checks[i],
                             .cylinder = knowledge->checks[i].scope == CH_SCOPE_CYLINDER ? 2 : 0,
                             .minutes = 12.0,
                             .bits_1 = 0.5};
}

static void every_caution_stands_before_the_step_that_it_belongs_to(void **state)
{
    (void)state;
    ch_sheet sheet = sheet_of(ENGINE);
    ch_knowledge knowledge = {0};
    assert_int_equal(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL), CH_OK);
    ch_judge_options options = {.seed = 1};
    ch_judgement judgement;
    for (size_t from = 0; from < knowledge.checks_count; from += 6) {
        recommend(&knowledge, from, &judgement);
        const ch_show_judged judged = {
            .sheet = &sheet, .knowledge = &knowledge, .options = &options, .judgement = &judgement};
        const ch_show_style wide = {.columns = 4000}; /* so that no sentence is broken and each can be found */
        ch_text text;
        ch_text_init(&text, ROOM);
        ch_show_judgement_text(&judged, &wide, &text);
        assert_int_equal(ch_text_check(&text, NULL), CH_OK);
        const char *at = strstr(ch_text_string(&text), knowledge.always);
        assert_non_null(at);
        for (size_t i = 0; i < judgement.trace.next_check_count; i++) {
            const ch_knowledge_check *check = judgement.trace.next_check[i].check;
            const char *title = strstr(at, check->title), *step = NULL;
            assert_non_null(title);
            step = strstr(title, check->says);
            assert_non_null(step);
            for (size_t k = 0; k < check->cautions.count; k++) {
                const ch_knowledge_caution *caution = &knowledge.cautions[check->cautions.at[k]];
                char line[4096];
                snprintf(line, sizeof line, "\n     %-8s %s", ch_signal_word_name(caution->word), caution->hazard);
                const char *said = strstr(title, line);
                assert_true(said != NULL && said < step);
            }
            at = step;
        }
        ch_text_clear(&text);
    }
    ch_knowledge_clear(&knowledge);
    ch_sheet_clear(&sheet);
}

/* The text of a judgement of three tested cylinders, each likely with a leaking gasket. */
static void text_of(bool reliable, ch_text *text)
{
    static const char TESTED[] =
        "{sheet: 1, engine: {cylinders: 3}, units: {pressure: psi}, compression: [{cylinder: 1, "
        "reading: 90}, {cylinder: 2, reading: 95}, {cylinder: 3, reading: 99}]}";
    ch_sheet sheet = sheet_of(TESTED);
    ch_knowledge knowledge = {0};
    assert_int_equal(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL), CH_OK);
    const ch_judge_options options = {.seed = 1};
    ch_judgement judgement;
    recommend(&knowledge, 0, &judgement);
    judgement.trace.reliable = reliable;
    const ch_show_judged judged = {
        .sheet = &sheet, .knowledge = &knowledge, .options = &options, .judgement = &judgement};
    const ch_show_style wide = {.columns = 4000};
    ch_text_init(text, ROOM);
    ch_show_judgement_text(&judged, &wide, text);
    assert_int_equal(ch_text_check(text, NULL), CH_OK);
    ch_knowledge_clear(&knowledge);
    ch_sheet_clear(&sheet);
}

static void a_tracing_that_is_not_reliable_names_no_cause_and_ranks_no_check(void **state)
{
    (void)state;
    ch_text text;
    text_of(true, &text);
    assert_non_null(strstr(ch_text_string(&text), "Likeliest trouble"));
    assert_non_null(strstr(ch_text_string(&text), "What it may be"));
    assert_non_null(strstr(ch_text_string(&text), "What to check next"));
    ch_text_clear(&text);
    text_of(false, &text);
    assert_non_null(strstr(ch_text_string(&text), ch_show_no_cause()));
    assert_null(strstr(ch_text_string(&text), "Likeliest trouble"));
    assert_null(strstr(ch_text_string(&text), "What it may be"));
    assert_null(strstr(ch_text_string(&text), "soonest to being sure first"));
    /* what is left is to read again, and its cautions stand before it */
    const char *step = strstr(ch_text_string(&text), "Read this cylinder again"),
               *warning = strstr(ch_text_string(&text), "WARNING ");
    assert_true(step != NULL && warning != NULL && warning < step);
    ch_text_clear(&text);
}

static void readings_that_cannot_be_are_the_headline(void **state)
{
    (void)state;
    ch_knowledge knowledge = {0};
    ch_sheet sheet = sheet_of("{sheet: 1, engine: {cylinders: 3}, compression: [{cylinder: 1, reading: 90 bar}]}");
    const ch_judge_options options = {.seed = 1};
    ch_judgement judgement;
    char sentence[CH_SHOW_SENTENCE];
    assert_int_equal(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL), CH_OK);
    recommend(&knowledge, 0, &judgement);
    judgement.unreadable = true;
    const ch_show_judged judged = {
        .sheet = &sheet, .knowledge = &knowledge, .options = &options, .judgement = &judgement};
    ch_show_how_sure(&judged, sentence);
    assert_non_null(strstr(sentence, "no pressures of an engine like this"));
    assert_null(strstr(sentence, "Likeliest trouble"));
    ch_knowledge_clear(&knowledge);
    ch_sheet_clear(&sheet);
}

static void expect_in_text(const ch_show_judged *judged, const char *words, bool wanted)
{
    const ch_show_style style = {.columns = 80};
    ch_text text;
    ch_text_init(&text, ROOM);
    ch_show_judgement_text(judged, &style, &text);
    assert_int_equal(ch_text_check(&text, NULL), CH_OK);
    if ((strstr(ch_text_string(&text), words) != NULL) != wanted)
        fail_msg("%s: %s", words, strstr(ch_text_string(&text), "What it may be"));
    ch_text_clear(&text);
}

/* What the causes of several cylinders have in common, and what is asked of them, is told once; of an engine of another kind nothing but that. */
static void what_is_told_of_several_cylinders_is_told_once(void **state)
{
    (void)state;
    ch_knowledge knowledge = {0};
    static ch_judgement judgement;
    ch_sheet sheet = sheet_of(
        "{sheet: 1, engine: {cylinders: 4}, compression: [{cylinder: 1, reading: 110 psi}, {cylinder: 2, reading: "
        "110 psi}, {cylinder: 3, reading: 110 psi}, {cylinder: 4, reading: 110 psi}]}");
    const ch_judge_options options = {.seed = 1};
    assert_int_equal(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL), CH_OK);
    judgement.cylinders = judgement.trace.cylinders = 4;
    judgement.trace.reliable = true;
    judgement.minimum_pa = judgement.standard_pa = judgement.ratio_1 = NAN;
    for (int c = 0; c < 4; c++) {
        double *cause_1 = judgement.trace.cylinder[c].cause_1;
        judgement.cylinder[c] =
            (ch_judged_cylinder){.cylinder = c + 1, .n = 1, .mean_pa = 758e3, .expected_pa = {900e3, 1300e3}};
        judgement.trace.cylinder[c].cylinder = c + 1;
        cause_1[CH_CAUSE_RINGS_OR_BORE] = c == 2 ? 0.5 : 0.7 + 0.007 * c;
        cause_1[CH_CAUSE_EXHAUST_VALVE] = c == 3 ? 0.004 : 0.008;
        cause_1[CH_CAUSE_SOUND] = 1.0 - cause_1[CH_CAUSE_RINGS_OR_BORE] - cause_1[CH_CAUSE_EXHAUST_VALVE];
        ch_question *q = &judgement.question[judgement.question_count++];
        *q = (ch_question){.kind = CH_QUESTION_FIRST_OVER_FINAL, .cylinder = c + 1, .row = (size_t)c, .weight_1 = 0.9};
        snprintf(q->text, sizeof q->text, "Cylinder %d: the first stroke (%d psi) is odd.", c + 1, 120 + c);
    }
    const ch_show_judged judged = {
        .sheet = &sheet, .knowledge = &knowledge, .options = &options, .judgement = &judgement};
    expect_in_text(&judged, "  Cylinders 1, 2 and 4\n     70..72 % |##############      |  Worn", true);
    expect_in_text(&judged, "  Cylinder 3\n         50 % |##########          |  Worn", true);
    expect_in_text(&judged, "Cylinders 1 to 4, each: the first stroke (120 to 123 psi) is odd.", true);
    expect_in_text(&judged, "Cylinder 2: ", false);
    judgement.outside = judgement.unreadable = true;
    judgement.verdict = CH_VERDICT_UNCLEAR;
    judgement.because_count = 1;
    snprintf(judgement.because[0], sizeof judgement.because[0], "Outside of all this.");
    char sentence[CH_SHOW_SENTENCE];
    ch_show_how_sure(&judged, sentence);
    assert_string_equal(sentence, "How sure: of nothing. This engine is outside what can be judged here.");
    expect_in_text(
        &judged,
        "Verdict: unclear. Outside of all this.\n\nThis advises; the car's own service manual and you decide.\n", true);
    ch_knowledge_clear(&knowledge);
    ch_sheet_clear(&sheet);
}

static void unknown_numbers_of_a_judgement_are_dashes_and_nulls(void **state)
{
    (void)state;
    ch_sheet sheet = sheet_of(ENGINE);
    ch_knowledge knowledge = {0};
    assert_int_equal(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL), CH_OK);
    ch_judge_options options = {.seed = 1};
    ch_judgement judgement;
    recommend(&knowledge, 0, &judgement);
    for (int i = 0; i < CH_RULE_COUNT; i++)
        judgement.rule[i] = (ch_rule_outcome){
            .rule = (ch_balance_rule)i, .chance_broken_1 = NAN, .id = "id", .says = "says", .source = "source"};
    const ch_trace_reason reason = {.what = "the wet test of cylinder 2",
                                    .cause = CH_CAUSE_SOUND,
                                    .with_1 = NAN,
                                    .without_1 = NAN,
                                    .instead_1 = NAN};
    const ch_show_judged judged = {.sheet = &sheet,
                                   .knowledge = &knowledge,
                                   .options = &options,
                                   .judgement = &judgement,
                                   .why = 2,
                                   .reason = &reason,
                                   .reason_count = 1};
    const ch_show_style style = {.columns = 80, .working = true};
    ch_text text;
    ch_text_init(&text, ROOM);
    ch_show_judgement_text(&judged, &style, &text);
    assert_int_equal(ch_text_check(&text, NULL), CH_OK);
    assert_null(strstr(ch_text_string(&text), "nan"));
    assert_non_null(strstr(ch_text_string(&text), "no reading"));
    ch_text_clear(&text);
    for (long n = 1;; n++) {
        ch_text_init(&text, ROOM);
        fail_alloc_at(n);
        const ch_status rc = ch_show_judgement_json(&judged, true, &text, NULL);
        const bool failed = fail_alloc_stop();
        assert_int_equal(rc, failed ? CH_E_MEMORY : CH_OK);
        if (!failed)
            break;
        ch_text_clear(&text);
    }
    assert_null(strstr(ch_text_string(&text), "nan"));
    assert_non_null(strstr(ch_text_string(&text), "\"mean_kPa\": null"));
    ch_text_clear(&text);
    ch_knowledge_clear(&knowledge);
    ch_sheet_clear(&sheet);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_owners_unit_is_that_of_the_first_reading),
        cmocka_unit_test(numbers_are_rounded_and_unknown_is_a_dash),
        cmocka_unit_test(freedom_without_end_is_said_in_words),
        cmocka_unit_test(a_chance_is_never_said_to_be_none_or_certain),
        cmocka_unit_test(a_paragraph_keeps_to_the_page_and_loses_no_word),
        cmocka_unit_test(a_scale_holds_its_largest_pressure_and_ends_on_a_round_number),
        cmocka_unit_test(a_prediction_shows_equal_cylinders_once),
        cmocka_unit_test(json_without_room_or_memory_fails_as_a_whole),
        cmocka_unit_test(every_caution_stands_before_the_step_that_it_belongs_to),
        cmocka_unit_test(a_tracing_that_is_not_reliable_names_no_cause_and_ranks_no_check),
        cmocka_unit_test(readings_that_cannot_be_are_the_headline),
        cmocka_unit_test(what_is_told_of_several_cylinders_is_told_once),
        cmocka_unit_test(unknown_numbers_of_a_judgement_are_dashes_and_nulls),
        cmocka_unit_test(every_kind_of_question_has_a_name_of_its_own),
        cmocka_unit_test(how_sure_keeps_a_test_that_misleads_apart_from_a_sound_cylinder),
        cmocka_unit_test(what_a_cause_means_is_flat_only_where_it_is_next_to_sure),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
