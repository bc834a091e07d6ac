/* The knowledge that the program carries, read once for all tests of a file: give load and unload to cmocka_run_group_tests(). Included once a program. */
#ifndef CROSSHATCH_TESTS_BUILTIN_KNOWLEDGE_H
#define CROSSHATCH_TESTS_BUILTIN_KNOWLEDGE_H

#include "crosshatch/knowledge.h"

static ch_knowledge knowledge;

static int load(void **state)
{
    (void)state;
    return ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL) < 0 ? -1 : 0;
}

static int unload(void **state)
{
    (void)state;
    ch_knowledge_clear(&knowledge);
    return 0;
}

#endif
