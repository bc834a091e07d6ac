/* Promises of numbers/line.c, least_squares.c, trend.c and curve_fit.c. Data: tests/data/nist-strd, gum, trend. */
#include "crosshatch/regression.h"
#include "expect.h"
#include "fail_alloc.h"
#include "strd.h"

enum { POINTS_MAX = 300, PARAMETERS_MAX = 11 };

static size_t read_csv(const char *name, size_t columns, double value[], size_t most_rows)
{
    char path[1024], line[200];
    snprintf(path, sizeof path, "%s/tests/data/%s", getenv("CROSSHATCH_SOURCE"), name);
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    assert_non_null(fgets(line, sizeof line, file));
    size_t rows = 0;
    while (rows < most_rows && fgets(line, sizeof line, file) != NULL) {
        char *at = line;
        for (size_t c = 0; c < columns; c++) {
            value[rows * columns + c] = strtod(at, &at);
            at += *at == ',';
        }
        rows++;
    }
    fclose(file);
    return rows;
}

/* ---- straight line ---- */

/* GUM H.3, table H.6 and H.3.3 to H.3.5 (tests/data/gum); tolerances are the print's last digit (it is rounded oddly). */
static void thermometer_of_gum_h3_is_reproduced(void **state)
{
    (void)state;
    double rows[2 * 20], t[20], b[20];
    const size_t n = read_csv("gum/h3_thermometer_calibration.csv", 2, rows, 20);
    assert_int_equal(n, 11);
    for (size_t i = 0; i < n; i++) {
        t[i] = rows[2 * i] - 20.0;
        b[i] = rows[2 * i + 1];
    }
    ch_line line;
    assert_int_equal(ch_line_fit(t, b, NULL, n, &line, NULL), CH_OK);
    expect_close(line.intercept, -0.1712, 5e-5);
    expect_close(line.u_intercept, 0.0029, 5e-5);
    expect_close(line.slope, 0.00218, 5e-6);
    expect_close(line.u_slope, 0.00067, 5e-6);
    expect_close(line.covariance / (line.u_intercept * line.u_slope), -0.930, 5e-4);
    expect_close(line.residual_sd, 0.0035, 5e-5);
    expect_close(ch_line_at(&line, 10.0), -0.1494, 5e-5);
    expect_close(ch_line_u_at(&line, 10.0), 0.0041, 5e-5);
}

/* Norris has 36 points, lower difficulty; its decimals are rounded on reading. */
static void line_reaches_certified_digits_of_norris(void **state)
{
    (void)state;
    strd set = strd_open("linear/Norris.dat");
    double rows[2 * POINTS_MAX], x[POINTS_MAX], y[POINTS_MAX], b[2][2];
    const size_t n = strd_rows(&set, 61, 2, rows, POINTS_MAX);
    for (size_t i = 0; i < n; i++) {
        y[i] = rows[2 * i];
        x[i] = rows[2 * i + 1];
    }
    ch_line line;
    assert_int_equal(ch_line_fit(x, y, NULL, n, &line, NULL), CH_OK);
    assert_int_equal(strd_labelled(&set, "B0", b[0], 2), 2);
    assert_int_equal(strd_labelled(&set, "B1", b[1], 2), 2);
    expect_digits(line.intercept, b[0][0], 12);
    expect_digits(line.u_intercept, b[0][1], 12);
    expect_digits(line.slope, b[1][0], 14);
    expect_digits(line.u_slope, b[1][1], 12);
    expect_digits(line.residual_sd, strd_value(&set, "Standard Deviation"), 12);
    expect_digits(line.r_squared, strd_value(&set, "R-Squared"), 14);
    strd_close(&set);
}

