/*
 * Rows of a sheet: readings, observations, assumed leaks. Append-only: what was entered stays as it was entered.
 *
 *  1. A row is taken when ch_sheet_parse() takes a sheet that holds it, so that what is stored can always be a sheet's file.
 *  2. A chain of corrections has no branches (replaces_id is unique) and runs forward (replaces_id < id).
 *  3. What was written is read back before it is committed.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "store_parts.h"

const char *const store_kind_names[CH_STORE_KINDS] = {"compression", "wet", "leakdown", "observed", "leaks"};

const section *store_kind_section(ch_store_kind kind)
{
    for (size_t i = 0; i < sheet_root.count; i++)
        if (strcmp(sheet_root.fields[i].key, store_kind_names[kind]) == 0)
            return sheet_root.fields[i].inside;
    return NULL;
}

void *store_row_member(ch_store_row *row)
{
    switch (row->kind) {
    case CH_STORE_LEAKDOWN: return &row->leakdown;
    case CH_STORE_OBSERVED: return &row->observed;
    case CH_STORE_LEAKS: return &row->leaks;
    case CH_STORE_DRY:
    case CH_STORE_WET:
    case CH_STORE_KINDS: break;
    }
    return &row->reading;
}

/* What the kinds have in common, wherever it stands in each. */
typedef struct common {
    int *cylinder;
    char **note;
} common;

static common common_of(ch_store_row *row)
{
    switch (row->kind) {
    case CH_STORE_LEAKDOWN: return (common){&row->leakdown.cylinder, &row->leakdown.note};
    case CH_STORE_OBSERVED: return (common){&row->observed.cylinder, &row->observed.note};
    case CH_STORE_LEAKS: return (common){&row->leaks.cylinder, &row->leaks.note};
    case CH_STORE_DRY:
    case CH_STORE_WET:
    case CH_STORE_KINDS: break;
    }
    return (common){&row->reading.cylinder, &row->reading.note};
}

void ch_store_row_init(ch_store_row *row, ch_store_kind kind)
{
    memset(row, 0, sizeof *row);
    row->kind = kind;
    section_init(store_kind_section(CH_STORE_WET), &row->reading);
    section_init(store_kind_section(CH_STORE_LEAKDOWN), &row->leakdown);
    section_init(store_kind_section(CH_STORE_OBSERVED), &row->observed);
    section_init(store_kind_section(CH_STORE_LEAKS), &row->leaks);
}

/* A sheet with this one row, as a file would have it, must be taken by the reader. `cylinders` 0 = not known yet. */
static ch_status check(const ch_store_row *row, int cylinders, ch_err *err)
{
    if ((unsigned)row->kind >= CH_STORE_KINDS)
        return ch_fail(err, CH_E_INPUT, "one of ch_store_kind", "a row of an unknown kind");
    ch_store_row one = *row;
    ch_sheet sheet, read_back;
    ch_leaks_row any = {.cylinder = 0};
    any.rings = any.intake_valve = any.exhaust_valve = any.neighbour = any.coolant = ch_quantity_none();
    ch_sheet_init(&sheet);
    sheet.engine.cylinders = cylinders > 0 ? cylinders : CH_CYLINDERS_MAX;
    switch (one.kind) {
    case CH_STORE_LEAKDOWN:
        sheet.leakdown = &one.leakdown;
        sheet.leakdown_count = 1;
        break;
    case CH_STORE_OBSERVED: /* alone it makes no sheet */
        sheet.observed = &one.observed;
        sheet.observed_count = 1;
        sheet.leaks = &any;
        sheet.leaks_count = 1;
        break;
    case CH_STORE_LEAKS:
        sheet.leaks = &one.leaks;
        sheet.leaks_count = 1;
        break;
    case CH_STORE_WET:
        sheet.wet = &one.reading;
        sheet.wet_count = 1;
        break;
    case CH_STORE_DRY:
    case CH_STORE_KINDS:
        sheet.compression = &one.reading;
        sheet.compression_count = 1;
        break;
    }
    char *text = NULL;
    size_t length = 0;
    ch_err reason = {0};
    ch_status rc = CH_OK;
    if (one.kind == CH_STORE_OBSERVED && one.observed.what == NULL)
        rc = ch_fail(&reason, CH_E_INPUT, "what: coolant_loss", "an observed row without what was observed");
    if (rc >= 0)
        rc = ch_sheet_write(&sheet, true, &text, &length, &reason);
    if (rc >= 0)
        rc = ch_sheet_parse("entry", text, length, &read_back, &reason);
    free(text);
    if (rc >= 0)
        ch_sheet_clear(&read_back);
    else
        ch_fail(err, rc, reason.right, "%s", reason.what);
    return rc;
}

