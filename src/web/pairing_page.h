/* The page on which a new device enters the code. */
#ifndef CROSSHATCH_WEB_PAIRING_PAGE_H
#define CROSSHATCH_WEB_PAIRING_PAGE_H

#include "route.h"

/* GET /pair. Query: code (from the QR), only filled in; nothing is tried before the button is pressed. */
web_handler pairing_page_get;

/* POST /pair. Form: code. Right: the device gets a new cookie and goes to the start. */
web_handler pairing_page_post;

/* GET /token: {"token": "..."} for entries that waited on the device while the program was away. */
web_handler pairing_token_get;

/* GET /certificate: the authority's certificate, for a phone to trust; 404 without TLS. */
web_handler page_certificate_get;

#endif
