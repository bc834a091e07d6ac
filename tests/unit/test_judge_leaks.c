/* Promises of judge/leaks.c: what leak-down rows come to by the trade's limits, told with the verdict. */
#include "crosshatch/sampling.h"
#include "judge_by_hand.h"

#define DRY                                                                                                            \
    "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4}, compression: [{cylinder: 1, reading: 170}, "           \
    "{cylinder: 2, reading: 168}, {cylinder: 3, reading: 169}, {cylinder: 4, reading: 165}], leakdown: ["

static ch_verdict of(const char *text)
{
    all_well_of(4, 1.0);
    return verdict_of(text);
}

/* FAA AC 43.13-1B Change 1, 8-14: 60 of 80 psi is the least; 25 % itself is still held. */
static void more_than_a_quarter_lost_is_watched(void **state)
{
    (void)state;
    assert_int_equal(of(DRY "{cylinder: 2, loss: 25 %}]}"), CH_VERDICT_SOUND);
    assert_int_equal(of(DRY "{cylinder: 2, loss: 26 %}]}"), CH_VERDICT_WATCH);
    assert_true(reasons_say("Leak-down, cylinder 2: 26 % is lost; the usual limit is 25 %"));
    assert_int_equal(of(DRY "{cylinder: 1, loss: 30 %}, {cylinder: 2, loss: 31 %}, {cylinder: 3, loss: 30 %}, "
                            "{cylinder: 4, loss: 29 %}]}"),
                     CH_VERDICT_WATCH);
    assert_true(reasons_say("Leak-down, cylinders 1 to 4: 29 % to 31 % is lost; the usual limit is 25 %")); /* once */
    assert_false(reasons_say("Leak-down, cylinder 4"));
    assert_int_equal(of(DRY "{cylinder: 1, loss: 30 %}, {cylinder: 4, loss: 29 %}]}"), CH_VERDICT_WATCH);
    assert_true(reasons_say("cylinder 4: 29 % is lost; the usual limit"));
}

/* Common practice: what one cylinder loses more than its neighbours tells more than the level. */
static void one_that_loses_far_more_than_the_others_is_watched(void **state)
{
    (void)state;
    assert_int_equal(
        of(DRY
           "{cylinder: 1, loss: 6 %}, {cylinder: 2, loss: 6 %}, {cylinder: 3, loss: 6 %}, {cylinder: 4, loss: 15 %}]}"),
        CH_VERDICT_WATCH);
    assert_true(reasons_say("cylinder 4: 15 % is lost, where the others tested lose 6 %"));
    assert_int_equal(
        of(DRY
           "{cylinder: 1, loss: 6 %}, {cylinder: 2, loss: 6 %}, {cylinder: 3, loss: 6 %}, {cylinder: 4, loss: 14 %}]}"),
        CH_VERDICT_SOUND);
    assert_int_equal(of(DRY "{cylinder: 1, loss: 14 %}, {cylinder: 2, loss: 15 %}, {cylinder: 3, loss: 15 %}, "
                            "{cylinder: 4, loss: 22 %}]}"),
                     CH_VERDICT_SOUND);
    assert_int_equal(of(DRY "{cylinder: 1, loss: 14 %}, {cylinder: 2, loss: 14 %}, {cylinder: 3, loss: 90 %}, "
                            "{cylinder: 4, loss: 22 %}]}"),
                     CH_VERDICT_WATCH);
    assert_true(
        reasons_say("cylinder 4: 22 % is lost, where the others tested lose 14 %")); /* the middle, not the mean */
    assert_true(reasons_say("cylinder 3: 90 % is lost, where the others tested lose 14 %"));
    assert_false(reasons_say("cylinder 1:"));
}

