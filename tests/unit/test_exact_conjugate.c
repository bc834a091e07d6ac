/* The sampling machinery against posteriors known in closed form: scrambled Sobol points turned into draws of a prior, weighed by a
 * likelihood, must give the conjugate posterior's moments and the evidence, with an error that shrinks as the points grow in number, and an
 * effective sample size as theory has it. All seeds are fixed.
 *
 * Closed forms: Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, sections 2.4 (binomial), 2.5 (normal), 2.6 (Poisson). Effective sample
 * size of a proposal that misses: Owen, Monte Carlo theory, methods and examples, 2013, sections 9.2 and 9.3; Agapiou et al., Statistical
 * Science 32 (2017) 405. */
#include "crosshatch/sampling.h"
#include "crosshatch/summary.h"
#include "expect.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_sf_gamma.h>
#include <stdlib.h>

/* A case: from a uniform number to a draw of the prior, and to the log likelihood of the data there. */
typedef struct conjugate {
    const char *name;
    double (*draw)(double u);
    double (*log_likelihood)(double x);
    double mean, variance; /* of the posterior */
    double log_evidence;
} conjugate;

enum { CASES = 3 };

/* Eight readings of one cylinder, in bar: normal noise of known size, normal prior. */
static const double READING[] = {11.6, 12.1, 11.9, 12.4, 11.8, 12.0, 12.3, 11.7};
enum { READINGS = sizeof READING / sizeof READING[0] };
static const double NORMAL_MEAN = 11.0, NORMAL_SD = 0.8, NOISE_SD = 0.5;

static double normal_draw(double u)
{
    return NORMAL_MEAN + NORMAL_SD * ch_normal_quantile(u);
}

static double normal_log_likelihood(double x)
{
    double sum = 0.0;
    for (int i = 0; i < READINGS; i++)
        sum += log(gsl_ran_gaussian_pdf(READING[i] - x, NOISE_SD));
    return sum;
}

/* 7 of 11 tests that found the fault, Beta(2, 3) before. */
enum { TRIALS = 11, SUCCESSES = 7 };
static const double BETA_A = 2.0, BETA_B = 3.0;

static double beta_draw(double u)
{
    return gsl_cdf_beta_Pinv(u, BETA_A, BETA_B);
}

static double beta_log_likelihood(double x)
{
    return log(gsl_ran_binomial_pdf(SUCCESSES, x, TRIALS));
}

/* Five seasons' failures in a fleet, gamma prior of the rate. */
static const unsigned FAILURES[] = {2, 0, 3, 1, 4};
enum { SEASONS = sizeof FAILURES / sizeof FAILURES[0] };
static const double GAMMA_SHAPE = 1.5, GAMMA_RATE = 0.6;

static double gamma_draw(double u)
{
    return gsl_cdf_gamma_Pinv(u, GAMMA_SHAPE, 1.0 / GAMMA_RATE);
}

static double gamma_log_likelihood(double x)
{
    double sum = 0.0;
    for (int i = 0; i < SEASONS; i++)
        sum += log(gsl_ran_poisson_pdf(FAILURES[i], x));
    return sum;
}

