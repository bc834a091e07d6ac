/* A judgement as a page of text: the verdict first, then what it rests on. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "judgement_parts.h"

enum { LABEL = 11, REMARK = 17 };

bool judgement_takes_part(ch_input input)
{
    return input != CH_INPUT_LEAKS;
}

page_tone judgement_tone(ch_verdict verdict)
{
    static const page_tone TONE[] = {
        [CH_VERDICT_SOUND] = PAGE_GOOD,
        [CH_VERDICT_WATCH] = PAGE_DOUBT,
        [CH_VERDICT_FAULT] = PAGE_BAD,
        [CH_VERDICT_UNCLEAR] = PAGE_DOUBT,
    };
    return TONE[verdict];
}

static void verdict(page *p, const ch_show_judged *judged)
{
    const ch_judgement *judgement = judged->judgement;
    char word[32];
    snprintf(word, sizeof word, "Verdict: %s. ", ch_verdict_name(judgement->verdict));
    page_tone_text(p, judgement_tone(judgement->verdict), word);
    if (judgement->outside) { /* one line instead of an answer */
        page_paragraph_on(p, page_width(word), judgement->because[0]);
        return;
    }
    page_paragraph_on(p, page_width(word), ch_show_verdict_means(judgement));
    char sure[CH_SHOW_SENTENCE];
    ch_show_how_sure(judged, sure);
    if (sure[0] != '\0')
        page_paragraph(p, 0, "", sure);
    if (judgement->because_count > 0)
        page_heading(p, "Because");
    for (size_t i = 0; i < judgement->because_count; i++)
        page_paragraph(p, 4, "  -", judgement->because[i]);
}

static void facts(page *p, const ch_sheet *sheet)
{
    char date[16], odometer[96] = "", hours[96] = "";
    if (sheet->title != NULL)
        page_paragraph(p, 0, "", sheet->title);
    ch_date_format(sheet->conditions.date, date, sizeof date);
    ch_quantity_text(&sheet->conditions.odometer, odometer, sizeof odometer);
    ch_quantity_text(&sheet->conditions.engine_hours, hours, sizeof hours);
    page_paragraphf(p, 0, "", "%d %s%s%s%s%s%s%s", sheet->engine.cylinders,
                    sheet->engine.cylinders == 1 ? "cylinder" : "cylinders", date[0] != '\0' ? ", tested " : "", date,
                    odometer[0] != '\0' ? ", " : "", odometer, hours[0] != '\0' ? ", " : "", hours);
    ch_text_append_string(p->text, "\n");
}

/* Put a mark on a bar, where the quantity is known. */
static void mark(char *bar, const page_scale *scale, double pressure_pa, char sign)
{
    if (isfinite(pressure_pa))
        bar[page_cell(scale, pressure_pa)] = sign;
}

enum { LIMIT = 128 };

/* What a mark of the manual's stands for, and where it would read on the day of the test; nothing where it is not known. */
static const char *limit_words(const page *p, const char *what, double manual_pa, double here_pa, char words[LIMIT])
{
    char manual[PAGE_NUMBER], here[PAGE_NUMBER];
    words[0] = '\0';
    if (isnan(manual_pa))
        return words;
    page_pressure_named(p, manual_pa, manual);
    page_pressure_named(p, here_pa, here);
    const bool moved = strcmp(manual, here) != 0;
    snprintf(words, LIMIT, "%s%s%s%s%s", what, manual, moved ? " (" : "", moved ? here : "",
             moved ? " on this day)" : "");
    return words;
}

