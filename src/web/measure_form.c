/* The form of a reading: read, and written with what was typed or what a row holds. */
#include <stdint.h>
#include <string.h>

#include "measure.h"

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
    if (rc < 0 && dimension == CH_DIM_RATIO)
        return ch_fail(err, rc,
                       "the percent that the tester shows, as in 8 or 8 %; what two gauges show is (supply - "
                       "cylinder)/supply",
                       "%s: \"%.40s\" is no percent", label, text);
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
    /* One needle shows both: a unit typed with one of them is that of the other, too. */
    if (rc >= 0 && !r->reading.bare && r->first_stroke.bare)
        rc = take(form, "first", "First stroke", CH_DIM_PRESSURE, r->reading.unit, false, &r->first_stroke, err);
    else if (rc >= 0 && r->reading.bare && ch_quantity_given(&r->first_stroke) && !r->first_stroke.bare)
        rc = take(form, "reading", "Final reading", CH_DIM_PRESSURE, r->first_stroke.unit, true, &r->reading, err);
    if (rc >= 0 && row->kind == CH_STORE_WET)
        rc = take(form, "oil", "Oil", CH_DIM_VOLUME, ch_unit_find("ml", 2), false, &r->oil, err);
    settle_bare(&r->reading, sheet);
    settle_bare(&r->first_stroke, sheet);
    settle_bare(&r->oil, sheet);
    r->cylinder = piece_number(form, "cylinder", 0);
    r->note = piece_lent(piece_given(form, "note"));
    return rc;
}

/* The boxes that are ticked: an empty one is not sent. */
static void ticked(const web_fields *form, unsigned *heard, unsigned *cylinders)
{
    *heard = 0;
    *cylinders = 0;
    for (size_t i = 0; i < form->count; i++) {
        const web_fields one = {.list = &form->list[i], .count = 1};
        for (size_t h = 0; h < MEASURE_HEARD && strcmp(form->list[i].name, "heard") == 0; h++)
            if (strcmp(form->list[i].value, measure_heard[h].name) == 0)
                *heard |= (unsigned)measure_heard[h].bit;
        const int neighbour = piece_number(&one, "heard_cylinder", 0);
        if (neighbour >= 1 && neighbour <= CH_CYLINDERS_MAX)
            *cylinders |= 1U << (neighbour - 1);
    }
}

/* Refuses what a sheet's file may not say either. */
static ch_status read_heard(const web_fields *form, ch_leakdown_row *row, ch_err *err)
{
    ticked(form, &row->heard, &row->heard_cylinders);
    if ((row->heard & CH_HEARD_NOTHING) != 0 && (row->heard != CH_HEARD_NOTHING || row->heard_cylinders != 0))
        return ch_fail(err, CH_E_INPUT, "nothing alone, or the places without it", "Air heard: nothing, and a place");
    if (row->cylinder >= 1 && row->cylinder <= CH_CYLINDERS_MAX &&
        (row->heard_cylinders >> (row->cylinder - 1) & 1U) != 0)
        return ch_fail(err, CH_E_INPUT, "the plug hole of another one", "Air heard: cylinder %d is the one under test",
                       row->cylinder);
    return CH_OK;
}

static ch_status read_leakdown(const web_fields *form, const ch_sheet *sheet, const ch_unit *unit, ch_store_row *row,
                               ch_err *err)
{
    ch_leakdown_row *r = &row->leakdown;
    r->cylinder = piece_number(form, "cylinder", 0);
    ch_status rc = read_heard(form, r, err);
    if (rc >= 0)
        rc = take(form, "loss", "Loss", CH_DIM_RATIO, ch_unit_find("%", 1), r->heard == 0 && r->heard_cylinders == 0,
                  &r->loss, err);
    if (rc >= 0)
        rc = take(form, "supply", "Supply pressure", CH_DIM_PRESSURE, unit, false, &r->supply, err);
    if (rc >= 0)
        rc = take(form, "orifice", "Orifice", CH_DIM_LENGTH, ch_unit_find("mm", 2), false, &r->orifice, err);
    settle_bare(&r->loss, sheet);
    settle_bare(&r->supply, sheet);
    settle_bare(&r->orifice, sheet);
    r->note = piece_lent(piece_given(form, "note"));
    return rc;
}

ch_status measure_read(const web_fields *form, const ch_sheet *sheet, ch_store_kind kind, const ch_unit *unit,
                       ch_store_row *row, ch_err *err)
{
    ch_store_row_init(row, kind);
    return kind == CH_STORE_LEAKDOWN ? read_leakdown(form, sheet, unit, row, err)
                                     : read_compression(form, sheet, unit, row, err);
}

static const char *value_of(const measure_shown *s, const char *name, const ch_quantity *quantity,
                            const char *else_this, char text[80])
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

/* Where air was heard: as it was sent and refused, else as the row holds it. */
static void heard_of(const measure_shown *s, unsigned *heard, unsigned *cylinders)
{
    *heard = s->row != NULL ? s->row->leakdown.heard : 0;
    *cylinders = s->row != NULL ? s->row->leakdown.heard_cylinders : 0;
    if (s->form != NULL)
        ticked(s->form, heard, cylinders);
}

static void write_heard(html_writer *w, const measure_shown *s, int cylinders)
{
    unsigned heard, neighbours;
    heard_of(s, &heard, &neighbours);
    html_lit(w, "<fieldset><legend>Air heard</legend>");
    for (size_t i = 0; i < MEASURE_HEARD; i++) {
        html_lit(w, "<label class=\"choice\"><input type=\"checkbox\" name=\"heard\"");
        html_attr(w, "value", measure_heard[i].name);
        html_attr_if(w, "checked", (heard & (unsigned)measure_heard[i].bit) != 0);
        html_lit(w, ">");
        html_text(w, measure_heard[i].words);
        html_lit(w, "</label>");
    }
    html_lit(w, "</fieldset>\n");
    if (cylinders == 1)
        return;
    html_lit(w, "<fieldset class=\"row\"><legend>or at the plug hole of cylinder</legend>");
    for (int c = 1; c <= cylinders; c++) {
        html_lit(w, "<label class=\"choice\"><input type=\"checkbox\" name=\"heard_cylinder\"");
        html_attrf(w, "value", "%d", c);
        html_attr_if(w, "checked", (neighbours & (1U << (c - 1))) != 0);
        html_lit(w, ">");
        html_textf(w, "%d", c);
        html_lit(w, "</label>");
    }
    html_lit(w, "</fieldset>\n");
}

void measure_fields(html_writer *w, const measure_shown *s, ch_store_kind kind)
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
                                      .focus = !s->to_read,
                                      .required = r == NULL || ch_quantity_given(&r->loss)});
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
                                      .focus = !s->to_read});
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
                                          .hint = "ml, the same in every cylinder; too much locks the engine",
                                          .mode = "decimal"});
    }
}

void measure_note(html_writer *w, const measure_shown *s, ch_store_kind kind)
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
