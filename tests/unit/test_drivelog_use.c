/* Promises of the hours out of a logged run. Logs and figures are invented; each expectation is worked out by hand beside it. */
#include "crosshatch/drivelog_use.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "expect.h"

static const double RAD_S_PER_RPM = 0.10471975511965977; /* pi/30 */

static ch_drivelog_use use_of(const char *text, double above_rpm)
{
    ch_drivelog_use use;
    ch_drivelog *log = NULL;
    ch_err err = {0};
    ch_drivelog_use_init(&use, above_rpm * RAD_S_PER_RPM);
    assert_int_equal(ch_drivelog_open(NULL, ch_drivelog_use_take, &use, &log, &err), CH_OK);
    ch_status rc = ch_drivelog_feed(log, text, strlen(text), &err);
    if (rc >= 0)
        rc = ch_drivelog_finish(log, &err);
    if (rc < 0)
        print_error("%s: %s\n", err.what, err.right);
    assert_int_equal(rc, CH_OK);
    ch_drivelog_close(log);
    return use;
}

static void a_run_is_counted_by_its_rows(void **state)
{
    (void)state;
    /* 1 s apart: standing, started, idling, pulling away evenly. */
    const ch_drivelog_use use =
        use_of("time,rpm,speed\n0,0,0\n1,0,0\n2,800,0\n3,800,0\n4,4000,36\n5,6000,72\n6,6000,72\n", 5000.0);
    expect_close(use.logged_s, 6.0, 1e-9);
    /* from 0 to 800 rpm within a second it is at 400 or more for half of it; then four seconds */
    expect_close(use.running_s, 4.5, 1e-9);
    /* from 4000 to 6000 half of the second, then one */
    expect_close(use.above_s, 1.5, 1e-9);
    /* 0 to 10 m/s within a second: 5 m; 10 to 20: 15 m; then 20 m */
    expect_close(use.distance_m, 40.0, 1e-9);
    assert_int_equal(use.starts, 1);
    expect_close(use.unknown_s, 0.0, 0.0);
}

static void what_runs_at_the_beginning_was_not_started_in_the_log(void **state)
{
    (void)state;
    const ch_drivelog_use use = use_of(
        "time,rpm,speed\n0,3000,50\n1,3000,50\n2,0,50\n3,0,50\n4,900,50\n5,900,50\n6,200,40\n7,900,40\n", 5000.0);
    assert_int_equal(use.starts, 2); /* after 2 s, and after the stall at 6 s: 200 rpm is what a starter turns */
    expect_close(use.above_s, 0.0, 0.0);
}

static void without_a_chosen_speed_nothing_is_above_it(void **state)
{
    (void)state;
    const ch_drivelog_use use = use_of("time,rpm,speed\n0,3000,50\n1,3000,50\n", NAN);
    expect_close(use.running_s, 1.0, 1e-9);
    expect_close(use.above_s, 0.0, 0.0);
}

static void gaps_and_new_clocks_count_as_nothing(void **state)
{
    (void)state;
    /* 3 s, then nothing for 57 s, then 2 s; then the logger was started again */
    const ch_drivelog_use use =
        use_of("time,rpm,speed\n0,3000,36\n1,3000,36\n2,3000,36\n3,3000,36\n60,3000,36\n61,3000,36\n62,3000,36\n"
               "0,3000,36\n1,3000,36\n2,3000,36\n3,3000,36\n4,3000,36\n",
               NAN);
    expect_close(use.logged_s, 3.0 + 2.0 + 4.0, 1e-9);
    expect_close(use.running_s, 9.0, 1e-9);
    expect_close(use.distance_m, 90.0, 1e-9);
}

static void time_without_an_engine_speed_is_told_apart(void **state)
{
    (void)state;
    const ch_drivelog_use use = use_of(
        "time,rpm,speed\n0,3000,36\n1,3000,36\n2,,36\n3,,36\n4,,36\n5,,36\n6,,36\n7,,36\n8,3000,36\n9,3000,36\n", NAN);
    expect_close(use.logged_s, 9.0, 1e-9);
    expect_close(use.running_s + use.unknown_s, 9.0, 1e-9);
    assert_true(use.unknown_s >= 5.0);
    expect_close(use.distance_m, 90.0, 1e-9);
}

/* However the rows come in batches: the same sums. */
static void a_long_log_is_counted_over_its_batches(void **state)
{
    (void)state;
    enum { ROWS = 5000, ROW_SIZE = 32 };
    char *text = malloc(ROWS * ROW_SIZE + 64);
    assert_non_null(text);
    size_t used = (size_t)sprintf(text, "time,rpm,speed\n");
    for (int i = 0; i < ROWS; i++)
        used += (size_t)sprintf(text + used, "%.1f,%d,72\n", 0.1 * i, i % 2 == 0 ? 3000 : 5000);
    const ch_drivelog_use use = use_of(text, 4000.0);
    /* up and down between 3000 and 5000: half of the time above 4000. 4999 steps of 0.1 s, whose sum rounds. */
    expect_close(use.logged_s, 499.9, 1e-6);
    expect_close(use.above_s, 249.95, 1e-6);
    expect_close(use.distance_m, 499.9 * 20.0, 1e-5);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_run_is_counted_by_its_rows),
        cmocka_unit_test(what_runs_at_the_beginning_was_not_started_in_the_log),
        cmocka_unit_test(without_a_chosen_speed_nothing_is_above_it),
        cmocka_unit_test(gaps_and_new_clocks_count_as_nothing),
        cmocka_unit_test(time_without_an_engine_speed_is_told_apart),
        cmocka_unit_test(a_long_log_is_counted_over_its_batches),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
