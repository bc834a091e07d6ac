/* How well the sound engine holds what makers print: the fit of its few free constants, checked on engines left out of it.
 *
 * usage: study_prior [TABLE]    (default: tests/data/engines/engines.csv of the source tree)
 *
 * Each engine becomes a sheet that gives geometry, valve timing and cranking speed and no more. Its figure is the median of the band that the
 * program would show of a sound cylinder. Free are the ring area per bore and the lift at which timing holds; both have a weak prior at what was
 * taken before any fit (0.4 mm2 at 84 mm, factor 1.65; 0.1 mm, factor 2). Loss: Student's t with 4 degrees of freedom and a scale of 10 %,
 * since books round and copy; "at least" rows count from one side only. Exits 0 where all figures of the committed constants are met, else 1. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "crosshatch/expected.h"
#include "crosshatch/prior.h"
#include "crosshatch/summary.h"
#include "engines.h"
#include "study_kit.h"

enum { LIFTS = 4, RINGS = 8 };
static const double LIFT_M[LIFTS] = {0.05e-3, 0.1e-3, 0.2e-3, 0.4e-3};
static const double RING_FIRST_M2 = 0.1e-6, RING_STEP = 1.4; /* at 84 mm bore: 0.1 .. 1.05 mm2 */

/* ln(reading/published) at the 5 %, 50 % and 95 % quantiles, by lift, ring area and engine. */
typedef struct prediction {
    double log_1[LIFTS][RINGS][ENGINES_MAX][3];
} prediction;

/* A pair of free constants. */
typedef struct constants {
    int lift;
    double ring_place; /* in steps of the ring grid */
} constants;

static double ring_m2(double place)
{
    return RING_FIRST_M2 * pow(RING_STEP, place);
}

static ch_status predict(const engines *all, int lift, prediction *p, ch_err *err)
{
    ch_emulator *emulator = malloc(sizeof *emulator);
    ch_status rc = emulator == NULL ? ch_fail(err, CH_E_MEMORY, NULL, "no memory") : CH_OK;
    for (int i = 0; rc >= 0 && i < all->count; i++) {
        const engine_row *row = &all->row[i];
        ch_setup setup;
        ch_doubts doubts;
        rc = ch_setup_from_sheet(&row->sheet, LIFT_M[lift], &setup, err);
        if (rc < 0)
            break;
        ch_doubts_from_setup(&setup, &doubts);
        rc = ch_emulator_build(&setup, row->cylinders, &doubts, NULL, NULL, emulator, err);
        for (int ring = 0; rc >= 0 && ring < RINGS; ring++) {
            /* The prior's ring area goes by the bore, and the bore is all that is asked of the setup here: scale it. */
            ch_setup scaled = setup;
            scaled.cranking.bore.bore_m *= ring_m2(ring) / 0.084 / CH_PRIOR_RING_M2_PER_M;
            double quantile_pa[3];
            rc = ch_expected_sound(emulator, &doubts, &scaled, engines_gauge_u_1(&setup, row->standard_pa), 1,
                                   CH_EXPECTED_DRAWS, quantile_pa, err);
            for (int q = 0; rc >= 0 && q < 3; q++)
                p->log_1[lift][ring][i][q] = log(quantile_pa[q] / row->standard_pa);
        }
    }
    free(emulator);
    return rc;
}

static double at(const prediction *p, constants c, int engine, int quantile)
{
    const int below = (int)fmin(c.ring_place, RINGS - 2);
    const double part = c.ring_place - below;
    return (1.0 - part) * p->log_1[c.lift][below][engine][quantile] +
           part * p->log_1[c.lift][below + 1][engine][quantile];
}

static double loss(const engines *all, const prediction *p, constants c, const bool use[])
{
    const double ring = log(ring_m2(c.ring_place) / 0.4e-6) / 0.5, lift = log(LIFT_M[c.lift] / 0.1e-3) / 0.7;
    double sum = 0.5 * (ring * ring + lift * lift);
    for (int i = 0; i < all->count; i++) {
        if (!use[i])
            continue;
        double error = at(p, c, i, 1) / 0.10;
        if (all->row[i].at_least)
            error = fmin(error, 0.0);
        sum += 2.5 * log1p(error * error / 4.0);
    }
    return sum;
}

static constants fit(const engines *all, const prediction *p, const bool use[])
{
    constants best = {0, 0.0};
    double least = INFINITY;
    for (int lift = 0; lift < LIFTS; lift++)
        for (int step = 0; step <= 20 * (RINGS - 1); step++) {
            const constants trial = {lift, step / 20.0};
            const double value = loss(all, p, trial, use);
            if (value < least) {
                least = value;
                best = trial;
            }
        }
    return best;
}

/* What a set of errors and bands comes to. */
typedef struct tally {
    double error[ENGINES_MAX], sourced_error[ENGINES_MAX], width[ENGINES_MAX];
    size_t n, sourced, inside;
} tally;

