/*
 * A document on paper while it is laid out, by Cairo and Pango. Private to show. Lengths are points (1/72 in), y down the page.
 *
 * The functions that lay a part out draw it where the one before ended, on the next column or page where it has no room there.
 */
#ifndef CROSSHATCH_SHOW_PDF_PAGE_H
#define CROSSHATCH_SHOW_PDF_PAGE_H

#include <pango/pangocairo.h>

#include "document_parts.h"

static const double PDF_MARGIN = 36.0;
static const double PDF_HEADING_SIZE = 12.0, PDF_BODY_SIZE = 8.6, PDF_SMALL_SIZE = 8.0;

/* Of letters on the whole page and in columns, as parts of the usual ones. */
typedef struct pdf_scales {
    double body, column;
} pdf_scales;

enum { PDF_TAGS = 4 };

typedef struct pdf_writer {
    const ch_document *document;
    cairo_t *cr;
    double width, height; /* of the paper */
    double y;             /* where the next part begins */
    double left, room;    /* of the column that it stands in, which is the whole page where there is one */
    double top, deepest;  /* where columns begin on this page, and how far the fullest one goes */
    double scale, gap;    /* of letters; between parts */
    pdf_scales scales;
    int column, columns;
    int page, pages;
    const char *tag[PDF_TAGS]; /* open ones, the innermost last */
    int tags;
    ch_status status; /* of what Cairo does not know of */
} pdf_writer;

/* ---------------------------------------------------------------- words and lines */

/* Between the margins. */
double pdf_text_width(const pdf_writer *w);

/* How far down a part may go. */
double pdf_bottom(const pdf_writer *w);

/* Words set in a column of this width; 0 = in one line. The caller unrefs it. */
PangoLayout *pdf_set(const pdf_writer *w, const char *words, double size, bool bold, double width);

/* Give bytes `from` to before `to` of a layout's words an attribute, which it takes over. */
void pdf_attribute(PangoLayout *layout, PangoAttribute *attribute, size_t from, size_t to);

double pdf_high(PangoLayout *layout);
double pdf_wide(PangoLayout *layout);

/* Draw a layout whole, its top left corner there. */
void pdf_put(const pdf_writer *w, PangoLayout *layout, double x, double y);

void pdf_rule(const pdf_writer *w, double x, double y, double width, double thickness);
void pdf_frame(const pdf_writer *w, double x, double y, double width, double height, double thickness);

/* Sentences, from line to line and from page to page, as an element of this name. */
void pdf_flow(pdf_writer *w, const char *element, const char *words, double size, bool bold, double indent);

/* ---------------------------------------------------------------- what a screen reader is told */

/*
 * What is drawn in between is an element of the document's structure (ISO 32000-1:2008, 14.8.4: "P", "H1", "Table"). Begun where the place on the page is settled,
 * so that none is left empty at a page's end; one that goes on over it is two elements, as the page's foot is none of it.
 */
void pdf_element(pdf_writer *w, const char *name);
void pdf_element_end(pdf_writer *w);

/* A bookmark of this name to where the next part begins. */
void pdf_bookmark(const pdf_writer *w, const char *name);

/* ---------------------------------------------------------------- pages */

/* Drawn outside of every element. */
void pdf_foot(const pdf_writer *columns_of);
void pdf_new_page(pdf_writer *w);

/* Go on to the next column or page where this much does not fit any more, unless nothing stands on this one. */
void pdf_need(pdf_writer *w, double height);

/* Two columns begin here, or end. */
void pdf_columns(pdf_writer *w, bool two);

/* ---------------------------------------------------------------- parts; `at` is the index of one in the document */

/* An item of a list: `first`, `last`: of those that follow each other. */
void pdf_item(pdf_writer *w, const document_part *part, bool first, bool last);
double pdf_item_height(const pdf_writer *w, const document_part *part);

void pdf_outcome(pdf_writer *w, const document_part *part);
void pdf_caution(pdf_writer *w, size_t at);
void pdf_tick(pdf_writer *w, const document_part *part);
void pdf_boxes(pdf_writer *w, const document_part *part);

/* Of a box to tick, or of boxes, with their words. */
double pdf_tick_height(const pdf_writer *w, const document_part *part);
double pdf_boxes_height(const pdf_writer *w, const document_part *part);

/* Of cautions that follow each other from there on, with the first lines of what they stand before. */
double pdf_cautions_height(const pdf_writer *w, size_t at);

/* A table from its head to its last row. Returns the index behind it. */
size_t pdf_table(pdf_writer *w, size_t at);

/* Of what a table does not begin without: its caption, its head, its first rows. */
double pdf_table_least(const pdf_writer *w, size_t at);

/* Drawings that follow each other, side by side while there is room. Returns the index behind them; `status` tells of one that cannot be read. */
size_t pdf_drawings(pdf_writer *w, size_t at);

/* Of a drawing that begins at `y`; 0 where it cannot be read. */
double pdf_drawing_height(const pdf_writer *w, const document_part *part, double y);

#endif
