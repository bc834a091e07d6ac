/* The verdict, by a rule written down, and its reasons in plain sentences.
 *
 * P(fault) of a cylinder = 1 - P(sound) - P(measurement error), from the tracing. "Measuring explains it": P(measurement error) of that
 * cylinder is larger than its P(fault). "Measuring comes first": it does, or P(measurement error) >= 0.25 and larger than that of any one trouble. The first line that holds decides (docs/method-judging.md tells why each figure is what it is):
 *
 *   fault    something was seen that has to be put right before the engine is cranked or run (noted.c)
 *   unclear  it is an engine of another kind (outside.c), or a reading is above what is possible, so there is nothing to judge
 *   fault    the readings look like another unit's, and yet the chosen rule, one that compares cylinders by parts, is broken with a chance
 *            >= 0.9 and measuring does not come first of the lowest: it is broken in any unit
 *   unclear  the readings look like another unit's
 *   fault    P(fault) of a cylinder, or that any leaks into the coolant, >= 0.8, the tracing being reliable, and it is not asked whether
 *            one cylinder is high rather than the others low, with nothing but dry readings to tell
 *   fault    chosen rule broken with a chance >= 0.9, and measuring does not come first of the lowest cylinder
 *   fault    manual's minimum broken with a chance >= 0.9, and measuring does not come first of that cylinder
 *   watch    measuring explains every tested cylinder alike, and yet the chosen rule is broken with a chance >= 0.9 or P(fault) of a
 *            cylinder is >= 0.1: what misleads all alike sets none apart, and a worn engine looks much the same
 *   watch    something was noted that wants following up whatever the cylinders read (noted.c)
 *   unclear  measuring explains a cylinder, with P(measurement error) >= 0.5
 *   watch    chosen rule or minimum broken with a chance >= 0.1, or lowest over highest below 0.85
 *   watch    a cylinder reads below the 5 % end of what a sound one would show
 *   watch    a leak-down test loses more than the trade accepts, or air is heard where none should be (leaks.c)
 *   unclear  the tracing is not reliable
 *   watch    P(fault) of a cylinder >= 0.25, or that any leaks into the coolant: no reading tells which
 *   watch    chance >= 0.5 that there is a cylinder with a fault, whichever it is
 *   unclear  two tests of a cylinder contradict each other, or a reading lies beyond the gauge's scale
 *   unclear  a cylinder was neither measured dry nor leak-tested
 *   sound    otherwise
 *
 * Nothing here ever says that an engine is safe or fit to drive. */
#include <math.h>
#include <string.h>

#include "grounds.h"

static const double FAULT_1 = 0.8, MEASURING_1 = 0.5;

const char *ch_verdict_name(ch_verdict verdict)
{
    static const char *const names[] = {"sound", "watch", "fault", "unclear"};
    return (unsigned)verdict < sizeof names / sizeof names[0] ? names[verdict] : NULL;
}

static void weigh(grounds *g)
{
    for (int c = 0; c < g->j->cylinders; c++) {
        const double *cause_1 = g->j->trace.cylinder[c].cause_1;
        g->error_1[c] = cause_1[CH_CAUSE_MEASUREMENT_ERROR];
        g->fault_1[c] = fmax(1.0 - cause_1[CH_CAUSE_SOUND] - g->error_1[c], 0.0);
        bool tested = g->j->cylinder[c].n > 0;
        for (size_t i = 0; i < g->sheet->leakdown_count && !tested; i++)
            tested = g->sheet->leakdown[i].cylinder == c + 1 && ch_quantity_given(&g->sheet->leakdown[i].loss);
        g->is_tested[c] = tested;
        g->tested += tested;
    }
    for (size_t i = 0; i < g->j->question_count; i++) {
        const ch_question *q = &g->j->question[i];
        g->other_unit = g->other_unit || (q->kind == CH_QUESTION_UNIT && q->cylinder == 0);
        g->impossible = g->impossible || q->kind == CH_QUESTION_IMPOSSIBLE;
        g->one_high = g->one_high || (q->kind == CH_QUESTION_ONE_HIGH && g->sheet->wet_count == 0 &&
                                      g->sheet->leakdown_count == 0 && g->sheet->observed_count == 0);
        g->contradicted =
            g->contradicted || q->kind == CH_QUESTION_CONTRADICTION || q->kind == CH_QUESTION_BEYOND_SCALE;
    }
    judge_leaks(g->sheet, g->leak);
    g->noted_count = judge_noted_of(g->sheet, g->knowledge, g->noted);
    g->j->do_not_run = g->noted_count > 0 && g->noted[0].do_not_run;
}

static bool leaks_too_much(const judge_leak *leak)
{
    return leak->over_limit || leak->over_others || leak->by_path;
}

