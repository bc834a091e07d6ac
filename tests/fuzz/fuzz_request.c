/*
 * Any bytes as a request, from where the HTTP library has taken it apart: the first line is the method, a blank and the address; then lines "NAME: value" of
 * the headers that the gate looks at; then a blank line; then the body. HOST in the headers and TOKEN in the body stand for what a page of ours would send,
 * "Cookie: OURS" for this device's cookie. Every request must get one answer: a status that HTTP has, with a page, data or a place to go; a page without
 * anything that was sent standing in it as markup; and one that is refused must change nothing. The garage is an invented one, as made for every request.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/store.h"
#include "fuzz.h"
#include "garage_kit.h"
#include "route_gate.h"

enum { HEADERS = 12, LARGEST = 64 * 1024 };

static ch_store *store;
static bool read_since; /* a page that is read may keep what was worked out for it in the garage */

static ch_status lend(void *context, web_request *request, ch_err *err)
{
    (void)context, (void)err;
    request->store = store;
    return CH_OK;
}

static void take_back(void *context, web_request *request)
{
    (void)context;
    ch_store_pool_clear(&request->pool);
    request->store = NULL;
}

/* A copy of `text` with each `word` replaced. The caller frees. */
static char *replaced(const char *text, size_t length, const char *word, const char *with, size_t *made_length)
{
    const size_t word_length = strlen(word), with_length = strlen(with);
    char *const made = malloc(length * (with_length / word_length + 1) + 1);
    must(made != NULL);
    size_t n = 0;
    for (size_t i = 0; i < length;) {
        if (length - i >= word_length && memcmp(text + i, word, word_length) == 0) {
            memcpy(made + n, with, with_length);
            n += with_length;
            i += word_length;
        } else {
            made[n++] = text[i++];
        }
    }
    made[n] = '\0';
    *made_length = n;
    return made;
}

static void take_header(web_incoming *in, const char *line, const char *cookie)
{
    static const char *const names[] = {
        "Origin: ",         "Sec-Fetch-Site: ",    "Sec-Fetch-Mode: ", "Content-Type: ", "If-None-Match: ",
        "Content-Length: ", "Transfer-Encoding: ", "Host: ",           "Cookie: "};
    const char **const places[] = {&in->origin, &in->fetch_site, &in->fetch_mode, &in->type,  &in->none_match,
                                   &in->length, &in->encoding,   &in->host,       &in->cookie};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (strncmp(line, names[i], strlen(names[i])) == 0)
            *places[i] = line + strlen(names[i]);
    in->hosts += strncmp(line, "Host: ", 6) == 0;
    in->lengths += strncmp(line, "Content-Length: ", 16) == 0;
    if (in->cookie != NULL && strcmp(in->cookie, "OURS") == 0)
        in->cookie = cookie;
}

/* Take the head apart, in place. False where there is no first line of method and address. */
static bool take_head(char *head, web_incoming *in, const char *cookie)
{
    char *rest = NULL;
    const char *const line = strtok_r(head, "\n", &rest);
    char *const blank = line != NULL ? strchr(head, ' ') : NULL;
    if (blank == NULL)
        return false;
    *blank = '\0';
    in->method = head;
    in->address = blank + 1;
    int n = 0;
    for (char *more = strtok_r(NULL, "\n", &rest); more != NULL && n < HEADERS; more = strtok_r(NULL, "\n", &rest), n++)
        take_header(in, more, cookie);
    return true;
}

static void must_be_an_answer(const web_exchange *x)
{
    const web_response *const r = &x->response;
    must(r->status >= 200 && r->status < 600);
    must(r->status != 500); /* nothing that is sent makes the machine fail */
    if (r->location[0] != '\0') {
        must(r->status == 303 && r->location[0] == '/' && r->location[1] != '/' &&
             strpbrk(r->location, "\r\n\\ ") == NULL);
    } else if (r->data_type == NULL) {
        const char *const page = html_string(&r->page);
        must(html_check(&r->page, NULL) == CH_OK && page[0] == '<');
        must(strstr(page, "<fuzz") == NULL);
    }
    must(strpbrk(r->etag, "\r\n\"") == NULL && strpbrk(r->cookie, "\r\n") == NULL &&
         strpbrk(r->download, "\r\n\"") == NULL);
}

