/*
 * The archive, out and in, where something is in its way: what is told, and that what was there stays. That the tables come back the same, and that archives from strangers
 * are refused, is tested from outside (tests/cli/archive.py); each call to the disk and each allocation that fails, in test_fault.c and tests/fault.
 */
#define _XOPEN_SOURCE 700 /* symlink */
#include <limits.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "../../src/store/store_parts.h"
#include "deeds.h"
#include "disk_layer.h"
#include "fail_disk.h"
#include "fault_run.h"
#include "kit.h"

enum { PHOTO = 2 * 1024 * 1024 };

/* A garage with one of each thing, and so many photos more, as an archive. */
static deed_archive archive_of(int photos)
{
    deed_archive archive = {0};
    deed_place place = {0};
    ch_sheet demo;
    ch_err err = {0};
    ch_store *store = NULL;
    kit_good(deeds_demo(&demo, &err), &err);
    kit_good(ch_store_open(kit_path("from.db"), CH_STORE_CREATE, &store, &err), &err);
    kit_good(deeds_base(store, &demo, &place, &err), &err);
    unsigned char *bytes = calloc(1, PHOTO);
    assert_non_null(bytes);
    const ch_store_photo photo = {.sheet_id = place.sheet, .mime = "image/png", .bytes = bytes, .length = PHOTO};
    for (int i = 0; i < photos; i++)
        kit_good(ch_store_photo_add(store, &photo, NULL, KIT_NOW, NULL, &err), &err);
    free(bytes);
    kit_good(ch_store_archive_write(store, deeds_archive_take, &archive, NULL, &err), &err);
    ch_store_close(store);
    ch_sheet_clear(&demo);
    return archive;
}

static ch_status take(deed_archive *archive, const char *path, ch_err *err)
{
    const ch_store_source source = {
        .name = "a.zip", .length = (int64_t)archive->length, .read = deeds_archive_give, .context = archive};
    *err = (ch_err){0};
    return ch_store_archive_read(&source, path, NULL, err);
}

static bool there(const char *name)
{
    struct stat is;
    return lstat(kit_path(name), &is) == 0;
}

/* Two mebibytes of pages are kept in memory, so that the disk is met only by a larger garage; and when it is complete, by what ends its transaction. */
static void a_trial_for_which_the_disk_has_no_room_says_so_up_to_its_end(void **state)
{
    (void)state;
    deed_archive archive = archive_of(3);
    ch_err err = {0};
    fail_disk_at(FAIL_FULL, LONG_MAX, false);
    kit_good(take(&archive, NULL, &err), &err);
    fail_disk_stop();
    const long writes = fail_disk_seen(FAIL_FULL);
    assert_true(writes > 200);
    const long at[] = {1, writes / 2, writes - 1, writes};
    for (size_t i = 0; i < sizeof at / sizeof at[0]; i++) {
        fail_disk_at(FAIL_FULL, at[i], false);
        assert_int_equal(take(&archive, NULL, &err), CH_E_IO);
        assert_true(fail_disk_stop());
        assert_non_null(strstr(err.what, "the disk is full"));
        assert_string_equal(err.file, "a.zip");
        fail_disk_at(FAIL_WRITE, at[i], false);
        assert_int_equal(take(&archive, NULL, &err), CH_E_IO);
        assert_true(fail_disk_stop());
        assert_non_null(strstr(err.what, "disk I/O error"));
    }
    fail_disk_at(FAIL_OPEN, 1, true);
    assert_int_equal(take(&archive, NULL, &err), CH_E_IO);
    assert_true(fail_disk_stop());
    fail_disk_at(FAIL_READ, 1, true);
    assert_int_equal(take(&archive, NULL, &err), CH_E_IO);
    assert_true(fail_disk_stop());
    free(archive.bytes);
}

static ch_status stop_here(const void *bytes, size_t length, void *context, ch_err *err)
{
    long *left = context;
    (void)bytes;
    (void)length;
    return --*left > 0 ? CH_OK : ch_fail(err, CH_E_IO, "another place", "the stick was pulled out");
}

