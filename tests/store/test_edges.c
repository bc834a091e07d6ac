/* What the store refuses at the edges of its fields, what sending an entry twice gives, and what a car needs before its next event. */
#include <math.h>
#include <string.h>

#include "crosshatch/store_ready.h"
#include "kit.h"

static ch_store *store;
static ch_stored made;

static int begin(void **state)
{
    if (kit_begin(state) != 0)
        return -1;
    store = kit_open();
    made = (ch_stored){0};
    return 0;
}

static int end(void **state)
{
    kit_verify(store); /* whatever was refused, the file is sound */
    ch_store_close(store);
    return kit_end(state);
}

static void refused(ch_status rc, const ch_err *err, const char *words)
{
    assert_int_equal(rc, CH_E_INPUT);
    assert_int_equal(err->status, CH_E_INPUT);
    if (strstr(err->what, words) == NULL)
        fail_msg("\"%s\" is not in \"%s\"", words, err->what);
}

static int64_t car(void)
{
    const ch_store_car one = {.name = "Hill climber"};
    assert_int_equal(ch_store_car_add(store, &one, NULL, KIT_NOW, &made, NULL), CH_OK);
    return made.id;
}

static int64_t engine_of(int64_t car_id)
{
    const ch_store_engine one = {.car_id = car_id, .name = "first", .why = CH_STORE_FIRST, .begun = {2025, 1, 1}};
    assert_int_equal(ch_store_engine_begin(store, &one, NULL, 0, NULL, NULL, KIT_NOW, &made, NULL), CH_OK);
    return made.id;
}

static const ch_store_event hill_day = {
    .day = {2026, 5, 1}, .name = "Hill day", .running_s = 3600, .distance_m = 4e4, .starts = 3, .sessions = 2};
static const ch_store_part belt = {.name = "timing belt", .fitted = {2025, 2, 1}};

static ch_status add_event(ch_store_event event, int64_t car_id, ch_err *err)
{
    event.car_id = car_id;
    *err = (ch_err){0};
    return ch_store_event_add(store, &event, NULL, KIT_NOW, NULL, err);
}

#define EVENT_WITH(member, value, words)                                                                               \
    do {                                                                                                               \
        ch_store_event changed_ = hill_day;                                                                            \
        changed_.member = value;                                                                                       \
        refused(add_event(changed_, id, &err), &err, words);                                                           \
    } while (0)

static void an_event_that_cannot_be_is_refused_field_by_field(void **state)
{
    (void)state;
    ch_err err;
    const int64_t id = car();
    EVENT_WITH(name, NULL, "name");
    EVENT_WITH(name, "", "name");
    EVENT_WITH(note, "a\x01b", "note");
    EVENT_WITH(day.year, 0, "day: nothing given");
    EVENT_WITH(running_s, -1.0, "cannot be");
    EVENT_WITH(running_s, INFINITY, "cannot be");
    EVENT_WITH(distance_m, -1.0, "cannot be");
    EVENT_WITH(distance_m, INFINITY, "cannot be");
    EVENT_WITH(starts, -2, "cannot be");
    EVENT_WITH(sessions, -1, "cannot be");
    EVENT_WITH(engine_id, 99, "the car has no engine with the id 99");
    refused(add_event(hill_day, 99, &err), &err, "car");
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM event"), 0);
    ch_store_event open = hill_day;
    open.running_s = open.distance_m = NAN;
    open.starts = -1;
    open.sessions = 0;
    assert_int_equal(add_event(open, id, &err), CH_OK); /* all still to come */
}

static void an_event_runs_in_the_engine_of_its_day_or_in_the_one_named(void **state)
{
    (void)state;
    ch_err err;
    const int64_t id = car(), life = engine_of(id), other = car();
    ch_store_event event = hill_day;
    event.engine_id = life;
    assert_int_equal(add_event(event, id, &err), CH_OK);
    refused(add_event(event, other, &err), &err, "the car has no engine");
    event.engine_id = 0;
    event.day = (ch_date){2024, 5, 1}; /* before the engine was entered */
    assert_int_equal(add_event(event, id, &err), CH_OK);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM event WHERE engine_id IS NULL"), 0);
    assert_int_equal(add_event(event, other, &err), CH_OK);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM event WHERE engine_id IS NULL"), 1);
    event.id = 99;
    event.car_id = id;
    refused(ch_store_event_change(store, &event, KIT_NOW, &err), &err, "event");
    err = (ch_err){0};
    refused(ch_store_event_delete(store, 99, KIT_NOW, &err), &err, "event");
}

static void an_event_changed_without_a_car_stays_with_its_own(void **state)
{
    (void)state;
    const int64_t id = car();
    ch_store_event event = hill_day;
    event.car_id = id;
    assert_int_equal(ch_store_event_add(store, &event, "phone.1", KIT_NOW, &made, NULL), CH_OK);
    event.id = made.id;
    event.car_id = 0;
    event.name = "Hill day, wet";
    assert_int_equal(ch_store_event_change(store, &event, KIT_NOW, NULL), CH_OK);
    ch_store_pool pool = {0};
    const ch_store_event *rows;
    size_t count = 0;
    assert_int_equal(ch_store_events(store, &pool, id, &rows, &count, NULL), CH_OK);
    assert_int_equal(count, 1);
    assert_string_equal(rows[0].name, "Hill day, wet");
    ch_store_pool_clear(&pool);
    assert_int_equal(ch_store_event_delete(store, made.id, KIT_NOW, NULL), CH_OK);
    assert_int_equal(ch_store_events(store, &pool, 0, &rows, &count, NULL), CH_OK);
    assert_int_equal(count, 0);
    ch_store_pool_clear(&pool);
}

