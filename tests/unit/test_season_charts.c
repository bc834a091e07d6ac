/*
 * Promises of show/svg_trend.c and svg_sensitivity.c about seasons of which little or nothing is known, made by hand here. What each chart consists of at the ends
 * of what there is stands in tests/charts.
 */
#include "crosshatch/show_season.h"
#include "expect.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HOUR_S 3600.0
enum { SHEETS = 4 };

static ch_season *season;
static ch_assumptions assumptions;
static ch_history_sheet sheet[SHEETS];
static ch_history_point point[SHEETS];

/* Nothing is known but how many cylinders there are. */
static void nothing(int cylinders)
{
    *season = (ch_season){.horizon = CH_HORIZON_YEAR};
    season->history.cylinders = season->forecast.cylinders = cylinders;
    season->history.now_s = NAN;
    season->history.log_watch = season->history.log_fault = NAN;
    for (int c = 0; c < cylinders; c++)
        for (int i = 0; i < 3; i++) {
            season->forecast.cylinder[c].log_area_now[i] = NAN;
            season->forecast.cylinder[c].fault_s[i] = NAN;
        }
}

/* `count` sheets, 10 h apart from 100 h on, whose areas double from one to the next, and a forecast that goes on like that for 20 h. */
static void sheets_of(int cylinders, size_t count)
{
    nothing(cylinders);
    for (size_t i = 0; i < count; i++) {
        sheet[i] = (ch_history_sheet){.id = (int64_t)i + 1, .day = {2024 + (int)i, 1, 16}};
        sheet[i].result.cylinders = cylinders;
        for (int c = 0; c < cylinders; c++) {
            sheet[i].result.cylinder[c].n = 2;
            for (int k = 0; k < CH_TRACE_LADDER; k++)
                sheet[i].result.cylinder[c].ladder_m2[k] = 0.2e-6 * pow(2.0, (double)i) * exp(0.3 * (k - 9) / 9.0);
        }
        point[i] =
            (ch_history_point){.sheet = &sheet[i], .running_s = (100.0 + 10.0 * (double)i) * HOUR_S, .fitted = true};
        memcpy(&season->history.point[i], &point[i], sizeof point[i]);
    }
    season->history.count = count;
    season->history.now_s = (100.0 + 10.0 * (double)(count - 1)) * HOUR_S;
    season->history.log_watch = log(3e-6);
    season->history.log_fault = log(6e-6);
    season->horizon_s[CH_HORIZON_YEAR] = 20.0 * HOUR_S;
    for (int c = 0; c < cylinders; c++)
        for (int k = 0; k <= CH_SEASON_FAN; k++)
            for (int i = 0; i < 3; i++)
                season->fan_log[c][k][i] =
                    log(0.2e-6 * pow(2.0, (double)(count - 1) + 2.0 * k / CH_SEASON_FAN)) + 0.3 * (i - 1);
}

static const ch_show_season *shown(void)
{
    static ch_show_season one;
    one = (ch_show_season){.season = season, .assumptions = &assumptions, .today = {2027, 3, 1}};
    return &one;
}

static size_t count_of(const ch_svg *svg, const char *words)
{
    size_t n = 0;
    for (const char *at = ch_text_string(&svg->text); (at = strstr(at, words)) != NULL; at += strlen(words))
        n++;
    return n;
}

/* Every attribute that holds a number holds one, and it lies within the drawing's width or height. */
static void expect_drawable(const ch_svg *svg)
{
    static const char *const NAMES[] = {" x=\"",  " y=\"",  " x1=\"", " y1=\"",    " x2=\"",
                                        " y2=\"", " cx=\"", " cy=\"", " width=\"", " height=\""};
    size_t seen = 0;
    for (size_t i = 0; i < sizeof NAMES / sizeof NAMES[0]; i++)
        for (const char *at = ch_text_string(&svg->text); (at = strstr(at, NAMES[i])) != NULL;) {
            char *end = NULL;
            at += strlen(NAMES[i]);
            const double value = strtod(at, &end);
            assert_true(end > at && *end == '"' && value >= 0.0 && value <= 600.0);
            seen++;
        }
    assert_true(seen > 10);
    assert_int_equal(count_of(svg, "nan"), 0);
    assert_int_equal(count_of(svg, "</svg>"), 1);
}

