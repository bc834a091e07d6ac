/*
 * Read once: pages are answered by several threads, and what is built in does not change while the program runs. Where there was no memory for it, the
 * next request tries again.
 */
#include "know.h"

#include <pthread.h>
#include <stdio.h>

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static bool loaded;
static web_know known;

static ch_status load(web_know *know, ch_err *err)
{
    size_t count = 0;
    const ch_knowledge_text *texts = ch_procedures_builtin(&count);
    ch_status rc = ch_knowledge_parse(&know->knowledge, ch_knowledge_builtin(), err);
    if (rc >= 0)
        rc = ch_procedures_parse(&know->procedures, &know->knowledge, texts, count, err);
    if (rc >= 0)
        rc = ch_jobs_parse(&know->jobs, &know->knowledge, ch_jobs_builtin(), err);
    if (rc >= 0)
        rc = ch_clutch_knowledge_parse(&know->clutch, &know->knowledge, ch_clutch_builtin(), err);
    if (rc >= 0)
        rc = ch_part_lives_parse(&know->lives, &know->jobs, ch_part_lives_builtin(), err);
    if (rc >= 0)
        rc = ch_inspection_parse(&know->inspection, &know->knowledge, &know->lives, ch_inspection_builtin(), err);
    if (rc >= 0)
        rc = ch_assumptions_parse(&know->assumptions, ch_assumptions_builtin(), err);
    snprintf(know->made_by, sizeof know->made_by, "%016llx",
             (unsigned long long)ch_knowledge_mark(ch_knowledge_builtin()));
    return rc;
}

/* What was read of it before the failure. */
static void clear(web_know *know)
{
    ch_assumptions_clear(&know->assumptions);
    ch_inspection_clear(&know->inspection);
    ch_part_lives_clear(&know->lives);
    ch_clutch_knowledge_clear(&know->clutch);
    ch_jobs_clear(&know->jobs);
    ch_procedures_clear(&know->procedures);
    ch_knowledge_clear(&know->knowledge);
    *know = (web_know){0};
}

const web_know *know_get(ch_err *err)
{
    pthread_mutex_lock(&lock);
    if (!loaded) {
        loaded = load(&known, err) >= 0;
        if (!loaded)
            clear(&known);
    }
    pthread_mutex_unlock(&lock);
    return loaded ? &known : NULL;
}
