/* Read once: pages are answered by several threads, and what is built in does not change while the program runs. */
#include "know.h"

#include <pthread.h>
#include <stdio.h>

static pthread_once_t once = PTHREAD_ONCE_INIT;
static web_know known;
static ch_status came_to;
static ch_err failure;

static void load(void)
{
    size_t count = 0;
    const ch_knowledge_text *texts = ch_procedures_builtin(&count);
    came_to = ch_knowledge_parse(&known.knowledge, ch_knowledge_builtin(), &failure);
    if (came_to >= 0)
        came_to = ch_procedures_parse(&known.procedures, &known.knowledge, texts, count, &failure);
    if (came_to >= 0)
        came_to = ch_jobs_parse(&known.jobs, &known.knowledge, ch_jobs_builtin(), &failure);
    if (came_to >= 0)
        came_to = ch_clutch_knowledge_parse(&known.clutch, &known.knowledge, ch_clutch_builtin(), &failure);
    if (came_to >= 0)
        came_to = ch_part_lives_parse(&known.lives, &known.jobs, ch_part_lives_builtin(), &failure);
    if (came_to >= 0)
        came_to =
            ch_inspection_parse(&known.inspection, &known.knowledge, &known.lives, ch_inspection_builtin(), &failure);
    if (came_to >= 0)
        came_to = ch_assumptions_parse(&known.assumptions, ch_assumptions_builtin(), &failure);
    snprintf(known.made_by, sizeof known.made_by, "%016llx",
             (unsigned long long)ch_knowledge_mark(ch_knowledge_builtin()));
}

const web_know *know_get(ch_err *err)
{
    pthread_once(&once, load);
    if (came_to >= 0)
        return &known;
    if (err != NULL && err->status == 0)
        *err = failure;
    return NULL;
}
