/* Promises of trace/why.c: what the answer would be without each kind of evidence. */
#include <string.h>

#include "builtin_knowledge.h"
#include "crosshatch/prior.h"
#include "crosshatch/trace.h"
#include "expect.h"
#include "fail_alloc.h"

static ch_trace_reason reason[CH_TRACE_REASONS_MAX];
static size_t count;

static ch_status why(const char *text, int cylinder, ch_err *err)
{
    ch_sheet sheet;
    ch_setup setup;
    const ch_trace_options options = {.seed = 1, .samples = 200};
    assert_true(ch_sheet_parse("test", text, strlen(text), &sheet, NULL) >= 0);
    assert_true(ch_setup_from_sheet(&sheet, CH_PRIOR_UNSTATED_LIFT_M, &setup, NULL) >= 0);
    const ch_status rc = ch_trace_why(&sheet, &setup, &knowledge, &options, cylinder, reason, &count, err);
    ch_sheet_clear(&sheet);
    return rc;
}

/* The reason of these words, or the test ends. */
static const ch_trace_reason *named(const char *words)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(reason[i].what, words) == 0)
            return &reason[i];
    print_error("no reason \"%s\" among %zu\n", words, count);
    fail();
    return NULL;
}

static bool is_named(const char *words)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(reason[i].what, words) == 0)
            return true;
    return false;
}

/* Invented: cylinder 2 leaks at its exhaust valve. */
#define EVERYTHING                                                                                                     \
    "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 2, compression_ratio: 9.5}, compression: [{cylinder: 1, "  \
    "reading: 175, first_stroke: 90}, {cylinder: 2, reading: 95}], wet: [{cylinder: 1, reading: 190, oil: 8 ml}, "     \
    "{cylinder: 2, reading: 100, oil: 8 ml}], leakdown: [{cylinder: 1, loss: 8 %}, {cylinder: 2, loss: 60 %, heard: "  \
    "exhaust}], observed: [{what: coolant_loss, found: no}, {what: popping_exhaust}, {what: oily_plug, cylinder: 1, "  \
    "found: no}, {what: weak_in_power_balance, cylinder: 2}]}"

/* The reasons of that sheet, worked out once for all tests of them. */
static void why_everything(void)
{
    static ch_trace_reason kept[CH_TRACE_REASONS_MAX];
    static size_t kept_count = 0;
    if (kept_count == 0) {
        assert_int_equal(why(EVERYTHING, 2, NULL), CH_OK);
        memcpy(kept, reason, sizeof kept);
        kept_count = count;
    }
    memcpy(reason, kept, sizeof kept);
    count = kept_count;
}

static void every_kind_of_evidence_is_taken_away_in_turn(void **state)
{
    (void)state;
    why_everything();
    assert_int_equal(count, 12);
    static const char *const kinds[] = {"the dry readings of cylinder 2",
                                        "the dry readings of the cylinders beside 2",
                                        "the first-stroke readings",
                                        "the wet reading of cylinder 2",
                                        "the wet readings of the cylinders beside 2",
                                        "the leak-down test of cylinder 2",
                                        "the leak-down tests of the cylinders beside 2",
                                        "where air was heard on cylinder 2"};
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
        (void)named(kinds[i]);
    int observed = 0, absent = 0, of_cylinder = 0;
    for (size_t i = 0; i < count; i++) {
        observed += reason[i].what[0] == '"';
        absent += strstr(reason[i].what, "\" not found") != NULL;
        of_cylinder += strstr(reason[i].what, "(cylinder ") != NULL;
    }
    assert_int_equal(observed, 4);
    assert_int_equal(absent, 2);
    assert_int_equal(of_cylinder, 2);
}

static void what_weighs_most_comes_first_and_each_speaks_of_the_likeliest_cause(void **state)
{
    (void)state;
    why_everything();
    double before = INFINITY;
    for (size_t i = 0; i < count; i++) {
        const double weight = fabs(reason[i].with_1 - reason[i].without_1);
        assert_true(weight <= before);
        before = weight;
        assert_int_equal(reason[i].cause, CH_CAUSE_EXHAUST_VALVE);
        assert_true(reason[i].with_1 > 0.5 && reason[i].with_1 == reason[0].with_1);
        assert_true(reason[i].without_1 >= 0.0 && reason[i].without_1 <= 1.0);
        assert_true(reason[i].instead_1 >= reason[i].without_1 || reason[i].instead == CH_CAUSE_EXHAUST_VALVE);
    }
    /* where the air was heard tells the valve from the rings: without it the exhaust valve is less likely */
    assert_true(named("where air was heard on cylinder 2")->without_1 < reason[0].with_1);
}

