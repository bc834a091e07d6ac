/*
 * GET /car/ID/winter: the plan of this off-season: what to do, when, and why; the form that it is made from. Query: sheet=N suggests jobs by what that
 * sheet found.
 * POST: do = plan (the form of winter_form.h), done (hours and money spent, what is done) or over (the next winter begins).
 */
#include <string.h>

#include "page.h"
#include "piece.h"
#include "winter_answer.h"
#include "winter_form.h"
#include "winter_work.h"

enum { SEED = 1 }; /* as the terminal's */

static void downloads(html_writer *w, const winter_kept *kept)
{
    static const char *const files[][2] = {{"plan.pdf", "Print (PDF)"},        {"calendar.ics", "Calendar (iCalendar)"},
                                           {"calendar.csv", "Calendar (CSV)"}, {"shopping.csv", "Shopping list (CSV)"},
                                           {"plan.html", "Print (HTML)"},      {"plan.yaml", "The plan itself (YAML)"}};
    html_lit(w, "<h2>To take along</h2><p class=\"row no-print\">\n");
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        html_lit(w, "<a class=\"button second\"");
        html_attrf(w, "href", "/car/%lld/winter/%s", (long long)kept->car->id, files[i][0]);
        html_lit(w, ">");
        html_text(w, files[i][1]);
        html_lit(w, "</a>\n");
    }
    html_lit(w, "</p>\n");
}

/* `alert`: why the form of what is done was refused. */
static ch_status answer(html_writer *w, web_request *request, const winter_kept *kept, const char *alert, ch_err *err)
{
    ch_winter winter;
    const ch_status rc = ch_winter_answer(&kept->plan, SEED, &winter, err);
    if (rc < 0)
        return rc;
    winter_answer_write(w, kept, &winter);
    ch_status done = CH_OK;
    if (!winter.choice.feasible)
        piece_alert(w, alert);
    winter_spent_write(w, kept, winter.chosen);
    if (winter.choice.feasible) {
        done = winter_done_write(w, request, kept, winter.chosen, alert, err);
        downloads(w, kept);
    }
    ch_winter_clear(&winter);
    return done;
}

static ch_status winter_page(web_request *request, web_response *response, const winter_kept *kept, const char *alert,
                             ch_err *err)
{
    html_writer *w = &response->page;
    ch_status rc = CH_OK;
    html_page_open(w, request, "Winter work");
    html_lit(w,
             "<link rel=\"stylesheet\" href=\"/asset/garage.css\"><link rel=\"stylesheet\" href=\"/asset/winter.css\">"
             "<p><a class=\"button second\"");
    html_attrf(w, "href", "/car/%lld", (long long)kept->car->id);
    html_lit(w, ">");
    html_text(w, kept->car->name);
    html_lit(w, "</a></p>\n");
    const char *what = piece_typed(request, "do", "");
    const bool of_done = kept->any && strcmp(what, "done") == 0, of_over = strcmp(what, "over") == 0;
    const bool of_plan = alert != NULL && !of_done && !of_over;
    piece_alert(w, of_over ? alert : NULL);
    if (kept->any)
        rc = answer(w, request, kept, of_done ? alert : NULL, err);
    else
        html_lit(w, "<p>What comes apart once should come apart for everything that is due. Say what time and money "
                    "there is and what could be "
                    "done; the plan chooses and puts it on your days.</p>\n");
    if (kept->any) {
        html_lit(w, "<details");
        html_attr_if(w, "open", kept->fresh || of_plan);
        html_lit(w, "><summary>Change the plan</summary>\n");
    }
    winter_form_write(w, request, kept, of_plan ? alert : NULL);
    if (kept->any)
        html_lit(w, "</details>\n");
    winter_over_write(w, request, kept);
    html_page_close(w);
    return rc;
}

ch_status page_winter_get(web_request *request, web_response *response, ch_err *err)
{
    winter_kept kept;
    ch_status rc = winter_load(request, &kept, err);
    if (rc < 0)
        return rc;
    rc = kept.car == NULL ? web_not_found(request, response) : winter_page(request, response, &kept, NULL, err);
    winter_clear(&kept);
    return rc;
}

ch_status page_winter_post(web_request *request, web_response *response, ch_err *err)
{
    winter_kept kept;
    ch_err own = {0};
    char line[PIECE_LINE];
    ch_status rc = winter_load(request, &kept, err);
    if (rc < 0)
        return rc;
    if (kept.car == NULL || !piece_does(request, "plan done over")) {
        rc = web_not_found(request, response);
    } else {
        rc = piece_does(request, "done")   ? winter_done_keep(request, &kept, &own)
             : piece_does(request, "over") ? winter_over_keep(request, &kept, &own)
                                           : winter_form_keep(request, &kept, &own);
        if (piece_refused(rc, &own, response, line, err))
            rc = winter_page(request, response, &kept, line, err);
        else if (rc >= 0)
            rc = web_redirect(response, "/car/%lld/winter", (long long)kept.car->id);
    }
    winter_clear(&kept);
    return rc;
}
