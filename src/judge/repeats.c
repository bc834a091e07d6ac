/* What repeats of one cylinder say: mean, spread, standard uncertainty after the GUM, and the step in which the dial was read.
 *
 * Model of one reading: gain * (true + repeat error) + zero, rounded to a step. Repeat errors are alike for all cylinders of a sheet, so
 * their spread is pooled (ISO 5725-2:2019; NIST/SEMATECH e-Handbook 7.4.3). Zero and gain are common to all readings of a gauge:
 * the gain drops out of every ratio and stands apart (u_with_gauge_pa); the zero is small and counted with the rest.
 * Uncertainty of a mean: u^2 = s^2/n + step^2/12 + zero^2/3 (JCGM 100:2008, 4.2.3, F.2.2.1, 4.3.7), degrees of freedom by
 * Welch-Satterthwaite (G.4.1). Rounding is not divided by n: repeats that fall on the same mark share its error. */
#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_cdf.h>

#include "crosshatch/prior.h"
#include "crosshatch/summary.h"
#include "crosshatch/uncertainty.h"
#include "judge_parts.h"

typedef struct placed {
    int cylinder;
    double reading_pa;
    size_t row;
} placed;

static int compare_placed(const void *left, const void *right)
{
    const placed *a = left, *b = right;
    if (a->cylinder != b->cylinder)
        return a->cylinder < b->cylinder ? -1 : 1;
    if (a->reading_pa != b->reading_pa)
        return a->reading_pa < b->reading_pa ? -1 : 1;
    return (a->row > b->row) - (a->row < b->row);
}

ch_status judge_readings_collect(const ch_sheet *sheet, judge_readings *readings, ch_err *err)
{
    judge_readings made = {.cylinders = sheet->engine.cylinders};
    const size_t most = sheet->compression_count;
    placed *all = calloc(most > 0 ? most : 1, sizeof *all);
    made.reading_pa = calloc(most > 0 ? most : 1, sizeof *made.reading_pa);
    made.row = calloc(most > 0 ? most : 1, sizeof *made.row);
    if (all == NULL || made.reading_pa == NULL || made.row == NULL) {
        free(all);
        judge_readings_clear(&made);
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for %zu readings", most);
    }
    for (size_t i = 0; i < most; i++) {
        const ch_reading *row = &sheet->compression[i];
        if (row->cylinder >= 1 && row->cylinder <= made.cylinders && ch_quantity_given(&row->reading))
            all[made.n++] = (placed){row->cylinder, row->reading.si, i};
    }
    qsort(all, made.n, sizeof *all, compare_placed);
    for (size_t i = 0; i < made.n; i++) {
        made.reading_pa[i] = all[i].reading_pa;
        made.row[i] = all[i].row;
        made.size[all[i].cylinder - 1]++;
    }
    free(all);
    for (int c = 1; c < made.cylinders; c++)
        made.start[c] = made.start[c - 1] + made.size[c - 1];
    *readings = made;
    return CH_OK;
}

void judge_readings_clear(judge_readings *readings)
{
    free(readings->reading_pa);
    free(readings->row);
    *readings = (judge_readings){0};
}

static bool all_multiples(const ch_reading rows[], size_t n, const ch_unit *unit, double step)
{
    for (size_t i = 0; i < n; i++) {
        if (rows[i].reading.unit != unit || !ch_quantity_given(&rows[i].reading))
            continue;
        const double count = ch_unit_from_si(rows[i].reading.si, unit) / step;
        if (fabs(count - nearbyint(count)) > 1e-6 * fabs(count))
            return false;
    }
    return true;
}

