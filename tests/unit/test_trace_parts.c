/* Promises of the pieces of the tracing, one by one. The sums over causes have their own check against enumeration in
 * test_exact_causes.c. */
#include "../../src/trace/parts.h"
#include "crosshatch/prior.h"
#include "crosshatch/sampling.h"
#include "expect.h"
#include "trace_bench.h"

#include <gsl/gsl_cdf.h>
#include <stdlib.h>
#include <string.h>

/* ---- Mixtures and areas ---- */

static double mixture_below(const ch_mixture *mixture, double x)
{
    double sum = 0.0;
    for (size_t i = 0; i < mixture->count; i++)
        sum +=
            mixture->part[i].weight_1 * gsl_cdf_lognormal_P(x, log(mixture->part[i].median), mixture->part[i].spread_1);
    return sum;
}

static void quantile_of_a_mixture_turns_its_distribution_round(void **state)
{
    (void)state;
    const double p[] = {1e-4, 0.01, 0.2, 0.5, 0.77, 0.99, 0.9999};
    int met = 0;
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        const ch_mixture *all[] = {&knowledge.causes[c].areas_m2, &knowledge.causes[c].filling_1,
                                   &knowledge.causes[c].reading_1};
        for (size_t k = 0; k < 3; k++)
            for (size_t i = 0; all[k]->count > 0 && i < sizeof p / sizeof p[0]; i++, met++)
                /* fifty halvings of some ten e-folds leave 1e-14 of the logarithm */
                expect_close(mixture_below(all[k], mixture_quantile(all[k], p[i])), p[i], 1e-12);
    }
    assert_true(met > 50);
    const ch_mixture one = {.count = 1, .part = {{.weight_1 = 1.0, .median = 2.5, .spread_1 = 0.7}}};
    expect_relative(mixture_quantile(&one, 0.9), 2.5 * exp(0.7 * ch_normal_quantile(0.9)), 1e-12);
}

static void weights_of_the_areas_add_up_and_follow_the_distribution(void **state)
{
    (void)state;
    const double *area_m2 = bench.dry.area_m2;
    int seal = 0;
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        const ch_knowledge_cause *cause = &knowledge.causes[c];
        const ch_mixture *areas = &cause->areas_m2;
        /* Where nothing but a leak is wrong and none is opened, no area is added: in units of the chance that one is. */
        const bool seals = areas->count > 0 && cause->filling_1.count == 0 && cause->no_path_chance_1 > 0.0;
        const double none = seals ? cause->no_path_chance_1 / (1.0 - cause->no_path_chance_1) : 0.0;
        double sum = -none;
        seal += seals;
        for (int g = 0; g < CH_EMULATOR_GRID; g++) {
            assert_true(bench.frame.area_weight[c][g] >= (g == 0 ? none : 0.0));
            sum += bench.frame.area_weight[c][g];
            if (areas->count > 0 && g + 1 < CH_EMULATOR_GRID) {
                assert_true(sum >= mixture_below(areas, area_m2[g]) - 1e-12); /* the edge lies between the points */
                assert_true(sum <= mixture_below(areas, area_m2[g + 1]) + 1e-12);
            }
        }
        expect_close(sum, areas->count > 0 ? 1.0 : 0.0, 1e-12);
    }
    assert_int_equal(seal, 1); /* the rings: oil rings that are worn under gas rings that hold */
}

static void worn_rings_of_a_whole_engine_seal_with_the_chance_that_is_known(void **state)
{
    (void)state;
    const ch_knowledge_cause *rings = &knowledge.causes[CH_CAUSE_RINGS_OR_BORE];
    const level_range levels = bench.frame.levels[CH_CAUSE_RINGS_OR_BORE];
    int without = 0;
    double sum = 0.0;
    assert_int_equal(levels.count, AREA_LEVELS);
    for (int j = 0; j < levels.count; j++) {
        const double weight = bench.frame.level_weight[levels.from + j];
        double at_nothing = bench.frame.level_area[CH_CAUSE_RINGS_OR_BORE][0][j], all = 0.0;
        for (int g = 0; g < CH_EMULATOR_GRID; g++)
            all += bench.frame.level_area[CH_CAUSE_RINGS_OR_BORE][g][j];
        expect_close(all, 1.0, 1e-12);
        assert_true(at_nothing == 0.0 || at_nothing == 1.0);
        if (at_nothing == 1.0) {
            without++;
            expect_close(weight, rings->no_path_chance_1, 1e-12);
        }
        sum += weight;
    }
    assert_int_equal(without, 1);
    expect_close(sum, 1.0, 1e-12);
    const level_range valves = bench.frame.levels[CH_CAUSE_EXHAUST_VALVE];
    for (int j = 0; j < valves.count; j++)
        expect_close(bench.frame.level_area[CH_CAUSE_EXHAUST_VALVE][0][j], 0.0, 0.0);
}

/* ---- What was seen ---- */

static const ch_knowledge_observation *observation(const char *name)
{
    const ch_knowledge_observation *found = ch_knowledge_observation_find(&knowledge, name, strlen(name));
    assert_non_null(found);
    return found;
}

static ch_quantity distance(double si)
{
    return (ch_quantity){.si = si, .unit = ch_unit_find("km", 2)};
}

/* What seen_from_sheet makes of some rows on an engine of n cylinders. */
static ch_status seen_of(int cylinders, double odometer_m, const ch_observation rows[], size_t n, seen *s, ch_err *err)
{
    ch_sheet sheet;
    ch_sheet_init(&sheet);
    sheet.engine.cylinders = cylinders;
    if (!isnan(odometer_m))
        sheet.conditions.odometer = distance(odometer_m);
    ch_observation *copy = calloc(n + 1, sizeof *copy);
    assert_non_null(copy);
    memcpy(copy, rows, n * sizeof *copy);
    sheet.observed = copy;
    sheet.observed_count = n;
    const ch_status rc = seen_from_sheet(&sheet, &knowledge, s, err);
    free(copy);
    return rc;
}

