/*
 * Promises of decide/wear_step.c and wear_sample.c: the clearest step is that of the same model written as one covariance of all figures, and the chain's
 * draws with figures that tell are those of the prior weighed by the chance of the figures.
 */
#include "../../src/decide/wear.h"
#include "crosshatch/summary.h"
#include "expect.h"

#include <gsl/gsl_linalg.h>
#include <stdlib.h>
#include <string.h>

#define HOUR_S 3600.0
/* docs/season.md, "Steps": sweeps left out, histories without a step, every second sweep; slopes about the usual one, their own beside it. */
enum { BURN = 200, REPLICAS = 399, THIN = 2, CELLS_MAX = 40, SHEETS_MAX = 12 };
static const double SLOPE_SD = 0.5, SLOPE_OWN_SD = 0.25, PRIOR = -15.0, U_PRIOR = 0.45;

static ch_wear_sheet sheet[SHEETS_MAX];

typedef struct scatters {
    double day2[REPLICAS], reading2[REPLICAS];
} scatters;

static void keep_scatters(void *to, size_t number, const wear_draw *draw)
{
    scatters *s = to;
    if (number % THIN == 0) {
        s->day2[number / THIN] = draw->day2;
        s->reading2[number / THIN] = draw->reading2;
    }
}

/* What two figures have in common by the model: engine's level, cylinder's, slopes, standing errors, day, reading. */
static double covariance(const wear_model *m, size_t a, size_t b, double level_weight, double slope_sd, double own_sd,
                         const double noise[2])
{
    const wear_cell *x = &m->cell[a], *y = &m->cell[b];
    const bool same = x->cylinder == y->cylinder;
    double sum = U_PRIOR * U_PRIOR + (same ? CH_WEAR_LEVEL_SD_LOG * CH_WEAR_LEVEL_SD_LOG / level_weight : 0.0);
    for (size_t k = 0; k < m->steps; k++)
        if (same && x->sheet >= m->step[k].sheet && y->sheet >= m->step[k].sheet &&
            (m->step[k].cylinder == 0 || m->step[k].cylinder == x->cylinder + 1))
            sum += CH_WEAR_STEP_SD_LOG * CH_WEAR_STEP_SD_LOG;
    sum += m->u_typical * m->u_typical *
           (CH_WEAR_PART_ENGINE + (same ? CH_WEAR_PART_CYLINDER : 0.0) +
            (sheet[x->sheet].gauge == sheet[y->sheet].gauge ? CH_WEAR_PART_GAUGE : 0.0));
    sum += x->t * y->t * (slope_sd * slope_sd + (same ? own_sd * own_sd : 0.0));
    if (x->sheet == y->sheet)
        sum += noise[0] * x->day * y->day;
    return sum + (a == b ? noise[1] * x->u * x->u : 0.0);
}

/* Histories of which figures are missing, gauges change, cylinders stand apart; a step, or none, anywhere. */
static ch_wear_input history(ch_stream *stream, int cylinders, size_t sheets, int step_cylinder, size_t step_sheet,
                             double size)
{
    double at_s = 0.0;
    for (size_t i = 0; i < sheets; i++) {
        at_s += (10.0 + 30.0 * ch_stream_uniform(stream)) * HOUR_S;
        sheet[i] = (ch_wear_sheet){.running_s = at_s, .gauge = (int)(i % 3 == 2)};
        for (int c = 0; c < cylinders; c++) {
            sheet[i].u_1[c] = 0.2 + 0.2 * ch_stream_uniform(stream);
            sheet[i].log_area[c] = PRIOR + 0.2 * c + 0.1 * (double)i + 0.1 * ch_stream_normal(stream) +
                                   (c == step_cylinder && i >= step_sheet ? size : 0.0);
            if (ch_stream_uniform(stream) < 0.1)
                sheet[i].log_area[c] = NAN;
        }
    }
    return (ch_wear_input){
        .cylinders = cylinders, .sheet = sheet, .sheets = sheets, .log_area_prior = PRIOR, .u_prior_1 = U_PRIOR};
}

