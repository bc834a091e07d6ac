/* Promises of decide/history.c and history_result.c: dates, hours, and what the fit is given. */
#include "crosshatch/history.h"
#include "crosshatch/sampling.h"
#include "expect.h"
#include "fail_alloc.h"
#include "judge_sheets.h"

#include <stdlib.h>

#define HOUR_S 3600.0

enum { FOUR = 4 };
static const ch_date TODAY = {2028, 6, 1};
static ch_history history; /* too large for some stacks */

/* A judged sheet of a sound four. */
static ch_history_sheet sheet_on(int64_t id, ch_date day, double hours)
{
    ch_history_sheet s = {.id = id, .day = day, .opened_s = id, .hours_s = hours * HOUR_S, .odometer_m = NAN};
    s.result = (ch_history_result){.cylinders = FOUR,
                                   .reliable = true,
                                   .sound_m2 = 0.3e-6,
                                   .u_sound_1 = 0.45,
                                   .watch_m2 = 0.8e-6,
                                   .fault_m2 = 1.5e-6};
    for (int c = 0; c < FOUR; c++) {
        s.result.cylinder[c].n = 1;
        s.result.cylinder[c].cause_1[CH_CAUSE_SOUND] = 1.0;
        for (int k = 0; k < CH_TRACE_LADDER; k++)
            s.result.cylinder[c].ladder_m2[k] = 0.3e-6 * exp(0.3 * (k - 9) / 9.0);
    }
    return s;
}

static void build(const ch_history_sheet sheet[], size_t n, const ch_history_event event[], size_t events)
{
    ch_err err = {0};
    if (ch_history_build(sheet, n, event, events, NULL, 0, TODAY, &history, &err) < 0)
        fail_msg("%s", err.what);
}

static bool asked(ch_history_question_kind kind, int64_t sheet_id)
{
    for (size_t i = 0; i < history.question_count; i++)
        if (history.question[i].kind == kind && history.question[i].sheet_id == sheet_id)
            return true;
    return false;
}

static double hours_of(int64_t id)
{
    for (size_t i = 0; i < history.count; i++)
        if (history.point[i].sheet->id == id)
            return history.point[i].running_s / HOUR_S;
    fail_msg("no sheet %d", (int)id);
    return NAN;
}

static void sheets_entered_out_of_order_stand_by_their_day(void **state)
{
    (void)state;
    const ch_history_sheet s[] = {sheet_on(1, (ch_date){2027, 1, 1}, 420.0), sheet_on(2, (ch_date){2025, 1, 1}, 380.0),
                                  sheet_on(3, (ch_date){2026, 1, 1}, 400.0)};
    build(s, 3, NULL, 0);
    assert_int_equal(history.point[0].sheet->id, 2);
    assert_int_equal(history.point[2].sheet->id, 1);
    assert_int_equal(history.question_count, 0);
    assert_int_equal(history.wear_count, 3);
    expect_close(history.wear[0].running_s, 380.0 * HOUR_S, 1e-6);
    expect_close(history.now_s, 420.0 * HOUR_S, 1e-6);
    assert_true(history.point[1].noted && history.point[1].fitted && history.point[1].at == 1);
}

static void fewer_hours_once_are_questioned_kept_and_counted_from_the_neighbours(void **state)
{
    (void)state;
    const ch_history_sheet s[] = {sheet_on(1, (ch_date){2025, 1, 1}, 400.0), sheet_on(2, (ch_date){2026, 1, 1}, 42.0),
                                  sheet_on(3, (ch_date){2027, 1, 1}, 440.0)};
    const ch_history_event e[] = {{1, {2025, 5, 1}, 15.0 * HOUR_S, "hill climb"},
                                  {2, {2026, 5, 1}, 20.0 * HOUR_S, "sprint"}};
    build(s, 3, e, 2);
    assert_true(asked(CH_HISTORY_HOURS_BACKWARD, 2));
    assert_int_equal(history.count, 3); /* kept */
    expect_close(hours_of(2), 415.0, 1e-9);
    expect_close(hours_of(3), 440.0, 1e-9);
    assert_false(history.point[1].noted);
}

