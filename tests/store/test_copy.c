/* A copy of the garage file: whatever memory SQLite lacks, and where a change is under way. What the system refuses stands in test_system.c. */
#include <limits.h>
#include <sqlite3.h>
#include <string.h>
#include <sys/stat.h>

#include "../../src/store/store_parts.h"
#include "deeds.h"
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
        PROMISE(the_folder_of_a_file_is_what_is_before_its_name),
    };
    fail_sqlite_begin();
    return cmocka_run_group_tests_name("store_copy", tests, NULL, NULL);
}
