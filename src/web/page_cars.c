/*
 * GET /cars: cars and gauges.
 * GET, POST /cars/new: enter a car with its engine. Fields: name, engine_name, those of sheet_form.h (engine, more), entry.
 * POST /gauges: enter a gauge. Fields: gauge_name, those of sheet_form.h (gauge), entry.
 * GET, POST /gauge/ID: look at and change a gauge. The same fields, gauge_note.
 */
#include "crosshatch/store_car.h"
#include "page.h"
#include "piece.h"
#include "sheet_form.h"

static void open_page(html_writer *w, const web_request *request, const char *title)
{
    html_page_open(w, request, title);
    html_lit(w, "<link rel=\"stylesheet\" href=\"/asset/garage.css\">\n");
}

/* ---------------------------------------------------------------- cars and gauges */

static ch_status write_gauge_form(html_writer *w, web_request *request, ch_err *err)
{
    ch_sheet none;
    ch_sheet_init(&none);
    html_form_open(w, request, "/gauges", false);
    const ch_status rc = piece_entry(w, err);
    piece_field(w, &(piece_input){.label = "Name of the gauge",
                                  .name = "gauge_name",
                                  .value = piece_given(&request->form, "gauge_name"),
                                  .hint = "what you call it",
                                  .required = true});
    html_lit(w, "<details");
    html_attr_if(w, "open", request->post);
    html_lit(w, "><summary>What is known of it</summary>");
    sheet_form_write(w, request, &none, SHEET_FORM_GAUGE);
    html_lit(w, "</details>");
    piece_button(w, NULL, NULL, "", "Enter the gauge");
    html_form_close(w);
    return rc;
}

static ch_status cars_page(web_request *request, web_response *response, const char *alert, ch_err *err)
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
    open_page(w, request, "Cars and gauges");
    html_lit(w, "<h2>Cars</h2><ul class=\"cards\">");
    for (size_t i = 0; i < cars_count; i++) {
        html_lit(w, "<li class=\"card\"><a class=\"cover\"");
        html_attrf(w, "href", "/car/%lld", (long long)cars[i].id);
        html_lit(w, ">");
        html_text(w, cars[i].name);
        html_lit(w, "</a></li>");
    }
    html_lit(w,
             "</ul><p><a class=\"button\" href=\"/cars/new\">Enter a car</a></p>\n<h2>Gauges</h2><ul class=\"cards\">");
    for (size_t i = 0; i < gauges_count; i++) {
        html_lit(w, "<li class=\"card\"><a class=\"cover\"");
        html_attrf(w, "href", "/gauge/%lld", (long long)gauges[i].id);
        html_lit(w, ">");
        html_text(w, gauges[i].name);
        html_lit(w, "</a></li>");
    }
    html_lit(w, "</ul>\n");
    piece_alert(w, alert);
    rc = write_gauge_form(w, request, err);
    html_page_close(w);
    return rc;
}

ch_status page_cars_get(web_request *request, web_response *response, ch_err *err)
{
    return cars_page(request, response, NULL, err);
}

/* ---------------------------------------------------------------- a new car */

static ch_status new_car_page(web_request *request, web_response *response, const ch_sheet *described,
                              const char *alert, ch_err *err)
{
    html_writer *w = &response->page;
    open_page(w, request, "A new car");
    piece_alert(w, alert);
    html_form_open(w, request, "/cars/new", false);
    const ch_status rc = piece_entry(w, err);
    piece_field(w, &(piece_input){.label = "Name of the car",
                                  .name = "name",
                                  .value = piece_given(&request->form, "name"),
                                  .hint = "what you call it; its engine: four-stroke petrol, with pistons",
                                  .required = true});
    sheet_form_write(w, request, described, SHEET_FORM_ENGINE);
    html_lit(w, "<details");
    html_attr_if(w, "open", alert != NULL);
    html_lit(w, "><summary>More about the engine: all of it optional</summary>"
                "<p class=\"hint\">The more is known, the sharper the findings. All of it can be added later; what is "
                "not known is assumed, and the findings say so.</p>");
    piece_field(w, &(piece_input){.label = "Name of the engine",
                                  .name = "engine_name",
                                  .value = piece_given(&request->form, "engine_name")});
    sheet_form_write(w, request, described, SHEET_FORM_MORE);
    html_lit(w, "</details>");
    piece_button(w, NULL, NULL, "wide", "Enter the car");
    html_form_close(w);
    html_page_close(w);
    return rc;
}

ch_status page_car_new_get(web_request *request, web_response *response, ch_err *err)
{
    ch_sheet none;
    ch_sheet_init(&none);
    return new_car_page(request, response, &none, NULL, err);
}

static ch_status enter_car(web_request *request, const ch_sheet *described, int64_t *car_id, ch_err *err)
{
    char client[CH_STORE_CLIENT_MAX + 1];
    const char *engine_name = piece_given(&request->form, "engine_name");
    ch_stored car = {0};
    const ch_store_engine engine = {.name = engine_name != NULL ? engine_name : "Engine",
                                    .why = CH_STORE_FIRST,
                                    .begun = piece_today(request->now_s)};
    const ch_status rc =
        ch_store_car_enter(request->store, &(ch_store_car){.name = piece_given(&request->form, "name")}, &engine,
                           described, piece_client(request, client), request->now_s, &car, err);
    if (rc >= 0)
        *car_id = car.id;
    return rc;
}