static ch_status add_part(ch_store_part part, int64_t engine_id, ch_err *err)
{
    part.engine_id = engine_id;
    *err = (ch_err){0};
    return ch_store_part_add(store, &part, NULL, KIT_NOW, NULL, err);
}

#define PART_WITH(member, value, words)                                                                                \
    do {                                                                                                               \
        ch_store_part changed_ = belt;                                                                                 \
        changed_.member = value;                                                                                       \
        refused(add_part(changed_, id, &err), &err, words);                                                            \
    } while (0)

static void a_part_that_cannot_be_is_refused_field_by_field(void **state)
{
    (void)state;
    ch_err err;
    const int64_t id = engine_of(car());
    PART_WITH(name, NULL, "name");
    PART_WITH(note, "\xff", "note");
    PART_WITH(fitted.year, 0, "");
    PART_WITH(removed, ((ch_date){2025, 1, 31}), "");
    PART_WITH(carried_running_s, -1.0, "");
    PART_WITH(carried_running_s, NAN, "");
    PART_WITH(carried_running_s, INFINITY, "");
    PART_WITH(carried_distance_m, -1.0, "");
    PART_WITH(carried_distance_m, NAN, "");
    PART_WITH(carried_distance_m, INFINITY, "");
    PART_WITH(carried_starts, -1, "");
    PART_WITH(carried_sessions, -1, "");
    PART_WITH(part_left_1, -0.1, "");
    PART_WITH(part_left_1, 1.51, "");
    PART_WITH(part_left_1, NAN, "");
    PART_WITH(depth_m, -0.001, "");
    PART_WITH(depth_m, 0.101, "");
    refused(add_part(belt, 99, &err), &err, "engine");
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM part"), 0);
    ch_store_part worn = belt;
    worn.removed = worn.fitted; /* fitted and taken off on one day */
    worn.part_left_1 = 1.5;
    worn.depth_m = 0.1;
    assert_int_equal(add_part(worn, id, &err), CH_OK);
    refused(ch_store_part_change(store, &(ch_store_part){.id = 99, .name = "x", .fitted = {2025, 1, 1}}, KIT_NOW, &err),
            &err, "part");
    err = (ch_err){0};
    refused(ch_store_part_delete(store, 99, KIT_NOW, &err), &err, "part");
}

/* Entries that are sent again with their id are stored once; the answer may be left out both times. */
static void each_kind_of_entry_sent_twice_is_stored_once(void **state)
{
    (void)state;
    static const unsigned char picture[] = {0xff, 0xd8, 0xff, 0xd9};
    ch_stored first[8] = {0}, again[8] = {0};
    const ch_store_car one = {.name = "Hill climber"};
    const ch_store_gauge gauge = {.name = "screw-in"};
    const ch_store_ledger coil = {.what = "coil"};
    ch_store_row row = kit_row(1, "170 psi");
    for (int turn = 0; turn < 2; turn++) {
        ch_stored *to = turn == 0 ? first : again;
        assert_int_equal(ch_store_car_add(store, &one, "a.1", KIT_NOW, &to[0], NULL), CH_OK);
        ch_store_engine life = {.car_id = first[0].id, .name = "first", .why = CH_STORE_FIRST, .begun = {2025, 1, 1}};
        assert_int_equal(ch_store_engine_begin(store, &life, NULL, 0, NULL, "a.2", KIT_NOW, &to[1], NULL), CH_OK);
        assert_int_equal(ch_store_gauge_add(store, &gauge, NULL, "a.3", KIT_NOW, &to[2], NULL), CH_OK);
        assert_int_equal(
            ch_store_sheet_begin(store, first[1].id, first[2].id, (ch_date){2026, 1, 1}, "a.4", KIT_NOW, &to[3], NULL),
            CH_OK);
        assert_int_equal(ch_store_row_add(store, first[3].id, &row, "a.5", KIT_NOW, &to[4], NULL), CH_OK);
        assert_int_equal(ch_store_ledger_add(store, first[3].id, &coil, "a.6", KIT_NOW, &to[5], NULL), CH_OK);
        ch_store_event event = hill_day;
        event.car_id = first[0].id;
        assert_int_equal(ch_store_event_add(store, &event, "a.7", KIT_NOW, &to[6], NULL), CH_OK);
        ch_store_part part = belt;
        part.engine_id = first[1].id;
        assert_int_equal(ch_store_part_add(store, &part, "a.8", KIT_NOW, &to[7], NULL), CH_OK);
    }
    for (int i = 0; i < 8; i++) {
        assert_int_equal(first[i].id, again[i].id);
        assert_false(first[i].again);
        assert_true(again[i].again);
    }
    const ch_store_photo photo = {
        .sheet_id = first[3].id, .mime = "image/jpeg", .bytes = picture, .length = sizeof picture};
    assert_int_equal(ch_store_photo_add(store, &photo, "a.9", KIT_NOW, NULL, NULL), CH_OK);
    assert_int_equal(ch_store_photo_add(store, &photo, "a.9", KIT_NOW, &made, NULL), CH_OK);
    assert_true(made.again);
    /* without an id, and without asking where it went: every sending is an entry */
    assert_int_equal(ch_store_car_add(store, &one, NULL, KIT_NOW, NULL, NULL), CH_OK);
    assert_int_equal(ch_store_gauge_add(store, &gauge, NULL, NULL, KIT_NOW, NULL, NULL), CH_OK);
    assert_int_equal(ch_store_sheet_begin(store, 0, 0, (ch_date){0}, NULL, KIT_NOW, NULL, NULL), CH_OK);
    assert_int_equal(ch_store_row_add(store, first[3].id, &row, NULL, KIT_NOW, NULL, NULL), CH_OK);
    assert_int_equal(ch_store_ledger_add(store, first[3].id, &coil, NULL, KIT_NOW, NULL, NULL), CH_OK);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM car"), 2);
}

