/* Promises of src/numbers at the edges of what each function takes: what lies outside is refused with a reason, nothing is touched, and what lies on the
 * edge is answered. The answers within have their own tests. */
#include <float.h>
#include <string.h>

#include "crosshatch/gauge_study.h"
#include "crosshatch/regression.h"
#include "crosshatch/sampling.h"
#include "crosshatch/summary.h"
#include "crosshatch/uncertainty.h"
#include "crosshatch/weibull.h"
#include "expect.h"

/* Refused with a reason, and the answer is as it was. */
#define REFUSED(type, call, want)                                                                                      \
    do {                                                                                                               \
        type out, as_it_was;                                                                                           \
        ch_err err = {0};                                                                                              \
        memset(&out, 0x5a, sizeof out);                                                                                \
        memcpy(&as_it_was, &out, sizeof out);                                                                          \
        assert_int_equal(call, want);                                                                                  \
        assert_int_equal(err.status, want);                                                                            \
        assert_true(err.what[0] != '\0');                                                                              \
        assert_memory_equal(&out, &as_it_was, sizeof out);                                                             \
    } while (0)

static const double nothing_right[] = {NAN, -1.0, 0.0, 1.0, 2.0, INFINITY, -INFINITY};
enum { NOTHING_RIGHT = sizeof nothing_right / sizeof nothing_right[0] };

static void a_share_that_is_none_is_refused_everywhere(void **state)
{
    (void)state;
    const double y[] = {1, 2, 3, 5, 8, 13, 21, 34, 55, 89}, t[] = {0, 1, 2, 3, 4, 5, 6, 7, 8, 9};
    const ch_life life[] = {{10, 10, 1}, {20, 20, 1}, {30, INFINITY, 2}};
    for (int i = 0; i < NOTHING_RIGHT; i++) {
        const double p_1 = nothing_right[i]; /* no share strictly between 0 and 1 */
        double draws[10];
        memcpy(draws, y, sizeof draws);
        REFUSED(ch_trend, ch_trend_rank(t, y, 10, p_1, &out, &err), CH_E_RANGE);
        REFUSED(ch_weibull, ch_weibull_fit(life, 3, p_1, &out, &err), CH_E_RANGE);
        REFUSED(ch_monte_carlo, ch_monte_carlo_summarize(draws, 10, p_1, &out, &err), CH_E_RANGE);
        REFUSED(ch_outlier, ch_outlier_find(y, 10, NAN, 0.0, p_1, &out, &err), CH_E_RANGE);
        assert_true(isnan(ch_grubbs_critical(10, p_1)));
        assert_true(isnan(ch_coverage_factor(p_1, 10.0)));
        assert_true(isnan(ch_weibull_quantile(2.0, 100.0, p_1)));
    }
    assert_true(isnan(ch_coverage_factor(0.95, 0.0)) && isnan(ch_coverage_factor(0.95, NAN)) &&
                isnan(ch_coverage_factor(0.95, -2.0)));
    assert_true(isnan(ch_grubbs_critical(2, 0.05)));
    assert_true(ch_grubbs_critical(3, 0.05) > 0.0);
    /* both ends of a sorted sample are quantiles of it */
    expect_close(ch_quantile_sorted(y, 10, 0.0), 1.0, 0.0);
    expect_close(ch_quantile_sorted(y, 10, 1.0), 89.0, 0.0);
    assert_true(isnan(ch_quantile_sorted(y, 10, -1e-9)) && isnan(ch_quantile_sorted(y, 10, 1.0 + 1e-9)) &&
                isnan(ch_quantile_sorted(y, 10, NAN)) && isnan(ch_quantile_sorted(y, 0, 0.5)));
}

static void an_interval_needs_enough_draws_to_leave_some_outside(void **state)
{
    (void)state;
    double y[10] = {1, 2, 3, 4, 5, 6, 7, 8, 9, 10}, with_unknown[3] = {1, NAN, 3};
    REFUSED(ch_monte_carlo, ch_monte_carlo_summarize(y, 10, 0.99, &out, &err), CH_E_RANGE); /* all ten inside */
    REFUSED(ch_monte_carlo, ch_monte_carlo_summarize(y, 10, 0.01, &out, &err), CH_E_RANGE); /* none inside */
    REFUSED(ch_monte_carlo, ch_monte_carlo_summarize(with_unknown, 3, 0.5, &out, &err), CH_E_RANGE);
    ch_monte_carlo out;
    assert_int_equal(ch_monte_carlo_summarize(y, 10, 0.8, &out, NULL), CH_OK);
    expect_close(out.mean, 5.5, 1e-12);
    assert_true(out.low >= 1.0 && out.high <= 10.0 && out.low < out.high);
    double p_1 = 7.0, u_1 = 7.0;
    assert_int_equal(ch_chance_below(with_unknown, 3, 2.0, &p_1, &u_1, NULL), CH_E_RANGE);
    assert_true(p_1 == 7.0 && u_1 == 7.0);
    assert_int_equal(ch_chance_below(y, 10, 3.5, &p_1, &u_1, NULL), CH_OK);
    expect_close(p_1, 0.3, 1e-12);
}

