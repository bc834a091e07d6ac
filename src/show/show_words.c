/*
 * Numbers and sentences that every face has in common. Numbers are formed from integers, so that the process's locale has no say in them.
 */
#include "crosshatch/show_words.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char *ch_show_number(double value, int decimals, char buffer[CH_SHOW_NUMBER])
{
    static const long long TENS[] = {1, 10, 100, 1000, 10000, 100000, 1000000};
    const double scaled = value * (double)TENS[decimals];
    if (!(fabs(scaled) < 1e15)) {
        snprintf(buffer, CH_SHOW_NUMBER, "-");
        return buffer;
    }
    const long long all = llround(fabs(scaled));
    const char *sign = value < 0.0 && all > 0 ? "-" : "";
    if (decimals == 0)
        snprintf(buffer, CH_SHOW_NUMBER, "%s%lld", sign, all);
    else
        snprintf(buffer, CH_SHOW_NUMBER, "%s%lld.%0*lld", sign, all / TENS[decimals], decimals, all % TENS[decimals]);
    return buffer;
}

const char *ch_show_freedom(double df, char buffer[CH_SHOW_NUMBER])
{
    return isinf(df) ? "infinitely many" : ch_show_number(df, 1, buffer);
}

int ch_show_pressure_decimals(const ch_unit *pressure)
{
    int decimals = 0;
    for (double step_pa = pressure->factor; step_pa > 7e3 && decimals < 6; step_pa /= 10.0)
        decimals++;
    return decimals;
}

const char *ch_show_pressure(double pressure_pa, const ch_unit *pressure, char buffer[CH_SHOW_NUMBER])
{
    return ch_show_number(ch_unit_from_si(pressure_pa, pressure), ch_show_pressure_decimals(pressure), buffer);
}

const char *ch_show_pressure_named(double pressure_pa, const ch_unit *pressure, char buffer[CH_SHOW_NUMBER])
{
    ch_show_pressure(pressure_pa, pressure, buffer);
    const size_t length = strlen(buffer);
    snprintf(buffer + length, CH_SHOW_NUMBER - length, " %s", pressure->name);
    return buffer;
}

const char *ch_show_area(double area_m2, char buffer[CH_SHOW_NUMBER])
{
    const double shown = ch_unit_from_si(area_m2, ch_unit_find("mm2", 3));
    return ch_show_number(shown, shown < 10.0 ? 2 : shown < 100.0 ? 1 : 0, buffer);
}

const char *ch_show_chance(double chance_1, char buffer[CH_SHOW_NUMBER])
{
    if (!(chance_1 >= 0.0))
        snprintf(buffer, CH_SHOW_NUMBER, "-");
    else if (chance_1 < 0.01)
        snprintf(buffer, CH_SHOW_NUMBER, "under 1 %%");
    else if (chance_1 > 0.99)
        snprintf(buffer, CH_SHOW_NUMBER, "over 99 %%");
    else
        snprintf(buffer, CH_SHOW_NUMBER, "%ld %%", lround(100.0 * chance_1));
    return buffer;
}

bool ch_show_tested(const ch_sheet *sheet, int cylinder)
{
    for (size_t i = 0; i < sheet->compression_count; i++)
        if (sheet->compression[i].cylinder == cylinder)
            return true;
    for (size_t i = 0; i < sheet->wet_count; i++)
        if (sheet->wet[i].cylinder == cylinder)
            return true;
    for (size_t i = 0; i < sheet->leakdown_count; i++)
        if (sheet->leakdown[i].cylinder == cylinder)
            return true;
    return false;
}

bool ch_show_suspicious(const ch_sheet *sheet, const ch_trace_cylinder *traced)
{
    return traced->cause_1[CH_CAUSE_SOUND] < CH_SHOW_SUSPICIOUS_1 && ch_show_tested(sheet, traced->cylinder);
}

void ch_show_cause_order(const double cause_1[CH_CAUSE_COUNT], int order[CH_CAUSE_COUNT])
{
    for (int i = 0; i < CH_CAUSE_COUNT; i++) {
        int at = i;
        while (at > 0 && cause_1[order[at - 1]] < cause_1[i]) {
            order[at] = order[at - 1];
            at--;
        }
        order[at] = i;
    }
}

const char *ch_show_verdict_means(const ch_judgement *judgement)
{
    static const char *const MEANS[] = {
        [CH_VERDICT_SOUND] = "These are the readings of a sound engine, as far as such tests can tell.",
        [CH_VERDICT_WATCH] = "Nothing is proven, but this wants watching.",
        [CH_VERDICT_FAULT] = "Something is probably wrong with this engine.",
        [CH_VERDICT_UNCLEAR] = "These readings do not settle it.",
    };
    if (judgement->do_not_run)
        return "Do not crank or run this engine: what was seen has to be put right first, whatever it reads.";
    return MEANS[judgement->verdict];
}

