/**
 * @file store_sheet.h
 * Test sheets in the garage file: their head (what is known of engine, gauge and day), their rows, the put-back ledger, photos.
 * What holds for every function here stands in store.h.
 */
#ifndef CROSSHATCH_STORE_SHEET_H
#define CROSSHATCH_STORE_SHEET_H

#include "crosshatch/procedure.h"
#include "crosshatch/sheet.h"
#include "crosshatch/store.h"

/* ---- sheets ---- */

typedef struct ch_store_sheet {
    int64_t id;
    int64_t engine_id, gauge_id; /* 0 = none */
    int64_t car_id;              /* of the engine; 0 = none */
    bool closed;
    int64_t opened_s, closed_s; /* 0 = not closed */
    const char *close_reason;   /* why it was closed with the ledger open; NULL = it was not */
    const char *title;          /* NULL = not given */
    ch_date day;                /* of the test; year 0 = not given */
    int cylinders;              /* 0 = not known yet */
    int entries;                /* current rows of all kinds */
    int ledger_open;            /* taken off and not put back */
    int64_t withdrawn_s;        /* 0 = it counts */
    const char *withdrawn_why;  /* NULL = no reason is kept */
    int64_t revision;           /* grows with every change of the sheet, its rows, its ledger and photos */
} ch_store_sheet;

/**
 * Begin a sheet. Its head is what is known of the engine and the gauge (either may be 0), as copies: what is learnt of them later
 * does not change old sheets.
 *
 * @param day Year 0 = not given.
 */
ch_status ch_store_sheet_begin(ch_store *store, int64_t engine_id, int64_t gauge_id, ch_date day, const char *client,
                               int64_t now_s, ch_stored *stored, ch_err *err);

/** Tested last first (of one day the one stored last; those without a day at the end), without deleted ones. `car_id` 0 = of all cars and of none. */
ch_status ch_store_sheets(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_store_sheet **rows,
                          size_t *count, ch_err *err);

/**
 * The newest open and the newest closed ones, at most so many of each, without deleted ones, in the order of ch_store_sheets(). Cost: one
 * look-up of the day for each sheet, and little else that grows with their number.
 */
ch_status ch_store_sheets_recent(ch_store *store, ch_store_pool *pool, int open_most, int closed_most,
                                 const ch_store_sheet **rows, size_t *count, ch_err *err);

/** One sheet. CH_E_INPUT where there is none or it is deleted. */
ch_status ch_store_sheet_get(ch_store *store, ch_store_pool *pool, int64_t sheet_id, ch_store_sheet *sheet,
                             ch_err *err);

/** The sheet's revision alone, for a page that asks whether anything is new. Cost: one look-up. */
ch_status ch_store_sheet_revision(ch_store *store, int64_t sheet_id, int64_t *revision, ch_err *err);

/**
 * Build the sheet with all current rows in their order, as ch_sheet_parse() would have. A sheet just begun may have no rows or
 * no cylinders (0) yet.
 *
 * @param sheet (out) Initialised by the call; ch_sheet_clear() it.
 */
ch_status ch_store_sheet_load(ch_store *store, int64_t sheet_id, ch_sheet *sheet, ch_err *err);

/**
 * Store a whole sheet as a new one, closed, without loss: loading and writing it gives the bytes that ch_sheet_write() makes of `sheet`.
 *
 * @param engine_id 0 = of no engine of the garage.
 */
ch_status ch_store_sheet_save(ch_store *store, const ch_sheet *sheet, int64_t engine_id, const char *client,
                              int64_t now_s, ch_stored *stored, ch_err *err);

/** What came of sheets that were brought in. */
typedef struct ch_store_brought {
    size_t again;          /**< were stored before */
    size_t without_engine; /**< with no day, of a car that had more than one engine: of none of them */
    ch_stored last;        /**< the last of them */
} ch_store_brought;

/**
 * Store whole sheets from outside, all or none, each once (ch_table_sheet_id()). One of a car goes to the engine that was in it on the day of
 * the test (ch_store_engine_on()), and takes from there what it does not say of that engine itself (ch_sheet_engine_fill()).
 *
 * @param car_id 0 = of no car: stored as they are.
 * @param told   (out) Untouched on failure.
 * @retval CH_E_INPUT There is no such car's engine that a sheet can be of (ch_sheet_engine_fill()), or a sheet that cannot be read.
 */
ch_status ch_store_sheets_bring(ch_store *store, int64_t car_id, const ch_sheet *sheets, size_t count, int64_t now_s,
                                ch_store_brought *told, ch_err *err);

/**
 * Replace the head: units, title, note, engine, gauge, conditions, model of `head`; its rows are not looked at. Only fields that differ are
 * written, and their old values kept. Fields not given in `head` become not given. A sheet of a life of its car's engine that cannot have
 * been in the car on conditions.date goes over to the one that was (ch_store_engine_on()); what it says of the engine stays.
 *
 * @retval CH_E_INPUT The sheet is closed, or has rows of cylinders beyond engine.cylinders.
 */
