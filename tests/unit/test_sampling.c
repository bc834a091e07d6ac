/* Promises of numbers/sampling.c, numbers/sobol.c and numbers/weights.c. All seeds are fixed: a pass is a pass for ever. */
#include "crosshatch/sampling.h"
#include "crosshatch/summary.h"
#include "expect.h"

#include <gsl/gsl_cdf.h>
#include <stdlib.h>
#include <string.h>

enum { DRAWS = 100000 };

/* First outputs of the authors' reference program xoshiro256plusplus.c from the state 1, 2, 3, 4, as quoted in the tests of
 * several independent open-source ports. */
static void bits_match_the_reference_generator(void **state)
{
    (void)state;
    const uint64_t expected[] = {41943041u,
                                 58720359u,
                                 3588806011781223u,
                                 3591011842654386u,
                                 9228616714210784205u,
                                 9973669472204895162u,
                                 14011001112246962877u,
                                 12406186145184390807u,
                                 15849039046786891736u,
                                 10450023813501588000u};
    ch_stream stream = {{1, 2, 3, 4}};
    for (size_t i = 0; i < 10; i++)
        assert_true(ch_stream_bits(&stream) == expected[i]);
}

static void same_seed_and_index_give_the_same_bytes(void **state)
{
    (void)state;
    ch_stream a, b, other;
    ch_stream_init(&a, 42, 3);
    ch_stream_init(&b, 42, 3);
    ch_stream_init(&other, 3, 42);
    size_t same = 0;
    for (int i = 0; i < 1000; i++) {
        const double x = ch_stream_normal(&a), y = ch_stream_normal(&b);
        assert_memory_equal(&x, &y, sizeof x);
        same += x == ch_stream_normal(&other);
    }
    assert_int_equal(same, 0);
    /* Frozen: a change of these bytes changes every stored result that named its seed. */
    ch_stream frozen;
    ch_stream_init(&frozen, 1, 0);
    const uint64_t first = ch_stream_bits(&frozen);
    assert_true(first == UINT64_C(16984377719926799238)); /* the published recurrences worked in Python */
}

/* Kolmogorov's limiting 99.9 % point is 1.949 (NIST/SEMATECH e-Handbook 1.3.5.16 gives the test). */
static double kolmogorov(double x[], size_t n)
{
    ch_sort(x, n);
    double most = 0.0;
    for (size_t i = 0; i < n; i++) {
        most = fmax(most, fabs(x[i] - (double)i / (double)n));
        most = fmax(most, fabs(x[i] - (double)(i + 1) / (double)n));
    }
    return most * sqrt((double)n);
}

static void uniforms_are_uniform(void **state)
{
    (void)state;
    static double x[DRAWS];
    ch_stream stream;
    ch_stream_init(&stream, 11, 0);
    size_t cell[64][64] = {{0}}, before = 0;
    for (size_t i = 0; i < DRAWS; i++) {
        x[i] = ch_stream_uniform(&stream);
        assert_true(x[i] > 0.0 && x[i] < 1.0);
        const size_t now = (size_t)(64.0 * x[i]);
        if (i % 2 == 1)
            cell[before][now]++;
        before = now;
    }
    /* Pairs over 64 x 64 cells: chi-square with 4095 degrees of freedom within its central 99.8 %. */
    double chi2 = 0.0;
    const double expected = DRAWS / 2.0 / 4096.0;
    for (size_t i = 0; i < 64; i++)
        for (size_t j = 0; j < 64; j++)
            chi2 += ((double)cell[i][j] - expected) * ((double)cell[i][j] - expected) / expected;
    assert_true(chi2 > gsl_cdf_chisq_Pinv(0.001, 4095.0) && chi2 < gsl_cdf_chisq_Qinv(0.001, 4095.0));
    assert_true(kolmogorov(x, DRAWS) < 1.949);
}

/* Moments of N(0, 1): 0, 1, 0, 3; their standard errors sqrt(1, 2, 15, 96 over n) (moments of order 2k: (2k - 1)!!). */
static void normals_have_the_moments_of_a_normal(void **state)
{
    (void)state;
    static double x[DRAWS];
    ch_stream stream;
    ch_stream_init(&stream, 12, 5);
    double sum[5] = {0.0};
    for (size_t i = 0; i < DRAWS; i++) {
        x[i] = ch_stream_normal(&stream);
        for (int k = 1; k <= 4; k++)
            sum[k] += pow(x[i], k) / DRAWS;
        x[i] = gsl_cdf_ugaussian_P(x[i]);
    }
    expect_close(sum[1], 0.0, 4.0 * sqrt(1.0 / DRAWS));
    expect_close(sum[2], 1.0, 4.0 * sqrt(2.0 / DRAWS));
    expect_close(sum[3], 0.0, 4.0 * sqrt(15.0 / DRAWS));
    expect_close(sum[4], 3.0, 4.0 * sqrt(96.0 / DRAWS));
    assert_true(kolmogorov(x, DRAWS) < 1.949);
}

