/*
 * A run of many hours is judged in chapters, each let go before the next (crosshatch/driveline.h): what is found of the same minute over and over is as much
 * as its number of times says, in one chapter and in two.
 */
#include <stdlib.h>
#include <string.h>

#include "crosshatch/driveline.h"
#include "drive_knowledge.h"
#include "drive_rounds.h"
#include "expect.h"

enum { BATCH = 1000 };

/* How the rounds are logged. */
typedef enum logged { FINE, CUT, CREEPING, IDLE_FIRST } logged;

static void judge_rounds(size_t rounds, logged how, ch_driveline *to)
{
    static double time_s[BATCH], engine[BATCH], road[BATCH], throttle[BATCH], nothing[BATCH];
    static uint64_t line[BATCH];
    ch_driveline_run *run = NULL;
    assert_int_equal(ch_driveline_open(NULL, &run, NULL), CH_OK);
    for (size_t i = 0; i < BATCH; i++)
        nothing[i] = NAN;
    for (size_t first = 0; first < rounds * ROUND; first += BATCH) {
        for (size_t i = 0; i < BATCH; i++) {
            time_s[i] = (double)(first + i) * EVERY_S;
            moment((double)((first + i) % ROUND) * EVERY_S, &engine[i], &road[i], &throttle[i]);
            if (how == CUT) /* to whole km/h */
                road[i] = floor(road[i] * 3.6 + 1e-9) / 3.6;
            if (how ==
                CREEPING) /* driven tyres run ahead of the road by three hundredths of the force over the weight */
                engine[i] *= 1.0 + 0.03 * (throttle[i] > 0.5 ? 1.0 + 3.5e-4 * road[i] * road[i] : -0.4) / 9.80665;
            if (how == IDLE_FIRST && first + i < CH_DRIVELINE_CHAPTER) {
                engine[i] = 90.0 + (double)(i % 7);
                road[i] = throttle[i] = 0.0;
            }
            line[i] = first + i + 2;
        }
        const ch_drivelog_rows rows = {.n = BATCH,
                                       .first = first,
                                       .time_s = time_s,
                                       .engine_speed_rad_s = engine,
                                       .road_speed_m_s = road,
                                       .throttle_1 = throttle,
                                       .acceleration_m_s2 = nothing,
                                       .coolant_k = nothing,
                                       .oil_k = nothing,
                                       .clutch_1 = nothing,
                                       .gps_speed_m_s = nothing,
                                       .driven_speed_m_s = nothing,
                                       .line = line};
        assert_int_equal(ch_driveline_take(&rows, run, NULL), CH_OK);
    }
    assert_int_equal(ch_driveline_finish(run, &clutch, NULL, 0, to, NULL), CH_OK);
    ch_driveline_close(run);
}

static void a_long_run_has_what_its_rounds_have(void **state)
{
    (void)state;
    /* 300,000 rows are kept at once: 187 rounds and a half */
    static const size_t rounds[] = {30, 190};
    for (int k = 0; k < 2; k++) {
        ch_driveline d = {0};
        judge_rounds(rounds[k], FINE, &d);
        assert_int_equal(d.rows, rounds[k] * ROUND);
        assert_int_equal(d.state, CH_DRIVELINE_GEARS_FOUND);
        assert_int_equal(d.gears, 3);
        assert_int_equal(d.slips,
                         rounds[k]); /* one a round, also where a chapter ends: it does so while the car coasts */
        for (size_t i = 0; i < d.slips; i++) {
            assert_int_equal(d.slip[i].gear, d.gear[1].number);
            expect_close(d.slip[i].start_s, 80.0 * (double)i + 18.0, 0.3);
            expect_close(d.slip[i].peak_1, 0.15, 0.01);
        }
        /* twelve seconds, sixteen and fifty-two of each round; changes and slip are a second or so of each */
        const double each_s[] = {12.0, 16.0, 52.0};
        for (int g = 0; g < 3; g++)
            expect_close(d.gear[g].seconds / (double)rounds[k], each_s[g], 2.5);
        ch_driveline_clear(&d);
    }
}

/* What was found with the gears holds in the next chapter, though only two rounds and a half are left for it: speed cut to steps, tyres that creep, and the lag. */
static void the_last_rounds_are_as_the_first(void **state)
{
    (void)state;
    enum { LONG = 190 };
    for (logged how = CUT; how <= CREEPING; how++) {
        ch_driveline d = {0};
        judge_rounds(LONG, how, &d);
        assert_int_equal(d.gears, 3);
        assert_int_equal(d.slips, LONG);
        expect_close(d.road_offset_m_s, how == CUT ? 0.5 / 3.6 : 0.0, 1e-9);
        for (size_t i = LONG - 2; i < LONG; i++) {
            expect_close(d.slip[i].peak_1, d.slip[1].peak_1, 1e-4); /* all rounds are alike; times are floats */
            expect_close(d.slip[i].start_s - 80.0 * (double)i, d.slip[1].start_s - 80.0, 1e-3);
            expect_close(d.slip[i].end_s - 80.0 * (double)i, d.slip[1].end_s - 80.0, 1e-3);
            expect_close(d.slip[i].driven_before_s / (double)i, d.slip[1].driven_before_s - d.slip[0].driven_before_s,
                         0.5);
        }
        ch_driveline_clear(&d);
    }
}

/* Hours of standing first: gears and all that is said of the signals are those of the chapter that has some. */
static void standing_first_says_nothing_of_the_driving(void **state)
{
    (void)state;
    ch_driveline d = {0};
    judge_rounds(192, IDLE_FIRST, &d); /* of which the last five have something to see */
    assert_int_equal(d.state, CH_DRIVELINE_GEARS_FOUND);
    assert_int_equal(d.gears, 3);
    assert_int_equal(d.slips, 5);
    assert_int_equal(d.limits & (CH_LIMIT_LAG | CH_LIMIT_STALE | CH_LIMIT_STEPS), 0);
    expect_close(d.lag_s, 0.0, 1e-3);
    assert_true(d.u_lag_s < 0.1);
    for (size_t i = 0; i < 5; i++) {
        expect_close(d.slip[i].start_s, 80.0 * (double)(188 + i) + 18.0, 0.1);
        expect_close(d.slip[i].peak_1, 0.15, 1e-3);
    }
    ch_driveline_clear(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_long_run_has_what_its_rounds_have),
        cmocka_unit_test(the_last_rounds_are_as_the_first),
        cmocka_unit_test(standing_first_says_nothing_of_the_driving),
    };
    return cmocka_run_group_tests(tests, open_knowledge, close_knowledge);
}
