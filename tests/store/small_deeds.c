/* Further changes and look-ups, each a few statements; what the others do stands in deeds.c. */
#include <math.h>
#include <string.h>

#include "crosshatch/store_driveline.h"
#include "crosshatch/store_ready.h"
#include "crosshatch/store_season.h"
#include "crosshatch/store_work.h"
#include "deeds.h"

enum { LATER = DEED_NOW + 1000 };

static ch_status car_delete(ch_store *st, deed_place *p, ch_err *err)
{
    return ch_store_car_delete(st, p->car, LATER, err);
}

static ch_status engine_change(ch_store *st, deed_place *p, ch_err *err)
{
    const ch_store_engine engine = {.id = p->engine, .name = "invented four, balanced", .note = "for tests"};
    return ch_store_engine_change(st, &engine, LATER, err);
}

/* A swap to an engine of which nothing is known, and the parts stay with the old one. */
static ch_status engine_swap(ch_store *st, deed_place *p, ch_err *err)
{
    const ch_store_engine engine = {.car_id = p->car, .name = "a spare", .why = CH_STORE_SWAP, .begun = {2027, 2, 1}};
    return ch_store_engine_begin(st, &engine, NULL, 0, NULL, NULL, LATER, NULL, err);
}

/* A rebuild that renews the part in hand. */
static ch_status part_renew(ch_store *st, deed_place *p, ch_err *err)
{
    const ch_store_engine engine = {
        .car_id = p->car, .continues_id = p->engine, .name = "rebuilt", .why = CH_STORE_REBUILD, .begun = {2027, 4, 1}};
    return ch_store_engine_begin(st, &engine, &p->part, 1, NULL, NULL, LATER, NULL, err);
}

static ch_status gauge_delete(ch_store *st, deed_place *p, ch_err *err)
{
    return ch_store_gauge_delete(st, p->gauge, LATER, err);
}

static ch_status event_of_engine(ch_store *st, deed_place *p, ch_err *err)
{
    const ch_store_event event = {.car_id = p->car,
                                  .engine_id = p->engine,
                                  .day = {2027, 5, 8},
                                  .name = "sprint",
                                  .running_s = NAN,
                                  .distance_m = NAN,
                                  .starts = -1};
    return ch_store_event_add(st, &event, NULL, LATER, NULL, err);
}

/* ---- sheets, the ledger, photos ---- */

/* The oldest sheet; the one in hand has something taken off. */
static ch_status first_sheet(ch_store *st, int64_t *id, ch_err *err)
{
    ch_store_pool pool = {0};
    const ch_store_sheet *rows = NULL;
    size_t count = 0;
    ch_status rc = ch_store_sheets(st, &pool, 0, &rows, &count, err);
    if (rc >= 0 && count == 0)
        rc = ch_fail(err, CH_E_INPUT, NULL, "no sheet");
    if (rc >= 0)
        *id = rows[count - 1].id;
    ch_store_pool_clear(&pool);
    return rc;
}

static ch_status sheet_reopen(ch_store *st, deed_place *p, ch_err *err)
{
    int64_t id = 0;
    (void)p;
    const ch_status rc = first_sheet(st, &id, err);
    return rc < 0 ? rc : ch_store_sheet_reopen(st, id, LATER, err);
}

static ch_status sheet_withdraw(ch_store *st, deed_place *p, ch_err *err)
{
    int64_t id = 0;
    (void)p;
    const ch_status rc = first_sheet(st, &id, err);
    return rc < 0 ? rc : ch_store_sheet_withdraw(st, id, "begun by mistake", LATER, err);
}

static ch_status sheet_restore(ch_store *st, deed_place *p, ch_err *err)
{
    return ch_store_sheet_restore(st, p->withdrawn, LATER, err);
}

static ch_status sheet_move(ch_store *st, deed_place *p, ch_err *err)
{
    return ch_store_sheet_move(st, p->sheet, p->car, LATER, err);
}

static ch_status sheet_take(ch_store *st, deed_place *p, ch_err *err)
{
    return ch_store_sheet_take(st, p->sheet, p->gauge, LATER, err);
}

