/* The reasons of a verdict in plain sentences, the weightiest first (docs/method-judging.md, "The order of its reasons").
 *
 * What three cylinders and more are told in the same words is told once, with the range of what differs. */
#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "grounds.h"

/* The readings break a rule, and no fault is made of it, since the test comes first. */
static bool withheld(const grounds *g, int c)
{
    const ch_rule_outcome *rule = grounds_chosen(g);
    return grounds_measuring_first(g, c) &&
           ((rule->applies && rule->chance_broken_1 >= BROKEN_1 && g->j->lowest == c + 1) ||
            g->j->cylinder[c].chance_below_minimum_1 >= BROKEN_1);
}

/* Put a reason in its place: heavier ones first, equal ones as they come. The lightest falls off a full list. */
__attribute__((format(printf, 3, 4))) static void because(grounds *g, double weight, const char *format, ...)
{
    ch_judgement *j = g->j;
    size_t at = j->because_count;
    while (at > 0 && g->weight[at - 1] < weight)
        at--;
    if (at >= CH_REASONS_MAX)
        return;
    if (j->because_count < CH_REASONS_MAX)
        j->because_count++;
    for (size_t i = j->because_count - 1; i > at; i--) {
        memcpy(j->because[i], j->because[i - 1], CH_REASON_SIZE);
        g->weight[i] = g->weight[i - 1];
    }
    g->weight[at] = weight;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(j->because[at], CH_REASON_SIZE, format, arguments);
    va_end(arguments);
}

/* Title of a cause or check within a sentence: up to its colon, first letter small. */
static judge_words say_title(const char *title)
{
    judge_words words;
    size_t n = strcspn(title, ":");
    if (n >= sizeof words.text)
        n = sizeof words.text - 1;
    memcpy(words.text, title, n);
    words.text[n] = '\0';
    words.text[0] = (char)tolower((unsigned char)words.text[0]);
    return words;
}

/* The second cause is not worth naming where it would stand there with 0 %. */
static const double LEAST_SECOND_1 = 0.005;

/* It is asked whether the number of a cylinder's only reading is right: what is made of it holds only then. */
static bool number_is_asked(const grounds *g, int c)
{
    const ch_judgement *j = g->j;
    const double most_pa = j->highest > 0 ? j->cylinder[j->highest - 1].mean_pa : NAN;
    for (size_t i = 0; i < j->question_count; i++) {
        const ch_question *q = &j->question[i];
        if (q->cylinder == c + 1 && q->row != SIZE_MAX && j->cylinder[c].n == 1 &&
            (q->kind == CH_QUESTION_IMPOSSIBLE ||
             (q->kind == CH_QUESTION_UNIT && j->cylinder[c].mean_pa < 0.3 * most_pa)))
            return true;
    }
    return false;
}

/* Whether two cylinders lie side by side is read off their numbers, which engines of two banks count in two ways. */
static bool numbering_is_assumed(const ch_sheet_engine *engine)
{
    return engine->layout == CH_LAYOUT_VEE || engine->layout == CH_LAYOUT_FLAT ||
           (engine->layout == CH_LAYOUT_UNSTATED && engine->cylinders > 4);
}

static void reason_numbering(grounds *g)
{
    double most_1 = 0.0;
    for (int c = 0; c < g->j->cylinders; c++)
        most_1 = fmax(most_1, g->j->trace.cylinder[c].cause_1[CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS]);
    if (most_1 >= SUSPECT_1 && numbering_is_assumed(&g->sheet->engine))
        because(g, 49.0 + 40.0 * most_1,
                "A gasket goes between cylinders that lie side by side. Which do hangs on how the maker numbers them: "
                "%sthe sheet cannot tell. Look at the car: if no two of the low ones share a wall, it is not that.",
                g->sheet->engine.layout == CH_LAYOUT_UNSTATED
                    ? "in line, through one bank and then the other, or across; "
                    : "through one bank and then the other, or across; ");
}