static void lognormals_have_their_median_and_spread(void **state)
{
    (void)state;
    static double x[DRAWS];
    ch_stream stream;
    ch_stream_init(&stream, 13, 0);
    for (size_t i = 0; i < DRAWS; i++)
        x[i] = log(ch_stream_lognormal(&stream, 0.6, 0.4) / 0.6);
    expect_close(ch_mean(x, DRAWS), 0.0, 4.0 * 0.4 / sqrt((double)DRAWS));
    expect_close(ch_sd(x, DRAWS), 0.4, 4.0 * 0.4 / sqrt(2.0 * DRAWS));
}

/* The method without its squeeze: two logarithms for every draw. */
static double gamma_by_the_exact_test(ch_stream *stream, double shape)
{
    const double d = shape - 1.0 / 3.0, c = 1.0 / sqrt(9.0 * d);
    for (;;) {
        const double x = ch_stream_normal(stream), v = pow(1.0 + c * x, 3.0);
        if (v > 0.0 && log(ch_stream_uniform(stream)) < 0.5 * x * x + d - d * v + d * log(v))
            return d * v;
    }
}

/* Distributed as GSL's integral of the density says; and the squeeze lets nothing pass that the exact test refuses, or the streams would part. */
static void gamma_variates_are_those_of_the_exact_test(void **state)
{
    (void)state;
    enum { EACH = 20000 };
    static const double shape[] = {1.0, 1.3, 3.0, 5.0, 40.0};
    static double x[EACH];
    for (size_t s = 0; s < sizeof shape / sizeof shape[0]; s++) {
        ch_stream stream, other;
        ch_stream_init(&stream, 14, s);
        ch_stream_init(&other, 14, s);
        for (size_t i = 0; i < EACH; i++) {
            const double drawn = ch_stream_gamma(&stream, shape[s]), exact = gamma_by_the_exact_test(&other, shape[s]);
            expect_relative(drawn, exact, 1e-14); /* a cube is not quite pow() */
            x[i] = gsl_cdf_gamma_P(drawn, shape[s], 1.0);
        }
        assert_true(kolmogorov(x, EACH) < 1.949);
    }
}

/* Correlation of streams that differ by one in index or seed: standard error 1/sqrt(n). 400 pairs, so 4.5 of them. */
static void neighbouring_streams_are_independent(void **state)
{
    (void)state;
    enum { LENGTH = 4000 };
    for (uint64_t pair = 0; pair < 400; pair++) {
        ch_stream a, b;
        ch_stream_init(&a, 99, pair);
        ch_stream_init(&b, pair % 2 == 0 ? 99 : 100, pair % 2 == 0 ? pair + 1 : pair);
        double product = 0.0;
        for (int i = 0; i < LENGTH; i++)
            product += ch_stream_normal(&a) * ch_stream_normal(&b);
        expect_close(product / LENGTH, 0.0, 4.5 / sqrt((double)LENGTH));
    }
}

/* The first draw over many indices is itself a uniform sample. */
static void first_draws_over_indices_are_uniform(void **state)
{
    (void)state;
    static double x[DRAWS];
    for (size_t i = 0; i < DRAWS; i++) {
        ch_stream stream;
        ch_stream_init(&stream, 0, i);
        x[i] = ch_stream_uniform(&stream);
    }
    assert_true(kolmogorov(x, DRAWS) < 1.949);
}

