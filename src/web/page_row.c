/*
 * GET /row/ID: an entry with its earlier values. Query: sheet.
 * POST: correct it (fields of the page /sheet/ID/measure, those of signs.h for a sign, and sheet) or delete it (do = delete).
 */
#include <stdio.h>
#include <string.h>

#include "measure.h"
#include "page.h"
#include "signs.h"

/* The row of the path in the sheet that the field `sheet` names; *found stays NULL where there is none that may be corrected. */
static ch_status find_row(web_request *request, const web_fields *fields, measuring *m, const ch_store_row **found,
                          ch_err *err)
{
    const int64_t id = web_part_id(request, 0), sheet_id = piece_id(fields, "sheet");
    ch_err own = {0};
    ch_status rc =
        sheet_id != 0 ? ch_store_sheet_get(request->store, &request->pool, sheet_id, &m->row, &own) : CH_E_INPUT;
    if (rc == CH_E_INPUT)
        return CH_OK;
    if (rc < 0) {
        if (err != NULL)
            *err = own;
        return rc;
    }
    rc = measure_load(request, fields, m, err);
    for (size_t i = 0; rc >= 0 && i < m->rows_count; i++)
        if (m->rows[i].id == id && m->rows[i].kind <= CH_STORE_OBSERVED)
            *found = &m->rows[i];
    return rc;
}

/*
 * The row that took the place of `old` since the page with it was opened, by another's hand; NULL where none did. The same form sent twice, as
 * by a phone that was not answered, is not another's.
 */
static const ch_store_row *taken_by(const measuring *m, const ch_store_row *old, const char *client)
{
    const ch_store_row *now = NULL;
    for (size_t i = 0; i < m->rows_count; i++) {
        const ch_store_row *row = &m->rows[i];
        if (row->first_id != old->first_id)
            continue;
        if (client != NULL && row->client != NULL && strcmp(row->client, client) == 0)
            return NULL;
        if (row->current && !row->deletion && row->id != old->id)
            now = row;
    }
    return now;
}

/* What stands now, and what it was. */
static void write_now(html_writer *w, const web_request *request, const web_know *know, const measuring *m,
                      const ch_store_row *row)
{
    html_lit(w, "<p>");
    if (row->kind == CH_STORE_OBSERVED) {
        signs_chain(w, request, &know->knowledge, m->rows, m->rows_count, row);
    } else {
        html_lit(w, "Cylinder <strong>");
        html_textf(w, "%d", measure_cylinder(row));
        html_lit(w, "</strong>, now ");
        measure_chain(w, request, m->rows, m->rows_count, row, m->unit);
    }
    html_lit(w, "</p><p class=\"hint\">The old value stays on the sheet, struck through.</p>\n");
}

static void write_reading(html_writer *w, const web_request *request, const measuring *m, const ch_store_row *row,
                          bool typed)
{
    const measure_shown s = {.form = typed ? &request->form : NULL, .row = row, .sheet = &m->sheet, .unit = m->unit};
    const int chosen = typed ? piece_number(&request->form, "cylinder", 0) : measure_cylinder(row);
    html_lit(w, "<label for=\"f-cylinder\">Cylinder</label><select id=\"f-cylinder\" name=\"cylinder\">");
    for (int c = 1; c <= m->sheet.engine.cylinders; c++) {
        html_lit(w, "<option");
        html_attrf(w, "value", "%d", c);
        html_attr_if(w, "selected", c == chosen);
        html_lit(w, ">");
        html_textf(w, "%d", c);
        html_lit(w, "</option>");
    }
    html_lit(w, "</select>\n");
    measure_fields(w, &s, row->kind);
    measure_note(w, &s, row->kind);
}

/* `alert`: NULL where none. `typed`: the fields hold what was sent and refused, else what the row says. */
static ch_status row_page(web_request *request, web_response *response, const measuring *m, const ch_store_row *row,
                          const char *alert, bool typed, ch_err *err)
{
    html_writer *w = &response->page;
    char action[64];
    const web_know *know = know_get(err);
    if (know == NULL)
        return CH_E_IO;
    snprintf(action, sizeof action, "/row/%lld", (long long)row->id);
    ch_status rc = piece_sheet_open(request, response, &m->row, "Correct an entry", "/row", err);
    if (rc < 0)
        return rc;
    write_now(w, request, know, m, row);
    piece_alert(w, alert);
    if (m->row.closed) {
        html_lit(w, "<p class=\"notice\">The sheet is closed: open it again to correct.</p>\n");
        html_page_close(w);
        return CH_OK;
    }
    html_form_open(w, request, action, false);
    rc = piece_entry(w, err);
    piece_hidden_number(w, "sheet", m->row.id);
    if (row->kind == CH_STORE_OBSERVED)
        signs_fields(w, typed ? &request->form : NULL, row, NULL, &know->knowledge, m->sheet.engine.cylinders);
    else
        write_reading(w, request, m, row, typed);
    piece_button(w, "do", "correct", "wide", "Correct it");
    html_form_close(w);
    html_form_open(w, request, action, false);
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
                                                           : row_page(request, response, &m, row, NULL, false, err);
    ch_sheet_clear(&m.sheet);
    return rc;
}

ch_status page_row_post(web_request *request, web_response *response, ch_err *err)
{
    measuring m = {0};
    const ch_store_row *old = NULL;
    char client[CH_STORE_CLIENT_MAX + 1], line[PIECE_LINE];
    ch_err own = {0};
    ch_status rc = find_row(request, &request->form, &m, &old, err);
    const bool does = piece_does(request, "correct delete");
    if (rc >= 0 && (old == NULL || !does))
        rc = web_not_found(request, response);
    if (rc < 0 || old == NULL || !does) {
        ch_sheet_clear(&m.sheet);
        return rc;
    }
    const ch_store_row *now = taken_by(&m, old, piece_client(request, client));
    if (now != NULL) {
        response->status = 409;
        rc = row_page(request, response, &m, now,
                      "This entry was corrected after you opened it. Nothing of yours was stored: the fields "
                      "hold what it says now; correct that where it is wrong.",
                      false, err);
        ch_sheet_clear(&m.sheet);
        return rc;
    }
    if (piece_does(request, "delete")) {
        rc = ch_store_row_delete(request->store, old->id, NULL, request->now_s, NULL, &own);
    } else {
        ch_store_row row;
        const web_know *know = know_get(&own);
        rc = know == NULL                     ? CH_E_IO
             : old->kind == CH_STORE_OBSERVED ? signs_read(&request->form, &know->knowledge, &row, &own)
                                              : measure_read(&request->form, &m.sheet, old->kind, m.unit, &row, &own);
        if (rc >= 0)
            rc = ch_store_row_correct(request->store, old->id, &row, piece_client(request, client), request->now_s,
                                      NULL, &own);
    }
    if (rc >= 0) {
        rc = old->kind == CH_STORE_OBSERVED ? web_redirect(response, "/sheet/%lld#signs", (long long)m.row.id)
                                            : web_redirect(response, "/sheet/%lld/measure?kind=%s#live",
                                                           (long long)m.row.id, measure_kind_name(old->kind));
    } else if (piece_refused(rc, &own, response, line, err)) {
        rc = row_page(request, response, &m, old, line, true, err);
    }
    ch_sheet_clear(&m.sheet);
    return rc;
}
