/*
 * What comes back out of the file otherwise than it was written is told and not stored: one value at a time is changed behind the store's back, by a trigger while it is
 * written, or by another program afterwards.
 */
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/store_driveline.h"
#include "kit.h"

static ch_store *store;

static int begin(void **state)
{
    if (kit_begin(state) != 0)
        return -1;
    store = kit_open();
    return 0;
}

static int end(void **state)
{
    ch_store_close(store);
    return kit_end(state);
}

/* Another program, which keeps to nothing. */
static void harm(const char *sql)
{
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open_v2(kit_path("garage.db"), &db, SQLITE_OPEN_READWRITE, NULL), SQLITE_OK);
    sqlite3_exec(db, "PRAGMA ignore_check_constraints = ON", NULL, NULL, NULL);
    if (sqlite3_exec(db, sql, NULL, NULL, NULL) != SQLITE_OK)
        fail_msg("%s: %s", sql, sqlite3_errmsg(db));
    sqlite3_close(db);
}

/* From now on `what` is done to each row of the table once it is written. */
static void tamper(const char *table, const char *what)
{
    char sql[512];
    snprintf(sql, sizeof sql,
             "DROP TRIGGER IF EXISTS %s_is_raw; DROP TRIGGER IF EXISTS %s_is_kept;"
             "CREATE TRIGGER tamper AFTER INSERT ON %s BEGIN %s; END",
             table, table, table, what);
    harm(sql);
}

static void expect_told(ch_status rc, const ch_err *err, const char *words, const char *at)
{
    if (rc != CH_E_IO || strcmp(err->what, words) != 0)
        fail_msg("%s: status %d: %s", at, (int)rc, err->what);
}

/* ---- rows ---- */

static ch_store_row a_row(ch_store_kind kind)
{
    static char oily[] = "oily_plug";
    ch_store_row row;
    ch_store_row_init(&row, kind);
    switch (kind) {
    case CH_STORE_LEAKDOWN:
        row.leakdown.cylinder = 1;
        row.leakdown.supply = kit_quantity("100 psi", CH_DIM_PRESSURE);
        row.leakdown.loss = kit_quantity("12 %", CH_DIM_RATIO);
        row.leakdown.heard = CH_HEARD_INTAKE;
        row.leakdown.heard_cylinders = 2;
        break;
    case CH_STORE_OBSERVED: row.observed.what = oily; break;
    case CH_STORE_LEAKS:
        row.leaks.cylinder = 1;
        row.leaks.rings = kit_quantity("0.6 mm2", CH_DIM_AREA);
        break;
    case CH_STORE_DRY:
    case CH_STORE_WET:
    case CH_STORE_KINDS: row = kit_row(1, "178 psi"); break;
    }
    if (kind == CH_STORE_WET)
        row.kind = CH_STORE_WET;
    return row;
}

static void a_row_that_comes_back_otherwise_is_refused_value_by_value(void **state)
{
    (void)state;
#define ENTRY(kind, set)                                                                                               \
    {                                                                                                                  \
        CH_STORE_##kind, "entry", "UPDATE entry SET " set " WHERE id = new.id"                                         \
    }
#define QUANTITY(kind, set)                                                                                            \
    {                                                                                                                  \
        CH_STORE_##kind, "entry_quantity",                                                                             \
            "UPDATE entry_quantity SET " set " WHERE entry_id = new.entry_id AND name = new.name"                      \
    }
    static const struct {
        ch_store_kind kind;
        const char *table, *what;
    } cases[] = {
        ENTRY(DRY, "kind = 'wet'"),
        ENTRY(DRY, "cylinder = 2"),
        ENTRY(DRY, "note = 'not mine'"),
        ENTRY(WET, "cylinder = 3"),
        ENTRY(OBSERVED, "what = 'coolant_loss'"),
        ENTRY(OBSERVED, "what = NULL"),
        ENTRY(OBSERVED, "absent = 1"),
        ENTRY(OBSERVED, "note = 'not mine'"),
        ENTRY(LEAKDOWN, "cylinder = 2"),
        ENTRY(LEAKDOWN, "heard = 2"),
        ENTRY(LEAKDOWN, "heard_cylinders = 4"),
        ENTRY(LEAKDOWN, "note = 'not mine'"),
        ENTRY(LEAKS, "cylinder = 2"),
        ENTRY(LEAKS, "note = 'not mine'"),
        QUANTITY(DRY, "name = 'first_stroke'"),
        QUANTITY(DRY, "text = '179'"),
        QUANTITY(DRY, "unit = 'bar'"),
        QUANTITY(DRY, "bare = 1"),
        QUANTITY(DRY, "value = value + 1"),
        QUANTITY(LEAKDOWN, "value = value + 1"),
        QUANTITY(LEAKS, "value = value + 1"),
        {CH_STORE_OBSERVED, "entry", "DELETE FROM entry WHERE id = new.id"},
        {CH_STORE_DRY, "entry_quantity", "DELETE FROM entry_quantity WHERE entry_id = new.entry_id"},
    };
    const int64_t sheet = kit_sheet(store);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const ch_store_row row = a_row(cases[i].kind);
        ch_err err = {0};
        tamper(cases[i].table, cases[i].what);
        expect_told(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, NULL, &err), &err,
                    "the row did not come back as it was written", cases[i].what);
        harm("DROP TRIGGER tamper");
    }
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM entry"), 0);
    /* untouched, each is stored; and then a correction is looked at as a new row is */
    ch_err err = {0};
    ch_stored last = {0};
    for (int kind = 0; kind < CH_STORE_KINDS; kind++) {
        ch_store_row row = a_row((ch_store_kind)kind);
        kit_good(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, &last, &err), &err);
    }
    tamper("entry", "UPDATE entry SET cylinder = 4 WHERE id = new.id");
    const ch_store_row row = a_row(CH_STORE_LEAKS);
    expect_told(ch_store_row_correct(store, last.id, &row, NULL, KIT_NOW, NULL, &err), &err,
                "the row did not come back as it was written", "a correction");
    assert_int_equal(kit_count(store, sheet), CH_STORE_KINDS);
}

