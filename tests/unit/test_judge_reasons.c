/*
 * Promises of judge/verdict.c on its reasons: all of them, word for word and in their order, on judgements drawn at random, against the table of docs/method-judging.md,
 * "The order of its reasons", worked through once more. Chances are whole percents, pressures whole psi, so that nothing hangs on how a half is rounded.
 */
#include <ctype.h>

#include "crosshatch/sampling.h"
#include "judge_by_hand.h"

static ch_stream stream;

static bool chance(double p)
{
    return ch_stream_uniform(&stream) < p;
}

static int whole(int from, int to)
{
    return from + (int)((to - from + 1) * ch_stream_uniform(&stream));
}

static int pick(const int list[], int n)
{
    return list[whole(0, n - 1)];
}

#define PICK(...) pick((const int[]){__VA_ARGS__}, (int)(sizeof((const int[]){__VA_ARGS__}) / sizeof(int)))

/* What is drawn beside the judgement itself, in the sheet's own numbers. */
static struct {
    int mean_psi[CH_CYLINDERS_MAX], low_psi[CH_CYLINDERS_MAX], high_psi[CH_CYLINDERS_MAX];
    int loss[CH_CYLINDERS_MAX]; /* percent; -1 = no figure */
    bool leak_row[CH_CYLINDERS_MAX];
    const char *heard[CH_CYLINDERS_MAX];
    int wet, seen, altitude;
    bool limits;
    int minimum_psi; /* what the manual's 137 reads on the day */
} drawn;

/* ---- the drawing ---- */

static void draw_cylinder(int c, int kind)
{
    static const char *const HEARD[] = {"nothing", "oil_filler",      "intake",          "exhaust",
                                        "coolant", "exhaust, intake", "coolant, exhaust"};
    ch_judged_cylinder *one = &judgement.cylinder[c];
    double *cause_1 = judgement.trace.cylinder[c].cause_1;
    int left = 100;
    for (int k = 0; k < CH_CAUSE_COUNT; k++)
        cause_1[k] = 0.0;
    /* kind 0: mostly sound; 1: something is wrong; 2: the test is; 3: anything */
    const int error = kind == 2 ? whole(30, 90) : kind == 3 ? whole(0, 60) : whole(0, 5);
    left -= error;
    for (int k = CH_CAUSE_RINGS_OR_BORE; k < CH_CAUSE_MEASUREMENT_ERROR; k++) {
        const int part = chance(0.4) ? 0 : whole(0, kind == 0 ? 3 : kind == 1 ? 45 : 12);
        cause_1[k] = (part < left ? part : left) / 100.0;
        left -= part < left ? part : left;
    }
    cause_1[CH_CAUSE_MEASUREMENT_ERROR] = error / 100.0;
    cause_1[CH_CAUSE_SOUND] = left / 100.0;
    one->n = PICK(0, 1, 1, 1, 2);
    drawn.mean_psi[c] = whole(120, 190);
    drawn.low_psi[c] = 130 + c;
    drawn.high_psi[c] = 180 - c;
    one->mean_pa = drawn.mean_psi[c] * PSI;
    one->expected_pa[0] = chance(0.1) ? NAN : drawn.low_psi[c] * PSI;
    one->expected_pa[1] = drawn.high_psi[c] * PSI;
    one->chance_below_minimum_1 =
        !drawn.limits || chance(0.6) ? NAN : PICK(0, 5, 9, 10, 11, 40, 89, 90, 95, 100) / 100.0;
    one->repeat_gain_1 = whole(2, 30) / 100.0;
    drawn.leak_row[c] = chance(0.5);
    drawn.loss[c] = PICK(-1, 4, 8, 9, 12, 17, 23, 27, 60);
    drawn.heard[c] = HEARD[chance(0.6) ? 0 : whole(1, 6)];
}

static void draw_question(int kind)
{
    ch_question *q = &judgement.question[judgement.question_count];
    *q = (ch_question){.kind = (ch_question_kind)kind, .cylinder = chance(0.5) ? 1 : 0};
    snprintf(q->text, sizeof q->text, "Question %zu of kind %d, 100 %%d.", judgement.question_count++, kind);
}

