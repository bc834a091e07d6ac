/* Promises of decide/season.c, and of show/show_season_*.c where the command's tests do not reach. */
#include "crosshatch/season.h"
#include "crosshatch/show_season.h"
#include "expect.h"
#include "fail_alloc.h"

#include <stdlib.h>
#include <string.h>

#define HOUR_S 3600.0
enum { FOUR = 4, SHEETS = 4 };

static ch_assumptions assumptions;
static ch_season *season;
static ch_history_sheet sheet[SHEETS];

/* Sheets of a four whose cylinder 2 leaks `times` as much as a sound one on the last of them, growing evenly in the logarithm. */
static void sheets_of(double times, double fault_1, ch_verdict verdict)
{
    for (int i = 0; i < SHEETS; i++) {
        sheet[i] = (ch_history_sheet){
            .id = i + 1, .day = {2024 + i, 1, 16}, .hours_s = (100.0 + 40.0 * i) * HOUR_S, .odometer_m = NAN};
        sheet[i].result = (ch_history_result){.cylinders = FOUR,
                                              .verdict = verdict,
                                              .reliable = true,
                                              .sound_m2 = 0.3e-6,
                                              .u_sound_1 = 0.45,
                                              .watch_m2 = 0.9e-6,
                                              .fault_m2 = 1.6e-6};
        for (int c = 0; c < FOUR; c++) {
            ch_history_cylinder *one = &sheet[i].result.cylinder[c];
            one->n = 1;
            one->standard_day_pa = 1.2e6;
            one->cause_1[CH_CAUSE_SOUND] = c == 1 ? 1.0 - fault_1 : 1.0;
            one->cause_1[CH_CAUSE_EXHAUST_VALVE] = c == 1 ? 0.75 * fault_1 : 0.0;
            one->cause_1[CH_CAUSE_RINGS_OR_BORE] = c == 1 ? 0.25 * fault_1 : 0.0;
            for (int k = 0; k < CH_TRACE_LADDER; k++)
                one->ladder_m2[k] =
                    0.3e-6 * (c == 1 ? pow(times, (double)(i + 1) / SHEETS) : 1.0) * exp(0.15 * 1.645 * (k - 9) / 9.0);
        }
    }
}

static ch_season_input input(void)
{
    return (ch_season_input){.sheet = sheet,
                             .sheets = SHEETS,
                             .today = {2027, 3, 1},
                             .assumptions = &assumptions,
                             .horizon = CH_HORIZON_THREE_YEARS,
                             .seed = 2};
}

static void run(const ch_season_input *in)
{
    ch_err err = {0};
    ch_season_clear(season);
    if (ch_season_run(in, season, &err) < 0)
        fail_msg("%s", err.what);
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
    ch_season_clear(season);
    free(season);
    ch_assumptions_clear(&assumptions);
    return 0;
}

static void a_sound_engine_may_have_parts_put_on_it(void **state)
{
    (void)state;
    sheets_of(1.0, 0.0, CH_VERDICT_SOUND);
    const ch_season_input in = input();
    run(&in);
    assert_int_equal(season->upgrade, CH_UPGRADE_SOUND);
    assert_true(season->decision[CH_HORIZON_THREE_YEARS].best == CH_COURSE_RUN ||
                season->decision[CH_HORIZON_THREE_YEARS].best == CH_COURSE_WATCH);
}

static void a_leaking_one_is_put_right_first(void **state)
{
    (void)state;
    sheets_of(8.0, 0.9, CH_VERDICT_FAULT);
    const ch_season_input in = input();
    run(&in);
    assert_int_equal(season->upgrade, CH_UPGRADE_REPAIR_FIRST);
    assert_int_equal(season->worst, 2);
    expect_close(season->head_share_1, 0.75, 1e-12);
    const ch_course best = season->decision[CH_HORIZON_THREE_YEARS].best;
    assert_true(best == CH_COURSE_REPAIR || best == CH_COURSE_WATCH);
    for (int h = 1; h < CH_HORIZONS; h++)
        assert_true(season->over_fault_1[h] >= season->over_fault_1[h - 1] &&
                    season->horizon_s[h] >= season->horizon_s[h - 1]);
}

static void one_test_is_too_little_to_put_parts_on(void **state)
{
    (void)state;
    sheets_of(1.0, 0.0, CH_VERDICT_SOUND);
    ch_season_input in = input();
    in.sheets = 1;
    run(&in);
    assert_int_equal(season->upgrade, CH_UPGRADE_TEST_FIRST);
}