static void cases_set(conjugate c[CASES])
{
    /* Gelman et al. eq. 2.11, 2.12; the evidence is the density of the sample mean times that of the scatter around it. */
    const double precision = 1.0 / (NORMAL_SD * NORMAL_SD) + READINGS / (NOISE_SD * NOISE_SD);
    const double average = ch_mean(READING, READINGS);
    double log_evidence =
        log(gsl_ran_gaussian_pdf(average - NORMAL_MEAN, sqrt(NORMAL_SD * NORMAL_SD + NOISE_SD * NOISE_SD / READINGS)));
    log_evidence -= log(gsl_ran_gaussian_pdf(0.0, NOISE_SD / sqrt((double)READINGS)));
    for (int i = 0; i < READINGS; i++)
        log_evidence += log(gsl_ran_gaussian_pdf(READING[i] - average, NOISE_SD));
    c[0] = (conjugate){.name = "normal-normal",
                       .draw = normal_draw,
                       .log_likelihood = normal_log_likelihood,
                       .mean = (NORMAL_MEAN / (NORMAL_SD * NORMAL_SD) + READINGS * average / (NOISE_SD * NOISE_SD)) /
                               precision,
                       .variance = 1.0 / precision,
                       .log_evidence = log_evidence};

    /* Posterior Beta(a + y, b + n - y), section 2.4; evidence C(n, y) B(a + y, b + n - y)/B(a, b), the beta-binomial. */
    const double a = BETA_A + SUCCESSES, b = BETA_B + TRIALS - SUCCESSES;
    c[1] = (conjugate){.name = "beta-binomial",
                       .draw = beta_draw,
                       .log_likelihood = beta_log_likelihood,
                       .mean = a / (a + b),
                       .variance = a * b / ((a + b) * (a + b) * (a + b + 1.0)),
                       .log_evidence =
                           gsl_sf_lnchoose(TRIALS, SUCCESSES) + gsl_sf_lnbeta(a, b) - gsl_sf_lnbeta(BETA_A, BETA_B)};

    /* Posterior Gamma(a + sum y, b + n), section 2.6; evidence from Bayes' rule, prior times likelihood over posterior. */
    double shape = GAMMA_SHAPE, log_factorials = 0.0;
    for (int i = 0; i < SEASONS; i++) {
        shape += FAILURES[i];
        log_factorials += gsl_sf_lnfact(FAILURES[i]);
    }
    const double rate = GAMMA_RATE + SEASONS;
    c[2] = (conjugate){.name = "gamma-Poisson",
                       .draw = gamma_draw,
                       .log_likelihood = gamma_log_likelihood,
                       .mean = shape / rate,
                       .variance = shape / (rate * rate),
                       .log_evidence = GAMMA_SHAPE * log(GAMMA_RATE) - gsl_sf_lngamma(GAMMA_SHAPE) +
                                       gsl_sf_lngamma(shape) - shape * log(rate) - log_factorials};
}

enum { MEAN, VARIANCE, LOG_EVIDENCE, FIGURES };

/* Posterior mean, variance and log evidence from n scrambled Sobol points. */
static void sampled(const conjugate *c, size_t n, uint64_t seed, double figure[FIGURES])
{
    double *x = calloc(3 * n, sizeof *x);
    assert_non_null(x);
    double *log_weight = x + n, *weight = x + 2 * n;
    assert_int_equal(ch_sobol_points(seed, 1, n, x, NULL), CH_OK);
    for (size_t i = 0; i < n; i++) {
        x[i] = c->draw(x[i]);
        log_weight[i] = c->log_likelihood(x[i]);
    }
    assert_int_equal(ch_weights_from_logs(log_weight, n, weight, NULL), CH_OK);
    double mean = 0.0, square = 0.0;
    for (size_t i = 0; i < n; i++)
        mean += weight[i] * x[i];
    for (size_t i = 0; i < n; i++)
        square += weight[i] * (x[i] - mean) * (x[i] - mean);
    figure[MEAN] = mean;
    figure[VARIANCE] = square;
    figure[LOG_EVIDENCE] = ch_log_sum_exp(log_weight, n) - log((double)n);
    free(x);
}

static void exact_figures(const conjugate *c, double exact[FIGURES])
{
    exact[MEAN] = c->mean;
    exact[VARIANCE] = c->variance;
    exact[LOG_EVIDENCE] = c->log_evidence;
}

/* 4096 points of a smooth function of one variable. Measured: at most 1.5e-6 of the posterior's sd, 1e-5 of its variance and 2e-6 of the
 * evidence; the tolerances leave a factor of ten. */
static void weighted_sobol_points_give_conjugate_posteriors(void **state)
{
    (void)state;
    conjugate cases[CASES];
    cases_set(cases);
    for (int k = 0; k < CASES; k++) {
        double figure[FIGURES], exact[FIGURES];
        sampled(&cases[k], 4096, 5, figure);
        exact_figures(&cases[k], exact);
        const double sd = sqrt(cases[k].variance);
        expect_close(figure[MEAN], exact[MEAN], 2e-5 * sd);
        expect_close(figure[VARIANCE], exact[VARIANCE], 1e-4 * exact[VARIANCE]);
        expect_close(figure[LOG_EVIDENCE], exact[LOG_EVIDENCE], 2e-5);
    }
}

