/*
 * GET /sheet/ID/measure: enter readings. Query: kind = dry | wet | leakdown, cylinder; without it the next one in the order of work.
 * POST: kind, cylinder; dry and wet: first, reading, oil; leakdown: supply, loss, orifice, heard (several); note; entry;
 *   answer = json: answer with JSON instead of a page (202 fields: stored, again; 422: refused).
 * POST /sheet/ID/order: the order of work: order = rounds | back | pairs | firing.
 * GET /row/ID: an entry with its earlier values. POST: correct it (fields as above) or delete it (do = delete).
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/show.h"
#include "crosshatch/show_words.h"
#include "measure_live.h"
#include "measure_order.h"
#include "page.h"
#include "piece.h"

static const struct {
    const char *name, *title, *procedure, *step, *bleed;
    ch_store_kind kind;
} KINDS[] = {
    {"dry", "Compression, dry", "compression_dry", "crank", "bleed", CH_STORE_DRY},
    {"wet", "Compression, wet", "compression_wet", "crank", "bleed", CH_STORE_WET},
    {"leakdown", "Leak-down", "leak_down", "read", NULL, CH_STORE_LEAKDOWN},
};
enum { KINDS_COUNT = sizeof KINDS / sizeof KINDS[0] };

static const struct {
    const char *name, *words;
    ch_heard bit;
} HEARD[] = {{"intake", "at the intake", CH_HEARD_INTAKE},
             {"exhaust", "at the exhaust", CH_HEARD_EXHAUST},
             {"oil_filler", "at the oil filler", CH_HEARD_OIL_FILLER},
             {"coolant", "bubbles in the coolant", CH_HEARD_COOLANT},
             {"nothing", "nothing", CH_HEARD_NOTHING}};
enum { HEARD_COUNT = sizeof HEARD / sizeof HEARD[0] };

static size_t kind_named(const char *name)
{
    for (size_t i = 0; name != NULL && i < KINDS_COUNT; i++)
        if (strcmp(KINDS[i].name, name) == 0)
            return i;
    return 0;
}

static const char *kind_name(ch_store_kind kind)
{
    for (size_t i = 0; i < KINDS_COUNT; i++)
        if (KINDS[i].kind == kind)
            return KINDS[i].name;
    return KINDS[0].name;
}

/* ---------------------------------------------------------------- reading a form */

static ch_status take(const web_fields *form, const char *name, const char *label, ch_dimension dimension,
                      const ch_unit *bare, bool needed, ch_quantity *to, ch_err *err)
{
    const char *text = piece_given(form, name);
    ch_err own = {0};
    *to = ch_quantity_none();
    if (text == NULL && needed)
        return ch_fail(err, CH_E_INPUT, "a number", "%s is missing", label);
    const ch_status rc = text != NULL ? ch_quantity_parse(text, strlen(text), dimension, bare, to, &own) : CH_OK;
    return rc < 0 ? ch_fail(err, rc, own.right[0] != '\0' ? own.right : NULL, "%s: %s", label, own.what) : CH_OK;
}

/* A bare number stands as bare only where the sheet's own units name it; else it is in the unit that the page showed. */
static void settle_bare(ch_quantity *quantity, const ch_sheet *sheet)
{
    if (quantity->unit != NULL && sheet->bare_unit[quantity->unit->dimension] != quantity->unit)
        quantity->bare = false;
}

static ch_status read_compression(const web_fields *form, const ch_sheet *sheet, const ch_unit *unit, ch_store_row *row,
                                  ch_err *err)
{
    ch_reading *r = &row->reading;
    ch_status rc = take(form, "reading", "Final reading", CH_DIM_PRESSURE, unit, true, &r->reading, err);
    if (rc >= 0)
        rc = take(form, "first", "First stroke", CH_DIM_PRESSURE, unit, false, &r->first_stroke, err);
    if (rc >= 0 && row->kind == CH_STORE_WET)
        rc = take(form, "oil", "Oil", CH_DIM_VOLUME, ch_unit_find("ml", 2), false, &r->oil, err);
    settle_bare(&r->reading, sheet);
    settle_bare(&r->first_stroke, sheet);
    settle_bare(&r->oil, sheet);
    r->cylinder = piece_number(form, "cylinder", 0);
    r->note = (char *)(uintptr_t)piece_given(form, "note"); /* only read */
    return rc;
}

