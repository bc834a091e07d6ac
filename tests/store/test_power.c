/*
 * The power goes at some moment of a garage's life: what was acknowledged is there, and the file verifies. 100 moments here; ten thousand in
 * bench/study_power_loss.c. What is assumed of a disk stands in lose_power.h.
 */
#include <stdlib.h>

#include "kit.h"
#include "power_import.h"

enum { POINTS = 100, IMPORT_POINTS = 20 };

static void expect_none_lost(const power_result *r)
{
    if (r->failed > 0)
        fail_msg("%ld of %ld cuts, first: %s", r->failed, r->points, r->first);
    assert_true(r->toll.lost > r->points); /* else there was nothing to lose */
}

static void what_was_acknowledged_survives_power_cuts(void **state)
{
    (void)state;
    power_result r;
    if (!power_run(kit_path(""), 120, POINTS, 20270116, false, &r))
        fail_msg("%s", r.first);
    assert_int_equal(r.points, POINTS);
    assert_true(r.refused < r.steps / 5);
    assert_true(r.in_vain > POINTS / 10 && r.in_vain < POINTS);
    expect_none_lost(&r);
}

static void power_cuts_while_an_older_file_is_brought_up_to_date_lose_nothing(void **state)
{
    (void)state;
    for (int version = 1; version < CH_STORE_VERSION; version++) {
        char name[512];
        size_t length = 0;
        power_result r;
        snprintf(name, sizeof name, "%s/tests/store/garage-v%d.sql", getenv("CROSSHATCH_SOURCE"), version);
        char *dump = kit_bytes(name, &length);
        assert_non_null(dump);
        if (!power_run_migration(kit_path(""), dump, version, POINTS / 5, (uint64_t)version, &r))
            fail_msg("%s", r.first);
        free(dump);
        assert_int_equal(r.points, POINTS / 5);
        expect_none_lost(&r);
    }
}

static void power_cuts_while_a_garage_is_brought_in_leave_the_old_one_or_the_new(void **state)
{
    (void)state;
    for (int way = 0; way < IMPORT_WAYS; way++) {
        power_result r;
        if (!power_run_import(kit_path(""), (power_import_way)way, IMPORT_POINTS, (uint64_t)way, false, &r))
            fail_msg("%s", r.first);
        assert_int_equal(r.points, IMPORT_POINTS);
        assert_true(r.in_vain > 0 && r.in_vain < IMPORT_POINTS);
        expect_none_lost(&r);
    }
}

/* Flushes that do nothing must be seen as losses: else the tests above could not fail. */
static void a_disk_that_lies_about_flushing_is_found_out(void **state)
{
    (void)state;
    power_result r;
    if (!power_run(kit_path(""), 60, 30, 20270117, true, &r))
        fail_msg("%s", r.first);
    assert_true(r.failed > 15);
    for (int way = 0; way < IMPORT_WAYS; way++) {
        if (!power_run_import(kit_path(""), (power_import_way)way, 20, (uint64_t)way, true, &r))
            fail_msg("%s", r.first);
        assert_true(r.failed > 0);
    }
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, kit_begin, kit_end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROMISE(what_was_acknowledged_survives_power_cuts),
        PROMISE(power_cuts_while_an_older_file_is_brought_up_to_date_lose_nothing),
        PROMISE(power_cuts_while_a_garage_is_brought_in_leave_the_old_one_or_the_new),
        PROMISE(a_disk_that_lies_about_flushing_is_found_out),
    };
    return cmocka_run_group_tests_name("store_power", tests, NULL, NULL);
}