/* The best score of each class, and the size of its step, with all figures at once. */
typedef struct best_step {
    double score, size;
    int cylinder;
    size_t sheet;
} best_step;

static void by_all_figures(const wear_model *m, const double noise[2], best_step best[2])
{
    const size_t n = m->cells;
    gsl_matrix *v = gsl_matrix_alloc(n, n);
    gsl_vector *off = gsl_vector_alloc(n), *x = gsl_vector_alloc(n), *solved = gsl_vector_alloc(n);
    const double slope = CH_WEAR_SLOPE_PER_S * WEAR_UNIT_S * exp(0.5 * CH_WEAR_SLOPE_SD_LOG * CH_WEAR_SLOPE_SD_LOG);
    best[0] = best[1] = (best_step){.score = 0.0, .cylinder = -1};
    for (size_t a = 0; a < n; a++) {
        gsl_vector_set(off, a, m->cell[a].y - PRIOR - slope * m->cell[a].t);
        for (size_t b = 0; b < n; b++)
            gsl_matrix_set(v, a, b, covariance(m, a, b, 0.1, SLOPE_SD, SLOPE_OWN_SD, noise));
    }
    assert_int_equal(gsl_linalg_cholesky_decomp1(v), 0);
    gsl_linalg_cholesky_svx(v, off);
    for (size_t first = 0; first < n; first++) {
        size_t behind = 0, ahead = 0;
        double score = 0.0, norm2 = 0.0;
        for (size_t a = 0; a < n; a++) {
            const bool own = m->cell[a].cylinder == m->cell[first].cylinder, far = own && a >= first;
            gsl_vector_set(x, a, far ? 1.0 : 0.0);
            behind += far;
            ahead += own && !far;
        }
        if (ahead == 0)
            continue; /* nothing before it to have changed from */
        gsl_vector_memcpy(solved, x);
        gsl_linalg_cholesky_svx(v, solved);
        for (size_t a = 0; a < n; a++) {
            score += gsl_vector_get(x, a) * gsl_vector_get(off, a);
            norm2 += gsl_vector_get(x, a) * gsl_vector_get(solved, a);
        }
        if (norm2 < 1e-6)
            continue; /* a step that the model has */
        const int several = ahead > 1 && behind > 1;
        if (fabs(score) / sqrt(norm2) > best[several].score)
            best[several] = (best_step){.score = fabs(score) / sqrt(norm2),
                                        .size = score / (norm2 + 1.0 / (CH_WEAR_STEP_SD_LOG * CH_WEAR_STEP_SD_LOG)),
                                        .cylinder = m->cell[first].cylinder,
                                        .sheet = m->cell[first].sheet};
    }
    gsl_vector_free(solved);
    gsl_vector_free(x);
    gsl_vector_free(off);
    gsl_matrix_free(v);
}

