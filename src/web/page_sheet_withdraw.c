/*
 * POST /sheet/ID/withdraw: do = withdraw (why), restore, or move (car: id).
 * GET /sheet/ID of a withdrawn sheet: what it held, struck out, with when and why; and the button that takes it back.
 */
#include <stdio.h>

#include "measure.h"
#include "page.h"
#include "sheet_parts.h"
#include "signs.h"

static ch_status write_move(html_writer *w, web_request *request, const ch_store_sheet *sheet, const char *action,
                            ch_err *err)
{
    const ch_store_car *cars = NULL;
    size_t count = 0, others = 0;
    const ch_status rc = ch_store_cars(request->store, &request->pool, &cars, &count, err);
    if (rc < 0)
        return rc;
    for (size_t i = 0; i < count; i++)
        others += cars[i].id != sheet->car_id && cars[i].engine_id != 0;
    if (others == 0)
        return CH_OK;
    html_form_open(w, request, action, false);
    html_lit(w, "<label for=\"f-car\">It is a test of</label><select id=\"f-car\" name=\"car\">");
    for (size_t i = 0; i < count; i++) {
        if (cars[i].id == sheet->car_id || cars[i].engine_id == 0)
            continue;
        html_lit(w, "<option");
        html_attrf(w, "value", "%lld", (long long)cars[i].id);
        html_lit(w, ">");
        html_text(w, cars[i].name);
        html_lit(w, "</option>");
    }
    html_lit(w, "</select><p class=\"hint\">Readings, signs, photos and what is off go along; the engine's data become "
                "that car's.</p>\n");
    piece_button(w, "do", "move", "second", "Move it to this car");
    html_form_close(w);
    return CH_OK;
}

ch_status sheet_withdraw_forms(html_writer *w, web_request *request, const ch_store_sheet *sheet, const char *alert,
                               ch_err *err)
{
    char action[64];
    snprintf(action, sizeof action, "/sheet/%lld/withdraw", (long long)sheet->id);
    html_lit(w, "<h2 id=\"withdraw\">Begun by mistake?</h2>");
    piece_alert(w, alert);
    html_lit(w, "<details");
    html_attr_if(w, "open", alert != NULL);
    html_lit(w, "><summary>Wrong car, or no test at all</summary>");
    const ch_status rc = write_move(w, request, sheet, action, err);
    html_form_open(w, request, action, false);
    html_lit(w, "<p>Withdrawn, it counts for nothing. It is kept in the list of sheets, struck out, and can be taken "
                "back.</p>");
    piece_field(
        w, &(piece_input){.label = "Why", .name = "why", .value = piece_typed(request, "why", NULL), .required = true});
    piece_button(w, "do", "withdraw", "danger", "Withdraw the sheet");
    html_form_close(w);
    html_lit(w, "</details>\n");
    return rc;
}

/* ---------------------------------------------------------------- withdrawn */

static ch_status find_withdrawn(web_request *request, const ch_store_sheet **found, ch_err *err)
{
    const ch_store_sheet *rows = NULL;
    size_t count = 0;
    const int64_t id = web_part_id(request, 0);
    const ch_status rc = ch_store_sheets_withdrawn(request->store, &request->pool, 0, &rows, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++)
        if (rows[i].id == id)
            *found = &rows[i];
    return rc;
}

static ch_status write_rows(html_writer *w, web_request *request, const ch_store_sheet *sheet, const web_know *know,
                            ch_err *err)
{
    const ch_store_row *rows = NULL;
    size_t count = 0;
    ch_store_sheet shut = *sheet; /* nothing of it can be corrected */
    shut.closed = true;
    ch_status rc = ch_store_rows(request->store, &request->pool, sheet->id, true, &rows, &count, err);
    if (rc < 0)
        return rc;
    const ch_unit *unit = piece_unit(request, "pressure");
    for (size_t kind = 0; kind < MEASURE_KINDS; kind++)
        measure_entries(w, request, &shut, kind, rows, count, unit);
    signs_list(w, request, &know->knowledge, &shut, rows, count);
    return CH_OK;
}

ch_status sheet_withdrawn_page(web_request *request, web_response *response, bool *found, ch_err *err)
{
    const ch_store_sheet *sheet = NULL;
    html_writer *w = &response->page;
    char name[200], action[64];
    const web_know *know = know_get(err);
    if (know == NULL)
        return CH_E_IO;
    ch_status rc = find_withdrawn(request, &sheet, err);
    *found = sheet != NULL;
    if (rc < 0 || sheet == NULL)
        return rc;
    rc = piece_sheet_name(request, sheet, name, sizeof name, err);
    if (rc < 0)
        return rc;
    html_page_open(w, request, "Withdrawn sheet");
    html_lit(w, "<link rel=\"stylesheet\" href=\"/asset/garage.css\"><p><del>");
    html_textf(w, "%s%s%s", name, sheet->title != NULL ? ": " : "", sheet->title != NULL ? sheet->title : "");
    html_lit(w, "</del></p><p class=\"notice\">Withdrawn ");
    piece_time(w, sheet->withdrawn_s, request->now_s);
    if (sheet->withdrawn_why != NULL) {
        html_lit(w, ": <q>");
        html_text(w, sheet->withdrawn_why);
        html_lit(w, "</q>");
    }
    html_lit(w, ". It counts for nothing.</p>\n");
    snprintf(action, sizeof action, "/sheet/%lld/withdraw", (long long)sheet->id);
    html_form_open(w, request, action, false);
    piece_button(w, "do", "restore", "second", "Take it back");
    html_form_close(w);
    rc = write_rows(w, request, sheet, know, err);
    html_lit(w, "<p><a class=\"button second\" href=\"/sheets\">All sheets</a></p>\n");
    html_page_close(w);
    return rc;
}

/* ---------------------------------------------------------------- changes */

static ch_status restore(web_request *request, web_response *response, ch_err *err)
{
    const int64_t id = web_part_id(request, 0);
    ch_err own = {0};
    const ch_status rc = ch_store_sheet_restore(request->store, id, request->now_s, &own);
    if (rc == CH_E_INPUT)
        return web_not_found(request, response);
    if (rc < 0 && err != NULL)
        *err = own;
    return rc < 0 ? rc : web_redirect(response, "/sheet/%lld", (long long)id);
}

ch_status page_sheet_withdraw_post(web_request *request, web_response *response, ch_err *err)
{
    ch_store_sheet sheet;
    ch_status rc;
    ch_err own = {0};
    char line[PIECE_LINE];
    if (piece_does(request, "restore"))
        return restore(request, response, err);
    if (!piece_sheet(request, response, &sheet, &rc, err))
        return rc;
    if (!piece_does(request, "withdraw move"))
        return web_not_found(request, response);
    const char *reason = piece_given(&request->form, "why");
    if (piece_does(request, "move"))
        rc = ch_store_sheet_move(request->store, sheet.id, piece_id(&request->form, "car"), request->now_s, &own);
    else if (reason == NULL)
        rc = ch_fail(&own, CH_E_INPUT, "a few words, as in begun on the wrong car", "Why: nothing given");
    else
        rc = ch_store_sheet_withdraw(request->store, sheet.id, reason, request->now_s, &own);
    if (piece_refused(rc, &own, response, line, err))
        return sheet_page(request, response, &sheet, FORM_WITHDRAW, line, err);
    return rc < 0 ? rc : web_redirect(response, "/sheet/%lld", (long long)sheet.id);
}
