/* Entries of the put-back ledger as cards, the same on a sheet's page and on that of winter work. */
#ifndef CROSSHATCH_WEB_LEDGER_CARDS_H
#define CROSSHATCH_WEB_LEDGER_CARDS_H

#include "know.h"
#include "photos.h"
#include "piece.h"

/* What is off, in the order of putting it back: `off` of them in `entry`, which the caller frees. */
typedef struct ledger_off {
    const ch_store_ledger **entry;
    size_t off;
} ledger_off;

/* Of `rows`, those that are off. `work_id` 0: all of them, else those of this work. */
ch_status ledger_in_order(const web_know *know, const ch_store_ledger *rows, size_t count, int64_t work_id,
                          ledger_off *ordered, ch_err *err);

enum { LEDGER_CAUTIONS = 512 };

/* What the cards of one page share. */
typedef struct ledger_page_of {
    const web_know *know;
    const photos *pictures;
    bool closed;                /* the sheet or the work that they belong to */
    bool said[LEDGER_CAUTIONS]; /* cautions that stand on the page already */
} ledger_page_of;

/*
 * A thing that is off: how it goes back, behind the cautions of that, the button that puts it back, its photos, and the form that corrects it. `alert`: why the
 * correction of this entry was refused, else NULL.
 */
ch_status ledger_card_off(html_writer *w, const web_request *request, ledger_page_of *page,
                          const ch_store_ledger *entry, const char *alert, ch_err *err);

/* A thing that is back. */
void ledger_card_back(html_writer *w, const web_request *request, const ch_store_ledger *entry, bool closed,
                      const photos *pictures);

/* The form that enters one more; `alert` as above, of this form. */
ch_status ledger_new(html_writer *w, const web_request *request, const char *action, const char *alert, ch_err *err);

/* The button that leads to where this entry is put back. */
void ledger_link(html_writer *w, const ch_store_ledger *entry);

/* What the fields of a form say. */
ch_store_ledger ledger_typed(const web_fields *form);

#endif
