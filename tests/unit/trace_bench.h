/* An engine on the bench for tests of the tracing's pieces: give load and unload to cmocka_run_group_tests(). Included once a program. */
#ifndef CROSSHATCH_TESTS_TRACE_BENCH_H
#define CROSSHATCH_TESTS_TRACE_BENCH_H

#include "../../src/trace/parts.h"
#include "crosshatch/prior.h"

static ch_knowledge knowledge;

/* An engine of two cylinders with nothing stated, everything the frame needs, and readings that tests put in as they like. */
static struct bench {
    ch_sheet sheet;
    ch_setup setup;
    ch_doubts doubts;
    measured measured;
    seen seen;
    wrong wrong;
    ch_emulator dry, wet;
    weigh_frame frame;
} bench;

static const double OIL_M3 = 8e-6;

static int load(void **state)
{
    (void)state;
    if (ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL) < 0)
        return -1;
    ch_sheet_init(&bench.sheet);
    bench.sheet.engine.cylinders = 2;
    const ch_oil oil = {.retained_m3 = 0.65 * OIL_M3};
    if (ch_setup_from_sheet(&bench.sheet, CH_PRIOR_UNSTATED_LIFT_M, &bench.setup, NULL) < 0)
        return -1;
    ch_doubts_from_setup(&bench.setup, &bench.doubts);
    if (ch_emulator_build(&bench.setup, 2, &bench.doubts, NULL, NULL, &bench.dry, NULL) < 0 ||
        ch_emulator_build(&bench.setup, 2, &bench.doubts, &oil, NULL, &bench.wet, NULL) < 0 ||
        seen_from_sheet(&bench.sheet, &knowledge, &bench.seen, NULL) < 0)
        return -1;
    wrong_from_knowledge(&bench.sheet, &knowledge, &bench.seen, &bench.wrong);
    bench.frame = (weigh_frame){.setup = &bench.setup,
                                .knowledge = &knowledge,
                                .measured = &bench.measured,
                                .seen = &bench.seen,
                                .wrong = &bench.wrong,
                                .dry = &bench.dry,
                                .wet = &bench.wet,
                                .wet_base_m3 = oil.retained_m3};
    measured_from_sheet(&bench.sheet, &bench.setup, &bench.measured);
    weigh_frame_set(&bench.frame);
    return 0;
}

static int unload(void **state)
{
    (void)state;
    ch_knowledge_clear(&knowledge);
    ch_sheet_clear(&bench.sheet);
    return 0;
}

#endif