/* One step of the last digit typed: "12.30" 0.01, "1.5e2" 10. Behind the point or comma of a number stand digits alone. */
static double resolution(const ch_quantity *q)
{
    const char *c = q->number;
    int decimals = 0;
    bool fraction = false;
    for (; *c != '\0' && *c != 'e' && *c != 'E'; c++) {
        decimals += fraction;
        fraction = fraction || *c == '.' || *c == ',';
    }
    const long exponent = *c != '\0' ? strtol(c + 1, NULL, 10) : 0;
    return pow(10, (double)(exponent - decimals)) * q->unit->factor;
}

static ch_status insert_quantities(ch_store *st, int64_t id, ch_store_row *row, ch_err *err)
{
    const section *s = store_kind_section(row->kind);
    const char *at = store_row_member(row);
    ch_status rc = CH_OK;
    for (size_t i = 0; rc >= 0 && i < s->count; i++) {
        ch_quantity q;
        if (s->fields[i].kind != FIELD_QUANTITY)
            continue;
        memcpy(&q, at + s->fields[i].offset, sizeof q);
        if (ch_quantity_given(&q))
            rc = store_run(st, err,
                           "INSERT INTO entry_quantity (entry_id, name, text, unit, bare, value, resolution)"
                           " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                           "itttirr", id, s->fields[i].key, q.number, q.unit->name, (int64_t)q.bare, q.si,
                           resolution(&q));
    }
    return rc;
}

ch_status store_row_insert(ch_store *st, int64_t sheet_id, const ch_store_row *row, int64_t replaces_id,
                           int64_t first_id, bool deletion, const char *client, int64_t now_s, int64_t *id, ch_err *err)
{
    ch_store_row copy = *row;
    const common c = common_of(&copy);
    int64_t next = 0;
    ch_status rc = store_number(st, &next, 1, err, "SELECT max(id) + 1 FROM entry", "");
    if (rc < 0)
        return rc;
    const bool observed = row->kind == CH_STORE_OBSERVED, heard = row->kind == CH_STORE_LEAKDOWN;
    rc = store_run(
        st, err,
        "INSERT INTO entry (id, sheet_id, kind, first_id, replaces_id, deletion, cylinder, what, absent, heard,"
        " heard_cylinders, note, entered_s, client)"
        " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14)",
        "iitinintiiitit", next, sheet_id, store_kind_names[row->kind], first_id != 0 ? first_id : next, replaces_id,
        (int64_t)deletion, (int64_t)*c.cylinder, observed ? row->observed.what : NULL,
        (int64_t)(observed && row->observed.absent), heard ? (int64_t)row->leakdown.heard : 0,
        heard ? (int64_t)row->leakdown.heard_cylinders : 0, *c.note, now_s, client);
    if (rc >= 0 && !deletion)
        rc = insert_quantities(st, next, &copy, err);
    if (rc >= 0)
        *id = next;
    return rc;
}

/* ---- reading ---- */

/* Ordered as a sheet lists them: by kind, then by where the chain began, then by time; quantities side by side. */
#define ROWS_SQL(where)                                                                                                \
    "SELECT e.id, e.sheet_id, e.kind, e.first_id, e.replaces_id, e.deletion, e.cylinder, e.what, e.absent, e.heard,"   \
    " e.heard_cylinders, e.note, e.entered_s, e.client,"                                                               \
    " e.deletion = 0 AND NOT EXISTS (SELECT 1 FROM entry n WHERE n.replaces_id = e.id) AS current,"                    \
    " q.name, q.text, q.unit, q.bare, q.value"                                                                         \
    " FROM entry e LEFT JOIN entry_quantity q ON q.entry_id = e.id WHERE " where " AND (current OR ?2)"                \
    " ORDER BY CASE e.kind WHEN 'compression' THEN 0 WHEN 'wet' THEN 1 WHEN 'leakdown' THEN 2 WHEN 'observed' THEN 3"  \
    " ELSE 4 END, e.first_id, e.id"