static void draw_all(void)
{
    ch_judgement *j = &judgement;
    all_well_of(chance(0.03) ? CH_CYLINDERS_MAX : whole(1, 5), 0.0);
    const int kind = whole(0, 3);
    drawn.limits = chance(0.6);
    drawn.minimum_psi = PICK(137, 137, 120);
    j->minimum_pa = drawn.limits ? drawn.minimum_psi * PSI : NAN;
    j->trace.reliable = chance(0.85);
    j->trace.any_fault_1 = PICK(10, 49, 50, 51, 80) / 100.0;
    int measured = 0;
    for (int c = 0; c < j->cylinders; c++) {
        draw_cylinder(c, chance(0.6) ? kind : whole(0, 3));
        measured += j->cylinder[c].n > 0;
    }
    j->lowest = j->highest = 0;
    j->ratio_1 = NAN;
    if (measured > 1) {
        for (int c = 0; c < j->cylinders; c++)
            if (j->cylinder[c].n > 0) {
                j->lowest = j->lowest > 0 ? j->lowest : c + 1;
                j->highest = c + 1;
            }
        j->ratio_1 = PICK(60, 84, 85, 86, 93, 100) / 100.0;
        j->ratio_1 = j->ratio_1 == 1.0 && chance(0.5) ? 0.99991 : j->ratio_1;
        j->ratio_1 = j->ratio_1 == 0.93 && chance(0.3) ? 0.99989 : j->ratio_1;
    }
    j->ratio_interval_1[0] = whole(50, 80) / 100.0;
    j->ratio_interval_1[1] = whole(81, 100) / 100.0;
    j->chosen_rule = chance(0.3) ? CH_RULE_MANUAL : chance(0.5) ? CH_RULE_75_PERCENT : CH_RULE_152_KPA;
    j->rule[j->chosen_rule] = (ch_rule_outcome){
        .rule = j->chosen_rule,
        .applies = j->chosen_rule == CH_RULE_MANUAL ? measured > 0 && drawn.limits : measured > 1 && chance(0.8),
        .passes = chance(0.5),
        .chance_broken_1 = PICK(0, 9, 10, 11, 50, 89, 90, 100) / 100.0,
        .says = j->chosen_rule == CH_RULE_75_PERCENT ? "part" : "difference"};
    for (int k = 0; k < 3; k++)
        if (chance(0.35))
            draw_question(whole(0, CH_QUESTION_KIND_COUNT - 1));
    for (int k = chance(0.03) ? whole(10, 30) : 0; k > 0; k--) /* more than find room */
        draw_question(PICK(CH_QUESTION_CONTRADICTION, CH_QUESTION_MISSING, CH_QUESTION_ALL_LOW));
    j->repeat_cylinder = chance(0.25) ? whole(1, j->cylinders) : 0;
    j->trace.next_check_count = chance(0.3) ? 1 : 0;
    const size_t check = (size_t)whole(0, (int)knowledge.checks_count - 1);
    j->trace.next_check[0] = (ch_trace_check){.check = &knowledge.checks[chance(0.5) ? 0 : check],
                                              .cylinder = whole(0, j->cylinders),
                                              .minutes = whole(5, 90) + 0.2};
    j->pooled_sd_pa = whole(20, 90) * 0.1 * PSI;
    j->pooled_assumed = chance(0.5);
    for (int i = 0; i < CH_INPUT_COUNT; i++)
        j->assumed[i] = chance(0.3);
    drawn.wet = measured == 0 || chance(0.3) ? 1 : 0; /* a sheet says something at least */
    j->wet_left_out = drawn.wet > 0 && chance(0.3) ? 1 : 0;
    drawn.seen = whole(0, 2);
    drawn.altitude = chance(0.5) ? 450 : 0;
}

static void write_sheet(char text[6000])
{
    size_t used = (size_t)sprintf(text, "{sheet: 1, units: {pressure: psi}, engine: {cylinders: %d%s}, conditions: {",
                                  judgement.cylinders, drawn.limits ? ", limits: {minimum: 137}" : "");
    used += (size_t)sprintf(text + used, drawn.altitude > 0 ? "altitude: 450 m}, compression: [" : "}, compression: [");
    const char *comma = "";
    for (int c = 0; c < judgement.cylinders; c++)
        if (judgement.cylinder[c].n > 0) {
            used += (size_t)sprintf(text + used, "%s{cylinder: %d, reading: 150}", comma, c + 1);
            comma = ", ";
        }
    used += (size_t)sprintf(text + used, "], wet: [%s], observed: [%s], leakdown: [",
                            drawn.wet > 0 ? "{cylinder: 1, reading: 150}" : "",
                            drawn.seen == 0   ? ""
                            : drawn.seen == 1 ? "{what: oily_plug, cylinder: 1}"
                                              : "{what: oily_plug, cylinder: 1}, {what: blue_smoke}");
    comma = "";
    for (int c = 0; c < judgement.cylinders; c++)
        if (drawn.leak_row[c]) {
            used += (size_t)sprintf(text + used, "%s{cylinder: %d, heard: [%s]", comma, c + 1, drawn.heard[c]);
            if (drawn.loss[c] >= 0)
                used += (size_t)sprintf(text + used, ", loss: %d %%", drawn.loss[c]);
            used += (size_t)sprintf(text + used, "}");
            comma = ", ";
        }
    sprintf(text + used, "]}");
}

/* ---- the table worked through ---- */

enum { WANTED_MAX = 140 };

static struct {
    double weight;
    char text[600];
} wanted[WANTED_MAX];
static size_t wanted_count;

__attribute__((format(printf, 2, 3))) static void want(double weight, const char *format, ...)
{
    assert_true(wanted_count < WANTED_MAX);
    wanted[wanted_count].weight = weight;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(wanted[wanted_count++].text, sizeof wanted[0].text, format, arguments);
    va_end(arguments);
}

