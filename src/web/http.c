/*
 * The transport: libmicrohttpd with LINK_THREADS threads, each with its own share of the connections, and WEB_THREADS others that answer.
 *  1. The library's own time limit starts anew with every byte, so a client that sends one now and then would never end. Here each connection has a
 *     deadline for what it is doing; web_server_wait shuts down those that miss it, which the library sees as the client having left.
 *  2. A connection's descriptor is in the table from before the first byte until just before the library closes it, both under one lock: what is
 *     shut down is never a descriptor that has meanwhile become another's.
 *  3. Nothing of the request is decoded by the library; route_gate.c sees what was sent.
 *  4. A refusal with a body still to come closes the connection.
 *  5. While a page is made the library leaves the connection alone (suspended): the passage is then the answering thread's alone.
 */
#include "http.h"

#include <arpa/inet.h>
#include <errno.h>
#include <microhttpd.h>
#include <pthread.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include "answerers.h"
#include "kept_log.h"
#include "route_gate.h"
#include "spool.h"

enum {
    HEADERS_MAXIMUM = 16 * 1024,
    LAN_PER_ADDRESS = 64,
    LINK_THREADS = 4,
    PATIENCE_S = 20,
    BYTES_PER_S = 32 * 1024, /* the slowest that a photo or a report may travel */
    STOP_PATIENCE_S = 5,
    ADDRESS_SIZE = 64
};

/* One connection. Lives from the library's notice that it began to that it ended. */
typedef struct link {
    struct link *next, *previous;
    int descriptor;
    _Atomic int64_t deadline_s; /* of the steady clock; INT64_MAX while the program itself works on the answer */
    char peer[ADDRESS_SIZE], local[ADDRESS_SIZE];
    bool peer_is_loopback;
} link_t;

struct web_server {
    web_gate gate;
    struct MHD_Daemon *daemon;
    answerers *answerers;
    atomic_bool closed; /* takes no more connections */
    atomic_bool ending;
    pthread_mutex_t links_lock;
    link_t *links;
    atomic_size_t bodies; /* bytes that bodies being received may grow to */
    atomic_size_t spools; /* the same of those that go through files */
    atomic_int answering; /* requests whose answer is not sent yet */
    sigset_t signals, signals_before;
};

/* One request as the transport sees it. */
typedef struct passage {
    answerers_item item; /* first, so that it leads here */
    web_server *server;
    struct MHD_Connection *connection;
    web_exchange x;
    char *address; /* as sent */
    char *body;
    size_t body_length, body_size;
    bool spooled; /* `body` is a map of x.request.spool, which exists from the first byte on */
    bool begun, counted, answered;
    int64_t begun_us; /* when the headers were in */
} passage;

static int64_t steady_us(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000000 + now.tv_nsec / 1000;
}

static int64_t steady_s(void)
{
    return steady_us() / 1000000;
}

static void expect_within(link_t *link, size_t bytes)
{
    if (link != NULL)
        link->deadline_s = steady_s() + PATIENCE_S + (int64_t)(bytes / BYTES_PER_S);
}

/* ---------------------------------------------------------------- connections */

static bool address_text(const struct sockaddr *address, char text[ADDRESS_SIZE])
{
    if (address->sa_family == AF_INET) {
        struct sockaddr_in v4;
        memcpy(&v4, address, sizeof v4);
        inet_ntop(AF_INET, &v4.sin_addr, text, ADDRESS_SIZE);
        return (ntohl(v4.sin_addr.s_addr) >> 24) == 127;
    }
    if (address->sa_family != AF_INET6)
        return false;
    struct sockaddr_in6 v6;
    memcpy(&v6, address, sizeof v6);
    if (IN6_IS_ADDR_V4MAPPED(&v6.sin6_addr)) {
        inet_ntop(AF_INET, v6.sin6_addr.s6_addr + 12, text, ADDRESS_SIZE);
        return v6.sin6_addr.s6_addr[12] == 127;
    }
    inet_ntop(AF_INET6, &v6.sin6_addr, text, ADDRESS_SIZE);
    return IN6_IS_ADDR_LOOPBACK(&v6.sin6_addr);
}

/* Whoever comes while the server ends is turned away here. The library's own way to stop listening, MHD_quiesce_daemon, ends the program when one of the
 * library's threads happens to stop first (version 0.9.75). */