/* Equal uncertainties u change nothing but the scale; a reading with a huge u is as good as absent. */
static void known_uncertainties_weigh_the_points(void **state)
{
    (void)state;
    const double x[] = {1.0, 2.0, 4.0, 7.0}, y[] = {2.1, 2.9, 5.2, 100.0};
    const double u[] = {0.1, 0.1, 0.1, 1e9}, alike[] = {0.1, 0.1, 0.1, 0.1};
    ch_line weighted, three;
    assert_int_equal(ch_line_fit(x, y, u, 4, &weighted, NULL), CH_OK);
    assert_int_equal(ch_line_fit(x, y, alike, 3, &three, NULL), CH_OK);
    expect_relative(weighted.slope, three.slope, 1e-12);
    expect_relative(weighted.u_slope, three.u_slope, 1e-12);
    /* By hand: x mean 7/3, sum of squares 14/3, u(slope) = 0.1/sqrt(14/3), u(height at the mean) = 0.1/sqrt(3). */
    expect_relative(three.u_slope, 0.1 / sqrt(14.0 / 3.0), 1e-14);
    expect_relative(three.u_y_mean, 0.1 / sqrt(3.0), 1e-14);
    expect_relative(ch_line_u_at(&three, 0.0), three.u_intercept, 1e-14);
}

static void line_refuses_what_does_not_fix_it(void **state)
{
    (void)state;
    const double x[] = {1.0, 1.0, 2.0}, y[] = {1.0, 2.0, NAN}, u[] = {1.0, 0.0, 1.0};
    ch_line line = {.n = 77};
    assert_int_equal(ch_line_fit(x, y, NULL, 1, &line, NULL), CH_E_RANGE);
    assert_int_equal(ch_line_fit(x, y, NULL, 2, &line, NULL), CH_E_RANGE);
    assert_int_equal(ch_line_fit(x, y, NULL, 3, &line, NULL), CH_E_RANGE);
    assert_int_equal(ch_line_fit(x + 1, y, u + 1, 2, &line, NULL), CH_E_RANGE);
    assert_int_equal(line.n, 77);
    assert_int_equal(ch_line_fit(x + 1, x, NULL, 2, &line, NULL), CH_OK);
    assert_true(line.slope == 0.0 && isnan(line.residual_sd) && isnan(line.u_slope));
}

/* ---- linear least squares ---- */

static void expect_linear(const char *name, size_t columns, bool constant, size_t degree, double b_digits,
                          double u_digits)
{
    strd set = strd_open(name);
    double rows[7 * POINTS_MAX], a[PARAMETERS_MAX * POINTS_MAX], y[POINTS_MAX];
    const size_t n = strd_rows(&set, 61, columns, rows, POINTS_MAX);
    const size_t p = degree > 1 ? degree + 1 : columns - 1 + (constant ? 1 : 0);
    for (size_t i = 0; i < n; i++) {
        y[i] = rows[i * columns];
        size_t k = 0;
        if (constant)
            a[i * p + k++] = 1.0;
        for (size_t c = 1; c < columns; c++)
            a[i * p + k++] = rows[i * columns + c];
        for (size_t power = 2; power <= degree; power++, k++)
            a[i * p + k] = a[i * p + k - 1] * rows[i * columns + 1]; /* whole numbers up to 20^5: exact */
    }
    double b[PARAMETERS_MAX], covariance[PARAMETERS_MAX * PARAMETERS_MAX];
    ch_fit fit;
    assert_int_equal(ch_least_squares(a, y, NULL, n, p, b, covariance, &fit, NULL), CH_OK);
    for (size_t k = 0; k < p; k++) {
        char label[8];
        double certified[2];
        snprintf(label, sizeof label, "B%zu", constant ? k : k + 1);
        assert_int_equal(strd_labelled(&set, label, certified, 2), 2);
        expect_digits(b[k], certified[0], b_digits);
        expect_digits(sqrt(covariance[k * p + k]), certified[1], u_digits);
    }
    expect_digits(fit.residual_sd, strd_value(&set, "Standard Deviation"), u_digits);
    strd_close(&set);
}

