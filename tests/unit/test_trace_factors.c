/*
 * Promises of trace/factors.c: what misleads all readings, or keeps all cylinders from filling, is summed over as closely as a fine integral would; the
 * drift of a battery goes by the order taken. And of trace/wrong.c: what losses that are alike say of the tester.
 */
#include <gsl/gsl_cdf.h>
#include <string.h>

#include "expect.h"
#include "trace_bench.h"

static const double SPREAD_U_PA = 17e3; /* repeatability of a reading */
/* A dial to 300 psi in steps of 2.5: its lowest tenth, where a third (0.33) of what is missing to it is doubt. */
static const double LOW_END_PA = 206.8e3, LOW_SCALE_SD_1 = 0.33, STEP_PA = 17.2e3;

static double low_scale_sd_pa(double shown_pa)
{
    return LOW_SCALE_SD_1 * fmax(LOW_END_PA - shown_pa, 0.0);
}

/* The frame with these dry readings; the state and both cylinders at the centre of all doubts. */
static void weigh(const double part_of_sound[2], const double turn_1[2], weigh_state *state, weigh_cylinder out[2],
                  double sound_pa[RING_NODES])
{
    const double value[SHARED_DIMENSIONS] = {0}, offset[CH_DOUBT_COUNT] = {0};
    bench.measured = (measured){.cylinders = 2, .any_dry = true, .u_gain_1 = 0.02, .u_zero_pa = 3e3};
    for (int i = 0; i < 2; i++)
        bench.measured.cylinder[i] = (measured_cylinder){.oil_m3 = NAN, .turn_1 = turn_1[i]};
    weigh_frame_set(&bench.frame);
    weigh_cylinders(&bench.frame, value, state, out);
    for (int k = 0; k < RING_NODES; k++)
        sound_pa[k] = ch_emulator_reading_pa(&bench.dry, offset, state->ring_m2[k] + bench.frame.beside_m2);
    for (int i = 0; i < 2; i++)
        bench.measured.cylinder[i].dry =
            (measured_mean){.n = 1,
                            .mean_pa = part_of_sound[i] * sound_pa[1],
                            .u_pa = hypot(SPREAD_U_PA, low_scale_sd_pa(part_of_sound[i] * sound_pa[1])),
                            .u_clear_pa = SPREAD_U_PA,
                            .low_end_pa = part_of_sound[i] * sound_pa[1] < 2.0 * LOW_END_PA ? LOW_END_PA : 0.0,
                            .step_pa = STEP_PA,
                            .on_its_stop = !(part_of_sound[i] > 0.0)};
    weigh_cylinders(&bench.frame, value, state, out);
}

/* Student's t with eight degrees of freedom, the scatter between sound cylinders 2 % (as the single misread reading's check in test_trace_parts.c). */
static double reading_chance(double mean_pa, double expected_pa)
{
    const double variance = SPREAD_U_PA * SPREAD_U_PA + pow(0.02 * expected_pa, 2.0), off = mean_pa - expected_pa;
    const double scale = 0.9117 * variance; /* with the normal's quartiles */
    return pow(1.0 + off * off / (8.0 * scale), -4.5) / sqrt(scale);
}

static double density(const ch_mixture *mixture, double x_ln)
{
    double sum = 0.0;
    for (size_t k = 0; k < mixture->count; k++) {
        const double z = (x_ln - log(mixture->part[k].median)) / mixture->part[k].spread_1;
        sum += mixture->part[k].weight_1 * exp(-0.5 * z * z) / (mixture->part[k].spread_1 * 2.5066282746310002);
    }
    return sum;
}

/* A factor on the charge acts on absolute pressures, one on the reading on the gauge's. */
static double shown_pa(double sound_pa, double factor_1, double ambient_pa)
{
    return fmax(factor_1 * (sound_pa + ambient_pa) - ambient_pa, 0.0);
}

/* Both cylinders' chance, summed over one factor on all readings or charges; and the weights of the factors. */
static double factor_sum(ch_cause cause, const weigh_state *state, const weigh_cylinder out[2], double *weights)
{
    double sum = 0.0;
    *weights = 0.0;
    for (int j = 0; j < FACTOR_LEVELS; j++) {
        const int at = bench.frame.levels[cause].from + j;
        *weights += state->level_weight[at];
        sum += state->level_weight[at] * out[0].level[at] * out[1].level[at];
    }
    return sum * exp(out[0].log_scale + out[1].log_scale);
}

