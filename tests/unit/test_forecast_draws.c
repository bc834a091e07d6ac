/*
 * Promises of decide/forecast.c: all that it says is what its draws say, which it hands out; and nothing depends on where running time, areas or
 * units begin.
 */
#include "crosshatch/forecast.h"
#include "expect.h"
#include "wear_world.h"

#include <stdlib.h>
#include <string.h>

#define HOUR_S 3600.0
enum { SHEETS = 6, EVENTS = 3, THREE = 3 };
static const double PRIOR = -15.0;

static ch_wear_sheet sheet[SHEETS];
static double event_s[EVENTS];

static ch_wear_input an_engine(int cylinders)
{
    ch_stream stream;
    ch_stream_init(&stream, 12, (uint64_t)cylinders);
    wear_world world;
    world_draw(&stream, cylinders, PRIOR, 0.3, &world);
    world_history(&world, &stream, SHEETS, 2, sheet);
    for (int e = 0; e < EVENTS; e++)
        event_s[e] = sheet[SHEETS - 1].running_s + (10.0 + 300.0 * e) * HOUR_S;
    return (ch_wear_input){.cylinders = cylinders,
                           .sheet = sheet,
                           .sheets = SHEETS,
                           .log_area_prior = PRIOR,
                           .u_prior_1 = 0.45,
                           .now_s = sheet[SHEETS - 1].running_s + 5.0 * HOUR_S,
                           .log_watch = PRIOR + 0.8,
                           .log_fault = PRIOR + 1.6,
                           .event_s = event_s,
                           .events = EVENTS,
                           .seed = 5};
}

static ch_forecast run(const ch_wear_input *in)
{
    ch_forecast f = {0};
    ch_err err = {0};
    if (ch_forecast_run(in, &f, &err) < 0)
        fail_msg("%s", err.what);
    return f;
}

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* 5 %, 50 %, 95 % of the draws' values: between the two nearest of them, whichever way a quantile is defined. */
static void expect_quantiles(const double got[3], double value[], const char *what)
{
    static const double p[3] = {0.05, 0.5, 0.95};
    qsort(value, CH_FORECAST_DRAWS, sizeof *value, rising);
    for (int i = 0; i < 3; i++) {
        const int at = (int)(p[i] * CH_FORECAST_DRAWS);
        if (!(got[i] >= value[at - 1] && got[i] <= value[at]))
            fail_msg("%s: %.17g is not between %.17g and %.17g", what, got[i], value[at - 1], value[at]);
    }
}

static double left(const ch_forecast *f, size_t d, int c, double limit)
{
    const double *row = f->draw + d * 2 * (size_t)f->cylinders;
    return fmax((limit - row[c]) / row[f->cylinders + c], 0.0);
}

static double share_over(const ch_forecast *f, int first, int last, double limit, double ahead_s)
{
    int over = 0;
    for (size_t d = 0; d < f->draws; d++) {
        bool any = false;
        for (int c = first; c <= last; c++) {
            const double *row = f->draw + d * 2 * (size_t)f->cylinders;
            any = any || row[c] + ahead_s * row[f->cylinders + c] >= limit;
        }
        over += any;
    }
    return over / (double)CH_FORECAST_DRAWS;
}

