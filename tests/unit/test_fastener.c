/*
 * Promises of physics/fastener.c: the tables of ISO 898-1, a published worked example, and every refusal.
 */
#include "crosshatch/fastener.h"

#include "table.h"

#define MM 1e-3
#define MM2 1e-6

static ch_thread thread_of(const char *text)
{
    ch_thread thread = {NAN, NAN};
    ch_err err = {0};
    if (ch_thread_parse(text, strlen(text), &thread, &err) != CH_OK)
        fail_msg("%s: %s", text, err.what);
    return thread;
}

static ch_fastener_estimate estimate_of(const char *text, ch_property_class property_class, ch_thread_surface surface,
                                        double part_1)
{
    const ch_thread thread = thread_of(text);
    ch_fastener_estimate e = {0};
    assert_int_equal(ch_fastener_estimate_torque(&thread, property_class, surface, part_1, &e, NULL), CH_OK);
    return e;
}

static void expect_thread(const char *text, double diameter_mm, double pitch_mm)
{
    const ch_thread thread = thread_of(text);
    expect_close(thread.diameter_m, diameter_mm * MM, 1e-15); /* rounding of mm to m */
    expect_close(thread.pitch_m, pitch_mm * MM, 1e-15);
}

static void threads_are_read_as_people_write_them(void **state)
{
    (void)state;
    expect_thread("M10x1.5", 10, 1.5);
    expect_thread("M10", 10, 1.5);
    expect_thread(" m12 X 1,25 ", 12, 1.25);
    expect_thread("M14*1.5", 14, 1.5);
    expect_thread("M12\xC3\x97"
                  "1.5",
                  12, 1.5);
    expect_thread("M20", 20, 2.5);
    expect_thread("M4 x 0.7", 4, 0.7);
    expect_thread("M39x4", 39, 4);
}

static void refuse_thread(const char *text, const char *what, const char *right)
{
    ch_thread thread = {77, 77};
    ch_err err = {0};
    assert_int_equal(ch_thread_parse(text, strlen(text), &thread, &err), CH_E_INPUT);
    assert_string_equal(err.what, what);
    assert_string_equal(err.right, right);
    expect_close(thread.diameter_m, 77, 0);
}

static void what_is_no_thread_is_refused(void **state)
{
    (void)state;
    static const char right[] = "a metric thread such as M10x1.5";
    refuse_thread("", "\"\" is not a thread", right);
    refuse_thread("M", "\"M\" is not a thread", right);
    refuse_thread("10x1.5", "\"10x1.5\" is not a thread", right);
    refuse_thread("3/8-16", "\"3/8-16\" is not a thread", right);
    refuse_thread("Mx1", "\"Mx1\" is not a thread", right);
    refuse_thread("M10x", "\"M10x\" is not a thread", right);
    refuse_thread("M10x1.5x20", "\"M10x1.5x20\" is not a thread", right);
    refuse_thread("M10 mm", "\"M10 mm\" is not a thread", right);
    refuse_thread("Mnan", "\"Mnan\" is not a thread", right);
    refuse_thread("M2x0.4", "thread M2", "M3 to M39");
    refuse_thread("M48x5", "thread M48", "M3 to M39");
    refuse_thread("M-10x1", "thread M-10", "M3 to M39");
    refuse_thread("M18", "M18 without a pitch", "the pitch with it, as in M10x1.25");
    refuse_thread("M10x0.1", "pitch 0.1 mm on M10", "0.35 mm to 4 mm and at most a quarter of the diameter");
    refuse_thread("M10x3", "pitch 3 mm on M10", "0.35 mm to 4 mm and at most a quarter of the diameter");
    refuse_thread("M39x5", "pitch 5 mm on M39", "0.35 mm to 4 mm and at most a quarter of the diameter");
    assert_int_equal(ch_thread_parse("M10", 2, &(ch_thread){0}, NULL),
                     CH_E_INPUT); /* "M1": only `length` bytes count */
}

static void strength_classes_are_read(void **state)
{
    (void)state;
    ch_property_class c = CH_CLASS_COUNT;
    assert_int_equal(ch_property_class_parse("10.9", 4, &c, NULL), CH_OK);
    assert_int_equal(c, CH_CLASS_10_9);
    assert_int_equal(ch_property_class_parse(" 8.8 ", 5, &c, NULL), CH_OK);
    assert_int_equal(c, CH_CLASS_8_8);
    ch_err err = {0};
    assert_int_equal(ch_property_class_parse("8.8 ", 2, &c, &err), CH_E_INPUT);
    assert_string_equal(err.what, "strength class \"8.\"");
    assert_string_equal(err.right, "8.8, 10.9 or 12.9");
    assert_int_equal(ch_property_class_parse("5.8", 3, &c, NULL), CH_E_INPUT);
    assert_int_equal(ch_property_class_parse("", 0, &c, NULL), CH_E_INPUT);
    assert_int_equal(c, CH_CLASS_8_8);
    assert_string_equal(ch_property_class_name(CH_CLASS_12_9), "12.9");
    assert_null(ch_property_class_name(CH_CLASS_COUNT));
}

