/*
 * Promises of judge/verdict.c: the verdict is that of the first line that holds of the rule at the head of that file and in docs/method-judging.md, on
 * judgements drawn at random whose every figure stands on a limit of the rule, just below it, or far from it.
 */
#include "crosshatch/sampling.h"
#include "judge_by_hand.h"

static ch_stream stream;

static bool chance(double p)
{
    return ch_stream_uniform(&stream) < p;
}

/* One of a list, the first nearly always. */
static double pick(const double list[], size_t n)
{
    return chance(0.75) ? list[0] : list[(size_t)((double)n * ch_stream_uniform(&stream))];
}

#define PICK(...) pick((const double[]){__VA_ARGS__}, sizeof((const double[]){__VA_ARGS__}) / sizeof(double))

static const double UNDER = 1.0 - 1e-9;

/* Leak-down of a cylinder, as typed. */
typedef struct leak_typed {
    bool tested;
    int loss_percent;
    const char *heard;
} leak_typed;

/* What the sheet of a judgement says: dry readings where n > 0; leak-downs of the cylinders that were tested. */
static void write_sheet(const leak_typed leak[], char text[1500])
{
    size_t used = (size_t)sprintf(text, "{sheet: 1, units: {pressure: psi}, engine: {cylinders: %d}, compression: [",
                                  judgement.cylinders);
    for (int c = 0, many = 0; c < judgement.cylinders; c++)
        if (judgement.cylinder[c].n > 0)
            used += (size_t)sprintf(text + used, "%s{cylinder: %d, reading: 160}", many++ > 0 ? ", " : "", c + 1);
    used += (size_t)sprintf(text + used, "], leakdown: [");
    for (int c = 0, many = 0; c < judgement.cylinders; c++)
        if (leak[c].tested)
            used += (size_t)sprintf(text + used, "%s{cylinder: %d, supply: 100 psi, loss: %d %%, heard: [%s]}",
                                    many++ > 0 ? ", " : "", c + 1, leak[c].loss_percent, leak[c].heard);
    sprintf(text + used, "]}");
}

static void draw_judgement(leak_typed leak[CH_CYLINDERS_MAX])
{
    ch_judgement *j = &judgement;
    all_well_of(1 + (int)(4.0 * ch_stream_uniform(&stream)), 0.0);
    j->trace.reliable = chance(0.8);
    j->lowest = j->cylinders > 1 ? 1 + (int)(j->cylinders * ch_stream_uniform(&stream)) : 0;
    j->highest = j->cylinders > 1 ? j->lowest % j->cylinders + 1 : 0;
    j->ratio_1 = j->cylinders > 1 ? PICK(0.93, 0.85, 0.85 * UNDER, 0.7) : NAN;
    ch_rule_outcome *rule = &j->rule[j->chosen_rule];
    rule->applies = j->cylinders > 1 && chance(0.9);
    rule->chance_broken_1 = rule->applies ? PICK(0.01, 0.1, 0.1 * UNDER, 0.9, 0.9 * UNDER, 0.97) : NAN;
    for (int c = 0; c < j->cylinders; c++) {
        ch_judged_cylinder *one = &j->cylinder[c];
        double *cause_1 = j->trace.cylinder[c].cause_1;
        leak[c].tested = chance(0.4);
        leak[c].loss_percent = (int)PICK(8, 8, 8, 9, 10, 14, 15, 17, 22, 25, 26);
        leak[c].heard = chance(0.8) ? "oil_filler" : chance(0.5) ? "exhaust" : "nothing";
        if (chance(0.1) && (c > 0 || leak[0].tested)) { /* a sheet says something at least */
            one->n = 0;
            one->mean_pa = one->expected_pa[0] = one->expected_pa[1] = NAN;
        } else if (chance(0.15)) {
            one->mean_pa = one->expected_pa[0] * (chance(0.5) ? 1.0 : UNDER);
        }
        one->chance_below_minimum_1 = PICK(NAN, NAN, 0.01, 0.1, 0.1 * UNDER, 0.9, 0.9 * UNDER);
        const double fault_1 = PICK(0.01, 0.05, 0.1, 0.1 * UNDER, 0.25, 0.25 * UNDER, 0.4, 0.5, 0.8, 0.8 * UNDER, 0.95);
        double error_1 = PICK(0.02, 0.05, 0.2, 0.5, 0.5 * UNDER, 0.6, 0.9);
        error_1 = fmin(error_1, 1.0 - fault_1);
        const bool coolant = chance(0.3);
        cause_1[CH_CAUSE_SOUND] = 1.0 - fault_1 - error_1;
        cause_1[CH_CAUSE_MEASUREMENT_ERROR] = error_1;
        cause_1[coolant ? CH_CAUSE_CRACKED_HEAD : CH_CAUSE_EXHAUST_VALVE] = fault_1;
    }
    const int kinds[] = {CH_QUESTION_UNIT, CH_QUESTION_IMPOSSIBLE, CH_QUESTION_CONTRADICTION, CH_QUESTION_REPEAT};
    for (int k = 0; k < 4; k++)
        if (chance(k == 3 ? 0.3 : 0.06)) {
            ch_question *q = &j->question[j->question_count++];
            q->kind = (ch_question_kind)kinds[k];
            q->cylinder = chance(0.5) ? 1 : 0;
            snprintf(q->text, sizeof q->text, "invented");
        }
}

