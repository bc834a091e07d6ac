#define _XOPEN_SOURCE 700 /* realpath */
#include "power_run.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "../../src/store/store_parts.h"
#include "deeds.h"

enum { PATH = 480 };

typedef struct run {
    char before[PATH], after[PATH]; /* the folders: of the running program, of what a cut left */
    char garage[PATH], copy[PATH];  /* in the first */
    char garage_left[PATH], copy_left[PATH], older_left[PATH];
    power_result *result;
    ch_sheet demo;
    const char *dump; /* NULL = a new garage */
    int version;
    int steps, step;
    uint64_t seed, *held; /* what the file holds after so many steps */
    uint64_t copied;      /* what the copy holds; 0 = there is none yet */
    bool copying;
    long moment, moments, points;
    bool second; /* time through: the cuts are made */
    bool lie;
} run;

uint64_t power_dice(uint64_t seed, uint64_t n)
{
    /* SplitMix64, see lose_power.c */
    uint64_t z = seed + (n + 1) * 0x9e3779b97f4a7c15U;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9U;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebU;
    return z ^ (z >> 31);
}

static bool there(const char *path)
{
    return access(path, F_OK) == 0;
}

/* ---------------------------------------------------------------- looking at what is left */

static void wrong(run *r, const char *what, const char *more)
{
    power_result *result = r->result;
    if (result->failed++ == 0)
        snprintf(result->first, sizeof result->first, "seed %llu, step %d, moment %ld: %s%s%.400s",
                 (unsigned long long)r->seed, r->step, r->moment, what, more[0] != '\0' ? ": " : "", more);
}

ch_status power_verified(const char *path, ch_store_mode mode, ch_err *err)
{
    ch_store *store = NULL;
    ch_store_pool pool = {0};
    const ch_store_finding *findings = NULL;
    size_t count = 0;
    ch_status rc = ch_store_open(path, mode, &store, err);
    if (rc >= 0)
        rc = ch_store_verify(store, &pool, &findings, &count, err);
    if (rc >= 0 && count > 0)
        rc = ch_fail(err, CH_E_INPUT, NULL, "%zu findings, first: %s", count, findings[0].what);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
    return rc;
}

int power_version(const char *path)
{
    sqlite3 *db = NULL;
    sqlite3_stmt *q = NULL;
    int version = -1;
    if (sqlite3_open_v2(path, &db, SQLITE_OPEN_READWRITE, NULL) == SQLITE_OK &&
        sqlite3_prepare_v2(db, "PRAGMA user_version", -1, &q, NULL) == SQLITE_OK && sqlite3_step(q) == SQLITE_ROW)
        version = sqlite3_column_int(q, 0);
    sqlite3_finalize(q);
    sqlite3_close(db);
    return version;
}

static void look_at_copy(run *r)
{
    if (!there(r->copy_left)) {
        if (r->copied != 0)
            wrong(r, "the copy that was acknowledged is gone", "");
        return;
    }
    const uint64_t holds = deeds_digest(r->copy_left);
    if (!(holds != 0 && (holds == r->copied || (r->copying && holds == r->held[r->step]))))
        wrong(r, "the copy holds something else than was copied", "");
}

/* A file brought up to date has the one from before beside it. */
static void look_at_older(run *r, int version)
{
    if (!there(r->older_left)) {
        if (version > r->version)
            wrong(r, "it was brought up to date without a copy beside it", "");
    } else if (deeds_digest(r->older_left) != r->copied) {
        wrong(r, "the copy from before is not what was there", "");
    }
}

static void look(run *r)
{
    ch_err err = {0};
    char line[512];
    const char *path = r->garage_left;
    const bool making = r->dump == NULL && r->step == 0;
    const long before = r->result->failed;
    r->result->points++;
    const int version = r->dump != NULL ? power_version(path) : 0;
    if (r->dump != NULL)
        look_at_older(r, version); /* before the file is opened, which may go on with it behind a further copy */
    if (!making && !there(path))
        wrong(r, "the garage file is gone", "");
    else if (power_verified(path, making ? CH_STORE_CREATE : CH_STORE_OPEN, &err) < 0) {
        ch_err_format(&err, line, sizeof line);
        wrong(r, "it does not open and verify", line);
    }
    const uint64_t holds = r->result->failed == before ? deeds_digest(path) : 0;
    if (r->dump == NULL) {
        if (r->result->failed == before && holds != r->held[r->step + 1] && (making || holds != r->held[r->step]))
            wrong(r, "what was acknowledged is not there, or something is half there", "");
        r->result->in_vain += holds == r->held[r->step] && r->held[r->step] != r->held[r->step + 1];
        look_at_copy(r);
    } else {
        if (r->result->failed == before && holds != r->held[1])
            wrong(r, "it was not brought up to date whole", "");
        r->result->in_vain += version == r->version;
    }
}

static void at_moment(void *context)
{
    run *r = context;
    const long moment = r->moment++;
    if (!r->second)
        return;
    const long upto = (long)((double)(moment + 1) * (double)r->points / (double)r->moments);
    while (r->result->points < upto) {
        if (!power_cut(power_dice(r->seed, (uint64_t)r->result->points), r->after, &r->result->toll)) {
            wrong(r, "the state after the cut could not be written", "");
            r->points = 0;
            return;
        }
        look(r);
    }
}

/* ---------------------------------------------------------------- the garage's life */

typedef enum extra { COPY, REOPEN, EXTRAS } extra;

