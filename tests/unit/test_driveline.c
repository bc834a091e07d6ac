/*
 * Promises of src/driveline: simulated runs with known truth (drive_run.c, which shares no code with it). The study (bench/study_driveline.c) counts over hundreds;
 * here a few stand for each promise.
 */
#include <stdlib.h>
#include <string.h>

#include "drive_plain.h"
#include "fail_alloc.h"

static void expect_gears(const drive_run *run, const ch_driveline *d, int gears)
{
    assert_int_equal(d->state, CH_DRIVELINE_GEARS_FOUND);
    for (int g = 1; g <= gears; g++) {
        double apart = INFINITY;
        for (size_t k = 0; k < d->gears; k++)
            if (d->gear[k].number == g)
                apart = fabs(d->gear[k].line_rad_m / run->line_rad_m[g] - 1);
        if (run->gear_s[g] > 3)
            expect_close(apart, 0, 0.005); /* the half of a percent that is promised */
    }
}

static void gears_are_found_and_numbered_without_knowing_the_car(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 4; seed++) {
        drive_run run;
        const drive_options o = plain(seed);
        ch_driveline d = judged(&o, NULL, &run);
        expect_gears(&run, &d, o.car->gears);
        assert_true(d.gears <= (size_t)o.car->gears);
        ch_driveline_clear(&d);
        drive_run_free(&run);
    }
}

/* Rows of every usual rate, a speed that is news five times a second: the lag is that of the news, and first gear is right, though it is left after seconds. */
static void held_speed_loses_no_time_between_the_rows(void **state)
{
    (void)state;
    static const double rates_hz[] = {20, 25, 50, 100};
    for (size_t k = 0; k < sizeof rates_hz / sizeof rates_hz[0]; k++) {
        drive_run run;
        drive_options o = plain(10);
        o.logger.rate_hz = rates_hz[k];
        o.logger.road_fresh_hz = 5;
        o.logger.road_noise_m_s = 0;
        ch_driveline d = judged(&o, NULL, &run);
        expect_gears(&run, &d, o.car->gears);
        expect_close(d.lag_s, o.logger.road_lag_s, 0.015); /* a third of the time between two thinned rows */
        ch_driveline_clear(&d);
        drive_run_free(&run);
    }
}

/* A filter that remembers how the pull began makes first gear look lower than it is; it is told from a plain lag and taken out. */
static void first_gear_is_right_though_road_speed_went_through_a_filter(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 12; seed++) {
        drive_run run;
        drive_options o = plain(seed);
        o.logger.rate_hz = 50;
        o.logger.road_filter_s = 0.28;
        o.logger.road_noise_m_s = 0;
        o.seconds = 420;
        ch_driveline d = judged(&o, NULL, &run);
        expect_gears(&run, &d, o.car->gears);
        ch_driveline_clear(&d);
        drive_run_free(&run);
    }
}

static void gears_are_found_in_whole_kilometres_an_hour_cut_or_rounded(void **state)
{
    (void)state;
    for (int cut = 0; cut <= 1; cut++) {
        drive_run run;
        drive_options o = plain(6);
        o.logger.road_step_m_s = 1 / 3.6;
        o.logger.road_noise_m_s = 0;
        o.logger.road_cut = cut;
        ch_driveline d = judged(&o, NULL, &run);
        expect_gears(&run, &d, o.car->gears);
        expect_close(d.road_step_m_s, 1 / 3.6, 1e-12);
        expect_close(d.road_offset_m_s, cut ? 0.5 / 3.6 : 0, 1e-12); /* half a step, or nothing */
        assert_true(d.limits & CH_LIMIT_STEPS);
        ch_driveline_clear(&d);
        drive_run_free(&run);
    }
}

static void the_lag_between_the_signals_is_found(void **state)
{
    (void)state;
    static const double lags[] = {0, 0.1, 0.3, 0.5, -0.1};
    for (size_t i = 0; i < sizeof lags / sizeof lags[0]; i++) {
        drive_run run;
        drive_options o = plain(5);
        o.logger.road_lag_s = fmax(lags[i], 0);
        o.logger.engine_lag_s = fmax(-lags[i], 0);
        ch_driveline d = judged(&o, NULL, &run);
        expect_close(d.lag_s, lags[i], 0.03); /* less than one row of 0.04 s */
        expect_gears(&run, &d, o.car->gears);
        assert_int_equal(d.slips, 0);
        ch_driveline_clear(&d);
        drive_run_free(&run);
    }
}

