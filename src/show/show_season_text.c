/* A season as a page of text: the advice first, then what it rests on. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/show_season.h"
#include "page.h"

enum { BAR = 24, BARS = 6, SHEETS_SHOWN = 12 };
static const double HOUR_S = 3600.0, PER_100_H_S = 360000.0;

static void head(page *p, const ch_show_season *shown)
{
    const ch_season *s = shown->season;
    char hours[CH_SHOW_NUMBER], day[16], sentence[CH_SHOW_SENTENCE];
    ch_date_format(shown->today, day, sizeof day);
    page_paragraphf(p, 0, "", "%s%s%s%s, %s, %s h, %zu sheet%s", shown->car != NULL ? shown->car : "Sheets of no car",
                    shown->engine != NULL ? " (" : "", shown->engine != NULL ? shown->engine : "",
                    shown->engine != NULL ? ")" : "", day, ch_show_number(s->history.now_s / HOUR_S, 0, hours),
                    s->history.count, s->history.count == 1 ? "" : "s");
    ch_text_append_string(p->text, "\n");
    ch_show_season_newest(shown, sentence);
    if (sentence[0] != '\0')
        page_paragraph(p, 0, "", sentence);
    page_tone_text(p, PAGE_STRONG, "Advice: ");
    ch_show_season_advice(shown, sentence);
    page_paragraph_on(p, 8, sentence);
    ch_show_season_upgrade(shown, sentence);
    page_paragraph(p, 0, "", sentence);
    if (!s->forecast.slope_known)
        page_paragraph(p, 0, "", ch_show_season_no_slope());
}

static void areas(page *p, const ch_show_season *shown)
{
    const ch_season *s = shown->season;
    page_heading(p, "Leak areas, nine times in ten between the outer figures");
    ch_text_appendf(p->text, "  %-4s %-22s %-24s %s\n", "cyl", "now, mm2", "growth, mm2 in 100 h",
                    "hours to the fault limit");
    for (int c = 0; c < s->forecast.cylinders; c++) {
        const ch_forecast_cylinder *one = &s->forecast.cylinder[c];
        char cell[3][3][CH_SHOW_NUMBER], column[3][160];
        for (int i = 0; i < 3; i++) {
            ch_show_area(exp(one->log_area_now[i]), cell[0][i]);
            ch_show_area(one->growth_m2_per_s[i] * PER_100_H_S, cell[1][i]);
            ch_show_hours_left(one->fault_s[i], cell[2][i]);
        }
        for (int k = 0; k < 3; k++)
            snprintf(column[k], sizeof column[k], "%.40s .. %.40s .. %.40s", cell[k][0], cell[k][1], cell[k][2]);
        ch_text_appendf(p->text, "  %-4d %-22s %-24s %s\n", c + 1, column[0], column[1], column[2]);
    }
    char watch[CH_SHOW_NUMBER], fault[CH_SHOW_NUMBER];
    page_paragraph(p, 2, "  ", ch_show_season_wider());
    page_paragraphf(
        p, 2, "  ",
        "Limits: %s mm2 to watch, %s mm2 a fault, where this engine's reading has fallen to 85 %% and 75 %% of a sound "
        "one's, or to what its manual allows.",
        isnan(s->history.log_watch) ? "-" : ch_show_area(exp(s->history.log_watch), watch),
        isnan(s->history.log_fault) ? "-" : ch_show_area(exp(s->history.log_fault), fault));
}

static void sheets(page *p, const ch_show_season *shown)
{
    const ch_history *h = &shown->season->history;
    char heading[120];
    snprintf(heading, sizeof heading, "Sheets, readings on the standard day, %s", p->pressure->name);
    page_heading(p, heading);
    const size_t from = h->count > SHEETS_SHOWN ? h->count - SHEETS_SHOWN : 0;
    if (from > 0)
        page_paragraphf(p, 2, "  ", "(%zu earlier ones)", from);
    for (size_t i = from; i < h->count; i++) {
        const ch_history_point *point = &h->point[i];
        char day[16], hours[CH_SHOW_NUMBER], number[PAGE_NUMBER];
        ch_date_format(point->sheet->day, day, sizeof day);
        ch_text_appendf(p->text, "  %-11s %6s%s %-8s", point->sheet->day_assumed ? "no day" : day,
                        ch_show_number(point->running_s / HOUR_S, 1, hours), point->noted ? " h" : " h*",
                        ch_verdict_name(point->sheet->result.verdict));
        for (int c = 0; c < point->sheet->result.cylinders; c++)
            ch_text_appendf(p->text, " %5s",
                            page_pressure(p, point->sheet->result.cylinder[c].standard_day_pa, number));
        if (point->fitted && shown->season->forecast.odd_sheet_1[point->at] > 0.5)
            ch_text_append_string(p->text, "  odd one out");
        ch_text_append_string(p->text, "\n");
    }
    for (size_t i = from; i < h->count; i++)
        if (!h->point[i].noted) {
            page_paragraph(p, 2, "  ",
                           "* not noted on the sheet, or not believed: counted from its neighbours and the events.");
            break;
        }
    if (shown->passed_over > 0)
        page_paragraphf(p, 2, "  ", "%zu sheet%s could not be judged and %s left out.", shown->passed_over,
                        shown->passed_over == 1 ? "" : "s", shown->passed_over == 1 ? "is" : "are");
}

static void happenings(page *p, const ch_show_season *shown)
{
    const ch_season *s = shown->season;
    char sentence[CH_SHOW_SENTENCE];
    if (s->forecast.found + s->history.steps + s->history.question_count == 0)
        return;
    page_heading(p, "What happened between, and what is odd");
    for (size_t k = 0; k < s->forecast.found; k++) {
        ch_show_season_step(shown, k, sentence);
        page_paragraph(p, 4, "  -", sentence);
    }
    for (size_t k = 0; k < s->history.steps; k++) {
        char hours[CH_SHOW_NUMBER];
        page_paragraphf(p, 4, "  -",
                        "The engine's inside was open before the sheet at %s h: leak areas need not go on from before.",
                        ch_show_number(s->history.step[k].running_s / HOUR_S, 1, hours));
    }
    for (size_t k = 0; k < s->history.question_count; k++)
        page_paragraph(p, 4, "  -", s->history.question[k].text);
}

static void events(page *p, const ch_show_season *shown)
{
    const ch_season *s = shown->season;
    char sentence[CH_SHOW_SENTENCE];
    page_heading(p, "Events to come");
    ch_show_season_left(shown, sentence);
    page_paragraph(p, 2, "  ", sentence);
    if (s->planned == 0)
        page_paragraph(p, 2, "  ", "None are planned: enter them to see the chance that the engine lasts to each.");
    for (size_t i = 0; i < s->planned; i++) {
        char day[16], hours[CH_SHOW_NUMBER], watch[CH_SHOW_NUMBER], fault[CH_SHOW_NUMBER];
        const ch_forecast_event *e = &s->forecast.event[i];
        ch_date_format(s->event[i].event->day, day, sizeof day);
        page_paragraphf(p, 4, "  ", "%s %s, to %s h%s: over the watch limit %s, over the fault limit %s", day,
                        s->event[i].event->name != NULL ? s->event[i].event->name : "event",
                        ch_show_number(s->event[i].end_s / HOUR_S, 0, hours),
                        ch_show_season_hours_taken(shown, i) ? "*" : "",
                        isnan(e->over_watch_1) ? "-" : ch_show_chance(e->over_watch_1, watch),
                        isnan(e->over_fault_1) ? "-" : ch_show_chance(e->over_fault_1, fault));
    }
    if (s->planned > 0) {
        ch_show_season_rests(shown, sentence);
        page_paragraph(p, 2, "  ", sentence);
    }
}

static void choices(page *p, const ch_show_season *shown)
{
    const ch_season *s = shown->season;
    char heading[160];
    snprintf(heading, sizeof heading, "Expected cost in %.8s (nine times in ten between), chance of a breakdown",
             shown->assumptions->currency);
    page_heading(p, heading);
    for (int h = 0; h < CH_HORIZONS; h++) {
        const ch_decision *d = &s->decision[h];
        char hours[CH_SHOW_NUMBER];
        page_paragraphf(p, 2, "  ", "%s, %s h of running:",
                        h == CH_HORIZON_SEASON ? "To the end of the season"
                        : h == CH_HORIZON_YEAR ? "One year"
                                               : "Three years",
                        ch_show_number(s->horizon_s[h] / HOUR_S, 0, hours));
        for (int k = 0; k < CH_COURSES; k++) {
            char cost[CH_SHOW_NUMBER], low[CH_SHOW_NUMBER], high[CH_SHOW_NUMBER], chance[CH_SHOW_NUMBER];
            ch_text_appendf(p->text, "  %s %-33s %6s (%s to %s), %s\n", k == (int)d->best ? "->" : "  ",
                            ch_show_course_row(d, (ch_course)k), ch_show_guessed(d->cost[k].expected, cost),
                            ch_show_guessed(d->cost[k].interval[0], low), ch_show_guessed(d->cost[k].interval[1], high),
                            ch_show_chance(d->cost[k].breaks_1, chance));
        }
    }
    char sentence[CH_SHOW_SENTENCE];
    ch_show_season_breaks(shown, sentence);
    page_paragraph(p, 2, "  ", sentence);
}

static void hangs_on(page *p, const ch_show_season *shown)
{
    const ch_decision *d = &shown->season->decision[shown->season->horizon];
    page_heading(p, "What the answer hangs on");
    if (d->hangs_on == 0)
        page_paragraph(p, 2, "  ",
                       "No single assumption, taken to either end of its range, changes which choice is cheapest.");
    size_t told = 0;
    for (size_t i = 0; i < CH_ASSUME_COUNT && told < BARS; i++) {
        char sentence[CH_SHOW_SENTENCE];
        ch_show_season_swing(shown, i, sentence);
        if (sentence[0] == '\0')
            continue;
        page_paragraph(p, 4, "  -", sentence);
        told++;
    }
    if (d->hangs_on > told)
        page_paragraphf(p, 4, "  -", "and on %zu more: the choices are close.", d->hangs_on - told);
    /* A bar an assumption: how far it moves the lead of the cheapest choice; the mark is where the lead is gone. */
    double widest = 0.0;
    for (size_t i = 0; i < CH_ASSUME_COUNT; i++)
        for (int end = 0; end < 2; end++)
            widest = fmax(widest, fabs(d->swing[i].lead[end] - d->lead));
    page_paragraphf(p, 2, "  ", "How far the widest move the lead of \"%s\" (# to the low end, = to the high end):",
                    ch_show_course_title(d->best));
    for (size_t i = 0; i < BARS && widest > 0.0; i++) {
        const ch_swing *swing = &d->swing[i];
        char bar[2 * BAR + 2];
        memset(bar, ' ', sizeof bar - 1);
        bar[2 * BAR + 1] = '\0';
        for (int end = 0; end < 2; end++) {
            const int cells = (int)lround((swing->lead[end] - d->lead) / widest * BAR);
            for (int k = 1; k <= abs(cells); k++)
                bar[BAR + (cells > 0 ? k : -k)] = end == 0 ? '#' : '=';
        }
        bar[BAR] = '|';
        ch_text_appendf(p->text, "  %-14s %s\n", ch_assumption_name(swing->assumption), bar);
    }
}

void ch_show_season_text(const ch_show_season *shown, const ch_show_style *style, ch_text *text)
{
    page p;
    ch_sheet blank;
    ch_sheet_init(&blank);
    page_open(&p, &blank, style, text);
    ch_sheet_clear(&blank);
    head(&p, shown);
    areas(&p, shown);
    sheets(&p, shown);
    happenings(&p, shown);
    events(&p, shown);
    choices(&p, shown);
    hangs_on(&p, shown);
    ch_text_append_string(text, "\n");
    page_paragraph(&p, 0, "",
                   "These figures speak of sealing only, not of bearings, oil supply, belts or anything else, and "
                   "costs are assumptions of "
                   "yours and of the trade's. The car's own manual has the last word.");
}
