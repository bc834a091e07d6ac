/* Opening, older and newer versions, files that are none or are damaged, copies. Nothing that is refused is touched. */
#include <errno.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "../../src/store/store_parts.h"
#include "kit.h"

static void put_bytes(const char *path, const char *bytes, size_t length)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, length, file), length);
    assert_int_equal(fclose(file), 0);
}

static void run_sql(const char *path, const char *sql)
{
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    char *message = NULL;
    if (sqlite3_exec(db, sql, NULL, NULL, &message) != SQLITE_OK)
        fail_msg("%s", message);
    sqlite3_close(db);
}

/* A garage file of version N as its dump of that time has it. */
static void make_old(const char *path, int version)
{
    char name[512], sql[128];
    size_t length = 0;
    snprintf(name, sizeof name, "%s/tests/store/garage-v%d.sql", getenv("CROSSHATCH_SOURCE"), version);
    char *dump = kit_bytes(name, &length);
    if (dump == NULL)
        fail_msg("%s is missing: every version of the schema has its file", name);
    run_sql(path, dump);
    free(dump);
    snprintf(sql, sizeof sql, "PRAGMA application_id = %d; PRAGMA user_version = %d; PRAGMA journal_mode = WAL;",
             STORE_APPLICATION_ID, version);
    run_sql(path, sql);
}

/* The schema as text, in an order of its own. */
static char *schema_of(const char *path)
{
    sqlite3 *db = NULL;
    sqlite3_stmt *q = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_prepare_v2(db,
                                        "SELECT group_concat(type || name || tbl_name || coalesce(sql, ''), char(10))"
                                        " FROM (SELECT * FROM sqlite_schema ORDER BY type, name)",
                                        -1, &q, NULL),
                     SQLITE_OK);
    assert_int_equal(sqlite3_step(q), SQLITE_ROW);
    char *text = strdup((const char *)sqlite3_column_text(q, 0));
    sqlite3_finalize(q);
    sqlite3_close(db);
    return text;
}

static void every_older_version_opens_and_becomes_as_a_fresh_one(void **state)
{
    (void)state;
    ch_store_close(kit_open());
    char *fresh = schema_of(kit_path("garage.db"));
    for (int version = 1; version <= CH_STORE_VERSION; version++) {
        const char *path = kit_path("old.db");
        ch_store *store = NULL;
        ch_err err = {0};
        ch_store_pool pool = {0};
        make_old(path, version);
        kit_good(ch_store_open(path, CH_STORE_OPEN, &store, &err), &err);
        kit_verify(store);
        const ch_store_sheet *sheets = NULL;
        size_t count = 0;
        kit_good(ch_store_sheets(store, &pool, 0, &sheets, &count, &err), &err);
        assert_int_equal(count, 2);
        ch_sheet sheet, original;
        char *text = NULL, *wanted = NULL;
        size_t length = 0;
        kit_good(ch_store_sheet_load(store, 1, &sheet, &err), &err);
        kit_good(ch_sheet_write(&sheet, false, &text, &length, &err), &err);
        kit_read_sheet("demo/hill-climb-sound.yaml", &original);
        kit_good(ch_sheet_write(&original, false, &wanted, &length, &err), &err);
        assert_string_equal(text, wanted);
        const ch_store_row *rows = NULL;
        kit_good(ch_store_rows(store, &pool, 2, true, &rows, &count, &err), &err);
        assert_int_equal(count, 4);
        assert_string_equal(rows[0].reading.reading.number, "178");
        const ch_store_sheet *gone = NULL;
        kit_good(ch_store_sheets_withdrawn(store, &pool, 0, &gone, &count, &err), &err);
        assert_int_equal(count, version >= 6 ? 1 : 0);
        assert_true(count == 0 || strcmp(gone[0].withdrawn_why, "begun by mistake") == 0);
        const ch_store_run *runs = NULL;
        kit_good(ch_store_runs(store, &pool, 1, &runs, &count, &err), &err);
        assert_int_equal(count, version >= 4 ? 1 : 0);
        const ch_store_ledger *off = NULL;
        kit_good(ch_store_ledger_list(store, &pool, 2, true, &off, &count, &err), &err);
        assert_int_equal(count, 1);
        assert_string_equal(off[0].torque, "10 Nm");
        const ch_store_photo *photos = NULL;
        kit_good(ch_store_photos(store, &pool, 2, &photos, &count, &err), &err);
        assert_int_equal(count, 1);
        assert_int_equal(photos[0].ledger_id, off[0].id);
        assert_int_equal(photos[0].length, 4);
        free(text);
        free(wanted);
        ch_sheet_clear(&sheet);
        ch_sheet_clear(&original);
        ch_store_pool_clear(&pool);
        ch_store_close(store);
        char *migrated = schema_of(path);
        assert_string_equal(migrated, fresh);
        free(migrated);
        unlink(path);
    }
    free(fresh);
}

