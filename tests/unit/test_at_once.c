/* Promises of judge/at_once.c: what is said of an entry at the car, before anything is traced. */
#include "fail_alloc.h"
#include "judge_sheets.h"

static ch_judgement judgement;

static ch_status at_once(const char *text, const ch_judge_options *options, ch_err *err)
{
    ch_sheet sheet;
    sheet_of(text, &sheet);
    const ch_status rc = ch_judge_at_once(&sheet, options, &judgement, err);
    ch_sheet_clear(&sheet);
    return rc;
}

/* The first thing asked about a cylinder; "" where there is nothing. */
static const char *asked_about(int cylinder, ch_question_kind kind)
{
    for (size_t i = 0; i < judgement.question_count; i++)
        if (judgement.question[i].cylinder == cylinder && judgement.question[i].kind == kind)
            return judgement.question[i].text;
    return "";
}

static void says(const char *text, const char *words)
{
    if (strstr(text, words) == NULL) {
        print_error("\"%s\" is not in \"%s\"\n", words, text);
        fail();
    }
}

#define ENGINE "engine: {cylinders: 4, compression_ratio: 9.5}"
#define ROWS(a, b, c, d)                                                                                               \
    "compression: [{cylinder: 1, reading: " a "}, {cylinder: 2, reading: " b "}, {cylinder: 3, reading: " c            \
    "}, {cylinder: 4, reading: " d "}]"
#define SHEET(a, b, c, d) "{sheet: 1, " ENGINE ", " ROWS(a, b, c, d) "}"

static const ch_judge_options usual = {.seed = 1, .rule = CH_RULE_75_PERCENT};

static void ordinary_entries_are_not_asked_about(void **state)
{
    (void)state;
    assert_int_equal(at_once(SHEET("170 psi", "166 psi", "171 psi", "168 psi"), &usual, NULL), CH_OK);
    for (int c = 1; c <= 4; c++) {
        assert_string_equal(asked_about(c, CH_QUESTION_UNIT), "");
        assert_string_equal(asked_about(c, CH_QUESTION_IMPOSSIBLE), "");
    }
    assert_int_equal(judgement.cylinders, 4);
    assert_int_equal(judgement.lowest, 2);
    assert_int_equal(judgement.highest, 3);
    expect_relative(judgement.ratio_1, 166.0 / 171.0, 1e-12);
    assert_int_equal(judgement.verdict, CH_VERDICT_UNCLEAR);
    assert_int_equal(judgement.because_count, 0);
    assert_true(judgement.assumed[CH_INPUT_AMBIENT_PRESSURE]);
    assert_false(judgement.assumed[CH_INPUT_COMPRESSION_RATIO]);
    /* a sound cylinder of this ratio, every doubt at its centre: between 150 and 230 psi on any day of a garage (common practice) */
    for (int c = 0; c < 4; c++)
        assert_true(judgement.cylinder[c].expected_median_pa > 150 * PSI &&
                    judgement.cylinder[c].expected_median_pa < 230 * PSI);
}

static void more_than_the_engine_could_show_is_asked_about_by_what_it_may_be(void **state)
{
    (void)state;
    /* 2400 psi: a digit too many. 171 bar: psi was meant. 600 psi: neither. */
    assert_int_equal(at_once(SHEET("2400 psi", "166 psi", "171 bar", "600 psi"), &usual, NULL), CH_OK);
    says(asked_about(1, CH_QUESTION_IMPOSSIBLE),
         "Cylinder 1: is 2400 psi one digit too many? This engine could not show more than ");
    says(asked_about(3, CH_QUESTION_UNIT), "Cylinder 3: is 171 bar in psi? This engine could not show more than ");
    says(asked_about(4, CH_QUESTION_IMPOSSIBLE), "Cylinder 4: 600 psi is more than ");
    says(asked_about(4, CH_QUESTION_IMPOSSIBLE), "oil or carbon in the chamber");
    assert_string_equal(asked_about(2, CH_QUESTION_IMPOSSIBLE), "");
    /* more than one digit less would mend */
    assert_int_equal(at_once(SHEET("9000 psi", "166 psi", "171 psi", "168 psi"), &usual, NULL), CH_OK);
    says(asked_about(1, CH_QUESTION_IMPOSSIBLE), "Cylinder 1: 9000 psi is more than ");
}