/* More than 25 % lost; or from 15 % on, 8 points over the middle of the others; or heard at a valve with 10 % and more. */
static bool leaks_too_much(const leak_typed leak[], int cylinders, int c)
{
    int others[CH_CYLINDERS_MAX], n = 0;
    if (!leak[c].tested)
        return false;
    for (int loss = 0; loss <= 100; loss++) /* in order of size */
        for (int i = 0; i < cylinders; i++)
            if (i != c && leak[i].tested && leak[i].loss_percent == loss)
                others[n++] = loss;
    const bool over =
        n > 0 && leak[c].loss_percent >= 15 && 2 * leak[c].loss_percent >= others[(n - 1) / 2] + others[n / 2] + 16;
    return leak[c].loss_percent > 25 || over || (strcmp(leak[c].heard, "exhaust") == 0 && leak[c].loss_percent >= 10);
}

/* The rule, line by line as it is written there. */
static ch_verdict by_the_rule(const leak_typed leak[])
{
    const ch_judgement *j = &judgement;
    const bool reliable = j->trace.reliable;
    double coolant = 0.0, most_fault = 0.0, fault[CH_CYLINDERS_MAX], error[CH_CYLINDERS_MAX], minimum = 0.0;
    bool explains[CH_CYLINDERS_MAX], comes_first[CH_CYLINDERS_MAX], low = false, minimum_fault = false,
                                                                    any_explained = false, leaks = false;
    int tested = 0, explained_tested = 0;
    for (int c = 0; c < j->cylinders; c++) {
        const double *cause = j->trace.cylinder[c].cause_1;
        error[c] = cause[CH_CAUSE_MEASUREMENT_ERROR];
        fault[c] = 1.0 - cause[CH_CAUSE_SOUND] - error[c];
        explains[c] = error[c] > fault[c];
        double most_of_one = 0.0;
        for (int k = CH_CAUSE_RINGS_OR_BORE; k < CH_CAUSE_MEASUREMENT_ERROR; k++)
            most_of_one = fmax(most_of_one, cause[k]);
        comes_first[c] = explains[c] || (error[c] >= 0.25 && error[c] > most_of_one);
        assert_int_equal(ch_judge_repeat_first(&j->trace.cylinder[c]), comes_first[c]);
        coolant += cause[CH_CAUSE_CRACKED_HEAD] + cause[CH_CAUSE_HEAD_GASKET_TO_COOLANT];
        most_fault = fmax(most_fault, fault[c]);
        const bool is_tested = j->cylinder[c].n > 0 || leak[c].tested;
        leaks = leaks || leaks_too_much(leak, j->cylinders, c);
        tested += is_tested;
        if (explains[c] && error[c] >= 0.5) {
            any_explained = true;
            explained_tested += is_tested;
        }
        const double below = j->cylinder[c].chance_below_minimum_1;
        minimum = below > minimum ? below : minimum;
        minimum_fault = minimum_fault || (below >= 0.9 && !comes_first[c]);
        low = low || (j->cylinder[c].n > 0 && j->cylinder[c].mean_pa < j->cylinder[c].expected_pa[0]);
    }
    const ch_rule_outcome *rule = &j->rule[j->chosen_rule];
    const double broken = rule->applies ? rule->chance_broken_1 : 0.0;
    bool unit = false, impossible = false, contradicted = false;
    for (size_t i = 0; i < j->question_count; i++) {
        const ch_question *q = &j->question[i];
        impossible = impossible || q->kind == CH_QUESTION_IMPOSSIBLE;
        unit = unit || (q->kind == CH_QUESTION_UNIT && q->cylinder == 0);
        contradicted = contradicted || q->kind == CH_QUESTION_CONTRADICTION;
    }
    coolant = fmin(coolant, 1.0);
    if (impossible)
        return CH_VERDICT_UNCLEAR;
    if (unit && broken >= 0.9 && j->lowest > 0 && !comes_first[j->lowest - 1]) /* 75 % is as much in any unit */
        return CH_VERDICT_FAULT;
    if (unit)
        return CH_VERDICT_UNCLEAR;
    if (reliable && (most_fault >= 0.8 || coolant >= 0.8))
        return CH_VERDICT_FAULT;
    if (broken >= 0.9 && j->lowest > 0 && !comes_first[j->lowest - 1])
        return CH_VERDICT_FAULT;
    if (minimum_fault)
        return CH_VERDICT_FAULT;
    if (tested > 1 && explained_tested == tested && (broken >= 0.9 || most_fault >= 0.1))
        return CH_VERDICT_WATCH;
    if (any_explained)
        return CH_VERDICT_UNCLEAR;
    if (broken >= 0.1 || minimum >= 0.1 || j->ratio_1 < 0.85)
        return CH_VERDICT_WATCH;
    if (low || leaks)
        return CH_VERDICT_WATCH;
    if (!reliable)
        return CH_VERDICT_UNCLEAR;
    if (most_fault >= 0.25 || coolant >= 0.25)
        return CH_VERDICT_WATCH;
    if (contradicted || tested < j->cylinders)
        return CH_VERDICT_UNCLEAR;
    return CH_VERDICT_SOUND;
}