static void the_clearest_step_is_that_of_all_figures_at_once(void **state)
{
    (void)state;
    ch_stream stream;
    ch_stream_init(&stream, 31, 0);
    scatters s;
    double scratch[REPLICAS];
    for (int round = 0; round < 10; round++) {
        const int cylinders = 1 + round % 4;
        const size_t sheets = 4 + (size_t)(round % 5);
        const ch_wear_input in = history(&stream, cylinders, sheets, round % cylinders,
                                         round % 3 == 0 ? sheets - 1 : sheets / 2, round % 2 == 0 ? 1.4 : -1.2);
        const ch_wear_step known = {.running_s = sheet[1].running_s, .sheet = 1, .cylinder = 1};
        wear_model m;
        assert_int_equal(wear_model_build(&in, &known, round % 4 == 3 ? 1 : 0, &m, NULL), CH_OK);
        ch_wear_found found = {.chance_1 = NAN};
        assert_int_equal(wear_step_find(&m, 8, &found, NULL), CH_OK);
        assert_int_equal(wear_sample(&m, 8, BURN, (size_t)REPLICAS * THIN, keep_scatters, &s, NULL), CH_OK);
        double noise[2];
        memcpy(scratch, s.day2, sizeof scratch);
        ch_sort(scratch, REPLICAS);
        noise[0] = scratch[REPLICAS / 2] * (cylinders > 1 ? CH_WEAR_ODD_SHEET_TIMES * CH_WEAR_ODD_SHEET_TIMES : 1.0);
        memcpy(scratch, s.reading2, sizeof scratch);
        ch_sort(scratch, REPLICAS);
        noise[1] = scratch[REPLICAS / 2];
        best_step best[2];
        by_all_figures(&m, noise, best);
        assert_true(found.chance_1 > 0.0);
        bool is_one = false;
        for (int k = 0; k < 2; k++)
            if (best[k].cylinder + 1 == found.step.cylinder && best[k].sheet == found.step.sheet) {
                expect_relative(found.size_log, best[k].size, 1e-6);
                is_one = true;
            }
        assert_true(is_one);
        expect_close(found.step.running_s, sheet[found.step.sheet].running_s, 0.0);
        size_t behind = 0;
        for (size_t a = 0; a < m.cells; a++)
            behind += m.cell[a].cylinder + 1 == found.step.cylinder && m.cell[a].sheet >= found.step.sheet;
        assert_int_equal(found.confirmed, behind > 1);
        /* two classes share the chance of a false alarm: twice the rank among the histories without a step */
        const double rank = found.chance_1 * (REPLICAS + 1) / 2.0;
        assert_true(found.chance_1 == 1.0 || fabs(rank - rint(rank)) < 1e-9);
        wear_model_clear(&m);
    }
}

/* One sheet, or one figure a cylinder: nothing could have changed. */
static void one_figure_has_no_step(void **state)
{
    (void)state;
    ch_stream stream;
    ch_stream_init(&stream, 32, 0);
    const ch_wear_input in = history(&stream, 2, 1, 0, 5, 0.0);
    sheet[0].log_area[0] = sheet[0].log_area[1] = PRIOR + 3.0;
    wear_model m;
    ch_wear_found found = {.chance_1 = NAN, .size_log = 7.0};
    assert_int_equal(wear_model_build(&in, NULL, 0, &m, NULL), CH_OK);
    assert_int_equal(wear_step_find(&m, 8, &found, NULL), CH_OK);
    assert_true(isnan(found.chance_1) && found.size_log == 7.0);
    wear_model_clear(&m);
}

/* ---- the chain, where the figures tell ---- */

enum { TWO = 2, THREE = 3, TOLD = 6 };

typedef struct told {
    size_t n;
    double mean[TOLD], square[TOLD];
    int common;
} told;

static void add_told(told *t, const double value[TOLD], double weight)
{
    for (int i = 0; i < TOLD; i++) {
        t->mean[i] += weight * value[i];
        t->square[i] += weight * value[i] * value[i];
    }
}

static void tell(void *to, size_t number, const wear_draw *draw)
{
    (void)number;
    told *t = to;
    const double value[TOLD] = {draw->log_slope[0], draw->log_slope[1],  draw->log_slope[0] - draw->log_slope[1],
                                log(draw->day2),    log(draw->reading2), draw->sheet_weight[1] < 1.0};
    t->n++;
    add_told(t, value, 1.0);
}

static double inverse_gamma(ch_stream *stream, double mean)
{
    double gamma = 0.0; /* of shape 3: three exponentials */
    for (int i = 0; i < 3; i++)
        gamma -= log(ch_stream_uniform(stream));
    return 2.0 * mean / gamma;
}

/*
 * Two cylinders on three sheets with days that differ: everything but levels, errors and days drawn from the prior, each draw weighed by how likely it makes
 * the six figures. Weighed draws are worth some thousand of their 60,000; the chain's 12,000 as many: four standard errors of both are 0.15 standard deviations.
 */
