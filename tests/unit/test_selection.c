/*
 * Promises of winter/selection.c: the best choice is found, whatever the limits and links, and the same one every time.
 *
 * Outside checks: every subset tried, on thousands of small programs; GLPK's own branch and cut (an independent solver) on programs of the size of
 * real plans; published knapsacks with their optimum.
 */
#include "crosshatch/selection.h"

#include <stdlib.h>
#include <string.h>

#include "expect.h"
#include "random_program.h"
#include "with_glpk.h"

/* What a set of items comes to; false where it breaks a rule. */
typedef struct sums {
    int64_t gain, money, work;
    size_t items;
} sums;

static bool add_up(const ch_selection *task, const bool in[], sums *sum)
{
    *sum = (sums){0};
    for (size_t i = 0; i < task->count; i++) {
        if (task->fixed != NULL && task->fixed[i] >= 0 && in[i] != (task->fixed[i] == 1))
            return false;
        if (!in[i])
            continue;
        sum->gain += task->gain[i];
        sum->money += task->money[i];
        sum->work += task->work[i];
        sum->items++;
    }
    for (size_t k = 0; k < task->implies_count; k++)
        if (in[task->implies[k].item] && !in[task->implies[k].other])
            return false;
    for (size_t k = 0; k < task->excludes_count; k++)
        if (in[task->excludes[k].item] && in[task->excludes[k].other])
            return false;
    return sum->money <= task->money_limit && sum->work <= task->work_limit;
}

/* The header's order of choices, spelled out once more. */
static bool comes_before(const sums *a, const bool in_a[], const sums *b, const bool in_b[], size_t count)
{
    if (a->gain != b->gain)
        return a->gain > b->gain;
    if (a->work != b->work)
        return a->work < b->work;
    if (a->money != b->money)
        return a->money < b->money;
    if (a->items != b->items)
        return a->items < b->items;
    for (size_t i = 0; i < count; i++)
        if (in_a[i] != in_b[i])
            return in_a[i];
    return false;
}

/* Every subset. */
static bool try_all(const ch_selection *task, bool best[], sums *best_sum)
{
    bool found = false;
    for (unsigned long set = 0; set < 1UL << task->count; set++) {
        bool in[ITEMS_MAX];
        sums sum;
        for (size_t i = 0; i < task->count; i++)
            in[i] = (set >> i & 1) != 0;
        if (!add_up(task, in, &sum) || (found && !comes_before(&sum, in, best_sum, best, task->count)))
            continue;
        memcpy(best, in, task->count * sizeof *in);
        *best_sum = sum;
        found = true;
    }
    return found;
}

static void compare_with_all_subsets(size_t jobs, size_t steps, program_kind kind, bool musts, int repeats)
{
    program *p = malloc(sizeof *p);
    assert_non_null(p);
    for (int n = 0; n < repeats; n++) {
        ch_stream stream;
        bool want[ITEMS_MAX], got[ITEMS_MAX];
        sums sum = {0};
        ch_selected selected;
        ch_stream_init(&stream, 7, (uint64_t)n);
        make_program(p, &stream, jobs, steps, kind, musts);
        const bool possible = try_all(&p->task, want, &sum);
        assert_int_equal(ch_select(&p->task, got, &selected, NULL), CH_OK);
        assert_int_equal(selected.possible, possible);
        if (!possible)
            continue;
        assert_true(selected.proven);
        assert_int_equal(selected.gain, sum.gain);
        assert_int_equal(selected.gain_at_most, sum.gain);
        assert_int_equal(selected.work, sum.work);
        assert_int_equal(selected.money, sum.money);
        assert_memory_equal(got, want, p->task.count * sizeof *got); /* ties too */
    }
    free(p);
}

static void choices_equal_the_best_of_all_subsets(void **state)
{
    (void)state;
    compare_with_all_subsets(7, 4, PROGRAM_MIXED, false, 1000);
    compare_with_all_subsets(10, 3, PROGRAM_MIXED, true, 300);
    compare_with_all_subsets(11, 0, PROGRAM_MIXED, false, 300);
    compare_with_all_subsets(7, 4, PROGRAM_ALIKE, false, 500);
}