static const char *const good_steps[] = {NULL,
                                         "ALTER TABLE car ADD COLUMN colour TEXT; UPDATE car SET colour = 'red';"};
static const char *const bad_steps[] = {NULL, "ALTER TABLE car ADD COLUMN colour TEXT; UPDATE car SET nothing = 1;"};

enum { NEXT = CH_STORE_VERSION + 1 };

/* This program's schema and one step more. */
static store_schema with(const char *const steps[], const char *room[NEXT])
{
    for (int i = 0; i < CH_STORE_VERSION; i++)
        room[i] = store_schema_now.steps[i];
    room[CH_STORE_VERSION] = steps[1];
    return (store_schema){.steps = room, .version = NEXT};
}

static void a_step_is_taken_behind_a_copy(void **state)
{
    (void)state;
    const char *room[NEXT];
    const store_schema schema = with(good_steps, room);
    const char *path = kit_path("garage.db");
    ch_store *store = NULL;
    ch_err err = {0};
    make_old(path, CH_STORE_VERSION);
    assert_int_equal(store_open_with(path, CH_STORE_READ_ONLY, &schema, &store, &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "older version"));
    err = (ch_err){0};
    kit_good(store_open_with(path, CH_STORE_OPEN, &schema, &store, &err), &err);
    ch_store_close(store);
    assert_int_equal(kit_ask(path, "SELECT count(*) FROM car WHERE colour = 'red'"), 1);
    assert_int_equal(kit_ask(path, "PRAGMA user_version"), NEXT);
    char copy[64];
    snprintf(copy, sizeof copy, "garage.db.before-v%d", NEXT);
    assert_int_equal(kit_ask(kit_path(copy), "PRAGMA user_version"), CH_STORE_VERSION);
    assert_int_equal(kit_ask(kit_path(copy), "SELECT count(*) FROM entry"),
                     kit_ask(path, "SELECT count(*) FROM entry"));
    /* to this program, it is newer */
    assert_int_equal(ch_store_open(path, CH_STORE_OPEN, &store, &err), CH_E_INPUT);
}

static void a_step_that_fails_changes_nothing(void **state)
{
    (void)state;
    const char *room[NEXT];
    const store_schema schema = with(bad_steps, room);
    const char *path = kit_path("garage.db");
    ch_store *store = NULL;
    ch_err err = {0};
    make_old(path, CH_STORE_VERSION);
    assert_true(store_open_with(path, CH_STORE_OPEN, &schema, &store, &err) < 0);
    assert_int_equal(kit_ask(path, "PRAGMA user_version"), CH_STORE_VERSION);
    err = (ch_err){0};
    kit_good(ch_store_open(path, CH_STORE_OPEN, &store, &err), &err);
    kit_verify(store);
    ch_store_close(store);
}

static const char *const loose_steps[] = {NULL,
                                          "ALTER TABLE car ADD COLUMN colour TEXT; PRAGMA defer_foreign_keys = ON;"
                                          "UPDATE event SET engine_id = 55;"};

