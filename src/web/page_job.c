/*
 * GET /car/ID/winter/job/NAME: a job of the winter at the car: its next step with its cautions and torques, what is off for it, what proves it. Query:
 * step=KEY shows this one instead.
 * POST: do = done | pass | undo (step, origin.N, lies.N, entry) | back (ledger) | torque (torque, figure, note, thread, class, surface) |
 * spent (day, hours, money, note, entry) | finish | undone | close (seen, reason) | reopen | anew.
 * GET /car/ID/winter/job/NAME/FILE: its sheet as sheet.pdf or sheet.html.
 */
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_jobs.h"
#include "crosshatch/show_winter.h"
#include "job_parts.h"
#include "page.h"
#include "piece.h"
#include "printed.h"
#include "spent.h"
#include "winter_work.h"

static void paragraph(html_writer *w, const char *words)
{
    if (words == NULL || words[0] == '\0')
        return;
    html_lit(w, "<p>");
    html_text(w, words);
    html_lit(w, "</p>\n");
}

static void head(html_writer *w, const job_view *view)
{
    char sentence[CH_SHOW_SENTENCE];
    html_lit(w,
             "<link rel=\"stylesheet\" href=\"/asset/garage.css\"><link rel=\"stylesheet\" href=\"/asset/winter.css\">"
             "<p class=\"row\"><a class=\"button second\"");
    html_attrf(w, "href", "/car/%lld/winter", (long long)view->kept.car->id);
    html_lit(w, ">Winter work: ");
    html_text(w, view->kept.car->name);
    html_lit(w, "</a></p><p class=\"verdict");
    html_text(w, view->work != NULL && view->work->closed_s != 0 ? " sound" : " watch");
    html_lit(w, "\">Job: ");
    html_text(w, winter_work_state(view->work));
    html_lit(w, "</p>\n");
    if (view->job == NULL)
        return;
    /* Read before the work; later the step comes first. */
    html_lit(w, "<details");
    html_attr_if(w, "open", view->work == NULL);
    html_lit(w, "><summary>Before you begin</summary>");
    paragraph(w, view->job->work.why);
    ch_show_job_times(&view->sheet, sentence);
    paragraph(w, sentence);
    paragraph(w, view->kept.know->knowledge.always);
    html_lit(w, "</details>\n");
}

static ch_status hours_and_money(html_writer *w, web_request *request, const job_view *view, const char *alert,
                                 ch_err *err)
{
    const char *currency = view->kept.currency;
    const ch_plan_item *item = view->item;
    char a[CH_SHOW_NUMBER], b[CH_SHOW_NUMBER], c[CH_SHOW_NUMBER], d[CH_SHOW_NUMBER];
    html_lit(w, "<h2 id=\"spent\">Hours and money</h2><p>Spent on the job itself: ");
    html_textf(w, "%s h", ch_show_work(view->work != NULL ? view->work->work_us : 0, a));
    if (item != NULL)
        html_textf(w, " of %s planned", ch_show_work(item->guessed.likely_us, b));
    html_textf(w, ", %s %s", ch_show_money(view->work != NULL ? view->work->money : 0, c), currency);
    if (item != NULL)
        html_textf(w, " of %s planned", ch_show_money(item->parts, d));
    html_lit(w, ".</p>\n");
    const ch_status rc = spent_form(w, request, request->path, currency, alert, err);
    if (view->work != NULL) {
        html_lit(w, "<p><a class=\"button second\"");
        html_attrf(w, "href", "/task/%lld", (long long)view->work->id);
        html_lit(w, ">Photos, corrections, what came off</a></p>\n");
    }
    bool any = false;
    for (size_t i = 0; i < view->sheet.access_count; i++) {
        const ch_jobs_work *access = &view->kept.know->jobs.access[view->sheet.access[i]].work;
        const ch_store_work *work = job_access_work(view, access->id);
        if (work == NULL)
            continue;
        if (!any)
            html_lit(w, "<h3>The same of the access work</h3><ul class=\"plain\">");
        any = true;
        html_lit(w, "<li><a class=\"press\"");
        html_attrf(w, "href", "/task/%lld", (long long)work->id);
        html_lit(w, ">");
        html_text(w, access->title);
        html_lit(w, "</a> ");
        html_text(w, winter_work_state(work));
        html_lit(w, "</li>\n");
    }
    if (any)
        html_lit(w, "</ul>\n");
    return rc;
}

