/*
 * A test sheet as text, YAML or JSON, by the same table that reads it.
 *
 * Both forms share one walk: what differs is how a key, a text and a number are spelled, and where lines break. A text that any YAML
 * reader could take for something else is written in double quotes, whose escapes YAML and JSON share. Numbers are copied as typed,
 * never printed, so no locale and no rounding touches them.
 */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/text.h"
#include "sheet_fields.h"

typedef struct writer {
    const ch_sheet *sheet;
    bool json;
    ch_text out;
    ch_status status;
    const char *bad; /* key of the quantity that has no text */
} writer;

static void put(writer *w, const char *text)
{
    ch_text_append_string(&w->out, text);
}

static void put_line(writer *w, int depth)
{
    put(w, "\n");
    for (int i = 0; i < depth; i++)
        put(w, "  ");
}

/* Characters that YAML 1.1 readers take for a line end, a byte-order mark or nothing at all: all of three bytes. */
static const char *escape_of(const char *at)
{
    static const char *const escapes[][2] = {{"\xE2\x80\xA8", "\\u2028"},
                                             {"\xE2\x80\xA9", "\\u2029"},
                                             {"\xEF\xBB\xBF", "\\ufeff"},
                                             {"\xEF\xBF\xBE", "\\ufffe"},
                                             {"\xEF\xBF\xBF", "\\uffff"}};
    for (size_t i = 0; i < sizeof escapes / sizeof escapes[0]; i++)
        if (strncmp(at, escapes[i][0], 3) == 0)
            return escapes[i][1];
    return NULL;
}

