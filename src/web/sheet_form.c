/* The head of a sheet as a form, by a table: one line a field. */
#include "sheet_form.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "piece.h"

typedef struct quantity_field {
    sheet_form_part part;
    const char *name, *label;
    size_t offset;         /* of a ch_quantity in ch_sheet */
    const char *setting;   /* piece_unit() name of the unit of a bare number, or NULL */
    const char *bare_unit; /* else this one */
    const char *hint;      /* before the unit */
} quantity_field;

#define AT(member) offsetof(ch_sheet, member)

static const quantity_field FIELDS[] = {
    {SHEET_FORM_MORE, "bore", "Bore", AT(engine.bore), "length", NULL, NULL},
    {SHEET_FORM_MORE, "stroke", "Stroke", AT(engine.stroke), "length", NULL, NULL},
    {SHEET_FORM_MORE, "rod_length", "Rod length, centre to centre", AT(engine.rod_length), "length", NULL, NULL},
    {SHEET_FORM_MORE, "intake_opens", "Intake opens before TDC", AT(engine.timing.intake_opens_btdc), NULL, "deg",
     NULL},
    {SHEET_FORM_MORE, "intake_closes", "Intake closes after BDC", AT(engine.timing.intake_closes_abdc), NULL, "deg",
     NULL},
    {SHEET_FORM_MORE, "exhaust_opens", "Exhaust opens before BDC", AT(engine.timing.exhaust_opens_bbdc), NULL, "deg",
     NULL},
    {SHEET_FORM_MORE, "exhaust_closes", "Exhaust closes after TDC", AT(engine.timing.exhaust_closes_atdc), NULL, "deg",
     NULL},
    {SHEET_FORM_MORE, "at_lift", "Lift at which these angles hold", AT(engine.timing.at_lift), NULL, "mm", NULL},
    {SHEET_FORM_MORE, "standard", "Manual: standard compression", AT(engine.limits.standard), "pressure", NULL, NULL},
    {SHEET_FORM_MORE, "minimum", "Manual: minimum", AT(engine.limits.minimum), "pressure", NULL, NULL},
    {SHEET_FORM_MORE, "spread", "Manual: largest difference", AT(engine.limits.spread), "pressure", NULL, NULL},
    {SHEET_FORM_GAUGE, "span", "End of the dial", AT(gauge.span), "pressure", NULL, NULL},
    {SHEET_FORM_GAUGE, "resolution", "Smallest step you read", AT(gauge.resolution), "pressure", NULL, NULL},
    {SHEET_FORM_GAUGE, "hose_volume", "Hose and dial, behind the check valve", AT(gauge.hose_volume), NULL, "ml", NULL},
    {SHEET_FORM_GAUGE, "dead_volume", "Adapter, ahead of the check valve", AT(gauge.dead_volume), NULL, "ml", NULL},
    {SHEET_FORM_DAY, "altitude", "Altitude", AT(conditions.altitude), NULL, "m", NULL},
    {SHEET_FORM_DAY, "barometer", "Barometer, as it stands here", AT(conditions.barometer), NULL, "hPa", NULL},
    {SHEET_FORM_DAY, "air_temperature", "Air", AT(conditions.air_temperature), "temperature", NULL, NULL},
    {SHEET_FORM_DAY, "engine_temperature", "Coolant or oil", AT(conditions.engine_temperature), "temperature", NULL,
     NULL},
    {SHEET_FORM_DAY, "cranking_speed", "Cranking speed", AT(conditions.cranking_speed), NULL, "rpm", NULL},
    {SHEET_FORM_DAY, "odometer", "Odometer", AT(conditions.odometer), "distance", NULL, NULL},
    {SHEET_FORM_DAY, "engine_hours", "Engine hours", AT(conditions.engine_hours), NULL, "h", NULL},
};
enum { FIELDS_COUNT = sizeof FIELDS / sizeof FIELDS[0] };

static const ch_unit *bare_unit(web_request *request, const quantity_field *field)
{
    return field->setting != NULL ? piece_unit(request, field->setting)
                                  : ch_unit_find(field->bare_unit, strlen(field->bare_unit));
}

static const ch_quantity *quantity_of(const ch_sheet *sheet, const quantity_field *field)
{
    return (const ch_quantity *)(const void *)((const char *)sheet + field->offset);
}

