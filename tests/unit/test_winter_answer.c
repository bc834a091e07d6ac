/*
 * Promises of winter/reasons.c, together.c and choose.c: what the answer says beside the choice, against all subsets of small random plans, each held to
 * the rules of docs/winter.md one by one.
 */
#include "crosshatch/winter.h"

#include <string.h>

#include "crosshatch/sampling.h"
#include "expect.h"

enum { ACCESS = 3, JOBS = 6, PLANS = 320 };

static int below(ch_stream *stream, int n)
{
    return (int)(ch_stream_uniform(stream) * n);
}

/* Kinds of random plans, in turn. */
enum { FINE, COARSE, UNDER_WAY, NO_ACCESS, KINDS };

/*
 * A plan of three accesses and six jobs. Hours are halves and an hour is worth an even sum, so that every amount is whole. Coarse amounts make ties; some plans are
 * under way, with jobs that are done, access that is open and parts that are paid; some have jobs alone.
 */
static void random_plan(uint64_t number, ch_plan *plan)
{
    ch_stream s;
    ch_stream_init(&s, 77, number);
    const int kind = (int)(number % KINDS), access = kind == NO_ACCESS ? 0 : ACCESS;
    const bool coarse = kind == COARSE, turned = number / KINDS % 2 == 1; /* what others need stands behind them */
    char text[3000];
    int at = snprintf(text, sizeof text,
                      "plan: 1\nhours_value: %d\nbudget: %d\ndays: [{date: 2027-01-09, hours: %d}, {date: 2027-01-16, "
                      "hours: %d}]\n%s",
                      coarse ? 10 : 2 * below(&s, 8), (access == 0 ? 120 : 40) * below(&s, 6), 4 + below(&s, 8),
                      below(&s, 6), access > 0 ? "access:\n" : "");
    for (int i = 0; i < access; i++)
        at += snprintf(text + at, sizeof text - (size_t)at, "  x%d: {hours: %.1f, refit_hours: %.1f, parts: %d%s%s}\n",
                       i, coarse ? 1.0 : 0.5 * (1 + below(&s, 4)), coarse ? 1.0 : 0.5 * below(&s, 4),
                       coarse ? 0 : below(&s, 20),
                       i > 0 && below(&s, 2) && !turned           ? ", needs: x0"
                       : i < ACCESS - 1 && turned && below(&s, 2) ? ", needs: x2"
                                                                  : "",
                       kind != UNDER_WAY || below(&s, 3) > 0 ? ""
                       : i == 0                              ? ", done: true"
                                                             : ", paid: 7");
    at += snprintf(text + at, sizeof text - (size_t)at, "jobs:\n");
    for (int i = 0; i < JOBS; i++) {
        at += snprintf(text + at, sizeof text - (size_t)at, "  j%d: {hours: %.1f, parts: %d, avoided: %d", i,
                       coarse ? 1.0 : 0.5 * (1 + below(&s, 8)), coarse ? 40 * below(&s, 2) : 5 * below(&s, 30),
                       coarse ? 10 * (1 + 4 * below(&s, 3)) : 10 * below(&s, 40));
        if (access > 0 && below(&s, 3) > 0)
            at += snprintf(text + at, sizeof text - (size_t)at, ", needs: x%d", below(&s, access));
        if (turned && i < JOBS - 1 && below(&s, 2) == 0)
            at += snprintf(text + at, sizeof text - (size_t)at, ", requires: j%d", i + 1 + below(&s, JOBS - 1 - i));
        else if (!turned && i > 0 && below(&s, 4) == 0)
            at += snprintf(text + at, sizeof text - (size_t)at, ", requires: j%d", below(&s, i));
        else if (i > 0 && below(&s, 4) == 0)
            at += snprintf(text + at, sizeof text - (size_t)at, ", excludes: j%d", below(&s, i));
        const bool done = kind == UNDER_WAY && below(&s, 8) == 0;
        at += snprintf(text + at, sizeof text - (size_t)at, "%s%s%s}\n", below(&s, 12) == 0 ? ", must: true" : "",
                       done ? ", done: true" : "", kind == UNDER_WAY && below(&s, 3) == 0 ? ", paid: 35" : "");
    }
    ch_err err = {0};
    if (ch_plan_parse("plan.yaml", text, strlen(text), (ch_date){0}, plan, &err) < 0)
        fail_msg("%s: %s", err.what, text);
}