static void put_quoted(writer *w, const char *text)
{
    put(w, "\"");
    for (const char *c = text; *c != '\0'; c++) {
        switch (*c) {
        case '"': put(w, "\\\""); break;
        case '\\': put(w, "\\\\"); break;
        case '\n': put(w, "\\n"); break;
        case '\r': put(w, "\\r"); break;
        case '\t': put(w, "\\t"); break;
        default:
            if (escape_of(c) != NULL) {
                put(w, escape_of(c));
                c += 2;
            } else {
                ch_text_append(&w->out, c, 1);
            }
            break;
        }
    }
    put(w, "\"");
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/* RFC 8259, section 6: also a number to every YAML reader, and kept as text by ours. */
static bool is_json_number(const char *text)
{
    const char *c = text;
    if (*c == '-')
        c++;
    if (!is_digit(*c) || (*c == '0' && is_digit(c[1])))
        return false;
    while (is_digit(*c))
        c++;
    if (*c == '.') {
        if (!is_digit(*++c))
            return false;
        while (is_digit(*c))
            c++;
    }
    if (*c == 'e' || *c == 'E') {
        c++;
        if (*c == '+' || *c == '-')
            c++;
        if (!is_digit(*c))
            return false;
        while (is_digit(*c))
            c++;
    }
    return *c == '\0';
}

/* True where no YAML reader takes the text for anything but this text: what begins and ends alike, and no sign that YAML reads. */
static bool is_plain(const char *text)
{
    static const char *const taken[] = {"null", "true", "false", "yes", "no", "on", "off", "y", "n"};
    const size_t length = strlen(text);
    if (length == 0 || text[length - 1] == ' ')
        return false;
    bool letters = false;
    for (size_t i = 0; i < length; i++) {
        letters = letters || is_letter(text[i]);
        if (!is_digit(text[i]) && !is_letter(text[i]) && strchr(" ._/%+-", text[i]) == NULL)
            return false;
    }
    const bool quantity = is_digit(text[0]) || (text[0] == '-' && is_digit(text[1]));
    if (quantity) /* a number and a unit, "12 C", "18 %"; not 0x10, 1e3, 2027-01-16 */
        return strchr(text, ' ') != NULL;
    if (!is_letter(text[0]))
        return false;
    for (size_t i = 0; i < sizeof taken / sizeof taken[0]; i++) {
        size_t k = 0;
        while (k < length && taken[i][k] != '\0' && tolower((unsigned char)text[k]) == taken[i][k])
            k++;
        if (k == length && taken[i][k] == '\0')
            return false;
    }
    return letters;
}

static void put_text(writer *w, const char *text)
{
    if (!w->json && is_plain(text))
        put(w, text);
    else
        put_quoted(w, text);
}

static void put_number_text(writer *w, const char *number)
{
    if (is_json_number(number))
        put(w, number);
    else
        put_quoted(w, number);
}

static void put_int(writer *w, int value)
{
    ch_text_appendf(&w->out, "%d", value);
}

/* The shortest digits that give the number back; the locale's decimal mark becomes a point. */
static void number_text(double value, char text[static 32])
{
    for (int digits = 1; digits <= 17; digits++) {
        snprintf(text, 32, "%.*g", digits, value);
        if (strtod(text, NULL) == value)
            break;
    }
    for (char *c = text; *c != '\0'; c++)
        if (strchr("0123456789+-e", *c) == NULL)
            *c = '.';
}

/* How a pure number was typed, if that still is its value; else its shortest digits. */
static void put_number(writer *w, const field *f, double value)
{
    char typed[32];
    ch_quantity q = ch_quantity_none();
    ch_err ignored = {0};
    memcpy(typed, (const char *)w->sheet + f->second, sizeof typed);
    const bool kept =
        typed[0] != '\0' && memchr(typed, '\0', sizeof typed) != NULL &&
        ch_quantity_parse(typed, strlen(typed), CH_DIM_RATIO, ch_unit_find("1", 1), &q, &ignored) == CH_OK &&
        q.si == value;
    if (!kept)
        number_text(value, typed);
    put_number_text(w, typed);
}

static void put_quantity(writer *w, const field *f, const ch_quantity *q)
{
    if (q->number[0] == '\0') {
        w->status = CH_E_RANGE;
        w->bad = f->key;
        return;
    }
    if (q->bare && q->unit == sheet_bare_unit(w->sheet, f)) {
        put_number_text(w, q->number);
        return;
    }
    char text[96];
    ch_quantity whole = *q;
    whole.bare = false; /* a bare number whose unit the sheet does not name keeps its meaning only with the unit */
    ch_quantity_text(&whole, text, sizeof text);
    put_text(w, text);
}

static void put_accuracy(writer *w, const ch_sheet_gauge *gauge)
{
    char number[96], text[128];
    if (gauge->grade != NULL) {
        put_text(w, gauge->grade->name);
        return;
    }
    ch_quantity_text(&gauge->accuracy, number, sizeof number);
    snprintf(text, sizeof text, "%s of %s", number,
             gauge->accuracy_kind == CH_ACCURACY_OF_READING ? "reading" : "span");
    put_text(w, text);
}

static void put_heard(writer *w, const ch_leakdown_row *row)
{
    bool first = true;
    put(w, "[");
    for (unsigned i = 0; i < SHEET_HEARD_WORDS; i++)
        if ((row->heard >> i & 1U) != 0) {
            put(w, first ? "" : ", ");
            put_text(w, sheet_heard_words[i]);
            first = false;
        }
    for (int i = 0; i < CH_CYLINDERS_MAX; i++)
        if ((row->heard_cylinders >> i & 1U) != 0) {
            char word[32];
            snprintf(word, sizeof word, "cylinder_%d", i + 1);
            put(w, first ? "" : ", ");
            put_text(w, word);
            first = false;
        }
    put(w, "]");
}

static void put_order(writer *w, const int order[])
{
    put(w, "[");
    for (int i = 0; i < w->sheet->engine.cylinders; i++) {
        put(w, i == 0 ? "" : ", ");
        put_int(w, order[i]);
    }
    put(w, "]");
}

static bool units_given(const ch_sheet *sheet)
{
    for (size_t i = 0; i < SHEET_UNITS_KEYS; i++) {
        const int d = sheet_units_keys[i].dimension;
        if ((d == DIM_DISTANCE ? sheet->bare_distance : sheet->bare_unit[d]) != NULL)
            return true;
    }
    return false;
}

static bool section_given(const section *s, const void *at);

/* An int or an enum, which has an int's size. */
static int int_get(const void *at, const field *f)
{
    int value = 0;
    memcpy(&value, (const char *)at + f->offset, sizeof value);
    return value;
}

static bool field_given(const writer *w, const field *f, const void *at)
{
    const void *member = (const char *)at + f->offset;
    size_t count = 0;
    switch (f->kind) {
    case FIELD_VERSION: return true;
    case FIELD_UNITS: return units_given(w->sheet);
    case FIELD_MAP: return f->required || section_given(f->inside, member);
    case FIELD_ROWS: rows_get(at, f, &count); return count > 0;
    case FIELD_QUANTITY: return ch_quantity_given(member);
    case FIELD_NUMBER: return !isnan(*(const double *)member);
    case FIELD_COUNT:
    case FIELD_ORDER:
    case FIELD_WORD: return int_get(at, f) != 0;
    case FIELD_CYLINDER: return f->required || int_get(at, f) != 0;
    case FIELD_CYLINDER_ALL: return true;
    case FIELD_TEXT:
    case FIELD_NAME: return text_get(at, f) != NULL;
    case FIELD_DATE: return ch_date_given(*(const ch_date *)member);
    case FIELD_ACCURACY: return ((const ch_sheet_gauge *)at)->accuracy_kind != CH_ACCURACY_UNSTATED;
    case FIELD_HEARD:
        return ((const ch_leakdown_row *)at)->heard != 0 || ((const ch_leakdown_row *)at)->heard_cylinders != 0;
    case FIELD_FOUND: return ((const ch_observation *)at)->absent;
    }
    return false;
}

static bool section_given(const section *s, const void *at)
{
    const writer none = {0}; /* no section inside another holds units */
    for (size_t i = 0; i < s->count; i++)
        if (field_given(&none, &s->fields[i], at))
            return true;
    return false;
}

static void put_map(writer *w, const section *s, const void *at, int depth, bool in_line);

static void put_rows(writer *w, const field *f, const void *at, int depth)
{
    size_t count = 0;
    const char *rows = rows_get(at, f, &count);
    if (w->json) {
        put(w, "[");
        depth++; /* inside the outermost braces */
    }
    for (size_t i = 0; i < count; i++) {
        put(w, w->json && i > 0 ? "," : "");
        put_line(w, depth + 1);
        put(w, w->json ? "" : "- ");
        put_map(w, f->inside, rows + i * f->inside->size, depth + 1, true);
    }
    if (w->json) {
        put_line(w, depth);
        put(w, "]");
    }
}

/* A key with its colon, and what parts it from the one before. */
static void put_key(writer *w, const char *key, bool first, int depth, bool in_line)
{
    if (in_line)
        put(w, first ? "" : ", ");
    else if (w->json || !first || depth > 0) {
        put(w, w->json && !first ? "," : "");
        put_line(w, depth);
    }
    if (w->json)
        put_quoted(w, key);
    else
        put(w, key);
    put(w, ":");
}

static void put_units(writer *w)
{
    bool first = true;
    put(w, "{");
    for (size_t i = 0; i < SHEET_UNITS_KEYS; i++) {
        const int d = sheet_units_keys[i].dimension;
        const ch_unit *unit = d == DIM_DISTANCE ? w->sheet->bare_distance : w->sheet->bare_unit[d];
        if (unit == NULL)
            continue;
        put_key(w, sheet_units_keys[i].key, first, 0, true);
        put(w, " ");
        put_text(w, unit->name);
        first = false;
    }
    put(w, "}");
}

static void put_value(writer *w, const field *f, const void *at, int depth)
{
    const void *member = (const char *)at + f->offset;
    char date[16];
    const bool deep = f->kind == FIELD_MAP && depth == 0; /* the parts of the sheet get lines of their own */
    if (w->json || !(deep || f->kind == FIELD_ROWS))
        put(w, " ");
    switch (f->kind) {
    case FIELD_VERSION: put(w, "1"); break;
    case FIELD_UNITS: put_units(w); break;
    case FIELD_MAP: put_map(w, f->inside, member, depth + 1, !deep); break;
    case FIELD_ROWS: put_rows(w, f, at, depth); break;
    case FIELD_QUANTITY: put_quantity(w, f, member); break;
    case FIELD_NUMBER: put_number(w, f, *(const double *)member); break;
    case FIELD_COUNT:
    case FIELD_CYLINDER: put_int(w, int_get(at, f)); break;
    case FIELD_CYLINDER_ALL:
        if (int_get(at, f) == 0)
            put_text(w, "all");
        else
            put_int(w, int_get(at, f));
        break;
    case FIELD_ORDER: put_order(w, member); break;
    case FIELD_WORD: put_text(w, f->words[int_get(at, f) - 1]); break;
    case FIELD_TEXT:
    case FIELD_NAME: put_text(w, text_get(at, f)); break;
    case FIELD_DATE:
        ch_date_format(*(const ch_date *)member, date, sizeof date);
        if (w->json)
            put_quoted(w, date);
        else
            put(w, date);
        break;
    case FIELD_ACCURACY: put_accuracy(w, at); break;
    case FIELD_HEARD: put_heard(w, at); break;
    case FIELD_FOUND: put(w, w->json ? "false" : "no"); break;
    }
}

static void put_map(writer *w, const section *s, const void *at, int depth, bool in_line)
{
    const bool braces = w->json || in_line;
    bool first = true;
    put(w, braces ? "{" : "");
    for (size_t i = 0; i < s->count; i++) {
        const field *f = &s->fields[i];
        if (!field_given(w, f, at))
            continue;
        put_key(w, f->key, first, w->json && !in_line ? depth + 1 : depth, in_line);
        put_value(w, f, at, in_line ? depth + 1 : depth);
        first = false;
    }
    if (w->json && !in_line)
        put_line(w, depth);
    put(w, braces ? "}" : "");
}

ch_status ch_sheet_write(const ch_sheet *sheet, bool json, char **text, size_t *length, ch_err *err)
{
    writer w = {.sheet = sheet, .json = json};
    ch_text_init(&w.out, CH_SHEET_BYTES_MAX);
    put_map(&w, &sheet_root, sheet, 0, false);
    put(&w, "\n");
    ch_status rc = ch_text_check(&w.out, err);
    if (rc >= 0 && w.status < 0)
        rc = ch_fail(err, w.status, "quantities made by ch_quantity_parse", "%s has a value but no text", w.bad);
    if (rc < 0) {
        ch_text_clear(&w.out);
        return rc;
    }
    *text = w.out.bytes;
    *length = w.out.length;
    return CH_OK;
}
