/* Promises of numbers/weibull.c. Data: tests/data/reliability. tests/oracle/check_weibull.py holds the fits to SciPy's. */
#include "crosshatch/sampling.h"
#include "crosshatch/weibull.h"
#include "expect.h"
#include "table.h"

/* The survivors' rows of the file have failed = 0. */
static size_t read_lives(const char *name, const char *age_column, ch_life life[], size_t most)
{
    table *t = table_read(name);
    size_t n = 0;
    for (int row = 1; row < t->rows; row++) {
        assert_true(n < most);
        const double age = table_number(t, row, age_column);
        const double failed = table_number(t, row, "failed");
        life[n++] = (ch_life){
            .low = age, .high = failed > 0.5 ? age : INFINITY, .count = (size_t)table_number(t, row, "count")};
    }
    free(t);
    return n;
}

static void fit_reproduces_the_published_censored_example(void **state)
{
    (void)state;
    ch_life life[20];
    const size_t n = read_lives("reliability/nist_weibull_censored.csv", "time_h", life, 20);
    ch_weibull fit;
    assert_int_equal(ch_weibull_fit(life, n, 0.95, &fit, NULL), CH_OK);
    table *t = table_read("reliability/nist_weibull_results.csv");
    /* NIST/SEMATECH e-Handbook 8.4.1.3 prints 606.5280 and 1.7208; its optimiser stopped at 606.5280, the maximum is 606.5276: 5e-4 off
     * in the scale costs 1e-12 of log-likelihood. */
    expect_close(fit.scale, table_number(t, table_row(t, "eta"), "published"), 1e-3);
    expect_close(fit.shape, table_number(t, table_row(t, "beta"), "published"), table_half_unit(t, 2, "published"));
    expect_close(fit.log_likelihood, table_number(t, table_row(t, "log_likelihood"), "published"), 5e-4);
    expect_close(2.0 * 2.0 - 2.0 * fit.log_likelihood, table_number(t, table_row(t, "AIC"), "published"), 5e-3);
    /* Half a unit of the last digit, and what 4e-4 of scale makes of it. */
    expect_close(ch_weibull_mean(fit.shape, fit.scale), table_number(t, table_row(t, "mean_h"), "published"), 1.5e-3);
    expect_close(ch_weibull_sd(fit.shape, fit.scale), table_number(t, table_row(t, "std_h"), "published"), 2e-3);
    free(t);
    assert_int_equal(fit.failures, 10);
    assert_int_equal(fit.survivors, 10);
    assert_true(fit.shape_interval[0] < fit.shape && fit.shape < fit.shape_interval[1]);
    assert_true(fit.scale_interval[0] < fit.scale && fit.scale < fit.scale_interval[1]);
}

/* Survivors among the failures, at all distances: 27 of 38. The information that the fit states is held to a published covariance. */
static void shock_absorbers_have_their_published_life(void **state)
{
    (void)state;
    ch_life life[40];
    const size_t n = read_lives("reliability/shock_absorbers.csv", "distance_km", life, 40);
    assert_int_equal(n, 38);
    ch_weibull fit;
    assert_int_equal(ch_weibull_fit(life, n, 0.95, &fit, NULL), CH_OK);
    assert_true(fit.failures == 11 && fit.survivors == 27);
    table *t = table_read("reliability/shock_absorbers_results.csv");
    const double sigma = 1.0 / fit.shape;
    expect_close(log(fit.scale), table_number(t, table_row(t, "mu"), "published"), 2e-7);
    expect_close(sigma, table_number(t, table_row(t, "sigma"), "published"), 1e-6); /* their optimiser stops at 6e-7 */
    expect_close(fit.log_likelihood, table_number(t, table_row(t, "log_likelihood"), "published"), 5e-5);
    /* sigma = exp(-ln shape): its variance is that of ln shape times sigma squared, its covariance with mu has the other sign */
    const double by_differences = 1e-5;
    expect_relative(fit.u_log_scale * fit.u_log_scale, table_number(t, table_row(t, "variance_mu"), "published"),
                    by_differences);
    expect_relative(pow(sigma * fit.u_log_shape, 2.0), table_number(t, table_row(t, "variance_sigma"), "published"),
                    by_differences);
    expect_relative(-fit.correlation * fit.u_log_scale * sigma * fit.u_log_shape,
                    table_number(t, table_row(t, "covariance"), "published"), 1.5 * by_differences);
    expect_close(fit.scale, table_number(t, table_row(t, "eta"), "published"), 0.005);
    expect_close(fit.shape, table_number(t, table_row(t, "beta"), "published"), 0.005);
    expect_close(fit.scale * fit.u_log_scale, table_number(t, table_row(t, "standard_error_eta"), "published"), 0.005);
    expect_close(fit.shape * fit.u_log_shape, table_number(t, table_row(t, "standard_error_beta"), "published"), 0.005);
    free(t);
    /* Profile likelihood by SciPy (minimize_scalar in brentq): 1.8985322 to 4.7713908 */
    expect_relative(fit.shape_interval[0], 1.8985322, 1e-6);
    expect_relative(fit.shape_interval[1], 4.7713908, 1e-6);
}

