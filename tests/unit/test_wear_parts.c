/*
 * Promises of the pieces of the forecast, decide/wear_model.c and wear_sample.c: the columns and products against the same model written as one
 * covariance of all figures, and the chain against sums over what it draws from.
 */
#include "../../src/decide/wear.h"
#include "expect.h"

#include <gsl/gsl_linalg.h>
#include <stdlib.h>
#include <string.h>

#define HOUR_S 3600.0
enum { CYLINDERS = 3, SHEETS = 5, STEPS = 2, CELLS = 13 };

static ch_wear_sheet sheet[SHEETS];

/* Uneven in everything: times, gauges, doubts, figures that are missing. */
static ch_wear_input uneven(void)
{
    static const double at_h[SHEETS] = {0.0, 30.0, 55.0, 140.0, 150.0};
    for (int i = 0; i < SHEETS; i++) {
        sheet[i] = (ch_wear_sheet){.running_s = at_h[i] * HOUR_S, .gauge = i % 2};
        for (int c = 0; c < CYLINDERS; c++) {
            sheet[i].log_area[c] = -15.0 + 0.3 * c + 0.1 * i + 0.17 * ((i * 5 + c * 3) % 4);
            sheet[i].u_1[c] = 0.3 + 0.1 * c + 0.05 * i;
        }
    }
    sheet[1].log_area[2] = sheet[4].log_area[0] = NAN;
    return (ch_wear_input){
        .cylinders = CYLINDERS, .sheet = sheet, .sheets = SHEETS, .log_area_prior = -14.8, .u_prior_1 = 0.45};
}

static const ch_wear_step steps[STEPS] = {{.sheet = 2, .cylinder = 0}, {.sheet = 3, .cylinder = 2}};

typedef struct figure {
    int sheet, cylinder;
    double y, t, u;
} figure;

/* The figures, and the typical doubt, from the sheets alone. */
static int figures_of(figure out[CELLS], double *typical_u)
{
    int n = 0;
    double time = 0.0, u = 0.0;
    for (int i = 0; i < SHEETS; i++)
        for (int c = 0; c < CYLINDERS; c++)
            if (!isnan(sheet[i].log_area[c]))
                out[n++] = (figure){i, c, sheet[i].log_area[c], sheet[i].running_s / (100.0 * HOUR_S), sheet[i].u_1[c]};
    for (int a = 0; a < n; a++) {
        time += out[a].t / n;
        u += out[a].u / n;
    }
    for (int a = 0; a < n; a++)
        out[a].t -= time;
    *typical_u = u;
    return n;
}

static double day_u(int i)
{
    double sum = 0.0;
    int n = 0;
    for (int c = 0; c < CYLINDERS; c++)
        if (!isnan(sheet[i].log_area[c])) {
            sum += sheet[i].u_1[c];
            n++;
        }
    return sum / n;
}

/* What two figures have in common beside the day and the reading: docs/season.md, "The model". */
static double shared(const figure *a, const figure *b, double u, const double level_weight[])
{
    const bool same = a->cylinder == b->cylinder;
    double sum = 0.45 * 0.45 + (same ? CH_WEAR_LEVEL_SD_LOG * CH_WEAR_LEVEL_SD_LOG / level_weight[a->cylinder] : 0.0);
    for (int k = 0; k < STEPS; k++) {
        const bool of_both = same && (steps[k].cylinder == 0 || steps[k].cylinder == a->cylinder + 1);
        if (of_both && a->sheet >= (int)steps[k].sheet && b->sheet >= (int)steps[k].sheet)
            sum += CH_WEAR_STEP_SD_LOG * CH_WEAR_STEP_SD_LOG;
    }
    return sum + u * u *
                     (CH_WEAR_PART_ENGINE + (same ? CH_WEAR_PART_CYLINDER : 0.0) +
                      (a->sheet % 2 == b->sheet % 2 ? CH_WEAR_PART_GAUGE : 0.0));
}

/* What the linear columns make of the figures, mean and variance, must be what conditioning on all figures at once makes of them. 1e-9: two
 * solutions of well-posed systems of some twenty unknowns. */
