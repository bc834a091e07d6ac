/* crosshatch judge: are these numbers good, how sure is that, and if not, what is it and what to check next. */
#include "input.h"
#include "judging.h"

static ch_status run(const cli_options *options, ch_text *answer, ch_err *err)
{
    ch_sheet sheet;
    ch_status rc = input_sheet(options->file, &sheet, err);
    if (rc < 0)
        return rc;
    ch_knowledge knowledge = {0};
    rc = input_knowledge(options->knowledge, &knowledge, err);
    if (rc >= 0) {
        rc = judging_answer(options, options->file, &sheet, &knowledge, answer, err);
        ch_knowledge_clear(&knowledge);
    }
    ch_sheet_clear(&sheet);
    return rc;
}

const cli_command cli_judge = {
    .name = "judge",
    .summary = "judge a test sheet: verdict, causes, what to check next",
    .synopsis = "SHEET",
    .help = "Judges the compression, wet and leak-down readings of one test sheet (YAML or JSON)\n"
            "together, says how sure the verdict is, and what to check next.\n",
    .options = CLI_COMMON | CLI_TEXTUAL | CLI_SEED | CLI_RULE | CLI_WHY | CLI_KNOWLEDGE,
    .takes_file = true,
    .run = run,
};
