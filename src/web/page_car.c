/*
 * GET /car/ID: a car, its engine, its sheets.
 * POST /car/ID: change it. Fields: do = car (name, note) or engine (those of sheet_form.h, engine and more).
 */
#include <stdio.h>
#include <string.h>

#include "crosshatch/store_car.h"
#include "page.h"
#include "piece_car.h"
#include "sheet_form.h"

static ch_status write_sheets(html_writer *w, web_request *request, const ch_store_car *car, ch_err *err)
{
    const ch_store_sheet *sheets = NULL;
    size_t count = 0;
    const ch_status rc = ch_store_sheets(request->store, &request->pool, car->id, &sheets, &count, err);
    if (rc < 0)
        return rc;
    html_lit(w, "<h2>Sheets</h2>");
    if (count == 0)
        html_lit(w, "<p>None yet.</p>");
    html_lit(w, "<ul class=\"cards\">");
    for (size_t i = 0; i < count; i++) {
        char day[16];
        ch_date_format(sheets[i].day, day, sizeof day);
        html_lit(w, "<li class=\"card\"><a class=\"cover\"");
        html_attrf(w, "href", "/sheet/%lld", (long long)sheets[i].id);
        html_lit(w, ">");
        html_text(w, day[0] != '\0' ? day : "Sheet without a day");
        html_lit(w, "</a><br>");
        html_text(w, sheets[i].title);
        html_textf(w, "%s%d %s, %s", sheets[i].title != NULL ? ", " : "", sheets[i].entries,
                   sheets[i].entries == 1 ? "entry" : "entries", sheets[i].closed ? "closed" : "in work");
        html_lit(w, "</li>");
    }
    html_lit(w, "</ul>\n");
    return CH_OK;
}

/* Whether this form was refused: then it stands open, with what was typed. */
static bool refused(const web_request *request, const char *form)
{
    const char *what = piece_typed(request, "do", "");
    return request->post && strcmp(what, form) == 0;
}

static void write_engine(html_writer *w, web_request *request, const ch_sheet *described, const char *alert)
{
    html_lit(w, "<h2>Engine</h2>");
    if (refused(request, "engine"))
        piece_alert(w, alert);
    html_lit(w, "<details");
    html_attr_if(w, "open", refused(request, "engine"));
    html_lit(w, "><summary>What is known of it</summary>");
    html_form_open(w, request, request->path, false);
    piece_hidden(w, "do", "engine");
    sheet_form_write(w, request, described, SHEET_FORM_ENGINE);
    sheet_form_write(w, request, described, SHEET_FORM_MORE);
    html_lit(w, "<p class=\"hint\">Sheets begun earlier keep what was known then, until you take the new data in on "
                "their page.</p>");
    piece_button(w, NULL, NULL, "", "Save the engine");
    html_form_close(w);
    html_lit(w, "</details>\n");
}

/* The lives of the car's engines, and the way to a new one. */
static ch_status write_lives(html_writer *w, web_request *request, const ch_store_car *car, ch_err *err)
{
    static const char *const why[] = {"", ", rebuilt", ", swapped in"};
    const ch_store_engine *lives = NULL;
    size_t count = 0;
    const ch_status rc = ch_store_engines(request->store, &request->pool, car->id, &lives, &count, err);
    if (rc < 0)
        return rc;
    html_lit(w, "<h2>Lives of the engine</h2><ul>");
    for (size_t i = count; i-- > 0;) { /* the newest first */
        char begun[16], ended[16], since[32] = "";
        ch_date_format(lives[i].begun, begun, sizeof begun);
        ch_date_format(lives[i].ended, ended, sizeof ended);
        html_lit(w, "<li><strong>");
        html_text(w, lives[i].name);
        html_lit(w, "</strong>");
        /* The first was in the car before it was entered; of a rebuild of a day before that, the day of entry tells nothing. */
        if (lives[i].why != CH_STORE_FIRST)
            snprintf(since, sizeof since, ", since %s", begun);
        else if (!ch_date_given(lives[i].ended) || ch_date_days(lives[i].begun) < ch_date_days(lives[i].ended))
            snprintf(since, sizeof since, ", entered %s", begun);
        html_textf(w, "%s%s%s%s", why[lives[i].why], since, ended[0] != '\0' ? ", until " : "", ended);
        html_lit(w, "</li>");
    }
    html_lit(w, "</ul><p><a class=\"button second\"");
    html_attrf(w, "href", "/car/%lld/engine", (long long)car->id);
    html_lit(w, ">Rebuilt or swapped</a></p>\n");
    return CH_OK;
}

