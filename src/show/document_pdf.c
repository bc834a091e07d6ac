/*
 * A document as PDF, by Cairo, Pango and librsvg. Lengths are points (1/72 in), y down the page.
 *  1. It is laid out at least twice: into nothing, to learn how many pages there are and which letters suit the columns, and once for good.
 *  2. Nothing that fits on a page is torn between two: frames, rows of a table and drawings move on whole; sentences break between lines.
 *  3. A heading never stands alone at the foot of a page, and no caution on another page than the beginning of what it is about, unless
 *     they do not fit on one.
 */
#include <cairo-pdf.h>
#include <librsvg/rsvg.h>
#include <math.h>
#include <pango/pangocairo.h>
#include <stdio.h>
#include <string.h>

#include "document_parts.h"

static const double MARGIN = 36.0, FOOT = 26.0, GAP = 4.0, GUTTER = 16.0, SMALL_GAP = 1.2, POINTS_PER_PIXEL = 0.6;
static const double TITLE_SIZE = 18.0, HEADING_SIZE = 12.0, BODY_SIZE = 8.6, SMALL_SIZE = 8.0, OUTCOME_SIZE = 14.0,
                    LETTER_SIZE = 6.5;

/* Of the letters in columns, from good to just legible: the largest with which the document takes no more paper than with the smallest. */
static const double COLUMN_SCALE[] = {0.95, 0.92, 0.89, 0.86, 0.83};
enum { COLUMN_SCALES = sizeof COLUMN_SCALE / sizeof COLUMN_SCALE[0] };

/* Of all letters, and of drawings among several, where a document has to keep to some pages: the largest with which it does. */
static const double SCALE[] = {1.0, 0.95, 0.9, 0.85};
enum { SCALES = sizeof SCALE / sizeof SCALE[0] };

typedef struct scales {
    double body, column;
} scales;

typedef struct writer {
    const ch_document *document;
    cairo_t *cr;
    double width, height; /* of the paper */
    double y;             /* where the next part begins */
    double left, room;    /* of the column that it stands in, which is the whole page where there is one */
    double top, deepest;  /* where columns begin on this page, and how far the fullest one goes */
    double scale, gap;    /* of letters; between parts */
    scales scales;
    int column, columns;
    int page, pages;
    ch_status status; /* of what Cairo does not know of */
} writer;

static double text_width(const writer *w)
{
    return w->width - 2.0 * MARGIN;
}

static double bottom(const writer *w)
{
    return w->height - MARGIN - FOOT;
}

/* Words set in a column of this width. The caller unrefs it. */
static PangoLayout *set(const writer *w, const char *words, double size, bool bold, double width)
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
    return layout;
}

static double high(PangoLayout *layout)
{
    int width = 0, height = 0;
    pango_layout_get_size(layout, &width, &height);
    return (double)height / PANGO_SCALE;
}

static double wide(PangoLayout *layout)
{
    int width = 0, height = 0;
    pango_layout_get_size(layout, &width, &height);
    return (double)width / PANGO_SCALE;
}

/* Draw a layout whole, its top left corner there. */
static void put(const writer *w, PangoLayout *layout, double x, double y)
{
    cairo_move_to(w->cr, x, y);
    pango_cairo_show_layout(w->cr, layout);
}

static void rule(const writer *w, double x, double y, double width, double thickness)
{
    cairo_set_line_width(w->cr, thickness);
    cairo_move_to(w->cr, x, y);
    cairo_line_to(w->cr, x + width, y);
    cairo_stroke(w->cr);
}

static void frame(const writer *w, double x, double y, double width, double height, double thickness)
{
    cairo_set_line_width(w->cr, thickness);
    cairo_rectangle(w->cr, x, y, width, height);
    cairo_stroke(w->cr);
}

/* Set in usual letters, also under columns. */
static void foot(const writer *columns_of)
{
    writer usual = *columns_of;
    const writer *w = &usual;
    char number[64];
    usual.scale = 1.0;
    snprintf(number, sizeof number, "%d of %d", w->page, w->pages);
    const double top = w->height - MARGIN - FOOT + 8.0;
    rule(w, MARGIN, top, text_width(w), 0.5);
    PangoLayout *right = set(w, number, SMALL_SIZE, false, 0.0);
    const double room = text_width(w) - wide(right) - 12.0;
    PangoLayout *left =
        set(w, w->document->foot[0] != '\0' ? w->document->foot : w->document->title, SMALL_SIZE, false, room);
    /* What is too long for two lines is cut: the foot must not grow into the page's edge. */
    pango_layout_set_height(left, -2);
    pango_layout_set_ellipsize(left, PANGO_ELLIPSIZE_END);
    put(w, left, MARGIN, top + 3.0);
    put(w, right, w->width - MARGIN - wide(right), top + 3.0);
    g_object_unref(left);
    g_object_unref(right);
}

