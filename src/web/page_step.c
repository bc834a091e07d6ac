/*
 * GET /sheet/ID/do/PROCEDURE: the next step of a procedure, with its caution, its reason and its button; all others below.
 * Query: step, cylinder: show this one instead.
 * POST: step, cylinder, do = done | all (of all cylinders) | pass | undo; with a step that takes something off: origin, lies, torque; entry.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "page.h"
#include "steps.h"

static void fill(html_writer *w, const char *template_text, int cylinder)
{
    ch_text text;
    ch_text_init(&text, 4096);
    ch_procedure_fill(template_text, cylinder, &text);
    html_composed(w, &text);
    ch_text_clear(&text);
}

/* ---------------------------------------------------------------- what is off */

/* What was last written of such a thing: of this one on this car, else of its like at another cylinder of this sheet. */
static ch_status last_entry(web_request *request, const ch_store_sheet *sheet, const ch_procedure_thing *thing,
                            int cylinder, const ch_store_ledger **found, ch_err *err)
{
    const ch_store_ledger *all = NULL;
    const ch_store_sheet *sheets = NULL;
    size_t count = 0, sheets_count = 0;
    char own[256];
    ch_status rc = ch_store_ledger_list(request->store, &request->pool, 0, false, &all, &count, err);
    if (rc >= 0)
        rc = ch_store_sheets(request->store, &request->pool, sheet->car_id, &sheets, &sheets_count, err);
    if (rc >= 0)
        rc = steps_thing_name(thing, cylinder, own, sizeof own, err);
    for (size_t i = 0; rc >= 0 && i < count; i++) {
        bool same_car = false, like = strcmp(all[i].what, own) == 0;
        for (size_t s = 0; s < sheets_count; s++)
            same_car = same_car || (sheets[s].id == all[i].sheet_id && sheet->car_id != 0);
        for (int c = 1; rc >= 0 && c <= sheet->cylinders && !like && all[i].sheet_id == sheet->id; c++) {
            char other[256];
            rc = steps_thing_name(thing, c, other, sizeof other, err);
            like = rc >= 0 && strcmp(all[i].what, other) == 0;
        }
        if (like && (same_car || all[i].sheet_id == sheet->id))
            *found = &all[i];
    }
    return rc;
}

static ch_status write_taking(html_writer *w, web_request *request, const ch_store_sheet *sheet,
                              const ch_procedure_thing *thing, int cylinder, ch_err *err)
{
    const ch_store_ledger *last = NULL;
    const ch_status rc = last_entry(request, sheet, thing, cylinder, &last, err);
    ch_text from;
    ch_text_init(&from, 1024);
    ch_procedure_fill(thing->from, cylinder, &from);
    if (from.status != CH_OK)
        html_fail(w, from.status);
    const char *origin = last != NULL && thing->scope == CH_STEP_ONCE ? last->origin : NULL;
    piece_field(w, &(piece_input){.label = thing->ask_which ? "Which one" : "Where it belongs",
                                  .name = "origin",
                                  .value = origin != NULL ? origin : ch_text_string(&from),
                                  .hint = thing->ask_which ? "so that it goes back into the right place" : NULL});
    ch_text_clear(&from);
    if (thing->ask_where || thing->ask_which)
        piece_field(w, &(piece_input){.label = "Where it lies now",
                                      .name = "lies",
                                      .value = last != NULL ? last->lies : NULL,
                                      .hint = "bag, rack, bench"});
    if (thing->torque != NULL)
        piece_field(w, &(piece_input){.label = "Torque for putting it back",
                                      .name = "torque",
                                      .value = last != NULL ? last->torque : NULL,
                                      .hint = thing->torque});
    return rc;
}

