/*
 * Promises of winter/calendar.c and tasks.c on small plans, against every order in which their blocks of work can be placed: the car stands apart for as few
 * nights as any of them leaves it, and of these is ready first; nights, last day and what finds no day are those of the entries.
 */
#include <stdlib.h>
#include <string.h>

#include "crosshatch/sampling.h"
#include "crosshatch/text.h"
#include "crosshatch/winter.h"
#include "expect.h"

enum { BLOCKS_MAX = 3, DAYS_MAX = 8, JOBS_MAX = 2 };

/* A block: access that is opened and closed, with jobs; or one job alone. Hours. */
typedef struct block {
    int open, close, jobs, job[JOBS_MAX];
} block;

typedef struct problem {
    int blocks, days;
    block block[BLOCKS_MAX];
    long date[DAYS_MAX]; /* days since the first */
    int hours[DAYS_MAX];
} problem;

static int draw(ch_stream *stream, int from, int to)
{
    return from + (int)((to - from + 1) * ch_stream_uniform(stream));
}

static void draw_problem(ch_stream *stream, problem *p)
{
    long at = 0;
    p->blocks = draw(stream, 1, BLOCKS_MAX);
    p->days = draw(stream, 3, DAYS_MAX);
    for (int b = 0; b < p->blocks; b++) {
        block *one = &p->block[b];
        const bool access = ch_stream_uniform(stream) < 0.7;
        *one = (block){.open = access ? draw(stream, 1, 3) : 0, .close = access ? draw(stream, 1, 3) : 0};
        one->jobs = access ? draw(stream, 1, JOBS_MAX) : 1;
        for (int j = 0; j < one->jobs; j++)
            one->job[j] = draw(stream, 1, 4);
    }
    for (int d = 0; d < p->days; d++) {
        p->date[d] = at;
        p->hours[d] = draw(stream, 2, 7);
        at += draw(stream, 1, 9);
    }
}

static int work_of(const block *b)
{
    int sum = b->open + b->close;
    for (int j = 0; j < b->jobs; j++)
        sum += b->job[j];
    return sum;
}

static void write_plan(const problem *p, ch_text *text)
{
    const long first = ch_date_days((ch_date){2027, 1, 9});
    ch_text_appendf(text, "plan: 1\ndays:\n");
    for (int d = 0; d < p->days; d++) {
        char day[16];
        ch_date_format(ch_date_from_days(first + p->date[d]), day, sizeof day);
        ch_text_appendf(text, "  - {date: %s, hours: %d}\n", day, p->hours[d]);
    }
    bool any = false;
    for (int b = 0; b < p->blocks; b++)
        if (p->block[b].open > 0) {
            ch_text_appendf(text, "%s  a%d: {hours: %d, refit_hours: %d}\n", any ? "" : "access:\n", b,
                            p->block[b].open, p->block[b].close);
            any = true;
        }
    ch_text_appendf(text, "jobs:\n");
    for (int b = 0; b < p->blocks; b++)
        for (int j = 0; j < p->block[b].jobs; j++) {
            ch_text_appendf(text, "  j%d%d: {hours: %d, must: true, avoided: 1", b, j, p->block[b].job[j]);
            if (p->block[b].open > 0)
                ch_text_appendf(text, ", needs: [a%d]", b);
            ch_text_appendf(text, "}\n");
        }
}

/* A way to lay everything: the first and last day of each block; false where it does not fit. */
typedef struct way {
    int first[BLOCKS_MAX], last[BLOCKS_MAX], finish;
    long nights;
    bool fits;
} way;

/* Nights on which any block stands apart, each once. */
static void count_way(const problem *p, way *w)
{
    w->nights = 0;
    w->finish = 0;
    for (long night = 0; night < p->date[p->days - 1]; night++) {
        bool apart = false;
        for (int b = 0; b < p->blocks; b++)
            apart = apart || (p->date[w->first[b]] <= night && night < p->date[w->last[b]]);
        w->nights += apart;
    }
    for (int b = 0; b < p->blocks; b++)
        w->finish = w->last[b] > w->finish ? w->last[b] : w->finish;
}

