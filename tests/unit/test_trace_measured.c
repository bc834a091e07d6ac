/* Promises of trace/measured.c: what the rows of a sheet come to, cylinder by cylinder, and how far each figure is to be trusted. */
#include "../../src/trace/tables.h"
#include "crosshatch/leakdown.h"
#include "crosshatch/prior.h"
#include "expect.h"

#include <string.h>

static const double SPAN_PA = 2.0e6, STEP_PA = 20e3;

/* A sheet from its text, measured with a gauge of SPAN_PA that is read to STEP_PA. */
/* It is large: the same place each time. */
static const measured *measured_of(const char *text)
{
    ch_sheet sheet;
    ch_err err = {0};
    if (ch_sheet_parse("sheet", text, strlen(text), &sheet, &err) < 0)
        fail_msg("%s", err.what);
    ch_setup setup;
    assert_int_equal(ch_setup_from_sheet(&sheet, CH_PRIOR_UNSTATED_LIFT_M, &setup, NULL), CH_OK);
    setup.gauge_span_pa = SPAN_PA;
    setup.gauge_resolution_pa = STEP_PA;
    static measured made;
    memset(&made, 0, sizeof made);
    measured_from_sheet(&sheet, &setup, &made);
    ch_sheet_clear(&sheet);
    return &made;
}

/* Reading to a step: step/sqrt(12), GUM F.2.2.1. Repeats: their variance pooled, with four degrees of freedom of 2.5 psi. */
static double u_of(double squares_pa2, double df, double n)
{
    const double usual_pa = 17.2e3, variance = (squares_pa2 + 4.0 * usual_pa * usual_pa) / (df + 4.0);
    return sqrt(variance / n + STEP_PA * STEP_PA / 12.0);
}

static void repeats_tell_how_well_a_reading_repeats(void **state)
{
    (void)state;
    const measured *m =
        measured_of("sheet: 1\nunits: {pressure: kPa}\nengine: {cylinders: 3}\ncompression:\n"
                    "  - {cylinder: 1, reading: 1000, first_stroke: 600}\n  - {cylinder: 1, reading: 1030}\n"
                    "  - {cylinder: 1, reading: 1060, first_stroke: 640}\n  - {cylinder: 2, reading: 900}\n"
                    "  - {cylinder: 2, reading: 910}\n");
    assert_true(m->any_dry && !m->any_wet && !m->any_leakdown);
    expect_relative(m->cylinder[0].dry.mean_pa, 1030e3, 1e-12);
    expect_relative(m->cylinder[1].dry.mean_pa, 905e3, 1e-12);
    expect_relative(m->cylinder[0].first.mean_pa, 620e3, 1e-12);
    assert_true(m->cylinder[0].dry.n == 3 && m->cylinder[0].first.n == 2 && m->cylinder[2].dry.n == 0);
    /* 30^2 + 0 + 30^2 + 5^2 + 5^2, three degrees of freedom */
    const double squares = 1850e6;
    expect_relative(m->cylinder[0].dry.u_pa, u_of(squares, 3.0, 3.0), 1e-12);
    expect_relative(m->cylinder[1].dry.u_pa, u_of(squares, 3.0, 2.0), 1e-12);
    /* A first stroke scatters twice as much: four times the variance, the same step. */
    const double step2 = STEP_PA * STEP_PA / 12.0, one = pow(u_of(squares, 3.0, 1.0), 2.0) - step2;
    expect_relative(m->cylinder[0].first.u_pa, sqrt(4.0 * one / 2.0 + step2), 1e-12);
    /* five rows: places 0, 1/4, 1/2 and 3/4, 1 */
    expect_close(m->cylinder[0].turn_1, 0.25, 1e-12);
    expect_close(m->cylinder[1].turn_1, 0.875, 1e-12);
}

static void a_reading_without_repeats_is_trusted_as_usual(void **state)
{
    (void)state;
    const measured *m = measured_of(
        "sheet: 1\nunits: {pressure: kPa}\nengine: {cylinders: 2}\ncompression:\n  - {cylinder: 2, reading: 1000}\n");
    expect_relative(m->cylinder[1].dry.u_pa, u_of(0.0, 0.0, 1.0), 1e-12);
    expect_close(m->cylinder[1].turn_1, 0.0, 0.0);
    assert_true(m->cylinder[0].dry.n == 0 && m->cylinder[0].dry.u_pa == 0.0);
}

