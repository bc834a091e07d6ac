/* What a document says beside its paragraphs: items, its outcome, cautions, boxes to tick. None is torn between two pages where one has room for it. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "pdf_page.h"

static const double OUTCOME_SIZE = 14.0, LETTER_SIZE = 6.5;

static const double ITEM_INDENT = 12.0;

double pdf_item_height(const pdf_writer *w, const document_part *part)
{
    PangoLayout *words = pdf_set(w, part->words, PDF_BODY_SIZE, false, w->room - ITEM_INDENT);
    const double height = pdf_high(words);
    g_object_unref(words);
    return height;
}

/* Its lines stay together: of what reads as one the end on another page is overlooked. One that is longer than a page goes on from page to page. */
void pdf_item(pdf_writer *w, const document_part *part, bool first, bool last)
{
    PangoLayout *dot = pdf_set(w, "\xe2\x80\xa2", PDF_BODY_SIZE, false, 0.0);
    const double height = pdf_item_height(w, part);
    pdf_need(w, height < pdf_bottom(w) - PDF_MARGIN ? fmax(height, pdf_high(dot)) : pdf_high(dot));
    if (first)
        pdf_element(w, "L");
    pdf_element(w, "LI");
    pdf_put(w, dot, w->left + 2.0, w->y);
    g_object_unref(dot);
    pdf_flow(w, "LBody", part->words, PDF_BODY_SIZE, false, ITEM_INDENT);
    pdf_element_end(w);
    if (last)
        pdf_element_end(w);
    w->y += 1.2;
}

void pdf_outcome(pdf_writer *w, const document_part *part)
{
    const double inside = 8.0, room = w->room - 2.0 * inside;
    PangoLayout *word = pdf_set(w, part->more, OUTCOME_SIZE, true, room);
    PangoLayout *words = pdf_set(w, part->words, PDF_BODY_SIZE, false, room);
    const double height = pdf_high(word) + pdf_high(words) + 2.0 * inside;
    pdf_need(w, height);
    pdf_bookmark(w, part->more);
    pdf_frame(w, w->left, w->y, w->room, height, 1.5);
    pdf_element(w, "P");
    pdf_put(w, word, w->left + inside, w->y + inside);
    pdf_put(w, words, w->left + inside, w->y + inside + pdf_high(word));
    pdf_element_end(w);
    w->y += height + w->gap;
    g_object_unref(word);
    g_object_unref(words);
}

/* Its signal word and the rest of it, to be unreferenced; how far the rest stands from the left, how far all of it from the frame, and how high it all is. */
typedef struct caution_set {
    PangoLayout *word, *rest;
    double left, inside, bar, height;
} caution_set;

/* In a narrow column the words begin behind the signal word, in a wide one beside it. */
static caution_set set_caution(const pdf_writer *w, const document_part *part)
{
    const bool narrow = w->columns > 1;
    const char *signal = ch_signal_word_name(part->signal);
    caution_set c = {.word = pdf_set(w, narrow ? "" : signal, PDF_BODY_SIZE, true, 0.0),
                     .inside = narrow ? 2.0 : 3.5,
                     .bar = narrow ? 3.0 : 5.0};
    c.left = c.bar + c.inside + (narrow ? 0.0 : fmax(pdf_wide(c.word), 58.0) + 6.0);
    const char *said = part->line + (narrow ? 0 : strlen(signal) + strspn(part->line + strlen(signal), " "));
    c.rest = pdf_set(w, said, narrow ? PDF_SMALL_SIZE : PDF_BODY_SIZE, false, w->room - c.left - c.inside);
    if (narrow)
        pdf_attribute(c.rest, pango_attr_weight_new(PANGO_WEIGHT_BOLD), 0, strlen(signal));
    c.height = fmax(narrow ? 0.0 : pdf_high(c.word), pdf_high(c.rest)) + 2.0 * c.inside;
    return c;
}

/* A box to tick with its words, to be unreferenced, and how high it all is. */
typedef struct tick_set {
    PangoLayout *words, *more;
    double box, left, below, height;
} tick_set;

static tick_set set_tick(const pdf_writer *w, const document_part *part)
{
    tick_set t = {.box = 10.0 * w->scale};
    t.left = t.box + 8.0;
    t.words = pdf_set(w, part->words, PDF_BODY_SIZE, false, w->room - t.left);
    t.more = pdf_set(w, part->more, PDF_SMALL_SIZE, false, w->room - t.left);
    t.below = part->more[0] != '\0' ? pdf_high(t.more) : 0.0;
    t.height = fmax(t.box + 2.0, pdf_high(t.words) + t.below);
    return t;
}

double pdf_tick_height(const pdf_writer *w, const document_part *part)
{
    const tick_set t = set_tick(w, part);
    g_object_unref(t.words);
    g_object_unref(t.more);
    return t.height;
}

double pdf_cautions_height(const pdf_writer *w, size_t at)
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
    if (at < w->document->count && part[at].kind == DOCUMENT_TICK) /* not torn either */
        behind = fmax(behind, pdf_tick_height(w, &part[at]));
    return height + behind;
}

