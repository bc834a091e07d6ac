/*
 * Threads that answer. The HTTP library's own threads each serve many connections: one that judged for some seconds would hold all of its
 * others up. What takes time is put in a queue here and done by the first of these threads that is free.
 */
#ifndef CROSSHATCH_WEB_ANSWERERS_H
#define CROSSHATCH_WEB_ANSWERERS_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/status.h"

typedef struct answerers answerers;

/* Something to be done; stands inside what it is about, and is the queue's from answerers_add until `work` is called with it. */
typedef struct answerers_item {
    struct answerers_item *next;
} answerers_item;

/* Start `threads` of them, which call `work`, several at once. answerers_free() them. CH_E_MEMORY, CH_E_IO. */
ch_status answerers_new(size_t threads, void (*work)(answerers_item *item), answerers **made, ch_err *err);

/* Put one at the end of the queue; never waits. False where they have ended: it is then not taken. From any thread. */
bool answerers_add(answerers *all, answerers_item *item);

/* Do what is still in the queue and end the threads; nothing is taken any more. NULL is fine. */
void answerers_end(answerers *all);

/* answerers_end, and give all back. NULL is fine. */
void answerers_free(answerers *all);

#endif