static void a_step_behind_which_references_lead_nowhere_changes_nothing(void **state)
{
    (void)state;
    const char *room[NEXT];
    const store_schema schema = with(loose_steps, room);
    const char *path = kit_path("garage.db");
    ch_store *store = NULL;
    ch_err err = {0};
    make_old(path, CH_STORE_VERSION);
    assert_int_equal(store_open_with(path, CH_STORE_OPEN, &schema, &store, &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "references lead nowhere"));
    assert_int_equal(kit_ask(path, "PRAGMA user_version"), CH_STORE_VERSION);
    assert_int_equal(kit_ask(path, "SELECT count(*) FROM event WHERE engine_id = 55"), 0);
    err = (ch_err){0};
    kit_good(ch_store_open(path, CH_STORE_OPEN, &store, &err), &err);
    kit_verify(store);
    ch_store_close(store);
}

/* Beside one connection a program opens further ones, which do not read the whole file again. */
static void a_further_connection_sees_what_the_first_has_stored(void **state)
{
    (void)state;
    ch_store *first = kit_open(), *further = NULL;
    const int64_t sheet = kit_sheet(first);
    ch_store_row row = kit_row(1, "178 psi");
    ch_err err = {0};
    kit_good(ch_store_open(kit_path("garage.db"), CH_STORE_ANOTHER, &further, &err), &err);
    kit_good(ch_store_row_add(first, sheet, &row, NULL, KIT_NOW, NULL, &err), &err);
    assert_int_equal(kit_count(further, sheet), 1);
    ch_store_close(first);
    kit_good(ch_store_row_add(further, sheet, &row, NULL, KIT_NOW, NULL, &err), &err);
    ch_store_close(further);
}

static void a_change_that_was_cut_short_is_undone_where_the_file_may_be_written(void **state)
{
    (void)state;
    const char *path = kit_path("garage.db");
    ch_store *store = NULL;
    ch_err err = {0};
    make_old(path, CH_STORE_VERSION);
    const long long settings = kit_ask(path, "SELECT count(*) FROM setting");
    kit_cut_short(path);
    assert_int_equal(ch_store_open(path, CH_STORE_READ_ONLY, &store, &err), CH_E_IO);
    assert_non_null(strstr(err.what, "a change of it was cut short"));
    assert_non_null(strstr(err.right, "open it for writing once"));
    err = (ch_err){0};
    kit_good(ch_store_open(path, CH_STORE_OPEN, &store, &err), &err);
    kit_verify(store);
    ch_store_close(store);
    assert_int_equal(kit_ask(path, "SELECT count(*) FROM setting"), settings);
}

/* Refused in every mode, with a line that holds these words; the file has the same bytes, and nothing lies beside it. */
static void expect_refused(const char *path, const char *words)
{
    size_t before_length = 0, after_length = 0;
    char *before = kit_bytes(path, &before_length), wal[600];
    snprintf(wal, sizeof wal, "%s-wal", path);
    for (int mode = CH_STORE_OPEN; mode <= CH_STORE_READ_ONLY; mode++) {
        ch_store *store = NULL;
        ch_err err = {0};
        assert_int_equal(ch_store_open(path, (ch_store_mode)mode, &store, &err), CH_E_INPUT);
        assert_null(store);
        char line[1024];
        ch_err_format(&err, line, sizeof line);
        if (strstr(line, words) == NULL)
            fail_msg("\"%s\" lacks \"%s\"", line, words);
    }
    char *after = kit_bytes(path, &after_length);
    assert_int_equal(before_length, after_length);
    assert_memory_equal(before, after, before_length);
    struct stat log;
    assert_true(stat(wal, &log) != 0 || log.st_size == 0);
    free(before);
    free(after);
}

static void a_newer_version_is_refused_and_not_touched(void **state)
{
    (void)state;
    ch_store_close(kit_open());
    run_sql(kit_path("garage.db"), "PRAGMA user_version = 99; PRAGMA wal_checkpoint(TRUNCATE)");
    expect_refused(kit_path("garage.db"), "is of version 99, and this program knows versions up to");
}

/* A header that a fuzzer wrote: the version is a signed number there. */
static void a_version_that_there_never_was_is_refused_and_not_touched(void **state)
{
    (void)state;
    ch_store_close(kit_open());
    run_sql(kit_path("garage.db"), "PRAGMA user_version = -1443; PRAGMA wal_checkpoint(TRUNCATE)");
    expect_refused(kit_path("garage.db"), "is of version -1443, which there never was");
    run_sql(kit_path("garage.db"), "PRAGMA user_version = 0; PRAGMA wal_checkpoint(TRUNCATE)");
    expect_refused(kit_path("garage.db"), "is of version 0, which there never was");
}

