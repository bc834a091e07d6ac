/* Logged runs in the garage file: all comes back, what was seen moves the chances, a log judged anew replaces, nothing is lost. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "crosshatch/store_ready.h"
#include "crosshatch/store_work.h"
#include "kit.h"

static int64_t make_car(ch_store *store)
{
    ch_err err = {0};
    ch_stored car = {0};
    const ch_store_car c = {.name = "invented car"};
    kit_good(ch_store_car_add(store, &c, NULL, KIT_NOW, &car, &err), &err);
    return car.id;
}

static int64_t add(ch_store *store, const ch_store_run *run, const char *client)
{
    ch_err err = {0};
    ch_stored stored = {0};
    kit_good(ch_store_run_add(store, run, client, KIT_NOW, &stored, &err), &err);
    return stored.id;
}

static void same(double a, double b)
{
    if (isnan(a))
        assert_true(isnan(b));
    else
        expect_close(b, a, 0);
}

static void a_run_comes_back_with_every_number(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_err err = {0};
    ch_store_pool pool = {0};
    const ch_store_run meant = kit_run(make_car(store));
    ch_store_run run;
    kit_good(ch_store_run_load(store, &pool, add(store, &meant, NULL), &run, &err), &err);
    assert_int_equal(run.car_id, meant.car_id);
    assert_int_equal(run.day.year, 2026);
    assert_int_equal(run.judged_s, KIT_NOW);
    assert_int_equal(run.log_bytes, meant.log_bytes);
    assert_string_equal(run.log_name, meant.log_name);
    assert_string_equal(run.log_sha256, meant.log_sha256);
    assert_string_equal(run.drivetrain, meant.drivetrain);
    assert_string_equal(run.told, meant.told);
    same(meant.seconds, run.seconds);
    const ch_driveline *a = &meant.driveline, *b = &run.driveline;
    assert_int_equal(b->gears, 2);
    same(a->gear[0].line_rad_m, b->gear[0].line_rad_m);
    same(a->gear[1].car_line_rad_m, b->gear[1].car_line_rad_m);
    assert_int_equal(b->slips, 2);
    same(a->slip[0].start_s, b->slip[0].start_s);
    same(a->slip[0].throttle_1, b->slip[0].throttle_1);
    same(a->slip[0].peak_plate_k, b->slip[0].peak_plate_k);
    same(a->slip[1].throttle_1, b->slip[1].throttle_1);
    assert_int_equal(b->slip[1].gear, 3);
    assert_memory_equal(b->not_slips, a->not_slips, sizeof a->not_slips);
    same(a->capacity_n_m[1], b->capacity_n_m[1]);
    same(a->design_n_m[0], b->design_n_m[0]);
    same(a->cause_1[CH_CLUTCH_WORN], b->cause_1[CH_CLUTCH_WORN]);
    assert_int_equal(run.points, 2);
    same(10.5, (double)run.point[1].road_speed_m_s);
    kit_verify(store);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
}

static void the_same_log_judged_anew_replaces_and_keeps_what_was_seen(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_err err = {0};
    ch_store_pool pool = {0};
    const ch_store_run *rows = NULL;
    size_t count = 0;
    ch_store_run run = kit_run(make_car(store)), loaded;
    const int64_t first = add(store, &run, "upload-1");
    assert_int_equal(add(store, &run, "upload-1"), first); /* sent twice */
    const ch_store_run_sign sign = {.sign = "clutch_smell", .present = 1};
    kit_good(ch_store_run_see(store, first, &sign, 1, run.driveline.cause_1, KIT_NOW, &err), &err);
    const int64_t second = add(store, &run, NULL);
    assert_int_not_equal(second, first);
    kit_good(ch_store_runs(store, &pool, run.car_id, &rows, &count, &err), &err);
    assert_int_equal(count, 1);
    assert_int_equal(rows[0].id, second);
    assert_int_equal(rows[0].replaces_id, first);
    kit_good(ch_store_run_load(store, &pool, second, &loaded, &err), &err);
    assert_int_equal(loaded.signs, 1);
    assert_string_equal(loaded.sign[0].sign, "clutch_smell");
    kit_good(ch_store_run_delete(store, second, KIT_NOW, &err), &err);
    kit_good(ch_store_runs(store, &pool, run.car_id, &rows, &count, &err), &err);
    assert_int_equal(count, 0); /* the replaced one does not come back */
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM run"), 2);
    kit_verify(store);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
}

