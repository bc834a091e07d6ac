/* Promises of src/physics at the edges of what each function takes: an argument that is none is refused with a reason, whichever it is, and the answer stays. */
#include <stdbool.h>
#include <string.h>

#include "crosshatch/atmosphere.h"
#include "crosshatch/clutch.h"
#include "crosshatch/fastener.h"
#include "crosshatch/flow.h"
#include "crosshatch/leakdown.h"
#include "crosshatch/prior.h"
#include "crosshatch/sampling.h"
#include "crosshatch/setup.h"
#include "crosshatch/tyre.h"
#include "crosshatch/wet.h"
#include "expect.h"

static const double no_figure[] = {NAN, INFINITY, -INFINITY, -1.0};
enum { NO_FIGURES = sizeof no_figure / sizeof no_figure[0] };

/* Call `f` with each of its `n` arguments in turn spoilt; `zero_is_wrong` says for which 0 is none either. */
static void expect_each_refused(ch_status (*f)(const double *, double *, ch_err *), const double right[], size_t n,
                                const bool zero_is_wrong[])
{
    double answer = 77.0;
    assert_true(f(right, &answer, NULL) >= CH_OK);
    assert_true(isfinite(answer) && answer != 77.0);
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < NO_FIGURES + (zero_is_wrong[i] ? 1U : 0U); k++) {
            double a[8];
            ch_err err = {0};
            memcpy(a, right, n * sizeof a[0]);
            a[i] = k < NO_FIGURES ? no_figure[k] : 0.0;
            answer = 77.0;
            const ch_status rc = f(a, &answer, &err);
            if (rc != CH_E_RANGE || answer != 77.0 || err.what[0] == '\0' || err.right[0] == '\0')
                fail_msg("argument %zu as %g: status %d, answer %g", i, a[i], (int)rc, answer);
        }
}

static ch_status flow(const double *a, double *answer, ch_err *err)
{
    return ch_flow_kg_s(a[0], a[1], a[2], a[3], a[4], a[5], answer, err);
}

static ch_status loss(const double *a, double *answer, ch_err *err)
{
    const ch_leakdown_tester tester = {a[0], a[1], a[2], a[3], a[4]};
    return ch_leakdown_loss_1(&tester, a[5], answer, err);
}

static ch_status leak(const double *a, double *answer, ch_err *err)
{
    const ch_leakdown_tester tester = {a[0], a[1], a[2], a[3], a[4]};
    return ch_leakdown_area_m2(&tester, a[5], answer, err);
}

static ch_status calibrated(const double *a, double *answer, ch_err *err)
{
    const ch_leakdown_tester tester = {a[0], a[1], a[2], a[3], a[4]};
    return ch_leakdown_calibrate_m2(&tester, a[5], 0.3, answer, err);
}

static ch_status wet(const double *a, double *answer, ch_err *err)
{
    const ch_wet_dose dose = {a[0], a[1], a[2]};
    const ch_wet_cylinder dry = {a[3], a[4]};
    ch_wet_cylinder made = {*answer, *answer};
    const ch_status rc = ch_wet_apply(&dose, &dry, &made, err);
    *answer = made.ring_area_m2;
    return rc;
}

static ch_status capacity(const double *a, double *answer, ch_err *err)
{
    const ch_clutch_disc disc = {a[0], a[1], a[2], a[3], a[4]};
    double other = 77.0;
    return ch_clutch_capacity(&disc, answer, &other, err);
}