static void a_gauge_is_described_changed_and_deleted(void **state)
{
    (void)state;
    ch_err err = {0};
    ch_sheet described, loaded;
    ch_sheet_init(&described);
    described.gauge.span = kit_quantity("300 psi", CH_DIM_PRESSURE);
    described.gauge.resolution = kit_quantity("2 psi", CH_DIM_PRESSURE);
    ch_store_gauge gauge = {.name = "screw-in", .note = "bought used"};
    assert_int_equal(ch_store_gauge_add(store, &gauge, &described, NULL, KIT_NOW, &made, NULL), CH_OK);
    gauge.id = made.id;
    gauge.name = "screw-in, 300 psi";
    described.gauge.resolution = kit_quantity("5 psi", CH_DIM_PRESSURE);
    assert_int_equal(ch_store_gauge_change(store, &gauge, &described, KIT_NOW + 1, NULL), CH_OK);
    assert_int_equal(ch_store_gauge_change(store, &gauge, NULL, KIT_NOW + 2, NULL), CH_OK); /* the description stays */
    ch_sheet_init(&loaded);
    assert_int_equal(ch_store_gauge_load(store, gauge.id, &loaded, NULL), CH_OK);
    assert_string_equal(loaded.gauge.resolution.number, "5");
    ch_sheet_clear(&loaded);
    ch_store_pool pool = {0};
    const ch_store_gauge *rows;
    size_t count = 0;
    assert_int_equal(ch_store_gauges(store, &pool, &rows, &count, NULL), CH_OK);
    assert_int_equal(count, 1);
    assert_string_equal(rows[0].name, "screw-in, 300 psi");
    assert_string_equal(rows[0].note, "bought used");
    ch_store_pool_clear(&pool);
    assert_int_equal(ch_store_gauge_delete(store, gauge.id, KIT_NOW, NULL), CH_OK);
    assert_int_equal(ch_store_gauges(store, &pool, &rows, &count, NULL), CH_OK);
    assert_int_equal(count, 0);
    ch_store_pool_clear(&pool);
    ch_sheet_init(&loaded);
    refused(ch_store_gauge_load(store, 99, &loaded, &err), &err, "gauge");
    ch_sheet_clear(&loaded);
    err = (ch_err){0};
    gauge.id = 99;
    refused(ch_store_gauge_change(store, &gauge, NULL, KIT_NOW, &err), &err, "gauge");
    err = (ch_err){0};
    refused(ch_store_gauge_delete(store, 99, KIT_NOW, &err), &err, "gauge");
    gauge.name = NULL;
    err = (ch_err){0};
    refused(ch_store_gauge_add(store, &gauge, &described, NULL, KIT_NOW, NULL, &err), &err, "name");
    ch_sheet_clear(&described);
}

static void an_engine_life_needs_a_car_a_name_a_day_and_parts_of_its_own(void **state)
{
    (void)state;
    ch_err err = {0};
    const int64_t id = car(), life = engine_of(id), elsewhere = engine_of(car());
    ch_store_part part = belt;
    part.engine_id = elsewhere;
    assert_int_equal(ch_store_part_add(store, &part, NULL, KIT_NOW, &made, NULL), CH_OK);
    const int64_t not_its_own = made.id;
    ch_store_engine next = {
        .car_id = id, .name = "rebuilt", .why = CH_STORE_REBUILD, .continues_id = life, .begun = {2026, 1, 10}};
    refused(ch_store_engine_begin(store, &next, &not_its_own, 1, NULL, NULL, KIT_NOW, NULL, &err), &err, "");
    next.continues_id = 0;
    err = (ch_err){0};
    refused(ch_store_engine_begin(store, &next, &not_its_own, 1, NULL, NULL, KIT_NOW, NULL, &err), &err,
            "1 renewed parts named, 0 are fitted");
    next.continues_id = life;
    next.begun.year = 0;
    err = (ch_err){0};
    refused(ch_store_engine_begin(store, &next, NULL, 0, NULL, NULL, KIT_NOW, NULL, &err), &err, "");
    next.begun.year = 2026;
    next.why = (ch_store_why)7;
    err = (ch_err){0};
    refused(ch_store_engine_begin(store, &next, NULL, 0, NULL, NULL, KIT_NOW, NULL, &err), &err, "");
    next.why = CH_STORE_REBUILD;
    next.continues_id = 99;
    err = (ch_err){0};
    refused(ch_store_engine_begin(store, &next, NULL, 0, NULL, NULL, KIT_NOW, NULL, &err), &err, "");
    next.continues_id = life;
    next.car_id = 99;
    err = (ch_err){0};
    refused(ch_store_engine_begin(store, &next, NULL, 0, NULL, NULL, KIT_NOW, NULL, &err), &err, "car");
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM engine"), 2);
    next.car_id = id;
    next.name = "first, with a note";
    next.note = "invented";
    next.id = life;
    assert_int_equal(ch_store_engine_change(store, &next, KIT_NOW, NULL), CH_OK);
    next.id = 99;
    err = (ch_err){0};
    refused(ch_store_engine_change(store, &next, KIT_NOW, &err), &err, "engine");
    ch_sheet sheet;
    ch_sheet_init(&sheet);
    sheet.engine.cylinders = 4;
    err = (ch_err){0};
    assert_int_equal(ch_store_engine_describe(store, life, &sheet, KIT_NOW, NULL), CH_OK);
    refused(ch_store_engine_describe(store, 99, &sheet, KIT_NOW, &err), &err, "engine");
    err = (ch_err){0};
    refused(ch_store_engine_load(store, 99, &sheet, &err), &err, "engine");
    ch_sheet_clear(&sheet);
}

