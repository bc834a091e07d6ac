/*
 * Promises of winter/calendar.c, tasks.c and chance.c: the work is laid in an order in which it can be done, no day is overfilled, whether it fits is
 * decided exactly, the car stands apart for few nights, and the chance is that of the guesses.
 */
#include <gsl/gsl_cdf.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/sampling.h"
#include "crosshatch/text.h"
#include "crosshatch/winter.h"
#include "expect.h"

static void read_plan(const char *text, ch_plan *plan)
{
    ch_err err = {0};
    if (ch_plan_parse("plan.yaml", text, strlen(text), (ch_date){0}, plan, &err) < 0)
        fail_msg("%s: %s", err.what, text);
}

static void answer(const char *text, ch_plan *plan, ch_winter *winter)
{
    read_plan(text, plan);
    assert_int_equal(ch_winter_answer(plan, 1, winter, NULL), CH_OK);
    assert_true(winter->choice.feasible);
}

static void done_with(ch_plan *plan, ch_winter *winter)
{
    ch_winter_clear(winter);
    ch_plan_clear(plan);
}

/* ------------------------------------------------------------------ rules, checked from the plan itself */

/* Places in the calendar of the first and last piece of a task; false where it has none. */
static bool pieces(const ch_calendar *calendar, size_t item, bool close, size_t *first, size_t *last, ch_work *work_us)
{
    *first = SIZE_MAX;
    *work_us = 0;
    for (size_t i = 0; i < calendar->count; i++) {
        const ch_calendar_entry *entry = &calendar->entries[i];
        if (entry->item != item || (entry->kind == CH_ENTRY_CLOSE) != close)
            continue;
        *first = *first == SIZE_MAX ? i : *first;
        *last = i;
        *work_us += entry->work_us;
    }
    return *first != SIZE_MAX;
}

static void assert_before(const ch_calendar *calendar, size_t a, bool a_close, size_t b, bool b_close)
{
    size_t first_a, last_a, first_b, last_b;
    ch_work unused;
    if (pieces(calendar, a, a_close, &first_a, &last_a, &unused) &&
        pieces(calendar, b, b_close, &first_b, &last_b, &unused))
        assert_true(last_a < first_b);
}

/* What an item needs, then what it lies within. */
static size_t outer_at(const ch_plan_item *item, size_t k)
{
    return k < item->needs.count ? item->needs.at[k] : item->within.at[k - item->needs.count];
}

static void assert_item_kept(const ch_plan *plan, const ch_winter *winter, size_t i)
{
    const ch_plan_item *item = &plan->items[i];
    const ch_calendar *calendar = &winter->calendar;
    const bool access = item->kind == CH_PLAN_ACCESS;
    size_t first = 0, last = 0;
    ch_work work_us = 0;
    assert_int_equal(pieces(calendar, i, false, &first, &last, &work_us), winter->chosen[i] && !item->done);
    assert_int_equal(work_us, winter->chosen[i] ? item->hours.likely_us : 0);
    assert_int_equal(pieces(calendar, i, true, &first, &last, &work_us), winter->chosen[i] && access);
    assert_int_equal(work_us, winter->chosen[i] ? item->refit.likely_us : 0);
    if (!winter->chosen[i])
        return;
    assert_before(calendar, i, false, i, true);
    for (size_t k = 0; k < item->needs.count + item->within.count; k++) {
        const size_t outer = outer_at(item, k);
        assert_before(calendar, outer, false, i, false);
        assert_before(calendar, i, access, outer, true);
    }
    for (size_t k = 0; k < item->after.count; k++)
        assert_before(calendar, item->after.at[k], false, i, false);
    if (pieces(calendar, i, access, &first, &last, &work_us) && item->lead_days > 0 &&
        calendar->entries[first].day != SIZE_MAX)
        assert_true(ch_date_days(plan->days[calendar->entries[first].day].date) >=
                    ch_date_days(ch_plan_start(plan)) + item->lead_days);
}

static void assert_rules_kept(const ch_plan *plan, const ch_winter *winter)
{
    const ch_calendar *calendar = &winter->calendar;
    ch_work late_us = 0;
    for (size_t d = 0; d < plan->days_count; d++) {
        ch_work sum_us = 0;
        for (size_t i = 0; i < calendar->count; i++)
            sum_us += calendar->entries[i].day == d ? calendar->entries[i].work_us : 0;
        assert_true(sum_us <= (d < plan->days_until ? plan->days[d].work_us : 0));
    }
    for (size_t i = 0; i < calendar->count; i++) {
        if (i > 0)
            assert_true(calendar->entries[i - 1].day <= calendar->entries[i].day);
        late_us += calendar->entries[i].day == SIZE_MAX ? calendar->entries[i].work_us : 0;
    }
    assert_int_equal(late_us, calendar->late_us);
    for (size_t i = 0; i < plan->items_count; i++)
        assert_item_kept(plan, winter, i);
}