static char WET_PLUG[] = "wet_plug", MISFIRE[] = "misfire_cylinder", OILY_PLUG[] = "oily_plug",
            BLUE_SMOKE[] = "blue_smoke_load", OIL_USE[] = "oil_use_high", OVERHEATED[] = "overheated",
            OVER_REVVED[] = "over_revved", HIGH_MILEAGE[] = "high_mileage", RUNS_HOT[] = "runs_hot";

static void strongest_of_a_group_counts_in_full_and_the_next_by_its_share(void **state)
{
    (void)state;
    const ch_knowledge_observation *wet = observation(WET_PLUG), *misfire = observation(MISFIRE);
    assert_true(wet->group == misfire->group && wet->group != CH_NO_GROUP);
    const double share = knowledge.groups[wet->group].further_1;
    assert_true(share < 1.0);
    const ch_observation same[] = {{.what = WET_PLUG, .cylinder = 2}, {.what = MISFIRE, .cylinder = 2}};
    const ch_observation turned[] = {same[1], same[0]};
    const ch_observation apart[] = {{.what = WET_PLUG, .cylinder = 1}, {.what = MISFIRE, .cylinder = 2}};
    seen s, t;
    assert_int_equal(seen_of(3, NAN, same, 2, &s, NULL), CH_OK);
    assert_int_equal(seen_of(3, NAN, turned, 2, &t, NULL), CH_OK);
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        /* The chance of a misfire differs more from cause to cause than that of a wet plug: it is the stronger. */
        expect_close(s.log_1[1][c], log(misfire->positive_1[c]) + share * log(wet->positive_1[c]), 1e-14);
        expect_close(t.log_1[1][c], s.log_1[1][c], 0.0);
        expect_close(s.log_1[0][c], 0.0, 0.0);
        expect_close(s.log_1[2][c], 0.0, 0.0);
    }
    assert_int_equal(seen_of(3, NAN, apart, 2, &s, NULL), CH_OK);
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        expect_close(s.log_1[0][c], log(wet->positive_1[c]), 1e-14);
        expect_close(s.log_1[1][c], log(misfire->positive_1[c]), 1e-14);
    }
}

static void two_signs_of_the_engine_share_a_group_too(void **state)
{
    (void)state;
    const ch_knowledge_observation *smoke = observation(BLUE_SMOKE), *use = observation(OIL_USE);
    assert_true(smoke->group == use->group);
    const double share = knowledge.groups[use->group].further_1;
    const ch_observation rows[] = {{.what = OIL_USE}, {.what = BLUE_SMOKE}};
    seen s;
    assert_int_equal(seen_of(4, NAN, rows, 2, &s, NULL), CH_OK);
    assert_int_equal(s.shared_count, 2);
    /* Blue smoke under load differs more from cause to cause than oil use: the smoke comes first. */
    expect_close(s.shared[0].base_1, 1.0 - smoke->positive_1[CH_CAUSE_SOUND], 1e-14);
    const double usual = pow(use->positive_1[CH_CAUSE_SOUND], share);
    expect_close(s.shared[1].base_1, 1.0 - usual, 1e-14);
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        /* One faulty cylinder: the chance is that of its cause, to the power of the share. */
        expect_close(1.0 - s.shared[0].base_1 * s.shared[0].clear_1[c], smoke->positive_1[c], 1e-14);
        expect_close(1.0 - s.shared[1].base_1 * s.shared[1].clear_1[c], pow(use->positive_1[c], share), 1e-14);
    }
}

static void what_was_looked_for_in_vain_counts_with_its_complement(void **state)
{
    (void)state;
    const ch_knowledge_observation *oily = observation(OILY_PLUG), *hot = observation(RUNS_HOT);
    const ch_observation rows[] = {{.what = OILY_PLUG, .cylinder = 1, .absent = true},
                                   {.what = RUNS_HOT, .absent = true}};
    seen s;
    assert_int_equal(seen_of(2, NAN, rows, 2, &s, NULL), CH_OK);
    assert_int_equal(s.shared_count, 0);
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        const double over = log((1.0 - hot->positive_1[c]) / (1.0 - hot->positive_1[CH_CAUSE_SOUND]));
        expect_close(s.log_1[0][c], log(1.0 - oily->positive_1[c]) + over, 1e-14);
        expect_close(s.log_1[1][c], over, 1e-14);
        expect_close(s.log_together[c], over, 1e-14);
    }
}

/* Nowhere: looked for in every cylinder, so each of them counts as it would by itself. */
static void what_no_cylinder_shows_counts_in_each(void **state)
{
    (void)state;
    const ch_knowledge_observation *oily = observation(OILY_PLUG);
    const ch_observation rows[] = {{.what = OILY_PLUG, .cylinder = 0, .absent = true}};
    seen s;
    assert_int_equal(seen_of(3, NAN, rows, 1, &s, NULL), CH_OK);
    assert_int_equal(s.shared_count, 0);
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        for (int i = 0; i < 3; i++)
            expect_close(s.log_1[i][c], log(1.0 - oily->positive_1[c]), 1e-14);
        expect_close(s.log_together[c], 0.0, 0.0);
    }
}

/* A sign that faults take away and that is missing: of any cylinder's fault the chance of its absence, of none the sound engine's. */
static void what_a_sound_engine_shows_and_is_missing_counts_for_every_cause(void **state)
{
    (void)state;
    static char RUNS_WELL[] = "runs_well";
    const ch_knowledge_observation *well = observation(RUNS_WELL);
    const ch_observation rows[] = {{.what = RUNS_WELL, .absent = true}};
    seen s;
    assert_int_equal(seen_of(3, NAN, rows, 1, &s, NULL), CH_OK);
    assert_int_equal(s.shared_count, 1);
    for (int c = 0; c < CH_CAUSE_COUNT; c++) /* one faulty cylinder */
        expect_close(1.0 - s.shared[0].base_1 * s.shared[0].clear_1[c], 1.0 - well->positive_1[c], 1e-14);
}