static enum MHD_Result on_knock(void *context, const struct sockaddr *address, socklen_t size)
{
    const web_server *server = context;
    (void)address;
    (void)size;
    return server->closed ? MHD_NO : MHD_YES;
}

static link_t *link_begin(web_server *server, struct MHD_Connection *connection)
{
    const union MHD_ConnectionInfo *descriptor = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);
    const union MHD_ConnectionInfo *peer = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CLIENT_ADDRESS);
    link_t *link = calloc(1, sizeof *link);
    if (link == NULL || descriptor == NULL || peer == NULL) {
        free(link);
        return NULL;
    }
    struct sockaddr_storage local;
    socklen_t size = sizeof local;
    link->descriptor = descriptor->connect_fd;
    link->peer_is_loopback = address_text(peer->client_addr, link->peer);
    if (getsockname(link->descriptor, (struct sockaddr *)&local, &size) == 0)
        address_text((const struct sockaddr *)&local, link->local);
    expect_within(link, 0);
    pthread_mutex_lock(&server->links_lock);
    link->next = server->links;
    if (link->next != NULL)
        link->next->previous = link;
    server->links = link;
    pthread_mutex_unlock(&server->links_lock);
    return link;
}

static void link_end(web_server *server, link_t *link)
{
    if (link == NULL)
        return;
    pthread_mutex_lock(&server->links_lock);
    if (link->previous != NULL)
        link->previous->next = link->next;
    else
        server->links = link->next;
    if (link->next != NULL)
        link->next->previous = link->previous;
    pthread_mutex_unlock(&server->links_lock);
    free(link);
}

static void on_connection(void *context, struct MHD_Connection *connection, void **socket_context,
                          enum MHD_ConnectionNotificationCode code)
{
    web_server *server = context;
    if (code == MHD_CONNECTION_NOTIFY_STARTED) {
        *socket_context = link_begin(server, connection);
    } else {
        link_end(server, *socket_context);
        *socket_context = NULL;
    }
}

static link_t *link_of(struct MHD_Connection *connection)
{
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    return info != NULL ? info->socket_context : NULL;
}

static void shut_down_the_late(web_server *server)
{
    const int64_t now_s = steady_s();
    pthread_mutex_lock(&server->links_lock);
    for (link_t *link = server->links; link != NULL; link = link->next)
        if (link->deadline_s < now_s)
            shutdown(link->descriptor, SHUT_RDWR);
    pthread_mutex_unlock(&server->links_lock);
}

/* ---------------------------------------------------------------- requests */

/* Called with the address as it was sent, before anything is decoded. What it returns is the request's context. */
static void *on_address(void *context, const char *address, struct MHD_Connection *connection)
{
    (void)connection;
    passage *p = calloc(1, sizeof *p);
    if (p == NULL)
        return NULL;
    p->server = context;
    p->x.request.spool = -1;
    p->address = strdup(address);
    if (p->address == NULL) {
        free(p);
        return NULL;
    }
    return p;
}

static void on_completed(void *context, struct MHD_Connection *connection, void **request_context,
                         enum MHD_RequestTerminationCode code)
{
    (void)context;
    (void)code;
    passage *p = *request_context;
    if (p == NULL)
        return;
    if (p->body_size > 0)
        *(p->spooled ? &p->server->spools : &p->server->bodies) -= p->body_size;
    if (p->counted)
        p->server->answering--;
    web_gate_clear(&p->x);
    free(p->address);
    if (p->spooled)
        spool_unmap(p->body, p->body_size);
    else
        free(p->body);
    if (p->x.request.spool >= 0)
        close(p->x.request.spool);
    free(p);
    *request_context = NULL;
    expect_within(link_of(connection), 0); /* for the next request */
}

static enum MHD_Result on_header(void *context, enum MHD_ValueKind kind, const char *name, const char *value)
{
    (void)kind;
    web_incoming *in = context;
    if (strcasecmp(name, "Host") == 0) {
        in->hosts++;
        in->host = value;
    } else if (strcasecmp(name, "Content-Length") == 0) {
        in->lengths++;
        in->length = value;
    } else if (strcasecmp(name, "Transfer-Encoding") == 0) {
        in->encoding = value;
    } else if (strcasecmp(name, "Origin") == 0) {
        in->origin = value;
    } else if (strcasecmp(name, "Sec-Fetch-Site") == 0) {
        in->fetch_site = value;
    } else if (strcasecmp(name, "Sec-Fetch-Mode") == 0) {
        in->fetch_mode = value;
    } else if (strcasecmp(name, "Content-Type") == 0) {
        in->type = value;
    } else if (strcasecmp(name, "If-None-Match") == 0) {
        in->none_match = value;
    }
    return MHD_YES;
}