/* Weibull lives by inversion, seen to the end of the study or in steps of looking. */
static size_t draw_lives(ch_stream *stream, double shape, double scale, double end, double look, size_t n,
                         ch_life life[])
{
    for (size_t i = 0; i < n; i++) {
        const double age = ch_weibull_quantile(shape, scale, ch_stream_uniform(stream));
        const double before = look > 0.0 ? floor(age / look) * look : age;
        life[i] = age > end ? (ch_life){end, INFINITY, 1} : (ch_life){before, look > 0.0 ? before + look : age, 1};
    }
    return n;
}

static void intervals_cover_as_often_as_they_say(void **state)
{
    (void)state;
    enum { SETS = 1500, PARTS = 25 };
    ch_stream stream;
    ch_stream_init(&stream, 11, 0);
    int shape_in = 0, scale_in = 0;
    for (int s = 0; s < SETS; s++) {
        ch_life life[PARTS];
        draw_lives(&stream, 2.2, 300.0, 330.0, 0.0, PARTS, life);
        ch_weibull fit;
        assert_int_equal(ch_weibull_fit(life, PARTS, 0.90, &fit, NULL), CH_OK);
        shape_in += fit.shape_interval[0] <= 2.2 && 2.2 <= fit.shape_interval[1];
        scale_in += fit.scale_interval[0] <= 300.0 && 300.0 <= fit.scale_interval[1];
    }
    /* Counting 1500 of chance 0.9 scatters by 0.008; a profile interval of some 17 failures is short by about 0.01 (Meeker and Escobar
     * 1998, 8.3: the chi-square holds for many failures). */
    expect_close(shape_in / (double)SETS, 0.9, 0.03);
    expect_close(scale_in / (double)SETS, 0.9, 0.03);
}

static void looking_now_and_then_tells_nearly_as_much_as_seeing_the_failure(void **state)
{
    (void)state;
    enum { PARTS = 4000 };
    static ch_life seen[PARTS], looked[PARTS];
    ch_stream stream;
    ch_stream_init(&stream, 12, 0);
    draw_lives(&stream, 1.6, 100.0, 150.0, 0.0, PARTS, seen);
    ch_stream_init(&stream, 12, 0);
    draw_lives(&stream, 1.6, 100.0, 150.0, 10.0, PARTS, looked);
    ch_weibull a, b;
    assert_int_equal(ch_weibull_fit(seen, PARTS, 0.95, &a, NULL), CH_OK);
    assert_int_equal(ch_weibull_fit(looked, PARTS, 0.95, &b, NULL), CH_OK);
    assert_int_equal(b.failures + b.survivors, PARTS);
    /* The truth within three standard uncertainties, and both fits of the same lives within a third of one. */
    expect_close(log(a.shape / 1.6), 0.0, 3.0 * a.u_log_shape);
    expect_close(log(b.scale / 100.0), 0.0, 3.0 * b.u_log_scale);
    expect_close(log(a.shape / b.shape), 0.0, 0.34 * a.u_log_shape);
    assert_true(b.u_log_shape > a.u_log_shape && b.u_log_shape < 1.2 * a.u_log_shape);
}

