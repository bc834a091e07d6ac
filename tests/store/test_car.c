/* Cars, engine lives, gauges, events and the parts that collect hours. */
#include <math.h>
#include <string.h>

#include "kit.h"

enum { HOUR = 3600 };

static int64_t add_car(ch_store *store)
{
    ch_stored stored = {0};
    ch_err err = {0};
    const ch_store_car car = {.name = "the red one"};
    kit_good(ch_store_car_add(store, &car, "car-1", KIT_NOW, &stored, &err), &err);
    return stored.id;
}

static int64_t begin_engine(ch_store *store, int64_t car, ch_store_why why, int64_t continues, ch_date day,
                            const int64_t *renewed, size_t count)
{
    ch_stored stored = {0};
    ch_err err = {0};
    const ch_store_engine engine = {
        .car_id = car, .name = "two litre", .why = why, .continues_id = continues, .begun = day};
    kit_good(ch_store_engine_begin(store, &engine, renewed, count, NULL, NULL, KIT_NOW, &stored, &err), &err);
    return stored.id;
}

static int64_t add_part(ch_store *store, int64_t engine, const char *name, ch_date day, double carried_s)
{
    ch_stored stored = {0};
    ch_err err = {0};
    const ch_store_part part = {.engine_id = engine, .name = name, .fitted = day, .carried_running_s = carried_s};
    kit_good(ch_store_part_add(store, &part, NULL, KIT_NOW, &stored, &err), &err);
    return stored.id;
}

static int64_t add_event(ch_store *store, int64_t car, ch_date day, double hours, int64_t starts)
{
    ch_stored stored = {0};
    ch_err err = {0};
    const ch_store_event event = {.car_id = car,
                                  .day = day,
                                  .name = "hill climb",
                                  .running_s = hours * HOUR,
                                  .distance_m = hours * 60e3,
                                  .starts = starts};
    kit_good(ch_store_event_add(store, &event, NULL, KIT_NOW, &stored, &err), &err);
    return stored.id;
}

static double part_hours(ch_store *store, int64_t engine, const char *name)
{
    ch_store_pool pool = {0};
    const ch_store_part *rows = NULL;
    size_t count = 0;
    double hours = NAN;
    ch_err err = {0};
    kit_good(ch_store_parts(store, &pool, engine, &rows, &count, &err), &err);
    for (size_t i = 0; i < count; i++)
        if (strcmp(rows[i].name, name) == 0)
            hours = rows[i].running_s / HOUR;
    ch_store_pool_clear(&pool);
    return hours;
}

static void a_rebuild_begins_a_life_and_parts_carry_their_hours(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t car = add_car(store);
    const int64_t old = begin_engine(store, car, CH_STORE_FIRST, 0, (ch_date){2025, 3, 1}, NULL, 0);
    add_part(store, old, "block", (ch_date){2025, 3, 1}, 100.0 * HOUR);
    const int64_t renewed[] = {add_part(store, old, "rings", (ch_date){2025, 3, 1}, 100.0 * HOUR),
                               add_part(store, old, "bearings", (ch_date){2025, 3, 1}, 50.0 * HOUR)};
    add_event(store, car, (ch_date){2025, 5, 1}, 3, 11);
    add_event(store, car, (ch_date){2026, 1, 10}, 2, 7); /* the day of the rebuild, before it */
    const int64_t fresh = begin_engine(store, car, CH_STORE_REBUILD, old, (ch_date){2026, 1, 10}, renewed, 2);
    add_event(store, car, (ch_date){2026, 1, 10}, 0.5, 2); /* the same day, after it */
    add_event(store, car, (ch_date){2026, 5, 1}, 4, 13);
    expect_close(part_hours(store, old, "rings"), 105, 1e-9); /* sums of a few doubles */
    expect_close(part_hours(store, old, "block"), 105, 1e-9);
    expect_close(part_hours(store, fresh, "rings"), 4.5, 1e-9);
    expect_close(part_hours(store, old, "bearings"), 55, 1e-9);
    expect_close(part_hours(store, fresh, "bearings"), 4.5, 1e-9);
    expect_close(part_hours(store, fresh, "block"), 109.5, 1e-9);
    ch_store_pool pool = {0};
    const ch_store_engine *rows = NULL;
    size_t count = 0;
    ch_err err = {0};
    kit_good(ch_store_engines(store, &pool, car, &rows, &count, &err), &err);
    assert_int_equal(count, 2);
    assert_int_equal(rows[0].ended.year, 2026);
    expect_close(rows[0].running_s, 5.0 * HOUR, 1e-6);
    expect_close(rows[1].running_s, 4.5 * HOUR, 1e-6);
    assert_int_equal(rows[1].starts, 15);
    assert_int_equal(rows[1].continues_id, old);
    ch_store_pool_clear(&pool);
    kit_verify(store);
    ch_store_close(store);
}