static void history_multiplies_the_odds_and_distance_replaces_high_mileage(void **state)
{
    (void)state;
    const ch_observation rows[] = {{.what = OVERHEATED}, {.what = OVER_REVVED}, {.what = HIGH_MILEAGE}};
    const ch_observation denied[] = {{.what = OVERHEATED, .absent = true}};
    seen s;
    assert_int_equal(seen_of(2, NAN, rows, 3, &s, NULL), CH_OK);
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        expect_relative(s.odds_1[c],
                        observation(OVERHEATED)->odds_1[c] * observation(OVER_REVVED)->odds_1[c] *
                            observation(HIGH_MILEAGE)->odds_1[c],
                        1e-14);
    assert_int_equal(seen_of(2, 3e8, rows, 3, &s, NULL), CH_OK);
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        expect_relative(s.odds_1[c], observation(OVERHEATED)->odds_1[c] * observation(OVER_REVVED)->odds_1[c], 1e-14);
    assert_int_equal(seen_of(2, NAN, denied, 1, &s, NULL), CH_OK);
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        expect_close(s.odds_1[c], 1.0, 0.0);
}

static void signs_beyond_the_expansion_count_as_products(void **state)
{
    (void)state;
    /* No two of a group, all above the sound engine's chance. */
    static char MANY[][24] = {"runs_hot",   "black_smoke",    "mechanical_noise", "ticking",
                              "hard_start", "sudden_failure", "hard_to_turn",     "slow_cranking"};
    ch_observation rows[8] = {{0}};
    for (size_t i = 0; i < 8; i++)
        rows[i].what = MANY[i];
    seen s;
    assert_int_equal(seen_of(4, NAN, rows, 8, &s, NULL), CH_OK);
    assert_int_equal(s.shared_count, SEEN_SHARED_MAX);
    double most = -INFINITY;
    for (int c = 1; c < CH_CAUSE_COUNT; c++)
        most = fmax(most, s.log_together[c]);
    assert_true(most > 0.0);
    expect_close(s.log_together[CH_CAUSE_SOUND], 0.0, 0.0);
    double before = INFINITY; /* the weakest are left over: what the sign can tell, largest less smallest log chance */
    for (int m = 0; m < s.shared_count; m++) {
        double least_1 = 1.0, most_1 = 0.0;
        for (int c = 0; c < CH_CAUSE_COUNT; c++) {
            const double seen_1 = 1.0 - s.shared[m].base_1 * s.shared[m].clear_1[c];
            least_1 = fmin(least_1, seen_1);
            most_1 = fmax(most_1, seen_1);
        }
        assert_true(log(most_1 / least_1) <= before + 1e-12);
        before = log(most_1 / least_1);
    }
}

static void too_many_observations_are_refused(void **state)
{
    (void)state;
    ch_observation rows[300] = {{0}};
    for (size_t i = 0; i < 300; i++)
        rows[i].what = RUNS_HOT;
    seen s;
    ch_err err = {0};
    assert_int_equal(seen_of(4, NAN, rows, 300, &s, &err), CH_E_LIMIT);
    assert_non_null(strstr(err.what, "300"));
    assert_int_equal(seen_of(4, NAN, rows, 256, &s, &err), CH_OK);
}

/* ---- What may be wrong ---- */

static void wrong_of(int cylinders, ch_layout layout, double odometer_m, const double odds_1[], wrong *w)
{
    ch_sheet sheet;
    ch_sheet_init(&sheet);
    sheet.engine.cylinders = cylinders;
    sheet.engine.layout = layout;
    if (!isnan(odometer_m))
        sheet.conditions.odometer = distance(odometer_m);
    ch_reading reading[CH_CYLINDERS_MAX];
    for (int i = 0; i < cylinders; i++)
        reading[i] = (ch_reading){.cylinder = i + 1};
    sheet.compression = reading;
    sheet.compression_count = (size_t)cylinders;
    seen s = {.shared_count = 0};
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        s.odds_1[c] = s.odds_together_1[c] = odds_1 == NULL ? 1.0 : odds_1[c];
    wrong_from_knowledge(&sheet, &knowledge, &s, w);
}

static void priors_add_up_and_marginals_are_sums_over_the_hypotheses(void **state)
{
    (void)state;
    const int sizes[] = {1, 2, 3, 4, 6, 8, 12, 32};
    const ch_layout layouts[] = {CH_LAYOUT_UNSTATED, CH_LAYOUT_INLINE, CH_LAYOUT_VEE, CH_LAYOUT_FLAT};
    for (size_t k = 0; k < 8; k++)
        for (size_t l = 0; l < 4; l++) {
            wrong w;
            const int n = sizes[k];
            wrong_of(n, layouts[l], NAN, NULL, &w);
            double sum = 0.0;
            for (int h = 0; h < w.hypotheses; h++) {
                assert_true(w.hypothesis[h].prior_1 >= 0.0);
                sum += w.hypothesis[h].prior_1;
            }
            expect_close(sum, 1.0, 1e-12);
            for (int c = 1; c < CH_CAUSE_COUNT;
                 c++) { /* what strikes all together takes two cylinders to be more than one's own */
                int together = 0;
                for (int h = 0; h < w.hypotheses; h++)
                    together += w.hypothesis[h].together == (ch_cause)c;
                const bool banks = n >= 4 && (layouts[l] == CH_LAYOUT_VEE || layouts[l] == CH_LAYOUT_FLAT) &&
                                   knowledge.causes[c].together_bank_1 > 0.0;
                assert_int_equal(together, n > 1 && knowledge.causes[c].together_chance_1 > 0.0 ? (banks ? 5 : 1) : 0);
            }
            double unstruck = w.hypothesis[0].prior_1;
            for (int h = 0; h < w.hypotheses; h++)
                unstruck += w.hypothesis[h].pair[0] >= 0 ? w.hypothesis[h].prior_1 : 0.0;
            for (int i = 0; i < n; i++) {
                double own = 0.0, all = 0.0,
                       bridge_1 = 0.0; /* a gasket shared with a neighbour, nothing striking all */
                for (int h = 0; h < w.hypotheses; h++)
                    if (w.hypothesis[h].pair[0] == i || w.hypothesis[h].pair[1] == i)
                        bridge_1 += w.hypothesis[h].prior_1 / unstruck;
                for (int c = 0; c < CH_CAUSE_COUNT; c++) {
                    double marginal = 0.0;
                    for (int h = 0; h < w.hypotheses; h++) {
                        const hypothesis *one = &w.hypothesis[h];
                        const bool paired = one->pair[0] == i || one->pair[1] == i;
                        /* Banks: first half, second half, odd, even, as makers number them. */
                        const bool in_bank[] = {true, i < n / 2, i >= n / 2, i % 2 == 0, i % 2 == 1};
                        const bool struck = one->together != CH_CAUSE_SOUND && in_bank[one->bank];
                        /* Struck, a cylinder keeps what stays or lies beneath; all else becomes the common cause. */
                        double struck_1 = w.prior_1[i][c] * (one->stays_1[c] + one->beneath_1[c]);
                        for (int what = 0; what < CH_CAUSE_COUNT && c == (int)one->together; what++)
                            struck_1 += w.prior_1[i][what] * (1.0 - one->stays_1[what] - one->beneath_1[what]);
                        const double bridged = c == CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS ? 1.0 : 0.0;
                        const double too_1 = one->pair_too ? bridge_1 : 0.0;
                        assert_int_equal(one->pair_too, one->together == CH_CAUSE_RINGS_OR_BORE);
                        marginal +=
                            one->prior_1 * (paired    ? bridged
                                            : !struck ? w.prior_1[i][c]
                                                      : (1.0 - too_1) * (one->share_1 * struck_1 +
                                                                         (1.0 - one->share_1) * w.prior_1[i][c]) +
                                                            too_1 * bridged);
                    }
                    expect_close(w.marginal_1[i][c], marginal, 1e-14);
                    own += w.prior_1[i][c];
                    all += w.marginal_1[i][c];
                }
                expect_close(own, 1.0, 1e-12);
                expect_close(all, 1.0, 1e-12);
            }
        }
}

