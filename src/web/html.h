/*
 * The only writer of markup. Text from anywhere goes through html_text and html_attr, which escape; markup itself can only be a
 * string literal, because html_lit glues empty literals to both ends, which a variable does not survive:
 *
 *     html_lit(w, "<td");
 *     html_attr(w, "class", verdict);
 *     html_lit(w, ">");
 *     html_text(w, cylinder_name);
 *     html_lit(w, "</td>");
 *
 * The pages' Content-Security-Policy allows no inline script and no inline style: no on... or style attribute works, a chart drawn in the
 * page uses SVG presentation attributes (fill, stroke) and classes, and values for a script stand in data-... attributes.
 */
#ifndef CROSSHATCH_WEB_HTML_H
#define CROSSHATCH_WEB_HTML_H

#include "crosshatch/svg.h"
#include "crosshatch/text.h"

/* Longest page. A page of twenty seasons takes some 100 kB. */
enum { HTML_MAXIMUM = 4 * 1024 * 1024 };

/* A page being written. The first failure sticks, as in ch_text; html_check asks for it at the end. */
typedef struct html_writer {
    ch_text text; /* for html.c alone */
} html_writer;

/* Make an empty page. html_clear gives the memory back. */
void html_init(html_writer *w);
void html_clear(html_writer *w);

/* CH_OK, CH_E_LIMIT (longer than HTML_MAXIMUM), CH_E_MEMORY; reported through `err` (may be NULL). */
ch_status html_check(const html_writer *w, ch_err *err);

/* The page so far; lives until the next write. */
const char *html_string(const html_writer *w);

/* Markup as written in the source. `literal` must be a string literal. */
#define html_lit(w, literal) html_literal((w), "" literal "", sizeof(literal) - 1)

/* Use html_lit. */
void html_literal(html_writer *w, const char *literal, size_t length);

/*
 * Text, safe between tags and between quotes: & < > " ' become references; bytes that are not UTF-8, and control characters that HTML does
 * not allow, become U+FFFD. NULL writes nothing. A date as in 2026-11-27 becomes <time>, where an element may stand.
 */
void html_text(html_writer *w, const char *text);
void html_text_bytes(html_writer *w, const char *bytes, size_t length);

/* As printf would write it, then as html_text. */
void html_textf(html_writer *w, const char *format, ...) __attribute__((format(printf, 2, 3)));

/*
 * ` name="value"`, the value as html_text. `name` must be a string literal. Attributes that hold an address (href, src, action,
 * formaction, poster, data) take only one inside this program: a path that begins with one slash, or one that begins with # or ?; any other
 * is written as "#", so that no text becomes a script or leads outside. A NULL value writes nothing.
 */
#define html_attr(w, name, value) html_attribute((w), "" name "", (value))
#define html_attrf(w, name, ...) html_attributef((w), "" name "", __VA_ARGS__)

/* What was composed elsewhere, as html_text. Where it could not be composed whole, the page fails with its status. */
void html_composed(html_writer *w, const ch_text *text);

/* A closed drawing. Its writer (crosshatch/svg.h) escapes what it is given, so it may stand in a page as it is. */
void html_svg(html_writer *w, const ch_svg *svg);

/* Make the page fail with this status (negative), as a failed write does; an earlier failure stays. */
void html_fail(html_writer *w, ch_status status);

/* ` name` where `on`, for checked, selected, disabled, required, open. */
#define html_attr_if(w, name, on) html_attribute_if((w), "" name "", (on))

/* Use the macros above. */
void html_attribute(html_writer *w, const char *name, const char *value);
void html_attributef(html_writer *w, const char *name, const char *format, ...) __attribute__((format(printf, 3, 4)));
void html_attribute_if(html_writer *w, const char *name, int on);

#endif
