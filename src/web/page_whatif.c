/*
 * GET /whatif: the model's inputs to play with. Query: sheet (its engine, gauge and day; without one, the default engine), and each input by its
 * name in whatif.h, as typed; a blank one stays as it is. What cannot be is refused (422) and kept as typed.
 * GET /whatif/result: the same query, and of the page only what follows from it, for whatif.mjs.
 *
 * Settings looked at: `units.pressure`, `units.temperature`.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_whatif.h"
#include "crosshatch/store_sheet.h"
#include "page.h"
#include "piece.h"

/* A page being answered. */
typedef struct play {
    web_request *request;
    html_writer *w;
    ch_sheet sheet; /* to be cleared */
    int64_t sheet_id;
    char sheet_name[200];
    ch_show_whatif_units units;
    ch_whatif_inputs before, now;
    int refused; /* the input that cannot be what was typed, or -1 */
    char alert[PIECE_LINE + 64];
} play;

/* What a slider runs through, in the input's shown unit (temperatures: C); what is typed may go beyond. */
static const struct {
    double least, most, step;
} SLIDERS[CH_WHATIF_COUNT] = {
    [CH_WHATIF_ALTITUDE] = {0.0, 4000.0, 50.0},
    [CH_WHATIF_SEA_LEVEL_PRESSURE] = {950.0, 1050.0, 1.0},
    [CH_WHATIF_AIR_TEMPERATURE] = {-20.0, 45.0, 1.0},
    [CH_WHATIF_ENGINE_TEMPERATURE] = {-20.0, 110.0, 1.0},
    [CH_WHATIF_CRANKING_SPEED] = {80.0, 400.0, 5.0},
    [CH_WHATIF_STROKES] = {1.0, 20.0, 1.0},
    [CH_WHATIF_COMPRESSION_RATIO] = {6.0, 16.0, 0.1},
    [CH_WHATIF_INTAKE_CLOSES] = {20.0, 100.0, 1.0},
    [CH_WHATIF_HOSE_VOLUME] = {1.0, 80.0, 1.0},
    [CH_WHATIF_DEAD_VOLUME] = {0.0, 20.0, 0.5},
    [CH_WHATIF_RINGS] = {0.0, 6.0, 0.05},
    [CH_WHATIF_INTAKE_VALVE] = {0.0, 6.0, 0.05},
    [CH_WHATIF_EXHAUST_VALVE] = {0.0, 6.0, 0.05},
};

/*
 * The classic traps: each is the engine as it is, but for one thing. That goes to a round value, and where the engine's own is as bad already,
 * further by `times` and `more`.
 */
static const struct {
    const char *words;
    ch_whatif_input input;
    double si, times, more;
} TRAPS[] = {
    {"Throttle shut", CH_WHATIF_THROTTLE, 1.0, 1.0, 0.0},
    {"Tired battery", CH_WHATIF_CRANKING_SPEED, 15.707963267948966, 0.7, 0.0}, /* 150 rpm */
    {"Cold engine", CH_WHATIF_ENGINE_TEMPERATURE, 278.15, 1.0, -20.0},
    {"Long hose", CH_WHATIF_HOSE_VOLUME, 40e-6, 2.0, 0.0},
    {"Big cam", CH_WHATIF_INTAKE_CLOSES, 1.3962634015954636, 1.0, 0.2617993877991494}, /* 80 and 15 degrees */
    {"High up", CH_WHATIF_ALTITUDE, 2000.0, 1.0, 1000.0},
    {"Worn ring pack", CH_WHATIF_RINGS, 3e-6, 2.0, 0.0},
};

/* ---------------------------------------------------------------- what is asked */

