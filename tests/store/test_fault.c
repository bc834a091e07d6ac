/*
 * Whatever fails while a change is made, the garage file afterwards is as it was before the call or as it is after one that succeeds,
 * and `verify` finds it whole.
 */
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "../../src/store/store_parts.h"
#include "../unit/fail_alloc.h"
#include "crosshatch/store_work.h"
#include "fail_disk.h"
#include "kit.h"

enum { NEXT = CH_STORE_VERSION + 1 };

typedef enum operation { ADD, CORRECT, CLOSE, SAVE, BACKUP, MIGRATE, PROVE, DRIVE, LOAD, VERIFY, OPERATIONS } operation;

static ch_sheet demo;
static ch_store_row reading;

/* A number that differs before and after the operation. */
static long long measure(operation o)
{
    const char *path = kit_path("garage.db");
    switch (o) {
    case ADD: return kit_ask(path, "SELECT count(*) FROM entry");
    case CORRECT: return kit_ask(path, "SELECT count(*) FROM entry WHERE replaces_id IS NOT NULL");
    case CLOSE: return kit_ask(path, "SELECT count(*) FROM sheet WHERE closed_s IS NOT NULL");
    case SAVE: return kit_ask(path, "SELECT count(*) FROM entry_quantity");
    case BACKUP:
        return access(kit_path("copy.db"), F_OK) == 0 ? kit_ask(kit_path("copy.db"), "SELECT count(*) FROM entry") : -2;
    case MIGRATE: return kit_ask(path, "PRAGMA user_version");
    case PROVE: return kit_ask(path, "SELECT count(*) FROM work WHERE closed_s IS NOT NULL");
    case DRIVE: return kit_ask(path, "SELECT count(*) + (SELECT count(*) FROM run_slip) FROM run_cause");
    case LOAD:
    case VERIFY:
    case OPERATIONS: break;
    }
    return 0;
}

static ch_status load(ch_store *store)
{
    ch_sheet sheet;
    const ch_status rc = ch_store_sheet_load(store, 1, &sheet, NULL);
    if (rc >= 0)
        ch_sheet_clear(&sheet);
    return rc;
}

static ch_status verify(ch_store *store)
{
    ch_store_pool pool = {0};
    const ch_store_finding *findings = NULL;
    size_t count = 0;
    const ch_status rc = ch_store_verify(store, &pool, &findings, &count, NULL);
    ch_store_pool_clear(&pool);
    return rc;
}

static ch_status operate(operation o, ch_store *store)
{
    switch (o) {
    case ADD: return ch_store_row_add(store, 1, &reading, "again", KIT_NOW, NULL, NULL);
    case CORRECT: return ch_store_row_correct(store, 1, &reading, NULL, KIT_NOW, NULL, NULL);
    case CLOSE: return ch_store_sheet_close(store, 1, NULL, KIT_NOW, NULL);
    case SAVE: return ch_store_sheet_save(store, &demo, 0, "demo", KIT_NOW, NULL, NULL);
    case BACKUP: return ch_store_backup(store, kit_path("copy.db"), NULL);
    case PROVE: return ch_store_work_close(store, 1, CH_STORE_PROVE_COMPRESSION, "sold as it is", KIT_NOW, NULL);
    case DRIVE: {
        const ch_store_run run = kit_run(1);
        return ch_store_run_add(store, &run, NULL, KIT_NOW, NULL, NULL);
    }
    case LOAD: return load(store);
    case VERIFY: return verify(store);
    case MIGRATE:
    case OPERATIONS: break;
    }
    return CH_E_INPUT;
}

