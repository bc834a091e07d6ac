/*
 * A test sheet out of a document's tree: every value checked, every refusal with the place of the key or value that caused it.
 *
 *  1. The first refusal ends the reading and frees what was read.
 *  2. What a field means comes from sheet_fields.c alone; rules that join fields stand at the end of this file.
 *  3. `sheet`, `units` and `engine` are read ahead of the rest, which depends on them; the rest in the order of the text.
 */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/text.h"
#include "crosshatch/tree.h"
#include "sheet_fields.h"

enum { SHOWN = 48, NAME_MAXIMUM = 64, TEXT_MAXIMUM = 2000 };

typedef struct reader {
    const char *name;
    ch_sheet *sheet;
    ch_err *err;
    bool by_hand; /* a person typed it: what may be thousands is refused */
    bool json;    /* a bare number is one of RFC 8259, whose point is a decimal point */
} reader;

static ch_status refuse(reader *r, long line, long column, const char *right, const char *what, ...)
    __attribute__((format(printf, 5, 6)));

static ch_status refuse(reader *r, long line, long column, const char *right, const char *what, ...)
{
    char text[sizeof r->err->what];
    va_list arguments;
    va_start(arguments, what);
    vsnprintf(text, sizeof text, what, arguments);
    va_end(arguments);
    ch_fail(r->err, CH_E_INPUT, right, "%s", text);
    ch_err_locate(r->err, r->name, line, column);
    return CH_E_INPUT;
}

#define REFUSE(node, ...) refuse(r, (node)->line, (node)->column, __VA_ARGS__)

static ch_status no_memory(reader *r)
{
    ch_fail(r->err, CH_E_MEMORY, NULL, "no memory for the sheet");
    ch_err_locate(r->err, r->name, 0, 0);
    return CH_E_MEMORY;
}

/* The node must be one text; `key` is its label in messages. */
static ch_status need_text(reader *r, const ch_tree_node *node, const char *key, const char *example)
{
    char right[128];
    snprintf(right, sizeof right, "%s: %s", key, example);
    if (node->kind != CH_TREE_TEXT)
        return REFUSE(node, right, "%s: a %s where one value is wanted", key,
                      node->kind == CH_TREE_LIST ? "list" : "map");
    snprintf(right, sizeof right, "%s: %s, or leave the key out", key, example);
    if (ch_tree_is_null(node))
        return REFUSE(node, right, "%s: no value", key);
    return CH_OK;
}

static bool is_word(const ch_tree_node *node, const char *word)
{
    return node->length == strlen(word) && memcmp(node->text, word, node->length) == 0;
}

/* Refuse a text that is none of the words: name the nearest, or all. `label` says what it was to be. */
static ch_status refuse_word(reader *r, long line, long column, const char *text, size_t length, const char *label,
                             const char *const *words, size_t n)
{
    char shown[SHOWN];
    ch_text_excerpt(text, length, shown, sizeof shown);
    char spelled[sizeof r->err->right];
    const char *nearest = ch_nearest_word(text, length, words, n);
    if (nearest != NULL) {
        snprintf(spelled, sizeof spelled, "did you mean \"%s\"?", nearest);
    } else {
        size_t used = 0;
        for (size_t i = 0; i < n && used < sizeof spelled; i++)
            used +=
                (size_t)snprintf(spelled + used, sizeof spelled - used, "%s%s", i == 0 ? "one of " : ", ", words[i]);
    }
    return refuse(r, line, column, spelled, "%s \"%s\"", label, shown);
}

static ch_status refuse_key(reader *r, const ch_tree_node *part, const char *const *keys, size_t n)
{
    if (part->key_length == 4 && memcmp(part->key, "plan", 4) == 0)
        return refuse(r, part->key_line, part->key_column, "a test sheet, which says `sheet: 1`",
                      "\"plan\" is the key of a winter plan");
    return refuse_word(r, part->key_line, part->key_column, part->key, part->key_length, "unknown key", keys, n);
}