static double fault_1(const ch_trace_cylinder *traced)
{
    return fmax(1.0 - traced->cause_1[CH_CAUSE_SOUND] - traced->cause_1[CH_CAUSE_MEASUREMENT_ERROR], 0.0);
}

/* The tested cylinder that is least likely sound; where the verdict is fault, that with the greatest chance of one. NULL where none was tested. */
static const ch_trace_cylinder *worst_cylinder(const ch_show_judged *judged)
{
    const ch_trace *trace = &judged->judgement->trace;
    const bool faulty = judged->judgement->verdict == CH_VERDICT_FAULT;
    const ch_trace_cylinder *worst = NULL;
    for (int c = 0; c < trace->cylinders; c++) {
        const ch_trace_cylinder *traced = &trace->cylinder[c];
        if (ch_show_tested(judged->sheet, traced->cylinder) &&
            (worst == NULL || (faulty ? fault_1(traced) > fault_1(worst)
                                      : traced->cause_1[CH_CAUSE_SOUND] < worst->cause_1[CH_CAUSE_SOUND])))
            worst = traced;
    }
    return worst;
}

/* The likeliest trouble of the engine. */
static ch_cause likeliest(const ch_trace_cylinder *traced)
{
    int best = CH_CAUSE_SOUND + 1;
    for (int cause = best + 1; cause < CH_CAUSE_MEASUREMENT_ERROR; cause++)
        if (traced->cause_1[cause] > traced->cause_1[best])
            best = cause;
    return (ch_cause)best;
}

void ch_show_cause_says(const ch_knowledge_cause *cause, double chance_1, char sentence[CH_SHOW_SENTENCE])
{
    if (chance_1 >= CH_SHOW_FLAT_1)
        snprintf(sentence, CH_SHOW_SENTENCE, "%s", cause->says);
    else
        snprintf(sentence, CH_SHOW_SENTENCE, "If it is the first of these: %c%s",
                 tolower((unsigned char)cause->says[0]), cause->says + 1);
}

const char *ch_show_no_cause(void)
{
    return "of no cause. The evidence does not fit together well enough to weigh, so none is named and no check is put "
           "before another.";
}

const ch_question *ch_show_missing(const ch_judgement *judgement)
{
    for (size_t i = 0; i < judgement->question_count; i++)
        if (judgement->question[i].kind == CH_QUESTION_MISSING)
            return &judgement->question[i];
    return NULL;
}

const char *ch_show_stopped(void)
{
    return "What was seen comes first. No check is named for which the starter turns the engine, or for which it runs.";
}

const ch_knowledge_check *ch_show_repeat_check(const ch_knowledge *knowledge)
{
    static const char ID[] = "repeat_reading";
    return ch_knowledge_check_find(knowledge, ID, sizeof ID - 1);
}

/* A tested cylinder with less than this part of the chance of a fault anywhere is not the one to name. */
static const double MOST_OF_IT_1 = 0.5;

/* Two of its tests contradict each other, so that what is named rests on one that is wrong. */
static bool is_contradicted(const ch_judgement *judgement, int cylinder)
{
    for (size_t i = 0; i < judgement->question_count; i++)
        if (judgement->question[i].kind == CH_QUESTION_CONTRADICTION && judgement->question[i].cylinder == cylinder)
            return true;
    return false;
}

/* The test before the engine: how far it may mislead, and how far the engine is at fault. */
static void test_first(const ch_show_judged *judged, const ch_trace_cylinder *worst, char sentence[CH_SHOW_SENTENCE])
{
    const double error_1 = worst->cause_1[CH_CAUSE_MEASUREMENT_ERROR];
    const bool contradicted = is_contradicted(judged->judgement, worst->cylinder), most = error_1 > fault_1(worst);
    char sound[CH_SHOW_NUMBER], error[CH_SHOW_NUMBER], fault[CH_SHOW_NUMBER];
    ch_show_chance(worst->cause_1[CH_CAUSE_SOUND], sound);
    ch_show_chance(error_1, error);
    ch_show_chance(fault_1(worst), fault);
    snprintf(sentence, CH_SHOW_SENTENCE,
             "How sure: cylinder %d is sound, and was read right, with a chance of %s. %s: that %s misleads (%s) is "
             "likelier than %s (%s).",
             worst->cylinder, sound,
             contradicted ? "Its tests contradict each other, so repeat them first"
                          : "Repeat its test first, before anything is taken apart",
             contradicted ? "one of them" : "it", error,
             most ? "that something is wrong with the cylinder"
                  : "any one trouble of the engine, though not than all of them together",
             fault);
}