static void a_sound_car_has_no_slip_whatever_is_done_to_it(void **state)
{
    (void)state;
    static const double rates[] = {10, 25, 100};
    size_t spins = 0, blips = 0, launches = 0;
    for (uint64_t seed = 10; seed < 22; seed++) {
        drive_run run;
        drive_options o = plain(seed);
        o.logger.rate_hz = rates[seed % 3];
        o.logger.throttle = seed % 2 == 0;
        ch_driveline d = judged(&o, NULL, &run);
        if (d.slips > 0)
            fail_msg("seed %d: slip at %.2f s", (int)seed, d.slip[0].start_s);
        assert_true(d.cause_1[CH_CLUTCH_SOUND] > 0.7);
        spins += run.wheelspins;
        blips += run.blips;
        launches += run.launches;
        ch_driveline_clear(&d);
        drive_run_free(&run);
    }
    assert_true(spins > 20 && blips > 50 && launches > 12); /* that there was something to mistake */
}

/* The promised figures, over some runs: 95 % found, ends within 0.2 s, peak within 15 %. */
static void expect_slips(const drive_run *run, const ch_driveline *d, size_t *slips, size_t *right)
{
    for (size_t i = 0; i < run->slips; i++) {
        const drive_slip *t = &run->slip[i];
        if (t->end_s - t->start_s < 0.4 || t->peak_1 < 0.05 || t->end_s > run->time_s[run->n - 1] - 1)
            continue;
        ++*slips;
        for (size_t k = 0; k < d->slips; k++)
            if (fabs(d->slip[k].start_s - t->start_s) <= 0.2 && fabs(d->slip[k].end_s - t->end_s) <= 0.2 &&
                fabs(d->slip[k].peak_1 / t->peak_1 - 1) <= 0.15 && d->slip[k].gear == t->gear) {
                ++*right;
                break;
            }
    }
    for (size_t k = 0; k < d->slips; k++) {
        bool any =
            d->slip[k].gear < 3; /* wheels that spin in second, at what a slipping clutch holds: counted by the study */
        for (size_t i = 0; i < run->slips; i++)
            any = any || (run->slip[i].start_s < d->slip[k].end_s && run->slip[i].end_s > d->slip[k].start_s);
        if (!any)
            fail_msg("none at %.2f s", d->slip[k].start_s);
    }
}

static void slips_are_found_with_their_ends_and_peaks(void **state)
{
    (void)state;
    size_t slips = 0, right = 0;
    for (uint64_t seed = 30; seed < 38; seed++) {
        drive_run run;
        drive_options o = plain(seed);
        o.slipping = true;
        o.capacity_1 = seed % 2 == 0 ? 0 : 0.8;
        ch_driveline d = judged(&o, NULL, &run);
        expect_slips(&run, &d, &slips, &right);
        ch_driveline_clear(&d);
        drive_run_free(&run);
    }
    assert_true(slips > 60);
    assert_true((double)right >= 0.95 * (double)slips);
}

/* A clutch knows torque and no gears: what slips in third and above is believed in second too, at the same torque. */
static void slips_of_second_gear_are_found_where_higher_gears_slip(void **state)
{
    (void)state;
    size_t slips = 0, right = 0;
    for (uint64_t seed = 30; seed < 42; seed++) {
        drive_run run;
        drive_options o = plain(seed);
        o.slipping = true;
        o.slips_from = 2;
        o.wheelspin = seed % 3 == 0;
        o.capacity_1 = seed % 2 == 0 ? 0 : 0.8;
        ch_driveline d = judged(&o, NULL, &run);
        for (size_t k = 1; k < d.slips; k++) /* judged last, they stand where they were driven */
            assert_true(d.slip[k].driven_before_s >= d.slip[k - 1].driven_before_s);
        for (size_t i = 0; i < run.slips; i++) {
            const drive_slip *t = &run.slip[i];
            if (t->gear != 2 || t->end_s - t->start_s < 0.4 || t->peak_1 < 0.05)
                continue;
            slips++;
            for (size_t k = 0; k < d.slips; k++)
                if (d.slip[k].gear == 2 && d.slip[k].start_s < t->end_s && d.slip[k].end_s > t->start_s) {
                    right++;
                    break;
                }
        }
        ch_driveline_clear(&d);
        drive_run_free(&run);
    }
    assert_true(slips > 40);
    if ((double)right < 0.95 * (double)slips)
        fail_msg("%zu of %zu", right, slips);
}