static void reason_cause(grounds *g, int c)
{
    const double *cause_1 = g->j->trace.cylinder[c].cause_1;
    int first = CH_CAUSE_RINGS_OR_BORE, second = CH_CAUSE_PISTON_DAMAGE;
    for (int k = CH_CAUSE_RINGS_OR_BORE + 1; k < CH_CAUSE_MEASUREMENT_ERROR; k++) {
        if (cause_1[k] > cause_1[first]) {
            second = first;
            first = k;
        } else if (cause_1[k] > cause_1[second]) {
            second = k;
        }
    }
    const judge_words fault = judge_say_chance(g->fault_1[c]), a = say_title(g->knowledge->causes[first].title),
                      part_a = judge_say_share(cause_1[first]), b = say_title(g->knowledge->causes[second].title),
                      part_b = judge_say_share(cause_1[second]);
    const bool alone = cause_1[second] < LEAST_SECOND_1;
    /* else this chance and that of a sound cylinder, told beside it, would not make one */
    const bool misleads = g->error_1[c] >= CH_MISLEADS_TOLD_1;
    const judge_words error = judge_say_chance(g->error_1[c]);
    because(g, 50.0 + 40.0 * g->fault_1[c],
            "Cylinder %d: %sthe chance that something is wrong with it is %s%s%s; likeliest is \"%s\" (%s)%s%s%s%s%s.",
            c + 1, number_is_asked(g, c) ? "if its number is right, " : "", fault.text,
            misleads ? ", that its test misleads " : "", misleads ? error.text : "", a.text, part_a.text,
            alone ? "" : ", then \"", alone ? "" : b.text, alone ? "" : "\" (", alone ? "" : part_b.text,
            alone ? "" : ")");
}

/* A leak into the coolant that no cylinder has most of. */
static void reason_coolant(grounds *g)
{
    const double all_1 = grounds_coolant_1(g);
    double most_1 = 0.0;
    for (int c = 0; c < g->j->cylinders; c++)
        most_1 = fmax(most_1, g->fault_1[c]);
    const judge_words chance = judge_say_chance(all_1);
    if (all_1 >= SUSPECT_1 && most_1 < 0.6 * all_1)
        because(g, 60.0 + 20.0 * all_1,
                "The chance that a gasket or a crack leaks into the coolant somewhere is %s; nothing here tells which "
                "cylinder.",
                chance.text);
}

/* Something is wrong somewhere, and no cylinder that was tested stands out. */
static void reason_somewhere(grounds *g)
{
    bool untested = false;
    for (int c = 0; c < g->j->cylinders; c++) {
        if (g->is_tested[c] && g->fault_1[c] >= SUSPECT_1)
            return;
        untested = untested || g->fault_1[c] >= SUSPECT_1;
    }
    const double any_1 = g->j->trace.any_fault_1;
    const judge_words chance = judge_say_chance(any_1);
    if (untested || any_1 >= SOMEWHERE_1)
        because(g, 62.0 + 20.0 * any_1,
                "The chance that something is wrong with one cylinder or another is %s, counting all %d together; "
                "nothing here tells which.",
                chance.text, g->j->cylinders);
}

/* The three worst of the cylinders that were tested, the worst first; or how little speaks against the worst. */
static void reason_causes(grounds *g)
{
    bool told[CH_CYLINDERS_MAX] = {false};
    if (!g->j->trace.reliable)
        return;
    reason_coolant(g);
    reason_somewhere(g);
    reason_numbering(g);
    for (int round = 0; round < 3; round++) {
        int worst = -1;
        for (int c = 0; c < g->j->cylinders; c++)
            if (g->is_tested[c] && !told[c] && (worst < 0 || g->fault_1[c] > g->fault_1[worst]))
                worst = c;
        if (worst < 0)
            return;
        told[worst] = true;
        if (g->fault_1[worst] >= SUSPECT_1) {
            reason_cause(g, worst);
        } else {
            const judge_words fault = judge_say_chance(g->fault_1[worst]);
            if (round == 0)
                because(g, 58.0, "How sure: the chance that something is wrong with cylinder %d is %s%s.", worst + 1,
                        fault.text, g->tested > 1 ? ", and no more with any other tested" : "");
            return;
        }
    }
}