/* Hours into what the days have free from a day on. */
static bool lay(const problem *p, int left, int from, int free_h[], int *first, int *last)
{
    *first = -1;
    for (int d = from; d < p->days && left > 0; d++) {
        const int now = left < free_h[d] ? left : free_h[d];
        if (now == 0)
            continue;
        *first = *first < 0 ? d : *first;
        *last = d;
        free_h[d] -= now;
        left -= now;
    }
    return left == 0;
}

/* Blocks one after the other, each where it stands apart for the fewest nights, of these the earliest to end. */
static way in_order(const problem *p, const int order[])
{
    int free_h[DAYS_MAX];
    way w = {.fits = true};
    memcpy(free_h, p->hours, sizeof free_h);
    for (int k = 0; k < p->blocks && w.fits; k++) {
        const int b = order[k], work = work_of(&p->block[b]);
        int best = -1, best_last = 0;
        long least = 0;
        for (int from = 0; from < p->days; from++) {
            int trial[DAYS_MAX], first = 0, last = 0;
            memcpy(trial, free_h, sizeof trial);
            if (!lay(p, work, from, trial, &first, &last))
                break;
            const long nights = p->date[last] - p->date[first];
            if (best < 0 || nights < least || (nights == least && last < best_last)) {
                best = from;
                least = nights;
                best_last = last;
            }
        }
        w.fits = best >= 0 && lay(p, work, best, free_h, &w.first[b], &w.last[b]);
    }
    if (w.fits)
        count_way(p, &w);
    return w;
}

/* All at once: opened before the first job that needs it, closed in the end, the last opened first. */
static way at_once(const problem *p)
{
    int free_h[DAYS_MAX], at = 0;
    way w = {.fits = true};
    memcpy(free_h, p->hours, sizeof free_h);
    for (int b = 0; b < p->blocks; b++)
        w.first[b] = -1;
    for (int part = 0; part < 2; part++)
        for (int k = 0; k < p->blocks; k++) {
            const int b = part == 0 ? k : p->blocks - 1 - k;
            int first = 0, last = 0, work = part == 0 ? work_of(&p->block[b]) - p->block[b].close : p->block[b].close;
            if (work == 0)
                continue;
            w.fits = w.fits && lay(p, work, at, free_h, &first, &last);
            w.first[b] = w.first[b] < 0 ? first : w.first[b];
            w.last[b] = last;
            at = last;
        }
    if (w.fits)
        count_way(p, &w);
    return w;
}

static bool better(const way *a, const way *b)
{
    if (a->fits != b->fits)
        return a->fits;
    return a->nights != b->nights ? a->nights < b->nights : a->finish < b->finish;
}

static way best_way(const problem *p)
{
    static const int orders[6][BLOCKS_MAX] = {{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}};
    way best = at_once(p);
    for (int k = 0; k < 6 && best.fits; k++) {
        bool all = true;
        for (int i = 0; i < p->blocks; i++)
            all = all && orders[k][i] < p->blocks;
        const way w = all ? in_order(p, orders[k]) : (way){.fits = false};
        if (w.fits && better(&w, &best))
            best = w;
    }
    return best;
}

static int block_of(const ch_plan *plan, size_t item)
{
    return plan->items[item].name[1] - '0';
}

