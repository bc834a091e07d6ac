/* Promises of src/trace/shared.c and directions.c: what all cylinders share is drawn along directions, and draws fitted to a posterior weigh as the prior. */
#include "../../src/trace/parts.h"
#include "crosshatch/sampling.h"
#include "expect.h"
#include "trace_bench.h"

#include <stdlib.h>

static const double one_1 = 1.0; /* all draws of one normal */

enum { DRAWS = 8192 };

/* A space with directions, and a normal fitted to draws that were weighed by one reading of the first direction. */
static void fitted_space(shared_space *space, fitted_normal *fit)
{
    const double at[SHARED_DIMENSIONS] = {0};
    measured *m = &bench.measured;
    *m = (measured){.cylinders = 2, .any_dry = true, .any_leakdown = true, .u_gain_1 = 0.02, .u_zero_pa = 3e3};
    m->cylinder[0].leakdown_count = 1;
    m->cylinder[0].leakdown[0] = (measured_leakdown){.loss_1 = 0.2, .supply_gauge_pa = 5.5e5, .orifice_m = 1e-3};
    shared_space_set(&bench.doubts, &knowledge, m, space);
    directions_set(&bench.frame, at, space);
    shared_draws draws;
    assert_int_equal(shared_draws_new(DRAWS, &draws, NULL), CH_OK);
    assert_int_equal(shared_draw_prior(space, 3, 0, DRAWS, &draws, NULL), CH_OK);
    double *weight = calloc(DRAWS, sizeof *weight);
    assert_non_null(weight);
    for (size_t i = 0; i < DRAWS; i++) {
        double along = 0.0;
        for (int d = 0; d < SHARED_DIMENSIONS; d++)
            along += space->direction[0][d] * draws.score[i * SHARED_DIMENSIONS + (size_t)d];
        weight[i] = -0.5 * (along - 2.0) * (along - 2.0) / 0.25;
    }
    assert_int_equal(ch_weights_from_logs(weight, DRAWS, weight, NULL), CH_OK);
    assert_true(shared_fit(space, &draws, 0, DRAWS, weight, fit));
    free(weight);
    shared_draws_free(&draws);
}

static void directions_are_orthonormal_and_lie_in_what_is_in_doubt(void **state)
{
    (void)state;
    shared_space space;
    fitted_normal fit;
    fitted_space(&space, &fit);
    assert_true(space.directions >= 4 && space.directions <= DIRECTIONS_MAX);
    for (int a = 0; a < space.directions; a++) {
        for (int b = 0; b <= a; b++) {
            double product = 0.0;
            for (int d = 0; d < SHARED_DIMENSIONS; d++)
                product += space.direction[a][d] * space.direction[b][d];
            expect_close(product, a == b ? 1.0 : 0.0, 1e-12);
        }
        for (int d = 0; d < SHARED_DIMENSIONS; d++)
            if (!(space.sd[d] > 0.0))
                expect_close(space.direction[a][d], 0.0, 0.0);
    }
}

/* A reading of 2 with noise 0.5 of a standard normal: posterior mean 2/(1 + 0.25), variance 0.2 (Gelman et al. 2013, eq. 2.11); the fit widens
 * the variance by 1.3. The other directions keep mean 0 and variance 1. The effective draws are some 2000: 0.1 is four errors. */
static void fitted_normal_is_the_conjugate_posterior_widened(void **state)
{
    (void)state;
    shared_space space;
    fitted_normal fit;
    fitted_space(&space, &fit);
    expect_close(fit.mean[0], 1.6, 0.03);
    expect_close(fit.factor[0] * fit.factor[0], 1.3 * 0.2 + 2e-4, 0.03);
    double log_determinant = 0.0;
    for (int a = 0; a < fit.d; a++) {
        double variance = 0.0;
        for (int b = 0; b <= a; b++)
            variance += fit.factor[a * fit.d + b] * fit.factor[a * fit.d + b];
        if (a > 0) {
            expect_close(fit.mean[a], 0.0, 0.1);
            expect_close(variance, 1.3, 0.15);
        }
        log_determinant += log(fit.factor[a * fit.d + a]);
    }
    expect_close(fit.log_determinant, log_determinant, 1e-12);
}