static void less_than_a_quarter_of_a_sound_reading_is_asked_about(void **state)
{
    (void)state;
    /* 12 psi: bar was meant. 17 psi: a digit is missing (17 bar would be more than the engine can). 42 psi: low, but no slip of the pen makes it. */
    assert_int_equal(at_once(SHEET("12 psi", "17.4 psi", "42 psi", "168 psi"), &usual, NULL), CH_OK);
    says(asked_about(1, CH_QUESTION_UNIT), "Cylinder 1: is 12 psi in bar");
    says(asked_about(1, CH_QUESTION_UNIT), "Or the cylinder does not seal at all.");
    says(asked_about(2, CH_QUESTION_UNIT), "digit");
    says(asked_about(2, CH_QUESTION_UNIT), "17.4 psi");
    assert_string_equal(asked_about(3, CH_QUESTION_UNIT), "");
    assert_string_equal(asked_about(4, CH_QUESTION_UNIT), "");
}

static void only_what_a_slip_of_the_pen_could_be_is_asked_about(void **state)
{
    (void)state;
    /* 10 psi: 10 bar is 145 psi, and 100 psi is less than a mistyped reading would be. 5 psi: neither 5 bar nor 50 psi. */
    assert_int_equal(at_once(SHEET("10 psi", "5 psi", "171 psi", "168 psi"), &usual, NULL), CH_OK);
    says(asked_about(1, CH_QUESTION_UNIT), "Cylinder 1: is 10 psi in bar? A sound engine of this kind shows about ");
    assert_string_equal(asked_about(2, CH_QUESTION_UNIT), "");
}

static void a_missing_digit_alone_is_asked_about_where_no_unit_fits(void **state)
{
    (void)state;
    /* 118 kPa: 1180 kPa was meant; 118 of no other unit is a usual reading but psi, which is then named with it */
    assert_int_equal(at_once(SHEET("118 kPa", "1150 kPa", "1190 kPa", "1160 kPa"), &usual, NULL), CH_OK);
    says(asked_about(1, CH_QUESTION_UNIT), "118 kPa");
    says(asked_about(1, CH_QUESTION_UNIT), "digit");
    /* 1.18 bar, 11.8 was meant: 1.18 of nothing else is usual */
    assert_int_equal(at_once(SHEET("1.18 bar", "11.5 bar", "11.9 bar", "11.6 bar"), &usual, NULL), CH_OK);
    says(asked_about(1, CH_QUESTION_UNIT), "digit");
}

static void a_needle_that_did_not_move_is_not_asked_about(void **state)
{
    (void)state;
    assert_int_equal(at_once(SHEET("0 psi", "166 psi", "171 psi", "168 psi"), &usual, NULL), CH_OK);
    assert_string_equal(asked_about(1, CH_QUESTION_UNIT), "");
    assert_string_equal(asked_about(1, CH_QUESTION_IMPOSSIBLE), "");
}

static void the_owners_unit_is_that_of_the_sentences(void **state)
{
    (void)state;
    const ch_judge_options in_bar = {.seed = 1, .rule = CH_RULE_75_PERCENT, .pressure_unit = ch_unit_find("bar", 3)};
    /* all low: the sentence on the engine as a whole speaks in the unit asked for, those on an entry in that of the entry */
    assert_int_equal(at_once(SHEET("600 psi", "166 psi", "171 psi", "168 psi"), &in_bar, NULL), CH_OK);
    says(asked_about(1, CH_QUESTION_IMPOSSIBLE), "psi, the most that this engine could show");
}

static void a_wet_reading_or_a_leak_down_is_enough_and_nothing_is_too_little(void **state)
{
    (void)state;
    ch_err err = {0};
    assert_int_equal(at_once("{sheet: 1, " ENGINE ", wet: [{cylinder: 1, reading: 12 bar}]}", &usual, NULL), CH_OK);
    assert_int_equal(judgement.cylinder[0].n, 0);
    assert_int_equal(at_once("{sheet: 1, " ENGINE ", leakdown: [{cylinder: 2, loss: 10 %}]}", &usual, NULL), CH_OK);
    memset(&judgement, 7, sizeof judgement);
    const ch_judgement before = judgement;
    ch_sheet none;
    ch_sheet_init(&none);
    none.engine.cylinders = 4;
    assert_int_equal(ch_judge_at_once(&none, &usual, &judgement, &err), CH_E_INPUT);
    assert_true(err.what[0] != '\0');
    ch_sheet_clear(&none);
    assert_memory_equal(&judgement, &before, sizeof before);
}

