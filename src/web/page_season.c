/*
 * GET /car/ID/season: will it last, what is it worth doing, is it worth putting parts on. Query: horizon = season | year | three_years.
 *
 * Settings looked at: `units.pressure`, `rule`, `currency`, `hour_value`, and those that begin with `decision.`.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_ready.h"
#include "crosshatch/store_ready.h"
#include "page.h"
#include "seasons.h"

enum { HANGS_ON_SHOWN = 6, SHEETS_AT_ONCE = 12 };

typedef struct season_page {
    html_writer *w;
    const ch_store_car *car;
    const season_view *view;
    const ch_season *season;
    const ch_unit *pressure;
    const char *guessed_in; /* the currency of the figures that the owner has not changed */
} season_page;

static const double HOUR_S = 3600.0, PER_100_H_S = 360000.0;

/* ---------------------------------------------------------------- pieces */

static void paragraph(html_writer *w, const char *words)
{
    html_lit(w, "<p>");
    html_text(w, words);
    html_lit(w, "</p>\n");
}

static void item(html_writer *w, const char *words)
{
    html_lit(w, "<li>");
    html_text(w, words);
    html_lit(w, "</li>\n");
}

static void drawing(html_writer *w, ch_svg *svg, ch_status rc)
{
    html_lit(w, "<div class=\"drawing\">");
    if (rc >= 0)
        html_svg(w, svg);
    else
        html_fail(w, rc);
    html_lit(w, "</div>\n");
    ch_svg_clear(svg);
}

static void legend_line(html_writer *w, ch_svg_look look, const char *words)
{
    ch_svg svg;
    html_lit(w, "<li>");
    const ch_status rc = ch_show_sample_svg(look, &svg, NULL);
    if (rc >= 0)
        html_svg(w, &svg);
    else
        html_fail(w, rc);
    ch_svg_clear(&svg);
    html_lit(w, "<span>");
    html_text(w, words);
    html_lit(w, "</span></li>\n");
}

/* More columns than this are set smaller on paper. */
enum { MANY_COLUMNS = 10 };

static void table_open(html_writer *w, const char *caption, const char *const head[], size_t columns)
{
    /* The title stands outside of what scrolls, so that a phone shows it whole. */
    html_lit(w, "<p class=\"tabletitle\">");
    html_text(w, caption);
    html_lit(w, "</p><div class=\"scroll\" role=\"region\" tabindex=\"0\"");
    html_attr(w, "aria-label", caption);
    html_lit(w, "><table");
    if (columns > MANY_COLUMNS)
        html_attr(w, "class", "many");
    html_attr(w, "aria-label", caption);
    html_lit(w, "><thead><tr>");
    for (size_t i = 0; i < columns; i++) {
        if (i == 0)
            html_lit(w, "<th scope=\"col\">");
        else
            html_lit(w, "<th scope=\"col\" class=\"number\">");
        html_text(w, head[i]);
        html_lit(w, "</th>");
    }
    html_lit(w, "</tr></thead><tbody>\n");
}

static void table_close(html_writer *w)
{
    html_lit(w, "</tbody></table></div>\n");
}

static void cell(html_writer *w, const char *text)
{
    html_lit(w, "<td class=\"number\">");
    html_text(w, text);
    html_lit(w, "</td>");
}

/* "0.5 to 0.8": the outer figures of three. */
static void range_cell(html_writer *w, const char *low, const char *high)
{
    html_lit(w, "<td class=\"number\">");
    html_textf(w, "%s to %s", low, high);
    html_lit(w, "</td>");
}

/* ---------------------------------------------------------------- the answer */

static void write_advice(const season_page *p)
{
    html_writer *w = p->w;
    char sentence[CH_SHOW_SENTENCE], hours[CH_SHOW_NUMBER];
    html_lit(w, "<p class=\"quiet\">");
    if (p->view->loaded.engine != NULL)
        html_textf(w, "%s, ", p->view->loaded.engine);
    html_textf(w, "%s h, %zu %s", ch_show_number(p->season->history.now_s / HOUR_S, 0, hours), p->season->history.count,
               p->season->history.count == 1 ? "sheet" : "sheets");
    html_lit(w, "</p><p class=\"verdict\">");
    ch_show_season_advice(&p->view->shown, sentence);
    html_text(w, sentence);
    html_lit(w, "</p>\n");
    ch_show_season_upgrade(&p->view->shown, sentence);
    paragraph(w, sentence);
    if (!p->season->forecast.slope_known)
        paragraph(w, ch_show_season_no_slope());
}

