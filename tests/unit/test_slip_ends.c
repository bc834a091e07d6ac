/*
 * Promises of driveline/slip_event.c on runs written row by row: the figures of a slip worked out again from the rows, and its ends where straight lines meet (docs/driveline.md, "Slip").
 */
#include "crosshatch/sampling.h"
#include "slip_series.h"

/* Every row another value, so that a figure of the wrong row or of one row more is another figure. */
static void every_figure_is_that_of_its_rows(void **state)
{
    (void)state;
    begin();
    for (size_t i = 17; i < ROWS; i++) {
        run.row[i].traction_m_s2 = 1.3 + 0.3 * sin(1.7 * (double)i);
        run.row[i].throttle = 0.9 + 0.05 * sin(2.3 * (double)i);
        run.row[i].kelvin = 360.0 + 5.0 * sin(1.1 * (double)i);
        run.row[i].engine_1 = 1.0 + 0.002 * sin(0.9 * (double)i);
    }
    run.to.road_offset_m_s = 0.25;
    series_arrays a;
    series_lay_out(&a, 0, 0.0);
    double mean = 0.0, ahead_rad_s = 0.0, pull = 0.0, before_s = 0.0;
    /* from the line to the line in twenty steps, straight between the rows */
    for (size_t i = FROM; i < BACK; i++)
        for (size_t end = i; end <= i + 1; end++) {
            mean += 0.5 * expm1(run.row[end].ahead) / (BACK - FROM);
            ahead_rad_s += 0.5 * a.engine[end] * (1.0 - exp(-run.row[end].ahead)) / (BACK - FROM);
        }
    for (size_t i = FIRST - 7; i <= LAST; i++) /* 0.4 s before: seven rows */
        pull += (double)a.climb[i] / (LAST - FIRST + 8);
    for (size_t i = 0; i <= FROM; i++)
        before_s += i >= 16 && a.climb[i] > 0.0F ? SERIES_EVERY_S : 0.0;
    const ch_slip slip = only_slip();
    assert_int_equal(slip.gear, 4);
    expect_relative(slip.peak_1, expm1(0.2), 1e-6); /* floats */
    expect_relative(slip.mean_1, mean, 1e-5);
    expect_relative(slip.ahead_rad_s, ahead_rad_s, 1e-5);
    expect_relative(slip.road_speed_m_s, a.road[FIRST] + 0.25, 1e-12);
    expect_relative(slip.engine_speed_rad_s, a.engine[FIRST], 1e-12);
    expect_relative(slip.throttle_1, a.channel[TRAIL_THROTTLE][FIRST], 1e-12);
    expect_relative(slip.oil_or_coolant_k, a.channel[TRAIL_TEMPERATURE][FIRST], 1e-12);
    expect_relative(slip.acceleration_m_s2, pull, 1e-12);
    expect_relative(slip.driven_before_s, before_s, 1e-12);
    assert_true(isnan(slip.torque_n_m) && isnan(slip.u_torque_n_m) && isnan(slip.heat_j) && isnan(slip.plate_k) &&
                isnan(slip.peak_plate_k));
    series_free(&a);
}

/* A ramp meets its line where it was drawn from and to; road speed that comes first has the right time, the engine's otherwise. */
static void ends_are_where_the_ramps_meet_the_line(void **state)
{
    (void)state;
    static const struct {
        size_t up, hold, down;
        double most;
    } shape[] = {{10, 0, 10, 0.2}, {4, 12, 4, 0.1}, {16, 3, 5, 0.25}, {3, 30, 12, 0.06}};
    static const double lag_s[] = {0.0, 0.5, -0.5};
    for (size_t k = 0; k < sizeof shape / sizeof shape[0]; k++)
        for (size_t l = 0; l < sizeof lag_s / sizeof lag_s[0]; l++) {
            series_begin(ROWS, FOURTH);
            series_ahead(FROM, shape[k].up, shape[k].hold, shape[k].down, shape[k].most);
            run.lag_s = lag_s[l];
            const double early_s = lag_s[l] < 0.0 ? lag_s[l] : 0.0;
            const ch_slip slip = only_slip();
            expect_close(slip.start_s, 10.0 + early_s, 1e-5); /* floats, over the steepness of the ramp */
            expect_close(slip.end_s,
                         10.0 + early_s + SERIES_EVERY_S * (double)(shape[k].up + shape[k].hold + shape[k].down), 1e-5);
        }
}