/* A deed by its number, or one of the others beyond them; what does not fit is replaced by a sheet or a reading. */
static size_t choose(const run *r, const deed_place *place)
{
    const uint64_t thrown = power_dice(~r->seed, (uint64_t)r->step);
    const unsigned percent = (unsigned)(thrown % 100);
    if (percent < 3)
        return deeds_count + COPY;
    if (percent < 7)
        return deeds_count + REOPEN;
    for (size_t i = 0; i < deeds_count; i++) {
        const deed *d = &deeds[(thrown / 100 + i) % deeds_count];
        if (!d->reads && (d->fits == NULL || d->fits(place)))
            return (size_t)(d - deeds);
    }
    return 0;
}

static bool take_step(run *r, ch_store **store, deed_place *place)
{
    ch_err err = {0};
    char line[512];
    ch_status rc = CH_OK;
    place->n = r->step;
    place->bytes = 2000 + (size_t)(power_dice(r->seed, 7U * (uint64_t)r->step) % 30000) * (r->step % 16 == 0 ? 8 : 1);
    const size_t chosen = choose(r, place);
    if (r->step == 0) {
        rc = ch_store_open(r->garage, r->dump != NULL ? CH_STORE_OPEN : CH_STORE_CREATE, store, &err);
    } else if (chosen == deeds_count + REOPEN) {
        ch_store_close(*store);
        *store = NULL;
        rc = ch_store_open(r->garage, CH_STORE_OPEN, store, &err);
    } else if (chosen == deeds_count + COPY) {
        r->copying = true;
        rc = ch_store_backup(*store, r->copy, &err);
        r->copying = false;
        if (rc >= 0)
            r->copied = r->held[r->step];
    } else {
        rc = deeds[chosen].act(*store, place, &err);
        /* A change that the garage's state does not allow is refused, like a person's, and nothing changes. */
        if (rc == CH_E_INPUT) {
            r->result->refused++;
            return true;
        }
    }
    if (rc >= 0)
        return true;
    ch_err_format(&err, line, sizeof line);
    snprintf(r->result->first, sizeof r->result->first, "step %d (%s): %s", r->step,
             chosen < deeds_count ? deeds[chosen].name : "another", line);
    return false;
}

static void tidy(const run *r)
{
    (void)power_empty(r->before);
    (void)power_empty(r->after);
    (void)rmdir(r->before);
    (void)rmdir(r->after);
}

static bool prepare(const run *r)
{
    tidy(r);
    bool good = mkdir(r->before, 0700) == 0 && mkdir(r->after, 0700) == 0;
    if (!good || r->dump == NULL)
        return good;
    sqlite3 *db = NULL;
    char sql[128];
    snprintf(sql, sizeof sql, "PRAGMA application_id = %d; PRAGMA user_version = %d; PRAGMA journal_mode = WAL;",
             STORE_APPLICATION_ID, r->version);
    good = sqlite3_open(r->garage, &db) == SQLITE_OK && sqlite3_exec(db, r->dump, NULL, NULL, NULL) == SQLITE_OK &&
           sqlite3_exec(db, sql, NULL, NULL, NULL) == SQLITE_OK;
    sqlite3_close(db);
    return good;
}

static bool live(run *r)
{
    ch_store *store = NULL;
    deed_place place = {.demo = &r->demo};
    r->moment = 0;
    r->copied = 0;
    r->result->refused = 0;
    if (!prepare(r))
        return false;
    if (r->dump != NULL)
        r->copied = deeds_digest(r->garage);
    bool good = power_watch(r->before, at_moment, r);
    power_lie(r->lie && r->second);
    for (r->step = 0; r->step < r->steps && good; r->step++) {
        good = take_step(r, &store, &place);
        if (good && !r->second)
            r->held[r->step + 1] = deeds_digest(r->garage);
    }
    power_stop();
    ch_store_close(store);
    return good;
}

char *power_real_folder(const char *folder, size_t most, power_result *result)
{
    char *real = realpath(folder, NULL);
    if (real != NULL && strlen(real) <= most)
        return real;
    free(real);
    snprintf(result->first, sizeof result->first, "no such folder, or its name is too long: %.200s", folder);
    return NULL;
}

static bool run_twice(run *r, const char *folder)
{
    *r->result = (power_result){0};
    ch_err err = {0};
    char *real = power_real_folder(folder, PATH / 2, r->result);
    if (real == NULL)
        return false;
    snprintf(r->before, PATH, "%s/before", real);
    snprintf(r->after, PATH, "%s/after", real);
    snprintf(r->garage, PATH, "%s/before/garage.db", real);
    snprintf(r->copy, PATH, "%s/before/copy.db", real);
    snprintf(r->garage_left, PATH, "%s/after/garage.db", real);
    snprintf(r->copy_left, PATH, "%s/after/copy.db", real);
    snprintf(r->older_left, PATH, "%s/after/garage.db.before-v%d", real, CH_STORE_VERSION);
    free(real);
    if (deeds_demo(&r->demo, &err) < 0) {
        ch_err_format(&err, r->result->first, sizeof r->result->first);
        return false;
    }
    r->held = calloc((size_t)r->steps + 1, sizeof *r->held);
    bool good = r->held != NULL && live(r);
    r->moments = r->moment;
    r->second = true;
    good = good && r->moments > 0 && live(r);
    r->result->steps = r->steps;
    r->result->moments = r->moments;
    tidy(r);
    free(r->held);
    ch_sheet_clear(&r->demo);
    return good;
}

bool power_run(const char *folder, int steps, long points, uint64_t seed, bool lie, power_result *result)
{
    run r = {.result = result, .steps = steps, .points = points, .seed = seed, .lie = lie};
    return run_twice(&r, folder);
}

bool power_run_migration(const char *folder, const char *dump, int version, long points, uint64_t seed,
                         power_result *result)
{
    run r = {.result = result, .steps = 1, .points = points, .seed = seed, .dump = dump, .version = version};
    return run_twice(&r, folder);
}
