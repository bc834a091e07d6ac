/*
 * Any bytes as a test sheet: the first byte says whether the file is called .yaml (even) or .json (odd), the rest is the text. A sheet that
 * is accepted must be written in both forms, read back equal, and be written again to the same bytes; one that is refused must say why and
 * where, and hold nothing.
 */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "../unit/sheet_equal.h"
#include "crosshatch/sheet.h"
#include "fuzz.h"

static void must(bool held)
{
    if (!held)
        abort();
}

static void fuzz_written(const ch_sheet *sheet, bool json)
{
    char *written = NULL, *twice = NULL;
    size_t length = 0, twice_length = 0;
    const ch_status status = ch_sheet_write(sheet, json, &written, &length, NULL);
    must(status == CH_OK || status == CH_E_LIMIT); /* longer than a sheet may be */
    if (status < 0)
        return;
    must(strlen(written) == length);
    ch_sheet again;
    must(ch_sheet_parse(json ? "s.json" : "s.yaml", written, length, &again, NULL) == CH_OK);
    must(same_sheet(sheet, &again));
    must(ch_sheet_write(&again, json, &twice, &twice_length, NULL) == CH_OK);
    must(twice_length == length && memcmp(written, twice, length) == 0);
    ch_sheet_clear(&again);
    free(written);
    free(twice);
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
    ch_sheet sheet;
    ch_err err = {0};
    const ch_status status = ch_sheet_parse((data[0] & 1) != 0 ? "f.json" : "f.yaml", text, size - 1, &sheet, &err);
    free(text);
    must(status == err.status);
    if (status < 0) {
        must(status == CH_E_INPUT || status == CH_E_LIMIT);
        must(err.what[0] != '\0' && (err.line > 0 || status == CH_E_LIMIT));
        must(sheet.compression == NULL && sheet.title == NULL);
        return 0;
    }
    fuzz_written(&sheet, false);
    fuzz_written(&sheet, true);
    ch_sheet_clear(&sheet);
    return 0;
}
