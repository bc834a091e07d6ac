/*
 * Winter work in the garage file: what is begun once is in hand once, what a job took off goes into the one ledger, a job closes when it is proven
 * or for a reason, and what was spent or looked up keeps its earlier values.
 */
#include <string.h>

#include "crosshatch/store_driveline.h"
#include "crosshatch/store_work.h"
#include "kit.h"

static int64_t car_with_engine(ch_store *store, int64_t *engine_id)
{
    ch_err err = {0};
    ch_stored car = {0}, engine = {0};
    const ch_store_car c = {.name = "invented hatch"};
    kit_good(ch_store_car_add(store, &c, NULL, KIT_NOW, &car, &err), &err);
    ch_sheet described;
    kit_read_sheet("demo/hill-climb-sound.yaml", &described);
    const ch_store_engine e = {.car_id = car.id, .name = "four", .begun = {2026, 1, 1}};
    kit_good(ch_store_engine_begin(store, &e, NULL, 0, &described, NULL, KIT_NOW, &engine, &err), &err);
    ch_sheet_clear(&described);
    *engine_id = engine.id;
    return car.id;
}

static int64_t begin(ch_store *store, int64_t car_id, ch_plan_kind kind, const char *name)
{
    ch_err err = {0};
    ch_stored stored = {0};
    const ch_store_work work = {.car_id = car_id, .kind = kind, .name = name, .title = name};
    kit_good(ch_store_work_begin(store, &work, KIT_NOW, &stored, &err), &err);
    return stored.id;
}

static ch_store_work get(ch_store *store, ch_store_pool *pool, int64_t id)
{
    ch_err err = {0};
    ch_store_work work = {0};
    kit_good(ch_store_work_get(store, pool, id, &work, &err), &err);
    return work;
}

static void work_in_hand_is_begun_once_and_again_after_it_is_closed(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    int64_t engine = 0;
    ch_err err = {0};
    const int64_t car = car_with_engine(store, &engine), first = begin(store, car, CH_PLAN_JOB, "clutch_kit");
    ch_stored again = {0};
    const ch_store_work work = {.car_id = car, .kind = CH_PLAN_JOB, .name = "clutch_kit", .title = "Clutch kit"};
    kit_good(ch_store_work_begin(store, &work, KIT_NOW + 1, &again, &err), &err);
    assert_true(again.again);
    assert_int_equal(again.id, first);
    assert_int_not_equal(begin(store, car, CH_PLAN_ACCESS, "clutch_kit"),
                         first); /* a step and a job may share a name */
    assert_int_equal(ch_store_work_close(store, first, 0, NULL, KIT_NOW + 2, &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "not done"));
    err = (ch_err){0};
    kit_good(ch_store_work_done(store, first, true, KIT_NOW + 3, &err), &err);
    kit_good(ch_store_work_done(store, first, true, KIT_NOW + 9, &err), &err);
    assert_int_equal(get(store, &pool, first).done_s, KIT_NOW + 3);
    kit_good(ch_store_work_close(store, first, 0, NULL, KIT_NOW + 10, &err), &err);
    assert_int_equal(ch_store_work_done(store, first, false, KIT_NOW + 11, NULL), CH_E_INPUT);
    const int64_t second = begin(store, car, CH_PLAN_JOB, "clutch_kit");
    assert_int_not_equal(second, first);
    assert_int_equal(ch_store_work_reopen(store, first, KIT_NOW + 12, &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "begun again"));
    const ch_store_work *rows = NULL;
    size_t count = 0;
    err = (ch_err){0};
    kit_good(ch_store_works(store, &pool, car, &rows, &count, &err), &err);
    assert_int_equal(count, 3);
    assert_int_equal(rows[0].id, second);
    assert_int_equal(rows[2].closed_s, KIT_NOW + 10);
    kit_good(ch_store_works(store, &pool, car + 1, &rows, &count, &err), &err);
    assert_int_equal(count, 0);
    ch_store_pool_clear(&pool);
    kit_verify(store);
    ch_store_close(store);
}