static bool in_range(const field *f, double value)
{
    const double slack = 1e-9; /* "10 mm" times 0.001 may miss 0.01 by a rounding */
    if (f->above_low && !(value > f->low))
        return false;
    return value >= f->low - slack * fabs(f->low) && value <= f->high + slack * fabs(f->high);
}

/* A number without unit. */
static ch_status read_plain(reader *r, const field *f, const ch_tree_node *node, ch_quantity *out)
{
    char shown[SHOWN];
    ch_err reason = {0};
    ch_quantity q = ch_quantity_none();
    const ch_status rc = need_text(r, node, f->key, f->example);
    if (rc < 0)
        return rc;
    const ch_unit *one = ch_unit_find("1", 1);
    ch_text_excerpt(node->text, node->length, shown, sizeof shown);
    if (ch_quantity_parse(node->text, node->length, CH_DIM_RATIO, one, &q, &reason) < 0 || q.unit != one ||
        (!q.bare && (f->kind != FIELD_NUMBER || memchr(node->text, ':', node->length) == NULL))) /* 9.6:1 is a ratio */
        return REFUSE(node, f->range, "%s: \"%s\" is not a plain number", f->key, shown);
    if (!in_range(f, q.si))
        return REFUSE(node, f->range, "%s: %s is out of range", f->key, shown);
    *out = q;
    return CH_OK;
}

static ch_status read_number(reader *r, const field *f, const ch_tree_node *node, void *at)
{
    ch_quantity q = ch_quantity_none();
    const ch_status rc = read_plain(r, f, node, &q);
    if (rc < 0)
        return rc;
    memcpy((char *)at + f->offset, &q.si, sizeof q.si);
    memcpy((char *)r->sheet + f->second, q.number, sizeof q.number);
    return CH_OK;
}

static ch_status read_count(reader *r, const field *f, const ch_tree_node *node, int *out)
{
    ch_quantity q = ch_quantity_none();
    const ch_status rc = read_plain(r, f, node, &q);
    if (rc < 0)
        return rc;
    if (q.si != floor(q.si))
        return REFUSE(node, f->range, "%s: %s is not a whole number", f->key, q.number);
    *out = (int)q.si;
    return CH_OK;
}

/* A number of one of the engine's cylinders; `label` stands in messages. */
static ch_status read_cylinder(reader *r, const char *label, const ch_tree_node *node, int *out)
{
    char range[64];
    const int n = r->sheet->engine.cylinders;
    snprintf(range, sizeof range, "1 to %d, the engine's cylinders", n);
    const field f = {.key = label, .range = range, .example = "1", .low = -INFINITY, .high = INFINITY};
    ch_quantity q = ch_quantity_none();
    const ch_status rc = read_plain(r, &f, node, &q);
    if (rc < 0)
        return rc;
    if (!(q.si >= 1 && q.si <= n) || q.si != floor(q.si))
        return REFUSE(node, range, "%s: the engine has no cylinder %s", label, q.number);
    *out = (int)q.si;
    return CH_OK;
}

static ch_status read_cylinder_or_all(reader *r, const field *f, const ch_tree_node *node, int *out)
{
    if (node->kind == CH_TREE_TEXT && is_word(node, "all")) {
        *out = 0;
        return CH_OK;
    }
    return read_cylinder(r, f->key, node, out);
}

/* True where the text would be right if only the number had a unit. */
static bool lacks_unit(const field *f, const ch_tree_node *node, const ch_unit *bare)
{
    ch_quantity q = ch_quantity_none(), example = ch_quantity_none();
    ch_err ignored = {0};
    return bare == NULL &&
           ch_quantity_parse(f->example, strlen(f->example), f->dimension, NULL, &example, &ignored) == CH_OK &&
           ch_quantity_parse(node->text, node->length, f->dimension, example.unit, &q, &ignored) == CH_OK;
}

/* Of a height, a distance driven and hours, which run into thousands; no engine has a bore or a ratio of so many. */
static bool may_be_thousands(const reader *r, const field *f, const ch_tree_node *node, const ch_quantity *q,
                             ch_err *reason)
{
    return r->by_hand && (f->distance || f->dimension == CH_DIM_TIME) && !(r->json && !node->quoted) &&
           ch_quantity_check_thousands(q, reason) < 0;
}

