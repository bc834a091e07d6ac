/* crosshatch verify: is the garage file whole? */
#include "crosshatch/store_sheet.h"
#include "garage.h"

static ch_status answer_findings(const ch_store_finding *findings, size_t count, size_t sheets, ch_text *answer,
                                 ch_err *err)
{
    if (count == 0) {
        ch_text_appendf(answer, "sound: structure, references, corrections and values of %zu sheet%s\n", sheets,
                        sheets == 1 ? "" : "s");
        return ch_text_check(answer, err);
    }
    for (size_t i = 0; i < count; i++)
        ch_text_appendf(answer, "%s\n", findings[i].what);
    return ch_fail(err, CH_E_INPUT, "go on with the latest backup; keep this file",
                   "%zu thing%s wrong with the garage file", count, count == 1 ? " is" : "s are");
}

static ch_status run(const cli_options *options, ch_text *answer, ch_err *err)
{
    ch_store *store = NULL;
    ch_store_pool pool = {0};
    const ch_store_finding *findings = NULL;
    const ch_store_sheet *sheets = NULL;
    size_t count = 0, sheets_count = 0;
    ch_status rc = garage_open(options, CH_STORE_READ_ONLY, &store, err);
    if (rc < 0)
        return rc;
    rc = ch_store_verify(store, &pool, &findings, &count, err);
    if (rc >= 0 && count == 0)
        rc = ch_store_sheets(store, &pool, 0, &sheets, &sheets_count, err);
    if (rc >= 0)
        rc = answer_findings(findings, count, sheets_count, answer, err);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
    return rc;
}

const cli_command cli_verify = {
    .name = "verify",
    .summary = "is the garage file whole?",
    .synopsis = "",
    .help = "Reads all of the garage file and checks its structure, its references, that nothing\n"
            "entered was changed or lost on the way, and that every sheet reads as a sheet.\n"
            "Writes nothing. Exit status 3, with a line for each finding, where it is not whole.\n",
    .options = CLI_COMMON | CLI_GARAGE,
    .findings = true,
    .run = run,
};