static void a_worn_engine_may_have_a_burnt_valve_and_a_gauge_hides_a_small_hole_into_the_coolant_alone(void **state)
{
    (void)state;
    wrong w;
    wrong_of(4, CH_LAYOUT_INLINE, NAN, NULL, &w);
    size_t found = 0;
    for (int h = 0; h < w.hypotheses; h++) {
        const hypothesis *one = &w.hypothesis[h];
        const bool worn = one->together == CH_CAUSE_RINGS_OR_BORE;
        const bool misled = one->together == CH_CAUSE_MEASUREMENT_ERROR || one->together == CH_CAUSE_CAM_OR_TIMING;
        found += worn || misled;
        expect_close(one->stays_1[CH_CAUSE_EXHAUST_VALVE], worn ? 1.0 : 0.0, 0.0);
        expect_close(one->stays_1[CH_CAUSE_SOUND], 0.0, 0.0);
        expect_close(one->beneath_1[CH_CAUSE_EXHAUST_VALVE], 0.0, 0.0);
        for (int c = 1; c < CH_CAUSE_COUNT && misled;
             c++) /* a hole below 0.3 mm2 hardly shows beside what misleads (docs/method.md) */
            expect_close(one->beneath_1[c],
                         c == CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS
                             ? 0.0
                             : knowledge.causes[c].path_chance_1[CH_PATH_COOLANT] *
                                   mixture_below(&knowledge.causes[c].areas_m2, 0.3e-6),
                         1e-12);
        /* Half of the holes into the coolant are a tenth of a square millimetre or so (knowledge/causes.yaml). */
        assert_true(misled ? one->beneath_1[CH_CAUSE_HEAD_GASKET_TO_COOLANT] > 0.3 &&
                                 one->beneath_1[CH_CAUSE_HEAD_GASKET_TO_COOLANT] < 0.6
                           : one->beneath_1[CH_CAUSE_HEAD_GASKET_TO_COOLANT] == 0.0);
    }
    assert_int_equal(found, 3);
}

/* The part of a cam drive's chance that is a bank's own, over the two banks and the two ways to number them. */
static void a_drive_may_fail_one_bank_alone(void **state)
{
    (void)state;
    const ch_knowledge_cause *drive = &knowledge.causes[CH_CAUSE_CAM_OR_TIMING];
    assert_true(drive->together_bank_1 > 0.0 && drive->together_bank_1 < 1.0);
    const double whole_1 = drive->together_chance_1 * (1.0 - drive->together_bank_1),
                 each_1 = drive->together_chance_1 * drive->together_bank_1 / 4.0;
    wrong w;
    wrong_of(6, CH_LAYOUT_FLAT, NAN, NULL, &w);
    int found = 0;
    for (int h = 1; h < w.hypotheses; h++) {
        const hypothesis *one = &w.hypothesis[h];
        if (one->together != CH_CAUSE_CAM_OR_TIMING)
            continue;
        const double odds = one->prior_1 / w.hypothesis[0].prior_1, chance_1 = odds / (1.0 + odds);
        expect_close(chance_1, one->bank == 0 ? whole_1 : each_1, 1e-12);
        static const char *const REACHED[] = {"111111", "111000", "000111", "101010", "010101"};
        for (int i = 0; i < 6; i++)
            assert_int_equal(wrong_strikes(&w, one, i, 6), REACHED[one->bank][i] == '1');
        found |= 1 << one->bank;
    }
    assert_int_equal(found, 31);
    wrong_of(2, CH_LAYOUT_FLAT, NAN, NULL, &w); /* a bank of one is a cylinder */
    for (int h = 0; h < w.hypotheses; h++)
        assert_int_equal(w.hypothesis[h].bank, 0);
}