static void reason_balance(grounds *g)
{
    const ch_judgement *j = g->j;
    if (isnan(j->ratio_1))
        return;
    const judge_words ratio = judge_say_part(j->ratio_1), low = judge_say_part(j->ratio_interval_1[0]),
                      high = judge_say_part(j->ratio_interval_1[1]),
                      least = judge_say_pressure(j->cylinder[j->lowest - 1].mean_pa, g->unit),
                      most = judge_say_pressure(j->cylinder[j->highest - 1].mean_pa, g->unit);
    const bool uneven = j->ratio_1 < UNEVEN_1;
    if (j->ratio_1 > 0.9999)
        because(g, 60.0,
                "All cylinders show %s alike; as far as the readings can tell, the lowest has between %s and %s of the "
                "highest "
                "(95 in 100).",
                most.text, low.text, high.text);
    else
        because(g, uneven ? 85.0 : 60.0,
                "%s: cylinder %d shows %s, %s of cylinder %d with %s; as far as the readings can tell, the true figure "
                "lies "
                "between %s and %s (95 in 100).",
                uneven ? "The readings are uneven" : "Lowest against highest", j->lowest, least.text, ratio.text,
                j->highest, most.text, low.text, high.text);
}

const char *ch_judge_rule_silent(const ch_sheet *sheet, const ch_judgement *judgement)
{
    const ch_limits *limits = &sheet->engine.limits;
    int measured = 0;
    for (int c = 0; c < judgement->cylinders; c++)
        measured += judgement->cylinder[c].n > 0;
    if (judgement->rule[judgement->chosen_rule].applies)
        return NULL;
    if (measured == 0)
        return "no cylinder was read dry";
    if (judgement->chosen_rule == CH_RULE_MANUAL && !ch_quantity_given(&limits->minimum) &&
        !ch_quantity_given(&limits->spread))
        return "the sheet has no limits of the manual";
    if (judgement->cylinders == 1)
        return "the engine has no second cylinder to hold this one against";
    return measured == 1 ? "one cylinder alone was read dry" : "no cylinder shows any pressure";
}

/* A cylinder whose test comes first, with too little chance of being sound to be passed over. */
static bool is_to_be_repeated(const grounds *g, int c)
{
    return grounds_measuring_first(g, c) && g->error_1[c] + g->fault_1[c] >= 0.5;
}

/* One more repeat is weighed by what it would change of the chosen rule's answer: of a rule that gives none, nothing is known; and where the test comes
 * first, its repeat tells what that does not count: whether it misleads. */
static const char *repeat_hardly_moves(const grounds *g)
{
    for (int c = 0; c < g->j->cylinders; c++)
        if (is_to_be_repeated(g, c))
            return "";
    return grounds_chosen(g)->applies ? " One more repeat of any reading would hardly move it." : "";
}

static void reason_rule(grounds *g)
{
    const ch_rule_outcome *rule = grounds_chosen(g);
    const char *silent = ch_judge_rule_silent(g->sheet, g->j);
    if (silent != NULL) {
        because(g, 38.0, "Your rule, \"%s\", says nothing here: %s.", rule->says, silent);
        return;
    }
    const judge_words chance = judge_say_chance(rule->chance_broken_1);
    because(g, rule->chance_broken_1 >= MAY_BE_BROKEN_1 ? 80.0 : 55.0,
            "Your rule, \"%s\", is %s by the readings; the chance that the true figures break it is %s.", rule->says,
            rule->passes ? "kept" : "broken", chance.text);
}

/* Three cylinders and more that are told the same are told together. */
enum { TOGETHER = 3 };

static int count_of(uint32_t cylinders)
{
    int n = 0;
    for (; cylinders != 0; cylinders &= cylinders - 1)
        n++;
    return n;
}

typedef struct said_range {
    char text[2 * JUDGE_WORDS + 4];
} said_range;

/* "104 psi to 113 psi", or the one where both are the same. */
static said_range say_range(judge_words least, judge_words most)
{
    said_range range;
    snprintf(range.text, sizeof range.text, "%s%s%s", least.text, strcmp(least.text, most.text) == 0 ? "" : " to ",
             strcmp(least.text, most.text) == 0 ? "" : most.text);
    return range;
}

