/* Sheets in the garage file: nothing that was entered is lost or changed, and what comes out is what went in. */
#include <dirent.h>
#include <math.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

#include "kit.h"

static void written(const ch_sheet *sheet, bool json, char **text, size_t *length)
{
    ch_err err = {0};
    kit_good(ch_sheet_write(sheet, json, text, length, &err), &err);
}

/* Saved, loaded and written, the sheet gives the bytes that it gave before. */
static void expect_same_bytes(ch_store *store, const char *name)
{
    ch_sheet sheet, loaded;
    ch_stored stored = {0};
    ch_err err = {0};
    char *before = NULL, *after = NULL;
    size_t before_length = 0, after_length = 0;
    kit_read_sheet(name, &sheet);
    kit_good(ch_store_sheet_save(store, &sheet, 0, NULL, KIT_NOW, &stored, &err), &err);
    kit_good(ch_store_sheet_load(store, stored.id, &loaded, &err), &err);
    for (int json = 0; json < 2; json++) {
        written(&sheet, json, &before, &before_length);
        written(&loaded, json, &after, &after_length);
        assert_int_equal(before_length, after_length);
        assert_memory_equal(before, after, before_length);
        free(before);
        free(after);
    }
    ch_sheet_clear(&sheet);
    ch_sheet_clear(&loaded);
}

static void every_sheet_of_the_tree_comes_out_as_it_went_in(void **state)
{
    (void)state;
    static const char *const folders[] = {"demo", "tests/data/field-cases/sheets", "tests/data/cranking-oracle"};
    ch_store *store = kit_open();
    int count = 0;
    for (int i = 0; i < 3; i++) {
        char path[512];
        snprintf(path, sizeof path, "%s/%s", getenv("CROSSHATCH_SOURCE"), folders[i]);
        DIR *d = opendir(path);
        assert_non_null(d);
        for (struct dirent *e = readdir(d); e != NULL; e = readdir(d)) {
            const char *dot = strrchr(e->d_name, '.');
            if (dot == NULL || strcmp(dot, ".yaml") != 0 || strstr(e->d_name, "plan") != NULL)
                continue; /* plans are no sheets */
            snprintf(path, sizeof path, "%s/%s", folders[i], e->d_name);
            expect_same_bytes(store, path);
            count++;
        }
        closedir(d);
    }
    assert_true(count > 60);
    kit_verify(store);
    ch_store_close(store);
}

static void a_sheet_with_every_key_comes_out_as_it_went_in(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_sheet sheet, loaded;
    ch_stored stored = {0};
    ch_err err = {0};
    static const char text[] =
        "sheet: 1\ntitle: \"a \\\"quoted\\\" title; DROP TABLE entry; --\"\nnote: \"two\\nlines, \xc3\xa9\"\n"
        "units: {pressure: bar, length: in, distance: mi, volume: cc, area: in2, temperature: F, speed: r/min, time: "
        "min, angle: rad,"
        " ratio: \"%\"}\n"
        "engine: {cylinders: 3, layout: vee, firing_order: [1, 3, 2], bore: \"3,20\", stroke: 3.4, rod_length: 140 mm,"
        " compression_ratio: \"9.60:1\", valve_timing: {intake_opens_btdc: -0.1, intake_closes_abdc: 48 deg,"
        " exhaust_opens_bbdc: 0.9, exhaust_closes_atdc: 3 deg, at_lift: 1 mm}, intake_valves: {count: 2, diameter: 31 "
        "mm, lift: 8 mm},"
        " exhaust_valves: {count: 1, diameter: 1.25, lift: 8.0 mm}, limits: {standard: 12, minimum: 9, spread: 1.5}}\n"
        "gauge: {span: 20, accuracy: class 1.6, resolution: 0.2, hose_volume: 12, dead_volume: 2 ml, valve_area: 1 mm2,"
        " opening_pressure: 7 kPa}\n"
        "conditions: {date: 2027-01-16, altitude: 0.3, barometer: 962 hPa, sea_level_pressure: 1016 hPa, "
        "air_temperature: 48,"
        " engine_temperature: 70 C, throttle: shut, cranking_speed: 220, strokes: 8, odometer: 116000, engine_hours: "
        "24720}\n"
        "compression:\n  - {cylinder: 3, reading: 11.20, first_stroke: \"5,6\", note: cold}\n  - {cylinder: 1, "
        "reading: 0}\n"
        "wet:\n  - {cylinder: 3, reading: 160 psi, oil: 5, note: \"- not a list\"}\n"
        "leakdown:\n  - {cylinder: 2, supply: 7, loss: 18, orifice: 0.040, heard: [intake, oil_filler, cylinder_3]}\n"
        "  - {cylinder: 1, heard: nothing}\n"
        "observed:\n  - {what: oily_plug, cylinder: 2, found: no, note: yes it is}\n  - {what: coolant_loss}\n"
        "model: {annand: 0.80, crevice_fraction: 0.015, valve_discharge: 6e-1}\n"
        "leaks:\n  - {cylinder: all, rings: 0.6 mm2}\n  - {cylinder: 2, neighbour: 0.001, coolant: 0, exhaust_valve: 1 "
        "mm2}\n";
    kit_good(ch_sheet_parse("all", text, sizeof text - 1, &sheet, &err), &err);
    kit_good(ch_store_sheet_save(store, &sheet, 0, NULL, KIT_NOW, &stored, &err), &err);
    kit_good(ch_store_sheet_load(store, stored.id, &loaded, &err), &err);
    char *before = NULL, *after = NULL;
    size_t before_length = 0, after_length = 0;
    written(&sheet, false, &before, &before_length);
    written(&loaded, false, &after, &after_length);
    assert_string_equal(before, after);
    free(before);
    free(after);
    ch_sheet_clear(&sheet);
    ch_sheet_clear(&loaded);
    kit_verify(store);
    ch_store_close(store);
}

