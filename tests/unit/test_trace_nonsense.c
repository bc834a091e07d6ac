/* The tracing on evidence that makes no sense, that is too much, or that memory runs out on: an answer that is one, or a refusal. */
#include "builtin_knowledge.h"
#include "crosshatch/prior.h"
#include "crosshatch/trace.h"
#include "expect.h"
#include "fail_alloc.h"

#include <string.h>

static ch_status run_text(const char *text, ch_trace *trace, ch_err *err)
{
    ch_sheet sheet;
    ch_setup setup;
    const ch_trace_options options = {.seed = 11, .samples = 256};
    if (ch_sheet_parse("test", text, strlen(text), &sheet, err) < 0) {
        print_error("%s: %s\n%s\n", err->what, err->right, text);
        fail();
    }
    assert_true(ch_setup_from_sheet(&sheet, CH_PRIOR_UNSTATED_LIFT_M, &setup, err) >= 0);
    const ch_status rc = ch_trace_run(&sheet, &setup, &knowledge, &options, trace, err);
    ch_sheet_clear(&sheet);
    return rc;
}

/* Traces, and holds every number of the answer to being one. */
static void traced(const char *text, ch_trace *trace)
{
    ch_err err = {0};
    const ch_status rc = run_text(text, trace, &err);
    if (rc < 0)
        print_error("%s: %s\n%s\n", err.what, err.right, text);
    assert_true(rc >= 0);
    assert_true(trace->effective_samples >= 1.0 && trace->effective_samples <= 256.0);
    for (int d = 0; d < CH_DOUBT_COUNT; d++)
        assert_true(isfinite(trace->shared_shift[d]));
    for (int i = 0; i < trace->cylinders; i++) {
        const ch_trace_cylinder *c = &trace->cylinder[i];
        double posterior = 0.0, prior = 0.0;
        for (int k = 0; k < CH_CAUSE_COUNT; k++) {
            assert_true(c->cause_1[k] >= 0.0 && c->cause_1[k] <= 1.0 + 1e-12);
            posterior += c->cause_1[k];
            prior += c->prior_1[k];
        }
        expect_close(posterior, 1.0, 1e-12);
        expect_close(prior, 1.0, 1e-12);
        assert_true(c->area_m2[0] >= 0.0 && c->area_m2[0] <= c->area_m2[1] && c->area_m2[1] <= c->area_m2[2] &&
                    isfinite(c->area_m2[2]));
        for (int p = 0; p < CH_PATH_COUNT; p++)
            assert_true(c->path_m2[p] >= 0.0 && isfinite(c->path_m2[p]));
        assert_true(c->expected_pa[0] > 0.0 && c->expected_pa[0] < c->expected_pa[2] && isfinite(c->expected_pa[2]));
    }
}

#define FOUR "sheet: 1\nengine: {cylinders: 4}\n"
#define ROW(n, psi) "{cylinder: " #n ", reading: " #psi " psi}"
#define EVEN(psi) FOUR "compression: [" ROW(1, psi) "," ROW(2, psi) "," ROW(3, psi) "," ROW(4, psi) "]\n"

static void nonsense_is_answered_with_probabilities(void **state)
{
    (void)state;
    static const char *const SHEETS[] = {
        EVEN(0),
        EVEN(450),
        FOUR "compression: [{cylinder: 3, reading: 170 psi}]\n",
        FOUR "compression: [{cylinder: 1, reading: 0 psi, first_stroke: 0 psi}, {cylinder: 2, reading: 180 psi, "
             "first_stroke: 180 psi}]\n",
        FOUR "compression: [{cylinder: 1, reading: 10 psi, first_stroke: 150 psi}]\n",
        FOUR "wet: [{cylinder: 1, reading: 0 psi}, {cylinder: 2, reading: 400 psi, oil: 40 ml}]\n",
        FOUR "leakdown: [{cylinder: 1, loss: 0 %, heard: [intake, exhaust, oil_filler, coolant, cylinder_2]}, "
             "{cylinder: 2, loss: 100 %, heard: [nothing]}]\n",
        FOUR "leakdown: [{cylinder: 4, heard: [cylinder_1]}]\n",
        "sheet: 1\nengine: {cylinders: 1}\ncompression: [{cylinder: 1, reading: 3 psi}]\n",
        EVEN(175) "observed: [{what: coolant_in_cylinder}, {what: plug_damaged}, {what: valve_gear_broken}, {what: "
                  "borescope_scoring}, {what: valve_stays_open}, {what: lash_tight}, {what: runs_well}, {what: "
                  "runs_hot}, {what: no_start}]\n",
    };
    for (size_t i = 0; i < sizeof SHEETS / sizeof SHEETS[0]; i++) {
        ch_trace trace;
        traced(SHEETS[i], &trace);
    }
}

static void thirty_two_cylinders_are_traced(void **state)
{
    (void)state;
    char text[8192] = "sheet: 1\nengine: {cylinders: 32, layout: vee}\ncompression:\n";
    for (int i = 1; i <= 32; i++) {
        char row[80];
        snprintf(row, sizeof row, "  - {cylinder: %d, reading: %d psi}\n", i, i == 9 ? 60 : 168 + i % 7);
        strcat(text, row);
    }
    strcat(text, "observed: [{what: misfire_cylinder}, {what: low_power}]\n");
    ch_trace trace;
    traced(text, &trace);
    assert_int_equal(trace.cylinders, 32);
    assert_true(trace.cylinder[8].cause_1[CH_CAUSE_SOUND] < 0.1);
    assert_true(trace.cylinder[0].cause_1[CH_CAUSE_SOUND] > 0.8);
}

