/*
 *  1. A place is free, being worked on, or ready; only ready ones are lent, and a lent one keeps its place.
 *  2. At most VERDICTS_KEPT places: the one that nobody has asked for longest makes room.
 *  3. Work is done without the lock.
 */
#include "verdicts.h"

#include <pthread.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/prior.h"

typedef enum place_state { PLACE_FREE, PLACE_WORKING, PLACE_READY } place_state;

typedef struct place {
    verdicts_one one; /* first: what is lent */
    place_state state;
    char *content; /* the sheet as ch_sheet_write makes it */
    size_t length;
    int why;
    int lent;
    uint64_t asked; /* when last, in askings */
} place;

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static pthread_cond_t changed = PTHREAD_COND_INITIALIZER;
static place places[VERDICTS_KEPT];
static uint64_t askings;

static void empty(place *p)
{
    /* The analyzer takes the place's new content for its old one, freed before. NOLINTNEXTLINE(clang-analyzer-unix.Malloc) */
    free(p->content);
    free(p->one.judgement);
    free(p->one.reason);
    *p = (place){0};
}

static bool holds(const place *p, const char *content, size_t length, const ch_judge_options *options, int why)
{
    return p->state != PLACE_FREE && p->why == why && p->one.options.seed == options->seed &&
           p->one.options.rule == options->rule && p->one.options.pressure_unit == options->pressure_unit &&
           p->length == length && memcmp(p->content, content, length) == 0;
}

/* The place that holds it, else the one to be used for it; NULL where every place is in use. */
static place *find(const char *content, size_t length, const ch_judge_options *options, int why)
{
    place *oldest = NULL;
    for (size_t i = 0; i < VERDICTS_KEPT; i++) {
        place *p = &places[i];
        if (holds(p, content, length, options, why))
            return p;
        const bool usable = p->state == PLACE_FREE || (p->state == PLACE_READY && p->lent == 0);
        if (usable && (oldest == NULL || p->asked < oldest->asked))
            oldest = p;
    }
    return oldest;
}

/* Fill what was asked for into a place that is marked as being worked on, so that no other thread looks at its results. */
static ch_status work(place *p, const ch_sheet *sheet, const ch_knowledge *knowledge, ch_err *err)
{
    if (p->why == 0) {
        p->one.judgement = malloc(sizeof *p->one.judgement);
        return p->one.judgement == NULL ? ch_fail(err, CH_E_MEMORY, NULL, "no memory to judge a sheet")
                                        : ch_judge(sheet, knowledge, &p->one.options, p->one.judgement, err);
    }
    p->one.reason = calloc(CH_TRACE_REASONS_MAX, sizeof *p->one.reason);
    if (p->one.reason == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the reasons of a cause");
    ch_setup setup;
    const ch_trace_options trace = {.seed = p->one.options.seed, .crew = p->one.options.crew};
    const ch_status rc = ch_setup_from_sheet(sheet, CH_PRIOR_UNSTATED_LIFT_M, &setup, err);
    return rc < 0 ? rc
                  : ch_trace_why(sheet, &setup, knowledge, &trace, p->why, p->one.reason, &p->one.reason_count, err);
}

ch_status verdicts_get(const ch_sheet *sheet, const ch_judge_options *options, const ch_knowledge *knowledge, int why,
                       const verdicts_one **one, ch_err *err)
{
    char *content = NULL;
    size_t length = 0;
    ch_status rc = ch_sheet_write(sheet, false, &content, &length, err);
    if (rc < 0)
        return rc;
    pthread_mutex_lock(&lock);
    place *p = find(content, length, options, why);
    while (p == NULL || p->state == PLACE_WORKING) {
        pthread_cond_wait(&changed, &lock);
        p = find(content, length, options, why);
    }
    if (!holds(p, content, length, options, why)) {
        empty(p);
        *p = (place){
            .one = {.options = *options}, .state = PLACE_WORKING, .content = content, .length = length, .why = why};
        content = NULL;
        pthread_mutex_unlock(&lock);
        rc = work(p, sheet, knowledge, err);
        pthread_mutex_lock(&lock);
        if (rc < 0)
            empty(p);
        else
            p->state = PLACE_READY;
        pthread_cond_broadcast(&changed);
    }
    if (rc >= 0) {
        p->lent++;
        p->asked = ++askings;
        *one = &p->one;
    }
    pthread_mutex_unlock(&lock);
    free(content);
    return rc < 0 ? rc : CH_OK;
}

void verdicts_give_back(const verdicts_one *one)
{
    if (one == NULL)
        return;
    pthread_mutex_lock(&lock);
    for (size_t i = 0; i < VERDICTS_KEPT; i++)
        if (&places[i].one == one)
            places[i].lent--;
    pthread_cond_broadcast(&changed);
    pthread_mutex_unlock(&lock);
}