/* ---- logged runs ---- */

static int64_t a_car(void)
{
    ch_err err = {0};
    ch_stored car = {0};
    kit_good(ch_store_car_add(store, &(ch_store_car){.name = "invented"}, NULL, KIT_NOW, &car, &err), &err);
    return car.id;
}

static void a_run_that_comes_back_otherwise_is_refused_value_by_value(void **state)
{
    (void)state;
    static const struct {
        const char *table, *where;
        const char *set[24];
    } cases[] = {
        {"run",
         "id = new.id",
         {"day = '2026-10-04'",
          "day = NULL",
          "note = 'not mine'",
          "log_name = 'another.csv'",
          "log_sha256 = 'f' || substr(log_sha256, 2)",
          "log_bytes = log_bytes + 1",
          "drivetrain = NULL",
          "told = ''",
          "made_by = 'another'",
          "log_rows = log_rows + 1",
          "seconds = seconds + 1",
          "state = 'no_fixed_gears'",
          "limits = limits + 1",
          "patterns = patterns + 2",
          "patterns_known = 1",
          "slips_found = slips_found + 1",
          "wheelspins = 9",
          "by_foot = 9",
          "by_sensor = 9",
          "too_brief = 9",
          "picture = NULL",
          "picture = zeroblob(length(picture))",
          "picture = zeroblob(16)"}},
        {"run",
         "id = new.id",
         {"on_lines_1 = 0.5", "car_factor_1 = 1.0", "lag_s = 0.5", "u_lag_s = 0.5", "engine_fresh_s = 0.5",
          "road_fresh_s = 0.5", "road_step_m_s = 0.5", "road_offset_m_s = 0.5", "shortest_slip_s = 0.5",
          "loaded_s = 0.5", "loaded_low_s = 0.5", "capacity_low_n_m = 1.0", "capacity_n_m = 1.0",
          "capacity_high_n_m = 1.0", "fade_1_k = 0.5", "u_fade_1_k = 0.5", "design_wear_n_m = 1.0",
          "design_pressure_n_m = 1.0", "on_lines_1 = NULL"}},
        {"run_gear",
         "run_id = new.run_id AND place = new.place",
         {"number = number + 1", "line_rad_m = line_rad_m + 1", "u_line_rad_m = 0.5", "spread_1 = 0.5", "seconds = 0.5",
          "car_line_rad_m = 0.5"}},
        {"run_slip",
         "run_id = new.run_id AND place = new.place",
         {"gear = gear + 1", "start_s = start_s - 1", "end_s = end_s + 1", "peak_1 = 0.5", "mean_1 = 0.5",
          "ahead_rad_s = 0.5", "road_speed_m_s = 0.5", "engine_speed_rad_s = 0.5", "throttle_1 = 0.5",
          "acceleration_m_s2 = 0.5", "oil_or_coolant_k = 0.5", "torque_n_m = 0.5", "u_torque_n_m = 0.5", "heat_j = 0.5",
          "plate_k = 0.5", "peak_plate_k = 0.5", "driven_before_s = 0.5"}},
        {"run_cause", "id = new.id", {"chance_1 = 0.5"}},
    };
    const ch_store_run run = kit_run(a_car());
    char what[256];
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        for (size_t k = 0; cases[i].set[k] != NULL; k++) {
            ch_err err = {0};
            snprintf(what, sizeof what, "UPDATE %s SET %s WHERE %s", cases[i].table, cases[i].set[k], cases[i].where);
            tamper(cases[i].table, what);
            expect_told(ch_store_run_add(store, &run, NULL, KIT_NOW, NULL, &err), &err,
                        "the run did not come back as it was written", what);
            harm("DROP TRIGGER tamper");
        }
    static const char *const gone[] = {"run_gear", "run_slip", "run_cause"};
    for (size_t i = 0; i < sizeof gone / sizeof gone[0]; i++) {
        ch_err err = {0};
        snprintf(what, sizeof what, "DELETE FROM %s WHERE run_id = new.run_id", gone[i]);
        tamper(gone[i], what);
        expect_told(ch_store_run_add(store, &run, NULL, KIT_NOW, NULL, &err), &err,
                    "the run did not come back as it was written", what);
        harm("DROP TRIGGER tamper");
    }
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM run"), 0);
    ch_err err = {0};
    kit_good(ch_store_run_add(store, &run, NULL, KIT_NOW, NULL, &err), &err);
}

