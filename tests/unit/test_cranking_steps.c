/* Promises of one step of either Runge-Kutta method: order, error estimate, and what stiffness does to it; and of where the steps have to end. */
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "cranking_engines.h"
#include "cranking_model.h"
#include "dopri.h"
#include "expect.h"
#include "rodas.h"

/* A problem with a known solution: y0 = 2 + sin x, y1 = 2 + cos x, y2 = exp(1 - cos x); y5, a book, 1 - cos x. */
static bool solvable(void *context, double x, const double y[], double rate[])
{
    (void)context;
    rate[0] = y[1] - 2.0;
    rate[1] = 2.0 - y[0];
    rate[2] = (y[0] - 2.0) * y[2];
    rate[3] = y[0] * y[1];
    rate[4] = 2.0 * x * y[2];
    rate[5] = y[0] - 2.0;
    return true;
}

static const double START[DOPRI_N] = {2.0, 3.0, 1.0, 0.0, 0.0, 0.0};

/* Largest error of the three states and the book at x = 2 after n equal steps. */
static double error_after(int n, bool rodas)
{
    double y[DOPRI_N], first[DOPRI_N], last[DOPRI_N], y_new[DOPRI_N], error[DOPRI_N], stiff;
    memcpy(y, START, sizeof y);
    const double h = 2.0 / n;
    for (int i = 0; i < n; i++) {
        const double x = i * h;
        assert_true(solvable(NULL, x, y, first));
        if (rodas) {
            rodas_slopes slopes;
            assert_true(rodas_slopes_set(solvable, NULL, x, y, first, false, &slopes));
            assert_true(rodas_step(solvable, NULL, x, y, first, &slopes, h, y_new, error));
        } else {
            assert_true(dopri_step(solvable, NULL, x, y, first, h, y_new, last, error, &stiff));
        }
        memcpy(y, y_new, sizeof y);
    }
    return fmax(fmax(fabs(y[0] - 2.0 - sin(2.0)), fabs(y[1] - 2.0 - cos(2.0))),
                fmax(fabs(y[2] - exp(1.0 - cos(2.0))), fabs(y[5] - 1.0 + cos(2.0))));
}

/* Theory: the error falls by 2^order with the step; higher terms leave a few tenths at these steps. */
static void explicit_pair_converges_with_order_five(void **state)
{
    (void)state;
    expect_close(log2(error_after(16, false) / error_after(32, false)), 5.0, 0.3);
}

static void rosenbrock_converges_with_order_four(void **state)
{
    (void)state;
    expect_close(log2(error_after(128, true) / error_after(256, true)), 4.0, 0.3);
}

/* The embedded solution of either is one order lower, so the estimate falls as h^5 and h^4. */
static void error_estimates_fall_with_their_order(void **state)
{
    (void)state;
    double first[DOPRI_N], last[DOPRI_N], y_new[DOPRI_N], stiff, whole[DOPRI_N], half[DOPRI_N];
    assert_true(solvable(NULL, 0.0, START, first));
    assert_true(dopri_step(solvable, NULL, 0.0, START, first, 0.1, y_new, last, whole, &stiff));
    assert_true(dopri_step(solvable, NULL, 0.0, START, first, 0.05, y_new, last, half, &stiff));
    expect_close(log2(fabs(whole[0] / half[0])), 5.0, 0.5);
    rodas_slopes slopes;
    assert_true(rodas_slopes_set(solvable, NULL, 0.0, START, first, false, &slopes));
    assert_true(rodas_step(solvable, NULL, 0.0, START, first, &slopes, 0.1, y_new, whole));
    assert_true(rodas_step(solvable, NULL, 0.0, START, first, &slopes, 0.05, y_new, half));
    expect_close(log2(fabs(whole[2] / half[2])), 4.0, 0.5);
}

static void explicit_pair_hands_on_the_rates_at_its_end(void **state)
{
    (void)state;
    double first[DOPRI_N], last[DOPRI_N], y_new[DOPRI_N], error[DOPRI_N], stiff, again[DOPRI_N];
    assert_true(solvable(NULL, 0.0, START, first));
    assert_true(dopri_step(solvable, NULL, 0.0, START, first, 0.2, y_new, last, error, &stiff));
    assert_true(solvable(NULL, 0.2, y_new, again));
    for (int i = 0; i < DOPRI_N; i++)
        expect_relative(last[i], again[i], 1e-14); /* rounding only */
}

