/* How good the season's answers are: virtual engines that wear over five seasons.
 *
 * usage: study_season [ENGINES [WHOLE [SEED]]]    (default: 600 engines, 16 through the whole chain, seed 1)
 *
 * 1. Forecast: sheets come as what their evidence says of each log area (tests/unit/wear_world.h), so that hundreds of histories can be counted:
 *    intervals of the hours left, false alarms and finds of steps; then worlds that the model does not expect.
 * 2. Decision: five seasons under three policies, the same engines and the same luck.
 * 3. Whole chain: a few engines measured with the cranking model, judged, traced, and forecast.
 *
 * Exits 0 where all wanted figures are met, else 1; with fewer than 200 engines the figures are too rough to miss anything. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/history.h"
#include "crosshatch/season.h"
#include "study_engine.h"
#include "study_kit.h"
#include "wear_world.h"

#define HOUR_S 3600.0
enum { SEASONS = 5, ENOUGH = 200 };

static const double SOUND_M2 = 0.30e-6, WATCH_M2 = 1.08e-6, FAULT_M2 = 1.72e-6, U_SOUND = 0.447; /* of an 84 mm bore */

/* ---- 1: forecast ---- */

/* How the world differs from what the model expects. */
typedef enum strangeness { AS_EXPECTED, ACCELERATING, UNEVEN_SEASONS, LOUD_DAYS, STRANGE_COUNT } strangeness;
static const char *const STRANGE[STRANGE_COUNT] = {"as expected", "wear that doubles its pace over the five seasons",
                                                   "wear that differs by a factor of 1.5 from season to season",
                                                   "days and readings twice as loud as expected"};

typedef struct forecast_count {
    size_t hours, hours_in, slopes, slopes_in, histories, alarms, steps, found, right;
} forecast_count;

/* What a strange world adds to a cylinder's log area by its five seasons, at running time t of `all`. */
static double strange_wear(strangeness how, const double season_1[SEASONS], double slope_per_s, double t_s,
                           double all_s)
{
    if (how == ACCELERATING)
        return slope_per_s * (t_s * t_s / all_s - t_s) * 0.5;
    double sum = 0.0;
    for (int k = 0; how == UNEVEN_SEASONS && k < SEASONS; k++) {
        const double from_s = all_s * k / SEASONS, until_s = all_s * (k + 1) / SEASONS;
        if (t_s > from_s)
            sum += (season_1[k] - 1.0) * slope_per_s * (fmin(t_s, until_s) - from_s);
    }
    return sum;
}

static int count_one(uint64_t seed, size_t number, strangeness how, bool step, forecast_count *n)
{
    ch_stream stream;
    ch_stream_init(&stream, seed, number);
    wear_world world;
    ch_wear_sheet sheet[WORLD_SHEETS_MAX];
    const int cylinders = ch_stream_uniform(&stream) < 0.7 ? 4 : 6;
    const size_t sheets = SEASONS + (size_t)(ch_stream_uniform(&stream) * 6.0); /* one each winter, some between */
    world_draw(&stream, cylinders, log(SOUND_M2), U_SOUND, &world);
    if (step) {
        world.step_cylinder = (int)(ch_stream_uniform(&stream) * cylinders);
        world.step_sheet = 1 + (size_t)(ch_stream_uniform(&stream) * (double)(sheets - 1));
        world.step_log = 1.0 + 1.5 * ch_stream_uniform(&stream);
    }
    world_history(&world, &stream, sheets, 2, sheet);
    const double all_s = sheet[sheets - 1].running_s;
    double season_1[SEASONS];
    for (int k = 0; k < SEASONS; k++)
        season_1[k] = exp(0.4 * ch_stream_normal(&stream));
    for (size_t i = 0; i < sheets; i++)
        for (int c = 0; c < cylinders; c++) {
            const double u = sheet[i].u_1[c];
            sheet[i].log_area[c] += strange_wear(how, season_1, world.slope_per_s[c], sheet[i].running_s, all_s);
            if (how == LOUD_DAYS)
                sheet[i].log_area[c] += u * sqrt(3.0 * CH_WEAR_PART_READING) * ch_stream_normal(&stream);
        }
    const ch_wear_input in = {.cylinders = cylinders,
                              .sheet = sheet,
                              .sheets = sheets,
                              .log_area_prior = log(SOUND_M2),
                              .u_prior_1 = U_SOUND,
                              .now_s = all_s,
                              .log_watch = log(WATCH_M2),
                              .log_fault = log(FAULT_M2),
                              .seed = number};
    ch_forecast f = {0};
    ch_err err = {0};
    if (ch_forecast_run(&in, &f, &err) < 0) {
        study_complain("forecast", &err);
        return 0;
    }
    for (int c = 0; c < cylinders; c++) {
        /* the pace from now on: in worlds of another pace, that of the last season goes on */
        const double pace = world.slope_per_s[c] * (how == ACCELERATING     ? 1.5
                                                    : how == UNEVEN_SEASONS ? season_1[SEASONS - 1]
                                                                            : 1.0);
        const double now =
            world_log_area(&world, c, all_s, sheets) + strange_wear(how, season_1, world.slope_per_s[c], all_s, all_s);
        const double left_s = (in.log_fault - now) / pace;
        n->slopes++;
        n->slopes_in += pace >= f.cylinder[c].slope_per_s[0] && pace <= f.cylinder[c].slope_per_s[2];
        if (left_s > 0.0) {
            n->hours++;
            n->hours_in += left_s >= f.cylinder[c].fault_s[0] && left_s <= f.cylinder[c].fault_s[2];
        }
    }
    n->histories += !step;
    n->alarms += !step && f.found > 0;
    n->steps += step;
    n->found += step && f.found > 0;
    for (size_t k = 0; step && k < f.found; k++)
        if (f.step[k].step.cylinder == world.step_cylinder + 1) {
            n->right++;
            break;
        }
    ch_forecast_clear(&f);
    return 1;
}

