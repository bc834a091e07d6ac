/*
 * What is known of a sheet's engine, gauge and day (or of an engine or a gauge by itself) as rows of name and value.
 *
 * One walk over the table of the sheet's keys (car/sheet_fields.h) serves writing and reading, so a new key of the sheet is stored
 * without a word here. Whether a value may be is asked of ch_sheet_parse(): the store takes what a sheet's file could say.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "store_parts.h"

enum { PATH_SIZE = 96 };

/* One field on its way in or out. */
typedef struct leaf {
    const field *f; /* NULL for a key of `units` */
    const units_key *key;
    char *at; /* the struct that holds it */
    char name[PATH_SIZE];
} leaf;

typedef ch_status leaf_visit(void *context, const leaf *l, ch_err *err);

static ch_status walk(const section *s, char *at, const char *prefix, leaf_visit *visit, void *context, ch_err *err)
{
    ch_status rc = CH_OK;
    for (size_t i = 0; rc >= 0 && i < s->count; i++) {
        leaf l = {.f = &s->fields[i], .at = at};
        snprintf(l.name, sizeof l.name, "%s%s%s", prefix, prefix[0] != '\0' ? "." : "", l.f->key);
        if (l.f->kind == FIELD_MAP) {
            rc = walk(l.f->inside, at + l.f->offset, l.name, visit, context, err);
        } else if (l.f->kind == FIELD_UNITS) {
            for (size_t k = 0; rc >= 0 && k < SHEET_UNITS_KEYS; k++) {
                leaf unit = {.key = &sheet_units_keys[k], .at = at};
                snprintf(unit.name, sizeof unit.name, "units.%s", sheet_units_keys[k].key);
                rc = visit(context, &unit, err);
            }
        } else if (l.f->kind != FIELD_ROWS && l.f->kind != FIELD_VERSION) {
            rc = visit(context, &l, err);
        }
    }
    return rc;
}

static ch_status walk_owner(store_owner owner, ch_sheet *sheet, leaf_visit *visit, void *context, ch_err *err)
{
    const char *wanted = owner == STORE_OF_ENGINE ? "engine" : owner == STORE_OF_GAUGE ? "gauge" : NULL;
    if (wanted == NULL)
        return walk(&sheet_root, (char *)sheet, "", visit, context, err);
    for (size_t i = 0; i < sheet_root.count; i++) {
        const field *f = &sheet_root.fields[i];
        if (f->kind == FIELD_MAP && strcmp(f->key, wanted) == 0)
            return walk(f->inside, (char *)sheet + f->offset, wanted, visit, context, err);
    }
    return CH_E_INPUT;
}

/* ---- in ---- */

ch_status store_fields_check(store_owner owner, const ch_sheet *sheet, ch_err *err)
{
    ch_sheet part, read_back;
    ch_leaks_row any = {.cylinder = 0}; /* a sheet's file needs a row */
    ch_sheet_init(&part);
    any.rings = any.intake_valve = any.exhaust_valve = any.neighbour = any.coolant = ch_quantity_none();
    memcpy(part.bare_unit, sheet->bare_unit, sizeof part.bare_unit);
    part.bare_distance = sheet->bare_distance;
    part.typed = sheet->typed;
    if (owner != STORE_OF_GAUGE)
        part.engine = sheet->engine;
    if (owner != STORE_OF_ENGINE)
        part.gauge = sheet->gauge;
    if (owner == STORE_OF_SHEET) {
        part.title = sheet->title;
        part.note = sheet->note;
        part.conditions = sheet->conditions;
        part.model = sheet->model;
    }
    if (part.engine.cylinders == 0 && part.engine.firing_order[0] == 0)
        part.engine.cylinders = 1; /* not known yet */
    part.leaks = &any;
    part.leaks_count = 1;
    char *text = NULL;
    size_t length = 0;
    ch_err reason = {0};
    ch_status rc = ch_sheet_write(&part, true, &text, &length, &reason);
    if (rc >= 0)
        rc = ch_sheet_parse("entry", text, length, &read_back, &reason);
    free(text);
    if (rc >= 0)
        ch_sheet_clear(&read_back);
    else
        ch_fail(err, rc, reason.right, "%s", reason.what);
    return rc;
}