static ch_status sheets_asked(ch_store *st, deed_place *p, ch_err *err)
{
    ch_store_pool pool = {0};
    const ch_store_sheet *rows = NULL;
    size_t count = 0;
    bool grown = false;
    ch_status rc = ch_store_sheets_withdrawn(st, &pool, 0, &rows, &count, err);
    if (rc >= 0 && (count == 0 || rows[0].withdrawn_why == NULL))
        rc = ch_fail(err, CH_E_INPUT, NULL, "no withdrawn sheet, or none with a reason");
    ch_store_pool_clear(&pool);
    return rc < 0 ? rc : ch_store_sheet_grown(st, p->sheet, &grown, err);
}

static ch_status car_enter(ch_store *st, deed_place *p, ch_err *err)
{
    const ch_store_car car = {.name = "one more car"};
    const ch_store_engine engine = {.name = "its engine", .begun = {2027, 1, 2}};
    return ch_store_car_enter(st, &car, &engine, p->demo, "phone-9", LATER, NULL, err);
}

static ch_status leakdown_add(ch_store *st, deed_place *p, ch_err *err)
{
    ch_store_row row;
    ch_store_row_init(&row, CH_STORE_LEAKDOWN);
    row.leakdown.cylinder = 2;
    row.leakdown.heard = CH_HEARD_INTAKE;
    ch_status rc = ch_quantity_parse("100 psi", 7, CH_DIM_PRESSURE, NULL, &row.leakdown.supply, err);
    if (rc >= 0)
        rc = ch_quantity_parse("12 %", 4, CH_DIM_RATIO, NULL, &row.leakdown.loss, err);
    return rc < 0 ? rc : ch_store_row_add(st, p->sheet, &row, NULL, LATER, NULL, err);
}

static ch_status observed_add(ch_store *st, deed_place *p, ch_err *err)
{
    static char what[] = "oily_plug", note[] = "cylinder 2 alone";
    ch_store_row row;
    ch_store_row_init(&row, CH_STORE_OBSERVED);
    row.observed.what = what;
    row.observed.note = note;
    row.observed.cylinder = 2;
    return ch_store_row_add(st, p->sheet, &row, "phone-1", LATER, NULL, err);
}

static ch_status ledger_delete(ch_store *st, deed_place *p, ch_err *err)
{
    return ch_store_ledger_delete(st, p->ledger, LATER, err);
}

static ch_status ledger_of_work(ch_store *st, deed_place *p, ch_err *err)
{
    const ch_store_ledger entry = {.work_id = p->work, .what = "exhaust manifold", .lies = "shelf"};
    return ch_store_ledger_add(st, 0, &entry, NULL, LATER, NULL, err);
}

static ch_status photo_of_work(ch_store *st, deed_place *p, ch_err *err)
{
    static const unsigned char bytes[] = {0xff, 0xd8, 0xff, 0xd9};
    const ch_store_photo photo = {.work_id = p->work, .mime = "image/jpeg", .bytes = bytes, .length = sizeof bytes};
    return ch_store_photo_add(st, &photo, NULL, LATER, NULL, err);
}

/* ---- work, hours and money, runs ---- */

static ch_status closed_work(ch_store *st, int64_t car_id, int64_t *id, ch_err *err)
{
    ch_store_pool pool = {0};
    const ch_store_work *rows = NULL;
    size_t count = 0;
    ch_status rc = ch_store_works(st, &pool, car_id, &rows, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++)
        if (rows[i].closed_s != 0)
            *id = rows[i].id;
    ch_store_pool_clear(&pool);
    return rc;
}

static ch_status work_reopen(ch_store *st, deed_place *p, ch_err *err)
{
    int64_t id = 0;
    const ch_status rc = closed_work(st, p->car, &id, err);
    return rc < 0 ? rc : ch_store_work_reopen(st, id, LATER, err);
}

static ch_status work_proven(ch_store *st, deed_place *p, ch_err *err)
{
    const unsigned prove = CH_STORE_PROVE_COMPRESSION | CH_STORE_PROVE_LEAK_DOWN | CH_STORE_PROVE_SLIP_LOG;
    return ch_store_work_close(st, p->work, prove, "measured elsewhere", LATER, err);
}

static ch_status work_whole(ch_store *st, deed_place *p, ch_err *err)
{
    return ch_store_work_close(st, p->work, 0, NULL, LATER, err);
}

static ch_status spent_change(ch_store *st, deed_place *p, ch_err *err)
{
    const ch_store_spent spent = {
        .id = p->spent, .day = {2027, 1, 21}, .work_us = 3 * CH_WORK_HOUR, .note = "gasket, and the surface cleaned"};
    return ch_store_spent_change(st, &spent, LATER, err);
}