static void what_is_no_garage_file_is_refused_and_not_touched(void **state)
{
    (void)state;
    static char noise[5000];
    for (size_t i = 0; i < sizeof noise; i++)
        noise[i] = (char)(i * 31 + 7);
    put_bytes(kit_path("noise"), noise, sizeof noise);
    expect_refused(kit_path("noise"), "is no garage file");
    put_bytes(kit_path("short"), "SQLite format 3", 15);
    expect_refused(kit_path("short"), "is no garage file");
    run_sql(kit_path("other"), "CREATE TABLE other (x)");
    expect_refused(kit_path("other"), "a file of another program");
    run_sql(kit_path("numbered"), "PRAGMA user_version = 3"); /* a version, and nobody's */
    expect_refused(kit_path("numbered"), "a file of another program");
    ch_store *store = NULL;
    put_bytes(kit_path("empty"), "", 0);
    assert_int_equal(ch_store_open(kit_path("empty"), CH_STORE_OPEN, &store, NULL), CH_E_INPUT);
    assert_int_equal(ch_store_open(kit_path("missing"), CH_STORE_OPEN, &store, NULL), CH_E_INPUT);
    assert_int_equal(ch_store_open(kit_path(""), CH_STORE_OPEN, &store, NULL), CH_E_INPUT);
    ch_err reason = {0};
    assert_int_equal(ch_store_open(kit_path("noise/garage.db"), CH_STORE_CREATE, &store, &reason), CH_E_INPUT);
    assert_non_null(strstr(reason.what, strerror(ENOTDIR)));
    assert_int_equal(access(kit_path("missing"), F_OK), -1);
    ch_err err = {0};
    kit_good(ch_store_open(kit_path("empty"), CH_STORE_CREATE, &store, &err),
             &err); /* as a program killed at birth leaves it */
    ch_store_close(store);
}

static void a_damaged_file_is_refused_and_not_touched(void **state)
{
    (void)state;
    const char *path = kit_path("garage.db");
    make_old(path, CH_STORE_VERSION);
    size_t length = 0;
    char *whole = kit_bytes(path, &length);
    const char *words = "the latest backup";
    put_bytes(path, whole, length / 2); /* cut */
    expect_refused(path, words);
    put_bytes(path, whole, length - 4096);
    expect_refused(path, words);
    for (size_t page = 1; page < length / 4096; page++) { /* a page of the disk gone bad */
        char *spoilt = malloc(length);
        memcpy(spoilt, whole, length);
        memset(spoilt + page * 4096, 0xa5, 4096);
        put_bytes(path, spoilt, length);
        free(spoilt);
        expect_refused(path, words);
    }
    free(whole);
}

static void damage_met_later_stops_all_writing(void **state)
{
    (void)state;
    const char *path = kit_path("garage.db");
    make_old(path, CH_STORE_VERSION);
    size_t length = 0, after_length = 0;
    char *bytes = kit_bytes(path, &length);
    memset(bytes + 4096, 0xa5, length - 4096);
    put_bytes(path, bytes, length);
    ch_store *store = NULL;
    ch_err err = {0};
    /* without the check of the whole file, only what is read is seen */
    ch_status rc = ch_store_open(path, CH_STORE_ANOTHER, &store, &err);
    if (rc >= 0) {
        ch_store_pool pool = {0};
        const ch_store_car *cars = NULL;
        size_t count = 0;
        assert_int_equal(ch_store_cars(store, &pool, &cars, &count, &err), CH_E_INPUT);
        assert_int_equal(ch_store_setting_set(store, "a", "b", KIT_NOW, &err), CH_E_INPUT);
        ch_store_pool_clear(&pool);
        ch_store_close(store);
    }
    char *after = kit_bytes(path, &after_length);
    assert_int_equal(length, after_length);
    assert_memory_equal(bytes, after, length);
    free(bytes);
    free(after);
}