static ch_status read_leakdown(const web_fields *form, const ch_sheet *sheet, const ch_unit *unit, ch_store_row *row,
                               ch_err *err)
{
    ch_leakdown_row *r = &row->leakdown;
    ch_status rc = take(form, "loss", "Loss", CH_DIM_RATIO, ch_unit_find("%", 1), true, &r->loss, err);
    if (rc >= 0)
        rc = take(form, "supply", "Supply pressure", CH_DIM_PRESSURE, unit, false, &r->supply, err);
    if (rc >= 0)
        rc = take(form, "orifice", "Orifice", CH_DIM_LENGTH, ch_unit_find("mm", 2), false, &r->orifice, err);
    settle_bare(&r->loss, sheet);
    settle_bare(&r->supply, sheet);
    settle_bare(&r->orifice, sheet);
    r->cylinder = piece_number(form, "cylinder", 0);
    for (size_t i = 0; i < form->count; i++)
        for (size_t h = 0; h < HEARD_COUNT && strcmp(form->list[i].name, "heard") == 0; h++)
            if (strcmp(form->list[i].value, HEARD[h].name) == 0)
                r->heard |= (unsigned)HEARD[h].bit;
    const int neighbour = piece_number(form, "heard_cylinder", 0);
    if (neighbour >= 1 && neighbour <= CH_CYLINDERS_MAX)
        r->heard_cylinders = 1u << (neighbour - 1);
    r->note = (char *)(uintptr_t)piece_given(form, "note");
    return rc;
}

static ch_status read_row(const web_fields *form, const ch_sheet *sheet, ch_store_kind kind, const ch_unit *unit,
                          ch_store_row *row, ch_err *err)
{
    ch_store_row_init(row, kind);
    return kind == CH_STORE_LEAKDOWN ? read_leakdown(form, sheet, unit, row, err)
                                     : read_compression(form, sheet, unit, row, err);
}

/* ---------------------------------------------------------------- writing a form */

/* What the fields show: what was sent and refused, else what a row holds, else nothing. */
typedef struct shown {
    const web_fields *form;  /* NULL = not sent */
    const ch_store_row *row; /* NULL = none */
    const ch_sheet *sheet;
    const ch_unit *unit;
    const char *supply; /* supply and orifice as last entered; NULL = none */
    const char *orifice, *oil;
} shown;

static const char *value_of(const shown *s, const char *name, const ch_quantity *quantity, const char *else_this,
                            char text[80])
{
    if (s->form != NULL)
        return web_value(s->form, name);
    if (quantity == NULL || s->row == NULL)
        return else_this;
    ch_quantity copy = *quantity;
    copy.bare = copy.unit == s->unit; /* the label names it */
    ch_quantity_text(&copy, text, 80);
    return text;
}