/* GSL's own quantile as the outside oracle; in the far tail by the probability that comes back. */
static void normal_quantile_agrees_with_gsl(void **state)
{
    (void)state;
    for (int i = 1; i < 20000; i++) {
        const double p = i / 20000.0;
        expect_close(ch_normal_quantile(p), gsl_cdf_ugaussian_Pinv(p), 1e-14 * fmax(1.0, fabs(ch_normal_quantile(p))));
    }
    for (double p = 1e-3; p > 1e-300; p *= 0.1)
        expect_relative(ch_normal_quantile(p), gsl_cdf_ugaussian_Pinv(p), 1e-14);
    /* NIST/SEMATECH e-Handbook 1.3.6.7.1: 97.5 % point 1.960; digits by Wichura 1988, table: 0.25 -> -0.67448975019608171. */
    expect_relative(ch_normal_quantile(0.25), -0.67448975019608171, 1e-15);
    expect_relative(ch_normal_quantile(0.001), -3.0902323061678132, 1e-15);
    expect_relative(ch_normal_quantile(1e-20), -9.2623400897984077, 1e-15);
    assert_true(ch_normal_quantile(0.5) == 0.0);
    assert_true(ch_normal_quantile(0.0) == -INFINITY && ch_normal_quantile(1.0) == INFINITY);
    assert_true(isnan(ch_normal_quantile(-0.1)) && isnan(ch_normal_quantile(1.1)) && isnan(ch_normal_quantile(NAN)));
}

/* A net: of 2^m points each interval of length 2^-m in each dimension holds exactly one. Scrambling must keep that. */
static void sobol_points_hit_every_slice_once(void **state)
{
    (void)state;
    enum { POINTS = 256 };
    static double x[POINTS * CH_SOBOL_DIMENSIONS_MAX];
    assert_int_equal(ch_sobol_points(5, CH_SOBOL_DIMENSIONS_MAX, POINTS, x, NULL), CH_OK);
    for (size_t d = 0; d < CH_SOBOL_DIMENSIONS_MAX; d++) {
        int hits[POINTS] = {0};
        for (size_t i = 0; i < POINTS; i++) {
            const double u = x[i * CH_SOBOL_DIMENSIONS_MAX + d];
            assert_true(u > 0.0 && u < 1.0);
            hits[(size_t)(u * POINTS)]++;
        }
        for (size_t i = 0; i < POINTS; i++)
            assert_int_equal(hits[i], 1);
    }
}

/*
 * Integral of prod (1 + (u_d - 1/2)/2) over the 6-cube is 1; plain random sampling has the standard error
 * sqrt((1 + 1/48)^6 - 1)/sqrt(n) = 5.7e-3 for n = 4096. Averages over 32 scramblings must be unbiased, and each far closer.
 */
static void sobol_points_integrate_without_bias_and_better_than_chance(void **state)
{
    (void)state;
    enum { POINTS = 4096, REPEATS = 32, DIMENSIONS = 6 };
    static double x[POINTS * DIMENSIONS];
    double answer[REPEATS];
    for (uint64_t seed = 0; seed < REPEATS; seed++) {
        assert_int_equal(ch_sobol_points(seed, DIMENSIONS, POINTS, x, NULL), CH_OK);
        answer[seed] = 0.0;
        for (size_t i = 0; i < POINTS; i++) {
            double product = 1.0;
            for (size_t d = 0; d < DIMENSIONS; d++)
                product *= 1.0 + 0.5 * (x[i * DIMENSIONS + d] - 0.5);
            answer[seed] += product / POINTS;
        }
    }
    const double sd = ch_sd(answer, REPEATS);
    assert_true(sd > 0.0 && sd < 5.7e-3 / 50.0);
    expect_close(ch_mean(answer, REPEATS), 1.0, 4.0 * sd / sqrt((double)REPEATS));
}

static void sobol_points_refuse_too_many_dimensions(void **state)
{
    (void)state;
    double x[1] = {7.0};
    assert_int_equal(ch_sobol_points(0, 41, 1, x, NULL), CH_E_LIMIT);
    assert_int_equal(ch_sobol_points(0, 0, 1, x, NULL), CH_E_LIMIT);
    assert_int_equal(ch_sobol_points(0, 1, ((size_t)1 << 30) + 1, x, NULL), CH_E_LIMIT);
    assert_true(x[0] == 7.0);
}

