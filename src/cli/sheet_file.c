/* A sheet by its file's name. */
#include <stdlib.h>
#include <string.h>

#include "cli.h"
#include "file.h"

ch_status cli_sheet_read(const char *name, ch_sheet *sheet, ch_err *err)
{
    char *bytes = NULL;
    size_t length = 0;
    ch_status rc = file_read(name, CH_SHEET_BYTES_MAX, &bytes, &length, err);
    if (rc < 0)
        return rc;
    const char *shown = strcmp(name, "-") == 0 ? "standard input" : name;
    rc = ch_sheet_parse(shown, bytes, length, sheet, err);
    ch_err_locate(err, rc < 0 ? shown : NULL, 0, 0);
    free(bytes);
    return rc;
}