static void what_the_one_who_takes_the_archive_says_is_what_is_told(void **state)
{
    (void)state;
    deed_archive archive = archive_of(0);
    ch_store *store = NULL;
    ch_err err = {0};
    kit_good(ch_store_open(kit_path("from.db"), CH_STORE_OPEN, &store, &err), &err);
    long pieces = 0, refused = 0;
    for (long n = 1; pieces == 0; n += n / 4 + 1) {
        long left = n;
        ch_store_archive_told told = {.files = -1};
        err = (ch_err){0};
        const ch_status rc = ch_store_archive_write(store, stop_here, &left, &told, &err);
        if (left > 0) {
            kit_good(rc, &err);
            pieces = n - left;
            continue;
        }
        refused++;
        assert_int_equal(rc, CH_E_IO);
        assert_string_equal(err.what, "the stick was pulled out");
        assert_int_equal(told.files, -1);
    }
    assert_true(pieces > 20 && refused > 10);
    kit_verify(store); /* and may go on */
    ch_store_close(store);
    free(archive.bytes);
}

typedef struct giver {
    deed_archive archive;
    long left;
} giver;

static ch_status give_or_fail(void *context, int64_t offset, void *bytes, size_t size, size_t *got, ch_err *err)
{
    giver *g = context;
    return --g->left > 0 ? deeds_archive_give(&g->archive, offset, bytes, size, got, err)
                         : ch_fail(err, CH_E_IO, NULL, "the stick was pulled out");
}

static void what_the_one_who_gives_the_archive_says_is_what_is_told(void **state)
{
    (void)state;
    giver g = {.archive = archive_of(1)};
    const ch_store_source source = {
        .name = "a.zip", .length = (int64_t)g.archive.length, .read = give_or_fail, .context = &g};
    ch_err err = {0};
    g.left = LONG_MAX;
    kit_good(ch_store_archive_read(&source, NULL, NULL, &err), &err);
    const long reads = LONG_MAX - g.left;
    assert_true(reads > 5);
    for (long n = 1; n <= reads; n++) {
        g.left = n;
        err = (ch_err){0};
        assert_int_equal(ch_store_archive_read(&source, kit_path("to.db"), NULL, &err), CH_E_IO);
        assert_string_equal(err.what, "the stick was pulled out");
        assert_false(there("to.db"));
    }
    free(g.archive.bytes);
}