/* The life that the events of a car belong to, by the day. */
static void expect_lives(ch_store *store, int64_t car, const int64_t life[], size_t wanted)
{
    ch_store_pool pool = {0};
    const ch_store_event *rows = NULL;
    size_t count = 0;
    ch_err err = {0};
    kit_good(ch_store_events(store, &pool, car, &rows, &count, &err), &err);
    assert_int_equal(count, wanted);
    for (size_t i = 0; i < count; i++)
        assert_int_equal(rows[i].engine_id, life[i]);
    ch_store_pool_clear(&pool);
}

static void what_was_planned_before_a_rebuild_is_run_by_the_rebuilt_engine(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t car = add_car(store);
    const ch_store_car second = {.name = "the blue one"};
    ch_stored other = {0};
    ch_err err = {0};
    kit_good(ch_store_car_add(store, &second, NULL, KIT_NOW, &other, &err), &err);
    const int64_t old = begin_engine(store, car, CH_STORE_FIRST, 0, (ch_date){2026, 1, 1}, NULL, 0);
    const int64_t elsewhere = begin_engine(store, other.id, CH_STORE_FIRST, 0, (ch_date){2026, 1, 1}, NULL, 0);
    const int64_t belt = add_part(store, old, "belt", (ch_date){2026, 1, 1}, 0);
    add_part(store, old, "block", (ch_date){2026, 1, 1}, 0);
    add_event(store, car, (ch_date){2026, 6, 1}, 1, 3);
    add_event(store, car, (ch_date){2027, 1, 15}, 0.5, 1); /* the last run, on the morning of the day it came apart */
    const int64_t gone = add_event(store, car, (ch_date){2027, 4, 1}, 8, 1);
    add_event(store, car, (ch_date){2027, 5, 1}, 2, 6); /* to come: so long it will take */
    add_event(store, car, (ch_date){2027, 6, 1}, NAN, -1);
    add_event(store, other.id, (ch_date){2027, 6, 1}, 2, 6);
    kit_good(ch_store_event_delete(store, gone, KIT_NOW, &err), &err);
    const int64_t fresh = begin_engine(store, car, CH_STORE_REBUILD, old, (ch_date){2027, 1, 15}, &belt, 1);
    expect_lives(store, car, (const int64_t[]){old, old, fresh, fresh}, 4);
    expect_lives(store, other.id, (const int64_t[]){elsewhere}, 1);
    expect_close(part_hours(store, old, "belt"), 1.5, 1e-9); /* and none of what is still to come */
    expect_close(part_hours(store, old, "block"), 1.5, 1e-9);
    expect_close(part_hours(store, fresh, "belt"), 2, 1e-9);
    expect_close(part_hours(store, fresh, "block"), 3.5, 1e-9);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM history WHERE table_name = 'event'"
                                                    " AND json_extract(was, '$.engine_id') = 1 AND from_s <= until_s"),
                     3); /* the two that were handed on, and the one that was deleted */
    /* as an earlier version left them */
    assert_int_equal(
        kit_ask(kit_path("garage.db"), "UPDATE event SET engine_id = 1 WHERE car_id = 1 RETURNING engine_id"), old);
    expect_lives(store, car, (const int64_t[]){old, old, fresh, fresh}, 4);
    kit_verify(store);
    ch_store_close(store);
}

static int64_t add_sheet(ch_store *store, int64_t engine, ch_date day)
{
    ch_stored stored = {0};
    ch_err err = {0};
    kit_good(ch_store_sheet_begin(store, engine, 0, day, NULL, KIT_NOW, &stored, &err), &err);
    return stored.id;
}

static int64_t life_of_sheet(ch_store *store, int64_t id)
{
    ch_store_pool pool = {0};
    ch_store_sheet sheet = {0};
    ch_err err = {0};
    kit_good(ch_store_sheet_get(store, &pool, id, &sheet, &err), &err);
    const int64_t life = sheet.engine_id;
    ch_store_pool_clear(&pool);
    return life;
}

static void set_day(ch_store *store, int64_t id, ch_date day)
{
    ch_sheet head;
    ch_err err = {0};
    kit_good(ch_store_sheet_load(store, id, &head, &err), &err);
    head.conditions.date = day;
    kit_good(ch_store_sheet_head(store, id, &head, KIT_NOW + 1, &err), &err);
    ch_sheet_clear(&head);
}

