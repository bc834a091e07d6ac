/*
 * Promises of judge/bounds.c, day.c and judge.c on what is taken from the model: the same runs of the cranking model set up by hand, on sheets that say much or little. How well the
 * model itself holds is the matter of test_cranking*.c; what is held to here is which runs are made, and what is made of them (docs/method-judging.md).
 */
#include "crosshatch/emulator.h"
#include "judge_by_hand.h"

/* Sheets: an ordinary one; nothing said and the throttle shut, high up; few strokes into a long hose; many strokes; a hose that hardly fills; next to none of it. */
static const char *const SHEETS[] = {
    "engine: {cylinders: 4, compression_ratio: 9.5}, conditions: {altitude: 450 m, strokes: 8, cranking_speed: 220 "
    "rpm, throttle: open, engine_temperature: 75 C}",
    "engine: {cylinders: 2}, conditions: {altitude: 2000 m, throttle: shut}",
    "engine: {cylinders: 1, compression_ratio: 10.5, valve_timing: {at_lift: 1 mm, intake_closes_abdc: 40}}, gauge: "
    "{hose_volume: 40 ml}, conditions: {strokes: 3, barometer: 95 kPa, air_temperature: 30 C}",
    "engine: {cylinders: 4, compression_ratio: 8}, gauge: {hose_volume: 60 ml}, conditions: {strokes: 20, "
    "cranking_speed: 150 rpm}",
    "engine: {cylinders: 4, compression_ratio: 9}, gauge: {hose_volume: 200 ml, valve_area: 0.2 mm2}, conditions: "
    "{strokes: 2}",
    "engine: {cylinders: 4, compression_ratio: 9}, gauge: {hose_volume: 900 ml, valve_area: 0.135 mm2}, conditions: "
    "{strokes: 6}",
    "engine: {cylinders: 4, compression_ratio: 9}, gauge: {hose_volume: 0.1 ml}, conditions: {strokes: 1}",
};
enum { SHEETS_COUNT = sizeof SHEETS / sizeof *SHEETS };

static int setup_of_text(const char *says, ch_setup *setup)
{
    char text[800];
    ch_sheet sheet;
    snprintf(text, sizeof text, "{sheet: 1, %s, compression: [{cylinder: 1, reading: 12 bar}]}", says);
    sheet_of(text, &sheet);
    setup_of(&sheet, setup);
    const int cylinders = sheet.engine.cylinders;
    ch_sheet_clear(&sheet);
    return cylinders;
}

static void run(ch_cranking engine, int strokes, double gauge_pa[CH_STROKES_MAX])
{
    engine.strokes = strokes;
    assert_int_equal(ch_cranking_run(&engine, 1e-4, gauge_pa, NULL, NULL, NULL, NULL), CH_OK);
}

static ch_cranking instance(const ch_setup *setup, int cylinders, const double offset[CH_DOUBT_COUNT])
{
    ch_cranking engine;
    assert_int_equal(ch_engine_instance(setup, cylinders, offset, NULL, &engine, NULL), CH_OK);
    return engine;
}

/* Where three numbers that close in on their end by the same proportion each time end: Aitken's formula in its other form. */
static double end_of(const double x[], int n)
{
    const double a = x[n - 3], b = x[n - 2], c = x[n - 1];
    return c > b && c - b < b - a ? (a * c - b * b) / (a + c - 2.0 * b) : c;
}

/* Strokes to 97 % of full: counted, and beyond what was run each closing the gap by the proportion of the last. */
static int strokes_to_fill(const double gauge_pa[], int n, double full_pa)
{
    for (int i = 0; i < n; i++)
        if (gauge_pa[i] >= 0.97 * full_pa)
            return i + 1;
    const double part = (full_pa - gauge_pa[n - 1]) / (full_pa - gauge_pa[n - 2]);
    double gap_pa = full_pa - gauge_pa[n - 1];
    for (int more = 0; more < 1000; more++) {
        if (gap_pa <= 0.03 * full_pa)
            return n + more;
        gap_pa *= part;
    }
    return 0;
}

