/*
 * GET /sheet/ID/ledger: what is off the car and where it lies; what is back.
 * POST /sheet/ID/ledger: enter a thing taken off. Fields: what, origin, lies, torque, note, entry.
 * POST /ledger/ID: do = back | off | never | change (with origin, lies, torque, note).
 */
#include <stdio.h>
#include <string.h>

#include "page.h"
#include "photos.h"
#include "piece.h"

static void entry_form(html_writer *w, const web_request *request, const ch_store_ledger *entry)
{
    char action[64];
    snprintf(action, sizeof action, "/ledger/%lld", (long long)entry->id);
    html_form_open(w, request, action, false);
}

static void fact(html_writer *w, const char *name, const char *text)
{
    if (text == NULL)
        return;
    html_lit(w, "<dt>");
    html_text(w, name);
    html_lit(w, "</dt><dd>");
    html_text(w, text);
    html_lit(w, "</dd>");
}

static void write_facts(html_writer *w, const ch_store_ledger *entry)
{
    html_lit(w, "<dl class=\"facts short\">");
    fact(w, "Belongs", entry->origin);
    fact(w, "Lies", entry->lies);
    fact(w, "Torque", entry->torque);
    fact(w, "Note", entry->note);
    html_lit(w, "</dl>\n");
}

/* Ids of fields must differ on one page. */
static void small_field(html_writer *w, const ch_store_ledger *entry, const char *label, const char *name,
                        const char *value)
{
    html_lit(w, "<label>");
    html_text(w, label);
    html_lit(w, "<input autocomplete=\"off\" type=\"text\"");
    html_attrf(w, "id", "f-%s-%lld", name, (long long)entry->id);
    html_attr(w, "name", name);
    html_attr(w, "value", value);
    html_lit(w, " maxlength=\"2000\"></label>\n");
}

/* `alert`: why the correction of this entry was refused, else NULL. */
static ch_status write_open(html_writer *w, const web_request *request, const ch_store_ledger *entry, bool closed,
                            const photos *pictures, const char *alert, ch_err *err)
{
    const bool typed = alert != NULL;
    html_lit(w, "<li class=\"card\"");
    html_attrf(w, "id", "thing-%lld", (long long)entry->id);
    html_lit(w, "><h3>");
    html_text(w, entry->what);
    html_lit(w, "</h3>");
    write_facts(w, entry);
    entry_form(w, request, entry);
    piece_button(w, "do", "back", "wide", "It is back");
    html_form_close(w);
    photos_show(w, request, pictures, entry->id, entry->what);
    html_lit(w, "<details><summary>Take a photo of it</summary>");
    const ch_status rc = photos_form(w, request, entry->sheet_id, entry->id, err);
    html_lit(w, "</details><details");
    html_attr_if(w, "open", typed);
    html_lit(w, "><summary>Correct this</summary>");
    piece_alert(w, alert);
    entry_form(w, request, entry);
    small_field(w, entry, "Belongs", "origin", typed ? piece_typed(request, "origin", NULL) : entry->origin);
    small_field(w, entry, "Lies", "lies", typed ? piece_typed(request, "lies", NULL) : entry->lies);
    small_field(w, entry, "Torque, from the car's own manual", "torque",
                typed ? piece_typed(request, "torque", NULL) : entry->torque);
    small_field(w, entry, "Note", "note", typed ? piece_typed(request, "note", NULL) : entry->note);
    piece_button(w, "do", "change", "second", "Save");
    if (!closed)
        piece_button(w, "do", "never", "danger", "It was never off");
    html_form_close(w);
    html_lit(w, "</details></li>\n");
    return rc;
}

static void write_back(html_writer *w, const web_request *request, const ch_store_ledger *entry, bool closed,
                       const photos *pictures)
{
    html_lit(w, "<li class=\"card\"><strong>");
    html_text(w, entry->what);
    html_lit(w, "</strong> back at ");
    piece_time(w, entry->put_back_s, request->now_s);
    photos_show(w, request, pictures, entry->id, entry->what);
    if (!closed) {
        entry_form(w, request, entry);
        piece_button(w, "do", "off", "second", "Off again");
        html_form_close(w);
    }
    html_lit(w, "</li>\n");
}

static ch_status write_new(html_writer *w, const web_request *request, const ch_store_sheet *sheet, const char *alert,
                           ch_err *err)
{
    html_lit(w, "<details");
    html_attr_if(w, "open", alert != NULL);
    html_lit(w, "><summary>Something else came off</summary>");
    piece_alert(w, alert);
    char action[64];
    snprintf(action, sizeof action, "/sheet/%lld/ledger", (long long)sheet->id);
    html_form_open(w, request, action, false);
    const ch_status rc = piece_entry(w, err);
    piece_field(w, &(piece_input){
                       .label = "What", .name = "what", .value = piece_typed(request, "what", NULL), .required = true});
    piece_field(w, &(piece_input){
                       .label = "Where it belongs", .name = "origin", .value = piece_typed(request, "origin", NULL)});
    piece_field(
        w, &(piece_input){.label = "Where it lies now", .name = "lies", .value = piece_typed(request, "lies", NULL)});
    piece_field(w, &(piece_input){.label = "Torque, from the car's own manual",
                                  .name = "torque",
                                  .value = piece_typed(request, "torque", NULL)});
    piece_field(w, &(piece_input){.label = "Note", .name = "note", .value = piece_typed(request, "note", NULL)});
    piece_button(w, NULL, NULL, "", "Enter it");
    html_form_close(w);
    html_lit(w, "</details>\n");
    return rc;
}

