/* Promises of physics/clutch.c: published worked examples, limits, and the heat balance against its closed form. */
#include "crosshatch/clutch.h"

#include <stdbool.h>
#include <string.h>

#include "table.h"

static ch_clutch_disc disc_of(double outer_m, double inner_m)
{
    return (ch_clutch_disc){
        .outer_m = outer_m, .inner_m = inner_m, .surfaces_1 = 1, .clamp_force_n = 15707.963268, .friction_1 = 0.2};
}

/* V. B. Bhandari, Design of Machine Elements, 2nd ed. 2007, examples 11.1 (uniform wear) and 11.2 (uniform pressure): tests/data/clutch. */
static void capacity_is_that_of_the_worked_examples(void **state)
{
    (void)state;
    table *t = table_read("clutch/bhandari_ex_11_1_and_11_2.csv");
    for (int row = 1; row < t->rows; row++) {
        const ch_clutch_disc disc = {.outer_m = table_number(t, row, "outer_D_mm") * 1e-3,
                                     .inner_m = table_number(t, row, "inner_d_mm") * 1e-3,
                                     .surfaces_1 = table_number(t, row, "surfaces"),
                                     .clamp_force_n = table_number(t, row, "force_N"),
                                     .friction_1 = table_number(t, row, "mu")};
        double pressure = NAN, wear = NAN;
        assert_int_equal(ch_clutch_capacity(&disc, &pressure, &wear, NULL), CH_OK);
        const bool is_wear = strcmp(table_text(t, row, "theory"), "uniform_wear") == 0;
        /* twelve figures are printed */
        expect_relative(is_wear ? wear : pressure, table_number(t, row, "torque_N_mm") * 1e-3, 1e-11);
    }
    assert_int_equal(t->rows, 3);
    free(t);
}

/*
 * The integral that both theories are: mu p r over rings of 2 pi r dr, N times, the pressure such that it adds up to the force: the same all over the facing, or, where what rubs faster wears
 * faster until all wears alike, falling as 1/r.
 */
static double capacity_of_rings(const ch_clutch_disc *disc, bool worn)
{
    enum { RINGS = 20000 };
    const double from_m = disc->inner_m / 2, step_m = (disc->outer_m - disc->inner_m) / 2 / RINGS;
    double force = 0, moment = 0;
    for (int k = 0; k < RINGS; k++) {
        const double r = from_m + (k + 0.5) * step_m, pressure = worn ? 1 / r : 1, ring = 2 * acos(-1) * r * step_m;
        force += pressure * ring;
        moment += pressure * ring * r;
    }
    return disc->friction_1 * disc->surfaces_1 * disc->clamp_force_n * moment / force;
}

static void capacity_is_the_integral_over_the_facing(void **state)
{
    (void)state;
    /* a plate of a road car, a twin plate, a narrow ring and a full disc: invented */
    static const ch_clutch_disc discs[] = {{0.215, 0.145, 2, 5000, 0.35},
                                           {0.184, 0.127, 4, 6500, 0.3},
                                           {0.24, 0.235, 2, 7200, 0.27},
                                           {0.2, 0, 1, 4100, 0.41}};
    for (size_t i = 0; i < sizeof discs / sizeof discs[0]; i++) {
        double pressure = NAN, wear = NAN;
        assert_int_equal(ch_clutch_capacity(&discs[i], &pressure, &wear, NULL), CH_OK);
        expect_relative(pressure, capacity_of_rings(&discs[i], false), 1e-8); /* rings by their middles: off by 1/n2 */
        expect_relative(wear, capacity_of_rings(&discs[i], true), 1e-8);
    }
}

static void worn_in_facings_never_hold_more_than_new_ones(void **state)
{
    (void)state;
    for (double inner = 0; inner < 0.199; inner += 0.01) {
        const ch_clutch_disc disc = disc_of(0.2, inner);
        double pressure = NAN, wear = NAN;
        assert_int_equal(ch_clutch_capacity(&disc, &pressure, &wear, NULL), CH_OK);
        assert_true(wear <= pressure);
    }
    /* a ring of no width has but one radius: both theories are mu F R */
    const ch_clutch_disc ring = disc_of(0.2, 0.2 - 1e-9);
    double pressure = NAN, wear = NAN;
    assert_int_equal(ch_clutch_capacity(&ring, &pressure, &wear, NULL), CH_OK);
    expect_relative(pressure, 0.2 * 15707.963268 * 0.1, 1e-8); /* the width is 1e-8 of the radius */
    expect_relative(wear, 0.2 * 15707.963268 * 0.1, 1e-8);
}

