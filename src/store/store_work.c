/* Winter work: jobs and access steps begun, done, proven and closed. */
#include "crosshatch/store_work.h"

#include <string.h>

#include "store_parts.h"

static const char *const kind_names[] = {[CH_PLAN_ACCESS] = "access", [CH_PLAN_JOB] = "job"};

#define WORK_SQL                                                                                                       \
    "SELECT w.id, w.car_id, w.kind = 'job', w.name, w.title, w.begun_s, w.done_s, w.closed_s, w.close_reason,"         \
    " w.proof_sheet_id, (SELECT sum(work_us) FROM spent s WHERE s.work_id = w.id AND s.deleted_s IS NULL),"            \
    " (SELECT sum(money) FROM spent s WHERE s.work_id = w.id AND s.deleted_s IS NULL),"                                \
    " (SELECT count(*) FROM ledger l WHERE l.work_id = w.id AND l.put_back_s IS NULL AND l.deleted_s IS NULL)"         \
    ", w.proof_run_id FROM work w"

static ch_status read_work(sqlite3_stmt *q, ch_store_pool *pool, ch_store_work *w, ch_err *err)
{
    w->id = sqlite3_column_int64(q, 0);
    w->car_id = sqlite3_column_int64(q, 1);
    w->kind = sqlite3_column_int64(q, 2) != 0 ? CH_PLAN_JOB : CH_PLAN_ACCESS;
    w->begun_s = sqlite3_column_int64(q, 5);
    w->done_s = sqlite3_column_int64(q, 6);
    w->closed_s = sqlite3_column_int64(q, 7);
    w->proof_sheet_id = sqlite3_column_int64(q, 9);
    w->work_us = sqlite3_column_int64(q, 10);
    w->money = sqlite3_column_int64(q, 11);
    w->ledger_open = (int)sqlite3_column_int64(q, 12);
    w->proof_run_id = sqlite3_column_int64(q, 13);
    ch_status rc = store_text(pool, q, 3, &w->name, err);
    if (rc >= 0)
        rc = store_text(pool, q, 4, &w->title, err);
    return rc < 0 ? rc : store_text(pool, q, 8, &w->close_reason, err);
}

ch_status ch_store_works(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_store_work **rows,
                         size_t *count, ch_err *err)
{
    store_list list = {.pool = pool, .size = sizeof(ch_store_work)};
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc =
        store_prepare(store, &q, err, WORK_SQL " WHERE ?1 = 0 OR w.car_id = ?1 ORDER BY w.id DESC", "i", car_id);
    while (rc >= 0 && (rc = store_step(store, q, &more, err)) >= 0 && more) {
        ch_store_work *row = store_list_more(&list, err);
        rc = row == NULL ? CH_E_MEMORY : read_work(q, pool, row, err);
    }
    store_release(store, q);
    if (rc >= 0) {
        *rows = (const ch_store_work *)(const void *)list.rows;
        *count = list.count;
    }
    return rc;
}

static ch_status no_work(int64_t id, ch_err *err)
{
    return ch_fail(err, CH_E_INPUT, NULL, "there is no work with the id %lld", (long long)id);
}

ch_status ch_store_work_get(ch_store *store, ch_store_pool *pool, int64_t id, ch_store_work *work, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_store_work made = {0};
    ch_status rc = store_prepare(store, &q, err, WORK_SQL " WHERE w.id = ?1", "i", id);
    if (rc >= 0)
        rc = store_step(store, q, &more, err);
    if (rc >= 0)
        rc = more ? read_work(q, pool, &made, err) : no_work(id, err);
    store_release(store, q);
    if (rc >= 0)
        *work = made;
    return rc;
}

/* How far a piece of work is. */
typedef struct standing {
    bool job, done, closed;
    int64_t done_s;
} standing;

static ch_status look(ch_store *st, int64_t id, standing *at, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(st, &q, err, "SELECT kind = 'job', done_s, closed_s FROM work WHERE id = ?1", "i", id);
    if (rc >= 0)
        rc = store_step(st, q, &more, err);
    if (rc >= 0 && more) {
        at->job = sqlite3_column_int64(q, 0) != 0;
        at->done_s = sqlite3_column_int64(q, 1);
        at->done = sqlite3_column_type(q, 1) != SQLITE_NULL;
        at->closed = sqlite3_column_type(q, 2) != SQLITE_NULL;
    }
    store_release(st, q);
    return rc >= 0 && !more ? no_work(id, err) : rc;
}

static ch_status look_open(ch_store *st, int64_t id, standing *at, ch_err *err)
{
    const ch_status rc = look(st, id, at, err);
    return rc >= 0 && at->closed ? ch_fail(err, CH_E_INPUT, "take it in hand again first", "the work is closed") : rc;
}