/* The engine to start from. False where the answer is written already (*rc), or on failure. */
static bool begin(play *p, web_response *response, ch_status *rc, ch_err *err)
{
    p->units = (ch_show_whatif_units){.pressure = piece_unit(p->request, "pressure"),
                                      .temperature = piece_unit(p->request, "temperature")};
    p->refused = -1;
    p->sheet_id = piece_id(&p->request->query, "sheet");
    ch_sheet_init(&p->sheet);
    p->sheet.engine.cylinders = 4;
    if (piece_given(&p->request->query, "sheet") == NULL) {
        *rc = ch_whatif_from_sheet(&p->sheet, &p->before, err);
        return *rc >= 0;
    }
    ch_store_sheet row;
    ch_err own = {0};
    *rc = p->sheet_id == 0 ? CH_E_INPUT
                           : ch_store_sheet_get(p->request->store, &p->request->pool, p->sheet_id, &row, &own);
    if (*rc == CH_E_INPUT) {
        *rc = web_not_found(p->request, response);
        return false;
    }
    if (*rc >= 0)
        *rc = ch_store_sheet_load(p->request->store, row.id, &p->sheet, &own);
    if (*rc >= 0)
        *rc = piece_sheet_name(p->request, &row, p->sheet_name, sizeof p->sheet_name, &own);
    if (*rc >= 0)
        *rc = ch_whatif_from_sheet(&p->sheet, &p->before, &own);
    if (*rc < 0 && err != NULL)
        *err = own;
    return *rc >= 0;
}

static const char *typed(const play *p, ch_whatif_input input)
{
    return piece_given(&p->request->query, ch_whatif_name(input));
}

static ch_status read_one(const play *p, ch_whatif_input input, const char *text, double *si, ch_err *err)
{
    char shown[CH_SHOW_NUMBER];
    if (strcmp(text, ch_show_whatif_number(input, *si, &p->units, shown)) == 0)
        return CH_OK; /* as it is: the number shown is a rounded one */
    if (input == CH_WHATIF_THROTTLE) {
        const bool shut = strcmp(text, "shut") == 0;
        *si = shut ? 1.0 : 0.0;
        return shut || strcmp(text, "open") == 0 ? CH_OK
                                                 : ch_fail(err, CH_E_INPUT, "open or shut", "neither open nor shut");
    }
    const ch_unit *unit = ch_show_whatif_unit(input, &p->units);
    ch_quantity quantity;
    ch_status rc = ch_quantity_parse(text, strlen(text), ch_whatif_dimension(input),
                                     unit != NULL ? unit : ch_unit_find("1", 1), &quantity, err);
    if (rc >= 0)
        rc = ch_whatif_check(input, quantity.si, err);
    if (rc >= 0)
        *si = quantity.si;
    return rc;
}

static void refuse(play *p, int input, const ch_err *own)
{
    char line[PIECE_LINE];
    ch_err_format(own, line, sizeof line);
    if (input >= 0)
        snprintf(p->alert, sizeof p->alert, "%s: %s", ch_show_whatif_label((ch_whatif_input)input), line);
    else
        snprintf(p->alert, sizeof p->alert, "%s", line);
    p->refused = input;
}

static bool read_all(play *p)
{
    p->now = p->before;
    for (int i = 0; i < CH_WHATIF_COUNT; i++) {
        const char *text = typed(p, (ch_whatif_input)i);
        ch_err own = {0};
        if (text != NULL && read_one(p, (ch_whatif_input)i, text, &p->now.si[i], &own) < 0) {
            refuse(p, i, &own);
            return false;
        }
    }
    return true;
}

/* ---------------------------------------------------------------- what follows */

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

static bool moved(const ch_whatif *whatif)
{
    for (int i = 0; i < CH_WHATIF_COUNT; i++)
        if (whatif->changed[i])
            return true;
    return false;
}

