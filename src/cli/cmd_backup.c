/* crosshatch backup: a safe copy of the garage file, checked before it takes its name. */
#include "garage.h"

static ch_status run(const cli_options *options, ch_text *answer, ch_err *err)
{
    ch_store *store = NULL;
    ch_status rc = garage_open(options, CH_STORE_OPEN, &store, err);
    if (rc < 0)
        return rc;
    /* The answer first: with no memory left for it, a copy that is there would be called a failure. */
    ch_text_appendf(answer, "%s: copied, and read back whole\n", options->file);
    rc = ch_text_check(answer, err);
    if (rc >= 0)
        rc = ch_store_backup(store, options->file, err);
    ch_store_close(store);
    return rc;
}

const cli_command cli_backup = {
    .name = "backup",
    .summary = "a safe copy of the garage file, while it is in use",
    .synopsis = "FILE",
    .help = "Copies the garage file, photos and all, into FILE: made beside it, opened and read\n"
            "whole, and only then given the name. The pages may be in use meanwhile. To go back\n"
            "to a copy, end every crosshatch and put the copy in the garage file's place.\n",
    .options = CLI_COMMON | CLI_GARAGE,
    .takes_file = true,
    .makes_file = true,
    .file_is = "the copy",
    .run = run,
};