static void what_a_job_took_off_stands_in_the_one_ledger(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    int64_t engine = 0;
    ch_err err = {0};
    ch_stored box = {0}, coil = {0}, sheet = {0};
    const int64_t car = car_with_engine(store, &engine), work = begin(store, car, CH_PLAN_ACCESS, "gearbox_out");
    kit_good(ch_store_sheet_begin(store, engine, 0, (ch_date){0}, NULL, KIT_NOW, &sheet, &err), &err);
    const ch_store_ledger c = {.what = "coil"}, b = {.work_id = work, .what = "gearbox", .lies = "floor"};
    kit_good(ch_store_ledger_add(store, sheet.id, &c, NULL, KIT_NOW, &coil, &err), &err);
    kit_good(ch_store_ledger_add(store, 0, &b, "b", KIT_NOW, &box, &err), &err);
    kit_good(ch_store_work_done(store, work, true, KIT_NOW, &err), &err);
    const ch_store_ledger *rows = NULL;
    size_t count = 0;
    kit_good(ch_store_ledger_list(store, &pool, 0, true, &rows, &count, &err), &err);
    assert_int_equal(count, 2);
    assert_int_equal(rows[0].sheet_id, sheet.id);
    assert_int_equal(rows[0].work_id, 0);
    assert_int_equal(rows[1].sheet_id, 0);
    assert_int_equal(rows[1].work_id, work);
    assert_int_equal(rows[0].car_id, car);
    assert_int_equal(rows[1].car_id, car);
    kit_good(ch_store_ledger_list(store, &pool, sheet.id, true, &rows, &count, &err), &err);
    assert_int_equal(count, 1);
    assert_int_equal(get(store, &pool, work).ledger_open, 1);
    assert_int_equal(ch_store_work_close(store, work, 0, "  ", KIT_NOW + 1, &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "1 not put back, first: gearbox"));
    err = (ch_err){0};
    kit_good(ch_store_ledger_put_back(store, box.id, true, KIT_NOW + 2, &err), &err);
    kit_good(ch_store_work_close(store, work, 7, NULL, KIT_NOW + 3, &err), &err); /* access proves nothing */
    assert_int_equal(ch_store_ledger_put_back(store, box.id, false, KIT_NOW + 4, NULL), CH_E_INPUT);
    assert_int_equal(ch_store_ledger_add(store, 0, &b, NULL, KIT_NOW + 4, NULL, NULL), CH_E_INPUT);
    kit_good(ch_store_work_reopen(store, work, KIT_NOW + 5, &err), &err);
    assert_int_equal(get(store, &pool, work).done_s, KIT_NOW); /* open again since it was first */
    kit_good(ch_store_ledger_put_back(store, box.id, false, KIT_NOW + 6, &err), &err);
    kit_good(ch_store_work_close(store, work, 0, "gearbox sold", KIT_NOW + 7, &err), &err);
    assert_string_equal(get(store, &pool, work).close_reason, "gearbox sold");
    ch_store_pool_clear(&pool);
    kit_verify(store);
    ch_store_close(store);
}

/* A laptop whose battery was out believes that it is years ago: work ends no sooner than it began. */
static void work_does_not_end_before_it_was_begun_by_a_clock_set_back(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    int64_t engine = 0;
    ch_err err = {0};
    const int64_t car = car_with_engine(store, &engine), said = begin(store, car, CH_PLAN_ACCESS, "gearbox_out"),
                  unsaid = begin(store, car, CH_PLAN_ACCESS, "head_off");
    const int64_t years_ago = KIT_NOW - 100000000;
    kit_good(ch_store_work_done(store, said, true, years_ago, &err), &err);
    assert_int_equal(get(store, &pool, said).done_s, KIT_NOW);
    kit_good(ch_store_work_close(store, said, 0, NULL, years_ago, &err), &err);
    assert_int_equal(get(store, &pool, said).closed_s, KIT_NOW);
    kit_good(ch_store_work_close(store, unsaid, 0, "given up", years_ago, &err), &err);
    assert_int_equal(get(store, &pool, unsaid).done_s, KIT_NOW);
    assert_int_equal(get(store, &pool, unsaid).closed_s, KIT_NOW);
    ch_store_pool_clear(&pool);
    kit_verify(store);
    ch_store_close(store);
}

