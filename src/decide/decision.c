/*
 * The choices compared. A course of events: before each event WATCH may test; during it the engine may break, likelier over the fault limit;
 * a breakdown costs the event, the way home, and either a repair or another engine with the events missed until then.
 *
 * An engine is in one of three states: OLD, whose leaks grow as the forecast's draw says; NEW (put right), which wear does not bring to the
 * limit within the few years of a horizon (from sound it takes some thousand hours); and OVER, past the limit, by wear or because something
 * new went wrong.
 */
#include "crosshatch/decision.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/sampling.h"
#include "crosshatch/summary.h"

enum {
    COURSES = 500, /* draws of the forecast used, evenly picked */
    PLACES = 2 * CH_DECISION_EVENTS_MAX + 1
};
static const double HUNDRED_HOURS_S = 360000.0;

const char *ch_course_name(ch_course choice)
{
    static const char *const names[CH_COURSES] = {"run", "watch", "repair", "rebuild", "replace"};
    return (unsigned)choice < CH_COURSES ? names[choice] : NULL;
}

/* Chances of one event. */
typedef struct chances {
    double breaks_good, breaks_over, new_fault;
} chances;

/* The assumptions as numbers, and what comes up again and again. */
typedef struct figures {
    double of[CH_ASSUME_COUNT];
    chances event[CH_DECISION_EVENTS_MAX];
    double test, repair, replace, ruin; /* money */
    double mend, mends_1; /* what is done when a test finds a fault, and the chance that it is then gone */
} figures;

/* What has a chance `in_100` in 100 hours of running has this one in an event. */
static double within(double in_100, double running_s)
{
    return -expm1(log1p(-fmin(in_100, 0.999999)) * running_s / HUNDRED_HOURS_S);
}

static void figures_of(const ch_decision_input *in, const double of[CH_ASSUME_COUNT], figures *f)
{
    const double hour = of[CH_ASSUME_HOUR_VALUE], head_1 = in->head_share_1;
    memcpy(f->of, of, sizeof f->of);
    for (size_t e = 0; e < in->events; e++) {
        const double running_s = in->event[e].running_s;
        if (e > 0 && !(running_s < in->event[e - 1].running_s) && !(running_s > in->event[e - 1].running_s))
            f->event[e] = f->event[e - 1]; /* as long as the one before, as the usual ones are */
        else
            f->event[e] = (chances){.breaks_good = within(of[CH_ASSUME_BREAK_SOUND], running_s),
                                    .breaks_over = within(of[CH_ASSUME_BREAK_OVER], running_s),
                                    .new_fault = within(of[CH_ASSUME_NEW_FAULT], running_s)};
    }
    f->test = of[CH_ASSUME_TEST_HOURS] * hour;
    f->repair = of[CH_ASSUME_REPAIR_MONEY] + of[CH_ASSUME_REPAIR_HOURS] * hour;
    /* a used engine that is no good costs the work once more and half of another engine */
    f->replace = of[CH_ASSUME_REPLACE_MONEY] + of[CH_ASSUME_REPLACE_HOURS] * hour +
                 of[CH_ASSUME_DONOR_BAD] * (0.5 * of[CH_ASSUME_REPLACE_MONEY] + of[CH_ASSUME_REPLACE_HOURS] * hour);
    /* in the head: the head is repaired; below it: another engine */
    f->mend = head_1 * f->repair + (1.0 - head_1) * f->replace;
    f->mends_1 = head_1 * of[CH_ASSUME_REPAIR_CURES] + (1.0 - head_1);
    f->ruin = f->replace + of[CH_ASSUME_RUIN_MONEY] + of[CH_ASSUME_LOST_EVENTS] * of[CH_ASSUME_EVENT_VALUE];
}

/* Half the event is lost on the mean, and the car has to come home. */
static double broken(const figures *f)
{
    const double ruined_1 = f->of[CH_ASSUME_RUIN_SHARE];
    return 0.5 * f->of[CH_ASSUME_EVENT_VALUE] + f->of[CH_ASSUME_TOW_HOME] + ruined_1 * f->ruin +
           (1.0 - ruined_1) * (f->repair + f->of[CH_ASSUME_EVENT_VALUE]);
}

/* Chances of the states: of two of them, and of all together; the rest is NEW. */
typedef struct states {
    double old_1, bad_1, all_1;
} states;

