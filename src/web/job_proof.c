/* Torques from the car's own manual, and what proves and closes a job. */
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_jobs.h"
#include "job_parts.h"
#include "piece.h"

/* ---------------------------------------------------------------- torques */

/* One field in its label, without an id: every torque has the same ones. */
static void field(html_writer *w, const char *label, const char *name, const char *value, const char *mode)
{
    html_lit(w, "<label>");
    html_text(w, label);
    html_lit(w, "<input autocomplete=\"off\" type=\"text\"");
    html_attr(w, "name", name);
    html_attr(w, "inputmode", mode);
    html_attr(w, "value", value);
    html_lit(w, " maxlength=\"200\"></label>\n");
}

static void surface_choice(html_writer *w, const char *chosen)
{
    static const char *const words[][2] = {{"dry", "Plain and dry"}, {"zinc", "Zinc plated, dry"}, {"oiled", "Oiled"}};
    html_lit(w, "<label>Its surface<select name=\"surface\">");
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        piece_option(w, words[i][0], words[i][1], chosen);
    html_lit(w, "</select></label>\n");
}

static void torque_form(html_writer *w, const web_request *request, const ch_job_sheet_torque *torque,
                        const char *alert)
{
    static const char *const surfaces[CH_THREAD_SURFACES] = {"dry", "zinc", "oiled"};
    const ch_owner_torque *owner = torque->owner;
    const bool typed = alert != NULL;
    char figure[96] = "";
    if (owner != NULL)
        ch_quantity_text(&owner->torque, figure, sizeof figure);
    html_lit(w, "<details");
    html_attr_if(w, "open", typed);
    html_lit(w, "><summary>");
    html_text(w, owner != NULL ? "Correct it" : "Enter it");
    html_lit(w, "<span class=\"visually-hidden\">: ");
    html_text(w, torque->what->text);
    html_lit(w, "</span></summary>");
    piece_alert(w, alert);
    html_form_open(w, request, request->path, false);
    piece_hidden(w, "torque", torque->what->id);
    field(w, "Torque with its unit, as in 72 Nm", "figure", typed ? piece_typed(request, "figure", "") : figure, NULL);
    field(w, "Order, angle, oil: what else the manual says", "note",
          typed           ? piece_typed(request, "note", "")
          : owner != NULL ? owner->note
                          : NULL,
          NULL);
    html_lit(w, "<fieldset><legend>The bolt, for a cross-check only</legend>");
    field(w, "Thread, as in M10x1.25", "thread",
          typed           ? piece_typed(request, "thread", "")
          : owner != NULL ? owner->thread
                          : NULL,
          NULL);
    field(w, "Strength class on its head: 8.8, 10.9 or 12.9", "class",
          typed           ? piece_typed(request, "class", "")
          : owner != NULL ? owner->property_class
                          : NULL,
          "decimal");
    surface_choice(w, typed           ? piece_typed(request, "surface", "dry")
                      : owner != NULL ? surfaces[owner->surface]
                                      : "dry");
    html_lit(w, "</fieldset>\n");
    piece_button(w, "do", "torque", "second", "Save");
    html_form_close(w);
    html_lit(w, "</details>\n");
}

void job_torques_write(html_writer *w, const web_request *request, const job_view *view, const char *alert)
{
    const char *asked = piece_given(&request->form, "torque");
    const char *caution = NULL;
    if (view->sheet.torques_count == 0)
        return;
    html_lit(w, "<h2 id=\"torques\">Torques from the car's own manual</h2><ul class=\"cards\">");
    for (size_t i = 0; i < view->sheet.torques_count; i++) {
        const ch_job_sheet_torque *torque = &view->sheet.torques[i];
        char sentence[CH_SHOW_SENTENCE];
        bool before = false; /* one torque may stand at several steps */
        for (size_t k = 0; k < i; k++)
            before = before || view->sheet.torques[k].what->id == torque->what->id;
        if (before)
            continue;
        html_lit(w, "<li class=\"card\">");
        if (torque->owner != NULL) {
            ch_show_job_torque(torque, sentence);
            html_text(w, sentence);
        } else {
            html_text(w, torque->what->text);
            html_lit(w, ": <strong>not looked up yet</strong>");
        }
        ch_show_torque_check(torque, sentence);
        if (sentence[0] != '\0') {
            caution = torque->estimate.caution;
            html_lit(w, "<p class=\"hint\">Cross-check: ");
            html_text(w, sentence);
            html_lit(w, "</p>");
        }
        torque_form(w, request, torque, asked != NULL && strcmp(asked, torque->what->id) == 0 ? alert : NULL);
        html_lit(w, "</li>\n");
    }
    html_lit(w, "</ul>\n");
    if (caution != NULL) {
        html_lit(w, "<div class=\"warning\"><p>");
        html_text(w, caution);
        html_lit(w, "</p></div>\n");
    }
}

/* ---------------------------------------------------------------- proof */

