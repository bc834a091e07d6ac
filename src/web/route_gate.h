/*
 * What stands between the wire and the pages: every check of a request that needs no page, in one place, and without the HTTP library.
 * The transport (http.c) calls web_gate_begin when the headers are in and web_gate_answer when the body is.
 */
#ifndef CROSSHATCH_WEB_ROUTE_GATE_H
#define CROSSHATCH_WEB_ROUTE_GATE_H

#include <pthread.h>

#include "http.h"
#include "pairing.h"
#include "route.h"

typedef struct web_gate {
    web_config config;
    char cookie_name[32];
    pthread_mutex_t lock; /* of tries */
    pairing tries;
} web_gate;

/* What the transport knows when the headers are in. Texts live until the answer; NULL = the header was not sent. */
typedef struct web_incoming {
    const char *method, *address; /* GET, /path?query as sent */
    const char *host, *origin, *fetch_site, *fetch_mode, *type, *cookie, *none_match, *length, *encoding;
    int hosts, lengths; /* how many headers of these names */
    const char *peer;   /* address of the device, as text */
    const char *local;  /* our address that it came to, as text */
    bool peer_is_loopback;
} web_incoming;

/* One request on its way. */
typedef struct web_exchange {
    web_incoming in;
    web_request request;
    web_response response;
    const web_route *route;
    web_session session;
    const char *query; /* behind the question mark, or NULL */
    char path[WEB_PATH_MAXIMUM];
    size_t body_maximum; /* what the body may have; its Content-Length is within it */
} web_exchange;

/*
 * Look at the headers. True: go on, read the body and call web_gate_answer. False: the response is ready (a refusal, or a way to the code).
 */
bool web_gate_begin(web_gate *gate, web_exchange *x, int64_t now_s);

/* Read the body (`length` bytes, may be changed, lives until web_gate_clear) and call the page. The response is ready. */
void web_gate_answer(web_gate *gate, web_exchange *x, char *body, size_t length);

/* Put this device's cookie into the response. */
ch_status web_gate_cookie(const web_gate *gate, const web_session *session, web_response *response, ch_err *err);

/* Give back what the exchange holds; the response's texts too. */
void web_gate_clear(web_exchange *x);

#endif
