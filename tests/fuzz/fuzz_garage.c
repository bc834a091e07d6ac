/*
 * Any bytes as a garage file. The first byte says how: 0 mod 3, the rest is the whole file; 1 mod 3, the rest is what is changed of an invented garage,
 * in pieces of a place (3 bytes), a length (1 byte) and the bytes that go there; 2 mod 3, the rest is SQL that somebody ran on it. Then it is opened as a program
 * opens it: looked at, verified, read in every way, exported, and written to. Nothing may crash or hang; a failure must say why; a file that is
 * refused must stay as it was, to the byte.
 */
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/store_car.h"
#include "crosshatch/store_sheet.h"
#include "crosshatch/store_work.h"
#include "fuzz.h"
#include "garage_kit.h"

enum { SQL_STEPS = 300000, CSV_MAXIMUM = 4 * 1024 * 1024, LARGEST = 1024 * 1024 };

static bool good(ch_status rc, const ch_err *err)
{
    must(rc >= 0 || (rc == err->status && err->what[0] != '\0'));
    return rc >= 0;
}

static void read_lists(ch_store *store, ch_store_pool *pool)
{
    const ch_store_car *cars;
    const ch_store_engine *engines;
    const ch_store_gauge *gauges;
    const ch_store_event *events;
    const ch_store_part *parts;
    const ch_store_ledger *things;
    const char *text;
    size_t n;
    ch_err err = {0};
    (void)good(ch_store_cars(store, pool, &cars, &n, &err), &err);
    (void)good(ch_store_engines(store, pool, 0, &engines, &n, &err), &err);
    (void)good(ch_store_gauges(store, pool, &gauges, &n, &err), &err);
    (void)good(ch_store_events(store, pool, 0, &events, &n, &err), &err);
    (void)good(ch_store_parts(store, pool, 0, &parts, &n, &err), &err);
    (void)good(ch_store_ledger_list(store, pool, 0, false, &things, &n, &err), &err);
    (void)good(ch_store_setting_get(store, pool, "units.pressure", &text, &err), &err);
}

static void read_sheets(ch_store *store, ch_store_pool *pool)
{
    const ch_store_sheet *sheets = NULL;
    const ch_store_row *rows;
    const ch_store_photo *photos;
    size_t count = 0, n;
    ch_err err = {0};
    if (!good(ch_store_sheets(store, pool, 0, &sheets, &count, &err), &err))
        return;
    for (size_t i = 0; i < count && i < 8; i++) {
        ch_sheet sheet;
        if (good(ch_store_sheet_load(store, sheets[i].id, &sheet, &err), &err)) {
            char *written = NULL;
            size_t length;
            (void)good(ch_sheet_write(&sheet, false, &written, &length, &err), &err);
            free(written);
        }
        ch_sheet_clear(&sheet);
        (void)good(ch_store_rows(store, pool, sheets[i].id, true, &rows, &n, &err), &err);
        (void)good(ch_store_photos(store, pool, sheets[i].id, &photos, &n, &err), &err);
    }
}

static void read_work(ch_store *store, ch_store_pool *pool)
{
    const ch_store_work *works = NULL;
    const ch_store_spent *spent;
    const ch_store_photo *photos;
    const ch_owner_torque *torques;
    ch_store_proof proof;
    size_t count = 0, n;
    ch_err err = {0};
    if (!good(ch_store_works(store, pool, 0, &works, &count, &err), &err))
        return;
    for (size_t i = 0; i < count && i < 8; i++) {
        (void)good(ch_store_spents(store, pool, works[i].id, &spent, &n, &err), &err);
        (void)good(ch_store_work_photos(store, pool, works[i].id, &photos, &n, &err), &err);
        (void)good(ch_store_torques(store, pool, works[i].car_id, &torques, &n, &err), &err);
        (void)good(ch_store_work_proof(store, works[i].id, &proof, &err), &err);
    }
}