typedef struct putter {
    ch_store *st;
    sqlite3_stmt *set, *unset;
    int64_t id, now_s;
    const ch_sheet *sheet;
} putter;

/* The field's text, "" where not given; *unit, *value as the columns want them. */
static void text_of(const putter *p, const leaf *l, char *text, size_t size, const char **unit, int *bare,
                    double *value)
{
    const char *member = l->f != NULL ? l->at + l->f->offset : NULL;
    int number = 0;
    char amount[96];
    text[0] = '\0';
    if (l->f == NULL) {
        const int d = l->key->dimension;
        const ch_unit *u = d == DIM_DISTANCE ? p->sheet->bare_distance : p->sheet->bare_unit[d];
        snprintf(text, size, "%s", u != NULL ? u->name : "");
        return;
    }
    switch (l->f->kind) {
    case FIELD_QUANTITY: {
        const ch_quantity *q = (const ch_quantity *)(const void *)member;
        if (!ch_quantity_given(q))
            return;
        snprintf(text, size, "%s", q->number);
        *unit = q->unit->name;
        *bare = q->bare;
        *value = q->si;
        return;
    }
    case FIELD_NUMBER:
        memcpy(value, member, sizeof *value);
        if (!isnan(*value)) {
            snprintf(text, size, "%s", (const char *)p->sheet + l->f->second);
            if (text[0] == '\0')
                sqlite3_snprintf((int)size, text, "%!.17g", *value);
        }
        return;
    case FIELD_COUNT:
        memcpy(&number, member, sizeof number);
        if (number != 0)
            snprintf(text, size, "%d", number);
        return;
    case FIELD_WORD:
        memcpy(&number, member, sizeof number);
        snprintf(text, size, "%s", number > 0 ? l->f->words[number - 1] : "");
        return;
    case FIELD_ORDER:
        for (int i = 0; i < p->sheet->engine.cylinders && p->sheet->engine.firing_order[0] != 0; i++) {
            const size_t used = strlen(text);
            snprintf(text + used, size - used, "%s%d", i > 0 ? " " : "", p->sheet->engine.firing_order[i]);
        }
        return;
    case FIELD_DATE: ch_date_format(*(const ch_date *)(const void *)member, text, size); return;
    case FIELD_ACCURACY: {
        const ch_sheet_gauge *gauge = (const ch_sheet_gauge *)(const void *)l->at;
        if (gauge->accuracy_kind == CH_ACCURACY_UNSTATED)
            return;
        ch_quantity_text(&gauge->accuracy, amount, sizeof amount);
        if (gauge->grade != NULL)
            snprintf(text, size, "%s", gauge->grade->name);
        else
            snprintf(text, size, "%s of %s", amount,
                     gauge->accuracy_kind == CH_ACCURACY_OF_READING ? "reading" : "span");
        return;
    }
    default: return;
    }
}

