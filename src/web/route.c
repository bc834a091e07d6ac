/* What pages call to read a request and to answer it. */
#include "route.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "html_page.h"

const web_field *web_field_find(const web_fields *fields, const char *name)
{
    for (size_t i = 0; i < fields->count; i++)
        if (strcmp(fields->list[i].name, name) == 0)
            return &fields->list[i];
    return NULL;
}

const char *web_value(const web_fields *fields, const char *name)
{
    const web_field *field = web_field_find(fields, name);
    return field != NULL ? field->value : NULL;
}

int64_t web_part_id(const web_request *request, size_t index)
{
    const char *part = index < WEB_PARTS_MAXIMUM ? request->part[index] : "";
    const size_t length = strlen(part);
    if (length == 0 || length > 18 || strspn(part, "0123456789") != length) /* 18 digits always fit 63 bits */
        return 0;
    return strtoll(part, NULL, 10);
}

ch_status web_redirect(web_response *response, const char *format, ...)
{
    char location[sizeof response->location];
    va_list arguments;
    va_start(arguments, format);
    const int length = vsnprintf(location, sizeof location, format, arguments);
    va_end(arguments);
    /* Nothing that a browser could read as another place, or as another header. */
    if (length < 0 || (size_t)length >= sizeof location || location[0] != '/' || location[1] == '/' ||
        strpbrk(location, "\\\r\n\t ") != NULL)
        return CH_E_RANGE;
    memcpy(response->location, location, (size_t)length + 1);
    response->status = 303;
    return CH_OK;
}

ch_status web_message(web_request *request, web_response *response, int status, const char *title, const char *text)
{
    html_clear(&response->page);
    ch_text_clear(&response->data);
    response->data_type = NULL;
    response->static_bytes = NULL;
    response->location[0] = '\0';
    response->etag[0] = '\0';
    response->download[0] = response->own_style[0] = '\0';
    response->status = status;
    html_writer *w = &response->page;
    html_page_open(w, request, title);
    html_lit(w, "<p role=\"alert\">");
    html_text(w, text);
    html_lit(w, "</p><p><a class=\"button\" href=\"/\">Back to the start</a></p>\n");
    html_page_close(w);
    return CH_OK;
}

ch_status web_not_found(web_request *request, web_response *response)
{
    return web_message(request, response, 404, "Nothing here", "There is no page at this address.");
}