/* Cylinders below the manual's minimum with a chance from `least_1` up to under `most_1`, in one sentence where they are many. Returns whether they were. */
static bool minimum_together(grounds *g, const char *manual, const char *here, double least_1, double most_1)
{
    char which[CH_JUDGE_LIST];
    uint32_t cylinders = 0;
    double pressure_pa[2] = {INFINITY, -INFINITY}, chance_1[2] = {1.0, 0.0};
    for (int c = 0; c < g->j->cylinders; c++) {
        const ch_judged_cylinder *one = &g->j->cylinder[c];
        if (!(one->chance_below_minimum_1 >= least_1) || !(one->chance_below_minimum_1 < most_1))
            continue;
        cylinders |= 1U << c;
        pressure_pa[0] = fmin(pressure_pa[0], one->mean_pa);
        pressure_pa[1] = fmax(pressure_pa[1], one->mean_pa);
        chance_1[0] = fmin(chance_1[0], one->chance_below_minimum_1);
        chance_1[1] = fmax(chance_1[1], one->chance_below_minimum_1);
    }
    if (count_of(cylinders) < TOGETHER)
        return false;
    ch_judge_cylinders(cylinders, which);
    const said_range pressures = say_range(judge_say_pressure(pressure_pa[0], g->unit),
                                           judge_say_pressure(pressure_pa[1], g->unit)),
                     chances = say_range(judge_say_chance(chance_1[0]), judge_say_chance(chance_1[1]));
    because(g, 70.0 + 15.0 * chance_1[1],
            "Cylinders %s show %s, the manual's minimum is %s%s: the chance that each is below, gauge error counted "
            "in, is %s.",
            which, pressures.text, manual, here, chances.text);
    return true;
}

static void reason_minimum(grounds *g)
{
    const ch_judgement *j = g->j;
    const double manual_pa = g->sheet->engine.limits.minimum.si;
    const judge_words manual = judge_say_pressure(manual_pa, g->unit),
                      minimum = judge_say_pressure(j->minimum_pa, g->unit);
    const bool moved = strcmp(manual.text, minimum.text) != 0;
    char here[JUDGE_WORDS + 32] = "";
    if (moved)
        snprintf(here, sizeof here, ", which would read here as %s", minimum.text);
    const bool surely = minimum_together(g, manual.text, here, BROKEN_1, INFINITY),
               perhaps = minimum_together(g, manual.text, here, MAY_BE_BROKEN_1, BROKEN_1);
    int saved = 0; /* above the minimum on this day, and below what the manual says */
    for (int c = 0; c < j->cylinders; c++) {
        const ch_judged_cylinder *one = &j->cylinder[c];
        saved += one->n > 0 && one->mean_pa < manual_pa * (1.0 - 1e-9) && one->chance_below_minimum_1 < MAY_BE_BROKEN_1
                     ? 1
                     : 0;
        if (!(one->chance_below_minimum_1 >= MAY_BE_BROKEN_1) ||
            (one->chance_below_minimum_1 >= BROKEN_1 ? surely : perhaps))
            continue;
        const judge_words mean = judge_say_pressure(one->mean_pa, g->unit),
                          chance = judge_say_chance(one->chance_below_minimum_1);
        because(g, 70.0 + 15.0 * one->chance_below_minimum_1,
                "Cylinder %d shows %s, the manual's minimum is %s%s: the chance that it is below, gauge error "
                "counted in, is %s.",
                c + 1, mean.text, manual.text, here, chance.text);
    }
    if (saved > 0 && moved)
        because(g, 66.0,
                "The manual's minimum, %s, is taken to be meant at sea level, for a warm engine cranked at the usual "
                "speed with an open throttle: in the conditions on the sheet it would read %s, and %s. Where the "
                "manual gives it for a height or says it otherwise, that counts.",
                manual.text, minimum.text,
                saved == j->cylinders ? "all readings lie above that"
                                      : "the readings below it as printed lie above that");
}

static void reason_level(grounds *g)
{
    const ch_judgement *j = g->j;
    uint32_t below = 0;
    char which[CH_JUDGE_LIST];
    int count = 0, measured = 0;
    const ch_judged_cylinder *any = NULL;
    for (int c = 0; c < j->cylinders; c++) {
        const ch_judged_cylinder *one = &j->cylinder[c];
        if (one->n == 0 || isnan(one->expected_pa[0]))
            continue;
        measured++;
        any = one;
        if (one->mean_pa < one->expected_pa[0]) {
            below |= 1U << c;
            count++;
        }
    }
    if (any == NULL)
        return;
    const judge_words low = judge_say_pressure(any->expected_pa[0], g->unit),
                      high = judge_say_pressure(any->expected_pa[1], g->unit);
    if (count > 0)
        because(g, 65.0,
                "Cylinder%s %s read%s below what a sound engine of this kind would show here (%s to %s, nine times in "
                "ten).",
                count == 1 ? "" : "s", ch_judge_cylinders(below, which), count == 1 ? "s" : "", low.text, high.text);
    else
        because(g, 45.0,
                "%s within or above what a sound engine of this kind would show here (%s to %s, nine times in ten).",
                measured == 1 ? "The reading lies" : "All readings lie", low.text, high.text);
}

