/*
 * Promises between the parts of the winter's search (winter/select_search.h, relations.h, select_fill.h), each held to the same thing spelled out over all sets
 * of a small program: what follows from what, what is fixed, what is dropped and added, how good a choice can be, and that nothing better is ever left out.
 * Every array of a search is a block of its own of just the size it needs, so that the sanitizers see one place too far.
 */
#include "../../src/winter/select_search.h"

#include <stdlib.h>
#include <string.h>

#include "crosshatch/sampling.h"
#include "expect.h"

enum { SMALL_MAX = 10, LARGE_MAX = 72, LINKS_MAX = 200, SCALE = 16 };

typedef struct small {
    int64_t gain[LARGE_MAX], money[LARGE_MAX], work[LARGE_MAX];
    ch_selection_pair implies[LINKS_MAX], excludes[LINKS_MAX];
    signed char fixed[LARGE_MAX];
    ch_selection task;
} small;

static int below(ch_stream *stream, int n)
{
    return (int)(ch_stream_uniform(stream) * n);
}

/* Whole amounts of which many are alike; links any way round, circles, doubles and an item's own among them. */
static void draw(ch_stream *stream, size_t count, size_t links, small *p)
{
    int64_t money = 1, work = 1;
    for (size_t i = 0; i < count; i++) {
        p->gain[i] = below(stream, 41) - 15;
        p->money[i] = below(stream, 3) == 0 ? 0 : below(stream, 12);
        p->work[i] = below(stream, 3) == 0 ? 0 : below(stream, 12);
        p->fixed[i] = below(stream, 8) > 0 ? -1 : (signed char)below(stream, 2);
        money += p->money[i];
        work += p->work[i];
    }
    p->task = (ch_selection){.count = count,
                             .gain = p->gain,
                             .money = p->money,
                             .work = p->work,
                             .money_limit = below(stream, 8) == 0 ? INT64_MAX : below(stream, (int)money),
                             .work_limit = below(stream, 8) == 0 ? INT64_MAX : below(stream, (int)work),
                             .implies = p->implies,
                             .implies_count = (size_t)below(stream, (int)links + 1),
                             .excludes = p->excludes,
                             .excludes_count = (size_t)below(stream, (int)links / 2 + 1)};
    for (size_t k = 0; k < p->task.implies_count; k++)
        p->implies[k] = (ch_selection_pair){(size_t)below(stream, (int)count), (size_t)below(stream, (int)count)};
    for (size_t k = 0; k < p->task.excludes_count; k++) {
        const size_t item = (size_t)below(stream, (int)count);
        p->excludes[k] = (ch_selection_pair){item, (item + 1 + (size_t)below(stream, (int)count - 1)) % count};
    }
}

/* ---- what follows from what ---- */

static bool needed[LARGE_MAX][LARGE_MAX], shut[LARGE_MAX][LARGE_MAX];

static void close_needed(size_t n)
{
    for (size_t k = 0; k < n; k++)
        for (size_t i = 0; i < n; i++)
            for (size_t j = 0; j < n; j++)
                needed[i][j] = needed[i][j] || (needed[i][k] && needed[k][j]);
}

/* relations.h: gains no more, takes no less, needs all that the other needs. Of two that are alike the earlier one is the better. */
static bool is_no_worse(const ch_selection *t, size_t better, size_t worse)
{
    if (t->gain[better] < t->gain[worse] || t->work[better] > t->work[worse] || t->money[better] > t->money[worse])
        return false;
    if (t->gain[better] == t->gain[worse] && t->work[better] == t->work[worse] && t->money[better] == t->money[worse] &&
        better > worse)
        return false;
    for (size_t j = 0; j < t->count; j++)
        if ((j != better && needed[better][j] && !needed[worse][j]) ||
            (j != worse && shut[better][j] && !shut[worse][j]))
            return false;
    return true;
}

static void find_relations(const ch_selection *t, const signed char fixed[])
{
    const size_t n = t->count;
    static bool more[LARGE_MAX][LARGE_MAX];
    bool wanted[LARGE_MAX] = {false};
    memset(needed, 0, sizeof needed);
    memset(shut, 0, sizeof shut);
    memset(more, 0, sizeof more);
    for (size_t k = 0; k < t->implies_count; k++)
        needed[t->implies[k].item][t->implies[k].other] = true;
    for (size_t k = 0; k < t->excludes_count; k++)
        shut[t->excludes[k].item][t->excludes[k].other] = shut[t->excludes[k].other][t->excludes[k].item] = true;
    close_needed(n);
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            wanted[j] = wanted[j] || (i != j && needed[i][j]);
    for (size_t better = 0; better < n; better++)
        for (size_t worse = 0; worse < n; worse++)
            more[worse][better] = worse != better && fixed[better] != 0 && fixed[worse] < 0 && !wanted[worse] &&
                                  is_no_worse(t, better, worse);
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            needed[i][j] = needed[i][j] || more[i][j];
    close_needed(n);
}

static void expect_list(const relation_lists *got, size_t i, const bool row[], size_t n)
{
    size_t a = got->first[i];
    for (size_t j = 0; j < n; j++)
        if (j != i && row[j]) {
            assert_true(a < got->first[i + 1]);
            assert_int_equal(got->item[a++], j);
        }
    assert_int_equal(a, got->first[i + 1]);
}