static void an_engine_that_will_not_last_gets_only_what_moves_on(void **state)
{
    (void)state;
    sheets_of(2.4, 0.0, CH_VERDICT_SOUND); /* grows by ln 2.4 in 120 h: over the limit within the three years of 40 h */
    const ch_season_input in = input();
    run(&in);
    assert_int_equal(season->upgrade, CH_UPGRADE_NOT_HERE);
}

static void events_come_by_day_and_those_of_today_count_once(void **state)
{
    (void)state;
    sheets_of(1.0, 0.0, CH_VERDICT_SOUND);
    const ch_history_event event[] = {
        {1, {2028, 2, 29}, NAN, "leap day"},      {2, {2027, 4, 1}, 5.0 * HOUR_S, "long one"},
        {3, {2027, 3, 1}, NAN, "today, to come"}, {4, {2027, 3, 1}, 3.0 * HOUR_S, "today, done"},
        {5, {2027, 4, 1}, NAN, "same day"},       {6, {2027, 2, 1}, NAN, "past, hours not known"}};
    ch_season_input in = input();
    in.event = event;
    in.events = sizeof event / sizeof event[0];
    run(&in);
    static const int64_t order[] = {3, 2, 5, 1};
    assert_int_equal(season->planned, 4);
    for (int i = 0; i < 4; i++)
        assert_int_equal(season->event[i].event->id, order[i]);
    expect_close(season->history.now_s / HOUR_S, 223.0, 1e-9);
    expect_close(season->event[0].end_s / HOUR_S, 226.0, 1e-9); /* a usual event: the 3 h that are known */
    expect_close(season->event[1].end_s / HOUR_S, 231.0, 1e-9);
    /* 29 February 2028 is 365 days on: within the year, and so within the season */
    expect_close(season->horizon_s[CH_HORIZON_SEASON] / HOUR_S, 3.0 + 5.0 + 3.0 + 3.0, 1e-9);
}

static void a_full_season_counts_with_all_its_events(void **state)
{
    (void)state;
    sheets_of(1.0, 0.0, CH_VERDICT_SOUND);
    static ch_history_event event[CH_FORECAST_EVENTS_MAX + 1]; /* the last has no room */
    for (int i = 0; i <= CH_FORECAST_EVENTS_MAX; i++)
        event[i] = (ch_history_event){i + 1, {2027, 4 + i / 28, 1 + i % 28}, 0.5 * HOUR_S, "practice"};
    ch_season_input in = input();
    in.event = event;
    in.events = CH_FORECAST_EVENTS_MAX + 1;
    run(&in);
    assert_int_equal(season->planned, CH_FORECAST_EVENTS_MAX);
    expect_close(season->horizon_s[CH_HORIZON_SEASON] / HOUR_S, 0.5 * CH_FORECAST_EVENTS_MAX, 1e-9);
    assert_true(season->horizon_s[CH_HORIZON_THREE_YEARS] > season->horizon_s[CH_HORIZON_YEAR]);
}

static void the_chance_at_a_day_is_that_after_its_last_event(void **state)
{
    (void)state;
    sheets_of(4.0, 0.0, CH_VERDICT_SOUND);
    const ch_history_event event[] = {{1, {2027, 4, 1}, 20.0 * HOUR_S, "practice"},
                                      {2, {2027, 4, 1}, 60.0 * HOUR_S, "race"},
                                      {3, {2027, 6, 1}, 20.0 * HOUR_S, "later"}};
    ch_season_input in = input();
    in.event = event;
    in.events = sizeof event / sizeof event[0];
    run(&in);
    const ch_forecast *f = &season->forecast;
    assert_true(f->event[0].over_fault_1 < f->event[1].over_fault_1);
    expect_close(ch_season_over_fault(season, (ch_date){2027, 4, 1}), f->event[1].over_fault_1, 0.0);
    expect_close(ch_season_over_fault(season, (ch_date){2027, 6, 1}), f->event[2].over_fault_1, 0.0);
    /* nothing is planned for that day, or for any: as it is now, by the worst cylinder */
    expect_close(ch_season_over_fault(season, (ch_date){2027, 5, 1}), f->cylinder[1].over_fault_1, 0.0);
    expect_close(ch_season_over_fault(season, (ch_date){0}), f->cylinder[1].over_fault_1, 0.0);
    assert_true(f->cylinder[1].over_fault_1 > f->cylinder[0].over_fault_1);
}

