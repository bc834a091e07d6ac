/*
 * Escaping by construction.
 *  1. Nothing that came in as text ever leaves as markup: the five characters that end text or a quoted value become references.
 *  2. What leaves is well-formed UTF-8 without characters that HTML forbids.
 *  3. An attribute that holds an address leads to this program or nowhere.
 * Source: WHATWG, HTML Living Standard, section 13.1.2 "Elements" and 13.1.4 "Character references".
 */
#include "html.h"

#include <assert.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void html_init(html_writer *w)
{
    ch_text_init(&w->text, HTML_MAXIMUM);
}

void html_clear(html_writer *w)
{
    ch_text_clear(&w->text);
}

ch_status html_check(const html_writer *w, ch_err *err)
{
    return ch_text_check(&w->text, err);
}

const char *html_string(const html_writer *w)
{
    return ch_text_string(&w->text);
}

void html_literal(html_writer *w, const char *literal, size_t length)
{
    ch_text_append(&w->text, literal, length);
}

static const char *reference(char c)
{
    switch (c) {
    case '&': return "&amp;";
    case '<': return "&lt;";
    case '>': return "&gt;";
    case '"': return "&quot;";
    case '\'': return "&#39;";
    default: return NULL;
    }
}

/* Source: the same standard, section 13.1.4: no controls but tab, line feed, form feed and carriage return. */
static bool html_allows(const char *character, size_t length)
{
    const unsigned char first = (unsigned char)character[0];
    if (length == 1)
        return (first >= 0x20 && first != 0x7f) || first == '\t' || first == '\n' || first == '\r';
    return !(first == 0xc2 && (unsigned char)character[1] < 0xa0);
}

/* Text as it may stand anywhere, between quotes too. */
static void escape(html_writer *w, const char *bytes, size_t length)
{
    size_t plain = 0; /* start of what can be copied as it is */
    for (size_t i = 0; i < length;) {
        const size_t n = ch_utf8_length(bytes + i, length - i);
        const bool allowed = n > 0 && html_allows(bytes + i, n);
        const char *instead = allowed ? reference(bytes[i]) : "\xef\xbf\xbd";
        const size_t step = n > 0 ? n : 1;
        if (instead != NULL) {
            ch_text_append(&w->text, bytes + plain, i - plain);
            ch_text_append_string(&w->text, instead);
            plain = i + step;
        }
        i += step;
    }
    ch_text_append(&w->text, bytes + plain, length - plain);
}

enum { DATE = sizeof "2026-11-27" - 1 };

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* A day of the calendar as ch_date_format() writes it, at `at`, and no part of a longer word. */
static bool is_date(const char *bytes, size_t length, size_t at)
{
    if (length - at < DATE)
        return false;
    for (size_t i = 0; i < DATE; i++)
        if (i == 4 || i == 7 ? bytes[at + i] != '-' : !is_digit(bytes[at + i]))
            return false;
    const char before = at > 0 ? bytes[at - 1] : ' ', after = length - at > DATE ? bytes[at + DATE] : ' ';
    const int month = (bytes[at + 5] - '0') * 10 + bytes[at + 6] - '0',
              day = (bytes[at + 8] - '0') * 10 + bytes[at + 9] - '0';
    return month >= 1 && month <= 12 && day >= 1 && day <= 31 && !is_digit(before) && before != '-' && before != '_' &&
           !is_digit(after) && after != '-' && after != '_';
}

/* Whether what is written next may hold an element: it stands behind a tag, and that is none that holds text alone. */
static bool takes_elements(const html_writer *w)
{
    static const char *const text_alone[] = {"<title", "<textarea", "<option"};
    size_t at = w->text.length;
    while (at > 0 && w->text.bytes[at - 1] != '<' && w->text.bytes[at - 1] != '>')
        at--;
    if (at == 0 || w->text.bytes[at - 1] == '<')
        return false;
    while (at > 0 && w->text.bytes[at - 1] != '<')
        at--;
    for (size_t i = 0; at > 0 && i < sizeof text_alone / sizeof text_alone[0]; i++) {
        const size_t n = strlen(text_alone[i]);
        if (w->text.length - (at - 1) >= n && memcmp(w->text.bytes + at - 1, text_alone[i], n) == 0)
            return false;
    }
    return at > 0;
}