static void the_first_line_that_holds_decides(void **state)
{
    (void)state;
    enum { JUDGEMENTS = 6000 };
    size_t met[4] = {0};
    ch_stream_init(&stream, 51, 0);
    for (int n = 0; n < JUDGEMENTS; n++) {
        leak_typed leak[CH_CYLINDERS_MAX] = {0};
        char text[1500];
        draw_judgement(leak);
        write_sheet(leak, text);
        const ch_verdict wanted = by_the_rule(leak), got = verdict_of(text);
        if (got != wanted)
            fail_msg("judgement %d is %s, not %s", n, ch_verdict_name(got), ch_verdict_name(wanted));
        met[got]++;
    }
    for (int v = 0; v < 4; v++)
        assert_true(met[v] > JUDGEMENTS / 100);
}

/* ---- the order of the reasons ---- */

static void ask(ch_question_kind kind, int cylinder)
{
    static const char *const says[] = {[CH_QUESTION_UNIT] = "Unit.",
                                       [CH_QUESTION_ALL_LOW] = "All low.",
                                       [CH_QUESTION_CONTRADICTION] = "Contradiction.",
                                       [CH_QUESTION_MISSING] = "Missing.",
                                       [CH_QUESTION_ONE_HIGH] = "One high.",
                                       [CH_QUESTION_OUTSIDE] = "Outside."};
    ch_question *q = &judgement.question[judgement.question_count++];
    *q = (ch_question){.kind = kind, .cylinder = cylinder, .row = SIZE_MAX, .weight_1 = 0.9};
    snprintf(q->text, sizeof q->text, "%s", says[kind]);
}

/* The reasons begin like these, in this order, and there are no others. */
static void expect_reasons(const char *const begins[], size_t n)
{
    for (size_t i = 0; i < n && i < judgement.because_count; i++)
        if (strncmp(judgement.because[i], begins[i], strlen(begins[i])) != 0)
            fail_msg("reason %zu is \"%s\", not \"%s...\"", i + 1, judgement.because[i], begins[i]);
    assert_int_equal(judgement.because_count, n);
}