static void write_quantities(html_writer *w, web_request *request, const ch_sheet *sheet, sheet_form_part part)
{
    for (size_t i = 0; i < FIELDS_COUNT; i++) {
        if (FIELDS[i].part != part)
            continue;
        char value[80];
        ch_quantity shown = *quantity_of(sheet, &FIELDS[i]);
        const ch_unit *unit = bare_unit(request, &FIELDS[i]);
        shown.bare = shown.unit == unit; /* the hint names it */
        ch_quantity_text(&shown, value, sizeof value);
        piece_field(w, &(piece_input){.label = FIELDS[i].label,
                                      .name = FIELDS[i].name,
                                      .value = piece_typed(request, FIELDS[i].name, value),
                                      .hint = unit->name,
                                      .mode = "decimal"});
    }
}

/* ---- what is no quantity ---- */

static const char *const LAYOUTS[] = {"", "inline", "vee", "flat"};
static const char *const THROTTLES[] = {"", "open", "shut"};

static void write_layout(html_writer *w, const web_request *request, const ch_sheet *sheet)
{
    const char *chosen = piece_typed(request, "layout", LAYOUTS[sheet->engine.layout]);
    html_lit(w, "<fieldset><legend>Layout</legend>");
    piece_choice(w, "layout", "inline", "In line", chosen[0] != '\0' ? chosen : "inline");
    piece_choice(w, "layout", "vee", "Vee", chosen);
    piece_choice(w, "layout", "flat", "Flat", chosen);
    html_lit(w, "</fieldset>\n");
}

static void write_engine(html_writer *w, const web_request *request, const ch_sheet *sheet)
{
    char cylinders[16];
    snprintf(cylinders, sizeof cylinders, "%d", sheet->engine.cylinders > 0 ? sheet->engine.cylinders : 4);
    piece_field(w, &(piece_input){.label = "Cylinders",
                                  .name = "cylinders",
                                  .value = piece_typed(request, "cylinders", cylinders),
                                  .mode = "numeric",
                                  .required = true});
    write_layout(w, request, sheet);
}

static void write_more(html_writer *w, const web_request *request, const ch_sheet *sheet)
{
    char order[6 * CH_CYLINDERS_MAX] = "";
    for (int i = 0; i < sheet->engine.cylinders && sheet->engine.firing_order[0] != 0; i++) {
        const size_t used = strlen(order);
        snprintf(order + used, sizeof order - used, "%s%d", i > 0 ? " " : "", sheet->engine.firing_order[i]);
    }
    piece_field(w, &(piece_input){.label = "Compression ratio",
                                  .name = "compression_ratio",
                                  .value = piece_typed(request, "compression_ratio", sheet->typed.compression_ratio),
                                  .hint = "as in 9.6",
                                  .mode = "decimal"});
    piece_field(w, &(piece_input){.label = "Firing order",
                                  .name = "firing_order",
                                  .value = piece_typed(request, "firing_order", order),
                                  .hint = "as in 1 3 4 2"});
}

static void write_gauge(html_writer *w, const web_request *request, const ch_sheet *sheet)
{
    char accuracy[120] = "", number[80];
    const ch_sheet_gauge *gauge = &sheet->gauge;
    ch_quantity_text(&gauge->accuracy, number, sizeof number);
    if (gauge->grade != NULL)
        snprintf(accuracy, sizeof accuracy, "%s", gauge->grade->name);
    else if (gauge->accuracy_kind != CH_ACCURACY_UNSTATED)
        snprintf(accuracy, sizeof accuracy, "%s of %s", number,
                 gauge->accuracy_kind == CH_ACCURACY_OF_SPAN ? "span" : "reading");
    piece_field(w, &(piece_input){.label = "Accuracy",
                                  .name = "accuracy",
                                  .value = piece_typed(request, "accuracy", accuracy),
                                  .hint = "as in 2 % of span, grade B, class 1.6"});
}

