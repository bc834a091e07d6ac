/* Promises of driveline/cause.c: patterns, causes and checks of slips that are given, worked out a second time from the knowledge file. */
#include <math.h>
#include <string.h>

#include "../../src/driveline/parts.h"
#include "drive_knowledge.h"
#include "expect.h"

enum { SLIPS_MAX = 8 };
static ch_slip slip[SLIPS_MAX];

/* Five gears, each used, a minute and a half of pulling; `n` like slips in fourth gear, a minute apart, the first after half a minute of pulling. */
static ch_driveline slipping(size_t n)
{
    for (size_t i = 0; i < n; i++)
        slip[i] = (ch_slip){.start_s = 100.0 + 60.0 * (double)i,
                            .end_s = 101.0 + 60.0 * (double)i,
                            .gear = 4,
                            .peak_1 = 0.2,
                            .driven_before_s = 30.0 + 5.0 * (double)i};
    ch_driveline d = {.state = CH_DRIVELINE_GEARS_FOUND,
                      .gears = 5,
                      .loaded_s = 90.0,
                      .slip = slip,
                      .slips = n,
                      .fade_1_k = NAN,
                      .capacity_n_m = {NAN, NAN, NAN},
                      .design_n_m = {NAN, NAN}};
    for (int g = 0; g < 5; g++)
        d.gear[g] = (ch_driveline_gear){.number = g + 1, .seconds = 60.0};
    return d;
}

static bool seen_there(const ch_driveline *d, ch_clutch_pattern pattern)
{
    assert_true((d->patterns_known >> pattern & 1U) != 0);
    return (d->patterns >> pattern & 1U) != 0;
}

/* Bayes' rule, signs independent given the cause; no slip says little where little was pulled. */
static void posterior_of(const ch_driveline *d, const ch_driveline_seen *seen, size_t n,
                         double cause_1[CH_CLUTCH_CAUSES])
{
    double sum = 0.0;
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++) {
        cause_1[c] = clutch.cause[c].prior_1;
        for (int p = 0; p < CH_CLUTCH_PATTERNS; p++) {
            const double yes_1 = clutch.pattern[p].positive_1[c];
            const double share_1 = p == CH_PATTERN_SLIPS ? 1.0 - exp(-d->loaded_s / 15.0) : 1.0;
            if (d->patterns_known >> p & 1U)
                cause_1[c] *= d->patterns >> p & 1U ? yes_1 : 1.0 - share_1 * yes_1;
        }
        for (size_t i = 0; i < n; i++) {
            const double yes_1 = clutch.signs[seen[i].sign].positive_1[c];
            cause_1[c] *= seen[i].present ? yes_1 : 1.0 - yes_1;
        }
        sum += cause_1[c];
    }
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
        cause_1[c] /= sum;
}

static double entropy(const double cause_1[CH_CLUTCH_CAUSES])
{
    double bits = 0.0;
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
        bits -= cause_1[c] > 0.0 ? cause_1[c] * log2(cause_1[c]) : 0.0;
    return bits;
}

/* Mutual information of a sign and the cause as the entropy that its outcome is expected to take away (Shannon 1948). */
static double told_by(size_t sign, const double cause_1[CH_CLUTCH_CAUSES])
{
    double after = 0.0;
    for (int outcome = 0; outcome < 2; outcome++) {
        double given_1[CH_CLUTCH_CAUSES], chance = 0.0;
        for (int c = 0; c < CH_CLUTCH_CAUSES; c++) {
            const double yes_1 = clutch.signs[sign].positive_1[c];
            given_1[c] = cause_1[c] * (outcome ? yes_1 : 1.0 - yes_1);
            chance += given_1[c];
        }
        for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
            given_1[c] /= chance;
        after += chance * entropy(given_1);
    }
    return entropy(cause_1) - after;
}