#define EXPECT_REASONS(...)                                                                                            \
    expect_reasons((const char *const[]){__VA_ARGS__}, sizeof((const char *const[]){__VA_ARGS__}) / sizeof(char *))
#define THREE                                                                                                          \
    "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 3}, compression: [{cylinder: 1, reading: 170}, "           \
    "{cylinder: 2, reading: 165}, {cylinder: 3, reading: 160}]}"

/* What decides stands before what goes with it, that before what would change it, and what all rests on last. */
static void reasons_stand_in_the_order_of_what_they_decide(void **state)
{
    (void)state;
    all_well_of(3, 5.0);
    judgement.assumed[CH_INPUT_CRANKING_SPEED] = true;
    assert_int_equal(verdict_of(THREE), CH_VERDICT_SOUND);
    EXPECT_REASONS("Lowest against highest", "How sure", "Your rule", "All readings lie", "What would change this",
                   "This rests on", "Not on the sheet", "These tests show nothing wrong");
    /* one of them at fault, and much else against it */
    all_well_of(3, 5.0);
    judgement.ratio_1 = 0.6;
    judgement.rule[CH_RULE_75_PERCENT].chance_broken_1 = 0.95;
    judgement.rule[CH_RULE_75_PERCENT].passes = false;
    judgement.cylinder[2].chance_below_minimum_1 = 0.5;
    judgement.cylinder[2].mean_pa = 100.0 * PSI;
    blame(3, CH_CAUSE_EXHAUST_VALVE, 0.9);
    ask(CH_QUESTION_ALL_LOW, 0);
    ask(CH_QUESTION_CONTRADICTION, 3);
    ask(CH_QUESTION_MISSING, 0);
    ask(CH_QUESTION_UNIT, 2);
    assert_int_equal(verdict_of(THREE), CH_VERDICT_FAULT);
    EXPECT_REASONS("Cylinder 3: the chance", "The readings are uneven", "Your rule", "Cylinder 3 shows", "All low.",
                   "Contradiction.", "Cylinder 3 reads below", "Unit.", "What would change this", "Missing.",
                   "This rests on", "These tests speak of sealing");
    /* low beside one that may be high: no fault by that alone, but by another test, or by a rule that is broken */
    for (int more = 0; more < 3; more++) {
        all_well_of(3, 5.0);
        blame(1, CH_CAUSE_RINGS_OR_BORE, 0.85);
        blame(2, CH_CAUSE_RINGS_OR_BORE, 0.85);
        ask(CH_QUESTION_ONE_HIGH, 3);
        if (more == 1)
            judgement.rule[CH_RULE_75_PERCENT].chance_broken_1 = 0.95;
        assert_int_equal(verdict_of(more == 2 ? "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 3}, "
                                                "compression: [{cylinder: 1, reading: 170}], "
                                                "leakdown: [{cylinder: 1, loss: 12 %}]}"
                                              : THREE),
                         more == 0 ? CH_VERDICT_WATCH : CH_VERDICT_FAULT);
    }
    /* several of them suspected: the worst first, at most three; and a leak into the coolant that none has most of */
    all_well_of(3, 5.0);
    blame(1, CH_CAUSE_CRACKED_HEAD, 0.26);
    blame(2, CH_CAUSE_CRACKED_HEAD, 0.30);
    blame(3, CH_CAUSE_CRACKED_HEAD, 0.28);
    assert_int_equal(verdict_of(THREE), CH_VERDICT_FAULT);
    EXPECT_REASONS("The chance that a gasket or a crack", "Cylinder 2: the chance", "Cylinder 3: the chance",
                   "Cylinder 1: the chance", "Lowest against highest", "Your rule", "All readings lie",
                   "What would change this", "This rests on", "These tests speak of sealing");
    /* the test as the better explanation, of one and of all */
    all_well_of(3, 5.0);
    blame(2, CH_CAUSE_MEASUREMENT_ERROR, 0.7);
    assert_int_equal(verdict_of(THREE), CH_VERDICT_UNCLEAR);
    EXPECT_REASONS("Cylinder 2: the test is a likelier explanation", "Lowest against highest", "How sure", "Your rule",
                   "All readings lie", "What would change this", "This rests on", "These tests speak of sealing");
    all_well_of(3, 5.0);
    for (int c = 1; c <= 3; c++)
        blame(c, CH_CAUSE_MEASUREMENT_ERROR, 0.6);
    assert_int_equal(verdict_of(THREE), CH_VERDICT_UNCLEAR);
    EXPECT_REASONS("For 3 cylinders the test is a likelier", "Lowest against highest", "How sure", "Your rule",
                   "All readings lie", "What would change this", "This rests on", "These tests speak of sealing");
    /* the test likelier than any one trouble, and a broken rule: no fault by the rule alone, and the test stands first; with four in five against the engine it is one */
    for (int more = 0; more < 2; more++) {
        all_well_of(3, 5.0);
        judgement.ratio_1 = 0.6;
        judgement.rule[CH_RULE_75_PERCENT].chance_broken_1 = 0.99;
        judgement.rule[CH_RULE_75_PERCENT].passes = false;
        blame(3, CH_CAUSE_MEASUREMENT_ERROR, more == 0 ? 0.43 : 0.19);
        for (int k = CH_CAUSE_RINGS_OR_BORE; k < CH_CAUSE_RINGS_OR_BORE + 5; k++)
            blame(3, (ch_cause)k, more == 0 ? 0.11 : 0.162);
        assert_int_equal(verdict_of(THREE), more == 0 ? CH_VERDICT_WATCH : CH_VERDICT_FAULT);
        if (more == 0)
            EXPECT_REASONS(
                ("Cylinder 3: measure again before taking anything apart: that the test misleads (about 43 %) "
                 "is likelier than any one trouble, though not than all of them together (about 55 %)."),
                "The readings are uneven", "Your rule", "Cylinder 3: the chance", "All readings lie",
                "What would change this: a leak-down test of cylinder 3.", "This rests on",
                "These tests speak of sealing");
    }
    assert_false(reasons_say("measure again"));
    /* the test likelier than the engine, where the rule is broken: why no fault is told stands first */
    all_well_of(3, 5.0);
    judgement.rule[CH_RULE_75_PERCENT].chance_broken_1 = 0.99;
    blame(3, CH_CAUSE_MEASUREMENT_ERROR, 0.6);
    blame(3, CH_CAUSE_RINGS_OR_BORE, 0.3);
    assert_int_equal(verdict_of(THREE), CH_VERDICT_UNCLEAR);
    EXPECT_REASONS("Cylinder 3: the test is a likelier explanation", "Your rule", "Cylinder 3: the chance",
                   "Lowest against highest", "All readings lie", "What would change this", "This rests on",
                   "These tests speak of sealing");
    /* an engine of another kind: one line, and no answer */
    all_well_of(3, 5.0);
    blame(3, CH_CAUSE_RINGS_OR_BORE, 0.95);
    judgement.outside = judgement.unreadable = true;
    ask(CH_QUESTION_OUTSIDE, 0);
    assert_int_equal(verdict_of(THREE), CH_VERDICT_UNCLEAR);
    EXPECT_REASONS("Outside.");
    /* a tracing that cannot be relied upon: first where it decides, behind what does otherwise */
    all_well_of(3, 5.0);
    judgement.trace.reliable = false;
    assert_int_equal(verdict_of(THREE), CH_VERDICT_UNCLEAR);
    EXPECT_REASONS("The evidence on this sheet is too odd", "Lowest against highest", "Your rule", "All readings lie",
                   "What would change this", "This rests on", "These tests speak of sealing");
    all_well_of(3, 5.0);
    judgement.trace.reliable = false;
    judgement.cylinder[0].chance_below_minimum_1 = 0.95;
    assert_int_equal(verdict_of(THREE), CH_VERDICT_FAULT);
    EXPECT_REASONS("Cylinder 1 shows", "Lowest against highest", "Your rule", "The evidence on this sheet is too odd",
                   "All readings lie", "What would change this", "This rests on", "These tests speak of sealing");
    /* a cylinder without any test comes before what would change the verdict */
    all_well_of(3, 5.0);
    judgement.cylinder[1].n = 0;
    ask(CH_QUESTION_MISSING, 2);
    assert_int_equal(
        verdict_of("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 3}, compression: [{cylinder: 1, "
                   "reading: 170}, {cylinder: 3, reading: 160}]}"),
        CH_VERDICT_UNCLEAR);
    EXPECT_REASONS("Lowest against highest", "How sure", "Missing.", "Your rule", "All readings lie",
                   "What would change this", "This rests on", "These tests speak of sealing");
}

