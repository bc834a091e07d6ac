/*
 * Promises of decide/decision.c, held against counting: every fate that an engine can have is followed by itself, with its chance; what is
 * certain is imagined as it is expected; what is drawn has the distribution that it is drawn from.
 */
#include "crosshatch/decision.h"
#include "crosshatch/sampling.h"
#include "expect.h"

#include <stdlib.h>

#define HOUR_S 3600.0
enum { EVENTS_MAX = 4, COURSES = 500, EACH = CH_FORECAST_DRAWS / COURSES };

typedef struct question {
    ch_assumptions assume;
    ch_decision_event event[EVENTS_MAX];
    size_t events;
    double over_now_1, head_share_1;
    int cylinders;
    double log_fault;
    double draw[CH_FORECAST_DRAWS * 2 * 3];
} question;

static question asked; /* too large for some stacks */

static double is(ch_assumption_id id)
{
    return asked.assume.of[id].usual;
}

static void set(ch_assumption_id id, double low, double usual, double high)
{
    asked.assume.of[id].low = low;
    asked.assume.of[id].usual = usual;
    asked.assume.of[id].high = high;
}

static ch_decision answer_for(uint64_t seed)
{
    const ch_forecast f = {.cylinders = asked.cylinders, .draws = CH_FORECAST_DRAWS, .draw = asked.draw};
    const ch_decision_input in = {.forecast = &f,
                                  .log_fault = asked.log_fault,
                                  .over_now_1 = asked.over_now_1,
                                  .head_share_1 = asked.head_share_1,
                                  .assumptions = &asked.assume,
                                  .event = asked.event,
                                  .events = asked.events,
                                  .seed = seed};
    ch_decision d;
    ch_err err = {0};
    if (ch_decision_run(&in, &d, &err) < 0)
        fail_msg("%s", err.what);
    return d;
}

/* ---- counting ---- */

typedef enum state { OLD, NEW, OVER } state;

static double repair(void)
{
    return is(CH_ASSUME_REPAIR_MONEY) + is(CH_ASSUME_REPAIR_HOURS) * is(CH_ASSUME_HOUR_VALUE);
}

/* Another engine; where it is no good, the work once more and half of another. */
static double replace(void)
{
    const double work = is(CH_ASSUME_REPLACE_HOURS) * is(CH_ASSUME_HOUR_VALUE);
    return is(CH_ASSUME_REPLACE_MONEY) + work + is(CH_ASSUME_DONOR_BAD) * (0.5 * is(CH_ASSUME_REPLACE_MONEY) + work);
}

static double ruin(void)
{
    return replace() + is(CH_ASSUME_RUIN_MONEY) + is(CH_ASSUME_LOST_EVENTS) * is(CH_ASSUME_EVENT_VALUE);
}

static double mend(void)
{
    return asked.head_share_1 * repair() + (1.0 - asked.head_share_1) * replace();
}

static double in_event(ch_assumption_id in_100_hours, size_t e)
{
    return 1.0 - pow(1.0 - is(in_100_hours), asked.event[e].running_s / (100.0 * HOUR_S));
}

typedef struct fate {
    double cost, whole_1; /* expected, from here on; chance of no breakdown */
} fate;

static fate from(ch_course choice, size_t e, state now, double ran_s, double over_s);

static void add(fate *sum, double chance_1, double cost, fate then)
{
    if (chance_1 > 0.0) {
        sum->cost += chance_1 * (cost + then.cost);
        sum->whole_1 += chance_1 * then.whole_1;
    }
}