/* Within what a file may hold, and beyond what can be computed. */
static void the_manuals_spread_needs_two_cylinders_and_its_minimum_one(void **state)
{
    (void)state;
    static const ch_judge_options manual = {.seed = 1, .rule = CH_RULE_MANUAL};
#define LIMITS "limits: {minimum: 130 psi, spread: 15 psi}"
    assert_int_equal(at_once("{sheet: 1, engine: {cylinders: 1, " LIMITS
                             "}, compression: [{cylinder: 1, reading: 120 psi}]}",
                             &manual, NULL),
                     CH_OK);
    assert_true(judgement.rule[CH_RULE_MANUAL].applies && !judgement.rule[CH_RULE_MANUAL].passes);
    assert_int_equal(at_once("{sheet: 1, engine: {cylinders: 1, limits: {spread: 15 psi}}, compression: [{cylinder: 1, "
                             "reading: 120 psi}]}",
                             &manual, NULL),
                     CH_OK);
    assert_false(judgement.rule[CH_RULE_MANUAL].applies);
    assert_int_equal(at_once("{sheet: 1, engine: {cylinders: 2, " LIMITS
                             "}, compression: [{cylinder: 1, reading: 150 psi}, {cylinder: 2, reading: 170 psi}]}",
                             &manual, NULL),
                     CH_OK);
    assert_true(judgement.rule[CH_RULE_MANUAL].applies && !judgement.rule[CH_RULE_MANUAL].passes);
}

/* Forty repeats of each: the chance comes of another formula than of few, and is as near to 0 or 1 as they leave no doubt. */
/* A rule that compares cylinders wants two that show something, the manual's wants its limits. */
static void where_the_chosen_rule_does_not_apply_it_is_told_why(void **state)
{
    (void)state;
#define TWO "compression: [{cylinder: 1, reading: 170 psi}, {cylinder: 2, reading: 128 psi}]"
#define OF(cylinders, more, rows)                                                                                      \
    "{sheet: 1, engine: {cylinders: " cylinders ", compression_ratio: 9.5" more "}, " rows "}"
    static const struct {
        const char *sheet;
        ch_balance_rule rule;
        const char *why; /* NULL = it applies */
    } cases[] = {
        {OF("2", "", TWO), CH_RULE_75_PERCENT, NULL},
        {OF("2", "", TWO), CH_RULE_MANUAL, "the sheet has no limits of the manual"},
        {OF("2", ", limits: {spread: 30 psi}", TWO), CH_RULE_MANUAL, NULL},
        {OF("1", "", "compression: [{cylinder: 1, reading: 170 psi}]"), CH_RULE_75_PERCENT,
         "the engine has no second cylinder to hold this one against"},
        {OF("1", ", limits: {minimum: 130 psi}", "compression: [{cylinder: 1, reading: 170 psi}]"), CH_RULE_MANUAL,
         NULL},
        {OF("1", ", limits: {spread: 30 psi}", "compression: [{cylinder: 1, reading: 170 psi}]"), CH_RULE_MANUAL,
         "the engine has no second cylinder to hold this one against"},
        {OF("4", "", "compression: [{cylinder: 1, reading: 170 psi}]"), CH_RULE_152_KPA,
         "one cylinder alone was read dry"},
        {OF("4", "", "leakdown: [{cylinder: 1, loss: 12 %}]"), CH_RULE_75_PERCENT, "no cylinder was read dry"},
        {OF("4", "", "leakdown: [{cylinder: 1, loss: 12 %}]"), CH_RULE_MANUAL, "no cylinder was read dry"},
        {OF("2", "", "compression: [{cylinder: 1, reading: 0 psi}, {cylinder: 2, reading: 0 psi}]"), CH_RULE_75_PERCENT,
         "no cylinder shows any pressure"},
    };
#undef OF
#undef TWO
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        ch_sheet sheet;
        const ch_judge_options options = {.seed = 1, .rule = cases[i].rule};
        sheet_of(cases[i].sheet, &sheet);
        assert_int_equal(ch_judge_at_once(&sheet, &options, &judgement, NULL), CH_OK);
        const char *why = ch_judge_rule_silent(&sheet, &judgement);
        if (cases[i].why == NULL)
            assert_null(why);
        else
            assert_string_equal(why, cases[i].why);
        ch_sheet_clear(&sheet);
    }
}

