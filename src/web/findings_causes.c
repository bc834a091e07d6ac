/* What it may be, what to check next, the rules side by side, and what was assumed. */
#include <math.h>
#include <stdio.h>

#include "crosshatch/do_not_run.h"
#include "findings.h"

enum { CHECKS_SHOWN = 6 };

/* ---------------------------------------------------------------- causes */

static void cause_rows(const findings *f, const ch_trace_cylinder *traced, const int order[CH_CAUSE_COUNT])
{
    html_lit(f->w, "<ul class=\"causes\">\n");
    for (int i = 0; i < CH_CAUSE_COUNT; i++) {
        char chance[CH_SHOW_NUMBER];
        ch_svg svg;
        if (i > 0 && !(traced->cause_1[order[i]] >= CH_SHOW_CAUSE_1))
            continue;
        html_lit(f->w, "<li><span class=\"chance\">");
        html_text(f->w, ch_show_chance(traced->cause_1[order[i]], chance));
        html_lit(f->w, "</span> <span>");
        html_text(f->w, f->judged->knowledge->causes[order[i]].title);
        html_lit(f->w, "</span>");
        findings_drawing(f, &svg, ch_show_bar_svg(traced->cause_1[order[i]], &svg, NULL));
        html_lit(f->w, "</li>\n");
    }
    html_lit(f->w, "</ul>\n");
}

static void every_cause(const findings *f, const ch_trace_cylinder *traced, const int order[CH_CAUSE_COUNT])
{
    char chance[CH_SHOW_NUMBER];
    html_lit(f->w, "<dl>\n");
    for (int i = 0; i < CH_CAUSE_COUNT; i++) {
        const ch_knowledge_cause *cause = &f->judged->knowledge->causes[order[i]];
        html_lit(f->w, "<dt>");
        html_text(f->w, cause->title);
        html_lit(f->w, "</dt><dd>");
        html_textf(f->w, "Before the tests %s, ", ch_show_chance(traced->prior_1[order[i]], chance));
        html_textf(f->w, "with them %s. ", ch_show_chance(traced->cause_1[order[i]], chance));
        html_text(f->w, cause->looks_like);
        if (cause->prior_source != NULL) {
            html_lit(f->w, "<br><small>How common: ");
            html_text(f->w, cause->prior_source);
            html_lit(f->w, "</small>");
        }
        html_lit(f->w, "</dd>\n");
    }
    html_lit(f->w, "</dl>\n");
}

/* What the answer would be without each kind of evidence; asked for by a link, since it takes seconds. */
static void rests_on(const findings *f, const ch_trace_cylinder *traced)
{
    const ch_show_judged *judged = f->judged;
    char chance[CH_SHOW_NUMBER];
    if (judged->why != traced->cylinder) {
        html_lit(f->w, "<p><a class=\"button second\"");
        html_attrf(f->w, "href", "%s?why=%d#cylinder-%d", f->path, traced->cylinder, traced->cylinder);
        html_lit(f->w, ">");
        html_lit(f->w, "What this rests on</a></p>\n");
        return;
    }
    html_lit(f->w, "<h4>What this rests on</h4>\n");
    if (judged->reason_count > 0) {
        html_lit(f->w, "<p>");
        html_textf(f->w, "%s: %s with everything counted. Its chance would be:",
                   judged->knowledge->causes[judged->reason[0].cause].title,
                   ch_show_chance(judged->reason[0].with_1, chance));
        html_lit(f->w, "</p>\n");
    }
    html_lit(f->w, "<ul>");
    for (size_t i = 0; i < judged->reason_count; i++) {
        const ch_trace_reason *reason = &judged->reason[i];
        html_lit(f->w, "<li>");
        html_textf(f->w, "%s without %s", ch_show_chance(reason->without_1, chance), reason->what);
        if (reason->instead != reason->cause)
            html_textf(f->w, "; then first: %s (%s)", judged->knowledge->causes[reason->instead].title,
                       ch_show_chance(reason->instead_1, chance));
        html_lit(f->w, "</li>\n");
    }
    html_lit(f->w, "</ul>\n");
}

