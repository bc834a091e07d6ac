/* From a sheet to an engine: what is given is used, what is not is assumed and said to be. */
#include "crosshatch/setup.h"

#include <string.h>

#include "crosshatch/atmosphere.h"
#include "crosshatch/prior.h"
#include "expect.h"

#define DEGREE (3.14159265358979323846 / 180.0)

static const char BARE[] = "sheet: 1\nengine: {cylinders: 4}\ncompression: [{cylinder: 1, reading: 150 psi}]\n";

/* Every input that a default can stand in for, given, none of them equal to its default. */
static const char FULL[] = "sheet: 1\n"
                           "engine:\n"
                           "  cylinders: 4\n"
                           "  bore: 80.5 mm\n"
                           "  stroke: 88 mm\n"
                           "  rod_length: 140 mm\n"
                           "  compression_ratio: 9.6\n"
                           "  valve_timing: {intake_opens_btdc: 5, intake_closes_abdc: 48, exhaust_opens_bbdc: 53, "
                           "exhaust_closes_atdc: 3, at_lift: 0.2 mm}\n"
                           "  intake_valves: {count: 1, diameter: 38 mm, lift: 9.5 mm}\n"
                           "  exhaust_valves: {count: 1, diameter: 33 mm, lift: 9 mm}\n"
                           "gauge: {span: 250 psi, accuracy: 2 % of span, resolution: 2 psi, hose_volume: 14 ml, "
                           "dead_volume: 3 ml, valve_area: 1.3 mm2, opening_pressure: 9 kPa}\n"
                           "conditions: {barometer: 962 hPa, air_temperature: 9 C, engine_temperature: 60 C, throttle: "
                           "open, cranking_speed: 190 rpm, strokes: 9}\n"
                           "compression: [{cylinder: 1, reading: 150 psi}]\n"
                           "model: {annand: 0.6, crevice_fraction: 0.02, valve_discharge: 0.55}\n"
                           "leaks: [{cylinder: all, rings: 0.6 mm2}]\n";

static ch_status try_setup(const char *text, ch_sheet *sheet, ch_setup *setup, ch_err *err)
{
    assert_int_equal(ch_sheet_parse("a test's sheet", text, strlen(text), sheet, err), CH_OK);
    return ch_setup_from_sheet(sheet, CH_PRIOR_UNSTATED_LIFT_M, setup, err);
}

static void set_up(const char *text, ch_setup *setup)
{
    ch_sheet sheet;
    ch_err err = {0};
    const ch_status rc = try_setup(text, &sheet, setup, &err);
    ch_sheet_clear(&sheet);
    if (rc < 0)
        print_error("%s\n", err.what);
    assert_int_equal(rc, CH_OK);
}

static void every_default_is_flagged_and_named(void **state)
{
    (void)state;
    ch_setup setup;
    set_up(BARE, &setup);
    for (int input = 0; input < CH_INPUT_COUNT; input++) {
        if (!setup.assumed[input])
            print_error("%s is not flagged\n", ch_input_name((ch_input)input));
        assert_true(setup.assumed[input]);
        assert_true(strlen(ch_input_name((ch_input)input)) > 0);
        assert_true(strlen(ch_input_reason((ch_input)input)) > 0);
    }
}

static void nothing_given_is_flagged(void **state)
{
    (void)state;
    ch_setup setup;
    set_up(FULL, &setup);
    for (int input = 0; input < CH_INPUT_COUNT; input++) {
        if (setup.assumed[input])
            print_error("%s is flagged\n", ch_input_name((ch_input)input));
        assert_false(setup.assumed[input]);
    }
}

