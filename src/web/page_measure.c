/*
 * GET /sheet/ID/measure: enter readings. Query: kind = dry | wet | leakdown, cylinder; without it the next one in the order of work.
 * POST: kind, cylinder; dry and wet: first, reading, oil; leakdown: supply, loss, orifice, heard (several); note; entry;
 *   answer = json: answer with JSON instead of a page (200: stored, again; 422: refused).
 * POST /sheet/ID/order: the order of work: order = rounds | back | pairs | firing.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/show.h"
#include "crosshatch/show_words.h"
#include "measure.h"
#include "measure_live.h"
#include "measure_order.h"
#include "page.h"
#include "steps.h"

static void write_kinds(html_writer *w, const measuring *m)
{
    html_lit(w, "<nav class=\"tabs\" aria-label=\"Kind of test\">");
    for (size_t i = 0; i < MEASURE_KINDS; i++) {
        html_lit(w, "<a");
        html_attrf(w, "href", "/sheet/%lld/measure?kind=%s", (long long)m->row.id, measure_kinds[i].name);
        if (i == m->kind)
            html_lit(w, " aria-current=\"true\"");
        html_lit(w, ">");
        html_text(w, measure_kinds[i].tab);
        html_lit(w, "</a>");
    }
    html_lit(w, "</nav>\n");
}

/* Readings outside these are asked about while they are typed: a dead cylinder reads less, and a person says so. */
static const double LEAST_USUAL_PA = 2e5, MOST_USUAL_PA = 30e5;

static const ch_procedure *procedure_of(const web_know *know, const measuring *m)
{
    const char *id = measure_kinds[m->kind].procedure;
    return ch_procedure_find(&know->procedures, id, strlen(id));
}

/* The cautions of the step that measures; the gravest first, as they stand. NULL where it has none. */
static const ch_places *cautions_of(const web_know *know, const measuring *m)
{
    const ch_procedure *procedure = procedure_of(know, m);
    for (size_t i = 0; procedure != NULL && i < procedure->steps_count; i++)
        if (procedure->steps[i].rows != 0)
            return procedure->steps[i].cautions.count > 0 ? &procedure->steps[i].cautions : NULL;
    return NULL;
}

/* Once a reading of this kind is in, the cautions have been read: their signal words stand before the field, in sight with it, the rest a tap away. */
static void write_cautions_again(html_writer *w, const web_know *know, const measuring *m)
{
    const ch_places *cautions = cautions_of(know, m);
    if (cautions == NULL)
        return;
    html_lit(w, "<details class=\"again\"><summary><span>");
    piece_signal_words(w, &know->knowledge, cautions);
    html_lit(w, ": as before the first reading</span></summary>");
    piece_cautions_short(w, &know->knowledge, cautions);
    html_lit(w, "</details>\n");
}

static void write_before(html_writer *w, const web_know *know, const measuring *m, bool began)
{
    const ch_procedure *procedure = procedure_of(know, m);
    const ch_places *cautions = cautions_of(know, m);
    if (procedure == NULL)
        return;
    if (!began && cautions != NULL)
        piece_cautions_short(w, &know->knowledge, cautions);
    const ch_procedure_step *bleed =
        measure_kinds[m->kind].bleed != NULL
            ? ch_procedure_step_find(procedure, measure_kinds[m->kind].bleed, strlen(measure_kinds[m->kind].bleed))
            : NULL;
    if (bleed != NULL) {
        ch_text text;
        ch_text_init(&text, 1024);
        ch_procedure_fill(bleed->text, m->cylinder, &text);
        html_lit(w, "<p class=\"reminder\"><strong>First:</strong> ");
        html_composed(w, &text);
        html_lit(w, "</p>\n");
        ch_text_clear(&text);
    }
}

/* The element that timer.mjs turns into the timer; without scripts it says what to do. */
static void write_timer(html_writer *w, const measuring *m)
{
    const ch_sheet_conditions *day = &m->sheet.conditions;
    char speed[48] = "";
    if (measure_kinds[m->kind].kind == CH_STORE_LEAKDOWN)
        return;
    if (ch_quantity_given(&day->cranking_speed))
        ch_si_format(day->cranking_speed.si, NAN, ch_unit_find("rpm", 3), speed, sizeof speed);
    html_lit(w, "<div class=\"timer\"");
    html_attr(w, "data-rpm", speed);
    if (day->strokes > 0)
        html_attrf(w, "data-strokes", "%d", day->strokes);
    html_lit(w, "><p>Crank five to six seconds, the same count of strokes for every cylinder.</p></div>\n");
}

static void remember(const measuring *m, measure_shown *s, char text[3][80])
{
    for (size_t i = 0; i < m->rows_count; i++) {
        const ch_store_row *row = &m->rows[i];
        if (!row->current || row->deletion || row->kind != measure_kinds[m->kind].kind)
            continue;
        if (row->kind == CH_STORE_LEAKDOWN) {
            ch_quantity_text(&row->leakdown.supply, text[0], 80);
            ch_quantity_text(&row->leakdown.orifice, text[1], 80);
        } else if (row->kind == CH_STORE_WET) {
            ch_quantity_text(&row->reading.oil, text[2], 80);
        }
    }
    s->supply = text[0];
    s->orifice = text[1];
    s->oil = text[2];
}