static void write_day(html_writer *w, const web_request *request, const ch_sheet *sheet)
{
    char day[16], strokes[16] = "";
    ch_date_format(sheet->conditions.date, day, sizeof day);
    if (sheet->conditions.strokes > 0)
        snprintf(strokes, sizeof strokes, "%d", sheet->conditions.strokes);
    piece_field(
        w, &(piece_input){.label = "Day", .name = "date", .value = piece_typed(request, "date", day), .type = "date"});
    piece_field(
        w, &(piece_input){.label = "Title", .name = "title", .value = piece_typed(request, "title", sheet->title)});
    html_lit(w, "<fieldset><legend>Throttle</legend>");
    const char *throttle = piece_typed(request, "throttle", THROTTLES[sheet->conditions.throttle]);
    piece_choice(w, "throttle", "open", "Held wide open", throttle);
    piece_choice(w, "throttle", "shut", "Shut", throttle);
    html_lit(w, "</fieldset>\n");
    piece_field(w, &(piece_input){.label = "Compression strokes in each reading",
                                  .name = "strokes",
                                  .value = piece_typed(request, "strokes", strokes),
                                  .mode = "numeric"});
}

void sheet_form_write(html_writer *w, web_request *request, const ch_sheet *sheet, sheet_form_part part)
{
    if (part == SHEET_FORM_ENGINE)
        write_engine(w, request, sheet);
    if (part == SHEET_FORM_MORE)
        write_more(w, request, sheet);
    if (part == SHEET_FORM_DAY)
        write_day(w, request, sheet);
    write_quantities(w, request, sheet, part);
    if (part == SHEET_FORM_GAUGE)
        write_gauge(w, request, sheet);
    if (part == SHEET_FORM_DAY)
        piece_field(w, &(piece_input){.label = "Note",
                                      .name = "sheet_note",
                                      .value = piece_typed(request, "sheet_note", sheet->note),
                                      .area = true});
}

/* ---- reading ---- */

/* Put the field's label in front of what is wrong with it. */
static ch_status blame(const char *label, const ch_err *own, ch_status rc, ch_err *err)
{
    return ch_fail(err, rc, own->right[0] != '\0' ? own->right : NULL, "%s: %s", label, own->what);
}

static ch_status read_quantities(web_request *request, ch_sheet *sheet, sheet_form_part part, ch_err *err)
{
    for (size_t i = 0; i < FIELDS_COUNT; i++) {
        if (FIELDS[i].part != part)
            continue;
        ch_quantity quantity = ch_quantity_none();
        const char *text = piece_given(&request->form, FIELDS[i].name);
        const ch_unit *unit = bare_unit(request, &FIELDS[i]);
        ch_err own = {0};
        if (text != NULL) {
            ch_status rc = piece_units_read(request, err);
            if (rc < 0)
                return rc;
            rc = ch_quantity_parse(text, strlen(text), unit->dimension, unit, &quantity, &own);
            if (rc >= 0)
                rc = ch_quantity_check_thousands(&quantity, &own);
            if (rc < 0)
                return blame(FIELDS[i].label, &own, rc, err);
        }
        quantity.bare = false;
        memcpy((char *)sheet + FIELDS[i].offset, &quantity, sizeof quantity);
    }
    return CH_OK;
}

static ch_status read_engine(const web_fields *form, ch_sheet *sheet, ch_err *err)
{
    const int cylinders = piece_number(form, "cylinders", 0);
    const char *layout = piece_given(form, "layout");
    if (cylinders < 1 || cylinders > CH_CYLINDERS_MAX)
        return ch_fail(err, CH_E_INPUT, "1 to 32", "Cylinders: not a number of cylinders");
    sheet->engine.cylinders = cylinders;
    for (int i = CH_LAYOUT_INLINE; layout != NULL && i <= CH_LAYOUT_FLAT; i++)
        if (strcmp(layout, LAYOUTS[i]) == 0)
            sheet->engine.layout = (ch_layout)i;
    return CH_OK;
}

static ch_status read_order(const char *text, ch_sheet *sheet, ch_err *err)
{
    int order[CH_CYLINDERS_MAX] = {0}, n = 0;
    bool seen[CH_CYLINDERS_MAX + 1] = {false};
    for (const char *p = text; p != NULL && *p != '\0';) {
        p += strspn(p, " ,;-");
        if (*p == '\0')
            break;
        char *end = NULL;
        const long number = strtol(p, &end, 10);
        if (end == p || number < 1 || number > sheet->engine.cylinders || seen[number])
            return ch_fail(err, CH_E_INPUT, "every cylinder once, as in 1 3 4 2", "Firing order: not an order of %d",
                           sheet->engine.cylinders);
        seen[number] = true;
        order[n++] = (int)number;
        p = end;
    }
    if (n != 0 && n != sheet->engine.cylinders)
        return ch_fail(err, CH_E_INPUT, "every cylinder once, as in 1 3 4 2", "Firing order: not an order of %d",
                       sheet->engine.cylinders);
    memcpy(sheet->engine.firing_order, order, sizeof order);
    return CH_OK;
}

