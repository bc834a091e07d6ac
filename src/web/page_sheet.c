/*
 * GET /sheets/new: begin a sheet. Query: car.
 * POST /sheets/new: car, gauge (id, or "new" with gauge_name and the gauge fields of sheet_form.h), entry.
 * GET /sheet/ID: a sheet: what to do next, the order of work, signs noticed, the day, closing.
 * GET /sheet/ID/revision: {"revision": n}, for a page that asks whether another phone entered something.
 * POST /sheet/ID/head: the day, fields of sheet_form.h.
 * POST /sheet/ID/observed: what, cylinder (0 = engine), found ("no" = looked for, not there), note, entry.
 * POST /sheet/ID/close: do = close (reason) or reopen.
 */
#include <stdio.h>
#include <string.h>

#include "crosshatch/store_car.h"
#include "page.h"
#include "piece.h"
#include "sheet_form.h"
#include "steps.h"

/* ---------------------------------------------------------------- a new sheet */

static void write_car_choice(html_writer *w, const ch_store_car *cars, size_t count, int64_t chosen)
{
    if (count == 1) {
        piece_hidden_number(w, "car", cars[0].id);
        html_lit(w, "<p>Car: <strong>");
        html_text(w, cars[0].name);
        html_lit(w, "</strong></p>\n");
        return;
    }
    html_lit(w, "<label for=\"f-car\">Car</label><select id=\"f-car\" name=\"car\">");
    for (size_t i = 0; i < count; i++) {
        html_lit(w, "<option");
        html_attrf(w, "value", "%lld", (long long)cars[i].id);
        html_attr_if(w, "selected", cars[i].id == chosen);
        html_lit(w, ">");
        html_text(w, cars[i].name);
        html_lit(w, "</option>");
    }
    html_lit(w, "</select>\n");
}

static void write_gauge_choice(html_writer *w, web_request *request, const ch_store_gauge *gauges, size_t count)
{
    ch_sheet none;
    ch_sheet_init(&none);
    if (count > 0) {
        html_lit(w, "<label for=\"f-gauge\">Gauge <span class=\"hint\">the one of last year, if you can: gauges differ "
                    "more than engines do</span></label><select id=\"f-gauge\" name=\"gauge\">");
        for (size_t i = count; i-- > 0;) { /* the newest first */
            html_lit(w, "<option");
            html_attrf(w, "value", "%lld", (long long)gauges[i].id);
            html_lit(w, ">");
            html_text(w, gauges[i].name);
            html_lit(w, "</option>");
        }
        html_lit(w, "<option value=\"0\">Another one</option></select>\n<details><summary>A new gauge</summary>");
    } else {
        html_lit(w, "<details><summary>Name the gauge: optional, worth it for next year</summary>");
    }
    piece_field(w, &(piece_input){.label = "Name of the gauge",
                                  .name = "gauge_name",
                                  .value = piece_given(&request->form, "gauge_name"),
                                  .hint = "what you call it"});
    sheet_form_write(w, request, &none, SHEET_FORM_GAUGE);
    html_lit(w, "</details>\n");
}

static ch_status new_page(web_request *request, web_response *response, const char *alert, ch_err *err)
{
    html_writer *w = &response->page;
    const ch_store_car *cars = NULL;
    const ch_store_gauge *gauges = NULL;
    size_t cars_count = 0, gauges_count = 0;
    ch_status rc = ch_store_cars(request->store, &request->pool, &cars, &cars_count, err);
    if (rc >= 0)
        rc = ch_store_gauges(request->store, &request->pool, &gauges, &gauges_count, err);
    if (rc < 0)
        return rc;
    if (cars_count == 0)
        return web_redirect(response, "/cars/new");
    html_page_open(w, request, "A new test sheet");
    html_lit(w, "<link rel=\"stylesheet\" href=\"/asset/garage.css\">\n");
    piece_alert(w, alert);
    html_form_open(w, request, "/sheets/new", false);
    rc = piece_entry(w, err);
    write_car_choice(w, cars, cars_count, piece_id(request->post ? &request->form : &request->query, "car"));
    write_gauge_choice(w, request, gauges, gauges_count);
    piece_button(w, NULL, NULL, "wide", "Begin the sheet");
    html_form_close(w);
    html_page_close(w);
    return rc;
}

ch_status page_sheet_new_get(web_request *request, web_response *response, ch_err *err)
{
    return new_page(request, response, NULL, err);
}

/* The gauge named in the form, made where it is new; 0 = none. */
static ch_status take_gauge(web_request *request, const char *client, int64_t *gauge_id, ch_err *err)
{
    const char *name = piece_given(&request->form, "gauge_name");
    *gauge_id = piece_id(&request->form, "gauge");
    if (name == NULL)
        return CH_OK;
    ch_sheet described;
    ch_stored stored = {0};
    ch_sheet_init(&described);
    ch_status rc = sheet_form_read(request, SHEET_FORM_GAUGE, &described, err);
    if (rc >= 0)
        rc = ch_store_gauge_add(request->store, &(ch_store_gauge){.name = name}, &described, client, request->now_s,
                                &stored, err);
    if (rc >= 0)
        *gauge_id = stored.id;
    ch_sheet_clear(&described);
    return rc;
}