/* Dry on 1, wet on 2, leak-down on 3, nothing on 4: the gauge can be wrong on the first two, the leak-down test on the third. */
static void a_test_misleads_only_where_it_was_made(void **state)
{
    (void)state;
    const ch_knowledge_cause *error = &knowledge.causes[CH_CAUSE_MEASUREMENT_ERROR];
    ch_reading dry = {.cylinder = 1}, wet = {.cylinder = 2};
    ch_leakdown_row leakdown = {.cylinder = 3};
    ch_sheet sheet;
    ch_sheet_init(&sheet);
    sheet.engine.cylinders = 4;
    sheet.compression = &dry;
    sheet.wet = &wet;
    sheet.leakdown = &leakdown;
    sheet.compression_count = sheet.wet_count = sheet.leakdown_count = 1;
    seen s;
    wrong w;
    assert_int_equal(seen_from_sheet(&sheet, &knowledge, &s, NULL), CH_OK);
    wrong_from_knowledge(&sheet, &knowledge, &s, &w);
    const double own_1[] = {error->prior_1, error->prior_1, error->prior_1 * error->leakdown_wrong_1, 0.0};
    double gauge_1 = 0.0;
    for (int h = 0; h < w.hypotheses; h++) {
        const hypothesis *one = &w.hypothesis[h];
        for (int i = 0; i < 4; i++) {
            const bool reached = one->together == CH_CAUSE_MEASUREMENT_ERROR ? i < 2 : one->together != CH_CAUSE_SOUND;
            assert_int_equal(wrong_strikes(&w, one, i, 4), reached);
        }
        gauge_1 += one->together == CH_CAUSE_MEASUREMENT_ERROR ? one->prior_1 : 0.0;
    }
    assert_true(gauge_1 > 0.0);
    for (int i = 0; i < 4; i++) {
        expect_close(w.prior_1[i][CH_CAUSE_MEASUREMENT_ERROR], own_1[i], 1e-14);
        expect_close(w.prior_1[i][CH_CAUSE_SOUND], w.prior_1[0][CH_CAUSE_SOUND] + error->prior_1 - own_1[i], 1e-14);
        expect_close(w.prior_1[i][CH_CAUSE_EXHAUST_VALVE], knowledge.causes[CH_CAUSE_EXHAUST_VALVE].prior_1, 1e-14);
    }
    assert_true(w.marginal_1[3][CH_CAUSE_MEASUREMENT_ERROR] == 0.0);
    assert_true(w.marginal_1[0][CH_CAUSE_MEASUREMENT_ERROR] > gauge_1);
    /* No gauge at all: nothing that it could have misled. */
    sheet.compression_count = sheet.wet_count = 0;
    wrong_from_knowledge(&sheet, &knowledge, &s, &w);
    for (int h = 0; h < w.hypotheses; h++)
        assert_int_not_equal(w.hypothesis[h].together, CH_CAUSE_MEASUREMENT_ERROR);
}

/* Prior odds of a pair against "every cylinder for itself"; 0 where the two are no pair. */
static double pair_odds(const wrong *w, int a, int b)
{
    double odds = 0.0;
    for (int h = 1; h < w->hypotheses; h++)
        if (w->hypothesis[h].pair[0] == a && w->hypothesis[h].pair[1] == b) {
            assert_true(odds == 0.0); /* listed once */
            odds = w->hypothesis[h].prior_1 / w->hypothesis[0].prior_1;
        }
    return odds;
}

static void neighbours_share_a_gasket_as_the_layout_has_them(void **state)
{
    (void)state;
    const double prior = knowledge.causes[CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS].prior_1;
    const double full = prior / (1.0 - prior), half = 0.5 * prior / (1.0 - 0.5 * prior);
    const ch_layout layouts[] = {CH_LAYOUT_UNSTATED, CH_LAYOUT_INLINE, CH_LAYOUT_VEE, CH_LAYOUT_FLAT};
    for (size_t l = 0; l < 4; l++)
        for (int n = 2; n <= 12; n += 2) {
            wrong w;
            wrong_of(n, layouts[l], NAN, NULL, &w);
            const bool banks = layouts[l] == CH_LAYOUT_VEE || layouts[l] == CH_LAYOUT_FLAT;
            for (int a = 0; a < n; a++)
                for (int b = a + 1; b < n; b++) {
                    /* Two banks, numbered along them (1 2 3 | 4 5 6) or across (1 3 5 | 2 4 6): each way is worth half. */
                    const bool along = b == a + 1 && b != n / 2, across = b == a + 2;
                    const double want = !banks ? (b == a + 1 ? full : 0.0) : along || across ? half : 0.0;
                    expect_close(pair_odds(&w, a, b), want, 1e-14);
                }
        }
}

/* Odds of a cause in one cylinder over those of the knowledge file. */
static double odds_factor(const wrong *w, ch_cause cause)
{
    const double prior = knowledge.causes[cause].prior_1;
    return w->prior_1[0][cause] / (1.0 - w->prior_1[0][cause]) / (prior / (1.0 - prior));
}

static double together_factor(const wrong *w, ch_cause cause)
{
    const double chance = knowledge.causes[cause].together_chance_1;
    for (int h = 1; h < w->hypotheses; h++)
        if (w->hypothesis[h].together == cause)
            return w->hypothesis[h].prior_1 / w->hypothesis[0].prior_1 / (chance / (1.0 - chance));
    return NAN;
}

static void distance_multiplies_the_odds_within_its_limits(void **state)
{
    (void)state;
    const ch_knowledge_mileage *mileage = &knowledge.mileage;
    const double at[] = {0.0, 0.5, 1.0, 1.7, 2.5, 100.0};
    for (size_t k = 0; k < sizeof at / sizeof at[0]; k++) {
        wrong w;
        wrong_of(4, CH_LAYOUT_INLINE, at[k] * mileage->reference_m, NULL, &w);
        const ch_cause causes[] = {CH_CAUSE_RINGS_OR_BORE, CH_CAUSE_EXHAUST_VALVE, CH_CAUSE_MEASUREMENT_ERROR};
        for (size_t i = 0; i < 3; i++) {
            const double exponent = knowledge.causes[causes[i]].mileage_exponent_1;
            const double want =
                exponent == 0.0 ? 1.0 : fmin(fmax(pow(at[k], exponent), mileage->least_1), mileage->most_1);
            expect_relative(odds_factor(&w, causes[i]), want, 1e-12);
            expect_relative(together_factor(&w, causes[i]), want, 1e-12);
        }
    }
}

static void a_grim_history_leaves_a_cylinder_the_chance_to_be_sound(void **state)
{
    (void)state;
    double odds_1[CH_CAUSE_COUNT];
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        odds_1[c] = 1e6;
    wrong w;
    wrong_of(4, CH_LAYOUT_INLINE, NAN, odds_1, &w);
    expect_close(w.prior_1[0][CH_CAUSE_SOUND], 0.1, 1e-12);
    double sum = 0.0;
    for (int h = 0; h < w.hypotheses; h++) {
        assert_true(w.hypothesis[h].prior_1 >= 0.0);
        sum += w.hypothesis[h].prior_1;
    }
    expect_close(sum, 1.0, 1e-12);
}