/* `began`: a reading of this kind is in. `to_read`: something above is to be read first. */
static ch_status write_form(html_writer *w, web_request *request, const web_know *know, const measuring *m, bool began,
                            bool to_read, const char *alert, ch_err *err)
{
    char text[3][80] = {"", "", ""}, action[64];
    measure_shown s = {.form = alert != NULL ? &request->form : NULL,
                       .sheet = &m->sheet,
                       .unit = m->unit,
                       .to_read = to_read && alert == NULL};
    remember(m, &s, text);
    snprintf(action, sizeof action, "/sheet/%lld/measure", (long long)m->row.id);
    html_lit(w, "<section class=\"entry\" id=\"enter\" aria-labelledby=\"which\"><h2 id=\"which\">Cylinder <span "
                "class=\"big\">");
    html_textf(w, "%d", m->cylinder);
    html_lit(w, "</span></h2>");
    if (began)
        write_cautions_again(w, know, m);
    piece_alert_beside_field(w, alert);
    write_timer(w, m);
    html_lit(w, "<div class=\"queued\"");
    if (measure_kinds[m->kind].kind != CH_STORE_LEAKDOWN) {
        char least[CH_SHOW_NUMBER], most[CH_SHOW_NUMBER];
        html_attr(w, "data-unit", m->unit->name);
        html_attr(w, "data-least", ch_show_pressure(LEAST_USUAL_PA, m->unit, least));
        html_attr(w, "data-most", ch_show_pressure(MOST_USUAL_PA, m->unit, most));
    }
    html_lit(w, ">");
    html_form_open(w, request, action, false);
    const ch_status rc = piece_entry(w, err);
    piece_hidden(w, "kind", measure_kinds[m->kind].name);
    piece_hidden_number(w, "cylinder", m->cylinder);
    measure_fields(w, &s, measure_kinds[m->kind].kind);
    html_lit(w, "<button class=\"wide\">Enter cylinder ");
    html_textf(w, "%d", m->cylinder);
    html_lit(w, "</button>\n");
    measure_note(w, &s, measure_kinds[m->kind].kind);
    html_form_close(w);
    html_lit(w, "</div></section>\n");
    return rc;
}

static ch_status write_live(html_writer *w, web_request *request, const measuring *m, const ch_judgement *judgement,
                            bool judged)
{
    html_lit(w, "<section id=\"live\"");
    html_attrf(w, "data-revision", "%lld", (long long)m->row.revision);
    html_lit(w, "><h2>So far</h2>");
    if (judged && measure_kinds[m->kind].kind != CH_STORE_DRY && m->sheet.compression_count > 0)
        html_lit(w, "<p class=\"quiet\">What follows is of the dry readings.</p>");
    if (judged)
        measure_live(w, &m->sheet, judgement, m->unit);
    else
        html_lit(w, "<p class=\"quiet\">No reading yet.</p>");
    measure_entries(w, request, &m->row, m->kind, m->rows, m->rows_count, m->unit);
    html_lit(w, "</section>\n");
    return CH_OK;
}

static ch_status measure_page(web_request *request, web_response *response, const measuring *m, const char *alert,
                              ch_err *err)
{
    html_writer *w = &response->page;
    const web_know *know = know_get(err);
    int count[CH_CYLINDERS_MAX] = {0};
    double mean_pa[CH_CYLINDERS_MAX];
    ch_judgement *judgement = NULL;
    bool judged = false;
    if (know == NULL)
        return CH_E_IO;
    ch_status rc = measure_judge(request, &m->sheet, m->unit, &judgement, &judged, err);
    if (rc >= 0)
        rc = piece_sheet_open(request, response, &m->row, "Measure", "/measure", err);
    if (rc < 0) {
        free(judgement);
        return rc;
    }
    measure_count(m, count);
    bool began = false;
    for (int c = 0; c < CH_CYLINDERS_MAX; c++)
        began = began || count[c] > 0;
    for (int c = 0; c < CH_CYLINDERS_MAX; c++)
        mean_pa[c] = judged && m->kind == 0 && c < judgement->cylinders ? judgement->cylinder[c].mean_pa : NAN;
    html_lit(w, "<script type=\"module\" src=\"/asset/measure.mjs\"></script>"
                "<script type=\"module\" src=\"/asset/timer.mjs\"></script>\n");
    write_kinds(w, m);
    if (web_value(&request->query, "again") != NULL)
        html_lit(w, "<p id=\"again\" class=\"notice\" role=\"status\">This entry was taken already, and is stored "
                    "once. Was it another "
                    "reading that showed the same? Choose its cylinder, and enter it here.</p>\n");
    html_lit(w, "<div id=\"engine\">"); /* where the page opens after an entry */
    const bool asks = judged && measure_questions_now(w, m, judgement);
    measure_engine(w, &m->sheet, m->row.id, measure_kinds[m->kind].name, m->cylinder, count, mean_pa, m->unit);
    html_lit(w, "</div>\n");
    if (m->row.closed) {
        html_lit(w, "<p class=\"notice\">The sheet is closed: open it again to enter more.</p>\n");
    } else {
        const size_t before = strlen(html_string(w));
        if (measure_kinds[m->kind].kind != CH_STORE_LEAKDOWN)
            rc = steps_before_cranking(w, request, know, &m->row, NULL, err);
        const bool held = strlen(html_string(w)) > before; /* something is in the way of cranking */
        write_before(w, know, m, began);
        html_lit(w, "<div class=\"beside\">");
        if (rc >= 0)
            rc = write_form(w, request, know, m, began, held || asks || !began, alert, err);
    }
    write_live(w, request, m, judgement, judged);
    if (!m->row.closed)
        html_lit(w, "</div>\n");
    if (rc >= 0 && !m->row.closed)
        rc = measure_order_form(w, request, m->row.id, &m->sheet, err);
    if (judged) {
        html_lit(w, "<p><a class=\"button wide second\"");
        html_attrf(w, "href", "/sheet/%lld/findings", (long long)m->row.id);
        html_lit(w, ">Findings</a></p>\n");
    }
    html_page_close(w);
    free(judgement);
    return rc;
}