static void ties_are_broken_as_promised(void **state)
{
    (void)state;
    compare_with_all_subsets(7, 3, PROGRAM_ROUND, false, 1000);
    compare_with_all_subsets(8, 3, PROGRAM_ROUND, true, 500);
}

/* ------------------------------------------------------------------ an outside solver */

static void compare_with_glpk(size_t jobs, size_t steps, program_kind kind, int first, int repeats)
{
    program *p = malloc(sizeof *p);
    assert_non_null(p);
    for (int n = first; n < first + repeats; n++) {
        ch_stream stream;
        bool got[ITEMS_MAX];
        ch_selected selected;
        sums sum = {0};
        ch_stream_init(&stream, 1000 + jobs + (uint64_t)kind, (uint64_t)n);
        make_program(p, &stream, jobs, steps, kind, false);
        assert_int_equal(ch_select(&p->task, got, &selected, NULL), CH_OK);
        assert_true(selected.possible && selected.proven);
        assert_true(add_up(&p->task, got, &sum));
        assert_int_equal(sum.gain, selected.gain);
        /* GLPK works in doubles and accepts a row that is over by 1e-7; gains are whole numbers */
        expect_close((double)selected.gain, glpk_optimum(&p->task, 60), 1e-3);
    }
    glp_free_env();
    free(p);
}

static void plans_of_any_size_gain_what_glpk_gains(void **state)
{
    (void)state;
    compare_with_glpk(30, 20, PROGRAM_MIXED, 0, 20);
    compare_with_glpk(60, 40, PROGRAM_ROUND, 0, 8);
    compare_with_glpk(60, 40, PROGRAM_ALIKE, 0, 8);
    compare_with_glpk(60, 40, PROGRAM_TIGHT, 0, 1);
    compare_with_glpk(120, 60, PROGRAM_MIXED, 0, 4);
    compare_with_glpk(120, 60, PROGRAM_ALIKE, 0, 4);
    /* two at which a bound was once kept for the wrong node */
    compare_with_glpk(120, 60, PROGRAM_ALIKE, 170, 1);
    compare_with_glpk(120, 60, PROGRAM_ALIKE, 189, 1);
}

/* ------------------------------------------------------------------ published knapsacks */

/*
 * KNAPSACK_01, J. Burkardt's public data sets after Kreher and Stinson, Combinatorial Algorithms, 1999 (from memory; each optimum recomputed, see
 * tests/data/knapsack/SOURCE.md). A knapsack is a program with one limit and no links.
 */
static int solve_knapsacks(const char *name)
{
    const char *root = getenv("CROSSHATCH_SOURCE");
    char path[1024], line[1024];
    int solved = 0;
    snprintf(path, sizeof path, "%s/tests/data/knapsack/%s", root == NULL ? "." : root, name);
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    assert_non_null(fgets(line, sizeof line, file)); /* the header */
    while (fgets(line, sizeof line, file) != NULL) {
        int64_t weight[64] = {0}, profit[64] = {0};
        size_t n = 0;
        char *field[5], *at = line;
        for (int k = 0; k < 5; k++) {
            field[k] = at;
            at += strcspn(at, ",\n");
            *at++ = '\0';
        }
        for (char *w = field[2], *g = field[3]; *w != '\0' && n < 64; n++) {
            weight[n] = strtoll(w, &w, 10);
            profit[n] = strtoll(g, &g, 10);
        }
        const int64_t none[64] = {0}, capacity = strtoll(field[1], NULL, 10);
        for (int of_work = 0; of_work < 2; of_work++) { /* the limit as one of money, then as one of hours */
            bool chosen[64];
            ch_selected selected;
            const ch_selection task = {.count = n,
                                       .gain = profit,
                                       .money = of_work ? none : weight,
                                       .work = of_work ? weight : none,
                                       .money_limit = of_work ? INT64_MAX : capacity,
                                       .work_limit = of_work ? capacity : INT64_MAX};
            assert_int_equal(ch_select(&task, chosen, &selected, NULL), CH_OK);
            assert_true(selected.proven);
            assert_int_equal(selected.gain, strtoll(field[4], NULL, 10));
        }
        solved++;
    }
    fclose(file);
    return solved;
}

