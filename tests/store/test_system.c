/*
 * Each call to the system that the store makes itself fails in turn, and calls to its libraries, while a garage is made, copied, brought up to date, written as an archive
 * and read from one: what was there stays, nothing half is left, the line says what failed, and the same again works. The disk fails in test_fault.c.
 */
#define _XOPEN_SOURCE 700
#include <dirent.h>
#include <errno.h>
#include <gnutls/gnutls.h>
#include <limits.h>
#include <pthread.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "../../src/store/store_parts.h"
#include "../unit/fail_alloc.h"
#include "deeds.h"
#include "disk_layer.h"
#include "fail_call.h"
#include "fail_system.h"
#include "kit.h"

typedef enum way { COPY, COPY_OVER, TAKE_NEW, TAKE_BLANK, MIGRATE, CREATE, ARCHIVE, TAKE_EMPTY, WAYS } way;
static const char *const way_names[WAYS] = {"a copy",
                                            "a copy over another",
                                            "an archive into a new file",
                                            "an archive into a file without a byte",
                                            "bringing it up to date",
                                            "a new garage",
                                            "an archive written",
                                            "an archive into an empty garage"};
static const char *const targets[WAYS] = {"copy.db", "copy.db", "to.db", "to.db", "old.db", "new.db", "none", "to.db"};

enum { SYSTEM_WAYS = CREATE }; /* up to there the store itself calls the system */

static deed_archive archive;
static uint64_t holds; /* what the garage adds up to */
static char *older;    /* SQL of a garage file of the version before */
static struct {
    char *bytes;
    size_t length;
} empty; /* a garage without anything in it */