static void what_is_given_is_used(void **state)
{
    (void)state;
    ch_setup setup;
    set_up(FULL, &setup);
    const ch_cranking *c = &setup.cranking;
    const double near = 1e-12; /* conversions of units only */
    expect_relative(c->bore.bore_m, 0.0805, near);
    expect_relative(c->bore.stroke_m, 0.088, near);
    expect_relative(c->bore.rod_m, 0.140, near);
    expect_relative(setup.compression_ratio, 9.6, near);
    /* Vc = Vd/(CR - 1) */
    expect_relative(c->clearance_m3, ch_piston_swept_m3(&c->bore) / 8.6, near);
    expect_relative(c->crevice_m3, 0.02 * c->clearance_m3, near);
    assert_int_equal(c->intake.count, 1);
    expect_relative(c->intake.diameter_m, 0.038, near);
    expect_relative(c->exhaust.lift_m, 0.009, near);
    expect_relative(c->intake.discharge_1, 0.55, near);
    expect_relative(setup.timing.intake_closes_abdc.si, 48.0 * DEGREE, near);
    expect_relative(setup.at_lift_m, 0.2e-3, near);
    expect_relative(c->annand_1, 0.6, near);
    expect_relative(c->hose_m3, 14e-6, near);
    expect_relative(c->dead_m3, 3e-6, near);
    expect_relative(c->check_area_m2, 1.3e-6, near);
    expect_relative(c->check_opening_pa, 9e3, near);
    expect_relative(c->ambient_pa, 96200.0, near);
    expect_relative(c->intake_pa, 96200.0, near);
    expect_relative(c->air_k, 282.15, near);
    expect_relative(c->wall_k, 333.15, near);
    expect_relative(c->speed_rad_s, 190.0 * 360.0 * DEGREE / 60.0, near);
    assert_int_equal(c->strokes, 9);
    assert_false(setup.throttle_shut);
}

static void timing_holds_at_the_given_lift_or_at_the_callers(void **state)
{
    (void)state;
    ch_setup setup;
    set_up(FULL, &setup);
    /* 48 degrees after bottom dead centre, 180 + 360 + 48 after firing top: there the lift is 0.2 mm */
    expect_relative(ch_valve_lift_m(&setup.cranking.intake, (540.0 + 48.0) * DEGREE), 0.2e-3, 1e-6);
    expect_relative(ch_valve_lift_m(&setup.cranking.exhaust, (180.0 - 53.0) * DEGREE), 0.2e-3, 1e-6);

    static const char UNSTATED[] = "sheet: 1\nengine: {cylinders: 4, valve_timing: {intake_closes_abdc: 55}}\n"
                                   "compression: [{cylinder: 1, reading: 150 psi}]\n";
    ch_sheet sheet;
    ch_err err = {0};
    assert_int_equal(ch_sheet_parse("s", UNSTATED, strlen(UNSTATED), &sheet, &err), CH_OK);
    assert_int_equal(ch_setup_from_sheet(&sheet, 0.4e-3, &setup, &err), CH_OK);
    ch_sheet_clear(&sheet);
    expect_relative(ch_valve_lift_m(&setup.cranking.intake, (540.0 + 55.0) * DEGREE), 0.4e-3, 1e-6);
    assert_true(setup.assumed[CH_INPUT_AT_LIFT]);
    assert_false(setup.assumed[CH_INPUT_INTAKE_CLOSES]);
    assert_true(setup.assumed[CH_INPUT_EXHAUST_OPENS]);
}

/* Ambient pressure and its doubt for one line of conditions. */
static void ambient(const char *conditions, double *pressure_pa, double *doubt_1, bool *assumed)
{
    char text[512];
    snprintf(text, sizeof text,
             "sheet: 1\nengine: {cylinders: 4}\nconditions: {%s}\ncompression: [{cylinder: 1, reading: 150 psi}]\n",
             conditions);
    ch_setup setup;
    set_up(text, &setup);
    *pressure_pa = setup.cranking.ambient_pa;
    *doubt_1 = setup.barometer_doubt_1;
    *assumed = setup.assumed[CH_INPUT_AMBIENT_PRESSURE];
}

