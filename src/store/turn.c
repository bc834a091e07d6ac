/* The turns of all files that are open in this program. */
#include "turn.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/* Waited for by the steady clock, which nobody sets: a mutex would be by the one on the wall. */
struct store_turn {
    store_turn *next;
    pthread_mutex_t lock; /* of `taken` */
    pthread_cond_t given;
    bool taken;
    int users;
    char path[];
};

static pthread_mutex_t all_lock = PTHREAD_MUTEX_INITIALIZER;
static store_turn *all;

static bool make_condition(pthread_cond_t *condition)
{
    pthread_condattr_t steady;
    if (pthread_condattr_init(&steady) != 0)
        return false;
    const bool made =
        pthread_condattr_setclock(&steady, CLOCK_MONOTONIC) == 0 && pthread_cond_init(condition, &steady) == 0;
    pthread_condattr_destroy(&steady);
    return made;
}

static store_turn *make(const char *path)
{
    const size_t length = strlen(path) + 1;
    store_turn *made = malloc(sizeof *made + length);
    if (made == NULL || !make_condition(&made->given)) {
        free(made);
        return NULL;
    }
    made->users = 0;
    made->taken = false;
    memcpy(made->path, path, length);
    pthread_mutex_init(&made->lock, NULL);
    made->next = all;
    all = made;
    return made;
}

store_turn *store_turn_join(const char *path)
{
    pthread_mutex_lock(&all_lock);
    store_turn *turns = all;
    while (turns != NULL && strcmp(turns->path, path) != 0)
        turns = turns->next;
    if (turns == NULL)
        turns = make(path);
    if (turns != NULL)
        turns->users++;
    pthread_mutex_unlock(&all_lock);
    return turns;
}

void store_turn_leave(store_turn *turns)
{
    if (turns == NULL)
        return;
    pthread_mutex_lock(&all_lock);
    if (--turns->users == 0) {
        store_turn **at = &all;
        while (*at != turns)
            at = &(*at)->next;
        *at = turns->next;
        pthread_cond_destroy(&turns->given);
        pthread_mutex_destroy(&turns->lock);
        free(turns);
    }
    pthread_mutex_unlock(&all_lock);
}

bool store_turn_take(store_turn *turns, int most_s)
{
    struct timespec until;
    clock_gettime(CLOCK_MONOTONIC, &until);
    until.tv_sec += most_s;
    pthread_mutex_lock(&turns->lock);
    int code = 0;
    while (turns->taken && code == 0)
        code = pthread_cond_timedwait(&turns->given, &turns->lock, &until);
    const bool came = !turns->taken;
    turns->taken = true;
    pthread_mutex_unlock(&turns->lock);
    return came;
}

void store_turn_give(store_turn *turns)
{
    pthread_mutex_lock(&turns->lock);
    turns->taken = false;
    pthread_cond_signal(&turns->given);
    pthread_mutex_unlock(&turns->lock);
}
