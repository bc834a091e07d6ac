/*
 * Promises of trace/trace.c about leak areas: an engine with known holes, its readings from the cranking model, is traced, and
 * the holes come back where and as large as they were put in.
 */
#include <string.h>

#include "builtin_knowledge.h"
#include "crosshatch/emulator.h"
#include "crosshatch/prior.h"
#include "crosshatch/trace.h"
#include "expect.h"

/* Everything stated, so that little but the readings' own scatter is in doubt. */
static const char ENGINE[] =
    "sheet: 1\nengine: {cylinders: 4, bore: 86 mm, stroke: 86 mm, rod_length: 143 mm, compression_ratio: 10.0, "
    "valve_timing: {intake_opens_btdc: 12 deg, "
    "intake_closes_abdc: 52 deg, exhaust_opens_bbdc: 50 deg, exhaust_closes_atdc: 10 deg, at_lift: 0.1 mm}}\n"
    "gauge: {span: 2000 kPa, accuracy: 1 % of span, resolution: 5 kPa, hose_volume: 12 ml}\n"
    "conditions: {barometer: 1013 hPa, air_temperature: 20 degC, engine_temperature: 80 degC, throttle: open, "
    "cranking_speed: 220 rpm, strokes: 8}\n";

enum { FOUR = 4 };

static ch_setup setup_of(const char *text, ch_sheet *sheet)
{
    ch_err err = {0};
    ch_setup setup;
    if (ch_sheet_parse("sheet", text, strlen(text), sheet, &err) < 0)
        fail_msg("%s: %s", err.what, text);
    assert_int_equal(ch_setup_from_sheet(sheet, CH_PRIOR_UNSTATED_LIFT_M, &setup, NULL), CH_OK);
    return setup;
}

/* Compression readings of four cylinders with these total areas, two each, exact. */
static void trace_areas_of(const double area_m2[FOUR], const char *more, ch_trace *trace)
{
    char text[3000];
    ch_sheet sheet;
    int at = snprintf(text, sizeof text, "%scompression: [{cylinder: 1, reading: 1000 kPa}]\n", ENGINE);
    const ch_setup setup = setup_of(text, &sheet);
    ch_sheet_clear(&sheet);
    const double offset[CH_DOUBT_COUNT] = {0};
    ch_doubts doubts;
    static ch_emulator emulator;
    ch_doubts_from_setup(&setup, &doubts);
    assert_int_equal(ch_emulator_build(&setup, FOUR, &doubts, NULL, NULL, &emulator, NULL), CH_OK);
    at = snprintf(text, sizeof text, "%scompression:\n", ENGINE);
    for (int round = 0; round < 2; round++)
        for (int i = 0; i < FOUR; i++)
            at += snprintf(text + at, sizeof text - (size_t)at, "  - {cylinder: %d, reading: %.1f kPa}\n", i + 1,
                           ch_emulator_reading_pa(&emulator, offset, area_m2[i]) / 1e3);
    snprintf(text + at, sizeof text - (size_t)at, "%s", more);
    const ch_setup full = setup_of(text, &sheet);
    const ch_trace_options options = {.seed = 4, .samples = 300};
    assert_int_equal(ch_trace_run(&sheet, &full, &knowledge, &options, trace, NULL), CH_OK);
    ch_sheet_clear(&sheet);
    assert_true(trace->reliable);
}

/* What leaks beside the rings of a sound cylinder, mean: the knowledge file's log-normals. */
static double beside_m2(void)
{
    double sum = 0.0;
    for (int p = 0; p < CH_PATH_COUNT; p++)
        if (p != CH_PATH_RINGS)
            sum += knowledge.background_m2[p].median * exp(0.5 * pow(knowledge.background_m2[p].spread_1, 2.0));
    return sum;
}

/* Paths add up to the mean of the area: of its ladder of nineteen even quantiles, the tails left off, so to a tenth. */
static void assert_paths_add_up(const ch_trace_cylinder *c)
{
    double mean_m2 = 0.0, paths_m2 = beside_m2();
    for (int q = 0; q < CH_TRACE_LADDER; q++)
        mean_m2 += c->ladder_m2[q] / CH_TRACE_LADDER;
    for (int p = 0; p < CH_PATH_COUNT; p++)
        paths_m2 += c->path_m2[p];
    expect_relative(paths_m2, mean_m2, 0.1);
}