static void another_meter_is_counted_on(void **state)
{
    (void)state;
    const ch_history_sheet s[] = {sheet_on(1, (ch_date){2025, 1, 1}, 400.0), sheet_on(2, (ch_date){2026, 1, 1}, 3.0),
                                  sheet_on(3, (ch_date){2027, 1, 1}, 33.0)};
    const ch_history_event e[] = {{1, {2025, 5, 1}, 15.0 * HOUR_S, "hill climb"}};
    build(s, 3, e, 1);
    assert_true(asked(CH_HISTORY_METER_CHANGED, 2));
    assert_false(asked(CH_HISTORY_METER_CHANGED, 3));
    expect_close(hours_of(2), 415.0, 1e-9);
    expect_close(hours_of(3), 445.0, 1e-9);
}

static void more_hours_than_the_days_have_are_questioned(void **state)
{
    (void)state;
    const ch_history_sheet s[] = {sheet_on(1, (ch_date){2026, 1, 1}, 400.0),
                                  sheet_on(2, (ch_date){2026, 1, 11}, 4100.0),
                                  sheet_on(3, (ch_date){2026, 6, 1}, 418.0)};
    build(s, 3, NULL, 0);
    assert_true(asked(CH_HISTORY_HOURS_JUMP, 2));
    expect_close(hours_of(2), 400.0, 1e-9);
    expect_close(hours_of(3), 418.0, 1e-9);
    assert_false(asked(CH_HISTORY_METER_CHANGED, 3));
}

/* Distance counts running time only where two sheets have it. */
static void one_odometer_alone_counts_no_running_time(void **state)
{
    (void)state;
    ch_history_sheet s[] = {sheet_on(1, (ch_date){2025, 1, 1}, NAN), sheet_on(2, (ch_date){2026, 1, 1}, NAN)};
    s[1].odometer_m = 150e6;
    build(s, 2, NULL, 0);
    assert_false(asked(CH_HISTORY_HOURS_FROM_ODOMETER, 0));
    assert_true(asked(CH_HISTORY_NO_HOURS, 0));
    s[0].odometer_m = 140e6;
    build(s, 2, NULL, 0);
    assert_true(asked(CH_HISTORY_HOURS_FROM_ODOMETER, 0));
    assert_false(asked(CH_HISTORY_NO_HOURS, 0));
}

/* Later in a long history the same: each figure is held against the last good one before it. */
static void a_slip_late_in_the_history_is_found_as_well(void **state)
{
    (void)state;
    enum { LONG = 7 };
    for (int at = 2; at < LONG; at++)
        for (int kind = 0; kind < 3; kind++) {
            ch_history_sheet s[LONG];
            for (int i = 0; i < LONG; i++)
                s[i] =
                    sheet_on(i + 1, (ch_date){2018 + i, 1, 1}, 100.0 + 20.0 * i - (kind == 1 && i >= at ? 95.0 : 0.0));
            if (kind == 0)
                s[at].hours_s = 30.0 * HOUR_S; /* a slip; on the last sheet nobody can tell it from another meter */
            if (kind == 2)
                s[at].hours_s = 90000.0 * HOUR_S;
            build(s, LONG, NULL, 0);
            assert_int_equal(history.count, LONG);
            if (kind == 2)
                assert_true(asked(CH_HISTORY_HOURS_JUMP, at + 1));
            else
                assert_true(
                    asked(kind == 1 || at + 1 == LONG ? CH_HISTORY_METER_CHANGED : CH_HISTORY_HOURS_BACKWARD, at + 1));
            for (int i = 0; i < LONG; i++) {
                /* Running time never goes back, and stands as noted up to the slip; behind another meter it goes on from its last figure. */
                assert_true(i == 0 || history.point[i].running_s >= history.point[i - 1].running_s);
                if (i < at)
                    expect_close(hours_of(i + 1), 100.0 + 20.0 * i, 1e-9);
                else if (kind == 1)
                    expect_close(hours_of(i + 1), 100.0 + 20.0 * (i - 1), 1e-9);
                else if (i > at)
                    expect_close(hours_of(i + 1), 100.0 + 20.0 * i, 1e-9);
            }
        }
}

