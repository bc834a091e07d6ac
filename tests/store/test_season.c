/* The history of an engine out of the garage file: which sheets count, and that judged ones are kept, thrown away and made again. */
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "crosshatch/store_season.h"
#include "kit.h"

enum { HOUR = 3600 };

static ch_knowledge knowledge;
static ch_assumptions assumptions;

static int begin(void **state)
{
    if (ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL) < 0 ||
        ch_assumptions_parse(&assumptions, ch_assumptions_builtin(), NULL) < 0)
        return -1;
    return kit_begin(state);
}

static int end(void **state)
{
    ch_knowledge_clear(&knowledge);
    ch_assumptions_clear(&assumptions);
    return kit_end(state);
}

static int64_t add_car(ch_store *store)
{
    ch_stored stored = {0};
    const ch_store_car car = {.name = "invented"};
    kit_good(ch_store_car_add(store, &car, NULL, KIT_NOW, &stored, NULL), NULL);
    return stored.id;
}

static int64_t add_engine(ch_store *store, int64_t car, ch_store_why why, int64_t continues, ch_date day)
{
    ch_stored stored = {0};
    ch_err err = {0};
    const ch_store_engine engine = {
        .car_id = car, .name = "two litre", .why = why, .continues_id = continues, .begun = day};
    kit_good(ch_store_engine_begin(store, &engine, NULL, 0, NULL, NULL, KIT_NOW, &stored, &err), &err);
    return stored.id;
}

static int64_t add_sheet(ch_store *store, int64_t engine, const char *day_and_hours)
{
    char text[400];
    ch_sheet sheet;
    ch_stored stored = {0};
    ch_err err = {0};
    snprintf(text, sizeof text,
             "sheet: 1\nengine: {cylinders: 1}\nconditions: {%s}\ncompression: [{cylinder: 1, reading: 170 psi}]\n",
             day_and_hours);
    kit_good(ch_sheet_parse("sheet", text, strlen(text), &sheet, &err), &err);
    kit_good(ch_store_sheet_save(store, &sheet, engine, NULL, KIT_NOW, &stored, &err), &err);
    ch_sheet_clear(&sheet);
    return stored.id;
}

static void add_event(ch_store *store, int64_t car, ch_date day, double hours)
{
    ch_err err = {0};
    const ch_store_event event = {
        .car_id = car, .day = day, .name = "sprint", .running_s = hours * HOUR, .distance_m = NAN, .starts = -1};
    kit_good(ch_store_event_add(store, &event, NULL, KIT_NOW, NULL, &err), &err);
}

static void add_part(ch_store *store, int64_t engine, const char *name, ch_date day)
{
    ch_err err = {0};
    const ch_store_part part = {.engine_id = engine, .name = name, .fitted = day};
    kit_good(ch_store_part_add(store, &part, NULL, KIT_NOW, NULL, &err), &err);
}

static ch_store_season load(ch_store *store, ch_store_pool *pool, int64_t car, const char *made_by)
{
    ch_store_season season;
    ch_err err = {0};
    const ch_store_judging judging = {.knowledge = &knowledge, .made_by = made_by, .options = {.seed = 1}};
    kit_good(ch_store_season_load(store, pool, car, &judging, &assumptions, &season, &err), &err);
    return season;
}

static void sheets_are_judged_once_and_kept_until_they_change(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    const int64_t car = add_car(store), engine = add_engine(store, car, CH_STORE_FIRST, 0, (ch_date){2024, 1, 1});
    const int64_t sheet = add_sheet(store, engine, "date: 2025-01-16, engine_hours: 400 h, odometer: 1000 km");
    const ch_store_season first = load(store, &pool, car, "this"), again = load(store, &pool, car, "this");
    assert_int_equal(first.sheets, 1);
    assert_int_equal(first.judged, 1);
    assert_int_equal(again.judged, 0);
    assert_memory_equal(&first.sheet[0].result, &again.sheet[0].result, sizeof first.sheet[0].result);
    expect_close(again.sheet[0].hours_s, 400.0 * HOUR, 1e-6);
    expect_close(again.sheet[0].odometer_m, 1e6, 1e-6);
    assert_int_equal(load(store, &pool, car, "other knowledge").judged, 1);
    assert_int_equal(load(store, &pool, car, NULL).judged, 1);
    kit_verify(store);
    /* a changed sheet is another one */
    ch_err err = {0};
    kit_good(ch_store_sheet_reopen(store, sheet, KIT_NOW, &err), &err);
    const ch_store_row row = kit_row(1, "150 psi");
    kit_good(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, NULL, &err), &err);
    const ch_store_season changed = load(store, &pool, car, "other knowledge");
    assert_int_equal(changed.judged, 1);
    assert_int_equal(changed.sheet[0].result.cylinder[0].n, 2);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
    unlink(kit_path("garage.db"));
}

