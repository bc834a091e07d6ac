/*
 * A step told from wear: docs/season.md, "Steps".
 *
 * For every cylinder and every sheet: how much better would the readings fit if this cylinder had changed just before this sheet? That is a
 * score in standard deviations, with levels, slopes, errors of engine and gauge at their best. The largest is held to the largest of
 * histories without a step, drawn from the fitted model (odd sheets and readings included), so that the whole search has one chance of a
 * false alarm. The day's error is left nearly free, so only what sets a cylinder apart from its fellows counts.
 * Splits with one sheet on a side are judged apart, as one odd reading can look like them.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_linalg.h>

#include "crosshatch/regression.h"
#include "crosshatch/summary.h"
#include "wear.h"

enum { BURN = 200, REPLICAS = 399, THIN = 2, LAST_SHEETS = 60, SINGLE = 0, SEVERAL = 1, CLASSES = 2 };
/* Slopes of the search are normal about the usual one, wide, so that a fast wear is not taken for a step. */
static const double SLOPE_SD = 0.5, SLOPE_OWN_SD = 0.25;

typedef struct candidate {
    int cylinder; /* 0-based */
    size_t sheet;
    int class;
    double norm; /* standard deviation of the score before it is divided by it */
    double *by_columns;
} candidate;

typedef struct search {
    const wear_model *m;
    wear_state s; /* scatter of the search */
    double *gram, *by_y, *factor, *solved, *block;
    candidate *candidate;
    size_t candidates;
} search;

/* Draws of the fitted model without a further step. */
typedef struct fitted {
    const wear_model *m;
    double *day2, *reading2, *b, *slope;
} fitted;

static void keep(void *to, size_t number, const wear_draw *draw)
{
    fitted *f = to;
    if (number % THIN != 0)
        return;
    const size_t at = number / THIN, l = (size_t)f->m->linear, c = (size_t)f->m->cylinders;
    f->day2[at] = draw->day2;
    f->reading2[at] = draw->reading2;
    memcpy(f->b + at * l, draw->b, l * sizeof *f->b);
    for (size_t i = 0; i < c; i++)
        f->slope[at * c + i] = exp(draw->log_slope[i]);
}

static double median_of(const double x[], size_t n, double scratch[])
{
    memcpy(scratch, x, n * sizeof *x);
    ch_sort(scratch, n);
    return ch_quantile_sorted(scratch, n, 0.5);
}

/* ---- the score ---- */

/* Precision and right-hand side of all columns, slopes with their prior, factored; b for data `y` then takes two triangular solves. */
static ch_status search_factor(search *k, ch_err *err)
{
    const size_t n = (size_t)k->m->columns, l = (size_t)k->m->linear, c = (size_t)k->m->cylinders;
    wear_model_products(k->m, &k->s, k->gram, k->by_y);
    memcpy(k->factor, k->gram, n * n * sizeof *k->factor);
    /* what it adds to the right-hand side is not wanted: prior_rhs() */
    wear_model_prior(k->m, k->s.level_weight, k->factor, n, k->solved);
    const double own = 1.0 / (SLOPE_OWN_SD * SLOPE_OWN_SD),
                 together = own * SLOPE_SD * SLOPE_SD / (SLOPE_OWN_SD * SLOPE_OWN_SD + (double)c * SLOPE_SD * SLOPE_SD);
    for (size_t i = 0; i < c; i++)
        for (size_t j = 0; j < c; j++)
            k->factor[(l + i) * n + l + j] += (i == j ? own : 0.0) - together;
    if (!ch_cholesky(k->factor, n))
        return ch_fail(err, CH_E_CONVERGE, NULL, "the model of wear cannot be solved");
    return CH_OK;
}

/* The prior's part of the right-hand side. */
static void prior_rhs(const search *k, double rhs[])
{
    const size_t l = (size_t)k->m->linear, c = (size_t)k->m->cylinders;
    const ch_wear_input *in = k->m->in;
    memset(rhs, 0, (l + c) * sizeof *rhs);
    rhs[k->m->at_common] = in->log_area_prior / (in->u_prior_1 * in->u_prior_1);
    const double variance = SLOPE_OWN_SD * SLOPE_OWN_SD + (double)c * SLOPE_SD * SLOPE_SD;
    for (size_t i = 0; i < c; i++)
        rhs[l + i] =
            CH_WEAR_SLOPE_PER_S * WEAR_UNIT_S * exp(0.5 * CH_WEAR_SLOPE_SD_LOG * CH_WEAR_SLOPE_SD_LOG) / variance;
}

