/* Promises of physics/tyre.c. */
#include "crosshatch/tyre.h"

#include <string.h>

#include "expect.h"

static ch_tyre tyre_of(const char *text)
{
    ch_tyre tyre = {NAN, NAN, NAN};
    if (ch_tyre_parse(text, strlen(text), &tyre, NULL) != CH_OK)
        fail_msg("%s is not read", text);
    return tyre;
}

static void sizes_are_read_as_they_stand_on_the_wall(void **state)
{
    (void)state;
    static const char *const written[] = {"195/50R15",      "195/50 R 15",   "195/50ZR15",         "P195/50R15",
                                          "195/50 R15 82V", "195/50r15",     " 195 / 50 ZR15 86W", "195/50HR15",
                                          "195/50 VR 15",   "195/50SR15 82", "195/50R15C 82/80T"};
    for (size_t i = 0; i < sizeof written / sizeof written[0]; i++) {
        const ch_tyre tyre = tyre_of(written[i]);
        expect_close(tyre.section_m, 0.195, 1e-15); /* rounding of mm to m */
        expect_close(tyre.aspect_1, 0.50, 1e-15);
        expect_close(tyre.rim_m, 0.381, 1e-15);
    }
    expect_close(tyre_of("175R14").aspect_1, 0.82, 1e-15);
}

static void what_is_no_size_is_refused(void **state)
{
    (void)state;
    static const char *const bad[] = {"",         "195",       "195/50",      "195/50-15",  "95/50R15",
                                      "195/5R15", "195/50R50", "1955/50R15",  "195/50R15x", "195//50R15",
                                      "R15",      "195/50R",   "195/50HVR15", "195/50XR15", "195/50R15CC"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        ch_tyre tyre = {1, 2, 3};
        ch_err err = {0};
        if (ch_tyre_parse(bad[i], strlen(bad[i]), &tyre, &err) != CH_E_INPUT)
            fail_msg("\"%s\" is read", bad[i]);
        expect_close(tyre.section_m, 1, 0); /* untouched */
        assert_true(err.right[0] != '\0');
    }
    ch_tyre tyre;
    assert_int_equal(ch_tyre_parse("195/50R15\0", 10, &tyre, NULL), CH_E_INPUT);
}

/* A section height of a half millimetre counts upwards: 195/70R14 has 136.5, 137 mm, so that it is 630 mm high, not 628 mm. Checked in whole numbers over
 * every size that is read. */
static void half_millimetres_of_section_height_count_upwards(void **state)
{
    (void)state;
    expect_close(ch_tyre_diameter(&(ch_tyre){0.165, 0.70, 13 * 0.0254}), 0.562, 1e-9);
    expect_close(ch_tyre_diameter(&(ch_tyre){0.195, 0.70, 14 * 0.0254}), 0.630, 1e-9);
    expect_close(ch_tyre_diameter(&(ch_tyre){0.205, 0.70, 15 * 0.0254}), 0.669, 1e-9);
    expect_close(ch_tyre_diameter(&(ch_tyre){0.245, 0.70, 16 * 0.0254}), 0.750, 1e-9);
    for (int section = 105; section <= 455; section++)
        for (int aspect = 20; aspect <= 100; aspect++)
            for (int rim = 8; rim <= 28; rim++) {
                char size[32];
                snprintf(size, sizeof size, "%d/%dR%d", section, aspect, rim);
                const ch_tyre tyre = tyre_of(size);
                const int height = (section * aspect + 50) / 100, seat = (rim * 254 + 5) / 10;
                expect_close(ch_tyre_diameter(&tyre), (seat + 2 * height) * 1e-3, 1e-9);
            }
}

/* Overall diameters and rolling circumferences of the standard's tables: 195/65R15 635 mm and 1937 mm, 205/55R16 632 mm and 1928 mm, 185/60R14 578 mm
 * and 1763 mm (ETRTO Standards Manual, passenger car tyres; from memory). The circumference is printed in whole millimetres. */
static void diameter_and_circumference_are_those_of_the_standard(void **state)
{
    (void)state;
    static const struct {
        const char *size;
        double diameter_m, circumference_m;
    } table[] = {{"195/65R15", 0.635, 1.937}, {"205/55R16", 0.632, 1.928}, {"185/60R14", 0.578, 1.763}};
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        const ch_tyre tyre = tyre_of(table[i].size);
        expect_close(ch_tyre_diameter(&tyre), table[i].diameter_m, 1e-12); /* whole millimetres by definition */
        expect_close(ch_tyre_rolling_circumference(&tyre), table[i].circumference_m, 0.5e-3 + 1e-9);
    }
}

static void a_rolling_tyre_is_a_little_less_than_its_circle(void **state)
{
    (void)state;
    const ch_tyre tyre = tyre_of("225/40R18");
    const double circle_m = 3.14159265358979 * ch_tyre_diameter(&tyre);
    assert_true(ch_tyre_rolling_circumference(&tyre) < circle_m);
    assert_true(ch_tyre_rolling_circumference(&tyre) > 0.95 * circle_m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sizes_are_read_as_they_stand_on_the_wall),
        cmocka_unit_test(what_is_no_size_is_refused),
        cmocka_unit_test(half_millimetres_of_section_height_count_upwards),
        cmocka_unit_test(diameter_and_circumference_are_those_of_the_standard),
        cmocka_unit_test(a_rolling_tyre_is_a_little_less_than_its_circle),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