/* Common practice: some air past the rings is heard on every engine, none at a valve, in the coolant or at a neighbour. */
static void air_where_none_should_be_is_watched(void **state)
{
    (void)state;
    static const char *const PLACES[][2] = {{"intake", "the intake"},
                                            {"exhaust", "the exhaust"},
                                            {"coolant", "the coolant"},
                                            {"cylinder_3", "another plug hole"}};
    char text[600];
    for (size_t i = 0; i < 4; i++)
        for (int loss = 0; loss < 3; loss++) {
            static const char *const LOSSES[] = {"", "loss: 10 %, ", "loss: 9 %, "};
            snprintf(text, sizeof text, DRY "{cylinder: 2, %sheard: [%s]}]}", LOSSES[loss], PLACES[i][0]);
            assert_int_equal(of(text), loss < 2 ? CH_VERDICT_WATCH : CH_VERDICT_SOUND);
            assert_int_equal(reasons_say("Leak-down, cylinder 2: air was heard at "), loss < 2);
            assert_int_equal(reasons_say(PLACES[i][1]), loss < 2);
        }
    assert_int_equal(of(DRY "{cylinder: 2, loss: 12 %, heard: [oil_filler]}]}"), CH_VERDICT_SOUND);
    assert_int_equal(of(DRY "{cylinder: 2, loss: 12 %, heard: [nothing]}]}"), CH_VERDICT_SOUND);
}

/* A percent of another orifice is another hole: 10 % on one of 1.5 mm are the 1.1 mm2 that lose more than 30 % on the usual one of 1.016 mm (0.96 mm2),
 * and 30 % on one of 0.5 mm are a hole that loses some 7 % there. Areas by the orifice equation (method.md, "Leak-down"), worked out for air at 80 psi. */
static void a_loss_is_judged_as_the_usual_orifice_would_show_it(void **state)
{
    (void)state;
    assert_int_equal(of(DRY "{cylinder: 2, loss: 10 %, supply: 80 psi, orifice: 1.5 mm}]}"), CH_VERDICT_WATCH);
    assert_int_equal(of(DRY "{cylinder: 2, loss: 10 %, supply: 80 psi, orifice: 1.016 mm}]}"), CH_VERDICT_SOUND);
    assert_int_equal(of(DRY "{cylinder: 2, loss: 30 %, supply: 80 psi, orifice: 0.5 mm}]}"), CH_VERDICT_SOUND);
    assert_int_equal(of(DRY "{cylinder: 2, loss: 100 %, supply: 80 psi, orifice: 0.5 mm}]}"), CH_VERDICT_WATCH);
    /* the usual orifice itself changes nothing, not even on the limit */
    assert_int_equal(of(DRY "{cylinder: 2, loss: 25 %, supply: 80 psi, orifice: 1.016 mm}]}"), CH_VERDICT_SOUND);
}

/* Losses by the orifice equation, worked out apart (air of 1.4, 80 psi): 5 % through 3 mm is a hole of 2.45 mm2, which loses 87 % on 1.016 mm. */
static void a_converted_loss_says_so_and_from_what(void **state)
{
    (void)state;
    (void)of(DRY "{cylinder: 2, loss: 5 %, supply: 80 psi, orifice: 3 mm}]}");
    assert_true(reasons_say("Leak-down, cylinder 2: 87 % is lost as the usual orifice of 1.016 mm would show it (read: "
                            "5 % through 3 mm); the usual limit is 25 %"));
    (void)of(DRY "{cylinder: 2, loss: 26 %, supply: 80 psi, orifice: 1.016 mm}]}");
    assert_true(reasons_say("Leak-down, cylinder 2: 26 % is lost; the usual limit is 25 %"));
    (void)of(DRY "{cylinder: 2, loss: 87 %}, {cylinder: 2, loss: 5 %, supply: 80 psi, orifice: 3 mm}]}");
    assert_true(reasons_say("87 % is lost as the usual orifice of 1.016 mm would show it (read: among others 5 % "
                            "through 3 mm); the usual"));
}