/* Pitches of ISO 261/262 and the stress area of ISO 898-1, 9.1.6.1, printed to 0.001 mm2. */
static void coarse_pitch_and_stress_area_agree_with_the_table(void **state)
{
    (void)state;
    table *t = table_read("fasteners/pitch_and_area.csv");
    for (int row = 1; row < t->rows; row++) {
        const ch_thread thread = thread_of(table_text(t, row, "thread"));
        expect_close(thread.pitch_m, table_number(t, row, "pitch_mm") * MM, 1e-15);
        expect_close(ch_thread_stress_area_m2(&thread), table_number(t, row, "stress_area_formula_mm2") * MM2,
                     table_half_unit(t, row, "stress_area_formula_mm2") * MM2 * 1.001);
    }
    free(t);
}

/*
 * ISO 898-1, Tables 4 and 5: areas and proof loads of three figures, which are half a percent at worst; some loads are rounded down (M6 8.8: 20.1
 * mm2 times 580 MPa is 11 658 N, printed 11 600).
 */
static void proof_loads_agree_with_iso_898_1(void **state)
{
    (void)state;
    static const char *const columns[CH_CLASS_COUNT] = {"proof_8.8_N", "proof_10.9_N", "proof_12.9_N"};
    table *t = table_read("fasteners/iso898-1_coarse_a.csv");
    for (int row = 1; row < t->rows; row++)
        for (int c = 0; c < CH_CLASS_COUNT; c++) {
            const ch_fastener_estimate e =
                estimate_of(table_text(t, row, "thread"), (ch_property_class)c, CH_THREAD_DRY, 1);
            expect_relative(e.stress_area_m2, table_number(t, row, "stress_area_mm2") * MM2, 0.005);
            expect_relative(e.proof_load_n, table_number(t, row, columns[c]), 0.007);
            expect_close(e.preload_n, e.proof_load_n, 0); /* all of it was asked for */
        }
    free(t);
}

/* The first case is a published worked example (tests/data/fasteners/SOURCE.md), printed to whole N m; the second is it with K = 0.15. */
static void the_short_form_agrees_with_the_worked_example(void **state)
{
    (void)state;
    table *t = table_read("fasteners/torque_short_form_examples.csv");
    assert_int_equal(t->rows, 3);
    for (int row = 1; row < t->rows; row++) {
        const double factor_1 = table_number(t, row, "K");
        const ch_thread_surface surface = factor_1 == 0.20 ? CH_THREAD_DRY : CH_THREAD_OILED;
        expect_close(ch_nut_factor_1(surface), factor_1, 0);
        const ch_fastener_estimate e =
            estimate_of("M12", CH_CLASS_8_8, surface, table_number(t, row, "fraction_of_proof"));
        expect_close(e.preload_n, table_number(t, row, "preload_kN") * 1e3, 50); /* printed to 0.1 kN */
        expect_close(e.torque_n_m, table_number(t, row, "torque_N_m"), 0.5);
    }
    free(t);
}

/* ISO 898-1, Table 3: proof stress by class and diameter; nut factors of supplier tables (SOURCE.md beside the data). */
static void proof_stress_and_nut_factor_are_those_of_the_tables(void **state)
{
    (void)state;
    static const double mpa[CH_CLASS_COUNT][2] = {{580, 600}, {830, 830}, {970, 970}},
                        factor_1[CH_THREAD_SURFACES] = {0.20, 0.17, 0.15};
    for (int c = 0; c < CH_CLASS_COUNT; c++)
        for (int d_mm = 3; d_mm <= 39; d_mm++)
            expect_close(ch_proof_stress_pa((ch_property_class)c, d_mm * MM), mpa[c][d_mm > 16] * 1e6, 0.0);
    for (int s = 0; s < CH_THREAD_SURFACES; s++)
        expect_close(ch_nut_factor_1((ch_thread_surface)s), factor_1[s], 0.0);
    assert_true(isnan(ch_proof_stress_pa(CH_CLASS_COUNT, 10 * MM)));
    assert_true(isnan(ch_nut_factor_1(CH_THREAD_SURFACES)));
}

static void class_8_8_is_stronger_above_m16(void **state)
{
    (void)state;
    expect_close(ch_proof_stress_pa(CH_CLASS_8_8, thread_of("M16").diameter_m), 580e6, 0);
    expect_close(ch_proof_stress_pa(CH_CLASS_8_8, thread_of("M18x1.5").diameter_m), 600e6, 0);
    assert_true(isnan(ch_proof_stress_pa(CH_CLASS_COUNT, 0.01)));
    assert_true(isnan(ch_nut_factor_1(CH_THREAD_SURFACES)));
}