/* A first step is not opened and not closed while another step that is not first stands open; what is open from the start may only keep it from being closed. */
static void assert_firsts_enclose(const ch_plan *plan, const ch_winter *winter)
{
    const ch_calendar *calendar = &winter->calendar;
    for (size_t f = 0; f < plan->access_count; f++)
        for (size_t o = 0; o < plan->access_count; o++)
            for (int close = 0; close < 2; close++) {
                size_t from = 0, to = 0, opened = 0, closed = 0, unused = 0;
                ch_work work_us = 0;
                if (!plan->items[f].first || plan->items[o].first || !winter->chosen[f] || !winter->chosen[o] ||
                    !pieces(calendar, f, close == 1, &from, &to, &work_us))
                    continue;
                assert_true(pieces(calendar, o, true, &unused, &closed, &work_us));
                const bool opens = pieces(calendar, o, false, &opened, &unused, &work_us);
                if (opens)
                    assert_true(closed < from || opened > to);
                else if (close == 1)
                    assert_true(closed < from);
            }
}

/* What is closed before a job, and the days at the machine shop: from when the parts are there and all that the job needs is open or done. */
static void assert_shop_and_closed_kept(const ch_plan *plan, const ch_winter *winter)
{
    const ch_calendar *calendar = &winter->calendar;
    for (size_t i = plan->access_count; i < plan->items_count; i++) {
        const ch_plan_item *item = &plan->items[i];
        size_t first = 0, last = 0, need = 0;
        ch_work work_us = 0;
        for (size_t k = 0; k < item->once_closed.count; k++)
            assert_before(calendar, item->once_closed.at[k], true, i, false);
        if (!pieces(calendar, i, false, &first, &last, &work_us) || calendar->entries[first].day == SIZE_MAX ||
            item->shop_days == 0)
            continue;
        long sent = ch_date_days(ch_plan_start(plan)) + item->lead_days;
        for (size_t k = 0; k < item->needs.count; k++)
            if (pieces(calendar, item->needs.at[k], false, &need, &last, &work_us)) {
                const long off = ch_date_days(plan->days[calendar->entries[last].day].date);
                sent = off > sent ? off : sent;
            }
        assert_true(ch_date_days(plan->days[calendar->entries[first].day].date) >= sent + item->shop_days);
    }
}

/* ------------------------------------------------------------------ whether it fits, decided another way */

/* A task for the plain check: released at a day, after others. */
typedef struct plain {
    ch_work left_us;
    long ready;
    size_t item;
    bool close, chosen;
} plain;

static bool finished(const plain tasks[], size_t item, bool close)
{
    const plain *t = &tasks[2 * item + close];
    return !t->chosen || t->left_us < 0;
}

static bool may_begin(const ch_plan *plan, const plain tasks[], const plain *t)
{
    const ch_plan_item *item = &plan->items[t->item];
    if (t->close && !finished(tasks, t->item, false))
        return false;
    for (size_t k = 0; !t->close && k < item->needs.count; k++)
        if (!finished(tasks, item->needs.at[k], false))
            return false;
    for (size_t k = 0; !t->close && k < item->after.count; k++)
        if (!finished(tasks, item->after.at[k], false))
            return false;
    for (size_t other = 0; t->close && other < plan->items_count; other++)
        for (size_t k = 0; k < plan->items[other].needs.count; k++)
            if (plan->items[other].needs.at[k] == t->item &&
                !finished(tasks, other, plan->items[other].kind == CH_PLAN_ACCESS))
                return false;
    return true;
}

/* Work on anything that can be worked on, the last item first: with one pair of hands no order ends earlier. -1 marks what is finished. */
static bool fits_plainly(const ch_plan *plan, const bool chosen[])
{
    plain tasks[200];
    const size_t n = 2 * plan->items_count;
    for (size_t i = 0; i < plan->items_count; i++)
        for (int close = 0; close < 2; close++) {
            const ch_plan_item *item = &plan->items[i];
            const bool access = item->kind == CH_PLAN_ACCESS, buys = access == (close == 1) && item->lead_days > 0;
            tasks[2 * i + (size_t)close] =
                (plain){.item = i,
                        .close = close == 1,
                        .chosen = chosen[i] && (close == 1 ? access : !item->done),
                        .left_us = close == 1 ? item->refit.likely_us : item->hours.likely_us,
                        .ready = buys ? ch_date_days(ch_plan_start(plan)) + item->lead_days : LONG_MIN};
        }
    for (size_t d = 0; d < plan->days_until; d++) {
        ch_work free_us = plan->days[d].work_us;
        for (bool more = true; more;) {
            more = false;
            for (size_t k = n; k-- > 0;) {
                plain *t = &tasks[k];
                if (!t->chosen || t->left_us < 0 || t->ready > ch_date_days(plan->days[d].date) ||
                    !may_begin(plan, tasks, t) || (free_us == 0 && t->left_us > 0))
                    continue;
                const ch_work now_us = t->left_us < free_us ? t->left_us : free_us;
                t->left_us -= now_us;
                free_us -= now_us;
                if (t->left_us == 0)
                    t->left_us = -1;
                more = true;
            }
        }
    }
    for (size_t k = 0; k < n; k++)
        if (tasks[k].chosen && tasks[k].left_us >= 0)
            return false;
    return true;
}

/* ------------------------------------------------------------------ nights, counted one by one */