static void trace_working(const findings *f)
{
    const ch_trace *trace = &f->judged->judgement->trace;
    char number[CH_SHOW_NUMBER], error[CH_SHOW_NUMBER];
    findings_open(f, "Working: how causes are weighed");
    findings_p(f, ch_show_method(CH_SHOW_TRACE));
    html_lit(f->w, "<p>");
    html_textf(
        f->w,
        "Effective samples: %s. Random streams from seed %llu. Standard error of the chances from the drawing: %s "
        "at most.",
        ch_show_number(trace->effective_samples, 0, number), (unsigned long long)f->judged->options->seed,
        ch_show_number(ch_trace_drawing_error_1(trace), 3, error));
    html_lit(f->w, "</p>\n<ul>");
    for (int doubt = 0; doubt < CH_DOUBT_COUNT; doubt++)
        if (fabs(trace->shared_shift[doubt]) >= CH_SHOW_SHIFT_1) {
            html_lit(f->w, "<li>");
            html_textf(f->w, "The tests move the %s by %s of its standard uncertainties.",
                       ch_doubt_name((ch_doubt)doubt), ch_show_number(trace->shared_shift[doubt], 1, number));
            html_lit(f->w, "</li>\n");
        }
    html_lit(f->w, "<li>The numbers of knowledge (how common, how large, how often seen) with their sources: "
                   "docs/knowledge.md.</li></ul>\n");
    findings_close(f);
}

/* Something was seen in this cylinder that forbids to run the engine: it is not told as a sound one. */
static bool seen_broken(const findings *f, int cylinder)
{
    const ch_sheet *sheet = f->judged->sheet;
    for (size_t i = 0; i < sheet->observed_count; i++)
        if (sheet->observed[i].cylinder == cylinder && ch_do_not_run_row(sheet, f->judged->knowledge, i) != NULL)
            return true;
    return false;
}

/* A cylinder that is likelier sound than anything else is folded: those that are not have to be seen first. */
static void one_cylinder(const findings *f, const ch_trace_cylinder *traced, const int order[CH_CAUSE_COUNT])
{
    const bool broken = seen_broken(f, traced->cylinder);
    const bool folded = order[0] == CH_CAUSE_SOUND && f->judged->why != traced->cylinder && !broken;
    char chance[CH_SHOW_NUMBER];
    html_lit(f->w, "<section class=\"card\"");
    html_attrf(f->w, "id", "cylinder-%d", traced->cylinder);
    if (folded) {
        html_lit(f->w, "><details class=\"settled\"><summary><span><strong>");
        html_textf(f->w, "Cylinder %d", traced->cylinder);
        html_lit(f->w, "</strong>, likely sound: <span class=\"chance\">");
        html_text(f->w, ch_show_chance(traced->cause_1[CH_CAUSE_SOUND], chance));
        html_lit(f->w, "</span></span></summary>\n");
    } else {
        html_lit(f->w, "><h3>");
        html_textf(f->w, "Cylinder %d", traced->cylinder);
        html_lit(f->w, "</h3>\n");
    }
    if (broken)
        findings_p(f, "What was seen here stands. The chances below are of how it seals.");
    cause_rows(f, traced, order);
    if (order[0] != CH_CAUSE_SOUND) {
        char says[CH_SHOW_SENTENCE];
        ch_show_cause_says(&f->judged->knowledge->causes[order[0]], traced->cause_1[order[0]], says);
        findings_p(f, says);
    }
    rests_on(f, traced);
    findings_open(f, "Every cause, before and after the tests");
    every_cause(f, traced, order);
    findings_close(f);
    if (folded)
        findings_close(f);
    html_lit(f->w, "</section>\n");
}

void findings_causes(const findings *f)
{
    const ch_trace *trace = &f->judged->judgement->trace;
    bool any = false;
    html_lit(f->w, "<h2>What it may be</h2>\n");
    if (!trace->reliable) {
        findings_p(f, "No cause is named: see above. Repeat the readings that stand out.");
        trace_working(f);
        return;
    }
    for (int c = 0; c < trace->cylinders; c++) {
        const ch_trace_cylinder *traced = &trace->cylinder[c];
        int order[CH_CAUSE_COUNT];
        if (!ch_show_suspicious(f->judged->sheet, traced) && !seen_broken(f, traced->cylinder))
            continue;
        any = true;
        ch_show_cause_order(traced->cause_1, order);
        one_cylinder(f, traced, order);
    }
    if (!any)
        html_lit(f->w,
                 "<p>No cylinder that was tested is suspicious: each is sound with a chance of 90 % or more.</p>\n");
    trace_working(f);
}

