/*
 * Builds a document: a list of parts and the memory of their texts.
 * 1. After a failure nothing is added. 2. A row has as many cells as the table before it.
 */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "document_parts.h"

static void failed(ch_document *document, ch_status status)
{
    if (document->status == CH_OK)
        document->status = status;
}

/* Memory that lives as long as the document; NULL after a failure. */
static void *take(ch_document *document, size_t size)
{
    if (document->status != CH_OK)
        return NULL;
    document_block *block = malloc(sizeof *block + size);
    if (block == NULL) {
        failed(document, CH_E_MEMORY);
        return NULL;
    }
    block->next = document->blocks;
    document->blocks = block;
    return block->bytes;
}

/* Line feeds and tabs are spaces on paper; other control characters, and bytes that are not UTF-8, are shown as U+FFFD. */
static size_t printable(const char *text, char *to)
{
    static const char REPLACEMENT[] = "\xef\xbf\xbd";
    size_t used = 0;
    for (size_t i = 0, length = strlen(text); i < length;) {
        const size_t n = ch_utf8_length(text + i, length - i);
        const unsigned char first = (unsigned char)text[i];
        const bool control =
            n == 1 ? first < 0x20 || first == 0x7f : n == 2 && first == 0xc2 && (unsigned char)text[i + 1] < 0xa0;
        const char *from = text + i;
        size_t size = n;
        if (n == 1 && (first == '\n' || first == '\t' || first == '\r')) {
            from = " ";
        } else if (n == 0 || control) {
            from = REPLACEMENT;
            size = sizeof REPLACEMENT - 1;
        }
        if (to != NULL)
            memcpy(to + used, from, size);
        used += size;
        i += n > 0 ? n : 1;
    }
    return used;
}

static const char *keep(ch_document *document, const char *text)
{
    if (text == NULL || text[0] == '\0')
        return "";
    const size_t length = printable(text, NULL);
    char *copy = take(document, length + 1);
    if (copy == NULL)
        return "";
    printable(text, copy);
    copy[length] = '\0';
    return copy;
}

/* Those that say something, one behind the other. */
static const char *keep_joined(ch_document *document, const char *between, const char *const texts[], size_t count)
{
    ch_text joined;
    ch_text_init(&joined, CH_DOCUMENT_BYTES_MAX);
    for (size_t i = 0; i < count; i++) {
        if (texts[i] == NULL || texts[i][0] == '\0')
            continue;
        if (joined.length > 0)
            ch_text_append_string(&joined, between);
        ch_text_append_string(&joined, texts[i]);
    }
    if (joined.status != CH_OK)
        failed(document, joined.status);
    const char *kept = keep(document, ch_text_string(&joined));
    ch_text_clear(&joined);
    return kept;
}

static const char *const *keep_cells(ch_document *document, size_t columns, const char *const cells[])
{
    const char **copy = take(document, columns * sizeof *copy);
    for (size_t c = 0; copy != NULL && c < columns; c++)
        copy[c] = keep(document, cells[c]);
    return copy;
}

static void add(ch_document *document, document_part part)
{
    if (document->status != CH_OK)
        return;
    if (document->count == CH_DOCUMENT_PARTS_MAX) {
        failed(document, CH_E_LIMIT);
        return;
    }
    if (document->count == document->capacity) {
        const size_t capacity = document->capacity == 0 ? 32 : 2 * document->capacity;
        document_part *grown = realloc(document->part, capacity * sizeof *grown);
        if (grown == NULL) {
            failed(document, CH_E_MEMORY);
            return;
        }
        document->part = grown;
        document->capacity = capacity;
    }
    document->part[document->count++] = part;
}

