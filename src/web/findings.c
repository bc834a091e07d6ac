/* Verdict, readings, questions, leak areas. */
#include "findings.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/date.h"

enum { REASONS_AT_ONCE = 3 };

void findings_open(const findings *f, const char *summary)
{
    html_lit(f->w, "<details><summary>");
    html_text(f->w, summary);
    html_lit(f->w, "</summary>\n");
}

void findings_close(const findings *f)
{
    html_lit(f->w, "</details>\n");
}

void findings_p(const findings *f, const char *words)
{
    html_lit(f->w, "<p>");
    html_text(f->w, words);
    html_lit(f->w, "</p>\n");
}

void findings_drawing(const findings *f, ch_svg *svg, ch_status rc)
{
    if (rc >= 0)
        html_svg(f->w, svg);
    else
        html_fail(f->w, rc);
    ch_svg_clear(svg);
}

/* ---------------------------------------------------------------- verdict */

static void facts(const findings *f)
{
    const ch_sheet *sheet = f->judged->sheet;
    char date[16], odometer[96] = "", hours[96] = "";
    ch_date_format(sheet->conditions.date, date, sizeof date);
    ch_quantity_text(&sheet->conditions.odometer, odometer, sizeof odometer);
    ch_quantity_text(&sheet->conditions.engine_hours, hours, sizeof hours);
    if (sheet->title != NULL)
        findings_p(f, sheet->title);
    html_lit(f->w, "<p class=\"quiet\">");
    html_textf(f->w, "%d %s%s%s%s%s%s%s", sheet->engine.cylinders,
               sheet->engine.cylinders == 1 ? "cylinder" : "cylinders", date[0] != '\0' ? ", tested " : "", date,
               odometer[0] != '\0' ? ", " : "", odometer, hours[0] != '\0' ? ", " : "", hours);
    html_lit(f->w, "</p>\n");
}

static const char *plural(size_t count)
{
    return count == 1 ? "" : "s";
}

/* What there is on the sheet to judge by, as half a sentence each. */
static void rests_on(const findings *f)
{
    const ch_sheet *sheet = f->judged->sheet;
    html_textf(f->w, "It rests on %zu dry reading%s", sheet->compression_count, plural(sheet->compression_count));
    if (sheet->wet_count > 0)
        html_textf(f->w, ", %zu wet", sheet->wet_count);
    if (sheet->leakdown_count > 0)
        html_textf(f->w, ", %zu leak-down", sheet->leakdown_count);
    if (sheet->observed_count > 0)
        html_textf(f->w, ", %zu sign%s noticed", sheet->observed_count, plural(sheet->observed_count));
    html_lit(f->w, ".");
}

static void reasons(const findings *f, size_t from, size_t to)
{
    html_lit(f->w, "<ul>");
    for (size_t i = from; i < to; i++) {
        html_lit(f->w, "<li>");
        html_text(f->w, f->judged->judgement->because[i]);
        html_lit(f->w, "</li>\n");
    }
    html_lit(f->w, "</ul>\n");
}

void findings_verdict(const findings *f)
{
    const ch_judgement *judgement = f->judged->judgement;
    char sure[CH_SHOW_SENTENCE];
    facts(f);
    html_lit(f->w, "<p");
    html_attrf(f->w, "class", "verdict %s", ch_verdict_name(judgement->verdict));
    html_lit(f->w, "><strong>Verdict: ");
    html_text(f->w, ch_verdict_name(judgement->verdict));
    html_lit(f->w, ".</strong> ");
    html_text(f->w, ch_show_verdict_means(judgement));
    ch_show_how_sure(f->judged, sure);
    html_lit(f->w, " <span>");
    html_text(f->w, sure);
    html_lit(f->w, " ");
    rests_on(f);
    html_lit(f->w, "</span></p>\n");
    if (judgement->because_count == 0)
        return;
    const size_t at_once = judgement->because_count < REASONS_AT_ONCE ? judgement->because_count : REASONS_AT_ONCE;
    html_lit(f->w, "<h2>Because</h2>\n");
    reasons(f, 0, at_once);
    if (judgement->because_count > at_once) {
        findings_open(f, "More reasons, and what this rests on");
        reasons(f, at_once, judgement->because_count);
        findings_close(f);
    }
}