static void a_clutch_that_cannot_be_is_refused(void **state)
{
    (void)state;
    const double bad[][5] = {{0.1, 0.2, 2, 5000, 0.3}, {0.2, 0.2, 2, 5000, 0.3}, {0.2, -0.1, 2, 5000, 0.3},
                             {0.2, 0.1, 0, 5000, 0.3}, {0.2, 0.1, 2, 0, 0.3},    {0.2, 0.1, 2, 5000, 0},
                             {NAN, 0.1, 2, 5000, 0.3}, {0.2, 0.1, 2, NAN, 0.3}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        const ch_clutch_disc disc = {bad[i][0], bad[i][1], bad[i][2], bad[i][3], bad[i][4]};
        double pressure = 7, wear = 8;
        ch_err err = {0};
        assert_int_equal(ch_clutch_capacity(&disc, &pressure, &wear, &err), CH_E_RANGE);
        expect_close(pressure, 7, 0); /* untouched */
        expect_close(wear, 8, 0);
        assert_true(err.right[0] != '\0');
    }
}

/* By hand: F = 1.04*1000*2 + 0.6*0.6*30^2 + 0.013*1000*9.80665 = 2080 + 324 + 127.486 N; over 20 rad/m and 0.9. */
static void torque_passed_is_force_over_the_line(void **state)
{
    (void)state;
    const ch_road_load load = {.mass_kg = 1000, .drag_area_m2 = 0.6, .rolling_1 = 0.013};
    expect_close(ch_clutch_torque_passed(&load, 2, 30, 20, 0.9), 2531.48645 / 18, 1e-9);
    const ch_road_load unknown = {.mass_kg = NAN, .drag_area_m2 = 0.6, .rolling_1 = 0.013};
    assert_true(isnan(ch_clutch_torque_passed(&unknown, 2, 30, 20, 0.9)));
}

static void iron_warms_by_the_heat_and_cools_to_the_air(void **state)
{
    (void)state;
    const ch_clutch_iron iron = ch_clutch_iron_for(0.215);
    /* 8 kg at 500 J/(kg K), quick enough that nothing is lost: 4 kJ in 0.01 s is 1 K */
    expect_close(ch_clutch_temperature_after(&iron, 350, 350, 400e3, 0.01), 351, 1e-3);
    expect_close(ch_clutch_temperature_after(&iron, 500, 350, 0, 180), 350 + 150 * exp(-1), 1e-9);
    expect_close(ch_clutch_temperature_after(&iron, 500, 350, 0, 1e6), 350, 1e-9);
    /* many small steps are one large one: the solution is exact */
    double temp = 400;
    for (int i = 0; i < 100; i++)
        temp = ch_clutch_temperature_after(&iron, temp, 350, 5000, 0.3);
    expect_close(temp, ch_clutch_temperature_after(&iron, 400, 350, 5000, 30), 1e-9);
    assert_true(isnan(ch_clutch_temperature_after(&iron, 400, 350, 0, -1)));
    assert_true(isnan(ch_clutch_temperature_after(&iron, NAN, 350, 0, 1)));
}

static void a_larger_clutch_has_more_iron(void **state)
{
    (void)state;
    expect_relative(ch_clutch_iron_for(0.43).heat_capacity_j_k, 8 * ch_clutch_iron_for(0.215).heat_capacity_j_k, 1e-12);
    expect_relative(ch_clutch_iron_for(NAN).heat_capacity_j_k, ch_clutch_iron_for(0.215).heat_capacity_j_k, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(capacity_is_that_of_the_worked_examples),
        cmocka_unit_test(capacity_is_the_integral_over_the_facing),
        cmocka_unit_test(worn_in_facings_never_hold_more_than_new_ones),
        cmocka_unit_test(a_clutch_that_cannot_be_is_refused),
        cmocka_unit_test(torque_passed_is_force_over_the_line),
        cmocka_unit_test(iron_warms_by_the_heat_and_cools_to_the_air),
        cmocka_unit_test(a_larger_clutch_has_more_iron),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
