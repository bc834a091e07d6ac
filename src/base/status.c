/* Statuses and the one line that explains a failure. Refuses to allocate or to print. */
#include "crosshatch/status.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

const char *ch_status_text(ch_status status)
{
    switch (status) {
    case CH_OK: return "done";
    case CH_CHOKED: return "done, the flow is sonic";
    case CH_E_RANGE: return "outside the range of the model";
    case CH_E_INPUT: return "bad input";
    case CH_E_MEMORY: return "out of memory";
    case CH_E_IO: return "reading or writing failed";
    case CH_E_CONVERGE: return "a numerical method did not converge";
    case CH_E_LIMIT: return "larger than a limit of this program";
    case CH_E_USAGE: return "wrong usage";
    }
    return "unknown status";
}

ch_status(ch_fail)(ch_err *err, ch_status status, const char *right, const char *what, ...)
{
    if (err == NULL || err->status != CH_OK)
        return status;
    err->status = status;
    va_list arguments;
    va_start(arguments, what);
    vsnprintf(err->what, sizeof err->what, what, arguments);
    va_end(arguments);
    snprintf(err->right, sizeof err->right, "%s", right != NULL ? right : "");
    return status;
}

void ch_err_locate(ch_err *err, const char *file, long line, long column)
{
    if (err == NULL)
        return;
    if (file != NULL && err->file[0] == '\0')
        snprintf(err->file, sizeof err->file, "%s", file);
    if (err->line == 0 && line > 0) {
        err->line = line;
        err->column = column;
    }
}

void ch_err_format(const ch_err *err, char *text, unsigned long size)
{
    if (size == 0)
        return;
    char place[sizeof err->file + 48] = "";
    if (err->file[0] != '\0' && err->line > 0)
        snprintf(place, sizeof place, "%s:%ld:%ld: ", err->file, err->line, err->column);
    else if (err->file[0] != '\0')
        snprintf(place, sizeof place, "%s: ", err->file);
    snprintf(text, size, "%s%s%s%s", place, err->what[0] != '\0' ? err->what : ch_status_text(err->status),
             err->right[0] != '\0' ? ": " : "", err->right);
    for (char *c = text; *c != '\0'; c++)
        if ((unsigned char)*c < 0x20 || *c == 0x7f)
            *c = '?';
}