static void write_events(const season_page *p)
{
    static const char *const head[] = {"Event", "Engine at its end, h", "Over watch limit", "Over fault limit"};
    html_writer *w = p->w;
    const ch_season *s = p->season;
    html_lit(w, "<h2>Events to come</h2>\n");
    if (s->planned == 0) {
        html_lit(w, "<p>None is planned: <a");
        html_attrf(w, "href", "/car/%lld/events", (long long)p->car->id);
        html_lit(w, ">enter them</a> to see the chance that the engine lasts to each.</p>\n");
        return;
    }
    table_open(w, "Chance that a cylinder is over a limit by the end of each", head, sizeof head / sizeof head[0]);
    for (size_t i = 0; i < s->planned; i++) {
        char day[16], number[CH_SHOW_NUMBER];
        const ch_forecast_event *e = &s->forecast.event[i];
        ch_date_format(s->event[i].event->day, day, sizeof day);
        html_lit(w, "<tr><th scope=\"row\" class=\"name\">");
        html_textf(w, "%s %s", day, s->event[i].event->name != NULL ? s->event[i].event->name : "");
        html_lit(w, "</th>");
        ch_show_number(s->event[i].end_s / HOUR_S, 0, number);
        html_lit(w, "<td class=\"number\">");
        html_textf(w, "%s%s", number, ch_show_season_hours_taken(&p->view->shown, i) ? "*" : "");
        html_lit(w, "</td>");
        cell(w, isnan(e->over_watch_1) ? "-" : ch_show_chance(e->over_watch_1, number));
        cell(w, isnan(e->over_fault_1) ? "-" : ch_show_chance(e->over_fault_1, number));
        html_lit(w, "</tr>\n");
    }
    table_close(w);
    char sentence[CH_SHOW_SENTENCE];
    ch_show_season_rests(&p->view->shown, sentence);
    paragraph(w, sentence);
}

static const char *const HORIZON[CH_HORIZONS] = {"To the end of the season", "One year", "Three years"};

static void write_horizons(const season_page *p)
{
    html_writer *w = p->w;
    html_lit(w, "<nav class=\"tabs\" aria-label=\"How far ahead\">");
    for (int h = 0; h < CH_HORIZONS; h++) {
        html_lit(w, "<a");
        html_attrf(w, "href", "/car/%lld/season?horizon=%s", (long long)p->car->id, ch_horizon_name((ch_horizon)h));
        if (h == (int)p->season->horizon)
            html_lit(w, " aria-current=\"page\"");
        html_lit(w, ">");
        html_text(w, HORIZON[h]);
        html_lit(w, "</a>");
    }
    html_lit(w, "</nav>\n");
}

static void write_choices(const season_page *p)
{
    static const char *const head[] = {"Choice", "Expected, and nine times in ten", "Breaks down"};
    html_writer *w = p->w;
    const ch_decision *d = &p->season->decision[p->season->horizon];
    char caption[160], number[CH_SHOW_NUMBER], high[CH_SHOW_NUMBER];
    html_lit(w, "<h2>What each choice costs</h2>\n");
    write_horizons(p);
    snprintf(caption, sizeof caption, "%s, %s h of running: %.8s, your hours counted in", HORIZON[p->season->horizon],
             ch_show_number(p->season->horizon_s[p->season->horizon] / HOUR_S, 0, number),
             p->view->assumptions.currency);
    table_open(w, caption, head, sizeof head / sizeof head[0]);
    for (int k = 0; k < CH_COURSES; k++) {
        html_lit(w, "<tr><th scope=\"row\" class=\"name\">");
        html_text(w, ch_show_course_row(d, (ch_course)k));
        if (k == (int)d->best)
            html_lit(w, " <strong>(cheapest)</strong>");
        html_lit(w, "</th>");
        html_lit(w, "<td class=\"number\">");
        html_text(w, ch_show_guessed(d->cost[k].expected, number));
        html_lit(w, "<br><small>");
        ch_show_guessed(d->cost[k].interval[0], number);
        html_textf(w, "%s to %s", number, ch_show_guessed(d->cost[k].interval[1], high));
        html_lit(w, "</small></td>");
        cell(w, ch_show_chance(d->cost[k].breaks_1, number));
        html_lit(w, "</tr>\n");
    }
    table_close(w);
    char sentence[CH_SHOW_SENTENCE];
    ch_show_season_breaks(&p->view->shown, sentence);
    paragraph(w, sentence);
    if (strcmp(p->guessed_in, p->view->assumptions.currency) != 0) {
        html_lit(w, "<p class=\"hint\">");
        html_textf(w, "Figures of money that you have not changed are in %s, taken as %s one for one.", p->guessed_in,
                   p->view->assumptions.currency);
        html_lit(w, "</p>\n");
    }
}