/* 41 % and 0.41 %, which was 41 %, have a mean that nobody read. */
static void losses_that_do_not_agree_are_told_with_both_ends(void **state)
{
    (void)state;
    (void)of(DRY "{cylinder: 2, loss: 60 %}, {cylinder: 2, loss: 2 %}, {cylinder: 2, loss: 31 %}]}");
    assert_true(
        reasons_say("Leak-down, cylinder 2: 31 % is lost in the mean of 3 tests that do not agree (2 % to 60 %); the "
                    "usual limit is 25 %"));
    (void)of(DRY "{cylinder: 2, loss: 41 %}, {cylinder: 2, loss: 2 %}, {cylinder: 3, loss: 5 %}]}");
    assert_true(reasons_say(
        "22 % is lost in the mean of 2 tests that do not agree (2 % to 41 %), where the other tested loses 5 %"));
    (void)of(DRY "{cylinder: 2, loss: 35 %}, {cylinder: 2, loss: 26 %}]}");
    assert_true(reasons_say("Leak-down, cylinder 2: 31 % is lost; the usual limit"));
    (void)of(DRY "{cylinder: 2, loss: 20 %}, {cylinder: 2, loss: 5 %, supply: 80 psi, orifice: 3 mm}]}");
    assert_true(reasons_say(
        "in the mean of 2 tests that do not agree (20 % to 87 % as the usual orifice of 1.016 mm would show it)"));
}

static void one_other_cylinder_is_told_as_one(void **state)
{
    (void)state;
    (void)of(DRY "{cylinder: 2, loss: 30 %}, {cylinder: 3, loss: 0.12 %}]}");
    assert_true(reasons_say("30 % is lost, where the other tested loses under 1 %."));
    (void)of(DRY "{cylinder: 2, loss: 30 %}, {cylinder: 3, loss: 0 %}]}");
    assert_true(reasons_say("30 % is lost, where the other tested loses 0 %."));
}

/* Repeats of one cylinder are the same test: their mean counts, once. */
static void repeats_of_a_cylinder_count_as_their_mean(void **state)
{
    (void)state;
    assert_int_equal(of(DRY "{cylinder: 2, loss: 22 %}, {cylinder: 2, loss: 30 %}]}"), CH_VERDICT_WATCH); /* 26 % */
    assert_int_equal(of(DRY "{cylinder: 2, loss: 22 %}, {cylinder: 2, loss: 28 %}]}"), CH_VERDICT_SOUND); /* 25 % */
    assert_int_equal(of(DRY "{cylinder: 2, loss: 22 %}, {cylinder: 2, loss: 30 %}, {cylinder: 2, loss: 20 %}]}"),
                     CH_VERDICT_SOUND);
}

/* Numbers typed in another unit are as far apart in any. */
static void a_dead_cylinder_is_a_fault_in_whatever_unit(void **state)
{
    (void)state;
    static const char TEXT[] = DRY "]}";
    static const struct {
        ch_balance_rule rule;
        ch_verdict verdict;
    } RULES[] = {{CH_RULE_75_PERCENT, CH_VERDICT_FAULT}, {CH_RULE_80_PERCENT, CH_VERDICT_FAULT},
                 {CH_RULE_10_PERCENT, CH_VERDICT_FAULT}, {CH_RULE_15_PERCENT, CH_VERDICT_FAULT},
                 {CH_RULE_20_PERCENT, CH_VERDICT_FAULT}, {CH_RULE_70_PERCENT_100_PSI, CH_VERDICT_UNCLEAR},
                 {CH_RULE_98_KPA, CH_VERDICT_UNCLEAR},   {CH_RULE_MANUAL, CH_VERDICT_UNCLEAR}};
    for (size_t i = 0; i < sizeof RULES / sizeof *RULES; i++)
        for (int broken = 0; broken < 2; broken++)
            for (int explained = 0; explained < 2; explained++)
                for (int impossible = 0; impossible < 2; impossible++) {
                    all_well_of(4, 1.0);
                    judgement.chosen_rule = RULES[i].rule;
                    judgement.rule[RULES[i].rule] = judgement.rule[CH_RULE_75_PERCENT];
                    judgement.rule[RULES[i].rule].rule = RULES[i].rule;
                    judgement.rule[RULES[i].rule].chance_broken_1 = broken ? 0.95 : 0.85;
                    if (explained)
                        blame(4, CH_CAUSE_MEASUREMENT_ERROR, 0.4);
                    judge_ask(&judgement, CH_QUESTION_UNIT, 0, SIZE_MAX, 0.99,
                              "The readings look like bar typed as psi.");
                    if (impossible)
                        judge_ask(&judgement, CH_QUESTION_IMPOSSIBLE, 1, SIZE_MAX, 0.99, "More than is possible.");
                    assert_int_equal(verdict_of(TEXT),
                                     broken && !explained && !impossible ? RULES[i].verdict : CH_VERDICT_UNCLEAR);
                    assert_true(reasons_say("bar typed as psi"));
                }
}