static void a_copy_is_whole_and_takes_the_place_of_an_older_one(void **state)
{
    (void)state;
    ch_store *store = kit_open(), *copy = NULL;
    const int64_t sheet = kit_sheet(store);
    ch_store_row row = kit_row(1, "178 psi");
    ch_err err = {0};
    put_bytes(kit_path("copy.db"), "an older copy", 13);
    kit_good(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, NULL, &err), &err); /* still in the log */
    kit_good(ch_store_backup(store, kit_path("copy.db"), &err), &err);
    assert_int_equal(ch_store_backup(store, kit_path("garage.db"), NULL), CH_E_INPUT);
    assert_int_equal(ch_store_backup(store, kit_path(""), NULL), CH_E_INPUT);
    assert_int_equal(ch_store_backup(store, kit_path("no/such/folder"), NULL), CH_E_IO);
    ch_store_close(store);
    kit_good(ch_store_open(kit_path("copy.db"), CH_STORE_OPEN, &copy, &err), &err);
    assert_int_equal(kit_count(copy, sheet), 1);
    kit_verify(copy);
    ch_store_close(copy);
}

static void a_damaged_file_gives_no_copy(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    kit_sheet(store);
    ch_store_close(store);
    size_t length = 0;
    char *bytes = kit_bytes(kit_path("garage.db"), &length);
    store = kit_open(); /* sound when opened */
    memset(bytes + 8 * 4096, 0xa5, 4096);
    FILE *file = fopen(kit_path("garage.db"), "r+b"); /* and damaged under its hands */
    fseek(file, 8 * 4096, SEEK_SET);
    assert_int_equal(fwrite(bytes + 8 * 4096, 1, 4096, file), 4096);
    fclose(file);
    put_bytes(kit_path("copy.db"), "an older copy", 13);
    ch_err err = {0};
    assert_true(ch_store_backup(store, kit_path("copy.db"), &err) < 0);
    ch_store_close(store);
    free(bytes);
    char *old = kit_bytes(kit_path("copy.db"), &length);
    assert_string_equal(old, "an older copy");
    free(old);
}