static double part(size_t of, size_t n)
{
    return n > 0 ? (double)of / (double)n : NAN;
}

static int forecast_study(size_t engines, uint64_t seed)
{
    int met = 1;
    for (int how = 0; how < STRANGE_COUNT; how++) {
        forecast_count n = {0}, steps = {0};
        const size_t some = how == AS_EXPECTED ? engines : engines / 4;
        for (size_t i = 0; i < some; i++)
            met = count_one(seed + (uint64_t)how, i, (strangeness)how, false, &n) && met;
        for (size_t i = 0; how == AS_EXPECTED && i < engines / 2; i++)
            met = count_one(seed + 100, i, AS_EXPECTED, true, &steps) && met;
        const bool wanted = how == AS_EXPECTED;
        printf("\nWorld: %s\n", STRANGE[how]);
        const study_figure figures[] = {
            {"true hours to the fault limit inside the 90 % interval", part(n.hours_in, n.hours),
             wanted ? 0.88 : -INFINITY, wanted ? 0.92 : INFINITY, n.hours},
            {"true slope inside its 90 % interval", part(n.slopes_in, n.slopes), -INFINITY, INFINITY, n.slopes},
            {"histories without a step in which one is called", part(n.alarms, n.histories), -INFINITY,
             wanted ? 0.05 : INFINITY, n.histories}};
        for (size_t k = 0; k < sizeof figures / sizeof figures[0]; k++)
            met = study_figure_print(&figures[k]) && met;
        if (wanted) {
            const study_figure found[] = {
                {"steps of 2.7 to 12 times found", part(steps.found, steps.steps), -INFINITY, INFINITY, steps.steps},
                {"and in the right cylinder", part(steps.right, steps.steps), -INFINITY, INFINITY, steps.steps},
                {"hours inside the interval, engines with a step", part(steps.hours_in, steps.hours), -INFINITY,
                 INFINITY, steps.hours}};
            for (size_t k = 0; k < sizeof found / sizeof found[0]; k++)
                study_figure_print(&found[k]);
        }
    }
    return met;
}

/* ---- 2: decision ---- */

typedef enum policy { TOOL, RULE_75, NEVER, POLICIES } policy;
enum { A_SEASON = 10 };
static const double EVENT_S = 4.0 * HOUR_S;

/* An engine on its way through the seasons. */
typedef struct course {
    wear_world world;
    double offset_s;                    /* running time at which its levels hold */
    bool in_head;                       /* where its worst leak is */
    double fault_log[CH_CYLINDERS_MAX]; /* what something new added */
    ch_wear_sheet sheet[SEASONS];
    size_t sheets;
    ch_wear_step step[SEASONS];
    size_t steps;
    double cost, running_s;
    size_t breakdowns, repairs, tests;
} course;

