/* Promises of whatif.h and show_whatif.h: the model with its inputs moved, what is said of it, and its two drawings. */
#include <math.h>
#include <string.h>

#include "crosshatch/predict.h"
#include "crosshatch/show_whatif.h"
#include "expect.h"
#include "fail_alloc.h"

static const char TEXT[] = "sheet: 1\n"
                           "engine: {cylinders: 4, bore: 80.5 mm, stroke: 88 mm, compression_ratio: 9.6}\n"
                           "conditions: {altitude: 450 m, barometer: 962 hPa, cranking_speed: 210 rpm}\n"
                           "compression: [{cylinder: 1, reading: 170 psi}]\n"
                           "leaks: [{cylinder: all, rings: 0.5 mm2}]\n";

static ch_sheet sheet_of(const char *text)
{
    ch_sheet sheet;
    ch_err err = {0};
    if (ch_sheet_parse("sheet.yaml", text, strlen(text), &sheet, &err) < 0)
        fail_msg("%s", err.what);
    return sheet;
}

/* The sheet with one input moved. */
static void compute(const char *text, ch_whatif_input input, double si, ch_whatif *whatif)
{
    ch_sheet sheet = sheet_of(text);
    ch_whatif_inputs before;
    assert_int_equal(ch_whatif_from_sheet(&sheet, &before, NULL), CH_OK);
    ch_whatif_inputs now = before;
    now.si[input] = si;
    assert_int_equal(ch_whatif_compute(&sheet, &before, &now, whatif, NULL), CH_OK);
    ch_sheet_clear(&sheet);
}

static ch_show_whatif_units units(void)
{
    return (ch_show_whatif_units){.pressure = ch_unit_find("psi", 3), .temperature = ch_unit_find("C", 1)};
}

static void what_is_not_moved_is_as_predicted(void **state)
{
    (void)state;
    static const char *const DAYS[] = {"altitude: 450 m, barometer: 962 hPa", "barometer: 700 hPa", "altitude: 1200 m",
                                       "altitude: 300 m, throttle: shut"};
    for (size_t i = 0; i < sizeof DAYS / sizeof DAYS[0]; i++) {
        char text[512];
        snprintf(text, sizeof text,
                 "sheet: 1\nengine: {cylinders: 4}\nconditions: {%s}\n"
                 "compression: [{cylinder: 1, reading: 170 psi}]\n",
                 DAYS[i]);
        ch_sheet sheet = sheet_of(text);
        ch_prediction prediction;
        ch_whatif whatif;
        ch_whatif_inputs inputs;
        assert_int_equal(ch_predict(&sheet, &prediction, NULL), CH_OK);
        assert_int_equal(ch_whatif_from_sheet(&sheet, &inputs, NULL), CH_OK);
        assert_int_equal(ch_whatif_compute(&sheet, &inputs, &inputs, &whatif, NULL), CH_OK);
        /* The ambient pressure goes through the standard atmosphere and back: the last bits, and with them some step sizes, differ. */
        for (int s = 0; s < prediction.strokes; s++)
            expect_relative(whatif.now_run.stroke_gauge_pa[s], prediction.gauge_pa[0][s], 1e-4);
        ch_sheet_clear(&sheet);
    }
}

static void the_last_stroke_is_whole_and_holds_together(void **state)
{
    (void)state;
    ch_whatif whatif;
    compute(TEXT, CH_WHATIF_RINGS, 0.5e-6, &whatif);
    const ch_whatif_run *run = &whatif.now_run;
    const double pi = 3.14159265358979323846;
    assert_true(run->points > 100 && run->points < CH_WHATIF_POINTS);
    expect_close(run->angle_rad[0], -pi, 1e-6);
    expect_close(run->angle_rad[run->points - 1], pi, 1e-6);
    double most_pa = 0.0;
    for (int i = 1; i < run->points; i++) {
        assert_true(run->angle_rad[i] > run->angle_rad[i - 1]);
        assert_true(run->angle_rad[i] - run->angle_rad[i - 1] <
                    0.36); /* the model's longest step afloat aside, 20 degrees */
        most_pa = fmax(most_pa, run->pressure_pa[i]);
    }
    /* The gauge shows what got past its check valve: a little less than the highest pressure. */
    assert_true(most_pa > run->facts.gauge_pa && most_pa < 1.05 * run->facts.gauge_pa);
    assert_true(run->facts.lost_1 > 0.0 && run->facts.lost_1 < 0.2);
    assert_true(run->closing_rad > -pi && run->closing_rad < 0.0);
}