static double leaking_1(const ch_trace_cylinder *c)
{
    return 1.0 - c->cause_1[CH_CAUSE_SOUND] - c->cause_1[CH_CAUSE_CAM_OR_TIMING] -
           c->cause_1[CH_CAUSE_MEASUREMENT_ERROR];
}

/* No leak is made up where one test denies it: the test is blamed, or what lowers a reading without a leak. */
static void tests_that_contradict_each_other_are_not_settled_by_a_leak(void **state)
{
    (void)state;
    ch_trace agree, contradict;
    /* 20 psi with a hole, and 20 psi with no leak at all. */
    traced(FOUR "compression: [" ROW(1, 175) "," ROW(2, 174) "," ROW(3, 20) "," ROW(
               4, 176) "]\n"
                       "leakdown: [{cylinder: 3, loss: 95 %, orifice: 1.016 mm}]\n",
           &agree);
    traced(FOUR "compression: [" ROW(1, 175) "," ROW(2, 174) "," ROW(3, 20) "," ROW(
               4, 176) "]\n"
                       "leakdown: [{cylinder: 3, loss: 0 %, orifice: 1.016 mm}]\n",
           &contradict);
    assert_true(leaking_1(&agree.cylinder[2]) > 0.9);
    assert_true(leaking_1(&contradict.cylinder[2]) < 0.1);
    /* 200 psi all round, and one of them loses everything. */
    traced(EVEN(200) "leakdown: [{cylinder: 2, loss: 8 %, orifice: 1.016 mm}]\n", &agree);
    traced(EVEN(200) "leakdown: [{cylinder: 2, loss: 100 %, orifice: 1.016 mm}]\n", &contradict);
    /* No more than its neighbours, which may all be a little worn. */
    assert_true(leaking_1(&contradict.cylinder[1]) < leaking_1(&contradict.cylinder[0]) + 0.02);
    assert_true(leaking_1(&contradict.cylinder[1]) < 0.15);
    assert_true(contradict.cylinder[1].cause_1[CH_CAUSE_MEASUREMENT_ERROR] >
                1.3 * contradict.cylinder[0].cause_1[CH_CAUSE_MEASUREMENT_ERROR]);
    assert_true(contradict.cylinder[1].cause_1[CH_CAUSE_MEASUREMENT_ERROR] >
                1.3 * agree.cylinder[1].cause_1[CH_CAUSE_MEASUREMENT_ERROR]);
}

static void a_sheet_with_too_many_observations_is_refused_whole(void **state)
{
    (void)state;
    char text[16384] = EVEN(170) "observed:\n";
    for (int i = 0; i < 300; i++)
        strcat(text, "  - {what: runs_hot}\n");
    ch_trace trace;
    memset(&trace, 0x5a, sizeof trace);
    const ch_trace untouched = trace;
    ch_err err = {0};
    assert_int_equal(run_text(text, &trace, &err), CH_E_LIMIT);
    assert_memory_equal(&trace, &untouched, sizeof trace);
}

static void an_allocation_that_fails_ends_the_run_cleanly(void **state)
{
    (void)state;
    static const char TEXT[] = "sheet: 1\nengine: {cylinders: 1}\nleakdown: [{cylinder: 1, loss: 10 %}]\n";
    ch_sheet sheet;
    ch_setup setup;
    const ch_trace_options options = {.seed = 1, .samples = 64};
    assert_true(ch_sheet_parse("test", TEXT, strlen(TEXT), &sheet, NULL) >= 0);
    assert_true(ch_setup_from_sheet(&sheet, CH_PRIOR_UNSTATED_LIFT_M, &setup, NULL) >= 0);
    long n = 1;
    for (;; n++) {
        ch_trace trace;
        memset(&trace, 0x5a, sizeof trace);
        const ch_trace untouched = trace;
        ch_err err = {0};
        fail_alloc_at(n);
        const ch_status rc = ch_trace_run(&sheet, &setup, &knowledge, &options, &trace, &err);
        if (!fail_alloc_stop()) {
            assert_true(rc >= 0);
            break;
        }
        assert_int_equal(fail_alloc_left(), 0);
        assert_int_equal(rc, CH_E_MEMORY);
        assert_memory_equal(&trace, &untouched, sizeof trace);
    }
    assert_int_equal(fail_alloc_left(), 0);
    assert_true(n > 10); /* the sweep went through the rounds of draws */
    ch_sheet_clear(&sheet);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nonsense_is_answered_with_probabilities),
        cmocka_unit_test(thirty_two_cylinders_are_traced),
        cmocka_unit_test(tests_that_contradict_each_other_are_not_settled_by_a_leak),
        cmocka_unit_test(a_sheet_with_too_many_observations_is_refused_whole),
        cmocka_unit_test(an_allocation_that_fails_ends_the_run_cleanly),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
