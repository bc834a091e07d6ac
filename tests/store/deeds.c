#include "deeds.h"

#include <math.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/store_driveline.h"
#include "crosshatch/store_ready.h"
#include "crosshatch/store_work.h"

/* ---- what a deed needs ---- */

static bool fits_car(const deed_place *p)
{
    return p->car != 0;
}

static bool fits_engine(const deed_place *p)
{
    return p->engine != 0;
}

static bool fits_gauge(const deed_place *p)
{
    return p->gauge != 0;
}

static bool fits_event(const deed_place *p)
{
    return p->event != 0;
}

static bool fits_part(const deed_place *p)
{
    return p->part != 0;
}

static bool fits_sheet(const deed_place *p)
{
    return p->sheet != 0;
}

static bool fits_entry(const deed_place *p)
{
    return p->sheet != 0 && p->entry != 0;
}

static bool fits_ledger(const deed_place *p)
{
    return p->sheet != 0 && p->ledger != 0;
}

static bool fits_photo(const deed_place *p)
{
    return p->photo != 0;
}

static bool fits_work(const deed_place *p)
{
    return p->work != 0;
}

static bool fits_run(const deed_place *p)
{
    return p->run != 0;
}

/* ---- texts and rows ---- */

static const char *client(const deed_place *p, char text[32])
{
    snprintf(text, 32, "sender-%d", p->n);
    return text;
}

static const char *named(const char *what, const deed_place *p, char text[64])
{
    snprintf(text, 64, "%s %d", what, p->n);
    return text;
}

static const char *named_id(const char *what, const deed_place *p, char text[64])
{
    snprintf(text, 64, "%s_%d", what, p->n);
    return text;
}

static ch_status quantity(const char *text, ch_dimension dimension, ch_quantity *q, ch_err *err)
{
    *q = ch_quantity_none();
    return ch_quantity_parse(text, strlen(text), dimension, NULL, q, err);
}

static int64_t now(const deed_place *p)
{
    return DEED_NOW + p->n;
}

/* Where the deed succeeded, this is the place's from now on. */
static ch_status made(ch_status rc, const ch_stored *stored, int64_t *where)
{
    if (rc >= 0)
        *where = stored->id;
    return rc;
}

/* ---- cars, engines, gauges ---- */

static ch_status car_add(ch_store *st, deed_place *p, ch_err *err)
{
    char name[64], sender[32];
    ch_stored stored = {0};
    const ch_store_car car = {.name = named("invented car", p, name), .note = "for tests"};
    return made(ch_store_car_add(st, &car, client(p, sender), now(p), &stored, err), &stored,
                p->car == 0 ? &p->car : &stored.id);
}

static ch_status car_change(ch_store *st, deed_place *p, ch_err *err)
{
    char name[64];
    const ch_store_car car = {.id = p->car, .name = named("renamed car", p, name), .note = "for tests"};
    return ch_store_car_change(st, &car, now(p), err);
}

static ch_status engine_begin(ch_store *st, deed_place *p, ch_err *err)
{
    char name[64], sender[32];
    ch_stored stored = {0};
    const ch_store_engine engine = {.car_id = p->car,
                                    .continues_id = p->engine,
                                    .name = named("rebuilt four", p, name),
                                    .why = p->engine != 0 ? CH_STORE_REBUILD : CH_STORE_FIRST,
                                    .begun = {2027, 2, 1}};
    return made(ch_store_engine_begin(st, &engine, NULL, 0, p->engine != 0 ? NULL : p->demo, client(p, sender), now(p),
                                      &stored, err),
                &stored, &p->engine);
}

static ch_status engine_describe(ch_store *st, deed_place *p, ch_err *err)
{
    ch_sheet other;
    ch_sheet_init(&other);
    other.engine.cylinders = 4;
    other.engine.compression_ratio = 9 + p->n % 10 * 0.1;
    const ch_status rc = ch_store_engine_describe(st, p->engine, &other, now(p), err);
    ch_sheet_clear(&other);
    return rc;
}

