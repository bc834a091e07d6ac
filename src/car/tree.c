/*
 * A YAML or JSON document as a tree of text with places.
 *
 * libfyaml's events are turned into our own nodes, because at the events every unwanted thing (an alias, a tag, the 17th level) can be
 * refused the moment it appears, before anything is unfolded. Invariants:
 *  1. Text is checked to be UTF-8 without control characters before libfyaml sees it.
 *  2. Everything a tree owns lies in its blocks; freeing the blocks frees the tree.
 *  3. libfyaml prints nothing: its diagnostics are collected, and the first error becomes ours.
 */
#include "crosshatch/tree.h"

#include <libfyaml.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "crosshatch/text.h"
#include "folded.h"
#include "quoted.h"

enum { BLOCK_BYTES = 16 * 1024 };

typedef struct block {
    struct block *next;
    size_t used, size;
    max_align_t bytes[];
} block;

struct ch_tree {
    block *blocks;
    ch_tree_node *root;
};

/* A place in the text; moving it forward costs only the bytes in between. */
typedef struct cursor {
    size_t offset;
    long line, column;
} cursor;

/* A list or map that is still open. */
typedef struct level {
    ch_tree_node *node;
    ch_tree_node *last;
    bool has_key; /* a map whose key has been read and whose value comes next */
    const char *key;
    size_t key_length, key_offset;
    long key_line, key_column;
} level;

typedef struct builder {
    const char *name;
    const char *text;
    size_t length;
    bool json;
    ch_tree *tree;
    cursor at;
    size_t nodes;
    size_t end; /* offset behind the last event */
    size_t documents;
    size_t depth;
    level levels[CH_TREE_DEPTH_MAX];
    ch_err *err;
} builder;

bool ch_tree_is_json(const char *name)
{
    const size_t length = name != NULL ? strlen(name) : 0;
    return length >= 5 && strcasecmp(name + length - 5, ".json") == 0;
}

/* Move to `offset`, counting lines (LF, CR LF, CR) and characters (bytes that do not continue one). */
static void cursor_move(cursor *at, const char *text, size_t length, size_t offset)
{
    if (offset > length)
        offset = length;
    if (offset < at->offset)
        *at = (cursor){0, 1, 1};
    for (; at->offset < offset; at->offset++) {
        const unsigned char c = (unsigned char)text[at->offset];
        if (c == '\n' || (c == '\r' && !(at->offset + 1 < length && text[at->offset + 1] == '\n'))) {
            at->line++;
            at->column = 1;
        } else if ((c & 0xC0) != 0x80) {
            at->column++;
        }
    }
}

static void place(builder *b, size_t offset)
{
    cursor_move(&b->at, b->text, b->length, offset);
}

static ch_status fail_here(builder *b, ch_status status, size_t offset, const char *right, const char *what)
{
    place(b, offset);
    ch_fail(b->err, status, right, "%s", what);
    ch_err_locate(b->err, b->name, b->at.line, b->at.column);
    return status;
}

/* `size` bytes that live as long as the tree; NULL where there is no memory. */
static void *tree_alloc(ch_tree *tree, size_t size)
{
    const size_t grain = sizeof(max_align_t);
    const size_t rounded = (size + grain - 1) / grain * grain;
    block *top = tree->blocks;
    if (top == NULL || top->size - top->used < rounded) {
        const size_t room = rounded > BLOCK_BYTES ? rounded : BLOCK_BYTES;
        top = malloc(sizeof *top + room);
        if (top == NULL)
            return NULL;
        top->next = tree->blocks;
        top->used = 0;
        top->size = room;
        tree->blocks = top;
    }
    void *bytes = (char *)top->bytes + top->used;
    top->used += rounded;
    return bytes;
}

static const char *tree_text(ch_tree *tree, const char *text, size_t length)
{
    char *copy = tree_alloc(tree, length + 1);
    if (copy == NULL)
        return NULL;
    if (length > 0)
        memcpy(copy, text, length);
    copy[length] = '\0';
    return copy;
}

static ch_status no_memory(builder *b)
{
    return ch_fail(b->err, CH_E_MEMORY, NULL, "no memory for the document");
}

/* The text inside the quotes whose first is at `offset`. */
static ch_status quoted_text(builder *b, size_t offset, const char **out, size_t *length)
{
    const char *from = b->text + offset + 1;
    const size_t inside = quoted_length(from, b->length - offset - 1, b->text[offset]);
    char *text = tree_alloc(b->tree, quoted_room(inside) + 1);
    if (text == NULL)
        return no_memory(b);
    if (!quoted_read(from, inside, b->text[offset], text, length))
        return fail_here(b, CH_E_INPUT, offset, "two \\u that belong together, at most U+10FFFF",
                         "an escape in the text is not a character");
    text[*length] = '\0';
    *out = text;
    return CH_OK;
}