/* What would change the verdict stands at one place among the reasons, whatever it is. */
static void what_would_change_the_verdict_stands_at_its_place(void **state)
{
    (void)state;
    for (int way = 0; way < 3; way++) {
        all_well_of(3, 5.0);
        judgement.assumed[CH_INPUT_CRANKING_SPEED] = true;
        if (way == 1) {
            judgement.repeat_cylinder = 2;
            judgement.cylinder[1].repeat_gain_1 = 0.1;
        }
        if (way == 2) {
            judgement.trace.next_check_count = 1;
            judgement.trace.next_check[0] =
                (ch_trace_check){.check = &knowledge.checks[0], .cylinder = 2, .minutes = 12.4};
        }
        (void)verdict_of(THREE);
        EXPECT_REASONS("Lowest against highest", "How sure", "Your rule", "All readings lie", "What would change this",
                       "This rests on", "Not on the sheet", "These tests");
        assert_true(reasons_say(way == 0   ? "a leak-down test of cylinder"
                                : way == 1 ? "one more reading of cylinder 2"
                                           : "(cylinder 2) is the check to do next, some 12 minutes"));
    }
}

#define THREE_UP                                                                                                       \
    "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 3}, conditions: {altitude: 450 m}, compression: "          \
    "[{cylinder: 1, reading: 170}, {cylinder: 2, reading: 165}, {cylinder: 3, reading: 160}]}"

