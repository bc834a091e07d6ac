/* Repeatability and reproducibility of a crossed study. Sources: include/crosshatch/gauge_study.h. */
#include "crosshatch/gauge_study.h"

#include <math.h>

#include <gsl/gsl_cdf.h>

#include "twofold.h"

typedef struct study {
    const double *y;
    size_t persons, parts, trials;
} study;

static double reading(const study *s, size_t person, size_t part, size_t trial)
{
    return s->y[(person * s->parts + part) * s->trials + trial];
}

/* Mean over one person or all (person = persons), one part or all (part = parts), all trials. */
static twofold mean_over(const study *s, size_t person, size_t part)
{
    const size_t first_person = person < s->persons ? person : 0,
                 end_person = person < s->persons ? person + 1 : person;
    const size_t first_part = part < s->parts ? part : 0, end_part = part < s->parts ? part + 1 : part;
    twofold sum = {0.0, 0.0};
    for (size_t a = first_person; a < end_person; a++)
        for (size_t b = first_part; b < end_part; b++)
            for (size_t t = 0; t < s->trials; t++)
                sum = twofold_add(sum, twofold_of(reading(s, a, b, t)));
    const size_t count = (end_person - first_person) * (end_part - first_part) * s->trials;
    return twofold_divide(sum, twofold_of((double)count));
}

static ch_anova_row row(twofold ss, double weight, double df)
{
    const twofold weighted = twofold_multiply(ss, twofold_of(weight));
    return (ch_anova_row){.ss = twofold_round(weighted), .df = df, .ms = twofold_round(weighted) / df};
}

static void fill_table(const study *s, ch_gauge_study *out)
{
    const double a = (double)s->persons, b = (double)s->parts, r = (double)s->trials;
    const twofold grand = mean_over(s, s->persons, s->parts);
    twofold person = {0.0, 0.0}, part = {0.0, 0.0}, both = {0.0, 0.0}, repeat = {0.0, 0.0};
    for (size_t i = 0; i < s->persons; i++)
        person = twofold_add(person, twofold_square(twofold_subtract(mean_over(s, i, s->parts), grand)));
    for (size_t j = 0; j < s->parts; j++)
        part = twofold_add(part, twofold_square(twofold_subtract(mean_over(s, s->persons, j), grand)));
    for (size_t i = 0; i < s->persons; i++)
        for (size_t j = 0; j < s->parts; j++) {
            const twofold cell = mean_over(s, i, j);
            const twofold rest = twofold_subtract(twofold_add(twofold_subtract(cell, mean_over(s, i, s->parts)), grand),
                                                  mean_over(s, s->persons, j));
            both = twofold_add(both, twofold_square(rest));
            for (size_t t = 0; t < s->trials; t++)
                repeat = twofold_add(repeat, twofold_square(twofold_subtract(twofold_of(reading(s, i, j, t)), cell)));
        }
    out->person = row(person, b * r, a - 1.0);
    out->part = row(part, a * r, b - 1.0);
    out->interaction = row(both, r, (a - 1.0) * (b - 1.0));
    out->repeat = row(repeat, 1.0, a * b * (r - 1.0));
}

static void complete(ch_scatter *s)
{
    s->gauge = sqrt(s->repeatability * s->repeatability + s->reproducibility * s->reproducibility +
                    s->interaction * s->interaction);
    s->total = hypot(s->gauge, s->part);
    s->categories = s->gauge > 0.0 ? floor(1.41 * s->part / s->gauge) : NAN;
}

static double root_or_zero(double variance)
{
    return variance > 0.0 ? sqrt(variance) : 0.0;
}