/* What a sheet's cells weigh with the day's error integrated out: precision of each, and the share that the day takes. */
static double day_share(const search *k, size_t sheet)
{
    double day_day = 0.0;
    for (size_t a = k->m->first[sheet]; a < k->m->first[sheet + 1]; a++)
        day_day += k->m->cell[a].day * k->m->cell[a].day / (k->s.reading2 * k->m->cell[a].u * k->m->cell[a].u);
    return k->s.day2 / (1.0 + k->s.day2 * day_day);
}

/* Add cell `a` of the step's far side: its inner products with the columns and with itself. */
static void add_cell(const search *k, size_t a, double by_columns[], double *by_itself)
{
    const wear_cell *cell = &k->m->cell[a];
    const double share = day_share(k, cell->sheet), precision = 1.0 / (k->s.reading2 * cell->u * cell->u),
                 by_day = precision * cell->day;
    for (int p = 0; p < cell->count; p++)
        by_columns[cell->column[p]] += precision * cell->x[p];
    for (size_t o = k->m->first[cell->sheet]; o < k->m->first[cell->sheet + 1]; o++) {
        const wear_cell *other = &k->m->cell[o];
        const double w = share * by_day * other->day / (k->s.reading2 * other->u * other->u);
        for (int p = 0; p < other->count; p++)
            by_columns[other->column[p]] -= w * other->x[p];
    }
    *by_itself += precision - share * by_day * by_day;
}

/* Candidates of one cylinder, from the last sheet backwards. */
static void list_cylinder(search *k, int c, double by_columns[], double scratch[])
{
    const size_t n = (size_t)k->m->columns;
    size_t all = 0, behind = 0, cells[LAST_SHEETS];
    for (size_t a = 0; a < k->m->cells; a++)
        all += k->m->cell[a].cylinder == c;
    for (size_t a = k->m->cells; a > 0 && behind < LAST_SHEETS; a--)
        if (k->m->cell[a - 1].cylinder == c)
            cells[behind++] = a - 1;
    memset(by_columns, 0, n * sizeof *by_columns);
    double by_itself = 0.0;
    for (size_t i = 0; i < behind && i + 1 < all; i++) {
        add_cell(k, cells[i], by_columns, &by_itself);
        memcpy(scratch, by_columns, n * sizeof *scratch);
        gsl_matrix_view a = gsl_matrix_view_array(k->factor, n, n);
        gsl_vector_view x = gsl_vector_view_array(scratch, n);
        gsl_linalg_cholesky_svx(&a.matrix, &x.vector);
        double explained = 0.0;
        for (size_t p = 0; p < n; p++)
            explained += by_columns[p] * scratch[p];
        const double norm2 = by_itself - explained;
        if (!(norm2 > 1e-9 * by_itself))
            continue; /* a step that is in the model already */
        const size_t sides = i + 1 < all - i - 1 ? i + 1 : all - i - 1;
        candidate *one = &k->candidate[k->candidates++];
        one->cylinder = c;
        one->sheet = k->m->cell[cells[i]].sheet;
        one->class = sides > 1 ? SEVERAL : SINGLE;
        one->norm = sqrt(norm2);
        memcpy(one->by_columns, by_columns, n * sizeof *by_columns);
    }
}

