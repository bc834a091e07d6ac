/*
 * Any bytes as what is known of a car: the first byte says which text (a car as YAML, a car as JSON, the knowledge of clutches), the rest is the text.
 * A car that is taken must hold figures that can be worked with; what is refused must say why and where, and leave the output alone.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/car.h"
#include "crosshatch/clutch_knowledge.h"
#include "fuzz.h"

static void must(bool held)
{
    if (!held)
        abort();
}

static bool accepted(ch_status status, const ch_err *err)
{
    must(status == err->status);
    if (status >= 0)
        return true;
    must(status == CH_E_INPUT || status == CH_E_LIMIT);
    must(err->what[0] != '\0' && err->file[0] != '\0');
    return false;
}

/* Given and above 0, or not given. */
static void must_be_above_0(double value)
{
    must(isnan(value) || (value > 0.0 && isfinite(value)));
}

static void use_car(const ch_car *car)
{
    must(car->gears <= CH_CAR_GEARS_MAX && car->observed_n <= CH_CAR_OBSERVED_MAX);
    must(strlen(car->title) < sizeof car->title && strlen(car->tyre_text) < sizeof car->tyre_text);
    must_be_above_0(car->final_drive_1);
    must_be_above_0(car->mass_kg);
    must_be_above_0(car->drag_area_m2);
    for (size_t i = 0; i < car->gears; i++) {
        must(car->gear_1[i] > 0.0 && (i == 0 || car->gear_1[i] < car->gear_1[i - 1]));
        must_be_above_0(ch_car_line_rad_m(car, i + 1));
    }
    for (size_t i = 0; i < car->observed_n; i++)
        must(memchr(car->observed[i].id, '\0', sizeof car->observed[i].id) != NULL && car->observed[i].line > 0);
}

static void use_clutch(const ch_clutch_knowledge *clutch)
{
    double all_1 = 0.0;
    for (int i = 0; i < CH_CLUTCH_CAUSES; i++) {
        must(clutch->cause[i].prior_1 >= 0.0 && clutch->cause[i].id != NULL);
        all_1 += clutch->cause[i].prior_1;
    }
    must(all_1 > 0.0 && all_1 < 1.001);
    for (size_t i = 0; i < clutch->signs_n; i++) {
        const char *const id = clutch->signs[i].id;
        must(ch_clutch_sign_find(clutch, id, strlen(id)) == i);
        for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
            must(clutch->signs[i].positive_1[c] > 0.0 && clutch->signs[i].positive_1[c] < 1.0);
    }
    for (size_t i = 0; i < clutch->checks_n; i++)
        for (size_t k = 0; k < clutch->checks[i].yields.count; k++)
            must(clutch->checks[i].yields.at[k] < clutch->signs_n);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static ch_knowledge knowledge; /* read once: the built-in files do not change between inputs */
    if (knowledge.pieces == NULL)
        must(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL) == CH_OK);
    if (size == 0)
        return 0;
    /* A copy of exactly this size lets the address sanitizer see a read beyond the text. */
    char *const text = malloc(size);
    if (text == NULL)
        return 0;
    memcpy(text, data + 1, size - 1);
    ch_err err = {0};
    if (data[0] % 3 == 2) {
        const ch_knowledge_text file = {"f.yaml", text, size - 1};
        ch_clutch_knowledge clutch = {0};
        if (accepted(ch_clutch_knowledge_parse(&clutch, &knowledge, &file, &err), &err))
            use_clutch(&clutch);
        else
            must(clutch.pieces == NULL && clutch.signs == NULL);
        ch_clutch_knowledge_clear(&clutch);
    } else {
        ch_car car = ch_car_none();
        if (accepted(ch_car_parse(data[0] % 3 == 1 ? "f.json" : "f.yaml", text, size - 1, &car, &err), &err))
            use_car(&car);
        else
            must(car.gears == 0 && car.observed_n == 0 && isnan(car.mass_kg) && car.title[0] == '\0');
    }
    free(text);
    return 0;
}