/* ---------------------------------------------------------------- checks */

static void caution(const findings *f, const ch_knowledge_caution *one)
{
    html_lit(f->w, "<p");
    html_attr(f->w, "class",
              one->word == CH_SIGNAL_DANGER    ? "danger-box"
              : one->word == CH_SIGNAL_WARNING ? "warning"
              : one->word == CH_SIGNAL_CAUTION ? "caution"
                                               : "notice");
    html_lit(f->w, "><strong class=\"signal\">");
    html_text(f->w, ch_signal_word_name(one->word));
    html_lit(f->w, "</strong> ");
    html_textf(f->w, "%s %s %s", one->hazard, one->consequence, one->precaution);
    html_lit(f->w, "</p>\n");
}

/* Where the result of a check is entered: the readings that it takes, the signs that it may find. */
static void enter_result(const findings *f, const ch_trace_check *next)
{
    static const struct {
        unsigned bit;
        const char *kind, *words;
    } ROWS[] = {{CH_ROWS_COMPRESSION, "dry", "Enter the reading"},
                {CH_ROWS_WET, "wet", "Enter the wet reading"},
                {CH_ROWS_LEAKDOWN, "leakdown", "Enter the leak-down"}};
    if (f->closed) {
        html_lit(f->w, "<p class=\"no-print\"><a class=\"button second\"");
        html_attrf(f->w, "href", "/sheet/%lld", (long long)f->sheet);
        html_lit(f->w, ">Open the sheet again to enter the result</a></p>\n");
        return;
    }
    html_lit(f->w, "<p class=\"row no-print\">");
    for (size_t i = 0; i < sizeof ROWS / sizeof ROWS[0]; i++) {
        if ((next->check->rows & ROWS[i].bit) == 0)
            continue;
        html_lit(f->w, "<a class=\"button second\"");
        html_attrf(f->w, "href", "/sheet/%lld/measure?kind=%s&cylinder=%d#enter", (long long)f->sheet, ROWS[i].kind,
                   next->cylinder);
        html_lit(f->w, ">");
        html_text(f->w, ROWS[i].words);
        html_lit(f->w, "</a>");
    }
    if (next->check->yields.count > 0) {
        html_lit(f->w, "<a class=\"button second\"");
        html_attrf(f->w, "href", "/sheet/%lld?check=%s&cylinder=%d#enter-sign", (long long)f->sheet, next->check->id,
                   next->cylinder);
        html_lit(f->w, ">Enter what you saw</a>");
    }
    html_lit(f->w, "</p>\n");
}

/* Cautions, then what to do: whoever reads down the page meets them in this order. */
static void check_body(const findings *f, const ch_trace_check *next)
{
    const ch_knowledge *knowledge = f->judged->knowledge;
    char bits[CH_SHOW_NUMBER];
    for (size_t i = 0; i < next->check->cautions.count; i++)
        caution(f, &knowledge->cautions[next->check->cautions.at[i]]);
    findings_p(f, next->check->says);
    enter_result(f, next);
    html_lit(f->w, "<p class=\"quiet\">");
    html_textf(f->w, "Worth %s bits. ", ch_show_number(next->bits_1, 2, bits));
    html_text(f->w, ch_show_bit_means());
    html_lit(f->w, " Minutes are hands-on time with what it takes to get there: ");
    html_text(f->w, next->check->source);
    html_lit(f->w, ".");
    if (next->check->note != NULL) {
        html_lit(f->w, " ");
        html_text(f->w, next->check->note);
    }
    html_lit(f->w, "</p>\n");
}

static void check_title(const ch_trace_check *next, char title[CH_SHOW_SENTENCE])
{
    char minutes[CH_SHOW_NUMBER], where[32] = "";
    if (next->cylinder > 0)
        snprintf(where, sizeof where, ", cylinder %d", next->cylinder);
    snprintf(title, CH_SHOW_SENTENCE, "%s%s: %s minutes", next->check->title, where,
             ch_show_number(next->minutes, 0, minutes));
}