static void photos_belong_to_work_as_to_sheets(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    int64_t engine = 0;
    ch_err err = {0};
    ch_stored box = {0}, kept = {0}, sheet = {0};
    const int64_t car = car_with_engine(store, &engine), work = begin(store, car, CH_PLAN_ACCESS, "gearbox_out");
    kit_good(ch_store_sheet_begin(store, engine, 0, (ch_date){0}, NULL, KIT_NOW, &sheet, &err), &err);
    const ch_store_ledger b = {.work_id = work, .what = "gearbox"};
    kit_good(ch_store_ledger_add(store, 0, &b, NULL, KIT_NOW, &box, &err), &err);
    const unsigned char bytes[] = {1, 2, 3};
    ch_store_photo photo = {
        .work_id = work, .ledger_id = box.id, .mime = "image/jpeg", .bytes = bytes, .length = sizeof bytes};
    kit_good(ch_store_photo_add(store, &photo, NULL, KIT_NOW, &kept, &err), &err);
    const ch_store_photo *rows = NULL;
    size_t count = 0;
    kit_good(ch_store_work_photos(store, &pool, work, &rows, &count, &err), &err);
    assert_int_equal(count, 1);
    assert_int_equal(rows[0].work_id, work);
    assert_int_equal(rows[0].sheet_id, 0);
    assert_int_equal(rows[0].ledger_id, box.id);
    kit_good(ch_store_photos(store, &pool, sheet.id, &rows, &count, &err), &err);
    assert_int_equal(count, 0);
    photo.sheet_id = sheet.id; /* the thing was taken off for the work, not for the sheet */
    assert_int_equal(ch_store_photo_add(store, &photo, NULL, KIT_NOW, NULL, NULL), CH_E_INPUT);
    kit_good(ch_store_photo_delete(store, kept.id, KIT_NOW, &err), &err);
    kit_good(ch_store_work_photos(store, &pool, work, &rows, &count, &err), &err);
    assert_int_equal(count, 0);
    ch_store_pool_clear(&pool);
    kit_verify(store);
    ch_store_close(store);
}

/* A sheet of the engine with one reading of the kind, entered at `at_s`. */
static int64_t measured(ch_store *store, int64_t engine, ch_date day, bool leak_down, int64_t at_s)
{
    ch_err err = {0};
    ch_stored sheet = {0};
    ch_store_row row = kit_row(1, "178 psi");
    kit_good(ch_store_sheet_begin(store, engine, 0, day, NULL, at_s, &sheet, &err), &err);
    if (leak_down) {
        ch_store_row_init(&row, CH_STORE_LEAKDOWN);
        row.leakdown.cylinder = 1;
        row.leakdown.supply = kit_quantity("100 psi", CH_DIM_PRESSURE);
        row.leakdown.loss = kit_quantity("12 %", CH_DIM_RATIO);
    }
    kit_good(ch_store_row_add(store, sheet.id, &row, NULL, at_s, NULL, &err), &err);
    return sheet.id;
}

