/*
 * GET /sheet/ID/ledger: what is off the car and where it lies; what is back.
 * POST /sheet/ID/ledger: enter a thing taken off. Fields: what, origin, lies, torque, note, entry.
 * POST /ledger/ID, of a sheet or of winter work: do = back | off | never | change (with origin, lies, torque, note).
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "ledger_cards.h"
#include "page.h"
#include "page_work.h"
#include "steps.h"

/* `alert`: why a new entry (`refused` 0) or the correction of the entry `refused` was not taken, else NULL. */
static ch_status ledger_page(web_request *request, web_response *response, const ch_store_sheet *sheet, int64_t refused,
                             const char *alert, ch_err *err)
{
    html_writer *w = &response->page;
    const ch_store_ledger *entries = NULL;
    size_t count = 0;
    char action[64];
    photos pictures = {0};
    ledger_off ordered = {0};
    const web_know *know = know_get(err);
    if (know == NULL)
        return CH_E_IO;
    snprintf(action, sizeof action, "/sheet/%lld/ledger", (long long)sheet->id);
    ch_status rc = ch_store_ledger_list(request->store, &request->pool, sheet->id, false, &entries, &count, err);
    if (rc >= 0)
        rc = photos_load(request, sheet->id, 0, &pictures, err);
    if (rc >= 0)
        rc = piece_sheet_open(request, response, sheet, "Put-back ledger", "/ledger", err);
    if (rc < 0)
        return rc;
    photos_look(w);
    steps_ahead ahead = {0};
    rc = ledger_in_order(know, entries, count, 0, &ordered, err);
    if (rc >= 0 && !sheet->closed)
        rc = steps_ahead_find(request, know, ordered.entry, ordered.off, false, &ahead, err);
    if (ahead.step != NULL) {
        html_lit(w, "<h2>Before anything goes back</h2>\n");
        steps_ahead_write(w, know, &ahead);
    }
    if (sheet->ledger_open == 0)
        html_lit(w, "<p class=\"verdict sound\">Nothing is off the car.</p>\n");
    else
        html_lit(w, "<h2>Still off</h2><p class=\"hint\">In the order in which it goes back.</p>\n");
    html_lit(w, "<ul class=\"cards\">");
    ledger_page_of page = {.know = know, .pictures = &pictures, .closed = sheet->closed};
    for (size_t i = 0; rc >= 0 && i < ordered.off; i++)
        rc = ledger_card_off(w, request, &page, ordered.entry[i], ordered.entry[i]->id == refused ? alert : NULL, err);
    free(ordered.entry);
    html_lit(w, "</ul>\n");
    if (rc >= 0 && !sheet->closed)
        rc = ledger_new(w, request, action, refused == 0 ? alert : NULL, err);
    if (count > (size_t)sheet->ledger_open) {
        html_lit(w, "<h2>Back</h2><ul class=\"cards\">");
        for (size_t i = 0; i < count; i++)
            if (entries[i].put_back_s != 0)
                ledger_card_back(w, request, &entries[i], sheet->closed, &pictures);
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
    const ch_store_ledger entry = ledger_typed(form);
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
    if (old == NULL || !piece_does(request, "back off never change"))
        return web_not_found(request, response);
    if (strcmp(what, "back") == 0 || strcmp(what, "off") == 0) {
        rc = ch_store_ledger_put_back(request->store, id, what[0] == 'b', request->now_s, err);
    } else if (strcmp(what, "never") == 0) {
        rc = ch_store_ledger_delete(request->store, id, request->now_s, err);
    } else {
        ch_store_ledger changed = ledger_typed(form);
        changed.what = old->what;
        ch_err own = {0};
        char line[PIECE_LINE];
        ch_store_sheet sheet;
        rc = ch_store_ledger_change(request->store, id, &changed, request->now_s, &own);
        if (piece_refused(rc, &own, response, line, err)) {
            if (old->work_id != 0)
                return page_work_again(request, response, old->work_id, id, line, err);
            rc = ch_store_sheet_get(request->store, &request->pool, old->sheet_id, &sheet, err);
            return rc < 0 ? rc : ledger_page(request, response, &sheet, id, line, err);
        }
    }
    if (rc >= 0 && old->work_id != 0)
        return web_redirect(response, "/task/%lld", (long long)old->work_id);
    return rc < 0 ? rc : web_redirect(response, "/sheet/%lld/ledger", (long long)old->sheet_id);
}
