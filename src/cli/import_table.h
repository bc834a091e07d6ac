/* A plain table of old readings as sheets of the garage. */
#ifndef CROSSHATCH_CLI_IMPORT_TABLE_H
#define CROSSHATCH_CLI_IMPORT_TABLE_H

#include "cli.h"

/* Does the name end as a table's does: .csv, .tsv, .txt? */
bool import_names_table(const char *name);

/* Read, make sheets, and, unless --dry-run, store them. */
ch_status import_table(const cli_options *options, ch_text *answer, ch_err *err);

/* The same content gets the same id, so that a sheet is stored once. */
ch_status import_content_id(const ch_sheet *sheet, char id[static 48], ch_err *err);

#endif