/* The event itself, the test before it done. */
static fate through(ch_course choice, size_t e, state now, double ran_s, double over_s)
{
    if (now == OLD && ran_s + 0.5 * asked.event[e].running_s >= over_s)
        now = OVER;
    fate sum = {0};
    const double breaks_1 = in_event(now == OVER ? CH_ASSUME_BREAK_OVER : CH_ASSUME_BREAK_SOUND, e),
                 new_1 = in_event(CH_ASSUME_NEW_FAULT, e), ruined_1 = is(CH_ASSUME_RUIN_SHARE),
                 worth = is(CH_ASSUME_EVENT_VALUE), after_s = ran_s + asked.event[e].running_s;
    fate home = from(choice, e + 1, NEW, after_s, over_s);
    home.whole_1 = 0.0;
    add(&sum, breaks_1 * ruined_1, 0.5 * worth + is(CH_ASSUME_TOW_HOME) + ruin(), home);
    add(&sum, breaks_1 * (1.0 - ruined_1), 0.5 * worth + is(CH_ASSUME_TOW_HOME) + repair() + worth, home);
    if (now == OVER) {
        add(&sum, 1.0 - breaks_1, is(CH_ASSUME_PACE_LOST) * worth, from(choice, e + 1, OVER, after_s, over_s));
    } else {
        add(&sum, (1.0 - breaks_1) * new_1, 0.0, from(choice, e + 1, OVER, after_s, over_s));
        add(&sum, (1.0 - breaks_1) * (1.0 - new_1), 0.0, from(choice, e + 1, now, after_s, over_s));
    }
    return sum;
}

static fate from(ch_course choice, size_t e, state now, double ran_s, double over_s)
{
    if (e == asked.events)
        return (fate){now == OVER ? mend() : 0.0, 1.0};
    if (now == OLD && ran_s >= over_s)
        now = OVER;
    if (choice == CH_COURSE_RUN || !asked.event[e].test_before)
        return through(choice, e, now, ran_s, over_s);
    fate sum = {.cost = is(CH_ASSUME_TEST_HOURS) * is(CH_ASSUME_HOUR_VALUE)};
    const double found_1 = now == OVER ? is(CH_ASSUME_TEST_FINDS) : 0.0,
                 gone_1 = asked.head_share_1 * is(CH_ASSUME_REPAIR_CURES) + 1.0 - asked.head_share_1;
    add(&sum, 1.0 - found_1, 0.0, through(choice, e, now, ran_s, over_s));
    add(&sum, found_1 * gone_1, mend(), through(choice, e, NEW, ran_s, over_s));
    add(&sum, found_1 * (1.0 - gone_1), mend(), through(choice, e, OVER, ran_s, over_s));
    return sum;
}

static fate counted(ch_course choice, double over_s)
{
    const double stays_1 = choice == CH_COURSE_REPAIR  ? 1.0 - is(CH_ASSUME_REPAIR_CURES) * asked.head_share_1
                           : choice <= CH_COURSE_WATCH ? 1.0
                                                       : 0.0;
    const double outset = choice == CH_COURSE_REPAIR    ? repair()
                          : choice == CH_COURSE_REPLACE ? replace()
                          : choice == CH_COURSE_REBUILD
                              ? is(CH_ASSUME_REBUILD_MONEY) + is(CH_ASSUME_REBUILD_HOURS) * is(CH_ASSUME_HOUR_VALUE) +
                                    is(CH_ASSUME_REBUILD_EARLY) * ruin()
                              : 0.0;
    fate sum = {0};
    add(&sum, stays_1 * asked.over_now_1, outset, from(choice, 0, OVER, 0.0, over_s));
    add(&sum, stays_1 * (1.0 - asked.over_now_1), outset, from(choice, 0, OLD, 0.0, over_s));
    add(&sum, 1.0 - stays_1, outset, from(choice, 0, NEW, 0.0, over_s));
    return sum;
}

/* ---- questions ---- */

