/*
 * Whatever statement, value or allocation fails while something is done to a garage file, it is refused as want of memory with a line, the file holds what it held before,
 * and the same again works. What the disk does stands in test_fault.c; here only calls fail, so that all of them can: an operation is of some dozen.
 */
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

#include "../unit/fail_alloc.h"
#include "deeds.h"
#include "fail_call.h"
#include "kit.h"

enum { FAIL_MEMORY = FAIL_CALL_KINDS, KINDS };

static const char *const kind_names[KINDS] = {"statement", "step", "value in", "value out", "allocation"};

/* The file that each deed begins with. */
static struct {
    char *bytes;
    size_t length;
    ch_sheet demo;
    deed_place place;
} base;

static int begin(void **state)
{
    ch_err err = {0};
    if (kit_begin(state) != 0 || deeds_demo(&base.demo, &err) < 0)
        return -1;
    ch_store *store = kit_open();
    kit_good(deeds_base(store, &base.demo, &base.place, &err), &err);
    ch_store_close(store);
    base.place.n = 51;
    base.bytes = kit_bytes(kit_path("garage.db"), &base.length);
    return 0;
}

static int end(void **state)
{
    free(base.bytes);
    ch_sheet_clear(&base.demo);
    return kit_end(state);
}

/* What another connection sees; its number of the file's content is another once anything was committed. */
static sqlite3 *watcher;

static int64_t content(void)
{
    sqlite3_stmt *q = NULL;
    assert_int_equal(sqlite3_prepare_v2(watcher, "PRAGMA data_version", -1, &q, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_step(q), SQLITE_ROW);
    const int64_t number = sqlite3_column_int64(q, 0);
    sqlite3_finalize(q);
    return number;
}

static ch_store *open_base(void)
{
    ch_store *store = NULL;
    ch_err err = {0};
    FILE *file = fopen(kit_path("garage.db"), "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(base.bytes, 1, base.length, file), base.length);
    assert_int_equal(fclose(file), 0);
    kit_good(ch_store_open(kit_path("garage.db"), CH_STORE_OPEN, &store, &err), &err);
    return store;
}

/* The nth call of this kind fails while the deed is done, by statements that are kept where they are not what fails. False where it has fewer: then it was done. */
static bool try_call(ch_store *store, const deed *d, int kind, long n)
{
    ch_err err = {0};
    char line[512];
    deed_place place = base.place;
    const int64_t before = content();
    if (kind == FAIL_PREPARE)
        kit_forget_statements(store);
    if (kind == FAIL_MEMORY)
        fail_alloc_at(n);
    else
        fail_call_at((fail_call_kind)kind, n);
    const ch_status rc = d->act(store, &place, &err);
    const bool failed = kind == FAIL_MEMORY ? fail_alloc_stop() : fail_call_stop();
    ch_err_format(&err, line, sizeof line);
    if (failed ? rc != CH_E_MEMORY || err.status != rc || err.what[0] == '\0' : rc < 0)
        fail_msg("%s, %s %ld%s: status %d: %s", d->name, kind_names[kind], n, failed ? "" : " (not met)", (int)rc,
                 line);
    if ((content() == before) != (failed || d->reads))
        fail_msg("%s, %s %ld: %s", d->name, kind_names[kind], n, failed ? "refused, and done" : "done, and not there");
    return failed;
}

/* Of each kind the first calls one by one, then fewer and fewer; the last time none is met. A look through the whole file takes long, and goes round in loops. */
static void try_all(const deed list[], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const long one_by_one = strcmp(list[i].name, "a verification") == 0 ? 20 : 40;
        for (int kind = 0; kind < KINDS; kind++) {
            ch_store *store = open_base();
            assert_int_equal(sqlite3_open_v2(kit_path("garage.db"), &watcher, SQLITE_OPEN_READWRITE, NULL), SQLITE_OK);
            long n = 1;
            while (try_call(store, &list[i], kind, n))
                n += n < one_by_one ? 1 : n / 8;
            assert_true(n > 1 || kind == FAIL_MEMORY || kind == FAIL_COLUMN);
            sqlite3_close(watcher);
            ch_store_close(store);
        }
    }
}

static void whatever_call_fails_a_deed_is_refused_whole(void **state)
{
    (void)state;
    try_all(deeds, deeds_count);
}

static void whatever_call_fails_a_small_deed_is_refused_whole(void **state)
{
    (void)state;
    try_all(small_deeds, small_deeds_count);
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROMISE(whatever_call_fails_a_deed_is_refused_whole),
        PROMISE(whatever_call_fails_a_small_deed_is_refused_whole),
    };
    return cmocka_run_group_tests_name("store_calls", tests, NULL, NULL);
}
