/* GET /car/ID/winter/FILE: the plan as calendar.ics, calendar.csv, shopping.csv, plan.yaml, plan.html or plan.pdf. */
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_winter.h"
#include "page.h"
#include "piece.h"
#include "printed.h"
#include "winter_kept.h"

enum { SEED = 1 }; /* as the page's */

typedef struct file {
    const char *name, *type;
} file;

static const file files[] = {
    {"calendar.ics", "text/calendar; charset=utf-8"}, {"calendar.csv", "text/csv; charset=utf-8"},
    {"shopping.csv", "text/csv; charset=utf-8"},      {"plan.yaml", "application/yaml; charset=utf-8"},
    {"plan.html", "text/html; charset=utf-8"},        {"plan.pdf", "application/pdf"},
};

static ch_status printed(web_request *request, const winter_kept *kept, const ch_winter *winter, bool pdf,
                         ch_text *data, ch_err *err)
{
    ch_document *document = NULL;
    ch_paper paper;
    ch_status rc = printed_paper(request, &paper, err);
    if (rc >= 0)
        rc = ch_report_winter(&kept->plan, winter, &kept->know->jobs, &document, err);
    if (rc >= 0)
        rc = pdf ? ch_document_pdf(document, paper, piece_today(request->now_s), data, err)
                 : ch_document_html(document, data, err);
    ch_document_free(document);
    return rc;
}

static ch_status write_file(web_request *request, const char *name, const winter_kept *kept, const ch_winter *winter,
                            ch_text *data, ch_err *err)
{
    const ch_plan *plan = &kept->plan;
    if (strcmp(name, "plan.yaml") == 0)
        return ch_plan_write(plan, data, err);
    if (strcmp(name, "plan.pdf") == 0 || strcmp(name, "plan.html") == 0)
        return printed(request, kept, winter, strcmp(name, "plan.pdf") == 0, data, err);
    if (!winter->choice.feasible)
        return ch_fail(err, CH_E_INPUT, "the plan's page says by how much", "what must be done cannot be done");
    if (strcmp(name, "calendar.ics") == 0)
        return ch_show_winter_ics(plan, winter, data, err);
    if (strcmp(name, "calendar.csv") == 0)
        ch_show_winter_csv(plan, winter, data);
    else
        ch_show_winter_shopping(plan, winter, data);
    return ch_text_check(data, err);
}

ch_status page_winter_file_get(web_request *request, web_response *response, ch_err *err)
{
    winter_kept kept;
    const file *wanted = NULL;
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++)
        if (strcmp(files[i].name, request->part[1]) == 0)
            wanted = &files[i];
    ch_status rc = winter_load(request, &kept, err);
    if (rc < 0)
        return rc;
    if (kept.car == NULL || !kept.any || wanted == NULL) {
        rc = web_not_found(request, response);
    } else {
        ch_winter winter;
        rc = ch_winter_answer(&kept.plan, SEED, &winter, err);
        if (rc >= 0) {
            rc = write_file(request, wanted->name, &kept, &winter, &response->data, err);
            response->data_type = rc >= 0 ? wanted->type : NULL;
            snprintf(response->download, sizeof response->download, "%s", rc >= 0 ? wanted->name : "");
            ch_winter_clear(&winter);
        }
    }
    winter_clear(&kept);
    return rc;
}
