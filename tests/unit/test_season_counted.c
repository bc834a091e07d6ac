/*
 * Promises of decide/season.c: the events that a season, a year and three years hold, when a test falls due among them, what is wrong now and where, put together
 * by hand from docs/season.md, give the same decisions; and what is kept of a judged sheet is what was judged.
 */
#include "crosshatch/sampling.h"
#include "crosshatch/season.h"
#include "expect.h"
#include "judge_sheets.h"

#include <stdlib.h>
#include <string.h>

#define HOUR_S 3600.0
enum { TWO = 2, SHEETS = 3, EVENTS_MAX = 8 };

static ch_assumptions assumptions;
static ch_season *season;
static ch_history_sheet sheet[SHEETS];
static ch_history_event event[EVENTS_MAX];
static const ch_date TODAY = {2027, 3, 1};

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

/* Sheets a year and `hours` apart, of cylinders that leak 1 and `times` times what a sound one does. */
static void sheets_of(double hours, double times)
{
    for (int i = 0; i < SHEETS; i++) {
        sheet[i] = (ch_history_sheet){
            .id = i + 1, .day = {2025 + i, 1, 16}, .hours_s = (100.0 + hours * i) * HOUR_S, .odometer_m = NAN};
        sheet[i].result = (ch_history_result){.cylinders = TWO,
                                              .reliable = true,
                                              .sound_m2 = 0.3e-6,
                                              .u_sound_1 = 0.45,
                                              .watch_m2 = 0.9e-6,
                                              .fault_m2 = 1.6e-6};
        for (int c = 0; c < TWO; c++) {
            sheet[i].result.cylinder[c].n = 1;
            sheet[i].result.cylinder[c].cause_1[CH_CAUSE_SOUND] = 1.0;
            for (int k = 0; k < CH_TRACE_LADDER; k++)
                sheet[i].result.cylinder[c].ladder_m2[k] =
                    0.3e-6 * (c == 1 ? times : 1.0) * exp(0.15 * 1.645 * (k - 9) / 9.0);
        }
    }
}

static void blame(int sheet_at, int cylinder, ch_cause cause, double chance_1)
{
    double *cause_1 = sheet[sheet_at].result.cylinder[cylinder].cause_1;
    cause_1[cause] += chance_1;
    cause_1[CH_CAUSE_SOUND] -= chance_1;
}

/* The events of a horizon by hand; returns how many. */
static size_t course(ch_horizon horizon, ch_decision_event of[])
{
    const ch_history *h = &season->history;
    const double each_s = h->usual_event_s, ratio = h->year_s / each_s;
    const size_t a_year = ratio < 1.0 ? 1 : ratio > 40.0 ? 40 : (size_t)(ratio + 0.5);
    size_t n = 0;
    for (size_t i = 0; i < season->planned; i++)
        if (ch_date_days(season->event[i].event->day) - ch_date_days(TODAY) <= 365)
            of[n++] = (ch_decision_event){season->event[i].running_s, false};
    size_t wanted = a_year;
    if (horizon == CH_HORIZON_SEASON)
        wanted = n > 0 ? n : (a_year + 1) / 2; /* half a year where nothing is planned */
    while (n < wanted)
        of[n++] = (ch_decision_event){each_s, false};
    const bool long_season = (double)a_year * each_s > 30.0 * HOUR_S;
    if (long_season && n > 1)
        of[n / 2].test_before = true;
    of[0].test_before = h->now_s > h->last_s || ch_date_days(TODAY) - ch_date_days(sheet[SHEETS - 1].day) > 365;
    for (int year = 1; horizon == CH_HORIZON_THREE_YEARS && year < 3; year++)
        for (size_t i = 0; i < a_year; i++)
            of[n++] = (ch_decision_event){each_s, i == 0 || (long_season && i == a_year / 2)};
    return n;
}