/* ---------------------------------------------------------------- leak areas */

static void areas_table(const season_page *p)
{
    static const char *const head[] = {"Cylinder", "Now, mm2",
                                       "Between",  "Growth in 100 h",
                                       "Between",  "Hours to fault limit",
                                       "Between",  "Hours to watch limit"};
    html_writer *w = p->w;
    html_lit(w, "<details><summary>The numbers</summary>");
    table_open(w, "Leak areas in mm2, nine times in ten between the outer figures", head, sizeof head / sizeof head[0]);
    for (int c = 0; c < p->season->forecast.cylinders; c++) {
        const ch_forecast_cylinder *one = &p->season->forecast.cylinder[c];
        char now[3][CH_SHOW_NUMBER], growth[3][CH_SHOW_NUMBER], left[3][CH_SHOW_NUMBER], watch[CH_SHOW_NUMBER];
        for (int i = 0; i < 3; i++) {
            ch_show_area(exp(one->log_area_now[i]), now[i]);
            ch_show_area(one->growth_m2_per_s[i] * PER_100_H_S, growth[i]);
            ch_show_hours_left(one->fault_s[i], left[i]);
        }
        html_lit(w, "<tr><th scope=\"row\">");
        html_textf(w, "%d", c + 1);
        html_lit(w, "</th>");
        cell(w, now[1]);
        range_cell(w, now[0], now[2]);
        cell(w, growth[1]);
        range_cell(w, growth[0], growth[2]);
        cell(w, left[1]);
        range_cell(w, left[0], left[2]);
        cell(w, ch_show_hours_left(one->watch_s[1], watch));
        html_lit(w, "</tr>\n");
    }
    table_close(w);
    html_lit(w, "<p class=\"quiet\">");
    html_text(w, ch_show_season_wider());
    html_lit(w, "</p></details>\n");
}

static void write_areas(const season_page *p)
{
    html_writer *w = p->w;
    const ch_history *h = &p->season->history;
    char low[CH_SHOW_NUMBER], middle[CH_SHOW_NUMBER], high[CH_SHOW_NUMBER];
    const double *left_s = p->season->forecast.fault_s;
    html_lit(w, "<h2>Leak areas and hours left</h2>\n");
    if (isnan(left_s[1])) {
        paragraph(w, "No limit: this engine's reading never falls so far.");
    } else {
        html_lit(w, "<p>Until the first cylinder is over the fault limit: <strong>");
        html_text(w, ch_show_hours_left(left_s[1], middle));
        html_lit(w, "</strong> hours of running, nine times in ten between ");
        ch_show_hours_left(left_s[0], low);
        html_textf(w, "%s and %s.", low, ch_show_hours_left(left_s[2], high));
        html_lit(w, "</p>\n");
    }
    html_lit(w, "<div class=\"drawings\">\n");
    for (int c = 1; c <= p->season->forecast.cylinders; c++) {
        ch_svg svg;
        char heading[40];
        snprintf(heading, sizeof heading, "Cylinder %d", c);
        html_lit(w, "<section class=\"trend\"><h3>");
        html_text(w, heading);
        html_lit(w, "</h3>");
        drawing(w, &svg, ch_show_trend_svg(&p->view->shown, c, &svg, NULL));
        html_lit(w, "</section>\n");
    }
    html_lit(w,
             "</div><p>Each dot is what a sheet says, the line through it how sure it is.</p><ul class=\"legend\">\n");
    legend_line(w, CH_SVG_BAND, "striped: where it goes nine times in ten, the thick line in the middle");
    legend_line(w, CH_SVG_STANDARD, "the watch limit; upright: the engine was opened, or a step was found");
    legend_line(w, CH_SVG_MINIMUM, "the fault limit");
    html_lit(w, "</ul>\n<p class=\"quiet\">");
    html_textf(
        w,
        "Limits: %s mm2 to watch, %s mm2 a fault, where this engine's reading has fallen to 85 %% and 75 %% of a "
        "sound one's, or to what its manual allows.",
        isnan(h->log_watch) ? "-" : ch_show_area(exp(h->log_watch), low),
        isnan(h->log_fault) ? "-" : ch_show_area(exp(h->log_fault), high));
    html_lit(w, "</p>\n");
    areas_table(p);
}

