/*
 * POST /ledger/ID/photo: a photo of a thing taken off, or of where it was. Field: photo (a file), entry.
 * GET /photo/ID: its JPEG. POST /photo/ID: take it out. Field: sheet.
 */
#include <stdlib.h>

#include "page.h"
#include "photo.h"
#include "piece.h"

/* The ledger entry of the path; NULL where there is none. */
static ch_status find_entry(web_request *request, const ch_store_ledger **found, ch_err *err)
{
    const ch_store_ledger *entries = NULL;
    size_t count = 0;
    const int64_t id = web_part_id(request, 0);
    const ch_status rc = ch_store_ledger_list(request->store, &request->pool, 0, false, &entries, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++)
        if (entries[i].id == id)
            *found = &entries[i];
    return rc;
}

ch_status page_ledger_photo_post(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_ledger *entry = NULL;
    unsigned char *jpeg = NULL;
    char client[CH_STORE_CLIENT_MAX + 1];
    ch_status rc = find_entry(request, &entry, err);
    if (rc < 0)
        return rc;
    if (entry == NULL)
        return web_not_found(request, response);
    const web_field *file = web_field_find(&request->form, "photo");
    if (file == NULL || file->file_name == NULL || file->length == 0)
        return ch_fail(err, CH_E_INPUT, "take or choose one first", "there is no photo in the form");
    ch_store_photo photo = {.sheet_id = entry->sheet_id, .ledger_id = entry->id, .mime = "image/jpeg"};
    rc = photo_take(file->value, file->length, &jpeg, &photo.length, err);
    photo.bytes = jpeg;
    if (rc >= 0)
        rc = ch_store_photo_add(request->store, &photo, piece_client(request, client), request->now_s, NULL, err);
    free(jpeg);
    return rc < 0 ? rc
                  : web_redirect(response, "/sheet/%lld/ledger#thing-%lld", (long long)entry->sheet_id,
                                 (long long)entry->id);
}

ch_status page_photo_get(web_request *request, web_response *response, ch_err *err)
{
    ch_store_photo photo = {0};
    ch_err own = {0};
    const int64_t id = web_part_id(request, 0);
    const ch_status rc = id != 0 ? ch_store_photo_get(request->store, &request->pool, id, &photo, &own) : CH_E_INPUT;
    if (rc == CH_E_INPUT)
        return web_not_found(request, response);
    if (rc < 0) {
        if (err != NULL)
            *err = own;
        return rc;
    }
    response->data_type = photo.mime;
    ch_text_append(&response->data, (const char *)photo.bytes, photo.length);
    return CH_OK;
}

ch_status page_photo_post(web_request *request, web_response *response, ch_err *err)
{
    const int64_t id = web_part_id(request, 0), sheet_id = piece_id(&request->form, "sheet");
    if (id == 0 || sheet_id == 0)
        return web_not_found(request, response);
    const ch_status rc = ch_store_photo_delete(request->store, id, request->now_s, err);
    return rc < 0 ? rc : web_redirect(response, "/sheet/%lld/ledger", (long long)sheet_id);
}