static void profile_and_fisher_agree_where_there_are_many(void **state)
{
    (void)state;
    enum { PARTS = 20000 };
    static ch_life life[PARTS];
    ch_stream stream;
    ch_stream_init(&stream, 13, 0);
    draw_lives(&stream, 3.0, 5.0e6, 5.0e6, 0.0, PARTS, life);
    ch_weibull fit;
    assert_int_equal(ch_weibull_fit(life, PARTS, 0.95, &fit, NULL), CH_OK);
    const double z = ch_normal_quantile(0.975);
    expect_relative(log(fit.shape_interval[1] / fit.shape), z * fit.u_log_shape, 0.02);
    expect_relative(log(fit.scale / fit.scale_interval[0]), z * fit.u_log_scale, 0.02);
}

static void unit_of_age_does_not_matter(void **state)
{
    (void)state;
    ch_life hours[20], seconds[20];
    const size_t n = read_lives("reliability/nist_weibull_censored.csv", "time_h", hours, 20);
    for (size_t i = 0; i < n; i++)
        seconds[i] = (ch_life){hours[i].low * 3600.0, hours[i].high * 3600.0, hours[i].count};
    ch_weibull a, b;
    assert_int_equal(ch_weibull_fit(hours, n, 0.9, &a, NULL), CH_OK);
    assert_int_equal(ch_weibull_fit(seconds, n, 0.9, &b, NULL), CH_OK);
    expect_relative(b.shape, a.shape, 1e-9);
    expect_relative(b.scale, 3600.0 * a.scale, 1e-9);
    expect_relative(b.shape_interval[1], a.shape_interval[1], 1e-6);
}

static void one_failure_and_an_older_survivor_are_enough(void **state)
{
    (void)state;
    const ch_life life[] = {{100.0, 100.0, 1}, {200.0, INFINITY, 3}};
    ch_weibull fit;
    assert_int_equal(ch_weibull_fit(life, 2, 0.9, &fit, NULL), CH_OK);
    assert_true(fit.shape > 0.0 && isfinite(fit.scale));
    /* By hand: the score by the scale gives scale^k = sum of ages^k over failures. */
    expect_relative(pow(fit.scale, fit.shape), pow(100.0, fit.shape) + 3.0 * pow(200.0, fit.shape), 1e-9);
}

static void fit_refuses_what_has_no_best_life(void **state)
{
    (void)state;
    ch_weibull fit = {.shape = 7.0};
    ch_err err = {0};
    const ch_life alive[] = {{100.0, INFINITY, 5}}, alike[] = {{100.0, 100.0, 5}, {50.0, INFINITY, 2}},
                  backward[] = {{100.0, 50.0, 1}, {10.0, 10.0, 1}}, nobody[] = {{100.0, 100.0, 0}, {10.0, 10.0, 1}},
                  at_birth[] = {{0.0, 0.0, 1}, {10.0, 10.0, 1}}, unknown[] = {{NAN, 3.0, 1}, {10.0, 10.0, 1}},
                  left[] = {{0.0, 100.0, 1}, {200.0, INFINITY, 1}};
    assert_int_equal(ch_weibull_fit(alive, 1, 0.9, &fit, &err), CH_E_RANGE);
    assert_non_null(strstr(err.what, "nothing has failed yet"));
    assert_int_equal(ch_weibull_fit(alike, 2, 0.9, &fit, NULL), CH_E_RANGE);
    assert_int_equal(ch_weibull_fit(backward, 2, 0.9, &fit, NULL), CH_E_RANGE);
    assert_int_equal(ch_weibull_fit(nobody, 2, 0.9, &fit, NULL), CH_E_RANGE);
    assert_int_equal(ch_weibull_fit(at_birth, 2, 0.9, &fit, NULL), CH_E_RANGE);
    assert_int_equal(ch_weibull_fit(unknown, 2, 0.9, &fit, NULL), CH_E_RANGE);
    assert_int_equal(ch_weibull_fit(left, 2, 0.9, &fit, NULL), CH_E_CONVERGE); /* a shape towards 0 fits ever better */
    assert_int_equal(ch_weibull_fit(alike, 0, 0.9, &fit, NULL), CH_E_RANGE);
    assert_int_equal(ch_weibull_fit(alike, 2, 1.0, &fit, NULL), CH_E_RANGE);
    assert_int_equal(ch_weibull_fit(alike, CH_WEIBULL_ROWS_MAX + 1, 0.9, &fit, NULL), CH_E_LIMIT);
    assert_true(fit.shape == 7.0);
}