enum { REPEATS = 16 };

/* Root mean square error over independent scramblings. */
static void errors(const conjugate *c, size_t n, double rms[FIGURES])
{
    double exact[FIGURES];
    exact_figures(c, exact);
    for (int f = 0; f < FIGURES; f++)
        rms[f] = 0.0;
    for (uint64_t repeat = 0; repeat < REPEATS; repeat++) {
        double figure[FIGURES];
        sampled(c, n, 100 + repeat, figure);
        for (int f = 0; f < FIGURES; f++)
            rms[f] += (figure[f] - exact[f]) * (figure[f] - exact[f]) / REPEATS;
    }
    for (int f = 0; f < FIGURES; f++)
        rms[f] = sqrt(rms[f]);
}

/* Random numbers would gain a factor of 8 over 64 times the points, even filling without scrambling 64. Scrambled, a smooth function gains
 * 64^(3/2) = 512 (Owen, Annals of Statistics 25 (1997) 1541); half of that allows for the scatter of the two mean squares. */
static void error_shrinks_faster_than_the_points_grow(void **state)
{
    (void)state;
    conjugate cases[CASES];
    cases_set(cases);
    for (int k = 0; k < CASES; k++) {
        double few[FIGURES], many[FIGURES];
        errors(&cases[k], 64, few);
        errors(&cases[k], 4096, many);
        for (int f = 0; f < FIGURES; f++) {
            if (!(many[f] < few[f] / 256.0))
                print_error("%s, figure %d: %g with 64 points, %g with 4096\n", cases[k].name, f, few[f], many[f]);
            assert_true(many[f] < few[f] / 256.0);
        }
    }
}

/* The error that the scatter of independent scramblings states holds the truth, and two batches of them agree. Student's t with 15 degrees
 * of freedom: 5 is passed by chance once in 6000; the bias of a ratio of averages is below that with 512 points. */
static void different_seeds_agree_within_their_stated_error(void **state)
{
    (void)state;
    conjugate cases[CASES];
    cases_set(cases);
    for (int k = 0; k < CASES; k++) {
        double value[2][FIGURES][REPEATS], exact[FIGURES];
        exact_figures(&cases[k], exact);
        for (int batch = 0; batch < 2; batch++)
            for (int repeat = 0; repeat < REPEATS; repeat++) {
                double figure[FIGURES];
                sampled(&cases[k], 512, 1000 * (uint64_t)batch + (uint64_t)repeat, figure);
                for (int f = 0; f < FIGURES; f++)
                    value[batch][f][repeat] = figure[f];
            }
        for (int f = 0; f < FIGURES; f++) {
            const double u0 = ch_sd(value[0][f], REPEATS) / sqrt((double)REPEATS);
            const double u1 = ch_sd(value[1][f], REPEATS) / sqrt((double)REPEATS);
            assert_true(u0 > 0.0 && u1 > 0.0); /* seeds do differ */
            expect_close(ch_mean(value[0][f], REPEATS), exact[f], 5.0 * u0);
            expect_close(ch_mean(value[0][f], REPEATS), ch_mean(value[1][f], REPEATS), 5.0 * hypot(u0, u1));
        }
    }
}

/* Many dimensions at once, as the shared state of an engine has: independent normals, each with one reading of its own precision. The
 * evidence is the product of the normal densities of the readings, N(y; 0, sqrt(1 + s^2)). */