/* Every figure between its ends, events of any length, limits passed at any time, three cylinders. */
static void ask_at_random(ch_stream *stream)
{
    static const struct {
        ch_assumption_id id;
        double most;
    } chances[] = {{CH_ASSUME_REPAIR_CURES, 1.0}, {CH_ASSUME_REBUILD_EARLY, 0.3}, {CH_ASSUME_DONOR_BAD, 0.5},
                   {CH_ASSUME_BREAK_SOUND, 0.5},  {CH_ASSUME_BREAK_OVER, 0.99},   {CH_ASSUME_NEW_FAULT, 0.6},
                   {CH_ASSUME_RUIN_SHARE, 1.0},   {CH_ASSUME_PACE_LOST, 1.0},     {CH_ASSUME_TEST_FINDS, 1.0}};
    for (int i = 0; i < CH_ASSUME_COUNT; i++) {
        const double value = 5.0 + 300.0 * ch_stream_uniform(stream);
        set((ch_assumption_id)i, value, value, value);
    }
    for (size_t i = 0; i < sizeof chances / sizeof chances[0]; i++) {
        const double value = chances[i].most * ch_stream_uniform(stream);
        set(chances[i].id, value, value, value);
    }
    asked.over_now_1 = ch_stream_uniform(stream);
    asked.head_share_1 = ch_stream_uniform(stream);
    asked.events = 1 + (size_t)(EVENTS_MAX * ch_stream_uniform(stream));
    for (size_t e = 0; e < asked.events; e++)
        asked.event[e] = (ch_decision_event){.running_s = (5.0 + 150.0 * ch_stream_uniform(stream)) * HOUR_S,
                                             .test_before = ch_stream_bits(stream) & 1};
    asked.cylinders = 3;
    asked.log_fault = -13.0;
}

/* Draws of which `COURSES` are told apart; over_s[k]: when the first cylinder of those passes the limit. */
static void draw_kinds(ch_stream *stream, size_t kinds, double over_s[])
{
    for (size_t k = 0; k < kinds; k++)
        over_s[k] = INFINITY;
    for (size_t d = 0; d < CH_FORECAST_DRAWS; d++) {
        const size_t k = d / EACH % kinds;
        double *row = asked.draw + d * 2 * (size_t)asked.cylinders;
        for (int c = 0; c < asked.cylinders && d % EACH == 0; c++) {
            if (d / EACH < kinds) { /* the first of its kind */
                row[c] = asked.log_fault - 3.0 * ch_stream_uniform(stream) + 0.3;
                row[asked.cylinders + c] = (0.2 + ch_stream_uniform(stream)) / (100.0 * HOUR_S);
                over_s[k] = fmin(over_s[k], (asked.log_fault - row[c]) / row[asked.cylinders + c]);
            }
        }
        const double *first = asked.draw + k * EACH * 2 * (size_t)asked.cylinders;
        for (int i = 0; i < 2 * asked.cylinders; i++)
            row[i] = first[i];
    }
}

/* What is worked out event by event for all fates at once is what comes out when each is followed by itself; 1e-9: sums of some hundred terms. */
static void costs_and_chances_are_those_of_all_fates_counted(void **state_)
{
    (void)state_;
    enum { KINDS = 5 }; /* divides COURSES */
    ch_stream stream;
    ch_stream_init(&stream, 71, 0);
    for (int round = 0; round < 12; round++) {
        double over_s[KINDS];
        ask_at_random(&stream);
        draw_kinds(&stream, KINDS, over_s);
        const ch_decision d = answer_for(1);
        for (int c = 0; c < CH_COURSES; c++) {
            fate mean = {0};
            for (int k = 0; k < KINDS; k++)
                add(&mean, 1.0 / KINDS, 0.0, counted((ch_course)c, over_s[k]));
            expect_relative(d.cost[c].expected, mean.cost, 1e-9);
            expect_close(d.cost[c].breaks_1, 1.0 - mean.whole_1, 1e-9);
        }
        size_t tests = 0;
        for (size_t e = 0; e < asked.events; e++)
            tests += asked.event[e].test_before;
        double second = INFINITY;
        for (int c = 0; c < CH_COURSES; c++)
            if (c != (int)d.best && (c != CH_COURSE_WATCH || tests > 0))
                second = fmin(second, d.cost[c].expected);
        assert_true(d.cost[d.best].expected <= second);
        expect_close(d.lead, second - d.cost[d.best].expected, 1e-9 * second);
        assert_int_equal(d.tests, tests);
        assert_true(tests > 0 || d.best != CH_COURSE_WATCH);
    }
}