static void a_correction_keeps_the_old_value_and_its_time(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t sheet = kit_sheet(store);
    ch_stored first = {0}, other = {0}, second = {0};
    ch_err err = {0};
    ch_store_pool pool = {0};
    ch_store_row row = kit_row(1, "178 psi");
    kit_good(ch_store_row_add(store, sheet, &row, "phone-1", KIT_NOW + 10, &first, &err), &err);
    row = kit_row(2, "12,3 bar");
    kit_good(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW + 20, &other, &err), &err);
    row = kit_row(1, "168 psi");
    kit_good(ch_store_row_correct(store, first.id, &row, "phone-2", KIT_NOW + 30, &second, &err), &err);
    const ch_store_row *rows = NULL;
    size_t count = 0;
    kit_good(ch_store_rows(store, &pool, sheet, false, &rows, &count, &err), &err);
    assert_int_equal(count, 2);
    assert_int_equal(rows[0].id, second.id); /* in the place of the one that it corrects */
    assert_string_equal(rows[0].reading.reading.number, "168");
    assert_string_equal(rows[1].reading.reading.number, "12,3");
    expect_close(rows[1].reading.reading.si, 12.3e5, 1e-6); /* 1 bar = 1e5 Pa exactly; rounding of doubles */
    kit_good(ch_store_rows(store, &pool, sheet, true, &rows, &count, &err), &err);
    assert_int_equal(count, 3);
    assert_int_equal(rows[0].id, first.id);
    assert_string_equal(rows[0].reading.reading.number, "178");
    assert_int_equal(rows[0].entered_s, KIT_NOW + 10);
    assert_false(rows[0].current);
    assert_int_equal(rows[1].replaces_id, first.id);
    assert_int_equal(rows[1].entered_s, KIT_NOW + 30);
    ch_store_pool_clear(&pool);
    kit_verify(store);
    ch_store_close(store);
}

static void two_corrections_of_one_row_make_one_chain(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t sheet = kit_sheet(store);
    ch_stored first = {0}, a = {0}, b = {0};
    ch_err err = {0};
    ch_store_pool pool = {0};
    ch_store_row row = kit_row(1, "178 psi");
    kit_good(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, &first, &err), &err);
    row = kit_row(1, "170 psi");
    kit_good(ch_store_row_correct(store, first.id, &row, NULL, KIT_NOW, &a, &err), &err);
    row = kit_row(1, "171 psi");
    kit_good(ch_store_row_correct(store, first.id, &row, NULL, KIT_NOW, &b, &err),
             &err); /* of a page that did not know a */
    const ch_store_row *rows = NULL;
    size_t count = 0;
    kit_good(ch_store_rows(store, &pool, sheet, false, &rows, &count, &err), &err);
    assert_int_equal(count, 1);
    assert_int_equal(rows[0].id, b.id);
    assert_int_equal(rows[0].replaces_id, a.id);
    assert_int_equal(rows[0].first_id, first.id);
    ch_store_pool_clear(&pool);
    kit_verify(store);
    ch_store_close(store);
}

static void a_deletion_is_a_mark(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t sheet = kit_sheet(store);
    ch_stored first = {0}, mark = {0}, twice = {0};
    ch_err err = {0};
    ch_store_row row = kit_row(1, "178 psi");
    kit_good(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, &first, &err), &err);
    kit_good(ch_store_row_delete(store, first.id, NULL, KIT_NOW + 1, &mark, &err), &err);
    assert_int_equal(kit_count(store, sheet), 0);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM entry"), 2);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT value > 1.2e6 FROM entry_quantity WHERE entry_id = 1"), 1);
    kit_good(ch_store_row_delete(store, first.id, NULL, KIT_NOW + 2, &twice, &err), &err);
    assert_true(twice.again);
    assert_int_equal(ch_store_row_correct(store, first.id, &row, NULL, KIT_NOW, NULL, &err), CH_E_INPUT);
    kit_verify(store);
    ch_store_close(store);
}

static void the_same_sending_is_stored_once(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t sheet = kit_sheet(store);
    ch_stored first = {0}, again = {0};
    ch_err err = {0};
    ch_store_row row = kit_row(1, "178 psi");
    kit_good(ch_store_row_add(store, sheet, &row, "phone:1.a-B_2", KIT_NOW, &first, &err), &err);
    kit_good(ch_store_row_add(store, sheet, &row, "phone:1.a-B_2", KIT_NOW + 5, &again, &err), &err);
    assert_false(first.again);
    assert_true(again.again);
    assert_int_equal(first.id, again.id);
    assert_int_equal(kit_count(store, sheet), 1);
    /* also once the sheet is closed: the sender only wants to hear that it arrived */
    kit_good(ch_store_sheet_close(store, sheet, NULL, KIT_NOW + 6, &err), &err);
    kit_good(ch_store_row_add(store, sheet, &row, "phone:1.a-B_2", KIT_NOW + 7, &again, &err), &err);
    assert_true(again.again);
    ch_store_row observed;
    ch_store_row_init(&observed, CH_STORE_OBSERVED);
    observed.observed.what = (char[]){"coolant_loss"};
    assert_int_equal(ch_store_row_add(store, sheet, &observed, "phone:1.a-B_2", KIT_NOW, &again, &err), CH_E_INPUT);
    ch_store_close(store);
}

