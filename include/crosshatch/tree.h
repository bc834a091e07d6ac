/**
 * @file tree.h
 * A document as people and programs write it, YAML 1.2 or JSON, as a tree of text with the place of every part.
 *
 * Scalars stay text: `178`, `"178"` and `178 psi` are what was typed, so that whoever knows the field decides what they mean. What a
 * data file never needs is refused, with its place: anchors and aliases (a few lines of them unfold to gigabytes), tags, several
 * documents, keys that are not plain text, the same key twice. Nothing is printed, no file is opened.
 * Sources: YAML 1.2.2 (2021), RFC 8259 (JSON), RFC 3629 (UTF-8).
 */
#ifndef CROSSHATCH_TREE_H
#define CROSSHATCH_TREE_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/status.h"

enum {
    CH_TREE_BYTES_MAX = 4 * 1024 * 1024, /* of text */
    CH_TREE_DEPTH_MAX = 16,              /* lists and maps inside each other */
    CH_TREE_NODES_MAX = 250000           /* parts of a document */
};

typedef enum ch_tree_kind { CH_TREE_TEXT, CH_TREE_LIST, CH_TREE_MAP } ch_tree_kind;

/** One part of a document. All pointers live as long as the tree. */
typedef struct ch_tree_node {
    ch_tree_kind kind;
    bool quoted;      /* TEXT: written in quotes or as a block; else an empty text or `null` means "no value" */
    const char *text; /* TEXT: `length` bytes of UTF-8 and a NUL; an escape may put a NUL inside */
    size_t length;
    long line, column;                /* 1-based; columns count characters */
    size_t count;                     /* LIST, MAP: number of parts */
    const struct ch_tree_node *first; /* LIST, MAP: first part, in the order of the text */
    const struct ch_tree_node *next;  /* the part after this one */
    const char *key;                  /* inside a MAP: its key, `key_length` bytes and a NUL */
    size_t key_length;
    long key_line, key_column;
} ch_tree_node;

typedef struct ch_tree ch_tree;

/**
 * Read one document.
 *
 * @param name   Shown in messages, usually the file's name. If it ends in `.json`, the text must be JSON and nothing laxer.
 * @param text   `length` bytes; a UTF-8 byte-order mark is skipped; LF, CR LF and CR end a line.
 * @param length Bytes of `text`; need not end in NUL.
 * @param tree   (out) The caller frees it with ch_tree_free(). Untouched on failure.
 *
 * @retval CH_E_INPUT  With line and column: empty, a NUL or another control character (binary), not UTF-8, not YAML or JSON, or one of
 *                     the things listed above.
 * @retval CH_E_LIMIT  More than CH_TREE_BYTES_MAX, CH_TREE_DEPTH_MAX or CH_TREE_NODES_MAX.
 * @retval CH_E_MEMORY
 */
ch_status ch_tree_parse(const char *name, const char *text, size_t length, ch_tree **tree, ch_err *err);

/** True where a document of this name must be JSON: it ends in `.json`, upper or lower case. NULL is no such name. */
bool ch_tree_is_json(const char *name);

/** The outermost part; never NULL. */
const ch_tree_node *ch_tree_root(const ch_tree *tree);

/** Fine on NULL. */
void ch_tree_free(ch_tree *tree);

/** The part of a map with this key, or NULL; also NULL where `map` is not a map. */
const ch_tree_node *ch_tree_get(const ch_tree_node *map, const char *key);

/** True for a text part that holds no value: nothing after the colon, `null` or `~`. */
bool ch_tree_is_null(const ch_tree_node *node);

#endif