static void a_job_closes_when_a_newer_sheet_proves_it_or_for_a_reason(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    int64_t engine = 0;
    ch_err err = {0};
    const int64_t car = car_with_engine(store, &engine), head = begin(store, car, CH_PLAN_JOB, "head_rebuild");
    measured(store, engine, (ch_date){0}, false, KIT_NOW + 10); /* before the job was done */
    kit_good(ch_store_work_done(store, head, true, KIT_NOW + 20, &err), &err);
    measured(store, engine, (ch_date){2026, 11, 1}, false, KIT_NOW + 30); /* an old paper sheet, brought in late */
    measured(store, engine, (ch_date){0}, true, KIT_NOW + 31);
    assert_int_equal(ch_store_work_close(store, head, CH_STORE_PROVE_COMPRESSION, NULL, KIT_NOW + 32, &err),
                     CH_E_INPUT);
    assert_string_equal(err.what, "no compression test since the job was done");
    ch_store_proof proof = {0};
    err = (ch_err){0};
    kit_good(ch_store_work_proof(store, head, &proof, &err), &err);
    assert_int_equal(proof.compression_sheet_id, 0);
    assert_true(proof.leak_down_sheet_id > 0);
    const int64_t proving = measured(store, engine, (ch_date){2027, 1, 15}, false, KIT_NOW + 40);
    kit_good(ch_store_work_proof(store, head, &proof, &err), &err);
    assert_int_equal(proof.compression_sheet_id, proving);
    kit_good(ch_store_work_close(store, head, CH_STORE_PROVE_COMPRESSION | CH_STORE_PROVE_LEAK_DOWN, NULL, KIT_NOW + 41,
                                 &err),
             &err);
    assert_int_equal(get(store, &pool, head).proof_sheet_id, proving);
    assert_null(get(store, &pool, head).close_reason);
    kit_good(ch_store_work_reopen(store, head, KIT_NOW + 42, &err), &err);
    kit_good(ch_store_sheet_withdraw(store, proving, NULL, KIT_NOW + 43, &err),
             &err); /* a sheet that is gone proves nothing */
    assert_int_equal(ch_store_work_close(store, head, CH_STORE_PROVE_COMPRESSION, "\n", KIT_NOW + 44, NULL),
                     CH_E_INPUT);
    kit_good(
        ch_store_work_close(store, head, CH_STORE_PROVE_COMPRESSION, "engine is sold as it is", KIT_NOW + 45, &err),
        &err);
    assert_int_equal(get(store, &pool, head).proof_sheet_id, 0);
    assert_string_equal(get(store, &pool, head).close_reason, "engine is sold as it is");
    ch_store_pool_clear(&pool);
    kit_verify(store);
    ch_store_close(store);
}

/* The one row of the sheet, put right. */
static void put_right(ch_store *store, int64_t sheet, const char *reading, int64_t at_s)
{
    ch_store_pool pool = {0};
    const ch_store_row *rows = NULL;
    size_t count = 0;
    ch_err err = {0};
    const ch_store_row better = kit_row(1, reading);
    kit_good(ch_store_rows(store, &pool, sheet, false, &rows, &count, &err), &err);
    assert_int_equal(count, 1);
    kit_good(ch_store_row_correct(store, rows[0].id, &better, NULL, at_s, NULL, &err), &err);
    ch_store_pool_clear(&pool);
}

static void a_figure_put_right_later_proves_no_job(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    int64_t engine = 0;
    ch_err err = {0};
    ch_store_proof proof = {0};
    const int64_t car = car_with_engine(store, &engine), head = begin(store, car, CH_PLAN_JOB, "head_rebuild");
    const int64_t failed = measured(store, engine, (ch_date){2027, 1, 15}, false, KIT_NOW + 10);
    kit_good(ch_store_work_done(store, head, true, KIT_NOW + 20, &err), &err);
    put_right(store, failed, "118 psi", KIT_NOW + 30);
    put_right(store, failed, "117 psi", KIT_NOW + 31); /* and once more */
    kit_good(ch_store_work_proof(store, head, &proof, &err), &err);
    assert_int_equal(proof.compression_sheet_id, 0);
    assert_int_equal(ch_store_work_close(store, head, CH_STORE_PROVE_COMPRESSION, NULL, KIT_NOW + 32, &err),
                     CH_E_INPUT);
    const int64_t first = measured(store, engine, (ch_date){2027, 1, 15}, false, KIT_NOW + 40);
    const int64_t second = measured(store, engine, (ch_date){2027, 1, 15}, false, KIT_NOW + 41);
    put_right(store, first, "180 psi", KIT_NOW + 42); /* measured since, so that it proves; but it is not the newest */
    kit_good(ch_store_work_proof(store, head, &proof, &err), &err);
    assert_int_equal(proof.compression_sheet_id, second);
    kit_good(ch_store_sheet_withdraw(store, second, NULL, KIT_NOW + 43, &err), &err);
    err = (ch_err){0};
    kit_good(ch_store_work_close(store, head, CH_STORE_PROVE_COMPRESSION, NULL, KIT_NOW + 44, &err), &err);
    assert_int_equal(get(store, &pool, head).proof_sheet_id, first);
    ch_store_pool_clear(&pool);
    kit_verify(store);
    ch_store_close(store);
}