static void a_numerical_tolerance_is_half_of_the_last_digit_kept(void **state)
{
    (void)state;
    /* JCGM 101:2008, 7.9.2: 0.00035 with two digits is 35e-5, half of 1e-5 */
    expect_relative(ch_numerical_tolerance(0.00035, 2), 0.5e-5, 1e-9);
    expect_relative(ch_numerical_tolerance(0.00035, 1), 0.5e-4, 1e-9);
    expect_relative(ch_numerical_tolerance(2.0, 9), 0.5e-8, 1e-9);
    assert_true(isnan(ch_numerical_tolerance(0.0, 2)) && isnan(ch_numerical_tolerance(NAN, 2)) &&
                isnan(ch_numerical_tolerance(INFINITY, 2)) && isnan(ch_numerical_tolerance(1.0, 0)) &&
                isnan(ch_numerical_tolerance(1.0, 10)));
}

static void an_input_without_a_number_is_not_combined(void **state)
{
    (void)state;
    const double bad[] = {-1.0, NAN, INFINITY};
    for (size_t i = 0; i < 3; i++) {
        const ch_component u[] = {{1.0, 1.0, 5.0}, {bad[i], 1.0, 5.0}};
        const ch_component df[] = {{1.0, 1.0, i == 2 ? 0.0 : bad[i]}};
        double u_c = 7.0, df_eff = 7.0;
        assert_int_equal(ch_u_combine(u, 2, &u_c, &df_eff, NULL), CH_E_RANGE);
        assert_int_equal(ch_u_combine(df, 1, &u_c, &df_eff, NULL), CH_E_RANGE);
        assert_true(u_c == 7.0 && df_eff == 7.0);
    }
    const ch_component slope[] = {{1.0, INFINITY, 5.0}}, none[] = {{1.0, NAN, 5.0}},
                       right[] = {{3.0, 1.0, 5.0}, {2.0, -2.0, INFINITY}};
    assert_int_equal(ch_u_combine(slope, 1, NULL, NULL, NULL), CH_E_RANGE);
    assert_int_equal(ch_u_combine(none, 1, NULL, NULL, NULL), CH_E_RANGE);
    /* either answer may be left out */
    double u_c = 0.0, df_eff = 0.0;
    assert_int_equal(ch_u_combine(right, 2, &u_c, NULL, NULL), CH_OK);
    expect_relative(u_c, 5.0, 1e-15); /* sqrt(9 + 16) */
    assert_int_equal(ch_u_combine(right, 2, NULL, &df_eff, NULL), CH_OK);
    expect_relative(df_eff, 625.0 / (81.0 / 5.0), 1e-14); /* GUM G.4.1 */
}

