/* Logged runs of a car's driveline, see store_driveline.h. Columns of numbers are told by tables, one for writing, reading and comparing. */
#include "crosshatch/store_driveline.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "store_parts.h"

enum { POINT_BYTES = 16, POINT_FLOATS = 4, RUN_REALS = 18, SLIP_REALS = 16, GEAR_REALS = 5 };
static const double SUM_TOLERANCE_1 = 1e-6; /* of chances that came through text and back, and of sums of eight */

static const char *const states[] = {[CH_DRIVELINE_GEARS_FOUND] = "gears_found",
                                     [CH_DRIVELINE_TOO_LITTLE] = "too_little_driving",
                                     [CH_DRIVELINE_NO_FIXED_GEARS] = "no_fixed_gears"};

#define RUN_REAL_COLUMNS                                                                                               \
    "on_lines_1, car_factor_1, lag_s, u_lag_s, engine_fresh_s, road_fresh_s, road_step_m_s, road_offset_m_s,"          \
    " shortest_slip_s, loaded_s, loaded_low_s, capacity_low_n_m, capacity_n_m, capacity_high_n_m, fade_1_k,"           \
    " u_fade_1_k, design_wear_n_m, design_pressure_n_m"
#define AT(member) offsetof(ch_driveline, member)
static const size_t run_reals[RUN_REALS] = {
    AT(on_lines_1),
    AT(car_factor_1),
    AT(lag_s),
    AT(u_lag_s),
    AT(engine_fresh_s),
    AT(road_fresh_s),
    AT(road_step_m_s),
    AT(road_offset_m_s),
    AT(shortest_slip_s),
    AT(loaded_s),
    AT(loaded_low_s),
    AT(capacity_n_m),
    AT(capacity_n_m) + sizeof(double),
    AT(capacity_n_m) + 2 * sizeof(double),
    AT(fade_1_k),
    AT(u_fade_1_k),
    AT(design_n_m),
    AT(design_n_m) + sizeof(double),
};
#undef AT

#define GEAR_REAL_COLUMNS "line_rad_m, u_line_rad_m, spread_1, seconds, car_line_rad_m"
#define AT(member) offsetof(ch_driveline_gear, member)
static const size_t gear_reals[GEAR_REALS] = {AT(line_rad_m), AT(u_line_rad_m), AT(spread_1), AT(seconds),
                                              AT(car_line_rad_m)};
#undef AT

#define SLIP_REAL_COLUMNS                                                                                              \
    "start_s, end_s, peak_1, mean_1, ahead_rad_s, road_speed_m_s, engine_speed_rad_s, throttle_1, acceleration_m_s2,"  \
    " oil_or_coolant_k, torque_n_m, u_torque_n_m, heat_j, plate_k, peak_plate_k, driven_before_s"
#define AT(member) offsetof(ch_slip, member)
static const size_t slip_reals[SLIP_REALS] = {
    AT(start_s),
    AT(end_s),
    AT(peak_1),
    AT(mean_1),
    AT(ahead_rad_s),
    AT(road_speed_m_s),
    AT(engine_speed_rad_s),
    AT(throttle_1),
    AT(acceleration_m_s2),
    AT(oil_or_coolant_k),
    AT(torque_n_m),
    AT(u_torque_n_m),
    AT(heat_j),
    AT(plate_k),
    AT(peak_plate_k),
    AT(driven_before_s),
};
#undef AT

static double real_of(const void *from, size_t offset)
{
    double value = 0;
    memcpy(&value, (const char *)from + offset, sizeof value);
    return value;
}

static int bind_reals(sqlite3_stmt *q, int first, const void *from, const size_t offsets[], size_t count)
{
    int code = SQLITE_OK;
    for (size_t i = 0; code == SQLITE_OK && i < count; i++)
        code = sqlite3_bind_double(q, first + (int)i, real_of(from, offsets[i]));
    return code;
}

static void read_reals(sqlite3_stmt *q, int first, void *to, const size_t offsets[], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const double value = store_real(q, first + (int)i);
        memcpy((char *)to + offsets[i], &value, sizeof value);
    }
}

static bool same_reals(const void *a, const void *b, const size_t offsets[], size_t count)
{
    bool same = true;
    for (size_t i = 0; i < count; i++) {
        const double x = real_of(a, offsets[i]), y = real_of(b, offsets[i]);
        same = same && (x == y || (isnan(x) && isnan(y)));
    }
    return same;
}

