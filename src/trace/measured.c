/* A sheet's rows, cylinder by cylinder, with the noise that they carry. */
#include <math.h>

#include "parts.h"

#include "crosshatch/leakdown.h"
#include "crosshatch/prior.h"
#include "crosshatch/summary.h"
#include "crosshatch/uncertainty.h"

/* Repeatability of one reading where the sheet has no repeats to tell: 2.5 psi (trade practice: repeats within 2 to 4 psi). */
static const double USUAL_REPEAT_PA = 17.2e3;
static const double USUAL_REPEAT_DF = 4.0;
/* A needle rests on its stop pin, and the accuracy class of such a gauge holds from a tenth of the scale on (EN 837-1:1996, from memory); its check
 * valve opens late as well. Below that tenth the doubt grows to a third of what is missing to it: "nothing" on a dial to 300 psi is 0 give or take 10
 * (judgment). */
static const double LOW_SCALE_1 = 0.1, LOW_SCALE_SD_1 = 0.33;

/* Pooled variance of repeats around their cylinder's mean, shrunk to the usual one by its degrees of freedom. */
static double repeat_sd_pa(const ch_sheet *sheet, const double mean_pa[], const size_t n[])
{
    double squares = 0.0, df = 0.0;
    for (size_t i = 0; i < sheet->compression_count; i++) {
        const ch_reading *row = &sheet->compression[i];
        const double off = row->reading.si - mean_pa[row->cylinder - 1];
        squares += off * off;
    }
    for (int c = 0; c < sheet->engine.cylinders; c++)
        df += n[c] > 1 ? (double)n[c] - 1.0 : 0.0;
    return sqrt((squares + USUAL_REPEAT_DF * USUAL_REPEAT_PA * USUAL_REPEAT_PA) / (df + USUAL_REPEAT_DF));
}

static void mean_add(measured_mean *mean, double value_pa)
{
    mean->mean_pa = (mean->mean_pa * (double)mean->n + value_pa) / (double)(mean->n + 1);
    mean->n++;
}

double measured_low_scale_sd_pa(double low_end_pa, double shown_pa)
{
    return LOW_SCALE_SD_1 * fmax(low_end_pa - shown_pa, 0.0);
}

double measured_low_end_pa(const ch_setup *setup)
{
    return LOW_SCALE_1 * setup->gauge_span_pa;
}

static void mean_doubt(measured_mean *mean, double repeat_pa, const ch_setup *setup)
{
    if (mean->n == 0)
        return;
    mean->step_pa = setup->gauge_resolution_pa;
    /* Six standard deviations of the doubt at the stop carry a needle to twice the lowest tenth: no reading above that comes of it. */
    const double low_end_pa = measured_low_end_pa(setup);
    mean->low_end_pa = mean->mean_pa < 2.0 * low_end_pa ? low_end_pa : 0.0;
    mean->on_its_stop = mean->mean_pa < 0.5 * mean->step_pa;
    mean->u_clear_pa = sqrt(repeat_pa * repeat_pa / (double)mean->n + mean->step_pa * mean->step_pa / 12.0);
    mean->u_pa = hypot(mean->u_clear_pa, measured_low_scale_sd_pa(mean->low_end_pa, mean->mean_pa));
}

static bool alike(const measured_leakdown *a, const measured_leakdown *b)
{
    return a->supply_gauge_pa == b->supply_gauge_pa && a->orifice_m == b->orifice_m;
}

/* A row by itself, or, where there are too many, in the mean with those taken likewise: what was heard at any of them was heard. */
static void leakdown_add(measured_cylinder *c, const measured_leakdown *row)
{
    if (c->leakdown_count < LEAKDOWN_ROWS_MAX) {
        c->leakdown[c->leakdown_count++] = *row;
        return;
    }
    measured_leakdown *to = &c->leakdown[0];
    for (measured_leakdown *other = to + 1; other < c->leakdown + LEAKDOWN_ROWS_MAX; other++)
        if (alike(other, row) != alike(to, row) ? alike(other, row) : other->rows < to->rows)
            to = other;
    if (row->losses > 0)
        to->loss_1 =
            to->losses > 0 ? (to->loss_1 * (double)to->losses + row->loss_1) / (double)(to->losses + 1) : row->loss_1;
    to->losses += row->losses;
    to->rows += row->rows;
    to->heard |= row->heard;
    to->heard_cylinders |= row->heard_cylinders;
    to->heard_stated = to->heard_stated || row->heard_stated;
}