/* With their ratios the fitted draws are the prior again: mean ratio 1, mean 0 and variance 1 of every score and along every direction; no
 * ratio above six, because one in six of the draws is the prior's. */
static void fitted_draws_weigh_as_the_prior(void **state)
{
    (void)state;
    shared_space space;
    fitted_normal fit;
    fitted_space(&space, &fit);
    const double share_1[] = {0.5, 0.3, 0.2};
    fitted_normal several[] = {fit, fit, fit}; /* on either side of the first, and a narrow one */
    several[1].mean[0] = -1.0;
    for (int k = 0; k < fit.d * fit.d; k++)
        several[2].factor[k] *= 0.3;
    several[2].log_determinant += fit.d * log(0.3);
    for (uint64_t seed = 8; seed < 14; seed++) {
        shared_draws draws;
        shared_proposal proposal;
        assert_int_equal(shared_draws_new(DRAWS, &draws, NULL), CH_OK);
        if (seed % 2 == 0)
            assert_int_equal(shared_draw_mixture(&space, &fit, &one_1, 1, seed, 0, DRAWS, &draws, &proposal, NULL),
                             CH_OK);
        else
            assert_int_equal(shared_draw_mixture(&space, several, share_1, 3, seed, 0, DRAWS, &draws, &proposal, NULL),
                             CH_OK);
        double sum = 0.0, square = 0.0, first[DIRECTIONS_MAX + SHARED_DIMENSIONS] = {0};
        double second[DIRECTIONS_MAX + SHARED_DIMENSIONS] = {0};
        for (size_t i = 0; i < DRAWS; i++) {
            const double ratio = exp(draws.log_ratio[i]), *score = &draws.score[i * SHARED_DIMENSIONS];
            assert_true(ratio > 0.0 && ratio <= 6.0 + 1e-12);
            /* what the proposal says of any scores, it says of those it drew */
            expect_relative(shared_over_prior(&proposal, score), 1.0 / ratio, 1e-9);
            sum += ratio / DRAWS;
            square += ratio * ratio / DRAWS;
            for (int k = 0; k < space.directions + space.active_count; k++) {
                double along = 0.0;
                for (int d = 0; d < SHARED_DIMENSIONS; d++)
                    along += k < space.directions ? space.direction[k][d] * score[d] : 0.0;
                if (k >= space.directions)
                    along = score[space.active[k - space.directions]];
                first[k] += ratio * along / DRAWS;
                second[k] += ratio * along * along / DRAWS;
            }
        }
        /* Three standard errors of independent draws, which the even filling undercuts: var(ratio x) stays below six, var(ratio x^2) below
         * eighteen. */
        expect_close(sum, 1.0, 3.0 * sqrt((square - 1.0) / DRAWS));
        for (int k = 0; k < space.directions + space.active_count; k++) {
            expect_close(first[k], 0.0, 3.0 * sqrt(6.0 / DRAWS));
            expect_close(second[k], 1.0, 3.0 * sqrt(18.0 / DRAWS));
        }
        shared_draws_free(&draws);
    }
}

static void the_smallest_runs_are_drawn_too(void **state)
{
    (void)state;
    shared_space space;
    fitted_normal fit;
    fitted_space(&space, &fit);
    for (size_t n = 1; n <= 8; n++) {
        shared_draws draws;
        shared_proposal proposal;
        assert_int_equal(shared_draws_new(n, &draws, NULL), CH_OK);
        assert_int_equal(shared_draw_mixture(&space, &fit, &one_1, 1, 1, 0, n, &draws, &proposal, NULL), CH_OK);
        for (size_t i = 0; i < n; i++)
            assert_true(isfinite(draws.log_ratio[i]) && draws.log_ratio[i] <= log(6.0) + 1e-12);
        shared_draws_free(&draws);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(directions_are_orthonormal_and_lie_in_what_is_in_doubt),
        cmocka_unit_test(fitted_normal_is_the_conjugate_posterior_widened),
        cmocka_unit_test(fitted_draws_weigh_as_the_prior),
        cmocka_unit_test(the_smallest_runs_are_drawn_too),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