/* Open, operate and close, all under the fault. */
static ch_status open_and_operate(operation o)
{
    static const char one_more[] = "ALTER TABLE car ADD COLUMN colour TEXT; UPDATE sheet SET changed_s = 1;";
    const char *steps[NEXT];
    for (int i = 0; i < CH_STORE_VERSION; i++)
        steps[i] = store_schema_now.steps[i];
    steps[CH_STORE_VERSION] = one_more;
    const store_schema schema = {.steps = steps, .version = NEXT};
    ch_store *store = NULL;
    ch_status rc = o == MIGRATE ? store_open_with(kit_path("garage.db"), CH_STORE_OPEN, &schema, &store, NULL)
                                : ch_store_open(kit_path("garage.db"), CH_STORE_OPEN, &store, NULL);
    if (rc >= 0 && o != MIGRATE)
        rc = operate(o, store);
    ch_store_close(store);
    return rc;
}

/* The file to begin with, byte for byte. */
static char *base_bytes;
static size_t base_length;

static int prepare(void **state)
{
    if (kit_begin(state) != 0)
        return -1;
    ch_store *store = kit_open();
    kit_sheet(store);
    kit_good(ch_store_row_add(store, 1, &reading, NULL, KIT_NOW, NULL, NULL), NULL);
    const ch_store_car car = {.name = "car"};
    kit_good(ch_store_car_add(store, &car, NULL, KIT_NOW, NULL, NULL), NULL);
    const ch_store_work job = {.car_id = 1, .kind = CH_PLAN_JOB, .name = "head_rebuild", .title = "Head rebuilt"};
    kit_good(ch_store_work_begin(store, &job, KIT_NOW, NULL, NULL), NULL);
    kit_good(ch_store_work_done(store, 1, true, KIT_NOW, NULL), NULL);
    ch_store_close(store);
    base_bytes = kit_bytes(kit_path("garage.db"), &base_length);
    return 0;
}

static int finish(void **state)
{
    free(base_bytes);
    return kit_end(state);
}

static void start_again(void)
{
    char before[64];
    snprintf(before, sizeof before, "garage.db.before-v%d", NEXT);
    const char *const others[] = {"garage.db-wal", "garage.db-shm", "copy.db", before};
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++)
        unlink(kit_path(others[i]));
    FILE *file = fopen(kit_path("garage.db"), "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(base_bytes, 1, base_length, file), base_length);
    assert_int_equal(fclose(file), 0);
}

/* The structure and all else that `verify` asks, every fifth time, because it takes longer than the operation. */
static void expect_whole(operation o, long n)
{
    if (n % 5 != 0 || (o == MIGRATE && measure(o) == NEXT)) /* of a version that this program's verify does not know */
        return;
    ch_store *store = kit_open();
    kit_verify(store);
    ch_store_close(store);
}

/* The operation under the nth fault of a kind, n = 1, 2, ... until a run meets none. */
static long try_all(operation o, fail_kind kind, bool on, bool from_open)
{
    start_again();
    const long long before = measure(o);
    kit_good(open_and_operate(o), NULL);
    const long long after = measure(o);
    if (o != LOAD && o != VERIFY)
        assert_true(before != after);
    for (long n = 1;; n++) {
        ch_store *store = NULL;
        ch_status rc = CH_OK;
        start_again();
        if (from_open) {
            fail_disk_at(kind, n, on);
            rc = open_and_operate(o);
        } else {
            kit_good(ch_store_open(kit_path("garage.db"), CH_STORE_OPEN, &store, NULL), NULL);
            fail_disk_at(kind, n, on);
            rc = operate(o, store);
            ch_store_close(store);
        }
        const bool failed = fail_disk_stop();
        const long long now = measure(o);
        if (!(now == before || now == after))
            fail_msg("operation %d, kind %d, fault %ld: %lld is neither %lld nor %lld", (int)o, (int)kind, n, now,
                     before, after);
        if (rc >= 0 && now != after)
            fail_msg("operation %d, kind %d, fault %ld: acknowledged, and not there", (int)o, (int)kind, n);
        if (rc < 0 && rc != CH_E_IO && rc != CH_E_INPUT)
            fail_msg("operation %d, kind %d, fault %ld: status %d", (int)o, (int)kind, n, (int)rc);
        expect_whole(o, n);
        if (!failed) {
            assert_true(rc >= 0);
            return n - 1;
        }
        assert_true(n < 500);
    }
}