static void least_squares_reach_certified_digits(void **state)
{
    (void)state;
    expect_linear("linear/Norris.dat", 2, true, 1, 13.5, 13.5);
    expect_linear("linear/Pontius.dat", 2, true, 2, 13, 13);
    expect_linear("linear/NoInt1.dat", 2, false, 1, 14, 14);
    expect_linear("linear/Longley.dat", 7, true, 1, 14, 14);
    expect_linear("linear/Wampler1.dat", 2, true, 5, 15, 15);
    expect_linear("linear/Wampler3.dat", 2, true, 5, 15, 14);
    expect_linear("linear/Wampler5.dat", 2, true, 5, 15, 14);
    /* x^2 to x^10 are rounded to doubles before the fit sees them, and the columns nearly depend (condition 1e15): 1e-16 of a column is
     * worth 1e-8 of a coefficient. */
    expect_linear("linear/Filip.dat", 2, true, 10, 7, 7);
}

static void least_squares_refuse_columns_that_depend(void **state)
{
    (void)state;
    const double a[] = {1.0, 0.1, 1.1, 1.0, 0.2, 1.2, 1.0, 0.7, 1.7, 1.0, 0.9, 1.9}, y[] = {1.0, 2.0, 3.0, 4.0};
    double b[3] = {7.0, 7.0, 7.0};
    ch_err err = {0};
    assert_int_equal(ch_least_squares(a, y, NULL, 4, 3, b, NULL, NULL, &err), CH_E_RANGE);
    assert_string_equal(err.what, "a column of the fit depends on the others");
    assert_int_equal(ch_least_squares(a, y, NULL, 2, 3, b, NULL, NULL, NULL), CH_E_RANGE);
    assert_true(b[0] == 7.0);
}

static void weighted_least_squares_agree_with_the_weighted_line(void **state)
{
    (void)state;
    const double x[] = {1.0, 2.0, 4.0, 7.0}, y[] = {2.1, 2.9, 5.2, 7.7}, u[] = {0.1, 0.3, 0.2, 0.5};
    double a[8], b[2], covariance[4];
    for (size_t i = 0; i < 4; i++) {
        a[2 * i] = 1.0;
        a[2 * i + 1] = x[i];
    }
    ch_line line;
    ch_fit fit;
    assert_int_equal(ch_line_fit(x, y, u, 4, &line, NULL), CH_OK);
    assert_int_equal(ch_least_squares(a, y, u, 4, 2, b, covariance, &fit, NULL), CH_OK);
    expect_relative(b[0], line.intercept, 1e-13);
    expect_relative(b[1], line.slope, 1e-13);
    expect_relative(sqrt(covariance[0]), line.u_intercept, 1e-13);
    expect_relative(covariance[1], line.covariance, 1e-13);
    expect_relative(fit.chi2, line.chi2, 1e-13);
}

/* ---- nonlinear least squares ---- */

typedef struct curve {
    const char *name;
    size_t p;
    double (*model)(const double b[], double x);
    double x[POINTS_MAX], y[POINTS_MAX];
} curve;

static double saturation(const double b[], double x)
{
    return b[0] * (1.0 - exp(-b[1] * x));
}

static double chwirut(const double b[], double x)
{
    return exp(-b[0] * x) / (b[1] + b[2] * x);
}

static double power(const double b[], double x)
{
    return b[0] * pow(x, b[1]);
}

static double gauss(const double b[], double x)
{
    const double first = (x - b[3]) / b[4], second = (x - b[6]) / b[7];
    return b[0] * exp(-b[1] * x) + b[2] * exp(-first * first) + b[5] * exp(-second * second);
}

static double lanczos(const double b[], double x)
{
    return b[0] * exp(-b[1] * x) + b[2] * exp(-b[3] * x) + b[4] * exp(-b[5] * x);
}

static double mgh17(const double b[], double x)
{
    return b[0] + b[1] * exp(-x * b[3]) + b[2] * exp(-x * b[4]);
}

static double rat42(const double b[], double x)
{
    return b[0] / (1.0 + exp(b[1] - b[2] * x));
}

static double thurber(const double b[], double x)
{
    return (b[0] + x * (b[1] + x * (b[2] + x * b[3]))) / (1.0 + x * (b[4] + x * (b[5] + x * b[6])));
}

static double meyer(const double b[], double x)
{
    return b[0] * exp(b[1] / (x + b[2]));
}

static double kowalik(const double b[], double x)
{
    return b[0] * x * (x + b[1]) / (x * (x + b[2]) + b[3]);
}

