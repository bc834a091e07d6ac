/*
 * Sampling the model of wear. One sweep: the linear columns together, exactly (Cholesky), with the days' errors integrated out; slopes by slice
 * sampling; then the days' errors, which sheets and figures are odd, and the two scatters.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_blas.h>

#include "crosshatch/regression.h"
#include "wear.h"

static const double SCATTER_SHAPE =
    3.0; /* of the inverse gamma priors of both scatters: mean as stated, standard deviation the same */

typedef struct chain {
    const wear_model *model;
    ch_stream stream;
    wear_state s;
    double *gram, *by_y, *precision, *rhs, *slope, *block;
} chain;

static ch_status chain_make(const wear_model *m, uint64_t seed, chain *out, ch_err *err)
{
    const size_t n = (size_t)m->columns, l = (size_t)m->linear, c = (size_t)m->cylinders, sheets = m->in->sheets;
    chain made = {.model = m};
    made.block = calloc(n * n + n + l * l + l + c + l + c + 2 * sheets + m->cells + c, sizeof *made.block);
    if (made.block == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the forecast");
    double *at = made.block;
    made.gram = at;
    made.by_y = at += n * n;
    made.precision = at += n;
    made.rhs = at += l * l;
    made.slope = at += l;
    made.s.b = at += c;
    made.s.log_slope = at += l;
    made.s.day = at += c;
    made.s.sheet_weight = at += sheets;
    made.s.cell_weight = at += sheets;
    made.s.level_weight = at + m->cells;
    ch_stream_init(&made.stream, seed, 0);
    made.s.day2 = CH_WEAR_PART_DAY;
    made.s.reading2 = CH_WEAR_PART_READING;
    made.s.common_log_slope = log(CH_WEAR_SLOPE_PER_S * WEAR_UNIT_S);
    for (size_t i = 0; i < c; i++) {
        made.s.log_slope[i] = made.s.common_log_slope;
        made.s.level_weight[i] = 1.0;
    }
    for (size_t i = 0; i < sheets; i++)
        made.s.sheet_weight[i] = 1.0;
    for (size_t i = 0; i < m->cells; i++)
        made.s.cell_weight[i] = 1.0;
    *out = made;
    return CH_OK;
}

/* ---- linear columns ---- */

/* Factor the precision of the linear columns; what the slopes do to the right-hand side comes later. */
static ch_status factor(chain *k, ch_err *err)
{
    const size_t n = (size_t)k->model->columns, l = (size_t)k->model->linear;
    for (size_t a = 0; a < l; a++)
        memcpy(k->precision + a * l, k->gram + a * n, l * sizeof *k->precision);
    memcpy(k->rhs, k->by_y, l * sizeof *k->rhs);
    wear_model_prior(k->model, k->s.level_weight, k->precision, l, k->rhs);
    if (!ch_cholesky(k->precision, l))
        return ch_fail(err, CH_E_CONVERGE, NULL, "the model of wear cannot be solved");
    return CH_OK;
}

static void draw_linear(chain *k)
{
    const size_t n = (size_t)k->model->columns, l = (size_t)k->model->linear;
    gsl_matrix_view a = gsl_matrix_view_array(k->precision, l, l);
    gsl_vector_view b = gsl_vector_view_array(k->s.b, l);
    for (size_t p = 0; p < l; p++) {
        double right = k->rhs[p];
        for (size_t c = l; c < n; c++)
            right -= k->gram[p * n + c] * k->slope[c - l];
        k->s.b[p] = right;
    }
    /* mean + L^-T z, in one backward pass: L^-T (L^-1 rhs + z) */
    gsl_blas_dtrsv(CblasLower, CblasNoTrans, CblasNonUnit, &a.matrix, &b.vector);
    for (size_t p = 0; p < l; p++)
        k->s.b[p] += ch_stream_normal(&k->stream);
    gsl_blas_dtrsv(CblasLower, CblasTrans, CblasNonUnit, &a.matrix, &b.vector);
}

/* ---- slopes ---- */

/* -curve exp(2x)/2 + push exp(x) - (x - middle)^2/(2 sd^2): how likely a logarithm of a slope is, given all else. */
typedef struct log_slope_density {
    double curve, push, middle, sd;
} log_slope_density;

static double log_density(const log_slope_density *d, double x)
{
    const double slope = exp(x), z = (x - d->middle) / d->sd;
    return slope * (d->push - 0.5 * d->curve * slope) - 0.5 * z * z;
}

static double draw_slice(ch_stream *stream, const log_slope_density *d, double x)
{
    const double width = 1.0, level = log_density(d, x) + log(ch_stream_uniform(stream));
    double low = x - width * ch_stream_uniform(stream), high = low + width;
    for (int i = 0; i < 20 && log_density(d, low) > level; i++)
        low -= width;
    for (int i = 0; i < 20 && log_density(d, high) > level; i++)
        high += width;
    for (int i = 0; i < 200; i++) {
        const double next = low + (high - low) * ch_stream_uniform(stream);
        if (log_density(d, next) >= level)
            return next;
        *(next < x ? &low : &high) = next;
    }
    return x;
}

static void draw_slopes(chain *k)
{
    const size_t n = (size_t)k->model->columns, l = (size_t)k->model->linear, cylinders = (size_t)k->model->cylinders;
    const double middle = log(CH_WEAR_SLOPE_PER_S * WEAR_UNIT_S);
    log_slope_density all = {.middle = middle - k->s.common_log_slope, .sd = CH_WEAR_SLOPE_SD_LOG};
    for (size_t c = 0; c < cylinders; c++) {
        const double *row = k->gram + (l + c) * n;
        log_slope_density one = {.curve = row[l + c],
                                 .push = k->by_y[l + c],
                                 .middle = k->s.common_log_slope,
                                 .sd = CH_WEAR_CYLINDER_SD_LOG};
        for (size_t p = 0; p < l; p++)
            one.push -= row[p] * k->s.b[p];
        for (size_t o = 0; o < cylinders; o++)
            if (o != c)
                one.push -= row[l + o] * k->slope[o];
        k->s.log_slope[c] = draw_slice(&k->stream, &one, k->s.log_slope[c]);
        k->slope[c] = exp(k->s.log_slope[c]);
    }
    /* all of them and the common one by one factor, which single moves are slow at */
    for (size_t c = 0; c < cylinders; c++) {
        const double *row = k->gram + (l + c) * n;
        double push = k->by_y[l + c];
        for (size_t p = 0; p < l; p++)
            push -= row[p] * k->s.b[p];
        all.push += push * k->slope[c];
        for (size_t o = 0; o < cylinders; o++)
            all.curve += k->slope[c] * row[l + o] * k->slope[o];
    }
    const double by = draw_slice(&k->stream, &all, 0.0);
    double sum = 0.0;
    for (size_t c = 0; c < cylinders; c++) {
        k->s.log_slope[c] += by;
        k->slope[c] = exp(k->s.log_slope[c]);
        sum += k->s.log_slope[c];
    }
    const double own = 1.0 / (CH_WEAR_CYLINDER_SD_LOG * CH_WEAR_CYLINDER_SD_LOG),
                 prior = 1.0 / (CH_WEAR_SLOPE_SD_LOG * CH_WEAR_SLOPE_SD_LOG),
                 precision = (double)cylinders * own + prior;
    k->s.common_log_slope = (own * sum + prior * middle) / precision + ch_stream_normal(&k->stream) / sqrt(precision);
}

/* ---- scatter ---- */

/* 1, or 1/times^2: whether a deviation of `z` standard deviations is an odd one. */
static double draw_weight(ch_stream *stream, double z, double odd_1, double times)
{
    const double as_usual = (1.0 - odd_1) * exp(-0.5 * z * z),
                 odd = odd_1 / times * exp(-0.5 * z * z / (times * times));
    return ch_stream_uniform(stream) * (as_usual + odd) < odd ? 1.0 / (times * times) : 1.0;
}

static double residual(const chain *k, const wear_cell *cell)
{
    double r = cell->y;
    for (int p = 0; p < cell->count - 1; p++)
        r -= cell->x[p] * k->s.b[cell->column[p]];
    return r - cell->t * k->slope[cell->cylinder];
}

static void draw_scatter(chain *k)
{
    const wear_model *m = k->model;
    double days = 0.0, readings = 0.0;
    for (size_t i = 0; i < m->in->sheets; i++) {
        double precision = k->s.sheet_weight[i] / k->s.day2, pull = 0.0;
        for (size_t a = m->first[i]; a < m->first[i + 1]; a++) {
            const wear_cell *cell = &m->cell[a];
            const double w = k->s.cell_weight[a] * cell->day / (k->s.reading2 * cell->u * cell->u);
            precision += w * cell->day;
            pull += w * residual(k, cell);
        }
        const double day = pull / precision + ch_stream_normal(&k->stream) / sqrt(precision);
        k->s.day[i] = day;
        k->s.sheet_weight[i] =
            draw_weight(&k->stream, day / sqrt(k->s.day2), CH_WEAR_ODD_SHEET_1, CH_WEAR_ODD_SHEET_TIMES);
        days += k->s.sheet_weight[i] * day * day;
        for (size_t a = m->first[i]; a < m->first[i + 1]; a++) {
            const double e = (residual(k, &m->cell[a]) - m->cell[a].day * day) / m->cell[a].u;
            k->s.cell_weight[a] =
                draw_weight(&k->stream, e / sqrt(k->s.reading2), CH_WEAR_ODD_READING_1, CH_WEAR_ODD_READING_TIMES);
            readings += k->s.cell_weight[a] * e * e;
        }
    }
    k->s.day2 = ((SCATTER_SHAPE - 1.0) * CH_WEAR_PART_DAY + 0.5 * days) /
                ch_stream_gamma(&k->stream, SCATTER_SHAPE + 0.5 * (double)m->in->sheets);
    k->s.reading2 = ((SCATTER_SHAPE - 1.0) * CH_WEAR_PART_READING + 0.5 * readings) /
                    ch_stream_gamma(&k->stream, SCATTER_SHAPE + 0.5 * (double)m->cells);
    for (int c = 0; c < m->cylinders; c++)
        k->s.level_weight[c] =
            draw_weight(&k->stream, (k->s.b[c] - k->s.b[m->at_common]) / CH_WEAR_LEVEL_SD_LOG, 0.1, 5.0);
}

ch_status wear_sample(const wear_model *model, uint64_t seed, size_t burn, size_t draws, wear_keep keep, void *to,
                      ch_err *err)
{
    chain k;
    ch_status rc = chain_make(model, seed, &k, err);
    if (rc < 0)
        return rc;
    for (int c = 0; c < model->cylinders; c++)
        k.slope[c] = exp(k.s.log_slope[c]);
    for (size_t sweep = 0; rc >= 0 && sweep < burn + draws; sweep++) {
        wear_model_products(model, &k.s, k.gram, k.by_y);
        rc = factor(&k, err);
        for (int i = 0; rc >= 0 && i < 2; i++) {
            draw_linear(&k);
            draw_slopes(&k);
        }
        if (rc >= 0)
            draw_scatter(&k);
        const wear_draw draw = {k.s.day2, k.s.reading2, k.s.b, k.s.log_slope, k.s.sheet_weight};
        if (rc >= 0 && sweep >= burn)
            keep(to, sweep - burn, &draw);
    }
    free(k.block);
    return rc;
}
