#include "fault_run.h"

#include <dirent.h>
#include <limits.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "../../src/store/store_parts.h"
#include "../unit/fail_alloc.h"
#include "deeds.h"
#include "fail_disk.h"
#include "fail_sqlite.h"

enum { PATH = 400, OLDER = CH_STORE_VERSION - 1 };

const char *const fault_kind_names[FAULT_KINDS] = {
    "write",           "disk full",           "flush",           "read",   "open",           "shared memory",
    "write, for good", "disk full, for good", "flush, for good", "memory", "SQLite's memory"};

typedef enum way {
    DEED,      /* `at` is its number; the file is open already */
    OPEN_DEED, /* the same, and opening and closing too */
    COPY,      /* there is none yet */
    COPY_OVER, /* there is an older one */
    CREATE,
    MIGRATE,    /* `at` is the version */
    TAKE_NEW,   /* an archive, into a file that is not there yet */
    TAKE_BLANK, /* ... into one without a byte */
    TAKE_EMPTY  /* ... into an empty garage */
} way;

typedef struct operation {
    way way;
    size_t at;
} operation;

typedef struct bytes {
    unsigned char *data;
    size_t length;
    uint64_t holds; /* the digest of a file of these */
} bytes;

typedef struct bench {
    fault_result *result;
    char folder[PATH];
    char garage[PATH + 16], copy[PATH + 16], older[PATH + 32];
    ch_sheet demo;
    deed_place place;
    bytes base, old_copy, old[OLDER + 1];
    deed_archive archive; /* of the base */
} bench;

/* ---------------------------------------------------------------- the folder */

static bool read_bytes(const char *path, bytes *b)
{
    FILE *file = fopen(path, "rb");
    *b = (bytes){0};
    if (file == NULL || fseek(file, 0, SEEK_END) != 0)
        return false;
    b->length = (size_t)ftell(file);
    rewind(file);
    b->data = malloc(b->length + 1);
    const bool good = b->data != NULL && fread(b->data, 1, b->length, file) == b->length;
    fclose(file);
    return good;
}

static bool write_bytes(const char *path, const bytes *b)
{
    FILE *file = fopen(path, "wb");
    if (file == NULL)
        return false;
    const bool good = b->length == 0 || fwrite(b->data, 1, b->length, file) == b->length;
    return fclose(file) == 0 && good;
}

/* Remove all files. How many there were of which nobody knows. */
static int empty(const bench *b)
{
    static const char *const known[] = {"garage.db", "garage.db-wal", "garage.db-shm", "garage.db-journal", "copy.db"};
    int strange = 0;
    DIR *d = opendir(b->folder);
    for (struct dirent *e = d != NULL ? readdir(d) : NULL; e != NULL; e = readdir(d)) {
        char path[PATH + 300];
        bool is_known = e->d_name[0] == '.' || strcmp(e->d_name, strrchr(b->older, '/') + 1) == 0;
        for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
            is_known = is_known || strcmp(e->d_name, known[i]) == 0;
        strange += !is_known;
        snprintf(path, sizeof path, "%s/%s", b->folder, e->d_name);
        if (e->d_name[0] != '.')
            unlink(path);
    }
    if (d != NULL)
        closedir(d);
    return strange;
}

static bool start_again(const bench *b, operation o)
{
    empty(b);
    bool good = true;
    if (o.way == MIGRATE)
        good = write_bytes(b->garage, &b->old[o.at]);
    else if (o.way == TAKE_EMPTY)
        good = write_bytes(b->garage, &b->old_copy);
    else if (o.way == TAKE_BLANK)
        good = write_bytes(b->garage, &(bytes){.length = 0});
    else if (o.way != CREATE && o.way != TAKE_NEW)
        good = write_bytes(b->garage, &b->base);
    if (o.way == COPY_OVER)
        good = good && write_bytes(b->copy, &b->old_copy);
    return good;
}

/* ---------------------------------------------------------------- operations under a fault */