static void a_car_is_changed_and_deleted_and_what_is_none_is_refused(void **state)
{
    (void)state;
    ch_err err = {0};
    ch_store_car one = {.id = car(), .name = "Hill climber, blue", .note = "invented"};
    assert_int_equal(ch_store_car_change(store, &one, KIT_NOW, NULL), CH_OK);
    one.note = "a\x7f";
    refused(ch_store_car_change(store, &one, KIT_NOW, &err), &err, "note");
    one.note = NULL;
    one.id = 99;
    err = (ch_err){0};
    refused(ch_store_car_change(store, &one, KIT_NOW, &err), &err, "car");
    err = (ch_err){0};
    refused(ch_store_car_delete(store, 99, KIT_NOW, &err), &err, "car");
    char long_name[CH_STORE_TEXT_MAX + 2];
    memset(long_name, 'a', sizeof long_name);
    long_name[sizeof long_name - 1] = '\0';
    one.name = long_name;
    err = (ch_err){0};
    assert_true(ch_store_car_add(store, &one, NULL, KIT_NOW, NULL, &err) < 0);
    long_name[CH_STORE_TEXT_MAX] = '\0';
    assert_int_equal(ch_store_car_add(store, &one, NULL, KIT_NOW, NULL, NULL), CH_OK);
}

/* UTF-8 at the edges of its forms (RFC 3629, section 4), and senders' ids. */
static void only_text_is_stored(void **state)
{
    (void)state;
    static const char *const right[] = {"\xc2\xa0",     "\xdf\xbf",         "\xe0\xa0\x80",     "\xed\x9f\xbf",
                                        "\xee\x80\x80", "\xf0\x90\x80\x80", "\xf4\x8f\xbf\xbf", "line\nline\tline"};
    static const char *const wrong[] = {"\xc2\x9f",
                                        "\xc2\x80",
                                        "\xc1\xbf",
                                        "\xe0\x9f\xbf",
                                        "\xed\xa0\x80",
                                        "\xf0\x8f\xbf\xbf",
                                        "\xf4\x90\x80\x80",
                                        "\xf5\x80\x80\x80",
                                        "\x80",
                                        "\xc3",
                                        "\xe2\x82",
                                        "\xf0\x9f\x94",
                                        "\x1f",
                                        "\x7f",
                                        "\xe2\x28\xa1"};
    ch_store_car one = {.name = "x"};
    for (size_t i = 0; i < sizeof right / sizeof right[0]; i++) {
        one.note = right[i];
        assert_int_equal(ch_store_car_add(store, &one, NULL, KIT_NOW, NULL, NULL), CH_OK);
    }
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        ch_err err = {0};
        one.note = wrong[i];
        refused(ch_store_car_add(store, &one, NULL, KIT_NOW, NULL, &err), &err, "note");
    }
    one.note = NULL;
    static const char *const ids[] = {"", "a b", "a/b", "\xc3\xa4",
                                      "12345678901234567890123456789012345678901234567890123456789012345"};
    for (size_t i = 0; i < sizeof ids / sizeof ids[0]; i++)
        assert_int_equal(ch_store_car_add(store, &one, ids[i], KIT_NOW, NULL, NULL), CH_E_INPUT);
    assert_int_equal(ch_store_car_add(store, &one, "A-z.0_9:x", KIT_NOW, NULL, NULL), CH_OK);
    static const char *const names[] = {"", "Units", "a b",
                                        "12345678901234567890123456789012345678901234567890123456789012345"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        assert_int_equal(ch_store_setting_set(store, names[i], "x", KIT_NOW, NULL), CH_E_INPUT);
}