static void picture(page *p, const ch_show_judged *judged)
{
    const ch_judgement *judgement = judged->judgement;
    const ch_limits *limits = &judged->sheet->engine.limits;
    double most_pa = fmax(judgement->standard_pa, judgement->minimum_pa);
    for (int c = 0; c < judgement->cylinders; c++)
        most_pa = fmax(most_pa, fmax(judgement->cylinder[c].mean_pa, judgement->cylinder[c].expected_pa[1]));
    const int width = p->columns - LABEL - REMARK - 8;
    const page_scale scale = page_scale_for(p, most_pa, width < PAGE_BAR_MAXIMUM ? width : PAGE_BAR_MAXIMUM);
    page_heading(p, "Readings against what a sound engine of this kind would show on this day");
    page_scale_line(p, &scale, LABEL + 1);
    for (int c = 0; c < judgement->cylinders; c++) {
        const ch_judged_cylinder *cylinder = &judgement->cylinder[c];
        char bar[PAGE_BAR_MAXIMUM + 1], number[PAGE_NUMBER];
        memset(bar, ' ', sizeof bar);
        if (cylinder->n > 0)
            memset(bar, '=', (size_t)page_cell(&scale, cylinder->mean_pa) + 1);
        mark(bar, &scale, judgement->standard_pa, 's');
        mark(bar, &scale, judgement->minimum_pa, 'm');
        mark(bar, &scale, cylinder->expected_pa[0], '[');
        mark(bar, &scale, cylinder->expected_pa[1], ']');
        if (cylinder->n > 0)
            mark(bar, &scale, cylinder->mean_pa, 'O');
        bar[scale.width] = '\0';
        const char *said = ch_show_remark(cylinder);
        ch_text_appendf(p->text, "  cyl %-*d|%s| %5s%s", LABEL - 6, cylinder->cylinder, bar,
                        page_pressure(p, cylinder->mean_pa, number), said[0] != '\0' ? "  " : "");
        page_tone_text(p, PAGE_DOUBT, said);
        ch_text_append_string(p->text, "\n");
    }
    char standard[LIMIT], minimum[LIMIT];
    page_paragraphf(p, 2, "  ", "O the mean reading; [ ] nine of ten sound engines lie between%s%s.",
                    limit_words(p, "; m the manual's minimum, ", limits->minimum.si, judgement->minimum_pa, minimum),
                    limit_words(p, "; s its standard, ", limits->standard.si, judgement->standard_pa, standard));
}

/* "150-190", or a dash where there is none. */
static const char *range(const page *p, const double pressure_pa[2], char buffer[2 * PAGE_NUMBER])
{
    char low[PAGE_NUMBER], high[PAGE_NUMBER];
    if (isfinite(pressure_pa[0]))
        snprintf(buffer, 2 * PAGE_NUMBER, "%s-%s", page_pressure(p, pressure_pa[0], low),
                 page_pressure(p, pressure_pa[1], high));
    else
        snprintf(buffer, 2 * PAGE_NUMBER, "-");
    return buffer;
}

static void table(page *p, const ch_show_judged *judged)
{
    const ch_judgement *judgement = judged->judgement;
    char heading[64];
    snprintf(heading, sizeof heading, "Cylinder by cylinder, %s", p->pressure->name);
    page_heading(p, heading);
    ch_text_append_string(p->text, "  cyl  n   mean  +/-  first/last  sound shows  std day  leak, mm2 (5..95 %)\n");
    for (int c = 0; c < judgement->cylinders; c++) {
        const ch_judged_cylinder *cylinder = &judgement->cylinder[c];
        char mean[PAGE_NUMBER], u[PAGE_NUMBER], first[PAGE_NUMBER], sound[2 * PAGE_NUMBER], day[PAGE_NUMBER];
        char leak[3][PAGE_NUMBER];
        for (int i = 0; i < 3; i++)
            ch_show_area(cylinder->leak_area_m2[i], leak[i]);
        ch_text_appendf(p->text, "  %3d %2d %6s %4s  %10s  %11s  %7s  %s", cylinder->cylinder, cylinder->n,
                        page_pressure(p, cylinder->mean_pa, mean),
                        ch_show_number(cylinder->u_pa / p->pressure->factor, p->decimals + 1, u),
                        ch_show_number(cylinder->first_over_final_1, 2, first), range(p, cylinder->expected_pa, sound),
                        page_pressure(p, cylinder->standard_day_pa, day), leak[1]);
        if (isfinite(cylinder->leak_area_m2[1]))
            ch_text_appendf(p->text, " (%s..%s)", leak[0], leak[2]);
        ch_text_append_string(p->text, "\n");
    }
    page_paragraph(
        p, 2, "  ",
        "+/-: standard uncertainty of the mean, without the gauge's gain, which all cylinders share. std day: "
        "brought to 101.3 kPa, air of 15 C, an engine of 70 C, 220 r/min, 8 strokes and an open throttle. leak: one "
        "effective area for all ways out.");
}