/* ---- the rules, on sets of items as bits ---- */

static int items(const ch_plan *plan)
{
    return (int)plan->items_count;
}

static int accesses(const ch_plan *plan)
{
    return (int)plan->access_count;
}

static unsigned bits_of(const ch_places *places)
{
    unsigned bits = 0;
    for (size_t i = 0; i < places->count; i++)
        bits |= 1u << places->at[i];
    return bits;
}

static unsigned asked(const ch_plan *plan, int i)
{
    const ch_plan_item *item = &plan->items[i];
    const bool needs = item->kind == CH_PLAN_ACCESS || !item->done; /* what is done asks for no access any more */
    return (needs ? bits_of(&item->needs) : 0u) | bits_of(&item->requires_);
}

/* All that a set needs and requires. */
static unsigned closed(const ch_plan *plan, unsigned set)
{
    for (unsigned before = 0; before != set;) {
        before = set;
        for (int i = 0; i < items(plan); i++)
            set |= before >> i & 1u ? asked(plan, i) : 0u;
    }
    return set;
}

/* What goes with a job: whatever cannot be without it, then access that none of the jobs left needs. */
static unsigned going(const ch_plan *plan, unsigned set, int job)
{
    unsigned gone = 1u << job, jobs = 0;
    for (unsigned before = 0; before != gone;) {
        before = gone;
        for (int i = 0; i < items(plan); i++)
            gone |= (set >> i & 1u) && (asked(plan, i) & before) ? 1u << i : 0u;
    }
    for (int i = 0; i < items(plan); i++)
        jobs |= i >= accesses(plan) || plan->items[i].done ? set & ~gone & 1u << i : 0u;
    return set & ~closed(plan, jobs);
}

static ch_work work_of(const ch_plan *plan, unsigned set)
{
    ch_work sum = 0;
    for (int i = 0; i < items(plan); i++)
        sum += set >> i & 1u ? plan->items[i].hours.likely_us + plan->items[i].refit.likely_us : 0;
    return sum;
}

/* What was paid comes off; of a job that is done nothing is left, where something was paid. */
static ch_money parts_left(const ch_plan_item *item)
{
    if (item->done && item->kind == CH_PLAN_JOB && item->paid > 0)
        return 0;
    return item->parts > item->paid ? item->parts - item->paid : 0;
}

static ch_money paid_of(const ch_plan *plan)
{
    ch_money sum = 0;
    for (int i = 0; i < items(plan); i++)
        sum += plan->items[i].paid;
    return sum;
}

static ch_money parts_of(const ch_plan *plan, unsigned set)
{
    ch_money sum = 0;
    for (int i = 0; i < items(plan); i++)
        sum += set >> i & 1u ? parts_left(&plan->items[i]) : 0;
    return sum;
}

static ch_money value_of(const ch_plan *plan, unsigned set)
{
    ch_money sum = 0;
    for (int i = 0; i < items(plan); i++)
        sum += set >> i & 1u ? plan->items[i].avoided : 0;
    const ch_work halves = work_of(plan, set) / (CH_WORK_HOUR / 2);
    return sum - parts_of(plan, set) - halves * (plan->hours_value / 2);
}

static bool allowed(const ch_plan *plan, unsigned set, ch_money more, ch_work more_us)
{
    ch_work hours_us = more_us;
    for (size_t d = 0; d < plan->days_count; d++)
        hours_us += plan->days[d].work_us;
    for (int i = 0; i < items(plan); i++)
        if ((set >> i & 1u) ? (bits_of(&plan->items[i].excludes) & set) != 0
                            : plan->items[i].must || plan->items[i].done)
            return false;
    const ch_money left = plan->budget > paid_of(plan) ? plan->budget - paid_of(plan) : 0;
    return closed(plan, set) == set && work_of(plan, set) <= hours_us && parts_of(plan, set) <= left + more;
}

/* The most that any allowed set is worth with all of `with` and nothing of `without`; INT64_MIN where there is none. */
static ch_money best(const ch_plan *plan, ch_money more, ch_work more_us, unsigned with, unsigned without)
{
    ch_money most = INT64_MIN;
    for (unsigned set = 0; set < 1u << items(plan); set++)
        if ((set & with) == with && (set & without) == 0 && allowed(plan, set, more, more_us) &&
            value_of(plan, set) > most)
            most = value_of(plan, set);
    return most;
}