static void an_id_of_a_form_that_none_has_is_refused(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t sheet = kit_sheet(store);
    ch_store_row row = kit_row(1, "178 psi");
    static const char *const bad[] = {"", "a b", "a'b", "\xc3\xa9",
                                      "12345678901234567890123456789012345678901234567890123456789012345"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        assert_int_equal(ch_store_row_add(store, sheet, &row, bad[i], KIT_NOW, NULL, NULL), CH_E_INPUT);
    assert_int_equal(kit_count(store, sheet), 0);
    ch_store_close(store);
}

static void a_row_that_no_sheet_could_hold_is_refused(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t sheet = kit_sheet(store);
    ch_err err = {0};
    ch_store_row row = kit_row(5, "178 psi");
    assert_int_equal(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, NULL, &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "cylinder"));
    row = kit_row(1, "1780 bar");
    assert_int_equal(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, NULL, NULL), CH_E_INPUT);
    row = kit_row(1, "-5 psi");
    assert_int_equal(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, NULL, NULL), CH_E_INPUT);
    ch_store_row_init(&row, CH_STORE_DRY);
    row.reading.cylinder = 1;
    assert_int_equal(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, NULL, NULL), CH_E_INPUT);
    ch_store_row_init(&row, CH_STORE_LEAKDOWN);
    row.leakdown.cylinder = 1;
    assert_int_equal(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, NULL, NULL), CH_E_INPUT);
    ch_store_row_init(&row, CH_STORE_OBSERVED);
    assert_int_equal(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, NULL, NULL), CH_E_INPUT);
    row = kit_row(1, "178 psi");
    assert_int_equal(ch_store_row_add(store, sheet + 1, &row, NULL, KIT_NOW, NULL, NULL), CH_E_INPUT);
    assert_int_equal(ch_store_row_correct(store, 77, &row, NULL, KIT_NOW, NULL, NULL), CH_E_INPUT);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM entry"), 0);
    ch_store_close(store);
}

static void the_file_itself_refuses_to_forget(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t sheet = kit_sheet(store);
    ch_store_row row = kit_row(1, "178 psi");
    ch_err err = {0};
    kit_good(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, NULL, &err), &err);
    ch_store_close(store);
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(kit_path("garage.db"), &db), SQLITE_OK);
    static const char *const wrongs[] = {
        "UPDATE entry SET cylinder = 2",       "DELETE FROM entry", "DELETE FROM entry_quantity",
        "UPDATE entry_quantity SET value = 0", "DELETE FROM sheet", "DELETE FROM field"};
    for (size_t i = 0; i < sizeof wrongs / sizeof wrongs[0]; i++)
        assert_int_equal(sqlite3_exec(db, wrongs[i], NULL, NULL, NULL), SQLITE_CONSTRAINT);
    sqlite3_close(db);
}

static void a_sheet_closes_with_its_ledger_or_with_a_reason(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t sheet = kit_sheet(store);
    ch_err err = {0};
    ch_stored coil = {0}, again = {0};
    const ch_store_ledger entry = {
        .what = "coil", .origin = "cylinder 3", .lies = "bench, left tray", .torque = "10 Nm"};
    kit_good(ch_store_ledger_add(store, sheet, &entry, "l1", KIT_NOW, &coil, &err), &err);
    kit_good(ch_store_ledger_add(store, sheet, &entry, "l1", KIT_NOW, &again, &err), &err);
    assert_true(again.again);
    assert_int_equal(ch_store_sheet_close(store, sheet, "  \n", KIT_NOW, &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "coil, cylinder 3"));
    assert_int_equal(ch_store_sheet_withdraw(store, sheet, NULL, KIT_NOW, NULL), CH_E_INPUT);
    err = (ch_err){0};
    kit_good(ch_store_sheet_close(store, sheet, "coil is broken, new one ordered", KIT_NOW + 5, &err), &err);
    ch_store_pool pool = {0};
    ch_store_sheet head = {0};
    kit_good(ch_store_sheet_get(store, &pool, sheet, &head, &err), &err);
    assert_true(head.closed);
    assert_string_equal(head.close_reason, "coil is broken, new one ordered");
    assert_int_equal(head.ledger_open, 1);
    kit_good(ch_store_ledger_put_back(store, coil.id, true, KIT_NOW + 9, &err), &err);
    kit_good(ch_store_ledger_put_back(store, coil.id, true, KIT_NOW + 99, &err), &err);
    assert_int_equal(ch_store_ledger_put_back(store, coil.id, false, KIT_NOW + 10, NULL), CH_E_INPUT); /* closed */
    const ch_store_ledger *rows = NULL;
    size_t count = 0;
    kit_good(ch_store_ledger_list(store, &pool, 0, true, &rows, &count, &err), &err);
    assert_int_equal(count, 0);
    kit_good(ch_store_ledger_list(store, &pool, sheet, false, &rows, &count, &err), &err);
    assert_int_equal(count, 1);
    assert_int_equal(rows[0].put_back_s, KIT_NOW + 9);
    assert_string_equal(rows[0].lies, "bench, left tray");
    ch_store_pool_clear(&pool);
    kit_verify(store);
    ch_store_close(store);
}

