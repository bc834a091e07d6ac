/*
 * Writes a garage file with something of every kind in it: make_fixture FILE. Its dump (`sqlite3 FILE .dump`) is what
 * garage-vN.sql holds; made once for a version of the schema, when that is released, and never again.
 */
#include <sqlite3.h>
#include <string.h>

#include "crosshatch/store_season.h"
#include "crosshatch/store_work.h"
#include "kit.h"

/* A clutch job that was done, with the gearbox still out; and what was spent, corrected once. */
static void fill_work(ch_store *store, int64_t car_id)
{
    ch_err err = {0};
    ch_stored access = {0}, job = {0}, spent = {0}, ledger = {0};
    const ch_store_work out = {.car_id = car_id, .kind = CH_PLAN_ACCESS, .name = "gearbox_out", .title = "Gearbox out"};
    kit_good(ch_store_work_begin(store, &out, KIT_NOW, &access, &err), &err);
    const ch_store_work clutch = {.car_id = car_id, .kind = CH_PLAN_JOB, .name = "clutch_kit", .title = "Clutch kit"};
    kit_good(ch_store_work_begin(store, &clutch, KIT_NOW + 1, &job, &err), &err);
    const ch_store_ledger box = {.work_id = access.id, .what = "Gearbox", .lies = "under the bench"};
    kit_good(ch_store_ledger_add(store, 0, &box, "box-1", KIT_NOW + 2, &ledger, &err), &err);
    const unsigned char bytes[] = {0xff, 0xd8, 0xff, 0x01};
    const ch_store_photo photo = {
        .work_id = access.id, .ledger_id = ledger.id, .mime = "image/jpeg", .bytes = bytes, .length = sizeof bytes};
    kit_good(ch_store_photo_add(store, &photo, NULL, KIT_NOW + 3, NULL, &err), &err);
    ch_store_spent cost = {.work_id = job.id,
                           .day = {2027, 1, 15},
                           .work_us = 2 * CH_WORK_HOUR,
                           .money = 388 * CH_MONEY_ONE,
                           .note = "kit and release bearing"};
    kit_good(ch_store_spent_add(store, &cost, "spent-1", KIT_NOW + 4, &spent, &err), &err);
    cost.id = spent.id;
    cost.money = 398 * CH_MONEY_ONE;
    kit_good(ch_store_spent_change(store, &cost, KIT_NOW + 5, &err), &err);
    ch_owner_torque torque = {.id = "flywheel_torque",
                              .note = "in two rounds",
                              .thread = "M10x1.25",
                              .property_class = "10.9",
                              .surface = CH_THREAD_OILED};
    kit_good(ch_quantity_parse("72 Nm", 5, CH_DIM_TORQUE, NULL, &torque.torque, &err), &err);
    kit_good(ch_store_torque_set(store, car_id, &torque, KIT_NOW + 6, &err), &err);
    kit_good(ch_store_work_done(store, access.id, true, KIT_NOW + 2, &err), &err);
    kit_good(ch_store_work_done(store, job.id, true, KIT_NOW + 7, &err), &err);
}

