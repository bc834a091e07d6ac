/*
 * Promises of trace/checks.c: which checks are named, for what they are worth, and with what they begin; and of trace/outcomes.c: what a leak-down and a wet
 * test may find where one hole of a known size is the cause.
 */
#include <string.h>

#include "crosshatch/leakdown.h"
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

/* Cylinders 1 and 2 read dry so many times. */
static void find_with(const ch_sheet *sheet, size_t first, size_t second)
{
    static const double together_1[CH_CAUSE_COUNT] = {0};
    const checks_known known = {.frame = &bench.frame, .sheet = sheet, .areas = areas, .together_1 = together_1};
    bench.measured = (measured){.cylinders = 2};
    bench.measured.cylinder[0].dry.n = first;
    bench.measured.cylinder[1].dry.n = second;
    checks_find(&known, &room, &traced);
}

static void find(const ch_sheet *sheet)
{
    find_with(sheet, 1, 1);
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
    /* of the cylinder that was looked at last, whatever is worth naming */
    int like[2] = {0, 0};
    for (int k = 0; k < room.candidates; k++)
        for (int i = 0; i < 2; i++) {
            const ch_knowledge_check *check = &knowledge.checks[room.candidate[k].check];
            like[i] += check->rows == 0 && fabs(room.candidate[k].bits_1 - worth(check, i)) < 1e-9;
        }
    const int last = like[0] > like[1] ? 0 : 1;
    for (int k = 0; k < room.candidates; k++) {
        const ch_knowledge_check *check = &knowledge.checks[room.candidate[k].check];
        const double bits = check->rows == 0 ? worth(check, last) : NAN;
        if (!isnan(bits)) {
            expect_close(room.candidate[k].bits_1, bits, 1e-9);
            compared++;
        }
    }
    assert_true(compared > 3);
    /* the doubtful cylinder is looked at first */
    assert_true(traced.next_check[0].cylinder != 2);
}

/* The gauge is in the hand: a cylinder that was not read is read, before anything else of it is looked at. */
static void what_was_not_read_waits_for_its_reading(void **state)
{
    (void)state;
    const ch_sheet sheet = {.engine.cylinders = 2};
    bool named[3] = {false}; /* a check of cylinder 1, by which were read: none, the second, both */
    for (size_t read = 0; read < 3; read++) {
        doubtful();
        find_with(&sheet, read > 1, read > 0);
        for (size_t k = 0; k < traced.next_check_count; k++)
            named[read] = named[read] || traced.next_check[k].cylinder == 1;
    }
    assert_true(named[0] && !named[1] && named[2]);
}