static void odometer_that_falls_is_questioned_and_does_not_move_hours(void **state)
{
    (void)state;
    ch_history_sheet s[] = {sheet_on(1, (ch_date){2025, 1, 1}, 400.0), sheet_on(2, (ch_date){2026, 1, 1}, 410.0)};
    s[0].odometer_m = 187e6;
    s[1].odometer_m = 3e6;
    build(s, 2, NULL, 0);
    assert_true(asked(CH_HISTORY_ODOMETER_BACKWARD, 2));
    expect_close(hours_of(2), 410.0, 1e-9);
    /* without hours and events it is all there is, and a swapped one is carried on */
    s[0].hours_s = s[1].hours_s = NAN;
    ch_history_sheet third = sheet_on(3, (ch_date){2027, 1, 1}, NAN);
    third.odometer_m = 5e6;
    const ch_history_sheet more[] = {s[0], s[1], third};
    build(more, 3, NULL, 0);
    assert_true(asked(CH_HISTORY_HOURS_FROM_ODOMETER, 0) && asked(CH_HISTORY_METER_CHANGED, 2));
    expect_close(hours_of(3) - hours_of(2), 2e6 / (CH_HISTORY_SPEED_M_S * HOUR_S), 1e-9);
}

static void events_of_one_day_and_of_the_tests_day_count_once(void **state)
{
    (void)state;
    const ch_history_sheet s[] = {sheet_on(1, (ch_date){2026, 5, 1}, NAN), sheet_on(2, (ch_date){2026, 5, 2}, NAN),
                                  sheet_on(3, (ch_date){2026, 5, 2}, NAN)};
    const ch_history_event e[] = {{1, {2026, 5, 2}, 2.0 * HOUR_S, "morning"},
                                  {2, {2026, 5, 1}, 1.0 * HOUR_S, "practice"},
                                  {3, {2026, 5, 2}, 3.0 * HOUR_S, "afternoon"},
                                  {4, {2026, 5, 3}, NAN, "hours not known"}};
    build(s, 3, e, 4);
    assert_true(asked(CH_HISTORY_HOURS_FROM_EVENTS, 0));
    expect_close(hours_of(1), 1.0, 1e-9);
    expect_close(hours_of(2), 6.0, 1e-9);
    expect_close(hours_of(3), 6.0, 1e-9);
    assert_int_equal(history.point[2].sheet->id, 3); /* the later entry of the day */
    expect_close(history.usual_event_s, 2.0 * HOUR_S, 1e-6);
}

static void only_what_has_run_by_today_counts(void **state)
{
    (void)state;
    const ch_history_sheet s[] = {sheet_on(1, (ch_date){2028, 5, 1}, 400.0)};
    const ch_history_event e[] = {{1, {2028, 5, 20}, 4.0 * HOUR_S, "last"},
                                  {2, {2028, 6, 1}, 5.0 * HOUR_S, "today, done"},
                                  {3, {2028, 6, 2}, 6.0 * HOUR_S, "tomorrow, hours entered early"},
                                  {4, {2028, 4, 30}, 7.0 * HOUR_S, "before the test"}};
    build(s, 1, e, 4);
    expect_close(history.now_s / HOUR_S, 409.0, 1e-9);
    expect_close(history.last_s / HOUR_S, 400.0, 1e-9);
}

static void leap_days_are_days(void **state)
{
    (void)state;
    const ch_history_sheet s[] = {sheet_on(1, (ch_date){2028, 2, 28}, 400.0), sheet_on(2, (ch_date){2028, 3, 1}, NAN)};
    const ch_history_event e[] = {{1, {2028, 2, 29}, 3.0 * HOUR_S, "leap day sprint"}};
    build(s, 2, e, 1);
    expect_close(hours_of(2), 403.0, 1e-9);
    /* 28 February to 1 March of a leap year are three days' hours, not two */
    const ch_history_sheet t[] = {sheet_on(1, (ch_date){2028, 2, 28}, 400.0),
                                  sheet_on(2, (ch_date){2028, 3, 1}, 471.0)};
    build(t, 2, NULL, 0);
    assert_false(asked(CH_HISTORY_HOURS_JUMP, 2));
}

static void sheets_without_hours_or_day_are_told(void **state)
{
    (void)state;
    ch_history_sheet s[] = {sheet_on(1, (ch_date){2026, 1, 1}, NAN), sheet_on(2, (ch_date){2027, 1, 1}, NAN)};
    s[1].day_assumed = true;
    build(s, 2, NULL, 0);
    assert_true(asked(CH_HISTORY_NO_HOURS, 0) && asked(CH_HISTORY_NO_DAY, 2));
    expect_close(hours_of(2), 0.0, 1e-12);
}