static double money(const ch_assumptions *a, ch_assumption_id parts, ch_assumption_id hours)
{
    return a->of[parts].usual + a->of[hours].usual * a->of[CH_ASSUME_HOUR_VALUE].usual;
}

static double usual(const ch_assumptions *a, ch_assumption_id id)
{
    return a->of[id].usual;
}

static double log_area(const course *k, int c)
{
    return world_log_area(&k->world, c, k->running_s - k->offset_s, 0) + k->fault_log[c];
}

static double largest(const course *k)
{
    double most = -INFINITY;
    for (int c = 0; c < k->world.cylinders; c++)
        most = fmax(most, log_area(k, c));
    return most;
}

/* Put right: sound levels and usual wear again. The errors of data and gauge stay. */
static void renew(course *k, ch_stream *luck)
{
    const wear_world old = k->world;
    world_draw(luck, old.cylinders, log(SOUND_M2), 0.2, &k->world);
    k->world.engine_error = old.engine_error;
    memcpy(k->world.cylinder_error, old.cylinder_error, sizeof old.cylinder_error);
    memcpy(k->world.gauge_error, old.gauge_error, sizeof old.gauge_error);
    k->offset_s = k->running_s;
    memset(k->fault_log, 0, sizeof k->fault_log);
    if (k->sheets > 0 && k->steps < SEASONS)
        k->step[k->steps++] = (ch_wear_step){.running_s = k->running_s, .sheet = k->sheets, .cylinder = 0};
}

static void replace(course *k, const ch_assumptions *a, ch_stream *luck)
{
    k->cost += money(a, CH_ASSUME_REPLACE_MONEY, CH_ASSUME_REPLACE_HOURS);
    if (ch_stream_uniform(luck) < usual(a, CH_ASSUME_DONOR_BAD))
        k->cost += 0.5 * usual(a, CH_ASSUME_REPLACE_MONEY) +
                   usual(a, CH_ASSUME_REPLACE_HOURS) * usual(a, CH_ASSUME_HOUR_VALUE);
    renew(k, luck);
    k->repairs++;
}

static void repair_head(course *k, const ch_assumptions *a, ch_stream *luck)
{
    k->cost += money(a, CH_ASSUME_REPAIR_MONEY, CH_ASSUME_REPAIR_HOURS);
    k->repairs++;
    if (ch_stream_uniform(luck) < usual(a, CH_ASSUME_REPAIR_CURES) && k->in_head)
        renew(k, luck);
}

static void rebuild(course *k, const ch_assumptions *a, ch_stream *luck)
{
    k->cost += money(a, CH_ASSUME_REBUILD_MONEY, CH_ASSUME_REBUILD_HOURS);
    k->repairs++;
    renew(k, luck);
    if (ch_stream_uniform(luck) < usual(a, CH_ASSUME_REBUILD_EARLY)) {
        k->cost += usual(a, CH_ASSUME_RUIN_MONEY) + usual(a, CH_ASSUME_LOST_EVENTS) * usual(a, CH_ASSUME_EVENT_VALUE);
        replace(k, a, luck);
    }
}