typedef struct words {
    char text[80];
} words;

static words about(double p)
{
    words w;
    const double percent = rint(100.0 * p);
    if (percent < 1.0)
        snprintf(w.text, sizeof w.text, "under 1 %%");
    else if (percent > 99.0)
        snprintf(w.text, sizeof w.text, "over 99 %%");
    else
        snprintf(w.text, sizeof w.text, "about %.0f %%", percent);
    return w;
}

static int percent(double p)
{
    return (int)rint(100.0 * p);
}

static words title(const char *text)
{
    words w;
    size_t n = 0;
    for (; text[n] != '\0' && text[n] != ':'; n++)
        w.text[n] = (char)(n == 0 ? tolower((unsigned char)text[n]) : text[n]);
    w.text[n] = '\0';
    return w;
}

static double error_of(int c)
{
    return judgement.trace.cylinder[c].cause_1[CH_CAUSE_MEASUREMENT_ERROR];
}

static double fault_of(int c)
{
    const double fault = 1.0 - judgement.trace.cylinder[c].cause_1[CH_CAUSE_SOUND] - error_of(c);
    return fault > 0.0 ? fault : 0.0;
}

static bool is_tested(int c)
{
    return judgement.cylinder[c].n > 0 || (drawn.leak_row[c] && drawn.loss[c] >= 0);
}

static int count_tested(void)
{
    int n = 0;
    for (int c = 0; c < judgement.cylinders; c++)
        n += is_tested(c);
    return n;
}

/* Of a cause in a list: no test gives 100 %. */
static words share(double p)
{
    words w = about(p);
    if (strncmp(w.text, "about ", 6) == 0)
        memmove(w.text, w.text + 6, strlen(w.text + 6) + 1);
    return w;
}

/* Is it asked whether the only number of a cylinder is right? */
static bool is_number_asked(int c)
{
    const ch_judgement *j = &judgement;
    for (size_t i = 0; i < j->question_count; i++) {
        const ch_question *q = &j->question[i];
        if (q->row == SIZE_MAX || q->cylinder != c + 1 || j->cylinder[c].n != 1)
            continue;
        if (q->kind == CH_QUESTION_IMPOSSIBLE || (q->kind == CH_QUESTION_UNIT && j->highest > 0 &&
                                                  j->cylinder[c].mean_pa < 0.3 * j->cylinder[j->highest - 1].mean_pa))
            return true;
    }
    return false;
}

static void want_cause(int c)
{
    const double *cause = judgement.trace.cylinder[c].cause_1;
    int first = 0, second = 0; /* the largest, and the largest of the rest; of equals the first */
    for (int k = CH_CAUSE_RINGS_OR_BORE; k < CH_CAUSE_MEASUREMENT_ERROR; k++)
        first = first == 0 || cause[k] > cause[first] ? k : first;
    for (int k = CH_CAUSE_RINGS_OR_BORE; k < CH_CAUSE_MEASUREMENT_ERROR; k++)
        if (k != first)
            second = second == 0 || cause[k] > cause[second] ? k : second;
    char test[120] = "";
    if (error_of(c) >= 0.01)
        snprintf(test, sizeof test, ", that its test misleads %s", about(error_of(c)).text);
    if (percent(cause[second]) == 0) {
        want(50.0 + 40.0 * fault_of(c),
             "Cylinder %d: %sthe chance that something is wrong with it is %s%s; likeliest is \"%s\" (%s).", c + 1,
             is_number_asked(c) ? "if its number is right, " : "", about(fault_of(c)).text, test,
             title(knowledge.causes[first].title).text, share(cause[first]).text);
        return;
    }
    want(50.0 + 40.0 * fault_of(c),
         "Cylinder %d: %sthe chance that something is wrong with it is %s%s; likeliest is \"%s\" (%s), then \"%s\" "
         "(%s).",
         c + 1, is_number_asked(c) ? "if its number is right, " : "", about(fault_of(c)).text, test,
         title(knowledge.causes[first].title).text, share(cause[first]).text,
         title(knowledge.causes[second].title).text, share(cause[second]).text);
}