static void a_photo_needs_bytes_a_type_and_a_place(void **state)
{
    (void)state;
    static const unsigned char picture[] = {0xff, 0xd8, 0xff, 0xd9};
    ch_err err = {0};
    const int64_t sheet = kit_sheet(store);
    const ch_store_ledger coil = {.what = "coil"};
    assert_int_equal(ch_store_ledger_add(store, sheet, &coil, NULL, KIT_NOW, &made, NULL), CH_OK);
    ch_store_photo photo = {.sheet_id = sheet, .mime = "image/gif", .bytes = picture, .length = sizeof picture};
    refused(ch_store_photo_add(store, &photo, NULL, KIT_NOW, NULL, &err), &err, "");
    photo.mime = NULL;
    err = (ch_err){0};
    refused(ch_store_photo_add(store, &photo, NULL, KIT_NOW, NULL, &err), &err, "");
    photo.mime = "image/webp";
    photo.length = 0;
    err = (ch_err){0};
    refused(ch_store_photo_add(store, &photo, NULL, KIT_NOW, NULL, &err), &err, "");
    photo.length = sizeof picture;
    photo.bytes = NULL;
    err = (ch_err){0};
    refused(ch_store_photo_add(store, &photo, NULL, KIT_NOW, NULL, &err), &err, "");
    photo.bytes = picture;
    photo.length = CH_STORE_PHOTO_MAX + 1;
    assert_int_equal(ch_store_photo_add(store, &photo, NULL, KIT_NOW, NULL, NULL), CH_E_LIMIT);
    photo.length = sizeof picture;
    photo.ledger_id = 99;
    err = (ch_err){0};
    refused(ch_store_photo_add(store, &photo, NULL, KIT_NOW, NULL, &err), &err, "");
    photo.ledger_id = made.id;
    photo.sheet_id = 99;
    err = (ch_err){0};
    refused(ch_store_photo_add(store, &photo, NULL, KIT_NOW, NULL, &err), &err, "");
    photo.sheet_id = sheet;
    assert_int_equal(ch_store_photo_add(store, &photo, NULL, KIT_NOW, &made, NULL), CH_OK);
    ch_store_pool pool = {0};
    const ch_store_photo *rows;
    size_t count = 0;
    assert_int_equal(ch_store_photos(store, &pool, sheet, &rows, &count, NULL), CH_OK);
    assert_int_equal(count, 1);
    assert_null(rows[0].bytes);
    assert_int_equal(rows[0].length, sizeof picture);
    ch_store_photo got;
    assert_int_equal(ch_store_photo_get(store, &pool, made.id, &got, NULL), CH_OK);
    assert_memory_equal(got.bytes, picture, sizeof picture);
    assert_string_equal(got.mime, "image/webp");
    err = (ch_err){0};
    refused(ch_store_photo_get(store, &pool, 99, &got, &err), &err, "photo");
    assert_int_equal(ch_store_photo_delete(store, made.id, KIT_NOW, NULL), CH_OK);
    err = (ch_err){0};
    refused(ch_store_photo_get(store, &pool, made.id, &got, &err), &err, "photo");
    err = (ch_err){0};
    refused(ch_store_photo_delete(store, 99, KIT_NOW, &err), &err, "photo");
    ch_store_pool_clear(&pool);
}

static void a_ledger_entry_is_refused_where_it_cannot_stand(void **state)
{
    (void)state;
    ch_err err = {0};
    const int64_t sheet = kit_sheet(store);
    ch_store_ledger thing = {.what = NULL};
    refused(ch_store_ledger_add(store, sheet, &thing, NULL, KIT_NOW, NULL, &err), &err, "what");
    thing.what = "coil";
    err = (ch_err){0};
    refused(ch_store_ledger_add(store, 99, &thing, NULL, KIT_NOW, NULL, &err), &err, "sheet");
    err = (ch_err){0};
    refused(ch_store_ledger_change(store, 99, &thing, KIT_NOW, &err), &err, "");
    err = (ch_err){0};
    refused(ch_store_ledger_put_back(store, 99, true, KIT_NOW, &err), &err, "");
    err = (ch_err){0};
    refused(ch_store_ledger_delete(store, 99, KIT_NOW, &err), &err, "");
    thing.torque = "10 N m\x02";
    err = (ch_err){0};
    refused(ch_store_ledger_add(store, sheet, &thing, NULL, KIT_NOW, NULL, &err), &err, "torque");
}

/* ---- what stands between a car and its next event ---- */

