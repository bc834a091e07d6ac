/* Fields of queries and plain forms, decoded in one copy of their bytes. */
#include "route_form.h"

#include <stdlib.h>
#include <string.h>

bool web_is_text(const char *bytes, size_t length)
{
    for (size_t i = 0; i < length;) {
        const size_t n = ch_utf8_length(bytes + i, length - i);
        const unsigned char first = (unsigned char)bytes[i];
        if (n == 0 || first == 0x7f || (first < 0x20 && first != '\t' && first != '\n' && first != '\r') ||
            (first == 0xc2 && (unsigned char)bytes[i + 1] < 0xa0))
            return false;
        i += n;
    }
    return true;
}

void web_fields_clear(web_fields *fields)
{
    free(fields->list);
    free(fields->memory);
    *fields = (web_fields){0};
}

ch_status web_fields_add(web_fields *fields, size_t *capacity, web_field field, ch_err *err)
{
    if (fields->count == WEB_FIELDS_MAXIMUM)
        return ch_fail(err, CH_E_LIMIT, NULL, "more than %d fields", WEB_FIELDS_MAXIMUM);
    if (fields->count == *capacity) {
        const size_t more = *capacity == 0 ? 16 : *capacity * 2;
        web_field *list = realloc(fields->list, more * sizeof *list);
        if (list == NULL)
            return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a form");
        fields->list = list;
        *capacity = more;
    }
    fields->list[fields->count++] = field;
    return CH_OK;
}

static int hex_digit(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'a' && c <= 'f')
        return c - 'a' + 10;
    if (c >= 'A' && c <= 'F')
        return c - 'A' + 10;
    return -1;
}

/* Decode in place, closing with a NUL (what follows is shorter than what was read, or the separator's place). */
static bool decode(char *text, size_t length, size_t *decoded)
{
    size_t used = 0;
    for (size_t i = 0; i < length; i++) {
        char c = text[i];
        if (c == '+') {
            c = ' ';
        } else if (c == '%') {
            const int high = i + 2 < length ? hex_digit(text[i + 1]) : -1;
            const int low = i + 2 < length ? hex_digit(text[i + 2]) : -1;
            if (high < 0 || low < 0)
                return false;
            c = (char)(unsigned char)(high * 16 + low);
            i += 2;
        }
        text[used++] = c;
    }
    text[used] = '\0';
    *decoded = used;
    return web_is_text(text, used);
}

static ch_status parse(char *text, size_t length, web_fields *fields, ch_err *err)
{
    size_t capacity = 0;
    for (size_t start = 0; start < length;) {
        char *pair = text + start;
        const char *ampersand = memchr(pair, '&', length - start);
        const size_t pair_length = ampersand != NULL ? (size_t)(ampersand - pair) : length - start;
        start += pair_length + 1;
        if (pair_length == 0)
            continue;
        char *equals = memchr(pair, '=', pair_length);
        char *value = equals != NULL ? equals + 1 : pair + pair_length;
        size_t value_length = (size_t)(pair + pair_length - value);
        size_t name_length = (size_t)((equals != NULL ? equals : value) - pair);
        /* The value first: without an equals sign the name's closing NUL stands where the empty value begins. */
        if (!decode(value, value_length, &value_length) || !decode(pair, name_length, &name_length))
            return ch_fail(err, CH_E_INPUT, "UTF-8 text, encoded as a browser does",
                           "a form or address that is not text");
        if (name_length == 0)
            return ch_fail(err, CH_E_INPUT, NULL, "a field without a name");
        const ch_status rc =
            web_fields_add(fields, &capacity, (web_field){.name = pair, .value = value, .length = value_length}, err);
        if (rc < 0)
            return rc;
    }
    return CH_OK;
}

ch_status web_urlencoded_parse(const char *bytes, size_t length, web_fields *fields, ch_err *err)
{
    web_fields made = {.memory = malloc(length + 1)};
    if (made.memory == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a form of %zu bytes", length);
    if (length > 0)
        memcpy(made.memory, bytes, length);
    made.memory[length] = '\0';
    const ch_status rc = parse(made.memory, length, &made, err);
    if (rc < 0) {
        web_fields_clear(&made);
        return rc;
    }
    *fields = made;
    return CH_OK;
}
