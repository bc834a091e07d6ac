/* The sheets of demo/ inside the program; the table is made by demo_embed.py when the program is built. */
#ifndef CROSSHATCH_CLI_DEMO_SHEETS_H
#define CROSSHATCH_CLI_DEMO_SHEETS_H

#include <stddef.h>

typedef struct demo_sheet {
    const char *name; /* of the file */
    const char *text;
    size_t length;
} demo_sheet;

extern const demo_sheet demo_sheets[];
extern const size_t demo_sheets_count;

#endif