static void trend(int cylinder, ch_svg *svg)
{
    ch_err err = {0};
    if (ch_show_trend_svg(shown(), cylinder, svg, &err) < 0)
        fail_msg("%s", err.what);
    expect_drawable(svg);
}

static void an_engine_without_a_sheet_that_tells_has_a_frame_and_says_so(void **state)
{
    (void)state;
    ch_svg svg;
    nothing(16);
    trend(16, &svg);
    assert_int_equal(count_of(&svg, "no sheet tells of it"), 1);
    assert_int_equal(count_of(&svg, "<circle"), 0);
    assert_int_equal(count_of(&svg, ">watch<") + count_of(&svg, ">fault<"), 0);
    ch_svg_clear(&svg);
}

static void each_sheet_that_tells_of_the_cylinder_has_a_dot(void **state)
{
    (void)state;
    ch_svg svg;
    sheets_of(4, SHEETS);
    sheet[1].result.cylinder[2].ladder_m2[0] = 0.0;
    sheet[2].result.cylinder[2].ladder_m2[CH_TRACE_LADDER - 1] = INFINITY;
    trend(1, &svg);
    assert_int_equal(count_of(&svg, "<circle"), 4);
    ch_svg_clear(&svg);
    trend(3, &svg);
    assert_int_equal(count_of(&svg, "<circle"),
                     2); /* an area of 0 or without end has no place on a logarithmic scale */
    ch_svg_clear(&svg);
    sheet[3].result.cylinders = 2; /* of another engine */
    trend(3, &svg);
    assert_int_equal(count_of(&svg, "<circle"), 1);
    ch_svg_clear(&svg);
    sheet[0].result.cylinder[2].n = 0; /* not tested */
    trend(3, &svg);
    assert_int_equal(count_of(&svg, "<circle"), 0);
    ch_svg_clear(&svg);
}

static void dots_go_to_the_right_with_hours_and_up_with_areas(void **state)
{
    (void)state;
    ch_svg svg;
    sheets_of(1, SHEETS);
    trend(1, &svg);
    double last_x = -1.0, last_y = 1e9, rise = NAN;
    const char *at = ch_text_string(&svg.text);
    for (int i = 0; i < SHEETS; i++) {
        double x = NAN, y = NAN;
        at = strstr(at, "cx=\"");
        assert_non_null(at);
        x = strtod(at + 4, NULL);
        at = strstr(at, "cy=\"");
        assert_non_null(at);
        y = strtod(at + 4, NULL);
        assert_true(x > last_x && y < last_y);
        if (i == 2)
            rise = last_y - y;
        if (i == 3)
            expect_close(last_y - y, rise,
                         0.02); /* doubled each time: even steps on a logarithmic scale; two decimals are written */
        last_x = x;
        last_y = y;
    }
    ch_svg_clear(&svg);
}

static void the_curves_are_drawn_only_where_something_is_ahead(void **state)
{
    (void)state;
    ch_svg svg;
    sheets_of(2, SHEETS);
    trend(2, &svg);
    const size_t with = count_of(&svg, "svg-hatch");
    assert_true(with > 3);
    ch_svg_clear(&svg);
    season->horizon_s[CH_HORIZON_YEAR] = 0.0;
    trend(2, &svg);
    assert_int_equal(count_of(&svg, "svg-hatch"), 0);
    ch_svg_clear(&svg);
}

static void steps_stand_upright_in_the_charts_of_their_cylinders(void **state)
{
    (void)state;
    ch_svg svg;
    sheets_of(2, SHEETS);
    season->history.steps = 1;
    season->history.step[0] = (ch_wear_step){.running_s = 111.0 * HOUR_S, .sheet = 2, .cylinder = 0};
    season->forecast.found = 1;
    season->forecast.step[0].step = (ch_wear_step){.running_s = 129.0 * HOUR_S, .sheet = 3, .cylinder = 2};
    trend(1, &svg);
    assert_int_equal(count_of(&svg, ">opened<"), 1);
    assert_int_equal(count_of(&svg, ">step<"), 0);
    ch_svg_clear(&svg);
    trend(2, &svg);
    assert_int_equal(count_of(&svg, ">opened<"), 1);
    assert_int_equal(count_of(&svg, ">step<"), 1);
    ch_svg_clear(&svg);
}