/* What the choice itself costs, and how the engine then is. A repair of the head cures what is in the head. */
static double outset(const ch_decision_input *in, const figures *f, ch_course choice, states *after)
{
    const double hour = f->of[CH_ASSUME_HOUR_VALUE],
                 left_1 = choice == CH_COURSE_RUN || choice == CH_COURSE_WATCH ? 1.0
                          : choice == CH_COURSE_REPAIR ? 1.0 - f->of[CH_ASSUME_REPAIR_CURES] * in->head_share_1
                                                       : 0.0;
    *after = (states){.old_1 = left_1 * (1.0 - in->over_now_1), .bad_1 = left_1 * in->over_now_1, .all_1 = 1.0};
    switch (choice) {
    case CH_COURSE_REPAIR: return f->repair;
    case CH_COURSE_REBUILD:
        return f->of[CH_ASSUME_REBUILD_MONEY] + f->of[CH_ASSUME_REBUILD_HOURS] * hour +
               f->of[CH_ASSUME_REBUILD_EARLY] * f->ruin;
    case CH_COURSE_REPLACE: return f->replace;
    case CH_COURSE_RUN:
    case CH_COURSE_WATCH:
    case CH_COURSES: break;
    }
    return 0.0;
}

/* What was old is over the limit. */
static void pass_limit(states *s)
{
    s->bad_1 += s->old_1;
    s->old_1 = 0.0;
}

/* The event itself; returns the chance of breaking down in it. Those that broke down are no longer among `all_1`. */
static double run_event(const chances *p, states *s)
{
    const double good_1 = s->all_1 - s->bad_1, broke_1 = good_1 * p->breaks_good + s->bad_1 * p->breaks_over;
    s->bad_1 = s->bad_1 * (1.0 - p->breaks_over) + good_1 * (1.0 - p->breaks_good) * p->new_fault;
    s->old_1 *= (1.0 - p->breaks_good) * (1.0 - p->new_fault);
    s->all_1 -= broke_1;
    return broke_1;
}

/*
 * Where in the course a draw's first cylinder passes the limit: before event e at 2 e, in its first half at 2 e + 1, later than all of them at
 * 2 events. Nothing else of a draw enters its expected cost: draws with the same place share it.
 */
static size_t place_of(const ch_decision_input *in, double over_s)
{
    double ran_s = 0.0;
    for (size_t e = 0; e < in->events; e++) {
        if (ran_s >= over_s)
            return 2 * e;
        if (ran_s + 0.5 * in->event[e].running_s >= over_s)
            return 2 * e + 1;
        ran_s += in->event[e].running_s;
    }
    return 2 * in->events;
}

/*
 * Expected cost of the draws that pass the limit at a place. Engines that never broke down are followed beside all of them: who broke down and was put
 * right is sounder than they are.
 */
static double expect(const ch_decision_input *in, const figures *f, ch_course choice, size_t place, double *whole_1)
{
    states now, whole;
    double cost = outset(in, f, choice, &now);
    whole = now;
    for (size_t e = 0; e < in->events; e++) {
        const ch_decision_event *event = &in->event[e];
        if (place == 2 * e) {
            pass_limit(&now);
            pass_limit(&whole);
        }
        if (choice != CH_COURSE_RUN && event->test_before) {
            const double found_1 = now.bad_1 * f->of[CH_ASSUME_TEST_FINDS];
            cost += f->test + found_1 * f->mend;
            now.bad_1 -= found_1 * f->mends_1;
            whole.bad_1 -= whole.bad_1 * f->of[CH_ASSUME_TEST_FINDS] * f->mends_1;
        }
        if (place == 2 * e + 1) {
            pass_limit(&now);
            pass_limit(&whole);
        }
        cost += now.bad_1 * (1.0 - f->event[e].breaks_over) * f->of[CH_ASSUME_PACE_LOST] * f->of[CH_ASSUME_EVENT_VALUE];
        cost += run_event(&f->event[e], &now) * broken(f);
        now.all_1 = 1.0; /* a broken one comes back put right */
        run_event(&f->event[e], &whole);
    }
    *whole_1 = whole.all_1;
    return cost + now.bad_1 * f->mend; /* what is over the limit at the horizon still has to be put right */
}

static bool happens(ch_stream *stream, double chance_1)
{
    return ch_stream_uniform(stream) < chance_1;
}