static ch_status read_quantity(reader *r, const field *f, const ch_tree_node *node, void *at)
{
    ch_status rc = need_text(r, node, f->key, f->example);
    if (rc < 0)
        return rc;
    char shown[SHOWN], right[sizeof r->err->right];
    ch_text_excerpt(node->text, node->length, shown, sizeof shown);
    const ch_unit *bare = sheet_bare_unit(r->sheet, f);
    ch_quantity q = ch_quantity_none();
    ch_err reason = {0};
    if (ch_quantity_parse(node->text, node->length, f->dimension, bare, &q, &reason) < 0) {
        const units_key *u = sheet_units_key(f);
        if (!lacks_unit(f, node, bare) || u == NULL)
            return REFUSE(node, reason.right, "%s: %s", f->key, reason.what);
        snprintf(right, sizeof right,
                 "the number with its unit, as in \"%s\", or once for the whole sheet units: {%s: %s}", f->example,
                 u->key, u->example);
        return REFUSE(node, right, "%s: \"%s\" has no unit", f->key, shown);
    }
    if (!in_range(f, q.si))
        return REFUSE(node, f->range, "%s: %s is out of range", f->key, shown);
    if (may_be_thousands(r, f, node, &q, &reason))
        return REFUSE(node, reason.right, "%s: %s", f->key, reason.what);
    memcpy((char *)at + f->offset, &q, sizeof q);
    return CH_OK;
}

static ch_status read_word(reader *r, const field *f, const ch_tree_node *node, void *at)
{
    const ch_status rc = need_text(r, node, f->key, f->words[0]);
    if (rc < 0)
        return rc;
    size_t n = 0;
    for (; f->words[n] != NULL; n++)
        if (is_word(node, f->words[n])) {
            const int value = (int)(n < f->values ? n : f->values - 1) + 1;
            memcpy((char *)at + f->offset, &value, sizeof value);
            return CH_OK;
        }
    char label[SHOWN];
    snprintf(label, sizeof label, "%s: unknown word", f->key);
    return refuse_word(r, node->line, node->column, node->text, node->length, label, f->words, n);
}

/* A text may hold line ends and tabs, and no other control character: those could drive a terminal. */
static bool is_printable(const char *text, size_t length)
{
    for (size_t i = 0; i < length; i++) {
        const unsigned char c = (unsigned char)text[i];
        const bool c1 = c == 0xC2 && i + 1 < length && (unsigned char)text[i + 1] < 0xA0;
        if ((c < 0x20 && c != '\n' && c != '\t' && c != '\r') || c == 0x7F || c1)
            return false;
    }
    return true;
}

static size_t count_characters(const char *text, size_t length)
{
    size_t n = 0;
    for (size_t i = 0; i < length; i++)
        n += ((unsigned char)text[i] & 0xC0) != 0x80;
    return n;
}

static ch_status read_text(reader *r, const field *f, const ch_tree_node *node, void *at)
{
    const ch_status rc = need_text(r, node, f->key, f->example);
    if (rc < 0)
        return rc;
    if (!is_printable(node->text, node->length))
        return REFUSE(node, "letters, digits, signs and line ends", "%s: a control character in the text", f->key);
    if (count_characters(node->text, node->length) > TEXT_MAXIMUM)
        return REFUSE(node, "at most 2000 characters", "%s: the text is too long", f->key);
    if (f->kind == FIELD_NAME) {
        char shown[SHOWN];
        ch_text_excerpt(node->text, node->length, shown, sizeof shown);
        if (node->length == 0 || node->length > NAME_MAXIMUM || !(node->text[0] >= 'a' && node->text[0] <= 'z') ||
            strspn(node->text, "abcdefghijklmnopqrstuvwxyz0123456789_") != node->length)
            return REFUSE(node, "small letters, digits and _, such as coolant_loss", "%s: \"%s\" is not a word", f->key,
                          shown);
    }
    char *copy = malloc(node->length + 1);
    if (copy == NULL)
        return no_memory(r);
    memcpy(copy, node->text, node->length + 1);
    text_set(at, f, copy);
    return CH_OK;
}

