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
enum { BURN = 200, REPLICAS = 399, THIN = 2, LAST_SHEETS = 60, CELLS_MAX = 140, SHEETS_MAX = 70, LINEAR_MAX = 40 };
static const double SLOPE_SD = 0.5, SLOPE_OWN_SD = 0.25, PRIOR = -15.0, U_PRIOR = 0.45;

static ch_wear_sheet sheet[SHEETS_MAX];

/* What the histories without a step are drawn from. */
typedef struct fit {
    const wear_model *m;
    double day2[REPLICAS], reading2[REPLICAS], b[REPLICAS][LINEAR_MAX], log_slope[REPLICAS][CH_CYLINDERS_MAX];
} fit;

static void keep_fit(void *to, size_t number, const wear_draw *draw)
{
    fit *f = to;
    const size_t at = number / THIN;
    if (number % THIN != 0)
        return;
    f->day2[at] = draw->day2;
    f->reading2[at] = draw->reading2;
    memcpy(f->b[at], draw->b, (size_t)f->m->linear * sizeof *draw->b);
    memcpy(f->log_slope[at], draw->log_slope, (size_t)f->m->cylinders * sizeof *draw->log_slope);
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

/* A change of one cylinder just before one of its figures, with all figures at once: what a score is of the figures, and its spread. */
typedef struct change {
    int cylinder, several;
    size_t sheet;
    double norm, weight[CELLS_MAX];
} change;

typedef struct best_step {
    double score; /* with its sign */
    const change *change;
} best_step;

static change changes[CELLS_MAX];

static size_t list_changes(const wear_model *m, const double noise[2])
{
    const size_t n = m->cells;
    gsl_matrix *v = gsl_matrix_alloc(n, n);
    gsl_vector *x = gsl_vector_alloc(n);
    size_t count = 0;
    for (size_t a = 0; a < n; a++)
        for (size_t b = 0; b < n; b++)
            gsl_matrix_set(v, a, b, covariance(m, a, b, 0.1, SLOPE_SD, SLOPE_OWN_SD, noise));
    assert_int_equal(gsl_linalg_cholesky_decomp1(v), 0);
    for (size_t first = 0; first < n; first++) {
        size_t behind = 0, ahead = 0;
        double norm2 = 0.0;
        for (size_t a = 0; a < n; a++) {
            const bool own = m->cell[a].cylinder == m->cell[first].cylinder, far = own && a >= first;
            gsl_vector_set(x, a, far ? 1.0 : 0.0);
            behind += far;
            ahead += own && !far;
        }
        if (ahead == 0 || behind > LAST_SHEETS)
            continue; /* nothing before it to have changed from; too long ago */
        gsl_linalg_cholesky_svx(v, x);
        change *one = &changes[count];
        *one = (change){
            .cylinder = m->cell[first].cylinder, .several = ahead > 1 && behind > 1, .sheet = m->cell[first].sheet};
        for (size_t a = 0; a < n; a++) {
            one->weight[a] = gsl_vector_get(x, a);
            norm2 += m->cell[a].cylinder == one->cylinder && a >= first ? one->weight[a] : 0.0;
        }
        one->norm = sqrt(fmax(norm2, 0.0));
        count += norm2 > 1e-6; /* else a step that the model has */
    }
    gsl_vector_free(x);
    gsl_matrix_free(v);
    return count;
}

/* The largest score of figures `y` of each class: one figure on a side, or several on both. */
static void largest(const wear_model *m, size_t count, const double y[], best_step best[2])
{
    const double slope = CH_WEAR_SLOPE_PER_S * WEAR_UNIT_S * exp(0.5 * CH_WEAR_SLOPE_SD_LOG * CH_WEAR_SLOPE_SD_LOG);
    best[0] = best[1] = (best_step){0};
    for (size_t i = 0; i < count; i++) {
        double score = 0.0;
        for (size_t a = 0; a < m->cells; a++)
            score += changes[i].weight[a] * (y[a] - PRIOR - slope * m->cell[a].t);
        score /= changes[i].norm;
        best_step *one = &best[changes[i].several];
        if (one->change == NULL || fabs(score) > fabs(one->score))
            *one = (best_step){score, &changes[i]};
    }
}

static double odd_normal(ch_stream *stream, double odd_1, double times)
{
    const double scale = ch_stream_uniform(stream) < odd_1 ? times : 1.0;
    return scale * ch_stream_normal(stream);
}

/* Figures of a history without a further step: level, slope, steps and errors of one draw, a new day and new readings, odd ones among them. */
static void draw_figures(const fit *f, size_t draw, ch_stream *stream, double y[])
{
    const wear_model *m = f->m;
    double day = 0.0;
    for (size_t a = 0; a < m->cells; a++) {
        const wear_cell *cell = &m->cell[a];
        if (a == m->first[cell->sheet])
            day = sqrt(f->day2[draw]) * odd_normal(stream, CH_WEAR_ODD_SHEET_1, CH_WEAR_ODD_SHEET_TIMES);
        y[a] = cell->day * day + cell->t * exp(f->log_slope[draw][cell->cylinder]);
        for (int p = 0; p < cell->count - 1; p++)
            y[a] += cell->x[p] * f->b[draw][cell->column[p]];
        y[a] +=
            cell->u * sqrt(f->reading2[draw]) * odd_normal(stream, CH_WEAR_ODD_READING_1, CH_WEAR_ODD_READING_TIMES);
    }
}

static double median(const double x[])
{
    double sorted[REPLICAS];
    memcpy(sorted, x, sizeof sorted);
    ch_sort(sorted, REPLICAS);
    return sorted[REPLICAS / 2];
}

/*
 * The whole search counted: of each class the largest score, held to the largest of 399 histories without a step. Two classes share the chance of a false alarm:
 * twice the rank; the smaller chance is told, of equal ones the larger score.
 */
static ch_wear_found counted(const wear_model *m, uint64_t seed)
{
    static fit f;
    f.m = m;
    assert_true(m->linear <= LINEAR_MAX && m->cells <= CELLS_MAX);
    assert_int_equal(wear_sample(m, seed, BURN, (size_t)REPLICAS * THIN, keep_fit, &f, NULL), CH_OK);
    const double noise[2] = {median(f.day2) *
                                 (m->cylinders > 1 ? CH_WEAR_ODD_SHEET_TIMES * CH_WEAR_ODD_SHEET_TIMES : 1.0),
                             median(f.reading2)};
    const size_t count = list_changes(m, noise);
    double y[CELLS_MAX], chance_1 = INFINITY;
    best_step best[2], theirs[2];
    int as_large[2] = {0}, told = 0;
    for (size_t a = 0; a < m->cells; a++)
        y[a] = m->cell[a].y;
    largest(m, count, y, best);
    ch_stream stream;
    ch_stream_init(&stream, seed, 1);
    for (size_t r = 0; r < REPLICAS; r++) {
        draw_figures(&f, r, &stream, y);
        largest(m, count, y, theirs);
        for (int k = 0; k < 2; k++)
            as_large[k] += fabs(theirs[k].score) >= fabs(best[k].score);
    }
    for (int k = 0; k < 2; k++) {
        const double p = 2.0 * (1 + as_large[k]) / (REPLICAS + 1);
        if (best[k].change != NULL &&
            (p < chance_1 || (p == chance_1 && fabs(best[k].score) > fabs(best[told].score)))) {
            chance_1 = p;
            told = k;
        }
    }
    if (isinf(chance_1))
        return (ch_wear_found){.chance_1 = NAN};
    const change *one = best[told].change;
    size_t behind = 0;
    for (size_t a = 0; a < m->cells; a++)
        behind += m->cell[a].cylinder == one->cylinder && m->cell[a].sheet >= one->sheet;
    const double prior = 1.0 / (CH_WEAR_STEP_SD_LOG * CH_WEAR_STEP_SD_LOG);
    return (ch_wear_found){
        .step = {.running_s = sheet[one->sheet].running_s, .sheet = one->sheet, .cylinder = one->cylinder + 1},
        .size_log = best[told].score * one->norm / (one->norm * one->norm + prior),
        .chance_1 = fmin(chance_1, 1.0),
        .confirmed = behind > 1};
}

static void expect_found(const ch_wear_input *in, const ch_wear_step known[], size_t steps, uint64_t seed,
                         ch_wear_found *found)
{
    wear_model m;
    assert_int_equal(wear_model_build(in, known, steps, &m, NULL), CH_OK);
    *found = (ch_wear_found){.chance_1 = NAN};
    assert_int_equal(wear_step_find(&m, seed, found, NULL), CH_OK);
    const ch_wear_found want = counted(&m, seed);
    assert_int_equal(isnan(found->chance_1), isnan(want.chance_1));
    if (!isnan(want.chance_1)) {
        expect_close(found->chance_1, want.chance_1, 1e-12);
        assert_int_equal(found->step.cylinder, want.step.cylinder);
        assert_int_equal(found->step.sheet, want.step.sheet);
        expect_close(found->step.running_s, want.step.running_s, 0.0);
        expect_relative(found->size_log, want.size_log, 1e-6);
        assert_int_equal(found->confirmed, want.confirmed);
    }
    wear_model_clear(&m);
}

static void the_clearest_step_is_that_of_all_figures_at_once(void **state)
{
    (void)state;
    ch_stream stream;
    ch_stream_init(&stream, 31, 0);
    int clear = 0, doubtful = 0, single = 0;
    for (int round = 0; round < 14; round++) {
        const int cylinders = 1 + round % 4;
        const size_t sheets = 3 + (size_t)(round % 6);
        const double size = round % 5 == 4 ? 0.0 : round % 2 == 0 ? 1.4 : -1.2;
        const ch_wear_input in =
            history(&stream, cylinders, sheets, round % cylinders, round % 3 == 0 ? sheets - 1 : sheets / 2, size);
        const ch_wear_step known[] = {{.running_s = sheet[1].running_s, .sheet = 1, .cylinder = 1},
                                      {.running_s = sheet[2].running_s, .sheet = 2, .cylinder = 0}};
        ch_wear_found found;
        expect_found(&in, known, round % 4 == 3 ? 1 + (size_t)(round / 4 % 2) : 0, (uint64_t)round, &found);
        clear += found.chance_1 <= 0.05;
        doubtful += found.chance_1 > 0.2 && found.chance_1 < 1.0;
        single += !found.confirmed;
    }
    assert_true(clear > 1 && doubtful > 1 && single > 1);
}

/* A step is looked for among the last sixty figures of a cylinder. (So many figures that they and not the 399 histories say how much room is needed.) */
static void what_was_long_ago_is_not_looked_at(void **state)
{
    (void)state;
    enum { LONG = 68 };
    ch_stream stream;
    ch_stream_init(&stream, 34, 0);
    for (size_t i = 0; i < LONG; i++) {
        sheet[i] = (ch_wear_sheet){.running_s = 2.0 * (double)i * HOUR_S, .u_1 = {0.3, 0.3}};
        for (int c = 0; c < 2; c++)
            sheet[i].log_area[c] =
                PRIOR + (c == 0 && i >= LONG - LAST_SHEETS - 1 ? 2.0 : 0.0) + 0.08 * ch_stream_normal(&stream);
    }
    const ch_wear_input in = {
        .cylinders = 2, .sheet = sheet, .sheets = LONG, .log_area_prior = PRIOR, .u_prior_1 = U_PRIOR};
    ch_wear_found found;
    expect_found(&in, NULL, 0, 2, &found);
    assert_true(found.step.sheet >= LONG - LAST_SHEETS);
}

/* Figures quieter than any history drawn: twice the rank would be more than certain. */
static void a_quiet_history_has_a_step_for_certain_by_chance(void **state)
{
    (void)state;
    ch_stream stream;
    ch_stream_init(&stream, 36, 0);
    for (size_t i = 0; i < 4; i++) {
        sheet[i] = (ch_wear_sheet){.running_s = 20.0 * (double)i * HOUR_S};
        for (int c = 0; c < 2; c++) {
            sheet[i].log_area[c] = PRIOR + 0.02 * ch_stream_normal(&stream);
            sheet[i].u_1[c] = 0.3;
        }
    }
    const ch_wear_input in = {
        .cylinders = 2, .sheet = sheet, .sheets = 4, .log_area_prior = PRIOR, .u_prior_1 = U_PRIOR};
    ch_wear_found found;
    expect_found(&in, NULL, 0, 8, &found);
    expect_close(found.chance_1, 1.0, 0.0);
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

/* ---- the forecast out of these pieces ---- */

typedef struct draws {
    const wear_model *m;
    const ch_wear_input *in;
    double row[CH_FORECAST_DRAWS][2 * THREE], day2[CH_FORECAST_DRAWS], reading2[CH_FORECAST_DRAWS], odd[SHEETS_MAX];
} draws;

/* Level now and slope of each cylinder: its level at the middle, the slope times the time since, the steps that are its own or the engine's. */
static void keep_draw(void *to, size_t number, const wear_draw *draw)
{
    draws *d = to;
    const wear_model *m = d->m;
    for (int c = 0; c < THREE; c++) {
        const double slope = exp(draw->log_slope[c]);
        double level = draw->b[c] + slope * (d->in->now_s / WEAR_UNIT_S - m->t_middle);
        for (size_t k = 0; k < m->steps; k++) {
            if (m->step[k].cylinder == 0)
                level += draw->b[m->at_step[k] + c];
            if (m->step[k].cylinder == c + 1)
                level += draw->b[m->at_step[k]];
        }
        d->row[number][c] = level;
        d->row[number][THREE + c] = slope / WEAR_UNIT_S;
    }
    for (size_t i = 0; i < d->in->sheets; i++)
        d->odd[i] += draw->sheet_weight[i] < 1.0;
    d->day2[number] = draw->day2;
    d->reading2[number] = draw->reading2;
}

/* Steps are taken in one by one, each search with luck of its own, up to three, and to eight with those that are known; then the draws are of the model with
 * all of them. */
static void a_forecast_takes_in_what_steps_are_found(void **state)
{
    (void)state;
    static const struct {
        size_t known, found;
    } cases[] = {{0, 3}, {7, 1}, {8, 0}};
    static draws d;
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        enum { SHEETS = 8 };
        ch_stream stream;
        ch_stream_init(&stream, 35, 0);
        for (size_t i = 0; i < SHEETS; i++) {
            sheet[i] = (ch_wear_sheet){.running_s = (100.0 + 10.0 * (double)i) * HOUR_S, .gauge = i > 6};
            for (size_t c = 0; c < THREE; c++) {
                /* four large changes of one cylinder, before sheets 1, 3, 4 and 6 */
                const double moved = c == 0 ? 1.5 * ((i >= 1) + (i >= 3) + (i >= 4) + (i >= 6)) : 0.0;
                sheet[i].log_area[c] = PRIOR + moved + 0.05 * ch_stream_normal(&stream);
                sheet[i].u_1[c] = 0.3;
            }
        }
        ch_wear_step step[CH_FORECAST_STEPS_MAX];
        for (size_t s = 0; s < CH_FORECAST_STEPS_MAX; s++) /* known ones: of the engine, then of the last cylinder */
            step[s] =
                (ch_wear_step){.running_s = sheet[1 + s % 2].running_s, .sheet = 1 + s % 2, .cylinder = s == 0 ? 0 : 3};
        const ch_wear_input in = {.cylinders = THREE,
                                  .sheet = sheet,
                                  .sheets = SHEETS,
                                  .step = step,
                                  .steps = cases[k].known,
                                  .log_area_prior = PRIOR,
                                  .u_prior_1 = U_PRIOR,
                                  .now_s = 250.0 * HOUR_S,
                                  .log_watch = NAN,
                                  .log_fault = NAN,
                                  .seed = 40 + k};
        ch_forecast f = {0};
        assert_int_equal(ch_forecast_run(&in, &f, NULL), CH_OK);
        ch_wear_step all[CH_FORECAST_STEPS_MAX];
        memcpy(all, step, sizeof all);
        size_t steps = cases[k].known, found = 0;
        wear_model m;
        assert_int_equal(wear_model_build(&in, all, steps, &m, NULL), CH_OK);
        while (found < 3 && steps < 8) {
            ch_wear_found one = {.chance_1 = NAN};
            assert_int_equal(wear_step_find(&m, in.seed + 1 + found, &one, NULL), CH_OK);
            if (!(one.chance_1 <= 0.05))
                break;
            assert_true(found < f.found);
            assert_int_equal(f.step[found].step.cylinder, one.step.cylinder);
            assert_int_equal(f.step[found].step.sheet, one.step.sheet);
            expect_close(f.step[found].size_log, one.size_log, 0.0);
            expect_close(f.step[found].chance_1, one.chance_1, 0.0);
            all[steps++] = one.step;
            found++;
            wear_model_clear(&m);
            assert_int_equal(wear_model_build(&in, all, steps, &m, NULL), CH_OK);
        }
        assert_int_equal(f.found, found);
        assert_int_equal(found, cases[k].found);
        memset(&d, 0, sizeof d);
        d.m = &m;
        d.in = &in;
        assert_int_equal(wear_sample(&m, in.seed, 400, CH_FORECAST_DRAWS, keep_draw, &d, NULL), CH_OK);
        for (size_t row = 0; row < CH_FORECAST_DRAWS; row++)
            for (size_t i = 0; i < THREE; i++) {
                expect_close(f.draw[row * 2 * THREE + i], d.row[row][i], 1e-12);
                expect_relative(f.draw[row * 2 * THREE + THREE + i], d.row[row][THREE + i], 1e-12);
            }
        for (size_t i = 0; i < SHEETS; i++)
            expect_close(f.odd_sheet_1[i], d.odd[i] / CH_FORECAST_DRAWS, 1e-9);
        ch_sort(d.day2, CH_FORECAST_DRAWS);
        ch_sort(d.reading2, CH_FORECAST_DRAWS);
        expect_close(f.day_1, sqrt(0.5 * (d.day2[CH_FORECAST_DRAWS / 2 - 1] + d.day2[CH_FORECAST_DRAWS / 2])), 1e-9);
        expect_close(f.reading_1,
                     sqrt(0.5 * (d.reading2[CH_FORECAST_DRAWS / 2 - 1] + d.reading2[CH_FORECAST_DRAWS / 2])), 1e-9);
        wear_model_clear(&m);
        ch_forecast_clear(&f);
    }
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
        cmocka_unit_test(what_was_long_ago_is_not_looked_at),
        cmocka_unit_test(a_quiet_history_has_a_step_for_certain_by_chance),
        cmocka_unit_test(one_figure_has_no_step),
        cmocka_unit_test(draws_are_the_priors_weighed_by_the_figures),
        cmocka_unit_test(a_forecast_takes_in_what_steps_are_found),
        cmocka_unit_test(the_largest_model_has_room),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