static void another_engines_sheet_is_left_out_of_the_fit_but_kept(void **state)
{
    (void)state;
    ch_history_sheet s[] = {sheet_on(1, (ch_date){2025, 1, 1}, 400.0), sheet_on(2, (ch_date){2026, 1, 1}, 410.0)};
    s[0].result.cylinders = 6;
    build(s, 2, NULL, 0);
    assert_true(asked(CH_HISTORY_OTHER_ENGINE, 1));
    assert_int_equal(history.count, 2);
    assert_int_equal(history.wear_count, 1);
    assert_int_equal(history.cylinders, FOUR);
}

static void repairs_stand_between_the_sheets_they_lie_between(void **state)
{
    (void)state;
    const ch_history_sheet s[] = {sheet_on(1, (ch_date){2025, 1, 1}, 400.0), sheet_on(2, (ch_date){2026, 1, 1}, 410.0),
                                  sheet_on(3, (ch_date){2027, 1, 1}, 420.0)};
    const ch_history_repair r[] = {{{2026, 3, 1}, 0, "head gasket", false},
                                   {{2024, 1, 1}, 0, "before the first", false},
                                   {{2028, 1, 1}, 0, "behind the last", false},
                                   {{2026, 4, 1}, 2, "valve 2, with the gasket", false},
                                   {{2026, 1, 1}, 3, "on the day of the second", false}};
    assert_int_equal(ch_history_build(s, 3, NULL, 0, r, 5, TODAY, &history, NULL), CH_OK);
    /* latest first; the engine's at the third sheet covers neither less nor more than both of that time */
    bool engine = false, third = false;
    for (size_t k = 0; k < history.steps; k++) {
        engine = engine || (history.step[k].sheet == 2 && history.step[k].cylinder == 0);
        third = third || (history.step[k].sheet == 1 && history.step[k].cylinder == 3);
        assert_true(history.step[k].sheet >= 1);
    }
    assert_true(engine && third);
}

static void the_newest_sheet_counts_until_what_it_found_is_repaired(void **state)
{
    (void)state;
    ch_history_sheet s[] = {sheet_on(4, (ch_date){2026, 5, 1}, NAN), sheet_on(2, (ch_date){2027, 3, 9}, NAN),
                            sheet_on(3, (ch_date){2027, 3, 9}, NAN), sheet_on(1, (ch_date){2025, 1, 1}, NAN)};
    assert_null(ch_history_newest(s, 0, NULL, 0, TODAY));
    assert_ptr_equal(ch_history_newest(s, 4, NULL, 0, TODAY), &s[2]); /* of one day, that opened last */
    double wrong_1 = 0.0;
    ch_history_result *result = &s[2].result;
    result->cylinders = 3;
    result->reliable = false;
    assert_int_equal(ch_history_worst(result, &wrong_1), 0);
    assert_true(isnan(wrong_1));
    result->reliable = true;
    memset(result->cylinder, 0, sizeof result->cylinder);
    const double sound_1[] = {0.9, 0.2, 0.1}, misread_1[] = {0.0, 0.1, 0.7}; /* wrong: 0.1, 0.7, 0.2 */
    for (int c = 0; c < 3; c++) {
        result->cylinder[c].n = 1;
        result->cylinder[c].cause_1[CH_CAUSE_SOUND] = sound_1[c];
        result->cylinder[c].cause_1[CH_CAUSE_MEASUREMENT_ERROR] = misread_1[c];
    }
    assert_int_equal(ch_history_worst(result, &wrong_1), 2);
    expect_close(wrong_1, 0.7, 1e-12);
    result->cylinder[1].n = 0; /* not tested: what is taken for granted of it is not what the sheet found */
    assert_int_equal(ch_history_worst(result, &wrong_1), 3);
    result->cylinder[1].signs = 1;
    assert_int_equal(ch_history_worst(result, &wrong_1), 2);
    result->cylinder[1].n = 1;
    assert_ptr_equal(ch_history_newest(s, 4, NULL, 0, (ch_date){2027, 3, 8}), &s[0]); /* a day to come has no test */
    assert_null(ch_history_newest(s, 4, NULL, 0, (ch_date){2024, 12, 31}));
    s[2].day_assumed = true; /* of its entry: nobody knows when it was tested */
    assert_ptr_equal(ch_history_newest(s, 4, NULL, 0, TODAY), &s[1]);
    assert_ptr_equal(ch_history_newest(s + 2, 1, NULL, 0, TODAY), &s[2]);
    s[2].day_assumed = false;
    static const struct {
        ch_date day;
        int cylinder;
        bool clears;
    } repairs[] = {
        {{2027, 3, 9}, 0, false}, /* of the day of the test: it may have come before it */
        {{2027, 3, 10}, 0, true}, {{2027, 3, 10}, 2, true}, {{2027, 3, 10}, 1, false}, /* another cylinder's */
        {{2028, 6, 2}, 0, false},                                                      /* still to come */
    };
    for (size_t i = 0; i < sizeof repairs / sizeof repairs[0]; i++) {
        const ch_history_repair repair = {.day = repairs[i].day, .cylinder = repairs[i].cylinder, .what = "Head"};
        assert_ptr_equal(ch_history_newest(s, 4, &repair, 1, TODAY), repairs[i].clears ? NULL : &s[2]);
    }
}