static void expect_decisions(double over_now_1, double head_share_1)
{
    expect_close(season->head_share_1, head_share_1, 1e-12);
    for (int h = 0; h < CH_HORIZONS; h++) {
        static ch_decision_event of[CH_DECISION_EVENTS_MAX];
        static ch_decision d;
        const size_t n = course((ch_horizon)h, of);
        const ch_decision_input in = {.forecast = &season->forecast,
                                      .log_fault = season->history.log_fault,
                                      .over_now_1 = over_now_1,
                                      .head_share_1 = head_share_1,
                                      .assumptions = &assumptions,
                                      .event = of,
                                      .events = n,
                                      .seed = 2};
        double run_s = 0.0;
        for (size_t e = 0; e < n; e++)
            run_s += of[e].running_s;
        expect_close(season->horizon_s[h], run_s, 1e-6);
        assert_int_equal(ch_decision_run(&in, &d, NULL), CH_OK);
        for (int c = 0; c < CH_COURSES; c++) {
            expect_relative(season->decision[h].cost[c].expected, d.cost[c].expected, 1e-12);
            expect_relative(season->decision[h].cost[c].breaks_1, d.cost[c].breaks_1, 1e-12);
        }
        int over = 0;
        for (size_t k = 0; k < season->forecast.draws; k++) {
            const double *row = season->forecast.draw + k * 2 * TWO;
            over += row[0] + run_s * row[TWO] >= season->history.log_fault ||
                    row[1] + run_s * row[TWO + 1] >= season->history.log_fault;
        }
        expect_close(season->over_fault_1[h], over / (double)CH_FORECAST_DRAWS, 1e-12);
    }
}

static void run(size_t events)
{
    const ch_season_input in = {.sheet = sheet,
                                .sheets = SHEETS,
                                .event = event,
                                .events = events,
                                .today = TODAY,
                                .assumptions = &assumptions,
                                .horizon = CH_HORIZON_YEAR,
                                .seed = 2};
    ch_err err = {0};
    ch_season_clear(season);
    if (ch_season_run(&in, season, &err) < 0)
        fail_msg("%s", err.what);
}

static void decisions_are_those_of_the_events_counted_by_hand(void **state)
{
    (void)state;
    /* four hours a year, in events of two; nothing has run since the last sheet, nothing is planned */
    sheets_of(4.0, 3.0);
    blame(2, 1, CH_CAUSE_EXHAUST_VALVE, 0.12);
    blame(2, 1, CH_CAUSE_RINGS_OR_BORE, 0.04);
    blame(2, 0, CH_CAUSE_RINGS_OR_BORE, 0.2); /* of the sounder cylinder: no matter */
    run(0);
    assert_int_equal(season->worst, 2);
    expect_decisions(0.0, 0.75); /* a fifth is every engine's */
    /* run since; two planned within the year, one on its last day, one behind it */
    blame(2, 0, CH_CAUSE_PISTON_DAMAGE, 0.3);
    event[0] = (ch_history_event){1, {2027, 2, 20}, 1.5 * HOUR_S, "since"};
    event[1] = (ch_history_event){2, {2028, 2, 29}, 2.5 * HOUR_S, "last day"};
    event[2] = (ch_history_event){3, {2028, 3, 1}, 3.5 * HOUR_S, "behind"};
    event[3] = (ch_history_event){4, {2027, 6, 1}, NAN, "usual"};
    run(4);
    assert_int_equal(season->planned, 3);
    expect_decisions(0.5, 0.75);
}

static void a_long_season_is_tested_in_its_middle_too(void **state)
{
    (void)state;
    /* 44 hours a year in events of eleven: four of them */
    sheets_of(44.0, 1.2);
    event[0] = (ch_history_event){1, {2026, 5, 1}, 11.0 * HOUR_S, "usual"};
    run(1);
    expect_decisions(0.0, 0.5); /* nothing speaks for head or below */
    /* what was not weighed properly says nothing of now */
    blame(2, 0, CH_CAUSE_HEAD_GASKET_TO_COOLANT, 0.9);
    blame(2, 1, CH_CAUSE_HEAD_GASKET_TO_COOLANT, 0.9);
    sheet[2].result.reliable = false;
    run(1);
    expect_decisions(0.0, 1.0);
    assert_int_equal(season->upgrade, CH_UPGRADE_REPAIR_FIRST);
}

