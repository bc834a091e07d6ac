/* Words, lines and columns of a document on paper, and how a page ends. */
#include <cairo-pdf.h>
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/units.h"
#include "pdf_page.h"

static const double FOOT = 26.0, GAP = 4.0, GUTTER = 16.0, SMALL_GAP = 1.2;

double pdf_text_width(const pdf_writer *w)
{
    return w->width - 2.0 * PDF_MARGIN;
}

double pdf_bottom(const pdf_writer *w)
{
    return w->height - PDF_MARGIN - FOOT;
}

void pdf_attribute(PangoLayout *layout, PangoAttribute *attribute, size_t from, size_t to)
{
    PangoAttrList *attributes = pango_layout_get_attributes(layout);
    attributes = attributes != NULL ? pango_attr_list_ref(attributes) : pango_attr_list_new();
    attribute->start_index = (guint)from;
    attribute->end_index = (guint)to;
    pango_attr_list_insert(attributes, attribute);
    pango_layout_set_attributes(layout, attributes);
    pango_attr_list_unref(attributes);
}

/* "36 %" and "140 psi" stay in one line: a number whose unit is looked for in the next one is misread. */
static void keep_units(PangoLayout *layout, const char *words)
{
    for (const char *space = strchr(words, ' '); space != NULL; space = strchr(space + 1, ' ')) {
        const size_t length = strcspn(space + 1, " ,;:.()");
        if (space == words || !isdigit((unsigned char)space[-1]) || length == 0)
            continue;
        if (space[1] != '%' && ch_unit_find(space + 1, length) == NULL)
            continue;
        const size_t at = (size_t)(space - words);
        pdf_attribute(layout, pango_attr_allow_breaks_new(FALSE), at - 1, at + 1 + length);
    }
}