static void a_test_is_of_the_life_that_was_in_the_car_on_its_day(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t car = add_car(store);
    const int64_t old = begin_engine(store, car, CH_STORE_FIRST, 0, (ch_date){2026, 1, 1}, NULL, 0);
    const int64_t before = add_sheet(store, old, (ch_date){2026, 5, 31});
    const int64_t that_day =
        add_sheet(store, old, (ch_date){2026, 6, 1}); /* before it came apart: it was the old life's then */
    const int64_t since = add_sheet(store, old, (ch_date){2026, 6, 2});
    const int64_t undated = add_sheet(store, old, (ch_date){0});
    const int64_t fresh = begin_engine(store, car, CH_STORE_REBUILD, old, (ch_date){2026, 6, 1}, NULL, 0);
    assert_int_equal(life_of_sheet(store, before), old);
    assert_int_equal(life_of_sheet(store, that_day), old);
    assert_int_equal(life_of_sheet(store, since), fresh);
    assert_int_equal(life_of_sheet(store, undated), old);

    /* Last year's paper, entered since: a new sheet begins on the present life. */
    const int64_t paper = add_sheet(store, fresh, (ch_date){2027, 1, 15});
    set_day(store, paper, (ch_date){2025, 5, 1});
    assert_int_equal(life_of_sheet(store, paper), old);
    set_day(store, paper, (ch_date){2026, 6, 1}); /* either may have been: it stays */
    assert_int_equal(life_of_sheet(store, paper), old);
    set_day(store, paper, (ch_date){2026, 6, 2});
    assert_int_equal(life_of_sheet(store, paper), fresh);
    set_day(store, paper, (ch_date){0});
    assert_int_equal(life_of_sheet(store, paper), fresh);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM history WHERE table_name = 'sheet'"), 3);
    kit_verify(store);
    ch_store_close(store);
}

static void a_swap_leaves_the_parts_of_the_engine_that_came_out(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t car = add_car(store);
    const int64_t first = begin_engine(store, car, CH_STORE_FIRST, 0, (ch_date){2025, 3, 1}, NULL, 0);
    add_part(store, first, "head", (ch_date){2025, 3, 1}, 0);
    add_event(store, car, (ch_date){2025, 5, 1}, 3, 1);
    const int64_t spare = begin_engine(store, car, CH_STORE_SWAP, 0, (ch_date){2025, 6, 1}, NULL, 0);
    add_event(store, car, (ch_date){2025, 7, 1}, 10, 1);
    expect_close(part_hours(store, first, "head"), 3, 1e-9);
    assert_true(isnan(part_hours(store, spare, "head")));
    const int64_t back = begin_engine(store, car, CH_STORE_SWAP, first, (ch_date){2025, 8, 1}, NULL, 0);
    add_event(store, car, (ch_date){2025, 9, 1}, 2, 1);
    expect_close(part_hours(store, back, "head"), 5, 1e-9);
    kit_verify(store);
    ch_store_close(store);
}

static int64_t engine_on(ch_store *store, int64_t car, ch_date day)
{
    int64_t id = -1;
    ch_err err = {0};
    kit_good(ch_store_engine_on(store, car, day, &id, &err), &err);
    return id;
}

static void what_is_older_than_the_car_s_entry_is_of_its_first_life(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t car = add_car(store);
    assert_int_equal(engine_on(store, car, (ch_date){2025, 3, 1}), 0);
    const int64_t first = begin_engine(store, car, CH_STORE_FIRST, 0, (ch_date){2025, 3, 1}, NULL, 0);
    assert_int_equal(engine_on(store, car, (ch_date){2019, 4, 3}), first);
    assert_int_equal(engine_on(store, car, (ch_date){0}), first); /* no day, but only one that it can be */
    add_part(store, first, "head", (ch_date){2018, 3, 1}, 0);
    add_event(store, car, (ch_date){2024, 5, 1}, 3, 1);
    expect_close(part_hours(store, first, "head"), 3, 1e-9);
    /* rebuilt before the car was entered: the first life ended then */
    const int64_t rebuilt = begin_engine(store, car, CH_STORE_REBUILD, first, (ch_date){2024, 1, 10}, NULL, 0);
    assert_int_equal(engine_on(store, car, (ch_date){2024, 1, 9}), first);
    assert_int_equal(engine_on(store, car, (ch_date){2024, 1, 10}), rebuilt);
    assert_int_equal(engine_on(store, car, (ch_date){2025, 3, 1}), rebuilt);
    assert_int_equal(engine_on(store, car, (ch_date){0}), 0);
    kit_verify(store);
    ch_store_close(store);
}

