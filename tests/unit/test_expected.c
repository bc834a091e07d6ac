/* The distribution of a sound cylinder's reading: against plain random draws, its limits, and its refusals. */
#include "crosshatch/expected.h"

#include <stdlib.h>
#include <string.h>

#include "crosshatch/prior.h"
#include "crosshatch/sampling.h"
#include "crosshatch/summary.h"
#include "expect.h"
#include "fail_alloc.h"

/* A sheet that says nothing of the engine but its cylinders: the widest case. */
typedef struct bare {
    ch_setup setup;
    ch_doubts doubts;
    ch_emulator emulator;
} bare;

static bare *made;

static int make_bare(void **state)
{
    (void)state;
    ch_sheet sheet;
    ch_sheet_init(&sheet);
    sheet.engine.cylinders = 4;
    made = calloc(1, sizeof *made);
    if (made == NULL || ch_setup_from_sheet(&sheet, CH_PRIOR_UNSTATED_LIFT_M, &made->setup, NULL) < 0)
        return -1;
    ch_doubts_from_setup(&made->setup, &made->doubts);
    return ch_emulator_build(&made->setup, 4, &made->doubts, NULL, NULL, &made->emulator, NULL) < 0 ? -1 : 0;
}

static int drop_bare(void **state)
{
    (void)state;
    free(made);
    return 0;
}

static void one_reading_is_that_of_the_whole_table(void **state)
{
    (void)state;
    ch_stream stream;
    ch_stream_init(&stream, 7, 0);
    for (int trial = 0; trial < 50; trial++) {
        double offset[CH_DOUBT_COUNT], table[CH_EMULATOR_GRID];
        for (int doubt = 0; doubt < CH_DOUBT_COUNT; doubt++)
            offset[doubt] = made->doubts.sd[doubt] * ch_stream_normal(&stream);
        const double area_m2 = 0.4e-6 * exp(2.0 * ch_stream_normal(&stream));
        ch_emulator_table(&made->emulator, offset, table, NULL);
        /* the same sums in the same order: rounding only */
        expect_relative(ch_emulator_reading_pa(&made->emulator, offset, area_m2),
                        ch_emulator_at(&made->emulator, table, area_m2), 1e-12);
    }
}

static void quantiles_agree_with_plain_random_draws(void **state)
{
    (void)state;
    enum { N = 200000 };
    const double gain_u_1 = 0.03;
    double *reading_pa = malloc(N * sizeof *reading_pa);
    assert_non_null(reading_pa);
    ch_stream stream;
    ch_stream_init(&stream, 20270116, 3);
    const double ring_m2 = CH_PRIOR_RING_M2_PER_M * made->setup.cranking.bore.bore_m;
    for (int i = 0; i < N; i++) {
        double offset[CH_DOUBT_COUNT];
        for (int doubt = 0; doubt < CH_DOUBT_COUNT; doubt++)
            offset[doubt] = made->doubts.sd[doubt] * ch_stream_normal(&stream);
        const double area_m2 = ch_stream_lognormal(&stream, ring_m2, CH_PRIOR_RING_SD_ENGINE) *
                               ch_stream_lognormal(&stream, 1.0, CH_PRIOR_RING_SD_CYLINDER);
        reading_pa[i] =
            (1.0 + gain_u_1 * ch_stream_normal(&stream)) * ch_emulator_reading_pa(&made->emulator, offset, area_m2);
    }
    ch_sort(reading_pa, N);
    for (uint64_t seed = 1; seed <= 5; seed++) {
        double quantile_pa[3];
        assert_int_equal(ch_expected_sound(&made->emulator, &made->doubts, &made->setup, gain_u_1, seed,
                                           CH_EXPECTED_DRAWS, quantile_pa, NULL),
                         CH_OK);
        /* What the header promises of this widest of bands (some 80 % of the reading); the random quantiles themselves scatter by 0.1 %. */
        expect_close(quantile_pa[0], ch_quantile_sorted(reading_pa, N, 0.05), 0.02 * quantile_pa[1]);
        expect_close(quantile_pa[1], ch_quantile_sorted(reading_pa, N, 0.50), 0.01 * quantile_pa[1]);
        expect_close(quantile_pa[2], ch_quantile_sorted(reading_pa, N, 0.95), 0.02 * quantile_pa[1]);
    }
    free(reading_pa);
}

static void same_seed_gives_the_same_bytes(void **state)
{
    (void)state;
    double one[3], two[3], other[3];
    assert_int_equal(ch_expected_sound(&made->emulator, &made->doubts, &made->setup, 0.02, 5, 512, one, NULL), CH_OK);
    assert_int_equal(ch_expected_sound(&made->emulator, &made->doubts, &made->setup, 0.02, 5, 512, two, NULL), CH_OK);
    assert_int_equal(ch_expected_sound(&made->emulator, &made->doubts, &made->setup, 0.02, 6, 512, other, NULL), CH_OK);
    assert_memory_equal(one, two, sizeof one);
    assert_memory_not_equal(one, other, sizeof one);
}