PangoLayout *pdf_set(const pdf_writer *w, const char *words, double size, bool bold, double width)
{
    PangoLayout *layout = pango_cairo_create_layout(w->cr);
    PangoFontDescription *font = pango_font_description_new();
    pango_font_description_set_family_static(font, "sans-serif");
    pango_font_description_set_absolute_size(font, size * w->scale * PANGO_SCALE);
    pango_font_description_set_weight(font, bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_layout_set_font_description(layout, font);
    pango_font_description_free(font);
    pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
    if (width > 0.0)
        pango_layout_set_width(layout, (int)(width * PANGO_SCALE));
    pango_layout_set_text(layout, words, -1);
    /* A ligature is one character to whoever searches or reads aloud, and not the letters it stands for. */
    pdf_attribute(layout, pango_attr_font_features_new("liga=0, clig=0"), 0, strlen(words));
    keep_units(layout, words);
    return layout;
}

double pdf_high(PangoLayout *layout)
{
    int width = 0, height = 0;
    pango_layout_get_size(layout, &width, &height);
    return (double)height / PANGO_SCALE;
}

double pdf_wide(PangoLayout *layout)
{
    int width = 0, height = 0;
    pango_layout_get_size(layout, &width, &height);
    return (double)width / PANGO_SCALE;
}

void pdf_put(const pdf_writer *w, PangoLayout *layout, double x, double y)
{
    cairo_move_to(w->cr, x, y);
    pango_cairo_show_layout(w->cr, layout);
}

void pdf_rule(const pdf_writer *w, double x, double y, double width, double thickness)
{
    cairo_set_line_width(w->cr, thickness);
    cairo_move_to(w->cr, x, y);
    cairo_line_to(w->cr, x + width, y);
    cairo_stroke(w->cr);
}

void pdf_frame(const pdf_writer *w, double x, double y, double width, double height, double thickness)
{
    cairo_set_line_width(w->cr, thickness);
    cairo_rectangle(w->cr, x, y, width, height);
    cairo_stroke(w->cr);
}

void pdf_element(pdf_writer *w, const char *name)
{
    w->tag[w->tags++] = name;
    cairo_tag_begin(w->cr, name, NULL);
}

void pdf_element_end(pdf_writer *w)
{
    cairo_tag_end(w->cr, w->tag[--w->tags]);
}

void pdf_bookmark(const pdf_writer *w, const char *name)
{
    char place[64];
    snprintf(place, sizeof place, "page=%d pos=[%d %d]", w->page, (int)w->left, (int)w->y);
    cairo_pdf_surface_add_outline(cairo_get_target(w->cr), CAIRO_PDF_OUTLINE_ROOT, name, place, 0);
}

/* In the margin, so that no page holds less for it: whose page it is, once it has come away from the others. */
static void running_head(const pdf_writer *columns_of)
{
    const double above = 15.0;
    pdf_writer usual = *columns_of;
    usual.scale = 1.0;
    PangoLayout *line = pdf_set(&usual, usual.document->head, PDF_SMALL_SIZE, false, pdf_text_width(&usual));
    pango_layout_set_height(line, -1);
    pango_layout_set_ellipsize(line, PANGO_ELLIPSIZE_END);
    pdf_put(&usual, line, PDF_MARGIN, PDF_MARGIN - above);
    g_object_unref(line);
}

/* Set in usual letters, also under columns. */
void pdf_foot(const pdf_writer *columns_of)
{
    pdf_writer usual = *columns_of;
    const pdf_writer *w = &usual;
    char number[64];
    usual.scale = 1.0;
    snprintf(number, sizeof number, "%d of %d", w->page, w->pages);
    const double top = w->height - PDF_MARGIN - FOOT + 8.0;
    pdf_rule(w, PDF_MARGIN, top, pdf_text_width(w), 0.5);
    PangoLayout *right = pdf_set(w, number, PDF_SMALL_SIZE, false, 0.0);
    const double room = pdf_text_width(w) - pdf_wide(right) - 12.0;
    PangoLayout *left =
        pdf_set(w, w->document->foot[0] != '\0' ? w->document->foot : w->document->title, PDF_SMALL_SIZE, false, room);
    /* What is too long for two lines is cut: the foot must not grow into the page's edge. */
    pango_layout_set_height(left, -2);
    pango_layout_set_ellipsize(left, PANGO_ELLIPSIZE_END);
    pdf_put(w, left, PDF_MARGIN, top + 3.0);
    pdf_put(w, right, w->width - PDF_MARGIN - pdf_wide(right), top + 3.0);
    g_object_unref(left);
    g_object_unref(right);
}

void pdf_new_page(pdf_writer *w)
{
    for (int i = w->tags; i > 0; i--)
        cairo_tag_end(w->cr, w->tag[i - 1]);
    pdf_foot(w);
    cairo_show_page(w->cr);
    w->page++;
    w->column = 0;
    w->left = w->y = w->top = w->deepest = PDF_MARGIN;
    running_head(w);
    for (int i = 0; i < w->tags; i++)
        cairo_tag_begin(w->cr, w->tag[i], NULL);
}

void pdf_need(pdf_writer *w, double height)
{
    if (w->y + height <= pdf_bottom(w) || w->y <= PDF_MARGIN)
        return;
    if (w->column + 1 < w->columns && w->y > w->top) {
        w->column++;
        w->left += w->room + GUTTER;
        w->deepest = fmax(w->deepest, w->y);
        w->y = w->top;
    } else {
        pdf_new_page(w);
    }
}

void pdf_columns(pdf_writer *w, bool two)
{
    w->y = fmax(w->y, w->deepest);
    w->columns = two ? 2 : 1;
    w->column = 0;
    w->left = PDF_MARGIN;
    w->room = two ? (pdf_text_width(w) - GUTTER) / 2.0 : pdf_text_width(w);
    w->top = two ? w->y : PDF_MARGIN;
    w->deepest = w->y;
    w->scale = two ? w->scales.column : w->scales.body;
    w->gap = two ? SMALL_GAP : GAP;
}

/* Lines that must stand together from line `i` of `count` on: a first or a last line does not stand alone. */
static int together(int i, int count)
{
    enum { PAIR = 2 };
    if (i == 0 && count <= PAIR + 1)
        return count;
    return i == 0 || i == count - PAIR ? PAIR : 1;
}

void pdf_flow(pdf_writer *w, const char *element, const char *words, double size, bool bold, double indent)
{
    PangoLayout *layout = pdf_set(w, words, size, bold, w->room - indent);
    PangoLayoutIter *at = pango_layout_get_iter(layout);
    const int count = pango_layout_get_line_count(layout);
    int i = 0;
    do {
        PangoRectangle logical;
        pango_layout_iter_get_line_extents(at, NULL, &logical);
        const double height = (double)logical.height / PANGO_SCALE;
        pdf_need(w, height * together(i, count));
        if (i++ == 0)
            pdf_element(w, element);
        const double above = (double)(pango_layout_iter_get_baseline(at) - logical.y) / PANGO_SCALE;
        cairo_move_to(w->cr, w->left + indent, w->y + above);
        pango_cairo_show_layout_line(w->cr, pango_layout_iter_get_line_readonly(at));
        w->y += height;
    } while (pango_layout_iter_next_line(at));
    pdf_element_end(w);
    pango_layout_iter_free(at);
    g_object_unref(layout);
}
