/* CPU time of the cranking run of a sheet's first cylinder by ours, by SUNDIALS' CVODE and by a plain fixed-step Runge-Kutta of order four,
 * each at the loosest setting that keeps the final reading within 0.05 % of a run at 1e-10, it and every tighter one tried; ours also at the
 * tolerance it ships with.
 *
 * usage: time_cranking SHEET
 *
 * Prints JSON for bench_cranking.py, which sets it beside LSODA. Times are medians of CPU time, in seconds. */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "cranking_cvode.h"
#include "cranking_model.h"
#include "crosshatch/setup.h"
#include "study_kit.h"

#define PI 3.14159265358979323846

static const double ALLOWED_1 = 5e-4;
static const double SLOPE_1 = 1e-4; /* of the nozzle law, as in our run */

/* One way to run, at one setting. final_pa (out). false where it gave up. */
typedef bool runner(const ch_cranking *c, double setting, double *final_pa, long *evaluations);

static bool ours(const ch_cranking *c, double tolerance_1, double *final_pa, long *evaluations)
{
    double gauge_pa[CH_STROKES_MAX];
    ch_cranking_account account;
    if (ch_cranking_run(c, tolerance_1, gauge_pa, &account, NULL, NULL, NULL) < 0)
        return false;
    *final_pa = gauge_pa[c->strokes - 1];
    *evaluations = account.evaluations;
    return true;
}

static bool cvode(const ch_cranking *c, double tolerance_1, double *final_pa, long *evaluations)
{
    double gauge_pa[CH_STROKES_MAX];
    if (cranking_cvode_run(c, tolerance_1, SLOPE_1, gauge_pa, evaluations) < 0)
        return false;
    *final_pa = gauge_pa[c->strokes - 1];
    return true;
}

/* The plain way: equal steps of at most `step_rad` from kink to kink. */
static bool fixed_step(const ch_cranking *c, double step_rad, double *final_pa, long *evaluations)
{
    cranking_constants constants;
    cranking_constants_set(c, SLOPE_1, &constants);
    double breaks_rad[CRANKING_BREAKS_MAX];
    const int count = cranking_breaks(c, breaks_rad);
    const double end = PI + 4.0 * PI * (c->strokes - 1);
    double x = -PI, y[CRANKING_STATES];
    y[CRANKING_TEMP] = c->air_k;
    y[CRANKING_GAUGE] = c->ambient_pa;
    y[CRANKING_MASS] = cranking_mass_kg(&constants, x, c->ambient_pa, c->air_k);
    *evaluations = 0;
    for (int cycle = -1; cycle < c->strokes; cycle++)
        for (int b = 0; b < count; b++) {
            const double to = 4.0 * PI * cycle + breaks_rad[b];
            if (to <= x + 1e-9 || to > end + 1e-9)
                continue;
            const double middle = 0.5 * (x + to);
            const cranking_open open = {.intake = ch_valve_area_m2(&c->intake, middle) > 0.0,
                                        .exhaust = ch_valve_area_m2(&c->exhaust, middle) > 0.0};
            const int steps = (int)ceil((to - x) / step_rad);
            const double h = (to - x) / steps;
            for (int s = 0; s < steps; s++) {
                static const double PART[4] = {0.0, 0.5, 0.5, 1.0}, WEIGHT[4] = {1.0 / 6, 1.0 / 3, 1.0 / 3, 1.0 / 6};
                double at[CRANKING_STATES], sum[CRANKING_STATES] = {0.0};
                cranking_rates rates = {.state = {0.0}};
                for (int stage = 0; stage < 4; stage++) {
                    for (int i = 0; i < CRANKING_STATES; i++)
                        at[i] = y[i] + PART[stage] * h / c->speed_rad_s * rates.state[i];
                    ++*evaluations;
                    if (!cranking_free(&constants, open, x + (s + PART[stage]) * h, at, &rates))
                        return false;
                    for (int i = 0; i < CRANKING_STATES; i++)
                        sum[i] += WEIGHT[stage] * rates.state[i];
                }
                for (int i = 0; i < CRANKING_STATES; i++)
                    y[i] += h / c->speed_rad_s * sum[i];
            }
            x = to;
        }
    *final_pa = y[CRANKING_GAUGE] - c->ambient_pa;
    return true;
}