static void columns_and_products_are_the_model_of_the_manual(void **state)
{
    (void)state;
    const ch_wear_input in = uneven();
    wear_model m;
    assert_int_equal(wear_model_build(&in, steps, STEPS, &m, NULL), CH_OK);
    assert_int_equal(m.cells, CELLS);
    const size_t n = (size_t)m.columns, l = (size_t)m.linear;
    double sheet_weight[SHEETS] = {1.0, 1.0 / 64.0, 1.0, 1.0, 1.0}, cell_weight[CELLS],
           level_weight[] = {1.0, 0.04, 1.0}, slope[] = {0.1, 0.25, 0.15};
    for (int a = 0; a < CELLS; a++)
        cell_weight[a] = a == 7 ? 1.0 / 16.0 : 1.0;
    const wear_state s = {.day2 = 0.11,
                          .reading2 = 0.06,
                          .sheet_weight = sheet_weight,
                          .cell_weight = cell_weight,
                          .level_weight = level_weight};
    gsl_matrix *gram = gsl_matrix_alloc(n, n), *precision = gsl_matrix_alloc(l, l);
    gsl_vector *by_y = gsl_vector_alloc(n), *rhs = gsl_vector_alloc(l);
    wear_model_products(&m, &s, gram->data, by_y->data);
    for (size_t p = 0; p < l; p++) {
        double right = gsl_vector_get(by_y, p);
        for (size_t q = 0; q < l; q++)
            gsl_matrix_set(precision, p, q, gsl_matrix_get(gram, p, q));
        for (size_t c = 0; c < CYLINDERS; c++)
            right -= gsl_matrix_get(gram, p, l + c) * slope[c];
        gsl_vector_set(rhs, p, right);
    }
    wear_model_prior(&m, level_weight, precision->data, l, rhs->data);
    assert_int_equal(gsl_linalg_cholesky_decomp1(precision), 0);
    gsl_linalg_cholesky_svx(precision, rhs);

    figure f[CELLS];
    double u;
    assert_int_equal(figures_of(f, &u), CELLS);
    gsl_matrix *all = gsl_matrix_alloc(CELLS, CELLS);
    gsl_vector *off = gsl_vector_alloc(CELLS);
    for (int a = 0; a < CELLS; a++) {
        gsl_vector_set(off, (size_t)a, f[a].y - in.log_area_prior - slope[f[a].cylinder] * f[a].t);
        for (int b = 0; b < CELLS; b++) {
            double noise = a == b ? s.reading2 * f[a].u * f[a].u / cell_weight[a] : 0.0;
            if (f[a].sheet == f[b].sheet)
                noise += s.day2 / sheet_weight[f[a].sheet] * day_u(f[a].sheet) * day_u(f[a].sheet);
            gsl_matrix_set(all, (size_t)a, (size_t)b, shared(&f[a], &f[b], u, level_weight) + noise);
        }
    }
    assert_int_equal(gsl_linalg_cholesky_decomp1(all), 0);
    gsl_linalg_cholesky_svx(all, off);
    gsl_vector *row = gsl_vector_alloc(CELLS), *x = gsl_vector_alloc(l);
    for (int a = 0; a < CELLS; a++) {
        double mean = in.log_area_prior, variance = shared(&f[a], &f[a], u, level_weight), fitted = 0.0, theirs = 0.0;
        for (int b = 0; b < CELLS; b++)
            gsl_vector_set(row, (size_t)b, shared(&f[a], &f[b], u, level_weight));
        for (int b = 0; b < CELLS; b++)
            mean += gsl_vector_get(row, (size_t)b) * gsl_vector_get(off, (size_t)b);
        gsl_linalg_cholesky_svx(all, row);
        for (int b = 0; b < CELLS; b++)
            variance -= gsl_vector_get(row, (size_t)b) * shared(&f[a], &f[b], u, level_weight);
        gsl_vector_set_zero(x);
        for (int p = 0; p < m.cell[a].count - 1; p++) {
            fitted += m.cell[a].x[p] * gsl_vector_get(rhs, (size_t)m.cell[a].column[p]);
            gsl_vector_set(x, (size_t)m.cell[a].column[p], m.cell[a].x[p]);
        }
        gsl_linalg_cholesky_svx(precision, x);
        for (int p = 0; p < m.cell[a].count - 1; p++)
            theirs += m.cell[a].x[p] * gsl_vector_get(x, (size_t)m.cell[a].column[p]);
        expect_close(fitted, mean, 1e-9);
        expect_close(theirs, variance, 1e-9);
        expect_close(m.cell[a].t, f[a].t, 1e-12);
    }
    gsl_vector_free(x);
    gsl_vector_free(row);
    gsl_vector_free(off);
    gsl_matrix_free(all);
    gsl_vector_free(rhs);
    gsl_vector_free(by_y);
    gsl_matrix_free(precision);
    gsl_matrix_free(gram);
    wear_model_clear(&m);
}

