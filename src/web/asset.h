/* Style sheet, modules and pictures that travel inside the program: the files of src/web/assets, embedded at build time. */
#ifndef CROSSHATCH_WEB_ASSET_H
#define CROSSHATCH_WEB_ASSET_H

#include "route.h"

typedef struct web_asset {
    const char *name; /* of the file */
    const char *type;
    const unsigned char *bytes;
    size_t length;
    const char *etag; /* the first 32 hexadecimal digits of its SHA-256 */
} web_asset;

/* Made by assets/embed.py. */
extern const web_asset web_assets[];
extern const size_t web_assets_count;

/* GET /asset/ * */
web_handler asset_get;

/* GET /worker.js: the service worker, which a browser takes only from the root. */
web_handler asset_worker_get;

#endif