static void many_repeats_leave_no_doubt(void **state)
{
    (void)state;
    static char text[8000];
    for (int broken = 0; broken < 2; broken++) {
        int at =
            snprintf(text, sizeof text, "{sheet: 1, engine: {cylinders: 2}, units: {pressure: psi}, compression: [");
        for (int i = 0; i < 80; i++)
            at += snprintf(text + at, sizeof text - (size_t)at, "%s{cylinder: %d, reading: %d}", i > 0 ? ", " : "",
                           1 + i % 2,
                           (i % 2 == 0 ? 170
                            : broken   ? 110
                                       : 150) +
                               i % 3);
        snprintf(text + at, sizeof text - (size_t)at, "]}");
        assert_int_equal(at_once(text, &usual, NULL), CH_OK);
        assert_int_equal(judgement.pooled_df, 78);
        const double chance_1 = judgement.rule[CH_RULE_75_PERCENT].chance_broken_1;
        assert_true(broken ? chance_1 > 0.999 : chance_1 < 0.001);
    }
}

/* At the car there is no band yet: what the rows say of each other is asked, not how high a wet reading may come. The chamber of 9.5:1 and 86 mm: 58.8 ml. */
static void other_tests_are_asked_about_at_the_car(void **state)
{
    (void)state;
    static const char TEXT[] = "{sheet: 1, " ENGINE ", gauge: {span: 300 psi}, " ROWS(
        "170 psi", "166 psi", "171 psi",
        "310 psi") ", wet: [{cylinder: 1, reading: 60 psi, "
                   "oil: 5 ml}, {cylinder: 2, reading: 290 psi, oil: 5 ml}, {cylinder: 3, reading: 60 psi, "
                   "oil: 50 ml}], leakdown: [{cylinder: 2, loss: 0.62 %, heard: [intake]}]}";
    assert_int_equal(at_once(TEXT, &usual, NULL), CH_OK);
    says(asked_about(1, CH_QUESTION_CONTRADICTION), "60 psi with oil is less than 170 psi without.");
    says(asked_about(2, CH_QUESTION_CONTRADICTION), "a loss of 0.62 % is less than any ear hears, yet air was heard.");
    says(asked_about(3, CH_QUESTION_OIL_DOSE), "50 ml of oil fill over 80 % of the chamber (59 ml as assumed)");
    assert_string_equal(asked_about(3, CH_QUESTION_CONTRADICTION), "");
    says(asked_about(4, CH_QUESTION_BEYOND_SCALE), "310 psi lies beyond the gauge's scale, which ends at 300 psi.");
}

static void an_engine_that_cannot_be_computed_is_refused_with_what_is_wrong(void **state)
{
    (void)state;
    static const char *const wrong[][2] = {
        {"{sheet: 1, engine: {cylinders: 4, stroke: 200 mm, rod_length: 101 mm}, " ROWS("12 bar", "12 bar", "12 bar",
                                                                                        "12 bar") "}",
         "rod length 101.0 mm with a stroke of 200.0 mm"},
        {"{sheet: 1, engine: {cylinders: 4, compression_ratio: 1.0000000001}, " ROWS("12 bar", "12 bar", "12 bar",
                                                                                     "12 bar") "}",
         "clearance volume is "}};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        ch_err err = {0};
        memset(&judgement, 7, sizeof judgement);
        const ch_judgement before = judgement;
        assert_int_equal(at_once(wrong[i][0], &usual, &err), CH_E_RANGE);
        says(err.what, wrong[i][1]);
        assert_memory_equal(&judgement, &before, sizeof before);
    }
}

/* No file gives such; a caller may. */
static void a_row_without_a_reading_is_passed_over_and_an_endless_one_is_refused(void **state)
{
    (void)state;
    ch_sheet sheet;
    ch_err err = {0};
    sheet_of(SHEET("2400 psi", "166 psi", "171 psi", "168 psi"), &sheet);
    sheet.compression[0].reading = ch_quantity_none();
    assert_int_equal(ch_judge_at_once(&sheet, &usual, &judgement, NULL), CH_OK);
    assert_string_equal(asked_about(1, CH_QUESTION_IMPOSSIBLE), "");
    assert_string_equal(asked_about(1, CH_QUESTION_UNIT), "");
    sheet.compression[1].reading.si = INFINITY;
    assert_int_equal(ch_judge_at_once(&sheet, &usual, &judgement, &err), CH_E_RANGE);
    assert_true(err.what[0] != '\0');
    ch_sheet_clear(&sheet);
}