static double cpu_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Median CPU time of one run. */
static double median_s(runner *run, const ch_cranking *c, double setting)
{
    enum { REPEATS = 51 };
    double took[REPEATS], final_pa;
    long evaluations;
    for (int i = 0; i < REPEATS; i++) {
        const double began = cpu_s();
        run(c, setting, &final_pa, &evaluations);
        took[i] = cpu_s() - began;
    }
    qsort(took, REPEATS, sizeof *took, by_size);
    return took[REPEATS / 2];
}

static void print_row(const char *name, runner *run, const ch_cranking *c, double setting, double reference_pa,
                      const char *end)
{
    double final_pa = NAN;
    long evaluations = 0;
    run(c, setting, &final_pa, &evaluations);
    printf("  {\"solver\": \"%s\", \"setting\": %.3g, \"seconds\": %.4g, \"evaluations\": %ld, \"relative_error\": "
           "%.3g}%s\n",
           name, setting, median_s(run, c, setting), evaluations, final_pa / reference_pa - 1.0, end);
}

/* Loosest setting, going down from `loosest` by sqrt(10) or 2, from which on every one is good; 0 where the last is not. */
static double loosest_good(runner *run, const ch_cranking *c, double loosest, double factor, int rungs,
                           double reference_pa)
{
    double found = 0.0, setting = loosest;
    for (int i = 0; i < rungs; i++, setting /= factor) {
        double final_pa;
        long evaluations;
        const bool good = run(c, setting, &final_pa, &evaluations) && fabs(final_pa / reference_pa - 1.0) <= ALLOWED_1;
        if (!good)
            found = 0.0;
        else if (found == 0.0)
            found = setting;
    }
    return found;
}

int main(int argc, char **argv)
{
    if (argc != 2) {
        fprintf(stderr, "usage: time_cranking SHEET\n");
        return 2;
    }
    size_t length;
    char *const text = study_read(argv[1], &length);
    if (text == NULL)
        return 4;
    ch_sheet sheet;
    ch_setup setup;
    ch_err err = {0};
    ch_status rc = ch_sheet_parse(argv[1], text, length, &sheet, &err);
    free(text);
    if (rc >= 0) {
        rc = ch_setup_from_sheet(&sheet, CH_SEAT_LIFT_M, &setup, &err);
        if (rc >= 0)
            setup.cranking.leaks = ch_setup_leaks(&sheet, &setup, 1);
        ch_sheet_clear(&sheet);
    }
    if (rc < 0) {
        study_complain(argv[1], &err);
        return 3;
    }
    const ch_cranking c = setup.cranking;

    double reference_pa;
    long evaluations;
    if (!cvode(&c, 1e-10, &reference_pa, &evaluations)) {
        fprintf(stderr, "CVODE gave up on the reference run\n");
        return 1;
    }
    const double ours_1 = loosest_good(ours, &c, 1e-2, sqrt(10.0), 15, reference_pa);
    const double cvode_1 = loosest_good(cvode, &c, 1e-2, sqrt(10.0), 15, reference_pa);
    const double step_rad = loosest_good(fixed_step, &c, 0.02, 2.0, 9, reference_pa);
    if (!(ours_1 > 0.0 && cvode_1 > 0.0 && step_rad > 0.0)) {
        fprintf(stderr, "no setting reached 0.05 %%\n");
        return 1;
    }
    printf("{\"strokes\": %d, \"reference_kPa\": %.6f, \"rows\": [\n", c.strokes, reference_pa * 1e-3);
    print_row("ours", ours, &c, ours_1, reference_pa, ",");
    print_row("ours, as shipped", ours, &c, CH_CRANKING_TOLERANCE, reference_pa, ",");
    print_row("CVODE (BDF, dense)", cvode, &c, cvode_1, reference_pa, ",");
    print_row("Runge-Kutta 4, fixed step", fixed_step, &c, step_rad, reference_pa, "");
    printf("]}\n");
    return 0;
}
