/*
 * Times the garage file against SQLite itself at the same durability (WAL, synchronous=FULL, one transaction an entry): so many readings entered through the
 * store, and so many rows of the same columns inserted by plain SQL, both in files of the folder given. Then what listing and loading cost with so many sheets.
 * Prints wall seconds as JSON: a flush is waited for, not computed. Run by bench_store.py.
 */
#include <math.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "crosshatch/store_sheet.h"

enum { NOW = 1800000000 };

static char folder[512];

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

static void must(ch_status rc, const ch_err *err)
{
    if (rc >= 0)
        return;
    fprintf(stderr, "%s: %s\n", err->what, err->right);
    exit(1);
}

static void must_sql(sqlite3 *db, int code)
{
    if (code == SQLITE_OK || code == SQLITE_DONE)
        return;
    fprintf(stderr, "%s\n", sqlite3_errmsg(db));
    exit(1);
}

static char *path_of(const char *name)
{
    static char path[600];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

static void forget(const char *name)
{
    static const char *const ends[] = {"", "-wal", "-shm"};
    for (size_t i = 0; i < 3; i++) {
        char path[640];
        snprintf(path, sizeof path, "%s/%s%s", folder, name, ends[i]);
        (void)unlink(path);
    }
}

static double entries_s(int n)
{
    ch_store *store = NULL;
    ch_stored sheet, row;
    ch_err err = {0};
    forget("ours.db");
    must(ch_store_open(path_of("ours.db"), CH_STORE_CREATE, &store, &err), &err);
    must(ch_store_sheet_begin(store, 0, 0, (ch_date){2027, 1, 16}, NULL, NOW, &sheet, &err), &err);
    ch_store_row one;
    ch_store_row_init(&one, CH_STORE_DRY);
    one.reading.cylinder = 1;
    must(ch_quantity_parse("170 psi", 7, CH_DIM_PRESSURE, NULL, &one.reading.reading, &err), &err);
    const double began_s = now_s();
    for (int i = 0; i < n; i++) {
        char client[32];
        snprintf(client, sizeof client, "phone.%d", i);
        must(ch_store_row_add(store, sheet.id, &one, client, NOW + i, &row, &err), &err);
    }
    const double took_s = now_s() - began_s;
    ch_store_close(store);
    forget("ours.db");
    return took_s;
}

/* The same entry as plain SQL: an entry, and its quantity in a row of its own. */
static double plain_s(int n)
{
    sqlite3 *db = NULL;
    sqlite3_stmt *entry, *quantity;
    forget("plain.db");
    must_sql(db, sqlite3_open(path_of("plain.db"), &db));
    must_sql(db, sqlite3_exec(db,
                              "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;"
                              "CREATE TABLE entry (id INTEGER PRIMARY KEY, sheet INTEGER, kind TEXT, cylinder INTEGER, "
                              "client TEXT UNIQUE, "
                              "entered_s INTEGER) STRICT;"
                              "CREATE TABLE quantity (entry INTEGER, name TEXT, text TEXT, unit TEXT, value REAL, "
                              "PRIMARY KEY (entry, name)) "
                              "STRICT, WITHOUT ROWID;",
                              NULL, NULL, NULL));
    must_sql(db, sqlite3_prepare_v2(db, "INSERT INTO entry VALUES (NULL, 1, 'dry', 1, ?1, ?2)", -1, &entry, NULL));
    must_sql(db, sqlite3_prepare_v2(
                     db, "INSERT INTO quantity VALUES (last_insert_rowid(), 'reading', '170', 'psi', 1172108.74)", -1,
                     &quantity, NULL));
    const double began_s = now_s();
    for (int i = 0; i < n; i++) {
        char client[32];
        snprintf(client, sizeof client, "phone.%d", i);
        must_sql(db, sqlite3_exec(db, "BEGIN IMMEDIATE", NULL, NULL, NULL));
        sqlite3_bind_text(entry, 1, client, -1, SQLITE_STATIC);
        sqlite3_bind_int64(entry, 2, NOW + i);
        must_sql(db, sqlite3_step(entry));
        must_sql(db, sqlite3_step(quantity));
        sqlite3_reset(entry);
        sqlite3_reset(quantity);
        must_sql(db, sqlite3_exec(db, "COMMIT", NULL, NULL, NULL));
    }
    const double took_s = now_s() - began_s;
    sqlite3_finalize(entry);
    sqlite3_finalize(quantity);
    sqlite3_close(db);
    forget("plain.db");
    return took_s;
}

/* List all sheets and load one, with so many in the file. */
static double sheets_s(int n)
{
    ch_store *store = NULL;
    ch_stored stored = {0};
    ch_sheet sheet;
    ch_err err = {0};
    static const char text[] =
        "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4}, compression: [{cylinder: 1, reading: 170}, "
        "{cylinder: 2, reading: 171}, {cylinder: 3, reading: 168}, {cylinder: 4, reading: 172}]}";
    forget("ours.db");
    must(ch_store_open(path_of("ours.db"), CH_STORE_CREATE, &store, &err), &err);
    must(ch_sheet_parse("made.yaml", text, strlen(text), &sheet, &err), &err);
    for (int i = 0; i < n; i++)
        must(ch_store_sheet_save(store, &sheet, 0, NULL, NOW + i, &stored, &err), &err);
    ch_sheet_clear(&sheet);
    double least_s = INFINITY;
    for (int turn = 0; turn < 5; turn++) {
        ch_store_pool pool = {0};
        const ch_store_sheet *rows;
        size_t count;
        const double began_s = now_s();
        must(ch_store_sheets(store, &pool, 0, &rows, &count, &err), &err);
        must(ch_store_sheet_load(store, rows[count / 2].id, &sheet, &err), &err);
        least_s = fmin(least_s, now_s() - began_s);
        ch_sheet_clear(&sheet);
        ch_store_pool_clear(&pool);
    }
    ch_store_close(store);
    forget("ours.db");
    return least_s;
}

static void print_sizes(const char *name, const int sizes[], size_t n, double (*run)(int))
{
    printf("\"%s\": {\"sizes\": [", name);
    for (size_t i = 0; i < n; i++)
        printf("%s%d", i > 0 ? ", " : "", sizes[i]);
    printf("], \"seconds\": [");
    for (size_t i = 0; i < n; i++)
        printf("%s%.6f", i > 0 ? ", " : "", run(sizes[i]));
    printf("]}");
}

int main(int argc, char **argv)
{
    static const int entries[] = {50, 100, 200, 400, 800}, sheets[] = {25, 50, 100, 200, 400};
    if (argc != 2) {
        fprintf(stderr, "usage: time_store FOLDER\n");
        return 2;
    }
    snprintf(folder, sizeof folder, "%s", argv[1]);
    printf("{");
    print_sizes("entries", entries, 5, entries_s);
    printf(", ");
    print_sizes("plain", entries, 5, plain_s);
    printf(", ");
    print_sizes("sheets", sheets, 5, sheets_s);
    printf("}\n");
    return 0;
}