static void an_older_garage_that_holds_something_is_not_even_brought_up_to_date(void **state)
{
    (void)state;
    deed_archive archive = archive_of(0);
    char name[512], sql[128];
    size_t length = 0, before_length = 0, after_length = 0;
    sqlite3 *db = NULL;
    ch_err err = {0};
    snprintf(name, sizeof name, "%s/tests/store/garage-v%d.sql", getenv("CROSSHATCH_SOURCE"), CH_STORE_VERSION - 1);
    snprintf(sql, sizeof sql, "PRAGMA application_id = %d; PRAGMA user_version = %d; PRAGMA journal_mode = WAL;",
             STORE_APPLICATION_ID, CH_STORE_VERSION - 1);
    char *dump = kit_bytes(name, &length);
    assert_non_null(dump);
    assert_int_equal(sqlite3_open(kit_path("old.db"), &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, dump, NULL, NULL, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
    free(dump);
    char *before = kit_bytes(kit_path("old.db"), &before_length);
    assert_int_equal(take(&archive, kit_path("old.db"), &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "the garage is not empty"));
    char *after = kit_bytes(kit_path("old.db"), &after_length);
    assert_int_equal(before_length, after_length);
    assert_memory_equal(before, after, before_length);
    snprintf(name, sizeof name, "old.db.before-v%d", CH_STORE_VERSION);
    assert_false(there(name));
    free(before);
    free(after);
    free(archive.bytes);
}

/* Earlier versions wrote down what the clock said. The garage is whole all the same, and its archive must come back. */
static void a_garage_whose_clock_was_set_back_comes_back_from_its_archive(void **state)
{
    (void)state;
    deed_archive none = archive_of(0), archive = {0};
    ch_store *store = NULL;
    ch_err err = {0};
    assert_int_equal(kit_ask(kit_path("from.db"), "UPDATE ledger SET put_back_s = taken_s - 10 RETURNING id"), 1);
    kit_good(ch_store_open(kit_path("from.db"), CH_STORE_OPEN, &store, &err), &err);
    kit_verify(store);
    kit_good(ch_store_archive_write(store, deeds_archive_take, &archive, NULL, &err), &err);
    ch_store_close(store);
    kit_good(take(&archive, kit_path("back.db"), &err), &err);
    assert_int_equal(kit_ask(kit_path("back.db"), "SELECT taken_s - put_back_s FROM ledger WHERE id = 1"), 10);
    free(archive.bytes);
    free(none.bytes);
}

static void a_file_that_is_no_garage_stays_as_it_is(void **state)
{
    (void)state;
    static const char letter[] = "Dear reader, this is a letter that somebody wrote on a cold evening.\n";
    deed_archive archive = archive_of(0);
    ch_err err = {0};
    size_t length = 0;
    FILE *file = fopen(kit_path("letter"), "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(letter, 1, sizeof letter, file), sizeof letter);
    fclose(file);
    assert_int_equal(take(&archive, kit_path("letter"), &err), CH_E_INPUT);
    char *after = kit_bytes(kit_path("letter"), &length);
    assert_int_equal(length, sizeof letter);
    assert_memory_equal(after, letter, length);
    free(after);
    assert_int_equal(take(&archive, kit_path("."), &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "is no file"));
    assert_int_equal(take(&archive, kit_path("no folder/to.db"), &err), CH_E_IO);
    assert_non_null(strstr(err.what, "cannot be made"));
    free(archive.bytes);
}

/* SQLite would play a log into whatever garage file stands beside it. */
static void what_a_lost_garage_left_is_neither_removed_nor_joined_to_the_new_one(void **state)
{
    (void)state;
    static const char *const endings[] = {"to.db-wal", "to.db-journal"};
    deed_archive archive = archive_of(0);
    ch_err err = {0};
    for (size_t i = 0; i < sizeof endings / sizeof endings[0]; i++) {
        FILE *file = fopen(kit_path(endings[i]), "wb");
        assert_non_null(file);
        fclose(file);
        assert_int_equal(take(&archive, kit_path("to.db"), &err), CH_E_INPUT);
        assert_non_null(strstr(err.what, "its log or journal"));
        assert_false(there("to.db"));
        assert_true(there(endings[i]));
        unlink(kit_path(endings[i]));
    }
    assert_int_equal(symlink("nowhere.db", kit_path("to.db")), 0);
    assert_int_equal(take(&archive, kit_path("to.db"), &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "leads nowhere"));
    assert_false(there("nowhere.db"));
    unlink(kit_path("to.db"));
    kit_good(take(&archive, kit_path("to.db"), &err), &err);
    free(archive.bytes);
}

/* Another program that makes a garage file, or fills the empty one, while ours grows beside. */
static char *other_path;
static int make_other(disk_call *call)
{
    if (call->kind == DISK_OPEN && call->name != NULL && strstr(call->name, ".new-") != NULL && other_path != NULL) {
        FILE *file = fopen(other_path, "wb");
        if (file != NULL) {
            fputs("another's", file);
            fclose(file);
        }
        other_path = NULL;
    }
    return SQLITE_OK;
}

static void a_garage_that_another_program_made_meanwhile_stays(void **state)
{
    (void)state;
    deed_archive archive = archive_of(0);
    char path[512];
    ch_err err = {0};
    size_t length = 0;
    snprintf(path, sizeof path, "%s", kit_path("to.db"));
    for (int empty = 0; empty < 2; empty++) {
        if (empty) {
            FILE *file = fopen(path, "wb");
            assert_non_null(file);
            fclose(file);
        }
        other_path = path;
        disk_layer_begin((disk_hooks){.before = make_other});
        assert_int_equal(take(&archive, path, &err), CH_E_INPUT);
        assert_null(other_path);
        fail_disk_begin();
        assert_non_null(strstr(err.what, "another program made it"));
        assert_string_equal(err.file, path);
        char *bytes = kit_bytes(path, &length);
        assert_string_equal(bytes, "another's");
        free(bytes);
        unlink(path);
    }
    free(archive.bytes);
}

static void a_file_without_bytes_keeps_its_mode(void **state)
{
    (void)state;
    deed_archive archive = archive_of(0);
    struct stat is;
    ch_err err = {0};
    FILE *file = fopen(kit_path("to.db"), "wb");
    assert_non_null(file);
    fclose(file);
    chmod(kit_path("to.db"), 0620);
    kit_good(take(&archive, kit_path("to.db"), &err), &err);
    assert_int_equal(stat(kit_path("to.db"), &is), 0);
    assert_int_equal(is.st_mode & 0777, 0620);
    assert_true(deeds_digest(kit_path("to.db")) == deeds_digest(kit_path("from.db")));
    free(archive.bytes);
}

static void an_empty_garage_whose_last_change_was_cut_short_takes_an_archive(void **state)
{
    (void)state;
    deed_archive archive = archive_of(0);
    ch_store *store = NULL;
    ch_err err = {0};
    kit_good(ch_store_open(kit_path("to.db"), CH_STORE_CREATE, &store, &err), &err);
    ch_store_close(store);
    kit_cut_short(kit_path("to.db"));
    kit_good(take(&archive, kit_path("to.db"), &err), &err);
    assert_true(deeds_digest(kit_path("to.db")) == deeds_digest(kit_path("from.db")));
    free(archive.bytes);
}

static void a_link_to_an_empty_garage_is_followed(void **state)
{
    (void)state;
    deed_archive archive = archive_of(0);
    struct stat is;
    ch_store *store = NULL;
    ch_err err = {0};
    kit_good(ch_store_open(kit_path("elsewhere.db"), CH_STORE_CREATE, &store, &err), &err);
    ch_store_close(store);
    assert_int_equal(symlink("elsewhere.db", kit_path("to.db")), 0);
    kit_good(take(&archive, kit_path("to.db"), &err), &err);
    assert_int_equal(lstat(kit_path("to.db"), &is), 0);
    assert_true(S_ISLNK(is.st_mode));
    assert_true(deeds_digest(kit_path("elsewhere.db")) == deeds_digest(kit_path("from.db")));
    free(archive.bytes);
}

/* What a lost garage left beside a file without bytes is not played into it. */
static void a_file_without_bytes_beside_a_strange_log_is_filled_and_sound(void **state)
{
    (void)state;
    deed_archive archive = archive_of(0);
    ch_err err = {0};
    static const char *const names[] = {"to.db", "to.db-wal"};
    for (size_t i = 0; i < 2; i++) {
        FILE *file = fopen(kit_path(names[i]), "wb");
        assert_non_null(file);
        if (i == 1)
            fputs("no log of this file", file);
        fclose(file);
    }
    kit_good(take(&archive, kit_path("to.db"), &err), &err);
    assert_true(deeds_digest(kit_path("to.db")) == deeds_digest(kit_path("from.db")));
    free(archive.bytes);
}

static int remove_other(disk_call *call)
{
    if (call->kind == DISK_OPEN && call->name != NULL && strstr(call->name, ".new-") != NULL && other_path != NULL) {
        unlink(other_path);
        other_path = NULL;
    }
    return SQLITE_OK;
}

static void a_file_without_bytes_that_goes_meanwhile_is_made(void **state)
{
    (void)state;
    deed_archive archive = archive_of(0);
    char path[512];
    ch_err err = {0};
    snprintf(path, sizeof path, "%s", kit_path("to.db"));
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    fclose(file);
    other_path = path;
    disk_layer_begin((disk_hooks){.before = remove_other});
    const ch_status rc = take(&archive, path, &err);
    fail_disk_begin();
    assert_null(other_path);
    kit_good(rc, &err);
    assert_true(deeds_digest(path) == deeds_digest(kit_path("from.db")));
    free(archive.bytes);
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, kit_begin, kit_end)

int main(void)
{
    fault_run_begin();
    const struct CMUnitTest tests[] = {
        PROMISE(a_trial_for_which_the_disk_has_no_room_says_so_up_to_its_end),
        PROMISE(what_the_one_who_takes_the_archive_says_is_what_is_told),
        PROMISE(what_the_one_who_gives_the_archive_says_is_what_is_told),
        PROMISE(an_older_garage_that_holds_something_is_not_even_brought_up_to_date),
        PROMISE(a_garage_whose_clock_was_set_back_comes_back_from_its_archive),
        PROMISE(a_file_that_is_no_garage_stays_as_it_is),
        PROMISE(what_a_lost_garage_left_is_neither_removed_nor_joined_to_the_new_one),
        PROMISE(a_garage_that_another_program_made_meanwhile_stays),
        PROMISE(a_file_without_bytes_keeps_its_mode),
        PROMISE(an_empty_garage_whose_last_change_was_cut_short_takes_an_archive),
        PROMISE(a_link_to_an_empty_garage_is_followed),
        PROMISE(a_file_without_bytes_beside_a_strange_log_is_filled_and_sound),
        PROMISE(a_file_without_bytes_that_goes_meanwhile_is_made),
    };
    return cmocka_run_group_tests_name("store_archive", tests, NULL, NULL);
}
