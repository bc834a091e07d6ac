/* One request, through the gate and the page, without the HTTP library: what it fails at is tried in tests/web. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../../src/web/route_gate.h"
#include "../store/deeds.h"
#include "doings.h"

static ch_status lend(void *context, web_request *request, ch_err *err)
{
    return ch_store_open(context, CH_STORE_ANOTHER, &request->store, err);
}

static void take_back(void *context, web_request *request)
{
    (void)context;
    ch_store_pool_clear(&request->pool);
    ch_store_close(request->store);
    request->store = NULL;
}

/* What an error page says: the text behind its heading. */
static void read_what(const char *page, char what[300])
{
    const char *at = strstr(page, "</h1>");
    size_t length = 0;
    for (bool inside = false; at != NULL && *at != '\0' && length < 299 && strncmp(at, "</main>", 7) != 0; at++) {
        if (*at == '<')
            inside = true;
        else if (*at == '>')
            inside = false;
        else if (!inside && *at != '\n')
            what[length++] = *at;
    }
    what[length] = '\0';
}

void doing_request(const char *garage, const char *method, const char *address, const char *form, void (*begin)(void *),
                   void (*end)(void *), void *context, doing_answer *answer)
{
    static web_gate gate; /* holds a lock */
    char path[DOING_PATH + 16], cookie[WEB_COOKIE_LENGTH + 1], length[16], body[2048];
    web_session session = {.id = "0123456789abcdef0123456789abcdef", .issued_s = DEED_NOW};
    web_exchange x = {0};
    ch_err err = {0};
    snprintf(path, sizeof path, "%s", garage);
    gate = (web_gate){.config = {.context = path, .begin = lend, .end = take_back}, .cookie_name = "crosshatch_1"};
    pthread_mutex_init(&gate.lock, NULL);
    memset(gate.config.key, 7, sizeof gate.config.key);
    char token[WEB_CSRF_LENGTH + 1] = "";
    if (web_session_write(&session, gate.config.key, cookie, &err) < 0 ||
        web_session_token(&session, gate.config.key, token, &err) < 0)
        return;
    const bool post = strcmp(method, "POST") == 0;
    const int size = post ? snprintf(body, sizeof body, "token=%s&%s", token, form) : 0;
    snprintf(length, sizeof length, "%d", size);
    x.in = (web_incoming){.method = method,
                          .address = address,
                          .host = "localhost:1",
                          .hosts = 1,
                          .lengths = post,
                          .length = post ? length : NULL,
                          .type = post ? "application/x-www-form-urlencoded" : NULL,
                          .cookie = cookie,
                          .peer = "127.0.0.1",
                          .local = "127.0.0.1",
                          .peer_is_loopback = true};
    begin(context);
    if (web_gate_begin(&gate, &x, DEED_NOW))
        web_gate_answer(&gate, &x, body, (size_t)size);
    end(context);
    const web_response *r = &x.response;
    answer->status = r->status;
    answer->bytes = doing_sum(1, r->location, strlen(r->location));
    if (r->static_bytes != NULL)
        answer->bytes = doing_sum(answer->bytes, r->static_bytes, r->static_length);
    const ch_text *text = r->data_type != NULL ? &r->data : &r->page.text;
    if (r->location[0] == '\0' && r->static_bytes == NULL)
        answer->bytes = doing_sum(answer->bytes, ch_text_string(text), text->length);
    if (r->status >= 400)
        read_what(ch_text_string(&r->page.text), answer->what);
    web_gate_clear(&x);
    pthread_mutex_destroy(&gate.lock);
}