ch_status ch_store_sheet_head(ch_store *store, int64_t sheet_id, const ch_sheet *head, int64_t now_s, ch_err *err);

/**
 * Close. Nothing can be added or corrected then, but what was left off can still be put back.
 *
 * @param reason NULL or blank = none.
 * @retval CH_E_INPUT Something is not put back and no reason is given; the message names the first thing.
 */
ch_status ch_store_sheet_close(ch_store *store, int64_t sheet_id, const char *reason, int64_t now_s, ch_err *err);
ch_status ch_store_sheet_reopen(ch_store *store, int64_t sheet_id, int64_t now_s, ch_err *err);

/**
 * Withdraw a sheet that was begun by mistake: it is kept with all that hangs on it, and counts for nothing, until it is taken back by
 * ch_store_sheet_restore(). But for ch_store_sheets_withdrawn() and ch_store_rows() it is as if it were not there.
 *
 * @param reason Why; NULL or blank = none is kept.
 * @retval CH_E_INPUT Something taken off for it is not put back: nobody would be told of it again.
 */
ch_status ch_store_sheet_withdraw(ch_store *store, int64_t sheet_id, const char *reason, int64_t now_s, ch_err *err);

/** Take a withdrawn sheet back: it counts again. CH_E_INPUT where there is none that is withdrawn. */
ch_status ch_store_sheet_restore(ch_store *store, int64_t sheet_id, int64_t now_s, ch_err *err);

/** Those that are withdrawn, in the order of ch_store_sheets(). `car_id` 0 = of all cars and of none. */
ch_status ch_store_sheets_withdrawn(ch_store *store, ch_store_pool *pool, int64_t car_id, const ch_store_sheet **rows,
                                    size_t *count, ch_err *err);

/**
 * Whether more, or something else, is known by now of the sheet's engine and gauge than when it took over what was known of them: whether
 * ch_store_sheet_take() with its own gauge would change what it says of them.
 */
ch_status ch_store_sheet_grown(ch_store *store, int64_t sheet_id, bool *is_grown, ch_err *err);

/**
 * Take what is known now of the sheet's engine, and of a gauge, into the sheet. What it took over earlier, from the engine and from the gauge it had, gives way;
 * what it says beyond that stays (ch_sheet_engine_fill()). Old values are kept.
 *
 * @param gauge_id With which it is measured; 0 = with none that is known.
 * @retval CH_E_INPUT The sheet is closed; or has another number of cylinders than its car's engine by now, or readings of more.
 */
ch_status ch_store_sheet_take(ch_store *store, int64_t sheet_id, int64_t gauge_id, int64_t now_s, ch_err *err);

/**
 * Hand a sheet over to another car, closed or not: to the life of its engine that was in it on the day of the test (ch_store_engine_on()), whose
 * data it takes as ch_store_sheet_take() does.
 *
 * @retval CH_E_INPUT No one engine of that car can be the one; it has another number of cylinders than the sheet says itself, or fewer than it has
 *                    readings of; or a job was closed on the sheet's proof.
 */
ch_status ch_store_sheet_move(ch_store *store, int64_t sheet_id, int64_t car_id, int64_t now_s, ch_err *err);

/* ---- rows: readings and observations, append-only ---- */

typedef enum ch_store_kind {
    CH_STORE_DRY,
    CH_STORE_WET,
    CH_STORE_LEAKDOWN,
    CH_STORE_OBSERVED,
    CH_STORE_LEAKS, /* assumed areas, for predict */
    CH_STORE_KINDS
} ch_store_kind;

/** A row of a sheet; of the last four members the one that `kind` names holds it. `line` and `column` mean nothing here. */
typedef struct ch_store_row {
    int64_t id, sheet_id;
    int64_t replaces_id; /* the row that this one corrects or deletes; 0 = none */
    int64_t first_id;    /* the chain's first row: itself where it replaces nothing; a page may name the entry by it */
    int64_t entered_s;
    bool current;       /* neither replaced nor deleted */
    bool deletion;      /* this row marks the one that it replaces as deleted */
    const char *client; /* NULL = none */
    ch_store_kind kind;
    ch_reading reading; /* dry, wet */
    ch_leakdown_row leakdown;
    ch_observation observed;
    ch_leaks_row leaks;
} ch_store_row;

/** A row of this kind with nothing given. */
void ch_store_row_init(ch_store_row *row, ch_store_kind kind);

/**
 * Add a row at the end of its list.
 *
 * @param row `kind` and the member that it names; quantities as ch_quantity_parse() makes them. The rest is not looked at.
 * @retval CH_E_INPUT Also: the sheet is closed; a value that ch_sheet_parse() would refuse; a cylinder that the engine does not have.
 */
ch_status ch_store_row_add(ch_store *store, int64_t sheet_id, const ch_store_row *row, const char *client,
                           int64_t now_s, ch_stored *stored, ch_err *err);