static ch_status put_leaf(void *context, const leaf *l, ch_err *err)
{
    putter *p = context;
    char made[256];
    const char *text = made, *unit = NULL;
    int bare = 0;
    double value = NAN;
    if (l->f != NULL && l->f->kind == FIELD_TEXT)
        text = text_get(l->at, l->f) != NULL ? text_get(l->at, l->f) : "";
    else
        text_of(p, l, made, sizeof made, &unit, &bare, &value);
    const bool given = text[0] != '\0' || (l->f != NULL && l->f->kind == FIELD_TEXT && text_get(l->at, l->f) != NULL);
    sqlite3_stmt *q = given ? p->set : p->unset;
    int code = sqlite3_bind_int64(q, 1, p->id);
    if (code == SQLITE_OK)
        code = sqlite3_bind_text(q, 2, l->name, -1, SQLITE_STATIC);
    if (code == SQLITE_OK)
        code = sqlite3_bind_int64(q, 3, p->now_s);
    if (code == SQLITE_OK && given) {
        code = sqlite3_bind_text(q, 4, text, -1, SQLITE_STATIC);
        if (code == SQLITE_OK)
            code = sqlite3_bind_text(q, 5, unit, -1, SQLITE_STATIC);
        if (code == SQLITE_OK)
            code = unit != NULL ? sqlite3_bind_int(q, 6, bare) : sqlite3_bind_null(q, 6);
        if (code == SQLITE_OK)
            code = sqlite3_bind_double(q, 7, value);
    }
    bool more = false;
    ch_status rc = code == SQLITE_OK ? store_step(p->st, q, &more, err) : store_fail(p->st, code, "writing", err);
    sqlite3_reset(q); /* its failure is that of the step */
    return rc;
}

#define SET(column)                                                                                                    \
    "INSERT INTO field (" column ", name, changed_s, text, unit, bare, value) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)"     \
    " ON CONFLICT (" column ", name) DO UPDATE SET changed_s = excluded.changed_s, text = excluded.text,"              \
    " unit = excluded.unit, bare = excluded.bare, value = excluded.value"                                              \
    " WHERE (text, unit, bare, value) IS NOT (excluded.text, excluded.unit, excluded.bare, excluded.value)"
#define UNSET(column)                                                                                                  \
    "UPDATE field SET text = NULL, unit = NULL, bare = NULL, value = NULL, changed_s = ?3"                             \
    " WHERE " column " = ?1 AND name = ?2 AND text IS NOT NULL"
#define GET(column)                                                                                                    \
    "SELECT name, text, unit, bare, value FROM field WHERE " column " = ?1 AND text IS NOT NULL ORDER BY id"

static const struct {
    const char *set, *unset, *get;
} owners[] = {
    [STORE_OF_SHEET] = {SET("sheet_id"), UNSET("sheet_id"), GET("sheet_id")},
    [STORE_OF_ENGINE] = {SET("engine_id"), UNSET("engine_id"), GET("engine_id")},
    [STORE_OF_GAUGE] = {SET("gauge_id"), UNSET("gauge_id"), GET("gauge_id")},
};

ch_status store_fields_put(ch_store *st, store_owner owner, int64_t id, const ch_sheet *sheet, int64_t now_s,
                           ch_err *err)
{
    putter p = {.st = st, .id = id, .now_s = now_s, .sheet = sheet};
    ch_sheet walked = *sheet; /* the walk serves reading too, and asks for what can be written; nothing is */
    ch_status rc = store_prepare(st, &p.set, err, owners[owner].set, "");
    if (rc >= 0)
        rc = store_prepare(st, &p.unset, err, owners[owner].unset, "");
    if (rc >= 0)
        rc = walk_owner(owner, &walked, put_leaf, &p, err);
    store_release(st, p.set);
    store_release(st, p.unset);
    return rc;
}

/* ---- out ---- */

typedef struct stored_field {
    const char *name, *text, *unit;
    bool bare, used;
    double value;
} stored_field;

typedef struct getter {
    ch_sheet *sheet;
    stored_field *fields;
    size_t count;
} getter;

static ch_status unreadable(const char *name, ch_err *err)
{
    return ch_fail(err, CH_E_INPUT, "check the garage file by `crosshatch verify`", "%s: what is stored cannot be read",
                   name);
}

static ch_status get_number(const char *text, int lowest, int highest, int *number)
{
    char *end = NULL;
    const long read = strtol(text, &end, 10);
    if (end == text || *end != '\0' || read < lowest || read > highest)
        return CH_E_INPUT;
    *number = (int)read;
    return CH_OK;
}