/* Each weighty figure that was assumed is named, and no other; of the air's pressure the altitude says enough. */
static void what_was_assumed_is_named_each_by_itself(void **state)
{
    (void)state;
    static const struct {
        ch_input input;
        const char *says;
    } weighty[] = {{CH_INPUT_COMPRESSION_RATIO, "compression ratio"},
                   {CH_INPUT_INTAKE_CLOSES, "valve timing"},
                   {CH_INPUT_CRANKING_SPEED, "cranking speed"},
                   {CH_INPUT_AMBIENT_PRESSURE, "altitude or barometer"},
                   {CH_INPUT_ENGINE_TEMPERATURE, "engine temperature"},
                   {CH_INPUT_THROTTLE, "throttle open"},
                   {CH_INPUT_STROKES, "number of strokes"},
                   {CH_INPUT_GAUGE_ACCURACY, "gauge accuracy"}};
    enum { WEIGHTY = sizeof weighty / sizeof weighty[0] };
    for (int up = 0; up <= 1; up++)
        for (int k = 0; k <= WEIGHTY; k++) { /* one by one, then all */
            all_well_of(3, 5.0);
            for (int i = 0; i < CH_INPUT_COUNT; i++)
                judgement.assumed[i] = false;
            for (int i = 0; i < WEIGHTY; i++)
                judgement.assumed[weighty[i].input] = k == WEIGHTY || k == i;
            (void)verdict_of(up ? THREE_UP : THREE);
            for (int i = 0; i < WEIGHTY; i++) {
                const bool wanted = (k == WEIGHTY || k == i) && !(up && weighty[i].input == CH_INPUT_AMBIENT_PRESSURE);
                assert_int_equal(reasons_say(weighty[i].says), wanted);
            }
        }
}

/* One number that is a slip of the pen carries no fault: typed with a fraction where the others have none, and right in another unit or with
 * its point one place on. What another test bears out, or what is typed like the others, stays a fault that is asked about. */