static void oil_is_the_mean_of_the_doses_that_are_given(void **state)
{
    (void)state;
    const measured *m =
        measured_of("sheet: 1\nunits: {pressure: kPa, volume: ml}\nengine: {cylinders: 3}\ncompression:\n"
                    "  - {cylinder: 1, reading: 1000}\nwet:\n  - {cylinder: 1, reading: 1100, oil: 6}\n"
                    "  - {cylinder: 1, reading: 1140, oil: 10}\n  - {cylinder: 2, reading: 990}\n");
    assert_true(m->any_wet);
    expect_relative(m->cylinder[0].oil_m3, 8e-6, 1e-12);
    expect_relative(m->cylinder[0].wet.mean_pa, 1120e3, 1e-12);
    expect_relative(m->cylinder[0].wet.u_pa, u_of(0.0, 0.0, 2.0), 1e-12);
    assert_true(isnan(m->cylinder[1].oil_m3) && isnan(m->cylinder[2].oil_m3));
    assert_true(m->cylinder[1].wet.n == 1 && m->cylinder[2].wet.n == 0);
}

/* A chamber of 58.8 ml, since nothing is known of the engine (86 mm square, 9.5:1), and four fifths of it 47.02. */
static void a_dose_that_no_chamber_holds_makes_no_wet_test(void **state)
{
    (void)state;
    const measured *m =
        measured_of("sheet: 1\nunits: {pressure: kPa, volume: ml}\nengine: {cylinders: 2}\nwet:\n"
                    "  - {cylinder: 1, reading: 1100, oil: 48}\n  - {cylinder: 2, reading: 1140, oil: 48}\n"
                    "  - {cylinder: 2, reading: 1150, oil: 47}\n");
    assert_true(m->any_wet && m->cylinder[0].wet.n == 0 && isnan(m->cylinder[0].oil_m3) && m->cylinder[1].wet.n == 1);
    expect_relative(m->cylinder[1].wet.mean_pa, 1150e3, 1e-12);
    assert_false(
        measured_of("sheet: 1\nengine: {cylinders: 1}\nwet: [{cylinder: 1, reading: 11 bar, oil: 200 ml}]\n")->any_wet);
}

static void a_leak_down_row_says_what_it_says_and_what_is_usual_for_the_rest(void **state)
{
    (void)state;
    const measured *m =
        measured_of("sheet: 1\nengine: {cylinders: 2, bore: 86 mm}\nleakdown:\n  - {cylinder: 1, loss: 12 %}\n"
                    "  - {cylinder: 2, loss: 30 %, supply: 100 psi, orifice: 1.5 mm, heard: [exhaust, cylinder_1]}\n"
                    "  - {cylinder: 2, loss: 31 %, heard: [nothing]}\n");
    assert_true(m->any_leakdown && !m->any_dry);
    const measured_leakdown *one = &m->cylinder[0].leakdown[0], *two = m->cylinder[1].leakdown;
    /* FAA AC 43.13-1B Change 1, 8-14: 80 psi, through 0.040 in for bores under 5 in. 1 psi = 6894.757 Pa (NIST SP 811, B.8). */
    expect_relative(one->supply_gauge_pa, 551580.6, 1e-6);
    expect_relative(one->orifice_m, 0.040 * 25.4e-3, 1e-9);
    expect_close(one->loss_1, 0.12, 1e-12);
    assert_true(one->orifice_assumed && !one->heard_stated && one->heard == 0);
    expect_relative(two[0].supply_gauge_pa, 689475.7, 1e-6);
    expect_relative(two[0].orifice_m, 1.5e-3, 1e-12);
    assert_true(!two[0].orifice_assumed && two[0].heard_stated && two[0].heard == CH_HEARD_EXHAUST &&
                two[0].heard_cylinders == 1);
    assert_true(two[1].orifice_assumed && two[1].heard_stated && two[1].heard == 0 && two[1].heard_cylinders == 0);
    assert_true(m->cylinder[0].leakdown_count == 1 && m->cylinder[1].leakdown_count == 2);
}