static void life_functions_agree_with_each_other(void **state)
{
    (void)state;
    const double shape = 1.7, scale = 420.0, b10 = ch_weibull_quantile(shape, scale, 0.1);
    expect_relative(ch_weibull_survival(shape, scale, b10), 0.9, 1e-14);
    /* The integral of the survival by the trapezoid rule; its error is (b10/n)^2/12 times the slope's change. */
    double sum = 0.0;
    const int n = 20000;
    for (int i = 0; i <= n; i++)
        sum += (i == 0 || i == n ? 0.5 : 1.0) * ch_weibull_survival(shape, scale, b10 * i / n) * b10 / n;
    expect_relative(ch_weibull_mean_to(shape, scale, b10), sum, 1e-8);
    expect_relative(ch_weibull_mean_to(shape, scale, INFINITY), ch_weibull_mean(shape, scale), 1e-15);
    /* shape 1 is the exponential: mean = sd = scale; shape 2 the Rayleigh: scale sqrt(pi)/2. */
    expect_relative(ch_weibull_mean(1.0, 3.0), 3.0, 1e-14);
    expect_relative(ch_weibull_sd(1.0, 3.0), 3.0, 1e-14);
    expect_relative(ch_weibull_mean(2.0, 3.0), 3.0 * sqrt(3.14159265358979323846) / 2.0, 1e-14);
    assert_true(isnan(ch_weibull_survival(0.0, 1.0, 1.0)) && isnan(ch_weibull_quantile(1.0, 1.0, 1.0)));
    assert_true(isnan(ch_weibull_mean(NAN, 1.0)) && isnan(ch_weibull_sd(1.0, -1.0)) &&
                isnan(ch_weibull_mean_to(1.0, 1.0, -1.0)));
}

/* Lives that end nearly together, and such as scatter beyond any number. */
static void life_functions_keep_their_digits_at_every_shape(void **state)
{
    (void)state;
    /* Parts nearly alike: ln life is -Euler's constant/shape about ln scale, sd pi/(sqrt(6) shape), NIST/SEMATECH e-Handbook 8.1.6.3 */
    const double pi = acos(-1.0);
    for (double shape = 1e7; shape < 1e150; shape *= 1e9)
        expect_relative(ch_weibull_sd(shape, 3.0), 3.0 * pi / sqrt(6.0) / shape, 1e-6);
    /* 60 digits by mpmath 1.2 */
    expect_relative(ch_weibull_sd(0.01, 1.0), 2.80830530278453e187, 1e-12);
    expect_relative(ch_weibull_sd(0.3, 1.0), 50.0780270295246, 1e-13);
    expect_relative(ch_weibull_sd(20.0, 1.0), 0.0603341926104426, 1e-13);
    expect_relative(ch_weibull_sd(20.1, 1.0), 0.0600509779010943, 1e-13);
    expect_relative(ch_weibull_sd(1000.0, 1.0), 0.00128087574787135, 1e-13);
    assert_true(ch_weibull_mean(1e-3, 1.0) == INFINITY && ch_weibull_sd(1e-3, 1.0) == INFINITY &&
                ch_weibull_sd(0.006, 1.0) == INFINITY && ch_weibull_sd(5e-324, 1.0) == INFINITY);
    /* Long before any part fails, the mean of min(life, age) is the age, also where (age/scale)^shape is too small for a double. */
    const double shape[] = {2.0, 10.0, 50.0, 200.0, 1e6};
    for (size_t i = 0; i < 5; i++)
        for (double age = 1e-5; age > 1e-300; age *= 0.1)
            expect_relative(ch_weibull_mean_to(shape[i], 1.0, age), age, 1e-10);
    /* ... and the two ways to it meet: int of 1 - t^2 + t^4/2 */
    for (double age = 1e-3; age > 1e-6; age *= 0.7)
        expect_relative(ch_weibull_mean_to(2.0, 1.0, age), age * (1.0 - age * age / 3.0 * (1.0 - 0.3 * age * age)),
                        1e-14);
}