/**
 * Correct a row: `row` takes its place in the order, the old one stays with its time. `old_id` may be any row of the chain: the newest is
 * the one replaced. CH_E_INPUT where it is deleted, of another kind, or the sheet is closed.
 */
ch_status ch_store_row_correct(ch_store *store, int64_t old_id, const ch_store_row *row, const char *client,
                               int64_t now_s, ch_stored *stored, ch_err *err);

/** Mark a row as deleted (any row of the chain). One that is deleted already is done: `stored->again`. `stored` may be NULL. */
ch_status ch_store_row_delete(ch_store *store, int64_t old_id, const char *client, int64_t now_s, ch_stored *stored,
                              ch_err *err);

/** Rows of a sheet in their order: by kind, then position, then time. `history` false: current ones only. */
ch_status ch_store_rows(ch_store *store, ch_store_pool *pool, int64_t sheet_id, bool history, const ch_store_row **rows,
                        size_t *count, ch_err *err);

/* ---- the put-back ledger ---- */

/** A thing taken off, unplugged or disabled. Texts: NULL = not given. */
typedef struct ch_store_ledger {
    int64_t id;
    int64_t sheet_id;   /* taken off for this sheet; 0 = for the work */
    int64_t work_id;    /* taken off for this work (store_work.h); 0 = for the sheet */
    int64_t car_id;     /* of either; 0 = of none. Not looked at when writing. */
    const char *what;   /* "coil", "spark plug", "fuel pump fuse" */
    const char *origin; /* where it came from: "cylinder 3", "slot 14 of the engine bay box" */
    const char *lies;   /* where it lies now: "bench, left tray" */
    const char *torque; /* from the car's own manual, as the owner typed it */
    const char *note;
    int64_t taken_s, put_back_s; /* 0 = not put back */
} ch_store_ledger;

/** Enter a thing taken off for a sheet, or, with `sheet_id` 0, for entry->work_id. `what` must be given; the other numbers are not looked at. */
ch_status ch_store_ledger_add(ch_store *store, int64_t sheet_id, const ch_store_ledger *entry, const char *client,
                              int64_t now_s, ch_stored *stored, ch_err *err);

/** Change its texts (also where the sheet or the work is closed). The old ones are kept. */
ch_status ch_store_ledger_change(ch_store *store, int64_t id, const ch_store_ledger *entry, int64_t now_s, ch_err *err);

/** Put back, or taken off again (`back` false; not where the sheet or the work is closed). Saying the same twice keeps the first time. */
ch_status ch_store_ledger_put_back(ch_store *store, int64_t id, bool back, int64_t now_s, ch_err *err);

/** It was never taken off: mark the entry as deleted. */
ch_status ch_store_ledger_delete(ch_store *store, int64_t id, int64_t now_s, ch_err *err);

/** Entries in the order taken off. `sheet_id` 0 = of all sheets that are not deleted, and of all work. */
ch_status ch_store_ledger_list(ch_store *store, ch_store_pool *pool, int64_t sheet_id, bool open_only,
                               const ch_store_ledger **rows, size_t *count, ch_err *err);

/**
 * Sort what is off into the order of putting it back. What belongs to one sheet or one piece of work stands together, and that from which something came off last
 * stands first. Of a sheet: what no procedure names, the last off first, then the others as the procedures put them back. Of work: the last off first.
 *
 * @param procedures From ch_procedures_parse().
 * @param rows       `count` of them; sorted in place.
 * @param count      Of `rows`; 0 = none.
 * @retval CH_E_MEMORY The order is as it was.
 */
ch_status ch_store_put_back_order(const ch_procedures *procedures, const ch_store_ledger *rows[], size_t count,
                                  ch_err *err);

/* ---- photos: kept as given; the face decodes and re-encodes them first ---- */

typedef struct ch_store_photo {
    int64_t id;
    int64_t sheet_id, work_id;  /* one of them; the other is 0 */
    int64_t ledger_id;          /* 0 = of the sheet or the work as a whole */
    const char *mime;           /* image/jpeg, image/png or image/webp */
    const unsigned char *bytes; /* NULL in lists */
    size_t length;
    int64_t taken_s;
} ch_store_photo;

/** @retval CH_E_LIMIT More than CH_STORE_PHOTO_MAX bytes. */
ch_status ch_store_photo_add(ch_store *store, const ch_store_photo *photo, const char *client, int64_t now_s,
                             ch_stored *stored, ch_err *err);
ch_status ch_store_photo_get(ch_store *store, ch_store_pool *pool, int64_t id, ch_store_photo *photo, ch_err *err);
ch_status ch_store_photos(ch_store *store, ch_store_pool *pool, int64_t sheet_id, const ch_store_photo **rows,
                          size_t *count, ch_err *err);
/** Of a piece of winter work. */
ch_status ch_store_work_photos(ch_store *store, ch_store_pool *pool, int64_t work_id, const ch_store_photo **rows,
                               size_t *count, ch_err *err);
ch_status ch_store_photo_delete(ch_store *store, int64_t id, int64_t now_s, ch_err *err);

#endif