ch_status store_work_must_be(ch_store *st, int64_t id, bool open, ch_err *err)
{
    standing at = {0};
    return open ? look_open(st, id, &at, err) : look(st, id, &at, err);
}

ch_status ch_store_work_begin(ch_store *store, const ch_store_work *work, int64_t now_s, ch_stored *stored, ch_err *err)
{
    ch_stored made = {0};
    ch_status rc = store_text_check("name", work->name, true, err);
    if (rc >= 0)
        rc = store_text_check("title", work->title, true, err);
    if (rc >= 0 && strlen(work->name) > CH_PLAN_NAME_MAX)
        rc = ch_fail(err, CH_E_INPUT, "at most 64 bytes", "a name of %zu bytes", strlen(work->name));
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    const char *kind = kind_names[work->kind == CH_PLAN_JOB];
    rc = store_must_be(store, "SELECT 1 FROM car WHERE id = ?1 AND deleted_s IS NULL", "car", work->car_id, err);
    if (rc >= 0)
        rc = store_number(store, &made.id, 0, err,
                          "SELECT id FROM work WHERE car_id = ?1 AND kind = ?2 AND name = ?3 AND closed_s IS NULL",
                          "itt", work->car_id, kind, work->name);
    made.again = made.id != 0;
    if (rc >= 0 && !made.again) {
        rc = store_run(
            store, err,
            "INSERT INTO work (car_id, kind, name, title, begun_s, changed_s) VALUES (?1, ?2, ?3, ?4, ?5, ?5)", "ittti",
            work->car_id, kind, work->name, work->title, now_s);
        made.id = sqlite3_last_insert_rowid(store->db);
    }
    rc = store_end(store, rc, err);
    if (rc >= 0 && stored != NULL)
        *stored = made;
    return rc;
}

ch_status ch_store_work_done(ch_store *store, int64_t id, bool done, int64_t now_s, ch_err *err)
{
    standing at = {0};
    ch_status rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = look_open(store, id, &at, err);
    if (rc >= 0)
        rc = store_run(store, err,
                       "UPDATE work SET done_s = CASE WHEN ?2 THEN max(?3, begun_s) END, changed_s = ?3"
                       " WHERE id = ?1 AND (done_s IS NOT NULL) <> ?2",
                       "iii", id, (int64_t)done, now_s);
    return store_end(store, rc, err);
}

/* ---- proof ---- */

/*
 * The sheet tested last that has a current row of this kind that was entered since the job was done. A corrected row was measured when its first form
 * was entered: putting a figure right proves nothing. A sheet that is dated before was brought in late; the day of a moment is known only up to
 * the time zone, which lies at most 14 hours from UTC.
 */
static ch_status newest_sheet(ch_store *st, int64_t id, const char *kind, int64_t *sheet_id, ch_err *err)
{
    return store_number(st, sheet_id, 0, err,
                        "SELECT e.sheet_id FROM work w JOIN engine g ON g.car_id = w.car_id"
                        " JOIN sheet s ON s.engine_id = g.id AND s.deleted_s IS NULL"
                        " JOIN entry e ON e.sheet_id = s.id AND e.kind = ?2 AND e.deletion = 0"
                        " JOIN entry began ON began.id = e.first_id"
                        " LEFT JOIN field f ON f.sheet_id = s.id AND f.name = 'conditions.date'"
                        " WHERE w.id = ?1 AND began.entered_s > w.done_s"
                        " AND (f.text IS NULL OR f.text >= date(w.done_s - 14 * 3600, 'unixepoch'))"
                        " AND NOT EXISTS (SELECT 1 FROM entry n WHERE n.replaces_id = e.id)"
                        " ORDER BY f.text DESC, began.id DESC",
                        "it", id, kind);
}

static ch_status find_proof(ch_store *st, int64_t id, ch_store_proof *proof, ch_err *err)
{
    *proof = (ch_store_proof){0};
    ch_status rc = newest_sheet(st, id, "compression", &proof->compression_sheet_id, err);
    if (rc >= 0)
        rc = newest_sheet(st, id, "leakdown", &proof->leak_down_sheet_id, err);
    /* An old log judged anew proves nothing. */
    return rc < 0 ? rc
                  : store_number(st, &proof->run_id, 0, err,
                                 "SELECT r.id FROM work w JOIN run r ON r.car_id = w.car_id AND r.deleted_s IS NULL"
                                 " WHERE w.id = ?1 AND r.judged_s > w.done_s AND r.state = 'gears_found'"
                                 " AND (r.day IS NULL OR r.day >= date(w.done_s - 14 * 3600, 'unixepoch'))"
                                 " AND NOT EXISTS (SELECT 1 FROM run n WHERE n.replaces_id = r.id)"
                                 " AND NOT EXISTS (SELECT 1 FROM run o WHERE o.car_id = r.car_id"
                                 "  AND o.log_sha256 = r.log_sha256 AND o.judged_s <= w.done_s) ORDER BY r.id DESC",
                                 "i", id);
}

