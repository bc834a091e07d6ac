/*
 * Is the garage file whole? SQLite's structure and references, and what this program promises of the content. Writes nothing.
 *
 * Each promise is one query that finds the rows which break it, so that a person can run it by hand too.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "store_parts.h"

enum { FINDINGS_MAX = 100 };

#define CURRENT(e) e ".deletion = 0 AND NOT EXISTS (SELECT 1 FROM entry n WHERE n.replaces_id = " e ".id)"

/* The first column says which; the words what. */
static const struct {
    const char *what, *sql;
} promises[] = {
    {"structure:", "SELECT integrity_check FROM pragma_integrity_check WHERE integrity_check <> 'ok'"},
    {"a reference leads nowhere, in table", "SELECT \"table\" FROM pragma_foreign_key_check"},
    {"a correction belongs to another sheet, kind or chain than what it replaces: row",
     "SELECT e.id FROM entry e JOIN entry o ON o.id = e.replaces_id"
     " WHERE o.sheet_id <> e.sheet_id OR o.kind <> e.kind OR o.first_id <> e.first_id"},
    {"a chain of corrections is broken: row",
     "SELECT id FROM entry WHERE replaces_id IS NULL AND first_id <> id OR replaces_id >= id OR first_id > id"},
    {"a chain of corrections has not one end: row",
     "SELECT first_id FROM entry e WHERE NOT EXISTS (SELECT 1 FROM entry n WHERE n.replaces_id = e.id)"
     " GROUP BY first_id HAVING count(*) <> 1"},
    {"a deleted row was corrected afterwards: row",
     "SELECT e.id FROM entry e JOIN entry o ON o.id = e.replaces_id WHERE o.deletion = 1"},
    {"a reading without its value: row",
     "SELECT id FROM entry e WHERE kind IN ('compression', 'wet') AND deletion = 0"
     " AND NOT EXISTS (SELECT 1 FROM entry_quantity q WHERE q.entry_id = e.id AND q.name = 'reading')"},
    {"a row of a cylinder that the engine does not have: row",
     "SELECT e.id FROM entry e JOIN field f ON f.sheet_id = e.sheet_id AND f.name = 'engine.cylinders'"
     " WHERE e.cylinder > CAST(f.text AS INTEGER) AND " CURRENT("e")},
    {"a photo's ledger entry is of another sheet or work: photo",
     "SELECT p.id FROM photo p JOIN ledger l ON l.id = p.ledger_id"
     " WHERE l.sheet_id IS NOT p.sheet_id OR l.work_id IS NOT p.work_id"},
    {"a run judged anew belongs to another car or log than what it replaces: run",
     "SELECT r.id FROM run r JOIN run o ON o.id = r.replaces_id"
     " WHERE o.car_id <> r.car_id OR o.log_sha256 <> r.log_sha256"},
    {"chances of causes that do not add up to 1: run",
     "SELECT r.id FROM run r LEFT JOIN run_cause c ON c.run_id = r.id GROUP BY r.id"
     " HAVING NOT coalesce(abs(sum(c.chance_1) - 1) < 1e-6, 0)"},
    {"slips or gears are missing: run",
     "SELECT id FROM run WHERE slips_found < (SELECT count(*) FROM run_slip s WHERE s.run_id = run.id)"
     " OR slips_found > 0 AND NOT EXISTS (SELECT 1 FROM run_slip s WHERE s.run_id = run.id)"
     " OR state = 'gears_found' AND NOT EXISTS (SELECT 1 FROM run_gear g WHERE g.run_id = run.id)"
     " OR coalesce((SELECT max(place) + 1 FROM run_slip s WHERE s.run_id = run.id), 0)"
     " <> (SELECT count(*) FROM run_slip s WHERE s.run_id = run.id)"},
    {"a picture that is no row of points: run", "SELECT id FROM run WHERE length(picture) % 16 <> 0"},
    {"work ended before it was begun: work", "SELECT id FROM work WHERE done_s < begun_s OR closed_s < done_s"},
    {"work was proven by a run of another car: work",
     "SELECT w.id FROM work w JOIN run r ON r.id = w.proof_run_id WHERE r.car_id <> w.car_id"},
    {"work was proven by a sheet of another car: work",
     "SELECT w.id FROM work w JOIN sheet s ON s.id = w.proof_sheet_id LEFT JOIN engine e ON e.id = s.engine_id"
     " WHERE e.car_id IS NOT w.car_id"},
    {"an event of an engine of another car: event",
     "SELECT v.id FROM event v JOIN engine e ON e.id = v.engine_id WHERE e.car_id <> v.car_id"},
};

