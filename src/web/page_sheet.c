/*
 * GET /sheet/ID: a sheet: what to do next, the order of work, signs noticed, the day, closing.
 *   Query: check = id of a check and cylinder open the form of signs with what that check may find on top.
 * GET /sheet/ID/revision: {"revision": n}, for a page that asks whether another phone entered something.
 * POST /sheet/ID/head: the day, fields of sheet_form.h.
 * POST /sheet/ID/observed: fields of signs.h, entry.
 * POST /sheet/ID/close: do = close (reason) or reopen.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "page.h"
#include "photos.h"
#include "piece.h"
#include "sheet_form.h"
#include "sheet_parts.h"
#include "signs.h"
#include "steps.h"

/* The procedures in the order of work, each with how far it is. */
static ch_status write_work(html_writer *w, web_request *request, const ch_store_sheet *sheet, const web_know *know,
                            ch_err *err)
{
    html_lit(w, "<h2>At the car</h2><p class=\"hint\">Step by step, each with its reason. Do what you need, in this "
                "order.</p><ol class=\"plain\">");
    for (size_t i = 0; i < know->procedures.count; i++) {
        const ch_procedure *procedure = &know->procedures.procedures[i];
        steps_walk *walk = NULL;
        const ch_status rc = steps_walk_new(request, know, sheet, procedure, &walk, err);
        if (rc < 0)
            return rc;
        html_lit(w, "<li class=\"card\"><a class=\"cover\"");
        html_attrf(w, "href", "/sheet/%lld/do/%s", (long long)sheet->id, procedure->id);
        html_lit(w, ">");
        html_text(w, procedure->title);
        html_lit(w, "</a><br><span class=\"quiet\">");
        if (walk->settled == 0) {
            html_text(w, procedure->why);
            html_lit(w, "<br>");
        }
        if (walk->work > 0 && walk->settled == walk->work)
            html_lit(w, "done");
        else
            html_textf(w, "%zu of %zu steps done", walk->settled, walk->work);
        if (walk->passed > 0)
            html_textf(w, ", %zu of them left out or not for this car", walk->passed);
        html_lit(w, "</span></li>\n");
        steps_walk_free(walk);
    }
    html_lit(w, "</ol>\n");
    return CH_OK;
}

static ch_status write_observed(html_writer *w, web_request *request, const ch_store_sheet *sheet, const web_know *know,
                                const char *alert, ch_err *err)
{
    const ch_store_row *rows = NULL;
    size_t count = 0;
    ch_status rc = ch_store_rows(request->store, &request->pool, sheet->id, true, &rows, &count, err);
    if (rc < 0)
        return rc;
    signs_list(w, request, &know->knowledge, sheet, rows, count);
    if (sheet->closed)
        return CH_OK;
    char action[64];
    snprintf(action, sizeof action, "/sheet/%lld/observed", (long long)sheet->id);
    piece_alert(w, alert);
    const char *asked = web_value(&request->query, "check");
    const ch_knowledge_check *check =
        asked != NULL ? ch_knowledge_check_find(&know->knowledge, asked, strlen(asked)) : NULL;
    html_lit(w, "<details id=\"enter-sign\"");
    html_attr_if(w, "open", alert != NULL || check != NULL);
    html_lit(w, "><summary>Enter a sign</summary>");
    if (check != NULL) {
        html_lit(w, "<p>");
        html_textf(w, "What \"%s\" may find stands first. What was looked for and is not there counts too.",
                   check->title);
        html_lit(w, "</p>");
    }
    html_form_open(w, request, action, false);
    rc = piece_entry(w, err);
    signs_fields(w,
                 alert != NULL   ? &request->form
                 : check != NULL ? &request->query
                                 : NULL,
                 NULL, check, &know->knowledge, sheet->cylinders);
    piece_button(w, NULL, NULL, "", "Enter it");
    html_form_close(w);
    html_lit(w, "</details>\n");
    return rc;
}

/* What should have been done while the holes were open, and is neither marked as done nor left out, though all is back. */
static ch_status write_not_marked(html_writer *w, web_request *request, const ch_store_sheet *sheet,
                                  const web_know *know, ch_err *err)
{
    const ch_store_ledger *rows = NULL;
    size_t count = 0;
    steps_ahead ahead = {0};
    ch_status rc = ch_store_ledger_list(request->store, &request->pool, sheet->id, false, &rows, &count, err);
    const ch_store_ledger **entries = rc >= 0 ? calloc(count + 1, sizeof *entries) : NULL;
    if (rc >= 0 && entries == NULL)
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory for what was off");
    for (size_t i = 0; rc >= 0 && i < count; i++)
        entries[i] = &rows[i];
    if (rc >= 0)
        rc = steps_ahead_find(request, know, entries, count, true, &ahead, err);
    free(entries);
    if (ahead.step == NULL)
        return rc;
    html_lit(w, "<p>Not marked as done. If it was not, take the plugs out again before the starter turns:</p>\n");
    steps_ahead_write(w, know, &ahead);
    return rc;
}