/* ---------------------------------------------------------------- what comes in */

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
                    d->slips_found >= d->slips && d->rows <= INT64_MAX &&
                    (unsigned)d->state <= CH_DRIVELINE_NO_FIXED_GEARS;
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
    if (rc >= 0 && (run->told == NULL || run->log_bytes < 0 || !(run->seconds >= 0)))
        rc = ch_fail(err, CH_E_INPUT, "0 or more", "the log's size cannot be");
    if (rc >= 0 && run->points > CH_STORE_POINTS_MAX)
        rc = ch_fail(err, CH_E_LIMIT, "at most 32768", "a picture of %zu points", run->points);
    if (rc >= 0)
        rc = check_numbers(&run->driveline, err);
    return rc < 0 ? rc : check_chances(run->driveline.cause_1, err);
}

/* ---------------------------------------------------------------- in */

/* To the little end, whatever the machine's. */
static void put_points(const ch_drive_point point[], size_t points, unsigned char *bytes)
{
    for (size_t i = 0; i < points; i++) {
        const float value[POINT_FLOATS] = {point[i].time_s, point[i].engine_speed_rad_s, point[i].road_speed_m_s,
                                           point[i].gear};
        for (int k = 0; k < POINT_FLOATS; k++) {
            uint32_t bits = 0;
            memcpy(&bits, &value[k], sizeof bits);
            for (int b = 0; b < 4; b++)
                *bytes++ = (unsigned char)(bits >> (8 * b));
        }
    }
}

static void get_points(const unsigned char *bytes, size_t points, ch_drive_point *point)
{
    for (size_t i = 0; i < points; i++) {
        float value[POINT_FLOATS];
        for (int k = 0; k < POINT_FLOATS; k++, bytes += 4) {
            const uint32_t bits =
                (uint32_t)bytes[0] | (uint32_t)bytes[1] << 8 | (uint32_t)bytes[2] << 16 | (uint32_t)bytes[3] << 24;
            memcpy(&value[k], &bits, sizeof bits);
        }
        point[i] = (ch_drive_point){value[0], value[1], value[2], value[3]};
    }
}

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
        run->told, run->made_by, now_s, client, (int64_t)d->rows, states[d->state], (int64_t)d->limits,
        (int64_t)d->patterns, (int64_t)d->patterns_known, (int64_t)d->slips_found,
        (int64_t)d->not_slips[CH_NOT_SLIP_WHEELSPIN], (int64_t)d->not_slips[CH_NOT_SLIP_CLUTCH],
        (int64_t)d->not_slips[CH_NOT_SLIP_SENSOR]);
    if (rc >= 0) {
        int code = bind_reals(q, RUN_FIRST_REAL, d, run_reals, RUN_REALS);
        if (code == SQLITE_OK && picture != NULL)
            code = sqlite3_bind_blob64(q, RUN_PICTURE, picture, run->points * POINT_BYTES, SQLITE_STATIC);
        if (code == SQLITE_OK)
            code = sqlite3_bind_int64(q, RUN_PICTURE + 1, (int64_t)d->not_slips[CH_NOT_SLIP_BRIEF]);
        if (code == SQLITE_OK)
            code = sqlite3_bind_double(q, RUN_PICTURE + 2, run->seconds);
        rc = code == SQLITE_OK ? store_step(st, q, &more, err) : store_fail(st, code, "writing", err);
    }
    sqlite3_finalize(q);
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
            code = bind_reals(q, 4, row, offsets, reals);
        rc = code == SQLITE_OK ? store_step(st, q, &more, err) : store_fail(st, code, "writing", err);
        sqlite3_reset(q); /* its failure is that of the step */
    }
    sqlite3_finalize(q);
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
    unsigned char *picture = run->points > 0 ? store_take(&pool, run->points * POINT_BYTES) : NULL;
    if (run->points > 0 && picture == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the picture");
    if (picture != NULL)
        put_points(run->point, run->points, picture);
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

static ch_status load(ch_store *st, ch_store_pool *pool, int64_t id, ch_store_run *run, ch_err *err);

/* What was stored must be what was meant. */
static ch_status read_back(ch_store *st, int64_t id, const ch_store_run *meant, ch_err *err)
{
    ch_store_pool pool = {0};
    ch_store_run run = {0};
    const ch_driveline *a = &meant->driveline, *b = &run.driveline;
    ch_status rc = load(st, &pool, id, &run, err);
    bool same = rc >= 0 && a->gears == b->gears && a->slips == b->slips && a->rows == b->rows && a->state == b->state &&
                a->limits == b->limits && meant->points == run.points && strcmp(meant->told, run.told) == 0 &&
                same_reals(a, b, run_reals, RUN_REALS);
    for (int c = 0; same && c < CH_CLUTCH_CAUSES; c++)
        same = a->cause_1[c] == b->cause_1[c];
    for (size_t g = 0; same && g < a->gears; g++)
        same = a->gear[g].number == b->gear[g].number && same_reals(&a->gear[g], &b->gear[g], gear_reals, GEAR_REALS);
    for (size_t i = 0; same && i < a->slips; i++)
        same = a->slip[i].gear == b->slip[i].gear && same_reals(&a->slip[i], &b->slip[i], slip_reals, SLIP_REALS);
    ch_store_pool_clear(&pool);
    if (rc >= 0 && !same)
        rc = ch_fail(err, CH_E_IO, NULL, "the run did not come back as it was written");
    return rc;
}

#define CURRENT "r.deleted_s IS NULL AND NOT EXISTS (SELECT 1 FROM run n WHERE n.replaces_id = r.id)"

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
                              "SELECT r.id FROM run r WHERE r.car_id = ?1 AND r.log_sha256 = ?2 AND " CURRENT
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

/* ---------------------------------------------------------------- out */

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
    const char *state = (const char *)sqlite3_column_text(q, 14);
    run->id = sqlite3_column_int64(q, 0);
    run->car_id = sqlite3_column_int64(q, 1);
    run->replaces_id = sqlite3_column_int64(q, 2);
    run->day = store_date(q, 3);
    run->log_bytes = sqlite3_column_int64(q, 7);
    run->judged_s = sqlite3_column_int64(q, 11);
    run->seconds = store_real(q, 12);
    d->rows = (uint64_t)sqlite3_column_int64(q, 13);
    for (int s = 0; state != NULL && s <= CH_DRIVELINE_NO_FIXED_GEARS; s++)
        if (strcmp(states[s], state) == 0)
            d->state = (ch_driveline_state)s;
    d->limits = (unsigned)sqlite3_column_int64(q, 15);
    d->patterns = (unsigned)sqlite3_column_int64(q, 16);
    d->patterns_known = (unsigned)sqlite3_column_int64(q, 17);
    d->slips_found = (size_t)sqlite3_column_int64(q, 18);
    d->not_slips[CH_NOT_SLIP_WHEELSPIN] = (size_t)sqlite3_column_int64(q, 19);
    d->not_slips[CH_NOT_SLIP_CLUTCH] = (size_t)sqlite3_column_int64(q, 20);
    d->not_slips[CH_NOT_SLIP_SENSOR] = (size_t)sqlite3_column_int64(q, 21);
    d->not_slips[CH_NOT_SLIP_BRIEF] = (size_t)sqlite3_column_int64(q, 22);
    read_reals(q, HEAD_FIRST_REAL, d, run_reals, RUN_REALS);
    return read_texts(q, pool, run, err);
}