/* 3 %: nine places of a trapezoid stand for a curve that the cylinders' three ring areas broaden unevenly. */
static void one_factor_on_all_readings_is_summed_as_a_fine_integral(void **state)
{
    (void)state;
    static const double parts[][2] = {{0.8, 0.8}, {0.62, 0.60}, {0.93, 0.95}, {0.5, 0.53}};
    const double turns[2] = {0.0, 1.0}, ambient_pa = bench.setup.cranking.ambient_pa;
    for (size_t m = 0; m < sizeof parts / sizeof parts[0]; m++)
        for (int charge = 0; charge < 2; charge++) {
            static weigh_state made;
            static weigh_cylinder out[2];
            double sound_pa[RING_NODES];
            weigh(parts[m], turns, &made, out, sound_pa);
            const ch_cause cause = charge ? CH_CAUSE_CAM_OR_TIMING : CH_CAUSE_MEASUREMENT_ERROR;
            const ch_mixture *mixture =
                charge ? &knowledge.causes[cause].filling_1 : &knowledge.causes[cause].reading_1;
            double weights;
            const double sum = factor_sum(cause, &made, out, &weights);
            enum { STEPS = 4000 };
            /* no charge is above 1.25 of what it should be (docs/method.md) */
            const double from_ln = log(0.05), step_ln = (log(charge ? 1.25 : 2.0) - from_ln) / STEPS;
            double want = 0.0;
            for (int i = 0; i <= STEPS; i++) {
                double both = density(mixture, from_ln + i * step_ln) * step_ln;
                for (int c = 0; c < 2; c++) {
                    double one = 0.0;
                    for (int k = 0; k < RING_NODES; k++)
                        one += RING_NODE_WEIGHT[k] * reading_chance(bench.measured.cylinder[c].dry.mean_pa,
                                                                    shown_pa(sound_pa[k], exp(from_ln + i * step_ln),
                                                                             charge ? ambient_pa : 0.0));
                    both *= one;
                }
                want += both;
            }
            /* half of what misleads all does so alike; where the cam drive is off, the valves are as they were in seven of ten (docs/method.md) */
            expect_relative(sum, (charge ? 0.7 : 0.5) * want, 0.03);
        }
}

/* Chance of a reading in the lowest tenth of the dial, per pascal and without t's constant, Gamma(9/2)/(Gamma(4) sqrt(8 pi)). */
static double low_chance(double mean_pa, double expected_pa)
{
    const double low_pa = low_scale_sd_pa(expected_pa), off = mean_pa - expected_pa;
    const double variance = SPREAD_U_PA * SPREAD_U_PA + low_pa * low_pa + pow(0.02 * expected_pa, 2.0);
    const double constant = tgamma(4.5) / (tgamma(4.0) * sqrt(8.0 * 3.14159265358979324)), scale = 0.9117 * variance;
    if (mean_pa < 0.5 * STEP_PA)
        return gsl_cdf_ugaussian_P((0.5 * STEP_PA - expected_pa) / sqrt(variance)) / (STEP_PA * constant);
    return pow(1.0 + off * off / (8.0 * scale), -4.5) / sqrt(scale);
}

/* 10 %: of next to nothing on the dial the noise is as large as the reading. Where it does not pin the factor, nine cells of its mixture, narrow at its
 * lower end, stand for a curve. With nine of sixteen like cells, as it was, the lowest stood at a fifth of the reading: of needles on their stops the sum
 * was nothing. */
static void next_to_nothing_on_all_dials_is_summed_as_a_fine_integral(void **state)
{
    (void)state;
    static const double parts[] = {0.0, 0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.1, 0.12};
    const double turns[2] = {0.0, 1.0}, ambient_pa = bench.setup.cranking.ambient_pa;
    for (size_t m = 0; m < sizeof parts / sizeof parts[0]; m++)
        for (int charge = 0; charge < 2; charge++) {
            static weigh_state made;
            static weigh_cylinder out[2];
            double sound_pa[RING_NODES];
            weigh((const double[]){parts[m], parts[m]}, turns, &made, out, sound_pa);
            const ch_cause cause = charge ? CH_CAUSE_CAM_OR_TIMING : CH_CAUSE_MEASUREMENT_ERROR;
            const ch_mixture *mixture =
                charge ? &knowledge.causes[cause].filling_1 : &knowledge.causes[cause].reading_1;
            double weights;
            const double sum = factor_sum(cause, &made, out, &weights);
            const double share_1 = charge ? 0.7 : 0.5; /* as above */
            if (m == 0)
                expect_relative(weights, share_1, 1e-12);
            enum { STEPS = 8000 };
            const double from_ln = log(1e-4), step_ln = (log(charge ? 1.25 : 2.0) - from_ln) / STEPS;
            double want = 0.0;
            for (int i = 0; i <= STEPS; i++) {
                double one = 0.0;
                for (int k = 0; k < RING_NODES; k++)
                    one += RING_NODE_WEIGHT[k] *
                           low_chance(parts[m] * sound_pa[1],
                                      shown_pa(sound_pa[k], exp(from_ln + i * step_ln), charge ? ambient_pa : 0.0));
                want += density(mixture, from_ln + i * step_ln) * step_ln * one * one;
            }
            expect_relative(sum, share_1 * want, 0.1);
        }
}