static void what_must_not_be_cranked_is_not(void **state)
{
    (void)state;
    static const double together_1[CH_CAUSE_COUNT] = {0};
    static const char BARE[] = "{sheet: 1, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: 9 bar}]}";
    size_t cranked[2] = {0}, still[2] = {0};
    ch_sheet sheet;
    assert_int_equal(ch_sheet_parse("bare", BARE, sizeof BARE - 1, &sheet, NULL), CH_OK);
    for (int stop = 0; stop < 2; stop++) {
        const checks_known known = {
            .frame = &bench.frame, .sheet = &sheet, .areas = areas, .together_1 = together_1, .do_not_run = stop == 1};
        doubtful();
        bench.measured = (measured){.cylinders = 2};
        bench.measured.cylinder[0].dry.n = bench.measured.cylinder[1].dry.n = 1;
        checks_find(&known, &room, &traced);
        for (size_t k = 0; k < traced.next_check_count; k++)
            *(ch_knowledge_check_cranks(traced.next_check[k].check) ? &cranked[stop] : &still[stop]) += 1;
    }
    ch_sheet_clear(&sheet);
    assert_true(cranked[0] > 0 && still[0] > 0);
    assert_int_equal(cranked[1], 0);
    assert_true(still[1] >= still[0]);
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

/* A reading that was never taken cannot be taken again, nor come back by itself. */
static void what_was_never_read_is_not_read_again(void **state)
{
    (void)state;
    const ch_sheet sheet = {.engine.cylinders = 2};
    bool again[3][2] = {{false}}; /* by which cylinder was read: none, the first, both */
    for (size_t read = 0; read < 3; read++) {
        doubtful();
        find_with(&sheet, read > 0, read > 1);
        assert_true(traced.next_check_count > 0);
        for (size_t k = 0; k < traced.next_check_count; k++)
            if (traced.next_check[k].check->rows == CH_ROWS_COMPRESSION)
                again[read][traced.next_check[k].cylinder - 1] = true;
    }
    assert_false(again[0][0] || again[0][1] || again[1][1]);
    assert_true(again[1][0] && again[2][0]);
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

/* A sign is found or it is not, under every cause. */
static void findings_are_chances_under_every_cause(void **state)
{
    (void)state;
    assert_true(room.findings > 3);
    for (int f = 0; f < room.findings; f++)
        for (int c = 0; c < CH_CAUSE_COUNT; c++) {
            double sum = 0.0;
            for (int o = 0; o < room.finding[f].outcomes; o++) {
                const double chance = (double)room.row[room.finding[f].full + o][c];
                assert_true(chance >= 0.0 && chance <= 1.0 + 1e-6);
                sum += chance;
            }
            expect_close(sum, 1.0, 1e-4); /* kept as floats */
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

/* Areas of one hole alone: all the weight of a cause on one grid point. */
static trace_areas one_hole(ch_cause cause, int g)
{
    trace_areas one = {.ring_m2 = bench.frame.ring_median_m2};
    one.extra[cause][g] = 1.0;
    return one;
}

static double normal(double score)
{
    return 0.5 * erfc(-score / sqrt(2.0));
}

/* The loss falls into a band as the area at rest, log-normal by 0.5 about what leaks, lies between those that lose the band's ends; what is heard is
 * noted where the path is open enough, at the oil filler by who listens. Two tests in a hundred go astray. 2e-3: the frame reads areas off a table of 128 losses. */
static void a_leak_down_test_finds_what_the_hole_loses(void **state)
{
    (void)state;
    static const double edge_1[] = {0.06, 0.12, 0.20, 0.35, 0.60};
    static const struct {
        ch_cause cause;
        int path, ear;
    } holes[] = {{CH_CAUSE_EXHAUST_VALVE, CH_PATH_EXHAUST_VALVE, 1},
                 {CH_CAUSE_INTAKE_VALVE, CH_PATH_INTAKE_VALVE, 0},
                 {CH_CAUSE_SOUND, -1, -1}};
    const double orifice_m2 = ch_leakdown_orifice_area_m2(ch_leakdown_orifice_m(bench.setup.cranking.bore.bore_m), 0.8);
    const ch_leakdown_tester tester = {.supply_gauge_pa = 80.0 * 6894.757,
                                       .orifice_area_m2 = orifice_m2,
                                       .ambient_pa = bench.setup.cranking.ambient_pa,
                                       .air_k = bench.setup.cranking.air_k,
                                       .cylinder_k = bench.setup.cranking.wall_k};
    const ch_knowledge_hearing *h = &knowledge.hearing;
    for (size_t k = 0; k < sizeof holes / sizeof holes[0]; k++)
        for (int g = 20; g < CH_EMULATOR_GRID; g += 25) {
            static outcome_table t;
            const trace_areas one = one_hole(holes[k].cause, g);
            outcomes_of_leakdown(&bench.frame, &one, &t);
            double path_m2[CH_PATH_COUNT], total_m2 = 0.0;
            for (int p = 0; p < CH_PATH_COUNT; p++) {
                path_m2[p] = p == CH_PATH_RINGS ? 1.5 * bench.frame.ring_median_m2 : knowledge.background_m2[p].median;
                path_m2[p] += p == holes[k].path ? bench.dry.area_m2[g] : 0.0;
                total_m2 += path_m2[p];
            }
            double band_1[6] = {0}, heard_1[5] = {0}, sum = 0.0;
            for (int o = 0; o < t.count; o++) {
                sum += t.chance[holes[k].cause][o];
                band_1[o % 6] += t.chance[holes[k].cause][o];
                for (int e = 0; e < 5; e++)
                    heard_1[e] += (o / 6) >> e & 1 ? t.chance[holes[k].cause][o] : 0.0;
            }
            expect_close(sum, 1.0, 1e-12);
            double below = 0.0, found = 0.0;
            for (int b = 0; b < 5; b++) {
                double area_m2;
                assert_int_equal(ch_leakdown_area_m2(&tester, edge_1[b], &area_m2, NULL), CH_OK);
                below += band_1[b];
                found = normal(log(area_m2 / total_m2) / 0.5);
                expect_close(below, 0.98 * found + 0.02 * (b + 1) / 6.0, 2e-3);
            }
            const int ear_path[] = {CH_PATH_INTAKE_VALVE, CH_PATH_EXHAUST_VALVE, CH_PATH_RINGS, CH_PATH_COOLANT,
                                    CH_PATH_NEIGHBOUR};
            const double false_1[] = {h->false_intake_1, h->false_exhaust_1, h->false_oil_filler_1, h->false_coolant_1,
                                      h->false_cylinder_1};
            for (int e = 0; e < 5; e++) {
                const double here_m2 = path_m2[ear_path[e]];
                /* Air past the rings: by any listener, whose least area is log-normal, with what is left to chance on top. */
                double open_1 = ear_path[e] == CH_PATH_RINGS
                                    ? normal(log(here_m2 / h->least_oil_filler_m2) /
                                             hypot(h->listeners_spread_1, h->oil_filler_blur_1))
                                : here_m2 >= h->least_m2 ? 1.0
                                                         : 0.0;
                open_1 = here_m2 >= h->share_1 * total_m2 ? open_1 : 0.0;
                expect_close(heard_1[e], 0.98 * (open_1 * h->noted_1 + (1.0 - open_1) * false_1[e]) + 0.01, 1e-9);
            }
        }
}

/* Oil closes the rings to 0.35 of their area: the rise over a sound cylinder's is that of the two readings, scattered by 0.07. */
static void a_wet_test_finds_what_oil_closes(void **state)
{
    (void)state;
    static const double edge_1[] = {1.04, 1.12, 1.25, 1.60};
    const double offset[CH_DOUBT_COUNT] = {0}, ring_m2 = bench.frame.ring_median_m2, beside_m2 = bench.frame.beside_m2;
    bench.measured = (measured){.cylinders = 2};
    for (int g = 20; g < CH_EMULATOR_GRID; g += 25)
        for (int rings = 0; rings < 2; rings++) {
            static outcome_table t;
            const ch_cause cause = rings ? CH_CAUSE_RINGS_OR_BORE : CH_CAUSE_EXHAUST_VALVE;
            const trace_areas one = one_hole(cause, g);
            outcomes_of_wet(&bench.frame, &one, 0, &t);
            const double hole_m2 = bench.dry.area_m2[g], sealed_1 = rings ? knowledge.causes[cause].oil_seals_1 : 0.0;
            const double sound_1 = (ch_emulator_reading_pa(&bench.dry, offset, 0.35 * ring_m2) + 10e3) /
                                   (ch_emulator_reading_pa(&bench.dry, offset, ring_m2) + 10e3);
            double below = 0.0;
            for (int b = 0; b < 4; b++) {
                double found = 0.0;
                for (int sealed = 0; sealed < 2; sealed++) {
                    const double wet_m2 = 0.35 * ring_m2 + (sealed ? 0.35 : 1.0) * hole_m2 + beside_m2;
                    const double rise_1 =
                        (ch_emulator_reading_pa(&bench.dry, offset, wet_m2) + 10e3) /
                        (ch_emulator_reading_pa(&bench.dry, offset, ring_m2 + hole_m2 + beside_m2) + 10e3) / sound_1;
                    found += (sealed ? sealed_1 : 1.0 - sealed_1) * normal(log(edge_1[b] / rise_1) / 0.07);
                }
                below += t.chance[cause][b];
                expect_close(below, 0.98 * found + 0.02 * (b + 1) / 5.0,
                             1e-2); /* read between the stand-in's places in another way */
            }
        }
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
        cmocka_unit_test(what_was_never_read_is_not_read_again),
        cmocka_unit_test(what_is_prepared_takes_its_time_and_stands_for_the_next),
        cmocka_unit_test(a_leak_down_test_finds_what_the_hole_loses),
        cmocka_unit_test(a_wet_test_finds_what_oil_closes),
        cmocka_unit_test(findings_are_chances_under_every_cause),
        cmocka_unit_test(what_was_seen_is_not_looked_for_again),
        cmocka_unit_test(what_was_not_read_waits_for_its_reading),
        cmocka_unit_test(what_must_not_be_cranked_is_not),
    };
    return cmocka_run_group_tests(tests, load_and_find, unload);
}