static void new_page(writer *w)
{
    foot(w);
    cairo_show_page(w->cr);
    w->page++;
    w->column = 0;
    w->left = w->y = w->top = w->deepest = MARGIN;
}

/* Go on to the next column or page where this much does not fit any more, unless nothing stands on this one. */
static void need(writer *w, double height)
{
    if (w->y + height <= bottom(w) || w->y <= MARGIN)
        return;
    if (w->column + 1 < w->columns && w->y > w->top) {
        w->column++;
        w->left += w->room + GUTTER;
        w->deepest = fmax(w->deepest, w->y);
        w->y = w->top;
    } else {
        new_page(w);
    }
}

/* Two columns begin here, or end. */
static void columns(writer *w, bool two)
{
    w->y = fmax(w->y, w->deepest);
    w->columns = two ? 2 : 1;
    w->column = 0;
    w->left = MARGIN;
    w->room = two ? (text_width(w) - GUTTER) / 2.0 : text_width(w);
    w->top = two ? w->y : MARGIN;
    w->deepest = w->y;
    w->scale = two ? w->scales.column : w->scales.body;
    w->gap = two ? SMALL_GAP : GAP;
}

/* Sentences, from line to line and from page to page. */
static void flow(writer *w, const char *words, double size, bool bold, double indent)
{
    PangoLayout *layout = set(w, words, size, bold, w->room - indent);
    PangoLayoutIter *at = pango_layout_get_iter(layout);
    do {
        PangoRectangle logical;
        pango_layout_iter_get_line_extents(at, NULL, &logical);
        const double height = (double)logical.height / PANGO_SCALE;
        need(w, height);
        const double above = (double)(pango_layout_iter_get_baseline(at) - logical.y) / PANGO_SCALE;
        cairo_move_to(w->cr, w->left + indent, w->y + above);
        pango_cairo_show_layout_line(w->cr, pango_layout_iter_get_line_readonly(at));
        w->y += height;
    } while (pango_layout_iter_next_line(at));
    pango_layout_iter_free(at);
    g_object_unref(layout);
}

/* ---------------------------------------------------------------- frames */

static void outcome(writer *w, const document_part *part)
{
    const double inside = 8.0, room = w->room - 2.0 * inside;
    PangoLayout *word = set(w, part->more, OUTCOME_SIZE, true, room);
    PangoLayout *words = set(w, part->words, BODY_SIZE, false, room);
    const double height = high(word) + high(words) + 2.0 * inside;
    need(w, height);
    frame(w, w->left, w->y, w->room, height, 1.5);
    put(w, word, w->left + inside, w->y + inside);
    put(w, words, w->left + inside, w->y + inside + high(word));
    w->y += height + w->gap;
    g_object_unref(word);
    g_object_unref(words);
}

/* Its signal word and the rest of it, to be unreferenced; how far the rest stands from the left, how far all of it from the frame, and how high it all is. */
typedef struct caution_set {
    PangoLayout *word, *rest;
    double left, inside, bar, height;
} caution_set;

static void embolden(PangoLayout *layout, size_t bytes)
{
    PangoAttrList *attributes = pango_attr_list_new();
    PangoAttribute *bold = pango_attr_weight_new(PANGO_WEIGHT_BOLD);
    bold->end_index = (guint)bytes;
    pango_attr_list_insert(attributes, bold);
    pango_layout_set_attributes(layout, attributes);
    pango_attr_list_unref(attributes);
}

/* In a narrow column the words begin behind the signal word, in a wide one beside it. */
static caution_set set_caution(const writer *w, const document_part *part)
{
    const bool narrow = w->columns > 1;
    const char *signal = ch_signal_word_name(part->signal);
    caution_set c = {.word = set(w, narrow ? "" : signal, BODY_SIZE, true, 0.0),
                     .inside = narrow ? 2.0 : 3.5,
                     .bar = narrow ? 3.0 : 5.0};
    char words[2048];
    c.left = c.bar + c.inside + (narrow ? 0.0 : fmax(wide(c.word), 58.0) + 6.0);
    snprintf(words, sizeof words, "%s%s%s%s%s", narrow ? signal : "", narrow ? " " : "", part->words,
             part->more[0] != '\0' ? " " : "", part->more);
    c.rest = set(w, words, narrow ? SMALL_SIZE : BODY_SIZE, false, w->room - c.left - c.inside);
    if (narrow)
        embolden(c.rest, strlen(signal));
    c.height = fmax(narrow ? 0.0 : high(c.word), high(c.rest)) + 2.0 * c.inside;
    return c;
}