static ch_status read_date(reader *r, const field *f, const ch_tree_node *node, void *at)
{
    const ch_status rc = need_text(r, node, f->key, f->example);
    if (rc < 0)
        return rc;
    ch_date date = {0};
    ch_err reason = {0};
    if (ch_date_parse(node->text, node->length, &date, &reason) < 0)
        return REFUSE(node, reason.right, "%s: %s", f->key, reason.what);
    memcpy((char *)at + f->offset, &date, sizeof date);
    return CH_OK;
}

static ch_status read_order(reader *r, const field *f, const ch_tree_node *node, void *at)
{
    int order[CH_CYLINDERS_MAX] = {0};
    const int n = r->sheet->engine.cylinders;
    char right[64];
    snprintf(right, sizeof right, "each cylinder from 1 to %d once, in the order of firing", n);
    if (node->kind != CH_TREE_LIST)
        return REFUSE(node, right, "firing_order is not a list");
    if (node->count != (size_t)n)
        return REFUSE(node, right, "firing_order names %zu cylinders, the engine has %d", node->count, n);
    int k = 0;
    for (const ch_tree_node *part = node->first; part != NULL; part = part->next, k++) {
        const ch_status rc = read_cylinder(r, f->key, part, &order[k]);
        if (rc < 0)
            return rc;
        for (int before = 0; before < k; before++)
            if (order[before] == order[k])
                return REFUSE(part, right, "firing_order names cylinder %d twice", order[k]);
    }
    memcpy((char *)at + f->offset, order, sizeof order);
    return CH_OK;
}

static ch_status read_found(reader *r, const field *f, const ch_tree_node *node, void *at)
{
    const ch_status rc = need_text(r, node, f->key, f->example);
    if (rc < 0)
        return rc;
    const bool no = is_word(node, "no") || is_word(node, "false");
    if (!no && !is_word(node, "yes") && !is_word(node, "true")) {
        char shown[SHOWN];
        ch_text_excerpt(node->text, node->length, shown, sizeof shown);
        return REFUSE(node, "yes or no", "%s: \"%s\" is neither yes nor no", f->key, shown);
    }
    memcpy((char *)at + f->offset, &no, sizeof no);
    return CH_OK;
}

static ch_status read_accuracy(reader *r, const field *f, const ch_tree_node *node, ch_sheet_gauge *gauge)
{
    const ch_status rc = need_text(r, node, f->key, f->example);
    if (rc < 0)
        return rc;
    ch_err reason = {0};
    if (ch_gauge_accuracy_parse(node->text, node->length, gauge, &reason) < 0)
        return REFUSE(node, reason.right, "%s: %s", f->key, reason.what);
    return CH_OK;
}

/* One word of `heard`. That `cylinder_N` is another cylinder is checked at the end of the row. */
static ch_status read_heard_word(reader *r, const ch_tree_node *node, ch_leakdown_row *row)
{
    static const char prefix[] = "cylinder_";
    const ch_status rc = need_text(r, node, "heard", "[exhaust]");
    if (rc < 0)
        return rc;
    for (unsigned i = 0; i < SHEET_HEARD_WORDS; i++)
        if (is_word(node, sheet_heard_words[i])) {
            row->heard |= 1U << i;
            return CH_OK;
        }
    const size_t skip = sizeof prefix - 1;
    if (node->length > skip && memcmp(node->text, prefix, skip) == 0 &&
        strspn(node->text + skip, "0123456789") == node->length - skip) {
        int cylinder = 0;
        ch_tree_node number = *node;
        number.text += skip;
        number.length -= skip;
        const ch_status found = read_cylinder(r, "heard", &number, &cylinder);
        if (found >= 0)
            row->heard_cylinders |= 1U << (cylinder - 1);
        return found;
    }
    const char *words[SHEET_HEARD_WORDS + 1];
    memcpy(words, sheet_heard_words, sizeof sheet_heard_words[0] * SHEET_HEARD_WORDS);
    words[SHEET_HEARD_WORDS] = "cylinder_N";
    return refuse_word(r, node->line, node->column, node->text, node->length, "heard: unknown word", words,
                       SHEET_HEARD_WORDS + 1);
}