/* Washed bores: each cylinder's factor scatters by 0.35 about the engine's, which has the same prior as a single one's. */
static void washed_bores_are_summed_as_a_fine_integral(void **state)
{
    (void)state;
    static const double parts[][2] = {{0.7, 0.7}, {0.45, 0.8}, {0.95, 0.6}};
    const double turns[2] = {0.0, 1.0};
    const ch_mixture *mixture = &knowledge.causes[CH_CAUSE_MEASUREMENT_ERROR].reading_1;
    for (size_t m = 0; m < sizeof parts / sizeof parts[0]; m++) {
        static weigh_state made;
        static weigh_cylinder out[2];
        double sound_pa[RING_NODES], sum = 0.0;
        weigh(parts[m], turns, &made, out, sound_pa);
        for (int j = 0; j < WASHED_LEVELS; j++) {
            const int at = bench.frame.levels[CH_CAUSE_MEASUREMENT_ERROR].from + FACTOR_LEVELS + j;
            sum += bench.frame.level_weight[at] * out[0].level[at] * out[1].level[at];
        }
        enum { STEPS = 300 };
        const double from_ln = log(0.05), step_ln = (log(3.0) - from_ln) / STEPS;
        static double chance[2][STEPS + 1];
        for (int c = 0; c < 2; c++)
            for (int i = 0; i <= STEPS; i++)
                chance[c][i] =
                    reading_chance(bench.measured.cylinder[c].dry.mean_pa, exp(from_ln + i * step_ln) * sound_pa[1]);
        double want = 0.0;
        for (int j = 0; j <= STEPS; j++) {
            double both = density(mixture, from_ln + j * step_ln) * step_ln;
            for (int c = 0; c < 2; c++) {
                double one = 0.0;
                for (int i = 0; i <= STEPS; i++) {
                    const double z = (i - j) * step_ln / 0.35;
                    one += chance[c][i] * exp(-0.5 * z * z) * step_ln / (0.35 * 2.5066282746310002);
                }
                both *= one;
            }
            want += both;
        }
        /* four in ten of what misleads all; 5 %: the reading is taken as a normal, which is t here */
        expect_relative(sum * exp(out[0].log_scale + out[1].log_scale), 0.4 * want, 0.05);
    }
}

/* A battery that runs down: the last reading short of the first by a log-normal share, the others by their turn. */
static void a_battery_that_runs_down_is_summed_in_the_order_taken(void **state)
{
    (void)state;
    static const double parts[][2] = {{1.0, 0.82}, {1.0, 0.7}, {0.97, 0.9}};
    static const double turns[][2] = {{0.0, 1.0}, {0.25, 0.75}};
    for (size_t m = 0; m < sizeof parts / sizeof parts[0]; m++)
        for (size_t order = 0; order < 2; order++) {
            static weigh_state made;
            static weigh_cylinder out[2];
            double sound_pa[RING_NODES], sum = 0.0, want = 0.0, weights = 0.0;
            weigh(parts[m], turns[order], &made, out, sound_pa);
            for (int j = 0; j < DRIFT_LEVELS; j++) {
                const int at = bench.frame.levels[CH_CAUSE_MEASUREMENT_ERROR].from + FACTOR_LEVELS + WASHED_LEVELS + j;
                sum += bench.frame.level_weight[at] * out[0].level[at] * out[1].level[at];
                weights += bench.frame.level_weight[at];
            }
            expect_close(weights, 0.1, 1e-12); /* one in ten of what misleads all (docs/method.md) */
            enum { STEPS = 2000 };
            for (int i = 0; i <= STEPS; i++) {
                const double score = -5.0 + 10.0 * i / STEPS, drift_1 = 0.2 * exp(0.5 * score);
                double both = 10.0 / STEPS * exp(-0.5 * score * score) / 2.5066282746310002;
                for (int c = 0; c < 2; c++)
                    both *= reading_chance(bench.measured.cylinder[c].dry.mean_pa,
                                           exp(-drift_1 * turns[order][c]) * sound_pa[1]);
                want += both;
            }
            /* sixteen places, the ends at 2.5 standard deviations, for a curve that two readings make half as wide as their distance */
            expect_relative(sum * exp(out[0].log_scale + out[1].log_scale), 0.1 * want, 0.1);
        }
}