static void less_doubt_narrows_the_band_and_hardly_moves_its_middle(void **state)
{
    (void)state;
    ch_doubts less = made->doubts;
    for (int doubt = 0; doubt < CH_DOUBT_COUNT; doubt++)
        less.sd[doubt] *= 0.1;
    double wide[3], narrow[3], gauge[3];
    assert_int_equal(ch_expected_sound(&made->emulator, &made->doubts, &made->setup, 0.0, 1, 1024, wide, NULL), CH_OK);
    assert_int_equal(ch_expected_sound(&made->emulator, &less, &made->setup, 0.0, 1, 1024, narrow, NULL), CH_OK);
    assert_int_equal(ch_expected_sound(&made->emulator, &less, &made->setup, 0.1, 1, 1024, gauge, NULL), CH_OK);
    assert_true(narrow[2] - narrow[0] < 0.5 * (wide[2] - wide[0]));
    assert_true(gauge[2] - gauge[0] > narrow[2] - narrow[0]);
    /* Curvature (a large adapter takes more than a small one gives) moves the middle of the widest band by 6 %, not more. */
    expect_relative(narrow[1], wide[1], 0.08);
}

static void a_normal_gain_alone_gives_a_normal_band(void **state)
{
    (void)state;
    /* Without doubts and hardly any spread of rings left to act (no leak to speak of), the band must be the gain's own. */
    const ch_doubts none = {{0}};
    ch_setup tight = made->setup;
    tight.cranking.bore.bore_m = 1e-9;
    double quantile_pa[3];
    assert_int_equal(ch_expected_sound(&made->emulator, &none, &tight, 0.05, 11, 4096, quantile_pa, NULL), CH_OK);
    const double no_offset[CH_DOUBT_COUNT] = {0};
    const double reading_pa = ch_emulator_reading_pa(&made->emulator, no_offset, 0.0);
    /* 0.95 quantile of the normal: 1.644854 (any table). 4096 net points place it within 0.02 sd. */
    expect_relative(quantile_pa[0], reading_pa * (1.0 - 1.644854 * 0.05), 0.001);
    expect_relative(quantile_pa[1], reading_pa, 0.001);
    expect_relative(quantile_pa[2], reading_pa * (1.0 + 1.644854 * 0.05), 0.001);
}

static void refuses_what_cannot_be_and_leaves_the_output(void **state)
{
    (void)state;
    double quantile_pa[3] = {1.0, 2.0, 3.0};
    const double before[3] = {1.0, 2.0, 3.0};
    const double bad_gain[] = {-0.01, 0.51, NAN};
    for (size_t i = 0; i < sizeof bad_gain / sizeof bad_gain[0]; i++) {
        ch_err err = {0};
        assert_int_equal(
            ch_expected_sound(&made->emulator, &made->doubts, &made->setup, bad_gain[i], 1, 64, quantile_pa, &err),
            CH_E_RANGE);
        assert_int_equal(err.status, CH_E_RANGE);
    }
    const double bad_sd[] = {-1.0, NAN, INFINITY};
    for (size_t i = 0; i < sizeof bad_sd / sizeof bad_sd[0]; i++) {
        ch_doubts bad = made->doubts;
        bad.sd[CH_DOUBT_DEAD] = bad_sd[i];
        ch_err err = {0};
        assert_int_equal(ch_expected_sound(&made->emulator, &bad, &made->setup, 0.0, 1, 64, quantile_pa, &err),
                         CH_E_RANGE);
        assert_non_null(strstr(err.what, "adapter volume"));
    }
    assert_int_equal(ch_expected_sound(&made->emulator, &made->doubts, &made->setup, 0.0, 1, 0, quantile_pa, NULL),
                     CH_E_LIMIT);
    assert_int_equal(ch_expected_sound(&made->emulator, &made->doubts, &made->setup, 0.0, 1, CH_EXPECTED_DRAWS_MAX + 1u,
                                       quantile_pa, NULL),
                     CH_E_LIMIT);
    assert_memory_equal(quantile_pa, before, sizeof before);
}

static void says_so_when_memory_runs_out(void **state)
{
    (void)state;
    int failures = 0;
    for (long n = 1; n < 20; n++) {
        double quantile_pa[3] = {1.0, 2.0, 3.0};
        ch_err err = {0};
        fail_alloc_at(n);
        const ch_status rc =
            ch_expected_sound(&made->emulator, &made->doubts, &made->setup, 0.0, 1, 64, quantile_pa, &err);
        const bool met = fail_alloc_stop();
        if (!met) {
            assert_int_equal(rc, CH_OK);
            assert_true(failures > 0);
            return;
        }
        assert_int_equal(rc, CH_E_MEMORY);
        assert_true(quantile_pa[0] == 1.0);
        failures++;
    }
    fail();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_reading_is_that_of_the_whole_table),
        cmocka_unit_test(quantiles_agree_with_plain_random_draws),
        cmocka_unit_test(same_seed_gives_the_same_bytes),
        cmocka_unit_test(less_doubt_narrows_the_band_and_hardly_moves_its_middle),
        cmocka_unit_test(a_normal_gain_alone_gives_a_normal_band),
        cmocka_unit_test(refuses_what_cannot_be_and_leaves_the_output),
        cmocka_unit_test(says_so_when_memory_runs_out),
    };
    return cmocka_run_group_tests(tests, make_bare, drop_bare);
}