static void a_sheet_of_a_day_to_come_is_left_out_and_told(void **state)
{
    (void)state;
    const ch_history_sheet s[] = {sheet_on(1, (ch_date){2062, 9, 1}, NAN), sheet_on(2, (ch_date){2026, 10, 1}, NAN)};
    build(s, 2, NULL, 0);
    assert_int_equal(history.count, 1);
    assert_ptr_equal(history.point[0].sheet, &s[1]);
    assert_true(asked(CH_HISTORY_DAY_TO_COME, 1));
    ch_err err = {0};
    assert_int_equal(ch_history_build(s, 1, NULL, 0, NULL, 0, TODAY, &history, &err), CH_E_RANGE);
    assert_non_null(strstr(err.what, "today is 2028-06-01"));
}

/* In the words in which it was noted: nobody entered hours. */
static void a_slip_of_the_odometer_is_told_in_kilometres(void **state)
{
    (void)state;
    ch_history_sheet s[] = {sheet_on(1, (ch_date){2026, 1, 1}, NAN), sheet_on(2, (ch_date){2027, 1, 1}, NAN)};
    s[0].odometer_m = 214350e3;
    s[1].odometer_m = 21435e3;
    build(s, 2, NULL, 0);
    assert_true(asked(CH_HISTORY_METER_CHANGED, 2) && asked(CH_HISTORY_HOURS_FROM_ODOMETER, 0));
    for (size_t i = 0; i < history.question_count; i++) {
        const char *text = history.question[i].text;
        assert_true(history.question[i].kind != CH_HISTORY_ODOMETER_BACKWARD); /* once is enough */
        assert_null(strstr(text, " h "));
        if (history.question[i].kind == CH_HISTORY_METER_CHANGED)
            assert_string_equal(text, "2027-01-01: 21435 km are fewer than before, and stay so: another "
                                      "instrument, or set back? Counted on from 214350 km.");
    }
}

static void gauges_keep_their_numbers_and_the_oldest_share_one(void **state)
{
    (void)state;
    enum { SHEETS = CH_FORECAST_GAUGES_MAX + 3 };
    ch_history_sheet s[SHEETS];
    for (int i = 0; i < SHEETS; i++) {
        s[i] = sheet_on(i + 1, (ch_date){2010 + i, 1, 1}, 10.0 * i);
        s[i].gauge_id = 50 + i;
    }
    build(s, SHEETS, NULL, 0);
    assert_true(asked(CH_HISTORY_MANY_GAUGES, 0));
    assert_int_equal(history.wear[0].gauge, history.wear[1].gauge);
    assert_int_not_equal(history.wear[SHEETS - 1].gauge, history.wear[SHEETS - 2].gauge);
    s[1].gauge_id = s[0].gauge_id;
    build(s, 2, NULL, 0);
    assert_int_equal(history.wear[0].gauge, history.wear[1].gauge);
    assert_false(asked(CH_HISTORY_MANY_GAUGES, 0));
}