static void measured(html_writer *w, const job_view *view, ch_retest_by by)
{
    const int64_t sheet = by == CH_RETEST_COMPRESSION ? view->proof.compression_sheet_id
                          : by == CH_RETEST_LEAK_DOWN ? view->proof.leak_down_sheet_id
                                                      : 0;
    if (sheet != 0) {
        html_lit(w, "<strong>Measured.</strong> <a class=\"press\"");
        html_attrf(w, "href", "/sheet/%lld/findings", (long long)sheet);
        html_lit(w, ">What it says</a>");
    } else if (by == CH_RETEST_SLIP_LOG && view->proof.run_id != 0) {
        if (view->slips > 0)
            html_textf(w, "Logged, and it slips: %zu time%s. ", view->slips, view->slips == 1 ? "" : "s");
        else
            html_lit(w, "<strong>Logged, no slip found.</strong> ");
        html_lit(w, "<a class=\"press\"");
        html_attrf(w, "href", "/car/%lld/driveline?run=%lld", (long long)view->kept.car->id,
                   (long long)view->proof.run_id);
        html_lit(w, ">What it says</a>");
    } else if (by == CH_RETEST_SLIP_LOG) {
        html_lit(w, "<strong>Still to be logged.</strong>");
        if (view->work != NULL && view->work->done_s != 0) {
            html_lit(w, " <a class=\"press\"");
            html_attrf(w, "href", "/car/%lld/driveline", (long long)view->kept.car->id);
            html_lit(w, ">Judge a log</a>");
        }
    } else {
        html_lit(w, "<strong>Still to be measured.</strong>");
        if (view->work != NULL && view->work->done_s != 0)
            html_lit(w, " <a class=\"press\" href=\"/sheets/new\">Begin a test sheet</a>");
    }
}

static void retests(html_writer *w, const job_view *view, bool closed)
{
    html_lit(w, "<ul class=\"cards\">");
    for (size_t i = 0; view->job != NULL && i < view->job->retests_count; i++) {
        const ch_retest *retest = &view->job->retests[i];
        html_lit(w, "<li class=\"card\">");
        if (job_measured(retest->by)) {
            html_textf(w, "%s: %s ", ch_show_retest(retest->by), retest->text);
            if (!closed)
                measured(w, view, retest->by);
        } else {
            html_lit(w, "<label class=\"choice\"><input type=\"checkbox\" name=\"seen\"");
            html_attrf(w, "value", "%zu", i);
            html_attr_if(w, "checked", view->seen[i]);
            html_attr_if(w, "disabled", closed);
            html_lit(w, ">");
            html_textf(w, "%s: %s", ch_show_retest(retest->by), retest->text);
            html_lit(w, "</label>");
        }
        html_lit(w, "</li>\n");
    }
    html_lit(w, "</ul>\n");
}

static void closed_by(html_writer *w, const ch_store_work *work, int64_t now_s)
{
    html_lit(w, "<p>Closed ");
    piece_time(w, work->closed_s, now_s);
    if (work->proof_sheet_id != 0) {
        html_lit(w, ", proven by <a class=\"press\"");
        html_attrf(w, "href", "/sheet/%lld/findings", (long long)work->proof_sheet_id);
        html_lit(w, ">this test sheet</a>");
    }
    if (work->proof_run_id != 0) {
        html_lit(w, ", proven by <a class=\"press\"");
        html_attrf(w, "href", "/car/%lld/driveline?run=%lld", (long long)work->car_id, (long long)work->proof_run_id);
        html_lit(w, ">this logged run</a>");
    }
    if (work->close_reason != NULL) {
        html_lit(w, ", for a reason: ");
        html_text(w, work->close_reason);
    }
    html_lit(w, "</p>\n");
}

void job_proof_write(html_writer *w, web_request *request, const job_view *view)
{
    const ch_store_work *work = view->work;
    const bool closed = work != NULL && work->closed_s != 0;
    html_lit(w, "<h2 id=\"proof\">What closes the job</h2>\n");
    if (closed)
        closed_by(w, work, request->now_s);
    html_form_open(w, request, request->path, false);
    retests(w, view, closed);
    if (closed) {
        piece_button(w, "do", "reopen", "second", "Take it in hand again");
        piece_button(w, "do", "anew", "second", "Begin it anew, as another time");
    } else if (work != NULL && work->done_s != 0) {
        piece_field(w, &(piece_input){.label = "Reason, where something of this is missing",
                                      .name = "reason",
                                      .value = piece_typed(request, "reason", NULL)});
        piece_button(w, "do", "close", "wide", "Close the job");
        piece_button(w, "do", "undone", "second", "The work is not done yet");
    } else {
        html_lit(w, "<p>The job closes when its work is done and this is proven.</p>");
        piece_button(w, "do", "finish", "second",
                     view->job != NULL ? "All of its work is done, without ticking each step" : "Its work is done");
    }
    html_form_close(w);
}