static void readings_that_are_none_are_not_fitted(void **state)
{
    (void)state;
    const double bad[] = {NAN, INFINITY, -INFINITY};
    const double x[] = {1, 2, 3, 4}, y[] = {2, 4, 6, 9}, u[] = {1, 1, 1, 1};
    for (size_t i = 0; i < 3; i++) {
        double x_bad[4], y_bad[4], u_bad[4];
        memcpy(x_bad, x, sizeof x), memcpy(y_bad, y, sizeof y), memcpy(u_bad, u, sizeof u);
        x_bad[2] = y_bad[2] = bad[i];
        u_bad[3] = i == 0 ? 0.0 : bad[i];
        REFUSED(ch_line, ch_line_fit(x_bad, y, NULL, 4, &out, &err), CH_E_RANGE);
        REFUSED(ch_line, ch_line_fit(x, y_bad, NULL, 4, &out, &err), CH_E_RANGE);
        REFUSED(ch_line, ch_line_fit(x, y, u_bad, 4, &out, &err), CH_E_RANGE);
        double b[2];
        const double a[] = {1, 1, 1, 2, 1, 3, 1, 4};
        double a_bad[8];
        memcpy(a_bad, a, sizeof a);
        a_bad[5] = bad[i];
        REFUSED(ch_fit, ch_least_squares(a, y_bad, NULL, 4, 2, b, NULL, &out, &err), CH_E_RANGE);
        REFUSED(ch_fit, ch_least_squares(a_bad, y, NULL, 4, 2, b, NULL, &out, &err), CH_E_RANGE);
        REFUSED(ch_fit, ch_least_squares(a, y, u_bad, 4, 2, b, NULL, &out, &err), CH_E_RANGE);
        REFUSED(ch_fit, ch_least_squares(a, y, NULL, 4, 0, b, NULL, &out, &err), CH_E_RANGE);
        REFUSED(ch_fit, ch_least_squares(a, y, NULL, 1, 2, b, NULL, &out, &err), CH_E_RANGE);
        if (!isnan(bad[i])) {
            REFUSED(ch_trend, ch_trend_rank(x_bad, y, 4, 0.9, &out, &err), CH_E_RANGE);
            REFUSED(ch_trend, ch_trend_rank(x, y_bad, 4, 0.9, &out, &err), CH_E_RANGE);
        }
    }
    /* all at one place: no line */
    const double same[] = {3, 3, 3, 3};
    REFUSED(ch_line, ch_line_fit(same, y, NULL, 4, &out, &err), CH_E_RANGE);
    /* apart by less than their squares can tell */
    const double close[] = {0.0, 1e-170, 2e-170, 3e-170};
    REFUSED(ch_line, ch_line_fit(close, y, NULL, 4, &out, &err), CH_E_RANGE);
}

static void a_trend_of_few_readings_bounds_what_it_can(void **state)
{
    (void)state;
    const double t[] = {0, 1, 2}, y[] = {5, 4, 4}, level[] = {3, 3, 3, 3, 3}, at_once[] = {1, 1, 1, 1, 1};
    ch_trend out;
    assert_int_equal(ch_trend_rank(t, y, 3, 0.99, &out, NULL), CH_OK);
    expect_close(out.s, -2.0, 0.0);
    assert_true(isnan(out.slope_low) && isnan(out.slope_high)); /* three slopes cannot bound 99 in 100 */
    assert_false(out.exact);                                    /* two readings are alike */
    assert_int_equal(ch_trend_rank(at_once, level, 5, 0.9, &out, NULL), CH_OK);
    expect_close(out.s, 0.0, 0.0);
    expect_close(out.z, 0.0, 0.0);
    assert_true(isnan(out.slope));
}

static void sums_that_overflow_are_said_and_never_infinite(void **state)
{
    (void)state;
    const double large[] = {DBL_MAX, DBL_MAX, -DBL_MAX}, apart[] = {1e200, -1e200, 1e200};
    REFUSED(ch_summary, ch_summarize(large, 3, &out, &err), CH_E_RANGE);
    REFUSED(ch_summary, ch_summarize(apart, 3, &out, &err), CH_E_RANGE);
}

static void a_line_through_readings_beyond_squaring_is_refused(void **state)
{
    (void)state;
    const double x[] = {0, 1, 2}, y[] = {1e308, -1e308, 1e308};
    REFUSED(ch_line, ch_line_fit(x, y, NULL, 3, &out, &err), CH_E_RANGE); /* was a line without any uncertainty */
}

static void groups_that_do_not_scatter_have_an_infinite_ratio_or_none(void **state)
{
    (void)state;
    const size_t sizes[] = {2, 2};
    const double apart[] = {1, 1, 2, 2}, alike[] = {1, 1, 1, 1}, within[] = {1, 3, 1, 3};
    ch_anova out;
    assert_int_equal(ch_anova_one_way(apart, sizes, 2, &out, NULL), CH_OK);
    assert_true(isinf(out.f) && out.f > 0.0);
    expect_close(out.p, 0.0, 0.0);
    expect_close(out.r_squared, 1.0, 1e-15);
    assert_int_equal(ch_anova_one_way(alike, sizes, 2, &out, NULL), CH_OK);
    assert_true(isnan(out.f) && isnan(out.p) && isnan(out.r_squared));
    assert_int_equal(ch_anova_one_way(within, sizes, 2, &out, NULL), CH_OK);
    expect_close(out.f, 0.0, 0.0);
    expect_close(out.p, 1.0, 1e-12);
    expect_close(out.r_squared, 0.0, 1e-15);
}

