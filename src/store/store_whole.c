/*
 * Whole sheets out of the garage file and into it, without loss: what ch_sheet_write() makes of a sheet is what it makes of
 * the same sheet stored and loaded. Saving checks that before it commits.
 */
#include <stdlib.h>
#include <string.h>

#include "crosshatch/reading_table.h"
#include "store_parts.h"

/* ---- out ---- */

static ch_status no_memory(ch_err *err)
{
    return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the sheet");
}

/* The texts of a row belong to the pool; a sheet owns its own. */
static ch_status own(char **text, ch_err *err)
{
    if (*text == NULL)
        return CH_OK;
    *text = strdup(*text);
    return *text == NULL ? no_memory(err) : CH_OK;
}

static void *element(void *rows, size_t count, size_t size)
{
    return (char *)rows + count * size;
}

static size_t count_kind(const ch_store_row *rows, size_t count, ch_store_kind kind)
{
    size_t n = 0;
    for (size_t i = 0; i < count; i++)
        n += rows[i].kind == kind;
    return n;
}

/* All rows of one kind into a list of the sheet. On failure what was copied is the sheet's to free. */
static ch_status fill_list(ch_store_kind kind, const ch_store_row *rows, size_t count, void **list, size_t *filled,
                           ch_err *err)
{
    const section *s = store_kind_section(kind);
    const size_t wanted = count_kind(rows, count, kind);
    if (wanted == 0)
        return CH_OK;
    *list = calloc(wanted, s->size);
    if (*list == NULL)
        return no_memory(err);
    ch_status rc = CH_OK;
    for (size_t i = 0; rc >= 0 && i < count; i++) {
        if (rows[i].kind != kind)
            continue;
        ch_store_row row = rows[i];
        char **note = kind == CH_STORE_LEAKDOWN   ? &row.leakdown.note
                      : kind == CH_STORE_OBSERVED ? &row.observed.note
                      : kind == CH_STORE_LEAKS    ? &row.leaks.note
                                                  : &row.reading.note;
        rc = own(note, err);
        if (rc >= 0 && kind == CH_STORE_OBSERVED) {
            rc = own(&row.observed.what, err);
            if (rc < 0)
                free(*note);
        }
        if (rc >= 0)
            memcpy(element(*list, (*filled)++, s->size), store_row_member(&row), s->size);
    }
    return rc;
}

static ch_status fill_rows(const ch_store_row *rows, size_t count, ch_sheet *sheet, ch_err *err)
{
    ch_status rc = CH_OK;
    for (int kind = 0; rc >= 0 && kind < CH_STORE_KINDS; kind++) {
        void *list = NULL;
        size_t filled = 0;
        rc = fill_list((ch_store_kind)kind, rows, count, &list, &filled, err);
        switch ((ch_store_kind)kind) {
        case CH_STORE_DRY:
            sheet->compression = list;
            sheet->compression_count = filled;
            break;
        case CH_STORE_WET:
            sheet->wet = list;
            sheet->wet_count = filled;
            break;
        case CH_STORE_LEAKDOWN:
            sheet->leakdown = list;
            sheet->leakdown_count = filled;
            break;
        case CH_STORE_OBSERVED:
            sheet->observed = list;
            sheet->observed_count = filled;
            break;
        case CH_STORE_LEAKS:
            sheet->leaks = list;
            sheet->leaks_count = filled;
            break;
        case CH_STORE_KINDS: break;
        }
    }
    return rc;
}

ch_status store_sheet_load(ch_store *st, int64_t sheet_id, ch_sheet *sheet, ch_err *err)
{
    ch_store_pool pool = {0};
    const ch_store_row *rows = NULL;
    size_t count = 0;
    ch_sheet made;
    ch_sheet_init(&made);
    ch_status rc = store_must_be(st, "SELECT 1 FROM sheet WHERE id = ?1 AND deleted_s IS NULL", "sheet", sheet_id, err);
    if (rc >= 0)
        rc = store_fields_get(st, STORE_OF_SHEET, sheet_id, &made, err);
    if (rc >= 0)
        rc = ch_store_rows(st, &pool, sheet_id, false, &rows, &count, err);
    if (rc >= 0)
        rc = fill_rows(rows, count, &made, err);
    ch_store_pool_clear(&pool);
    if (rc < 0)
        ch_sheet_clear(&made);
    else
        *sheet = made;
    return rc;
}