static void evidence_gives_back_what_the_prior_was_combined_with(void **state)
{
    (void)state;
    /* Prior N(log 0.3, 0.45), evidence N(log 0.6, 0.5): the posterior is normal, its ladder exact. */
    const double prior = log(0.3e-6), u_prior = 0.45, evidence = log(0.6e-6), u = 0.5;
    const double precision = 1.0 / (u_prior * u_prior) + 1.0 / (u * u),
                 middle = (prior / (u_prior * u_prior) + evidence / (u * u)) / precision;
    double ladder[CH_TRACE_LADDER], centre = NAN, u_got = NAN;
    for (int k = 0; k < CH_TRACE_LADDER; k++)
        ladder[k] = exp(middle + ch_normal_quantile(0.05 * (k + 1)) / sqrt(precision));
    ch_history_evidence(ladder, 0.0, prior, u_prior, &centre, &u_got);
    expect_close(centre, evidence, 1e-9);
    expect_close(u_got, u, 1e-9);
    /* a posterior that is the prior says nothing: wider than the prior (at r = 1 the factor is 3) */
    for (int k = 0; k < CH_TRACE_LADDER; k++)
        ladder[k] = exp(prior + ch_normal_quantile(0.05 * (k + 1)) * u_prior);
    ch_history_evidence(ladder, 0.0, prior, u_prior, &centre, &u_got);
    expect_close(centre, prior, 1e-9);
    assert_true(u_got > 1.7 * u_prior && isfinite(u_got));
    ladder[0] = NAN;
    ch_history_evidence(ladder, 0.0, prior, u_prior, &centre, &u_got);
    assert_true(isnan(centre) && isnan(u_got));
}

static const char SHEET[] = "sheet: 1\nengine: {cylinders: 2, bore: 84 mm, stroke: 80 mm, compression_ratio: 9.5%s}\n"
                            "compression:\n  - {cylinder: 1, reading: 178 psi}\n  - {cylinder: 2, reading: 172 psi}\n";

static void judge_text(const char *limits, ch_history_result *result)
{
    char text[600];
    ch_sheet sheet;
    ch_knowledge knowledge;
    ch_err err = {0};
    snprintf(text, sizeof text, SHEET, limits);
    sheet_of(text, &sheet);
    assert_int_equal(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL), CH_OK);
    const ch_judge_options options = {.seed = 1, .rule = CH_RULE_75_PERCENT};
    if (ch_history_judge(&sheet, &knowledge, &options, result, &err) < 0)
        fail_msg("%s", err.what);
    ch_knowledge_clear(&knowledge);
    ch_sheet_clear(&sheet);
}

static double reading_at(double area_m2)
{
    char text[600];
    ch_sheet sheet;
    ch_setup setup;
    double gauge_pa[CH_STROKES_MAX];
    snprintf(text, sizeof text, SHEET, "");
    sheet_of(text, &sheet);
    setup_of(&sheet, &setup);
    setup.cranking.leaks.rings_m2 = area_m2;
    assert_int_equal(ch_cranking_run(&setup.cranking, CH_CRANKING_TOLERANCE, gauge_pa, NULL, NULL, NULL, NULL), CH_OK);
    ch_sheet_clear(&sheet);
    return gauge_pa[setup.cranking.strokes - 1];
}

static void limits_are_where_the_reading_falls_to_them(void **state)
{
    (void)state;
    static ch_history_result r;
    judge_text("", &r);
    const double sound_pa = reading_at(r.sound_m2);
    /* Between nodes 35 % apart the curve is taken as straight in the logarithm: within 1 % of the reading. */
    expect_relative(reading_at(r.watch_m2), 0.85 * sound_pa, 0.01);
    expect_relative(reading_at(r.fault_m2), 0.75 * sound_pa, 0.01);
    assert_true(r.sound_m2 < r.watch_m2 && r.watch_m2 < r.fault_m2);
    assert_int_equal(r.cylinders, 2);
    assert_true(r.cylinder[1].n == 1 && r.cylinder[1].ladder_m2[0] < r.cylinder[1].ladder_m2[18]);
    /* a strict manual moves both */
    judge_text(", limits: {standard: 180 psi, minimum: 162 psi}", &r);
    expect_relative(reading_at(r.fault_m2), 0.9 * sound_pa, 0.01);
    expect_relative(reading_at(r.watch_m2), 0.94 * sound_pa, 0.01);
}

