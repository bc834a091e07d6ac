/*
 * Any bytes as the figures of the decision. What is accepted must hold every figure in order, within its range, with title and source; what
 * is refused must say why and where, and hold nothing.
 */
#include <stdlib.h>
#include <string.h>

#include "crosshatch/assumptions.h"
#include "fuzz.h"

static void must(bool held)
{
    if (!held)
        abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    /* A copy of exactly this size lets the address sanitizer see a read beyond the text. */
    char *const bytes = malloc(size > 0 ? size : 1);
    if (bytes == NULL)
        return 0;
    if (size > 0)
        memcpy(bytes, data, size);
    const ch_knowledge_text text = {"f.yaml", bytes, size};
    ch_assumptions made = {0};
    ch_err err = {0};
    const ch_status status = ch_assumptions_parse(&made, &text, &err);
    must(status == err.status);
    if (status < 0) {
        must(status == CH_E_INPUT || status == CH_E_LIMIT);
        must(err.what[0] != '\0' && err.file[0] != '\0' && made.pieces == NULL);
    }
    for (int i = 0; status >= 0 && i < CH_ASSUME_COUNT; i++) {
        const ch_assumption *a = &made.of[i];
        must(a->low >= 0.0 && a->low <= a->usual && a->usual <= a->high && a->title != NULL && a->source != NULL);
        must(a->unit != CH_ASSUMED_CHANCE || a->high <= 1.0);
    }
    if (status >= 0)
        (void)ch_assumptions_opens_engine(&made, "Head gasket");
    ch_assumptions_clear(&made);
    free(bytes);
    return 0;
}
