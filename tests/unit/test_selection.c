/*
 * Promises of winter/selection.c: the best choice is found, whatever the limits and links, and the same one every time.
 *
 * Outside checks: every subset tried, on thousands of small programs; GLPK's own branch and cut (an independent solver) on programs of the size of
 * real plans; published knapsacks with their optimum.
 */
#include "crosshatch/selection.h"

#include <glpk.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/sampling.h"
#include "expect.h"

enum { ITEMS_MAX = 300, PAIRS_MAX = 1200 };

typedef struct program {
    int64_t gain[ITEMS_MAX], money[ITEMS_MAX], work[ITEMS_MAX];
    ch_selection_pair implies[PAIRS_MAX], excludes[PAIRS_MAX];
    signed char fixed[ITEMS_MAX];
    ch_selection task;
} program;

static int64_t between(ch_stream *stream, int64_t low, int64_t high)
{
    return low + (int64_t)(ch_stream_uniform(stream) * (double)(high - low + 1));
}

static bool happens(ch_stream *stream, double chance_1)
{
    return ch_stream_uniform(stream) < chance_1;
}

/* The shape of a winter plan: jobs, and steps of access that need each other and are shared by the jobs. `round`: few different amounts, many ties. */
static void make_program(program *p, ch_stream *stream, size_t jobs, size_t steps, bool round, bool musts)
{
    size_t implies = 0, excludes = 0;
    int64_t money = 0, work = 0;
    memset(p, 0, sizeof *p);
    memset(p->fixed, -1, sizeof p->fixed);
    const int64_t grain = round ? 50 : 1;
    for (size_t i = 0; i < jobs + steps; i++) {
        const bool job = i < jobs;
        p->money[i] = between(stream, 0, (job ? 400 : 60) / grain) * grain;
        p->work[i] = between(stream, 0, (job ? 250 : 400) / grain) * grain;
        p->gain[i] = (job ? between(stream, 0, 900 / grain) * grain : 0) - p->money[i] - p->work[i];
        money += p->money[i];
        work += p->work[i];
        for (int64_t k = between(stream, 0, job ? 3 : 1); k > 0 && steps > 0; k--) {
            const size_t step = jobs + (size_t)between(stream, 0, (int64_t)steps - 1);
            if (job || step < i)
                p->implies[implies++] = (ch_selection_pair){i, step};
        }
        if (job && i > 0 && happens(stream, 0.1))
            p->implies[implies++] = (ch_selection_pair){i, (size_t)between(stream, 0, (int64_t)jobs - 1)};
        if (job && i > 0 && happens(stream, 0.1))
            p->excludes[excludes++] = (ch_selection_pair){i, (size_t)between(stream, 0, (int64_t)i - 1)};
        if (musts && job && happens(stream, 0.1))
            p->fixed[i] = happens(stream, 0.8);
    }
    p->task = (ch_selection){.count = jobs + steps,
                             .gain = p->gain,
                             .money = p->money,
                             .work = p->work,
                             .money_limit = (int64_t)((double)money * (0.05 + 0.8 * ch_stream_uniform(stream))),
                             .work_limit = (int64_t)((double)work * (0.05 + 0.8 * ch_stream_uniform(stream))),
                             .implies = p->implies,
                             .implies_count = implies,
                             .excludes = p->excludes,
                             .excludes_count = excludes,
                             .fixed = p->fixed};
    if (happens(stream, 0.1))
        p->task.money_limit = INT64_MAX;
    if (happens(stream, 0.1))
        p->task.work_limit = INT64_MAX;
}

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

