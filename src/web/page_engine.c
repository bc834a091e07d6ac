/*
 * GET /car/ID/engine: the engine was rebuilt, or another is in: a new life begins, and hours and distance are counted anew.
 * POST: why = rebuild | swap, engine_name, begun (a day), those of sheet_form.h (engine; of a swap), entry.
 */
#include <string.h>

#include "crosshatch/store_car.h"
#include "page.h"
#include "piece.h"
#include "sheet_form.h"

static ch_status find_car(web_request *request, const ch_store_car **found, ch_err *err)
{
    const ch_store_car *cars = NULL;
    size_t count = 0;
    const int64_t id = web_part_id(request, 0);
    const ch_status rc = ch_store_cars(request->store, &request->pool, &cars, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++)
        if (cars[i].id == id)
            *found = &cars[i];
    return rc;
}

static ch_status engine_page(web_request *request, web_response *response, const ch_store_car *car, const char *alert,
                             ch_err *err)
{
    html_writer *w = &response->page;
    char today[16];
    ch_sheet described;
    ch_sheet_init(&described);
    ch_status rc = car->engine_id != 0 ? ch_store_engine_load(request->store, car->engine_id, &described, err) : CH_OK;
    if (rc < 0) {
        ch_sheet_clear(&described);
        return rc;
    }
    ch_date_format(piece_today(request->now_s), today, sizeof today);
    html_page_open(w, request, "A new life of the engine");
    html_lit(w, "<link rel=\"stylesheet\" href=\"/asset/garage.css\"><p><a class=\"button second\"");
    html_attrf(w, "href", "/car/%lld", (long long)car->id);
    html_lit(w, ">");
    html_text(w, car->name);
    html_lit(w, "</a></p><p class=\"hint\">Hours and distance of the engine begin at zero; parts that stay keep "
                "theirs. Earlier "
                "sheets stay with the engine as it was.</p>\n");
    piece_alert(w, alert);
    html_form_open(w, request, request->path, false);
    rc = piece_entry(w, err);
    const char *why = piece_typed(request, "why", "rebuild");
    html_lit(w, "<fieldset><legend>What happened</legend>");
    piece_choice(w, "why", "rebuild", "The same engine, rebuilt", why);
    piece_choice(w, "why", "swap", "Another engine is in", why);
    html_lit(w, "</fieldset>\n");
    piece_field(w, &(piece_input){.label = "On this day",
                                  .name = "begun",
                                  .value = piece_typed(request, "begun", today),
                                  .type = "date",
                                  .required = true});
    piece_field(w, &(piece_input){.label = "Name of the engine",
                                  .name = "engine_name",
                                  .value = piece_typed(request, "engine_name", NULL),
                                  .hint = "as in: rebuilt 2027"});
    html_lit(w, "<p class=\"hint\">Of another engine:</p>");
    sheet_form_write(w, request, &described, SHEET_FORM_ENGINE);
    piece_button(w, NULL, NULL, "wide", "Begin the new life");
    html_form_close(w);
    html_page_close(w);
    ch_sheet_clear(&described);
    return rc;
}

ch_status page_engine_get(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_car *car = NULL;
    const ch_status rc = find_car(request, &car, err);
    if (rc < 0)
        return rc;
    return car == NULL ? web_not_found(request, response) : engine_page(request, response, car, NULL, err);
}

/* A rebuilt engine is what it was; of another one the form says how many cylinders it has, and the car's page takes the rest. */
static ch_status begin(web_request *request, const ch_store_car *car, ch_err *err)
{
    const web_fields *form = &request->form;
    const char *why = piece_given(form, "why"), *day = piece_given(form, "begun");
    const char *name = piece_given(form, "engine_name");
    const bool rebuild = why == NULL || strcmp(why, "swap") != 0;
    char client[CH_STORE_CLIENT_MAX + 1];
    ch_store_engine engine = {.car_id = car->id,
                              .continues_id = rebuild ? car->engine_id : 0,
                              .name = name != NULL ? name
                                      : rebuild    ? "Rebuilt engine"
                                                   : "Engine",
                              .why = rebuild ? CH_STORE_REBUILD : CH_STORE_SWAP,
                              .begun = piece_today(request->now_s)};
    ch_sheet described;
    ch_sheet_init(&described);
    ch_status rc = rebuild && car->engine_id == 0
                       ? ch_fail(err, CH_E_INPUT, "choose another engine", "no engine is in the car to be rebuilt")
                       : CH_OK;
    if (rc >= 0 && day != NULL)
        rc = ch_date_parse(day, strlen(day), &engine.begun, err);
    if (rc >= 0 && !rebuild)
        rc = sheet_form_read(request, SHEET_FORM_ENGINE, &described, err);
    if (rc >= 0)
        rc = ch_store_engine_begin(request->store, &engine, NULL, 0, rebuild ? NULL : &described,
                                   piece_client(request, client), request->now_s, NULL, err);
    ch_sheet_clear(&described);
    return rc;
}

ch_status page_engine_post(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_car *car = NULL;
    ch_err own = {0};
    char line[PIECE_LINE];
    ch_status rc = find_car(request, &car, err);
    if (rc < 0)
        return rc;
    if (car == NULL)
        return web_not_found(request, response);
    rc = begin(request, car, &own);
    if (piece_refused(rc, &own, response, line, err))
        return engine_page(request, response, car, line, err);
    return rc < 0 ? rc : web_redirect(response, "/car/%lld", (long long)car->id);
}
