/* Logged runs of a car's driveline on their way in, see store_driveline.h. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "store_run.h"

static const double SUM_TOLERANCE_1 = 1e-6; /* of chances that came through text and back, and of sums of eight */

static ch_status check_chances(const double cause_1[CH_CLUTCH_CAUSES], ch_err *err)
{
    double sum = 0;
    bool possible = true;
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++) {
        possible = possible && cause_1[c] >= 0 && cause_1[c] <= 1;
        sum += cause_1[c];
    }
    if (!possible || !(fabs(sum - 1) <= SUM_TOLERANCE_1))
        return ch_fail(err, CH_E_INPUT, "chances from 0 to 1 that add up to 1", "chances of causes that cannot be");
    return CH_OK;
}

static ch_status check_numbers(const ch_driveline *d, ch_err *err)
{
    bool possible = d->gears <= CH_DRIVELINE_GEARS_MAX && d->slips <= CH_DRIVELINE_SLIPS_MAX &&
                    d->slips_found >= d->slips && (d->slips_found == 0) == (d->slips == 0) && d->rows <= INT64_MAX &&
                    (unsigned)d->state <= CH_DRIVELINE_NO_FIXED_GEARS &&
                    (d->gears > 0 || d->state != CH_DRIVELINE_GEARS_FOUND);
    for (size_t g = 0; possible && g < d->gears; g++)
        possible = d->gear[g].number > 0 && d->gear[g].line_rad_m > 0 && isfinite(d->gear[g].line_rad_m);
    for (size_t i = 0; possible && i < d->slips; i++)
        possible = d->slip[i].gear > 0 && d->slip[i].end_s >= d->slip[i].start_s;
    return possible ? CH_OK
                    : ch_fail(err, CH_E_INPUT, "gears and slips as ch_driveline_finish() makes them",
                              "a run that cannot be");
}

static ch_status check_run(const ch_store_run *run, ch_err *err)
{
    const char *digest = run->log_sha256;
    ch_status rc = store_text_check("the log's name", run->log_name, true, err);
    if (rc >= 0)
        rc = store_text_check("note", run->note, false, err);
    if (rc >= 0)
        rc = store_text_check_to("what was said of the log", run->told, false, CH_STORE_TOLD_MAX, err);
    if (rc >= 0)
        rc = store_text_check_to("what is known of the car", run->drivetrain, false, CH_STORE_DRIVETRAIN_MAX, err);
    if (rc >= 0)
        rc = store_text_check("made_by", run->made_by, true, err);
    if (rc >= 0 &&
        (digest == NULL || strlen(digest) != CH_STORE_DIGEST || strspn(digest, "0123456789abcdef") != CH_STORE_DIGEST))
        rc = ch_fail(err, CH_E_INPUT, "64 hexadecimal digits", "the log's digest cannot be one");
    if (rc >= 0 && run->told == NULL)
        rc = ch_fail(err, CH_E_INPUT, "a text, which may be empty", "what was said of the log: nothing given");
    if (rc >= 0 && run->log_bytes < 0)
        rc = ch_fail(err, CH_E_INPUT, "0 or more", "the log's size cannot be");
    if (rc >= 0 && !(run->seconds >= 0 && isfinite(run->seconds)))
        rc = ch_fail(err, CH_E_INPUT, "0 or more", "the log's length cannot be");
    if (rc >= 0 && run->points > CH_STORE_POINTS_MAX)
        rc = ch_fail(err, CH_E_LIMIT, "at most 32768", "a picture of %zu points", run->points);
    if (rc >= 0)
        rc = check_numbers(&run->driveline, err);
    return rc < 0 ? rc : check_chances(run->driveline.cause_1, err);
}

/* ---------------------------------------------------------------- in */

enum { RUN_FIRST_REAL = 22, RUN_PICTURE = RUN_FIRST_REAL + RUN_REALS };