static void a_barometer_beats_sea_level_pressure_beats_altitude(void **state)
{
    (void)state;
    double pa[5], doubt[5];
    bool assumed[5];
    ambient("barometer: 900 hPa, sea_level_pressure: 1020 hPa, altitude: 1500 m", &pa[0], &doubt[0], &assumed[0]);
    ambient("sea_level_pressure: 1020 hPa, altitude: 1500 m", &pa[1], &doubt[1], &assumed[1]);
    ambient("altitude: 1500 m", &pa[2], &doubt[2], &assumed[2]);
    ambient("sea_level_pressure: 1020 hPa", &pa[3], &doubt[3], &assumed[3]);
    ambient("throttle: open", &pa[4], &doubt[4], &assumed[4]);
    expect_relative(pa[0], 90000.0, 1e-12);
    double station_pa;
    assert_int_equal(ch_atmosphere_station_pressure(102000.0, 1500.0, &station_pa, NULL), CH_OK);
    expect_relative(pa[1], station_pa, 1e-12);
    /* ISO 2533, table: 845.56 hPa (84556 Pa) at 1500 m geopotential */
    expect_close(pa[2], 84556.0, 30.0);
    expect_relative(pa[3], 102000.0, 1e-9);
    /* ISO 2533: 101325 Pa at sea level */
    expect_relative(pa[4], 101325.0, 1e-9);
    assert_false(assumed[0] || assumed[1] || assumed[3]);
    assert_true(assumed[2] && assumed[4]);
    for (int i = 1; i < 3; i++)
        assert_true(doubt[i] > doubt[i - 1]);
    assert_true(doubt[3] > doubt[1]);
    assert_true(doubt[4] > doubt[2]);
}

static void an_odd_valve_set_goes_by_the_bore(void **state)
{
    (void)state;
    ch_setup one, two;
    set_up("sheet: 1\nengine: {cylinders: 4, bore: 80 mm, intake_valves: {count: 1}}\n"
           "compression: [{cylinder: 1, reading: 150 psi}]\n",
           &one);
    set_up("sheet: 1\nengine: {cylinders: 4, bore: 80 mm, intake_valves: {count: 2}}\n"
           "compression: [{cylinder: 1, reading: 150 psi}]\n",
           &two);
    assert_true(one.cranking.intake.diameter_m > two.cranking.intake.diameter_m);
    assert_true(one.assumed[CH_INPUT_INTAKE_VALVES]); /* size and lift are still the default's */
    expect_relative(one.cranking.intake.diameter_m, 0.45 * 0.080, 1e-12);
    expect_relative(two.cranking.intake.diameter_m, 0.37 * 0.080, 1e-12);
}

static void leaks_of_a_cylinder_replace_those_of_all(void **state)
{
    (void)state;
    static const char TEXT[] =
        "sheet: 1\nengine: {cylinders: 4, bore: 84 mm}\ncompression: [{cylinder: 1, reading: 150 psi}]\n"
        "leaks:\n"
        "  - {cylinder: all, rings: 0.6 mm2, intake_valve: 0.1 mm2}\n"
        "  - {cylinder: 2, rings: 3 mm2, exhaust_valve: 1.5 mm2, neighbour: 0.2 mm2}\n"
        "  - {cylinder: 3, coolant: 0.3 mm2}\n";
    ch_sheet sheet;
    ch_setup setup;
    ch_err err = {0};
    assert_int_equal(try_setup(TEXT, &sheet, &setup, &err), CH_OK);
    const ch_leak_areas first = ch_setup_leaks(&sheet, &setup, 1), second = ch_setup_leaks(&sheet, &setup, 2),
                        third = ch_setup_leaks(&sheet, &setup, 3);
    ch_sheet_clear(&sheet);
    expect_relative(first.rings_m2, 0.6e-6, 1e-12);
    expect_relative(first.intake_valve_m2, 0.1e-6, 1e-12);
    assert_true(first.exhaust_valve_m2 == 0.0 && first.neighbour_m2 == 0.0 && first.coolant_m2 == 0.0);
    expect_relative(second.rings_m2, 3e-6, 1e-12);
    expect_relative(second.intake_valve_m2, 0.1e-6, 1e-12);
    expect_relative(second.exhaust_valve_m2, 1.5e-6, 1e-12);
    expect_relative(second.neighbour_m2, 0.2e-6, 1e-12);
    expect_relative(third.rings_m2, 0.6e-6, 1e-12);
    expect_relative(third.coolant_m2, 0.3e-6, 1e-12);
}