static void write_reading(const play *p, const ch_whatif *whatif)
{
    html_writer *w = p->w;
    char number[CH_SHOW_NUMBER], change[CH_SHOW_NUMBER];
    ch_svg svg;
    const double before_pa = whatif->before_run.facts.gauge_pa, now_pa = whatif->now_run.facts.gauge_pa;
    html_lit(w, "<section id=\"reading\" aria-label=\"Reading\"><p class=\"outcome\"><strong class=\"big\">");
    html_text(w, ch_show_pressure_named(now_pa, p->units.pressure, number));
    html_lit(w, "</strong> <span>");
    if (moved(whatif)) {
        html_textf(w, "%s, was ", ch_show_whatif_change(before_pa, now_pa, change));
        html_text(w, ch_show_pressure_named(before_pa, p->units.pressure, number));
    } else {
        html_textf(w, "on the gauge after %d strokes", whatif->now_run.strokes);
    }
    html_lit(w, "</span>");
    /* On a phone the reasons stand a long way down. */
    if (moved(whatif))
        html_lit(w, " <a href=\"#result\">why</a>");
    html_lit(w, "</p>\n");
    const ch_status rc = ch_show_pumpup_svg(whatif, p->units.pressure, &svg, NULL);
    drawing(w, &svg, rc);
    html_lit(w, "</section>\n");
}

static void write_why(const play *p, const ch_whatif *whatif)
{
    html_writer *w = p->w;
    html_lit(w, "<h2>What changed, and why</h2>\n");
    if (!moved(whatif)) {
        html_lit(w, "<p>Nothing yet: move something.</p>\n");
        return;
    }
    html_lit(w, "<ul>");
    for (int i = 0; i < CH_WHATIF_COUNT; i++) {
        if (!whatif->changed[i])
            continue;
        ch_text sentence;
        ch_text_init(&sentence, 2000);
        ch_show_whatif_why(whatif, (ch_whatif_input)i, &p->units, &sentence);
        html_lit(w, "<li>");
        html_composed(w, &sentence);
        html_lit(w, "</li>\n");
        ch_text_clear(&sentence);
    }
    html_lit(w, "</ul>\n");
    if (whatif->now.si[CH_WHATIF_ENGINE_TEMPERATURE] < whatif->before.si[CH_WHATIF_ENGINE_TEMPERATURE])
        html_lit(w, "<p class=\"hint\">Cold oil also slows the starter, and cold rings seal differently: of that the "
                    "model knows nothing. Move the cranking speed and the rings as well.</p>\n");
}

static void row(html_writer *w, const char *name, const char *before, const char *now)
{
    html_lit(w, "<tr><th scope=\"row\">");
    html_text(w, name);
    html_lit(w, "</th><td class=\"number\">");
    html_text(w, before);
    html_lit(w, "</td><td class=\"number\">");
    html_text(w, now);
    html_lit(w, "</td></tr>\n");
}

static void table_open(html_writer *w, const char *caption, const char *first)
{
    html_lit(w, "<div class=\"scroll\" role=\"region\"");
    html_attr(w, "aria-label", caption);
    html_lit(w, " tabindex=\"0\"><table><caption>");
    html_text(w, caption);
    html_lit(w, "</caption><thead><tr><th scope=\"col\">");
    html_text(w, first);
    html_lit(w, "</th><th scope=\"col\" class=\"number\">Before</th><th scope=\"col\" class=\"number\">Now</th></tr>"
                "</thead><tbody>\n");
}

static void write_strokes(const play *p, const ch_whatif *whatif)
{
    const ch_whatif_run *before = &whatif->before_run, *now = &whatif->now_run;
    char caption[80], name[16], a[CH_SHOW_NUMBER], b[CH_SHOW_NUMBER];
    snprintf(caption, sizeof caption, "Reading by stroke, %s", p->units.pressure->name);
    table_open(p->w, caption, "Stroke");
    for (int i = 0; i < before->strokes || i < now->strokes; i++) {
        snprintf(name, sizeof name, "%d", i + 1);
        row(p->w, name, i < before->strokes ? ch_show_pressure(before->stroke_gauge_pa[i], p->units.pressure, a) : "",
            i < now->strokes ? ch_show_pressure(now->stroke_gauge_pa[i], p->units.pressure, b) : "");
    }
    html_lit(p->w, "</tbody></table></div>\n");
}