static void all_that_is_said_is_what_the_draws_say(void **state)
{
    (void)state;
    static double value[CH_FORECAST_DRAWS];
    static const int counts[] = {1, 3};
    for (int k = 0; k < 2; k++) {
        const ch_wear_input in = an_engine(counts[k]);
        ch_forecast f = run(&in);
        assert_int_equal(f.draws, CH_FORECAST_DRAWS);
        assert_int_equal(f.cylinders, counts[k]);
        assert_int_equal(f.events, EVENTS);
        const double limit[2] = {in.log_watch, in.log_fault};
        for (int c = 0; c < counts[k]; c++) {
            const ch_forecast_cylinder *one = &f.cylinder[c];
            for (int what = 0; what < 3; what++) {
                for (size_t d = 0; d < f.draws; d++) {
                    const double *row = f.draw + d * 2 * (size_t)f.cylinders;
                    const double slope = row[f.cylinders + c];
                    value[d] = what == 0 ? slope : what == 1 ? row[c] : slope * exp(row[c]);
                }
                expect_quantiles(what == 0   ? one->slope_per_s
                                 : what == 1 ? one->log_area_now
                                             : one->growth_m2_per_s,
                                 value, "slope, level or growth");
            }
            for (int l = 0; l < 2; l++) {
                for (size_t d = 0; d < f.draws; d++)
                    value[d] = left(&f, d, c, limit[l]);
                expect_quantiles(l == 0 ? one->watch_s : one->fault_s, value, "time left");
            }
            expect_close(one->over_watch_1, share_over(&f, c, c, limit[0], 0.0), 1e-12);
            expect_close(one->over_fault_1, share_over(&f, c, c, limit[1], 0.0), 1e-12);
            static const double ahead_s[] = {0.0, 200.0 * HOUR_S};
            for (int a = 0; a < 2; a++) {
                double log_area[3];
                assert_int_equal(ch_forecast_ahead(&f, c + 1, ahead_s[a], log_area, NULL), CH_OK);
                for (size_t d = 0; d < f.draws; d++) {
                    const double *row = f.draw + d * 2 * (size_t)f.cylinders;
                    value[d] = row[c] + ahead_s[a] * row[f.cylinders + c];
                }
                expect_quantiles(log_area, value, "area ahead");
            }
        }
        for (int l = 0; l < 2; l++) {
            for (size_t d = 0; d < f.draws; d++) {
                value[d] = INFINITY;
                for (int c = 0; c < counts[k]; c++)
                    value[d] = fmin(value[d], left(&f, d, c, limit[l]));
            }
            expect_quantiles(l == 0 ? f.watch_s : f.fault_s, value, "time left to the first");
        }
        for (int e = 0; e < EVENTS; e++) {
            expect_close(f.event[e].over_watch_1, share_over(&f, 0, counts[k] - 1, limit[0], event_s[e] - in.now_s),
                         1e-12);
            expect_close(f.event[e].over_fault_1, share_over(&f, 0, counts[k] - 1, limit[1], event_s[e] - in.now_s),
                         1e-12);
        }
        ch_forecast_clear(&f);
    }
}

/* A limit that there is not says nothing, and takes nothing from what the other says. */
static void a_limit_that_there_is_not_says_nothing(void **state)
{
    (void)state;
    ch_wear_input in = an_engine(THREE);
    ch_forecast both = run(&in);
    in.log_fault = NAN;
    ch_forecast one = run(&in);
    for (int i = 0; i < 3; i++) {
        assert_true(isnan(one.fault_s[i]) && isnan(one.cylinder[2].fault_s[i]));
        expect_close(one.watch_s[i], both.watch_s[i], 0.0);
    }
    for (int e = 0; e < EVENTS; e++) {
        assert_true(isnan(one.event[e].over_fault_1));
        expect_close(one.event[e].over_watch_1, both.event[e].over_watch_1, 0.0);
    }
    assert_true(isnan(one.cylinder[0].over_fault_1));
    ch_forecast_clear(&both);
    ch_forecast_clear(&one);
}

/* Hours counted from another meter, areas in another unit: the same draws but for the shift. 1e-6: rounding through 2,400 sweeps. */
static void nothing_depends_on_where_time_and_areas_begin(void **state)
{
    (void)state;
    static const double by_s = 777.0 * HOUR_S, by_log = 2.5;
    ch_wear_input in = an_engine(THREE);
    ch_forecast here = run(&in);
    for (int i = 0; i < SHEETS; i++) {
        sheet[i].running_s += by_s;
        for (int c = 0; c < THREE; c++)
            sheet[i].log_area[c] += by_log;
    }
    for (int e = 0; e < EVENTS; e++)
        event_s[e] += by_s;
    in.now_s += by_s;
    in.log_area_prior += by_log;
    in.log_watch += by_log;
    in.log_fault += by_log;
    ch_forecast there = run(&in);
    assert_int_equal(here.found, there.found);
    for (int c = 0; c < THREE; c++)
        for (int i = 0; i < 3; i++) {
            expect_relative(there.cylinder[c].slope_per_s[i], here.cylinder[c].slope_per_s[i], 1e-6);
            expect_close(there.cylinder[c].log_area_now[i] - by_log, here.cylinder[c].log_area_now[i], 1e-6);
            expect_relative(there.fault_s[i], here.fault_s[i], 1e-6);
        }
    for (int i = 0; i < SHEETS; i++)
        expect_close(there.odd_sheet_1[i], here.odd_sheet_1[i], 1e-3);
    ch_forecast_clear(&here);
    ch_forecast_clear(&there);
}