/* Bare numbers of the sheet are in the units of the settings. */
static ch_status set_units(web_request *request, int64_t sheet_id, ch_err *err)
{
    ch_sheet head;
    ch_status rc = ch_store_sheet_load(request->store, sheet_id, &head, err);
    if (rc < 0)
        return rc;
    head.bare_unit[CH_DIM_PRESSURE] = piece_unit(request, "pressure");
    rc = ch_store_sheet_head(request->store, sheet_id, &head, request->now_s, err);
    ch_sheet_clear(&head);
    return rc;
}

static ch_status begin(web_request *request, int64_t *sheet_id, ch_err *err)
{
    const ch_store_car *cars = NULL;
    size_t count = 0;
    char client[CH_STORE_CLIENT_MAX + 1];
    const char *sent = piece_client(request, client);
    const int64_t car_id = piece_id(&request->form, "car");
    int64_t engine_id = 0, gauge_id = 0;
    ch_status rc = ch_store_cars(request->store, &request->pool, &cars, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++)
        if (cars[i].id == car_id)
            engine_id = cars[i].engine_id;
    if (rc >= 0 && engine_id == 0)
        return ch_fail(err, CH_E_INPUT, "choose one of the list", "there is no such car, or no engine is in it");
    if (rc >= 0)
        rc = take_gauge(request, sent, &gauge_id, err);
    ch_stored stored = {0};
    if (rc >= 0)
        rc = ch_store_sheet_begin(request->store, engine_id, gauge_id, piece_today(request->now_s), sent,
                                  request->now_s, &stored, err);
    if (rc >= 0 && !stored.again)
        rc = set_units(request, stored.id, err);
    if (rc >= 0)
        *sheet_id = stored.id;
    return rc;
}

ch_status page_sheet_new_post(web_request *request, web_response *response, ch_err *err)
{
    ch_err own = {0};
    int64_t sheet_id = 0;
    const ch_status rc = begin(request, &sheet_id, &own);
    if (rc >= 0)
        return web_redirect(response, "/sheet/%lld", (long long)sheet_id);
    if (rc != CH_E_INPUT && rc != CH_E_RANGE && rc != CH_E_LIMIT) {
        *err = own;
        return rc;
    }
    char line[600];
    ch_err_format(&own, line, sizeof line);
    response->status = 422;
    return new_page(request, response, line, err);
}

/* ---------------------------------------------------------------- the sheet */

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
        html_lit(w, "</span></li>\n");
        steps_walk_free(walk);
    }
    html_lit(w, "</ol>\n");
    return CH_OK;
}

static ch_status write_observed(html_writer *w, web_request *request, const ch_store_sheet *sheet, const web_know *know,
                                ch_err *err)
{
    const ch_store_row *rows = NULL;
    size_t count = 0, shown = 0;
    ch_status rc = ch_store_rows(request->store, &request->pool, sheet->id, false, &rows, &count, err);
    if (rc < 0)
        return rc;
    html_lit(w, "<h2>Signs you noticed</h2><ul>");
    for (size_t i = 0; i < count; i++) {
        if (rows[i].kind != CH_STORE_OBSERVED)
            continue;
        const ch_observation *seen = &rows[i].observed;
        const ch_knowledge_observation *known =
            ch_knowledge_observation_find(&know->knowledge, seen->what, strlen(seen->what));
        html_lit(w, "<li>");
        html_text(w, known != NULL ? known->title : seen->what);
        if (seen->cylinder > 0)
            html_textf(w, ", cylinder %d", seen->cylinder);
        if (seen->absent)
            html_lit(w, ": looked for, not there");
        if (seen->note != NULL)
            html_textf(w, ". %s", seen->note);
        html_lit(w, "</li>");
        shown++;
    }
    html_lit(w, "</ul>\n");
    if (shown == 0)
        html_lit(w, "<p class=\"quiet\">None entered.</p>");
    if (sheet->closed)
        return CH_OK;
    char action[64];
    snprintf(action, sizeof action, "/sheet/%lld/observed", (long long)sheet->id);
    html_lit(w, "<details><summary>Enter a sign</summary>");
    html_form_open(w, request, action, false);
    rc = piece_entry(w, err);
    html_lit(w, "<label for=\"f-what\">What</label><select id=\"f-what\" name=\"what\" required>");
    for (size_t i = 0; i < know->knowledge.observations_count; i++)
        piece_option(w, know->knowledge.observations[i].id, know->knowledge.observations[i].title, NULL);
    html_lit(w, "</select><label for=\"f-at\">Where</label><select id=\"f-at\" name=\"cylinder\">"
                "<option value=\"0\">The engine as a whole</option>");
    for (int c = 1; c <= sheet->cylinders; c++) {
        html_lit(w, "<option");
        html_attrf(w, "value", "%d", c);
        html_lit(w, ">");
        html_textf(w, "Cylinder %d", c);
        html_lit(w, "</option>");
    }
    html_lit(w, "</select><fieldset><legend>Found</legend>");
    piece_choice(w, "found", "yes", "It is there", "yes");
    piece_choice(w, "found", "no", "Looked for, not there", "yes");
    html_lit(w, "</fieldset>");
    piece_field(w, &(piece_input){.label = "Note", .name = "note"});
    piece_button(w, NULL, NULL, "", "Enter it");
    html_form_close(w);
    html_lit(w, "</details>\n");
    return rc;
}