/* A season's events. Each event's luck is a stream of its own, the same for every policy. */
static void drive(course *k, const ch_assumptions *a, uint64_t seed, size_t engine, int season)
{
    for (size_t e = 0; e < A_SEASON; e++) {
        ch_stream luck;
        ch_stream_init(&luck, seed + 7, (engine * SEASONS + (size_t)season) * A_SEASON + e);
        const double u_break = ch_stream_uniform(&luck), u_ruin = ch_stream_uniform(&luck),
                     u_new = ch_stream_uniform(&luck), u_which = ch_stream_uniform(&luck),
                     u_size = ch_stream_uniform(&luck), u_head = ch_stream_uniform(&luck),
                     u_half = ch_stream_uniform(&luck);
        const bool over = largest(k) >= log(FAULT_M2);
        const double in_100 = usual(a, over ? CH_ASSUME_BREAK_OVER : CH_ASSUME_BREAK_SOUND);
        k->running_s += EVENT_S;
        if (u_break < 1.0 - pow(1.0 - in_100, EVENT_S / 360000.0)) {
            k->breakdowns++;
            k->cost += u_half * usual(a, CH_ASSUME_EVENT_VALUE) + usual(a, CH_ASSUME_TOW_HOME);
            if (u_ruin < usual(a, CH_ASSUME_RUIN_SHARE)) {
                k->cost +=
                    usual(a, CH_ASSUME_RUIN_MONEY) + usual(a, CH_ASSUME_LOST_EVENTS) * usual(a, CH_ASSUME_EVENT_VALUE);
                replace(k, a, &luck);
            } else {
                k->cost += money(a, CH_ASSUME_REPAIR_MONEY, CH_ASSUME_REPAIR_HOURS) + usual(a, CH_ASSUME_EVENT_VALUE);
                renew(k, &luck);
            }
            continue;
        }
        if (over)
            k->cost += usual(a, CH_ASSUME_PACE_LOST) * usual(a, CH_ASSUME_EVENT_VALUE);
        if (u_new < 1.0 - pow(1.0 - usual(a, CH_ASSUME_NEW_FAULT), EVENT_S / 360000.0)) {
            const int c = (int)(u_which * k->world.cylinders);
            k->fault_log[c] = fmax(log(FAULT_M2) + 0.1 + 1.2 * u_size - log_area(k, c), 0.0) + k->fault_log[c];
            k->in_head = u_head < 0.75;
        }
    }
}

/* A compression and leak-down test of all cylinders: one more sheet. */
static void test_all(course *k, const ch_assumptions *a, ch_stream *stream)
{
    ch_wear_sheet *s = &k->sheet[k->sheets++];
    *s = (ch_wear_sheet){.running_s = k->running_s};
    for (int c = 0; c < k->world.cylinders; c++)
        s->u_1[c] = 0.3 + 0.3 * ch_stream_uniform(stream);
    wear_world now = k->world;
    for (int c = 0; c < now.cylinders; c++) {
        now.level[c] = log_area(k, c);
        now.slope_per_s[c] = 0.0;
    }
    world_measure(&now, stream, 0, s);
    k->cost += usual(a, CH_ASSUME_TEST_HOURS) * usual(a, CH_ASSUME_HOUR_VALUE);
    k->tests++;
}

/* Test, forecast, and do what is expected to cost least; where that is not to test, the next winter's test is left out. */
static int tool_winter(course *k, const ch_assumptions *a, uint64_t seed, int season, bool *skip, ch_stream *stream)
{
    if (*skip) {
        *skip = false;
        return 1;
    }
    test_all(k, a, stream);
    const ch_wear_input in = {.cylinders = k->world.cylinders,
                              .sheet = k->sheet,
                              .sheets = k->sheets,
                              .step = k->step,
                              .steps = k->steps,
                              .log_area_prior = log(SOUND_M2),
                              .u_prior_1 = U_SOUND,
                              .now_s = k->running_s,
                              .log_watch = log(WATCH_M2),
                              .log_fault = log(FAULT_M2),
                              .seed = seed};
    ch_forecast f = {0};
    ch_decision d;
    ch_err err = {0};
    if (ch_forecast_run(&in, &f, &err) < 0) {
        study_complain("forecast", &err);
        return 0;
    }
    ch_decision_event event[3 * A_SEASON];
    const size_t events = (size_t)(SEASONS - season < 3 ? SEASONS - season : 3) * A_SEASON;
    for (size_t e = 0; e < events; e++)
        event[e] = (ch_decision_event){.running_s = EVENT_S, .test_before = e > 0 && e % A_SEASON == 0};
    /* leak-down and causes tell where it leaks, not always rightly */
    const double told_1 = 0.55 + 0.4 * ch_stream_uniform(stream);
    const bool rightly = ch_stream_uniform(stream) < 0.85;
    const ch_decision_input decision = {.forecast = &f,
                                        .log_fault = in.log_fault,
                                        .head_share_1 = k->in_head == rightly ? told_1 : 1.0 - told_1,
                                        .assumptions = a,
                                        .event = event,
                                        .events = events,
                                        .seed = seed};
    const ch_status rc = ch_decision_run(&decision, &d, &err);
    ch_forecast_clear(&f);
    if (rc < 0) {
        study_complain("decision", &err);
        return 0;
    }
    switch (d.best) {
    case CH_COURSE_RUN: *skip = true; break;
    case CH_COURSE_REPAIR: repair_head(k, a, stream); break;
    case CH_COURSE_REBUILD: rebuild(k, a, stream); break;
    case CH_COURSE_REPLACE: replace(k, a, stream); break;
    case CH_COURSE_WATCH:
    case CH_COURSES: break;
    }
    return 1;
}