static void expect_bounds(const ch_setup *setup, int cylinders, judge_bounds *got)
{
    const double none[CH_DOUBT_COUNT] = {0};
    double offset[CH_DOUBT_COUNT] = {0}, gauge_pa[CH_STROKES_MAX];
    ch_doubts doubts;
    *got = (judge_bounds){.strokes = -1};
    assert_int_equal(judge_bounds_compute(setup, cylinders, got, NULL), CH_OK);
    /* the most: 14:1 where no ratio is given, else two standard uncertainties up; the intake closes as much earlier, the air is as much heavier; no heat, crevice, adapter or
     * spring, and the throttle open */
    ch_doubts_from_setup(setup, &doubts);
    const bool assumed = setup->assumed[CH_INPUT_COMPRESSION_RATIO];
    offset[CH_DOUBT_RATIO] = assumed ? log(13.0) - log(setup->compression_ratio - 1.0)
                                     : doubts.sd[CH_DOUBT_RATIO] + doubts.sd[CH_DOUBT_RATIO];
    offset[CH_DOUBT_CLOSES] -= doubts.sd[CH_DOUBT_CLOSES] + doubts.sd[CH_DOUBT_CLOSES];
    offset[CH_DOUBT_AMBIENT] += doubts.sd[CH_DOUBT_AMBIENT] + doubts.sd[CH_DOUBT_AMBIENT];
    ch_setup open = *setup;
    open.throttle_shut = false;
    ch_cranking engine = instance(&open, cylinders, offset);
    engine.annand_1 = engine.crevice_m3 = engine.dead_m3 = engine.check_opening_pa = 0.0;
    run(engine, 6, gauge_pa);
    expect_relative(got->ideal_pa, end_of(gauge_pa, 6), 1e-9);
    assert_int_equal(got->ratio_assumed, assumed);
    /* filling: a sound cylinder, every doubt at its centre */
    const int strokes = setup->cranking.strokes, n = strokes > 6 ? strokes : 6;
    engine = instance(setup, cylinders, none);
    engine.leaks.rings_m2 = 0.25e-6 / 0.084 * engine.bore.bore_m;
    run(engine, n, gauge_pa);
    const double full_pa = end_of(gauge_pa, n);
    assert_int_equal(got->strokes, strokes);
    expect_close(got->sound_pa, gauge_pa[strokes - 1], 1e-9 * gauge_pa[strokes - 1]);
    expect_relative(got->fill_1, full_pa > 0.0 ? gauge_pa[strokes - 1] / full_pa : 1.0, 1e-9);
    assert_int_equal(got->strokes_to_fill, full_pa > 0.0 ? strokes_to_fill(gauge_pa, n, full_pa) : 1);
}

static void bounds_are_those_of_the_runs_that_they_name(void **state)
{
    (void)state;
    size_t counted = 0, carried = 0, never = 0;
    for (size_t k = 0; k < SHEETS_COUNT; k++) {
        ch_setup setup;
        judge_bounds got;
        const int cylinders = setup_of_text(SHEETS[k], &setup);
        expect_bounds(&setup, cylinders, &got);
        never += got.strokes_to_fill == 0;
        counted += got.strokes_to_fill > 0 && got.strokes_to_fill <= 6;
        carried += got.strokes_to_fill > 20;
    }
    assert_true(counted > 0 && carried > 0 && never > 0);
}

/* A check valve that nothing opens: the gauge stays at nought, which is full, and reduced to any day it is nought. */
static void a_gauge_that_nothing_reaches_is_full(void **state)
{
    (void)state;
    ch_setup setup;
    judge_bounds got;
    judge_day day;
    const int cylinders =
        setup_of_text("engine: {cylinders: 2, compression_ratio: 4}, conditions: {strokes: 4}", &setup);
    setup.cranking.check_opening_pa = 1e6;
    expect_bounds(&setup, cylinders, &got);
    assert_true(got.sound_pa == 0.0 && got.fill_1 == 1.0 && got.strokes_to_fill == 1 && got.ideal_pa > 0.0);
    assert_int_equal(judge_day_build(&setup, cylinders, &day, NULL), CH_OK);
    for (int i = 0; i < JUDGE_DAY_NODES; i++)
        assert_true(day.reading_pa[i] == 0.0 && day.factor_1[i] == 1.0);
    assert_true(day.u_factor_1 == 0.0);
}

/* ---- the standard day ---- */

static double reading_at(const ch_setup *setup, int cylinders, const double offset[CH_DOUBT_COUNT], double rings,
                         double gauge_pa[CH_STROKES_MAX])
{
    ch_cranking engine = instance(setup, cylinders, offset);
    engine.leaks.rings_m2 = rings * 0.25e-6 / 0.084 * setup->cranking.bore.bore_m;
    run(engine, engine.strokes, gauge_pa);
    return gauge_pa[engine.strokes - 1];
}

