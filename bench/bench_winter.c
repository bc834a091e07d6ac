/*
 * How fast a winter plan is chosen, against plain GLPK and CBC on the same program, in one run on one machine, one core.
 *
 * Invented plans of five sizes, REPEATS of each, the harder kind and the easier in turn; medians and worst of the clock. GLPK and CBC are given SECONDS_MOST a plan; where they need more, that is
 * what is counted, so that their figures and the ratios are "at least". Where they end, their optimum must be ours.
 *
 * Wanted: 60 jobs and 40 steps to proven optimum in under 1 s, 200 jobs and 80 steps within 10 s or with the gap stated. Exits 1 on a miss.
 */
#include <coin/Cbc_C_Interface.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "random_program.h"
#include "with_glpk.h"

enum { SIZES = 5, REPEATS = 5, SECONDS_MOST = 15 };

typedef struct size {
    size_t jobs, steps;
    double wanted_s;
} size;

static const size SIZE[SIZES] = {{20, 13, 1.0}, {40, 27, 1.0}, {60, 40, 1.0}, {120, 60, 10.0}, {200, 80, 10.0}};

static double now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void cbc_row(Cbc_Model *model, int a, double x, int b, double y, double most)
{
    const int place[2] = {a, b};
    const double value[2] = {x, y};
    Cbc_addRow(model, "", 2, place, value, 'L', most);
}

static double cbc_optimum(const ch_selection *task)
{
    Cbc_Model *model = Cbc_newModel();
    int place[ITEMS_MAX];
    double money[ITEMS_MAX], work[ITEMS_MAX];
    Cbc_setLogLevel(model, 0);
    for (size_t i = 0; i < task->count; i++) {
        Cbc_addCol(model, "", 0.0, 1.0, (double)task->gain[i], 1, 0, NULL, NULL);
        place[i] = (int)i;
        money[i] = (double)task->money[i];
        work[i] = (double)task->work[i];
    }
    if (task->money_limit < INT64_MAX)
        Cbc_addRow(model, "", (int)task->count, place, money, 'L', (double)task->money_limit);
    if (task->work_limit < INT64_MAX)
        Cbc_addRow(model, "", (int)task->count, place, work, 'L', (double)task->work_limit);
    for (size_t k = 0; k < task->implies_count; k++)
        if (task->implies[k].item != task->implies[k].other)
            cbc_row(model, (int)task->implies[k].item, 1.0, (int)task->implies[k].other, -1.0, 0.0);
    for (size_t k = 0; k < task->excludes_count; k++)
        cbc_row(model, (int)task->excludes[k].item, 1.0, (int)task->excludes[k].other, 1.0, 1.0);
    Cbc_setObjSense(model, -1.0);
    Cbc_setMaximumSeconds(model, SECONDS_MOST);
    Cbc_setAllowableGap(model, 0.0);
    Cbc_solve(model);
    const double optimum = Cbc_isProvenOptimal(model) ? Cbc_getObjValue(model) : NAN;
    Cbc_deleteModel(model);
    return optimum;
}

/* A line of the common form (rows.py), where it is asked for. */
__attribute__((format(printf, 1, 2))) static void put_row(const char *format, ...)
{
    const char *path = getenv("CROSSHATCH_ROWS");
    FILE *const file = path != NULL ? fopen(path, "a") : NULL;
    if (file == NULL)
        return;
    va_list arguments;
    va_start(arguments, format);
    vfprintf(file, format, arguments);
    va_end(arguments);
    fputc('\n', file);
    fclose(file);
}

static void put_size(const size *of, double own_s, double other_s, const char *other, bool missed)
{
    put_row("{\"kind\": \"compare\", \"area\": \"winter\", \"what\": \"%zu jobs, %zu steps\", \"ours\": %.9g, "
            "\"other\": %.9g, "
            "\"other_name\": \"%s\", \"unit\": \"s\", \"ratio\": %.9g, \"wanted\": \"ours under %g s\", \"met\": %s}",
            of->jobs, of->steps, own_s, other_s, other, other_s / own_s, of->wanted_s, missed ? "false" : "true");
}

static int compare(const void *left, const void *right)
{
    const double a = *(const double *)left, b = *(const double *)right;
    return a < b ? -1 : a > b;
}

typedef struct figures {
    double own_s[REPEATS], glpk_s[REPEATS], cbc_s[REPEATS];
    int glpk_ended, cbc_ended, different, unproven;
} figures;

