/* What it may be, and what to check next. Cautions stand before the step that they belong to, with the signal words of ANSI Z535.4. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/do_not_run.h"
#include "judgement_parts.h"

enum { CHANCE_BAR = 20, CHECKS_SHOWN = 6 };

/* Cylinders that are told the same causes in the same order, and chances so far apart at most, are told them once (judgment). */
static const double ALIKE_1 = 0.03;

/* "63..64 %", or the one chance where they read the same. */
static void chances(double least_1, double most_1, char words[PAGE_NUMBER])
{
    char most[PAGE_NUMBER];
    ch_show_chance(least_1, words);
    ch_show_chance(most_1, most);
    if (strcmp(words, most) != 0 && words[0] != 'u' && most[0] != 'o')
        snprintf(words, PAGE_NUMBER, "%ld..%ld %%", lround(100.0 * least_1), lround(100.0 * most_1));
    else if (strcmp(words, most) != 0)
        snprintf(words, PAGE_NUMBER, "%s", words[0] == 'u' ? most : words);
}

static void cause_line(page *p, const ch_knowledge_cause *cause, double least_1, double most_1)
{
    char first[96], bar[CHANCE_BAR + 1], chance[PAGE_NUMBER];
    const double chance_1 = 0.5 * (least_1 + most_1);
    const long cells = lround(fmin(fmax(chance_1, 0.0), 1.0) * CHANCE_BAR);
    chances(least_1, most_1, chance);
    memset(bar, ' ', sizeof bar);
    memset(bar, '#', (size_t)cells);
    bar[CHANCE_BAR] = '\0';
    snprintf(first, sizeof first, "    %9s |%s|  ", chance, bar);
    page_paragraph(p, page_width(first), first, cause->title);
}

/* What is shown of two cylinders is the same: causes, order, and chances as near as makes no difference. */
static bool told_alike(const ch_trace_cylinder *a, const ch_trace_cylinder *b)
{
    int order_a[CH_CAUSE_COUNT], order_b[CH_CAUSE_COUNT];
    ch_show_cause_order(a->cause_1, order_a);
    ch_show_cause_order(b->cause_1, order_b);
    for (int i = 0; i < CH_CAUSE_COUNT; i++) {
        const double chance_1 = a->cause_1[order_a[i]], other_1 = b->cause_1[order_b[i]];
        const bool shown = i == 0 || chance_1 >= CH_SHOW_CAUSE_1;
        if (shown != (i == 0 || other_1 >= CH_SHOW_CAUSE_1) ||
            (shown && (order_a[i] != order_b[i] || fabs(chance_1 - other_1) > ALIKE_1)))
            return false;
    }
    return true;
}

/* The cylinders from `c` on that are told as `c` is, itself among them. */
static uint32_t alike(const ch_show_judged *judged, int c)
{
    const ch_trace *trace = &judged->judgement->trace;
    uint32_t cylinders = 0;
    for (int k = c; k < trace->cylinders; k++)
        if (ch_show_suspicious(judged->sheet, &trace->cylinder[k]) &&
            told_alike(&trace->cylinder[c], &trace->cylinder[k]))
            cylinders |= 1U << k;
    return cylinders;
}

void judgement_causes(page *p, const ch_show_judged *judged)
{
    const ch_trace *trace = &judged->judgement->trace;
    bool any = false;
    uint32_t told = 0;
    for (int c = 0; trace->reliable && c < trace->cylinders; c++) {
        const ch_trace_cylinder *traced = &trace->cylinder[c];
        if ((told >> c & 1U) != 0 || !ch_show_suspicious(judged->sheet, traced))
            continue;
        if (!any)
            page_heading(p, "What it may be");
        any = true;
        const uint32_t together = alike(judged, c);
        char which[CH_JUDGE_LIST];
        told |= together;
        ch_text_appendf(p->text, "  Cylinder%s %s\n", (together & (together - 1)) == 0 ? "" : "s",
                        ch_judge_cylinders(together, which));
        int order[CH_CAUSE_COUNT];
        ch_show_cause_order(traced->cause_1, order);
        for (int i = 0; i < CH_CAUSE_COUNT; i++) {
            double least_1 = 1.0, most_1 = 0.0;
            for (int k = c; k < trace->cylinders; k++)
                if ((together >> k & 1U) != 0) {
                    least_1 = fmin(least_1, trace->cylinder[k].cause_1[order[i]]);
                    most_1 = fmax(most_1, trace->cylinder[k].cause_1[order[i]]);
                }
            if (i == 0 || traced->cause_1[order[i]] >= CH_SHOW_CAUSE_1)
                cause_line(p, &judged->knowledge->causes[order[i]], least_1, most_1);
        }
        if (order[0] != CH_CAUSE_SOUND) {
            char says[CH_SHOW_SENTENCE];
            ch_show_cause_says(&judged->knowledge->causes[order[0]], traced->cause_1[order[0]], says);
            page_paragraph(p, 4, "", says);
        }
    }
}