static ch_car car_of(const drive_car *truth)
{
    ch_car car = ch_car_none();
    assert_int_equal(ch_tyre_parse(truth->tyre, strlen(truth->tyre), &car.tyre, NULL), CH_OK);
    car.final_drive_1 = truth->final_drive;
    car.gears = (size_t)truth->gears;
    memcpy(car.gear_1, truth->gear, sizeof truth->gear);
    car.mass_kg = truth->mass_kg;
    car.drag_area_m2 = truth->drag_area_m2;
    return car;
}

/* Wheels that spin in third gear, out of corners: fourth and fifth hold as much torque, so that it is not the clutch. */
static void wheels_that_spin_in_third_gear_are_not_the_clutch(void **state)
{
    (void)state;
    size_t spins = 0, told = 0;
    for (uint64_t seed = 200; seed < 240; seed++) {
        drive_run run;
        drive_options o = plain(seed);
        o.corner_spin = true;
        o.seconds = 300;
        o.logger.throttle = seed % 2 == 0;
        ch_driveline d = judged(&o, NULL, &run);
        if (d.slips > 0)
            fail_msg("seed %d: slip at %.2f s", (int)seed, d.slip[0].start_s);
        spins += run.wheelspins;
        told += d.not_slips[CH_NOT_SLIP_WHEELSPIN];
        ch_driveline_clear(&d);
        drive_run_free(&run);
    }
    assert_true(spins > 100 && told > 100);
}

/* The same in a box without a third gear: which number the gear has that spins is nobody's business. */
static void wheels_that_spin_where_third_gear_is_missing_are_not_the_clutch(void **state)
{
    (void)state;
    size_t spins = 0;
    for (uint64_t seed = 200; seed < 232; seed++) {
        drive_run run;
        drive_options o = plain(seed);
        drive_car car = *o.car;
        memmove(&car.gear[2], &car.gear[3], (size_t)(car.gears - 3) * sizeof car.gear[0]);
        car.gears--;
        o.car = &car;
        o.corner_spin = true;
        o.seconds = 300;
        o.logger.throttle = seed % 2 == 0;
        ch_driveline d = judged(&o, NULL, &run);
        if (d.slips > 0)
            fail_msg("seed %d: slip at %.2f s", (int)seed, d.slip[0].start_s);
        spins += run.wheelspins;
        ch_driveline_clear(&d);
        drive_run_free(&run);
    }
    assert_true(spins > 80);
}

/* A switch that says pressed where it is not would leave nothing to judge. */
static void a_clutch_switch_the_other_way_round_is_not_believed(void **state)
{
    (void)state;
    drive_run run;
    drive_options o = plain(33);
    o.slipping = true;
    o.logger.clutch = true;
    assert_true(drive(&o, &run));
    for (size_t i = 0; i < run.n; i++)
        run.clutch_1[i] = 1 - run.clutch_1[i];
    ch_driveline d = {0};
    size_t slips = 0, right = 0;
    assert_int_equal(drive_judge(&run, NULL, &clutch, NULL, 0, &d, NULL), CH_OK);
    expect_gears(&run, &d, o.car->gears);
    expect_slips(&run, &d, &slips, &right);
    assert_true(slips > 5 && (double)right >= 0.9 * (double)slips);
    ch_driveline_clear(&d);
    drive_run_free(&run);
}

static void a_known_car_gives_numbers_torque_heat_and_capacity(void **state)
{
    (void)state;
    drive_run run;
    drive_options o = plain(41);
    o.slipping = true;
    o.low_gear = false; /* never in first: only the car tells which gear is which */
    o.capacity_1 = 0.8;
    ch_car car = car_of(o.car);
    car.clutch = (ch_clutch_disc){
        .outer_m = 0.215, .inner_m = 0.145, .surfaces_1 = 2, .clamp_force_n = 5000, .friction_1 = 0.35};
    ch_driveline d = judged(&o, &car, &run);
    expect_gears(&run, &d, o.car->gears);
    /* the invented cars' tyres roll within 1 % of what their size says */
    expect_close(d.car_factor_1, 1, 0.015);
    const double truth_n_m = o.capacity_1 * o.car->torque_n_m;
    assert_true(d.capacity_n_m[0] < truth_n_m && truth_n_m < d.capacity_n_m[2]);
    expect_relative(d.capacity_n_m[1], truth_n_m, 0.08); /* speed over half a second, losses assumed */
    double heat_j = 0, truth_j = 0;
    for (size_t i = 0; i < d.slips; i++)
        heat_j += d.slip[i].heat_j;
    for (size_t i = 0; i < run.slips; i++)
        truth_j += run.slip[i].heat_j;
    expect_relative(heat_j, truth_j, 0.07); /* torque is known as the capacity above */
    for (size_t i = 0; i < d.slips; i++)
        assert_true(d.slip[i].peak_plate_k > d.slip[i].plate_k);
    /* by hand: 0.35*5000*2*(0.215 + 0.145)/4 */
    expect_close(d.design_n_m[0], 315, 1e-9);
    assert_false(d.limits & (CH_LIMIT_NO_MASS | CH_LIMIT_NUMBERS));
    ch_driveline_clear(&d);
    drive_run_free(&run);
}