/* A run lies beside its line by what tyres grow; 0.008 at most, over three seconds, to 0.4 s before the slip. */
static void ends_are_those_of_the_runs_own_line(void **state)
{
    (void)state;
    static const double before[] = {0.006, -0.006, 0.011, -0.011}, after[] = {-0.004, 0.005, -0.011, 0.011};
    for (size_t k = 0; k < 4; k++) {
        begin();
        /* ramps from the one level to the other, in ten rows each */
        const double from = before[k], to = after[k];
        set_line(0, FROM, FOURTH, from);
        set_line(BACK, ROWS - 1, FOURTH, to);
        for (size_t i = 1; i < 10; i++) {
            run.row[FROM + i].ahead = from + 0.02 * (double)i;
            run.row[BACK - i].ahead = to + 0.02 * (double)i;
        }
        run.row[PEAK].ahead = 0.2;
        const ch_slip slip = only_slip();
        const double line_before = fmin(fmax(from, -0.008), 0.008), line_after = fmin(fmax(to, -0.008), 0.008);
        /* a row of the ramp below its line is not on it: straight between the last row and the next one */
        expect_close(slip.start_s, 10.0 + SERIES_EVERY_S * (line_before - from) / 0.02, 2e-3);
        expect_close(slip.end_s, 11.25 - SERIES_EVERY_S * (line_after - to) / 0.02, 2e-3);
    }
}

/* To the row 0.4 s ahead of the slip, from three seconds before it on; and so after it. */
static void the_own_line_is_that_of_three_seconds(void **state)
{
    (void)state;
    static const struct {
        size_t from, to;
        bool counts;
    } stretch[] = {{0, FIRST - 49, false},        /* 3 s: 48 rows before the first */
                   {FIRST - 48, FIRST - 7, true}, /* 0.4 s: seven */
                   {FIRST - 6, FROM - 1, false},  {BACK + 1, LAST + 6, false},
                   {LAST + 7, LAST + 48, true},   {LAST + 49, ROWS - 1, false}};
    for (size_t k = 0; k < sizeof stretch / sizeof stretch[0]; k++)
        for (int row = 0; row < 2; row++) { /* its first or its last row, by as much as moves the mean by 0.001 */
            begin();
            const size_t at = row == 0 ? stretch[k].from : stretch[k].to;
            run.row[at].ahead = -0.0168;
            const ch_slip slip = only_slip();
            const double line = stretch[k].counts ? -0.0168 / 42.0 : 0.0, moved_s = SERIES_EVERY_S * line / 0.02;
            expect_close(slip.start_s, 10.0 + (k < 3 ? moved_s : 0.0), 2e-4);
            expect_close(slip.end_s, 11.25 - (k < 3 ? 0.0 : moved_s), 2e-4);
        }
}

/* A peak counts by the smoothed rows, or by the highest single one less two standard deviations of the gear's scatter. */
static void the_peak_is_the_higher_of_two(void **state)
{
    (void)state;
    static const double sharp[] = {0.003, 0.005, 0.03};
    for (size_t k = 0; k < 3; k++) {
        begin();
        run.row[PEAK].sharp = sharp[k];
        expect_relative(only_slip().peak_1, expm1(0.2 + fmax(sharp[k] - 2.0 * 0.002, 0.0)), 1e-6);
    }
}