static void relations_are_those_of_every_pair(void **state)
{
    (void)state;
    static const size_t counts[] = {1, 2, 5, 9, 10, 63, 64, 65, 70, LARGE_MAX};
    static small p;
    int dominated = 0;
    for (uint64_t number = 0; number < 40; number++) {
        ch_stream stream;
        ch_stream_init(&stream, 90, number);
        const size_t n = counts[number % (sizeof counts / sizeof counts[0])];
        draw(&stream, n, n < 2 ? 0 : 2 * n < LINKS_MAX ? 2 * n : LINKS_MAX, &p);
        relations links;
        assert_true(relations_init(&links, &p.task, p.fixed));
        find_relations(&p.task, p.fixed);
        assert_int_equal(links.needs.first[0] + links.users.first[0] + links.shuts.first[0], 0);
        size_t arcs = 0;
        for (size_t i = 0; i < n; i++) {
            bool users[LARGE_MAX];
            for (size_t j = 0; j < n; j++)
                users[j] = needed[j][i];
            expect_list(&links.needs, i, needed[i], n);
            expect_list(&links.users, i, users, n);
            expect_list(&links.shuts, i, shut[i], n);
            for (size_t j = 0; j < n; j++) {
                bool follows = false; /* from two others, that are not of one circle with their ends */
                for (size_t k = 0; k < n; k++)
                    follows =
                        follows || (k != i && k != j && needed[i][k] && needed[k][j] && !needed[k][i] && !needed[j][k]);
                if (i == j || !needed[i][j] || follows)
                    continue;
                assert_true(arcs < links.arcs);
                assert_int_equal(links.from[arcs], i);
                assert_int_equal(links.to[arcs], j);
                arcs++;
            }
        }
        assert_int_equal(arcs, links.arcs);
        memset(needed, 0, sizeof needed);
        for (size_t a = 0; a < arcs; a++)
            needed[links.from[a]][links.to[a]] = true;
        close_needed(n);
        for (size_t i = 0; i < n; i++)
            expect_list(&links.needs, i, needed[i], n);
        dominated += links.needs.first[n] > 2 * n;
        relations_clear(&links);
        assert_null(links.needs.first);
    }
    assert_true(dominated > 5);
}

/* ---- a search of which every array is a block of its own ---- */

static void *block(size_t count, size_t size)
{
    void *p = calloc(count, size);
    if (count > 0)
        assert_non_null(p);
    return p;
}

static search *new_search(const small *p)
{
    search *s = block(1, sizeof *s);
    const size_t n = p->task.count, pairs = p->task.excludes_count;
    double work = 1.0;
    s->task = &p->task;
    s->count = n;
    s->scale = SCALE;
    s->words = (n + 63) / 64;
    s->score = block(n, sizeof *s->score);
    s->weight = block(n, sizeof *s->weight);
    s->slack = block(n, sizeof *s->slack);
    s->fixed = block(n, 1);
    s->in = block(n, 1);
    s->best = block(n, 1);
    s->trial = block(n, 1);
    s->trail = block(n, sizeof *s->trail);
    s->levels = block(n, sizeof *s->levels);
    s->share = block(n, sizeof *s->share);
    s->loss = block(n, sizeof *s->loss);
    s->toll = block(n, sizeof *s->toll);
    s->cost = block(n, sizeof *s->cost);
    s->candidates = block(n, sizeof *s->candidates);
    s->quarrel = block(pairs, sizeof *s->quarrel);
    s->quarrelled = block(pairs, sizeof *s->quarrelled);
    s->known_bits = block(s->words, sizeof *s->known_bits);
    s->fixed_bits = block(s->words, sizeof *s->fixed_bits);
    for (size_t k = 0; k < MASTER_COLUMNS_MAX; k++) {
        s->column_in[k] = block(n, 1);
        s->column_bits[k] = block(s->words, sizeof *s->column_bits[k]);
    }
    s->columns = s->column_next = 1;
    memset(s->fixed, -1, n);
    assert_true(relations_init(&s->links, &p->task, s->fixed));
    assert_true(closure_init(&s->graph, n, s->links.from, s->links.to, s->links.arcs));
    for (size_t i = 0; i < n; i++)
        work += (double)p->work[i];
    for (size_t i = 0; i < n; i++) /* a quarter of a unit of gain for all work there is */
        s->score[i] = SCALE * p->gain[i] - (int64_t)((double)p->work[i] / work * SCALE / 4.0);
    s->limit[0] = p->task.money_limit < INT64_MAX ? fmax((double)p->task.money_limit, 1.0) : 1e3;
    s->limit[1] = p->task.work_limit < INT64_MAX ? fmax((double)p->task.work_limit, 1.0) : 1e3;
    return s;
}

static void free_search(search *s)
{
    void *const all[] = {s->score, s->weight,     s->slack,   s->fixed,      s->in,         s->best,
                         s->trial, s->trail,      s->levels,  s->share,      s->loss,       s->toll,
                         s->cost,  s->candidates, s->quarrel, s->quarrelled, s->known_bits, s->fixed_bits};
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++)
        free(all[i]);
    for (size_t k = 0; k < MASTER_COLUMNS_MAX; k++) {
        free(s->column_in[k]);
        free(s->column_bits[k]);
    }
    relations_clear(&s->links);
    closure_clear(&s->graph);
    free(s);
}