static void a_change_alone_is_told_apart_from_the_whole(void **state)
{
    (void)state;
    ch_sheet sheet = sheet_of(TEXT);
    ch_whatif_inputs before, now;
    ch_whatif whatif;
    assert_int_equal(ch_whatif_from_sheet(&sheet, &before, NULL), CH_OK);
    now = before;
    now.si[CH_WHATIF_RINGS] = 2e-6;
    now.si[CH_WHATIF_COMPRESSION_RATIO] = 11.0;
    assert_int_equal(ch_whatif_compute(&sheet, &before, &now, &whatif, NULL), CH_OK);
    const double was = whatif.before_run.facts.gauge_pa;
    assert_true(whatif.changed[CH_WHATIF_RINGS] && whatif.changed[CH_WHATIF_COMPRESSION_RATIO]);
    assert_false(whatif.changed[CH_WHATIF_STROKES]);
    assert_true(whatif.alone[CH_WHATIF_RINGS].gauge_pa < was);
    assert_true(whatif.alone[CH_WHATIF_COMPRESSION_RATIO].gauge_pa > was);
    assert_true(whatif.now_run.facts.gauge_pa > whatif.alone[CH_WHATIF_RINGS].gauge_pa);
    assert_true(whatif.now_run.facts.gauge_pa < whatif.alone[CH_WHATIF_COMPRESSION_RATIO].gauge_pa);
    ch_sheet_clear(&sheet);
}

static void what_is_out_of_range_is_refused_and_nothing_written(void **state)
{
    (void)state;
    ch_sheet sheet = sheet_of(TEXT);
    ch_whatif_inputs before;
    assert_int_equal(ch_whatif_from_sheet(&sheet, &before, NULL), CH_OK);
    for (int i = 0; i < CH_WHATIF_COUNT; i++) {
        static const double WRONG[] = {NAN, INFINITY, -1e9, 1e9};
        assert_int_equal(ch_whatif_check((ch_whatif_input)i, before.si[i], NULL), CH_OK);
        for (size_t k = 0; k < sizeof WRONG / sizeof WRONG[0]; k++) {
            ch_whatif_inputs now = before;
            ch_whatif whatif, same;
            memset(&whatif, 0x5a, sizeof whatif);
            memset(&same, 0x5a, sizeof same);
            now.si[i] = WRONG[k];
            assert_int_equal(ch_whatif_compute(&sheet, &before, &now, &whatif, NULL), CH_E_RANGE);
            assert_memory_equal(&whatif, &same, sizeof same);
        }
    }
    ch_sheet_clear(&sheet);
}

static void every_input_says_why_with_its_own_numbers(void **state)
{
    (void)state;
    static const struct {
        ch_whatif_input input;
        double si;
        const char *words;
    } CASES[] = {
        {CH_WHATIF_ALTITUDE, 2000.0, "Altitude 2000 m instead of 450 m: the air outside stands at"},
        {CH_WHATIF_SEA_LEVEL_PRESSURE, 96e3, "instead of 962"},
        {CH_WHATIF_AIR_TEMPERATURE, 303.15, "Air temperature 30 C"},
        {CH_WHATIF_ENGINE_TEMPERATURE, 283.15, "10 C instead of 70 C: the trapped air is at"},
        {CH_WHATIF_CRANKING_SPEED, 15.707963267948966, "a compression takes 0.20 s instead of 0.14: more time"},
        {CH_WHATIF_STROKES, 4.0, "after 4 the gauge shows"},
        {CH_WHATIF_THROTTLE, 1.0, "shut instead of open: the intake stands at"},
        {CH_WHATIF_COMPRESSION_RATIO, 11.0, "11 instead of 9.6: from the closed intake valve on the air is squeezed"},
        {CH_WHATIF_INTAKE_CLOSES, 1.3962634015954636, "80 deg instead of 50 deg: the piston pushes air back out"},
        {CH_WHATIF_HOSE_VOLUME, 40e-6, "40 ml instead of 12 ml: there is more hose to pump up"},
        {CH_WHATIF_DEAD_VOLUME, 10e-6, "10 ml instead of 2 ml: its room is part of the chamber"},
        {CH_WHATIF_RINGS, 3e-6, "3 mm2 instead of 0.5 mm2"},
        {CH_WHATIF_INTAKE_VALVE, 1e-6, "past the intake valve 1 mm2"},
        {CH_WHATIF_EXHAUST_VALVE, 1e-6, "of the trapped air is gone by the top of the last stroke"},
    };
    assert_int_equal(sizeof CASES / sizeof CASES[0], CH_WHATIF_COUNT);
    const ch_show_whatif_units in = units();
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        ch_whatif whatif;
        ch_text text;
        char change[CH_SHOW_NUMBER], by[CH_SHOW_NUMBER + 16];
        compute(TEXT, CASES[i].input, CASES[i].si, &whatif);
        ch_text_init(&text, 2000);
        ch_show_whatif_why(&whatif, CASES[i].input, &in, &text);
        if (strstr(ch_text_string(&text), CASES[i].words) == NULL)
            fail_msg("%s", ch_text_string(&text));
        snprintf(by, sizeof by, "By itself: %s.",
                 ch_show_whatif_change(whatif.before_run.facts.gauge_pa, whatif.now_run.facts.gauge_pa, change));
        assert_non_null(strstr(ch_text_string(&text), by));
        ch_text_clear(&text);
    }
}