static void write_putting_back(html_writer *w, const ch_store_ledger *entry, const ch_procedure_thing *thing)
{
    if (entry == NULL)
        return;
    html_lit(w, "<dl class=\"facts short\"><dt>Belongs</dt><dd>");
    html_text(w, entry->origin != NULL ? entry->origin : "-");
    html_lit(w, "</dd>");
    if (entry->lies != NULL) {
        html_lit(w, "<dt>Lies</dt><dd>");
        html_text(w, entry->lies);
        html_lit(w, "</dd>");
    }
    if (entry->torque != NULL || thing->torque != NULL) { /* a fuse has none */
        html_lit(w, "<dt>Torque</dt><dd>");
        html_text(w, entry->torque != NULL ? entry->torque : "see the car's own manual");
        html_lit(w, "</dd>");
    }
    html_lit(w, "</dl>\n");
}

/* ---------------------------------------------------------------- one step */

static const char *measure_kind(const ch_procedure_step *step)
{
    return step->rows & CH_ROWS_WET ? "wet" : step->rows & CH_ROWS_LEAKDOWN ? "leakdown" : "dry";
}

static void write_measuring(html_writer *w, const ch_store_sheet *sheet, const steps_place *place, const char *words)
{
    html_lit(w, "<p><a class=\"button wide\"");
    html_attrf(w, "href", "/sheet/%lld/measure?kind=%s&cylinder=%d", (long long)sheet->id, measure_kind(place->step),
               place->cylinder);
    html_lit(w, ">");
    html_text(w, words);
    html_lit(w, "</a></p>");
}

/* What does not hold for the car at one cylinder does not at the others. */
static bool passes_all(const ch_procedure_step *step)
{
    return step->applies != NULL && step->all_at_once;
}

static ch_status write_step(html_writer *w, web_request *request, const web_know *know, const ch_store_sheet *sheet,
                            const steps_place *place, ch_err *err)
{
    const ch_procedure_step *step = place->step;
    const ch_procedure_thing *thing = step->takes_off != CH_NO_THING ? &know->procedures.things[step->takes_off] : NULL;
    html_lit(w, "<section class=\"step\">");
    if (step->applies != NULL) {
        html_lit(w, "<p class=\"quiet\">Only where this holds: ");
        html_text(w, step->applies);
        html_lit(w, ".</p>");
    }
    piece_cautions(w, &know->knowledge, &step->cautions);
    html_lit(w, "<h2>");
    fill(w, step->text, place->cylinder);
    html_lit(w, "</h2><p><strong>Why:</strong> ");
    fill(w, step->why, place->cylinder);
    html_lit(w, "</p>");
    if (step->rows != 0) {
        write_measuring(w, sheet, place, "Enter the reading");
    } else if (step->kind == CH_STEP_MEASURE) {
        html_lit(w, "<p><a class=\"button wide\"");
        html_attrf(w, "href", "/sheet/%lld", (long long)sheet->id);
        html_lit(w, ">Enter the day on the sheet</a></p>");
    }
    html_form_open(w, request, request->path, false);
    ch_status rc = piece_entry(w, err);
    piece_hidden(w, "step", step->id);
    piece_hidden_number(w, "cylinder", place->cylinder);
    if (rc >= 0 && thing != NULL)
        rc = write_taking(w, request, sheet, thing, place->cylinder, err);
    if (step->puts_back != CH_NO_THING)
        write_putting_back(w, place->entry, &know->procedures.things[step->puts_back]);
    html_lit(w, "<p><strong>Done when:</strong> ");
    fill(w, step->done, place->cylinder);
    html_lit(w, "</p>");
    piece_button(w, "do", "done", "wide",
                 step->kind == CH_STEP_REFIT  ? "It is back"
                 : thing != NULL              ? "Done, and to be put back"
                 : step->kind == CH_STEP_NOTE ? "Read"
                                              : "Done");
    if (step->all_at_once)
        piece_button(w, "do", "all", "wide second", "Done at all cylinders");
    if (step->kind != CH_STEP_REFIT)
        piece_button(w, "do", "pass", "second", step->applies != NULL ? "Not for this car" : "Leave it out");
    html_form_close(w);
    html_lit(w, "</section>\n");
    return rc;
}

/* ---------------------------------------------------------------- the page */