/* ---- sets ---- */

static bool has(const relation_lists *lists, size_t i, size_t j)
{
    for (size_t a = lists->first[i]; a < lists->first[i + 1]; a++)
        if (lists->item[a] == j)
            return true;
    return false;
}

static void set_of(const search *s, unsigned bits, signed char in[])
{
    for (size_t i = 0; i < s->count; i++)
        in[i] = (signed char)(bits >> i & 1u);
}

static bool is_closed(const search *s, const signed char in[])
{
    for (size_t i = 0; i < s->count; i++)
        for (size_t j = 0; j < s->count; j++)
            if (in[i] == 1 && in[j] != 1 && has(&s->links.needs, i, j))
                return false;
    return true;
}

static bool quarrels(const search *s, const signed char in[])
{
    for (size_t k = 0; k < s->task->excludes_count; k++)
        if (in[s->task->excludes[k].item] == 1 && in[s->task->excludes[k].other] == 1)
            return true;
    return false;
}

static bool agrees_with(const signed char in[], const signed char fixed[], size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (fixed[i] >= 0 && in[i] != fixed[i])
            return false;
    return true;
}

static select_sums sums_of(const search *s, const signed char in[])
{
    select_sums sum = {0};
    for (size_t i = 0; i < s->count; i++) {
        sum.score += in[i] == 1 ? s->score[i] : 0;
        sum.gain += in[i] == 1 ? s->task->gain[i] : 0;
        sum.money += in[i] == 1 ? s->task->money[i] : 0;
        sum.work += in[i] == 1 ? s->task->work[i] : 0;
        sum.items += in[i] == 1;
    }
    return sum;
}

static bool is_allowed(const search *s, const signed char in[])
{
    const select_sums sum = sums_of(s, in);
    return is_closed(s, in) && !quarrels(s, in) && sum.money <= s->task->money_limit && sum.work <= s->task->work_limit;
}

/* selection.h: gain, then less work, then less money, then fewer items, then the earlier item. */
static bool comes_first(const search *s, const signed char a[], const signed char b[])
{
    const select_sums x = sums_of(s, a), y = sums_of(s, b);
    const int64_t better[] = {x.gain - y.gain, y.work - x.work, y.money - x.money, y.items - x.items};
    for (int k = 0; k < 4; k++)
        if (better[k] != 0)
            return better[k] > 0;
    for (size_t i = 0; i < s->count; i++)
        if (a[i] != b[i])
            return a[i] == 1;
    return false;
}

/* ---- fixing ---- */

/* All that follows, again and again until nothing more does. False where it cannot be. */
static bool fix_plainly(const search *s, size_t item, signed char value, signed char fixed[])
{
    if (fixed[item] == 1 - value)
        return false;
    fixed[item] = value;
    for (bool more = true; more;) {
        more = false;
        for (size_t i = 0; i < s->count; i++)
            for (size_t j = 0; j < s->count; j++) {
                const bool both = has(&s->links.needs, i, j), not_both = has(&s->links.shuts, i, j);
                if ((both && fixed[i] == 1 && fixed[j] == 0) || (not_both && fixed[i] == 1 && fixed[j] == 1))
                    return false;
                if (both && fixed[i] == 1 && fixed[j] < 0)
                    fixed[j] = more = true;
                if ((both && fixed[j] == 0 && fixed[i] < 0)) {
                    fixed[i] = 0;
                    more = true;
                }
                if (not_both && fixed[i] == 1 && fixed[j] < 0) {
                    fixed[j] = 0;
                    more = true;
                }
            }
    }
    return true;
}

static void what_follows_is_fixed_and_taken_back(void **state)
{
    (void)state;
    static small p;
    int good = 0, bad = 0;
    for (uint64_t number = 0; number < 150; number++) {
        ch_stream stream;
        ch_stream_init(&stream, 91, number);
        draw(&stream, 2 + (size_t)below(&stream, SMALL_MAX - 1), 10, &p);
        search *s = new_search(&p);
        for (int step = 0; step < 6; step++) {
            const size_t item = (size_t)below(&stream, (int)s->count), before = s->trail_length;
            const signed char value = (signed char)below(&stream, 2);
            signed char was[SMALL_MAX], want[SMALL_MAX];
            memcpy(was, s->fixed, s->count);
            memcpy(want, s->fixed, s->count);
            const bool can = fix_plainly(s, item, value, want);
            assert_int_equal(search_fix(s, item, value), can);
            if (can) {
                assert_memory_equal(s->fixed, want, s->count);
                size_t fixed = 0;
                for (size_t i = 0; i < s->count; i++)
                    fixed += s->fixed[i] >= 0 && was[i] < 0;
                assert_int_equal(s->trail_length - before, fixed);
                for (size_t a = before; a < s->trail_length; a++)
                    assert_true(was[s->trail[a]] < 0);
            }
            good += can;
            bad += !can;
            if (!can || below(&stream, 4) == 0) {
                search_unfix(s, before);
                assert_memory_equal(s->fixed, was, s->count);
                assert_int_equal(s->trail_length, before);
            }
        }
        free_search(s);
    }
    assert_true(good > 100 && bad > 50);
}