static void put_bytes(const char *name, const char *bytes, size_t length)
{
    FILE *file = fopen(kit_path(name), "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, length, file), length);
    fclose(file);
}

static void put(const char *name, const char *text)
{
    put_bytes(name, text, strlen(text));
}

static bool there(const char *name)
{
    struct stat is;
    return lstat(kit_path(name), &is) == 0;
}

static int begin(void **state)
{
    deed_place place = {0};
    ch_store *store = NULL;
    ch_sheet demo;
    ch_err err = {0};
    char name[512];
    size_t length = 0;
    if (kit_begin(state) != 0)
        return -1;
    kit_good(deeds_demo(&demo, &err), &err);
    store = kit_open();
    kit_good(deeds_base(store, &demo, &place, &err), &err);
    archive = (deed_archive){0};
    kit_good(ch_store_archive_write(store, deeds_archive_take, &archive, NULL, &err), &err);
    ch_store_close(store);
    ch_sheet_clear(&demo);
    holds = deeds_digest(kit_path("garage.db"));
    kit_good(ch_store_open(kit_path("empty.db"), CH_STORE_CREATE, &store, &err), &err);
    ch_store_close(store);
    empty.bytes = kit_bytes(kit_path("empty.db"), &empty.length);
    unlink(kit_path("empty.db"));
    snprintf(name, sizeof name, "%s/tests/store/garage-v%d.sql", getenv("CROSSHATCH_SOURCE"), CH_STORE_VERSION - 1);
    older = kit_bytes(name, &length);
    return older != NULL ? 0 : -1;
}

static int end(void **state)
{
    free(archive.bytes);
    free(empty.bytes);
    free(older);
    return kit_end(state);
}

static void make_older(void)
{
    sqlite3 *db = NULL;
    char sql[128];
    snprintf(sql, sizeof sql, "PRAGMA application_id = %d; PRAGMA user_version = %d; PRAGMA journal_mode = WAL;",
             STORE_APPLICATION_ID, CH_STORE_VERSION - 1);
    assert_int_equal(sqlite3_open(kit_path("old.db"), &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, older, NULL, NULL, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
}

/* Remove all but the garage. */
static void start(way w)
{
    DIR *d = opendir(kit_path("."));
    assert_non_null(d);
    for (struct dirent *e = readdir(d); e != NULL; e = readdir(d))
        if (e->d_name[0] != '.' && strncmp(e->d_name, "garage.db", 9) != 0)
            unlink(kit_path(e->d_name));
    closedir(d);
    if (w == COPY_OVER)
        put("copy.db", "an older copy");
    else if (w == TAKE_BLANK)
        put("to.db", "");
    else if (w == TAKE_EMPTY)
        put_bytes("to.db", empty.bytes, empty.length);
    else if (w == MIGRATE)
        make_older();
}

static ch_status operate(way w, ch_err *err)
{
    ch_store *store = NULL;
    const char *target = kit_path(targets[w]);
    if (err != NULL)
        *err = (ch_err){0};
    if (w == TAKE_NEW || w == TAKE_BLANK || w == TAKE_EMPTY) {
        const ch_store_source source = {
            .name = "a.zip", .length = (int64_t)archive.length, .read = deeds_archive_give, .context = &archive};
        return ch_store_archive_read(&source, target, NULL, err);
    }
    ch_status rc = ch_store_open(w == MIGRATE || w == CREATE ? target : kit_path("garage.db"),
                                 w == CREATE ? CH_STORE_CREATE : CH_STORE_OPEN, &store, err);
    if (rc >= 0 && w < TAKE_NEW)
        rc = ch_store_backup(store, target, err);
    if (rc >= 0 && w == ARCHIVE) {
        deed_archive again = {0};
        rc = ch_store_archive_write(store, deeds_archive_take, &again, NULL, err);
        if (rc >= 0 && (again.sum != archive.sum || again.length != archive.length))
            fail_msg("another archive than without a fault");
        free(again.bytes);
    }
    ch_store_close(store);
    return rc;
}

/* Files that are neither the garage nor the target, with their logs, nor what lies beside a file that was brought up to date. */
static size_t left_over(way w, bool done)
{
    size_t count = 0;
    DIR *d = opendir(kit_path("."));
    assert_non_null(d);
    for (struct dirent *e = readdir(d); e != NULL; e = readdir(d)) {
        const size_t length = strlen(e->d_name);
        const bool log =
            length > 4 && (strcmp(e->d_name + length - 4, "-wal") == 0 || strcmp(e->d_name + length - 4, "-shm") == 0);
        const size_t name = log ? length - 4 : length;
        const bool known = (name == 9 && strncmp(e->d_name, "garage.db", name) == 0) ||
                           (name == strlen(targets[w]) && strncmp(e->d_name, targets[w], name) == 0);
        count +=
            e->d_name[0] != '.' && !known && !(w == MIGRATE && done && strncmp(e->d_name, "old.db.before-v", 15) == 0);
    }
    closedir(d);
    return count;
}

static void expect_done(way w, const char *what)
{
    const char *target = kit_path(targets[w]);
    const bool good = w == MIGRATE || w == CREATE ? kit_ask(target, "PRAGMA user_version") == CH_STORE_VERSION
                                                  : w == ARCHIVE || deeds_digest(target) == holds;
    if (!good)
        fail_msg("%s, %s: done, and not there", way_names[w], what);
}

/* What fails: a kind of fail_system.h, of fail_call.h, or the store's memory. */
enum { CALL = FAIL_SYSTEM_KINDS, MEMORY = CALL + FAIL_CALL_KINDS, KINDS };

static const char *name_of(int kind)
{
    static const char *const calls[FAIL_CALL_KINDS] = {"statement", "step", "value in", "value out"};
    return kind < CALL ? fail_system_names[kind] : kind < MEMORY ? calls[kind - CALL] : "memory";
}

static void arm(int kind, long n, int error)
{
    if (kind < CALL)
        fail_system_at((fail_system_kind)kind, n, error, false);
    else if (kind < MEMORY)
        fail_call_at((fail_call_kind)(kind - CALL), n);
    else
        fail_alloc_at(n);
}

static bool disarm(int kind)
{
    return kind < CALL ? fail_system_stop() : kind < MEMORY ? fail_call_stop() : fail_alloc_stop();
}

/* What the line then says, and with which status. */
static bool is_told(way w, int kind, int error, ch_status rc, const ch_err *err)
{
    ch_status wanted = CH_E_MEMORY;
    const char *words = "no memory";
    if (kind < FAIL_SYSTEM_CALLS) {
        wanted = CH_E_IO;
        words = strerror(error);
    } else if (kind == FAIL_SYSTEM_DIGEST) {
        words = "digest";
    } else if ((kind == FAIL_SYSTEM_ARCHIVE || kind == FAIL_SYSTEM_ARCHIVE_SAYS) && error != ENOMEM) {
        wanted = w == ARCHIVE ? CH_E_IO : CH_E_INPUT;
        words = w == ARCHIVE ? "the archive cannot be written" : "the archive is damaged or cut off";
        if (kind == FAIL_SYSTEM_ARCHIVE_SAYS && strstr(err->what, ": the archive says why") == NULL)
            return false;
    }
    return rc == wanted && err->status == rc && strstr(err->what, words) != NULL;
}

typedef struct held {
    char *bytes;
    size_t length;
    uint64_t sum;
} held;

/* What the target holds. */
static held look(way w)
{
    held h = {0};
    if (w == TAKE_EMPTY)
        h.sum = deeds_digest(kit_path(targets[w])); /* whatever lies in its log */
    else
        h.bytes = kit_bytes(kit_path(targets[w]), &h.length);
    return h;
}

static bool same(const held *a, const held *b)
{
    return a->sum == b->sum && (a->bytes == NULL) == (b->bytes == NULL) && a->length == b->length &&
           (a->bytes == NULL || memcmp(a->bytes, b->bytes, a->length) == 0);
}

/* The nth call of a kind fails: was there one? */
static bool try_fault(way w, int kind, long n, int error, long *refused)
{
    ch_err err;
    char at[128];
    snprintf(at, sizeof at, "%s, %s %ld", way_names[w], name_of(kind), n);
    start(w);
    const held before = look(w);
    arm(kind, n, error);
    const ch_status rc = operate(w, &err);
    const bool met = disarm(kind);
    const held after = look(w);
    /* a garage that is new or brought up to date step by step may be some steps further, each of them whole */
    const bool by_steps = w == CREATE || (w == MIGRATE && kind >= FAIL_SYSTEM_CALLS);
    if (rc < 0 && !is_told(w, kind, error, rc, &err))
        fail_msg("%s: %d %s", at, (int)rc, err.what);
    if (rc < 0 && !by_steps && !same(&before, &after))
        fail_msg("%s: what was there is changed", at);
    if (rc >= 0)
        expect_done(w, at);
    if (left_over(w, rc >= 0) > 0 && !by_steps)
        fail_msg("%s: a file is left over", at);
    free(before.bytes);
    free(after.bytes);
    if (rc < 0 && (*refused)++ == 0) { /* one time of all */
        kit_good(operate(w, &err), &err);
        expect_done(w, at);
    }
    return met;
}

static void whatever_the_system_refuses_nothing_is_lost_or_half_made(void **state)
{
    (void)state;
    enum {
        ALL = (1 << FAIL_SYSTEM_CALLS) - 1,
        NEW = 1 << FAIL_SYSTEM_OPEN | 1 << FAIL_SYSTEM_LINK | 1 << FAIL_SYSTEM_CLOSE | 1 << FAIL_SYSTEM_FSYNC,
        BLANK = 1 << FAIL_SYSTEM_OPEN | 1 << FAIL_SYSTEM_FCHMOD | 1 << FAIL_SYSTEM_RENAME
    };
    static const struct {
        int kinds;
        long refusals; /* at least: a folder need not be flushed, and link has its stand-in */
    } wanted[SYSTEM_WAYS] = {{ALL, 5}, {ALL, 5}, {NEW, 1}, {BLANK, 3}, {ALL, 5}};
    for (int w = 0; w < SYSTEM_WAYS; w++) {
        long refused = 0;
        for (int kind = 0; kind < FAIL_SYSTEM_CALLS; kind++)
            for (long n = 1; (wanted[w].kinds & 1 << kind) != 0 && try_fault((way)w, kind, n, EIO, &refused); n++)
                assert_true(n < 20);
        if (refused < wanted[w].refusals)
            fail_msg("%s: %ld refusals", way_names[w], refused);
    }
}

/* Of the calls of a kind the first, then fewer and fewer; nearly all of them where they are counted (`./run coverage`). */
static void try_library(way w, int kind, int error)
{
    long refused = 0, n = 1;
    const long dense = fail_alloc_most(1);
    while (try_fault(w, kind, n, error, &refused))
        n += 1 + 7 * n / dense;
    if (refused == 0)
        fail_msg("%s, %s: not one refusal", way_names[w], name_of(kind));
}

static void whatever_a_library_refuses_nothing_is_lost_or_half_made(void **state)
{
    (void)state;
    static const way with_sqlite[] = {COPY_OVER, TAKE_NEW, MIGRATE, CREATE};
    for (size_t i = 0; i < sizeof with_sqlite / sizeof with_sqlite[0]; i++) {
        try_library(with_sqlite[i], FAIL_SYSTEM_CONNECT, SQLITE_NOMEM);
        try_library(with_sqlite[i], FAIL_SYSTEM_EXEC, SQLITE_NOMEM);
        try_library(with_sqlite[i], MEMORY, ENOMEM);
        for (int kind = CALL; kind < MEMORY; kind++)
            if (with_sqlite[i] == TAKE_NEW || kind == CALL + FAIL_PREPARE || kind == CALL + FAIL_STEP)
                try_library(with_sqlite[i], kind, SQLITE_NOMEM); /* the others hardly bind anything, or ask */
    }
    static const way with_archives[] = {TAKE_NEW, ARCHIVE};
    for (size_t i = 0; i < sizeof with_archives / sizeof with_archives[0]; i++) {
        try_library(with_archives[i], FAIL_SYSTEM_BLOB, SQLITE_NOMEM);
        try_library(with_archives[i], FAIL_SYSTEM_DIGEST, GNUTLS_E_MEMORY_ERROR);
        try_library(with_archives[i], FAIL_SYSTEM_NEW, 0);
        try_library(with_archives[i], FAIL_SYSTEM_ARCHIVE, EIO);
        try_library(with_archives[i], FAIL_SYSTEM_ARCHIVE, ENOMEM);
        try_library(with_archives[i], FAIL_SYSTEM_ARCHIVE_SAYS, EIO);
        try_library(with_archives[i], FAIL_SYSTEM_ARCHIVE_SAYS, ENOMEM);
    }
}

/* What is done for a new file too comes first; so these are tried from the last on. */
static void an_empty_garage_stays_empty_whatever_fails_while_it_is_filled(void **state)
{
    (void)state;
    const long dense = fail_alloc_most(1);
    for (int kind = CALL; kind < KINDS; kind++) {
        ch_err err;
        long refused = 0;
        start(TAKE_EMPTY);
        arm(kind, LONG_MAX, 0);
        kit_good(operate(TAKE_EMPTY, &err), &err);
        const long seen = kind < MEMORY ? fail_call_seen((fail_call_kind)(kind - CALL)) : fail_alloc_seen();
        disarm(kind);
        expect_done(TAKE_EMPTY, "without a fault");
        for (long back = 0; back < seen / 2; back += 1 + 7 * back / dense)
            assert_true(try_fault(TAKE_EMPTY, kind, seen - back, ENOMEM, &refused));
        assert_true(refused > 0);
    }
}

static void without_a_place_for_the_line_the_same_is_refused(void **state)
{
    (void)state;
    static const way ways[] = {COPY_OVER, TAKE_NEW, TAKE_BLANK, MIGRATE};
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        start(ways[i]);
        const held before = look(ways[i]);
        fail_system_at(FAIL_SYSTEM_OPEN, 1, EIO, false);
        assert_int_equal(operate(ways[i], NULL), CH_E_IO);
        assert_true(fail_system_stop());
        const held after = look(ways[i]);
        assert_true(same(&before, &after));
        free(before.bytes);
        free(after.bytes);
    }
    start(TAKE_NEW);
    fail_call_at(FAIL_STEP, LONG_MAX);
    assert_int_equal(operate(TAKE_NEW, NULL), CH_OK);
    const long steps = fail_call_seen(FAIL_STEP);
    fail_call_stop();
    start(TAKE_NEW);
    fail_call_at(FAIL_STEP, steps - 1); /* while the new file is compared with the archive */
    assert_int_equal(operate(TAKE_NEW, NULL), CH_E_MEMORY);
    assert_true(fail_call_stop());
    assert_false(there("to.db"));
    assert_int_equal(left_over(TAKE_NEW, false), 0);
    start(TAKE_EMPTY);
    assert_int_equal(operate(TAKE_EMPTY, NULL), CH_OK);
    assert_int_equal(operate(TAKE_EMPTY, NULL), CH_E_INPUT); /* now it is not empty */
    expect_done(TAKE_EMPTY, "twice");
    ch_store *store = NULL;
    put("damaged.db", "SQLite format 3, and nothing of it");
    assert_int_equal(ch_store_open(kit_path("damaged.db"), CH_STORE_OPEN, &store, NULL), CH_E_INPUT);
    assert_null(store);
}

static void where_the_disk_knows_no_links_a_new_garage_is_made_all_the_same(void **state)
{
    (void)state;
    ch_err err;
    start(TAKE_NEW);
    fail_system_at(FAIL_SYSTEM_LINK, 1, EPERM, true); /* as Linux says of FAT */
    kit_good(operate(TAKE_NEW, &err), &err);
    assert_true(fail_system_stop());
    expect_done(TAKE_NEW, "without links");
    assert_int_equal(left_over(TAKE_NEW, true), 0);
    start(TAKE_NEW);
    fail_system_at(FAIL_SYSTEM_LINK, 1, EPERM, true);
    fail_system_at(FAIL_SYSTEM_RENAME, 1, ENOSPC, true);
    assert_int_equal(operate(TAKE_NEW, &err), CH_E_IO);
    assert_true(fail_system_stop());
    assert_non_null(strstr(err.what, strerror(ENOSPC)));
    assert_false(there("to.db"));
    assert_int_equal(left_over(TAKE_NEW, false), 0);
}

/* Another program that takes the name at the last moment, where link() cannot tell. */
static void take_name(void)
{
    put("to.db", "another's");
}

static int take_name_when_filled(disk_call *call)
{
    if (call->kind == DISK_OPEN && call->name != NULL && strstr(call->name, ".new-") != NULL && !there("to.db"))
        take_name();
    return SQLITE_OK;
}

static void a_name_that_another_program_took_is_not_taken_from_it_where_there_are_no_links(void **state)
{
    (void)state;
    ch_err err;
    size_t length = 0;
    start(TAKE_NEW);
    disk_layer_begin((disk_hooks){.before = take_name_when_filled});
    fail_system_at(FAIL_SYSTEM_LINK, 1, EPERM, true);
    assert_int_equal(operate(TAKE_NEW, &err), CH_E_INPUT);
    assert_true(fail_system_stop());
    disk_layer_begin((disk_hooks){0});
    assert_non_null(strstr(err.what, "another program made it meanwhile"));
    char *bytes = kit_bytes(kit_path("to.db"), &length);
    assert_string_equal(bytes, "another's");
    free(bytes);
    assert_int_equal(left_over(TAKE_NEW, false), 0);
}

static void a_name_beside_it_that_is_taken_is_left_alone(void **state)
{
    (void)state;
    char name[64];
    ch_err err;
    size_t length = 0;
    start(TAKE_NEW);
    snprintf(name, sizeof name, "to.db.new-%ld-0", (long)getpid());
    put(name, "a stranger's");
    kit_good(operate(TAKE_NEW, &err), &err);
    expect_done(TAKE_NEW, "beside another");
    char *bytes = kit_bytes(kit_path(name), &length);
    assert_string_equal(bytes, "a stranger's");
    free(bytes);
    start(TAKE_NEW);
    fail_system_at(FAIL_SYSTEM_OPEN, 1, EEXIST, true); /* each of the names */
    assert_int_equal(operate(TAKE_NEW, &err), CH_E_IO);
    assert_true(fail_system_stop());
    assert_non_null(strstr(err.what, "the garage file cannot be made: "));
    assert_false(there("to.db"));
}

static void of_two_calls_that_fail_the_first_is_told(void **state)
{
    (void)state;
    ch_err err;
    start(COPY_OVER);
    fail_system_at(FAIL_SYSTEM_FSYNC, 1, EIO, false);
    fail_system_at(FAIL_SYSTEM_CLOSE, 2, ENOSPC, false); /* that of the same file */
    assert_int_equal(operate(COPY_OVER, &err), CH_E_IO);
    assert_true(fail_system_stop());
    assert_non_null(strstr(err.what, strerror(EIO)));
    assert_int_equal(left_over(COPY_OVER, false), 0);
}

static void a_garage_whose_file_was_moved_away_is_still_copied(void **state)
{
    (void)state;
    ch_err err = {0};
    struct stat is;
    ch_store *store = kit_open();
    assert_int_equal(rename(kit_path("garage.db"), kit_path("moved.db")), 0);
    kit_good(ch_store_backup(store, kit_path("copy.db"), &err), &err);
    ch_store_close(store);
    assert_true(deeds_digest(kit_path("copy.db")) == holds);
    assert_int_equal(stat(kit_path("copy.db"), &is), 0);
    assert_int_equal(is.st_mode & 0777, 0600); /* nobody can say who may read it: its owner alone */
}

static void a_copy_has_the_mode_of_the_garage_and_is_made_in_the_folder_at_hand(void **state)
{
    (void)state;
    ch_err err = {0};
    struct stat is;
    char here[4096];
    ch_store *store = kit_open();
    assert_int_equal(chmod(kit_path("garage.db"), 0640), 0);
    assert_non_null(getcwd(here, sizeof here));
    assert_int_equal(chdir(kit_path(".")), 0);
    const ch_status rc = ch_store_backup(store, "copy.db", &err);
    assert_int_equal(chdir(here), 0);
    kit_good(rc, &err);
    assert_int_equal(stat(kit_path("copy.db"), &is), 0);
    assert_int_equal(is.st_mode & 0777, 0640);
    ch_store_close(store);
}

/* A program that looks into the copy while it grows, as those do that search a disk for viruses. */
static sqlite3 *looker;
static char looked_at[512];
static long waits;

static int look_into_copy(disk_call *call)
{
    if (call->kind == DISK_OPEN && looker == NULL && looked_at[0] == '\0' && call->name != NULL &&
        strstr(call->name, "/copy.db.") != NULL && strstr(call->name, "-journal") == NULL) {
        snprintf(looked_at, sizeof looked_at, "%s", call->name);
        assert_int_equal(sqlite3_open_v2(looked_at, &looker, SQLITE_OPEN_READWRITE, "unix"), SQLITE_OK);
        assert_int_equal(sqlite3_exec(looker, "BEGIN EXCLUSIVE", NULL, NULL, NULL), SQLITE_OK);
    }
    return SQLITE_OK;
}

static void look_away_soon(void)
{
    if (++waits == 3) {
        sqlite3_close(looker);
        looker = NULL;
    }
}

static void keep_looking(void)
{
    waits++;
}

static void a_copy_waits_for_a_program_that_looks_into_it_but_not_for_ever(void **state)
{
    (void)state;
    ch_err err;
    for (int for_ever = 0; for_ever < 2; for_ever++) {
        start(COPY_OVER);
        waits = 0;
        looked_at[0] = '\0';
        fail_system_when_waiting(for_ever ? keep_looking : look_away_soon);
        disk_layer_begin((disk_hooks){.before = look_into_copy});
        const ch_status rc = operate(COPY_OVER, &err);
        disk_layer_begin((disk_hooks){0});
        fail_system_when_waiting(NULL);
        sqlite3_close(looker);
        looker = NULL;
        if (for_ever) {
            size_t length = 0;
            assert_int_equal(rc, CH_E_IO);
            assert_non_null(strstr(err.what, "the copy cannot be made: database is locked"));
            char *bytes = kit_bytes(kit_path("copy.db"), &length);
            assert_string_equal(bytes, "an older copy");
            free(bytes);
            assert_true(waits >= 100);
        } else {
            kit_good(rc, &err);
            expect_done(COPY_OVER, "after waiting");
            assert_int_equal(waits, 3);
        }
        assert_int_equal(left_over(COPY_OVER, rc >= 0), 0);
    }
}

/* SQLite's own waiting, which goes by how often it has waited and not by the clock. */
static int sleep_no_longer(sqlite3_vfs *vfs, int us)
{
    (void)vfs;
    return us;
}

static void a_file_that_another_program_holds_is_waited_for_but_not_for_ever(void **state)
{
    (void)state;
    sqlite3_vfs *layer = sqlite3_vfs_find(NULL);
    int (*const slept)(sqlite3_vfs *, int) = layer->xSleep;
    layer->xSleep = sleep_no_longer;
    for (int for_ever = 0; for_ever < 2; for_ever++)
        for (int told = 0; told < 2; told++) {
            ch_store *store = NULL;
            ch_err err = {0};
            start(TAKE_EMPTY);
            /* without its log, as a file comes from a disk that knows none: opening it gives it one, for which nobody else may have it open */
            assert_int_equal(sqlite3_open_v2(kit_path("to.db"), &looker, SQLITE_OPEN_READWRITE, "unix"), SQLITE_OK);
            assert_int_equal(
                sqlite3_exec(looker, "PRAGMA journal_mode = DELETE; BEGIN; SELECT * FROM car", NULL, NULL, NULL),
                SQLITE_OK);
            waits = 0;
            fail_system_when_waiting(for_ever ? keep_looking : look_away_soon);
            const ch_status rc = ch_store_open(kit_path("to.db"), CH_STORE_OPEN, &store, told ? &err : NULL);
            fail_system_when_waiting(NULL);
            sqlite3_close(looker);
            looker = NULL;
            ch_store_close(store);
            assert_int_equal(rc, for_ever ? CH_E_IO : CH_OK);
            if (told && for_ever)
                assert_non_null(strstr(err.what, "another program holds the garage file"));
            assert_int_equal(waits, for_ever ? STORE_BUSY_MS / 20 : 3);
        }
    layer->xSleep = slept;
}

static void turns_are_those_of_one_file_and_come_once_at_a_time(void **state)
{
    (void)state;
    store_turn *a = store_turn_join("a.db"), *again = store_turn_join("a.db"), *b = store_turn_join("b.db");
    assert_non_null(a);
    assert_ptr_equal(a, again);
    assert_ptr_not_equal(a, b);
    assert_true(store_turn_take(a, 0));
    assert_false(store_turn_take(again, 0));
    assert_true(store_turn_take(b, 0)); /* another file is another turn */
    store_turn_give(a);
    assert_true(store_turn_take(again, 0));
    store_turn_give(again);
    store_turn_give(b);
    store_turn_leave(a);
    assert_ptr_equal(store_turn_join("a.db"), again); /* it is still in use */
    fail_alloc_at(1);
    assert_null(store_turn_join("c.db"));
    assert_true(fail_alloc_stop());
    store_turn_leave(again);
    store_turn_leave(again);
    store_turn_leave(b);
    store_turn_leave(NULL);
}

static void *hold_a_while(void *turns)
{
    nanosleep(&(struct timespec){.tv_nsec = 50 * 1000 * 1000}, NULL);
    store_turn_give(turns);
    return NULL;
}

static void a_turn_is_waited_for_as_long_whatever_the_clock_on_the_wall_says(void **state)
{
    (void)state;
    store_turn *turns = store_turn_join("a.db");
    pthread_t holder;
    assert_true(store_turn_take(turns, 0));
    assert_int_equal(pthread_create(&holder, NULL, hold_a_while, turns), 0);
    fail_system_clock_ahead(-3600);
    const bool came = store_turn_take(turns, 10);
    fail_system_clock_ahead(0);
    pthread_join(holder, NULL);
    assert_true(came);
    store_turn_give(turns);
    store_turn_leave(turns);
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, begin, end)

int main(void)
{
    disk_layer_begin((disk_hooks){0});
    const struct CMUnitTest tests[] = {
        PROMISE(whatever_the_system_refuses_nothing_is_lost_or_half_made),
        PROMISE(whatever_a_library_refuses_nothing_is_lost_or_half_made),
        PROMISE(an_empty_garage_stays_empty_whatever_fails_while_it_is_filled),
        PROMISE(without_a_place_for_the_line_the_same_is_refused),
        PROMISE(where_the_disk_knows_no_links_a_new_garage_is_made_all_the_same),
        PROMISE(a_name_that_another_program_took_is_not_taken_from_it_where_there_are_no_links),
        PROMISE(a_name_beside_it_that_is_taken_is_left_alone),
        PROMISE(of_two_calls_that_fail_the_first_is_told),
        PROMISE(a_garage_whose_file_was_moved_away_is_still_copied),
        PROMISE(a_copy_has_the_mode_of_the_garage_and_is_made_in_the_folder_at_hand),
        PROMISE(a_copy_waits_for_a_program_that_looks_into_it_but_not_for_ever),
        PROMISE(a_file_that_another_program_holds_is_waited_for_but_not_for_ever),
        PROMISE(turns_are_those_of_one_file_and_come_once_at_a_time),
        PROMISE(a_turn_is_waited_for_as_long_whatever_the_clock_on_the_wall_says),
    };
    return cmocka_run_group_tests_name("store_system", tests, NULL, NULL);
}