static void the_standard_day_is_that_of_the_runs_that_it_names(void **state)
{
    (void)state;
    static const ch_doubt BY_RUN[] = {CH_DOUBT_SPEED, CH_DOUBT_WALL, CH_DOUBT_THROTTLE};
    for (size_t k = 0; k < SHEETS_COUNT; k += k == 2 ? 4 : 1) { /* none of those that take long */
        const double none[CH_DOUBT_COUNT] = {0}, rings[] = {1.0, 15.0};
        double here_pa[CH_STROKES_MAX], gauge_pa[CH_STROKES_MAX], factor[2];
        ch_setup setup;
        judge_day day;
        const int cylinders = setup_of_text(SHEETS[k], &setup);
        setup.assumed[CH_INPUT_STROKES] =
            setup.assumed[CH_INPUT_STROKES] || k % 2 == 0; /* of a single one, none may have been */
        memset(&day, 0x5a, sizeof day);
        assert_int_equal(judge_day_build(&setup, cylinders, &day, NULL), CH_OK);
        /* ISO 2533 at sea level; 70 C, 220 r/min, 8 strokes, throttle open */
        ch_setup standard = setup;
        standard.throttle_shut = false;
        standard.cranking.ambient_pa = 101325.0;
        standard.cranking.air_k = 288.15;
        standard.cranking.wall_k = 343.15;
        standard.cranking.speed_rad_s = 220.0 * 3.141592653589793 / 30.0;
        standard.cranking.strokes = 8;
        for (int i = 1; i >= 0; i--) {
            const double pa = reading_at(&setup, cylinders, none, rings[i], here_pa);
            factor[i] = reading_at(&standard, cylinders, none, rings[i], gauge_pa) / pa;
            expect_relative(day.reading_pa[i], pa, 1e-9);
            expect_relative(day.factor_1[i], factor[i], 1e-9);
        }
        ch_doubts doubts;
        ch_doubts_from_setup(&setup, &doubts);
        const int strokes = setup.cranking.strokes;
        const double pa = here_pa[strokes - 1], before_pa = strokes > 1 ? here_pa[strokes - 2] : 0.0,
                     stroke = doubts.sd[CH_DOUBT_STROKES] * (pa - before_pa) / pa;
        double squares = pow(doubts.sd[CH_DOUBT_AMBIENT], 2.0) + stroke * stroke;
        for (int i = 0; i < 3; i++) {
            double offset[CH_DOUBT_COUNT] = {0};
            offset[BY_RUN[i]] = doubts.sd[BY_RUN[i]];
            squares += pow((reading_at(&setup, cylinders, offset, 1.0, gauge_pa) - pa) / pa, 2.0);
        }
        squares += pow(0.15 * (factor[0] - 1.0) / factor[0], 2.0); /* the model's own: 15 % of the correction */
        expect_relative(day.u_factor_1, sqrt(squares), 1e-6);
    }
}

static void a_factor_lies_on_the_line_between_its_nodes(void **state)
{
    (void)state;
    const judge_day day = {.reading_pa = {1000e3, 500e3}, .factor_1 = {1.10, 1.30}};
    static const double WANTED[][2] = {{2000e3, 1.10}, {1000e3, 1.10}, {900e3, 1.14}, {750e3, 1.20},
                                       {505e3, 1.298}, {500e3, 1.30},  {499e3, 1.30}, {0.0, 1.30}};
    for (size_t i = 0; i < sizeof WANTED / sizeof *WANTED; i++)
        expect_close(judge_day_factor(&day, WANTED[i][0]), WANTED[i][1], 1e-12);
    assert_true(judge_day_factor(&day, NAN) == 1.10);
}

