/* Promises of numbers/uncertainty.c and numbers/monte_carlo.c. */
#include "crosshatch/sampling.h"
#include "crosshatch/uncertainty.h"
#include "expect.h"

#include <stdlib.h>
#include <string.h>

/* GUM (JCGM 100:2008): 4.3.7 with limits +-2e-6 /C, H.1.3.2: 1.2e-6; H.1.3.4: 0.5 C arc-sine 0.35 C; F.2.2.1: 0.29 of a step. */
static void limits_become_standard_uncertainties(void **state)
{
    (void)state;
    expect_close(ch_u_rectangular(2e-6), 1.2e-6, 0.05e-6);
    expect_close(ch_u_arc_sine(0.5), 0.35, 0.005);
    expect_close(ch_u_resolution(1.0), 0.29, 0.005);
    expect_relative(ch_u_triangular(1.0), 1.0 / sqrt(6.0), 1e-15);
    expect_relative(ch_u_resolution(2.0), ch_u_rectangular(1.0), 1e-15); /* a step of 2 is a limit of 1 */
    expect_close(ch_u_mean(13.0, 5), 5.8, 0.05); /* GUM H.1.3.2: pooled sd 13 nm, five comparisons */
    assert_true(isnan(ch_u_rectangular(-1.0)) && isnan(ch_u_resolution(NAN)) && isnan(ch_u_mean(1.0, 0)));
}

/*
 * GUM H.1, end-gauge calibration (tests/data/gum/h1_end_gauge.csv): u(d) = 9.7 nm with 25.6 degrees of freedom, u_c = 32 nm,
 * 16.7 cut to 16, k_99 = 2.92, U_99 = 93 nm (table H.1 and H.1.6). Tolerances are half the print's last digit.
 */
static void end_gauge_of_gum_h1_is_reproduced(void **state)
{
    (void)state;
    const ch_component comparator[] = {{5.8, 1.0, 24.0}, {3.9, 1.0, 5.0}, {6.7, 1.0, 8.0}};
    double u_d = NAN, df_d = NAN;
    assert_int_equal(ch_u_combine(comparator, 3, &u_d, &df_d, NULL), CH_OK);
    expect_close(u_d, 9.7, 0.05);
    expect_close(df_d, 25.6, 0.2); /* the GUM puts the rounded 9.7 to the fourth power: 9.7 for 9.68 */

    const double l_s = 50000623.0, alpha = 11.5e-6, theta = -0.1;
    const ch_component all[] = {
        {25.0, 1.0, 18.0},
        {u_d, 1.0, df_d},
        {1.2e-6, 0.0, INFINITY}, /* expansion of the standard: first-order coefficient is 0 */
        {0.41, 0.0, INFINITY},   /* temperature: likewise */
        {0.58e-6, -l_s * theta, 50.0},
        {0.029, -l_s * alpha, 2.0},
    };
    double u_c = NAN, df = NAN;
    assert_int_equal(ch_u_combine(all, 6, &u_c, &df, NULL), CH_OK);
    expect_close(u_c, 32.0, 0.5);
    expect_close(df, 16.7, 0.1); /* the GUM carries rounded parts */
    const double k = ch_coverage_factor(0.99, floor(df));
    expect_close(k, 2.92, 0.005);
    expect_close(k * u_c, 93.0, 0.5);
}

/* GUM table G.2: t for 95 % and 99 %, degrees of freedom 1, 2, 10, 50, infinity. */
static void coverage_factors_match_table_g2(void **state)
{
    (void)state;
    const double df[] = {1, 2, 10, 50, INFINITY};
    const double t95[] = {12.71, 4.30, 2.23, 2.01, 1.960}, t99[] = {63.66, 9.92, 3.17, 2.68, 2.576};
    for (size_t i = 0; i < 5; i++) {
        expect_close(ch_coverage_factor(0.95, df[i]), t95[i], 0.005);
        expect_close(ch_coverage_factor(0.99, df[i]), t99[i], 0.005);
    }
    assert_true(ch_coverage_factor(0.95, 2.5) < 4.30 && ch_coverage_factor(0.95, 2.5) > 3.18);
    assert_true(isnan(ch_coverage_factor(1.0, 5.0)) && isnan(ch_coverage_factor(0.95, 0.0)));
    assert_true(isnan(ch_coverage_factor(0.95, NAN)));
}