typedef struct leak_from {
    char text[240];
} leak_from;

/* Where a loss is not the percent that was read: what it is the mean of, or what it is converted to, and from what. */
static leak_from say_converted(const judge_leak *leak)
{
    leak_from from = {""};
    if (judge_losses_apart(leak->least_1, leak->most_1)) {
        const judge_words least = judge_say_part(leak->least_1), most = judge_say_part(leak->most_1);
        snprintf(from.text, sizeof from.text, " in the mean of %d tests that do not agree (%s to %s%s)", leak->rows,
                 least.text, most.text,
                 leak->converted == NULL ? "" : " as the usual orifice of 1.016 mm would show it");
        return from;
    }
    if (leak->converted == NULL)
        return from;
    const judge_words loss = judge_say_typed(&leak->converted->loss),
                      orifice = judge_say_typed(&leak->converted->orifice);
    snprintf(from.text, sizeof from.text, " as the usual orifice of 1.016 mm would show it (read: %s%s through %s)",
             leak->rows > 1 ? "among others " : "", loss.text, orifice.text);
    return from;
}

static const char *heard_at(const judge_leak *leak)
{
    return (leak->heard & CH_HEARD_COOLANT) != 0   ? "the coolant"
           : (leak->heard & CH_HEARD_EXHAUST) != 0 ? "the exhaust"
           : leak->heard != 0                      ? "the intake"
                                                   : "another plug hole";
}

/* Limits of the trade, the first that a cylinder is over counting. */
typedef enum over {
    OVER_NONE,
    OVER_OTHERS,
    OVER_LIMIT,
    OVER_COOLANT,
    OVER_EXHAUST,
    OVER_INTAKE,
    OVER_HOLE,
    OVERS
} over;

static over over_what(const judge_leak *leak)
{
    if (leak->over_others || leak->over_limit || !leak->by_path)
        return leak->over_others ? OVER_OTHERS : leak->over_limit ? OVER_LIMIT : OVER_NONE;
    return (leak->heard & CH_HEARD_COOLANT) != 0   ? OVER_COOLANT
           : (leak->heard & CH_HEARD_EXHAUST) != 0 ? OVER_EXHAUST
           : leak->heard != 0                      ? OVER_INTAKE
                                                   : OVER_HOLE;
}

/* Cylinders over the same limit, whose losses are told as they were read, in one sentence where they are many. */
static uint32_t leaks_together(grounds *g, over what)
{
    char which[CH_JUDGE_LIST];
    uint32_t cylinders = 0;
    double loss_1[2] = {INFINITY, -INFINITY}, others_1[2] = {INFINITY, -INFINITY};
    const judge_leak *first = NULL;
    for (int c = 0; c < g->j->cylinders; c++) {
        const judge_leak *leak = &g->leak[c];
        if (over_what(leak) != what || say_converted(leak).text[0] != '\0')
            continue;
        cylinders |= 1U << c;
        first = first == NULL ? leak : first;
        loss_1[0] = fmin(loss_1[0], leak->loss_1);
        loss_1[1] = fmax(loss_1[1], leak->loss_1);
        others_1[0] = fmin(others_1[0], leak->others_1);
        others_1[1] = fmax(others_1[1], leak->others_1);
    }
    if (count_of(cylinders) < TOGETHER)
        return 0;
    ch_judge_cylinders(cylinders, which);
    const said_range losses = say_range(judge_say_part(loss_1[0]), judge_say_part(loss_1[1])),
                     others = say_range(judge_say_part(others_1[0]), judge_say_part(others_1[1]));
    if (what == OVER_OTHERS)
        because(g, 71.0,
                "Leak-down, cylinders %s: %s is lost, where the middle of the others tested loses %s. 8 points more "
                "than the others, from 15 %% on, are worth following up (common practice).",
                which, losses.text, others.text);
    else if (what == OVER_LIMIT)
        because(g, 71.0,
                "Leak-down, cylinders %s: %s is lost; the usual limit is 25 %%, 60 of 80 psi held (FAA AC 43.13-1B).",
                which, losses.text);
    else
        because(g, 71.0,
                "Leak-down, cylinders %s: air was heard at %s, where a cylinder that seals lets none through. Grit on "
                "a seat sounds the same, so it wants hearing twice.",
                which, heard_at(first));
    return cylinders;
}