ch_status page_car_new_post(web_request *request, web_response *response, ch_err *err)
{
    ch_sheet described;
    ch_err own = {0};
    int64_t car_id = 0;
    ch_sheet_init(&described);
    ch_status rc =
        piece_given(&request->form, "name") != NULL ? CH_OK : ch_fail(&own, CH_E_INPUT, NULL, "The car needs a name.");
    if (rc >= 0)
        rc = sheet_form_read(request, SHEET_FORM_ENGINE, &described, &own);
    if (rc >= 0)
        rc = sheet_form_read(request, SHEET_FORM_MORE, &described, &own);
    if (rc >= 0)
        rc = enter_car(request, &described, &car_id, &own);
    char line[PIECE_LINE];
    if (rc >= 0)
        rc = web_redirect(response, "/sheets/new?car=%lld", (long long)car_id);
    else if (piece_refused(rc, &own, response, line, err))
        rc = new_car_page(request, response, &described, line, err);
    ch_sheet_clear(&described);
    return rc;
}

/* ---------------------------------------------------------------- gauges */

ch_status page_gauges_post(web_request *request, web_response *response, ch_err *err)
{
    ch_sheet described;
    char client[CH_STORE_CLIENT_MAX + 1];
    ch_sheet_init(&described);
    const ch_store_gauge gauge = {.name = piece_given(&request->form, "gauge_name")};
    ch_err own = {0};
    char line[PIECE_LINE];
    ch_status rc = gauge.name != NULL ? CH_OK : ch_fail(&own, CH_E_INPUT, NULL, "The gauge needs a name.");
    if (rc >= 0)
        rc = sheet_form_read(request, SHEET_FORM_GAUGE, &described, &own);
    if (rc >= 0)
        rc = ch_store_gauge_add(request->store, &gauge, &described, piece_client(request, client), request->now_s, NULL,
                                &own);
    ch_sheet_clear(&described);
    if (piece_refused(rc, &own, response, line, err))
        return cars_page(request, response, line, err);
    return rc < 0 ? rc : web_redirect(response, "/cars");
}

/* The gauge of the path; NULL where there is none. */
static ch_status find_gauge(web_request *request, const ch_store_gauge **found, ch_err *err)
{
    const ch_store_gauge *gauges = NULL;
    size_t count = 0;
    const int64_t id = web_part_id(request, 0);
    const ch_status rc = ch_store_gauges(request->store, &request->pool, &gauges, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++)
        if (gauges[i].id == id)
            *found = &gauges[i];
    return rc;
}

static ch_status gauge_page(web_request *request, web_response *response, const ch_store_gauge *gauge,
                            const char *alert, ch_err *err)
{
    html_writer *w = &response->page;
    ch_sheet described;
    ch_sheet_init(&described);
    const ch_status rc = ch_store_gauge_load(request->store, gauge->id, &described, err);
    if (rc >= 0) {
        open_page(w, request, gauge->name);
        piece_alert(w, alert);
        html_form_open(w, request, request->path, false);
        piece_field(w, &(piece_input){.label = "Name",
                                      .name = "gauge_name",
                                      .value = piece_typed(request, "gauge_name", gauge->name),
                                      .required = true});
        sheet_form_write(w, request, &described, SHEET_FORM_GAUGE);
        piece_field(w, &(piece_input){.label = "Note",
                                      .name = "gauge_note",
                                      .value = piece_typed(request, "gauge_note", gauge->note),
                                      .area = true});
        html_lit(w, "<p class=\"hint\">Sheets begun earlier keep what was known then, until you take the new data in "
                    "on their page.</p>");
        piece_button(w, NULL, NULL, "", "Save");
        html_form_close(w);
        html_page_close(w);
    }
    ch_sheet_clear(&described);
    return rc;
}

ch_status page_gauge_get(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_gauge *gauge = NULL;
    const ch_status rc = find_gauge(request, &gauge, err);
    if (rc < 0)
        return rc;
    return gauge == NULL ? web_not_found(request, response) : gauge_page(request, response, gauge, NULL, err);
}

/* What the form does not show stays. */
static ch_status change_gauge(web_request *request, const ch_store_gauge *gauge, ch_err *err)
{
    ch_sheet described;
    if (gauge->name == NULL)
        return ch_fail(err, CH_E_INPUT, NULL, "The gauge needs a name.");
    ch_sheet_init(&described);
    ch_status rc = ch_store_gauge_load(request->store, gauge->id, &described, err);
    if (rc >= 0)
        rc = sheet_form_read(request, SHEET_FORM_GAUGE, &described, err);
    if (rc >= 0)
        rc = ch_store_gauge_change(request->store, gauge, &described, request->now_s, err);
    ch_sheet_clear(&described);
    return rc;
}

ch_status page_gauge_post(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_gauge *old = NULL;
    ch_err own = {0};
    char line[PIECE_LINE];
    ch_status rc = find_gauge(request, &old, err);
    if (rc < 0)
        return rc;
    if (old == NULL)
        return web_not_found(request, response);
    rc = change_gauge(request,
                      &(ch_store_gauge){.id = old->id,
                                        .name = piece_given(&request->form, "gauge_name"),
                                        .note = piece_given(&request->form, "gauge_note")},
                      &own);
    if (piece_refused(rc, &own, response, line, err))
        return gauge_page(request, response, old, line, err);
    return rc < 0 ? rc : web_redirect(response, "/cars");
}
