/*
 * Several programs at one garage file, and programs that are killed in the middle. The children are forked before this process
 * has opened any file through SQLite, which must not be carried across a fork.
 */
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "kit.h"

enum { WRITERS = 2, ENTRIES = 2000, KILLS = 50 };

/* A child's failure is its exit status: assertions of cmocka would jump into the parent's frames. */
static void child_writes(int writer, int64_t sheet)
{
    ch_store *store = NULL;
    if (ch_store_open(kit_path("garage.db"), CH_STORE_OPEN, &store, NULL) < 0)
        _exit(1);
    for (int i = 0; i < ENTRIES; i++) {
        char own[32], common[32];
        ch_store_row row = kit_row(1 + i % 4, "178 psi");
        snprintf(own, sizeof own, "writer-%d-%d", writer, i);
        snprintf(common, sizeof common, "common-%d", i);
        if (ch_store_row_add(store, sheet, &row, own, KIT_NOW + i, NULL, NULL) < 0)
            _exit(2);
        /* what both send, as a phone does that is not sure whether it was heard */
        if (i % 10 == 0 && ch_store_row_add(store, sheet, &row, common, KIT_NOW + i, NULL, NULL) < 0)
            _exit(3);
    }
    ch_store_close(store);
    _exit(0);
}

/* Run in a child, so that this process opens nothing. */
static int in_child(int (*work)(void))
{
    const pid_t child = fork();
    if (child == 0)
        _exit(work());
    int status = -1;
    waitpid(child, &status, 0);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static int make_garage(void)
{
    ch_store *store = kit_open();
    const int64_t sheet = kit_sheet(store);
    ch_store_close(store);
    return sheet == 1 ? 0 : 1;
}

static void two_programs_lose_nothing_and_double_nothing(void **state)
{
    (void)state;
    pid_t children[WRITERS];
    assert_int_equal(in_child(make_garage), 0);
    for (int w = 0; w < WRITERS; w++) {
        children[w] = fork();
        if (children[w] == 0)
            child_writes(w, 1);
        assert_true(children[w] > 0);
    }
    /* copies made in the middle of it are whole */
    ch_store *store = kit_open(), *copy = NULL;
    ch_err err = {0};
    for (int i = 0; i < 3; i++) {
        kit_good(ch_store_backup(store, kit_path("copy.db"), &err), &err);
        kit_good(ch_store_open(kit_path("copy.db"), CH_STORE_READ_ONLY, &copy, &err), &err);
        ch_store_close(copy);
    }
    for (int w = 0; w < WRITERS; w++) {
        int status = -1;
        waitpid(children[w], &status, 0);
        assert_int_equal(status, 0);
    }
    assert_int_equal(kit_count(store, 1), WRITERS * ENTRIES + ENTRIES / 10);
    ch_store_close(store);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(DISTINCT client) FROM entry"),
                     WRITERS * ENTRIES + ENTRIES / 10);
    store = kit_open();
    kit_verify(store);
    ch_store_close(store);
}

static void child_is_killed(int pipe_end, int round)
{
    ch_store *store = NULL;
    if (ch_store_open(kit_path("garage.db"), CH_STORE_OPEN, &store, NULL) < 0)
        _exit(1);
    for (int i = 0;; i++) {
        char client[32] = {0};
        ch_store_row row = kit_row(1 + i % 4, "178 psi");
        snprintf(client, sizeof client, "round-%d-%d", round, i);
        if (ch_store_row_add(store, 1, &row, client, KIT_NOW + i, NULL, NULL) < 0)
            _exit(2);
        if (write(pipe_end, client, sizeof client) != (ssize_t)sizeof client)
            _exit(3);
    }
}

static bool is_there(ch_store *store, const char *client)
{
    ch_stored stored = {0};
    ch_store_row row = kit_row(1, "1 psi");
    /* sent again, it must be known; else it is stored now, and that is what the test would see */
    return ch_store_row_add(store, 1, &row, client, KIT_NOW, &stored, NULL) >= 0 && stored.again;
}

static int killed_garage(void)
{
    ch_store *store = kit_open();
    kit_verify(store);
    ch_store_close(store);
    return 0;
}

