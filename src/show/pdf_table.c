/* A document's tables on paper: columns as wide as they need, the head again on every page. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "pdf_page.h"

/* Of the longest word: a table's head may be broken between words, its rows are not while there is room. */
static double longest_word(const pdf_writer *w, const char *words)
{
    double longest = 0.0;
    for (const char *at = words; *at != '\0';) {
        char word[64];
        const size_t length = strcspn(at, " ");
        snprintf(word, sizeof word, "%.*s", (int)length, at);
        PangoLayout *one_word = pdf_set(w, word, PDF_BODY_SIZE, true, 0.0);
        longest = fmax(longest, pdf_wide(one_word));
        g_object_unref(one_word);
        at += length;
        at += strspn(at, " ");
    }
    return longest;
}

/* Columns as wide as their widest cell; where that is too much, narrow ones keep what they need and wide ones share the rest. */
static void column_widths(const pdf_writer *w, size_t table, double width[CH_DOCUMENT_COLUMNS_MAX])
{
    const document_part *part = w->document->part;
    const size_t columns = part[table].columns;
    const double pad = 9.0;
    for (size_t c = 0; c < columns; c++)
        width[c] = longest_word(w, part[table].cells[c]) + pad;
    for (size_t i = table + 1; i < w->document->count && part[i].kind == DOCUMENT_ROW; i++) {
        for (size_t c = 0; c < columns; c++) {
            PangoLayout *cell = pdf_set(w, part[i].cells[c], PDF_BODY_SIZE, false, 0.0);
            width[c] = fmax(width[c], pdf_wide(cell) + pad);
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
        PangoLayout *head = pdf_set(w, part[table].cells[c], PDF_BODY_SIZE, true, 0.0);
        const double more = pdf_wide(head) + pad - width[c];
        g_object_unref(head);
        if (more <= 0.0 || more > room)
            continue;
        width[c] += more;
        room -= more;
    }
}

static void cells(pdf_writer *w, const document_part *part, bool head, const double width[])
{
    PangoLayout *cell[CH_DOCUMENT_COLUMNS_MAX];
    double height = 0.0, x = w->left;
    for (size_t c = 0; c < part->columns; c++) {
        cell[c] = pdf_set(w, part->cells[c], PDF_BODY_SIZE, head, width[c] - 9.0);
        pango_layout_set_alignment(cell[c], part->numbers[c] ? PANGO_ALIGN_RIGHT : PANGO_ALIGN_LEFT);
        height = fmax(height, pdf_high(cell[c]));
    }
    for (size_t c = 0; c < part->columns; c++) {
        pdf_put(w, cell[c], x, w->y + 1.5);
        x += width[c];
        g_object_unref(cell[c]);
    }
    w->y += height + 3.0;
    pdf_rule(w, w->left, w->y, x - w->left, head ? 1.0 : 0.3);
    w->y += 0.5;
}

static double row_height(const pdf_writer *w, const document_part *part, bool head, const double width[])
{
    double height = 0.0;
    for (size_t c = 0; c < part->columns; c++) {
        PangoLayout *cell = pdf_set(w, part->cells[c], PDF_BODY_SIZE, head, width[c] - 9.0);
        height = fmax(height, pdf_high(cell));
        g_object_unref(cell);
    }
    return height + 3.5;
}

size_t pdf_table(pdf_writer *w, size_t at)
{
    const document_part *part = w->document->part;
    double width[CH_DOCUMENT_COLUMNS_MAX];
    column_widths(w, at, width);
    const double head = row_height(w, &part[at], true, width);
    const bool rows = at + 1 < w->document->count && part[at + 1].kind == DOCUMENT_ROW;
    pdf_need(w, 16.0 + head + (rows ? row_height(w, &part[at + 1], false, width) : 0.0));
    if (part[at].words[0] != '\0')
        pdf_flow(w, part[at].words, PDF_BODY_SIZE, true, 0.0);
    cells(w, &part[at], true, width);
    size_t i = at + 1;
    for (; i < w->document->count && part[i].kind == DOCUMENT_ROW; i++) {
        if (w->y + row_height(w, &part[i], false, width) > pdf_bottom(w)) {
            pdf_new_page(w);
            cells(w, &part[at], true, width);
        }
        cells(w, &part[i], false, width);
    }
    w->y += w->gap;
    return i;
}