/* Its number cannot be right as typed: what was traced from it holds only if it is. */
static bool is_impossible(const ch_judgement *judgement, int cylinder)
{
    for (size_t i = 0; i < judgement->question_count; i++)
        if (judgement->question[i].kind == CH_QUESTION_IMPOSSIBLE && judgement->question[i].cylinder == cylinder)
            return true;
    return false;
}

static bool all_tested(const ch_show_judged *judged)
{
    for (int c = 1; c <= judged->judgement->cylinders; c++)
        if (!ch_show_tested(judged->sheet, c))
            return false;
    return true;
}

void ch_show_how_sure(const ch_show_judged *judged, char sentence[CH_SHOW_SENTENCE])
{
    const ch_trace_cylinder *worst = worst_cylinder(judged);
    sentence[0] = '\0';
    if (judged->judgement->do_not_run) {
        snprintf(
            sentence, CH_SHOW_SENTENCE,
            "How sure: as sure as the eye that saw it. The readings speak of sealing only and do not outweigh it.");
        return;
    }
    if (worst == NULL)
        return;
    if (judged->judgement->outside) {
        snprintf(sentence, CH_SHOW_SENTENCE, "How sure: of nothing. This engine is outside what can be judged here.");
        return;
    }
    if (judged->judgement->unreadable) {
        snprintf(
            sentence, CH_SHOW_SENTENCE,
            "How sure: of nothing but the readings, which are no pressures of an engine like this. Put number, unit "
            "and gauge right first; until then no cause is named.");
        return;
    }
    if (!judged->judgement->trace.reliable) {
        snprintf(sentence, CH_SHOW_SENTENCE, "How sure: %s", ch_show_no_cause());
        return;
    }
    if (is_impossible(judged->judgement, worst->cylinder)) {
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "How sure: not at all of cylinder %d before its number is looked at again. What is said of it below "
                 "holds only if it is right.",
                 worst->cylinder);
        return;
    }
    const double any_1 = judged->judgement->trace.any_fault_1;
    if (any_1 >= CH_SHOW_SOMEWHERE_1 && 1.0 - worst->cause_1[CH_CAUSE_SOUND] < MOST_OF_IT_1 * any_1) {
        char any[CH_SHOW_NUMBER];
        ch_show_chance(any_1, any);
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "How sure: something is wrong with one cylinder or another with a chance of %s; nothing on the sheet "
                 "tells which.",
                 any);
        return;
    }
    if (worst->cause_1[CH_CAUSE_SOUND] < CH_SHOW_SUSPICIOUS_1 && ch_judge_repeat_first(worst)) {
        test_first(judged, worst, sentence);
        return;
    }
    const ch_cause cause = likeliest(worst);
    const double misleads_1 = worst->cause_1[CH_CAUSE_MEASUREMENT_ERROR];
    const bool misleads = misleads_1 >= CH_MISLEADS_TOLD_1;
    char sound[CH_SHOW_NUMBER], likely[CH_SHOW_NUMBER], test[CH_SHOW_NUMBER];
    ch_show_chance(worst->cause_1[CH_CAUSE_SOUND], sound);
    ch_show_chance(worst->cause_1[cause], likely);
    ch_show_chance(misleads_1, test);
    if (worst->cause_1[CH_CAUSE_SOUND] >= CH_SHOW_SUSPICIOUS_1)
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "How sure: the least certain%s, cylinder %d, is sound with a chance of %s.",
                 all_tested(judged) ? "" : " of those tested", worst->cylinder, sound);
    else
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "How sure: cylinder %d is sound%s with a chance of %s%s%s. %sikeliest trouble (%s): %s.",
                 worst->cylinder, misleads ? ", and was read right," : "", sound,
                 misleads ? "; its test misleads with " : "", misleads ? test : "",
                 is_contradicted(judged->judgement, worst->cylinder)
                     ? "Its tests contradict each other: settle that first. Until then, l"
                     : "L",
                 likely, judged->knowledge->causes[cause].title);
}

const char *ch_show_remark(const ch_judged_cylinder *cylinder)
{
    if (cylinder->n == 0)
        return "no reading";
    if (cylinder->below_minimum)
        return "under minimum";
    if (cylinder->mean_pa < cylinder->expected_pa[0])
        return "low";
    return cylinder->mean_pa > cylinder->expected_pa[1] ? "high" : "";
}

