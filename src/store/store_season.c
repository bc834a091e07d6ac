/*
 * The history of an engine out of the garage file. Results of judging are kept in `derived`, all new ones in one transaction at the end: no
 * lock is held while a sheet is judged, and a result that is lost is only worked out again.
 */
#include "crosshatch/store_season.h"

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../base/decimal.h"
#include "crosshatch/store_work.h"
#include "store_parts.h"

enum { LIVES_MAX = 100, MARK_SIZE = 256, DAY_S = 86400 };

typedef struct gathering {
    ch_store *st;
    ch_store_pool *pool;
    const ch_store_judging *judging;
    char made_by[MARK_SIZE];
    int64_t life[LIVES_MAX]; /* the engine's stays in the car, the present one first */
    size_t lives;
    long since;                               /* from this day on the present life is in the car, as far as is known */
    const ch_store_sheet *const *with_height; /* sheets of the engine that note a height, */
    const double *height_m;                   /* and which */
    size_t heights;
} gathering;

/* What names a result: the calculation, and a height that the sheet does not say itself. */
typedef struct mark {
    char text[MARK_SIZE + 40];
} mark;

static mark mark_of(const gathering *g, const ch_history_sheet *sheet)
{
    mark made;
    char height[32] = "";
    if (sheet->height_taken)
        sqlite3_snprintf(sizeof height, height, " at %!.17g", sheet->height_m);
    snprintf(made.text, sizeof made.text, "%s%s", g->made_by, height);
    return made;
}

static bool is_ours(const gathering *g, int64_t engine_id)
{
    if (g->lives == 0)
        return engine_id == 0;
    for (size_t i = 0; i < g->lives; i++)
        if (g->life[i] == engine_id)
            return true;
    return false;
}

/* ---- kept results ---- */

static double double_of(const unsigned char bytes[8])
{
    uint64_t bits = 0;
    for (int i = 7; i >= 0; i--)
        bits = bits << 8 | bytes[i];
    double value;
    memcpy(&value, &bits, sizeof value);
    return value;
}

static void bytes_of(double value, unsigned char bytes[8])
{
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    for (int i = 0; i < 8; i++, bits >>= 8)
        bytes[i] = (unsigned char)(bits & 0xff);
}

/* *found where there is a result of this revision and this calculation. One that cannot be read counts as none. */
static ch_status kept(gathering *g, const ch_store_sheet *sheet, const char *made_by, ch_history_result *result,
                      bool *found, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    *found = false;
    ch_status rc = store_prepare(g->st, &q, err,
                                 "SELECT numbers FROM derived WHERE sheet_id = ?1 AND revision = ?2 AND made_by = ?3",
                                 "iit", sheet->id, sheet->revision, made_by);
    if (rc >= 0)
        rc = store_step(g->st, q, &more, err);
    if (rc >= 0 && more) {
        const unsigned char *bytes = sqlite3_column_blob(q, 0);
        const size_t count = (size_t)sqlite3_column_bytes(q, 0) / 8;
        double numbers[2048];
        if (bytes != NULL && count <= sizeof numbers / sizeof numbers[0]) {
            for (size_t i = 0; i < count; i++)
                numbers[i] = double_of(bytes + 8 * i);
            ch_err ignored = {0};
            *found = ch_history_read(numbers, count, result, &ignored) >= 0;
        }
    }
    store_release(g->st, q);
    return rc;
}

