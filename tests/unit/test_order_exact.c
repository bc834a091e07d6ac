/*
 * Promises of trace/order.c where nothing is left to chance: every finding is certain under every cause, so that what an order is worth can be counted cause by
 * cause, with its minutes for oil that has to burn off, for what stands prepared, and for findings that several checks share.
 */
#include <math.h>
#include <string.h>

#include "../../src/trace/parts.h"
#include "crosshatch/sampling.h"
#include "expect.h"

enum { CHECKS = 5, FINDINGS = 6, CAUSES = 6, PREPARATIONS = 3, ORDERS = 120 };

static order_room room;
static bool shows[FINDINGS][CH_CAUSE_COUNT];

static size_t below(ch_stream *stream, size_t n)
{
    return (size_t)((double)n * ch_stream_uniform(stream));
}

static void draw_room(ch_stream *stream, double cause_1[CH_CAUSE_COUNT])
{
    double total = 0.0;
    room.rows = room.findings = room.candidates = 0;
    room.standing = (unsigned)below(stream, 1U << PREPARATIONS);
    memset(cause_1, 0, CH_CAUSE_COUNT * sizeof *cause_1);
    for (size_t c = 0; c < CAUSES; c++)
        total += cause_1[2 * c % CH_CAUSE_COUNT] = 0.1 + ch_stream_uniform(stream);
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        cause_1[c] /= total;
    for (int f = 0; f < FINDINGS; f++) {
        double chance[CH_CAUSE_COUNT][2];
        for (int c = 0; c < CH_CAUSE_COUNT; c++) {
            shows[f][c] = ch_stream_uniform(stream) < 0.4;
            chance[c][0] = shows[f][c] ? 1.0 : 0.0;
            chance[c][1] = 1.0 - chance[c][0];
        }
        assert_int_equal(order_finding_add(&room, chance[0], 2, 2, 1.0), f);
    }
    for (int p = 0; p < CH_PREPARATIONS_MAX; p++)
        room.preparation_minutes[p] = p < PREPARATIONS ? 2.0 + 3.0 * p : 0.0;
    for (int k = 0; k < CHECKS; k++) {
        order_candidate *one = &room.candidate[room.candidates++];
        *one = (order_candidate){.minutes = 25.0 + 40.0 * ch_stream_uniform(stream),
                                 .bits_1 = ch_stream_uniform(stream),
                                 .reads = below(stream, 3) == 0,
                                 .oils = below(stream, 4) == 0,
                                 .runs = below(stream, 4) == 0,
                                 .prepares = (unsigned)below(stream, 1U << PREPARATIONS)};
        bool has[FINDINGS] = {false};
        for (size_t n = 1 + below(stream, 3); n > 0; n--) {
            const size_t f = below(stream, FINDINGS);
            if (!has[f])
                one->finding[one->count++] = (int)f;
            has[f] = true;
        }
    }
}

/* The doubt before each check and behind the last, and the minutes of each; returns minutes times doubt. */
static double worth(const double cause_1[CH_CAUSE_COUNT], const int order[CHECKS], double doubt_1[CHECKS + 1],
                    double minutes[CHECKS])
{
    unsigned standing = room.standing;
    bool oil = false, known[CHECKS + 1][FINDINGS] = {{false}};
    double sum = 0.0;
    for (int k = 0; k < CHECKS; k++) {
        const order_candidate *one = &room.candidate[order[k]];
        if (one->runs) /* what stood prepared is put back before the engine runs */
            standing = 0;
        minutes[k] = one->minutes + (oil && one->reads ? 20.0 : 0.0);
        for (int p = 0; p < PREPARATIONS; p++)
            if ((standing & one->prepares & 1U << p) != 0)
                minutes[k] -= room.preparation_minutes[p];
        standing |= one->prepares;
        if (one->reads)
            oil = false; /* burnt off */
        if (one->oils)
            oil = true;
        memcpy(known[k + 1], known[k], sizeof known[k]);
        for (int n = 0; n < one->count; n++)
            known[k + 1][one->finding[n]] = true;
    }
    for (int k = 0; k <= CHECKS; k++)
        doubt_1[k] = 0.0;
    for (int truth = 0; truth < CH_CAUSE_COUNT; truth++) {
        for (int k = 0; k <= CHECKS && cause_1[truth] > 0.0; k++) {
            double like = 0.0;
            for (int c = 0; c < CH_CAUSE_COUNT; c++) {
                bool same = true;
                for (int f = 0; f < FINDINGS; f++)
                    same = same && (!known[k][f] || shows[f][c] == shows[f][truth]);
                like += same ? cause_1[c] : 0.0;
            }
            const double doubt = 1.0 - cause_1[truth] / like;
            if (doubt <= 0.1) /* sure */
                break;
            doubt_1[k] += cause_1[truth] * doubt;
            sum += k < CHECKS ? cause_1[truth] * doubt * minutes[k] : 0.0;
        }
    }
    return sum;
}