/* The text of a folded block, whose header stands behind what was read last. */
static ch_status folded_text(builder *b, struct fy_token *token, size_t offset, const char **out, size_t *length)
{
    const size_t end = fy_token_end_mark(token)->input_pos;
    char *text = tree_alloc(b->tree, end - b->end + 2);
    if (text == NULL)
        return no_memory(b);
    if (!folded_read(b->text, end, b->end, text, length))
        return fail_here(b, CH_E_INPUT, offset, "the text in quotes, or > alone",
                         "a folded text that states its indentation");
    *out = text;
    return CH_OK;
}

/* The text of a scalar's token, for as long as the tree lives. */
static ch_status token_text(builder *b, struct fy_token *token, size_t offset, const char **out, size_t *length)
{
    const enum fy_scalar_style style = token != NULL ? fy_token_scalar_style(token) : FYSS_PLAIN;
    if (style == FYSS_SINGLE_QUOTED || style == FYSS_DOUBLE_QUOTED)
        return quoted_text(b, offset, out, length);
    if (style == FYSS_FOLDED)
        return folded_text(b, token, offset, out, length);
    const char *text = "";
    *length = 0;
    if (token != NULL)
        text = fy_token_get_text(token, length);
    *out = text != NULL ? tree_text(b->tree, text, *length) : NULL;
    return *out != NULL ? CH_OK : no_memory(b);
}

/* A question mark that may begin a key: ahead of a blank, `before` (the last byte ahead of it that is none; a line end at the start) being what such a key may
 * stand behind. */
static bool may_begin_key(const unsigned char *s, size_t length, size_t i, unsigned char before)
{
    return s[i] == '?' && (i + 1 == length || strchr(" \t\r\n", s[i + 1]) != NULL) &&
           strchr("\r\n-:?{[,", before) != NULL;
}

/*
 * Text it has to be. And libfyaml 0.7.12 follows a wild pointer where a key that a question mark begins has a tab behind its colon ("? x:<tab>>"): a text that
 * has both is refused, wherever they stand. None of our files needs such a key.
 */
static ch_status check_bytes(builder *b)
{
    const unsigned char *s = (const unsigned char *)b->text;
    size_t tab = SIZE_MAX;
    bool key = false;
    unsigned char before = '\n'; /* the last byte that is no blank */
    for (size_t i = 0; i < b->length;) {
        const size_t step = ch_utf8_length(b->text + i, b->length - i);
        if (step == 0) {
            char what[64];
            snprintf(what, sizeof what, "byte 0x%02X is not UTF-8", s[i]);
            return fail_here(b, CH_E_INPUT, i, "a text file, saved as UTF-8", what);
        }
        if (s[i] < 0x20 && s[i] != '\t' && s[i] != '\n' && s[i] != '\r') {
            char what[64];
            snprintf(what, sizeof what, "control character 0x%02X", s[i]);
            return fail_here(b, CH_E_INPUT, i, "a text file, saved as UTF-8", what);
        }
        key = key || may_begin_key(s, b->length, i, before);
        if (tab == SIZE_MAX && s[i] == '\t' && before == ':')
            tab = i;
        if (s[i] != ' ' && s[i] != '\t')
            before = s[i];
        i += step;
    }
    if (key && tab != SIZE_MAX && !b->json)
        return fail_here(b, CH_E_INPUT, tab, "a blank", "a tab behind a colon");
    return CH_OK;
}

/* A new part at `offset`, hung where the document stands. */
static ch_status add_node(builder *b, ch_tree_kind kind, size_t offset, ch_tree_node **out)
{
    if (++b->nodes > CH_TREE_NODES_MAX)
        return fail_here(b, CH_E_LIMIT, offset, "at most 250000 parts", "the document has too many parts");
    ch_tree_node *node = tree_alloc(b->tree, sizeof *node);
    if (node == NULL)
        return no_memory(b);
    memset(node, 0, sizeof *node);
    node->kind = kind;
    place(b, offset);
    node->line = b->at.line;
    node->column = b->at.column;
    if (b->depth == 0) {
        b->tree->root = node;
    } else {
        level *in = &b->levels[b->depth - 1];
        if (in->node->kind == CH_TREE_MAP) {
            node->key = in->key;
            node->key_length = in->key_length;
            node->key_line = in->key_line;
            node->key_column = in->key_column;
            in->has_key = false;
        }
        if (in->last == NULL)
            in->node->first = node;
        else
            in->last->next = node;
        in->last = node;
        in->node->count++;
    }
    *out = node;
    return CH_OK;
}