static void write_list(html_writer *w, const web_request *request, const steps_walk *walk)
{
    static const char *const words[] = {
        [STEPS_OPEN] = "open", [STEPS_DONE] = "done", [STEPS_PASSED] = "left out", [STEPS_NOTHING] = "was not off"};
    html_lit(w, "<details><summary>All steps</summary><ol class=\"steps\">");
    for (size_t i = 0; i < walk->count; i++) {
        const steps_place *place = &walk->places[i];
        html_lit(w, "<li><a");
        html_attrf(w, "href", "%s?step=%s&cylinder=%d", request->path, place->step->id, place->cylinder);
        html_lit(w, ">");
        fill(w, place->step->text, place->cylinder);
        html_lit(w, "</a> <strong>");
        html_text(w, words[place->state]);
        html_lit(w, "</strong></li>");
    }
    html_lit(w, "</ol></details>\n");
}

static void write_undo(html_writer *w, const web_request *request, const ch_store_sheet *sheet,
                       const steps_place *place)
{
    if (place->state != STEPS_DONE && place->state != STEPS_PASSED)
        return;
    html_lit(w, "<p>This step was ");
    html_text(w, place->state == STEPS_DONE ? "done" : "left out");
    html_lit(w, ".</p>");
    if (place->step->rows != 0)
        write_measuring(w, sheet, place, "Enter another reading");
    if (place->step->rows != 0 || place->step->kind == CH_STEP_REFIT || place->step->takes_off != CH_NO_THING)
        return; /* what is off stands in the ledger, what was read on the sheet: changed there */
    html_form_open(w, request, request->path, false);
    piece_hidden(w, "step", place->step->id);
    piece_hidden_number(w, "cylinder", place->cylinder);
    piece_button(w, "do", "undo", "second",
                 place->cylinder > 0 && !place->step->all_at_once
                     ? "Open this step and those after it at this cylinder again"
                     : "Open this step again");
    html_form_close(w);
}

static const steps_place *choose(const web_request *request, const steps_walk *walk)
{
    const char *step = piece_given(&request->query, "step");
    const int cylinder = piece_number(&request->query, "cylinder", 0);
    for (size_t i = 0; step != NULL && i < walk->count; i++)
        if (strcmp(walk->places[i].step->id, step) == 0 && walk->places[i].cylinder == cylinder)
            return &walk->places[i];
    for (size_t i = 0; i < walk->count; i++)
        if (walk->places[i].state == STEPS_OPEN)
            return &walk->places[i];
    return NULL;
}

static void write_end(html_writer *w, const web_know *know, const ch_store_sheet *sheet, const ch_procedure *procedure,
                      const steps_walk *walk)
{
    const size_t here = (size_t)(procedure - know->procedures.procedures);
    if (walk->passed == 0) {
        html_lit(w, "<p class=\"verdict sound\">All steps of this part are done.</p>");
    } else {
        html_lit(w, "<p class=\"verdict unclear\">");
        html_textf(w, "No step of this part is open any more: %zu done, %zu left out or not for this car.",
                   walk->settled - walk->passed, walk->passed);
        html_lit(w, "</p>");
    }
    if (procedure->role == CH_PROCEDURE_CLOSE) {
        html_lit(w, "<p><a class=\"button wide\"");
        html_attrf(w, "href", "/sheet/%lld#close", (long long)sheet->id);
        html_lit(w, ">To the sheet</a></p>\n");
    } else if (here + 1 < know->procedures.count) {
        html_lit(w, "<p><a class=\"button wide\"");
        html_attrf(w, "href", "/sheet/%lld/do/%s", (long long)sheet->id, know->procedures.procedures[here + 1].id);
        html_lit(w, ">Next: ");
        html_text(w, know->procedures.procedures[here + 1].title);
        html_lit(w, "</a></p>\n");
    }
}

static void write_needs(html_writer *w, const ch_procedure *procedure)
{
    html_lit(w, "<details><summary>What you need</summary><ul>");
    for (size_t i = 0; i < procedure->needs_count; i++) {
        html_lit(w, "<li>");
        html_text(w, procedure->needs[i]);
        html_lit(w, "</li>");
    }
    html_lit(w, "</ul></details>\n");
}