static void a_run_that_another_program_has_spoilt_is_told(void **state)
{
    (void)state;
    ch_err err = {0};
    ch_stored stored = {0};
    ch_store_pool pool = {0};
    ch_store_run run = kit_run(a_car()), loaded = {.id = 77};
    kit_good(ch_store_run_add(store, &run, NULL, KIT_NOW, &stored, &err), &err);
    harm("DROP TRIGGER run_is_raw");
    static const char more_gears[] =
        "UPDATE run SET picture = NULL; WITH RECURSIVE n (i) AS (SELECT 2 UNION ALL SELECT i + 1 FROM n WHERE i < 40)"
        " INSERT INTO run_gear (run_id, place, number, line_rad_m) SELECT 1, i, i, 1.0 FROM n";
    static const char *const spoil[] = {"UPDATE run SET state = 'guess'",
                                        "UPDATE run SET state = 'gears_found', picture = zeroblob(17)",
                                        "UPDATE run SET picture = zeroblob(32769 * 16)", more_gears};
    for (size_t i = 0; i < sizeof spoil / sizeof spoil[0]; i++) {
        harm(spoil[i]);
        err = (ch_err){0};
        assert_int_equal(ch_store_run_load(store, &pool, stored.id, &loaded, &err), CH_E_INPUT);
        assert_string_equal(err.what, "run 1 cannot be read");
        assert_non_null(strstr(err.right, "crosshatch verify"));
        assert_int_equal(loaded.id, 77); /* untouched */
    }
    const ch_store_run *rows = NULL;
    size_t count = 0;
    assert_int_equal(ch_store_runs(store, &pool, run.car_id, &rows, &count, &err), CH_E_INPUT);
    ch_text csv;
    ch_text_init(&csv, 65536);
    assert_int_equal(ch_store_runs_csv(store, &csv, &err), CH_E_INPUT);
    ch_text_clear(&csv);
    ch_store_pool_clear(&pool);
}

/* ---- what another program has changed ---- */

