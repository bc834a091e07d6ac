/* The frame of every page: what the browser must know, where one is, and the way home. */
#include "html_page.h"

#include <string.h>

/* What can be gone to from everywhere. */
static const struct {
    const char *path, *name;
} rooms[] = {{"/", "Garage"}, {"/sheets", "Sheets"}, {"/cars", "Cars"}, {"/settings", "Settings"}, {"/help", "Help"}};

void html_page_open(html_writer *w, const web_request *request, const char *title)
{
    html_lit(w, "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>");
    html_text(w, title);
    html_lit(w, " - crosshatch</title><meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">"
                "<meta name=\"color-scheme\" content=\"light dark\"><meta name=\"token\"");
    html_attr(w, "content", request->token);
    html_lit(w, "><link rel=\"icon\" href=\"/asset/icon.svg\" type=\"image/svg+xml\">"
                "<link rel=\"stylesheet\" href=\"/asset/look.css\">"
                "<script type=\"module\" src=\"/asset/main.js\"></script></head>\n"
                "<body><a class=\"skip\" href=\"#main\">To the content</a>"
                "<header><nav class=\"top\" aria-label=\"Rooms\">");
    for (size_t i = 0; i < sizeof rooms / sizeof rooms[0]; i++) {
        html_lit(w, "<a");
        html_attr(w, "href", rooms[i].path);
        if (request->path != NULL && strcmp(request->path, rooms[i].path) == 0)
            html_lit(w, " aria-current=\"page\"");
        html_lit(w, ">");
        html_text(w, rooms[i].name);
        html_lit(w, "</a>");
    }
    html_lit(w, "</nav></header>\n"
                "<main id=\"main\" tabindex=\"-1\"><h1>");
    html_text(w, title);
    html_lit(w, "</h1>\n");
    if (request->store != NULL && ch_store_read_only(request->store))
        html_lit(w, "<p class=\"notice\">This garage may only be read: nothing can be entered.</p>\n");
    if (web_value(&request->query, "saved") != NULL)
        html_lit(w, "<p class=\"saved\" role=\"status\">Saved.</p>\n");
}

void html_page_close(html_writer *w)
{
    html_lit(w, "</main>\n<footer><p>crosshatch " CROSSHATCH_VERSION
                ". It advises; the vehicle's own service manual and the owner decide.</p></footer></body></html>\n");
}

void html_form_open(html_writer *w, const web_request *request, const char *action, bool files)
{
    html_lit(w, "<form method=\"post\"");
    html_attr(w, "action", action);
    if (files)
        html_lit(w, " enctype=\"multipart/form-data\"");
    html_lit(w, "><input type=\"hidden\" name=\"token\"");
    html_attr(w, "value", request->token);
    html_lit(w, ">");
}

void html_form_close(html_writer *w)
{
    html_lit(w, "</form>\n");
}