static void draws_are_the_priors_weighed_by_the_figures(void **state)
{
    (void)state;
    enum { DRAWS = 12000, WEIGHED = 60000, N = TWO * THREE };
    static const double off[THREE][TWO] = {{0.1, -0.1}, {0.9, 0.7}, {0.75, 0.3}};
    for (int i = 0; i < THREE; i++) {
        sheet[i] = (ch_wear_sheet){.running_s = 90.0 * i * HOUR_S};
        for (int c = 0; c < TWO; c++) {
            sheet[i].log_area[c] = PRIOR + off[i][c];
            sheet[i].u_1[c] = 0.5;
        }
    }
    const ch_wear_input in = {
        .cylinders = TWO, .sheet = sheet, .sheets = THREE, .log_area_prior = PRIOR, .u_prior_1 = U_PRIOR};
    wear_model m;
    assert_int_equal(wear_model_build(&in, NULL, 0, &m, NULL), CH_OK);
    told chain = {0}, weighed = {0};
    assert_int_equal(wear_sample(&m, 4, 300, DRAWS, tell, &chain, NULL), CH_OK);
    ch_stream stream;
    ch_stream_init(&stream, 33, 0);
    double sum = 0.0, square = 0.0;
    for (int d = 0; d < WEIGHED; d++) {
        const double common = log(CH_WEAR_SLOPE_PER_S * WEAR_UNIT_S) + CH_WEAR_SLOPE_SD_LOG * ch_stream_normal(&stream);
        double slope[TWO], level[TWO], v[N][N], r[N], log_likely = 0.0, odd_day[THREE];
        for (int c = 0; c < TWO; c++) {
            slope[c] = common + CH_WEAR_CYLINDER_SD_LOG * ch_stream_normal(&stream);
            level[c] = ch_stream_uniform(&stream) < 0.1 ? 25.0 : 1.0;
        }
        const double day2 = inverse_gamma(&stream, CH_WEAR_PART_DAY),
                     reading2 = inverse_gamma(&stream, CH_WEAR_PART_READING);
        for (int i = 0; i < THREE; i++)
            odd_day[i] = ch_stream_uniform(&stream) < CH_WEAR_ODD_SHEET_1
                             ? CH_WEAR_ODD_SHEET_TIMES * CH_WEAR_ODD_SHEET_TIMES
                             : 1.0;
        for (int a = 0; a < N; a++) {
            const wear_cell *x = &m.cell[a];
            const double odd = ch_stream_uniform(&stream) < CH_WEAR_ODD_READING_1
                                   ? CH_WEAR_ODD_READING_TIMES * CH_WEAR_ODD_READING_TIMES
                                   : 1.0;
            r[a] = x->y - PRIOR - exp(slope[x->cylinder]) * x->t;
            for (int b = 0; b <= a; b++) {
                const wear_cell *y = &m.cell[b];
                const bool same = x->cylinder == y->cylinder;
                v[a][b] = U_PRIOR * U_PRIOR +
                          (same ? CH_WEAR_LEVEL_SD_LOG * CH_WEAR_LEVEL_SD_LOG * level[x->cylinder] : 0.0) +
                          0.25 * (CH_WEAR_PART_ENGINE + CH_WEAR_PART_GAUGE + (same ? CH_WEAR_PART_CYLINDER : 0.0)) +
                          (x->sheet == y->sheet ? 0.25 * day2 * odd_day[x->sheet] : 0.0) +
                          (a == b ? 0.25 * reading2 * odd : 0.0);
            }
        }
        for (int a = 0; a < N; a++) { /* Cholesky, and the residuals through it */
            for (int b = 0; b <= a; b++) {
                for (int k = 0; k < b; k++)
                    v[a][b] -= v[a][k] * v[b][k];
                v[a][b] = a == b ? sqrt(v[a][b]) : v[a][b] / v[b][b];
            }
            for (int k = 0; k < a; k++)
                r[a] -= v[a][k] * r[k];
            r[a] /= v[a][a];
            log_likely -= 0.5 * r[a] * r[a] + log(v[a][a]);
        }
        const double weight = exp(log_likely), value[TOLD] = {slope[0],  slope[1],      slope[0] - slope[1],
                                                              log(day2), log(reading2), odd_day[1] > 1.0};
        add_told(&weighed, value, weight);
        sum += weight;
        square += weight * weight;
    }
    assert_true(sum * sum / square > 1500.0); /* what the weighed draws are worth */
    for (int i = 0; i < TOLD; i++) {
        const double mean = weighed.mean[i] / sum, sd = sqrt(weighed.square[i] / sum - mean * mean),
                     theirs = chain.mean[i] / (double)chain.n,
                     their_sd = sqrt(chain.square[i] / (double)chain.n - theirs * theirs);
        expect_close(theirs, mean, 0.15 * sd);
        expect_relative(their_sd, sd, 0.15);
    }
    wear_model_clear(&m);
}

