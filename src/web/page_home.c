/* GET /: the start. What is still off a car first, then open sheets, whether each car is ready for its next event, then cars. No parameters. */
#include <stdlib.h>

#include "crosshatch/store_car.h"
#include "ledger_cards.h"
#include "page.h"
#include "steps.h"

/* The page stays short however many seasons there are; the others stand in /sheets. */
enum { OPEN_SHOWN = 20, CLOSED_SHOWN = 8 };

typedef struct garage {
    ledger_off off; /* in the order of putting it back */
    const web_know *know;
    const ch_store_sheet *sheets;
    const ch_store_car *cars;
    const ch_store_event *events; /* of all cars, by day */
    size_t sheets_count, cars_count, events_count;
} garage;

static ch_status load(web_request *request, garage *g, ch_err *err)
{
    const ch_store_ledger *off = NULL;
    size_t off_count = 0;
    const web_know *know = g->know = know_get(err);
    ch_status rc =
        know == NULL ? CH_E_IO : ch_store_ledger_list(request->store, &request->pool, 0, true, &off, &off_count, err);
    if (rc >= 0)
        rc = ledger_in_order(know, off, off_count, 0, &g->off, err);
    if (rc >= 0)
        rc = ch_store_sheets_recent(request->store, &request->pool, OPEN_SHOWN, CLOSED_SHOWN, &g->sheets,
                                    &g->sheets_count, err);
    if (rc >= 0)
        rc = ch_store_events(request->store, &request->pool, 0, &g->events, &g->events_count, err);
    return rc < 0 ? rc : ch_store_cars(request->store, &request->pool, &g->cars, &g->cars_count, err);
}

static ch_status write_off(html_writer *w, web_request *request, const garage *g, ch_err *err)
{
    ch_status rc = CH_OK;
    if (g->off.off == 0)
        return CH_OK;
    html_lit(w, "<section class=\"caution\" aria-labelledby=\"off\"><h2 id=\"off\">Still off the car: ");
    html_textf(w, "%zu", g->off.off);
    html_lit(w, "</h2><ul class=\"plain\">");
    for (size_t i = 0; i < g->off.off; i++) {
        const ch_store_ledger *entry = g->off.entry[i];
        html_lit(w, "<li><strong>");
        html_text(w, entry->what);
        html_lit(w, "</strong>");
        if (entry->lies != NULL) {
            html_lit(w, ", now ");
            html_text(w, entry->lies);
        }
        html_lit(w, "</li>");
    }
    html_lit(w, "</ul><p class=\"row\">");
    for (size_t i = 0; rc >= 0 && i < g->off.off; i++) {
        steps_ahead ahead;
        const ch_store_ledger *entry = g->off.entry[i], *before = i > 0 ? g->off.entry[i - 1] : NULL;
        if (before != NULL && before->sheet_id == entry->sheet_id && before->work_id == entry->work_id)
            continue; /* one link a sheet or piece of work, with what goes back first */
        rc = steps_ahead_find(request, g->know, g->off.entry + i, g->off.off - i, false, &ahead, err);
        steps_ahead_link(w, &ahead, "First, before it goes back: ");
        ledger_link(w, entry);
    }
    html_lit(w, "</p></section>\n");
    return rc;
}

static void write_sheets(html_writer *w, const garage *g, bool closed)
{
    size_t shown = 0;
    for (size_t i = 0; i < g->sheets_count; i++) {
        const ch_store_sheet *sheet = &g->sheets[i];
        if (sheet->closed != closed)
            continue;
        char name[200];
        piece_sheet_name_among(g->cars, g->cars_count, sheet, name, sizeof name);
        if (shown++ == 0 && closed)
            html_lit(w, "<h2>Closed sheets</h2><ul class=\"cards\">");
        else if (shown == 1)
            html_lit(w, "<h2>Sheets in work</h2><ul class=\"cards\">");
        html_lit(w, "<li class=\"card\"><a class=\"cover\"");
        html_attrf(w, "href", "/sheet/%lld", (long long)sheet->id);
        html_lit(w, ">");
        html_text(w, name);
        html_lit(w, "</a><br>");
        if (sheet->title != NULL) {
            html_text(w, sheet->title);
            html_lit(w, "<br>");
        }
        html_textf(w, "%d %s", sheet->entries, sheet->entries == 1 ? "entry" : "entries");
        if (sheet->ledger_open > 0)
            html_textf(w, ", %d off the car", sheet->ledger_open);
        html_lit(w, "</li>");
    }
    if (shown > 0)
        html_lit(w, "</ul>\n");
    if (closed && shown == CLOSED_SHOWN)
        html_lit(w, "<p><a href=\"/sheets\">All test sheets</a></p>\n");
}