/* One imagined course of the same. */
static double imagine(const ch_decision_input *in, const figures *f, ch_course choice, double over_s, ch_stream *stream)
{
    enum { OLD, NEW, OVER } state = NEW;
    double ran_s = 0.0;
    states now;
    const double hour = f->of[CH_ASSUME_HOUR_VALUE];
    double cost = outset(in, f, choice, &now);
    const double u = ch_stream_uniform(stream);
    if (u < now.old_1)
        state = OLD;
    else if (u < now.old_1 + now.bad_1)
        state = OVER;
    if (choice == CH_COURSE_REBUILD) /* its early failure comes or does not */
        cost +=
            ((happens(stream, f->of[CH_ASSUME_REBUILD_EARLY]) ? 1.0 : 0.0) - f->of[CH_ASSUME_REBUILD_EARLY]) * f->ruin;
    if (choice == CH_COURSE_REPLACE)
        cost += ((happens(stream, f->of[CH_ASSUME_DONOR_BAD]) ? 1.0 : 0.0) - f->of[CH_ASSUME_DONOR_BAD]) *
                (0.5 * f->of[CH_ASSUME_REPLACE_MONEY] + f->of[CH_ASSUME_REPLACE_HOURS] * hour);
    for (size_t e = 0; e < in->events; e++) {
        const ch_decision_event *event = &in->event[e];
        if (state == OLD && ran_s >= over_s)
            state = OVER;
        if (choice != CH_COURSE_RUN && event->test_before) {
            cost += f->test;
            if (state == OVER && happens(stream, f->of[CH_ASSUME_TEST_FINDS])) {
                cost += f->mend;
                state = happens(stream, f->mends_1) ? NEW : OVER;
            }
        }
        if (state == OLD && ran_s + 0.5 * event->running_s >= over_s)
            state = OVER;
        const bool over = state == OVER;
        if (happens(stream, over ? f->event[e].breaks_over : f->event[e].breaks_good)) {
            cost += ch_stream_uniform(stream) * f->of[CH_ASSUME_EVENT_VALUE] + f->of[CH_ASSUME_TOW_HOME] +
                    (happens(stream, f->of[CH_ASSUME_RUIN_SHARE]) ? f->ruin : f->repair + f->of[CH_ASSUME_EVENT_VALUE]);
            state = NEW;
        } else if (over) {
            cost += f->of[CH_ASSUME_PACE_LOST] * f->of[CH_ASSUME_EVENT_VALUE];
        } else if (happens(stream, f->event[e].new_fault)) {
            state = OVER;
        }
        ran_s += event->running_s;
    }
    return cost + (state == OVER ? f->mend : 0.0);
}

/* ---- over the draws ---- */

/* Running time from now at which a draw's first cylinder passes the limit. */
static double over_at(const ch_decision_input *in, size_t course)
{
    const ch_forecast *f = in->forecast;
    const double *row = f->draw + course * (f->draws / COURSES) * 2 * (size_t)f->cylinders;
    double first_s = INFINITY;
    for (int c = 0; c < f->cylinders; c++)
        first_s =
            fmin(first_s, (in->log_fault - row[c]) / row[f->cylinders + c]); /* NaN without a limit: stays infinite */
    return first_s;
}

static void expected_costs(const ch_decision_input *in, const double of[], const size_t place[],
                           double cost[CH_COURSES], double breaks_1[CH_COURSES])
{
    figures f;
    figures_of(in, of, &f);
    for (int k = 0; k < CH_COURSES; k++) {
        double sum = 0.0, whole = 0.0;
        double at_place[PLACES], whole_at_place_1[PLACES];
        bool known[PLACES] = {false};
        for (size_t d = 0; d < COURSES; d++) {
            const size_t p = place[d];
            if (!known[p])
                at_place[p] = expect(in, &f, (ch_course)k, p, &whole_at_place_1[p]);
            known[p] = true;
            sum += at_place[p];
            whole += whole_at_place_1[p];
        }
        cost[k] = sum / COURSES;
        breaks_1[k] = 1.0 - whole / COURSES;
    }
}

static size_t tests_of(const ch_decision_input *in)
{
    size_t tests = 0;
    for (size_t e = 0; e < in->events; e++)
        tests += in->event[e].test_before;
    return tests;
}

/* Where no test falls due, watching is nothing but running on, and is no choice beside it: `watches` says whether one does. */
static ch_course cheapest(const double cost[CH_COURSES], int but, bool watches)
{
    static const int ORDER[CH_COURSES] = {CH_COURSE_WATCH, CH_COURSE_RUN, CH_COURSE_REPAIR, CH_COURSE_REPLACE,
                                          CH_COURSE_REBUILD};
    int best = -1;
    for (int i = watches ? 0 : 1; i < CH_COURSES; i++)
        if (ORDER[i] != but && (best < 0 || cost[ORDER[i]] < cost[best]))
            best = ORDER[i];
    return (ch_course)best;
}

/* A triangular distribution over the range: its ends are the 5 % and 95 % points in the mind, its whole here. */
static double draw_figure(ch_stream *stream, const ch_assumption *a)
{
    const double u = ch_stream_uniform(stream), width = a->high - a->low;
    if (!(width > 0.0))
        return a->usual;
    const double part = (a->usual - a->low) / width;
    return u < part ? a->low + sqrt(u * width * (a->usual - a->low))
                    : a->high - sqrt((1.0 - u) * width * (a->high - a->usual));
}

