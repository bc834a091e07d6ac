/* Sheets from text, for the tests of judging. */
#ifndef CROSSHATCH_TESTS_JUDGE_SHEETS_H
#define CROSSHATCH_TESTS_JUDGE_SHEETS_H

#include <stdlib.h>
#include <string.h>

#include "../../src/judge/judge_parts.h"
#include "crosshatch/prior.h"
#include "expect.h"

#define PSI 6894.757293168361

/* One row more than are counted, which nobody may look at: a reading, a loss and noises that would change any answer. */
static inline void spoil_rows_beyond(ch_sheet *sheet)
{
    ch_reading *dry = realloc(sheet->compression, (sheet->compression_count + 1) * sizeof *dry);
    ch_reading *wet = realloc(sheet->wet, (sheet->wet_count + 1) * sizeof *wet);
    ch_leakdown_row *leakdown = realloc(sheet->leakdown, (sheet->leakdown_count + 1) * sizeof *leakdown);
    assert_true(dry != NULL && wet != NULL && leakdown != NULL);
    const ch_quantity much = {.si = 41e5, .unit = ch_unit_find("MPa", 3), .number = "4.1"};
    dry[sheet->compression_count] = (ch_reading){.cylinder = 1, .reading = much, .first_stroke = much};
    wet[sheet->wet_count] = (ch_reading){.cylinder = 1, .reading = much, .first_stroke = much};
    leakdown[sheet->leakdown_count] =
        (ch_leakdown_row){.cylinder = 1, .loss = {.si = 0.97, .unit = ch_unit_find("1", 1)}, .heard = CH_HEARD_COOLANT};
    leakdown[sheet->leakdown_count].orifice.si = leakdown[sheet->leakdown_count].supply.si = NAN;
    sheet->compression = dry;
    sheet->wet = wet;
    sheet->leakdown = leakdown;
}

static inline void sheet_of(const char *text, ch_sheet *sheet)
{
    ch_err err = {0};
    if (ch_sheet_parse("test", text, strlen(text), sheet, &err) < 0) {
        print_error("%ld:%ld: %s: %s\n", err.line, err.column, err.what, err.right);
        fail();
    }
    spoil_rows_beyond(sheet);
}

static inline void setup_of(const ch_sheet *sheet, ch_setup *setup)
{
    ch_err err = {0};
    if (ch_setup_from_sheet(sheet, CH_PRIOR_UNSTATED_LIFT_M, setup, &err) < 0) {
        print_error("%s: %s\n", err.what, err.right);
        fail();
    }
}

#endif
