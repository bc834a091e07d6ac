/* Promises of trace/checks.c: which checks are named, for what they are worth, and with what they begin. */
#include <string.h>

#include "expect.h"
#include "trace_bench.h"

static order_room room;
static ch_trace traced;
static trace_areas areas[2];

/* Cylinder 1 in doubt between rings, exhaust valve and the test; cylinder 2 nearly sound. Areas of half a square millimetre and more. */
static void doubtful(void)
{
    memset(&traced, 0, sizeof traced);
    memset(areas, 0, sizeof areas);
    traced.cylinders = 2;
    for (int i = 0; i < 2; i++) {
        double *cause_1 = traced.cylinder[i].cause_1;
        traced.cylinder[i].cylinder = i + 1;
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            cause_1[c] = 0.005;
        cause_1[CH_CAUSE_RINGS_OR_BORE] = i == 0 ? 0.45 : 0.03;
        cause_1[CH_CAUSE_EXHAUST_VALVE] = i == 0 ? 0.35 : 0.02;
        cause_1[CH_CAUSE_MEASUREMENT_ERROR] = i == 0 ? 0.10 : 0.02;
        cause_1[CH_CAUSE_SOUND] = 0.0;
        double sum = 0.0;
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            sum += cause_1[c];
        cause_1[CH_CAUSE_SOUND] = 1.0 - sum;
        areas[i].ring_m2 = bench.frame.ring_median_m2;
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            for (int g = 0; g < CH_EMULATOR_GRID; g++)
                areas[i].extra[c][g] = bench.dry.area_m2[g] > 0.5e-6 ? bench.frame.area_weight[c][g] : 0.0;
    }
}

static void find(const ch_sheet *sheet)
{
    static const double together_1[CH_CAUSE_COUNT] = {0};
    const checks_known known = {.frame = &bench.frame, .sheet = sheet, .areas = areas, .together_1 = together_1};
    bench.measured = (measured){.cylinders = 2};
    checks_find(&known, &room, &traced);
}

/* Of a check that finds out signs alone: the entropy that its outcomes are expected to take away, signs of a group within one check once only
 * where they say much the same. */
static double worth(const ch_knowledge_check *check, int i)
{
    const double *cause_1 = traced.cylinder[i].cause_1, none[CH_CAUSE_COUNT] = {0};
    double yes_1[8][CH_CAUSE_COUNT], after = 0.0, before = 0.0;
    int signs = 0;
    long group = CH_NO_GROUP;
    for (size_t y = 0; y < check->yields.count; y++) {
        const ch_knowledge_observation *sign = &knowledge.observations[check->yields.at[y]];
        if (sign->group != CH_NO_GROUP && sign->group == group && knowledge.groups[sign->group].further_1 < 0.35)
            continue;
        if (signs == 8)
            return NAN;
        outcomes_of_sign(sign, &traced, none, i, yes_1[signs++]);
        group = sign->group;
    }
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        before -= cause_1[c] > 0.0 ? cause_1[c] * log2(cause_1[c]) : 0.0;
    for (int outcome = 0; outcome < 1 << signs; outcome++) {
        double given[CH_CAUSE_COUNT], chance = 0.0;
        for (int c = 0; c < CH_CAUSE_COUNT; c++) {
            given[c] = cause_1[c];
            for (int k = 0; k < signs; k++)
                given[c] *= outcome >> k & 1 ? yes_1[k][c] : 1.0 - yes_1[k][c];
            chance += given[c];
        }
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            after -= given[c] > 0.0 ? given[c] * log2(given[c] / chance) : 0.0;
    }
    return before - after;
}