static void a_gauge_study_needs_two_of_everything(void **state)
{
    (void)state;
    double y[8] = {1, 2, 3, 4, 5, 6, 7, 9};
    REFUSED(ch_gauge_study, ch_gauge_study_evaluate(y, 1, 2, 2, 0.25, &out, &err), CH_E_RANGE);
    REFUSED(ch_gauge_study, ch_gauge_study_evaluate(y, 2, 1, 2, 0.25, &out, &err), CH_E_RANGE);
    REFUSED(ch_gauge_study, ch_gauge_study_evaluate(y, 2, 2, 1, 0.25, &out, &err), CH_E_RANGE);
    REFUSED(ch_gauge_study, ch_gauge_study_evaluate(y, 2, 2, 2, 1.1, &out, &err), CH_E_RANGE);
    REFUSED(ch_gauge_study, ch_gauge_study_evaluate(y, 2, 2, 2, NAN, &out, &err), CH_E_RANGE);
    ch_gauge_study out;
    assert_int_equal(ch_gauge_study_evaluate(y, 2, 2, 2, 0.0, &out, NULL), CH_OK);
    assert_int_equal(ch_gauge_study_evaluate(y, 2, 2, 2, 1.0, &out, NULL), CH_OK);
}

static void a_life_without_figures_has_no_answers(void **state)
{
    (void)state;
    const double bad[] = {NAN, 0.0, -1.0, INFINITY};
    for (size_t i = 0; i < 4; i++) {
        assert_true(isnan(ch_weibull_survival(bad[i], 100.0, 10.0)) && isnan(ch_weibull_survival(2.0, bad[i], 10.0)));
        assert_true(isnan(ch_weibull_quantile(bad[i], 100.0, 0.5)) && isnan(ch_weibull_quantile(2.0, bad[i], 0.5)));
        assert_true(isnan(ch_weibull_mean(bad[i], 100.0)) && isnan(ch_weibull_sd(2.0, bad[i])));
        assert_true(isnan(ch_weibull_mean_to(bad[i], 100.0, 10.0)) && isnan(ch_weibull_mean_to(2.0, bad[i], 10.0)));
        REFUSED(ch_replacement, ch_age_replacement(bad[i], 100.0, 1.0, 5.0, &out, &err), CH_E_RANGE);
        REFUSED(ch_replacement, ch_age_replacement(2.0, 100.0, bad[i], 5.0, &out, &err), CH_E_RANGE);
        REFUSED(ch_replacement, ch_age_replacement(2.0, 100.0, 1.0, bad[i], &out, &err), CH_E_RANGE);
    }
    assert_true(isnan(ch_weibull_survival(2.0, 100.0, -1.0)) && isnan(ch_weibull_mean_to(2.0, 100.0, -1.0)));
    expect_close(ch_weibull_survival(2.0, 100.0, 0.0), 1.0, 0.0);
    expect_close(ch_weibull_mean_to(2.0, 100.0, 0.0), 0.0, 0.0);
    const ch_life none[] = {{10, 10, 0}}, backwards[] = {{10, 5, 1}}, unknown[] = {{NAN, 5, 1}},
                  for_ever[] = {{INFINITY, INFINITY, 1}}, before[] = {{-1, 5, 1}};
    const ch_life *const wrong[] = {none, backwards, unknown, for_ever, before};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
        REFUSED(ch_weibull, ch_weibull_fit(wrong[i], 1, 0.9, &out, &err), CH_E_RANGE);
}

static void wear_that_hardly_grows_is_worth_no_planned_replacement(void **state)
{
    (void)state;
    ch_replacement out;
    /* Barlow and Proschan, Optimum preventive maintenance policies, Operations Research 8 (1960): without a rising hazard none is worth it */
    assert_int_equal(ch_age_replacement(1.0, 100.0, 1.0, 5.0, &out, NULL), CH_OK);
    assert_true(isinf(out.age));
    assert_int_equal(ch_age_replacement(3.0, 100.0, 5.0, 5.0, &out, NULL), CH_OK);
    assert_true(isinf(out.age));
    /* a shape barely above 1 and a failure hardly dearer: the best age lies beyond any life */
    assert_int_equal(ch_age_replacement(1.02, 100.0, 1.0, 1.01, &out, NULL), CH_OK);
    assert_true(isinf(out.age));
    assert_int_equal(ch_age_replacement(3.0, 100.0, 1.0, 20.0, &out, NULL), CH_OK);
    assert_true(out.age > 10.0 && out.age < 60.0 && out.cost_rate < out.cost_rate_fail);
    /* just dearer, and wearing fast: beyond the mean life, which the search has to go out for */
    assert_int_equal(ch_age_replacement(1.5, 100.0, 1.0, 2.2, &out, NULL), CH_OK);
    assert_true(out.age > 100.0);
}