static ch_status keep_one(gathering *g, const ch_store_sheet *sheet, const ch_history_sheet *judged, ch_err *err)
{
    const ch_history_result *result = &judged->result;
    const size_t count = ch_history_numbers(result->cylinders);
    double *numbers = malloc(count * sizeof *numbers);
    unsigned char *bytes = malloc(8 * count);
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc =
        numbers == NULL || bytes == NULL ? ch_fail(err, CH_E_MEMORY, NULL, "no memory to keep a result") : CH_OK;
    if (rc >= 0)
        rc = store_prepare(
            g->st, &q, err,
            "INSERT OR REPLACE INTO derived (sheet_id, revision, made_by, numbers) VALUES (?1, ?2, ?3, ?4)", "iit",
            sheet->id, sheet->revision, mark_of(g, judged).text);
    if (rc >= 0) {
        ch_history_write(result, numbers);
        for (size_t i = 0; i < count; i++)
            bytes_of(numbers[i], bytes + 8 * i);
        const int code = sqlite3_bind_blob(q, 4, bytes, (int)(8 * count), SQLITE_STATIC);
        rc = code == SQLITE_OK ? store_step(g->st, q, &more, err) : store_fail(g->st, code, "writing", err);
    }
    store_release(g->st, q);
    free(numbers);
    free(bytes);
    return rc;
}

/* ---- sheets ---- */

static ch_status judge(gathering *g, ch_history_sheet *sheet, ch_err *err)
{
    ch_sheet loaded;
    ch_status rc = ch_store_sheet_load(g->st, sheet->id, &loaded, err);
    if (rc < 0)
        return rc;
    if (sheet->height_taken) {
        ch_quantity *altitude = &loaded.conditions.altitude;
        *altitude = (ch_quantity){.si = sheet->height_m, .unit = ch_unit_find("m", 1)};
        sqlite3_snprintf(sizeof altitude->number, altitude->number, "%.1f", sheet->height_m);
    }
    rc = ch_history_judge(&loaded, g->judging->knowledge, &g->judging->options, &sheet->result, err);
    ch_sheet_clear(&loaded);
    return rc;
}

static ch_status number_of(gathering *g, int64_t sheet_id, const char *name, double *value, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    ch_status rc = store_prepare(g->st, &q, err, "SELECT value FROM field WHERE sheet_id = ?1 AND name = ?2", "it",
                                 sheet_id, name);
    if (rc >= 0)
        rc = store_step(g->st, q, &more, err);
    if (rc >= 0)
        *value = more ? store_real(q, 0) : NAN;
    store_release(g->st, q);
    return rc;
}

/* Days are counted in UTC here: where a sheet has no date, the day of its entry is a stand-in, and is told as one. */
static ch_date day_of_time(int64_t time_s)
{
    const int64_t day = time_s >= 0 ? time_s / DAY_S : (time_s - DAY_S + 1) / DAY_S;
    return ch_date_from_days((long)day);
}

/* Of a sheet that says nothing of the air: the height that the sheet of the engine nearest in time notes, as most engines are tested at home. */
static ch_status take_height(gathering *g, ch_history_sheet *to, ch_err *err)
{
    double altitude_m = NAN, barometer_pa = NAN;
    long nearest = 0;
    ch_status rc = number_of(g, to->id, "conditions.altitude", &altitude_m, err);
    if (rc >= 0)
        rc = number_of(g, to->id, "conditions.barometer", &barometer_pa, err);
    to->air_noted = !isnan(altitude_m) || !isnan(barometer_pa);
    for (size_t i = 0; rc >= 0 && !to->air_noted && i < g->heights; i++) {
        const long apart = labs(ch_date_days(g->with_height[i]->day) - ch_date_days(to->day));
        if (to->height_taken && apart >= nearest)
            continue;
        to->height_taken = true;
        to->height_m = g->height_m[i];
        nearest = apart;
    }
    return rc;
}