ch_status ch_document_new(const char *title, const char *under, const char *foot, ch_document **document, ch_err *err)
{
    ch_document *made = calloc(1, sizeof *made);
    if (made == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a document");
    made->table = SIZE_MAX;
    made->title = keep(made, title);
    made->under = keep(made, under);
    made->foot = keep(made, foot);
    made->head = keep_joined(made, " \xc2\xb7 ", (const char *const[]){title, under}, 2);
    const ch_status rc = ch_document_check(made, err);
    if (rc < 0) {
        ch_document_free(made);
        return rc;
    }
    *document = made;
    return CH_OK;
}

void ch_document_free(ch_document *document)
{
    if (document == NULL)
        return;
    while (document->blocks != NULL) {
        document_block *next = document->blocks->next;
        free(document->blocks);
        document->blocks = next;
    }
    free(document->part);
    free(document);
}

void ch_document_heading(ch_document *document, const char *words)
{
    add(document, (document_part){.kind = DOCUMENT_HEADING, .words = keep(document, words), .more = ""});
}

void ch_document_paragraph(ch_document *document, const char *words)
{
    add(document, (document_part){.kind = DOCUMENT_PARAGRAPH, .words = keep(document, words), .more = ""});
}

void ch_document_item(ch_document *document, const char *words)
{
    add(document, (document_part){.kind = DOCUMENT_ITEM, .words = keep(document, words), .more = ""});
}

void ch_document_tick(ch_document *document, const char *words, const char *more)
{
    add(document, (document_part){.kind = DOCUMENT_TICK, .words = keep(document, words), .more = keep(document, more)});
}

void ch_document_boxes(ch_document *document, const char *boxes, const char *words, const char *more)
{
    enum { BOXES_MAX = 24 };
    const size_t length = strlen(boxes);
    if (length > BOXES_MAX)
        failed(document, CH_E_LIMIT);
    for (size_t i = 0; i < length; i++)
        if (boxes[i] < 0x20 || boxes[i] > 0x7e)
            failed(document, CH_E_RANGE);
    add(document, (document_part){.kind = DOCUMENT_BOXES,
                                  .words = keep(document, words),
                                  .more = keep(document, more),
                                  .boxes = keep(document, boxes)});
}

void ch_document_pages(ch_document *document, int most)
{
    document->pages_wanted = most;
}

void ch_document_columns(ch_document *document, bool two)
{
    add(document, (document_part){.kind = DOCUMENT_COLUMNS, .words = "", .more = "", .two = two});
}

void ch_document_outcome(ch_document *document, const char *word, const char *words)
{
    add(document,
        (document_part){.kind = DOCUMENT_OUTCOME, .words = keep(document, words), .more = keep(document, word)});
}

void ch_document_caution(ch_document *document, ch_signal_word word, const char *hazard, const char *consequence,
                         const char *precaution)
{
    const char *const rest[] = {consequence, precaution};
    const char *const all[] = {ch_signal_word_name(word), hazard, consequence, precaution};
    add(document, (document_part){.kind = DOCUMENT_CAUTION,
                                  .signal = word,
                                  .words = keep(document, hazard),
                                  .more = keep_joined(document, " ", rest, sizeof rest / sizeof rest[0]),
                                  .line = keep_joined(document, " ", all, sizeof all / sizeof all[0])});
}

void ch_document_drawing(ch_document *document, const ch_svg *svg, const char *caption)
{
    if (svg->text.status != CH_OK)
        failed(document, svg->text.status);
    /* The drawing's own writer has escaped what is in it, so it is kept as it is. */
    char *copy = take(document, svg->text.length + 1);
    if (copy == NULL)
        return;
    memcpy(copy, ch_text_string(&svg->text), svg->text.length + 1);
    add(document,
        (document_part){
            .kind = DOCUMENT_DRAWING, .words = keep(document, caption), .more = copy, .length = svg->text.length});
}

void ch_document_new_page(ch_document *document)
{
    add(document, (document_part){.kind = DOCUMENT_NEW_PAGE, .words = "", .more = ""});
}

void ch_document_table(ch_document *document, const char *caption, size_t columns, const char *const head[],
                       const bool numbers[])
{
    if (columns == 0 || columns > CH_DOCUMENT_COLUMNS_MAX) {
        failed(document, CH_E_RANGE);
        return;
    }
    bool *flags = take(document, columns * sizeof *flags);
    if (flags == NULL)
        return;
    memcpy(flags, numbers, columns * sizeof *flags);
    document->table = document->count;
    add(document, (document_part){.kind = DOCUMENT_TABLE,
                                  .words = keep(document, caption),
                                  .more = "",
                                  .columns = columns,
                                  .cells = keep_cells(document, columns, head),
                                  .numbers = flags});
}

void ch_document_row(ch_document *document, const char *const cells[])
{
    if (document->status != CH_OK)
        return;
    if (document->table >= document->count ||
        (document->part[document->count - 1].kind != DOCUMENT_ROW && document->table != document->count - 1)) {
        failed(document, CH_E_RANGE);
        return;
    }
    const document_part *table = &document->part[document->table];
    add(document, (document_part){.kind = DOCUMENT_ROW,
                                  .words = "",
                                  .more = "",
                                  .columns = table->columns,
                                  .cells = keep_cells(document, table->columns, cells),
                                  .numbers = table->numbers});
}

ch_status ch_document_check(const ch_document *document, ch_err *err)
{
    switch (document->status) {
    case CH_OK: return CH_OK;
    case CH_E_LIMIT: return ch_fail(err, CH_E_LIMIT, "fewer rows", "the document has too many parts");
    case CH_E_MEMORY: return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a document");
    default:
        return ch_fail(err, document->status, "rows right behind their table, plain letters in boxes",
                       "a row of a table that is not there, or a box that is none");
    }
}
