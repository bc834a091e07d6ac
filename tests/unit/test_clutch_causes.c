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
    for (size_t i = n; i < SLIPS_MAX; i++) /* behind the last: in another gear, hours later, hardly a slip */
        slip[i] = (ch_slip){.start_s = 1e5, .end_s = 1e5 + 9.0, .gear = 3, .peak_1 = 0.01, .driven_before_s = 15.0};
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
static double told(const double positive_1[CH_CLUTCH_CAUSES], const double cause_1[CH_CLUTCH_CAUSES])
{
    double after = 0.0;
    for (int outcome = 0; outcome < 2; outcome++) {
        double given_1[CH_CLUTCH_CAUSES], chance = 0.0;
        for (int c = 0; c < CH_CLUTCH_CAUSES; c++) {
            given_1[c] = cause_1[c] * (outcome ? positive_1[c] : 1.0 - positive_1[c]);
            chance += given_1[c];
        }
        for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
            given_1[c] /= chance;
        after += chance * entropy(given_1);
    }
    return entropy(cause_1) - after;
}

static double told_by(size_t sign, const double cause_1[CH_CLUTCH_CAUSES])
{
    return told(clutch.signs[sign].positive_1, cause_1);
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
                                              {.sign = (sign + 3) % clutch.signs_n, .present = false},
                                              {.sign = (sign + 1) % clutch.signs_n, .present = true}}; /* not told of */
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
    ch_driveline none = slipping(0);
    cause_judge(&clutch, NULL, 0, &none);
    ch_driveline one = slipping(1);
    cause_judge(&clutch, NULL, 0, &one);
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

/* Whether a pattern of the run is known, and seen. */
typedef enum what { UNKNOWN, ABSENT, PRESENT } what;

static void expect_pattern(ch_driveline *d, ch_clutch_pattern pattern, what wanted)
{
    cause_judge(&clutch, NULL, 0, d);
    assert_int_equal(d->patterns_known >> pattern & 1U, wanted != UNKNOWN);
    assert_int_equal(d->patterns >> pattern & 1U, wanted == PRESENT);
}

/* Twenty seconds of pulling before the first slip that cannot be the wheels, or the first at all: less is the first pull, more may be heat. */
static void the_first_pull_is_over_after_twenty_seconds(void **state)
{
    (void)state;
    static const struct {
        double driven_s;
        what first, grows;
    } one[] = {{19.9, PRESENT, ABSENT}, {20.0, ABSENT, ABSENT}, {20.1, ABSENT, PRESENT}};
    for (size_t k = 0; k < 3; k++)
        for (size_t low = 0; low <= 4; low++) { /* so many of the four in second gear, first */
            ch_driveline d = slipping(4);
            for (size_t i = 0; i < 4; i++) {
                slip[i].gear = i < low ? 2 : 3;
                slip[i].driven_before_s = i == (low < 4 ? low : 0) ? one[k].driven_s : i < low ? 5.0 : 90.0;
            }
            expect_pattern(&d, CH_PATTERN_FIRST_PULL, one[k].first);
            expect_pattern(&d, CH_PATTERN_GROWS_WITH_HEAT, one[k].grows);
        }
}