/* Fix some items, so that what is fixed is closed. */
static void fix_some(ch_stream *stream, search *s, int most)
{
    for (int k = below(stream, most + 1); k > 0; k--) {
        const size_t item = (size_t)below(stream, (int)s->count), before = s->trail_length;
        if (!search_fix(s, item, (signed char)below(stream, 2)))
            search_unfix(s, before);
    }
}

/* ---- the best so far ---- */

static void of_all_sets_offered_the_first_in_the_headers_order_is_kept(void **state)
{
    (void)state;
    static small p;
    for (uint64_t number = 0; number < 60; number++) {
        ch_stream stream;
        ch_stream_init(&stream, 92, number);
        draw(&stream, 2 + (size_t)below(&stream, 6), 6, &p);
        if (number % 2 == 0) /* ties */
            for (size_t i = 0; i < p.task.count; i++) {
                p.gain[i] = number % 4 == 0 ? 1 : p.gain[i];
                p.money[i] = number % 3 == 0 ? 2 : p.money[i] % 2;
                p.work[i] = number % 6 < 4 ? 1 : p.work[i] % 2;
            }
        search *s = new_search(&p);
        signed char best[SMALL_MAX], in[SMALL_MAX];
        bool any = false;
        for (int round = 0; round < 60; round++) {
            set_of(s, (unsigned)below(&stream, 1 << s->count), in);
            const select_sums sum = sums_of(s, in), got = search_sums(s, in);
            assert_true(got.score == sum.score && got.gain == sum.gain && got.money == sum.money &&
                        got.work == sum.work && got.items == sum.items);
            size_t item = SIZE_MAX;
            const bool quarrel = quarrels(s, in);
            assert_int_equal(search_quarrel(s, in, &item), quarrel);
            if (quarrel) { /* the first of any pair */
                size_t first = 0;
                for (bool one = false; !one; first += !one)
                    for (size_t j = 0; j < s->count; j++)
                        one = one || (in[first] == 1 && in[j] == 1 && has(&s->links.shuts, first, j));
                assert_int_equal(item, first);
            } else {
                assert_int_equal(item, SIZE_MAX);
            }
            search_offer(s, in);
            if (!quarrel && sum.money <= p.task.money_limit && sum.work <= p.task.work_limit &&
                (!any || comes_first(s, in, best))) {
                memcpy(best, in, s->count);
                any = true;
            }
            assert_int_equal(s->has_best, any);
            if (any) {
                const select_sums kept = sums_of(s, best);
                assert_memory_equal(s->best, best, s->count);
                assert_memory_equal(&s->best_sums, &kept, sizeof kept);
            }
        }
        free_search(s);
    }
}

/* A bound is worth looking behind where it is half a unit of gain above the best; or, as long as ties are few, where it is no more than the rounding of
 * every item below it. */
static void a_bound_is_worth_looking_behind_from_the_stated_margins_on(void **state)
{
    (void)state;
    static small p;
    ch_stream stream;
    ch_stream_init(&stream, 93, 0);
    draw(&stream, 7, 4, &p);
    search *s = new_search(&p);
    assert_true(search_gains_more(s, -1e9) && search_worth_more(s, -1e9)); /* anything, as long as there is none */
    s->has_best = true;
    s->best_sums.score = 1000;
    static const struct {
        int64_t scale;
        double margin;
    } cases[] = {{SCALE, 8.0}, {64, 32.0}, {1, 1.0}, {2, 1.0}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        s->scale = cases[k].scale;
        assert_true(search_gains_more(s, 1000.0 + cases[k].margin));
        assert_false(search_gains_more(s, 1000.0 + 0.999 * cases[k].margin));
    }
    s->scale = SCALE;
    for (s->ties = 19999; s->ties <= 20000; s->ties++) {
        assert_int_equal(search_worth_more(s, 993.0), s->ties < 20000);
        assert_false(search_worth_more(s, 992.99));
        assert_int_equal(search_worth_more(s, 1007.99), s->ties < 20000);
        assert_true(search_worth_more(s, 1008.0));
    }
    free_search(s);
}

/* ---- bounds ---- */

static void what_is_fixed_is_held_to_the_limits_and_is_the_first_column(void **state)
{
    (void)state;
    static small p;
    int over = 0;
    for (uint64_t number = 0; number < 100; number++) {
        ch_stream stream;
        ch_stream_init(&stream, 94, number);
        draw(&stream, 1 + (size_t)below(&stream, SMALL_MAX), 0, &p);
        search *s = new_search(&p);
        fix_some(&stream, s, 6);
        signed char in[SMALL_MAX];
        for (size_t i = 0; i < s->count; i++)
            in[i] = s->fixed[i] == 1;
        const select_sums sum = sums_of(s, in);
        if (number % 4 == 1) /* just enough */
            p.task.money_limit = sum.money;
        if (number % 4 == 2)
            p.task.work_limit = sum.work;
        if (number % 8 == 3 && sum.money > 0) /* just not */
            p.task.money_limit = sum.money - 1;
        if (number % 8 == 7 && sum.work > 0)
            p.task.work_limit = sum.work - 1;
        const bool fits = sum.money <= p.task.money_limit && sum.work <= p.task.work_limit;
        assert_int_equal(search_within_limits(s), fits);
        assert_int_equal(s->has_best, fits);
        over += !fits;
        if (fits) {
            assert_memory_equal(s->best, in, s->count);
            assert_memory_equal(s->column_in[0], in, s->count);
            expect_close(s->column[0].score, (double)sum.score, 0.0);
            expect_close(s->column[0].takes[0], (double)sum.money / s->limit[0], 0.0);
            expect_close(s->column[0].takes[1], (double)sum.work / s->limit[1], 0.0);
        }
        free_search(s);
    }
    assert_true(over > 20);
}