/* With the day's error integrated out, what the data say of column p and q is X' N^-1 X, N the noise of all figures at once. */
static void products_weigh_by_the_noise_of_day_and_reading(void **state)
{
    (void)state;
    const ch_wear_input in = uneven();
    wear_model m;
    assert_int_equal(wear_model_build(&in, steps, STEPS, &m, NULL), CH_OK);
    const size_t n = (size_t)m.columns;
    double sheet_weight[SHEETS] = {1.0, 1.0, 1.0, 1.0 / 64.0, 1.0}, cell_weight[CELLS];
    for (int a = 0; a < CELLS; a++)
        cell_weight[a] = a == 2 ? 1.0 / 16.0 : 1.0;
    const wear_state s = {.day2 = 0.09, .reading2 = 0.05, .sheet_weight = sheet_weight, .cell_weight = cell_weight};
    double *gram = malloc((n * n + n) * sizeof *gram), *by_y = gram + n * n;
    assert_non_null(gram);
    wear_model_products(&m, &s, gram, by_y);
    gsl_matrix *noise = gsl_matrix_calloc(CELLS, CELLS);
    gsl_vector *x = gsl_vector_alloc(CELLS);
    for (size_t a = 0; a < CELLS; a++)
        for (size_t b = 0; b < CELLS; b++) {
            const wear_cell *one = &m.cell[a];
            const int i = (int)one->sheet;
            gsl_matrix_set(noise, a, b,
                           (a == b ? s.reading2 * one->u * one->u / cell_weight[a] : 0.0) +
                               (one->sheet == m.cell[b].sheet ? s.day2 / sheet_weight[i] * day_u(i) * day_u(i) : 0.0));
        }
    assert_int_equal(gsl_linalg_cholesky_decomp1(noise), 0);
    for (size_t q = 0; q <= n; q++) { /* the last: y */
        for (size_t a = 0; a < CELLS; a++) {
            double value = q == n ? m.cell[a].y : 0.0;
            for (int k = 0; k < m.cell[a].count; k++)
                value += (size_t)m.cell[a].column[k] == q ? m.cell[a].x[k] : 0.0;
            gsl_vector_set(x, a, value);
        }
        gsl_linalg_cholesky_svx(noise, x);
        for (size_t p = 0; p < n; p++) {
            double want = 0.0;
            for (size_t a = 0; a < CELLS; a++)
                for (int k = 0; k < m.cell[a].count; k++)
                    want += (size_t)m.cell[a].column[k] == p ? m.cell[a].x[k] * gsl_vector_get(x, a) : 0.0;
            expect_close(q == n ? by_y[p] : gram[p * n + q], want, 1e-9 * (1.0 + fabs(want)));
        }
    }
    gsl_vector_free(x);
    gsl_matrix_free(noise);
    free(gram);
    wear_model_clear(&m);
}

/* ---- The chain ---- */

/* Means over the draws. */
typedef struct told {
    size_t n;
    double day_inverse, reading_inverse, odd, engine, log_slope, log_slope2, apart, level, level2, cylinder2;
    int common, at_engine, at_other;
} told;