/* A box to tick with its words, to be unreferenced, and how high it all is. */
typedef struct tick_set {
    PangoLayout *words, *more;
    double box, left, below, height;
} tick_set;

static tick_set set_tick(const writer *w, const document_part *part)
{
    tick_set t = {.box = 10.0 * w->scale};
    t.left = t.box + 8.0;
    t.words = set(w, part->words, BODY_SIZE, false, w->room - t.left);
    t.more = set(w, part->more, SMALL_SIZE, false, w->room - t.left);
    t.below = part->more[0] != '\0' ? high(t.more) : 0.0;
    t.height = fmax(t.box + 2.0, high(t.words) + t.below);
    return t;
}

/* Cautions that follow each other, and the first lines of what they stand before. */
static double cautions_height(const writer *w, size_t at)
{
    const document_part *part = w->document->part;
    double height = 0.0;
    for (; at < w->document->count && part[at].kind == DOCUMENT_CAUTION; at++) {
        const caution_set c = set_caution(w, &part[at]);
        height += c.height + w->gap;
        g_object_unref(c.word);
        g_object_unref(c.rest);
    }
    double behind = 30.0 * w->scale;
    if (at < w->document->count && part[at].kind == DOCUMENT_TICK) { /* not torn either */
        const tick_set t = set_tick(w, &part[at]);
        behind = fmax(behind, t.height);
        g_object_unref(t.words);
        g_object_unref(t.more);
    }
    return height + behind;
}

static void caution(writer *w, size_t at)
{
    const document_part *part = &w->document->part[at];
    const bool first = at == 0 || part[-1].kind != DOCUMENT_CAUTION;
    const caution_set c = set_caution(w, part);
    const double together = first ? cautions_height(w, at) : 0.0;
    need(w, together < bottom(w) - MARGIN ? fmax(together, c.height) : c.height);
    frame(w, w->left, w->y, w->room, c.height, w->columns > 1 ? 0.6 : 1.0);
    cairo_rectangle(w->cr, w->left, w->y, c.bar, c.height);
    cairo_fill(w->cr);
    put(w, c.word, w->left + c.bar + c.inside, w->y + c.inside);
    put(w, c.rest, w->left + c.left, w->y + c.inside);
    w->y += c.height + w->gap;
    g_object_unref(c.word);
    g_object_unref(c.rest);
}

static void tick(writer *w, const document_part *part)
{
    const tick_set t = set_tick(w, part);
    need(w, t.height);
    frame(w, w->left + 0.5, w->y + 1.5, t.box, t.box, 1.0);
    put(w, t.words, w->left + t.left, w->y);
    if (t.below > 0.0)
        put(w, t.more, w->left + t.left, w->y + high(t.words));
    w->y += t.height + w->gap;
    g_object_unref(t.words);
    g_object_unref(t.more);
}

/* Boxes stand at the right edge, each with its character in it, so that the words begin in one line. */
static void boxes(writer *w, const document_part *part)
{
    const double box = 9.5, apart = 1.5, between = 3.0;
    double side = 0.0;
    for (const char *at = part->boxes; *at != '\0'; at++)
        side += *at == ' ' ? between : box + apart;
    PangoLayout *words = set(w, part->words, BODY_SIZE, false, w->room - side - 4.0);
    /* What does not need the room beside the boxes goes under them as well. */
    PangoLayout *more = set(w, part->more, SMALL_SIZE, false, w->room);
    const double above = fmax(high(words), box + 1.0), below = part->more[0] != '\0' ? high(more) : 0.0;
    need(w, above + below);
    put(w, words, w->left, w->y);
    if (below > 0.0)
        put(w, more, w->left, w->y + above);
    double x = w->left + w->room - side;
    for (const char *at = part->boxes; *at != '\0'; at++) {
        if (*at == ' ') {
            x += between;
            continue;
        }
        const char letter[2] = {*at, '\0'};
        PangoLayout *inside = set(w, letter, LETTER_SIZE, false, 0.0);
        frame(w, x, w->y + 0.5, box, box, 0.6);
        put(w, inside, x + (box - wide(inside)) / 2.0, w->y + 0.5 + (box - high(inside)) / 2.0);
        g_object_unref(inside);
        x += box + apart;
    }
    w->y += above + below + w->gap;
    g_object_unref(words);
    g_object_unref(more);
}

