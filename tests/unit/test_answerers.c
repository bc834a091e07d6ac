/* The threads that answer: everything that was taken is done once, several at a time, and nothing is taken after the end. */
#include "answerers.h"

#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

enum { THREADS = 4, ITEMS = 2000 };

typedef struct job {
    answerers_item item; /* first */
    atomic_int done;
} job;

static job jobs[ITEMS];

static void count(answerers_item *item)
{
    ((job *)(void *)item)->done++;
}

static answerers *begin(size_t threads, void (*work)(answerers_item *item))
{
    answerers *all = NULL;
    for (size_t i = 0; i < ITEMS; i++)
        jobs[i].done = 0;
    assert_int_equal(answerers_new(threads, work, &all, NULL), CH_OK);
    return all;
}

static void each_is_done_once_also_those_still_waiting_at_the_end(void **state)
{
    (void)state;
    answerers *all = begin(THREADS, count);
    for (size_t i = 0; i < ITEMS; i++)
        assert_true(answerers_add(all, &jobs[i].item));
    answerers_end(all);
    for (size_t i = 0; i < ITEMS; i++)
        assert_int_equal(jobs[i].done, 1);
    answerers_free(all);
}

static void nothing_is_taken_after_the_end(void **state)
{
    (void)state;
    answerers *all = begin(THREADS, count);
    answerers_end(all);
    assert_false(answerers_add(all, &jobs[0].item));
    answerers_end(all); /* twice is fine */
    answerers_free(all);
    answerers_free(NULL);
    assert_int_equal(jobs[0].done, 0);
}

static pthread_barrier_t together;

/* Comes back only when THREADS of them are at work at the same time. */
static void meet(answerers_item *item)
{
    pthread_barrier_wait(&together);
    count(item);
}

static void one_does_not_wait_for_another(void **state)
{
    (void)state;
    assert_int_equal(pthread_barrier_init(&together, NULL, THREADS), 0);
    answerers *all = begin(THREADS, meet);
    for (size_t i = 0; i < THREADS; i++)
        assert_true(answerers_add(all, &jobs[i].item));
    answerers_free(all); /* hangs where they wait for each other */
    for (size_t i = 0; i < THREADS; i++)
        assert_int_equal(jobs[i].done, 1);
    pthread_barrier_destroy(&together);
}

/* With one thread the order in which they were done is the order of the queue. */
static atomic_int turn;
static int turns[ITEMS];

static void take_turn(answerers_item *item)
{
    turns[(job *)(void *)item - jobs] = turn++;
}

static void first_come_first_done(void **state)
{
    (void)state;
    answerers *all = begin(1, take_turn);
    for (size_t i = 0; i < ITEMS; i++)
        assert_true(answerers_add(all, &jobs[i].item));
    answerers_free(all);
    for (int i = 0; i < ITEMS; i++)
        assert_int_equal(turns[i], i);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_is_done_once_also_those_still_waiting_at_the_end),
        cmocka_unit_test(nothing_is_taken_after_the_end),
        cmocka_unit_test(one_does_not_wait_for_another),
        cmocka_unit_test(first_come_first_done),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