static void wrong_lives_are_refused(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t car = add_car(store);
    const int64_t first = begin_engine(store, car, CH_STORE_FIRST, 0, (ch_date){2025, 3, 1}, NULL, 0);
    ch_store_engine engine = {.car_id = car, .name = "x", .why = CH_STORE_SWAP, .begun = {2025, 3, 20}};
    begin_engine(store, car, CH_STORE_REBUILD, first, (ch_date){2025, 3, 21}, NULL, 0);
    assert_int_equal(ch_store_engine_begin(store, &engine, NULL, 0, NULL, NULL, KIT_NOW, NULL, NULL), CH_E_INPUT);
    engine.begun = (ch_date){0};
    assert_int_equal(ch_store_engine_begin(store, &engine, NULL, 0, NULL, NULL, KIT_NOW, NULL, NULL), CH_E_INPUT);
    engine.begun = (ch_date){2025, 4, 1};
    engine.car_id = car + 1;
    assert_int_equal(ch_store_engine_begin(store, &engine, NULL, 0, NULL, NULL, KIT_NOW, NULL, NULL), CH_E_INPUT);
    engine.car_id = car;
    engine.continues_id = first;
    const int64_t unknown = 77;
    assert_int_equal(ch_store_engine_begin(store, &engine, &unknown, 1, NULL, NULL, KIT_NOW, NULL, NULL), CH_E_INPUT);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM engine WHERE ended_day IS NULL"), 1);
    ch_store_close(store);
}

static void a_sheet_begins_with_what_is_known_of_engine_and_gauge(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_err err = {0};
    ch_sheet sheet, loaded;
    ch_stored gauge = {0}, begun = {0};
    kit_read_sheet("demo/hill-climb-sound.yaml", &sheet);
    const int64_t car = add_car(store);
    ch_stored engine = {0};
    const ch_store_engine e = {.car_id = car, .name = "four", .begun = {2025, 3, 1}};
    kit_good(ch_store_engine_begin(store, &e, NULL, 0, &sheet, NULL, KIT_NOW, &engine, &err), &err);
    const ch_store_gauge g = {.name = "300 psi dial"};
    kit_good(ch_store_gauge_add(store, &g, &sheet, NULL, KIT_NOW, &gauge, &err), &err);
    kit_good(ch_store_sheet_begin(store, engine.id, gauge.id, (ch_date){2027, 1, 16}, NULL, KIT_NOW, &begun, &err),
             &err);
    kit_good(ch_store_sheet_load(store, begun.id, &loaded, &err), &err);
    assert_int_equal(loaded.engine.cylinders, 4);
    assert_memory_equal(loaded.engine.firing_order, sheet.engine.firing_order, sizeof sheet.engine.firing_order);
    assert_true(loaded.engine.bore.si == sheet.engine.bore.si &&
                loaded.engine.compression_ratio == sheet.engine.compression_ratio);
    assert_string_equal(loaded.engine.stroke.number, "83.0");
    assert_ptr_equal(loaded.gauge.grade, sheet.gauge.grade);
    assert_true(loaded.gauge.span.si == sheet.gauge.span.si);
    assert_int_equal(loaded.conditions.date.day, 16);
    assert_true(isnan(loaded.conditions.altitude.si));
    /* what is learnt later does not change the sheet */
    sheet.engine.bore = kit_quantity("79 mm", CH_DIM_LENGTH);
    kit_good(ch_store_engine_describe(store, engine.id, &sheet, KIT_NOW + 1, &err), &err);
    ch_sheet_clear(&loaded);
    kit_good(ch_store_sheet_load(store, begun.id, &loaded, &err), &err);
    assert_string_equal(loaded.engine.bore.number, "78.4");
    ch_sheet_clear(&loaded);
    ch_sheet_init(&loaded);
    kit_good(ch_store_engine_load(store, engine.id, &loaded, &err), &err);
    assert_string_equal(loaded.engine.bore.number, "79");
    kit_good(ch_store_gauge_load(store, gauge.id, &loaded, &err), &err);
    assert_string_equal(loaded.gauge.resolution.number, "2");
    ch_sheet_clear(&loaded);
    ch_sheet_clear(&sheet);
    ch_store_pool pool = {0};
    const ch_store_sheet *rows = NULL;
    size_t count = 0;
    kit_good(ch_store_sheets(store, &pool, car, &rows, &count, &err), &err);
    assert_int_equal(count, 1);
    assert_int_equal(rows[0].car_id, car);
    ch_store_pool_clear(&pool);
    kit_verify(store);
    ch_store_close(store);
}