static void write_happenings(const season_page *p)
{
    html_writer *w = p->w;
    const ch_season *s = p->season;
    char sentence[CH_SHOW_SENTENCE];
    if (s->forecast.found + s->history.steps + s->history.question_count == 0)
        return;
    html_lit(w, "<h2>What happened between, and what is odd</h2><ul>\n");
    for (size_t k = 0; k < s->forecast.found; k++) {
        ch_show_season_step(&p->view->shown, k, sentence);
        item(w, sentence);
    }
    for (size_t k = 0; k < s->history.steps; k++) {
        char hours[CH_SHOW_NUMBER];
        snprintf(sentence, sizeof sentence,
                 "The engine's inside was open before the sheet at %s h: leak areas need not go on from before.",
                 ch_show_number(s->history.step[k].running_s / HOUR_S, 1, hours));
        item(w, sentence);
    }
    for (size_t k = 0; k < s->history.question_count; k++)
        item(w, s->history.question[k].text);
    html_lit(w, "</ul>\n");
}

/* ---------------------------------------------------------------- what it hangs on */

static void swings_table(const season_page *p, const ch_decision *d)
{
    static const char *const head[] = {"Assumption", "Low", "Usual", "High", "Lead at low", "Lead at high"};
    html_writer *w = p->w;
    html_lit(w, "<details><summary>All assumptions</summary><p class=\"quiet\">Judgment is that of this program's "
                "makers.</p>\n");
    table_open(w, "Each assumption with its range, and the lead of the cheapest choice at either end", head,
               sizeof head / sizeof head[0]);
    for (size_t i = 0; i < CH_ASSUME_COUNT; i++) {
        const ch_swing *swing = &d->swing[i];
        const ch_assumption *a = &p->view->assumptions.of[swing->assumption];
        char figure[CH_SHOW_NUMBER + 16], number[CH_SHOW_NUMBER];
        html_lit(w, "<tr><th scope=\"row\" class=\"name\">");
        html_text(w, a->title);
        html_lit(w, " <span class=\"quiet\">");
        html_text(w, a->source);
        html_lit(w, "</span></th>");
        cell(w, ch_show_assumed(&p->view->shown, a, a->low, figure));
        cell(w, ch_show_assumed(&p->view->shown, a, a->usual, figure));
        cell(w, ch_show_assumed(&p->view->shown, a, a->high, figure));
        cell(w, ch_show_guessed(swing->lead[0], number));
        cell(w, ch_show_guessed(swing->lead[1], number));
        html_lit(w, "</tr>\n");
    }
    table_close(w);
    html_lit(w, "</details>\n");
}

/* Whether any assumption moves the lead by as much as one of the owner's money: else there is nothing to draw. */
static bool moves_lead(const ch_decision *d)
{
    for (size_t i = 0; i < CH_ASSUME_COUNT; i++)
        for (int end = 0; end < 2; end++)
            if (fabs(d->swing[i].lead[end] - d->lead) >= 1.0)
                return true;
    return false;
}