/* A quantile that any number of degrees of freedom has: Student's t is known in closed form for 1 and 2 of them, and is the normal's for many. */
static void coverage_factors_hold_for_few_and_for_very_many_degrees_of_freedom(void **state)
{
    (void)state;
    const double p[] = {0.05, 0.5, 0.6827, 0.95, 0.9973, 1.0 - 1e-9};
    const double pi = acos(-1.0);
    for (size_t i = 0; i < 6; i++) {
        expect_relative(ch_coverage_factor(p[i], 1.0), tan(0.5 * pi * p[i]),
                        2e-7 * p[i] * p[i]); /* 1 - p has 16 digits */
        expect_relative(ch_coverage_factor(p[i], 2.0), p[i] * sqrt(2.0 / ((1.0 - p[i]) * (1.0 + p[i]))), 1e-11);
        double before = ch_coverage_factor(p[i], 1e3);
        for (double df = 1e4; df < 1e308; df *= 10.0) { /* 6e7 for 1.96 at 1e17, until the normal's was taken there */
            const double k = ch_coverage_factor(p[i], df);
            assert_true(k <= before * (1.0 + 1e-12));
            before = k;
        }
        expect_relative(before, ch_coverage_factor(p[i], INFINITY), 1e-14);
        assert_true(ch_coverage_factor(p[i], 5e-324) == INFINITY); /* ended the program */
    }
    /* where they are not whole, and less than 1; SciPy 1.10 (stats.t.isf) */
    expect_relative(ch_coverage_factor(0.3810926909686696, 0.7708543085671944), 0.7481546448320352, 1e-8);
    expect_relative(ch_coverage_factor(0.95, 16.7), 2.1127064206594297, 1e-9);
}

/* A reading repeated to the last digit under a gauge of 2 %: the repeats' few degrees of freedom do not matter, and k is the normal's. */
static void repeats_that_hardly_scatter_leave_the_normal_factor(void **state)
{
    (void)state;
    for (double sd = 1e-3; sd > 1e-30; sd *= 0.1) {
        const ch_component parts[] = {{sd, 1.0, 2.0}, {1.0, 1.0, INFINITY}};
        double u = 0.0, df = 0.0;
        assert_int_equal(ch_u_combine(parts, 2, &u, &df, NULL), CH_OK);
        expect_relative(df, 2.0 * pow(sd, -4.0), 1e-5); /* GUM G.2b with u = 1 */
        expect_relative(ch_coverage_factor(0.95, df), 1.959963984540054, 1e-11);
    }
}

static void the_unit_of_an_uncertainty_does_not_matter(void **state)
{
    (void)state;
    const double unit[] = {1e-200, 1e-100, 1.0, 1e100, 1e200};
    for (size_t i = 0; i < 5; i++) {
        const ch_component parts[] = {{3.0 * unit[i], 1.0, 5.0}, {2.0 * unit[i], -2.0, 7.0}};
        double u = 0.0, df = 0.0;
        assert_int_equal(ch_u_combine(parts, 2, &u, &df, NULL), CH_OK);
        expect_relative(u, 5.0 * unit[i], 1e-15);
        expect_relative(df, 625.0 / (81.0 / 5.0 + 256.0 / 7.0), 1e-14);
    }
    const ch_component beyond[] = {{1e308, 1.0, 5.0}, {1e308, 1.0, 5.0}, {1e308, 1.0, 5.0}, {1e308, 1.0, 5.0}};
    double u = 7.0, df = 7.0;
    assert_int_equal(ch_u_combine(beyond, 4, &u, &df, NULL), CH_E_RANGE);
    assert_true(u == 7.0 && df == 7.0);
}

static void combining_refuses_what_is_unknown(void **state)
{
    (void)state;
    const ch_component no_u[] = {{NAN, 1.0, 5.0}}, no_df[] = {{1.0, 1.0, 0.0}}, exact[] = {{0.0, 1.0, 5.0}};
    double u = 7.0, df = 7.0;
    ch_err err = {0};
    assert_int_equal(ch_u_combine(no_u, 1, &u, &df, &err), CH_E_RANGE);
    assert_string_equal(err.what, "input 1 has uncertainty nan and sensitivity 1");
    assert_int_equal(ch_u_combine(no_df, 1, &u, &df, NULL), CH_E_RANGE);
    assert_true(u == 7.0 && df == 7.0);
    assert_int_equal(ch_u_combine(exact, 1, &u, &df, NULL), CH_OK);
    assert_true(u == 0.0 && isinf(df));
}

enum { OUTPUTS = 200000 };

static double *sum_of_four(bool normal, uint64_t seed, size_t n)
{
    double *y = calloc(n, sizeof *y);
    assert_non_null(y);
    ch_stream stream;
    ch_stream_init(&stream, seed, 0);
    for (size_t i = 0; i < n; i++)
        for (int k = 0; k < 4; k++)
            y[i] += normal ? ch_stream_normal(&stream) : sqrt(3.0) * (2.0 * ch_stream_uniform(&stream) - 1.0);
    return y;
}