ch_status ch_store_work_proof(ch_store *store, int64_t id, ch_store_proof *proof, ch_err *err)
{
    ch_store_proof found = {0};
    standing at = {0};
    ch_status rc = look(store, id, &at, err);
    if (rc >= 0)
        rc = find_proof(store, id, &found, err);
    if (rc >= 0)
        *proof = found;
    return rc;
}

/* CH_E_INPUT where something is missing. */
static ch_status check_whole(ch_store *st, int64_t id, unsigned prove, const ch_store_proof *proof, ch_err *err)
{
    static const char right[] = "do that first; it can be closed without it for a written reason";
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(st, &q, err,
                                 "SELECT what, count(*) OVER () FROM ledger"
                                 " WHERE work_id = ?1 AND put_back_s IS NULL AND deleted_s IS NULL ORDER BY id LIMIT 1",
                                 "i", id);
    if (rc >= 0)
        rc = store_step(st, q, &more, err);
    if (rc >= 0 && more) {
        const char *what = NULL;
        char shown[64];
        rc = store_said(q, 0, &what, err);
        ch_text_excerpt(what, strlen(what), shown, sizeof shown);
        if (rc >= 0)
            rc = ch_fail(err, CH_E_INPUT, right, "%lld not put back, first: %s", (long long)sqlite3_column_int64(q, 1),
                         shown);
    }
    store_release(st, q);
    const char *missing = (prove & CH_STORE_PROVE_COMPRESSION) != 0 && proof->compression_sheet_id == 0
                              ? "compression test"
                          : (prove & CH_STORE_PROVE_LEAK_DOWN) != 0 && proof->leak_down_sheet_id == 0 ? "leak-down test"
                          : (prove & CH_STORE_PROVE_SLIP_LOG) != 0 && proof->run_id == 0              ? "slip log"
                                                                                                      : NULL;
    if (rc >= 0 && missing != NULL)
        rc = ch_fail(err, CH_E_INPUT, right, "no %s since the job was done", missing);
    return rc;
}

ch_status ch_store_work_close(ch_store *store, int64_t id, unsigned prove, const char *reason, int64_t now_s,
                              ch_err *err)
{
    standing at = {0};
    ch_store_proof proof = {0};
    const bool blank = reason == NULL || reason[strspn(reason, " \t\n")] == '\0';
    ch_status rc = store_text_check("reason", reason, false, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = look_open(store, id, &at, err);
    if (rc >= 0 && at.job && !at.done)
        rc = ch_fail(err, CH_E_INPUT, "do the work first", "the job is not done");
    if (rc >= 0 && at.job)
        rc = find_proof(store, id, &proof, err);
    if (rc >= 0 && blank)
        rc = check_whole(store, id, at.job ? prove : 0, &proof, err);
    const int64_t sheet_id = (prove & CH_STORE_PROVE_COMPRESSION) != 0 && proof.compression_sheet_id != 0
                                 ? proof.compression_sheet_id
                             : (prove & CH_STORE_PROVE_LEAK_DOWN) != 0 ? proof.leak_down_sheet_id
                                                                       : 0;
    if (rc >= 0)
        rc = store_run(store, err,
                       "UPDATE work SET done_s = coalesce(done_s, max(?2, begun_s)),"
                       " closed_s = max(?2, coalesce(done_s, begun_s)), close_reason = ?3,"
                       " proof_sheet_id = ?4, proof_run_id = ?5, changed_s = ?2 WHERE id = ?1",
                       "iitnn", id, now_s, blank ? NULL : reason, sheet_id,
                       (prove & CH_STORE_PROVE_SLIP_LOG) != 0 ? proof.run_id : 0);
    return store_end(store, rc, err);
}

ch_status ch_store_work_reopen(ch_store *store, int64_t id, int64_t now_s, ch_err *err)
{
    standing at = {0};
    int64_t other = 0;
    ch_status rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = look(store, id, &at, err);
    if (rc >= 0)
        rc = store_number(store, &other, 0, err,
                          "SELECT o.id FROM work w JOIN work o ON o.car_id = w.car_id AND o.kind = w.kind"
                          " AND o.name = w.name AND o.id <> w.id AND o.closed_s IS NULL WHERE w.id = ?1",
                          "i", id);
    if (rc >= 0 && other != 0)
        rc = ch_fail(err, CH_E_INPUT, "go on with that one", "the same work was begun again since");
    if (rc >= 0)
        rc = store_run(
            store, err,
            "UPDATE work SET closed_s = NULL, close_reason = NULL, proof_sheet_id = NULL, proof_run_id = NULL,"
            " changed_s = ?2 WHERE id = ?1 AND closed_s IS NOT NULL",
            "ii", id, now_s);
    return store_end(store, rc, err);
}