double judge_step_pa(const ch_reading rows[], size_t n)
{
    static const double parts[] = {10.0, 5.0, 2.5, 2.0, 1.0};
    const double psi_pa = 6894.757293168361;
    double largest_pa = NAN;
    for (size_t i = 0; i < n; i++) {
        const ch_unit *unit = rows[i].reading.unit;
        if (unit == NULL || !(rows[i].reading.si > 0.0))
            continue;
        double base = pow(10.0, nearbyint(log10(psi_pa / unit->factor)));
        bool found = false;
        for (int decade = 0; decade < 3 && !found; decade++, base /= 10.0)
            for (size_t p = 0; p < sizeof parts / sizeof parts[0] && !found; p++)
                if (all_multiples(rows, n, unit, parts[p] * base)) {
                    largest_pa = fmax(largest_pa, ch_unit_to_si(parts[p] * base, unit));
                    found = true;
                }
    }
    return largest_pa;
}

double judge_default_sd_pa(double highest_pa)
{
    return JUDGE_DEFAULT_SD_1 * fmax(highest_pa, JUDGE_DEFAULT_LEVEL_PA);
}

/* Pooled sd of one reading. Degrees of freedom that the repeats lack up to JUDGE_DEFAULT_DF are filled up with the default, which so counts
 * in full without a repeat and not at all from three degrees of freedom on. */
static ch_status pool(const judge_readings *readings, double highest_pa, ch_judgement *j, judge_repeatability *scatter,
                      ch_err *err)
{
    double sd_pa = NAN, df = 0.0;
    ch_status rc = ch_pooled_sd(readings->reading_pa, readings->size, (size_t)readings->cylinders, &sd_pa, &df, err);
    if (rc < 0)
        return rc;
    const double default_pa = judge_default_sd_pa(highest_pa);
    const double filled = fmax(JUDGE_DEFAULT_DF - df, 0.0);
    const double own = df > 0.0 ? df * sd_pa * sd_pa : 0.0;
    scatter->assumed = !(df > 0.0);
    scatter->df = df + filled;
    scatter->sd_pa = filled > 0.0 ? sqrt((own + filled * default_pa * default_pa) / scatter->df) : sd_pa;
    j->pooled_sd_pa = scatter->sd_pa;
    j->pooled_df = scatter->df;
    j->pooled_assumed = scatter->assumed;
    return CH_OK;
}

/* Largest error of the gauge at a reading: as stated, or setup's default of 3 % of span. */
static double gauge_limit_pa(const ch_sheet_gauge *gauge, const ch_setup *setup, double reading_pa)
{
    ch_sheet_gauge known = *gauge;
    known.span.si = setup->gauge_span_pa;
    const double limit_pa = ch_gauge_limit_pa(&known, reading_pa);
    return isnan(limit_pa) ? CH_PRIOR_GAUGE_LIMIT_OF_SPAN * setup->gauge_span_pa : limit_pa;
}

static ch_status uncertainty(const ch_sheet *sheet, const ch_setup *setup, const judge_day *day,
                             const judge_repeatability *scatter, double minimum_pa, ch_judged_cylinder *cylinder,
                             ch_err *err)
{
    /* Where the minimum was brought to this day it is known no better than the day. */
    const double moved_pa = minimum_pa < sheet->engine.limits.minimum.si ? day->u_factor_1 * minimum_pa : 0.0;
    const ch_component parts[] = {
        {ch_u_mean(scatter->sd_pa, (size_t)cylinder->n), 1.0, scatter->df},
        {ch_u_resolution(scatter->step_pa), 1.0, INFINITY},
        {ch_u_rectangular(scatter->zero_limit_pa), 1.0, INFINITY},
        {ch_u_rectangular(gauge_limit_pa(&sheet->gauge, setup, cylinder->mean_pa)), 1.0, INFINITY},
    };
    double df_with_gauge = NAN;
    ch_status rc = ch_u_combine(parts, 3, &cylinder->u_pa, &cylinder->df, err);
    if (rc >= 0)
        rc = ch_u_combine(parts, 4, &cylinder->u_with_gauge_pa, &df_with_gauge, err);
    if (rc >= 0 && isfinite(minimum_pa)) {
        const double t = (minimum_pa - cylinder->mean_pa) / hypot(cylinder->u_with_gauge_pa, moved_pa);
        cylinder->below_minimum = cylinder->mean_pa < minimum_pa * (1.0 - 1e-9);
        cylinder->chance_below_minimum_1 =
            isinf(df_with_gauge) ? gsl_cdf_ugaussian_P(t) : gsl_cdf_tdist_P(t, df_with_gauge);
    }
    return rc;
}