static ch_status read_more(const web_fields *form, ch_sheet *sheet, ch_err *err)
{
    const char *ratio = piece_given(form, "compression_ratio");
    sheet->engine.compression_ratio = NAN;
    sheet->typed.compression_ratio[0] = '\0';
    if (ratio != NULL) {
        ch_quantity quantity;
        ch_err own = {0};
        const ch_status rc =
            ch_quantity_parse(ratio, strlen(ratio), CH_DIM_RATIO, ch_unit_find("1", 1), &quantity, &own);
        if (rc < 0)
            return blame("Compression ratio", &own, rc, err);
        sheet->engine.compression_ratio = quantity.si;
        memcpy(sheet->typed.compression_ratio, quantity.number, sizeof sheet->typed.compression_ratio);
    }
    return read_order(piece_given(form, "firing_order"), sheet, err);
}

static ch_status read_gauge(const web_fields *form, ch_sheet *sheet, ch_err *err)
{
    const char *accuracy = piece_given(form, "accuracy");
    sheet->gauge.accuracy_kind = CH_ACCURACY_UNSTATED;
    sheet->gauge.accuracy = ch_quantity_none();
    sheet->gauge.grade = NULL;
    ch_err own = {0};
    const ch_status rc =
        accuracy != NULL ? ch_gauge_accuracy_parse(accuracy, strlen(accuracy), &sheet->gauge, &own) : CH_OK;
    return rc < 0 ? blame("Accuracy", &own, rc, err) : CH_OK;
}

static ch_status copy(const char *text, char **to, ch_err *err)
{
    char *made = NULL;
    if (text != NULL && (made = strdup(text)) == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a text");
    free(*to);
    *to = made;
    return CH_OK;
}

static ch_status read_day(const web_fields *form, ch_sheet *sheet, ch_err *err)
{
    const char *day = piece_given(form, "date"), *throttle = piece_given(form, "throttle");
    ch_sheet_conditions *c = &sheet->conditions;
    c->date = (ch_date){0};
    ch_status rc = day != NULL ? ch_date_parse(day, strlen(day), &c->date, err) : CH_OK;
    c->throttle = CH_THROTTLE_UNSTATED;
    for (int i = CH_THROTTLE_OPEN; throttle != NULL && i <= CH_THROTTLE_SHUT; i++)
        if (strcmp(throttle, THROTTLES[i]) == 0)
            c->throttle = (ch_throttle)i;
    c->strokes = piece_number(form, "strokes", piece_given(form, "strokes") != NULL ? -1 : 0);
    if (rc >= 0 && c->strokes < 0)
        rc = ch_fail(err, CH_E_INPUT, "a whole number", "Compression strokes: not a number of strokes");
    if (rc >= 0)
        rc = copy(piece_given(form, "title"), &sheet->title, err);
    return rc < 0 ? rc : copy(piece_given(form, "sheet_note"), &sheet->note, err);
}

ch_status sheet_form_read(web_request *request, sheet_form_part part, ch_sheet *sheet, ch_err *err)
{
    ch_status rc = CH_OK;
    switch (part) {
    case SHEET_FORM_ENGINE: rc = read_engine(&request->form, sheet, err); break;
    case SHEET_FORM_MORE: rc = read_more(&request->form, sheet, err); break;
    case SHEET_FORM_GAUGE: rc = read_gauge(&request->form, sheet, err); break;
    case SHEET_FORM_DAY: rc = read_day(&request->form, sheet, err); break;
    }
    return rc < 0 ? rc : read_quantities(request, sheet, part, err);
}

bool sheet_form_typed(const web_fields *form, sheet_form_part part)
{
    bool typed = part == SHEET_FORM_GAUGE && piece_given(form, "accuracy") != NULL;
    for (size_t i = 0; i < FIELDS_COUNT; i++)
        typed = typed || (FIELDS[i].part == part && piece_given(form, FIELDS[i].name) != NULL);
    return typed;
}
