/*
 * Any bytes as a winter plan: the first byte says whether the file is called .yaml (even) or .json (odd), the rest is the text. A plan that is
 * accepted and not large must be answered, and every form of the answer written; one that is refused must say why and where, and hold nothing.
 */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/show_winter.h"
#include "fuzz.h"

enum { ITEMS_ANSWERED = 40, DAYS_ANSWERED = 40, ANSWER_MAXIMUM = 4 * 1024 * 1024 };

static void must(bool held)
{
    if (!held)
        abort();
}

static void show(const ch_plan *plan, const ch_winter *winter)
{
    const ch_show_style style = {.columns = 60, .working = true};
    ch_text text;
    ch_text_init(&text, ANSWER_MAXIMUM);
    ch_show_winter_text(plan, winter, &style, &text);
    must(ch_show_winter_json(plan, winter, &text, NULL) == CH_OK);
    if (winter->choice.feasible) {
        ch_show_winter_csv(plan, winter, &text);
        ch_show_winter_shopping(plan, winter, &text);
        must(ch_show_winter_ics(plan, winter, &text, NULL) == CH_OK);
    }
    must(ch_text_check(&text, NULL) == CH_OK && strlen(ch_text_string(&text)) == text.length);
    ch_text_clear(&text);
}

static void answer(const ch_plan *plan)
{
    ch_winter winter;
    ch_err err = {0};
    const ch_status status = ch_winter_answer(plan, 1, &winter, &err);
    must(status == CH_OK || status == CH_E_LIMIT);
    if (status < 0) {
        must(err.what[0] != '\0');
        return;
    }
    show(plan, &winter);
    ch_winter_clear(&winter);
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
    ch_plan plan = {0};
    ch_err err = {0};
    const ch_status status =
        ch_plan_parse((data[0] & 1) != 0 ? "f.json" : "f.yaml", text, size - 1, (ch_date){2027, 1, 1}, &plan, &err);
    free(text);
    must(status == err.status);
    if (status < 0) {
        must(status == CH_E_INPUT || status == CH_E_LIMIT);
        must(err.what[0] != '\0' && (err.line > 0 || status == CH_E_LIMIT));
        must(plan.pieces == NULL);
        return 0;
    }
    if (plan.items_count <= ITEMS_ANSWERED && plan.days_count <= DAYS_ANSWERED)
        answer(&plan);
    ch_plan_clear(&plan);
    return 0;
}