/* Time, device, method, address, status, bytes, microseconds from the headers until the answer was ready. */
static void log_request(const passage *p, unsigned status, size_t length)
{
    char address[120], when[32];
    const time_t now = time(NULL);
    struct tm utc;
    gmtime_r(&now, &utc);
    strftime(when, sizeof when, "%Y-%m-%dT%H:%M:%SZ", &utc);
    const char *shown = p->x.in.address != NULL ? p->x.in.address : "?";
    ch_text_excerpt(shown, strlen(shown), address, sizeof address);
    fprintf(stderr, "%s %s %s %s %u %zu %lld\n", when, p->x.in.peer, p->x.in.method, address, status, length,
            (long long)(steady_us() - p->begun_us));
}

/*
 * Headers of every answer. The policy names each kind of thing that a page may load, all from here; a printed document that is shown has a narrower
 * one. Referrer-Policy is same-origin, not no-referrer: the latter makes browsers send "Origin: null" with our own forms (Fetch Standard, "append a request Origin header"), and nothing leads outside anyway.
 * Sources: W3C Content Security Policy Level 3; OWASP HTTP Headers Cheat Sheet.
 */
static void add_headers(struct MHD_Response *out, const web_response *response, const char *type, bool bare)
{
    static const char policy[] = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; "
                                 "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; "
                                 "base-uri 'none'; frame-ancestors 'none'";
    static const char *const always[][2] = {
        {"X-Content-Type-Options", "nosniff"},
        {"X-Frame-Options", "DENY"},
        {"Referrer-Policy", "same-origin"},
        {"Cross-Origin-Opener-Policy", "same-origin"},
        {"Cross-Origin-Resource-Policy", "same-origin"},
        {"Permissions-Policy", "camera=(), geolocation=(), microphone=(), payment=(), usb=()"},
    };
    char text[200];
    const bool alone = response->own_style[0] != '\0';
    snprintf(text, sizeof text,
             "default-src 'none'; style-src '%s'; form-action 'none'; base-uri 'none'; sandbox; frame-ancestors 'none'",
             response->own_style);
    MHD_add_response_header(out, "Content-Security-Policy", alone ? text : policy);
    for (size_t i = 0; i < sizeof always / sizeof always[0]; i++)
        MHD_add_response_header(out, always[i][0], always[i][1]);
    MHD_add_response_header(out, "Content-Type", type);
    MHD_add_response_header(out, "Cache-Control", bare ? "no-cache" : "private, no-cache");
    if (response->etag[0] != '\0') {
        snprintf(text, sizeof text, "\"%s\"", response->etag);
        MHD_add_response_header(out, "ETag", text);
    }
    if (response->location[0] != '\0')
        MHD_add_response_header(out, "Location", response->location);
    if (response->cookie[0] != '\0')
        MHD_add_response_header(out, "Set-Cookie", response->cookie);
    if (response->allow != NULL)
        MHD_add_response_header(out, "Allow", response->allow);
    if (response->worker)
        MHD_add_response_header(out, "Service-Worker-Allowed", "/");
    if (response->download[0] != '\0') {
        snprintf(text, sizeof text, "%s; filename=\"%s\"", alone ? "inline" : "attachment", response->download);
        MHD_add_response_header(out, "Content-Disposition", text);
    }
    if (response->refresh_s > 0) {
        snprintf(text, sizeof text, "%d", response->refresh_s);
        MHD_add_response_header(out, "Refresh", text);
    }
    if (response->retry_after_s > 0) {
        snprintf(text, sizeof text, "%d", response->retry_after_s);
        MHD_add_response_header(out, "Retry-After", text);
    }
}

/* Hand a growing text's memory to the library, which frees it. */
static struct MHD_Response *response_from(ch_text *text)
{
    struct MHD_Response *out = MHD_create_response_from_buffer(text->length, text->bytes, MHD_RESPMEM_MUST_FREE);
    if (out != NULL)
        ch_text_init(text, text->maximum);
    return out;
}

static bool browser_has_it(const passage *p)
{
    const char *etag = p->x.response.etag;
    return etag[0] != '\0' && p->x.in.none_match != NULL && p->x.response.status == 200 && !p->x.request.post &&
           strstr(p->x.in.none_match, etag) != NULL;
}