static void small_plans_are_laid_as_well_as_any_order_of_their_blocks(void **state)
{
    (void)state;
    size_t fitted = 0, apart = 0, late = 0;
    for (uint64_t number = 0; number < 250; number++) {
        ch_stream stream;
        problem p;
        ch_text text;
        ch_plan plan;
        ch_calendar calendar;
        ch_err err = {0};
        ch_stream_init(&stream, 17, number);
        draw_problem(&stream, &p);
        ch_text_init(&text, 4000);
        write_plan(&p, &text);
        if (ch_plan_parse("plan", ch_text_string(&text), text.length, (ch_date){0}, &plan, &err) != CH_OK)
            fail_msg("%s: %s", err.what, ch_text_string(&text));
        bool chosen[BLOCKS_MAX * (JOBS_MAX + 1)];
        for (size_t i = 0; i < plan.items_count; i++)
            chosen[i] = true;
        assert_int_equal(ch_winter_calendar(&plan, chosen, &calendar, NULL), CH_OK);
        const way best = best_way(&p);
        int all = 0, days = 0;
        for (int b = 0; b < p.blocks; b++)
            all += work_of(&p.block[b]);
        for (int d = 0; d < p.days; d++)
            days += p.hours[d];
        assert_int_equal(calendar.fits, best.fits);
        assert_int_equal(calendar.fits, all <= days);
        assert_int_equal(calendar.late_us, all > days ? (all - days) * CH_WORK_HOUR : 0);
        if (best.fits) {
            if (calendar.nights_apart != best.nights)
                fail_msg("plan %u: %ld nights, not %ld\n%s", (unsigned)number, calendar.nights_apart, best.nights,
                         ch_text_string(&text));
            assert_int_equal(ch_date_days(calendar.finish) - ch_date_days(plan.days[0].date), p.date[best.finish]);
            way laid = {.fits = true}; /* and the entries bear it out */
            for (int b = 0; b < p.blocks; b++)
                laid.first[b] = -1;
            for (size_t i = 0; i < calendar.count; i++) {
                const int b = block_of(&plan, calendar.entries[i].item);
                laid.first[b] = laid.first[b] < 0 ? (int)calendar.entries[i].day : laid.first[b];
                laid.last[b] = (int)calendar.entries[i].day;
            }
            count_way(&p, &laid);
            assert_int_equal(laid.nights, best.nights);
            assert_int_equal(laid.finish, best.finish);
            fitted++;
            apart += best.nights > 0;
        } else {
            assert_false(ch_date_given(calendar.finish));
            late++;
        }
        ch_calendar_clear(&calendar);
        ch_plan_clear(&plan);
        ch_text_clear(&text);
    }
    assert_true(fitted > 50 && apart > 25 && late > 25);
}

/* Steps of access that have nothing to do with each other, opened for one job: closed in turn, the last opened first. */
static void what_was_opened_last_is_closed_first(void **state)
{
    (void)state;
    static const char text[] = "plan: 1\ndays: [{date: 2027-01-09, hours: 4}, {date: 2027-01-10, hours: 9}]\n"
                               "access:\n  a0: {hours: 1, refit_hours: 1}\n  a1: {hours: 1, refit_hours: 1}\n"
                               "  a2: {hours: 1, refit_hours: 1}\njobs:\n"
                               "  j0: {hours: 2, must: true, avoided: 1, needs: [a1, a2, a0]}\n";
    ch_plan plan;
    ch_calendar calendar;
    const bool chosen[] = {true, true, true, true};
    assert_int_equal(ch_plan_parse("plan", text, strlen(text), (ch_date){0}, &plan, NULL), CH_OK);
    assert_int_equal(ch_winter_calendar(&plan, chosen, &calendar, NULL), CH_OK);
    assert_true(calendar.fits);
    size_t opened[3], n = 0;
    for (size_t i = 0; i < calendar.count; i++) {
        const ch_calendar_entry *entry = &calendar.entries[i];
        if (entry->kind == CH_ENTRY_OPEN)
            opened[n++] = entry->item;
        else if (entry->kind == CH_ENTRY_CLOSE)
            assert_int_equal(entry->item, opened[--n]);
        else
            assert_int_equal(n, 3);
    }
    assert_int_equal(n, 0);
    ch_calendar_clear(&calendar);
    ch_plan_clear(&plan);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(small_plans_are_laid_as_well_as_any_order_of_their_blocks),
        cmocka_unit_test(what_was_opened_last_is_closed_first),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
