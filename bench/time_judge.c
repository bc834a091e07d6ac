/*
 * Times the judging and tracing of made-up sheets and prints, as JSON, the least processor seconds of some runs: by cylinders, by repeats, and what the
 * emulator's cranking runs alone take of it, which no tracing can do without. Run by bench_judge.py.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "crosshatch/emulator.h"
#include "crosshatch/judge.h"
#include "crosshatch/prior.h"

enum { RUNS = 3, SHEET_MAXIMUM = 256 * 1024 };

static ch_knowledge knowledge;

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

static bool good(ch_status rc, const ch_err *err)
{
    if (rc < 0)
        fprintf(stderr, "%s: %s\n", err->what, err->right);
    return rc >= 0;
}

/* A sheet of so many cylinders, so many readings each; invented. */
static bool make_sheet(int cylinders, int repeats, ch_sheet *sheet)
{
    char *const text = malloc(SHEET_MAXIMUM);
    if (text == NULL)
        return false;
    int used =
        snprintf(text, SHEET_MAXIMUM,
                 "{sheet: 1, units: {pressure: psi}, engine: {cylinders: %d, compression_ratio: 9.5}, compression: [",
                 cylinders);
    for (int k = 0; k < repeats; k++)
        for (int c = 1; c <= cylinders; c++)
            used += snprintf(text + used, SHEET_MAXIMUM - (size_t)used, "%s{cylinder: %d, reading: %d}",
                             k + c > 1 ? ", " : "", c, c == 1 ? 130 + k % 3 : 170 + (c * 7 + k * 3) % 5);
    used += snprintf(text + used, SHEET_MAXIMUM - (size_t)used, "]}");
    ch_err err = {0};
    const bool made = good(ch_sheet_parse("made.yaml", text, (size_t)used, sheet, &err), &err);
    free(text);
    return made;
}

static double judge_s(int cylinders, int repeats)
{
    static ch_judgement judgement;
    const ch_judge_options options = {.seed = 1, .rule = CH_RULE_75_PERCENT};
    double least_s = INFINITY;
    ch_sheet sheet;
    if (!make_sheet(cylinders, repeats, &sheet))
        return NAN;
    for (int i = 0; i < RUNS; i++) {
        ch_err err = {0};
        const double began_s = now_s();
        if (!good(ch_judge(&sheet, &knowledge, &options, &judgement, &err), &err))
            return NAN;
        least_s = fmin(least_s, now_s() - began_s);
    }
    ch_sheet_clear(&sheet);
    return least_s;
}

static double emulator_s(int cylinders)
{
    static ch_emulator emulator;
    double least_s = INFINITY;
    ch_sheet sheet;
    ch_setup setup;
    ch_doubts doubts;
    ch_err err = {0};
    if (!make_sheet(cylinders, 1, &sheet) ||
        !good(ch_setup_from_sheet(&sheet, CH_PRIOR_UNSTATED_LIFT_M, &setup, &err), &err))
        return NAN;
    ch_doubts_from_setup(&setup, &doubts);
    for (int i = 0; i < RUNS; i++) {
        const double began_s = now_s();
        if (!good(ch_emulator_build(&setup, cylinders, &doubts, NULL, NULL, &emulator, &err), &err))
            return NAN;
        least_s = fmin(least_s, now_s() - began_s);
    }
    ch_sheet_clear(&sheet);
    return least_s;
}

static void print_sizes(const char *name, const int sizes[], size_t n, double (*run)(int))
{
    printf("\"%s\": {\"sizes\": [", name);
    for (size_t i = 0; i < n; i++)
        printf("%s%d", i > 0 ? ", " : "", sizes[i]);
    printf("], \"seconds\": [");
    for (size_t i = 0; i < n; i++)
        printf("%s%.6f", i > 0 ? ", " : "", run(sizes[i]));
    printf("]}");
}

static double by_cylinders(int n)
{
    return judge_s(n, 1);
}

static double by_repeats(int n)
{
    return judge_s(4, n);
}

int main(void)
{
    static const int sizes[] = {1, 2, 4, 8, 16};
    ch_err err = {0};
    if (!good(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), &err), &err))
        return 1;
    printf("{\"emulator\": %.6f, ", emulator_s(4));
    print_sizes("cylinders", sizes, 5, by_cylinders);
    printf(", ");
    print_sizes("repeats", sizes, 5, by_repeats);
    printf("}\n");
    ch_knowledge_clear(&knowledge);
    return 0;
}
