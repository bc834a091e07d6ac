/* Do readings fall in the order in which they were taken? A battery that sags does that, and so does a starter that heats up.
 *
 * With repeats: readings less their cylinder's mean against the order, one slope for all (analysis of covariance), so that the cylinders
 * themselves drop out; a first cylinder measured again last is enough. Student's t, one-sided, for a fall. Without repeats: the
 * rank test of Mann and Kendall over the readings as taken; then the order cannot be told from the cylinders' own differences, and the
 * sentence says so. */
#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_cdf.h>

#include "crosshatch/regression.h"
#include "crosshatch/summary.h"
#include "judge_parts.h"

static const double SIGNIFICANT_1 = 0.05;
/* Falls over the whole test that matter, as parts of the mean: below, nobody need care; above, no battery does that. */
static const double REPEATS_FALL_1 = 0.03, RANKS_FALL_1 = 0.04, FALL_MOST_1 = 0.35;

/* What the cylinders that were read more than once hold: the slope was found in them and is not drawn out beyond them. */
typedef struct repeated {
    int cylinders;
    double first_place, last_place;
} repeated;

static repeated repeated_of(const judge_readings *readings, const double place[])
{
    repeated of = {.first_place = INFINITY, .last_place = -INFINITY};
    for (int c = 0; c < readings->cylinders; c++) {
        of.cylinders += readings->size[c] >= 2;
        for (size_t i = readings->start[c]; readings->size[c] >= 2 && i < readings->start[c] + readings->size[c]; i++) {
            of.first_place = fmin(of.first_place, place[i]);
            of.last_place = fmax(of.last_place, place[i]);
        }
    }
    return of;
}

static void by_repeats(const judge_asked *asked, ch_judgement *j, const double place[], double mean_pa)
{
    const judge_readings *readings = asked->readings;
    double sxx = 0.0, sxy = 0.0, syy = 0.0, df = -1.0;
    for (int c = 0; c < readings->cylinders; c++) {
        const size_t start = readings->start[c], n = readings->size[c];
        if (n == 0)
            continue;
        const double x_mean = ch_mean(place + start, n), y_mean = ch_mean(readings->reading_pa + start, n);
        for (size_t i = start; i < start + n; i++) {
            const double x = place[i] - x_mean, y = readings->reading_pa[i] - y_mean;
            sxx += x * x;
            sxy += x * y;
            syy += y * y;
        }
        df += (double)n - 1.0;
    }
    const double slope = sxy / sxx;
    const double filled = fmax(JUDGE_DEFAULT_DF - df, 0.0), default_pa = judge_default_sd_pa(mean_pa);
    const double left = fmax(syy - slope * sxy, 0.0);
    const double sd_pa = sqrt((left + filled * default_pa * default_pa) / (df + filled));
    const double run_pa = -slope * ((double)readings->n - 1.0);
    /* without any scatter a slope is sure; one upwards is no fall, whatever its chance */
    const double p_1 = sd_pa > 0.0 ? gsl_cdf_tdist_P(slope * sqrt(sxx) / sd_pa, df + filled) : 0.0;
    if (!(p_1 < SIGNIFICANT_1 && run_pa > REPEATS_FALL_1 * mean_pa && run_pa < FALL_MOST_1 * mean_pa))
        return;
    const repeated in = repeated_of(readings, place);
    const judge_words fall = judge_say_difference(-slope * (in.last_place - in.first_place), asked->unit);
    judge_ask(j, CH_QUESTION_FALLING, 0, SIZE_MAX, 1.0 - p_1,
              "Readings fall in the order taken, by some %s from the first to the last, in the same cylinder%s: the "
              "battery may have sagged. Put it on a charger and measure again.",
              fall.text, in.cylinders == 1 ? "" : "s");
}

static ch_status by_ranks(const judge_asked *asked, ch_judgement *j, const double place[], double mean_pa, ch_err *err)
{
    ch_trend trend;
    const size_t n = asked->readings->n;
    ch_status rc = ch_trend_rank(place, asked->readings->reading_pa, n, 0.95, &trend, err);
    if (rc < 0)
        return rc;
    const double fall_pa = -trend.slope * ((double)n - 1.0), p_1 = 0.5 * trend.p;
    if (!(trend.s < 0.0 && p_1 < SIGNIFICANT_1 && fall_pa > RANKS_FALL_1 * mean_pa && fall_pa < FALL_MOST_1 * mean_pa))
        return CH_OK;
    const judge_words fall = judge_say_difference(fall_pa, asked->unit);
    judge_ask(j, CH_QUESTION_FALLING, 0, SIZE_MAX, 1.0 - p_1,
              "Readings fall in the order taken, by some %s from the first to the last: a sagging battery does that, "
              "and so may the cylinders. Measure the first cylinder once more, last, to tell.",
              fall.text);
    return CH_OK;
}

static int compare_rows(const void *left, const void *right)
{
    const size_t a = *(const size_t *)left, b = *(const size_t *)right;
    return (a > b) - (a < b);
}

ch_status judge_question_order(const judge_asked *asked, ch_judgement *judgement, ch_err *err)
{
    const judge_readings *readings = asked->readings;
    const size_t n = readings->n;
    if (n < 2)
        return CH_OK;
    double *place = calloc(n, sizeof *place);
    size_t *taken = calloc(n, sizeof *taken);
    if (place == NULL || taken == NULL) {
        free(place);
        free(taken);
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the order of %zu readings", n);
    }
    bool repeats = false;
    double mean_pa = 0.0;
    for (size_t i = 0; i < n; i++) {
        taken[i] = readings->row[i];
        mean_pa += readings->reading_pa[i] / (double)n;
    }
    qsort(taken, n, sizeof *taken, compare_rows);
    for (size_t i = 0; i < n; i++) {
        const size_t *at = bsearch(&readings->row[i], taken, n, sizeof *taken, compare_rows);
        place[i] = (double)(at - taken);
    }
    for (int c = 0; c < readings->cylinders; c++)
        repeats = repeats || readings->size[c] >= 2;
    ch_status rc = CH_OK;
    if (repeats)
        by_repeats(asked, judgement, place, mean_pa);
    else if (n >= 4)
        rc = by_ranks(asked, judgement, place, mean_pa, err);
    free(place);
    free(taken);
    return rc;
}