static void a_slip_of_the_pen_is_no_fault(void **state)
{
    (void)state;
    static const struct {
        const char *second, *more, *asks;
        ch_verdict verdict;
    } TABLE[] = {
        {"12.2", "", "12.2 psi may be bar typed as psi", CH_VERDICT_UNCLEAR},
        {"17.6", "", "is 17.6 psi meant to be 176 psi", CH_VERDICT_UNCLEAR},
        {"17.6", ", leakdown: [{cylinder: 2, loss: 90 %}]", "is 17.6 psi meant to be 176 psi", CH_VERDICT_FAULT},
        {"18", "", "is 18 psi meant to be 180 psi", CH_VERDICT_FAULT},
        {"1760", "", "is 1760 psi meant to be 176 psi", CH_VERDICT_UNCLEAR},
        {"60.5", "", NULL, CH_VERDICT_FAULT},
    };
    const ch_judge_options options = {.seed = 1};
    for (size_t i = 0; i < sizeof TABLE / sizeof TABLE[0]; i++) {
        char text[400];
        snprintf(
            text, sizeof text,
            "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4}, compression: [{cylinder: 1, reading: 178}, "
            "{cylinder: 2, reading: %s}, {cylinder: 3, reading: 175}, {cylinder: 4, reading: 177}]%s}",
            TABLE[i].second, TABLE[i].more);
        ch_sheet sheet;
        sheet_of(text, &sheet);
        assert_int_equal(ch_judge(&sheet, &knowledge, &options, &judgement, NULL), CH_OK);
        bool asked = false;
        for (size_t k = 0; k < judgement.question_count; k++)
            asked = asked || (judgement.question[k].row == 1 &&
                              (TABLE[i].asks == NULL || strstr(judgement.question[k].text, TABLE[i].asks) != NULL));
        assert_int_equal(asked, TABLE[i].asks != NULL);
        assert_int_equal(judgement.verdict, TABLE[i].verdict);
        assert_true(TABLE[i].asks == NULL || !reasons_say("Cylinder 2: the chance that something"));
        ch_sheet_clear(&sheet);
    }
}

/* A look that was taken is not advised again. */
static void what_was_looked_into_is_not_looked_into_again(void **state)
{
    (void)state;
    for (int looked = 0; looked < 2; looked++) {
        char text[400];
        snprintf(
            text, sizeof text,
            "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: 170}, "
            "{cylinder: 2, reading: 165}], leakdown: [{cylinder: 1, loss: 60 %%}]%s}",
            looked ? ", observed: [{what: borescope_valve_edge, cylinder: 1}]" : "");
        all_well_of(2, 1.0);
        blame(1, CH_CAUSE_EXHAUST_VALVE, 0.9);
        assert_int_equal(verdict_of(text), CH_VERDICT_FAULT);
        assert_int_equal(reasons_say("a look through the plug hole"), looked == 0);
        assert_true(reasons_say("a repeated leak-down of cylinder 1"));
    }
}

/* Which cylinders lie side by side is told by the numbers of a row alone. */
static void a_gasket_between_two_hangs_on_how_they_are_numbered(void **state)
{
    (void)state;
    static const struct {
        const char *engine;
        int cylinders;
        bool told;
    } TABLE[] = {{"cylinders: 6, layout: vee", 6, true},
                 {"cylinders: 6, layout: flat", 6, true},
                 {"cylinders: 6, layout: inline", 6, false},
                 {"cylinders: 6", 6, true},
                 {"cylinders: 4", 4, false}};
    for (size_t i = 0; i < sizeof TABLE / sizeof TABLE[0]; i++) {
        char text[200];
        snprintf(text, sizeof text,
                 "{sheet: 1, units: {pressure: psi}, engine: {%s}, compression: [{cylinder: 1, reading: 70}]}",
                 TABLE[i].engine);
        all_well_of(TABLE[i].cylinders, 1.0);
        blame(1, CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS, 0.9);
        verdict_of(text);
        assert_int_equal(reasons_say("Which do hangs on how the maker numbers them"), TABLE[i].told);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_slip_of_the_pen_is_no_fault),
        cmocka_unit_test(what_was_looked_into_is_not_looked_into_again),
        cmocka_unit_test(a_gasket_between_two_hangs_on_how_they_are_numbered),
        cmocka_unit_test(the_first_line_that_holds_decides),
        cmocka_unit_test(reasons_stand_in_the_order_of_what_they_decide),
        cmocka_unit_test(what_would_change_the_verdict_stands_at_its_place),
        cmocka_unit_test(what_was_assumed_is_named_each_by_itself),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