/* Each figure at its low and high end: the best cost and the lead are those of a decision in which it stands there. */
static void swings_are_decisions_with_one_figure_moved(void **state_)
{
    (void)state_;
    ch_stream stream;
    ch_stream_init(&stream, 72, 0);
    double over_s[1];
    ask_at_random(&stream);
    draw_kinds(&stream, 1, over_s);
    for (int i = 0; i < CH_ASSUME_COUNT; i++) {
        const double usual = is((ch_assumption_id)i);
        set((ch_assumption_id)i, 0.6 * usual, usual, fmin(1.3 * usual, usual < 1.0 ? 1.0 : INFINITY));
    }
    const ch_decision d = answer_for(1);
    const ch_assumptions whole = asked.assume;
    for (int i = 0; i < CH_ASSUME_COUNT; i++)
        for (int end = 0; end < 2; end++) {
            const ch_assumption_id id = d.swing[i].assumption;
            double best = INFINITY, others = INFINITY;
            asked.assume = whole;
            const double moved = end == 0 ? whole.of[id].low : whole.of[id].high;
            set(id, moved, moved, moved);
            for (int c = 0; c < CH_COURSES; c++) {
                const double cost = counted((ch_course)c, over_s[0]).cost;
                best = fmin(best, cost);
                if (c != (int)d.best)
                    others = fmin(others, cost);
                if (c == (int)d.swing[i].best[end])
                    expect_relative(d.swing[i].best_cost[end], cost, 1e-9);
            }
            expect_relative(d.swing[i].best_cost[end], best, 1e-9);
            expect_close(d.swing[i].lead[end], others - counted(d.best, over_s[0]).cost, 1e-9 * others);
        }
}

/* All chances 0 or 1: then every imagined course is the expected one. (Chances of a run end a millionth short of certain.) */
static void what_is_certain_is_imagined_as_it_is_expected(void **state_)
{
    (void)state_;
    static const ch_assumption_id chance[] = {CH_ASSUME_REPAIR_CURES, CH_ASSUME_REBUILD_EARLY, CH_ASSUME_DONOR_BAD,
                                              CH_ASSUME_BREAK_SOUND,  CH_ASSUME_BREAK_OVER,    CH_ASSUME_NEW_FAULT,
                                              CH_ASSUME_RUIN_SHARE,   CH_ASSUME_TEST_FINDS};
    enum { CHANCES = sizeof chance / sizeof chance[0] };
    ch_stream stream;
    ch_stream_init(&stream, 73, 0);
    for (int round = 0; round < 16; round++) {
        double over_s[1];
        ask_at_random(&stream);
        asked.over_now_1 = (double)(ch_stream_bits(&stream) & 1);
        asked.head_share_1 = (double)(ch_stream_bits(&stream) & 1);
        for (size_t e = 0; e < asked.events; e++)
            asked.event[e].running_s = 100.0 * HOUR_S;
        for (int i = 0; i < CHANCES; i++) {
            const double value = (double)(ch_stream_bits(&stream) & 1);
            set(chance[i], value, value, value);
        }
        /* When in the event it breaks down is drawn: what the event is worth must be nothing to see where all ends. */
        if (is(CH_ASSUME_BREAK_SOUND) > 0.0 || is(CH_ASSUME_BREAK_OVER) > 0.0)
            set(CH_ASSUME_EVENT_VALUE, 0.0, 0.0, 0.0);
        draw_kinds(&stream, 1, over_s);
        const ch_decision d = answer_for((uint64_t)round);
        for (int c = 0; c < CH_COURSES; c++)
            for (int end = 0; end < 2; end++)
                expect_close(d.cost[c].interval[end], d.cost[c].expected, 1e-4 * (1.0 + d.cost[c].expected));
    }
}

