/* A copy of the garage file: whatever memory SQLite lacks, where a change is under way, and over another garage. What the system refuses stands in test_system.c. */
#include <limits.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "../../src/store/store_parts.h"
#include "deeds.h"
#include "disk_layer.h"
#include "fail_sqlite.h"
#include "fail_system.h"
#include "kit.h"

static ch_store *store;

static int begin(void **state)
{
    if (kit_begin(state) != 0)
        return -1;
    store = kit_open();
    kit_sheet(store);
    return 0;
}

static int end(void **state)
{
    ch_store_close(store);
    return kit_end(state);
}

static bool there(const char *name)
{
    struct stat is;
    return stat(kit_path(name), &is) == 0;
}

/* Each of those with which a copy begins, then fewer and fewer: thousands are of its check. */
static void whatever_memory_sqlite_lacks_a_copy_is_whole_or_refused(void **state)
{
    (void)state;
    const uint64_t holds = deeds_digest(kit_path("garage.db"));
    long refused = 0;
    bool failed = true;
    assert_true(holds != 0);
    for (long n = 1; failed; n += n < 250 ? 1 : n / 20) {
        ch_err err = {0};
        fail_sqlite_at(n);
        const ch_status rc = ch_store_backup(store, kit_path("copy.db"), &err);
        failed = fail_sqlite_stop();
        if (rc < 0) {
            refused++;
            assert_true(failed);
            assert_int_equal(rc, CH_E_MEMORY);
            assert_non_null(strstr(err.what, "no memory"));
            assert_string_equal(err.file, kit_path("copy.db"));
            assert_false(there("copy.db"));
        } else {
            assert_true(deeds_digest(kit_path("copy.db")) == holds);
            assert_int_equal(remove(kit_path("copy.db")), 0);
        }
    }
    assert_true(refused > 50);
    assert_true(deeds_digest(kit_path("garage.db")) == holds);
}

/* The change that is under way, which ends while the copy waits. */
static ch_err of_the_change;
static long waits;

static void end_the_change(void)
{
    if (++waits == 3)
        kit_good(store_end(store, CH_OK, &of_the_change), &of_the_change);
}

static void a_copy_waits_for_a_change_of_its_own_connection(void **state)
{
    (void)state;
    ch_err err = {0};
    waits = 0;
    kit_good(store_begin(store, &err), &err);
    kit_good(store_run(store, &err, "INSERT INTO car (name, changed_s) VALUES ('The hill-climber', 1)", ""), &err);
    fail_system_when_waiting(end_the_change);
    const ch_status rc = ch_store_backup(store, kit_path("copy.db"), &err);
    fail_system_when_waiting(NULL);
    kit_good(rc, &err);
    assert_int_equal(waits, 3);
    assert_int_equal(kit_ask(kit_path("copy.db"), "SELECT count(*) FROM car"), 1);
}

