/*
 * A bag as it is written: what stands in its lists, what becomes of tables that no schema of ours has (a garage file may come from anyone), and whatever fails meanwhile.
 * That a garage comes back out of it the same is tested in test_archive.c and tests/cli/archive.py.
 */
#include <errno.h>
#include <limits.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

#include "../../src/store/bag.h"
#include "../unit/fail_alloc.h"
#include "deeds.h"
#include "fail_call.h"
#include "fail_system.h"
#include "kit.h"

/* ---- a bag of two files ---- */

enum { STORED = 100000 }; /* bytes that no compression makes smaller: they pass at once */

typedef struct taker {
    deed_archive archive;
    long left; /* pieces that it still takes; below 0: it was asked again behind a failure */
} taker;

static ch_status take(const void *bytes, size_t length, void *context, ch_err *err)
{
    taker *t = context;
    assert_true(t->left > 0);
    assert_true(length > 0);
    return --t->left > 0 ? deeds_archive_take(bytes, length, &t->archive, err)
                         : ch_fail(err, CH_E_LIMIT, "a larger one", "the stick is full");
}

static unsigned char stored[STORED];

static ch_status write_bag(taker *t, ch_err *err)
{
    bag b;
    t->archive.length = 0;
    ch_status rc = bag_open(&b, take, t, err);
    if (rc >= 0)
        rc = bag_begin(&b, BAG_DATA "photos/stored.png", STORED, err);
    for (size_t at = 0; rc >= 0 && at < STORED; at += STORED / 4)
        rc = bag_put(stored + at, STORED / 4, &b, err);
    if (rc >= 0)
        rc = bag_end(&b, err);
    if (rc >= 0)
        rc = bag_file(&b, BAG_DATA "abc.txt", "abc", 3, err);
    if (rc >= 0)
        rc = bag_finish(&b, CH_STORE_VERSION, err);
    bag_clear(&b);
    return rc;
}

static int begin(void **state)
{
    uint64_t x = 88172645463325252u; /* xorshift64: Marsaglia, Xorshift RNGs, J. Stat. Softw. 8(14), 2003 */
    for (size_t i = 0; i < STORED; i++) {
        x ^= x << 13;
        x ^= x >> 7;
        x ^= x << 17;
        stored[i] = (unsigned char)(x >> 56);
    }
    return kit_begin(state);
}

