/*
 * Reading single values of the knowledge files: keys, texts, numbers, mixtures. Knows nothing of what they are for.
 * 1. Nothing is accepted silently that would later be passed over: unknown keys, a unit behind a number, an empty text.
 * 2. A failure stands at the value it speaks of; a missing key at the map that lacks it.
 */
#include "knowledge_read.h"

#include <math.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/text.h"
#include "crosshatch/units.h"

#define SUM_TOLERANCE 0.0015 /* weights are typed with a few digits: 0.333 three times is meant to be 1 */

const knowledge_range knowledge_chance = {0, 1, false, false, "a number from 0 to 1"};
const knowledge_range knowledge_open_chance = {0, 1, true, true, "more than 0 and less than 1: nothing is ever proof"};
const knowledge_range knowledge_part = {0, 1, true, false, "more than 0, up to 1"};
const knowledge_range knowledge_prior = {0, 1, false, true, "from 0, less than 1"};
const knowledge_range knowledge_positive = {0, INFINITY, true, true, "a number above 0"};
const knowledge_range knowledge_not_negative = {0, INFINITY, false, true, "0 or more"};
const knowledge_range knowledge_one_or_more = {1, INFINITY, false, true, "1 or more"};
const knowledge_range knowledge_any = {-INFINITY, INFINITY, true, true, "a number"};

/* What the knowledge owns, in a chain: either a tree or `bytes`. */
struct ch_knowledge_piece {
    struct ch_knowledge_piece *next;
    ch_tree *tree;
    max_align_t bytes[];
};

static void no_memory(knowledge_reader *r)
{
    r->status = ch_fail(r->err, CH_E_MEMORY, NULL, "no memory for the knowledge");
    ch_err_locate(r->err, r->file, 0, 0);
}

static struct ch_knowledge_piece *add_piece(knowledge_reader *r, size_t bytes)
{
    struct ch_knowledge_piece *piece = calloc(1, sizeof *piece + bytes);
    if (piece == NULL) {
        no_memory(r);
        return NULL;
    }
    piece->next = r->to->pieces;
    r->to->pieces = piece;
    return piece;
}

void *knowledge_alloc(knowledge_reader *r, size_t n, size_t size)
{
    if (r->status < 0 || n == 0)
        return NULL;
    if (n > (SIZE_MAX - sizeof(struct ch_knowledge_piece)) / size) {
        no_memory(r);
        return NULL;
    }
    struct ch_knowledge_piece *piece = add_piece(r, n * size);
    return piece != NULL ? piece->bytes : NULL;
}

void knowledge_keep_tree(knowledge_reader *r, ch_tree *tree)
{
    struct ch_knowledge_piece *piece = add_piece(r, 0);
    if (piece != NULL)
        piece->tree = tree;
}

void ch_knowledge_clear(ch_knowledge *knowledge)
{
    for (struct ch_knowledge_piece *piece = knowledge->pieces; piece != NULL;) {
        struct ch_knowledge_piece *next = piece->next;
        ch_tree_free(piece->tree);
        free(piece);
        piece = next;
    }
    *knowledge = (ch_knowledge){0};
}

static void fail_at(knowledge_reader *r, ch_status status, long line, long column, const char *right, const char *what)
{
    if (r->status < 0)
        return;
    r->status = ch_fail(r->err, status, right, "%s", what);
    ch_err_locate(r->err, r->file, line, column);
}

void knowledge_fail(knowledge_reader *r, ch_status status, const ch_tree_node *at, const char *right, const char *what,
                    ...)
{
    char text[sizeof r->err->what];
    va_list arguments;
    va_start(arguments, what);
    vsnprintf(text, sizeof text, what, arguments);
    va_end(arguments);
    fail_at(r, status, at->line, at->column, right, text);
}

/* "key" of a part of a map, "this" for a part of a list; cut, for messages. */
static void name_part(const ch_tree_node *part, char *name, size_t size)
{
    if (part->key != NULL)
        ch_text_excerpt(part->key, part->key_length, name, size);
    else
        snprintf(name, size, "this");
}

static void fail_kind(knowledge_reader *r, const ch_tree_node *part, const char *right)
{
    static const char *const is[] = {[CH_TREE_TEXT] = "a text", [CH_TREE_LIST] = "a list", [CH_TREE_MAP] = "a map"};
    char name[48];
    name_part(part, name, sizeof name);
    knowledge_fail(r, CH_E_INPUT, part, right, "%s is %s", name, ch_tree_is_null(part) ? "empty" : is[part->kind]);
}

static bool same_text(const char *text, size_t length, const char *word)
{
    return strlen(word) == length && memcmp(text, word, length) == 0;
}

void knowledge_suggest(const char *word, size_t length, const char *const *words, size_t n, char right[256])
{
    enum { SIZE = 256, LISTED_MAX = 12 };
    const char *nearest = ch_nearest_word(word, length, words, n);
    right[0] = '\0';
    if (nearest != NULL || n == 1) {
        snprintf(right, SIZE, "%s", nearest != NULL ? nearest : words[0]);
        return;
    }
    size_t used = 0;
    for (size_t i = 0; i < n && n <= LISTED_MAX && used < SIZE; i++)
        used += (size_t)snprintf(right + used, SIZE - used, "%s%s", i == 0 ? "one of " : ", ", words[i]);
}