static enum MHD_Result send_response(struct MHD_Connection *connection, passage *p)
{
    web_response *response = &p->x.response;
    const char *type = response->data_type != NULL ? response->data_type : "text/html; charset=utf-8";
    unsigned status = (unsigned)response->status;
    struct MHD_Response *out = NULL;
    size_t length = 0;
    if (browser_has_it(p)) {
        status = 304;
        out = MHD_create_response_from_buffer(0, NULL, MHD_RESPMEM_PERSISTENT);
    } else if (response->location[0] != '\0') {
        out = MHD_create_response_from_buffer(0, NULL, MHD_RESPMEM_PERSISTENT);
    } else if (response->data_type != NULL && response->static_bytes != NULL) {
        length = response->static_length;
        /* The library only reads it: the parameter is not const for the sake of its other modes. */
        union {
            const char *constant;
            void *plain;
        } bytes = {.constant = response->static_bytes};
        out = MHD_create_response_from_buffer(length, bytes.plain, MHD_RESPMEM_PERSISTENT);
    } else if (response->data_type != NULL && response->file > 0) {
        length = response->file_length;
        out = MHD_create_response_from_fd(length, response->file);
        if (out == NULL)
            close(response->file);
    } else {
        ch_text *text = response->data_type != NULL ? &response->data : &response->page.text;
        length = text->length;
        out = response_from(text);
    }
    if (out == NULL)
        return MHD_NO;
    add_headers(out, response, type, p->x.route != NULL && p->x.route->bare);
    if (p->server->gate.config.log)
        log_request(p, status, length);
    expect_within(link_of(connection), length);
    const enum MHD_Result rc = MHD_queue_response(connection, status, out);
    MHD_destroy_response(out);
    return rc;
}

/* Where the body goes: into memory, or, where the route says so, through a file. False: the connection is given up. */
static bool expect_body(passage *p, size_t length, ch_err *err)
{
    web_server *server = p->server;
    p->spooled = p->x.route->spooled;
    atomic_size_t *all = p->spooled ? &server->spools : &server->bodies;
    if (*all + length > (size_t)(p->spooled ? WEB_SPOOLS_MAXIMUM : WEB_BODIES_MAXIMUM))
        return false;
    if (p->spooled && spool_open(length, &p->x.request.spool, err) < 0)
        return false;
    if (!p->spooled && (p->body = malloc(length + 1)) == NULL)
        return false;
    p->body_size = length;
    *all += length;
    return true;
}

static bool take_body(passage *p, const char *bytes, size_t length)
{
    if (length > p->body_size - p->body_length)
        return false;
    if (!p->spooled)
        memcpy(p->body + p->body_length, bytes, length);
    else if (spool_write(p->x.request.spool, bytes, length) < 0)
        return false;
    p->body_length += length;
    return true;
}

/* The headers are in. */
static enum MHD_Result begin(struct MHD_Connection *connection, passage *p, const char *method)
{
    web_server *server = p->server;
    link_t *link = link_of(connection);
    web_incoming *in = &p->x.in;
    p->begun = p->counted = true;
    p->begun_us = steady_us();
    server->answering++;
    if (link == NULL)
        return MHD_NO;
    in->method = method;
    in->address = p->address;
    in->peer = link->peer;
    in->local = link->local;
    in->peer_is_loopback = link->peer_is_loopback;
    MHD_get_connection_values(connection, MHD_HEADER_KIND, on_header, in);
    in->cookie = MHD_lookup_connection_value(connection, MHD_COOKIE_KIND, server->gate.cookie_name);
    if (!web_gate_begin(&server->gate, &p->x, (int64_t)time(NULL)))
        return send_response(connection, p);
    const size_t length = p->x.request.post ? (size_t)strtoull(in->length, NULL, 10) : 0;
    ch_err err = {0};
    if (length > 0 && !expect_body(p, length, &err)) {
        if (err.status == CH_OK)
            return MHD_NO;
        web_message(&p->x.request, &p->x.response, 507, "No room for this", err.what);
        return send_response(connection, p);
    }
    expect_within(link, length);
    return MHD_YES;
}

