/* The order of work: in rounds 1 to n, there and back, two at each, or along the firing order. */
#include "measure_order.h"

#include <stdio.h>
#include <string.h>

static const struct {
    const char *name, *words;
} ORDERS[] = {
    {"rounds", "1 to the last, then again"},
    {"back", "There and back: a battery that runs down shows"},
    {"pairs", "Two readings at each before the next"},
    {"firing", "Along the firing order"},
};
enum { ORDERS_COUNT = sizeof ORDERS / sizeof ORDERS[0] };

static ch_status chosen(web_request *request, int64_t sheet_id, const ch_sheet *sheet, const char **order, ch_err *err)
{
    char name[64];
    snprintf(name, sizeof name, "sheet.%lld.order", (long long)sheet_id);
    const ch_status rc = ch_store_setting_get(request->store, &request->pool, name, order, err);
    if (rc >= 0 && (*order == NULL || (strcmp(*order, "firing") == 0 && sheet->engine.firing_order[0] == 0)))
        *order = ORDERS[0].name;
    return rc;
}

ch_status measure_order_next(web_request *request, int64_t sheet_id, const ch_sheet *sheet,
                             const int count[CH_CYLINDERS_MAX], int *cylinder, ch_err *err)
{
    const char *order = NULL;
    const int n = sheet->engine.cylinders;
    int least = 0, next = 1;
    const ch_status rc = chosen(request, sheet_id, sheet, &order, err);
    if (rc < 0)
        return rc;
    const bool pairs = strcmp(order, "pairs") == 0, back = strcmp(order, "back") == 0;
    const bool firing = strcmp(order, "firing") == 0;
    /* The fewest readings come first, where readings count two by two with pairs; there and back turns round after each round. */
    for (int c = 0; c < n; c++) {
        const int own = pairs ? count[c] / 2 : count[c];
        least = c == 0 || own < least ? own : least;
    }
    for (int i = n; i-- > 0;) {
        const int place = back && least % 2 == 1 ? n - 1 - i : i;
        const int c = firing ? sheet->engine.firing_order[place] : place + 1;
        if ((pairs ? count[c - 1] / 2 : count[c - 1]) == least)
            next = c;
    }
    *cylinder = next;
    return CH_OK;
}

ch_status measure_order_form(html_writer *w, web_request *request, int64_t sheet_id, const ch_sheet *sheet, ch_err *err)
{
    const char *order = NULL;
    char action[64];
    const ch_status rc = chosen(request, sheet_id, sheet, &order, err);
    if (rc < 0)
        return rc;
    snprintf(action, sizeof action, "/sheet/%lld/order", (long long)sheet_id);
    html_lit(w, "<details><summary>Order of work</summary>");
    html_form_open(w, request, action, false);
    html_lit(w, "<fieldset><legend>Which cylinder comes next</legend>");
    for (size_t i = 0; i < ORDERS_COUNT; i++)
        if (i < 3 || sheet->engine.firing_order[0] != 0)
            piece_choice(w, "order", ORDERS[i].name, ORDERS[i].words, order);
    html_lit(w, "</fieldset>");
    piece_button(w, NULL, NULL, "second", "Take this order");
    html_form_close(w);
    html_lit(w, "</details>\n");
    return CH_OK;
}

ch_status measure_order_set(web_request *request, int64_t sheet_id, const char *order, ch_err *err)
{
    char name[64];
    snprintf(name, sizeof name, "sheet.%lld.order", (long long)sheet_id);
    for (size_t i = 0; order != NULL && i < ORDERS_COUNT; i++)
        if (strcmp(order, ORDERS[i].name) == 0)
            return ch_store_setting_set(request->store, name, order, request->now_s, err);
    return ch_fail(err, CH_E_INPUT, "one of the list", "there is no such order of work");
}