static void write_facts(const play *p, const ch_whatif *whatif)
{
    const ch_whatif_facts *before = &whatif->before_run.facts, *now = &whatif->now_run.facts;
    const struct {
        const char *name;
        double before, now;
        const char *unit; /* NULL: a pure number */
        int decimals;
    } rows[] = {
        {"Air outside, hPa", before->ambient_pa, now->ambient_pa, "hPa", 0},
        {"Intake, hPa", before->intake_pa, now->intake_pa, "hPa", 0},
        {"Air trapped, g", before->closing_kg, now->closing_kg, "g", 3},
        {"Squeezed, times", before->closing_ratio_1, now->closing_ratio_1, NULL, 2},
        {"Lost by the top, %", before->lost_1, now->lost_1, "%", 1},
        {"Pressure at the top, kPa over the air outside", before->top_pa - before->ambient_pa,
         now->top_pa - now->ambient_pa, "kPa", 0},
        {"Gas at the top, C", before->top_k, now->top_k, "C", 0},
        {"Time of a compression, s", before->compression_s, now->compression_s, "s", 3},
        {"Within 5 % at stroke", before->settled, now->settled, NULL, 0},
    };
    table_open(p->w, "What the model did in the last stroke", "Quantity");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char a[CH_SHOW_NUMBER], b[CH_SHOW_NUMBER];
        const ch_unit *unit = rows[i].unit != NULL ? ch_unit_find(rows[i].unit, strlen(rows[i].unit)) : NULL;
        row(p->w, rows[i].name,
            ch_show_number(unit != NULL ? ch_unit_from_si(rows[i].before, unit) : rows[i].before, rows[i].decimals, a),
            ch_show_number(unit != NULL ? ch_unit_from_si(rows[i].now, unit) : rows[i].now, rows[i].decimals, b));
    }
    html_lit(p->w, "</tbody></table></div>\n");
}

static void write_result(const play *p, const ch_whatif *whatif)
{
    html_writer *w = p->w;
    ch_svg svg;
    html_lit(w, "<section id=\"result\" aria-label=\"Why\">");
    write_why(p, whatif);
    html_lit(w, "<h2>In the cylinder</h2>\n");
    const ch_status rc = ch_show_cycle_svg(whatif, p->units.pressure, &svg, NULL);
    drawing(w, &svg, rc);
    html_lit(w, "<p class=\"hint\">Over the air outside; the dot is where the intake valve is on its seat.</p>\n"
                "<details><summary>The numbers</summary>\n");
    write_strokes(p, whatif);
    write_facts(p, whatif);
    html_lit(w, "</details></section>\n");
}

/* ---------------------------------------------------------------- the page */

/* Where a trap leads from this engine; its own value where there is nothing beyond. */
static double trapped(const play *p, size_t trap)
{
    const double own = p->before.si[TRAPS[trap].input], round = TRAPS[trap].si;
    const double worse = own * TRAPS[trap].times + TRAPS[trap].more;
    const double to = TRAPS[trap].times < 1.0 || TRAPS[trap].more < 0.0 ? fmin(round, worse) : fmax(round, worse);
    return ch_whatif_check(TRAPS[trap].input, to, NULL) >= 0 ? to : own;
}

