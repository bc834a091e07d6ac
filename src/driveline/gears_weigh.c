/*
 * The lines of the gears by every row's weight, and how far to trust them.
 *
 * ln(engine over road speed) of a row in gear is its line's, and what is still wrong with road speed v: late by d, which adds d a/v with acceleration a; low by o,
 * which adds o/v; and, if it went through a filter of time constant T, too high by T^2/2 times the change of the acceleration, j, which takes T^2/2 j/v away (the
 * second term of the filter's series; the first is its lag). Lines and these three are found together by weighted least squares, rows far from their line
 * without a say (Tukey's biweight). Rows that follow each other err alike, so how much the lines are known is taken from what the stretches in gear are off,
 * not from single rows: the score of a stretch squared, over what single rows would make of it, widens all (the sandwich of Huber 1967, by clusters as in Liang and Zeger 1986).
 */
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_linalg.h>

#include "crosshatch/regression.h"
#include "gears_parts.h"

enum { LATE, LOW, FILTERED, CREEPING, COMMON, MOST = CH_DRIVELINE_GEARS_MAX + COMMON + 1, PASSES = 4 };

/* What is known of the four before, by judgment: standard deviations, s, m/s, s2, 1 (what was found of the creep is off the ratio; where none was, none is left). */
static const double PRIOR[COMMON] = {[LATE] = 0.02, [LOW] = 0.003, [FILTERED] = 0.003, [CREEPING] = 0.01};

static const double LEAST_U_1 = 0.00003; /* what drawing straight lines between rows leaves, however long the log */
static const double STILL_1 = 5e-6;      /* lines that move no further are found */
static const double STEPPED_M_S =
    0.1; /* judgment: what a speed drawn through its steps is off, one standard deviation */
static const double STEPPED_LOW_M_S = 0.003; /* and what it is off on average, whether cut or rounded */
static const double UNEVEN_M_S = 0.25;       /* where it hardly crosses steps, or the acceleration changes */

/*
 * What no stretch of the run shows, for it is alike in all: by how much the creep is off because the drive force is only what acceleration and an ordinary car's drag make of
 * it (slopes, gusts, load over the axles), at least and as a part of it; and by how much a tyre grows with the square of speed, 0.1 % at 60 m/s. Judgment.
 */
static const double CREEP_LEAST_1 = 0.0015, CREEP_PART_1 = 0.12, GROWN_S2_M2 = 0.001 / 3600;

typedef struct line_sums {
    double square_m2_s2;                                    /* of road speed, weighed */
    double w, x[COMMON], xx[COMMON][COMMON], y, xy[COMMON]; /* weighed; y: off the line as it is */
    double squares, expected, expected2; /* of stretches: score squared; its sum of weights, and their squares */
    size_t stretches;
} line_sums;

typedef struct weighing {
    const signals *s;
    const trail *t;
    const float *ratio;
    float *even;      /* mean of that over half a second */
    float *undone;    /* room for the ratio with a filter undone */
    double root_news; /* root of how many news that has */
    double offset_m_s, noise_m_s;
    bool even_only; /* rows of an even pull through the steps */
    double common[COMMON], u_common[COMMON], prior[COMMON];
    double moved_1; /* the furthest of the lines, at the last step */
    line_sums sums[CH_DRIVELINE_GEARS_MAX];
} weighing;

double gears_road_noise(const signals *s, const trail *t, const line_fit *found, size_t n)
{
    static const double least_m_s = 0.02, most_m_s = 0.6, normal_median = 0.6745,
                        difference = 2.449; /* sqrt(1 + 4 + 1) */
    const size_t k = (size_t)fmax(rint(s->road_fresh_s / fmax(s->interval_s, 0.01)), 1);
    quantile q;
    quantile_start(&q, 0, most_m_s);
    for (size_t g = 0; g < n; g++)
        for (size_t i = k; i + k < s->n; i++)
            if (fabs(s->ratio[i] - found[g].at) < GEARS_NEAR_1 && !gears_clutch_pressed(t, i) && s->road[i] > 8)
                quantile_add(&q, fabs(s->ratio[i - k] - 2 * s->ratio[i] + s->ratio[i + k]) * s->road[i] / difference);
    return q.n > 0 ? fmax(quantile_at(&q, 0.5) / normal_median, least_m_s) : least_m_s;
}