/* Prothero and Robinson's problem, Math. Comp. 28 (1974) 145: y' = -rate (y - g(x)) + g'(x), solution g. Here g = 2 + cos x. */
static bool stiff_problem(void *context, double x, const double y[], double rate[])
{
    memset(rate, 0, DOPRI_N * sizeof *rate);
    rate[0] = -*(const double *)context * (y[0] - 2.0 - cos(x)) - sin(x);
    rate[1] = rate[2] = 0.0;
    return true;
}

static void rosenbrock_follows_a_stiff_solution_in_steps_a_million_times_its_time_constant(void **state)
{
    (void)state;
    double fast = 1e7, y[DOPRI_N] = {3.0, 1.0, 1.0}, first[DOPRI_N], y_new[DOPRI_N], error[DOPRI_N];
    for (int i = 0; i < 20; i++) {
        rodas_slopes slopes;
        assert_true(stiff_problem(&fast, 0.1 * i, y, first));
        assert_true(rodas_slopes_set(stiff_problem, &fast, 0.1 * i, y, first, false, &slopes));
        expect_relative(slopes.norm, fast, 1e-6); /* forward differences of a linear law: rounding over 1e-7 */
        assert_true(rodas_step(stiff_problem, &fast, 0.1 * i, y, first, &slopes, 0.1, y_new, error));
        memcpy(y, y_new, sizeof y);
    }
    expect_close(y[0], 2.0 + cos(2.0), 1e-6);
}

/* At the start of the solvable problem, by hand: rows of |d rate_i / d ln y_j| / y_i are 3/2; 2/3; 2, the last the largest. */
static void the_fastest_rate_is_bounded_by_the_largest_row(void **state)
{
    (void)state;
    double first[DOPRI_N];
    rodas_slopes slopes;
    assert_true(solvable(NULL, 0.0, START, first));
    assert_true(rodas_slopes_set(solvable, NULL, 0.0, START, first, false, &slopes));
    expect_relative(slopes.norm, 2.0, 1e-6); /* rounding over 1e-7 */
    const double want[DOPRI_STATES][DOPRI_STATES] = {{0.0, 3.0, 0.0}, {-2.0, 0.0, 0.0}, {2.0, 0.0, 0.0}};
    for (int i = 0; i < DOPRI_STATES; i++)
        for (int j = 0; j < DOPRI_STATES; j++)
            expect_close(slopes.state[i][j], want[i][j], 1e-6);
    expect_close(slopes.x[4], 2.0, 1e-6); /* of 2 x y2 */
    /* frozen: the last state is taken to act on nothing */
    assert_true(rodas_slopes_set(solvable, NULL, 0.5, START, first, true, &slopes));
    for (int i = 0; i < DOPRI_N; i++)
        expect_close(slopes.state[i][DOPRI_STATES - 1], 0.0, 0.0);
}

static void explicit_pair_sees_that_stability_holds_it_down(void **state)
{
    (void)state;
    double fast = 30.0, y[DOPRI_N] = {3.3, 1.0, 1.0}, first[DOPRI_N], last[DOPRI_N], y_new[DOPRI_N], error[DOPRI_N];
    double stiff = NAN;
    assert_true(stiff_problem(&fast, 0.0, y, first));
    assert_true(dopri_step(stiff_problem, &fast, 0.0, y, first, 0.1, y_new, last, error, &stiff));
    expect_relative(stiff, 3.0, 1e-6); /* h times 30; exact for a linear law but for rounding */
}

static void where_nothing_moves_nothing_is_stiff(void **state)
{
    (void)state;
    double fast = 0.0, y[DOPRI_N] = {3.0, 1.0, 1.0}, first[DOPRI_N], last[DOPRI_N], y_new[DOPRI_N], error[DOPRI_N],
           stiff = NAN;
    assert_true(stiff_problem(&fast, 0.0, y, first));
    memset(first, 0, sizeof first);
    assert_true(dopri_step(stiff_problem, &fast, 0.0, y, first, 0.0, y_new, last, error, &stiff));
    expect_close(stiff, 0.0, 0.0);
}

static bool impossible_beyond_half(void *context, double x, const double y[], double rate[])
{
    memset(rate, 0, DOPRI_N * sizeof *rate);
    (void)context;
    (void)y;
    return x < 0.5;
}