static void want_causes(void)
{
    const ch_judgement *j = &judgement;
    double coolant = 0.0, most = 0.0, most_tested = -1.0, most_untested = 0.0;
    for (int c = 0; c < j->cylinders; c++) {
        coolant += j->trace.cylinder[c].cause_1[CH_CAUSE_HEAD_GASKET_TO_COOLANT] +
                   j->trace.cylinder[c].cause_1[CH_CAUSE_CRACKED_HEAD];
        most = fmax(most, fault_of(c));
        if (is_tested(c))
            most_tested = fmax(most_tested, fault_of(c));
        else
            most_untested = fmax(most_untested, fault_of(c));
    }
    coolant = fmin(coolant, 1.0);
    if (coolant >= 0.25 && most < 0.6 * coolant)
        want(60.0 + 20.0 * coolant,
             "The chance that a gasket or a crack leaks into the coolant somewhere is %s; nothing here tells which "
             "cylinder.",
             about(coolant).text);
    if (most_tested < 0.25 && (most_untested >= 0.25 || j->trace.any_fault_1 >= 0.5))
        want(62.0 + 20.0 * j->trace.any_fault_1,
             "The chance that something is wrong with one cylinder or another is %s, counting all %d together; nothing "
             "here tells which.",
             about(j->trace.any_fault_1).text, j->cylinders);
    double between = 0.0;
    for (int c = 0; c < j->cylinders; c++)
        between = fmax(between, j->trace.cylinder[c].cause_1[CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS]);
    if (between >= 0.25 && j->cylinders > 4) /* none of them says how its cylinders lie */
        want(49.0 + 40.0 * between,
             "A gasket goes between cylinders that lie side by side. Which do hangs on how the maker numbers them: in "
             "line, through one bank and then the other, or across; the sheet cannot tell. Look at the car: if no two "
             "of the low ones share a wall, it is not that.");
    bool told[CH_CYLINDERS_MAX] = {false};
    for (int round = 0; round < 3 && round < count_tested(); round++) {
        int worst = 0; /* of those tested and not told, the first of equals */
        while (!is_tested(worst) || told[worst])
            worst++;
        for (int c = worst + 1; c < j->cylinders; c++)
            if (is_tested(c) && !told[c] && fault_of(c) > fault_of(worst))
                worst = c;
        told[worst] = true;
        if (fault_of(worst) >= 0.25)
            want_cause(worst);
        else if (round == 0)
            want(58.0, "How sure: the chance that something is wrong with cylinder %d is %s%s.", worst + 1,
                 about(fault_of(worst)).text, count_tested() > 1 ? ", and no more with any other tested" : "");
    }
}

static void want_balance(void)
{
    const ch_judgement *j = &judgement;
    if (isnan(j->ratio_1))
        return;
    const int least = drawn.mean_psi[j->lowest - 1], most = drawn.mean_psi[j->highest - 1],
              low = percent(j->ratio_interval_1[0]), high = percent(j->ratio_interval_1[1]);
    if (j->ratio_1 > 0.9999)
        want(60.0,
             "All cylinders show %d psi alike; as far as the readings can tell, the lowest has between %d %% and %d %% "
             "of the highest (95 in 100).",
             most, low, high);
    else
        want(j->ratio_1 < 0.85 ? 85.0 : 60.0,
             "%s: cylinder %d shows %d psi, %d %% of cylinder %d with %d psi; as far as the readings can tell, the "
             "true figure lies between %d %% and %d %% (95 in 100).",
             j->ratio_1 < 0.85 ? "The readings are uneven" : "Lowest against highest", j->lowest, least,
             percent(j->ratio_1), j->highest, most, low, high);
}

static void want_rule(void)
{
    const ch_judgement *j = &judgement;
    const ch_rule_outcome *rule = &j->rule[j->chosen_rule];
    int measured = 0;
    for (int c = 0; c < j->cylinders; c++)
        measured += j->cylinder[c].n > 0;
    if (!rule->applies)
        want(38.0, "Your rule, \"%s\", says nothing here: %s.", rule->says,
             measured == 0                                       ? "no cylinder was read dry"
             : j->chosen_rule == CH_RULE_MANUAL && !drawn.limits ? "the sheet has no limits of the manual"
             : j->cylinders == 1 ? "the engine has no second cylinder to hold this one against"
             : measured == 1     ? "one cylinder alone was read dry"
                                 : "no cylinder shows any pressure");
    else
        want(rule->chance_broken_1 >= 0.1 ? 80.0 : 55.0,
             "Your rule, \"%s\", is %s by the readings; the chance that the true figures break it is %s.", rule->says,
             rule->passes ? "kept" : "broken", about(rule->chance_broken_1).text);
}

static int count_minima(double least, double under)
{
    int n = 0;
    for (int c = 0; c < judgement.cylinders; c++)
        n += judgement.cylinder[c].chance_below_minimum_1 >= least &&
             judgement.cylinder[c].chance_below_minimum_1 < under;
    return n;
}

/* "1 to 3, 5 and 7": runs of three and more as such. */
static const char *cylinders_of(const bool in[CH_CYLINDERS_MAX])
{
    static char list[200];
    char part[CH_CYLINDERS_MAX][16];
    int parts = 0;
    for (int c = 0; c < CH_CYLINDERS_MAX; c++) {
        int run = 0;
        while (c + run < CH_CYLINDERS_MAX && in[c + run])
            run++;
        if (run >= 3) {
            sprintf(part[parts++], "%d to %d", c + 1, c + run);
            c += run - 1;
        } else if (run > 0) {
            sprintf(part[parts++], "%d", c + 1);
        }
    }
    list[0] = '\0';
    for (int i = 0; i < parts; i++)
        sprintf(list + strlen(list), "%s%s", i == 0 ? "" : i == parts - 1 ? " and " : ", ", part[i]);
    return list;
}