/* A priced set: what it scores, less what it takes beyond the limits and beyond one of each pair, at the prices. */
static double priced(const search *s, const signed char in[])
{
    const select_sums sum = sums_of(s, in);
    double value = (double)sum.score + s->price[0] * (1.0 - (double)sum.money / s->limit[0]) +
                   s->price[1] * (1.0 - (double)sum.work / s->limit[1]);
    for (size_t e = 0; e < s->task->excludes_count; e++) {
        const ch_selection_pair pair = s->task->excludes[e];
        if (s->fixed[pair.item] < 0 && s->fixed[pair.other] < 0)
            value += s->quarrel[e] * (1.0 - (in[pair.item] == 1) - (in[pair.other] == 1));
    }
    return value;
}

/*
 * At any prices: the bound is what the best closed set comes to at them, rounded upwards by less than 1 an item; so nothing that is allowed scores more. What an
 * item costs the other way round is no more than it does.
 */
static void no_choice_scores_more_than_the_bound_at_any_prices(void **state)
{
    (void)state;
    static small p;
    int free_sets = 0;
    for (uint64_t number = 0; number < 120; number++) {
        ch_stream stream;
        ch_stream_init(&stream, 95, number);
        draw(&stream, 2 + (size_t)below(&stream, SMALL_MAX - 2), 8, &p);
        search *s = new_search(&p);
        fix_some(&stream, s, 3);
        const bool whole = number % 2 == 0; /* prices at which every item's is a whole number */
        for (int k = 0; k < 2; k++)
            s->price[k] = whole ? s->limit[k] * below(&stream, 9) : s->limit[k] * 9.0 * ch_stream_uniform(&stream);
        double tolls = 0.0;
        for (size_t e = 0; e < p.task.excludes_count; e++) {
            s->quarrel[e] = whole ? below(&stream, 60) : 60.0 * ch_stream_uniform(&stream);
            if (s->fixed[p.excludes[e].item] < 0 && s->fixed[p.excludes[e].other] < 0)
                tolls += s->quarrel[e];
        }
        search_tolls(s);
        expect_close(s->tolls, tolls, 1e-9);
        for (size_t i = 0; i < s->count; i++) {
            double toll = 0.0;
            for (size_t e = 0; e < p.task.excludes_count; e++)
                if ((p.excludes[e].item == i || p.excludes[e].other == i) && s->fixed[p.excludes[e].item] < 0 &&
                    s->fixed[p.excludes[e].other] < 0)
                    toll += s->quarrel[e];
            expect_close(s->toll[i], toll, 1e-9);
        }
        const double bound = search_priced_bound(s);
        double most = -INFINITY, flipped[SMALL_MAX];
        signed char in[SMALL_MAX];
        size_t free_items = 0;
        for (size_t i = 0; i < s->count; i++) {
            flipped[i] = -INFINITY;
            free_items += s->fixed[i] < 0;
        }
        for (unsigned set = 0; set < 1u << s->count; set++) {
            set_of(s, set, in);
            if (!is_closed(s, in) || !agrees_with(in, s->fixed, s->count))
                continue;
            const double value = priced(s, in);
            free_sets++;
            most = fmax(most, value);
            for (size_t i = 0; i < s->count; i++)
                if (in[i] != s->in[i])
                    flipped[i] = fmax(flipped[i], value);
            if (is_allowed(s, in))
                assert_true((double)sums_of(s, in).score <= bound);
        }
        const double rounding = whole ? 0.0 : (double)free_items;
        assert_true(bound >= most && bound <= most + rounding + 1e-8);
        assert_true(is_closed(s, s->in) && agrees_with(s->in, s->fixed, s->count));
        assert_true(priced(s, s->in) >= most - rounding - 1e-8);
        for (size_t i = 0; i < s->count; i++)
            if (s->fixed[i] < 0 && isfinite(flipped[i]))
                assert_true(flipped[i] <= bound - (double)s->slack[i] + 1e-8);
        free_search(s);
    }
    assert_true(free_sets > 1000);
}

/* Scores as large as they may be: a sum of a dozen doubles is off by some units there, and the bound still is no lower than the exact one. */
static void the_bound_holds_where_scores_are_as_large_as_they_may_be(void **state)
{
    (void)state;
    static small p;
    for (uint64_t number = 0; number < 200; number++) {
        ch_stream stream;
        ch_stream_init(&stream, 96, number);
        draw(&stream, SMALL_MAX, 0, &p);
        search *s = new_search(&p);
        long double most = 0.0L;
        for (int k = 0; k < 2; k++)
            s->price[k] = 1e14 * ch_stream_uniform(&stream);
        most = (long double)s->price[0] + (long double)s->price[1];
        for (size_t i = 0; i < s->count; i++) {
            s->score[i] = (int64_t)(4e14 * (ch_stream_uniform(&stream) - 0.3));
            s->fixed[i] = 1; /* summed up in doubles, nothing rounded upwards */
            most += (long double)s->score[i] -
                    (long double)s->price[0] * (long double)p.money[i] / (long double)s->limit[0] -
                    (long double)s->price[1] * (long double)p.work[i] / (long double)s->limit[1];
        }
        search_tolls(s);
        const double bound = search_priced_bound(s);
        assert_true((long double)bound >= most && (long double)bound <= most + 60.0L);
        free_search(s);
    }
}

