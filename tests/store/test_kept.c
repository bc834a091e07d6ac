/* Statements that stay prepared while a garage file is open: used again, emptied, bounded, and thrown away where they failed. */
#include <limits.h>
#include <sqlite3.h>
#include <string.h>

#include "../../src/store/store_parts.h"
#include "deeds.h"
#include "fail_call.h"
#include "fail_disk.h"
#include "fail_sqlite.h"
#include "kit.h"

static ch_store *store;
static int64_t sheet;

static int begin(void **state)
{
    if (kit_begin(state) != 0)
        return -1;
    store = kit_open();
    sheet = kit_sheet(store);
    return 0;
}

static int end(void **state)
{
    ch_store_close(store);
    return kit_end(state);
}

static ch_status enter(ch_err *err)
{
    static int entered;
    ch_stored stored = {0};
    char client[32];
    snprintf(client, sizeof client, "phone.%d", ++entered);
    const ch_store_row row = kit_row(1, "170 psi");
    return ch_store_row_add(store, sheet, &row, client, KIT_NOW, &stored, err);
}

static void an_entry_like_the_one_before_prepares_nothing(void **state)
{
    (void)state;
    ch_err err = {0};
    fail_call_at(FAIL_PREPARE, LONG_MAX);
    kit_good(enter(&err), &err);
    assert_true(fail_call_seen(FAIL_PREPARE) > 5);
    fail_call_at(FAIL_PREPARE, LONG_MAX);
    kit_good(enter(&err), &err);
    assert_int_equal(fail_call_seen(FAIL_PREPARE), 0);
    assert_false(fail_call_stop());
    assert_int_equal(kit_count(store, sheet), 2);
    kit_verify(store);
}

static void what_is_kept_holds_no_value_and_no_lock(void **state)
{
    (void)state;
    ch_err err = {0};
    ch_stored stored = {0};
    ch_store_row row = kit_row(1, "170 psi");
    char note[] = "warm, after the third lap";
    row.reading.note = note;
    kit_good(ch_store_row_add(store, sheet, &row, "phone.note", KIT_NOW, &stored, &err), &err);
    assert_int_equal(kit_count(store, sheet), 1);
    assert_true(store->kept.count > 5);
    for (size_t i = 0; i < store->kept.count; i++) {
        char *sql = sqlite3_expanded_sql(store->kept.idle[i]);
        assert_non_null(sql);
        assert_null(strstr(sql, "lap"));
        assert_null(strstr(sql, "phone"));
        assert_false(sqlite3_stmt_busy(store->kept.idle[i]));
        sqlite3_free(sql);
    }
    assert_int_equal(sqlite3_txn_state(store->db, NULL), SQLITE_TXN_NONE);
}

static void what_was_not_asked_for_longest_gives_way(void **state)
{
    (void)state;
    ch_err err = {0};
    char sql[32];
    int64_t number = 0;
    enum { MORE = 10 };
    kit_forget_statements(store);
    for (int i = 0; i < STORE_KEPT_MAX + MORE; i++) {
        snprintf(sql, sizeof sql, "SELECT %d", i);
        kit_good(store_number(store, &number, -1, &err, sql, ""), &err);
        assert_int_equal(number, i);
        kit_good(store_number(store, &number, -1, &err, "SELECT 1000", ""), &err); /* again and again: it stays */
        assert_int_equal(number, 1000);
    }
    assert_int_equal(store->kept.count, STORE_KEPT_MAX);
    int all = 0;
    for (sqlite3_stmt *q = NULL; (q = sqlite3_next_stmt(store->db, q)) != NULL;)
        all++;
    assert_int_equal(all, STORE_KEPT_MAX);
    fail_call_at(FAIL_PREPARE, LONG_MAX);
    kit_good(store_number(store, &number, -1, &err, "SELECT 1000", ""), &err);
    snprintf(sql, sizeof sql, "SELECT %d", MORE + 1); /* with SELECT 1000 among them, one less */
    kit_good(store_number(store, &number, -1, &err, sql, ""), &err);
    assert_int_equal(fail_call_seen(FAIL_PREPARE), 0);
    snprintf(sql, sizeof sql, "SELECT %d", MORE);
    kit_good(store_number(store, &number, -1, &err, sql, ""), &err);
    assert_int_equal(fail_call_seen(FAIL_PREPARE), 1);
    assert_false(fail_call_stop());
}