static ch_status read_row(sqlite3_stmt *q, ch_store_pool *pool, ch_store_row *row, ch_err *err)
{
    const char *kind = NULL, *note = NULL, *what = NULL;
    int number = 0;
    ch_status rc = store_said(q, 2, &kind, err);
    if (rc < 0)
        return rc;
    while (number < CH_STORE_KINDS && strcmp(kind, store_kind_names[number]) != 0)
        number++;
    if (number == CH_STORE_KINDS)
        return ch_fail(err, CH_E_INPUT, "check the garage file by `crosshatch verify`", "a row of an unknown kind");
    ch_store_row_init(row, (ch_store_kind)number);
    row->id = sqlite3_column_int64(q, 0);
    row->sheet_id = sqlite3_column_int64(q, 1);
    row->first_id = sqlite3_column_int64(q, 3);
    row->replaces_id = sqlite3_column_int64(q, 4);
    row->deletion = sqlite3_column_int(q, 5) != 0;
    row->entered_s = sqlite3_column_int64(q, 12);
    row->current = sqlite3_column_int(q, 14) != 0;
    const common c = common_of(row);
    *c.cylinder = sqlite3_column_int(q, 6);
    row->observed.absent = sqlite3_column_int(q, 8) != 0;
    row->leakdown.heard = (unsigned)sqlite3_column_int64(q, 9);
    row->leakdown.heard_cylinders = (unsigned)sqlite3_column_int64(q, 10);
    rc = store_text(pool, q, 7, &what, err);
    if (rc >= 0)
        rc = store_text(pool, q, 11, &note, err);
    if (rc >= 0)
        rc = store_text(pool, q, 13, &row->client, err);
    /* the structs of car own their texts, these belong to the pool; nobody changes or frees either */
    memcpy(&row->observed.what, &what, sizeof what);
    memcpy(c.note, &note, sizeof note);
    return rc;
}

static ch_status read_quantity(sqlite3_stmt *q, ch_store_row *row, ch_err *err)
{
    const char *name = NULL, *text = NULL, *unit = NULL;
    const section *s = store_kind_section(row->kind);
    if (sqlite3_column_type(q, 15) == SQLITE_NULL)
        return CH_OK;
    ch_status rc = store_said(q, 15, &name, err);
    if (rc >= 0)
        rc = store_said(q, 16, &text, err);
    if (rc >= 0)
        rc = store_said(q, 17, &unit, err);
    if (rc < 0)
        return rc;
    for (size_t i = 0; i < s->count; i++) {
        if (s->fields[i].kind != FIELD_QUANTITY || strcmp(s->fields[i].key, name) != 0)
            continue;
        ch_quantity quantity = {.si = store_real(q, 19), .bare = sqlite3_column_int(q, 18) != 0};
        quantity.unit = ch_unit_find(unit, strlen(unit));
        if (quantity.unit == NULL || strlen(text) >= sizeof quantity.number)
            break;
        memcpy(quantity.number, text, strlen(text) + 1);
        memcpy((char *)store_row_member(row) + s->fields[i].offset, &quantity, sizeof quantity);
        return CH_OK;
    }
    return ch_fail(err, CH_E_INPUT, "check the garage file by `crosshatch verify`",
                   "row %lld: a value that cannot be read", (long long)row->id);
}

static ch_status read_rows(ch_store *st, ch_store_pool *pool, const char *sql, int64_t id, bool history,
                           const ch_store_row **rows, size_t *count, ch_err *err)
{
    store_list list = {.pool = pool, .size = sizeof(ch_store_row)};
    sqlite3_stmt *q = NULL;
    ch_store_row *row = NULL;
    bool more = false;
    ch_status rc = store_prepare(st, &q, err, sql, "ii", id, (int64_t)history);
    while (rc >= 0 && (rc = store_step(st, q, &more, err)) >= 0 && more) {
        if (row == NULL || row->id != sqlite3_column_int64(q, 0)) {
            row = store_list_more(&list, err);
            rc = row == NULL ? CH_E_MEMORY : read_row(q, pool, row, err);
        }
        if (rc >= 0)
            rc = read_quantity(q, row, err);
    }
    store_release(st, q);
    if (rc >= 0) {
        *rows = (const ch_store_row *)(const void *)list.rows;
        *count = list.count;
    }
    return rc;
}