static void verify_names_what_is_wrong(void **state)
{
    (void)state;
    static const struct {
        const char *sql, *words;
    } wrongs[] = {
        {"DROP TRIGGER entry_is_raw; UPDATE entry SET cylinder = 9 WHERE id = 3",
         "cylinder that the engine does not have"},
        {"DROP TRIGGER entry_is_raw; UPDATE entry SET first_id = 1 WHERE id = 10", "another sheet, kind or chain"},
        {"DROP TRIGGER entry_quantity_is_raw; UPDATE entry_quantity SET text = '17' WHERE entry_id = 2",
         "not that of its text: row 2"},
        {"DROP TRIGGER entry_quantity_is_kept; DELETE FROM entry_quantity WHERE entry_id = 4",
         "without its value: row 4"},
        {"PRAGMA foreign_keys = OFF; UPDATE event SET engine_id = 55", "leads nowhere"},
        {"UPDATE field SET text = 'three' WHERE name = 'engine.layout' AND sheet_id = 1", "sheet 1"},
        {"UPDATE photo SET ledger_id = 2 WHERE id = 1", "another sheet or work: photo 1"},
        {"UPDATE work SET done_s = 5", "before it was begun: work 2"},
        {"UPDATE torque SET value = 1", "not that of its text: torque 1"},
        {"DROP TRIGGER ledger_is_kept", "schema"},
        {"UPDATE event SET day = '2025-02-30'", "a day that is none: event 1 day"},
        {"UPDATE event SET day = ' 2025-05-01'", "a day that is none: event 1 day"},
        {"UPDATE engine SET begun_day = 'in spring'", "a day that is none: engine 1 begun_day"},
        {"UPDATE engine SET ended_day = '2025-3-02'", "a day that is none: engine 1 ended_day"},
        {"UPDATE part SET fitted_day = ''", "a day that is none: part 1 fitted_day"},
        {"UPDATE part SET removed_day = '2026-05'", "a day that is none: part 1 removed_day"},
        {"UPDATE part SET made_day = '2024'", "a day that is none: part 1 made_day"},
        {"UPDATE part SET until_day = '31.12.2030'", "a day that is none: part 1 until_day"},
        {"DROP TRIGGER run_is_raw; UPDATE run SET day = '?'", "a day that is none: run 1 day"},
        {"UPDATE spent SET day = '2027-01-15T10:00'", "a day that is none: spent 1 day"},
        {"DROP TRIGGER run_slip_is_kept; DELETE FROM run_slip WHERE place = 0", "slips or gears are missing"},
        {"UPDATE run_cause SET chance_1 = 0.5 WHERE cause = 'worn'", "do not add up to 1"},
        {"INSERT INTO entry (sheet_id, kind, first_id, replaces_id, cylinder, entered_s)"
         " VALUES (2, 'compression', 9, 4, 2, 1800000009)",
         "a chain of corrections has not one end: row 9"},
        {"INSERT INTO entry (sheet_id, kind, first_id, replaces_id, cylinder, entered_s)"
         " VALUES (2, 'compression', 11, 12, 2, 1800000009)",
         "a deleted row was corrected afterwards: row 13"},
        {"DROP TRIGGER run_is_raw; UPDATE run SET picture = zeroblob(17)", "a picture that is no row of points: run 1"},
        {"INSERT INTO car (id, name, changed_s) VALUES (2, 'another', 1);"
         "CREATE TEMP TABLE again AS SELECT * FROM run; UPDATE again SET id = 2, car_id = 2, replaces_id = 1, client = "
         "NULL;"
         "INSERT INTO run SELECT * FROM again",
         "belongs to another car or log"},
        {"INSERT INTO car (id, name, changed_s) VALUES (2, 'another', 1); UPDATE work SET car_id = 2, proof_run_id = 1 "
         "WHERE id = 2",
         "proven by a run of another car: work 2"},
        {"INSERT INTO car (id, name, changed_s) VALUES (2, 'another', 1); UPDATE work SET car_id = 2, proof_sheet_id = "
         "1 WHERE id = 2",
         "proven by a sheet of another car: work 2"},
        {"INSERT INTO car (id, name, changed_s) VALUES (2, 'another', 1); UPDATE event SET car_id = 2",
         "an event of an engine of another car: event 1"},
        {"DROP TRIGGER entry_quantity_is_raw; UPDATE entry_quantity SET unit = 'cubit' WHERE entry_id = 2",
         "not that of its text: row 2"},
        {"DROP TRIGGER entry_quantity_is_raw; UPDATE entry_quantity SET text = 'x' WHERE entry_id = 2",
         "not that of its text: row 2"},
        {"CREATE TRIGGER stranger AFTER INSERT ON car BEGIN SELECT 1; END", "schema"},
    };
    for (size_t i = 0; i < sizeof wrongs / sizeof wrongs[0]; i++) {
        ch_store *store = NULL;
        ch_store_pool pool = {0};
        const ch_store_finding *findings = NULL;
        size_t count = 0;
        bool found = false;
        ch_err err = {0};
        const char *path = kit_path("wrong.db");
        make_old(path, CH_STORE_VERSION);
        run_sql(path, wrongs[i].sql);
        kit_good(ch_store_open(path, CH_STORE_READ_ONLY, &store, &err), &err);
        kit_good(ch_store_verify(store, &pool, &findings, &count, &err), &err);
        for (size_t k = 0; k < count; k++)
            found = found || strstr(findings[k].what, wrongs[i].words) != NULL;
        if (!found)
            fail_msg("not found: %s (%zu findings, first: %s)", wrongs[i].words, count,
                     count > 0 ? findings[0].what : "");
        ch_store_pool_clear(&pool);
        ch_store_close(store);
        unlink(path);
    }
}

static void verify_stops_at_a_hundred_findings(void **state)
{
    (void)state;
    ch_store *store = NULL;
    ch_store_pool pool = {0};
    const ch_store_finding *findings = NULL;
    size_t count = 0;
    ch_err err = {0};
    make_old(kit_path("wrong.db"), CH_STORE_VERSION);
    run_sql(kit_path("wrong.db"), "WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 150)"
                                  " INSERT INTO work (car_id, kind, name, title, begun_s, done_s, closed_s, changed_s)"
                                  " SELECT 1, 'job', 'head', 'Head', 2, 1, 1, 1 FROM n");
    kit_good(ch_store_open(kit_path("wrong.db"), CH_STORE_READ_ONLY, &store, &err), &err);
    kit_good(ch_store_verify(store, &pool, &findings, &count, &err), &err);
    assert_int_equal(count, 100);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
}