/* A dry test, and the head off where the lowest reads below 75 % of the highest. Readings fall by a fifth for each mm2 (exp(-0.205 A)). */
static void rule_winter(course *k, const ch_assumptions *a, ch_stream *stream)
{
    double low = INFINITY, high = 0.0;
    for (int c = 0; c < k->world.cylinders; c++) {
        const double reading = exp(-0.205e6 * exp(log_area(k, c))) * (1.0 + 0.02 * ch_stream_normal(stream));
        low = fmin(low, reading);
        high = fmax(high, reading);
    }
    k->cost += 0.5 * usual(a, CH_ASSUME_TEST_HOURS) * usual(a, CH_ASSUME_HOUR_VALUE);
    k->tests++;
    if (low < 0.75 * high)
        repair_head(k, a, stream);
}

static double draw_area(const ch_mixture *mixture, ch_stream *stream)
{
    double left = ch_stream_uniform(stream);
    size_t i = 0;
    while (i + 1 < mixture->count && left >= mixture->part[i].weight_1)
        left -= mixture->part[i++].weight_1;
    return ch_stream_lognormal(stream, mixture->part[i].median, mixture->part[i].spread_1);
}

/* What an engine that nobody has looked into may have: causes of knowledge/causes.yaml that open a leak, alone or on several cylinders at once. */
static void strike(const ch_knowledge *knowledge, ch_stream *stream, course *k)
{
    double most_m2 = 0.0;
    for (int cause = CH_CAUSE_RINGS_OR_BORE; cause < CH_CAUSE_MEASUREMENT_ERROR; cause++) {
        const ch_knowledge_cause *known = &knowledge->causes[cause];
        const bool together = ch_stream_uniform(stream) < known->together_chance_1;
        for (int c = 0; c < k->world.cylinders; c++) {
            const double u = ch_stream_uniform(stream);
            const bool struck = u < (together ? known->together_share_1 : known->prior_1);
            if (!struck || known->areas_m2.count == 0)
                continue;
            const double area_m2 = draw_area(&known->areas_m2, stream);
            k->world.level[c] = log(exp(k->world.level[c]) + area_m2);
            if (area_m2 > most_m2) {
                most_m2 = area_m2;
                k->in_head = cause != CH_CAUSE_RINGS_OR_BORE && cause != CH_CAUSE_PISTON_DAMAGE;
            }
        }
    }
}

static int follow(const ch_knowledge *knowledge, const ch_assumptions *a, uint64_t seed, size_t engine, policy how,
                  course *k)
{
    ch_stream stream;
    ch_stream_init(&stream, seed + 3, engine);
    *k = (course){.in_head = ch_stream_uniform(&stream) < 0.6};
    world_draw(&stream, ch_stream_uniform(&stream) < 0.7 ? 4 : 6, log(SOUND_M2), U_SOUND, &k->world);
    strike(knowledge, &stream, k);
    bool skip = false;
    ch_stream tests;
    ch_stream_init(&tests, seed + 4 + (uint64_t)how, engine);
    for (int season = 0; season < SEASONS; season++) {
        if (how == TOOL && !tool_winter(k, a, seed + engine, season, &skip, &tests))
            return 0;
        if (how == RULE_75)
            rule_winter(k, a, &tests);
        drive(k, a, seed, engine, season);
    }
    if (largest(k) >= log(FAULT_M2)) /* it still has to be put right */
        k->cost += k->in_head ? money(a, CH_ASSUME_REPAIR_MONEY, CH_ASSUME_REPAIR_HOURS)
                              : money(a, CH_ASSUME_REPLACE_MONEY, CH_ASSUME_REPLACE_HOURS);
    return 1;
}