/* Rows that a cylinder's places are made of, their losses added up, and what was heard at any. */
static void expect_rows(const measured *m, size_t rows, double sum_1, unsigned heard)
{
    size_t found = 0;
    double sum = 0.0;
    unsigned heard_at_any = 0;
    assert_int_equal(m->cylinder[0].leakdown_count, LEAKDOWN_ROWS_MAX);
    for (int i = 0; i < LEAKDOWN_ROWS_MAX; i++) {
        const measured_leakdown *one = &m->cylinder[0].leakdown[i];
        found += one->rows;
        sum += one->losses > 0 ? (double)one->losses * one->loss_1 : 0.0;
        heard_at_any |= one->heard;
    }
    assert_int_equal(found, rows);
    expect_close(sum, sum_1, 1e-12);
    assert_int_equal(heard_at_any, heard);
}

static void of_many_leak_down_rows_every_one_counts(void **state)
{
    (void)state;
#define EIGHT(row) row row row row row row row row
    const measured *m =
        measured_of("sheet: 1\nengine: {cylinders: 1}\nleakdown:\n"
                    "  - {cylinder: 1, loss: 70 %, heard: exhaust}\n  - {cylinder: 1, heard: coolant}\n" EIGHT(
                        "  - {cylinder: 1, loss: 8 %}\n"));
    expect_rows(m, 10, 0.7 + 8 * 0.08, CH_HEARD_EXHAUST | CH_HEARD_COOLANT);
    assert_true(m->any_heard);
    /* what was heard at the last one as well */
    m = measured_of("sheet: 1\nengine: {cylinders: 1}\nleakdown:\n" EIGHT(
        "  - {cylinder: 1, loss: 8 %}\n") "  - {cylinder: 1, loss: 40 %, heard: intake}\n");
    expect_rows(m, 9, 8 * 0.08 + 0.4, CH_HEARD_INTAKE);
    /* losses under another pressure are another test: those of one pressure go together */
    m = measured_of("sheet: 1\nengine: {cylinders: 1}\nleakdown:\n"
                    "  - {cylinder: 1, loss: 50 %, supply: 40 psi}\n" EIGHT("  - {cylinder: 1, loss: 8 %}\n"));
    expect_rows(m, 9, 0.5 + 8 * 0.08, 0);
    assert_int_equal(m->cylinder[0].leakdown[0].rows, 1);
    expect_close(m->cylinder[0].leakdown[0].loss_1, 0.5, 1e-12);
#undef EIGHT
}

static void a_gauge_is_trusted_as_far_as_its_dial_says(void **state)
{
    (void)state;
    static const struct {
        const char *accuracy;
        double gain_1;
    } dials[] = {
        /* half width over sqrt(3) (GUM 4.3.7); a limit of span is one of the usual reading, 0.6 of it */
        {"gauge: {accuracy: 3 % of reading}\n", 0.03 / 1.7320508075688772},
        {"gauge: {span: 2 MPa, accuracy: 3 % of span}\n", 0.03 / 1.7320508075688772 / 0.6},
        {"", CH_PRIOR_GAUGE_LIMIT_OF_SPAN / 1.7320508075688772 / 0.6},
    };
    for (size_t i = 0; i < sizeof dials / sizeof dials[0]; i++) {
        char text[400];
        snprintf(text, sizeof text,
                 "sheet: 1\nengine: {cylinders: 1}\n%scompression:\n  - {cylinder: 1, reading: 1 MPa}\n",
                 dials[i].accuracy);
        const measured *m = measured_of(text);
        expect_relative(m->u_gain_1, dials[i].gain_1, 1e-12);
        expect_relative(m->u_zero_pa, 0.5 * STEP_PA, 1e-12);
    }
}

