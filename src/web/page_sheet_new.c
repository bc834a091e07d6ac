/*
 * GET /sheets/new: begin a sheet. Query: car.
 * POST /sheets/new: car, gauge (id; 0 = another one), gauge_name and the gauge fields of sheet_form.h for a new gauge, entry.
 */
#include "crosshatch/store_car.h"
#include "page.h"
#include "piece.h"
#include "sheet_form.h"

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
    const int64_t chosen = piece_id(&request->form, "gauge");
    if (count > 0) {
        html_lit(w, "<label for=\"f-gauge\">Gauge <span class=\"hint\">the one of last year, if you can: gauges differ "
                    "more than engines do</span></label><select id=\"f-gauge\" name=\"gauge\">");
        for (size_t i = count; i-- > 0;) { /* the newest first */
            html_lit(w, "<option");
            html_attrf(w, "value", "%lld", (long long)gauges[i].id);
            html_attr_if(w, "selected", gauges[i].id == chosen);
            html_lit(w, ">");
            html_text(w, gauges[i].name);
            html_lit(w, "</option>");
        }
        html_lit(w, "<option value=\"0\"");
        html_attr_if(w, "selected", request->post && chosen == 0);
        html_lit(w, ">Another one</option></select>\n");
    }
    html_lit(w, "<details");
    html_attr_if(w, "open", request->post);
    html_lit(w, "><summary>");
    html_text(w, count > 0 ? "A new gauge" : "Name the gauge: optional, worth it for next year");
    html_lit(w, "</summary>");
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
    if (name == NULL && sheet_form_typed(&request->form, SHEET_FORM_GAUGE))
        return ch_fail(err, CH_E_INPUT, "a name, as in green gauge",
                       "What is known of a new gauge is kept under its name");
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
    rc = piece_units_read(request, err);
    if (rc >= 0)
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
    char line[PIECE_LINE];
    return piece_refused(rc, &own, response, line, err) ? new_page(request, response, line, err) : rc;
}