/* A test of the last year counts as this season's where nothing has run since: without another, watching is running on, and no choice of its own. */
static void a_test_of_long_ago_is_made_again(void **state)
{
    (void)state;
    for (int old = 0; old < 2; old++) {
        sheets_of(4.0, 1.2);
        sheet[2].day = old ? (ch_date){2026, 2, 28} : (ch_date){2026, 3, 1}; /* a year and a day, a year */
        run(0);
        expect_decisions(0.0, 0.5);
        assert_int_equal(ch_date_days(season->last_test), ch_date_days(sheet[2].day));
        const ch_decision *year = &season->decision[CH_HORIZON_YEAR];
        const double run_cost = year->cost[CH_COURSE_RUN].expected, watch_cost = year->cost[CH_COURSE_WATCH].expected;
        assert_int_equal(year->tests, old);
        assert_int_equal(season->decision[CH_HORIZON_THREE_YEARS].tests, 2 + old);
        assert_true(old ? watch_cost > run_cost : watch_cost == run_cost);
        assert_int_equal(year->best, CH_COURSE_RUN);
        double second = old ? watch_cost : INFINITY;
        for (int c = CH_COURSE_REPAIR; c < CH_COURSES; c++)
            second = fmin(second, year->cost[c].expected);
        expect_relative(year->lead, second - run_cost, 1e-12);
    }
}

/* Events a year: one at least, a half rounded up; a long season begins above thirty hours. */
static void a_year_holds_so_many_events(void **state)
{
    (void)state;
    static const struct {
        double year_h, event_h;
    } cases[] = {{1.0, 2.0}, {2.5, 1.0}, {30.0, 10.0}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        /* two years of sheets, from 16 January 2025 on: 730 days */
        sheets_of(cases[k].year_h * 365.0 / 365.25, 1.5);
        event[0] = (ch_history_event){1, {2020, 5, 1}, cases[k].event_h * HOUR_S, "long ago, usual"};
        run(1);
        expect_close(season->history.year_s / HOUR_S, cases[k].year_h, 1e-9);
        if (cases[k].year_h == 30.0) /* whether it is tested in its middle shows in the decisions alone */
            expect_decisions(0.0, 0.5);
        for (int h = 0; h < CH_HORIZONS; h++) {
            static ch_decision_event of[CH_DECISION_EVENTS_MAX];
            double run_s = 0.0;
            for (size_t n = course((ch_horizon)h, of); n > 0; n--)
                run_s += of[n - 1].running_s;
            expect_close(season->horizon_s[h], run_s, 1e-6);
        }
    }
}

/* No reading falls as far as the limit: there is no chance to be over it, now or later, and it says nothing against parts. */
static void without_a_limit_nothing_is_over_it(void **state)
{
    (void)state;
    sheets_of(4.0, 1.2);
    sheet[2].result.fault_m2 = INFINITY;
    event[0] = (ch_history_event){1, {2027, 6, 1}, 2.0 * HOUR_S, "planned"};
    run(1);
    for (int h = 0; h < CH_HORIZONS; h++)
        assert_true(isnan(season->over_fault_1[h]));
    assert_true(isnan(ch_season_over_fault(season, (ch_date){2027, 6, 1})));
    assert_true(isnan(ch_season_over_fault(season, TODAY)));
    assert_int_equal(season->upgrade, CH_UPGRADE_SOUND);
    expect_close(season->event[0].end_s, season->history.now_s + 2.0 * HOUR_S, 1e-9);
    static const char *const horizons[] = {"season", "year", "three_years"}, *const upgrades[] = {
                                                                                 "repair_first", "not_here",
                                                                                 "test_first", "sound"};
    for (int k = 0; k < CH_HORIZONS; k++)
        assert_string_equal(ch_horizon_name((ch_horizon)k), horizons[k]);
    for (int k = 0; k < CH_UPGRADES; k++)
        assert_string_equal(ch_upgrade_name((ch_upgrade)k), upgrades[k]);
}