/* A board without a clock of its own, or one whose battery is flat, is set right in the midst of the work. */
static void a_thing_is_put_back_no_sooner_than_it_was_taken_off_by_a_clock_set_back(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    const int64_t sheet = kit_sheet(store);
    const ch_store_ledger entry = {.what = "plug 1"};
    ch_stored plug = {0};
    ch_err err = {0};
    const ch_store_ledger *rows = NULL;
    size_t count = 0;
    kit_good(ch_store_ledger_add(store, sheet, &entry, NULL, KIT_NOW, &plug, &err), &err);
    kit_good(ch_store_ledger_put_back(store, plug.id, true, KIT_NOW - 10, &err), &err);
    kit_good(ch_store_ledger_list(store, &pool, sheet, false, &rows, &count, &err), &err);
    assert_int_equal(count, 1);
    assert_int_equal(rows[0].put_back_s, KIT_NOW);
    kit_good(ch_store_ledger_put_back(store, plug.id, false, KIT_NOW - 9, &err), &err);
    kit_good(ch_store_ledger_list(store, &pool, sheet, true, &rows, &count, &err), &err);
    assert_int_equal(count, 1);
    kit_verify(store);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
}

static int64_t car_with(ch_store *store, const char *name, int cylinders, const char *bore)
{
    ch_sheet described;
    ch_err err = {0};
    ch_stored car = {0};
    ch_sheet_init(&described);
    described.engine.cylinders = cylinders;
    described.engine.bore = kit_quantity(bore, CH_DIM_LENGTH);
    const ch_store_engine engine = {.name = name, .begun = {2025, 3, 1}};
    kit_good(ch_store_car_enter(store, &(ch_store_car){.name = name}, &engine, &described, NULL, KIT_NOW, &car, &err),
             &err);
    ch_sheet_clear(&described);
    return car.id;
}

static int64_t sheet_of(ch_store *store, int64_t engine)
{
    ch_err err = {0};
    ch_stored sheet = {0};
    const ch_store_row row = kit_row(3, "12.3 bar");
    kit_good(ch_store_sheet_begin(store, engine, 0, (ch_date){2027, 1, 16}, NULL, KIT_NOW, &sheet, &err), &err);
    kit_good(ch_store_row_add(store, sheet.id, &row, NULL, KIT_NOW, NULL, &err), &err);
    return sheet.id;
}

static void a_withdrawn_sheet_counts_for_nothing_and_comes_back_whole(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_err err = {0};
    ch_store_pool pool = {0};
    ch_store_sheet head = {0};
    ch_sheet loaded;
    const ch_store_sheet *rows = NULL;
    size_t count = 0;
    const int64_t car = car_with(store, "four", 4, "80 mm"), sheet = sheet_of(store, 1);
    kit_good(ch_store_sheet_withdraw(store, sheet, "no test", KIT_NOW + 5, &err), &err);
    assert_int_equal(ch_store_sheet_get(store, &pool, sheet, &head, NULL), CH_E_INPUT);
    assert_int_equal(ch_store_sheet_load(store, sheet, &loaded, NULL), CH_E_INPUT);
    assert_int_equal(ch_store_sheet_withdraw(store, sheet, "again", KIT_NOW + 6, NULL), CH_E_INPUT);
    assert_int_equal(ch_store_sheet_take(store, sheet, 0, KIT_NOW + 6, NULL), CH_E_INPUT);
    assert_int_equal(ch_store_sheet_move(store, sheet, car, KIT_NOW + 6, NULL), CH_E_INPUT);
    kit_good(ch_store_sheets(store, &pool, 0, &rows, &count, &err), &err);
    assert_int_equal(count, 0);
    kit_good(ch_store_sheets_withdrawn(store, &pool, car + 1, &rows, &count, &err), &err);
    assert_int_equal(count, 0);
    kit_good(ch_store_sheets_withdrawn(store, &pool, car, &rows, &count, &err), &err);
    assert_int_equal(count, 1);
    assert_int_equal(rows[0].withdrawn_s, KIT_NOW + 5);
    assert_string_equal(rows[0].withdrawn_why, "no test");
    kit_good(ch_store_sheet_restore(store, sheet, KIT_NOW + 7, &err), &err);
    assert_int_equal(ch_store_sheet_restore(store, sheet, KIT_NOW + 8, &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "there is no withdrawn sheet with the id"));
    err = (ch_err){0};
    kit_good(ch_store_sheet_get(store, &pool, sheet, &head, &err), &err);
    assert_true(head.withdrawn_s == 0 && head.withdrawn_why == NULL && head.entries == 1);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM history WHERE table_name = 'sheet' AND was "
                                                    "LIKE '%\"delete_reason\":\"no test\"%'"),
                     1);
    ch_store_pool_clear(&pool);
    kit_verify(store);
    ch_store_close(store);
}