/* Peak times length of the second half over that of the first by more than one and a half, the middle one of an odd number left out; or holding less the hotter, by two standard uncertainties. */
static void slips_that_grow_are_told_from_those_that_do_not(void **state)
{
    (void)state;
    for (int side = -1; side <= 1; side += 2)
        for (int by_length = 0; by_length < 2; by_length++)
            for (size_t n = 4; n <= 5; n++) {
                ch_driveline d = slipping(n);
                slip[0].driven_before_s = 5.0;
                slip[n - 2].peak_1 = 0.4; /* 0.4 + x of 0.2 + 0.2 */
                if (by_length)
                    slip[n - 1].end_s = slip[n - 1].start_s + 1.0 + 0.01 * side;
                else
                    slip[n - 1].peak_1 = 0.2 + 0.002 * side;
                if (n == 5)
                    slip[2].peak_1 = 9.0;
                expect_pattern(&d, CH_PATTERN_GROWS_WITH_HEAT, side > 0 ? PRESENT : ABSENT);
                slip[0].peak_1 = 0.3; /* the first half longer or higher as well */
                slip[1].end_s = slip[1].start_s + 1.2;
                expect_pattern(&d, CH_PATTERN_GROWS_WITH_HEAT, ABSENT);
            }
    for (int side = -1; side <= 1; side += 2) {
        ch_driveline d = slipping(4);
        slip[0].driven_before_s = 5.0;
        d.fade_1_k = -0.002 - 0.00002 * side;
        d.u_fade_1_k = 0.001;
        expect_pattern(&d, CH_PATTERN_GROWS_WITH_HEAT, side > 0 ? PRESENT : ABSENT);
        d.fade_1_k = 0.002 + 0.00002 * side; /* holding more the hotter is no fading */
        expect_pattern(&d, CH_PATTERN_GROWS_WITH_HEAT, ABSENT);
        d.fade_1_k = -INFINITY;
        expect_pattern(&d, CH_PATTERN_GROWS_WITH_HEAT, ABSENT);
    }
    ch_driveline even = slipping(4); /* one and a half exactly is no more than it */
    slip[0].driven_before_s = 5.0;
    slip[0].peak_1 = slip[1].peak_1 = 0.25;
    slip[2].peak_1 = slip[3].peak_1 = 0.375;
    expect_pattern(&even, CH_PATTERN_GROWS_WITH_HEAT, ABSENT);
    ch_driveline few = slipping(3);
    few.fade_1_k = -1.0;
    few.u_fade_1_k = 0.001;
    expect_pattern(&few, CH_PATTERN_GROWS_WITH_HEAT, UNKNOWN);
}

/* Rests of more than two minutes; after most of them a slip of less than 0.7 of the last before it. */
static void rest_lets_a_clutch_recover(void **state)
{
    (void)state;
    static const struct {
        double rest_s[3], peak_1[4];
        what wanted;
    } one[] = {
        {{119.0, 119.0, 119.0}, {0.2, 0.1, 0.2, 0.1}, UNKNOWN}, {{121.0, 1.0, 1.0}, {0.2, 0.139, 0.2, 0.2}, PRESENT},
        {{121.0, 1.0, 1.0}, {0.2, 0.141, 0.2, 0.1}, ABSENT},    {{1.0, 1.0, 121.0}, {0.2, 0.2, 0.2, 0.139}, PRESENT},
        {{121.0, 121.0, 1.0}, {0.2, 0.1, 0.2, 0.1}, ABSENT},    {{121.0, 121.0, 121.0}, {0.2, 0.1, 0.2, 0.1}, PRESENT},
        {{120.0, 120.0, 1.0}, {0.2, 0.1, 0.05, 0.2}, UNKNOWN},  {{121.0, 121.0, 121.0}, {0.2, 0.2, 0.3, 0.1}, ABSENT}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++) {
        ch_driveline d = slipping(4);
        double at_s = 100.0;
        for (size_t i = 0; i < 4; i++) {
            slip[i].start_s = at_s;
            slip[i].end_s = at_s + 8.0; /* a rest begins at the end of the last */
            slip[i].peak_1 = one[k].peak_1[i];
            at_s = slip[i].end_s + (i < 3 ? one[k].rest_s[i] : 0.0);
        }
        expect_pattern(&d, CH_PATTERN_RECOVERS, one[k].wanted);
    }
}