/* ---- what judge_leaks() makes of rows, every field ---- */

enum { DRAWN_ROWS = 9 };

typedef struct leak_row {
    int cylinder, loss; /* percent; -1 = only listened */
    int supply;         /* psi; 0 = not stated */
    double orifice;     /* mm; 0 = not stated */
    unsigned heard, heard_cylinders;
} leak_row;

static const struct {
    unsigned bit;
    const char *says;
} PLACES[] = {{CH_HEARD_INTAKE, "intake"},
              {CH_HEARD_EXHAUST, "exhaust"},
              {CH_HEARD_OIL_FILLER, "oil_filler"},
              {CH_HEARD_COOLANT, "coolant"}};

static void rows_to_text(const leak_row rows[], int n, int cylinders, char text[2500])
{
    size_t used = (size_t)sprintf(
        text, "{sheet: 1, engine: {cylinders: %d}, compression: [{cylinder: 1, reading: 170 psi}], leakdown: [",
        cylinders);
    for (int i = 0; i < n; i++) {
        const char *comma = "";
        used += (size_t)sprintf(text + used, "%s{cylinder: %d, heard: [", i > 0 ? ", " : "", rows[i].cylinder);
        for (size_t p = 0; p < 4; p++)
            if ((rows[i].heard & PLACES[p].bit) != 0) {
                used += (size_t)sprintf(text + used, "%s%s", comma, PLACES[p].says);
                comma = ", ";
            }
        for (int c = 0; c < cylinders; c++)
            if ((rows[i].heard_cylinders >> c & 1U) != 0) {
                used += (size_t)sprintf(text + used, "%scylinder_%d", comma, c + 1);
                comma = ", ";
            }
        used += (size_t)sprintf(text + used, "%s]", *comma == '\0' ? "nothing" : "");
        if (rows[i].loss >= 0)
            used += (size_t)sprintf(text + used, ", loss: %d %%", rows[i].loss);
        if (rows[i].supply > 0)
            used += (size_t)sprintf(text + used, ", supply: %d psi", rows[i].supply);
        if (rows[i].orifice > 0.0)
            used += (size_t)sprintf(text + used, ", orifice: %.3f mm", rows[i].orifice);
        text[used++] = '}';
    }
    sprintf(text + used, "]}");
}

/* Loss of a hole on an orifice, both in mm2, at 15 C all round: flow in is flow out, found by halving. A nozzle passes as much of its supply as air of gamma 1.4
 * does (Saint-Venant and Wantzel; sonic from 0.5283 on). */
static double nozzle(double up_pa, double down_pa)
{
    const double r = fmax(down_pa / up_pa, pow(2.0 / 2.4, 3.5));
    return up_pa * sqrt(pow(r, 2.0 / 1.4) - pow(r, 2.4 / 1.4));
}

static double loss_of(double hole, double orifice, double supply)
{
    const double air = 101325.0;
    double low = air, high = air + supply * PSI;
    for (int k = 0; k < 36; k++) {
        const double inside = 0.5 * (low + high);
        if (orifice * nozzle(air + supply * PSI, inside) > hole * nozzle(inside, air))
            low = inside;
        else
            high = inside;
    }
    return 1.0 - (low - air) / (supply * PSI);
}