static void a_hole_comes_back_as_large_as_it_was_and_where_it_was_heard(void **state)
{
    (void)state;
    const double sound = 0.4e-6, hole = 2.0e-6, area_m2[FOUR] = {sound, sound, sound + hole, sound};
    const ch_path path[] = {CH_PATH_EXHAUST_VALVE, CH_PATH_INTAKE_VALVE, CH_PATH_RINGS};
    static const char *const heard[] = {"exhaust", "intake", "oil_filler"};
    for (int k = 0; k < 3; k++) {
        char more[200];
        snprintf(more, sizeof more, "leakdown: [{cylinder: 3, supply: 100 psi, loss: 75 %%, heard: [%s]}]\n", heard[k]);
        ch_trace trace;
        trace_areas_of(area_m2, more, &trace);
        const ch_trace_cylinder *low = &trace.cylinder[2];
        /* gauge 1 %, engine data stated: a fifth of the hole */
        expect_relative(low->area_m2[1], sound + hole, 0.2);
        assert_true(low->area_m2[0] < sound + hole && sound + hole < low->area_m2[2]);
        expect_relative(low->path_m2[path[k]], path[k] == CH_PATH_RINGS ? sound + hole : hole, 0.3);
        for (int p = 0; p < CH_PATH_COUNT; p++)
            assert_true(p == (int)path[k] || low->path_m2[p] < 0.3 * hole);
        for (int i = 0; i < FOUR; i++) {
            assert_paths_add_up(&trace.cylinder[i]);
            assert_true(i == 2 || trace.cylinder[i].area_m2[1] < 2.0 * sound);
        }
    }
}

/* One hole between two cylinders is as large seen from either. */
static void a_hole_between_neighbours_is_the_same_from_both(void **state)
{
    (void)state;
    const double sound = 0.4e-6, hole = 6.0e-6, area_m2[FOUR] = {sound, sound + hole, sound + hole, sound};
    ch_trace trace;
    trace_areas_of(area_m2, "leakdown: [{cylinder: 2, supply: 100 psi, loss: 90 %, heard: [cylinder_3]}]\n", &trace);
    const ch_trace_cylinder *one = &trace.cylinder[1], *other = &trace.cylinder[2];
    assert_true(one->cause_1[CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS] > 0.9);
    expect_relative(other->cause_1[CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS],
                    one->cause_1[CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS], 0.05);
    expect_relative(one->path_m2[CH_PATH_NEIGHBOUR], hole, 0.3);
    expect_relative(other->path_m2[CH_PATH_NEIGHBOUR], one->path_m2[CH_PATH_NEIGHBOUR], 0.05);
    expect_relative(one->area_m2[1], sound + hole, 0.25);
    for (int i = 0; i < FOUR; i++)
        assert_paths_add_up(&trace.cylinder[i]);
    assert_true(trace.cylinder[0].path_m2[CH_PATH_NEIGHBOUR] < 0.02 * hole &&
                trace.cylinder[3].path_m2[CH_PATH_NEIGHBOUR] < 0.02 * hole);
}

/* Of an engine whose ratio is not stated and lies off the usual one, sound readings say so: up to as far as it is off, as other doubts take their part. */
static void what_all_readings_say_of_the_engine_is_told(void **state)
{
    (void)state;
    static const char engine[] =
        "sheet: 1\nengine: {cylinders: 4, bore: 86 mm, stroke: 86 mm}\n"
        "conditions: {throttle: open, cranking_speed: 220 rpm, strokes: 8, barometer: 1013 hPa}\n";
    char text[1000];
    ch_sheet sheet;
    snprintf(text, sizeof text, "%scompression: [{cylinder: 1, reading: 1000 kPa}]\n", engine);
    const ch_setup setup = setup_of(text, &sheet);
    ch_sheet_clear(&sheet);
    ch_doubts doubts;
    static ch_emulator emulator;
    ch_doubts_from_setup(&setup, &doubts);
    assert_int_equal(ch_emulator_build(&setup, FOUR, &doubts, NULL, NULL, &emulator, NULL), CH_OK);
    double offset[CH_DOUBT_COUNT] = {0};
    offset[CH_DOUBT_RATIO] = doubts.sd[CH_DOUBT_RATIO];
    int at = snprintf(text, sizeof text, "%scompression:\n", engine);
    for (int i = 0; i < FOUR; i++)
        at += snprintf(text + at, sizeof text - (size_t)at, "  - {cylinder: %d, reading: %.1f kPa}\n", i + 1,
                       ch_emulator_reading_pa(&emulator, offset, 0.35e-6) / 1e3);
    const ch_setup full = setup_of(text, &sheet);
    const ch_trace_options options = {.seed = 4, .samples = 300};
    ch_trace trace;
    assert_int_equal(ch_trace_run(&sheet, &full, &knowledge, &options, &trace, NULL), CH_OK);
    ch_sheet_clear(&sheet);
    const double shift = trace.shared_shift[CH_DOUBT_RATIO];
    assert_true(shift > 0.1 && shift < 1.0);
    for (int d = 0; d < CH_DOUBT_COUNT; d++)
        assert_true(fabs(trace.shared_shift[d]) < 1.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_hole_comes_back_as_large_as_it_was_and_where_it_was_heard),
        cmocka_unit_test(what_all_readings_say_of_the_engine_is_told),
        cmocka_unit_test(a_hole_between_neighbours_is_the_same_from_both),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
