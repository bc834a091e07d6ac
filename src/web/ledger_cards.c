/* Cards of the put-back ledger. */
#include "ledger_cards.h"

#include <stdio.h>
#include <stdlib.h>

enum { HOW_MAX = 4096 }; /* bytes of how something goes back */

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

ch_status ledger_in_order(const web_know *know, const ch_store_ledger *rows, size_t count, int64_t work_id,
                          ledger_off *ordered, ch_err *err)
{
    *ordered = (ledger_off){.entry = calloc(count + 1, sizeof *ordered->entry)};
    if (ordered->entry == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for what is off");
    for (size_t i = 0; i < count; i++)
        if (rows[i].put_back_s == 0 && (work_id == 0 || rows[i].work_id == work_id))
            ordered->entry[ordered->off++] = &rows[i];
    return ch_store_put_back_order(&know->procedures, ordered->entry, ordered->off, err);
}

/* What a procedure says of putting it back; cautions that the page has already are not said again. */
static void write_how(html_writer *w, ledger_page_of *page, const ch_store_ledger *entry)
{
    ch_put_back back;
    if (entry->sheet_id == 0 || !ch_procedure_put_back(&page->know->procedures, entry->what, &back))
        return;
    for (size_t i = 0; i < back.step->cautions.count; i++) {
        const size_t at = back.step->cautions.at[i];
        const ch_places one = {.at = &back.step->cautions.at[i], .count = 1};
        if (at < LEDGER_CAUTIONS && page->said[at])
            continue;
        piece_cautions(w, &page->know->knowledge, &one);
        if (at < LEDGER_CAUTIONS)
            page->said[at] = true;
    }
    ch_text words;
    ch_text_init(&words, HOW_MAX);
    ch_procedure_fill(back.step->text, back.cylinder, &words);
    if (words.status != CH_OK)
        html_fail(w, words.status);
    html_lit(w, "<p>");
    html_text(w, ch_text_string(&words));
    html_lit(w, "</p>\n");
    ch_text_clear(&words);
}

ch_status ledger_card_off(html_writer *w, const web_request *request, ledger_page_of *page,
                          const ch_store_ledger *entry, const char *alert, ch_err *err)
{
    const bool typed = alert != NULL;
    html_lit(w, "<li class=\"card\"");
    html_attrf(w, "id", "thing-%lld", (long long)entry->id);
    html_lit(w, "><h3>");
    html_text(w, entry->what);
    html_lit(w, "</h3>");
    write_facts(w, entry);
    write_how(w, page, entry);
    entry_form(w, request, entry);
    piece_button(w, "do", "back", "wide", "It is back");
    html_form_close(w);
    photos_show(w, request, page->pictures, entry->id, entry->what);
    html_lit(w, "<details><summary>Take a photo of it</summary>");
    const ch_status rc = photos_form(w, request, entry->sheet_id, entry->work_id, entry->id, err);
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
    if (!page->closed)
        piece_button(w, "do", "never", "danger", "It was never off");
    html_form_close(w);
    html_lit(w, "</details></li>\n");
    return rc;
}

void ledger_card_back(html_writer *w, const web_request *request, const ch_store_ledger *entry, bool closed,
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

ch_status ledger_new(html_writer *w, const web_request *request, const char *action, const char *alert, ch_err *err)
{
    html_lit(w, "<details");
    html_attr_if(w, "open", alert != NULL);
    html_lit(w, "><summary>Something else came off</summary>");
    piece_alert(w, alert);
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

ch_store_ledger ledger_typed(const web_fields *form)
{
    return (ch_store_ledger){.what = piece_given(form, "what"),
                             .origin = piece_given(form, "origin"),
                             .lies = piece_given(form, "lies"),
                             .torque = piece_given(form, "torque"),
                             .note = piece_given(form, "note")};
}

void ledger_link(html_writer *w, const ch_store_ledger *entry)
{
    html_lit(w, "<a class=\"button\"");
    if (entry->work_id != 0)
        html_attrf(w, "href", "/task/%lld", (long long)entry->work_id);
    else
        html_attrf(w, "href", "/sheet/%lld/ledger", (long long)entry->sheet_id);
    html_lit(w, ">Put back: ");
    html_text(w, entry->what);
    html_lit(w, "</a>");
}