static ch_status read_heard(reader *r, const ch_tree_node *node, ch_leakdown_row *row)
{
    if (node->kind != CH_TREE_LIST)
        return read_heard_word(r, node, row);
    if (node->count == 0)
        return REFUSE(node, "heard: nothing, if you listened and heard nothing", "heard: an empty list");
    for (const ch_tree_node *part = node->first; part != NULL; part = part->next) {
        const ch_status rc = read_heard_word(r, part, row);
        if (rc < 0)
            return rc;
    }
    return CH_OK;
}

static ch_status read_version(reader *r, const field *f, const ch_tree_node *node)
{
    ch_quantity q = ch_quantity_none();
    const ch_status rc = read_plain(r, f, node, &q);
    if (rc < 0)
        return rc;
    if (q.si != 1)
        return REFUSE(node, "this program reads version 1", "the sheet is of version %s", q.number);
    return CH_OK;
}

static ch_status read_units(reader *r, const ch_tree_node *node)
{
    const char *keys[SHEET_UNITS_KEYS];
    for (size_t i = 0; i < SHEET_UNITS_KEYS; i++)
        keys[i] = sheet_units_keys[i].key;
    if (node->kind != CH_TREE_MAP)
        return REFUSE(node, "units: {pressure: psi, length: mm}", "units is not a map");
    for (const ch_tree_node *part = node->first; part != NULL; part = part->next) {
        size_t i = 0;
        while (i < SHEET_UNITS_KEYS && strcmp(part->key, keys[i]) != 0)
            i++;
        if (i == SHEET_UNITS_KEYS || strlen(keys[i]) != part->key_length)
            return refuse_key(r, part, keys, SHEET_UNITS_KEYS);
        const units_key *u = &sheet_units_keys[i];
        const ch_status rc = need_text(r, part, u->key, u->example);
        if (rc < 0)
            return rc;
        const ch_dimension dimension = u->dimension == DIM_DISTANCE ? CH_DIM_LENGTH : (ch_dimension)u->dimension;
        const ch_unit *unit = ch_unit_find(part->text, part->length);
        char shown[SHOWN];
        ch_text_excerpt(part->text, part->length, shown, sizeof shown);
        if (unit == NULL || unit->dimension != dimension)
            return REFUSE(part, ch_dimension_units(dimension), "units: %s: \"%s\" is not a unit of %s", u->key, shown,
                          ch_dimension_name(dimension));
        if (u->dimension == DIM_DISTANCE)
            r->sheet->bare_distance = unit;
        else
            r->sheet->bare_unit[dimension] = unit;
    }
    return CH_OK;
}

static ch_status read_map(reader *r, const section *s, const ch_tree_node *node, void *at);

/* Rules that join the fields of one row. */
static ch_status check_row(reader *r, const field *f, const ch_tree_node *node, const void *at)
{
    if (strcmp(f->key, "leakdown") != 0)
        return CH_OK;
    const ch_leakdown_row *row = at;
    const ch_tree_node *heard = ch_tree_get(node, "heard");
    if (heard == NULL && !ch_quantity_given(&row->loss))
        return REFUSE(node, "loss: 18 %, or heard: [exhaust], or both", "a leakdown row with neither loss nor heard");
    if ((row->heard & CH_HEARD_NOTHING) != 0 && (row->heard != CH_HEARD_NOTHING || row->heard_cylinders != 0))
        return REFUSE(heard, "nothing alone, or the places without it", "heard: \"nothing\" beside a place");
    if ((row->heard_cylinders >> (row->cylinder - 1) & 1U) != 0)
        return REFUSE(heard, "another cylinder's number", "heard: cylinder_%d is the cylinder under test",
                      row->cylinder);
    return CH_OK;
}