/* ---------------------------------------------------------------- readings */

static void legend_line(const findings *f, ch_svg_look look, const char *words)
{
    ch_svg svg;
    html_lit(f->w, "<li>");
    findings_drawing(f, &svg, ch_show_sample_svg(look, &svg, NULL));
    html_lit(f->w, "<span>");
    html_text(f->w, words);
    html_lit(f->w, "</span></li>\n");
}

/* A limit of the manual, drawn where it would read on the day of the test. */
static void legend_limit(const findings *f, ch_svg_look look, const char *what, double manual_pa, double here_pa)
{
    char words[CH_SHOW_SENTENCE], manual[CH_SHOW_NUMBER], here[CH_SHOW_NUMBER];
    if (isnan(manual_pa))
        return;
    ch_show_pressure_named(manual_pa, f->pressure, manual);
    ch_show_pressure_named(here_pa, f->pressure, here);
    const bool moved = strcmp(manual, here) != 0;
    snprintf(words, sizeof words, "the manual's %s, %s%s%s", what, manual,
             moved ? ", which would read on this day as " : "", moved ? here : "");
    legend_line(f, look, words);
}

static void legend(const findings *f)
{
    const ch_limits *limits = &f->judged->sheet->engine.limits;
    html_lit(f->w, "<ul class=\"legend\">\n");
    legend_line(f, CH_SVG_READING, "the mean reading; the thin line beside it: where the true one lies, 95 in 100");
    legend_line(f, CH_SVG_BAND, "nine of ten sound engines read in here, on this day");
    legend_limit(f, CH_SVG_MINIMUM, "minimum", limits->minimum.si, f->judged->judgement->minimum_pa);
    legend_limit(f, CH_SVG_STANDARD, "standard", limits->standard.si, f->judged->judgement->standard_pa);
    html_lit(f->w, "</ul>\n");
    if (f->judged->sheet->engine.layout == CH_LAYOUT_VEE || f->judged->sheet->engine.layout == CH_LAYOUT_FLAT)
        html_lit(f->w,
                 "<p class=\"quiet\">Drawn bank by bank, numbered through one bank and then the other (DIN 73021). "
                 "Some makers number across: the car's manual says which.</p>\n");
}

/* <td class="number"> with a text. */
static void cell(const findings *f, const char *text)
{
    html_lit(f->w, "<td class=\"number\">");
    html_text(f->w, text);
    html_lit(f->w, "</td>");
}

static void readings_table(const findings *f)
{
    const ch_judgement *judgement = f->judged->judgement;
    const int finer = ch_show_pressure_decimals(f->pressure) + 1;
    html_lit(f->w, "<div class=\"scroll\" role=\"region\" aria-label=\"Readings as a table\" "
                   "tabindex=\"0\"><table><caption>Readings, ");
    html_text(f->w, f->pressure->name);
    html_lit(f->w, "</caption><thead><tr><th scope=\"col\">Cylinder</th><th scope=\"col\" class=\"number\">Mean</th>"
                   "<th scope=\"col\" class=\"number\">+/-</th><th scope=\"col\" class=\"number\">Sound shows</th>"
                   "<th scope=\"col\">Remark</th><th scope=\"col\" class=\"number\">First / last</th>"
                   "<th scope=\"col\" class=\"number\">Standard day</th><th scope=\"col\" class=\"number\">Times "
                   "read</th></tr></thead><tbody>\n");
    for (int c = 0; c < judgement->cylinders; c++) {
        const ch_judged_cylinder *cylinder = &judgement->cylinder[c];
        char number[CH_SHOW_NUMBER], high[CH_SHOW_NUMBER], range[2 * CH_SHOW_NUMBER];
        const char *remark = ch_show_remark(cylinder);
        html_lit(f->w, "<tr><th scope=\"row\">");
        html_textf(f->w, "%d", cylinder->cylinder);
        html_lit(f->w, "</th>");
        cell(f, ch_show_pressure(cylinder->mean_pa, f->pressure, number));
        cell(f, ch_show_number(cylinder->u_pa / f->pressure->factor, finer, number));
        ch_show_pressure(cylinder->expected_pa[0], f->pressure, number);
        snprintf(range, sizeof range, "%s to %s", number,
                 ch_show_pressure(cylinder->expected_pa[1], f->pressure, high));
        cell(f, isfinite(cylinder->expected_pa[0]) ? range : "-");
        html_lit(f->w, "<td>");
        html_text(f->w, remark[0] != '\0' ? remark : "as expected");
        html_lit(f->w, "</td>");
        cell(f, ch_show_number(cylinder->first_over_final_1, 2, number));
        cell(f, ch_show_pressure(cylinder->standard_day_pa, f->pressure, number));
        cell(f, ch_show_number(cylinder->n, 0, number));
        html_lit(f->w, "</tr>\n");
    }
    html_lit(f->w, "</tbody></table></div>\n");
}