static void weights_that_are_none_are_refused(void **state)
{
    (void)state;
    const double logs_bad[] = {-INFINITY, -INFINITY}, logs_nan[] = {0.0, NAN}, logs_inf[] = {0.0, INFINITY};
    double weight[2] = {7, 7};
    assert_int_equal(ch_weights_from_logs(logs_bad, 2, weight, NULL), CH_E_RANGE);
    assert_int_equal(ch_weights_from_logs(logs_inf, 2, weight, NULL), CH_E_RANGE);
    assert_int_equal(ch_weights_from_logs(logs_nan, 2, weight, NULL), CH_E_RANGE);
    assert_true(weight[0] == 7.0 && weight[1] == 7.0);
    const double none[] = {0, 0}, negative[] = {1, -1}, endless[] = {1, INFINITY}, unknown[] = {1, NAN},
                 right[] = {1, 3};
    const double *const wrong[] = {none, negative, endless, unknown};
    size_t index[4] = {9, 9, 9, 9};
    for (size_t i = 0; i < 4; i++)
        assert_int_equal(ch_resample_systematic(wrong[i], 2, 0.5, 4, index, NULL), CH_E_RANGE);
    for (int i = 0; i < NOTHING_RIGHT; i++)
        assert_int_equal(ch_resample_systematic(right, 2, nothing_right[i], 4, index, NULL), CH_E_RANGE);
    assert_true(index[0] == 9 && index[3] == 9);
    assert_int_equal(ch_resample_systematic(right, 2, 0.5, 4, index, NULL), CH_OK);
    assert_true(index[0] == 0 && index[1] == 1 && index[3] == 1);
}

static bool two_places(const double parameter[], size_t p, void *context, double residual[], size_t n)
{
    (void)p;
    const double *const edge = context;
    if (!(parameter[0] < *edge)) /* the model does not exist beyond the edge */
        return false;
    for (size_t i = 0; i < n; i++)
        residual[i] = parameter[0] - 2.0 - (i % 2 == 0 ? 0.1 : -0.1);
    return true;
}

static void a_curve_is_fitted_up_to_the_edge_of_its_model(void **state)
{
    (void)state;
    double edge = 2.0000001, p = 1.0;
    ch_fit fit;
    assert_int_equal(ch_curve_fit(two_places, &edge, 6, 1, false, &p, NULL, &fit, NULL), CH_OK);
    expect_close(p, 2.0, 1e-5); /* the derivative is taken from one side there */
    double outside = 3.0;
    ch_err err = {0};
    assert_true(ch_curve_fit(two_places, &edge, 6, 1, false, &outside, NULL, &fit, &err) < 0);
    assert_true(err.what[0] != '\0' && outside == 3.0);
    assert_int_equal(ch_curve_fit(two_places, &edge, 6, 0, false, &p, NULL, &fit, NULL), CH_E_RANGE);
    assert_int_equal(ch_curve_fit(two_places, &edge, 1, 2, false, &p, NULL, &fit, NULL), CH_E_RANGE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_share_that_is_none_is_refused_everywhere),
        cmocka_unit_test(an_interval_needs_enough_draws_to_leave_some_outside),
        cmocka_unit_test(a_numerical_tolerance_is_half_of_the_last_digit_kept),
        cmocka_unit_test(an_input_without_a_number_is_not_combined),
        cmocka_unit_test(readings_that_are_none_are_not_fitted),
        cmocka_unit_test(a_trend_of_few_readings_bounds_what_it_can),
        cmocka_unit_test(sums_that_overflow_are_said_and_never_infinite),
        cmocka_unit_test(a_line_through_readings_beyond_squaring_is_refused),
        cmocka_unit_test(groups_that_do_not_scatter_have_an_infinite_ratio_or_none),
        cmocka_unit_test(a_gauge_study_needs_two_of_everything),
        cmocka_unit_test(a_life_without_figures_has_no_answers),
        cmocka_unit_test(wear_that_hardly_grows_is_worth_no_planned_replacement),
        cmocka_unit_test(weights_that_are_none_are_refused),
        cmocka_unit_test(a_curve_is_fitted_up_to_the_edge_of_its_model),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