static void write_car(html_writer *w, const web_request *request, const ch_store_car *car, const char *alert)
{
    if (!refused(request, "engine"))
        piece_alert(w, alert);
    html_lit(w, "<details");
    html_attr_if(w, "open", refused(request, "car"));
    html_lit(w, "><summary>Name and note</summary>");
    html_form_open(w, request, request->path, false);
    piece_hidden(w, "do", "car");
    piece_field(
        w, &(piece_input){
               .label = "Name", .name = "name", .value = piece_typed(request, "name", car->name), .required = true});
    piece_field(w,
                &(piece_input){
                    .label = "Note", .name = "note", .value = piece_typed(request, "note", car->note), .area = true});
    piece_button(w, NULL, NULL, "", "Save the car");
    html_form_close(w);
    html_lit(w, "</details>\n");
}

static ch_status car_page(web_request *request, web_response *response, const ch_store_car *car, const char *alert,
                          ch_err *err)
{
    html_writer *w = &response->page;
    ch_status rc = CH_OK;
    ch_sheet described;
    ch_sheet_init(&described);
    if (car->engine_id != 0)
        rc = ch_store_engine_load(request->store, car->engine_id, &described, err);
    if (rc >= 0) {
        html_page_open(w, request, car->name);
        html_lit(w, "<link rel=\"stylesheet\" href=\"/asset/garage.css\">");
        piece_car_links(w, car, "");
        html_lit(w, "<p><a class=\"button wide\"");
        html_attrf(w, "href", "/sheets/new?car=%lld", (long long)car->id);
        html_lit(w, ">Begin a test sheet</a><a class=\"button second wide\"");
        html_attrf(w, "href", "/car/%lld/ready", (long long)car->id);
        html_lit(w, ">May I load the trailer?</a><a class=\"button second wide\"");
        html_attrf(w, "href", "/car/%lld/winter", (long long)car->id);
        html_lit(w, ">Winter work</a><a class=\"button second wide\"");
        html_attrf(w, "href", "/car/%lld/driveline", (long long)car->id);
        html_lit(w, ">Does the clutch slip?</a></p>\n");
        if (car->note != NULL) {
            html_lit(w, "<p class=\"note\">");
            html_text(w, car->note);
            html_lit(w, "</p>");
        }
        if (described.engine.cylinders > 0) {
            static const char *const layouts[] = {"", ", in line", ", vee", ", flat"};
            html_lit(w, "<p class=\"quiet\">");
            html_textf(w, "%d %s%s", described.engine.cylinders,
                       described.engine.cylinders == 1 ? "cylinder" : "cylinders", layouts[described.engine.layout]);
            html_lit(w, "</p>\n");
        }
        rc = write_sheets(w, request, car, err);
        if (car->engine_id != 0)
            write_engine(w, request, &described, alert);
        if (rc >= 0)
            rc = write_lives(w, request, car, err);
        write_car(w, request, car, alert);
        html_page_close(w);
    }
    ch_sheet_clear(&described);
    return rc;
}

ch_status page_car_get(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_car *car = NULL;
    ch_status rc;
    return piece_car(request, response, &car, &rc, err) ? car_page(request, response, car, NULL, err) : rc;
}

static ch_status change_engine(web_request *request, const ch_store_car *car, ch_err *err)
{
    ch_sheet described;
    ch_sheet_init(&described);
    /* What the form does not show stays. */
    ch_status rc = ch_store_engine_load(request->store, car->engine_id, &described, err);
    if (rc >= 0)
        rc = sheet_form_read(request, SHEET_FORM_ENGINE, &described, err);
    if (rc >= 0)
        rc = sheet_form_read(request, SHEET_FORM_MORE, &described, err);
    if (rc >= 0)
        rc = ch_store_engine_describe(request->store, car->engine_id, &described, request->now_s, err);
    ch_sheet_clear(&described);
    return rc;
}

ch_status page_car_post(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_car *car = NULL;
    ch_status rc;
    if (!piece_car(request, response, &car, &rc, err))
        return rc;
    if (!piece_does(request, "car engine"))
        return web_not_found(request, response);
    ch_err own = {0};
    char line[PIECE_LINE];
    if (piece_does(request, "engine") && car->engine_id != 0) {
        rc = change_engine(request, car, &own);
    } else {
        const ch_store_car changed = {
            .id = car->id, .name = piece_given(&request->form, "name"), .note = piece_given(&request->form, "note")};
        rc = changed.name != NULL ? ch_store_car_change(request->store, &changed, request->now_s, &own)
                                  : ch_fail(&own, CH_E_INPUT, NULL, "The car needs a name.");
    }
    if (piece_refused(rc, &own, response, line, err))
        return car_page(request, response, car, line, err);
    return rc < 0 ? rc : web_redirect(response, "/car/%lld", (long long)car->id);
}