/* Items that share access, or lie within each other, have the same number: that of the first of them. */
static void number_blocks(const ch_plan *plan, const bool chosen[], size_t block[])
{
    for (size_t i = 0; i < plan->items_count; i++)
        block[i] = i;
    for (bool more = true; more;) {
        more = false;
        for (size_t i = 0; i < plan->items_count; i++) {
            const ch_plan_item *item = &plan->items[i];
            const bool counts = chosen[i] && !(item->done && item->kind == CH_PLAN_JOB);
            for (size_t k = 0; counts && k < item->needs.count + item->within.count; k++) {
                const size_t other = outer_at(item, k), least = block[i] < block[other] ? block[i] : block[other];
                more = more || block[i] != block[other];
                block[i] = block[other] = least;
            }
        }
    }
}

/* A night counts where some block was begun before it and is not finished; one of which access is open, or half open, from the start is begun there. */
static long count_nights(const ch_plan *plan, const ch_winter *winter)
{
    const ch_calendar *calendar = &winter->calendar;
    size_t block[200];
    long nights = 0;
    number_blocks(plan, winter->chosen, block);
    const long start = ch_date_days(ch_date_given(ch_plan_start(plan)) ? ch_plan_start(plan) : plan->days[0].date);
    for (long night = start; night < ch_date_days(plan->days[plan->days_count - 1].date); night++) {
        bool apart = false;
        for (size_t k = 0; k < plan->items_count && !apart; k++) {
            bool begun = false, goes_on = false;
            for (size_t i = 0; i < calendar->count; i++) {
                const ch_calendar_entry *entry = &calendar->entries[i];
                if (entry->day == SIZE_MAX || block[entry->item] != k)
                    continue;
                begun = begun || ch_date_days(plan->days[entry->day].date) <= night;
                goes_on = goes_on || ch_date_days(plan->days[entry->day].date) > night;
            }
            for (size_t i = 0; i < plan->access_count; i++)
                begun = begun ||
                        (winter->chosen[i] && block[i] == k && (plan->items[i].done || plan->items[i].done_us > 0));
            apart = begun && goes_on;
        }
        nights += apart;
    }
    return nights;
}

static void assert_nights_and_finish(const ch_plan *plan, const ch_winter *winter)
{
    const ch_calendar *calendar = &winter->calendar;
    if (plan->days_count > 0)
        assert_int_equal(calendar->nights_apart, count_nights(plan, winter));
    assert_int_equal(ch_date_given(calendar->finish), calendar->fits && calendar->count > 0);
    if (ch_date_given(calendar->finish))
        assert_int_equal(ch_date_days(calendar->finish),
                         ch_date_days(plan->days[calendar->entries[calendar->count - 1].day].date));
}

static int64_t between(ch_stream *stream, int64_t low, int64_t high)
{
    return low + (int64_t)(ch_stream_uniform(stream) * (double)(high - low + 1));
}

/*
 * A plan of everything at once: steps in trees, jobs that wait for parts and for each other. With `more`, first steps, days at the machine shop, and jobs that
 * wait until a step is closed: then it may go round in a circle, and is no plan.
 */
static void random_plan(ch_stream *stream, bool more, ch_text *text)
{
    bool first[6] = {false};
    const int steps = (int)between(stream, 0, 5), jobs = (int)between(stream, 1, 9), days = (int)between(stream, 1, 9);
    long date = ch_date_days((ch_date){2027, 1, 1});
    ch_text_appendf(text, "plan: 1\nhours_value: 1\ntoday: 2027-01-01\ndays:\n");
    for (int d = 0; d < days; d++) {
        char day[16];
        date += between(stream, 1, 9);
        ch_date_format(ch_date_from_days(date), day, sizeof day);
        ch_text_appendf(text, "  - {date: %s, hours: %d}\n", day, (int)between(stream, 0, 8));
    }
    if (steps > 0)
        ch_text_appendf(text, "access:\n");
    for (int i = 0; i < steps; i++) {
        ch_text_appendf(text, "  s%d: {hours: 0.%d, refit_hours: 1.%d, lead_days: %d, %s", i,
                        (int)between(stream, 0, 9), (int)between(stream, 0, 9), (int)between(stream, 0, 3) * 5,
                        between(stream, 0, 5) == 0   ? "done: true"
                        : between(stream, 0, 5) == 0 ? "done_hours: 0.1"
                                                     : "done: false");
        const int need = i > 0 && between(stream, 0, 1) == 0 ? (int)between(stream, 0, i - 1) : -1;
        if (need >= 0)
            ch_text_appendf(text, ", needs: s%d", need);
        const int outer = more && i > 0 && between(stream, 0, 2) == 0 ? (int)between(stream, 0, i - 1) : -1;
        if (outer >= 0)
            ch_text_appendf(text, ", within: s%d", outer);
        first[i] = more && (need < 0 || first[need]) && (outer < 0 || first[outer]) && between(stream, 0, 1) == 0;
        ch_text_appendf(text, "%s}\n", first[i] ? ", first: true" : "");
    }
    ch_text_appendf(text, "jobs:\n");
    for (int i = 0; i < jobs; i++) {
        ch_text_appendf(text, "  j%d: {hours: %d.%d, avoided: 100, lead_days: %d, done: %s", i,
                        (int)between(stream, 0, 4), (int)between(stream, 0, 9),
                        between(stream, 0, 2) == 0 ? (int)between(stream, 0, 40) : 0,
                        between(stream, 0, 9) == 0 ? "true" : "false");
        if (steps > 0 && between(stream, 0, 2) > 0)
            ch_text_appendf(text, ", needs: [s%d, s%d]", (int)between(stream, 0, steps - 1),
                            (int)between(stream, 0, steps - 1));
        if (i > 0 && between(stream, 0, 2) == 0)
            ch_text_appendf(text, ", after: j%d", (int)between(stream, 0, i - 1));
        if (more && between(stream, 0, 2) == 0)
            ch_text_appendf(text, ", shop_days: %d", (int)between(stream, 1, 20));
        const int closed = more && steps > 0 && between(stream, 0, 3) == 0 ? (int)between(stream, 0, steps - 1) : -1;
        if (closed >= 0 && !first[closed])
            ch_text_appendf(text, ", once_closed: s%d", closed);
        if (more && steps > 0 && between(stream, 0, 3) == 0)
            ch_text_appendf(text, ", within: s%d", (int)between(stream, 0, steps - 1));
        ch_text_appendf(text, "}\n");
    }
}