/* In a thread that answers. The library calls on_request once more then. */
static void answer(answerers_item *item)
{
    passage *p = (passage *)(void *)item;
    if (p->server->ending)
        web_message(&p->x.request, &p->x.response, 503, "The program is ending", "Nothing was changed.");
    else
        web_gate_answer(&p->server->gate, &p->x, p->body, p->body_length);
    p->answered = true;
    MHD_resume_connection(p->connection);
}

static enum MHD_Result on_request(void *context, struct MHD_Connection *connection, const char *url, const char *method,
                                  const char *version, const char *upload, size_t *upload_size, void **request_context)
{
    (void)context;
    (void)url;
    (void)version;
    passage *p = *request_context;
    if (p == NULL)
        return MHD_NO;
    if (!p->begun)
        return begin(connection, p, method);
    if (*upload_size > 0) {
        if (!take_body(p, upload, *upload_size))
            return MHD_NO;
        *upload_size = 0;
        return MHD_YES;
    }
    if (p->answered)
        return send_response(connection, p);
    link_t *link = link_of(connection);
    if (link != NULL)
        link->deadline_s = INT64_MAX;
    if (p->spooled && p->body_size > 0 && (p->body = spool_map(p->x.request.spool, p->body_size)) == NULL)
        return MHD_NO;
    if (p->body != NULL)
        p->body[p->body_length] = '\0';
    p->connection = connection;
    MHD_suspend_connection(connection);
    if (!answerers_add(p->server->answerers, &p->item))
        answer(&p->item); /* the server is ending, which is said at once */
    return MHD_YES;
}

/* ---------------------------------------------------------------- start and stop */

static size_t leave_as_sent(void *context, struct MHD_Connection *connection, char *text)
{
    (void)context;
    (void)connection;
    return strlen(text);
}

static void no_log(void *context, const char *format, va_list arguments)
{
    (void)context;
    (void)format;
    (void)arguments;
}

/* A socket of our own, so that "in use" can be told from other failures. On the LAN one for IPv6 that takes IPv4 too, where the system has IPv6. */
static int listen_on(const web_config *config, uint16_t *port, ch_err *err)
{
    const int on = 1, off = 0;
    struct sockaddr_in v4 = {.sin_family = AF_INET, .sin_port = htons(config->port)};
    struct sockaddr_in6 v6 = {.sin6_family = AF_INET6, .sin6_port = htons(config->port), .sin6_addr = in6addr_any};
    v4.sin_addr.s_addr = htonl(config->lan ? INADDR_ANY : INADDR_LOOPBACK);
    const struct sockaddr *address = (const struct sockaddr *)&v6;
    socklen_t size = sizeof v6;
    int descriptor = config->lan ? socket(AF_INET6, SOCK_STREAM | SOCK_CLOEXEC, 0) : -1;
    if (descriptor < 0 || setsockopt(descriptor, IPPROTO_IPV6, IPV6_V6ONLY, &off, sizeof off) != 0) {
        if (descriptor >= 0)
            close(descriptor);
        descriptor = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
        address = (const struct sockaddr *)&v4;
        size = sizeof v4;
    }
    struct sockaddr_in6 bound = {0};
    socklen_t bound_size = sizeof bound;
    if (descriptor >= 0 && setsockopt(descriptor, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on) == 0 &&
        bind(descriptor, address, size) == 0 && listen(descriptor, 128) == 0 &&
        getsockname(descriptor, (struct sockaddr *)&bound, &bound_size) == 0) {
        *port = ntohs(bound.sin6_port); /* at the same place in both kinds of address */
        return descriptor;
    }
    if (errno == EADDRINUSE)
        ch_fail(err, CH_E_IO, "another with --port N; perhaps crosshatch is running already", "port %d is in use",
                config->port);
    else
        ch_fail(err, CH_E_IO, "another with --port N, 1024 or more", "port %d cannot be used: %s", config->port,
                strerror(errno));
    if (descriptor >= 0)
        close(descriptor);
    return -1;
}