/* The same hole on the usual orifice, 0.040 in. */
static double on_the_usual(const leak_row *row)
{
    const double loss = row->loss / 100.0, supply = row->supply > 0 ? row->supply : 80.0;
    double low = 0.0, high = 1e3;
    if (row->orifice == 0.0 || row->loss == 100)
        return loss;
    for (int k = 0; k < 36; k++) {
        const double hole = 0.5 * (low + high);
        if (loss_of(hole, row->orifice * row->orifice, supply) < loss)
            low = hole;
        else
            high = hole;
    }
    return loss_of(low, 1.016 * 1.016, supply);
}

/* Middle of the losses of the other cylinders, sorted by taking the least that is left. */
static double middle_of_others(const double loss[], int cylinders, int own)
{
    double sorted[CH_CYLINDERS_MAX];
    bool taken[CH_CYLINDERS_MAX] = {false};
    int n = 0;
    for (;; n++) {
        int least = -1;
        for (int c = 0; c < cylinders; c++)
            if (c != own && !taken[c] && !isnan(loss[c]) && (least < 0 || loss[c] < loss[least]))
                least = c;
        if (least < 0)
            break;
        taken[least] = true;
        sorted[n] = loss[least];
    }
    return n == 0 ? NAN : n % 2 == 1 ? sorted[n / 2] : (sorted[n / 2 - 1] + sorted[n / 2]) / 2.0;
}

static void expect_leaks(const leak_row rows[], int n, int cylinders)
{
    char text[2500];
    ch_sheet sheet;
    judge_leak leak[CH_CYLINDERS_MAX];
    double loss[CH_CYLINDERS_MAX];
    memset(leak, 0x5a, sizeof leak); /* of another sheet */
    rows_to_text(rows, n, cylinders, text);
    sheet_of(text, &sheet);
    judge_leaks(&sheet, leak);
    ch_sheet_clear(&sheet);
    for (int c = 0; c < CH_CYLINDERS_MAX; c++) {
        double sum = 0.0;
        int many = 0;
        for (int i = 0; i < n; i++)
            if (rows[i].cylinder == c + 1 && rows[i].loss >= 0) {
                sum += on_the_usual(&rows[i]);
                many++;
            }
        loss[c] = many > 0 ? sum / many : NAN;
    }
    for (int c = 0; c < CH_CYLINDERS_MAX; c++) {
        unsigned heard = 0, holes = 0;
        const double middle = c < cylinders ? middle_of_others(loss, cylinders, c) : NAN;
        for (int i = 0; i < n; i++)
            if (rows[i].cylinder == c + 1) {
                heard |= rows[i].heard & ~(unsigned)CH_HEARD_OIL_FILLER;
                holes |= rows[i].heard_cylinders;
            }
        assert_int_equal(leak[c].heard, heard);
        assert_int_equal(leak[c].heard_cylinders, holes);
        assert_int_equal(isnan(leak[c].loss_1), isnan(loss[c]));
        assert_int_equal(isnan(leak[c].others_1), isnan(middle));
        if (!isnan(loss[c]))
            expect_close(leak[c].loss_1, loss[c], 1e-4) /* air is not quite of gamma 1.4 */;
        if (!isnan(middle))
            expect_close(leak[c].others_1, middle, 1e-4);
        /* in thousandths of a percent, so that a sum of percents is as exact as they are */
        const double lost = rint(1e5 * loss[c]), others = rint(1e5 * middle);
        assert_int_equal(leak[c].over_limit, lost > 25000.0);
        assert_int_equal(leak[c].over_others, lost >= 15000.0 && lost >= others + 8000.0);
        assert_int_equal(leak[c].by_path, (heard != 0 || holes != 0) && !(lost < 10000.0));
    }
}

