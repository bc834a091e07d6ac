/* Promises of the cranking cylinder that follow from physics or from its contract, whatever integrates it. The outside integrator is in
 * test_cranking_reference.c, single steps in test_cranking_steps.c. */
#include "crosshatch/cranking.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "cranking_engines.h"
#include "crosshatch/air.h"
#include "crosshatch/flow.h"
#include "expect.h"

#define PI 3.14159265358979323846

static ch_cranking ordinary(void)
{
    return cranking_engine_set(&CRANKING_ENGINES[0]);
}

/* The same without leak, heat and crevice, and with a check valve that passes nothing. */
static ch_cranking ideal(void)
{
    ch_cranking c = ordinary();
    memset(&c.leaks, 0, sizeof c.leaks);
    c.annand_1 = 0.0;
    c.crevice_m3 = 0.0;
    c.check_area_m2 = 0.0;
    c.strokes = 1;
    return c;
}

static double final_pa(const ch_cranking *c, double tolerance_1)
{
    double gauge_pa[CH_STROKES_MAX];
    ch_err err = {0};
    if (ch_cranking_run(c, tolerance_1, gauge_pa, NULL, NULL, NULL, &err) < 0)
        fail_msg("%s (%s)", err.what, err.right);
    return gauge_pa[c->strokes - 1];
}

/* What the watch saw. */
typedef struct seen {
    const ch_cranking *c;
    double closed_from_rad, closed_to_rad; /* both valves shut */
    double worst_1;                        /* departure from the law */
    double first;                          /* of what the law keeps */
    long count;
    double angle_rad, gauge_pa;
} seen;

static seen seen_of(const ch_cranking *c)
{
    const double cycle = 4.0 * PI;
    seen s = {.c = c, .first = NAN, .angle_rad = -PI, .gauge_pa = c->ambient_pa};
    s.closed_from_rad = c->intake.opens_rad + c->intake.duration_rad - cycle;
    s.closed_to_rad = c->exhaust.opens_rad;
    return s;
}

static void keeps(seen *s, double angle_rad, double value)
{
    if (!(angle_rad >= s->closed_from_rad && angle_rad <= s->closed_to_rad))
        return;
    if (s->count++ == 0)
        s->first = value;
    s->worst_1 = fmax(s->worst_1, fabs(value / s->first - 1.0));
}

static void watch_entropy(void *context, double angle_rad, double pressure_pa, double temp_k, double gauge_pa)
{
    (void)gauge_pa;
    /* exp(s/R): constant where p V^gamma is, with gamma as it changes over temperature. */
    keeps(context, angle_rad, exp(ch_air_entropy_j_kg_k(temp_k) / CH_AIR_R) / pressure_pa);
}

static void sealed_cold_cylinder_compresses_isentropically(void **state)
{
    (void)state;
    const ch_cranking c = ideal();
    seen s = seen_of(&c);
    double gauge_pa;
    ch_cranking_account account;
    assert_int_equal(ch_cranking_run(&c, 1e-10, &gauge_pa, &account, watch_entropy, &s, NULL), CH_OK);
    assert_true(s.count > 20);
    expect_close(s.worst_1, 0.0, 1e-8); /* a hundred steps at 1e-10 */
    expect_close(gauge_pa, 0.0, 0.0);
    assert_true(account.peak_pa > 15.0 * c.ambient_pa);
}

static void watch_pressure_volume(void *context, double angle_rad, double pressure_pa, double temp_k, double gauge_pa)
{
    (void)temp_k;
    (void)gauge_pa;
    seen *s = context;
    const double piston_m2 = 0.25 * PI * s->c->bore.bore_m * s->c->bore.bore_m;
    keeps(s, angle_rad,
          pressure_pa * (s->c->clearance_m3 + s->c->dead_m3 + piston_m2 * ch_piston_travel_m(&s->c->bore, angle_rad)));
}

static void sealed_cylinder_with_endless_heat_transfer_compresses_isothermally(void **state)
{
    (void)state;
    ch_cranking c = ideal();
    c.wall_k = c.air_k;
    c.annand_1 = 1e5;
    seen s = seen_of(&c);
    double gauge_pa;
    assert_int_equal(ch_cranking_run(&c, 1e-8, &gauge_pa, NULL, watch_pressure_volume, &s, NULL), CH_OK);
    assert_true(s.count > 20);
    expect_close(s.worst_1, 0.0, 1e-4); /* the gas is warmer than the wall by what drives the heat: 1/a of it */
}

