/*
 * The server: starts, answers from several threads, stops. The only room that knows the HTTP library.
 *
 * Limits: WEB_CONNECTIONS connections (with --lan at most 64 from one address), 16 kB of request line and headers, the route's limit for
 * a body, WEB_BODIES_MAXIMUM for all bodies at one time and WEB_SPOOLS_MAXIMUM for all that go through files, 20 s to send the headers, 20 s and one more for every 32 kB to send the body
 * or fetch the answer.
 */
#ifndef CROSSHATCH_WEB_HTTP_H
#define CROSSHATCH_WEB_HTTP_H

#include <stdbool.h>
#include <stdint.h>

#include "crosshatch/status.h"
#include "route.h"
#include "session.h"
#include "tls.h"

enum {
    WEB_CONNECTIONS = 640,
    WEB_THREADS = 8,
    WEB_BODIES_MAXIMUM = 40 * 1024 * 1024,
    WEB_SPOOLS_MAXIMUM = 512 * 1024 * 1024,
    WEB_PORT = 8480
};

typedef struct web_config {
    uint16_t port;                   /* 0 = any free one */
    bool lan;                        /* on all interfaces, each new device enters the code; otherwise loopback alone */
    const web_tls *tls;              /* NULL = without encryption; lives as long as the server */
    bool log;                        /* a line for each request on the standard error */
    unsigned char key[WEB_KEY_SIZE]; /* signs the cookies */
    char code[WEB_CODE_LENGTH + 1];  /* what a new device has to enter with `lan` */
    /*
     * Lend the request what it works with (request->store, request->crew), and take it back and clear request->pool. Called in the thread that answers. Both may be NULL. A
     * failure of `begin` is answered by an error page, and `end` is not called then.
     */
    void *context; /* also in request->context */
    ch_status (*begin)(void *context, web_request *request, ch_err *err);
    void (*end)(void *context, web_request *request);
} web_config;

typedef struct web_server web_server;

/*
 * Start. Signals SIGINT, SIGTERM and SIGHUP are blocked in the calling thread and in those of the server: web_server_wait takes them.
 *
 * server (out): web_server_stop() it. port (out): where it listens.
 * retval CH_E_IO: the port is in use, may not be used, or the library failed. CH_E_MEMORY.
 */
ch_status web_server_start(const web_config *config, web_server **server, uint16_t *port, ch_err *err);

/* Wait until the program is asked to end (SIGINT, SIGTERM, SIGHUP), meanwhile closing connections that take too long. */
void web_server_wait(web_server *server);

/* Let requests that are being answered end, at most 5 s, close the rest, give all back. NULL is fine. */
void web_server_stop(web_server *server);

#endif