static void what_is_seen_moves_the_chances_and_their_past_is_kept(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_err err = {0};
    ch_store_pool pool = {0};
    ch_store_run run = kit_run(make_car(store)), loaded;
    const int64_t id = add(store, &run, NULL);
    double moved[CH_CLUTCH_CAUSES] = {0};
    moved[CH_CLUTCH_OIL_CONTAMINATED] = 0.75;
    moved[CH_CLUTCH_WORN] = 0.25;
    ch_store_run_sign sign[2] = {{.sign = "oil_at_drain_hole", .present = 1}, {.sign = "no_free_play", .present = 0}};
    kit_good(ch_store_run_see(store, id, sign, 2, moved, KIT_NOW + 5, &err), &err);
    kit_good(ch_store_run_load(store, &pool, id, &loaded, &err), &err);
    same(0.75, loaded.driveline.cause_1[CH_CLUTCH_OIL_CONTAMINATED]);
    assert_int_equal(loaded.signs, 2);
    assert_int_equal(loaded.sign[1].present, 0);
    sign[0].present = -1;
    kit_good(ch_store_run_see(store, id, sign, 1, run.driveline.cause_1, KIT_NOW + 6, &err), &err);
    kit_good(ch_store_run_load(store, &pool, id, &loaded, &err), &err);
    assert_int_equal(loaded.signs, 1);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM history WHERE table_name = 'run_sign' AND"
                                                    " json_extract(was, '$.present') = 1"),
                     1);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM history WHERE table_name = 'run_cause' AND"
                                                    " json_extract(was, '$.chance_1') = 0.75"),
                     1);
    moved[0] = 0.5;
    assert_int_equal(ch_store_run_see(store, id, NULL, 0, moved, KIT_NOW, &err), CH_E_INPUT);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
}

static void what_cannot_be_is_refused_and_nothing_is_stored(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const ch_store_run good = kit_run(make_car(store));
    ch_store_run bad[6] = {good, good, good, good, good, good};
    ch_slip backwards = good.driveline.slip[0];
    backwards.end_s = 0;
    bad[0].car_id = 99;
    bad[1].log_sha256 = "ABC";
    bad[2].driveline.slip = &backwards;
    bad[2].driveline.slips = 1;
    bad[3].driveline.cause_1[0] = NAN;
    bad[4].log_name = " ";
    bad[5].driveline.slips_found = 1;
    for (int i = 0; i < 6; i++) {
        ch_err err = {0};
        assert_int_equal(ch_store_run_add(store, &bad[i], NULL, KIT_NOW, NULL, &err), CH_E_INPUT);
        assert_string_not_equal(err.what, "");
    }
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM run"), 0);
    ch_store_close(store);
}

static void day_and_note_may_change_and_nothing_else(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_err err = {0};
    ch_store_pool pool = {0};
    ch_store_run run = kit_run(make_car(store)), loaded;
    const int64_t id = add(store, &run, NULL);
    kit_good(ch_store_run_change(store, id, (ch_date){2026, 10, 4}, "second run of the day", KIT_NOW + 9, &err), &err);
    kit_good(ch_store_run_load(store, &pool, id, &loaded, &err), &err);
    assert_int_equal(loaded.day.day, 4);
    assert_string_equal(loaded.note, "second run of the day");
    assert_int_equal(ch_store_run_change(store, id + 1, run.day, NULL, KIT_NOW, &err), CH_E_INPUT);
    ch_store_close(store);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM history WHERE table_name = 'run'"), 1);
    ch_store_pool_clear(&pool);
}