static void tell(void *to, size_t number, const wear_draw *draw)
{
    told *t = to;
    assert_int_equal(number, t->n);
    t->n++;
    t->day_inverse += 1.0 / draw->day2;
    t->reading_inverse += 1.0 / draw->reading2;
    t->odd += draw->sheet_weight[0] < 1.0;
    t->engine += draw->b[t->at_engine];
    t->log_slope += draw->log_slope[0];
    t->log_slope2 += draw->log_slope[0] * draw->log_slope[0];
    t->apart += pow(draw->log_slope[1] - draw->log_slope[0], 2.0);
    t->level += draw->b[t->common];
    t->level2 += draw->b[t->common] * draw->b[t->common];
    t->cylinder2 += pow(draw->b[t->at_other], 2.0);
}

/* The same of the scatters, by adding up over both (400 x 400 values of their inverses) and over what may be odd. `off`: of the figure, in its u. */
static told added_up(double off)
{
    enum { PLACES = 400 };
    told t = {0};
    double sum = 0.0;
    const double mean[2] = {CH_WEAR_PART_DAY, CH_WEAR_PART_READING};
    for (int i = 0; i < PLACES; i++)
        for (int j = 0; j < PLACES; j++)
            for (int odd = 0; odd < 4; odd++) {
                /* Inverse gamma of shape 3: the inverse times twice the mean is gamma of shape 3. */
                const double x = 25.0 * (i + 0.5) / PLACES, y = 25.0 * (j + 0.5) / PLACES;
                const double day = 2.0 * mean[0] / x, reading = 2.0 * mean[1] / y;
                const double total = CH_WEAR_PART_ENGINE + CH_WEAR_PART_CYLINDER + CH_WEAR_PART_GAUGE +
                                     day * (odd & 1 ? 64.0 : 1.0) + reading * (odd & 2 ? 16.0 : 1.0);
                const double weight = x * x * exp(-x) * y * y * exp(-y) * (odd & 1 ? 0.05 : 0.95) *
                                      (odd & 2 ? 0.02 : 0.98) * exp(-0.5 * off * off / total) / sqrt(total);
                sum += weight;
                t.day_inverse += weight / day;
                t.reading_inverse += weight / reading;
                t.odd += odd & 1 ? weight : 0.0;
                t.engine += weight * sqrt(CH_WEAR_PART_ENGINE) * off / total;
            }
    t.day_inverse /= sum;
    t.reading_inverse /= sum;
    t.odd /= sum;
    t.engine /= sum;
    return t;
}

/*
 * One figure, far more uncertain than any level: it tells of the scatters alone, exactly as adding up over them says, and all else stays as the
 * prior has it. Tolerances: four standard errors of 40,000 draws of which a third count as independent.
 */
static void draws_are_of_the_posterior_and_of_the_prior_where_nothing_was_told(void **state)
{
    (void)state;
    enum { DRAWS = 40000 };
    const double offs[] = {0.0, 2.5};
    for (int k = 0; k < 2; k++) {
        ch_wear_sheet vague = {.log_area = {-15.0 + 1e3 * offs[k], NAN}, .u_1 = {1e3, 1e3}};
        const ch_wear_input in = {
            .cylinders = 2, .sheet = &vague, .sheets = 1, .log_area_prior = -15.0, .u_prior_1 = 0.45};
        wear_model m;
        assert_int_equal(wear_model_build(&in, NULL, 0, &m, NULL), CH_OK);
        told t = {.common = m.at_common, .at_engine = m.at_engine, .at_other = m.at_cylinder + 1};
        assert_int_equal(wear_sample(&m, 3, 100, DRAWS, tell, &t, NULL), CH_OK);
        assert_int_equal(t.n, DRAWS);
        const told want = added_up(offs[k]);
        const double n = DRAWS, error = 4.0 / sqrt(n / 3.0);
        expect_relative(t.day_inverse / n, want.day_inverse,
                        error / sqrt(3.0)); /* gamma of shape 3: sd 1/sqrt(3) of its mean */
        expect_relative(t.reading_inverse / n, want.reading_inverse, error / sqrt(3.0));
        expect_close(t.odd / n, want.odd, error * sqrt(want.odd));
        expect_close(t.engine / n, want.engine, error);
        const double slope_variance =
            CH_WEAR_SLOPE_SD_LOG * CH_WEAR_SLOPE_SD_LOG + CH_WEAR_CYLINDER_SD_LOG * CH_WEAR_CYLINDER_SD_LOG;
        expect_close(t.log_slope / n, log(CH_WEAR_SLOPE_PER_S * 100.0 * HOUR_S), error * sqrt(slope_variance));
        expect_relative(t.log_slope2 / n - pow(t.log_slope / n, 2.0), slope_variance, 1.5 * error);
        expect_relative(t.apart / n, 2.0 * CH_WEAR_CYLINDER_SD_LOG * CH_WEAR_CYLINDER_SD_LOG, 1.5 * error);
        expect_close(t.level / n, -15.0, error * 0.45);
        expect_relative(t.level2 / n - pow(t.level / n, 2.0), 0.45 * 0.45, 1.5 * error);
        expect_relative(t.cylinder2 / n, 1.0, 1.5 * error); /* of the cylinder that was not measured */
        wear_model_clear(&m);
    }
}