static void published_knapsacks_are_solved(void **state)
{
    (void)state;
    assert_int_equal(solve_knapsacks("knapsack01_a.csv"), 5);
    assert_int_equal(solve_knapsacks("knapsack01_b.csv"), 3);
}

/* ------------------------------------------------------------------ edges */

static void an_impossible_program_is_said_to_be_so(void **state)
{
    (void)state;
    const int64_t gain[] = {5, -1, 3}, money[] = {10, 20, 1}, work[] = {1, 1, 1};
    const ch_selection_pair needs[] = {{0, 1}}, excludes[] = {{1, 2}};
    const signed char musts[] = {1, -1, -1}, both[] = {1, -1, 1};
    ch_selection task = {.count = 3,
                         .gain = gain,
                         .money = money,
                         .work = work,
                         .money_limit = 29,
                         .work_limit = 100,
                         .implies = needs,
                         .implies_count = 1,
                         .excludes = excludes,
                         .excludes_count = 1,
                         .fixed = musts};
    bool chosen[3] = {true, true, true};
    ch_selected selected;
    assert_int_equal(ch_select(&task, chosen, &selected, NULL), CH_OK);
    assert_false(selected.possible); /* 30 of 29 */
    assert_true(chosen[0] && chosen[1] && chosen[2]);
    task.money_limit = 30;
    assert_int_equal(ch_select(&task, chosen, &selected, NULL), CH_OK);
    assert_true(selected.possible && chosen[0] && chosen[1] && !chosen[2]);
    assert_int_equal(selected.gain, 4);
    task.fixed = both;
    task.money_limit = INT64_MAX;
    assert_int_equal(ch_select(&task, chosen, &selected, NULL), CH_OK);
    assert_false(selected.possible); /* 0 needs 1, which 2 excludes */
}

static void items_that_need_each_other_come_together(void **state)
{
    (void)state;
    const int64_t gain[] = {9, -4, -4}, nothing[] = {0, 0, 0}, work[] = {1, 1, 1};
    const ch_selection_pair circle[] = {{0, 1}, {1, 2}, {2, 0}};
    ch_selection task = {.count = 3,
                         .gain = gain,
                         .money = nothing,
                         .work = work,
                         .money_limit = 0,
                         .work_limit = 3,
                         .implies = circle,
                         .implies_count = 3};
    bool chosen[3];
    ch_selected selected;
    assert_int_equal(ch_select(&task, chosen, &selected, NULL), CH_OK);
    assert_true(chosen[0] && chosen[1] && chosen[2]);
    assert_int_equal(selected.gain, 1);
    task.work_limit = 2;
    assert_int_equal(ch_select(&task, chosen, &selected, NULL), CH_OK);
    assert_true(!chosen[0] && !chosen[1] && !chosen[2]);
}

static void nothing_to_choose_from_is_a_choice(void **state)
{
    (void)state;
    const ch_selection task = {.money_limit = 5, .work_limit = 5};
    bool chosen[1];
    ch_selected selected;
    assert_int_equal(ch_select(&task, chosen, &selected, NULL), CH_OK);
    assert_true(selected.possible && selected.proven);
    assert_int_equal(selected.gain, 0);
}

static void a_search_cut_short_states_how_much_could_be_missing(void **state)
{
    (void)state;
    program *p = malloc(sizeof *p);
    assert_non_null(p);
    int cut = 0;
    for (int n = 0; n < 10; n++) {
        ch_stream stream;
        bool got[ITEMS_MAX];
        ch_selected whole, part;
        ch_stream_init(&stream, 61, (uint64_t)n);
        make_program(p, &stream, 60, 40, PROGRAM_TIGHT, false);
        assert_int_equal(ch_select(&p->task, got, &whole, NULL), CH_OK);
        p->task.nodes_max = 2;
        assert_int_equal(ch_select(&p->task, got, &part, NULL), CH_OK);
        assert_true(part.gain <= whole.gain && whole.gain <= part.gain_at_most);
        assert_int_equal(part.proven, part.gain == part.gain_at_most);
        cut += !part.proven;
    }
    assert_true(cut > 0);
    free(p);
}

