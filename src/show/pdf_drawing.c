/* A document's drawings on paper: lines stay lines, by librsvg. */
#include <librsvg/rsvg.h>
#include <math.h>

#include "pdf_page.h"

static const double POINTS_PER_PIXEL = 0.6;

typedef struct picture {
    RsvgHandle *handle;
    double width, height; /* on paper */
    double room;          /* width with the caption, which does not read well in a narrow column */
} picture;

/* NULL handle where it cannot be read. */
static picture picture_of(const pdf_writer *w, const document_part *part)
{
    picture p = {.handle = rsvg_handle_new_from_data((const guint8 *)part->more, part->length, NULL)};
    if (p.handle == NULL)
        return p;
    gboolean has_width = FALSE, has_height = FALSE, has_box = FALSE;
    RsvgLength width = {0}, height = {0};
    RsvgRectangle box = {0};
    rsvg_handle_get_intrinsic_dimensions(p.handle, &has_width, &width, &has_height, &height, &has_box, &box);
    if (!has_width || !has_height || !(width.length > 0.0) || !(height.length > 0.0)) {
        g_object_unref(p.handle);
        return (picture){0};
    }
    p.width = width.length * POINTS_PER_PIXEL;
    p.height = height.length * POINTS_PER_PIXEL;
    const double most = pdf_bottom(w) - PDF_MARGIN - 30.0;
    const double scale = fmin(1.0, fmin(w->room / p.width, most / p.height));
    p.width *= scale;
    p.height *= scale;
    p.room = part->words[0] != '\0' ? fmax(p.width, 232.0) : p.width;
    return p;
}

/* A tall drawing is drawn somewhat smaller where that keeps it on the page that it is due on: else most of that page would stay empty. */
static void shrink(const pdf_writer *w, picture *p, double y)
{
    const double least = 0.7, caption = 40.0, room = pdf_bottom(w) - y - caption;
    const double scale = room / p->height;
    if (p->height < 200.0 || scale >= 1.0 || scale < least)
        return;
    p->width *= scale;
    p->height *= scale;
}

/* Among several, a tall one (many cylinders) is drawn somewhat smaller: the words about it have to fit on the paper as well. */
static void shrink_among(const pdf_writer *w, picture *p)
{
    const double tall = 110.0, least = 0.82, scale = fmin(fmax(tall / p->height, least), 1.0) * w->scales.body;
    p->width *= scale;
    p->height *= scale;
}

double pdf_drawing_height(const pdf_writer *w, const document_part *part, double y)
{
    picture p = picture_of(w, part);
    if (p.handle == NULL)
        return 0.0;
    shrink(w, &p, y);
    g_object_unref(p.handle);
    return p.height;
}

size_t pdf_drawings(pdf_writer *w, size_t at)
{
    const document_part *part = w->document->part;
    double x = w->left, row = 0.0;
    size_t i = at;
    for (; i < w->document->count && part[i].kind == DOCUMENT_DRAWING; i++) {
        picture p = picture_of(w, &part[i]);
        if (p.handle == NULL) {
            w->status = CH_E_RANGE;
            return w->document->count;
        }
        if (i > at || (i + 1 < w->document->count && part[i + 1].kind == DOCUMENT_DRAWING))
            shrink_among(w, &p);
        shrink(w, &p, x == w->left ? w->y : pdf_bottom(w));
        PangoLayout *caption = pdf_set(w, part[i].words, PDF_SMALL_SIZE, false, p.room);
        const double height = p.height + (part[i].words[0] != '\0' ? pdf_high(caption) + 2.0 : 0.0);
        if (x > w->left && (x + p.room > w->left + w->room || w->y + height > pdf_bottom(w))) {
            w->y += row + w->gap;
            x = w->left;
            row = 0.0;
        }
        if (x == w->left) {
            pdf_need(w, height);
            x = w->left;
        }
        pdf_element(w, "Figure");
        const RsvgRectangle place = {.x = x, .y = w->y, .width = p.width, .height = p.height};
        if (!rsvg_handle_render_document(p.handle, w->cr, &place, NULL))
            w->status = CH_E_RANGE;
        cairo_set_source_rgb(w->cr, 0.0, 0.0, 0.0);
        pdf_element_end(w);
        pdf_element(w, "Caption");
        if (part[i].words[0] != '\0')
            pdf_put(w, caption, x, w->y + p.height + 2.0);
        pdf_element_end(w);
        g_object_unref(caption);
        g_object_unref(p.handle);
        x += p.room + 14.0;
        row = fmax(row, height);
    }
    w->y += row + w->gap;
    return i;
}