static ch_status insert_head(ch_store *st, const ch_store_run *run, int64_t replaces_id, const char *client,
                             int64_t now_s, const unsigned char *picture, int64_t *id, ch_err *err)
{
    const ch_driveline *d = &run->driveline;
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(
        st, &q, err,
        "INSERT INTO run (car_id, replaces_id, day, note, log_name, log_sha256, log_bytes, drivetrain, told, made_by,"
        " judged_s, changed_s, client, log_rows, state, limits, patterns, patterns_known, slips_found, wheelspins,"
        " by_foot, by_sensor, too_brief, " RUN_REAL_COLUMNS ", picture, seconds)"
        " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19, ?20, ?21,"
        " ?41, ?22, ?23, ?24, ?25, ?26, ?27, ?28, ?29, ?30, ?31, ?32, ?33, ?34, ?35, ?36, ?37, ?38, ?39, ?40, ?42)",
        "indttt"
        "ittt"
        "iti"
        "tiiii"
        "iii",
        run->car_id, replaces_id, run->day, run->note, run->log_name, run->log_sha256, run->log_bytes, run->drivetrain,
        run->told, run->made_by, now_s, client, (int64_t)d->rows, run_states[d->state], (int64_t)d->limits,
        (int64_t)d->patterns, (int64_t)d->patterns_known, (int64_t)d->slips_found,
        (int64_t)d->not_slips[CH_NOT_SLIP_WHEELSPIN], (int64_t)d->not_slips[CH_NOT_SLIP_CLUTCH],
        (int64_t)d->not_slips[CH_NOT_SLIP_SENSOR]);
    if (rc >= 0) {
        int code = run_bind_reals(q, RUN_FIRST_REAL, d, run_reals, RUN_REALS);
        if (code == SQLITE_OK && picture != NULL)
            code = sqlite3_bind_blob64(q, RUN_PICTURE, picture, run->points * RUN_POINT_BYTES, SQLITE_STATIC);
        if (code == SQLITE_OK)
            code = sqlite3_bind_int64(q, RUN_PICTURE + 1, (int64_t)d->not_slips[CH_NOT_SLIP_BRIEF]);
        if (code == SQLITE_OK)
            code = sqlite3_bind_double(q, RUN_PICTURE + 2, run->seconds);
        rc = code == SQLITE_OK ? store_step(st, q, &more, err) : store_fail(st, code, "writing", err);
    }
    store_release(st, q);
    *id = sqlite3_last_insert_rowid(st->db);
    return rc;
}

/* Rows that hang on a run: its id, their place and a whole number, then numbers. */
static ch_status insert_places(ch_store *st, const char *sql, int64_t id, const void *rows, size_t size, size_t count,
                               size_t whole, const size_t offsets[], size_t reals, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(st, &q, err, sql, "i", id);
    for (size_t i = 0; rc >= 0 && i < count; i++) {
        const char *row = (const char *)rows + i * size;
        int number = 0;
        memcpy(&number, row + whole, sizeof number);
        int code = sqlite3_bind_int64(q, 2, (int64_t)i);
        if (code == SQLITE_OK)
            code = sqlite3_bind_int(q, 3, number);
        if (code == SQLITE_OK)
            code = run_bind_reals(q, 4, row, offsets, reals);
        rc = code == SQLITE_OK ? store_step(st, q, &more, err) : store_fail(st, code, "writing", err);
        sqlite3_reset(q); /* its failure is that of the step */
    }
    store_release(st, q);
    return rc;
}

static ch_status put_causes(ch_store *st, int64_t id, const double cause_1[CH_CLUTCH_CAUSES], int64_t now_s,
                            ch_err *err)
{
    ch_status rc = CH_OK;
    for (int c = 0; rc >= 0 && c < CH_CLUTCH_CAUSES; c++)
        rc = store_run(st, err,
                       "INSERT INTO run_cause (run_id, cause, chance_1, changed_s) VALUES (?1, ?2, ?3, ?4)"
                       " ON CONFLICT (run_id, cause) DO UPDATE SET chance_1 = excluded.chance_1,"
                       " changed_s = excluded.changed_s WHERE chance_1 <> excluded.chance_1",
                       "itri", id, ch_clutch_cause_id((ch_clutch_cause)c), cause_1[c], now_s);
    return rc;
}