static double peak(const double b[], double x)
{
    const double from_top = (x - b[2]) / b[1];
    return b[0] / b[1] * exp(-0.5 * from_top * from_top);
}

static double rat43(const double b[], double x)
{
    return b[0] / pow(1.0 + exp(b[1] - b[2] * x), 1.0 / b[3]);
}

static double magnet(const double b[], double x)
{
    return b[0] * pow(b[1] + x, -1.0 / b[2]);
}

static bool curve_residuals(const double b[], size_t p, void *context, double residual[], size_t n)
{
    (void)p;
    const curve *c = context;
    for (size_t i = 0; i < n; i++)
        residual[i] = c->y[i] - c->model(b, c->x[i]);
    return true;
}

static void expect_curve(const char *name, size_t p, double (*model)(const double b[], double x), int start,
                         double digits, double u_digits)
{
    strd set = strd_open(name);
    curve c = {.name = name, .p = p, .model = model};
    double rows[2 * POINTS_MAX], b[PARAMETERS_MAX], covariance[PARAMETERS_MAX * PARAMETERS_MAX];
    double line[PARAMETERS_MAX][4];
    const size_t n = strd_rows(&set, 61, 2, rows, POINTS_MAX);
    for (size_t i = 0; i < n; i++) {
        c.y[i] = rows[2 * i];
        c.x[i] = rows[2 * i + 1];
    }
    for (size_t k = 0; k < p; k++) {
        char label[8];
        snprintf(label, sizeof label, "b%zu =", k + 1);
        assert_int_equal(strd_labelled(&set, label, line[k], 4), 4);
        b[k] = line[k][start - 1];
    }
    ch_fit fit;
    ch_err err = {0};
    if (ch_curve_fit(curve_residuals, &c, n, p, false, b, covariance, &fit, &err) < 0)
        fail_msg("%s from start %d: %s", name, start, err.what);
    for (size_t k = 0; k < p; k++) {
        expect_digits(b[k], line[k][2], digits);
        expect_digits(sqrt(covariance[k * p + k]), line[k][3], u_digits);
    }
    expect_digits(fit.chi2, strd_value(&set, "Residual Sum of Squares"), digits);
    strd_close(&set);
}

/* NIST certifies 11 digits; differences instead of exact derivatives leave 8 and more, 7.5 where parameters nearly trade. */
static void curves_reach_certified_digits_from_both_starts(void **state)
{
    (void)state;
    for (int start = 1; start <= 2; start++) {
        expect_curve("nonlinear/Misra1a.dat", 2, saturation, start, 8, 8);
        expect_curve("nonlinear/Chwirut2.dat", 3, chwirut, start, 8, 8);
        expect_curve("nonlinear/DanWood.dat", 2, power, start, 8, 8);
        expect_curve("nonlinear/Gauss1.dat", 8, gauss, start, 8, 8);
        expect_curve("nonlinear/Lanczos3.dat", 6, lanczos, start, 8, 8);
        expect_curve("nonlinear/Rat42.dat", 3, rat42, start, 8, 8);
        expect_curve("nonlinear/Thurber.dat", 7, thurber, start, 7.5, 7);
        expect_curve("nonlinear/BoxBOD.dat", 2, saturation, start, 8, 8);
        expect_curve("nonlinear/MGH17.dat", 5, mgh17, start, 8, 7.5);
        expect_curve("nonlinear/MGH09.dat", 4, kowalik, start, 7.5, 7.5);
        expect_curve("nonlinear/MGH10.dat", 3, meyer, start, 8, 7.5);
        expect_curve("nonlinear/Rat43.dat", 4, rat43, start, 8, 8);
        expect_curve("nonlinear/Bennett5.dat", 3, magnet, start, 8, 8);
    }
}

/* A peak 4 wide at 451: differences over a share of its place are differences over a twelfth of its width. Five digits of the
 * uncertainties were left until the step is halved where the curve bends within it. */
static void a_peak_narrow_against_its_place_keeps_its_digits(void **state)
{
    (void)state;
    for (int start = 1; start <= 2; start++)
        expect_curve("nonlinear/Eckerle4.dat", 3, peak, start, 8, 8);
}

