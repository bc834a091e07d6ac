/* Steps of a job: the next one large, all of them as a list; and what is off meanwhile. */
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_jobs.h"
#include "job_parts.h"
#include "piece.h"

/* Torques of one step: the owner's figure, or that it is still to be looked up. */
static void step_torques(html_writer *w, const job_view *view, size_t step)
{
    for (size_t i = 0; i < view->sheet.torques_count; i++) {
        const ch_job_sheet_torque *torque = &view->sheet.torques[i];
        char sentence[CH_SHOW_SENTENCE];
        if (torque->step != step)
            continue;
        html_lit(w, "<p class=\"torque\">");
        ch_show_job_torque(torque, sentence);
        if (torque->owner != NULL) {
            html_text(w, sentence);
        } else {
            html_lit(w, "Torque from the car's own manual, ");
            html_text(w, torque->what->text);
            html_lit(w, ": <a href=\"#torques\">not looked up yet</a>");
        }
        html_lit(w, "</p>\n");
    }
}

static void things(html_writer *w, const ch_work_step *step)
{
    for (size_t k = 0; k < step->takes_off_count; k++) {
        char name[32];
        html_lit(w, "<fieldset><legend>Comes off: ");
        html_text(w, step->takes_off[k].text);
        html_lit(w, "</legend>");
        snprintf(name, sizeof name, "origin.%zu", k);
        piece_field(w, &(piece_input){
                           .label = "Where it belongs", .name = name, .hint = "side, slot, order; or leave it open"});
        snprintf(name, sizeof name, "lies.%zu", k);
        piece_field(w, &(piece_input){.label = "Where it lies now", .name = name, .hint = "bag, rack, bench"});
        html_lit(w, "</fieldset>\n");
    }
}

static ch_status one_step(html_writer *w, web_request *request, const job_view *view, const job_place *place,
                          ch_err *err)
{
    const ch_work_step *step = place->step->step;
    char part[CH_SHOW_SENTENCE];
    html_lit(w, "<section class=\"step\"><p class=\"quiet\">");
    ch_show_job_part(place->step, part);
    html_text(w, part);
    html_lit(w, "</p>");
    piece_cautions(w, &view->kept.know->knowledge, &step->cautions);
    html_lit(w, "<h2>");
    html_text(w, step->text);
    html_lit(w, "</h2><p><strong>Why:</strong> ");
    html_text(w, step->why);
    html_lit(w, "</p>");
    step_torques(w, view, (size_t)(place - view->places));
    html_form_open(w, request, request->path, false);
    const ch_status rc = piece_entry(w, err);
    piece_hidden(w, "step", place->key);
    if (place->mark == JOB_OPEN) {
        things(w, step);
        piece_button(w, "do", "done", "wide", step->takes_off_count > 0 ? "Done, and to be put back" : "Done");
        piece_button(w, "do", "pass", "second", "Not on this car");
    } else {
        html_lit(w, "<p>This step was ");
        html_text(w, place->mark == JOB_DONE ? "done" : "left out");
        html_lit(w, ".</p>");
        piece_button(w, "do", "undo", "second", "It is to be done after all");
    }
    html_form_close(w);
    html_lit(w, "</section>\n");
    return rc;
}

ch_status job_step_write(html_writer *w, web_request *request, const job_view *view, ch_err *err)
{
    const job_place *place = job_view_choose(request, view);
    if (view->job == NULL)
        return CH_OK;
    html_lit(w, "<p class=\"quiet\">");
    html_textf(w, "%zu of %zu steps done", view->settled, view->sheet.steps_count);
    if (view->waits_for != NULL)
        html_textf(w, ". Not everything is closed after this job: %s needs it open too", view->waits_for);
    else if (view->open_too != NULL)
        html_textf(w, ". What is tried last waits until this is closed: %s", view->open_too);
    html_lit(w, ".</p>\n");
    if (place != NULL)
        return one_step(w, request, view, place, err);
    html_lit(w, "<p>No step of this job is left.</p>\n");
    return CH_OK;
}

