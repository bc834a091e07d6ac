/*
 * A page of text for a terminal: headings, paragraphs that break at the page's width, numbers, and bars drawn in ASCII.
 * Private to show. The tree lets no control character through, so a title or note may be shown as it is.
 */
#ifndef CROSSHATCH_SHOW_PAGE_H
#define CROSSHATCH_SHOW_PAGE_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/show_words.h"

/* What a piece of text is, for its colour. */
typedef enum page_tone { PAGE_PLAIN, PAGE_STRONG, PAGE_GOOD, PAGE_DOUBT, PAGE_BAD, PAGE_FAINT } page_tone;

typedef struct page {
    ch_text *text;
    int columns;
    bool colour;
    const ch_unit *pressure;
    int decimals; /* of pressures in that unit */
} page;

enum { PAGE_NUMBER = CH_SHOW_NUMBER, PAGE_BAR_MAXIMUM = 160 };

void page_open(page *p, const ch_sheet *sheet, const ch_show_style *style, ch_text *text);

/* Append `string` in a tone; with no colour just the string. */
void page_tone_text(page *p, page_tone tone, const char *string);

/* An empty line, then a heading. */
void page_heading(page *p, const char *heading);

/*
 * Words broken at the page's width. The first line begins with `first` (which may be as wide as `indent` or less; it is padded to it), the
 * others with `indent` spaces. Ends the line.
 */
void page_paragraph(page *p, int indent, const char *first, const char *words);
void page_paragraphf(page *p, int indent, const char *first, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

/* The same, behind something that already stands in the first `indent` columns of the line. */
void page_paragraph_on(page *p, int indent, const char *words);
void page_paragraph_onf(page *p, int indent, const char *format, ...) __attribute__((format(printf, 3, 4)));

/* Columns that a UTF-8 text takes, counting one for each character. */
int page_width(const char *string);

/* A pressure in the page's unit, without and with the unit's name. */
const char *page_pressure(const page *p, double pressure_pa, char buffer[PAGE_NUMBER]);
const char *page_pressure_named(const page *p, double pressure_pa, char buffer[PAGE_NUMBER]);

enum { PAGE_CAUTIONS_MAXIMUM = 512 };

/*
 * The cautions of a step, behind `indent` columns. Those that were written out at an earlier step are named again in short: `shown` has one
 * for each caution of the knowledge, at most PAGE_CAUTIONS_MAXIMUM.
 */
void page_cautions(page *p, int indent, const ch_knowledge *knowledge, const ch_places *cautions, bool *shown);

/* A scale from 0 to `top` over `width` cells. */
typedef struct page_scale {
    double top_pa;
    double step; /* between its numbers, in the page's unit */
    int parts;   /* steps from 0 to the top */
    int width;   /* cells */
} page_scale;

/* The scale that holds `most_pa`, its top a round number of the page's unit. */
page_scale page_scale_for(const page *p, double most_pa, int width);

/* Cell of a pressure, 0 to width - 1. */
int page_cell(const page_scale *scale, double pressure_pa);

/* The scale's numbers, as a line that begins after `indent` columns. */
void page_scale_line(page *p, const page_scale *scale, int indent);

/* Assumed inputs with their reasons, `takes_part` says which count. Says so where nothing was assumed. */
void page_assumed(page *p, const bool assumed[CH_INPUT_COUNT], bool (*takes_part)(ch_input input));

/* Only their names, in a sentence. */
void page_assumed_names(page *p, const bool assumed[CH_INPUT_COUNT], bool (*takes_part)(ch_input input));

#endif
