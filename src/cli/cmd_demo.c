/* crosshatch demo: judges the invented sheets that the program carries, or writes them out to be copied from. */
#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "demo_sheets.h"
#include "file.h"
#include "input.h"
#include "judging.h"

static ch_status judge_one(const cli_options *options, const demo_sheet *demo, const ch_knowledge *knowledge,
                           ch_text *answer, ch_err *err)
{
    ch_sheet sheet;
    ch_status rc = ch_sheet_parse(demo->name, demo->text, demo->length, &sheet, err);
    if (rc < 0)
        return rc;
    rc = judging_answer(options, demo->name, &sheet, knowledge, answer, err);
    ch_sheet_clear(&sheet);
    return rc;
}

static ch_status judge_all(const cli_options *options, ch_text *answer, ch_err *err)
{
    ch_knowledge knowledge = {0};
    ch_status rc = input_knowledge(NULL, &knowledge, err);
    if (rc < 0)
        return rc;
    const bool json = (options->given & CLI_JSON) != 0;
    ch_text_append_string(answer, json ? "[\n" : "");
    for (size_t i = 0; rc >= 0 && i < demo_sheets_count; i++) {
        if (json && i > 0)
            ch_text_append_string(answer, ",\n");
        if (!json)
            ch_text_appendf(answer, "%s== %s\n\n", i > 0 ? "\n" : "", demo_sheets[i].name);
        rc = judge_one(options, &demo_sheets[i], &knowledge, answer, err);
    }
    ch_text_append_string(answer,
                          json ? "]\n"
                               : "\nThese engines and readings are invented. `crosshatch demo --write DIR` writes\n"
                                 "the sheets into a folder, to copy from for your own.\n");
    ch_knowledge_clear(&knowledge);
    return rc;
}

/* All sheets or none: what was written before a failure is taken away again. */
static ch_status write_all(const char *folder, ch_text *answer, ch_err *err)
{
    ch_status rc = CH_OK;
    size_t written = 0;
    char name[PATH_MAX];
    for (size_t i = 0; rc >= 0 && i < demo_sheets_count; i++) {
        const int size = snprintf(name, sizeof name, "%s/%s", folder, demo_sheets[i].name);
        if (size < 0 || (size_t)size >= sizeof name)
            rc = ch_fail(err, CH_E_USAGE, "a shorter name", "--write: the folder's name is too long");
        else
            rc = file_create(name, demo_sheets[i].text, demo_sheets[i].length, err);
        if (rc >= 0) {
            written = i + 1;
            ch_text_appendf(answer, "%s\n", name);
        }
    }
    for (size_t i = 0; rc < 0 && i < written; i++) {
        snprintf(name, sizeof name, "%s/%s", folder, demo_sheets[i].name);
        unlink(name);
    }
    return rc;
}

static ch_status run(const cli_options *options, ch_text *answer, ch_err *err)
{
    if (options->write != NULL)
        return write_all(options->write, answer, err);
    return judge_all(options, answer, err);
}

const cli_command cli_demo = {
    .name = "demo",
    .summary = "judge two invented engines, one sound and one not",
    .synopsis = "",
    .help = "Judges the demonstration sheets that the program carries: an invented four-cylinder of a\n"
            "hill climb car, once sound and once with a burnt valve. With --write it only writes the\n"
            "sheets out, and overwrites nothing.\n",
    .options = CLI_COMMON | CLI_TEXTUAL | CLI_SEED | CLI_RULE | CLI_WRITE,
    .takes_file = false,
    .run = run,
};