static void no_memory_at_any_allocation_leaves_the_answer_alone(void **state)
{
    (void)state;
    ch_sheet sheet;
    sheet_of(SHEET("170 psi", "16 psi", "1710 psi", "168 psi"), &sheet);
    memset(&judgement, 7, sizeof judgement);
    const ch_judgement before = judgement;
    long n = 1;
    for (;; n++) {
        ch_err err = {0};
        fail_alloc_at(n);
        const ch_status rc = ch_judge_at_once(&sheet, &usual, &judgement, &err);
        if (!fail_alloc_stop()) {
            assert_int_equal(rc, CH_OK);
            break;
        }
        assert_int_equal(fail_alloc_left(), 0);
        assert_int_equal(rc, CH_E_MEMORY);
        assert_int_equal(err.status, CH_E_MEMORY);
        assert_memory_equal(&judgement, &before, sizeof before);
    }
    assert_int_equal(fail_alloc_left(), 0);
    assert_true(n > 2);
    ch_sheet_clear(&sheet);
}

/* ---- every entry question and every field, worked through once more ---- */

/* One entry: more than possible, or under a quarter of a sound reading. A unit that makes it likely (0.6 of sound to the most), a digit that does. */
static bool entry_question(const ch_reading *row, const judge_bounds *bounds, ch_question *want)
{
    const double pa = row->reading.si, usual_pa = 0.6 * bounds->sound_pa, most_pa = bounds->ideal_pa;
    const ch_unit *unit = row->reading.unit, *likely = judge_likely_unit(pa, unit, usual_pa, bounds->sound_pa, most_pa);
    const char *number = row->reading.number;
    const judge_words most = judge_say_pressure(most_pa, unit), sound = judge_say_pressure(bounds->sound_pa, unit);
    const int c = row->cylinder;
    *want = (ch_question){.kind = CH_QUESTION_UNIT, .cylinder = c};
    char *text = want->text;
    const size_t size = sizeof want->text;
    if (pa > most_pa) {
        const bool digit = pa / 10.0 >= usual_pa && pa / 10.0 <= most_pa;
        want->weight_1 = likely != NULL ? 0.9 : 0.98;
        want->kind = likely != NULL ? CH_QUESTION_UNIT : CH_QUESTION_IMPOSSIBLE;
        if (likely != NULL)
            snprintf(text, size, "Cylinder %d: is %s %s in %s? This engine could not show more than %s.", c, number,
                     unit->name, likely->name, most.text);
        else if (digit)
            snprintf(text, size, "Cylinder %d: is %s %s one digit too many? This engine could not show more than %s.",
                     c, number, unit->name, most.text);
        else
            snprintf(text, size,
                     "Cylinder %d: %s %s is more than %s, the most that this engine could show. Look at number, unit "
                     "and gauge; oil or carbon in the chamber can do it too.",
                     c, number, unit->name, most.text);
        return true;
    }
    const bool digit = pa * 10.0 >= usual_pa && pa * 10.0 <= most_pa;
    want->weight_1 = 0.5;
    if (!(pa > 0.0 && pa < 0.25 * bounds->sound_pa) || (likely == NULL && !digit))
        return false;
    if (likely != NULL)
        snprintf(text, size,
                 "Cylinder %d: is %s %s in %s%s? A sound engine of this kind shows about %s. Or the cylinder does not "
                 "seal at all.",
                 c, number, unit->name, likely->name, digit ? ", or is a digit missing" : "", sound.text);
    else
        snprintf(text, size,
                 "Cylinder %d: is a digit missing in %s %s? A sound engine of this kind shows about %s. Or the "
                 "cylinder does not seal at all.",
                 c, number, unit->name, sound.text);
    return true;
}