static ch_status read_rows(reader *r, const field *f, const ch_tree_node *node, void *at)
{
    if (node->kind != CH_TREE_LIST)
        return REFUSE(node, "a list of rows, each beginning with \"- \" in YAML", "%s is not a list", f->key);
    if (node->count == 0)
        return CH_OK;
    const section *s = f->inside;
    char *rows = calloc(node->count, s->size);
    if (rows == NULL)
        return no_memory(r);
    rows_set(at, f, rows, node->count); /* owned from here on, so that a refusal in the middle frees it */
    for (const ch_tree_node *part = node->first; part != NULL; part = part->next, rows += s->size) {
        section_init(s, rows);
        memcpy(rows + s->line, &part->line, sizeof part->line);
        memcpy(rows + s->column, &part->column, sizeof part->column);
        ch_status rc = read_map(r, s, part, rows);
        if (rc >= 0)
            rc = check_row(r, f, part, rows);
        if (rc < 0)
            return rc;
    }
    return CH_OK;
}

static ch_status read_field(reader *r, const field *f, const ch_tree_node *node, void *at)
{
    int *number = NULL;
    if (f->kind == FIELD_COUNT || f->kind == FIELD_CYLINDER || f->kind == FIELD_CYLINDER_ALL)
        number = (int *)(void *)((char *)at + f->offset);
    switch (f->kind) {
    case FIELD_VERSION: return read_version(r, f, node);
    case FIELD_UNITS: return read_units(r, node);
    case FIELD_MAP: return read_map(r, f->inside, node, (char *)at + f->offset);
    case FIELD_ROWS: return read_rows(r, f, node, at);
    case FIELD_QUANTITY: return read_quantity(r, f, node, at);
    case FIELD_NUMBER: return read_number(r, f, node, at);
    case FIELD_COUNT: return read_count(r, f, node, number);
    case FIELD_CYLINDER: return read_cylinder(r, f->key, node, number);
    case FIELD_CYLINDER_ALL: return read_cylinder_or_all(r, f, node, number);
    case FIELD_ORDER: return read_order(r, f, node, at);
    case FIELD_WORD: return read_word(r, f, node, at);
    case FIELD_TEXT:
    case FIELD_NAME: return read_text(r, f, node, at);
    case FIELD_DATE: return read_date(r, f, node, at);
    case FIELD_ACCURACY: return read_accuracy(r, f, node, at);
    case FIELD_HEARD: return read_heard(r, node, at);
    case FIELD_FOUND: return read_found(r, f, node, at);
    }
    return CH_E_INPUT;
}

static const field *find_field(const section *s, const ch_tree_node *part)
{
    for (size_t i = 0; i < s->count; i++)
        if (strlen(s->fields[i].key) == part->key_length && memcmp(s->fields[i].key, part->key, part->key_length) == 0)
            return &s->fields[i];
    return NULL;
}

/* Every key known, every required one there. */
static ch_status check_keys(reader *r, const section *s, const ch_tree_node *node)
{
    enum { KEYS_MAX = 16 };
    const char *keys[KEYS_MAX];
    size_t n = 0;
    char list[sizeof r->err->right];
    size_t used = 0;
    for (size_t i = 0; i < s->count && n < KEYS_MAX; i++) {
        keys[n++] = s->fields[i].key;
        if (used < sizeof list)
            used += (size_t)snprintf(list + used, sizeof list - used, "%s%s", i == 0 ? "a map with the keys " : ", ",
                                     s->fields[i].key);
    }
    if (node->kind != CH_TREE_MAP)
        return REFUSE(node, list, "%s is not a map", s->name);
    for (const ch_tree_node *part = node->first; part != NULL; part = part->next)
        if (find_field(s, part) == NULL)
            return refuse_key(r, part, keys, n);
    for (size_t i = 0; i < s->count; i++) {
        const field *f = &s->fields[i];
        if (!f->required || ch_tree_get(node, f->key) != NULL)
            continue;
        snprintf(list, sizeof list, "%s: %s", f->key, f->kind == FIELD_MAP ? "{cylinders: 4}" : f->example);
        return REFUSE(node, list, "%s lacks the key \"%s\"", s->name, f->key);
    }
    return CH_OK;
}

