/* Logged runs of a car's driveline on their way out, and what is known of the car, see store_driveline.h. */
#include <string.h>

#include "store_run.h"

#define HEAD                                                                                                           \
    "SELECT r.id, r.car_id, r.replaces_id, r.day, r.note, r.log_name, r.log_sha256, r.log_bytes, r.drivetrain,"        \
    " r.told, r.made_by, r.judged_s, r.seconds, r.log_rows, r.state, r.limits, r.patterns, r.patterns_known,"          \
    " r.slips_found, r.wheelspins, r.by_foot, r.by_sensor, r.too_brief, " RUN_REAL_COLUMNS ", r.picture FROM run r"
enum { HEAD_FIRST_REAL = 23, HEAD_PICTURE = HEAD_FIRST_REAL + RUN_REALS };

static ch_status unreadable(int64_t id, ch_err *err)
{
    return ch_fail(err, CH_E_INPUT, "check the garage file by `crosshatch verify`", "run %lld cannot be read",
                   (long long)id);
}

static ch_status read_texts(sqlite3_stmt *q, ch_store_pool *pool, ch_store_run *run, ch_err *err)
{
    static const int columns[] = {4, 5, 6, 8, 9, 10};
    const char **const texts[] = {&run->note,       &run->log_name, &run->log_sha256,
                                  &run->drivetrain, &run->told,     &run->made_by};
    ch_status rc = CH_OK;
    for (size_t i = 0; rc >= 0 && i < sizeof columns / sizeof columns[0]; i++)
        rc = store_text(pool, q, columns[i], texts[i], err);
    return rc;
}

static ch_status read_head(sqlite3_stmt *q, ch_store_pool *pool, ch_store_run *run, ch_err *err)
{
    ch_driveline *d = &run->driveline;
    const char *state = NULL;
    int number = 0;
    ch_status rc = store_said(q, 14, &state, err);
    run->id = sqlite3_column_int64(q, 0);
    run->car_id = sqlite3_column_int64(q, 1);
    run->replaces_id = sqlite3_column_int64(q, 2);
    run->log_bytes = sqlite3_column_int64(q, 7);
    run->judged_s = sqlite3_column_int64(q, 11);
    run->seconds = store_real(q, 12);
    d->rows = (uint64_t)sqlite3_column_int64(q, 13);
    while (number < RUN_STATES && strcmp(run_states[number], state) != 0)
        number++;
    if (rc >= 0 && number == RUN_STATES)
        rc = unreadable(run->id, err);
    d->state = (ch_driveline_state)number;
    d->limits = (unsigned)sqlite3_column_int64(q, 15);
    d->patterns = (unsigned)sqlite3_column_int64(q, 16);
    d->patterns_known = (unsigned)sqlite3_column_int64(q, 17);
    d->slips_found = (size_t)sqlite3_column_int64(q, 18);
    d->not_slips[CH_NOT_SLIP_WHEELSPIN] = (size_t)sqlite3_column_int64(q, 19);
    d->not_slips[CH_NOT_SLIP_CLUTCH] = (size_t)sqlite3_column_int64(q, 20);
    d->not_slips[CH_NOT_SLIP_SENSOR] = (size_t)sqlite3_column_int64(q, 21);
    d->not_slips[CH_NOT_SLIP_BRIEF] = (size_t)sqlite3_column_int64(q, 22);
    run_read_reals(q, HEAD_FIRST_REAL, d, run_reals, RUN_REALS);
    if (rc >= 0)
        rc = store_date(q, 3, &run->day, err);
    return rc < 0 ? rc : read_texts(q, pool, run, err);
}

