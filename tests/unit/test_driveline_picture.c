/* The points of a run for its charts, and causes weighed anew: bounded, in order, dense about slips, and the same answer as the first time. */
#include "crosshatch/driveline.h"

#include <stdlib.h>
#include <string.h>

#include "drive_judge.h"
#include "drive_knowledge.h"
#include "expect.h"

static drive_options slipping(double seconds)
{
    return (drive_options){.seed = 5,
                           .car = &drive_cars[1],
                           .logger = {.rate_hz = 25, .road_lag_s = 0.2, .road_gain = 1, .throttle = true},
                           .seconds = seconds,
                           .low_gear = true,
                           .slipping = true};
}

typedef struct judged {
    drive_run run;
    ch_driveline_run *open;
    ch_driveline d;
    const ch_drive_point *point;
    size_t points;
} judged;

static void judge(const drive_options *o, judged *j)
{
    ch_err err = {0};
    *j = (judged){.open = NULL};
    assert_true(drive(o, &j->run));
    ch_status rc = ch_driveline_open(NULL, &j->open, &err);
    if (rc >= 0)
        rc = drive_feed(&j->run, j->open, &err);
    if (rc >= 0)
        rc = ch_driveline_finish(j->open, &clutch, NULL, 0, &j->d, &err);
    if (rc < 0)
        fail_msg("%s", err.what);
    j->point = ch_driveline_picture(j->open, &j->points);
}

static void give_back(judged *j)
{
    ch_driveline_clear(&j->d);
    ch_driveline_close(j->open);
    drive_run_free(&j->run);
}

static void points_are_bounded_in_order_and_reach_from_end_to_end(void **state)
{
    (void)state;
    static const double seconds[] = {60, 600, 3600};
    for (size_t k = 0; k < sizeof seconds / sizeof seconds[0]; k++) {
        judged j;
        const drive_options o = slipping(seconds[k]);
        judge(&o, &j);
        assert_in_range(j.points, 500, CH_DRIVELINE_POINTS_MAX);
        for (size_t i = 1; i < j.points; i++)
            assert_true(j.point[i].time_s > j.point[i - 1].time_s);
        assert_true((double)j.point[0].time_s < 5);
        assert_true((double)j.point[j.points - 1].time_s > seconds[k] - 10);
        give_back(&j);
    }
}

/* Rows come 25 a second: of a slip at least every 0.05 s one, but for the two ends. */
static double share_seen(const judged *j, const ch_slip *slip)
{
    size_t inside = 0;
    for (size_t i = 0; i < j->points; i++)
        inside += (double)j->point[i].time_s >= slip->start_s && (double)j->point[i].time_s <= slip->end_s;
    return (double)(inside + 2) / ((slip->end_s - slip->start_s) * 20);
}

static void slips_are_seen_from_near_and_alike(void **state)
{
    (void)state;
    static const double seconds[] = {200, 3600},
                        least_1[] = {1, 0.09}; /* two hundred slips share the points: two a second and somewhat fewer */
    for (size_t k = 0; k < sizeof seconds / sizeof seconds[0]; k++) {
        judged j;
        const drive_options o = slipping(seconds[k]);
        judge(&o, &j);
        assert_true(j.d.slips > 5);
        for (size_t i = 0; i < j.d.slips; i++)
            assert_true(share_seen(&j, &j.d.slip[i]) >= least_1[k]);
        give_back(&j);
    }
}

static void points_in_gear_lie_on_its_line(void **state)
{
    (void)state;
    judged j;
    const drive_options o = slipping(300);
    judge(&o, &j);
    size_t on = 0;
    for (size_t i = 0; i < j.points; i++)
        for (size_t g = 0; g < j.d.gears && j.point[i].gear > 0; g++)
            if (j.d.gear[g].number == (int)j.point[i].gear) {
                const double line_rad_m = (double)j.point[i].engine_speed_rad_s / (double)j.point[i].road_speed_m_s;
                expect_relative(line_rad_m, j.d.gear[g].line_rad_m, 0.03);
                on++;
            }
    assert_true(on > j.points / 3);
    give_back(&j);
}

static void weighed_anew_without_anything_new_is_the_same(void **state)
{
    (void)state;
    judged j;
    const drive_options o = slipping(300);
    judge(&o, &j);
    ch_driveline again = j.d;
    memset(again.cause_1, 0, sizeof again.cause_1);
    again.next_checks = 0;
    ch_driveline_weigh(&clutch, NULL, 0, &again);
    assert_memory_equal(again.cause_1, j.d.cause_1, sizeof again.cause_1);
    assert_int_equal(again.next_checks, j.d.next_checks);
    assert_int_equal(again.patterns, j.d.patterns);
    const ch_driveline_seen oil = {.sign = ch_clutch_sign_find(&clutch, "oil_at_drain_hole", 17), .present = true};
    ch_driveline_weigh(&clutch, &oil, 1, &again);
    assert_true(again.cause_1[CH_CLUTCH_OIL_CONTAMINATED] > 2 * j.d.cause_1[CH_CLUTCH_OIL_CONTAMINATED]);
    give_back(&j);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(points_are_bounded_in_order_and_reach_from_end_to_end),
        cmocka_unit_test(slips_are_seen_from_near_and_alike),
        cmocka_unit_test(points_in_gear_lie_on_its_line),
        cmocka_unit_test(weighed_anew_without_anything_new_is_the_same),
    };
    return cmocka_run_group_tests(tests, open_knowledge, close_knowledge);
}