static void assert_worked_out(ch_driveline *d, const ch_driveline_seen *seen, size_t n)
{
    double cause_1[CH_CLUTCH_CAUSES];
    cause_judge(&clutch, seen, n, d);
    posterior_of(d, seen, n, cause_1);
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
        expect_close(d->cause_1[c], cause_1[c], 1e-12);
    size_t worth = 0;
    double last = INFINITY;
    for (size_t k = 0; k < clutch.checks_n; k++) {
        double best = 0.0, sum = 0.0;
        for (size_t y = 0; y < clutch.checks[k].yields.count; y++) {
            bool known = false;
            for (size_t i = 0; i < n; i++)
                known = known || seen[i].sign == clutch.checks[k].yields.at[y];
            const double bits = known ? 0.0 : told_by(clutch.checks[k].yields.at[y], cause_1);
            best = fmax(best, bits);
            sum += bits;
        }
        const double bits = best + 0.5 * (sum - best); /* docs/driveline.md: the best, and half of the others */
        worth += bits >= 0.02;
        for (size_t i = 0; i < d->next_checks; i++)
            if (d->next_check[i].check == k) {
                expect_close(d->next_check[i].bits_1, bits, 1e-12);
                expect_close(d->next_check[i].seconds, clutch.checks[k].seconds, 0.0);
            }
    }
    assert_int_equal(d->next_checks, worth < CH_DRIVELINE_CHECKS_MAX ? worth : CH_DRIVELINE_CHECKS_MAX);
    for (size_t i = 0; i < d->next_checks; i++) {
        assert_true(d->next_check[i].bits_1 / d->next_check[i].seconds <= last);
        last = d->next_check[i].bits_1 / d->next_check[i].seconds;
    }
}

static void causes_and_checks_follow_from_the_knowledge(void **state)
{
    (void)state;
    for (size_t n = 0; n <= 6; n++) {
        ch_driveline d = slipping(n);
        assert_worked_out(&d, NULL, 0);
        for (size_t sign = 0; sign < clutch.signs_n; sign++) {
            const ch_driveline_seen seen[] = {{.sign = sign, .present = true},
                                              {.sign = (sign + 3) % clutch.signs_n, .present = false}};
            d = slipping(n);
            assert_worked_out(&d, seen, 2);
        }
    }
    ch_driveline little = slipping(0), much = slipping(0);
    little.loaded_s = 2.0;
    assert_worked_out(&little, NULL, 0);
    assert_worked_out(&much, NULL, 0);
    assert_true(much.cause_1[CH_CLUTCH_SOUND] >
                little.cause_1[CH_CLUTCH_SOUND]); /* no slip says more the more was pulled */
}

static void a_single_slip_is_one(void **state)
{
    (void)state;
    ch_driveline one = slipping(1), none = slipping(0);
    cause_judge(&clutch, NULL, 0, &one);
    cause_judge(&clutch, NULL, 0, &none);
    assert_true(seen_there(&one, CH_PATTERN_SLIPS) && !seen_there(&none, CH_PATTERN_SLIPS));
    assert_false(seen_there(&one, CH_PATTERN_FIRST_PULL)); /* after half a minute of pulling */
    assert_true(seen_there(&one, CH_PATTERN_HIGH_GEARS));
    assert_int_equal(one.patterns_known >> CH_PATTERN_GROWS_WITH_HEAT & 1U, 0); /* too few to tell */
    assert_int_equal(one.patterns_known >> CH_PATTERN_RECOVERS & 1U, 0);
    assert_int_equal(one.patterns_known >> CH_PATTERN_FAR_BELOW_DESIGN & 1U, 0);
    assert_int_equal(none.patterns_known >> CH_PATTERN_FIRST_PULL & 1U, 0);
}

