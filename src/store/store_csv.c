/*
 * Every current reading as one table (RFC 4180): for a spreadsheet, or for a program that knows nothing of this one.
 */
#include <math.h>
#include <string.h>

#include "store_parts.h"

enum { CSV_QUANTITIES = 6 };
/* Columns of quantities, by the keys of the sheet, with their SI units. */
static const char *const keys[CSV_QUANTITIES] = {"reading", "first_stroke", "oil", "supply", "loss", "orifice"};
static const char *const units[CSV_QUANTITIES] = {"Pa", "Pa", "m3", "Pa", "1", "m"};

static void put(ch_text *csv, const char *text)
{
    if (text == NULL)
        return;
    if (text[strcspn(text, ",\"\r\n")] == '\0') {
        ch_text_append_string(csv, text);
        return;
    }
    ch_text_append(csv, "\"", 1);
    for (const char *c = text; *c != '\0'; c++)
        ch_text_append(csv, *c == '"' ? "\"\"" : c, *c == '"' ? 2 : 1);
    ch_text_append(csv, "\"", 1);
}

static const ch_quantity *quantity_of(ch_store_row *row, const char *key)
{
    const section *s = store_kind_section(row->kind);
    for (size_t i = 0; i < s->count; i++)
        if (s->fields[i].kind == FIELD_QUANTITY && strcmp(s->fields[i].key, key) == 0)
            return (const ch_quantity *)(const void *)((char *)store_row_member(row) + s->fields[i].offset);
    return NULL;
}

static void put_row(ch_text *csv, const ch_store_sheet *sheet, const ch_store_row *from)
{
    ch_store_row row = *from;
    char text[96], typed[512] = "";
    size_t used = 0;
    const bool leakdown = row.kind == CH_STORE_LEAKDOWN;
    ch_date_format(sheet->day, text, sizeof text);
    ch_text_appendf(csv, "%lld,%s,%s,%d,", (long long)sheet->id, text, store_kind_names[row.kind],
                    leakdown ? row.leakdown.cylinder : row.reading.cylinder);
    for (int i = 0; i < CSV_QUANTITIES; i++) {
        const ch_quantity *q = quantity_of(&row, keys[i]);
        if (q != NULL && ch_quantity_given(q)) {
            sqlite3_snprintf((int)sizeof text, text, "%.12g", q->si); /* a point in every locale */
            put(csv, text);
            ch_quantity whole = *q;
            whole.bare = false;
            ch_quantity_text(&whole, text, sizeof text);
            sqlite3_snprintf((int)(sizeof typed - used), typed + used, "%s%s %s", used > 0 ? "; " : "", keys[i], text);
            used = strlen(typed);
        }
        ch_text_append(csv, ",", 1);
    }
    put(csv, leakdown ? row.leakdown.note : row.reading.note);
    ch_text_append(csv, ",", 1);
    put(csv, typed);
    ch_text_append_string(csv, "\r\n");
}

ch_status ch_store_readings_csv(ch_store *store, ch_text *csv, ch_err *err)
{
    ch_store_pool pool = {0};
    const ch_store_sheet *sheets = NULL;
    size_t count = 0;
    ch_status rc = store_begin_reading(store, err);
    if (rc < 0)
        return rc;
    ch_text_append_string(csv, "sheet,date,list,cylinder");
    for (int i = 0; i < CSV_QUANTITIES; i++)
        ch_text_appendf(csv, ",%s", keys[i]);
    ch_text_append_string(csv, ",note,as_typed\r\n,,,");
    for (int i = 0; i < CSV_QUANTITIES; i++)
        ch_text_appendf(csv, ",%s", units[i]);
    ch_text_append_string(csv, ",,\r\n");
    rc = ch_store_sheets(store, &pool, 0, &sheets, &count, err);
    for (size_t i = count; rc >= 0 && i-- > 0;) {
        const ch_store_row *rows = NULL;
        size_t rows_count = 0;
        rc = ch_store_rows(store, &pool, sheets[i].id, false, &rows, &rows_count, err);
        for (size_t k = 0; rc >= 0 && k < rows_count; k++)
            if (rows[k].kind == CH_STORE_DRY || rows[k].kind == CH_STORE_WET || rows[k].kind == CH_STORE_LEAKDOWN)
                put_row(csv, &sheets[i], &rows[k]);
    }
    rc = store_end(store, rc, err);
    ch_store_pool_clear(&pool);
    return rc < 0 ? rc : ch_text_check(csv, err);
}