/* The straight line through the rows between a tenth and a half of the peak meets the run's; NaN where there are fewer than three. */
static double slope_meets_s(const end_by_hand *e)
{
    double n = 0.0, t_mean = 0.0, x_mean = 0.0, stt = 0.0, stx = 0.0;
    for (int pass = 0; pass < 2; pass++)
        for (size_t row = e->row; row != PEAK && over(e, row) <= 0.5 * e->peak; row = e->sign < 0 ? row + 1 : row - 1) {
            const double x = over(e, row), t = run.row[row].time_s;
            if (!(x > 0.1 * e->peak))
                continue;
            if (pass == 0) {
                t_mean = (t_mean * n + t) / (n + 1.0);
                x_mean = (x_mean * n + x) / (n + 1.0);
                n++;
            } else {
                stt += (t - t_mean) * (t - t_mean);
                stx += (t - t_mean) * (x - x_mean);
            }
        }
    return n >= 3.0 && -e->sign * stx > 0.0 ? t_mean - x_mean * stt / stx : NAN;
}

static double by_hand_s(const end_by_hand *e)
{
    const double edge_s = end_s(e), slope_s = slope_meets_s(e);
    return e->sign * (edge_s - slope_s) > 0.12 ? slope_s : edge_s;
}

/* Runs beside their lines, soft beginnings, noise, rows close and far, speeds in steps and fine: where the ends are is worked out again from the rows. */
static void ends_of_ragged_slips_are_as_by_hand(void **state)
{
    (void)state;
    static const double every_s[] = {0.0625, 0.09375, 0.078125, 0.125};
    size_t soft = 0, coarse = 0;
    ch_stream stream;
    ch_stream_init(&stream, 71, 0);
    for (int round = 0; round < 300; round++) {
        const double between = every_s[round % 4], spread = round % 3 == 0 ? 0.0 : 0.012 * ch_stream_uniform(&stream),
                     noise = 0.003 * ch_stream_uniform(&stream), peak = 0.1 + 0.14 * ch_stream_uniform(&stream);
        const bool steps = round % 5 == 0;
        series_begin(ROWS, FOURTH);
        run.interval_s = between;
        run.window_s = 0.75;
        run.to.shortest_slip_s = 0.1;
        run.step_m_s = steps ? 1.0 / 3.6 : 0.0;
        run.to.gear[FOURTH].spread_1 = spread;
        series_switch();
        const double tolerance = 0.012 + 2.5 * spread;
        double level[2], bend[2];
        size_t ramp[2], soft_rows[2];
        for (int side = 0; side < 2; side++) {
            level[side] = 0.008 * (2.0 * ch_stream_uniform(&stream) - 1.0);
            bend[side] = 0.5 + 1.5 * ch_stream_uniform(&stream);
            ramp[side] = 2 + (size_t)(9.0 * ch_stream_uniform(&stream));
            soft_rows[side] = (size_t)(9.0 * ch_stream_uniform(&stream));
        }
        for (size_t i = 0; i < ROWS; i++) {
            const int side = i > PEAK;
            const size_t from_peak = side ? i - PEAK : PEAK - i;
            const double share = from_peak < ramp[side] ? 1.0 - (double)from_peak / (double)ramp[side] : 0.0;
            run.row[i].time_s = between * (double)i;
            run.row[i].road_m_s = 20.0 - (round % 10 == 0 ? 17.0 : 0.0) + 0.002 * (double)i;
            run.row[i].ahead = level[side] + (peak - level[side]) * pow(share, bend[side]);
            if (from_peak >= ramp[side] && from_peak < ramp[side] + soft_rows[side])
                run.row[i].ahead = fmin(level[side] + 0.007, tolerance - 0.0035);
            run.row[i].ahead += noise * (2.0 * ch_stream_uniform(&stream) - 1.0);
            if (i != PEAK)
                run.row[i].ahead = fmin(run.row[i].ahead, peak - 0.003);
            else
                run.row[i].ahead = peak;
            if (from_peak >= ramp[side]) /* on its line all the same */
                run.row[i].ahead = fmin(fmax(run.row[i].ahead, -tolerance + 1e-4), tolerance - 1e-4);
            run.row[i].traction_m_s2 = steps && i % 2 == 0 ? 0.5 : 1.2; /* which does not cross steps, and does */
        }
        end_by_hand end[2] = {{.sign = -1, .row = PEAK}, {.sign = 1, .row = PEAK}};
        for (int side = 0; side < 2; side++) {
            for (size_t i = PEAK - 20; i <= PEAK + 20; i++)
                if (run.row[i].ahead > tolerance && (side == 0 ? i < end[0].row : i > end[1].row))
                    end[side].row = i;
            /* three seconds to 0.4 s from it */
            double sum = 0.0, n = 0.0;
            for (size_t i = 0; i < ROWS; i++) {
                const double apart_s = end[side].sign * (run.row[i].time_s - run.row[end[side].row].time_s);
                const double climb =
                    run.row[i].traction_m_s2 - 0.12 - 3.5e-4 * run.row[i].road_m_s * run.row[i].road_m_s;
                if (apart_s >= 0.4 && apart_s - between < 3.0 && (!steps || fabs(climb) > 0.6)) {
                    sum += over(&end[side], i);
                    n++;
                }
            }
            end[side].base = fmin(fmax(sum / n, -0.008), 0.008);
            end[side].low =
                fmax(fmax(0.004, 0.8 * spread), steps ? 0.35 / 3.6 / (double)(float)run.row[end[0].row].road_m_s : 0.0);
            end[side].peak = peak;
        }
        const ch_slip slip = only_slip();
        expect_close(slip.start_s, by_hand_s(&end[0]), 1e-6); /* lines as floats, over their steepness */
        expect_close(slip.end_s, by_hand_s(&end[1]), 1e-6);
        soft += fabs(by_hand_s(&end[0]) - end_s(&end[0])) > 0.0;
        coarse += between > 0.08;
    }
    assert_true(soft > 10 && coarse == 150); /* that all of it is met */
}