/* The dry readings of a cylinder as they were typed. */
static void as_read(const findings *f, const ch_judged_cylinder *cylinder)
{
    const int finer = ch_show_pressure_decimals(f->pressure) + 1;
    const ch_sheet *sheet = f->judged->sheet;
    char number[CH_SHOW_NUMBER], typed[96];
    bool any = false;
    html_lit(f->w, "<li>");
    html_textf(f->w, "Cylinder %d: read ", cylinder->cylinder);
    for (size_t i = 0; i < sheet->compression_count; i++) {
        if (sheet->compression[i].cylinder != cylinder->cylinder)
            continue;
        ch_quantity_text(&sheet->compression[i].reading, typed, sizeof typed);
        html_textf(f->w, "%s%s (entry %zu)", any ? ", " : "", typed, i + 1);
        any = true;
    }
    html_textf(f->w, "; mean %s", ch_show_number(ch_unit_from_si(cylinder->mean_pa, f->pressure), finer, number));
    html_textf(f->w, ", spread of repeats %s", ch_show_number(cylinder->sd_pa / f->pressure->factor, finer, number));
    html_textf(f->w, ", u %s", ch_show_number(cylinder->u_pa / f->pressure->factor, finer, number));
    html_textf(f->w, " with %s degrees of freedom", ch_show_freedom(cylinder->df, number));
    html_textf(f->w, ", %s with the gauge.",
               ch_show_number(cylinder->u_with_gauge_pa / f->pressure->factor, finer, number));
    html_lit(f->w, "</li>\n");
}

static void readings_working(const findings *f)
{
    const ch_judgement *judgement = f->judged->judgement;
    char number[CH_SHOW_NUMBER];
    findings_open(f, "Working: how the readings were weighed");
    findings_p(f, "+/- is the standard uncertainty of the mean, without the gauge's gain, which all cylinders share.");
    findings_p(f, ch_show_method(CH_SHOW_MEANS));
    html_lit(f->w, "<ul>");
    for (int c = 0; c < judgement->cylinders; c++)
        if (judgement->cylinder[c].n > 0)
            as_read(f, &judgement->cylinder[c]);
    html_lit(f->w, "</ul>\n<p>Repeatability: ");
    html_textf(f->w, "%s %s, ",
               ch_show_number(judgement->pooled_sd_pa / f->pressure->factor, ch_show_pressure_decimals(f->pressure) + 1,
                              number),
               f->pressure->name);
    html_textf(f->w, "%s degrees of freedom, %s.", ch_show_freedom(judgement->pooled_df, number),
               judgement->pooled_assumed ? "assumed, because nothing was read twice" : "pooled over the cylinders");
    html_lit(f->w, "</p>\n");
    findings_p(f, ch_show_method(CH_SHOW_STANDARD_DAY));
    findings_p(f, ch_show_method(CH_SHOW_TRACE));
    findings_close(f);
}

void findings_readings(const findings *f)
{
    ch_svg svg;
    html_lit(f->w, "<h2>Readings against what a sound engine would show</h2>\n<figure class=\"drawing\">");
    findings_drawing(f, &svg, ch_show_engine_svg(f->judged, f->pressure, &svg, NULL));
    html_lit(f->w, "<figcaption>");
    legend(f);
    html_lit(f->w, "</figcaption></figure>\n");
    findings_open(f, "Readings as a table");
    readings_table(f);
    findings_close(f);
    readings_working(f);
}

/* ---------------------------------------------------------------- questions, leak areas, other tests */