/* ---------------------------------------------------------------- tables */

/* Of the longest word: a table's head may be broken between words, its rows are not while there is room. */
static double longest_word(const writer *w, const char *words)
{
    double longest = 0.0;
    for (const char *at = words; *at != '\0';) {
        char word[64];
        const size_t length = strcspn(at, " ");
        snprintf(word, sizeof word, "%.*s", (int)length, at);
        PangoLayout *one_word = set(w, word, BODY_SIZE, true, 0.0);
        longest = fmax(longest, wide(one_word));
        g_object_unref(one_word);
        at += length;
        at += strspn(at, " ");
    }
    return longest;
}

/* Columns as wide as their widest cell; where that is too much, narrow ones keep what they need and wide ones share the rest. */
static void column_widths(const writer *w, size_t table, double width[CH_DOCUMENT_COLUMNS_MAX])
{
    const document_part *part = w->document->part;
    const size_t columns = part[table].columns;
    const double pad = 9.0;
    for (size_t c = 0; c < columns; c++)
        width[c] = longest_word(w, part[table].cells[c]) + pad;
    for (size_t i = table + 1; i < w->document->count && part[i].kind == DOCUMENT_ROW; i++) {
        for (size_t c = 0; c < columns; c++) {
            PangoLayout *cell = set(w, part[i].cells[c], BODY_SIZE, false, 0.0);
            width[c] = fmax(width[c], wide(cell) + pad);
            g_object_unref(cell);
        }
    }
    bool settled[CH_DOCUMENT_COLUMNS_MAX] = {false};
    double room = w->room;
    size_t open = columns;
    for (bool changed = true; changed && open > 0;) {
        changed = false;
        const double fair = room / (double)open;
        for (size_t c = 0; c < columns; c++) {
            if (settled[c] || width[c] > fair)
                continue;
            settled[c] = changed = true;
            room -= width[c];
            open--;
        }
    }
    for (size_t c = 0; c < columns; c++)
        if (!settled[c])
            width[c] = room / (double)open;
    for (size_t c = 0; open == 0 && c < columns; c++) { /* what is left keeps heads in one line */
        PangoLayout *head = set(w, part[table].cells[c], BODY_SIZE, true, 0.0);
        const double more = wide(head) + pad - width[c];
        g_object_unref(head);
        if (more <= 0.0 || more > room)
            continue;
        width[c] += more;
        room -= more;
    }
}

static void cells(writer *w, const document_part *part, bool head, const double width[])
{
    PangoLayout *cell[CH_DOCUMENT_COLUMNS_MAX];
    double height = 0.0, x = w->left;
    for (size_t c = 0; c < part->columns; c++) {
        cell[c] = set(w, part->cells[c], BODY_SIZE, head, width[c] - 9.0);
        pango_layout_set_alignment(cell[c], part->numbers[c] ? PANGO_ALIGN_RIGHT : PANGO_ALIGN_LEFT);
        height = fmax(height, high(cell[c]));
    }
    for (size_t c = 0; c < part->columns; c++) {
        put(w, cell[c], x, w->y + 1.5);
        x += width[c];
        g_object_unref(cell[c]);
    }
    w->y += height + 3.0;
    rule(w, w->left, w->y, x - w->left, head ? 1.0 : 0.3);
    w->y += 0.5;
}

static double row_height(const writer *w, const document_part *part, bool head, const double width[])
{
    double height = 0.0;
    for (size_t c = 0; c < part->columns; c++) {
        PangoLayout *cell = set(w, part->cells[c], BODY_SIZE, head, width[c] - 9.0);
        height = fmax(height, high(cell));
        g_object_unref(cell);
    }
    return height + 3.5;
}

/* A table from its head to its last row. Returns the index behind it. */
static size_t table(writer *w, size_t at)
{
    const document_part *part = w->document->part;
    double width[CH_DOCUMENT_COLUMNS_MAX];
    column_widths(w, at, width);
    const double head = row_height(w, &part[at], true, width);
    const bool rows = at + 1 < w->document->count && part[at + 1].kind == DOCUMENT_ROW;
    need(w, 16.0 + head + (rows ? row_height(w, &part[at + 1], false, width) : 0.0));
    if (part[at].words[0] != '\0')
        flow(w, part[at].words, BODY_SIZE, true, 0.0);
    cells(w, &part[at], true, width);
    size_t i = at + 1;
    for (; i < w->document->count && part[i].kind == DOCUMENT_ROW; i++) {
        if (w->y + row_height(w, &part[i], false, width) > bottom(w)) {
            new_page(w);
            cells(w, &part[at], true, width);
        }
        cells(w, &part[i], false, width);
    }
    w->y += w->gap;
    return i;
}

