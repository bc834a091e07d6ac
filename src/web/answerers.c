/* A queue and the threads that empty it: answerers.h. */
#include "answerers.h"

#include <pthread.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

struct answerers {
    void (*work)(answerers_item *item);
    pthread_mutex_t lock;
    pthread_cond_t more; /* something was added, or the end is near */
    answerers_item *first, *last;
    bool ending;
    size_t count;
    pthread_t threads[];
};

static void *answer(void *context)
{
    answerers *all = context;
    pthread_mutex_lock(&all->lock);
    for (;;) {
        answerers_item *item = all->first;
        if (item != NULL) {
            all->first = item->next;
            pthread_mutex_unlock(&all->lock);
            all->work(item);
            pthread_mutex_lock(&all->lock);
        } else if (all->ending) {
            break;
        } else {
            pthread_cond_wait(&all->more, &all->lock);
        }
    }
    pthread_mutex_unlock(&all->lock);
    return NULL;
}

ch_status answerers_new(size_t threads, void (*work)(answerers_item *item), answerers **made, ch_err *err)
{
    answerers *all = calloc(1, sizeof *all + threads * sizeof all->threads[0]);
    if (all == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for threads");
    all->work = work;
    pthread_mutex_init(&all->lock, NULL);
    pthread_cond_init(&all->more, NULL);
    while (all->count < threads) {
        const int error = pthread_create(&all->threads[all->count], NULL, answer, all);
        if (error != 0) {
            answerers_free(all);
            return ch_fail(err, CH_E_IO, NULL, "no thread could be started: %s", strerror(error));
        }
        all->count++;
    }
    *made = all;
    return CH_OK;
}

bool answerers_add(answerers *all, answerers_item *item)
{
    item->next = NULL;
    pthread_mutex_lock(&all->lock);
    const bool taken = !all->ending;
    if (taken) {
        if (all->first == NULL)
            all->first = item;
        else
            all->last->next = item;
        all->last = item;
        pthread_cond_signal(&all->more);
    }
    pthread_mutex_unlock(&all->lock);
    return taken;
}

void answerers_end(answerers *all)
{
    if (all == NULL)
        return;
    pthread_mutex_lock(&all->lock);
    all->ending = true;
    pthread_cond_broadcast(&all->more);
    pthread_mutex_unlock(&all->lock);
    for (size_t i = 0; i < all->count; i++)
        pthread_join(all->threads[i], NULL);
    all->count = 0;
}

void answerers_free(answerers *all)
{
    if (all == NULL)
        return;
    answerers_end(all);
    pthread_cond_destroy(&all->more);
    pthread_mutex_destroy(&all->lock);
    free(all);
}