/* Rows of which acceleration is not known take no part in means of it; where none is known the car is not said to pull. */
static void unknown_acceleration_takes_no_part(void **state)
{
    (void)state;
    begin();
    for (size_t i = 0; i < ROWS; i++)
        run.row[i].road_m_s = 20.0 + 0.06 * (double)i;
    series_arrays a;
    series_lay_out(&a, 0, 0.0);
    double pull = 0.0;
    for (size_t i = FIRST - 7; i <= LAST; i++)
        pull += i % 2 == 0 ? a.climb[i] : 0.0F;
    series_free(&a);
    for (size_t i = FIRST - 8; i <= LAST; i++)
        run.row[i].traction_m_s2 = i % 2 == 0 ? run.row[i].traction_m_s2 : NAN;
    expect_relative(only_slip().acceleration_m_s2, pull / 13.0, 1e-6); /* rows 154 to 178 */
    for (size_t i = FIRST - 12; i <= FIRST; i++)
        run.row[i].traction_m_s2 = NAN;
    assert_int_equal(other(), CH_NOT_SLIP_CLUTCH);
}

/* Rows between a tenth and a half of the peak that fall towards it point to no beginning: the edge stands. */
static void what_falls_towards_its_peak_points_nowhere(void **state)
{
    (void)state;
    begin();
    for (size_t i = 0; i < 5; i++)
        run.row[FROM + 1 + i].ahead = run.row[BACK - 1 - i].ahead = 0.09 - 0.012 * (double)i;
    for (size_t i = 6; i <= 14; i++)
        run.row[FROM + i].ahead = i == 10 ? 0.2 : 0.15;
    const ch_slip slip = only_slip();
    expect_close(slip.start_s, 10.0, 1e-5);
    expect_close(slip.end_s, 11.25, 1e-5);
}

/* Of several rows alike the first is the peak: behind it the foot may lift. */
static void the_first_of_equal_rows_is_the_peak(void **state)
{
    (void)state;
    series_begin(ROWS, FOURTH);
    series_ahead(FROM, 1, 19, 1, 0.1);
    set_throttle(FROM + 11, FROM + 20, 0.1);
    assert_true(slipped());
}