static void what_is_planned_has_worn_nothing_yet_and_stays_carry_their_first_day(void **state)
{
    (void)state;
    ch_err err = {0};
    const int64_t id = car(), life = engine_of(id);
    ch_store_part part = belt;
    part.engine_id = life;
    part.part_left_1 = 0.6;
    part.depth_m = 0.004;
    assert_int_equal(ch_store_part_add(store, &part, NULL, KIT_NOW, &made, NULL), CH_OK);
    const int64_t stay = made.id;
    ch_store_part gone = {.engine_id = life, .name = "old hose", .fitted = {2025, 2, 1}, .removed = {2025, 3, 1}};
    assert_int_equal(ch_store_part_add(store, &gone, NULL, KIT_NOW, NULL, NULL), CH_OK);
    assert_int_equal(add_event(hill_day, id, &err), CH_OK); /* ran: an hour, two sessions */
    ch_store_event coming = hill_day;
    coming.day = (ch_date){2027, 4, 3};
    coming.name = "Opening day";
    coming.running_s = 1800;
    coming.distance_m = NAN;
    coming.sessions = 0;
    assert_int_equal(add_event(coming, id, &err), CH_OK);
    ch_store_event later = hill_day;
    later.day = (ch_date){2027, 6, 1};
    later.running_s = NAN;
    later.distance_m = 5e4;
    later.starts = -1;
    later.sessions = 4;
    assert_int_equal(add_event(later, id, &err), CH_OK);
    /* a rebuild: the belt goes on into the next life */
    const ch_store_engine next = {
        .car_id = id, .name = "rebuilt", .why = CH_STORE_REBUILD, .continues_id = life, .begun = {2026, 1, 10}};
    assert_int_equal(ch_store_engine_begin(store, &next, NULL, 0, NULL, NULL, KIT_NOW, NULL, NULL), CH_OK);
    /* things off: of a sheet of this car, and of one of no car */
    assert_int_equal(ch_store_sheet_begin(store, life, 0, (ch_date){2026, 1, 1}, NULL, KIT_NOW, &made, NULL), CH_OK);
    const ch_store_ledger coil = {.what = "coil"}, seat = {.what = "seat"};
    assert_int_equal(ch_store_ledger_add(store, made.id, &coil, NULL, KIT_NOW, NULL, NULL), CH_OK);
    assert_int_equal(ch_store_ledger_add(store, kit_sheet(store), &seat, NULL, KIT_NOW, NULL, NULL), CH_OK);

    const ch_part_lives none = {0};
    ch_store_pool pool = {0};
    ch_store_ready ready = {0};
    kit_good(ch_store_ready_load(store, &pool, id, &none, (ch_date){2027, 1, 16}, 2400, &ready, &err), &err);
    assert_string_equal(ready.car, "Hill climber");
    assert_int_equal(ready.parts, 1);
    assert_string_equal(ready.part[0].name, "timing belt");
    assert_int_equal(ready.part[0].fitted.year, 2025); /* the first stay */
    expect_close(ready.part[0].part_left_1, 0.6, 1e-12);
    expect_close(ready.part[0].depth_m, 0.004, 1e-12);
    assert_int_equal(ready.opens, 1);
    assert_string_equal(ready.open[0]->what, "coil");
    assert_string_equal(ready.event.name, "Opening day");
    expect_close(ready.event.running_s, 1800, 0);
    expect_close(ready.event.sessions_1, CH_STORE_USUAL_SESSIONS, 0);
    /* on the later day: how long it runs is not known, its sessions are */
    kit_good(ch_store_ready_load(store, &pool, id, &none, (ch_date){2027, 5, 1}, 2400, &ready, &err), &err);
    expect_close(ready.event.running_s, 2400, 0);
    expect_close(ready.event.sessions_1, 4, 0);
    /* after the last one, none is coming */
    kit_good(ch_store_ready_load(store, &pool, id, &none, (ch_date){2028, 1, 1}, 2400, &ready, &err), &err);
    assert_null(ready.event.name);
    /* an earlier stay that was entered by mistake and deleted tells no day */
    kit_good(ch_store_part_delete(store, stay, KIT_NOW, &err), &err);
    kit_good(ch_store_ready_load(store, &pool, id, &none, (ch_date){2028, 1, 1}, 2400, &ready, &err), &err);
    assert_int_equal(ready.part[0].fitted.year, 2026);
    /* a garage without a car still has what is off on sheets of no car */
    kit_good(ch_store_ready_load(store, &pool, 0, &none, (ch_date){2027, 1, 16}, 2400, &ready, &err), &err);
    assert_null(ready.car);
    assert_int_equal(ready.parts, 0);
    assert_int_equal(ready.opens, 1);
    assert_string_equal(ready.open[0]->what, "seat");
    const ch_store_ready as_it_was = ready;
    refused(ch_store_ready_load(store, &pool, 99, &none, (ch_date){2027, 1, 16}, 2400, &ready, &err), &err,
            "there is no car with the id 99");
    assert_memory_equal(&ready, &as_it_was, sizeof ready);
    ch_store_pool_clear(&pool);
}

static void events_of_one_day_are_loaded_for_together(void **state)
{
    (void)state;
    static const struct {
        int day, sessions;
        double running_s, distance_m;
    } planned[] = {{3, 2, NAN, NAN}, {3, 0, 1200, 1e4}, {3, 1, 600, NAN}, {3, 1, NAN, 2e4}, {4, 1, 60, 5e4}};
    ch_err err = {0};
    const int64_t id = car();
    for (int i = 0; i < 5; i++) {
        char name[] = "A";
        name[0] = (char)('A' + i);
        const ch_store_event event = {.day = {2027, 4, planned[i].day},
                                      .name = name,
                                      .running_s = planned[i].running_s,
                                      .distance_m = planned[i].distance_m,
                                      .starts = -1,
                                      .sessions = planned[i].sessions};
        assert_int_equal(add_event(event, id, &err), CH_OK);
    }
    const ch_part_lives none = {0};
    ch_store_pool pool = {0};
    ch_store_ready ready = {0};
    kit_good(ch_store_ready_load(store, &pool, id, &none, (ch_date){2027, 4, 3}, 2400, &ready, &err), &err);
    assert_string_equal(ready.event.name, "A, B, C, D");
    assert_int_equal(ready.event.day.day, 3);
    expect_close(ready.event.running_s, 2400 + 1200 + 600 + 2400, 1e-9); /* the usual where it is not known */
    expect_close(ready.event.distance_m, 3e4, 1e-9);                     /* as far as it is known */
    expect_close(ready.event.sessions_1, 2 + CH_STORE_USUAL_SESSIONS + 1 + 1, 0);
    assert_int_equal(ready.parts, 0); /* the car has no engine */
    kit_good(ch_store_ready_load(store, &pool, id, &none, (ch_date){2027, 4, 4}, 2400, &ready, &err), &err);
    assert_string_equal(ready.event.name, "E");
    expect_close(ready.event.distance_m, 5e4, 1e-9);
    ch_store_pool_clear(&pool);
}

