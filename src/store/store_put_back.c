/* What is off, in the order of putting it back. */
#include <stdlib.h>

#include "crosshatch/store_sheet.h"

typedef struct place {
    const ch_store_ledger *row;
    int64_t newest; /* entry of the sheet or the work that it belongs to */
    size_t order;   /* in the procedures, from 1; 0 = no procedure names it */
} place;

static bool of_one(const ch_store_ledger *a, const ch_store_ledger *b)
{
    return a->sheet_id == b->sheet_id && a->work_id == b->work_id;
}

static int compare(const void *left, const void *right)
{
    const place *a = left, *b = right;
    if (a->newest != b->newest)
        return a->newest > b->newest ? -1 : 1;
    if (a->order != b->order)
        return a->order < b->order ? -1 : 1;
    return (a->row->id < b->row->id) - (a->row->id > b->row->id);
}

ch_status ch_store_put_back_order(const ch_procedures *procedures, const ch_store_ledger *rows[], size_t count,
                                  ch_err *err)
{
    place *places = calloc(count + 1, sizeof *places);
    if (places == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the order of putting back");
    for (size_t i = 0; i < count; i++) {
        ch_put_back back;
        places[i].row = rows[i];
        if (rows[i]->sheet_id != 0 && ch_procedure_put_back(procedures, rows[i]->what, &back))
            places[i].order = back.order + 1;
        for (size_t k = 0; k < count; k++)
            if (of_one(rows[i], rows[k]) && rows[k]->id > places[i].newest)
                places[i].newest = rows[k]->id;
    }
    qsort(places, count, sizeof *places, compare);
    for (size_t i = 0; i < count; i++)
        rows[i] = places[i].row;
    free(places);
    return CH_OK;
}