/* Rules that hold in any unit: parts of the highest, nothing in kPa or psi. */
static bool compares_by_parts(ch_balance_rule rule)
{
    return rule == CH_RULE_75_PERCENT || rule == CH_RULE_80_PERCENT || rule == CH_RULE_10_PERCENT ||
           rule == CH_RULE_15_PERCENT || rule == CH_RULE_20_PERCENT;
}

bool grounds_measuring_explains(const grounds *g, int c)
{
    return g->error_1[c] > g->fault_1[c];
}

bool ch_judge_repeat_first(const ch_trace_cylinder *traced)
{
    const double error_1 = traced->cause_1[CH_CAUSE_MEASUREMENT_ERROR];
    double most_1 = 0.0;
    for (int k = CH_CAUSE_SOUND + 1; k < CH_CAUSE_MEASUREMENT_ERROR; k++)
        most_1 = fmax(most_1, traced->cause_1[k]);
    return error_1 > fmax(1.0 - traced->cause_1[CH_CAUSE_SOUND] - error_1, 0.0) ||
           (error_1 >= SUSPECT_1 && error_1 > most_1);
}

bool grounds_measuring_first(const grounds *g, int c)
{
    return ch_judge_repeat_first(&g->j->trace.cylinder[c]);
}

const ch_rule_outcome *grounds_chosen(const grounds *g)
{
    return &g->j->rule[g->j->chosen_rule];
}

/* Chance that some cylinder leaks into the coolant. Two hardly do at once, so the chances add up. */
double grounds_coolant_1(const grounds *g)
{
    double sum = 0.0;
    for (int c = 0; c < g->j->cylinders; c++)
        sum += g->j->trace.cylinder[c].cause_1[CH_CAUSE_HEAD_GASKET_TO_COOLANT] +
               g->j->trace.cylinder[c].cause_1[CH_CAUSE_CRACKED_HEAD];
    return fmin(sum, 1.0);
}

static ch_verdict decide(const grounds *g)
{
    const ch_judgement *j = g->j;
    const bool reliable = j->trace.reliable;
    const double broken_1 = grounds_chosen(g)->applies ? grounds_chosen(g)->chance_broken_1 : 0.0;
    bool measuring = false, suspect = false, fault = false, below = false, may_be_worn = false, alike = g->tested > 1,
         leaks = false;
    const int low = j->lowest;
    for (int c = 0; c < j->cylinders; c++) {
        const ch_judged_cylinder *one = &j->cylinder[c];
        fault = fault || (reliable && g->fault_1[c] >= FAULT_1 && !g->one_high) ||
                (one->chance_below_minimum_1 >= BROKEN_1 && !grounds_measuring_first(g, c));
        const bool explained = grounds_measuring_explains(g, c) && g->error_1[c] >= MEASURING_1;
        measuring = measuring || explained;
        may_be_worn = may_be_worn || g->fault_1[c] >= MAY_BE_BROKEN_1;
        alike = alike && (explained || !g->is_tested[c]);
        suspect = suspect || g->fault_1[c] >= SUSPECT_1;
        leaks = leaks || leaks_too_much(&g->leak[c]);
        below = below || one->chance_below_minimum_1 >= MAY_BE_BROKEN_1 ||
                (one->n > 0 && one->mean_pa < one->expected_pa[0]);
    }
    const bool broken = broken_1 >= BROKEN_1 && low > 0 && !grounds_measuring_first(g, low - 1);
    if (j->do_not_run)
        return CH_VERDICT_FAULT;
    if (g->impossible || j->outside)
        return CH_VERDICT_UNCLEAR;
    if (g->other_unit)
        return broken && compares_by_parts(grounds_chosen(g)->rule) ? CH_VERDICT_FAULT : CH_VERDICT_UNCLEAR;
    if (fault || broken || (reliable && grounds_coolant_1(g) >= FAULT_1))
        return CH_VERDICT_FAULT;
    if ((alike && (broken_1 >= BROKEN_1 || may_be_worn)) || g->noted_count > 0)
        return CH_VERDICT_WATCH;
    if (measuring)
        return CH_VERDICT_UNCLEAR;
    if (broken_1 >= MAY_BE_BROKEN_1 || j->ratio_1 < UNEVEN_1 || below || leaks)
        return CH_VERDICT_WATCH;
    if (!reliable)
        return CH_VERDICT_UNCLEAR;
    if (suspect || grounds_coolant_1(g) >= SUSPECT_1 || j->trace.any_fault_1 >= SOMEWHERE_1)
        return CH_VERDICT_WATCH;
    return g->contradicted || g->tested < j->cylinders ? CH_VERDICT_UNCLEAR : CH_VERDICT_SOUND;
}

void judge_verdict(const ch_sheet *sheet, const ch_knowledge *knowledge, const ch_unit *unit, ch_judgement *judgement)
{
    grounds g = {.sheet = sheet, .knowledge = knowledge, .unit = unit, .j = judgement};
    judgement->because_count = 0;
    weigh(&g);
    judgement->verdict = decide(&g);
    grounds_tell(&g);
}