static void an_event_of_unknown_distance_goes_as_far_as_those_behind_it_did_in_the_time(void **state)
{
    (void)state;
    static const struct {
        ch_date day;
        double running_s, distance_m;
    } events[] = {
        {{2026, 5, 1}, NAN, 9e5}, {{2026, 5, 2}, 7200, NAN},   {{2027, 4, 1}, NAN, NAN},    {{2027, 5, 1}, 1000, NAN},
        {{2027, 6, 1}, 600, 9e4}, {{2026, 6, 1}, 3600, 1.2e5}, {{2026, 7, 1}, 1800, 2.4e5},
    };
    ch_err err = {0};
    const int64_t id = car();
    const ch_part_lives none = {0};
    ch_store_pool pool = {0};
    ch_store_ready ready = {0};
    for (size_t i = 0; i < sizeof events / sizeof events[0]; i++) {
        const ch_store_event event = {
            .day = events[i].day, .name = "x", .running_s = events[i].running_s, .distance_m = events[i].distance_m};
        if (i == 5) { /* so far none behind it knows both */
            kit_good(ch_store_ready_load(store, &pool, id, &none, (ch_date){2027, 4, 1}, 2400, &ready, &err), &err);
            assert_true(isnan(ready.event.distance_m));
        }
        assert_int_equal(add_event(event, id, &err), CH_OK);
    }
    /* 360 km in 1.5 h behind it: 66.67 m/s */
    kit_good(ch_store_ready_load(store, &pool, id, &none, (ch_date){2027, 4, 1}, 2400, &ready, &err), &err);
    expect_close(ready.event.distance_m, 2400 * 3.6e5 / 5400, 1e-6);
    kit_good(ch_store_ready_load(store, &pool, id, &none, (ch_date){2027, 5, 1}, 2400, &ready, &err), &err);
    expect_close(ready.event.distance_m, 1000 * 3.6e5 / 5400, 1e-6);
    kit_good(ch_store_ready_load(store, &pool, id, &none, (ch_date){2027, 6, 1}, 2400, &ready, &err), &err);
    expect_close(ready.event.distance_m, 9e4, 1e-9); /* its own */
    kit_good(ch_store_ready_load(store, &pool, id, &none, (ch_date){2028, 1, 1}, 2400, &ready, &err), &err);
    expect_close(ready.event.distance_m, 0, 0); /* none is coming: what is due today */
    ch_store_pool_clear(&pool);
}

/* What is entered for days to come counts as run in the store's sums, and is taken out of a part's here. */
static void a_part_has_run_what_is_behind_it(void **state)
{
    (void)state;
    static const struct {
        ch_date day;
        int starts, sessions;
        double running_s, distance_m;
    } events[] = {
        {{2027, 1, 15}, 3, 2, 3600, 4e4}, /* run */
        {{2027, 1, 16}, -1, 0, 600, NAN}, /* today's is still to come, as all that follow */
        {{2027, 5, 1}, -1, 0, NAN, 7e4},  {{2027, 5, 2}, 4, 0, NAN, NAN},
        {{2027, 5, 3}, -1, 3, NAN, NAN},  {{2027, 5, 4}, -1, 0, NAN, NAN}, /* nothing known: in no sum */
    };
    ch_err err = {0};
    const int64_t id = car(), life = engine_of(id), elsewhere = car();
    engine_of(elsewhere);
    for (size_t i = 0; i < sizeof events / sizeof events[0]; i++) {
        const ch_store_event event = {.day = events[i].day,
                                      .name = "x",
                                      .running_s = events[i].running_s,
                                      .distance_m = events[i].distance_m,
                                      .starts = events[i].starts,
                                      .sessions = events[i].sessions};
        assert_int_equal(add_event(event, id, &err), CH_OK);
    }
    assert_int_equal(add_event(hill_day, elsewhere, &err), CH_OK); /* of another engine */
    assert_int_equal(add_part(belt, life, &err), CH_OK);
    ch_store_part ordered = belt;
    ordered.name = "pads";
    ordered.life = "brake_pads_front";
    ordered.fitted = (ch_date){2027, 5, 2}; /* fitted between them */
    assert_int_equal(add_part(ordered, life, &err), CH_OK);
    ch_store_part gone = belt;
    gone.removed = (ch_date){2026, 1, 1};
    assert_int_equal(add_part(gone, life, &err), CH_OK);
    ch_store_part other = belt;
    other.life = "no such life";
    assert_int_equal(add_part(other, life, &err), CH_OK);
    ch_knowledge knowledge;
    ch_jobs jobs;
    ch_part_lives lives;
    kit_good(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), &err), &err);
    kit_good(ch_jobs_parse(&jobs, &knowledge, ch_jobs_builtin(), &err), &err);
    kit_good(ch_part_lives_parse(&lives, &jobs, ch_part_lives_builtin(), &err), &err);
    ch_store_pool pool = {0};
    ch_store_ready ready = {0};
    kit_good(ch_store_ready_load(store, &pool, id, &lives, (ch_date){2027, 1, 16}, 2400, &ready, &err), &err);
    assert_int_equal(ready.parts, 3);
    expect_close(ready.part[0].running_s, 3600, 1e-9);
    expect_close(ready.part[0].distance_m, 4e4, 1e-9);
    expect_close(ready.part[0].sessions_1, 2, 0);
    assert_null(ready.part[0].life);
    assert_true(isnan(ready.part[0].part_left_1));
    assert_true(isnan(ready.part[0].depth_m));
    expect_close(ready.part[1].running_s, 0, 1e-9);
    expect_close(ready.part[1].sessions_1, 0, 0);
    assert_non_null(ready.part[1].life);
    assert_string_equal(ready.part[1].life->id, "brake_pads_front");
    assert_null(ready.part[2].life);
    ch_store_pool_clear(&pool);
    ch_part_lives_clear(&lives);
    ch_jobs_clear(&jobs);
    ch_knowledge_clear(&knowledge);
}