/*
 * JCGM 101:2008, 9.2.2 (four N(0, 1): u = 2, 95 % interval +-3.92) and 9.2.3 (four rectangular of sd 1: u = 2, +-3.88; in
 * closed form +-2 sqrt(3) (2 - (3/5)^(1/4))); printed values from memory, the closed forms recomputed.
 * The standard deviation of such an end from 2e5 outputs is sqrt(p (1 - p)/n)/density = 0.015 (normal) or 0.012; 4 of them.
 */
static void additive_model_of_supplement_1_is_reproduced(void **state)
{
    (void)state;
    const double end[2] = {2.0 * sqrt(3.0) * (2.0 - pow(0.6, 0.25)), 2.0 * 1.959964};
    expect_close(end[0], 3.88, 0.005);
    for (int normal = 0; normal < 2; normal++) {
        double *y = sum_of_four(normal == 1, 20080101, OUTPUTS);
        ch_monte_carlo got;
        assert_int_equal(ch_monte_carlo_summarize(y, OUTPUTS, 0.95, &got, NULL), CH_OK);
        expect_close(got.mean, 0.0, 4.0 * 2.0 / sqrt((double)OUTPUTS));
        expect_close(got.sd, 2.0, 4.0 * 2.0 / sqrt(2.0 * OUTPUTS));
        expect_close(got.low, -end[normal], 0.06);
        expect_close(got.high, end[normal], 0.06);
        assert_true(got.shortest_high - got.shortest_low <= got.high - got.low);
        /* For a symmetric density the two agree in length; the shortest is picked, so it runs a little short. */
        expect_close(got.shortest_high - got.shortest_low, 2.0 * end[normal], 0.1);
        free(y);
    }
}

/* By hand from 7.7: n = 20, coverage 0.9: q = 18, r = 1: [y_1, y_19]; shortest of [y_1, y_19] and [y_2, y_20]. */
/*
 * Where the output lies all on one side, the shortest interval is far from the symmetric one: JCGM 101:2008, 9.4.2.2 and 9.4.2.3 (comparison loss in microwave power
 * meter calibration), Y = X1^2 + X2^2, both of standard uncertainty 0.005. Published (from memory, in 1e-6): for x1 = 0 y = 50, u = 50 and 0 to 150, for x1 = 0.010
 * 150, 112 and 0 to 367. For x1 = 0 Y is exponential, of mean 50, so that all ends are known: -50 ln(1 - p). A quantile of the share p is off by
 * sqrt(p (1 - p)/n) over the density there, 0.5 at the upper end of the shortest interval, 1 of the symmetric: four times that.
 */
static void a_loss_near_zero_has_the_published_shortest_interval(void **state)
{
    (void)state;
    enum { DRAWS = 200000 };
    double *y = malloc(DRAWS * sizeof *y);
    assert_non_null(y);
    ch_stream stream;
    ch_stream_init(&stream, 101, 9);
    for (int round = 0; round < 2; round++) {
        const double x1 = round == 0 ? 0.0 : 0.010;
        for (int i = 0; i < DRAWS; i++) {
            const double a = x1 + 0.005 * ch_stream_normal(&stream), b = 0.005 * ch_stream_normal(&stream);
            y[i] = 1e6 * (a * a + b * b);
        }
        ch_monte_carlo out;
        assert_int_equal(ch_monte_carlo_summarize(y, DRAWS, 0.95, &out, NULL), CH_OK);
        expect_close(out.mean, round == 0 ? 50.0 : 150.0, round == 0 ? 0.5 : 1.0);
        expect_close(out.sd, round == 0 ? 50.0 : 111.8, 1.0); /* 2 sqrt(50^2/2 + 50 x1^2 1e6) for 0.010 */
        expect_close(out.shortest_low, 0.0, round == 0 ? 0.1 : 1.0);
        expect_close(out.shortest_high, round == 0 ? 150.0 : 367.0, round == 0 ? 2.0 : 5.0);
        if (round == 0) {
            expect_close(out.shortest_high, -50.0 * log(0.05), 2.0);
            expect_close(out.low, -50.0 * log(0.975), 0.1);
            expect_close(out.high, -50.0 * log(0.025), 3.0);
        }
    }
    free(y);
}

static void intervals_take_the_ranks_of_7_7(void **state)
{
    (void)state;
    double y[20];
    for (size_t i = 0; i < 20; i++)
        y[i] = 100.0 - (double)(i * i); /* backwards, widening: 100 .. -261 */
    ch_monte_carlo got;
    assert_int_equal(ch_monte_carlo_summarize(y, 20, 0.9, &got, NULL), CH_OK);
    assert_true(got.low == -261.0 && got.high == 99.0);
    assert_true(got.shortest_low == -224.0 && got.shortest_high == 100.0);
    assert_true(y[0] == -261.0 && y[19] == 100.0);
    assert_int_equal(ch_monte_carlo_summarize(y, 3, 0.95, &got, NULL), CH_E_RANGE);
    assert_int_equal(ch_monte_carlo_summarize(y, 20, 1.0, &got, NULL), CH_E_RANGE);
    y[4] = NAN;
    assert_int_equal(ch_monte_carlo_summarize(y, 20, 0.9, &got, NULL), CH_E_RANGE);
}