/* True where the next scalar is a key. */
static bool expects_key(const builder *b)
{
    return b->depth > 0 && b->levels[b->depth - 1].node->kind == CH_TREE_MAP && !b->levels[b->depth - 1].has_key;
}

static size_t event_offset(const builder *b, struct fy_event *event)
{
    const struct fy_mark *mark = fy_event_start_mark(event);
    if (mark != NULL) {
        const size_t offset = mark->input_pos;
        if (event->type != FYET_SCALAR || offset == 0)
            return offset;
        const enum fy_scalar_style style = fy_token_scalar_style(fy_event_get_token(event));
        return style == FYSS_SINGLE_QUOTED || style == FYSS_DOUBLE_QUOTED ? offset - 1 : offset; /* at the quote */
    }
    /* An empty value has no place of its own: it stands behind what was read last. */
    size_t offset = b->end;
    while (offset < b->length && strchr(" \t\r\n", b->text[offset]) != NULL)
        offset++;
    return offset;
}

/* `{reading: 128,5 psi}`: in braces the comma ends the value, and what was meant to be its decimals is a key without a value. */
static ch_status check_comma(builder *b, size_t key_offset)
{
    static const char digits[] = "0123456789";
    const char *text = b->text;
    if (key_offset < 2 || text[key_offset - 1] != ',' || memchr(digits, text[key_offset], 10) == NULL ||
        memchr(digits, text[key_offset - 2], 10) == NULL)
        return CH_OK;
    size_t begin = key_offset - 1, end = key_offset;
    while (begin > 0 && strchr(" \t\r\n{[,:", text[begin - 1]) == NULL)
        begin--;
    while (end < b->length && strchr("\r\n}],:", text[end]) == NULL)
        end++;
    char number[48], what[128], right[128];
    ch_text_excerpt(text + begin, end - begin, number, sizeof number);
    snprintf(what, sizeof what, "%s: in braces the comma ends the value", number);
    snprintf(right, sizeof right, "quotes around it: \"%s\"", number);
    return fail_here(b, CH_E_INPUT, begin, right, what);
}

static ch_status add_scalar(builder *b, struct fy_event *event)
{
    struct fy_token *token = fy_event_get_token(event);
    const size_t offset = event_offset(b, event);
    const char *copy = NULL;
    size_t length = 0;
    ch_status rc = token_text(b, token, offset, &copy, &length);
    if (rc < 0)
        return rc;
    if (expects_key(b)) {
        level *in = &b->levels[b->depth - 1];
        place(b, offset);
        in->has_key = true;
        in->key = copy;
        in->key_length = length;
        in->key_offset = offset;
        in->key_line = b->at.line;
        in->key_column = b->at.column;
        return CH_OK;
    }
    if (token == NULL && b->depth > 0)
        rc = check_comma(b, b->levels[b->depth - 1].key_offset);
    ch_tree_node *node = NULL;
    if (rc >= 0)
        rc = add_node(b, CH_TREE_TEXT, offset, &node);
    if (rc < 0)
        return rc;
    node->text = copy;
    node->length = length;
    node->quoted = token != NULL && fy_token_scalar_style(token) != FYSS_PLAIN;
    if (token == NULL && node->key != NULL) { /* `bore:` with nothing behind it: the key is what a person looks for */
        node->line = node->key_line;
        node->column = node->key_column;
    }
    return CH_OK;
}

static ch_status open_level(builder *b, struct fy_event *event, ch_tree_kind kind)
{
    const size_t offset = event_offset(b, event);
    if (expects_key(b))
        return fail_here(b, CH_E_INPUT, offset, "a word and a colon", "a key that is a list or a map");
    if (b->depth == CH_TREE_DEPTH_MAX)
        return fail_here(b, CH_E_LIMIT, offset, "at most 16 levels", "lists and maps nested too deep");
    ch_tree_node *node = NULL;
    const ch_status rc = add_node(b, kind, offset, &node);
    if (rc < 0)
        return rc;
    b->levels[b->depth++] = (level){.node = node};
    return CH_OK;
}

static int compare_keys(const void *left, const void *right)
{
    const ch_tree_node *a = *(const ch_tree_node *const *)left;
    const ch_tree_node *b = *(const ch_tree_node *const *)right;
    const size_t shared = a->key_length < b->key_length ? a->key_length : b->key_length;
    const int order = memcmp(a->key, b->key, shared);
    if (order != 0)
        return order;
    if (a->key_length != b->key_length)
        return a->key_length < b->key_length ? -1 : 1;
    if (a->key_line != b->key_line)
        return a->key_line < b->key_line ? -1 : 1;
    return a->key_column < b->key_column ? -1 : a->key_column > b->key_column;
}