static void any_plan_is_laid_by_the_rules_and_fits_when_it_can(void **state)
{
    (void)state;
    int fitting = 0, late = 0;
    for (int n = 0; n < 1500; n++) {
        ch_stream stream;
        ch_text text;
        ch_plan plan;
        ch_winter winter;
        ch_stream_init(&stream, 11, (uint64_t)n);
        ch_text_init(&text, 64 * 1024);
        random_plan(&stream, false, &text);
        read_plan(ch_text_string(&text), &plan);
        assert_int_equal(ch_winter_answer(&plan, 1, &winter, NULL), CH_OK);
        if (winter.choice.feasible) {
            assert_rules_kept(&plan, &winter);
            assert_nights_and_finish(&plan, &winter);
            assert_int_equal(winter.calendar.fits, fits_plainly(&plan, winter.chosen));
            expect_close(winter.chance_1, winter.calendar.fits ? 1.0 : 0.0, 0.0);
            fitting += winter.calendar.fits;
            late += !winter.calendar.fits;
        }
        done_with(&plan, &winter);
        ch_text_clear(&text);
    }
    assert_true(fitting > 100 && late > 100); /* both have been tried */
}

static void first_steps_shops_and_closed_steps_keep_their_place_in_any_plan(void **state)
{
    (void)state;
    int fitting = 0, late = 0, circles = 0, enclosed = 0, shops = 0, closed = 0, within = 0;
    for (int n = 0; n < 800; n++) {
        bool chosen[200];
        ch_stream stream;
        ch_text text;
        ch_plan plan;
        ch_winter winter = {.chosen = chosen};
        ch_err err = {0};
        double chance_1 = NAN;
        ch_stream_init(&stream, 13, (uint64_t)n);
        ch_text_init(&text, 64 * 1024);
        random_plan(&stream, true, &text);
        if (ch_plan_parse("plan.yaml", ch_text_string(&text), text.length, (ch_date){0}, &plan, &err) < 0) {
            assert_non_null(strstr(err.what, "go round in a circle"));
            circles++;
            ch_text_clear(&text);
            continue;
        }
        memset(chosen, true, sizeof chosen);
        assert_int_equal(ch_winter_calendar(&plan, chosen, &winter.calendar, NULL), CH_OK);
        assert_int_equal(ch_winter_chance(&plan, &winter.calendar, NULL, 1, &chance_1, NULL), CH_OK);
        assert_rules_kept(&plan, &winter);
        assert_firsts_enclose(&plan, &winter);
        assert_shop_and_closed_kept(&plan, &winter);
        assert_nights_and_finish(&plan, &winter);
        expect_close(chance_1, winter.calendar.fits ? 1.0 : 0.0, 0.0);
        fitting += winter.calendar.fits;
        late += !winter.calendar.fits;
        for (size_t i = 0; i < plan.items_count; i++) {
            enclosed += plan.items[i].first && winter.calendar.fits;
            shops += plan.items[i].shop_days > 0 && winter.calendar.fits;
            closed += plan.items[i].once_closed.count > 0 && winter.calendar.fits;
            within += plan.items[i].within.count > 0 && winter.calendar.fits;
        }
        ch_calendar_clear(&winter.calendar);
        ch_plan_clear(&plan);
        ch_text_clear(&text);
    }
    /* all of it has been tried */
    assert_true(fitting > 50 && late > 50 && circles > 5 && enclosed > 30 && shops > 30 && closed > 10 && within > 10);
}

/* The day of an entry, by name and kind; by hand from the plan's dates. */
static void assert_on(const ch_plan *plan, const ch_winter *winter, const char *name, ch_entry_kind kind, int month,
                      int day)
{
    for (size_t i = 0; i < winter->calendar.count; i++) {
        const ch_calendar_entry *entry = &winter->calendar.entries[i];
        if (entry->kind != kind || strcmp(plan->items[entry->item].name, name) != 0)
            continue;
        assert_int_equal(plan->days[entry->day].date.month, month);
        assert_int_equal(plan->days[entry->day].date.day, day);
        return;
    }
    fail_msg("%s is not in the calendar", name);
}

/*
 * By hand: a head on Saturdays of four hours. Opened on the second of January: running engine, plugs, head, four hours. From that day, not from the first of December on which the
 * plan begins, fourteen days at the machine shop: the sixteenth. Then head on, lash, plugs, first start.
 */
