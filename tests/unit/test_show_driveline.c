/* Drawings of a run: well-formed, small whatever the run's length, with what they show in words; and what is marked is where the numbers say. */
#include "crosshatch/show_driveline.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/show_words.h"
#include "crosshatch/svg.h"
#include "expect.h"

enum { POINTS = CH_DRIVELINE_POINTS_MAX };
static const double RPM = 60 / (2 * 3.14159265358979323846);
static ch_drive_point points[POINTS];
static ch_slip slips[CH_DRIVELINE_SLIPS_MAX];

/* An invented run in two gears, engine and road anywhere on their lines, a slip each `every_s`. */
static ch_driveline run_of(double seconds, double every_s)
{
    ch_driveline d = {.state = CH_DRIVELINE_GEARS_FOUND, .gears = 2, .slip = slips, .fade_1_k = -0.001};
    d.gear[0] = (ch_driveline_gear){.number = 3, .line_rad_m = 20};
    d.gear[1] = (ch_driveline_gear){.number = 4, .line_rad_m = 15};
    d.capacity_n_m[1] = 180;
    d.design_n_m[0] = 240;
    for (size_t i = 0; i < POINTS; i++) {
        const double time_s = seconds * (double)i / POINTS;
        const size_t gear = (size_t)(time_s / 20) % 2;
        const double road_m_s = 20 + 10 * sin(time_s);
        points[i] = (ch_drive_point){.time_s = (float)time_s,
                                     .road_speed_m_s = (float)road_m_s,
                                     .engine_speed_rad_s = (float)(road_m_s * d.gear[gear].line_rad_m),
                                     .gear = (float)d.gear[gear].number};
    }
    for (double at_s = 5; at_s + 2 < seconds && d.slips < CH_DRIVELINE_SLIPS_MAX; at_s += every_s) {
        const double n = (double)d.slips;
        slips[d.slips] = (ch_slip){.start_s = at_s,
                                   .end_s = at_s + 1.5,
                                   .gear = 4,
                                   .peak_1 = 0.1,
                                   .torque_n_m = 180 - fmod(n, 10),
                                   .u_torque_n_m = 8,
                                   .plate_k = 340 + fmod(n, 60)};
        d.slips++;
    }
    d.slips_found = d.slips;
    return d;
}

static size_t count(const char *text, const char *what)
{
    size_t n = 0;
    for (const char *at = strstr(text, what); at != NULL; at = strstr(at + 1, what))
        n++;
    return n;
}

static const char *drawn(const ch_svg *svg)
{
    const char *text = ch_text_string(&svg->text);
    assert_non_null(strstr(text, "<title"));
    assert_non_null(strstr(text, "<desc"));
    assert_null(strstr(text, "style="));
    return text;
}

static void drawings_of_long_runs_are_small(void **state)
{
    (void)state;
    static const double seconds[] = {30, 600, 14400};
    for (size_t k = 0; k < sizeof seconds / sizeof seconds[0]; k++) {
        const ch_driveline d = run_of(seconds[k], 6);
        ch_err err = {0};
        ch_svg svg;
        assert_int_equal(ch_show_gears_svg(&d, points, POINTS, &svg, &err), CH_OK);
        drawn(&svg);
        assert_true(svg.text.length < 100000);
        ch_svg_clear(&svg);
        assert_int_equal(ch_show_run_svg(&d, points, POINTS, &svg, &err), CH_OK);
        drawn(&svg);
        assert_true(svg.text.length < 100000);
        ch_svg_clear(&svg);
        assert_int_equal(ch_show_slip_svg(&d, points, POINTS, 0, &svg, &err), CH_OK);
        drawn(&svg);
        assert_true(svg.text.length < 40000);
        ch_svg_clear(&svg);
        assert_int_equal(ch_show_capacity_svg(&d, &svg, &err), CH_OK);
        drawn(&svg);
        assert_true(svg.text.length < 100000);
        ch_svg_clear(&svg);
    }
}

static void gear_lines_bear_their_numbers_and_slips_their_rings(void **state)
{
    (void)state;
    ch_driveline d = run_of(100, 30);
    ch_err err = {0};
    ch_svg svg;
    assert_int_equal(ch_show_gears_svg(&d, points, POINTS, &svg, &err), CH_OK);
    const char *text = drawn(&svg);
    assert_int_equal(count(text, "class=\"svg-minimum\""), 2);
    assert_non_null(strstr(text, ">3</text>"));
    assert_non_null(strstr(text, ">4</text>"));
    assert_true(count(text, "class=\"svg-frame\"") > 0);
    char number[CH_SHOW_NUMBER], words[64];
    snprintf(words, sizeof words, "Gear 3: %s rpm for each km/h.", ch_show_number(20 * RPM / 3.6, 1, number));
    assert_non_null(strstr(text, words));
    ch_svg_clear(&svg);
    d.slips = d.slips_found = 0;
    assert_int_equal(ch_show_gears_svg(&d, points, POINTS, &svg, &err), CH_OK);
    assert_int_equal(count(drawn(&svg), "class=\"svg-frame\""), 0);
    ch_svg_clear(&svg);
}