void findings_questions(const findings *f)
{
    const ch_judgement *judgement = f->judged->judgement;
    if (judgement->question_count == 0 && judgement->repeat_cylinder == 0)
        return;
    html_lit(f->w, "<h2>Questions to the sheet itself</h2>\n<ul>");
    ch_question told[CH_QUESTIONS_MAX];
    const size_t count = ch_judge_questions_told(judgement, told);
    for (size_t i = 0; i < count; i++) {
        html_lit(f->w, "<li>");
        html_text(f->w, told[i].text);
        html_lit(f->w, "</li>\n");
    }
    if (judgement->repeat_cylinder > 0) {
        html_lit(f->w, "<li>");
        html_textf(f->w, "One more reading of cylinder %d could change the answer.", judgement->repeat_cylinder);
        html_lit(f->w, "</li>\n");
    }
    html_lit(f->w, "</ul>\n");
}

void findings_leaks(const findings *f)
{
    const ch_judgement *judgement = f->judged->judgement;
    const ch_trace *trace = &judgement->trace;
    char low[CH_SHOW_NUMBER], number[CH_SHOW_NUMBER], high[CH_SHOW_NUMBER];
    ch_svg svg;
    if (!trace->reliable)
        return;
    html_lit(
        f->w,
        "<h2>Leak area of each cylinder</h2>\n"
        "<p>One effective area for all ways out while cranking, in mm2. The bar holds nine of ten chances, its mark is "
        "the middle. Each thin line stands for ten times the one before.</p>\n<figure class=\"drawing\">");
    findings_drawing(f, &svg, ch_show_leaks_svg(f->judged, &svg, NULL));
    html_lit(f->w, "</figure>\n");
    findings_open(f, "Working: figures, and where the air goes");
    html_lit(f->w, "<ul>");
    for (int c = 0; c < judgement->cylinders; c++) {
        const double *area_m2 = judgement->cylinder[c].leak_area_m2;
        html_lit(f->w, "<li>");
        html_textf(f->w, "Cylinder %d: %s mm2, from %s to %s (5 %% to 95 %%).", judgement->cylinder[c].cylinder,
                   ch_show_area(area_m2[1], number), ch_show_area(area_m2[0], low), ch_show_area(area_m2[2], high));
        if (c < trace->cylinders && ch_show_suspicious(f->judged->sheet, &trace->cylinder[c]))
            for (int path = 0; path < CH_PATH_COUNT; path++)
                html_textf(f->w, "%s%s %s", path == 0 ? " Mean by way: " : ", ", ch_show_path((ch_path)path),
                           ch_show_area(trace->cylinder[c].path_m2[path], number));
        html_lit(f->w, "</li>\n");
    }
    html_lit(f->w, "</ul>\n");
    findings_p(f, ch_show_method(CH_SHOW_TRACE));
    findings_close(f);
}

void findings_other_tests(const findings *f)
{
    const ch_sheet *sheet = f->judged->sheet;
    if (sheet->wet_count + sheet->leakdown_count == 0)
        return;
    findings_open(f, "Other tests on the sheet");
    html_lit(f->w, "<ul>");
    for (size_t i = 0; i < sheet->wet_count; i++) {
        char number[CH_SHOW_NUMBER], oil[96];
        const ch_reading *row = &sheet->wet[i];
        ch_quantity_text(&row->oil, oil, sizeof oil);
        html_lit(f->w, "<li>");
        html_textf(f->w, "Cylinder %d with oil: %s%s%s.", row->cylinder,
                   ch_show_pressure_named(row->reading.si, f->pressure, number), oil[0] != '\0' ? ", dose " : "", oil);
        html_lit(f->w, "</li>\n");
    }
    for (size_t i = 0; i < sheet->leakdown_count; i++) {
        char loss[96], heard[CH_SHOW_SENTENCE];
        const ch_leakdown_row *row = &sheet->leakdown[i];
        ch_quantity_text(&row->loss, loss, sizeof loss);
        ch_show_heard(row, heard);
        html_lit(f->w, "<li>");
        html_textf(f->w, "Cylinder %d leak-down: %s lost%s%s.", row->cylinder, loss,
                   heard[0] != '\0' ? "; air heard: " : "", heard);
        html_lit(f->w, "</li>\n");
    }
    html_lit(f->w, "</ul>\n");
    findings_close(f);
}
