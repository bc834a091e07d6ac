/*
 * The gate. A request gets to a page only when
 *  1. it names us: one Host header that is a loopback name, or, on the LAN, the address it came to or this machine's name. A foreign page whose
 *     own name was made to point here (DNS rebinding) sends its own name;
 *  2. its method is one that the page has, its path is plain ASCII, and its length is given once and allowed;
 *  3. on the LAN, its device has entered the code;
 *  4. where it changes something: it comes from a page of ours (Origin, Sec-Fetch-Site), with this device's cookie, and with the token that only
 *     our pages carry;
 *  5. all its text is UTF-8 without control characters.
 * Sources: RFC 9110 (methods, Host, statuses), RFC 6454 (Origin), W3C Fetch Metadata Request Headers.
 */
#include "route_gate.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

#include "html_page.h"
#include "multipart.h"
#include "route_form.h"

enum { RENEW_AFTER_S = 7 * 86400 };

static bool refuse(web_exchange *x, int status, const char *title, const char *text)
{
    web_message(&x->request, &x->response, status, title, text);
    return false;
}

/* ---------------------------------------------------------------- where it is for */

/* The host part of "host:port", without the brackets of an IPv6 address. */
static bool host_part(const char *host, char part[128])
{
    const bool bracketed = host[0] == '[';
    const char *start = host + bracketed;
    const size_t length = strcspn(start, bracketed ? "]" : ":");
    if (length == 0 || length >= 128 || (bracketed && start[length] != ']'))
        return false;
    const char *rest = start + length + bracketed;
    if (rest[0] != '\0' && (rest[0] != ':' || strspn(rest + 1, "0123456789") != strlen(rest + 1)))
        return false;
    memcpy(part, start, length);
    part[length] = '\0';
    return true;
}

static bool host_is_ours(const web_gate *gate, const web_incoming *in)
{
    char part[128], name[128], local_name[140];
    if (in->host == NULL || in->hosts != 1 || !host_part(in->host, part))
        return false;
    if (strcasecmp(part, "localhost") == 0 || strcmp(part, "127.0.0.1") == 0 || strcmp(part, "::1") == 0)
        return true;
    if (!gate->config.lan)
        return false;
    if (strcmp(part, in->local) == 0)
        return true;
    if (gethostname(name, sizeof name) != 0)
        return false;
    name[sizeof name - 1] = '\0';
    snprintf(local_name, sizeof local_name, "%s.local", name);
    return strcasecmp(part, name) == 0 || strcasecmp(part, local_name) == 0;
}

/* ---------------------------------------------------------------- which page */