static void a_result_comes_back_as_it_was_kept(void **state)
{
    (void)state;
    static ch_history_result r, back;
    judge_text("", &r);
    const size_t count = ch_history_numbers(r.cylinders);
    double *numbers = calloc(count, sizeof *numbers);
    assert_non_null(numbers);
    ch_history_write(&r, numbers);
    assert_int_equal(ch_history_read(numbers, count, &back, NULL), CH_OK);
    assert_memory_equal(&r, &back, sizeof r);
    back.cylinders = 77;
    assert_int_equal(ch_history_read(numbers, count - 1, &back, NULL), CH_E_INPUT);
    assert_int_equal(ch_history_read(numbers, 3, &back, NULL), CH_E_INPUT);
    numbers[0] = 33.0;
    assert_int_equal(ch_history_read(numbers, count, &back, NULL), CH_E_INPUT);
    numbers[0] = 2.0;
    numbers[1] = 0.5;
    assert_int_equal(ch_history_read(numbers, count, &back, NULL), CH_E_INPUT);
    numbers[1] = NAN;
    assert_int_equal(ch_history_read(numbers, count, &back, NULL), CH_E_INPUT);
    assert_int_equal(back.cylinders, 77);
    free(numbers);
}

static void history_refuses_nothing_and_too_much(void **state)
{
    (void)state;
    ch_history_sheet s = sheet_on(1, (ch_date){2026, 1, 1}, 400.0);
    assert_int_equal(ch_history_build(&s, 0, NULL, 0, NULL, 0, TODAY, &history, NULL), CH_E_RANGE);
    assert_int_equal(ch_history_build(&s, CH_FORECAST_SHEETS_MAX + 1, NULL, 0, NULL, 0, TODAY, &history, NULL),
                     CH_E_LIMIT);
    for (int c = 0; c < FOUR; c++)
        s.result.cylinder[c].ladder_m2[0] = NAN;
    assert_int_equal(ch_history_build(&s, 1, NULL, 0, NULL, 0, TODAY, &history, NULL), CH_E_RANGE);
    assert_null(ch_history_question_name(CH_HISTORY_QUESTION_KINDS));
    assert_string_equal(ch_history_question_name(CH_HISTORY_MANY_GAUGES), "many_gauges");
}

static void no_memory_is_told(void **state)
{
    (void)state;
    const ch_history_sheet s[] = {sheet_on(1, (ch_date){2025, 1, 1}, 400.0), sheet_on(2, (ch_date){2026, 1, 1}, 410.0)};
    const ch_history_repair r = {{2025, 3, 1}, 0, "head gasket", false};
    for (long n = 1;; n++) {
        fail_alloc_at(n);
        const ch_status status = ch_history_build(s, 2, NULL, 0, &r, 1, TODAY, &history, NULL);
        if (!fail_alloc_stop()) {
            assert_int_equal(status, CH_OK);
            break;
        }
        assert_int_equal(fail_alloc_left(), 0);
        assert_int_equal(status, CH_E_MEMORY);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sheets_entered_out_of_order_stand_by_their_day),
        cmocka_unit_test(fewer_hours_once_are_questioned_kept_and_counted_from_the_neighbours),
        cmocka_unit_test(another_meter_is_counted_on),
        cmocka_unit_test(more_hours_than_the_days_have_are_questioned),
        cmocka_unit_test(one_odometer_alone_counts_no_running_time),
        cmocka_unit_test(a_slip_late_in_the_history_is_found_as_well),
        cmocka_unit_test(odometer_that_falls_is_questioned_and_does_not_move_hours),
        cmocka_unit_test(events_of_one_day_and_of_the_tests_day_count_once),
        cmocka_unit_test(only_what_has_run_by_today_counts),
        cmocka_unit_test(leap_days_are_days),
        cmocka_unit_test(sheets_without_hours_or_day_are_told),
        cmocka_unit_test(another_engines_sheet_is_left_out_of_the_fit_but_kept),
        cmocka_unit_test(repairs_stand_between_the_sheets_they_lie_between),
        cmocka_unit_test(the_newest_sheet_counts_until_what_it_found_is_repaired),
        cmocka_unit_test(a_sheet_of_a_day_to_come_is_left_out_and_told),
        cmocka_unit_test(a_slip_of_the_odometer_is_told_in_kilometres),
        cmocka_unit_test(gauges_keep_their_numbers_and_the_oldest_share_one),
        cmocka_unit_test(evidence_gives_back_what_the_prior_was_combined_with),
        cmocka_unit_test(limits_are_where_the_reading_falls_to_them),
        cmocka_unit_test(a_result_comes_back_as_it_was_kept),
        cmocka_unit_test(history_refuses_nothing_and_too_much),
        cmocka_unit_test(no_memory_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