static void a_head_is_away_from_when_it_is_off_and_the_engine_runs_first_and_last(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        ch_entry_kind kind;
    } want[] = {{"running", CH_ENTRY_OPEN}, {"plugs", CH_ENTRY_OPEN},   {"head", CH_ENTRY_OPEN},
                {"rebuild", CH_ENTRY_JOB},  {"head", CH_ENTRY_CLOSE},   {"lash", CH_ENTRY_JOB},
                {"plugs", CH_ENTRY_CLOSE},  {"running", CH_ENTRY_CLOSE}};
    ch_plan plan;
    ch_winter winter;
    answer(
        "plan: 1\ntoday: 2026-12-01\ndays: [{date: 2027-01-02, hours: 4}, {date: 2027-01-09, hours: 4}, {date: "
        "2027-01-16, hours: 4}, {date: 2027-01-23, hours: 4}]\n"
        "access: {plugs: {hours: 1, refit_hours: 1}, running: {first: true, hours: 1, refit_hours: 1}, head: {hours: "
        "2, refit_hours: 2, needs: [plugs, running]}}\n"
        "jobs: {lash: {hours: 1, must: true, avoided: 9, needs: plugs, once_closed: head}, rebuild: {hours: 1, must: "
        "true, avoided: 9, needs: head, lead_days: 5, shop_days: 14}}\n",
        &plan, &winter);
    assert_int_equal(winter.calendar.count, sizeof want / sizeof want[0]);
    for (size_t i = 0; i < winter.calendar.count; i++) {
        assert_string_equal(plan.items[winter.calendar.entries[i].item].name, want[i].name);
        assert_int_equal(winter.calendar.entries[i].kind, want[i].kind);
    }
    assert_on(&plan, &winter, "head", CH_ENTRY_OPEN, 1, 2);
    assert_on(&plan, &winter, "rebuild", CH_ENTRY_JOB, 1, 16);
    assert_on(&plan, &winter, "running", CH_ENTRY_CLOSE, 1, 23);
    assert_int_equal(winter.calendar.nights_apart, 21);
    expect_close(winter.chance_1, 1.0, 0.0);
    done_with(&plan, &winter);
    /* with the last Saturday gone it is late: the shop has it until the sixteenth, and six hours are left for four */
    answer(
        "plan: 1\ntoday: 2026-12-01\nuntil: 2027-01-16\ndays: [{date: 2027-01-02, hours: 4}, {date: 2027-01-09, hours: "
        "4}, {date: 2027-01-16, hours: 4}]\n"
        "access: {head: {hours: 2, refit_hours: 2}}\n"
        "jobs: {rebuild: {hours: [1, 3, 4], must: true, avoided: 9, needs: head, shop_days: 14}}\n",
        &plan, &winter);
    assert_false(winter.calendar.fits);
    /* drawn: off on the second, back on the sixteenth, then in time where the rebuild takes two hours at most: PERT's beta of the shapes 1 + 4 (3 - 1)/3 and 1 + 4 (4 - 3)/3 */
    const double drawn = gsl_cdf_beta_P(1.0 / 3.0, 11.0 / 3.0, 7.0 / 3.0);
    expect_close(winter.chance_1, drawn, 4.0 * sqrt(drawn * (1.0 - drawn) / CH_WINTER_DRAWS) + 1e-12);
    done_with(&plan, &winter);
}

/* Two blocks: the seats with the battery off, the oil with the engine running first. They may stand apart at the same time only with the seats inside. */
static void a_first_step_of_one_block_encloses_those_of_another(void **state)
{
    (void)state;
    ch_plan plan;
    ch_winter winter;
    answer("plan: 1\ndays: [{date: 2027-01-02, hours: 3}, {date: 2027-01-03, hours: 3}, {date: 2027-01-09, hours: 3}]\n"
           "access: {battery: {hours: 0.5, refit_hours: 0.5}, running: {first: true, hours: 0.5, refit_hours: 0.5}}\n"
           "jobs: {seats: {hours: 4, must: true, avoided: 9, needs: battery}, oil: {hours: 2, must: true, avoided: 9, "
           "needs: "
           "running}}\n",
           &plan, &winter);
    assert_true(winter.calendar.fits);
    assert_rules_kept(&plan, &winter);
    assert_firsts_enclose(&plan, &winter);
    done_with(&plan, &winter);
}

/* ------------------------------------------------------------------ nights */

static void work_that_fits_a_weekend_waits_for_one(void **state)
{
    (void)state;
    ch_plan plan;
    ch_winter winter;
    /* a Saturday of 2 h, two weekends of 5 + 5 h: each block of 8 h takes one weekend and one night, the short job the Saturday */
    answer("plan: 1\ndays: [{date: 2027-01-02, hours: 2}, {date: 2027-01-09, hours: 5}, {date: 2027-01-10, hours: 5}, "
           "{date: 2027-01-16, hours: 5}, {date: 2027-01-17, hours: 5}]\n"
           "access: {engine_out: {hours: 3, refit_hours: 3}, axle_out: {hours: 2, refit_hours: 3}}\n"
           "jobs: {mount: {hours: 2, avoided: 1, needs: engine_out}, bearing: {hours: 3, avoided: 1, needs: axle_out}, "
           "wiper: {hours: 1.5, avoided: 1}}\n",
           &plan, &winter);
    assert_rules_kept(&plan, &winter);
    assert_int_equal(winter.calendar.nights_apart, 2);
    assert_int_equal(winter.calendar.entries[0].item, 4);
    assert_int_equal(winter.calendar.finish.day, 17);
    done_with(&plan, &winter);
}