static void write_heard(html_writer *w, const shown *s, int cylinders)
{
    const unsigned heard = s->row != NULL ? s->row->leakdown.heard : 0;
    html_lit(w, "<fieldset><legend>Air heard</legend>");
    for (size_t i = 0; i < HEARD_COUNT; i++) {
        html_lit(w, "<label class=\"choice\"><input type=\"checkbox\" name=\"heard\"");
        html_attr(w, "value", HEARD[i].name);
        html_attr_if(w, "checked", (heard & (unsigned)HEARD[i].bit) != 0);
        html_lit(w, ">");
        html_text(w, HEARD[i].words);
        html_lit(w, "</label>");
    }
    html_lit(w, "<label for=\"f-heard_cylinder\">or at the plug hole of cylinder</label>"
                "<select id=\"f-heard_cylinder\" name=\"heard_cylinder\"><option value=\"0\">none</option>");
    for (int c = 1; c <= cylinders; c++) {
        const bool chosen = s->row != NULL && (s->row->leakdown.heard_cylinders & (1u << (c - 1))) != 0;
        html_lit(w, "<option");
        html_attrf(w, "value", "%d", c);
        html_attr_if(w, "selected", chosen);
        html_lit(w, ">");
        html_textf(w, "%d", c);
        html_lit(w, "</option>");
    }
    html_lit(w, "</select></fieldset>\n");
}

static void write_fields(html_writer *w, const shown *s, ch_store_kind kind)
{
    char text[80];
    const ch_store_row *row = s->row;
    if (kind == CH_STORE_LEAKDOWN) {
        const ch_leakdown_row *r = row != NULL ? &row->leakdown : NULL;
        piece_field(w, &(piece_input){.label = "Loss, %",
                                      .name = "loss",
                                      .value = value_of(s, "loss", r != NULL ? &r->loss : NULL, NULL, text),
                                      .mode = "decimal",
                                      .numeral = true,
                                      .focus = true,
                                      .required = true});
        write_heard(w, s, s->sheet->engine.cylinders);
        piece_field(w, &(piece_input){.label = "Supply pressure",
                                      .name = "supply",
                                      .value = value_of(s, "supply", r != NULL ? &r->supply : NULL, s->supply, text),
                                      .hint = s->unit->name,
                                      .mode = "decimal"});
        piece_field(w, &(piece_input){.label = "Orifice of the tester",
                                      .name = "orifice",
                                      .value = value_of(s, "orifice", r != NULL ? &r->orifice : NULL, s->orifice, text),
                                      .hint = "mm, where it is known",
                                      .mode = "decimal"});
    } else {
        const ch_reading *r = row != NULL ? &row->reading : NULL;
        html_lit(w, "<div class=\"row\"><div>");
        piece_field(w, &(piece_input){.label = "First stroke",
                                      .name = "first",
                                      .value = value_of(s, "first", r != NULL ? &r->first_stroke : NULL, NULL, text),
                                      .hint = s->unit->name,
                                      .mode = "decimal",
                                      .numeral = true,
                                      .focus = true});
        html_lit(w, "</div><div>");
        piece_field(w, &(piece_input){.label = "Final reading",
                                      .name = "reading",
                                      .value = value_of(s, "reading", r != NULL ? &r->reading : NULL, NULL, text),
                                      .hint = s->unit->name,
                                      .mode = "decimal",
                                      .numeral = true,
                                      .required = true});
        html_lit(w, "</div></div>");
        if (kind == CH_STORE_WET)
            piece_field(w, &(piece_input){.label = "Oil put in",
                                          .name = "oil",
                                          .value = value_of(s, "oil", r != NULL ? &r->oil : NULL, s->oil, text),
                                          .hint = "ml, the same in every cylinder",
                                          .mode = "decimal"});
    }
}

static void write_note(html_writer *w, const shown *s, ch_store_kind kind)
{
    const char *note = s->form != NULL             ? web_value(s->form, "note")
                       : s->row == NULL            ? NULL
                       : kind == CH_STORE_LEAKDOWN ? s->row->leakdown.note
                                                   : s->row->reading.note;
    html_lit(w, "<details");
    html_attr_if(w, "open", note != NULL && note[0] != '\0');
    html_lit(w, "><summary>Note</summary>");
    piece_field(w, &(piece_input){.label = "Note to this reading", .name = "note", .value = note});
    html_lit(w, "</details>\n");
}

/* ---------------------------------------------------------------- entries so far */

