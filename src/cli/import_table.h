/* A plain table of old readings as sheets of the garage. */
#ifndef CROSSHATCH_CLI_IMPORT_TABLE_H
#define CROSSHATCH_CLI_IMPORT_TABLE_H

#include "cli.h"

/* Does the name end as a table's does: .csv, .tsv, .txt? */
bool import_names_table(const char *name);

/* Read, make sheets, and, unless --dry-run, store them. */
ch_status import_table(const cli_options *options, ch_text *answer, ch_err *err);

#endif