static void bad_programs_are_refused(void **state)
{
    (void)state;
    const int64_t one[] = {1}, negative[] = {-1}, huge[] = {INT64_C(1) << 53};
    const ch_selection_pair beyond[] = {{0, 1}};
    bool chosen[1] = {true};
    ch_selected selected = {.gain = 77};
    const ch_selection good = {.count = 1, .gain = one, .money = one, .work = one, .money_limit = 1, .work_limit = 1};
    ch_selection task = good;
    task.money = negative;
    assert_int_equal(ch_select(&task, chosen, &selected, NULL), CH_E_RANGE);
    task = good;
    task.gain = huge;
    assert_int_equal(ch_select(&task, chosen, &selected, NULL), CH_E_RANGE);
    task = good;
    task.work_limit = -1;
    assert_int_equal(ch_select(&task, chosen, &selected, NULL), CH_E_RANGE);
    task = good;
    task.implies = beyond;
    task.implies_count = 1;
    assert_int_equal(ch_select(&task, chosen, &selected, NULL), CH_E_RANGE);
    task = good;
    task.excludes = beyond;
    task.excludes_count = 1;
    assert_int_equal(ch_select(&task, chosen, &selected, NULL), CH_E_RANGE);
    task = good;
    task.count = CH_SELECTION_ITEMS_MAX + 1;
    assert_int_equal(ch_select(&task, chosen, &selected, NULL), CH_E_LIMIT);
    assert_true(chosen[0]);
    assert_int_equal(selected.gain, 77);
}

/* ---- what a program may hold ---- */

static void expect_refused(const ch_selection *task, ch_status status, const char *what)
{
    static bool chosen[CH_SELECTION_ITEMS_MAX + 1];
    ch_selected selected = {.nodes = 77};
    ch_err err = {0};
    const ch_status rc = ch_select(task, chosen, &selected, &err);
    assert_int_equal(rc, status);
    if (rc < 0)
        assert_string_equal(err.what, what);
    assert_true(rc >= 0 || selected.nodes == 77);
}

static void programs_are_checked_to_their_limits(void **state)
{
    (void)state;
    static int64_t none[CH_SELECTION_ITEMS_MAX + 1], spoilt[CH_SELECTION_ITEMS_MAX + 1];
    const ch_selection two = {.count = 2, .gain = none, .money = none, .work = none};
    static const char *const too_large = "the amounts are too large, or a limit is less than nothing";
    ch_selection task = two;
    expect_refused(&task, CH_OK, ""); /* limits of nothing are limits */
    task.money_limit = -1;
    expect_refused(&task, CH_E_RANGE, too_large);
    task = two;
    task.work_limit = -1;
    expect_refused(&task, CH_E_RANGE, too_large);
    /* as many items as are allowed are looked at, to the last */
    spoilt[CH_SELECTION_ITEMS_MAX - 1] = -1;
    task = two;
    task.count = CH_SELECTION_ITEMS_MAX;
    task.money = spoilt;
    expect_refused(&task, CH_E_RANGE, "item 1999 takes less than nothing");
    task.money = none;
    task.work = spoilt;
    expect_refused(&task, CH_E_RANGE, "item 1999 takes less than nothing");
    task.count++;
    expect_refused(&task, CH_E_LIMIT, "2001 items to choose from");
    /* sizes of gains below 2^52 in all, amounts below 2^62 (the largest double below that is 512 less) */
    static const struct {
        int64_t first, second;
        bool good;
    } gains[] = {{INT64_C(1) << 51, (INT64_C(1) << 51) - 1, true},
                 {INT64_C(1) << 51, INT64_C(1) << 51, false},
                 {INT64_C(1) << 51, 1 - (INT64_C(1) << 51), true},
                 {INT64_C(1) << 51, -(INT64_C(1) << 51), false}},
      amounts[] = {{INT64_C(1) << 61, (INT64_C(1) << 61) - 1024, true}, {INT64_C(1) << 61, INT64_C(1) << 61, false}};
    for (size_t k = 0; k < 4; k++) {
        const int64_t gain[] = {gains[k].first, gains[k].second};
        task = two;
        task.gain = gain;
        expect_refused(&task, gains[k].good ? CH_OK : CH_E_RANGE, too_large);
    }
    for (size_t k = 0; k < 4; k++) {
        const int64_t amount[] = {amounts[k % 2].first, amounts[k % 2].second};
        task = two;
        task.money = k < 2 ? amount : none;
        task.work = k < 2 ? none : amount;
        task.money_limit = task.work_limit = INT64_MAX;
        expect_refused(&task, amounts[k % 2].good ? CH_OK : CH_E_RANGE, too_large);
    }
    for (int end = 0; end < 2; end++) {
        const ch_selection_pair pairs[] = {{0, 1}, {end == 0 ? 2 : 1, end == 0 ? 1 : 2}};
        task = two;
        task.implies = pairs;
        task.implies_count = 1;
        expect_refused(&task, CH_OK, "");
        task.implies_count = 2;
        expect_refused(&task, CH_E_RANGE, "implication 1 is between items that there are not");
        task.implies_count = 0;
        task.excludes = pairs;
        task.excludes_count = 2;
        expect_refused(&task, CH_E_RANGE, "exclusion 1 is between items that there are not");
    }
}

