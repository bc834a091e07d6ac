/* GET /sheets: every test sheet, newest first. Query: car=ID shows those of one car. */
#include <stdlib.h>
#include <string.h>

#include "page.h"
#include "piece.h"

static const char *car_name(const ch_store_car *cars, size_t count, int64_t id)
{
    for (size_t i = 0; i < count; i++)
        if (cars[i].id == id)
            return cars[i].name;
    return NULL;
}

/* The car asked for; 0 = all. */
static int64_t asked_car(const web_request *request, const ch_store_car *cars, size_t count)
{
    const char *text = web_value(&request->query, "car");
    const int64_t id = text != NULL ? strtoll(text, NULL, 10) : 0;
    return car_name(cars, count, id) != NULL ? id : 0;
}

static void car_links(html_writer *w, const ch_store_car *cars, size_t count, int64_t chosen)
{
    if (count < 2)
        return;
    html_lit(w, "<nav aria-label=\"Cars\"><p><a class=\"button second\" href=\"/sheets\"");
    if (chosen == 0)
        html_attr(w, "aria-current", "page");
    html_lit(w, ">All cars</a>");
    for (size_t i = 0; i < count; i++) {
        html_lit(w, " <a class=\"button second\"");
        html_attrf(w, "href", "/sheets?car=%lld", (long long)cars[i].id);
        if (chosen == cars[i].id)
            html_attr(w, "aria-current", "page");
        html_lit(w, ">");
        html_text(w, cars[i].name);
        html_lit(w, "</a>");
    }
    html_lit(w, "</p></nav>\n");
}

static void one_sheet(html_writer *w, const ch_store_sheet *sheet, const char *car)
{
    char day[16];
    ch_date_format(sheet->day, day, sizeof day);
    html_lit(w, "<li class=\"card\"><h2>");
    html_textf(w, "%s%s%s", day[0] != '\0' ? day : "Day not given", car != NULL ? ", " : "", car != NULL ? car : "");
    html_lit(w, "</h2>\n");
    if (sheet->title != NULL) {
        html_lit(w, "<p>");
        html_text(w, sheet->title);
        html_lit(w, "</p>\n");
    }
    html_lit(w, "<p class=\"quiet\">");
    html_textf(w, "Sheet %lld: ", (long long)sheet->id);
    if (sheet->cylinders > 0)
        html_textf(w, "%d %s, ", sheet->cylinders, sheet->cylinders == 1 ? "cylinder" : "cylinders");
    html_textf(w, "%d %s, %s.", sheet->entries, sheet->entries == 1 ? "entry" : "entries",
               sheet->closed ? "closed" : "still open");
    html_lit(w, "</p>\n");
    if (sheet->ledger_open > 0) {
        html_lit(w, "<p class=\"warning\"><strong>Not put back yet: ");
        html_textf(w, "%d %s.", sheet->ledger_open, sheet->ledger_open == 1 ? "thing" : "things");
        html_lit(w, "</strong></p>\n");
    }
    html_lit(w, "<p><a class=\"button\"");
    html_attrf(w, "href", "/sheet/%lld/findings", (long long)sheet->id);
    html_lit(w, ">Findings");
    html_lit(w, "</a> <a class=\"button second\"");
    html_attrf(w, "href", "/sheet/%lld", (long long)sheet->id);
    html_lit(w, ">The sheet</a></p></li>\n");
}

/* Those that count for nothing any more, with when and why. */
static ch_status write_withdrawn(html_writer *w, web_request *request, const ch_store_car *cars, size_t cars_count,
                                 int64_t car, ch_err *err)
{
    const ch_store_sheet *gone = NULL;
    size_t count = 0;
    const ch_status rc = ch_store_sheets_withdrawn(request->store, &request->pool, car, &gone, &count, err);
    if (rc < 0 || count == 0)
        return rc;
    html_lit(w, "<h2>Withdrawn</h2><ul class=\"cards\">\n");
    for (size_t i = 0; i < count; i++) {
        char name[200];
        piece_sheet_name_among(cars, cars_count, &gone[i], name, sizeof name);
        html_lit(w, "<li class=\"card\"><a class=\"cover\"");
        html_attrf(w, "href", "/sheet/%lld", (long long)gone[i].id);
        html_lit(w, "><del>");
        html_text(w, name);
        html_lit(w, "</del></a><p class=\"quiet\">");
        html_textf(w, "Sheet %lld, withdrawn ", (long long)gone[i].id);
        piece_time(w, gone[i].withdrawn_s, request->now_s);
        if (gone[i].withdrawn_why != NULL)
            html_textf(w, ": %s", gone[i].withdrawn_why);
        html_lit(w, "</p></li>\n");
    }
    html_lit(w, "</ul>\n");
    return CH_OK;
}

ch_status page_sheets_get(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_car *cars = NULL;
    const ch_store_sheet *sheets = NULL;
    size_t cars_count = 0, count = 0;
    ch_status rc = ch_store_cars(request->store, &request->pool, &cars, &cars_count, err);
    const int64_t car = rc >= 0 ? asked_car(request, cars, cars_count) : 0;
    if (rc >= 0)
        rc = ch_store_sheets(request->store, &request->pool, car, &sheets, &count, err);
    if (rc < 0)
        return rc;
    html_writer *w = &response->page;
    html_page_open(w, request, "Test sheets");
    car_links(w, cars, cars_count, car);
    if (count == 0)
        html_lit(w, "<p>There is no test sheet yet.</p><p><a class=\"button wide\" href=\"/sheets/new\">Begin a test "
                    "sheet</a></p>\n");
    else
        html_lit(w, "<ul class=\"cards\">\n");
    for (size_t i = 0; i < count; i++)
        one_sheet(w, &sheets[i], car_name(cars, cars_count, sheets[i].car_id));
    if (count > 0)
        html_lit(w, "</ul>\n");
    rc = write_withdrawn(w, request, cars, cars_count, car, err);
    html_page_close(w);
    return rc;
}