static void a_hole_leaves_ambient_pressure(void **state)
{
    (void)state;
    ch_cranking c = ordinary();
    c.leaks.rings_m2 = 0.01;
    c.check_opening_pa = 0.0;
    double gauge_pa[CH_STROKES_MAX];
    ch_cranking_account account;
    assert_int_equal(ch_cranking_run(&c, CH_CRANKING_TOLERANCE, gauge_pa, &account, NULL, NULL, NULL), CH_OK);
    /* The piston drives 5 l/s through 100 cm2: 0.5 m/s, a dynamic pressure of 0.2 Pa. What a step gets wrong before the hole corrects it is
     * below its tolerance there, 3e-4, and the gauge keeps the worst of it. */
    expect_relative(account.peak_pa, c.ambient_pa, 3e-4);
    expect_close(gauge_pa[7], 0.0, 3e-4 * c.ambient_pa);
}

static void every_leak_lowers_the_reading_the_more_the_larger(void **state)
{
    (void)state;
    for (int path = 0; path < 5; path++) {
        double before_pa = INFINITY;
        for (double area_mm2 = 0.125; area_mm2 < 100.0; area_mm2 *= 2.0) {
            ch_cranking c = ordinary();
            double *const leak[] = {&c.leaks.rings_m2, &c.leaks.intake_valve_m2, &c.leaks.exhaust_valve_m2,
                                    &c.leaks.neighbour_m2, &c.leaks.coolant_m2};
            *leak[path] = area_mm2 * 1e-6;
            const double pa = final_pa(&c, CH_CRANKING_TOLERANCE);
            assert_true(pa < before_pa || (pa == 0.0 && before_pa == 0.0));
            before_pa = pa;
        }
        assert_true(before_pa < 10e3); /* 64 mm2 leave next to nothing */
    }
}

static void a_higher_compression_ratio_reads_higher(void **state)
{
    (void)state;
    double before_pa = 0.0;
    for (double ratio = 7.0; ratio <= 14.0; ratio += 0.5) {
        ch_cranking c = ordinary();
        c.clearance_m3 = ch_piston_clearance_m3(&c.bore, ratio);
        const double pa = final_pa(&c, CH_CRANKING_TOLERANCE);
        assert_true(pa > before_pa);
        before_pa = pa;
    }
}

static void a_longer_hose_pumps_up_slower_to_the_same_end(void **state)
{
    (void)state;
    ch_cranking c = ordinary();
    c.strokes = 60;
    double short_pa[CH_STROKES_MAX], long_pa[CH_STROKES_MAX];
    c.hose_m3 = 5e-6;
    assert_int_equal(ch_cranking_run(&c, CH_CRANKING_TOLERANCE, short_pa, NULL, NULL, NULL, NULL), CH_OK);
    c.hose_m3 = 25e-6;
    assert_int_equal(ch_cranking_run(&c, CH_CRANKING_TOLERANCE, long_pa, NULL, NULL, NULL, NULL), CH_OK);
    assert_true(long_pa[0] < 0.7 * short_pa[0]);
    for (int i = 0; i < 8; i++)
        assert_true(long_pa[i] < short_pa[i]);
    expect_relative(long_pa[59], short_pa[59], 1e-3); /* twice what one run may be off */
}

/* Without heat and opening pressure nothing in the equations but the ambient pressure has the unit of a pressure: the readings must be
 * proportional to it. With heat, Reynolds' number spoils that a little. */
static void readings_follow_the_barometer(void **state)
{
    (void)state;
    const double up_pa = 75.6e3; /* about 2400 m */
    ch_cranking c = ordinary();
    const double low_heat_pa = final_pa(&c, CH_CRANKING_TOLERANCE);
    c.annand_1 = 0.0;
    c.check_opening_pa = 0.0;
    const double low_pa = final_pa(&c, 1e-9), ambient_pa = c.ambient_pa;
    c.ambient_pa = c.intake_pa = up_pa;
    expect_relative(final_pa(&c, 1e-9), low_pa * up_pa / ambient_pa, 1e-6);
    c = ordinary();
    c.ambient_pa = c.intake_pa = up_pa;
    expect_relative(final_pa(&c, CH_CRANKING_TOLERANCE), low_heat_pa * up_pa / ambient_pa, 0.025);
}