/* More than three rows tell how far a run lies from its line. */
static void a_run_of_few_rows_has_no_line_of_its_own(void **state)
{
    (void)state;
    for (size_t rows = 3; rows <= 4; rows++) { /* of those 0.4 s before the slip */
        begin();
        set_line(0, FROM, FOURTH, -0.006);
        set_line(17, FIRST - 7 - rows, FOURTH, NAN);
        expect_close(only_slip().start_s, 10.0 + SERIES_EVERY_S * (rows == 3 ? 0.006 / 0.026 : 0.0), 1e-5);
    }
}

/* Soft rows carry the edge outwards, and the slope tells where it began: by three rows between a tenth and a half of the peak, not by two. */
static void three_rows_make_a_slope(void **state)
{
    (void)state;
    for (size_t rows = 2; rows <= 3; rows++) {
        series_begin(ROWS, FOURTH);
        set_line(FROM - 6, FROM, FOURTH, 0.0155);
        for (size_t i = 1; i <= rows; i++)
            run.row[FROM + i].ahead = 0.02 + 0.02 * (double)i; /* from row FROM - 1 on */
        set_line(FROM + rows + 1, FROM + 12, FOURTH, 0.2);
        const double start_s = only_slip().start_s;
        if (rows == 3)
            expect_close(start_s, 10.0 - SERIES_EVERY_S, 0.01); /* the soft rows bend the run's own line a little */
        else
            assert_true(start_s < 10.0 - 4.0 * SERIES_EVERY_S);
    }
}

/* As many gears as there is room for. */
static void ten_gears_are_ten(void **state)
{
    (void)state;
    begin();
    for (int g = SERIES_GEARS; g < CH_DRIVELINE_GEARS_MAX; g++)
        run.to.gear[g] =
            (ch_driveline_gear){.number = g + 1, .line_rad_m = 7.0 - 0.6 * (g - SERIES_GEARS), .spread_1 = 0.002};
    run.to.gears = CH_DRIVELINE_GEARS_MAX;
    assert_int_equal(only_slip().gear, 4);
}

/* Straight on from a soft beginning, but no further than 0.35 s. */
static void an_edge_is_carried_so_far_and_no_further(void **state)
{
    (void)state;
    series_begin(ROWS, FOURTH);
    run.to.gear[FOURTH].spread_1 = 0.02;         /* on its line within 0.045; 0.016 are ahead */
    set_line(FROM - 15, FROM, FOURTH, 0.03);     /* ten of these are of the run's own line: a mean of 42 */
    set_line(FROM + 1, FROM + 1, FOURTH, 0.046); /* hardly more */
    set_line(FROM + 2, FROM + 19, FOURTH, 0.2);
    const double base = 10.0 * 0.03 / 42.0, crossing = FROM - 16.0 + (base + 0.016) / 0.03;
    expect_close(only_slip().start_s, SERIES_EVERY_S * crossing - 0.35, 1e-5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_figure_is_that_of_its_rows),
        cmocka_unit_test(ends_are_where_the_ramps_meet_the_line),
        cmocka_unit_test(ends_are_those_of_the_runs_own_line),
        cmocka_unit_test(the_own_line_is_that_of_three_seconds),
        cmocka_unit_test(the_peak_is_the_higher_of_two),
        cmocka_unit_test(ends_of_ragged_slips_are_as_by_hand),
        cmocka_unit_test(unknown_acceleration_takes_no_part),
        cmocka_unit_test(what_falls_towards_its_peak_points_nowhere),
        cmocka_unit_test(the_first_of_equal_rows_is_the_peak),
        cmocka_unit_test(a_run_of_few_rows_has_no_line_of_its_own),
        cmocka_unit_test(three_rows_make_a_slope),
        cmocka_unit_test(ten_gears_are_ten),
        cmocka_unit_test(an_edge_is_carried_so_far_and_no_further),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
