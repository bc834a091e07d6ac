/*
 * A document as PDF, by Cairo, Pango and librsvg. Lengths are points (1/72 in), y down the page.
 *  1. It is laid out at least twice: into nothing, to learn how many pages there are and which letters suit the columns, and once for good.
 *  2. Nothing that fits on a page is torn between two: frames, rows of a table and drawings move on whole; sentences break between lines.
 *  3. Its structure is told, with bookmarks and its language, as far as Cairo lets it: a drawing has its words, but no other text in its place.
 *  4. A heading never stands alone at the foot of a page, and no caution on another page than the beginning of what it is about, unless
 *     they do not fit on one.
 */
#include <cairo-pdf.h>
#include <math.h>
#include <stdio.h>

#include "pdf_language.h"
#include "pdf_page.h"

/* Of the letters in columns, from good to just legible: the largest with which the document takes no more paper than with the smallest. */
static const double COLUMN_SCALE[] = {0.95, 0.92, 0.89, 0.86, 0.83};
enum { COLUMN_SCALES = sizeof COLUMN_SCALE / sizeof COLUMN_SCALE[0] };

/* Of all letters, and of drawings among several, where a document has to keep to some pages: the largest with which it does. */
static const double SCALE[] = {1.0, 0.95, 0.9, 0.85};
enum { SCALES = sizeof SCALE / sizeof SCALE[0] };

/* What must stand on the same page as a heading. */
static double behind_heading(const pdf_writer *w, size_t next)
{
    const double first_lines = w->columns > 1 ? 16.0 : 42.0, most = pdf_bottom(w) - PDF_MARGIN - 30.0;
    if (next >= w->document->count)
        return first_lines;
    const document_part *part = &w->document->part[next];
    double height;
    switch (part->kind) {
    case DOCUMENT_CAUTION: return fmin(pdf_cautions_height(w, next), most);
    case DOCUMENT_DRAWING: return pdf_drawing_height(w, part, w->y + 30.0) + 14.0;
    case DOCUMENT_ITEM: height = pdf_item_height(w, part); break;
    case DOCUMENT_TICK: height = pdf_tick_height(w, part); break;
    case DOCUMENT_BOXES: height = pdf_boxes_height(w, part); break;
    case DOCUMENT_TABLE: height = pdf_table_least(w, next); break;
    default: height = first_lines; break;
    }
    return fmin(fmax(height, first_lines), most);
}

/* Large where it takes few lines, smaller where it would push what the document says off its first page. */
static void title(pdf_writer *w)
{
    enum { LINES = 3, SIZES = 4 };
    static const double SIZE[SIZES] = {18.0, 14.0, 11.0, 8.6};
    int i = 0;
    for (; i < SIZES - 1; i++) {
        PangoLayout *tried = pdf_set(w, w->document->title, SIZE[i], true, w->room);
        const int lines = pango_layout_get_line_count(tried);
        g_object_unref(tried);
        if (lines <= LINES)
            break;
    }
    pdf_flow(w, "H1", w->document->title, SIZE[i], true, 0.0);
}

static void heading(pdf_writer *w, size_t at)
{
    pdf_need(w, 24.0 * w->scale + behind_heading(w, at + 1));
    if (w->y > w->top)
        w->y += w->columns > 1 ? 2.0 : 5.0;
    pdf_bookmark(w, w->document->part[at].words);
    pdf_flow(w, "H2", w->document->part[at].words, PDF_HEADING_SIZE, true, 0.0);
    w->y += 2.0;
}

static size_t one(pdf_writer *w, size_t at)
{
    const document_part *part = &w->document->part[at];
    switch (part->kind) {
    case DOCUMENT_HEADING: heading(w, at); break;
    case DOCUMENT_PARAGRAPH:
        pdf_flow(w, "P", part->words, PDF_BODY_SIZE, false, 0.0);
        w->y += w->gap;
        break;
    case DOCUMENT_ITEM:
        pdf_item(w, part, at == 0 || part[-1].kind != DOCUMENT_ITEM,
                 at + 1 == w->document->count || part[1].kind != DOCUMENT_ITEM);
        break;
    case DOCUMENT_TICK: pdf_tick(w, part); break;
    case DOCUMENT_BOXES: pdf_boxes(w, part); break;
    case DOCUMENT_COLUMNS: pdf_columns(w, part->two); break;
    case DOCUMENT_OUTCOME: pdf_outcome(w, part); break;
    case DOCUMENT_CAUTION: pdf_caution(w, at); break;
    case DOCUMENT_DRAWING: return pdf_drawings(w, at);
    case DOCUMENT_NEW_PAGE:
        if (w->y > PDF_MARGIN)
            pdf_new_page(w);
        break;
    case DOCUMENT_TABLE: return pdf_table(w, at);
    case DOCUMENT_ROW: break; /* drawn with its table */
    }
    return at + 1;
}

