#define _XOPEN_SOURCE 700 /* realpath */
#include "power_import.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "../../src/store/store_parts.h"
#include "deeds.h"

enum { PATH = 480, NOTHING = 0, BLANK = 1, AGAIN_EACH = 7, LATE = 40, MOMENTS_BETWEEN = 3 };

const char *const power_import_names[IMPORT_WAYS] = {
    "an archive into a new file", "an archive into a file without a byte", "an archive into an empty garage",
    "an archive into an empty garage of an older version", "a garage over another"};

typedef struct run {
    char from[PATH], before[PATH],
        after[PATH]; /* the folders: of what is brought in, of the running program, of what a cut left */
    char source[PATH], garage[PATH], left[PATH], older_left[PATH];
    power_result *result;
    power_import_way way;
    ch_sheet demo;
    deed_archive archive;
    int version;    /* IMPORT_OLDER: of the empty garage */
    uint64_t older; /* what that holds */
    uint64_t held[IMPORT_STEPS +
                  1]; /* the garage file after so many steps; NOTHING = there is none, BLANK = one without a byte */
    int step;
    bool acknowledged; /* the step in hand has come back */
    uint64_t seed;
    long moment, moments, points, brought; /* `brought`: moments until the import has come back */
    bool second;                           /* time through: the cuts are made */
    bool lie;
} run;

static void wrong(run *r, const char *what, const char *more)
{
    power_result *result = r->result;
    if (result->failed++ == 0)
        snprintf(result->first, sizeof result->first, "%s, seed %llu, step %d%s, moment %ld: %s%s%.400s",
                 power_import_names[r->way], (unsigned long long)r->seed, r->step, r->acknowledged ? " (done)" : "",
                 r->moment, what, more[0] != '\0' ? ": " : "", more);
}

/* ---------------------------------------------------------------- what is brought in, and what is there before */

static ch_status bring(run *r, const char *path, ch_err *err)
{
    ch_store *store = NULL;
    if (r->way != IMPORT_OVER) {
        deed_archive archive = r->archive;
        const ch_store_source source = {
            .name = "archive", .length = (int64_t)archive.length, .read = deeds_archive_give, .context = &archive};
        return ch_store_archive_read(&source, path, NULL, err);
    }
    ch_status rc = ch_store_open(r->source, CH_STORE_OPEN, &store, err);
    if (rc >= 0)
        rc = ch_store_backup(store, path, err);
    ch_store_close(store);
    return rc;
}

/* One of each thing, and up to three photos more: a file of 150 kB to half a megabyte. */
static ch_status fill(run *r, const char *path, bool more, ch_err *err)
{
    static const unsigned char bytes[120000] = {0xff, 0xd8};
    ch_store *store = NULL;
    deed_place place = {0};
    ch_status rc = ch_store_open(path, CH_STORE_CREATE, &store, err);
    if (rc >= 0)
        rc = deeds_base(store, &r->demo, &place, err);
    const ch_store_photo photo = {.sheet_id = place.sheet,
                                  .mime = "image/jpeg",
                                  .bytes = bytes,
                                  .length = 1000 + (size_t)(power_dice(r->seed, 1) % (sizeof bytes - 1000))};
    for (uint64_t i = 0; more && rc >= 0 && i < power_dice(r->seed, 2) % 4; i++)
        rc = ch_store_photo_add(store, &photo, NULL, DEED_NOW, NULL, err);
    if (rc >= 0 && more)
        rc = ch_store_archive_write(store, deeds_archive_take, &r->archive, NULL, err);
    ch_store_close(store);
    return rc;
}

static bool make_older(const run *r)
{
    char sql[128];
    sqlite3 *db = NULL;
    snprintf(sql, sizeof sql, "PRAGMA application_id = %d; PRAGMA user_version = %d; PRAGMA journal_mode = WAL;",
             STORE_APPLICATION_ID, r->version);
    bool good = sqlite3_open(r->garage, &db) == SQLITE_OK;
    for (int i = 0; i < r->version && good; i++)
        good = sqlite3_exec(db, store_schema_now.steps[i], NULL, NULL, NULL) == SQLITE_OK;
    good = good && sqlite3_exec(db, sql, NULL, NULL, NULL) == SQLITE_OK;
    sqlite3_close(db);
    return good;
}