/* Every acknowledged id, read from a file by a child that may open the garage. */
static int acknowledged_are_there(void)
{
    char client[32];
    long missing = 0, count = 0;
    ch_store *store = kit_open();
    FILE *list = fopen(kit_path("acknowledged"), "rb");
    if (list == NULL)
        return 1;
    while (fread(client, sizeof client, 1, list) == 1) {
        count++;
        missing += !is_there(store, client);
    }
    fclose(list);
    ch_store_close(store);
    if (missing > 0)
        return 2;
    return count > KILLS / 5 ? 0 : 3; /* fewer tell nothing: the children were killed before they wrote */
}

static int one_entry(void)
{
    ch_store *store = kit_open();
    const ch_store_row row = kit_row(1, "178 psi");
    const ch_status rc = ch_store_row_add(store, 1, &row, "first", KIT_NOW, NULL, NULL);
    ch_store_close(store);
    return rc < 0;
}

/* Within this time a child is killed: some before they have opened the garage, most while they write, however slow the machine and the sanitizer are. */
static long killed_within_ns(void)
{
    struct timespec from, to;
    clock_gettime(CLOCK_MONOTONIC, &from);
    assert_int_equal(in_child(one_entry), 0);
    clock_gettime(CLOCK_MONOTONIC, &to);
    const long took_ns = (to.tv_sec - from.tv_sec) * 1000000000L + (to.tv_nsec - from.tv_nsec);
    return took_ns < 20000000L ? 60000000L : took_ns > 200000000L ? 600000000L : 3 * took_ns;
}

static void what_was_acknowledged_survives_kill_9(void **state)
{
    (void)state;
    assert_int_equal(in_child(make_garage), 0);
    const long within_ns = killed_within_ns();
    FILE *list = fopen(kit_path("acknowledged"), "wb");
    assert_non_null(list);
    unsigned random = 20270116;
    for (int round = 0; round < KILLS; round++) {
        int ends[2];
        char client[32];
        assert_int_equal(pipe(ends), 0);
        const pid_t child = fork();
        assert_true(child >= 0);
        if (child == 0) {
            close(ends[0]);
            child_is_killed(ends[1], round);
        }
        close(ends[1]);
        random = random * 1664525U + 1013904223U; /* Numerical Recipes' quick generator */
        const struct timespec wait = {0, 1000000L + (long)((double)(random >> 8) / (1U << 24) * (double)within_ns)};
        nanosleep(&wait, NULL);
        kill(child, SIGKILL);
        int status = 0;
        waitpid(child, &status, 0);
        assert_true(WIFSIGNALED(status));
        while (read(ends[0], client, sizeof client) == (ssize_t)sizeof client)
            assert_int_equal(fwrite(client, sizeof client, 1, list), 1);
        close(ends[0]);
        if (round % 10 == 9)
            assert_int_equal(in_child(killed_garage), 0);
    }
    fclose(list);
    assert_int_equal(in_child(acknowledged_are_there), 0);
    assert_int_equal(in_child(killed_garage), 0);
}

static int create_at_once(void)
{
    ch_store *store = NULL;
    const ch_status rc = ch_store_open(kit_path("garage.db"), CH_STORE_CREATE, &store, NULL);
    ch_store_close(store);
    return rc < 0 ? 1 : 0;
}

static void four_programs_create_one_file_at_once(void **state)
{
    (void)state;
    for (int round = 0; round < 10; round++) {
        pid_t children[4];
        for (int i = 0; i < 4; i++) {
            children[i] = fork();
            if (children[i] == 0)
                _exit(create_at_once());
        }
        for (int i = 0; i < 4; i++) {
            int status = -1;
            waitpid(children[i], &status, 0);
            assert_int_equal(status, 0);
        }
        assert_int_equal(in_child(killed_garage), 0);
        unlink(kit_path("garage.db"));
    }
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, kit_begin, kit_end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROMISE(what_was_acknowledged_survives_kill_9),
        PROMISE(four_programs_create_one_file_at_once),
        PROMISE(two_programs_lose_nothing_and_double_nothing),
    };
    return cmocka_run_group_tests_name("store_crash", tests, NULL, NULL);
}