ch_status ch_store_rows(ch_store *store, ch_store_pool *pool, int64_t sheet_id, bool history, const ch_store_row **rows,
                        size_t *count, ch_err *err)
{
    return read_rows(store, pool, ROWS_SQL("e.sheet_id = ?1"), sheet_id, history, rows, count, err);
}

/* ---- adding, correcting, deleting ---- */

bool store_same_text(const char *a, const char *b)
{
    return a == b || (a != NULL && b != NULL && strcmp(a, b) == 0);
}

/* Is what lies in the file what was meant? */
static ch_status read_back(ch_store *st, int64_t id, const ch_store_row *meant, ch_err *err)
{
    ch_store_pool pool = {0};
    const ch_store_row *rows = NULL;
    size_t count = 0;
    ch_status rc = read_rows(st, &pool, ROWS_SQL("e.id = ?1"), id, true, &rows, &count, err);
    bool same = rc >= 0 && count == 1 && rows[0].kind == meant->kind;
    if (same) {
        ch_store_row got = rows[0], want = *meant;
        const section *s = store_kind_section(meant->kind);
        const common a = common_of(&got), b = common_of(&want);
        same = *a.cylinder == *b.cylinder && store_same_text(*a.note, *b.note) &&
               (want.kind != CH_STORE_OBSERVED || (store_same_text(got.observed.what, want.observed.what) &&
                                                   got.observed.absent == want.observed.absent)) &&
               (want.kind != CH_STORE_LEAKDOWN || (got.leakdown.heard == want.leakdown.heard &&
                                                   got.leakdown.heard_cylinders == want.leakdown.heard_cylinders));
        for (size_t i = 0; same && i < s->count; i++) {
            ch_quantity p, q;
            if (s->fields[i].kind != FIELD_QUANTITY)
                continue;
            memcpy(&p, (char *)store_row_member(&got) + s->fields[i].offset, sizeof p);
            memcpy(&q, (char *)store_row_member(&want) + s->fields[i].offset, sizeof q);
            same = ch_quantity_given(&p) == ch_quantity_given(&q) &&
                   (!ch_quantity_given(&p) ||
                    (p.si == q.si && p.unit == q.unit && p.bare == q.bare && strcmp(p.number, q.number) == 0));
        }
    }
    ch_store_pool_clear(&pool);
    if (rc >= 0 && !same)
        rc = ch_fail(err, CH_E_IO, NULL, "the row did not come back as it was written");
    return rc;
}

static ch_status cylinders_of(ch_store *st, int64_t sheet_id, int *cylinders, ch_err *err)
{
    int64_t number = 0;
    const ch_status rc = store_number(
        st, &number, 0, err,
        "SELECT CAST(text AS INTEGER) FROM field WHERE sheet_id = ?1 AND name = 'engine.cylinders'", "i", sheet_id);
    *cylinders = (int)number;
    return rc;
}

/* The same id for another entry is a mistake of the sender, not a repetition. */
static ch_status check_again(ch_store *st, int64_t id, int64_t sheet_id, ch_store_kind kind, ch_err *err)
{
    int64_t same = 0;
    const ch_status rc =
        store_number(st, &same, 0, err, "SELECT 1 FROM entry WHERE id = ?1 AND sheet_id = ?2 AND kind = ?3", "iit", id,
                     sheet_id, store_kind_names[kind]);
    if (rc >= 0 && same == 0)
        return ch_fail(err, CH_E_INPUT, "an id of its own for each entry",
                       "this entry's id was used for another entry");
    return rc;
}