/* With no doubt in the figures, level now = the last figure plus slope times the time since; hours later only the time since has grown. */
static void the_level_now_grows_with_the_time_since_the_last_sheet(void **state)
{
    (void)state;
    ch_wear_input in = an_engine(THREE);
    ch_forecast now = run(&in);
    in.now_s += 50.0 * HOUR_S;
    for (int e = 0; e < EVENTS; e++)
        event_s[e] = in.now_s;
    ch_forecast later = run(&in);
    for (size_t d = 0; d < now.draws; d++) {
        const double *a = now.draw + d * 2 * THREE, *b = later.draw + d * 2 * THREE;
        for (int c = 0; c < THREE; c++) {
            expect_relative(b[THREE + c], a[THREE + c], 1e-12);
            expect_close(b[c], a[c] + 50.0 * HOUR_S * a[THREE + c], 1e-9);
        }
    }
    ch_forecast_clear(&now);
    ch_forecast_clear(&later);
}

static void expect_refused(const ch_wear_input *in, ch_status status, const char *says)
{
    ch_forecast f = {0};
    ch_err err = {0};
    assert_int_equal(ch_forecast_run(in, &f, &err), status);
    if (strstr(err.what, says) == NULL)
        fail_msg("\"%s\" lacks \"%s\"", err.what, says);
    assert_null(f.draw);
}

/* As many cylinders, sheets, steps and events as are allowed are taken, so that the next thing is missed: a figure, or a prior. One more of each is refused. */
static void limits_are_taken_and_one_more_is_refused(void **state)
{
    (void)state;
    static ch_wear_sheet all[CH_FORECAST_SHEETS_MAX + 1];
    static double ends_s[CH_FORECAST_EVENTS_MAX + 1];
    static ch_wear_step step[CH_FORECAST_STEPS_MAX + 1];
    for (size_t i = 0; i <= CH_FORECAST_SHEETS_MAX; i++) {
        all[i] = (ch_wear_sheet){.running_s = 10.0 * HOUR_S, .gauge = CH_FORECAST_GAUGES_MAX - 1};
        for (int c = 0; c < CH_CYLINDERS_MAX; c++) {
            all[i].log_area[c] = NAN;
            all[i].u_1[c] = 0.4;
        }
    }
    for (size_t k = 0; k <= CH_FORECAST_STEPS_MAX; k++)
        step[k] = (ch_wear_step){.running_s = 10.0 * HOUR_S, .sheet = 1, .cylinder = CH_CYLINDERS_MAX};
    for (size_t e = 0; e <= CH_FORECAST_EVENTS_MAX; e++)
        ends_s[e] = 11.0 * HOUR_S;
    const ch_wear_input most = {.cylinders = CH_CYLINDERS_MAX,
                                .sheet = all,
                                .sheets = CH_FORECAST_SHEETS_MAX,
                                .step = step,
                                .steps = CH_FORECAST_STEPS_MAX,
                                .event_s = ends_s,
                                .events = CH_FORECAST_EVENTS_MAX,
                                .log_area_prior = PRIOR,
                                .u_prior_1 = 0.0,
                                .now_s = 10.0 * HOUR_S};
    expect_refused(&most, CH_E_RANGE, "nothing was measured yet");
    all[CH_FORECAST_SHEETS_MAX - 1].log_area[CH_CYLINDERS_MAX - 1] = PRIOR; /* one figure is enough to begin with */
    expect_refused(&most, CH_E_RANGE, "a prior log area");
    ch_wear_input in = most;
    in.cylinders++;
    expect_refused(&in, CH_E_RANGE, "33 cylinders");
    in = most;
    in.sheets++;
    expect_refused(&in, CH_E_LIMIT, "501 sheets, 8 steps, 100 events");
    in = most;
    in.steps++;
    expect_refused(&in, CH_E_LIMIT, "500 sheets, 9 steps, 100 events");
    in = most;
    in.events++;
    expect_refused(&in, CH_E_LIMIT, "500 sheets, 8 steps, 101 events");
    step[CH_FORECAST_STEPS_MAX - 1].cylinder = CH_CYLINDERS_MAX + 1;
    expect_refused(&most, CH_E_RANGE, "step 8 is of cylinder 33");
    step[CH_FORECAST_STEPS_MAX - 1].cylinder = -1;
    expect_refused(&most, CH_E_RANGE, "step 8 is of cylinder -1");
    all[499].gauge = -1;
    expect_refused(&most, CH_E_RANGE, "sheet 500 names gauge -1");
    all[499].gauge = CH_FORECAST_GAUGES_MAX;
    expect_refused(&most, CH_E_RANGE, "sheet 500 names gauge 8");
}