/* ---------------------------------------------------------------- drawings */

typedef struct picture {
    RsvgHandle *handle;
    double width, height; /* on paper */
    double room;          /* width with the caption, which does not read well in a narrow column */
} picture;

/* NULL handle where it cannot be read. */
static picture picture_of(const writer *w, const document_part *part)
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
    const double most = bottom(w) - MARGIN - 30.0;
    const double scale = fmin(1.0, fmin(w->room / p.width, most / p.height));
    p.width *= scale;
    p.height *= scale;
    p.room = part->words[0] != '\0' ? fmax(p.width, 232.0) : p.width;
    return p;
}

/* A tall drawing is drawn somewhat smaller where that keeps it on the page that it is due on: else most of that page would stay empty. */
static void shrink(const writer *w, picture *p, double y)
{
    const double least = 0.7, caption = 40.0, room = bottom(w) - y - caption;
    const double scale = room / p->height;
    if (p->height < 200.0 || scale >= 1.0 || scale < least)
        return;
    p->width *= scale;
    p->height *= scale;
}

/* Among several, a tall one (many cylinders) is drawn somewhat smaller: the words about it have to fit on the paper as well. */
static void shrink_among(const writer *w, picture *p)
{
    const double tall = 110.0, least = 0.82, scale = fmin(fmax(tall / p->height, least), 1.0) * w->scales.body;
    p->width *= scale;
    p->height *= scale;
}

/* Drawings that follow each other, side by side while there is room. Returns the index behind them. */
static size_t drawings(writer *w, size_t at)
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
        shrink(w, &p, x == w->left ? w->y : bottom(w));
        PangoLayout *caption = set(w, part[i].words, SMALL_SIZE, false, p.room);
        const double height = p.height + (part[i].words[0] != '\0' ? high(caption) + 2.0 : 0.0);
        if (x > w->left && (x + p.room > w->left + w->room || w->y + height > bottom(w))) {
            w->y += row + w->gap;
            x = w->left;
            row = 0.0;
        }
        if (x == w->left) {
            need(w, height);
            x = w->left;
        }
        const RsvgRectangle place = {.x = x, .y = w->y, .width = p.width, .height = p.height};
        if (!rsvg_handle_render_document(p.handle, w->cr, &place, NULL))
            w->status = CH_E_RANGE;
        cairo_set_source_rgb(w->cr, 0.0, 0.0, 0.0);
        if (part[i].words[0] != '\0')
            put(w, caption, x, w->y + p.height + 2.0);
        g_object_unref(caption);
        g_object_unref(p.handle);
        x += p.room + 14.0;
        row = fmax(row, height);
    }
    w->y += row + w->gap;
    return i;
}

/* ---------------------------------------------------------------- the whole */

static const double ITEM_INDENT = 12.0;

static double item_height(const writer *w, const document_part *part)
{
    PangoLayout *words = set(w, part->words, BODY_SIZE, false, w->room - ITEM_INDENT);
    const double height = high(words);
    g_object_unref(words);
    return height;
}

/* What must stand on the same page as a heading. */
static double behind_heading(const writer *w, size_t next)
{
    if (next < w->document->count && w->document->part[next].kind == DOCUMENT_CAUTION)
        return fmin(cautions_height(w, next), bottom(w) - MARGIN - 30.0);
    const double first_lines = w->columns > 1 ? 16.0 : 42.0, most = bottom(w) - MARGIN - 30.0;
    if (next < w->document->count && w->document->part[next].kind == DOCUMENT_ITEM)
        return fmin(fmax(item_height(w, &w->document->part[next]), first_lines), most);
    if (next >= w->document->count || w->document->part[next].kind != DOCUMENT_DRAWING)
        return first_lines;
    picture p = picture_of(w, &w->document->part[next]);
    if (p.handle == NULL)
        return 14.0;
    shrink(w, &p, w->y + 30.0);
    g_object_unref(p.handle);
    return p.height + 14.0;
}