static void a_sheet_is_handed_over_to_another_car_or_refused_whole(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_err err = {0};
    ch_store_pool pool = {0};
    ch_store_sheet head = {0};
    ch_sheet loaded, own;
    car_with(store, "six", 6, "90 mm");
    const int64_t four = car_with(store, "four", 4, "80 mm"), two = car_with(store, "two", 2, "70 mm");
    const int64_t sheet = sheet_of(store, 1);
    ch_stored bare = {0};
    kit_good(ch_store_car_add(store, &(ch_store_car){.name = "no engine"}, NULL, KIT_NOW, &bare, &err), &err);
    assert_int_equal(ch_store_sheet_move(store, sheet, bare.id, KIT_NOW, &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "no engine of that car"));
    err = (ch_err){0};
    assert_int_equal(ch_store_sheet_move(store, sheet, two, KIT_NOW, &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "a row is of cylinder 3"));
    err = (ch_err){0};
    kit_good(ch_store_sheet_get(store, &pool, sheet, &head, &err), &err);
    assert_int_equal(head.engine_id, 1);
    kit_good(ch_store_sheet_close(store, sheet, NULL, KIT_NOW, &err), &err); /* a closed one as well */
    kit_good(ch_store_sheet_move(store, sheet, four, KIT_NOW, &err), &err);
    kit_good(ch_store_sheet_get(store, &pool, sheet, &head, &err), &err);
    assert_true(head.car_id == four && head.cylinders == 4 && head.entries == 1 && head.closed);
    kit_good(ch_store_sheet_load(store, sheet, &loaded, &err), &err);
    assert_string_equal(loaded.engine.bore.number, "80");
    ch_sheet_clear(&loaded);
    /* what the sheet says itself stays, and its number of cylinders has to fit */
    static const char text[] = "sheet: 1\nengine: {cylinders: 4, bore: 81 mm}\nconditions: {date: 2027-01-17}\n"
                               "compression: [{cylinder: 1, reading: 12 bar}]\n";
    ch_store_brought told = {0};
    kit_good(ch_sheet_parse("own", text, sizeof text - 1, &own, &err), &err);
    kit_good(ch_store_sheets_bring(store, four, &own, 1, KIT_NOW, &told, &err), &err);
    const int64_t other = car_with(store, "another four", 4, "75 mm");
    kit_good(ch_store_sheet_move(store, told.last.id, other, KIT_NOW, &err), &err);
    kit_good(ch_store_sheet_load(store, told.last.id, &loaded, &err), &err);
    assert_string_equal(loaded.engine.bore.number, "81");
    ch_sheet_clear(&loaded);
    own.conditions.date = (ch_date){2027, 1, 18};
    kit_good(ch_store_sheets_bring(store, 0, &own, 1, KIT_NOW, &told, &err), &err);
    assert_int_equal(ch_store_sheet_move(store, told.last.id, two, KIT_NOW, &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "the test is of 4, the engine that was in the car on its day has 2"));
    err = (ch_err){0};
    kit_good(ch_store_sheet_move(store, told.last.id, four, KIT_NOW, &err), &err);
    ch_sheet_clear(&own);
    ch_store_pool_clear(&pool);
    kit_verify(store);
    ch_store_close(store);
}

static void what_is_known_later_is_taken_into_a_sheet_when_it_is_asked_for(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_err err = {0};
    ch_sheet described, loaded;
    ch_stored gauge = {0};
    bool grown = true;
    car_with(store, "four", 4, "80 mm");
    const int64_t sheet = sheet_of(store, 1);
    kit_good(ch_store_sheet_grown(store, sheet, &grown, &err), &err);
    assert_false(grown);
    ch_sheet_init(&described);
    described.engine.cylinders = 4;
    described.engine.bore = kit_quantity("82 mm", CH_DIM_LENGTH);
    described.engine.stroke = kit_quantity("70 mm", CH_DIM_LENGTH);
    described.gauge.span = kit_quantity("20 bar", CH_DIM_PRESSURE);
    described.gauge.hose_volume = kit_quantity("12 ml", CH_DIM_VOLUME);
    described.gauge.accuracy_kind = CH_ACCURACY_OF_SPAN;
    described.gauge.accuracy = kit_quantity("2 %", CH_DIM_RATIO);
    kit_good(ch_store_engine_describe(store, 1, &described, KIT_NOW, &err), &err);
    kit_good(ch_store_gauge_add(store, &(ch_store_gauge){.name = "dial"}, &described, NULL, KIT_NOW, &gauge, &err),
             &err);
    kit_good(ch_store_sheet_grown(store, sheet, &grown, &err), &err);
    assert_true(grown);
    assert_int_equal(ch_store_sheet_take(store, sheet, gauge.id + 1, KIT_NOW, NULL), CH_E_INPUT); /* no such gauge */
    kit_good(ch_store_sheet_take(store, sheet, gauge.id, KIT_NOW, &err), &err);
    kit_good(ch_store_sheet_grown(store, sheet, &grown, &err), &err);
    assert_false(grown);
    kit_good(ch_store_sheet_load(store, sheet, &loaded, &err), &err);
    assert_string_equal(loaded.engine.bore.number, "82");
    assert_string_equal(loaded.engine.stroke.number, "70");
    assert_true(loaded.gauge.span.si == 20e5 && loaded.gauge.accuracy_kind == CH_ACCURACY_OF_SPAN &&
                loaded.gauge.accuracy.si == 0.02 && ch_quantity_given(&loaded.gauge.hose_volume));
    assert_int_equal(loaded.compression_count, 1);
    ch_sheet_clear(&loaded);
    kit_good(ch_store_sheet_take(store, sheet, 0, KIT_NOW, &err), &err); /* it was not that gauge */
    kit_good(ch_store_sheet_load(store, sheet, &loaded, &err), &err);
    assert_false(ch_quantity_given(&loaded.gauge.span));
    ch_sheet_clear(&loaded);
    /* an engine of another number of cylinders by now offers nothing, and nothing of it is taken */
    described.engine.cylinders = 2;
    kit_good(ch_store_engine_describe(store, 1, &described, KIT_NOW, &err), &err);
    assert_int_equal(ch_store_sheet_take(store, sheet, 0, KIT_NOW, NULL), CH_E_INPUT);
    kit_good(ch_store_sheet_close(store, sheet, NULL, KIT_NOW, &err), &err);
    assert_int_equal(ch_store_sheet_take(store, sheet, 0, KIT_NOW, &err), CH_E_INPUT);
    assert_int_equal(ch_store_sheet_grown(store, 99, &grown, NULL), CH_E_INPUT);
    ch_sheet_clear(&described);
    kit_verify(store);
    ch_store_close(store);
}