/* Of FAULT_KINDS, none fails and each is counted. */
static void arm(fault_kind kind, long n)
{
    switch (kind) {
    case FAULT_KINDS:
        fail_disk_at(FAIL_WRITE, LONG_MAX, false);
        fail_alloc_at(LONG_MAX);
        fail_sqlite_at(LONG_MAX);
        break;
    case FAULT_WRITE_ON: fail_disk_at(FAIL_WRITE, n, true); break;
    case FAULT_FULL_ON: fail_disk_at(FAIL_FULL, n, true); break;
    case FAULT_FLUSH_ON: fail_disk_at(FAIL_FLUSH, n, true); break;
    case FAULT_MEMORY: fail_alloc_at(n); break;
    case FAULT_SQLITE_MEMORY: fail_sqlite_at(n); break;
    default: fail_disk_at((fail_kind)kind, n, false); break;
    }
}

/* Whether one has failed; of FAULT_KINDS, none has. */
static bool disarm(fault_kind kind)
{
    switch (kind) {
    case FAULT_KINDS:
        fail_disk_stop();
        fail_alloc_stop();
        fail_sqlite_stop();
        return false;
    case FAULT_MEMORY: return fail_alloc_stop();
    case FAULT_SQLITE_MEMORY: return fail_sqlite_stop();
    default: return fail_disk_stop();
    }
}

/* How many calls there were that could have failed. */
static long counted(fault_kind kind)
{
    switch (kind) {
    case FAULT_WRITE_ON: return fail_disk_seen(FAIL_WRITE);
    case FAULT_FULL_ON: return fail_disk_seen(FAIL_FULL);
    case FAULT_FLUSH_ON: return fail_disk_seen(FAIL_FLUSH);
    case FAULT_MEMORY: return fail_alloc_seen();
    case FAULT_SQLITE_MEMORY: return fail_sqlite_seen();
    default: return fail_disk_seen((fail_kind)kind);
    }
}

static ch_status operate(const bench *b, operation o, fault_kind kind, long n, ch_err *err)
{
    ch_store *store = NULL;
    deed_place place = b->place;
    const bool open_before = o.way == DEED || o.way == COPY || o.way == COPY_OVER;
    if (!open_before)
        arm(kind, n);
    if (o.way >= TAKE_NEW) {
        deed_archive archive = b->archive;
        const ch_store_source source = {
            .name = "archive", .length = (int64_t)archive.length, .read = deeds_archive_give, .context = &archive};
        return ch_store_archive_read(&source, b->garage, NULL, err);
    }
    ch_status rc = ch_store_open(b->garage, o.way == CREATE ? CH_STORE_CREATE : CH_STORE_OPEN, &store, err);
    if (open_before)
        arm(kind, n);
    if (rc >= 0 && (o.way == DEED || o.way == OPEN_DEED))
        rc = deeds[o.at].act(store, &place, err);
    else if (rc >= 0 && open_before)
        rc = ch_store_backup(store, b->copy, err);
    ch_store_close(store);
    return rc;
}

/* Whether the file is, byte for byte, one that was put there, and has no log or journal beside it that would change what it holds. */
static bool is_still(const char *path, const bytes *was)
{
    static const char *const beside[] = {"-wal", "-journal"};
    struct stat there;
    for (size_t i = 0; i < sizeof beside / sizeof beside[0]; i++) {
        char other[PATH + 40];
        snprintf(other, sizeof other, "%s%s", path, beside[i]);
        if (stat(other, &there) == 0 && there.st_size > 0)
            return false;
    }
    bytes now = {0};
    const bool still =
        read_bytes(path, &now) && now.length == was->length && memcmp(now.data, was->data, now.length) == 0;
    free(now.data);
    return still;
}

/* What there is before and after the operation, as a number; 0 = nothing, 1 = a file without a byte. */
static uint64_t measure(const bench *b, operation o)
{
    const char *path = o.way == COPY || o.way == COPY_OVER ? b->copy : b->garage;
    const bytes *put = o.way == MIGRATE                            ? &b->old[o.at]
                       : o.way == COPY_OVER || o.way == TAKE_EMPTY ? &b->old_copy
                                                                   : &b->base;
    struct stat there;
    if (stat(path, &there) != 0)
        return 0;
    if (there.st_size == 0)
        return 1;
    return is_still(path, put) ? put->holds : deeds_digest(path);
}