static void an_impossible_state_on_the_way_is_reported(void **state)
{
    (void)state;
    double first[DOPRI_N] = {0.0}, last[DOPRI_N], y_new[DOPRI_N], error[DOPRI_N], stiff;
    rodas_slopes slopes;
    assert_false(dopri_step(impossible_beyond_half, NULL, 0.4, START, first, 0.2, y_new, last, error, &stiff));
    assert_true(rodas_slopes_set(impossible_beyond_half, NULL, 0.4, START, first, false, &slopes));
    assert_false(rodas_step(impossible_beyond_half, NULL, 0.4, START, first, &slopes, 0.2, y_new, error));
    assert_false(rodas_slopes_set(impossible_beyond_half, NULL, 0.5, START, first, false, &slopes));
}

/* Of one valve: where it opens and closes, and where its seat passes as much as its port: pi d L = pi d^2/4, L = most sin^2 over the duration. */
static size_t kinks_of(const ch_valve *valve, double at_rad[])
{
    size_t n = 0;
    for (int i = 0; i <= 20000; i++) {
        const double before = (i - 0.5) / 20000.0, here = (i + 0.5) / 20000.0;
        const double was =
            before < 0.0 ? -1.0
                         : valve->lift_m * pow(sin(3.14159265358979323846 * before), 2.0) - 0.25 * valve->diameter_m;
        const double is =
            here > 1.0 ? -1.0 : valve->lift_m * pow(sin(3.14159265358979323846 * here), 2.0) - 0.25 * valve->diameter_m;
        if (i == 0 || i == 20000 || (was > 0.0) != (is > 0.0))
            at_rad[n++] = valve->opens_rad + i / 20000.0 * valve->duration_rad;
    }
    return n;
}

/* Polynomials do not follow a kink, so no step may cross one: dead centres, and those of both valves. */
static void steps_end_at_every_dead_centre_and_valve_event(void **state)
{
    (void)state;
    const double turn = 4.0 * 3.14159265358979323846;
    for (int e = 0; e < CRANKING_ENGINES_N; e++) {
        const ch_cranking given = cranking_engine_set(&CRANKING_ENGINES[e]);
        double breaks_rad[CRANKING_BREAKS_MAX],
            want_rad[CRANKING_BREAKS_MAX] = {0.0, 0.25 * turn, 0.5 * turn, 0.75 * turn};
        const int count = cranking_breaks(&given, breaks_rad);
        size_t n = 4;
        n += kinks_of(&given.intake, want_rad + n);
        n += kinks_of(&given.exhaust, want_rad + n);
        assert_int_equal(count, n);
        for (int i = 0; i < count; i++) {
            assert_true(breaks_rad[i] >= 0.0 && breaks_rad[i] < turn && (i == 0 || breaks_rad[i] >= breaks_rad[i - 1]));
            double nearest = INFINITY;
            for (size_t k = 0; k < n; k++) {
                const double off = fabs(fmod(want_rad[k] - breaks_rad[i] + 4.0 * turn, turn));
                nearest = fmin(nearest, fmin(off, turn - off));
            }
            expect_close(nearest, 0.0, 1e-3); /* the valves' kinks are looked for in 20,000 steps of a duration */
        }
        for (size_t k = 0; k < n; k++) {
            double nearest = INFINITY;
            for (int i = 0; i < count; i++) {
                const double off = fabs(fmod(want_rad[k] - breaks_rad[i] + 4.0 * turn, turn));
                nearest = fmin(nearest, fmin(off, turn - off));
            }
            expect_close(nearest, 0.0, 1e-3);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(explicit_pair_converges_with_order_five),
        cmocka_unit_test(rosenbrock_converges_with_order_four),
        cmocka_unit_test(error_estimates_fall_with_their_order),
        cmocka_unit_test(explicit_pair_hands_on_the_rates_at_its_end),
        cmocka_unit_test(rosenbrock_follows_a_stiff_solution_in_steps_a_million_times_its_time_constant),
        cmocka_unit_test(the_fastest_rate_is_bounded_by_the_largest_row),
        cmocka_unit_test(explicit_pair_sees_that_stability_holds_it_down),
        cmocka_unit_test(steps_end_at_every_dead_centre_and_valve_event),
        cmocka_unit_test(where_nothing_moves_nothing_is_stiff),
        cmocka_unit_test(an_impossible_state_on_the_way_is_reported),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