static ch_status step_page(web_request *request, web_response *response, const web_know *know,
                           const ch_store_sheet *sheet, const ch_procedure *procedure, const steps_walk *walk,
                           ch_err *err)
{
    html_writer *w = &response->page;
    const steps_place *place = choose(request, walk);
    ch_status rc = piece_sheet_open(request, response, sheet, procedure->title, "/do", err);
    if (rc < 0)
        return rc;
    if (place == NULL) {
        write_end(w, know, sheet, procedure, walk);
    } else {
        html_lit(w, "<p class=\"quiet\">");
        html_textf(w, "%zu of %zu steps done", walk->settled, walk->work);
        if (walk->passed > 0)
            html_textf(w, ", %zu of them left out or not for this car", walk->passed);
        html_lit(w, "</p>");
        rc = steps_before_cranking(w, request, know, sheet, procedure, err);
        write_undo(w, request, sheet, place);
        if (rc >= 0 && place->state == STEPS_OPEN)
            rc = write_step(w, request, know, sheet, place, err);
    }
    write_needs(w, procedure);
    write_list(w, request, walk);
    html_page_close(w);
    return rc;
}

static const ch_procedure *named(const web_request *request, const web_know *know)
{
    return ch_procedure_find(&know->procedures, request->part[1], strlen(request->part[1]));
}

ch_status page_step_get(web_request *request, web_response *response, ch_err *err)
{
    ch_store_sheet sheet;
    ch_status rc;
    const web_know *know = know_get(err);
    if (know == NULL)
        return CH_E_IO;
    if (!piece_sheet(request, response, &sheet, &rc, err))
        return rc;
    const ch_procedure *procedure = named(request, know);
    if (procedure == NULL)
        return web_not_found(request, response);
    steps_walk *walk = NULL;
    rc = steps_walk_new(request, know, &sheet, procedure, &walk, err);
    if (rc >= 0)
        rc = step_page(request, response, know, &sheet, procedure, walk, err);
    steps_walk_free(walk);
    return rc;
}

/* ---------------------------------------------------------------- changes */

/* Enter it in the ledger, first, so that nothing is ever marked as done whose entry was lost. */
static ch_status take_off(web_request *request, const web_know *know, const ch_store_sheet *sheet,
                          const steps_place *place, bool all, ch_err *err)
{
    const ch_procedure_thing *thing = &know->procedures.things[place->step->takes_off];
    const web_fields *form = &request->form;
    char client[CH_STORE_CLIENT_MAX + 1], own[CH_STORE_CLIENT_MAX + 1], what[256];
    const char *sent = piece_client(request, client);
    ch_text from;
    ch_status rc = steps_thing_name(thing, place->cylinder, what, sizeof what, err);
    ch_text_init(&from, 1024);
    ch_procedure_fill(thing->from, place->cylinder, &from);
    const ch_store_ledger entry = {.what = what,
                                   .origin = all ? ch_text_string(&from) : piece_given(form, "origin"),
                                   .lies = piece_given(form, "lies"),
                                   .torque = piece_given(form, "torque")};
    if (sent != NULL) { /* one form may enter a thing of each cylinder */
        snprintf(own, sizeof own, "%.60s.%d", sent, place->cylinder);
        sent = own;
    }
    if (rc >= 0)
        rc = ch_text_check(&from, err);
    if (rc >= 0)
        rc = ch_store_ledger_add(request->store, sheet->id, &entry, sent, request->now_s, NULL, err);
    ch_text_clear(&from);
    return rc;
}

/*
 * Whoever finds a dead centre anew has to hold the crank anew: what follows a step at its cylinder and was marked before it is open again,
 * but for what a reading or the ledger tells.
 */
