/*
 * What is read out of a garage file is whole, or refused for want of memory with a line: tables for people, whole sheets, what verify finds, archives old and new. Each statement,
 * step, value that comes out and allocation fails in turn.
 */
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

#include "../unit/fail_alloc.h"
#include "deeds.h"
#include "fail_call.h"
#include "fail_system.h"
#include "kit.h"

static ch_store *store;
static int64_t sheet; /* one of every kind of row, with notes */

static void add(ch_store_kind kind)
{
    static char formula[] = "=1+1", quoted[] = "warm, \"idle\"", what[] = "oily_plug", little[] = "a little",
                guess[] = "a guess";
    ch_store_row row;
    ch_err err = {0};
    ch_store_row_init(&row, kind);
    switch (kind) {
    case CH_STORE_DRY:
    case CH_STORE_WET:
        row.reading.cylinder = 2;
        row.reading.reading = kit_quantity("12,3 bar", CH_DIM_PRESSURE);
        row.reading.note = formula;
        break;
    case CH_STORE_LEAKDOWN:
        row.leakdown.cylinder = 3;
        row.leakdown.loss = kit_quantity("8 %", CH_DIM_RATIO);
        row.leakdown.note = quoted;
        break;
    case CH_STORE_OBSERVED:
        row.observed.what = what;
        row.observed.note = little;
        break;
    case CH_STORE_LEAKS:
        row.leaks.cylinder = 1;
        row.leaks.rings = kit_quantity("0.6 mm2", CH_DIM_AREA);
        row.leaks.note = guess;
        break;
    case CH_STORE_KINDS: return;
    }
    kit_good(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, NULL, &err), &err);
}

static int begin(void **state)
{
    if (kit_begin(state) != 0)
        return -1;
    store = kit_open();
    sheet = kit_sheet(store);
    for (int kind = 0; kind < CH_STORE_KINDS; kind++)
        add((ch_store_kind)kind);
    return 0;
}

static int end(void **state)
{
    ch_store_close(store);
    return kit_end(state);
}

/* Each of the first calls of a kind fails, then fewer and fewer, until a fault is no longer met: then it must have succeeded. */
static void whole_or_refused(ch_status (*read)(ch_err *err), const char *name)
{
    enum { MEMORY = FAIL_CALL_KINDS };
    const long dense = fail_alloc_most(10);
    for (int kind = 0; kind <= MEMORY; kind++) {
        long refused = 0;
        bool met = true;
        for (long n = 1; met; n += 1 + n / dense) {
            ch_err err = {0};
            if (kind == MEMORY)
                fail_alloc_at(n);
            else
                fail_call_at((fail_call_kind)kind, n);
            const ch_status rc = read(&err);
            met = kind == MEMORY ? fail_alloc_stop() : fail_call_stop();
            if (met ? rc != CH_E_MEMORY || err.status != rc || err.what[0] == '\0' : rc < 0)
                fail_msg("%s, kind %d, %ld: %d %s", name, kind, n, (int)rc, err.what);
            refused += met;
        }
        if (refused == 0 && kind != FAIL_BIND)
            fail_msg("%s, kind %d: not one refusal", name, kind);
    }
}

static const char readings[] = "sheet,date,list,cylinder,reading,first_stroke,oil,supply,loss,orifice,note,as_typed\r\n"
                               ",,,,Pa,Pa,m3,Pa,1,m,,\r\n"
                               "1,2027-01-16,compression,2,1230000,,,,,,'=1+1,\"reading 12,3 bar\"\r\n"
                               "1,2027-01-16,wet,2,1230000,,,,,,'=1+1,\"reading 12,3 bar\"\r\n"
                               "1,2027-01-16,leakdown,3,,,,,0.08,,\"warm, \"\"idle\"\"\",loss 8 %\r\n";
static const char history[] =
    "date,what,car,engine,name,running,distance,starts,sessions,sheet,note\r\n,,,,,h,km,1,1,,\r\n"
    "2027-01-16,test,,,,,,,,1,\r\n";

static ch_status read_csv(ch_status (*write)(ch_store *, ch_text *, ch_err *), const char *wanted, ch_err *err)
{
    ch_text csv;
    ch_text_init(&csv, 10000);
    const ch_status rc = write(store, &csv, err);
    if (rc >= 0)
        assert_string_equal(ch_text_string(&csv), wanted);
    ch_text_clear(&csv);
    return rc;
}

static ch_status read_readings(ch_err *err)
{
    return read_csv(ch_store_readings_csv, readings, err);
}

static ch_status read_history(ch_err *err)
{
    return read_csv(ch_store_history_csv, history, err);
}

static void tables_for_people_are_whole_or_refused(void **state)
{
    (void)state;
    whole_or_refused(read_readings, "readings");
    whole_or_refused(read_history, "history");
}

static ch_status read_sheet(ch_err *err)
{
    ch_sheet loaded;
    const ch_status rc = ch_store_sheet_load(store, sheet, &loaded, err);
    if (rc < 0)
        return rc;
    assert_int_equal(loaded.compression_count + loaded.wet_count + loaded.leakdown_count, 3);
    assert_string_equal(loaded.observed[0].what, "oily_plug");
    assert_string_equal(loaded.observed[0].note, "a little");
    assert_string_equal(loaded.leaks[0].note, "a guess");
    ch_sheet_clear(&loaded);
    return rc;
}

static void a_sheet_with_every_kind_of_row_is_whole_or_refused(void **state)
{
    (void)state;
    whole_or_refused(read_sheet, "sheet");
}