/* Lay it out on a surface; the pages are counted into *pages, which the feet show as it came in. */
static ch_status lay_out(const ch_document *document, cairo_surface_t *surface, double width, double height,
                         pdf_scales chosen, int *pages)
{
    pdf_writer w = {
        .document = document, .cr = cairo_create(surface), .width = width, .height = height, .scales = chosen};
    w.y = w.deepest = PDF_MARGIN;
    pdf_columns(&w, false);
    w.page = 1;
    w.pages = *pages;
    cairo_tag_begin(w.cr, "Document",
                    NULL); /* what is drawn in no element of it, as a page's foot, is not read out with it */
    title(&w);
    if (document->under[0] != '\0')
        pdf_flow(&w, "P", document->under, PDF_BODY_SIZE, false, 0.0);
    w.y += w.gap;
    for (size_t i = 0; i < document->count && w.status == CH_OK && cairo_status(w.cr) == CAIRO_STATUS_SUCCESS;)
        i = one(&w, i);
    pdf_foot(&w);
    cairo_tag_end(w.cr, "Document");
    cairo_show_page(w.cr);
    *pages = w.page;
    const cairo_status_t drawn = cairo_status(w.cr);
    cairo_destroy(w.cr);
    return w.status != CH_OK ? w.status : drawn == CAIRO_STATUS_SUCCESS ? CH_OK : CH_E_MEMORY;
}

static cairo_status_t to_nothing(void *closure, const unsigned char *bytes, unsigned length)
{
    (void)closure;
    (void)bytes;
    (void)length;
    return CAIRO_STATUS_SUCCESS;
}

static cairo_status_t to_text(void *closure, const unsigned char *bytes, unsigned length)
{
    ch_text *text = closure;
    ch_text_append(text, (const char *)bytes, length);
    return text->status == CH_OK ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

static ch_status to_surface(const ch_document *document, ch_paper paper, ch_date made, pdf_scales chosen,
                            cairo_write_func_t to, void *closure, int *pages)
{
    static const double SIZE[][2] = {
        [CH_PAPER_A4] = {210.0 / 25.4 * 72.0, 297.0 / 25.4 * 72.0}, [CH_PAPER_LETTER] = {8.5 * 72.0, 11.0 * 72.0}};
    char day[16], stamp[48];
    ch_date_format(made, day, sizeof day);
    snprintf(stamp, sizeof stamp, "%sT00:00:00Z", day);
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(to, closure, SIZE[paper][0], SIZE[paper][1]);
    cairo_pdf_surface_restrict_to_version(surface, PDF_LANGUAGE_VERSION);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, document->title);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "crosshatch");
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, stamp);
    ch_status rc = lay_out(document, surface, SIZE[paper][0], SIZE[paper][1], chosen, pages);
    cairo_surface_finish(surface);
    if (rc == CH_OK && cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS)
        rc = CH_E_MEMORY;
    cairo_surface_destroy(surface);
    return rc;
}

static bool has_columns(const ch_document *document)
{
    for (size_t i = 0; i < document->count; i++)
        if (document->part[i].kind == DOCUMENT_COLUMNS)
            return true;
    return false;
}

/* The largest letters with which the document keeps to its pages; the usual ones where none do. */
static ch_status body_scale(const ch_document *document, ch_paper paper, ch_date made, double *scale)
{
    *scale = SCALE[0];
    if (document->pages_wanted == 0)
        return CH_OK;
    for (int i = 0; i < SCALES; i++) {
        int pages = 0;
        const ch_status rc =
            to_surface(document, paper, made, (pdf_scales){SCALE[i], COLUMN_SCALE[0]}, to_nothing, NULL, &pages);
        if (rc < 0)
            return rc;
        if (pages <= document->pages_wanted) {
            *scale = SCALE[i];
            return CH_OK;
        }
    }
    return CH_OK;
}

ch_status ch_document_pdf(const ch_document *document, ch_paper paper, ch_date made, ch_text *pdf, ch_err *err)
{
    ch_status rc = ch_document_check(document, err);
    if (rc < 0)
        return rc;
    if (!ch_date_given(made))
        return ch_fail(err, CH_E_RANGE, "the day on which it is made", "a PDF without a day");
    int pages = 0, at = COLUMN_SCALES - 1;
    double body;
    rc = body_scale(document, paper, made, &body);
    if (rc == CH_OK)
        rc = to_surface(document, paper, made, (pdf_scales){body, COLUMN_SCALE[at]}, to_nothing, NULL, &pages);
    while (rc == CH_OK && has_columns(document) && at > 0) {
        int larger = 0;
        rc = to_surface(document, paper, made, (pdf_scales){body, COLUMN_SCALE[at - 1]}, to_nothing, NULL, &larger);
        if (larger > pages)
            break;
        pages = larger;
        at--;
    }
    const size_t from = pdf->length;
    if (rc == CH_OK)
        rc = to_surface(document, paper, made, (pdf_scales){body, COLUMN_SCALE[at]}, to_text, pdf, &pages);
    if (rc == CH_OK)
        pdf_language(pdf, from);
    if (rc == CH_E_RANGE)
        return ch_fail(err, rc, "SVG with a width and a height", "a drawing of the document cannot be read");
    if (pdf->status != CH_OK)
        return ch_text_check(pdf, err);
    return rc == CH_OK ? CH_OK : ch_fail(err, rc, NULL, "the PDF could not be written: no memory");
}
