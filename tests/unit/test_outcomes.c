/* Promises of what checks may find: against sums over all that two cylinders may have, and closed forms of the information. */
#include <math.h>
#include <string.h>

#include "../../src/trace/parts.h"
#include "builtin_knowledge.h"
#include "expect.h"

static const ch_knowledge_observation *sign_named(const char *name)
{
    const ch_knowledge_observation *sign = ch_knowledge_observation_find(&knowledge, name, strlen(name));
    assert_non_null(sign);
    return sign;
}

static const double NOWHERE[CH_CAUSE_COUNT] = {0.0};

static void a_sign_of_the_engine_may_come_from_the_other_cylinder(void **state)
{
    (void)state;
    static ch_trace trace = {.cylinders = 2};
    memset(trace.cylinder, 0, sizeof trace.cylinder);
    trace.cylinder[0].cause_1[CH_CAUSE_SOUND] = 1.0;
    trace.cylinder[1].cause_1[CH_CAUSE_SOUND] = 0.5;
    trace.cylinder[1].cause_1[CH_CAUSE_INTAKE_VALVE] = 0.3;
    trace.cylinder[1].cause_1[CH_CAUSE_RINGS_OR_BORE] = 0.2;
    static const char *const NAME[] = {"popping_intake",
                                       "vacuum_normal"}; /* one that faults bring, one that they take away */
    for (size_t n = 0; n < sizeof NAME / sizeof NAME[0]; n++) {
        const ch_knowledge_observation *sign = sign_named(NAME[n]);
        const double *p = sign->positive_1, p0 = p[CH_CAUSE_SOUND];
        double yes_1[CH_CAUSE_COUNT];
        outcomes_of_sign(sign, &trace, NOWHERE, 0, yes_1);
        for (int c = 0; c < CH_CAUSE_COUNT; c++) {
            double sum = 0.0;
            for (int other = 0; other < CH_CAUSE_COUNT; other++)
                sum += trace.cylinder[1].cause_1[other] *
                       (n == 0 ? 1.0 - (1.0 - p[c]) * (1.0 - p[other]) / (1.0 - p0) : p[c] * p[other] / p0);
            expect_close(yes_1[c], sum, 1e-12); /* rounding */
        }
    }
}

/* All four cylinders may have a cam drive that is off, but only together: a sound one says that none has. */
static void what_strikes_the_engine_as_a_whole_is_not_sought_in_the_neighbours(void **state)
{
    (void)state;
    static ch_trace trace = {.cylinders = 4};
    memset(trace.cylinder, 0, sizeof trace.cylinder);
    for (int i = 0; i < 4; i++) {
        trace.cylinder[i].cause_1[CH_CAUSE_SOUND] = 0.6;
        trace.cylinder[i].cause_1[CH_CAUSE_CAM_OR_TIMING] = 0.4;
    }
    double together_1[CH_CAUSE_COUNT] = {0.0}, yes_1[CH_CAUSE_COUNT];
    together_1[CH_CAUSE_CAM_OR_TIMING] = 0.4;
    const ch_knowledge_observation *sign = sign_named("timing_marks_off");
    outcomes_of_sign(sign, &trace, together_1, 2, yes_1);
    expect_close(yes_1[CH_CAUSE_SOUND], sign->positive_1[CH_CAUSE_SOUND], 1e-12); /* rounding */
    expect_close(yes_1[CH_CAUSE_CAM_OR_TIMING], sign->positive_1[CH_CAUSE_CAM_OR_TIMING], 1e-12);
}

/* Two neighbours share one hole: the sign of it is there once, and where this cylinder has no part in it, with the chance that the others have. */
static void a_hole_between_two_counts_once(void **state)
{
    (void)state;
    static ch_trace trace = {.cylinders = 4};
    memset(trace.cylinder, 0, sizeof trace.cylinder);
    const int between = CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS;
    for (int i = 0; i < 4; i++) {
        trace.cylinder[i].cause_1[between] = i < 2 ? 0.7 : 0.1; /* one hole or the other, or none */
        trace.cylinder[i].cause_1[CH_CAUSE_SOUND] = 1.0 - trace.cylinder[i].cause_1[between];
    }
    double yes_1[CH_CAUSE_COUNT];
    const ch_knowledge_observation *sign = sign_named("vacuum_large_swing");
    const double there_1 = sign->positive_1[between], usual_1 = sign->positive_1[CH_CAUSE_SOUND];
    outcomes_of_sign(sign, &trace, NOWHERE, 0, yes_1);
    expect_close(yes_1[between], there_1, 1e-12); /* rounding */
    const double elsewhere_1 = 0.1 / 0.3;         /* the other hole, where this one is not */
    expect_close(yes_1[CH_CAUSE_SOUND], elsewhere_1 * there_1 + (1.0 - elsewhere_1) * usual_1, 1e-12);
}

/* Source: Cover and Thomas, Elements of Information Theory, 2nd ed. 2006, 7.1.4 (from memory): 1 - h(e) bits of a binary symmetric
 * channel that errs with chance e. */
static void the_information_of_a_sign_is_that_of_a_symmetric_channel(void **state)
{
    (void)state;
    static outcome_table t;
    const double cause_1[CH_CAUSE_COUNT] = {0.5, 0.5}, errs_1 = 0.11;
    double yes_1[CH_CAUSE_COUNT] = {errs_1, 1.0 - errs_1};
    outcomes_start(&t);
    expect_close(outcomes_bits(&t, cause_1), 0.0, 1e-15); /* nothing looked at */
    assert_true(outcomes_split(&t, yes_1));
    const double h = -errs_1 * log2(errs_1) - (1.0 - errs_1) * log2(1.0 - errs_1);
    expect_close(outcomes_bits(&t, cause_1), 1.0 - h, 1e-12); /* rounding */
}

static void a_table_that_is_full_takes_no_more(void **state)
{
    (void)state;
    static outcome_table t;
    const double yes_1[CH_CAUSE_COUNT] = {0.5};
    outcomes_start(&t);
    for (int k = 0; k < 8; k++)
        assert_true(outcomes_split(&t, yes_1));
    assert_int_equal(t.count, OUTCOMES_MAX);
    assert_false(outcomes_split(&t, yes_1));
    assert_int_equal(t.count, OUTCOMES_MAX);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sign_of_the_engine_may_come_from_the_other_cylinder),
        cmocka_unit_test(what_strikes_the_engine_as_a_whole_is_not_sought_in_the_neighbours),
        cmocka_unit_test(a_hole_between_two_counts_once),
        cmocka_unit_test(the_information_of_a_sign_is_that_of_a_symmetric_channel),
        cmocka_unit_test(a_table_that_is_full_takes_no_more),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