static void a_run_of_nothing_is_drawn_too(void **state)
{
    (void)state;
    const ch_driveline d = {.state = CH_DRIVELINE_TOO_LITTLE};
    ch_err err = {0};
    ch_svg svg;
    assert_int_equal(ch_show_gears_svg(&d, NULL, 0, &svg, &err), CH_OK);
    drawn(&svg);
    ch_svg_clear(&svg);
    assert_int_equal(ch_show_run_svg(&d, NULL, 0, &svg, &err), CH_OK);
    drawn(&svg);
    ch_svg_clear(&svg);
    assert_int_equal(ch_show_capacity_known(&d), 0);
}

static void every_slip_with_a_torque_is_a_dot(void **state)
{
    (void)state;
    ch_driveline d = run_of(200, 20);
    ch_err err = {0};
    ch_svg svg;
    slips[1].torque_n_m = NAN;
    assert_int_equal(ch_show_capacity_known(&d), d.slips - 1);
    assert_int_equal(ch_show_capacity_svg(&d, &svg, &err), CH_OK);
    const char *text = drawn(&svg);
    assert_int_equal(count(text, "<circle"), d.slips - 1);
    assert_int_equal(count(text, "class=\"svg-minimum\""), 1); /* as designed */
    assert_non_null(strstr(text, "180 N m"));
    ch_svg_clear(&svg);
}

/* Where it is open whether the clutch slips the causes are those from before the log, whatever else it shows; a run without gears weighs none. */
static void where_slip_is_open_the_causes_say_so(void **state)
{
    (void)state;
    ch_driveline d = {.state = CH_DRIVELINE_GEARS_FOUND, .limits = CH_LIMIT_LOW_GEARS};
    assert_non_null(strstr(ch_show_driveline_slip_untold(&d), "does not tell"));
    d.patterns_known = 1U << CH_PATTERN_SOMETHING_ELSE;
    assert_non_null(ch_show_driveline_slip_untold(&d));
    d.patterns_known |= 1U << CH_PATTERN_SLIPS;
    assert_null(ch_show_driveline_slip_untold(&d));
    d.patterns_known = 0;
    d.state = CH_DRIVELINE_NO_FIXED_GEARS;
    assert_null(ch_show_driveline_slip_untold(&d));
}

/* What leaves slip open is the first thing said, and below it why and what tells. */
static void a_gear_that_was_only_ever_pulled_leaves_slip_open(void **state)
{
    (void)state;
    char sentence[CH_SHOW_RUN_SENTENCE];
    ch_driveline d = {.state = CH_DRIVELINE_GEARS_FOUND, .limits = CH_LIMIT_PULLED_ALONE, .loaded_s = 100};
    ch_show_driveline_verdict(&d, sentence);
    assert_non_null(strstr(sentence, "Slip or not, this log does not tell: one of its gears"));
    assert_non_null(strstr(ch_show_driveline_limit(CH_LIMIT_PULLED_ALONE), "State the car's ratios"));
    d.limits = 0;
    ch_show_driveline_verdict(&d, sentence);
    assert_non_null(strstr(sentence, "No slip found in 100 s"));
}

/* A slip that holds only where there are gears is said with that, whole, however long the numbers are. */
static void a_slip_beside_no_line_is_told_with_its_condition(void **state)
{
    (void)state;
    char sentence[CH_SHOW_RUN_SENTENCE];
    ch_driveline d = {.state = CH_DRIVELINE_GEARS_FOUND,
                      .slips = 1,
                      .slips_found = 9999,
                      .slip = slips,
                      .loaded_s = 99999,
                      .cause_1 = {[CH_CLUTCH_WORN] = 1}};
    slips[0].peak_1 = 0.299;
    ch_show_driveline_verdict(&d, sentence);
    assert_null(strstr(sentence, "fixed gears"));
    d.limits = CH_LIMIT_PERHAPS_STEPLESS;
    ch_show_driveline_verdict(&d, sentence);
    assert_non_null(strstr(sentence,
                           "That it is the clutch: over 99 %. That holds if the gearbox has fixed gears: much "
                           "of the pulling lies on no gear's line."));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(drawings_of_long_runs_are_small),
        cmocka_unit_test(gear_lines_bear_their_numbers_and_slips_their_rings),
        cmocka_unit_test(a_run_of_nothing_is_drawn_too),
        cmocka_unit_test(every_slip_with_a_torque_is_a_dot),
        cmocka_unit_test(where_slip_is_open_the_causes_say_so),
        cmocka_unit_test(a_slip_beside_no_line_is_told_with_its_condition),
        cmocka_unit_test(a_gear_that_was_only_ever_pulled_leaves_slip_open),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