/* Dates are marked, so that the page's style can keep them on one line: browsers break them at their hyphens. */
void html_text_bytes(html_writer *w, const char *bytes, size_t length)
{
    size_t plain = 0;
    for (size_t i = 0; i < length; i++) {
        if (!is_digit(bytes[i]) || !is_date(bytes, length, i) || !takes_elements(w))
            continue;
        escape(w, bytes + plain, i - plain);
        html_lit(w, "<time>");
        escape(w, bytes + i, DATE);
        html_lit(w, "</time>");
        plain = i + DATE;
        i = plain - 1;
    }
    escape(w, bytes + plain, length - plain);
}

void html_text(html_writer *w, const char *text)
{
    if (text != NULL)
        html_text_bytes(w, text, strlen(text));
}

/* Formatted beside the page first, so that what comes out is escaped as a whole. */
__attribute__((format(printf, 2, 0))) static void formatted(html_writer *w, const char *format, va_list arguments)
{
    char few[256];
    va_list again;
    va_copy(again, arguments);
    const int length = vsnprintf(few, sizeof few, format, arguments);
    if (length >= 0 && (size_t)length < sizeof few) {
        html_text_bytes(w, few, (size_t)length);
    } else if (w->text.status == CH_OK) {
        char *many = length >= 0 ? malloc((size_t)length + 1) : NULL;
        if (many == NULL) {
            w->text.status = length >= 0 ? CH_E_MEMORY : CH_E_RANGE;
        } else {
            vsnprintf(many, (size_t)length + 1, format, again);
            html_text_bytes(w, many, (size_t)length);
        }
        free(many);
    }
    va_end(again);
}

void html_textf(html_writer *w, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    formatted(w, format, arguments);
    va_end(arguments);
}

static bool holds_address(const char *name)
{
    static const char *const names[] = {"href", "src", "action", "formaction", "poster", "data", "xlink:href"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (strcmp(name, names[i]) == 0)
            return true;
    return false;
}

/* Browsers drop tabs and line breaks inside an address and take a backslash for a slash: neither may stand where it would matter. */
static bool leads_inside(const char *address)
{
    if (strpbrk(address, "\t\r\n\\") != NULL)
        return false;
    return address[0] == '#' || address[0] == '?' || (address[0] == '/' && address[1] != '/');
}

void html_attribute(html_writer *w, const char *name, const char *value)
{
    /* The policy of the pages would block these; they are a mistake in the source, not in the data. */
    assert(strncmp(name, "on", 2) != 0 && strcmp(name, "style") != 0 && strcmp(name, "srcdoc") != 0);
    if (value == NULL)
        return;
    ch_text_append_string(&w->text, " ");
    ch_text_append_string(&w->text, name);
    ch_text_append_string(&w->text, "=\"");
    const char *held = holds_address(name) && !leads_inside(value) ? "#" : value;
    escape(w, held, strlen(held));
    ch_text_append_string(&w->text, "\"");
}

void html_attributef(html_writer *w, const char *name, const char *format, ...)
{
    char value[1024];
    va_list arguments;
    va_start(arguments, format);
    const int length = vsnprintf(value, sizeof value, format, arguments);
    va_end(arguments);
    if (length >= 0 && (size_t)length < sizeof value)
        html_attribute(w, name, value);
    else if (w->text.status == CH_OK)
        w->text.status = CH_E_LIMIT;
}

void html_attribute_if(html_writer *w, const char *name, int on)
{
    if (!on)
        return;
    ch_text_append_string(&w->text, " ");
    ch_text_append_string(&w->text, name);
}

void html_composed(html_writer *w, const ch_text *text)
{
    if (text->status != CH_OK)
        html_fail(w, text->status);
    html_text(w, ch_text_string(text));
}

void html_svg(html_writer *w, const ch_svg *svg)
{
    if (svg->text.status != CH_OK)
        html_fail(w, svg->text.status);
    ch_text_append(&w->text, svg->text.bytes, svg->text.length);
}

void html_fail(html_writer *w, ch_status status)
{
    if (w->text.status == CH_OK)
        w->text.status = status;
}
