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

bool judgement_tested(const ch_sheet *sheet, int cylinder)
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

/* The tested cylinder that is least likely sound; NULL where none was tested. */
static const ch_trace_cylinder *worst_cylinder(const ch_show_judged *judged)
{
    const ch_trace *trace = &judged->judgement->trace;
    const ch_trace_cylinder *worst = NULL;
    for (int c = 0; c < trace->cylinders; c++) {
        const ch_trace_cylinder *traced = &trace->cylinder[c];
        if (judgement_tested(judged->sheet, traced->cylinder) &&
            (worst == NULL || traced->cause_1[CH_CAUSE_SOUND] < worst->cause_1[CH_CAUSE_SOUND]))
            worst = traced;
    }
    return worst;
}

/* The likeliest cause but `sound`. */
static ch_cause likeliest(const ch_trace_cylinder *traced)
{
    int best = CH_CAUSE_SOUND + 1;
    for (int cause = best + 1; cause < CH_CAUSE_COUNT; cause++)
        if (traced->cause_1[cause] > traced->cause_1[best])
            best = cause;
    return (ch_cause)best;
}

static void verdict(page *p, const ch_show_judged *judged)
{
    static const char *const MEANS[] = {
        [CH_VERDICT_SOUND] = "These are the readings of a sound engine, as far as such tests can tell.",
        [CH_VERDICT_WATCH] = "Nothing is proven, but this wants watching.",
        [CH_VERDICT_FAULT] = "Something is wrong with this engine.",
        [CH_VERDICT_UNCLEAR] = "These readings do not settle it.",
    };
    const ch_judgement *judgement = judged->judgement;
    char word[32];
    snprintf(word, sizeof word, "Verdict: %s. ", ch_verdict_name(judgement->verdict));
    page_tone_text(p, judgement_tone(judgement->verdict), word);
    page_paragraph_on(p, page_width(word), MEANS[judgement->verdict]);
    const ch_trace_cylinder *worst = worst_cylinder(judged);
    if (worst != NULL) {
        const ch_cause cause = likeliest(worst);
        char sound[PAGE_NUMBER], likely[PAGE_NUMBER];
        page_chance(worst->cause_1[CH_CAUSE_SOUND], sound);
        page_chance(worst->cause_1[cause], likely);
        if (worst->cause_1[CH_CAUSE_SOUND] >= SUSPICIOUS_1)
            page_paragraphf(p, 0, "", "How sure: the least certain, cylinder %d, is sound with a chance of %s.",
                            worst->cylinder, sound);
        else
            page_paragraphf(p, 0, "", "How sure: cylinder %d is sound with a chance of %s. Likeliest trouble (%s): %s.",
                            worst->cylinder, sound, likely, judged->knowledge->causes[cause].title);
        if (!judgement->trace.reliable)
            page_paragraph(p, 0, "", "The chances are rough: few of the engines imagined agree with this sheet.");
    }
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

static const char *remark(const ch_judged_cylinder *cylinder)
{
    if (cylinder->n == 0)
        return "no reading";
    if (cylinder->below_minimum)
        return "under minimum";
    if (cylinder->mean_pa < cylinder->expected_pa[0])
        return "low";
    return cylinder->mean_pa > cylinder->expected_pa[1] ? "high" : "";
}

static void picture(page *p, const ch_show_judged *judged)
{
    const ch_judgement *judgement = judged->judgement;
    const ch_limits *limits = &judged->sheet->engine.limits;
    double most_pa = fmax(limits->standard.si, limits->minimum.si);
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
        mark(bar, &scale, limits->standard.si, 's');
        mark(bar, &scale, limits->minimum.si, 'm');
        mark(bar, &scale, cylinder->expected_pa[0], '[');
        mark(bar, &scale, cylinder->expected_pa[1], ']');
        if (cylinder->n > 0)
            mark(bar, &scale, cylinder->mean_pa, 'O');
        bar[scale.width] = '\0';
        const char *said = remark(cylinder);
        ch_text_appendf(p->text, "  cyl %-*d|%s| %5s%s", LABEL - 6, cylinder->cylinder, bar,
                        page_pressure(p, cylinder->mean_pa, number), said[0] != '\0' ? "  " : "");
        page_tone_text(p, PAGE_DOUBT, said);
        ch_text_append_string(p->text, "\n");
    }
    char standard[PAGE_NUMBER], minimum[PAGE_NUMBER];
    page_paragraphf(p, 2, "  ", "O the mean reading; [ ] nine of ten sound engines lie between%s%s%s%s.",
                    isfinite(limits->minimum.si) ? "; m the manual's minimum, " : "",
                    isfinite(limits->minimum.si) ? page_pressure_named(p, limits->minimum.si, minimum) : "",
                    isfinite(limits->standard.si) ? "; s its standard, " : "",
                    isfinite(limits->standard.si) ? page_pressure_named(p, limits->standard.si, standard) : "");
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
            page_area(cylinder->leak_area_m2[i], leak[i]);
        ch_text_appendf(p->text, "  %3d %2d %6s %4s  %10s  %11s  %7s  %s (%s..%s)\n", cylinder->cylinder, cylinder->n,
                        page_pressure(p, cylinder->mean_pa, mean),
                        page_number(cylinder->u_pa / p->pressure->factor, p->decimals + 1, u),
                        page_number(cylinder->first_over_final_1, 2, first), range(p, cylinder->expected_pa, sound),
                        page_pressure(p, cylinder->standard_day_pa, day), leak[1], leak[0], leak[2]);
    }
    page_paragraph(
        p, 2, "  ",
        "+/-: standard uncertainty of the mean, without the gauge's gain, which all cylinders share. std day: "
        "brought to 101.3 kPa and 15 C. leak: one effective area for all ways out.");
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
    static const struct {
        ch_heard bit;
        const char *where;
    } PLACES[] = {{CH_HEARD_INTAKE, "intake"},
                  {CH_HEARD_EXHAUST, "exhaust"},
                  {CH_HEARD_OIL_FILLER, "oil filler"},
                  {CH_HEARD_COOLANT, "coolant"},
                  {CH_HEARD_NOTHING, "nowhere"}};
    for (size_t i = 0; i < sheet->leakdown_count; i++) {
        const ch_leakdown_row *row = &sheet->leakdown[i];
        char loss[96], heard[256] = "";
        size_t used = 0;
        ch_quantity_text(&row->loss, loss, sizeof loss);
        for (size_t h = 0; h < sizeof PLACES / sizeof PLACES[0]; h++)
            if (row->heard & (unsigned)PLACES[h].bit)
                used +=
                    (size_t)snprintf(heard + used, sizeof heard - used, "%s%s", used > 0 ? ", " : "", PLACES[h].where);
        for (int n = 1; n <= CH_CYLINDERS_MAX && used + 16 < sizeof heard; n++)
            if (row->heard_cylinders >> (n - 1) & 1U)
                used += (size_t)snprintf(heard + used, sizeof heard - used, "%scylinder %d", used > 0 ? ", " : "", n);
        page_paragraphf(p, 4, "  -", "Cylinder %d leak-down: %s lost%s%s.", row->cylinder, loss,
                        used > 0 ? "; air heard: " : "", heard);
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
            judgement->lowest, judgement->highest, page_number(judgement->ratio_1, 3, ratio),
            page_number(judgement->ratio_interval_1[0], 3, low), page_number(judgement->ratio_interval_1[1], 3, high),
            page_chance(judgement->chance_below_75_1, chance));
    }
    ch_text_append_string(p->text, "    as read  chance that it is truly broken\n");
    for (int i = 0; i < CH_RULE_COUNT; i++) {
        const ch_rule_outcome *rule = &judgement->rule[i];
        if (!rule->applies)
            continue;
        const bool chosen = rule->rule == judgement->chosen_rule;
        char first[96], chance[PAGE_NUMBER];
        snprintf(first, sizeof first, " %s %-7s  %-9s  ", chosen ? "> " : "  ", rule->passes ? "holds" : "BROKEN",
                 page_chance(rule->chance_broken_1, chance));
        page_paragraphf(p, page_width(first), first, "%s%s", rule->says, chosen ? " (chosen)" : "");
    }
}

static void questions(page *p, const ch_judgement *judgement)
{
    if (judgement->question_count == 0 && judgement->repeat_cylinder == 0)
        return;
    page_heading(p, "Questions to the sheet itself");
    for (size_t i = 0; i < judgement->question_count; i++)
        page_paragraph(p, 4, "  ?", judgement->question[i].text);
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
    ch_text_append_string(text, "\n");
    page_paragraph(&p, 0, "", "This advises; the car's own service manual and you decide.");
}