static void a_limit_is_what_the_factor_brings_back_to_it(void **state)
{
    (void)state;
    /* nodes on the standard day: 1100 and 650 kPa; half-way at 750 kPa, 1.20 x 750 */
    const judge_day thin = {.reading_pa = {1000e3, 500e3}, .factor_1 = {1.10, 1.30}};
    static const double WANTED[][2] = {{1200e3, 1200e3 / 1.10}, {1100e3, 1000e3},      {900e3, 750e3},
                                       {650e3, 500e3},          {600e3, 600e3 / 1.30}, {0.0, 0.0}};
    for (size_t i = 0; i < sizeof WANTED / sizeof *WANTED; i++)
        expect_close(judge_day_limit(&thin, WANTED[i][0]), WANTED[i][1], 1e-6);
    for (double limit_pa = 20e3; limit_pa < 2000e3; limit_pa += 20e3) {
        const double here_pa = judge_day_limit(&thin, limit_pa);
        expect_relative(here_pa * judge_day_factor(&thin, here_pa), limit_pa, 1e-12);
    }
    assert_true(isnan(judge_day_limit(&thin, NAN)));
    /* a day that reads more than the standard day raises no limit; and the standard day itself */
    const judge_day warm = {.reading_pa = {1000e3, 500e3}, .factor_1 = {0.95, 0.90}};
    const judge_day same = {.reading_pa = {1000e3, 500e3}, .factor_1 = {1.0, 1.0}};
    assert_true(judge_day_limit(&warm, 900e3) == 900e3 && judge_day_limit(&warm, 300e3) == 300e3);
    assert_true(judge_day_limit(&same, 900e3) == 900e3 && judge_day_limit(NULL, 900e3) == 900e3);
}

/* Sound at 2500 m by a model that is told so, and below a minimum that the manual means for sea level. */
#define MOUNTAIN(minimum, rows)                                                                                        \
    "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4, compression_ratio: 8.5, limits: {standard: 150, "       \
    "minimum: " minimum "}}, conditions: {altitude: 2500 m, air_temperature: 15 C, engine_temperature: 70 C, "         \
    "throttle: open, cranking_speed: 220 rpm, strokes: 8}, compression: [" rows "]}"

static void judge_of(const char *text, ch_balance_rule rule, ch_judgement *made)
{
    ch_sheet sheet;
    sheet_of(text, &sheet);
    const ch_judge_options options = {.seed = 7, .rule = rule};
    assert_int_equal(ch_judge(&sheet, &knowledge, &options, made, NULL), CH_OK);
    ch_sheet_clear(&sheet);
}

static bool has_reason(const ch_judgement *made, const char *words)
{
    for (size_t i = 0; i < made->because_count; i++)
        if (strstr(made->because[i], words) != NULL)
            return true;
    return false;
}

static void a_manual_s_minimum_is_held_to_the_air_of_the_day(void **state)
{
    (void)state;
    static ch_judgement made;
    judge_of(MOUNTAIN("112", "{cylinder: 1, reading: 105}, {cylinder: 2, reading: 106}, {cylinder: 3, reading: 104}, "
                             "{cylinder: 4, reading: 107}"),
             CH_RULE_MANUAL, &made);
    /* Pressures go with the air's: 0.737 of sea level's at 2500 m (ISO 2533, table 1: 746.9 hPa), so 112 psi is 82.6 psi; the model's air of 15 C is
     * warmer than the standard atmosphere's there, and loses a little more to the walls. */
    expect_close(made.minimum_pa / PSI, (112.0 + 14.696) * 746.9 / 1013.25 - 746.9 / 68.94757, 2.0);
    expect_close(made.standard_pa / PSI, (150.0 + 14.696) * 746.9 / 1013.25 - 746.9 / 68.94757, 3.0);
    assert_int_equal(made.verdict, CH_VERDICT_SOUND);
    assert_true(made.rule[CH_RULE_MANUAL].passes && made.rule[CH_RULE_70_PERCENT_100_PSI].passes);
    for (int c = 0; c < 4; c++)
        assert_true(!made.cylinder[c].below_minimum && made.cylinder[c].chance_below_minimum_1 < 0.01);
    assert_true(has_reason(&made, "The manual's minimum, 112 psi, is taken to be meant at sea level"));
    assert_true(has_reason(&made, "all readings lie above that"));

    judge_of(MOUNTAIN("112", "{cylinder: 1, reading: 105}, {cylinder: 2, reading: 106}, {cylinder: 3, reading: 70}, "
                             "{cylinder: 4, reading: 116}"),
             CH_RULE_70_PERCENT_100_PSI, &made);
    assert_int_equal(made.verdict, CH_VERDICT_FAULT);
    assert_true(made.cylinder[2].below_minimum && made.cylinder[2].chance_below_minimum_1 > 0.9);
    assert_false(made.cylinder[0].below_minimum);
    assert_true(
        has_reason(&made, "Cylinder 3 shows 70 psi, the manual's minimum is 112 psi, which would read here as"));
    assert_true(has_reason(&made, "the readings below it as printed lie above that"));
    assert_false(made.rule[CH_RULE_70_PERCENT_100_PSI].passes);
}