static void leaks_into_ambient_pressure_are_interchangeable(void **state)
{
    (void)state;
    double pa[3][CH_STROKES_MAX];
    for (int path = 0; path < 3; path++) {
        ch_cranking c = ordinary();
        double *const leak[] = {&c.leaks.exhaust_valve_m2, &c.leaks.neighbour_m2, &c.leaks.coolant_m2};
        *leak[path] = 2.5e-6;
        assert_int_equal(ch_cranking_run(&c, CH_CRANKING_TOLERANCE, pa[path], NULL, NULL, NULL, NULL), CH_OK);
    }
    assert_memory_equal(pa[0], pa[1], 8 * sizeof(double));
    assert_memory_equal(pa[0], pa[2], 8 * sizeof(double));
}

static void the_same_run_gives_the_same_bytes(void **state)
{
    (void)state;
    for (int e = 0; e < CRANKING_ENGINES_N; e++) {
        const ch_cranking c = cranking_engine_set(&CRANKING_ENGINES[e]);
        double one_pa[CH_STROKES_MAX], two_pa[CH_STROKES_MAX];
        ch_cranking_account one, two;
        assert_int_equal(ch_cranking_run(&c, CH_CRANKING_TOLERANCE, one_pa, &one, NULL, NULL, NULL), CH_OK);
        assert_int_equal(ch_cranking_run(&c, CH_CRANKING_TOLERANCE, two_pa, &two, NULL, NULL, NULL), CH_OK);
        assert_memory_equal(one_pa, two_pa, (size_t)c.strokes * sizeof(double));
        assert_memory_equal(&one, &two, sizeof one);
    }
}

static void watch_order(void *context, double angle_rad, double pressure_pa, double temp_k, double gauge_pa)
{
    seen *s = context;
    assert_true(angle_rad > s->angle_rad);
    assert_true(gauge_pa >= s->gauge_pa);
    assert_true(pressure_pa > 0.0 && temp_k > 0.0);
    s->angle_rad = angle_rad;
    s->gauge_pa = gauge_pa;
    s->count++;
}

static void angle_rises_and_the_gauge_never_falls(void **state)
{
    (void)state;
    for (int e = 0; e < CRANKING_ENGINES_N; e++) {
        const ch_cranking c = cranking_engine_set(&CRANKING_ENGINES[e]);
        double gauge_pa[CH_STROKES_MAX];
        ch_cranking_account account;
        seen s = seen_of(&c);
        assert_int_equal(ch_cranking_run(&c, CH_CRANKING_TOLERANCE, gauge_pa, &account, watch_order, &s, NULL), CH_OK);
        assert_int_equal(s.count, account.steps);
        expect_close(s.angle_rad, PI + 4.0 * PI * (c.strokes - 1), 1e-9);
        expect_close(s.gauge_pa, c.ambient_pa + gauge_pa[c.strokes - 1], 1e-6);
        /* It cannot hold more than was ahead of it. */
        assert_true(s.gauge_pa <= fmax(c.ambient_pa, account.peak_pa * (1.0 + 1e-4)));
        for (int i = 1; i < c.strokes; i++)
            assert_true(gauge_pa[i] >= gauge_pa[i - 1]);
    }
}

/* No clock: what a run costs is its evaluations, some 0.2 us each. Measured: 4100. */
static void the_ordinary_run_stays_below_eight_thousand_evaluations(void **state)
{
    (void)state;
    const ch_cranking c = ordinary();
    double gauge_pa[CH_STROKES_MAX];
    ch_cranking_account account;
    assert_int_equal(c.strokes, 8);
    assert_int_equal(ch_cranking_run(&c, CH_CRANKING_TOLERANCE, gauge_pa, &account, NULL, NULL, NULL), CH_OK);
    assert_true(account.evaluations <= 8000);
}

static void expect_refused(const ch_cranking *c, double tolerance_1, const char *what)
{
    double gauge_pa[CH_STROKES_MAX] = {-7.0};
    ch_cranking_account account = {.steps = -7};
    ch_err err = {0};
    if (ch_cranking_run(c, tolerance_1, gauge_pa, &account, NULL, NULL, &err) != CH_E_RANGE) {
        print_error("accepted: %s\n", what);
        fail();
    }
    assert_int_equal(err.status, CH_E_RANGE);
    assert_true(err.what[0] != '\0' && err.right[0] != '\0');
    expect_close(gauge_pa[0], -7.0, 0.0);
    assert_int_equal(account.steps, -7);
}