static words span(const char *least, const char *most)
{
    words w;
    snprintf(w.text, sizeof w.text, strcmp(least, most) == 0 ? "%s" : "%s to %s", least, most);
    return w;
}

static words span_of(int least, int most, const char *unit)
{
    char a[24], b[24];
    snprintf(a, sizeof a, "%d %s", least, unit);
    snprintf(b, sizeof b, "%d %s", most, unit);
    return span(a, b);
}

/* Of three cylinders and more below the minimum, as likely, one sentence. */
static void want_minima(double least, double under)
{
    bool in[CH_CYLINDERS_MAX] = {false};
    int low = 1000, high = 0;
    double p_low = 1.0, p_high = 0.0;
    if (count_minima(least, under) < 3)
        return;
    for (int c = 0; c < judgement.cylinders; c++) {
        const double p = judgement.cylinder[c].chance_below_minimum_1;
        if (!(p >= least && p < under))
            continue;
        in[c] = true;
        low = drawn.mean_psi[c] < low ? drawn.mean_psi[c] : low;
        high = drawn.mean_psi[c] > high ? drawn.mean_psi[c] : high;
        p_low = fmin(p_low, p);
        p_high = fmax(p_high, p);
    }
    want(70.0 + 15.0 * p_high,
         "Cylinders %s show %s, the manual's minimum is 137 psi%s: the chance that each is below, gauge error counted "
         "in, is %s.",
         cylinders_of(in), span_of(low, high, "psi").text,
         drawn.minimum_psi == 120 ? ", which would read here as 120 psi" : "",
         span(about(p_low).text, about(p_high).text).text);
}

static void want_levels(void)
{
    const ch_judgement *j = &judgement;
    bool below[CH_CYLINDERS_MAX] = {false};
    int count = 0, last = -1, measured = 0, saved = 0;
    want_minima(0.9, 2.0);
    want_minima(0.1, 0.9);
    for (int c = 0; c < j->cylinders; c++) {
        const double p = j->cylinder[c].chance_below_minimum_1;
        if (p >= 0.1 && count_minima(p >= 0.9 ? 0.9 : 0.1, p >= 0.9 ? 2.0 : 0.9) < 3)
            want(70.0 + 15.0 * p,
                 "Cylinder %d shows %d psi, the manual's minimum is 137 psi%s: the chance that it is below, gauge "
                 "error counted in, is %s.",
                 c + 1, drawn.mean_psi[c], drawn.minimum_psi == 120 ? ", which would read here as 120 psi" : "",
                 about(p).text);
        saved += j->cylinder[c].n > 0 && drawn.mean_psi[c] < 137 && p < 0.1;
    }
    if (drawn.limits && drawn.minimum_psi == 120 && saved > 0)
        want(66.0,
             "The manual's minimum, 137 psi, is taken to be meant at sea level, for a warm engine cranked at the usual "
             "speed with an open throttle: in the conditions on the sheet it would read 120 psi, and %s. Where the "
             "manual gives it for a height or says it otherwise, that counts.",
             saved == j->cylinders ? "all readings lie above that" : "the readings below it as printed lie above that");
    for (int c = 0; c < j->cylinders; c++) {
        if (j->cylinder[c].n == 0 || isnan(j->cylinder[c].expected_pa[0]))
            continue;
        measured++;
        last = c;
        below[c] = drawn.mean_psi[c] < drawn.low_psi[c];
        count += below[c];
    }
    if (measured > 0 && count > 0)
        want(65.0,
             "Cylinder%s %s read%s below what a sound engine of this kind would show here (%d psi to %d psi, nine "
             "times in ten).",
             count > 1 ? "s" : "", cylinders_of(below), count > 1 ? "" : "s", drawn.low_psi[last],
             drawn.high_psi[last]);
    else if (measured > 0)
        want(45.0,
             "%s within or above what a sound engine of this kind would show here (%d psi to %d psi, nine times in "
             "ten).",
             measured > 1 ? "All readings lie" : "The reading lies", drawn.low_psi[last], drawn.high_psi[last]);
}

static int with_a_loss(void)
{
    int n = 0;
    for (int c = 0; c < judgement.cylinders; c++)
        n += drawn.leak_row[c] && drawn.loss[c] >= 0;
    return n;
}

/* As what rows come to is the matter of test_judge_leaks.c, it is taken from there. */
static int over_of(const judge_leak *leak, int c)
{
    return leak[c].over_others                         ? 1
           : leak[c].over_limit                        ? 2
           : !leak[c].by_path                          ? 0
           : strstr(drawn.heard[c], "coolant") != NULL ? 3
           : strstr(drawn.heard[c], "exhaust") != NULL ? 4
                                                       : 5;
}

static int count_over(const judge_leak *leak, int what)
{
    int n = 0;
    for (int c = 0; c < judgement.cylinders; c++)
        n += over_of(leak, c) == what;
    return n;
}

