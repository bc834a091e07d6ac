/* Promises of physics/piston.c. Table and its source: tests/data/engine-kinematics. */
#include "crosshatch/piston.h"

#include "expect.h"
#include "table.h"

#define PI 3.14159265358979323846

static void volume_and_speed_agree_with_the_slider_crank_table(void **state)
{
    (void)state;
    /* Heywood 1988, eqs. 2.6 and 2.11, computed by an independent script; printed to 6 decimals. */
    table *t = table_read("engine-kinematics/slider_crank_a.csv");
    for (int row = 1; row < t->rows; row++) {
        const double angle_rad = table_number(t, row, "crank_deg") * PI / 180.0;
        const double ratio = table_number(t, row, "compression_ratio");
        const ch_bore bore = {
            .bore_m = 0.0805, .stroke_m = 0.088, .rod_m = 0.044 * table_number(t, row, "rod_over_crank_R")};
        const double clearance_m3 = ch_piston_clearance_m3(&bore, ratio);
        const double volume_m3 = clearance_m3 + 0.25 * PI * 0.0805 * 0.0805 * ch_piston_travel_m(&bore, angle_rad);
        expect_close(volume_m3 / clearance_m3, table_number(t, row, "V_over_Vc"), 0.51e-6);
        /* Mean piston speed is 2 strokes a turn: stroke/pi for each radian. */
        expect_close(ch_piston_travel_rate_m_rad(&bore, angle_rad) / (0.088 / PI),
                     table_number(t, row, "piston_speed_over_mean"), 0.51e-6);
    }
    free(t);
}

static void the_piston_stands_at_the_ends_of_its_stroke(void **state)
{
    (void)state;
    const ch_bore bore = {.bore_m = 0.0805, .stroke_m = 0.088, .rod_m = 0.140};
    assert_true(ch_piston_travel_m(&bore, 0.0) == 0.0);
    expect_relative(ch_piston_travel_m(&bore, PI), 0.088, 1e-15);
    expect_relative(ch_piston_swept_m3(&bore), 4.478827e-4, 1.2e-7); /* pi/4 80.5^2 88 mm3, seven digits */
    expect_relative(ch_piston_clearance_m3(&bore, 9.6) * 8.6, ch_piston_swept_m3(&bore), 1e-15);
}

static void travel_keeps_its_digits_near_top_dead_centre(void **state)
{
    (void)state;
    /* x = (a/2)(1 + a/l) t^2 - O(t^4): at 1e-5 rad the next term is 1e-10 of it. The textbook form has 6 digits here. */
    const ch_bore bore = {.bore_m = 0.0805, .stroke_m = 0.088, .rod_m = 0.140};
    expect_relative(ch_piston_travel_m(&bore, 1e-5), 0.5 * 0.044 * (1.0 + 0.044 / 0.140) * 1e-10, 2e-10);
}

static void the_rate_is_the_slope_of_the_travel(void **state)
{
    (void)state;
    const ch_bore bore = {.bore_m = 0.0805, .stroke_m = 0.088, .rod_m = 0.140};
    for (double angle_rad = -7.0; angle_rad < 7.0; angle_rad += 0.37) {
        const double step = 1e-5;
        const double slope =
            (ch_piston_travel_m(&bore, angle_rad + step) - ch_piston_travel_m(&bore, angle_rad - step)) / (2.0 * step);
        /* Central difference: step^2/6 of the third derivative, and 1e-17 m / 2e-5 of rounding, both below 1e-11 m. */
        expect_close(ch_piston_travel_rate_m_rad(&bore, angle_rad), slope, 3e-11);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(volume_and_speed_agree_with_the_slider_crank_table),
        cmocka_unit_test(the_piston_stands_at_the_ends_of_its_stroke),
        cmocka_unit_test(travel_keeps_its_digits_near_top_dead_centre),
        cmocka_unit_test(the_rate_is_the_slope_of_the_travel),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