static int cylinder_of(const ch_store_row *row)
{
    return row->kind == CH_STORE_LEAKDOWN ? row->leakdown.cylinder : row->reading.cylinder;
}

static void quantity(html_writer *w, const ch_quantity *q, const ch_unit *unit)
{
    char text[80];
    ch_quantity copy = *q;
    copy.bare = copy.unit == unit; /* the table's head names it */
    ch_quantity_text(&copy, text, sizeof text);
    html_text(w, text[0] != '\0' ? text : "-");
}

static void write_values(html_writer *w, const ch_store_row *row, const ch_unit *unit)
{
    if (row->kind == CH_STORE_LEAKDOWN) {
        quantity(w, &row->leakdown.supply, unit);
        html_lit(w, ", loss ");
        quantity(w, &row->leakdown.loss, NULL);
        for (size_t i = 0; i < HEARD_COUNT; i++)
            if (row->leakdown.heard & (unsigned)HEARD[i].bit)
                html_textf(w, ", %s", HEARD[i].words);
        return;
    }
    quantity(w, &row->reading.first_stroke, unit);
    html_lit(w, " / ");
    quantity(w, &row->reading.reading, unit);
    if (row->kind == CH_STORE_WET && ch_quantity_given(&row->reading.oil)) {
        html_lit(w, ", oil ");
        quantity(w, &row->reading.oil, NULL);
    }
}

/* All values of one chain, the newest plain, earlier ones struck through with their times. */
static void write_chain(html_writer *w, const web_request *request, const ch_store_row rows[], size_t count,
                        const ch_store_row *current, const ch_unit *unit)
{
    write_values(w, current, unit);
    const char *note = current->kind == CH_STORE_LEAKDOWN ? current->leakdown.note : current->reading.note;
    if (note != NULL) {
        html_lit(w, "<br><span class=\"quiet\">");
        html_text(w, note);
        html_lit(w, "</span>");
    }
    for (size_t i = 0; i < count; i++)
        if (rows[i].first_id == current->first_id && rows[i].id != current->id) {
            html_lit(w, "<br><span class=\"quiet\">was <del>");
            write_values(w, &rows[i], unit);
            html_lit(w, "</del>, ");
            piece_time(w, rows[i].entered_s, request->now_s);
            html_lit(w, "</span>");
        }
}

static void write_entries(html_writer *w, const web_request *request, const ch_store_sheet *sheet, size_t kind,
                          const ch_store_row rows[], size_t count, const ch_unit *unit)
{
    size_t shown_rows = 0;
    for (size_t i = 0; i < count; i++) {
        if (rows[i].kind != KINDS[kind].kind || (!rows[i].current && !rows[i].deletion))
            continue;
        if (shown_rows++ == 0) {
            html_lit(w,
                     "<div class=\"scroll\"><table><caption>Entered so far</caption><thead><tr><th>Cylinder</th><th>");
            html_textf(w, kind == 2 ? "Supply, %s; loss" : "First / final, %s", unit->name);
            html_lit(w, "</th><th>At</th><th></th></tr></thead><tbody>");
        }
        html_lit(w, "<tr><td>");
        html_textf(w, "%d", cylinder_of(&rows[i]));
        html_lit(w, "</td><td>");
        if (rows[i].deletion)
            html_lit(w, "taken out");
        write_chain(w, request, rows, count, &rows[i], unit);
        html_lit(w, "</td><td class=\"still\">");
        piece_time(w, rows[i].entered_s, request->now_s);
        html_lit(w, "</td><td>");
        if (!rows[i].deletion && !sheet->closed) {
            html_lit(w, "<a class=\"press\"");
            html_attrf(w, "href", "/row/%lld?sheet=%lld", (long long)rows[i].id, (long long)sheet->id);
            html_lit(w, ">Correct</a>");
        }
        html_lit(w, "</td></tr>");
    }
    if (shown_rows > 0)
        html_lit(w, "</tbody></table></div>\n");
}