static double triangle_quantile(double p, double low, double usual, double high)
{
    return p < (usual - low) / (high - low) ? low + sqrt(p * (high - low) * (usual - low))
                                            : high - sqrt((1.0 - p) * (high - low) * (high - usual));
}

/* No event at all: another engine costs its price, drawn from a triangle over its range. Its textbook quantiles, to four standard errors of 500
 * draws: sqrt(p (1 - p)/500) over the density there. */
static void figures_are_drawn_from_triangles(void **state_)
{
    (void)state_;
    static const double usual[] = {500.0, 900.0, 1900.0};
    ch_stream stream;
    ch_stream_init(&stream, 74, 0);
    for (int i = 0; i < 3; i++)
        for (uint64_t seed = 1; seed < 4; seed++) {
            double over_s[1];
            ask_at_random(&stream);
            draw_kinds(&stream, 1, over_s);
            asked.events = 0;
            set(CH_ASSUME_REPLACE_HOURS, 0.0, 0.0, 0.0);
            set(CH_ASSUME_DONOR_BAD, 0.0, 0.0, 0.0);
            set(CH_ASSUME_REPLACE_MONEY, 400.0, usual[i], 2000.0);
            const ch_decision d = answer_for(seed);
            for (int end = 0; end < 2; end++) {
                const double p = end == 0 ? 0.05 : 0.95, want = triangle_quantile(p, 400.0, usual[i], 2000.0),
                             step = 1e-4,
                             density = 2.0 * step /
                                       (triangle_quantile(p + step, 400.0, usual[i], 2000.0) -
                                        triangle_quantile(p - step, 400.0, usual[i], 2000.0));
                expect_close(d.cost[CH_COURSE_REPLACE].interval[end], want,
                             4.0 * sqrt(0.05 * 0.95 / COURSES) / density);
            }
            expect_relative(d.cost[CH_COURSE_REPLACE].expected, usual[i], 1e-12);
        }
}

/* Of what happens with a chance p, a share p of the imagined courses: an interval of 5 % to 95 % holds it where p is within, and not where it is far
 * outside (4 % is three standard errors of 500 below 7 %). */