static uint64_t measure(const char *path)
{
    struct stat there;
    return stat(path, &there) != 0 ? NOTHING : there.st_size == 0 ? BLANK : deeds_digest(path);
}

/* The garage file as it is before; held[0] is what it then holds, for an older one what it holds when it is brought up to date. */
static bool prepare(run *r, ch_err *err)
{
    ch_store *store = NULL;
    FILE *blank = NULL;
    (void)power_empty(r->before);
    switch (r->way) {
    case IMPORT_NEW:
    case IMPORT_WAYS: break;
    case IMPORT_BLANK:
        blank = fopen(r->garage, "wb");
        if (blank == NULL || fclose(blank) != 0)
            return false;
        break;
    case IMPORT_OVER:
        if (fill(r, r->garage, false, err) < 0)
            return false;
        break;
    case IMPORT_EMPTY:
    case IMPORT_OLDER:
        if (ch_store_open(r->garage, CH_STORE_CREATE, &store, err) < 0)
            return false;
        ch_store_close(store);
        break;
    }
    r->held[0] = measure(r->garage);
    if (r->way != IMPORT_OLDER)
        return true;
    (void)power_empty(r->before);
    const bool good = make_older(r);
    r->older = measure(r->garage);
    return good;
}

/* ---------------------------------------------------------------- looking at what is left */

static uint64_t look_at_garage(run *r)
{
    ch_err err = {0};
    char line[512];
    const uint64_t found = measure(r->left);
    if (found == NOTHING || found == BLANK)
        return found;
    if (power_verified(r->left, CH_STORE_OPEN, &err) < 0) {
        ch_err_format(&err, line, sizeof line);
        wrong(r, "it does not open and verify", line);
        return NOTHING;
    }
    return measure(r->left);
}

/* Brought up to date, it has the one from before beside it. To be looked at before it is opened, which may go on with it behind a further copy. */
static void look_at_older(run *r)
{
    const uint64_t copy = measure(r->older_left);
    if (copy != NOTHING && copy != r->older)
        wrong(r, "the copy from before is not what was there", "");
    if (copy == NOTHING && power_version(r->left) > r->version)
        wrong(r, "it was brought up to date without a copy beside it", "");
}

static void look(run *r)
{
    const long before = r->result->failed;
    r->result->points++;
    if (r->way == IMPORT_OLDER)
        look_at_older(r);
    const uint64_t holds = look_at_garage(r);
    if (r->result->failed > before)
        return;
    const bool as_before = !r->acknowledged && holds == r->held[r->step];
    if (holds != r->held[r->step + 1] && !as_before) {
        wrong(r, r->acknowledged ? "what was acknowledged is not there" : "neither as before nor as after", "");
        return;
    }
    r->result->in_vain += as_before;
    if (!as_before || r->step > 0 || r->result->points % AGAIN_EACH != 0)
        return;
    ch_err err = {0};
    char line[512];
    if (bring(r, r->left, &err) < 0 || measure(r->left) != r->held[1]) {
        ch_err_format(&err, line, sizeof line);
        wrong(r, "done again, it does not work", line);
    }
}

/* Cuts up to this moment. Most moments are writes into a file that has no name yet; so half of the cuts are kept for the end of the import and what follows. */
static long wanted(const run *r, long moment)
{
    const double late = (double)(r->brought > LATE ? r->brought - LATE : 0), at = (double)(moment + 1);
    const double of_all = at / (double)r->moments;
    const double of_late = at > late ? (at - late) / ((double)r->moments - late) : 0.0;
    return (long)((double)r->points * 0.5 * (of_all + of_late));
}