/* ---------------------------------------------------------------- the page */

typedef struct measuring {
    ch_store_sheet row; /* of the sheet */
    ch_sheet sheet;
    const ch_store_row *rows;
    size_t rows_count;
    const ch_unit *unit;
    size_t kind;
    int cylinder;
} measuring;

static void count_readings(const measuring *m, int count[CH_CYLINDERS_MAX])
{
    for (size_t i = 0; i < m->rows_count; i++) {
        const int c = cylinder_of(&m->rows[i]);
        if (m->rows[i].current && !m->rows[i].deletion && m->rows[i].kind == KINDS[m->kind].kind && c >= 1 &&
            c <= CH_CYLINDERS_MAX)
            count[c - 1]++;
    }
}

static ch_status load(web_request *request, const web_fields *asked, measuring *m, ch_err *err)
{
    ch_status rc = ch_store_sheet_load(request->store, m->row.id, &m->sheet, err);
    if (rc < 0)
        return rc;
    rc = ch_store_rows(request->store, &request->pool, m->row.id, true, &m->rows, &m->rows_count, err);
    m->kind = kind_named(piece_given(asked, "kind"));
    m->cylinder = piece_number(asked, "cylinder", 0);
    m->unit = m->sheet.bare_unit[CH_DIM_PRESSURE] != NULL ? m->sheet.bare_unit[CH_DIM_PRESSURE]
                                                          : piece_unit(request, "pressure");
    int count[CH_CYLINDERS_MAX] = {0};
    count_readings(m, count);
    if (rc >= 0 && (m->cylinder < 1 || m->cylinder > m->sheet.engine.cylinders))
        rc = measure_order_next(request, m->row.id, &m->sheet, count, &m->cylinder, err);
    if (rc < 0)
        ch_sheet_clear(&m->sheet);
    return rc;
}

static void write_kinds(html_writer *w, const measuring *m)
{
    html_lit(w, "<nav class=\"tabs\" aria-label=\"Kind of test\">");
    for (size_t i = 0; i < KINDS_COUNT; i++) {
        html_lit(w, "<a");
        html_attrf(w, "href", "/sheet/%lld/measure?kind=%s", (long long)m->row.id, KINDS[i].name);
        if (i == m->kind)
            html_lit(w, " aria-current=\"true\"");
        html_lit(w, ">");
        html_text(w, KINDS[i].title);
        html_lit(w, "</a>");
    }
    html_lit(w, "</nav>\n");
}

/* Readings outside these are asked about while they are typed: a dead cylinder reads less, and a person says so. */
static const double LEAST_USUAL_PA = 2e5, MOST_USUAL_PA = 30e5;

static void write_before(html_writer *w, const web_know *know, const measuring *m, bool began)
{
    const ch_procedure *procedure =
        ch_procedure_find(&know->procedures, KINDS[m->kind].procedure, strlen(KINDS[m->kind].procedure));
    if (procedure == NULL)
        return;
    /* The cautions of the step that measures; the gravest first, as they stand. */
    for (size_t i = 0; i < procedure->steps_count; i++)
        if (procedure->steps[i].rows != 0) {
            /* In full before the first reading; later they are a tap away, and the reading's field stays on the screen. */
            if (began)
                html_lit(w, "<details class=\"again\"><summary>Cautions, as before the first reading</summary>");
            piece_cautions_short(w, &know->knowledge, &procedure->steps[i].cautions);
            if (began)
                html_lit(w, "</details>\n");
            break;
        }
    const ch_procedure_step *bleed =
        KINDS[m->kind].bleed != NULL
            ? ch_procedure_step_find(procedure, KINDS[m->kind].bleed, strlen(KINDS[m->kind].bleed))
            : NULL;
    if (bleed != NULL) {
        ch_text text;
        ch_text_init(&text, 1024);
        ch_procedure_fill(bleed->text, m->cylinder, &text);
        html_lit(w, "<p class=\"reminder\"><strong>First:</strong> ");
        html_text(w, ch_text_string(&text));
        html_lit(w, "</p>\n");
        ch_text_clear(&text);
    }
}