static void replacement_age_reproduces_the_published_optimum(void **state)
{
    (void)state;
    table *t = table_read("reliability/age_replacement_example.csv");
    ch_replacement got;
    assert_int_equal(ch_age_replacement(table_number(t, 1, "beta"), table_number(t, 1, "eta"),
                                        table_number(t, 1, "cost_preventive"), table_number(t, 1, "cost_corrective"),
                                        &got, NULL),
                     CH_OK);
    assert_true(got.worth);
    expect_close(got.age, table_number(t, 1, "optimal_age"), table_half_unit(t, 1, "optimal_age"));
    expect_close(got.cost_rate, table_number(t, 1, "cost_rate_at_optimum"),
                 table_half_unit(t, 1, "cost_rate_at_optimum"));
    expect_close(got.cost_rate_fail, table_number(t, 1, "run_to_failure_cost_rate"),
                 table_half_unit(t, 1, "run_to_failure_cost_rate"));
    free(t);
}

/* Renewal reward by chance: costs over time of many lives, each replaced at the age or at failure. */
static double simulated_rate(double shape, double scale, double planned, double failure, double age)
{
    ch_stream stream;
    ch_stream_init(&stream, 21, 0);
    double cost = 0.0, time = 0.0;
    for (int i = 0; i < 200000; i++) {
        const double life = ch_weibull_quantile(shape, scale, ch_stream_uniform(&stream));
        cost += life < age ? failure : planned;
        time += fmin(life, age);
    }
    return cost / time;
}

static void replacement_age_costs_less_than_its_neighbours(void **state)
{
    (void)state;
    ch_replacement got;
    assert_int_equal(ch_age_replacement(3.0, 60.0, 80.0, 900.0, &got, NULL), CH_OK);
    const double best = simulated_rate(3.0, 60.0, 80.0, 900.0, got.age);
    expect_relative(got.cost_rate, best, 0.02); /* of 200000 lives some 4 % fail: scatter 1 % */
    assert_true(best < simulated_rate(3.0, 60.0, 80.0, 900.0, 0.6 * got.age));
    assert_true(best < simulated_rate(3.0, 60.0, 80.0, 900.0, 1.7 * got.age));
    assert_true(best < simulated_rate(3.0, 60.0, 80.0, 900.0, 1e9));
}

static void replacing_early_is_not_worth_it_without_wear_or_without_a_dearer_failure(void **state)
{
    (void)state;
    ch_replacement got;
    assert_int_equal(ch_age_replacement(1.0, 60.0, 80.0, 900.0, &got, NULL), CH_OK);
    assert_true(!got.worth && got.age == INFINITY && got.cost_rate == got.cost_rate_fail);
    expect_relative(got.cost_rate, 900.0 / 60.0, 1e-14);
    assert_int_equal(ch_age_replacement(3.0, 60.0, 900.0, 900.0, &got, NULL), CH_OK);
    assert_false(got.worth);
    got.age = 5.0;
    assert_int_equal(ch_age_replacement(3.0, 60.0, 0.0, 900.0, &got, NULL), CH_E_RANGE);
    assert_int_equal(ch_age_replacement(NAN, 60.0, 1.0, 900.0, &got, NULL), CH_E_RANGE);
    assert_true(got.age == 5.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fit_reproduces_the_published_censored_example),
        cmocka_unit_test(shock_absorbers_have_their_published_life),
        cmocka_unit_test(intervals_cover_as_often_as_they_say),
        cmocka_unit_test(looking_now_and_then_tells_nearly_as_much_as_seeing_the_failure),
        cmocka_unit_test(profile_and_fisher_agree_where_there_are_many),
        cmocka_unit_test(unit_of_age_does_not_matter),
        cmocka_unit_test(one_failure_and_an_older_survivor_are_enough),
        cmocka_unit_test(fit_refuses_what_has_no_best_life),
        cmocka_unit_test(life_functions_agree_with_each_other),
        cmocka_unit_test(life_functions_keep_their_digits_at_every_shape),
        cmocka_unit_test(replacement_age_reproduces_the_published_optimum),
        cmocka_unit_test(replacement_age_costs_less_than_its_neighbours),
        cmocka_unit_test(replacing_early_is_not_worth_it_without_wear_or_without_a_dearer_failure),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