static void write_cars(html_writer *w, const garage *g)
{
    if (g->cars_count == 0) {
        html_lit(w, "<p>Nothing here yet. Begin with the car: a name and the number of cylinders are enough.</p>"
                    "<p><a class=\"button wide\" href=\"/cars/new\">Enter a car</a></p>\n");
        return;
    }
    html_lit(w, "<p><a class=\"button wide\" href=\"/sheets/new\">Begin a test sheet</a></p>\n");
}

static void list_cars(html_writer *w, const garage *g)
{
    if (g->cars_count == 0)
        return;
    html_lit(w, "<h2>Cars</h2><ul class=\"cards\">");
    for (size_t i = 0; i < g->cars_count; i++) {
        html_lit(w, "<li class=\"card\"><a class=\"cover\"");
        html_attrf(w, "href", "/car/%lld", (long long)g->cars[i].id);
        html_lit(w, ">");
        html_text(w, g->cars[i].name);
        html_lit(w, "</a></li>");
    }
    html_lit(w, "</ul>\n");
}

/* The next event of each car, and the way to what stands before it. */
static void write_ready(html_writer *w, const garage *g, ch_date today)
{
    if (g->cars_count == 0)
        return;
    html_lit(w, "<h2>May I load the trailer?</h2><ul class=\"cards\">\n");
    for (size_t i = 0; i < g->cars_count; i++) {
        size_t next = 0;
        while (next < g->events_count &&
               (g->events[next].car_id != g->cars[i].id || ch_date_days(g->events[next].day) < ch_date_days(today)))
            next++;
        html_lit(w, "<li class=\"card\"><a class=\"cover\"");
        html_attrf(w, "href", "/car/%lld/ready", (long long)g->cars[i].id);
        html_lit(w, ">");
        html_textf(w, "Is %s ready?", g->cars[i].name);
        html_lit(w, "</a><br>");
        if (next < g->events_count) {
            char day[16];
            ch_date_format(g->events[next].day, day, sizeof day);
            html_textf(w, "Next: %s on %s", g->events[next].name, day);
        } else {
            html_lit(w, "No event is planned");
        }
        html_lit(w, "</li>\n");
    }
    html_lit(w, "</ul>\n");
}

ch_status page_home_get(web_request *request, web_response *response, ch_err *err)
{
    garage g = {0};
    html_writer *w = &response->page;
    ch_status rc = load(request, &g, err);
    if (rc < 0) {
        free(g.off.entry);
        return rc;
    }
    html_page_open(w, request, "Garage");
    html_lit(w, "<link rel=\"stylesheet\" href=\"/asset/garage.css\">"
                "<script type=\"module\" src=\"/asset/queue.mjs\"></script>\n");
    rc = write_off(w, request, &g, err);
    write_cars(w, &g);
    write_sheets(w, &g, false);
    write_ready(w, &g, piece_today(request->now_s));
    list_cars(w, &g);
    write_sheets(w, &g, true);
    html_lit(w, "<p><a class=\"button second\" href=\"/whatif\">What if: play with a compression test</a></p>\n"
                "<p><a class=\"button second\" href=\"/export\">Take out and bring in</a></p>\n");
    html_page_close(w);
    free(g.off.entry);
    return rc;
}