static void what_may_happen_does_so_as_often_as_its_chance(void **state_)
{
    (void)state_;
    static const struct {
        double chance_1;
        bool in[2];
    } cases[] = {{0.02, {false, false}}, {0.08, {false, true}}, {0.92, {false, true}}, {0.98, {true, true}}};
    static const ch_assumption_id kinds[] = {CH_ASSUME_REBUILD_EARLY, CH_ASSUME_DONOR_BAD, CH_ASSUME_BREAK_SOUND,
                                             CH_ASSUME_RUIN_SHARE,    CH_ASSUME_NEW_FAULT, CH_ASSUME_TEST_FINDS};
    for (size_t kind = 0; kind < sizeof kinds / sizeof kinds[0]; kind++)
        for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
            ch_stream stream;
            ch_stream_init(&stream, 75, kind);
            double over_s[1];
            ask_at_random(&stream);
            draw_kinds(&stream, 1, over_s);
            for (size_t d = 0; d < CH_FORECAST_DRAWS; d++) /* never over the limit by wear */
                for (int c = 0; c < asked.cylinders; c++)
                    asked.draw[d * 6 + (size_t)c] = -1e9;
            static const ch_assumption_id none[] = {CH_ASSUME_REBUILD_EARLY, CH_ASSUME_DONOR_BAD, CH_ASSUME_BREAK_SOUND,
                                                    CH_ASSUME_BREAK_OVER,    CH_ASSUME_NEW_FAULT, CH_ASSUME_RUIN_SHARE,
                                                    CH_ASSUME_EVENT_VALUE,   CH_ASSUME_TEST_FINDS};
            for (size_t k = 0; k < sizeof none / sizeof none[0]; k++)
                set(none[k], 0.0, 0.0, 0.0);
            asked.over_now_1 = 0.0;
            asked.head_share_1 = 1.0;
            asked.events = 1;
            asked.event[0] = (ch_decision_event){.running_s = 100.0 * HOUR_S, .test_before = true};
            ch_course choice = CH_COURSE_RUN;
            double without = 0.0, with = repair();
            const double p = cases[i].chance_1;
            switch (kinds[kind]) {
            case CH_ASSUME_REBUILD_EARLY:
                choice = CH_COURSE_REBUILD;
                without = is(CH_ASSUME_REBUILD_MONEY) + is(CH_ASSUME_REBUILD_HOURS) * is(CH_ASSUME_HOUR_VALUE) +
                          is(CH_ASSUME_TEST_HOURS) * is(CH_ASSUME_HOUR_VALUE);
                with = without + ruin();
                break;
            case CH_ASSUME_DONOR_BAD:
                choice = CH_COURSE_REPLACE;
                without = replace() + is(CH_ASSUME_TEST_HOURS) * is(CH_ASSUME_HOUR_VALUE);
                with = without + 0.5 * is(CH_ASSUME_REPLACE_MONEY) +
                       is(CH_ASSUME_REPLACE_HOURS) * is(CH_ASSUME_HOUR_VALUE);
                break;
            case CH_ASSUME_BREAK_SOUND: with = is(CH_ASSUME_TOW_HOME) + repair(); break;
            case CH_ASSUME_RUIN_SHARE:
                set(CH_ASSUME_BREAK_SOUND, 1.0, 1.0, 1.0);
                without = is(CH_ASSUME_TOW_HOME) + repair();
                with = is(CH_ASSUME_TOW_HOME) + ruin();
                break;
            case CH_ASSUME_TEST_FINDS: /* over the limit now, always cured */
                choice = CH_COURSE_WATCH;
                asked.over_now_1 = 1.0;
                set(CH_ASSUME_REPAIR_CURES, 1.0, 1.0, 1.0);
                set(CH_ASSUME_BREAK_OVER, 1.0, 1.0, 1.0);
                without = is(CH_ASSUME_TEST_HOURS) * is(CH_ASSUME_HOUR_VALUE) + is(CH_ASSUME_TOW_HOME) + repair();
                with = is(CH_ASSUME_TEST_HOURS) * is(CH_ASSUME_HOUR_VALUE) + repair();
                break;
            default: break;
            }
            set(kinds[kind], p, p, p);
            const ch_decision d = answer_for(9);
            const bool dearer = with > without;
            for (int end = 0; end < 2; end++) {
                /* the dearer end at 95 %; where what happens is the cheaper one, its chance counts from below */
                const bool happens = dearer ? cases[i].in[end] : p > (end == 0 ? 0.05 : 0.95);
                expect_close(d.cost[choice].interval[end], happens ? with : without, 1e-4 * (with + without));
            }
        }
}

static void expect_refused(ch_status status, const char *what, const char *right)
{
    const ch_forecast f = {.cylinders = asked.cylinders, .draws = CH_FORECAST_DRAWS, .draw = asked.draw};
    static ch_decision_event event[CH_DECISION_EVENTS_MAX + 1];
    for (size_t e = 0; e <= CH_DECISION_EVENTS_MAX; e++)
        event[e] = e < EVENTS_MAX ? asked.event[e] : (ch_decision_event){.running_s = asked.event[0].running_s};
    const ch_decision_input in = {.forecast = &f,
                                  .log_fault = asked.log_fault,
                                  .over_now_1 = asked.over_now_1,
                                  .head_share_1 = asked.head_share_1,
                                  .assumptions = &asked.assume,
                                  .event = event,
                                  .events = asked.events};
    ch_decision d = {.lead = 7.0};
    ch_err err = {0};
    assert_int_equal(ch_decision_run(&in, &d, &err), status);
    assert_string_equal(err.what, what);
    assert_string_equal(err.right, right);
    assert_true(d.lead == 7.0);
}