static ch_status get_order(const char *text, int order[])
{
    for (int i = 0; i < CH_CYLINDERS_MAX && *text != '\0'; i++) {
        char *end = NULL;
        const long read = strtol(text, &end, 10);
        if (end == text || read < 1 || read > CH_CYLINDERS_MAX)
            return CH_E_INPUT;
        order[i] = (int)read;
        text = end;
    }
    return *text == '\0' ? CH_OK : CH_E_INPUT;
}

static ch_status get_unit(getter *g, const units_key *key, const char *text)
{
    const ch_unit *unit = ch_unit_find(text, strlen(text));
    if (unit == NULL)
        return CH_E_INPUT;
    if (key->dimension == DIM_DISTANCE)
        g->sheet->bare_distance = unit;
    else
        g->sheet->bare_unit[key->dimension] = unit;
    return CH_OK;
}

static ch_status get_value(getter *g, const leaf *l, const stored_field *s, ch_err *err)
{
    char *member = l->at + l->f->offset;
    ch_err ignored = {0};
    int number = 0;
    ch_status rc = CH_OK;
    switch (l->f->kind) {
    case FIELD_QUANTITY: {
        ch_quantity q = {.si = s->value, .bare = s->bare};
        q.unit = s->unit != NULL ? ch_unit_find(s->unit, strlen(s->unit)) : NULL;
        if (q.unit == NULL || isnan(q.si) || strlen(s->text) >= sizeof q.number)
            return CH_E_INPUT;
        memcpy(q.number, s->text, strlen(s->text) + 1);
        memcpy(member, &q, sizeof q);
        return CH_OK;
    }
    case FIELD_NUMBER:
        if (isnan(s->value) || strlen(s->text) >= sizeof g->sheet->typed.annand)
            return CH_E_INPUT;
        memcpy((char *)g->sheet + l->f->second, s->text, strlen(s->text) + 1);
        memcpy(member, &s->value, sizeof s->value);
        return CH_OK;
    case FIELD_COUNT:
        rc = get_number(s->text, (int)l->f->low, (int)l->f->high, &number);
        memcpy(member, &number, sizeof number);
        return rc;
    case FIELD_WORD:
        for (size_t i = 0; i < l->f->values; i++)
            if (strcmp(l->f->words[i], s->text) == 0)
                number = (int)i + 1;
        memcpy(member, &number, sizeof number);
        return number != 0 ? CH_OK : CH_E_INPUT;
    case FIELD_ORDER: return get_order(s->text, g->sheet->engine.firing_order);
    case FIELD_DATE: return ch_date_parse(s->text, strlen(s->text), (ch_date *)(void *)member, &ignored);
    case FIELD_ACCURACY:
        return ch_gauge_accuracy_parse(s->text, strlen(s->text), (ch_sheet_gauge *)(void *)l->at, &ignored);
    case FIELD_TEXT: {
        char *copy = strdup(s->text);
        if (copy == NULL)
            return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the sheet");
        free(text_get(l->at, l->f));
        text_set(l->at, l->f, copy);
        return CH_OK;
    }
    default: return CH_E_INPUT;
    }
}

static ch_status get_leaf(void *context, const leaf *l, ch_err *err)
{
    getter *g = context;
    for (size_t i = 0; i < g->count; i++) {
        stored_field *s = &g->fields[i];
        if (s->used || strcmp(s->name, l->name) != 0)
            continue;
        s->used = true;
        const ch_status rc = l->f != NULL ? get_value(g, l, s, err) : get_unit(g, l->key, s->text);
        return rc == CH_E_INPUT ? unreadable(l->name, err) : rc;
    }
    return CH_OK;
}