static bool nowhere(const double b[], size_t p, void *context, double residual[], size_t n)
{
    (void)b, (void)p, (void)context, (void)residual, (void)n;
    return false;
}

/* y = sqrt(b x): exists for b >= 0 only; the start's first full step leads below. */
static bool root_residuals(const double b[], size_t p, void *context, double residual[], size_t n)
{
    (void)p;
    const double *y = context;
    for (size_t i = 0; i < n; i++)
        residual[i] = y[i] - sqrt(b[0] * (double)(i + 1));
    return b[0] >= 0.0;
}

static bool sum_residuals(const double b[], size_t p, void *context, double residual[], size_t n)
{
    (void)p;
    const double *y = context;
    for (size_t i = 0; i < n; i++)
        residual[i] = y[i] - (b[0] + b[1]) * (double)(i + 1);
    return true;
}

static void curve_steps_back_where_the_model_ends(void **state)
{
    (void)state;
    const double y[] = {0.1, 0.15, 0.17, 0.2};
    double copy[4], b = 50.0;
    memcpy(copy, y, sizeof copy);
    assert_int_equal(ch_curve_fit(root_residuals, copy, 4, 1, false, &b, NULL, NULL, NULL), CH_OK);
    /* Linear in sqrt(b): sqrt(b) = sum y sqrt(i)/sum i. */
    const double root = (0.1 + 0.15 * sqrt(2.0) + 0.17 * sqrt(3.0) + 0.2 * 2.0) / 10.0;
    expect_relative(b, root * root, 1e-9);
}

static void curve_says_why_it_failed(void **state)
{
    (void)state;
    double y[] = {1.0, 2.1, 2.9}, b[] = {0.3, 0.4};
    ch_err err = {0};
    assert_int_equal(ch_curve_fit(nowhere, y, 3, 2, false, b, NULL, NULL, &err), CH_E_RANGE);
    assert_string_equal(err.what, "the model cannot be computed at the start");
    err = (ch_err){0};
    assert_int_equal(ch_curve_fit(sum_residuals, y, 3, 2, false, b, NULL, NULL, &err), CH_E_CONVERGE);
    assert_string_equal(err.what, "the readings cannot tell the parameters apart");
    assert_int_equal(ch_curve_fit(sum_residuals, y, 1, 2, false, b, NULL, NULL, NULL), CH_E_RANGE);
    assert_true(b[0] == 0.3 && b[1] == 0.4);
}

/* A straight line is a curve too: both fits must agree, with known uncertainties and without. */
static bool line_residuals(const double b[], size_t p, void *context, double residual[], size_t n)
{
    (void)p;
    const double *y = context;
    for (size_t i = 0; i < n; i++)
        residual[i] = (y[i] - b[0] - b[1] * (double)i) / 0.5;
    return true;
}

static void curve_fit_of_a_line_is_the_line(void **state)
{
    (void)state;
    double y[] = {1.0, 2.1, 2.9, 4.3, 4.6}, x[] = {0.0, 1.0, 2.0, 3.0, 4.0}, u[] = {0.5, 0.5, 0.5, 0.5, 0.5};
    for (int known = 0; known < 2; known++) {
        double b[] = {5.0, -5.0}, covariance[4];
        ch_fit fit;
        ch_line line;
        assert_int_equal(ch_line_fit(x, y, known ? u : NULL, 5, &line, NULL), CH_OK);
        assert_int_equal(ch_curve_fit(line_residuals, y, 5, 2, known == 1, b, covariance, &fit, NULL), CH_OK);
        expect_relative(b[0], line.intercept, 1e-11);
        expect_relative(b[1], line.slope, 1e-11);
        expect_relative(sqrt(covariance[3]), line.u_slope, 1e-9);
        expect_relative(covariance[1], line.covariance, 1e-9);
    }
}