/* ---- Readings of one cylinder at one shared state ---- */

static double sound_reading_pa(const ch_emulator *emulator)
{
    const double offset[CH_DOUBT_COUNT] = {0};
    /* Rings and what leaks beside them, as one log-normal with the mean and variance of the sum (Fenton 1960). */
    const double square = CH_PRIOR_RING_SD_CYLINDER * CH_PRIOR_RING_SD_CYLINDER;
    const double rings_m2 = bench.frame.ring_median_m2 * exp(0.5 * square);
    const double mean_m2 = rings_m2 + bench.frame.beside.mean_m2;
    const double variance_m4 = rings_m2 * rings_m2 * expm1(square) + bench.frame.beside.variance_m4;
    return ch_emulator_reading_pa(emulator, offset, mean_m2 / sqrt(1.0 + variance_m4 / (mean_m2 * mean_m2)));
}

/* Readings of cylinder 1 against the centre of all doubts. */
static weigh_cylinder weighed(const measured_cylinder *readings)
{
    static weigh_cylinder out[2];
    const double value[SHARED_DIMENSIONS] = {0};
    weigh_state state;
    bench.measured = (measured){.cylinders = 2, .u_gain_1 = 0.02, .u_zero_pa = 3e3};
    bench.measured.cylinder[0] = *readings;
    bench.measured.any_dry = readings->dry.n > 0;
    bench.measured.any_wet = readings->wet.n > 0;
    bench.measured.any_leakdown = readings->leakdown_count > 0;
    for (size_t i = 0; i < readings->leakdown_count; i++)
        bench.measured.any_heard = bench.measured.any_heard || readings->leakdown[i].heard_stated;
    weigh_frame_set(&bench.frame);
    weigh_cylinders(&bench.frame, value, &state, out);
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        assert_true(isfinite(out[0].evidence[c]) && out[0].evidence[c] >= 0.0);
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        for (int j = bench.frame.levels[c].from; j < bench.frame.levels[c].from + bench.frame.levels[c].count; j++) {
            assert_true(isfinite(out[0].level[j]) && out[0].level[j] >= 0.0);
            assert_true(isfinite(state.level_weight[j]) && state.level_weight[j] >= 0.0);
        }
    return out[0];
}

/* Posterior mean of the area that a cause adds, m2. */
static double mean_area_m2(const weigh_cylinder *c, ch_cause cause, int place)
{
    double sum = 0.0, moment = 0.0;
    for (int g = 0; g < CH_EMULATOR_GRID; g++) {
        const double weight = bench.frame.area_weight[cause][g] * c->likely_mean[place][g];
        sum += weight;
        moment += weight * bench.dry.area_m2[g];
    }
    return moment / sum;
}

static measured_cylinder dry_reading(double part_of_sound)
{
    measured_cylinder c = {.oil_m3 = NAN};
    c.dry = (measured_mean){
        .n = 1, .mean_pa = part_of_sound * sound_reading_pa(&bench.dry), .u_pa = 17e3, .u_clear_pa = 17e3};
    return c;
}

static measured_cylinder leakdown_of(double loss_1, unsigned heard, bool stated)
{
    measured_cylinder c = {.oil_m3 = NAN, .leakdown_count = 1};
    c.leakdown[0] = (measured_leakdown){
        .loss_1 = loss_1, .supply_gauge_pa = 5.5e5, .orifice_m = 1.016e-3, .heard = heard, .heard_stated = stated};
    return c;
}

static void a_lower_reading_means_a_larger_hole(void **state)
{
    (void)state;
    double area_before = 0.0, odds_before = 0.0;
    const double parts[] = {1.0, 0.9, 0.75, 0.6, 0.4, 0.2, 0.05};
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        const measured_cylinder readings = dry_reading(parts[i]);
        const weigh_cylinder c = weighed(&readings);
        const double area = mean_area_m2(&c, CH_CAUSE_EXHAUST_VALVE, CH_PATH_EXHAUST_VALVE);
        const double odds = c.evidence[CH_CAUSE_EXHAUST_VALVE] / c.evidence[CH_CAUSE_SOUND];
        assert_true(area > area_before);
        assert_true(odds > odds_before);
        area_before = area;
        odds_before = odds;
    }
}

/* Over sound and a leaking exhaust valve with the odds of the knowledge file: what little a sound cylinder's loss says of a hole's size is
 * weighed by how unlikely the hole is. */
static void more_loss_means_a_larger_hole(void **state)
{
    (void)state;
    double area_before = 0.0, odds_before = 0.0;
    const double losses[] = {0.10, 0.25, 0.4, 0.6, 0.8, 0.95};
    for (size_t i = 0; i < sizeof losses / sizeof losses[0]; i++) {
        const measured_cylinder readings = leakdown_of(losses[i], 0, false);
        const weigh_cylinder c = weighed(&readings);
        const double odds = knowledge.causes[CH_CAUSE_EXHAUST_VALVE].prior_1 * c.evidence[CH_CAUSE_EXHAUST_VALVE] /
                            c.evidence[CH_CAUSE_SOUND];
        const double area = odds / (1.0 + odds) * mean_area_m2(&c, CH_CAUSE_EXHAUST_VALVE, CH_PATH_EXHAUST_VALVE);
        assert_true(area > area_before);
        assert_true(odds > odds_before);
        area_before = area;
        odds_before = odds;
    }
    assert_true(odds_before > 1.0);
}