static void the_newest_of_many_sheets_are_found_open_and_closed(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_err err = {0};
    int64_t sheets[9];
    for (int i = 0; i < 9; i++)
        sheets[i] = kit_sheet(store);
    for (int i = 0; i < 9; i += 2) /* 0, 2, 4, 6, 8 closed; 1, 3, 5, 7 open */
        kit_good(ch_store_sheet_close(store, sheets[i], NULL, KIT_NOW, &err), &err);
    kit_good(ch_store_sheet_withdraw(store, sheets[8], NULL, KIT_NOW, &err), &err);
    kit_good(ch_store_sheet_withdraw(store, sheets[7], NULL, KIT_NOW, &err), &err);
    static const struct {
        int open_most, closed_most, count, first, last;
    } cases[] = {{2, 3, 5, 6, 2}, {0, 1, 1, 6, 6}, {1, 0, 1, 5, 5}, {100, 100, 7, 6, 0}, {0, 0, 0, 0, 0}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        ch_store_pool pool = {0};
        const ch_store_sheet *rows = NULL;
        size_t count = 99;
        kit_good(ch_store_sheets_recent(store, &pool, cases[i].open_most, cases[i].closed_most, &rows, &count, &err),
                 &err);
        assert_int_equal(count, cases[i].count);
        for (size_t n = 1; n < count; n++)
            assert_true(rows[n].id < rows[n - 1].id);
        if (count > 0) {
            assert_int_equal(rows[0].id, sheets[cases[i].first]);
            assert_int_equal(rows[count - 1].id, sheets[cases[i].last]);
        }
        ch_store_pool_clear(&pool);
    }
    ch_store_close(store);
}

static void a_test_of_an_earlier_day_that_is_stored_later_is_not_the_newest(void **state)
{
    (void)state;
    static const ch_date days[] = {{2026, 11, 20}, {2024, 11, 20}, {0}, {2025, 11, 20}, {2026, 11, 20}};
    static const int order[] = {4, 0, 3, 1, 2}; /* of one day the one stored last; without a day at the end */
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    ch_err err = {0};
    const ch_store_sheet *rows = NULL;
    size_t count = 0;
    int64_t id[5];
    for (int i = 0; i < 5; i++) {
        ch_stored stored = {0};
        kit_good(ch_store_sheet_begin(store, 0, 0, days[i], NULL, KIT_NOW + i, &stored, &err), &err);
        kit_good(ch_store_sheet_close(store, stored.id, NULL, KIT_NOW + i, &err), &err);
        id[i] = stored.id;
    }
    kit_good(ch_store_sheets(store, &pool, 0, &rows, &count, &err), &err);
    assert_int_equal(count, 5);
    for (int i = 0; i < 5; i++)
        assert_int_equal(rows[i].id, id[order[i]]);
    kit_good(ch_store_sheets_recent(store, &pool, 9, 3, &rows, &count, &err), &err);
    assert_int_equal(count, 3);
    for (int i = 0; i < 3; i++)
        assert_int_equal(rows[i].id, id[order[i]]);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
}

static void a_closed_sheet_takes_nothing_until_it_is_opened_again(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t sheet = kit_sheet(store);
    ch_err err = {0};
    ch_store_row row = kit_row(1, "178 psi");
    kit_good(ch_store_sheet_close(store, sheet, NULL, KIT_NOW, &err), &err);
    assert_int_equal(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, NULL, &err), CH_E_INPUT);
    assert_string_equal(err.what, "the sheet is closed");
    err = (ch_err){0};
    kit_good(ch_store_sheet_reopen(store, sheet, KIT_NOW + 1, &err), &err);
    kit_good(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, NULL, &err), &err);
    assert_int_equal(kit_count(store, sheet), 1);
    ch_store_close(store);
}