static void write_close(html_writer *w, const web_request *request, const ch_store_sheet *sheet, const char *alert)
{
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
        return;
    }
    piece_alert(w, alert);
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
}

static ch_status sheet_page(web_request *request, web_response *response, const ch_store_sheet *sheet,
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
        rc = write_observed(w, request, sheet, know, err);
    if (rc >= 0 && !sheet->closed) {
        char action[64];
        snprintf(action, sizeof action, "/sheet/%lld/head", (long long)sheet->id);
        html_lit(w, "<h2>The day</h2><details><summary>Weather, temperature, cranking speed, odometer</summary>"
                    "<p class=\"hint\">Next year's numbers can be set against these only if the day is known.</p>");
        html_form_open(w, request, action, false);
        sheet_form_write(w, request, &head, SHEET_FORM_DAY);
        piece_button(w, NULL, NULL, "", "Save the day");
        html_form_close(w);
        html_lit(w, "</details>\n");
    }
    if (rc >= 0)
        write_close(w, request, sheet, alert);
    html_page_close(w);
    ch_sheet_clear(&head);
    return rc;
}

ch_status page_sheet_get(web_request *request, web_response *response, ch_err *err)
{
    ch_store_sheet sheet;
    ch_status rc;
    if (!piece_sheet(request, response, &sheet, &rc, err))
        return rc;
    return sheet_page(request, response, &sheet, NULL, err);
}

ch_status page_sheet_revision_get(web_request *request, web_response *response, ch_err *err)
{
    int64_t revision = 0;
    const ch_status rc = ch_store_sheet_revision(request->store, web_part_id(request, 0), &revision, err);
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
    rc = sheet_form_read(request, SHEET_FORM_DAY, &head, err);
    if (rc >= 0)
        rc = ch_store_sheet_head(request->store, sheet.id, &head, request->now_s, err);
    ch_sheet_clear(&head);
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
    const char *what = piece_given(&request->form, "what"), *found = piece_given(&request->form, "found");
    const char *note = piece_given(&request->form, "note");
    if (what == NULL || ch_knowledge_observation_find(&know->knowledge, what, strlen(what)) == NULL)
        return ch_fail(err, CH_E_INPUT, "one of the list", "there is no such sign");
    char client[CH_STORE_CLIENT_MAX + 1];
    ch_store_row row;
    ch_store_row_init(&row, CH_STORE_OBSERVED);
    row.observed.what = (char *)(uintptr_t)what; /* only read */
    row.observed.note = (char *)(uintptr_t)note;
    row.observed.cylinder = piece_number(&request->form, "cylinder", 0);
    row.observed.absent = found != NULL && strcmp(found, "no") == 0;
    rc = ch_store_row_add(request->store, sheet.id, &row, piece_client(request, client), request->now_s, NULL, err);
    return rc < 0 ? rc : web_redirect(response, "/sheet/%lld", (long long)sheet.id);
}

ch_status page_sheet_close_post(web_request *request, web_response *response, ch_err *err)
{
    ch_store_sheet sheet;
    ch_status rc;
    ch_err own = {0};
    const char *what = piece_given(&request->form, "do");
    if (!piece_sheet(request, response, &sheet, &rc, err))
        return rc;
    if (what != NULL && strcmp(what, "reopen") == 0)
        rc = ch_store_sheet_reopen(request->store, sheet.id, request->now_s, &own);
    else
        rc =
            ch_store_sheet_close(request->store, sheet.id, piece_given(&request->form, "reason"), request->now_s, &own);
    if (rc == CH_E_INPUT) {
        char line[600];
        ch_err_format(&own, line, sizeof line);
        response->status = 409;
        return sheet_page(request, response, &sheet, line, err);
    }
    if (rc < 0 && err != NULL)
        *err = own;
    return rc < 0 ? rc : web_redirect(response, "/sheet/%lld", (long long)sheet.id);
}
