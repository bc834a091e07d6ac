/* Entries of the put-back ledger as cards, the same on a sheet's page and on that of winter work. */
#ifndef CROSSHATCH_WEB_LEDGER_CARDS_H
#define CROSSHATCH_WEB_LEDGER_CARDS_H

#include "photos.h"
#include "piece.h"

/*
 * A thing that is off, with the button that puts it back, its photos, and the form that corrects it. `closed`: what it belongs to. `alert`: why the
 * correction of this entry was refused, else NULL.
 */
ch_status ledger_card_off(html_writer *w, const web_request *request, const ch_store_ledger *entry, bool closed,
                          const photos *pictures, const char *alert, ch_err *err);

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