static int decision_study(size_t engines, uint64_t seed, const ch_knowledge *knowledge, const ch_assumptions *a)
{
    double sum[POLICIES] = {0}, breaks[POLICIES] = {0}, repairs[POLICIES] = {0}, tests[POLICIES] = {0};
    double saved[POLICIES] = {0}, saved2[POLICIES] = {0};
    for (size_t i = 0; i < engines; i++) {
        course k[POLICIES];
        for (int p = 0; p < POLICIES; p++) {
            if (!follow(knowledge, a, seed, i, (policy)p, &k[p]))
                return 0;
            sum[p] += k[p].cost;
            breaks[p] += (double)k[p].breakdowns;
            repairs[p] += (double)k[p].repairs;
            tests[p] += (double)k[p].tests;
            const double by = k[p].cost - k[TOOL].cost;
            saved[p] += by;
            saved2[p] += by * by;
        }
    }
    const double n = (double)engines;
    static const char *const NAME[POLICIES] = {"as the tool advises", "75 % rule and fix then", "never open it"};
    printf("\nFive seasons of %d events of %.0f h, %zu engines that nobody has looked into\n", A_SEASON,
           EVENT_S / HOUR_S, engines);
    for (int p = 0; p < POLICIES; p++)
        printf("  %-24s cost %6.0f %s, tests %.1f, engine opened %.2f times, breakdowns %.2f\n", NAME[p], sum[p] / n,
               a->currency, tests[p] / n, repairs[p] / n, breaks[p] / n);
    int met = 1;
    for (int p = RULE_75; p < POLICIES; p++) {
        char what[120];
        const double mean = saved[p] / n, error = sqrt((saved2[p] / n - mean * mean) / n);
        snprintf(what, sizeof what, "saved against \"%s\", part of its cost", NAME[p]);
        const study_figure figure = {what, mean / (sum[p] / n), 0.0, INFINITY, engines};
        met = study_figure_print(&figure) && met;
        printf("  (%.0f +- %.0f %s an engine)\n", mean, error, a->currency);
    }
    return met;
}

/* ---- 3: the whole chain ---- */

typedef struct whole_count {
    size_t areas, areas_in, slopes, slopes_in;
} whole_count;

/* Weather, speed and warmth of a new day. */
static void another_day(virtual_engine *engine, ch_stream *stream)
{
    static const ch_doubt of_day[] = {CH_DOUBT_SPEED, CH_DOUBT_WALL, CH_DOUBT_AMBIENT};
    ch_doubts doubts;
    ch_doubts_from_setup(&engine->setup, &doubts);
    for (size_t i = 0; i < sizeof of_day / sizeof of_day[0]; i++)
        engine->offset[of_day[i]] = doubts.sd[of_day[i]] * ch_stream_normal(stream);
}

static ch_status whole_sheet(uint64_t seed, size_t number, const ch_knowledge *knowledge, const virtual_engine *engine,
                             ch_stream *stream, ch_history_sheet *to, ch_err *err)
{
    /* the same head as on the first day */
    ch_stream again;
    ch_stream_init(&again, seed, number);
    virtual_engine unused;
    ch_sheet sheet;
    ch_status rc = virtual_engine_draw(knowledge, false, &again, &unused, &sheet, err);
    if (rc < 0)
        return rc;
    for (int round = 0; rc >= 0 && round < 2; round++)
        for (int c = 0; rc >= 0 && c < engine->cylinders; c++)
            rc = virtual_dry(engine, c, false, stream, &sheet, err);
    for (int c = 0; rc >= 0 && c < engine->cylinders; c++)
        rc = virtual_leakdown(engine, knowledge, c, true, stream, &sheet, err);
    const ch_judge_options options = {.seed = seed, .rule = CH_RULE_75_PERCENT};
    if (rc >= 0)
        rc = ch_history_judge(&sheet, knowledge, &options, &to->result, err);
    ch_sheet_clear(&sheet);
    return rc;
}