/* What the answer would be without each kind of evidence. */
static void reasons(page *p, const ch_show_judged *judged)
{
    for (size_t i = 0; i < judged->reason_count; i++) {
        const ch_trace_reason *reason = &judged->reason[i];
        char with[PAGE_NUMBER], without[PAGE_NUMBER], instead[PAGE_NUMBER], first[64], other[256] = "";
        if (i == 0)
            page_paragraphf(p, 2, "  ", "%s: %s. What its chance would be without",
                            judged->knowledge->causes[reason->cause].title, ch_show_chance(reason->with_1, with));
        if (reason->instead != reason->cause)
            snprintf(other, sizeof other, "; then first: %s (%s)", judged->knowledge->causes[reason->instead].title,
                     ch_show_chance(reason->instead_1, instead));
        snprintf(first, sizeof first, "    %9s  ", ch_show_chance(reason->without_1, without));
        page_paragraphf(p, page_width(first), first, "%s%s", reason->what, other);
    }
}

void judgement_why(page *p, const ch_show_judged *judged)
{
    const int cylinder = judged->why;
    const ch_trace *trace = &judged->judgement->trace;
    const ch_trace_cylinder *traced = NULL;
    for (int c = 0; c < trace->cylinders; c++)
        if (trace->cylinder[c].cylinder == cylinder)
            traced = &trace->cylinder[c];
    if (traced == NULL)
        return;
    char heading[64], before[PAGE_NUMBER], after[PAGE_NUMBER], first[96];
    snprintf(heading, sizeof heading, "Cylinder %d: every cause, before and after the tests", cylinder);
    page_heading(p, heading);
    ch_text_append_string(p->text, "       before      after\n");
    int order[CH_CAUSE_COUNT];
    ch_show_cause_order(traced->cause_1, order);
    for (int i = 0; i < CH_CAUSE_COUNT; i++) {
        const ch_knowledge_cause *cause = &judged->knowledge->causes[order[i]];
        snprintf(first, sizeof first, "    %9s  %9s  ", ch_show_chance(traced->prior_1[order[i]], before),
                 ch_show_chance(traced->cause_1[order[i]], after));
        page_paragraphf(p, page_width(first), first, "%s. %s", cause->title, cause->looks_like);
    }
    reasons(p, judged);
    page_paragraph(p, 2, "  ", "Where its air goes, mean effective area:");
    for (int path = 0; path < CH_PATH_COUNT; path++)
        ch_text_appendf(p->text, "    %-16s %6s mm2\n", ch_show_path((ch_path)path),
                        ch_show_area(traced->path_m2[path], before));
}

/* What was seen comes before any cranking: its cautions, and that no check is named that cranks. */
static void stopped(page *p, const ch_show_judged *judged, bool shown[PAGE_CAUTIONS_MAXIMUM])
{
    const ch_knowledge *knowledge = judged->knowledge;
    page_heading(p, "Before anything is checked");
    for (size_t i = 0; i < judged->sheet->observed_count; i++) {
        const ch_knowledge_observation *seen = ch_do_not_run_row(judged->sheet, knowledge, i);
        if (seen != NULL && knowledge->cautions_count <= PAGE_CAUTIONS_MAXIMUM)
            page_cautions(p, 2, knowledge, &seen->cautions, shown);
    }
    page_paragraph(p, 2, "  ", ch_show_stopped());
}

/* Where no check can be put before another: the readings again, behind their cautions. */
static void repeat_first(page *p, const ch_knowledge *knowledge)
{
    const ch_knowledge_check *check = ch_show_repeat_check(knowledge);
    bool shown[PAGE_CAUTIONS_MAXIMUM] = {false};
    if (check == NULL || knowledge->cautions_count > PAGE_CAUTIONS_MAXIMUM)
        return;
    page_heading(p, "What to check next");
    page_paragraph(p, 2, "  ", knowledge->always);
    page_paragraphf(p, 5, "  1. ", "%s, of the cylinders that stand out", check->title);
    page_cautions(p, 5, knowledge, &check->cautions, shown);
    page_paragraph(p, 5, "", check->says);
}

void judgement_checks(page *p, const ch_show_judged *judged)
{
    const ch_judgement *judgement = judged->judgement;
    const ch_knowledge *knowledge = judged->knowledge;
    bool shown[PAGE_CAUTIONS_MAXIMUM] = {false};
    if (judgement->do_not_run)
        stopped(p, judged, shown);
    if (!judgement->trace.reliable) {
        if (!judgement->do_not_run)
            repeat_first(p, knowledge);
        return;
    }
    if (judgement->trace.next_check_count == 0 || knowledge->cautions_count > PAGE_CAUTIONS_MAXIMUM)
        return;
    page_heading(p, "What to check next, soonest to being sure first");
    page_paragraph(p, 2, "  ", knowledge->always);
    for (size_t i = 0; i < judgement->trace.next_check_count && i < CHECKS_SHOWN; i++) {
        const ch_trace_check *next = &judgement->trace.next_check[i];
        char first[16], minutes[PAGE_NUMBER], bits[PAGE_NUMBER], where[32] = "";
        if (next->cylinder > 0)
            snprintf(where, sizeof where, ", cylinder %d", next->cylinder);
        snprintf(first, sizeof first, "  %zu. ", i + 1);
        page_paragraphf(p, 5, first, "%s%s: %s min, worth %s bits", next->check->title, where,
                        ch_show_number(next->minutes, 0, minutes), ch_show_number(next->bits_1, 2, bits));
        page_cautions(p, 5, knowledge, &next->check->cautions, shown);
        page_paragraph(p, 5, "", next->check->says);
    }
    page_paragraph(p, 2, "  ", ch_show_bit_means());
}