static void count_in(tally *t, const engine_row *row, const double log_1[3])
{
    if (row->at_least)
        return;
    t->error[t->n] = log_1[1];
    if (!row->low_confidence)
        t->sourced_error[t->sourced++] = log_1[1];
    t->width[t->n] = exp(log_1[2] - log_1[1]) - exp(log_1[0] - log_1[1]);
    t->n++;
    t->inside += log_1[0] <= 0.0 && log_1[2] >= 0.0;
}

static int show(tally *t, const char *title)
{
    printf("%s\n", title);
    ch_sort(t->width, t->n);
    const study_figure figures[] = {
        {"mean log error, its size", fabs(ch_mean(t->error, t->n)), -INFINITY, 0.04, t->n},
        {"scatter of the log error, all rows", ch_sd(t->error, t->n), -INFINITY, INFINITY, t->n},
        {"scatter, without rows mostly recalled from memory", ch_sd(t->sourced_error, t->sourced), -INFINITY, 0.11,
         t->sourced},
        {"published standard inside the 90 % band", (double)t->inside / (double)t->n, 0.80, 0.97, t->n},
        {"median width of the band over its middle", ch_quantile_sorted(t->width, t->n, 0.5), -INFINITY, 0.40, t->n},
    };
    int met = 1;
    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++)
        met &= study_figure_print(&figures[i]);
    return met;
}

static void leave_out(const engines *all, const prediction *p, int folds, const char *title)
{
    tally t = {.n = 0};
    for (int fold = 0; fold < folds; fold++) {
        bool use[ENGINES_MAX];
        for (int i = 0; i < all->count; i++)
            use[i] = i % folds != fold;
        const constants c = fit(all, p, use);
        for (int i = fold; i < all->count; i += folds) {
            const double log_1[3] = {at(p, c, i, 0), at(p, c, i, 1), at(p, c, i, 2)};
            count_in(&t, &all->row[i], log_1);
        }
    }
    (void)show(&t, title);
}

static int study(const engines *all, prediction *p)
{
    ch_err err = {0};
    int committed_lift = -1;
    for (int lift = 0; lift < LIFTS; lift++) {
        if (predict(all, lift, p, &err) < 0) {
            study_complain("prediction", &err);
            return 2;
        }
        if (fabs(LIFT_M[lift] / CH_PRIOR_UNSTATED_LIFT_M - 1.0) < 1e-9)
            committed_lift = lift;
    }
    if (committed_lift < 0) {
        fprintf(stderr, "the committed lift is not among those tried\n");
        return 2;
    }
    bool every[ENGINES_MAX];
    for (int i = 0; i < ENGINES_MAX; i++)
        every[i] = true;
    printf("loss by lift (down) and ring area at 84 mm bore (across)\n      mm");
    for (int ring = 0; ring < RINGS; ring++)
        printf("  %5.2f", ring_m2(ring) * 1e6);
    for (int lift = 0; lift < LIFTS; lift++) {
        printf("\n    %4.2f", LIFT_M[lift] * 1e3);
        for (int ring = 0; ring < RINGS; ring++)
            printf("  %5.2f", loss(all, p, (constants){lift, ring}, every));
    }
    const constants best = fit(all, p, every);
    printf("\nfitted: lift %.2f mm, ring area %.2f mm2 at 84 mm bore; committed: %.2f mm, %.2f mm2\n\n",
           LIFT_M[best.lift] * 1e3, ring_m2(best.ring_place) * 1e6, CH_PRIOR_UNSTATED_LIFT_M * 1e3,
           CH_PRIOR_RING_M2_PER_M * 0.084e6);

    const constants committed = {committed_lift, log(CH_PRIOR_RING_M2_PER_M * 0.084 / RING_FIRST_M2) / log(RING_STEP)};
    tally t = {.n = 0};
    printf("engine       published kPa       band kPa   median  ln(median/published)\n");
    for (int i = 0; i < all->count; i++) {
        const engine_row *row = &all->row[i];
        const double log_1[3] = {at(p, committed, i, 0), at(p, committed, i, 1), at(p, committed, i, 2)};
        const double kpa = row->standard_pa / 1e3;
        printf("%-12s %s%4.0f %11s %5.0f .. %4.0f    %5.0f  %+.3f%s\n", row->id, row->at_least ? ">= " : "   ", kpa, "",
               kpa * exp(log_1[0]), kpa * exp(log_1[2]), kpa * exp(log_1[1]), log_1[1],
               row->at_least                        ? ""
               : log_1[0] <= 0.0 && log_1[2] >= 0.0 ? ""
                                                    : "  outside");
        count_in(&t, row, log_1);
    }
    leave_out(all, p, all->count, "\neach engine by a fit to the others");
    leave_out(all, p, 2, "\neach half by a fit to the other half");
    return show(&t, "\nwith the committed constants") ? 0 : 1;
}

int main(int argc, char **argv)
{
    char path[1024];
    const char *root = getenv("CROSSHATCH_SOURCE");
    snprintf(path, sizeof path, "%s/tests/data/engines/engines.csv", root == NULL ? "." : root);
    engines *all = engines_read(argc > 1 ? argv[1] : path);
    prediction *p = calloc(1, sizeof *p);
    const int status = all == NULL || p == NULL ? 2 : study(all, p);
    free(p);
    engines_free(all);
    return status;
}