static void a_test_brought_into_a_car_takes_what_is_known_of_the_engine_and_keeps_what_it_says(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_err err = {0};
    ch_sheet described, old[2], loaded;
    ch_stored engine = {0};
    ch_store_brought told = {0};
    kit_read_sheet("demo/hill-climb-sound.yaml", &described);
    const int64_t car = add_car(store);
    const ch_store_engine e = {.car_id = car, .name = "four", .begun = {2025, 3, 1}};
    kit_good(ch_store_engine_begin(store, &e, NULL, 0, &described, NULL, KIT_NOW, &engine, &err), &err);
    static const char little[] = "sheet: 1\nengine: {cylinders: 3, bore: 79 mm, valve_timing: {intake_closes_abdc: 60},"
                                 " exhaust_valves: {count: 1}, limits: {minimum: 9 bar}}\nconditions: {date: "
                                 "2019-04-03}\ncompression: [{cylinder: 3, reading: 12 bar}]\n";
    static const char other[] = "sheet: 1\nengine: {cylinders: 6}\ncompression: [{cylinder: 6, reading: 12 bar}]\n";
    kit_good(ch_sheet_parse("little", little, sizeof little - 1, &old[0], &err), &err);
    kit_good(ch_sheet_parse("other", other, sizeof other - 1, &old[1], &err), &err);
    /* one that says another number than the engine has is of another engine */
    assert_int_equal(ch_store_sheets_bring(store, car, old, 1, KIT_NOW, &told, &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "the test is of 3, the engine that was in the car on its day has 4"));
    err = (ch_err){0};
    old[0].engine.cylinders_at_least = true; /* as a table says it, by the highest number in it */
    /* a test of more cylinders than the engine has is of another engine; nothing of the lot is stored */
    assert_int_equal(ch_store_sheets_bring(store, car, old, 2, KIT_NOW, &told, &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "the test is of 6, the engine that was in the car on its day has 4"));
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM sheet"), 0);
    kit_good(ch_store_sheets_bring(store, car, old, 1, KIT_NOW, &told, &err), &err);
    assert_true(!told.last.again && told.again == 0 && told.without_engine == 0);
    kit_good(ch_store_sheet_load(store, told.last.id, &loaded, &err), &err);
    const ch_sheet_engine *got = &loaded.engine, *known = &described.engine;
    assert_int_equal(got->cylinders, 4);
    assert_memory_equal(got->firing_order, known->firing_order, sizeof known->firing_order);
    assert_string_equal(got->bore.number, "79"); /* the sheet's own word */
    assert_true(got->stroke.si == known->stroke.si && got->rod_length.si == known->rod_length.si);
    assert_true(got->compression_ratio == 9.8);
    /* angles hold at one lift, and are not mixed */
    assert_true(ch_quantity_given(&got->timing.intake_closes_abdc) && !ch_quantity_given(&got->timing.at_lift) &&
                !ch_quantity_given(&got->timing.exhaust_opens_bbdc));
    assert_true(got->exhaust_valves.count == 1 && got->intake_valves.count == 2);
    assert_true(got->exhaust_valves.lift.si == known->exhaust_valves.lift.si);
    assert_true(got->limits.standard.si == known->limits.standard.si && got->limits.minimum.si == 9e5);
    assert_int_equal(loaded.conditions.date.year, 2019);
    ch_sheet_clear(&loaded);
    /* what is learnt of the engine later does not make the same paper another test */
    described.engine.stroke = kit_quantity("84 mm", CH_DIM_LENGTH);
    kit_good(ch_store_engine_describe(store, engine.id, &described, KIT_NOW, &err), &err);
    kit_good(ch_store_sheets_bring(store, car, old, 1, KIT_NOW, &told, &err), &err);
    assert_true(told.last.again && told.again == 1);
    /* of no car: as it came */
    kit_good(ch_store_sheets_bring(store, 0, &old[1], 1, KIT_NOW, &told, &err), &err);
    kit_good(ch_store_sheet_load(store, told.last.id, &loaded, &err), &err);
    assert_true(loaded.engine.cylinders == 6 && isnan(loaded.engine.compression_ratio));
    ch_sheet_clear(&loaded);
    /* an order of firing says how many there are */
    old[0].engine.firing_order[0] = 1;
    old[0].engine.firing_order[1] = 3;
    old[0].engine.firing_order[2] = 2;
    assert_int_equal(ch_sheet_engine_fill(&old[0], &described, NULL), CH_E_INPUT);
    assert_int_equal(old[0].engine.cylinders, 3);
    ch_sheet_clear(&described);
    ch_sheet_clear(&old[0]);
    ch_sheet_clear(&old[1]);
    kit_verify(store);
    ch_store_close(store);
}