static bool path_is_plain(const char *path)
{
    static const char allowed[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_./";
    return path[0] == '/' && strspn(path, allowed) == strlen(path) && strstr(path, "//") == NULL &&
           strstr(path, "/.") == NULL;
}

static bool path_matches(const char *pattern, const char *path, web_request *request)
{
    size_t parts = 0;
    while (*pattern != '\0' && *path != '\0') {
        if (*pattern != '*') {
            if (*pattern++ != *path++)
                return false;
            continue;
        }
        const size_t length = strcspn(path, "/");
        if (length == 0 || length >= sizeof request->part[0] || parts == WEB_PARTS_MAXIMUM)
            return false;
        memcpy(request->part[parts], path, length);
        request->part[parts++][length] = '\0';
        path += length;
        pattern++;
    }
    return *pattern == '\0' && *path == '\0';
}

/* Routes without a * are looked at first by being listed first. */
static const web_route *route_find(web_request *request)
{
    for (size_t i = 0; i < web_routes_count; i++) {
        memset(request->part, 0, sizeof request->part);
        if (path_matches(web_routes[i].path, request->path, request))
            return &web_routes[i];
    }
    return NULL;
}

static bool find_page(web_exchange *x)
{
    const char *question = strchr(x->in.address, '?');
    const size_t length = question != NULL ? (size_t)(question - x->in.address) : strlen(x->in.address);
    x->query = question != NULL ? question + 1 : NULL;
    if (length == 0 || length >= sizeof x->path) {
        web_not_found(&x->request, &x->response);
        return false;
    }
    memcpy(x->path, x->in.address, length);
    x->path[length] = '\0';
    x->request.path = x->path;
    x->route = path_is_plain(x->path) ? route_find(&x->request) : NULL;
    if (x->route == NULL) {
        web_not_found(&x->request, &x->response);
        return false;
    }
    return true;
}

static bool check_method(web_exchange *x)
{
    const bool get = strcmp(x->in.method, "GET") == 0 || strcmp(x->in.method, "HEAD") == 0;
    x->request.post = strcmp(x->in.method, "POST") == 0;
    if ((get && x->route->get != NULL) || (x->request.post && x->route->post != NULL))
        return true;
    x->response.allow = x->route->get == NULL ? "POST" : x->route->post == NULL ? "GET, HEAD" : "GET, HEAD, POST";
    return refuse(x, 405, "Not this way", "This page does not take requests of this kind.");
}

static bool check_length(web_exchange *x)
{
    const web_incoming *in = &x->in;
    if (in->lengths > 1 || (in->lengths > 0 && in->encoding != NULL))
        return refuse(x, 400, "Unclear request", "The request says in two ways how long it is.");
    const bool digits =
        in->length != NULL && in->length[0] != '\0' && strspn(in->length, "0123456789") == strlen(in->length);
    if (in->length != NULL && !digits)
        return refuse(x, 400, "Unclear request", "The request's length is no number.");
    const unsigned long long length = digits ? strtoull(in->length, NULL, 10) : 0;
    if (!x->request.post) {
        if (length > 0 || in->encoding != NULL)
            return refuse(x, 400, "Unclear request", "A request to read carries a body.");
        return true;
    }
    if (!digits)
        return refuse(x, 411, "Unclear request", "The request does not say how long it is.");
    x->body_maximum = x->route->body_maximum > 0 ? x->route->body_maximum : WEB_FORM_MAXIMUM;
    if (length > x->body_maximum)
        return refuse(x, 413, "Too much at once",
                      "This is more than this page takes. A photo may have 16 MB, a logged run 256 MB.");
    return true;
}

/* ---------------------------------------------------------------- who it is from */

/* Our scheme and our own Host. */
static bool origin_is_ours(const web_gate *gate, const web_incoming *in)
{
    const char *scheme = gate->config.tls != NULL ? "https://" : "http://";
    const size_t length = strlen(scheme);
    return strncmp(in->origin, scheme, length) == 0 && strcasecmp(in->origin + length, in->host) == 0;
}

static bool check_origin(const web_gate *gate, web_exchange *x)
{
    const web_incoming *in = &x->in;
    const char *site = in->fetch_site;
    const bool foreign = site != NULL && strcmp(site, "same-origin") != 0 && strcmp(site, "none") != 0;
    const bool navigating = in->fetch_mode != NULL && strcmp(in->fetch_mode, "navigate") == 0;
    const bool refused = x->request.post ? foreign || (in->origin != NULL && !origin_is_ours(gate, in))
                                         : foreign && !navigating; /* a link from elsewhere may lead here */
    if (refused)
        return refuse(x, 403, "Not from here", "The request came from a page that is not ours. Nothing was changed.");
    return true;
}

ch_status web_gate_cookie(const web_gate *gate, const web_session *session, web_response *response, ch_err *err)
{
    char value[WEB_COOKIE_LENGTH + 1];
    const ch_status rc = web_session_write(session, gate->config.key, value, err);
    if (rc >= 0)
        snprintf(response->cookie, sizeof response->cookie, "%s=%s; Path=/; Max-Age=%d; HttpOnly; SameSite=Strict%s",
                 gate->cookie_name, value, WEB_SESSION_DAYS * 86400, gate->config.tls != NULL ? "; Secure" : "");
    return rc;
}

/* The device's session, or a new one. A visit that began on a foreign page comes without its cookie (SameSite=Strict), and a new one would take
 * the old one's place: that visit is led once around through a page of ours. */
static bool find_session(web_gate *gate, web_exchange *x, int64_t now_s)
{
    const bool known = web_session_read(x->in.cookie, gate->config.key, now_s, &x->session);
    ch_err err = {0};
    ch_status rc = CH_OK;
    if (!known && x->request.post)
        return refuse(
            x, 403, "Please open the page again",
            "This device is not known here any more. Nothing was changed; go back to the start and try again.");
    if (!known && x->in.fetch_site != NULL && strcmp(x->in.fetch_site, "none") != 0 &&
        strcmp(x->in.fetch_site, "same-origin") != 0)
        return refuse(x, 200, "Welcome back", "You followed a link from another page.");
    if (!known)
        rc = web_session_make(false, now_s, &x->session, &err);
    if (rc >= 0 && (!known || now_s - x->session.issued_s > RENEW_AFTER_S)) {
        x->session.issued_s = now_s;
        rc = web_gate_cookie(gate, &x->session, &x->response, &err);
    }
    if (rc >= 0)
        rc = web_session_token(&x->session, gate->config.key, x->request.token, &err);
    if (rc < 0)
        return refuse(x, 500, "The machine failed", err.what);
    memcpy(x->request.client, x->session.id, sizeof x->request.client);
    return true;
}

static bool check_let_in(const web_gate *gate, web_exchange *x)
{
    if (!gate->config.lan || x->in.peer_is_loopback || x->session.let_in || x->route->open)
        return true;
    if (x->request.post)
        return refuse(x, 403, "This device is new here", "Please enter the code first. Nothing was changed.");
    web_redirect(&x->response, "/pair");
    return false;
}

bool web_gate_begin(web_gate *gate, web_exchange *x, int64_t now_s)
{
    html_init(&x->response.page);
    ch_text_init(&x->response.data, WEB_DATA_MAXIMUM);
    x->response.status = 200;
    x->request.now_s = now_s;
    x->request.context = gate->config.context;
    x->request.gate = gate;
    x->request.spool = -1;
    x->request.peer = x->in.peer;
    if (!host_is_ours(gate, &x->in))
        return refuse(x, 421, "Not this address",
                      "The request names another host. Use the address shown in the terminal.");
    if (!find_page(x) || !check_method(x) || !check_length(x))
        return false;
    if (x->route->bare)
        return true;
    return check_origin(gate, x) && find_session(gate, x, now_s) && check_let_in(gate, x);
}

/* ---------------------------------------------------------------- answering */

static ch_status read_fields(web_exchange *x, char *body, size_t length, ch_err *err)
{
    ch_status rc = CH_OK;
    if (x->query != NULL)
        rc = web_urlencoded_parse(x->query, strlen(x->query), &x->request.query, err);
    if (rc < 0 || !x->request.post)
        return rc;
    const char *type = x->in.type != NULL ? x->in.type : "";
    const size_t type_length = strcspn(type, "; ");
    if (type_length == 33 && strncasecmp(type, "application/x-www-form-urlencoded", 33) == 0)
        return web_urlencoded_parse(body, length, &x->request.form, err);
    if (type_length == 19 && strncasecmp(type, "multipart/form-data", 19) == 0)
        return web_multipart_parse(type, body, length, &x->request.form, err);
    x->response.status = 415;
    return ch_fail(err, CH_E_INPUT, "a form", "the request is of another kind than a form");
}

/* The page that stands for a failure. */
static void failed(web_exchange *x, ch_status status, ch_err *err)
{
    char line[700];
    if (err->status == 0)
        ch_fail(err, status, NULL, "%s", ch_status_text(status));
    ch_err_format(err, line, sizeof line);
    const bool theirs = status == CH_E_INPUT || status == CH_E_RANGE || status == CH_E_LIMIT;
    const int code = x->response.status >= 400 ? x->response.status : theirs ? 400 : 500;
    web_message(&x->request, &x->response, code, theirs ? "That did not work" : "The machine failed", line);
}

/* The page that a form leads to says that it was kept, wherever that page is looked at: the line stays in sight. */
static void acknowledge(web_response *response)
{
    char fragment[WEB_PATH_MAXIMUM] = "";
    char *hash = strchr(response->location, '#');
    if (hash != NULL) {
        snprintf(fragment, sizeof fragment, "%s", hash);
        *hash = '\0';
    }
    const size_t used = strlen(response->location);
    const char *joint = strchr(response->location, '?') != NULL ? "&" : "?";
    const int more =
        snprintf(response->location + used, sizeof response->location - used, "%ssaved=1%s", joint, fragment);
    if (more < 0 || (size_t)more >= sizeof response->location - used) /* no room: the page says nothing */
        snprintf(response->location + used, sizeof response->location - used, "%s", fragment);
}

/* Where the garage file may only be read no form is taken. The queue of entries on a device asks for JSON, and shows what it was refused for. */
static bool may_enter(web_exchange *x)
{
    static const char title[] = "Nothing was entered",
                      line[] = "The garage file may only be read where it lies: nothing can be entered or changed.";
    if (!x->request.post || x->request.store == NULL || !ch_store_read_only(x->request.store))
        return true;
    const char *answer = web_value(&x->request.form, "answer");
    if (answer == NULL || strcmp(answer, "json") != 0)
        return refuse(x, 403, title, line);
    x->response.status = 422;
    x->response.data_type = "application/json";
    ch_text_appendf(&x->response.data, "{\"refused\": \"%s\"}\n", line);
    return false;
}

static ch_status call_page(web_gate *gate, web_exchange *x, ch_err *err)
{
    const web_config *config = &gate->config;
    const bool lends = !x->route->bare && !x->route->open && config->begin != NULL;
    ch_status rc = lends ? config->begin(config->context, &x->request, err) : CH_OK;
    if (rc < 0)
        return rc;
    if (may_enter(x))
        rc = (x->request.post ? x->route->post : x->route->get)(&x->request, &x->response, err);
    if (rc >= 0 && x->request.post && lends && x->response.location[0] != '\0' && !x->response.told)
        acknowledge(&x->response);
    if (rc >= 0 && x->request.unread < 0)
        rc = ch_fail(err, x->request.unread, NULL, "the settings could not be read");
    if (rc >= 0 && x->response.location[0] == '\0' && x->response.data_type == NULL)
        rc = html_check(&x->response.page, err);
    if (rc >= 0 && x->response.data_type != NULL && x->response.static_bytes == NULL)
        rc = ch_text_check(&x->response.data, err);
    if (lends && config->end != NULL)
        config->end(config->context, &x->request);
    return rc;
}

void web_gate_answer(web_gate *gate, web_exchange *x, char *body, size_t length)
{
    ch_err err = {0};
    x->request.body = body;
    ch_status rc = read_fields(x, body, length, &err);
    if (rc >= 0 && x->request.post && !web_equal(web_value(&x->request.form, "token"), x->request.token)) {
        refuse(x, 403, "Please open the page again",
               "The form was not from a page of this device, or is too old. Nothing was changed.");
        return;
    }
    if (rc >= 0)
        rc = call_page(gate, x, &err);
    if (rc < 0)
        failed(x, rc, &err);
}

void web_gate_clear(web_exchange *x)
{
    web_fields_clear(&x->request.query);
    web_fields_clear(&x->request.form);
    html_clear(&x->response.page);
    ch_text_clear(&x->response.data);
}