/* Leak-down by the trade's limits: each cylinder that is over one, with the one that it is over. */
static void reason_leaks(grounds *g)
{
    uint32_t told = 0;
    for (int what = OVER_NONE + 1; what < OVERS; what++)
        told |= leaks_together(g, (over)what);
    for (int c = 0; c < g->j->cylinders; c++) {
        const judge_leak *leak = &g->leak[c];
        if ((told >> c & 1U) != 0)
            continue;
        const judge_words loss = judge_say_part(leak->loss_1), others = leak->others_1 > 0.0 && leak->others_1 < 0.005
                                                                            ? judge_say_chance(leak->others_1)
                                                                            : judge_say_part(leak->others_1);
        const leak_from from = say_converted(leak);
        if (leak->over_others)
            because(g, 71.0,
                    "Leak-down, cylinder %d: %s is lost%s, where the other%s tested lose%s %s. 8 points more than the "
                    "others, from 15 %% on, are worth following up (common practice).",
                    c + 1, loss.text, from.text, leak->others == 1 ? "" : "s", leak->others == 1 ? "s" : "",
                    others.text);
        else if (leak->over_limit)
            because(
                g, 71.0,
                "Leak-down, cylinder %d: %s is lost%s; the usual limit is 25 %%, 60 of 80 psi held (FAA AC 43.13-1B).",
                c + 1, loss.text, from.text);
        else if (leak->by_path)
            because(
                g, 71.0,
                "Leak-down, cylinder %d: air was heard at %s, where a cylinder that seals lets none through. Grit on "
                "a seat sounds the same, so it wants hearing twice.",
                c + 1, heard_at(leak));
    }
}

static void reason_noted(grounds *g)
{
    for (size_t i = 0; i < g->noted_count; i++) {
        char more[32] = "";
        if (g->noted[i].more > 0)
            snprintf(more, sizeof more, " and %d more", g->noted[i].more);
        const bool stop = g->noted[i].do_not_run;
        because(g, stop ? 100.0 : 72.0, "%s: %s%s. %s%s", stop ? "Seen" : "Noted", g->noted[i].titles, more,
                stop ? "Do not crank or run it. " : "", g->noted[i].follow_up);
    }
}

/* Above the rule that is broken, which makes no fault. */
static const double WITHHELD_WEIGHT = 87.0;

/* The test is likelier to mislead than any one trouble, though not than all together. */
static void reason_rival(grounds *g, int c)
{
    const judge_words error = judge_say_chance(g->error_1[c]), fault = judge_say_chance(g->fault_1[c]);
    because(g, withheld(g, c) ? WITHHELD_WEIGHT : 50.0 + 40.0 * g->error_1[c],
            "Cylinder %d: measure again before taking anything apart: that the test misleads (%s) is likelier than any "
            "one trouble, though not than all of them together (%s).",
            c + 1, error.text, fault.text);
}

static void reason_measuring(grounds *g)
{
    const ch_judgement *j = g->j;
    if (j->unreadable)
        return;
    if (!j->trace.reliable) {
        because(g, j->verdict == CH_VERDICT_UNCLEAR ? 95.0 : 52.0,
                "The evidence on this sheet is too odd for the tracing to weigh it properly: no cause can be named. "
                "Repeat the "
                "readings that stand out.");
        return;
    }
    int worst = -1, count = 0, rival = -1;
    bool first = false; /* it is why no fault is told */
    for (int c = 0; c < j->cylinders; c++)
        if (is_to_be_repeated(g, c) && grounds_measuring_explains(g, c)) {
            count++;
            worst = worst < 0 || g->error_1[c] > g->error_1[worst] ? c : worst;
            first = first || withheld(g, c);
        } else if (is_to_be_repeated(g, c)) {
            rival = rival < 0 || g->error_1[c] > g->error_1[rival] ? c : rival;
        }
    if (j->do_not_run) /* nobody is sent to crank what must not be cranked */
        return;
    if (rival >= 0)
        reason_rival(g, rival);
    if (worst < 0)
        return;
    const double weight = fmax(50.0 + 40.0 * g->error_1[worst], first ? WITHHELD_WEIGHT : 0.0);
    const judge_words chance = judge_say_chance(g->error_1[worst]), fault = judge_say_chance(g->fault_1[worst]);
    if (count == 1)
        because(
            g, weight,
            "Cylinder %d: the test is a likelier explanation (%s) than the engine (%s). Measure again before taking "
            "anything apart.",
            worst + 1, chance.text, fault.text);
    else
        because(g, weight,
                "For %d cylinders the test is a likelier explanation (up to %s) than the engine. Measure again, "
                "throttle open and "
                "battery charged, before taking anything apart.",
                count, chance.text);
}