static void evidence_that_the_sheet_does_not_have_is_not_a_reason(void **state)
{
    (void)state;
    assert_int_equal(why("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 2}, compression: [{cylinder: 1, "
                         "reading: 175}, {cylinder: 2, reading: "
                         "95}], leakdown: [{cylinder: 1, loss: 8 %, heard: intake}]}",
                         2, NULL),
                     CH_OK);
    assert_int_equal(count, 3);
    assert_true(is_named("the dry readings of cylinder 2") && is_named("the dry readings of the cylinders beside 2") &&
                is_named("the leak-down tests of the cylinders beside 2"));
    assert_false(is_named("where air was heard on cylinder 2")); /* it was heard on another */
}

static void air_heard_in_another_cylinder_is_a_reason_too(void **state)
{
    (void)state;
    assert_int_equal(why("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 2}, leakdown: [{cylinder: 1, loss: 50 "
                         "%, heard: cylinder_2}, {cylinder: "
                         "2, loss: 50 %}]}",
                         1, NULL),
                     CH_OK);
    assert_true(is_named("where air was heard on cylinder 1"));
    assert_true(is_named("the leak-down test of cylinder 1"));
    assert_false(is_named("the dry readings of cylinder 1"));
}

static void a_cylinder_that_the_engine_does_not_have_is_refused(void **state)
{
    (void)state;
    ch_err err = {0};
    count = 77;
    assert_int_equal(why(EVERYTHING, 0, &err), CH_E_RANGE);
    assert_int_equal(why(EVERYTHING, 3, NULL), CH_E_RANGE);
    assert_string_equal(err.what, "cylinder 0 of 2");
    assert_int_equal(count, 77);
}

static void more_reasons_than_fit_leave_the_lightest_out(void **state)
{
    (void)state;
    char text[8192];
    size_t used = (size_t)snprintf(
        text, sizeof text,
        "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: "
        "175}, {cylinder: 2, reading: 95}], observed: [");
    size_t signs = 0;
    for (size_t i = 0; i < knowledge.observations_count && signs < CH_TRACE_REASONS_MAX + 4; i++)
        if (knowledge.observations[i].kind == CH_OBSERVATION_SIGN &&
            knowledge.observations[i].scope == CH_SCOPE_ENGINE) {
            used += (size_t)snprintf(text + used, sizeof text - used, "%s{what: %s, found: no}", signs > 0 ? ", " : "",
                                     knowledge.observations[i].id);
            signs++;
        }
    for (size_t i = 0; i < knowledge.observations_count && signs < CH_TRACE_REASONS_MAX + 4; i++)
        if (knowledge.observations[i].kind == CH_OBSERVATION_SIGN &&
            knowledge.observations[i].scope == CH_SCOPE_CYLINDER) {
            used += (size_t)snprintf(text + used, sizeof text - used, ", {what: %s, cylinder: 1, found: no}",
                                     knowledge.observations[i].id);
            signs++;
        }
    snprintf(text + used, sizeof text - used, "]}");
    assert_true(signs > CH_TRACE_REASONS_MAX);
    assert_int_equal(why(text, 2, NULL), CH_OK);
    assert_int_equal(count, CH_TRACE_REASONS_MAX);
    assert_string_equal(reason[0].what, "the dry readings of cylinder 2"); /* what tells most stays */
}

static void no_memory_at_the_first_allocations_is_said(void **state)
{
    (void)state;
    count = 77;
    for (long n = 1; n <= 3; n++) {
        ch_sheet sheet;
        ch_setup setup;
        ch_err err = {0};
        const ch_trace_options options = {.seed = 1, .samples = 200};
        assert_true(ch_sheet_parse("test", EVERYTHING, strlen(EVERYTHING), &sheet, NULL) >= 0);
        assert_true(ch_setup_from_sheet(&sheet, CH_PRIOR_UNSTATED_LIFT_M, &setup, NULL) >= 0);
        fail_alloc_at(n);
        assert_int_equal(ch_trace_why(&sheet, &setup, &knowledge, &options, 2, reason, &count, &err), CH_E_MEMORY);
        assert_true(fail_alloc_stop());
        assert_int_equal(fail_alloc_left(), 0);
        assert_int_equal(err.status, CH_E_MEMORY);
        ch_sheet_clear(&sheet);
    }
    assert_int_equal(count, 77);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_kind_of_evidence_is_taken_away_in_turn),
        cmocka_unit_test(what_weighs_most_comes_first_and_each_speaks_of_the_likeliest_cause),
        cmocka_unit_test(evidence_that_the_sheet_does_not_have_is_not_a_reason),
        cmocka_unit_test(air_heard_in_another_cylinder_is_a_reason_too),
        cmocka_unit_test(a_cylinder_that_the_engine_does_not_have_is_refused),
        cmocka_unit_test(more_reasons_than_fit_leave_the_lightest_out),
        cmocka_unit_test(no_memory_at_the_first_allocations_is_said),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