static void a_car_and_its_engine_are_entered_both_or_neither(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_sheet sheet;
    ch_err err = {0};
    ch_stored stored = {0}, again = {0};
    ch_sheet_init(&sheet);
    sheet.engine.cylinders = 4;
    sheet.engine.bore = kit_quantity("84 m", CH_DIM_LENGTH);
    const ch_store_car car = {.name = "the red one"}, nameless = {.name = " "};
    ch_store_engine e = {.name = "four", .begun = {2025, 3, 1}};
    assert_int_equal(ch_store_car_enter(store, &car, &e, &sheet, "c", KIT_NOW, &stored, &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "bore"));
    sheet.engine.bore = kit_quantity("84 mm", CH_DIM_LENGTH);
    assert_int_equal(ch_store_car_enter(store, &nameless, &e, &sheet, "c", KIT_NOW, &stored, NULL), CH_E_INPUT);
    e.begun = (ch_date){0};
    assert_int_equal(ch_store_car_enter(store, &car, &e, &sheet, "c", KIT_NOW, &stored, NULL), CH_E_INPUT);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM car"), 0);
    e.begun = (ch_date){2025, 3, 1};
    err = (ch_err){0};
    kit_good(ch_store_car_enter(store, &car, &e, &sheet, "c", KIT_NOW, &stored, &err), &err);
    kit_good(ch_store_car_enter(store, &car, &e, &sheet, "c", KIT_NOW, &again, &err), &err);
    assert_true(again.again && again.id == stored.id);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM engine WHERE car_id = 1"), 1);
    ch_sheet_clear(&sheet);
    kit_verify(store);
    ch_store_close(store);
}

static void an_engine_that_no_sheet_could_hold_is_refused(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_sheet sheet;
    ch_err err = {0};
    ch_sheet_init(&sheet);
    sheet.engine.cylinders = 4;
    sheet.engine.bore = kit_quantity("84 m", CH_DIM_LENGTH);
    const ch_store_engine e = {.car_id = add_car(store), .name = "four", .begun = {2025, 3, 1}};
    assert_int_equal(ch_store_engine_begin(store, &e, NULL, 0, &sheet, NULL, KIT_NOW, NULL, &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "bore"));
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM engine"), 0);
    ch_sheet_clear(&sheet);
    ch_store_close(store);
}

static void records_keep_what_they_were(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_err err = {0};
    const ch_store_car car = {.id = add_car(store), .name = "the blue one", .note = "painted"};
    kit_good(ch_store_car_change(store, &car, KIT_NOW + 7, &err), &err);
    kit_good(ch_store_car_delete(store, car.id, KIT_NOW + 8, &err), &err);
    assert_int_equal(kit_ask(kit_path("garage.db"),
                             "SELECT count(*) FROM history WHERE json_extract(was, '$.name') = 'the red one'"
                             " AND from_s = 1800000000 AND until_s = 1800000007"),
                     1);
    assert_int_equal(ch_store_car_change(store, &car, KIT_NOW, NULL), CH_E_INPUT);
    ch_store_pool pool = {0};
    const ch_store_car *rows = NULL;
    size_t count = 9;
    kit_good(ch_store_cars(store, &pool, &rows, &count, &err), &err);
    assert_int_equal(count, 0);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
}

static void a_part_keeps_what_tells_when_it_is_due(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_err err = {0};
    ch_stored car = {0}, engine = {0}, part = {0};
    const ch_store_car c = {.name = "car"};
    kit_good(ch_store_car_add(store, &c, NULL, KIT_NOW, &car, &err), &err);
    const ch_store_engine first = {.car_id = car.id, .name = "engine", .begun = {2025, 1, 1}};
    kit_good(ch_store_engine_begin(store, &first, NULL, 0, NULL, NULL, KIT_NOW, &engine, &err), &err);
    ch_store_part tyres = {.engine_id = engine.id,
                           .name = "tyres",
                           .fitted = {2025, 1, 1},
                           .carried_sessions = 10,
                           .life = "tyres",
                           .made = {2024, 2, 29},
                           .until = {2030, 6, 1},
                           .part_left_1 = 0.8,
                           .depth_m = 0.004,
                           .under_printed = true};
    kit_good(ch_store_part_add(store, &tyres, NULL, KIT_NOW, &part, &err), &err);
    /* counted, not counted, and still to come */
    const ch_store_event events[] = {
        {.car_id = car.id,
         .day = {2025, 5, 1},
         .name = "a",
         .running_s = NAN,
         .distance_m = NAN,
         .starts = -1,
         .sessions = 7},
        {.car_id = car.id, .day = {2025, 6, 1}, .name = "b", .running_s = 3600, .distance_m = NAN, .starts = -1},
        {.car_id = car.id, .day = {2025, 7, 1}, .name = "c", .running_s = NAN, .distance_m = NAN, .starts = -1}};
    for (size_t i = 0; i < 3; i++)
        kit_good(ch_store_event_add(store, &events[i], NULL, KIT_NOW, NULL, &err), &err);
    const ch_store_engine second = {
        .car_id = car.id, .continues_id = engine.id, .name = "engine", .why = CH_STORE_REBUILD, .begun = {2026, 1, 1}};
    kit_good(ch_store_engine_begin(store, &second, NULL, 0, NULL, NULL, KIT_NOW, &engine, &err), &err);
    ch_store_pool pool = {0};
    const ch_store_part *rows = NULL;
    size_t count = 0;
    kit_good(ch_store_parts(store, &pool, engine.id, &rows, &count, &err), &err);
    assert_int_equal(count, 1);
    assert_int_equal(rows[0].sessions, 10 + 7 + CH_STORE_USUAL_SESSIONS);
    assert_string_equal(rows[0].life, "tyres");
    assert_int_equal(rows[0].made.day, 29);
    assert_int_equal(rows[0].until.year, 2030);
    expect_close(rows[0].part_left_1, 0.8, 0.0);
    expect_close(rows[0].depth_m, 0.004, 0.0);
    assert_true(rows[0].under_printed);
    ch_store_part measured = rows[0];
    measured.part_left_1 = 0.0; /* not known any more */
    measured.under_printed = false;
    kit_good(ch_store_part_change(store, &measured, KIT_NOW + 1, &err), &err);
    measured.part_left_1 = 2.0;
    assert_int_equal(ch_store_part_change(store, &measured, KIT_NOW + 1, &err), CH_E_INPUT);
    kit_good(ch_store_parts(store, &pool, engine.id, &rows, &count, &err), &err);
    expect_close(rows[0].part_left_1, 0.0, 0.0);
    assert_false(rows[0].under_printed);
    ch_store_pool_clear(&pool);
    kit_verify(store);
    ch_store_close(store);
}