/* A run as the store takes it: gears found, no slip, of this log. */
static int64_t logged(ch_store *store, int64_t car, char digit, ch_date day, int64_t at_s)
{
    ch_err err = {0};
    ch_stored stored = {0};
    char digest[CH_STORE_DIGEST + 1];
    memset(digest, digit, CH_STORE_DIGEST);
    digest[CH_STORE_DIGEST] = '\0';
    ch_store_run run = {.car_id = car,
                        .day = day,
                        .log_name = "run.csv",
                        .log_sha256 = digest,
                        .log_bytes = 1,
                        .told = "",
                        .made_by = "test",
                        .seconds = 60};
    run.driveline.state = CH_DRIVELINE_GEARS_FOUND;
    run.driveline.gears = 1;
    run.driveline.gear[0] =
        (ch_driveline_gear){.number = 3, .line_rad_m = 17.0, .u_line_rad_m = 0.1, .spread_1 = 0.01, .seconds = 30};
    run.driveline.cause_1[CH_CLUTCH_SOUND] = 1.0;
    kit_good(ch_store_run_add(store, &run, NULL, at_s, &stored, &err), &err);
    return stored.id;
}

static void a_clutch_job_closes_by_a_log_driven_since(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    int64_t engine = 0;
    ch_err err = {0};
    const int64_t car = car_with_engine(store, &engine), clutch = begin(store, car, CH_PLAN_JOB, "clutch_kit");
    logged(store, car, 'a', (ch_date){0}, KIT_NOW + 1);
    kit_good(ch_store_work_done(store, clutch, true, KIT_NOW + 5, &err), &err);
    logged(store, car, 'a', (ch_date){0}, KIT_NOW + 6);          /* the old log, judged anew */
    logged(store, car, 'b', (ch_date){2026, 9, 1}, KIT_NOW + 7); /* driven before */
    assert_int_equal(ch_store_work_close(store, clutch, CH_STORE_PROVE_SLIP_LOG, NULL, KIT_NOW + 8, &err), CH_E_INPUT);
    assert_string_equal(err.what, "no slip log since the job was done");
    const int64_t run = logged(store, car, 'c', (ch_date){2027, 1, 16}, KIT_NOW + 9);
    err = (ch_err){0};
    kit_good(ch_store_work_close(store, clutch, CH_STORE_PROVE_SLIP_LOG, NULL, KIT_NOW + 10, &err), &err);
    assert_int_equal(get(store, &pool, clutch).proof_run_id, run);
    ch_store_pool_clear(&pool);
    kit_verify(store);
    ch_store_close(store);
}