static void air_heard_somewhere_speaks_for_the_path_there(void **state)
{
    (void)state;
    const struct {
        unsigned heard;
        ch_cause cause, other;
    } ears[] = {
        {CH_HEARD_EXHAUST, CH_CAUSE_EXHAUST_VALVE, CH_CAUSE_INTAKE_VALVE},
        {CH_HEARD_INTAKE, CH_CAUSE_INTAKE_VALVE, CH_CAUSE_EXHAUST_VALVE},
        {CH_HEARD_OIL_FILLER, CH_CAUSE_RINGS_OR_BORE, CH_CAUSE_EXHAUST_VALVE},
        {CH_HEARD_COOLANT, CH_CAUSE_HEAD_GASKET_TO_COOLANT, CH_CAUSE_RINGS_OR_BORE},
    };
    for (size_t i = 0; i < sizeof ears / sizeof ears[0]; i++) {
        const measured_cylinder deaf = leakdown_of(0.7, 0, false), all_ears = leakdown_of(0.7, ears[i].heard, true);
        const weigh_cylinder before = weighed(&deaf), after = weighed(&all_ears);
        assert_true(after.evidence[ears[i].cause] / after.evidence[ears[i].other] >
                    3.0 * before.evidence[ears[i].cause] / before.evidence[ears[i].other]);
    }
    const measured_cylinder deaf = leakdown_of(0.7, 0, false), silent = leakdown_of(0.7, 0, true);
    const weigh_cylinder before = weighed(&deaf), after = weighed(&silent);
    assert_true(after.evidence[CH_CAUSE_EXHAUST_VALVE] / after.evidence[CH_CAUSE_MEASUREMENT_ERROR] <
                before.evidence[CH_CAUSE_EXHAUST_VALVE] / before.evidence[CH_CAUSE_MEASUREMENT_ERROR]);
}

/* Some hiss there is normal on every engine, so where the loss is small it says little; a hiss with a large loss names the rings. */
static void a_hiss_at_the_oil_filler_says_more_the_more_is_lost(void **state)
{
    (void)state;
    double told[2];
    for (int large = 0; large < 2; large++) {
        const double loss_1 = large ? 0.4 : 0.08;
        const measured_cylinder silent = leakdown_of(loss_1, 0, true);
        const measured_cylinder hiss = leakdown_of(loss_1, CH_HEARD_OIL_FILLER, true);
        const weigh_cylinder without = weighed(&silent), with = weighed(&hiss);
        told[large] = with.evidence[CH_CAUSE_RINGS_OR_BORE] / with.evidence[CH_CAUSE_EXHAUST_VALVE] /
                      (without.evidence[CH_CAUSE_RINGS_OR_BORE] / without.evidence[CH_CAUSE_EXHAUST_VALVE]);
    }
    assert_true(told[0] > 1.0 && told[1] > 1.1 * told[0]); /* rings that are bad at all are mostly heard */
    const measured_cylinder silent = leakdown_of(0.08, 0, true), hiss = leakdown_of(0.08, CH_HEARD_OIL_FILLER, true);
    assert_true(weighed(&silent).evidence[CH_CAUSE_SOUND] > weighed(&hiss).evidence[CH_CAUSE_SOUND]);
}

/* Else hearing anything at all would speak for or against the tester. */
static void what_is_heard_on_a_misleading_tester_adds_up_to_one(void **state)
{
    (void)state;
    const measured_cylinder deaf = leakdown_of(0.4, 0, false);
    double sum = 0.0;
    for (unsigned heard = 0; heard < CH_HEARD_NOTHING; heard++)
        for (unsigned neighbour = 0; neighbour < 2; neighbour++) {
            measured_cylinder all_ears = leakdown_of(0.4, heard, true);
            all_ears.leakdown[0].heard_cylinders = neighbour << 1;
            sum += weighed(&all_ears).evidence_leakdown_wrong;
        }
    expect_relative(sum, weighed(&deaf).evidence_leakdown_wrong, 1e-12);
}

/* Readings see what leaks in all: a sound cylinder's area is spread as the sum of its parts is, here by sampling 20000 of them (lognormal
 * parts as knowledge/causes.yaml has them). Three nodes stand for it: their mean within 3 %, their variance within 15 %, as Fenton's
 * log-normal is close, not exact. */
static void sound_cylinders_leak_as_much_as_their_parts_do(void **state)
{
    (void)state;
    enum { SAMPLED = 20000 };
    ch_stream stream;
    ch_stream_init(&stream, 11, 0);
    double sum = 0.0, squares = 0.0;
    for (int i = 0; i < SAMPLED; i++) {
        double area_m2 = ch_stream_lognormal(&stream, bench.frame.ring_median_m2, CH_PRIOR_RING_SD_CYLINDER);
        for (int p = 0; p < CH_PATH_COUNT; p++)
            if (p != CH_PATH_RINGS)
                area_m2 += ch_stream_lognormal(&stream, knowledge.background_m2[p].median,
                                               knowledge.background_m2[p].spread_1);
        sum += area_m2 / SAMPLED;
        squares += area_m2 * area_m2 / SAMPLED;
    }
    const measured_cylinder readings = dry_reading(1.0);
    const double value[SHARED_DIMENSIONS] = {0};
    static weigh_cylinder out[2];
    static weigh_state state_of;
    weighed(&readings);
    weigh_cylinders(&bench.frame, value, &state_of, out);
    double mean_m2 = 0.0, second_m4 = 0.0;
    for (int k = 0; k < RING_NODES; k++) {
        const double area_m2 = state_of.ring_m2[k] + bench.frame.beside_m2;
        mean_m2 += RING_NODE_WEIGHT[k] * area_m2;
        second_m4 += RING_NODE_WEIGHT[k] * area_m2 * area_m2;
    }
    expect_relative(mean_m2, sum, 0.03);
    expect_relative(second_m4 - mean_m2 * mean_m2, squares - sum * sum, 0.15);
}

/* Against the integral of prior density times Student's t over twenty thousand factors. A reading pins its factor down to a few per cent:
 * fixed places for it would come out high or low by luck. 1 %: what the trapezoid leaves off beyond 3.75 standard deviations. */