static ch_status read_findings(ch_err *err)
{
    ch_store_pool pool = {0};
    const ch_store_finding *findings = NULL;
    size_t count = 0;
    const ch_status rc = ch_store_verify(store, &pool, &findings, &count, err);
    if (rc >= 0) {
        assert_int_equal(count, 2);
        assert_non_null(strstr(findings[0].what, "work ended before it was begun: work 1"));
        assert_non_null(strstr(findings[1].what, "a value is not that of its text: row 1"));
    }
    ch_store_pool_clear(&pool);
    return rc;
}

static void what_verify_finds_is_told_whole_or_refused(void **state)
{
    (void)state;
    (void)kit_ask(kit_path("garage.db"), "INSERT INTO car (id, name, changed_s) VALUES (9, 'spider', 1)");
    (void)kit_ask(kit_path("garage.db"), "INSERT INTO work (car_id, kind, name, title, begun_s, done_s, changed_s)"
                                         " VALUES (9, 'job', 'head', 'Head', 2, 1, 1)");
    char *sql = NULL;
    sqlite3 *db = NULL;
    sqlite3_stmt *q = NULL;
    assert_int_equal(sqlite3_open_v2(kit_path("garage.db"), &db, SQLITE_OPEN_READWRITE, NULL), SQLITE_OK);
    assert_int_equal(
        sqlite3_prepare_v2(db, "SELECT sql FROM sqlite_schema WHERE name = 'entry_quantity_is_raw'", -1, &q, NULL),
        SQLITE_OK);
    assert_int_equal(sqlite3_step(q), SQLITE_ROW);
    sql = sqlite3_mprintf(
        "DROP TRIGGER entry_quantity_is_raw; UPDATE entry_quantity SET value = 1 WHERE entry_id = 1; %s",
        sqlite3_column_text(q, 0));
    sqlite3_finalize(q);
    assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
    sqlite3_free(sql);
    sqlite3_close(db);
    whole_or_refused(read_findings, "findings");
}

/* A sheet of which nothing is known yet, and one without a row, are no sheets that a file could hold: the tables have them. */
static void a_sheet_without_rows_has_no_file_of_its_own_in_an_archive(void **state)
{
    (void)state;
    deed_archive archive = {0};
    ch_err err = {0};
    kit_good(ch_store_sheet_begin(store, 0, 0, (ch_date){2027, 1, 17}, NULL, KIT_NOW, NULL, &err), &err);
    assert_int_equal(kit_sheet(store), 3);
    kit_good(ch_store_archive_write(store, deeds_archive_take, &archive, NULL, &err), &err);
    for (int id = 1; id <= 3; id++) {
        char name[64];
        bool found = false;
        const size_t length = (size_t)snprintf(name, sizeof name, "data/sheets/sheet-%04d.yaml", id);
        for (size_t at = 0; at + length <= archive.length && !found; at++) /* names are not packed */
            found = memcmp(archive.bytes + at, name, length) == 0;
        assert_true(found == (id == 1));
    }
    const ch_store_source source = {
        .name = "a.zip", .length = (int64_t)archive.length, .read = deeds_archive_give, .context = &archive};
    kit_good(ch_store_archive_read(&source, kit_path("to.db"), NULL, &err), &err);
    assert_true(deeds_digest(kit_path("to.db")) == deeds_digest(kit_path("garage.db")));
    free(archive.bytes);
}

static void an_archive_of_an_older_version_is_brought_up_to_date_or_refused(void **state)
{
    (void)state;
    char name[512];
    deed_archive archive = {0};
    snprintf(name, sizeof name, "%s/tests/data/archive/garage-v3.zip", getenv("CROSSHATCH_SOURCE"));
    archive.bytes = kit_bytes(name, &archive.length);
    assert_non_null(archive.bytes);
    const ch_store_source source = {
        .name = "v3.zip", .length = (int64_t)archive.length, .read = deeds_archive_give, .context = &archive};
    long n = 1;
    for (;; n++) {
        ch_err err = {0};
        ch_store_archive_told told = {0};
        fail_system_at(FAIL_SYSTEM_EXEC, n, SQLITE_NOMEM, false);
        const ch_status rc = ch_store_archive_read(&source, NULL, &told, &err);
        if (!fail_system_stop()) {
            kit_good(rc, &err);
            assert_int_equal(told.version, 3);
            break;
        }
        assert_int_equal(rc, CH_E_MEMORY);
        assert_int_equal(told.version, 0);
    }
    assert_true(n > CH_STORE_VERSION);
    free(archive.bytes);
}

static void a_whole_sheet_sent_twice_is_stored_once(void **state)
{
    (void)state;
    ch_sheet whole;
    ch_stored first = {0}, again = {0};
    ch_err err = {0};
    kit_good(deeds_demo(&whole, &err), &err);
    kit_good(ch_store_sheet_save(store, &whole, 0, "file-1", KIT_NOW, &first, &err), &err);
    kit_good(ch_store_sheet_save(store, &whole, 0, "file-1", KIT_NOW, &again, &err), &err);
    assert_true(again.again && !first.again && first.id == again.id);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM sheet"), 2);
    ch_sheet_clear(&whole);
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROMISE(tables_for_people_are_whole_or_refused),
        PROMISE(a_sheet_with_every_kind_of_row_is_whole_or_refused),
        PROMISE(what_verify_finds_is_told_whole_or_refused),
        PROMISE(a_sheet_without_rows_has_no_file_of_its_own_in_an_archive),
        PROMISE(an_archive_of_an_older_version_is_brought_up_to_date_or_refused),
        PROMISE(a_whole_sheet_sent_twice_is_stored_once),
    };
    return cmocka_run_group_tests_name("store_reading", tests, NULL, NULL);
}