/* ---- Steps ---- */

static void history(size_t n, double off, ch_wear_sheet out[])
{
    ch_stream stream;
    ch_stream_init(&stream, 21, 0);
    for (size_t i = 0; i < n; i++) {
        out[i] = (ch_wear_sheet){.running_s = (double)i * 20.0 * HOUR_S};
        for (int c = 0; c < CYLINDERS; c++) {
            out[i].log_area[c] =
                -15.0 + (c == 1 ? off : 0.0) + 0.3 * sqrt(CH_WEAR_PART_READING) * ch_stream_normal(&stream);
            out[i].u_1[c] = 0.3;
        }
    }
}

static ch_wear_found found_in(const ch_wear_sheet all[], size_t n)
{
    const ch_wear_input in = {
        .cylinders = CYLINDERS, .sheet = all, .sheets = n, .log_area_prior = -15.0, .u_prior_1 = 0.45};
    wear_model m;
    ch_wear_found found = {.chance_1 = NAN};
    assert_int_equal(wear_model_build(&in, NULL, 0, &m, NULL), CH_OK);
    assert_int_equal(wear_step_find(&m, 8, &found, NULL), CH_OK);
    wear_model_clear(&m);
    return found;
}

static void a_cylinder_that_was_never_otherwise_has_no_step(void **state)
{
    (void)state;
    ch_wear_sheet all[8];
    history(8, 2.5, all);
    const ch_wear_found found = found_in(all, 8);
    assert_true(found.chance_1 > 0.05);
    assert_true(found.step.sheet > 0); /* before the first sheet there is nothing to have changed from */
}

static void a_step_is_as_large_as_the_readings_moved(void **state)
{
    (void)state;
    const size_t at[] = {3, 5};
    for (int k = 0; k < 2; k++)
        for (int sign = -1; sign <= 1; sign += 2) {
            ch_wear_sheet all[8];
            history(8, 0.0, all);
            for (size_t i = at[k]; i < 8; i++)
                all[i].log_area[2] += sign * 1.5;
            const ch_wear_found found = found_in(all, 8);
            assert_int_equal(found.step.cylinder, 3);
            assert_int_equal(found.step.sheet, at[k]);
            expect_close(found.step.running_s, all[at[k]].running_s, 0.0);
            assert_true(found.confirmed && found.chance_1 <= 0.05);
            /* Means of 3 and 5 readings of 0.08 differ by 0.06; the prior of steps takes a little, a slope of its own may take a tenth. */
            expect_close(found.size_log, sign * 1.5, 0.3);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(columns_and_products_are_the_model_of_the_manual),
        cmocka_unit_test(products_weigh_by_the_noise_of_day_and_reading),
        cmocka_unit_test(draws_are_of_the_posterior_and_of_the_prior_where_nothing_was_told),
        cmocka_unit_test(a_cylinder_that_was_never_otherwise_has_no_step),
        cmocka_unit_test(a_step_is_as_large_as_the_readings_moved),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