/* `alert`: why a new entry (`refused` 0) or the correction of the entry `refused` was not taken, else NULL. */
static ch_status ledger_page(web_request *request, web_response *response, const ch_store_sheet *sheet, int64_t refused,
                             const char *alert, ch_err *err)
{
    html_writer *w = &response->page;
    const ch_store_ledger *entries = NULL;
    size_t count = 0;
    photos pictures = {0};
    ch_status rc = ch_store_ledger_list(request->store, &request->pool, sheet->id, false, &entries, &count, err);
    if (rc >= 0)
        rc = photos_load(request, sheet->id, &pictures, err);
    if (rc >= 0)
        rc = piece_sheet_open(request, response, sheet, "Put-back ledger", "/ledger", err);
    if (rc < 0)
        return rc;
    photos_look(w);
    if (sheet->ledger_open == 0)
        html_lit(w, "<p class=\"verdict sound\">Nothing is off the car.</p>\n");
    else
        html_lit(w, "<h2>Still off</h2>\n");
    html_lit(w, "<ul class=\"cards\">");
    for (size_t i = 0; rc >= 0 && i < count; i++)
        if (entries[i].put_back_s == 0)
            rc = write_open(w, request, &entries[i], sheet->closed, &pictures, entries[i].id == refused ? alert : NULL,
                            err);
    html_lit(w, "</ul>\n");
    if (rc >= 0 && !sheet->closed)
        rc = write_new(w, request, sheet, refused == 0 ? alert : NULL, err);
    if (count > (size_t)sheet->ledger_open) {
        html_lit(w, "<h2>Back</h2><ul class=\"cards\">");
        for (size_t i = 0; i < count; i++)
            if (entries[i].put_back_s != 0)
                write_back(w, request, &entries[i], sheet->closed, &pictures);
        html_lit(w, "</ul>\n");
    }
    html_page_close(w);
    return rc;
}

ch_status page_ledger_get(web_request *request, web_response *response, ch_err *err)
{
    ch_store_sheet sheet;
    ch_status rc;
    if (!piece_sheet(request, response, &sheet, &rc, err))
        return rc;
    return ledger_page(request, response, &sheet, 0, NULL, err);
}

ch_status page_ledger_post(web_request *request, web_response *response, ch_err *err)
{
    ch_store_sheet sheet;
    ch_status rc;
    char client[CH_STORE_CLIENT_MAX + 1];
    const web_fields *form = &request->form;
    if (!piece_sheet(request, response, &sheet, &rc, err))
        return rc;
    const ch_store_ledger entry = {.what = piece_given(form, "what"),
                                   .origin = piece_given(form, "origin"),
                                   .lies = piece_given(form, "lies"),
                                   .torque = piece_given(form, "torque"),
                                   .note = piece_given(form, "note")};
    ch_err own = {0};
    char line[PIECE_LINE];
    rc = entry.what != NULL ? ch_store_ledger_add(request->store, sheet.id, &entry, piece_client(request, client),
                                                  request->now_s, NULL, &own)
                            : ch_fail(&own, CH_E_INPUT, NULL, "Say what came off.");
    if (piece_refused(rc, &own, response, line, err))
        return ledger_page(request, response, &sheet, 0, line, err);
    return rc < 0 ? rc : web_redirect(response, "/sheet/%lld/ledger", (long long)sheet.id);
}

ch_status page_ledger_entry_post(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_ledger *entries = NULL, *old = NULL;
    size_t count = 0;
    const web_fields *form = &request->form;
    const char *what = piece_given(form, "do");
    const int64_t id = web_part_id(request, 0);
    ch_status rc = ch_store_ledger_list(request->store, &request->pool, 0, false, &entries, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++)
        if (entries[i].id == id)
            old = &entries[i];
    if (rc < 0)
        return rc;
    if (old == NULL || what == NULL)
        return web_not_found(request, response);
    if (strcmp(what, "back") == 0 || strcmp(what, "off") == 0) {
        rc = ch_store_ledger_put_back(request->store, id, what[0] == 'b', request->now_s, err);
    } else if (strcmp(what, "never") == 0) {
        rc = ch_store_ledger_delete(request->store, id, request->now_s, err);
    } else {
        const ch_store_ledger changed = {.what = old->what,
                                         .origin = piece_given(form, "origin"),
                                         .lies = piece_given(form, "lies"),
                                         .torque = piece_given(form, "torque"),
                                         .note = piece_given(form, "note")};
        ch_err own = {0};
        char line[PIECE_LINE];
        ch_store_sheet sheet;
        rc = ch_store_ledger_change(request->store, id, &changed, request->now_s, &own);
        if (piece_refused(rc, &own, response, line, err)) {
            rc = ch_store_sheet_get(request->store, &request->pool, old->sheet_id, &sheet, err);
            return rc < 0 ? rc : ledger_page(request, response, &sheet, id, line, err);
        }
    }
    return rc < 0 ? rc : web_redirect(response, "/sheet/%lld/ledger", (long long)old->sheet_id);
}