static void events_keep_unknown_apart_from_nothing(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t car = add_car(store);
    ch_err err = {0};
    ch_stored stored = {0};
    ch_store_event event = {
        .car_id = car, .day = {2027, 5, 1}, .name = "opener", .running_s = NAN, .distance_m = 0, .starts = -1};
    kit_good(ch_store_event_add(store, &event, NULL, KIT_NOW, &stored, &err), &err);
    ch_store_pool pool = {0};
    const ch_store_event *rows = NULL;
    size_t count = 0;
    kit_good(ch_store_events(store, &pool, 0, &rows, &count, &err), &err);
    assert_true(count == 1 && isnan(rows[0].running_s) && rows[0].distance_m == 0 && rows[0].starts == -1);
    event.id = stored.id;
    event.running_s = 2.5 * HOUR;
    event.starts = 0;
    kit_good(ch_store_event_change(store, &event, KIT_NOW, &err), &err);
    kit_good(ch_store_events(store, &pool, car, &rows, &count, &err), &err);
    assert_true(rows[0].running_s == 2.5 * HOUR && rows[0].starts == 0);
    event.running_s = -1;
    assert_int_equal(ch_store_event_change(store, &event, KIT_NOW, NULL), CH_E_INPUT);
    kit_good(ch_store_event_delete(store, stored.id, KIT_NOW, &err), &err);
    kit_good(ch_store_events(store, &pool, car, &rows, &count, &err), &err);
    assert_int_equal(count, 0);
    ch_store_pool_clear(&pool);
    kit_verify(store);
    ch_store_close(store);
}

static void the_history_has_nothing_of_a_car_that_is_deleted(void **state)
{
    (void)state;
    static const char wanted[] = "date,what,car,engine,name,running,distance,starts,sessions,sheet,note\r\n"
                                 ",,,,,h,km,1,1,,\r\n"
                                 "2025-03-01,engine in: first,the blue one,two litre,two litre,,,,,,\r\n"
                                 "2025-05-01,event,the blue one,two litre,hill climb,2,120,5,,,\r\n";
    ch_store *store = kit_open();
    ch_err err = {0};
    ch_stored blue = {0};
    ch_text csv;
    const int64_t red = add_car(store);
    const ch_store_car second = {.name = "the blue one"};
    kit_good(ch_store_car_add(store, &second, NULL, KIT_NOW, &blue, &err), &err);
    const int64_t first = begin_engine(store, red, CH_STORE_FIRST, 0, (ch_date){2025, 3, 1}, NULL, 0);
    begin_engine(store, blue.id, CH_STORE_FIRST, 0, (ch_date){2025, 3, 1}, NULL, 0);
    add_part(store, first, "head", (ch_date){2025, 3, 1}, 0);
    add_event(store, red, (ch_date){2025, 4, 1}, 3, 9);
    add_event(store, blue.id, (ch_date){2025, 5, 1}, 2, 5);
    begin_engine(store, red, CH_STORE_REBUILD, first, (ch_date){2025, 6, 1}, NULL, 0); /* out, in, part off, part on */
    kit_good(ch_store_car_delete(store, red, KIT_NOW, &err), &err);
    ch_text_init(&csv, 10000);
    kit_good(ch_store_history_csv(store, &csv, &err), &err);
    assert_string_equal(ch_text_string(&csv), wanted);
    ch_text_clear(&csv);
    ch_store_close(store);
}

