/* Files out of the table inside the program: there is no folder that a path could lead out of. */
#include "asset.h"

#include <stdio.h>
#include <string.h>

static ch_status send(web_request *request, web_response *response, const char *name)
{
    for (size_t i = 0; i < web_assets_count; i++) {
        const web_asset *asset = &web_assets[i];
        if (strcmp(asset->name, name) != 0)
            continue;
        response->data_type = asset->type;
        response->static_bytes = (const char *)asset->bytes;
        response->static_length = asset->length;
        snprintf(response->etag, sizeof response->etag, "%s", asset->etag);
        return CH_OK;
    }
    return web_not_found(request, response);
}

ch_status asset_get(web_request *request, web_response *response, ch_err *err)
{
    (void)err;
    return send(request, response, request->part[0]);
}

ch_status asset_worker_get(web_request *request, web_response *response, ch_err *err)
{
    (void)err;
    response->worker = true;
    return send(request, response, "worker.js");
}