/* How fast the acceleration changes, m/s3. */
static double jerk_at(const signals *s, size_t i)
{
    const size_t k = (size_t)fmax(rint(0.2 / fmax(s->interval_s, 0.01)), 1);
    if (i < k || i + k >= s->n)
        return NAN;
    return (s->climb[i + k] - s->climb[i - k]) / (s->time_s[i + k] - s->time_s[i - k]);
}

/* ln(engine over road speed) with road speed as it was before a filter of this time constant: v + T dv/dt, of the moment T earlier. */
static void undo_filter(const signals *s, double offset_m_s, double filter_s, float *ratio)
{
    const double half_s = fmax(0.1, s->interval_s), reach_s = fmax(1.0, 3 * s->interval_s);
    size_t before = 0, now = 0, after = 0;
    for (size_t i = 0; i < s->n; i++) {
        const double at_s = s->time_s[i] + s->lag_s - filter_s;
        const double early = signals_at(s->time_s, s->drawn, s->n, at_s - half_s, reach_s, &before);
        const double here = signals_at(s->time_s, s->drawn, s->n, at_s, reach_s, &now);
        const double late = signals_at(s->time_s, s->drawn, s->n, at_s + half_s, reach_s, &after);
        const double road_m_s = here + filter_s * (late - early) / (2 * half_s) + offset_m_s;
        ratio[i] = road_m_s > 1.5 && s->engine[i] > 60 ? logf(s->engine[i] / (float)road_m_s) : NAN;
        ratio[i] -= (float)(s->creep_1 * signals_drive_force(s, i));
    }
}

static void close_stretch(line_sums *l, double score, double weight)
{
    if (!(weight > 0))
        return;
    l->squares += score * score;
    l->expected += weight;
    l->expected2 += weight * weight;
    l->stretches++;
}

static inline void add_row(line_sums *l, double weight, double y, const double x[COMMON])
{
    l->w += weight;
    l->y += weight * y;
    for (int c = 0; c < COMMON; c++) {
        l->x[c] += weight * x[c];
        l->xy[c] += weight * x[c] * y;
        for (int e = 0; e <= c; e++)
            l->xx[c][e] += weight * x[c] * x[e];
    }
}

/* One line's rows: their sums, and what each stretch of them is off as the line and the three are now. */
static void add_rows(const weighing *k, const line_fit *line, line_sums *l)
{
    /* judgment: a line's rows, ends of shifts left out */
    static const double reach_1 = 0.02, widest_1 = 0.04, row_1 = 0.03, row_widest_1 = 0.08, least_1 = 0.002,
                        reaches = 4, drifts = 3;
    static const double steepest_m_s3 = 20, apart_s = 0.5, stretch_s = 8;
    const signals *s = k->s;
    const bool fine = s->step_m_s == 0; /* what a speed in steps is off is no noise */
    const double limit = gears_steady_limit(s);
    const float at = (float)line->at, far = 1.5F * (float)row_widest_1;
    double score = 0, weights = 0, from_s = -INFINITY, last_s = -INFINITY;
    memset(l, 0, sizeof *l);
    for (size_t i = 0; i < s->n; i++) {
        /* most rows are those of the other lines */
        if (!(fabsf(k->ratio[i] - at) < far) || gears_clutch_pressed(k->t, i) || !gears_asked(s, i))
            continue;
        const bool even = fine || (gears_cross_steps(s, i) && gears_even_pull(s, i));
        if (k->even_only && !even)
            continue;
        const double v = s->road[i] + k->offset_m_s, jerk = jerk_at(s, i);
        const double noise_1 = (even ? k->noise_m_s : UNEVEN_M_S) / v;
        const double reach = fine ? fmin(fmax(reach_1, reaches * noise_1 / k->root_news), widest_1) : reach_1;
        const double row_reach = fine ? fmin(fmax(row_1, reaches * noise_1), row_widest_1) : row_1;
        const double x[COMMON] = {
            [LATE] = s->climb[i] / v, [LOW] = 1 / v, [FILTERED] = -jerk / v, [CREEPING] = signals_drive_force(s, i)};
        const double y = k->ratio[i] - line->at;
        double off = y;
        for (int c = 0; c < COMMON; c++)
            off -= k->common[c] * x[c];
        const double far_1 = (off + k->even[i] - k->ratio[i]) / reach,
                     drift = fine ? fmax(limit, drifts * noise_1) : limit;
        if (!(fabs(far_1) < 1) || !(fabs(off) < row_reach) || !(fabs(s->drift[i]) < drift) ||
            !(fabs(jerk) < steepest_m_s3))
            continue;
        const double weight = (1 - far_1 * far_1) * (1 - far_1 * far_1) / (noise_1 * noise_1 + least_1 * least_1);
        if (s->time_s[i] - last_s > apart_s || s->time_s[i] - from_s > stretch_s) {
            close_stretch(l, score, weights);
            score = weights = 0;
            from_s = s->time_s[i];
        }
        last_s = s->time_s[i];
        score += weight * off;
        l->square_m2_s2 += weight * v * v;
        weights += weight;
        add_row(l, weight, y, x);
    }
    close_stretch(l, score, weights);
}