/* Scores of data y (one value a cell): the largest size of each class, and where. */
static void scores(const search *k, const double y[], double scratch[], double best[CLASSES], size_t at[CLASSES],
                   double signed_best[CLASSES])
{
    const wear_model *m = k->m;
    const size_t n = (size_t)m->columns;
    double *b = scratch, *weighted = scratch + n, *by_cylinder = weighted + m->cells;
    prior_rhs(k, b);
    for (size_t i = 0; i < m->in->sheets; i++) {
        const double share = day_share(k, i);
        double day_y = 0.0;
        for (size_t a = m->first[i]; a < m->first[i + 1]; a++)
            day_y += y[a] * m->cell[a].day / (k->s.reading2 * m->cell[a].u * m->cell[a].u);
        for (size_t a = m->first[i]; a < m->first[i + 1]; a++) {
            const wear_cell *cell = &m->cell[a];
            weighted[a] = (y[a] - share * day_y * cell->day) / (k->s.reading2 * cell->u * cell->u);
            for (int p = 0; p < cell->count; p++)
                b[cell->column[p]] += weighted[a] * cell->x[p];
        }
    }
    gsl_matrix_const_view f = gsl_matrix_const_view_array(k->factor, n, n);
    gsl_vector_view x = gsl_vector_view_array(b, n);
    gsl_linalg_cholesky_svx(&f.matrix, &x.vector);
    best[SINGLE] = best[SEVERAL] = -1.0;
    /* by_cylinder[a]: weighted y of this cylinder from cell a on */
    double sum[CH_CYLINDERS_MAX] = {0};
    for (size_t a = m->cells; a > 0; a--)
        by_cylinder[a - 1] = sum[m->cell[a - 1].cylinder] += weighted[a - 1];
    for (size_t i = 0; i < k->candidates; i++) {
        const candidate *one = &k->candidate[i];
        size_t a = m->first[one->sheet];
        while (m->cell[a].cylinder != one->cylinder)
            a++;
        double score = by_cylinder[a];
        for (size_t p = 0; p < n; p++)
            score -= one->by_columns[p] * b[p];
        score /= one->norm;
        if (fabs(score) > best[one->class]) {
            best[one->class] = fabs(score);
            signed_best[one->class] = score;
            at[one->class] = i;
        }
    }
}

/* ---- histories without a step ---- */

static double odd_normal(ch_stream *stream, double odd_1, double times)
{
    const bool odd = ch_stream_uniform(stream) < odd_1;
    return ch_stream_normal(stream) * (odd ? times : 1.0);
}

static void replica(const fitted *f, size_t draw, ch_stream *stream, double y[])
{
    const wear_model *m = f->m;
    const double *b = f->b + draw * (size_t)m->linear, *slope = f->slope + draw * (size_t)m->cylinders;
    for (size_t i = 0; i < m->in->sheets; i++) {
        const double day = sqrt(f->day2[draw]) * odd_normal(stream, CH_WEAR_ODD_SHEET_1, CH_WEAR_ODD_SHEET_TIMES);
        for (size_t a = m->first[i]; a < m->first[i + 1]; a++) {
            const wear_cell *cell = &m->cell[a];
            double sum = cell->t * slope[cell->cylinder];
            for (int p = 0; p < cell->count - 1; p++)
                sum += cell->x[p] * b[cell->column[p]];
            y[a] = sum + cell->day * day +
                   cell->u *
                       (sqrt(f->reading2[draw]) * odd_normal(stream, CH_WEAR_ODD_READING_1, CH_WEAR_ODD_READING_TIMES));
        }
    }
}

