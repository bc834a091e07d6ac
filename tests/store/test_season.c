/* The history of an engine out of the garage file: which sheets count, and that judged ones are kept, thrown away and made again. */
#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "../unit/fail_alloc.h"
#include "crosshatch/store_season.h"
#include "crosshatch/store_work.h"
#include "fail_call.h"
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

static void add_part(ch_store *store, int64_t engine, const char *name, const char *life, ch_date day)
{
    ch_err err = {0};
    const ch_store_part part = {.engine_id = engine, .name = name, .life = life, .fitted = day};
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
    kit_ask(kit_path("garage.db"), "UPDATE derived SET numbers = zeroblob(8 * 2049)");
    assert_int_equal(load(store, &pool, car, "this").judged, 1);
    kit_ask(kit_path("garage.db"), "UPDATE derived SET numbers = x''");
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
    add_car(store);
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
    add_part(store, back, "Head gasket set", "head_gasket", (ch_date){2024, 3, 1});
    add_part(store, back, "Clutch", "clutch_plate", (ch_date){2024, 3, 1});
    add_part(store, back, "Tyre valves", NULL, (ch_date){2024, 3, 1}); /* a name says nothing of the engine */
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

static int64_t add_job(ch_store *store, int64_t car, const char *name, int64_t done_s)
{
    ch_err err = {0};
    ch_stored stored = {0};
    const ch_store_work work = {.car_id = car, .kind = CH_PLAN_JOB, .name = name, .title = name};
    kit_good(ch_store_work_begin(store, &work, KIT_NOW, &stored, &err), &err);
    if (done_s != 0)
        kit_good(ch_store_work_done(store, stored.id, true, done_s, &err), &err);
    return stored.id;
}

static void a_job_that_is_done_is_a_repair_of_the_engine_that_it_was_done_on(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    const int64_t car = add_car(store), other = add_car(store);
    add_engine(store, other, CH_STORE_FIRST, 0, (ch_date){2020, 1, 1});
    add_engine(store, car, CH_STORE_FIRST, 0,
               ch_date_from_days(KIT_NOW / 86400 + 300)); /* entered later: it was there */
    add_job(store, other, "head_rebuild", KIT_NOW);
    add_job(store, car, "clutch_kit", KIT_NOW);
    add_job(store, car, "pistons_and_rings", 0); /* in hand */
    assert_int_equal(load(store, &pool, car, NULL).repairs, 0);
    add_job(store, car, "head_rebuild", KIT_NOW + 86400);
    const ch_store_season season = load(store, &pool, car, NULL);
    assert_int_equal(season.repairs, 1);
    assert_true(season.repair[0].job && season.repair[0].cylinder == 0);
    assert_int_equal(ch_date_days(season.repair[0].day), KIT_NOW / 86400 + 1);
    add_engine(store, car, CH_STORE_SWAP, 0, ch_date_from_days(KIT_NOW / 86400 + 400));
    assert_int_equal(load(store, &pool, car, NULL).repairs, 0);
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
    /* begun, and nothing entered; entered, and the cylinders not known yet: neither can be judged, nor is it told as such */
    ch_stored begun = {0};
    kit_sheet(store);
    kit_good(ch_store_sheet_begin(store, 0, 0, (ch_date){0}, NULL, KIT_NOW, &begun, &err), &err);
    const ch_store_row row = kit_row(1, "170 psi");
    kit_good(ch_store_row_add(store, begun.id, &row, NULL, KIT_NOW, NULL, &err), &err);
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

static void a_sheet_that_says_nothing_of_the_air_takes_the_height_of_the_nearest_that_does(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    const int64_t car = add_car(store), engine = add_engine(store, car, CH_STORE_FIRST, 0, (ch_date){2020, 1, 1});
    const int64_t old = add_sheet(store, engine, "date: 2024-01-16");
    add_sheet(store, engine, "date: 2026-01-16, altitude: 2500 m");
    add_sheet(store, engine, "date: 2023-01-16, barometer: 1000 hPa");
    add_sheet(store, 0, "date: 2024-01-17, altitude: 100 m"); /* of no engine: of any place */
    ch_store_season season = load(store, &pool, car, "this");
    assert_int_equal(season.judged, 3);
    double high_pa = NAN, old_pa = NAN, level_pa = NAN;
    for (size_t i = 0; i < season.sheets; i++) {
        const ch_history_sheet *s = &season.sheet[i];
        assert_true(s->height_taken == (s->id == old) && s->air_noted == (s->id != old));
        *(s->id == old ? &old_pa : s->day.year == 2026 ? &high_pa : &level_pa) = s->result.cylinder[0].standard_day_pa;
    }
    assert_true(old_pa == high_pa);       /* the same dial figure at the same height */
    assert_true(old_pa > 1.2 * level_pa); /* 747 hPa at 2500 m against 1000: published, ISO 2533 */
    season = load(store, &pool, car, "this");
    assert_int_equal(season.judged, 0);
    add_sheet(store, engine, "date: 2024-03-01, altitude: 500 m"); /* nearer in time: judged anew by that height */
    season = load(store, &pool, car, "this");
    assert_int_equal(season.judged, 2);
    for (size_t i = 0; i < season.sheets; i++)
        if (season.sheet[i].id == old)
            assert_true(season.sheet[i].height_m == 500.0 &&
                        season.sheet[i].result.cylinder[0].standard_day_pa < high_pa);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
    unlink(kit_path("garage.db"));
}

static void sheets_beyond_what_is_judged_at_once_wait_their_turn(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    ch_err err = {0};
    ch_store_season season;
    add_sheet(store, 0, "date: 2025-01-16");
    const int64_t undated = add_sheet(store, 0, "engine_hours: 10 h");
    kit_ask(kit_path("garage.db"), "UPDATE sheet SET opened_s = -86401 WHERE id = 2"); /* a clock that was never set */
    const ch_store_judging judging = {.knowledge = &knowledge, .made_by = "this", .options = {.seed = 1}, .at_most = 1};
    kit_good(ch_store_season_load(store, &pool, 0, &judging, &assumptions, &season, &err), &err);
    assert_int_equal(season.sheets, 1);
    assert_int_equal(season.waiting, 1);
    kit_good(ch_store_season_load(store, &pool, 0, &judging, &assumptions, &season, &err), &err);
    assert_int_equal(season.sheets, 2);
    assert_int_equal(season.judged, 1);
    assert_int_equal(season.waiting, 0);
    const ch_history_sheet *of_no_day = &season.sheet[season.sheet[1].id == undated];
    assert_int_equal(of_no_day->id, undated);
    assert_true(of_no_day->day_assumed);
    assert_int_equal(ch_date_days(of_no_day->day), -2); /* 1969-12-30, of which the last second was */
    ch_store_pool_clear(&pool);
    ch_store_close(store);
    unlink(kit_path("garage.db"));
}

/* ---- calls that fail ---- */

enum { MEMORY = FAIL_CALL_KINDS, KINDS };

static ch_status load_with_fault(ch_store *store, int64_t car, int kind, long n, ch_store_season *season, bool *failed)
{
    ch_store_pool pool = {0};
    ch_err err = {0};
    const ch_store_judging judging = {.knowledge = &knowledge, .made_by = "this", .options = {.seed = 1}};
    kit_forget_statements(store);
    if (kind == MEMORY)
        fail_alloc_at(n);
    else
        fail_call_at((fail_call_kind)kind, n);
    const ch_status rc = ch_store_season_load(store, &pool, car, &judging, &assumptions, season, &err);
    *failed = kind == MEMORY ? fail_alloc_stop() : fail_call_stop();
    ch_store_pool_clear(&pool);
    assert_true(rc >= 0 || err.what[0] != '\0');
    return rc;
}

static void whatever_call_fails_a_history_is_whole_or_refused(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    const int64_t car = add_car(store), engine = add_engine(store, car, CH_STORE_FIRST, 0, (ch_date){2024, 1, 1});
    add_sheet(store, engine, "date: 2025-01-16, engine_hours: 400 h");
    add_event(store, car, (ch_date){2024, 5, 1}, 4.0);
    add_part(store, engine, "Head gasket set", "head_gasket", (ch_date){2024, 3, 1});
    assert_int_equal(load(store, &pool, car, "this").judged, 1);
    for (int kind = 0; kind < KINDS; kind++) {
        bool failed = true;
        for (long n = 1; failed; n++) {
            ch_store_season season = {.car_id = 77};
            const ch_status rc = load_with_fault(store, car, kind, n, &season, &failed);
            if (rc >= 0) {
                assert_int_equal(season.sheets, 1);
                assert_int_equal(season.events, 1);
                assert_int_equal(season.repairs, 1);
                assert_int_equal(season.judged, failed); /* a kept result that could not be had was made again */
            } else {
                assert_true(failed);
                assert_int_equal(rc, CH_E_MEMORY);
                assert_int_equal(season.car_id, 77);
            }
        }
    }
    ch_store_pool_clear(&pool);
    ch_store_close(store);
    unlink(kit_path("garage.db"));
}

static void a_history_that_cannot_be_kept_is_given_all_the_same(void **state)
{
    (void)state;
    static const long last[] = {[FAIL_PREPARE] = 2, [FAIL_STEP] = 3, [FAIL_BIND] = 1, [FAIL_COLUMN] = 0, [MEMORY] = 2};
    /* begin, the result, commit; this is kept from a reading before */
    ch_store *store = kit_open();
    ch_store_season season;
    bool failed = false;
    long calls[KINDS];
    add_sheet(store, 0, "date: 2025-01-16");
    fail_alloc_at(LONG_MAX);
    assert_int_equal(load_with_fault(store, 0, FAIL_STEP, LONG_MAX, &season, &failed), CH_OK);
    assert_false(fail_alloc_stop());
    assert_false(season.unkept);
    calls[MEMORY] = fail_alloc_seen();
    for (int kind = 0; kind < FAIL_CALL_KINDS; kind++)
        calls[kind] = fail_call_seen((fail_call_kind)kind);
    kit_ask(kit_path("garage.db"), "DELETE FROM derived");
    /* until it is judged, a call that fails is refused at once; behind it are three statements that are new */
    for (long n = 1; n <= calls[FAIL_PREPARE] - 3; n++)
        assert_int_equal(load_with_fault(store, 0, FAIL_PREPARE, n, &season, &failed), CH_E_MEMORY);
    for (int kind = 0; kind < KINDS; kind++)
        for (long n = calls[kind]; n > calls[kind] - last[kind]; n--) {
            assert_int_equal(load_with_fault(store, 0, kind, n, &season, &failed), CH_OK);
            assert_true(failed);
            assert_int_equal(season.judged, 1);
            assert_true(season.unkept);
            assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM derived"), 0);
        }
    ch_store_close(store);
    unlink(kit_path("garage.db"));
}

/* ---- the owner's own figures ---- */

static void the_owners_figures_take_the_place_of_the_files(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    ch_err err = {0};
    static const struct {
        const char *name, *text;
        ch_assumption_id id;
        double low, usual, high;
    } cases[] = {
        {"decision.tow_home", "300", CH_ASSUME_TOW_HOME, 200, 300, 450},
        {"decision.tow_home", " 100  200 900 ", CH_ASSUME_TOW_HOME, 100, 200, 900},
        {"decision.tow_home", "0 0 0", CH_ASSUME_TOW_HOME, 0, 0, 0},
        {"decision.repair_cures", "0.6", CH_ASSUME_REPAIR_CURES, 0.4, 0.6, 0.9},
        {"decision.repair_cures", "0.9", CH_ASSUME_REPAIR_CURES, 0.6, 0.9, 1.0}, /* a chance is at most 1 */
        {"decision.repair_cures", "1 1 1", CH_ASSUME_REPAIR_CURES, 1, 1, 1},
        {"hour_value", "30", CH_ASSUME_HOUR_VALUE, 20, 30, 45},
        {"hour_value", "12,5", CH_ASSUME_HOUR_VALUE, 12.5 / 1.5, 12.5, 18.75}, /* as older versions kept it */
        {"hour_value", "15.", CH_ASSUME_HOUR_VALUE, 10, 15, 22.5},
        {"hour_value", "15,", CH_ASSUME_HOUR_VALUE, 10, 15, 22.5},
        {"decision.tow_home", "100,5 200,25 ,75e3", CH_ASSUME_TOW_HOME, 100.5, 200.25, 750},
        {"decision.hour_value", "60", CH_ASSUME_HOUR_VALUE, 40, 60, 90}, /* ahead of the plan's */
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        ch_assumptions own = assumptions;
        kit_good(ch_store_setting_set(store, cases[i].name, cases[i].text, KIT_NOW, &err), &err);
        kit_good(ch_store_assumptions(store, &pool, &own, &err), &err);
        expect_close(own.of[cases[i].id].low, cases[i].low, 1e-9);
        expect_close(own.of[cases[i].id].usual, cases[i].usual, 1e-9);
        expect_close(own.of[cases[i].id].high, cases[i].high, 1e-9);
        expect_close(own.of[CH_ASSUME_TEST_HOURS].usual, assumptions.of[CH_ASSUME_TEST_HOURS].usual, 0);
        assert_string_equal(own.currency, assumptions.currency);
    }
    static const char *const bad[] = {"",      " ",   "much", "1 2",   "1 2 3 4", "3 2 1", "1 3 2", "-1",
                                      "1 2 x", "inf", "nan",  "1,500", "1,2,3",   "0x10",  "5.."};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        ch_assumptions own = assumptions;
        err = (ch_err){0};
        kit_good(ch_store_setting_set(store, "decision.tow_home", bad[i], KIT_NOW, &err), &err);
        assert_int_equal(ch_store_assumptions(store, &pool, &own, &err), CH_E_INPUT);
        assert_non_null(strstr(err.what, "the setting decision.tow_home is \""));
        assert_memory_equal(&own, &assumptions, sizeof own);
    }
    kit_good(ch_store_setting_set(store, "decision.tow_home", NULL, KIT_NOW, &err), &err);
    static const char *const no_chance[] = {"1.1", "0.5 0.9 1.01"};
    for (int i = 0; i < 2; i++) {
        ch_assumptions own = assumptions;
        kit_good(ch_store_setting_set(store, "decision.repair_cures", no_chance[i], KIT_NOW, &err), &err);
        assert_int_equal(ch_store_assumptions(store, &pool, &own, &err), CH_E_INPUT);
    }
    kit_good(ch_store_setting_set(store, "decision.repair_cures", NULL, KIT_NOW, &err), &err);
    kit_good(ch_store_setting_set(store, "currency", "CHF", KIT_NOW, &err), &err);
    ch_assumptions own = assumptions;
    kit_good(ch_store_assumptions(store, &pool, &own, &err), &err);
    assert_string_equal(own.currency, "CHF");
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
        cmocka_unit_test(a_job_that_is_done_is_a_repair_of_the_engine_that_it_was_done_on),
        cmocka_unit_test(sheets_of_no_engine_and_without_a_day_or_a_reading_are_told),
        cmocka_unit_test(sheets_beyond_what_is_judged_at_once_wait_their_turn),
        cmocka_unit_test(a_sheet_that_says_nothing_of_the_air_takes_the_height_of_the_nearest_that_does),
        cmocka_unit_test(whatever_call_fails_a_history_is_whole_or_refused),
        cmocka_unit_test(a_history_that_cannot_be_kept_is_given_all_the_same),
        cmocka_unit_test(the_owners_figures_take_the_place_of_the_files),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
