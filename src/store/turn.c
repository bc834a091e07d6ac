/* The turns of all files that are open in this program. */
#include "turn.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

struct store_turn {
    store_turn *next;
    pthread_mutex_t turn;
    int users;
    char path[];
};

static pthread_mutex_t all_lock = PTHREAD_MUTEX_INITIALIZER;
static store_turn *all;

static store_turn *make(const char *path)
{
    const size_t length = strlen(path) + 1;
    store_turn *made = malloc(sizeof *made + length);
    if (made == NULL)
        return NULL;
    made->users = 0;
    memcpy(made->path, path, length);
    pthread_mutex_init(&made->turn, NULL);
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
        pthread_mutex_destroy(&turns->turn);
        free(turns);
    }
    pthread_mutex_unlock(&all_lock);
}

bool store_turn_take(store_turn *turns, int most_s)
{
    struct timespec until;
    clock_gettime(CLOCK_REALTIME, &until);
    until.tv_sec += most_s;
    return pthread_mutex_timedlock(&turns->turn, &until) == 0;
}

void store_turn_give(store_turn *turns)
{
    pthread_mutex_unlock(&turns->turn);
}