static void other_tests(page *p, const ch_sheet *sheet)
{
    if (sheet->wet_count + sheet->leakdown_count == 0)
        return;
    page_heading(p, "Other tests on the sheet");
    for (size_t i = 0; i < sheet->wet_count; i++) {
        char number[PAGE_NUMBER], oil[96];
        const ch_reading *row = &sheet->wet[i];
        ch_quantity_text(&row->oil, oil, sizeof oil);
        page_paragraphf(p, 4, "  -", "Cylinder %d with oil: %s%s%s.", row->cylinder,
                        page_pressure_named(p, row->reading.si, number), oil[0] != '\0' ? ", dose " : "", oil);
    }
    for (size_t i = 0; i < sheet->leakdown_count; i++) {
        const ch_leakdown_row *row = &sheet->leakdown[i];
        char loss[96], heard[CH_SHOW_SENTENCE];
        ch_quantity_text(&row->loss, loss, sizeof loss);
        ch_show_heard(row, heard);
        page_paragraphf(p, 4, "  -", "Cylinder %d leak-down: %s lost%s%s.", row->cylinder, loss,
                        heard[0] != '\0' ? "; air heard: " : "", heard);
    }
}

static void rules(page *p, const ch_judgement *judgement)
{
    page_heading(p, "The rules of the trade side by side: they differ");
    if (judgement->lowest > 0) {
        char ratio[PAGE_NUMBER], low[PAGE_NUMBER], high[PAGE_NUMBER], chance[PAGE_NUMBER];
        page_paragraphf(
            p, 2, "  ",
            "Lowest over highest: cylinder %d over cylinder %d, %s (95 %%: %s to %s); truly under 0.75: %s.",
            judgement->lowest, judgement->highest, ch_show_number(judgement->ratio_1, 3, ratio),
            ch_show_number(judgement->ratio_interval_1[0], 3, low),
            ch_show_number(judgement->ratio_interval_1[1], 3, high),
            ch_show_chance(judgement->chance_below_75_1, chance));
    }
    ch_text_append_string(p->text, "    as read  chance that it is truly broken\n");
    for (int i = 0; i < CH_RULE_COUNT; i++) {
        const ch_rule_outcome *rule = &judgement->rule[i];
        if (!rule->applies)
            continue;
        const bool chosen = rule->rule == judgement->chosen_rule;
        char first[96], chance[PAGE_NUMBER];
        snprintf(first, sizeof first, " %s %-7s  %-9s  ", chosen ? "> " : "  ", rule->passes ? "holds" : "BROKEN",
                 ch_show_chance(rule->chance_broken_1, chance));
        page_paragraphf(p, page_width(first), first, "%s%s", rule->says, chosen ? " (chosen)" : "");
    }
}

static void questions(page *p, const ch_judgement *judgement)
{
    if (judgement->question_count == 0 && judgement->repeat_cylinder == 0)
        return;
    page_heading(p, "Questions to the sheet itself");
    ch_question told[CH_QUESTIONS_MAX];
    const size_t count = ch_judge_questions_told(judgement, told);
    for (size_t i = 0; i < count; i++)
        page_paragraph(p, 4, "  ?", told[i].text);
    if (judgement->repeat_cylinder > 0)
        page_paragraphf(p, 4, "  ?", "One more reading of cylinder %d could change the answer.",
                        judgement->repeat_cylinder);
}

static void assumed(page *p, const ch_judgement *judgement, bool reasons)
{
    if (reasons)
        page_assumed(p, judgement->assumed, judgement_takes_part);
    else
        page_assumed_names(p, judgement->assumed, judgement_takes_part);
}

void ch_show_judgement_text(const ch_show_judged *judged, const ch_show_style *style, ch_text *text)
{
    page p;
    page_open(&p, judged->sheet, style, text);
    facts(&p, judged->sheet);
    verdict(&p, judged);
    if (!judged->judgement->outside) {
        picture(&p, judged);
        table(&p, judged);
        other_tests(&p, judged->sheet);
        rules(&p, judged->judgement);
        questions(&p, judged->judgement);
        judgement_causes(&p, judged);
        if (judged->why > 0)
            judgement_why(&p, judged);
        judgement_checks(&p, judged);
        assumed(&p, judged->judgement, style->working);
        if (style->working)
            judgement_working(&p, judged);
    }
    ch_text_append_string(text, "\n");
    page_paragraph(&p, 0, "", "This advises; the car's own service manual and you decide.");
}