static void what_rows_come_to_is_what_they_say(void **state)
{
    (void)state;
    for (uint64_t index = 0; index < 90; index++) {
        static const int LOSSES[] = {-1, 4, 7, 8, 9, 10, 11, 14, 15, 16, 22, 24, 25, 26, 60, 100};
        static const double ORIFICES[] = {0.0, 0.0, 0.0, 0.0, 0.8, 1.1, 1.524};
        leak_row rows[DRAWN_ROWS] = {0};
        ch_stream stream;
        ch_stream_init(&stream, 71, index);
        const int cylinders = 1 + (int)(6 * ch_stream_uniform(&stream)),
                  n = 1 + (int)(DRAWN_ROWS * ch_stream_uniform(&stream));
        for (int i = 0; i < n; i++) {
            rows[i].cylinder = 1 + (int)(cylinders * ch_stream_uniform(&stream));
            rows[i].loss = LOSSES[(int)(16 * ch_stream_uniform(&stream))];
            rows[i].orifice = rows[i].loss > 0 ? ORIFICES[(int)(7 * ch_stream_uniform(&stream))] : 0.0;
            rows[i].supply = ch_stream_uniform(&stream) < 0.5 ? 0 : 100;
            for (size_t p = 0; p < 4; p++)
                rows[i].heard |= ch_stream_uniform(&stream) < 0.15 ? PLACES[p].bit : 0;
            const int other = 1 + (int)(cylinders * ch_stream_uniform(&stream));
            if (other != rows[i].cylinder && ch_stream_uniform(&stream) < 0.2)
                rows[i].heard_cylinders = 1U << (other - 1);
        }
        expect_leaks(rows, n, cylinders);
    }
}

/* On a limit, to nine digits: percents that make it up are a little to either side of it in binary. */
static void a_loss_on_a_limit_is_on_it_whatever_the_last_digits(void **state)
{
    (void)state;
    static const double OFF[] = {-1.5e-9, -1e-9, -0.5e-9, 0.0, 0.5e-9, 1e-9, 1.5e-9};
    for (size_t k = 0; k < sizeof OFF / sizeof *OFF; k++) {
        ch_sheet sheet;
        judge_leak leak[CH_CYLINDERS_MAX];
        sheet_of(DRY "{cylinder: 1, loss: 25 %}, {cylinder: 2, loss: 7 %}, {cylinder: 3, loss: 10 %, heard: [intake]}, "
                     "{cylinder: 4, loss: 15 %}]}",
                 &sheet);
        sheet.leakdown[0].loss.si = 0.25 + OFF[k];
        sheet.leakdown[2].loss.si = 0.10 + OFF[k];
        sheet.leakdown[3].loss.si = 0.15 + OFF[k];
        judge_leaks(&sheet, leak);
        assert_int_equal(leak[0].over_limit, k > 5); /* beside the others it is a limit that is kept */
        assert_int_equal(leak[2].by_path, k > 0);
        assert_false(leak[3].over_others); /* 15 % are 5 points more than the 10 % in the middle */
        sheet.leakdown[0].loss.si = 0.06;
        sheet.leakdown[2].loss.si = 0.06;
        judge_leaks(&sheet, leak);
        assert_int_equal(leak[3].over_others, k > 0); /* from 15 % on */
        sheet.leakdown[3].loss.si = 0.22;
        sheet.leakdown[0].loss.si = 0.14 - OFF[k];
        sheet.leakdown[1].loss.si = 0.14 - OFF[k];
        judge_leaks(&sheet, leak);
        assert_int_equal(leak[3].over_others, 0.22 >= 0.14 - OFF[k] + 0.08 - 1e-9); /* from 8 points on */
        assert_int_equal(leak[3].over_others, k > 0);
        ch_sheet_clear(&sheet);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(more_than_a_quarter_lost_is_watched),
        cmocka_unit_test(one_that_loses_far_more_than_the_others_is_watched),
        cmocka_unit_test(air_where_none_should_be_is_watched),
        cmocka_unit_test(a_loss_is_judged_as_the_usual_orifice_would_show_it),
        cmocka_unit_test(a_converted_loss_says_so_and_from_what),
        cmocka_unit_test(losses_that_do_not_agree_are_told_with_both_ends),
        cmocka_unit_test(one_other_cylinder_is_told_as_one),
        cmocka_unit_test(repeats_of_a_cylinder_count_as_their_mean),
        cmocka_unit_test(a_dead_cylinder_is_a_fault_in_whatever_unit),
        cmocka_unit_test(what_rows_come_to_is_what_they_say),
        cmocka_unit_test(a_loss_on_a_limit_is_on_it_whatever_the_last_digits),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