static unsigned set_of(const ch_plan *plan, const bool chosen[])
{
    unsigned set = 0;
    for (int i = 0; i < items(plan); i++)
        set |= chosen[i] ? 1u << i : 0u;
    return set;
}

/* ---- the answers ---- */

static void assert_view(const ch_plan *plan, const ch_winter *winter, unsigned set, const ch_job_view *view)
{
    const unsigned job = 1u << view->item, alone = closed(plan, job);
    const bool chosen = set & job;
    assert_int_equal(view->chosen, chosen);
    assert_int_equal(view->alone_us, work_of(plan, alone));
    assert_int_equal(view->alone_parts, parts_of(plan, alone));
    const unsigned here = plan->items[view->item].done ? 0u : chosen ? going(plan, set, (int)view->item) : alone & ~set;
    assert_int_equal(view->here_us, work_of(plan, here));
    assert_int_equal(view->here_parts, parts_of(plan, here));
    assert_int_equal(view->here_value, value_of(plan, here));
    const ch_money other = best(plan, 0, 0, chosen ? 0 : job, chosen ? job : 0);
    if (plan->items[view->item].done)
        assert_int_equal(view->reason, CH_JOB_DONE);
    else if (plan->items[view->item].must)
        assert_int_equal(view->reason, CH_JOB_MUST);
    else if (other == INT64_MIN)
        assert_true(view->reason == (chosen ? CH_JOB_NEEDED : CH_JOB_SHUT_OUT) ||
                    (!chosen && view->reason == CH_JOB_TOO_LARGE));
    else {
        assert_true(view->exact);
        assert_int_equal(view->difference, winter->choice.value - other);
        assert_true(chosen == (view->reason == CH_JOB_PAYS));
    }
}

/* Each drop loses least for an hour of what is left; giving up work makes it no less likely to be ready. */
static void assert_drops(const ch_plan *plan, const ch_winter *winter, unsigned set)
{
    double chance_1 = winter->chance_1;
    for (size_t d = 0; d <= winter->drops_count && d < CH_WINTER_DROPS_MAX; d++) {
        double least = INFINITY;
        for (int i = accesses(plan); i < items(plan); i++) {
            const unsigned gone = set >> i & 1u ? going(plan, set, i) : 0u;
            bool must = false;
            for (int k = 0; k < items(plan); k++)
                must = must || ((gone >> k & 1u) && (plan->items[k].must || plan->items[k].done));
            if (gone != 0 && !must)
                least = fmin(least, (double)value_of(plan, gone) / (double)work_of(plan, gone));
        }
        assert_true(isinf(least) == (d == winter->drops_count));
        if (d == winter->drops_count)
            break;
        const ch_winter_drop *drop = &winter->drops[d];
        const unsigned gone = going(plan, set, (int)drop->item);
        assert_int_equal(drop->frees_us, work_of(plan, gone));
        assert_int_equal(drop->loses, value_of(plan, gone));
        expect_close((double)drop->loses / (double)drop->frees_us, least, 0.0);
        assert_true(drop->chance_1 >= chance_1);
        chance_1 = drop->chance_1;
        set &= ~gone;
    }
}