static struct MHD_Daemon *daemon_start(web_server *server, int descriptor)
{
    const web_tls *tls = server->gate.config.tls;
    char priorities[] =
        "NORMAL:-VERS-ALL:+VERS-TLS1.3:+VERS-TLS1.2"; /* BCP 195, RFC 9325; read when the server starts */
    const struct MHD_OptionItem secure[] = {{MHD_OPTION_HTTPS_MEM_KEY, 0, tls != NULL ? tls->key : NULL},
                                            {MHD_OPTION_HTTPS_MEM_CERT, 0, tls != NULL ? tls->chain : NULL},
                                            {MHD_OPTION_HTTPS_PRIORITIES, 0, priorities},
                                            {MHD_OPTION_END, 0, NULL}};
    const struct MHD_OptionItem open[] = {{MHD_OPTION_END, 0, NULL}};
    return MHD_start_daemon(MHD_USE_EPOLL_INTERNAL_THREAD | MHD_ALLOW_SUSPEND_RESUME | MHD_USE_ITC | MHD_USE_ERROR_LOG |
                                (tls != NULL ? (unsigned)MHD_USE_TLS : 0U),
                            0, on_knock, server, on_request, server, MHD_OPTION_EXTERNAL_LOGGER, no_log, NULL,
                            MHD_OPTION_LISTEN_SOCKET, descriptor, MHD_OPTION_THREAD_POOL_SIZE, (unsigned)LINK_THREADS,
                            MHD_OPTION_CONNECTION_LIMIT, (unsigned)WEB_CONNECTIONS, MHD_OPTION_PER_IP_CONNECTION_LIMIT,
                            server->gate.config.lan ? (unsigned)LAN_PER_ADDRESS : 0U, MHD_OPTION_CONNECTION_TIMEOUT, 0U,
                            MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)HEADERS_MAXIMUM, MHD_OPTION_STRICT_FOR_CLIENT,
                            1, MHD_OPTION_UNESCAPE_CALLBACK, leave_as_sent, NULL, MHD_OPTION_URI_LOG_CALLBACK,
                            on_address, server, MHD_OPTION_NOTIFY_CONNECTION, on_connection, server,
                            MHD_OPTION_NOTIFY_COMPLETED, on_completed, server, MHD_OPTION_SIGPIPE_HANDLED_BY_APP, 1,
                            MHD_OPTION_ARRAY, tls != NULL ? secure : open, MHD_OPTION_END);
}

ch_status web_server_start(const web_config *config, web_server **server, uint16_t *port, ch_err *err)
{
    web_server *made = calloc(1, sizeof *made);
    if (made == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the server");
    made->gate.config = *config;
    pairing_init(&made->gate.tries, config->code);
    uint16_t chosen = 0;
    const int descriptor = listen_on(config, &chosen, err);
    if (descriptor < 0) {
        free(made);
        return CH_E_IO;
    }
    /* Cookies do not know ports: two programs on one machine would take each other's. */
    snprintf(made->gate.cookie_name, sizeof made->gate.cookie_name, "crosshatch_%d", chosen);
    pthread_mutex_init(&made->gate.lock, NULL);
    pthread_mutex_init(&made->links_lock, NULL);
    sigemptyset(&made->signals);
    sigaddset(&made->signals, SIGINT);
    sigaddset(&made->signals, SIGTERM);
    sigaddset(&made->signals, SIGHUP);
    pthread_sigmask(SIG_BLOCK, &made->signals, &made->signals_before);
    const ch_status rc = answerers_new(WEB_THREADS, answer, &made->answerers, err);
    made->daemon = rc >= 0 ? daemon_start(made, descriptor) : NULL;
    if (made->daemon == NULL) {
        close(descriptor);
        web_server_stop(made);
        return rc < 0 ? rc : ch_fail(err, CH_E_IO, NULL, "the server could not be started on port %d", chosen);
    }
    *server = made;
    *port = chosen;
    return CH_OK;
}

void web_server_wait(web_server *server)
{
    const struct timespec second = {.tv_sec = 1};
    while (sigtimedwait(&server->signals, NULL, &second) < 0) {
        shut_down_the_late(server);
        kept_log_tidy((int64_t)time(NULL));
    }
}

void web_server_stop(web_server *server)
{
    if (server == NULL)
        return;
    if (server->daemon != NULL) {
        server->closed = true;
        const struct timespec moment = {.tv_nsec = 20000000};
        for (int i = 0; i < STOP_PATIENCE_S * 50 && server->answering > 0; i++)
            nanosleep(&moment, NULL);
        server->ending = true;
        answerers_end(server->answerers); /* before the library ends, which must find none suspended */
        MHD_stop_daemon(server->daemon);
    }
    answerers_free(server->answerers);
    pthread_sigmask(SIG_SETMASK, &server->signals_before, NULL);
    pthread_mutex_destroy(&server->links_lock);
    pthread_mutex_destroy(&server->gate.lock);
    free(server);
}