static ch_status write_close(html_writer *w, web_request *request, const ch_store_sheet *sheet, const web_know *know,
                             const char *alert, ch_err *err)
{
    ch_status rc = CH_OK;
    char action[64];
    snprintf(action, sizeof action, "/sheet/%lld/close", (long long)sheet->id);
    html_lit(w, "<h2 id=\"close\">Close the sheet</h2>");
    if (sheet->closed) {
        html_lit(w, "<p>Closed.");
        if (sheet->close_reason != NULL) {
            html_lit(w, " With things still off the car, because: <q>");
            html_text(w, sheet->close_reason);
            html_lit(w, "</q>");
        }
        html_lit(w, "</p>");
        html_form_open(w, request, action, false);
        piece_button(w, "do", "reopen", "second", "Open it again");
        html_form_close(w);
        return CH_OK;
    }
    piece_alert(w, alert);
    if (sheet->ledger_open == 0)
        rc = write_not_marked(w, request, sheet, know, err);
    html_form_open(w, request, action, false);
    if (sheet->ledger_open > 0) {
        html_lit(w, "<p class=\"caution\"><span class=\"signal\">CAUTION</span> ");
        html_textf(w, "%d %s still off the car. Put back first; or write why it stays off.", sheet->ledger_open,
                   sheet->ledger_open == 1 ? "thing is" : "things are");
        html_lit(w, "</p>");
        piece_field(w, &(piece_input){.label = "Why it stays off",
                                      .name = "reason",
                                      .value = piece_given(&request->form, "reason"),
                                      .hint = "needed to close now",
                                      .area = true});
    } else {
        html_lit(w, "<p>Everything is back. A closed sheet takes no more readings; it can be opened again.</p>");
    }
    piece_button(w, "do", "close", "second", "Close the sheet");
    html_form_close(w);
    return rc;
}

static void write_day(html_writer *w, web_request *request, const ch_store_sheet *sheet, const ch_sheet *head,
                      const char *alert)
{
    char action[64];
    snprintf(action, sizeof action, "/sheet/%lld/head", (long long)sheet->id);
    html_lit(w, "<h2 id=\"day\">The day</h2>");
    piece_alert(w, alert);
    html_lit(w, "<details");
    html_attr_if(w, "open", alert != NULL);
    html_lit(w, "><summary>Weather, temperature, cranking speed, odometer</summary>"
                "<p class=\"hint\">Next year's numbers can be set against these only if the day is known.</p>");
    html_form_open(w, request, action, false);
    sheet_form_write(w, request, head, SHEET_FORM_DAY);
    piece_button(w, NULL, NULL, "", "Save the day");
    html_form_close(w);
    html_lit(w, "</details>\n");
}

/* A form that was refused stands open, with what was typed and the reason above it. */
ch_status sheet_page(web_request *request, web_response *response, const ch_store_sheet *sheet, sheet_form refused,
                     const char *alert, ch_err *err)
{
    html_writer *w = &response->page;
    const web_know *know = know_get(err);
    if (know == NULL)
        return CH_E_IO;
    ch_sheet head;
    ch_status rc = ch_store_sheet_load(request->store, sheet->id, &head, err);
    if (rc < 0)
        return rc;
    rc = piece_sheet_open(request, response, sheet, sheet->title != NULL ? sheet->title : "Test sheet", "", err);
    if (rc >= 0)
        rc = sheet_data_offer(w, request, sheet, err);
    if (rc >= 0 && !sheet->closed) {
        html_lit(w, "<p><a class=\"button wide\"");
        html_attrf(w, "href", "/sheet/%lld/measure", (long long)sheet->id);
        html_lit(w, ">Enter readings</a></p>\n");
    }
    if (rc >= 0 && sheet->entries > 0) {
        html_lit(w, "<p><a class=\"button wide second\"");
        html_attrf(w, "href", "/sheet/%lld/findings", (long long)sheet->id);
        html_lit(w, ">Findings</a></p>\n");
    }
    if (rc >= 0)
        rc = write_work(w, request, sheet, know, err);
    if (rc >= 0)
        rc = write_observed(w, request, sheet, know, refused == FORM_OBSERVED ? alert : NULL, err);
    if (rc >= 0 && !sheet->closed)
        write_day(w, request, sheet, &head, refused == FORM_DAY ? alert : NULL);
    if (rc >= 0)
        rc = sheet_data_gauge(w, request, sheet, refused == FORM_GAUGE ? alert : NULL, err);
    if (rc >= 0)
        rc = photos_of_sheet(w, request, sheet->id, err);
    if (rc >= 0)
        rc = write_close(w, request, sheet, know, refused == FORM_CLOSE ? alert : NULL, err);
    if (rc >= 0)
        rc = sheet_withdraw_forms(w, request, sheet, refused == FORM_WITHDRAW ? alert : NULL, err);
    html_page_close(w);
    ch_sheet_clear(&head);
    return rc;
}

