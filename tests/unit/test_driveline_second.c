/*
 * Promises of src/driveline in a world that it was not made with (second_run.c): torques, tyres that creep, slopes, drivers with other habits, receivers that lose their
 * satellites. The study (bench/study_driveline.c, "second") counts over hundreds.
 */
#include "drive_judge.h"
#include "drive_knowledge.h"
#include "expect.h"
#include "second_run.h"

static ch_driveline judged(const second_wish *wish, drive_options *options, second_told *told, drive_run *run)
{
    ch_driveline d = {0};
    ch_err err = {0};
    assert_true(second_drive(wish, options, told, run));
    if (drive_judge(run, NULL, &clutch, NULL, 0, &d, &err) < 0)
        fail_msg("%s", err.what);
    return d;
}

static void let_go(ch_driveline *d, drive_run *run)
{
    ch_driveline_clear(d);
    drive_run_free(run);
}

static void expect_no_slip(const second_wish *wish)
{
    drive_run run;
    drive_options o;
    second_told told;
    ch_driveline d = judged(wish, &o, &told, &run);
    if (d.slips > 0)
        fail_msg("seed %d: slip at %.2f s", (int)wish->seed, d.slip[0].start_s);
    assert_true(run.shifts > 10);
    let_go(&d, &run);
}

static void a_sound_car_of_another_world_has_no_slip(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 24; seed++) {
        const second_wish wish = {.seed = seed, .seconds = 240, .wheelspin = seed % 3 != 0, .creep = seed % 2 == 0};
        expect_no_slip(&wish);
    }
}

/* The engine flares with the clutch pressed and the throttle open, as it does with a clutch that lets go; but the car gains no speed. */
static void changing_up_without_lifting_is_no_slip(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 30; seed++) {
        const second_wish wish = {.seed = seed, .seconds = 240, .flat = true};
        expect_no_slip(&wish);
    }
}

/* Road speed that stays as it was for a second or two while the engine goes on. */
static void a_receiver_that_loses_its_satellites_is_no_slip(void **state)
{
    (void)state;
    for (uint64_t seed = 31; seed <= 42; seed++) {
        const second_wish wish = {.seed = seed, .seconds = 300, .source = SECOND_SATELLITE};
        expect_no_slip(&wish);
    }
}

/* Driven tyres run ahead of the road by a percent and more while they pull, and the lines are those of the gears all the same. */
static void tyres_that_creep_do_not_bend_the_lines(void **state)
{
    (void)state;
    size_t gears = 0, right = 0;
    for (uint64_t seed = 1; seed <= 16; seed++) {
        drive_run run;
        drive_options o;
        second_told told;
        const second_wish wish = {
            .seed = seed, .seconds = 420, .creep = true, .rate_hz = 25, .source = SECOND_FREE_WHEEL};
        ch_driveline d = judged(&wish, &o, &told, &run);
        for (int g = 2; g <= o.car->gears; g++) { /* first gear is left after seconds */
            double apart = INFINITY;
            for (size_t k = 0; k < d.gears; k++)
                apart = fmin(apart, fabs(log(d.gear[k].line_rad_m / run.line_rad_m[g])));
            gears += run.gear_s[g] > 8;
            right += run.gear_s[g] > 8 && apart <= 0.005;
        }
        let_go(&d, &run);
    }
    assert_true(gears > 50);
    if ((double)right <
        0.85 * (double)gears) /* without the creep taken off: a tenth; in whole km/h it is hard to tell */
        fail_msg("%zu of %zu", right, gears);
}

/* Most of the pulling lies on no line then; slowing down does. */
static void a_clutch_that_slips_at_every_pull_is_no_stepless_gearbox(void **state)
{
    (void)state;
    size_t slips = 0, found = 0;
    for (uint64_t seed = 1; seed <= 16; seed++) {
        drive_run run;
        drive_options o;
        second_told told;
        const second_wish wish = {.seed = seed, .seconds = 300, .slipping = true, .rate_hz = 25};
        ch_driveline d = judged(&wish, &o, &told, &run);
        assert_int_equal(d.state, CH_DRIVELINE_GEARS_FOUND);
        for (size_t i = 0; i < run.slips; i++) {
            const drive_slip *t = &run.slip[i];
            if (t->began_off || t->gear < 3 || t->peak_1 < 0.05 || t->end_s - t->start_s < 0.4)
                continue;
            slips++;
            for (size_t k = 0; k < d.slips; k++)
                if (d.slip[k].start_s < t->end_s && d.slip[k].end_s > t->start_s) {
                    found++;
                    break;
                }
        }
        let_go(&d, &run);
    }
    assert_true(slips > 200);
    assert_true((double)found >= 0.9 * (double)slips);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sound_car_of_another_world_has_no_slip),
        cmocka_unit_test(changing_up_without_lifting_is_no_slip),
        cmocka_unit_test(a_receiver_that_loses_its_satellites_is_no_slip),
        cmocka_unit_test(tyres_that_creep_do_not_bend_the_lines),
        cmocka_unit_test(a_clutch_that_slips_at_every_pull_is_no_stepless_gearbox),
    };
    return cmocka_run_group_tests(tests, open_knowledge, close_knowledge);
}