/* The last hundred and twenty-seven closures are kept behind the first column; pairs that were chosen together are noted. */
static void closures_are_kept_in_turn(void **state)
{
    (void)state;
    static small p;
    static const size_t counts[] = {5, 64, 65};
    for (uint64_t number = 0; number < 3; number++) {
        ch_stream stream;
        ch_stream_init(&stream, 97, number);
        draw(&stream, counts[number], 20, &p);
        search *s = new_search(&p);
        static signed char all[300][LARGE_MAX];
        bool together[LINKS_MAX] = {false};
        for (size_t k = 0; k < 300; k++) {
            for (size_t i = 0; i < s->count; i++)
                all[k][i] = (signed char)(below(&stream, 6) == 0);
            const select_sums sums = sums_of(s, all[k]);
            search_remember(s, all[k], &sums);
            assert_int_equal(s->columns, k + 2 < MASTER_COLUMNS_MAX ? k + 2 : MASTER_COLUMNS_MAX);
            for (size_t e = 0; e < p.task.excludes_count; e++) {
                together[e] = together[e] || (all[k][p.excludes[e].item] && all[k][p.excludes[e].other]);
                assert_int_equal(s->quarrelled[e], together[e]);
            }
            for (size_t back = 0; back < MASTER_COLUMNS_MAX - 1 && back <= k; back++) {
                const size_t place = 1 + (k - back) % (MASTER_COLUMNS_MAX - 1);
                const select_sums of = sums_of(s, all[k - back]);
                assert_memory_equal(s->column_in[place], all[k - back], s->count);
                expect_close(s->column[place].score, (double)of.score, 0.0);
                expect_close(s->column[place].takes[0], (double)of.money / s->limit[0], 0.0);
                expect_close(s->column[place].takes[1], (double)of.work / s->limit[1], 0.0);
                for (size_t i = 0; i < 64 * s->words; i++)
                    assert_int_equal(s->column_bits[place][i / 64] >> i % 64 & 1u,
                                     i < s->count && all[k - back][i] == 1);
            }
        }
        free_search(s);
    }
}

/*
 * The mixture is the best of the closures that agree with what is fixed, within limits and pairs: its shares add up and keep all limits, and by duality no other
 * mixture scores more (Dantzig 1963). Of pairs that were chosen together the first thirty-eight that are free have a price.
 */
static void the_mixture_is_the_best_of_the_closures_that_agree(void **state)
{
    (void)state;
    static small p;
    size_t mixed = 0, left_out = 0, paired = 0, most_limits = 0;
    for (uint64_t number = 0; number < 80; number++) {
        ch_stream stream;
        ch_stream_init(&stream, 98, number);
        const bool large = number % 8 == 0;
        draw(&stream, large ? 70 : 3 + (size_t)below(&stream, 7), 6, &p);
        if (large) /* more pairs than have room */
            for (p.task.excludes_count = 0; p.task.excludes_count < 60; p.task.excludes_count++)
                p.excludes[p.task.excludes_count] = (ch_selection_pair){p.task.excludes_count, 69};
        for (size_t i = 0; i < p.task.count; i++)
            p.gain[i] = 1 + below(&stream, 40);
        p.task.money_limit = 20;
        p.task.work_limit = 20;
        search *s = new_search(&p);
        for (int k = 4 + below(&stream, 12); k > 0; k--) {
            signed char in[LARGE_MAX];
            for (size_t i = 0; i < s->count; i++)
                in[i] = (signed char)(large ? below(&stream, 10) > 0 : below(&stream, 2));
            const select_sums sums = sums_of(s, in);
            search_remember(s, in, &sums);
        }
        fix_some(&stream, s, number % 3 == 0 ? 2 : 0);
        if (!search_within_limits(s)) {
            free_search(s);
            continue;
        }
        const double value = search_mix(s);
        double sum = 0.0, score = 0.0, takes[2] = {0.0}, most = -INFINITY, prices = s->price[0] + s->price[1],
               share[LARGE_MAX] = {0.0}, pair_takes[LINKS_MAX] = {0.0};
        size_t n = 0, limits = 2;
        bool is_limit[LINKS_MAX] = {false};
        for (size_t e = 0; e < p.task.excludes_count; e++) {
            is_limit[e] = s->quarrelled[e] && s->fixed[p.excludes[e].item] < 0 && s->fixed[p.excludes[e].other] < 0 &&
                          limits < MASTER_LIMITS_MAX;
            limits += is_limit[e];
            if (!is_limit[e])
                expect_close(s->quarrel[e], 0.0, 0.0);
            prices += s->quarrel[e];
            assert_true(s->quarrel[e] >= 0.0);
            paired += s->quarrel[e] > 0.0;
        }
        for (size_t k = 0; k < s->columns; k++) {
            const signed char *in = s->column_in[k];
            if (k > 0 && !agrees_with(in, s->fixed, s->count)) {
                left_out++;
                continue;
            }
            const select_sums of = sums_of(s, in);
            const double part = s->result.share[n++];
            double net = (double)of.score - s->price[0] * (double)of.money / s->limit[0] -
                         s->price[1] * (double)of.work / s->limit[1];
            assert_true(part >= 0.0);
            mixed += part > 1e-6 && part < 1.0 - 1e-6;
            sum += part;
            score += part * (double)of.score;
            takes[0] += part * (double)of.money / s->limit[0];
            takes[1] += part * (double)of.work / s->limit[1];
            for (size_t e = 0; e < p.task.excludes_count; e++) {
                const int both = (in[p.excludes[e].item] == 1) + (in[p.excludes[e].other] == 1);
                net -= s->quarrel[e] * both;
                pair_takes[e] += is_limit[e] ? part * both : 0.0;
            }
            for (size_t i = 0; i < s->count; i++)
                share[i] += in[i] == 1 ? part : 0.0;
            most = fmax(most, net);
        }
        expect_close(sum, 1.0, 1e-9);
        expect_close(score, value, 1e-6);
        expect_close(s->result.value, value, 0.0);
        assert_true(takes[0] <= 1.0 + 1e-9 && takes[1] <= 1.0 + 1e-9 && s->price[0] >= 0.0 && s->price[1] >= 0.0);
        for (size_t e = 0; e < p.task.excludes_count; e++)
            assert_true(pair_takes[e] <= 1.0 + 1e-9);
        expect_close(most + prices, value, 1e-6);
        for (size_t i = 0; i < s->count; i++)
            expect_close(s->share[i], share[i], 1e-9);
        most_limits = limits > most_limits ? limits : most_limits;
        free_search(s);
    }
    assert_true(mixed > 50 && left_out > 20 && paired > 20 && most_limits == MASTER_LIMITS_MAX);
}