static ch_status whole_engine(uint64_t seed, size_t number, const ch_knowledge *knowledge, const ch_assumptions *a,
                              whole_count *n, ch_err *err)
{
    ch_stream stream;
    ch_stream_init(&stream, seed, number);
    virtual_engine engine;
    ch_sheet head;
    ch_status rc = virtual_engine_draw(knowledge, false, &stream, &engine, &head, err);
    if (rc < 0)
        return rc;
    ch_sheet_clear(&head);
    double grown[VIRTUAL_CYLINDERS_MAX];
    const double common = log(CH_WEAR_SLOPE_PER_S) + CH_WEAR_SLOPE_SD_LOG * ch_stream_normal(&stream);
    for (int c = 0; c < engine.cylinders; c++)
        grown[c] = exp(common + CH_WEAR_CYLINDER_SD_LOG * ch_stream_normal(&stream));
    static ch_history_sheet sheet[SEASONS];
    const double season_s = 40.0 * HOUR_S;
    for (int s = 0; rc >= 0 && s < SEASONS; s++) {
        for (int c = 0; s > 0 && c < engine.cylinders; c++) { /* all that leaks grows */
            const double times = exp(grown[c] * season_s);
            engine.cylinder[c].ring_m2 *= times;
            engine.cylinder[c].extra_m2 *= times;
            for (int p = 0; p < CH_PATH_COUNT; p++)
                engine.cylinder[c].beside_m2[p] *= times;
        }
        another_day(&engine, &stream);
        sheet[s] = (ch_history_sheet){
            .id = s + 1, .day = {2021 + s, 1, 16}, .hours_s = 400.0 * HOUR_S + s * season_s, .odometer_m = NAN};
        rc = whole_sheet(seed, number, knowledge, &engine, &stream, &sheet[s], err);
    }
    ch_season *season = rc >= 0 ? calloc(1, sizeof *season) : NULL;
    if (rc >= 0 && season == NULL)
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory for a season");
    const ch_season_input in = {.sheet = sheet,
                                .sheets = SEASONS,
                                .today = {2025, 2, 1},
                                .assumptions = a,
                                .horizon = CH_HORIZON_YEAR,
                                .seed = seed};
    if (rc >= 0)
        rc = ch_season_run(&in, season, err);
    for (int c = 0; rc >= 0 && c < engine.cylinders; c++) {
        const ch_forecast_cylinder *said = &season->forecast.cylinder[c];
        const double now = log(virtual_area_m2(&engine.cylinder[c]));
        n->areas++;
        n->areas_in += now >= said->log_area_now[0] && now <= said->log_area_now[2];
        n->slopes++;
        n->slopes_in += grown[c] >= said->slope_per_s[0] && grown[c] <= said->slope_per_s[2];
    }
    if (rc >= 0)
        ch_season_clear(season);
    free(season);
    return rc;
}

static int whole_study(size_t engines, uint64_t seed, const ch_knowledge *knowledge, const ch_assumptions *a)
{
    whole_count n = {0};
    for (size_t i = 0; i < engines; i++) {
        ch_err err = {0};
        if (whole_engine(seed, i, knowledge, a, &n, &err) < 0) {
            study_complain("whole chain", &err);
            return 0;
        }
    }
    printf("\nMeasured with the cranking model, judged, traced: %zu engines\n", engines);
    const study_figure figures[] = {
        {"true leak area now inside the 90 % interval", part(n.areas_in, n.areas), -INFINITY, INFINITY, n.areas},
        {"true slope inside its 90 % interval", part(n.slopes_in, n.slopes), -INFINITY, INFINITY, n.slopes}};
    for (size_t k = 0; k < sizeof figures / sizeof figures[0]; k++)
        study_figure_print(&figures[k]);
    return 1;
}

int main(int count, char **arguments)
{
    const size_t engines = count > 1 ? strtoul(arguments[1], NULL, 10) : 600,
                 whole = count > 2 ? strtoul(arguments[2], NULL, 10) : 16;
    const uint64_t seed = count > 3 ? strtoull(arguments[3], NULL, 10) : 1;
    ch_knowledge knowledge;
    ch_assumptions assumptions;
    ch_err err = {0};
    if (ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), &err) < 0 ||
        ch_assumptions_parse(&assumptions, ch_assumptions_builtin(), &err) < 0) {
        study_complain("knowledge", &err);
        return 1;
    }
    printf("Seasons: %zu engines, seed %llu\n", engines, (unsigned long long)seed);
    const int forecast = forecast_study(engines, seed),
              decision = decision_study(engines, seed, &knowledge, &assumptions),
              chain = whole_study(whole, seed, &knowledge, &assumptions);
    ch_assumptions_clear(&assumptions);
    ch_knowledge_clear(&knowledge);
    return (forecast && decision && chain) || (engines < ENOUGH && chain) ? 0 : 1;
}
