/* What a document is made of. Private to show: the builder fills it, the writers of HTML and PDF read it. */
#ifndef CROSSHATCH_SHOW_DOCUMENT_PARTS_H
#define CROSSHATCH_SHOW_DOCUMENT_PARTS_H

#include "crosshatch/document.h"

typedef enum document_kind {
    DOCUMENT_HEADING,
    DOCUMENT_PARAGRAPH,
    DOCUMENT_ITEM,
    DOCUMENT_TICK,
    DOCUMENT_BOXES,
    DOCUMENT_COLUMNS,
    DOCUMENT_OUTCOME,
    DOCUMENT_CAUTION,
    DOCUMENT_DRAWING,
    DOCUMENT_NEW_PAGE,
    DOCUMENT_TABLE,
    DOCUMENT_ROW
} document_kind;

/* All strings lie in the document's memory. Missing ones are "". */
typedef struct document_part {
    document_kind kind;
    const char *words; /* HEADING, PARAGRAPH, ITEM, TICK, BOXES, OUTCOME; CAUTION: hazard; DRAWING, TABLE: caption */
    const char *more;  /* TICK, BOXES: more; OUTCOME: its word; CAUTION: consequence and precaution; DRAWING: its SVG */
    const char *boxes; /* BOXES */
    const char *line;  /* CAUTION: all of it in one line, its signal word first */
    bool two;          /* COLUMNS: they begin here; else they end */
    size_t length;     /* DRAWING: bytes of SVG */
    ch_signal_word signal;
    size_t columns;           /* TABLE, ROW */
    const char *const *cells; /* TABLE: its head; ROW */
    const bool *numbers;      /* TABLE; of its rows too */
} document_part;

typedef struct document_block {
    struct document_block *next;
    char bytes[];
} document_block;

struct ch_document {
    const char *title, *under, *foot;
    const char *head; /* title and what stands under it, in one line */
    document_part *part;
    size_t count, capacity;
    size_t table; /* index of the table begun last; `count` or more = none */
    document_block *blocks;
    int pages_wanted; /* at most, where smaller letters do it; 0 = as many as it takes */
    ch_status status;
};

#endif