/* Nothing was tested at cylinder 2 on the last sheet; what the tracing takes for granted of it stands there. */
static void leave_out_the_second(int at)
{
    ch_history_cylinder *one = &sheet[at].result.cylinder[1];
    one->n = 0;
    memset(one->cause_1, 0, sizeof one->cause_1);
    one->cause_1[CH_CAUSE_SOUND] = 0.92;
    one->cause_1[CH_CAUSE_EXHAUST_VALVE] = 0.08;
    for (int k = 0; k < CH_TRACE_LADDER; k++)
        one->ladder_m2[k] = 0.27e-6 * exp(0.45 * 1.645 * (k - 9) / 9.0);
}

static void what_was_not_tested_is_no_figure_and_hides_no_fault(void **state)
{
    (void)state;
    sheets_of(5.0, 0.9, CH_VERDICT_UNCLEAR);
    ch_season_input in = input();
    in.sheets = 3;
    run(&in);
    const double before[] = {season->forecast.cylinder[1].log_area_now[1], season->over_fault_1[CH_HORIZON_YEAR],
                             season->decision[CH_HORIZON_YEAR].cost[CH_COURSE_RUN].expected};
    assert_int_equal(season->upgrade, CH_UPGRADE_REPAIR_FIRST);
    in.sheets = SHEETS;
    leave_out_the_second(3);
    for (int i = 4; i < SHEETS; i++)
        leave_out_the_second(i);
    run(&in);
    assert_int_equal(season->forecast.found, 0); /* no step out of what nobody read */
    assert_true(season->forecast.cylinder[1].log_area_now[1] > before[0] - 0.2);
    assert_true(season->over_fault_1[CH_HORIZON_YEAR] > 0.5 * before[1]);
    assert_true(season->decision[CH_HORIZON_YEAR].cost[CH_COURSE_RUN].expected > 0.5 * before[2]);
    assert_int_equal(season->upgrade, CH_UPGRADE_REPAIR_FIRST);
    assert_int_equal(season->worst, 2);
    expect_close(season->head_share_1, 0.75, 1e-12); /* by the last sheet that tested it */
    /* a repair since makes it a matter of the past; one that is still to come does not */
    ch_history_repair repair = {.day = {2027, 2, 20}, .what = "Head"};
    in.repair = &repair;
    in.repairs = 1;
    run(&in);
    const double mended = season->decision[CH_HORIZON_YEAR].cost[CH_COURSE_RUN].expected;
    repair.day = (ch_date){2027, 3, 2};
    run(&in);
    assert_true(season->decision[CH_HORIZON_YEAR].cost[CH_COURSE_RUN].expected > mended);
}

static void a_cylinder_that_was_never_tested_is_told_and_is_not_the_worst(void **state)
{
    (void)state;
    sheets_of(1.0, 0.0, CH_VERDICT_SOUND);
    for (int i = 0; i < SHEETS; i++) {
        leave_out_the_second(i);
        for (int k = 0; k < CH_TRACE_LADDER; k++)
            sheet[i].result.cylinder[1].ladder_m2[k] *= 9.0;
    }
    const ch_season_input in = input();
    run(&in);
    assert_true(season->worst != 2);
    assert_int_equal(season->history.question_count, 1);
    assert_int_equal(season->history.question[0].kind, CH_HISTORY_UNTESTED);
    assert_non_null(strstr(season->history.question[0].text, "Cylinder 2: no sheet has a test of it."));
}

static void the_curves_begin_now_and_end_at_the_horizon(void **state)
{
    (void)state;
    sheets_of(4.0, 0.0, CH_VERDICT_SOUND);
    const ch_season_input in = input();
    run(&in);
    for (int c = 0; c < FOUR; c++) {
        double end[3];
        assert_int_equal(
            ch_forecast_ahead(&season->forecast, c + 1, season->horizon_s[CH_HORIZON_THREE_YEARS], end, NULL), CH_OK);
        for (int i = 0; i < 3; i++) {
            expect_close(season->fan_log[c][0][i], season->forecast.cylinder[c].log_area_now[i], 0.0);
            expect_close(season->fan_log[c][CH_SEASON_FAN][i], end[i], 0.0);
            for (int k = 1; k <= CH_SEASON_FAN; k++)
                assert_true(season->fan_log[c][k][i] >= season->fan_log[c][k - 1][i]); /* wear does not heal */
        }
        for (int k = 1; k < CH_SEASON_FAN; k++) { /* in eight equal parts */
            double part[3];
            assert_int_equal(ch_forecast_ahead(&season->forecast, c + 1,
                                               0.125 * k * season->horizon_s[CH_HORIZON_THREE_YEARS], part, NULL),
                             CH_OK);
            for (int i = 0; i < 3; i++)
                expect_close(season->fan_log[c][k][i], part[i], 1e-12);
        }
    }
}