static void a_file_that_may_only_be_read_gives_the_same_history(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    ch_err err = {0};
    const int64_t car = add_car(store), engine = add_engine(store, car, CH_STORE_FIRST, 0, (ch_date){2024, 1, 1});
    add_sheet(store, engine, "date: 2025-01-16");
    ch_store_close(store);
    kit_good(ch_store_open(kit_path("garage.db"), CH_STORE_READ_ONLY, &store, &err), &err);
    assert_int_equal(load(store, &pool, car, "this").judged, 1);
    assert_int_equal(load(store, &pool, car, "this").judged, 1); /* nothing was kept, and that is no failure */
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM derived"), 0);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
    unlink(kit_path("garage.db"));
}

static void damaged_results_are_made_again(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    const int64_t car = add_car(store), engine = add_engine(store, car, CH_STORE_FIRST, 0, (ch_date){2024, 1, 1});
    add_sheet(store, engine, "date: 2025-01-16");
    assert_int_equal(load(store, &pool, car, "this").judged, 1);
    kit_ask(kit_path("garage.db"), "UPDATE derived SET numbers = x'0000'");
    assert_int_equal(load(store, &pool, car, "this").judged, 1);
    assert_int_equal(load(store, &pool, car, "this").judged, 0);
    kit_ask(kit_path("garage.db"), "DELETE FROM derived");
    assert_int_equal(load(store, &pool, car, "this").judged, 1);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
    unlink(kit_path("garage.db"));
}

static void stays_of_the_same_engine_count_together_and_a_rebuild_begins_anew(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    const int64_t car = add_car(store), old = add_engine(store, car, CH_STORE_FIRST, 0, (ch_date){2022, 1, 1});
    add_sheet(store, old, "date: 2022-02-01, engine_hours: 300 h");
    add_event(store, car, (ch_date){2022, 5, 1}, 4.0);
    const int64_t spare = add_engine(store, car, CH_STORE_SWAP, 0, (ch_date){2023, 1, 1});
    add_sheet(store, spare, "date: 2023-02-01, engine_hours: 20 h");
    add_event(store, car, (ch_date){2023, 5, 1}, 7.0);
    ch_store_season season = load(store, &pool, car, NULL);
    assert_int_equal(season.engine_id, spare);
    assert_int_equal(season.sheets, 1);
    assert_int_equal(season.events, 1);
    const int64_t back = add_engine(store, car, CH_STORE_SWAP, old, (ch_date){2024, 1, 1});
    add_sheet(store, back, "date: 2024-02-01, engine_hours: 304 h");
    add_part(store, back, "Head gasket set", (ch_date){2024, 3, 1});
    add_part(store, back, "clutch", (ch_date){2024, 3, 1});
    season = load(store, &pool, car, NULL);
    assert_int_equal(season.sheets, 2);
    assert_int_equal(season.events, 1);
    expect_close(season.event[0].running_s, 4.0 * HOUR, 1e-6);
    assert_int_equal(season.repairs, 1);
    assert_string_equal(season.repair[0].what, "Head gasket set");
    assert_string_equal(season.car, "invented");
    add_engine(store, car, CH_STORE_REBUILD, back, (ch_date){2025, 1, 1});
    season = load(store, &pool, car, NULL);
    assert_int_equal(season.sheets, 0);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
    unlink(kit_path("garage.db"));
}

static void sheets_of_no_engine_and_without_a_day_or_a_reading_are_told(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    ch_err err = {0};
    add_sheet(store, 0, "engine_hours: 10 h");
    ch_sheet sheet;
    static const char LEAKS[] = "sheet: 1\nengine: {cylinders: 1}\nleaks: [{cylinder: 1, rings: 1 mm2}]\n";
    kit_good(ch_sheet_parse("sheet", LEAKS, strlen(LEAKS), &sheet, &err), &err);
    kit_good(ch_store_sheet_save(store, &sheet, 0, NULL, KIT_NOW, NULL, &err), &err);
    ch_sheet_clear(&sheet);
    const ch_store_season season = load(store, &pool, 0, NULL);
    assert_int_equal(season.sheets, 1);
    assert_int_equal(season.passed_over, 1);
    assert_true(season.sheet[0].day_assumed);
    assert_int_equal(ch_date_days(season.sheet[0].day), KIT_NOW / 86400);
    ch_store_season unused;
    const ch_store_judging judging = {.knowledge = &knowledge};
    assert_int_equal(ch_store_season_load(store, &pool, 77, &judging, &assumptions, &unused, NULL), CH_E_INPUT);
    const int64_t car = add_car(store);
    assert_int_equal(ch_store_season_load(store, &pool, car, &judging, &assumptions, &unused, &err), CH_E_INPUT);
    assert_string_equal(err.what, "the car has no engine");
    ch_store_pool_clear(&pool);
    ch_store_close(store);
    unlink(kit_path("garage.db"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sheets_are_judged_once_and_kept_until_they_change),
        cmocka_unit_test(a_file_that_may_only_be_read_gives_the_same_history),
        cmocka_unit_test(damaged_results_are_made_again),
        cmocka_unit_test(stays_of_the_same_engine_count_together_and_a_rebuild_begins_anew),
        cmocka_unit_test(sheets_of_no_engine_and_without_a_day_or_a_reading_are_told),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
