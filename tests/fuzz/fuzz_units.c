/*
 * Any bytes as a quantity: the first byte chooses the dimension (and, by its top bit, whether bare numbers have a unit), the
 * rest is the text. Whatever is accepted must be finite, be written back so that it reads as the same value, and be shown
 * without "-0"; whatever is refused must say why and leave the output alone. The same text is also read as a date.
 */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/date.h"
#include "crosshatch/units.h"
#include "fuzz.h"

static void must(bool held)
{
    if (!held)
        abort();
}

static void fuzz_quantity(ch_dimension dimension, const ch_unit *bare_unit, const char *text, size_t length)
{
    ch_quantity quantity = {.si = 42};
    ch_err err = {0};
    const ch_status status = ch_quantity_parse(text, length, dimension, bare_unit, &quantity, &err);
    must(status == err.status);
    if (status < 0) {
        must(status == CH_E_INPUT && err.what[0] != '\0');
        must(quantity.si == 42 && quantity.unit == NULL);
        return;
    }
    must(isfinite(quantity.si) && ch_quantity_given(&quantity) && quantity.unit->dimension == dimension);
    char written[128], shown[512];
    ch_quantity again = ch_quantity_none();
    ch_quantity_text(&quantity, written, sizeof written);
    must(ch_quantity_parse(written, strlen(written), dimension, bare_unit, &again, NULL) == CH_OK);
    must(again.si == quantity.si && again.unit == quantity.unit && again.bare == quantity.bare);
    must(strcmp(again.number, quantity.number) == 0);
    ch_si_format(quantity.si, NAN, quantity.unit, shown, sizeof shown);
    must(strcmp(shown, "-0") != 0 && strncmp(shown, "-0 ", 3) != 0);
    ch_si_format(quantity.si, fabs(quantity.si) * 1e-3, quantity.unit, shown, sizeof shown);
    must(shown[0] != '\0');
}

static void fuzz_date(const char *text, size_t length)
{
    ch_date date = {0, 0, 0};
    if (ch_date_parse(text, length, &date, NULL) < 0) {
        must(!ch_date_given(date));
        return;
    }
    const ch_date again = ch_date_from_days(ch_date_days(date));
    must(again.year == date.year && again.month == date.month && again.day == date.day);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size == 0)
        return 0;
    const ch_dimension dimension = (ch_dimension)((data[0] & 0x7f) % CH_DIM_COUNT_);
    const char *const units = ch_dimension_units(dimension);
    const ch_unit *const bare_unit = (data[0] & 0x80) != 0 ? ch_unit_find(units, strcspn(units, ",")) : NULL;
    /* A copy of exactly this size lets the address sanitizer see a read beyond the text. */
    char *const text = malloc(size);
    if (text == NULL)
        return 0;
    memcpy(text, data + 1, size - 1);
    fuzz_quantity(dimension, bare_unit, text, size - 1);
    fuzz_date(text, size - 1);
    free(text);
    return 0;
}