static void want_leaks_together(const judge_leak *leak, int what)
{
    static const char *const WHERE[] = {"coolant", "exhaust", "intake"};
    bool in[CH_CYLINDERS_MAX] = {false};
    int low = 1000, high = 0, others_low = 1000, others_high = 0;
    for (int c = 0; c < judgement.cylinders; c++) {
        if (over_of(leak, c) != what)
            continue;
        const int others = isnan(leak[c].others_1) ? 0 : (int)floor(100.0 * leak[c].others_1 + 0.5 + 1e-9);
        in[c] = true;
        low = drawn.loss[c] < low ? drawn.loss[c] : low;
        high = drawn.loss[c] > high ? drawn.loss[c] : high;
        others_low = others < others_low ? others : others_low;
        others_high = others > others_high ? others : others_high;
    }
    if (what == 1)
        want(71.0,
             "Leak-down, cylinders %s: %s is lost, where the middle of the others tested loses %s. 8 points more than "
             "the others, from 15 %% on, are worth following up (common practice).",
             cylinders_of(in), span_of(low, high, "%").text, span_of(others_low, others_high, "%").text);
    else if (what == 2)
        want(71.0,
             "Leak-down, cylinders %s: %s is lost; the usual limit is 25 %%, 60 of 80 psi held (FAA AC 43.13-1B).",
             cylinders_of(in), span_of(low, high, "%").text);
    else
        want(71.0,
             "Leak-down, cylinders %s: air was heard at the %s, where a cylinder that seals lets none through. Grit on "
             "a seat sounds the same, so it wants hearing twice.",
             cylinders_of(in), WHERE[what - 3]);
}

static void want_leaks(const judge_leak leak[])
{
    for (int what = 1; what <= 5; what++)
        if (count_over(leak, what) >= 3)
            want_leaks_together(leak, what);
    for (int c = 0; c < judgement.cylinders; c++) {
        const char *where = strstr(drawn.heard[c], "coolant") != NULL   ? "coolant"
                            : strstr(drawn.heard[c], "exhaust") != NULL ? "exhaust"
                                                                        : "intake";
        if (count_over(leak, over_of(leak, c)) >= 3)
            continue;
        if (leak[c].over_others)
            want(71.0,
                 "Leak-down, cylinder %d: %d %% is lost, where %s %d %%. 8 points more than the others, from 15 %% on, "
                 "are "
                 "worth following up (common practice).",
                 c + 1, drawn.loss[c], with_a_loss() > 2 ? "the others tested lose" : "the other tested loses",
                 (int)floor(100.0 * leak[c].others_1 + 0.5 + 1e-9));
        else if (leak[c].over_limit)
            want(
                71.0,
                "Leak-down, cylinder %d: %d %% is lost; the usual limit is 25 %%, 60 of 80 psi held (FAA AC 43.13-1B).",
                c + 1, drawn.loss[c]);
        else if (leak[c].by_path)
            want(71.0,
                 "Leak-down, cylinder %d: air was heard at the %s, where a cylinder that seals lets none through. Grit "
                 "on a seat sounds the same, so it wants hearing twice.",
                 c + 1, where);
    }
}

/* The test is to be repeated before the engine is blamed, and it is likely enough that either is to be. */
static bool comes_first(int c)
{
    double most = 0.0;
    for (int k = CH_CAUSE_RINGS_OR_BORE; k < CH_CAUSE_MEASUREMENT_ERROR; k++)
        most = fmax(most, judgement.trace.cylinder[c].cause_1[k]);
    return (error_of(c) > fault_of(c) || (error_of(c) >= 0.25 && error_of(c) > most)) &&
           error_of(c) + fault_of(c) >= 0.5;
}

/* ... and a rule is broken, of which a fault would be made else. */
static bool is_withheld(int c)
{
    const ch_rule_outcome *rule = &judgement.rule[judgement.chosen_rule];
    return (rule->applies && rule->chance_broken_1 >= 0.9 && judgement.lowest == c + 1) ||
           judgement.cylinder[c].chance_below_minimum_1 >= 0.9;
}

static void want_measuring(void)
{
    const ch_judgement *j = &judgement;
    int worst = -1, count = 0, rival = -1;
    bool withheld = false;
    if (!j->trace.reliable) {
        want(j->verdict == CH_VERDICT_UNCLEAR ? 95.0 : 52.0,
             "The evidence on this sheet is too odd for the tracing to weigh it properly: no cause can be named. "
             "Repeat the readings that stand out.");
        return;
    }
    for (int c = j->cylinders - 1; c >= 0; c--)
        if (error_of(c) > fault_of(c) && error_of(c) + fault_of(c) >= 0.5) {
            count++;
            worst = worst < 0 || error_of(c) >= error_of(worst) ? c : worst;
            withheld = withheld || is_withheld(c);
        } else if (comes_first(c) && error_of(c) <= fault_of(c)) {
            rival = rival < 0 || error_of(c) >= error_of(rival) ? c : rival;
        }
    if (rival >= 0)
        want(is_withheld(rival) ? 87.0 : 50.0 + 40.0 * error_of(rival),
             "Cylinder %d: measure again before taking anything apart: that the test misleads (%s) is likelier than "
             "any one trouble, though not than all of them together (%s).",
             rival + 1, about(error_of(rival)).text, about(fault_of(rival)).text);
    const double weight = worst < 0 ? 0.0 : fmax(50.0 + 40.0 * error_of(worst), withheld ? 87.0 : 0.0);
    if (count == 1)
        want(weight,
             "Cylinder %d: the test is a likelier explanation (%s) than the engine (%s). Measure again before taking "
             "anything apart.",
             worst + 1, about(error_of(worst)).text, about(fault_of(worst)).text);
    else if (count > 1)
        want(weight,
             "For %d cylinders the test is a likelier explanation (up to %s) than the engine. Measure again, throttle "
             "open and battery charged, before taking anything apart.",
             count, about(error_of(worst)).text);
}