static void every_entry_is_asked_about_by_what_it_may_be(void **state)
{
    (void)state;
    ch_sheet sheet;
    ch_setup setup;
    judge_bounds bounds;
    size_t met = 0;
    enum { ENTRIES = 31 };
    char text[2000];
    int used = snprintf(text, sizeof text, "{sheet: 1, engine: {cylinders: %d, compression_ratio: 9.5}, compression: [",
                        ENTRIES);
    for (int c = 1; c <= ENTRIES; c++)
        used += snprintf(text + used, sizeof text - (size_t)used, "%s{cylinder: %d, reading: 1%02d psi}",
                         c > 1 ? ", " : "", c, c);
    snprintf(text + used, sizeof text - (size_t)used, "]}");
    sheet_of(text, &sheet);
    setup_of(&sheet, &setup);
    assert_int_equal(judge_bounds_compute(&setup, ENTRIES, &bounds, NULL), CH_OK);
    const double sound_pa = bounds.sound_pa, most_pa = bounds.ideal_pa;
    /* on each limit, and beside it; numbers of other units; digits too many and too few */
    const double entries_pa[ENTRIES] = {most_pa,
                                        nextafter(most_pa, INFINITY),
                                        1.1 * most_pa,
                                        6.0 * sound_pa,
                                        nextafter(6.0 * sound_pa, 0.0),
                                        6.6 * sound_pa,
                                        10.0 * most_pa,
                                        nextafter(10.0 * most_pa, INFINITY),
                                        9.5 * most_pa,
                                        12.0 * most_pa,
                                        0.25 * sound_pa,
                                        nextafter(0.25 * sound_pa, 0.0),
                                        0.24 * sound_pa,
                                        0.06 * sound_pa,
                                        nextafter(0.06 * sound_pa, 0.0),
                                        nextafter(0.06 * sound_pa, 1e9),
                                        0.066 * sound_pa,
                                        0.1 * most_pa,
                                        nextafter(0.1 * most_pa, INFINITY),
                                        0.11 * most_pa,
                                        0.2 * sound_pa,
                                        0.0,
                                        1e-9,
                                        12.0 * PSI,
                                        17.4 * PSI,
                                        1180.0 * PSI,
                                        12e3,
                                        170e3,
                                        170e5,
                                        12e6,
                                        118e3};
    static const char *const UNITS[] = {"psi", "bar", "kPa"};
    for (size_t u = 0; u < 3; u++) {
        size_t at = 0;
        for (int i = 0; i < ENTRIES; i++) {
            sheet.compression[i].reading.unit = ch_unit_find(UNITS[u], 3);
            sheet.compression[i].reading.si = entries_pa[i];
        }
        assert_int_equal(ch_judge_at_once(&sheet, &usual, &judgement, NULL), CH_OK);
        for (int i = 0; i < ENTRIES; i++) {
            ch_question want;
            if (!entry_question(&sheet.compression[i], &bounds, &want))
                continue;
            assert_true(at < judgement.question_count);
            const ch_question *got = &judgement.question[at++];
            assert_string_equal(got->text, want.text);
            assert_int_equal(got->kind, want.kind);
            assert_int_equal(got->cylinder, i + 1);
            assert_int_equal(got->row, i);
            expect_close(got->weight_1, want.weight_1, 1e-12);
            met++;
        }
        for (; at < judgement.question_count; at++) /* what else is asked looks at rows beside each other */
            assert_int_equal(judgement.question[at].kind, CH_QUESTION_FALLING);
    }
    assert_true(met > 40);
    ch_sheet_clear(&sheet);
}