static void write_hangs_on(const season_page *p)
{
    html_writer *w = p->w;
    const ch_decision *d = &p->season->decision[p->season->horizon];
    ch_svg svg;
    size_t told = 0;
    html_lit(w, "<h2>What the answer hangs on</h2>\n");
    if (d->hangs_on == 0)
        paragraph(w, "No single assumption, taken to either end of its range, changes which choice is cheapest.");
    else
        html_lit(w, "<ul>\n");
    for (size_t i = 0; i < CH_ASSUME_COUNT && d->hangs_on > 0 && told < HANGS_ON_SHOWN; i++) {
        char sentence[CH_SHOW_SENTENCE];
        ch_show_season_swing(&p->view->shown, i, sentence);
        if (sentence[0] == '\0')
            continue;
        item(w, sentence);
        told++;
    }
    if (d->hangs_on > 0)
        html_lit(w, "</ul>\n");
    if (d->hangs_on > told)
        paragraph(w, "And on more of them: the choices are close.");
    if (moves_lead(d)) {
        drawing(w, &svg, ch_show_sensitivity_svg(&p->view->shown, &svg, NULL));
        html_lit(w, "<p class=\"quiet\">Striped: with the assumption at its low end. Filled: at its high end.</p>\n");
    }
    swings_table(p, d);
}

/* ---------------------------------------------------------------- sheets */

/* What was done to the engine's inside between two days, as rows of the table. */
static void repairs_between(const season_page *p, const ch_date *after, const ch_date *upto, int columns)
{
    for (size_t i = p->view->loaded.repairs; i-- > 0;) {
        const ch_history_repair *repair = &p->view->loaded.repair[i];
        char day[16];
        if ((after != NULL && ch_date_days(repair->day) <= ch_date_days(*after)) ||
            (upto != NULL && ch_date_days(repair->day) > ch_date_days(*upto)))
            continue;
        ch_date_format(repair->day, day, sizeof day);
        html_lit(p->w, "<tr><th scope=\"row\">");
        html_text(p->w, day);
        html_lit(p->w, "</th><td");
        html_attrf(p->w, "colspan", "%d", columns - 1);
        html_lit(p->w, ">");
        html_textf(p->w, "%s: %s", repair->job ? "Done" : "Fitted", repair->what);
        html_lit(p->w, "</td></tr>\n");
    }
}

static void sheet_row(const season_page *p, const ch_history_point *point)
{
    html_writer *w = p->w;
    char day[16], number[CH_SHOW_NUMBER];
    const ch_history_result *r = &point->sheet->result;
    ch_date_format(point->sheet->day, day, sizeof day);
    html_lit(w, "<tr><th scope=\"row\"><a class=\"press\"");
    html_attrf(w, "href", "/sheet/%lld/findings", (long long)point->sheet->id);
    html_lit(w, ">");
    html_text(w, point->sheet->day_assumed ? "no day" : day);
    html_lit(w, "</a></th>");
    ch_show_number(point->running_s / HOUR_S, 1, number);
    html_lit(w, "<td class=\"number\">");
    html_textf(w, "%s%s", number, point->noted ? "" : " *");
    html_lit(w, "</td><td class=\"number\">");
    html_text(w, ch_verdict_name(r->verdict));
    if (point->fitted && p->season->forecast.odd_sheet_1[point->at] > 0.5)
        html_lit(w, ", odd one out");
    html_lit(w, "</td>");
    for (int c = 0; c < p->season->history.cylinders; c++)
        cell(w, c < r->cylinders ? ch_show_pressure(r->cylinder[c].standard_day_pa, p->pressure, number) : "-");
    html_lit(w, "</tr>\n");
}

static void write_sheets(const season_page *p)
{
    const ch_history *h = &p->season->history;
    const char *head[3 + CH_CYLINDERS_MAX] = {"Day", "Engine, h", "Verdict"};
    char name[CH_CYLINDERS_MAX][16], caption[120];
    html_writer *w = p->w;
    bool counted = false;
    for (int c = 0; c < h->cylinders; c++) {
        snprintf(name[c], sizeof name[c], "Cyl. %d", c + 1);
        head[3 + c] = name[c];
    }
    const int columns = 3 + h->cylinders;
    html_lit(w, "<h2>History</h2><details");
    html_attr_if(w, "open", h->count <= SHEETS_AT_ONCE);
    html_lit(w, "><summary>");
    html_textf(w, "%zu %s", h->count, h->count == 1 ? "sheet" : "sheets");
    html_lit(w, "</summary>");
    snprintf(caption, sizeof caption, "Readings brought to the standard day, %.16s, newest first", p->pressure->name);
    table_open(w, caption, head, (size_t)columns);
    for (size_t i = h->count; i-- > 0;) {
        repairs_between(p, &h->point[i].sheet->day, i + 1 < h->count ? &h->point[i + 1].sheet->day : NULL, columns);
        sheet_row(p, &h->point[i]);
        counted = counted || !h->point[i].noted;
    }
    repairs_between(p, NULL, &h->point[0].sheet->day, columns);
    table_close(w);
    if (counted)
        paragraph(w, "* not noted on the sheet, or not believed: counted from its neighbours and the events.");
    html_lit(w, "</details>\n");
    if (p->view->loaded.passed_over > 0) {
        html_lit(w, "<p>");
        html_textf(w, "%zu %s could not be judged.", p->view->loaded.passed_over,
                   p->view->loaded.passed_over == 1 ? "sheet" : "sheets");
        html_lit(w, "</p>\n");
    }
}