static void compare_with_all_subsets(size_t jobs, size_t steps, bool round, bool musts, int repeats)
{
    program *p = malloc(sizeof *p);
    assert_non_null(p);
    for (int n = 0; n < repeats; n++) {
        ch_stream stream;
        bool want[ITEMS_MAX], got[ITEMS_MAX];
        sums sum;
        ch_selected selected;
        ch_stream_init(&stream, 7, (uint64_t)n);
        make_program(p, &stream, jobs, steps, round, musts);
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
    compare_with_all_subsets(7, 4, false, false, 2000);
    compare_with_all_subsets(10, 3, false, true, 300);
    compare_with_all_subsets(11, 0, false, false, 300);
}

static void ties_are_broken_as_promised(void **state)
{
    (void)state;
    compare_with_all_subsets(7, 3, true, false, 2000);
    compare_with_all_subsets(8, 3, true, true, 1000);
}

/* ------------------------------------------------------------------ an outside solver */

static void glpk_row(glp_prob *model, int row, int a, double x, int b, double y, double most)
{
    const int place[3] = {0, a + 1, b + 1};
    const double value[3] = {0.0, x, y};
    glp_set_mat_row(model, row, 2, place, value);
    glp_set_row_bnds(model, row, GLP_UP, 0.0, most);
}

static double glpk_optimum(const ch_selection *task)
{
    glp_prob *model = glp_create_prob();
    const int n = (int)task->count;
    int place[ITEMS_MAX + 1], row = 0;
    double value[ITEMS_MAX + 1];
    glp_set_obj_dir(model, GLP_MAX);
    glp_add_cols(model, n);
    glp_add_rows(model, (int)(2 + task->implies_count + task->excludes_count));
    for (int i = 0; i < n; i++) {
        glp_set_col_kind(model, i + 1, GLP_BV);
        glp_set_obj_coef(model, i + 1, (double)task->gain[i]);
        place[i + 1] = i + 1;
    }
    const int64_t *const amount[] = {task->money, task->work};
    const int64_t limit[] = {task->money_limit, task->work_limit};
    for (int k = 0; k < 2; k++) {
        for (int i = 0; i < n; i++)
            value[i + 1] = (double)amount[k][i];
        glp_set_mat_row(model, ++row, n, place, value);
        if (limit[k] == INT64_MAX)
            glp_set_row_bnds(model, row, GLP_FR, 0.0, 0.0);
        else
            glp_set_row_bnds(model, row, GLP_UP, 0.0, (double)limit[k]);
    }
    for (size_t k = 0; k < task->implies_count; k++)
        if (task->implies[k].item != task->implies[k].other)
            glpk_row(model, ++row, (int)task->implies[k].item, 1.0, (int)task->implies[k].other, -1.0, 0.0);
    for (size_t k = 0; k < task->excludes_count; k++)
        glpk_row(model, ++row, (int)task->excludes[k].item, 1.0, (int)task->excludes[k].other, 1.0, 1.0);
    glp_iocp control;
    glp_init_iocp(&control);
    control.msg_lev = GLP_MSG_OFF;
    control.presolve = GLP_ON;
    glp_term_out(GLP_OFF);
    assert_int_equal(glp_intopt(model, &control), 0);
    assert_int_equal(glp_mip_status(model), GLP_OPT);
    const double optimum = glp_mip_obj_val(model);
    glp_delete_prob(model);
    return optimum;
}

static void plans_of_sixty_jobs_gain_what_glpk_gains(void **state)
{
    (void)state;
    program *p = malloc(sizeof *p);
    assert_non_null(p);
    for (int n = 0; n < 25; n++) {
        ch_stream stream;
        bool got[ITEMS_MAX];
        ch_selected selected;
        sums sum;
        ch_stream_init(&stream, 60, (uint64_t)n);
        make_program(p, &stream, 60, 40, n % 3 == 2, false);
        assert_int_equal(ch_select(&p->task, got, &selected, NULL), CH_OK);
        assert_true(selected.possible && selected.proven);
        assert_true(add_up(&p->task, got, &sum));
        assert_int_equal(sum.gain, selected.gain);
        /* GLPK works in doubles and accepts a row that is over by 1e-7; gains are whole numbers */
        expect_close((double)selected.gain, glpk_optimum(&p->task), 1e-3);
    }
    glp_free_env();
    free(p);
}

static void plans_of_two_hundred_jobs_are_proven(void **state)
{
    (void)state;
    program *p = malloc(sizeof *p);
    assert_non_null(p);
    for (int n = 0; n < 6; n++) {
        ch_stream stream;
        bool got[ITEMS_MAX];
        ch_selected selected;
        ch_stream_init(&stream, 200, (uint64_t)n);
        make_program(p, &stream, 200, 80, false, false);
        assert_int_equal(ch_select(&p->task, got, &selected, NULL), CH_OK);
        assert_true(selected.possible && selected.proven);
    }
    free(p);
}

/* ------------------------------------------------------------------ published knapsacks */

/*
 * KNAPSACK_01, J. Burkardt's public data sets after Kreher and Stinson, Combinatorial Algorithms, 1999 (from memory; each optimum recomputed, see
 * tests/data/knapsack/SOURCE.md). A knapsack is a program with one limit and no links.
 */
static void published_knapsacks_are_solved(void **state)
{
    (void)state;
    const char *root = getenv("CROSSHATCH_SOURCE");
    char path[1024], line[1024];
    int solved = 0;
    snprintf(path, sizeof path, "%s/tests/data/knapsack/knapsack01_a.csv", root == NULL ? "." : root);
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
        const int64_t none[64] = {0};
        bool chosen[64];
        ch_selected selected;
        const ch_selection task = {.count = n,
                                   .gain = profit,
                                   .money = weight,
                                   .work = none,
                                   .money_limit = strtoll(field[1], NULL, 10),
                                   .work_limit = INT64_MAX};
        assert_int_equal(ch_select(&task, chosen, &selected, NULL), CH_OK);
        assert_true(selected.proven);
        assert_int_equal(selected.gain, strtoll(field[4], NULL, 10));
        solved++;
    }
    fclose(file);
    assert_int_equal(solved, 5);
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
        make_program(p, &stream, 60, 40, false, false);
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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(choices_equal_the_best_of_all_subsets),
        cmocka_unit_test(ties_are_broken_as_promised),
        cmocka_unit_test(plans_of_sixty_jobs_gain_what_glpk_gains),
        cmocka_unit_test(plans_of_two_hundred_jobs_are_proven),
        cmocka_unit_test(published_knapsacks_are_solved),
        cmocka_unit_test(an_impossible_program_is_said_to_be_so),
        cmocka_unit_test(items_that_need_each_other_come_together),
        cmocka_unit_test(nothing_to_choose_from_is_a_choice),
        cmocka_unit_test(a_search_cut_short_states_how_much_could_be_missing),
        cmocka_unit_test(bad_programs_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