static void a_statement_in_use_is_not_lent_twice(void **state)
{
    (void)state;
    static const char sql[] = "SELECT id FROM entry WHERE sheet_id = ?1 ORDER BY id";
    ch_err err = {0};
    bool more = false;
    sqlite3_stmt *one = NULL, *other = NULL;
    kit_good(enter(&err), &err);
    kit_good(enter(&err), &err);
    kit_good(store_prepare(store, &one, &err, sql, "i", sheet), &err);
    kit_good(store_step(store, one, &more, &err), &err);
    const int64_t first = sqlite3_column_int64(one, 0);
    kit_good(store_prepare(store, &other, &err, sql, "i", sheet), &err);
    assert_true(one != other);
    kit_good(store_step(store, other, &more, &err), &err);
    assert_int_equal(sqlite3_column_int64(other, 0), first);
    kit_good(store_step(store, one, &more, &err), &err);
    assert_true(more && sqlite3_column_int64(one, 0) > first);
    store_release(store, one);
    store_release(store, other);
    store_release(store, NULL);
    /* begun in the middle of what it was doing, it starts anew */
    kit_good(store_prepare(store, &one, &err, sql, "i", sheet), &err);
    kit_good(store_step(store, one, &more, &err), &err);
    assert_int_equal(sqlite3_column_int64(one, 0), first);
    store_release(store, one);
}

/* Else a text that SQLite does not give back as it was given would fill the place with itself. */
static void whatever_is_done_no_statement_is_kept_twice(void **state)
{
    (void)state;
    ch_sheet demo;
    deed_place base = {0};
    ch_err err = {0};
    kit_good(deeds_demo(&demo, &err), &err);
    kit_good(deeds_base(store, &demo, &base, &err), &err);
    for (size_t i = 0; i < deeds_count + small_deeds_count; i++) {
        const deed *d = i < deeds_count ? &deeds[i] : &small_deeds[i - deeds_count];
        for (int time = 0; time < 2; time++) {
            deed_place place = base;
            place.n = 100 + (int)i;
            err = (ch_err){0};
            (void)d->act(store, &place, &err); /* some cannot be done twice, or after another */
            for (size_t k = 1; k < store->kept.count; k++)
                for (size_t j = 0; j < k; j++)
                    if (strcmp(sqlite3_sql(store->kept.idle[j]), sqlite3_sql(store->kept.idle[k])) == 0)
                        fail_msg("%s: %s", d->name, sqlite3_sql(store->kept.idle[k]));
        }
    }
    assert_true(store->kept.count > STORE_KEPT_MAX / 2);
    ch_sheet_clear(&demo);
}

static void a_statement_that_failed_is_not_kept(void **state)
{
    (void)state;
    static const char sql[] = "INSERT INTO sheet (opened_s, changed_s) VALUES (NULL, ?1)";
    ch_err err = {0};
    assert_int_equal(store_run(store, &err, sql, "i", (int64_t)1), CH_E_INPUT);
    assert_null(store_kept_take(&store->kept, sql));
    err = (ch_err){0};
    kit_good(enter(&err), &err);
    fail_call_at(FAIL_BIND, 1);
    assert_int_equal(enter(&err), CH_E_MEMORY);
    assert_true(fail_call_stop());
    err = (ch_err){0};
    kit_good(enter(&err), &err);
    assert_int_equal(kit_count(store, sheet), 2);
}

static void a_pragma_works_each_time(void **state)
{
    (void)state;
    ch_err err = {0};
    int64_t on = -1;
    for (int i = 0; i < 3; i++) {
        kit_good(store_run(store, &err, "PRAGMA foreign_keys = OFF", ""), &err);
        kit_good(store_number(store, &on, -1, &err, "PRAGMA foreign_keys", ""), &err);
        assert_int_equal(on, 0);
        kit_good(store_run(store, &err, "PRAGMA foreign_keys = ON", ""), &err);
        kit_good(store_number(store, &on, -1, &err, "PRAGMA foreign_keys", ""), &err);
        assert_int_equal(on, 1);
    }
}