static bool same_key(const ch_tree_node *a, const ch_tree_node *b)
{
    return a->key_length == b->key_length && memcmp(a->key, b->key, a->key_length) == 0;
}

/* Sorted, because a hostile map may have a hundred thousand keys. */
static ch_status check_duplicates(builder *b, const ch_tree_node *map)
{
    if (map->count < 2)
        return CH_OK;
    const ch_tree_node **sorted = malloc(map->count * sizeof(*sorted));
    if (sorted == NULL)
        return no_memory(b);
    size_t n = 0;
    for (const ch_tree_node *part = map->first; part != NULL; part = part->next)
        sorted[n++] = part;
    qsort(sorted, n, sizeof(*sorted), compare_keys);
    const ch_tree_node *again = NULL, *before = NULL;
    for (size_t i = 1; i < n; i++) {
        const bool earlier = again == NULL || sorted[i]->key_line < again->key_line ||
                             (sorted[i]->key_line == again->key_line && sorted[i]->key_column < again->key_column);
        if (same_key(sorted[i - 1], sorted[i]) && earlier) {
            again = sorted[i];
            before = sorted[i - 1];
        }
    }
    ch_status rc = CH_OK;
    if (again != NULL) {
        char key[64];
        ch_text_excerpt(again->key, again->key_length, key, sizeof key);
        rc = ch_fail(b->err, CH_E_INPUT, "each key once", "key \"%s\" stands here again; first on line %ld", key,
                     before->key_line);
        ch_err_locate(b->err, b->name, again->key_line, again->key_column);
    }
    free(sorted);
    return rc;
}

static ch_status close_level(builder *b)
{
    const ch_tree_node *node = b->levels[--b->depth].node;
    return node->kind == CH_TREE_MAP ? check_duplicates(b, node) : CH_OK;
}

static ch_status refuse_extras(builder *b, struct fy_event *event)
{
    struct fy_token *anchor = fy_event_get_anchor_token(event);
    if (anchor != NULL) {
        size_t offset = fy_token_start_mark(anchor)->input_pos;
        if (offset > 0 && b->text[offset - 1] == '&')
            offset--;
        return fail_here(b, CH_E_INPUT, offset, "the value itself, or quotes around a text that begins with &",
                         "an anchor (&name) has no place in this file");
    }
    struct fy_token *tag = fy_event_get_tag_token(event);
    if (tag != NULL)
        return fail_here(b, CH_E_INPUT, fy_token_start_mark(tag)->input_pos,
                         "the value itself, or quotes around a text that begins with !",
                         "a tag (!name) has no place in this file");
    return CH_OK;
}

static ch_status take_event(builder *b, struct fy_event *event)
{
    ch_status rc = refuse_extras(b, event);
    if (rc < 0)
        return rc;
    switch (event->type) {
    case FYET_DOCUMENT_START:
        if (b->documents++ > 0)
            rc = fail_here(b, CH_E_INPUT, event_offset(b, event), "one document in a file",
                           "a second document begins here");
        break;
    case FYET_ALIAS: {
        size_t offset = event_offset(b, event);
        if (offset > 0 && b->text[offset - 1] == '*')
            offset--;
        rc = fail_here(b, CH_E_INPUT, offset, "the value itself, or quotes around a text that begins with *",
                       "an alias (*name) has no place in this file");
        break;
    }
    case FYET_SCALAR: rc = add_scalar(b, event); break;
    case FYET_SEQUENCE_START: rc = open_level(b, event, CH_TREE_LIST); break;
    case FYET_MAPPING_START: rc = open_level(b, event, CH_TREE_MAP); break;
    case FYET_SEQUENCE_END:
    case FYET_MAPPING_END: rc = close_level(b); break;
    default: break;
    }
    const struct fy_mark *end = fy_event_end_mark(event);
    if (end != NULL && end->input_pos > b->end)
        b->end = end->input_pos;
    return rc;
}