ch_status ch_store_row_add(ch_store *store, int64_t sheet_id, const ch_store_row *row, const char *client,
                           int64_t now_s, ch_stored *stored, ch_err *err)
{
    ch_stored made = {0};
    bool again = false;
    int cylinders = 0;
    ch_status rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_seen(store, "entry", client, &made, &again, err);
    if (rc >= 0 && again) {
        rc = check_again(store, made.id, sheet_id, row->kind, err);
    } else {
        if (rc >= 0)
            rc = store_sheet_touch(store, sheet_id, true, err);
        if (rc >= 0)
            rc = cylinders_of(store, sheet_id, &cylinders, err);
        if (rc >= 0)
            rc = check(row, cylinders, err);
        if (rc >= 0)
            rc = store_row_insert(store, sheet_id, row, 0, 0, false, client, now_s, &made.id, err);
        if (rc >= 0)
            rc = read_back(store, made.id, row, err);
    }
    rc = store_end(store, rc, err);
    if (rc >= 0 && stored != NULL)
        *stored = made;
    return rc;
}

/* The newest row of the chain that holds `old_id`, as it stands, from the pool. */
static ch_status newest(ch_store *st, ch_store_pool *pool, int64_t old_id, const ch_store_row **row, ch_err *err)
{
    size_t count = 0;
    const ch_status rc = read_rows(
        st, pool,
        ROWS_SQL("e.id = (SELECT max(id) FROM entry WHERE first_id = (SELECT first_id FROM entry WHERE id = ?1))"),
        old_id, true, row, &count, err);
    if (rc >= 0 && count == 0)
        return ch_fail(err, CH_E_INPUT, NULL, "there is no row with the id %lld", (long long)old_id);
    return rc;
}

static ch_status replace(ch_store *st, ch_store_pool *pool, int64_t old_id, const ch_store_row *row, const char *client,
                         int64_t now_s, ch_stored *made, ch_err *err)
{
    const ch_store_row *old = NULL;
    bool again = false;
    int cylinders = 0;
    ch_status rc = store_seen(st, "entry", client, made, &again, err);
    if (rc >= 0)
        rc = newest(st, pool, old_id, &old, err);
    if (rc >= 0 && again)
        return check_again(st, made->id, old->sheet_id, old->kind, err);
    if (rc >= 0 && old->deletion && row == NULL) {
        *made = (ch_stored){.id = old->id, .again = true};
        return CH_OK;
    }
    if (rc >= 0 && old->deletion)
        return ch_fail(err, CH_E_INPUT, "enter it as a new row", "the row was deleted");
    if (rc >= 0 && row != NULL && old->kind != row->kind)
        return ch_fail(err, CH_E_INPUT, "delete it, and enter a new row",
                       "a correction cannot be a row of another kind");
    if (rc >= 0)
        rc = store_sheet_touch(st, old->sheet_id, true, err);
    if (rc >= 0)
        rc = cylinders_of(st, old->sheet_id, &cylinders, err);
    if (rc >= 0 && row != NULL)
        rc = check(row, cylinders, err);
    if (rc >= 0)
        rc = store_row_insert(st, old->sheet_id, row != NULL ? row : old, old->id, old->first_id, row == NULL, client,
                              now_s, &made->id, err);
    if (rc >= 0 && row != NULL)
        rc = read_back(st, made->id, row, err);
    return rc;
}

static ch_status replace_whole(ch_store *st, int64_t old_id, const ch_store_row *row, const char *client, int64_t now_s,
                               ch_stored *stored, ch_err *err)
{
    ch_stored made = {0};
    ch_store_pool pool = {0};
    ch_status rc = store_begin(st, err);
    if (rc < 0)
        return rc;
    rc = replace(st, &pool, old_id, row, client, now_s, &made, err);
    rc = store_end(st, rc, err);
    ch_store_pool_clear(&pool);
    if (rc >= 0 && stored != NULL)
        *stored = made;
    return rc;
}

ch_status ch_store_row_correct(ch_store *store, int64_t old_id, const ch_store_row *row, const char *client,
                               int64_t now_s, ch_stored *stored, ch_err *err)
{
    return replace_whole(store, old_id, row, client, now_s, stored, err);
}

ch_status ch_store_row_delete(ch_store *store, int64_t old_id, const char *client, int64_t now_s, ch_stored *stored,
                              ch_err *err)
{
    return replace_whole(store, old_id, NULL, client, now_s, stored, err);
}