/* Slips in the highest two gears that were driven for more than five seconds, of three gears and more of which the fourth was. */
static void only_the_highest_gears_slip(void **state)
{
    (void)state;
    static const struct {
        size_t gears;
        double seconds[5];
        int slips_in; /* the last of three; the others in the highest */
        what wanted;
    } one[] = {{5, {9.0, 9.0, 9.0, 9.0, 5.1}, 4, PRESENT}, {5, {9.0, 9.0, 9.0, 9.0, 5.1}, 3, ABSENT},
               {5, {9.0, 9.0, 9.0, 9.0, 5.0}, 3, PRESENT}, {5, {9.0, 9.0, 9.0, 9.0, 5.0}, 2, ABSENT},
               {4, {9.0, 9.0, 9.0, 9.0, 0.0}, 3, PRESENT}, {3, {9.0, 9.0, 9.0, 9.0, 9.0}, 3, UNKNOWN},
               {4, {9.0, 9.0, 9.0, 4.9, 0.0}, 3, UNKNOWN}, {5, {0.0, 0.0, 0.0, 9.0, 9.0}, 4, PRESENT}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++)
        for (size_t at = 0; at < 3; at++) {
            ch_driveline d = slipping(3);
            d.gears = one[k].gears;
            for (int g = 0; g < 5; g++)
                d.gear[g].seconds = one[k].seconds[g];
            for (size_t i = 0; i < 3; i++)
                slip[i].gear = i == at ? one[k].slips_in : 5;
            expect_pattern(&d, CH_PATTERN_HIGH_GEARS, one[k].wanted);
        }
    ch_driveline d = slipping(2); /* three gears of a box: second, fourth and fifth */
    d.gears = 3;
    d.gear[0].number = 2;
    d.gear[1].number = 4;
    d.gear[2].number = 5;
    expect_pattern(&d, CH_PATTERN_HIGH_GEARS, PRESENT);
    d.gears = 2;
    expect_pattern(&d, CH_PATTERN_HIGH_GEARS, UNKNOWN);
}

static void what_holds_less_than_six_tenths_of_its_design_is_told(void **state)
{
    (void)state;
    ch_driveline d = slipping(1);
    d.design_n_m[0] = 300.0;
    expect_pattern(&d, CH_PATTERN_FAR_BELOW_DESIGN, UNKNOWN);
    d.capacity_n_m[1] = 179.0;
    expect_pattern(&d, CH_PATTERN_FAR_BELOW_DESIGN, PRESENT);
    d.capacity_n_m[1] = 181.0;
    expect_pattern(&d, CH_PATTERN_FAR_BELOW_DESIGN, ABSENT);
    d.design_n_m[0] = NAN;
    d.design_n_m[1] = 400.0;
    expect_pattern(&d, CH_PATTERN_FAR_BELOW_DESIGN, UNKNOWN);
    d.slips = 0; /* of a clutch that does not slip nothing is asked */
    d.design_n_m[0] = 900.0;
    expect_pattern(&d, CH_PATTERN_FAR_BELOW_DESIGN, UNKNOWN);
}

/* Slip and something else are seen where they were; that there was none is known where every event was told, and something else where more than five seconds were pulled and news come often. */
static void what_may_be_either_says_nothing_of_both(void **state)
{
    (void)state;
    for (size_t slips = 0; slips <= 1; slips++)
        for (size_t others = 0; others <= 3; others++)
            for (int open = 0; open < 5; open++)
                for (int stale = 0; stale < 2; stale++)
                    for (int pulled = 0; pulled < 4; pulled++) {
                        static const double loaded_s[] = {4.9, 5.1, 2.5, 2.5}, low_s[] = {0.0, 0.0, 2.4, 2.6};
                        ch_driveline d = slipping(slips);
                        d.not_slips[CH_NOT_SLIP_WHEELSPIN] = others & 1U;
                        d.not_slips[CH_NOT_SLIP_SENSOR] = others >> 1U;
                        d.not_slips[CH_NOT_SLIP_CLUTCH] = d.not_slips[CH_NOT_SLIP_BRIEF] =
                            7; /* which every driver does */
                        d.loaded_s = loaded_s[pulled];
                        d.loaded_low_s = low_s[pulled];
                        static const unsigned open_by[] = {0U, CH_LIMIT_LOW_GEARS, CH_LIMIT_NEAR_GEARS,
                                                           CH_LIMIT_PULLED_ALONE, CH_LIMIT_PERHAPS_STEPLESS};
                        d.limits = open_by[open] | (stale ? (unsigned)CH_LIMIT_STALE : 0U) | (unsigned)CH_LIMIT_NUMBERS;
                        expect_pattern(&d, CH_PATTERN_SLIPS, slips > 0 ? PRESENT : open ? UNKNOWN : ABSENT);
                        expect_pattern(&d, CH_PATTERN_SOMETHING_ELSE,
                                       stale || pulled % 2 == 0 || (open && others == 0) ? UNKNOWN
                                       : others > 0                                      ? PRESENT
                                                                                         : ABSENT);
                    }
    ch_driveline none = slipping(1);
    none.state = CH_DRIVELINE_TOO_LITTLE;
    none.patterns = none.patterns_known = ~0U;
    expect_pattern(&none, CH_PATTERN_SLIPS, UNKNOWN);
    assert_int_equal(none.patterns | none.patterns_known, 0);
}