static ch_status spent_delete(ch_store *st, deed_place *p, ch_err *err)
{
    return ch_store_spent_delete(st, p->spent, LATER, err);
}

static ch_status run_change(ch_store *st, deed_place *p, ch_err *err)
{
    return ch_store_run_change(st, p->run, (ch_date){2026, 10, 4}, "second day", LATER, err);
}

/* ---- looking up ---- */

static ch_status look_up(ch_store *st, deed_place *p, ch_err *err)
{
    ch_store_pool pool = {0};
    ch_sheet sheet;
    ch_store_sheet head = {0};
    int64_t number = 0;
    size_t count = 0;
    const ch_store_photo *photos = NULL;
    const ch_store_row *rows = NULL;
    ch_sheet_init(&sheet);
    ch_status rc = ch_store_sheet_get(st, &pool, p->sheet, &head, err);
    rc = rc < 0 ? rc : ch_store_sheet_revision(st, p->sheet, &number, err);
    rc = rc < 0 ? rc : ch_store_rows(st, &pool, p->sheet, true, &rows, &count, err);
    rc = rc < 0 ? rc : ch_store_work_photos(st, &pool, p->work, &photos, &count, err);
    rc = rc < 0 ? rc : ch_store_engine_load(st, p->engine, &sheet, err);
    rc = rc < 0 ? rc : ch_store_gauge_load(st, p->gauge, &sheet, err);
    rc = rc < 0 ? rc : ch_store_engine_on(st, p->car, (ch_date){2026, 5, 1}, &number, err);
    ch_sheet_clear(&sheet);
    ch_store_pool_clear(&pool);
    return rc;
}

/* What deeds_base() sent as its reading, once more, as a reading and as a correction: it is there, and nothing is added. */
static ch_status sent_again(ch_store *st, deed_place *p, ch_err *err)
{
    ch_store_row row;
    ch_stored stored = {0};
    ch_store_row_init(&row, CH_STORE_WET);
    ch_status rc = ch_store_row_add(st, p->sheet, &row, "sender-6", LATER, &stored, err);
    if (rc >= 0)
        rc = ch_store_row_correct(st, p->entry, &row, "sender-6", LATER, &stored, err);
    return rc >= 0 && stored.id != p->entry ? ch_fail(err, CH_E_INPUT, NULL, "another reading answers") : rc;
}

/* The owner's own figures. */
static ch_status figures(ch_store *st, deed_place *p, ch_err *err)
{
    ch_store_pool pool = {0};
    ch_assumptions assumptions = {0};
    (void)p;
    const ch_status rc = ch_store_assumptions(st, &pool, &assumptions, err);
    ch_store_pool_clear(&pool);
    return rc;
}

const deed small_deeds[] = {
    {"a car deleted", car_delete, NULL, false},
    {"an engine renamed", engine_change, NULL, false},
    {"a swap", engine_swap, NULL, false},
    {"a part renewed", part_renew, NULL, false},
    {"a gauge deleted", gauge_delete, NULL, false},
    {"an event of one engine", event_of_engine, NULL, false},
    {"a sheet opened again", sheet_reopen, NULL, false},
    {"a sheet withdrawn", sheet_withdraw, NULL, false},
    {"a sheet taken back", sheet_restore, NULL, false},
    {"a sheet of a car, moved", sheet_move, NULL, false},
    {"engine and gauge into a sheet", sheet_take, NULL, false},
    {"a car with its engine", car_enter, NULL, false},
    {"sheets asked about", sheets_asked, NULL, true},
    {"a leak-down reading", leakdown_add, NULL, false},
    {"an observation", observed_add, NULL, false},
    {"a ledger entry deleted", ledger_delete, NULL, false},
    {"a thing taken off for work", ledger_of_work, NULL, false},
    {"a photo of work", photo_of_work, NULL, false},
    {"work taken in hand again", work_reopen, NULL, false},
    {"work that all would prove", work_proven, NULL, false},
    {"work with nothing missing", work_whole, NULL, false},
    {"hours and money changed", spent_change, NULL, false},
    {"hours and money deleted", spent_delete, NULL, false},
    {"a run's day and note", run_change, NULL, false},
    {"looking up", look_up, NULL, true},
    {"a reading sent again", sent_again, NULL, true},
    {"the owner's figures", figures, NULL, true},
};
const size_t small_deeds_count = sizeof small_deeds / sizeof small_deeds[0];