static void a_field_that_cannot_be_read_is_named(void **state)
{
    (void)state;
    static const char text[] =
        "sheet: 1\ntitle: invented\nunits: {pressure: bar, distance: mi}\n"
        "engine: {cylinders: 3, layout: vee, firing_order: [1, 3, 2], bore: 80 mm, compression_ratio: 9.5}\n"
        "gauge: {span: 20, accuracy: class 1.6}\nconditions: {date: 2027-01-16}\n"
        "compression: [{cylinder: 3, reading: 11.20}]\n";
#define LONG_TEXT "1234567890123456789012345678901234567890123456789012345678901234567890"
    static const struct {
        const char *name, *set;
    } cases[] = {
        {"engine.cylinders", "text = '33'"},
        {"engine.cylinders", "text = '0'"},
        {"engine.cylinders", "text = '3x'"},
        {"engine.cylinders", "text = 'x'"},
        {"engine.layout", "text = 'star'"},
        {"engine.firing_order", "text = '1 3 x'"},
        {"engine.firing_order", "text = '1 0 2'"},
        {"engine.firing_order", "text = '1 33 2'"},
        {"engine.firing_order", "text = '1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20 21 22 23 24 25 26 27 28 29"
                                " 30 31 32 1'"},
        {"engine.bore", "unit = NULL"},
        {"engine.bore", "unit = 'cubit'"},
        {"engine.bore", "value = NULL"},
        {"engine.bore", "text = '" LONG_TEXT "'"},
        {"engine.compression_ratio", "value = NULL"},
        {"engine.compression_ratio", "text = '" LONG_TEXT "'"},
        {"gauge.accuracy", "text = 'perfect'"},
        {"conditions.date", "text = '2027-13-01'"},
        {"units.pressure", "text = 'cubit'"},
        {"units.distance", "text = 'cubit'"},
        {"engine.colour", "text = 'blue'"},
    };
    ch_sheet sheet, loaded;
    ch_stored stored = {0};
    ch_err err = {0};
    kit_good(ch_sheet_parse("invented", text, sizeof text - 1, &sheet, &err), &err);
    kit_good(ch_store_sheet_save(store, &sheet, 0, NULL, KIT_NOW, &stored, &err), &err);
    harm("INSERT INTO field (sheet_id, name, changed_s) VALUES (1, 'engine.colour', 0)");
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char sql[512], wanted[96];
        snprintf(sql, sizeof sql,
                 "DROP TABLE IF EXISTS was; CREATE TABLE was AS SELECT * FROM field WHERE name = '%s';"
                 "UPDATE field SET %s WHERE name = '%s'",
                 cases[i].name, cases[i].set, cases[i].name);
        harm(sql);
        snprintf(wanted, sizeof wanted, "%s: what is stored cannot be read", cases[i].name);
        err = (ch_err){0};
        assert_int_equal(ch_store_sheet_load(store, stored.id, &loaded, &err), CH_E_INPUT);
        assert_string_equal(err.what, wanted);
        assert_non_null(strstr(err.right, "crosshatch verify"));
        harm("UPDATE field SET (text, unit, bare, value) = (SELECT text, unit, bare, value FROM was)"
             " WHERE id = (SELECT id FROM was); DROP TABLE was");
    }
    err = (ch_err){0};
    kit_good(ch_store_sheet_load(store, stored.id, &loaded, &err), &err);
    ch_sheet_clear(&loaded);
    ch_sheet_clear(&sheet);
}

static void a_row_that_cannot_be_read_is_named(void **state)
{
    (void)state;
    static const struct {
        const char *sql, *told;
    } cases[] = {
        {"UPDATE entry_quantity SET name = 'colour'", "row 1: a value that cannot be read"},
        {"UPDATE entry_quantity SET name = 'note'", "row 1: a value that cannot be read"},
        {"UPDATE entry_quantity SET name = 'reading', unit = 'cubit'", "row 1: a value that cannot be read"},
        {"UPDATE entry_quantity SET unit = 'psi', text = '" LONG_TEXT "'", "row 1: a value that cannot be read"},
        {"UPDATE entry SET kind = 'guess'", "a row of an unknown kind"},
    };
    const int64_t sheet = kit_sheet(store);
    const ch_store_row row = kit_row(1, "178 psi");
    ch_err err = {0};
    ch_store_pool pool = {0};
    const ch_store_row *rows = NULL;
    size_t count = 77;
    kit_good(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, NULL, &err), &err);
    harm("DROP TRIGGER entry_is_raw; DROP TRIGGER entry_quantity_is_raw");
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        harm(cases[i].sql);
        err = (ch_err){0};
        assert_int_equal(ch_store_rows(store, &pool, sheet, false, &rows, &count, &err), CH_E_INPUT);
        assert_string_equal(err.what, cases[i].told);
        assert_non_null(strstr(err.right, "crosshatch verify"));
        assert_int_equal(count, 77);
    }
    ch_store_pool_clear(&pool);
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROMISE(a_row_that_comes_back_otherwise_is_refused_value_by_value),
        PROMISE(a_run_that_comes_back_otherwise_is_refused_value_by_value),
        PROMISE(a_run_that_another_program_has_spoilt_is_told),
        PROMISE(a_field_that_cannot_be_read_is_named),
        PROMISE(a_row_that_cannot_be_read_is_named),
    };
    return cmocka_run_group_tests_name("store_damage", tests, NULL, NULL);
}
