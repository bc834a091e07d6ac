/* Entries so far with their earlier values. */
#include "measure.h"

int measure_cylinder(const ch_store_row *row)
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
        quantity(w, &row->leakdown.supply, NULL);
        html_lit(w, ", loss ");
        quantity(w, &row->leakdown.loss, NULL);
        for (size_t i = 0; i < MEASURE_HEARD; i++)
            if (row->leakdown.heard & (unsigned)measure_heard[i].bit)
                html_textf(w, ", %s", measure_heard[i].words);
        for (int c = 1; c <= CH_CYLINDERS_MAX; c++)
            if ((row->leakdown.heard_cylinders >> (c - 1) & 1U) != 0)
                html_textf(w, ", at the plug hole of cylinder %d", c);
        return;
    }
    /* A bare number beside one with another unit would be read as of that unit. */
    const ch_quantity *first = &row->reading.first_stroke, *final = &row->reading.reading;
    const ch_unit *left_out =
        (ch_quantity_given(first) && first->unit != unit) || (ch_quantity_given(final) && final->unit != unit) ? NULL
                                                                                                               : unit;
    quantity(w, first, left_out);
    html_lit(w, " / ");
    quantity(w, final, left_out);
    if (row->kind == CH_STORE_WET && ch_quantity_given(&row->reading.oil)) {
        html_lit(w, ", oil ");
        quantity(w, &row->reading.oil, NULL);
    }
}

void measure_chain(html_writer *w, const web_request *request, const ch_store_row rows[], size_t count,
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

void measure_entries(html_writer *w, const web_request *request, const ch_store_sheet *sheet, size_t kind,
                     const ch_store_row rows[], size_t count, const ch_unit *unit)
{
    size_t shown_rows = 0;
    for (size_t i = 0; i < count; i++) {
        if (rows[i].kind != measure_kinds[kind].kind || (!rows[i].current && !rows[i].deletion))
            continue;
        if (shown_rows++ == 0) {
            html_lit(w,
                     "<div class=\"scroll\"><table><caption>Entered so far</caption><thead><tr><th>Cylinder</th><th>");
            if (kind == 2)
                html_lit(w, "Supply; loss");
            else
                html_textf(w, "First / final, %s", unit->name);
            html_lit(w, "</th><th>At</th><th><span class=\"visually-hidden\">Change</span></th></tr></thead><tbody>");
        }
        html_lit(w, "<tr><td>");
        html_textf(w, "%d", measure_cylinder(&rows[i]));
        html_lit(w, "</td><td class=\"values\">");
        if (rows[i].deletion)
            html_lit(w, "taken out");
        measure_chain(w, request, rows, count, &rows[i], unit);
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