static void without_the_mass_there_is_no_capacity(void **state)
{
    (void)state;
    drive_run run;
    drive_options o = plain(43);
    o.slipping = true;
    ch_driveline d = judged(&o, NULL, &run);
    assert_true(d.slips > 0);
    assert_true(isnan(d.capacity_n_m[1]) && isnan(d.slip[0].heat_j) && isnan(d.slip[0].torque_n_m));
    assert_true(d.limits & CH_LIMIT_NO_MASS);
    assert_true(d.cause_1[CH_CLUTCH_SOUND] < 0.2);
    ch_driveline_clear(&d);
    drive_run_free(&run);
}

static void a_gearbox_without_fixed_gears_is_told(void **state)
{
    (void)state;
    for (uint64_t seed = 50; seed < 53; seed++) {
        drive_run run;
        drive_options o = plain(seed);
        o.automatic = true;
        ch_driveline d = judged(&o, NULL, &run);
        assert_int_equal(d.state, CH_DRIVELINE_NO_FIXED_GEARS);
        assert_int_equal(d.gears, 0);
        assert_int_equal(d.slips, 0);
        ch_driveline_clear(&d);
        drive_run_free(&run);
    }
}

static void a_log_of_nothing_says_so(void **state)
{
    (void)state;
    ch_driveline d = {0};
    drive_run run = {0};
    assert_int_equal(drive_judge(&run, NULL, &clutch, NULL, 0, &d, NULL), CH_OK);
    assert_int_equal(d.state, CH_DRIVELINE_TOO_LITTLE);
    double sum = 0;
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
        sum += d.cause_1[c];
    expect_close(sum, 1, 1e-12); /* rounding */
    expect_close(d.cause_1[CH_CLUTCH_SOUND], clutch.cause[CH_CLUTCH_SOUND].prior_1, 1e-12);
    ch_driveline_clear(&d);
}

static size_t sign(const char *id)
{
    const size_t place = ch_clutch_sign_find(&clutch, id, strlen(id));
    assert_true(place < clutch.signs_n);
    return place;
}

static void hand_checks_move_the_causes_where_they_point(void **state)
{
    (void)state;
    static const struct {
        const char *sign;
        ch_clutch_cause cause;
    } cases[] = {{"oil_at_drain_hole", CH_CLUTCH_OIL_CONTAMINATED},
                 {"slip_goes_with_nipple_open", CH_CLUTCH_HYDRAULIC_OR_CABLE},
                 {"after_clutch_job", CH_CLUTCH_FLYWHEEL},
                 {"takes_up_high", CH_CLUTCH_WORN}};
    drive_run run;
    drive_options o = plain(61);
    o.slipping = true;
    assert_true(drive(&o, &run));
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        ch_driveline d = {0};
        const ch_driveline_seen seen = {.sign = sign(cases[i].sign), .present = true};
        assert_int_equal(drive_judge(&run, NULL, &clutch, &seen, 1, &d, NULL), CH_OK);
        for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
            if (c != (int)cases[i].cause && d.cause_1[c] >= d.cause_1[cases[i].cause])
                fail_msg("%s: %s before %s", cases[i].sign, ch_clutch_cause_id((ch_clutch_cause)c),
                         ch_clutch_cause_id(cases[i].cause));
        /* what has been looked at is not proposed again */
        for (size_t k = 0; k < d.next_checks; k++) {
            const ch_places *yields = &clutch.checks[d.next_check[k].check].yields;
            assert_false(yields->count == 1 && yields->at[0] == seen.sign);
        }
        ch_driveline_clear(&d);
    }
    drive_run_free(&run);
}

static void checks_come_most_told_for_a_minute_first(void **state)
{
    (void)state;
    drive_run run;
    drive_options o = plain(63);
    o.slipping = true;
    ch_driveline d = judged(&o, NULL, &run);
    assert_true(d.next_checks >= 3);
    for (size_t i = 1; i < d.next_checks; i++)
        assert_true(d.next_check[i - 1].bits_1 / d.next_check[i - 1].seconds >=
                    d.next_check[i].bits_1 / d.next_check[i].seconds);
    ch_driveline_clear(&d);
    drive_run_free(&run);
}

