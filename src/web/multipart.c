/*
 * multipart/form-data, read in place: the CR of the line break before each delimiter becomes the NUL that closes the value.
 */
#define _GNU_SOURCE /* memmem */
#include "multipart.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

enum { BOUNDARY_MAXIMUM = 70, HEADERS_MAXIMUM = 1024 };

static ch_status broken(ch_err *err, const char *what)
{
    return ch_fail(err, CH_E_INPUT, "a form as a browser sends it", "the form's %s", what);
}

/* The delimiter "\r\n--boundary" from the header; RFC 2046: 1 to 70 characters of a small set. */
static bool boundary_read(const char *type, char delimiter[BOUNDARY_MAXIMUM + 8])
{
    static const char allowed[] = "0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ'()+_,-./:=?";
    const char *found = strcasestr(type, "boundary=");
    if (found == NULL)
        return false;
    found += strlen("boundary=");
    const bool quoted = *found == '"';
    found += quoted;
    const size_t length = strspn(found, allowed);
    const char end = found[length];
    if (length == 0 || length > BOUNDARY_MAXIMUM || (quoted ? end != '"' : end != '\0' && end != ';' && end != ' '))
        return false;
    snprintf(delimiter, BOUNDARY_MAXIMUM + 8, "\r\n--%.*s", (int)length, found);
    return true;
}

/* Cut `name="value"` out of a header line, in place; browsers write a quote as %22, so no escapes are taken. NULL: not there. */
static char *parameter(char *line, const char *name)
{
    char wanted[32];
    snprintf(wanted, sizeof wanted, "; %s=\"", name);
    char *found = strcasestr(line, wanted);
    return found != NULL ? found + strlen(wanted) : NULL;
}

static bool close_quote(char *value)
{
    char *end = value != NULL ? strchr(value, '"') : NULL;
    if (end != NULL)
        *end = '\0';
    return value == NULL || (end != NULL && web_is_text(value, strlen(value)));
}

/* The headers of one part: lines that end in CR LF, NUL behind the last. */
static ch_status headers_read(char *headers, web_field *field, ch_err *err)
{
    for (char *line = headers; *line != '\0';) {
        char *end = strstr(line, "\r\n");
        char *next = end != NULL ? end + 2 : line + strlen(line);
        if (end != NULL)
            *end = '\0';
        if (strchr(line, ':') == NULL)
            return broken(err, "part has a header without a name");
        if (strncasecmp(line, "content-disposition:", 20) == 0) {
            char *name = parameter(line, "name"), *file_name = parameter(line, "filename");
            const bool form_data = strncasecmp(line + 20 + strspn(line + 20, " "), "form-data;", 10) == 0;
            if (field->name != NULL || !form_data || name == NULL || !close_quote(name) || !close_quote(file_name))
                return broken(err, "part has no proper name");
            field->name = name;
            field->file_name = file_name;
        } else if (strncasecmp(line, "content-type:", 13) == 0) {
            field->file_type = line + 13 + strspn(line + 13, " ");
            if (!web_is_text(field->file_type, strlen(field->file_type)))
                return broken(err, "part has a type that is not text");
        } else if (strncasecmp(line, "content-transfer-encoding:", 26) == 0) {
            return broken(err, "part is encoded");
        }
        line = next;
    }
    if (field->name == NULL || field->name[0] == '\0')
        return broken(err, "part has no name");
    if (field->file_name == NULL)
        field->file_type = NULL;
    else if (field->file_type == NULL)
        field->file_type = "application/octet-stream";
    return CH_OK;
}

static ch_status part_read(char *part, size_t length, web_field *field, ch_err *err)
{
    const size_t searched = length < HEADERS_MAXIMUM ? length : HEADERS_MAXIMUM;
    char *blank = memmem(part, searched, "\r\n\r\n", 4);
    if (blank == NULL)
        return broken(err, "part has no headers, or too long ones");
    *blank = '\0';
    if (memchr(part, '\0', (size_t)(blank - part)) != NULL)
        return broken(err, "part has a NUL in its headers");
    const ch_status rc = headers_read(part, field, err);
    if (rc < 0)
        return rc;
    field->value = blank + 4;
    field->length = length - (size_t)(blank + 4 - part);
    if (field->file_name == NULL && !web_is_text(field->value, field->length))
        return ch_fail(err, CH_E_INPUT, "UTF-8 text", "a form that is not text");
    return CH_OK;
}

static ch_status parse(const char *delimiter, char *bytes, size_t length, web_fields *fields, ch_err *err)
{
    const size_t delimiter_length = strlen(delimiter);
    size_t capacity = 0;
    /* The first delimiter has no line break before it. */
    if (length < delimiter_length || memcmp(bytes, delimiter + 2, delimiter_length - 2) != 0)
        return broken(err, "first boundary is missing");
    char *at = bytes + delimiter_length - 2, *const end = bytes + length;
    while (!(end - at >= 2 && memcmp(at, "--", 2) == 0)) {
        if (end - at < 2 || memcmp(at, "\r\n", 2) != 0)
            return broken(err, "boundary is followed by something else");
        at += 2;
        char *next = memmem(at, (size_t)(end - at), delimiter, delimiter_length);
        if (next == NULL)
            return broken(err, "last boundary is missing");
        *next = '\0';
        web_field field = {0};
        ch_status rc = part_read(at, (size_t)(next - at), &field, err);
        if (rc >= 0)
            rc = web_fields_add(fields, &capacity, field, err);
        if (rc < 0)
            return rc;
        at = next + delimiter_length;
    }
    return CH_OK;
}

ch_status web_multipart_parse(const char *type, char *bytes, size_t length, web_fields *fields, ch_err *err)
{
    char delimiter[BOUNDARY_MAXIMUM + 8];
    if (!boundary_read(type, delimiter))
        return broken(err, "boundary is missing or wrong");
    web_fields made = {0};
    const ch_status rc = parse(delimiter, bytes, length, &made, err);
    if (rc < 0) {
        web_fields_clear(&made);
        return rc;
    }
    *fields = made;
    return CH_OK;
}