static void put(const char *name, const char *text)
{
    FILE *file = fopen(kit_path(name), "wb");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

/* Another garage as a killed program leaves it: all that was entered is in its log. */
static uint64_t leave_other(void)
{
    ch_store *other = NULL;
    ch_err err = {0};
    kit_good(ch_store_open(kit_path("other.db"), CH_STORE_CREATE, &other, &err), &err);
    kit_good(ch_store_setting_set(other, "currency", "CHF", KIT_NOW, &err), &err);
    static const char *const ends[] = {"", "-wal"};
    for (int i = 0; i < 2; i++) {
        char from[32], to[32];
        size_t length = 0;
        snprintf(from, sizeof from, "other.db%s", ends[i]);
        snprintf(to, sizeof to, "copy.db%s", ends[i]);
        char *bytes = kit_bytes(kit_path(from), &length);
        FILE *file = fopen(kit_path(to), "wb");
        assert_true(bytes != NULL && file != NULL && fwrite(bytes, 1, length, file) == length);
        assert_int_equal(fclose(file), 0);
        free(bytes);
    }
    ch_store_close(other);
    return deeds_digest(kit_path("other.db"));
}

/* SQLite would play such a log into the copy: what was acknowledged as copied would be gone, or two garages be mixed. */
static void a_copy_is_not_made_over_a_garage_whose_log_lies_beside_it(void **state)
{
    (void)state;
    ch_err err = {0};
    const uint64_t holds = leave_other();
    assert_int_equal(ch_store_backup(store, kit_path("copy.db"), &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "its log or journal (-wal, -journal) lies beside it"));
    assert_string_equal(err.file, kit_path("copy.db"));
    assert_true(deeds_digest(kit_path("copy.db")) == holds); /* by which its log was played in, and is gone */
    assert_false(there("copy.db-wal"));
    kit_good(ch_store_backup(store, kit_path("copy.db"), &err), &err);
    assert_true(deeds_digest(kit_path("copy.db")) == deeds_digest(kit_path("garage.db")));
    static const char *const beside[] = {"lost.db-wal", "lost.db-journal"};
    for (int i = 0; i < 2; i++) {
        err = (ch_err){0};
        put(beside[i], "what a lost garage left");
        assert_int_equal(ch_store_backup(store, kit_path("lost.db"), &err), CH_E_INPUT);
        assert_false(there("lost.db"));
        assert_int_equal(remove(kit_path(beside[i])), 0);
    }
}

/* Another program opens the target while the copy grows. */
static int open_target(disk_call *call)
{
    if (call->kind == DISK_OPEN && call->name != NULL && strstr(call->name, "/copy.db.") != NULL &&
        !there("copy.db-wal"))
        put("copy.db-wal", "what another program writes");
    return SQLITE_OK;
}

static void a_garage_that_is_opened_while_the_copy_grows_is_left_alone(void **state)
{
    (void)state;
    ch_err err = {0};
    size_t length = 0;
    char target[512]; /* kit_path's names do not live as long */
    put("copy.db", "an older copy");
    snprintf(target, sizeof target, "%s", kit_path("copy.db"));
    disk_layer_begin((disk_hooks){.before = open_target});
    const ch_status rc = ch_store_backup(store, target, &err);
    disk_layer_begin((disk_hooks){0});
    assert_true(there("copy.db-wal"));
    assert_int_equal(rc, CH_E_INPUT);
    assert_non_null(strstr(err.what, "is a garage in use"));
    char *bytes = kit_bytes(kit_path("copy.db"), &length);
    assert_string_equal(bytes, "an older copy");
    free(bytes);
    assert_int_equal(remove(kit_path("copy.db-wal")), 0);
    kit_good(ch_store_backup(store, kit_path("copy.db"), &err), &err);
}

static void the_folder_of_a_file_is_what_is_before_its_name(void **state)
{
    (void)state;
    static const struct {
        const char *path, *folder;
    } cases[] = {{"/garage.db", "/"}, {"/tmp/garage.db", "/tmp"}, {"garage.db", "garage.db"}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char path[32];
        snprintf(path, sizeof path, "%s", cases[i].path);
        fail_system_at(FAIL_SYSTEM_FSYNC, LONG_MAX, 0, false);
        store_flush_folder(path); /* the last is in the folder at hand */
        assert_false(fail_system_stop());
        assert_string_equal(path, cases[i].folder);
    }
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROMISE(whatever_memory_sqlite_lacks_a_copy_is_whole_or_refused),
        PROMISE(a_copy_waits_for_a_change_of_its_own_connection),
        PROMISE(a_copy_is_not_made_over_a_garage_whose_log_lies_beside_it),
        PROMISE(a_garage_that_is_opened_while_the_copy_grows_is_left_alone),
        PROMISE(the_folder_of_a_file_is_what_is_before_its_name),
    };
    fail_sqlite_begin();
    return cmocka_run_group_tests_name("store_copy", tests, NULL, NULL);
}