static double least_of_all_orders(const double cause_1[CH_CAUSE_COUNT])
{
    double least = INFINITY;
    for (int number = 0; number < CHECKS * CHECKS * CHECKS * CHECKS * CHECKS; number++) {
        const int order[CHECKS] = {number % 5, number / 5 % 5, number / 25 % 5, number / 125 % 5, number / 625};
        unsigned used = 0;
        for (int k = 0; k < CHECKS; k++)
            used |= 1U << order[k];
        double doubt_1[CHECKS + 1], minutes[CHECKS];
        if (used == (1U << CHECKS) - 1)
            least = fmin(least, worth(cause_1, order, doubt_1, minutes));
    }
    return least;
}

static void certain_findings_are_ordered_as_well_as_moves_and_swaps_can(void **state)
{
    (void)state;
    enum { ROOMS = 80 };
    int best = 0;
    for (uint64_t number = 0; number < ROOMS; number++) {
        ch_stream stream;
        double cause_1[CH_CAUSE_COUNT], doubt_1[CHECKS + 1], minutes[CHECKS];
        ch_stream_init(&stream, 23, number);
        draw_room(&stream, cause_1);
        int order[ORDER_CANDIDATES_MAX];
        order_find(&room, cause_1, order);
        const double found = worth(cause_1, order, doubt_1, minutes);
        best += found <= 1.0001 * least_of_all_orders(cause_1);
        /* no move of one check and no swap of two betters it */
        for (int from = 0; from < CHECKS; from++)
            for (int to = 0; to < CHECKS; to++)
                for (int way = 0; way < 2; way++) {
                    int other[CHECKS];
                    double unused[CHECKS + 1], unused_minutes[CHECKS];
                    memcpy(other, order, sizeof other);
                    const int moved = other[from];
                    if (way == 0) {
                        memmove(other + from, other + from + 1, (size_t)(CHECKS - 1 - from) * sizeof *other);
                        memmove(other + to + 1, other + to, (size_t)(CHECKS - 1 - to) * sizeof *other);
                    } else {
                        other[from] = other[to];
                    }
                    other[to] = moved;
                    assert_true(worth(cause_1, other, unused, unused_minutes) >= 0.99999 * found);
                }
        /* Doubt taken away a minute: the slope at its place of the least curve above all, by the formula of isotonic regression. */
        for (int k = 0; k < CHECKS; k++) {
            double slope = INFINITY, from_minutes = 0.0;
            for (int a = k; a >= 0; a--) {
                double steepest = -INFINITY, upto = 0.0;
                from_minutes += a < k ? minutes[a] : 0.0;
                for (int b = k; b < CHECKS; b++) {
                    upto += minutes[b];
                    steepest = fmax(steepest, (doubt_1[a] - doubt_1[b + 1]) / (from_minutes + upto));
                }
                slope = fmin(slope, steepest);
            }
            expect_close(room.candidate[order[k]].doubt_per_minute, slope, 1e-6);
        }
    }
    assert_true(best >= 0.9 * ROOMS);
}

/* What a finding counts where something of its group is known already: each chance to the power of the group's share. */
static void a_further_finding_of_a_group_has_its_chances_to_the_power_of_the_share(void **state)
{
    (void)state;
    double chance[CH_CAUSE_COUNT][5];
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        for (int o = 0; o < 5; o++)
            chance[c][o] = 0.02 + 0.01 * c + 0.05 * o;
    room.rows = room.findings = 0;
    for (int grouped = 0; grouped < 2; grouped++) {
        const int at = order_finding_add(&room, chance[0], 5, 3, grouped ? 0.3 : 1.0);
        assert_int_equal(at, grouped);
        const order_finding *f = &room.finding[at];
        assert_int_equal(f->outcomes, 3);
        assert_int_equal(f->full, grouped ? 3 : 0);
        assert_int_equal(f->further, grouped ? 6 : 0);
        for (int o = 0; o < 3; o++)
            for (int c = 0; c < ORDER_CAUSES; c++) {
                const double want = c < CH_CAUSE_COUNT ? chance[c][o] : 0.0;
                expect_close((double)room.row[f->full + o][c], want, 1e-7);
                expect_close((double)room.row[f->further + o][c], grouped ? pow(want, 0.3) : want, 1e-7);
            }
    }
    assert_int_equal(room.rows, 9);
    room.rows = ORDER_ROWS_MAX - 9; /* one row too few for five outcomes and five further ones */
    room.findings = 1;
    assert_int_equal(order_finding_add(&room, chance[0], 5, 5, 0.3), -1);
    room.rows--;
    assert_int_equal(order_finding_add(&room, chance[0], 5, 5, 0.3), 1);
    assert_int_equal(room.rows, ORDER_ROWS_MAX);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(certain_findings_are_ordered_as_well_as_moves_and_swaps_can),
        cmocka_unit_test(a_further_finding_of_a_group_has_its_chances_to_the_power_of_the_share),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