static void exact_data_are_met_exactly(void **state)
{
    (void)state;
    double y[] = {1.0, 3.0, 5.0, 7.0, 9.0}, b[] = {50.0, -5.0};
    ch_fit fit;
    assert_int_equal(ch_curve_fit(line_residuals, y, 5, 2, false, b, NULL, &fit, NULL), CH_OK);
    expect_close(b[0], 1.0, 1e-10);
    expect_close(b[1], 2.0, 1e-10);
    b[0] = 50.0;
    assert_int_equal(ch_curve_fit(line_residuals, y, 2, 2, false, b, NULL, &fit, NULL), CH_OK);
    expect_close(b[0], 1.0, 1e-10);
    assert_true(fit.df == 0.0 && isnan(fit.residual_sd));
}

/* ---- trend ---- */

/* tests/data/trend: a course note's example worked by hand, and the slope recomputed. */
static void mann_kendall_matches_the_worked_example(void **state)
{
    (void)state;
    double rows[2 * 20], t[20], y[20];
    const size_t n = read_csv("trend/mann_kendall_by_hand.csv", 2, rows, 20);
    assert_int_equal(n, 14);
    for (size_t i = 0; i < n; i++) {
        t[i] = rows[2 * i];
        y[i] = rows[2 * i + 1];
    }
    ch_trend got;
    assert_int_equal(ch_trend_rank(t, y, n, 0.95, &got, NULL), CH_OK);
    assert_true(got.s == 54.0 && !got.exact);
    expect_close(got.var_s, 332.6667, 5e-5);
    expect_close(got.z, 2.9058, 5e-5);
    expect_close(got.p, 0.0036627, 5e-8);
    expect_close(got.tau, 0.593407, 5e-7);
    expect_close(got.slope, 0.566667, 5e-7);
    assert_true(got.slope_low > 0.0 && got.slope_low < got.slope && got.slope < got.slope_high);
}

/*
 * Sen, JASA 63 (1968) 1379, his own example: slope 4, at 93 % 26/7 to 35/8. Data and interval as in the tests of two statistics packages (SciPy's
 * theilslopes, R's deming), of which the latter notes that the paper's list of the pairs' slopes has slips that do not reach these figures.
 */
static void theil_sen_slope_and_interval_are_those_of_sen_s_example(void **state)
{
    (void)state;
    const double t[] = {1, 2, 3, 4, 10, 12, 18}, y[] = {9, 15, 19, 20, 45, 55, 78};
    ch_trend got;
    assert_int_equal(ch_trend_rank(t, y, 7, 0.93, &got, NULL), CH_OK);
    expect_relative(got.slope, 4.0, 1e-15);
    expect_relative(got.slope_low, 26.0 / 7.0, 1e-15);
    expect_relative(got.slope_high, 35.0 / 8.0, 1e-15);
    expect_relative(got.intercept, 4.0, 1e-15); /* median 20 less 4 times the median 4 */
}

/* Gilbert 1987, table A18 (Kendall's table): one-sided chances of S, from memory; two-sided is twice that. */
static void few_readings_get_their_exact_chance(void **state)
{
    (void)state;
    const double t[] = {1, 2, 3, 4, 5, 6, 7, 8, 9, 10}, up[] = {1, 2, 3, 4, 5, 6, 7, 8, 9, 10};
    const double nearly[] = {2, 1, 3, 4, 5}, flat[] = {2, 4, 1, 3};
    ch_trend got;
    assert_int_equal(ch_trend_rank(t, up, 4, 0.95, &got, NULL), CH_OK);
    assert_true(got.exact && got.s == 6.0);
    expect_close(got.p, 2.0 * 0.042, 2.0 * 5e-4);
    expect_relative(got.p, 2.0 / 24.0, 1e-15);
    assert_true(isnan(got.slope_low) && isnan(got.slope_high)); /* six slopes cannot bound 95 % */
    assert_int_equal(ch_trend_rank(t, nearly, 5, 0.95, &got, NULL), CH_OK);
    assert_true(got.s == 8.0);
    expect_close(got.p, 2.0 * 0.042, 2.0 * 5e-4);
    assert_int_equal(ch_trend_rank(t, flat, 4, 0.95, &got, NULL), CH_OK);
    assert_true(got.s == 0.0 && got.z == 0.0);
    expect_relative(got.p, 1.0, 1e-15);
    assert_int_equal(ch_trend_rank(t, up, 10, 0.95, &got, NULL), CH_OK);
    expect_relative(got.p, 2.0 / 3628800.0, 1e-12);
}