/* ---- what judging puts together ---- */

#define WHOLE                                                                                                          \
    "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4, compression_ratio: 9.5, limits: {minimum: 150, "        \
    "spread: 20}}, conditions: {altitude: 900 m, throttle: open}, "                                                    \
    "compression: [{cylinder: 1, reading: 170}, {cylinder: 3, reading: 151}, {cylinder: 3, reading: 149, "             \
    "first_stroke: 80}, {cylinder: 4, reading: 165}]}"

static void all_parts_are_in_their_places(void **state)
{
    (void)state;
    static ch_trace traced;
    static ch_judgement made, parts;
    ch_sheet sheet;
    ch_setup setup;
    judge_readings readings;
    judge_repeatability scatter;
    judge_day day;
    sheet_of(WHOLE, &sheet);
    setup_of(&sheet, &setup);
    all_well_of(4, 5.0);
    traced = judgement.trace;
    traced.cylinders = 4;
    for (int c = 0; c < 4; c++)
        for (int i = 0; i < 3; i++) {
            traced.cylinder[c].expected_pa[i] = (140.0 + 10.0 * c + 20.0 * i) * PSI;
            traced.cylinder[c].area_m2[i] = 1e-7 * (1 + c + 10 * i);
        }
    traced.cylinder[4].expected_pa[1] = 1e6; /* of a cylinder that there is not */
    traced.cylinder[2].ladder_m2[0] = 0.1;   /* which comes behind the areas */
    static const ch_judged_cylinder nobody;
    for (int rule = 0; rule < CH_RULE_COUNT; rule += CH_RULE_MANUAL) { /* 75 % and the manual's own */
        memset(&made, 0x5a, sizeof made);
        memset(&parts, 0, sizeof parts);
        traced.reliable = rule == CH_RULE_75_PERCENT;
        const ch_judge_options options = {.seed = 7 + (uint64_t)rule, .rule = (ch_balance_rule)rule, .traced = &traced};
        assert_int_equal(ch_judge(&sheet, &knowledge, &options, &made, NULL), CH_OK);
        assert_int_equal(judge_readings_collect(&sheet, &readings, NULL), CH_OK);
        assert_int_equal(judge_day_build(&setup, 4, &day, NULL), CH_OK);
        assert_int_equal(judge_repeats(&sheet, &setup, &day, &readings, &parts, &scatter, NULL), CH_OK);
        judge_means means = {.n = 3,
                             .cylinder = {1, 3, 4},
                             .mean_pa = {170.0 * PSI, 150.0 * PSI, 165.0 * PSI},
                             .repeats = {1, 2, 1},
                             .scatter = scatter,
                             .minimum_pa = judge_day_limit(&day, sheet.engine.limits.minimum.si),
                             .spread_pa = 20.0 * PSI,
                             .day = &day};
        judge_balance balance;
        for (int i = 0; i < 3; i++)
            means.mean_pa[i] = parts.cylinder[means.cylinder[i] - 1].mean_pa;
        assert_int_equal(judge_balance_compute(&means, (ch_balance_rule)rule, 7 + (uint64_t)rule, &balance, NULL),
                         CH_OK);
        assert_int_equal(made.cylinders, 4);
        assert_memory_equal(&made.cylinder[4], &nobody, sizeof nobody);
        assert_memory_equal(&made.trace, &traced, sizeof traced);
        assert_memory_equal(made.assumed, setup.assumed, sizeof setup.assumed);
        assert_int_equal(made.chosen_rule, rule);
        assert_true(made.minimum_pa == means.minimum_pa && made.minimum_pa < 140.0 * PSI && isnan(made.standard_pa));
        assert_true(made.lowest == 3 && made.highest == 1 && made.lowest == balance.lowest &&
                    made.highest == balance.highest);
        assert_true(made.ratio_1 == balance.ratio_1 && made.ratio_interval_1[0] == balance.ratio_interval_1[0] &&
                    made.ratio_interval_1[1] == balance.ratio_interval_1[1]);
        assert_true(made.chance_below_75_1 == balance.chance_below_75_1 &&
                    made.repeat_cylinder == balance.repeat_cylinder);
        assert_true(made.pooled_sd_pa == parts.pooled_sd_pa && made.pooled_df == parts.pooled_df &&
                    made.pooled_assumed == parts.pooled_assumed);
        for (int r = 0; r < CH_RULE_COUNT; r++)
            assert_memory_equal(&made.rule[r].chance_broken_1, &balance.rule[r].chance_broken_1, sizeof(double));
        for (int c = 0, at = 0; c < 4; c++) {
            const ch_judged_cylinder *one = &made.cylinder[c], *part = &parts.cylinder[c];
            assert_memory_equal(one, part, offsetof(ch_judged_cylinder, expected_pa)); /* number to first over final */
            assert_true(one->expected_pa[0] == traced.cylinder[c].expected_pa[0] &&
                        one->expected_median_pa == traced.cylinder[c].expected_pa[1] &&
                        one->expected_pa[1] == traced.cylinder[c].expected_pa[2]);
            for (int i = 0; i < 3; i++)
                assert_true(traced.reliable ? one->leak_area_m2[i] == traced.cylinder[c].area_m2[i]
                                            : isnan(one->leak_area_m2[i]));
            assert_int_equal(one->below_minimum, part->below_minimum);
            assert_memory_equal(&one->chance_below_minimum_1, &part->chance_below_minimum_1, sizeof(double));
            if (c == 1) {
                assert_true(isnan(one->standard_day_pa) && isnan(one->u_standard_day_pa) && one->repeat_gain_1 == 0.0);
                continue;
            }
            /* reduced by the factor at this reading; its doubt: the reading's own, and the factor's */
            const double factor = judge_day_factor(&day, one->mean_pa), reduced_pa = one->mean_pa * factor;
            expect_relative(one->standard_day_pa, reduced_pa, 1e-12);
            expect_relative(one->u_standard_day_pa,
                            sqrt(pow(factor * one->u_pa, 2.0) + pow(day.u_factor_1 * reduced_pa, 2.0)), 1e-12);
            assert_true(one->repeat_gain_1 == balance.repeat_gain_1[at++]);
        }
        judge_readings_clear(&readings);
    }
    ch_sheet_clear(&sheet);
}