void knowledge_keys_of(knowledge_reader *r, const ch_tree_node *map, const char *const *keys, size_t n)
{
    if (r->status < 0)
        return;
    if (map->kind != CH_TREE_MAP) {
        fail_kind(r, map, "a map of keys and values");
        return;
    }
    for (const ch_tree_node *part = map->first; part != NULL; part = part->next) {
        size_t i = 0;
        while (i < n && !same_text(part->key, part->key_length, keys[i]))
            i++;
        if (i < n)
            continue;
        char key[48], what[96], right[sizeof r->err->right];
        ch_text_excerpt(part->key, part->key_length, key, sizeof key);
        snprintf(what, sizeof what, "unknown key \"%s\"", key);
        knowledge_suggest(part->key, part->key_length, keys, n, right);
        fail_at(r, CH_E_INPUT, part->key_line, part->key_column, right, what);
        return;
    }
}

const ch_tree_node *knowledge_need(knowledge_reader *r, const ch_tree_node *map, const char *key)
{
    if (r->status < 0)
        return NULL;
    const ch_tree_node *part = ch_tree_get(map, key);
    if (part == NULL)
        knowledge_fail(r, CH_E_INPUT, map, NULL, "\"%s\" is missing here", key);
    return part;
}

static const ch_tree_node *part_of_kind(knowledge_reader *r, const ch_tree_node *map, const char *key, bool optional,
                                        ch_tree_kind kind, const char *right)
{
    if (r->status < 0 || (optional && ch_tree_get(map, key) == NULL))
        return NULL;
    const ch_tree_node *part = knowledge_need(r, map, key);
    if (part == NULL || part->kind == kind)
        return part;
    fail_kind(r, part, right);
    return NULL;
}

const ch_tree_node *knowledge_list(knowledge_reader *r, const ch_tree_node *map, const char *key, bool optional)
{
    return part_of_kind(r, map, key, optional, CH_TREE_LIST, "a list; [] where there is nothing");
}

const ch_tree_node *knowledge_map(knowledge_reader *r, const ch_tree_node *map, const char *key, bool optional)
{
    return part_of_kind(r, map, key, optional, CH_TREE_MAP, "a map of keys and values");
}

/* Control characters, written as escapes, could drive a terminal; line ends would break a layout. */
static bool is_one_plain_line(const char *text, size_t length)
{
    for (size_t i = 0; i < length; i++) {
        const unsigned char c = (unsigned char)text[i];
        if (c < 0x20 || c == 0x7F || (c == 0xC2 && i + 1 < length && (unsigned char)text[i + 1] < 0xA0))
            return false;
    }
    return true;
}

const char *knowledge_line(knowledge_reader *r, const ch_tree_node *part)
{
    if (r->status < 0 || part == NULL)
        return NULL;
    char name[48];
    name_part(part, name, sizeof name);
    if (part->kind != CH_TREE_TEXT)
        fail_kind(r, part, "a text");
    else if (ch_tree_is_null(part) || strspn(part->text, " ") == part->length)
        knowledge_fail(r, CH_E_INPUT, part, "a text, or leave the key out where it is not needed", "%s is empty", name);
    else if (!is_one_plain_line(part->text, part->length))
        knowledge_fail(r, CH_E_INPUT, part, "one line, or several folded with >-",
                       "%s holds a line end or a control character", name);
    return r->status < 0 ? NULL : part->text;
}

const char *knowledge_text(knowledge_reader *r, const ch_tree_node *map, const char *key, bool optional)
{
    return knowledge_line(r, optional ? ch_tree_get(map, key) : knowledge_need(r, map, key));
}

const ch_tree_node *knowledge_open(knowledge_reader *r, const ch_knowledge_text *text, const char *heading)
{
    static const char *const versions[] = {"1"};
    if (r->status < 0)
        return NULL;
    ch_tree *tree = NULL;
    r->file = text->name;
    r->status = ch_tree_parse(text->name, text->text, text->length, &tree, r->err);
    if (r->status < 0)
        return NULL;
    knowledge_keep_tree(r, tree);
    if (r->status < 0) {
        ch_tree_free(tree);
        return NULL;
    }
    const ch_tree_node *root = ch_tree_root(tree);
    if (root->kind != CH_TREE_MAP) {
        knowledge_fail(r, CH_E_INPUT, root, "keys and values, as docs/knowledge.md has them", "not a knowledge file");
        return NULL;
    }
    knowledge_word(r, root, "knowledge", &heading, 1, -1);
    knowledge_word(r, root, "version", versions, 1, -1);
    return r->status < 0 ? NULL : root;
}

static bool is_id(const char *text, size_t length)
{
    if (length == 0 || !(text[0] >= 'a' && text[0] <= 'z'))
        return false;
    for (size_t i = 1; i < length; i++)
        if (!((text[i] >= 'a' && text[i] <= 'z') || (text[i] >= '0' && text[i] <= '9') || text[i] == '_'))
            return false;
    return true;
}