static ch_status read_picture(sqlite3_stmt *q, ch_store_pool *pool, ch_store_run *run, ch_err *err)
{
    const unsigned char *bytes = sqlite3_column_blob(q, HEAD_PICTURE);
    const size_t length = (size_t)sqlite3_column_bytes(q, HEAD_PICTURE);
    if (length % RUN_POINT_BYTES != 0 || length / RUN_POINT_BYTES > CH_STORE_POINTS_MAX)
        return unreadable(run->id, err);
    if (length == 0)
        return CH_OK;
    ch_drive_point *point = bytes == NULL ? NULL : store_take(pool, length / RUN_POINT_BYTES * sizeof *point);
    if (point == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the picture");
    run_get_points(bytes, length / RUN_POINT_BYTES, point);
    run->point = point;
    run->points = length / RUN_POINT_BYTES;
    return CH_OK;
}

static ch_status read_gears(ch_store *st, ch_store_run *run, ch_err *err)
{
    ch_driveline *d = &run->driveline;
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(st, &q, err,
                                 "SELECT number, " GEAR_REAL_COLUMNS " FROM run_gear WHERE run_id = ?1 ORDER BY place",
                                 "i", run->id);
    while (rc >= 0 && (rc = store_step(st, q, &more, err)) >= 0 && more) {
        if (d->gears == CH_DRIVELINE_GEARS_MAX) {
            rc = unreadable(run->id, err);
            break;
        }
        ch_driveline_gear *gear = &d->gear[d->gears++];
        gear->number = sqlite3_column_int(q, 0);
        run_read_reals(q, 1, gear, gear_reals, GEAR_REALS);
    }
    store_release(st, q);
    return rc;
}

static ch_status read_slips(ch_store *st, ch_store_pool *pool, ch_store_run *run, ch_err *err)
{
    store_list list = {.pool = pool, .size = sizeof(ch_slip)};
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(
        st, &q, err, "SELECT gear, " SLIP_REAL_COLUMNS " FROM run_slip WHERE run_id = ?1 ORDER BY place", "i", run->id);
    while (rc >= 0 && (rc = store_step(st, q, &more, err)) >= 0 && more) {
        ch_slip *slip = store_list_more(&list, err);
        if (slip == NULL) {
            rc = CH_E_MEMORY;
            break;
        }
        slip->gear = sqlite3_column_int(q, 0);
        run_read_reals(q, 1, slip, slip_reals, SLIP_REALS);
    }
    store_release(st, q);
    run->driveline.slip = (ch_slip *)(void *)list.rows;
    run->driveline.slips = list.count;
    return rc;
}

static ch_status read_causes(ch_store *st, ch_store_run *run, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(st, &q, err, "SELECT cause, chance_1 FROM run_cause WHERE run_id = ?1", "i", run->id);
    while (rc >= 0 && (rc = store_step(st, q, &more, err)) >= 0 && more) {
        const char *id = NULL;
        rc = store_said(q, 0, &id, err);
        for (int c = 0; rc >= 0 && c < CH_CLUTCH_CAUSES; c++)
            if (strcmp(ch_clutch_cause_id((ch_clutch_cause)c), id) == 0)
                run->driveline.cause_1[c] = store_real(q, 1);
    }
    store_release(st, q);
    return rc;
}

static ch_status read_signs(ch_store *st, ch_store_pool *pool, ch_store_run *run, ch_err *err)
{
    store_list list = {.pool = pool, .size = sizeof(ch_store_run_sign)};
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(
        st, &q, err, "SELECT sign, present FROM run_sign WHERE run_id = ?1 AND present IS NOT NULL ORDER BY id", "i",
        run->id);
    while (rc >= 0 && (rc = store_step(st, q, &more, err)) >= 0 && more) {
        ch_store_run_sign *sign = store_list_more(&list, err);
        rc = sign == NULL ? CH_E_MEMORY : store_text(pool, q, 0, &sign->sign, err);
        if (rc >= 0)
            sign->present = sqlite3_column_int(q, 1);
    }
    store_release(st, q);
    run->sign = (const ch_store_run_sign *)(const void *)list.rows;
    run->signs = list.count;
    return rc;
}

ch_status run_load(ch_store *st, ch_store_pool *pool, int64_t id, ch_store_run *run, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(st, &q, err, HEAD " WHERE r.id = ?1 AND r.deleted_s IS NULL", "i", id);
    if (rc >= 0)
        rc = store_step(st, q, &more, err);
    if (rc >= 0 && !more)
        rc = ch_fail(err, CH_E_INPUT, NULL, "there is no run with the id %lld", (long long)id);
    if (rc >= 0)
        rc = read_head(q, pool, run, err);
    if (rc >= 0)
        rc = read_picture(q, pool, run, err);
    store_release(st, q);
    if (rc >= 0)
        rc = read_gears(st, run, err);
    if (rc >= 0)
        rc = read_slips(st, pool, run, err);
    if (rc >= 0)
        rc = read_causes(st, run, err);
    return rc < 0 ? rc : read_signs(st, pool, run, err);
}

ch_status ch_store_run_load(ch_store *store, ch_store_pool *pool, int64_t id, ch_store_run *run, ch_err *err)
{
    ch_store_run made = {0};
    ch_status rc = store_begin_reading(store, err);
    if (rc < 0)
        return rc;
    rc = store_end(store, run_load(store, pool, id, &made, err), err);
    if (rc >= 0)
        *run = made;
    return rc;
}

ch_status ch_store_runs(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_store_run **rows, size_t *count,
                        ch_err *err)
{
    store_list list = {.pool = pool, .size = sizeof(ch_store_run)};
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_begin_reading(store, err);
    if (rc < 0)
        return rc;
    rc = store_prepare(store, &q, err,
                       HEAD " WHERE (?1 = 0 OR r.car_id = ?1) AND " RUN_CURRENT
                            " ORDER BY coalesce(r.day, date(r.judged_s, 'unixepoch')) DESC, r.id DESC",
                       "i", car_id);
    while (rc >= 0 && (rc = store_step(store, q, &more, err)) >= 0 && more) {
        ch_store_run *run = store_list_more(&list, err);
        rc = run == NULL ? CH_E_MEMORY : read_head(q, pool, run, err);
        if (rc >= 0)
            rc = read_gears(store, run, err);
        if (rc >= 0)
            rc = read_causes(store, run, err);
    }
    store_release(store, q);
    rc = store_end(store, rc, err);
    if (rc >= 0) {
        *rows = (const ch_store_run *)(const void *)list.rows;
        *count = list.count;
    }
    return rc;
}

/* ---------------------------------------------------------------- the car */

ch_status ch_store_drivetrain_get(ch_store *store, ch_store_pool *pool, int64_t car_id, const char **text, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    const char *found = NULL;
    ch_status rc = store_prepare(store, &q, err, "SELECT text FROM drivetrain WHERE car_id = ?1", "i", car_id);
    if (rc >= 0)
        rc = store_step(store, q, &more, err);
    if (rc >= 0 && more)
        rc = store_text(pool, q, 0, &found, err);
    store_release(store, q);
    if (rc >= 0)
        *text = found;
    return rc;
}

ch_status ch_store_drivetrain_set(ch_store *store, int64_t car_id, const char *text, int64_t now_s, ch_err *err)
{
    ch_status rc = store_text_check_to("what is known of the car", text, false, CH_STORE_DRIVETRAIN_MAX, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_must_be(store, "SELECT 1 FROM car WHERE id = ?1 AND deleted_s IS NULL", "car", car_id, err);
    if (rc >= 0)
        rc = store_run(store, err,
                       "INSERT INTO drivetrain (car_id, text, changed_s) VALUES (?1, ?2, ?3)"
                       " ON CONFLICT (car_id) DO UPDATE SET text = excluded.text, changed_s = excluded.changed_s"
                       " WHERE text IS NOT excluded.text",
                       "iti", car_id, text, now_s);
    return store_end(store, rc, err);
}