void job_steps_list(html_writer *w, const web_request *request, const job_view *view)
{
    static const char *const words[] = {[JOB_OPEN] = "open", [JOB_DONE] = "done", [JOB_PASSED] = "left out"};
    if (view->job == NULL)
        return;
    html_lit(w, "<details><summary>All steps</summary>");
    for (size_t i = 0; i < view->sheet.steps_count; i++) {
        const job_place *place = &view->places[i];
        if (i == 0 || place->step->of != place[-1].step->of || place->step->part != place[-1].step->part) {
            char part[CH_SHOW_SENTENCE];
            if (i > 0)
                html_lit(w, "</ol>");
            ch_show_job_part(place->step, part);
            html_lit(w, "<h3>");
            html_text(w, part);
            html_lit(w, "</h3><ol class=\"steps\">");
        }
        html_lit(w, "<li><a");
        html_attrf(w, "href", "%s?step=%s", request->path, place->key);
        html_lit(w, ">");
        html_text(w, place->step->step->text);
        html_lit(w, "</a> <strong>");
        html_text(w, place->mark == JOB_OPEN && place->held ? "waits" : words[place->mark]);
        html_lit(w, "</strong></li>");
    }
    html_lit(w, "</ol></details>\n");
}

void job_off_write(html_writer *w, const web_request *request, const job_view *view)
{
    if (view->off_count == 0)
        return;
    html_lit(w, "<h2 id=\"off\">Still off for this job</h2><p class=\"hint\">What came off last stands first.</p>"
                "<ul class=\"cards\">");
    for (size_t i = 0; i < view->off_count; i++) {
        const ch_store_ledger *entry = view->off[i];
        html_lit(w, "<li class=\"card\"><strong>");
        html_text(w, entry->what);
        html_lit(w, "</strong>");
        if (entry->origin != NULL)
            html_textf(w, ", belongs: %s", entry->origin);
        if (entry->lies != NULL)
            html_textf(w, ", lies: %s", entry->lies);
        html_form_open(w, request, request->path, false);
        piece_hidden_number(w, "ledger", entry->id);
        piece_button(w, "do", "back", "second", "It is back");
        html_form_close(w);
        html_lit(w, "<a class=\"press\"");
        html_attrf(w, "href", "/task/%lld#thing-%lld", (long long)entry->work_id, (long long)entry->id);
        html_lit(w, ">Photo or correction<span class=\"visually-hidden\"> of ");
        html_text(w, entry->what);
        html_lit(w, "</span></a></li>\n");
    }
    html_lit(w, "</ul>\n");
}

void job_goods_write(html_writer *w, const job_view *view)
{
    const ch_job_sheet *sheet = &view->sheet;
    char count[CH_SHOW_SENTENCE], price[CH_SHOW_SENTENCE];
    if (view->job == NULL)
        return;
    html_lit(w, "<details><summary>What to buy, and tools</summary>\n");
    if (sheet->shopping.count > 0) {
        html_lit(w, "<div class=\"scroll\"><table><thead><tr><th scope=\"col\">What</th><th scope=\"col\" "
                    "class=\"number\">How many</th>"
                    "<th scope=\"col\" class=\"number\">");
        html_text(w, view->kept.know->jobs.currency);
        html_lit(w, "</th></tr></thead><tbody>");
        for (size_t i = 0; i < sheet->shopping.count; i++) {
            const ch_shopping_line *line = &sheet->shopping.lines[i];
            html_lit(w, "<tr><th scope=\"row\">");
            html_text(w, view->kept.know->jobs.goods[line->goods].title);
            html_lit(w, "</th><td class=\"number\">");
            html_text(w, ch_show_count(line, count));
            html_lit(w, "</td><td class=\"number\">");
            html_text(w, ch_show_price(&line->sum, price));
            html_lit(w, "</td></tr>");
        }
        html_lit(w, "<tr><th scope=\"row\">In all</th><td></td><td class=\"number\">");
        html_text(w, ch_show_price(&sheet->shopping.sum, price));
        html_lit(w, "</td></tr></tbody></table></div>\n");
    }
    ch_show_job_lead(view->job, price);
    if (price[0] != '\0') {
        html_lit(w, "<p>");
        html_text(w, price);
        html_lit(w, "</p>");
    }
    if (view->job->tools_count > 0)
        html_lit(w, "<h3>Tools beside the usual</h3><ul>");
    for (size_t i = 0; i < view->job->tools_count; i++) {
        html_lit(w, "<li>");
        html_text(w, view->job->tools[i]);
        html_lit(w, "</li>");
    }
    if (view->job->tools_count > 0)
        html_lit(w, "</ul>");
    html_lit(w, "</details>\n");
}
