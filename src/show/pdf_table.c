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
    pdf_element(w, "TR");
    for (size_t c = 0; c < part->columns; c++) {
        pdf_element(w, head ? "TH" : "TD");
        pdf_put(w, cell[c], x, w->y + 1.5);
        pdf_element_end(w);
        x += width[c];
        g_object_unref(cell[c]);
    }
    pdf_element_end(w);
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

/* Rows that stand together at a table's beginning and end: a single one is overlooked, or read without its head. */
enum { ROWS_TOGETHER = 3 };

static size_t rows_of(const ch_document *document, size_t table)
{
    size_t rows = 0;
    while (table + 1 + rows < document->count && document->part[table + 1 + rows].kind == DOCUMENT_ROW)
        rows++;
    return rows;
}

static double rows_height(const pdf_writer *w, size_t first, size_t rows, const double width[])
{
    double height = 0.0;
    for (size_t i = first; i < first + rows; i++)
        height += row_height(w, &w->document->part[i], false, width);
    return height;
}

static double page_height(const pdf_writer *w)
{
    return pdf_bottom(w) - PDF_MARGIN;
}

/* Caption, head, and the rows that are not torn from them: all where there are few, as far as one page has room. */
static double least_height(const pdf_writer *w, size_t at, const double width[])
{
    const document_part *part = &w->document->part[at];
    const double caption = 16.0 * w->scale, head = row_height(w, part, true, width);
    size_t rows = rows_of(w->document, at);
    if (rows > 2 * ROWS_TOGETHER)
        rows = ROWS_TOGETHER;
    while (rows > 1 && caption + head + rows_height(w, at + 1, rows, width) > page_height(w))
        rows--;
    return caption + head + rows_height(w, at + 1, rows, width);
}

double pdf_table_least(const pdf_writer *w, size_t at)
{
    double width[CH_DOCUMENT_COLUMNS_MAX];
    column_widths(w, at, width);
    return least_height(w, at, width);
}

/* Its caption, which names what its head does not (the unit of all its figures), and its head. */
static void begin(pdf_writer *w, const document_part *part, bool again, const double width[])
{
    if (part->words[0] != '\0')
        pdf_flow(w, "P", part->words, PDF_BODY_SIZE, true, 0.0);
    if (part->words[0] != '\0' && again)
        pdf_flow(w, "P", "(goes on from the page before)", PDF_SMALL_SIZE, false, 0.0);
    pdf_element(w, "Table");
    cells(w, part, true, width);
}

size_t pdf_table(pdf_writer *w, size_t at)
{
    const document_part *part = w->document->part;
    const size_t end = at + 1 + rows_of(w->document, at);
    double width[CH_DOCUMENT_COLUMNS_MAX];
    column_widths(w, at, width);
    pdf_need(w, least_height(w, at, width));
    begin(w, &part[at], false, width);
    size_t on_page = 0;
    for (size_t i = at + 1; i < end; i++) {
        const bool last_ones = end - i == ROWS_TOGETHER && on_page >= ROWS_TOGETHER;
        const double rows = rows_height(w, i, last_ones ? ROWS_TOGETHER : 1, width);
        if (on_page > 0 && w->y + rows > pdf_bottom(w)) {
            pdf_element_end(w);
            pdf_new_page(w);
            begin(w, &part[at], true, width);
            on_page = 0;
        }
        cells(w, &part[i], false, width);
        on_page++;
    }
    pdf_element_end(w);
    w->y += w->gap;
    return end;
}