/* Opened and written to as a user who may read and not write: what becomes of the change. */
static ch_status change_as_another(ch_store_mode mode, bool *read_only, ch_err *err)
{
    ch_store *store = NULL;
    ch_store_pool pool = {0};
    const char *text = NULL;
    const bool root = geteuid() == 0;
    if (root)
        assert_int_equal(seteuid(65534), 0);
    ch_status rc = ch_store_open(kit_path("garage.db"), mode, &store, err);
    const ch_status opened = rc;
    *read_only = rc >= 0 && ch_store_read_only(store);
    if (rc >= 0)
        rc = ch_store_setting_get(store, &pool, "a", &text, err);
    const bool whole = rc >= 0 && text != NULL && strcmp(text, "was") == 0;
    if (rc >= 0)
        rc = ch_store_setting_set(store, "a", "b", KIT_NOW, err);
    if (root)
        assert_int_equal(seteuid(0), 0);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
    assert_true(opened >= 0 && whole);
    return rc;
}

static void a_file_that_may_not_be_written_is_read_and_refuses_changes(void **state)
{
    (void)state;
    ch_err err = {0};
    bool read_only = true;
    ch_store *store = kit_open();
    kit_good(ch_store_setting_set(store, "a", "was", KIT_NOW, &err), &err);
    assert_false(ch_store_read_only(store));
    ch_store_close(store);
    static const struct {
        mode_t file, folder;
    } rights[] = {{0444, 0777}, {0444, 0555}, {0666, 0555}};
    for (size_t i = 0; i < sizeof rights / sizeof rights[0]; i++)
        for (int mode = CH_STORE_OPEN; mode <= CH_STORE_ANOTHER; mode++) {
            assert_int_equal(chmod(kit_path("garage.db"), rights[i].file), 0);
            assert_int_equal(chmod(kit_path(""), rights[i].folder), 0);
            err = (ch_err){0};
            assert_int_equal(change_as_another((ch_store_mode)mode, &read_only, &err), CH_E_IO);
            assert_true(read_only);
            assert_non_null(strstr(err.what, "may not be written"));
            assert_non_null(strstr(err.right, "copy it into a folder that may be written"));
        }
    assert_int_equal(chmod(kit_path(""), 0700), 0);
    kit_good(ch_store_open(kit_path("garage.db"), CH_STORE_READ_ONLY, &store, &err), &err);
    assert_true(ch_store_read_only(store));
    ch_store_close(store);
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, kit_begin, kit_end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROMISE(every_older_version_opens_and_becomes_as_a_fresh_one),
        PROMISE(a_step_is_taken_behind_a_copy),
        PROMISE(a_step_that_fails_changes_nothing),
        PROMISE(a_step_behind_which_references_lead_nowhere_changes_nothing),
        PROMISE(a_further_connection_sees_what_the_first_has_stored),
        PROMISE(a_change_that_was_cut_short_is_undone_where_the_file_may_be_written),
        PROMISE(a_newer_version_is_refused_and_not_touched),
        PROMISE(a_version_that_there_never_was_is_refused_and_not_touched),
        PROMISE(what_is_no_garage_file_is_refused_and_not_touched),
        PROMISE(a_damaged_file_is_refused_and_not_touched),
        PROMISE(damage_met_later_stops_all_writing),
        PROMISE(a_copy_is_whole_and_takes_the_place_of_an_older_one),
        PROMISE(a_damaged_file_gives_no_copy),
        PROMISE(verify_names_what_is_wrong),
        PROMISE(verify_stops_at_a_hundred_findings),
        PROMISE(a_file_that_may_not_be_written_is_read_and_refuses_changes),
    };
    return cmocka_run_group_tests_name("store_file", tests, NULL, NULL);
}