static void a_sheet_without_leaks_means_a_sound_cylinder(void **state)
{
    (void)state;
    ch_sheet sheet;
    ch_setup setup;
    ch_err err = {0};
    assert_int_equal(try_setup(BARE, &sheet, &setup, &err), CH_OK);
    const ch_leak_areas sound = ch_setup_leaks(&sheet, &setup, 4);
    ch_sheet_clear(&sheet);
    expect_relative(sound.rings_m2, CH_PRIOR_RING_M2_PER_M * setup.cranking.bore.bore_m, 1e-12);
    assert_true(sound.intake_valve_m2 == 0.0 && sound.exhaust_valve_m2 == 0.0 && sound.neighbour_m2 == 0.0);
}

static void reasons_give_the_priors_own_figures(void **state)
{
    (void)state;
    char ring[64], lift[64];
    snprintf(ring, sizeof ring, "%.2f mm2", CH_PRIOR_RING_M2_PER_M * 0.084 * 1e6);
    snprintf(lift, sizeof lift, "%.1f mm", CH_PRIOR_UNSTATED_LIFT_M * 1e3);
    assert_non_null(strstr(ch_input_reason(CH_INPUT_LEAKS), ring));
    assert_non_null(strstr(ch_input_reason(CH_INPUT_AT_LIFT), lift));
}

static void a_rod_shorter_than_the_crank_is_refused(void **state)
{
    (void)state;
    ch_sheet sheet;
    ch_setup setup = {.compression_ratio = 1.25};
    ch_err err = {0};
    assert_int_equal(try_setup("sheet: 1\nengine: {cylinders: 4, stroke: 120 mm, rod_length: 62 mm}\n"
                               "compression: [{cylinder: 1, reading: 150 psi}]\n",
                               &sheet, &setup, &err),
                     CH_E_RANGE);
    ch_sheet_clear(&sheet);
    assert_non_null(strstr(err.what, "rod"));
    assert_true(setup.compression_ratio == 1.25);
}

static void a_shut_throttle_leaves_more_in_a_larger_engine(void **state)
{
    (void)state;
    expect_relative(ch_shut_throttle_area_m2(3e-3), 3.0 * ch_shut_throttle_area_m2(1e-3), 1e-12);
    ch_setup setup;
    set_up("sheet: 1\nengine: {cylinders: 4}\nconditions: {throttle: shut}\n"
           "compression: [{cylinder: 1, reading: 150 psi}]\n",
           &setup);
    assert_true(setup.throttle_shut);
    assert_false(setup.assumed[CH_INPUT_THROTTLE]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_default_is_flagged_and_named),
        cmocka_unit_test(nothing_given_is_flagged),
        cmocka_unit_test(what_is_given_is_used),
        cmocka_unit_test(timing_holds_at_the_given_lift_or_at_the_callers),
        cmocka_unit_test(a_barometer_beats_sea_level_pressure_beats_altitude),
        cmocka_unit_test(an_odd_valve_set_goes_by_the_bore),
        cmocka_unit_test(leaks_of_a_cylinder_replace_those_of_all),
        cmocka_unit_test(a_sheet_without_leaks_means_a_sound_cylinder),
        cmocka_unit_test(reasons_give_the_priors_own_figures),
        cmocka_unit_test(a_rod_shorter_than_the_crank_is_refused),
        cmocka_unit_test(a_shut_throttle_leaves_more_in_a_larger_engine),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
