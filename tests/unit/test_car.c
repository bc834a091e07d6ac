/* Promises of car/car.c: a car as people write it, and every refusal at its place. */
#include "crosshatch/car.h"

#include <string.h>

#include "expect.h"
#include "fail_alloc.h"

static const char whole[] = "title: \"track car\"\n"
                            "tyre: 195/50R15\n"
                            "final_drive: 4.1\n"
                            "gears: [3.136, 1.888, 1.330, 1.000, 0.814]\n"
                            "mass: 1050 kg\n"
                            "drag_area: 0.65 m2\n"
                            "clutch: {outer: 215 mm, inner: 145 mm, surfaces: 2, clamp_force: 5 kN, friction: 0.35}\n"
                            "observed: [no_free_play, not_judder]\n";

static void a_whole_car_is_read(void **state)
{
    (void)state;
    ch_car car;
    assert_int_equal(ch_car_parse("car.yaml", whole, strlen(whole), &car, NULL), CH_OK);
    assert_string_equal(car.title, "track car");
    assert_string_equal(car.tyre_text, "195/50R15");
    expect_close(car.final_drive_1, 4.1, 0);
    assert_int_equal(car.gears, 5);
    expect_close(car.gear_1[4], 0.814, 0);
    expect_close(car.mass_kg, 1050, 0);
    expect_close(car.drag_area_m2, 0.65, 0);
    expect_close(car.clutch.outer_m, 0.215, 1e-15); /* rounding of mm to m */
    expect_close(car.clutch.clamp_force_n, 5000, 0);
    assert_int_equal(car.observed_n, 2);
    assert_string_equal(car.observed[1].id, "not_judder");
    assert_int_equal(car.observed[1].line, 8);
    /* by hand: 2 pi 1.888*4.1/(3.05*(0.381 + 2*0.098)) */
    expect_relative(ch_car_line_rad_m(&car, 2), 2 * 3.14159265358979 * 1.888 * 4.1 / (3.05 * 0.577), 1e-12);
    assert_true(isnan(ch_car_line_rad_m(&car, 6)));
    assert_true(isnan(ch_car_line_rad_m(&car, 0)));
}

static void bare_numbers_have_the_units_of_the_page(void **state)
{
    (void)state;
    static const char text[] = "{\"mass\": 1050, \"drag_area\": 0.65, \"clutch\": {\"outer\": 215, \"inner\": 145, "
                               "\"surfaces\": 2, \"clamp_force\": 5000, \"friction\": 0.35}}";
    ch_car car;
    assert_int_equal(ch_car_parse("car.json", text, strlen(text), &car, NULL), CH_OK);
    expect_close(car.mass_kg, 1050, 0);
    expect_close(car.clutch.inner_m, 0.145, 1e-15); /* rounding of mm to m */
    expect_close(car.clutch.clamp_force_n, 5000, 0);
    assert_true(isnan(ch_car_line_rad_m(&car, 1)));
}

static void refuse(const char *text, long line, long column, const char *what, const char *right)
{
    ch_car car = {.mass_kg = 77};
    ch_err err = {0};
    assert_int_equal(ch_car_parse("car.yaml", text, strlen(text), &car, &err), CH_E_INPUT);
    if (strstr(err.what, what) != err.what)
        fail_msg("\"%s\" instead of \"%s\"", err.what, what);
    if (right != NULL)
        assert_non_null(strstr(err.right, right));
    if (err.line != line || err.column != column)
        fail_msg("%s: at %ld:%ld", what, err.line, err.column);
    expect_close(car.mass_kg, 77, 0); /* untouched */
}

static void what_is_wrong_is_refused_at_its_place(void **state)
{
    (void)state;
    refuse("mas: 1050 kg\n", 1, 1, "unknown key \"mas\"", "did you mean \"mass\"?");
    refuse("xyzzy: 1\n", 1, 1, "unknown key \"xyzzy\"", "one of title, tyre");
    refuse("mass: 1050 kg\nclutch: {outre: 215}\n", 2, 10, "unknown key \"outre\"", "did you mean \"outer\"?");
    refuse("mass: 10 t 5\n", 1, 7, "mass: unknown unit \"t 5\"", NULL);
    refuse("mass: 5 kg\n", 1, 7, "mass: 5 kg is out of range", "100 kg");
    refuse("mass: 200 mm\n", 1, 7, "mass: ", NULL);
    refuse("mass:\n", 1, 1, "mass: no value", "100 kg");
    refuse("tyre: big\n", 1, 7, "tyre: \"big\" is not a tyre's size", "195/50R15");
    refuse("gears: 3.5\n", 1, 8, "gears: a text", "[3.54, 1.91]");
    refuse("gears: []\n", 1, 8, "gears: 0 ratios", "1 to 10");
    refuse("gears: [1.9, 3.5]\n", 1, 14, "gears: the ratios do not fall", "first gear first");
    refuse("gears: [3.9 2.61]\n", 1, 9, "gears: \"3.9 2.61\" is not one plain number",
           "thousands separators, as in 12.5");
    refuse("gears: [99]\n", 1, 9, "gears: 99 is out of range", "0.3 to 20");
    refuse("clutch: {outer: 145 mm, inner: 215 mm}\n", 1, 9,
           "clutch: the facing's inner diameter is not below its outer", "below the outer");
    refuse("observed: no_free_play\n", 1, 11, "observed: a text", "names");
    refuse("- 1\n", 1, 1, "the car: a list", "keys and values");
}

static void running_out_of_memory_leaves_nothing_behind(void **state)
{
    (void)state;
    for (long n = 1;; n++) {
        ch_car car = {.mass_kg = 77};
        fail_alloc_at(n);
        const ch_status rc = ch_car_parse("car.yaml", whole, strlen(whole), &car, NULL);
        if (!fail_alloc_stop()) {
            assert_int_equal(rc, CH_OK);
            break;
        }
        if (rc != CH_OK) { /* libfyaml may do without what it did not get */
            assert_int_equal(rc, CH_E_MEMORY);
            expect_close(car.mass_kg, 77, 0);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_whole_car_is_read),
        cmocka_unit_test(bare_numbers_have_the_units_of_the_page),
        cmocka_unit_test(what_is_wrong_is_refused_at_its_place),
        cmocka_unit_test(running_out_of_memory_leaves_nothing_behind),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