static void the_answer_is_that_of_all_subsets(void **state)
{
    (void)state;
    int feasible = 0, drops = 0, gains = 0, ties = 0;
    for (uint64_t number = 0; number < PLANS; number++) {
        ch_plan plan;
        ch_winter winter;
        random_plan(number, &plan);
        assert_int_equal(ch_winter_answer(&plan, 1, &winter, NULL), CH_OK);
        const ch_money most = best(&plan, 0, 0, 0, 0);
        assert_int_equal(winter.choice.feasible, most != INT64_MIN);
        if (winter.choice.feasible) {
            feasible++;
            const unsigned set = set_of(&plan, winter.chosen);
            assert_true(winter.choice.proven && allowed(&plan, set, 0, 0));
            assert_int_equal(winter.choice.value, most);
            assert_int_equal(value_of(&plan, set), most);
            assert_int_equal(winter.choice.parts, paid_of(&plan) + parts_of(&plan, set));
            assert_int_equal(winter.choice.work_us, work_of(&plan, set));
            const ch_money money[CH_WINTER_MORE] = {100 * CH_MONEY_ONE, 0};
            const ch_work work_us[CH_WINTER_MORE] = {0, 5 * CH_WORK_HOUR};
            for (int k = 0; k < CH_WINTER_MORE; k++) {
                const ch_winter_more *more = &winter.more[k];
                assert_true(more->exact && more->money == money[k] && more->work_us == work_us[k]);
                assert_int_equal(more->gains, best(&plan, money[k], work_us[k], 0, 0) - most);
                assert_true(allowed(&plan, set_of(&plan, more->chosen), money[k], work_us[k]));
                assert_int_equal(value_of(&plan, set_of(&plan, more->chosen)), most + more->gains);
                gains += more->gains > 0;
            }
            assert_int_equal(winter.jobs_count, JOBS);
            ch_work apart_us = 0;
            for (int i = 0; i < JOBS; i++) {
                assert_view(&plan, &winter, set, &winter.jobs[i]);
                ties += winter.jobs[i].exact && winter.jobs[i].difference == 0 && !plan.items[accesses(&plan) + i].must;
                const unsigned job = 1u << (accesses(&plan) + i),
                               access = closed(&plan, job) & ((1u << accesses(&plan)) - 1u);
                apart_us += (set & job) && !plan.items[accesses(&plan) + i].done ? work_of(&plan, access | job) : 0;
            }
            const ch_work together_us = work_of(&plan, set);
            assert_int_equal(winter.shared_us, apart_us > together_us ? apart_us - together_us : 0);
            assert_drops(&plan, &winter, set);
            drops += winter.drops_count > 1;
        }
        ch_winter_clear(&winter);
        ch_plan_clear(&plan);
    }
    assert_true(feasible > PLANS / 2 && drops > 5 && gains > 10 && ties > 10);
}

/* Jobs that are alike in everything: as many as fit are chosen, the earlier ones of the plan. */
static void of_twins_as_many_are_chosen_as_fit(void **state)
{
    (void)state;
    for (int fit = 0; fit <= 4; fit++) {
        char text[400];
        ch_plan plan;
        ch_winter winter;
        snprintf(text, sizeof text,
                 "plan: 1\nbudget: %d\njobs: {a: {parts: 10, avoided: 30}, b: {parts: 10, avoided: 30}, c: {parts: 10, "
                 "avoided: 30}, d: {parts: 10, avoided: 30}}\n",
                 10 * fit + 5);
        assert_int_equal(ch_plan_parse("plan.yaml", text, strlen(text), (ch_date){0}, &plan, NULL), CH_OK);
        assert_int_equal(ch_winter_answer(&plan, 1, &winter, NULL), CH_OK);
        assert_int_equal(winter.choice.value, 20 * fit * CH_MONEY_ONE);
        for (int i = 0; i < 4; i++)
            assert_int_equal(winter.chosen[i], i < fit);
        ch_winter_clear(&winter);
        ch_plan_clear(&plan);
    }
}

/* What takes no work of its own still waits for its parts; without any it is done on a day that is full. Hours that are guessed, so that chances are
 * drawn. */
static void what_takes_no_work_still_waits_for_its_parts(void **state)
{
    (void)state;
    static const struct {
        const char *job;
        bool fits;
    } cases[] = {{"b: {hours: 0, lead_days: 60, avoided: 50}", false},
                 {"b: {hours: 0, lead_days: 3, avoided: 50}", true},
                 {"b: {hours: 0, avoided: 50, after: a}", true}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        char text[400];
        ch_plan plan;
        ch_winter winter;
        snprintf(text, sizeof text,
                 "plan: 1\ntoday: 2027-01-01\nuntil: 2027-01-20\ndays: [{date: 2027-01-09, hours: 3}]\njobs:\n  a: "
                 "{hours: [1, 2, 3], avoided: 90}\n  %s\n",
                 cases[k].job);
        assert_int_equal(ch_plan_parse("plan.yaml", text, strlen(text), (ch_date){0}, &plan, NULL), CH_OK);
        assert_int_equal(ch_winter_answer(&plan, 1, &winter, NULL), CH_OK);
        assert_int_equal(winter.calendar.fits, cases[k].fits);
        expect_close(winter.chance_1, cases[k].fits ? 1.0 : 0.0, 0.0);
        ch_winter_clear(&winter);
        ch_plan_clear(&plan);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(what_takes_no_work_still_waits_for_its_parts),
                                       cmocka_unit_test(of_twins_as_many_are_chosen_as_fit),
                                       cmocka_unit_test(the_answer_is_that_of_all_subsets)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