static void what_the_slips_look_like_is_noted(void **state)
{
    (void)state;
    ch_driveline d = slipping(4);
    slip[0].driven_before_s = 5.0;
    cause_judge(&clutch, NULL, 0, &d);
    assert_true(seen_there(&d, CH_PATTERN_FIRST_PULL));
    assert_false(seen_there(&d, CH_PATTERN_GROWS_WITH_HEAT));
    assert_false(seen_there(&d, CH_PATTERN_SOMETHING_ELSE));

    d = slipping(
        4); /* late in the run, so that heat may have had a part in it: grown, as they come after half a minute */
    cause_judge(&clutch, NULL, 0, &d);
    assert_true(seen_there(&d, CH_PATTERN_GROWS_WITH_HEAT));

    d = slipping(4); /* from the first pull on, but twice as long and high later */
    slip[0].driven_before_s = 5.0;
    slip[2].peak_1 = slip[3].peak_1 = 0.35;
    cause_judge(&clutch, NULL, 0, &d);
    assert_true(seen_there(&d, CH_PATTERN_GROWS_WITH_HEAT));

    d = slipping(4);
    slip[0].driven_before_s = 5.0;
    d.fade_1_k = -0.003; /* holds less the hotter, three times its doubt */
    d.u_fade_1_k = 0.001;
    cause_judge(&clutch, NULL, 0, &d);
    assert_true(seen_there(&d, CH_PATTERN_GROWS_WITH_HEAT));
    d.u_fade_1_k = 0.002;
    cause_judge(&clutch, NULL, 0, &d);
    assert_false(seen_there(&d, CH_PATTERN_GROWS_WITH_HEAT));

    d = slipping(4); /* a rest of five minutes, then half as high */
    slip[2].start_s = 500.0;
    slip[2].end_s = 501.0;
    slip[3].start_s = 560.0;
    slip[3].end_s = 561.0;
    slip[2].peak_1 = 0.1;
    cause_judge(&clutch, NULL, 0, &d);
    assert_true(seen_there(&d, CH_PATTERN_RECOVERS));
    slip[2].peak_1 = 0.19;
    cause_judge(&clutch, NULL, 0, &d);
    assert_false(seen_there(&d, CH_PATTERN_RECOVERS));

    d = slipping(4);
    slip[2].gear = 3;
    cause_judge(&clutch, NULL, 0, &d);
    assert_false(seen_there(&d, CH_PATTERN_HIGH_GEARS)); /* of five, third is no high gear */
    d.gear[4].seconds = 3.0;                             /* fifth was hardly used: of four it is */
    cause_judge(&clutch, NULL, 0, &d);
    assert_true(seen_there(&d, CH_PATTERN_HIGH_GEARS));
    d.gears = 3;
    cause_judge(&clutch, NULL, 0, &d);
    assert_int_equal(d.patterns_known >> CH_PATTERN_HIGH_GEARS & 1U, 0);

    d = slipping(1);
    d.capacity_n_m[1] = 170.0;
    d.design_n_m[0] = 300.0;
    cause_judge(&clutch, NULL, 0, &d);
    assert_true(seen_there(&d, CH_PATTERN_FAR_BELOW_DESIGN)); /* 0.57 of it */
    d.capacity_n_m[1] = 190.0;
    cause_judge(&clutch, NULL, 0, &d);
    assert_false(seen_there(&d, CH_PATTERN_FAR_BELOW_DESIGN));

    d = slipping(1);
    d.not_slips[CH_NOT_SLIP_WHEELSPIN] = 1;
    cause_judge(&clutch, NULL, 0, &d);
    assert_true(seen_there(&d, CH_PATTERN_SOMETHING_ELSE));
    d.limits = CH_LIMIT_STALE;
    cause_judge(&clutch, NULL, 0, &d);
    assert_int_equal(d.patterns_known >> CH_PATTERN_SOMETHING_ELSE & 1U, 0);
    d.state = CH_DRIVELINE_NO_FIXED_GEARS;
    cause_judge(&clutch, NULL, 0, &d);
    assert_int_equal(d.patterns_known, 0);
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
        expect_close(d.cause_1[c], clutch.cause[c].prior_1, 1e-9); /* as before the run */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(causes_and_checks_follow_from_the_knowledge),
        cmocka_unit_test(a_single_slip_is_one),
        cmocka_unit_test(what_the_slips_look_like_is_noted),
    };
    return cmocka_run_group_tests(tests, open_knowledge, close_knowledge);
}