static void a_car_that_is_already_apart_counts_from_today(void **state)
{
    (void)state;
    ch_plan plan;
    ch_winter winter;
    answer("plan: 1\ntoday: 2027-01-01\ndays: [{date: 2027-01-03, hours: 5}, {date: 2027-01-09, hours: 5}]\n"
           "access: {engine_out: {hours: 3, refit_hours: 3, done: true}}\n"
           "jobs: {mount: {hours: 1, avoided: 1, needs: engine_out}}\n",
           &plan, &winter);
    assert_rules_kept(&plan, &winter);
    assert_int_equal(winter.calendar.count, 2); /* the job and the closing */
    assert_int_equal(winter.calendar.nights_apart, 2);
    assert_int_equal(winter.choice.work_us, 4 * CH_WORK_HOUR);
    done_with(&plan, &winter);
}

static void parts_that_come_too_late_are_said_to(void **state)
{
    (void)state;
    ch_plan plan;
    ch_winter winter;
    answer("plan: 1\ntoday: 2027-01-01\nuntil: 2027-01-09\ndays: [{date: 2027-01-03, hours: 5}, {date: 2027-01-09, "
           "hours: 5}, "
           "{date: 2027-01-20, hours: 5}]\n"
           "jobs: {pump: {hours: 1, avoided: 5, lead_days: 10}, hose: {hours: 2, avoided: 9}}\n",
           &plan, &winter);
    assert_true(winter.chosen[0] && winter.chosen[1]); /* the choice knows hours and money only */
    assert_false(winter.calendar.fits);
    assert_int_equal(winter.calendar.late_us, CH_WORK_HOUR);
    assert_false(ch_date_given(winter.calendar.finish));
    expect_close(winter.chance_1, 0.0, 0.0);
    assert_int_equal(winter.drops_count, 2); /* the hose costs nothing to keep: both cost 5 and 4.5 an hour */
    assert_int_equal(winter.drops[0].item, 1);
    assert_int_equal(winter.drops[1].item, 0);
    expect_close(winter.drops[1].chance_1, 1.0, 0.0);
    done_with(&plan, &winter);
}

static void what_is_done_is_not_laid_again_and_a_day_is_not_needed(void **state)
{
    (void)state;
    ch_plan plan;
    ch_winter winter;
    answer("plan: 1\nbudget: 60\ndays: [{date: 2027-01-03, hours: 2}]\naccess: {x: {hours: 4, refit_hours: 4}}\n"
           "jobs: {a: {hours: 9, parts: 50, avoided: 70, done: true, needs: x}, b: {hours: 5, done_hours: 3.5, "
           "avoided: 9}, c: "
           "{parts: 20, avoided: 99}}\n",
           &plan, &winter);
    assert_true(!winter.chosen[0] && winter.chosen[1] && winter.chosen[2]);
    assert_false(winter.chosen[3]); /* 50 of 60 are spent */
    assert_int_equal(winter.calendar.count, 1);
    assert_int_equal(winter.calendar.entries[0].work_us, CH_WORK_HOUR * 3 / 2);
    assert_int_equal(winter.choice.parts, 50 * CH_MONEY_ONE);
    assert_int_equal(winter.choice.value, 29 * CH_MONEY_ONE);
    done_with(&plan, &winter);
}

/* Hours that fill the days to within the rounding of the numbers are laid: the longest task gives way. A microsecond more does not fit. */
static void the_rounding_of_hours_comes_off_the_longest_task(void **state)
{
    (void)state;
    static const ch_plan_day days[] = {{{2027, 1, 9}, CH_WORK_HOUR}, {{2027, 1, 10}, 2 * CH_WORK_HOUR}};
    const bool chosen[] = {true, true, true};
    for (ch_work over_us = 4; over_us <= 6; over_us++) /* three items and two days: five microseconds */
        for (size_t longest = 0; longest < 3; longest++) {
            ch_plan_item items[3] = {{.kind = CH_PLAN_JOB}, {.kind = CH_PLAN_JOB}, {.kind = CH_PLAN_JOB}};
            for (size_t i = 0; i < 3; i++) {
                const ch_work us = i == longest ? 2 * CH_WORK_HOUR + over_us : CH_WORK_HOUR / 2;
                items[i].hours = (ch_work_guess){us, us, us};
            }
            const ch_plan plan = {
                .has_days = true, .days = days, .days_count = 2, .days_until = 2, .items = items, .items_count = 3};
            ch_calendar calendar;
            assert_int_equal(ch_winter_calendar(&plan, chosen, &calendar, NULL), CH_OK);
            assert_int_equal(calendar.fits, over_us <= 5);
            ch_work of[3] = {0}, late_us = 0;
            for (size_t i = 0; i < calendar.count; i++) {
                of[calendar.entries[i].item] += calendar.entries[i].work_us;
                late_us += calendar.entries[i].day == SIZE_MAX ? calendar.entries[i].work_us : 0;
            }
            assert_int_equal(calendar.late_us, over_us <= 5 ? 0 : over_us);
            assert_int_equal(late_us, calendar.late_us);
            for (size_t i = 0; i < 3; i++)
                assert_int_equal(of[i], i != longest   ? CH_WORK_HOUR / 2
                                        : over_us <= 5 ? 2 * CH_WORK_HOUR
                                                       : 2 * CH_WORK_HOUR + over_us);
            ch_calendar_clear(&calendar);
        }
    /* nothing of it is left over: a job as short as what is too much stays as it is, and finds no day */
    static const ch_plan_day none[] = {{{2027, 1, 9}, 0}};
    for (ch_work us = 1; us <= 3; us++) {
        const ch_plan_item item = {.kind = CH_PLAN_JOB, .hours = {us, us, us}};
        const ch_plan plan = {
            .has_days = true, .days = none, .days_count = 1, .days_until = 1, .items = &item, .items_count = 1};
        ch_calendar calendar;
        assert_int_equal(ch_winter_calendar(&plan, chosen, &calendar, NULL), CH_OK);
        assert_false(calendar.fits);
        assert_int_equal(calendar.late_us, us);
        ch_calendar_clear(&calendar);
    }
}