void ch_show_heard(const ch_leakdown_row *row, char sentence[CH_SHOW_SENTENCE])
{
    static const struct {
        ch_heard bit;
        const char *where;
    } PLACES[] = {{CH_HEARD_INTAKE, "intake"},
                  {CH_HEARD_EXHAUST, "exhaust"},
                  {CH_HEARD_OIL_FILLER, "oil filler"},
                  {CH_HEARD_COOLANT, "coolant"},
                  {CH_HEARD_NOTHING, "nowhere"}};
    size_t used = 0;
    sentence[0] = '\0';
    for (size_t h = 0; h < sizeof PLACES / sizeof PLACES[0]; h++)
        if (row->heard & (unsigned)PLACES[h].bit)
            used += (size_t)snprintf(sentence + used, CH_SHOW_SENTENCE - used, "%s%s", used > 0 ? ", " : "",
                                     PLACES[h].where);
    for (int n = 1; n <= CH_CYLINDERS_MAX && used + 16 < CH_SHOW_SENTENCE; n++)
        if (row->heard_cylinders >> (n - 1) & 1U)
            used +=
                (size_t)snprintf(sentence + used, CH_SHOW_SENTENCE - used, "%scylinder %d", used > 0 ? ", " : "", n);
}

const char *ch_show_path(ch_path path)
{
    static const char *const WAY[CH_PATH_COUNT] = {
        [CH_PATH_RINGS] = "past the rings",        [CH_PATH_INTAKE_VALVE] = "intake valve",
        [CH_PATH_EXHAUST_VALVE] = "exhaust valve", [CH_PATH_NEIGHBOUR] = "to a neighbour",
        [CH_PATH_COOLANT] = "to the coolant",
    };
    return WAY[path];
}

const char *ch_show_input(ch_input input)
{
    static const char *const WORDS[CH_INPUT_COUNT] = {
        [CH_INPUT_BORE] = "bore",
        [CH_INPUT_STROKE] = "stroke",
        [CH_INPUT_ROD_LENGTH] = "length of the connecting rods",
        [CH_INPUT_COMPRESSION_RATIO] = "compression ratio",
        [CH_INPUT_INTAKE_OPENS] = "where the intake opens",
        [CH_INPUT_INTAKE_CLOSES] = "where the intake closes",
        [CH_INPUT_EXHAUST_OPENS] = "where the exhaust opens",
        [CH_INPUT_EXHAUST_CLOSES] = "where the exhaust closes",
        [CH_INPUT_AT_LIFT] = "valve lift at which the cam angles hold",
        [CH_INPUT_INTAKE_VALVES] = "intake valves",
        [CH_INPUT_EXHAUST_VALVES] = "exhaust valves",
        [CH_INPUT_GAUGE_SPAN] = "end of the gauge's dial",
        [CH_INPUT_GAUGE_ACCURACY] = "accuracy of the gauge",
        [CH_INPUT_GAUGE_RESOLUTION] = "smallest step read on the gauge",
        [CH_INPUT_HOSE_VOLUME] = "volume of hose and dial",
        [CH_INPUT_DEAD_VOLUME] = "volume of the adapter",
        [CH_INPUT_VALVE_AREA] = "opening of the gauge's check valve",
        [CH_INPUT_OPENING_PRESSURE] = "pressure that opens the gauge's check valve",
        [CH_INPUT_AMBIENT_PRESSURE] = "air pressure of the day",
        [CH_INPUT_AIR_TEMPERATURE] = "air temperature",
        [CH_INPUT_ENGINE_TEMPERATURE] = "engine temperature",
        [CH_INPUT_THROTTLE] = "whether the throttle was held open",
        [CH_INPUT_CRANKING_SPEED] = "cranking speed",
        [CH_INPUT_STROKES] = "strokes of each reading",
        [CH_INPUT_ANNAND] = "heat lost to the walls",
        [CH_INPUT_CREVICE_FRACTION] = "volume of the ring crevices",
        [CH_INPUT_VALVE_DISCHARGE] = "how freely the valves let air through",
        [CH_INPUT_LEAKS] = "leaks",
    };
    return WORDS[input];
}

const char *ch_show_method(ch_show_result result)
{
    static const char *const METHOD[] = {
        [CH_SHOW_MEANS] =
            "Means and their uncertainty: JCGM 100:2008, 4.2 (repeats), 4.3.7 (resolution), 5.1 (combining), "
            "G.4 (degrees of freedom). docs/method-judging.md.",
        [CH_SHOW_BALANCE] =
            "Lowest over highest and the chances of breaking a rule: Monte Carlo after JCGM 101:2008; the "
            "gauge's gain is common to all readings and cancels in a ratio. docs/method-judging.md.",
        [CH_SHOW_STANDARD_DAY] =
            "Standard day: the cranking model run for the day of the test and for 101.325 kPa and 15 C (ISO "
            "2533); the reading is multiplied by their ratio. docs/method-judging.md.",
        [CH_SHOW_TRACE] = "Causes, leak areas and what a sound engine would show: one model of the engine behind all "
                          "rows of the sheet, "
                          "weighed by importance sampling. docs/method.md, \"Tracing\" and \"The sound engine\".",
    };
    return METHOD[result];
}

const char *ch_show_bit_means(void)
{
    return "One bit halves the doubt about the cause.";
}
