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

/* ---- rows by hand, against a sum over small slices ---- */

enum { MOST = 400 };

typedef struct drive {
    size_t n;
    double time_s[MOST], engine_rad_s[MOST], road_m_s[MOST];
    uint32_t segment[MOST];
} drive;

/* In batches of at most so many rows, each of one segment. */
static ch_drivelog_use use_of_drive(const drive *d, double above_rad_s, size_t most)
{
    ch_drivelog_use use;
    memset(&use, 0x55, sizeof use);
    ch_drivelog_use_init(&use, above_rad_s);
    for (size_t at = 0; at < d->n;) {
        size_t n = 1;
        while (at + n < d->n && n < most && d->segment[at + n] == d->segment[at])
            n++;
        const ch_drivelog_rows rows = {.n = n,
                                       .first = at,
                                       .segment = d->segment[at],
                                       .time_s = d->time_s + at,
                                       .engine_speed_rad_s = d->engine_rad_s + at,
                                       .road_speed_m_s = d->road_m_s + at};
        assert_int_equal(ch_drivelog_use_take(&rows, &use, NULL), CH_OK);
        at += n;
    }
    return use;
}

/* The time between two rows in a thousand slices, each counted by the speed in its middle. */
static double time_at_or_above(double step_s, double a, double b, double least)
{
    enum { SLICES = 1000 };
    int above = 0;
    for (int i = 0; i < SLICES; i++)
        above += a + (b - a) * (i + 0.5) / SLICES >= least;
    return step_s * above / SLICES;
}

static void sums_are_those_over_small_slices(void **state)
{
    (void)state;
    uint64_t seed = 4711;
    for (int round = 0; round < 12; round++) {
        static drive d;
        double logged_s = 0, running_s = 0, above_s = 0, unknown_s = 0, distance_m = 0, t = 0;
        unsigned starts = 0;
        bool stood = false;
        const double above_rad_s = 300.0;
        d.n = MOST;
        for (size_t i = 0; i < MOST; i++) {
            seed = seed * 6364136223846793005u + 1442695040888963407u; /* D. E. Knuth's MMIX */
            const unsigned draw = (unsigned)(seed >> 40);
            static const double engines[] = {0, 20, 41.88, 41.8879020478639, 41.9, 90, 250, 299, 300, 301, 500, 700};
            t += (draw & 15) == 0 ? 2.5 : (draw & 15) == 1 ? 2.0 : 0.25;
            d.time_s[i] = t;
            d.segment[i] = i == 0 ? 0 : d.segment[i - 1] + ((draw >> 4 & 31) == 0);
            d.engine_rad_s[i] = (draw >> 9 & 15) == 0 ? NAN : engines[(draw >> 13) % 12];
            d.road_m_s[i] = (draw >> 17 & 7) == 0 ? NAN : (double)(draw >> 18 & 31);
            if (i > 0 && d.segment[i] == d.segment[i - 1] && d.time_s[i] - d.time_s[i - 1] < 2.25) {
                const double step_s = d.time_s[i] - d.time_s[i - 1], a = d.engine_rad_s[i - 1], b = d.engine_rad_s[i];
                logged_s += step_s;
                unknown_s += isnan(a + b) ? step_s : 0;
                running_s += isnan(a + b) ? 0 : time_at_or_above(step_s, a, b, 41.8879020478639);
                above_s += isnan(a + b) ? 0 : time_at_or_above(step_s, a, b, above_rad_s);
                distance_m +=
                    isnan(d.road_m_s[i - 1] + d.road_m_s[i]) ? 0 : step_s * (d.road_m_s[i - 1] + d.road_m_s[i]) / 2;
            }
            if (d.engine_rad_s[i] > 41.887902) {
                starts += stood;
                stood = false;
            } else if (d.engine_rad_s[i] < 41.887902) {
                stood = true;
            }
        }
        static const size_t batches[] = {1, 7, MOST};
        for (size_t k = 0; k < 3; k++) {
            const ch_drivelog_use use = use_of_drive(&d, above_rad_s, batches[k]);
            expect_close(use.logged_s, logged_s, 1e-9);
            expect_close(use.unknown_s, unknown_s, 1e-9);
            expect_close(use.distance_m, distance_m, 1e-9);
            expect_close(use.running_s, running_s, 0.0005 * MOST); /* half a slice of a second each, at the most */
            expect_close(use.above_s, above_s, 0.0005 * MOST);
            assert_int_equal(use.starts, starts);
            assert_true(use.above_rad_s == above_rad_s);
            const ch_drivelog_use none = use_of_drive(&d, NAN, batches[k]);
            expect_close(none.above_s, 0.0, 0.0);
            expect_close(none.running_s, use.running_s, 0.0);
        }
    }
}