static ch_status read_picture(sqlite3_stmt *q, ch_store_pool *pool, ch_store_run *run, ch_err *err)
{
    const unsigned char *bytes = sqlite3_column_blob(q, HEAD_PICTURE);
    const size_t length = (size_t)sqlite3_column_bytes(q, HEAD_PICTURE);
    if (length % POINT_BYTES != 0 || length / POINT_BYTES > CH_STORE_POINTS_MAX)
        return unreadable(run->id, err);
    if (length == 0)
        return CH_OK;
    ch_drive_point *point = bytes == NULL ? NULL : store_take(pool, length / POINT_BYTES * sizeof *point);
    if (point == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the picture");
    get_points(bytes, length / POINT_BYTES, point);
    run->point = point;
    run->points = length / POINT_BYTES;
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
        read_reals(q, 1, gear, gear_reals, GEAR_REALS);
    }
    sqlite3_finalize(q);
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
        read_reals(q, 1, slip, slip_reals, SLIP_REALS);
    }
    sqlite3_finalize(q);
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
        const char *id = (const char *)sqlite3_column_text(q, 0);
        for (int c = 0; id != NULL && c < CH_CLUTCH_CAUSES; c++)
            if (strcmp(ch_clutch_cause_id((ch_clutch_cause)c), id) == 0)
                run->driveline.cause_1[c] = store_real(q, 1);
    }
    sqlite3_finalize(q);
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
    sqlite3_finalize(q);
    run->sign = (const ch_store_run_sign *)(const void *)list.rows;
    run->signs = list.count;
    return rc;
}

/* Inside a transaction. */
static ch_status load(ch_store *st, ch_store_pool *pool, int64_t id, ch_store_run *run, ch_err *err)
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
    sqlite3_finalize(q);
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
    rc = store_end(store, load(store, pool, id, &made, err), err);
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
                       HEAD " WHERE (?1 = 0 OR r.car_id = ?1) AND " CURRENT
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
    sqlite3_finalize(q);
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
    sqlite3_finalize(q);
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