/* Of rows, not of all readings together; told of several cylinders it is of none. */
static bool is_of_rows(const ch_question *q)
{
    return q->cylinder > 0 || strncmp(q->text, "Cylinders ", 10) == 0;
}

/* Questions that bear on the verdict, in their own words. */
static void reason_questions(grounds *g)
{
    ch_question told[CH_QUESTIONS_MAX];
    const size_t count = ch_judge_questions_told(g->j, told);
    for (size_t i = 0; i < count; i++) {
        const ch_question *q = &told[i];
        switch (q->kind) {
        case CH_QUESTION_UNIT:
        case CH_QUESTION_IMPOSSIBLE:
            because(g, q->kind == CH_QUESTION_UNIT && is_of_rows(q) ? 58.0 : 98.0, "%s", q->text);
            break;
        case CH_QUESTION_BAROMETER: because(g, 99.0, "%s", q->text); break;
        case CH_QUESTION_ALL_LOW:
        case CH_QUESTION_THROTTLE_SHUT: because(g, 75.0, "%s", q->text); break;
        case CH_QUESTION_OUTSIDE: because(g, 100.0, "%s", q->text); break;
        case CH_QUESTION_COLD_OR_SLOW: because(g, 64.0, "%s", q->text); break;
        case CH_QUESTION_ONE_HIGH: because(g, 88.0, "%s", q->text); break;
        case CH_QUESTION_OIL_DOSE: because(g, 96.0, "%s", q->text); break;
        case CH_QUESTION_BEYOND_SCALE:
        case CH_QUESTION_CONTRADICTION: because(g, 68.0, "%s", q->text); break;
        case CH_QUESTION_MISSING: because(g, g->tested < g->j->cylinders ? 57.0 : 35.0, "%s", q->text); break;
        default: break;
        }
    }
}

static void reason_rests_on(grounds *g)
{
    const ch_judgement *j = g->j;
    const ch_sheet *sheet = g->sheet;
    size_t dry = 0;
    int cylinders = 0;
    for (int c = 0; c < j->cylinders; c++) {
        dry += (size_t)j->cylinder[c].n;
        cylinders += j->cylinder[c].n > 0;
    }
    judge_words sd;
    ch_si_format(j->pooled_sd_pa, j->pooled_sd_pa, g->unit, sd.text, sizeof sd.text);
    char repeats[120] = "";
    if (dry > 0 && j->pooled_assumed)
        snprintf(repeats, sizeof repeats, "; nothing was repeated, so a scatter of %s is assumed", sd.text);
    else if (dry > 0)
        snprintf(repeats, sizeof repeats, "; readings repeat within %s (one standard deviation)", sd.text);
    char left_out[48] = "";
    if (j->wet_left_out > 0)
        snprintf(left_out, sizeof left_out, " (%zu more %s not count)", j->wet_left_out,
                 j->wet_left_out == 1 ? "does" : "do");
    because(g, 30.0,
            "This rests on %zu dry reading%s of %d cylinder%s, %zu wet%s, %zu leak-down and %zu thing%s seen%s.", dry,
            dry == 1 ? "" : "s", cylinders, cylinders == 1 ? "" : "s", sheet->wet_count - j->wet_left_out, left_out,
            sheet->leakdown_count, sheet->observed_count, sheet->observed_count == 1 ? "" : "s", repeats);
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
    char assumed[200] = "";
    size_t used = 0;
    for (size_t i = 0; i < sizeof weighty / sizeof weighty[0]; i++)
        if (j->assumed[weighty[i].input] &&
            !(weighty[i].input == CH_INPUT_AMBIENT_PRESSURE && ch_quantity_given(&sheet->conditions.altitude)))
            used +=
                (size_t)snprintf(assumed + used, sizeof assumed - used, "%s%s", used > 0 ? ", " : "", weighty[i].says);
    if (used > 0 && dry > 0)
        because(g, 25.0, "Not on the sheet, so assumed, with the doubt that this brings: %s.", assumed);
}