/* As many cylinders as a sheet may have: the last is judged like the others, and what comes behind it is left as it is. */
static void the_last_of_thirty_two_cylinders_is_judged(void **state)
{
    (void)state;
    static ch_trace traced;
    static ch_judgement made;
    static char text[3000];
    ch_sheet sheet;
    int used =
        snprintf(text, sizeof text, "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 32}, compression: [");
    for (int c = 1; c <= CH_CYLINDERS_MAX; c++)
        used += snprintf(text + used, sizeof text - (size_t)used, "%s{cylinder: %d, reading: %d}", c > 1 ? ", " : "", c,
                         170 - c % 2);
    snprintf(text + used, sizeof text - (size_t)used, "]}");
    sheet_of(text, &sheet);
    all_well_of(CH_CYLINDERS_MAX, 0.0);
    traced = judgement.trace;
    for (int c = 0; c < CH_CYLINDERS_MAX; c++) /* all are low */
        for (int i = 0; i < 3; i++)
            traced.cylinder[c].expected_pa[i] = (180.0 + 10.0 * i) * PSI;
    const ch_judge_options options = {.seed = 1, .rule = CH_RULE_75_PERCENT, .traced = &traced};
    assert_int_equal(ch_judge(&sheet, &knowledge, &options, &made, NULL), CH_OK);
    const ch_judged_cylinder *last = &made.cylinder[CH_CYLINDERS_MAX - 1];
    assert_int_equal(last->cylinder, CH_CYLINDERS_MAX);
    expect_relative(last->mean_pa, 170.0 * PSI, 1e-12);
    expect_relative(last->expected_median_pa, 190.0 * PSI, 1e-12);
    assert_true(last->standard_day_pa == made.cylinder[1].standard_day_pa && last->u_pa == made.cylinder[1].u_pa);
    expect_relative(made.pooled_sd_pa, 0.015 * 170.0 * PSI, 1e-12);
    assert_true(made.pooled_df == 3.0 && made.pooled_assumed && made.lowest == 1 && made.highest == 2);
    judgement = made;
    assert_true(reasons_say("Cylinders 1 to 32 read below"));
    ch_sheet_clear(&sheet);
}

