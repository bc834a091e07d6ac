/*
 * One hot path, run once, for counting its instructions under Valgrind (instructions.py): `hot_paths NAME`. Each path is a function hot_NAME that is never inlined; what
 * leads up to it is not counted. Exits 1 where the path does not give its answer.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/drivelog.h"
#include "crosshatch/emulator.h"
#include "crosshatch/judge.h"
#include "crosshatch/prior.h"
#include "crosshatch/trace.h"

enum { LOG_ROWS = 4000, LOG_MAXIMUM = 512 * 1024, TRACE_SAMPLES = 100 };

#define HOT __attribute__((noinline)) ch_status

static const char sheet_text[] = "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4, compression_ratio: 9.5}, "
                                 "compression: [{cylinder: 1, reading: 176}, "
                                 "{cylinder: 2, reading: 171}, {cylinder: 3, reading: 98}, {cylinder: 4, reading: "
                                 "174}], leakdown: [{cylinder: 3, loss: 60 %, "
                                 "heard: exhaust}], observed: [{what: popping_exhaust}]}";

static ch_knowledge knowledge;
static ch_sheet sheet;
static ch_setup setup;
static ch_doubts doubts;
static ch_emulator emulator;
static ch_trace trace;
static ch_judgement judgement;
static char log_text[LOG_MAXIMUM];
static size_t log_length;

HOT hot_cranking(ch_err *err);
HOT hot_emulator(ch_err *err);
HOT hot_weigh(ch_err *err);
HOT hot_log(ch_err *err);
HOT hot_judge(ch_err *err);

/* Eight strokes of one cylinder, as `predict` runs them. */
HOT hot_cranking(ch_err *err)
{
    double gauge_pa[CH_STROKES_MAX];
    ch_cranking one = setup.cranking;
    one.strokes = 8;
    return ch_cranking_run(&one, CH_CRANKING_TOLERANCE, gauge_pa, NULL, NULL, NULL, err);
}

/* The emulator of an engine: the cranking runs that tracing rests on. */
HOT hot_emulator(ch_err *err)
{
    return ch_emulator_build(&setup, sheet.engine.cylinders, &doubts, NULL, NULL, &emulator, err);
}

/* The tracing, few samples: mostly weighing what each cause would have shown. */
HOT hot_weigh(ch_err *err)
{
    const ch_trace_options options = {.seed = 1, .samples = TRACE_SAMPLES};
    return ch_trace_run(&sheet, &setup, &knowledge, &options, &trace, err);
}

static ch_status take(const ch_drivelog_rows *rows, void *context, ch_err *err)
{
    (void)err;
    *(size_t *)context += rows->n;
    return CH_OK;
}

/* A log of four thousand rows, read. */
HOT hot_log(ch_err *err)
{
    ch_drivelog *log = NULL;
    size_t rows = 0;
    ch_status rc = ch_drivelog_open(NULL, take, &rows, &log, err);
    if (rc >= 0)
        rc = ch_drivelog_feed(log, log_text, log_length, err);
    if (rc >= 0)
        rc = ch_drivelog_finish(log, err);
    ch_drivelog_close(log);
    return rc >= 0 && rows != LOG_ROWS ? CH_E_RANGE : rc;
}

/* What is said at once of the entries of a sheet. */
HOT hot_judge(ch_err *err)
{
    const ch_judge_options options = {.seed = 1, .rule = CH_RULE_75_PERCENT};
    return ch_judge_at_once(&sheet, &options, &judgement, err);
}

static void write_log(void)
{
    log_length = (size_t)snprintf(log_text, sizeof log_text,
                                  "Time (s),Engine speed (rpm),Vehicle speed (km/h),Throttle (%%),Coolant (C)\n");
    for (int i = 0; i < LOG_ROWS; i++)
        log_length += (size_t)snprintf(log_text + log_length, sizeof log_text - log_length,
                                       "%d.%02d,%d.%d,%d.%02d,%d.0,%d.5\n", i / 100, i % 100, 2000 + (i * 7) % 3000,
                                       i % 10, 60 + (i / 40) % 60, i % 100, i % 100, 80 + i % 10);
}

static ch_status prepare(ch_err *err)
{
    ch_status rc = ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), err);
    if (rc >= 0)
        rc = ch_sheet_parse("hot.yaml", sheet_text, strlen(sheet_text), &sheet, err);
    if (rc >= 0)
        rc = ch_setup_from_sheet(&sheet, CH_PRIOR_UNSTATED_LIFT_M, &setup, err);
    if (rc >= 0)
        ch_doubts_from_setup(&setup, &doubts);
    write_log();
    return rc;
}

int main(int argc, char **argv)
{
    static const struct {
        const char *name;
        ch_status (*run)(ch_err *err);
    } paths[] = {{"cranking", hot_cranking},
                 {"emulator", hot_emulator},
                 {"weigh", hot_weigh},
                 {"log", hot_log},
                 {"judge", hot_judge}};
    ch_err err = {0};
    for (size_t i = 0; argc == 2 && i < sizeof paths / sizeof paths[0]; i++)
        if (strcmp(argv[1], paths[i].name) == 0) {
            if (prepare(&err) >= 0 && paths[i].run(&err) >= 0) {
                ch_sheet_clear(&sheet);
                ch_knowledge_clear(&knowledge);
                return 0;
            }
            fprintf(stderr, "%s: %s\n", err.what, err.right);
            return 1;
        }
    fprintf(stderr, "usage: hot_paths cranking|emulator|weigh|log|judge\n");
    return 2;
}