/* ---- the search as a whole ---- */

/* Nothing that would be taken instead of the best so far lies outside what is still to be looked at, and the bounds of that are no lower than its score. */
static void expect_nothing_lost(const search *s, bool going_on, double bound)
{
    for (unsigned set = 0; set < 1u << s->count; set++) {
        signed char in[SMALL_MAX], fixed[SMALL_MAX];
        set_of(s, set, in);
        if (!is_allowed(s, in) || (s->has_best && !comes_first(s, in, s->best)))
            continue;
        const double score = (double)sums_of(s, in).score;
        bool there = going_on && agrees_with(in, s->fixed, s->count) && bound >= score;
        for (size_t k = 0; k < s->depth; k++) {
            const level *at = &s->levels[k];
            memset(fixed, -1, s->count);
            for (size_t a = 0; a < at->trail; a++)
                fixed[s->trail[a]] = s->fixed[s->trail[a]];
            there = there || (at->other >= 0 && in[at->item] == at->other && agrees_with(in, fixed, s->count) &&
                              at->bound >= score);
        }
        assert_true(there);
    }
}

static void the_search_never_leaves_out_what_is_better(void **state)
{
    (void)state;
    static small p;
    int branched = 0, ended = 0;
    for (uint64_t number = 0; number < 90; number++) {
        ch_stream stream;
        ch_stream_init(&stream, 99, number);
        draw(&stream, 7 + (size_t)below(&stream, 3), 6, &p);
        for (size_t i = 0; i < p.task.count; i++) /* hard ones: about as much gain as it takes */
            p.gain[i] = 1 + p.money[i] + p.work[i] + below(&stream, number % 2 == 0 ? 2 : 8);
        p.task.money_limit = number % 5 == 0 ? INT64_MAX : 8 + below(&stream, 12);
        p.task.work_limit = 6 + below(&stream, 14);
        search *s = new_search(&p);
        double known = INFINITY;
        int steps = 0;
        for (bool more = true; more; steps++) {
            assert_true(steps < 2000);
            double bound = known;
            const verdict found = search_bound(s, &bound);
            expect_nothing_lost(s, found == OPEN, bound);
            if (found == OPEN)
                for (size_t i = 0; i < s->count; i++)
                    assert_true(s->share[i] >= -1e-9 && s->share[i] <= 1.0 + 1e-9);
            s->nodes += found == OPEN;
            bool again = false;
            more = found == OPEN ? search_branch(s, bound, &again) : search_next_side(s);
            known = again ? bound : s->depth > 0 ? s->levels[s->depth - 1].entered : INFINITY;
            assert_true(more || !again);
            if (more && !again && s->depth > 0) {
                const level *at = &s->levels[s->depth - 1];
                assert_true(s->fixed[at->item] >= 0 && at->other != s->fixed[at->item] && s->trail_length > at->trail);
                expect_close(s->price[0], at->price[0], 0.0);
                expect_close(s->price[1], at->price[1], 0.0);
            }
            expect_nothing_lost(s, more, known);
            branched += s->depth > 1;
        }
        assert_int_equal(s->depth, 0);
        ended += s->nodes > 0;
        free_search(s);
    }
    assert_true(branched > 30 && ended > 30);
}

/* ---- a good choice out of any closed set ---- */