static void fill(ch_store *store)
{
    ch_err err = {0};
    ch_stored car = {0}, engine = {0}, gauge = {0}, sheet = {0}, entry = {0}, ledger = {0};
    ch_sheet described;
    kit_read_sheet("demo/hill-climb-sound.yaml", &described);
    const ch_store_car c = {.name = "invented hill climb car", .note = "for tests"};
    kit_good(ch_store_car_add(store, &c, "car-1", KIT_NOW, &car, &err), &err);
    const ch_store_engine e = {.car_id = car.id, .name = "invented four", .begun = {2025, 3, 1}};
    kit_good(ch_store_engine_begin(store, &e, NULL, 0, &described, NULL, KIT_NOW, &engine, &err), &err);
    const ch_store_part p = {.engine_id = engine.id,
                             .name = "clutch",
                             .fitted = {2025, 3, 1},
                             .carried_running_s = 36000,
                             .carried_sessions = 25,
                             .life = "clutch_plate",
                             .made = {2024, 2, 29},
                             .part_left_1 = 0.7};
    kit_good(ch_store_part_add(store, &p, NULL, KIT_NOW, NULL, &err), &err);
    const ch_store_event v = {.car_id = car.id,
                              .day = {2025, 5, 1},
                              .name = "hill climb",
                              .running_s = 7200,
                              .distance_m = 80e3,
                              .starts = 9,
                              .sessions = 6};
    kit_good(ch_store_event_add(store, &v, NULL, KIT_NOW, NULL, &err), &err);
    const ch_store_gauge g = {.name = "300 psi dial"};
    kit_good(ch_store_gauge_add(store, &g, &described, NULL, KIT_NOW, &gauge, &err), &err);
    kit_good(ch_store_setting_set(store, "hour_value", "15", KIT_NOW, &err), &err);
    kit_good(ch_store_sheet_save(store, &described, engine.id, "file-1", KIT_NOW, NULL, &err), &err);
    kit_good(ch_store_sheet_begin(store, engine.id, gauge.id, (ch_date){2027, 1, 16}, NULL, KIT_NOW, &sheet, &err),
             &err);
    ch_store_row row = kit_row(1, "178 psi");
    kit_good(ch_store_row_add(store, sheet.id, &row, "phone-1", KIT_NOW + 1, &entry, &err), &err);
    row = kit_row(1, "168 psi");
    kit_good(ch_store_row_correct(store, entry.id, &row, "phone-2", KIT_NOW + 2, NULL, &err), &err);
    row = kit_row(2, "12,3 bar");
    kit_good(ch_store_row_add(store, sheet.id, &row, NULL, KIT_NOW + 3, &entry, &err), &err);
    kit_good(ch_store_row_delete(store, entry.id, NULL, KIT_NOW + 4, NULL, &err), &err);
    const ch_store_ledger l = {.what = "coil", .origin = "cylinder 3", .lies = "bench", .torque = "10 Nm"};
    kit_good(ch_store_ledger_add(store, sheet.id, &l, NULL, KIT_NOW, &ledger, &err), &err);
    const unsigned char bytes[] = {0xff, 0xd8, 0xff, 0x00};
    const ch_store_photo photo = {
        .sheet_id = sheet.id, .ledger_id = ledger.id, .mime = "image/jpeg", .bytes = bytes, .length = sizeof bytes};
    kit_good(ch_store_photo_add(store, &photo, NULL, KIT_NOW, NULL, &err), &err);
    fill_work(store, car.id);
    kit_good(ch_store_sheet_begin(store, engine.id, 0, (ch_date){2027, 1, 17}, NULL, KIT_NOW, &sheet, &err), &err);
    kit_good(ch_store_sheet_withdraw(store, sheet.id, "begun by mistake", KIT_NOW + 8, &err), &err);
    ch_sheet_clear(&described);
    ch_knowledge knowledge;
    ch_assumptions assumptions;
    ch_store_pool pool = {0};
    ch_store_season season;
    kit_good(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), &err), &err);
    kit_good(ch_assumptions_parse(&assumptions, ch_assumptions_builtin(), &err), &err);
    const ch_store_judging judging = {.knowledge = &knowledge, .made_by = "fixture", .options = {.seed = 1}};
    kit_good(ch_store_season_load(store, &pool, car.id, &judging, &assumptions, &season, &err), &err);
    ch_store_pool_clear(&pool);
    ch_assumptions_clear(&assumptions);
    ch_knowledge_clear(&knowledge);
}

static void fill_run(ch_store *store)
{
    ch_err err = {0};
    ch_stored stored = {0};
    const ch_store_run run = kit_run(1);
    kit_good(ch_store_run_add(store, &run, "log-1", KIT_NOW, &stored, &err), &err);
    const ch_store_run_sign sign = {.sign = "clutch_smell", .present = 1};
    kit_good(ch_store_run_see(store, stored.id, &sign, 1, run.driveline.cause_1, KIT_NOW + 1, &err), &err);
    kit_good(ch_store_drivetrain_set(store, 1, "tyre: 195/50R15\nmass: 900 kg\n", KIT_NOW, &err), &err);
}

int main(int count, char **arguments)
{
    ch_store *store = NULL;
    if (count != 2 || ch_store_open(arguments[1], CH_STORE_CREATE, &store, NULL) < 0)
        return 1;
    fill(store);
    fill_run(store);
    kit_verify(store);
    ch_store_close(store);
    return 0;
}