/* As many cylinders, gauges and steps of the whole engine as there may be: room for all of them. (The sanitizers look on.) */
static void the_largest_model_has_room(void **state)
{
    (void)state;
    static ch_wear_sheet all[CH_FORECAST_GAUGES_MAX];
    ch_wear_step step[CH_FORECAST_STEPS_MAX];
    for (int i = 0; i < CH_FORECAST_GAUGES_MAX; i++) {
        all[i] = (ch_wear_sheet){.running_s = 30.0 * i * HOUR_S, .gauge = i};
        for (int c = 0; c < CH_CYLINDERS_MAX; c++) {
            all[i].log_area[c] = PRIOR + 0.01 * c;
            all[i].u_1[c] = 0.3;
        }
    }
    for (size_t k = 0; k < CH_FORECAST_STEPS_MAX; k++)
        step[k] = (ch_wear_step){.sheet = k % (CH_FORECAST_GAUGES_MAX - 1) + 1, .cylinder = 0};
    const ch_wear_input in = {.cylinders = CH_CYLINDERS_MAX,
                              .sheet = all,
                              .sheets = CH_FORECAST_GAUGES_MAX,
                              .log_area_prior = PRIOR,
                              .u_prior_1 = U_PRIOR};
    wear_model m;
    assert_int_equal(wear_model_build(&in, step, CH_FORECAST_STEPS_MAX, &m, NULL), CH_OK);
    assert_int_equal(m.columns, CH_CYLINDERS_MAX * (3 + CH_FORECAST_STEPS_MAX) + 2 + CH_FORECAST_GAUGES_MAX);
    assert_int_equal(m.cells, CH_CYLINDERS_MAX * CH_FORECAST_GAUGES_MAX);
    const size_t n = (size_t)m.columns;
    double *gram = malloc((n * n + n) * sizeof *gram);
    double sheet_weight[CH_FORECAST_GAUGES_MAX], *cell_weight = malloc(m.cells * sizeof *cell_weight);
    assert_true(gram != NULL && cell_weight != NULL);
    for (int i = 0; i < CH_FORECAST_GAUGES_MAX; i++)
        sheet_weight[i] = 1.0;
    for (size_t a = 0; a < m.cells; a++)
        cell_weight[a] = 1.0;
    const wear_state s = {.day2 = 0.08, .reading2 = 0.07, .sheet_weight = sheet_weight, .cell_weight = cell_weight};
    wear_model_products(&m, &s, gram, gram + n * n);
    for (size_t p = 0; p < n; p++)
        for (size_t q = 0; q < p; q++)
            expect_close(gram[p * n + q], gram[q * n + p], 1e-9);
    free(cell_weight);
    free(gram);
    wear_model_clear(&m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_clearest_step_is_that_of_all_figures_at_once),
        cmocka_unit_test(one_figure_has_no_step),
        cmocka_unit_test(draws_are_the_priors_weighed_by_the_figures),
        cmocka_unit_test(the_largest_model_has_room),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