ch_status ch_store_sheet_load(ch_store *store, int64_t sheet_id, ch_sheet *sheet, ch_err *err)
{
    ch_sheet made;
    ch_status rc = store_begin_reading(store, err);
    if (rc < 0)
        return rc;
    rc = store_sheet_load(store, sheet_id, &made, err);
    const bool loaded = rc >= 0;
    rc = store_end(store, rc, err);
    if (rc >= 0)
        *sheet = made;
    else if (loaded)
        ch_sheet_clear(&made);
    return rc;
}

/* ---- in ---- */

static ch_status insert_rows(ch_store *st, int64_t sheet_id, const ch_sheet *sheet, int64_t now_s, ch_err *err)
{
    ch_status rc = CH_OK;
    int64_t id = 0;
    ch_store_row row;
    for (size_t i = 0; rc >= 0 && i < sheet->compression_count; i++) {
        row = (ch_store_row){.kind = CH_STORE_DRY, .reading = sheet->compression[i]};
        rc = store_row_insert(st, sheet_id, &row, 0, 0, false, NULL, now_s, &id, err);
    }
    for (size_t i = 0; rc >= 0 && i < sheet->wet_count; i++) {
        row = (ch_store_row){.kind = CH_STORE_WET, .reading = sheet->wet[i]};
        rc = store_row_insert(st, sheet_id, &row, 0, 0, false, NULL, now_s, &id, err);
    }
    for (size_t i = 0; rc >= 0 && i < sheet->leakdown_count; i++) {
        row = (ch_store_row){.kind = CH_STORE_LEAKDOWN, .leakdown = sheet->leakdown[i]};
        rc = store_row_insert(st, sheet_id, &row, 0, 0, false, NULL, now_s, &id, err);
    }
    for (size_t i = 0; rc >= 0 && i < sheet->observed_count; i++) {
        row = (ch_store_row){.kind = CH_STORE_OBSERVED, .observed = sheet->observed[i]};
        rc = store_row_insert(st, sheet_id, &row, 0, 0, false, NULL, now_s, &id, err);
    }
    for (size_t i = 0; rc >= 0 && i < sheet->leaks_count; i++) {
        row = (ch_store_row){.kind = CH_STORE_LEAKS, .leaks = sheet->leaks[i]};
        rc = store_row_insert(st, sheet_id, &row, 0, 0, false, NULL, now_s, &id, err);
    }
    return rc;
}

/* The stored sheet, loaded and written, must give the same bytes. */
static ch_status read_back(ch_store *st, int64_t sheet_id, const char *bytes, size_t length, ch_err *err)
{
    ch_sheet loaded;
    char *again = NULL;
    size_t again_length = 0;
    ch_status rc = store_sheet_load(st, sheet_id, &loaded, err);
    if (rc < 0)
        return rc;
    rc = ch_sheet_write(&loaded, false, &again, &again_length, err);
    ch_sheet_clear(&loaded);
    if (rc >= 0 && (length != again_length || memcmp(bytes, again, length) != 0))
        rc = ch_fail(err, CH_E_IO, NULL, "the sheet did not come back as it was written");
    free(again);
    return rc;
}