static void measure(program *p, int n, figures *f)
{
    bool chosen[ITEMS_MAX];
    ch_selected selected;
    double began = now_s();
    if (ch_select(&p->task, chosen, &selected, NULL) < 0 || !selected.proven)
        f->unproven++;
    f->own_s[n] = now_s() - began;
    began = now_s();
    const double by_glpk = glpk_optimum(&p->task, SECONDS_MOST);
    f->glpk_s[n] = now_s() - began;
    began = now_s();
    const double by_cbc = cbc_optimum(&p->task);
    f->cbc_s[n] = now_s() - began;
    f->glpk_ended += isfinite(by_glpk);
    f->cbc_ended += isfinite(by_cbc);
    /* the outside optimum must be ours, or, where ours is not proven, lie within the gap */
    const double low = (double)selected.gain - 1e-3, high = (double)selected.gain_at_most + 1e-3;
    f->different += (isfinite(by_glpk) && !(by_glpk >= low && by_glpk <= high)) ||
                    (isfinite(by_cbc) && !(by_cbc >= low && by_cbc <= high));
}

int main(void)
{
    static program p;
    bool missed = false;
    double median_s[SIZES], x[SIZES], y[SIZES], mean_x = 0.0, mean_y = 0.0, above = 0.0, below = 0.0;
    printf("Choosing the jobs of a winter plan: milliseconds, median (worst) of %d plans a size, one core\n", REPEATS);
    printf("  jobs steps        ours          GLPK (ended)          CBC (ended)    GLPK/ours  CBC/ours\n");
    for (int k = 0; k < SIZES; k++) {
        figures f = {0};
        for (int n = 0; n < REPEATS; n++) {
            ch_stream stream;
            ch_stream_init(&stream, 1000, (uint64_t)k * REPEATS + (uint64_t)n);
            make_program(&p, &stream, SIZE[k].jobs, SIZE[k].steps, n % 2 == 0 ? PROGRAM_TIGHT : PROGRAM_MIXED, false);
            measure(&p, n, &f);
        }
        qsort(f.own_s, REPEATS, sizeof f.own_s[0], compare);
        qsort(f.glpk_s, REPEATS, sizeof f.glpk_s[0], compare);
        qsort(f.cbc_s, REPEATS, sizeof f.cbc_s[0], compare);
        const double own = f.own_s[REPEATS / 2], glpk = f.glpk_s[REPEATS / 2], cbc = f.cbc_s[REPEATS / 2];
        printf("  %4zu %5zu %8.2f (%7.2f) %9.1f (%d of %d) %9.1f (%d of %d) %9.0f %9.0f\n", SIZE[k].jobs, SIZE[k].steps,
               1e3 * own, 1e3 * f.own_s[REPEATS - 1], 1e3 * glpk, f.glpk_ended, REPEATS, 1e3 * cbc, f.cbc_ended,
               REPEATS, glpk / own, cbc / own);
        fflush(stdout);
        if (f.unproven > 0)
            printf("  of these %d ended with a gap stated instead of a proof\n", f.unproven);
        if (f.own_s[REPEATS - 1] > SIZE[k].wanted_s || f.different > 0 || (f.unproven > 0 && SIZE[k].jobs <= 60)) {
            printf("  missed: wanted at most %g s and the optimum; %d other than an outside optimum\n",
                   SIZE[k].wanted_s, f.different);
            missed = true;
        }
        char other[64];
        snprintf(other, sizeof other, "GLPK%s (%d of %d ended)", f.glpk_ended < REPEATS ? ", at least" : "",
                 f.glpk_ended, REPEATS);
        put_size(&SIZE[k], own, glpk, other, missed);
        snprintf(other, sizeof other, "CBC%s (%d of %d ended)", f.cbc_ended < REPEATS ? ", at least" : "", f.cbc_ended,
                 REPEATS);
        put_size(&SIZE[k], own, cbc, other, missed);
        median_s[k] = own;
        x[k] = log((double)(SIZE[k].jobs + SIZE[k].steps));
        y[k] = log(own);
        mean_x += x[k] / SIZES;
        mean_y += y[k] / SIZES;
    }
    for (int k = 0; k < SIZES; k++) {
        above += (x[k] - mean_x) * (y[k] - mean_y);
        below += (x[k] - mean_x) * (x[k] - mean_x);
    }
    put_row("{\"kind\": \"growth\", \"area\": \"winter\", \"what\": \"jobs and steps\", \"sizes\": [%zu, %zu, %zu, "
            "%zu, %zu], "
            "\"figures\": [%.6g, %.6g, %.6g, %.6g, %.6g], \"unit\": \"s\", \"exponent\": %.4f}",
            SIZE[0].jobs + SIZE[0].steps, SIZE[1].jobs + SIZE[1].steps, SIZE[2].jobs + SIZE[2].steps,
            SIZE[3].jobs + SIZE[3].steps, SIZE[4].jobs + SIZE[4].steps, median_s[0], median_s[1], median_s[2],
            median_s[3], median_s[4], above / below);
    printf("  ours grows as (jobs + steps)^%.1f over these sizes\n", above / below);
    glp_free_env();
    return missed ? 1 : 0;
}