static void write_traps(const play *p)
{
    html_writer *w = p->w;
    char number[CH_SHOW_NUMBER];
    html_lit(w, "<nav class=\"traps\" aria-label=\"Classic traps\">");
    for (size_t i = 0; i < sizeof TRAPS / sizeof TRAPS[0]; i++) {
        html_lit(w, "<a class=\"button second\"");
        const char *name = ch_whatif_name(TRAPS[i].input);
        ch_show_whatif_number(TRAPS[i].input, trapped(p, i), &p->units, number);
        if (p->sheet_id > 0)
            html_attrf(w, "href", "/whatif?sheet=%lld&%s=%s", (long long)p->sheet_id, name, number);
        else
            html_attrf(w, "href", "/whatif?%s=%s", name, number);
        html_lit(w, ">");
        html_text(w, TRAPS[i].words);
        html_lit(w, "</a>");
    }
    html_lit(w, "<a class=\"button second\"");
    if (p->sheet_id > 0)
        html_attrf(w, "href", "/whatif?sheet=%lld", (long long)p->sheet_id);
    else
        html_attr(w, "href", "/whatif");
    html_lit(w, ">As it is</a></nav>\n");
}

static void slider_end(html_writer *w, const play *p, ch_whatif_input input, double shown, int end)
{
    char number[CH_SHOW_NUMBER];
    /* The ends of temperatures are round in C. */
    if (ch_whatif_dimension(input) == CH_DIM_TEMPERATURE)
        shown = round(ch_unit_from_si(ch_unit_to_si(shown, ch_unit_find("C", 1)), p->units.temperature));
    ch_show_number(shown, 2, number);
    if (end == 0)
        html_attr(w, "data-least", number);
    else if (end == 1)
        html_attr(w, "data-most", number);
}

static void write_field(const play *p, ch_whatif_input input)
{
    html_writer *w = p->w;
    const char *name = ch_whatif_name(input), *text = typed(p, input);
    const ch_unit *unit = ch_show_whatif_unit(input, &p->units);
    char number[CH_SHOW_NUMBER];
    ch_show_whatif_number(input, p->before.si[input], &p->units, number);
    html_lit(w, "<div class=\"move\"><label");
    html_attrf(w, "for", "f-%s", name);
    html_lit(w, ">");
    html_text(w, ch_show_whatif_label(input));
    html_lit(w, " <span class=\"hint\">");
    if (unit != NULL)
        html_textf(w, "%s; ", unit->name);
    html_textf(w, "was %s", number);
    html_lit(w, "</span></label><input autocomplete=\"off\" type=\"text\" inputmode=\"decimal\" maxlength=\"80\"");
    html_attrf(w, "id", "f-%s", name);
    html_attr(w, "name", name);
    html_attr(w, "value", text != NULL ? text : number);
    slider_end(w, p, input, SLIDERS[input].least, 0);
    slider_end(w, p, input, SLIDERS[input].most, 1);
    html_attr(w, "data-step", ch_show_number(SLIDERS[input].step, 2, number));
    if (p->refused == (int)input)
        html_lit(w, " aria-invalid=\"true\"");
    html_lit(w, "></div>\n");
}

static void write_throttle(const play *p)
{
    char number[CH_SHOW_NUMBER];
    const char *text = typed(p, CH_WHATIF_THROTTLE);
    const char *chosen =
        text != NULL ? text
                     : ch_show_whatif_number(CH_WHATIF_THROTTLE, p->before.si[CH_WHATIF_THROTTLE], &p->units, number);
    html_lit(p->w, "<fieldset class=\"throttle\"><legend>Throttle</legend>");
    piece_choice(p->w, "throttle", "open", "Held wide open", chosen);
    piece_choice(p->w, "throttle", "shut", "Shut", chosen);
    html_lit(p->w, "</fieldset>\n");
}