static void garage_as_made(void)
{
    size_t size;
    const uint8_t *const bytes = garage_bytes(&size);
    ch_store_close(store);
    garage_put(bytes, size);
    must(ch_store_open(garage_path(), CH_STORE_ANOTHER, &store, NULL) == CH_OK);
}

static void must_be_unchanged(void)
{
    size_t size;
    const uint8_t *const bytes = garage_bytes(&size);
    ch_store_close(store); /* what was written goes from the log into the file */
    must(garage_is(bytes, size));
    must(ch_store_open(garage_path(), CH_STORE_ANOTHER, &store, NULL) == CH_OK);
}

/* Pages that judge take seconds under the sanitizers, in which nothing new is read: where new inputs are looked for they are left out. */
static bool takes_long(const web_exchange *x)
{
#ifdef FUZZ_QUICKLY
    static const char *const slow[] = {"/season", "/findings", "/report", "/driveline"};
    for (size_t i = 0; i < sizeof slow / sizeof slow[0]; i++)
        if (strstr(x->path, slow[i]) != NULL)
            return true;
#else
    (void)x;
#endif
    return false;
}

static void ask(web_gate *gate, char *head, char *body, size_t length, const char *cookie)
{
    web_exchange x = {.in = {.peer = "192.0.2.7", .local = "192.0.2.1", .peer_is_loopback = true}};
    char digits[32];
    if (!take_head(head, &x.in, cookie))
        return;
    snprintf(digits, sizeof digits, "%zu", length);
    if (x.in.length != NULL && strcmp(x.in.length, "OWN") == 0)
        x.in.length = digits;
    const bool through = web_gate_begin(gate, &x, GARAGE_NOW);
    if (x.request.post && read_since)
        garage_as_made();
    read_since = !x.request.post;
    /* The transport takes no more body than was declared, and waits for no less. */
    const size_t declared = through && x.request.post ? (size_t)strtoull(x.in.length, NULL, 10) : 0;
    if (through && declared <= length && !takes_long(&x)) {
        char *const own = malloc(declared + 1);
        must(own != NULL);
        memcpy(own, body, declared);
        own[declared] = '\0';
        web_gate_answer(gate, &x, own, declared);
        must_be_an_answer(&x);
        const bool changed = x.request.post && x.response.status < 400;
        web_gate_clear(&x);
        free(own);
        if (changed)
            garage_as_made();
        else if (x.request.post)
            must_be_unchanged();
    } else {
        if (!through)
            must_be_an_answer(&x);
        web_gate_clear(&x);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static web_gate gate = {.config = {.lan = true, .begin = lend, .end = take_back, .code = "123456"},
                            .cookie_name = "crosshatch_8480"};
    static char cookie[WEB_COOKIE_LENGTH + 1], token[WEB_CSRF_LENGTH + 1];
    const web_session session = {.id = "0123456789abcdef0123456789abcdef", .let_in = true, .issued_s = GARAGE_NOW};
    if (store == NULL) {
        garage_as_made();
        pthread_mutex_init(&gate.lock, NULL);
        must(web_session_write(&session, gate.config.key, cookie, NULL) == CH_OK &&
             web_session_token(&session, gate.config.key, token, NULL) == CH_OK);
    }
    pairing_init(&gate.tries, gate.config.code);
    if (size > LARGEST)
        return 0;
    char *const bytes = malloc(size + 1);
    must(bytes != NULL);
    memcpy(bytes, data, size);
    bytes[size] = '\0';
    const char *const end = strstr(bytes, "\n\n");
    const size_t head_length = end != NULL ? (size_t)(end - bytes) : strlen(bytes);
    const size_t begin = end != NULL ? head_length + 2 : size;
    size_t head_size, body_size;
    char *const head = replaced(bytes, head_length, "HOST", "localhost:8480", &head_size);
    char *const body = replaced(bytes + begin, size - begin, "TOKEN", token, &body_size);
    ask(&gate, head, body, body_size, cookie);
    free(head);
    free(body);
    free(bytes);
    return 0;
}
