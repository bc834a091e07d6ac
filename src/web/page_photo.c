/*
 * POST /sheet/ID/photos, /task/ID/photos: keep a photo. Fields: photo (a file), entry, ledger (id of the ledger entry that it shows; none: of the sheet
 * or the work).
 * GET /photo/ID: the picture. POST /photo/ID: do = delete.
 */
#include <pthread.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/hash.h"
#include "page.h"
#include "page_work.h"
#include "photo.h"
#include "photos.h"

/* Pictures are opened one at a time: each may take some memory, and a server in a garage has little. */
static pthread_mutex_t one_at_a_time = PTHREAD_MUTEX_INITIALIZER;

/* ---------------------------------------------------------------- in other pages */

ch_status photos_load(web_request *request, int64_t sheet_id, int64_t work_id, photos *all, ch_err *err)
{
    return sheet_id != 0 ? ch_store_photos(request->store, &request->pool, sheet_id, &all->list, &all->count, err)
                         : ch_store_work_photos(request->store, &request->pool, work_id, &all->list, &all->count, err);
}

void photos_look(html_writer *w)
{
    html_lit(w, "<link rel=\"stylesheet\" href=\"/asset/photo.css\">");
}

void photos_show(html_writer *w, const web_request *request, const photos *all, int64_t ledger_id, const char *of)
{
    size_t shown = 0;
    for (size_t i = 0; i < all->count; i++) {
        const ch_store_photo *photo = &all->list[i];
        char path[64];
        if (photo->ledger_id != ledger_id)
            continue;
        snprintf(path, sizeof path, "/photo/%lld", (long long)photo->id);
        if (shown++ == 0)
            html_lit(w, "<ul class=\"photos\">");
        html_lit(w, "<li><a");
        html_attr(w, "href", path);
        html_lit(w, "><img loading=\"lazy\" width=\"240\" height=\"240\"");
        html_attr(w, "src", path);
        html_attrf(w, "alt", "Photo %zu of %s", shown, of);
        html_lit(w, "></a>");
        html_form_open(w, request, path, false);
        piece_button(w, "do", "delete", "danger", "Take this photo away");
        html_form_close(w);
        html_lit(w, "</li>");
    }
    if (shown > 0)
        html_lit(w, "</ul>\n");
}

ch_status photos_form(html_writer *w, const web_request *request, int64_t sheet_id, int64_t work_id, int64_t ledger_id,
                      ch_err *err)
{
    char action[64];
    if (sheet_id != 0)
        snprintf(action, sizeof action, "/sheet/%lld/photos", (long long)sheet_id);
    else
        snprintf(action, sizeof action, "/task/%lld/photos", (long long)work_id);
    html_form_open(w, request, action, true);
    const ch_status rc = piece_entry(w, err);
    if (ledger_id != 0)
        piece_hidden_number(w, "ledger", ledger_id);
    /* Browsers that keep pictures in another kind turn them into one of these when asked. */
    html_lit(w,
             "<label>A photo<input type=\"file\" name=\"photo\" accept=\"image/jpeg,image/png\" capture=\"environment\""
             " required></label>");
    piece_button(w, NULL, NULL, "second", "Keep the photo");
    html_form_close(w);
    return rc;
}

static ch_status photos_of(html_writer *w, web_request *request, int64_t sheet_id, int64_t work_id, const char *of,
                           ch_err *err)
{
    photos all = {0};
    ch_status rc = photos_load(request, sheet_id, work_id, &all, err);
    if (rc < 0)
        return rc;
    photos_look(w);
    html_lit(w, "<h2>Photos</h2>");
    photos_show(w, request, &all, 0, of);
    html_lit(w, "<details><summary>Take a photo</summary>");
    rc = photos_form(w, request, sheet_id, work_id, 0, err);
    html_lit(w, "</details>\n");
    return rc;
}

ch_status photos_of_sheet(html_writer *w, web_request *request, int64_t sheet_id, ch_err *err)
{
    return photos_of(w, request, sheet_id, 0, "this sheet", err);
}

ch_status photos_of_work(html_writer *w, web_request *request, int64_t work_id, const char *of, ch_err *err)
{
    return photos_of(w, request, 0, work_id, of, err);
}

/* ---------------------------------------------------------------- the picture */

/* False where there is none: the answer is then written, and the page returns *rc. */
static bool find(web_request *request, web_response *response, ch_store_photo *photo, ch_status *rc, ch_err *err)
{
    ch_err own = {0};
    const int64_t id = web_part_id(request, 0);
    *rc = id > 0 ? ch_store_photo_get(request->store, &request->pool, id, photo, &own) : CH_E_INPUT;
    if (*rc >= 0)
        return true;
    if (*rc == CH_E_INPUT)
        *rc = web_not_found(request, response);
    else if (err != NULL)
        *err = own;
    return false;
}