static void what_is_kept_follows_a_schema_that_another_program_changed(void **state)
{
    (void)state;
    ch_err err = {0};
    sqlite3 *other = NULL;
    kit_good(enter(&err), &err);
    assert_int_equal(sqlite3_open(kit_path("garage.db"), &other), SQLITE_OK);
    assert_int_equal(sqlite3_exec(other, "CREATE INDEX entry_by_time ON entry (entered_s)", NULL, NULL, NULL),
                     SQLITE_OK);
    kit_good(enter(&err), &err);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM entry INDEXED BY entry_by_time"), 2);
    assert_int_equal(sqlite3_exec(other,
                                  "DROP INDEX entry_by_time; CREATE TRIGGER no_more BEFORE INSERT ON entry BEGIN"
                                  " SELECT raise(ABORT, 'no more of them'); END",
                                  NULL, NULL, NULL),
                     SQLITE_OK);
    assert_int_equal(enter(&err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "no more of them"));
    assert_int_equal(sqlite3_exec(other, "DROP TRIGGER no_more", NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(other);
    err = (ch_err){0};
    kit_good(enter(&err), &err);
    assert_int_equal(kit_count(store, sheet), 3);
    kit_verify(store);
}

static void closing_gives_all_memory_back(void **state)
{
    (void)state;
    ch_err err = {0};
    sqlite3_int64 used[3];
    for (int i = 0; i < 3; i++) {
        ch_store_close(store);
        store = NULL;
        used[i] = sqlite3_memory_used();
        store = kit_open();
        kit_good(enter(&err), &err);
        assert_true(store->kept.count > 5);
        assert_true(sqlite3_memory_used() > used[i]);
    }
    assert_int_equal(used[1], used[0]);
    assert_int_equal(used[2], used[0]);
}

/* Whatever fails within a statement that was kept, the entry is refused whole, and the next is taken. */
static void expect_whole(bool failed, ch_status rc, ch_status wanted, const ch_err *err, size_t *entries)
{
    ch_err ignored = {0};
    if (rc < 0) {
        assert_true(failed);
        assert_int_equal(rc, wanted);
        assert_true(err->what[0] != '\0');
    }
    *entries += rc >= 0;
    assert_int_equal(kit_count(store, sheet), *entries);
    kit_good(enter(&ignored), &ignored); /* all is kept again */
    assert_int_equal(kit_count(store, sheet), ++*entries);
}

static void want_of_memory_within_a_kept_statement_refuses_the_entry(void **state)
{
    (void)state;
    ch_err err = {0};
    size_t entries = 1;
    long refused = 0;
    bool failed = true;
    kit_good(enter(&err), &err);
    for (long n = 1; failed; n++) {
        err = (ch_err){0};
        fail_sqlite_at(n);
        const ch_status rc = enter(&err);
        failed = fail_sqlite_stop();
        refused += rc < 0;
        expect_whole(failed, rc, CH_E_MEMORY, &err, &entries);
    }
    assert_true(refused > 5);
    kit_verify(store);
}

static void a_disk_that_fails_within_a_kept_statement_refuses_the_entry(void **state)
{
    (void)state;
    static const fail_kind kinds[] = {FAIL_WRITE, FAIL_FULL, FAIL_FLUSH};
    ch_err err = {0};
    size_t entries = 1;
    kit_good(enter(&err), &err);
    for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++) {
        long refused = 0;
        bool failed = true;
        for (long n = 1; failed; n++) {
            err = (ch_err){0};
            fail_disk_at(kinds[k], n, false);
            const ch_status rc = enter(&err);
            failed = fail_disk_stop();
            refused += rc < 0;
            expect_whole(failed, rc, CH_E_IO, &err, &entries);
        }
        assert_true(refused > 0);
    }
    kit_verify(store);
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROMISE(an_entry_like_the_one_before_prepares_nothing),
        PROMISE(what_is_kept_holds_no_value_and_no_lock),
        PROMISE(what_was_not_asked_for_longest_gives_way),
        PROMISE(a_statement_in_use_is_not_lent_twice),
        PROMISE(whatever_is_done_no_statement_is_kept_twice),
        PROMISE(a_statement_that_failed_is_not_kept),
        PROMISE(a_pragma_works_each_time),
        PROMISE(what_is_kept_follows_a_schema_that_another_program_changed),
        PROMISE(closing_gives_all_memory_back),
        PROMISE(want_of_memory_within_a_kept_statement_refuses_the_entry),
        PROMISE(a_disk_that_fails_within_a_kept_statement_refuses_the_entry),
    };
    fail_sqlite_begin();
    fail_disk_begin();
    return cmocka_run_group_tests_name("store_kept", tests, NULL, NULL);
}