static void an_argument_that_is_no_figure_is_refused_whichever_it_is(void **state)
{
    (void)state;
    const double of_flow[] = {2e5, 290.0, 1.4, 287.0, 1e5, 1e-6},
                 of_loss[] = {690e3, 0.5e-6, 101e3, 290.0, 350.0, 0.2e-6},
                 of_leak[] = {690e3, 0.5e-6, 101e3, 290.0, 350.0, 0.2}, of_wet[] = {8e-6, 0.6, 0.4, 50e-6, 0.5e-6},
                 of_clutch[] = {0.215, 0.145, 2.0, 5e3, 0.35};
    expect_each_refused(flow, of_flow, 6, (bool[]){true, true, true, true, false, false});
    expect_each_refused(loss, of_loss, 6, (bool[]){true, true, false, true, true, false});
    expect_each_refused(leak, of_leak, 6, (bool[]){true, true, false, true, true, false});
    /* the orifice is what calibrating finds: the one given is not looked at */
    expect_each_refused(wet, of_wet, 5, (bool[]){false, false, false, true, false});
    expect_each_refused(capacity, of_clutch, 5, (bool[]){true, false, true, true, true});
    double found = 77.0;
    assert_int_equal(calibrated(of_loss, &found, NULL), CH_OK);
    for (size_t k = 0; k < NO_FIGURES; k++) {
        double a[6];
        memcpy(a, of_loss, sizeof a);
        a[5] = no_figure[k];
        found = 77.0;
        assert_int_equal(calibrated(a, &found, NULL), CH_E_RANGE);
        assert_true(found == 77.0);
    }
    double a[6];
    memcpy(a, of_flow, sizeof a);
    a[4] = 2.1e5; /* more behind than ahead */
    assert_int_equal(flow(a, &found, NULL), CH_E_RANGE);
}

/* Whatever is asked, the answer is a number within its range, or there is none: no infinity or NaN under CH_OK. */
static void what_is_answered_is_a_number_however_odd_the_question(void **state)
{
    (void)state;
    static const double odd[] = {0.0,  -0.0, 5e-324, 1e-300, 1e-30, 1e-9, 1e-3,  0.5,      1.0,      1.0000001,
                                 1.4,  2.0,  100.0,  287.05, 1e5,   1e6,  1e9,   1e30,     1e300,    1.7e308,
                                 -1.0, NAN,  850e2,  1100e2, 500.0, -1e3, 11000, INFINITY, -INFINITY};
    enum { ODD = sizeof odd / sizeof odd[0] };
    ch_stream stream;
    ch_stream_init(&stream, 20261127, 1);
    int answered = 0;
    for (int round = 0; round < 100000; round++) {
        double a[6], answer = 77.0;
        for (int i = 0; i < 6; i++)
            a[i] = odd[(size_t)(ch_stream_uniform(&stream) * ODD)];
        static ch_status (*const asked[])(const double *, double *, ch_err *) = {flow, loss, leak, calibrated,
                                                                                 capacity};
        for (size_t k = 0; k < sizeof asked / sizeof asked[0]; k++) {
            const bool ok = asked[k](a, &answer, NULL) >= CH_OK;
            if (ok && !(answer >= 0.0 && isfinite(answer) && (k != 1 || answer <= 1.0)))
                fail_msg("question %zu of %g, %g, %g, %g, %g, %g: %g", k, a[0], a[1], a[2], a[3], a[4], a[5], answer);
            answered += ok;
        }
        if (ch_atmosphere_sea_level_pressure(a[0], a[1], &answer, NULL) >= CH_OK && !(answer > 0.0 && isfinite(answer)))
            fail_msg("%g Pa at %g m: %g", a[0], a[1], answer);
    }
    assert_true(answered > 10000);
}

static void a_ratio_below_nothing_chokes_like_nothing(void **state)
{
    (void)state;
    /* behind a throat that is choked the pressure no longer matters, and none is below 0 */
    expect_relative(ch_flow_psi_1(-0.1, 1.4), ch_flow_psi_1(0.0, 1.4), 1e-15);
    expect_relative(ch_flow_psi_1(0.0, 1.4), ch_flow_psi_1(0.5, 1.4), 1e-15);
    expect_relative(ch_flow_psi_drop_1(1.1, 1.4), ch_flow_psi_drop_1(1.0, 1.4), 1e-15);
    expect_relative(ch_flow_psi_drop_1(0.3, 1.4), ch_flow_psi_1(0.7, 1.4), 1e-13); /* two ways to the same logarithm */
    expect_close(ch_flow_psi_1(1.0, 1.4), 0.0, 0.0);
}