static void hours_and_money_add_up_and_keep_what_they_were(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    int64_t engine = 0;
    ch_err err = {0};
    ch_stored one = {0}, two = {0};
    const int64_t car = car_with_engine(store, &engine), work = begin(store, car, CH_PLAN_JOB, "brake_pads");
    ch_store_spent spent = {
        .work_id = work, .day = {2027, 1, 16}, .work_us = CH_WORK_HOUR * 3 / 2, .money = 41 * CH_MONEY_ONE};
    kit_good(ch_store_spent_add(store, &spent, "s1", KIT_NOW, &one, &err), &err);
    kit_good(ch_store_spent_add(store, &spent, "s1", KIT_NOW, &two, &err), &err);
    assert_true(two.again);
    spent = (ch_store_spent){.work_id = work, .day = {2027, 1, 9}, .money = CH_MONEY_ONE / 4, .note = "washers"};
    kit_good(ch_store_spent_add(store, &spent, NULL, KIT_NOW, &two, &err), &err);
    assert_int_equal(get(store, &pool, work).work_us, CH_WORK_HOUR * 3 / 2);
    assert_int_equal(get(store, &pool, work).money, 41 * CH_MONEY_ONE + CH_MONEY_ONE / 4);
    spent = (ch_store_spent){.id = one.id, .day = {2027, 1, 16}, .work_us = CH_WORK_HOUR, .money = 39 * CH_MONEY_ONE};
    kit_good(ch_store_spent_change(store, &spent, KIT_NOW + 5, &err), &err);
    kit_good(ch_store_spent_delete(store, two.id, KIT_NOW + 6, &err), &err);
    const ch_store_spent *rows = NULL;
    size_t count = 0;
    kit_good(ch_store_spents(store, &pool, work, &rows, &count, &err), &err);
    assert_int_equal(count, 1);
    assert_int_equal(rows[0].money, 39 * CH_MONEY_ONE);
    assert_int_equal(get(store, &pool, work).work_us, CH_WORK_HOUR);
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM history WHERE table_name = 'spent'"), 2);
    assert_int_equal(kit_ask(kit_path("garage.db"),
                             "SELECT json_extract(was, '$.money') FROM history WHERE table_name = 'spent' ORDER BY id"),
                     41 * CH_MONEY_ONE);
    const ch_store_spent bad[] = {{.work_id = work, .day = {2027, 1, 9}},
                                  {.work_id = work, .day = {2027, 1, 9}, .work_us = -1},
                                  {.work_id = work, .day = {2027, 1, 9}, .money = -1, .work_us = 5},
                                  {.work_id = work, .day = {2027, 1, 9}, .work_us = 1001 * CH_WORK_HOUR},
                                  {.work_id = work, .work_us = CH_WORK_HOUR},
                                  {.work_id = 99, .day = {2027, 1, 9}, .work_us = CH_WORK_HOUR}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        assert_int_equal(ch_store_spent_add(store, &bad[i], NULL, KIT_NOW, NULL, NULL), CH_E_INPUT);
    assert_int_equal(ch_store_spent_delete(store, two.id, KIT_NOW, NULL), CH_E_INPUT);
    ch_store_pool_clear(&pool);
    kit_verify(store);
    ch_store_close(store);
}

static void a_torque_comes_back_as_typed_and_its_old_figure_is_kept(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    ch_store_pool pool = {0};
    int64_t engine = 0;
    ch_err err = {0};
    const int64_t car = car_with_engine(store, &engine);
    ch_owner_torque torque = {.id = "flywheel_torque",
                              .torque = kit_quantity("53,5 lbf ft", CH_DIM_TORQUE),
                              .note = "oil the threads",
                              .thread = "M10x1.25",
                              .property_class = "10.9",
                              .surface = CH_THREAD_OILED};
    kit_good(ch_store_torque_set(store, car, &torque, KIT_NOW, &err), &err);
    kit_good(ch_store_torque_set(store, car, &torque, KIT_NOW + 1, &err), &err); /* the same again is no change */
    const ch_owner_torque *rows = NULL;
    size_t count = 0;
    kit_good(ch_store_torques(store, &pool, car, &rows, &count, &err), &err);
    assert_int_equal(count, 1);
    assert_string_equal(rows[0].id, "flywheel_torque");
    assert_string_equal(rows[0].torque.number, "53,5");
    expect_close(rows[0].torque.si, torque.torque.si, 0);
    assert_false(rows[0].torque.bare);
    assert_string_equal(rows[0].note, "oil the threads");
    assert_string_equal(rows[0].thread, "M10x1.25");
    assert_string_equal(rows[0].property_class, "10.9");
    assert_int_equal(rows[0].surface, CH_THREAD_OILED);
    const char *path = kit_path("garage.db");
    assert_int_equal(kit_ask(path, "SELECT count(*) FROM history WHERE table_name = 'torque'"), 0);
    torque = (ch_owner_torque){.id = "flywheel_torque", .torque = ch_quantity_none()};
    kit_good(ch_store_torque_set(store, car, &torque, KIT_NOW + 2, &err), &err);
    kit_good(ch_store_torques(store, &pool, car, &rows, &count, &err), &err);
    assert_int_equal(count, 0);
    assert_int_equal(kit_ask(path, "SELECT json_extract(was, '$.text') = '53,5' FROM history"
                                   " WHERE table_name = 'torque'"),
                     1);
    const ch_owner_torque bad[] = {
        {.id = "a", .torque = kit_quantity("-5 Nm", CH_DIM_TORQUE)},
        {.id = "a", .torque = kit_quantity("5 psi", CH_DIM_PRESSURE)},
        {.id = "a", .torque = ch_quantity_none(), .thread = "M10"},
        {.id = "a", .torque = ch_quantity_none(), .thread = "half inch", .property_class = "8.8"},
        {.id = "a", .torque = ch_quantity_none(), .thread = "M10", .property_class = "5.6"},
        {.id = "", .torque = ch_quantity_none()}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        assert_int_equal(ch_store_torque_set(store, car, &bad[i], KIT_NOW, NULL), CH_E_INPUT);
    assert_int_equal(ch_store_torque_set(store, 99, &torque, KIT_NOW, NULL), CH_E_INPUT);
    ch_store_pool_clear(&pool);
    kit_verify(store);
    ch_store_close(store);
}

static void names_that_cannot_be_and_work_that_is_not_there_are_refused(void **state)
{
    (void)state;
    ch_store *store = kit_open();
    int64_t engine = 0;
    const int64_t car = car_with_engine(store, &engine);
    char long_name[CH_PLAN_NAME_MAX + 2];
    memset(long_name, 'a', sizeof long_name - 1);
    long_name[sizeof long_name - 1] = '\0';
    const ch_store_work bad[] = {{.car_id = car, .name = "", .title = "x"},
                                 {.car_id = car, .name = "x", .title = NULL},
                                 {.car_id = car, .name = "x\x01", .title = "x"},
                                 {.car_id = car, .name = long_name, .title = "x"},
                                 {.car_id = 99, .name = "x", .title = "x"}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        assert_int_equal(ch_store_work_begin(store, &bad[i], KIT_NOW, NULL, NULL), CH_E_INPUT);
    ch_store_pool pool = {0};
    ch_store_work work;
    ch_store_proof proof;
    assert_int_equal(ch_store_work_get(store, &pool, 5, &work, NULL), CH_E_INPUT);
    assert_int_equal(ch_store_work_done(store, 5, true, KIT_NOW, NULL), CH_E_INPUT);
    assert_int_equal(ch_store_work_close(store, 5, 0, "gone", KIT_NOW, NULL), CH_E_INPUT);
    assert_int_equal(ch_store_work_reopen(store, 5, KIT_NOW, NULL), CH_E_INPUT);
    assert_int_equal(ch_store_work_proof(store, 5, &proof, NULL), CH_E_INPUT);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, kit_begin, kit_end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROMISE(work_in_hand_is_begun_once_and_again_after_it_is_closed),
        PROMISE(what_a_job_took_off_stands_in_the_one_ledger),
        PROMISE(work_does_not_end_before_it_was_begun_by_a_clock_set_back),
        PROMISE(photos_belong_to_work_as_to_sheets),
        PROMISE(a_job_closes_when_a_newer_sheet_proves_it_or_for_a_reason),
        PROMISE(a_figure_put_right_later_proves_no_job),
        PROMISE(a_clutch_job_closes_by_a_log_driven_since),
        PROMISE(hours_and_money_add_up_and_keep_what_they_were),
        PROMISE(a_torque_comes_back_as_typed_and_its_old_figure_is_kept),
        PROMISE(names_that_cannot_be_and_work_that_is_not_there_are_refused),
    };
    return cmocka_run_group_tests_name("store_work", tests, NULL, NULL);
}