static void check_id(knowledge_reader *r, const char *text, size_t length, long line, long column)
{
    if (r->status < 0 || is_id(text, length))
        return;
    char quoted[48], what[96];
    ch_text_excerpt(text, length, quoted, sizeof quoted);
    snprintf(what, sizeof what, "\"%s\" is not an id", quoted);
    fail_at(r, CH_E_INPUT, line, column, "small letters, digits and _, a letter first", what);
}

const char *knowledge_id(knowledge_reader *r, const ch_tree_node *node)
{
    if (r->status < 0 || node == NULL)
        return NULL;
    if (node->kind != CH_TREE_TEXT)
        fail_kind(r, node, "an id");
    else
        check_id(r, node->text, node->length, node->line, node->column);
    return r->status < 0 ? NULL : node->text;
}

void knowledge_check_key_id(knowledge_reader *r, const ch_tree_node *part)
{
    check_id(r, part->key, part->key_length, part->key_line, part->key_column);
}

int knowledge_word(knowledge_reader *r, const ch_tree_node *map, const char *key, const char *const *words, int n,
                   int fallback)
{
    const ch_tree_node *part = part_of_kind(r, map, key, fallback >= 0, CH_TREE_TEXT, "a word");
    if (part == NULL)
        return fallback >= 0 ? fallback : 0;
    for (int i = 0; i < n; i++)
        if (same_text(part->text, part->length, words[i]))
            return i;
    char quoted[48], right[sizeof r->err->right];
    ch_text_excerpt(part->text, part->length, quoted, sizeof quoted);
    knowledge_suggest(part->text, part->length, words, (size_t)n, right);
    knowledge_fail(r, CH_E_INPUT, part, right, "%s is \"%s\"", key, quoted);
    return 0;
}

double knowledge_number(knowledge_reader *r, const ch_tree_node *node, const knowledge_range *range)
{
    if (r->status < 0 || node == NULL)
        return NAN;
    if (node->kind != CH_TREE_TEXT || ch_tree_is_null(node)) {
        fail_kind(r, node, range->right);
        return NAN;
    }
    char name[48], quoted[48];
    name_part(node, name, sizeof name);
    ch_text_excerpt(node->text, node->length, quoted, sizeof quoted);
    ch_quantity quantity = ch_quantity_none();
    const ch_status rc =
        ch_quantity_parse(node->text, node->length, CH_DIM_RATIO, ch_unit_find("1", 1), &quantity, NULL);
    if (rc < 0 || !quantity.bare) {
        knowledge_fail(r, CH_E_INPUT, node, range->right, "%s is \"%s\", not a plain number", name, quoted);
        return NAN;
    }
    const double x = quantity.si;
    const bool inside =
        (range->low_open ? x > range->low : x >= range->low) && (range->high_open ? x < range->high : x <= range->high);
    if (!inside) {
        knowledge_fail(r, CH_E_INPUT, node, range->right, "%s is %s", name, quoted);
        return NAN;
    }
    return x;
}

double knowledge_number_at(knowledge_reader *r, const ch_tree_node *map, const char *key, const knowledge_range *range)
{
    return knowledge_number(r, knowledge_need(r, map, key), range);
}

double knowledge_number_or(knowledge_reader *r, const ch_tree_node *map, const char *key, const knowledge_range *range,
                           double fallback)
{
    if (r->status < 0)
        return NAN;
    const ch_tree_node *part = ch_tree_get(map, key);
    return part == NULL ? fallback : knowledge_number(r, part, range);
}

double knowledge_check_sum(knowledge_reader *r, const ch_tree_node *at, const char *what, double sum)
{
    if (r->status >= 0 && !(fabs(sum - 1) <= SUM_TOLERANCE)) {
        char text[32];
        ch_si_format(sum, 1e-3, ch_unit_find("1", 1), text, sizeof text);
        knowledge_fail(r, CH_E_INPUT, at, "a sum of 1", "%s add up to %s", what, text);
    }
    return r->status >= 0 ? sum : NAN;
}

void knowledge_mixture(knowledge_reader *r, const ch_tree_node *list, double median_unit, ch_mixture *mixture)
{
    if (r->status < 0 || list == NULL || list->count == 0)
        return;
    if (list->count > CH_MIXTURE_MAX) {
        knowledge_fail(r, CH_E_LIMIT, list, "at most 8", "a mixture of %zu parts", list->count);
        return;
    }
    double sum = 0;
    for (const ch_tree_node *part = list->first; part != NULL && r->status >= 0; part = part->next) {
        ch_lognormal *to = &mixture->part[mixture->count++];
        knowledge_keys(r, part, "weight", "median", "spread");
        to->weight_1 = knowledge_number_at(r, part, "weight", &knowledge_part);
        to->median = knowledge_number_at(r, part, "median", &knowledge_positive) * median_unit;
        to->spread_1 = knowledge_number_at(r, part, "spread", &knowledge_positive);
        sum += to->weight_1;
    }
    sum = knowledge_check_sum(r, list, "the weights", sum);
    for (size_t i = 0; i < mixture->count; i++)
        mixture->part[i].weight_1 /= sum;
}