/* One stretch of a second each: what lies at 400 r/min or more, exactly. */
static void a_stretch_counts_by_the_share_of_it_that_is_fast_enough(void **state)
{
    (void)state;
    static const struct {
        double a, b, share; /* in r/min */
    } stretches[] = {{400, 400, 1}, {399, 399, 0},    {400, 300, 0},   {300, 400, 0},   {400, 500, 1},
                     {500, 400, 1}, {300, 500, 0.5},  {500, 300, 0.5}, {0, 800, 0.5},   {390, 410, 0.5},
                     {0, 500, 0.2}, {350, 550, 0.75}, {0, 0, 0},       {6000, 6000, 1}, {399, 401, 0.5}};
    for (size_t i = 0; i < sizeof stretches / sizeof stretches[0]; i++) {
        const drive d = {.n = 2,
                         .time_s = {10, 11},
                         .engine_rad_s = {stretches[i].a / 400 * CH_DRIVELOG_RUNS_RAD_S,
                                          stretches[i].b / 400 * CH_DRIVELOG_RUNS_RAD_S},
                         .road_m_s = {3, 5}};
        const ch_drivelog_use use = use_of_drive(&d, CH_DRIVELOG_RUNS_RAD_S, 2);
        expect_close(use.running_s, stretches[i].share, 1e-12);
        expect_close(use.above_s, stretches[i].share, 1e-12);
        expect_close(use.distance_m, 4, 0);
        assert_int_equal(use.starts, stretches[i].a < 400 && stretches[i].b >= 400);
    }
    /* two seconds are a stretch, more are a gap; a speed that is not there counts for nothing, one without end neither */
    for (int k = 0; k < 4; k++) {
        const double steps_s[] = {2.0, 2.0009765625, 1, 1}, roads[] = {10, 10, NAN, INFINITY};
        const drive d = {.n = 2, .time_s = {8, 8 + steps_s[k]}, .engine_rad_s = {100, 100}, .road_m_s = {10, roads[k]}};
        const drive back = {.n = 2, .time_s = {8, 9}, .engine_rad_s = {100, 100}, .road_m_s = {roads[k], 10}};
        const ch_drivelog_use use = use_of_drive(&d, NAN, 1);
        expect_close(use.logged_s, k == 1 ? 0 : steps_s[k], 0);
        expect_close(use.running_s, use.logged_s, 0);
        expect_close(use.distance_m, k == 0 ? 20 : 0, 0);
        expect_close(use_of_drive(&back, NAN, 2).distance_m, k < 2 ? 10 : 0, 0);
    }
    ch_drivelog_use fresh;
    memset(&fresh, 0x55, sizeof fresh);
    ch_drivelog_use_init(&fresh, 123);
    assert_true(fresh.logged_s + fresh.running_s + fresh.above_s + fresh.unknown_s + fresh.distance_m == 0 &&
                fresh.starts == 0 && fresh.above_rad_s == 123);
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
        cmocka_unit_test(sums_are_those_over_small_slices),
        cmocka_unit_test(a_stretch_counts_by_the_share_of_it_that_is_fast_enough),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