/* What was seen comes before any cranking: its cautions, and that no check is named that cranks. */
static void stopped(const findings *f)
{
    const ch_knowledge *knowledge = f->judged->knowledge;
    for (size_t i = 0; i < f->judged->sheet->observed_count; i++) {
        const ch_knowledge_observation *seen = ch_do_not_run_row(f->judged->sheet, knowledge, i);
        for (size_t k = 0; seen != NULL && k < seen->cautions.count; k++)
            caution(f, &knowledge->cautions[seen->cautions.at[k]]);
    }
    findings_p(f, ch_show_stopped());
}

/* Where no check can be put before another: the readings again, behind their cautions. */
static void repeat_first(const findings *f)
{
    const ch_knowledge *knowledge = f->judged->knowledge;
    const ch_knowledge_check *check = ch_show_repeat_check(knowledge);
    findings_p(f,
               "The readings that stand out, once more. No check can be put before another until they fit together.");
    if (check == NULL)
        return;
    findings_open(f, "The car's own manual comes first");
    findings_p(f, knowledge->always);
    findings_close(f);
    for (size_t i = 0; i < check->cautions.count; i++)
        caution(f, &knowledge->cautions[check->cautions.at[i]]);
    findings_p(f, check->says);
}

/* Cylinders without a reading, where others have one: no check of theirs comes before it. */
static void read_the_rest(const findings *f)
{
    const ch_question *missing = ch_show_missing(f->judged->judgement);
    if (missing == NULL)
        return;
    findings_p(f, missing->text);
    if (f->closed)
        return;
    html_lit(f->w, "<p class=\"no-print\"><a class=\"button\"");
    html_attrf(f->w, "href", "/sheet/%lld/measure", (long long)f->sheet);
    html_lit(f->w, ">Read them first</a></p>\n");
}

static size_t shown_checks(const findings *f)
{
    const size_t count = f->judged->judgement->trace.next_check_count;
    return count < CHECKS_SHOWN ? count : CHECKS_SHOWN;
}

/* Those that can be done as the car stands, or those that wait until all is back; the first large, unless they wait. How many. */
static size_t check_list(const findings *f, bool waiting)
{
    const ch_trace *trace = &f->judged->judgement->trace;
    size_t count = 0;
    for (size_t i = 0; i < shown_checks(f); i++) {
        const ch_trace_check *next = &trace->next_check[i];
        char title[CH_SHOW_SENTENCE];
        if ((f->off > 0 && next->check->runs) != waiting)
            continue;
        if (count == 0)
            html_lit(f->w, "<ol class=\"checks\">\n");
        const bool large = count == 0 && !waiting;
        count++;
        check_title(next, title);
        if (large) {
            html_lit(f->w, "<li class=\"card\"><h3>");
            html_text(f->w, title);
            html_lit(f->w, "</h3>\n");
        } else {
            html_lit(f->w, "<li>");
            findings_open(f, title);
        }
        check_body(f, next);
        if (!large)
            findings_close(f);
        html_lit(f->w, "</li>\n");
    }
    if (count > 0)
        html_lit(f->w, "</ol>\n");
    return count;
}

void findings_checks(const findings *f)
{
    const ch_trace *trace = &f->judged->judgement->trace;
    html_lit(f->w, "<h2>What to check next</h2>\n");
    if (f->judged->judgement->do_not_run)
        stopped(f);
    if (!trace->reliable) {
        if (!f->judged->judgement->do_not_run)
            repeat_first(f);
        return;
    }
    if (trace->next_check_count == 0) {
        read_the_rest(f);
        html_lit(f->w, "<p>No check would tell enough to be worth its time.</p>\n");
        return;
    }
    findings_open(f, "The car's own manual comes first");
    findings_p(f, f->judged->knowledge->always);
    findings_close(f);
    read_the_rest(f);
    html_lit(f->w, "<p>What gets soonest to being sure stands first.</p>\n");
    const size_t now = check_list(f, false);
    if (now == shown_checks(f))
        return;
    html_lit(f->w, "<h3>Once everything is back</h3><p>");
    html_textf(f->w, "For these the engine runs, and %zu %s off the car: ", f->off,
               f->off == 1 ? "thing is" : "things are");
    html_lit(f->w, "<a");
    html_attrf(f->w, "href", "/sheet/%lld/ledger", (long long)f->sheet);
    html_lit(f->w, ">put back first</a>, which their minutes do not count.</p>\n");
    check_list(f, true);
}

