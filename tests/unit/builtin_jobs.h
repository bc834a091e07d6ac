/* The knowledge, jobs and figures that are built in, loaded once for the tests of a file: to be given to its group as set-up and tear-down. */
#ifndef CROSSHATCH_TESTS_BUILTIN_JOBS_H
#define CROSSHATCH_TESTS_BUILTIN_JOBS_H

#include "crosshatch/assumptions.h"
#include "crosshatch/draft.h"

static ch_knowledge knowledge;
static ch_jobs jobs;
static ch_assumptions assumptions;

static int load(void **state)
{
    (void)state;
    if (ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL) != CH_OK ||
        ch_jobs_parse(&jobs, &knowledge, ch_jobs_builtin(), NULL) != CH_OK)
        return -1;
    return ch_assumptions_parse(&assumptions, ch_assumptions_builtin(), NULL) == CH_OK ? 0 : -1;
}

static int unload(void **state)
{
    (void)state;
    ch_assumptions_clear(&assumptions);
    ch_jobs_clear(&jobs);
    ch_knowledge_clear(&knowledge);
    return 0;
}

#endif