/* An item that excludes itself is never chosen, nor is what needs it; where it must be, nothing is possible. What is fixed may come in any order. */
static void what_shuts_itself_out_is_never_chosen(void **state)
{
    (void)state;
    const int64_t gain[] = {5, 3, 1}, one[] = {1, 1, 1};
    const ch_selection_pair itself[] = {{1, 1}}, needs[] = {{0, 1}};
    const signed char must[] = {1, -1, -1}, out_first[] = {-1, 0, 1}, in_and_out[] = {1, 0, -1};
    ch_selection task = {.count = 3,
                         .gain = gain,
                         .money = one,
                         .work = one,
                         .money_limit = 3,
                         .work_limit = 3,
                         .implies = needs,
                         .implies_count = 1,
                         .excludes = itself,
                         .excludes_count = 1};
    bool chosen[3];
    ch_selected selected;
    assert_int_equal(ch_select(&task, chosen, &selected, NULL), CH_OK);
    assert_true(selected.possible && selected.proven && !chosen[0] && !chosen[1] && chosen[2]);
    assert_true(selected.gain == 1 && selected.gain_at_most == 1 && selected.money == 1 && selected.work == 1);
    task.fixed = must;
    assert_int_equal(ch_select(&task, chosen, &selected, NULL), CH_OK);
    assert_true(!selected.possible && !selected.proven && selected.gain == 0 && selected.nodes == 0);
    task.excludes_count = 0;
    task.fixed = out_first;
    assert_int_equal(ch_select(&task, chosen, &selected, NULL), CH_OK);
    assert_true(selected.possible && !chosen[0] && !chosen[1] && chosen[2]);
    task.fixed = in_and_out;
    assert_int_equal(ch_select(&task, chosen, &selected, NULL), CH_OK);
    assert_false(selected.possible);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(choices_equal_the_best_of_all_subsets),
        cmocka_unit_test(ties_are_broken_as_promised),
        cmocka_unit_test(plans_of_any_size_gain_what_glpk_gains),
        cmocka_unit_test(published_knapsacks_are_solved),
        cmocka_unit_test(an_impossible_program_is_said_to_be_so),
        cmocka_unit_test(items_that_need_each_other_come_together),
        cmocka_unit_test(nothing_to_choose_from_is_a_choice),
        cmocka_unit_test(a_search_cut_short_states_how_much_could_be_missing),
        cmocka_unit_test(bad_programs_are_refused),
        cmocka_unit_test(programs_are_checked_to_their_limits),
        cmocka_unit_test(what_shuts_itself_out_is_never_chosen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
