/*
 * Times the garage file against SQLite itself at the same durability (WAL, synchronous=FULL, one transaction an entry): so many readings entered through the
 * store, what listing and loading cost with so many sheets, and then readings entered in turns with rows of the same columns inserted by plain SQL, in files of the folder given.
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

enum { NOW = 1800000000, BESIDE = 2000 };

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

/* ---- readings entered through the store ---- */

static struct {
    ch_store *store;
    int64_t sheet;
    ch_store_row row;
} ours;

static void ours_open(void)
{
    ch_stored sheet;
    ch_err err = {0};
    forget("ours.db");
    must(ch_store_open(path_of("ours.db"), CH_STORE_CREATE, &ours.store, &err), &err);
    must(ch_store_sheet_begin(ours.store, 0, 0, (ch_date){2027, 1, 16}, NULL, NOW, &sheet, &err), &err);
    ours.sheet = sheet.id;
    ch_store_row_init(&ours.row, CH_STORE_DRY);
    ours.row.reading.cylinder = 1;
    must(ch_quantity_parse("170 psi", 7, CH_DIM_PRESSURE, NULL, &ours.row.reading.reading, &err), &err);
}

static void ours_enter(int i)
{
    ch_stored stored;
    ch_err err = {0};
    char client[32];
    snprintf(client, sizeof client, "phone.%d", i);
    must(ch_store_row_add(ours.store, ours.sheet, &ours.row, client, NOW + i, &stored, &err), &err);
}

static void ours_close(void)
{
    ch_store_close(ours.store);
    forget("ours.db");
}

static double entries_s(int n)
{
    ours_open();
    const double began_s = now_s();
    for (int i = 0; i < n; i++)
        ours_enter(i);
    const double took_s = now_s() - began_s;
    ours_close();
    return took_s;
}

/* ---- the same entry as plain SQL: an entry, and its quantity in a row of its own ---- */

static struct {
    sqlite3 *db;
    sqlite3_stmt *entry, *quantity;
} plain;

static void plain_open(void)
{
    forget("plain.db");
    must_sql(plain.db, sqlite3_open(path_of("plain.db"), &plain.db));
    must_sql(plain.db,
             sqlite3_exec(plain.db,
                          "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;"
                          "CREATE TABLE entry (id INTEGER PRIMARY KEY, sheet INTEGER, kind TEXT, cylinder INTEGER, "
                          "client TEXT UNIQUE, "
                          "entered_s INTEGER) STRICT;"
                          "CREATE TABLE quantity (entry INTEGER, name TEXT, text TEXT, unit TEXT, value REAL, "
                          "PRIMARY KEY (entry, name)) "
                          "STRICT, WITHOUT ROWID;",
                          NULL, NULL, NULL));
    must_sql(plain.db, sqlite3_prepare_v2(plain.db, "INSERT INTO entry VALUES (NULL, 1, 'dry', 1, ?1, ?2)", -1,
                                          &plain.entry, NULL));
    must_sql(plain.db,
             sqlite3_prepare_v2(
                 plain.db, "INSERT INTO quantity VALUES (last_insert_rowid(), 'reading', '170', 'psi', 1172108.74)", -1,
                 &plain.quantity, NULL));
}

static void plain_enter(int i)
{
    char client[32];
    snprintf(client, sizeof client, "phone.%d", i);
    must_sql(plain.db, sqlite3_exec(plain.db, "BEGIN IMMEDIATE", NULL, NULL, NULL));
    sqlite3_bind_text(plain.entry, 1, client, -1, SQLITE_STATIC);
    sqlite3_bind_int64(plain.entry, 2, NOW + i);
    must_sql(plain.db, sqlite3_step(plain.entry));
    must_sql(plain.db, sqlite3_step(plain.quantity));
    sqlite3_reset(plain.entry);
    sqlite3_reset(plain.quantity);
    must_sql(plain.db, sqlite3_exec(plain.db, "COMMIT", NULL, NULL, NULL));
}

static void plain_close(void)
{
    sqlite3_finalize(plain.entry);
    sqlite3_finalize(plain.quantity);
    sqlite3_close(plain.db);
    forget("plain.db");
}

/* Both in turns, some entries each, so that whatever else the disk does meets both. */
static void beside(int n, double *ours_s, double *plain_s)
{
    enum { TURN = 20 };
    *ours_s = *plain_s = 0;
    ours_open();
    plain_open();
    for (int from = 0; from < n; from += TURN) {
        const double began_s = now_s();
        for (int i = from; i < from + TURN; i++)
            ours_enter(i);
        const double half_s = now_s();
        for (int i = from; i < from + TURN; i++)
            plain_enter(i);
        *ours_s += half_s - began_s;
        *plain_s += now_s() - half_s;
    }
    plain_close();
    ours_close();
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
    print_sizes("sheets", sheets, 5, sheets_s);
    double ours_s, plain_s;
    beside(BESIDE, &ours_s, &plain_s);
    printf(", \"beside\": {\"entries\": %d, \"ours_s\": %.6f, \"plain_s\": %.6f}}\n", BESIDE, ours_s, plain_s);
    return 0;
}