/* What goes or comes with an item; false where something of it is fixed. */
static bool moved(const search *s, const signed char in[], size_t item, signed char after[])
{
    const relation_lists *with = in[item] == 1 ? &s->links.users : &s->links.needs;
    memcpy(after, in, s->count);
    for (size_t j = 0; j < s->count; j++)
        if (j == item || has(with, item, j))
            after[j] = (signed char)(1 - in[item]);
    for (size_t j = 0; j < s->count; j++)
        if (after[j] != in[j] && s->fixed[j] >= 0)
            return false;
    return true;
}

static double part_of(int64_t amount, int64_t limit)
{
    return limit == INT64_MAX ? 0.0 : (double)amount / fmax((double)limit, 1.0);
}

/* select_fill.h, over sets: out with what loses least a unit, with what loses nothing, in with what gains most a unit. */
static void fill_plainly(const search *s, signed char in[])
{
    const int64_t money = s->task->money_limit, work = s->task->work_limit;
    signed char after[SMALL_MAX], best[SMALL_MAX];
    for (;;) {
        const select_sums now = sums_of(s, in);
        double least = INFINITY;
        if (now.money <= money && now.work <= work)
            break;
        for (size_t i = 0; i < s->count; i++) {
            if (in[i] != 1 || !moved(s, in, i, after))
                continue;
            const select_sums then = sums_of(s, after);
            const double frees = (now.money > money ? part_of(now.money - then.money, money) : 0.0) +
                                 (now.work > work ? part_of(now.work - then.work, work) : 0.0),
                         loss = (double)(now.score - then.score) / fmax(frees, 1e-12);
            if (loss < least) {
                least = loss;
                memcpy(best, after, s->count);
            }
        }
        if (isinf(least))
            break;
        memcpy(in, best, s->count);
    }
    for (size_t i = 0; i < s->count; i++)
        if (in[i] == 1 && moved(s, in, i, after) && sums_of(s, after).score > sums_of(s, in).score)
            memcpy(in, after, s->count);
    for (;;) {
        const select_sums now = sums_of(s, in);
        double most = 0.0;
        for (size_t i = 0; i < s->count; i++) {
            bool shut_out = false;
            for (size_t j = 0; j < s->count; j++)
                shut_out = shut_out || (in[j] == 1 && has(&s->links.shuts, i, j));
            if (in[i] == 1 || shut_out || !moved(s, in, i, after))
                continue;
            const select_sums then = sums_of(s, after);
            if (then.score <= now.score || then.money > money || then.work > work)
                continue;
            const double gain = (double)(then.score - now.score) /
                                (part_of(then.money - now.money, money) + part_of(then.work - now.work, work) + 1e-6);
            if (gain > most) {
                most = gain;
                memcpy(best, after, s->count);
            }
        }
        if (most <= 0.0)
            break;
        memcpy(in, best, s->count);
    }
}

static void a_set_is_filled_as_said(void **state)
{
    (void)state;
    static small p;
    int changed = 0, over = 0;
    for (uint64_t number = 0; number < 400; number++) {
        ch_stream stream;
        ch_stream_init(&stream, 100, number);
        draw(&stream, 2 + (size_t)below(&stream, SMALL_MAX - 1), 8, &p);
        search *s = new_search(&p);
        fix_some(&stream, s, 2);
        signed char *in = block(s->count, 1), want[SMALL_MAX], from[SMALL_MAX];
        for (size_t i = 0; i < s->count; i++) /* closed, and as fixed */
            in[i] = s->fixed[i] == 1;
        for (int k = below(&stream, 8); k > 0; k--) {
            signed char more[SMALL_MAX];
            const size_t item = (size_t)below(&stream, (int)s->count);
            if (in[item] == 0 && moved(s, in, item, more))
                memcpy(in, more, s->count);
        }
        memcpy(from, in, s->count);
        memcpy(want, in, s->count);
        const select_sums begin = sums_of(s, in);
        if (number % 4 == 1) /* one limit met exactly, the other not */
            p.task.work_limit = begin.work;
        if (number % 4 == 3)
            p.task.money_limit = begin.money;
        fill_plainly(s, want);
        const select_task task = {.task = &p.task, .links = &s->links, .score = s->score, .fixed = s->fixed};
        select_fill(&task, in);
        assert_memory_equal(in, want, s->count);
        assert_true(is_closed(s, in) && agrees_with(in, s->fixed, s->count));
        changed += memcmp(in, from, s->count) != 0;
        over += begin.money > p.task.money_limit || begin.work > p.task.work_limit;
        free(in);
        free_search(s);
    }
    assert_true(changed > 200 && over > 80);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(relations_are_those_of_every_pair),
        cmocka_unit_test(what_follows_is_fixed_and_taken_back),
        cmocka_unit_test(of_all_sets_offered_the_first_in_the_headers_order_is_kept),
        cmocka_unit_test(a_bound_is_worth_looking_behind_from_the_stated_margins_on),
        cmocka_unit_test(what_is_fixed_is_held_to_the_limits_and_is_the_first_column),
        cmocka_unit_test(no_choice_scores_more_than_the_bound_at_any_prices),
        cmocka_unit_test(the_bound_holds_where_scores_are_as_large_as_they_may_be),
        cmocka_unit_test(closures_are_kept_in_turn),
        cmocka_unit_test(the_mixture_is_the_best_of_the_closures_that_agree),
        cmocka_unit_test(the_search_never_leaves_out_what_is_better),
        cmocka_unit_test(a_set_is_filled_as_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