static void a_tester_that_misleads_shows_anything_or_much_the_same(void **state)
{
    (void)state;
    static const double losses[][4] = {{0.3, 0.3, 0.3, 0.3},
                                       {0.28, 0.33, 0.31, 0.36},
                                       {0.05, 0.9, 0.4, 0.6},
                                       {0.01, 0.02, 0.0, 0.03},
                                       {0.97, 0.99, 1.0, 0.95}};
    for (size_t m = 0; m < sizeof losses / sizeof losses[0]; m++) {
        ch_sheet sheet;
        char text[400];
        int at = snprintf(text, sizeof text, "sheet: 1\nengine: {cylinders: 4}\nleakdown:\n");
        for (int i = 0; i < 4; i++)
            at += snprintf(text + at, sizeof text - (size_t)at, "  - {cylinder: %d, loss: %.0f %%}\n", i + 1,
                           100.0 * losses[m][i]);
        assert_int_equal(ch_sheet_parse("sheet", text, strlen(text), &sheet, NULL), CH_OK);
        seen s;
        wrong w;
        assert_int_equal(seen_from_sheet(&sheet, &knowledge, &s, NULL), CH_OK);
        wrong_from_knowledge(&sheet, &knowledge, &s, &w);
        ch_sheet_clear(&sheet);
        /* Half: anything from 0 to 1 on each. Half: one loss for all, from 0 to 1, each about it by 0.05, cut off at the ends. */
        enum { STEPS = 5000 };
        double alike = 0.0;
        for (int i = 0; i < STEPS; i++) {
            const double common_1 = (i + 0.5) / STEPS;
            const double inside = 0.5 * (erf((1.0 - common_1) / 0.05 / sqrt(2.0)) + erf(common_1 / 0.05 / sqrt(2.0)));
            double one = 1.0;
            for (int c = 0; c < 4; c++)
                one *= exp(-0.5 * pow((losses[m][c] - common_1) / 0.05, 2.0)) / (0.05 * 2.5066282746310002 * inside);
            alike += one / STEPS;
        }
        int found = 0;
        for (int h = 0; h < w.hypotheses; h++) {
            if (w.hypothesis[h].leakdown_wrong) {
                expect_relative(w.hypothesis[h].losses_alike_1, 0.5 + 0.5 * alike,
                                0.03); /* a hundred steps for five thousand, which tells at the ends */
                found++;
            } else {
                expect_close(w.hypothesis[h].losses_alike_1, 1.0, 0.0);
            }
        }
        assert_int_equal(found, 1);
    }
}

/* Of one cylinder's loss, a tester that misleads is that cylinder's own way of being misread. */
static void it_takes_two_cylinders_to_suspect_the_tester(void **state)
{
    (void)state;
    for (int tested = 0; tested <= 3; tested++) {
        static ch_leakdown_row rows[4];
        ch_sheet sheet;
        ch_sheet_init(&sheet);
        sheet.engine.cylinders = 4;
        for (int i = 0; i < 4; i++) /* the first cylinder twice */
            rows[i] = (ch_leakdown_row){.cylinder = i < 2 ? 1 : i};
        sheet.leakdown = rows;
        sheet.leakdown_count = tested == 0 ? 0 : (size_t)tested + 1;
        ch_reading reading = {.cylinder = 4};
        sheet.compression = &reading;
        sheet.compression_count = 1;
        seen s;
        wrong w;
        assert_int_equal(seen_from_sheet(&sheet, &knowledge, &s, NULL), CH_OK);
        wrong_from_knowledge(&sheet, &knowledge, &s, &w);
        const double all_1 = knowledge.causes[CH_CAUSE_MEASUREMENT_ERROR].together_chance_1;
        double tester = 0.0, gauge = 0.0;
        for (int h = 1; h < w.hypotheses; h++) {
            /* back from odds against "none of them" to chances */
            const double odds = w.hypothesis[h].prior_1 / w.hypothesis[0].prior_1, chance_1 = odds / (1.0 + odds);
            if (w.hypothesis[h].together == CH_CAUSE_MEASUREMENT_ERROR)
                *(w.hypothesis[h].leakdown_wrong ? &tester : &gauge) += chance_1;
        }
        const double share_1 = tested > 1 ? knowledge.causes[CH_CAUSE_MEASUREMENT_ERROR].leakdown_wrong_1 : 0.0;
        expect_close(tester, share_1 * all_1, 1e-12);
        expect_close(gauge, (1.0 - share_1) * all_1, 1e-12);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_factor_on_all_readings_is_summed_as_a_fine_integral),
        cmocka_unit_test(next_to_nothing_on_all_dials_is_summed_as_a_fine_integral),
        cmocka_unit_test(washed_bores_are_summed_as_a_fine_integral),
        cmocka_unit_test(a_battery_that_runs_down_is_summed_in_the_order_taken),
        cmocka_unit_test(a_tester_that_misleads_shows_anything_or_much_the_same),
        cmocka_unit_test(it_takes_two_cylinders_to_suspect_the_tester),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