static void wrong(const bench *b, operation o, fault_kind kind, long n, const char *what, const char *more)
{
    static const char *const ways[] = {"",
                                       "opening, and ",
                                       "a copy",
                                       "a copy over another",
                                       "creation",
                                       "migration",
                                       "an archive into a new file",
                                       "an archive into a file without a byte",
                                       "an archive into an empty garage"};
    fault_result *r = b->result;
    if (r->failed++ == 0)
        snprintf(r->first, sizeof r->first, "%s%s %zu, %s %ld: %s%s%.500s", ways[o.way],
                 o.way <= OPEN_DEED ? deeds[o.at].name : "", o.at, fault_kind_names[kind], n, what,
                 more[0] != '\0' ? ": " : "", more);
}

static void expect_message(const bench *b, operation o, fault_kind kind, long n, ch_status rc, const ch_err *err)
{
    const ch_status wanted = kind >= FAULT_MEMORY ? CH_E_MEMORY : CH_E_IO;
    char line[512];
    ch_err_format(err, line, sizeof line);
    if (rc != wanted || err->status != rc)
        wrong(b, o, kind, n, "another status than what failed", line);
    else if (err->what[0] == '\0')
        wrong(b, o, kind, n, "no message", "");
    else if ((kind == FAULT_FULL || kind == FAULT_FULL_ON) && strstr(err->what, "full") == NULL)
        wrong(b, o, kind, n, "a full disk is not called one", line);
}

static void expect_whole(const bench *b, operation o, fault_kind kind, long n)
{
    ch_store *store = NULL;
    ch_store_pool pool = {0};
    const ch_store_finding *findings = NULL;
    size_t count = 0;
    ch_err err = {0};
    char line[512];
    if (o.way >= TAKE_NEW && measure(b, o) <= 1)
        return;
    ch_status rc = ch_store_open(b->garage, o.way == CREATE ? CH_STORE_CREATE : CH_STORE_OPEN, &store, &err);
    if (rc >= 0)
        rc = ch_store_verify(store, &pool, &findings, &count, &err);
    if (rc < 0 || count > 0) {
        ch_err_format(&err, line, sizeof line);
        wrong(b, o, kind, n, "the file does not verify", rc < 0 ? line : findings[0].what);
    }
    ch_store_pool_clear(&pool);
    ch_store_close(store);
}

/* The nth call of the kind fails. */
static void try_fault(const bench *b, operation o, fault_kind kind, long n, uint64_t before, uint64_t after)
{
    fault_result *r = b->result;
    ch_err err = {0};
    start_again(b, o);
    const ch_status rc = operate(b, o, kind, n, &err);
    if (!disarm(kind))
        wrong(b, o, kind, n, "the fault did not come", "");
    r->faults[kind]++;
    const uint64_t now = o.way == MIGRATE && rc < 0 ? before : measure(b, o);
    if (rc >= 0 && now != after)
        wrong(b, o, kind, n, "acknowledged, and not there", "");
    else if (now != before && now != after && o.way != CREATE)
        wrong(b, o, kind, n, "neither as before nor as after", "");
    if (rc < 0) {
        r->refused++;
        expect_message(b, o, kind, n, rc, &err);
    }
    /* Verifying and doing it again takes longer than all else: every third time. */
    if (n % 3 == 0) {
        expect_whole(b, o, kind, n);
        if (rc < 0 && now == before) {
            err = (ch_err){0};
            const ch_status again = operate(b, o, FAULT_KINDS, 0, &err);
            disarm(FAULT_KINDS);
            if (again < 0 || measure(b, o) != after)
                wrong(b, o, kind, n, "done again, it does not work", err.what);
        }
    }
    if (empty(b) > 0)
        wrong(b, o, kind, n, "a file is left over", "");
}

static bool try_operation(const bench *b, operation o, long most)
{
    fault_result *r = b->result;
    ch_err err = {0};
    char line[512];
    long seen[FAULT_KINDS];
    r->operations++;
    if (!start_again(b, o))
        return false;
    const uint64_t before = measure(b, o);
    const ch_status rc = operate(b, o, FAULT_KINDS, 0, &err);
    disarm(FAULT_KINDS);
    for (int k = 0; k < FAULT_KINDS; k++)
        seen[k] = counted((fault_kind)k);
    const uint64_t after = measure(b, o);
    const bool reads = o.way <= OPEN_DEED && deeds[o.at].reads;
    if (rc < 0 || (before == after) != reads || (o.way >= TAKE_NEW && after != b->base.holds)) {
        ch_err_format(&err, line, sizeof line);
        wrong(b, o, FAULT_MEMORY, 0, "without any fault it does not do what it should", line);
        return true;
    }
    for (int k = 0; k < FAULT_KINDS; k++) {
        const fault_kind kind = (fault_kind)k;
        r->points[kind] += seen[k];
        const long tries = most > 0 && most < seen[k] ? most : seen[k];
        for (long i = 0; i < tries; i++)
            try_fault(b, o, kind, 1 + i * seen[k] / tries, before, after);
    }
    empty(b);
    return true;
}