static ch_status report(store_list *list, const char *what, const char *which, ch_err *err)
{
    if (list->count >= FINDINGS_MAX)
        return CH_OK;
    ch_store_finding *finding = store_list_more(list, err);
    const size_t size = strlen(what) + strlen(which) + 2;
    char *line = finding == NULL ? NULL : store_take(list->pool, size);
    if (line == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the findings");
    snprintf(line, size, "%s %s", what, which);
    finding->what = line;
    return CH_OK;
}

static ch_status ask(ch_store *st, const char *what, const char *sql, store_list *list, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(st, &q, err, sql, "");
    while (rc >= 0 && (rc = store_step(st, q, &more, err)) >= 0 && more) {
        const char *which = NULL;
        rc = store_said(q, 0, &which, err);
        const int kept = rc >= 0 ? store_kept_from_reading(which) : SQLITE_OK;
        if (kept != SQLITE_OK)
            rc = store_fail(st, kept, "checking its pages", err);
        if (rc >= 0)
            rc = report(list, what, which, err);
    }
    sqlite3_finalize(q);
    return rc;
}

/* The value of each quantity is that of the text beside it, to the last bit. */
static ch_status check_values(ch_store *st, store_list *list, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(
        st, &q, err,
        "SELECT text, unit, value, 'row ' || entry_id || ' ' || name FROM entry_quantity"
        " UNION ALL SELECT text, unit, value, 'field ' || id || ' ' || name FROM field WHERE unit IS NOT NULL"
        " UNION ALL SELECT text, unit, value, 'torque ' || id || ' ' || name FROM torque WHERE unit IS NOT NULL",
        "");
    while (rc >= 0 && (rc = store_step(st, q, &more, err)) >= 0 && more) {
        const char *text = NULL, *unit_name = NULL, *where = NULL;
        if ((rc = store_said(q, 0, &text, err)) < 0 || (rc = store_said(q, 1, &unit_name, err)) < 0 ||
            (rc = store_said(q, 3, &where, err)) < 0)
            break;
        const ch_unit *unit = ch_unit_find(unit_name, strlen(unit_name));
        ch_quantity read = ch_quantity_none();
        ch_err ignored = {0};
        const bool same = unit != NULL &&
                          ch_quantity_parse(text, strlen(text), unit->dimension, unit, &read, &ignored) >= 0 &&
                          read.si == store_real(q, 2);
        if (!same)
            rc = report(list, "a value is not that of its text:", where, err);
    }
    sqlite3_finalize(q);
    return rc;
}

static const char days_sql[] =
    "SELECT begun_day, 'engine ' || id || ' begun_day' FROM engine WHERE begun_day IS NOT NULL"
    " UNION ALL SELECT ended_day, 'engine ' || id || ' ended_day' FROM engine WHERE ended_day IS NOT NULL"
    " UNION ALL SELECT day, 'event ' || id || ' day' FROM event WHERE day IS NOT NULL"
    " UNION ALL SELECT fitted_day, 'part ' || id || ' fitted_day' FROM part WHERE fitted_day IS NOT NULL"
    " UNION ALL SELECT removed_day, 'part ' || id || ' removed_day' FROM part WHERE removed_day IS NOT NULL"
    " UNION ALL SELECT made_day, 'part ' || id || ' made_day' FROM part WHERE made_day IS NOT NULL"
    " UNION ALL SELECT until_day, 'part ' || id || ' until_day' FROM part WHERE until_day IS NOT NULL"
    " UNION ALL SELECT day, 'run ' || id || ' day' FROM run WHERE day IS NOT NULL"
    " UNION ALL SELECT day, 'spent ' || id || ' day' FROM spent WHERE day IS NOT NULL";

/* A day is written as this program writes it: by that it is found, compared and put in order. */
static ch_status check_days(ch_store *st, store_list *list, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(st, &q, err, days_sql, "");
    while (rc >= 0 && (rc = store_step(st, q, &more, err)) >= 0 && more) {
        const char *text = NULL, *where = NULL;
        char again[16];
        ch_date day = {0};
        ch_err ignored = {0};
        if ((rc = store_said(q, 0, &text, err)) < 0 || (rc = store_said(q, 1, &where, err)) < 0)
            break;
        const ch_status read = ch_date_parse(text, strlen(text), &day, &ignored);
        ch_date_format(day, again, sizeof again);
        if (read < 0 || strcmp(again, text) != 0)
            rc = report(list, "a day that is none:", where, err);
    }
    sqlite3_finalize(q);
    return rc;
}

#define SCHEMA_SQL "SELECT type || ' ' || name || ' ' || coalesce(sql, '') FROM sqlite_schema ORDER BY type, name"

/* Tables, indexes and the triggers that keep the promises are those of a fresh file. */
static ch_status check_schema(ch_store *st, store_list *list, ch_err *err)
{
    ch_store fresh = {.path = st->path};
    sqlite3_stmt *q = NULL, *wanted = NULL;
    bool more = true, more_wanted = true, same = true;
    int code = sqlite3_open_v2(":memory:", &fresh.db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX, NULL);
    for (int i = 0; code == SQLITE_OK && i < store_schema_now.version; i++)
        code = sqlite3_exec(fresh.db, store_schema_now.steps[i], NULL, NULL, NULL);
    ch_status rc = code == SQLITE_OK ? CH_OK : store_fail(&fresh, code, "making a schema to compare with", err);
    if (rc >= 0)
        rc = store_prepare(&fresh, &wanted, err, SCHEMA_SQL, "");
    if (rc >= 0)
        rc = store_prepare(st, &q, err, SCHEMA_SQL, "");
    while (rc >= 0 && same && more) {
        rc = store_step(st, q, &more, err);
        if (rc >= 0)
            rc = store_step(&fresh, wanted, &more_wanted, err);
        same = more == more_wanted;
        if (rc >= 0 && more && same) {
            const char *a = NULL, *b = NULL;
            rc = store_said(q, 0, &a, err);
            if (rc >= 0)
                rc = store_said(wanted, 0, &b, err);
            same = rc >= 0 && strcmp(a, b) == 0;
        }
    }
    if (rc >= 0 && !same)
        rc = report(list, "the schema is not that of this version:", "a table, index or trigger differs", err);
    sqlite3_finalize(q);
    sqlite3_finalize(wanted);
    sqlite3_close_v2(fresh.db);
    return rc;
}

/* A sheet with rows must read as a sheet's file would. */
static ch_status check_sheet(ch_store *st, int64_t id, store_list *list, ch_err *err)
{
    ch_sheet sheet, again;
    char *text = NULL, which[32];
    size_t length = 0;
    ch_err reason = {0};
    ch_status rc = ch_store_sheet_load(st, id, &sheet, &reason);
    if (rc >= 0) {
        const bool whole = sheet.engine.cylinders > 0 &&
                           sheet.compression_count + sheet.wet_count + sheet.leakdown_count + sheet.leaks_count > 0;
        if (whole)
            rc = ch_sheet_write(&sheet, false, &text, &length, &reason);
        ch_sheet_clear(&sheet);
        if (whole && rc >= 0 && (rc = ch_sheet_parse("sheet", text, length, &again, &reason)) >= 0)
            ch_sheet_clear(&again);
        free(text);
    }
    if (rc >= 0)
        return CH_OK;
    if (rc == CH_E_MEMORY || rc == CH_E_IO)
        return ch_fail(err, rc, reason.right, "%s", reason.what);
    snprintf(which, sizeof which, "sheet %lld:", (long long)id);
    return report(list, which, reason.what, err);
}

static ch_status check_sheets(ch_store *st, store_list *list, ch_err *err)
{
    const ch_store_sheet *sheets = NULL;
    size_t count = 0;
    ch_status rc = ch_store_sheets(st, list->pool, 0, &sheets, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++)
        rc = check_sheet(st, sheets[i].id, list, err);
    return rc;
}

ch_status ch_store_verify(ch_store *store, ch_store_pool *pool, const ch_store_finding **findings, size_t *count,
                          ch_err *err)
{
    store_list list = {.pool = pool, .size = sizeof(ch_store_finding)};
    ch_status rc = ask(store, promises[0].what, promises[0].sql, &list, err);
    const bool sound = rc >= 0 && list.count == 0; /* else nothing more can be asked of it */
    for (size_t i = 1; sound && rc >= 0 && i < sizeof promises / sizeof promises[0]; i++)
        rc = ask(store, promises[i].what, promises[i].sql, &list, err);
    if (sound && rc >= 0)
        rc = check_schema(store, &list, err);
    if (sound && rc >= 0)
        rc = check_values(store, &list, err);
    if (sound && rc >= 0)
        rc = check_days(store, &list, err);
    if (sound && rc >= 0)
        rc = check_sheets(store, &list, err);
    if (rc >= 0) {
        *findings = (const ch_store_finding *)(const void *)list.rows;
        *count = list.count;
    }
    return rc;
}