static void normals_in_twelve_dimensions_keep_mean_and_evidence(void **state)
{
    (void)state;
    enum { D = 12, N = 1 << 15 };
    double noise[D], reading[D], exact_log = 0.0;
    for (int d = 0; d < D; d++) {
        noise[d] = 1.0 + 0.25 * d;
        reading[d] = 0.9 * sin(1.7 * d + 0.3);
        exact_log += log(gsl_ran_gaussian_pdf(reading[d], hypot(1.0, noise[d])));
    }
    double *x = calloc((D + 2) * (size_t)N, sizeof *x);
    assert_non_null(x);
    double *log_weight = x + D * (size_t)N, *weight = log_weight + N;
    assert_int_equal(ch_sobol_points(9, D, N, x, NULL), CH_OK);
    for (size_t i = 0; i < N; i++)
        for (size_t d = 0; d < D; d++) {
            x[i * D + d] = ch_normal_quantile(x[i * D + d]);
            log_weight[i] += log(gsl_ran_gaussian_pdf(reading[d] - x[i * D + d], noise[d]));
        }
    assert_int_equal(ch_weights_from_logs(log_weight, N, weight, NULL), CH_OK);
    const double effective = ch_effective_sample_size(weight, N);
    /* The even filling must do no worse than random draws: five of their standard errors. */
    expect_close(ch_log_sum_exp(log_weight, N) - log((double)N), exact_log, 5.0 * sqrt((N / effective - 1.0) / N));
    for (size_t d = 0; d < D; d++) {
        const double shrunk = 1.0 / (1.0 + noise[d] * noise[d]);
        double mean = 0.0;
        for (size_t i = 0; i < N; i++)
            mean += weight[i] * x[i * D + d];
        expect_close(mean, shrunk * reading[d], 5.0 * sqrt((1.0 - shrunk) / effective));
    }
    free(x);
}

/* Effective part of n draws of a proposal N(shift, sd^2) in each of d dimensions for the target N(0, 1). */
static double effective_part(double shift, double sd, size_t d, size_t n, uint64_t seed)
{
    double *x = calloc((d + 1) * n, sizeof *x);
    assert_non_null(x);
    double *log_weight = x + d * n;
    assert_int_equal(ch_sobol_points(seed, d, n, x, NULL), CH_OK);
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < d; k++) {
            const double score = ch_normal_quantile(x[i * d + k]), at = shift + sd * score;
            log_weight[i] += 0.5 * (score * score - at * at) + log(sd);
        }
    assert_int_equal(ch_weights_from_logs(log_weight, n, log_weight, NULL), CH_OK);
    const double part = ch_effective_sample_size(log_weight, n) / (double)n;
    free(x);
    return part;
}

/* ESS/n tends to 1/E[w^2]: exp(-shift^2) for a shifted proposal, (sqrt(2 s^2 - 1)/s^2)^d for one s times too wide. The weights' square is
 * heavy in the tail for a shift, so the points are many and the tolerance is 2 %; the even filling takes the wide one within 0.5 %. */
static void effective_sample_size_of_a_mismatch_is_that_of_theory(void **state)
{
    (void)state;
    const size_t n = 1 << 16;
    expect_close(effective_part(0.0, 1.0, 3, n, 3), 1.0, 1e-12); /* no mismatch: equal weights */
    const double shifts[] = {0.25, 0.5, 1.0, -1.0};
    for (size_t i = 0; i < sizeof shifts / sizeof shifts[0]; i++)
        expect_relative(effective_part(shifts[i], 1.0, 1, n, 3), exp(-shifts[i] * shifts[i]), 0.02);
    const double sds[] = {1.2, 1.5, 3.0};
    for (size_t i = 0; i < sizeof sds / sizeof sds[0]; i++)
        for (size_t d = 1; d <= 4; d++)
            expect_relative(effective_part(0.0, sds[i], d, n, 4),
                            pow(sqrt(2.0 * sds[i] * sds[i] - 1.0) / (sds[i] * sds[i]), (double)d), 0.005);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(weighted_sobol_points_give_conjugate_posteriors),
        cmocka_unit_test(error_shrinks_faster_than_the_points_grow),
        cmocka_unit_test(different_seeds_agree_within_their_stated_error),
        cmocka_unit_test(normals_in_twelve_dimensions_keep_mean_and_evidence),
        cmocka_unit_test(effective_sample_size_of_a_mismatch_is_that_of_theory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