static int count_of(const char *text, const char *word)
{
    int n = 0;
    for (const char *p = text; (p = strstr(p, word)) != NULL; p += strlen(word))
        n++;
    return n;
}

typedef ch_status draw(const ch_whatif *whatif, const ch_unit *pressure, ch_svg *svg, ch_err *err);

static draw *const DRAWINGS[] = {ch_show_pumpup_svg, ch_show_cycle_svg};

static void a_drawing_has_before_dotted_and_now_solid_and_says_both_in_words(void **state)
{
    (void)state;
    ch_whatif moved, same;
    compute(TEXT, CH_WHATIF_HOSE_VOLUME, 40e-6, &moved);
    compute(TEXT, CH_WHATIF_RINGS, 0.5e-6, &same);
    for (size_t i = 0; i < 2; i++) {
        ch_svg svg;
        assert_int_equal(DRAWINGS[i](&moved, ch_unit_find("psi", 3), &svg, NULL), CH_OK);
        const char *text = ch_text_string(&svg.text);
        assert_int_equal(count_of(text, "<path "), 2);
        assert_int_equal(count_of(text, "<path d=\"M"), 2);
        assert_non_null(strstr(text, "role=\"img\""));
        assert_non_null(strstr(text, ">before</text>"));
        assert_non_null(strstr(text, ">now</text>"));
        assert_non_null(strstr(text, ">Before: ")); /* in the description */
        assert_non_null(strstr(text, " Now: "));
        assert_null(strstr(text, "nan"));
        ch_svg_clear(&svg);
        assert_int_equal(DRAWINGS[i](&same, ch_unit_find("psi", 3), &svg, NULL), CH_OK);
        text = ch_text_string(&svg.text);
        assert_int_equal(count_of(text, "<path "), 1);
        assert_null(strstr(text, ">before</text>"));
        assert_null(strstr(text, "Before: "));
        ch_svg_clear(&svg);
    }
}

static void a_drawing_keeps_within_itself_however_far_the_inputs_go(void **state)
{
    (void)state;
    static const struct {
        ch_whatif_input input;
        double si;
    } CASES[] = {{CH_WHATIF_STROKES, 100.0},
                 {CH_WHATIF_STROKES, 1.0},
                 {CH_WHATIF_RINGS, 1e-4},
                 {CH_WHATIF_THROTTLE, 1.0},
                 {CH_WHATIF_COMPRESSION_RATIO, 30.0}};
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++)
        for (size_t d = 0; d < 2; d++) {
            ch_whatif whatif;
            ch_svg svg;
            compute(TEXT, CASES[i].input, CASES[i].si, &whatif);
            assert_int_equal(DRAWINGS[d](&whatif, ch_unit_find("kPa", 3), &svg, NULL), CH_OK);
            int points = 0;
            for (const char *p = ch_text_string(&svg.text); (p = strstr(p, "<path d=\"")) != NULL;) {
                p += strlen("<path d=\"");
                double x, y;
                int read;
                while (sscanf(p, " %*1[ML]%lf %lf%n", &x, &y, &read) == 2) {
                    assert_true(x >= 40.0 && x <= 340.0 && y >= 20.0 && y <= 190.0);
                    p += read;
                    points++;
                }
                assert_int_equal(*p, '"');
            }
            assert_true(points > 4);
            assert_true(count_of(ch_text_string(&svg.text), "<text ") <
                        30); /* numbers that do not run into each other */
            ch_svg_clear(&svg);
        }
}

static void a_drawing_without_memory_fails_as_a_whole(void **state)
{
    (void)state;
    ch_whatif whatif;
    compute(TEXT, CH_WHATIF_HOSE_VOLUME, 40e-6, &whatif);
    for (size_t d = 0; d < 2; d++)
        for (long n = 1;; n++) {
            ch_svg svg;
            fail_alloc_at(n);
            const ch_status rc = DRAWINGS[d](&whatif, ch_unit_find("psi", 3), &svg, NULL);
            const bool failed = fail_alloc_stop();
            assert_int_equal(rc, failed ? CH_E_MEMORY : CH_OK);
            ch_svg_clear(&svg);
            if (!failed)
                break;
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_not_moved_is_as_predicted),
        cmocka_unit_test(the_last_stroke_is_whole_and_holds_together),
        cmocka_unit_test(a_change_alone_is_told_apart_from_the_whole),
        cmocka_unit_test(what_is_out_of_range_is_refused_and_nothing_written),
        cmocka_unit_test(every_input_says_why_with_its_own_numbers),
        cmocka_unit_test(a_drawing_has_before_dotted_and_now_solid_and_says_both_in_words),
        cmocka_unit_test(a_drawing_keeps_within_itself_however_far_the_inputs_go),
        cmocka_unit_test(a_drawing_without_memory_fails_as_a_whole),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