ch_status page_photo_get(web_request *request, web_response *response, ch_err *err)
{
    ch_store_photo photo;
    ch_status rc;
    if (!find(request, response, &photo, &rc, err))
        return rc;
    /* The type outlives the request's pool. JPEG is all that page_photos_post keeps; the file may hold others. */
    response->data_type = strcmp(photo.mime, "image/png") == 0    ? "image/png"
                          : strcmp(photo.mime, "image/webp") == 0 ? "image/webp"
                                                                  : "image/jpeg";
    /* By its bytes: another garage, served from the same address another day, has other photos under the same numbers. */
    snprintf(response->etag, sizeof response->etag, "photo-%016llx",
             (unsigned long long)ch_hash(CH_HASH_BEGIN, photo.bytes, photo.length));
    ch_text_append(&response->data, (const char *)photo.bytes, photo.length);
    return CH_OK;
}

static ch_status back(web_response *response, int64_t sheet_id, int64_t work_id, int64_t ledger_id)
{
    if (sheet_id == 0)
        return ledger_id != 0
                   ? web_redirect(response, "/task/%lld#thing-%lld", (long long)work_id, (long long)ledger_id)
                   : web_redirect(response, "/task/%lld", (long long)work_id);
    return ledger_id != 0
               ? web_redirect(response, "/sheet/%lld/ledger#thing-%lld", (long long)sheet_id, (long long)ledger_id)
               : web_redirect(response, "/sheet/%lld", (long long)sheet_id);
}

ch_status page_photo_post(web_request *request, web_response *response, ch_err *err)
{
    ch_store_photo photo;
    ch_status rc;
    const char *what = piece_given(&request->form, "do");
    if (!find(request, response, &photo, &rc, err))
        return rc;
    if (what == NULL || strcmp(what, "delete") != 0)
        return web_not_found(request, response);
    rc = ch_store_photo_delete(request->store, photo.id, request->now_s, err);
    return rc < 0 ? rc : back(response, photo.sheet_id, photo.work_id, photo.ledger_id);
}

static ch_status keep(web_request *request, int64_t sheet_id, int64_t work_id, const web_field *file, int64_t ledger_id,
                      ch_err *err)
{
    char client[CH_STORE_CLIENT_MAX + 1];
    ch_text jpeg;
    ch_text_init(&jpeg, CH_STORE_PHOTO_MAX);
    pthread_mutex_lock(&one_at_a_time);
    ch_status rc = photo_clean((const unsigned char *)file->value, file->length, &jpeg, err);
    pthread_mutex_unlock(&one_at_a_time);
    const ch_store_photo photo = {.sheet_id = sheet_id,
                                  .work_id = work_id,
                                  .ledger_id = ledger_id,
                                  .mime = "image/jpeg",
                                  .bytes = (const unsigned char *)jpeg.bytes,
                                  .length = jpeg.length};
    if (rc >= 0)
        rc = ch_store_photo_add(request->store, &photo, piece_client(request, client), request->now_s, NULL, err);
    ch_text_clear(&jpeg);
    return rc;
}

/* Says why, and leads back to where the photo was to stand. */
static ch_status refused(web_request *request, web_response *response, int64_t sheet_id, int64_t work_id,
                         int64_t ledger_id, const char *line)
{
    html_writer *w = &response->page;
    html_page_open(w, request, "This photo was not kept");
    piece_alert(w, line);
    html_lit(w, "<p><a class=\"button\"");
    if (sheet_id == 0)
        html_attrf(w, "href", "/task/%lld", (long long)work_id);
    else
        html_attrf(w, "href", ledger_id != 0 ? "/sheet/%lld/ledger" : "/sheet/%lld", (long long)sheet_id);
    html_lit(w, ">Back, and try another</a></p>\n");
    html_page_close(w);
    return CH_OK;
}

static ch_status take_in(web_request *request, web_response *response, int64_t sheet_id, int64_t work_id, ch_err *err)
{
    ch_status rc;
    ch_err own = {0};
    char line[PIECE_LINE];
    const web_field *file = web_field_find(&request->form, "photo");
    const int64_t ledger_id = piece_id(&request->form, "ledger");
    if (file == NULL || file->file_name == NULL || file->length == 0)
        rc = ch_fail(&own, CH_E_INPUT, NULL, "no photo was chosen");
    else
        rc = keep(request, sheet_id, work_id, file, ledger_id, &own);
    if (piece_refused(rc, &own, response, line, err))
        return refused(request, response, sheet_id, work_id, ledger_id, line);
    return rc < 0 ? rc : back(response, sheet_id, work_id, ledger_id);
}

ch_status page_photos_post(web_request *request, web_response *response, ch_err *err)
{
    ch_store_sheet sheet;
    ch_status rc;
    return piece_sheet(request, response, &sheet, &rc, err) ? take_in(request, response, sheet.id, 0, err) : rc;
}

ch_status page_work_photos_post(web_request *request, web_response *response, ch_err *err)
{
    ch_store_work work;
    ch_status rc;
    return page_work_find(request, response, &work, &rc, err) ? take_in(request, response, 0, work.id, err) : rc;
}
