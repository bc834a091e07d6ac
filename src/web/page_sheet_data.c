/* POST /sheet/ID/data: do = take (what is known now of engine and gauge into the sheet) or gauge (gauge: id, 0 = none). */
#include <stdio.h>

#include "page.h"
#include "sheet_parts.h"

ch_status sheet_data_offer(html_writer *w, web_request *request, const ch_store_sheet *sheet, ch_err *err)
{
    char action[64];
    bool grown = false;
    const ch_status rc = ch_store_sheet_grown(request->store, sheet->id, &grown, err);
    if (rc < 0 || !grown)
        return rc;
    html_lit(w, "<div class=\"notice no-print\"><p>More is known of the engine or the gauge by now than this sheet "
                "says: it was begun before that.</p>");
    if (sheet->closed) {
        html_lit(w, "<p>Open the sheet again to take it in.</p></div>\n");
        return CH_OK;
    }
    snprintf(action, sizeof action, "/sheet/%lld/data", (long long)sheet->id);
    html_form_open(w, request, action, false);
    piece_button(w, "do", "take", "second", "Take it into this sheet");
    html_form_close(w);
    html_lit(w, "</div>\n");
    return CH_OK;
}

ch_status sheet_data_gauge(html_writer *w, web_request *request, const ch_store_sheet *sheet, const char *alert,
                           ch_err *err)
{
    char action[64];
    const ch_store_gauge *gauges = NULL;
    size_t count = 0;
    const char *name = NULL;
    const ch_status rc = ch_store_gauges(request->store, &request->pool, &gauges, &count, err);
    if (rc < 0)
        return rc;
    for (size_t i = 0; i < count; i++)
        if (gauges[i].id == sheet->gauge_id)
            name = gauges[i].name;
    html_lit(w, "<h2 id=\"gauge\">The gauge</h2><p>");
    html_text(w, name != NULL ? name : "No gauge is named.");
    html_lit(w, "</p>\n");
    piece_alert(w, alert);
    if (sheet->closed)
        return CH_OK;
    html_lit(w, "<details");
    html_attr_if(w, "open", alert != NULL);
    html_lit(w, "><summary>Another gauge</summary>");
    if (count > 0) {
        snprintf(action, sizeof action, "/sheet/%lld/data", (long long)sheet->id);
        html_form_open(w, request, action, false);
        html_lit(w, "<label for=\"f-gauge\">Measured with</label><select id=\"f-gauge\" name=\"gauge\">"
                    "<option value=\"0\">None that is named</option>");
        for (size_t i = count; i-- > 0;) { /* the newest first */
            html_lit(w, "<option");
            html_attrf(w, "value", "%lld", (long long)gauges[i].id);
            html_attr_if(w, "selected", gauges[i].id == sheet->gauge_id);
            html_lit(w, ">");
            html_text(w, gauges[i].name);
            html_lit(w, "</option>");
        }
        html_lit(w, "</select><p class=\"hint\">It holds for all readings of this sheet. Swapped half-way: begin a "
                    "second sheet for the rest.</p>\n");
        piece_button(w, "do", "gauge", "second", "Take this gauge");
        html_form_close(w);
    }
    html_lit(w, "<p><a class=\"button second\" href=\"/cars\">Enter a gauge</a></p></details>\n");
    return CH_OK;
}

ch_status page_sheet_data_post(web_request *request, web_response *response, ch_err *err)
{
    ch_store_sheet sheet;
    ch_status rc;
    ch_err own = {0};
    char line[PIECE_LINE];
    if (!piece_sheet(request, response, &sheet, &rc, err))
        return rc;
    if (!piece_does(request, "take gauge"))
        return web_not_found(request, response);
    rc = ch_store_sheet_take(request->store, sheet.id,
                             piece_does(request, "gauge") ? piece_id(&request->form, "gauge") : sheet.gauge_id,
                             request->now_s, &own);
    if (piece_refused(rc, &own, response, line, err))
        return sheet_page(request, response, &sheet, FORM_GAUGE, line, err);
    return rc < 0 ? rc : web_redirect(response, "/sheet/%lld#gauge", (long long)sheet.id);
}