static void checks_are_worth_what_their_outcomes_tell(void **state)
{
    (void)state;
    assert_true(traced.next_check_count > 3);
    int compared = 0;
    for (size_t k = 0; k < traced.next_check_count; k++) {
        const ch_trace_check *one = &traced.next_check[k];
        const double minutes = (one->check->setup_s + one->check->each_s) / 60.0;
        expect_close(one->minutes, minutes, 1e-12);
        assert_true(one->bits_1 >= 0.10 && one->bits_1 >= 0.0015 * minutes); /* docs/method.md: else not worth naming */
        assert_int_equal(one->cylinder == 0, one->check->scope == CH_SCOPE_ENGINE);
        for (size_t m = 0; m < k; m++) /* each at most on two cylinders, on the engine once */
            assert_true(traced.next_check[m].check != one->check ||
                        (one->cylinder != 0 && traced.next_check[m].cylinder != one->cylinder));
        if (one->check->rows == 0 && one->cylinder == 1) {
            const double bits = worth(one->check, 0);
            if (!isnan(bits)) {
                expect_close(one->bits_1, bits, 1e-9);
                compared++;
            }
        }
    }
    assert_true(compared > 1);
    /* the doubtful cylinder is looked at first */
    assert_true(traced.next_check[0].cylinder != 2);
}

static void a_check_that_is_left_out_is_not_worth_it(void **state)
{
    (void)state;
    for (size_t k = 0; k < knowledge.checks_count; k++) {
        const ch_knowledge_check *check = &knowledge.checks[k];
        bool named = traced.next_check_count == CH_TRACE_CHECKS_MAX;
        for (size_t m = 0; m < traced.next_check_count; m++)
            named = named || traced.next_check[m].check == check;
        const double bits = check->rows == 0 ? worth(check, 0) : 0.0, minutes = (check->setup_s + check->each_s) / 60.0;
        assert_true(named || isnan(bits) || bits < 0.10 || bits < 0.0015 * minutes);
    }
}

static void what_is_prepared_takes_its_time_and_stands_for_the_next(void **state)
{
    (void)state;
    for (size_t p = 0; p < knowledge.preparations_count; p++)
        expect_close(room.preparation_minutes[p], knowledge.preparations[p].time_s / 60.0, 1e-12);
    assert_true(room.candidates > 3);
    for (int k = 0; k < room.candidates; k++) {
        const order_candidate *one = &room.candidate[k];
        const ch_knowledge_check *check = &knowledge.checks[one->check];
        unsigned prepares = 0;
        for (size_t p = 0; p < check->prepares.count; p++)
            prepares |= 1U << check->prepares.at[p];
        assert_int_equal(one->prepares, prepares);
        assert_true(one->runs == check->runs && one->oils == check->last &&
                    one->reads == (check->rows != 0 && !check->last));
        expect_close(one->minutes, (check->setup_s + check->each_s) / 60.0, 1e-12);
        assert_true(one->bits_1 >= 0.01 && one->count > 0);
    }
}

static void what_was_seen_is_not_looked_for_again(void **state)
{
    (void)state;
    int tried = 0;
    for (size_t k = 0; k < knowledge.checks_count && tried < 2; k++) {
        const ch_knowledge_check *check = &knowledge.checks[k];
        if (check->rows != 0 || check->yields.count != 1)
            continue;
        tried++;
        const ch_knowledge_observation *sign = &knowledge.observations[check->yields.at[0]];
        char name[64];
        snprintf(name, sizeof name, "%s", sign->id);
        ch_observation seen_1[] = {{.what = name, .cylinder = sign->scope == CH_SCOPE_ENGINE ? 0 : 1}};
        ch_sheet sheet = bench.sheet;
        sheet.observed = seen_1;
        sheet.observed_count = 1;
        doubtful();
        find(&sheet);
        for (size_t m = 0; m < traced.next_check_count; m++)
            assert_false(traced.next_check[m].check == check && traced.next_check[m].cylinder < 2);
    }
    assert_int_equal(tried, 2);
}

/* The bench, and its checks once for the tests that only look at them. */
static int load_and_find(void **state)
{
    if (load(state) != 0)
        return -1;
    doubtful();
    find(&bench.sheet);
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(checks_are_worth_what_their_outcomes_tell),
        cmocka_unit_test(a_check_that_is_left_out_is_not_worth_it),
        cmocka_unit_test(what_is_prepared_takes_its_time_and_stands_for_the_next),
        cmocka_unit_test(what_was_seen_is_not_looked_for_again),
    };
    return cmocka_run_group_tests(tests, load_and_find, unload);
}