/* What libfyaml has to say about a text it could not read. For some directives it stops without a word, or with a mere warning. */
static ch_status grammar_error(builder *b, struct fy_diag *diag)
{
    const char *form = b->json ? "JSON" : "YAML";
    void *position = NULL;
    struct fy_diag_error *first = NULL;
    for (struct fy_diag_error *e; (e = fy_diag_errors_iterate(diag, &position)) != NULL;)
        if (e->msg != NULL && (first == NULL || (first->type < FYET_ERROR && e->type >= FYET_ERROR)))
            first = e;
    if (first == NULL) {
        char what[32];
        snprintf(what, sizeof what, "not valid %s", form);
        return fail_here(b, CH_E_INPUT, b->end, NULL, what);
    }
    ch_fail(b->err, CH_E_INPUT, NULL, "not valid %s: %s", form, first->msg);
    ch_err_locate(b->err, b->name, first->line, first->column);
    return CH_E_INPUT;
}

static ch_status read_events(builder *b, struct fy_parser *parser, struct fy_diag *diag)
{
    for (;;) {
        struct fy_event *event = fy_parser_parse(parser);
        if (event == NULL)
            return grammar_error(b, diag);
        const bool last = event->type == FYET_STREAM_END;
        const ch_status rc = take_event(b, event);
        fy_parser_event_free(parser, event);
        if (rc < 0)
            return rc;
        if (last)
            return fy_parser_get_stream_error(parser) ? grammar_error(b, diag) : CH_OK;
    }
}

static ch_status read_text(builder *b)
{
    struct fy_diag_cfg diag_cfg;
    fy_diag_cfg_default(&diag_cfg);
    diag_cfg.fp = NULL;
    diag_cfg.colorize = false;
    struct fy_diag *diag = fy_diag_create(&diag_cfg);
    if (diag == NULL)
        return no_memory(b);
    fy_diag_set_collect_errors(diag, true);
    const struct fy_parse_cfg cfg = {
        .search_path = "",
        .flags = FYPCF_QUIET | FYPCF_COLLECT_DIAG | FYPCF_DEFAULT_VERSION_1_2 |
                 (b->json ? FYPCF_JSON_FORCE : FYPCF_JSON_NONE),
        .diag = diag,
    };
    ch_status rc = CH_OK;
    struct fy_parser *parser = fy_parser_create(&cfg);
    if (parser == NULL || fy_parser_set_string(parser, b->text, b->length) != 0)
        rc = no_memory(b);
    else
        rc = read_events(b, parser, diag);
    fy_parser_destroy(parser);
    fy_diag_destroy(diag);
    return rc;
}

ch_status ch_tree_parse(const char *name, const char *text, size_t length, ch_tree **tree, ch_err *err)
{
    builder b = {
        .name = name, .text = text, .length = length, .json = ch_tree_is_json(name), .at = {0, 1, 1}, .err = err};
    if (length > CH_TREE_BYTES_MAX) {
        ch_fail(err, CH_E_LIMIT, "at most 4 MiB", "the file has %zu bytes", length);
        ch_err_locate(err, name, 0, 0);
        return CH_E_LIMIT;
    }
    if (length >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0) {
        b.text += 3;
        b.length -= 3;
    }
    if (b.length == 0)
        return fail_here(&b, CH_E_INPUT, 0, NULL, "the file is empty");
    b.tree = calloc(1, sizeof *b.tree);
    if (b.tree == NULL)
        return no_memory(&b);
    ch_status rc = check_bytes(&b);
    if (rc >= 0)
        rc = read_text(&b);
    if (rc >= 0 && b.tree->root == NULL)
        rc = fail_here(&b, CH_E_INPUT, 0, NULL, "the file holds no value");
    if (rc < 0) {
        ch_err_locate(err, name, 0, 0);
        ch_tree_free(b.tree);
        return rc;
    }
    *tree = b.tree;
    return CH_OK;
}

const ch_tree_node *ch_tree_root(const ch_tree *tree)
{
    return tree->root;
}

void ch_tree_free(ch_tree *tree)
{
    if (tree == NULL)
        return;
    for (block *top = tree->blocks; top != NULL;) {
        block *next = top->next;
        free(top);
        top = next;
    }
    free(tree);
}

const ch_tree_node *ch_tree_get(const ch_tree_node *map, const char *key)
{
    if (map == NULL || map->kind != CH_TREE_MAP)
        return NULL;
    const size_t length = strlen(key);
    for (const ch_tree_node *part = map->first; part != NULL; part = part->next)
        if (part->key_length == length && memcmp(part->key, key, length) == 0)
            return part;
    return NULL;
}

bool ch_tree_is_null(const ch_tree_node *node)
{
    return node->kind == CH_TREE_TEXT && !node->quoted &&
           (node->length == 0 || strcmp(node->text, "null") == 0 || strcmp(node->text, "Null") == 0 ||
            strcmp(node->text, "NULL") == 0 || strcmp(node->text, "~") == 0);
}
