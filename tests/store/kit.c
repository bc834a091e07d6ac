#include "kit.h"

#include <dirent.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "../../src/store/store_parts.h"

static char folder[256];

int kit_begin(void **state)
{
    (void)state;
    struct stat there;
    const char *parent = getenv("TMPDIR");
    if (parent == NULL || parent[0] == '\0')
        parent = stat("/dev/shm", &there) == 0 && access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp";
    snprintf(folder, sizeof folder, "%s/crosshatch-store-XXXXXX", parent);
    return mkdtemp(folder) != NULL ? 0 : -1;
}

int kit_end(void **state)
{
    (void)state;
    DIR *d = opendir(folder);
    for (struct dirent *e = d != NULL ? readdir(d) : NULL; e != NULL; e = readdir(d))
        if (e->d_name[0] != '.')
            (void)(unlink(kit_path(e->d_name)) != 0 && rmdir(kit_path(e->d_name)) != 0);
    if (d != NULL)
        closedir(d);
    return rmdir(folder);
}

const char *kit_path(const char *name)
{
    static char paths[8][512];
    static int next;
    char *path = paths[next++ % 8];
    snprintf(path, sizeof paths[0], "%s/%s", folder, name);
    return path;
}

void kit_good(ch_status rc, const ch_err *err)
{
    char line[1024] = "";
    if (err != NULL)
        ch_err_format(err, line, sizeof line);
    if (rc < 0)
        fail_msg("status %d: %s", (int)rc, line);
}

ch_store *kit_open(void)
{
    ch_store *store = NULL;
    ch_err err = {0};
    kit_good(ch_store_open(kit_path("garage.db"), CH_STORE_CREATE, &store, &err), &err);
    return store;
}

void kit_forget_statements(ch_store *store)
{
    store_kept_clear(&store->kept);
}

int64_t kit_sheet(ch_store *store)
{
    ch_stored stored = {0};
    ch_sheet head;
    ch_err err = {0};
    kit_good(ch_store_sheet_begin(store, 0, 0, (ch_date){2027, 1, 16}, NULL, KIT_NOW, &stored, &err), &err);
    ch_sheet_init(&head);
    head.engine.cylinders = 4;
    head.conditions.date = (ch_date){2027, 1, 16};
    kit_good(ch_store_sheet_head(store, stored.id, &head, KIT_NOW, &err), &err);
    return stored.id;
}

ch_quantity kit_quantity(const char *text, ch_dimension dimension)
{
    ch_quantity q = ch_quantity_none();
    ch_err err = {0};
    kit_good(ch_quantity_parse(text, strlen(text), dimension, NULL, &q, &err), &err);
    return q;
}

ch_store_row kit_row(int cylinder, const char *reading)
{
    ch_store_row row;
    ch_store_row_init(&row, CH_STORE_DRY);
    row.reading.cylinder = cylinder;
    row.reading.reading = kit_quantity(reading, CH_DIM_PRESSURE);
    return row;
}

char *kit_bytes(const char *path, size_t *length)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return NULL;
    fseek(file, 0, SEEK_END);
    *length = (size_t)ftell(file);
    rewind(file);
    char *bytes = malloc(*length + 1);
    assert_non_null(bytes);
    assert_int_equal(fread(bytes, 1, *length, file), *length);
    bytes[*length] = '\0';
    fclose(file);
    return bytes;
}

void kit_verify(ch_store *store)
{
    ch_store_pool pool = {0};
    const ch_store_finding *findings = NULL;
    size_t count = 0;
    ch_err err = {0};
    kit_good(ch_store_verify(store, &pool, &findings, &count, &err), &err);
    if (count > 0)
        fail_msg("%zu findings, first: %s", count, findings[0].what);
    ch_store_pool_clear(&pool);
}

size_t kit_count(ch_store *store, int64_t sheet_id)
{
    ch_store_pool pool = {0};
    const ch_store_row *rows = NULL;
    size_t count = 0;
    ch_err err = {0};
    kit_good(ch_store_rows(store, &pool, sheet_id, false, &rows, &count, &err), &err);
    ch_store_pool_clear(&pool);
    return count;
}

long long kit_ask(const char *path, const char *sql)
{
    sqlite3 *db = NULL;
    sqlite3_stmt *q = NULL;
    assert_int_equal(sqlite3_open_v2(path, &db, SQLITE_OPEN_READWRITE, NULL), SQLITE_OK);
    sqlite3_busy_timeout(db, 5000);
    assert_int_equal(sqlite3_prepare_v2(db, sql, -1, &q, NULL), SQLITE_OK);
    const long long number = sqlite3_step(q) == SQLITE_ROW ? sqlite3_column_int64(q, 0) : -1;
    sqlite3_finalize(q);
    sqlite3_close(db);
    return number;
}