/* `q` is released; `rc` is what came of preparing it. */
static ch_status get_fields(ch_store *st, ch_status rc, sqlite3_stmt *q, store_owner owner, ch_sheet *sheet,
                            ch_err *err)
{
    ch_store_pool pool = {0};
    store_list list = {.pool = &pool, .size = sizeof(stored_field)};
    bool more = false;
    while (rc >= 0 && (rc = store_step(st, q, &more, err)) >= 0 && more) {
        stored_field *s = store_list_more(&list, err);
        if (s == NULL) {
            rc = CH_E_MEMORY;
            break;
        }
        rc = store_text(&pool, q, 0, &s->name, err);
        if (rc >= 0)
            rc = store_text(&pool, q, 1, &s->text, err);
        if (rc >= 0)
            rc = store_text(&pool, q, 2, &s->unit, err);
        s->bare = sqlite3_column_int(q, 3) != 0;
        s->value = store_real(q, 4);
    }
    store_release(st, q);
    getter g = {.sheet = sheet, .fields = (stored_field *)(void *)list.rows, .count = list.count};
    if (rc >= 0)
        rc = walk_owner(owner, sheet, get_leaf, &g, err);
    for (size_t i = 0; rc >= 0 && i < g.count; i++)
        if (!g.fields[i].used)
            rc = unreadable(g.fields[i].name, err);
    ch_store_pool_clear(&pool);
    return rc;
}

ch_status store_fields_get(ch_store *st, store_owner owner, int64_t id, ch_sheet *sheet, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    const ch_status rc = store_prepare(st, &q, err, owners[owner].get, "i", id);
    return get_fields(st, rc, q, owner, sheet, err);
}

ch_status store_fields_get_own(ch_store *st, int64_t sheet_id, int64_t engine_id, int64_t gauge_id, ch_sheet *sheet,
                               ch_err *err)
{
    sqlite3_stmt *q = NULL;
    const ch_status rc = store_prepare(
        st, &q, err,
        "SELECT name, text, unit, bare, value FROM field s WHERE sheet_id = ?1 AND text IS NOT NULL AND NOT EXISTS ("
        "SELECT 1 FROM field f WHERE (f.engine_id = ?2 OR f.gauge_id = ?3) AND f.name = s.name"
        " AND ((f.text, f.unit) IS (s.text, s.unit) OR EXISTS (SELECT 1 FROM history h"
        "  WHERE h.table_name = 'field' AND h.row_id = f.id"
        "  AND (json_extract(h.was, '$.text'), json_extract(h.was, '$.unit')) IS (s.text, s.unit)))) ORDER BY id",
        "iii", sheet_id, engine_id, gauge_id);
    return get_fields(st, rc, q, STORE_OF_SHEET, sheet, err);
}

/* ---- compared ---- */

typedef struct comparing {
    putter a, b;
    char *walked, *other; /* of which the walk is, and what it is compared with */
    bool same;
} comparing;

static ch_status compare_leaf(void *context, const leaf *l, ch_err *err)
{
    comparing *c = context;
    char text[2][256];
    const char *unit[2] = {"", ""};
    int bare = 0; /* says how it was typed, not what */
    double value = NAN;
    leaf other = *l;
    (void)err;
    other.at = c->other + (l->at - c->walked);
    text_of(&c->a, l, text[0], sizeof text[0], &unit[0], &bare, &value);
    text_of(&c->b, &other, text[1], sizeof text[1], &unit[1], &bare, &value);
    c->same = c->same && strcmp(text[0], text[1]) == 0 && strcmp(unit[0], unit[1]) == 0;
    return CH_OK;
}

bool store_fields_same(const ch_sheet *a, const ch_sheet *b)
{
    ch_sheet walked = *a, other = *b; /* the walk asks for what can be written; nothing is */
    comparing c = {.a = {.sheet = &walked},
                   .b = {.sheet = &other},
                   .walked = (char *)&walked,
                   .other = (char *)&other,
                   .same = true};
    walk_owner(STORE_OF_ENGINE, &walked, compare_leaf, &c, NULL);
    walk_owner(STORE_OF_GAUGE, &walked, compare_leaf, &c, NULL);
    return c.same;
}