static void settings_are_kept_by_name(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    ch_err err = {0};
    const char *text = "";
    kit_good(ch_store_setting_get(store, &pool, "hour_value", &text, &err), &err);
    assert_null(text);
    kit_good(ch_store_setting_set(store, "hour_value", "15", KIT_NOW, &err), &err);
    kit_good(ch_store_setting_set(store, "hour_value", "20", KIT_NOW, &err), &err);
    kit_good(ch_store_setting_get(store, &pool, "hour_value", &text, &err), &err);
    assert_string_equal(text, "20");
    kit_good(ch_store_setting_set(store, "hour_value", NULL, KIT_NOW, &err), &err);
    kit_good(ch_store_setting_get(store, &pool, "hour_value", &text, &err), &err);
    assert_null(text);
    assert_int_equal(ch_store_setting_set(store, "Hour value", "1", KIT_NOW, NULL), CH_E_INPUT);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
}

static void a_setting_is_swapped_only_where_it_is_what_was_read(void **state)
{
    (void)state;
    ch_store *mine = kit_open(), *other = kit_open();
    ch_store_pool pool = {0};
    ch_err err = {0};
    const char *text = NULL;
    bool done = false;
    kit_good(ch_store_setting_swap(mine, "ready.1", "a", "b", KIT_NOW, &done, &err), &err);
    assert_false(done);
    kit_good(ch_store_setting_swap(mine, "ready.1", NULL, "a", KIT_NOW, &done, &err), &err);
    assert_true(done);
    kit_good(ch_store_setting_swap(other, "ready.1", NULL, "lost", KIT_NOW, &done, &err), &err);
    assert_false(done);
    kit_good(ch_store_setting_swap(other, "ready.1", "a", "a, and b", KIT_NOW, &done, &err), &err);
    assert_true(done);
    kit_good(ch_store_setting_swap(mine, "ready.1", "a", "a, and c", KIT_NOW, &done, &err), &err);
    assert_false(done);
    kit_good(ch_store_setting_get(mine, &pool, "ready.1", &text, &err), &err);
    assert_string_equal(text, "a, and b");
    kit_good(ch_store_setting_swap(mine, "ready.1", "a, and b", NULL, KIT_NOW, &done, &err), &err);
    assert_true(done);
    kit_good(ch_store_setting_swap(mine, "ready.1", NULL, "d", KIT_NOW, &done, &err), &err); /* set to nothing */
    assert_true(done);
    assert_int_equal(ch_store_setting_swap(mine, "Ready", NULL, "d", KIT_NOW, &done, NULL), CH_E_INPUT);
    assert_int_equal(ch_store_setting_swap(mine, "ready.1", "d", "\xff", KIT_NOW, &done, NULL), CH_E_INPUT);
    ch_store_pool_clear(&pool);
    ch_store_close(other);
    ch_store_close(mine);
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, kit_begin, kit_end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROMISE(a_rebuild_begins_a_life_and_parts_carry_their_hours),
        PROMISE(what_was_planned_before_a_rebuild_is_run_by_the_rebuilt_engine),
        PROMISE(a_test_is_of_the_life_that_was_in_the_car_on_its_day),
        PROMISE(a_swap_leaves_the_parts_of_the_engine_that_came_out),
        PROMISE(what_is_older_than_the_car_s_entry_is_of_its_first_life),
        PROMISE(wrong_lives_are_refused),
        PROMISE(a_sheet_begins_with_what_is_known_of_engine_and_gauge),
        PROMISE(a_test_brought_into_a_car_takes_what_is_known_of_the_engine_and_keeps_what_it_says),
        PROMISE(a_car_and_its_engine_are_entered_both_or_neither),
        PROMISE(an_engine_that_no_sheet_could_hold_is_refused),
        PROMISE(records_keep_what_they_were),
        PROMISE(a_part_keeps_what_tells_when_it_is_due),
        PROMISE(events_keep_unknown_apart_from_nothing),
        PROMISE(the_history_has_nothing_of_a_car_that_is_deleted),
        PROMISE(settings_are_kept_by_name),
        PROMISE(a_setting_is_swapped_only_where_it_is_what_was_read),
    };
    return cmocka_run_group_tests_name("store_car", tests, NULL, NULL);
}