void kit_cut_short(const char *path)
{
    static const char *const endings[] = {"", "-journal"};
    sqlite3 *db = NULL;
    char from[600], to[600];
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db,
                                  "PRAGMA journal_mode = DELETE; PRAGMA cache_size = 1; BEGIN;"
                                  "WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 2000)"
                                  " INSERT INTO setting (name, text, changed_s) SELECT 'n' || i, 'lost', 1 FROM n",
                                  NULL, NULL, NULL),
                     SQLITE_OK);
    for (size_t i = 0; i < 2; i++) {
        size_t length = 0;
        snprintf(from, sizeof from, "%s%s", path, endings[i]);
        snprintf(to, sizeof to, "%s.cut%s", path, endings[i]);
        char *bytes = kit_bytes(from, &length);
        assert_non_null(bytes);
        FILE *file = fopen(to, "wb");
        assert_non_null(file);
        assert_int_equal(fwrite(bytes, 1, length, file), length);
        fclose(file);
        free(bytes);
    }
    sqlite3_exec(db, "ROLLBACK", NULL, NULL, NULL);
    sqlite3_close(db);
    for (size_t i = 0; i < 2; i++) {
        snprintf(from, sizeof from, "%s.cut%s", path, endings[i]);
        snprintf(to, sizeof to, "%s%s", path, endings[i]);
        assert_int_equal(rename(from, to), 0);
    }
}

void kit_read_sheet(const char *name, ch_sheet *sheet)
{
    char path[512];
    size_t length = 0;
    ch_err err = {0};
    snprintf(path, sizeof path, "%s/%s", getenv("CROSSHATCH_SOURCE"), name);
    char *bytes = kit_bytes(path, &length);
    assert_non_null(bytes);
    kit_good(ch_sheet_parse(name, bytes, length, sheet, &err), &err);
    free(bytes);
}

ch_store_run kit_run(int64_t car_id)
{
    static const ch_drive_point points[] = {{0.0F, 300.0F, 10.0F, 1.0F}, {0.5F, 310.0F, 10.5F, 0.0F}};
    static ch_slip slips[] = {{.start_s = 10.25,
                               .end_s = 11.5,
                               .gear = 4,
                               .peak_1 = 0.085,
                               .mean_1 = 0.05,
                               .ahead_rad_s = 21.0,
                               .road_speed_m_s = 31.1,
                               .engine_speed_rad_s = 520.0,
                               .throttle_1 = NAN,
                               .acceleration_m_s2 = 1.9,
                               .oil_or_coolant_k = 361.5,
                               .torque_n_m = 181.0,
                               .u_torque_n_m = 9.0,
                               .heat_j = 4800.0,
                               .plate_k = 370.0,
                               .peak_plate_k = 371.3,
                               .driven_before_s = 12.0},
                              {.start_s = 40.0, .end_s = 42.0, .gear = 3, .peak_1 = 0.2, .throttle_1 = 1.0}};
    ch_store_run run = {.car_id = car_id,
                        .day = {2026, 10, 3},
                        .log_name = "invented, \"run\" 1.csv",
                        .log_sha256 = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef",
                        .log_bytes = 47000000,
                        .drivetrain = "mass: 900 kg\n",
                        .told = "Road speed is taken to be in km/h.\nNothing else.",
                        .made_by = "fixture",
                        .seconds = 3600.5,
                        .point = points,
                        .points = sizeof points / sizeof points[0],
                        .driveline = {.rows = 360000,
                                      .limits = CH_LIMIT_NO_THROTTLE,
                                      .gears = 2,
                                      .slip = slips,
                                      .slips = 2,
                                      .slips_found = 2,
                                      .not_slips = {3, 2, 1, 4},
                                      .car_factor_1 = NAN,
                                      .lag_s = 0.25,
                                      .capacity_n_m = {170.0, 181.0, 192.0},
                                      .design_n_m = {NAN, NAN},
                                      .fade_1_k = NAN,
                                      .u_fade_1_k = NAN,
                                      .patterns = 1,
                                      .patterns_known = 3}};
    run.driveline.gear[0] = (ch_driveline_gear){.number = 3, .line_rad_m = 22.5, .spread_1 = 0.004, .seconds = 90.0};
    run.driveline.gear[1] = (ch_driveline_gear){.number = 4, .line_rad_m = 16.7, .car_line_rad_m = NAN};
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
        run.driveline.cause_1[c] = c == CH_CLUTCH_WORN ? 0.65 : 0.05;
    return run;
}
