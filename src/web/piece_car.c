/* What the pages of a car share, see piece_car.h. */
#include "piece_car.h"

#include <math.h>
#include <string.h>

#include "crosshatch/show_words.h"

ch_status piece_car_find(web_request *request, int64_t id, const ch_store_car **car, ch_err *err)
{
    const ch_store_car *cars = NULL;
    size_t count = 0;
    const ch_status rc = ch_store_cars(request->store, &request->pool, &cars, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++)
        if (cars[i].id == id)
            *car = &cars[i];
    return rc;
}

bool piece_car(web_request *request, web_response *response, const ch_store_car **car, ch_status *rc, ch_err *err)
{
    *rc = piece_car_find(request, web_part_id(request, 0), car, err);
    if (*rc >= 0 && *car == NULL)
        *rc = web_not_found(request, response);
    return *car != NULL;
}

void piece_car_links(html_writer *w, const ch_store_car *car, const char *here)
{
    static const char *const pages[][2] = {
        {"", "Car"}, {"/season", "Season"}, {"/events", "Events"}, {"/parts", "Parts"}, {"/ready", "Ready"}};
    html_lit(w, "<nav class=\"tabs\" aria-label=\"This car\">");
    for (size_t i = 0; i < sizeof pages / sizeof pages[0]; i++) {
        html_lit(w, "<a");
        html_attrf(w, "href", "/car/%lld%s", (long long)car->id, pages[i][0]);
        if (here != NULL && strcmp(pages[i][0], here) == 0)
            html_lit(w, " aria-current=\"page\"");
        html_lit(w, ">");
        html_text(w, pages[i][1]);
        html_lit(w, "</a>");
    }
    html_lit(w, "</nav>\n");
}

void piece_car_open(web_request *request, web_response *response, const ch_store_car *car, const char *title,
                    const char *here)
{
    html_writer *w = &response->page;
    html_page_open(w, request, title);
    html_lit(w, "<link rel=\"stylesheet\" href=\"/asset/garage.css\"><p class=\"quiet\">");
    html_text(w, car->name);
    html_lit(w, "</p>");
    piece_car_links(w, car, here);
}

/* ---------------------------------------------------------------- numbers and days */

void piece_figure_text(double si, const ch_unit *unit, char text[PIECE_FIGURE])
{
    char number[CH_SHOW_NUMBER];
    text[0] = '\0';
    if (!isfinite(si))
        return;
    ch_show_number(ch_unit_from_si(si, unit), 3, number);
    size_t length = strlen(number);
    while (length > 1 && number[length - 1] == '0')
        length--;
    if (number[length - 1] == '.')
        length--;
    memcpy(text, number, length);
    text[length] = '\0';
}

ch_status piece_figure(const web_request *request, const char *name, const char *label, const ch_unit *unit,
                       double stored, double *si, ch_err *err)
{
    const char *typed = piece_given(&request->form, name);
    char as_written[PIECE_FIGURE];
    ch_quantity quantity = ch_quantity_none();
    ch_err own = {0};
    piece_figure_text(stored, unit, as_written);
    if (typed == NULL || strcmp(typed, as_written) == 0) {
        *si = typed == NULL ? NAN : stored;
        return CH_OK;
    }
    if (request->unread < 0)
        return piece_units_read(request, err);
    ch_status rc = ch_quantity_parse(typed, strlen(typed), unit->dimension, unit, &quantity, &own);
    if (rc >= 0)
        rc = ch_quantity_check_thousands(&quantity, &own);
    if (rc < 0)
        return ch_fail(err, rc, own.right[0] != '\0' ? own.right : NULL, "%s: %s", label, own.what);
    if (!(quantity.si >= 0.0))
        return ch_fail(err, CH_E_INPUT, "0 or more", "%s: below 0", label);
    *si = quantity.si;
    return CH_OK;
}

ch_status piece_count(const web_request *request, const char *name, const char *label, int64_t missing, int64_t *count,
                      ch_err *err)
{
    const bool given = piece_given(&request->form, name) != NULL;
    const int number = piece_number(&request->form, name, -1);
    if (given && number < 0)
        return ch_fail(err, CH_E_INPUT, "a whole number", "%s: not a number", label);
    *count = given ? number : missing;
    return CH_OK;
}

ch_status piece_day(const web_request *request, const char *name, const char *label, ch_date *day, ch_err *err)
{
    const char *typed = piece_given(&request->form, name);
    ch_err own = {0};
    *day = (ch_date){0};
    const ch_status rc = typed != NULL ? ch_date_parse(typed, strlen(typed), day, &own) : CH_OK;
    return rc < 0 ? ch_fail(err, rc, own.right[0] != '\0' ? own.right : NULL, "%s: %s", label, own.what) : CH_OK;
}
