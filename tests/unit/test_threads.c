/* Every piece of the work is done once, by workers who do not meet, however many threads the system gives. */
#include "../../src/cli/threads.h"

#include <errno.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdbool.h>

#include "expect.h"

/* The linker's --wrap turns calls of these into the ones below. */
int __real_pthread_create(pthread_t *thread, const pthread_attr_t *attributes, void *(*start)(void *), void *context);
int __real_pthread_attr_init(pthread_attr_t *attributes);
int __real_pthread_attr_setstacksize(pthread_attr_t *attributes, size_t bytes);
int __wrap_pthread_create(pthread_t *thread, const pthread_attr_t *attributes, void *(*start)(void *), void *context);
int __wrap_pthread_attr_init(pthread_attr_t *attributes);
int __wrap_pthread_attr_setstacksize(pthread_attr_t *attributes, size_t bytes);

/* What the system refuses. */
static struct {
    int threads_given; /* this many threads are given, then none */
    bool attributes, stack;
} refused;
static int created;

int __wrap_pthread_create(pthread_t *thread, const pthread_attr_t *attributes, void *(*start)(void *), void *context)
{
    if (created >= refused.threads_given)
        return EAGAIN;
    created++;
    return __real_pthread_create(thread, attributes, start, context);
}

int __wrap_pthread_attr_init(pthread_attr_t *attributes)
{
    return refused.attributes ? ENOMEM : __real_pthread_attr_init(attributes);
}

int __wrap_pthread_attr_setstacksize(pthread_attr_t *attributes, size_t bytes)
{
    return refused.stack ? EINVAL : __real_pthread_attr_setstacksize(attributes, bytes);
}

enum { PIECES = 300 };

typedef struct count {
    atomic_int done[PIECES];
    atomic_int busy[THREADS_MOST]; /* pieces that this worker is at */
    atomic_int met, strange;       /* two pieces at once with one worker; numbers out of range */
    int workers;
} count;

static void count_piece(void *context, int piece, int worker)
{
    count *all = context;
    if (piece < 0 || piece >= PIECES || worker < 0 || worker >= all->workers) {
        atomic_fetch_add(&all->strange, 1);
        return;
    }
    if (atomic_fetch_add(&all->busy[worker], 1) != 0)
        atomic_fetch_add(&all->met, 1);
    for (volatile int i = 0; i < 2000; i++)
        ;
    atomic_fetch_add(&all->done[piece], 1);
    atomic_fetch_sub(&all->busy[worker], 1);
}

/* Run `pieces` with a crew of so many and look at what came of it. Returns how many threads were started. */
static int expect_each_once(int workers, int pieces)
{
    ch_crew crew = threads_crew();
    crew.workers = workers;
    count all = {.workers = workers};
    created = 0;
    ch_crew_run(&crew, pieces, count_piece, &all);
    for (int p = 0; p < PIECES; p++)
        assert_int_equal(all.done[p], p < pieces ? 1 : 0);
    assert_int_equal(all.met, 0);
    assert_int_equal(all.strange, 0);
    return created;
}

static void set_all_given(void)
{
    refused.threads_given = 1000;
    refused.attributes = refused.stack = false;
}

static void there_is_a_worker_for_each_processor_within_bounds(void **state)
{
    (void)state;
    const ch_crew crew = threads_crew();
    assert_in_range(crew.workers, 1, THREADS_MOST);
    assert_int_equal(ch_crew_workers(&crew), crew.workers);
    assert_int_equal(ch_crew_workers(NULL), 1);
}

static void each_piece_is_done_once(void **state)
{
    (void)state;
    set_all_given();
    /* The caller is one of the workers; more workers than pieces are not asked for. */
    assert_int_equal(expect_each_once(5, PIECES), 4);
    assert_int_equal(expect_each_once(THREADS_MOST, 3), 2);
    assert_int_equal(expect_each_once(THREADS_MOST, 1), 0);
    assert_int_equal(expect_each_once(1, PIECES), 0);
    assert_int_equal(expect_each_once(4, 0), 0);
}

static void threads_that_are_refused_are_done_without(void **state)
{
    (void)state;
    for (int given = 0; given < 4; given++) {
        set_all_given();
        refused.threads_given = given;
        assert_int_equal(expect_each_once(6, PIECES), given);
    }
    set_all_given();
    refused.attributes = true;
    assert_int_equal(expect_each_once(6, PIECES), 0);
    set_all_given();
    refused.stack = true;
    assert_int_equal(expect_each_once(6, PIECES), 0);
}

typedef struct order {
    int piece[4], count;
} order;

static void note_order(void *context, int piece, int worker)
{
    order *all = context;
    assert_int_equal(worker, 0);
    all->piece[all->count++] = piece;
}

static void without_a_crew_the_caller_does_one_after_the_other(void **state)
{
    (void)state;
    order all = {.count = 0};
    ch_crew_run(NULL, 0, note_order, &all);
    assert_int_equal(all.count, 0);
    ch_crew_run(NULL, 4, note_order, &all);
    assert_int_equal(all.count, 4);
    for (int p = 0; p < 4; p++)
        assert_int_equal(all.piece[p], p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(there_is_a_worker_for_each_processor_within_bounds),
        cmocka_unit_test(each_piece_is_done_once),
        cmocka_unit_test(threads_that_are_refused_are_done_without),
        cmocka_unit_test(without_a_crew_the_caller_does_one_after_the_other),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