/* The element that timer.mjs turns into the timer; without scripts it says what to do. */
static void write_timer(html_writer *w, const measuring *m)
{
    const ch_sheet_conditions *day = &m->sheet.conditions;
    char speed[48] = "";
    if (KINDS[m->kind].kind == CH_STORE_LEAKDOWN)
        return;
    if (ch_quantity_given(&day->cranking_speed))
        ch_si_format(day->cranking_speed.si, NAN, ch_unit_find("rpm", 3), speed, sizeof speed);
    html_lit(w, "<div class=\"timer\"");
    html_attr(w, "data-rpm", speed);
    if (day->strokes > 0)
        html_attrf(w, "data-strokes", "%d", day->strokes);
    html_lit(w, "><p>Crank five to six seconds, the same count of strokes for every cylinder.</p></div>\n");
}

static void remember(const measuring *m, shown *s, char text[3][80])
{
    for (size_t i = 0; i < m->rows_count; i++) {
        const ch_store_row *row = &m->rows[i];
        if (!row->current || row->deletion || row->kind != KINDS[m->kind].kind)
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

static ch_status write_form(html_writer *w, web_request *request, const measuring *m, const char *alert, ch_err *err)
{
    char text[3][80] = {"", "", ""}, action[64];
    shown s = {.form = alert != NULL ? &request->form : NULL, .sheet = &m->sheet, .unit = m->unit};
    remember(m, &s, text);
    snprintf(action, sizeof action, "/sheet/%lld/measure", (long long)m->row.id);
    html_lit(w, "<section class=\"entry\" id=\"enter\" aria-labelledby=\"which\"><h2 id=\"which\">Cylinder <span "
                "class=\"big\">");
    html_textf(w, "%d", m->cylinder);
    html_lit(w, "</span></h2>");
    piece_alert(w, alert);
    write_timer(w, m);
    html_lit(w, "<div class=\"queued\"");
    if (KINDS[m->kind].kind != CH_STORE_LEAKDOWN) {
        char least[CH_SHOW_NUMBER], most[CH_SHOW_NUMBER];
        html_attr(w, "data-unit", m->unit->name);
        html_attr(w, "data-least", ch_show_pressure(LEAST_USUAL_PA, m->unit, least));
        html_attr(w, "data-most", ch_show_pressure(MOST_USUAL_PA, m->unit, most));
    }
    html_lit(w, ">");
    html_form_open(w, request, action, false);
    const ch_status rc = piece_entry(w, err);
    piece_hidden(w, "kind", KINDS[m->kind].name);
    piece_hidden_number(w, "cylinder", m->cylinder);
    write_fields(w, &s, KINDS[m->kind].kind);
    html_lit(w, "<button class=\"wide\">Enter cylinder ");
    html_textf(w, "%d", m->cylinder);
    html_lit(w, "</button>\n");
    write_note(w, &s, KINDS[m->kind].kind);
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
    if (judged)
        measure_live(w, &m->sheet, judgement, m->unit);
    else
        html_lit(w, "<p class=\"quiet\">No reading yet.</p>");
    write_entries(w, request, &m->row, m->kind, m->rows, m->rows_count, m->unit);
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
    ch_status rc = measure_judge(request, &m->sheet, &judgement, &judged, err);
    if (rc >= 0)
        rc = piece_sheet_open(request, response, &m->row, "Measure", "/measure", err);
    if (rc < 0) {
        free(judgement);
        return rc;
    }
    count_readings(m, count);
    bool began = false;
    for (int c = 0; c < CH_CYLINDERS_MAX; c++)
        began = began || count[c] > 0;
    for (int c = 0; c < CH_CYLINDERS_MAX; c++)
        mean_pa[c] = judged && m->kind == 0 && c < judgement->cylinders ? judgement->cylinder[c].mean_pa : NAN;
    html_lit(w, "<script type=\"module\" src=\"/asset/measure.mjs\"></script>"
                "<script type=\"module\" src=\"/asset/timer.mjs\"></script>\n");
    if (web_value(&request->query, "again") != NULL)
        html_lit(w, "<p class=\"notice\" role=\"status\">This entry was here already. It is stored once.</p>\n");
    write_kinds(w, m);
    measure_engine(w, &m->sheet, m->row.id, KINDS[m->kind].name, m->cylinder, count, mean_pa, m->unit);
    if (m->row.closed) {
        html_lit(w, "<p class=\"notice\">The sheet is closed: open it again to enter more.</p>\n");
    } else {
        write_before(w, know, m, began);
        rc = write_form(w, request, m, alert, err);
    }
    write_live(w, request, m, judgement, judged);
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
    rc = load(request, &request->query, &m, err);
    if (rc < 0)
        return rc;
    rc = measure_page(request, response, &m, NULL, err);
    ch_sheet_clear(&m.sheet);
    return rc;
}

/* ---------------------------------------------------------------- entering */

static ch_status answer_json(web_response *response, int status, const ch_stored *stored, const char *refused)
{
    response->status = status;
    response->data_type = "application/json";
    if (refused == NULL) {
        ch_text_appendf(&response->data, "{\"stored\": %lld, \"again\": %s}\n", (long long)stored->id,
                        stored->again ? "true" : "false");
        return CH_OK;
    }
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
    char client[CH_STORE_CLIENT_MAX + 1], line[600];
    const char *answer = piece_given(&request->form, "answer");
    const bool json = answer != NULL && strcmp(answer, "json") == 0;
    if (!piece_sheet(request, response, &m.row, &rc, err))
        return rc;
    rc = load(request, &request->form, &m, err);
    if (rc < 0)
        return rc;
    rc = read_row(&request->form, &m.sheet, KINDS[m.kind].kind, m.unit, &row, &own);
    if (rc >= 0)
        rc = ch_store_row_add(request->store, m.row.id, &row, piece_client(request, client), request->now_s, &stored,
                              &own);
    if (rc >= 0) {
        rc = json ? answer_json(response, 200, &stored, NULL)
                  : web_redirect(response, "/sheet/%lld/measure?kind=%s%s#engine", (long long)m.row.id,
                                 KINDS[m.kind].name, stored.again ? "&again=1" : "");
    } else if (rc == CH_E_INPUT || rc == CH_E_RANGE || rc == CH_E_LIMIT) {
        ch_err_format(&own, line, sizeof line);
        response->status = 422;
        rc = json ? answer_json(response, 422, NULL, line) : measure_page(request, response, &m, line, err);
    } else if (err != NULL) {
        *err = own;
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

/* ---------------------------------------------------------------- correcting */

/* The row of the path in the sheet that the field `sheet` names; *found stays NULL where there is none that may be corrected. */
static ch_status find_row(web_request *request, const web_fields *fields, measuring *m, const ch_store_row **found,
                          ch_err *err)
{
    const int64_t id = web_part_id(request, 0), sheet_id = piece_id(fields, "sheet");
    ch_status rc = ch_store_sheet_get(request->store, &request->pool, sheet_id, &m->row, err);
    if (rc < 0)
        return rc;
    rc = load(request, fields, m, err);
    for (size_t i = 0; rc >= 0 && i < m->rows_count; i++)
        if (m->rows[i].id == id && m->rows[i].kind <= CH_STORE_LEAKDOWN)
            *found = &m->rows[i];
    return rc;
}

static ch_status row_page(web_request *request, web_response *response, const measuring *m, const ch_store_row *row,
                          const char *alert, ch_err *err)
{
    html_writer *w = &response->page;
    const shown s = {.form = alert != NULL ? &request->form : NULL, .row = row, .sheet = &m->sheet, .unit = m->unit};
    ch_status rc = piece_sheet_open(request, response, &m->row, "Correct an entry", "/row", err);
    if (rc < 0)
        return rc;
    html_lit(w, "<p>Cylinder <strong>");
    html_textf(w, "%d", cylinder_of(row));
    html_lit(w, "</strong>, now ");
    write_chain(w, request, m->rows, m->rows_count, row, m->unit);
    html_lit(w, "</p><p class=\"hint\">The old value stays on the sheet, struck through.</p>\n");
    piece_alert(w, alert);
    html_form_open(w, request, request->path, false);
    rc = piece_entry(w, err);
    piece_hidden_number(w, "sheet", m->row.id);
    html_lit(w, "<label for=\"f-cylinder\">Cylinder</label><select id=\"f-cylinder\" name=\"cylinder\">");
    for (int c = 1; c <= m->sheet.engine.cylinders; c++) {
        html_lit(w, "<option");
        html_attrf(w, "value", "%d", c);
        html_attr_if(w, "selected", c == cylinder_of(row));
        html_lit(w, ">");
        html_textf(w, "%d", c);
        html_lit(w, "</option>");
    }
    html_lit(w, "</select>\n");
    write_fields(w, &s, row->kind);
    write_note(w, &s, row->kind);
    piece_button(w, "do", "correct", "wide", "Correct it");
    html_form_close(w);
    html_form_open(w, request, request->path, false);
    piece_hidden_number(w, "sheet", m->row.id);
    html_lit(w, "<p>Entered by mistake? Taken out, it no longer counts; it stays to be seen, struck through.</p>");
    piece_button(w, "do", "delete", "danger", "Take it out");
    html_form_close(w);
    html_page_close(w);
    return rc;
}

ch_status page_row_get(web_request *request, web_response *response, ch_err *err)
{
    measuring m = {0};
    const ch_store_row *row = NULL;
    ch_status rc = find_row(request, &request->query, &m, &row, err);
    if (rc >= 0)
        rc = row == NULL || !row->current || row->deletion ? web_not_found(request, response)
                                                           : row_page(request, response, &m, row, NULL, err);
    ch_sheet_clear(&m.sheet);
    return rc;
}

ch_status page_row_post(web_request *request, web_response *response, ch_err *err)
{
    measuring m = {0};
    const ch_store_row *old = NULL;
    const char *what = piece_given(&request->form, "do");
    char client[CH_STORE_CLIENT_MAX + 1], line[600];
    ch_err own = {0};
    ch_status rc = find_row(request, &request->form, &m, &old, err);
    if (rc >= 0 && old == NULL)
        rc = web_not_found(request, response);
    if (rc < 0 || old == NULL) {
        ch_sheet_clear(&m.sheet);
        return rc;
    }
    if (what != NULL && strcmp(what, "delete") == 0) {
        rc = ch_store_row_delete(request->store, old->id, NULL, request->now_s, NULL, &own);
    } else {
        ch_store_row row;
        rc = read_row(&request->form, &m.sheet, old->kind, m.unit, &row, &own);
        if (rc >= 0)
            rc = ch_store_row_correct(request->store, old->id, &row, piece_client(request, client), request->now_s,
                                      NULL, &own);
    }
    if (rc >= 0) {
        rc = web_redirect(response, "/sheet/%lld/measure?kind=%s#live", (long long)m.row.id, kind_name(old->kind));
    } else if (rc == CH_E_INPUT || rc == CH_E_RANGE || rc == CH_E_LIMIT) {
        ch_err_format(&own, line, sizeof line);
        response->status = 422;
        rc = row_page(request, response, &m, old, line, err);
    } else if (err != NULL) {
        *err = own;
    }
    ch_sheet_clear(&m.sheet);
    return rc;
}