static void season_refuses_and_leaves_nothing_behind(void **state)
{
    (void)state;
    sheets_of(1.0, 0.0, CH_VERDICT_SOUND);
    ch_season_input in = input();
    in.horizon = CH_HORIZONS;
    assert_int_equal(ch_season_run(&in, season, NULL), CH_E_RANGE);
    in = input();
    in.sheets = 0;
    assert_int_equal(ch_season_run(&in, season, NULL), CH_E_RANGE);
    in = input();
    in.sheets = 1;
    ch_season_clear(season);
    for (long n = 1;; n++) {
        fail_alloc_at(n);
        const ch_status status = ch_season_run(&in, season, NULL);
        if (!fail_alloc_stop()) {
            assert_int_equal(status, CH_OK);
            break;
        }
        assert_int_equal(status, CH_E_MEMORY);
        assert_null(season->forecast.draw);
        assert_int_equal(fail_alloc_left(), 0);
    }
    assert_null(ch_horizon_name(CH_HORIZONS));
    assert_null(ch_upgrade_name(CH_UPGRADES));
    assert_string_equal(ch_upgrade_name(CH_UPGRADE_NOT_HERE), "not_here");
}

static ch_show_season shown(void)
{
    return (ch_show_season){
        .season = season, .assumptions = &assumptions, .car = "invented", .today = {2027, 3, 1}, .passed_over = 1};
}

static void steps_and_what_the_answer_hangs_on_are_told_in_sentences(void **state)
{
    (void)state;
    sheets_of(8.0, 0.5, CH_VERDICT_WATCH);
    ch_season_input in = input();
    run(&in);
    season->forecast.found = 1;
    season->forecast.step[0] =
        (ch_wear_found){.step = {.running_s = season->history.wear[2].running_s, .sheet = 2, .cylinder = 2},
                        .size_log = log(3.0),
                        .chance_1 = 0.01};
    ch_decision *d = &season->decision[season->horizon];
    d->swing[0].best[0] = d->best == CH_COURSE_RUN ? CH_COURSE_REPAIR : CH_COURSE_RUN;
    const ch_show_season of = shown();
    char sentence[CH_SHOW_SENTENCE];
    ch_show_season_step(&of, 0, sentence);
    assert_non_null(strstr(sentence, "2026-01-16"));
    assert_non_null(strstr(sentence, "cylinder 2 leaks 3.0 times"));
    assert_non_null(strstr(sentence, "repeat the test"));
    ch_show_season_swing(&of, 0, sentence);
    assert_non_null(strstr(sentence, assumptions.of[d->swing[0].assumption].title));
    assert_non_null(strstr(sentence, "is cheaper"));
    const ch_show_style style = {.columns = 80};
    ch_text text;
    ch_text_init(&text, 100000);
    ch_show_season_text(&of, &style, &text);
    assert_int_equal(text.status, CH_OK);
    assert_non_null(strstr(ch_text_string(&text), "1 sheet could not be judged and is left out."));
    assert_non_null(strstr(ch_text_string(&text), "A step, not wear"));
    ch_text_clear(&text);
}

static void money_has_the_digits_that_a_guess_carries(void **state)
{
    (void)state;
    static const struct {
        double money;
        const char *says;
    } CASES[] = {{0.0, "0"},       {0.4, "0"},         {0.6, "1"},     {57.4, "57"},         {99.4, "99"},
                 {99.5, "100"},    {104.9, "100"},     {105.1, "110"}, {994.0, "990"},       {996.0, "1000"},
                 {1243.0, "1200"}, {-1251.0, "-1300"}, {NAN, "-"},     {123456.0, "120000"}, {INFINITY, "-"}};
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        char number[CH_SHOW_NUMBER];
        assert_string_equal(ch_show_guessed(CASES[i].money, number), CASES[i].says);
    }
}

static void choices_whose_costs_read_alike_are_not_put_in_an_order(void **state)
{
    (void)state;
    sheets_of(8.0, 0.5, CH_VERDICT_WATCH);
    ch_season_input in = input();
    run(&in);
    const ch_show_season of = shown();
    char sentence[CH_SHOW_SENTENCE];
    ch_decision *d = &season->decision[season->horizon];
    for (int more = 0; more < 2; more++) { /* both read 1200, and then 1200 and 1300 */
        for (int c = 0; c < CH_COURSES; c++)
            d->cost[c].expected = c == (int)d->best ? 1240.4 : c == (int)CH_COURSE_REBUILD ? 1249.6 + 2 * more : 5000.0;
        d->lead = 9.2 + 2 * more;
        assert_true(d->best != CH_COURSE_REBUILD);
        ch_show_season_advice(&of, sentence);
        assert_true((strstr(sentence, "and alike: ") != NULL) == (more == 0));
        assert_true((strstr(sentence, "about 1200 ") != NULL && strstr(sentence, " each.") != NULL) == (more == 0));
        assert_true((strstr(sentence, "would cost about 11 more") != NULL) == (more == 1));
    }
}

