/*
 * Any bytes as a table of old readings: the first byte says how its columns are meant beside what is guessed, the rest is the table. Sheets that are made
 * must be written; a table that is refused must say why, and hold nothing.
 */
#include <stdlib.h>
#include <string.h>

#include "crosshatch/reading_table.h"
#include "fuzz.h"

static void must(bool held)
{
    if (!held)
        abort();
}

static void make(const ch_table *table, unsigned how)
{
    ch_table_plan plan;
    ch_table_made made = {0};
    ch_err err = {0};
    ch_table_guess(table, &plan);
    if (how & 1)
        for (size_t i = 0; i < table->columns; i++)
            if (plan.unit[i] == NULL && ch_table_use_dimension(plan.use[i]) == CH_DIM_PRESSURE)
                plan.unit[i] = ch_unit_find("psi", 3);
    plan.days = (how & 2) != 0 ? CH_TABLE_DAY_FIRST : CH_TABLE_DAYS_SEEN;
    if (how & 4)
        plan.use[table->columns - 1] = CH_TABLE_CYLINDER_N + (int)(how >> 3);
    const ch_status rc = ch_table_sheets("f", table, &plan, &made, &err);
    must(rc == err.status);
    must(rc >= 0 ? made.count > 0 && made.readings >= made.count : err.what[0] != '\0' && made.sheet == NULL);
    for (size_t i = 0; i < made.count; i++) {
        char *text = NULL;
        size_t length = 0;
        must(made.line[i] > 0 && ch_sheet_write(&made.sheet[i], false, &text, &length, NULL) >= 0);
        free(text);
    }
    ch_table_made_clear(&made);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size == 0)
        return 0;
    /* A copy of exactly this size lets the address sanitizer see a read beyond the text. */
    char *const text = malloc(size);
    if (text == NULL)
        return 0;
    memcpy(text, data + 1, size - 1);
    ch_table table = {0};
    ch_err err = {0};
    const ch_status rc = ch_table_read("f", text, size - 1, &table, &err);
    free(text);
    must(rc == err.status);
    if (rc < 0) {
        must(err.what[0] != '\0' && table.memory == NULL);
        return 0;
    }
    must(table.rows > 0 && table.columns >= 2 &&
         strlen(ch_table_at(&table, table.rows - 1, table.columns - 1)->text) < size);
    make(&table, data[0]);
    ch_table_clear(&table);
    return 0;
}