static void want_questions(void)
{
    for (size_t i = 0; i < judgement.question_count; i++) {
        const ch_question *q = &judgement.question[i];
        const double weight = q->kind == CH_QUESTION_BAROMETER       ? 99.0
                              : q->kind == CH_QUESTION_UNIT          ? (q->cylinder == 0 ? 98.0 : 58.0)
                              : q->kind == CH_QUESTION_IMPOSSIBLE    ? 98.0
                              : q->kind == CH_QUESTION_ALL_LOW       ? 75.0
                              : q->kind == CH_QUESTION_THROTTLE_SHUT ? 75.0
                              : q->kind == CH_QUESTION_CONTRADICTION ? 68.0
                              : q->kind == CH_QUESTION_BEYOND_SCALE  ? 68.0
                              : q->kind == CH_QUESTION_OIL_DOSE      ? 96.0
                              : q->kind == CH_QUESTION_ONE_HIGH      ? 88.0
                              : q->kind == CH_QUESTION_OUTSIDE       ? 100.0
                              : q->kind == CH_QUESTION_COLD_OR_SLOW  ? 64.0
                              : q->kind == CH_QUESTION_MISSING ? (count_tested() < judgement.cylinders ? 57.0 : 35.0)
                                                               : 0.0;
        if (weight > 0.0)
            want(weight, "%s", q->text);
    }
}

static void want_change(void)
{
    const ch_judgement *j = &judgement;
    const ch_trace_check *next = &j->trace.next_check[0];
    int worst = 0, measured = 0;
    const char *hardly = j->rule[j->chosen_rule].applies ? " One more repeat of any reading would hardly move it." : "";
    for (int c = 0; c < j->cylinders; c++)
        hardly = comes_first(c) ? "" : hardly;
    for (int c = 0; c < j->cylinders; c++)
        if (is_number_asked(c)) {
            want(40.0,
                 "What would change this: the number of cylinder %d as the dial shows it, read again where that is in "
                 "doubt.",
                 c + 1);
            return;
        }
    if (j->repeat_cylinder > 0) {
        want(40.0,
             "What would change this: one more reading of cylinder %d would be expected to move the chance of a broken "
             "rule by %d %%.",
             j->repeat_cylinder, percent(j->cylinder[j->repeat_cylinder - 1].repeat_gain_1));
        return;
    }
    if (j->trace.reliable && j->trace.next_check_count > 0) {
        char where[40] = "";
        if (next->cylinder > 0)
            snprintf(where, sizeof where, " (cylinder %d)", next->cylinder);
        want(40.0, "What would change this: \"%s\"%s is the check to do next, some %d minutes.%s",
             title(next->check->title).text, where, (int)rint(next->minutes),
             strcmp(next->check->id, "repeat_reading") == 0 ? "" : hardly);
        return;
    }
    for (int c = 0; c < j->cylinders; c++) {
        measured += j->cylinder[c].n > 0;
        worst = fault_of(c) + error_of(c) > fault_of(worst) + error_of(worst) ? c : worst;
    }
    want(40.0, "What would change this: %s of cylinder %d.%s",
         measured == 0           ? "a dry compression test"
         : drawn.leak_row[worst] ? "a look through the plug hole (borescope) or a repeated leak-down"
                                 : "a leak-down test",
         worst + 1, hardly);
}