static void print(html_writer *w, const web_request *request, const job_view *view)
{
    if (view->job == NULL)
        return;
    html_lit(w, "<p class=\"row no-print\"><a class=\"button second\"");
    html_attrf(w, "href", "%s/sheet.pdf", request->path);
    html_lit(w, ">Job sheet (PDF)</a><a class=\"button second\"");
    html_attrf(w, "href", "%s/sheet.html", request->path);
    html_lit(w, ">Job sheet (HTML)</a></p>\n<details><summary>Where this comes from</summary>");
    paragraph(w, view->job->work.source);
    html_lit(w, "</details>\n");
}

static ch_status job_page(web_request *request, web_response *response, const job_view *view, const char *alert,
                          ch_err *err)
{
    html_writer *w = &response->page;
    const bool of_torque = alert != NULL && web_value(&request->form, "torque") != NULL;
    const bool of_spent = alert != NULL && strcmp(piece_typed(request, "do", ""), "spent") == 0;
    html_page_open(w, request, view->title);
    head(w, view);
    piece_alert(w, of_torque || of_spent ? NULL : alert);
    ch_status rc = job_step_write(w, request, view, err);
    job_off_write(w, request, view);
    job_proof_write(w, request, view);
    if (rc >= 0)
        rc = hours_and_money(w, request, view, of_spent ? alert : NULL, err);
    job_torques_write(w, request, view, of_torque ? alert : NULL);
    job_goods_write(w, view);
    job_steps_list(w, request, view);
    print(w, request, view);
    html_page_close(w);
    return rc;
}

ch_status page_job_get(web_request *request, web_response *response, ch_err *err)
{
    job_view view;
    ch_status rc = job_view_load(request, &view, err);
    if (rc < 0)
        return rc;
    rc = view.name == NULL ? web_not_found(request, response) : job_page(request, response, &view, NULL, err);
    job_view_clear(&view);
    return rc;
}

/* Where the page is to be looked at next: beside what was changed. */
static const char *beside(const web_request *request)
{
    const char *what = piece_typed(request, "do", "");
    return strcmp(what, "torque") == 0                                 ? "#torques"
           : strcmp(what, "spent") == 0                                ? "#spent"
           : strcmp(what, "close") == 0 || strcmp(what, "finish") == 0 ? "#proof"
                                                                       : "";
}

ch_status page_job_post(web_request *request, web_response *response, ch_err *err)
{
    job_view view;
    ch_err own = {0};
    char line[PIECE_LINE];
    ch_status rc = job_view_load(request, &view, err);
    if (rc < 0)
        return rc;
    if (view.name == NULL) {
        rc = web_not_found(request, response);
    } else {
        rc = job_change(request, &view, &own);
        if (piece_refused(rc, &own, response, line, err))
            rc = job_page(request, response, &view, line, err);
        else if (rc >= 0)
            rc = web_redirect(response, "%s%s", request->path, beside(request));
    }
    job_view_clear(&view);
    return rc;
}

static ch_status write_sheet(web_request *request, const job_view *view, bool pdf, ch_text *data, ch_err *err)
{
    ch_document *document = NULL;
    ch_paper paper;
    ch_status rc = printed_paper(request, &paper, err);
    if (rc >= 0)
        rc = ch_report_job_sheet(&view->kept.know->jobs, &view->kept.know->knowledge, &view->sheet,
                                 view->kept.car->name, &document, err);
    if (rc >= 0)
        rc = pdf ? ch_document_pdf(document, paper, piece_today(request->now_s), data, err)
                 : ch_document_html(document, data, err);
    ch_document_free(document);
    return rc;
}

ch_status page_job_file_get(web_request *request, web_response *response, ch_err *err)
{
    job_view view;
    const bool pdf = strcmp(request->part[2], "sheet.pdf") == 0, html = strcmp(request->part[2], "sheet.html") == 0;
    ch_status rc = job_view_load(request, &view, err);
    if (rc < 0)
        return rc;
    if (view.job == NULL || (!pdf && !html)) {
        rc = web_not_found(request, response);
    } else {
        rc = write_sheet(request, &view, pdf, &response->data, err);
        response->data_type = rc < 0 ? NULL : pdf ? "application/pdf" : "text/html; charset=utf-8";
        if (rc >= 0)
            snprintf(response->download, sizeof response->download, "%.64s.%s", view.name, pdf ? "pdf" : "html");
    }
    job_view_clear(&view);
    return rc;
}
