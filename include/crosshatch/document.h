/**
 * @file document.h
 * A printed page as a list of parts: headings, sentences, tables, cautions, boxes to tick, drawings. Written once, shown as PDF or as an
 * HTML file that stands alone, so that both say the same in the same order.
 *
 * Texts are UTF-8 and copied; what is no character that may be printed is shown as U+FFFD. The first failure sticks: parts are added
 * freely, and ch_document_check() is asked once, at the end. All functions that add do nothing to a document that has failed.
 */
#ifndef CROSSHATCH_DOCUMENT_H
#define CROSSHATCH_DOCUMENT_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/date.h"
#include "crosshatch/knowledge.h"
#include "crosshatch/status.h"
#include "crosshatch/svg.h"
#include "crosshatch/text.h"

typedef struct ch_document ch_document;

enum {
    CH_DOCUMENT_PARTS_MAX = 20000,
    CH_DOCUMENT_COLUMNS_MAX = 12,
    CH_DOCUMENT_BYTES_MAX = 16 * 1024 * 1024 /**< of a finished PDF or HTML file */
};

/**
 * Begin a document.
 *
 * @param title    Shown on top of the first page, and small, with `under`, on top of all others.
 * @param under    A line under it; NULL = none.
 * @param foot     Stands at the foot of every page; NULL = the title does.
 * @param document (out) To be freed with ch_document_free(). Untouched on failure.
 * @retval CH_E_MEMORY
 */
ch_status ch_document_new(const char *title, const char *under, const char *foot, ch_document **document, ch_err *err);

/** Fine on NULL. */
void ch_document_free(ch_document *document);

/** A heading inside the document. */
void ch_document_heading(ch_document *document, const char *words);
/** A paragraph. */
void ch_document_paragraph(ch_document *document, const char *words);
/** A sentence of a list. */
void ch_document_item(ch_document *document, const char *words);
/** A box to tick, what it is for, and (NULL = none) more about it in smaller letters. */
void ch_document_tick(ch_document *document, const char *words, const char *more);
/**
 * Boxes to tick at different times: one a letter of `boxes`, which stands in it, with spaces between groups ("H A 1 SSSSS", ASCII, at most 24), what they
 * are for, and (NULL = none) more about it in smaller letters.
 */
void ch_document_boxes(ch_document *document, const char *boxes, const char *words, const char *more);
/** On paper, letters and drawings are made up to 15 % smaller where that keeps the document to this many pages; 0 = as many as it takes. */
void ch_document_pages(ch_document *document, int most);
/** What follows is set small and in two columns, until this is called with false: for a list that has to fit on one sheet of paper. */
void ch_document_columns(ch_document *document, bool two);
/** What it all comes to, in a frame: a word or two, and sentences. */
void ch_document_outcome(ch_document *document, const char *word, const char *words);
/** A caution with its signal word (ANSI Z535.4), to stand before the step. NULL or "" = nothing to say there. */
void ch_document_caution(ch_document *document, ch_signal_word word, const char *hazard, const char *consequence,
                         const char *precaution);
/** A drawing, copied. Drawings that follow each other stand side by side where the paper has room. `caption` NULL = none. */
void ch_document_drawing(ch_document *document, const ch_svg *svg, const char *caption);
/** What follows begins a new sheet of paper. */
void ch_document_new_page(ch_document *document);

/**
 * Begin a table.
 *
 * @param document Added to.
 * @param caption  Read out by screen readers and shown above.
 * @param columns  1 to CH_DOCUMENT_COLUMNS_MAX; another number fails the document with CH_E_RANGE.
 * @param head     `columns` headings, 1 to CH_DOCUMENT_COLUMNS_MAX.
 * @param numbers  `columns` flags: true = the column is set to the right, as numbers are.
 */
void ch_document_table(ch_document *document, const char *caption, size_t columns, const char *const head[],
                       const bool numbers[]);
/** A row of the table begun last: as many cells as it has columns. */
void ch_document_row(ch_document *document, const char *const cells[]);

/**
 * What failed first: CH_E_MEMORY, CH_E_LIMIT (more than CH_DOCUMENT_PARTS_MAX), CH_E_RANGE (a row without a table, a box that is no letter).
 *
 * @param document Asked; nothing is added.
 */
ch_status ch_document_check(const ch_document *document, ch_err *err);

/**
 * Append the document as one HTML file that needs nothing else: no script, no request to anywhere; headings, table heads and drawings are
 * marked up for screen readers (WCAG 2.2), and it prints without colour.
 *
 * @param document Stays as it is and may be written again.
 * @param html     (out) Appended to; holds a part of the file on failure.
 * @retval as ch_document_check(); CH_E_LIMIT, CH_E_MEMORY of `html`.
 */
ch_status ch_document_html(const ch_document *document, ch_text *html, ch_err *err);

/** ISO 216 A4, 210 mm x 297 mm; ANSI/ASME Y14.1 A (Letter), 8.5 in x 11 in. */
typedef enum ch_paper { CH_PAPER_A4, CH_PAPER_LETTER } ch_paper;

/**
 * Append the document as PDF: text that can be selected and searched, in reading order, fonts embedded; drawings stay lines. The same
 * document, day and fonts give the same bytes.
 *
 * @param document Stays as it is and may be written again.
 * @param paper    Of all pages.
 * @param made     Stands in the file as the day it was made (PDF 32000-1:2008, 14.3.3); must be given.
 * @param pdf      (out) Appended to; its limit has to hold the file, CH_DOCUMENT_BYTES_MAX is usual. May hold a part of the file on failure.
 * @retval as ch_document_check(); CH_E_MEMORY, CH_E_LIMIT; CH_E_RANGE where a drawing cannot be read or no day is given.
 */
ch_status ch_document_pdf(const ch_document *document, ch_paper paper, ch_date made, ch_text *pdf, ch_err *err);

#endif