/* By how much a line's rows err alike: what variances by single rows are to be multiplied with. Few stretches tell little: all lines' together help. */
static void find_inflation(const weighing *k, size_t n, double inflation[])
{
    /*
     * Judgment: stretches' worth; and the least, rows a thirtieth as noisy as they are taken to be. Two stretches that lines and the three go right through would show none at all, have
     * their rows weigh more without end, and hide what is known of the three before.
     */
    static const double borrowed = 4, least = 0.001;
    double squares = 0, expected = 0;
    for (size_t g = 0; g < n; g++) {
        const line_sums *l = &k->sums[g];
        if (l->stretches < 2)
            continue;
        squares += l->squares / l->expected * (double)l->stretches;
        expected += (1 - l->expected2 / (l->expected * l->expected)) * (double)l->stretches;
    }
    const double all = expected > 0 ? squares / expected : 1;
    for (size_t g = 0; g < n; g++) {
        const line_sums *l = &k->sums[g];
        const double own = l->stretches > 1 ? l->expected - l->expected2 / l->expected : 0;
        const double count = (double)l->stretches;
        const double alone = own > 0 ? l->squares / own : all;
        /* a variance found from so many stretches is itself in doubt: that of Student's t */
        inflation[g] = fmax((borrowed * all + count * alone) / (borrowed + count - 2), least);
    }
}

/* Move lines and the three to their least squares. The last unknown is the tyre's factor, where the lines are stated. */
static ch_status solve(weighing *k, const gears_stated *stated, const double inflation[], line_fit *found, size_t n,
                       ch_err *err)
{
    double a[MOST * MOST] = {0}, b[MOST] = {0};
    const size_t factor = n + COMMON, size = factor + (stated != NULL);
    for (size_t g = 0; g < n; g++) {
        const line_sums *l = &k->sums[g];
        const double part = 1 / inflation[g];
        a[g * size + g] += part * l->w + 1e-3; /* no row at all: anywhere */
        b[g] += part * l->y;
        for (size_t c = 0; c < COMMON; c++) {
            a[(n + c) * size + g] += part * l->x[c];
            b[n + c] += part * l->xy[c];
            for (size_t e = 0; e <= c; e++)
                a[(n + c) * size + n + e] += part * l->xx[c][e];
        }
        if (stated != NULL) {
            const double weight = 1 / (stated->u[g] * stated->u[g]), apart = stated->at[g] - found[g].at;
            a[g * size + g] += weight;
            a[factor * size + g] -= weight;
            a[factor * size + factor] += weight;
            b[g] += weight * apart;
            b[factor] -= weight * apart;
        }
    }
    for (size_t c = 0; c < COMMON; c++)
        a[(n + c) * size + n + c] += 1 / (k->prior[c] * k->prior[c]);
    gsl_matrix_view matrix = gsl_matrix_view_array(a, size, size);
    gsl_vector_view vector = gsl_vector_view_array(b, size);
    if (!ch_cholesky(a, size))
        return ch_fail(err, CH_E_CONVERGE, NULL, "the lines of the gears cannot be weighed");
    gsl_linalg_cholesky_svx(&matrix.matrix, &vector.vector);
    gsl_linalg_cholesky_invert(&matrix.matrix);
    k->moved_1 = 0;
    const double u_force_1 = hypot(CREEP_LEAST_1, CREEP_PART_1 * k->s->creep_1);
    for (size_t g = 0; g < n; g++) {
        found[g].at += b[g];
        k->moved_1 = fmax(k->moved_1, fabs(b[g]));
        const line_sums *l = &k->sums[g];
        const double low_1 = k->s->step_m_s > 0 && l->w > 0 ? STEPPED_LOW_M_S * l->x[LOW] / l->w : 0;
        const double creep_1 = l->w > 0 ? u_force_1 * l->x[CREEPING] / l->w : 0;
        const double grown_1 = l->w > 0 ? GROWN_S2_M2 * l->square_m2_s2 / l->w : 0;
        found[g].u =
            sqrt(a[g * size + g] + LEAST_U_1 * LEAST_U_1 + low_1 * low_1 + creep_1 * creep_1 + grown_1 * grown_1);
    }
    for (size_t c = 0; c < COMMON; c++) {
        k->common[c] = b[n + c];
        k->u_common[c] = sqrt(a[(n + c) * size + n + c]);
    }
    return CH_OK;
}

