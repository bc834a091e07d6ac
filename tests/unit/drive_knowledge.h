/* The clutch's knowledge as it is built in, for tests of the driveline. Included once a program. */
#ifndef CROSSHATCH_TESTS_DRIVE_KNOWLEDGE_H
#define CROSSHATCH_TESTS_DRIVE_KNOWLEDGE_H

#include "crosshatch/clutch_knowledge.h"
#include "crosshatch/knowledge.h"

static ch_knowledge knowledge;
static ch_clutch_knowledge clutch;

static inline int open_knowledge(void **state)
{
    (void)state;
    return ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL) == CH_OK &&
                   ch_clutch_knowledge_parse(&clutch, &knowledge, ch_clutch_builtin(), NULL) == CH_OK
               ? 0
               : -1;
}

static inline int close_knowledge(void **state)
{
    (void)state;
    ch_clutch_knowledge_clear(&clutch);
    ch_knowledge_clear(&knowledge);
    return 0;
}

#endif