/* SPAN_PA's tenth is 200 kPa: from there on the dial is what its class says, below it a third (0.33) of what is missing to it is added. */
static void the_lowest_tenth_of_a_dial_is_trusted_less(void **state)
{
    (void)state;
    const measured *m = measured_of(
        "sheet: 1\nunits: {pressure: kPa}\nengine: {cylinders: 4}\ncompression:\n"
        "  - {cylinder: 1, reading: 0, first_stroke: 0}\n  - {cylinder: 2, reading: 100}\n"
        "  - {cylinder: 3, reading: 200}\n  - {cylinder: 4, reading: 900}\nwet:\n  - {cylinder: 1, reading: 50}\n");
    const double usual_pa = u_of(0.0, 0.0, 1.0);
    expect_relative(m->cylinder[0].dry.u_pa, hypot(usual_pa, 66e3), 1e-12);
    expect_relative(m->cylinder[1].dry.u_pa, hypot(usual_pa, 33e3), 1e-12);
    expect_relative(m->cylinder[2].dry.u_pa, usual_pa, 1e-12);
    expect_relative(m->cylinder[3].dry.u_pa, usual_pa, 1e-12);
    expect_relative(m->cylinder[0].wet.u_pa, hypot(usual_pa, 49.5e3), 1e-12);
    const double step2 = STEP_PA * STEP_PA / 12.0;
    expect_relative(m->cylinder[0].first.u_pa, sqrt(4.0 * (usual_pa * usual_pa - step2) + step2 + 66e3 * 66e3), 1e-12);
}

/* A dial that should show so much shows something: over all marks of the dial the chances add up to one, also where most of them are the needle on its stop.
 * 3 %: the stop's is that of a normal, the others' of Student's t with the normal's quartiles. Chances are per pascal and without t's constant,
 * Gamma(9/2)/(Gamma(4) sqrt(8 pi)). */
static void what_a_dial_may_show_adds_up(void **state)
{
    (void)state;
    const double constant = tgamma(4.5) / (tgamma(4.0) * sqrt(8.0 * 3.14159265358979324));
    const double should_pa[] = {0.0, 5e3, 30e3, 80e3, 150e3, 190e3, 400e3, 900e3};
    for (size_t i = 0; i < sizeof should_pa / sizeof should_pa[0]; i++) {
        double sum = 0.0;
        for (int mark = 0; mark <= 100; mark++) {
            char text[200];
            snprintf(text, sizeof text,
                     "sheet: 1\nunits: {pressure: kPa}\nengine: {cylinders: 1}\ncompression:\n"
                     "  - {cylinder: 1, reading: %d}\n",
                     mark * (int)(1e-3 * STEP_PA));
            const measured *m = measured_of(text);
            sum += constant * STEP_PA * dry_chance(&m->cylinder[0], should_pa[i], 0.0);
        }
        expect_close(sum, 1.0, 0.03);
    }
}

/* The doubt is that of the place where the needle should stand: 66 kPa where it should show nothing, though at the 140 kPa that it shows it is 20 kPa. */
static void what_should_show_nothing_may_show_something(void **state)
{
    (void)state;
    const measured *m = measured_of("sheet: 1\nunits: {pressure: kPa}\nengine: {cylinders: 2}\ncompression:\n"
                                    "  - {cylinder: 1, reading: 140}\n  - {cylinder: 2, reading: 0}\n");
    const double there_pa = hypot(u_of(0.0, 0.0, 1.0), 66e3), scale = sqrt(0.9117) * there_pa, z = 140e3 / scale;
    expect_relative(dry_chance(&m->cylinder[0], 0.0, 0.0), pow(1.0 + z * z / 8.0, -4.5) / scale, 1e-12);
    /* On its stop: as likely at 0 as not to have passed half a step, and the less likely the higher it should stand. */
    double before = dry_chance(&m->cylinder[1], 0.0, 0.0);
    assert_true(before > 0.5 / (STEP_PA * 0.387) && before < 0.6 / (STEP_PA * 0.386));
    for (double should_pa = 20e3; should_pa < 400e3; should_pa += 20e3) {
        const double chance = dry_chance(&m->cylinder[1], should_pa, 0.0);
        assert_true(chance < before);
        before = chance;
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(repeats_tell_how_well_a_reading_repeats),
        cmocka_unit_test(a_reading_without_repeats_is_trusted_as_usual),
        cmocka_unit_test(oil_is_the_mean_of_the_doses_that_are_given),
        cmocka_unit_test(a_dose_that_no_chamber_holds_makes_no_wet_test),
        cmocka_unit_test(a_leak_down_row_says_what_it_says_and_what_is_usual_for_the_rest),
        cmocka_unit_test(of_many_leak_down_rows_every_one_counts),
        cmocka_unit_test(a_gauge_is_trusted_as_far_as_its_dial_says),
        cmocka_unit_test(the_lowest_tenth_of_a_dial_is_trusted_less),
        cmocka_unit_test(what_a_dial_may_show_adds_up),
        cmocka_unit_test(what_should_show_nothing_may_show_something),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