static void a_leak_is_found_again_from_its_loss_at_every_size(void **state)
{
    (void)state;
    const ch_leakdown_tester tester = {690e3, 0.5e-6, 101e3, 290.0, 350.0};
    for (double area_m2 = 1e-12; area_m2 < 1e-2; area_m2 *= 3.0) {
        double loss_1 = NAN, again_m2 = NAN;
        assert_int_equal(ch_leakdown_loss_1(&tester, area_m2, &loss_1, NULL), CH_OK);
        assert_true(loss_1 > 0.0 && loss_1 < 1.0);
        assert_int_equal(ch_leakdown_area_m2(&tester, loss_1, &again_m2, NULL), CH_OK);
        /* the loss is good to some 1e-13 of itself; towards 1 the area hangs on what is left of the loss below 1 */
        expect_relative(again_m2, area_m2, 1e-9 + 1e-12 / (1.0 - loss_1));
    }
}

static void the_wider_the_throttle_the_less_the_intake_falls(void **state)
{
    (void)state;
    ch_sheet sheet;
    ch_setup setup;
    ch_sheet_init(&sheet);
    sheet.engine.cylinders = 4;
    assert_int_equal(ch_setup_from_sheet(&sheet, CH_PRIOR_UNSTATED_LIFT_M, &setup, NULL), CH_OK);
    double intake_pa = 77.0;
    assert_int_equal(ch_cranking_intake_pa(&setup.cranking, 0, 1e-4, &intake_pa, NULL), CH_E_RANGE);
    assert_int_equal(ch_cranking_intake_pa(&setup.cranking, 33, 1e-4, &intake_pa, NULL), CH_E_RANGE);
    assert_int_equal(ch_cranking_intake_pa(&setup.cranking, 4, 0.0, &intake_pa, NULL), CH_E_RANGE);
    assert_int_equal(ch_cranking_intake_pa(&setup.cranking, 4, 1.0, &intake_pa, NULL), CH_E_RANGE);
    assert_true(intake_pa == 77.0);
    /* the wider, the less it draws, and an opening of a square decimetre none that could be read */
    double before_pa = 0.0;
    for (double area_m2 = 3e-6; area_m2 < 0.02; area_m2 *= 4.0) {
        assert_int_equal(ch_cranking_intake_pa(&setup.cranking, 4, area_m2, &intake_pa, NULL), CH_OK);
        assert_true(intake_pa >= before_pa);
        before_pa = intake_pa;
    }
    expect_relative(intake_pa, setup.cranking.ambient_pa, 1e-4);
    ch_sheet_clear(&sheet);
}

static void a_tyre_outside_of_what_is_made_is_no_tyre(void **state)
{
    (void)state;
    static const char *const right[] = {"105/20R8",   "455/100R28", "195/50 R15",
                                        "195/50ZR15", "195R15",     "195/50R15 82V"};
    static const char *const wrong[] = {"104/50R15", "456/50R15", "195/19R15",   "195/101R15",
                                        "195/50R7",  "195/50R29", "195/50R15x",  "195/50",
                                        "R15",       "",          "19555/50R15", "195/50R15/"};
    for (size_t i = 0; i < sizeof right / sizeof right[0]; i++) {
        ch_tyre tyre;
        assert_int_equal(ch_tyre_parse(right[i], strlen(right[i]), &tyre, NULL), CH_OK);
        assert_true(ch_tyre_diameter(&tyre) > 0.2);
    }
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        ch_tyre tyre = {7, 7, 7};
        ch_err err = {0};
        if (ch_tyre_parse(wrong[i], strlen(wrong[i]), &tyre, &err) != CH_E_INPUT || tyre.section_m != 7.0)
            fail_msg("%s was taken", wrong[i]);
        assert_true(err.what[0] != '\0');
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_argument_that_is_no_figure_is_refused_whichever_it_is),
        cmocka_unit_test(what_is_answered_is_a_number_however_odd_the_question),
        cmocka_unit_test(a_ratio_below_nothing_chokes_like_nothing),
        cmocka_unit_test(a_leak_is_found_again_from_its_loss_at_every_size),
        cmocka_unit_test(the_wider_the_throttle_the_less_the_intake_falls),
        cmocka_unit_test(a_tyre_outside_of_what_is_made_is_no_tyre),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