static void what_is_known_of_the_car_is_kept_as_typed(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_err err = {0};
    ch_store_pool pool = {0};
    const char *text = "?";
    const int64_t car = make_car(store);
    kit_good(ch_store_drivetrain_get(store, &pool, car, &text, &err), &err);
    assert_null(text);
    kit_good(ch_store_drivetrain_set(store, car, "mass: 900 kg\n", KIT_NOW, &err), &err);
    kit_good(ch_store_drivetrain_set(store, car, "mass: 910 kg\n", KIT_NOW + 1, &err), &err);
    kit_good(ch_store_drivetrain_get(store, &pool, car, &text, &err), &err);
    assert_string_equal(text, "mass: 910 kg\n");
    assert_int_equal(ch_store_drivetrain_set(store, 99, "mass: 1 kg", KIT_NOW, &err), CH_E_INPUT);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
}

static void slips_come_out_as_a_table(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_err err = {0};
    ch_text csv;
    ch_text_init(&csv, 65536);
    kit_good(ch_store_runs_csv(store, &csv, &err), &err);
    assert_int_equal(csv.length, 0);
    const ch_store_run run = kit_run(make_car(store));
    add(store, &run, NULL);
    kit_good(ch_store_runs_csv(store, &csv, &err), &err);
    size_t lines = 0;
    for (const char *c = ch_text_string(&csv); *c != '\0'; c++)
        lines += *c == '\n';
    assert_int_equal(lines, 4); /* header, units, two slips */
    assert_non_null(strstr(ch_text_string(&csv), ",\"invented, \"\"run\"\" 1.csv\","));
    assert_non_null(strstr(ch_text_string(&csv), ",4,10.25,11.5,0.085,"));
    ch_text_clear(&csv);
    ch_store_close(store);
}

/* A run of its own log, driven on a day; with slips, or pulled enough and without. */
static int64_t driven(ch_store *store, int64_t car, const char *log, ch_date day, bool slips, unsigned limits)
{
    ch_store_run run = kit_run(car);
    char digest[CH_STORE_DIGEST + 1] = "";
    snprintf(digest, sizeof digest, "%064x", (unsigned)strlen(log) * 256 + (unsigned char)log[0]);
    run.log_sha256 = digest;
    run.log_name = log;
    run.day = day;
    run.driveline.limits = limits;
    if (!slips)
        run.driveline.slips = run.driveline.slips_found = 0;
    return add(store, &run, NULL);
}

/* The name of the log by which the clutch is judged; "" = none. */
static void expect_judged_on(ch_store *store, int64_t car, const char *log, int day, bool renewed)
{
    ch_err err = {0};
    ch_store_pool pool = {0};
    const ch_store_run *run = NULL;
    ch_date on = {0};
    bool renewed_that_day = false;
    kit_good(ch_store_clutch_run(store, &pool, car, &run, &on, &renewed_that_day, &err), &err);
    assert_string_equal(run != NULL ? run->log_name : "", log);
    assert_int_equal(on.day, day);
    assert_int_equal(renewed_that_day, renewed);
    if (run != NULL && run->driveline.slips_found > 0)
        assert_int_equal(run->driveline.slips, 2); /* whole: with its slips */
    ch_store_pool_clear(&pool);
}

static void expect_judged_by(ch_store *store, int64_t car, const char *log, int day)
{
    expect_judged_on(store, car, log, day, false);
}

static void the_clutch_is_judged_by_the_newest_run_that_tells_of_it(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    const int64_t car = make_car(store), other = make_car(store);
    expect_judged_by(store, car, "", 0);
    expect_judged_by(store, 0, "", 0);
    driven(store, other, "of another car", (ch_date){2026, 12, 24}, true, 0);
    expect_judged_by(store, car, "", 0);
    driven(store, car, "slips", (ch_date){2026, 10, 3}, true, 0);
    driven(store, car, "hardly pulled since", (ch_date){2026, 10, 5}, false, CH_LIMIT_LITTLE_LOAD);
    driven(store, car, "sound, but before", (ch_date){2026, 10, 1}, false, 0);
    expect_judged_by(store, car, "slips", 3);
    driven(store, car, "sound since", (ch_date){2026, 10, 6}, false, 0);
    expect_judged_by(store, car, "sound since", 6);
    const ch_store_run *run = NULL;
    ch_store_pool pool = {0};
    ch_date day = {0};
    bool renewed_that_day = true;
    assert_int_equal(ch_store_clutch_run(store, &pool, 99, &run, &day, &renewed_that_day, NULL), CH_E_INPUT);
    assert_null(run);
    assert_true(renewed_that_day);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
}