static void a_misread_test_is_weighed_alike_wherever_its_reading_lies(void **state)
{
    (void)state;
    const ch_mixture *factors = &knowledge.causes[CH_CAUSE_MEASUREMENT_ERROR].reading_1;
    const double sound_pa = sound_reading_pa(&bench.dry);
    for (double part = 0.18; part < 1.2; part += 0.013) {
        const measured_cylinder readings = dry_reading(part);
        const weigh_cylinder c = weighed(&readings);
        enum { STEPS = 20000 };
        const double from_ln = log(0.01), step_ln = (log(3.0) - from_ln) / STEPS;
        double sum = 0.0;
        for (int i = 0; i <= STEPS; i++) {
            const double factor_ln = from_ln + i * step_ln, expected_pa = exp(factor_ln) * sound_pa;
            /* 0.9117: Student's quartiles are where the normal's would be. */
            const double variance = 0.9117 * (17e3 * 17e3 + pow(0.02 * expected_pa, 2.0));
            const double off = readings.dry.mean_pa - expected_pa;
            double density = 0.0;
            for (size_t k = 0; k < factors->count; k++) {
                const double z = (factor_ln - log(factors->part[k].median)) / factors->part[k].spread_1;
                density +=
                    factors->part[k].weight_1 * exp(-0.5 * z * z) / (factors->part[k].spread_1 * 2.5066282746310002);
            }
            sum += step_ln * density * pow(1.0 + off * off / (8.0 * variance), -4.5) / sqrt(variance);
        }
        expect_relative(c.evidence[CH_CAUSE_MEASUREMENT_ERROR] * exp(c.log_scale), sum, 0.01);
    }
}

static void the_more_oil_lifts_the_reading_the_more_it_is_the_rings(void **state)
{
    (void)state;
    const double sound_wet = sound_reading_pa(&bench.wet);
    double before = 0.0;
    const double parts[] = {0.5, 0.6, 0.7, 0.8}; /* to as near a sound cylinder as oil on worn rings comes */
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        measured_cylinder readings = dry_reading(0.5);
        readings.wet = (measured_mean){.n = 1, .mean_pa = parts[i] * sound_wet, .u_pa = 17e3, .u_clear_pa = 17e3};
        readings.oil_m3 = OIL_M3;
        const weigh_cylinder c = weighed(&readings);
        const double odds = c.evidence[CH_CAUSE_RINGS_OR_BORE] / c.evidence[CH_CAUSE_EXHAUST_VALVE];
        assert_true(odds > before);
        before = odds;
    }
    assert_true(before > 10.0);
}

/* Rings that do not answer to oil and a valve look alike to a wet test, and to all but the ear and the loss at rest. */
static void what_no_test_tells_apart_is_as_likely(void **state)
{
    (void)state;
    measured_cylinder readings = dry_reading(0.5);
    readings.wet =
        (measured_mean){.n = 1, .mean_pa = 0.6 * sound_reading_pa(&bench.wet), .u_pa = 17e3, .u_clear_pa = 17e3};
    readings.oil_m3 = OIL_M3;
    const weigh_cylinder c = weighed(&readings);
    const measured_cylinder dry = dry_reading(0.5);
    const weigh_cylinder alone = weighed(&dry);
    int compared = 0;
    for (int g = 0; g < CH_EMULATOR_GRID; g++)
        for (int k = 0; k < RING_NODES; k++) {
            expect_relative(c.likely[PLACE_RINGS_DRY][k][g], c.likely[CH_PATH_EXHAUST_VALVE][k][g], 1e-12);
            compared += c.likely[CH_PATH_EXHAUST_VALVE][k][g] > 0.0;
            for (int place = 0; place < PLACES; place++)
                expect_relative(alone.likely[place][k][g], alone.likely[CH_PATH_EXHAUST_VALVE][k][g], 1e-12);
        }
    assert_true(compared > 10);
    /* and to a leak-down test a valve is like any other hole that is not the rings' */
    const measured_cylinder loss = leakdown_of(0.5, 0, false);
    const weigh_cylinder rest = weighed(&loss);
    for (int g = 0; g < CH_EMULATOR_GRID; g++)
        for (int k = 0; k < RING_NODES; k++) {
            expect_relative(rest.likely[CH_PATH_COOLANT][k][g], rest.likely[CH_PATH_EXHAUST_VALVE][k][g], 1e-12);
            expect_relative(rest.likely[PLACE_RINGS_DRY][k][g], rest.likely[CH_PATH_RINGS][k][g], 1e-12);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(quantile_of_a_mixture_turns_its_distribution_round),
        cmocka_unit_test(weights_of_the_areas_add_up_and_follow_the_distribution),
        cmocka_unit_test(worn_rings_of_a_whole_engine_seal_with_the_chance_that_is_known),
        cmocka_unit_test(strongest_of_a_group_counts_in_full_and_the_next_by_its_share),
        cmocka_unit_test(two_signs_of_the_engine_share_a_group_too),
        cmocka_unit_test(what_was_looked_for_in_vain_counts_with_its_complement),
        cmocka_unit_test(what_no_cylinder_shows_counts_in_each),
        cmocka_unit_test(what_a_sound_engine_shows_and_is_missing_counts_for_every_cause),
        cmocka_unit_test(history_multiplies_the_odds_and_distance_replaces_high_mileage),
        cmocka_unit_test(signs_beyond_the_expansion_count_as_products),
        cmocka_unit_test(too_many_observations_are_refused),
        cmocka_unit_test(priors_add_up_and_marginals_are_sums_over_the_hypotheses),
        cmocka_unit_test(a_drive_may_fail_one_bank_alone),
        cmocka_unit_test(a_test_misleads_only_where_it_was_made),
        cmocka_unit_test(a_worn_engine_may_have_a_burnt_valve_and_a_gauge_hides_a_small_hole_into_the_coolant_alone),
        cmocka_unit_test(neighbours_share_a_gasket_as_the_layout_has_them),
        cmocka_unit_test(distance_multiplies_the_odds_within_its_limits),
        cmocka_unit_test(a_grim_history_leaves_a_cylinder_the_chance_to_be_sound),
        cmocka_unit_test(a_lower_reading_means_a_larger_hole),
        cmocka_unit_test(more_loss_means_a_larger_hole),
        cmocka_unit_test(air_heard_somewhere_speaks_for_the_path_there),
        cmocka_unit_test(a_hiss_at_the_oil_filler_says_more_the_more_is_lost),
        cmocka_unit_test(what_is_heard_on_a_misleading_tester_adds_up_to_one),
        cmocka_unit_test(sound_cylinders_leak_as_much_as_their_parts_do),
        cmocka_unit_test(a_misread_test_is_weighed_alike_wherever_its_reading_lies),
        cmocka_unit_test(what_no_test_tells_apart_is_as_likely),
        cmocka_unit_test(the_more_oil_lifts_the_reading_the_more_it_is_the_rings),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