static void at_moment(void *context)
{
    run *r = context;
    const long moment = r->moment++;
    if (!r->second)
        return;
    const long upto = wanted(r, moment);
    while (r->result->points < upto) {
        if (!power_cut(power_dice(r->seed, (uint64_t)r->result->points), r->after, &r->result->toll)) {
            wrong(r, "the state after the cut could not be written", "");
            r->points = 0;
            return;
        }
        look(r);
    }
}

/* ---------------------------------------------------------------- once through */

/* Brought in; then a first change, and closed. */
static ch_status take_step(run *r, ch_err *err)
{
    ch_store *store = NULL;
    if (r->step == 0)
        return bring(r, r->garage, err);
    ch_status rc = ch_store_open(r->garage, CH_STORE_OPEN, &store, err);
    if (rc >= 0)
        rc = ch_store_setting_set(store, "currency", "CHF", DEED_NOW, err);
    r->acknowledged = rc >= 0;
    ch_store_close(store);
    return rc;
}

static bool live(run *r)
{
    ch_err err = {0};
    r->moment = 0;
    bool good = prepare(r, &err) && power_watch(r->before, at_moment, r);
    power_lie(r->lie && r->second);
    for (r->step = 0; r->step < IMPORT_STEPS && good; r->step++) {
        r->acknowledged = false;
        good = take_step(r, &err) >= 0;
        r->acknowledged = true;
        if (r->step == 0)
            r->brought = r->moment;
        const uint64_t holds = good ? measure(r->garage) : NOTHING; /* both times, for the moments that it takes */
        if (!r->second)
            r->held[r->step + 1] = holds;
        for (int i = 0; i < MOMENTS_BETWEEN && good; i++)
            at_moment(r);
    }
    power_stop();
    if (!good) {
        char line[512];
        ch_err_format(&err, line, sizeof line);
        snprintf(r->result->first, sizeof r->result->first, "%s, step %d: %s", power_import_names[r->way], r->step,
                 line);
    }
    return good;
}

static void tidy(const run *r)
{
    const char *const folders[] = {r->from, r->before, r->after};
    for (int i = 0; i < 3; i++) {
        (void)power_empty(folders[i]);
        (void)rmdir(folders[i]);
    }
}

static bool begin(run *r, const char *folder)
{
    ch_err err = {0};
    char *real = power_real_folder(folder, PATH / 2, r->result);
    if (real == NULL)
        return false;
    snprintf(r->from, PATH, "%s/from", real);
    snprintf(r->before, PATH, "%s/before", real);
    snprintf(r->after, PATH, "%s/after", real);
    snprintf(r->source, PATH, "%s/from/garage.db", real);
    snprintf(r->garage, PATH, "%s/before/garage.db", real);
    snprintf(r->left, PATH, "%s/after/garage.db", real);
    snprintf(r->older_left, PATH, "%s/after/garage.db.before-v%d", real, CH_STORE_VERSION);
    free(real);
    tidy(r);
    const bool good = mkdir(r->from, 0700) == 0 && mkdir(r->before, 0700) == 0 && mkdir(r->after, 0700) == 0 &&
                      deeds_demo(&r->demo, &err) >= 0 && fill(r, r->source, true, &err) >= 0;
    if (!good)
        ch_err_format(&err, r->result->first, sizeof r->result->first);
    return good;
}

bool power_run_import(const char *folder, power_import_way way, long points, uint64_t seed, bool lie,
                      power_result *result)
{
    run r = {.result = result, .way = way, .points = points, .seed = seed, .lie = lie};
    *result = (power_result){0};
    r.version = 1 + (int)(seed % (CH_STORE_VERSION - 1));
    ch_sheet_init(&r.demo);
    bool good = begin(&r, folder) && live(&r);
    r.moments = r.moment;
    r.second = true;
    good = good && r.moments > 0 && live(&r);
    result->steps = IMPORT_STEPS;
    result->moments = r.moments;
    tidy(&r);
    free(r.archive.bytes);
    ch_sheet_clear(&r.demo);
    return good;
}