static double first_over_final(const ch_sheet *sheet, int cylinder)
{
    double first_pa = 0.0, final_pa = 0.0;
    for (size_t i = 0; i < sheet->compression_count; i++) {
        const ch_reading *row = &sheet->compression[i];
        if (row->cylinder == cylinder && ch_quantity_given(&row->first_stroke) && ch_quantity_given(&row->reading)) {
            first_pa += row->first_stroke.si;
            final_pa += row->reading.si;
        }
    }
    return final_pa > 0.0 ? first_pa / final_pa : NAN;
}

ch_status judge_repeats(const ch_sheet *sheet, const ch_setup *setup, const judge_day *day,
                        const judge_readings *readings, ch_judgement *judgement, judge_repeatability *repeatability,
                        ch_err *err)
{
    ch_judgement *j = judgement;
    judge_repeatability scatter;
    double highest_pa = 0.0;
    ch_status rc = CH_OK;
    j->minimum_pa = judge_day_limit(day, sheet->engine.limits.minimum.si);
    j->standard_pa = judge_day_limit(day, sheet->engine.limits.standard.si);
    j->cylinders = readings->cylinders;
    for (int c = 0; c < readings->cylinders; c++) {
        ch_judged_cylinder *cylinder = &j->cylinder[c];
        const double *own = readings->reading_pa + readings->start[c];
        const size_t n = readings->size[c];
        *cylinder = (ch_judged_cylinder){.cylinder = c + 1,
                                         .n = (int)n,
                                         .mean_pa = NAN,
                                         .median_pa = NAN,
                                         .sd_pa = NAN,
                                         .u_pa = NAN,
                                         .u_with_gauge_pa = NAN,
                                         .df = NAN,
                                         .first_over_final_1 = first_over_final(sheet, c + 1),
                                         .expected_pa = {NAN, NAN},
                                         .expected_median_pa = NAN,
                                         .standard_day_pa = NAN,
                                         .u_standard_day_pa = NAN,
                                         .leak_area_m2 = {NAN, NAN, NAN},
                                         .chance_below_minimum_1 = NAN};
        if (n == 0)
            continue;
        cylinder->mean_pa = ch_mean(own, n);
        cylinder->median_pa = ch_quantile_sorted(own, n, 0.5);
        cylinder->sd_pa = ch_sd(own, n);
        highest_pa = fmax(highest_pa, cylinder->mean_pa);
    }
    rc = pool(readings, highest_pa, j, &scatter, err);
    if (rc < 0)
        return rc;
    const double detected_pa = judge_step_pa(sheet->compression, sheet->compression_count);
    scatter.step_detected = !ch_quantity_given(&sheet->gauge.resolution) && isfinite(detected_pa);
    scatter.step_pa = scatter.step_detected ? detected_pa : setup->gauge_resolution_pa;
    /* The needle is set to, or seen against, its zero mark to half a step. */
    scatter.zero_limit_pa = 0.5 * scatter.step_pa;
    scatter.gain_limit_1 =
        highest_pa > 0.0 ? fmin(gauge_limit_pa(&sheet->gauge, setup, highest_pa) / highest_pa, 0.5) : 0.0;
    for (int c = 0; rc >= 0 && c < readings->cylinders; c++)
        if (j->cylinder[c].n > 0)
            rc = uncertainty(sheet, setup, day, &scatter, j->minimum_pa, &j->cylinder[c], err);
    if (rc >= 0)
        *repeatability = scatter;
    return rc;
}