/* Source: FIPS 180-4's examples of SHA-256 ("abc"), and NIST CAVP, SHA256ShortMsg.rsp, Len = 0. */
static void the_list_holds_the_digests_of_nothing_and_of_abc(void **state)
{
    (void)state;
    bag b;
    ch_err err = {0};
    kit_good(bag_open(&b, NULL, NULL, &err), &err);
    kit_good(bag_file(&b, BAG_DATA "nothing", "", 0, &err), &err);
    kit_good(bag_file(&b, BAG_DATA "abc", "abc", 3, &err), &err);
    kit_good(bag_file(&b, "beside.txt", "abc", 3, &err), &err);
    assert_string_equal(ch_text_string(&b.manifest),
                        "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855  data/nothing\n"
                        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad  data/abc\n");
    assert_string_equal(ch_text_string(&b.tags),
                        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad  beside.txt\n");
    assert_int_equal(b.files, 2);
    assert_int_equal(b.bytes, 6);
    bag_clear(&b);
}

static void what_the_one_who_takes_it_says_is_told_at_whatever_piece(void **state)
{
    (void)state;
    taker t = {.left = LONG_MAX};
    ch_err err = {0};
    kit_good(write_bag(&t, &err), &err);
    const long pieces = LONG_MAX - t.left;
    assert_true(pieces > 10);
    for (long n = 1; n <= pieces; n++) {
        err = (ch_err){0};
        t.left = n;
        assert_int_equal(write_bag(&t, &err), CH_E_LIMIT);
        assert_int_equal(t.left, 0);
        assert_string_equal(err.what, "the stick is full");
    }
    free(t.archive.bytes);
}

static void whatever_a_library_refuses_the_bag_is_refused(void **state)
{
    (void)state;
    static const struct {
        fail_system_kind kind;
        int error;
        ch_status status;
        const char *words;
    } cases[] = {
        {FAIL_SYSTEM_NEW, 0, CH_E_MEMORY, "no memory for the archive"},
        {FAIL_SYSTEM_DIGEST, -25, CH_E_MEMORY, "digest"},
        {FAIL_SYSTEM_ARCHIVE, ENOMEM, CH_E_MEMORY, "no memory to write the archive"},
        {FAIL_SYSTEM_ARCHIVE, EIO, CH_E_IO, "the archive cannot be written"},
        {FAIL_SYSTEM_ARCHIVE_SAYS, ENOMEM, CH_E_MEMORY, "no memory to write the archive"},
        {FAIL_SYSTEM_ARCHIVE_SAYS, EIO, CH_E_IO, ": the archive says why"},
    };
    taker t = {.left = LONG_MAX};
    ch_err err = {0};
    kit_good(write_bag(&t, &err), &err);
    const size_t length = t.archive.length;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        long refused = 0, met_behind = 0;
        bool met = true;
        for (long n = 1; met; n++) {
            err = (ch_err){0};
            fail_system_at(cases[i].kind, n, cases[i].error, false);
            const ch_status rc = write_bag(&t, &err);
            met = fail_system_stop();
            if (rc >= 0) {
                assert_int_equal(t.archive.length, length);
                met_behind += met;
                continue;
            }
            assert_int_equal(rc, cases[i].status);
            if (strstr(err.what, cases[i].words) == NULL)
                fail_msg("%s %ld: %s", fail_system_names[cases[i].kind], n, err.what);
            refused++;
        }
        assert_true(refused >= (cases[i].kind == FAIL_SYSTEM_NEW ? 2 : 10));
        assert_true(met_behind <= 1); /* a whole archive is closed once more before it is freed */
    }
    free(t.archive.bytes);
}

/* ---- tables ---- */

static void bytes_are_named_after_their_row_and_what_they_are(void **state)
{
    (void)state;
    static const struct {
        const char *table, *column, *mime, *name;
        int64_t id;
    } cases[] = {
        {"photo", "bytes", "image/jpeg", "photos/photo-0001.jpg", 1},
        {"photo", "bytes", "image/png", "photos/photo-0012.png", 12},
        {"photo", "bytes", "image/webp", "photos/photo-12345.webp", 12345},
        {"photo", "bytes", "image/gif", "photos/photo-0001.bin", 1},
        {"photo", "bytes", NULL, "photos/photo-0001.bin", 1},
        {"run", "picture", NULL, "files/run-0007-picture.bin", 7},
        {"run", "picture", "image/png", "files/run-0007-picture.png", 7},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char name[CH_STORE_ARCHIVE_PATH_MAX + 1];
        bag_blob_name(cases[i].table, cases[i].column, cases[i].id, cases[i].mime, name);
        assert_string_equal(name, cases[i].name);
    }
}

/* The text of data/tables/odd.csv, in static storage. */
typedef struct found {
    char text[4096];
    size_t length;
} found;

static ch_status find(const char *path, const void *bytes, size_t length, void *context, ch_err *err)
{
    found *f = context;
    (void)err;
    if (strcmp(path, BAG_TABLES "odd.csv") != 0)
        return CH_OK;
    assert_true(f->length + length < sizeof f->text);
    memcpy(f->text + f->length, bytes, length);
    f->length += length;
    f->text[f->length] = '\0';
    return CH_OK;
}

/* A garage to which somebody added tables by other means. */
static ch_store *garage_with(const char *sql)
{
    ch_store *store = kit_open();
    assert_int_equal(sqlite3_exec(store->db, sql, NULL, NULL, NULL), SQLITE_OK);
    return store;
}

static void close_garage(ch_store *store)
{
    ch_store_close(store);
    assert_int_equal(remove(kit_path("garage.db")), 0);
}

static const char *odd_csv(const char *sql)
{
    static found f;
    deed_archive archive = {0};
    ch_err err = {0};
    ch_store *store = garage_with(sql);
    kit_good(ch_store_archive_write(store, deeds_archive_take, &archive, NULL, &err), &err);
    close_garage(store);
    f = (found){.length = 0};
    const ch_store_source source = {
        .name = "a.zip", .length = (int64_t)archive.length, .read = deeds_archive_give, .context = &archive};
    kit_good(bag_walk(&source, find, &f, &err), &err);
    free(archive.bytes);
    return f.text;
}

static void a_table_that_no_version_has_is_written_as_it_is(void **state)
{
    (void)state;
    assert_string_equal(odd_csv("CREATE TABLE odd (word TEXT, way_m REAL) STRICT;"
                                "INSERT INTO odd VALUES ('b', 1), ('a', NULL), (NULL, 0), ('', -0.5)"),
                        "word,way_m\r\n,m\r\nb,1\r\na,\r\n,0\r\n\"\",-0.5\r\n");
    assert_string_equal(odd_csv("CREATE TABLE odd (b TEXT, a INTEGER, PRIMARY KEY (a, b)) STRICT, WITHOUT ROWID;"
                                "INSERT INTO odd VALUES ('x', 2), ('y', 1), ('a,b', 2), (' \"', 1)"),
                        "b,a\r\n,\r\n\" \"\"\",1\r\ny,1\r\n\"a,b\",2\r\nx,2\r\n");
}

static void a_number_of_any_size_reads_back_the_same(void **state)
{
    (void)state;
    static const struct {
        double value;
        const char *text; /* NULL = whichever */
    } cases[] = {
        {0.1, "0.1"},    {-273.15, "-273.15"}, {1.0 / 3.0, NULL},
        {1e15, NULL},    {1e16, NULL},         {123456789012345678.0, NULL},
        {1.5e300, NULL}, {4.9e-324, NULL},     {2.5e-5, "0.000025"},
        {2.5e-6, NULL},  {-7e-120, NULL},      {9007199254740993.0, NULL},
    };
    enum { CASES = sizeof cases / sizeof cases[0] };
    char sql[2048] = "CREATE TABLE odd (id INTEGER PRIMARY KEY, value REAL) STRICT;";
    for (size_t i = 0; i < CASES; i++)
        snprintf(sql + strlen(sql), sizeof sql - strlen(sql), "INSERT INTO odd (value) VALUES (%.17g);",
                 cases[i].value);
    const char *line = odd_csv(sql);
    for (int i = 0; i < 2; i++)
        line = strstr(line, "\r\n") + 2;
    for (size_t i = 0; i < CASES; i++, line = strstr(line, "\r\n") + 2) {
        const char *cell = strchr(line, ',') + 1;
        char *end = NULL;
        const double back = strtod(cell, &end);
        assert_memory_equal(end, "\r\n", 2);
        expect_close(back, cases[i].value, 0);
        if (cases[i].text != NULL)
            assert_memory_equal(cell, cases[i].text, strlen(cases[i].text));
    }
    assert_string_equal(line, "");
}

static void what_a_table_cannot_hold_is_refused_with_what_to_do(void **state)
{
    (void)state;
    char wide[2048] = "CREATE TABLE odd (c0 TEXT";
    char many[8192] = "";
    for (int i = 1; i <= BAG_COLUMNS_MAX; i++)
        snprintf(wide + strlen(wide), sizeof wide - strlen(wide), ", c%d TEXT", i);
    snprintf(wide + strlen(wide), sizeof wide - strlen(wide), ") STRICT");
    for (int i = 0; i < BAG_TABLES_MAX; i++)
        snprintf(many + strlen(many), sizeof many - strlen(many), "CREATE TABLE odd%d (a TEXT) STRICT;", i);
    const struct {
        const char *sql, *words;
        ch_status status;
    } cases[] = {
        {wide, "the table odd has more than 64 columns", CH_E_INPUT},
        {many, "there are more than 64 tables", CH_E_INPUT},
        {"CREATE TABLE odd (way_m REAL) STRICT; INSERT INTO odd VALUES (9e999)",
         "a number in the table odd is not finite", CH_E_INPUT},
        {"CREATE TABLE odd (word TEXT) STRICT; INSERT INTO odd VALUES ('a' || char(0) || 'b')",
         "a text in the table odd holds a NUL", CH_E_INPUT},
        {"CREATE TABLE odd (name TEXT, bytes BLOB) STRICT; INSERT INTO odd VALUES ('a', x'00ff')", "no such column: id",
         CH_E_IO},
        {"CREATE TABLE odd (word TEXT) STRICT; WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n LIMIT "
         "99)"
         " INSERT INTO odd SELECT printf('%9000d', i) FROM n; INSERT INTO odd VALUES (char(0))",
         "a text in the table odd holds a NUL", CH_E_INPUT}, /* behind pieces that are written already */
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        deed_archive archive = {0};
        ch_err err = {0};
        ch_store *store = garage_with(cases[i].sql);
        assert_int_equal(ch_store_archive_write(store, deeds_archive_take, &archive, NULL, &err), cases[i].status);
        if (strstr(err.what, cases[i].words) == NULL)
            fail_msg("%s: %s", cases[i].words, err.what);
        free(archive.bytes);
        close_garage(store);
    }
}

/* Some hundred of each kind: tables, columns, rows and bytes of a garage with one of each thing. */
static void whatever_call_fails_while_tables_are_written_they_are_refused(void **state)
{
    (void)state;
    ch_sheet demo;
    deed_place place = {0};
    ch_err err = {0};
    bag b;
    kit_good(deeds_demo(&demo, &err), &err);
    ch_store *store = kit_open();
    kit_good(deeds_base(store, &demo, &place, &err), &err);
    for (int kind = 0; kind <= FAIL_CALL_KINDS; kind++) {
        const bool memory = kind == FAIL_CALL_KINDS;
        long refused = 0;
        bool met = true;
        for (long n = 1; met; n++) {
            err = (ch_err){0};
            kit_good(bag_open(&b, NULL, NULL, &err), &err);
            if (memory)
                fail_alloc_at(n);
            else
                fail_call_at((fail_call_kind)kind, n);
            const ch_status rc = bag_put_tables(store, &b, &err);
            met = memory ? fail_alloc_stop() : fail_call_stop();
            bag_clear(&b);
            assert_int_equal(rc, met ? CH_E_MEMORY : CH_OK);
            if (met)
                assert_true(err.what[0] != '\0');
            refused += met;
        }
        assert_true(refused > 20);
    }
    ch_store_close(store);
    ch_sheet_clear(&demo);
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, begin, kit_end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROMISE(the_list_holds_the_digests_of_nothing_and_of_abc),
        PROMISE(what_the_one_who_takes_it_says_is_told_at_whatever_piece),
        PROMISE(whatever_a_library_refuses_the_bag_is_refused),
        PROMISE(bytes_are_named_after_their_row_and_what_they_are),
        PROMISE(a_table_that_no_version_has_is_written_as_it_is),
        PROMISE(a_number_of_any_size_reads_back_the_same),
        PROMISE(what_a_table_cannot_hold_is_refused_with_what_to_do),
        PROMISE(whatever_call_fails_while_tables_are_written_they_are_refused),
    };
    return cmocka_run_group_tests_name("store_bag", tests, NULL, NULL);
}