static void order_gaps_and_units_do_not_matter(void **state)
{
    (void)state;
    const double t[] = {10.0, 3.0, NAN, 30.0, 21.0, 17.0, 5.0, 26.0}, y[] = {5.0, 6.0, 9.0, 2.0, 3.5, NAN, 5.5, 3.0};
    const double t_kept[] = {3.0, 5.0, 10.0, 21.0, 26.0, 30.0}, y_kept[] = {6.0, 5.5, 5.0, 3.5, 3.0, 2.0};
    ch_trend gaps, plain;
    assert_int_equal(ch_trend_rank(t, y, 8, 0.9, &gaps, NULL), CH_OK);
    assert_int_equal(ch_trend_rank(t_kept, y_kept, 6, 0.9, &plain, NULL), CH_OK);
    assert_int_equal(gaps.n, 6);
    assert_true(gaps.s == -15.0 && gaps.slope == plain.slope && gaps.p == plain.p && gaps.slope_low == plain.slope_low);
}

/* The line y = 5 - 2 t with one wild reading: Theil-Sen keeps the line. */
static void one_wild_reading_does_not_turn_the_slope(void **state)
{
    (void)state;
    double t[12], y[12];
    for (size_t i = 0; i < 12; i++) {
        t[i] = (double)(i * i);
        y[i] = 5.0 - 2.0 * t[i];
    }
    y[11] = 1e6;
    ch_trend got;
    assert_int_equal(ch_trend_rank(t, y, 12, 0.95, &got, NULL), CH_OK);
    expect_relative(got.slope, -2.0, 1e-14);
    expect_relative(got.slope_low, -2.0, 1e-14);
}

/*
 * Ties in time and in value: Kendall 1975, ch. 4. Readings (1, 1) (1, 2) (2, 2) (2, 3): S = 3, and over all 24 orders of the
 * values against the times the mean of S^2 is counted here one by one.
 */
static void ties_in_both_rankings_enter_the_variance(void **state)
{
    (void)state;
    const double t[] = {1.0, 1.0, 2.0, 2.0}, value[] = {1.0, 2.0, 2.0, 3.0};
    double squares = 0.0, orders = 0.0;
    ch_trend got;
    for (size_t a = 0; a < 4; a++)
        for (size_t b = 0; b < 4; b++)
            for (size_t c = 0; c < 4; c++) {
                if (a == b || a == c || b == c)
                    continue;
                const double y[] = {value[a], value[b], value[c], value[6 - a - b - c]};
                assert_int_equal(ch_trend_rank(t, y, 4, 0.95, &got, NULL), CH_OK);
                squares += got.s * got.s;
                orders += 1.0;
            }
    expect_relative(got.var_s, squares / orders, 1e-14);
    assert_int_equal(ch_trend_rank(t, value, 4, 0.95, &got, NULL), CH_OK);
    assert_true(got.s == 3.0);
}

static void trend_refuses_what_it_cannot_judge(void **state)
{
    (void)state;
    const double t[] = {1.0, 2.0, 3.0}, y[] = {1.0, NAN, NAN}, infinite[] = {1.0, INFINITY, 2.0}, same[] = {1.0, 1.0};
    ch_trend got = {.n = 77};
    assert_int_equal(ch_trend_rank(t, y, 3, 0.95, &got, NULL), CH_E_RANGE);
    assert_int_equal(ch_trend_rank(t, infinite, 3, 0.95, &got, NULL), CH_E_RANGE);
    assert_int_equal(ch_trend_rank(t, t, 3, 1.0, &got, NULL), CH_E_RANGE);
    assert_int_equal(ch_trend_rank(t, t, CH_TREND_READINGS_MAX + 1, 0.95, &got, NULL), CH_E_LIMIT);
    assert_int_equal(got.n, 77);
    assert_int_equal(ch_trend_rank(same, t, 2, 0.95, &got, NULL), CH_OK);
    assert_true(isnan(got.slope) && got.s == 0.0 && got.p == 1.0);
}