/* The arrow and the words: no test that is not made is advised, and one that is due is asked for. */
static void tests_that_fall_due_and_those_that_do_not_are_said(void **state)
{
    (void)state;
    sheets_of(1.0, 0.0, CH_VERDICT_SOUND);
    ch_season_input in = input();
    in.horizon = CH_HORIZON_YEAR;
    run(&in);
    ch_show_season of = shown();
    char sentence[CH_SHOW_SENTENCE];
    ch_decision *d = &season->decision[CH_HORIZON_YEAR];
    assert_true(d->tests > 0);
    assert_string_equal(ch_show_course_row(d, CH_COURSE_WATCH), ch_show_course_title(CH_COURSE_WATCH));
    ch_show_season_advice(&of, sentence);
    assert_null(strstr(sentence, "No test falls due"));
    assert_null(strstr(sentence, "years ago"));
    *d = (ch_decision){.best = CH_COURSE_RUN, .lead = 90.0};
    for (int c = 0; c < CH_COURSES; c++)
        d->cost[c].expected = c == CH_COURSE_RUN || c == CH_COURSE_WATCH ? 10.0
                              : c == CH_COURSE_REBUILD                   ? 100.0
                                                                         : 500.0;
    ch_show_season_advice(&of, sentence);
    assert_non_null(strstr(sentence, "\"Run it, no tests\", about 10 "));
    assert_non_null(strstr(sentence, "\"Rebuild the engine now\" would cost about 90 more"));
    assert_non_null(strstr(sentence, "No test falls due until then"));
    assert_string_equal(ch_show_course_row(d, CH_COURSE_WATCH), "Test each season: none falls due");
    assert_string_equal(ch_show_course_row(d, CH_COURSE_RUN), ch_show_course_title(CH_COURSE_RUN));
    /* from 16 January 2027: a year and a half is up in the middle of July 2028 */
    of.today = (ch_date){2028, 7, 16};
    ch_show_season_advice(&of, sentence);
    assert_null(strstr(sentence, "years ago"));
    of.today = (ch_date){2031, 1, 16};
    ch_show_season_advice(&of, sentence);
    assert_non_null(strstr(sentence, "The last test is of 2027-01-16, 4.0 years ago"));
    assert_null(strstr(sentence, "No test falls due"));
}

static void an_answer_without_room_or_memory_is_a_failure(void **state)
{
    (void)state;
    sheets_of(1.0, 0.0, CH_VERDICT_SOUND);
    const ch_season_input in = input();
    run(&in);
    const ch_show_season of = shown();
    const ch_show_style style = {.columns = 60, .colour = true};
    ch_text text;
    ch_text_init(&text, 100);
    ch_show_season_text(&of, &style, &text);
    assert_int_equal(ch_text_check(&text, NULL), CH_E_LIMIT);
    ch_text_clear(&text);
    assert_int_equal(ch_show_season_json(&of, &text, NULL), CH_E_LIMIT);
    ch_text_clear(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sound_engine_may_have_parts_put_on_it),
        cmocka_unit_test(a_leaking_one_is_put_right_first),
        cmocka_unit_test(one_test_is_too_little_to_put_parts_on),
        cmocka_unit_test(an_engine_that_will_not_last_gets_only_what_moves_on),
        cmocka_unit_test(events_come_by_day_and_those_of_today_count_once),
        cmocka_unit_test(a_full_season_counts_with_all_its_events),
        cmocka_unit_test(the_chance_at_a_day_is_that_after_its_last_event),
        cmocka_unit_test(what_was_not_tested_is_no_figure_and_hides_no_fault),
        cmocka_unit_test(a_cylinder_that_was_never_tested_is_told_and_is_not_the_worst),
        cmocka_unit_test(the_curves_begin_now_and_end_at_the_horizon),
        cmocka_unit_test(season_refuses_and_leaves_nothing_behind),
        cmocka_unit_test(steps_and_what_the_answer_hangs_on_are_told_in_sentences),
        cmocka_unit_test(money_has_the_digits_that_a_guess_carries),
        cmocka_unit_test(choices_whose_costs_read_alike_are_not_put_in_an_order),
        cmocka_unit_test(tests_that_fall_due_and_those_that_do_not_are_said),
        cmocka_unit_test(an_answer_without_room_or_memory_is_a_failure),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