ch_status page_sheet_get(web_request *request, web_response *response, ch_err *err)
{
    ch_store_sheet sheet;
    bool withdrawn = false;
    ch_status rc = sheet_withdrawn_page(request, response, &withdrawn, err);
    if (rc < 0 || withdrawn || !piece_sheet(request, response, &sheet, &rc, err))
        return rc;
    return sheet_page(request, response, &sheet, FORM_NONE, NULL, err);
}

ch_status page_sheet_revision_get(web_request *request, web_response *response, ch_err *err)
{
    int64_t revision = 0;
    ch_store_sheet sheet;
    ch_status rc;
    if (!piece_sheet(request, response, &sheet, &rc, err))
        return rc;
    rc = ch_store_sheet_revision(request->store, sheet.id, &revision, err);
    if (rc < 0)
        return rc;
    response->data_type = "application/json";
    ch_text_appendf(&response->data, "{\"revision\": %lld}\n", (long long)revision);
    return CH_OK;
}

/* ---------------------------------------------------------------- changes */

ch_status page_sheet_head_post(web_request *request, web_response *response, ch_err *err)
{
    ch_store_sheet sheet;
    ch_status rc;
    if (!piece_sheet(request, response, &sheet, &rc, err))
        return rc;
    ch_sheet head;
    rc = ch_store_sheet_load(request->store, sheet.id, &head, err);
    if (rc < 0)
        return rc;
    ch_err own = {0};
    char line[PIECE_LINE];
    rc = sheet_form_read(request, SHEET_FORM_DAY, &head, &own);
    if (rc >= 0 && ch_date_given(head.conditions.date) &&
        ch_date_days(head.conditions.date) > ch_date_days(piece_today(request->now_s)))
        rc = ch_fail(&own, CH_E_INPUT, "today, or a day before", "the day is still to come");
    if (rc >= 0)
        rc = ch_store_sheet_head(request->store, sheet.id, &head, request->now_s, &own);
    ch_sheet_clear(&head);
    if (piece_refused(rc, &own, response, line, err))
        return sheet_page(request, response, &sheet, FORM_DAY, line, err);
    return rc < 0 ? rc : web_redirect(response, "/sheet/%lld", (long long)sheet.id);
}

ch_status page_sheet_observed_post(web_request *request, web_response *response, ch_err *err)
{
    const web_know *know = know_get(err);
    ch_store_sheet sheet;
    ch_status rc;
    if (know == NULL)
        return CH_E_IO;
    if (!piece_sheet(request, response, &sheet, &rc, err))
        return rc;
    char client[CH_STORE_CLIENT_MAX + 1];
    ch_store_row row;
    ch_err own = {0};
    char line[PIECE_LINE];
    rc = signs_read(&request->form, &know->knowledge, &row, &own);
    if (rc >= 0)
        rc =
            ch_store_row_add(request->store, sheet.id, &row, piece_client(request, client), request->now_s, NULL, &own);
    if (piece_refused(rc, &own, response, line, err))
        return sheet_page(request, response, &sheet, FORM_OBSERVED, line, err);
    return rc < 0 ? rc : web_redirect(response, "/sheet/%lld#signs", (long long)sheet.id);
}

ch_status page_sheet_close_post(web_request *request, web_response *response, ch_err *err)
{
    ch_store_sheet sheet;
    ch_status rc;
    ch_err own = {0};
    if (!piece_sheet(request, response, &sheet, &rc, err))
        return rc;
    if (!piece_does(request, "close reopen"))
        return web_not_found(request, response);
    if (piece_does(request, "reopen"))
        rc = ch_store_sheet_reopen(request->store, sheet.id, request->now_s, &own);
    else
        rc =
            ch_store_sheet_close(request->store, sheet.id, piece_given(&request->form, "reason"), request->now_s, &own);
    char line[PIECE_LINE];
    if (piece_refused(rc, &own, response, line, err)) {
        response->status = 409; /* well put, but things stand against it */
        return sheet_page(request, response, &sheet, FORM_CLOSE, line, err);
    }
    return rc < 0 ? rc : web_redirect(response, "/sheet/%lld", (long long)sheet.id);
}