static void chance_below_carries_its_own_uncertainty(void **state)
{
    (void)state;
    double *y = sum_of_four(true, 7, OUTPUTS);
    double p = NAN, u = NAN;
    assert_int_equal(ch_chance_below(y, OUTPUTS, -2.0, &p, &u, NULL), CH_OK);
    expect_relative(u, sqrt(0.1587 * 0.8413 / OUTPUTS), 0.01); /* p itself scatters by 0.5 % */
    expect_close(p, 0.158655, 4.0 * u);                        /* Phi(-1) */
    const double few[] = {1.0, 2.0, 3.0};
    assert_int_equal(ch_chance_below(few, 3, 0.0, &p, &u, NULL), CH_OK);
    assert_true(p == 0.0);
    expect_relative(u, sqrt(0.2 * 0.8 / 6.0), 1e-15); /* beta(1, 4) */
    assert_int_equal(ch_chance_below(few, 3, 2.0, &p, NULL, NULL), CH_OK);
    expect_relative(p, 1.0 / 3.0, 1e-15);
    assert_int_equal(ch_chance_below(few, 0, 2.0, &p, &u, NULL), CH_E_RANGE);
    assert_int_equal(ch_chance_below(few, 3, NAN, &p, &u, NULL), CH_E_RANGE);
    free(y);
}

/* JCGM 101 7.9.2, examples (from memory): u = 0.000 35 g to two digits gives 0.000 005 g; 2 K to one digit 0.5 K. */
static void numerical_tolerance_matches_7_9_2(void **state)
{
    (void)state;
    expect_relative(ch_numerical_tolerance(0.00035, 2), 0.000005, 1e-12);
    expect_relative(ch_numerical_tolerance(2.0, 1), 0.5, 1e-15);
    expect_relative(ch_numerical_tolerance(0.0996, 2), 0.005, 1e-12); /* rounds up to 10 hundredths */
    expect_relative(ch_numerical_tolerance(1000.0, 1), 500.0, 1e-12);
    assert_true(isnan(ch_numerical_tolerance(0.0, 2)) && isnan(ch_numerical_tolerance(1.0, 0)));
}

/* u = 2 to one digit: tolerance 0.5. Two blocks agree by chance, so the promise is on the scatter, worked by hand. */
static void adaptive_run_stops_when_twice_the_spread_is_within_tolerance(void **state)
{
    (void)state;
    ch_monte_carlo block[4];
    for (size_t b = 0; b < 4; b++)
        block[b] = (ch_monte_carlo){.n = 10000, .mean = 0.0, .sd = 2.0, .coverage_1 = 0.95, .low = -3.9, .high = 3.9};
    assert_true(ch_monte_carlo_settled(block, 4, 1));
    assert_false(ch_monte_carlo_settled(block, 1, 1));
    /* One end of 4 off by d: sd of the average = d sqrt(3/4)/sqrt(3 * 4) = d/4; settled where d/2 <= 0.5. */
    block[2].high = 3.9 + 0.99;
    assert_true(ch_monte_carlo_settled(block, 4, 1));
    block[2].high = 3.9 + 1.01;
    assert_false(ch_monte_carlo_settled(block, 4, 1));
    assert_false(ch_monte_carlo_settled(block, 4, 2));
    block[2].high = NAN;
    assert_false(ch_monte_carlo_settled(block, 4, 1));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(limits_become_standard_uncertainties),
        cmocka_unit_test(end_gauge_of_gum_h1_is_reproduced),
        cmocka_unit_test(coverage_factors_match_table_g2),
        cmocka_unit_test(coverage_factors_hold_for_few_and_for_very_many_degrees_of_freedom),
        cmocka_unit_test(repeats_that_hardly_scatter_leave_the_normal_factor),
        cmocka_unit_test(the_unit_of_an_uncertainty_does_not_matter),
        cmocka_unit_test(combining_refuses_what_is_unknown),
        cmocka_unit_test(additive_model_of_supplement_1_is_reproduced),
        cmocka_unit_test(a_loss_near_zero_has_the_published_shortest_interval),
        cmocka_unit_test(intervals_take_the_ranks_of_7_7),
        cmocka_unit_test(chance_below_carries_its_own_uncertainty),
        cmocka_unit_test(numerical_tolerance_matches_7_9_2),
        cmocka_unit_test(adaptive_run_stops_when_twice_the_spread_is_within_tolerance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