static void log_sum_exp_does_not_overflow(void **state)
{
    (void)state;
    const double high[] = {1000.0, 1000.0 + log(3.0)}, low[] = {-1e5, -1e5}, none[] = {-INFINITY, -INFINITY};
    expect_relative(ch_log_sum_exp(high, 2), 1000.0 + log(4.0), 1e-15);
    expect_relative(ch_log_sum_exp(low, 2), -1e5 + log(2.0), 1e-15);
    assert_true(ch_log_sum_exp(none, 2) == -INFINITY && ch_log_sum_exp(none, 0) == -INFINITY);
    const double bad[] = {1.0, NAN}, infinite[] = {1.0, INFINITY};
    assert_true(isnan(ch_log_sum_exp(bad, 2)) && ch_log_sum_exp(infinite, 2) == INFINITY);
    double w[2] = {7.0, 7.0};
    assert_int_equal(ch_weights_from_logs(none, 2, w, NULL), CH_E_RANGE);
    assert_int_equal(ch_weights_from_logs(bad, 2, w, NULL), CH_E_RANGE);
    assert_true(w[0] == 7.0);
    assert_int_equal(ch_weights_from_logs(high, 2, w, NULL), CH_OK);
    expect_close(w[0], 0.25, 1e-13); /* exp of a difference of numbers near 1000, spaced 1e-13 */
    expect_close(w[0] + w[1], 1.0, 1e-13);
}

static void effective_sample_size_counts_equal_weights(void **state)
{
    (void)state;
    const double equal[] = {0.2, 0.2, 0.2, 0.2}, one[] = {0.0, 3.0, 0.0}, uneven[] = {1.0, 2.0, 3.0};
    const double tiny[] = {1e-200, 1e-200}, bad[] = {1.0, -1.0};
    expect_relative(ch_effective_sample_size(equal, 4), 4.0, 1e-15);
    expect_relative(ch_effective_sample_size(one, 3), 1.0, 1e-15);
    expect_relative(ch_effective_sample_size(uneven, 3), 36.0 / 14.0, 1e-15); /* Kish 1965, 11.7, by hand */
    expect_relative(ch_effective_sample_size(tiny, 2), 2.0, 1e-15);
    assert_true(isnan(ch_effective_sample_size(bad, 2)) && isnan(ch_effective_sample_size(one, 1)));
}

static void systematic_resampling_takes_floor_or_ceiling(void **state)
{
    (void)state;
    const double w[] = {0.0, 0.31, 0.02, 0.0, 0.47, 0.2, 0.0};
    double average[7] = {0.0};
    for (int step = 0; step < 1000; step++) {
        size_t index[10], count[7] = {0};
        assert_int_equal(ch_resample_systematic(w, 7, (step + 0.5) / 1000.0, 10, index, NULL), CH_OK);
        for (size_t k = 0; k < 10; k++) {
            assert_true(index[k] < 7 && (k == 0 || index[k] >= index[k - 1]));
            count[index[k]]++;
        }
        for (size_t i = 0; i < 7; i++) {
            assert_true(fabs((double)count[i] - 10.0 * w[i]) < 1.0);
            average[i] += (double)count[i] / 1000.0;
        }
    }
    for (size_t i = 0; i < 7; i++)
        expect_close(average[i], 10.0 * w[i], 2e-3); /* unbiased, to the thousand starts */
    size_t index = 77;
    assert_int_equal(ch_resample_systematic(w, 7, 1.0, 1, &index, NULL), CH_E_RANGE);
    assert_int_equal(ch_resample_systematic(w, 1, 0.5, 1, &index, NULL), CH_E_RANGE);
    assert_int_equal(ch_resample_systematic(w, 0, 0.5, 1, &index, NULL), CH_E_RANGE);
    const double bad[] = {1.0, NAN};
    assert_int_equal(ch_resample_systematic(bad, 2, 0.5, 1, &index, NULL), CH_E_RANGE);
    assert_int_equal(index, 77);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bits_match_the_reference_generator),
        cmocka_unit_test(same_seed_and_index_give_the_same_bytes),
        cmocka_unit_test(uniforms_are_uniform),
        cmocka_unit_test(normals_have_the_moments_of_a_normal),
        cmocka_unit_test(lognormals_have_their_median_and_spread),
        cmocka_unit_test(gamma_variates_are_those_of_the_exact_test),
        cmocka_unit_test(neighbouring_streams_are_independent),
        cmocka_unit_test(first_draws_over_indices_are_uniform),
        cmocka_unit_test(normal_quantile_agrees_with_gsl),
        cmocka_unit_test(sobol_points_hit_every_slice_once),
        cmocka_unit_test(sobol_points_integrate_without_bias_and_better_than_chance),
        cmocka_unit_test(sobol_points_refuse_too_many_dimensions),
        cmocka_unit_test(log_sum_exp_does_not_overflow),
        cmocka_unit_test(effective_sample_size_counts_equal_weights),
        cmocka_unit_test(systematic_resampling_takes_floor_or_ceiling),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