static void write_form(const play *p)
{
    static const struct {
        const char *words;
        ch_whatif_input first, last;
    } groups[] = {
        {"The test", CH_WHATIF_CRANKING_SPEED, CH_WHATIF_STROKES},
        {"The engine", CH_WHATIF_COMPRESSION_RATIO, CH_WHATIF_INTAKE_CLOSES},
        {"The day", CH_WHATIF_ALTITUDE, CH_WHATIF_ENGINE_TEMPERATURE},
        {"The gauge", CH_WHATIF_HOSE_VOLUME, CH_WHATIF_DEAD_VOLUME},
        {"Leaks, effective area", CH_WHATIF_RINGS, CH_WHATIF_EXHAUST_VALVE},
    };
    html_writer *w = p->w;
    html_lit(w, "<form method=\"get\" action=\"/whatif\" id=\"moves\">");
    if (p->sheet_id > 0)
        piece_hidden_number(w, "sheet", p->sheet_id);
    for (size_t g = 0; g < sizeof groups / sizeof groups[0]; g++) {
        html_lit(w, "<h2>");
        html_text(w, groups[g].words);
        html_lit(w, "</h2><div class=\"group\">\n");
        for (int i = (int)groups[g].first; i <= (int)groups[g].last; i++)
            write_field(p, (ch_whatif_input)i);
        if (g == 0)
            write_throttle(p);
        html_lit(w, "</div>\n");
    }
    piece_button(w, NULL, NULL, "wide", "Work it out");
    html_lit(w, "</form>\n");
}

static void write_start(const play *p)
{
    html_writer *w = p->w;
    html_lit(w, "<p class=\"quiet\">");
    if (p->sheet_id > 0) {
        html_lit(w, "Starts from <a");
        html_attrf(w, "href", "/sheet/%lld/findings", (long long)p->sheet_id);
        html_lit(w, ">");
        html_text(w, p->sheet_name);
        html_lit(w, "</a>: its engine, gauge and day; what the sheet does not say is assumed. The cylinder is sound "
                    "unless the sheet states leaks.");
    } else {
        html_lit(w, "Starts from a sound cylinder of a two-litre four, 86 by 86 mm, tested warm at sea level. To start "
                    "from your own, come here from the findings of a sheet.");
    }
    html_lit(w, " A model, not your gauge: the directions hold, the last per cent does not.</p>\n");
}

static ch_status answer(web_request *request, web_response *response, bool whole, ch_err *err)
{
    play p = {.request = request, .w = &response->page};
    ch_whatif whatif;
    ch_err own = {0};
    ch_status rc;
    if (!begin(&p, response, &rc, err)) {
        ch_sheet_clear(&p.sheet);
        return rc;
    }
    bool known = read_all(&p);
    if (known) {
        rc = ch_whatif_compute(&p.sheet, &p.before, &p.now, &whatif, &own);
        known = rc >= 0;
        if (rc == CH_E_RANGE || rc == CH_E_CONVERGE) {
            refuse(&p, -1, &own);
            rc = CH_OK;
        } else if (rc < 0 && err != NULL) {
            *err = own;
        }
    }
    if (!known)
        response->status = 422;
    if (whole) {
        html_page_open(p.w, request, "What if");
        html_lit(p.w, "<link rel=\"stylesheet\" href=\"/asset/findings.css\">"
                      "<link rel=\"stylesheet\" href=\"/asset/whatif.css\">"
                      "<script type=\"module\" src=\"/asset/whatif.mjs\"></script>\n");
        write_start(&p);
        write_traps(&p);
        html_lit(p.w, "<p id=\"said\" class=\"visually-hidden\" role=\"status\"></p><div id=\"play\">\n");
    }
    html_lit(p.w, "<div id=\"refused\">");
    piece_alert_beside_field(p.w, p.alert[0] != '\0' ? p.alert : NULL);
    html_lit(p.w, "</div>\n");
    if (known)
        write_reading(&p, &whatif);
    if (whole)
        write_form(&p);
    if (known)
        write_result(&p, &whatif);
    if (whole) {
        html_lit(p.w, "</div>\n");
        html_page_close(p.w);
    }
    ch_sheet_clear(&p.sheet);
    return rc;
}

ch_status page_whatif_get(web_request *request, web_response *response, ch_err *err)
{
    return answer(request, response, true, err);
}

ch_status page_whatif_result_get(web_request *request, web_response *response, ch_err *err)
{
    return answer(request, response, false, err);
}