static void the_head_keeps_what_it_said_before(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t sheet = kit_sheet(store);
    ch_err err = {0};
    ch_sheet head;
    ch_store_row row = kit_row(3, "178 psi");
    kit_good(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, NULL, &err), &err);
    kit_good(ch_store_sheet_load(store, sheet, &head, &err), &err);
    head.engine.bore = kit_quantity("80.5 mm", CH_DIM_LENGTH);
    kit_good(ch_store_sheet_head(store, sheet, &head, KIT_NOW + 1, &err), &err);
    head.engine.bore = kit_quantity("81 mm", CH_DIM_LENGTH);
    kit_good(ch_store_sheet_head(store, sheet, &head, KIT_NOW + 2, &err), &err);
    head.engine.bore = ch_quantity_none();
    kit_good(ch_store_sheet_head(store, sheet, &head, KIT_NOW + 3, &err), &err);
    const char *path = kit_path("garage.db");
    assert_int_equal(kit_ask(path, "SELECT count(*) FROM history WHERE table_name = 'field'"), 2);
    assert_int_equal(
        kit_ask(path, "SELECT json_extract(was, '$.text') = '80.5' AND from_s = 1800000001 AND until_s = 1800000002"
                      " FROM history WHERE table_name = 'field' ORDER BY id"),
        1);
    head.engine.cylinders = 2; /* there is a row of cylinder 3 */
    assert_int_equal(ch_store_sheet_head(store, sheet, &head, KIT_NOW, &err), CH_E_INPUT);
    ch_sheet_clear(&head);
    kit_verify(store);
    ch_store_close(store);
}

static void every_change_of_a_sheet_raises_its_revision(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t sheet = kit_sheet(store);
    ch_err err = {0};
    ch_stored stored = {0};
    int64_t before = 0, after = 0;
    ch_store_row row = kit_row(1, "178 psi");
    const ch_store_ledger entry = {.what = "coil"};
    for (int step = 0; step < 6; step++) {
        kit_good(ch_store_sheet_revision(store, sheet, &before, &err), &err);
        switch (step) {
        case 0: kit_good(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, &stored, &err), &err); break;
        case 1: kit_good(ch_store_row_correct(store, stored.id, &row, NULL, KIT_NOW, &stored, &err), &err); break;
        case 2: kit_good(ch_store_row_delete(store, stored.id, NULL, KIT_NOW, NULL, &err), &err); break;
        case 3: kit_good(ch_store_ledger_add(store, sheet, &entry, NULL, KIT_NOW, &stored, &err), &err); break;
        case 4: kit_good(ch_store_ledger_put_back(store, stored.id, true, KIT_NOW, &err), &err); break;
        default: kit_good(ch_store_sheet_close(store, sheet, NULL, KIT_NOW, &err), &err); break;
        }
        kit_good(ch_store_sheet_revision(store, sheet, &after, &err), &err);
        assert_true(after > before);
    }
    ch_store_close(store);
}

static void photos_come_back_byte_for_byte(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t sheet = kit_sheet(store);
    ch_err err = {0};
    ch_stored stored = {0};
    ch_store_pool pool = {0};
    static unsigned char bytes[CH_STORE_PHOTO_MAX + 1];
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = (unsigned char)(i * 2654435761U >> 13);
    ch_store_photo photo = {.sheet_id = sheet, .mime = "image/jpeg", .bytes = bytes, .length = CH_STORE_PHOTO_MAX};
    kit_good(ch_store_photo_add(store, &photo, "p", KIT_NOW, &stored, &err), &err);
    ch_store_photo got = {0};
    kit_good(ch_store_photo_get(store, &pool, stored.id, &got, &err), &err);
    assert_int_equal(got.length, CH_STORE_PHOTO_MAX);
    assert_memory_equal(got.bytes, bytes, got.length);
    photo.length++;
    assert_int_equal(ch_store_photo_add(store, &photo, NULL, KIT_NOW, NULL, NULL), CH_E_LIMIT);
    photo.length = 10;
    photo.mime = "text/html";
    assert_int_equal(ch_store_photo_add(store, &photo, NULL, KIT_NOW, NULL, NULL), CH_E_INPUT);
    photo.mime = "image/png";
    photo.ledger_id = 9;
    assert_int_equal(ch_store_photo_add(store, &photo, NULL, KIT_NOW, NULL, NULL), CH_E_INPUT);
    kit_good(ch_store_photo_delete(store, stored.id, KIT_NOW, &err), &err);
    const ch_store_photo *rows = NULL;
    size_t count = 1;
    kit_good(ch_store_photos(store, &pool, sheet, &rows, &count, &err), &err);
    assert_int_equal(count, 0);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
}

static void the_csv_has_a_units_row_and_the_text_as_typed(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t sheet = kit_sheet(store);
    ch_err err = {0};
    ch_store_row row = kit_row(2, "12,3 bar");
    row.reading.note = (char[]){"slow, \"tired\" starter"};
    kit_good(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, NULL, &err), &err);
    ch_text csv;
    ch_text_init(&csv, 10000);
    kit_good(ch_store_readings_csv(store, &csv, &err), &err);
    assert_string_equal(
        ch_text_string(&csv),
        "sheet,date,list,cylinder,reading,first_stroke,oil,supply,loss,orifice,note,as_typed\r\n"
        ",,,,Pa,Pa,m3,Pa,1,m,,\r\n"
        "1,2027-01-16,compression,2,1230000,,,,,,\"slow, \"\"tired\"\" starter\",\"reading 12,3 bar\"\r\n");
    ch_text_clear(&csv);
    ch_store_close(store);
}