static ch_status gauge_add(ch_store *st, deed_place *p, ch_err *err)
{
    char name[64], sender[32];
    ch_stored stored = {0};
    const ch_store_gauge gauge = {.name = named("300 psi dial", p, name)};
    return made(ch_store_gauge_add(st, &gauge, p->demo, client(p, sender), now(p), &stored, err), &stored, &p->gauge);
}

static ch_status gauge_change(ch_store *st, deed_place *p, ch_err *err)
{
    char name[64];
    const ch_store_gauge gauge = {.id = p->gauge, .name = named("dial with a new glass", p, name)};
    return ch_store_gauge_change(st, &gauge, p->demo, now(p), err);
}

/* ---- events and parts ---- */

static ch_store_event an_event(const deed_place *p, const char *name)
{
    return (ch_store_event){.id = p->event,
                            .car_id = p->car,
                            .day = {2027, 3, 1 + p->n % 28},
                            .name = name,
                            .running_s = 3600 + p->n,
                            .distance_m = 40e3,
                            .starts = 4,
                            .sessions = 5};
}

static ch_status event_add(ch_store *st, deed_place *p, ch_err *err)
{
    char name[64], sender[32];
    ch_stored stored = {0};
    const ch_store_event event = an_event(p, named("hill climb", p, name));
    return made(ch_store_event_add(st, &event, client(p, sender), now(p), &stored, err), &stored, &p->event);
}

static ch_status event_change(ch_store *st, deed_place *p, ch_err *err)
{
    char name[64];
    ch_store_event event = an_event(p, named("hill climb in the wet", p, name));
    return ch_store_event_change(st, &event, now(p), err);
}

static ch_status event_delete(ch_store *st, deed_place *p, ch_err *err)
{
    const ch_status rc = ch_store_event_delete(st, p->event, now(p), err);
    if (rc >= 0)
        p->event = 0;
    return rc;
}

static ch_store_part a_part(const deed_place *p, const char *name)
{
    return (ch_store_part){.id = p->part, .engine_id = p->engine, .name = name, .fitted = {2027, 2, 2}};
}

static ch_status part_add(ch_store *st, deed_place *p, ch_err *err)
{
    char name[64], sender[32];
    ch_stored stored = {0};
    const ch_store_part part = a_part(p, named("clutch", p, name));
    return made(ch_store_part_add(st, &part, client(p, sender), now(p), &stored, err), &stored, &p->part);
}

static ch_status part_change(ch_store *st, deed_place *p, ch_err *err)
{
    char name[64];
    const ch_store_part part = a_part(p, named("clutch, plate alone", p, name));
    return ch_store_part_change(st, &part, now(p), err);
}

static ch_status part_delete(ch_store *st, deed_place *p, ch_err *err)
{
    const ch_status rc = ch_store_part_delete(st, p->part, now(p), err);
    if (rc >= 0)
        p->part = 0;
    return rc;
}

/* ---- sheets and their rows ---- */

static ch_status sheet_begin(ch_store *st, deed_place *p, ch_err *err)
{
    char sender[32];
    ch_stored stored = {0};
    const ch_status rc = made(
        ch_store_sheet_begin(st, p->engine, p->gauge, (ch_date){2027, 1, 16}, client(p, sender), now(p), &stored, err),
        &stored, &p->sheet);
    if (rc >= 0)
        p->entry = p->ledger = 0;
    return rc;
}

static ch_status sheet_head(ch_store *st, deed_place *p, ch_err *err)
{
    char title[64];
    ch_sheet head;
    ch_sheet_init(&head);
    head.engine.cylinders = 4;
    head.conditions.date = (ch_date){2027, 1, 16};
    head.title = strdup(named("cold & wet", p, title));
    const ch_status rc = head.title == NULL ? ch_fail(err, CH_E_MEMORY, NULL, "no memory for a title")
                                            : ch_store_sheet_head(st, p->sheet, &head, now(p), err);
    ch_sheet_clear(&head);
    return rc;
}

static ch_status sheet_save(ch_store *st, deed_place *p, ch_err *err)
{
    char sender[32];
    ch_stored stored = {0};
    return ch_store_sheet_save(st, p->demo, p->engine, client(p, sender), now(p), &stored, err);
}