static void every_quantity_out_of_range_is_refused(void **state)
{
    (void)state;
    ch_cranking c;
    const struct {
        double *at;
        const char *name;
        double below, above;
    } fields[] = {
        {&c.bore.bore_m, "bore", 0.009, 0.41},
        {&c.bore.stroke_m, "stroke", 0.009, 0.51},
        {&c.bore.rod_m, "rod", 0.5 * 0.086, 5.1},
        {&c.clearance_m3, "clearance", 0.0, 1001.0},
        {&c.dead_m3, "dead", -1e-9, 0.0031},
        {&c.crevice_m3, "crevice", -1e-9, 1.1},
        {&c.annand_1, "annand", -0.1, 1.1e5},
        {&c.leaks.rings_m2, "rings", -1e-9, 0.11},
        {&c.leaks.intake_valve_m2, "intake leak", -1e-9, 0.11},
        {&c.leaks.exhaust_valve_m2, "exhaust leak", -1e-9, 0.11},
        {&c.leaks.neighbour_m2, "neighbour", -1e-9, 0.11},
        {&c.leaks.coolant_m2, "coolant", -1e-9, 0.11},
        {&c.ambient_pa, "ambient", 1.9e4, 2.1e5},
        {&c.intake_pa, "intake", 900.0, 3.1e5},
        {&c.air_k, "air", 199.0, 401.0},
        {&c.wall_k, "wall", 199.0, 501.0},
        {&c.speed_rad_s, "speed", 0.52, 420.0},
        {&c.hose_m3, "hose", 0.0, 0.011},
        {&c.check_area_m2, "check area", -1e-9, 1.1e-2},
        {&c.check_opening_pa, "check opening", -1.0, 4.1e6},
        {&c.intake.diameter_m, "valve diameter", 0.0, 0.2},
        {&c.intake.lift_m, "valve lift", 0.0, 0.06},
        {&c.intake.discharge_1, "discharge", 0.0, 1.01},
        {&c.intake.duration_rad, "duration", 0.0, 4.0 * PI},
        {&c.intake.opens_rad, "opens", -INFINITY, INFINITY},
        {&c.exhaust.diameter_m, "exhaust diameter", 0.0, 0.2},
        {&c.exhaust.lift_m, "exhaust lift", 0.0, 0.06},
        {&c.exhaust.discharge_1, "exhaust discharge", 0.0, 1.01},
        {&c.exhaust.duration_rad, "exhaust duration", 0.0, 4.0 * PI},
        {&c.exhaust.opens_rad, "exhaust opens", -INFINITY, INFINITY},
    };
    for (size_t i = 0; i < sizeof fields / sizeof fields[0]; i++) {
        const double wrong[] = {fields[i].below, fields[i].above, NAN};
        for (int k = 0; k < 3; k++) {
            c = ordinary();
            *fields[i].at = wrong[k];
            expect_refused(&c, CH_CRANKING_TOLERANCE, fields[i].name);
        }
    }
    int *const counts[] = {&c.strokes,      &c.strokes,       &c.intake.count,
                           &c.intake.count, &c.exhaust.count, &c.exhaust.count};
    const int wrong_counts[] = {0, CH_STROKES_MAX + 1, 0, 9, 0, 9};
    for (int i = 0; i < 6; i++) {
        c = ordinary();
        *counts[i] = wrong_counts[i];
        expect_refused(&c, CH_CRANKING_TOLERANCE, "count");
    }
    c = ordinary();
    expect_refused(&c, 1e-13, "tolerance");
    expect_refused(&c, 0.02, "tolerance");
    expect_refused(&c, NAN, "tolerance");
}

/* 440 rad/s are 4202 rpm (440 * 30/3.14159), 0.2 m2 are 200000 mm2. */
static void a_refusal_speaks_in_the_units_of_a_sheet(void **state)
{
    (void)state;
    double gauge_pa[CH_STROKES_MAX];
    ch_err err = {0};
    ch_cranking c = ordinary();
    c.speed_rad_s = 440.0;
    assert_int_equal(ch_cranking_run(&c, CH_CRANKING_TOLERANCE, gauge_pa, NULL, NULL, NULL, &err), CH_E_RANGE);
    assert_string_equal(err.what, "cranking speed is 4202 rpm");
    c = ordinary();
    c.leaks.rings_m2 = 0.2;
    err = (ch_err){0};
    assert_int_equal(ch_cranking_run(&c, CH_CRANKING_TOLERANCE, gauge_pa, NULL, NULL, NULL, &err), CH_E_RANGE);
    assert_string_equal(err.what, "ring leak area is 2e+05 mm2");
}