/* ---------------------------------------------------------------- the page */

static void write_nothing(const season_page *p)
{
    html_writer *w = p->w;
    html_lit(w, "<p class=\"verdict unclear\"><strong>Nothing can be said yet.</strong> ");
    html_text(w, p->view->why);
    html_lit(w, "</p><p><a class=\"button wide\"");
    if (p->view->settings) {
        html_lit(w, " href=\"/settings\">Change it in the settings</a></p>\n");
        return;
    }
    html_attrf(w, "href", "/sheets/new?car=%lld", (long long)p->car->id);
    html_lit(w, ">Begin a test sheet</a></p>\n");
}

static ch_horizon horizon_asked(const web_request *request)
{
    const char *asked = web_value(&request->query, "horizon");
    for (int h = 0; asked != NULL && h < CH_HORIZONS; h++)
        if (strcmp(asked, ch_horizon_name((ch_horizon)h)) == 0)
            return (ch_horizon)h;
    return CH_HORIZON_YEAR; /* as the terminal's */
}

/* What is forecast are leak areas: that a fault stands is said before it, or nobody learns of it here. */
static void write_standing_fault(const season_page *p)
{
    const ch_ready_engine *engine = p->view->shown.standing;
    char sentence[CH_SHOW_SENTENCE];
    if (!ch_date_given(engine->fault.day))
        return;
    ch_show_ready_fault(engine, sentence);
    html_lit(p->w, "<p class=\"verdict fault\">");
    html_text(p->w, sentence);
    if (ch_show_season_forbids(&p->view->shown))
        html_lit(p->w, ". What follows counts leaks alone, and holds once that is put right. <a");
    else
        html_lit(p->w, ". What follows is how leaks may go on from there. <a");
    html_attrf(p->w, "href", "/sheet/%lld/findings", (long long)engine->fault.sheet_id);
    html_lit(p->w, ">Findings</a></p>\n");
}

ch_status page_season_get(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_car *car = NULL;
    const web_know *know = know_get(err);
    season_view view;
    ch_status rc = CH_E_IO;
    if (know == NULL || !piece_car(request, response, &car, &rc, err))
        return rc;
    rc = season_view_get(request, know, car, horizon_asked(request), SEASON_SHEETS_AT_ONCE, &view, err);
    if (rc < 0)
        return rc;
    ch_ready_engine standing = CH_READY_NO_ENGINE;
    ch_store_ready_engine(&view.loaded, view.shown.today, &standing);
    view.shown.standing = &standing;
    const season_page p = {.w = &response->page,
                           .car = car,
                           .view = &view,
                           .season = view.shown.season,
                           .pressure = piece_unit(request, "pressure"),
                           .guessed_in = know->assumptions.currency};
    piece_car_open(request, response, car, "Will it last?", "/season");
    html_lit(p.w, "<link rel=\"stylesheet\" href=\"/asset/findings.css\">\n");
    if (view.loaded.waiting > 0) {
        season_write_waiting(response, view.loaded.sheets, view.loaded.waiting);
    } else if (p.season == NULL) {
        write_nothing(&p);
    } else {
        write_standing_fault(&p);
        write_advice(&p);
        write_events(&p);
        write_choices(&p);
        write_areas(&p);
        write_happenings(&p);
        write_hangs_on(&p);
        write_sheets(&p);
        html_lit(p.w,
                 "<p>These figures speak of sealing only, not of bearings, oil supply, belts or anything else, and "
                 "costs are assumptions of yours and of the trade's. The car's own manual has the last word, and "
                 "you decide.</p>\n");
    }
    html_page_close(p.w);
    seasons_give_back(view.one);
    return CH_OK;
}
