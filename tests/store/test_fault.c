/*
 * Whatever fails while a change is made, the garage file afterwards is as it was before the call or as it is after one that succeeds,
 * and `verify` finds it whole. What is done and what fails stands in fault_run.h; here up to two faults of each kind for each operation, in
 * bench/study_store_faults.c all.
 */
#include <stdlib.h>
#include <string.h>

#include "../unit/fail_alloc.h"
#include "fail_disk.h"
#include "fault_run.h"
#include "kit.h"

enum { MOST = 2 };

static void nothing_is_lost_or_half_done_whatever_fails(void **state)
{
    (void)state;
    char *dumps[CH_STORE_VERSION] = {0};
    for (int version = 1; version < CH_STORE_VERSION; version++) {
        char name[512];
        size_t length = 0;
        snprintf(name, sizeof name, "%s/tests/store/garage-v%d.sql", getenv("CROSSHATCH_SOURCE"), version);
        dumps[version - 1] = kit_bytes(name, &length);
        assert_non_null(dumps[version - 1]);
    }
    fault_result r;
    char folder[400];
    snprintf(folder, sizeof folder, "%s", kit_path("."));
    if (!fault_run(folder, (const char *const *)dumps, fail_alloc_most(MOST), &r))
        fail_msg("no run: %s", r.first);
    for (int version = 1; version < CH_STORE_VERSION; version++)
        free(dumps[version - 1]);
    if (r.failed > 0)
        fail_msg("%ld faults, first: %s", r.failed, r.first);
    assert_true(r.operations > 30);
    for (int kind = 0; kind < FAULT_KINDS; kind++)
        assert_true(r.faults[kind] > 0);
    assert_true(r.refused > 500);
}

static void a_full_disk_is_called_one(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_err err = {0};
    const ch_store_row reading = kit_row(2, "178 psi");
    const int64_t sheet = kit_sheet(store);
    fail_disk_at(FAIL_FULL, 1, true);
    assert_int_equal(ch_store_row_add(store, sheet, &reading, NULL, KIT_NOW, NULL, &err), CH_E_IO);
    fail_disk_stop();
    assert_non_null(strstr(err.what, "the disk is full"));
    kit_good(ch_store_row_add(store, sheet, &reading, NULL, KIT_NOW, NULL, NULL), NULL); /* once there is room again */
    ch_store_close(store);
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, kit_begin, kit_end)

int main(void)
{
    fault_run_begin();
    const struct CMUnitTest tests[] = {
        PROMISE(nothing_is_lost_or_half_done_whatever_fails),
        PROMISE(a_full_disk_is_called_one),
    };
    return cmocka_run_group_tests_name("store_fault", tests, NULL, NULL);
}