static double shut_intake_pa(const ch_cranking *c, int cylinders, double area_m2)
{
    double intake_pa = NAN;
    ch_err err = {0};
    if (ch_cranking_intake_pa(c, cylinders, area_m2, &intake_pa, &err) < 0)
        fail_msg("%s", err.what);
    return intake_pa;
}

static void throttle_passes_what_the_cylinders_draw(void **state)
{
    (void)state;
    ch_cranking c = ordinary();
    const double area_m2 = 20e-6;
    c.intake_pa = shut_intake_pa(&c, 4, area_m2);
    assert_true(c.intake_pa < 0.9 * c.ambient_pa);
    c.strokes = 3;
    double gauge_pa[CH_STROKES_MAX], through_kg_s;
    ch_cranking_account account;
    assert_int_equal(ch_cranking_run(&c, 1e-7, gauge_pa, &account, NULL, NULL, NULL), CH_OK);
    assert_true(ch_flow_kg_s(c.ambient_pa, c.air_k, ch_air_gamma_1(c.air_k), CH_AIR_R, c.intake_pa, area_m2,
                             &through_kg_s, NULL) >= 0);
    /* The draw is known to the step tolerance of the search, the pressure to 1e-5 of ambient. */
    expect_relative(4.0 * account.intake_kg * c.speed_rad_s / (4.0 * PI), through_kg_s, 2e-3);
}

static void intake_pressure_rises_with_the_throttle_to_ambient(void **state)
{
    (void)state;
    const ch_cranking c = ordinary();
    double before_pa = 0.0;
    for (double area_mm2 = 5.0; area_mm2 < 1000.0; area_mm2 *= 3.0) {
        const double pa = shut_intake_pa(&c, 4, area_mm2 * 1e-6);
        assert_true(pa > before_pa && pa <= c.ambient_pa);
        before_pa = pa;
    }
    expect_relative(shut_intake_pa(&c, 4, 0.1), c.ambient_pa, 1e-4);
    assert_true(shut_intake_pa(&c, 1, 20e-6) > shut_intake_pa(&c, 4, 20e-6)); /* one cylinder draws less */
}

static void intake_pressure_refuses_what_makes_no_sense(void **state)
{
    (void)state;
    ch_cranking c = ordinary();
    double intake_pa = -7.0;
    const int cylinders[] = {0, 33, 4, 4, 4};
    const double area_m2[] = {1e-5, 1e-5, 0.0, 1.0, NAN};
    for (int i = 0; i < 5; i++) {
        ch_err err = {0};
        assert_int_equal(ch_cranking_intake_pa(&c, cylinders[i], area_m2[i], &intake_pa, &err), CH_E_RANGE);
        assert_true(err.right[0] != '\0');
    }
    ch_err err = {0};
    c.bore.bore_m = NAN;
    assert_int_equal(ch_cranking_intake_pa(&c, 4, 1e-5, &intake_pa, &err), CH_E_RANGE);
    expect_close(intake_pa, -7.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sealed_cold_cylinder_compresses_isentropically),
        cmocka_unit_test(sealed_cylinder_with_endless_heat_transfer_compresses_isothermally),
        cmocka_unit_test(a_hole_leaves_ambient_pressure),
        cmocka_unit_test(every_leak_lowers_the_reading_the_more_the_larger),
        cmocka_unit_test(a_higher_compression_ratio_reads_higher),
        cmocka_unit_test(a_longer_hose_pumps_up_slower_to_the_same_end),
        cmocka_unit_test(readings_follow_the_barometer),
        cmocka_unit_test(leaks_into_ambient_pressure_are_interchangeable),
        cmocka_unit_test(the_same_run_gives_the_same_bytes),
        cmocka_unit_test(angle_rises_and_the_gauge_never_falls),
        cmocka_unit_test(the_ordinary_run_stays_below_eight_thousand_evaluations),
        cmocka_unit_test(every_quantity_out_of_range_is_refused),
        cmocka_unit_test(a_refusal_speaks_in_the_units_of_a_sheet),
        cmocka_unit_test(throttle_passes_what_the_cylinders_draw),
        cmocka_unit_test(intake_pressure_rises_with_the_throttle_to_ambient),
        cmocka_unit_test(intake_pressure_refuses_what_makes_no_sense),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