/* Is a result of looking through its plug hole noted, of anything that the check may find? */
static bool was_looked_into(const grounds *g, int cylinder)
{
    static const char ID[] = "borescope";
    const ch_knowledge_check *look = ch_knowledge_check_find(g->knowledge, ID, sizeof ID - 1);
    for (size_t i = 0; look != NULL && i < g->sheet->observed_count; i++) {
        const ch_observation *row = &g->sheet->observed[i];
        const ch_knowledge_observation *seen =
            ch_knowledge_observation_find(g->knowledge, row->what, strlen(row->what));
        for (size_t y = 0; seen != NULL && y < look->yields.count; y++)
            if (seen == &g->knowledge->observations[look->yields.at[y]] && seen->kind == CH_OBSERVATION_CHECK &&
                (row->cylinder == 0 || row->cylinder == cylinder))
                return true;
    }
    return false;
}

static void reason_what_would_change(grounds *g)
{
    const ch_judgement *j = g->j;
    if (j->do_not_run) {
        because(g, 40.0,
                "What would change this: that it is put right, or that a second look shows it was not so, and a new "
                "test after it.");
        return;
    }
    if (j->unreadable) {
        because(g, 40.0,
                "What would change this: the readings as the dial shows them, in its own unit. All the rest follows "
                "from them.");
        return;
    }
    for (int c = 0; c < j->cylinders; c++)
        if (number_is_asked(g, c)) {
            because(g, 40.0,
                    "What would change this: the number of cylinder %d as the dial shows it, read again where that is "
                    "in doubt.",
                    c + 1);
            return;
        }
    if (j->repeat_cylinder > 0) {
        const judge_words points = judge_say_part(j->cylinder[j->repeat_cylinder - 1].repeat_gain_1);
        because(g, 40.0,
                "What would change this: one more reading of cylinder %d would be expected to move the chance of a "
                "broken rule "
                "by %s.",
                j->repeat_cylinder, points.text);
        return;
    }
    if (j->trace.reliable && j->trace.next_check_count > 0) {
        const ch_trace_check *next = &j->trace.next_check[0];
        const judge_words check = say_title(next->check->title);
        const bool repeat = strcmp(next->check->id, "repeat_reading") == 0;
        char where[32] = "";
        if (next->cylinder > 0)
            snprintf(where, sizeof where, " (cylinder %d)", next->cylinder);
        because(g, 40.0, "What would change this: \"%s\"%s is the check to do next, some %ld minutes.%s", check.text,
                where, lround(next->minutes), repeat ? "" : repeat_hardly_moves(g));
        return;
    }
    int worst = 0;
    bool measured = false, tested = false;
    for (int c = 0; c < j->cylinders; c++) {
        measured = measured || j->cylinder[c].n > 0;
        if (g->fault_1[c] + g->error_1[c] > g->fault_1[worst] + g->error_1[worst])
            worst = c;
    }
    for (size_t i = 0; i < g->sheet->leakdown_count; i++)
        tested = tested || g->sheet->leakdown[i].cylinder == worst + 1;
    because(g, 40.0, "What would change this: %s of cylinder %d.%s",
            !measured                       ? "a dry compression test"
            : !tested                       ? "a leak-down test"
            : was_looked_into(g, worst + 1) ? "a repeated leak-down"
                                            : "a look through the plug hole (borescope) or a repeated leak-down",
            worst + 1, repeat_hardly_moves(g));
}

void grounds_tell(grounds *g)
{
    if (g->j->outside) {
        if (g->j->do_not_run)
            reason_noted(g);
        reason_questions(g);
        return;
    }
    reason_causes(g);
    reason_balance(g);
    reason_rule(g);
    reason_minimum(g);
    reason_level(g);
    reason_leaks(g);
    reason_noted(g);
    reason_measuring(g);
    reason_questions(g);
    reason_what_would_change(g);
    reason_rests_on(g);
    because(g, 10.0,
            g->j->verdict == CH_VERDICT_SOUND
                ? "These tests show nothing wrong. They speak of sealing only, on that day: not of bearings, oil "
                  "supply, belts or "
                  "anything else. The car's own manual has the last word."
                : "These tests speak of sealing only, on that day. The car's own manual has the last word.");
}