static ch_status sheet_close(ch_store *st, deed_place *p, ch_err *err)
{
    const ch_status rc = ch_store_sheet_close(st, p->sheet, "parts are late", now(p), err);
    if (rc >= 0)
        p->sheet = p->entry = p->ledger = 0;
    return rc;
}

static ch_status row_add(ch_store *st, deed_place *p, ch_err *err)
{
    char text[32], sender[32];
    ch_stored stored = {0};
    ch_store_row row;
    ch_store_row_init(&row, p->n % 3 == 0 ? CH_STORE_WET : CH_STORE_DRY);
    row.reading.cylinder = 1 + p->n % 4;
    snprintf(text, sizeof text, "%d psi", 150 + p->n % 40);
    ch_status rc = quantity(text, CH_DIM_PRESSURE, &row.reading.reading, err);
    if (rc >= 0)
        rc = ch_store_row_add(st, p->sheet, &row, client(p, sender), now(p), &stored, err);
    return made(rc, &stored, &p->entry);
}

static ch_status row_delete(ch_store *st, deed_place *p, ch_err *err)
{
    char sender[32];
    ch_stored stored = {0};
    const ch_status rc = ch_store_row_delete(st, p->entry, client(p, sender), now(p), &stored, err);
    if (rc >= 0)
        p->entry = 0;
    return rc;
}

/* Find the row in hand, whatever its kind, and give it another reading. */
static ch_status row_correct(ch_store *st, deed_place *p, ch_err *err)
{
    char text[32], sender[32];
    ch_store_pool pool = {0};
    const ch_store_row *rows = NULL;
    size_t count = 0, i = 0;
    ch_stored stored = {0};
    ch_status rc = ch_store_rows(st, &pool, p->sheet, false, &rows, &count, err);
    while (rc >= 0 && i < count && rows[i].id != p->entry)
        i++;
    if (rc >= 0 && i == count)
        rc = ch_fail(err, CH_E_INPUT, NULL, "the row in hand is gone");
    if (rc >= 0) {
        ch_store_row row = rows[i];
        snprintf(text, sizeof text, "%d,5 bar", 9 + p->n % 3);
        rc = quantity(text, CH_DIM_PRESSURE, &row.reading.reading, err);
        if (rc >= 0)
            rc = ch_store_row_correct(st, p->entry, &row, client(p, sender), now(p), &stored, err);
    }
    ch_store_pool_clear(&pool);
    return made(rc, &stored, &p->entry);
}

/* ---- the ledger and photos ---- */

static ch_status ledger_add(ch_store *st, deed_place *p, ch_err *err)
{
    char what[64], sender[32];
    ch_stored stored = {0};
    const ch_store_ledger entry = {
        .what = named("coil", p, what), .origin = "cylinder 3", .lies = "bench", .torque = "10 Nm"};
    return made(ch_store_ledger_add(st, p->sheet, &entry, client(p, sender), now(p), &stored, err), &stored,
                &p->ledger);
}

static ch_status ledger_change(ch_store *st, deed_place *p, ch_err *err)
{
    char what[64];
    const ch_store_ledger entry = {.what = named("coil and its bolt", p, what), .origin = "cylinder 3"};
    return ch_store_ledger_change(st, p->ledger, &entry, now(p), err);
}

static ch_status ledger_put_back(ch_store *st, deed_place *p, ch_err *err)
{
    const ch_status rc = ch_store_ledger_put_back(st, p->ledger, true, now(p), err);
    if (rc >= 0)
        p->ledger = 0;
    return rc;
}