static void what_is_no_number_is_refused_wherever_it_stands(void **state)
{
    (void)state;
    const ch_wear_input good = an_engine(THREE);
    static const double no_numbers[] = {NAN, INFINITY, -INFINITY};
    for (int i = 0; i < 3; i++) {
        ch_wear_input in = good;
        in.log_area_prior = no_numbers[i];
        expect_refused(&in, CH_E_RANGE, "a prior log area");
        in = good;
        in.now_s = no_numbers[i];
        expect_refused(&in, CH_E_RANGE, "now is");
        const double end_s = event_s[1], ran_s = sheet[3].running_s, u_1 = sheet[2].u_1[1];
        event_s[1] = no_numbers[i];
        expect_refused(&good, CH_E_RANGE, "event 2 ends at");
        event_s[1] = end_s;
        sheet[3].running_s = no_numbers[i];
        expect_refused(&good, CH_E_RANGE, "sheet 4 of the history");
        sheet[3].running_s = ran_s;
        sheet[2].u_1[1] = no_numbers[i];
        expect_refused(&good, CH_E_RANGE, "for cylinder 2");
        sheet[2].u_1[1] = u_1;
    }
    ch_wear_input in = good;
    in.events = 0;
    in.now_s = sheet[SHEETS - 1].running_s; /* now may be when the last sheet was, no sooner */
    in.u_prior_1 = -1.0;
    expect_refused(&in, CH_E_RANGE, "a prior log area");
    in.u_prior_1 = 0.45;
    in.now_s -= 1.0;
    expect_refused(&in, CH_E_RANGE, "now is");
    event_s[0] = good.now_s - 1.0;
    expect_refused(&good, CH_E_RANGE, "event 1 ends at");
}

static void what_lies_ahead_is_asked_of_a_cylinder_and_a_time_that_there_are(void **state)
{
    (void)state;
    const ch_wear_input in = an_engine(THREE);
    ch_forecast f = run(&in);
    double area[3] = {7.0, 7.0, 7.0};
    static const struct {
        int cylinder;
        double ahead_s;
    } bad[] = {{0, 1.0}, {THREE + 1, 1.0}, {1, -1.0}, {1, NAN}, {1, INFINITY}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        assert_int_equal(ch_forecast_ahead(&f, bad[i].cylinder, bad[i].ahead_s, area, NULL), CH_E_RANGE);
    assert_true(area[0] == 7.0 && area[2] == 7.0);
    ch_forecast_clear(&f);
    assert_int_equal(ch_forecast_ahead(&f, 1, 1.0, area, NULL), CH_E_RANGE);
}

/*
 * One figure that says nothing: the scatters told are the prior's. Of an inverse gamma of shape 3 the median is twice the mean over 2.674 (the median of a gamma
 * of shape 3); a third of the 2,000 draws counts as independent, four standard errors of its median are 8 % of it, and half of that of its root.
 */
static void scatters_told_are_the_priors_where_nothing_was_learnt(void **state)
{
    (void)state;
    const ch_wear_sheet vague = {.log_area = {PRIOR}, .u_1 = {1e3}};
    const ch_wear_input in = {.cylinders = 1,
                              .sheet = &vague,
                              .sheets = 1,
                              .log_area_prior = PRIOR,
                              .u_prior_1 = 0.45,
                              .log_watch = NAN,
                              .log_fault = NAN,
                              .seed = 3};
    ch_forecast f = run(&in);
    expect_relative(f.day_1, sqrt(2.0 * CH_WEAR_PART_DAY / 2.674), 0.05);
    expect_relative(f.reading_1, sqrt(2.0 * CH_WEAR_PART_READING / 2.674), 0.05);
    expect_close(f.odd_sheet_1[0], 0.021, 0.012); /* on the mean: 0.05 to 0.95, each over its spread, 2.46 to 1 */
    ch_forecast_clear(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_that_is_said_is_what_the_draws_say),
        cmocka_unit_test(a_limit_that_there_is_not_says_nothing),
        cmocka_unit_test(nothing_depends_on_where_time_and_areas_begin),
        cmocka_unit_test(the_level_now_grows_with_the_time_since_the_last_sheet),
        cmocka_unit_test(limits_are_taken_and_one_more_is_refused),
        cmocka_unit_test(scatters_told_are_the_priors_where_nothing_was_learnt),
        cmocka_unit_test(what_is_no_number_is_refused_wherever_it_stands),
        cmocka_unit_test(what_lies_ahead_is_asked_of_a_cylinder_and_a_time_that_there_are),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