void measured_from_sheet(const ch_sheet *sheet, const ch_setup *setup, measured *m)
{
    *m = (measured){.cylinders = sheet->engine.cylinders};
    for (size_t i = 0; i < sheet->compression_count; i++) {
        const ch_reading *row = &sheet->compression[i];
        measured_cylinder *c = &m->cylinder[row->cylinder - 1];
        mean_add(&c->dry, row->reading.si);
        if (sheet->compression_count > 1)
            c->turn_1 += ((double)i / (double)(sheet->compression_count - 1) - c->turn_1) / (double)c->dry.n;
        if (ch_quantity_given(&row->first_stroke))
            mean_add(&c->first, row->first_stroke.si);
        m->any_dry = true;
    }
    double dry_pa[CH_CYLINDERS_MAX];
    size_t dry_n[CH_CYLINDERS_MAX];
    for (int c = 0; c < m->cylinders; c++) {
        dry_pa[c] = m->cylinder[c].dry.mean_pa;
        dry_n[c] = m->cylinder[c].dry.n;
    }
    const double repeat_pa = repeat_sd_pa(sheet, dry_pa, dry_n);

    for (size_t i = 0; i < sheet->wet_count; i++) {
        const ch_reading *row = &sheet->wet[i];
        if (!ch_setup_holds_dose(setup, row))
            continue;
        measured_cylinder *c = &m->cylinder[row->cylinder - 1];
        if (ch_quantity_given(&row->oil))
            c->oil_m3 = ((double)c->wet.n * c->oil_m3 + row->oil.si) / (double)(c->wet.n + 1);
        mean_add(&c->wet, row->reading.si);
        m->any_wet = true;
    }
    for (size_t i = 0; i < sheet->leakdown_count; i++) {
        const ch_leakdown_row *row = &sheet->leakdown[i];
        const bool lost = ch_quantity_given(&row->loss);
        const measured_leakdown one = {
            .rows = 1,
            .losses = lost ? 1 : 0,
            .loss_1 = lost ? row->loss.si : NAN,
            .supply_gauge_pa = ch_quantity_given(&row->supply) ? row->supply.si : 80.0 * 6894.757293168361,
            .orifice_m =
                ch_quantity_given(&row->orifice) ? row->orifice.si : ch_leakdown_orifice_m(setup->cranking.bore.bore_m),
            .orifice_assumed = !ch_quantity_given(&row->orifice),
            .heard = row->heard & ~(unsigned)CH_HEARD_NOTHING,
            .heard_cylinders = row->heard_cylinders,
            .heard_stated = row->heard != 0 || row->heard_cylinders != 0,
        };
        leakdown_add(&m->cylinder[row->cylinder - 1], &one);
        m->any_leakdown = true;
        m->any_heard = m->any_heard || one.heard_stated;
    }
    for (int c = 0; c < m->cylinders; c++) {
        measured_cylinder *cylinder = &m->cylinder[c];
        mean_doubt(&cylinder->dry, repeat_pa, setup);
        /* The run may begin anywhere in the first stroke, so it scatters more. */
        mean_doubt(&cylinder->first, 2.0 * repeat_pa, setup);
        mean_doubt(&cylinder->wet, repeat_pa, setup);
        if (cylinder->wet.n == 0 || !(cylinder->oil_m3 > 0.0))
            cylinder->oil_m3 = NAN;
    }
    const double limit_pa =
        sheet->gauge.accuracy_kind == CH_ACCURACY_OF_SPAN      ? sheet->gauge.accuracy.si * setup->gauge_span_pa
        : sheet->gauge.accuracy_kind == CH_ACCURACY_OF_READING ? NAN
                                                               : CH_PRIOR_GAUGE_LIMIT_OF_SPAN * setup->gauge_span_pa;
    /* A limit of the whole span acts as gain at the usual reading, some 60 % up the scale. */
    m->u_gain_1 = isnan(limit_pa) ? ch_u_rectangular(sheet->gauge.accuracy.si)
                                  : ch_u_rectangular(limit_pa) / (0.6 * setup->gauge_span_pa);
    m->u_zero_pa = 0.5 * setup->gauge_resolution_pa;
}
