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

static void judge_rounds(size_t rounds, ch_driveline *to)
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
    static const size_t rounds[] = {50, 250};
    for (int k = 0; k < 2; k++) {
        ch_driveline d = {0};
        judge_rounds(rounds[k], &d);
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

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_long_run_has_what_its_rounds_have)};
    return cmocka_run_group_tests(tests, open_knowledge, close_knowledge);
}