/* ---------------------------------------------------------------- all of them */

static bool make_old(bench *b, int version, const char *dump)
{
    char sql[128];
    sqlite3 *db = NULL;
    snprintf(sql, sizeof sql, "PRAGMA application_id = %d; PRAGMA user_version = %d; PRAGMA journal_mode = WAL;",
             STORE_APPLICATION_ID, version);
    empty(b);
    const bool good = sqlite3_open(b->garage, &db) == SQLITE_OK &&
                      sqlite3_exec(db, dump, NULL, NULL, NULL) == SQLITE_OK &&
                      sqlite3_exec(db, sql, NULL, NULL, NULL) == SQLITE_OK;
    sqlite3_close(db);
    if (!good || !read_bytes(b->garage, &b->old[version]))
        return false;
    b->old[version].holds = deeds_digest(b->garage);
    return true;
}

static bool make_base(bench *b, ch_err *err)
{
    ch_store *store = NULL;
    ch_status rc = deeds_demo(&b->demo, err);
    if (rc >= 0)
        rc = ch_store_open(b->garage, CH_STORE_CREATE, &store, err);
    if (rc >= 0)
        rc = ch_store_backup(store, b->copy, err);
    if (rc >= 0)
        rc = deeds_base(store, &b->demo, &b->place, err);
    if (rc >= 0)
        rc = ch_store_archive_write(store, deeds_archive_take, &b->archive, NULL, err);
    ch_store_close(store);
    b->place.archive = b->archive.sum;
    const bool good = rc >= 0 && read_bytes(b->garage, &b->base) && read_bytes(b->copy, &b->old_copy);
    b->base.holds = deeds_digest(b->garage);
    b->old_copy.holds = deeds_digest(b->copy);
    return good;
}

void fault_run_begin(void)
{
    fail_sqlite_begin();
    fail_disk_begin();
}

bool fault_run(const char *folder, const char *const dumps[], long most, fault_result *result)
{
    static bench b;
    ch_err err = {0};
    b = (bench){.result = result};
    *result = (fault_result){0};
    snprintf(b.folder, sizeof b.folder, "%s", folder);
    snprintf(b.garage, sizeof b.garage, "%.390s/garage.db", folder);
    snprintf(b.copy, sizeof b.copy, "%.390s/copy.db", folder);
    snprintf(b.older, sizeof b.older, "%.390s/garage.db.before-v%d", folder, CH_STORE_VERSION);
    bool good = make_base(&b, &err);
    if (!good)
        ch_err_format(&err, result->first, sizeof result->first);
    for (int version = 1; version <= OLDER && good; version++)
        good = make_old(&b, version, dumps[version - 1]);
    b.place.n = 51;
    for (size_t i = 0; i < deeds_count && good; i++)
        good = try_operation(&b, (operation){DEED, i}, most);
    for (size_t i = 0; i < deeds_count && good; i++)
        if (strcmp(deeds[i].name, "a reading") == 0 || strcmp(deeds[i].name, "a verification") == 0)
            good = try_operation(&b, (operation){OPEN_DEED, i}, most);
    static const way others[] = {COPY, COPY_OVER, CREATE};
    for (size_t i = 0; i < sizeof others / sizeof others[0] && good; i++)
        good = try_operation(&b, (operation){others[i], 0}, most);
    for (size_t version = 1; version <= OLDER && good; version++)
        good = try_operation(&b, (operation){MIGRATE, version}, most);
    /* Each takes as long as ten of the others, and the second and third differ only in the end. */
    for (way w = TAKE_NEW; w <= TAKE_EMPTY && good; w++)
        good = try_operation(&b, (operation){w, 0}, w == TAKE_NEW ? (most + 1) / 2 : (most + 4) / 5);
    for (int version = 1; version <= OLDER; version++)
        free(b.old[version].data);
    free(b.base.data);
    free(b.old_copy.data);
    free(b.archive.bytes);
    ch_sheet_clear(&b.demo);
    return good;
}