static ch_status save(ch_store *st, const ch_sheet *sheet, const char *bytes, size_t length, int64_t engine_id,
                      const char *client, int64_t now_s, ch_stored *made, ch_err *err)
{
    bool again = false;
    ch_status rc = store_seen(st, "sheet", client, made, &again, err);
    if (rc < 0 || again)
        return rc;
    if (engine_id != 0)
        rc = store_must_be(st, "SELECT 1 FROM engine WHERE id = ?1", "engine", engine_id, err);
    if (rc >= 0)
        rc = store_run(
            st, err, "INSERT INTO sheet (engine_id, opened_s, closed_s, client, changed_s) VALUES (?1, ?2, ?2, ?3, ?2)",
            "nit", engine_id, now_s, client);
    made->id = sqlite3_last_insert_rowid(st->db);
    if (rc >= 0)
        rc = store_fields_put(st, STORE_OF_SHEET, made->id, sheet, now_s, err);
    if (rc >= 0)
        rc = insert_rows(st, made->id, sheet, now_s, err);
    return rc < 0 ? rc : read_back(st, made->id, bytes, length, err);
}

/* What cannot be read as a sheet is not taken. */
static ch_status check_readable(const char *bytes, size_t length, ch_err *err)
{
    ch_sheet parsed;
    ch_err reason = {0};
    const ch_status rc = ch_sheet_parse("sheet", bytes, length, &parsed, &reason);
    if (rc < 0)
        return ch_fail(err, rc, reason.right, "%s", reason.what);
    ch_sheet_clear(&parsed);
    return CH_OK;
}

/* In the transaction of the caller. */
static ch_status save_whole(ch_store *st, const ch_sheet *sheet, int64_t engine_id, const char *client, int64_t now_s,
                            ch_stored *made, ch_err *err)
{
    char *bytes = NULL;
    size_t length = 0;
    ch_status rc = ch_sheet_write(sheet, false, &bytes, &length, err);
    if (rc < 0)
        return rc;
    rc = check_readable(bytes, length, err);
    if (rc >= 0)
        rc = save(st, sheet, bytes, length, engine_id, client, now_s, made, err);
    free(bytes);
    return rc;
}

ch_status ch_store_sheet_save(ch_store *store, const ch_sheet *sheet, int64_t engine_id, const char *client,
                              int64_t now_s, ch_stored *stored, ch_err *err)
{
    ch_stored made = {0};
    ch_status rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_end(store, save_whole(store, sheet, engine_id, client, now_s, &made, err), err);
    if (rc >= 0 && stored != NULL)
        *stored = made;
    return rc;
}

/* The id is that of the sheet as it came: what is learnt of the engine later does not make it another one. */
static ch_status bring_one(ch_store *st, int64_t car_id, const ch_sheet *sheet, int64_t now_s, ch_store_brought *told,
                           ch_err *err)
{
    char id[CH_TABLE_ID_SIZE];
    ch_sheet filled = *sheet, described; /* rows and texts stay the caller's */
    int64_t engine_id = 0;
    ch_stored made = {0};
    ch_sheet_init(&described);
    ch_status rc = ch_table_sheet_id(sheet, id, err);
    if (rc >= 0 && car_id != 0)
        rc = ch_store_engine_on(st, car_id, sheet->conditions.date, &engine_id, err);
    if (rc >= 0 && engine_id != 0)
        rc = ch_store_engine_load(st, engine_id, &described, err);
    if (rc >= 0 && engine_id != 0)
        rc = ch_sheet_engine_fill(&filled, &described, err);
    if (rc >= 0)
        rc = save_whole(st, &filled, engine_id, id, now_s, &made, err);
    ch_sheet_clear(&described);
    told->again += made.again;
    told->without_engine += car_id != 0 && engine_id == 0;
    told->last = made;
    return rc;
}

ch_status ch_store_sheets_bring(ch_store *store, int64_t car_id, const ch_sheet *sheets, size_t count, int64_t now_s,
                                ch_store_brought *told, ch_err *err)
{
    ch_store_brought brought = {0};
    ch_status rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    for (size_t i = 0; rc >= 0 && i < count; i++)
        rc = bring_one(store, car_id, &sheets[i], now_s, &brought, err);
    rc = store_end(store, rc, err);
    if (rc >= 0)
        *told = brought;
    return rc;
}