static ch_status photo_add(ch_store *st, deed_place *p, ch_err *err)
{
    char sender[32];
    ch_stored stored = {0};
    unsigned char *bytes = malloc(p->bytes);
    if (bytes == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a photo");
    unsigned random = (unsigned)p->n;
    for (size_t i = 0; i < p->bytes; i++) {
        random = random * 1664525U + 1013904223U; /* Numerical Recipes' quick generator */
        bytes[i] = (unsigned char)(random >> 24);
    }
    const ch_store_photo photo = {
        .sheet_id = p->sheet, .ledger_id = p->ledger, .mime = "image/jpeg", .bytes = bytes, .length = p->bytes};
    const ch_status rc =
        made(ch_store_photo_add(st, &photo, client(p, sender), now(p), &stored, err), &stored, &p->photo);
    free(bytes);
    return rc;
}

static ch_status photo_delete(ch_store *st, deed_place *p, ch_err *err)
{
    const ch_status rc = ch_store_photo_delete(st, p->photo, now(p), err);
    if (rc >= 0)
        p->photo = 0;
    return rc;
}

/* ---- winter work and logged runs ---- */

static ch_status work_begin(ch_store *st, deed_place *p, ch_err *err)
{
    char name[64];
    ch_stored stored = {0};
    const ch_store_work work = {
        .car_id = p->car, .kind = CH_PLAN_JOB, .name = named_id("head_rebuild", p, name), .title = "Head rebuilt"};
    return made(ch_store_work_begin(st, &work, now(p), &stored, err), &stored, &p->work);
}

static ch_status work_done(ch_store *st, deed_place *p, ch_err *err)
{
    return ch_store_work_done(st, p->work, p->n % 4 == 2, now(p), err);
}

static ch_status work_close(ch_store *st, deed_place *p, ch_err *err)
{
    const ch_status rc = ch_store_work_close(st, p->work, CH_STORE_PROVE_COMPRESSION, "sold as it is", now(p), err);
    if (rc >= 0)
        p->work = 0;
    return rc;
}

static ch_status spent_add(ch_store *st, deed_place *p, ch_err *err)
{
    char note[64], sender[32];
    ch_stored stored = {0};
    const ch_store_spent spent = {.work_id = p->work,
                                  .day = {2027, 1, 20},
                                  .work_us = 2 * CH_WORK_HOUR,
                                  .money = 30 * CH_MONEY_ONE,
                                  .note = named("gasket", p, note)};
    return made(ch_store_spent_add(st, &spent, client(p, sender), now(p), &stored, err), &stored, &p->spent);
}

static ch_status torque_set(ch_store *st, deed_place *p, ch_err *err)
{
    char note[64], text[32];
    ch_owner_torque torque = {.id = "flywheel_torque",
                              .note = named("oil the threads, step", p, note),
                              .thread = "M10x1.25",
                              .property_class = "10.9",
                              .surface = CH_THREAD_OILED};
    snprintf(text, sizeof text, "%d Nm", 60 + p->n % 30);
    const ch_status rc = quantity(text, CH_DIM_TORQUE, &torque.torque, err);
    return rc < 0 ? rc : ch_store_torque_set(st, p->car, &torque, now(p), err);
}

static ch_status drivetrain_set(ch_store *st, deed_place *p, ch_err *err)
{
    char text[64];
    snprintf(text, sizeof text, "mass: %d kg\n", 900 + p->n % 100);
    return ch_store_drivetrain_set(st, p->car, text, now(p), err);
}

static ch_status run_add(ch_store *st, deed_place *p, ch_err *err)
{
    static const ch_drive_point points[] = {{0.0F, 300.0F, 10.0F, 1.0F}, {0.5F, 310.0F, 10.5F, 0.0F}};
    ch_slip slip = {.start_s = 10.25, .end_s = 11.5, .gear = 4, .peak_1 = 0.085, .mean_1 = 0.05, .throttle_1 = NAN};
    char digest[CH_STORE_DIGEST + 1], sender[32];
    ch_stored stored = {0};
    snprintf(digest, sizeof digest, "%064d", p->n);
    ch_store_run run = {.car_id = p->car,
                        .day = {2026, 10, 3},
                        .log_name = "invented run.csv",
                        .log_sha256 = digest,
                        .log_bytes = 47000000,
                        .told = "Nothing.",
                        .made_by = "tests",
                        .seconds = 3600.5,
                        .point = points,
                        .points = sizeof points / sizeof points[0],
                        .driveline = {.rows = 360000, .gears = 1, .slip = &slip, .slips = 1, .slips_found = 1}};
    run.driveline.gear[0] = (ch_driveline_gear){.number = 4, .line_rad_m = 16.7, .spread_1 = 0.004, .seconds = 90.0};
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
        run.driveline.cause_1[c] = 1.0 / CH_CLUTCH_CAUSES;
    return made(ch_store_run_add(st, &run, client(p, sender), now(p), &stored, err), &stored, &p->run);
}

static ch_status run_see(ch_store *st, deed_place *p, ch_err *err)
{
    char id[64];
    const ch_store_run_sign signs[] = {{"clutch_smell", p->n % 2}, {named_id("sign", p, id), 1}};
    double cause_1[CH_CLUTCH_CAUSES] = {0};
    cause_1[CH_CLUTCH_SOUND] = 0.5 + p->n % 7 / 16.0;
    cause_1[CH_CLUTCH_WORN] = 1.0 - cause_1[CH_CLUTCH_SOUND];
    return ch_store_run_see(st, p->run, signs, sizeof signs / sizeof signs[0], cause_1, now(p), err);
}

static ch_status run_delete(ch_store *st, deed_place *p, ch_err *err)
{
    const ch_status rc = ch_store_run_delete(st, p->run, now(p), err);
    if (rc >= 0)
        p->run = 0;
    return rc;
}

static ch_status setting_set(ch_store *st, deed_place *p, ch_err *err)
{
    char text[32];
    snprintf(text, sizeof text, "%d", 10 + p->n);
    return ch_store_setting_set(st, "hour_value", text, now(p), err);
}

/* ---- reading ---- */

static ch_status sheet_load(ch_store *st, deed_place *p, ch_err *err)
{
    ch_sheet sheet;
    const ch_status rc = ch_store_sheet_load(st, p->sheet, &sheet, err);
    if (rc >= 0)
        ch_sheet_clear(&sheet);
    return rc;
}

static ch_status lists(ch_store *st, deed_place *p, ch_err *err)
{
    ch_store_pool pool = {0};
    size_t count = 0;
    const ch_store_car *cars = NULL;
    const ch_store_engine *engines = NULL;
    const ch_store_event *events = NULL;
    const ch_store_part *parts = NULL;
    const ch_store_gauge *gauges = NULL;
    const ch_store_sheet *sheets = NULL;
    const ch_store_ledger *entries = NULL;
    const ch_store_photo *photos = NULL;
    ch_store_photo photo = {0};
    ch_status rc = ch_store_cars(st, &pool, &cars, &count, err);
    rc = rc < 0 ? rc : ch_store_engines(st, &pool, 0, &engines, &count, err);
    rc = rc < 0 ? rc : ch_store_events(st, &pool, 0, &events, &count, err);
    rc = rc < 0 ? rc : ch_store_parts(st, &pool, 0, &parts, &count, err);
    rc = rc < 0 ? rc : ch_store_gauges(st, &pool, &gauges, &count, err);
    rc = rc < 0 ? rc : ch_store_sheets(st, &pool, 0, &sheets, &count, err);
    rc = rc < 0 ? rc : ch_store_sheets_recent(st, &pool, 5, 5, &sheets, &count, err);
    rc = rc < 0 ? rc : ch_store_ledger_list(st, &pool, 0, false, &entries, &count, err);
    rc = rc < 0 ? rc : ch_store_photos(st, &pool, p->sheet, &photos, &count, err);
    if (rc >= 0 && p->photo != 0)
        rc = ch_store_photo_get(st, &pool, p->photo, &photo, err);
    ch_store_pool_clear(&pool);
    return rc;
}

/* Logged runs, winter work, hours and money. */
static ch_status lists_of_work(ch_store *st, deed_place *p, ch_err *err)
{
    ch_store_pool pool = {0};
    size_t count = 0;
    ch_store_run run = {0};
    ch_store_work work = {0};
    ch_store_proof proof = {0};
    const ch_store_run *runs = NULL;
    const ch_store_work *works = NULL;
    const ch_store_spent *spents = NULL;
    const ch_owner_torque *torques = NULL;
    const char *drivetrain = NULL;
    ch_text csv;
    ch_text_init(&csv, 1024 * 1024);
    ch_status rc = ch_store_run_load(st, &pool, p->run, &run, err);
    if (rc >= 0 && (run.points != 2 || run.driveline.gears != 1 || run.driveline.slips != 1))
        rc = ch_fail(err, CH_E_INPUT, NULL, "the run came back with something missing");
    rc = rc < 0 ? rc : ch_store_runs(st, &pool, p->car, &runs, &count, err);
    rc = rc < 0 ? rc : ch_store_runs_csv(st, &csv, err);
    rc = rc < 0 ? rc : ch_text_check(&csv, err);
    rc = rc < 0 ? rc : ch_store_drivetrain_get(st, &pool, p->car, &drivetrain, err);
    rc = rc < 0 ? rc : ch_store_works(st, &pool, p->car, &works, &count, err);
    rc = rc < 0 ? rc : ch_store_work_get(st, &pool, p->work, &work, err);
    rc = rc < 0 ? rc : ch_store_work_proof(st, p->work, &proof, err);
    rc = rc < 0 ? rc : ch_store_spents(st, &pool, p->work, &spents, &count, err);
    rc = rc < 0 ? rc : ch_store_torques(st, &pool, p->car, &torques, &count, err);
    ch_text_clear(&csv);
    ch_store_pool_clear(&pool);
    return rc;
}

/* What stands between the car and its next event. */
static ch_status ready(ch_store *st, deed_place *p, ch_err *err)
{
    ch_store_pool pool = {0};
    ch_store_ready found = {0};
    const ch_part_lives none = {0};
    ch_status rc = ch_store_ready_load(st, &pool, p->car, &none, (ch_date){2027, 1, 16}, 2400.0, &found, err);
    if (rc >= 0 && (found.parts == 0 || found.opens == 0 || found.event.name == NULL))
        rc = ch_fail(err, CH_E_INPUT, NULL, "a part, a thing taken off or the next event is missing");
    ch_store_pool_clear(&pool);
    return rc;
}

static bool fits_run_and_work(const deed_place *p)
{
    return p->run != 0 && p->work != 0;
}

static ch_status readings_csv(ch_store *st, deed_place *p, ch_err *err)
{
    (void)p;
    ch_text csv;
    ch_text_init(&csv, 1024 * 1024);
    ch_status rc = ch_store_readings_csv(st, &csv, err);
    if (rc >= 0)
        rc = ch_text_check(&csv, err);
    ch_text_clear(&csv);
    return rc;
}

static ch_status verify(ch_store *st, deed_place *p, ch_err *err)
{
    (void)p;
    ch_store_pool pool = {0};
    const ch_store_finding *findings = NULL;
    size_t count = 0;
    ch_status rc = ch_store_verify(st, &pool, &findings, &count, err);
    if (rc >= 0 && count > 0)
        rc = ch_fail(err, CH_E_INPUT, NULL, "%zu findings, first: %s", count, findings[0].what);
    ch_store_pool_clear(&pool);
    return rc;
}

static uint64_t add_bytes(uint64_t sum, const void *bytes, size_t length)
{
    const unsigned char *at = bytes;
    for (size_t i = 0; i < length; i++)
        sum = (sum ^ at[i]) * 0x100000001b3U; /* FNV-1a: draft-eastlake-fnv */
    return sum;
}

static ch_status sum_archive(const void *bytes, size_t length, void *context, ch_err *err)
{
    deed_archive *archive = context;
    (void)err;
    archive->sum = add_bytes(archive->sum, bytes, length);
    return CH_OK;
}

ch_status deeds_archive_take(const void *bytes, size_t length, void *context, ch_err *err)
{
    deed_archive *archive = context;
    if (archive->length + length > archive->room) {
        const size_t room = 2 * (archive->length + length);
        char *grown = realloc(archive->bytes, room);
        if (grown == NULL)
            return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the archive's bytes");
        archive->bytes = grown;
        archive->room = room;
    }
    memcpy(archive->bytes + archive->length, bytes, length);
    archive->length += length;
    return sum_archive(bytes, length, archive, err);
}

ch_status deeds_archive_give(void *context, int64_t offset, void *bytes, size_t size, size_t *got, ch_err *err)
{
    const deed_archive *archive = context;
    (void)err;
    const size_t at = (size_t)offset < archive->length ? (size_t)offset : archive->length;
    *got = archive->length - at < size ? archive->length - at : size;
    memcpy(bytes, archive->bytes + at, *got);
    return CH_OK;
}

static ch_status archive_write(ch_store *st, deed_place *p, ch_err *err)
{
    deed_archive archive = {0};
    const ch_status rc = ch_store_archive_write(st, sum_archive, &archive, NULL, err);
    return rc >= 0 && p->archive != 0 && archive.sum != p->archive
               ? ch_fail(err, CH_E_INPUT, NULL, "the archive is another than it should be")
               : rc;
}

const deed deeds[] = {
    {"a car", car_add, NULL, false},
    {"a car's name", car_change, fits_car, false},
    {"an engine's life", engine_begin, fits_car, false},
    {"an engine's description", engine_describe, fits_engine, false},
    {"a gauge", gauge_add, NULL, false},
    {"a gauge's name", gauge_change, fits_gauge, false},
    {"an event", event_add, fits_engine, false},
    {"a change of an event", event_change, fits_event, false},
    {"an event deleted", event_delete, fits_event, false},
    {"a part", part_add, fits_engine, false},
    {"a change of a part", part_change, fits_part, false},
    {"a part deleted", part_delete, fits_part, false},
    {"a sheet", sheet_begin, NULL, false},
    {"a sheet's head", sheet_head, fits_sheet, false},
    {"a whole sheet", sheet_save, NULL, false},
    {"a sheet closed", sheet_close, fits_sheet, false},
    {"a reading", row_add, fits_sheet, false},
    {"a correction", row_correct, fits_entry, false},
    {"a reading deleted", row_delete, fits_entry, false},
    {"a thing taken off", ledger_add, fits_sheet, false},
    {"a change of the ledger", ledger_change, fits_ledger, false},
    {"a thing put back", ledger_put_back, fits_ledger, false},
    {"a photo", photo_add, fits_sheet, false},
    {"a photo deleted", photo_delete, fits_photo, false},
    {"a job begun", work_begin, fits_car, false},
    {"a job done, or not", work_done, fits_work, false},
    {"a job closed", work_close, fits_work, false},
    {"hours and money", spent_add, fits_work, false},
    {"a torque", torque_set, fits_car, false},
    {"a car's driveline", drivetrain_set, fits_car, false},
    {"a logged run", run_add, fits_car, false},
    {"what was seen of a run", run_see, fits_run, false},
    {"a logged run deleted", run_delete, fits_run, false},
    {"a setting", setting_set, NULL, false},
    {"a sheet loaded", sheet_load, fits_sheet, true},
    {"lists", lists, fits_sheet, true},
    {"lists of runs and work", lists_of_work, fits_run_and_work, true},
    {"ready for the next event", ready, fits_event, true},
    {"readings as CSV", readings_csv, NULL, true},
    {"a verification", verify, NULL, true},
    {"an archive written", archive_write, NULL, true},
};
const size_t deeds_count = sizeof deeds / sizeof deeds[0];

ch_status deeds_base(ch_store *store, const ch_sheet *demo, deed_place *place, ch_err *err)
{
    static ch_status (*const first[])(ch_store *, deed_place *, ch_err *) = {
        gauge_add,  event_add, part_add,   sheet_save, sheet_begin,   sheet_head, row_add,
        ledger_add, photo_add, work_begin, work_done,  work_close,    work_begin, torque_set,
        work_done,  spent_add, run_add,    run_see,    drivetrain_set};
    const ch_store_car car = {.name = "invented hill climb car"};
    const ch_store_engine engine = {.name = "invented four", .begun = {2026, 3, 1}};
    ch_stored stored = {0};
    *place = (deed_place){.demo = demo, .n = 0, .bytes = 6000};
    ch_status rc = made(ch_store_car_add(store, &car, NULL, DEED_NOW, &stored, err), &stored, &place->car);
    if (rc >= 0) {
        ch_store_engine begun = engine;
        begun.car_id = place->car;
        rc = made(ch_store_engine_begin(store, &begun, NULL, 0, demo, NULL, DEED_NOW, &stored, err), &stored,
                  &place->engine);
    }
    /* not the usual ones, so that a reading of them that failed would show */
    if (rc >= 0)
        rc = ch_store_setting_set(store, "units.pressure", "bar", DEED_NOW, err);
    if (rc >= 0)
        rc = ch_store_setting_set(store, "units.distance", "mi", DEED_NOW, err);
    for (size_t i = 0; i < sizeof first / sizeof first[0] && rc >= 0; i++) {
        rc = first[i](store, place, err);
        place->n++;
    }
    if (rc >= 0)
        rc = made(ch_store_sheet_begin(store, place->engine, 0, (ch_date){0}, NULL, DEED_NOW, &stored, err), &stored,
                  &place->withdrawn);
    if (rc >= 0)
        rc = ch_store_sheet_withdraw(store, place->withdrawn, "no test", DEED_NOW, err);
    return rc;
}

ch_status deeds_demo(ch_sheet *demo, ch_err *err)
{
    static char bytes[64 * 1024];
    char path[512];
    const char *tree = getenv("CROSSHATCH_SOURCE");
    snprintf(path, sizeof path, "%s/demo/hill-climb-sound.yaml", tree != NULL ? tree : ".");
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return ch_fail(err, CH_E_IO, NULL, "%s cannot be read", path);
    const size_t length = fread(bytes, 1, sizeof bytes - 1, file);
    fclose(file);
    bytes[length] = '\0';
    return ch_sheet_parse(path, bytes, length, demo, err);
}

/* ---- all that a file holds, as a number ---- */

/* Every value of every row; the order of rows does not count. */
static bool add_rows(sqlite3 *db, const char *sql, uint64_t *sum)
{
    sqlite3_stmt *q = NULL;
    int code = sqlite3_prepare_v2(db, sql, -1, &q, NULL);
    while (code == SQLITE_OK || code == SQLITE_ROW) {
        code = sqlite3_step(q);
        if (code != SQLITE_ROW)
            break;
        uint64_t row = add_bytes(0xcbf29ce484222325U, sql, strlen(sql));
        for (int i = 0; i < sqlite3_column_count(q); i++) {
            const int type = sqlite3_column_type(q, i);
            const void *bytes = sqlite3_column_blob(q, i);
            row = add_bytes(row, &type, sizeof type);
            row = add_bytes(row, bytes, (size_t)sqlite3_column_bytes(q, i));
        }
        *sum += row;
    }
    sqlite3_finalize(q);
    return code == SQLITE_DONE;
}

static bool add_tables(sqlite3 *db, uint64_t *sum)
{
    sqlite3_stmt *q = NULL;
    bool good =
        sqlite3_prepare_v2(db, "SELECT name FROM sqlite_schema WHERE type = 'table'", -1, &q, NULL) == SQLITE_OK;
    while (good && sqlite3_step(q) == SQLITE_ROW) {
        char sql[160];
        snprintf(sql, sizeof sql, "SELECT * FROM \"%.100s\"", (const char *)sqlite3_column_text(q, 0));
        good = add_rows(db, sql, sum);
    }
    sqlite3_finalize(q);
    return good;
}

uint64_t deeds_digest(const char *path)
{
    sqlite3 *db = NULL;
    uint64_t sum = 0;
    bool good = sqlite3_open_v2(path, &db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX, NULL) == SQLITE_OK &&
                add_rows(db, "PRAGMA user_version", &sum) && add_rows(db, "PRAGMA application_id", &sum) &&
                add_rows(db, "SELECT sql FROM sqlite_schema", &sum) && add_tables(db, &sum);
    sqlite3_close(db);
    return good && sum != 0 ? sum : 0;
}