static void every_field_is_that_of_its_part_and_the_rest_is_unknown(void **state)
{
    (void)state;
    static ch_judgement parts;
    ch_sheet sheet;
    ch_setup setup;
    judge_readings readings;
    judge_repeatability scatter;
    judge_bounds bounds;
    judge_day day;
    sheet_of("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 3, compression_ratio: 9.5, limits: {minimum: "
             "150}}, conditions: {altitude: 900 m}, compression: [{cylinder: 1, reading: 170}, {cylinder: 3, "
             "reading: 128}, {cylinder: 3, reading: 124, first_stroke: 124}]}",
             &sheet);
    setup_of(&sheet, &setup);
    const ch_judge_options options = {.seed = 5, .rule = CH_RULE_MANUAL};
    memset(&judgement, 0x5a, sizeof judgement);
    assert_int_equal(ch_judge_at_once(&sheet, &options, &judgement, NULL), CH_OK);
    assert_int_equal(judge_readings_collect(&sheet, &readings, NULL), CH_OK);
    assert_int_equal(judge_day_build(&setup, 3, &day, NULL), CH_OK);
    assert_int_equal(judge_repeats(&sheet, &setup, &day, &readings, &parts, &scatter, NULL), CH_OK);
    assert_int_equal(judge_take_balance(&sheet, &day, &scatter, &options, &parts, NULL), CH_OK);
    assert_int_equal(judge_bounds_compute(&setup, 3, &bounds, NULL), CH_OK);
    static const ch_judged_cylinder nobody;
    assert_int_equal(judgement.cylinders, 3);
    assert_memory_equal(&judgement.cylinder[3], &nobody, sizeof nobody);
    for (int c = 0; c < 3; c++) {
        const ch_judged_cylinder *got = &judgement.cylinder[c];
        ch_judged_cylinder want = parts.cylinder[c];
        want.expected_median_pa = bounds.sound_pa;
        assert_memory_equal(got, &want, offsetof(ch_judged_cylinder, below_minimum));
        assert_true(got->below_minimum == want.below_minimum && got->repeat_gain_1 == want.repeat_gain_1);
        assert_memory_equal(&got->chance_below_minimum_1, &want.chance_below_minimum_1, sizeof(double));
        assert_true(isnan(got->expected_pa[0]) && isnan(got->expected_pa[1]) && isnan(got->standard_day_pa) &&
                    isnan(got->u_standard_day_pa) && isnan(got->leak_area_m2[1]));
    }
    assert_true(judgement.pooled_sd_pa == parts.pooled_sd_pa && judgement.pooled_df == parts.pooled_df &&
                !judgement.pooled_assumed);
    assert_true(judgement.lowest == 3 && judgement.highest == 1 && judgement.ratio_1 == parts.ratio_1 &&
                judgement.chance_below_75_1 == parts.chance_below_75_1);
    assert_true(judgement.minimum_pa == parts.minimum_pa && judgement.minimum_pa < 140.0 * 6894.757293168361 &&
                isnan(judgement.standard_pa));
    assert_memory_equal(judgement.ratio_interval_1, parts.ratio_interval_1, sizeof parts.ratio_interval_1);
    for (int r = 0; r < CH_RULE_COUNT; r++)
        assert_memory_equal(&judgement.rule[r].chance_broken_1, &parts.rule[r].chance_broken_1, sizeof(double));
    assert_true(judgement.chosen_rule == CH_RULE_MANUAL && judgement.repeat_cylinder == parts.repeat_cylinder);
    assert_memory_equal(judgement.assumed, setup.assumed, sizeof setup.assumed);
    assert_true(judgement.verdict == CH_VERDICT_UNCLEAR && judgement.because_count == 0 &&
                judgement.trace.cylinders == 0);
    assert_int_equal(judgement.question_count, 1); /* of the first stroke; in psi, as the first reading */
    assert_int_equal(judgement.question[0].kind, CH_QUESTION_FIRST_OVER_FINAL);
    assert_non_null(strstr(judgement.question[0].text, "(124 psi)"));
    judge_readings_clear(&readings);
    ch_sheet_clear(&sheet);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ordinary_entries_are_not_asked_about),
        cmocka_unit_test(more_than_the_engine_could_show_is_asked_about_by_what_it_may_be),
        cmocka_unit_test(less_than_a_quarter_of_a_sound_reading_is_asked_about),
        cmocka_unit_test(only_what_a_slip_of_the_pen_could_be_is_asked_about),
        cmocka_unit_test(a_missing_digit_alone_is_asked_about_where_no_unit_fits),
        cmocka_unit_test(a_needle_that_did_not_move_is_not_asked_about),
        cmocka_unit_test(the_owners_unit_is_that_of_the_sentences),
        cmocka_unit_test(a_wet_reading_or_a_leak_down_is_enough_and_nothing_is_too_little),
        cmocka_unit_test(the_manuals_spread_needs_two_cylinders_and_its_minimum_one),
        cmocka_unit_test(where_the_chosen_rule_does_not_apply_it_is_told_why),
        cmocka_unit_test(many_repeats_leave_no_doubt),
        cmocka_unit_test(other_tests_are_asked_about_at_the_car),
        cmocka_unit_test(an_engine_that_cannot_be_computed_is_refused_with_what_is_wrong),
        cmocka_unit_test(a_row_without_a_reading_is_passed_over_and_an_endless_one_is_refused),
        cmocka_unit_test(no_memory_at_any_allocation_leaves_the_answer_alone),
        cmocka_unit_test(every_entry_is_asked_about_by_what_it_may_be),
        cmocka_unit_test(every_field_is_that_of_its_part_and_the_rest_is_unknown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