/* ---------------------------------------------------------------- rules, assumptions */

static void ratio(const findings *f)
{
    const ch_judgement *judgement = f->judged->judgement;
    char mean[CH_SHOW_NUMBER], low[CH_SHOW_NUMBER], high[CH_SHOW_NUMBER], chance[CH_SHOW_NUMBER];
    if (judgement->lowest == 0)
        return;
    html_lit(f->w, "<p>");
    html_textf(f->w, "Lowest over highest: cylinder %d over cylinder %d, %s (95 %%: %s to %s); truly under 0.75: %s.",
               judgement->lowest, judgement->highest, ch_show_number(judgement->ratio_1, 3, mean),
               ch_show_number(judgement->ratio_interval_1[0], 3, low),
               ch_show_number(judgement->ratio_interval_1[1], 3, high),
               ch_show_chance(judgement->chance_below_75_1, chance));
    html_lit(f->w, "</p>\n");
}

void findings_rules(const findings *f)
{
    const ch_judgement *judgement = f->judged->judgement;
    char chance[CH_SHOW_NUMBER];
    ratio(f);
    findings_open(f, "The rules of the trade side by side");
    html_lit(f->w, "<p>They differ; which one counts is the owner's choice.</p>\n");
    html_lit(f->w,
             "<div class=\"scroll\" role=\"region\" aria-label=\"Rules side by side\" tabindex=\"0\"><table><thead><tr>"
             "<th scope=\"col\">Rule</th><th scope=\"col\">As read</th>"
             "<th scope=\"col\" class=\"number\">Chance that it is truly broken</th></tr></thead><tbody>\n");
    for (int i = 0; i < CH_RULE_COUNT; i++) {
        const ch_rule_outcome *rule = &judgement->rule[i];
        if (!rule->applies)
            continue;
        html_lit(f->w, "<tr><th scope=\"row\">");
        html_text(f->w, rule->says);
        if (rule->rule == judgement->chosen_rule)
            html_lit(f->w, " <strong>(chosen)</strong>");
        html_lit(f->w, "</th><td>");
        if (rule->passes)
            html_lit(f->w, "holds");
        else
            html_lit(f->w, "<strong>BROKEN</strong>");
        html_lit(f->w, "</td><td class=\"number\">");
        html_text(f->w, ch_show_chance(rule->chance_broken_1, chance));
        html_lit(f->w, "</td></tr>\n");
    }
    html_lit(f->w, "</tbody></table></div>\n");
    html_lit(f->w, "<h3>Who uses which rule, and how the chances come about</h3>\n");
    findings_p(f, ch_show_method(CH_SHOW_BALANCE));
    html_lit(f->w, "<ul>");
    for (int i = 0; i < CH_RULE_COUNT; i++)
        if (judgement->rule[i].applies) {
            html_lit(f->w, "<li>");
            html_textf(f->w, "%s: %s", judgement->rule[i].says, judgement->rule[i].source);
            html_lit(f->w, "</li>\n");
        }
    html_lit(f->w, "</ul>\n");
    findings_close(f);
}

void findings_assumed(const findings *f)
{
    const bool *assumed = f->judged->judgement->assumed;
    bool any = false;
    findings_open(f, "Assumed, because the sheet does not say");
    for (int input = 0; input < CH_INPUT_COUNT; input++) {
        if (!assumed[input] || input == CH_INPUT_LEAKS) /* which is of `predict` alone */
            continue;
        if (!any)
            html_lit(f->w, "<dl>\n");
        any = true;
        html_lit(f->w, "<dt>");
        html_text(f->w, ch_show_input((ch_input)input));
        html_lit(f->w, "</dt><dd>");
        html_text(f->w, ch_input_reason((ch_input)input));
        html_lit(f->w, "</dd>\n");
    }
    if (any)
        html_lit(f->w, "</dl>\n");
    else
        html_lit(f->w, "<p>Nothing: the sheet gives it all.</p>\n");
    findings_close(f);
}