/* Sheets of no engine may be of any place. */
static ch_status gather_heights(gathering *g, const ch_store_sheet *rows, size_t count, ch_err *err)
{
    const ch_store_sheet **with = store_take(g->pool, (count + 1) * sizeof *with);
    double *height_m = store_take(g->pool, (count + 1) * sizeof *height_m);
    if (with == NULL || height_m == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for %zu sheets", count);
    ch_status rc = CH_OK;
    for (size_t i = 0; rc >= 0 && g->lives > 0 && i < count; i++) {
        if (!is_ours(g, rows[i].engine_id) || !ch_date_given(rows[i].day))
            continue;
        rc = number_of(g, rows[i].id, "conditions.altitude", &height_m[g->heights], err);
        if (rc >= 0 && !isnan(height_m[g->heights]))
            with[g->heights++] = &rows[i];
    }
    g->with_height = with;
    g->height_m = height_m;
    return rc;
}

/* `*waits`: it would have to be judged, and `may` is false. */
static ch_status take_sheet(gathering *g, const ch_store_sheet *row, bool may, ch_history_sheet *to, bool *is_new,
                            bool *waits, ch_err *err)
{
    bool found = false;
    *to = (ch_history_sheet){.id = row->id, .gauge_id = row->gauge_id, .opened_s = row->opened_s};
    to->day_assumed = !ch_date_given(row->day);
    to->day = to->day_assumed ? day_of_time(row->opened_s) : row->day;
    ch_status rc = take_height(g, to, err);
    if (rc >= 0 && g->judging->made_by != NULL)
        rc = kept(g, row, mark_of(g, to).text, &to->result, &found, err);
    *waits = rc >= 0 && !found && !may;
    if (*waits)
        return CH_OK;
    if (rc >= 0 && !found)
        rc = judge(g, to, err);
    if (rc >= 0)
        rc = number_of(g, row->id, "conditions.engine_hours", &to->hours_s, err);
    if (rc >= 0)
        rc = number_of(g, row->id, "conditions.odometer", &to->odometer_m, err);
    *is_new = !found;
    return rc;
}

/* Keep the new results. Whatever goes wrong, they are there to be used, and can be worked out again. */
static bool keep_all(gathering *g, const ch_store_sheet *const row[], const ch_history_sheet sheet[],
                     const bool is_new[], size_t n)
{
    ch_err ignored = {0};
    ch_status rc = g->st->read_only ? CH_E_IO : store_begin(g->st, &ignored);
    if (rc < 0)
        return false;
    for (size_t i = 0; rc >= 0 && i < n; i++)
        if (is_new[i])
            rc = keep_one(g, row[i], &sheet[i], &ignored);
    return store_end(g->st, rc, &ignored) >= 0;
}

/* A sheet that cannot be judged is passed over; a machine that fails is not. */
static bool is_the_sheets_fault(ch_status rc)
{
    return rc == CH_E_INPUT || rc == CH_E_RANGE || rc == CH_E_CONVERGE || rc == CH_E_LIMIT;
}

/* Of all cars: the engine may have been in another one before. */
static ch_status gather_sheets(gathering *g, ch_store_season *s, ch_err *err)
{
    const ch_store_sheet *rows = NULL;
    size_t count = 0;
    ch_status rc = ch_store_sheets(g->st, g->pool, 0, &rows, &count, err);
    if (rc < 0)
        return rc;
    const ch_store_sheet **of = store_take(g->pool, (count + 1) * sizeof *of);
    bool *is_new = store_take(g->pool, count + 1);
    s->sheet = store_take(g->pool, (count + 1) * sizeof *s->sheet);
    if (of == NULL || is_new == NULL || s->sheet == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for %zu sheets", count);
    rc = gather_heights(g, rows, count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++) {
        if (!is_ours(g, rows[i].engine_id) || rows[i].entries == 0 || rows[i].cylinders == 0)
            continue;
        ch_err reason = {0};
        bool waits = false;
        /* Those that cannot be judged are tried each time, and must not keep the others from their turn. */
        const bool may = g->judging->at_most == 0 || s->judged < g->judging->at_most;
        rc = take_sheet(g, &rows[i], may, &s->sheet[s->sheets], &is_new[s->sheets], &waits, &reason);
        if (waits) {
            s->waiting++;
        } else if (rc >= 0) {
            s->judged += is_new[s->sheets];
            of[s->sheets++] = &rows[i];
        } else if (is_the_sheets_fault(rc) && !g->st->damaged) {
            s->passed_over++;
            rc = CH_OK;
        } else {
            ch_fail(err, rc, reason.right, "%s", reason.what);
        }
    }
    if (rc >= 0 && s->judged > 0 && g->judging->made_by != NULL)
        s->unkept = !keep_all(g, of, s->sheet, is_new, s->sheets);
    return rc;
}

/* ---- events and repairs ---- */

static ch_status gather_events(gathering *g, ch_store_season *s, ch_err *err)
{
    const ch_store_event *rows = NULL;
    size_t count = 0;
    if (g->lives == 0)
        return CH_OK;
    ch_status rc = ch_store_events(g->st, g->pool, 0, &rows, &count, err);
    if (rc < 0)
        return rc;
    s->event = store_take(g->pool, (count + 1) * sizeof *s->event);
    if (s->event == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for %zu events", count);
    for (size_t i = 0; i < count; i++)
        if (is_ours(g, rows[i].engine_id))
            s->event[s->events++] = (ch_history_event){
                .id = rows[i].id, .day = rows[i].day, .running_s = rows[i].running_s, .name = rows[i].name};
    return CH_OK;
}

/* Jobs of the car that opened the engine that is in it now: the day is that on which the work was done (UTC, as of all that is kept by a clock). */
static ch_status gather_jobs(gathering *g, const ch_assumptions *assumptions, int64_t car_id, store_list *list,
                             ch_err *err)
{
    const ch_store_work *rows = NULL;
    size_t count = 0;
    if (g->lives == 0)
        return CH_OK;
    const ch_status rc = ch_store_works(g->st, g->pool, car_id, &rows, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++) {
        const ch_date day = day_of_time(rows[i].done_s);
        if (rows[i].kind != CH_PLAN_JOB || rows[i].done_s == 0 || ch_date_days(day) < g->since ||
            !ch_assumptions_opens_engine(assumptions, rows[i].name))
            continue;
        ch_history_repair *made = store_list_more(list, err);
        if (made == NULL)
            return CH_E_MEMORY;
        *made = (ch_history_repair){.day = day, .what = rows[i].title, .job = true};
    }
    return rc;
}

static ch_status gather_repairs(gathering *g, const ch_assumptions *assumptions, ch_store_season *s, ch_err *err)
{
    store_list list = {.pool = g->pool, .size = sizeof(ch_history_repair)};
    ch_status rc = gather_jobs(g, assumptions, s->car_id, &list, err);
    for (size_t life = 0; rc >= 0 && life < g->lives; life++) {
        const ch_store_part *rows = NULL;
        size_t count = 0;
        rc = ch_store_parts(g->st, g->pool, g->life[life], &rows, &count, err);
        for (size_t i = 0; rc >= 0 && i < count; i++) {
            if (rows[i].continues_id != 0 || !ch_assumptions_opens_engine(assumptions, rows[i].life))
                continue;
            ch_history_repair *made = store_list_more(&list, err);
            if (made == NULL)
                return CH_E_MEMORY;
            *made = (ch_history_repair){.day = rows[i].fitted, .what = rows[i].name};
        }
    }
    s->repair = (ch_history_repair *)(void *)list.rows;
    s->repairs = list.count;
    return rc;
}

/* ---- the car and its engine ---- */

static ch_status find_car(gathering *g, int64_t car_id, ch_store_season *s, ch_err *err)
{
    const ch_store_car *cars = NULL;
    const ch_store_engine *engines = NULL;
    size_t count = 0, engine_count = 0;
    ch_status rc = ch_store_cars(g->st, g->pool, &cars, &count, err);
    if (rc < 0)
        return rc;
    size_t at = 0;
    while (at < count && cars[at].id != car_id)
        at++;
    if (at == count)
        return ch_fail(err, CH_E_INPUT, NULL, "there is no car with the id %lld", (long long)car_id);
    s->car_id = car_id;
    s->car = cars[at].name;
    s->engine_id = cars[at].engine_id;
    if (s->engine_id == 0)
        return ch_fail(err, CH_E_INPUT, "an engine entered for it", "the car has no engine");
    rc = ch_store_engines(g->st, g->pool, 0, &engines, &engine_count, err);
    int64_t wanted = s->engine_id;
    while (rc >= 0 && wanted != 0 && g->lives < LIVES_MAX) {
        const ch_store_engine *one = NULL;
        for (size_t i = 0; i < engine_count; i++)
            if (engines[i].id == wanted)
                one = &engines[i];
        if (one == NULL)
            break;
        if (g->lives == 0) {
            s->engine = one->name;
            /* the first life was in the car before it was entered here */
            g->since = one->why == CH_STORE_FIRST ? LONG_MIN : ch_date_days(one->begun);
        }
        g->life[g->lives++] = one->id;
        wanted = one->why == CH_STORE_SWAP ? one->continues_id : 0;
    }
    return rc;
}

ch_status ch_store_season_load(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_store_judging *judging,
                               const ch_assumptions *assumptions, ch_store_season *season, ch_err *err)
{
    gathering g = {.st = store, .pool = pool, .judging = judging};
    ch_store_season made = {0};
    snprintf(g.made_by, sizeof g.made_by, "%d %d %llu %.200s", CH_HISTORY_VERSION, (int)judging->options.rule,
             (unsigned long long)judging->options.seed, judging->made_by != NULL ? judging->made_by : "");
    ch_status rc = car_id != 0 ? find_car(&g, car_id, &made, err) : CH_OK;
    if (rc >= 0)
        rc = gather_sheets(&g, &made, err);
    if (rc >= 0)
        rc = gather_events(&g, &made, err);
    if (rc >= 0)
        rc = gather_repairs(&g, assumptions, &made, err);
    if (rc >= 0)
        *season = made;
    return rc;
}

/* ---- the owner's own figures ---- */

/* One number, or three that rise; with a point or a comma, which settings once kept as typed, and perhaps with nothing behind it. */
static bool read_figures(const char *text, ch_assumption *a)
{
    double figure[3];
    int n = 0;
    for (const char *at = text + strspn(text, " "); *at != '\0'; at += strspn(at, " ")) {
        double value = NAN;
        size_t used = 0;
        if (n == 3 || decimal_read(at, strlen(at), &value, &used) != DECIMAL_PLAIN || !(value >= 0.0))
            return false;
        figure[n++] = value;
        at += used;
        at += *at == '.' || *at == ',';
        if (*at != ' ' && *at != '\0')
            return false;
    }
    if (n == 1) {
        figure[1] = figure[0];
        figure[0] = figure[1] / 1.5;
        figure[2] = a->unit == CH_ASSUMED_CHANCE ? fmin(figure[1] * 1.5, fmax(figure[1], 1.0)) : figure[1] * 1.5;
    }
    if ((n != 1 && n != 3) || !(figure[0] <= figure[1] && figure[1] <= figure[2]) ||
        (a->unit == CH_ASSUMED_CHANCE && figure[2] > 1.0))
        return false;
    a->low = figure[0];
    a->usual = figure[1];
    a->high = figure[2];
    return true;
}

ch_status ch_store_assumptions(ch_store *store, ch_store_pool *pool, ch_assumptions *assumptions, ch_err *err)
{
    ch_assumptions made = *assumptions;
    const char *currency = NULL;
    ch_status rc = ch_store_setting_get(store, pool, "currency", &currency, err);
    for (int id = 0; rc >= 0 && id < CH_ASSUME_COUNT; id++) {
        char name[80];
        const char *text = NULL;
        snprintf(name, sizeof name, "decision.%s", ch_assumption_name((ch_assumption_id)id));
        rc = ch_store_setting_get(store, pool, name, &text, err);
        if (rc >= 0 && text == NULL && id == CH_ASSUME_HOUR_VALUE) {
            snprintf(name, sizeof name, "hour_value");
            rc = ch_store_setting_get(store, pool, name, &text, err);
        }
        if (rc >= 0 && text != NULL && !read_figures(text, &made.of[id])) {
            char shown[64];
            ch_text_excerpt(text, strlen(text), shown, sizeof shown);
            rc =
                ch_fail(err, CH_E_INPUT, "one number, or low, usual and high", "the setting %s is \"%s\"", name, shown);
        }
    }
    if (rc < 0)
        return rc;
    if (currency != NULL)
        made.currency = currency;
    *assumptions = made;
    return CH_OK;
}
