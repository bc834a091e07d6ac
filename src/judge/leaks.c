/* What leak-down rows come to by the trade's limits, as the usual orifice would show them: a percent of another orifice is another hole. */
#include <math.h>
#include <stdlib.h>

#include "crosshatch/leakdown.h"
#include "judge_parts.h"

/* FAA AC 43.13-1B Change 1, 8-14, and makers' manuals: at least 60 of 80 psi held. From LEAST_1 on, MORE_1 above the other cylinders tells more than the
 * level (common practice). Below HEARD_1 a hiss at a valve is as likely grit on its seat (judgment). */
static const double LIMIT_1 = 0.25, LEAST_1 = 0.15, MORE_1 = 0.08, HEARD_1 = 0.10;
static const double APART_1 = 0.10;
static const double SHOWN_1 = 0.005;   /* half of the whole percent that is told */
static const double ROUNDING_1 = 1e-9; /* 22 % are 8 points more than 14 %, also in binary */

double judge_usual_loss_1(const ch_leakdown_row *row)
{
    if (!ch_quantity_given(&row->orifice))
        return row->loss.si;
    ch_leakdown_tester tester = {.supply_gauge_pa =
                                     ch_quantity_given(&row->supply) ? row->supply.si : 80.0 * 6894.757293168361,
                                 .orifice_area_m2 = ch_leakdown_orifice_area_m2(row->orifice.si, 1.0),
                                 .ambient_pa = 101325.0,
                                 .air_k = 293.15,
                                 .cylinder_k = 293.15};
    double area_m2, loss_1;
    if (ch_leakdown_area_m2(&tester, row->loss.si, &area_m2, NULL) < 0)
        return row->loss.si; /* nothing held at all is the same with any orifice */
    tester.orifice_area_m2 = ch_leakdown_orifice_area_m2(ch_leakdown_orifice_m(0.0), 1.0);
    return ch_leakdown_loss_1(&tester, area_m2, &loss_1, NULL) < 0 ? row->loss.si : loss_1;
}

bool judge_losses_apart(double least_1, double most_1)
{
    return most_1 - least_1 >= APART_1 - ROUNDING_1;
}

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Middle of the other cylinders' losses, and how many there are; NaN where there is none. */
static double others_1(const judge_leak leak[CH_CYLINDERS_MAX], int cylinders, int own, int *others)
{
    double sorted[CH_CYLINDERS_MAX];
    size_t n = 0;
    for (int c = 0; c < cylinders; c++)
        if (c != own && !isnan(leak[c].loss_1))
            sorted[n++] = leak[c].loss_1;
    *others = (int)n;
    if (n == 0)
        return NAN;
    qsort(sorted, n, sizeof *sorted, by_size);
    return 0.5 * (sorted[(n - 1) / 2] + sorted[n / 2]);
}

void judge_leaks(const ch_sheet *sheet, judge_leak leak[CH_CYLINDERS_MAX])
{
    const unsigned telling = CH_HEARD_INTAKE | CH_HEARD_EXHAUST | CH_HEARD_COOLANT;
    const int cylinders = sheet->engine.cylinders;
    for (int c = 0; c < CH_CYLINDERS_MAX; c++)
        leak[c] = (judge_leak){.loss_1 = NAN, .least_1 = NAN, .most_1 = NAN, .others_1 = NAN};
    for (size_t i = 0; i < sheet->leakdown_count; i++) {
        const ch_leakdown_row *row = &sheet->leakdown[i];
        judge_leak *one = &leak[row->cylinder - 1];
        one->heard |= row->heard & telling;
        one->heard_cylinders |= row->heard_cylinders;
        if (!ch_quantity_given(&row->loss))
            continue;
        const double so_far = one->rows++ > 0 ? one->loss_1 : 0.0, usual_1 = judge_usual_loss_1(row);
        one->loss_1 = so_far + (usual_1 - so_far) / one->rows;
        one->least_1 = fmin(one->least_1, usual_1);
        one->most_1 = fmax(one->most_1, usual_1);
        if (one->converted == NULL && fabs(usual_1 - row->loss.si) >= SHOWN_1)
            one->converted = row;
    }
    for (int c = 0; c < cylinders; c++) {
        judge_leak *one = &leak[c];
        one->others_1 = others_1(leak, cylinders, c, &one->others);
        one->over_limit = one->loss_1 > LIMIT_1 + ROUNDING_1;
        one->over_others = one->loss_1 >= LEAST_1 - ROUNDING_1 && one->loss_1 >= one->others_1 + MORE_1 - ROUNDING_1;
        one->by_path = (one->heard != 0 || one->heard_cylinders != 0) && !(one->loss_1 < HEARD_1 - ROUNDING_1);
    }
}