static void a_fine_thread_bears_more_than_a_coarse_one(void **state)
{
    (void)state;
    assert_true(estimate_of("M10x1.25", CH_CLASS_10_9, CH_THREAD_DRY, 0.75).proof_load_n >
                estimate_of("M10", CH_CLASS_10_9, CH_THREAD_DRY, 0.75).proof_load_n);
}

static void every_estimate_says_that_the_manual_goes_before(void **state)
{
    (void)state;
    for (int surface = 0; surface < CH_THREAD_SURFACES; surface++) {
        const ch_fastener_estimate e =
            estimate_of("M10", CH_CLASS_10_9, (ch_thread_surface)surface, CH_FASTENER_PROOF_PART);
        assert_int_equal(strncmp(e.caution, "WARNING: ", 9), 0);
        assert_non_null(strstr(e.caution, "the torque of this vehicle's own manual goes before"));
        assert_non_null(strstr(e.caution, "never to tighten"));
    }
}

static void a_torque_from_elsewhere_is_held_against_the_estimate(void **state)
{
    (void)state;
    const ch_fastener_estimate e = estimate_of("M10", CH_CLASS_8_8, CH_THREAD_DRY, CH_FASTENER_PROOF_PART);
    expect_relative(e.torque_low_n_m, 0.7 * e.torque_n_m, 1e-12);
    expect_relative(e.torque_high_n_m, 1.3 * e.torque_n_m, 1e-12);
    assert_int_equal(ch_fastener_check(&e, e.torque_n_m), CH_TORQUE_USUAL);
    assert_int_equal(ch_fastener_check(&e, e.torque_low_n_m), CH_TORQUE_USUAL);
    assert_int_equal(ch_fastener_check(&e, e.torque_high_n_m), CH_TORQUE_USUAL);
    assert_int_equal(ch_fastener_check(&e, 0.99 * e.torque_low_n_m), CH_TORQUE_LOW);
    assert_int_equal(ch_fastener_check(&e, 1.01 * e.torque_high_n_m), CH_TORQUE_HIGH);
    assert_int_equal(ch_fastener_check(&e, NAN), CH_TORQUE_HIGH);
}

static void refuse_estimate(double diameter_m, double pitch_m, int property_class, int surface, double part_1)
{
    const ch_thread thread = {diameter_m, pitch_m};
    ch_fastener_estimate e = {.torque_n_m = 77};
    ch_err err = {0};
    assert_int_equal(ch_fastener_estimate_torque(&thread, (ch_property_class)property_class, (ch_thread_surface)surface,
                                                 part_1, &e, &err),
                     CH_E_RANGE);
    assert_int_equal(err.status, CH_E_RANGE);
    expect_close(e.torque_n_m, 77, 0);
}

static void what_is_outside_the_ranges_is_refused(void **state)
{
    (void)state;
    refuse_estimate(0, 0.001, 0, 0, 0.75);
    refuse_estimate(NAN, 0.001, 0, 0, 0.75);
    refuse_estimate(INFINITY, 0.001, 0, 0, 0.75);
    refuse_estimate(0.01, 0, 0, 0, 0.75);
    refuse_estimate(0.01, 0.003, 0, 0, 0.75);
    refuse_estimate(0.01, NAN, 0, 0, 0.75);
    refuse_estimate(0.01, 0.0015, CH_CLASS_COUNT, 0, 0.75);
    refuse_estimate(0.01, 0.0015, -1, 0, 0.75);
    refuse_estimate(0.01, 0.0015, 0, CH_THREAD_SURFACES, 0.75);
    refuse_estimate(0.01, 0.0015, 0, 0, 0);
    refuse_estimate(0.01, 0.0015, 0, 0, 1.01);
    refuse_estimate(0.01, 0.0015, 0, 0, NAN);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(threads_are_read_as_people_write_them),
        cmocka_unit_test(what_is_no_thread_is_refused),
        cmocka_unit_test(strength_classes_are_read),
        cmocka_unit_test(coarse_pitch_and_stress_area_agree_with_the_table),
        cmocka_unit_test(proof_loads_agree_with_iso_898_1),
        cmocka_unit_test(proof_stress_and_nut_factor_are_those_of_the_tables),
        cmocka_unit_test(the_short_form_agrees_with_the_worked_example),
        cmocka_unit_test(class_8_8_is_stronger_above_m16),
        cmocka_unit_test(a_fine_thread_bears_more_than_a_coarse_one),
        cmocka_unit_test(every_estimate_says_that_the_manual_goes_before),
        cmocka_unit_test(a_torque_from_elsewhere_is_held_against_the_estimate),
        cmocka_unit_test(what_is_outside_the_ranges_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