/* More checks than are kept, several alike: those that tell most for a minute, the first of equals first, and none that tells less than a fiftieth of a bit. */
static void the_best_checks_are_kept_in_order(void **state)
{
    (void)state;
    enum { CHECKS = 24 };
    static ch_clutch_check many[CHECKS];
    static size_t sign_of[CHECKS];
    ch_clutch_knowledge more = clutch;
    for (int seed = 0; seed < 40; seed++) {
        double bits[CHECKS];
        bool taken[CHECKS] = {false};
        ch_driveline d = slipping(0);
        for (size_t k = 0; k < CHECKS; k++) {
            sign_of[k] = (k * 7 + (size_t)seed) % clutch.signs_n;
            many[k] = clutch.checks[0];
            many[k].seconds = 60.0 * (double)(1 + (k * k + (size_t)seed) % 9);
            many[k].yields.at = &sign_of[k];
            many[k].yields.count = 1;
        }
        many[7] = many[3]; /* three alike */
        many[19] = many[3];
        sign_of[7] = sign_of[19] = sign_of[3];
        more.checks = many;
        more.checks_n = (size_t)(seed < CHECKS ? seed + 1 : CHECKS);
        cause_judge(&more, NULL, 0, &d);
        size_t kept = 0;
        for (size_t k = 0; k < more.checks_n; k++)
            bits[k] = told_by(sign_of[k], d.cause_1);
        for (; kept < CH_DRIVELINE_CHECKS_MAX; kept++) {
            size_t best = CHECKS;
            for (size_t k = 0; k < more.checks_n; k++)
                if (!taken[k] && bits[k] >= 0.02 &&
                    (best == CHECKS || bits[k] / many[k].seconds > bits[best] / many[best].seconds * (1.0 + 1e-12)))
                    best = k;
            if (best == CHECKS)
                break;
            taken[best] = true;
            assert_true(kept < d.next_checks);
            assert_int_equal(d.next_check[kept].check, best);
            expect_close(d.next_check[kept].bits_1, bits[best], 1e-12);
            expect_close(d.next_check[kept].seconds, many[best].seconds, 0.0);
        }
        assert_int_equal(d.next_checks, kept);
    }
    /* a fiftieth of a bit: a sign made so that it tells that much and a hundredth of that more or less */
    for (int side = -1; side <= 1; side += 2) {
        static ch_clutch_sign made;
        ch_driveline d = slipping(0);
        cause_judge(&clutch, NULL, 0, &d);
        double low = 0.0, high = 0.5;
        more.signs = &made;
        more.signs_n = 1;
        for (int round = 0; round < 60; round++) {
            const double apart = 0.5 * (low + high);
            for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
                made.positive_1[c] = 0.5 + (c % 2 == 0 ? apart : -apart) * 0.99;
            *(told(made.positive_1, d.cause_1) > 0.02 * (1.0 + 0.01 * side) ? &high : &low) = apart;
        }
        sign_of[0] = 0;
        many[0].yields.at = &sign_of[0];
        more.checks_n = 1;
        cause_judge(&more, NULL, 0, &d);
        assert_int_equal(d.next_checks, side > 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(causes_and_checks_follow_from_the_knowledge),
        cmocka_unit_test(a_single_slip_is_one),
        cmocka_unit_test(what_the_slips_look_like_is_noted),
        cmocka_unit_test(the_first_pull_is_over_after_twenty_seconds),
        cmocka_unit_test(slips_that_grow_are_told_from_those_that_do_not),
        cmocka_unit_test(rest_lets_a_clutch_recover),
        cmocka_unit_test(only_the_highest_gears_slip),
        cmocka_unit_test(what_holds_less_than_six_tenths_of_its_design_is_told),
        cmocka_unit_test(what_may_be_either_says_nothing_of_both),
        cmocka_unit_test(the_best_checks_are_kept_in_order),
    };
    return cmocka_run_group_tests(tests, open_knowledge, close_knowledge);
}
