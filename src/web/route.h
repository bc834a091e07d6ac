/*
 * What a page sees: the request as checked fields, the response to fill, and the table of pages.
 *
 * A page is one function in page_NAME.c and one line in route_table.c. When it is called, the core has already seen to it that the Host
 * is ours, the device may come in, the method and length are allowed, all text is UTF-8 without control characters, and, for a POST, that
 * it comes from one of our own pages with the token of this device. A page writes markup through html.h only, changes something only in
 * its post function, and ends that with web_redirect.
 */
#ifndef CROSSHATCH_WEB_ROUTE_H
#define CROSSHATCH_WEB_ROUTE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "crosshatch/crew.h"
#include "crosshatch/status.h"
#include "crosshatch/store.h"
#include "crosshatch/text.h"
#include "html.h"

enum {
    WEB_FORM_MAXIMUM = 64 * 1024,              /* bytes of a form without files */
    WEB_PHOTO_FORM_MAXIMUM = 16 * 1024 * 1024, /* bytes of a form with a photo: the largest that phones make */
    WEB_LOG_FORM_MAXIMUM =
        256 * 1024 * 1024,    /* bytes of a form with a logged run: five hours of 20 columns at 100 Hz */
    WEB_FIELDS_MAXIMUM = 512, /* fields in a form or query */
    WEB_PARTS_MAXIMUM = 4,    /* *s in a route's path */
    WEB_PATH_MAXIMUM = 256,   /* bytes of a path */
    WEB_CLIENT_LENGTH = 32,   /* hexadecimal digits of a device's id */
    WEB_TOKEN_LENGTH = 64     /* hexadecimal digits of a form's token */
};

/* One field of a form or query. In multipart forms a file has a file name (perhaps empty) and a type as the browser claims it. */
typedef struct web_field {
    const char *name;
    const char
        *value; /* NUL behind its `length` bytes; a file may hold NULs and need not be UTF-8, anything else is text */
    size_t length;
    const char *file_name; /* NULL where the field is no file */
    const char *file_type; /* NULL where the field is no file */
} web_field;

typedef struct web_fields {
    web_field *list; /* in the order sent */
    size_t count;
    char *memory; /* what the fields point into; may be NULL */
} web_fields;

typedef struct web_request {
    bool post;                        /* otherwise GET (or HEAD) */
    const char *path;                 /* "/sheet/12" */
    char part[WEB_PARTS_MAXIMUM][64]; /* what stands in the path where the route has a *; "" where it has none */
    web_fields query, form;
    char client[WEB_CLIENT_LENGTH + 1]; /* the device's id: the same as long as its cookie lives */
    char token[WEB_TOKEN_LENGTH + 1];   /* html_page's forms carry it */
    int64_t now_s;                      /* seconds since 1970-01-01 UTC, when the request came */
    const ch_crew *crew;                /* who does heavy work; NULL: the thread that answers */
    ch_store *store;       /* the garage file, this request's alone until it is answered; NULL where none is served */
    ch_status unread;      /* a setting could not be read: what was shown or taken by the usual one must not count */
    ch_store_pool pool;    /* the program clears it when the request is answered */
    void *context;         /* what the program handed to the server, see http.h */
    int spool;             /* the file that holds the body, where the route is `spooled`; otherwise -1 */
    const char *body;      /* what the form's fields point into */
    struct web_gate *gate; /* the core's own */
    const char *peer;      /* address of the device, as text */
} web_request;

/* Zeroed before the page is called, but for status 200 and an empty page. */
typedef struct web_response {
    int status;               /* 200, 303, 404, ... */
    html_writer page;         /* the answer, unless `data` or `location` is given */
    ch_text data;             /* an answer that is not HTML, of type data_type; maximum WEB_DATA_MAXIMUM */
    const char *data_type;    /* "application/json", "image/jpeg"; NULL: the answer is `page` */
    const char *static_bytes; /* instead of `data`: bytes that live as long as the program */
    size_t static_length;
    int file; /* instead of `data`: descriptor of a file, which the core closes; 0 = none */
    size_t file_length;
    char location[WEB_PATH_MAXIMUM + 64]; /* web_redirect */
    char etag[40];     /* "" or the text between the quotes; a 304 goes out where the browser has it already */
    char cookie[256];  /* the core's own */
    const char *allow; /* the core's own: methods, with status 405 */
    char download[96]; /* "" or the name under which the browser is to save the answer: A-Z a-z 0-9 . _ - */
    /* "" or the hash ("sha256-...") of the one style that stands in `data`, an HTML file by itself: it is shown, not saved, and may load, run and send
     * nothing. See printed.h. */
    char own_style[64];
    int retry_after_s; /* 0 = not said */
    int refresh_s;     /* the page is to be asked for again after so long (HTML Standard, "Refresh"); 0 = no */
    bool told;         /* the place that web_redirect names says itself what became of the form */
    bool worker;       /* a service worker for the whole site */
} web_response;

enum { WEB_DATA_MAXIMUM = 16 * 1024 * 1024 };

/*
 * A page. Negative: an error page is sent instead of what was written: 400 for CH_E_INPUT, CH_E_RANGE, CH_E_LIMIT, otherwise 500, with the
 * line from `err`.
 */
typedef ch_status web_handler(web_request *request, web_response *response, ch_err *err);

typedef struct web_route {
    const char *path;  /* "/sheet/ *" without the blank: a * stands for one part of 1 to 63 letters, digits, - _ or . */
    web_handler *get;  /* NULL: the method is refused */
    web_handler *post; /* NULL: the method is refused */
    size_t body_maximum; /* of a POST; 0 = WEB_FORM_MAXIMUM */
    bool spooled;        /* the body goes through a file, see spool.h */
    bool open;           /* also for a device that has not entered the code yet; has no request->store */
    bool bare;           /* static and public: as `open`, and without cookie */
} web_route;

extern const web_route web_routes[];
extern const size_t web_routes_count;

/* The value of the first field of this name, or NULL. */
const char *web_value(const web_fields *fields, const char *name);

/* The first field of this name, or NULL. */
const web_field *web_field_find(const web_fields *fields, const char *name);

/* The id, 1 or more, in part `index` of the path, or 0 where it is none. */
int64_t web_part_id(const web_request *request, size_t index);

/* Send the browser on to a path of ours (303), as every post function does when it is done. Format as printf. */
ch_status web_redirect(web_response *response, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Answer "there is no such page" (404), whatever was written before. */
ch_status web_not_found(web_request *request, web_response *response);

/* Answer with a page that says one thing and leads back: for refusals. */
ch_status web_message(web_request *request, web_response *response, int status, const char *title, const char *text);

#endif
