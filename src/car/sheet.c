/*
 * A test sheet's life: from nothing given to everything freed. Reading is in sheet_read.c, writing in sheet_write.c, the keys in
 * sheet_fields.c.
 */
#include "crosshatch/sheet.h"

#include <string.h>

#include "sheet_fields.h"

void ch_sheet_init(ch_sheet *sheet)
{
    memset(sheet, 0, sizeof *sheet);
    section_init(&sheet_root, sheet);
}

void ch_sheet_clear(ch_sheet *sheet)
{
    section_clear(&sheet_root, sheet);
    ch_sheet_init(sheet);
}
