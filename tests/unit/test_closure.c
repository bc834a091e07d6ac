/* Promises of winter/closure.c, against all closed sets of small random graphs. */
#include "../../src/winter/closure.h"

#include <string.h>

#include "crosshatch/sampling.h"
#include "expect.h"

enum { ITEMS = 9, ARCS = 14, GRAPHS = 300 };

static int below(ch_stream *s, int n)
{
    return (int)(ch_stream_uniform(s) * n);
}

typedef struct graph {
    size_t from[ARCS], to[ARCS], arcs;
    signed char fixed[ITEMS];
    int64_t weight[ITEMS];
} graph;

/* What a set implies, and what implies it, is fixed with it. */
static void fix(graph *g, size_t item, signed char how)
{
    g->fixed[item] = how;
    for (size_t a = 0; a < g->arcs; a++) {
        const size_t other = how == 1 ? g->to[a] : g->from[a];
        if ((how == 1 ? g->from[a] : g->to[a]) == item && g->fixed[other] < 0)
            fix(g, other, how);
    }
}

static void random_graph(ch_stream *s, graph *g)
{
    g->arcs = (size_t)below(s, ARCS + 1);
    for (size_t a = 0; a < g->arcs; a++) {
        g->from[a] = (size_t)below(s, ITEMS);
        g->to[a] = (g->from[a] + 1 + (size_t)below(s, ITEMS - 1)) % ITEMS; /* circles among them */
    }
}

static void random_weights(ch_stream *s, graph *g)
{
    for (size_t i = 0; i < ITEMS; i++) {
        g->fixed[i] = -1;
        g->weight[i] = below(s, 2) == 0 ? below(s, 7) - 3 : below(s, 2000) - 1000; /* small ones make ties */
    }
    if (below(s, 2) == 0)
        fix(g, (size_t)below(s, ITEMS), 1);
    const size_t out = (size_t)below(s, ITEMS);
    if (g->fixed[out] < 0 && below(s, 2) == 0)
        fix(g, out, 0);
}

static bool closed(const graph *g, unsigned set)
{
    for (size_t i = 0; i < ITEMS; i++)
        if (g->fixed[i] >= 0 && (set >> i & 1u))
            return false; /* fixed items are not in the graph */
    for (size_t a = 0; a < g->arcs; a++)
        if ((set >> g->from[a] & 1u) && g->fixed[g->to[a]] < 0 && !(set >> g->to[a] & 1u))
            return false;
    return true;
}

static int64_t weight_of(const graph *g, unsigned set)
{
    int64_t sum = 0;
    for (size_t i = 0; i < ITEMS; i++)
        sum += set >> i & 1u ? g->weight[i] : 0;
    return sum;
}

static int items_of(unsigned set)
{
    int n = 0;
    for (; set != 0; set &= set - 1)
        n++;
    return n;
}

static void the_heaviest_set_is_that_of_all_closed_sets(void **state)
{
    (void)state;
    ch_stream s;
    ch_stream_init(&s, 4711, 0);
    int ties = 0, lost = 0;
    for (int number = 0; number < GRAPHS; number++) {
        graph g;
        closure solver;
        random_graph(&s, &g);
        assert_true(closure_init(&solver, ITEMS, g.from, g.to, g.arcs));
        for (int again = 0; again < 3; again++) { /* one graph, other weights */
            random_weights(&s, &g);
            signed char in[ITEMS];
            int64_t slack[ITEMS] = {0};
            memset(in, 7, sizeof in);
            const int64_t got = closure_solve(&solver, g.weight, g.fixed, in, slack);
            int64_t most = 0;
            unsigned best = 0;
            for (unsigned set = 0; set < 1u << ITEMS; set++)
                if (closed(&g, set) &&
                    (weight_of(&g, set) > most || (weight_of(&g, set) == most && items_of(set) < items_of(best)))) {
                    most = weight_of(&g, set);
                    best = set;
                }
            assert_int_equal(got, most);
            for (size_t i = 0; i < ITEMS; i++)
                assert_int_equal(in[i], g.fixed[i] >= 0 ? 7 : (int)(best >> i & 1u));
            /* all of the set the other way round lose what it weighs, all others what they would cost: no more and no less */
            int64_t in_slack = 0, out_slack = 0, others = 0;
            for (size_t i = 0; i < ITEMS; i++) {
                if (g.fixed[i] >= 0)
                    continue;
                assert_true(slack[i] >= 0);
                in_slack += in[i] == 1 ? slack[i] : 0;
                out_slack += in[i] == 0 ? slack[i] : 0;
                others += in[i] == 0 ? g.weight[i] : 0;
            }
            assert_int_equal(in_slack, most);
            assert_int_equal(out_slack, -others);
            /* what any set of items the other way round loses is at least the sum of theirs */
            for (unsigned set = 0; set < 1u << ITEMS; set++) {
                int64_t least = 0;
                for (size_t i = 0; i < ITEMS; i++)
                    least += g.fixed[i] < 0 && ((set ^ best) >> i & 1u) ? slack[i] : 0;
                if (closed(&g, set)) {
                    assert_true(most - weight_of(&g, set) >= least);
                    ties += set != best && weight_of(&g, set) == most;
                }
                lost += least > 0;
            }
        }
        closure_clear(&solver);
    }
    assert_true(ties > 100 && lost > 1000);
}

/* A path as long as the graph, amounts as large as they may be: what the first brings pays for all behind it, or just does not. */
static void a_long_chain_of_large_amounts_is_followed_to_its_end(void **state)
{
    (void)state;
    enum { LONG = 300 };
    static size_t from[LONG], to[LONG];
    static int64_t weight[LONG], slack[LONG];
    static signed char fixed[LONG], in[LONG];
    static const size_t counts[] = {1, 2, 3, LONG};
    for (size_t k = 0; k < sizeof counts / sizeof counts[0]; k++) {
        const size_t n = counts[k];
        const int64_t each = (INT64_C(1) << 58) / LONG;
        closure solver;
        for (size_t i = 0; i + 1 < n; i++) {
            from[i] = n - 1 - i; /* the last needs the one before it, and so on */
            to[i] = n - 2 - i;
        }
        assert_true(closure_init(&solver, n, from, to, n - 1));
        for (int64_t over = -1; over <= 1; over++) {
            for (size_t i = 0; i < n; i++) {
                fixed[i] = -1;
                weight[i] = i + 1 < n ? -each : each * (int64_t)(n - 1) + over;
            }
            assert_int_equal(closure_solve(&solver, weight, fixed, in, slack), over > 0 ? 1 : 0);
            int64_t sum = 0;
            for (size_t i = 0; i < n; i++) {
                assert_int_equal(in[i], over > 0);
                sum += slack[i];
            }
            assert_int_equal(sum, over > 0 ? 1 : -over);
        }
        closure_clear(&solver);
        assert_null(solver.first);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_heaviest_set_is_that_of_all_closed_sets),
                                       cmocka_unit_test(a_long_chain_of_large_amounts_is_followed_to_its_end)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