static ch_status insert_run(ch_store *st, const ch_store_run *run, int64_t replaces_id, const char *client,
                            int64_t now_s, int64_t *id, ch_err *err)
{
    ch_store_pool pool = {0};
    unsigned char *picture = run->points > 0 ? store_take(&pool, run->points * RUN_POINT_BYTES) : NULL;
    if (run->points > 0 && picture == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the picture");
    if (picture != NULL)
        run_put_points(run->point, run->points, picture);
    ch_status rc = insert_head(st, run, replaces_id, client, now_s, picture, id, err);
    ch_store_pool_clear(&pool);
    if (rc >= 0)
        rc = insert_places(st,
                           "INSERT INTO run_gear (run_id, place, number, " GEAR_REAL_COLUMNS
                           ") VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
                           *id, run->driveline.gear, sizeof run->driveline.gear[0], run->driveline.gears,
                           offsetof(ch_driveline_gear, number), gear_reals, GEAR_REALS, err);
    if (rc >= 0)
        rc = insert_places(st,
                           "INSERT INTO run_slip (run_id, place, gear, " SLIP_REAL_COLUMNS
                           ") VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18,"
                           " ?19)",
                           *id, run->driveline.slip, sizeof(ch_slip), run->driveline.slips, offsetof(ch_slip, gear),
                           slip_reals, SLIP_REALS, err);
    if (rc >= 0)
        rc = put_causes(st, *id, run->driveline.cause_1, now_s, err);
    if (rc >= 0 && replaces_id != 0)
        rc = store_run(
            st, err,
            "INSERT INTO run_sign (run_id, sign, present, changed_s)"
            " SELECT ?1, sign, present, ?3 FROM run_sign WHERE run_id = ?2 AND present IS NOT NULL ORDER BY id",
            "iii", *id, replaces_id, now_s);
    return rc;
}

static bool same_day(ch_date a, ch_date b)
{
    return ch_date_given(a) ? ch_date_days(a) == ch_date_days(b) : !ch_date_given(b);
}

static bool same_head(const ch_store_run *a, const ch_store_run *b)
{
    const ch_driveline *c = &a->driveline, *d = &b->driveline;
    const char *const texts[][2] = {
        {a->note, b->note}, {a->log_name, b->log_name}, {a->log_sha256, b->log_sha256}, {a->drivetrain, b->drivetrain},
        {a->told, b->told}, {a->made_by, b->made_by}};
    const uint64_t numbers[][2] = {{(uint64_t)a->log_bytes, (uint64_t)b->log_bytes},
                                   {c->rows, d->rows},
                                   {c->state, d->state},
                                   {c->limits, d->limits},
                                   {c->patterns, d->patterns},
                                   {c->patterns_known, d->patterns_known},
                                   {c->slips_found, d->slips_found},
                                   {c->gears, d->gears},
                                   {c->slips, d->slips},
                                   {a->points, b->points}};
    bool same = same_day(a->day, b->day) && a->seconds == b->seconds &&
                memcmp(c->not_slips, d->not_slips, sizeof c->not_slips) == 0 &&
                run_same_reals(c, d, run_reals, RUN_REALS);
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        same = same && store_same_text(texts[i][0], texts[i][1]);
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
        same = same && numbers[i][0] == numbers[i][1];
    return same && (a->points == 0 || memcmp(a->point, b->point, a->points * sizeof *a->point) == 0);
}

/* What was stored must be what was meant. */
static ch_status read_back(ch_store *st, int64_t id, const ch_store_run *meant, ch_err *err)
{
    ch_store_pool pool = {0};
    ch_store_run run = {0};
    const ch_driveline *a = &meant->driveline, *b = &run.driveline;
    ch_status rc = run_load(st, &pool, id, &run, err);
    bool same = rc >= 0 && same_head(meant, &run);
    for (int c = 0; same && c < CH_CLUTCH_CAUSES; c++)
        same = a->cause_1[c] == b->cause_1[c];
    for (size_t g = 0; same && g < a->gears; g++)
        same =
            a->gear[g].number == b->gear[g].number && run_same_reals(&a->gear[g], &b->gear[g], gear_reals, GEAR_REALS);
    for (size_t i = 0; same && i < a->slips; i++)
        same = a->slip[i].gear == b->slip[i].gear && run_same_reals(&a->slip[i], &b->slip[i], slip_reals, SLIP_REALS);
    ch_store_pool_clear(&pool);
    if (rc >= 0 && !same)
        rc = ch_fail(err, CH_E_IO, NULL, "the run did not come back as it was written");
    return rc;
}

ch_status ch_store_run_add(ch_store *store, const ch_store_run *run, const char *client, int64_t now_s,
                           ch_stored *stored, ch_err *err)
{
    ch_stored made = {0};
    bool again = false;
    int64_t replaces_id = 0;
    ch_status rc = check_run(run, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_seen(store, "run", client, &made, &again, err);
    if (rc >= 0 && !again) {
        rc = store_must_be(store, "SELECT 1 FROM car WHERE id = ?1 AND deleted_s IS NULL", "car", run->car_id, err);
        if (rc >= 0)
            rc = store_number(store, &replaces_id, 0, err,
                              "SELECT r.id FROM run r WHERE r.car_id = ?1 AND r.log_sha256 = ?2 AND " RUN_CURRENT
                              " ORDER BY r.id DESC",
                              "it", run->car_id, run->log_sha256);
        if (rc >= 0)
            rc = insert_run(store, run, replaces_id, client, now_s, &made.id, err);
        if (rc >= 0)
            rc = read_back(store, made.id, run, err);
    }
    rc = store_end(store, rc, err);
    if (rc >= 0 && stored != NULL)
        *stored = made;
    return rc;
}

ch_status ch_store_run_change(ch_store *store, int64_t id, ch_date day, const char *note, int64_t now_s, ch_err *err)
{
    ch_status rc = store_text_check("note", note, false, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_run(store, err, "UPDATE run SET day = ?2, note = ?3, changed_s = ?4 WHERE id = ?1 AND deleted_s IS NULL",
                   "idti", id, day, note, now_s);
    if (rc >= 0)
        rc = store_changed_one(store, "run", id, err);
    return store_end(store, rc, err);
}

ch_status ch_store_run_see(ch_store *store, int64_t id, const ch_store_run_sign sign[], size_t signs,
                           const double cause_1[CH_CLUTCH_CAUSES], int64_t now_s, ch_err *err)
{
    ch_status rc = check_chances(cause_1, err);
    for (size_t i = 0; rc >= 0 && i < signs; i++)
        rc = store_text_check("sign", sign[i].sign, true, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_must_be(store, "SELECT 1 FROM run WHERE id = ?1 AND deleted_s IS NULL", "run", id, err);
    for (size_t i = 0; rc >= 0 && i < signs; i++)
        rc = store_run(store, err,
                       "INSERT INTO run_sign (run_id, sign, present, changed_s)"
                       " VALUES (?1, ?2, CASE WHEN ?3 >= 0 THEN ?3 > 0 END, ?4)"
                       " ON CONFLICT (run_id, sign) DO UPDATE SET present = excluded.present,"
                       " changed_s = excluded.changed_s WHERE present IS NOT excluded.present",
                       "itii", id, sign[i].sign, (int64_t)sign[i].present, now_s);
    if (rc >= 0)
        rc = put_causes(store, id, cause_1, now_s, err);
    return store_end(store, rc, err);
}

ch_status ch_store_run_delete(ch_store *store, int64_t id, int64_t now_s, ch_err *err)
{
    ch_status rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_run(store, err, "UPDATE run SET deleted_s = ?2, changed_s = ?2 WHERE id = ?1 AND deleted_s IS NULL",
                   "ii", id, now_s);
    if (rc >= 0)
        rc = store_changed_one(store, "run", id, err);
    return store_end(store, rc, err);
}