/* `cost`: room for COURSES of each choice. */
static void intervals(const ch_decision_input *in, const double over_s[], double cost[], ch_decision *d)
{
    for (size_t i = 0; i < COURSES; i++) {
        ch_stream stream;
        ch_stream_init(&stream, in->seed, i);
        double of[CH_ASSUME_COUNT];
        for (int a = 0; a < CH_ASSUME_COUNT; a++)
            of[a] = draw_figure(&stream, &in->assumptions->of[a]);
        figures f;
        figures_of(in, of, &f);
        for (int k = 0; k < CH_COURSES; k++) {
            ch_stream luck = stream; /* the same for every choice */
            cost[(size_t)k * COURSES + i] = imagine(in, &f, (ch_course)k, over_s[i], &luck);
        }
    }
    for (int k = 0; k < CH_COURSES; k++, cost += COURSES) {
        ch_sort(cost, COURSES);
        d->cost[k].interval[0] = ch_quantile_sorted(cost, COURSES, 0.05);
        d->cost[k].interval[1] = ch_quantile_sorted(cost, COURSES, 0.95);
    }
}

static double width(const ch_swing *s)
{
    return fabs(s->lead[1] - s->lead[0]);
}

static void swings(const ch_decision_input *in, const size_t place[], const double usual[], ch_decision *d)
{
    for (int a = 0; a < CH_ASSUME_COUNT; a++) {
        ch_swing made = {.assumption = (ch_assumption_id)a};
        for (int end = 0; end < 2; end++) {
            double of[CH_ASSUME_COUNT], cost[CH_COURSES], ignored[CH_COURSES];
            for (int i = 0; i < CH_ASSUME_COUNT; i++)
                of[i] = usual[i];
            of[a] = end == 0 ? in->assumptions->of[a].low : in->assumptions->of[a].high;
            expected_costs(in, of, place, cost, ignored);
            made.best[end] = cheapest(cost, -1, d->tests > 0);
            made.best_cost[end] = cost[made.best[end]];
            made.lead[end] = cost[cheapest(cost, (int)d->best, d->tests > 0)] - cost[d->best];
        }
        d->hangs_on += made.best[0] != d->best || made.best[1] != d->best;
        int at = a;
        for (; at > 0 && width(&d->swing[at - 1]) < width(&made); at--)
            d->swing[at] = d->swing[at - 1];
        d->swing[at] = made;
    }
}

ch_status ch_decision_run(const ch_decision_input *in, ch_decision *decision, ch_err *err)
{
    if (!(in->over_now_1 >= 0.0 && in->over_now_1 <= 1.0))
        return ch_fail(err, CH_E_RANGE, "0 to 1", "a chance of %g that something is wrong now", in->over_now_1);
    if (!(in->head_share_1 >= 0.0 && in->head_share_1 <= 1.0))
        return ch_fail(err, CH_E_RANGE, "0 to 1", "a share of %g of the leaks in the head", in->head_share_1);
    if (in->events > CH_DECISION_EVENTS_MAX)
        return ch_fail(err, CH_E_LIMIT, "up to 200", "%zu events to the horizon", in->events);
    for (size_t e = 0; e < in->events; e++)
        if (!(in->event[e].running_s > 0.0 && isfinite(in->event[e].running_s)))
            return ch_fail(err, CH_E_RANGE, "more than 0", "event %zu runs for %g s", e + 1, in->event[e].running_s);
    double *over_s = malloc((1 + CH_COURSES) * COURSES * sizeof *over_s);
    if (over_s == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the decision");
    size_t place[COURSES];
    for (size_t d = 0; d < COURSES; d++) {
        over_s[d] = over_at(in, d);
        place[d] = place_of(in, over_s[d]);
    }
    ch_decision made = {.tests = tests_of(in)};
    double usual[CH_ASSUME_COUNT], cost[CH_COURSES], breaks_1[CH_COURSES];
    for (int a = 0; a < CH_ASSUME_COUNT; a++)
        usual[a] = in->assumptions->of[a].usual;
    expected_costs(in, usual, place, cost, breaks_1);
    for (int k = 0; k < CH_COURSES; k++) {
        made.cost[k].expected = cost[k];
        made.cost[k].breaks_1 = breaks_1[k];
    }
    made.best = cheapest(cost, -1, made.tests > 0);
    made.lead = cost[cheapest(cost, (int)made.best, made.tests > 0)] - cost[made.best];
    intervals(in, over_s, over_s + COURSES, &made);
    swings(in, place, usual, &made);
    free(over_s);
    *decision = made;
    return CH_OK;
}