static void compare(const search *k, const fitted *f, uint64_t seed, double y[], double scratch[], ch_wear_found *found)
{
    double best[CLASSES], signed_best[CLASSES] = {0}, theirs[CLASSES], unused[CLASSES];
    size_t at[CLASSES] = {0}, nowhere[CLASSES], as_large[CLASSES] = {0};
    for (size_t a = 0; a < k->m->cells; a++)
        y[a] = k->m->cell[a].y;
    scores(k, y, scratch, best, at, signed_best);
    ch_stream stream;
    ch_stream_init(&stream, seed, 1);
    for (size_t r = 0; r < REPLICAS; r++) {
        replica(f, r, &stream, y);
        scores(k, y, scratch, theirs, nowhere, unused);
        for (int class = 0; class < CLASSES; class ++)
            as_large[class] += theirs[class] >= best[class];
    }
    int clearest = -1;
    double chance_1 = INFINITY, largest = -1.0;
    for (int class = CLASSES - 1; class >= 0; class --) {
        const double p = CLASSES * (double)(1 + as_large[class]) / (REPLICAS + 1);
        if (best[class] >= 0.0 && (p < chance_1 || (p <= chance_1 && best[class] > largest))) {
            chance_1 = p;
            largest = best[class];
            clearest = class;
        }
    }
    if (clearest < 0)
        return;
    const candidate *one = &k->candidate[at[clearest]];
    const double norm2 = one->norm * one->norm;
    size_t behind = 0;
    for (size_t a = k->m->first[one->sheet]; a < k->m->cells; a++)
        behind += k->m->cell[a].cylinder == one->cylinder;
    *found = (ch_wear_found){.step = {.running_s = k->m->in->sheet[one->sheet].running_s,
                                      .sheet = one->sheet,
                                      .cylinder = one->cylinder + 1},
                             .size_log = signed_best[clearest] * one->norm /
                                         (norm2 + 1.0 / (CH_WEAR_STEP_SD_LOG * CH_WEAR_STEP_SD_LOG)),
                             .chance_1 = fmin(chance_1, 1.0),
                             .confirmed = behind > 1};
}

static ch_status look(search *k, fitted *f, uint64_t seed, double *scratch, ch_wear_found *found, ch_err *err)
{
    ch_status rc = wear_sample(k->m, seed, BURN, (size_t)REPLICAS * THIN, keep, f, err);
    if (rc < 0)
        return rc;
    k->s.day2 = median_of(f->day2, REPLICAS, scratch);
    k->s.reading2 = median_of(f->reading2, REPLICAS, scratch);
    if (k->m->cylinders > 1) /* leave the day nearly free: one odd sheet is no step of a cylinder */
        k->s.day2 *= CH_WEAR_ODD_SHEET_TIMES * CH_WEAR_ODD_SHEET_TIMES;
    rc = search_factor(k, err);
    if (rc < 0)
        return rc;
    for (int c = 0; c < k->m->cylinders; c++)
        list_cylinder(k, c, k->solved, scratch);
    if (k->candidates > 0)
        compare(k, f, seed, scratch, scratch + k->m->cells, found);
    return CH_OK;
}

ch_status wear_step_find(const wear_model *model, uint64_t seed, ch_wear_found *found, ch_err *err)
{
    const size_t n = (size_t)model->columns, l = (size_t)model->linear, c = (size_t)model->cylinders,
                 cells = model->cells, sheets = model->in->sheets,
                 most = c * (sheets < LAST_SHEETS ? sheets : LAST_SHEETS);
    const size_t figures = n + 3 * cells, scratch = figures > REPLICAS ? figures : REPLICAS,
                 room = 2 * n * n + 2 * n + sheets + cells + c + REPLICAS * (2 + l + c) + most * n + scratch;
    search k = {.m = model, .block = calloc(room, sizeof *k.block), .candidate = calloc(most + 1, sizeof *k.candidate)};
    ch_status rc = CH_OK;
    if (k.block == NULL || k.candidate == NULL) {
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory to look for steps");
    } else {
        double *at = k.block;
        k.gram = at;
        k.factor = at += n * n;
        k.by_y = at += n * n;
        k.solved = at += n;
        k.s.sheet_weight = at += n;
        k.s.cell_weight = at += sheets;
        k.s.level_weight = at += cells;
        fitted f = {.m = model};
        f.day2 = at += c;
        f.reading2 = at += REPLICAS;
        f.b = at += REPLICAS;
        f.slope = at += REPLICAS * l;
        at += REPLICAS * c;
        for (size_t i = 0; i < most; i++, at += n)
            k.candidate[i].by_columns = at;
        for (size_t i = 0; i < sheets; i++)
            k.s.sheet_weight[i] = 1.0;
        for (size_t i = 0; i < cells; i++)
            k.s.cell_weight[i] = 1.0;
        for (size_t i = 0; i < c; i++)
            k.s.level_weight[i] = 0.1; /* a cylinder may stand far from its fellows without a step */
        rc = look(&k, &f, seed, at, found, err);
    }
    free(k.block);
    free(k.candidate);
    return rc;
}