static void a_run_of_a_clutch_that_was_renewed_since_counts_no_more(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_err err = {0};
    ch_stored made = {0};
    const int64_t car = make_car(store);
    const ch_store_engine engine = {.car_id = car, .name = "two litre", .why = CH_STORE_FIRST, .begun = {2020, 1, 1}};
    kit_good(ch_store_engine_begin(store, &engine, NULL, 0, NULL, NULL, KIT_NOW, &made, &err), &err);
    const int64_t life = made.id;
    driven(store, car, "slips", (ch_date){2026, 10, 3}, true, 0);
    ch_store_part part = {.engine_id = life,
                          .name = "plate",
                          .life = CH_STORE_CLUTCH_LIFE,
                          .fitted = {2026, 10, 3}}; /* on that very day: before the run or after it */
    kit_good(ch_store_part_add(store, &part, NULL, KIT_NOW, &made, &err), &err);
    expect_judged_on(store, car, "slips", 3, true);
    part.life = "clutch_fluid";
    part.fitted.day = 5;
    kit_good(ch_store_part_add(store, &part, NULL, KIT_NOW, &made, &err), &err);
    expect_judged_on(store, car, "slips", 3, true);
    driven(store, car, "slips on the next day", (ch_date){2026, 10, 4}, true, 0);
    expect_judged_by(store, car, "slips on the next day", 4);
    part.life = CH_STORE_CLUTCH_LIFE;
    part.fitted.day = 4;
    kit_good(ch_store_part_add(store, &part, NULL, KIT_NOW, &made, &err), &err);
    expect_judged_on(store, car, "slips on the next day", 4, true);
    part.fitted.day = 5;
    kit_good(ch_store_part_add(store, &part, NULL, KIT_NOW, &made, &err), &err);
    expect_judged_by(store, car, "", 0);
    /* renewed as a job: from the day on which it was done, once it is closed */
    const int64_t second = make_car(store);
    driven(store, second, "slips too", (ch_date){2026, 10, 3}, true, 0);
    const ch_store_work work = {.car_id = second, .kind = CH_PLAN_JOB, .name = CH_STORE_CLUTCH_JOB, .title = "Clutch"};
    const int64_t next_day = (int64_t)(ch_date_days((ch_date){2026, 10, 4})) * 86400;
    kit_good(ch_store_work_begin(store, &work, next_day, &made, &err), &err);
    kit_good(ch_store_work_done(store, made.id, true, next_day, &err), &err);
    expect_judged_by(store, second, "slips too", 3);
    kit_good(ch_store_work_close(store, made.id, CH_STORE_PROVE_SLIP_LOG, "no log this year", next_day, &err), &err);
    expect_judged_by(store, second, "", 0);
    driven(store, second, "slips on the day of the job", (ch_date){2026, 10, 4}, true, 0);
    expect_judged_on(store, second, "slips on the day of the job", 4, true);
    ch_store_close(store);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_run_comes_back_with_every_number, kit_begin, kit_end),
        cmocka_unit_test_setup_teardown(the_same_log_judged_anew_replaces_and_keeps_what_was_seen, kit_begin, kit_end),
        cmocka_unit_test_setup_teardown(what_is_seen_moves_the_chances_and_their_past_is_kept, kit_begin, kit_end),
        cmocka_unit_test_setup_teardown(what_cannot_be_is_refused_and_nothing_is_stored, kit_begin, kit_end),
        cmocka_unit_test_setup_teardown(day_and_note_may_change_and_nothing_else, kit_begin, kit_end),
        cmocka_unit_test_setup_teardown(what_is_known_of_the_car_is_kept_as_typed, kit_begin, kit_end),
        cmocka_unit_test_setup_teardown(slips_come_out_as_a_table, kit_begin, kit_end),
        cmocka_unit_test_setup_teardown(the_clutch_is_judged_by_the_newest_run_that_tells_of_it, kit_begin, kit_end),
        cmocka_unit_test_setup_teardown(a_run_of_a_clutch_that_was_renewed_since_counts_no_more, kit_begin, kit_end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