/* The unit of the sentences: as asked for; else of the first reading that was typed in one, dry before wet; else kPa. */
static void sentences_are_in_the_first_unit_that_was_typed(void **state)
{
    (void)state;
    ch_sheet sheet;
    const ch_judge_options open = {.seed = 1}, psi = {.pressure_unit = ch_unit_find("psi", 3)};
    sheet_of("{sheet: 1, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: 12 bar}, {cylinder: 2, reading: "
             "1.2 MPa}], wet: [{cylinder: 1, reading: 12 kgf/cm2}, {cylinder: 2, reading: 1200 kPa}]}",
             &sheet);
    assert_string_equal(judge_unit_of_sentences(&sheet, &open)->name, "bar");
    assert_string_equal(judge_unit_of_sentences(&sheet, &psi)->name, "psi");
    sheet.compression[0].reading.unit = NULL; /* as of a row whose reading is still to come */
    assert_string_equal(judge_unit_of_sentences(&sheet, &open)->name, "MPa");
    sheet.compression[1].reading.unit = NULL;
    assert_string_equal(judge_unit_of_sentences(&sheet, &open)->name, "kgf/cm2");
    sheet.wet[0].reading.unit = NULL;
    sheet.wet[1].reading.unit = ch_unit_find("psi", 3);
    assert_string_equal(judge_unit_of_sentences(&sheet, &open)->name, "psi");
    sheet.wet[1].reading.unit = NULL;
    assert_string_equal(judge_unit_of_sentences(&sheet, &open)->name, "kPa");
    ch_sheet_clear(&sheet);
}

/* One reading of any kind is enough, and one of each is no less; rows without one are none. */
static void one_reading_of_any_kind_is_enough(void **state)
{
    (void)state;
    static const char *const KINDS[] = {
        "compression: [{cylinder: 1, reading: 12 bar}]",
        "wet: [{cylinder: 1, reading: 12 bar}]",
        "leakdown: [{cylinder: 1, loss: 8 %}]",
        "compression: [{cylinder: 1, reading: 12 bar}], wet: [{cylinder: 1, reading: 12 bar}]",
        "compression: [{cylinder: 1, reading: 12 bar}], leakdown: [{cylinder: 1, loss: 8 %}]",
        "wet: [{cylinder: 1, reading: 12 bar}], leakdown: [{cylinder: 1, loss: 8 %}]"};
    for (size_t k = 0; k < sizeof KINDS / sizeof *KINDS; k++) {
        char text[200];
        ch_sheet sheet;
        ch_err err = {0};
        const ch_judge_options options = {.seed = 1}, below = {.rule = (ch_balance_rule)-1};
        snprintf(text, sizeof text, "{sheet: 1, engine: {cylinders: 1}, %s}", KINDS[k]);
        sheet_of(text, &sheet);
        assert_int_equal(judge_check(&sheet, &options, &err), CH_OK);
        assert_int_equal(judge_check(&sheet, &below, &err), CH_E_RANGE);
        assert_string_equal(err.what, "balance rule number -1");
        if (k == 0)
            sheet.compression[0].reading = ch_quantity_none();
        if (k == 1)
            sheet.wet[0].reading = ch_quantity_none();
        if (k == 2)
            sheet.leakdown_count = 0;
        if (k < 3)
            assert_int_equal(judge_check(&sheet, &options, &err), CH_E_INPUT);
        if (k == 2)
            sheet.leakdown_count = 1;
        ch_sheet_clear(&sheet);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bounds_are_those_of_the_runs_that_they_name),
        cmocka_unit_test(a_gauge_that_nothing_reaches_is_full),
        cmocka_unit_test(the_standard_day_is_that_of_the_runs_that_it_names),
        cmocka_unit_test(a_factor_lies_on_the_line_between_its_nodes),
        cmocka_unit_test(a_limit_is_what_the_factor_brings_back_to_it),
        cmocka_unit_test(a_manual_s_minimum_is_held_to_the_air_of_the_day),
        cmocka_unit_test(all_parts_are_in_their_places),
        cmocka_unit_test(the_last_of_thirty_two_cylinders_is_judged),
        cmocka_unit_test(sentences_are_in_the_first_unit_that_was_typed),
        cmocka_unit_test(one_reading_of_any_kind_is_enough),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