ch_status page_measure_get(web_request *request, web_response *response, ch_err *err)
{
    measuring m = {0};
    ch_status rc;
    if (!piece_sheet(request, response, &m.row, &rc, err))
        return rc;
    rc = measure_load(request, &request->query, &m, err);
    if (rc < 0)
        return rc;
    rc = measure_page(request, response, &m, NULL, err);
    ch_sheet_clear(&m.sheet);
    return rc;
}

/* ---------------------------------------------------------------- entering */

static ch_status answer_stored(web_response *response, const ch_stored *stored)
{
    response->status = 200;
    response->data_type = "application/json";
    ch_text_appendf(&response->data, "{\"stored\": %lld, \"again\": %s}\n", (long long)stored->id,
                    stored->again ? "true" : "false");
    return CH_OK;
}

static ch_status answer_refused(web_response *response, const char *refused)
{
    response->status = 422;
    response->data_type = "application/json";
    ch_text_append_string(&response->data, "{\"refused\": \"");
    for (const char *p = refused; *p != '\0'; p++) { /* no control characters come out of ch_err_format */
        if (*p == '"' || *p == '\\')
            ch_text_append_string(&response->data, "\\");
        ch_text_append(&response->data, p, 1);
    }
    ch_text_append_string(&response->data, "\"}\n");
    return CH_OK;
}

ch_status page_measure_post(web_request *request, web_response *response, ch_err *err)
{
    measuring m = {0};
    ch_status rc;
    ch_err own = {0};
    ch_stored stored = {0};
    ch_store_row row;
    char client[CH_STORE_CLIENT_MAX + 1], line[PIECE_LINE];
    const char *answer = piece_given(&request->form, "answer");
    const bool json = answer != NULL && strcmp(answer, "json") == 0;
    if (!piece_sheet(request, response, &m.row, &rc, err))
        return rc;
    rc = measure_load(request, &request->form, &m, err);
    if (rc < 0)
        return rc;
    /* Of another kind than it was, a reading speaks for another cause: none is taken for granted. */
    if (measure_kind_named(piece_given(&request->form, "kind")) == MEASURE_KINDS)
        rc = ch_fail(&own, CH_E_INPUT, "dry, wet or leakdown", "Kind of test: none of these");
    if (rc >= 0)
        rc = measure_read(&request->form, &m.sheet, measure_kinds[m.kind].kind, m.unit, &row, &own);
    if (rc >= 0)
        rc = ch_store_row_add(request->store, m.row.id, &row, piece_client(request, client), request->now_s, &stored,
                              &own);
    if (rc >= 0) {
        response->told = stored.again;
        rc = json ? answer_stored(response, &stored)
                  : web_redirect(response, "/sheet/%lld/measure?kind=%s%s", (long long)m.row.id,
                                 measure_kinds[m.kind].name, stored.again ? "&again=1#again" : "#engine");
    } else if (piece_refused(rc, &own, response, line, err)) {
        rc = json ? answer_refused(response, line) : measure_page(request, response, &m, line, err);
    }
    ch_sheet_clear(&m.sheet);
    return rc;
}

ch_status page_measure_order_post(web_request *request, web_response *response, ch_err *err)
{
    ch_store_sheet sheet;
    ch_status rc;
    if (!piece_sheet(request, response, &sheet, &rc, err))
        return rc;
    rc = measure_order_set(request, sheet.id, piece_given(&request->form, "order"), err);
    return rc < 0 ? rc : web_redirect(response, "/sheet/%lld/measure", (long long)sheet.id);
}