static void want_what_it_rests_on(void)
{
    static const struct {
        ch_input input;
        const char *says;
    } WEIGHTY[] = {{CH_INPUT_COMPRESSION_RATIO, "compression ratio"},
                   {CH_INPUT_INTAKE_CLOSES, "valve timing"},
                   {CH_INPUT_CRANKING_SPEED, "cranking speed"},
                   {CH_INPUT_AMBIENT_PRESSURE, "altitude or barometer"},
                   {CH_INPUT_ENGINE_TEMPERATURE, "engine temperature"},
                   {CH_INPUT_THROTTLE, "throttle open"},
                   {CH_INPUT_STROKES, "number of strokes"},
                   {CH_INPUT_GAUGE_ACCURACY, "gauge accuracy"}};
    const ch_judgement *j = &judgement;
    int dry = 0, cylinders = 0, rows = 0;
    for (int c = 0; c < j->cylinders; c++) {
        dry += j->cylinder[c].n;
        cylinders += j->cylinder[c].n > 0;
        rows += drawn.leak_row[c];
    }
    char repeats[200] = "", assumed[300] = "";
    if (dry > 0) /* two digits of a spread, as of any standard uncertainty */
        snprintf(repeats, sizeof repeats,
                 j->pooled_assumed ? "; nothing was repeated, so a scatter of %.1f psi is assumed"
                                   : "; readings repeat within %.1f psi (one standard deviation)",
                 j->pooled_sd_pa / PSI);
    want(30.0, "This rests on %d dry reading%s of %d cylinder%s, %d wet%s, %d leak-down and %d thing%s seen%s.", dry,
         dry == 1 ? "" : "s", cylinders, cylinders == 1 ? "" : "s", drawn.wet - (int)j->wet_left_out,
         j->wet_left_out > 0 ? " (1 more does not count)" : "", rows, drawn.seen, drawn.seen == 1 ? "" : "s", repeats);
    for (size_t i = 0; i < sizeof WEIGHTY / sizeof *WEIGHTY; i++)
        if (j->assumed[WEIGHTY[i].input] && !(WEIGHTY[i].input == CH_INPUT_AMBIENT_PRESSURE && drawn.altitude > 0))
            sprintf(assumed + strlen(assumed), "%s%s", assumed[0] == '\0' ? "" : ", ", WEIGHTY[i].says);
    if (assumed[0] != '\0' && dry > 0)
        want(25.0, "Not on the sheet, so assumed, with the doubt that this brings: %s.", assumed);
    want(10.0, "%s",
         j->verdict == CH_VERDICT_SOUND
             ? "These tests show nothing wrong. They speak of sealing only, on that day: not of bearings, oil supply, "
               "belts or anything else. The car's own manual has the last word."
             : "These tests speak of sealing only, on that day. The car's own manual has the last word.");
}

static void every_reason_is_told_in_its_words_and_place(void **state)
{
    (void)state;
    static char text[6000];
    size_t full = 0;
    ch_stream_init(&stream, 81, 0);
    for (int n = 0; n < 600; n++) {
        ch_sheet sheet;
        judge_leak leak[CH_CYLINDERS_MAX];
        draw_all();
        write_sheet(text);
        sheet_of(text, &sheet);
        spoil_judgement_beyond();
        judgement.because_count = CH_REASONS_MAX; /* of an earlier verdict */
        judge_verdict(&sheet, &knowledge, ch_unit_find("psi", 3), &judgement);
        judge_leaks(&sheet, leak);
        ch_sheet_clear(&sheet);
        wanted_count = 0;
        if (judgement.trace.reliable)
            want_causes();
        want_balance();
        want_rule();
        want_levels();
        want_leaks(leak);
        want_measuring();
        want_questions();
        want_change();
        want_what_it_rests_on();
        size_t place = 0;
        for (size_t told = 0; told < wanted_count && place < CH_REASONS_MAX; told++, place++) {
            size_t next = 0; /* the weightiest that is left, of equals the first */
            for (size_t i = 1; i < wanted_count; i++)
                next = wanted[i].weight > wanted[next].weight ? i : next;
            wanted[next].weight = -1.0;
            if (place >= judgement.because_count ||
                strncmp(judgement.because[place], wanted[next].text, CH_REASON_SIZE - 1) != 0)
                fail_msg("judgement %d: reason %zu is \"%s\", not \"%s\"", n, place + 1, judgement.because[place],
                         wanted[next].text);
        }
        assert_int_equal(judgement.because_count, place);
        full += wanted_count > CH_REASONS_MAX;
    }
    assert_true(full > 1);
}

/* A title as long as a sentence holds is cut, not run over. */
static void a_long_title_is_cut(void **state)
{
    (void)state;
    static ch_knowledge_check check = {
        .id = "long", .title = "Abcdefghijklmnopqrstuvwxyzabcdefghijklmnopqrstuvwxyzabcdefghijklmnopqrstuvwxyz"};
    for (int k = 0; k < 3; k++) {
        char title_text[80], wanted_text[140];
        snprintf(title_text, sizeof title_text, "%.*s", 62 + k,
                 "Abcdefghijklmnopqrstuvwxyzabcdefghijklmnopqrstuvwxyzabcdefghijklmnopqrstuvwxyz");
        check.title = title_text;
        all_well_of(3, 5.0);
        judgement.trace.next_check_count = 1;
        judgement.trace.next_check[0] = (ch_trace_check){.check = &check, .cylinder = 2, .minutes = 12.0};
        (void)verdict_of(
            "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 3}, compression: [{cylinder: 1, reading: 170}]}");
        snprintf(wanted_text, sizeof wanted_text, "\"a%.*s\" (cylinder 2)", k == 0 ? 61 : 62, title_text + 1);
        assert_true(reasons_say(wanted_text));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_reason_is_told_in_its_words_and_place),
        cmocka_unit_test(a_long_title_is_cut),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
