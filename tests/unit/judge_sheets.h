/* Sheets from text, for the tests of judging. */
#ifndef CROSSHATCH_TESTS_JUDGE_SHEETS_H
#define CROSSHATCH_TESTS_JUDGE_SHEETS_H

#include <string.h>

#include "../../src/judge/judge_parts.h"
#include "crosshatch/prior.h"
#include "expect.h"

#define PSI 6894.757293168361

static inline void sheet_of(const char *text, ch_sheet *sheet)
{
    ch_err err = {0};
    if (ch_sheet_parse("test", text, strlen(text), sheet, &err) < 0) {
        print_error("%ld:%ld: %s: %s\n", err.line, err.column, err.what, err.right);
        fail();
    }
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