/* Rows given one by one, or in other batches, are the same run. */
static void batches_change_nothing(void **state)
{
    (void)state;
    drive_run run;
    drive_options o = plain(65);
    o.slipping = true;
    o.seconds = 60;
    ch_driveline whole = judged(&o, NULL, &run), single = {0};
    ch_driveline_run *by_row = NULL;
    assert_int_equal(ch_driveline_open(NULL, &by_row, NULL), CH_OK);
    for (size_t i = 0; i < run.n; i++) {
        drive_run row = run;
        row.n = 1;
        double **const columns[] = {&row.time_s,     &row.engine_rad_s,      &row.road_m_s,
                                    &row.throttle_1, &row.acceleration_m_s2, &row.coolant_k,
                                    &row.clutch_1,   &row.driven_m_s};
        for (size_t c = 0; c < sizeof columns / sizeof columns[0]; c++)
            *columns[c] += i;
        assert_int_equal(drive_feed(&row, by_row, NULL), CH_OK);
    }
    assert_int_equal(ch_driveline_finish(by_row, &clutch, NULL, 0, &single, NULL), CH_OK);
    ch_driveline_close(by_row);
    assert_int_equal(single.slips, whole.slips);
    assert_true(whole.slips > 0);
    for (size_t g = 0; g < whole.gears; g++)
        expect_close(single.gear[g].line_rad_m, whole.gear[g].line_rad_m, 0);
    for (size_t i = 0; i < whole.slips; i++) {
        expect_close(single.slip[i].start_s, whole.slip[i].start_s, 0);
        expect_close(single.slip[i].end_s, whole.slip[i].end_s, 0);
        expect_close(single.slip[i].peak_1, whole.slip[i].peak_1, 0);
    }
    ch_driveline_clear(&single);
    ch_driveline_clear(&whole);
    drive_run_free(&run);
}

static void running_out_of_memory_leaves_nothing_behind(void **state)
{
    (void)state;
    drive_run run;
    drive_options o = plain(67);
    o.slipping = true;
    o.seconds = 40;
    assert_true(drive(&o, &run));
    for (long n = 1;; n++) {
        ch_driveline d = {.rows = 77};
        fail_alloc_at(n);
        const ch_status rc = drive_judge(&run, NULL, &clutch, NULL, 0, &d, NULL);
        if (!fail_alloc_stop()) {
            assert_int_equal(rc, CH_OK);
            ch_driveline_clear(&d);
            assert_int_equal(fail_alloc_left(), 0);
            break;
        }
        assert_int_equal(rc, CH_E_MEMORY);
        assert_int_equal(d.rows, 77); /* untouched */
        assert_int_equal(fail_alloc_left(), 0);
    }
    drive_run_free(&run);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(gears_are_found_and_numbered_without_knowing_the_car),
        cmocka_unit_test(held_speed_loses_no_time_between_the_rows),
        cmocka_unit_test(first_gear_is_right_though_road_speed_went_through_a_filter),
        cmocka_unit_test(gears_are_found_in_whole_kilometres_an_hour_cut_or_rounded),
        cmocka_unit_test(the_lag_between_the_signals_is_found),
        cmocka_unit_test(a_sound_car_has_no_slip_whatever_is_done_to_it),
        cmocka_unit_test(slips_are_found_with_their_ends_and_peaks),
        cmocka_unit_test(slips_of_second_gear_are_found_where_higher_gears_slip),
        cmocka_unit_test(wheels_that_spin_in_third_gear_are_not_the_clutch),
        cmocka_unit_test(wheels_that_spin_where_third_gear_is_missing_are_not_the_clutch),
        cmocka_unit_test(a_clutch_switch_the_other_way_round_is_not_believed),
        cmocka_unit_test(a_known_car_gives_numbers_torque_heat_and_capacity),
        cmocka_unit_test(without_the_mass_there_is_no_capacity),
        cmocka_unit_test(a_gearbox_without_fixed_gears_is_told),
        cmocka_unit_test(a_log_of_nothing_says_so),
        cmocka_unit_test(hand_checks_move_the_causes_where_they_point),
        cmocka_unit_test(checks_come_most_told_for_a_minute_first),
        cmocka_unit_test(batches_change_nothing),
        cmocka_unit_test(running_out_of_memory_leaves_nothing_behind),
    };
    return cmocka_run_group_tests(tests, open_knowledge, close_knowledge);
}