/* What finds no day is listed with what is left of it, each behind what it waits for; what was begun is listed with the rest alone. */
static void what_finds_no_day_is_listed_in_the_order_of_doing_it(void **state)
{
    (void)state;
    ch_plan plan;
    ch_calendar calendar;
    static const struct {
        size_t day, item;
        ch_entry_kind kind;
        double hours;
    } want[] = {{0, 1, CH_ENTRY_OPEN, 1.0},         {0, 0, CH_ENTRY_OPEN, 1.5},        {1, 0, CH_ENTRY_OPEN, 0.5},
                {1, 3, CH_ENTRY_JOB, 1.0},          {SIZE_MAX, 3, CH_ENTRY_JOB, 2.0},  {SIZE_MAX, 2, CH_ENTRY_JOB, 4.0},
                {SIZE_MAX, 0, CH_ENTRY_CLOSE, 5.0}, {SIZE_MAX, 1, CH_ENTRY_CLOSE, 6.0}};
    read_plan("plan: 1\ndays: [{date: 2027-01-09, hours: 2.5}, {date: 2027-01-16, hours: 1.5}]\n"
              "access: {inner: {hours: 2, refit_hours: 5, needs: outer}, outer: {hours: 1, refit_hours: 6}}\n"
              "jobs: {second: {hours: 4, needs: outer, after: first}, first: {hours: 3, needs: inner}}\n",
              &plan);
    const bool chosen[] = {true, true, true, true};
    assert_int_equal(ch_winter_calendar(&plan, chosen, &calendar, NULL), CH_OK);
    assert_false(calendar.fits);
    assert_int_equal(calendar.late_us, 17 * CH_WORK_HOUR);
    assert_int_equal(calendar.nights_apart, 7);
    assert_int_equal(calendar.count, sizeof want / sizeof want[0]);
    for (size_t i = 0; i < calendar.count; i++) {
        assert_int_equal(calendar.entries[i].day, want[i].day);
        assert_int_equal(calendar.entries[i].item, want[i].item);
        assert_int_equal(calendar.entries[i].kind, want[i].kind);
        expect_close((double)calendar.entries[i].work_us / (double)CH_WORK_HOUR, want[i].hours, 1e-12);
    }
    ch_calendar_clear(&calendar);
    assert_null(calendar.entries);
    ch_plan_clear(&plan);
}

/* ------------------------------------------------------------------ chance */

/*
 * One job of 1, 2, 6 hours on a day of three: PERT's beta has the shapes 1 + 4 (2 - 1)/5 and 1 + 4 (6 - 2)/5 (Malcolm and others 1959, in the form
 * with weight 4), its distribution function is GSL's. The tolerance is four standard errors of 10,000 draws.
 */
static void the_chance_of_one_job_is_that_of_its_distribution(void **state)
{
    (void)state;
    for (int hours = 1; hours <= 6; hours++) {
        char text[256];
        ch_plan plan;
        ch_winter winter;
        snprintf(text, sizeof text,
                 "plan: 1\ndays: [{date: 2027-01-03, hours: %d}, {date: 2027-01-04, hours: 1}]\njobs: {a: {hours: [1, "
                 "2, 6], "
                 "avoided: 9}}\n",
                 hours);
        answer(text, &plan, &winter);
        const double want = gsl_cdf_beta_P((double)hours / 5.0, 1.8, 4.2); /* the day and the hour of the next */
        expect_close(winter.chance_1, want, 4.0 * sqrt(want * (1.0 - want) / CH_WINTER_DRAWS) + 1e-12);
        done_with(&plan, &winter);
    }
}

/*
 * One-number hours, some of the work left out: ready in time or not, by adding up. Work goes on from where the last ended, or from the hours of the first day on which
 * its parts are there; all must end within the hours that there are.
 */
static bool in_time_without(const ch_plan *plan, const ch_calendar *calendar, const bool skip[])
{
    ch_work total_us = 0, at_us = 0;
    bool seen[400] = {false};
    const long start = ch_date_days(ch_plan_start(plan));
    for (size_t d = 0; d < plan->days_until; d++)
        total_us += plan->days[d].work_us;
    for (size_t i = 0; i < calendar->count; i++) {
        const ch_calendar_entry *entry = &calendar->entries[i];
        const ch_plan_item *item = &plan->items[entry->item];
        const bool close = entry->kind == CH_ENTRY_CLOSE;
        if (skip[entry->item] || seen[2 * entry->item + close])
            continue;
        seen[2 * entry->item + close] = true;
        if (entry->kind != CH_ENTRY_OPEN && item->lead_days > 0) {
            ch_work before_us = 0;
            size_t d = 0;
            while (d < plan->days_until && ch_date_days(plan->days[d].date) < start + item->lead_days)
                before_us += plan->days[d++].work_us;
            if (d == plan->days_until)
                return false; /* no day on which they are there */
            at_us = at_us > before_us ? at_us : before_us;
        }
        at_us += close ? item->refit.likely_us : item->hours.likely_us;
    }
    return at_us <= total_us;
}