/* The first line that holds, with the chances that the forecast gives: docs/season.md, "Upgrade money". */
static void the_state_of_the_engine_says_what_may_be_put_on_it(void **state)
{
    (void)state;
    int seen[CH_UPGRADES] = {0}, doubtful = 0;
    for (int k = 3; k < 6; k++) {
        sheets_of(12.0, 2.0 + 0.15 * k);
        run(0);
        assert_true(season->forecast.slope_known);
        const double over_1 = season->forecast.cylinder[1].over_watch_1;
        const ch_upgrade wanted = over_1 >= 0.5                                   ? CH_UPGRADE_REPAIR_FIRST
                                  : season->over_fault_1[CH_HORIZON_YEAR] >= 0.25 ? CH_UPGRADE_NOT_HERE
                                  : over_1 >= 0.25                                ? CH_UPGRADE_TEST_FIRST
                                                                                  : CH_UPGRADE_SOUND;
        assert_int_equal(season->worst, 2);
        assert_int_equal(season->upgrade, wanted);
        seen[wanted]++;
        doubtful += over_1 > 0.3 && over_1 < 0.45;
    }
    assert_true(seen[CH_UPGRADE_REPAIR_FIRST] > 0 && seen[CH_UPGRADE_TEST_FIRST] > 0 && seen[CH_UPGRADE_SOUND] > 0);
    assert_true(doubtful > 0);
}

/* The first line that holds: docs/season.md, "Upgrades". */
static void parts_are_put_on_by_the_limits_of_the_manual(void **state)
{
    (void)state;
    static const struct {
        double fault_1;
        ch_verdict verdict;
        ch_upgrade wanted;
    } cases[] = {{0.24, CH_VERDICT_WATCH, CH_UPGRADE_SOUND},       {0.24, CH_VERDICT_WATCH, CH_UPGRADE_SOUND},
                 {0.25, CH_VERDICT_SOUND, CH_UPGRADE_TEST_FIRST},  {0.49, CH_VERDICT_SOUND, CH_UPGRADE_TEST_FIRST},
                 {0.5, CH_VERDICT_SOUND, CH_UPGRADE_REPAIR_FIRST}, {0.0, CH_VERDICT_FAULT, CH_UPGRADE_REPAIR_FIRST}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        sheets_of(4.0, 1.3);
        blame(2, 1, CH_CAUSE_EXHAUST_VALVE, cases[k].fault_1);
        sheet[2].result.verdict = cases[k].verdict;
        run(0);
        assert_int_equal(season->upgrade, cases[k].wanted);
    }
    sheets_of(4.0, 1.3);
    sheet[2].result.reliable = false;
    run(0);
    assert_int_equal(season->upgrade, CH_UPGRADE_TEST_FIRST);
}