static ch_status read_map(reader *r, const section *s, const ch_tree_node *node, void *at)
{
    ch_status rc = check_keys(r, s, node);
    for (size_t i = 0; rc >= 0 && i < s->count; i++) {
        const ch_tree_node *part = s->fields[i].early ? ch_tree_get(node, s->fields[i].key) : NULL;
        if (part != NULL)
            rc = read_field(r, &s->fields[i], part, at);
    }
    for (const ch_tree_node *part = node->first; rc >= 0 && part != NULL; part = part->next) {
        const field *f = find_field(s, part);
        if (!f->early)
            rc = read_field(r, f, part, at);
    }
    return rc;
}

/* The lift at which published events hold must be one that the valve reaches. */
static ch_status check_lift(reader *r, const ch_tree_node *at_lift, const ch_valve_set *valves, const char *which)
{
    const ch_quantity *lift = &r->sheet->engine.timing.at_lift;
    if (!(lift->si >= valves->lift.si))
        return CH_OK;
    char text[48], right[96];
    ch_quantity_text(&valves->lift, text, sizeof text);
    snprintf(right, sizeof right, "less than the %s valves' lift of %s", which, text);
    return REFUSE(at_lift, right, "at_lift: the valve never opens that far");
}

/* Rules that join fields of different parts. Comparisons with what was not given (NaN) are false. */
static ch_status check_engine(reader *r, const ch_tree_node *node)
{
    const ch_sheet_engine *e = &r->sheet->engine;
    const ch_tree_node *part = ch_tree_get(node, "rod_length");
    if (part != NULL && e->rod_length.si <= e->stroke.si / 2)
        return REFUSE(part, "longer than half the stroke", "rod_length: the crank could not turn with so short a rod");
    const ch_tree_node *minimum = ch_tree_get(ch_tree_get(node, "limits"), "minimum");
    if (minimum != NULL && e->limits.minimum.si > e->limits.standard.si)
        return REFUSE(minimum, "at most the standard", "minimum: above the standard");
    const ch_tree_node *at_lift = ch_tree_get(ch_tree_get(node, "valve_timing"), "at_lift");
    if (at_lift == NULL)
        return CH_OK;
    const ch_status rc = check_lift(r, at_lift, &e->intake_valves, "intake");
    return rc < 0 ? rc : check_lift(r, at_lift, &e->exhaust_valves, "exhaust");
}

static ch_status read_sheet(reader *r, const ch_tree_node *root)
{
    ch_status rc = read_map(r, &sheet_root, root, r->sheet);
    if (rc >= 0)
        rc = check_engine(r, ch_tree_get(root, "engine"));
    const ch_sheet *s = r->sheet;
    if (rc >= 0 && s->compression_count + s->wet_count + s->leakdown_count + s->leaks_count == 0)
        rc = REFUSE(root, "at least one row of compression, wet or leakdown (or, to predict, of leaks)",
                    "the sheet has no reading");
    return rc;
}

static ch_status parse(const char *name, const char *text, size_t length, bool by_hand, ch_sheet *sheet, ch_err *err)
{
    ch_err spare = {0}; /* the reader sizes its messages by an err and may be given none */
    reader r = {.name = name,
                .sheet = sheet,
                .err = err != NULL ? err : &spare,
                .by_hand = by_hand,
                .json = ch_tree_is_json(name)};
    ch_sheet_init(sheet);
    ch_tree *tree = NULL;
    ch_status rc = ch_tree_parse(name, text, length, &tree, r.err);
    if (rc >= 0)
        rc = read_sheet(&r, ch_tree_root(tree));
    ch_tree_free(tree);
    if (rc < 0)
        ch_sheet_clear(sheet);
    return rc;
}

ch_status ch_sheet_parse(const char *name, const char *text, size_t length, ch_sheet *sheet, ch_err *err)
{
    return parse(name, text, length, false, sheet, err);
}

ch_status ch_sheet_parse_typed(const char *name, const char *text, size_t length, ch_sheet *sheet, ch_err *err)
{
    return parse(name, text, length, true, sheet, err);
}