/* ---- memory ---- */

static void a_fit_without_memory_leaves_everything_as_it_was(void **state)
{
    (void)state;
    const double a[] = {1.0, 0.0, 1.0, 1.0, 1.0, 2.0};
    double y[] = {1.0, 2.1, 2.9};
    for (long n = 1;; n++) {
        double b[2] = {7.0, 7.0}, start[2] = {5.0, -5.0};
        ch_trend trend = {.n = 77};
        fail_alloc_at(n);
        const ch_status linear = ch_least_squares(a, y, NULL, 3, 2, b, NULL, NULL, NULL);
        const ch_status curved =
            linear < 0 ? CH_OK : ch_curve_fit(line_residuals, y, 3, 2, false, start, NULL, NULL, NULL);
        const ch_status ranked = linear < 0 || curved < 0 ? CH_OK : ch_trend_rank(y, y, 3, 0.95, &trend, NULL);
        if (!fail_alloc_stop()) {
            assert_true(linear == CH_OK && curved == CH_OK && ranked == CH_OK && n > 4);
            break;
        }
        assert_true(linear == CH_E_MEMORY || curved == CH_E_MEMORY || ranked == CH_E_MEMORY);
        assert_true(linear >= 0 || b[0] == 7.0);
        assert_true(curved >= 0 || start[0] == 5.0);
        assert_true(ranked >= 0 || trend.n == 77);
    }
}

/* ---- Cholesky ---- */

/* Wikipedia, "Cholesky decomposition", example: {4 12 -16; 12 37 -43; -16 -43 98} = L L^T with L = {2; 6 1; -8 5 3} (from memory, multiplied out by hand). */
static void a_matrix_is_factored_or_refused_and_the_program_goes_on(void **state)
{
    (void)state;
    double a[] = {4.0, 0.0, 0.0, 12.0, 37.0, 0.0, -16.0, -43.0, 98.0};
    const double factor[] = {2.0, 0.0, 0.0, 6.0, 1.0, 0.0, -8.0, 5.0, 3.0};
    assert_true(ch_cholesky(a, 3));
    for (int row = 0; row < 3; row++)
        for (int column = 0; column <= row; column++)
            expect_close(a[3 * row + column], factor[3 * row + column], 1e-12);
    double flat[] = {1.0, 0.0, 1.0, 1.0}, turned[] = {-1.0};
    assert_false(ch_cholesky(flat, 2));
    assert_false(ch_cholesky(turned, 1));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_matrix_is_factored_or_refused_and_the_program_goes_on),
        cmocka_unit_test(thermometer_of_gum_h3_is_reproduced),
        cmocka_unit_test(line_reaches_certified_digits_of_norris),
        cmocka_unit_test(known_uncertainties_weigh_the_points),
        cmocka_unit_test(line_refuses_what_does_not_fix_it),
        cmocka_unit_test(least_squares_reach_certified_digits),
        cmocka_unit_test(least_squares_refuse_columns_that_depend),
        cmocka_unit_test(weighted_least_squares_agree_with_the_weighted_line),
        cmocka_unit_test(curves_reach_certified_digits_from_both_starts),
        cmocka_unit_test(a_peak_narrow_against_its_place_keeps_its_digits),
        cmocka_unit_test(curve_steps_back_where_the_model_ends),
        cmocka_unit_test(curve_says_why_it_failed),
        cmocka_unit_test(curve_fit_of_a_line_is_the_line),
        cmocka_unit_test(exact_data_are_met_exactly),
        cmocka_unit_test(mann_kendall_matches_the_worked_example),
        cmocka_unit_test(theil_sen_slope_and_interval_are_those_of_sen_s_example),
        cmocka_unit_test(few_readings_get_their_exact_chance),
        cmocka_unit_test(order_gaps_and_units_do_not_matter),
        cmocka_unit_test(one_wild_reading_does_not_turn_the_slope),
        cmocka_unit_test(ties_in_both_rankings_enter_the_variance),
        cmocka_unit_test(trend_refuses_what_it_cannot_judge),
        cmocka_unit_test(a_fit_without_memory_leaves_everything_as_it_was),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