/* Whatever the closing procedure puts back, in the order in which it does, at the first, the second and the twelfth cylinder. */
static void what_is_off_is_known_by_its_name_and_has_its_place_in_closing_up(void **state)
{
    (void)state;
    static const int cylinders[] = {1, 2, 12};
    ch_procedures p;
    ch_put_back back, before = {0};
    ch_knowledge knowledge;
    ch_err err = {0};
    size_t count = 0;
    const ch_knowledge_text *texts = ch_procedures_builtin(&count);
    kit_good(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), &err), &err);
    kit_good(ch_procedures_parse(&p, &knowledge, texts, count, &err), &err);
    static const char *const in_order[] = {"plug 1",
                                           "coil 1",
                                           "plug lead 1",
                                           "plug 2",
                                           "plug 12",
                                           "injector plug 3",
                                           "throttle prop",
                                           "fuel pump fuse or relay",
                                           "battery charger connected"};
    for (size_t i = 0; i < sizeof in_order / sizeof in_order[0]; i++) {
        assert_true(ch_procedure_put_back(&p, in_order[i], &back));
        assert_true(i == 0 || back.order > before.order);
        before = back;
    }
    for (size_t i = 0; i < p.things_count; i++)
        for (size_t k = 0; k < 3; k++) {
            const bool each = p.things[i].scope == CH_STEP_EACH_CYLINDER;
            ch_text text;
            ch_text_init(&text, 256);
            ch_procedure_fill(p.things[i].what, cylinders[k], &text);
            assert_true(ch_procedure_put_back(&p, ch_text_string(&text), &back));
            assert_ptr_equal(back.thing, &p.things[i]);
            assert_int_equal(back.cylinder, each ? cylinders[k] : 0);
            assert_int_equal(back.step->puts_back, (long)i);
            ch_text_clear(&text);
        }
    static const char *const unknown[] = {"plug", "plug ", "plug 0", "plug 123", "plug 1b", "spark plug 1", "", "seat"};
    before = back;
    for (size_t i = 0; i < sizeof unknown / sizeof unknown[0]; i++)
        assert_false(ch_procedure_put_back(&p, unknown[i], &back));
    assert_true(back.thing == before.thing && back.step == before.step && back.order == before.order);
    ch_procedures_clear(&p);
    ch_knowledge_clear(&knowledge);
}

/* Two sheets and a piece of work: what came off last goes back first, and within a sheet as the procedures say. */
static void what_is_off_is_sorted_as_it_goes_back(void **state)
{
    (void)state;
    static const ch_store_ledger rows[] = {
        {.id = 1, .sheet_id = 1, .what = "coil 1"},        {.id = 2, .sheet_id = 1, .what = "brace"},
        {.id = 3, .sheet_id = 2, .what = "fuel shut off"}, {.id = 4, .work_id = 7, .what = "plug 1"},
        {.id = 5, .work_id = 7, .what = "coil 1"},         {.id = 6, .sheet_id = 1, .what = "plug 1"},
        {.id = 7, .sheet_id = 1, .what = "hose"}};
    static const int64_t back[] = {7, 2, 6, 1, 5, 4, 3};
    const ch_store_ledger *sorted[7];
    ch_knowledge knowledge;
    ch_procedures procedures;
    ch_err err = {0};
    size_t count = 0;
    const ch_knowledge_text *texts = ch_procedures_builtin(&count);
    kit_good(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), &err), &err);
    kit_good(ch_procedures_parse(&procedures, &knowledge, texts, count, &err), &err);
    for (size_t i = 0; i < 7; i++)
        sorted[i] = &rows[i];
    kit_good(ch_store_put_back_order(&procedures, sorted, 7, &err), &err);
    for (size_t i = 0; i < 7; i++)
        assert_int_equal(sorted[i]->id, back[i]);
    kit_good(ch_store_put_back_order(&procedures, sorted, 0, &err), &err);
    ch_procedures_clear(&procedures);
    ch_knowledge_clear(&knowledge);
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROMISE(what_is_off_is_known_by_its_name_and_has_its_place_in_closing_up),
        PROMISE(what_is_off_is_sorted_as_it_goes_back),
        PROMISE(an_event_that_cannot_be_is_refused_field_by_field),
        PROMISE(an_event_runs_in_the_engine_of_its_day_or_in_the_one_named),
        PROMISE(an_event_changed_without_a_car_stays_with_its_own),
        PROMISE(a_part_that_cannot_be_is_refused_field_by_field),
        PROMISE(each_kind_of_entry_sent_twice_is_stored_once),
        PROMISE(a_gauge_is_described_changed_and_deleted),
        PROMISE(an_engine_life_needs_a_car_a_name_a_day_and_parts_of_its_own),
        PROMISE(a_car_is_changed_and_deleted_and_what_is_none_is_refused),
        PROMISE(only_text_is_stored),
        PROMISE(a_photo_needs_bytes_a_type_and_a_place),
        PROMISE(a_ledger_entry_is_refused_where_it_cannot_stand),
        PROMISE(what_is_planned_has_worn_nothing_yet_and_stays_carry_their_first_day),
        PROMISE(events_of_one_day_are_loaded_for_together),
        PROMISE(an_event_of_unknown_distance_goes_as_far_as_those_behind_it_did_in_the_time),
        PROMISE(a_part_has_run_what_is_behind_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