/* ---------------------------------------------------------------- what the answer hangs on */

static void leads_of(double lead, double low, double high)
{
    ch_decision *d = &season->decision[CH_HORIZON_YEAR];
    d->lead = lead;
    for (int i = 0; i < CH_ASSUME_COUNT; i++) {
        d->swing[i].assumption = (ch_assumption_id)i;
        d->swing[i].lead[0] = low;
        d->swing[i].lead[1] = high;
    }
}

static void sensitivity(ch_svg *svg)
{
    ch_err err = {0};
    if (ch_show_sensitivity_svg(shown(), svg, &err) < 0)
        fail_msg("%s", err.what);
    expect_drawable(svg);
}

static void leads_that_are_not_known_are_said_to_be(void **state)
{
    (void)state;
    ch_svg svg;
    nothing(4);
    leads_of(NAN, NAN, NAN);
    sensitivity(&svg);
    assert_int_equal(count_of(&svg, ">not known<"), CH_SHOW_SWINGS);
    assert_int_equal(count_of(&svg, "svg-reading"), 0);
    ch_svg_clear(&svg);
    leads_of(100.0, 50.0, INFINITY);
    sensitivity(&svg);
    assert_int_equal(count_of(&svg, ">not known<"), CH_SHOW_SWINGS);
    ch_svg_clear(&svg);
}

static void each_assumption_has_a_bar_to_either_end(void **state)
{
    (void)state;
    static const double LEADS[][3] = {
        {0.0, 0.0, 0.0}, {0.0, -10000.0, 10000.0}, {10000.0, 9000.0, 20000.0}, {1e-9, 0.0, 2e-9}};
    for (size_t i = 0; i < sizeof LEADS / sizeof LEADS[0]; i++) {
        ch_svg svg;
        nothing(1);
        leads_of(LEADS[i][0], LEADS[i][1], LEADS[i][2]);
        sensitivity(&svg);
        assert_int_equal(count_of(&svg, "class=\"svg-reading\""), CH_SHOW_SWINGS);
        assert_int_equal(count_of(&svg, "class=\"svg-band\""), CH_SHOW_SWINGS);
        ch_svg_clear(&svg);
    }
}

static void long_titles_go_on_in_a_second_line_and_are_escaped(void **state)
{
    (void)state;
    ch_svg svg;
    const char *const before = assumptions.of[0].title;
    nothing(4);
    leads_of(1.0, 0.0, 2.0);
    assumptions.of[0].title = "Chance that <b>this & that</b> breaks on the way to the event";
    sensitivity(&svg);
    assert_int_equal(count_of(&svg, "<b>"), 0);
    assert_true(count_of(&svg, ">Chance that &lt;b&gt;this &amp; that") == 1);
    assert_true(count_of(&svg, "to the event<") == 1);
    assumptions.of[0].title = before;
    ch_svg_clear(&svg);
}

static int begin(void **state)
{
    (void)state;
    season = calloc(1, sizeof *season);
    return season == NULL || ch_assumptions_parse(&assumptions, ch_assumptions_builtin(), NULL) < 0 ? -1 : 0;
}

static int end(void **state)
{
    (void)state;
    free(season);
    ch_assumptions_clear(&assumptions);
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_engine_without_a_sheet_that_tells_has_a_frame_and_says_so),
        cmocka_unit_test(each_sheet_that_tells_of_the_cylinder_has_a_dot),
        cmocka_unit_test(dots_go_to_the_right_with_hours_and_up_with_areas),
        cmocka_unit_test(the_curves_are_drawn_only_where_something_is_ahead),
        cmocka_unit_test(steps_stand_upright_in_the_charts_of_their_cylinders),
        cmocka_unit_test(leads_that_are_not_known_are_said_to_be),
        cmocka_unit_test(each_assumption_has_a_bar_to_either_end),
        cmocka_unit_test(long_titles_go_on_in_a_second_line_and_are_escaped),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