/* The mean ratio of the rows up to a quarter of a second to either side; NaN where one of them has none. */
static void find_even(weighing *k)
{
    static const double half_s = 0.26;
    const signals *s = k->s;
    size_t from = 0, to = 0;
    double sum = 0;
    size_t unknown = 0;
    for (size_t i = 0; i < s->n; i++) {
        for (; to < s->n && s->time_s[to] - s->time_s[i] < half_s; to++)
            if (isnan(k->ratio[to]))
                unknown++;
            else
                sum += k->ratio[to];
        for (; s->time_s[i] - s->time_s[from] > half_s; from++)
            if (isnan(k->ratio[from]))
                unknown--;
            else
                sum -= k->ratio[from];
        k->even[i] = unknown > 0 ? NAN : (float)(sum / (double)(to - from));
    }
    k->root_news = sqrt(fmax(2 * half_s / fmax(s->road_fresh_s, s->interval_s), 1));
}

static ch_status fit(weighing *k, const gears_stated *stated, line_fit *found, size_t n, ch_err *err)
{
    double inflation[CH_DRIVELINE_GEARS_MAX];
    ch_status rc = CH_OK;
    k->moved_1 = INFINITY;
    for (int pass = 0; pass < PASSES && k->moved_1 > STILL_1 && rc >= 0; pass++) {
        for (size_t g = 0; g < n; g++)
            add_rows(k, &found[g], &k->sums[g]);
        find_inflation(k, n, inflation);
        rc = solve(k, stated, inflation, found, n, err);
    }
    return rc;
}

static void clear(weighing *k)
{
    free(k->even);
    free(k->undone);
}

static ch_status begin(const signals *s, const trail *t, double offset_m_s, weighing *k, ch_err *err)
{
    *k = (weighing){.s = s, .t = t, .ratio = s->ratio, .offset_m_s = offset_m_s};
    memcpy(k->prior, PRIOR, sizeof PRIOR);
    k->even = malloc(s->n * sizeof *k->even);
    k->undone = malloc(s->n * sizeof *k->undone);
    if (k->even == NULL || k->undone == NULL) {
        clear(k);
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the gears");
    }
    find_even(k);
    return CH_OK;
}

ch_status gears_weigh(const signals *s, const trail *t, double offset_m_s, const gears_stated *stated, line_fit *found,
                      size_t n, ch_err *err)
{
    static const double least_s2 = 0.005; /* 0.1 s of time constant */
    weighing k;
    ch_status rc = begin(s, t, offset_m_s, &k, err);
    if (rc < 0)
        return rc;
    k.noise_m_s = s->step_m_s > 0 ? STEPPED_M_S : gears_road_noise(s, t, found, n);
    rc = fit(&k, stated, found, n, err);
    if (rc >= 0 && s->step_m_s == 0 && k.common[FILTERED] > least_s2) {
        undo_filter(s, offset_m_s, sqrt(2 * k.common[FILTERED]), k.undone);
        k.ratio = k.undone;
        find_even(&k);
        rc = fit(&k, stated, found, n, err);
    }
    clear(&k);
    return rc;
}

ch_status gears_lack(const signals *s, const trail *t, double offset_m_s, const gears_stated *stated,
                     const line_fit *found, size_t n, double *lacks_m_s, double *u_m_s, ch_err *err)
{
    static const double anything_m_s = 1;
    line_fit copy[CH_DRIVELINE_GEARS_MAX];
    weighing k;
    ch_status rc = begin(s, t, offset_m_s, &k, err);
    if (rc < 0)
        return rc;
    memcpy(copy, found, n * sizeof *copy);
    k.noise_m_s = STEPPED_M_S;
    k.even_only = true;
    k.prior[LOW] = anything_m_s;
    rc = fit(&k, stated, copy, n, err);
    if (rc >= 0) {
        *lacks_m_s = k.common[LOW];
        *u_m_s = k.u_common[LOW];
    }
    clear(&k);
    return rc;
}