static void texts_that_are_none_are_refused(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t sheet = kit_sheet(store);
    static const char *const bad[] = {NULL,       "",         "  ",           "a\x01",
                                      "\xff",     "\xc0\xaf", "\xed\xa0\x80", "\xf4\x90\x80\x80",
                                      "\xc2\x85", "\xe2\x82", "x\x7f"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        const ch_store_ledger entry = {.what = bad[i]};
        assert_int_equal(ch_store_ledger_add(store, sheet, &entry, NULL, KIT_NOW, NULL, NULL), CH_E_INPUT);
    }
    const ch_store_ledger good = {.what = "d\xc3\xa9marreur '); DROP TABLE ledger; -- <b>&\" \xf0\x9f\x94\xa7"};
    ch_err err = {0};
    kit_good(ch_store_ledger_add(store, sheet, &good, NULL, KIT_NOW, NULL, &err), &err);
    ch_store_pool pool = {0};
    const ch_store_ledger *rows = NULL;
    size_t count = 0;
    kit_good(ch_store_ledger_list(store, &pool, sheet, true, &rows, &count, &err), &err);
    assert_string_equal(rows[0].what, good.what);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
}

/* Another program's trigger changes what is stored while it is stored. */
static void a_whole_sheet_that_comes_back_otherwise_is_refused(void **state)
{
    (void)state;
    static const struct {
        const char *set;
        ch_status status;
        const char *words;
    } cases[] = {{"text = 'Invented' WHERE name = 'title'", CH_E_IO, "the sheet did not come back as it was written"},
                 {"text = 'other' WHERE name = 'title'", CH_E_IO, "the sheet did not come back as it was written"},
                 {"text = 'many' WHERE name = 'engine.cylinders'", CH_E_INPUT,
                  "engine.cylinders: what is stored cannot be read"}};
    static const char text[] =
        "{sheet: 1, title: invented, engine: {cylinders: 1}, compression: [{cylinder: 1, reading: 11.2 bar}]}";
    ch_store *store = kit_open();
    ch_sheet sheet;
    ch_err err = {0};
    kit_good(ch_sheet_parse("invented", text, sizeof text - 1, &sheet, &err), &err);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char sql[256];
        sqlite3 *db = NULL;
        snprintf(
            sql, sizeof sql,
            "DROP TRIGGER IF EXISTS tamper; CREATE TRIGGER tamper AFTER INSERT ON field BEGIN UPDATE field SET %s; END",
            cases[i].set);
        assert_int_equal(sqlite3_open_v2(kit_path("garage.db"), &db, SQLITE_OPEN_READWRITE, NULL), SQLITE_OK);
        assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
        sqlite3_close(db);
        err = (ch_err){0};
        const ch_status rc = ch_store_sheet_save(store, &sheet, 0, NULL, KIT_NOW, NULL, &err);
        if (rc != cases[i].status || strcmp(err.what, cases[i].words) != 0)
            fail_msg("%s: %d %s", cases[i].set, (int)rc, err.what);
    }
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM sheet"), 0);
    ch_sheet_clear(&sheet);
    ch_store_close(store);
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, kit_begin, kit_end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROMISE(every_sheet_of_the_tree_comes_out_as_it_went_in),
        PROMISE(a_sheet_with_every_key_comes_out_as_it_went_in),
        PROMISE(a_correction_keeps_the_old_value_and_its_time),
        PROMISE(two_corrections_of_one_row_make_one_chain),
        PROMISE(a_deletion_is_a_mark),
        PROMISE(the_same_sending_is_stored_once),
        PROMISE(an_id_of_a_form_that_none_has_is_refused),
        PROMISE(a_row_that_no_sheet_could_hold_is_refused),
        PROMISE(the_file_itself_refuses_to_forget),
        PROMISE(a_sheet_closes_with_its_ledger_or_with_a_reason),
        PROMISE(a_thing_is_put_back_no_sooner_than_it_was_taken_off_by_a_clock_set_back),
        PROMISE(a_withdrawn_sheet_counts_for_nothing_and_comes_back_whole),
        PROMISE(a_sheet_is_handed_over_to_another_car_or_refused_whole),
        PROMISE(what_is_known_later_is_taken_into_a_sheet_when_it_is_asked_for),
        PROMISE(the_newest_of_many_sheets_are_found_open_and_closed),
        PROMISE(a_test_of_an_earlier_day_that_is_stored_later_is_not_the_newest),
        PROMISE(a_closed_sheet_takes_nothing_until_it_is_opened_again),
        PROMISE(the_head_keeps_what_it_said_before),
        PROMISE(every_change_of_a_sheet_raises_its_revision),
        PROMISE(photos_come_back_byte_for_byte),
        PROMISE(the_csv_has_a_units_row_and_the_text_as_typed),
        PROMISE(texts_that_are_none_are_refused),
        PROMISE(a_whole_sheet_that_comes_back_otherwise_is_refused),
    };
    return cmocka_run_group_tests_name("store_sheet", tests, NULL, NULL);
}