static void heading(writer *w, size_t at)
{
    need(w, 24.0 * w->scale + behind_heading(w, at + 1));
    if (w->y > w->top)
        w->y += w->columns > 1 ? 2.0 : 5.0;
    flow(w, w->document->part[at].words, HEADING_SIZE, true, 0.0);
    w->y += 2.0;
}

/* Its lines stay together: of what reads as one the end on another page is overlooked. One that is longer than a page goes on from page to page. */
static void item(writer *w, const document_part *part)
{
    PangoLayout *dot = set(w, "\xe2\x80\xa2", BODY_SIZE, false, 0.0);
    const double height = item_height(w, part);
    need(w, height < bottom(w) - MARGIN ? fmax(height, high(dot)) : high(dot));
    put(w, dot, w->left + 2.0, w->y);
    g_object_unref(dot);
    flow(w, part->words, BODY_SIZE, false, ITEM_INDENT);
    w->y += 1.2;
}

static size_t one(writer *w, size_t at)
{
    const document_part *part = &w->document->part[at];
    switch (part->kind) {
    case DOCUMENT_HEADING: heading(w, at); break;
    case DOCUMENT_PARAGRAPH:
        flow(w, part->words, BODY_SIZE, false, 0.0);
        w->y += w->gap;
        break;
    case DOCUMENT_ITEM: item(w, part); break;
    case DOCUMENT_TICK: tick(w, part); break;
    case DOCUMENT_BOXES: boxes(w, part); break;
    case DOCUMENT_COLUMNS: columns(w, part->two); break;
    case DOCUMENT_OUTCOME: outcome(w, part); break;
    case DOCUMENT_CAUTION: caution(w, at); break;
    case DOCUMENT_DRAWING: return drawings(w, at);
    case DOCUMENT_NEW_PAGE:
        if (w->y > MARGIN)
            new_page(w);
        break;
    case DOCUMENT_TABLE: return table(w, at);
    case DOCUMENT_ROW: break; /* drawn with its table */
    }
    return at + 1;
}

/* Lay it out on a surface; the pages are counted into *pages, which the feet show as it came in. */
static ch_status lay_out(const ch_document *document, cairo_surface_t *surface, double width, double height,
                         scales chosen, int *pages)
{
    writer w = {.document = document, .cr = cairo_create(surface), .width = width, .height = height, .scales = chosen};
    w.y = w.deepest = MARGIN;
    columns(&w, false);
    w.page = 1;
    w.pages = *pages;
    flow(&w, document->title, TITLE_SIZE, true, 0.0);
    if (document->under[0] != '\0')
        flow(&w, document->under, BODY_SIZE, false, 0.0);
    w.y += w.gap;
    for (size_t i = 0; i < document->count && w.status == CH_OK && cairo_status(w.cr) == CAIRO_STATUS_SUCCESS;)
        i = one(&w, i);
    foot(&w);
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

static ch_status to_surface(const ch_document *document, ch_paper paper, ch_date made, scales chosen,
                            cairo_write_func_t to, void *closure, int *pages)
{
    static const double SIZE[][2] = {
        [CH_PAPER_A4] = {210.0 / 25.4 * 72.0, 297.0 / 25.4 * 72.0}, [CH_PAPER_LETTER] = {8.5 * 72.0, 11.0 * 72.0}};
    char day[16], stamp[48];
    ch_date_format(made, day, sizeof day);
    snprintf(stamp, sizeof stamp, "%sT00:00:00Z", day);
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(to, closure, SIZE[paper][0], SIZE[paper][1]);
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
            to_surface(document, paper, made, (scales){SCALE[i], COLUMN_SCALE[0]}, to_nothing, NULL, &pages);
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
        rc = to_surface(document, paper, made, (scales){body, COLUMN_SCALE[at]}, to_nothing, NULL, &pages);
    while (rc == CH_OK && has_columns(document) && at > 0) {
        int larger = 0;
        rc = to_surface(document, paper, made, (scales){body, COLUMN_SCALE[at - 1]}, to_nothing, NULL, &larger);
        if (larger > pages)
            break;
        pages = larger;
        at--;
    }
    if (rc == CH_OK)
        rc = to_surface(document, paper, made, (scales){body, COLUMN_SCALE[at]}, to_text, pdf, &pages);
    if (rc == CH_E_RANGE)
        return ch_fail(err, rc, "SVG with a width and a height", "a drawing of the document cannot be read");
    if (pdf->status != CH_OK)
        return ch_text_check(pdf, err);
    return rc == CH_OK ? CH_OK : ch_fail(err, rc, NULL, "the PDF could not be written: no memory");
}
