/* A crew of threads: started anew for each run of work, they take the next piece that nobody has taken until none is left. */
#include "threads.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <unistd.h>

/* The deepest pieces of the tracing take under half a megabyte; what systems give a thread is anything from 128 kB to 8 MB. */
static const size_t STACK_BYTES = (size_t)2 << 20;

typedef struct work {
    ch_piece *piece;
    void *context;
    int pieces;
    atomic_int next;
} work;

typedef struct hand {
    pthread_t thread;
    work *work;
    int worker;
} hand;

static void *take_pieces(void *context)
{
    const hand *own = context;
    work *of = own->work;
    for (int piece = atomic_fetch_add(&of->next, 1); piece < of->pieces; piece = atomic_fetch_add(&of->next, 1))
        of->piece(of->context, piece, own->worker);
    return NULL;
}

/* The caller is worker 0. Threads that the system refuses are done without. */
static void run(const ch_crew *crew, int pieces, ch_piece *piece, void *context)
{
    work all = {.piece = piece, .context = context, .pieces = pieces};
    atomic_init(&all.next, 0);
    hand hands[THREADS_MOST];
    const int wanted = crew->workers < pieces ? crew->workers : pieces;
    int started = 0;
    pthread_attr_t attributes;
    if (wanted > 1 && pthread_attr_init(&attributes) == 0) {
        bool more = pthread_attr_setstacksize(&attributes, STACK_BYTES) == 0;
        while (more && started < wanted - 1) {
            hand *one = &hands[started];
            *one = (hand){.work = &all, .worker = started + 1};
            more = pthread_create(&one->thread, &attributes, take_pieces, one) == 0;
            started += more ? 1 : 0;
        }
        pthread_attr_destroy(&attributes);
    }
    hand caller = {.work = &all, .worker = 0};
    take_pieces(&caller);
    for (int i = 0; i < started; i++)
        pthread_join(hands[i].thread, NULL);
}

ch_crew threads_crew(void)
{
    const long processors = sysconf(_SC_NPROCESSORS_ONLN);
    return (ch_crew){.workers = processors < 1              ? 1
                                : processors > THREADS_MOST ? THREADS_MOST
                                                            : (int)processors,
                     .run = run};
}