/* Between a step and the cautions of the next: they must not seem to belong to the step above them. */
static double apart_from_step(const pdf_writer *w, size_t at)
{
    const document_kind before = at > 0 ? w->document->part[at - 1].kind : DOCUMENT_HEADING;
    const bool step = before == DOCUMENT_ITEM || before == DOCUMENT_TICK || before == DOCUMENT_BOXES;
    return !step ? 0.0 : w->columns > 1 ? 2.0 : 6.0;
}

void pdf_caution(pdf_writer *w, size_t at)
{
    const document_part *part = &w->document->part[at];
    const bool first = at == 0 || part[-1].kind != DOCUMENT_CAUTION;
    const double apart = apart_from_step(w, at);
    const caution_set c = set_caution(w, part);
    const double together = first ? pdf_cautions_height(w, at) : 0.0;
    pdf_need(w, apart + (together < pdf_bottom(w) - PDF_MARGIN ? fmax(together, c.height) : c.height));
    if (w->y > w->top)
        w->y += apart;
    pdf_frame(w, w->left, w->y, w->room, c.height, w->columns > 1 ? 0.6 : 1.0);
    cairo_rectangle(w->cr, w->left, w->y, c.bar, c.height);
    cairo_fill(w->cr);
    pdf_element(w, "P");
    pdf_put(w, c.word, w->left + c.bar + c.inside, w->y + c.inside);
    pdf_put(w, c.rest, w->left + c.left, w->y + c.inside);
    pdf_element_end(w);
    w->y += c.height + w->gap;
    g_object_unref(c.word);
    g_object_unref(c.rest);
}

void pdf_tick(pdf_writer *w, const document_part *part)
{
    const tick_set t = set_tick(w, part);
    const bool fits = t.height <= pdf_bottom(w) - PDF_MARGIN;
    pdf_need(w, fits ? t.height : t.box);
    const double least = w->y + t.box + 2.0;
    const int page = w->page, column = w->column;
    pdf_frame(w, w->left + 0.5, w->y + 1.5, t.box, t.box, 1.0);
    pdf_flow(w, "P", part->words, PDF_BODY_SIZE, false, t.left);
    if (t.below > 0.0)
        pdf_flow(w, "P", part->more, PDF_SMALL_SIZE, false, t.left);
    if (w->page == page && w->column == column)
        w->y = fmax(w->y, least);
    w->y += w->gap;
    g_object_unref(t.words);
    g_object_unref(t.more);
}

static const double BOX = 9.5, BOX_APART = 1.5, BOXES_BETWEEN = 3.0;

/* Boxes with their words, to be unreferenced: how wide the boxes are, and how high the words are beside and below them. */
typedef struct boxes_set {
    PangoLayout *words, *more;
    double side, above, below;
} boxes_set;

static boxes_set set_boxes(const pdf_writer *w, const document_part *part)
{
    boxes_set b = {.side = 0.0};
    for (const char *at = part->boxes; *at != '\0'; at++)
        b.side += *at == ' ' ? BOXES_BETWEEN : BOX + BOX_APART;
    b.words = pdf_set(w, part->words, PDF_BODY_SIZE, false, w->room - b.side - 4.0);
    /* What does not need the room beside the boxes goes under them as well. */
    b.more = pdf_set(w, part->more, PDF_SMALL_SIZE, false, w->room);
    b.above = fmax(pdf_high(b.words), BOX + 1.0);
    b.below = part->more[0] != '\0' ? pdf_high(b.more) : 0.0;
    return b;
}

double pdf_boxes_height(const pdf_writer *w, const document_part *part)
{
    const boxes_set b = set_boxes(w, part);
    g_object_unref(b.words);
    g_object_unref(b.more);
    return b.above + b.below;
}

/* Boxes stand at the right edge, each with its character in it, so that the words begin in one line. */
void pdf_boxes(pdf_writer *w, const document_part *part)
{
    const boxes_set b = set_boxes(w, part);
    pdf_need(w, b.above + b.below);
    pdf_element(w, "P");
    pdf_put(w, b.words, w->left, w->y);
    if (b.below > 0.0)
        pdf_put(w, b.more, w->left, w->y + b.above);
    double x = w->left + w->room - b.side;
    for (const char *at = part->boxes; *at != '\0'; at++) {
        if (*at == ' ') {
            x += BOXES_BETWEEN;
            continue;
        }
        const char letter[2] = {*at, '\0'};
        PangoLayout *inside = pdf_set(w, letter, LETTER_SIZE, false, 0.0);
        pdf_frame(w, x, w->y + 0.5, BOX, BOX, 0.6);
        pdf_put(w, inside, x + (BOX - pdf_wide(inside)) / 2.0, w->y + 0.5 + (BOX - pdf_high(inside)) / 2.0);
        g_object_unref(inside);
        x += BOX + BOX_APART;
    }
    pdf_element_end(w);
    w->y += b.above + b.below + w->gap;
    g_object_unref(b.words);
    g_object_unref(b.more);
}