static void use(ch_store *store, ch_store_mode mode)
{
    ch_store_pool pool = {0};
    const ch_store_finding *findings = NULL;
    size_t count = 0;
    ch_err err = {0};
    ch_text csv;
    ch_text_init(&csv, CSV_MAXIMUM);
    if (good(ch_store_verify(store, &pool, &findings, &count, &err), &err))
        for (size_t i = 0; i < count; i++)
            must(findings[i].what[0] != '\0');
    read_lists(store, &pool);
    read_sheets(store, &pool);
    read_work(store, &pool);
    (void)good(ch_store_readings_csv(store, &csv, &err), &err);
    if (mode == CH_STORE_OPEN)
        (void)good(ch_store_setting_set(store, "currency", "EUR", GARAGE_NOW, &err), &err);
    ch_text_clear(&csv);
    ch_store_pool_clear(&pool);
}

static int nothing_outside(void *context, int action, const char *a, const char *b, const char *c, const char *d)
{
    (void)context, (void)a, (void)b, (void)c, (void)d;
    return action == SQLITE_ATTACH || action == SQLITE_DETACH ? SQLITE_DENY : SQLITE_OK;
}

static int enough(void *context)
{
    int *const left = context;
    return --*left <= 0;
}

/* As somebody with another program could; nothing outside the file is reached, and not for ever. */
static void run_sql(const uint8_t *data, size_t size)
{
    sqlite3 *db = NULL;
    int left = SQL_STEPS / 1000;
    char *const sql = malloc(size + 1);
    must(sql != NULL);
    memcpy(sql, data, size);
    sql[size] = '\0';
    must(sqlite3_open_v2(garage_path(), &db, SQLITE_OPEN_READWRITE, NULL) == SQLITE_OK);
    sqlite3_set_authorizer(db, nothing_outside, NULL);
    sqlite3_progress_handler(db, 1000, enough, &left);
    sqlite3_limit(db, SQLITE_LIMIT_LENGTH, LARGEST);
    (void)sqlite3_exec(db, sql, NULL, NULL, NULL);
    sqlite3_close(db);
    free(sql);
}

static void change(const uint8_t *data, size_t size)
{
    size_t whole;
    const uint8_t *const as_made = garage_bytes(&whole);
    uint8_t *const bytes = malloc(whole);
    must(bytes != NULL);
    memcpy(bytes, as_made, whole);
    for (size_t at = 0; at + 4 < size;) {
        const size_t place = ((size_t)data[at] << 16 | (size_t)data[at + 1] << 8 | data[at + 2]) % whole;
        size_t n = data[at + 3];
        at += 4;
        n = n < size - at ? n : size - at;
        n = n < whole - place ? n : whole - place;
        memcpy(bytes + place, data + at, n);
        at += n > 0 ? n : 1;
    }
    garage_put(bytes, whole);
    free(bytes);
}

static void open_and_use(ch_store_mode mode)
{
    ch_store *store = NULL;
    ch_err err = {0};
    const ch_status rc = ch_store_open(garage_path(), mode, &store, &err);
    if (good(rc, &err)) {
        use(store, mode);
        ch_store_close(store);
        return;
    }
    must(store == NULL && (rc == CH_E_INPUT || rc == CH_E_IO || rc == CH_E_LIMIT) && err.file[0] != '\0');
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size == 0 || size > LARGEST)
        return 0;
    size_t whole;
    const uint8_t *const as_made = garage_bytes(&whole);
    switch (data[0] % 3) {
    case 0: garage_put(data + 1, size - 1); break;
    case 1: change(data + 1, size - 1); break;
    default:
        garage_put(as_made, whole);
        run_sql(data + 1, size - 1);
        break;
    }
    /* Reading changes nothing, and neither does a refusal. */
    size_t before_size;
    uint8_t *const before = garage_read(&before_size);
    open_and_use(CH_STORE_READ_ONLY);
    must(garage_is(before, before_size));
    ch_store *store = NULL;
    if (ch_store_open(garage_path(), CH_STORE_OPEN, &store, NULL) < 0)
        must(garage_is(before, before_size));
    ch_store_close(store);
    open_and_use(CH_STORE_OPEN);
    free(before);
    return 0;
}