static ch_status open_later(web_request *request, const ch_store_sheet *sheet, const ch_procedure *procedure,
                            const steps_place *place, ch_err *err)
{
    ch_status rc = CH_OK;
    if (place->step->scope != CH_STEP_EACH_CYLINDER)
        return CH_OK;
    for (const ch_procedure_step *step = place->step + 1;
         rc >= 0 && step < procedure->steps + procedure->steps_count && step->scope == CH_STEP_EACH_CYLINDER; step++)
        if (!step->all_at_once && step->takes_off == CH_NO_THING)
            rc = steps_mark(request, sheet, procedure, step, place->cylinder, STEPS_OPEN, err);
    return rc;
}

static ch_status settle(web_request *request, const web_know *know, const ch_store_sheet *sheet,
                        const ch_procedure *procedure, const steps_place *place, bool all, ch_err *err)
{
    ch_status rc = CH_OK;
    if (place->state != STEPS_OPEN)
        return CH_OK; /* another phone was first */
    if (place->step->puts_back != CH_NO_THING)
        return place->entry != NULL
                   ? ch_store_ledger_put_back(request->store, place->entry->id, true, request->now_s, err)
                   : CH_OK;
    if (place->step->takes_off != CH_NO_THING)
        rc = take_off(request, know, sheet, place, all, err);
    if (rc >= 0)
        rc = open_later(request, sheet, procedure, place, err);
    return rc < 0 ? rc : steps_mark(request, sheet, procedure, place->step, place->cylinder, STEPS_DONE, err);
}

static ch_status undo(web_request *request, const ch_store_sheet *sheet, const ch_procedure *procedure,
                      const steps_place *place, ch_err *err)
{
    const ch_status rc = open_later(request, sheet, procedure, place, err);
    return rc < 0 ? rc : steps_mark(request, sheet, procedure, place->step, place->cylinder, STEPS_OPEN, err);
}

static ch_status change(web_request *request, const web_know *know, const ch_store_sheet *sheet,
                        const ch_procedure *procedure, const steps_walk *walk, ch_err *err)
{
    const char *step = piece_given(&request->form, "step"), *what = piece_given(&request->form, "do");
    const int cylinder = piece_number(&request->form, "cylinder", 0);
    const bool all = what != NULL && strcmp(what, "all") == 0;
    size_t found = 0;
    ch_status rc = CH_OK;
    for (size_t i = 0; rc >= 0 && step != NULL && what != NULL && i < walk->count; i++) {
        const steps_place *place = &walk->places[i];
        const bool others = all || (strcmp(what, "pass") == 0 && passes_all(place->step));
        if (strcmp(place->step->id, step) != 0 || (place->cylinder != cylinder && !others))
            continue;
        found++;
        if (all && !place->step->all_at_once)
            return ch_fail(err, CH_E_INPUT, "mark it as done at one cylinder after the other",
                           "this step belongs to the work at one cylinder");
        if (all || strcmp(what, "done") == 0)
            rc = settle(request, know, sheet, procedure, place, all, err);
        else if (strcmp(what, "pass") == 0 && place->state == STEPS_OPEN)
            rc = steps_mark(request, sheet, procedure, place->step, place->cylinder, STEPS_PASSED, err);
        else if (strcmp(what, "undo") == 0)
            rc = undo(request, sheet, procedure, place, err);
    }
    if (rc >= 0 && found == 0)
        return ch_fail(err, CH_E_INPUT, NULL, "there is no such step");
    return rc;
}

ch_status page_step_post(web_request *request, web_response *response, ch_err *err)
{
    ch_store_sheet sheet;
    ch_status rc;
    const web_know *know = know_get(err);
    if (know == NULL)
        return CH_E_IO;
    if (!piece_sheet(request, response, &sheet, &rc, err))
        return rc;
    const ch_procedure *procedure = named(request, know);
    if (procedure == NULL || !piece_does(request, "done all pass undo"))
        return web_not_found(request, response);
    steps_walk *walk = NULL;
    rc = steps_walk_new(request, know, &sheet, procedure, &walk, err);
    if (rc >= 0)
        rc = change(request, know, &sheet, procedure, walk, err);
    steps_walk_free(walk);
    return rc < 0 ? rc : web_redirect(response, "/sheet/%lld/do/%s", (long long)sheet.id, procedure->id);
}