static long try_kinds(operation o, bool from_open)
{
    long faults = 0;
    for (int kind = 0; kind < FAIL_KINDS; kind++) {
        faults += try_all(o, (fail_kind)kind, false, from_open);
        if (kind <= FAIL_FLUSH) /* a disk that stays as it is: also what tidies up fails */
            faults += try_all(o, (fail_kind)kind, true, from_open);
    }
    return faults;
}

static void a_row_is_there_or_not_whatever_fails(void **state)
{
    (void)state;
    assert_true(try_kinds(ADD, false) > 5);
    assert_true(try_kinds(ADD, true) > 20);
    try_kinds(CORRECT, false);
}

static void a_sheet_is_closed_or_open_whatever_fails(void **state)
{
    (void)state;
    assert_true(try_kinds(CLOSE, false) > 5);
}

static void a_job_is_closed_or_open_whatever_fails(void **state)
{
    (void)state;
    assert_true(try_kinds(PROVE, false) > 20);
}

static void a_run_is_stored_whole_or_not_at_all(void **state)
{
    (void)state;
    assert_true(try_kinds(DRIVE, false) > 20);
}

static void a_sheet_is_saved_whole_or_not_at_all(void **state)
{
    (void)state;
    assert_true(try_kinds(SAVE, false) > 5);
}

static void a_copy_is_whole_or_not_there(void **state)
{
    (void)state;
    assert_true(try_kinds(BACKUP, false) > 20);
}

static void a_file_is_of_the_old_version_or_of_the_new_one(void **state)
{
    (void)state;
    assert_true(try_kinds(MIGRATE, true) > 40);
}

static void a_full_disk_is_called_one(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_err err = {0};
    fail_disk_at(FAIL_FULL, 1, true);
    assert_int_equal(ch_store_row_add(store, 1, &reading, NULL, KIT_NOW, NULL, &err), CH_E_IO);
    fail_disk_stop();
    assert_non_null(strstr(err.what, "the disk is full"));
    kit_good(ch_store_row_add(store, 1, &reading, NULL, KIT_NOW, NULL, NULL), NULL); /* once there is room again */
    ch_store_close(store);
}

static void no_memory_is_said_and_nothing_is_half_done(void **state)
{
    (void)state;
    for (int o = ADD; o < OPERATIONS; o++) {
        start_again();
        const long long before = measure((operation)o);
        kit_good(open_and_operate((operation)o), NULL);
        const long long after = measure((operation)o);
        long n = 1;
        for (;; n++) {
            start_again();
            fail_alloc_at(n);
            const ch_status rc = open_and_operate((operation)o);
            if (!fail_alloc_stop()) {
                assert_int_equal(rc, CH_OK);
                break;
            }
            if (rc != CH_E_MEMORY)
                fail_msg("operation %d, allocation %ld: status %d", o, n, (int)rc);
            assert_int_equal(measure((operation)o), before);
        }
        assert_int_equal(measure((operation)o), after);
        assert_true(n > 2);
    }
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, prepare, finish)

int main(void)
{
    fail_disk_begin();
    kit_read_sheet("demo/hill-climb-sound.yaml", &demo);
    reading = kit_row(2, "178 psi");
    const struct CMUnitTest tests[] = {
        PROMISE(a_row_is_there_or_not_whatever_fails),           PROMISE(a_sheet_is_closed_or_open_whatever_fails),
        PROMISE(a_job_is_closed_or_open_whatever_fails),         PROMISE(a_run_is_stored_whole_or_not_at_all),
        PROMISE(a_sheet_is_saved_whole_or_not_at_all),           PROMISE(a_copy_is_whole_or_not_there),
        PROMISE(a_file_is_of_the_old_version_or_of_the_new_one), PROMISE(a_full_disk_is_called_one),
        PROMISE(no_memory_is_said_and_nothing_is_half_done),
    };
    const int failed = cmocka_run_group_tests_name("store_fault", tests, NULL, NULL);
    ch_sheet_clear(&demo);
    return failed;
}