/* Chances from 0 to 1, both included; events that run; as many as there is room for (looked at to the last, which then is wrong). */
static void what_may_be_asked_is_asked_to_its_limits(void **state_)
{
    (void)state_;
    ch_stream stream;
    double over_s[1];
    ch_stream_init(&stream, 76, 0);
    ask_at_random(&stream);
    draw_kinds(&stream, 1, over_s);
    asked.events = 1;
    for (int end = 0; end < 2; end++) {
        asked.over_now_1 = asked.head_share_1 = end;
        (void)answer_for(1);
    }
    static const struct {
        double value;
        const char *over, *head;
    } chances[] = {
        {-0.25, "a chance of -0.25 that something is wrong now", "a share of -0.25 of the leaks in the head"},
        {1.0625, "a chance of 1.0625 that something is wrong now", "a share of 1.0625 of the leaks in the head"},
        {NAN, "a chance of nan that something is wrong now", "a share of nan of the leaks in the head"}};
    for (size_t k = 0; k < 3; k++) {
        asked.over_now_1 = chances[k].value;
        expect_refused(CH_E_RANGE, chances[k].over, "0 to 1");
        asked.over_now_1 = 0.5;
        asked.head_share_1 = chances[k].value;
        expect_refused(CH_E_RANGE, chances[k].head, "0 to 1");
        asked.head_share_1 = 0.5;
    }
    asked.events = 3;
    static const struct {
        double running_s;
        const char *what;
    } events[] = {{0.0, "event 2 runs for 0 s"},
                  {-1.0, "event 2 runs for -1 s"},
                  {INFINITY, "event 2 runs for inf s"},
                  {NAN, "event 2 runs for nan s"}};
    for (size_t k = 0; k < 4; k++) {
        asked.event[1].running_s = events[k].running_s;
        expect_refused(CH_E_RANGE, events[k].what, "more than 0");
    }
    asked.event[1].running_s = 1.0;
    asked.event[0].running_s = -3.0; /* that of all behind the fourth as well */
    asked.events = CH_DECISION_EVENTS_MAX;
    expect_refused(CH_E_RANGE, "event 1 runs for -3 s", "more than 0");
    asked.events++;
    expect_refused(CH_E_LIMIT, "201 events to the horizon", "up to 200");
    static const char *const names[] = {"run", "watch", "repair", "rebuild", "replace"};
    for (int c = 0; c < CH_COURSES; c++)
        assert_string_equal(ch_course_name((ch_course)c), names[c]);
    assert_null(ch_course_name((ch_course)-1));
}

/* What is certain within 100 h is so to a millionth: in half of them, to a thousandth. */
static void certain_in_a_hundred_hours_is_so_to_a_millionth(void **state_)
{
    (void)state_;
    ch_stream stream;
    double over_s[1];
    ch_stream_init(&stream, 77, 0);
    ask_at_random(&stream);
    draw_kinds(&stream, 1, over_s);
    asked.over_now_1 = 1.0;
    asked.events = 1;
    asked.event[0] = (ch_decision_event){.running_s = 50.0 * HOUR_S};
    set(CH_ASSUME_BREAK_OVER, 1.0, 1.0, 1.0);
    expect_close(answer_for(1).cost[CH_COURSE_RUN].breaks_1, 0.999, 1e-12);
    set(CH_ASSUME_BREAK_OVER, 0.75, 0.75, 0.75);
    expect_close(answer_for(1).cost[CH_COURSE_RUN].breaks_1, 0.5, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(costs_and_chances_are_those_of_all_fates_counted),
        cmocka_unit_test(swings_are_decisions_with_one_figure_moved),
        cmocka_unit_test(what_is_certain_is_imagined_as_it_is_expected),
        cmocka_unit_test(figures_are_drawn_from_triangles),
        cmocka_unit_test(what_may_happen_does_so_as_often_as_its_chance),
        cmocka_unit_test(what_may_be_asked_is_asked_to_its_limits),
        cmocka_unit_test(certain_in_a_hundred_hours_is_so_to_a_millionth),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