static void by_anova(const study *s, double pool_above_1, ch_gauge_study *out)
{
    const double a = (double)s->persons, b = (double)s->parts, r = (double)s->trials;
    out->interaction_f = out->interaction.ms / out->repeat.ms;
    out->interaction_p =
        out->repeat.ms > 0.0 ? gsl_cdf_fdist_Q(out->interaction_f, out->interaction.df, out->repeat.df) : NAN;
    out->pooled = out->interaction_p > pool_above_1;
    const double joined = (out->interaction.ss + out->repeat.ss) / (out->interaction.df + out->repeat.df);
    const double error = out->pooled ? joined : out->repeat.ms;
    const double against = out->pooled ? joined : out->interaction.ms;
    out->anova = (ch_scatter){.repeatability = root_or_zero(error),
                              .reproducibility = root_or_zero((out->person.ms - against) / (b * r)),
                              .interaction = out->pooled ? 0.0 : root_or_zero((out->interaction.ms - error) / r),
                              .part = root_or_zero((out->part.ms - against) / (a * r))};
    complete(&out->anova);
}

/* 1/d2* of MSA-4 for the mean of many ranges of `size` (K1) and for one range of `size` (K2, K3); NaN where not tabled. */
static double repeat_constant(size_t size)
{
    return size == 2 ? 0.8862 : size == 3 ? 0.5908 : NAN;
}

static double range_constant(size_t size)
{
    static const double k[] = {0.7071, 0.5231, 0.4467, 0.4030, 0.3742, 0.3534, 0.3375, 0.3249, 0.3146};
    return size >= 2 && size <= 10 ? k[size - 2] : NAN;
}

static double mean_range_of_cells(const study *s)
{
    double sum = 0.0;
    for (size_t i = 0; i < s->persons; i++)
        for (size_t j = 0; j < s->parts; j++) {
            double low = INFINITY, high = -INFINITY;
            for (size_t t = 0; t < s->trials; t++) {
                low = fmin(low, reading(s, i, j, t));
                high = fmax(high, reading(s, i, j, t));
            }
            sum += high - low;
        }
    return sum / (double)(s->persons * s->parts);
}

static void by_range(const study *s, ch_scatter *out)
{
    double person[2] = {INFINITY, -INFINITY}, part[2] = {INFINITY, -INFINITY};
    for (size_t i = 0; i < s->persons; i++) {
        const double mean = twofold_round(mean_over(s, i, s->parts));
        person[0] = fmin(person[0], mean);
        person[1] = fmax(person[1], mean);
    }
    for (size_t j = 0; j < s->parts; j++) {
        const double mean = twofold_round(mean_over(s, s->persons, j));
        part[0] = fmin(part[0], mean);
        part[1] = fmax(part[1], mean);
    }
    /* Constants for more than three people are not tabled in the manual's sheet. */
    const double k2 = s->persons <= 3 ? range_constant(s->persons) : NAN;
    const double ev = mean_range_of_cells(s) * repeat_constant(s->trials);
    const double spread = (person[1] - person[0]) * k2;
    const double av2 = spread * spread - ev * ev / (double)(s->parts * s->trials);
    *out = (ch_scatter){.repeatability = ev,
                        .reproducibility = isnan(av2) ? NAN : root_or_zero(av2),
                        .interaction = 0.0,
                        .part = (part[1] - part[0]) * range_constant(s->parts)};
    complete(out);
}

ch_status ch_gauge_study_evaluate(const double y[], size_t persons, size_t parts, size_t trials, double pool_above_1,
                                  ch_gauge_study *out, ch_err *err)
{
    if (persons < 2 || parts < 2 || trials < 2)
        return ch_fail(err, CH_E_RANGE, "two or more of each", "%zu people, %zu parts, %zu trials", persons, parts,
                       trials);
    if (!(pool_above_1 >= 0.0 && pool_above_1 <= 1.0))
        return ch_fail(err, CH_E_RANGE, "0 to 1", "limit %g for pooling", pool_above_1);
    for (size_t i = 0; i < persons * parts * trials; i++)
        if (!isfinite(y[i]))
            return ch_fail(err, CH_E_RANGE, "finite readings", "reading %zu is %g", i + 1, y[i]);
    const study s = {.y = y, .persons = persons, .parts = parts, .trials = trials};
    ch_gauge_study result = {.pooled = false};
    fill_table(&s, &result);
    by_anova(&s, pool_above_1, &result);
    by_range(&s, &result.range);
    *out = result;
    return CH_OK;
}