static void what_is_left_after_giving_up_is_in_time_or_not(void **state)
{
    (void)state;
    int in_time = 0, late = 0;
    for (int n = 0; n < 250; n++) {
        ch_stream stream;
        ch_text text;
        ch_plan plan;
        ch_calendar calendar;
        bool chosen[200], skip[200];
        ch_stream_init(&stream, 12, (uint64_t)n);
        ch_text_init(&text, 64 * 1024);
        random_plan(&stream, false, &text);
        read_plan(ch_text_string(&text), &plan);
        for (size_t i = 0; i < plan.items_count; i++) {
            chosen[i] = true;
            skip[i] = ch_stream_uniform(&stream) < 0.4;
        }
        assert_int_equal(ch_winter_calendar(&plan, chosen, &calendar, NULL), CH_OK);
        double chance_1 = NAN;
        assert_int_equal(ch_winter_chance(&plan, &calendar, skip, 1, &chance_1, NULL), CH_OK);
        const bool wanted = calendar.fits || in_time_without(&plan, &calendar, skip);
        expect_close(chance_1, wanted ? 1.0 : 0.0, 0.0);
        in_time += !calendar.fits && wanted;
        late += !wanted;
        ch_calendar_clear(&calendar);
        ch_plan_clear(&plan);
        ch_text_clear(&text);
    }
    assert_true(in_time > 15 && late > 25);
}

/* Twenty-five like it: mean 2.5 each; variance 25 ab/((a+b)^2 (a+b+1)) each: by the central limit theorem a chance of one half near 62.5 h, where the skewness moves it by 0.01. */
static void many_guesses_add_up(void **state)
{
    (void)state;
    ch_text text;
    ch_plan plan;
    ch_winter winter;
    ch_text_init(&text, 8192);
    ch_text_appendf(&text, "plan: 1\ndays:\n");
    for (int d = 1; d <= 25; d++)
        ch_text_appendf(&text, "  - {date: 2027-01-%02d, hours: 2.5}\n", d);
    ch_text_appendf(&text, "jobs:\n");
    for (int i = 0; i < 25; i++)
        ch_text_appendf(&text, "  j%d: {hours: [1, 2, 6], avoided: 9}\n", i);
    answer(ch_text_string(&text), &plan, &winter);
    assert_int_equal(winter.choice.work_us, 50 * CH_WORK_HOUR);
    expect_close(winter.chance_1, 0.51, 0.03);
    double again = 0.0, other = 0.0;
    assert_int_equal(ch_winter_chance(&plan, &winter.calendar, NULL, 1, &again, NULL), CH_OK);
    assert_int_equal(ch_winter_chance(&plan, &winter.calendar, NULL, 2, &other, NULL), CH_OK);
    expect_close(again, winter.chance_1, 0.0); /* same seed */
    assert_true(other != winter.chance_1);
    for (size_t i = 0; i < winter.drops_count; i++)
        assert_true(winter.drops[i].chance_1 >= (i == 0 ? winter.chance_1 : winter.drops[i - 1].chance_1));
    done_with(&plan, &winter);
    ch_text_clear(&text);
}

static void a_plan_without_days_has_no_chance_and_no_calendar(void **state)
{
    (void)state;
    ch_plan plan;
    ch_winter winter;
    answer("plan: 1\njobs: {a: {hours: [1, 2, 6], avoided: 9}}\n", &plan, &winter);
    assert_true(isnan(winter.chance_1));
    assert_true(winter.chosen[0]);
    done_with(&plan, &winter);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(any_plan_is_laid_by_the_rules_and_fits_when_it_can),
        cmocka_unit_test(first_steps_shops_and_closed_steps_keep_their_place_in_any_plan),
        cmocka_unit_test(a_head_is_away_from_when_it_is_off_and_the_engine_runs_first_and_last),
        cmocka_unit_test(a_first_step_of_one_block_encloses_those_of_another),
        cmocka_unit_test(work_that_fits_a_weekend_waits_for_one),
        cmocka_unit_test(a_car_that_is_already_apart_counts_from_today),
        cmocka_unit_test(parts_that_come_too_late_are_said_to),
        cmocka_unit_test(what_is_done_is_not_laid_again_and_a_day_is_not_needed),
        cmocka_unit_test(the_rounding_of_hours_comes_off_the_longest_task),
        cmocka_unit_test(what_finds_no_day_is_listed_in_the_order_of_doing_it),
        cmocka_unit_test(the_chance_of_one_job_is_that_of_its_distribution),
        cmocka_unit_test(what_is_left_after_giving_up_is_in_time_or_not),
        cmocka_unit_test(many_guesses_add_up),
        cmocka_unit_test(a_plan_without_days_has_no_chance_and_no_calendar),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