static void what_is_kept_is_what_was_judged(void **state)
{
    (void)state;
    static const char text[] =
        "{sheet: 1, engine: {cylinders: 3, bore: 84 mm, stroke: 80 mm, compression_ratio: 9.5}, "
        "compression: [{cylinder: 1, "
        "reading: 178 psi}, {cylinder: 1, reading: 176 psi}, {cylinder: 3, reading: 150 psi}], "
        "leakdown: [{cylinder: 2, loss: 8 %}, {cylinder: 2, loss: 9 %}, {cylinder: 3, heard: [exhaust]}], "
        "observed: [{cylinder: 2, what: rocker_off}, {cylinder: 3, what: rocker_off, found: false}]}";
    static ch_judgement j;
    static ch_history_result kept;
    static ch_knowledge knowledge;
    ch_sheet of;
    ch_judge_options options = {.seed = 1, .rule = CH_RULE_75_PERCENT};
    sheet_of(text, &of);
    assert_int_equal(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL), CH_OK);
    assert_int_equal(ch_judge(&of, &knowledge, &options, &j, NULL), CH_OK);
    options.traced = &j.trace; /* to trace once is enough */
    assert_int_equal(ch_history_judge(&of, &knowledge, &options, &kept, NULL), CH_OK);
    assert_int_equal(kept.cylinders, 3);
    assert_int_equal(kept.verdict, j.verdict);
    assert_int_equal(kept.reliable, j.trace.reliable);
    for (int c = 0; c < 3; c++) {
        const ch_judged_cylinder *one = &j.cylinder[c];
        const ch_history_cylinder *to = &kept.cylinder[c];
        assert_int_equal(to->n, one->n);
        assert_int_equal(to->leakdowns, c == 1 ? 2 : 0); /* what was only heard is no figure */
        assert_int_equal(to->signs, c == 0 ? 0 : 1);
        assert_int_equal(to->broken, c == 1);
        if (one->n > 0) {
            expect_close(to->mean_pa, one->mean_pa, 0.0);
            expect_close(to->standard_day_pa, one->standard_day_pa, 0.0);
            expect_close(to->u_standard_day_pa, one->u_standard_day_pa, 0.0);
            assert_true(one->standard_day_pa > 0.0 && one->u_standard_day_pa > 0.0);
        } else {
            assert_true(isnan(to->mean_pa) && isnan(to->standard_day_pa) && isnan(to->u_standard_day_pa));
        }
        assert_memory_equal(to->ladder_m2, j.trace.cylinder[c].ladder_m2, sizeof to->ladder_m2);
        assert_memory_equal(to->cause_1, j.trace.cylinder[c].cause_1, sizeof to->cause_1);
    }
    ch_sheet_clear(&of);

    /* The manual's minimum over its standard takes the place of the fault limit where it is stricter, up to 0.99; the watch limit goes with it, three fifths as far
     * from sound. Close to sound the logarithm of the area goes with the reading. */
    static const struct {
        const char *minimum;
        double fault_1;
    } manuals[] = {{"180 psi", 0.99}, {"177 psi", 177.0 / 180.0}, {"100 psi", 0.75}};
    double gauge_pa[2] = {0.0, kept.fault_m2};
    for (size_t k = 0; k < sizeof manuals / sizeof manuals[0]; k++) {
        char with[400];
        static ch_history_result limited;
        snprintf(
            with, sizeof with,
            "{sheet: 1, engine: {cylinders: 3, bore: 84 mm, stroke: 80 mm, compression_ratio: 9.5, limits: {standard: "
            "180 psi, minimum: %s}}, compression: [{cylinder: 1, reading: 178 psi}, {cylinder: 1, reading: 176 psi}, "
            "{cylinder: 3, reading: 150 psi}]}",
            manuals[k].minimum);
        sheet_of(with, &of);
        assert_int_equal(ch_history_judge(&of, &knowledge, &options, &limited, NULL), CH_OK);
        ch_sheet_clear(&of);
        const double watch = log(limited.watch_m2 / limited.sound_m2), fault = log(limited.fault_m2 / limited.sound_m2);
        if (manuals[k].fault_1 > 0.75) {
            expect_relative(watch, 0.6 * fault, 1e-9);
            gauge_pa[0] = k == 0 ? fault / 0.01 : gauge_pa[0]; /* logarithm a reading */
            expect_relative(fault, gauge_pa[0] * (1.0 - manuals[k].fault_1), 1e-9);
        } else {
            expect_relative(limited.fault_m2, kept.fault_m2, 1e-12);
            expect_relative(limited.watch_m2, kept.watch_m2, 1e-12);
        }
    }
    ch_knowledge_clear(&knowledge);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(decisions_are_those_of_the_events_counted_by_hand),
        cmocka_unit_test(a_test_of_long_ago_is_made_again),
        cmocka_unit_test(a_long_season_is_tested_in_its_middle_too),
        cmocka_unit_test(a_year_holds_so_many_events),
        cmocka_unit_test(without_a_limit_nothing_is_over_it),
        cmocka_unit_test(the_state_of_the_engine_says_what_may_be_put_on_it),
        cmocka_unit_test(parts_are_put_on_by_the_limits_of_the_manual),
        cmocka_unit_test(what_is_kept_is_what_was_judged),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
